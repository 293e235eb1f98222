//! The handbook: a reference sheet for each topic that has formulas, the shop's own before the bundled ones.
//!
//! Every formula is set like a working of a page, worked for its first example, so that there is one way to show a
//! formula. Nothing here is looked up or checked: formulas were, when they were loaded.

use super::theme::ThemeFault;
use super::{Goes, Setting, Sheet, safe, topic_title, working};
use crate::evaluate::PageWorking;
use crate::library::formula::{OwnFormula, is_replaced};
use crate::library::guide::TOPICS;
use crate::mechanics::bundle;
use crate::mechanics::formula::Formula;
use crate::mechanics::working::{read_inputs, work};
use crate::text::{Span, Spanned};
use minijinja::context;
use rayon::prelude::*;

/// A topic's formulas, with the path of their reference sheet.
#[derive(Debug)]
pub struct Chapter {
    /// The topic.
    pub topic: &'static str,
    /// The sheet's path.
    pub path: String,
    /// The formulas, by id.
    pub formulas: Vec<Formula>,
}

/// The chapters of the handbook; none where the shop wants none.
#[must_use]
pub fn chapters(setting: &Setting<'_>, own: &[OwnFormula]) -> Vec<Chapter> {
    if !setting.shop.handbook {
        return Vec::new();
    }
    let bundled = bundle::ids().filter(|(id, _)| !is_replaced(own, id));
    let mut formulas: Vec<Formula> = bundled.filter_map(|(id, _)| bundle::formula(id)?.ok()).collect();
    formulas.extend(own.iter().map(|own| own.formula.clone()));
    formulas.sort_by(|one, other| one.id.cmp(&other.id));
    let chapter = |topic: &'static str| {
        let formulas: Vec<Formula> = formulas.iter().filter(|formula| formula.topic == topic).cloned().collect();
        (!formulas.is_empty()).then(|| Chapter { topic, path: format!("handbook/{topic}.html"), formulas })
    };
    TOPICS.iter().filter_map(|(topic, _)| chapter(topic)).collect()
}

/// Sets the reference sheet of a topic.
///
/// # Errors
/// A fault of the theme.
pub fn handbook_page(setting: &Setting<'_>, chapter: &Chapter) -> Result<Sheet, ThemeFault> {
    let workings: Vec<PageWorking<'_>> = chapter.formulas.par_iter().filter_map(example_of).collect();
    let mut formulas = Vec::with_capacity(workings.len());
    for page in &workings {
        let formula = page.working.formula;
        formulas.push(context! {
            id => formula.id.as_str(), title => formula.title.as_str(), question => formula.question.as_str(),
            working_html => safe(working::set(setting, page, working::Stands::InHandbook)?),
        });
    }
    let scripts = working::scripts(setting, &workings);
    let values = context! {
        topic_title => topic_title(chapter.topic),
        formulas,
        script_hrefs => working::script_hrefs(setting, &scripts),
    };
    let sheet = setting.sheet("handbook.html", chapter.path.clone(), &values, Goes::IntoBook)?;
    Ok(Sheet { scripts, ..sheet })
}

/// A formula worked for its fullest example: the first of those that give the most figures.
fn example_of(formula: &Formula) -> Option<PageWorking<'_>> {
    let example = formula.examples.iter().rev().max_by_key(|example| example.gives.len())?;
    let given: Vec<_> =
        example.given.iter().map(|(name, text)| (Spanned::new(name.clone(), Span::default()), text.clone())).collect();
    let working = work(formula, read_inputs(formula, &given, Span::default()).ok()?).ok()?;
    Some(PageWorking { name: formula.id.clone(), working, show: Vec::new(), given: Vec::new(), written: String::new() })
}
