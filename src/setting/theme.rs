//! The theme: templates and the files that go with them, from the library or, file by file, from the binary.
//!
//! Escaping is on in every template, a name that a template doesn't have is a fault, and the work a template may do is
//! limited. Files that are no templates are copied; the stylesheet's name holds digits of its content's hash.

use crate::bundled::THEMES;
use crate::drawing::mark::Icons;
use crate::drawing::raster::{self, Colours};
use crate::editions::faces;
use crate::library::files::{FileProblem, is_of_an_editor, name_below};
use crate::mechanics::javascript;
use crate::text::escape;
use minijinja::{AutoEscape, Environment, Output, State, UndefinedBehavior, Value};
use std::borrow::Cow;
use std::path::Path;
use std::sync::Arc;
use walkdir::WalkDir;

/// A theme, read.
#[derive(Debug)]
pub struct Theme {
    environment: Environment<'static>,
    /// The stylesheet's path in the site.
    pub stylesheet: String,
    /// The path of the book's stylesheet in the book.
    pub book_stylesheet: String,
    /// What the book's stylesheet says, all but typefaces, which are those of the site's.
    pub book_style: String,
    /// The script's path in the site.
    pub script: String,
    /// Its rules for drawings, for those that become pictures.
    pub inks: Arc<str>,
    /// Its colours by day.
    pub colours: Arc<Colours>,
    /// What the stylesheet calls its colours and faces, for a page that can't load it.
    pub grounds: String,
    /// The site's sign as pictures.
    pub icons: Icons,
    /// Files to be copied: path in the site, and bytes.
    pub files: Vec<(String, Cow<'static, [u8]>)>,
}

/// What is wrong with a template, in words, and where.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ThemeFault {
    /// The template's file.
    pub file: String,
    /// The line, where it is known.
    pub line: Option<usize>,
    /// What is to blame as it stands in that line, where it is known.
    pub written: Option<String>,
    /// What is wrong.
    pub message: String,
}

const FOLDER: &str = "sheet/";

/// The files below a library's `themes/` that stand in for none of the program's and are no typeface.
#[must_use]
pub fn strays(root: &Path) -> Vec<String> {
    let ours = |name: &str| {
        let path = name.strip_prefix("themes/").unwrap_or(name);
        path.starts_with("sheet/type/") || THEMES.iter().any(|(known, _)| *known == path)
    };
    let files = WalkDir::new(root.join("themes")).sort_by_file_name().into_iter().flatten();
    let files = files.filter(|entry| entry.file_type().is_file() && !is_of_an_editor(entry.path()));
    files.map(|entry| name_below(root, entry.path())).filter(|name| !ours(name)).collect()
}

impl Theme {
    /// Reads the theme of a library.
    ///
    /// # Errors
    /// A file that can't be read.
    pub fn of(root: &Path) -> Result<Result<Self, Vec<ThemeFault>>, FileProblem> {
        let mut faults = Vec::new();
        let mut environment = Environment::new();
        environment.set_undefined_behavior(UndefinedBehavior::Strict);
        environment.set_auto_escape_callback(|_| AutoEscape::Html);
        environment.set_formatter(write_escaped);
        environment.set_fuel(Some(10_000_000));
        let mut theme = Self {
            environment,
            stylesheet: String::new(),
            book_stylesheet: "theme/book.css".to_owned(),
            book_style: String::new(),
            script: String::new(),
            inks: Arc::default(),
            colours: Arc::default(),
            grounds: String::new(),
            icons: Icons::default(),
            files: Vec::new(),
        };
        for (path, bytes) in THEMES {
            let Some(name) = path.strip_prefix(FOLDER) else { continue };
            let own = root.join("themes").join("sheet").join(name);
            // A file that says the same as the program's own is the program's.
            let bytes: Cow<'static, [u8]> = if own.is_file() {
                let read = std::fs::read(&own).map_err(|error| FileProblem::Unreadable(own.clone(), error))?;
                if read == *bytes { Cow::Borrowed(*bytes) } else { Cow::Owned(read) }
            } else {
                Cow::Borrowed(*bytes)
            };
            faults.extend(theme.add(name, bytes).err());
        }
        theme.add_own_faces(root)?;
        faults.extend(theme.missing_faces());
        Ok(if faults.is_empty() { Ok(theme) } else { Err(faults) })
    }

    /// Typefaces of a shop's own, which the program brings none of, go out as they are.
    fn add_own_faces(&mut self, root: &Path) -> Result<(), FileProblem> {
        let folder = root.join("themes").join("sheet").join("type");
        for entry in WalkDir::new(&folder).max_depth(1).sort_by_file_name().into_iter().flatten() {
            let path = format!("theme/type/{}", entry.file_name().to_string_lossy());
            if entry.file_type().is_file() && !self.files.iter().any(|(known, _)| *known == path) {
                let bytes = std::fs::read(entry.path())
                    .map_err(|error| FileProblem::Unreadable(entry.path().to_owned(), error))?;
                self.files.push((path, Cow::Owned(bytes)));
            }
        }
        Ok(())
    }

    /// A fault for each typeface that the stylesheet asks for and the theme doesn't have.
    fn missing_faces(&self) -> Vec<ThemeFault> {
        let style = self.files.iter().find(|(path, _)| *path == self.stylesheet);
        let text = String::from_utf8_lossy(style.map_or(&[] as &[u8], |(_, bytes)| bytes)).into_owned();
        let (faces, _) = faces::split(&text);
        let is_there = |address: &str| self.files.iter().any(|(path, _)| *path == format!("theme/{address}"));
        // An address with a scheme holds the face itself, or isn't ours to look for.
        let mut missing: Vec<&str> = faces.iter().map(|face| face.address).filter(|at| !at.contains(':')).collect();
        missing.retain(|address| !is_there(address));
        missing.sort_unstable();
        missing.dedup();
        let fault = |address: &&str| ThemeFault {
            file: "themes/sheet/sheet.css".to_owned(),
            line: text.lines().position(|line| line.contains(*address)).map(|line| line + 1),
            written: Some((*address).to_owned()),
            message: format!("the stylesheet asks for a typeface that the theme doesn't have: {address}"),
        };
        missing.iter().map(fault).collect()
    }

    fn add(&mut self, name: &str, bytes: Cow<'static, [u8]>) -> Result<(), ThemeFault> {
        let ending = Path::new(name).extension().and_then(|ending| ending.to_str());
        match ending {
            Some("html" | "svg") => {
                let text = String::from_utf8_lossy(&bytes).into_owned();
                self.environment.add_template_owned(name.to_owned(), text).map_err(|error| fault(name, &error))
            }
            Some("css") if name == "book.css" => {
                self.book_style = String::from_utf8_lossy(&bytes).into_owned();
                Ok(())
            }
            Some("css") => {
                let hash = blake3::hash(&bytes).to_hex();
                let text = String::from_utf8_lossy(&bytes);
                self.inks = raster::inks(&text).into();
                self.colours = Arc::new(Colours::of(&text));
                self.grounds = raster::grounds(&text);
                self.icons = Icons::of(&self.colours);
                self.stylesheet = format!("theme/{}.{}.css", name.trim_end_matches(".css"), &hash[..8]);
                self.files.push((self.stylesheet.clone(), bytes));
                Ok(())
            }
            Some("js") => {
                // A script of the shop's own goes out as it was written.
                let text = match bytes {
                    Cow::Borrowed(ours) => javascript::bare(&String::from_utf8_lossy(ours)),
                    Cow::Owned(own) => String::from_utf8_lossy(&own).into_owned(),
                };
                let hash = blake3::hash(text.as_bytes()).to_hex();
                self.script = format!("theme/{}.{}.js", name.trim_end_matches(".js"), &hash[..8]);
                self.files.push((self.script.clone(), Cow::Owned(text.into_bytes())));
                Ok(())
            }
            _ => {
                self.files.push((format!("theme/{name}"), bytes));
                Ok(())
            }
        }
    }

    /// Renders a template.
    ///
    /// # Errors
    /// What the template does wrong.
    pub fn render(&self, name: &str, values: Value) -> Result<String, ThemeFault> {
        let template = self.environment.get_template(name).map_err(|error| fault(name, &error))?;
        template.render(values).map_err(|error| fault(name, &error))
    }
}

/// Writes a value into markup: what was made markup before as it is, anything else escaped, and no more than needed,
/// so that addresses stay as they are.
fn write_escaped(out: &mut Output<'_>, _: &mut State<'_, '_>, value: &Value) -> Result<(), minijinja::Error> {
    let written = match value.as_str() {
        Some(text) if value.is_safe() => out.write_str(text),
        // A theme of a shop's own may set its attributes in single quotes.
        Some(text) => out.write_str(&escape(text).replace('\'', "&#39;")),
        None => out.write_str(&escape(&value.to_string())),
    };
    written.map_err(minijinja::Error::from)
}

fn fault(name: &str, error: &minijinja::Error) -> ThemeFault {
    let file = format!("themes/sheet/{}", error.name().unwrap_or(name));
    ThemeFault {
        file,
        line: error.line(),
        written: crate::drawing::blamed(error),
        message: crate::drawing::said(error),
    }
}

#[cfg(test)]
mod tests {
    use super::strays;
    use std::fs;

    #[test]
    fn a_file_that_stands_in_for_nothing_is_found() {
        let root = std::env::temp_dir().join(format!("locknut-strays-{}", std::process::id()));
        let type_folder = root.join("themes/sheet/type");
        fs::create_dir_all(&type_folder).expect("a theme");
        for name in ["figure.html", "figur.html", "figure.html~"] {
            fs::write(root.join("themes/sheet").join(name), "").expect("a template");
        }
        fs::write(type_folder.join("own.woff2"), "").expect("a typeface");
        fs::write(root.join("themes/figure.html"), "").expect("a file beside the theme");
        assert_eq!(strays(&root), ["themes/figure.html", "themes/sheet/figur.html"]);
        fs::remove_dir_all(&root).expect("nothing is left");
    }
}
