//! Facts: every sentence of an entry's frame whose blanks are all filled, once for every way.
//!
//! Comes in: settled entries, things, ground. Goes out: facts in a fixed order. A clause left out is a
//! missing sentence, never an empty blank; a plan's facts are marked as planned.

use std::{
    cmp::Ordering,
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::fold,
    },
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{BlankType, EntryId, Quantity, Thing, Value},
    },
    model::{
        entry::{Entry, Filled, Group},
        program::{Fact, FactSource},
    },
};

use super::{
    Context,
    fills::{Fills, Joined, fills},
    ground::Ground,
    is_bookkeeping, is_plan,
    phrases::Phrase,
    things::{CONTROL, Named},
};

/// Sizes of the farm's own containers, by container word.
type Containers = BTreeMap<Arc<str>, Quantity>;

/// No sentence is said more often than this by one entry: a line that lists hundreds of things and places is
/// cut off here, which is told, rather than let one slip fill the memory.
const MOST: usize = 4_000;

/// What entries said last time, and what they said it from.
#[derive(Debug, Clone, Default)]
pub struct Said {
    counting: Vec<Entry>,
    areas: BTreeMap<Thing, Range>,
    /// The facts of the entries alone, in order.
    facts: Vec<Arc<Fact>>,
    /// Entries that would say more than is kept.
    cut: BTreeSet<EntryId>,
}

impl Said {
    /// All facts of the diary, in order. Only entries that are not what they were are asked what they say.
    pub fn say(
        &mut self,
        counting: Vec<Entry>,
        things: &[Named],
        ground: &Ground,
        containers: &Containers,
        cx: &Context<'_>,
    ) -> Vec<Arc<Fact>> {
        if self.areas != ground.areas {
            *self = Self { areas: ground.areas.clone(), ..Self::default() };
        }
        let before = self.counting.iter().zip(&counting).take_while(|(a, b)| say_alike(a, b)).count();
        let (was, is) = (self.counting.len(), counting.len());
        let after = (self.counting.iter().rev().zip(counting.iter().rev()))
            .take(was.min(is) - before)
            .take_while(|(a, b)| say_alike(a, b))
            .count();
        self.forget(before, after, &counting);
        let changed = counting.get(before..is - after).unwrap_or_default();
        let mut new: BTreeSet<Fact> = BTreeSet::new();
        for e in changed.iter().filter(|e| !is_bookkeeping(e, cx)) {
            for g in e.groups.iter() {
                let fills = fills(e, g, ground, &cx.phrases.unhurt, cx);
                for phrase in cx.phrases.of(&e.verb) {
                    if holds(phrase, &fills) && !fill(phrase, &fills, e, &mut new) {
                        self.cut.insert(e.id);
                    }
                }
            }
        }
        self.counting = counting;
        self.facts = merged(std::mem::take(&mut self.facts), new);
        let mut of_things: BTreeSet<Fact> = BTreeSet::new();
        say_of_things(things, ground, containers, cx, &mut of_things);
        merged(self.facts.clone(), of_things)
    }

    /// What is told of entries of which a part was cut off.
    pub fn cut_off(&self, said: &mut Vec<Diagnostic>) {
        for e in self.counting.iter().filter(|e| self.cut.contains(&e.id)) {
            let message = format!(
                "This `{}` names so much at once that not all of it is kept: {MOST} pairs of what it names are, \
                 the rest counts for nothing",
                e.verb
            );
            said.push(
                Diagnostic::new("overlong-entry", Severity::Error, message)
                    .at(e.verb_loc, "one entry?")
                    .remark(RemarkKind::Next, "say it in several entries, a few places in each"),
            );
        }
    }

    /// Drops what was said by entries that are not among the first `before` and the last `after`, and gives
    /// those their numbers of now.
    fn forget(&mut self, before: usize, after: usize, counting: &[Entry]) {
        let (was, is) = (self.counting.len(), counting.len());
        let pairs = self.counting.iter().take(before).zip(counting);
        let pairs = pairs.chain(self.counting.iter().skip(was - after).zip(counting.iter().skip(is - after)));
        let mut numbers: Vec<Option<EntryId>> = Vec::new();
        for (old, new) in pairs {
            let at = old.id.0 as usize;
            if numbers.len() <= at {
                numbers.resize(at + 1, None);
            }
            numbers[at] = Some(new.id);
        }
        let now = |id: &EntryId| numbers.get(id.0 as usize).copied().flatten();
        self.cut = self.cut.iter().filter_map(now).collect();
        self.facts.retain_mut(|fact| {
            let FactSource::Entry(id) = fact.source else { return true };
            let Some(Some(new)) = numbers.get(id.0 as usize) else { return false };
            if *new != id {
                Arc::make_mut(fact).source = FactSource::Entry(*new);
            }
            true
        });
        // Where a correction came or went, entries may have changed places.
        if !numbers.iter().flatten().is_sorted() {
            self.facts.sort();
        }
    }
}

/// Whether two entries say the same, wherever they stand.
fn say_alike(a: &Entry, b: &Entry) -> bool {
    let told = |e: &Entry| (e.days, e.clock, is_plan(e));
    let groups = |(a, b): (&Group, &Group)| {
        let slots = |(a, b): (&Filled, &Filled)| a.slot == b.slot && a.filler == b.filler;
        a.slots.len() == b.slots.len() && a.slots.iter().zip(&b.slots).all(slots)
    };
    a.verb == b.verb
        && told(a) == told(b)
        && (Arc::ptr_eq(&a.groups, &b.groups)
            || a.groups.len() == b.groups.len() && a.groups.iter().zip(b.groups.iter()).all(groups))
}

/// Facts in order, with others among them; what both say is said once.
fn merged(facts: Vec<Arc<Fact>>, others: BTreeSet<Fact>) -> Vec<Arc<Fact>> {
    let mut out = Vec::with_capacity(facts.len() + others.len());
    let mut facts = facts.into_iter().peekable();
    for other in others.into_iter().map(Arc::new) {
        while let Some(fact) = facts.next_if(|fact| fact.cmp(&other) == Ordering::Less) {
            out.push(fact);
        }
        out.push(facts.next_if_eq(&other).unwrap_or(other));
    }
    out.extend(facts);
    out
}

/// Whether what a sentence hangs on was said, or was not.
fn holds(phrase: &Phrase, fills: &Fills) -> bool {
    let said = |slot: &str| fills.flags.contains(slot) || fills.sets.contains_key(slot);
    phrase.conditions.iter().all(|c| said(&c.slot) == c.said)
}

/// Every way of filling a sentence; whether all of them were kept.
fn fill(phrase: &Phrase, fills: &Fills, e: &Entry, out: &mut BTreeSet<Fact>) -> bool {
    let mut all = true;
    let needed: Vec<Arc<str>> = phrase
        .blanks
        .iter()
        .zip(&phrase.of_control)
        .map(|((name, _), control)| if *control { "control".into() } else { name.clone() })
        .collect();
    // Each blank is called for once; what comes joined with another filler is not called for again.
    let mut ways: Vec<Joined> = vec![BTreeMap::new()];
    for blank in &needed {
        if &**blank == "day" || fills.shared.contains_key(blank) {
            continue;
        }
        let Some(set) = fills.sets.get(blank) else { continue };
        let mut next = Vec::new();
        for way in &ways {
            for joined in set {
                let agree = joined.iter().all(|(k, v)| way.get(k).is_none_or(|w| w == v));
                if agree && next.len() >= MOST {
                    all = false;
                } else if agree {
                    let mut way = way.clone();
                    way.extend(joined.iter().map(|(k, v)| (k.clone(), v.clone())));
                    next.push(way);
                }
            }
        }
        ways = next;
    }
    for way in ways {
        let values: Option<Vec<Value>> = needed
            .iter()
            .zip(&phrase.blanks)
            .map(|(blank, (_, takes))| value(blank, &needed, &way, fills, e).and_then(|v| fit(v, *takes)))
            .collect();
        let Some(values) = values else { continue };
        if about_itself(&values) {
            continue;
        }
        out.insert(Fact {
            sentence: phrase.id,
            values,
            planned: is_plan(e),
            source: FactSource::Entry(e.id),
        });
    }
    all
}

fn value(blank: &Arc<str>, needed: &[Arc<str>], way: &Joined, fills: &Fills, e: &Entry) -> Option<Value> {
    if &**blank == "day" {
        return e.days.map(Value::Days);
    }
    if let Some(shared) = fills.shared.get(blank) {
        return if needed.contains(&shared.over) {
            shared.parts.get(way.get(&shared.over)?).cloned()
        } else {
            Some(shared.total.clone())
        };
    }
    way.get(blank).cloned()
}

/// A value as a blank takes it, if it does.
fn fit(v: Value, takes: BlankType) -> Option<Value> {
    match (takes, &v) {
        (BlankType::Name, Value::Thing(_) | Value::Word(_))
        | (BlankType::Text, Value::Word(_))
        | (BlankType::Date, Value::Days(_))
        | (BlankType::Clock, Value::Clock(_))
        | (BlankType::Number, Value::Number(_))
        | (BlankType::AnyAmount, Value::Quantity(_) | Value::Number(_))
        | (BlankType::Entry, Value::Entry(_)) => Some(v),
        (BlankType::Amount(d), Value::Quantity(q)) if q.dimension == d => Some(v),
        (BlankType::Number, Value::Quantity(q)) if q.dimension == Dimension::Acidity => {
            Some(Value::Number(q.size))
        }
        (BlankType::Name | BlankType::Text, Value::Number(n)) if n.is_exact() => {
            Some(Value::word(crate::measure::display::range(*n)))
        }
        _ => None,
    }
}

/// Whether a sentence would be about one thing twice (`bed a was taken from bed a`).
fn about_itself(values: &[Value]) -> bool {
    let mut things: Vec<&Thing> = values
        .iter()
        .filter_map(|v| match v {
            Value::Thing(t) => Some(t),
            _ => None,
        })
        .collect();
    let all = things.len();
    things.sort_unstable();
    things.dedup();
    things.len() < all
}

/// The batch a numbered container belongs to: `2 of batch b3`.
fn whole_of(t: &Thing) -> Option<Thing> {
    let (number, whole) = t.name.split_once(" of ")?;
    let (kind, name) = whole.split_once(' ').filter(|(kind, _)| matches!(*kind, "batch" | "trial"))?;
    number.chars().all(|c| c.is_ascii_digit()).then(|| Thing { kind: kind.into(), name: name.into() })
}

/// Kinds of things, portions of places, sizes of containers, and the day.
fn say_of_things(
    things: &[Named],
    ground: &Ground,
    containers: &Containers,
    cx: &Context<'_>,
    out: &mut BTreeSet<Fact>,
) {
    let mut tell = |phrase: Option<&Phrase>, values: Vec<Value>, source: FactSource| {
        if let Some(p) = phrase {
            out.insert(Fact { sentence: p.id, values, planned: false, source });
        }
    };
    let phrases = cx.phrases;
    let kinds = phrases.common("{} is a {}");
    let kind_of = |t: &Thing| vec![Value::Thing(t.clone()), Value::Word(t.kind.clone())];
    for t in things.iter().filter(|t| !matches!(&*t.known.thing.kind, "unit" | CONTROL)) {
        let from = t.known.began.or(t.known.mentions.first().copied()).map(|(_, id)| id);
        if let Some(id) = from {
            tell(kinds, kind_of(&t.known.thing), FactSource::Entry(id));
        }
    }
    let of_places = phrases.of("bed");
    let part = of_places.iter().find(|p| p.shape == "{} is a part of {}");
    for t in things {
        let Some((_, id)) = t.known.mentions.first() else { continue };
        if let Some(whole) = whole_of(&t.known.thing) {
            let values = vec![Value::Thing(t.known.thing.clone()), Value::Thing(whole)];
            tell(part, values, FactSource::Entry(*id));
        }
    }
    let with_shape = |shape: &str| of_places.iter().find(|p| p.shape == shape);
    let (part_of, measures) = (with_shape("{} is a part of {}"), with_shape("{} measures {}"));
    let on_side = with_shape("{} is on the {} side of {}");
    for (name, p) in &ground.portions {
        let source = FactSource::Entry(p.entry);
        if !p.declared {
            tell(kinds, kind_of(name), source.clone());
            tell(part_of, vec![Value::Thing(name.clone()), Value::Thing(p.whole.clone())], source.clone());
        }
        if !p.side.is_empty() {
            let side = Value::word(p.side.as_str());
            let values = vec![Value::Thing(name.clone()), side, Value::Thing(p.whole.clone())];
            tell(on_side, values, source.clone());
        }
        if let Some(area) = ground.areas.get(name) {
            let area = Quantity { size: *area, dimension: Dimension::Area };
            tell(measures, vec![Value::Thing(name.clone()), Value::Quantity(area)], source.clone());
        }
        for holder in ground.holders(name) {
            tell(part_of, vec![Value::Thing(name.clone()), Value::Thing(holder.clone())], source.clone());
        }
    }
    let holds = phrases.common("one {} holds {}");
    for t in things.iter().filter(|t| &*t.known.thing.kind == "unit") {
        let size = containers.get(fold(&t.known.thing.name).as_str());
        if let (Some(size), Some((_, id))) = (size, t.known.began) {
            let values = vec![Value::word(t.known.thing.name.clone()), Value::Quantity(*size)];
            tell(holds, values, FactSource::Entry(id));
        }
    }
    let today = Value::Days(Days::on(cx.today));
    tell(phrases.common("today is {}"), vec![today], FactSource::Given);
}
