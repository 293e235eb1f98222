//! What a page says of itself to programs: JSON-LD in the terms of schema.org, beside the words for people.
//!
//! A guide is a `HowTo`, a reply, a chart or a build sheet an `Article`, the shop an `Organization`. Texts are plain, with every figure as it is
//! printed; nothing is said here that the page doesn't show. `tests/tools/vocabulary.mjs` holds all of it to schema.org.

use super::{Picture, Setting, topic_title};
use crate::evaluate::figure::plain;
use crate::evaluate::{WorkedGuide, WorkedOperation, WorkedPiece, WorkedText};
use crate::register::Stamp;
use crate::text::capital;
use pulldown_cmark::{Event, Tag, TagEnd};
use serde_json::{Map, Value, json};

const VOCABULARY: &str = "https://schema.org";

/// The data of a guide or a reply, as text for a page's `script`.
pub(super) fn of_guide(setting: &Setting<'_>, guide: &WorkedGuide<'_>, picture: Option<&Picture>) -> String {
    let written = guide.guide;
    let address = setting.shop.address(&written.page);
    let mut said = Map::new();
    let mut say = |name: &str, value: Option<Value>| {
        if let Some(value) = value {
            said.insert(name.to_owned(), value);
        }
    };
    let is_article = written.is_reply || guide.operations.is_empty();
    let title = plain(&guide.title);
    say("@context", Some(json!(VOCABULARY)));
    say("@type", Some(json!(if is_article { "Article" } else { "HowTo" })));
    say("name", Some(json!(title)));
    say("headline", is_article.then(|| json!(title)));
    say("description", Some(json!(plain(&guide.summary))));
    say("inLanguage", Some(json!(setting.shop.language)));
    say("identifier", Some(json!(written.number.value)));
    say("version", Some(json!(guide.stamp.revision)));
    say("dateModified", Some(json!(guide.stamp.issued)));
    say("url", address.as_ref().map(|address| json!(address)));
    say("image", picture.and_then(|picture| setting.shop.address(&picture.path)).map(|address| json!(address)));
    say(
        "about",
        Some(topic_title(&written.topic.value))
            .filter(|topic| !topic.is_empty())
            .map(|topic| json!({"@type": "Thing", "name": topic})),
    );
    say("author", Some(json!({"@type": "Person", "name": written.prepared_by})));
    say("publisher", Some(shop(setting)));
    if is_article {
        say("articleBody", Some(json!(words(&guide.lead))).filter(|text| *text != json!("")));
    } else {
        say("totalTime", written.work_time.as_deref().and_then(duration).map(|time| json!(time)));
        say("tool", list("HowToTool", &guide.tools));
        say("supply", list("HowToSupply", &guide.consumables));
        let steps = guide.operations.iter().map(|operation| step(operation, address.as_deref()));
        say("step", Some(steps.collect()));
    }
    text(&Value::Object(said))
}

/// What a page tells that is no guide: an article, with the title block's words.
pub(super) struct Article<'a> {
    pub(super) page: &'a str,
    pub(super) title: &'a str,
    pub(super) summary: &'a str,
    pub(super) topic: &'a str,
    pub(super) number: &'a str,
    pub(super) stamp: &'a Stamp,
    pub(super) prepared_by: &'a str,
}

/// The data of a chart or a build sheet.
pub(super) fn of_article(setting: &Setting<'_>, article: &Article<'_>) -> String {
    let mut said = json!({
        "@context": VOCABULARY,
        "@type": "Article",
        "name": article.title,
        "headline": article.title,
        "inLanguage": setting.shop.language,
        "identifier": article.number,
        "version": article.stamp.revision,
        "dateModified": article.stamp.issued,
        "author": {"@type": "Person", "name": article.prepared_by},
        "publisher": shop(setting),
    });
    if !article.summary.is_empty() {
        said["description"] = json!(article.summary);
    }
    if let Some(address) = setting.shop.address(article.page) {
        said["url"] = json!(address);
    }
    if !article.topic.is_empty() {
        said["about"] = json!({"@type": "Thing", "name": topic_title(article.topic)});
    }
    text(&said)
}

/// The data of the shop, for the front page.
pub(super) fn of_shop(setting: &Setting<'_>) -> String {
    let mut shop = shop(setting);
    shop["@context"] = json!(VOCABULARY);
    text(&shop)
}

fn shop(setting: &Setting<'_>) -> Value {
    let shop = setting.shop;
    let mut said = json!({"@type": "Organization", "name": shop.name});
    if let Some(site) = shop.address("index.html") {
        said["url"] = json!(site);
    }
    if let Some(phone) = &shop.phone {
        said["telephone"] = json!(phone);
    }
    let address = shop.address.as_deref().unwrap_or(&shop.place);
    if !address.is_empty() {
        said["address"] = json!(address);
    }
    said
}

fn list(kind: &str, lines: &[Vec<WorkedText>]) -> Option<Value> {
    let one = |line: &Vec<WorkedText>| json!({"@type": kind, "name": plain(line)});
    (!lines.is_empty()).then(|| lines.iter().map(one).collect())
}

fn step(operation: &WorkedOperation, address: Option<&str>) -> Value {
    let name = words(&operation.heading);
    let body = words(&operation.body);
    let mut said = json!({"@type": "HowToStep", "position": operation.number, "name": name});
    said["text"] = json!(if body.is_empty() { &name } else { &body });
    if let Some(address) = address {
        said["url"] = json!(format!("{address}#op-{}", operation.number));
    }
    said
}

/// The words of a body in one line: paragraphs, lists and notices. Tables with their captions, examples, notes and what
/// opens are left out.
fn words(pieces: &[WorkedPiece]) -> String {
    let mut out = String::new();
    let mut within = 0_usize;
    let mut begins = 0;
    for piece in pieces {
        match piece {
            WorkedPiece::Event(Event::Start(Tag::Paragraph)) => begins = out.len(),
            WorkedPiece::Event(Event::End(TagEnd::Paragraph)) if out[begins..].starts_with("Table: ") => {
                out.truncate(begins);
            }
            WorkedPiece::Event(Event::Start(tag)) if is_left_out(tag) => within += 1,
            WorkedPiece::Event(Event::End(TagEnd::Table | TagEnd::CodeBlock | TagEnd::FootnoteDefinition)) => {
                within = within.saturating_sub(1);
            }
            _ if within > 0 => {}
            WorkedPiece::Event(Event::Text(text) | Event::Code(text)) => out.push_str(text),
            WorkedPiece::Event(
                Event::SoftBreak | Event::HardBreak | Event::End(TagEnd::Paragraph | TagEnd::Item | TagEnd::Heading(_)),
            ) => out.push(' '),
            WorkedPiece::Figure(figure) => out.push_str(&figure.text),
            WorkedPiece::Safety(signal, body) => {
                out.push_str(&format!("{}: {} ", capital(signal), words(body)));
            }
            _ => {}
        }
    }
    // A figure keeps its number and its unit together by a space that doesn't break; only the others are joined.
    let parts: Vec<&str> = out.split(' ').filter(|part| !part.is_empty()).collect();
    parts.join(" ").replace('\n', " ").trim().to_owned()
}

fn is_left_out(tag: &Tag<'_>) -> bool {
    matches!(tag, Tag::Table(_) | Tag::CodeBlock(_) | Tag::FootnoteDefinition(_))
}

/// `1 h 30 min` as a duration of ISO 8601; nothing where the words say anything else.
fn duration(words: &str) -> Option<String> {
    let mut parts = words.split_whitespace();
    let (mut days, mut time) = (String::new(), String::new());
    while let Some(number) = parts.next() {
        let digits = number.bytes().all(|byte| byte.is_ascii_digit());
        if !digits || number.is_empty() {
            return None;
        }
        match parts.next()? {
            "day" | "days" if days.is_empty() && time.is_empty() => days = format!("{number}D"),
            "h" | "hour" | "hours" if time.is_empty() => time = format!("T{number}H"),
            "min" | "minute" | "minutes" if !time.contains('M') => {
                time = format!("{}{number}M", if time.is_empty() { "T" } else { &time });
            }
            _ => return None,
        }
    }
    (!days.is_empty() || !time.is_empty()).then(|| format!("P{days}{time}"))
}

/// Data as text that ends no `script` and is well-formed in XHTML too.
fn text(value: &Value) -> String {
    value.to_string().replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}

#[cfg(test)]
mod tests {
    use super::{duration, text};

    #[test]
    fn times_are_durations_or_nothing() {
        for (words, wanted) in [
            ("25 min", Some("PT25M")),
            ("1 h", Some("PT1H")),
            ("1 h 30 min", Some("PT1H30M")),
            ("2 days", Some("P2D")),
            ("1 day 2 hours", Some("P1DT2H")),
            ("about an hour", None),
            ("20 to 30 min", None),
            ("30 min 1 h", None),
            ("", None),
        ] {
            assert_eq!(duration(words).as_deref(), wanted, "{words}");
        }
    }

    #[test]
    fn nothing_ends_the_script() {
        assert_eq!(text(&serde_json::json!("</script>&")), r#""\u003c/script\u003e\u0026""#);
    }
}
