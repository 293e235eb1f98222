//! The command line on one screen: which command, and the exit status.

use locknut::commands::{
    Exit, begin, drift, fit_out, line::Line, meaning, overview, pair, press, print, reckon, refuse, sign, stand,
    terminal, where_used,
};
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args_os().skip(1).map(|word| word.to_string_lossy().into_owned()).collect();
    ExitCode::from(run(&arguments) as u8)
}

fn run(arguments: &[String]) -> Exit {
    let Some((command, rest)) = arguments.split_first() else {
        print(&overview::text(terminal::width()));
        return Exit::Done;
    };
    if let ("help", [asked, ..]) = (command.as_str(), rest)
        && overview::COMMANDS.iter().any(|command| command.name == asked)
    {
        return run(&[asked.clone(), "--help".to_owned()]);
    }
    match command.as_str() {
        "press" => press::press(rest),
        "proof" => press::proof(rest),
        "stand" => stand::run(rest),
        "reckon" => reckon::run(rest),
        "pair" => pair::run(rest),
        "drift" => drift::run(rest),
        "where-used" => where_used::run(rest),
        "sign" => sign::run(rest),
        "fit-out" => fit_out::run(rest),
        "begin" => begin::run(rest),
        "meaning" => meaning::run(rest),
        "--help" | "-h" | "help" => {
            print(&overview::text(terminal::width()));
            Exit::Done
        }
        "--version" => {
            print(&format!("locknut {}\n", env!("CARGO_PKG_VERSION")));
            Exit::Done
        }
        // It ends the options, of which there are none yet.
        "--" => run(rest),
        _ => {
            let (source, word) = Line::first("locknut", arguments);
            refuse(&[overview::unknown(&word)], &source, false)
        }
    }
}
