//! Faults for code hosts: SARIF 2.1.0 (OASIS), one run, one rule for each id that spoke.

use crate::diagnostic::{Diagnostic, Source};
use crate::fault::{Severity, id};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The log of a proof. Columns are counted in characters, as SARIF calls Unicode code points.
pub(super) fn log(faults: &[Diagnostic], sources: &[Arc<Source>]) -> Value {
    let spoke: BTreeSet<&str> = faults.iter().map(|one| one.fault.id).collect();
    let spoke: Vec<&str> = spoke.into_iter().collect();
    let rules = spoke.iter().map(|spoken| {
        let meaning = id::ALL.iter().find(|(known, ..)| known == spoken).map_or("", |(_, _, meaning)| meaning);
        json!({ "id": spoken, "shortDescription": { "text": meaning } })
    });
    let results = faults.iter().map(|one| result(one, sources, &spoke));
    json!({
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": { "name": "Locknut", "version": env!("CARGO_PKG_VERSION"), "rules": rules.collect::<Vec<_>>() } },
            "columnKind": "unicodeCodePoints",
            "results": results.collect::<Vec<_>>(),
        }],
    })
}

fn result(one: &Diagnostic, sources: &[Arc<Source>], rules: &[&str]) -> Value {
    let fault = &one.fault;
    let none = Source::default();
    let source = sources.iter().find(|source| source.name == one.file).map_or(&none, |source| source.as_ref());
    let ((line, column), (end_line, end_column)) =
        (source.line_column(fault.span.start), source.line_column(fault.span.end));
    let notes = [("Found", &fault.found), ("Allowed", &fault.allowed), ("Do", &fault.cure)];
    let notes = notes.iter().filter_map(|(label, text)| text.as_ref().map(|text| format!("\n{label}: {text}")));
    json!({
        "ruleId": fault.id,
        "ruleIndex": rules.iter().position(|rule| *rule == fault.id),
        "level": if fault.severity == Severity::Fault { "error" } else { "note" },
        "message": { "text": format!("{}.{}", fault.message, notes.collect::<String>()) },
        "locations": [{
            "physicalLocation": {
                "artifactLocation": { "uri": address(&one.file), "uriBaseId": "%SRCROOT%" },
                "region": { "startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column },
            },
        }],
    })
}

/// A path as a URI has it (RFC 3986).
fn address(path: &str) -> String {
    const KEPT: &percent_encoding::AsciiSet =
        &percent_encoding::NON_ALPHANUMERIC.remove(b'/').remove(b'-').remove(b'.').remove(b'_').remove(b'~');
    percent_encoding::utf8_percent_encode(path, KEPT).to_string()
}
