//! The answer to `why NAME|CODE|LINE`: what is concluded, and on what it rests.
//!
//! Comes in: a subject. Goes out: a [`Why`] with claims, their journal lines and their proofs. It draws
//! nothing, and derives nothing new.

use super::{
    Known, actions,
    allow::Lines,
    attach, evidence, findings,
    findings::{Derived, Finding},
    say, steps,
};
use super::{
    pages, ranking,
    subject::{self, Subject},
};
use crate::{
    base::{
        diagnostic::{Diagnostic, Label},
        name::fold,
    },
    measure::value::{EntryId, Value},
    model::{
        explanation::{Claim, Quote, Standing, Tally, Why},
        outcome::RowRef,
        program::FactSource,
        proof::{By, Proof},
        report::Report,
        sentence::Origin,
    },
};

/// How many other sentences about a thing are listed.
const ALSO: usize = 12;
/// How many derivations of one finding are handed on with their proofs.
const WAYS: usize = 20;

/// Explains a subject. `report` is what [`super::explain`] made of the same: it knows what is folded
/// and what is allowed.
pub fn why(known: &Known<'_>, subject: &Subject, report: &Report) -> Why {
    let found = findings::merged(known, &Lines::of(known));
    let cautions = attach::Cautions::all(known);
    let (asked, _) = actions::all(known, &cautions, &found);
    let mut out = Why { subject: name(known, subject), ..Why::default() };
    let mut claims: Vec<Claim> = found
        .iter()
        .filter(|f| concerns(known, subject, f))
        .map(|f| claim(known, f, subject, &cautions, report))
        .collect();
    claims.extend(of_reading(known, subject, report));
    claims.sort_by(|a, b| (a.severity, &a.code, &a.about).cmp(&(b.severity, &b.code, &b.about)));
    out.claims = claims;
    out.actions = asked
        .into_iter()
        .filter(|a| match subject {
            Subject::Value(v) => a.values.contains(v),
            Subject::Code(code) => *a.action.code == **code,
            Subject::Entry(id) => a.entries.contains(id),
            Subject::Line(_) => false,
        })
        .map(|a| a.action)
        .collect();
    out.actions.sort_by(|a, b| (&a.state, a.by, &a.words).cmp(&(&b.state, b.by, &b.words)));
    match subject {
        Subject::Value(value) => {
            out.line = began(known, value);
            out.rankings = ranking::about(known, value);
            also(known, value, &mut out);
        }
        Subject::Code(code) => out.page = pages::note(known, code),
        Subject::Line(loc) => {
            let text = known.sources.slice(*loc).to_owned();
            out.line = Some(Quote { loc: *loc, entry: EntryId(u32::MAX), text, day: String::new() });
        }
        Subject::Entry(id) => {
            out.line = say::quote(known, *id);
            let facts = known.diary.facts.iter().filter(|f| f.source == FactSource::Entry(*id));
            for fact in facts {
                let tuple = crate::model::proof::Tuple {
                    sentence: fact.sentence,
                    values: fact.values.clone(),
                    entry: Some(*id),
                    planned: fact.planned,
                };
                out.also.push((say::tuple(known, &tuple), "read from this line".to_owned()));
            }
            out.also.extend(sizes(known, *id).map(|says| (says, "read from this line".to_owned())));
        }
    }
    out
}

fn name(known: &Known<'_>, subject: &Subject) -> String {
    match subject {
        Subject::Value(v) => say::value(known, v),
        Subject::Code(code) => code.clone(),
        Subject::Entry(id) => say::value(known, &Value::Entry(*id)),
        Subject::Line(loc) => known.sources.place(*loc),
    }
}

/// What an entry says of the sizes things are counted in: no fact, since it is used up in the reading.
fn sizes(known: &Known<'_>, id: EntryId) -> impl Iterator<Item = String> {
    let begun = known.diary.things.iter().filter(move |t| t.began.is_some_and(|(_, e)| e == id));
    begun.filter_map(|t| {
        let size = known.diary.containers.get(fold(&t.thing.name).as_str())?;
        Some(format!("one {} holds {}", t.thing.name, say::value(known, &Value::Quantity(*size))))
    })
}

fn began(known: &Known<'_>, value: &Value) -> Option<Quote> {
    let Value::Thing(thing) = value else { return None };
    let thing = known.diary.things.iter().find(|t| t.thing == *thing)?;
    let first = thing.began.or_else(|| thing.mentions.first().copied())?;
    say::quote(known, first.1)
}

/// Whether a finding is about the subject, or names it, or rests on it.
fn concerns(known: &Known<'_>, subject: &Subject, finding: &Finding<'_>) -> bool {
    match subject {
        Subject::Value(v) => finding.about.contains(v) || finding.terms(known).any(|(_, w)| w == v),
        Subject::Code(code) => *finding.diagnostic.code == **code,
        Subject::Line(_) => false,
        Subject::Entry(id) => {
            let proofs: Vec<&Proof> = finding.derived.iter().map(|d| &*d.proof).collect();
            evidence::within(&proofs).iter().any(|p| p.by == By::Said(FactSource::Entry(*id)))
        }
    }
}

/// A finding as a claim with its reasons. Where only some of its derivations name the subject or rest
/// on it, these are the reasons shown.
fn claim(
    known: &Known<'_>,
    finding: &Finding<'_>,
    subject: &Subject,
    cautions: &attach::Cautions,
    report: &Report,
) -> Claim {
    let d = &finding.diagnostic;
    let mut shown: Vec<_> = finding.derived.iter().filter(|d| names(subject, d)).collect();
    if shown.is_empty() {
        shown = finding.derived.iter().collect();
    }
    let proofs: Vec<&Proof> = shown.iter().map(|d| &*d.proof).collect();
    let (lines, tally) = (lines(known, &proofs), steps::tally(known, &proofs));
    shown.sort_by_cached_key(|d| evidence::within(&[&d.proof]).len());
    shown.truncate(WAYS);
    let first = shown.first().map(|d| steps::absences(known, &d.proof)).unwrap_or_default();
    let proofs: Vec<&Proof> = shown.iter().map(|d| &*d.proof).collect();
    Claim {
        code: Some(d.code.clone()),
        severity: Some(d.severity),
        standing: standing(report, d),
        says: d.message.clone(),
        about: d.about.clone(),
        lines,
        absences: first,
        tally,
        other_ways: finding.derived.len().saturating_sub(proofs.len()),
        proofs: steps::trees(known, &proofs),
        cautions: cautions.about(&d.code, &finding.about),
    }
}

/// What the reading had to say of the subject: no rule concludes it, so it has lines but no proof.
fn of_reading(known: &Known<'_>, subject: &Subject, report: &Report) -> Vec<Claim> {
    let by_rule = |code: &str| known.program.rules.iter().any(|r| *r.page == *code);
    let named = name(known, subject);
    let meant = |d: &Diagnostic| match subject {
        Subject::Value(_) => d.about.contains(&named) || d.begins.contains(&named),
        Subject::Code(code) => *d.code == **code,
        Subject::Line(line) => d.primary.iter().any(|l| subject::touches(*line, l.loc)),
        Subject::Entry(id) => {
            let entry = known.diary.entries.get(id.0 as usize);
            d.primary.iter().any(|l| entry.is_some_and(|e| findings::inside(e.loc, l.loc)))
        }
    };
    let said = report.findings.iter().map(|d| (d, Standing::Said));
    let allowed = report.allowed.iter().map(|a| (&a.finding, Standing::Allowed(a.by.clone())));
    said.chain(allowed)
        .filter(|(d, _)| !by_rule(&d.code) && meant(d))
        .map(|(d, standing)| Claim {
            code: Some(d.code.clone()),
            severity: Some(d.severity),
            standing,
            says: d.message.clone(),
            about: d.about.clone(),
            lines: d.primary.iter().chain(&d.secondary).filter_map(|l| line_at(known, l)).collect(),
            absences: Vec::new(),
            tally: Tally::default(),
            proofs: Vec::new(),
            other_ways: 0,
            cautions: Vec::new(),
        })
        .collect()
}

/// The line a label points at, as a quote with no more known of it than its text.
fn line_at(known: &Known<'_>, label: &Label) -> Option<Quote> {
    let entry = known.diary.entries.iter().find(|e| findings::inside(e.loc, label.loc));
    if let Some(entry) = entry {
        return say::quote(known, entry.id);
    }
    let file = known.sources.file(label.loc.file);
    let line = file.line_of(label.loc.span.start as usize);
    let text = file.text.get(file.line_range(line))?.trim().to_owned();
    Some(Quote { loc: label.loc, entry: EntryId(u32::MAX), text, day: String::new() })
}

/// Whether a derivation names the subject, or rests on it.
fn names(subject: &Subject, derived: &Derived<'_>) -> bool {
    match subject {
        Subject::Value(v) => derived.values.contains(v),
        Subject::Code(_) | Subject::Line(_) => true,
        Subject::Entry(id) => {
            evidence::within(&[&derived.proof]).iter().any(|p| p.by == By::Said(FactSource::Entry(*id)))
        }
    }
}

/// The journal lines at the leaves of proofs, in order of days.
fn lines(known: &Known<'_>, proofs: &[&Proof]) -> Vec<Quote> {
    let mut ids: Vec<_> = evidence::entries(known, proofs).into_keys().collect();
    ids.sort_by_key(|id| (known.diary.entries.get(id.0 as usize).and_then(|e| e.days), *id));
    ids.into_iter().filter_map(|id| say::quote(known, id)).collect()
}

fn standing(report: &Report, d: &Diagnostic) -> Standing {
    let same = |x: &Diagnostic| x.code == d.code && x.about == d.about;
    if let Some(allowed) = report.allowed.iter().find(|a| same(&a.finding)) {
        return Standing::Allowed(allowed.by.clone());
    }
    fn over<'d>(list: &'d [Diagnostic], same: &dyn Fn(&Diagnostic) -> bool) -> Option<&'d Diagnostic> {
        list.iter().find_map(|d| if d.folded.iter().any(same) { Some(d) } else { over(&d.folded, same) })
    }
    match over(&report.findings, &same) {
        Some(parent) => Standing::Folded(parent.code.clone()),
        None => Standing::Said,
    }
}

/// Other sentences that hold of a value: concluded and reckoned ones, not what the journal or a table
/// says in so many words.
fn also(known: &Known<'_>, value: &Value, out: &mut Why) {
    let mut found: Vec<(RowRef, &str)> = Vec::new();
    for (n, sentence) in known.program.sentences.iter().enumerate() {
        let from = match sentence.origin {
            Origin::Page => "concluded",
            Origin::Reckoned(_) => "reckoned",
            Origin::Journal | Origin::Head => continue,
        };
        let id = crate::model::sentence::SentenceId(u32::try_from(n).unwrap_or(u32::MAX));
        for row in known.model.rows(id) {
            let said = matches!(known.model.reason(row), Some(crate::model::outcome::Reason::Said(_)));
            if !said && known.model.values(row).any(|v| v == value) {
                found.push((row, from));
            }
        }
    }
    out.also_left = found.len().saturating_sub(ALSO);
    let shown = found.into_iter().take(ALSO);
    out.also =
        shown.map(|(row, from)| (say::tuple(known, &known.model.tuple(row)), from.to_owned())).collect();
}
