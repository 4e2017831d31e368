//! Outbreaks: which signs, on which plants, in which places, are one matter.
//!
//! Comes in: what was noticed, with the look each sign has, where plants looked well again, and where others were
//! planted. Goes out: outbreaks with their members. It judges no cause.
//!
//! The outbreak is the unit of judgement: one shared bean test must not count once for every bed. A
//! pair of place and crop is taken by the day it was first seen; the first opens an outbreak of its
//! look, and others of that look join it if they are first seen within [`JOIN_DAYS`] of its first day.
//! One cause shows in many ways, so all that is seen on the same plants in that time is one matter, and
//! a look that many things make joins what ails the same ground or the same crop. Only looks that shut
//! each other out ([`Sighting::apart`]) part what would be one.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

/// How many days after an outbreak's first day others still join it ("our judgement").
pub const JOIN_DAYS: i64 = 60;

/// A sign seen on a crop in a place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Sighting {
    /// The day.
    pub day: NaiveDate,
    /// Place and crop, as numbers of the caller's.
    pub pair: (usize, usize),
    /// The look of the sign; `None` for one that is vague.
    pub look: Option<usize>,
    /// Whether many things make such a look, so that it tells little by itself.
    pub loose: bool,
    /// Whether plants of this look are another matter than plants without it.
    pub apart: bool,
}

impl Sighting {
    /// Whether it tells little by itself, and goes with whatever is there.
    fn dull(&self) -> bool {
        self.look.is_none() || self.loose
    }
}

/// What may end a matter for a crop in a place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Turn {
    /// The day.
    pub day: NaiveDate,
    /// Place and crop.
    pub pair: (usize, usize),
    /// Whether other plants were planted; else those that stood there looked well.
    pub planted: bool,
}

/// An outbreak.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outbreak {
    /// Its look: the first that tells something by itself, else the first there is; `None` for one of
    /// vague signs only.
    pub look: Option<usize>,
    /// The day it was first seen.
    pub first: NaiveDate,
    /// Its pairs, with the day each was first seen in it.
    pub members: BTreeMap<(usize, usize), NaiveDate>,
    /// Its sightings, as numbers into the slice given.
    pub sightings: Vec<usize>,
    /// All looks seen in it.
    looks: BTreeSet<usize>,
    /// Whether nothing seen in it tells much by itself.
    dull: bool,
    /// Whether its look sets it apart.
    apart: bool,
}

impl Outbreak {
    fn begun(s: &Sighting) -> Self {
        Self {
            look: None,
            first: s.day,
            members: BTreeMap::new(),
            sightings: Vec::new(),
            looks: BTreeSet::new(),
            dull: true,
            apart: s.apart,
        }
    }

    fn take(&mut self, i: usize, s: &Sighting) {
        if self.look.is_none() || self.dull && !s.dull() {
            self.look = s.look;
        }
        self.dull &= s.dull();
        self.looks.extend(s.look);
        self.members.entry(s.pair).or_insert(s.day);
        self.sightings.push(i);
    }

    /// Whether this look has been seen in it.
    fn shows(&self, s: &Sighting) -> bool {
        s.look.is_some_and(|look| self.looks.contains(&look))
    }

    /// Whether its look and the sign's shut each other out.
    fn excludes(&self, s: &Sighting) -> bool {
        (self.apart || s.apart) && s.look.is_some() && s.look != self.look
    }

    fn takes_new(&self, s: &Sighting) -> bool {
        (s.day - self.first).num_days() <= JOIN_DAYS
    }
}

/// Sorts sightings into outbreaks, in the order of their first days. The order of the input does not
/// matter; what one day says is taken in the order of look, pair.
pub fn outbreaks(sightings: &[Sighting], turns: &[Turn]) -> Vec<Outbreak> {
    let mut order: Vec<usize> = (0..sightings.len()).collect();
    // A sign with a look of its own comes before others of the same day, so that those can join it.
    order.sort_by_key(|i| {
        let s = &sightings[*i];
        (s.day, s.look.is_none(), s.loose, s.look, s.pair, *i)
    });
    let mut found: Vec<Outbreak> = Vec::new();
    for i in order {
        let s = &sightings[i];
        let at = own(&found, s, turns).or_else(|| joins(&found, s)).unwrap_or_else(|| {
            found.push(Outbreak::begun(s));
            found.len() - 1
        });
        found[at].take(i, s);
    }
    found
}

/// The outbreak the pair is in already. A look seen in it comes back to it, unless the plants looked well
/// in between and its time is over; a dull sign joins it until they look well, any other look until then
/// or until its time is over. What plants show that were planted since and after its time is no matter of it.
fn own(found: &[Outbreak], s: &Sighting, turns: &[Turn]) -> Option<usize> {
    found.iter().rposition(|o| {
        let Some(since) = o.members.get(&s.pair) else { return false };
        let mine = || turns.iter().filter(|t| t.pair == s.pair && t.day > *since && t.day <= s.day);
        let well = mine().any(|t| !t.planted);
        !o.excludes(s)
            && (o.takes_new(s) || !mine().any(|t| t.planted))
            && if o.shows(s) { !well || o.takes_new(s) } else { !well && (s.dull() || o.takes_new(s)) }
    })
}

/// The latest outbreak that still takes new pairs: one that shows the sign's look (of a dull one, one that
/// shows nothing else), else, where the sign or all of the outbreak is dull, one on the same ground or the
/// same crop.
fn joins(found: &[Outbreak], s: &Sighting) -> Option<usize> {
    let open = |o: &Outbreak| o.takes_new(s) && !o.members.contains_key(&s.pair) && !o.excludes(s);
    let near = |o: &Outbreak| o.members.keys().any(|(place, crop)| *place == s.pair.0 || *crop == s.pair.1);
    let alike =
        |o: &Outbreak| if s.dull() { o.dull && s.look.is_some() && o.look == s.look } else { o.shows(s) };
    found
        .iter()
        .rposition(|o| open(o) && alike(o))
        .or_else(|| found.iter().rposition(|o| open(o) && (s.dull() || o.dull) && near(o)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn day(n: i64) -> NaiveDate {
        crate::measure::date::shift(NaiveDate::from_ymd_opt(2026, 4, 1).expect("a day"), n)
    }

    fn seen(on: i64, pair: (usize, usize), look: Option<usize>) -> Sighting {
        Sighting { day: day(on), pair, look, loose: false, apart: false }
    }

    fn loose(on: i64, pair: (usize, usize)) -> Sighting {
        Sighting { loose: true, ..seen(on, pair, Some(1)) }
    }

    fn apart(on: i64, pair: (usize, usize)) -> Sighting {
        Sighting { apart: true, ..seen(on, pair, Some(2)) }
    }

    #[test]
    fn beds_hurt_alike_within_sixty_days_are_one_outbreak() {
        let o =
            outbreaks(&[seen(0, (1, 1), Some(0)), seen(60, (2, 2), Some(0)), seen(61, (3, 3), Some(0))], &[]);
        assert_eq!(o.len(), 2);
        assert_eq!(o[0].members.len(), 2);
        assert_eq!(o[1].first, day(61));
    }

    #[test]
    fn the_same_plants_are_one_matter_whatever_they_show_and_other_plants_of_another_look_are_not() {
        let o = outbreaks(
            &[
                seen(0, (1, 1), Some(0)),
                seen(1, (1, 1), Some(3)),
                seen(2, (1, 1), None),
                seen(2, (1, 9), Some(4)),
                seen(2, (9, 9), None),
            ],
            &[],
        );
        assert_eq!(o.len(), 2);
        assert_eq!((o[0].look, o[0].sightings.as_slice()), (Some(0), &[0, 1, 2][..]));
        assert_eq!((o[1].look, o[1].members.len()), (Some(4), 2), "the vague sign is on the same crop");
    }

    #[test]
    fn a_look_that_comes_when_the_time_is_over_is_another_matter() {
        let o = outbreaks(&[seen(0, (1, 1), Some(0)), seen(61, (1, 1), Some(3))], &[]);
        assert_eq!(o.len(), 2);
    }

    #[test]
    fn dull_signs_join_what_ails_their_ground_or_crop_and_take_its_look() {
        let o = outbreaks(
            &[
                loose(0, (1, 1)),
                seen(3, (1, 2), Some(0)),
                loose(4, (2, 2)),
                loose(5, (3, 3)),
                loose(6, (4, 4)),
            ],
            &[],
        );
        assert_eq!(o.len(), 2, "the last two are far from what twists");
        assert_eq!((o[0].look, o[0].members.len()), (Some(0), 3));
        assert_eq!((o[1].look, o[1].members.len()), (Some(1), 2));
    }

    #[test]
    fn a_look_that_sets_its_plants_apart_shares_an_outbreak_with_no_other() {
        let o =
            outbreaks(&[seen(0, (1, 1), Some(0)), apart(0, (2, 1)), loose(1, (2, 1)), apart(2, (1, 2))], &[]);
        assert_eq!(o.len(), 2);
        assert_eq!((o[0].look, o[0].members.len()), (Some(0), 2));
        assert_eq!((o[1].look, o[1].members.len()), (Some(2), 2));
    }

    #[test]
    fn plants_that_looked_well_may_begin_again_when_the_time_is_over() {
        let wells = [Turn { day: day(40), pair: (1, 1), planted: false }];
        let begun =
            |on, look| outbreaks(&[seen(0, (1, 1), Some(0)), seen(on, (1, 1), Some(look))], &wells).len();
        assert_eq!([begun(80, 0), begun(50, 0), begun(50, 3)], [2, 1, 2]);
        assert_eq!(outbreaks(&[seen(0, (1, 1), Some(0)), seen(80, (1, 1), Some(0))], &[]).len(), 1);
    }

    #[test]
    fn what_is_planted_when_the_time_is_over_is_another_matter() {
        let planted = [Turn { day: day(40), pair: (1, 1), planted: true }];
        let begun = |on, look| {
            let seen = [seen(0, (1, 1), Some(0)), seen(on, (1, 1), look)];
            outbreaks(&seen, &planted).len()
        };
        assert_eq!(
            [begun(80, Some(0)), begun(80, None), begun(50, Some(0)), begun(39, Some(0))],
            [2, 2, 1, 1]
        );
    }

    /// Groups of sightings: each, in the order of days, is asked of those before it, latest group first.
    /// Nothing is kept of a group but which sightings went there.
    fn by_asking(given: &[Sighting], turns: &[Turn]) -> Vec<Vec<usize>> {
        let mut order: Vec<usize> = (0..given.len()).collect();
        order.sort_by_key(|n| {
            let s = &given[*n];
            (s.day, s.look.is_none(), s.loose, s.look, s.pair, *n)
        });
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for n in order {
            let s = &given[n];
            let dull = |m: usize| given[m].look.is_none() || given[m].loose;
            let may = |g: &[usize]| {
                let first_look = g.iter().find_map(|m| given[*m].look);
                let set_apart = s.apart || given[g[0]].apart;
                !set_apart || s.look.is_none() || s.look == first_look
            };
            let early = |g: &[usize]| (s.day - given[g[0]].day).num_days() <= JOIN_DAYS;
            let alike = |g: &[usize]| s.look.is_some() && g.iter().any(|m| given[*m].look == s.look);
            let mine = |g: &[usize]| g.iter().copied().find(|m| given[*m].pair == s.pair);
            let turned = |g: &[usize], planted: bool| {
                let since = mine(g).map(|m| given[m].day);
                let between = |t: &Turn| since.is_some_and(|d| t.day > d) && t.day <= s.day;
                turns.iter().any(|t| t.planted == planted && t.pair == s.pair && between(t))
            };
            let well = |g: &[usize]| turned(g, false);
            let same = |g: &[usize]| mine(g).is_some() && (early(g) || !turned(g, true));
            let back = |g: &[usize]| same(g) && alike(g) && (early(g) || !well(g));
            let more = |g: &[usize]| same(g) && !alike(g) && !well(g) && (dull(n) || early(g));
            let new = |g: &[usize]| mine(g).is_none() && early(g);
            let plain = |g: &[usize]| {
                s.look.is_some()
                    && g.iter().all(|m| dull(*m))
                    && g.iter().find_map(|m| given[*m].look) == s.look
            };
            let beside = |g: &[usize]| {
                g.iter().any(|m| given[*m].pair.0 == s.pair.0 || given[*m].pair.1 == s.pair.1)
                    && (dull(n) || g.iter().all(|m| dull(*m)))
            };
            let latest = |fits: &dyn Fn(&[usize]) -> bool| {
                (0..groups.len()).rev().find(|g| may(&groups[*g]) && fits(&groups[*g]))
            };
            let found = latest(&|g| back(g) || more(g))
                .or_else(|| latest(&|g| new(g) && if dull(n) { plain(g) } else { alike(g) }))
                .or_else(|| latest(&|g| new(g) && beside(g)));
            match found {
                Some(g) => groups[g].push(n),
                None => groups.push(vec![n]),
            }
        }
        for g in &mut groups {
            g.sort_unstable();
        }
        groups.sort();
        groups
    }

    /// Each with a look that is always loose, or always apart.
    fn sighting() -> impl Strategy<Value = Sighting> {
        (0i64..160, 0usize..3, 0usize..3, prop::option::of(0usize..5)).prop_map(|(on, place, crop, look)| {
            Sighting {
                loose: matches!(look, Some(1 | 3)),
                apart: look == Some(2),
                ..seen(on, (place, crop), look)
            }
        })
    }

    proptest! {
        #[test]
        fn the_order_of_writing_does_not_matter(mut given in prop::collection::vec(sighting(), 0..20)) {
            let shape = |s: &[Sighting]| -> Vec<_> {
                outbreaks(s, &[]).into_iter().map(|o| (o.look, o.first, o.members)).collect()
            };
            let before = shape(&given);
            given.reverse();
            prop_assert_eq!(before, shape(&given));
        }

        /// Beside a second telling of the same rule.
        #[test]
        fn outbreaks_are_those_of_asking_every_earlier_sighting(
            given in prop::collection::vec(sighting(), 0..14),
            turns in prop::collection::vec((0i64..160, 0usize..3, 0usize..3, any::<bool>()), 0..6),
        ) {
            let turn = |(on, place, crop, planted)| Turn { day: day(on), pair: (place, crop), planted };
            let turns: Vec<Turn> = turns.into_iter().map(turn).collect();
            let mut ours: Vec<Vec<usize>> = outbreaks(&given, &turns)
                .into_iter()
                .map(|o| {
                    let mut all = o.sightings;
                    all.sort_unstable();
                    all
                })
                .collect();
            ours.sort();
            prop_assert_eq!(ours, by_asking(&given, &turns));
        }

        #[test]
        fn every_sighting_is_in_exactly_one_outbreak(given in prop::collection::vec(sighting(), 0..20)) {
            let mut all: Vec<usize> = outbreaks(&given, &[]).into_iter().flat_map(|o| o.sightings).collect();
            all.sort_unstable();
            prop_assert_eq!(all, (0..given.len()).collect::<Vec<_>>());
        }
    }
}
