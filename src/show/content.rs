//! What a place is made up of and holds on a day, as text.
//!
//! Comes in: a [`Content`]. Goes out: text: shares in columns, each level with what it rests on.

use std::fmt::Write as _;

use super::{
    layout::{Style, columns, cut},
    lines,
    paint::{Ink, paint},
};
use crate::{
    base::source::Sources,
    model::content::{Against, Content, ContentLevel, Sourced},
};

/// How many rows of a table stand under one level unless all are asked for.
const ROWS: usize = 2;
/// How many journal lines.
const LINES: usize = 6;

/// The make-up and the levels.
pub fn content(content: &Content, sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    if content.shares.is_empty() && content.levels.is_empty() && content.on_top.is_empty() {
        let text = format!("Nothing with a depth, an amount or a finding came to it by {}.", content.day);
        return lines::paragraph(0, &text, style);
    }
    if !content.shares.is_empty() {
        let depth = content.depth.as_ref().map_or_else(String::new, |d| format!(", {d} deep"));
        out.push_str(&lines::heading(&format!("What it is made up of on {}{depth}", content.day), style));
        shares(content, style, &mut out);
    }
    if !content.on_top.is_empty() {
        if !content.shares.is_empty() {
            out.push('\n');
        }
        out.push_str(&lines::heading("What lies on top, and is no part of the ground", style));
        for top in &content.on_top {
            let deep = top.depth.as_ref().map_or_else(|| "depth unknown".to_owned(), |d| format!("{d} deep"));
            out.push_str(&lines::noted("  ", &format!("{}, since {}", top.thing, top.since), &deep, style));
        }
    }
    if !content.levels.is_empty() {
        out.push('\n');
        out.push_str(&lines::heading(&format!("What it may hold on {}", content.day), style));
        for test in &content.tests {
            out.push_str(&lines::paragraph(2, test, style));
        }
        for level in &content.levels {
            one(level, sources, style, &mut out);
        }
        out.push_str(&lines::paragraph(
            2,
            "Only of what was measured or written. None of this is a clearance: test this ground itself \
             before anything sensitive goes in.",
            style,
        ));
        if content.depth.is_some() && content.levels.iter().any(ContentLevel::found) {
            out.push_str(&lines::paragraph(
                2,
                "`haulm recipe dilute` may show a narrower figure: it takes one layer, evenly dug in to one depth, \
                 and nothing gone.",
                style,
            ));
        }
    }
    if !content.lines.is_empty() {
        out.push('\n');
        out.push_str(&lines::heading("Reckoned from", style));
        let shown = if style.all { content.lines.len() } else { content.lines.len().min(LINES) };
        out.push_str(&lines::quotes(2, content.lines.get(..shown).unwrap_or_default(), sources, style));
        if content.lines.len() > shown {
            let more = format!("and {} more (--all shows them)", content.lines.len() - shown);
            out.push_str(&lines::paragraph(2, &more, style));
        }
    }
    out.push_str(&figures(&content.figures, sources, style));
    out
}

/// The figures of tables that something rests on: with `all` each with its source, else how many.
pub fn figures(figures: &[Sourced], sources: &Sources, style: &Style) -> String {
    if figures.is_empty() {
        return String::new();
    }
    if !style.all {
        let many = super::layout::count(figures.len(), "figure of tables", "figures of tables");
        return lines::paragraph(2, &format!("and {many} (--all shows each with its source)"), style);
    }
    let mut out = format!("\n{}", lines::heading("With these figures of tables", style));
    for row in figures {
        out.push_str(&lines::paragraph(2, &said(row, sources), style));
    }
    out
}

/// Names at the left, the two shares in columns at the right.
fn shares(content: &Content, style: &Style, out: &mut String) {
    const COLUMN: usize = 12;
    let left = style.columns().saturating_sub(2 * COLUMN).max(COLUMN);
    let mut row = |name: &str, volume: &str, weight: &str, quiet: bool| {
        let name = cut(name, left.saturating_sub(1), style.unicode);
        let pad = " ".repeat(left.saturating_sub(columns(&name)));
        let text = format!("{name}{pad}{volume:>COLUMN$}{weight:>COLUMN$}");
        let text =
            if quiet { paint(text.trim_end(), Ink::Quiet, style.colour) } else { text.trim_end().to_owned() };
        let _ = writeln!(out, "{text}");
    };
    row("", "by volume", "by weight", true);
    let words = |share: &Option<String>| share.clone().unwrap_or_default();
    for share in &content.shares {
        let name = if share.by_way {
            format!("    in these, {}", share.thing)
        } else {
            format!("  {}", share.thing)
        };
        row(&name, &words(&share.volume), &words(&share.weight), share.by_way);
    }
}

fn one(level: &ContentLevel, sources: &Sources, style: &Style, out: &mut String) {
    out.push_str(&lines::noted("  ", &level.of, &level.level, style));
    let mut part = |name: &str, text: &str| {
        out.push_str(&lines::lead(&format!("    {name:<9}"), Ink::Quiet, text, style));
    };
    for (what, figure) in &level.from {
        part("from", &format!("{what}: {figure}"));
    }
    for course in &level.course {
        part("results", course);
    }
    // Where nothing was found there is nothing to hold against anything: a chance of so little would read as news.
    if !level.found() && !style.all {
        for limit in &level.limits {
            part("limit", &said(limit, sources));
        }
        if let Some(least) = level.against.iter().find(|a| a.unseen.is_some()) {
            let at = least.seen.first().and_then(|row| row.at);
            let at = at.map_or_else(String::new, |loc| format!(" · {}", sources.place(loc)));
            part("", &format!("that none was found says nothing of {}, {}{at}", least.level, hurts(least)));
        }
        return;
    }
    match &level.refused {
        Some(why) => part("no day", why),
        None => level.fades.iter().for_each(|row| part("fades", &said(row, sources))),
    }
    for against in &level.against {
        held(against, sources, style, &mut part);
    }
    for limit in &level.limits {
        part("limit", &said(limit, sources));
    }
}

fn held(against: &Against, sources: &Sources, style: &Style, part: &mut impl FnMut(&str, &str)) {
    part("against", &format!("{}, {}", against.level, hurts(against)));
    if let Some(chance) = &against.chance {
        part("", &format!("a chance of {chance} that it holds no more than that"));
    }
    if !against.from.is_empty() {
        // Chances that share a day are told by the surest of them.
        let days: Vec<String> = against
            .from
            .iter()
            .enumerate()
            .filter(|(n, (_, by))| against.from.get(n + 1).is_none_or(|(_, next)| next != by))
            .map(|(_, (p, by))| format!("{by} ({p})"))
            .collect();
        part("", &format!("the most it may hold is down to that {}", days.join(" · ")));
    }
    let shown = if style.all { against.seen.len() } else { against.seen.len().min(ROWS) };
    for row in against.seen.iter().take(shown) {
        part("seen", &said(row, sources));
    }
    if against.seen.len() > shown {
        part("", &format!("and {} more rows (--all shows them)", against.seen.len() - shown));
    }
    if let Some(row) = &against.unseen {
        part("limit", &format!("{}: that none was found says nothing of so little", said(row, sources)));
    }
}

fn hurts(against: &Against) -> String {
    if against.who.is_empty() {
        "the least known to hurt anything".to_owned()
    } else {
        format!("taken to hurt {}", against.who.join(", "))
    }
}

/// What a row says, on whose word, and where it stands.
fn said(row: &Sourced, sources: &Sources) -> String {
    let source = row.source.as_ref().map_or_else(String::new, |s| format!(" ({s})"));
    let at = row.at.map_or_else(String::new, |loc| format!(" · {}", sources.place(loc)));
    format!("{}{source}{at}", row.says)
}
