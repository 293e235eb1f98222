//! Questions on a terminal: what a command needs and was not given.
//!
//! Where nobody sits before it, nothing is asked; the command then says what to write.

use std::io::{BufRead as _, IsTerminal as _, Write as _};

/// Asks for a line; `None` where there is no terminal, or nothing but spaces was typed.
pub(super) fn ask(question: &str) -> Option<String> {
    let stdin = std::io::stdin();
    if !stdin.is_terminal() || !std::io::stderr().is_terminal() {
        return None;
    }
    // Asked beside the answer: standard output may lead into a file.
    eprint!("{question} ");
    let _ = std::io::stderr().flush();
    let mut line = String::new();
    stdin.lock().read_line(&mut line).ok()?;
    Some(line.trim().to_owned()).filter(|line| !line.is_empty())
}
