//! A working to its opened form: formula, numbers put in, result, what it rests on, cautions, the block as written.

use super::theme::ThemeFault;
use super::{Script, Setting, code, safe};
use crate::editions::SYMBOL;
use crate::evaluate::PageWorking;
use crate::mechanics::formula::{Formula, Output};
use crate::mechanics::mathml;
use crate::mechanics::print::words;
use crate::mechanics::table::Table;
use crate::text::escape;
use minijinja::{Value, context};

/// Where a working stands, which decides what it is called.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Stands {
    /// On a page whose writer asked for it.
    OnPage,
    /// In the handbook, worked for an example.
    InHandbook,
    /// On a build sheet, under its name.
    OnBuild,
}

/// Sets one working.
pub(super) fn set(setting: &Setting<'_>, page: &PageWorking<'_>, stands: Stands) -> Result<String, ThemeFault> {
    let working = &page.working;
    let formula = working.formula;
    let inputs: Vec<Value> = formula
        .inputs
        .iter()
        .zip(&working.readings)
        .map(|(input, reading)| {
            let taken = if reading.by_default { "; taken, as nothing was given" } else { "" };
            context! {
                symbol_html => safe(mathml::symbol(&input.symbol)),
                shown => setting.shown(&reading.text(&input.style())),
                about => format!("{}{taken}", named(&input.name, &input.about)),
            }
        })
        .collect();
    let shown = in_order(formula, &page.show);
    let results: Vec<Value> = shown
        .iter()
        .map(|output| {
            context! {
                symbol_html => safe(mathml::symbol(&output.symbol)),
                name => words(&output.name),
                text => working.text(output).unwrap_or_default(),
                figure => setting.shown(&working.text(output).unwrap_or_default()),
                spread => working.spread_text(output).map(|spread| setting.units.figure(&spread)),
                about => output.about.as_str(),
                shown => page.show.is_empty() || page.show.contains(&output.name),
            }
        })
        .collect();
    let lead = shown.first().and_then(|output| working.text(output)).unwrap_or_default();
    let lead = setting.units.show(&lead).text;
    let limits: Vec<Value> = working
        .spoken
        .iter()
        .map(|spoken| context! { message => setting.units.sentence(&spoken.limit.message), may => !spoken.stated, part => spoken.stated && spoken.open })
        .collect();
    let markup = |lines: Vec<String>| lines.into_iter().map(safe).collect::<Vec<_>>();
    setting.theme.render(
        "working.html",
        context! {
            id => format!("w-{}", page.name),
            name => page.name.as_str(),
            script_name => script_name(formula),
            given => serde_json::json!(working.readings.iter().map(|reading| reading.value).collect::<Vec<_>>()).to_string(),
            title => formula.title.as_str(),
            question => formula.question.as_str(),
            lead => match stands {
                Stands::OnPage => format!("Working for {lead}"),
                Stands::InHandbook => "Formula and example".to_owned(),
                Stands::OnBuild => format!("Working for {lead}, {}", words(&page.name)),
            },
            is_example => stands == Stands::InHandbook,
            formula_math => markup(mathml::formula_lines(formula)),
            numbers_math => markup(mathml::number_lines(working)),
            table_html => formula.tables.iter().map(|one| safe(table(one))).collect::<Vec<_>>(),
            inputs,
            results,
            limits,
            cautions => formula.cautions.clone(),
            watch => watch(page, stands),
            sources => Value::from(formula.sources()),
            valid => formula.valid.as_str(),
            written_html => safe(code::coloured(page.written.trim_end(), "yaml")),
        },
    )
}

/// What the limits of a formula may say, where nobody put numbers in: a handbook shows them all.
fn watch(page: &PageWorking<'_>, stands: Stands) -> Vec<String> {
    let working = &page.working;
    let speaks = |name: &str| working.spoken.iter().any(|spoken| spoken.limit.name == name);
    let silent = working.formula.limits.iter().filter(|limit| stands == Stands::InHandbook && !speaks(&limit.name));
    silent.map(|limit| limit.message.clone()).collect()
}

/// A name with what it means, and just the latter where that begins with the name.
fn named(name: &str, about: &str) -> String {
    let name = words(name);
    match about {
        "" => name,
        _ if about.starts_with(&name) => about.to_owned(),
        _ => format!("{name}: {about}"),
    }
}

/// The name under which a page's scripts know a formula; every equation of a page has one of its own.
fn script_name(formula: &Formula) -> String {
    if formula.question.is_empty() { format!("equation-{}", formula.version) } else { formula.id.clone() }
}

/// The scripts of a page in their order: what all formulas share, then each formula of the page once.
pub(super) fn scripts(setting: &Setting<'_>, workings: &[PageWorking<'_>]) -> Vec<Script> {
    let mut scripts: Vec<Script> = Vec::new();
    for page in workings {
        let formula = page.working.formula;
        let name = script_name(formula);
        if !scripts.iter().any(|script| script.name == name) {
            scripts.push(setting.scripts.formula(&name, formula));
        }
    }
    if !scripts.is_empty() {
        scripts.insert(0, setting.scripts.engine());
    }
    scripts
}

/// The addresses of a page's scripts, the theme's own last.
pub(super) fn script_hrefs(setting: &Setting<'_>, scripts: &[Script]) -> Vec<String> {
    let own = setting.theme.script.as_str();
    scripts.iter().map(|script| script.path.as_str()).chain([own]).map(|path| format!("{SYMBOL}{path}")).collect()
}

/// The outputs that the block shows, then the others.
fn in_order<'f>(formula: &'f Formula, show: &[String]) -> Vec<&'f Output> {
    let (mut first, others): (Vec<_>, Vec<_>) = formula.outputs.iter().partition(|output| show.contains(&output.name));
    first.sort_by_key(|output| show.iter().position(|name| *name == output.name));
    first.extend(others);
    first
}

/// A published table as markup, banded.
fn table(table: &Table) -> String {
    let mut rows = String::new();
    for (range, value) in mathml::table_rows(table) {
        rows.push_str(&format!("<tr><th scope=\"row\">{}</th><td>{}</td></tr>\n", escape(&range), escape(&value)));
    }
    format!(
        "<table class=\"banded\"><caption>{}: {}</caption>\n<tbody>\n{rows}</tbody></table>",
        escape(&words(&table.name)),
        escape(&table.source)
    )
}
