//! The library as it lies on the bench: what was read, evaluated and set last, and what a save changes of it.
//!
//! A save is worked in two steps. `after_save` reads the files that changed, evaluates the pages that rest on them and sets
//! those, so that the page on the screen follows at once. `Whole` then makes the rest, in its own time: lists, the index of the
//! finding page, the edition's mark; a save in between overtakes it. A page without a fault of its own follows its file
//! even where another page holds the press.

use super::digests::{Digests, KeptUses};
use crate::diagnostic::{Diagnostic, Source, draw};
use crate::drawing::{BadDrawing, Drawings};
use crate::editions::fill_in;
use crate::editions::site::{Content, MetFault, Site, files_of, site};
use crate::evaluate::beside::Units;
use crate::evaluate::formulas::Formulas;
use crate::evaluate::unread::Unread;
use crate::evaluate::{Drafts, Worked, evaluate_pages, evaluate_whole};
use crate::fault::Severity;
use crate::library::files::FileProblem;
use crate::library::{Faults, Kept, Library, Read, in_file, read_again};
use crate::press::theme_fault;
use crate::setting::theme::{Theme, ThemeFault};
use crate::setting::{Scripts, Setting, Sheet, build_page, guide_page};
use rayon::prelude::*;
use std::collections::hash_map::DefaultHasher;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::hash::{Hash, Hasher};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use walkdir::WalkDir;

/// So many pages are set at once after a save; of more, those that are on a screen.
const MOST_SET: usize = 48;

/// What stands on the screen.
#[derive(Clone, Debug, Default)]
pub(super) struct Standing {
    /// The last whole site.
    pub(super) site: Arc<Site>,
    /// What was set since, over it; nothing for what is gone.
    laid: Arc<BTreeMap<String, Option<Content>>>,
    /// What stops the press now, as `proof` says it; empty where nothing does.
    pub(super) hold: String,
    /// Notes: what `proof` says besides.
    pub(super) notes: String,
}

impl Standing {
    /// The file at a path.
    pub(super) fn file(&self, path: &str) -> Option<&Content> {
        self.laid.get(path).map_or_else(|| self.site.files.get(path), Option::as_ref)
    }

    /// True before anything could be pressed.
    pub(super) fn is_empty(&self) -> bool {
        self.site.files.is_empty() && self.laid.is_empty()
    }
}

/// What a folder was read to, while the files in it are the same.
#[derive(Debug)]
struct Folder<T> {
    print: u64,
    read: Arc<T>,
}

type ReadTheme = Result<Theme, Vec<ThemeFault>>;

/// The bench.
#[derive(Debug)]
pub(super) struct Bench {
    root: PathBuf,
    width: usize,
    kept: Kept,
    uses: KeptUses,
    theme: Option<Folder<ReadTheme>>,
    drawings: Option<Folder<(Drawings, Vec<BadDrawing>)>>,
    /// The digits of each page as it was evaluated last; of one with something to say none, so that it is evaluated again.
    evaluated: HashMap<String, u64>,
    /// What was said of each page then.
    said: BTreeMap<String, Faults>,
    /// Faults of templates, by page.
    met: BTreeMap<String, MetFault>,
    /// Faults that only the whole site showed.
    of_whole: Vec<MetFault>,
    /// Files that could not be read whole: their pages stay as they were.
    unread: HashSet<String>,
    /// How often there was a save.
    pub(super) saves: u64,
    pub(super) standing: Standing,
}

/// A library as it was read at a save, for whoever makes the whole site of it.
#[derive(Clone)]
pub(super) struct Whole {
    read: Arc<Read>,
    theme: Arc<ReadTheme>,
    drawings: Arc<(Drawings, Vec<BadDrawing>)>,
    /// After which save.
    pub(super) save: u64,
}

impl Bench {
    pub(super) fn new(root: PathBuf, width: usize) -> Self {
        Self {
            root,
            width,
            kept: Kept::default(),
            uses: KeptUses::new(),
            theme: None,
            drawings: None,
            evaluated: HashMap::new(),
            said: BTreeMap::new(),
            met: BTreeMap::new(),
            of_whole: Vec::new(),
            unread: HashSet::new(),
            saves: 0,
            standing: Standing::default(),
        }
    }

    /// Works out what a save changed; `watched` says which pages are on a screen. Gives what the whole site is made from,
    /// where nothing stops it.
    pub(super) fn after_save(&mut self, watched: &dyn Fn(&str) -> bool) -> Option<Whole> {
        self.saves += 1;
        // Whether the whole site still shows them is seen when it is made again.
        self.of_whole.clear();
        match self.read() {
            Ok(whole) => self.work(whole, watched),
            Err(problem) => {
                self.standing.hold = format!("{problem}\n");
                None
            }
        }
    }

    fn read(&mut self) -> Result<Whole, FileProblem> {
        let read = Arc::new(read_again(&self.root, &mut self.kept)?);
        let print = print_of(&self.root.join("themes"));
        if self.theme.as_ref().is_none_or(|folder| folder.print != print) {
            self.theme = Some(Folder { print, read: Arc::new(Theme::of(&self.root)?) });
            // Every page may look otherwise now.
            self.evaluated.clear();
            self.met.clear();
            self.of_whole.clear();
        }
        let print = print_of(&self.root.join("diagrams"));
        if self.drawings.as_ref().is_none_or(|folder| folder.print != print) {
            self.drawings = Some(Folder { print, read: Arc::new(Drawings::of(&self.root)?) });
        }
        let theme = self.theme.as_ref().map(|folder| Arc::clone(&folder.read));
        let drawings = self.drawings.as_ref().map(|folder| Arc::clone(&folder.read));
        Ok(Whole {
            read,
            theme: theme.unwrap_or_else(|| Arc::new(Err(Vec::new()))),
            drawings: drawings.unwrap_or_default(),
            save: self.saves,
        })
    }

    fn work(&mut self, whole: Whole, watched: &dyn Fn(&str) -> bool) -> Option<Whole> {
        let mut faults = whole.read.faults.clone();
        let unread = faults.iter().filter(|one| one.fault.severity == Severity::Fault);
        self.unread = unread.map(|one| page_of(&one.file)).collect();
        let mut sources = whole.read.sources.clone();
        for bad in &whole.drawings.1 {
            faults.extend(in_file(&bad.source, bad.faults.clone()));
            sources.push(Arc::new(bad.source.clone()));
        }
        if let Some(library) = &whole.read.library {
            let mut of_whole = evaluate_whole(library, Drafts::Shown);
            Unread::of(&faults, &sources).leave_out(&mut of_whole);
            faults.extend(of_whole);
            self.follow(library, &whole, watched);
            let there: HashSet<&str> = self.uses.keys().map(String::as_str).collect();
            self.said.retain(|file, _| there.contains(file.as_str()));
        }
        let mut later: Faults = self.said.values().flatten().cloned().collect();
        Unread::of(&faults, &sources).leave_out(&mut later);
        faults.extend(later);
        let of_theme = match whole.theme.as_ref() {
            Ok(_) => Vec::new(),
            Err(faults) => {
                faults.iter().map(|fault| MetFault { fault: fault.clone(), met_on: String::new() }).collect()
            }
        };
        let mut told: Vec<&MetFault> = Vec::new();
        for met in of_theme.iter().chain(self.met.values()).chain(&self.of_whole) {
            if !told.iter().any(|known| known.fault == met.fault) {
                told.push(met);
            }
        }
        for met in told {
            let (source, fault) = theme_fault(met, &self.root);
            faults.push(Diagnostic { file: source.name.clone(), fault });
            sources.push(Arc::new(source));
        }
        self.tell(&mut faults, &sources);
        let is_held = faults.iter().any(|one| one.fault.severity == Severity::Fault);
        (!is_held).then_some(whole)
    }

    /// Evaluates and sets the pages that rest on what changed.
    fn follow(&mut self, library: &Library, whole: &Whole, watched: &dyn Fn(&str) -> bool) {
        let drawings = self.drawings.as_ref().map_or(0, |folder| folder.print);
        let digests = Digests::of(library, &self.root, &whole.read.sources, drawings);
        let now = digests.pages(&mut self.uses);
        self.uses.retain(|file, _| now.contains_key(file));
        let stale: HashSet<&str> = now
            .iter()
            .filter(|(file, digits)| self.evaluated.get(*file) != Some(digits))
            .map(|(file, _)| file.as_str())
            .collect();
        let wanted = |file: &str| stale.contains(file);
        let formulas = Formulas::of_pages(library, &wanted);
        let (worked, found) = evaluate_pages(library, &formulas, &whole.drawings.0, Drafts::Shown, &wanted);
        for file in &stale {
            self.said.remove(*file);
            self.evaluated.insert((*file).to_owned(), now[*file]);
        }
        for one in found {
            // What its words depend on is not known, so it is evaluated again at every save.
            self.evaluated.remove(&one.file);
            self.said.entry(one.file.clone()).or_default().push(one);
        }
        self.evaluated.retain(|file, _| now.contains_key(file));
        if let Ok(theme) = whole.theme.as_ref() {
            let setting = setting(library, theme, &whole.drawings.0);
            self.set(&setting, &worked, watched);
        }
        self.take_away(library);
    }

    fn set(&mut self, setting: &Setting<'_>, worked: &Worked<'_>, watched: &dyn Fn(&str) -> bool) {
        let few = worked.guides.len() + worked.builds.len() + worked.charts.len() <= MOST_SET;
        let first = self.standing.site.files.is_empty();
        let is_wanted = |page: &str| !first && (few || watched(page));
        // A page that is not set here may be sound now: the whole site tells.
        let pages = worked.guides.iter().map(|one| one.guide.page.clone());
        for page in pages.chain(worked.builds.iter().map(|one| one.bike.page())) {
            self.met.remove(&page);
        }
        let guides: Vec<_> = worked.guides.iter().filter(|one| is_wanted(&one.guide.page)).collect();
        let mut sheets: Vec<(String, String, Result<Sheet, ThemeFault>)> = guides
            .par_iter()
            .map(|one| (one.guide.page.clone(), one.guide.number.value.clone(), guide_page(setting, one)))
            .collect();
        for one in worked.builds.iter().filter(|one| is_wanted(&one.bike.page())) {
            sheets.push((one.bike.page(), one.bike.number.value.clone(), build_page(setting, one)));
        }
        // A chart names the sheets that it leads to, which are not all evaluated here: the whole site sets it.
        let laid = Arc::make_mut(&mut self.standing.laid);
        for (page, number, sheet) in sheets {
            match sheet {
                Ok(sheet) => {
                    for (path, mut content) in files_of(sheet) {
                        if let Content::Bytes(bytes) = &mut content
                            && is_html(&path)
                        {
                            *bytes = fill_in(&String::from_utf8_lossy(bytes), &self.standing.site.edition).into_bytes();
                        }
                        laid.insert(path, Some(content));
                    }
                }
                Err(fault) => {
                    self.met.insert(page, MetFault { fault, met_on: number });
                }
            }
        }
    }

    /// Pages whose files are gone are gone.
    fn take_away(&mut self, library: &Library) {
        let guides = library.guides.iter().map(|guide| guide.page.clone());
        let pages: HashSet<String> = guides
            .chain(library.bikes.iter().map(crate::library::bike::BuildSheet::page))
            .chain(library.charts.iter().map(|chart| chart.page.clone()))
            .collect();
        let is_page = |path: &str| {
            let folder = path.split('/').next().unwrap_or_default();
            ["guides", "replies", "bikes", "faults"].contains(&folder) && is_html(path)
        };
        let moved: HashSet<String> = library
            .guides
            .iter()
            .flat_map(|guide| &guide.formerly)
            .map(|former| format!("{}.html", former.value))
            .collect();
        self.met.retain(|page, _| pages.contains(page));
        let site = Arc::clone(&self.standing.site);
        let laid = Arc::make_mut(&mut self.standing.laid);
        let unread = &self.unread;
        for path in site.files.keys().filter(|path| is_page(path)) {
            if !pages.contains(path) && !moved.contains(path) && !unread.contains(path) {
                laid.insert(path.clone(), None);
            }
        }
        laid.retain(|path, content| {
            content.is_none() || !is_page(path) || pages.contains(path) || unread.contains(path)
        });
    }

    /// Sorts what is to be said as the files stand, and puts it into words.
    fn tell(&mut self, faults: &mut Faults, sources: &[Arc<Source>]) {
        let places: HashMap<&str, usize> =
            sources.iter().enumerate().map(|(place, source)| (source.name.as_str(), place)).collect();
        faults.sort_by_key(|one| (places.get(one.file.as_str()).copied(), one.fault.span));
        let none = Source::default();
        let source = |name: &str| places.get(name).map_or(&none, |place| sources[*place].as_ref());
        let said: String = faults.iter().map(|one| draw(&one.fault, source(&one.file), self.width)).collect();
        let is_held = faults.iter().any(|one| one.fault.severity == Severity::Fault);
        let (hold, notes) = if is_held { (said, String::new()) } else { (String::new(), said) };
        self.standing.hold = hold;
        self.standing.notes = notes;
    }

    /// Puts a whole site in place of the last one, where no save came in between.
    pub(super) fn take_whole(&mut self, save: u64, made: Result<Site, Vec<MetFault>>) -> bool {
        if save != self.saves {
            return false;
        }
        match made {
            Ok(site) => {
                self.standing.site = Arc::new(site);
                self.standing.laid = Arc::default();
                self.of_whole.clear();
            }
            Err(faults) => {
                let mut said = Faults::new();
                let mut sources = Vec::new();
                for met in &faults {
                    let (source, fault) = theme_fault(met, &self.root);
                    said.push(Diagnostic { file: source.name.clone(), fault });
                    sources.push(Arc::new(source));
                }
                self.of_whole = faults;
                self.tell(&mut said, &sources);
            }
        }
        true
    }
}

impl Whole {
    /// Makes the whole site; nothing where `is_overtaken` says so meanwhile, or something stops it after all.
    pub(super) fn make(&self, is_overtaken: &(dyn Fn() -> bool + Sync)) -> Option<Result<Site, Vec<MetFault>>> {
        let (Some(library), Ok(theme)) = (&self.read.library, self.theme.as_ref()) else { return None };
        let formulas = Formulas::of(library);
        let (worked, _) = evaluate_pages(library, &formulas, &self.drawings.0, Drafts::Shown, &|_| !is_overtaken());
        if is_overtaken() {
            return None;
        }
        Some(site(&setting(library, theme, &self.drawings.0), &worked, &library.formulas))
    }
}

fn setting<'a>(library: &'a Library, theme: &'a Theme, drawings: &'a Drawings) -> Setting<'a> {
    Setting {
        shop: &library.shop,
        theme,
        drawings,
        units: Units::of(&library.shop),
        scripts: Scripts::default(),
        editions: &library.shop.editions,
        register: &library.register,
    }
}

fn is_html(path: &str) -> bool {
    path.strip_suffix(".html").is_some()
}

/// Where the page of a file stands.
fn page_of(file: &str) -> String {
    let path = file.strip_prefix("content/").unwrap_or(file);
    let stem = path.strip_suffix(".md").or_else(|| path.strip_suffix(".yaml")).unwrap_or(path);
    format!("{stem}.html")
}

/// Digits of the names, lengths and times of all files of a folder.
fn print_of(folder: &Path) -> u64 {
    let mut hasher = DefaultHasher::new();
    for entry in WalkDir::new(folder).sort_by_file_name().into_iter().flatten() {
        if let Ok(about) = entry.metadata() {
            (entry.path(), about.len(), about.modified().ok()).hash(&mut hasher);
        }
    }
    hasher.finish()
}
