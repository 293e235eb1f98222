//! The `sweep` block: a formula run over one or two inputs, as a table and a plot.
//!
//! ```yaml
//! formula: speed-at-cadence
//! given: {wheel_diameter: 680 mm}
//! across: {sprocket: [11, 12, 13]}
//! down: {chainring: [34, 50]}
//! show: speed
//! mark: low                       # the working of the page whose own point is marked
//! between: {cadence: [70 rpm, 100 rpm]}      # each gear from this cadence to that one, against speed
//! caption: Speed in each gear
//! ```
//! Values stay text here; they are held to the formula's inputs when the page is evaluated.

use super::block::{GIVEN, NamedText, named_texts, spanned};
use crate::fault::{Fault, id};
use crate::mechanics::mark::{TextPiece, split_marks};
use crate::text::{Mapped, Span, Spanned};
use crate::yaml::keys::{Holds, Keys, keys};
use crate::yaml::{self, Fields};

/// A `sweep` block as written.
#[derive(Clone, Debug)]
pub struct SweepBlock {
    /// The formula.
    pub formula: Spanned<String>,
    /// The inputs that stay.
    pub given: Vec<NamedText>,
    /// The input that runs along the table's head, with its values.
    pub across: Run,
    /// The input that runs down the table's side.
    pub down: Option<Run>,
    /// The output that is set.
    pub show: Spanned<String>,
    /// The working whose own point is marked.
    pub mark: Option<Spanned<String>>,
    /// True for gears against speed, each between two cadences.
    pub saw_tooth: Option<Run>,
    /// What stands above it.
    pub caption: Vec<TextPiece>,
    /// Its words, looked at for loose figures.
    pub prose: Vec<Mapped>,
    /// The block's own lines.
    pub written: String,
    /// Where it stands.
    pub span: Span,
}

/// An input with the values that it runs through.
#[derive(Clone, Debug)]
pub struct Run {
    /// The input.
    pub name: Spanned<String>,
    /// Its values, as written.
    pub values: Vec<Mapped>,
}

const VALUES: Holds = Holds::List(&Holds::Text("a value"));

/// A `sweep`.
pub static SWEEP: Keys = Keys::new(
    "a sweep",
    keys! {
        "formula" needed Holds::Text("the name of a formula"), "The formula that is run.",
            "formula: gear";
        "given" free GIVEN, "The inputs that stay.",
            "given: {rollout: 2180 mm}";
        "across" needed ONE, "The input that runs along the head of the table, with its values.",
            "across: {sprocket: [11, 15, 21]}";
        "down" free ONE, "The input that runs down the side of the table, with its values.",
            "down: {chainring: [34, 50]}";
        "show" needed Holds::Text("the name of a result"), "The result that is set.",
            "show: development";
        "mark" free Holds::Text("the name of a working of the page"), "The working whose own point is marked.",
            "mark: low";
        "between" free Holds::Sized(&Holds::Map("one input", &Holds::Sized(&VALUES, 2, Some(2))), 1, Some(1)), "Each gear from this cadence to that one, against speed: the saw-tooth diagram.",
            "between: {cadence: [70 rpm, 100 rpm]}";
        "caption" needed Holds::Text("a sentence"), "What stands above it.",
            "caption: How far each gear goes for one turn of the cranks";
    },
);

const ONE: Holds = Holds::Sized(&Holds::Map("one input", &Holds::Sized(&VALUES, 1, None)), 1, Some(1));

/// Reads a `sweep` block.
pub(super) fn sweep(body: &Mapped, file: &str, faults: &mut Vec<Fault>) -> Option<SweepBlock> {
    let before = faults.len();
    let node = yaml::parse(body).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &SWEEP, faults)?;
    let formula = fields.need_text("formula", faults).map(spanned);
    let given = named_texts(&fields, "given", faults);
    fields.need("across", faults);
    let (across, down) = (run(&fields, "across", faults), run(&fields, "down", faults));
    let saw_tooth = run(&fields, "between", faults);
    if let (Some(between), Some(node)) = (&saw_tooth, fields.get("between"))
        && between.values.len() != 2
    {
        faults.push(
            Fault::new(id::WRONG_SHAPE, node.span, "between holds one input with its least and its most")
                .allowed("between: {cadence: [70 rpm, 100 rpm]}")
                .cure("give two values"),
        );
    }
    let show = fields.need_text("show", faults).map(spanned);
    let mark = fields.text("mark", faults).map(spanned);
    let caption = fields.need_text("caption", faults);
    let prose = caption.into_iter().cloned().collect();
    let caption = caption.map(|text| split_marks(text, file, faults)).unwrap_or_default();
    if faults.len() > before {
        return None;
    }
    let (written, span) = (body.text().to_owned(), body.whole());
    Some(SweepBlock {
        formula: formula?,
        given,
        across: across?,
        down,
        show: show?,
        mark,
        saw_tooth,
        caption,
        prose,
        written,
        span,
    })
}

/// `{sprocket: [11, 12, 13]}`.
fn run(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Option<Run> {
    let node = fields.get(key)?;
    let wrong = |span: Span| {
        Fault::new(id::WRONG_SHAPE, span, format!("{key} holds one input with a list of values"))
            .allowed(format!("{key}: {{sprocket: [11, 12, 13]}}"))
            .cure("write the input's name, a colon and its values between square brackets")
    };
    let Some([entry]) = node.as_map() else {
        faults.push(wrong(node.span));
        return None;
    };
    let items = entry.value.as_list().unwrap_or_default();
    let values: Vec<Mapped> = items.iter().filter_map(|item| item.text().cloned()).collect();
    if values.is_empty() || values.len() != items.len() {
        faults.push(wrong(entry.value.span));
        return None;
    }
    Some(Run { name: entry.key.clone(), values })
}
