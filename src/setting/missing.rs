//! The page for addresses that don't exist. A host serves it for any address of the site, however deep, so it holds
//! its own style and leads on by whole addresses; without an address of the site, from the host's root.

use super::listed::listed;
use super::theme::ThemeFault;
use super::topic::page_of;
use super::{Setting, Sheet, safe};
use crate::evaluate::Worked;
use crate::library::guide::TOPICS;
use minijinja::{Value, context};

/// Where the page stands: hosts look for this name.
pub const PATH: &str = "404.html";

/// Sets the page.
///
/// # Errors
/// A fault of the theme.
pub fn missing_page(setting: &Setting<'_>, worked: &Worked<'_>) -> Result<Sheet, ThemeFault> {
    let root = setting.shop.address("").unwrap_or_else(|| "/".to_owned());
    let sheets = listed(worked);
    let topics: Vec<Value> = TOPICS
        .iter()
        .filter(|(topic, _)| sheets.iter().any(|sheet| sheet.topic == *topic))
        .map(|(topic, title)| context! { title => *title, href => format!("{root}{}", page_of(topic)) })
        .collect();
    let html = setting.render(
        "missing.html",
        PATH,
        context! {
            grounds_css => safe(setting.theme.grounds.as_str()),
            home => format!("{root}index.html"),
            topics,
        },
    )?;
    Ok(Sheet { path: PATH.to_owned(), html, ..Sheet::default() })
}
