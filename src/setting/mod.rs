//! Worked guide and theme in, sheet out: well-formed XHTML with its drawings in it.
//!
//! Every number that a reader sees was made into text before; here text becomes markup. Only templates and the
//! Markdown writer make markup, and everything else is escaped. Links are symbolic and resolved by the edition that asks for
//! the sheet. A name that a template gets wrong is a fault of the theme.

/// A body's pieces to markup.
mod body;
/// The pages that the book alone has.
pub mod book;
/// A build sheet.
mod build;
/// A fault-finding chart.
mod chart;
/// Code in the sheet's inks.
pub mod code;
/// The finding page, and what can be found.
mod finding;
/// The front page.
mod front;
/// The handbook: formulas by topic.
mod handbook;
/// The item index.
mod items;
/// What a page says of itself to programs.
mod linked;
/// Sheets as lists name them.
mod listed;
/// The page for addresses that don't exist.
mod missing;
/// Pairings, fit tables and sweeps.
mod parts;
/// What leads from a sheet to its address and back: the link's picture and the code on paper.
mod reach;
/// The theme: templates and the files that go with them.
pub mod theme;
/// Topic sheets.
mod topic;
/// A working to its opened form.
mod working;

pub use build::build_page;
pub use chart::chart_page;
pub use finding::{Finder, find_page, finder};
pub use front::front_page;
pub use handbook::{Chapter, chapters, handbook_page};
pub use items::items_page;
pub use missing::{PATH as MISSING, missing_page};
pub use topic::topic_pages;

use crate::diagnostic::Diagnostic;
use crate::drawing::preview::Preview;
use crate::drawing::{Drawings, Item, raster};
use crate::editions::{EDITION, SYMBOL, hosted, single};
use crate::evaluate::beside::{Shown, Units};
use crate::evaluate::figure::{Figure, plain};
use crate::evaluate::unusable_photo;
use crate::evaluate::{PageWorking, WorkedDrawing, WorkedGuide, WorkedPiece, WorkedText};
use crate::fault::{Fault, id};
use crate::library::guide::TOPICS;
use crate::library::photo::Photo;
use crate::library::shop::{Edition, Shop};
use crate::mechanics::formula::Formula;
use crate::mechanics::javascript;
use crate::mechanics::print::words;
use crate::register::{Register, Revision, Stamp};
use crate::text::{Span, capital};
use body::Body;
use minijinja::{Value, context};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use theme::{Theme, ThemeFault};

/// What all pages of one press share.
#[derive(Debug)]
pub struct Setting<'a> {
    /// The shop.
    pub shop: &'a Shop,
    /// Templates and files.
    pub theme: &'a Theme,
    /// The drawings.
    pub drawings: &'a Drawings,
    /// The units that the shop shows.
    pub units: Units,
    /// The scripts of formulas, each made once however many pages have it.
    pub scripts: Scripts,
    /// The editions that are made besides the site.
    pub editions: &'a [Edition],
    /// What was signed.
    pub register: &'a Register,
}

/// The form of the library that a sheet is set for. Templates know it by its word, as `form`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Form {
    Site,
    /// One file for itself.
    Single,
    Book,
}

/// Where a sheet goes besides the site, in the editions that the shop wants.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Goes {
    /// Into the book.
    IntoBook,
    /// Into the book, and as one file for itself.
    Alone,
}

/// Scripts by the name under which pages know them.
#[derive(Debug, Default)]
pub struct Scripts {
    engine: OnceLock<Script>,
    formulas: Mutex<HashMap<String, Script>>,
}

impl Scripts {
    /// What all formulas share.
    fn engine(&self) -> Script {
        self.engine.get_or_init(|| Script::of("engine", javascript::engine())).clone()
    }

    /// The script of a formula, made where nobody asked for it before.
    fn formula(&self, name: &str, formula: &Formula) -> Script {
        let mut known = self.formulas.lock().unwrap_or_else(PoisonError::into_inner);
        known.entry(name.to_owned()).or_insert_with(|| Script::of(name, javascript::script(formula, name))).clone()
    }
}

impl Setting<'_> {
    /// A printed figure in the shop's units, as templates take it.
    fn shown(&self, text: &str) -> Value {
        let Shown { text, beside } = self.units.show(text);
        context! { text, beside }
    }

    /// Renders a template with its own values and with those that all pages share; `path` is where the page stands.
    fn render(&self, template: &str, path: &str, values: Value) -> Result<String, ThemeFault> {
        self.render_for(Form::Site, template, path, values)
    }

    /// Renders a template for a form of the library.
    fn render_for(&self, form: Form, template: &str, path: &str, values: Value) -> Result<String, ThemeFault> {
        let (form, stylesheet) = match form {
            Form::Site => ("site", &self.theme.stylesheet),
            Form::Single => ("sheet", &self.theme.stylesheet),
            Form::Book => ("book", &self.theme.book_stylesheet),
        };
        let shared = context! {
            form,
            pressed => context! {
                book => self.makes(Edition::Book), sheets => self.makes(Edition::Sheets), zip => self.makes(Edition::Zip),
            },
            language => self.shop.language.as_str(),
            stylesheet_href => format!("{SYMBOL}{stylesheet}"),
            icon_href => format!("{SYMBOL}{}", self.theme.icons.small.path),
            shop => shop_values(self.shop),
            edition => EDITION,
            edition_script_href => format!("{SYMBOL}{}", hosted::script().0),
            address => self.shop.address(path),
            preview => (),
            code => (),
            linked_html => (),
        };
        self.theme.render(template, context! { ..values, ..shared })
    }

    /// Whether this edition is made.
    #[must_use]
    pub fn makes(&self, edition: Edition) -> bool {
        self.editions.contains(&edition)
    }

    /// A sheet in all forms that are wanted of it: what stands on it is set once, and put into each form's frame.
    fn sheet(&self, template: &str, path: String, values: &Value, goes: Goes) -> Result<Sheet, ThemeFault> {
        let render = |form| self.render_for(form, template, &path, values.clone());
        let rendered_where = |wanted: bool, form| wanted.then(|| render(form)).transpose();
        let html = render(Form::Site)?;
        let alone = rendered_where(goes == Goes::Alone && self.makes(Edition::Sheets), Form::Single)?;
        let in_book = rendered_where(self.makes(Edition::Book), Form::Book)?;
        Ok(Sheet { path, html, alone, in_book, ..Sheet::default() })
    }
}

/// A sheet: well-formed markup whose links to other files of the library are symbolic.
#[derive(Clone, Default, Debug)]
pub struct Sheet {
    /// Its path, with forward slashes.
    pub path: String,
    /// Its markup.
    pub html: String,
    /// Its markup as one file for itself, where that is wanted.
    pub alone: Option<String>,
    /// Its markup in the book, where that is wanted.
    pub in_book: Option<String>,
    /// The pictures that go with it.
    pub pictures: Vec<Picture>,
    /// The formulas of its workings as scripts, for the reader's own numbers.
    pub scripts: Vec<Script>,
}

/// A script that goes with sheets.
#[derive(Clone, Debug)]
pub struct Script {
    /// The name under which it is known.
    pub name: String,
    /// Its path, which holds digits of its hash.
    pub path: String,
    /// What it says.
    pub text: Arc<str>,
}

impl Script {
    fn of(name: &str, text: String) -> Self {
        let hash = blake3::hash(text.as_bytes()).to_hex();
        Self { name: name.to_owned(), path: format!("formulas/{name}.{}.js", &hash[..8]), text: text.into() }
    }
}

/// A picture that goes with a sheet.
#[derive(Clone, Debug)]
pub struct Picture {
    /// The picture's path; it holds digits of the hash of what it shows.
    pub path: String,
    /// What it shows.
    pub shows: Shows,
}

/// What a picture shows, to be made when it is written.
#[derive(Clone, Debug)]
pub enum Shows {
    /// A resolved drawing, and the inks for it.
    Drawing(String, Arc<str>),
    /// A drawing of our own that says its size in pixels and its colours.
    Plate(String),
    /// What stands for a sheet where its address is passed on.
    Preview(Box<Preview>),
    /// A photo, and where it is asked for.
    Photo {
        /// The photo.
        photo: Arc<Photo>,
        /// In which of its widths.
        width: u32,
        /// The page's file.
        file: String,
        /// The place in it.
        span: Span,
    },
}

impl Shows {
    /// The picture's bytes: PNG, or JPEG for a photo that one can't see through.
    ///
    /// # Errors
    /// Why it can't be made, as a fault of the page or of the drawing.
    pub fn make(&self, path: &str) -> Result<Vec<u8>, Diagnostic> {
        match self {
            Self::Drawing(svg, inks) => raster::png(svg, inks).map_err(|why| {
                let name = path.trim_start_matches("drawings/").split('.').next().unwrap_or_default();
                let message = format!("this drawing can't be made into a picture: {why}");
                let fault = Fault::new(id::THEME, Span::default(), message)
                    .cure("simplify what it draws, and look at it under stand");
                Diagnostic { file: format!("diagrams/{name}.svg"), fault }
            }),
            Self::Plate(svg) => raster::plate(svg).map_err(|why| Diagnostic {
                file: "themes/sheet/sheet.css".to_owned(),
                fault: Fault::new(id::THEME, Span::default(), format!("the sign of the site can't be drawn: {why}"))
                    .cure("look at the colours under :root"),
            }),
            Self::Preview(preview) => preview.make().map_err(|why| {
                let message = format!("no picture for links to sheet {} can be made: {why}", preview.number);
                let fault = Fault::new(id::THEME, Span::default(), message)
                    .cure("look at the colours under :root, and at the sheet's main drawing");
                Diagnostic { file: "themes/sheet/sheet.css".to_owned(), fault }
            }),
            Self::Photo { photo, width, file, span } => photo.make(*width).map_err(|unusable| Diagnostic {
                file: file.clone(),
                fault: unusable_photo(&unusable, &photo.name, *span),
            }),
        }
    }
}

/// Sets one guide.
///
/// # Errors
/// A fault of the theme or of a drawing's template.
pub fn guide_page(setting: &Setting<'_>, guide: &WorkedGuide<'_>) -> Result<Sheet, ThemeFault> {
    let written = guide.guide;
    let body = Body::of(setting, &written.page, &written.number.value, &written.source.name, &guide.workings);
    let (main_drawing, lead) = take_main_drawing(&guide.lead);
    let main_drawing_html = main_drawing.map(|drawing| body.drawing(drawing, false)).transpose()?;
    let lead_html = body.flow(lead)?;
    let mut operations = Vec::new();
    for operation in &guide.operations {
        operations.push(context! {
            number => operation.number,
            id => format!("op-{}", operation.number),
            heading_html => safe(body.inline(&operation.heading)?),
            body_html => safe(body.flow(&operation.body)?),
        });
    }
    let scripts = working::scripts(setting, &guide.workings);
    let lines =
        |lines: &[Vec<WorkedText>]| lines.iter().map(|line| body.text(line).map(safe)).collect::<Result<Vec<_>, _>>();
    let sheet = context! {
        title_html => safe(body.text(&guide.title)?),
        title_text => plain(&guide.title),
        summary_html => safe(body.text(&guide.summary)?),
        summary_text => plain(&guide.summary),
        topic_title => topic_title(&written.topic.value),
        number => written.number.value.as_str(),
        revision => guide.stamp.revision.as_str(),
        issued => guide.stamp.issued.as_str(),
        prepared_by => written.prepared_by.as_str(),
        approved_by => written.approved_by.as_deref(),
        review_by => written.review_by.as_ref().map(|date| date.value.as_str()),
        work_time => written.work_time.as_deref(),
        done_by => written.done_by.value.as_str(),
        is_manual => written.topic.value == "library",
        href => written.page.as_str(),
    };
    let (right_when, stop_when) = (lines(&guide.right_when)?, lines(&guide.stop_when)?);
    let items = items(&body, guide, main_drawing)?;
    // Set last: every text of the sheet has said by now whether it has a figure in two units.
    let wants_script = body.beside.get() || !scripts.is_empty();
    let script_hrefs = if wants_script { working::script_hrefs(setting, &scripts) } else { Vec::new() };
    // The main drawing was set first of all.
    let drawn = main_drawing.and_then(|_| match body.pictures.borrow().first().map(|picture| &picture.shows) {
        Some(Shows::Drawing(svg, _)) => Some(svg.clone()),
        _ => None,
    });
    let preview = reach::preview(setting, guide, drawn);
    let values = context! {
        script_hrefs,
        single_href => setting.makes(Edition::Sheets).then(|| format!("{SYMBOL}{}", single::path(&written.number.value))),
        sheet,
        preview => preview.as_ref().map(|picture| reach::preview_values(setting, picture)),
        code => reach::code(setting, &written.page, &written.number.value, &guide.stamp.revision),
        linked_html => safe(linked::of_guide(setting, guide, preview.as_ref())),
        key_figure => key_figure(&setting.units, guide),
        counted => main_drawing.is_some_and(|drawing| !drawing.filled.items.is_empty()),
        items,
        main_drawing_html => main_drawing_html.map(safe),
        lead_html => safe(lead_html),
        operations,
        right_when,
        stop_when,
        standing => guide.cautions.clone(),
        footnotes_html => safe(body.footnotes()),
        revisions => revisions(&guide.stamp),
        generated_note => generated_note(&written.number.value, &guide.stamp),
    };
    let sheet = setting.sheet("sheet.html", written.page.clone(), &values, Goes::Alone)?;
    let mut pictures = body.pictures.into_inner();
    pictures.extend(preview);
    Ok(Sheet { pictures, scripts, ..sheet })
}

/// The revision table of a sheet.
fn revisions(stamp: &Stamp) -> Vec<Value> {
    let line = |line: &Revision| {
        context! { revision => line.letter.as_str(), date => line.date.as_str(), change => line.change.as_str(), by => line.by.as_str() }
    };
    stamp.revisions.iter().map(line).collect()
}

/// What a sheet says of itself in a sentence.
fn generated_note(number: &str, stamp: &Stamp) -> String {
    format!("Sheet {number}, revision {}, {}.", stamp.revision, stamp.issued)
}

/// The page at a former address, which leads on to where the guide stands now.
///
/// # Errors
/// A fault of the theme.
pub fn moved_page(setting: &Setting<'_>, guide: &WorkedGuide<'_>, former: &str) -> Result<Sheet, ThemeFault> {
    let values = context! {
        number => guide.guide.number.value.as_str(),
        title_text => plain(&guide.title),
        href => format!("{SYMBOL}{}", guide.guide.page),
        to => format!("{}{}", "../".repeat(former.matches('/').count()), guide.guide.page),
    };
    let html = setting.render("moved.html", &guide.guide.page, values)?;
    Ok(Sheet { path: former.to_owned(), html, ..Sheet::default() })
}

/// Markup that templates take as it is.
pub(crate) fn safe(html: impl Into<String>) -> Value {
    Value::from_safe_string(html.into())
}

/// A topic's title.
#[must_use]
pub fn topic_title(topic: &str) -> &str {
    TOPICS.iter().find(|(name, _)| *name == topic).map_or(topic, |(_, title)| title)
}

fn shop_values(shop: &Shop) -> Value {
    let digits = |phone: &str| phone.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect::<String>();
    context! {
        name => shop.name.as_str(), place => shop.place.as_str(), full => shop.name_and_place(), phone => shop.phone.as_deref(),
        phone_href => shop.phone.as_deref().map(|phone| format!("tel:{}", digits(phone))), address => shop.address.as_deref(), hours => shop.hours.as_deref(),
        bring_it_in => shop.bring_it_in.as_deref(), site => shop.site.as_deref(),
    }
}

/// The drawing that stands before the first operation goes to the head of the sheet.
fn take_main_drawing(lead: &[WorkedPiece]) -> (Option<&WorkedDrawing>, &[WorkedPiece]) {
    match lead {
        [WorkedPiece::Drawing(first), rest @ ..] => (Some(first), rest),
        _ => (None, lead),
    }
}

/// Drawn parts with their balloons, then what is used up, then tools.
fn items(body: &Body<'_>, guide: &WorkedGuide<'_>, drawing: Option<&WorkedDrawing>) -> Result<Vec<Value>, ThemeFault> {
    let drawn: &[Item] = drawing.map_or(&[], |drawing| &drawing.filled.items);
    let is_drawn = |name: &str| drawn.iter().any(|item| item.name.eq_ignore_ascii_case(name));
    let mut items: Vec<Value> = drawn
        .iter()
        .map(|item| context! { balloon => item.balloon.as_str(), name_html => item.name.as_str(), count => "1" })
        .collect();
    for line in guide.consumables.iter().chain(&guide.tools) {
        if !is_drawn(&plain(line)) {
            items.push(context! { balloon => (), name_html => safe(capital(&body.text(line)?)), count => "" });
        }
    }
    Ok(items)
}

/// The figure at the head of the sheet and, in words, what it was worked from.
fn key_figure(units: &Units, guide: &WorkedGuide<'_>) -> Option<Value> {
    let figure = guide.key_figure.as_ref()?;
    let note = guide
        .workings
        .iter()
        .find(|working| Some(working.name.as_str()) == figure.working())
        .map_or_else(|| capital(&figure.rests_on()), |working| note(units, working, figure));
    Some(context! { html => figure.text.as_str(), beside => figure.beside.as_deref(), note_html => note })
}

fn note(units: &Units, working: &PageWorking<'_>, figure: &Figure) -> String {
    let formula = working.working.formula;
    let given: Vec<String> = formula
        .inputs
        .iter()
        .zip(&working.working.readings)
        .filter(|(input, _)| working.given.contains(&input.name))
        .map(|(input, reading)| format!("{} {}", words(&input.name), units.figure(&reading.text(&input.style()))))
        .collect();
    let name = figure.reads.names.first().and_then(|name| name.split_once('.')).map_or("", |(_, name)| name);
    let output = formula.output(name);
    let spread = output.and_then(|output| working.working.spread_text(output)).map(|spread| units.figure(&spread));
    let tolerance = match spread {
        Some(spread) => format!(" Within the tolerances: {spread}."),
        None if working.working.spreads.is_empty() => String::new(),
        None => " Anywhere in that tolerance the figure is the same.".to_owned(),
    };
    // What a page's own equation gives has no description but its name.
    let about = output.map(|output| if output.about.is_empty() { words(&output.name) } else { output.about.clone() });
    let about = about.map(|about| format!("{}. ", capital(&about))).unwrap_or_default();
    format!("{about}For {}.{tolerance}", given.join(", "))
}
