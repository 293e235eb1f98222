//! The only file that writes a site: all or nothing, the same bytes for the same input.
//!
//! Read, evaluate and set in memory first; a fault anywhere leaves the disk untouched. Then the site is built beside
//! the target under a lock and swapped in, by exchange where the system has it. Only a missing, an empty or a marked
//! folder is ever replaced. Nothing written depends on the clock or the machine.

use crate::diagnostic::{Diagnostic, Source};
use crate::drawing::Drawings;
use crate::evaluate::formulas::Formulas;
use crate::evaluate::{Drafts, WorkedGuide, evaluate};
use crate::fault::{Fault, Severity, id};
use crate::library::files::FileProblem;
use crate::library::{self, Library, Read, in_file};
use crate::setting::theme::{Theme, ThemeFault};
use crate::setting::{Page, Setting, front_page, guide_page};
use crate::text::Span;
use rustix::fs::{CWD, RenameFlags, renameat_with};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The file that marks a folder as pressed.
pub const MARKER: &str = ".pressed-by-locknut";

/// A library evaluated and set, or what is wrong with it.
#[derive(Debug, Default)]
pub struct Proof {
    /// Faults and notes, in the order of the files.
    pub faults: Vec<Diagnostic>,
    /// The files they stand in.
    pub sources: Vec<Arc<Source>>,
    /// The site's files by path; empty where there is a fault.
    pub site: Vec<(String, Vec<u8>)>,
    /// How many guides it holds.
    pub guides: usize,
    /// The edition: the latest date of issue and digits of the content's hash.
    pub edition: String,
}

impl Proof {
    /// True where something stops the press.
    #[must_use]
    pub fn has_faults(&self) -> bool {
        self.faults.iter().any(|one| one.fault.severity == Severity::Fault)
    }

    fn add_source(&mut self, name: &str, text: String) {
        if !self.sources.iter().any(|source| source.name == name) {
            self.sources.push(Arc::new(Source { name: name.to_owned(), text }));
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

/// Evaluates and sets a library in memory; writes nothing.
///
/// # Errors
/// A library that the machine can't read.
pub fn proof(root: &Path, drafts: Drafts) -> Result<Proof, FileProblem> {
    let Read { library, sources, faults } = library::read(root)?;
    let mut proof = Proof { faults, sources, ..Proof::default() };
    let theme = match Theme::of(root)? {
        Ok(theme) => Some(theme),
        Err(fault) => {
            add_theme_fault(&mut proof, &fault, root);
            None
        }
    };
    let (drawings, bad) = Drawings::of(root)?;
    for drawing in bad {
        proof.faults.extend(in_file(&drawing.source, drawing.faults));
        proof.sources.push(Arc::new(drawing.source));
    }
    if let (Some(library), Some(theme)) = (library, theme) {
        tell_unapproved(&library, drafts, &mut proof);
        let formulas = Formulas::of(&library);
        let (worked, faults) = evaluate(&library, &formulas, &drawings, drafts);
        proof.faults.extend(faults);
        proof.guides = worked.len();
        let setting = Setting { shop: &library.shop, theme: &theme, drawings: &drawings };
        if !proof.has_faults()
            && let Err(fault) = set(&setting, &worked, &mut proof)
        {
            add_theme_fault(&mut proof, &fault, root);
        }
    }
    let order = |file: &str| proof.sources.iter().position(|source| source.name == file);
    let mut faults = std::mem::take(&mut proof.faults);
    faults.sort_by_key(|one| (order(&one.file), one.fault.span));
    proof.faults = faults;
    Ok(proof)
}

/// Pages without `approved_by` are left out of a press, each with a note.
fn tell_unapproved(library: &Library, drafts: Drafts, proof: &mut Proof) {
    if drafts == Drafts::Shown {
        return;
    }
    for guide in library.guides.iter().filter(|guide| guide.approved_by.is_none()) {
        let message = format!("sheet {} is left out of the press: nobody has approved it", guide.number.value);
        let fault = Fault::note(id::NOT_APPROVED, guide.number.span, message)
            .cure("add approved_by: with the name of whoever lets it out");
        proof.faults.push(Diagnostic { file: guide.source.name.clone(), fault });
    }
}

fn set(setting: &Setting<'_>, guides: &[WorkedGuide<'_>], proof: &mut Proof) -> Result<(), ThemeFault> {
    let pages = guides.iter().map(|guide| guide_page(setting, guide)).collect::<Result<Vec<Page>, _>>()?;
    let mut files: Vec<(String, Vec<u8>)> = pages.into_iter().map(|page| (page.path, page.html.into_bytes())).collect();
    files.extend(setting.theme.files.iter().map(|(path, bytes)| (path.clone(), bytes.to_vec())));
    let latest = guides.iter().map(|guide| guide.guide.issued.as_str()).max().unwrap_or("unissued").to_owned();
    let mut hasher = blake3::Hasher::new();
    for (path, bytes) in &files {
        hasher.update(path.as_bytes()).update(&[0]).update(bytes);
    }
    proof.edition = format!("{latest}-{}", &hasher.finalize().to_hex()[..8]);
    let front = front_page(setting, guides, &proof.edition)?;
    files.push((front.path, front.html.into_bytes()));
    files.push((MARKER.to_owned(), format!("{}\n", proof.edition).into_bytes()));
    proof.site = files;
    Ok(())
}

fn add_theme_fault(proof: &mut Proof, fault: &ThemeFault, root: &Path) {
    let text = fs::read_to_string(root.join(&fault.file)).unwrap_or_else(|_| bundled_text(&fault.file));
    let before = fault.line.map_or(0, |line| line.saturating_sub(1));
    let begins: usize = text.split_inclusive('\n').take(before).map(str::len).sum();
    let line = text[begins..].lines().next().unwrap_or_default();
    let blamed = fault.written.as_deref().and_then(|written| Some((line.find(written)?, written.len())));
    let (indent, length) = blamed.unwrap_or((line.len() - line.trim_start().len(), line.trim().len()));
    let start = begins + indent;
    let found = Fault::new(id::THEME, Span::new(start, start + length), fault.message.clone())
        .cure("mend it, or take the file away: the one that came with the program then stands in for it");
    proof.add_source(&fault.file, text);
    proof.faults.push(Diagnostic { file: fault.file.clone(), fault: found });
}

fn bundled_text(file: &str) -> String {
    let lists = [("themes/", crate::bundled::THEMES), ("diagrams/", crate::bundled::DIAGRAMS)];
    let find = |(folder, list): (&str, &[(&str, &[u8])])| {
        let path = file.strip_prefix(folder)?;
        list.iter().find(|(name, _)| *name == path).map(|(_, bytes)| String::from_utf8_lossy(bytes).into_owned())
    };
    lists.into_iter().find_map(find).unwrap_or_default()
}

/// Writes a proved site to `target`, whole or not at all.
///
/// # Errors
/// A target that isn't ours, another press at work, or the disk.
pub fn write(proof: &Proof, target: &Path) -> Result<(), PressProblem> {
    check_target(target)?;
    let parent = target.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let problem = |path: &Path| {
        let path = path.to_owned();
        move |error| PressProblem::Write(path, error)
    };
    fs::create_dir_all(parent).map_err(problem(parent))?;
    let name = target.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let lock_path = parent.join(format!(".{name}.lock"));
    let lock = File::create(&lock_path).map_err(problem(&lock_path))?;
    lock.try_lock().map_err(|_| PressProblem::Busy(target.to_owned()))?;
    let staging = parent.join(format!(".{name}.being-pressed"));
    let result = build(proof, &staging)
        .map_err(problem(&staging))
        .and_then(|()| swap(&staging, target).map_err(problem(target)));
    // What is left is either half a site or the one that was replaced.
    let swept = remove(&staging);
    let unlocked = fs::remove_file(&lock_path);
    result?;
    swept.map_err(problem(&staging))?;
    unlocked.map_err(problem(&lock_path))
}

/// Only a missing, an empty or a marked folder may be replaced.
fn check_target(target: &Path) -> Result<(), PressProblem> {
    let about = match fs::symlink_metadata(target) {
        Ok(about) => about,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(PressProblem::Write(target.to_owned(), error)),
    };
    let write = |error| PressProblem::Write(target.to_owned(), error);
    let ours =
        about.is_dir() && (target.join(MARKER).is_file() || fs::read_dir(target).map_err(write)?.next().is_none());
    if ours { Ok(()) } else { Err(PressProblem::NotOurs(target.to_owned())) }
}

fn build(proof: &Proof, staging: &Path) -> io::Result<()> {
    remove(staging)?;
    for (path, bytes) in &proof.site {
        let path = staging.join(path);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(path, bytes)?;
    }
    Ok(())
}

fn swap(staging: &Path, target: &Path) -> io::Result<()> {
    if !target.exists() {
        return fs::rename(staging, target);
    }
    match renameat_with(CWD, staging, CWD, target, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(()),
        // Not every file system can exchange two names.
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS | rustix::io::Errno::NOTSUP) => {
            let old = staging.with_extension("replaced");
            remove(&old)?;
            fs::rename(target, &old)?;
            fs::rename(staging, target)?;
            remove(&old)
        }
        Err(error) => Err(error.into()),
    }
}

fn remove(folder: &Path) -> io::Result<()> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}
