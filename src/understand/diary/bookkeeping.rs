//! Lines about other lines and findings: `allow`, `done`, `skipped`.
//!
//! Comes in: entries. Goes out: the grower's bookkeeping as `explain` asks for it. Whether an action
//! or finding of that name exists is for `explain` to say.

use std::sync::Arc;

use crate::{
    measure::{display, value::Value},
    model::{
        diary::{Allow, Closing},
        entry::{Entry, Filler, Standing},
    },
};

/// The `allow` lines.
pub fn allows(entries: &[Entry]) -> Vec<Allow> {
    entries
        .iter()
        .filter(|e| &*e.verb == "allow" && !withdrawn(e))
        .flat_map(|e| e.groups.iter().map(move |g| (e, g)))
        .filter_map(|(e, g)| {
            let code = g.get("code").find_map(|f| word(&f.filler))?;
            Some(Allow {
                entry: e.id,
                code,
                about: g.get("thing").find_map(|f| about(&f.filler)),
                until: g.get("until").find_map(|f| match &f.filler {
                    Filler::Value(Value::Days(d)) => Some(d.last),
                    _ => None,
                }),
                reason: reason(e, g),
            })
        })
        .collect()
}

/// The `done` and `skipped` lines.
pub fn closings(entries: &[Entry]) -> Vec<Closing> {
    entries
        .iter()
        .filter(|e| matches!(&*e.verb, "done" | "skipped") && !withdrawn(e))
        .filter_map(|e| {
            let day = e.days?.first;
            let group = e.groups.first()?;
            let filled = group.get("words").next()?;
            Some(Closing {
                entry: e.id,
                day,
                skipped: &*e.verb == "skipped",
                words: word(&filled.filler)?,
                words_loc: filled.loc,
                reason: reason(e, group),
            })
        })
        .collect()
}

fn withdrawn(e: &Entry) -> bool {
    matches!(e.standing, Standing::Withdrawn { .. })
}

fn reason(e: &Entry, g: &crate::model::entry::Group) -> Option<Arc<str>> {
    g.get("reason").find_map(|f| word(&f.filler)).or_else(|| e.words.clone()).filter(|r| !r.trim().is_empty())
}

fn word(f: &Filler) -> Option<Arc<str>> {
    match f {
        Filler::Value(Value::Word(w)) | Filler::Words(w) => Some(w.clone()),
        _ => None,
    }
}

/// A thing as findings name it.
fn about(f: &Filler) -> Option<String> {
    match f {
        Filler::Value(Value::Thing(t)) => Some(display::thing(t)),
        Filler::Part(p) => Some(display::thing(&p.of)),
        other => word(other).map(|w| w.to_string()),
    }
}
