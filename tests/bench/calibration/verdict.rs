//! What haulm makes of a diary on a day, and whether that is right.
//!
//! Comes in: a grower's diary and the true cause. Goes out: the chances of the outbreak the truth belongs
//! to, read from the same sentences `haulm why` ranks by, and the thing it says would settle the matter.

use std::collections::BTreeMap;

use haulm::{
    base::{diagnostic::Severity, source::SourceFile},
    measure::{display, value::Value},
    session::{Checked, Session},
};

use super::{diary::date, figures::Cause, grower::Grower, world::Day};

/// A suspect: its word, the load or field it is of, its chance.
pub type Suspect = (String, Option<String>, f64);

/// What haulm makes of one outbreak.
#[derive(Debug, Clone)]
pub struct Verdict {
    pub outbreak: String,
    /// The likeliest first.
    pub suspects: Vec<Suspect>,
    /// Questions answered: which, of what, how.
    pub answers: Vec<(String, Option<String>, String)>,
    /// Over how many outbreaks the hurt plantings are strewn.
    pub strewn: usize,
}

/// What would settle it: to do, of what, in how many days.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    pub doing: String,
    pub about: Option<String>,
    pub days: i64,
}

/// Checks a diary as it stands on a day.
pub fn check(session: &mut Session, text: &str, day: Day) -> Checked {
    session.set_text("season.md", text);
    session.check(date(day), Some(date(day)))
}

/// What is wrong with how a diary reads: every message of an error.
pub fn errors(checked: &Checked) -> Vec<String> {
    let bad = checked.report.findings.iter().filter(|d| d.severity == Severity::Error);
    bad.map(|d| {
        let file: Option<&SourceFile> = d.primary.as_ref().map(|l| checked.sources.file(l.loc.file));
        let line = d.primary.as_ref().and_then(|l| {
            let text = &file?.text;
            let from = text[..l.loc.span.start as usize].rfind('\n').map_or(0, |n| n + 1);
            text[from..].lines().next().map(str::to_owned)
        });
        format!("{}: {} <- {}", d.code, d.message, line.unwrap_or_default())
    })
    .collect()
}

fn told(value: &Value) -> String {
    match value {
        Value::Thing(t) => display::thing(t),
        Value::Word(w) => w.to_string(),
        _ => String::new(),
    }
}

/// All rows of a sentence of this pattern.
fn rows(checked: &Checked, pattern: &str) -> Vec<Vec<Value>> {
    let model = &checked.model;
    let id = checked.program.sentences.iter().position(|s| s.pattern() == pattern);
    let Some(id) = id.and_then(|n| u32::try_from(n).ok()) else { return Vec::new() };
    let rows = model.rows(haulm::model::sentence::SentenceId(id));
    rows.into_iter().map(|r| model.values(r).cloned().collect()).collect()
}

/// The outbreak that holds most of the plantings the grower says are hurt, with its suspects.
pub fn verdict(checked: &Checked, grower: &Grower<'_>) -> Option<Verdict> {
    let farm = grower.farm;
    let hurt: Vec<(&str, String)> = grower
        .told_hurt
        .keys()
        .map(|p| (farm.plantings[*p].crop.name, format!("bed {}", grower.bed(farm.plantings[*p].bed))))
        .collect();
    let mut held: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows(checked, "{outbreak} holds {crop} in {place} since {day}") {
        let (outbreak, crop, place) = (told(&row[0]), told(&row[1]), told(&row[2]));
        let here = hurt.iter().any(|(c, b)| *c == crop && *b == place);
        *held.entry(outbreak).or_default() += usize::from(here);
    }
    let strewn = held.values().filter(|n| **n > 0).count();
    let outbreak = held.into_iter().filter(|(_, n)| *n > 0).max_by_key(|(_, n)| *n)?.0;
    let mut suspects: Vec<Suspect> = Vec::new();
    let share = |v: &Value| if let Value::Quantity(q) = v { q.size.low.into_inner() } else { 0.0 };
    for row in rows(checked, "{cause} has a chance of {p} in {outbreak}") {
        if told(&row[2]) == outbreak {
            suspects.push((told(&row[0]), None, share(&row[1])));
        }
    }
    for row in rows(checked, "{cause} of {subject} has a chance of {p} in {outbreak}") {
        if told(&row[3]) == outbreak {
            suspects.push((told(&row[0]), Some(told(&row[1])), share(&row[2])));
        }
    }
    suspects.sort_by(|a, b| b.2.total_cmp(&a.2));
    let plain = rows(checked, "in {outbreak}, {question} is answered {answer}");
    let of = rows(checked, "in {outbreak}, {question} about {subject} is answered {answer}");
    let answers = plain
        .iter()
        .map(|r| (told(&r[0]), (told(&r[1]), None, told(&r[2]))))
        .chain(of.iter().map(|r| (told(&r[0]), (told(&r[1]), Some(told(&r[2])), told(&r[3])))))
        .filter(|(of, _)| *of == outbreak)
        .map(|(_, answer)| answer)
        .collect();
    (!suspects.is_empty()).then_some(Verdict { outbreak, suspects, answers, strewn })
}

/// What haulm says would settle an outbreak soonest.
pub fn asked(checked: &Checked, grower: &Grower<'_>, outbreak: &str) -> Option<Asked> {
    let one = grower.told_hurt.keys().next()?;
    for p in std::iter::once(one).chain(grower.told_hurt.keys()) {
        let why = checked.why(grower.bed(grower.farm.plantings[*p].bed)).ok()?;
        if let Some(ranked) = why.rankings.into_iter().find(|r| r.outbreak == outbreak) {
            let s = ranked.settle?;
            return Some(Asked {
                doing: s.doing,
                about: s.about,
                days: s.days.unwrap_or(0.0).round() as i64,
            });
        }
    }
    None
}

/// Which suspects are right: one list for each thing that truly ails the farm, any of the list will do.
///
/// Where the diary never says that the load came onto hurt ground, nobody can name it: then *something
/// else* is right as well.
pub fn right(grower: &Grower<'_>) -> Vec<Vec<(&'static str, Option<String>)>> {
    let farm = grower.farm;
    let of_lots = |word: &'static str| {
        let hurt: Vec<usize> = grower.told_hurt.keys().map(|p| farm.plantings[*p].bed).collect();
        let named = |n: &&usize| hurt.iter().any(|b| grower.known_spreads.contains(&(**n, *b)));
        let known: Vec<_> = farm
            .by_lots
            .iter()
            .filter(named)
            .map(|n| (word, Some(format!("lot {}", farm.lots[*n].name))))
            .collect();
        if known.is_empty() { vec![(word, None), ("something-else", None)] } else { known }
    };
    let of_field = || {
        let field = farm.by_spraying.map(|s| farm.sprayings[s].field);
        let known = grower.known_sprayings.iter().any(|s| Some(farm.sprayings[*s].field) == field);
        match field {
            Some(f) if known => vec![("drift", Some(format!("field {}", farm.fields[f].name)))],
            _ => vec![("drift", None)],
        }
    };
    let plain = |word| vec![vec![(word, None)]];
    match farm.cause {
        Cause::Carryover => vec![of_lots("carryover")],
        Cause::Drift => vec![of_field()],
        Cause::CarryoverAndDrift => vec![of_lots("carryover"), of_field()],
        Cause::RawCompost => vec![of_lots("raw-compost")],
        Cause::Salts => vec![of_lots("salts")],
        Cause::TieUp => vec![of_lots("nitrogen-tie-up")],
        Cause::OwnSpray => plain("own-spray"),
        Cause::Virus => plain("virus"),
        Cause::Mites => plain("mites"),
        Cause::Roll => plain("physiological-roll"),
        Cause::Cold => plain("cold"),
        Cause::Waterlogging => plain("waterlogging"),
        Cause::RootKnot => plain("root-knot"),
        Cause::Heat
        | Cause::PoorSeed
        | Cause::Lack
        | Cause::Overfed
        | Cause::Gnawed
        | Cause::DampedOff
        | Cause::Wilt
        | Cause::Blight => plain("something-else"),
    }
}
