//! What leads to a sheet from elsewhere, where the shop says where its site stands: the picture that goes with its
//! address when that is passed on, and the code on paper that leads from a printed sheet to the newest one.

use super::{Picture, Setting, Shows, safe, topic_title, words};
use crate::drawing::preview::{HEIGHT, Preview, WIDTH};
use crate::drawing::square;
use crate::evaluate::WorkedGuide;
use crate::evaluate::figure::{Figure, Origin, plain};
use minijinja::{Value, context};
use std::sync::Arc;

/// The picture for links to a guide; `drawing` is its main one, resolved. None where the site has no address.
pub(super) fn preview(setting: &Setting<'_>, guide: &WorkedGuide<'_>, drawing: Option<String>) -> Option<Picture> {
    setting.shop.site.as_ref()?;
    let written = guide.guide;
    let preview = Preview {
        number: written.number.value.clone(),
        topic: topic_title(&written.topic.value).to_owned(),
        title: plain(&guide.title),
        summary: plain(&guide.summary),
        revision: guide.stamp.revision.clone(),
        issued: guide.stamp.issued.clone(),
        figure: guide.key_figure.as_ref().map(|figure| (figure.text.clone(), name_of(guide, figure))),
        drawing,
        shop: setting.shop.name_and_place(),
        inks: Arc::clone(&setting.theme.inks),
        colours: Arc::clone(&setting.theme.colours),
    };
    let safe_in_paths = |c: char| if c.is_ascii_alphanumeric() || "-_".contains(c) { c } else { '-' };
    let name: String = written.number.value.chars().map(safe_in_paths).collect();
    let path = format!("previews/{name}.{}.png", preview.digits());
    Some(Picture { path, shows: Shows::Preview(Box::new(preview)) })
}

/// What a key figure is, in the few words before the first stop: those of the formula's output, or of who stated it.
fn name_of(guide: &WorkedGuide<'_>, figure: &Figure) -> String {
    let name = figure.reads.names.first().and_then(|name| name.split_once('.')).map_or("", |(_, name)| name);
    let page = guide.workings.iter().find(|page| Some(page.name.as_str()) == figure.working());
    let about = match (page.and_then(|page| page.working.formula.output(name)), &figure.reads.origin) {
        (Some(output), _) if output.about.is_empty() => words(&output.name),
        (Some(output), _) => output.about.clone(),
        (None, Origin::Stated { about, .. } | Origin::Shelf { about, .. }) => about.clone(),
        (None, _) => String::new(),
    };
    about.split([',', ':', ';', '(']).next().unwrap_or_default().trim().to_owned()
}

/// What the head of a page says of that picture.
pub(super) fn preview_values(setting: &Setting<'_>, picture: &Picture) -> Value {
    context! { address => setting.shop.address(&picture.path), width => WIDTH, height => HEIGHT }
}

/// The code on paper: the page's address, and which revision of which sheet the paper holds.
pub(super) fn code(setting: &Setting<'_>, page: &str, number: &str, revision: &str) -> Option<Value> {
    let address = setting.shop.address(page)?;
    let fragment = format!("{number}-{revision}");
    let fragment = percent_encoding::utf8_percent_encode(&fragment, percent_encoding::NON_ALPHANUMERIC).to_string();
    let square = square::of(&format!("{address}#{}", fragment.replace("%2D", "-")))?;
    Some(context! {
        svg_html => safe(square.svg), modules => square.modules, address, number, revision,
    })
}
