//! What may stand in a drawing: elements and attributes that only draw.
//!
//! The rendered SVG is parsed without a DTD; anything outside these lists, any `href` that leaves the drawing and any
//! id without the drawing's prefix is refused. Filters and patterns are out: they can take minutes and gigabytes.

use roxmltree::{Document, Node, ParsingOptions};

const ELEMENTS: &[&str] = &[
    "svg", "title", "desc", "g", "path", "line", "rect", "circle", "ellipse", "polyline", "polygon", "text", "tspan",
    "defs", "clipPath", "marker", "use",
];

const ATTRIBUTES: &[&str] = &[
    "class",
    "id",
    "d",
    "x",
    "y",
    "x1",
    "y1",
    "x2",
    "y2",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "dx",
    "dy",
    "width",
    "height",
    "points",
    "transform",
    "viewBox",
    "role",
    "fill",
    "fill-rule",
    "fill-opacity",
    "stroke",
    "stroke-width",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-dasharray",
    "stroke-dashoffset",
    "opacity",
    "font-family",
    "font-size",
    "font-weight",
    "text-anchor",
    "dominant-baseline",
    "letter-spacing",
    "clip-path",
    "clipPathUnits",
    "href",
    "markerWidth",
    "markerHeight",
    "refX",
    "refY",
    "orient",
    "marker-start",
    "marker-end",
    "aria-labelledby",
    "aria-hidden",
    "preserveAspectRatio",
    "lang",
];

const SVG: &str = "http://www.w3.org/2000/svg";

/// What may not stand there.
pub(super) struct Bad {
    /// What is wrong, in words.
    pub(super) message: String,
    /// How it begins in the template, unless the template makes it up.
    pub(super) written: Option<String>,
}

/// The place in the rendered text is nobody's to see; the line that stands there may be the template's own.
fn ill_formed(svg: &str, error: &roxmltree::Error) -> Bad {
    let place = error.pos();
    let what = error.to_string();
    let what = what.trim_end_matches(&format!(" at {place}"));
    let line = svg.lines().nth((place.row as usize).saturating_sub(1)).map(str::trim);
    bad(format!("the drawing can't be read: {what}"), line.filter(|line| !line.is_empty()).map(str::to_owned))
}

fn bad(message: impl Into<String>, written: Option<String>) -> Bad {
    Bad { message: message.into(), written }
}

/// Holds a drawing to the lists; `prefix` begins every id.
///
/// # Errors
/// The first thing that may not stand there, in words.
pub(super) fn check(svg: &str, prefix: &str) -> Result<(), Bad> {
    let options = ParsingOptions { allow_dtd: false, nodes_limit: 100_000, ..ParsingOptions::default() };
    let document = Document::parse_with_options(svg, options).map_err(|error| ill_formed(svg, &error))?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" || root.tag_name().namespace() != Some(SVG) {
        return Err(bad("the drawing does not begin with <svg>", None));
    }
    for name in ["title", "desc"] {
        if !root
            .children()
            .any(|child| child.tag_name().name() == name && child.text().is_some_and(|text| !text.trim().is_empty()))
        {
            return Err(bad(
                format!("the drawing has no <{name}>, which tells in words what it shows"),
                Some("<svg".to_owned()),
            ));
        }
    }
    document.descendants().filter(Node::is_element).try_for_each(|node| check_element(node, prefix))
}

fn check_element(node: Node<'_, '_>, prefix: &str) -> Result<(), Bad> {
    let name = node.tag_name().name();
    if node.tag_name().namespace() != Some(SVG) || !ELEMENTS.contains(&name) {
        return Err(bad(format!("<{name}> may not stand in a drawing"), Some(format!("<{name}"))));
    }
    for attribute in node.attributes() {
        let (key, value) = (attribute.name(), attribute.value());
        if !ATTRIBUTES.contains(&key) {
            return Err(bad(format!("{key} of <{name}> may not stand in a drawing"), Some(format!(" {key}="))));
        }
        if key == "id" && !value.starts_with(prefix) {
            return Err(bad(format!("the id {value} doesn't begin with the drawing's own id"), Some(value.to_owned())));
        }
        let own = format!("#{prefix}");
        let leaves = key == "href" && !value.starts_with(&own)
            || value.contains("url(") && !value.contains(&format!("url({own}"))
            || value.to_ascii_lowercase().contains("javascript:");
        if leaves {
            return Err(bad(format!("{key} of <{name}> leads out of the drawing: {value}"), Some(value.to_owned())));
        }
    }
    Ok(())
}
