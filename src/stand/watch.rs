//! Saves in a library's folders: events of the file system in, one signal a burst out.
//!
//! Editors write in several steps, rename and replace; a burst ends when nothing has happened for a moment.

use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher};
use std::path::Path;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// A burst is over after this long without an event,
const QUIET: Duration = Duration::from_millis(40);
/// or after this long whatever happens.
const LONGEST: Duration = Duration::from_millis(400);

/// The saves of a library, for as long as this is kept.
pub(super) struct Saves {
    events: Receiver<()>,
    _watcher: RecommendedWatcher,
}

/// Watches the folders that a library is read from.
pub(super) fn saves(root: &Path) -> notify::Result<Saves> {
    let (sender, events) = channel();
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
        // What is only read changes nothing; whatever went wrong with the watching is a reason to look again.
        let read = matches!(&event, Ok(event) if matches!(event.kind, EventKind::Access(_)));
        if !read {
            let _ = sender.send(());
        }
    })?;
    for folder in ["content", "themes", "diagrams"] {
        let folder = root.join(folder);
        if folder.is_dir() {
            watcher.watch(&folder, RecursiveMode::Recursive)?;
        }
    }
    Ok(Saves { events, _watcher: watcher })
}

impl Saves {
    /// Waits for a burst of saves to end; false where there will be none any more.
    pub(super) fn next(&self) -> bool {
        if self.events.recv().is_err() {
            return false;
        }
        let began = Instant::now();
        while began.elapsed() < LONGEST && self.events.recv_timeout(QUIET).is_ok() {}
        true
    }
}
