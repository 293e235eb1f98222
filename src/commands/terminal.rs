//! Text for a terminal: how wide it is, paragraphs wrapped to it, columns that line up.

use super::line::OptionOf;
use std::io::IsTerminal as _;

/// Columns that text is wrapped to: `COLUMNS` where it is set, within reason; 80 elsewhere.
#[must_use]
pub fn width() -> usize {
    let told = std::env::var("COLUMNS").ok().and_then(|text| text.parse().ok());
    told.unwrap_or(80usize).clamp(40, 120)
}

/// True where somebody sits at a terminal who can be asked, and sees questions, faults and answers alike.
#[must_use]
pub fn has_somebody() -> bool {
    std::io::stdin().is_terminal() && std::io::stdout().is_terminal() && std::io::stderr().is_terminal()
}

/// Appends a paragraph, each line indented and no wider than `width`.
pub fn write_wrapped(out: &mut String, text: &str, indent: usize, width: usize) {
    write_hanging(out, "", text, indent, width);
}

/// Appends a label and a paragraph beside it; lines after the first hang under the paragraph's first character.
pub fn write_hanging(out: &mut String, label: &str, text: &str, indent: usize, width: usize) {
    let mut line = pad(label, indent);
    let start = line.chars().count();
    let mut used = start;
    for word in text.split([' ', '\n', '\t']).filter(|word| !word.is_empty()) {
        let long = word.chars().count();
        if used > start && used + 1 + long > width {
            out.push_str(line.trim_end());
            out.push('\n');
            line = " ".repeat(start);
            used = start;
        }
        if used > start {
            line.push(' ');
            used += 1;
        }
        line.push_str(word);
        used += long;
    }
    out.push_str(line.trim_end());
    out.push('\n');
}

/// A text with spaces behind it up to `width` characters.
#[must_use]
pub fn pad(text: &str, width: usize) -> String {
    let missing = width.saturating_sub(text.chars().count());
    format!("{text}{}", " ".repeat(missing))
}

/// Appends the options of a command, one a line.
pub fn write_options(out: &mut String, options: &[OptionOf], width: usize) {
    let forms = options.iter().map(|option| format!("  {} {}", option.name, option.value.unwrap_or_default()));
    let forms: Vec<String> = forms.collect();
    // Two spaces after the longest of them.
    let longest = forms.iter().map(|form| form.chars().count()).max().unwrap_or_default();
    for (option, form) in options.iter().zip(&forms) {
        write_hanging(out, form, option.about, (longest + 2).max(20), width);
    }
}
