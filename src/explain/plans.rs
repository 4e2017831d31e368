//! Plans of the diary as things to do.
//!
//! Comes in: the diary and the findings still said. Goes out: an action for every plan still open, due on its
//! day. A plan is never evidence; whether it is past is said by the reading. One that a warning or an alarm
//! rests on carries its words, so that nobody is told to do what the same breath warns of.

use std::{collections::BTreeSet, sync::Arc};

use super::{
    Known,
    actions::{Asked, Said},
    attach::Cautions,
    findings::{Finding, here, inside},
    say,
};
use crate::{
    base::{
        diagnostic::{Remark, RemarkKind, Severity},
        name::fold,
    },
    measure::{
        date, display,
        value::{EntryId, Value},
    },
    model::{
        entry::{Entry, Filler, Standing},
        finding::{Action, ActionState},
    },
};

/// The page that speaks of plans.
const CODE: &str = "open-plan";

/// Why a plan is to be done that nothing is said against, and that waits for nothing.
pub const PLAIN: &str = "planned";

/// Whether an action is a plan of the diary.
pub fn is_one(asked: &Asked) -> bool {
    *asked.action.code == *CODE
}

/// Every plan still open.
pub fn open(known: &Known<'_>, cautions: &Cautions, findings: &[Finding<'_>]) -> Vec<Asked> {
    known.diary.entries.iter().filter_map(|entry| plan(known, entry, cautions, findings)).collect()
}

fn plan(known: &Known<'_>, entry: &Entry, cautions: &Cautions, findings: &[Finding<'_>]) -> Option<Asked> {
    let Standing::Planned { only_if_clean, by_date_only } = &entry.standing else { return None };
    let days = entry.days?;
    let words = say::quote(known, entry.id)?.text;
    let against = against(entry.id, findings);
    let reason = match (against, only_if_clean, by_date_only) {
        (Some(finding), ..) => finding.diagnostic.message.clone(),
        (None, Some(test), _) => format!("planned, if {} is clean", display::thing(test)),
        (None, None, true) => format!("written ahead; counts as done from {}", date::words(days)),
        (None, None, false) => PLAIN.to_owned(),
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
    // Told to nobody as a thing to do: editors and calendars show these words alone.
    let told = if against.is_some() { format!("hold off: {words}") } else { words.clone() };
    let action = Action {
        code: CODE.into(),
        key: format!("{CODE} | {}", fold(&words)),
        words: told.clone(),
        instance: 1,
        since: days.first,
        by: days.last,
        again: None,
        severity: against.map(|f| f.diagnostic.severity),
        state: ActionState::Open,
        reason,
        alone: false,
        cautions: against.map_or_else(Vec::new, |f| cautions.about(&f.diagnostic.code, &f.about)),
        lines: vec![entry.loc],
        until: None,
        write: against.map(|_| skipped(&words)),
        about,
    };
    Some(Asked {
        action,
        values: Vec::new(),
        entries: BTreeSet::from([entry.id]),
        said: vec![Said::Words(told)],
        matter: against.map_or_else(|| CODE.into(), |f| Arc::clone(&f.diagnostic.code)),
    })
}

/// The line that drops a plan.
fn skipped(words: &str) -> String {
    format!("- skipped {words}: \u{2026}")
}

/// Under a finding of the reading that a plan's day is past, offers no line that says it was done where something is
/// said against it.
pub fn hold(findings: &mut [Finding<'_>], plans: &[Asked]) {
    for plan in plans.iter().filter(|p| p.action.severity.is_some()) {
        let of_plan = |f: &&mut Finding<'_>| {
            let at = f.diagnostic.primary.as_ref().map(|l| l.loc);
            *f.diagnostic.code == *CODE
                && at.is_some_and(|at| plan.action.lines.iter().any(|l| inside(*l, at)))
        };
        for finding in findings.iter_mut().filter(of_plan) {
            let remarks = &mut finding.diagnostic.remarks;
            remarks.retain(|r| r.kind != RemarkKind::Write);
            let write = plan.action.write.clone().map(|text| Remark { kind: RemarkKind::Write, text });
            remarks.extend(write);
            remarks.push(Remark { kind: RemarkKind::Why, text: plan.action.reason.clone() });
        }
    }
}

/// What is said against a plan: the most pressing warning or alarm that rests on it, one that points at it
/// before one that does not.
fn against<'f, 'a>(plan: EntryId, findings: &'f [Finding<'a>]) -> Option<&'f Finding<'a>> {
    let rests = |f: &&Finding<'_>| f.diagnostic.severity <= Severity::Warn && f.entries.contains(&plan);
    let elsewhere = |f: &Finding<'_>| !f.derived.iter().any(|d| here(d) == Some(plan));
    findings.iter().filter(rests).min_by_key(|f| (f.diagnostic.severity, elsewhere(f)))
}
