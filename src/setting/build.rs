//! A build sheet to its page: parts with balloons, side view, gears, pressures, torques, wear, and whether it all fits.

use super::body::Body;
use super::linked::{Article, of_article};
use super::parts::{pairing_values, sweep_values};
use super::theme::ThemeFault;
use super::{Goes, Setting, Sheet, generated_note, revisions, safe, working};
use crate::evaluate::build::{Marked, WorkedBuild};
use crate::evaluate::sweeps::WorkedSweep;
use crate::mechanics::pairing::Verdict;
use minijinja::{Value, context};

/// Sets one build sheet.
///
/// # Errors
/// A fault of the theme or of the side view.
pub fn build_page(setting: &Setting<'_>, build: &WorkedBuild<'_>) -> Result<Sheet, ThemeFault> {
    let bike = build.bike;
    let path = bike.page();
    let body = Body::of(setting, &path, &bike.number.value, &bike.source.name, &build.workings);
    let view = build.view.as_ref().map(|view| body.drawing(view, false)).transpose()?;
    let workings: Vec<Value> = build
        .workings
        .iter()
        .map(|page| working::set(setting, page, working::Stands::OnBuild).map(safe))
        .collect::<Result<_, _>>()?;
    let sweep = |sweep: &Option<WorkedSweep>, id: &str, caption: &str| {
        sweep.as_ref().map(|sweep| {
            let values = context! {
                label => caption, caption_html => caption, ..sweep_values(sweep, id, caption)
            };
            setting.theme.render("sweep.html", values).map(safe)
        })
    };
    let scripts = working::scripts(setting, &build.workings);
    let marked = |list: &[Marked]| {
        let one = |one: &Marked| {
            context! { part => one.part.as_str(), about => one.about.as_str(), shown => setting.shown(&one.text), source => one.source.as_str(), checked => one.checked.as_str() }
        };
        list.iter().map(one).collect::<Vec<_>>()
    };
    let parts = build.parts.iter().map(|part| {
        context! { balloon => part.balloon.as_deref(), family => part.family.as_str(), title => part.title.as_str(), name => part.name.as_str() }
    });
    let gears = build.gears.iter().map(|gear| {
        context! { ring => gear.ring.as_str(), sprocket => gear.sprocket.as_str(), development => gear.development.as_str(),
                   step => gear.step.as_deref(), note => gear.note.as_deref() }
    });
    let pressures = build.pressures.iter().map(|rider| {
        let wheels = rider.wheels.iter().map(|wheel| {
            context! { place => wheel.place.word(), load => wheel.load.as_str(), pressure => setting.shown(&wheel.pressure), held => wheel.held.as_deref(), most => wheel.most.as_deref().map(|most| setting.shown(most)) }
        });
        context! { rider => rider.rider.as_str(), wheels => wheels.collect::<Vec<_>>() }
    });
    let mut cautions: Vec<String> = Vec::new();
    // A rule that says no more than that parts fit brings no caution: there are too many, and none would be read.
    let spoke = build.pairing.reasons.iter().filter(|reason| reason.verdict < Verdict::Fits);
    let of_rules = spoke.flat_map(|reason| &reason.cautions);
    let of_formulas = build.workings.iter().flat_map(|page| &page.working.formula.cautions);
    for caution in of_formulas.chain(of_rules) {
        if !cautions.contains(caution) {
            cautions.push(caution.clone());
        }
    }
    let article = Article {
        page: &path,
        title: &bike.title,
        summary: bike.summary.as_deref().unwrap_or_default(),
        topic: "",
        number: &bike.number.value,
        stamp: &build.stamp,
        prepared_by: &bike.prepared_by,
    };
    let values = context! {
        linked_html => safe(of_article(setting, &article)),
        title => bike.title.as_str(),
        summary => bike.summary.as_deref(),
        number => bike.number.value.as_str(),
        revision => build.stamp.revision.as_str(),
        issued => build.stamp.issued.as_str(),
        prepared_by => bike.prepared_by.as_str(),
        approved_by => bike.approved_by.as_deref(),
        script_hrefs => working::script_hrefs(setting, &scripts),
        view_html => view.map(safe),
        parts => parts.collect::<Vec<_>>(),
        measured => build.measured.iter().map(|(name, text)| context! { name => name.as_str(), shown => setting.shown(text) }).collect::<Vec<_>>(),
        chain => build.chain.as_ref().map(|(links, pairs)| context! { links => links.as_str(), pairs => pairs.as_str() }),
        workings,
        development_html => sweep(&build.development, "development", "Development of each gear").transpose()?,
        speeds_html => sweep(&build.speeds, "speeds", "Gears against speed").transpose()?,
        gears => gears.collect::<Vec<_>>(),
        pressures => pressures.collect::<Vec<_>>(),
        torques => marked(&build.torques),
        wear => marked(&build.wear),
        pairing => pairing_values(&setting.units, &build.pairing),
        standing => cautions,
        revisions => revisions(&build.stamp),
        generated_note => generated_note(&bike.number.value, &build.stamp),
    };
    let sheet = setting.sheet("bike.html", path.clone(), &values, Goes::IntoBook)?;
    Ok(Sheet { pictures: body.pictures.into_inner(), scripts, ..sheet })
}
