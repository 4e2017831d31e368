//! Laws that hold for every program, tried on random ones.

use std::{
    collections::{BTreeMap, BTreeSet},
    fmt::Write,
    sync::Arc,
};

use haulm::{
    explain::whynot::why_not,
    infer::{self, Prepared},
    measure::value::{EntryId, Value},
    model::{
        lines,
        outcome::{Model, Reason},
        program::{
            Atom, Comparator, Comparison, Demand, Expr, Fact, FactSource, Function, Gather, Line, Meaning,
            Program, Rule, Status, Term, VarId,
        },
        proof::{By, Premise, Proof, Tuple},
        sentence::{Origin, SentenceId},
    },
};
use proptest::{prelude::*, strategy::ValueTree, test_runner::TestRunner};

use super::{
    checks::replay_everything,
    naive::{self, Ground},
    world::{World, value},
};

/// Numbers that decide how a program looks; all zeros when they run out.
struct Dice<'d>(std::slice::Iter<'d, u16>);

impl Dice<'_> {
    fn roll(&mut self, sides: usize) -> usize {
        usize::from(self.0.next().copied().unwrap_or(0)) % sides
    }
}

const NAMES: [&str; 3] = ["ann", "bob", "cat"];

const AMOUNTS: [&str; 11] =
    ["1", "2", "3", "1-2", "2-4", "1kg", "2-3kg", "2d", "2026-05-01", "2026-05-03", "2026-05-02..2026-05-04"];

/// Sentences; a blank that begins with `n` takes an amount, all others names.
const SENTENCES: [&str; 7] = [
    "*{a} saw {b} and {n}",
    "*{a} went to {b}",
    "{a} knows {b}",
    "{a} likes {b}",
    "{a} is well",
    "{a} had {n:mass} of {b}",
    "{a} got {n}",
];

// Variables 0 to 2 stand for names, 3 and 4 for amounts.
const FILLED: VarId = VarId(5);
const GATHERED: VarId = VarId(6);
const ENTRY: VarId = VarId(7);

fn constant(dice: &mut Dice<'_>, amount: bool) -> Value {
    value(if amount { AMOUNTS[dice.roll(AMOUNTS.len())] } else { NAMES[dice.roll(NAMES.len())] })
}

fn takes_amount(world: &World, sentence: usize, blank: usize) -> bool {
    world.program.sentences[sentence].blanks[blank].name.starts_with('n')
}

/// A sentence with terms, its variables among `vars` if any of the right kind is there.
fn atom(world: &World, dice: &mut Dice<'_>, vars: &[VarId]) -> Atom {
    let at = dice.roll(SENTENCES.len());
    let sentence = &world.program.sentences[at];
    let terms = (0..sentence.blanks.len())
        .map(|blank| {
            let amount = takes_amount(world, at, blank);
            let fit: Vec<&VarId> = vars.iter().filter(|v| (3..=5).contains(&v.0) == amount).collect();
            match dice.roll(16) {
                0 => Term::Const(constant(dice, amount)),
                1 => Term::Any,
                // Now and then a variable of the wrong kind: it fits nothing, or should not.
                2 if !vars.is_empty() => Term::Var(vars[dice.roll(vars.len())]),
                _ if fit.is_empty() => Term::Const(constant(dice, amount)),
                _ => Term::Var(*fit[dice.roll(fit.len())]),
            }
        })
        .collect();
    let journal = sentence.origin == Origin::Journal;
    let entry = if journal && dice.roll(4) == 1 { Term::Var(ENTRY) } else { Term::Any };
    let status = [Status::Done, Status::Done, Status::Planned, Status::Either][dice.roll(4)];
    Atom { sentence: SentenceId(u32::try_from(at).expect("few")), terms, entry, status }
}

fn expr(dice: &mut Dice<'_>, vars: &[VarId]) -> Expr {
    let leaf = |dice: &mut Dice<'_>| {
        Expr::Term(match dice.roll(4) {
            n if n > 0 && !vars.is_empty() => Term::Var(vars[dice.roll(vars.len())]),
            _ => Term::Const(constant(dice, true)),
        })
    };
    let (a, b) = (leaf(dice), leaf(dice));
    match dice.roll(10) {
        6 | 7 => {
            let one = [
                Function::RoundedUp,
                Function::RoundedDown,
                Function::Rounded,
                Function::LowEnd,
                Function::HighEnd,
                Function::Logarithm,
            ];
            // Rounding has something to do only where a sum may be broken.
            let half = Expr::Term(Term::Const(Value::number(2.0)));
            Expr::Call(one[dice.roll(one.len())], vec![Expr::Div(Box::new(a), Box::new(half))])
        }
        8 => Expr::Call([Function::Greater, Function::Lesser][dice.roll(2)], vec![a, b]),
        0 => Expr::Add(Box::new(a), Box::new(b)),
        1 => Expr::Sub(Box::new(a), Box::new(b)),
        2 => Expr::Mul(Box::new(a), Box::new(b)),
        _ => a,
    }
}

fn comparison(dice: &mut Dice<'_>, vars: &[VarId]) -> Comparison {
    let by = [
        Comparator::AtMost,
        Comparator::Different,
        Comparator::Less,
        Comparator::Same,
        Comparator::More,
        Comparator::AtLeast,
    ];
    let amounts: Vec<VarId> = vars.iter().copied().filter(|v| (3..=6).contains(&v.0)).collect();
    let vars = if dice.roll(4) == 0 { vars } else { &amounts };
    let by = by[dice.roll(6)].clone();
    Comparison { left: expr(dice, vars), by, right: expr(dice, vars), may: dice.roll(2) == 1 }
}

/// A line that is no positive sentence, over what the positive lines bind.
fn other_demand(world: &World, dice: &mut Dice<'_>, bound: &[VarId]) -> Demand {
    // A variable that no positive line binds is local to the line.
    let mut own = bound.to_vec();
    own.extend([VarId(2), VarId(4)].into_iter().filter(|_| dice.roll(2) == 1));
    let with = |dice: &mut Dice<'_>, atom: &Atom| {
        let mut vars: Vec<VarId> = bound.to_vec();
        vars.extend(atom.terms.iter().filter_map(|t| if let Term::Var(v) = t { Some(*v) } else { None }));
        let n = dice.roll(3).saturating_sub(1);
        (0..n).map(|_| comparison(dice, &vars)).collect::<Vec<_>>()
    };
    match dice.roll(8) {
        0..=2 => {
            let atom = atom(world, dice, &own);
            Demand::No { with: with(dice, &atom), atom }
        }
        3..=5 => {
            let mut atom = atom(world, dice, &own);
            // The variable gathered must stand in the sentence.
            let amount = (0..atom.terms.len())
                .find(|b| takes_amount(world, atom.sentence.0 as usize, *b) && dice.roll(4) > 0);
            let at = amount.unwrap_or_else(|| dice.roll(atom.terms.len()));
            atom.terms[at] = Term::Var(GATHERED);
            let how = match amount {
                Some(_) => [Gather::Total, Gather::Least, Gather::Greatest, Gather::Count][dice.roll(4)],
                None => Gather::Count,
            };
            Demand::Gather { into: FILLED, how, of: GATHERED, with: with(dice, &atom), atom }
        }
        6 => Demand::Compute { into: FILLED, expr: expr(dice, bound) },
        _ => Demand::Compare(comparison(dice, bound)),
    }
}

/// A random program. Now and then a rule cannot run or goes in circles: the engine must leave it out.
fn program(dice: &[u16]) -> World {
    let mut dice = Dice(dice.iter());
    let mut world = World::default().says(&SENTENCES);
    for n in 0..10 + dice.roll(30) {
        let at = dice.roll(SENTENCES.len());
        let values = (0..world.program.sentences[at].blanks.len())
            .map(|blank| constant(&mut dice, takes_amount(&world, at, blank)))
            .collect();
        let n = u32::try_from(n).expect("few");
        let source = match dice.roll(3) {
            0 => FactSource::Page(World::place(5000 + n)),
            _ => FactSource::Entry(EntryId(n / 2)),
        };
        let planned = dice.roll(4) == 1;
        let id = SentenceId(u32::try_from(at).expect("few"));
        world.facts.push(Fact { sentence: id, values, planned, source });
    }
    let mut numbers: BTreeMap<String, u32> = BTreeMap::new();
    let names: Vec<VarId> = (0..5).map(VarId).collect();
    for at in 0..2 + dice.roll(7) {
        let page = format!("page-{}", dice.roll(3));
        let number = numbers.entry(page.clone()).or_default();
        *number += 1;
        let loc = World::place(u32::try_from(at * 10).expect("few"));
        let line = |demand| Line { loc, demand };
        let mut body: Vec<Line> =
            (0..1 + dice.roll(3)).map(|_| line(Demand::Holds(atom(&world, &mut dice, &names)))).collect();
        let mut bound: Vec<VarId> = lines::bound_by(&body).into_iter().filter(|v| *v != ENTRY).collect();
        for _ in 0..dice.roll(3) {
            let demand = other_demand(&world, &mut dice, &bound);
            if let Demand::Gather { into, .. } | Demand::Compute { into, .. } = &demand {
                bound.push(*into);
            }
            body.insert(dice.roll(body.len() + 1), line(demand));
        }
        let mut head = atom(&world, &mut dice, &bound);
        head.entry = Term::Any;
        for term in head.terms.iter_mut().filter(|t| **t == Term::Any) {
            *term = Term::Const(value("ann"));
        }
        world.program.rules.push(Arc::new(Rule {
            page: page.as_str().into(),
            number: *number,
            loc,
            vars: (0..8).map(|n| format!("v{n}").into()).collect(),
            body,
            head,
            meaning: Meaning::Sentence,
            here: None,
        }));
    }
    world
}

/// Every tuple with its rank in its stratum and what it rests on, one step deep, in words.
fn told(world: &World, model: &Model) -> BTreeMap<Tuple, String> {
    let mut told = BTreeMap::new();
    for n in 0..world.program.sentences.len() {
        for row in model.rows(SentenceId(u32::try_from(n).expect("few"))) {
            let proof = model.proof(row).expect("a proof");
            told.insert(model.tuple(row), step(&world.program, &proof));
        }
    }
    told
}

fn step(program: &Program, proof: &Proof) -> String {
    let mut text = String::new();
    match &proof.by {
        By::Said(source) => write!(text, "said {source:?}").expect("text"),
        By::Reckoned { .. } => panic!("nothing is reckoned here"),
        By::Rule { rule, bindings, premises } => {
            let rule = &program.rules[*rule];
            write!(text, "{} {} {bindings:?}", rule.page, rule.number).expect("text");
            for premise in premises {
                match premise {
                    Premise::Holds(p) => write!(text, "\n  {:?}", p.tuple),
                    Premise::Gathered { value, members, .. } => {
                        let members: Vec<&Tuple> = members.iter().map(|m| &m.tuple).collect();
                        write!(text, "\n  {value:?} of {members:?}")
                    }
                    other => write!(text, "\n  {other:?}"),
                }
                .expect("text");
            }
        }
    }
    text
}

#[test]
fn a_circle_that_is_parted_is_worked_out_as_if_it_had_never_been_one() {
    let world = World::default()
        .says(&[
            "{who} asked for {book}",
            "{who} is new",
            "{who} waits",
            "{who} left a note",
            "{who} is back",
        ])
        .given(&["ann asked for ulysses", "ann is new"])
        .rule("offered", &["{w} is new"], "{w} asked for dune")
        .rule("waits", &["{w} asked for {}"], "{w} waits")
        .rule("back", &["{w} waits", "{w} left a note"], "{w} is back")
        .rule("again", &["{w} is back"], "{w} asked for emma");
    let mut parted = world.clone();
    Arc::make_mut(&mut parted.program.rules[2]).body.remove(0);
    let whole = Prepared::new(world.program.clone());
    let (before, _) = infer::run(&whole, &world.facts);
    let (model, _) = infer::rerun(&whole.reworked(parted.program.clone(), &[]), &before);
    assert_eq!(told(&parted, &model), told(&parted, &parted.model()));
    // In a circle she waits for what she asked for herself; out of it, for what comes first by its name.
    assert_ne!(told(&world, &before), told(&parted, &model));
}

/// Facts of a program.
fn shared(facts: Vec<Fact>) -> Arc<Vec<Arc<Fact>>> {
    Arc::new(facts.into_iter().map(Arc::new).collect())
}

/// Facts for a journal to say, and facts for a program.
fn halves(facts: &[Fact], dice: &mut Dice<'_>) -> (Vec<Fact>, Vec<Fact>) {
    facts.iter().cloned().partition(|_| dice.roll(2) == 0)
}

fn shuffled<T: Clone>(items: &[T], dice: &mut Dice<'_>) -> Vec<T> {
    let mut items = items.to_vec();
    for n in (1..items.len()).rev() {
        items.swap(n, dice.roll(n + 1));
    }
    items
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn inference_is_what_plain_trying_finds(dice in prop::collection::vec(any::<u16>(), 250..900)) {
        let world = program(&dice);
        let (model, _) = world.run();
        let holding = naive::infer(&world.program, &world.facts, |n| model.left_out(n));
        prop_assert_eq!(model.len(), holding.len());
        for (tuple, (round, ground)) in &holding {
            let row = model.find(tuple);
            prop_assert!(row.is_some(), "not inferred: {}", world.text(tuple));
            let Some(row) = row else { continue };
            prop_assert_eq!(model.rank(row).round, *round, "round of {}", world.text(tuple));
            let found = match model.reason(row) {
                Some(Reason::Said(source)) => Ground::Said(source.clone()),
                Some(Reason::Rule { rule, rows }) => Ground::Rule {
                    page: model.rules()[rule].page.to_string(),
                    number: model.rules()[rule].number,
                    premises: rows.into_iter().flatten().map(|r| model.tuple(r)).collect(),
                },
                other => panic!("{other:?}"),
            };
            prop_assert_eq!(&found, ground, "derivation of {}", world.text(tuple));
        }
    }

    #[test]
    fn other_derivations_are_all_that_rest_on_what_lies_lower_and_none_that_is_circular(
        dice in prop::collection::vec(any::<u16>(), 250..900),
    ) {
        let world = program(&dice);
        let (model, _) = world.run();
        let holding = naive::infer(&world.program, &world.facts, |n| model.left_out(n));
        for (tuple, ways) in naive::all_ways(&world.program, &holding, |n| model.left_out(n)) {
            let Some(row) = model.find(&tuple) else { continue };
            let mut shown: Vec<Ground> = Vec::new();
            shown.extend(match model.reason(row) {
                Some(Reason::Rule { rule, rows }) => Some(Ground::Rule {
                    page: model.rules()[rule].page.to_string(),
                    number: model.rules()[rule].number,
                    premises: rows.into_iter().flatten().map(|r| model.tuple(r)).collect(),
                }),
                _ => None,
            });
            for other in model.derivations(row, 10_000) {
                let By::Rule { rule, premises, .. } = &other.by else { panic!("by a rule") };
                let premises = premises.iter().filter_map(|p| match p {
                    Premise::Holds(p) => Some(p.tuple.clone()),
                    _ => None,
                });
                shown.push(Ground::Rule {
                    page: model.rules()[*rule].page.to_string(),
                    number: model.rules()[*rule].number,
                    premises: premises.collect(),
                });
            }
            let count = shown.len();
            let shown: BTreeSet<Ground> = shown.into_iter().collect();
            prop_assert_eq!(shown.len(), count, "none is shown twice");
            prop_assert!(shown.is_subset(&ways));
            for missing in ways.difference(&shown) {
                let Ground::Rule { premises, .. } = missing else { panic!("by a rule") };
                let lower = |t: &Tuple| model.find(t).is_some_and(|r| model.rank(r) < model.rank(row));
                prop_assert!(!premises.iter().all(lower), "not shown: {missing:?}");
            }
        }
    }

    #[test]
    fn the_order_of_rules_and_facts_changes_nothing(
        dice in prop::collection::vec(any::<u16>(), 250..900),
        other in prop::collection::vec(any::<u16>(), 40),
    ) {
        let world = program(&dice);
        let mut again = world.clone();
        let mut other = Dice(other.iter());
        again.program.rules = shuffled(&world.program.rules, &mut other);
        again.facts = shuffled(&world.facts, &mut other);
        let ((a, said_a), (b, said_b)) = (world.run(), again.run());
        prop_assert_eq!(told(&world, &a), told(&again, &b));
        prop_assert_eq!(said_a, said_b);
    }

    #[test]
    fn what_a_program_says_of_itself_may_be_worked_out_before_what_a_journal_says(
        dice in prop::collection::vec(any::<u16>(), 250..900),
        other in prop::collection::vec(any::<u16>(), 80),
    ) {
        let world = program(&dice);
        let mut other = Dice(other.iter());
        let mut program = world.program.clone();
        let mut journals = [world.facts.clone(), Vec::new(), Vec::new()];
        for fact in &world.facts {
            match other.roll(3) {
                0 => Arc::make_mut(&mut program.facts).push(Arc::new(fact.clone())),
                n => journals[n].push(fact.clone()),
            }
        }
        let prepared = Prepared::new(program.clone());
        for journal in &journals {
            let mut fresh = world.clone();
            fresh.facts = program.facts.iter().map(|f| Fact::clone(f)).chain(journal.iter().cloned()).collect();
            let ((a, said_a), (b, said_b)) = (fresh.run(), infer::run(&prepared, journal));
            prop_assert_eq!(told(&world, &a), told(&world, &b));
            prop_assert_eq!(said_a, said_b);
            for sentence in (0..).map(SentenceId).take(SENTENCES.len()) {
                prop_assert!(a.rows(sentence).into_iter().map(|r| a.rank(r)).eq(b.rows(sentence).into_iter().map(|r| b.rank(r))));
            }
        }
    }

    #[test]
    fn what_follows_from_facts_that_come_and_go_may_be_worked_out_from_what_followed_before(
        dice in prop::collection::vec(any::<u16>(), 250..900),
        other in prop::collection::vec(any::<u16>(), 120),
    ) {
        let world = program(&dice);
        prop_assume!(!world.facts.is_empty());
        let mut other = Dice(other.iter());
        let (mut own, mut facts) = (Vec::new(), BTreeSet::new());
        for fact in &world.facts {
            match other.roll(4) {
                0 => own.push(fact.clone()),
                _ => _ = facts.insert(fact.clone()),
            }
        }
        let all: Vec<Fact> = world.facts.clone();
        let prepared = Arc::new(Prepared::new(Program { facts: shared(own), ..world.program.clone() }));
        let mut kept = infer::Kept::default();
        for _ in 0..8 {
            // Mostly one fact comes or goes, as at a key; now and then several do.
            for _ in 0..[1, 1, 1, 4][other.roll(4)] {
                let fact = &all[other.roll(all.len())];
                if !facts.remove(fact) {
                    facts.insert(fact.clone());
                }
            }
            let now: Arc<Vec<Arc<Fact>>> = Arc::new(facts.iter().cloned().map(Arc::new).collect());
            let ((a, said_a), (b, said_b)) = (infer::run(&prepared, &now), kept.run(&prepared, &now));
            prop_assert_eq!(told(&world, &a), told(&world, &b));
            prop_assert_eq!(said_a, said_b);
            for sentence in (0..).map(SentenceId).take(SENTENCES.len()) {
                prop_assert!(a.rows(sentence).into_iter().map(|r| a.rank(r)).eq(b.rows(sentence).into_iter().map(|r| b.rank(r))));
            }
        }
    }

    #[test]
    fn what_other_rules_would_bring_may_be_worked_out_from_what_these_brought(
        dice in prop::collection::vec(any::<u16>(), 250..900),
        other in prop::collection::vec(any::<u16>(), 20),
    ) {
        let world = program(&dice);
        let mut other = Dice(other.iter());
        let mut weaker = world.clone();
        let at = other.roll(weaker.program.rules.len());
        let body = &mut Arc::make_mut(&mut weaker.program.rules[at]).body;
        body.remove(other.roll(body.len()));
        // Half of the facts are the program's own.
        let (given, own) = halves(&world.facts, &mut other);
        let with = |program: &Program| Program { facts: shared(own.clone()), ..program.clone() };
        let whole = Prepared::new(with(&world.program));
        let (before, _) = infer::run(&whole, &given);
        let reworked = whole.reworked(with(&weaker.program), &[]);
        let fresh = infer::run(&Prepared::new(with(&weaker.program)), &given);
        for (model, said) in [infer::rerun(&reworked, &before), infer::run(&reworked, &given)] {
            prop_assert_eq!(told(&weaker, &model), told(&weaker, &fresh.0));
            prop_assert_eq!(said, fresh.1.clone());
        }
    }

    #[test]
    fn what_more_rules_and_facts_bring_may_be_worked_out_from_what_fewer_brought(
        dice in prop::collection::vec(any::<u16>(), 250..900),
        other in prop::collection::vec(any::<u16>(), 120),
    ) {
        let world = program(&dice);
        let mut other = Dice(other.iter());
        let mut fewer = world.program.clone();
        fewer.rules.truncate(other.roll(fewer.rules.len() + 1));
        let (mut given, mut own, mut more) = (Vec::new(), Vec::new(), Vec::new());
        for fact in &world.facts {
            [&mut given, &mut own, &mut more][other.roll(3)].push(fact.clone());
        }
        fewer.facts = shared(own.clone());
        let grown = Program { facts: shared([own, more.clone()].concat()), ..world.program.clone() };
        let grown_from = Prepared::new(fewer).reworked(grown.clone(), &more.iter().collect::<Vec<_>>());
        let (a, said_a) = infer::run(&grown_from, &given);
        let (b, said_b) = infer::run(&Prepared::new(grown), &given);
        prop_assert_eq!(told(&world, &a), told(&world, &b));
        prop_assert_eq!(said_a, said_b);
    }

    #[test]
    fn what_is_asked_for_comes_out_as_if_all_were(
        dice in prop::collection::vec(any::<u16>(), 250..900),
        other in prop::collection::vec(any::<u16>(), 120),
    ) {
        let world = program(&dice);
        let mut other = Dice(other.iter());
        let (given, own) = halves(&world.facts, &mut other);
        let whole = Prepared::new(Program { facts: shared(own), ..world.program.clone() });
        let roots: BTreeSet<SentenceId> =
            (0..).map(SentenceId).take(SENTENCES.len()).filter(|_| other.roll(4) == 0).collect();
        let asked = whole.asked(&roots);
        let ((all, _), (some, _)) = (infer::run(&whole, &given), infer::run(&asked, &given));
        for sentence in (0..).map(SentenceId).take(SENTENCES.len()) {
            let said = |model: &Model| -> Vec<Tuple> {
                model.rows(sentence).into_iter().map(|row| model.tuple(row)).collect()
            };
            if roots.contains(&sentence) {
                prop_assert_eq!(said(&some), said(&all));
                let proofs = |model: &Model| -> Vec<_> {
                    model.rows(sentence).into_iter().map(|row| (model.rank(row), model.proof(row))).collect()
                };
                prop_assert_eq!(proofs(&some), proofs(&all));
            } else {
                let all = said(&all);
                prop_assert!(said(&some).iter().all(|tuple| all.contains(tuple)));
            }
        }
    }

    #[test]
    fn every_proof_of_every_program_replays(dice in prop::collection::vec(any::<u16>(), 250..900)) {
        let world = program(&dice);
        let (model, _) = world.run();
        replay_everything(&world, &model);
    }

    #[test]
    fn why_not_finds_the_longest_run_of_lines(
        dice in prop::collection::vec(any::<u16>(), 250..900),
        asked in prop::collection::vec(any::<u16>(), 6),
    ) {
        let world = program(&dice);
        let (model, _) = world.run();
        let mut asked = atom(&world, &mut Dice(asked.iter()), &[]);
        asked.entry = Term::Any;
        let answer = why_not(&model, &asked);
        let holding = naive::infer(&world.program, &world.facts, |n| model.left_out(n));
        if !answer.holds.is_empty() {
            prop_assert!(answer.attempts.is_empty());
        }
        let mut left = 0;
        for attempt in &answer.attempts {
            prop_assert!(attempt.exhaustive);
            prop_assert!(left <= attempt.left, "the nearest comes first");
            left = attempt.left;
            let rule = &world.program.rules[attempt.rule];
            let order = &model.order(attempt.rule).expect("it runs").lines;
            let longest = naive::longest(&world.program, &holding, rule, order, &asked);
            prop_assert_eq!(Some(attempt.met.len()), longest);
            prop_assert_eq!(order.get(attempt.met.len()), Some(&attempt.line));
        }
    }
}

#[test]
fn the_random_programs_are_worth_trying() {
    let mut runner = TestRunner::deterministic();
    let mut met: BTreeMap<&str, usize> = BTreeMap::new();
    for _ in 0..400 {
        let dice =
            prop::collection::vec(any::<u16>(), 250..900).new_tree(&mut runner).expect("dice").current();
        let world = program(&dice);
        let (model, _) = world.run();
        for n in 0..SENTENCES.len() {
            for row in model.rows(SentenceId(u32::try_from(n).expect("few"))) {
                if model.rank(row).round > 2 {
                    *met.entry("deep").or_default() += 1;
                }
                let proof = model.proof(row).expect("a proof");
                let By::Rule { premises, .. } = &proof.by else { continue };
                for premise in premises {
                    let kind = match premise {
                        Premise::Holds(_) => "holds",
                        Premise::Absent { near, .. } if near.is_empty() => "absent",
                        Premise::Absent { .. } => "absent, with near misses",
                        Premise::Gathered { members, .. } if members.is_empty() => "gathered from nothing",
                        Premise::Gathered { .. } => "gathered",
                        Premise::Computed { .. } => "computed",
                        Premise::Compared { .. } => "compared",
                    };
                    *met.entry(kind).or_default() += 1;
                }
            }
        }
    }
    assert_eq!(met.len(), 8, "each kind of line is met, and some tuples lie deep: {met:?}");
    assert!(met.values().all(|n| *n >= 5), "none of them only by chance: {met:?}");
}
