//! The JavaScript face against the Rust one: cases for a browser, and what can be held without one.
//!
//! `LOCKNUT_TWIN=FOLDER` writes the engine's script, every formula's script and random cases with what Rust makes of
//! them, to the last bit; `tests/tools/twin.mjs` works the same cases in real browsers and compares. Inputs are spread
//! over each input's whole range, defaults and whole counts included, from fixed seeds.

use crate::folder::Folder;
use fastrand::Rng;
use locknut::mechanics::bundle;
use locknut::mechanics::formula::{Formula, Input};
use locknut::mechanics::functions::FUNCTIONS;
use locknut::mechanics::javascript::{engine, script};
use locknut::mechanics::reading::Reading;
use locknut::mechanics::working::work;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Answered cases of each formula, and how many are tried for them.
const CASES: usize = 250;
const TRIED: usize = 40_000;

fn formulas() -> Vec<Formula> {
    bundle::ids().map(|(id, _)| bundle::formula(id).expect("listed").expect("loads")).collect()
}

#[test]
fn every_function_has_a_javascript_face() {
    let engine = engine();
    for row in FUNCTIONS {
        assert!(row.javascript.contains("x[0]") || row.javascript.contains("x.reduce"), "{}", row.name);
        assert!(engine.contains(&format!("{}:[x=>", row.name)), "{}", row.name);
    }
}

#[test]
fn cases_for_browsers() {
    let mut all = Vec::new();
    for (place, formula) in formulas().iter().enumerate() {
        let mut rng = Rng::with_seed(5_000 + place as u64);
        let mut cases = Vec::new();
        let mut answered = 0;
        for _ in 0..TRIED {
            let case = case(formula, &mut rng);
            answered += usize::from(case["texts"].is_array());
            // A few without an answer, so that the words for that are compared too.
            if case["texts"].is_array() || cases.len() < answered + 20 {
                cases.push(case);
            }
            if answered == CASES {
                break;
            }
        }
        assert!(answered >= 200, "{}: only {answered} random inputs have an answer", formula.id);
        all.push(json!({"id": formula.id, "exact": is_exact(formula), "cases": cases}));
    }
    if let Some(folder) = std::env::var_os("LOCKNUT_TWIN").map(PathBuf::from) {
        fs::create_dir_all(&folder).expect("a folder");
        fs::write(folder.join("engine.js"), engine()).expect("the engine");
        let scripts: String = formulas().iter().map(|formula| script(formula, &formula.id)).collect();
        fs::write(folder.join("formulas.js"), scripts).expect("the formulas");
        fs::write(folder.join("cases.json"), Value::from(all).to_string()).expect("the cases");
    }
}

/// The scripts of a pressed site are those that the engine generates, to the byte, and every page has the ones that its
/// forms name.
#[test]
fn a_pages_scripts_are_the_engines() {
    let folder = Folder::laid_down("twin");
    folder.done(&["press"]);
    let site = folder.0.join("pressed");
    let mut wanted: BTreeMap<String, String> =
        formulas().iter().map(|formula| (formula.id.clone(), script(formula, &formula.id))).collect();
    wanted.insert("engine".to_owned(), engine());
    let own = locknut::library::read_formulas(&folder.0).expect("the shop's own formulas").formulas;
    assert!(!own.is_empty(), "the starter shop has formulas of its own");
    wanted.extend(own.iter().map(|own| (own.formula.id.clone(), script(&own.formula, &own.formula.id))));

    assert_eq!(differences(&site, &wanted), Vec::<String>::new());
    // One digit in one script, on the single sheets that hold it too, and one script that a page doesn't load, are seen.
    let gear = fs::read_dir(site.join("formulas")).expect("the scripts").map(|entry| entry.expect("an entry").path());
    let gear = gear.into_iter().find(|path| name_of(path) == "gear").expect("the script of a formula");
    let text = fs::read_to_string(&gear).expect("a script");
    let singles = fs::read_dir(site.join("editions/sheets")).expect("the single sheets");
    let held = text.replace("</", "<\\/");
    let singles = singles.filter(|entry| {
        let path = entry.as_ref().expect("an entry").path();
        fs::read_to_string(path).is_ok_and(|html| html.contains(&held))
    });
    let singles = singles.count();
    assert!(singles > 0, "a single sheet works gears");
    fs::write(&gear, text.replacen('1', "2", 1)).expect("a script");
    let page = site.join("handbook/drivetrain.html");
    let html = fs::read_to_string(&page).expect("a page");
    let at = html.find("<script src=\"../formulas/chain-slack.").expect("a script of the page");
    let end = at + html[at..].find("</script>").expect("its end");
    fs::write(&page, format!("{}{}", &html[..at], &html[end + "</script>".len()..])).expect("a page");
    let seen = differences(&site, &wanted);
    assert_eq!(seen.len(), 2 + singles, "{seen:?}");
}

/// The name of a script, before the digits of its hash.
fn name_of(path: &Path) -> String {
    let file = path.file_name().expect("a name").to_string_lossy();
    file.split('.').next().unwrap_or_default().to_owned()
}

/// What is wrong with the scripts of a site.
fn differences(site: &Path, wanted: &BTreeMap<String, String>) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut seen: BTreeMap<String, String> = BTreeMap::new();
    for entry in fs::read_dir(site.join("formulas")).expect("the scripts") {
        let path = entry.expect("an entry").path();
        let (name, text) = (name_of(&path), fs::read_to_string(&path).expect("a script"));
        // A page's own equation has no formula outside its page to be compared with.
        let is_same = wanted.get(&name).map_or(name.starts_with("equation-"), |wanted| *wanted == text);
        if !is_same {
            wrong.push(format!("{name} is not what the engine generates"));
        }
        seen.insert(name, text);
    }
    wrong.extend(wanted.keys().filter(|name| !seen.contains_key(*name)).map(|name| format!("{name} has no script")));
    let pages = walkdir::WalkDir::new(site).into_iter().map(|entry| entry.expect("an entry").into_path());
    for page in pages.filter(|path| path.extension().is_some_and(|ending| ending == "html")) {
        let html = fs::read_to_string(&page).expect("a page");
        for form in html.split("data-formula=\"").skip(1) {
            let name = form.split('"').next().unwrap_or_default();
            // A single sheet holds its scripts itself, to the byte but for what could end a script.
            let held = |text: &String| html.contains(&text.replace("</", "<\\/"));
            let is_single = page.starts_with(site.join("editions"));
            let is_there =
                if is_single { seen.get(name).is_some_and(held) } else { html.contains(&format!("formulas/{name}.")) };
            if !is_there {
                wrong.push(format!("{} doesn't load {name}", page.display()));
            }
        }
    }
    wrong
}

/// True where only + − × ÷ √ and whole powers are used, which must agree to the bit.
fn is_exact(formula: &Formula) -> bool {
    let text = script(formula, &formula.id);
    let calls = text.match_indices("E.call(\"").map(|(at, open)| &text[at + open.len()..]);
    let exact = ["sqrt", "abs", "min", "max", "floor", "ceil", "round", "gcd"];
    !text.contains("E.power(")
        && calls.into_iter().all(|rest| exact.iter().any(|name| rest.starts_with(&format!("{name}\""))))
}

fn case(formula: &Formula, rng: &mut Rng) -> Value {
    let given: Vec<f64> = formula.inputs.iter().map(|input| random(input, rng)).collect();
    let base: Vec<f64> = formula.inputs.iter().zip(&given).map(|(input, number)| input.unit.to_base(*number)).collect();
    let worked = work(formula, base.iter().map(|value| Reading::exact(*value)).collect());
    match worked {
        Err(gap) => json!({"given": given, "why": gap.why}),
        Ok(working) => {
            let spoken: Vec<&str> = working.spoken.iter().map(|spoken| spoken.limit.name.as_str()).collect();
            if working.stopped {
                return json!({"given": given, "stopped": spoken});
            }
            let texts: Vec<String> = formula.outputs.iter().filter_map(|output| working.text(output)).collect();
            json!({"given": given, "base": base, "steps": working.steps, "texts": texts, "spoken": spoken})
        }
    }
}

/// A number in an input's own unit, written with few digits or many, as readers do.
fn random(input: &Input, rng: &mut Rng) -> f64 {
    let (low, high) = (input.low, input.high);
    if input.kind.name == "count" {
        return (low + (high - low) * rng.f64()).round().clamp(low.ceil(), high.floor());
    }
    let number =
        if low > 0.0 && rng.bool() { low * (high / low).powf(rng.f64()) } else { low + (high - low) * rng.f64() };
    let places = 10f64.powi(rng.i32(0..8));
    ((number * places).round() / places).clamp(low, high)
}
