//! Pots of a test that are read by no number of their own: `none hurt`, `all hurt`, `3 hurt`.
//!
//! Comes in: entries with amounts. Goes out: such results with the number of pots that stood, and what cannot
//! be: more pots read than were potted. Whether a test was read well is for rules.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::{counted, fold},
    },
    measure::{
        date::Days,
        display,
        number::Range,
        value::{Thing, Value},
    },
    model::entry::{Entry, Filler, Group},
};

use super::{Context, is_plan, things::CONTROL};

/// An arm of a test: its folded name, and whether it is the control.
type Arm = (String, bool);

/// Pots that were potted, or lost, with the day.
type Potted = BTreeMap<Arm, Vec<(Days, Range, bool)>>;

/// Gives results said of all pots their number. One that cannot be is left out, with the group it stands in.
pub fn settle(counting: &mut [Entry], cx: &Context<'_>, said: &mut Vec<Diagnostic>) {
    let potted = potted(counting);
    for e in counting.iter_mut().filter(|e| &*e.verb == "read") {
        let Some(days) = e.days else { continue };
        let mut kept = Vec::new();
        for mut g in Arc::unwrap_or_clone(std::mem::take(&mut e.groups)) {
            let stood = arm(&g).and_then(|arm| standing(&potted, &arm, days));
            match number(&mut g, stood, cx) {
                Some(slip) => said.push(slip),
                None => kept.push(g),
            }
        }
        e.groups = Arc::new(kept);
    }
}

fn potted(counting: &[Entry]) -> Potted {
    let mut out = Potted::new();
    for e in counting.iter().filter(|e| !is_plan(e) && matches!(&*e.verb, "potted" | "lost")) {
        for g in e.groups.iter() {
            let pots = g.get("pots").find_map(|f| match f.filler {
                Filler::Value(Value::Number(n)) => Some(n),
                _ => None,
            });
            if let (Some(days), Some(pots), Some(arm)) = (e.days, pots, arm(g)) {
                out.entry(arm).or_default().push((days, pots, &*e.verb == "lost"));
            }
        }
    }
    out
}

/// The arm a group is about.
fn arm(g: &Group) -> Option<Arm> {
    let thing = |slot: &str| -> Option<Thing> {
        g.get(slot).find_map(|f| match &f.filler {
            Filler::Value(Value::Thing(t)) => Some(t.clone()),
            _ => None,
        })
    };
    match (thing("control"), thing("test")) {
        (Some(of), _) => Some((fold(&of.name), true)),
        (None, Some(test)) => Some((fold(&test.name), &*test.kind == CONTROL)),
        (None, None) => None,
    }
}

/// How many pots of an arm stood on a day; `None` if nothing says.
fn standing(potted: &Potted, arm: &Arm, on: Days) -> Option<Range> {
    let all = potted.get(arm)?;
    let sum = |lost: bool| {
        let of = all.iter().filter(|(d, _, l)| *l == lost && d.first <= on.last);
        of.fold(None, |sum: Option<Range>, (_, n, _)| Some(sum.map_or(*n, |s| s.plus(*n))))
    };
    let stood = sum(false)?;
    Some(sum(true).map_or(stood, |lost| stood.minus(lost)))
}

/// Puts the number in; gives what is wrong with it where there is none, or where it cannot be.
fn number(g: &mut Group, stood: Option<Range>, cx: &Context<'_>) -> Option<Diagnostic> {
    let slip = |code: &str, loc, message: String, label: &str| {
        let d = Diagnostic::new(code, Severity::Error, message).at(loc, label);
        match cx.frames.get("read") {
            Some(frame) => d.remark(RemarkKind::Write, format!("- {}", frame.example)),
            None => d,
        }
    };
    for f in g.slots.iter_mut().filter(|f| &*f.slot == "hurt") {
        let written = cx.text(f.loc).to_owned();
        if let Filler::OfAll { hurt } = &f.filler {
            let Some(among) = stood else {
                let message =
                    format!("`{written}` of how many pots? No `potted` line says how many there were");
                return Some(slip("incomplete-entry", f.loc, message, "so many of so many"));
            };
            f.filler = Filler::CountOf { hurt: hurt.unwrap_or(among), among, of: Arc::from("pot") };
        }
        if let (Filler::CountOf { hurt, among, of }, Some(stood)) = (&f.filler, stood)
            && &**of == "pot"
            && (among.low() > stood.high() || hurt.low() > stood.high())
        {
            let pots = display::range(stood);
            let message = format!("`{written}` cannot be: {} stood there", counted(&pots, "pot"));
            return Some(slip("wrong-measure", f.loc, message, &format!("at most {pots}")));
        }
    }
    None
}
