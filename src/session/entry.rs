//! The entry that an action waits for, put together from its closing sentence and the frame that says it.
//!
//! Comes in: an action of a check. Goes out: one line to write, `…` where only the grower knows what
//! belongs there. It is an offer: whether the line closes the action is the next check's to say.

use std::{collections::BTreeMap, sync::Arc};

use super::Checked;
use crate::{
    base::name::counted,
    measure::{display, value::Value},
    model::{
        finding::Action,
        frame::{Frame, Lead, Need, Slot, Takes},
        program::{Demand, Meaning, Rule, Status, Term, VarId},
        sentence::{Origin, SentenceId},
    },
    understand::lexicon::kinds::suits,
};

/// What stands where nothing is known.
const OPEN: &str = "\u{2026}";

/// How many rules lie at most between what closes an action and what the journal says.
const DEEP: usize = 4;

/// How many sentences are looked at for one action.
const MOST: usize = 60;

type Told = (SentenceId, Vec<Option<Value>>);

impl Checked {
    /// The entry that would close an action, where the journal can say so. Of several the one whose verb the
    /// action's own words begin with.
    pub fn entry_for(&self, action: &Action) -> Option<String> {
        let awaited = action.until.as_ref()?;
        let mut told = Vec::new();
        self.told(awaited.sentence, awaited.values.clone(), DEEP, &mut told);
        let mut lines = told.iter().filter_map(|(sentence, values)| {
            let declared = self.program.sentences.get(sentence.0 as usize)?;
            let says = |frame: &&Frame| frame.sentences.iter().any(|p| p.loc == declared.loc);
            let frame = self.frames.frames.iter().find(says)?;
            let mut known: BTreeMap<&str, String> = BTreeMap::new();
            for (blank, value) in declared.blanks.iter().zip(values) {
                if !fits(frame, &blank.name, value.as_ref()) {
                    return None;
                }
                let text = value.as_ref().map_or(OPEN.to_owned(), |v| display::value(v, &self.diary.units));
                known.insert(&blank.name, text);
            }
            // What the action names besides may be what a needed slot is still open for.
            let besides = awaited.named.iter().filter(|v| !values.iter().flatten().any(|used| used == *v));
            for value in besides.filter(|v| matches!(v, Value::Thing(_))) {
                let open = frame.slots.iter().find(|slot| {
                    let is_open = known.get(&*slot.name).is_none_or(|text| text == OPEN);
                    is_open && slot.need != Need::May && fits(frame, &slot.name, Some(value))
                });
                if let Some(slot) = open {
                    known.insert(&slot.name, display::value(value, &self.diary.units));
                }
            }
            Some((is_named(frame, &action.words), format!("- {}", line(frame, &known))))
        });
        let first = lines.next()?;
        if first.0 {
            return Some(first.1);
        }
        let named = lines.find(|(named, _)| *named).map(|(_, line)| line);
        Some(named.unwrap_or(first.1))
    }

    /// The sentences of the journal that a sentence rests on: itself, or what rules conclude it from.
    fn told(&self, sentence: SentenceId, values: Vec<Option<Value>>, deep: usize, found: &mut Vec<Told>) {
        let Some(declared) = self.program.sentences.get(sentence.0 as usize) else { return };
        match declared.origin {
            Origin::Journal => return found.push((sentence, values)),
            Origin::Page if deep > 0 && found.len() < MOST => {}
            _ => return,
        }
        let concludes = |r: &&Arc<Rule>| r.meaning == Meaning::Sentence && r.head.sentence == sentence;
        for rule in self.program.rules.iter().filter(concludes) {
            let Some(bound) = bound(rule, &values) else { continue };
            for line in &rule.body {
                let Demand::Holds(atom) = &line.demand else { continue };
                // A line that says nothing of what is known is not the one to write.
                let says_of_it = |t: &Term| matches!(t, Term::Var(v) if bound.contains_key(v));
                if atom.status != Status::Planned && (bound.is_empty() || atom.terms.iter().any(says_of_it)) {
                    let values = atom.terms.iter().map(|t| value(t, &bound)).collect();
                    self.told(atom.sentence, values, deep - 1, found);
                }
            }
        }
    }
}

/// Whether a thing is of a kind that the slot of that name takes.
fn fits(frame: &Frame, slot: &str, value: Option<&Value>) -> bool {
    let (Some(Value::Thing(thing)), Some(slot)) = (value, frame.slot(slot)) else { return true };
    slot.takes.iter().any(|takes| match takes {
        Takes::Thing(kind) | Takes::Portion(kind) => suits(kind, &thing.kind),
        Takes::New(kind) => kind.as_ref().is_none_or(|kind| *kind == thing.kind),
        _ => false,
    })
}

/// Whether the words of an action begin with a frame's verb, as plans are worded.
fn is_named(frame: &Frame, words: &str) -> bool {
    let begins = |verb: &Arc<str>| words.strip_prefix(&**verb).is_some_and(|rest| rest.starts_with(' '));
    begins(&frame.verb) || frame.base.as_ref().is_some_and(begins) || frame.also.iter().any(begins)
}

/// What a rule's variables are if its head is to say these values; `None` if it never does.
fn bound(rule: &Rule, values: &[Option<Value>]) -> Option<BTreeMap<VarId, Value>> {
    let mut bound = BTreeMap::new();
    for (term, value) in rule.head.terms.iter().zip(values) {
        match (term, value) {
            (Term::Var(v), Some(value)) => {
                bound.insert(*v, value.clone());
            }
            (Term::Const(c), Some(value)) if c != value => return None,
            _ => {}
        }
    }
    Some(bound)
}

fn value(term: &Term, bound: &BTreeMap<VarId, Value>) -> Option<Value> {
    match term {
        Term::Var(v) => bound.get(v).cloned(),
        Term::Const(value) => Some(value.clone()),
        Term::Any => None,
    }
}

/// The frame's line with what is known in its slots, and with what it needs besides.
fn line(frame: &Frame, known: &BTreeMap<&str, String>) -> String {
    let mut out = frame.verb.to_string();
    let mut kinds: Vec<&Arc<str>> = Vec::new();
    let said = |slot: &Slot| known.contains_key(&*slot.name);
    // Of slots one of which is needed, the one that is known, else the first.
    for slot in &frame.slots {
        if let (Need::OneOf(kind), true) = (&slot.need, said(slot)) {
            kinds.push(kind);
        }
    }
    let mut after_colon = String::new();
    for slot in &frame.slots {
        let wanted = said(slot)
            || match &slot.need {
                Need::Must => true,
                Need::May => false,
                Need::With(other) => known.contains_key(&**other),
                Need::OneOf(kind) => {
                    let first = !kinds.contains(&kind);
                    kinds.push(kind);
                    first
                }
            };
        if !wanted {
            continue;
        }
        let open = if slot.takes.contains(&Takes::Pots) { "\u{2026} pots" } else { OPEN };
        let text = known.get(&*slot.name).map_or(open, String::as_str);
        let text =
            if slot.takes == [Takes::Pots] && text != open { counted(text, "pot") } else { text.to_owned() };
        match slot.leads.first() {
            Some(Lead::AfterColon) => after_colon = format!(": {text}"),
            Some(Lead::Word(lead)) if slot.takes == [Takes::Flag] => out.push_str(&format!(" {lead}")),
            Some(Lead::Word(lead)) => out.push_str(&format!(" {lead} {text}")),
            Some(Lead::Before(after)) => out.push_str(&format!(" {text} {after}")),
            _ => out.push_str(&format!(" {text}")),
        }
    }
    out + &after_colon
}
