//! The site: every sheet as a page that opens from the disk, with redirects from former addresses.
//!
//! Worked guides and setting in, files by path out; nothing is written here. Links are relative to the page.

use super::gather::{Gathered, Mark};
use super::hosted::{self, Issued};
use super::{EDITION, TakeAway, resolve_links};
use crate::evaluate::{Worked, WorkedGuide};
use crate::library::formula::OwnFormula;
use crate::register::Register;
use crate::setting::theme::ThemeFault;
use crate::setting::{
    Picture, Script, Setting, Sheet, Shows, build_page, chapters, chart_page, find_page, finder, front_page,
    guide_page, handbook_page, items_page, missing_page, moved_page, topic_pages,
};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What a file of the site holds.
#[derive(Clone, Debug)]
pub enum Content {
    /// These bytes.
    Bytes(Vec<u8>),
    /// A picture, to be made when it is written.
    Picture(Shows),
}

/// A site in memory.
#[derive(Clone, Debug, Default)]
pub struct Site {
    /// The files by path, with forward slashes.
    pub files: BTreeMap<String, Content>,
    /// The files of other editions, which are made from those.
    pub away: Vec<TakeAway>,
    /// The mark of this edition: the latest date of issue and digits of the content's hash.
    pub edition: String,
}

/// A fault of a template, and where it was met.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MetFault {
    /// What is wrong.
    pub fault: ThemeFault,
    /// The sheet's number; empty where it was the front page, or no sheet at all.
    pub met_on: String,
}

/// Sets every page and puts the site together.
///
/// # Errors
/// The faults of the theme and of drawings' templates, each once, with the first sheet on which it was met.
pub fn site(setting: &Setting<'_>, worked: &Worked<'_>, own: &[OwnFormula]) -> Result<Site, Vec<MetFault>> {
    let guides: &[WorkedGuide<'_>] = &worked.guides;
    let mut faults: Vec<MetFault> = Vec::new();
    let mut files: BTreeMap<String, Content> = BTreeMap::new();
    let mut gathered = Gathered::default();
    let mut take = |sheet: Result<Sheet, ThemeFault>, met_on: &str| match sheet {
        Ok(sheet) => add(&mut files, &mut gathered, sheet),
        Err(fault) if faults.iter().any(|met| met.fault == fault) => {}
        Err(fault) => faults.push(MetFault { fault, met_on: met_on.to_owned() }),
    };
    let sheets: Vec<_> = guides.par_iter().map(|guide| guide_page(setting, guide).map(placed)).collect();
    for (guide, sheet) in guides.iter().zip(sheets) {
        take(sheet, &guide.guide.number.value);
        for former in &guide.guide.formerly {
            take(moved_page(setting, guide, &format!("{}.html", former.value)).map(placed), &guide.guide.number.value);
        }
    }
    let sheets: Vec<_> = worked.builds.par_iter().map(|build| build_page(setting, build).map(placed)).collect();
    for (build, sheet) in worked.builds.iter().zip(sheets) {
        take(sheet, &build.bike.number.value);
    }
    let sheets: Vec<_> = worked.charts.par_iter().map(|chart| chart_page(setting, chart, worked).map(placed)).collect();
    for (chart, sheet) in worked.charts.iter().zip(sheets) {
        take(sheet, &chart.chart.number.value);
    }
    let chapters = chapters(setting, own);
    for chapter in &chapters {
        take(handbook_page(setting, chapter).map(placed), "");
    }
    for sheet in topic_pages(setting, worked, &chapters) {
        take(sheet.map(placed), "");
    }
    take(items_page(setting, worked).map(placed), "");
    take(front_page(setting, worked, &chapters, EDITION).map(placed), "");
    take(missing_page(setting, worked).map(placed), "");
    let finder = finder(worked, &chapters);
    take(find_page(setting, worked, &finder).map(placed), "");
    files.insert(finder.path, Content::Bytes(finder.text.into_bytes()));
    for (path, bytes) in &setting.theme.files {
        files.insert(path.clone(), Content::Bytes(bytes.to_vec()));
    }
    let issued = issued(worked, setting.register);
    hosted::add(&mut files, setting, &issued, worked);
    let latest = if issued.latest.is_empty() { "unissued" } else { &issued.latest };
    let edition = format!("{latest}-{}", digits(&files));
    hosted::mark(&mut files, &edition);
    let paths = files.keys().cloned().collect();
    let mark = Mark { issued: &issued.latest, edition: &edition };
    match gathered.editions(setting, worked, &chapters, mark, paths) {
        Ok(away) if faults.is_empty() => Ok(Site { files, away, edition }),
        Ok(_) => Err(faults),
        Err(fault) => {
            faults.push(MetFault { fault, met_on: String::new() });
            Err(faults)
        }
    }
}

/// When each page was issued, and which only lead on.
fn issued(worked: &Worked<'_>, register: &Register) -> Issued {
    let guides = worked.guides.iter().map(|guide| (guide.guide.page.clone(), guide.stamp.issued.clone()));
    let builds = worked.builds.iter().map(|build| (build.bike.page(), build.stamp.issued.clone()));
    let charts = worked.charts.iter().map(|chart| (chart.chart.page.clone(), chart.stamp.issued.clone()));
    let dates: BTreeMap<String, String> = guides.chain(builds).chain(charts).collect();
    let formerly = worked.guides.iter().flat_map(|guide| &guide.guide.formerly);
    Issued {
        latest: dates.values().map(String::as_str).chain([register.latest()]).max().unwrap_or_default().to_owned(),
        moved: formerly.map(|former| format!("{}.html", former.value)).collect(),
        dates,
    }
}

/// Digits of the hash of all that the site holds, the mark itself left open in it.
fn digits(files: &BTreeMap<String, Content>) -> String {
    let mut hasher = blake3::Hasher::new();
    for (path, content) in files {
        hasher.update(path.as_bytes()).update(&[0]);
        match content {
            Content::Bytes(bytes) => hasher.update(bytes),
            Content::Picture(Shows::Drawing(svg, _)) => hasher.update(svg.as_bytes()),
            // Its path holds digits of its hash.
            Content::Picture(Shows::Plate(_) | Shows::Preview(_) | Shows::Photo { .. }) => &mut hasher,
        };
    }
    hasher.finalize().to_hex()[..8].to_owned()
}

/// The files that a sheet brings into the site: its page, scripts and pictures.
#[must_use]
pub fn files_of(sheet: Sheet) -> BTreeMap<String, Content> {
    let mut files = BTreeMap::new();
    add(&mut files, &mut Gathered::default(), placed(sheet));
    files
}

/// A sheet whose links lead from its own place in the site.
fn placed(sheet: Sheet) -> Sheet {
    let up = "../".repeat(sheet.path.matches('/').count());
    Sheet { html: resolve_links(&sheet.html, |address| format!("{up}{address}")), ..sheet }
}

fn add(files: &mut BTreeMap<String, Content>, gathered: &mut Gathered, mut sheet: Sheet) {
    gathered.take(&mut sheet);
    files.insert(sheet.path, Content::Bytes(sheet.html.into_bytes()));
    for Script { path, text, .. } in sheet.scripts {
        files.entry(path).or_insert_with(|| Content::Bytes(text.as_bytes().to_vec()));
    }
    for Picture { path, shows } in sheet.pictures {
        // The first page that shows a photo is the one that is told if it can't be made.
        files.entry(path).or_insert(Content::Picture(shows));
    }
}
