//! The editions that are taken away, put together from the sheets while the site is: which sheets, in which order.
//!
//! Markup is set before and made into files later, once the site is written; here is said what goes where.

use super::book::{Book, Page};
use super::package::{About, CONTENTS, COVER_PAGE};
use super::single::{self, Others, Single};
use super::zip::{Zip, folder_of};
use super::{TakeAway, fill_in};
use crate::evaluate::figure::plain;
use crate::evaluate::{Worked, WorkedGuide};
use crate::library::guide::TOPICS;
use crate::library::shop::Edition;
use crate::setting::book::{Group, Line, contents_page, cover_page, cover_picture};
use crate::setting::theme::ThemeFault;
use crate::setting::{Chapter, Setting, Sheet, Shows, topic_title};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// What marks what was pressed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark<'a> {
    /// The latest date of issue; empty where nothing is issued.
    pub(super) issued: &'a str,
    /// The whole mark.
    pub(super) edition: &'a str,
}

/// Markup of sheets in the forms that are taken away, by their pages.
#[derive(Default)]
pub(super) struct Gathered {
    alone: Vec<(String, String)>,
    in_book: HashMap<String, String>,
    photos: BTreeSet<String>,
}

impl Gathered {
    /// Takes what a sheet has for other editions.
    pub(super) fn take(&mut self, sheet: &mut Sheet) {
        self.alone.extend(sheet.alone.take().map(|markup| (sheet.path.clone(), markup)));
        if let Some(markup) = sheet.in_book.take() {
            self.in_book.insert(sheet.path.clone(), markup);
            // The book has each photo once, at its full width.
            let is_whole = |shows: &Shows| matches!(shows, Shows::Photo { photo, width, .. } if *width == photo.width);
            let photos = sheet.pictures.iter().filter(|picture| is_whole(&picture.shows));
            self.photos.extend(photos.map(|photo| photo.path.clone()));
        }
    }

    /// The files of the editions that the shop wants, the longest work first; `files` are those of the site.
    pub(super) fn editions(
        self,
        setting: &Setting<'_>,
        worked: &Worked<'_>,
        chapters: &[Chapter],
        mark: Mark<'_>,
        files: Vec<String>,
    ) -> Result<Vec<TakeAway>, ThemeFault> {
        let Self { mut alone, mut in_book, photos } = self;
        for markup in alone.iter_mut().map(|(_, markup)| markup).chain(in_book.values_mut()) {
            *markup = fill_in(markup, mark.edition);
        }
        let mut away = Vec::new();
        if setting.makes(Edition::Book) {
            let groups = groups(worked, chapters);
            away.push(TakeAway::Book(Box::new(book(setting, worked, mark, &groups, in_book, photos)?)));
        }
        if setting.makes(Edition::Zip) {
            let (folder, site) = (folder_of(&setting.shop.name), setting.shop.site.clone());
            away.push(TakeAway::Zip(Zip { folder, site, files }));
        }
        let others = Arc::new(others(setting, worked));
        let single = |(page, markup): (String, String)| {
            let path = others.numbers.get(&page).map(|number| single::path(number))?;
            Some(TakeAway::Sheet(Single { path, markup, others: Arc::clone(&others) }))
        };
        away.extend(alone.into_iter().filter_map(single));
        Ok(away)
    }
}

fn others(setting: &Setting<'_>, worked: &Worked<'_>) -> Others {
    let guides = worked.guides.iter().map(|guide| (guide.guide.page.clone(), guide.guide.number.value.clone()));
    let builds = worked.builds.iter().map(|build| (build.bike.page(), build.bike.number.value.clone()));
    let charts = worked.charts.iter().map(|chart| (chart.chart.page.clone(), chart.chart.number.value.clone()));
    Others { site: setting.shop.site.clone(), numbers: guides.chain(builds).chain(charts).collect() }
}

/// The sheets of the book in their order: fault-finding charts, topics with their guides and replies, other replies, build sheets, the handbook.
fn groups(worked: &Worked<'_>, chapters: &[Chapter]) -> Vec<Group> {
    let of_topic = |topic: &str| {
        let sheets = worked.guides.iter().filter(|guide| guide.guide.topic.value == topic);
        let mut lines: Vec<Line> = sheets.map(line).collect();
        lines.sort_by(|one, other| one.number.cmp(&other.number));
        lines
    };
    let charts = worked.charts.iter().map(|chart| Line {
        number: chart.chart.number.value.clone(),
        title: plain(&chart.title),
        page: chart.chart.page.clone(),
    });
    let mut charts: Vec<Line> = charts.collect();
    charts.sort_by(|one, other| one.number.cmp(&other.number));
    let mut groups = vec![Group { title: "Fault finding".to_owned(), lines: charts }];
    for (topic, title) in TOPICS {
        groups.push(Group { title: (*title).to_owned(), lines: of_topic(topic) });
    }
    groups.push(Group { title: "Replies".to_owned(), lines: of_topic("") });
    let mut builds: Vec<Line> = worked
        .builds
        .iter()
        .map(|build| Line {
            number: build.bike.number.value.clone(),
            title: build.bike.title.clone(),
            page: build.bike.page(),
        })
        .collect();
    builds.sort_by(|one, other| one.number.cmp(&other.number));
    groups.push(Group { title: "Build sheets".to_owned(), lines: builds });
    let chapters = chapters.iter().map(|chapter| Line {
        number: String::new(),
        title: topic_title(chapter.topic).to_owned(),
        page: chapter.path.clone(),
    });
    groups.push(Group { title: "Handbook".to_owned(), lines: chapters.collect() });
    groups.retain(|group| !group.lines.is_empty());
    groups
}

fn line(guide: &WorkedGuide<'_>) -> Line {
    Line { number: guide.guide.number.value.clone(), title: plain(&guide.title), page: guide.guide.page.clone() }
}

fn book(
    setting: &Setting<'_>,
    worked: &Worked<'_>,
    mark: Mark<'_>,
    groups: &[Group],
    mut markup: HashMap<String, String>,
    photos: BTreeSet<String>,
) -> Result<Book, ThemeFault> {
    let (shop, theme) = (setting.shop, setting.theme);
    let mut pages = vec![
        Page { path: COVER_PAGE.to_owned(), markup: cover_page(setting)? },
        Page { path: CONTENTS.to_owned(), markup: contents_page(setting, groups)? },
    ];
    let sheets = groups.iter().flat_map(|group| &group.lines).map(|line| line.page.as_str());
    for path in std::iter::once("index.html").chain(sheets) {
        // Each sheet is set once, and is in one place of the book.
        pages.extend(markup.remove(path).map(|markup| Page { path: path.to_owned(), markup }));
    }
    // The edition's mark knows the site; what the book alone has makes another book too.
    let mut content = blake3::Hasher::new();
    content.update(theme.book_style.as_bytes());
    for page in &pages {
        content.update(page.path.as_bytes()).update(page.markup.as_bytes());
    }
    let licences = theme.files.iter().map(|(path, _)| path).filter(|path| path.contains("/LICENSE"));
    Ok(Book {
        about: About {
            title: format!("Service guides of {}", shop.name_and_place()),
            publisher: shop.name.clone(),
            description: format!(
                "Service guides, replies, build sheets and formulas of {}, edition {}.",
                shop.name_and_place(),
                mark.edition
            ),
            language: shop.language.clone(),
            site: shop.site.clone(),
            issued: mark.issued.to_owned(),
            edition: mark.edition.to_owned(),
            digits: content.finalize().to_hex()[..16].to_owned(),
        },
        pages,
        photos: photos.into_iter().collect(),
        cover: (cover_picture(setting, worked, mark.edition)?, Arc::clone(&theme.inks)),
        stylesheet: (theme.book_stylesheet.clone(), theme.book_style.clone()),
        site_stylesheet: theme.stylesheet.clone(),
        licences: licences.cloned().collect(),
    })
}
