//! Plans and deeds: what a checkbox, a date after today, and later lines make of an entry.
//!
//! Comes in: entries with what was marked on them, and `done` and `skipped` lines. Goes out: their
//! standing, and word of plans whose day is past. It does not decide whether a plan is wise.

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::fold,
    },
    measure::{
        date::{Days, long},
        display,
        value::{EntryId, Value},
    },
    model::{
        diary::Closing,
        entry::{Entry, Filler, Standing},
        frame::FrameKind,
    },
};

use super::{Context, is_plan};

/// Settles one entry: `[ ]` is a plan on any date, `[x]` a deed on its day, and a bare entry dated
/// after today a plan until then.
pub fn stand(e: &mut Entry, cx: &Context<'_>, said: &mut Vec<Diagnostic>) {
    let Some(days) = e.days else { return };
    if cx.frames.get(&e.verb).is_some_and(|f| f.kind != FrameKind::Event) {
        return;
    }
    if e.ticked == Some(false) && !is_plan(e) {
        e.standing = Standing::Planned { only_if_clean: None, by_date_only: false };
    }
    if e.ticked == Some(true) && is_plan(e) {
        e.standing = Standing::Done;
    }
    if is_plan(e) || days.first <= cx.today {
        return;
    }
    e.standing = Standing::Planned { only_if_clean: None, by_date_only: true };
    let day = long(days.first);
    let (message, write) = if e.ticked == Some(true) {
        (format!("this is ticked, but {day} is still to come; it stays a plan until then"), None)
    } else {
        let text = cx.text(e.loc).lines().next().unwrap_or("").trim();
        (
            format!("this counts as done from {day}; mark it `[ ]` if it may not happen"),
            Some(format!("- [ ] {text}")),
        )
    };
    let mut d = Diagnostic::new("dated-ahead", Severity::Hint, message).at(e.verb_loc, "still to come");
    if let Some(write) = write {
        d = d.remark(RemarkKind::Write, write);
    }
    said.push(d);
}

/// Closes plans by `done` and `skipped` lines, and reports those whose day is past. Gives back the lines
/// that closed one; the others are about actions.
pub fn close(
    entries: &mut [Entry],
    counting: &mut Vec<Entry>,
    closings: &[Closing],
    cx: &Context<'_>,
    said: &mut Vec<Diagnostic>,
) -> Vec<EntryId> {
    let mut used = Vec::new();
    for c in closings.iter().filter(|c| c.day <= cx.today) {
        // The latest open plan up to the day of the line that its words name; earlier ones stay open.
        let fits = |e: &Entry| {
            is_plan(e)
                && !matches!(e.standing, Standing::Planned { by_date_only: true, .. })
                && names(&c.words, e, cx)
        };
        let chosen = counting
            .iter()
            .enumerate()
            .filter(|(_, e)| fits(e) && e.days.is_some_and(|d| d.first <= c.day || cx.today >= c.day))
            .max_by_key(|(_, e)| (e.days.is_some_and(|d| d.first <= c.day), e.days, e.loc))
            .map(|(n, _)| n);
        let Some(n) = chosen else { continue };
        used.push(c.entry);
        if c.skipped {
            let e = counting.remove(n);
            if let Some(e) = entries.get_mut(e.id.0 as usize) {
                e.standing = Standing::Withdrawn { by: c.entry };
            }
        } else if let Some(e) = counting.get_mut(n) {
            e.standing = Standing::Done;
            e.days = Some(Days::on(c.day));
            if let Some(shown) = entries.get_mut(e.id.0 as usize) {
                shown.standing = Standing::Done;
            }
        }
    }
    for e in counting.iter().filter(|e| is_plan(e)) {
        let Some(days) = e.days.filter(|d| d.last < cx.today) else { continue };
        let text = cx.text(e.loc);
        let text = text.lines().next().unwrap_or("").trim();
        let text = text.strip_prefix("plan to ").unwrap_or(text);
        let mut d = Diagnostic::new(
            "open-plan",
            Severity::Warn,
            format!(
                "{} is past and this plan is still open; until it is ticked, nothing was done",
                crate::measure::date::words(days)
            ),
        )
        .at(e.verb_loc, "done, or not?")
        .remark(RemarkKind::Write, format!("- [x] {text}"))
        .remark(RemarkKind::Write, format!("- skipped {text}: rained off"));
        for thing in mentioned(e).into_iter().take(1) {
            d = d.about(thing);
        }
        said.push(d);
    }
    used
}

/// Whether the words of a closing name this plan: they begin as the plan's own words do, or start
/// with its verb (or another form of it) and name every thing they name from among the plan's.
fn names(words: &str, e: &Entry, cx: &Context<'_>) -> bool {
    let (closing, plan) = (fold(words), fold(cx.text(e.loc)));
    let plan = plan.strip_prefix("plan to ").unwrap_or(&plan);
    if plan == closing || plan.starts_with(&format!("{closing} ")) || plan.starts_with(&format!("{closing},"))
    {
        return true;
    }
    let written = fold(cx.text(e.verb_loc));
    let first = closing.split(' ').next().unwrap_or("");
    let same_verb = !first.is_empty()
        && (closing.starts_with(&fold(&e.verb)) || (!written.is_empty() && closing.starts_with(&written)));
    let mine = mentioned(e);
    same_verb && mine.iter().any(|t| closing.contains(&fold(name_only(t))))
}

fn name_only(thing: &str) -> &str {
    thing.split_once(' ').map_or(thing, |(_, name)| name)
}

/// The things an entry names, with their kind words, as written.
fn mentioned(e: &Entry) -> Vec<String> {
    e.groups
        .iter()
        .flat_map(|g| &g.slots)
        .filter_map(|f| match &f.filler {
            Filler::Value(Value::Thing(t)) => Some(display::thing(t)),
            Filler::Part(p) => Some(display::thing(&p.of)),
            _ => None,
        })
        .collect()
}
