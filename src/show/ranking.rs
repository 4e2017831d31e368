//! Which causes fit, as text: chances, question by question, and what would settle it.
//!
//! Comes in: [`Ranked`] outbreaks. Goes out: text. What is judgement is called so; no figure is added here.

use std::{collections::BTreeSet, fmt::Write as _};

use super::{
    layout::{Style, clean, columns, pad, wrap},
    lines,
    paint::{Ink, paint},
};
use crate::{
    base::{source::Sources, span::FileId},
    model::explanation::{Quote, Ranked, RankedAnswer, Settle},
};

/// Below this many columns questions are told one under the other.
const TABLE: usize = 64;
/// Columns of a chance.
const CHANCE: usize = 18;
/// Columns of what is asked.
const ASKS: usize = 21;
/// How many unanswered questions are named.
const UNASKED: usize = 5;

/// The rankings of one subject.
pub fn rankings(all: &[Ranked], sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    let files: BTreeSet<FileId> =
        all.iter().flat_map(|r| &r.asked).flat_map(|a| &a.lines).map(|q| q.loc.file).collect();
    for ranked in all {
        out.push('\n');
        out.push_str(&one(ranked, sources, files.len() == 1, style));
    }
    let pages: BTreeSet<&str> = all.iter().filter_map(|r| r.suspects.first()).map(|s| &*s.page).collect();
    if !pages.is_empty() {
        let pages: Vec<String> = pages.iter().map(|p| format!("haulm rules show {p}")).collect();
        let text = format!(
            "The figures behind the chances are judgement; each page of a cause says what they lean on → {}",
            pages.join(", ")
        );
        out.push_str(&lines::paragraph(2, &text, style));
    }
    out
}

fn one(ranked: &Ranked, sources: &Sources, one_file: bool, style: &Style) -> String {
    let heading = format!("Hurt since {}: {}. What fits:", ranked.since, clean(&ranked.places));
    let mut out = lines::heading(&heading, style);
    let chance = |shown: &str, range: Option<&String>| {
        let range = range.map_or_else(String::new, |r| format!(" ({r})"));
        format!("  {}  ", pad(&format!("{shown}{range}"), CHANCE))
    };
    for (n, s) in ranked.suspects.iter().enumerate() {
        let lead = chance(&s.shown, s.range.as_ref());
        let ink = if n == 0 { Ink::Strong } else { Ink::Quiet };
        let told = if s.together >= 1.0 {
            format!("{} ({:.0} of these together with one above)", s.told, s.together)
        } else {
            s.told.clone()
        };
        out.push_str(&lines::lead(&lead, ink, &told, style));
    }
    if ranked.left_out > 0 {
        let text = format!("{} others, each less likely", ranked.left_out);
        out.push_str(&lines::lead(&chance("", None), Ink::Quiet, &text, style));
    }
    for s in &ranked.shared {
        let text = format!("{}, whichever of its {} sources it is", s.page, s.suspects);
        out.push_str(&lines::lead(&chance(&s.shown, s.range.as_ref()), Ink::Quiet, &text, style));
    }
    if ranked.suspects.iter().any(|s| s.range.is_some()) {
        out.push_str(&lines::paragraph(
            2,
            "In brackets: the least and the most it comes to if any one answer is left out.",
            style,
        ));
    }
    out.push('\n');
    if ranked.asked.is_empty() {
        out.push_str(&lines::paragraph(
            2,
            "No question has been answered yet: these are what it starts with.",
            style,
        ));
    } else {
        out.push_str(&table(ranked, sources, one_file, style));
        if let (Some((first, second)), true) = (&ranked.between, ranked.suspects.len() > 1) {
            let (for_, against) = if ranked.favours == 0 { (first, second) } else { (second, first) };
            let text = if ranked.support < 2.0 {
                format!("All of it together: no support for {first} against {second} either way")
            } else {
                format!(
                    "All of it together is {} times as likely under {for_} as under {against}: {} support, {} of \
                     the scale that forensic reports use (ENFSI, 2015)",
                    whole(ranked.support),
                    ranked.support_words,
                    ranked.support_step
                )
            };
            out.push_str(&lines::paragraph(2, &text, style));
            out.push_str(&lines::paragraph(2, &before(ranked.before, first, second), style));
        }
    }
    for (title, questions) in
        [("  Nobody has looked at: ", &ranked.unasked), ("  Not plain yet: ", &ranked.unclear)]
    {
        if questions.is_empty() {
            continue;
        }
        let shown: Vec<&str> = questions.iter().take(UNASKED).map(String::as_str).collect();
        let left = questions.len() - shown.len();
        let more = if left > 0 { format!(" · {left} more") } else { String::new() };
        out.push_str(&lines::lead(title, Ink::Lead, &format!("{}{more}", shown.join(" · ")), style));
    }
    out.push_str(&settle(ranked.settle.as_ref(), style));
    out
}

/// What the first two were worth before anybody looked.
fn before(ratio: f64, first: &str, second: &str) -> String {
    let (n, likelier, other) =
        if ratio < 1.0 { (1.0 / ratio, second, first) } else { (ratio, first, second) };
    if n < 1.05 {
        format!("Before any look, {first} and {second} were as likely as each other.")
    } else {
        format!("Before any look, {likelier} was {} times as likely as {other}.", whole(n))
    }
}

fn whole(n: f64) -> String {
    if n < 9.95 { format!("{n:.1}").trim_end_matches(".0").to_owned() } else { format!("{n:.0}") }
}

/// Question by question.
fn table(ranked: &Ranked, sources: &Sources, one_file: bool, style: &Style) -> String {
    let mut out = String::new();
    let heads: Vec<String> = ranked.asked.iter().map(|a| between(ranked, a)).collect();
    let last = heads.iter().map(|h| columns(h)).max().unwrap_or(0).clamp(9, 30);
    let says = style.columns().saturating_sub(2 + ASKS + 2 + 2 + last).max(16);
    // Answers about the lot or spraying of another suspect stand under a heading of their own.
    let mut others: Vec<&(String, String)> = ranked.asked.iter().filter_map(|a| a.against.as_ref()).collect();
    let mut seen = BTreeSet::new();
    others.retain(|other| seen.insert(*other));
    let subjects: BTreeSet<&String> = ranked.asked.iter().filter_map(|a| a.about.as_ref()).collect();
    for other in std::iter::once(None).chain(others.into_iter().map(Some)) {
        let these = |a: &&RankedAnswer| a.against.as_ref() == other;
        let asked: Vec<&RankedAnswer> = ranked.asked.iter().filter(these).collect();
        let Some(first) = asked.first() else { continue };
        if let Some((_, told)) = other {
            let text = format!("Asked about another suspect, {told}, so held against that one:");
            out.push_str(&lines::paragraph(2, &text, style));
        }
        // Under a heading that names the suspect there is one lot or spraying, else perhaps several.
        let named = other.is_none() && subjects.len() > 1;
        let table = Table { between: between(ranked, first), says, named, one_file };
        out.push_str(&table.rows(&asked, sources, style));
    }
    out
}

/// The two causes that an answer is held between, as a heading.
fn between(ranked: &Ranked, answer: &RankedAnswer) -> String {
    let Some((first, second)) = &ranked.between else { return String::new() };
    let leads = ranked.suspects.first().map_or("", |s| &s.page);
    match &answer.against {
        Some((other, _)) if *other == leads => "first : this one".to_owned(),
        Some((other, _)) => format!("{leads} : {other}"),
        None => format!("{first} : {second}"),
    }
}

/// How answers that are held between the same two causes are laid out.
struct Table {
    /// The two causes, as a heading.
    between: String,
    /// Columns of what the diary says.
    says: usize,
    /// Whether a question names the lot or spraying it is asked of.
    named: bool,
    /// Whether all lines stand in one file.
    one_file: bool,
}

impl Table {
    fn rows(&self, asked: &[&RankedAnswer], sources: &Sources, style: &Style) -> String {
        let (says, between) = (self.says, &self.between);
        let mut out = String::new();
        if style.columns() < TABLE {
            for a in asked {
                let text = format!("{} {}", a.answer, places(a, sources, self.one_file));
                out.push_str(&lines::paragraph(2, &format!("{}: {}", self.asks(a), text.trim_end()), style));
                let notes = notes(a).join(", ");
                let ratio = if notes.is_empty() { a.shown.clone() } else { format!("{}, {notes}", a.shown) };
                out.push_str(&lines::paragraph(4, &format!("{between}  {ratio}"), style));
            }
            return out;
        }
        let head = format!("  {}  {}  {between}", pad("asked", ASKS), pad("the diary says", says));
        let _ = writeln!(out, "{}", paint(head.trim_end(), Ink::Quiet, style.colour));
        for a in asked {
            let told = format!("{} {}", lines::words(&a.answer, style), places(a, sources, self.one_file));
            let mut cells = [
                wrap(&lines::words(&self.asks(a), style), ASKS, ASKS),
                wrap(&told, says, says),
                std::iter::once(a.shown.clone()).filter(|s| !s.is_empty()).collect::<Vec<String>>(),
            ];
            for note in notes(a) {
                cells[1].extend(wrap(&lines::words(&format!("({note})"), style), says, says));
            }
            let rows = cells.iter().map(Vec::len).max().unwrap_or(0);
            for n in 0..rows {
                let cell = |c: usize| cells.get(c).and_then(|c| c.get(n)).map_or("", String::as_str);
                let line = format!("  {}  {}  {}", pad(cell(0), ASKS), pad(cell(1), says), cell(2));
                let _ = writeln!(out, "{}", line.trim_end());
            }
        }
        out
    }

    fn asks(&self, a: &RankedAnswer) -> String {
        match &a.about {
            Some(about) if self.named => format!("{} ({about})", a.asks),
            _ => a.asks.clone(),
        }
    }
}

/// What stands beside a ratio: where it is one, which cause the answer does speak for or against, and how much so
/// small a count can say.
fn notes(a: &RankedAnswer) -> Vec<String> {
    let apart = a.apart.as_ref().map(|(told, _, shown)| {
        let two = if a.against.is_some() { "between these two" } else { "between the first two" };
        format!("no difference {two}; {shown} against {told}")
    });
    apart.into_iter().chain(Some(a.note.clone()).filter(|n| !n.is_empty())).collect()
}

/// The lines an answer rests on: `:31 :33`, with the file where there are several.
fn places(a: &RankedAnswer, sources: &Sources, one_file: bool) -> String {
    const SHOWN: usize = 3;
    // The latest lines are those that answer; the earlier ones say why it was asked. Of several tests each shows its own.
    let left = a.lines.len().saturating_sub(SHOWN * a.tests.max(1));
    let place = |q: &Quote| {
        let place = sources.place(q.loc);
        match place.rsplit_once(':') {
            Some((_, line)) if one_file => format!(":{line}"),
            _ => place,
        }
    };
    let all: Vec<String> = a.lines.iter().skip(left).map(place).collect();
    all.join(" ")
}

fn settle(settle: Option<&Settle>, style: &Style) -> String {
    let Some(s) = settle else {
        return lines::paragraph(2, "No single look would change this much.", style);
    };
    let days = match s.days {
        Some(d) if d >= 1.5 => format!("{d:.0} days"),
        Some(d) if d >= 0.5 => "a day".to_owned(),
        _ => "today".to_owned(),
    };
    let money = match s.money.as_deref() {
        None | Some("nothing") => "no money".to_owned(),
        Some(money) => money.to_owned(),
    };
    let about = s.about.as_ref().map(|a| format!(" ({a})")).unwrap_or_default();
    let text = format!("{}{about}: {days}, {money}", s.doing);
    let mut out = lines::lead("  What would settle it soonest: ", Ink::Lead, &text, style);
    for (answer, leads, chance, likely) in &s.outcomes {
        let text = format!("{answer} ({:.0} in 100) → {chance} {leads}", likely * 100.0);
        out.push_str(&lines::lead("    ", Ink::Quiet, &text, style));
    }
    out
}
