//! `locknut where-used`: what rests on a stated figure, a part, a bike, a formula, a drawing, a page or a photo, and what would
//! break without it.
//!
//! Uses come from the record that `stand` goes by too; the figures that rest on something, through other workings as well,
//! from what each of them read.

use super::line::OptionOf;
use super::press::{HELP, LIBRARY};
use super::terminal::{self, write_hanging, write_options, write_wrapped};
use super::{Exit, open, print, refuse};
use crate::evaluate::uses::{PageUses, Thing, Use, of_library};
use crate::fault::{Fault, id};
use crate::library::Library;
use crate::mechanics::bundle;
use crate::press::{self, Proof};
use crate::text::{Mapped, count};
use serde_json::json;

/// What the command takes.
pub const OPTIONS: &[OptionOf] =
    &[LIBRARY, OptionOf { name: "--json", value: None, about: "gives every use, or the faults, as data" }, HELP];

/// Runs the command.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("where-used", arguments, OPTIONS, help) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    let json = line.has("--json");
    if line.words.is_empty() {
        let fault = Fault::new(id::MISSING_INPUT, line.whole(), "where-used needs to be told of what")
            .allowed("a stated figure, a part, a bike, a formula, a drawing, a page or a photo")
            .cure("write its name, such as torque.stem, cassette-11-34, chain-length or DT-014");
        return refuse(&[fault], &line.source, json);
    }
    let root = line.library();
    let proof = match press::figures(&root) {
        Ok(proof) => proof,
        Err(problem) => {
            super::complain(&problem.to_string());
            return Exit::Machine;
        }
    };
    let Some(library) = &proof.library else {
        super::draw_all(&proof.faults, &proof.sources);
        return Exit::Faults;
    };
    let asked = Asked { library, pages: of_library(library), proof: &proof };
    let (mut found, mut faults) = (Vec::new(), Vec::new());
    for word in &line.words {
        let kinds = asked.kinds(word.text().trim());
        if kinds.is_empty() {
            faults.push(asked.unknown(word));
        }
        found.extend(kinds.into_iter().map(|kind| asked.found(word.text().trim(), kind)));
    }
    if !faults.is_empty() {
        return refuse(&faults, &line.source, json);
    }
    if json {
        let all: Vec<_> = found.iter().map(Found::to_json).collect();
        print(&format!("{}\n", json!({ "found": all })));
    } else {
        let mut out = String::new();
        for one in &found {
            one.write(&mut out, proof.has_faults(), terminal::width());
        }
        print(&out);
    }
    Exit::Done
}

/// What a word may be the name of.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Figure,
    Subject,
    Part,
    Bike,
    OwnFormula,
    Formula,
    Drawing,
    Page,
    Photo,
}

impl Kind {
    fn words(self) -> &'static str {
        match self {
            Self::Figure => "figure",
            Self::Subject => "stated figures",
            Self::Part => "part",
            Self::Bike => "bike",
            Self::OwnFormula => "formula of the shop's own",
            Self::Formula => "formula",
            Self::Drawing => "drawing",
            Self::Page => "page",
            Self::Photo => "photo",
        }
    }
}

struct Asked<'a> {
    library: &'a Library,
    pages: Vec<PageUses>,
    proof: &'a Proof,
}

/// Everything that uses one thing.
struct Found {
    name: String,
    kind: Kind,
    sheets: Vec<FoundSheet>,
}

/// One sheet that does.
struct FoundSheet {
    number: String,
    file: String,
    /// Line, column, what uses it and under which name.
    uses: Vec<(usize, usize, String, String)>,
    /// The published figures that rest on it, with their texts.
    figures: Vec<(String, String)>,
}

impl Asked<'_> {
    fn kinds(&self, word: &str) -> Vec<Kind> {
        let library = self.library;
        let mut kinds = Vec::new();
        let mut add = |is: bool, kind: Kind| {
            if is {
                kinds.push(kind);
            }
        };
        let shared = |name: &str| crate::evaluate::names::shared(library).contains_key(name);
        add(word.contains('.') && shared(word), Kind::Figure);
        add(library.stated.iter().any(|subject| subject.name == word), Kind::Subject);
        add(library.shelf.part(word).is_some(), Kind::Part);
        add(library.bikes.iter().any(|bike| bike.name == word), Kind::Bike);
        let own = library.formulas.iter().any(|own| own.answers_to(word));
        add(own, Kind::OwnFormula);
        add(!own && bundle::ids().any(|(id, _)| id == word), Kind::Formula);
        add(self.has_drawing(word), Kind::Drawing);
        add(self.page(word).is_some(), Kind::Page);
        add(self.photo(word).is_some(), Kind::Photo);
        kinds
    }

    /// A drawing that there is, or that a page only thinks there is.
    fn has_drawing(&self, name: &str) -> bool {
        let mut used = self.pages.iter().flat_map(|page| &page.uses);
        self.proof.drawings.iter().any(|known| known == name)
            || used.any(|one| matches!(&one.thing, Thing::Drawing(used) if used == name))
    }

    /// The file of a page that is named by its number, or by its path with or without `content/`.
    fn page(&self, word: &str) -> Option<String> {
        let is = |page: &&PageUses| {
            let name = page.source.name.as_str();
            page.number == word || name == word || name.strip_prefix("content/") == Some(word)
        };
        self.pages.iter().find(is).map(|page| page.source.name.clone())
    }

    fn photo(&self, word: &str) -> Option<String> {
        let is = |name: &&str| {
            *name == word
                || name.strip_prefix("content/") == Some(word)
                || name.strip_prefix("content/photos/") == Some(word)
        };
        self.library.photos.names().find(is).map(str::to_owned)
    }

    fn unknown(&self, word: &Mapped) -> Fault {
        let name = word.text().trim();
        let shared = crate::evaluate::names::shared(self.library);
        let numbers = self.pages.iter().map(|page| page.number.as_str());
        let parts = self.library.shelf.parts.iter().map(|part| part.name.value.as_str());
        let known = shared.keys().map(String::as_str).chain(parts).chain(numbers);
        let known = known.chain(bundle::ids().map(|(id, _)| id)).chain(self.library.photos.names());
        let known = known.chain(self.proof.drawings.iter().map(String::as_str));
        Fault::new(id::UNKNOWN_NAME, word.whole(), format!("nothing in the library is called {name}"))
            .found(name)
            .nearest(
                name,
                known,
                "write the name of a stated figure, a part, a bike, a formula, a drawing, a page or a photo",
            )
    }

    fn found(&self, word: &str, kind: Kind) -> Found {
        let names = self.names(word, kind);
        let wanted = |one: &Use| match (&one.thing, kind) {
            (Thing::Name(name), Kind::Figure | Kind::Subject | Kind::Part | Kind::Bike) => names.iter().any(|known| {
                known == name || name.strip_prefix(known.as_str()).is_some_and(|rest| rest.starts_with('.'))
            }),
            (Thing::Part(name), Kind::Part)
            | (Thing::Bike(name), Kind::Bike)
            | (Thing::Drawing(name), Kind::Drawing)
            | (Thing::Formula(name), Kind::OwnFormula | Kind::Formula) => name == word,
            (Thing::Family(family), Kind::Part) => {
                self.library.shelf.part(word).is_some_and(|part| part.family == *family)
            }
            (Thing::Page(file), Kind::Page) => self.page(word).as_ref() == Some(file),
            (Thing::Photo(file), Kind::Photo) => self.photo(word).as_ref() == Some(file),
            _ => false,
        };
        let sheets = self.pages.iter().filter_map(|page| {
            let uses: Vec<_> = page.uses.iter().filter(|one| wanted(one)).map(|one| place(page, one)).collect();
            let figures = self.figures(&page.number, word, kind, &names);
            (!uses.is_empty() || !figures.is_empty()).then(|| FoundSheet {
                number: page.number.clone(),
                file: page.source.name.clone(),
                uses,
                figures,
            })
        });
        Found { name: word.to_owned(), kind, sheets: sheets.collect() }
    }

    /// The names under which pages know it: of a part also those of the bikes that have it.
    fn names(&self, word: &str, kind: Kind) -> Vec<String> {
        let mut names = vec![word.to_owned()];
        if kind == Kind::Part {
            for bike in &self.library.bikes {
                let fitted = bike.parts.iter().filter(|fitted| fitted.name.value == word);
                names.extend(fitted.map(|fitted| format!("{}.{}", bike.name, fitted.key.value)));
            }
        }
        names
    }

    /// The published figures of a sheet that rest on it.
    fn figures(&self, sheet: &str, word: &str, kind: Kind, names: &[String]) -> Vec<(String, String)> {
        let Some(sheet) = self.proof.figures.sheets.iter().find(|one| one.number == sheet) else { return Vec::new() };
        let is_name = |name: &str| {
            names.iter().any(|known| {
                name == known || name.strip_prefix(known.as_str()).is_some_and(|rest| rest.starts_with('.'))
            })
        };
        let rests = |name: &str, published: &crate::register::Published| match kind {
            Kind::Figure | Kind::Subject | Kind::Part | Kind::Bike => {
                let own = name.split(' ').next().unwrap_or_default();
                is_name(own)
                    || published.from.iter().any(|(from, _)| is_name(from))
                    || (kind == Kind::Part && name.split(' ').any(|named| named == word))
            }
            Kind::Formula | Kind::OwnFormula => published
                .formula
                .as_ref()
                .and_then(|formula| formula.rsplit_once(' '))
                .is_some_and(|(id, _)| id == word),
            Kind::Drawing | Kind::Page | Kind::Photo => false,
        };
        let lines = sheet.lines.iter().filter(|(name, published)| rests(name, published));
        lines.map(|(name, published)| (name.clone(), published.says.clone())).collect()
    }
}

fn place(page: &PageUses, one: &Use) -> (usize, usize, String, String) {
    let (line, column) = page.source.line_column(one.span.start);
    let written = match &one.thing {
        Thing::Name(name) => name.clone(),
        _ => String::new(),
    };
    (line, column, one.by.words(), written)
}

impl Found {
    /// What would be said if it were taken away.
    fn removal(&self) -> String {
        let numbers: Vec<&str> =
            self.sheets.iter().filter(|sheet| !sheet.uses.is_empty()).map(|sheet| sheet.number.as_str()).collect();
        let rest = self.sheets.len() - numbers.len();
        let all = numbers.join(", ");
        match (self.kind, numbers.is_empty()) {
            (Kind::Formula, _) => {
                "It comes with the program and can't be taken away; a formula of the shop's own can replace it."
                    .to_owned()
            }
            (_, true) => "Nothing uses it: taking it away stops no press.".to_owned(),
            (_, false) => {
                let word = if numbers.len() == 1 { "this sheet has" } else { "these sheets have" };
                let more = if rest > 0 {
                    format!("; {} more rest on it through others", count(rest, "sheet"))
                } else {
                    String::new()
                };
                format!("Take it away and the press stops until {word} something else: {all}{more}.")
            }
        }
    }

    fn write(&self, out: &mut String, has_faults: bool, width: usize) {
        let sheets = match self.sheets.len() {
            0 => "used by no sheet".to_owned(),
            1 => "used by 1 sheet".to_owned(),
            many => format!("used by {many} sheets"),
        };
        write_wrapped(out, &format!("{} ({}): {sheets}", self.name, self.kind.words()), 0, width);
        for sheet in &self.sheets {
            out.push('\n');
            write_hanging(out, &format!("{} ", sheet.number), &sheet.file, 0, width);
            for (line, column, by, written) in &sheet.uses {
                let shown =
                    if written.is_empty() || *written == self.name { String::new() } else { format!(": {written}") };
                write_hanging(out, &format!("  {line}:{column}"), &format!("{by}{shown}"), 11, width);
            }
            for (name, says) in &sheet.figures {
                write_hanging(out, "  rests", &format!("{name}: {says}"), 11, width);
            }
        }
        out.push('\n');
        write_wrapped(out, &self.removal(), 0, width);
        if has_faults {
            write_wrapped(
                out,
                "The library has faults, so figures that rest on it through workings are not told: see locknut proof.",
                0,
                width,
            );
        }
        out.push('\n');
    }

    fn to_json(&self) -> serde_json::Value {
        let sheets = self.sheets.iter().map(|sheet| {
            let uses = sheet.uses.iter().map(|(line, column, by, written)| {
                json!({ "line": line, "column": column, "by": by, "name": written })
            });
            let figures = sheet.figures.iter().map(|(name, says)| json!({ "name": name, "says": says }));
            json!({ "sheet": sheet.number, "file": sheet.file, "uses": uses.collect::<Vec<_>>(), "figures": figures.collect::<Vec<_>>() })
        });
        let breaks: Vec<&str> =
            self.sheets.iter().filter(|sheet| !sheet.uses.is_empty()).map(|sheet| sheet.number.as_str()).collect();
        json!({ "name": self.name, "kind": self.kind.words(), "sheets": sheets.collect::<Vec<_>>(), "removal_breaks": breaks })
    }
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut where-used NAME ...\n\n");
    write_wrapped(
        &mut out,
        "Says which sheets use a stated figure, a part, a bike, a formula, a drawing, a page or a photo, where they do, and \
         which published figures rest on it. At the end it says what would break without it.",
        0,
        width,
    );
    out.push('\n');
    write_options(&mut out, OPTIONS, width);
    out.push_str("\n  locknut where-used stock.longest_chain\n  locknut where-used cassette-11-34 DT-014\n");
    out
}
