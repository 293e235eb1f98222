//! The only file that writes a site: all or nothing, the same bytes for the same input.
//!
//! Read, evaluate and set in memory first; a fault anywhere leaves the disk untouched. Then the site is built beside
//! the target under a lock and swapped in, by exchange where the system has it. Only a missing, an empty or a marked
//! folder is ever replaced. Nothing written depends on the clock or the machine.

use crate::diagnostic::{Diagnostic, Source};
use crate::drawing::Drawings;
use crate::editions::site::{Content, MetFault, Site, site};
use crate::editions::{NotMade, TakeAway};
use crate::evaluate::beside::Units;
use crate::evaluate::formulas::Formulas;
use crate::evaluate::published::{PublishedSheet, published};
use crate::evaluate::unread::Unread;
use crate::evaluate::{Drafts, evaluate, names, unused};
use crate::fault::{Fault, Severity, did_you_mean, id};
use crate::library::date::Date;
use crate::library::files::FileProblem;
use crate::library::{self, Library, Read, in_file, stale};
use crate::register::drift::{self, SheetDrift};
use crate::setting::theme::{self, Theme};
use crate::setting::{Scripts, Setting, Shows};
use crate::text::Span;
use rayon::prelude::*;
use rustix::fs::{CWD, RenameFlags, renameat_with};
use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap};
use std::fs::{self, File, TryLockError};
use std::io::{self, BufWriter, Write};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The file that marks a folder as pressed.
pub const MARKER: &str = ".pressed-by-locknut";

/// A library evaluated and set, or what is wrong with it.
#[derive(Debug, Default)]
pub struct Proof {
    /// Faults and notes, in the order of the files.
    pub faults: Vec<Diagnostic>,
    /// How many more there are that only follow from files that can't be read.
    pub following: usize,
    /// The files they stand in.
    pub sources: Vec<Arc<Source>>,
    /// The site; empty where there is a fault.
    pub site: Site,
    /// How many pages it holds.
    pub guides: usize,
    /// What the approved pages publish, beside what was signed; empty where there is a fault.
    pub figures: Figures,
    /// The names of all drawings that a page may set.
    pub drawings: Vec<String>,
    /// The library as written; nothing where its shop can't be read.
    pub library: Option<Library>,
}

/// What a library publishes, and what of it differs from the signed register.
#[derive(Debug, Default)]
pub struct Figures {
    /// What the approved pages publish.
    pub sheets: Vec<PublishedSheet>,
    /// What differs.
    pub drift: Vec<SheetDrift>,
}

impl Proof {
    /// True where something stops the press.
    #[must_use]
    pub fn has_faults(&self) -> bool {
        self.faults.iter().any(|one| one.fault.severity == Severity::Fault)
    }

    /// Adds faults that were found later, each in its place.
    pub(crate) fn add_faults(&mut self, faults: Vec<Diagnostic>) {
        for one in &faults {
            self.add_source(&one.file, bundled_text(&one.file));
        }
        self.faults.extend(faults);
        self.sort_faults();
    }

    fn sort_faults(&mut self) {
        let places: HashMap<&str, usize> =
            self.sources.iter().enumerate().map(|(place, source)| (source.name.as_str(), place)).collect();
        self.faults.sort_by_key(|one| (places.get(one.file.as_str()).copied(), one.fault.span));
    }

    fn add_source(&mut self, name: &str, text: String) {
        if !self.sources.iter().any(|source| source.name == name) {
            self.sources.push(Arc::new(Source::new(name, text)));
        }
    }
}

/// Why nothing could be written.
#[derive(Debug)]
pub enum PressProblem {
    /// The library can't be read.
    Library(FileProblem),
    /// The target holds something that wasn't pressed.
    NotOurs(PathBuf),
    /// Another press is at work on this target.
    Busy(PathBuf),
    /// The disk's or the system's fault.
    Write(PathBuf, io::Error),
}

impl From<FileProblem> for PressProblem {
    fn from(problem: FileProblem) -> Self {
        Self::Library(problem)
    }
}

/// Evaluates and sets a library in memory; writes nothing. With a day, what is too old by then is noted.
///
/// # Errors
/// A library that the machine can't read.
pub fn proof(root: &Path, drafts: Drafts, on: Option<Date>) -> Result<Proof, FileProblem> {
    prove(root, drafts, on, Sets::Everything)
}

/// Evaluates a library's approved pages and sets none: for whoever asks about their figures.
///
/// # Errors
/// A library that the machine can't read.
pub fn figures(root: &Path) -> Result<Proof, FileProblem> {
    prove(root, Drafts::LeftOut, None, Sets::Nothing)
}

/// How far pages go.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sets {
    Everything,
    Nothing,
}

fn prove(root: &Path, drafts: Drafts, on: Option<Date>, sets: Sets) -> Result<Proof, FileProblem> {
    let Read { library, sources, faults } = library::read(root)?;
    let mut proof = Proof { faults, sources, ..Proof::default() };
    let read = match Theme::of(root)? {
        Ok(theme) => Some(theme),
        Err(faults) => {
            for fault in faults {
                add_theme_fault(&mut proof, &MetFault { fault, met_on: String::new() }, root);
            }
            None
        }
    };
    for name in theme::strays(root) {
        proof.faults.push(Diagnostic { fault: stray(&name), file: name.clone() });
        proof.sources.push(Arc::new(Source::new(name, "")));
    }
    let (drawings, bad) = Drawings::of(root)?;
    proof.drawings = drawings.names();
    for drawing in bad {
        proof.faults.extend(in_file(&drawing.source, drawing.faults));
        proof.sources.push(Arc::new(drawing.source));
    }
    if let Some(library) = library {
        tell_unapproved(&library, drafts, &mut proof);
        proof.faults.extend(on.map(|on| stale::check(&library, on)).unwrap_or_default());
        // What a file that can't be read would have used only seems to be used by nothing.
        if drafts == Drafts::Proved && !proof.has_faults() {
            proof.add_faults(unused::check(&library));
        }
        let formulas = Formulas::of(&library);
        let (worked, mut faults) = evaluate(&library, &formulas, &drawings, drafts);
        proof.following = Unread::of(&proof.faults, &proof.sources).leave_out(&mut faults);
        proof.faults.extend(faults);
        proof.guides = worked.guides.len() + worked.builds.len() + worked.charts.len();
        let units = Units::of(&library.shop);
        // Where nothing was ever signed and the shop doesn't ask for it, nobody has to know what is published.
        let is_signed = !library.register.is_empty() || library.shop.unsigned_drift.is_some();
        if (sets == Sets::Nothing || drafts != Drafts::Shown && is_signed) && !proof.has_faults() {
            let shared = names::shared(&library);
            proof.figures.sheets = published(&worked, &shared, &units);
            proof.figures.drift = drift::drift(&library.register, &proof.figures.sheets);
            proof.faults.extend(drift::check(&library, &proof.figures.drift, &proof.figures.sheets));
        }
        // A theme that can't be read has its faults by now, and those of the pages are told beside them.
        if sets == Sets::Everything
            && !proof.has_faults()
            && let Some(theme) = &read
        {
            // Who keeps the library open to edit it takes nothing away.
            let editions = if drafts == Drafts::Shown { &[] } else { library.shop.editions.as_slice() };
            let (scripts, register) = (Scripts::default(), &library.register);
            let setting =
                Setting { shop: &library.shop, theme, drawings: &drawings, units, scripts, editions, register };
            match site(&setting, &worked, &library.formulas) {
                Ok(site) => proof.site = site,
                Err(faults) => faults.iter().for_each(|fault| add_theme_fault(&mut proof, fault, root)),
            }
        }
        proof.library = Some(library);
    }
    proof.sort_faults();
    Ok(proof)
}

/// A file among the theme's that stands in for none of them: nothing reads it, so its changes would never be seen.
fn stray(name: &str) -> Fault {
    let names = || crate::bundled::THEMES.iter().map(|(path, _)| path.strip_prefix("sheet/").unwrap_or(path));
    let file = name.rsplit('/').next().unwrap_or_default();
    let fault = Fault::note(id::STRAY_FILE, Span::at(0), "this file is none of the theme's and is left aside");
    let otherwise = "name it as the file that it stands in for; typefaces go into themes/sheet/type/";
    let cure = did_you_mean(file, names()).map(|near| format!("did you mean themes/sheet/{near}?"));
    fault.cure(cure.unwrap_or_else(|| otherwise.to_owned()))
}

/// Pages without `approved_by` are left out of a press, each with a note.
fn tell_unapproved(library: &Library, drafts: Drafts, proof: &mut Proof) {
    if drafts == Drafts::Shown {
        return;
    }
    let guides = library.guides.iter().filter(|guide| guide.approved_by.is_none());
    let bikes = library.bikes.iter().filter(|bike| bike.approved_by.is_none());
    let charts = library.charts.iter().filter(|chart| chart.approved_by.is_none());
    let guides = guides.map(|guide| (&guide.source, &guide.number));
    let charts = charts.map(|chart| (&chart.source, &chart.number));
    for (source, number) in guides.chain(bikes.map(|bike| (&bike.source, &bike.number))).chain(charts) {
        let message = format!("sheet {} is left out of the press: nobody has approved it", number.value);
        let fault = Fault::note(id::NOT_APPROVED, number.span, message)
            .cure("add a line approved_by: with the name of whoever signs it off");
        proof.faults.push(Diagnostic { file: source.name.clone(), fault });
    }
}

fn add_theme_fault(proof: &mut Proof, met: &MetFault, root: &Path) {
    let (source, fault) = theme_fault(met, root);
    proof.faults.push(Diagnostic { file: source.name.clone(), fault });
    proof.add_source(&met.fault.file, source.text);
}

/// A fault of a template with its file, as the library has it or the program.
pub(crate) fn theme_fault(met: &MetFault, root: &Path) -> (Source, Fault) {
    let fault = &met.fault;
    let text = fs::read_to_string(root.join(&fault.file)).unwrap_or_else(|_| bundled_text(&fault.file));
    let before = fault.line.map_or(0, |line| line.saturating_sub(1));
    let begins: usize = text.split_inclusive('\n').take(before).map(str::len).sum();
    let line = text[begins..].lines().next().unwrap_or_default();
    let blamed = fault.written.as_deref().and_then(|written| Some((line.find(written)?, written.len())));
    let (indent, length) = blamed.unwrap_or((line.len() - line.trim_start().len(), line.trim().len()));
    let start = begins + indent;
    let found = Fault::new(id::THEME, Span::new(start, start + length), fault.message.clone())
        .cure("mend it, or take the file away: the one that came with the program then stands in for it");
    let found = if met.met_on.is_empty() { found } else { found.found(format!("when sheet {} was set", met.met_on)) };
    (Source::new(fault.file.clone(), text), found)
}

fn bundled_text(file: &str) -> String {
    let lists = [("themes/", crate::bundled::THEMES), ("diagrams/", crate::bundled::DIAGRAMS)];
    let find = |(folder, list): (&str, &[(&str, &[u8])])| {
        let path = file.strip_prefix(folder)?;
        list.iter().find(|(name, _)| *name == path).map(|(_, bytes)| String::from_utf8_lossy(bytes).into_owned())
    };
    lists.into_iter().find_map(find).unwrap_or_default()
}

/// Makes sure of all photos that the site at `target` doesn't hold yet, and writes nothing; a damaged one is a fault.
pub fn prove_photos(proof: &mut Proof, target: &Path) {
    let before = pictures_of(target);
    let files = proof.site.files.par_iter().filter(|(path, _)| !before.contains_key(*path));
    let faults: Vec<Diagnostic> = files
        .filter_map(|(path, content)| match content {
            Content::Picture(shows @ Shows::Photo { .. }) => shows.make(path).err(),
            _ => None,
        })
        .collect();
    proof.add_faults(faults);
}

/// Writes a proved site to `target`, whole or not at all; a picture that can't be made is one more fault, and nothing
/// is written.
///
/// # Errors
/// A target that isn't ours, another press at work, or the disk.
pub fn write(proof: &mut Proof, target: &Path) -> Result<(), PressProblem> {
    check_target(target)?;
    let parent = target.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(parent).map_err(problem(parent))?;
    let beside = Beside::of(target, parent);
    let _held = beside.lock(target)?;
    beside.recover(target).map_err(problem(target))?;
    let result = build(&proof.site, &beside.staging, target).map_err(problem(&beside.staging)).and_then(|faults| {
        let whole = faults.is_empty();
        proof.add_faults(faults);
        if !whole {
            return Ok(());
        }
        // Somebody may have put something there while the site was made.
        check_target(target)?;
        beside.swap(target).map_err(problem(target))
    });
    // What is left is either half a site or the one that was replaced.
    let swept = remove(&beside.staging);
    let unlocked = fs::remove_file(&beside.lock);
    result?;
    swept.map_err(problem(&beside.staging))?;
    unlocked.map_err(problem(&beside.lock))
}

fn problem(path: &Path) -> impl Fn(io::Error) -> PressProblem {
    let path = path.to_owned();
    move |error| PressProblem::Write(path.clone(), error)
}

/// Only a missing, an empty or a marked folder may be replaced.
fn check_target(target: &Path) -> Result<(), PressProblem> {
    let about = match fs::symlink_metadata(target) {
        Ok(about) => about,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(problem(target)(error)),
    };
    let ours = about.is_dir()
        && (target.join(MARKER).is_file() || fs::read_dir(target).map_err(problem(target))?.next().is_none());
    if ours { Ok(()) } else { Err(PressProblem::NotOurs(target.to_owned())) }
}

/// The marker of a pressed folder: the edition, then each file with the hash of its bytes.
fn marker(edition: &str, files: &[(&str, String)]) -> String {
    let lines: String = files.iter().map(|(path, hash)| format!("{hash}  {path}\n")).collect();
    format!("{edition}\n{lines}")
}

/// The hash of each picture of the last site, as its marker says.
fn pictures_of(target: &Path) -> HashMap<String, String> {
    let text = fs::read_to_string(target.join(MARKER)).unwrap_or_default();
    let lines = text.lines().skip(1).filter_map(|line| line.split_once("  "));
    lines
        .filter(|(_, path)| {
            ["drawings/", "photos/", "previews/", "icons/"].iter().any(|begins| path.starts_with(begins))
        })
        .map(|(hash, path)| (path.to_owned(), hash.to_owned()))
        .collect()
}

/// Writes all files of a site and of its editions into a new folder, the marker last; gives the faults of pictures that can't be made.
fn build(site: &Site, staging: &Path, target: &Path) -> io::Result<Vec<Diagnostic>> {
    remove(staging)?;
    fs::create_dir_all(staging)?;
    let paths = site.files.keys().map(String::as_str).chain(site.away.iter().map(TakeAway::path));
    let folders: BTreeSet<&Path> = paths.filter_map(|path| Path::new(path).parent()).collect();
    for folder in folders {
        fs::create_dir_all(staging.join(folder))?;
    }
    let (mut hashes, mut faults) = write_site(site, staging, target)?;
    if faults.is_empty() {
        let (more, wrong) = write_away(site, staging)?;
        hashes.extend(more);
        faults.extend(wrong);
    }
    hashes.sort_unstable();
    fs::write(staging.join(MARKER), marker(&site.edition, &hashes))?;
    // All that was written is on the disk before the swap, so that a power cut finds one of the two sites whole.
    rustix::fs::syncfs(File::open(staging)?)?;
    Ok(faults)
}

/// Files that were written, each with the hash of its bytes, and the faults of those that couldn't be made.
type Written<'s> = (Vec<(&'s str, String)>, Vec<Diagnostic>);

/// Writes all files of the site.
fn write_site<'s>(site: &'s Site, staging: &Path, target: &Path) -> io::Result<Written<'s>> {
    let before = pictures_of(target);
    let written: Vec<io::Result<Result<(&str, String), Diagnostic>>> = site
        .files
        .par_iter()
        .map(|(path, content)| {
            let bytes = match content {
                Content::Bytes(bytes) => Cow::Borrowed(bytes.as_slice()),
                Content::Picture(shows) => match last_picture(&target.join(path), before.get(path)) {
                    Some(bytes) => Cow::Owned(bytes),
                    None => match shows.make(path) {
                        Ok(bytes) => Cow::Owned(bytes),
                        Err(fault) => return Ok(Err(fault)),
                    },
                },
            };
            fs::write(staging.join(path), &bytes)?;
            Ok(Ok((path.as_str(), blake3::hash(&bytes).to_hex().to_string())))
        })
        .collect();
    sort_out(written)
}

/// Writes the files of the other editions, each made from the site's files as they were just written.
fn write_away<'s>(site: &'s Site, staging: &Path) -> io::Result<Written<'s>> {
    let read = |path: &str| fs::read(staging.join(path));
    let write = |away: &'s TakeAway| {
        let mut file = Hashed::create(&staging.join(away.path()))?;
        match away.write(&read, &mut file) {
            Ok(()) => Ok(Ok((away.path(), file.finish()?))),
            Err(NotMade::Fault(fault)) => Ok(Err(*fault)),
            Err(NotMade::Disk(error)) => Err(error),
        }
    };
    sort_out(site.away.par_iter().map(write).collect())
}

fn sort_out(written: Vec<io::Result<Result<(&str, String), Diagnostic>>>) -> io::Result<Written<'_>> {
    let mut hashes = Vec::with_capacity(written.len());
    let mut faults = Vec::new();
    for one in written {
        match one? {
            Ok(hash) => hashes.push(hash),
            Err(fault) => faults.push(fault),
        }
    }
    Ok((hashes, faults))
}

/// A file whose bytes are hashed while they are written.
struct Hashed {
    file: BufWriter<File>,
    hasher: blake3::Hasher,
}

impl Hashed {
    fn create(path: &Path) -> io::Result<Self> {
        Ok(Self { file: BufWriter::new(File::create(path)?), hasher: blake3::Hasher::new() })
    }

    /// The hash of all bytes, which are in the file now.
    fn finish(mut self) -> io::Result<String> {
        self.file.flush()?;
        Ok(self.hasher.finalize().to_hex().to_string())
    }
}

impl Write for Hashed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let length = self.file.write(bytes)?;
        self.hasher.update(&bytes[..length]);
        Ok(length)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// The picture of the last site, where that is still what its marker says.
fn last_picture(last: &Path, hash: Option<&String>) -> Option<Vec<u8>> {
    let bytes = fs::read(last).ok()?;
    (blake3::hash(&bytes).to_hex().as_str() == hash?).then_some(bytes)
}

/// What a press keeps beside its target while it works.
struct Beside {
    lock: PathBuf,
    /// The site that is being made; after an exchange, the one that was replaced.
    staging: PathBuf,
    /// Where there is no exchange, the site that is being replaced.
    replaced: PathBuf,
}

impl Beside {
    fn of(target: &Path, parent: &Path) -> Self {
        let name = target.file_name().unwrap_or_default().to_string_lossy();
        let path = |ending: &str| parent.join(format!(".{name}.{ending}"));
        Self { lock: path("lock"), staging: path("being-pressed"), replaced: path("replaced") }
    }

    /// Keeps other presses out for as long as the file is held.
    fn lock(&self, target: &Path) -> Result<File, PressProblem> {
        loop {
            let file = File::create(&self.lock).map_err(problem(&self.lock))?;
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => return Err(PressProblem::Busy(target.to_owned())),
                Err(TryLockError::Error(error)) => return Err(problem(&self.lock)(error)),
            }
            // The press before takes its file away at its end: one that has no name any more keeps nobody out.
            let held = file.metadata().map_err(problem(&self.lock))?;
            if fs::metadata(&self.lock).is_ok_and(|named| (named.dev(), named.ino()) == (held.dev(), held.ino())) {
                return Ok(file);
            }
        }
    }

    /// Completes what an interrupted press left: a site that was moved aside and never replaced comes back.
    fn recover(&self, target: &Path) -> io::Result<()> {
        if self.replaced.join(MARKER).is_file() && !target.exists() {
            fs::rename(&self.replaced, target)?;
        }
        remove(&self.replaced)
    }

    fn swap(&self, target: &Path) -> io::Result<()> {
        if !target.exists() {
            return fs::rename(&self.staging, target);
        }
        match renameat_with(CWD, &self.staging, CWD, target, RenameFlags::EXCHANGE) {
            Ok(()) => Ok(()),
            // Not every file system can exchange two names.
            Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS | rustix::io::Errno::NOTSUP) => {
                fs::rename(target, &self.replaced)?;
                if let Err(error) = fs::rename(&self.staging, target) {
                    fs::rename(&self.replaced, target)?;
                    return Err(error);
                }
                remove(&self.replaced)
            }
            Err(error) => Err(error.into()),
        }
    }
}

fn remove(folder: &Path) -> io::Result<()> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::{Beside, MARKER};
    use std::fs;

    /// A press that was stopped between its two renames: the next one finds the last good site aside.
    #[test]
    fn a_site_that_was_moved_aside_comes_back() {
        let folder = std::env::temp_dir().join(format!("locknut-recover-{}", std::process::id()));
        let target = folder.join("pressed");
        let beside = Beside::of(&target, &folder);
        fs::create_dir_all(&beside.replaced).expect("a folder");
        fs::write(beside.replaced.join(MARKER), "2026-05-03-aaaaaaaa\n").expect("a marker");
        beside.recover(&target).expect("it is brought back");
        assert!(target.join(MARKER).is_file() && !beside.replaced.exists());
        // With a site in its place, what is aside is swept.
        fs::create_dir_all(&beside.replaced).expect("a folder");
        beside.recover(&target).expect("it is swept");
        assert!(target.join(MARKER).is_file() && !beside.replaced.exists());
        fs::remove_dir_all(&folder).expect("nothing is left");
    }
}
