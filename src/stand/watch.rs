//! Saves in a library's folders: events of the file system in, one signal a burst out.
//!
//! Editors write in several steps, rename and replace; a burst ends when nothing has happened for a moment.

use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// A burst is over after this long without an event,
const QUIET: Duration = Duration::from_millis(40);
/// or after this long whatever happens.
const LONGEST: Duration = Duration::from_millis(400);

/// The folders that a library is read from.
const FOLDERS: [&str; 3] = ["content", "themes", "diagrams"];

/// Where something happened.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    /// Within one of the folders.
    Inside,
    /// To one of the folders itself: it is new, or stands in another's place.
    Folder,
}

/// The saves of a library, for as long as this is kept.
pub(super) struct Saves {
    root: PathBuf,
    events: Receiver<Place>,
    watcher: RecommendedWatcher,
}

/// Watches the folders that a library is read from, and the library's own for folders that come later.
pub(super) fn saves(root: &Path) -> notify::Result<Saves> {
    let (sender, events) = channel();
    // Events tell whole paths, whatever path was asked for.
    let root = std::path::absolute(root).map_err(notify::Error::io)?;
    let library = root.clone();
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
        if let Some(place) = place(&library, &event) {
            let _ = sender.send(place);
        }
    })?;
    watcher.watch(&root, RecursiveMode::NonRecursive)?;
    let mut saves = Saves { root, events, watcher };
    saves.watch_folders()?;
    Ok(saves)
}

/// Where an event is about a library; nothing where it changes none.
fn place(root: &Path, event: &notify::Result<Event>) -> Option<Place> {
    let event = match event {
        Ok(event) if matches!(event.kind, EventKind::Access(_)) => return None,
        Ok(event) if !event.need_rescan() && !event.paths.is_empty() => event,
        // Whatever went wrong with the watching is a reason to look again.
        _ => return Some(Place::Folder),
    };
    let below = |path: &Path| {
        let path = path.strip_prefix(root).ok()?.to_owned();
        let ours = FOLDERS.iter().any(|folder| path.starts_with(folder));
        ours.then(|| if path.iter().count() == 1 { Place::Folder } else { Place::Inside })
    };
    let places: Vec<Place> = event.paths.iter().filter_map(|path| below(path)).collect();
    if places.contains(&Place::Folder) { Some(Place::Folder) } else { places.first().copied() }
}

impl Saves {
    fn watch_folders(&mut self) -> notify::Result<()> {
        for folder in FOLDERS {
            let folder = self.root.join(folder);
            if folder.is_dir() {
                self.watcher.watch(&folder, RecursiveMode::Recursive)?;
            }
        }
        Ok(())
    }

    /// Waits for a burst of saves to end; false where there will be none any more.
    pub(super) fn next(&mut self) -> bool {
        let Ok(first) = self.events.recv() else { return false };
        let began = Instant::now();
        let mut folder = first == Place::Folder;
        while began.elapsed() < LONGEST
            && let Ok(place) = self.events.recv_timeout(QUIET)
        {
            folder |= place == Place::Folder;
        }
        if folder {
            // A folder that can't be watched now may be gone again; what was pressed stands either way.
            let _ = self.watch_folders();
        }
        true
    }
}
