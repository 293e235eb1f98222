//! The starter library with every measured value at both ends of its tolerance: whatever a sheet would then advise
//! otherwise, the sheet as it is pressed says that it may.
//!
//! The files are written anew with `408 mm` and `412 mm` where they say `410 mm ± 2 mm`, one value of a page at a time, and
//! evaluated; nothing of the engine's own bounds is used for that. Advice is what somebody acts on as a whole: a count of
//! teeth, links or turns, a limit that speaks, a verdict on parts. Run with `--nocapture`, it lists what changes. Claims are
//! taken out first: they are made for the stated numbers.

use crate::folder::Folder;
use locknut::drawing::Drawings;
use locknut::editions::site::Content;
use locknut::evaluate::formulas::Formulas;
use locknut::evaluate::{Drafts, Worked, WorkedPiece, evaluate};
use locknut::library::{self, Kept};
use locknut::press;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// One value with its tolerance, as it stands in a file.
#[derive(Clone, Debug)]
struct Measured {
    /// Where it stands in the text.
    place: std::ops::Range<usize>,
    /// The lower and the upper end, as a value without a tolerance.
    ends: [String; 2],
}

/// Every value with a tolerance that a file gives: `A unit ± B unit`, and of a stated figure also `A to B unit`. Of a page
/// only what stands in its blocks, not what it shows in code. What can't be read fails the test.
fn measured(path: &Path, text: &str) -> Vec<Measured> {
    let is_page = path.extension().is_some_and(|ending| ending == "md");
    let (mut all, mut begins, mut fence) = (Vec::new(), 0, None);
    for line in text.split_inclusive('\n') {
        let ticks = line.len() - line.trim_start_matches('`').len();
        let is_fence = ticks >= 3 && fence.as_ref().is_none_or(|(opened, _)| *opened <= ticks);
        if is_page && is_fence {
            let word = line[ticks..].trim().to_owned();
            fence = if fence.is_none() { Some((ticks, word)) } else { None };
        }
        let is_block = fence.as_ref().is_some_and(|(_, word)| word == "working" || word == "sweep");
        if !is_page && !line.trim_start().starts_with('#') || is_page && is_block {
            for (at, sign) in line.match_indices('±') {
                let one = with_tolerance(line, at, sign.len());
                let Measured { place, ends } =
                    one.unwrap_or_else(|| panic!("{}: this tolerance can't be read: {line}", path.display()));
                all.push(Measured { place: begins + place.start..begins + place.end, ends });
            }
            if let Some(range) = line.split_once("value: ").map(|(before, rest)| (before.len() + "value: ".len(), rest))
                && let Some((place, ends)) = stated_range(range.1)
            {
                all.push(Measured { place: begins + range.0 + place.start..begins + range.0 + place.end, ends });
            }
        }
        begins += line.len();
    }
    all
}

/// The value round the sign at a place of a line.
fn with_tolerance(line: &str, at: usize, sign: usize) -> Option<Measured> {
    let before = &line[..at];
    let begins = before.rfind([':', ',', '{', '[', '"']).map_or(0, |place| place + 1);
    let begins = begins + (before[begins..].len() - before[begins..].trim_start().len());
    let after = &line[at + sign..];
    let ends = after.find([',', '}', ']', '"', '\n', '#']).unwrap_or(after.len());
    let ends = after[..ends].trim_end().len();
    let (number, unit) = parted(line[begins..at].trim_end())?;
    let (tolerance, own) = parted(after[..ends].trim())?;
    // A tolerance in per cent of another unit, or a number without its unit before the sign.
    let is_share = own.trim() == "%" && unit.trim() != "%" && !unit.is_empty();
    let tolerance = if is_share { number * tolerance / 100.0 } else { tolerance };
    let unit = if unit.is_empty() { own } else { unit };
    let end = |way: f64| {
        let number = format!("{:.6}", number + way * tolerance);
        format!("{}{unit}", number.trim_end_matches('0').trim_end_matches('.'))
    };
    Some(Measured { place: begins..at + sign + ends, ends: [end(-1.0), end(1.0)] })
}

/// The ends of `8 to 10 N·m`, where a stated figure begins so.
fn stated_range(text: &str) -> Option<(std::ops::Range<usize>, [String; 2])> {
    let ends = text.find([',', '}', '\n', '#']).unwrap_or(text.len());
    let (low, high) = text[..ends].trim_end().split_once(" to ")?;
    let (low, (number, unit)) = (parted(low)?.0, parted(high)?);
    Some((0..text[..ends].trim_end().len(), [format!("{low}{unit}"), format!("{number}{unit}")]))
}

/// A number and what stands behind it, or nothing where no number stands there.
fn parted(text: &str) -> Option<(f64, String)> {
    let text = text.strip_prefix('-').map_or_else(|| text.to_owned(), |rest| format!("-{}", rest.trim_start()));
    let ends = text.find(|c: char| !c.is_ascii_digit() && c != '.' && c != '-').unwrap_or(text.len());
    Some((text[..ends].parse().ok()?, text[ends..].to_owned()))
}

/// What a sheet advises: by name, a whole figure or a limit that speaks.
type Advice = BTreeMap<String, String>;

/// The advice of every page, by file; faults are among it.
fn advice(root: &Path, kept: &mut Kept) -> BTreeMap<String, Advice> {
    let read = library::read_again(root, kept).expect("the library");
    let library = read.library.expect("a library without faults of form");
    let (drawings, _) = Drawings::of(root).expect("the drawings");
    let formulas = Formulas::of(&library);
    let (worked, faults) = evaluate(&library, &formulas, &drawings, Drafts::LeftOut);
    let mut all = of_worked(&worked);
    for one in faults.iter().filter(|one| one.fault.severity == locknut::fault::Severity::Fault) {
        let name = format!("{} {}", one.fault.id, one.fault.message);
        all.entry(one.file.clone()).or_default().insert(name, "is a fault".to_owned());
    }
    all
}

fn of_worked(worked: &Worked<'_>) -> BTreeMap<String, Advice> {
    let mut all: BTreeMap<String, Advice> = BTreeMap::new();
    let guides = worked.guides.iter().map(|guide| (&guide.guide.source.name, &guide.workings));
    let builds = worked.builds.iter().map(|build| (&build.bike.source.name, &build.workings));
    for guide in &worked.guides {
        let advice = all.entry(guide.guide.source.name.clone()).or_default();
        let pieces = guide.operations.iter().flat_map(|one| &one.body).chain(&guide.lead);
        let pairings = pieces.filter_map(|piece| match piece {
            WorkedPiece::Pairing(pairing) => Some(&pairing.told),
            _ => None,
        });
        for (place, told) in pairings.enumerate() {
            advice.insert(format!("pairing {}", place + 1), told.verdict.words().to_owned());
        }
    }
    for (file, workings) in guides.chain(builds) {
        let advice = all.entry(file.clone()).or_default();
        for page in workings {
            let formula = page.working.formula;
            for output in formula
                .outputs
                .iter()
                .filter(|output| output.style.kind.name == "count" && output.style.decimals == Some(0))
            {
                let text = page.working.text(output).unwrap_or_default();
                advice.insert(format!("{}.{}", page.name, output.name), text.replace('\u{A0}', " "));
            }
            for spoken in page.working.spoken.iter().filter(|spoken| spoken.stated) {
                advice.insert(format!("{} limit {}", page.name, spoken.limit.name), "speaks".to_owned());
            }
        }
    }
    all
}

/// What the pressed sheets say that their tolerances may change: by file, names of figures with all their texts, and limits.
fn said(root: &Path) -> BTreeMap<String, BTreeMap<String, String>> {
    let read = library::read(root).expect("the library");
    let library = read.library.expect("a library");
    let (drawings, _) = Drawings::of(root).expect("the drawings");
    let formulas = Formulas::of(&library);
    let (worked, faults) = evaluate(&library, &formulas, &drawings, Drafts::LeftOut);
    assert!(faults.iter().all(|one| one.fault.severity != locknut::fault::Severity::Fault), "{:?}", faults.first());
    let mut all: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    let guides = worked.guides.iter().map(|guide| (&guide.guide.source.name, &guide.workings));
    let builds = worked.builds.iter().map(|build| (&build.bike.source.name, &build.workings));
    for (file, workings) in guides.chain(builds) {
        let says = all.entry(file.clone()).or_default();
        for page in workings {
            for output in &page.working.formula.outputs {
                if let Some(spread) = page.working.spread_text(output) {
                    let spread = spread.replace('\u{A0}', " ");
                    says.insert(format!("{}.{}", page.name, output.name), spread);
                }
            }
            for spoken in page.working.spoken.iter().filter(|spoken| !spoken.stated || spoken.open) {
                // As the sheet has to print it; a message has no figure with a second unit beside it here.
                let message = spoken.limit.message.replace('\u{A0}', " ");
                let words = if spoken.stated {
                    format!("{message} (In one part of the tolerances only.)")
                } else {
                    format!("May apply within the tolerance: {message}")
                };
                says.insert(format!("{} limit {}", page.name, spoken.limit.name), words);
            }
        }
    }
    all
}

/// The starter library without its claims.
fn starter() -> Folder {
    let folder = Folder::starter("tolerances");
    for path in files(&folder.0.join("content")) {
        let text = fs::read_to_string(&path).expect("text");
        if text.contains("\nclaim:") {
            fs::write(&path, without_claims(&text)).expect("a file");
        }
    }
    folder
}

/// A page without the claims of its blocks, each with the lines that are set in under it.
fn without_claims(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut is_claim = false;
    for line in text.split_inclusive('\n') {
        is_claim = line.starts_with("claim:") || is_claim && line.starts_with([' ', '\t']);
        if !is_claim {
            out.push_str(line);
        }
    }
    out
}

/// Every file of a folder that may hold a measured value.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut all = Vec::new();
    for path in fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()) {
        if path.is_dir() {
            all.extend(files(&path));
        } else if path.extension().is_some_and(|ending| ending == "md" || ending == "yaml") {
            all.push(path);
        }
    }
    all.sort();
    all
}

#[test]
fn what_a_tolerance_changes_is_said_on_the_sheet() {
    let folder = starter();
    let said = said(&folder.0);
    let mut kept = Kept::default();
    let stated = advice(&folder.0, &mut kept);
    let files = files(&folder.0.join("content")).into_iter().filter(|path| !path.ends_with("register.yaml"));
    let texts: Vec<(PathBuf, String)> =
        files.map(|path| (path.clone(), fs::read_to_string(&path).expect("text"))).collect();
    let all: Vec<(&PathBuf, &String, Vec<Measured>)> = texts
        .iter()
        .map(|(path, text)| (path, text, measured(path, text)))
        .filter(|(.., all)| !all.is_empty())
        .collect();
    let values: usize = all.iter().map(|(.., values)| values.len()).sum();
    let most = all.iter().map(|(.., values)| values.len()).max().unwrap_or_default();
    assert!(values > 50, "the library measures its values, {values} here");
    let (mut changes, mut silent, mut changed) = (0, Vec::new(), BTreeSet::new());
    // What pages share moves every page that reads it, so it is moved file by file; pages are moved side by side.
    let is_shared = |path: &Path| {
        !path
            .strip_prefix(&folder.0)
            .is_ok_and(|path| path.starts_with("content/guides") || path.starts_with("content/replies"))
    };
    let mut turns: Vec<Vec<(usize, usize)>> = Vec::new();
    for (place, (path, _, values)) in all.iter().enumerate() {
        if is_shared(path) {
            turns.extend((0..values.len()).map(|value| vec![(place, value)]));
        }
    }
    for value in 0..most {
        let of_pages = all.iter().enumerate().filter(|(_, (path, _, values))| !is_shared(path) && values.len() > value);
        let turn: Vec<(usize, usize)> = of_pages.map(|(place, _)| (place, value)).collect();
        if !turn.is_empty() {
            turns.push(turn);
        }
    }
    for turn in &turns {
        for way in [0, 1] {
            for (place, value) in turn {
                let (path, text, values) = &all[*place];
                let one = &values[*value];
                let moved = format!("{}{}{}", &text[..one.place.start], one.ends[way], &text[one.place.end..]);
                fs::write(path, moved).expect("a value moved");
            }
            for (file, advice) in advice(&folder.0, &mut kept) {
                let before = stated.get(&file).cloned().unwrap_or_default();
                let names: BTreeSet<&String> = advice.keys().chain(before.keys()).collect();
                for name in names.into_iter().filter(|name| advice.get(*name) != before.get(*name)) {
                    let (was, is) = (before.get(name), advice.get(name));
                    let moved: Vec<String> = turn
                        .iter()
                        .filter(|(place, _)| is_shared(all[*place].0) || all[*place].0.ends_with(&file))
                        .map(|(place, value)| all[*place].2[*value].ends[way].clone())
                        .collect();
                    let word = |advice: Option<&String>| advice.cloned().unwrap_or_else(|| "silent".to_owned());
                    let line = format!("{file}: {name}: {} becomes {} at {}", word(was), word(is), moved.join(", "));
                    println!("{line}");
                    changes += 1;
                    changed.insert((file.clone(), name.clone()));
                    if !tells(said.get(&file), name, is) {
                        silent.push(line);
                    }
                }
            }
            for (place, _) in turn {
                fs::write(all[*place].0, all[*place].1).expect("the value back");
            }
        }
    }
    silent.extend(not_printed(&folder.0, &said, &changed));
    println!("{values} values at both ends: {changes} changes of advice, {} figures and limits", changed.len());
    assert!(changes > 0, "somewhere a tolerance matters");
    assert!(silent.is_empty(), "sheets that don't say what their tolerances may change:\n{}", silent.join("\n"));
}

/// What the pressed sheets don't print of the changes that they have to tell.
fn not_printed(
    root: &Path,
    said: &BTreeMap<String, BTreeMap<String, String>>,
    changed: &BTreeSet<(String, String)>,
) -> Vec<String> {
    let proof = press::proof(root, Drafts::LeftOut, None).expect("the library");
    assert!(!proof.has_faults(), "{:?}", proof.faults.first());
    let mut missing = Vec::new();
    for (file, name) in changed {
        let page = file.trim_start_matches("content/").replace(".md", ".html").replace(".yaml", ".html");
        let Some(Content::Bytes(html)) = proof.site.files.get(&page) else {
            missing.push(format!("{page} is not pressed"));
            continue;
        };
        let html = String::from_utf8_lossy(html).replace('\u{A0}', " ");
        let words = said.get(file).and_then(|says| says.get(name)).map_or("", String::as_str);
        let is_printed = !words.is_empty() && html.contains(words);
        if !is_printed {
            missing.push(format!("{page} does not print {name}: {words}"));
        }
    }
    missing
}

/// True where a sheet's own words hold the change: a limit that it says may apply, or a whole figure with both its texts.
fn tells(says: Option<&BTreeMap<String, String>>, name: &str, is: Option<&String>) -> bool {
    let Some(says) = says.and_then(|says| says.get(name)) else { return false };
    let Some(is) = is.filter(|_| !name.contains(" limit ")) else { return true };
    // `108 or 110 links` and `from 3 to 5 teeth` name the number that it became, or hold it between them.
    let numbers = |text: &str| -> Vec<f64> {
        text.split(|c: char| !c.is_ascii_digit() && c != '.').filter_map(|part| part.parse().ok()).collect()
    };
    let (within, new) = (numbers(says), numbers(is));
    new.first().is_none_or(|new| {
        within.iter().any(|one| (one - new).abs() < 1e-9)
            || within.first().is_some_and(|low| low <= new) && within.last().is_some_and(|high| new <= high)
    })
}
