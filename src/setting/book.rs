//! The pages that the book alone has: its cover with the picture on it, and its contents.

use super::body::drawn;
use super::theme::ThemeFault;
use super::{Form, Setting, safe};
use crate::editions::SYMBOL;
use crate::evaluate::Worked;
use minijinja::{Value, context};

/// Sheets of the book that belong together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Group {
    /// What they are about.
    pub title: String,
    /// The sheets in their order.
    pub lines: Vec<Line>,
}

/// A sheet as the contents name it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// Its number; empty where it has none.
    pub number: String,
    /// Its title.
    pub title: String,
    /// Its page in the site.
    pub page: String,
}

/// The picture on the cover, as SVG.
///
/// # Errors
/// A fault of the theme or of a drawing's template.
pub fn cover_picture(setting: &Setting<'_>, worked: &Worked<'_>, edition: &str) -> Result<String, ThemeFault> {
    let arranged = setting.shop.arrangement.as_ref();
    let build = worked.builds.iter().find(|build| arranged.is_some_and(|name| name.value == build.bike.name));
    let view = build.and_then(|build| build.view.as_ref());
    let arrangement = view.map(|view| drawn(setting, view, "d-cover")).transpose()?;
    let values = context! {
        arrangement_svg => arrangement.map(safe),
        sheets => worked.guides.len() + worked.builds.len(),
        edition,
    };
    setting.render_for(Form::Book, "book-cover.svg", "", values).map(|svg| svg.trim().to_owned())
}

/// The page with the cover.
///
/// # Errors
/// A fault of the theme.
pub fn cover_page(setting: &Setting<'_>) -> Result<String, ThemeFault> {
    setting.render_for(Form::Book, "book-cover.html", "", context! { cover_href => format!("{SYMBOL}cover.png") })
}

/// The contents: every sheet by its group, and the landmarks of the book.
///
/// # Errors
/// A fault of the theme.
pub fn contents_page(setting: &Setting<'_>, groups: &[Group]) -> Result<String, ThemeFault> {
    let line = |line: &Line| {
        context! { number => line.number.as_str(), title => line.title.as_str(), href => format!("{SYMBOL}{}", line.page) }
    };
    let group = |group: &Group| -> Value {
        context! { title => group.title.as_str(), lines => group.lines.iter().map(line).collect::<Vec<_>>() }
    };
    let first = groups.iter().flat_map(|group| &group.lines).next();
    let values = context! {
        groups => groups.iter().map(group).collect::<Vec<_>>(),
        cover_href => format!("{SYMBOL}cover.html"),
        front_href => format!("{SYMBOL}index.html"),
        first_href => first.map(|line| format!("{SYMBOL}{}", line.page)),
    };
    setting.render_for(Form::Book, "book-contents.html", "", values)
}
