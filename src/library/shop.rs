//! `shop.yaml`: who the shop is and how it publishes.

use crate::diagnostic::Source;
use crate::fault::{Fault, id};
use crate::mechanics::units::Unit;
use crate::text::Mapped;
use crate::yaml::{self, Fields};

/// The shop.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// Its town.
    pub place: String,
    /// The number to ring.
    pub phone: Option<String>,
    /// Where it is.
    pub address: Option<String>,
    /// When it is open.
    pub hours: Option<String>,
    /// What to do before bringing a bike in.
    pub bring_it_in: Option<String>,
    /// Where the site stands on the web.
    pub site: Option<String>,
    /// The language of its pages.
    pub language: String,
    /// The unit in which a kind is shown first.
    pub units: Vec<(String, Unit)>,
    /// The unit that is shown beside it.
    pub beside: Vec<(String, Unit)>,
}

const KEYS: &[&str] = &[
    "name",
    "place",
    "contact",
    "bring_it_in",
    "site",
    "language",
    "units",
    "beside",
    "loose_figures",
    "unsigned_drift",
    "stale_after",
    "editions",
    "handbook",
    "arrangement",
];

/// Reads `shop.yaml`.
pub fn parse(source: &Source, faults: &mut Vec<Fault>) -> Option<Shop> {
    let text = Mapped::verbatim(source.text.as_str(), 0);
    let node = yaml::parse(&text).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::new(&node, "shop.yaml", KEYS, faults)?;
    let mut shop = Shop { language: "en-GB".to_owned(), ..Shop::default() };
    let word = |fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>| {
        fields.text(key, faults).map(|text| text.text().trim().to_owned())
    };
    fields.need_text("name", faults)?.text().trim().clone_into(&mut shop.name);
    fields.need_text("place", faults)?.text().trim().clone_into(&mut shop.place);
    if let Some(contact) = fields.get("contact") {
        let contact = Fields::new(contact, "contact", &["phone", "address", "hours"], faults)?;
        shop.phone = word(&contact, "phone", faults);
        shop.address = word(&contact, "address", faults);
        shop.hours = word(&contact, "hours", faults);
    }
    shop.bring_it_in = word(&fields, "bring_it_in", faults);
    shop.site = word(&fields, "site", faults);
    if let Some(language) = word(&fields, "language", faults) {
        shop.language = language;
    }
    shop.units = units(&fields, "units", faults);
    shop.beside = units(&fields, "beside", faults);
    Some(shop)
}

/// The kinds whose unit a shop chooses, each with a unit that its formulas can be shown in.
fn units(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Vec<(String, Unit)> {
    let Some(node) = fields.get(key) else { return Vec::new() };
    let Some(inner) = Fields::new(node, key, &["torque", "pressure"], faults) else { return Vec::new() };
    let mut chosen = Vec::new();
    for kind in ["torque", "pressure"] {
        let Some(text) = inner.text(kind, faults) else { continue };
        let known = crate::mechanics::units::Kind::named(kind);
        match Unit::parse(text.text()) {
            Ok(unit) if known.is_some_and(|known| known.takes(&unit)) => chosen.push((kind.to_owned(), unit)),
            _ => faults.push(
                Fault::new(id::UNIT_OF_ANOTHER_KIND, text.whole(), format!("{} is no unit of {kind}", text.text()))
                    .found(text.text())
                    .allowed(known.map_or(String::new(), |known| known.units.join(", ")))
                    .cure("choose one of these"),
            ),
        }
    }
    chosen
}
