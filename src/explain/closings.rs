//! `done` and `skipped` lines: which action each closes.
//!
//! Comes in: the diary's closings and the keys of actions. Goes out: the keys closed on those days, and
//! a diagnostic with the nearest action for each line that closes none. Plans are not closed here: the
//! diary has settled those.

use std::{
    cmp::Reverse,
    collections::{BTreeMap, BTreeSet},
};

use super::{
    Known,
    actions::{Key, gaps},
    content,
    phrases::IS_A,
};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::{find_name, fold, nearest, plural},
    },
    measure::{date, value::Value},
    model::{
        diary::Closing,
        program::{Meaning, TextPart},
    },
};

/// Words that may be said or left out between the words of an action.
const SMALL: [&str; 8] = ["a", "an", "the", "of", "on", "in", "for", "to"];

/// Folded words, one by one.
type Words = Vec<String>;

/// Closes what the lines close; gives back what they could not.
pub(super) fn apply(known: &Known<'_>, keys: &mut [Key<'_>]) -> Vec<Diagnostic> {
    let kinds: BTreeSet<String> = known.diary.things.iter().map(|t| fold(&t.thing.kind)).collect();
    let mut out = Vec::new();
    let mut askable = None;
    for closing in &known.diary.closings {
        if closing.day > known.today {
            continue;
        }
        let found = meant(closing, keys, &kinds);
        let several = if found.is_empty() { together(known, closing, keys, &kinds) } else { Vec::new() };
        if !several.is_empty() {
            out.extend(close(closing, keys, &several));
            continue;
        }
        let mut names: Vec<String> =
            found.iter().filter_map(|i| keys.get(*i)).map(|k| fold(&k.words)).collect();
        names.dedup();
        match names.len() {
            // What it closed has ended since.
            0 => {
                let whole = askable.get_or_insert_with(|| Askable::of(known, &kinds)).has(closing, &kinds);
                if !whole || closing.day >= known.today {
                    out.push(unmatched(known, closing, keys, whole));
                }
            }
            // Two pages may ask for the same in the same words: one line answers both.
            1 => out.extend(close(closing, keys, &found)),
            _ => out.push(ambiguous(closing, keys, &found)),
        }
    }
    out
}

/// Closes every key a line means; a diagnostic if none of them had been asked for by its day.
fn close(closing: &Closing, keys: &mut [Key<'_>], which: &[usize]) -> Option<Diagnostic> {
    let mut early = None;
    let mut closed = false;
    for i in which {
        let Some(key) = keys.get_mut(*i) else { continue };
        match key.first_day() {
            Some(first) if closing.day < first => early = early.or_else(|| Some(too_early(closing, key))),
            _ => {
                key.close(closing.day, closing.skipped);
                closed = true;
            }
        }
    }
    early.filter(|_| !closed)
}

/// The keys a line's words fit: exactly, else with small words and kind words left out.
fn meant(closing: &Closing, keys: &[Key<'_>], kinds: &BTreeSet<String>) -> Vec<usize> {
    let find = |same: &dyn Fn(&str) -> bool| -> Vec<usize> {
        (0..keys.len()).filter(|i| keys.get(*i).is_some_and(|k| same(&k.words))).collect()
    };
    let written = fold(&closing.words);
    let exact = find(&|words| fold(words) == written);
    if !exact.is_empty() {
        return exact;
    }
    let short = shortened(&closing.words, kinds);
    if short.is_empty() { Vec::new() } else { find(&|words| shortened(words, kinds) == short) }
}

/// The keys that a line means together, as the list of things to do joins them: all alike but for one name, and
/// each of the names in the line is the name of one (`look over the plants in beds north-1, north-2 and strip-4`).
fn together(known: &Known<'_>, closing: &Closing, keys: &[Key<'_>], kinds: &BTreeSet<String>) -> Vec<usize> {
    let kinds: BTreeSet<String> = kinds.iter().flat_map(|k| [k.clone(), plural(k)]).collect();
    let plain = |words: &str| -> Words {
        let words = shortened(words, &kinds).into_iter();
        let bare =
            words.map(|w| if w == "have" { "has".to_owned() } else { w.trim_end_matches(',').to_owned() });
        bare.filter(|w| w != "and").collect()
    };
    let written = plain(&closing.words);
    let mut alike: BTreeMap<(Words, Words), Vec<(Words, usize)>> = BTreeMap::new();
    for (n, key) in keys.iter().enumerate() {
        for (before, name, after) in gaps(known, &key.said) {
            let around = (plain(&before), plain(&after));
            alike.entry(around).or_default().push((plain(&name), n));
        }
    }
    let meant = alike.into_iter().find_map(|((before, after), mut names)| {
        let mut rest = written.strip_prefix(before.as_slice())?.strip_suffix(after.as_slice())?;
        // The longest name that fits is the one meant.
        names.sort_by_key(|(name, n)| (Reverse(name.len()), *n));
        let mut found = Vec::new();
        while !rest.is_empty() {
            let (name, _) = names.iter().find(|(name, _)| !name.is_empty() && rest.starts_with(name))?;
            found.extend(names.iter().filter(|(other, _)| other == name).map(|(_, n)| *n));
            rest = rest.get(name.len()..)?;
        }
        Some(found)
    });
    meant.unwrap_or_default()
}

fn shortened(words: &str, kinds: &BTreeSet<String>) -> Vec<String> {
    fold(words)
        .split(' ')
        .filter(|w| !w.is_empty() && !SMALL.contains(w) && !kinds.contains(*w))
        .map(str::to_owned)
        .collect()
}

fn verb(closing: &Closing) -> &'static str {
    if closing.skipped { "skipped" } else { "done" }
}

/// What pages can ask for at all: the words of each job with its gaps, and what may stand in those.
struct Askable {
    jobs: Vec<Vec<Option<Words>>>,
    names: BTreeSet<Words>,
}

impl Askable {
    fn of(known: &Known<'_>, kinds: &BTreeSet<String>) -> Self {
        let short = |text: &str| shortened(text, kinds);
        let is_a = content::sentence(known, IS_A);
        let words = known.program.facts.iter().filter(|fact| Some(fact.sentence) == is_a);
        let words = words.filter_map(|fact| match fact.values.first() {
            Some(Value::Word(word)) => Some(short(word)),
            _ => None,
        });
        let things = known.diary.things.iter().map(|t| short(&t.thing.name));
        let names = things.chain(words).filter(|name| !name.is_empty()).collect();
        let jobs = known.program.rules.iter().filter_map(|rule| match &rule.meaning {
            Meaning::Action { words, .. } => Some(words),
            _ => None,
        });
        let gapped = |words: &Vec<TextPart>| {
            let parts = words.iter().map(|part| match part {
                TextPart::Words(words) => Some(short(words)),
                _ => None,
            });
            parts.collect()
        };
        Self { jobs: jobs.map(gapped).collect(), names }
    }

    /// Whether some page asks for what a line says, of things and words that there are. It may have asked for it on
    /// that day and be silent now, as jobs end.
    fn has(&self, closing: &Closing, kinds: &BTreeSet<String>) -> bool {
        let written = shortened(&closing.words, kinds);
        self.jobs.iter().any(|parts| fits(parts, &written, &self.names))
    }
}

/// Whether words are those of a page, each blank filled by one of the names.
fn fits(parts: &[Option<Words>], written: &[String], names: &BTreeSet<Words>) -> bool {
    let mut ends = BTreeSet::from([0]);
    for part in parts {
        let next = |from: usize| -> Vec<usize> {
            let left = written.get(from..).unwrap_or_default();
            match part {
                Some(words) if left.starts_with(words) => vec![from + words.len()],
                Some(_) => Vec::new(),
                None => (1..=left.len()).filter(|n| names.contains(&left[..*n])).map(|n| from + n).collect(),
            }
        };
        ends = ends.into_iter().flat_map(next).collect();
    }
    ends.contains(&written.len())
}

/// The names of the farm that stand in a text.
fn named(known: &Known<'_>, text: &str) -> BTreeSet<String> {
    let things = known.diary.things.iter().map(|t| fold(&t.thing.name));
    things.filter(|name| find_name(text, name).is_some()).collect()
}

/// `whole` says that the words are those of a page.
fn unmatched(known: &Known<'_>, closing: &Closing, keys: &[Key<'_>], whole: bool) -> Diagnostic {
    let message = format!("nothing that is asked for is called “{}”", closing.words);
    let d =
        Diagnostic::new("no-such-action", Severity::Warn, message).at(closing.words_loc, "closes nothing");
    // What is said of one thing is no slip for the same of another.
    let mine = named(known, &closing.words);
    let fit = |words: &&str| !whole && mine.is_subset(&named(known, words));
    let words: Vec<&str> = keys.iter().map(|k| k.words.as_str()).filter(fit).collect();
    let words = || words.iter().copied();
    let near = nearest(&closing.words, words()).or_else(|| most_alike(&closing.words, words()));
    match near {
        Some(near) => d.remark(RemarkKind::Write, line(closing, near)).fix(
            format!("write “{near}”"),
            closing.words_loc,
            near,
        ),
        None => d.remark(RemarkKind::Note, "`haulm due` lists what is asked for, in the words to use"),
    }
}

fn line(closing: &Closing, words: &str) -> String {
    let reason = closing.reason.as_ref().map(|r| format!(": {r}")).unwrap_or_default();
    format!("- {} {words}{reason}", verb(closing))
}

/// The action that shares most words with what was written, at least half of them.
fn most_alike<'a>(written: &str, words: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let mine: BTreeSet<String> = fold(written).split(' ').map(str::to_owned).collect();
    words
        .map(|w| {
            let theirs: BTreeSet<String> = fold(w).split(' ').map(str::to_owned).collect();
            let shared = mine.intersection(&theirs).filter(|w| !SMALL.contains(&w.as_str())).count();
            (shared, theirs.len(), w)
        })
        .filter(|(shared, ..)| shared * 2 >= mine.len())
        .max_by(|a, b| (a.0, b.1, b.2).cmp(&(b.0, a.1, a.2)))
        .map(|(.., w)| w)
}

fn too_early(closing: &Closing, key: &Key<'_>) -> Diagnostic {
    let from = key.first_day().map(date::long).unwrap_or_default();
    let message = format!("“{}” was not asked for yet on {}", key.words, date::long(closing.day));
    Diagnostic::new("no-such-action", Severity::Warn, message)
        .at(closing.words_loc, format!("asked for from {from}"))
        .remark(RemarkKind::Note, format!("it stays open; write the line on {from} or later to close it"))
}

fn ambiguous(closing: &Closing, keys: &[Key<'_>], which: &[usize]) -> Diagnostic {
    let mut names: Vec<&str> = which.iter().filter_map(|i| keys.get(*i)).map(|k| k.words.as_str()).collect();
    names.sort_unstable();
    let message = format!("“{}” may mean {} things that are asked for", closing.words, names.len());
    let mut d =
        Diagnostic::new("no-such-action", Severity::Warn, message).at(closing.words_loc, "closes nothing");
    for name in names {
        d = d.remark(RemarkKind::Write, line(closing, name));
    }
    d
}
