//! Why something is not so, as text: what the nearest rule has, and what it lacks.
//!
//! Comes in: [`WhyNotSo`]s. Goes out: text.

use super::{
    layout::{Style, count},
    lines,
    paint::Ink,
    why::steps,
};
use crate::{
    base::source::Sources,
    model::explanation::{Attempt, WhyNotSo},
};

/// The answer to `why --not`.
pub fn missing(answers: &[WhyNotSo], sources: &Sources, style: &Style) -> String {
    // Where something asked for holds after all, what does not is beside the point.
    let holding = answers.iter().any(|a| !a.holds.is_empty());
    let answers = answers.iter().filter(|a| !holding || !a.holds.is_empty());
    answers.map(|a| one(a, 0, sources, style)).collect::<Vec<_>>().join("\n")
}

fn one(answer: &WhyNotSo, indent: usize, sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    let pad = " ".repeat(indent);
    if !answer.holds.is_empty() {
        let title = if answer.holds.len() == 1 { "It does hold:" } else { "These do hold:" };
        out.push_str(&lines::lead(&format!("{pad}{title} "), Ink::Strong, &answer.asked, style));
        for step in &answer.holds {
            out.push_str(&steps(step, indent + 2, sources, style));
        }
        return out;
    }
    // Under a rule that lacks it, what is asked stands right above, with what comes near.
    if indent == 0 {
        out.push_str(&lines::lead("Not so: ", Ink::Strong, &answer.asked, style));
        for near in &answer.near {
            out.push_str(&lines::lead("  nearest  ", Ink::Quiet, near, style));
        }
    }
    if !answer.said_by.is_empty() {
        out.push_str(&lines::paragraph(indent + 2, &answer.said_by, style));
    }
    for attempt in &answer.attempts {
        out.push_str(&rule(attempt, indent + 2, sources, style));
    }
    out
}

fn rule(attempt: &Attempt, indent: usize, sources: &Sources, style: &Style) -> String {
    let pad = " ".repeat(indent);
    let title = format!("{}, rule {}", attempt.code, attempt.number);
    let mut out = lines::noted(&pad, &title, &sources.place(attempt.loc), style);
    for step in &attempt.met {
        let note = match &step.by {
            crate::model::explanation::Ground::Line(quote) => sources.place(quote.loc),
            crate::model::explanation::Ground::Page(loc, _) => sources.place(*loc),
            crate::model::explanation::Ground::Rule { code, number, .. } => format!("{code}, rule {number}"),
            _ => String::new(),
        };
        out.push_str(&lines::noted(&format!("{pad}  has    "), &step.says, &note, style));
    }
    out.push_str(&lines::lead(&format!("{pad}  fails  "), Ink::Caution, &attempt.fails, style));
    let inner = indent + 9;
    if !attempt.obstacle.is_empty() {
        out.push_str(&lines::paragraph(inner, &attempt.obstacle, style));
    }
    for near in &attempt.near {
        out.push_str(&lines::lead(&format!("{}nearest: ", " ".repeat(inner)), Ink::Quiet, near, style));
    }
    if let Some(because) = &attempt.because {
        out.push_str(&one(because, inner.min(style.columns() / 3), sources, style));
    }
    if attempt.more > 0 {
        let more = count(attempt.more, "more line is", "more lines are");
        out.push_str(&lines::paragraph(inner, &format!("and {more} not met after that"), style));
    }
    if !attempt.exhaustive {
        let text = "not every way was tried: there may be a nearer one";
        out.push_str(&lines::paragraph(inner, text, style));
    }
    out
}
