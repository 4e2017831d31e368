//! A second implementation of inference, as plain as can be, to hold the engine against.
//!
//! Comes in: a program, facts, and which rules are left out. Goes out: every tuple with its round and its
//! least shallowest derivation. It tries every tuple against every line in every round, and shares only
//! the arithmetic of values with the engine.

use std::collections::{BTreeMap, BTreeSet};

use haulm::{
    measure::{
        compute::{self, Sure},
        number::Range,
        value::{BlankType, Quantity, Value},
    },
    model::{
        program::{
            Atom, Comparator, Comparison, Demand, Expr, Fact, FactSource, Function, Gather, Program, Rule,
            Status, Term, VarId,
        },
        proof::Tuple,
        sentence::{Origin, SentenceId},
    },
};

pub type Frame = BTreeMap<VarId, Value>;

/// Why a tuple holds.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ground {
    Said(FactSource),
    Rule { page: String, number: u32, premises: Vec<Tuple> },
}

/// Everything that holds, with its round and reason.
pub type Holding = BTreeMap<Tuple, (u32, Ground)>;

fn journal(program: &Program, sentence: SentenceId) -> bool {
    program.sentences[sentence.0 as usize].origin == Origin::Journal
}

/// All that follows.
pub fn infer(program: &Program, facts: &[Fact], left_out: impl Fn(usize) -> bool) -> Holding {
    let mut holding = Holding::new();
    for fact in program.facts.iter().map(|f| &**f).chain(facts) {
        let hidden = journal(program, fact.sentence);
        let entry = match fact.source {
            FactSource::Entry(e) if hidden => Some(e),
            _ => None,
        };
        let tuple = Tuple {
            sentence: fact.sentence,
            values: fact.values.clone(),
            entry,
            planned: fact.planned && hidden,
        };
        let ground = Ground::Said(fact.source.clone());
        let slot = holding.entry(tuple).or_insert_with(|| (0, ground.clone()));
        slot.1 = slot.1.clone().min(ground);
    }
    let rules: Vec<&Rule> =
        program.rules.iter().enumerate().filter(|(n, _)| !left_out(*n)).map(|(_, r)| &**r).collect();
    let levels = levels(program, &rules);
    for level in 0..=levels.iter().copied().max().unwrap_or(0) {
        let here: Vec<&&Rule> =
            rules.iter().filter(|r| levels[r.head.sentence.0 as usize] == level).collect();
        // Sentences of one level that do not rest on each other may be finished together: the rounds in
        // which their tuples come are the same.
        for round in 1.. {
            let mut found: BTreeMap<Tuple, Ground> = BTreeMap::new();
            for rule in &here {
                for (frame, premises) in ways(program, &holding, rule) {
                    let values = rule.head.terms.iter().map(|t| fill(t, &frame).expect("bound")).collect();
                    let tuple = Tuple { sentence: rule.head.sentence, values, entry: None, planned: false };
                    let ground = Ground::Rule { page: rule.page.to_string(), number: rule.number, premises };
                    if !holding.contains_key(&tuple) {
                        let slot = found.entry(tuple).or_insert_with(|| ground.clone());
                        if ground < *slot {
                            *slot = ground;
                        }
                    }
                }
            }
            if found.is_empty() {
                break;
            }
            holding.extend(found.into_iter().map(|(t, g)| (t, (round, g))));
        }
    }
    holding
}

/// Every way in which the rules conclude something in what holds, the circular ones too.
pub fn all_ways(
    program: &Program,
    holding: &Holding,
    left_out: impl Fn(usize) -> bool,
) -> BTreeMap<Tuple, BTreeSet<Ground>> {
    let mut all: BTreeMap<Tuple, BTreeSet<Ground>> = BTreeMap::new();
    for (_, rule) in program.rules.iter().enumerate().filter(|(n, _)| !left_out(*n)) {
        for (frame, premises) in ways(program, holding, rule) {
            let values = rule.head.terms.iter().map(|t| fill(t, &frame).expect("bound")).collect();
            let tuple = Tuple { sentence: rule.head.sentence, values, entry: None, planned: false };
            let ground = Ground::Rule { page: rule.page.to_string(), number: rule.number, premises };
            all.entry(tuple).or_default().insert(ground);
        }
    }
    all
}

/// A level for each sentence, so that what is read whole lies lower, and every other sentence lies no
/// higher; sentences that rest on each other share one, all others have their own.
fn levels(program: &Program, rules: &[&Rule]) -> Vec<usize> {
    let count = program.sentences.len();
    let mut under = vec![vec![false; count]; count];
    for rule in rules {
        for line in &rule.body {
            if let Demand::Holds(a) | Demand::No { atom: a, .. } | Demand::Gather { atom: a, .. } =
                &line.demand
            {
                under[rule.head.sentence.0 as usize][a.sentence.0 as usize] = true;
            }
        }
    }
    for k in 0..count {
        for i in 0..count {
            for j in 0..count {
                under[i][j] |= under[i][k] && under[k][j];
            }
        }
    }
    let mut levels = vec![0; count];
    for _ in 0..=count {
        for i in 0..count {
            for j in 0..count {
                if under[i][j] && !under[j][i] {
                    levels[i] = levels[i].max(levels[j] + 1);
                }
            }
        }
    }
    for rule in rules {
        for line in &rule.body {
            if let Demand::No { atom, .. } | Demand::Gather { atom, .. } = &line.demand {
                assert!(
                    levels[atom.sentence.0 as usize] < levels[rule.head.sentence.0 as usize],
                    "the engine kept a rule that goes in circles"
                );
            }
        }
    }
    levels
}

fn fill(term: &Term, frame: &Frame) -> Option<Value> {
    match term {
        Term::Var(v) => frame.get(v).cloned(),
        Term::Const(c) => Some(c.clone()),
        Term::Any => None,
    }
}

/// The frame with a tuple fitted to an atom.
fn fit(program: &Program, atom: &Atom, tuple: &Tuple, frame: &Frame) -> Option<Frame> {
    if tuple.sentence != atom.sentence {
        return None;
    }
    if journal(program, atom.sentence) {
        match atom.status {
            Status::Done if tuple.planned => return None,
            Status::Planned if !tuple.planned => return None,
            _ => {}
        }
    }
    let mut frame = frame.clone();
    let mut one = |term: &Term, value: Option<Value>| match (term, value) {
        (Term::Any, _) => true,
        (_, None) => false,
        (Term::Const(c), Some(v)) => *c == v,
        (Term::Var(x), Some(v)) => *frame.entry(*x).or_insert_with(|| v.clone()) == v,
    };
    let fits = atom.terms.iter().zip(&tuple.values).all(|(t, v)| one(t, Some(v.clone())))
        && one(&atom.entry, tuple.entry.map(Value::Entry));
    fits.then_some(frame)
}

/// Every way to meet a rule's lines.
fn ways(program: &Program, holding: &Holding, rule: &Rule) -> Vec<(Frame, Vec<Tuple>)> {
    let mut ways = vec![(Frame::new(), Vec::new())];
    for line in &rule.body {
        let Demand::Holds(atom) = &line.demand else { continue };
        ways = ways
            .iter()
            .flat_map(|(frame, premises)| {
                holding.keys().filter_map(move |tuple| {
                    let frame = fit(program, atom, tuple, frame)?;
                    let mut premises: Vec<Tuple> = premises.clone();
                    premises.push(tuple.clone());
                    Some((frame, premises))
                })
            })
            .collect();
    }
    ways.into_iter()
        .filter_map(|(frame, premises)| Some((other_lines(program, holding, rule, frame)?, premises)))
        .collect()
}

/// Meets the lines that are no positive sentences: again and again those that can be, until none is left.
fn other_lines(program: &Program, holding: &Holding, rule: &Rule, mut frame: Frame) -> Option<Frame> {
    let mut left: Vec<&Demand> =
        rule.body.iter().map(|l| &l.demand).filter(|d| !matches!(d, Demand::Holds(_))).collect();
    while !left.is_empty() {
        let later: BTreeSet<VarId> = left
            .iter()
            .filter_map(|d| match d {
                Demand::Gather { into, .. } | Demand::Compute { into, .. } => Some(*into),
                _ => None,
            })
            .filter(|v| !frame.contains_key(v))
            .collect();
        let at = left.iter().position(|d| vars_read(d).is_disjoint(&later)).expect("a line can be met");
        frame = meet(program, holding, left.remove(at), frame)?;
    }
    Some(frame)
}

fn vars_read(demand: &Demand) -> BTreeSet<VarId> {
    fn expr(e: &Expr, out: &mut BTreeSet<VarId>) {
        match e {
            Expr::Term(Term::Var(v)) => {
                out.insert(*v);
            }
            Expr::Term(_) => {}
            Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) => {
                expr(a, out);
                expr(b, out);
            }
            Expr::Call(_, sides) => sides.iter().for_each(|side| expr(side, out)),
        }
    }
    fn side(c: &Comparison, out: &mut BTreeSet<VarId>) {
        expr(&c.left, out);
        expr(&c.right, out);
        if let Comparator::WithinAfter(e) = &c.by {
            expr(e, out);
        }
    }
    let mut out = BTreeSet::new();
    match demand {
        Demand::Holds(_) => {}
        Demand::No { atom, with } | Demand::Gather { atom, with, .. } => {
            for term in atom.terms.iter().chain([&atom.entry]) {
                if let Term::Var(v) = term {
                    out.insert(*v);
                }
            }
            with.iter().for_each(|c| side(c, &mut out));
        }
        Demand::Compute { expr: e, .. } => expr(e, &mut out),
        Demand::Compare(c) => side(c, &mut out),
    }
    out
}

/// Meets one line that is no positive sentence.
pub fn meet(program: &Program, holding: &Holding, demand: &Demand, mut frame: Frame) -> Option<Frame> {
    let fitting = |atom: &Atom, with: &[Comparison], frame: &Frame| -> Vec<Frame> {
        holding
            .keys()
            .filter_map(|t| fit(program, atom, t, frame))
            .filter(|f| with.iter().all(|c| holds(c, f)))
            .collect()
    };
    let (into, value) = match demand {
        Demand::Holds(_) => return None,
        Demand::No { atom, with } => return fitting(atom, with, &frame).is_empty().then_some(frame),
        Demand::Compare(c) => return holds(c, &frame).then_some(frame),
        Demand::Compute { into, expr } => (*into, eval(expr, &frame)?),
        Demand::Gather { into, how, of, atom, with } => {
            let mut values: Vec<Value> =
                fitting(atom, with, &frame).iter().filter_map(|f| f.get(of).cloned()).collect();
            values.sort();
            (*into, gathered(program, *how, *of, atom, values)?)
        }
    };
    let same = *frame.entry(into).or_insert_with(|| value.clone()) == value;
    same.then_some(frame)
}

fn gathered(program: &Program, how: Gather, of: VarId, atom: &Atom, mut values: Vec<Value>) -> Option<Value> {
    match how {
        Gather::Count => {
            values.dedup();
            Some(Value::number(values.len() as f64))
        }
        Gather::Total => {
            let at = atom.terms.iter().position(|t| *t == Term::Var(of));
            let takes = at.map(|at| program.sentences[atom.sentence.0 as usize].blanks[at].takes);
            let Some(first) = values.first().cloned() else {
                return Some(match takes {
                    Some(BlankType::Amount(dimension)) => {
                        Value::Quantity(Quantity { size: Range::exact(0.0), dimension })
                    }
                    _ => Value::number(0.0),
                });
            };
            matches!(first, Value::Number(_) | Value::Quantity(_)).then_some(())?;
            values.into_iter().skip(1).try_fold(first, |sum, v| compute::add(&sum, &v))
        }
        Gather::Least | Gather::Greatest => {
            let first = values.first()?.clone();
            let ordered = values.iter().all(|v| compute::less(&first, v).is_some());
            ordered.then_some(())?;
            let best = |a: &Value, b: &Value| {
                let ((al, ah), (bl, bh)) = (ends(a), ends(b));
                if how == Gather::Least { (al, a) < (bl, b) } else { (ah, a) > (bh, b) }
            };
            values.into_iter().reduce(|a, b| if best(&b, &a) { b } else { a })
        }
    }
}

fn ends(value: &Value) -> (f64, f64) {
    match value {
        Value::Number(r) => (r.low(), r.high()),
        Value::Quantity(q) => (q.size.low(), q.size.high()),
        Value::Days(d) => {
            let n = |d| f64::from(chrono::Datelike::num_days_from_ce(&d));
            (n(d.first), n(d.last))
        }
        other => panic!("{other:?} has no ends"),
    }
}

fn eval(expr: &Expr, frame: &Frame) -> Option<Value> {
    let two = |a, b, f: fn(&Value, &Value) -> Option<Value>| f(&eval(a, frame)?, &eval(b, frame)?);
    match expr {
        Expr::Term(t) => fill(t, frame),
        Expr::Add(a, b) => two(a, b, compute::add),
        Expr::Sub(a, b) => two(a, b, compute::sub),
        Expr::Mul(a, b) => two(a, b, compute::mul),
        Expr::Div(a, b) => two(a, b, compute::div),
        Expr::Call(function, sides) => {
            let values: Vec<Value> = sides.iter().map(|s| eval(s, frame)).collect::<Option<_>>()?;
            call(*function, &values)
        }
    }
}

/// Functions by their definitions, on the ends of ranges.
fn call(function: Function, sides: &[Value]) -> Option<Value> {
    let ends = |v: &Value| match v {
        Value::Number(r) => Some((r.low(), r.high())),
        Value::Quantity(q) => Some((q.size.low(), q.size.high())),
        _ => None,
    };
    let like = |v: &Value, low: f64, high: f64| match v {
        Value::Quantity(q) => {
            Value::Quantity(Quantity { size: Range::new(low, high), dimension: q.dimension })
        }
        _ => Value::Number(Range::new(low, high)),
    };
    if let (Function::LowEnd | Function::HighEnd, Value::Days(d)) = (function, sides.first()?) {
        let day = if function == Function::LowEnd { d.first } else { d.last };
        return Some(Value::Days(haulm::measure::date::Days::on(day)));
    }
    let (low, high) = ends(sides.first()?)?;
    let whole = |n: f64, up: f64| if (n - n.round()).abs() <= 1e-9 * n.abs() { n.round() } else { up };
    let number = matches!(sides.first()?, Value::Number(_));
    match function {
        Function::RoundedUp => {
            number.then(|| like(&sides[0], whole(low, low.ceil()), whole(high, high.ceil())))
        }
        Function::RoundedDown => {
            number.then(|| like(&sides[0], whole(low, low.floor()), whole(high, high.floor())))
        }
        Function::Rounded => number.then(|| like(&sides[0], low.round(), high.round())),
        Function::LowEnd => Some(like(&sides[0], low, low)),
        Function::HighEnd => Some(like(&sides[0], high, high)),
        Function::Logarithm => (number && low > 0.0).then(|| like(&sides[0], low.log10(), high.log10())),
        Function::Greater | Function::Lesser => {
            let (l, h) = ends(&sides[1])?;
            let same = match (&sides[0], &sides[1]) {
                (Value::Quantity(a), Value::Quantity(b)) => a.dimension == b.dimension,
                (Value::Number(_), Value::Number(_)) => true,
                _ => false,
            };
            let pick = |a: f64, b: f64| if (a > b) == (function == Function::Greater) { a } else { b };
            same.then(|| like(&sides[0], pick(low, l), pick(high, h)))
        }
    }
}

fn holds(c: &Comparison, frame: &Frame) -> bool {
    let sure = || -> Option<Sure> {
        let (mut left, mut right) = (eval(&c.left, frame)?, eval(&c.right, frame)?);
        let nought = Value::number(0.0);
        let nought_of = |v: &Value| match v {
            Value::Quantity(q) => {
                Value::Quantity(Quantity { size: Range::exact(0.0), dimension: q.dimension })
            }
            _ => Value::number(0.0),
        };
        if left == nought {
            left = nought_of(&right);
        } else if right == nought {
            right = nought_of(&left);
        }
        let (left, right) = (&left, &right);
        match &c.by {
            Comparator::Same => compute::same(left, right),
            Comparator::Different => Some(match compute::same(left, right)? {
                Sure::Always => Sure::Never,
                Sure::Perhaps => Sure::Perhaps,
                Sure::Never => Sure::Always,
            }),
            Comparator::Less => compute::less(left, right),
            Comparator::AtMost => compute::at_most(left, right),
            Comparator::More => compute::less(right, left),
            Comparator::AtLeast => compute::at_most(right, left),
            other => panic!("{other:?} is not generated"),
        }
    };
    match sure() {
        Some(Sure::Always) => true,
        Some(Sure::Perhaps) => c.may,
        Some(Sure::Never) | None => false,
    }
}

/// How many of a rule's lines, in this order, can be met one after the other with this head.
pub fn longest(
    program: &Program,
    holding: &Holding,
    rule: &Rule,
    order: &[usize],
    asked: &Atom,
) -> Option<usize> {
    let mut frame = Frame::new();
    for (head, asked) in rule.head.terms.iter().zip(&asked.terms) {
        let Term::Const(value) = asked else { continue };
        let fits = match head {
            Term::Const(c) => c == value,
            Term::Var(v) => *frame.entry(*v).or_insert_with(|| value.clone()) == *value,
            Term::Any => false,
        };
        if !fits {
            return None;
        }
    }
    let mut frames = vec![frame];
    for (met, n) in order.iter().enumerate() {
        let demand = &rule.body[*n].demand;
        let next: Vec<Frame> = frames
            .into_iter()
            .flat_map(|frame| match demand {
                Demand::Holds(atom) => {
                    holding.keys().filter_map(|t| fit(program, atom, t, &frame)).collect::<Vec<_>>()
                }
                other => meet(program, holding, other, frame).into_iter().collect(),
            })
            .collect();
        if next.is_empty() {
            return Some(met);
        }
        frames = next;
    }
    Some(order.len())
}
