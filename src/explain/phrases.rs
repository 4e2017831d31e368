//! The phrase book: what an entry may begin with, and the words it may use.
//!
//! Comes in: the frames, and the vocabulary as facts of the program. Goes out: a [`PhraseBook`]. No
//! word is known here that a table does not say.

use std::collections::{BTreeMap, BTreeSet};

use super::say::natural;
use crate::{
    base::name::{fold, nearest},
    measure::value::Value,
    model::{
        explanation::{PhraseBook, Verb, WordKind},
        frame::Frames,
        program::Program,
    },
};

/// `{word} is a {kind}`, as the vocabulary tables say it.
pub const IS_A: &str = "{thing} is a {kind}";
/// Other spellings.
pub const ANOTHER: &str = "{other} is another word for the {kind} {word}";

/// The phrase book of a program; with `about`, only verbs, kinds and words that mention it.
pub fn book(frames: &Frames, program: &Program, about: Option<&str>) -> PhraseBook {
    let mut kinds: BTreeMap<String, BTreeMap<String, BTreeSet<String>>> = BTreeMap::new();
    for fact in &*program.facts {
        let Some(sentence) = program.sentences.get(fact.sentence.0 as usize) else { continue };
        let words: Vec<&str> = fact.values.iter().filter_map(word).collect();
        match (sentence.pattern().as_str(), words.as_slice()) {
            (IS_A, [word, kind]) => {
                kinds.entry((*kind).to_owned()).or_default().entry((*word).to_owned()).or_default();
            }
            (ANOTHER, [other, kind, word]) => {
                let words = kinds.entry((*kind).to_owned()).or_default();
                words.entry((*word).to_owned()).or_default().insert((*other).to_owned());
            }
            _ => {}
        }
    }
    let verbs = frames.frames.iter().map(|f| Verb {
        verb: f.verb.to_string(),
        also: f.spellings(),
        meaning: f.meaning.to_string(),
        example: f.example.to_string(),
    });
    let kinds = kinds.into_iter().map(|(kind, words)| WordKind {
        kind,
        words: {
            let mut words: Vec<(String, Vec<String>)> =
                words.into_iter().map(|(w, also)| (w, also.into_iter().collect())).collect();
            words.sort_by(|a, b| natural(&a.0, &b.0));
            words
        },
    });
    let book = PhraseBook { verbs: verbs.collect(), kinds: kinds.collect() };
    let Some(about) = about.map(fold).filter(|a| !a.is_empty()) else { return book };
    // Words are kept in the singular, and people ask in the plural.
    let forms = std::iter::once(about.clone()).chain(singulars(&about));
    let narrowed = forms.map(|form| {
        let mut narrowed = book.clone();
        narrow(&mut narrowed, &form);
        narrowed
    });
    narrowed.into_iter().find(|b| !b.verbs.is_empty() || !b.kinds.is_empty()).unwrap_or_default()
}

/// The verb or word that `about` is a slip for.
pub fn near(frames: &Frames, program: &Program, about: &str) -> Option<String> {
    let all = book(frames, program, None);
    let verbs = all.verbs.iter().flat_map(|v| std::iter::once(&v.verb).chain(&v.also));
    let words = all.kinds.iter().flat_map(|k| &k.words).flat_map(|(w, also)| std::iter::once(w).chain(also));
    nearest(about, verbs.chain(words).map(String::as_str)).map(str::to_owned)
}

/// What a word may be the plural of.
fn singulars(plural: &str) -> Vec<String> {
    let endings = [("ies", "y"), ("ves", "f"), ("ves", "fe"), ("es", ""), ("s", "")];
    let stems = endings.iter().filter_map(|(many, one)| {
        let stem = plural.strip_suffix(many).filter(|stem| stem.chars().count() > 2)?;
        Some(format!("{stem}{one}"))
    });
    let mut all: Vec<String> = stems.collect();
    // The nearest to what was typed first: `beans` is of `bean`, `tomatoes` of `tomato`.
    all.sort_by_key(|one| std::cmp::Reverse(one.len()));
    all
}

fn word(value: &Value) -> Option<&str> {
    match value {
        Value::Word(w) => Some(w),
        Value::Thing(t) => Some(&t.name),
        _ => None,
    }
}

/// Keeps what mentions `about`: a whole kind by its name (`crop`, `crops`), else single words and verbs.
fn narrow(book: &mut PhraseBook, about: &str) {
    let named = |kind: &str| {
        let kind = fold(kind);
        kind == about || format!("{kind}s") == about
    };
    if about == "verb" || about == "verbs" {
        book.kinds.clear();
        return;
    }
    if book.kinds.iter().any(|k| named(&k.kind)) {
        book.verbs.clear();
        book.kinds.retain(|k| named(&k.kind));
        return;
    }
    // From the beginning of a word on: `leaf` is in `leaf spots` and `leafmould`, `read` not in `spread`.
    let holds = |text: &str| format!(" {}", fold(text)).contains(&format!(" {about}"));
    book.verbs.retain(|v| holds(&v.verb) || v.also.iter().any(|a| holds(a)));
    for kind in &mut book.kinds {
        kind.words.retain(|(w, also)| holds(w) || also.iter().any(|a| holds(a)));
    }
    book.kinds.retain(|k| !k.words.is_empty());
}
