//! An entry written out slot by slot, under the line it was read from.

use std::{collections::BTreeMap, sync::OnceLock};

use chrono::NaiveDate;
use haulm::{
    base::{
        diagnostic::Diagnostic,
        span::{FileId, Loc},
    },
    measure::{
        display,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::{
        entry::{Entry, Filler, Part, Replacement, Standing},
        frame::Frames,
        journal::{BlockKind, JournalFile},
    },
    parse,
    session::Session,
    understand::{
        clauses::{self, Reading},
        lexicon::Vocabulary,
    },
};

/// The words of the rulebook that ships.
pub fn vocabulary() -> Vocabulary {
    static WORDS: OnceLock<Vocabulary> = OnceLock::new();
    WORDS
        .get_or_init(|| {
            let day = NaiveDate::from_ymd_opt(2026, 7, 1).expect("a day");
            Vocabulary::of(&Session::new().check(day, None).program)
        })
        .clone()
}

/// The frames that ship.
pub fn frames() -> Frames {
    parse::frames::load()
}

/// Parses and reads one text.
pub fn read(text: &str) -> (JournalFile, Reading) {
    let frames = frames();
    let file = parse::journal::parse(FileId(0), text, &frames);
    let reading = clauses::read(std::slice::from_ref(&file), &frames, vocabulary());
    (file, reading)
}

/// Every heading and list item of a text, each with what is read from it and what is said about it.
pub fn beside(text: &str) -> String {
    let (file, reading) = read(text);
    let said: Vec<&Diagnostic> = file.diagnostics.iter().chain(&reading.diagnostics).collect();
    let mut out = String::new();
    for block in &file.blocks {
        let line = text[block.span.range()].trim_end();
        match block.kind {
            BlockKind::Prose => continue,
            BlockKind::Heading { .. } => out.push_str(&format!("\n{line}\n")),
            BlockKind::Item { .. } => out.push_str(&format!("{line}\n")),
        }
        let inside = |loc: Loc| loc.span.start >= block.span.start && loc.span.start < block.span.end;
        for entry in reading.entries().iter().filter(|e| inside(e.loc)) {
            out.push_str(&format!("    {}\n", entry_words(entry)));
        }
        for d in said.iter().filter(|d| d.primary.as_ref().is_some_and(|l| inside(l.loc))) {
            out.push_str(&message(text, d));
        }
    }
    out.trim_start().to_owned()
}

/// A diagnostic with the words it points at, its remarks and its corrections.
pub fn message(text: &str, d: &Diagnostic) -> String {
    let mut out = format!("    {} {}: {}\n", d.severity.word(), d.code, d.message);
    for label in d.primary.iter().chain(&d.secondary) {
        let at = text[label.loc.span.range()].lines().next().unwrap_or("");
        out.push_str(&format!("      at `{at}` {}\n", label.text));
    }
    for remark in &d.remarks {
        out.push_str(&format!("      {:?}: {}\n", remark.kind, remark.text));
    }
    for fix in &d.fixes {
        let at = &text[fix.loc.span.range()];
        out.push_str(&format!("      fix `{at}` -> `{}`: {}\n", fix.text, fix.title));
    }
    out
}

/// An entry on one line, each further group on its own.
pub fn entry_words(e: &Entry) -> String {
    let mut out = e.verb.to_string();
    if let Some(minutes) = e.clock {
        out.push_str(&format!(" @{}", display::clock(minutes)));
    }
    match &e.standing {
        Standing::Done => {}
        Standing::Planned { only_if_clean: Some(test), .. } => {
            out.push_str(&format!(" planned if {} is clean", test.name))
        }
        Standing::Planned { .. } => out.push_str(" planned"),
        Standing::Withdrawn { .. } => out.push_str(" withdrawn"),
    }
    for (n, group) in e.groups.iter().enumerate() {
        out.push_str(if n == 0 { " | " } else { "\n      ; " });
        let slots: Vec<String> =
            group.slots.iter().map(|f| format!("{}={}", f.slot, filler(&f.filler))).collect();
        out.push_str(&slots.join(", "));
    }
    if let Some(words) = &e.words {
        out.push_str(&format!(" | words “{words}”"));
    }
    out
}

fn show(value: &Value) -> String {
    // Kind and name as they are kept, not as they are said to people.
    match value {
        Value::Thing(t) => format!("{} {}", t.kind, t.name),
        Value::Quantity(q) => quantity(*q),
        other => display::value(other, &BTreeMap::new()),
    }
}

/// An amount in the canonical unit of its dimension, so that no change of display shows here.
fn quantity(q: Quantity) -> String {
    let unit = match q.dimension {
        Dimension::Length => " m",
        Dimension::Area => " m2",
        Dimension::Volume => " m3",
        Dimension::Mass => " kg",
        Dimension::Temperature | Dimension::TemperatureDifference => " C",
        Dimension::Duration => " d",
        Dimension::Speed => " m/s",
        Dimension::MassFraction => " kg/kg",
        Dimension::MassFractionPerTime => " kg/kg d",
        Dimension::Conductivity => " S/m",
        Dimension::Share | Dimension::VolumePerVolume => " of 1",
        Dimension::Density => " kg/m3",
        Dimension::MassPerArea => " kg/m2",
        Dimension::Acidity => " pH",
        Dimension::Money => " money",
    };
    let rounded = |n: f64| {
        let text = format!("{n:.3e}");
        text.parse::<f64>().map_or(text, |n| n.to_string())
    };
    let (low, high) = (rounded(q.size.low()), rounded(q.size.high()));
    if low == high { format!("{low}{unit}") } else { format!("{low} to {high}{unit}") }
}

fn filler(f: &Filler) -> String {
    match f {
        Filler::Value(v) => show(v),
        Filler::Part(p) => part(p),
        Filler::Containers { count, container, each } => {
            let each = each.map_or(String::new(), |q| format!(" of {}", quantity(q)));
            format!("{} × {container}{each}", display::range(*count))
        }
        Filler::CountOf { hurt, among, of } => {
            format!("{} of {} {of}", display::range(*hurt), display::range(*among))
        }
        Filler::OfAll { hurt } => {
            hurt.map_or("all of all".to_owned(), |n| format!("{} of all", display::range(n)))
        }
        Filler::Grades(grades) => {
            let all: Vec<String> =
                grades.iter().map(|(n, g)| format!("{} {g}", display::range(*n))).collect();
            format!("[{}]", all.join(", "))
        }
        Filler::Heights(heights) => {
            let all: Vec<String> = heights.iter().map(|h| h.map_or("none".to_owned(), quantity)).collect();
            format!("[{}]", all.join(", "))
        }
        Filler::Ratio(a, b) => format!("{}:{}", display::range(*a), display::range(*b)),
        Filler::Size(sides) => sides.iter().map(|q| quantity(*q)).collect::<Vec<_>>().join(" x "),
        Filler::Wind { speed, word, from } => {
            let speed = speed.map_or(String::new(), quantity);
            format!("wind {speed}{} from {}", word.as_deref().unwrap_or(""), from.as_deref().unwrap_or("?"))
        }
        Filler::Level { level, under } => {
            let level = level.map_or("none".to_owned(), quantity);
            if *under { format!("under {level}") } else { level }
        }
        Filler::Reading { quantity, value, clock, position } => {
            let clock = clock.map_or(String::new(), |m| format!("{} ", display::clock(m)));
            let position = position.as_ref().map_or(String::new(), |p| format!(" at {p}"));
            format!("{clock}{quantity} {}{position}", show(value))
        }
        Filler::Flag => "yes".to_owned(),
        Filler::Words(words) => format!("“{words}”"),
        Filler::Replacement(r) => match &**r {
            Replacement::Never => "never".to_owned(),
            Replacement::Date(day) => day.to_string(),
            Replacement::Amount(f) => filler(f),
            Replacement::Entry(e) => format!("({})", entry_words(e)),
        },
    }
}

fn part(p: &Part) -> String {
    let mut out = Vec::new();
    if p.remainder {
        out.push("the rest".to_owned());
    }
    out.extend(p.share.map(display::range));
    match (p.along, &p.side) {
        (Some(q), side) => out.push(format!("{} {}", side.as_deref().unwrap_or("first"), quantity(q))),
        (None, side) => out.extend(side.as_ref().map(|s| format!("{s} side"))),
    }
    format!("<{} of {} {}>", out.join(" "), p.of.kind, p.of.name)
}
