//! Answers to `why`, `trace`, `words` and `rules` as JSON, for other programs.
//!
//! Comes in: explanations. Goes out: JSON values, the same for the same explanation; places and points as
//! in [`super::json`]. It decides nothing and leaves nothing out.

use serde_json::{Value, json};

use super::json::{action, place};
use crate::{
    base::source::Sources,
    model::{
        content::{Content, Sourced},
        explanation::{
            Attempt, Claim, Ground, PageNote, PhraseBook, Quote, Ranked, Reach, Recipe, RecipeLine,
            RecipeNote, Standing, Step, Trace, WhatIf, Why, WhyNotSo,
        },
    },
};

/// The answer to `why`.
pub fn why(why: &Why, sources: &Sources) -> Value {
    json!({
        "subject": why.subject,
        "line": why.line.as_ref().map(|q| quote(q, sources)),
        "page": why.page.as_ref().map(page),
        "claims": why.claims.iter().map(|c| claim(c, sources)).collect::<Vec<_>>(),
        "actions": why.actions.iter().map(|a| action(a, sources)).collect::<Vec<_>>(),
        "rankings": rankings(&why.rankings, sources),
        "also": why.also.iter().map(|(says, by)| json!({ "says": says, "by": by })).collect::<Vec<_>>(),
        "also_left": why.also_left,
    })
}

/// A recipe told.
pub fn recipe(recipe: &Recipe, sources: &Sources) -> Value {
    let one = |line: &RecipeLine| {
        let beside = line.beside.iter().map(|(part, text)| json!({ "part": part.word(), "text": text }));
        let cited = line
            .cited
            .iter()
            .map(|c| json!({ "says": c.says, "source": c.source, "at": place(c.loc, "", sources) }));
        json!({
            "label": line.label,
            "text": line.text,
            "beside": beside.collect::<Vec<_>>(),
            "cited": cited.collect::<Vec<_>>(),
            "proofs": steps(&line.proofs, sources),
        })
    };
    let all = |lines: &[RecipeLine]| lines.iter().map(one).collect::<Vec<_>>();
    json!({
        "asked": recipe.asked,
        "day": recipe.day,
        "code": recipe.code,
        "refused": all(&recipe.refused),
        "warned": all(&recipe.warned),
        "sums": all(&recipe.sums),
        "steps": all(&recipe.steps),
        "writes": all(&recipe.writes),
        "page": page(&recipe.page),
    })
}

/// A recipe of the list.
pub fn recipe_note(note: &RecipeNote) -> Value {
    json!({ "code": note.code, "is_for": note.is_for, "ways": note.ways })
}

/// The answer to `why --if`.
pub fn what_if(w: &WhatIf) -> Value {
    let chance =
        |p: &Option<(f64, String)>| p.as_ref().map(|(p, shown)| json!({ "chance": p, "shown": shown }));
    let changes = w.changes.iter().map(|m| {
        let suspects = m
            .suspects
            .iter()
            .map(|(told, now, then)| json!({ "cause": told, "now": chance(now), "then": chance(then) }));
        json!({ "places": m.places, "since": m.since, "suspects": suspects.collect::<Vec<_>>() })
    });
    let findings = |all: &[(crate::base::diagnostic::Severity, std::sync::Arc<str>, String)]| -> Vec<Value> {
        let one = |(severity, code, message): &(
            crate::base::diagnostic::Severity,
            std::sync::Arc<str>,
            String,
        )| { json!({ "severity": severity.word(), "code": &**code, "message": message }) };
        all.iter().map(one).collect()
    };
    json!({
        "entry": w.entry,
        "day": w.day,
        "changes": changes.collect::<Vec<_>>(),
        "unmoved": w.unmoved,
        "said": findings(&w.said),
        "gone": findings(&w.gone),
    })
}

/// Rankings of causes.
pub fn rankings(all: &[Ranked], sources: &Sources) -> Vec<Value> {
    all.iter().map(|r| ranked(r, sources)).collect()
}

fn ranked(r: &Ranked, sources: &Sources) -> Value {
    let suspects = r.suspects.iter().map(|s| {
        json!({
            "cause": s.told, "page": s.page, "chance": s.chance, "shown": s.shown,
            "range": s.range, "together": s.together / 100.0,
        })
    });
    let shared = r.shared.iter().map(|s| {
        json!({ "page": s.page, "suspects": s.suspects, "chance": s.chance, "shown": s.shown, "range": s.range })
    });
    let asked = r.asked.iter().map(|a| {
        json!({
            "asks": a.asks,
            "about": a.about,
            "answer": a.answer,
            "lines": quotes(&a.lines, sources),
            "ratio": a.ratio,
            "against": a.against.as_ref().map(|(_, told)| told),
            "apart": a.apart.as_ref().map(|(told, ratio, _)| json!({ "against": told, "ratio": ratio })),
            "note": a.note,
        })
    });
    let settle = r.settle.as_ref().map(|s| {
        let outcomes = s.outcomes.iter().map(|(answer, leads, chance, likely)| {
            json!({ "answer": answer, "leads": leads, "chance": chance, "likely": likely })
        });
        json!({
            "doing": s.doing,
            "about": s.about,
            "days": s.days,
            "money": s.money,
            "gain": s.gain,
            "outcomes": outcomes.collect::<Vec<_>>(),
        })
    });
    json!({
        "outbreak": r.outbreak,
        "places": r.places,
        "since": r.since,
        "suspects": suspects.collect::<Vec<_>>(),
        "left_out": r.left_out,
        "shared": shared.collect::<Vec<_>>(),
        "between": r.between.as_ref().map(|(a, b)| [a, b]),
        "asked": asked.collect::<Vec<_>>(),
        "support": { "ratio": r.support, "favours": r.favours, "words": r.support_words },
        "unasked": r.unasked,
        "unclear": r.unclear,
        "settle": settle,
    })
}

fn claim(c: &Claim, sources: &Sources) -> Value {
    let (standing, by) = match &c.standing {
        Standing::Said => ("said", None),
        Standing::Folded(code) => ("folded", Some(code.to_string())),
        Standing::Allowed(words) => ("allowed", Some(words.clone())),
    };
    json!({
        "code": c.code.as_deref(),
        "severity": c.severity.map(crate::base::diagnostic::Severity::word),
        "standing": standing,
        "standing_by": by,
        "says": c.says,
        "about": c.about,
        "lines": quotes(&c.lines, sources),
        "absences": c.absences,
        "tally": { "sentences": c.tally.sentences, "lines": c.tally.lines, "pages": c.tally.pages },
        "proofs": steps(&c.proofs, sources),
        "other_ways": c.other_ways,
        "cautions": c.cautions,
    })
}

fn steps(list: &[Step], sources: &Sources) -> Vec<Value> {
    list.iter().map(|s| step(s, sources)).collect()
}

fn step(s: &Step, sources: &Sources) -> Value {
    let by = match &s.by {
        Ground::Line(q) => json!({ "entry": quote(q, sources) }),
        Ground::Page(loc, source) => json!({ "page": place(*loc, "", sources), "source": source }),
        Ground::Given => json!("given"),
        Ground::Rule { code, number, loc } => {
            json!({ "rule": { "code": &**code, "number": number, "at": place(*loc, "", sources) } })
        }
        Ground::Reckoned { name, numbers } => {
            let numbers: Vec<_> =
                numbers.iter().map(|(name, is)| json!({ "name": name, "is": is })).collect();
            json!({ "reckoned": { "name": name, "numbers": numbers } })
        }
        Ground::Absent(near) => json!({ "absent": near }),
        Ground::Gathered => json!("gathered"),
        Ground::Reasoned => json!("reasoned"),
        Ground::Above => json!("above"),
    };
    json!({ "says": s.says, "by": by, "below": steps(&s.below, sources), "left_out": s.left_out })
}

/// The answer to `why --not`.
pub fn missing(answers: &[WhyNotSo], sources: &Sources) -> Value {
    answers.iter().map(|a| not_so(a, sources)).collect::<Vec<_>>().into()
}

fn not_so(a: &WhyNotSo, sources: &Sources) -> Value {
    json!({
        "asked": a.asked,
        "holds": steps(&a.holds, sources),
        "near": a.near,
        "attempts": a.attempts.iter().map(|t| attempt(t, sources)).collect::<Vec<_>>(),
        "said_by": a.said_by,
    })
}

fn attempt(t: &Attempt, sources: &Sources) -> Value {
    json!({
        "rule": { "code": &*t.code, "number": t.number, "at": place(t.loc, "", sources) },
        "met": steps(&t.met, sources),
        "fails": t.fails,
        "obstacle": t.obstacle,
        "near": t.near,
        "because": t.because.as_ref().map(|b| not_so(b, sources)),
        "more": t.more,
        "exhaustive": t.exhaustive,
    })
}

/// The answer to `trace`.
pub fn trace(t: &Trace, sources: &Sources) -> Value {
    let reach = |r: &Reach| {
        json!({
            "thing": r.thing,
            "since": r.since,
            "amount": r.amount,
            "on_top": r.on_top,
            "taken_off": r.off.as_ref().map(|off| json!({
                "all": off.all,
                "on": off.on,
                "assumed": off.assumed,
                "lines": quotes(&off.lines, sources),
            })),
            "planned": r.planned,
            "lines": quotes(&r.lines, sources),
        })
    };
    json!({
        "subject": t.subject,
        "began": t.began.as_ref().map(|q| quote(q, sources)),
        "forwards": t.forwards.iter().map(reach).collect::<Vec<_>>(),
        "backwards": t.backwards.iter().map(reach).collect::<Vec<_>>(),
        "balance": t.balance,
        "figures": t.figures.iter().map(|f| sourced(f, sources)).collect::<Vec<_>>(),
        "content": t.content.as_ref().map(|c| content(c, sources)),
    })
}

/// A row of a table with its source.
fn sourced(row: &Sourced, sources: &Sources) -> Value {
    json!({ "says": row.says, "at": row.at.map(|loc| sources.place(loc)), "source": row.source })
}

fn content(c: &Content, sources: &Sources) -> Value {
    let sourced = |s: &Sourced| sourced(s, sources);
    let shares = c.shares.iter().map(|s| {
        json!({ "thing": s.thing, "by_volume": s.volume, "by_weight": s.weight, "by_way_of_others": s.by_way })
    });
    let on_top = c.on_top.iter().map(|t| json!({ "thing": t.thing, "depth": t.depth, "since": t.since }));
    let levels = c.levels.iter().map(|l| {
        let from = l.from.iter().map(|(what, figure)| json!({ "what": what, "figure": figure }));
        let against = l.against.iter().map(|a| {
            let days = a.from.iter().map(|(p, by)| json!({ "chance": p, "no_more": by }));
            json!({
                "level": a.level,
                "hurts": a.who,
                "chance_of_no_more": a.chance,
                "days": days.collect::<Vec<_>>(),
                "seen": a.seen.iter().map(sourced).collect::<Vec<_>>(),
                "below_laboratory_limit": a.unseen.as_ref().map(sourced),
            })
        });
        json!({
            "of": l.of,
            "level": l.level,
            "from": from.collect::<Vec<_>>(),
            "no_day_because": l.refused,
            "results": l.course,
            "half_life": l.fades.iter().map(sourced).collect::<Vec<_>>(),
            "against": against.collect::<Vec<_>>(),
            "limits": l.limits.iter().map(sourced).collect::<Vec<_>>(),
        })
    });
    json!({
        "day": c.day,
        "depth": c.depth,
        "shares": shares.collect::<Vec<_>>(),
        "on_top": on_top.collect::<Vec<_>>(),
        "levels": levels.collect::<Vec<_>>(),
        "tests": c.tests,
        "lines": quotes(&c.lines, sources),
        "figures": c.figures.iter().map(sourced).collect::<Vec<_>>(),
    })
}

/// The phrase book.
pub fn words(book: &PhraseBook) -> Value {
    let verbs = book
        .verbs
        .iter()
        .map(|v| json!({ "verb": v.verb, "also": v.also, "meaning": v.meaning, "example": v.example }));
    let kinds = book.kinds.iter().map(|k| {
        let words = k.words.iter().map(|(word, also)| json!({ "word": word, "also": also }));
        json!({ "kind": k.kind, "words": words.collect::<Vec<_>>() })
    });
    json!({ "verbs": verbs.collect::<Vec<_>>(), "kinds": kinds.collect::<Vec<_>>() })
}

/// A rule page.
pub fn page(note: &PageNote) -> Value {
    let sections = note.sections.iter().map(|(heading, prose)| json!({ "heading": heading, "prose": prose }));
    let (rules, must_fire, must_stay_silent) = note.counts;
    json!({
        "code": note.code,
        "severity": note.severity.map(crate::base::diagnostic::Severity::word),
        "path": note.path,
        "built_in": note.built_in,
        "sections": sections.collect::<Vec<_>>(),
        "folds": note.folds,
        "rules": rules,
        "must_fire": must_fire,
        "must_stay_silent": must_stay_silent,
    })
}

fn quotes(list: &[Quote], sources: &Sources) -> Vec<Value> {
    list.iter().map(|q| quote(q, sources)).collect()
}

fn quote(q: &Quote, sources: &Sources) -> Value {
    json!({ "text": q.text, "day": q.day, "at": place(q.loc, "", sources) })
}
