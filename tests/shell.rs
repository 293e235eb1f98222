//! What shells are told: completion tried in bash and fish themselves, read by zsh, and the manual page held by the
//! programs that set such pages. What a machine lacks is told, and in the whole test command a failure.

use crate::folder::{PROGRAM, err, root, run_in};
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

fn said(words: &[&str]) -> String {
    let output = run_in(root(), words);
    assert!(output.status.success(), "{words:?}: {}", err(&output));
    String::from_utf8(output.stdout).expect("text")
}

/// True where the machine has a program. The whole test command installs what it lacks, so there nothing is passed over.
fn has(program: &str) -> bool {
    let found = ["/usr/bin", "/bin", "/usr/local/bin"].iter().any(|folder| Path::new(folder).join(program).is_file());
    if !found {
        assert!(std::env::var_os("LOCKNUT_TEST_TOOLS").is_none(), "{program} is missing, and tests/run installs it");
        println!("{program} is not on this machine, so it was not asked");
    }
    found
}

/// What bash offers for the last of these words; a word of its own is every equals sign, as bash parts them.
fn in_bash(words: &[&str]) -> Vec<String> {
    let ask = r#"source <("$1" meaning --completion bash) || exit 1
COMP_WORDS=("$@") COMP_CWORD=$(($# - 1)) COMPREPLY=()
complete -p locknut >&2 || exit 1
_locknut
printf '%s\n' "${COMPREPLY[@]}""#;
    let output = Command::new("bash")
        .args(["--norc", "-c", ask, "locknut", PROGRAM])
        .args(words)
        .current_dir(root())
        .output()
        .expect("bash runs");
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && err.trim() == "complete -F _locknut locknut", "{words:?}: {err}");
    String::from_utf8_lossy(&output.stdout).lines().filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

#[test]
fn bash_completes_commands_options_and_names() {
    assert_eq!(in_bash(&["pre"]), ["press"]);
    assert_eq!(in_bash(&["proof", "--l"]), ["--library"]);
    assert_eq!(in_bash(&["proof", "--library", "content/gui"]), ["content/guides"]);
    assert_eq!(in_bash(&["reckon", "chain-l"]), ["chain-length"]);
    assert_eq!(in_bash(&["reckon", "--json", "chain-l"]), ["chain-length"], "an option is no word");
    assert_eq!(in_bash(&["reckon", "chain-length", "chainr"]), ["chainring="]);
    assert_eq!(in_bash(&["reckon", "chain-length", "chainring", "=", "50", "spr"]), ["sprocket="]);
    assert!(in_bash(&["reckon", "chain-length", "chainring", "=", "5"]).is_empty(), "nobody knows the value");
    assert_eq!(in_bash(&["pair", "cassette-11-34", "derailleur-lo"]), ["derailleur-long"]);
    assert_eq!(in_bash(&["pair", "front", "=", "tyre-2"]), ["tyre-25", "tyre-28"]);
    assert_eq!(in_bash(&["meaning", "out-of"]), ["out-of-range"]);
    assert_eq!(in_bash(&["meaning", "--completion", "f"]), ["fish"]);
    assert_eq!(in_bash(&["meaning", "--list", "hazar"]), ["hazards"]);
    assert!(in_bash(&["press", "any"]).is_empty(), "press takes no words");
}

/// Hands a script to a shell that only looks whether it can be read.
fn is_read_by(shell: &str, script: &str) {
    let mut child =
        Command::new(shell).arg("-n").stdin(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
    child.stdin.take().expect("a pipe").write_all(script.as_bytes()).expect("it is written");
    let output = child.wait_with_output().expect("it ends");
    assert!(output.status.success(), "{shell}: {}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn every_shell_can_read_its_script() {
    for shell in ["bash", "zsh", "fish"] {
        let script = said(&["meaning", "--completion", shell]);
        for command in ["press", "proof", "stand", "reckon", "pair", "begin", "fit-out", "meaning"] {
            assert!(script.contains(command), "{shell} is told of {command}");
        }
        if has(shell) {
            is_read_by(shell, &script);
        }
    }
}

#[test]
fn fish_completes_where_it_is_there() {
    if !has("fish") {
        return;
    }
    let folder = Path::new(PROGRAM).parent().expect("a folder");
    let ask = |line: &str| {
        let script = format!("locknut meaning --completion fish | source; complete -C {line:?}");
        let path = format!("{}:{}", folder.display(), std::env::var("PATH").unwrap_or_default());
        let output = Command::new("fish")
            .args(["--no-config", "-c", &script])
            .env("PATH", path)
            .current_dir(root())
            .output()
            .expect("fish runs");
        String::from_utf8_lossy(&output.stdout)
            .lines()
            .map(|line| line.split('\t').next().unwrap_or_default().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(ask("locknut pre"), ["press"]);
    assert_eq!(ask("locknut reckon chain-l"), ["chain-length"]);
    assert_eq!(ask("locknut reckon chain-length chainr"), ["chainring="]);
    assert_eq!(ask("locknut pair derailleur-lo"), ["derailleur-long"]);
    assert_eq!(ask("locknut meaning --completion f"), ["fish"]);
}

#[test]
fn lists_are_quick_and_whole() {
    let parts = said(&["meaning", "--list", "parts"]);
    assert!(parts.lines().any(|line| line == "cassette-11-34") && parts.lines().count() > 50);
    assert!(said(&["meaning", "--list", "bikes"]).lines().eq(["mountain", "road", "roadster"]));
    assert!(said(&["meaning", "--list", "pages"]).contains("guides/drivetrain/chain-wear.md\n"));
    assert_eq!(said(&["meaning", "--list", "inputs", "gear"]).lines().next(), Some("chainring"));
}

#[test]
fn the_manual_page_is_set_without_a_warning() {
    let page = said(&["meaning", "--man"]);
    assert!(page.is_ascii(), "a page that any roff sets");
    for wanted in
        [".SH NAME", ".SH SYNOPSIS", ".SH EXIT STATUS", "locknut fit\\-out", "\\-\\-library", "\\-\\-completion"]
    {
        assert!(page.contains(wanted), "{wanted}");
    }
    let tries: [(&str, &[&str]); 2] = [("groff", &["-man", "-ww", "-z", "-Tutf8"]), ("mandoc", &["-Tlint", "-Werror"])];
    for (program, words) in tries.into_iter().filter(|(program, _)| has(program)) {
        let mut child = Command::new(program)
            .args(words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it runs");
        child.stdin.take().expect("a pipe").write_all(page.as_bytes()).expect("it is written");
        let output = child.wait_with_output().expect("it ends");
        let told = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        assert!(output.status.success() && told.is_empty(), "{program}: {told}");
    }
}
