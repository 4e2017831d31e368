//! The part of a program that some sentences rest on.
//!
//! Comes in: a program and sentences. Goes out: the same program without the rules, facts and reckoners
//! that can have no say in those sentences. Sentences keep their numbers.

use std::{collections::BTreeSet, sync::Arc};

use crate::model::{program::Program, sentence::SentenceId};

/// The rules, facts and reckoners that the sentences in `roots` rest on, at any depth. Facts of `always`
/// are kept as well.
pub fn resting(program: &Program, roots: BTreeSet<SentenceId>, always: &BTreeSet<SentenceId>) -> Program {
    let mut all = roots;
    loop {
        let before = all.len();
        for rule in &program.rules {
            if all.contains(&rule.head.sentence) {
                all.extend(rule.reads());
            }
        }
        for used in &program.reckoners {
            if used.gives.iter().any(|s| all.contains(s)) {
                all.extend(used.reads.iter().chain(&used.gives));
            }
        }
        if all.len() == before {
            break;
        }
    }
    let kept = |s: &SentenceId| all.contains(s) || always.contains(s);
    Program {
        sentences: Arc::clone(&program.sentences),
        rules: program.rules.iter().filter(|r| all.contains(&r.head.sentence)).cloned().collect(),
        facts: Arc::new(program.facts.iter().filter(|f| kept(&f.sentence)).cloned().collect()),
        reckoners: program
            .reckoners
            .iter()
            .filter(|used| used.gives.iter().any(|s| all.contains(s)))
            .cloned()
            .collect(),
    }
}
