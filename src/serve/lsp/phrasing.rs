//! What may be written next on a rule page: the words of rules, and sentences.
//!
//! Comes in: the text before the cursor, and the sentences of the last check. Goes out: what a line of the
//! fence around the cursor may begin or go on with. In an example's journal it is what a journal offers.

use lsp_types::Position;
use serde_json::{Value, json};

use super::{client::Client, complete, place::Lines, round::Round};
use crate::{
    base::name::fold,
    model::sentence::{Origin, Sentence},
};

/// Words that begin a line of a rule, with a head for each kind of conclusion.
const BEGIN: [&str; 3] = ["if", "and", "then"];
const HEADS: [(&str, &str); 7] = [
    ("alarm", "alarm about {${1:thing}}: \"${2:what is wrong}\""),
    ("warn", "warn about {${1:thing}}: \"${2:what is wrong}\""),
    ("hint", "hint about {${1:thing}}: \"${2:what to watch}\""),
    ("do", "do ${1:what} since {${2:day}}, by {${2:day}} + ${3:7 days}, until ${4:sentence}"),
    ("caution", "caution about {${1:thing}}: \"${2:whose word goes first}\""),
    ("answer", "answer \"${1:question}\" in outbreak {${2:o}}: \"${3:answer}\""),
    ("no", "no "),
];
const EXPECTED: [&str; 8] = ["alarm", "warn", "hint", "do", "done", "skipped", "says", "not"];

/// The same on the page of a recipe.
const RECIPE: [(&str, &str); 7] = [
    ("sum", "sum \"${1:what it is called}\": \"{${2:amount}\\}\""),
    ("step", "step: \"${1:what to do}\""),
    ("note", "note: \"${1:what stands beside it}\""),
    ("caution", "caution: \"${1:whose word goes first}\""),
    ("warn", "warn: \"${1:what to know first}\""),
    ("write", "write: \"${1:a line for the journal}\""),
    ("refuse", "refuse: \"${1:what is missing}\""),
];
const TOLD: [&str; 8] = ["sum", "step", "note", "caution", "warn", "write", "refuse", "not"];
/// Where pages of recipes stand.
const RECIPES: &str = "rules/recipes/";

const KEYWORD: u8 = 14;
const SENTENCE: u8 = 23;

/// The fence around a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fence {
    Rule,
    Journal,
    Expect,
    Other,
}

/// The completions at a position of the page of that path.
pub fn complete(client: &Client, round: &Round, path: &str, text: &str, at: Position) -> Value {
    let is_recipe = path.starts_with(RECIPES);
    let lines = Lines::of(text);
    let cursor = lines.offset(text, at, round.encoding);
    let line = lines.line(text, at.line as usize);
    let before = text.get(line.start..cursor).unwrap_or("");
    let fence = fence(text, &lines, at.line as usize);
    let quoted = before.starts_with("Each row says:").then(|| before.rfind('"')).flatten();
    let begin = |words: &[&str]| -> Vec<(String, String)> {
        words.iter().map(|w| ((*w).to_owned(), format!("{w} "))).collect()
    };
    let (start, words, sentences): (usize, Vec<(String, String)>, bool) = match fence {
        Some(Fence::Journal) => return complete::complete(client, round, text, at),
        Some(Fence::Rule) => {
            let concluding = before.trim_start().starts_with("then");
            // `no` begins a line of the body, the others a conclusion.
            let kinds = if is_recipe && concluding { &RECIPE } else { &HEADS };
            let heads = kinds.iter().filter(|(word, _)| (*word == "no") != concluding);
            match after_words(before, &BEGIN, "no") {
                None => (indent(before), begin(&BEGIN), false),
                Some(start) => {
                    (start, heads.map(|(w, s)| ((*w).to_owned(), (*s).to_owned())).collect(), true)
                }
            }
        }
        Some(Fence::Expect) => match after_words(before, &["says", "not says"], "says") {
            Some(start) => (start, Vec::new(), true),
            None => (indent(before), begin(if is_recipe { &TOLD } else { &EXPECTED }), false),
        },
        None if quoted.is_some() => (quoted.map_or(0, |n| n + 1), Vec::new(), true),
        Some(Fence::Other) | None => return json!({ "isIncomplete": false, "items": [] }),
    };
    let typed = before.get(start..).unwrap_or("");
    let range = lines.range(text, line.start + start..cursor, round.encoding);
    let mut items: Vec<Value> = Vec::new();
    let mut offer = |label: &str, snippet: &str, detail: &str, kind: u8| {
        let plain = plain(snippet);
        items.push(json!({
            "label": label, "kind": kind, "detail": detail, "filterText": label,
            "sortText": format!("{} {label}", u8::from(kind == SENTENCE)),
            "insertTextFormat": if client.snippets { 2 } else { 1 },
            "textEdit": { "range": range, "newText": if client.snippets { snippet } else { &plain } },
        }));
    };
    for (word, snippet) in words.iter().filter(|(word, _)| word.starts_with(typed)) {
        offer(word, snippet, "", KEYWORD);
    }
    if sentences {
        let concluding = fence.is_none() || before.trim_start().starts_with("then");
        let fit =
            round.checked.program.sentences.iter().filter(|s| may_stand(s, concluding) && goes_on(s, typed));
        fit.for_each(|s| offer(&s.pattern(), &snippet(s), origin(s), SENTENCE));
    }
    json!({ "isIncomplete": true, "items": items })
}

/// The fence a line stands in, by its language.
fn fence(text: &str, lines: &Lines, number: usize) -> Option<Fence> {
    let mut open: Option<(usize, Fence)> = None;
    for n in 0..number {
        let line = text.get(lines.line(text, n)).unwrap_or("").trim();
        let ticks = line.chars().take_while(|c| *c == '`').count();
        open = match open {
            None if ticks >= 3 => {
                let language = line.get(ticks..).unwrap_or("").split_whitespace().next().unwrap_or("");
                let fence = match language {
                    "rule" => Fence::Rule,
                    "journal" => Fence::Journal,
                    "expect" => Fence::Expect,
                    _ => Fence::Other,
                };
                Some((ticks, fence))
            }
            Some((count, _)) if ticks >= count && line.chars().all(|c| c == '`') => None,
            open => open,
        };
    }
    open.map(|(_, fence)| fence)
}

fn indent(before: &str) -> usize {
    before.len() - before.trim_start().len()
}

/// Where a line goes on after one of these words and perhaps another, if it begins so.
fn after_words(before: &str, words: &[&str], then: &str) -> Option<usize> {
    let from = indent(before);
    let rest = before.get(from..)?;
    let word = words.iter().find(|w| rest.strip_prefix(**w).is_some_and(|r| r.starts_with(' ')))?;
    let mut at = from + word.len();
    at += indent(before.get(at..)?);
    if let Some(after) = before.get(at..)?.strip_prefix(then).filter(|after| after.starts_with(' ')) {
        at += then.len() + indent(after);
    }
    Some(at)
}

/// Whether a rule can read, or conclude, a sentence.
fn may_stand(sentence: &Sentence, concluding: bool) -> bool {
    match sentence.origin {
        Origin::Page => true,
        Origin::Journal | Origin::Reckoned(_) => !concluding,
        Origin::Head => false,
    }
}

/// Whether a sentence goes on from what is typed: the same words so far, whatever stands in the blanks, or
/// all typed words somewhere in it.
fn goes_on(sentence: &Sentence, typed: &str) -> bool {
    let blank = |text: &str| {
        let mut out = String::new();
        let mut within = false;
        for c in text.chars() {
            match c {
                '{' => {
                    within = true;
                    out.push('{');
                }
                '}' => {
                    within = false;
                    out.push('}');
                }
                c if !within => out.push(c),
                _ => {}
            }
        }
        fold(&out)
    };
    let (pattern, typed) = (blank(&sentence.pattern()), blank(typed));
    pattern.starts_with(&typed) || typed.split(' ').all(|word| pattern.contains(word))
}

/// A sentence whose blanks are places to fill.
fn snippet(sentence: &Sentence) -> String {
    sentence.filled(|n| {
        sentence.blanks.get(n).map_or_else(String::new, |b| format!("{{${{{}:{}}}\\}}", n + 1, b.name))
    })
}

/// What says a sentence.
fn origin(sentence: &Sentence) -> &str {
    match &sentence.origin {
        Origin::Journal => "said by the journal",
        Origin::Page => "said by pages",
        Origin::Reckoned(name) => name,
        Origin::Head => "",
    }
}

/// A snippet with its places filled by their names.
fn plain(snippet: &str) -> String {
    let mut out = String::new();
    let mut rest = snippet;
    while let Some(at) = rest.find("${") {
        out.push_str(rest.get(..at).unwrap_or(""));
        let inner = rest.get(at + 2..).unwrap_or("");
        let end = inner.find('}').unwrap_or(inner.len());
        let name = inner.get(..end).unwrap_or("");
        out.push_str(name.split_once(':').map_or("", |(_, name)| name));
        rest = inner.get(end + 1..).unwrap_or("");
    }
    out.push_str(rest);
    out.replace("\\}", "}")
}
