//! Code as it is written, coloured in the sheet's own inks: blocks in opened workings and examples on pages.
//!
//! Which characters are keys, numbers, quoted text, notes and signs is told by a grammar; each becomes a class of the
//! stylesheet. Code is text: whatever it holds, it is escaped.

use crate::text::escape;
use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::LazyLock;
use syntect::parsing::{ParseState, Scope, ScopeStack, ScopeStackOp, SyntaxSet};

static GRAMMARS: LazyLock<SyntaxSet> = LazyLock::new(SyntaxSet::load_defaults_newlines);

/// The classes of the stylesheet, each with the scope that it stands for; the first that holds decides,
/// so that a sign which opens a note belongs to the note.
static CLASSES: LazyLock<Vec<(Scope, &str)>> = LazyLock::new(|| {
    [
        ("comment", "c-note"),
        ("entity.name.tag", "c-key"),
        ("markup.heading", "c-key"),
        ("constant.numeric", "c-number"),
        ("string.quoted", "c-text"),
        ("punctuation", "c-sign"),
    ]
    .into_iter()
    .filter_map(|(scope, class)| Some((Scope::new(scope).ok()?, class)))
    .collect()
});

/// Code as markup; a language without a grammar is escaped and left uncoloured.
#[must_use]
pub fn coloured(code: &str, language: &str) -> String {
    let name = match language {
        "yaml" => "YAML",
        "markdown" => "Markdown",
        _ => return escape(code),
    };
    let Some(grammar) = GRAMMARS.find_syntax_by_name(name) else { return escape(code) };
    let mut state = ParseState::new(grammar);
    let mut scopes = ScopeStack::new();
    let mut out = Coloured::default();
    for line in code.split_inclusive('\n') {
        let Some(changes) = changes_in(line, &mut state) else { return escape(code) };
        let mut at = 0;
        for (place, change) in changes.iter() {
            out.push(&line[at..*place], class_of(&scopes));
            at = *place;
            if scopes.apply(change).is_err() {
                return escape(code);
            }
        }
        out.push(&line[at..], class_of(&scopes));
    }
    out.end()
}

/// Where scopes change in a line.
type Changes = Rc<[(usize, ScopeStackOp)]>;

/// A line that was read before: from which state, to which state, and what changed in it.
struct Known {
    from: ParseState,
    to: ParseState,
    changes: Changes,
}

/// No more lines than this are remembered by each thread.
const MOST_KNOWN: usize = 4096;

thread_local! {
    /// The blocks of a library say much the same, and reading a line by a grammar costs more than all else on a page.
    static KNOWN: RefCell<HashMap<String, Vec<Known>>> = RefCell::default();
}

fn changes_in(line: &str, state: &mut ParseState) -> Option<Changes> {
    KNOWN.with_borrow_mut(|lines| {
        if let Some(known) = lines.get(line).and_then(|known| known.iter().find(|known| known.from == *state)) {
            state.clone_from(&known.to);
            return Some(Rc::clone(&known.changes));
        }
        let from = state.clone();
        let changes: Changes = state.parse_line(line, &GRAMMARS).ok()?.into();
        if lines.len() < MOST_KNOWN {
            let known = Known { from, to: state.clone(), changes: Rc::clone(&changes) };
            lines.entry(line.to_owned()).or_default().push(known);
        }
        Some(changes)
    })
}

fn class_of(scopes: &ScopeStack) -> &'static str {
    let holds = |known: &Scope| scopes.scopes.iter().any(|scope| known.is_prefix_of(*scope));
    CLASSES.iter().find(|(known, _)| holds(known)).map_or("", |(_, class)| class)
}

/// Markup with one element for each run of characters of one class.
#[derive(Default)]
struct Coloured {
    out: String,
    class: &'static str,
    run: String,
}

impl Coloured {
    fn push(&mut self, text: &str, class: &'static str) {
        if text.is_empty() {
            return;
        }
        if class != self.class {
            self.close();
            self.class = class;
        }
        self.run.push_str(text);
    }

    fn close(&mut self) {
        let text = escape(&std::mem::take(&mut self.run));
        if self.class.is_empty() || text.trim().is_empty() {
            self.out.push_str(&text);
        } else {
            self.out.push_str(&format!("<span class=\"{}\">{text}</span>", self.class));
        }
    }

    fn end(mut self) -> String {
        self.close();
        self.out
    }
}

#[cfg(test)]
mod tests {
    use super::coloured;

    #[test]
    fn code_is_coloured_by_class_and_nothing_is_lost() {
        let code = "name: chain  # a note\nchainring: 50\nsay: \"<b> & 'c'\"\n";
        let html = coloured(code, "yaml");
        for part in [
            "<span class=\"c-key\">name</span>",
            "<span class=\"c-note\"># a note\n</span>",
            "<span class=\"c-number\">50</span>",
            "&lt;b&gt; &amp; 'c'",
        ] {
            assert!(html.contains(part), "{part} in {html}");
        }
        let mut bare = String::new();
        let mut inside = false;
        for c in html.chars() {
            match c {
                '<' => inside = true,
                '>' => inside = false,
                c if !inside => bare.push(c),
                _ => {}
            }
        }
        assert_eq!(bare.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&"), code);
        assert_eq!(coloured("a < b", "text"), "a &lt; b");
    }
}
