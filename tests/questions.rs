//! The questions of rules about parts: true, false or unknown, as Kleene's strong logic has it.
//!
//! The tables of `and`, `or` and `not` are those of S. C. Kleene, Introduction to Metamathematics (1952), § 64, stated
//! here from memory: `and` is the least, `or` the greatest of false < unknown < true. Besides, over many questions made
//! at random: knowing more never changes a settled answer, and a question printed and parsed again is the same.

use locknut::mechanics::pairing::Verdict;
use locknut::mechanics::pairing::rule::Rule;
use locknut::mechanics::pairing::shelf::Rules;
use locknut::mechanics::pairing::value::{Values, read_all};
use locknut::mechanics::parser::parse_question;
use locknut::mechanics::print::line_of;
use locknut::text::Mapped;
use locknut::yaml;

const FAMILIES: [(&str, &[u8]); 2] = [
    (
        "one.yaml",
        b"id: one
title: One
about: a part made up for these tests
attributes:
  - {name: flag, kind: yes_no, about: a flag, how: look}
  - {name: other, kind: yes_no, about: another flag, how: look}
  - {name: size, kind: length, unit: mm, range: [-1000, 1000], about: a size, how: measure it}
  - {name: teeth, kind: count, unit: tooth, range: [0, 100], about: teeth, how: count them}
  - {name: sort, kind: word, one_of: [round, oval, mineral oil], about: a word, how: read it}
  - {name: speeds, kind: count, unit: \"\", range: [1, 14], many: true, about: numbers, how: read them}
  - {name: takes, kind: word, many: true, about: words, how: read them}
",
    ),
    (
        "two.yaml",
        b"id: two
title: Two
about: another
attributes:
  - {name: size, kind: length, unit: mm, range: [-1000, 1000], about: a size, how: measure it}
  - {name: sort, kind: word, about: a word, how: read it}
  - {name: speeds, kind: count, unit: \"\", range: [1, 14], many: true, about: numbers, how: read them}
",
    ),
];

/// A rule that fits where the question is true and does not where it is false.
fn rules(question: &str) -> Rules {
    let quoted = question.replace('\'', "''");
    let text = format!(
        "id: asked\ntitle: Asked\ntopic: drivetrain\njoins: {{one: one, two: two}}\noutcomes:\n  - {{when: '{quoted}', \
         verdict: fits, message: It is so.}}\n  - {{when: 'not ({quoted})', verdict: does not fit, message: It is not \
         so.}}\n  - {{verdict: fits with limits, message: Neither.}}\nsource: made up for a test\n"
    );
    let (rules, faulty) = Rules::read(&FAMILIES, &[("drivetrain/asked.yaml", text.as_bytes())]);
    assert!(faulty.is_empty(), "{question}: {faulty:#?}");
    rules
}

fn values(rules: &Rules, family: &str, text: &str) -> Values {
    let node = yaml::parse(&Mapped::verbatim(text, 0)).expect("YAML");
    let mut faults = Vec::new();
    let entries = node.as_map().unwrap_or_default().iter().map(|entry| (&entry.key, &entry.value));
    let values = read_all(rules.family(family).expect("a family"), entries, &mut faults);
    assert!(faults.is_empty(), "{text}: {faults:?}");
    values
}

/// True, false or unknown.
fn truth(rule: &Rule, one: &Values, two: &Values) -> Option<bool> {
    match rule.put(&[one, two]).expect("it speaks").verdict {
        Verdict::Fits => Some(true),
        Verdict::DoesNotFit => Some(false),
        Verdict::NotKnown => None,
        Verdict::FitsWithLimits => panic!("neither true nor false, and not unknown"),
    }
}

fn asked(question: &str, one: &str, two: &str) -> Option<bool> {
    let rules = rules(question);
    truth(&rules.rules[0], &values(&rules, "one", one), &values(&rules, "two", two))
}

#[test]
fn and_or_and_not_are_kleenes() {
    let rank = |truth: Option<bool>| match truth {
        Some(false) => 0,
        None => 1,
        Some(true) => 2,
    };
    let words = [("yes", Some(true)), ("no", Some(false)), ("", None)];
    let part = |flag: &str, other: &str| {
        let line = |name: &str, word: &str| if word.is_empty() { String::new() } else { format!("{name}: {word}\n") };
        let text = line("flag", flag) + &line("other", other);
        if text.is_empty() { "{}".to_owned() } else { text }
    };
    for (flag, one) in words {
        for (other, two) in words {
            let both = asked("one.flag and one.other", &part(flag, other), "{}");
            assert_eq!(rank(both), rank(one).min(rank(two)), "{flag} and {other}");
            let either = asked("one.flag or one.other", &part(flag, other), "{}");
            assert_eq!(rank(either), rank(one).max(rank(two)), "{flag} or {other}");
        }
        assert_eq!(asked("not one.flag", &part(flag, ""), "{}"), one.map(|truth| !truth), "not {flag}");
    }
    assert_eq!(asked("unknown or one.flag", "flag: yes", "{}"), Some(true));
    assert_eq!(asked("unknown and one.flag", "flag: yes", "{}"), None);
    assert_eq!(asked("not unknown", "{}", "{}"), None);
}

/// Question, what is known of the one and of the other part, and the answer.
const CASES: &[(&str, &str, &str, Option<bool>)] = &[
    // Comparisons forgive 1e-9 as everywhere, and a chain points one way.
    ("one.size <= two.size", "size: 44 mm", "size: 4.4 cm", Some(true)),
    ("one.size < two.size", "size: 44 mm", "size: 4.4 cm", Some(false)),
    ("10 mm <= one.size < 20 mm", "size: 20 mm", "{}", Some(false)),
    ("one.size + 2 mm > two.size", "size: 9 mm", "{}", None),
    // A tolerance that reaches over both answers leaves the question open; one that doesn't, settles it.
    ("one.size <= 20 mm", "size: 20 mm ± 1 mm", "{}", None),
    ("one.size <= 20 mm", "size: 18 mm ± 1 mm", "{}", Some(true)),
    ("one.size > 20 mm", "size: 18 mm ± 1 mm", "{}", Some(false)),
    // Words are the same or not; lists hold them or don't.
    ("one.sort == \"mineral oil\"", "sort: mineral oil", "{}", Some(true)),
    ("one.sort != \"round\"", "sort: oval", "{}", Some(true)),
    ("one.sort == two.sort", "sort: oval", "sort: oval", Some(true)),
    ("one.sort == two.sort", "sort: oval", "{}", None),
    ("one.sort among [\"round\", \"oval\"]", "sort: oval", "{}", Some(true)),
    ("one.sort among one.takes", "{sort: oval, takes: [round, oval]}", "{}", Some(true)),
    ("one.sort among one.takes", "{sort: oval, takes: [round]}", "{}", Some(false)),
    ("9 among one.speeds", "speeds: [9, 10]", "{}", Some(true)),
    ("one.teeth among [32, 34]", "teeth: 34 teeth", "{}", Some(true)),
    ("one.teeth + 1 among one.speeds", "{teeth: 9 teeth, speeds: [10]}", "{}", Some(true)),
    ("one.speeds shares two.speeds", "speeds: [9, 10]", "speeds: [10, 11]", Some(true)),
    ("one.speeds shares two.speeds", "speeds: [9, 10]", "speeds: [11]", Some(false)),
    ("one.speeds shares two.speeds", "{}", "speeds: [11]", None),
    // What is false or true whatever is missing.
    ("one.size > 5 mm and two.size > 5 mm", "size: 4 mm", "{}", Some(false)),
    ("one.size > 5 mm or two.size > 5 mm", "size: 6 mm", "{}", Some(true)),
    ("not (one.flag and two.size > 5 mm)", "flag: no", "{}", Some(true)),
    ("(one.size + 1 mm) * 2 > 9 mm and (one.flag or one.other)", "{size: 4 mm, other: yes}", "{}", Some(true)),
    ("one.flag and one.size > 1 mm or two.size > 1 mm", "flag: no", "size: 2 mm", Some(true)),
];

#[test]
fn every_case() {
    let wrong: Vec<String> = CASES
        .iter()
        .filter_map(|(question, one, two, wanted)| {
            let found = asked(question, one, two);
            (found != *wanted).then(|| format!("{question} of {one} and {two}: {found:?}, not {wanted:?}"))
        })
        .collect();
    println!("{} questions", CASES.len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A question made at random, of numbers, words, lists and flags.
fn question(random: &mut fastrand::Rng, depth: usize) -> String {
    const ATOMS: [&str; 12] = [
        "one.flag",
        "one.other",
        "one.size > 5 mm",
        "one.size <= two.size",
        "two.size != 0 mm",
        "one.sort == \"round\"",
        "one.sort != two.sort",
        "one.sort among one.takes",
        "9 among one.speeds",
        "one.speeds shares two.speeds",
        "2 * one.size - two.size < 7 mm",
        "unknown",
    ];
    if depth == 0 {
        return ATOMS[random.usize(..ATOMS.len())].to_owned();
    }
    let mut inner = || question(random, depth - 1);
    let (left, right) = (inner(), inner());
    match random.u8(..5) {
        0 => format!("not ({left})"),
        1 | 2 => format!("({left}) and ({right})"),
        _ => format!("({left}) or ({right})"),
    }
}

#[test]
fn knowing_more_never_changes_a_settled_answer() {
    let mut random = fastrand::Rng::with_seed(20_261_126);
    let (mut settled, mut open) = (0, 0);
    for _ in 0..300 {
        let depth = random.usize(1..4);
        let question = question(&mut random, depth);
        let rules = rules(&question);
        let rule = &rules.rules[0];
        for _ in 0..8 {
            let (mut one, mut two) = whole(&rules, &mut random);
            let all = truth(rule, &one, &two);
            // Take one attribute after the other away: an answer may become unknown, and never the opposite.
            let mut known = all;
            while !one.is_empty() || !two.is_empty() {
                let from = if two.is_empty() || (random.bool() && !one.is_empty()) { &mut one } else { &mut two };
                let name = from.keys().nth(random.usize(..from.len())).expect("one of them").clone();
                from.remove(&name);
                let less = truth(rule, &one, &two);
                assert!(less.is_none() || less == known, "{question}: {known:?} became {less:?} without {name}");
                known = less;
                if less.is_some() { settled += 1 } else { open += 1 }
            }
        }
    }
    println!("{settled} answers stayed settled, {open} became unknown");
    assert!(settled > 100 && open > 100, "both were seen");
}

/// Parts of which everything is known.
fn whole(rules: &Rules, random: &mut fastrand::Rng) -> (Values, Values) {
    let flag = |random: &mut fastrand::Rng| if random.bool() { "yes" } else { "no" };
    let word = |random: &mut fastrand::Rng| if random.bool() { "round" } else { "oval" };
    let one = format!(
        "{{flag: {}, other: {}, size: {} mm, teeth: {} teeth, sort: {}, speeds: [{}, 12], takes: [{}]}}",
        flag(random),
        flag(random),
        random.i32(-3..12),
        random.i32(9..50),
        word(random),
        random.i32(7..11),
        word(random)
    );
    let two = format!(
        "{{size: {} mm ± {} mm, sort: {}, speeds: [{}]}}",
        random.i32(-3..12),
        random.i32(0..2),
        word(random),
        random.i32(7..13)
    );
    (values(rules, "one", &one), values(rules, "two", &two))
}

#[test]
fn printed_and_parsed_again_a_question_is_the_same() {
    let mut random = fastrand::Rng::with_seed(1952);
    for _ in 0..500 {
        let depth = random.usize(0..5);
        let text = question(&mut random, depth);
        let parse =
            |text: &str| parse_question(&Mapped::verbatim(text, 0)).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
        let printed = line_of(&parse(&text));
        assert_eq!(line_of(&parse(&printed)), printed, "{text}");
    }
}
