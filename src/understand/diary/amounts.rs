//! Amounts: how big the farm's containers are, and what a ratio says of the second part.
//!
//! Comes in: entries that count. Goes out: the same with counts of containers turned into volumes or
//! weights where the size is known. A container without a size stays a count: the link holds, the
//! amount is unknown, and that is said once for each container.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::fold,
        span::Loc,
    },
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::entry::{Entry, Filled, Filler, Group},
};

use super::Context;

/// Slots that hold an amount of stuff.
const STUFF: &[&str] = &["amount", "other_amount", "spawn_amount"];

/// Sizes of the farm's containers, by the container's word: `unit barrow, 80 l`. Two sizes for one word
/// make a range.
pub fn containers(counting: &[Entry]) -> BTreeMap<Arc<str>, Quantity> {
    let mut out: BTreeMap<Arc<str>, Quantity> = BTreeMap::new();
    for g in counting.iter().filter(|e| &*e.verb == "unit").flat_map(|e| e.groups.iter()) {
        let name = g.get("name").find_map(|f| match &f.filler {
            Filler::Value(Value::Thing(t)) => Some(fold(&t.name)),
            Filler::Value(Value::Word(w)) | Filler::Words(w) => Some(fold(w)),
            _ => None,
        });
        if let (Some(name), Some(q)) = (name, g.get("size").find_map(|f| stuff(&f.filler))) {
            let size = out
                .get(name.as_str())
                .filter(|o| o.dimension == q.dimension)
                .map_or(q.size, |o| hull(o.size, q.size));
            out.insert(Arc::from(name.as_str()), Quantity { size, dimension: q.dimension });
        }
    }
    out
}

/// The range that holds both.
pub fn hull(a: Range, b: Range) -> Range {
    Range::new(a.low().min(b.low()), a.high().max(b.high()))
}

fn stuff(f: &Filler) -> Option<Quantity> {
    match f {
        Filler::Value(Value::Quantity(q)) if matches!(q.dimension, Dimension::Volume | Dimension::Mass) => {
            Some(*q)
        }
        Filler::Size(sides) => match sides.as_slice() {
            [a, b, c] => {
                Some(Quantity { size: a.size.times(b.size).times(c.size), dimension: Dimension::Volume })
            }
            _ => None,
        },
        _ => None,
    }
}

/// A container met without a size, and where.
pub type Unsized = BTreeMap<String, Vec<Loc>>;

/// Turns counts of containers into amounts, and a ratio into the second amount.
pub fn measure(
    e: &mut Entry,
    containers: &BTreeMap<Arc<str>, Quantity>,
    cx: &Context<'_>,
    unsized_ones: &mut Unsized,
) {
    if cx.frames.get(&e.verb).is_none_or(|f| !STUFF.iter().any(|s| f.slot(s).is_some())) {
        return;
    }
    let to_measure = |f: &Filled| {
        matches!(f.filler, Filler::Ratio(..))
            || matches!(f.filler, Filler::Containers { .. }) && STUFF.contains(&&*f.slot)
    };
    if !e.groups.iter().flat_map(|g| &g.slots).any(to_measure) {
        return;
    }
    for g in Arc::make_mut(&mut e.groups) {
        let said_each = g.get("size_each").find_map(|f| stuff(&f.filler));
        for f in g.slots.iter_mut().filter(|f| STUFF.contains(&&*f.slot)) {
            let Filler::Containers { count, container, each } = &f.filler else { continue };
            let word = fold(container);
            match each.or(said_each).or_else(|| containers.get(word.as_str()).copied()) {
                Some(q) => {
                    let all = Quantity { size: count.times(q.size), dimension: q.dimension };
                    f.filler = Filler::Value(Value::Quantity(all));
                }
                None => unsized_ones.entry(word).or_default().push(f.loc),
            }
        }
        second_amount(g);
    }
}

/// `2 barrows of A 2:1 with B`: one barrow of B, the ratio being by volume, first named first.
fn second_amount(g: &mut Group) {
    let Some((a, b, loc)) = g.slots.iter().find_map(|f| match f.filler {
        Filler::Ratio(a, b) => Some((a, b, f.loc)),
        _ => None,
    }) else {
        return;
    };
    if g.said("other_amount") || g.get("other").count() != 1 || g.get("lot").count() != 1 {
        return;
    }
    let first = g.get("amount").find_map(|f| match &f.filler {
        Filler::Value(Value::Quantity(q)) if q.dimension == Dimension::Volume => Some(*q),
        _ => None,
    });
    let Some((first, factor)) = first.zip(b.over(a)) else { return };
    let q = Quantity { size: first.size.times(factor), dimension: Dimension::Volume };
    g.slots.push(Filled { slot: "other_amount".into(), filler: Filler::Value(Value::Quantity(q)), loc });
}

/// One diagnostic for each container without a size.
pub fn tell_unsized(unsized_ones: Unsized, said: &mut Vec<Diagnostic>) {
    for (container, mut locs) in unsized_ones {
        locs.sort_unstable();
        let mut d = Diagnostic::new(
            "unknown-size",
            Severity::Hint,
            format!("how big is a {container} here? What was moved is known, how much is not"),
        )
        .remark(RemarkKind::Write, format!("- unit {container}, … l"));
        for (n, loc) in locs.into_iter().enumerate() {
            d = if n == 0 { d.at(loc, "size unknown") } else { d.also(loc, "") };
        }
        said.push(d);
    }
}

/// The total divided over places by their areas; each place between nothing and all of it where an
/// area is unknown.
pub fn shared(total: Range, areas: &[Option<Range>]) -> Vec<Range> {
    if areas.len() < 2 {
        return vec![total; areas.len()];
    }
    let known: Option<Vec<Range>> = areas.iter().copied().collect();
    let exact = known.filter(|list| list.iter().all(|a| a.is_exact() && a.low() > 0.0));
    match exact {
        Some(list) => {
            let sum: f64 = list.iter().map(|a| a.low()).sum();
            list.iter().map(|a| total.map(|n| n * (a.low() / sum))).collect()
        }
        None => vec![Range::new(0.0, total.high()); areas.len()],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_total_is_shared_by_area_and_adds_up() {
        let parts = shared(Range::exact(9.0), &[Some(Range::exact(120.0)), Some(Range::exact(60.0))]);
        assert_eq!(parts, [Range::exact(6.0), Range::exact(3.0)]);
    }

    #[test]
    fn without_an_area_the_split_is_open() {
        let parts = shared(Range::exact(9.0), &[Some(Range::exact(120.0)), None]);
        assert_eq!(parts, [Range::new(0.0, 9.0), Range::new(0.0, 9.0)]);
        assert_eq!(shared(Range::exact(9.0), &[None]), [Range::exact(9.0)]);
    }
}
