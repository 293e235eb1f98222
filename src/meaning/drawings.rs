//! Drawings: what each shows, what a page has to set for it, and the block that does.

use super::{Meaning, Reach, sentence};
use crate::drawing::{Drawing, DrawingInput};

pub(super) fn drawings(reach: &Reach) -> Vec<String> {
    reach.drawings().names()
}

pub(super) fn drawing(reach: &Reach, word: &str) -> Vec<Meaning> {
    reach.drawings().get(word).map(|drawing| of_drawing(word, drawing)).into_iter().collect()
}

fn of_drawing(name: &str, drawing: &Drawing) -> Meaning {
    let mut says = vec![sentence(&drawing.title)];
    says.extend(Some(&drawing.about).filter(|about| !about.is_empty()).map(|about| sentence(about)));
    if drawing.inputs.is_empty() {
        says.push("A page sets nothing for it.".to_owned());
    } else {
        says.push("What a page sets, all of it:".to_owned());
        says.extend(drawing.inputs.iter().map(taken));
    }
    let mut example = vec!["```drawing".to_owned(), format!("of: {name}")];
    if !drawing.inputs.is_empty() {
        example.push("set:".to_owned());
        example.extend(drawing.inputs.iter().map(|input| format!("  {}: …", input.name)));
    }
    example.extend(["alt: What it shows, in words, for who cannot see it.", "```"].map(str::to_owned));
    Meaning {
        word: name.to_owned(),
        what: "a drawing".to_owned(),
        says,
        example,
        used: vec!["drawing blocks".to_owned()],
        helps: vec![format!("locknut where-used {name} lists the sheets that show it")],
    }
}

fn taken(input: &DrawingInput) -> String {
    let unit = input.unit.shown(true);
    let kind = match (input.kind.name, unit.as_str()) {
        (kind, "") => kind.to_owned(),
        (kind, unit) => format!("{kind} in {unit}"),
    };
    format!("{} ({kind}): {}", input.name, sentence(&input.about))
}
