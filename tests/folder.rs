//! What tests of whole libraries share: a folder of a test's own, gone at its end, and the program run in it.
//!
//! A library comes there in three ways: written by the test itself, copied from the starter library as it stands in
//! this project, or laid down by the program.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicUsize, Ordering};

/// The program as it was built for the tests.
pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_locknut");

/// The file of a pressed site that names all others.
pub(crate) const MARKER: &str = ".pressed-by-locknut";

/// The project's own folder: the starter library itself, for what writes nothing.
pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A folder of the test's own, gone when dropped.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    /// A new and empty one; the name is for whoever finds it after a test was stopped.
    pub(crate) fn new(name: &str) -> Self {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let folder = Self(std::env::temp_dir().join(format!("locknut-{name}-{}-{number}", std::process::id())));
        // Another run may have had this number, and been stopped.
        let _ = fs::remove_dir_all(&folder.0);
        fs::create_dir_all(&folder.0).expect("a folder for the test");
        folder
    }

    /// A copy of the starter library.
    pub(crate) fn starter(name: &str) -> Self {
        let folder = Self::new(name);
        for (path, bytes) in files(&root().join("content")) {
            folder.write(&format!("content/{path}"), bytes);
        }
        folder
    }

    /// The starter library as the program lays it down.
    pub(crate) fn laid_down(name: &str) -> Self {
        let folder = Self::new(name);
        folder.done(&["fit-out", "."]);
        folder
    }

    pub(crate) fn read(&self, path: &str) -> String {
        fs::read_to_string(self.0.join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    pub(crate) fn write(&self, path: &str, bytes: impl AsRef<[u8]>) {
        let path = self.0.join(path);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder for the test");
        fs::write(path, bytes).expect("a file for the test");
    }

    /// Writes a file anew with other words in place of these, which must stand in it.
    pub(crate) fn change(&self, path: &str, from: &str, to: &str) {
        let text = self.read(path);
        assert!(text.contains(from), "{from} stands in {path}");
        self.write(path, text.replace(from, to));
    }

    pub(crate) fn run(&self, words: &[&str]) -> Output {
        run_in(&self.0, words)
    }

    /// Runs what must be done, and gives what it says.
    pub(crate) fn done(&self, words: &[&str]) -> String {
        let output = self.run(words);
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", err(&output));
        out(&output)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// The program with these words, as it would start in a folder before a screen of 80 columns.
pub(crate) fn command(folder: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(PROGRAM);
    command.args(words).current_dir(folder).env("COLUMNS", "80");
    command
}

pub(crate) fn run_in(folder: &Path, words: &[&str]) -> Output {
    command(folder, words).output().expect("it runs")
}

/// What a program wrote to its standard output.
pub(crate) fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// What it wrote to its standard error.
pub(crate) fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// On one line with plain spaces, so that where a line was broken doesn't matter.
pub(crate) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every file below a folder with its bytes, by path.
pub(crate) fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = walkdir::WalkDir::new(folder).into_iter().map(|entry| entry.expect("an entry").into_path());
    entries
        .filter(|path| path.is_file())
        .map(|path| {
            let name = path.strip_prefix(folder).expect("below").to_string_lossy().into_owned();
            (name, fs::read(path).expect("a file"))
        })
        .collect()
}
