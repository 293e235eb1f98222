//! Completion for shells, made from the table of commands: what follows a command, an option, or a name.
//!
//! A script holds the commands and their options; names of formulas, parts and words it asks of the program
//! (`locknut meaning --list SORT`), which reads only the lists that it prints and works nothing.

use super::line::OptionOf;
use super::overview::{COMMANDS, Command, Takes};
use std::fmt::Write as _;

/// A shell's name, and what makes its script.
type Shell = (&'static str, fn() -> String);

/// The shells that a script is made for.
pub(super) const SHELLS: &[Shell] = &[("bash", bash), ("zsh", zsh), ("fish", fish)];

/// What may follow an option, or stand as a word.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Next {
    /// Whatever somebody types.
    Free,
    /// A folder.
    Folder,
    /// A word of a list that the program prints.
    Listed(&'static str),
    /// One of these words.
    OneOf(&'static [&'static str]),
}

const SHELL_NAMES: &[&str] = &["bash", "zsh", "fish"];
const BEGUN: &[&str] = &["guide", "reply"];

/// What the value of an option is, by the word that stands for it in the help.
fn value_of(option: &OptionOf) -> Next {
    match option.value.unwrap_or_default() {
        "DIR" => Next::Folder,
        "FORMULA" => Next::Listed("formulas"),
        "SORT" => Next::Listed("sorts"),
        "SHELL" => Next::OneOf(SHELL_NAMES),
        "NAME" if option.name == "--bike" => Next::Listed("bikes"),
        _ => Next::Free,
    }
}

/// What stands as a first word, and as those after it.
fn words_of(takes: Takes) -> (Next, Next) {
    match takes {
        Takes::Nothing => (Next::Free, Next::Free),
        Takes::Formula => (Next::Listed("formulas"), Next::Listed("inputs")),
        Takes::Parts => (Next::Listed("parts"), Next::Listed("parts")),
        Takes::Folder => (Next::Folder, Next::Free),
        Takes::Word => (Next::Listed("all"), Next::Free),
        Takes::Names => (Next::Listed("names"), Next::Listed("names")),
        Takes::Sheets => (Next::Listed("sheets"), Next::Listed("sheets")),
        Takes::Page => (Next::OneOf(BEGUN), Next::Listed("topics")),
    }
}

/// A text within single quotes of a shell.
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "'\\''"))
}

const HEAD: &str = "made by `locknut meaning --completion";

/// What bash does to complete one thing.
fn in_bash(next: Next) -> String {
    match next {
        Next::Free => "return".to_owned(),
        Next::Folder => "_locknut_folders".to_owned(),
        Next::Listed("inputs") => "_locknut_inputs".to_owned(),
        Next::Listed(list) => format!("_locknut_words \"$(_locknut_list {list})\""),
        Next::OneOf(words) => format!("_locknut_words {}", quoted(&words.join("\n"))),
    }
}

fn bash() -> String {
    let names: Vec<&str> = COMMANDS.iter().map(|command| command.name).collect();
    let mut out = format!("# bash completion for locknut; {HEAD} bash`.\n{BASH_HEAD}");
    let _ = write!(out, "  if ((at == 1)); then\n    _locknut_words {}\n    return\n  fi\n", quoted(&names.join("\n")));
    out.push_str("  case ${words[1]} in\n");
    for command in COMMANDS {
        let _ = writeln!(out, "    {})", command.name);
        let with_value: Vec<&OptionOf> = command.options.iter().filter(|option| option.value.is_some()).collect();
        if !with_value.is_empty() {
            out.push_str("      case $before in\n");
            for option in with_value {
                let _ = writeln!(out, "        {}) {}; return ;;", option.name, in_bash(value_of(option)));
            }
            out.push_str("      esac\n");
        }
        let options: Vec<&str> = command.options.iter().map(|option| option.name).collect();
        let _ =
            writeln!(out, "      [[ $cur == -* ]] && {{ _locknut_words {}; return; }}", quoted(&options.join("\n")));
        let (first, later) = words_of(command.takes);
        let valued: Vec<&str> =
            command.options.iter().filter(|option| option.value.is_some()).map(|option| option.name).collect();
        let _ = writeln!(out, "      _locknut_count {}", quoted(&format!(" {} ", valued.join(" "))));
        let _ = writeln!(out, "      if ((count == 0)); then {}; else {}; fi ;;", in_bash(first), in_bash(later));
    }
    out.push_str("  esac\n}\ncomplete -F _locknut locknut\n");
    out
}

const BASH_HEAD: &str = r#"_locknut_list() {
  local library= place
  for ((place = 2; place < ${#words[@]} - 1; place++)); do
    [[ ${words[place]} == --library ]] && library=${words[place + 1]}
  done
  "${words[0]}" meaning --list "$@" ${library:+--library "$library"} 2>/dev/null
}
# Offers the lines of a text that begin with what is typed; lines with a space would need quotes and are left out.
_locknut_words() {
  local line
  while IFS= read -r line; do
    [[ $line == "$cur"* && $line != *' '* && -n $line ]] && COMPREPLY+=("$line")
  done <<<"$1"
}
_locknut_folders() {
  compopt -o filenames 2>/dev/null
  local line
  while IFS= read -r line; do COMPREPLY+=("$line"); done < <(compgen -d -- "$cur")
}
# The inputs of the formula that stands first, each with its equals sign.
_locknut_inputs() {
  [[ $after_equals == yes ]] && return
  compopt -o nospace 2>/dev/null
  _locknut_words "$(_locknut_list inputs "$first" | sed 's/$/=/')"
}
# Counts the words before the one that is typed, options and their values left out; keeps the first.
_locknut_count() {
  local place
  count=0 first=
  for ((place = 2; place < at; place++)); do
    if [[ ${words[place]} == -* ]]; then
      [[ $1 == *" ${words[place]} "* ]] && ((place += 1))
      continue
    fi
    ((count == 0)) && first=${words[place]}
    ((count += 1))
  done
}
_locknut() {
  # An equals sign parts words for bash; here name=value is one word, and --name=value an option with its value.
  local words=() at=0 place part joined=no after_equals=no
  for ((place = 0; place <= COMP_CWORD; place++)); do
    part=${COMP_WORDS[place]}
    if [[ $part == = && ${#words[@]} -gt 0 ]]; then
      joined=yes
      [[ ${words[-1]} == --* ]] || words[-1]+='='
    elif [[ $joined == yes && ${words[-1]} != --* ]]; then
      words[-1]+=$part joined=no
    else
      words+=("$part") joined=no
    fi
  done
  [[ $joined == yes && ${words[-1]} == --* ]] && words+=('')
  at=$((${#words[@]} - 1))
  local cur=${words[at]} before= count first
  ((at > 0)) && before=${words[at - 1]}
  # What stands before an equals sign is kept by bash itself.
  if [[ $cur == *=* ]]; then after_equals=yes cur=${cur#*=}; fi
  COMPREPLY=()
"#;

/// What zsh does to complete one thing.
fn in_zsh(next: Next) -> String {
    match next {
        Next::Free => " ".to_owned(),
        Next::Folder => "_files -/".to_owned(),
        Next::Listed("inputs") => "_locknut_inputs".to_owned(),
        Next::Listed(list) => format!("_locknut_list {list}"),
        Next::OneOf(words) => format!("({})", words.join(" ")),
    }
}

fn zsh() -> String {
    let mut out = format!("#compdef locknut\n# zsh completion for locknut; {HEAD} zsh`.\n{ZSH_HEAD}");
    out.push_str("  local -a commands=(\n");
    for command in COMMANDS {
        let _ = writeln!(out, "    {}", quoted(&format!("{}:{}", command.name, command.about)));
    }
    out.push_str("  )\n  if ((CURRENT == 2)); then\n    _describe command commands\n    return\n  fi\n");
    out.push_str("  local locknut_program=$words[1] locknut_command=$words[2]\n  shift words\n  ((CURRENT--))\n");
    out.push_str("  case $locknut_command in\n");
    for command in COMMANDS {
        let _ = write!(out, "    {}) _arguments", command.name);
        for option in command.options {
            out.push_str(&format!(" \\\n      {}", quoted(&zsh_option(option))));
        }
        let (first, later) = words_of(command.takes);
        if first != Next::Free {
            let _ = write!(
                out,
                " \\\n      {} \\\n      {}",
                quoted(&format!("1:word:{}", in_zsh(first))),
                quoted(&format!("*:word:{}", in_zsh(later)))
            );
        }
        out.push_str(" ;;\n");
    }
    out.push_str("  esac\n}\n_locknut \"$@\"\n");
    out
}

fn zsh_option(option: &OptionOf) -> String {
    let about = option.about.replace(['[', ']'], "").replace(':', "\\:");
    match option.value {
        None => format!("{}[{about}]", option.name),
        Some(value) => format!("{}=[{about}]:{value}:{}", option.name, in_zsh(value_of(option))),
    }
}

const ZSH_HEAD: &str = r#"# zsh puts options of compadd before the name of the list.
_locknut_list() {
  local -a found
  found=(${(f)"$($locknut_program meaning --list $@[-1] ${opt_args[--library]:+--library} ${opt_args[--library]} 2>/dev/null)"})
  compadd "${@[1,-2]}" -a found
}
_locknut_inputs() {
  local -a found
  found=(${(f)"$($locknut_program meaning --list inputs ${line[1]} 2>/dev/null)"})
  compadd "$@" -S = -a found
}
_locknut() {
  local -A opt_args
  local -a line
"#;

/// What fish does to complete one thing.
fn in_fish(next: Next) -> Option<String> {
    match next {
        Next::Free => None,
        Next::Folder => Some("(__fish_complete_directories)".to_owned()),
        Next::Listed("inputs") => Some("(__locknut_inputs)".to_owned()),
        Next::Listed(list) => Some(format!("(locknut meaning --list {list} 2>/dev/null)")),
        Next::OneOf(words) => Some(words.join(" ")),
    }
}

fn fish() -> String {
    let mut out = format!("# fish completion for locknut; {HEAD} fish`.\n{FISH_HEAD}");
    for command in COMMANDS {
        let _ = writeln!(
            out,
            "complete -c locknut -n __fish_use_subcommand -a {} -d {}",
            command.name,
            quoted(command.about)
        );
        write_fish(&mut out, command);
    }
    out
}

fn write_fish(out: &mut String, command: &Command) {
    let seen = quoted(&format!("__fish_seen_subcommand_from {}", command.name));
    for option in command.options {
        let _ = write!(out, "complete -c locknut -n {seen} -l {}", option.name.trim_start_matches('-'));
        if option.value.is_some() {
            out.push_str(" -r");
        }
        if let Some(words) = in_fish(value_of(option)) {
            let _ = write!(out, " -a {}", quoted(&words));
        }
        let _ = writeln!(out, " -d {}", quoted(option.about));
    }
    let (first, later) = words_of(command.takes);
    for (next, place) in [(first, "= 2"), (later, "-gt 2")] {
        if let Some(words) = in_fish(next) {
            let when =
                quoted(&format!("__fish_seen_subcommand_from {}; and test (__locknut_count) {place}", command.name));
            let _ = writeln!(out, "complete -c locknut -n {when} -a {}", quoted(&words));
        }
    }
}

const FISH_HEAD: &str = r"function __locknut_count
    count (commandline -opc | string match -v -- '-*')
end
function __locknut_inputs
    set -l words (commandline -opc | string match -v -- '-*')
    locknut meaning --list inputs $words[3] 2>/dev/null | string replace -r '$' '='
end
complete -c locknut -f
";
