//! `shop.yaml`: who the shop is and how it publishes.

use crate::diagnostic::Source;
use crate::fault::{Fault, Severity, id};
use crate::mechanics::units::Unit;
use crate::text::{Mapped, Spanned};
use crate::yaml::keys::{Holds, Key, Keys, Word, keys};
use crate::yaml::{self, Fields};

/// The shop.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// Its town; empty where nothing is said.
    pub place: String,
    /// The number to ring.
    pub phone: Option<String>,
    /// Where it is.
    pub address: Option<String>,
    /// When it is open.
    pub hours: Option<String>,
    /// What to do before bringing a bike in.
    pub bring_it_in: Option<String>,
    /// Where the site stands on the web, without a slash at its end.
    pub site: Option<String>,
    /// The language of its pages.
    pub language: String,
    /// The unit in which a kind is shown first.
    pub units: Vec<(String, Unit)>,
    /// The unit that is shown beside it.
    pub beside: Vec<(String, Unit)>,
    /// Whether a loose figure stops the press.
    pub loose_figures: Severity,
    /// Whether figures that differ from the signed register stop the press; nothing where the shop doesn't say.
    pub unsigned_drift: Option<Severity>,
    /// The forms in which the library is pressed besides the site, which is always made; each once, in their order.
    pub editions: Vec<Edition>,
    /// True where a reference sheet is pressed for each topic that has formulas.
    pub handbook: bool,
    /// The build sheet that is drawn on the front page.
    pub arrangement: Option<Spanned<String>>,
    /// Stated figures that were not checked for more months than this are told.
    pub stale_after: Option<u32>,
}

impl Shop {
    /// The name, with the town where there is one.
    #[must_use]
    pub fn name_and_place(&self) -> String {
        if self.place.is_empty() { self.name.clone() } else { format!("{}, {}", self.name, self.place) }
    }

    /// The address at which a file of the site stands on the web, where the shop says where that is; the front page's
    /// is that of its folder.
    #[must_use]
    pub fn address(&self, path: &str) -> Option<String> {
        let site = self.site.as_deref()?;
        Some(format!("{site}/{}", if path == "index.html" { "" } else { path }))
    }
}

/// A form of the library that is taken away.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Edition {
    /// The whole library as one book file.
    Book,
    /// Each guide and reply as one file.
    Sheets,
    /// The site in one file.
    Zip,
}

impl Edition {
    /// The edition that a word of `shop.yaml` names.
    fn named(word: &str) -> Option<Self> {
        match word {
            "book" => Some(Self::Book),
            "sheets" => Some(Self::Sheets),
            "zip" => Some(Self::Zip),
            _ => None,
        }
    }
}

/// `shop.yaml`.
pub static KEYS: Keys = Keys::new(
    "shop.yaml",
    keys! {
        "name" needed Holds::Text("a name"), "The shop's name. It stands on every sheet.",
            "name: Tollgate Cycle Works";
        "place" free Holds::Text("a town"), "The shop's town. It stands after the name on every sheet.",
            "place: Ennismouth";
        "contact" free Holds::Keys(&CONTACT), "How a rider reaches the shop.",
            "contact: {phone: 01632 960 188, hours: \"Tue to Sat, 9 to 5\"}";
        "bring_it_in" free Holds::Text("a sentence"), "What a rider does before bringing a bike in. It stands wherever a sheet sends one to the shop.",
            "bring_it_in: Ring before you come.";
        "site" free Holds::Formed("an address", "^\\s*https?://[^/:\\s]\\S*\\s*$"), "Where the pressed folder stands on the web. Without it pages name no address of their own.",
            "site: https://tollgate.example/guides";
        "language" free Holds::Formed("the letters of a language", "^\\s*[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*\\s*$"), "The language of the pages, en-GB where nothing is said.",
            "language: en-GB";
        "units" free Holds::Keys(&UNITS), "The unit in which a torque or a pressure is shown first.",
            "units: {torque: N·m, pressure: bar}";
        "beside" free Holds::Keys(&BESIDE), "The unit that is shown with the first, for gauges and spanners that have only that.",
            "beside: {torque: lbf·in, pressure: psi}";
        "loose_figures" free Holds::OneOf(strictness), "Whether a number with a unit that has no working or source stops the press.",
            "loose_figures: refused";
        "unsigned_drift" free Holds::OneOf(strictness), "Whether a published figure that changed since it was signed stops the press.",
            "unsigned_drift: noted";
        "stale_after" free Holds::Formed("months or years", "^\\s*[0-9]+ +(months?|years?)\\s*$"), "How long a stated figure holds before the proof asks for somebody to look it up again.",
            "stale_after: 18 months";
        "editions" free Holds::List(&Holds::OneOf(edition_words)), "The forms in which the library is pressed. The site is always made.",
            "editions: [site, book, sheets, zip]";
        "handbook" free Holds::Flag, "Whether a reference sheet is pressed for each topic that has formulas.",
            "handbook: true";
        "arrangement" free Holds::Text("the name of a build sheet"), "The bike that is drawn on the front page.",
            "arrangement: roadster";
    },
);

static CONTACT: Keys = Keys::new(
    "contact",
    keys! {
        "phone" free Holds::Text("a number to ring"), "The number to ring.",
            "phone: 01632 960 188";
        "address" free Holds::Text("street and town"), "Where the shop is.",
            "address: 4 Quay Steps, Ennismouth";
        "hours" free Holds::Text("days and hours"), "When it is open.",
            "hours: Tue to Sat, 9 to 5";
    },
);

static UNITS: Keys = Keys::new("units", CHOSEN);
static BESIDE: Keys = Keys::new("beside", CHOSEN);

const CHOSEN: &[Key] = keys! {
    "torque" free Holds::OneOf(|| units_of("torque")), "The unit of torques.",
        "torque: N·m";
    "pressure" free Holds::OneOf(|| units_of("pressure")), "The unit of pressures that are given in bar, kPa or psi.",
        "pressure: bar";
};

fn units_of(kind: &str) -> Vec<Word> {
    let units = crate::mechanics::units::Kind::named(kind).map_or(&[][..], |kind| kind.units);
    units.iter().map(|unit| (*unit, "")).collect()
}

const STRICTNESS: [Word; 2] =
    [("noted", "the proof says so, and the press goes on"), ("refused", "nothing is pressed")];

fn strictness() -> Vec<Word> {
    STRICTNESS.to_vec()
}

const EDITIONS: [Word; 4] = [
    ("site", "a folder of pages for any plain web host or the disk"),
    ("book", "the whole library as one EPUB file"),
    ("sheets", "each guide and reply as one file with everything in it"),
    ("zip", "the site in one file"),
];

fn edition_words() -> Vec<Word> {
    EDITIONS.to_vec()
}

/// Reads `shop.yaml`.
pub fn parse(source: &Source, faults: &mut Vec<Fault>) -> Option<Shop> {
    let text = Mapped::verbatim(source.text.as_str(), 0);
    let node = yaml::parse(&text).map_err(|found| faults.extend(found)).ok()?;
    let fields = Fields::of(&node, &KEYS, faults)?;
    let mut shop = Shop { language: "en-GB".to_owned(), loose_figures: Severity::Note, ..Shop::default() };
    let word = |fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>| {
        fields.text(key, faults).map(|text| text.text().trim().to_owned())
    };
    fields.need_text("name", faults)?.text().trim().clone_into(&mut shop.name);
    shop.place = word(&fields, "place", faults).unwrap_or_default();
    if let Some(contact) = fields.get("contact") {
        let contact = Fields::of(contact, &CONTACT, faults)?;
        shop.phone = word(&contact, "phone", faults);
        shop.address = word(&contact, "address", faults);
        shop.hours = word(&contact, "hours", faults);
    }
    shop.bring_it_in = word(&fields, "bring_it_in", faults);
    shop.site = site(&fields, faults);
    if let Some(language) = language(&fields, faults) {
        shop.language = language;
    }
    shop.units = units(&fields, "units", faults);
    shop.beside = units(&fields, "beside", faults);
    shop.loose_figures = noted_or_refused(&fields, "loose_figures", faults);
    let unsigned = fields.get("unsigned_drift").is_some();
    shop.unsigned_drift = Some(noted_or_refused(&fields, "unsigned_drift", faults)).filter(|_| unsigned);
    shop.stale_after = months(&fields, faults);
    shop.editions = editions(&fields, faults);
    shop.handbook = fields.flag("handbook", faults).unwrap_or(false);
    shop.arrangement =
        fields.text("arrangement", faults).map(|text| Spanned::new(text.text().trim().to_owned(), text.whole()));
    Some(shop)
}

/// `site: https://tollgate.example/guides`: an address at which a host serves the pressed folder.
fn site(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Option<String> {
    let text = fields.text("site", faults)?;
    let site = text.text().trim().trim_end_matches('/');
    let rest = site.strip_prefix("https://").or_else(|| site.strip_prefix("http://"));
    let host = rest.and_then(|rest| rest.split('/').next()).unwrap_or_default();
    // What stands in an address as it is (RFC 3986), without query, fragment or a name and password.
    let fits = |c: char| c.is_ascii_alphanumeric() || "-._~%!$&()*+,;=:/[]".contains(c);
    if host.is_empty() || host.starts_with(':') || !site.chars().all(fits) {
        let message = "site is no address of the web";
        let fault = Fault::new(id::BAD_VALUE, text.whole(), message).found(text.text());
        faults.push(
            fault
                .allowed("https:// or http://, a host and perhaps folders: https://tollgate.example/guides")
                .cure("write the address at which the pressed folder is served, or leave site out"),
        );
        return None;
    }
    Some(site.to_owned())
}

/// The editions that are named; `site` names none besides.
fn editions(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Vec<Edition> {
    let mut named = Vec::new();
    for text in fields.texts("editions", faults) {
        one_of(text, "edition", &EDITIONS, faults);
        named.extend(Edition::named(text.text().trim()));
    }
    named.sort_unstable();
    named.dedup();
    named
}

/// `language: en-GB`: a language by its letters, as BCP 47 (RFC 5646) writes them.
fn language(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Option<String> {
    let text = fields.text("language", faults)?;
    let language = text.text().trim();
    let mut parts = language.split('-');
    let first =
        parts.next().is_some_and(|part| (2..=8).contains(&part.len()) && part.bytes().all(|c| c.is_ascii_alphabetic()));
    let rest = parts.all(|part| (1..=8).contains(&part.len()) && part.bytes().all(|c| c.is_ascii_alphanumeric()));
    if first && rest {
        return Some(language.to_owned());
    }
    faults.push(
        Fault::new(id::BAD_VALUE, text.whole(), "language is not written in the letters of a language")
            .found(language)
            .allowed("en-GB, en, de, fr-CA")
            .cure("write the two or three letters of the language, and those of the country after a hyphen"),
    );
    None
}

/// `noted` or `refused`; noted where nothing is said.
fn noted_or_refused(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Severity {
    let Some(text) = fields.text(key, faults) else { return Severity::Note };
    one_of(text, &format!("word for {key}"), &STRICTNESS, faults);
    if text.text().trim() == "refused" { Severity::Fault } else { Severity::Note }
}

fn one_of(text: &Mapped, what: &str, known: &[Word], faults: &mut Vec<Fault>) {
    let word = text.text().trim();
    let known: Vec<&str> = known.iter().map(|(known, _)| *known).collect();
    if !known.contains(&word) {
        let fault = Fault::new(id::UNKNOWN_WORD, text.whole(), format!("{word} is no known {what}"));
        let fault = fault.found(word).allowed(known.join(", "));
        faults.push(fault.nearest(word, known, "use one of these words"));
    }
}

/// `stale_after: 18 months`, or years.
fn months(fields: &Fields<'_>, faults: &mut Vec<Fault>) -> Option<u32> {
    let text = fields.text("stale_after", faults)?;
    let months = text.text().trim().split_once(' ').and_then(|(number, unit)| {
        let number: u32 = number.parse().ok().filter(|number| *number <= 1200)?;
        match unit.trim() {
            "month" | "months" => Some(number),
            "year" | "years" => Some(number * 12),
            _ => None,
        }
    });
    if months.is_none() {
        faults.push(
            Fault::new(id::BAD_VALUE, text.whole(), "stale_after is a number of months or years")
                .found(text.text())
                .allowed("18 months, 2 years")
                .cure("write the number, a space and the word"),
        );
    }
    months
}

/// The kinds whose unit a shop chooses, each with a unit that its formulas can be shown in.
fn units(fields: &Fields<'_>, key: &str, faults: &mut Vec<Fault>) -> Vec<(String, Unit)> {
    let Some(node) = fields.get(key) else { return Vec::new() };
    let table = if key == "units" { &UNITS } else { &BESIDE };
    let Some(inner) = Fields::of(node, table, faults) else { return Vec::new() };
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
