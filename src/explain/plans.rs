//! Plans of the diary as things to do.
//!
//! Comes in: the diary. Goes out: an action for every plan still open, due on its day. A plan is never
//! evidence; whether it is past is said by the reading.

use super::{Known, say};
use crate::{
    base::name::fold,
    measure::{date, display, value::Value},
    model::{
        entry::{Entry, Filler, Standing},
        finding::{Action, ActionState},
    },
};

/// The page that speaks of plans.
const CODE: &str = "open-plan";

/// Every plan still open.
pub fn open(known: &Known<'_>) -> Vec<Action> {
    known.diary.entries.iter().filter_map(|entry| plan(known, entry)).collect()
}

fn plan(known: &Known<'_>, entry: &Entry) -> Option<Action> {
    let Standing::Planned { only_if_clean, by_date_only } = &entry.standing else { return None };
    let days = entry.days?;
    let words = say::quote(known, entry.id)?.text;
    let reason = match (only_if_clean, by_date_only) {
        (Some(test), _) => format!("planned, if {} is clean", display::thing(test)),
        (None, true) => format!("written ahead; counts as done from {}", date::words(days)),
        (None, false) => "planned".to_owned(),
    };
    let mut about: Vec<String> = entry
        .groups
        .iter()
        .flat_map(|g| &g.slots)
        .filter_map(|f| match &f.filler {
            Filler::Value(Value::Thing(t)) => Some(display::thing(t)),
            _ => None,
        })
        .collect();
    about.sort();
    about.dedup();
    Some(Action {
        code: CODE.into(),
        key: format!("{CODE} | {}", fold(&words)),
        words,
        instance: 1,
        since: days.first,
        by: days.last,
        state: ActionState::Open,
        reason,
        cautions: Vec::new(),
        lines: vec![entry.loc],
        until: None,
        write: None,
        about,
    })
}
