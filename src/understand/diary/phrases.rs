//! The sentences of the frames, cut into words and blanks and found in the program.
//!
//! Comes in: a frame's sentence lines and the program's sentences. Goes out: for each line its blanks
//! by name and the sentence it is, and what else of a program the facts of a diary hang on. It fills
//! nothing; `facts` does.

use std::{collections::BTreeSet, sync::Arc};

use rustc_hash::FxHashMap;

use crate::{
    measure::value::{BlankType, Value},
    model::{
        frame::{Condition, Frames},
        program::Program,
        sentence::{Part, SentenceId},
    },
    understand::registry::registry,
};

/// The reckoner whose sentences tell of stuff that goes round in a circle.
const LINEAGE: &str = "lineage";

/// One sentence of a frame.
#[derive(Debug, Clone)]
pub(super) struct Phrase {
    /// What it hangs on beside its blanks.
    pub conditions: Vec<Condition>,
    /// The line with every blank as `{}`.
    pub shape: String,
    /// The sentence it is.
    pub id: SentenceId,
    /// The names its blanks have in this frame, and what they take.
    pub blanks: Vec<(Arc<str>, BlankType)>,
    /// Whether the blank stands after "the control of".
    pub of_control: Vec<bool>,
}

/// The sentences of every verb, and those said of everything.
#[derive(Debug, Clone, Default)]
pub struct Phrases {
    by_verb: FxHashMap<Arc<str>, Vec<Phrase>>,
    common: Vec<Phrase>,
    /// Grades that are no hurt: the vocabulary ranks them 0.
    pub(super) unhurt: BTreeSet<Arc<str>>,
    /// The sentences that tell where stuff came from and went, each with its place among what the reckoner
    /// of lineage reads.
    pub(super) lineage: FxHashMap<SentenceId, usize>,
}

impl Phrases {
    /// The sentences of a verb, in the order of the frame table.
    pub(super) fn of(&self, verb: &str) -> &[Phrase] {
        self.by_verb.get(verb).map_or(&[], Vec::as_slice)
    }

    /// A sentence said of everything, by its line without blanks' names: `{} is a {}`.
    pub(super) fn common(&self, shape: &str) -> Option<&Phrase> {
        self.common.iter().find(|p| p.shape == shape)
    }

    /// Finds every sentence of the frames in the program. A line the program does not know is left out:
    /// a program compiled from the same frames knows them all.
    pub fn find(frames: &Frames, program: &Program) -> Self {
        find(frames, program)
    }
}

fn find(frames: &Frames, program: &Program) -> Phrases {
    let mut ids: FxHashMap<String, SentenceId> = FxHashMap::default();
    for (n, s) in program.sentences.iter().enumerate() {
        let words: Vec<&str> = s
            .parts
            .iter()
            .map(|p| match p {
                Part::Word(w) => &**w,
                Part::Blank(_) => "{}",
            })
            .collect();
        ids.entry(words.join(" ")).or_insert(SentenceId(u32::try_from(n).unwrap_or(u32::MAX)));
    }
    let phrase = |line: &str, conditions: &[Condition]| -> Option<Phrase> {
        let shape = shape_of(line);
        let id = *ids.get(&shape)?;
        let sentence = program.sentences.get(id.0 as usize)?;
        let tokens = tokens(line);
        let mut blanks = Vec::new();
        let mut of_control = Vec::new();
        for (n, token) in tokens.iter().enumerate() {
            let Some(inner) = blank(token) else { continue };
            let name: &str = inner.split(':').next().unwrap_or(inner).trim();
            let takes = sentence.blanks.get(blanks.len()).map_or(BlankType::Name, |b| b.takes);
            blanks.push((name.into(), takes));
            let before = |back: usize, word: &str| {
                n.checked_sub(back).and_then(|i| tokens.get(i)).is_some_and(|t| t == word)
            };
            of_control.push(before(1, "of") && before(2, "control"));
        }
        Some(Phrase { conditions: conditions.to_vec(), shape, id, blanks, of_control })
    };
    let by_verb = frames
        .frames
        .iter()
        .map(|f| {
            let of = |n: usize| f.conditions.get(&n).map_or(&[][..], Vec::as_slice);
            let said = f.sentences.iter().enumerate().filter_map(|(n, s)| phrase(&s.text, of(n)));
            (f.verb.clone(), said.collect())
        })
        .collect();
    let common = frames.common.iter().filter_map(|s| phrase(&s.text, &[])).collect();
    let lineage = registry().into_iter().find(|r| r.name == LINEAGE).map_or(&[][..], |r| r.reads);
    let lineage = lineage.iter().enumerate().filter_map(|(n, s)| Some((*ids.get(&shape_of(s))?, n)));
    Phrases { by_verb, common, unhurt: unhurt(program, &ids), lineage: lineage.collect() }
}

fn unhurt(program: &Program, ids: &FxHashMap<String, SentenceId>) -> BTreeSet<Arc<str>> {
    let Some(ranks) = ids.get("severity {} is {} steps worse than fine") else { return BTreeSet::new() };
    let facts = program.facts.iter().filter(|f| f.sentence == *ranks);
    facts
        .filter_map(|f| match f.values.as_slice() {
            [Value::Word(w), Value::Number(rank)] if rank.high() <= 0.0 => Some(w.clone()),
            _ => None,
        })
        .collect()
}

/// A line with every blank as `{}` and one space between words.
fn shape_of(line: &str) -> String {
    let shapes: Vec<String> = tokens(line)
        .into_iter()
        .map(|t| if blank(&t).is_some() { "{}".to_owned() } else { t.to_lowercase() })
        .collect();
    shapes.join(" ")
}

fn blank(token: &str) -> Option<&str> {
    token.strip_prefix('{')?.strip_suffix('}')
}

/// Words, blanks (whatever is in the braces kept together), and commas and semicolons as words.
/// A remark in brackets at the end (`(only one {x})`) is no part of the sentence.
fn tokens(line: &str) -> Vec<String> {
    let line = line.split(" (").next().unwrap_or(line);
    let mut out = Vec::new();
    let mut word = String::new();
    let mut depth = 0usize;
    for c in line.chars() {
        match c {
            '{' => {
                depth += 1;
                word.push(c);
            }
            '}' => {
                depth = depth.saturating_sub(1);
                word.push(c);
                if depth == 0 {
                    out.push(std::mem::take(&mut word));
                }
            }
            c if depth > 0 => word.push(c),
            c if c.is_whitespace() => {
                if !word.is_empty() {
                    out.push(std::mem::take(&mut word));
                }
            }
            ',' | ';' => {
                if !word.is_empty() {
                    out.push(std::mem::take(&mut word));
                }
                out.push(c.to_string());
            }
            c => word.push(c),
        }
    }
    if !word.is_empty() {
        out.push(word);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_cut_into_words_blanks_and_commas() {
        assert_eq!(
            shape_of("{lot} was spread on {place} {depth:length} deep on {day:date}"),
            "{} was spread on {} {} deep on {}"
        );
        assert_eq!(shape_of("so {a:temperature difference}, then {b}"), "so {} , then {}");
        assert_eq!(shape_of("{t} came out {v} (only one {v})"), "{} came out {}");
    }
}
