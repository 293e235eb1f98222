//! Build script: lists the files that the binary carries, so that adding one touches no Rust.
//!
//! Formulas, families of parts and rules about them, the theme, drawings and the starter library become lists of
//! (path, bytes) in `bundled.rs` under the build's own folder, sorted by path. Nothing is parsed or changed here.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, error::Error, fs};
use walkdir::WalkDir;

/// The name of each list, and the folder whose files it holds.
const LISTS: [(&str, &str); 7] = [
    ("FORMULAS", "src/mechanics/formulas"),
    ("FAMILIES", "src/mechanics/families"),
    ("RULES", "src/mechanics/rules"),
    ("THEMES", "themes"),
    ("DIAGRAMS", "diagrams"),
    ("CONTENT", "content"),
    // What is said of each mistake: the examples with which a fault is explained.
    ("MISTAKES", "tests/mistakes"),
];

fn main() -> Result<(), Box<dyn Error>> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?);
    let mut text = String::new();
    for (name, folder) in LISTS {
        println!("cargo::rerun-if-changed={folder}");
        write_list(&mut text, name, &root.join(folder))?;
    }
    fs::write(Path::new(&env::var("OUT_DIR")?).join("bundled.rs"), text)?;
    Ok(())
}

fn write_list(text: &mut String, name: &str, folder: &Path) -> Result<(), Box<dyn Error>> {
    writeln!(text, "/// Files below a folder of the repository: path from there, and bytes.")?;
    writeln!(text, "pub static {name}: &[(&str, &[u8])] = &[")?;
    for entry in WalkDir::new(folder).sort_by_file_name() {
        let entry = entry?;
        let is_wanted = name != "MISTAKES" || entry.path().extension().is_some_and(|ending| ending == "txt");
        if entry.file_type().is_file() && is_wanted {
            let path = entry.path().strip_prefix(folder)?;
            let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
            let file = entry.path().to_str().ok_or("a path of the repository is no text")?;
            writeln!(text, "    ({:?}, include_bytes!({file:?})),", parts.join("/"))?;
        }
    }
    writeln!(text, "];")?;
    Ok(())
}
