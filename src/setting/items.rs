//! The item index: which sheets want a tool, use or draw a part, and work a formula.

use super::listed::{Listed, listed};
use super::theme::ThemeFault;
use super::{Setting, Sheet};
use crate::evaluate::Worked;
use crate::text::capital;
use minijinja::{Value, context};
use std::collections::{BTreeMap, HashMap};

/// Sets the item index.
///
/// # Errors
/// A fault of the theme.
pub fn items_page(setting: &Setting<'_>, worked: &Worked<'_>) -> Result<Sheet, ThemeFault> {
    let sheets = listed(worked);
    let mut parts = entries(&sheets, |sheet| sheet.parts.iter().map(String::as_str));
    // What the arrangement of the front page names is looked for in what the sheets say, and not only in their lists.
    let arranged = setting.shop.arrangement.as_ref();
    let arranged = arranged.and_then(|wanted| worked.builds.iter().find(|build| build.bike.name == wanted.value));
    for item in arranged.and_then(|build| build.view.as_ref()).into_iter().flat_map(|view| &view.filled.items) {
        let speaking: Vec<&Listed<'_>> = sheets.iter().filter(|sheet| sheet.speaks_of(item)).collect();
        if !speaking.is_empty() {
            parts.insert(item.name.to_lowercase(), (item.name.clone(), speaking));
        }
    }
    let html = setting.render(
        "items.html",
        "items.html",
        context! {
            parts => values("part", &parts),
            tools => values("tool", &entries(&sheets, |sheet| sheet.tools.iter().map(String::as_str))),
            formulas => values("formula", &entries(&sheets, |sheet| sheet.formulas.iter().map(|(_, title)| *title))),
            script_hrefs => Vec::<String>::new(),
        },
    )?;
    Ok(Sheet { path: "items.html".to_owned(), html, ..Sheet::default() })
}

/// By name in small letters: the name as it is shown, and its sheets.
type Entries<'s, 'w> = BTreeMap<String, (String, Vec<&'s Listed<'w>>)>;

fn entries<'s, 'w, N>(sheets: &'s [Listed<'w>], names: impl Fn(&'s Listed<'w>) -> N) -> Entries<'s, 'w>
where
    N: Iterator<Item = &'s str>,
{
    let mut entries = Entries::new();
    for sheet in sheets {
        for name in names(sheet) {
            let (_, sheets) = entries.entry(name.to_lowercase()).or_insert_with(|| (capital(name), Vec::new()));
            if !sheets.iter().any(|known| known.number == sheet.number) {
                sheets.push(sheet);
            }
        }
    }
    entries
}

fn values(sort: &str, entries: &Entries<'_, '_>) -> Vec<Value> {
    let mut taken: HashMap<String, usize> = HashMap::new();
    let value = |(name, sheets): &(String, Vec<&Listed<'_>>)| {
        let id = id_of(sort, name);
        let times = taken.entry(id.clone()).and_modify(|times| *times += 1).or_insert(1);
        // Names that differ in their signs alone.
        let id = if *times == 1 { id } else { format!("{id}-{times}") };
        context! { id, name => name.as_str(), sheets => sheets.iter().map(|sheet| sheet.reference()).collect::<Vec<_>>() }
    };
    entries.values().map(value).collect()
}

/// The id of an entry: the letters and digits of its name.
pub(super) fn id_of(sort: &str, name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    format!("{sort}-{}", name.to_lowercase().chars().map(plain).collect::<String>())
}
