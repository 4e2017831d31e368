//! A recipe as text: figures, steps with what stands beside them, lines for the journal.
//!
//! Comes in: a [`Recipe`], or the list of them. Goes out: text. It works nothing out; what is refused is shown
//! alone.

use std::fmt::Write as _;

use super::{
    layout::{Style, columns, hang, pad},
    lines,
    paint::{Ink, paint},
    why,
};
use crate::{
    base::{diagnostic::Severity, name::fold, source::Sources},
    model::{
        explanation::{Ground, Recipe, RecipeLine, RecipeNote, Step},
        program::Told,
    },
};

/// Columns a sum's name takes at most.
const LABEL: usize = 30;

/// A recipe; with `sources`, where its figures come from.
pub fn recipe(recipe: &Recipe, sources: Option<&Sources>, style: &Style) -> String {
    let mut out = heading(recipe, style);
    if !recipe.refused.is_empty() {
        out.push('\n');
        for line in &recipe.refused {
            out.push_str(&lines::lead("  ", Ink::Quiet, &line.text, style));
            out.push_str(&under(line, 2, sources, style));
        }
        return out;
    }
    for line in &recipe.warned {
        out.push('\n');
        out.push_str(&lines::lead("warn   ", Ink::Severity(Severity::Warn), &line.text, style));
        out.push_str(&under(line, 7, sources, style));
    }
    if !recipe.sums.is_empty() {
        out.push('\n');
    }
    let widest = recipe.sums.iter().map(|s| columns(&s.label)).max().unwrap_or(0).min(LABEL);
    for sum in &recipe.sums {
        let lead = format!("  {}  ", pad(&sum.label, widest));
        if columns(&lead) > widest + 4 {
            // A name too long for its column stands above its figure.
            out.push_str(&lines::paragraph(2, &sum.label, style));
            out.push_str(&figure(&" ".repeat(widest + 4), &sum.text, style));
        } else {
            out.push_str(&figure(&lead, &sum.text, style));
        }
        out.push_str(&under(sum, 4, sources, style));
    }
    for (n, step) in recipe.steps.iter().enumerate() {
        if n == 0 {
            out.push('\n');
        }
        out.push_str(&lines::lead(&format!("{:3}  ", n + 1), Ink::Lead, &step.text, style));
        out.push_str(&under(step, 5, sources, style));
    }
    if !recipe.writes.is_empty() {
        out.push('\n');
        out.push_str(&lines::heading("To write in the journal when it is done", style));
        for line in &recipe.writes {
            // A line to paste is left whole.
            let _ = writeln!(out, "  - {}", super::layout::clean(&line.text));
            out.push_str(&under(line, 4, sources, style));
        }
    }
    if sources.is_some() {
        if let Some(prose) = recipe.page.section("Sources") {
            out.push('\n');
            out.push_str(&lines::heading("Sources", style));
            out.push_str(&lines::prose(2, prose, style));
        }
    } else {
        out.push('\n');
        out.push_str(&lines::paragraph(0, &more(recipe), style));
    }
    out
}

/// What else can be asked: where figures come from, and how one was worked out.
fn more(recipe: &Recipe) -> String {
    let which = match recipe.sums.first() {
        Some(sum) if sum.label.contains(' ') => format!("\"{}\"", sum.label),
        Some(sum) => sum.label.clone(),
        None => "1".to_owned(),
    };
    format!("→ --sources: where the figures come from; --why {which}: how that was worked out")
}

fn heading(recipe: &Recipe, style: &Style) -> String {
    let title = format!("Recipe: {}, {}", recipe.asked, recipe.day);
    let room = style.columns().saturating_sub(columns(&recipe.code) + 2);
    if columns(&title) <= room {
        let gap = " ".repeat(style.columns() - columns(&title) - columns(&recipe.code));
        let title = paint(&super::layout::clean(&title), Ink::Strong, style.colour);
        format!("{title}{gap}{}\n", paint(&recipe.code, Ink::Quiet, style.colour))
    } else {
        lines::heading(&super::layout::clean(&title), style)
    }
}

/// A figure behind its name, the figure strong.
fn figure(lead: &str, text: &str, style: &Style) -> String {
    let mut out = String::new();
    for line in hang(lead, &lines::words(text, style), style.columns()) {
        let (head, rest) = line.split_at_checked(lead.len()).unwrap_or((&line, ""));
        let _ = writeln!(out, "{head}{}", paint(rest.trim_end(), Ink::Strong, style.colour));
    }
    out
}

/// What stands beside a line: cautions, notes, and where its figures come from.
fn under(line: &RecipeLine, indent: usize, sources: Option<&Sources>, style: &Style) -> String {
    let mut out = String::new();
    for (part, text) in &line.beside {
        let (word, ink) = match part {
            Told::Caution => ("caution  ", Ink::Caution),
            _ => ("note     ", Ink::Quiet),
        };
        out.push_str(&lines::lead(&format!("{}{word}", " ".repeat(indent)), ink, text, style));
    }
    if sources.is_some() {
        for cited in &line.cited {
            let text = format!("{}: {}", cited.says, cited.source);
            out.push_str(&lines::lead(&format!("{}source   ", " ".repeat(indent)), Ink::Quiet, &text, style));
        }
    }
    out
}

/// How one line of a recipe was worked out: a sum by what it is called, any line by its number counted from
/// the first shown.
///
/// # Errors
/// Says in words that no line is called so.
pub fn worked_out(recipe: &Recipe, which: &str, sources: &Sources, style: &Style) -> Result<String, String> {
    let all: Vec<(Told, &RecipeLine)> = recipe.lines().collect();
    let numbered = which.trim().parse::<usize>().ok().and_then(|n| recipe.steps.get(n.checked_sub(1)?));
    let called = all.iter().find(|(_, line)| !line.label.is_empty() && fold(&line.label) == fold(which));
    let Some(line) = numbered.or(called.map(|(_, line)| *line)) else {
        let names: Vec<String> = recipe.sums.iter().map(|s| format!("`{}`", s.label)).collect();
        let steps = match recipe.steps.len() {
            0 => String::new(),
            n => format!(", and steps are numbered 1 to {n}"),
        };
        return Err(match names.is_empty() {
            true => format!("no figure is called `{which}`{steps}"),
            false => format!("no figure is called `{which}`: there are {}{steps}", names.join(", ")),
        });
    };
    let says =
        if line.label.is_empty() { line.text.clone() } else { format!("{}: {}", line.label, line.text) };
    let mut out = lines::heading(&says, style);
    out.push_str("  because\n");
    for proof in &line.proofs {
        for step in proof.below.iter().filter(|step| style.all || !unasked(step)) {
            out.push_str(&why::steps(&plain(step, style.all), 4, sources, style));
        }
    }
    Ok(out)
}

/// Whether a step only says that something was not asked: what stands in its place stands beside it.
fn unasked(step: &Step) -> bool {
    matches!(step.by, Ground::Absent(_)) && step.says.contains(ASKED)
}

/// A proof without what was not asked, unless everything is wanted.
fn plain(step: &Step, all: bool) -> Step {
    let below = step.below.iter().filter(|step| all || !unasked(step)).map(|step| plain(step, all));
    Step { below: below.collect(), ..step.clone() }
}

/// How a sentence begins that tells what was asked.
const ASKED: &str = "asked of ";

/// The list of recipes: how each is asked for, and what it is for.
pub fn list(notes: &[RecipeNote], style: &Style) -> String {
    let mut out = String::new();
    for (n, note) in notes.iter().enumerate() {
        if n > 0 {
            out.push('\n');
        }
        for way in note.ways.iter().filter(|w| !w.starts_with("with ")) {
            let _ = writeln!(out, "{}", paint(&format!("haulm recipe {way}"), Ink::Strong, style.colour));
        }
        let beside: Vec<&str> =
            note.ways.iter().filter(|w| w.starts_with("with ")).map(String::as_str).collect();
        if !beside.is_empty() {
            out.push_str(&lines::lead("    ", Ink::Quiet, &beside.join(" · "), style));
        }
        out.push_str(&lines::paragraph(4, &first_sentence(&note.is_for), style));
    }
    out.push('\n');
    out.push_str(&lines::paragraph(
        0,
        "Words in capitals are yours to fill in; what stands after a point may be said beside, in any order. \
         `--in DIR` names the journal, `--sources` tells where figures come from, `--why FIGURE` how one was \
         worked out.",
        style,
    ));
    out
}

/// The first sentence of some prose, in one line.
fn first_sentence(prose: &str) -> String {
    let line = prose.split_whitespace().collect::<Vec<_>>().join(" ");
    let end = line.match_indices(". ").map(|(i, _)| i + 1).next().unwrap_or(line.len());
    line[..end].to_owned()
}
