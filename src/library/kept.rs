//! What was read of a library last time, so that after a save only files that changed are read and parsed again.
//!
//! A file is the same where length, times and number on the disk are; one that was written in the very moment in which it
//! was read is read once more. Parts are shared, not copied.

use super::shelf::{Shelf, ShelfFile};
use super::{Faults, Part};
use crate::diagnostic::Source;
use crate::fault::Fault;
use std::collections::HashMap;
use std::fs::Metadata;
use std::os::unix::fs::MetadataExt;
use std::sync::Arc;
use std::time::{Duration, SystemTime};

/// Times on a disk may be no finer than this: a file that is younger may change without showing it.
const COARSE: Duration = Duration::from_millis(50);

/// Files, parts and the shelf as they were read last.
#[derive(Debug, Default)]
pub struct Kept {
    files: HashMap<String, KeptFile>,
    parts: HashMap<String, (Arc<Source>, Part, Faults)>,
    shelf: Option<(Vec<Arc<ShelfFile>>, Arc<Shelf>, Faults)>,
}

#[derive(Debug)]
struct KeptFile {
    stamp: Stamp,
    source: Arc<Source>,
    faults: Vec<Fault>,
}

/// What tells one state of a file from another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Stamp {
    length: u64,
    number: u64,
    written: (i64, i64),
    changed: (i64, i64),
    /// False where another state could look the same.
    settled: bool,
}

impl Stamp {
    pub(super) fn of(about: &Metadata) -> Self {
        let young = about.modified().is_ok_and(|at| SystemTime::now().duration_since(at).is_ok_and(|age| age < COARSE));
        Self {
            length: about.len(),
            number: about.ino(),
            written: (about.mtime(), about.mtime_nsec()),
            changed: (about.ctime(), about.ctime_nsec()),
            settled: !young,
        }
    }
}

impl Kept {
    /// The file as it was read, where it is still the same.
    pub(super) fn file(&self, name: &str, stamp: Stamp) -> Option<(Arc<Source>, &[Fault])> {
        let kept = self.files.get(name).filter(|kept| kept.stamp.settled && kept.stamp == stamp)?;
        Some((Arc::clone(&kept.source), &kept.faults))
    }

    /// Keeps a file; where it says the same as before, what was made of it then stays.
    pub(super) fn keep_file(&mut self, name: &str, stamp: Stamp, source: Source, faults: Vec<Fault>) -> Arc<Source> {
        let before = self.files.remove(name).filter(|kept| kept.source.text == source.text);
        let source = before.map_or_else(|| Arc::new(source), |kept| kept.source);
        self.files.insert(name.to_owned(), KeptFile { stamp, source: Arc::clone(&source), faults });
        source
    }

    /// What a file was parsed to, where it is still the same.
    pub(super) fn part(&self, source: &Arc<Source>) -> Option<(Part, Faults)> {
        let (kept, part, faults) = self.parts.get(&source.name)?;
        Arc::ptr_eq(kept, source).then(|| (part.clone(), faults.clone()))
    }

    pub(super) fn keep_part(&mut self, source: &Arc<Source>, part: Part, faults: Faults) {
        self.parts.insert(source.name.clone(), (Arc::clone(source), part, faults));
    }

    /// The shelf, built where one of its files is another.
    pub(super) fn shelf(&mut self, files: Vec<Arc<ShelfFile>>, faults: &mut Faults) -> Arc<Shelf> {
        let same = |kept: &[Arc<ShelfFile>]| {
            kept.len() == files.len() && kept.iter().zip(&files).all(|(one, other)| Arc::ptr_eq(one, other))
        };
        if let Some((kept, shelf, found)) = &self.shelf
            && same(kept)
        {
            faults.extend_from_slice(found);
            return Arc::clone(shelf);
        }
        let mut found = Faults::new();
        let shelf = Arc::new(super::shelf::build(&files, &mut found));
        faults.extend_from_slice(&found);
        self.shelf = Some((files, Arc::clone(&shelf), found));
        shelf
    }

    /// Forgets what is no longer there.
    pub(super) fn forget_all_but(&mut self, sources: &[Arc<Source>]) {
        if self.parts.len() > sources.len() || self.files.len() > sources.len() {
            let there: std::collections::HashSet<&str> = sources.iter().map(|source| source.name.as_str()).collect();
            self.parts.retain(|name, _| there.contains(name.as_str()));
            self.files.retain(|name, _| there.contains(name.as_str()));
        }
    }
}
