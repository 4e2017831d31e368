//! Every command shown in the README is run, and prints what the README shows.
//!
//! A fenced `console` block holds lines `$ haulm …`, each followed by what it prints. Commands are run
//! in the package's folder, in order. Where the README ends an output with a line `…`, the rest is left
//! out; a block marked `console ignore` is only looked at by people.
//!
//! To write the README's outputs anew: `HAULM_BLESS=1 cargo test --test cli readme`.

use std::fs;

use crate::grower::{answer, command, package};

const BLESS: &str = "HAULM_BLESS";

/// One command of the README with what follows it.
#[derive(Debug, PartialEq, Eq)]
struct Shown {
    /// The words after `$ haulm`.
    args: Vec<String>,
    /// The lines shown, without their indentation.
    output: Vec<String>,
    /// The lines of the README that hold the output.
    lines: std::ops::Range<usize>,
}

fn shown(readme: &str) -> Vec<Shown> {
    let mut found: Vec<Shown> = Vec::new();
    let mut inside = false;
    for (n, line) in readme.lines().enumerate() {
        if let Some(info) = line.strip_prefix("```") {
            inside = !inside && info.trim() == "console";
        } else if let (true, Some(typed)) = (inside, line.strip_prefix("$ haulm")) {
            found.push(Shown { args: words(typed), output: Vec::new(), lines: n + 1..n + 1 });
        } else if let (true, Some(last)) = (inside, found.last_mut()) {
            last.output.push(line.to_owned());
            last.lines.end = n + 1;
        }
    }
    found
}

/// The words of a command, as a shell would part them: double quotes hold words together, `#` begins a remark.
fn words(typed: &str) -> Vec<String> {
    let (mut words, mut word, mut quoted, mut begun) = (Vec::new(), String::new(), false, false);
    for c in typed.chars() {
        match c {
            '"' => (quoted, begun) = (!quoted, true),
            '#' if !quoted && !begun => break,
            c if c.is_whitespace() && !quoted => {
                if std::mem::take(&mut begun) {
                    words.push(std::mem::take(&mut word));
                }
            }
            c => {
                word.push(c);
                begun = true;
            }
        }
    }
    if begun {
        words.push(word);
    }
    words
}

fn printed(shown: &Shown) -> Vec<String> {
    let args: Vec<&str> = shown.args.iter().map(String::as_str).collect();
    let answer = answer(command(package(), &args), "");
    let mut lines: Vec<String> = answer.out.lines().map(|l| l.trim_end().to_owned()).collect();
    lines.extend(answer.err.lines().map(|l| l.trim_end().to_owned()));
    // A blank line before the next command or the end of the block is for the eye.
    while lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    lines
}

/// What the README should show: all of it, or as many lines as it shows before its `…`.
fn due(shown: &Shown, printed: Vec<String>) -> Vec<String> {
    let cut = shown.output.iter().rposition(|l| !l.is_empty()).filter(|n| shown.output[*n] == "…");
    let mut due = printed;
    if let Some(cut) = cut {
        due.truncate(cut);
        due.push("…".to_owned());
    }
    let blank = shown.output.iter().rev().take_while(|l| l.is_empty()).count();
    due.extend(std::iter::repeat_n(String::new(), blank));
    due
}

#[test]
fn every_command_in_the_readme_prints_what_is_shown() {
    let path = package().join("README.md");
    let readme = fs::read_to_string(&path).expect("a README");
    let shown = shown(&readme);
    assert!(!shown.is_empty(), "the README shows no command");
    let mut lines: Vec<String> = readme.lines().map(str::to_owned).collect();
    let mut faults = Vec::new();
    for one in shown.iter().rev() {
        let due = due(one, printed(one));
        if due != one.output {
            faults.push(format!(
                "$ haulm {}\nshown:\n{}\nprinted:\n{}",
                one.args.join(" "),
                one.output.join("\n"),
                due.join("\n")
            ));
            lines.splice(one.lines.clone(), due);
        }
    }
    if std::env::var_os(BLESS).is_some() {
        fs::write(&path, lines.join("\n") + "\n").expect("the README is written");
        return;
    }
    assert!(
        faults.is_empty(),
        "{}\n\nTo take what is printed: {BLESS}=1 cargo test --test cli readme",
        faults.join("\n\n")
    );
}

#[test]
fn blocks_are_parted_into_commands_and_outputs() {
    let text = "x\n```console\n$ haulm check a --today 2026-04-04   # a remark\none\n\n$ haulm why \"lot b\"\n```\n\
                ```console ignore\n$ haulm no\n```\n```\n$ haulm no\n```\n";
    let found = shown(text);
    assert_eq!(found.len(), 2, "{found:?}");
    assert_eq!(found[0].args, ["check", "a", "--today", "2026-04-04"]);
    assert_eq!(
        (found[0].output.as_slice(), &found[0].lines),
        (["one".to_owned(), String::new()].as_slice(), &(3..5))
    );
    assert_eq!(found[1].args, ["why", "lot b"]);
}
