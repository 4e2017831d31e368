//! Plans and deeds: what a checkbox, a date after today, and later lines make of an entry.
//!
//! Comes in: entries with what was marked on them, and `done` and `skipped` lines. Goes out: their
//! standing, and word of plans whose day is past. It does not decide whether a plan is wise.

use std::{cmp::Reverse, collections::BTreeSet};

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::{all_names, fold},
    },
    measure::{
        date::{Days, long},
        display,
        value::{EntryId, Thing, Value},
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
    let told: Vec<&Closing> = closings.iter().filter(|c| c.day <= cx.today).collect();
    // Of a large farm these are many names, and mostly nothing asks for them.
    let asking = entries.iter().filter(|_| !told.is_empty());
    let known =
        Known { things: asking.clone().flat_map(things).collect(), words: asking.flat_map(words).collect() };
    let mut used = Vec::new();
    for c in told {
        let fits = meant(c, &known, counting, cx);
        let Some((n, e)) = fits.first().and_then(|n| Some((*n, counting.get(*n)?))) else { continue };
        if fits
            .iter()
            .filter_map(|n| counting.get(*n))
            .any(|other| (things(other), words(other)) != (things(e), words(e)))
        {
            used.push(c.entry);
            said.push(unclear(c, &fits, counting, cx));
            continue;
        }
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
        if let Some(thing) = mentioned(e).next() {
            d = d.about(display::thing(thing));
        }
        said.push(d);
    }
    used
}

/// The names that lines of a diary use, folded.
struct Known {
    things: BTreeSet<String>,
    words: BTreeSet<String>,
}

/// The open plans that the words of a closing may mean, the likeliest first: those whose own words they
/// are or begin; else those of their verb that hold every thing they name, and of these those
/// that hold the crops and other words as well. Of equal plans the latest up to
/// the day of the line comes first; earlier ones stay open.
fn meant(c: &Closing, known: &Known, counting: &[Entry], cx: &Context<'_>) -> Vec<usize> {
    let open = |e: &Entry| is_plan(e) && !matches!(e.standing, Standing::Planned { by_date_only: true, .. });
    let plans = || counting.iter().enumerate().filter(|(_, e)| open(e));
    let closing = fold(&c.words);
    let mut fits: Vec<(usize, &Entry)> = plans().filter(|(_, e)| begins(&closing, e, cx)).collect();
    if fits.is_empty() {
        let told = named(&c.words, &known.things);
        fits = plans()
            .filter(|(_, e)| of_its_verb(&closing, e, cx))
            .filter(|(_, e)| !told.is_empty() && told.is_subset(&things(e)))
            .collect();
        let told = named(&c.words, &known.words);
        if fits.iter().any(|(_, e)| told.is_subset(&words(e))) {
            fits.retain(|(_, e)| told.is_subset(&words(e)));
        }
    }
    fits.sort_by_key(|(_, e)| Reverse((e.days.is_some_and(|d| d.first <= c.day), e.days, e.loc)));
    fits.into_iter().map(|(n, _)| n).collect()
}

/// Whether a closing's words are a plan's own, or its beginning.
fn begins(closing: &str, e: &Entry, cx: &Context<'_>) -> bool {
    let plan = fold(cx.text(e.loc));
    let plan = plan.strip_prefix("plan to ").unwrap_or(&plan);
    plan.strip_prefix(closing).is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', ',']))
}

/// Whether a closing begins with a plan's verb, in its first form or as the plan has it.
fn of_its_verb(closing: &str, e: &Entry, cx: &Context<'_>) -> bool {
    let written = fold(cx.text(e.verb_loc));
    !closing.is_empty()
        && (closing.starts_with(&fold(&e.verb)) || (!written.is_empty() && closing.starts_with(&written)))
}

/// Which of the known names, folded, stand in a text by themselves, and not as a piece of a longer one that
/// does.
fn named(text: &str, known: &BTreeSet<String>) -> BTreeSet<String> {
    let found: Vec<(usize, usize, &String)> =
        known.iter().flat_map(|n| all_names(text, n).map(move |(start, end)| (start, end, n))).collect();
    let whole = |(start, end, _): &&(usize, usize, &String)| {
        !found.iter().any(|(s, e, _)| s <= start && end <= e && (s, e) != (start, end))
    };
    found.iter().filter(whole).map(|(_, _, n)| (*n).clone()).collect()
}

/// Word of a closing that fits plans of different things: none is closed.
fn unclear(c: &Closing, fits: &[usize], counting: &[Entry], cx: &Context<'_>) -> Diagnostic {
    let verb = if c.skipped { "skipped" } else { "done" };
    let message = format!("{} open plans fit `{}`; none is closed until one is meant", fits.len(), c.words);
    let mut d = Diagnostic::new("unclear-closing", Severity::Error, message).at(c.words_loc, "which plan?");
    for e in fits.iter().filter_map(|n| counting.get(*n)).take(5) {
        let text = cx.text(e.loc).lines().next().unwrap_or("").trim();
        d = d.also(e.loc, "").remark(RemarkKind::Write, format!("- {verb} {text}"));
    }
    d
}

/// The names of the things an entry names, folded.
fn things(e: &Entry) -> BTreeSet<String> {
    mentioned(e).map(|t| fold(&t.name)).collect()
}

/// The crops, materials and other words of the tables that an entry uses, folded.
fn words(e: &Entry) -> BTreeSet<String> {
    let slots = e.groups.iter().flat_map(|g| &g.slots);
    slots
        .filter_map(|f| if let Filler::Value(Value::Word(w)) = &f.filler { Some(fold(w)) } else { None })
        .collect()
}

fn mentioned(e: &Entry) -> impl Iterator<Item = &Thing> {
    e.groups.iter().flat_map(|g| &g.slots).filter_map(|f| match &f.filler {
        Filler::Value(Value::Thing(t)) => Some(t),
        Filler::Part(p) => Some(&p.of),
        _ => None,
    })
}
