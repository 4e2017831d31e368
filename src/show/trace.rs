//! Where a thing went and what reached it, as text.
//!
//! Comes in: a [`Trace`]. Goes out: text, each end with its amount, its day and the lines between.

use super::{
    layout::{Style, clean},
    lines,
};
use crate::{
    base::source::Sources,
    model::explanation::{Reach, Trace},
};

/// How many journal lines stand under each end unless all are asked for.
const LINES: usize = 4;

/// A trace, backwards then forwards.
pub fn trace(trace: &Trace, sources: &Sources, style: &Style) -> String {
    let mut out = lines::heading(&clean(&trace.subject), style);
    if let Some(began) = &trace.began {
        out.push_str(&lines::quotes(2, std::slice::from_ref(began), sources, style));
    }
    if let Some(content) = &trace.content {
        out.push('\n');
        out.push_str(&super::content::content(content, sources, style));
    }
    // The ways it came are another question, and long.
    if trace.content.is_some() && !style.all {
        return out;
    }
    for (title, list) in [("What reached it", &trace.backwards), ("Where it went", &trace.forwards)] {
        if !list.is_empty() {
            out.push('\n');
            out.push_str(&lines::heading(title, style));
            for reach in list {
                out.push_str(&one(reach, sources, style));
            }
        }
    }
    if trace.backwards.is_empty() && trace.forwards.is_empty() {
        out.push('\n');
        out.push_str(&lines::paragraph(
            0,
            "No line of the journal takes it anywhere, or anything to it.",
            style,
        ));
    }
    if !trace.balance.is_empty() {
        out.push('\n');
        out.push_str(&lines::heading("What is left", style));
        for says in &trace.balance {
            out.push_str(&lines::paragraph(2, says, style));
        }
    }
    out.push_str(&super::content::figures(&trace.figures, sources, style));
    out
}

fn one(reach: &Reach, sources: &Sources, style: &Style) -> String {
    let amount = reach.amount.as_ref().map_or_else(|| "amount unknown".to_owned(), Clone::clone);
    let text = if reach.planned {
        format!("{} (planned for {})", reach.thing, reach.since)
    } else {
        format!("{}, {} {}", reach.thing, if reach.once { "on" } else { "since" }, reach.since)
    };
    let off = reach.off.as_ref().map(|off| match (off.all, reach.on_top) {
        (true, false) => format!(", taken off {}", off.on),
        (true, true) => " in all, what is left on top".to_owned(),
        (false, true) => ", on top, some taken off".to_owned(),
        (false, false) => format!(", some taken off {}", off.on),
    });
    let on_top = if reach.on_top { ", on top" } else { "" };
    let amount = format!("{amount}{}", off.as_deref().unwrap_or(on_top));
    let note = if reach.planned { "" } else { amount.as_str() };
    let mut out = lines::noted("  ", &text, note, style);
    let shown = if style.all { reach.lines.len() } else { reach.lines.len().min(LINES) };
    out.push_str(&lines::quotes(4, reach.lines.get(..shown).unwrap_or_default(), sources, style));
    if reach.lines.len() > shown {
        let more = format!("and {} more (--all shows them)", reach.lines.len() - shown);
        out.push_str(&lines::paragraph(4, &more, style));
    }
    if let Some(off) = &reach.off {
        out.push_str(&lines::quotes(4, &off.lines, sources, style));
        if let Some(assumed) = &off.assumed {
            out.push_str(&lines::paragraph(6, assumed, style));
        }
    }
    out
}
