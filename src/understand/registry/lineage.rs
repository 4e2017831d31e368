//! `lineage`: from the journal's sentences about moved stuff to what reached what, how much, and what is left.
//!
//! Comes in: journal sentences, done and planned. Goes out: reached (done), meant to reach (done or
//! planned), amounts, what is left, used up, used beyond what came in. Following is done in
//! `reckon::{lineage, reach, flow}`.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::inputs;
use crate::{
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{EntryId, Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::{
        flow::{Ledger, Stock, flow},
        lineage::{Act, Deed, Event, Ground, Story, Take, story},
        reach::reach,
    },
};

inputs! {
    Today = "today is {day:date}",
    Declared = "{name} was declared",
    Measures = "{name} measures {size:area}",
    PartOf = "{name} is a part of {whole}",
    Received = "{lot} was received on {day:date}",
    ReceivedAmount = "{amount:amount} of {lot} was received on {day:date}",
    Mixed = "{lot} was mixed into {mix} on {day:date}",
    MixedAmount = "{amount:amount} of {lot} was mixed into {mix} on {day:date}",
    Heaped = "{lot} was heaped on {heap} on {day:date}",
    HeapedAmount = "{amount:amount} of {lot} was heaped on {heap} on {day:date}",
    HeapedFrom = "{lot} from {from} was heaped on {heap} on {day:date}",
    Spread = "{lot} was spread on {place} on {day:date}",
    SpreadDeep = "{lot} was spread on {place} {depth:length} deep on {day:date}",
    SpreadAmount = "{amount:amount} of {lot} was spread on {place} on {day:date}",
    Laid = "{lot} was laid on {place} on {day:date}",
    LaidDeep = "{lot} was laid on {place} {depth:length} deep on {day:date}",
    LaidAmount = "{amount:amount} of {lot} was laid on {place} on {day:date}",
    DugIn = "{lot} was dug into {place} on {day:date}",
    DugInAmount = "{amount:amount} of {lot} was dug into {place} on {day:date}",
    Removed = "{lot} was removed on {day:date}",
    RemovedFrom = "{lot} was removed from {from} on {day:date}",
    RemovedAmount = "{amount:amount} of {lot} was removed on {day:date}",
    Taken = "{lot} was taken from {from} to {to} on {day:date}",
    Stuff = "stuff from {from} went to {to} on {day:date}",
    Growth = "growth of {crop} went to {to} on {day:date}",
    SetAside = "{lot} was set aside on {day:date}",
    SetAsideAmount = "{amount:amount} of {lot} was set aside on {day:date}",
    Returned = "{lot} was returned on {day:date}",
    ReturnedAmount = "{amount:amount} of {lot} was returned on {day:date}",
    Given = "{lot} was given to {who} on {day:date}",
    GivenAmount = "{amount:amount} of {lot} was given to {who} on {day:date}",
    Sold = "{lot} was sold to {who} on {day:date}",
    SoldAmount = "{amount:amount} of {lot} was sold to {who} on {day:date}",
    GrowsIn = "{crop} in {place} grows in {medium} since {day:date}",
    CameFrom = "{crop} came from {tray} into {place} on {day:date}",
    Moved = "{thing} was moved to {to} on {day:date}",
    MovedFrom = "{thing} was moved from {from} to {to} on {day:date}",
    MovedAmount = "{amount:amount} of {thing} was moved to {to} on {day:date}",
    FedTo = "{thing} was fed to {animals} on {day:date}",
    FedWith = "{thing} was fed with {feed} on {day:date}",
    Heated = "{lot} was heated as {batch} on {day:date}",
    Soaked = "{lot} was soaked as {batch} on {day:date}",
    BatchAmount = "{amount:amount} of {lot} went into {batch} on {day:date}",
    Tipped = "{holder} was tipped on {place} on {day:date}",
    Mulched = "{place} was mulched with {lot} on {day:date}",
    DugOver = "{place} was dug over on {day:date}",
    DugAsItLay = "{place} was dug over as it lay on {day:date}",
    TakenOff = "all {stuff} on top of {place} was taken off on {day:date}",
    Stripped = "{place} was stripped on {day:date}",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "{source} reached {place} on {day:date}",
    "{source} is meant to reach {place} on {day:date}",
    "{amount:amount} of {source} reached {place} by {day:date}",
    "{amount:amount} of {lot} is left on {day:date}",
    "{lot} was used up by {day:date}",
    "more of {lot} was used than came in by {day:date}",
];

/// Which of them may rest on plans.
pub const PLANNED: &[usize] = &[1];

/// Kinds of thing that hold stuff of their own: what leaves them is followed by their name.
pub(super) const STOCKS: &[&str] = &["lot", "heap", "batch"];
/// Kinds that held something of their own before the diary; all others begin empty.
const OPEN: &[&str] = &["bed", "path", "field", "room", "animals", "person"];

/// What only says how stuff lies on ground, and moves none.
const GROUND: &[Input] =
    &[Input::Mulched, Input::DugOver, Input::DugAsItLay, Input::TakenOff, Input::Stripped];

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let tale = Tale::read(given);
    let mut out = Vec::new();
    let done = story(&tale.events(false), &tale.ground);
    reached(0, &done, &tale, &mut out);
    amounts(&done, &tale, &mut out);
    // Without plans, what is meant to reach a place is what reached it: no need to follow it twice.
    if tale.steps.iter().any(|(_, planned)| *planned) {
        reached(1, &story(&tale.events(true), &tale.ground), &tale, &mut out);
    } else {
        let meant: Vec<Reckoned> =
            out.iter().filter(|r| r.output == 0).map(|r| Reckoned { output: 1, ..r.clone() }).collect();
        out.extend(meant);
    }
    out
}

/// Things between which stuff went round in a circle within one day, by that day. Which came first
/// cannot be told from the journal then.
pub fn circles(given: &[Given<'_>]) -> Vec<(Days, Vec<Value>)> {
    let tale = Tale::read(given);
    let told = story(&tale.events(false), &tale.ground);
    let names =
        |round: &[usize]| round.iter().filter_map(|n| told.things.get(*n)).cloned().collect::<Vec<Value>>();
    told.circles
        .iter()
        .map(|(days, round)| (*days, names(round)))
        // Grazing goes both ways by its nature.
        .filter(|(_, round)| !round.iter().any(|v| is(v, &["animals"])))
        .collect()
}

pub(super) fn kind(v: &Value) -> Option<&str> {
    match v {
        Value::Thing(t) => Some(&t.kind),
        _ => None,
    }
}

pub(super) fn is(v: &Value, kinds: &[&str]) -> bool {
    kind(v).is_some_and(|k| kinds.contains(&k))
}

/// A lot, a heap, a batch, or a material or crop called by its word.
fn is_source(v: &Value) -> bool {
    matches!(v, Value::Word(_)) || is(v, STOCKS)
}

fn reached(output: usize, told: &Story, tale: &Tale, out: &mut Vec<Reckoned>) {
    for r in reach(told, is_source) {
        out.push(Reckoned {
            output,
            values: vec![r.source, r.place, Value::Days(r.days)],
            witnesses: tale.witnesses(r.way.iter().copied()),
            numbers: Vec::new(),
        });
    }
}

fn amounts(told: &Story, tale: &Tale, out: &mut Vec<Reckoned>) {
    let ledger = flow(told);
    let quantity = |size: Range, dimension: Dimension| Value::Quantity(Quantity { size, dimension });
    for ((place, source, dimension), arrived) in &ledger.arrived {
        let (Some(at), Some(what)) = (told.things.get(*place), told.things.get(*source)) else { continue };
        let Some(dimension) = *dimension else { continue };
        if !is_source(what) || counted_twice(&ledger, *place, *source) {
            continue;
        }
        let stock = ledger.stocks.get(*source);
        let most = stock
            .filter(|s| s.dimension == Some(dimension) && s.came.high.is_finite())
            .map_or(f64::INFINITY, |s| s.came.high);
        let witnesses = tale.witnesses(arrived.brought_by().into_iter());
        // One sum, of all that came: a sum after every spreading would be thousands of sentences
        // for a heap that serves a farm for years.
        let Some(days) = arrived.last() else { continue };
        let Some(size) = arrived.total().capped(most).range().filter(|r| r.high() > 0.0) else { continue };
        out.push(Reckoned {
            output: 2,
            values: vec![quantity(size, dimension), what.clone(), at.clone(), Value::Days(days)],
            witnesses,
            numbers: came_in(stock),
        });
    }
    for (n, lot) in told.things.iter().enumerate().filter(|(_, v)| is(v, STOCKS)) {
        let Some(stock) = ledger.stocks.get(n) else { continue };
        let mut numbers = came_in(Some(stock));
        if let (Some(d), Some(r)) = (stock.dimension, stock.used.range()) {
            numbers.push(("went out".to_owned(), quantity(r, d)));
        }
        let mut tell = |output: usize, values: Vec<Value>, extra: Option<usize>| {
            let tags = stock.filled_by.iter().chain(&stock.drawn_by).copied();
            let mut witnesses = tale.witnesses(tags);
            witnesses.extend(extra);
            out.push(Reckoned { output, values, witnesses, numbers: numbers.clone() });
        };
        if let (Some(q), Some((today, said))) = (ledger.left(n), tale.today) {
            tell(3, vec![Value::Quantity(q), lot.clone(), Value::Days(Days::on(today))], Some(said));
        }
        if let Some(days) = stock.used_up {
            tell(4, vec![lot.clone(), Value::Days(days)], None);
        }
        if let Some(days) = stock.overdrawn {
            tell(5, vec![lot.clone(), Value::Days(days)], None);
        }
    }
}

/// Whether some of a source came to a place by another measure, or uncounted: then no sum is right.
fn counted_twice(ledger: &Ledger, place: usize, source: usize) -> bool {
    ledger
        .arrived
        .range((place, source, None)..)
        .take_while(|((p, s, _), _)| (*p, *s) == (place, source))
        .count()
        > 1
}

fn came_in(stock: Option<&Stock>) -> Vec<(String, Value)> {
    stock
        .and_then(|s| Some((s.dimension?, s.came.range()?)))
        .map(|(dimension, size)| ("came in".to_owned(), Value::Quantity(Quantity { size, dimension })))
        .into_iter()
        .collect()
}

/// What the sentences tell, as events. An event's tag is its place in `steps`.
pub(super) struct Tale {
    /// The events, each with whether it is planned.
    pub(super) steps: Vec<(Event, bool)>,
    /// The given sentences of each step.
    said: Vec<Vec<usize>>,
    /// How places lie in each other, and their sizes.
    pub(super) ground: Ground,
    /// The day the journal is read on, with the sentence that says so.
    pub(super) today: Option<(NaiveDate, usize)>,
}

/// The sentences of one entry, or those without one.
type Said<'a> = Vec<(Input, &'a [Value], usize)>;

impl Tale {
    /// The events told. Sentences past those that lineage reads are passed over.
    pub(super) fn read(given: &[Given<'_>]) -> Self {
        let mut tale = Tale { steps: Vec::new(), said: Vec::new(), ground: Ground::default(), today: None };
        let mut entries: BTreeMap<(Option<EntryId>, bool), Said<'_>> = BTreeMap::new();
        let mut open: BTreeMap<&Value, Option<usize>> = BTreeMap::new();
        for (n, g) in given.iter().enumerate() {
            let Some(input) = INPUTS.get(g.input) else { continue };
            match (input, g.values) {
                (Input::Today, [Value::Days(d)]) => tale.today = Some((d.last, n)),
                (Input::Declared, [name]) if is(name, &["heap"]) => {
                    open.entry(name).or_insert(Some(n));
                }
                (Input::Measures, [name, Value::Quantity(q)]) if q.dimension == Dimension::Area => {
                    tale.ground.areas.insert(name.clone(), q.size);
                }
                (Input::PartOf, [part, whole]) => {
                    tale.ground.parts.insert((part.clone(), whole.clone()));
                }
                (input, values) => {
                    let moves = !GROUND.contains(input);
                    for v in values.iter().filter(|v| moves && is(v, OPEN)) {
                        open.entry(v).or_insert(None);
                    }
                    entries.entry((g.entry, g.planned)).or_default().push((*input, g.values, n));
                }
            }
        }
        for (thing, said) in open {
            let act = Act::Begin { stock: thing.clone(), amount: None };
            tale.push(Days::on(NaiveDate::MIN), act, said.into_iter().collect(), false);
        }
        for ((_, planned), mut said) in entries {
            said.sort_unstable();
            let first = tale.steps.len();
            for (input, values, n) in &said {
                tale.tell(*input, values, *n, planned, &said);
            }
            tale.share_at_once(first);
        }
        tale
    }

    /// Shares that one entry takes of one lot are all of what that lot held before the entry, while
    /// events are followed one after the other: each becomes its share of what the ones before leave.
    fn share_at_once(&mut self, first: usize) {
        let mut by_lot: BTreeMap<Value, Vec<(Range, Option<Value>, usize)>> = BTreeMap::new();
        for (n, (e, _)) in self.steps.iter().enumerate().skip(first) {
            if let Act::Flow { from, into, take: Take::Share(s) } = &e.act {
                by_lot.entry(from.clone()).or_default().push((*s, into.clone(), n));
            }
        }
        for mut shares in by_lot.into_values().filter(|s| s.len() > 1) {
            shares.sort();
            let open = shares.iter().all(|(s, ..)| s.low() == 0.0 && s.high() >= 1.0);
            let (mut low, mut high) = (0.0, 0.0);
            let last = shares.len() - 1;
            for (place, (s, _, n)) in shares.iter().enumerate() {
                let of_rest = |share: f64, gone: f64| {
                    let rest = 1.0 - gone;
                    if rest <= 1e-12 || share >= rest - 1e-12 { 1.0 } else { share / rest }
                };
                let part = match (open, place == last) {
                    // All of it went, nobody knows how much to which: the last takes what is left.
                    (true, true) => Range::exact(1.0),
                    (true, false) => *s,
                    _ => Range::new(of_rest(s.low(), low), of_rest(s.high(), high)),
                };
                low += s.low();
                high += s.high();
                if let Some((Event { act: Act::Flow { take, .. }, .. }, _)) = self.steps.get_mut(*n) {
                    *take = Take::Share(part);
                }
            }
        }
    }

    /// Whether an event only says what plants stand in, or were raised in: plugs and pots, which are so
    /// little that nobody writes how much.
    pub(super) fn is_potting(&self, tag: usize, given: &[Given<'_>]) -> bool {
        let first = self.said.get(tag).and_then(|said| said.first()).and_then(|n| given.get(*n));
        first.and_then(|g| INPUTS.get(g.input)).is_some_and(|i| matches!(i, Input::GrowsIn | Input::CameFrom))
    }

    /// What an event took out of the thing it took from, where the line names it.
    pub(super) fn removed<'a>(&self, tag: usize, given: &'a [Given<'_>]) -> Option<&'a Value> {
        let g = self.said.get(tag).and_then(|said| said.first()).and_then(|n| given.get(*n))?;
        let named = matches!(INPUTS.get(g.input)?, Input::RemovedFrom | Input::Taken);
        g.values.first().filter(|_| named)
    }

    fn events(&self, with_plans: bool) -> Vec<Event> {
        self.steps.iter().filter(|(_, planned)| with_plans || !planned).map(|(e, _)| e.clone()).collect()
    }

    /// The given sentences behind events, in order, each once.
    pub(super) fn witnesses(&self, tags: impl Iterator<Item = usize>) -> Vec<usize> {
        let mut seen = BTreeSet::new();
        tags.filter_map(|t| self.said.get(t)).flatten().copied().filter(|n| seen.insert(*n)).collect()
    }

    /// Adds an event, and gives its number.
    fn push(&mut self, days: Days, act: Act, said: Vec<usize>, planned: bool) -> usize {
        let tag = self.steps.len();
        self.steps.push((Event { days, act, tag }, planned));
        self.said.push(said);
        tag
    }

    /// Turns one linking sentence into events; amounts and depths of the same entry are looked up.
    fn tell(&mut self, input: Input, values: &[Value], n: usize, planned: bool, all: &Said<'_>) {
        use Input as I;
        let Some(Value::Days(days)) = values.last().cloned() else { return };
        let mut flow = |from: &Value, into: Option<&Value>, (take, more): (Take, Option<usize>)| {
            let act = Act::Flow { from: from.clone(), into: into.cloned(), take };
            self.push(days, act, std::iter::once(n).chain(more).collect(), planned);
        };
        let some = (Take::Some, None);
        let trace = (Take::Trace, None);
        match (input, values) {
            (I::Received, [lot, _]) => {
                let amounts: Vec<(Quantity, usize)> = all
                    .iter()
                    .filter(|(i, v, _)| *i == I::ReceivedAmount && v.get(1) == Some(lot))
                    .filter_map(|(_, v, m)| Some((stuff(v.first()?)?, *m)))
                    .collect();
                if amounts.is_empty() {
                    let act = Act::Begin { stock: lot.clone(), amount: None };
                    self.push(days, act, vec![n], planned);
                }
                for (q, m) in amounts {
                    let act = Act::Begin { stock: lot.clone(), amount: Some(q) };
                    self.push(days, act, vec![n, m], planned);
                }
            }
            (I::Mixed, [lot, mix, _]) => flow(lot, Some(mix), amount(all, I::MixedAmount, lot, Some(mix))),
            (I::Heaped, [lot, heap, _]) => {
                flow(lot, Some(heap), amount(all, I::HeapedAmount, lot, Some(heap)));
            }
            // The stuff itself is told by the sentence without `from`; here is where it lay before.
            (I::HeapedFrom, [_, from, heap, _]) => flow(from, Some(heap), trace),
            (I::Spread | I::Laid, [lot, place, _]) => {
                let (by_amount, by_depth) = match input {
                    I::Spread => (I::SpreadAmount, I::SpreadDeep),
                    _ => (I::LaidAmount, I::LaidDeep),
                };
                let mut take = amount(all, by_amount, lot, Some(place));
                if take.0 == Take::Some {
                    take = self.layer(all, by_depth, lot, place);
                }
                let act = Act::Flow { from: lot.clone(), into: Some(place.clone()), take: take.0 };
                let of = self.push(days, act, std::iter::once(n).chain(take.1).collect(), planned);
                let mulched = |(i, v, _): &(Input, &[Value], usize)| {
                    *i == I::Mulched && v.first() == Some(place) && v.get(1) == Some(lot)
                };
                if input == I::Laid || all.iter().any(mulched) {
                    let act = Act::Ground { place: place.clone(), deed: Deed::Stays { of } };
                    self.push(days, act, vec![n], planned);
                }
            }
            (I::DugOver | I::DugAsItLay | I::Stripped, [place, _]) => {
                let in_it =
                    |(i, v, _): &&(Input, &[Value], usize)| *i == I::DugInAmount && v.get(2) == Some(place);
                let deed = match input {
                    I::DugOver => {
                        let spares = all.iter().filter(in_it).filter_map(|(_, v, _)| v.get(1).cloned());
                        Deed::Dug { spares: spares.collect() }
                    }
                    I::DugAsItLay => Deed::Turned,
                    _ => Deed::Cleared { of: None },
                };
                self.push(days, Act::Ground { place: place.clone(), deed }, vec![n], planned);
                if input == I::Stripped {
                    // Nobody can say how much of what lay there the layer held.
                    let act = Act::Flow { from: place.clone(), into: None, take: Take::Some };
                    self.push(days, act, vec![n], planned);
                }
            }
            (I::TakenOff, [stuff, place, _]) => {
                let deed = Deed::Cleared { of: Some(stuff.clone()) };
                self.push(days, Act::Ground { place: place.clone(), deed }, vec![n], planned);
            }
            (I::DugIn, [lot, place, _]) => {
                let (take, more) = amount(all, I::DugInAmount, lot, Some(place));
                let act = Act::DigIn { from: lot.clone(), into: place.clone(), take };
                self.push(days, act, std::iter::once(n).chain(more).collect(), planned);
            }
            // Told by the sentences with `from` where there is one: it is taken from there then.
            (I::Removed, [lot, _])
                if !all.iter().any(|(i, v, _)| *i == I::RemovedFrom && v.first() == Some(lot)) =>
            {
                flow(lot, None, amount(all, I::RemovedAmount, lot, None));
            }
            (I::RemovedFrom, [lot, from, _])
                if !all.iter().any(|(i, v, _)| *i == I::Taken && v.first() == Some(lot)) =>
            {
                flow(from, None, amount(all, I::RemovedAmount, lot, None));
            }
            // Produce handed to people is no stuff to follow; a lot is.
            (I::Taken, [lot, from, to, _]) if kind(lot).is_some() || !is(to, &["person"]) => {
                let take = if kind(lot).is_some() { amount(all, I::RemovedAmount, lot, None) } else { trace };
                flow(from, Some(to), take);
            }
            (I::Stuff, [from, to, _]) if !is(to, &["person"]) => flow(from, Some(to), trace),
            // All that grows on a place, named by the place alone.
            (I::Growth, [from, to, _]) if is(from, &["bed", "path", "field"]) && !is(to, &["person"]) => {
                flow(from, Some(to), trace)
            }
            (I::SetAside, [lot, _]) => flow(lot, None, amount(all, I::SetAsideAmount, lot, None)),
            (I::Returned, [lot, _]) => flow(lot, None, amount(all, I::ReturnedAmount, lot, None)),
            (I::Given, [lot, who, _]) => flow(lot, Some(who), amount(all, I::GivenAmount, lot, Some(who))),
            (I::Sold, [lot, who, _]) => flow(lot, Some(who), amount(all, I::SoldAmount, lot, Some(who))),
            (I::GrowsIn, [_, place, medium, _]) => {
                let act = Act::Flow { from: medium.clone(), into: Some(place.clone()), take: Take::Some };
                let of = self.push(days, act, vec![n], planned);
                let act = Act::Ground { place: place.clone(), deed: Deed::Rooted { of } };
                self.push(days, act, vec![n], planned);
            }
            (I::CameFrom, [_, tray, place, _]) => flow(tray, Some(place), some),
            (I::Moved, [thing, to, _]) if is(thing, &["animals"]) => {
                // They eat what is there and leave what they ate before.
                flow(thing, Some(to), trace);
                flow(to, Some(thing), trace);
            }
            (I::Moved, [thing, to, _])
                if is_source(thing)
                    && !is(thing, &["batch"])
                    && !all.iter().any(|(i, v, _)| *i == I::MovedFrom && v.first() == Some(thing)) =>
            {
                flow(thing, Some(to), amount(all, I::MovedAmount, thing, Some(to)));
            }
            // Plants go with the soil on their roots; a lot lying there is taken up again.
            (I::MovedFrom, [thing, from, to, _]) if is_source(thing) && !is(thing, &["batch"]) => {
                flow(from, Some(to), trace);
            }
            (I::FedTo, [thing, animals, _]) => flow(thing, Some(animals), some),
            (I::FedWith, [animals, feed, _]) if is(animals, &["animals"]) => flow(feed, Some(animals), some),
            (I::Heated | I::Soaked, [lot, batch, _]) => {
                flow(lot, Some(batch), amount(all, I::BatchAmount, lot, Some(batch)));
            }
            (I::Tipped, [holder, place, _]) => flow(holder, Some(place), some),
            _ => {}
        }
    }

    /// A layer's volume from its depth and the area of the place.
    fn layer(&self, all: &Said<'_>, deep: Input, lot: &Value, place: &Value) -> (Take, Option<usize>) {
        let found = all
            .iter()
            .filter(|(i, v, _)| *i == deep && v.first() == Some(lot) && v.get(1) == Some(place))
            .find_map(|(_, v, n)| match v.get(2) {
                Some(Value::Quantity(q)) if q.dimension == Dimension::Length => Some((q.size, *n)),
                _ => None,
            });
        match (found, self.ground.areas.get(place)) {
            (Some((depth, n)), Some(area)) => {
                let q = Quantity { size: depth.times(*area), dimension: Dimension::Volume };
                (Take::Amount(q), Some(n))
            }
            (found, _) => (Take::Some, found.map(|(_, n)| n)),
        }
    }
}

/// The amount the same entry says of a lot (and where it went), with the sentence that says it.
fn amount(all: &Said<'_>, says: Input, lot: &Value, to: Option<&Value>) -> (Take, Option<usize>) {
    all.iter()
        .filter(|(i, v, _)| *i == says && v.get(1) == Some(lot) && to.is_none_or(|to| v.get(2) == Some(to)))
        .find_map(|(_, v, n)| Some((take(v.first()?)?, Some(*n))))
        .unwrap_or((Take::Some, None))
}

/// A share of a lot is said as a percentage: `the rest of` is 100 % of what is left.
fn take(v: &Value) -> Option<Take> {
    match v {
        Value::Quantity(q) if q.dimension == Dimension::Share => Some(Take::Share(q.size)),
        _ => stuff(v).map(Take::Amount),
    }
}

fn stuff(v: &Value) -> Option<Quantity> {
    match v {
        Value::Quantity(q) if matches!(q.dimension, Dimension::Volume | Dimension::Mass) => Some(*q),
        _ => None,
    }
}
