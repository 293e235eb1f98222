//! The files of a library: found in the order of their paths, read once, as text.
//!
//! Only what the library's folders lay down is read. A file that is no UTF-8, is too large or is no file at all is a
//! fault of that file; a folder that can't be read is the machine's. Links that lead elsewhere are not followed.

use super::kept::{Kept, Stamp};
use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Fault, id};
use crate::register;
use crate::text::{Span, is_invisible};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::{fmt, fs, io};
use walkdir::WalkDir;

/// A page or list larger than this is no page: 256 KiB, forty times a long guide.
const LARGEST: u64 = 256 * 1024;

/// The register has a line for each figure of a library, and nobody writes it by hand: 64 MiB.
const LARGEST_REGISTER: u64 = 64 * 1024 * 1024;

/// What the machine, not the author, has to mend.
#[derive(Debug)]
pub enum FileProblem {
    /// The folder holds no library.
    NoShop(PathBuf),
    /// A file or folder that can't be read or written.
    Unreadable(PathBuf, io::Error),
}

impl fmt::Display for FileProblem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoShop(path) => {
                let path = path.strip_prefix(".").unwrap_or(path);
                write!(out, "there is no library here: {} is missing\n  Do:      ", path.display())?;
                match around(path) {
                    Some(root) => {
                        write!(out, "the library is {}: run this there, or add --library DIR", root.display())
                    }
                    None => write!(out, "run this in a library's folder, or name one with --library DIR"),
                }
            }
            Self::Unreadable(path, error) => write!(
                out,
                "can't use {}: {error}\n  Do:      check that it exists and that you may read and write it",
                path.display()
            ),
        }
    }
}

/// The library in whose folders somebody stands who looked for a shop's file at `path`.
fn around(path: &Path) -> Option<PathBuf> {
    let here = std::path::absolute(path).ok()?;
    let above = here.parent()?.parent().filter(|root| root.is_dir())?.ancestors().skip(1);
    above.filter(|folder| folder.join("content/shop.yaml").is_file()).map(Path::to_owned).next()
}

/// The text files of a library and the faults of reading them.
#[derive(Debug, Default)]
pub struct Files {
    /// The files by path, `content/…`, with forward slashes.
    pub sources: Vec<Arc<Source>>,
    /// Files that are no text.
    pub faults: Vec<Diagnostic>,
    /// The paths of all files below `content/photos/`, which are read only where a page shows them.
    pub photos: Vec<String>,
}

impl Files {
    /// Reads the library below `root`.
    ///
    /// # Errors
    /// A folder or file that can't be read.
    pub fn read(root: &Path, kept: &mut Kept) -> Result<Self, FileProblem> {
        let content = root.join("content");
        if !content.is_dir() {
            return Err(FileProblem::NoShop(content.join("shop.yaml")));
        }
        Self::below(root, &content, kept)
    }

    /// Reads one folder of the library below `root`, with all that lies in it.
    ///
    /// # Errors
    /// A folder or file that can't be read.
    pub fn below(root: &Path, folder: &Path, kept: &mut Kept) -> Result<Self, FileProblem> {
        let mut files = Self::default();
        let mut walk = WalkDir::new(folder).sort_by_file_name().into_iter();
        while let Some(entry) = walk.next() {
            let entry = entry.map_err(|error| {
                let path = error.path().unwrap_or(folder).to_owned();
                FileProblem::Unreadable(
                    path,
                    error.into_io_error().unwrap_or_else(|| io::Error::other("links lead round in a circle")),
                )
            })?;
            if entry.file_type().is_dir() && !is_page(entry.path()) || is_of_an_editor(entry.path()) {
                continue;
            }
            let name = name_below(root, entry.path());
            if name.starts_with("content/photos/") && entry.file_type().is_file() {
                files.photos.push(name);
            } else if is_page(entry.path()) || entry.path_is_symlink() {
                files.read_one(root, entry.path(), kept)?;
                // A folder in a file's place is one fault, whatever it holds.
                if entry.file_type().is_dir() {
                    walk.skip_current_dir();
                }
            } else {
                // What it holds is nobody's to read; that it stands here is told.
                files.sources.push(Arc::new(Source::new(name, "")));
            }
        }
        Ok(files)
    }

    fn read_one(&mut self, root: &Path, path: &Path, kept: &mut Kept) -> Result<(), FileProblem> {
        let name = name_below(root, path);
        let problem = |error| FileProblem::Unreadable(path.to_owned(), error);
        let about = match fs::symlink_metadata(path) {
            // It went while the folder was read.
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
            about => about.map_err(problem)?,
        };
        if !about.is_file() {
            let what = if about.is_dir() { "a folder" } else { "a link" };
            self.refuse(
                name,
                Fault::new(id::NOT_A_FILE, Span::default(), format!("this is {what}, and a file is wanted"))
                    .cure("move it away, or put the file itself here"),
            );
            return Ok(());
        }
        let most = if name == register::FILE { LARGEST_REGISTER } else { LARGEST };
        if about.len() > most {
            self.refuse(
                name,
                Fault::new(id::FILE_TOO_LARGE, Span::default(), "this file is too large for a page or a list")
                    .allowed(format!("up to {} KiB", most / 1024))
                    .cure("split it; pictures belong in photos/"),
            );
            return Ok(());
        }
        let stamp = Stamp::of(&about);
        let (source, faults) = if let Some((source, faults)) = kept.file(&name, stamp) {
            (source, faults.to_vec())
        } else {
            let bytes = match fs::read(path) {
                Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
                bytes => bytes.map_err(problem)?,
            };
            let (text, faults) = text_of(bytes);
            (kept.keep_file(&name, stamp, Source::new(name.clone(), text), faults.clone()), faults)
        };
        self.faults.extend(faults.into_iter().map(|fault| Diagnostic { file: name.clone(), fault }));
        self.sources.push(source);
        Ok(())
    }

    fn refuse(&mut self, name: String, fault: Fault) {
        self.sources.push(Arc::new(Source::new(name.clone(), "")));
        self.faults.push(Diagnostic { file: name, fault });
    }
}

/// A file's bytes as text, with what is wrong in them.
fn text_of(bytes: Vec<u8>) -> (String, Vec<Fault>) {
    match String::from_utf8(bytes) {
        Ok(text) => {
            // Some editors begin a file with a byte order mark, which says nothing in UTF-8.
            let text = text.strip_prefix('\u{FEFF}').map(str::to_owned).unwrap_or(text);
            let fault = text.find(is_invisible).map(|at| invisible(Span::at(at)));
            (text, fault.into_iter().collect())
        }
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let fault = Fault::new(id::NOT_UTF8, Span::at(at), "from here on the file can't be read as text")
                .cure("open it in a text editor and save it again with the encoding UTF-8");
            (String::from_utf8_lossy(error.as_bytes()).into_owned(), vec![fault])
        }
    }
}

/// The fault of a sign that no page can hold.
pub(super) fn invisible(span: Span) -> Fault {
    Fault::new(id::INVISIBLE_SIGN, span, "an invisible sign stands here")
        .cure("delete it, and type the line again if it comes back")
}

fn is_page(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "md" || ending == "yaml")
}

/// Hidden files, and what editors leave beside those that they write.
pub(crate) fn is_of_an_editor(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name.starts_with(['.', '#']) || name.ends_with(['~', '#']) || name.ends_with(".swp") || name.ends_with(".tmp")
}

/// A path below the library's folder, with forward slashes.
#[must_use]
pub fn name_below(root: &Path, path: &Path) -> String {
    let below = path.strip_prefix(root).unwrap_or(path);
    below.iter().map(|part| part.to_string_lossy()).collect::<Vec<_>>().join("/")
}
