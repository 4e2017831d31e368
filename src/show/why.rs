//! Explanations as text: claims with their journal lines, or with `whole` every step of the proof.
//!
//! Comes in: a [`Why`]. Goes out: text. A proof is said to be one way to see the claim, never the only.

use std::{collections::BTreeSet, fmt::Write as _};

use rustc_hash::FxHashSet;

use super::{
    layout::{Style, clean, columns, count, pad},
    lines,
    paint::{Ink, paint},
    ranking,
};
use crate::{
    base::{diagnostic::Severity, source::Sources, span::Loc},
    measure::{date, value::EntryId},
    model::{
        explanation::{Claim, Ground, Standing, Step, Why},
        finding::{Action, ActionState},
    },
};

/// How many journal lines a claim quotes unless all are asked for.
const LINES: usize = 8;
/// Columns each step is indented under the one it supports.
const STEP: usize = 2;

/// The answer to `why`; with `whole`, every step of one proof of each claim.
pub fn why(why: &Why, sources: &Sources, whole: bool, style: &Style) -> String {
    let mut out = String::new();
    let line = why.line.as_ref();
    // A line asked about is its own heading.
    if line.is_none_or(|l| sources.place(l.loc) != why.subject) {
        out.push_str(&lines::heading(&clean(&why.subject), style));
    }
    if let Some(line) = line {
        let indent = if out.is_empty() { 0 } else { 2 };
        out.push_str(&lines::quotes(indent, std::slice::from_ref(line), sources, style));
    }
    if let Some(page) = &why.page {
        for heading in ["What it notices", "Why it matters"] {
            if let Some(prose) = page.section(heading) {
                out.push_str(&lines::prose(2, prose, style));
            }
        }
    }
    out.push_str(&ranking::rankings(&why.rankings, sources, style));
    if why.claims.is_empty() {
        let open = why.actions.iter().any(|a| a.state == ActionState::Open);
        let none = match (why.page.is_some(), open) {
            (true, true) => {
                let due = style.command("due");
                format!(
                    "Nothing of this kind is found, so check tells nothing of it. What is asked for stands in {due}, and below."
                )
            }
            (true, false) => "Nothing of this kind is found.".to_owned(),
            (false, _) => "Nothing is found about it.".to_owned(),
        };
        out.push('\n');
        out.push_str(&lines::paragraph(0, &none, style));
    }
    for claim in &why.claims {
        out.push('\n');
        out.push_str(&one(claim, sources, whole, style));
    }
    if !whole && why.claims.iter().any(|c| !c.proofs.is_empty()) {
        let codes: BTreeSet<&str> = why.claims.iter().filter_map(|c| c.code.as_deref()).collect();
        let code = match codes.first() {
            Some(code) if codes.len() == 1 => code,
            _ => "CODE",
        };
        let more = format!(
            "→ {} shows every step, each figure with its source; {} the page of the rule",
            style.command(&format!("why {} --whole", why.subject)),
            style.command(&format!("rules show {code}"))
        );
        out.push('\n');
        out.push_str(&lines::paragraph(0, &more, style));
    }
    out.push_str(&actions(&why.actions, style));
    out.push_str(&also(why, whole, style));
    out
}

/// What else holds of it: in full where nothing more telling was said, or where the whole is asked for.
fn also(why: &Why, whole: bool, style: &Style) -> String {
    if why.also.is_empty() {
        return String::new();
    }
    let mut out = String::from("\n");
    let read = why.also.iter().all(|(_, from)| from.starts_with("read"));
    let nothing = why.claims.is_empty() && why.rankings.is_empty();
    if !(whole || read || nothing) {
        let many = count(why.also.len() + why.also_left, "more sentence holds", "more sentences hold");
        out.push_str(&lines::paragraph(0, &format!("{many} of it → --whole shows them"), style));
        return out;
    }
    out.push_str(&lines::heading(if read { "What the line says" } else { "What else holds" }, style));
    for (says, from) in &why.also {
        out.push_str(&lines::noted("  ", says, if read { "" } else { from }, style));
    }
    if why.also_left > 0 {
        out.push_str(&lines::paragraph(2, &format!("and {} more", why.also_left), style));
    }
    out
}

/// One claim.
fn one(claim: &Claim, sources: &Sources, whole: bool, style: &Style) -> String {
    let severity = claim.severity.unwrap_or(Severity::Hint);
    let lead = pad(claim.severity.map_or("", Severity::word), 7);
    let code = claim.code.as_deref().unwrap_or_default();
    let mut out = String::new();
    for (i, line) in lines::noted(&lead, &claim.says, code, style).lines().enumerate() {
        match line.split_at_checked(lead.len()) {
            Some((head, rest)) if i == 0 => {
                let _ = writeln!(out, "{}{rest}", paint(head, Ink::Severity(severity), style.colour));
            }
            _ => {
                let _ = writeln!(out, "{line}");
            }
        }
    }
    match &claim.standing {
        Standing::Said => {}
        Standing::Folded(by) => {
            let text = format!("explained by {by}, and not said on its own");
            out.push_str(&lines::paragraph(7, &text, style));
        }
        Standing::Allowed(by) => out.push_str(&lines::paragraph(7, &format!("kept quiet: {by}"), style)),
    }
    for caution in &claim.cautions {
        out.push_str(&lines::lead("  caution  ", Ink::Caution, caution, style));
    }
    if whole && !claim.proofs.is_empty() {
        let ways = if style.all { claim.proofs.len() } else { 1 };
        let mut told = Told::default();
        for proof in claim.proofs.iter().take(ways) {
            out.push_str("  because\n");
            for step in &proof.below {
                out.push_str(&tree(step, 4, &mut told, sources, style));
            }
        }
        let others = claim.other_ways + claim.proofs.len().saturating_sub(ways);
        if others > 0 {
            let ask = if style.all { "" } else { " (--all shows them)" };
            let more = format!("and in {} of the same kind{ask}", count(others, "more way", "more ways"));
            out.push_str(&lines::paragraph(2, &more, style));
        }
    } else {
        let shown = if style.all { claim.lines.len() } else { claim.lines.len().min(LINES) };
        let quoted = claim.lines.get(..shown).unwrap_or_default();
        out.push_str(&lines::quotes(2, quoted, sources, style));
        let left = claim.lines.len() - quoted.len();
        if left > 0 {
            let more = format!("and {} (--all shows them)", count(left, "more line", "more lines"));
            out.push_str(&lines::paragraph(2, &more, style));
        }
        for absence in claim.absences.iter().take(3) {
            out.push_str(&lines::paragraph(2, absence, style));
        }
    }
    let t = claim.tally;
    let tally = if claim.proofs.is_empty() {
        "The reading of the text says so; no rule is behind it".to_owned()
    } else {
        format!(
            "One way to see it: {}, {}, {}",
            count(t.sentences, "sentence", "sentences"),
            count(t.lines, "journal line", "journal lines"),
            count(t.pages, "page", "pages")
        )
    };
    out.push_str(&lines::paragraph(2, &tally, style));
    out
}

/// A step and those below it, each indented under what it supports.
pub fn steps(step: &Step, indent: usize, sources: &Sources, style: &Style) -> String {
    tree(step, indent, &mut Told::default(), sources, style)
}

/// What need not be told again: entries that were quoted, rows whose source was said.
#[derive(Default)]
struct Told {
    quoted: BTreeSet<EntryId>,
    cited: FxHashSet<Loc>,
}

/// As [`steps`], without what was told already.
fn tree(step: &Step, indent: usize, told: &mut Told, sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    let mut todo = vec![Todo::Step(step, indent)];
    let Told { quoted, cited } = told;
    let deepest = style.columns() / 2;
    while let Some(next) = todo.pop() {
        let (step, indent) = match next {
            Todo::Step(step, indent) => (step, indent),
            Todo::More(n, indent) => {
                out.push_str(&lines::paragraph(indent, &format!("and {n} more"), style));
                continue;
            }
        };
        let at = indent.min(deepest);
        out.push_str(&lines::noted(&" ".repeat(at), &step.says, &note(step, sources), style));
        let under = at + STEP;
        match &step.by {
            Ground::Line(quote) if quoted.insert(quote.entry) => {
                let text = quote_text(&quote.text, under, style);
                out.push_str(&lines::lead(&format!("{}| ", " ".repeat(under)), Ink::Quiet, &text, style));
            }
            Ground::Page(loc, Some(source)) if cited.insert(*loc) => {
                let lead = format!("{}source: ", " ".repeat(under));
                out.push_str(&lines::lead(&lead, Ink::Quiet, source, style));
            }
            Ground::Absent(near) => {
                for near in near {
                    let lead = format!("{}nearest: ", " ".repeat(under));
                    out.push_str(&lines::lead(&lead, Ink::Quiet, near, style));
                }
            }
            Ground::Reckoned { numbers, .. } => {
                for (name, value) in numbers {
                    out.push_str(&lines::paragraph(under, &format!("{name}: {value}"), style));
                }
            }
            _ => {}
        }
        // What comes last is put on the list first.
        if step.left_out > 0 {
            todo.push(Todo::More(step.left_out, under));
        }
        todo.extend(step.below.iter().rev().map(|inner| Todo::Step(inner, under)));
    }
    out
}

/// What is still to be written of a proof.
enum Todo<'s> {
    /// A step with those below it.
    Step(&'s Step, usize),
    /// How many are not listed.
    More(usize, usize),
}

fn quote_text(text: &str, indent: usize, style: &Style) -> String {
    super::layout::cut(text, style.columns().saturating_sub(indent + 2).max(columns("…") + 8), style.unicode)
}

/// What a step rests on, in a word at the right edge.
fn note(step: &Step, sources: &Sources) -> String {
    match &step.by {
        Ground::Line(quote) => sources.place(quote.loc),
        Ground::Page(loc, _) => sources.place(*loc),
        Ground::Given => "given".to_owned(),
        Ground::Rule { code, number, .. } => format!("{code}, rule {number}"),
        Ground::Reckoned { name, .. } => format!("reckoned: {name}"),
        Ground::Absent(_) | Ground::Gathered | Ground::Reasoned => String::new(),
        Ground::Above => "shown above".to_owned(),
    }
}

/// The actions about a subject, open ones first.
fn actions(actions: &[Action], style: &Style) -> String {
    if actions.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}", lines::heading("What is asked for", style));
    for action in actions {
        let state = match action.state {
            ActionState::Open => format!("by {}", date::long(action.by)),
            ActionState::Done(day) => format!("done {}", date::long(day)),
            ActionState::Skipped(day) => format!("skipped {}", date::long(day)),
        };
        out.push_str(&lines::noted("  ", &action.words, &state, style));
    }
    out
}
