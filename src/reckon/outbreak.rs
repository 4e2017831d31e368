//! Outbreaks: which signs, on which plants, in which places, are one matter.
//!
//! Comes in: what was noticed, with the look each sign has, and where plants looked well again. Goes
//! out: outbreaks with their members. It judges no cause.
//!
//! The outbreak is the unit of judgement: one shared bean test must not count once for every bed. A
//! pair of place and crop is taken by the day it was first seen; the first opens an outbreak of its
//! look, and others of that look join it if they are first seen within [`JOIN_DAYS`] of its first day.

use std::collections::BTreeMap;

use chrono::NaiveDate;

/// How many days after an outbreak's first day others of the same look still join it ("our judgement").
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
    /// Whether it goes with whatever ails the pair already, and opens an outbreak of its own look only
    /// where nothing does.
    pub loose: bool,
}

/// A crop in a place looked well.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Well {
    /// The day.
    pub day: NaiveDate,
    /// Place and crop.
    pub pair: (usize, usize),
}

/// An outbreak.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outbreak {
    /// Its look; `None` for one of vague signs only.
    pub look: Option<usize>,
    /// The day it was first seen.
    pub first: NaiveDate,
    /// Its pairs, with the day each was first seen in it.
    pub members: BTreeMap<(usize, usize), NaiveDate>,
    /// Its sightings, as numbers into the slice given.
    pub sightings: Vec<usize>,
}

/// Sorts sightings into outbreaks, in the order of their first days. The order of the input does not
/// matter; what one day says is taken in the order of look, pair.
pub fn outbreaks(sightings: &[Sighting], wells: &[Well]) -> Vec<Outbreak> {
    let mut order: Vec<usize> = (0..sightings.len()).collect();
    // A sign with a look of its own comes before others of the same day, so that those can join it.
    order.sort_by_key(|i| {
        let s = &sightings[*i];
        (s.day, s.look.is_none(), s.loose, s.look, s.pair, *i)
    });
    let mut found: Vec<Outbreak> = Vec::new();
    for i in order {
        let s = &sightings[i];
        let at = own(&found, s, wells).or_else(|| joins(&found, s)).unwrap_or_else(|| {
            found.push(Outbreak { look: s.look, first: s.day, members: BTreeMap::new(), sightings: vec![] });
            found.len() - 1
        });
        found[at].members.entry(s.pair).or_insert(s.day);
        found[at].sightings.push(i);
    }
    found
}

/// The outbreak the pair is in already, of the same look or for a vague or loose sign of any, unless it
/// looked well since it was last seen hurt there.
fn own(found: &[Outbreak], s: &Sighting, wells: &[Well]) -> Option<usize> {
    found.iter().rposition(|o| {
        let same = s.look.is_none() || s.loose || o.look == s.look;
        same && o
            .members
            .get(&s.pair)
            .is_some_and(|since| !wells.iter().any(|w| w.pair == s.pair && w.day > *since && w.day <= s.day))
    })
}

/// The latest outbreak of the sign's look that still takes new pairs.
fn joins(found: &[Outbreak], s: &Sighting) -> Option<usize> {
    s.look?;
    found.iter().rposition(|o| {
        o.look == s.look && (s.day - o.first).num_days() <= JOIN_DAYS && !o.members.contains_key(&s.pair)
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn day(n: i64) -> NaiveDate {
        crate::measure::date::shift(NaiveDate::from_ymd_opt(2026, 4, 1).expect("a day"), n)
    }

    fn seen(on: i64, pair: (usize, usize), look: Option<usize>) -> Sighting {
        Sighting { day: day(on), pair, look, loose: false }
    }

    #[test]
    fn beds_hurt_alike_within_sixty_days_are_one_outbreak() {
        let o =
            outbreaks(&[seen(0, (1, 1), Some(0)), seen(60, (2, 1), Some(0)), seen(61, (3, 1), Some(0))], &[]);
        assert_eq!(o.len(), 2);
        assert_eq!(o[0].members.len(), 2);
        assert_eq!(o[1].first, day(61));
    }

    #[test]
    fn another_look_is_another_outbreak_and_a_vague_sign_joins_its_own_pair() {
        let o = outbreaks(
            &[
                seen(0, (1, 1), Some(0)),
                seen(1, (1, 1), Some(1)),
                seen(2, (1, 1), None),
                seen(2, (9, 9), None),
            ],
            &[],
        );
        assert_eq!(o.len(), 3);
        assert_eq!(o[1].sightings, [1, 2], "the vague sign joins the pair's latest outbreak");
        assert_eq!(o[2].look, None);
    }

    #[test]
    fn a_loose_sign_joins_what_ails_its_pair_and_else_others_of_its_look() {
        let loose = |on, pair| Sighting { loose: true, ..seen(on, pair, Some(1)) };
        let o =
            outbreaks(&[seen(0, (1, 1), Some(0)), loose(3, (1, 1)), loose(4, (2, 1)), loose(5, (3, 1))], &[]);
        assert_eq!(o.len(), 2);
        assert_eq!(o[0].sightings, [0, 1]);
        assert_eq!((o[1].look, o[1].members.len()), (Some(1), 2));
    }

    #[test]
    fn a_pair_that_looked_well_may_begin_again() {
        let wells = [Well { day: day(40), pair: (1, 1) }];
        let again = seen(80, (1, 1), Some(0));
        assert_eq!(outbreaks(&[seen(0, (1, 1), Some(0)), again.clone()], &wells).len(), 2);
        assert_eq!(outbreaks(&[seen(0, (1, 1), Some(0)), again], &[]).len(), 1);
    }

    /// Groups of sightings: each, in the order of days, is asked of those before it, latest group first,
    /// whether one of them is its own plants not well since, else whether the group's first is near enough.
    fn by_asking(given: &[Sighting], wells: &[Well]) -> Vec<Vec<usize>> {
        let mut order: Vec<usize> = (0..given.len()).collect();
        order.sort_by_key(|n| {
            let s = &given[*n];
            (s.day, s.look.is_none(), s.loose, s.look, s.pair, *n)
        });
        let mut group_of: BTreeMap<usize, usize> = BTreeMap::new();
        let mut begun: Vec<usize> = Vec::new();
        for n in &order {
            let s = &given[*n];
            let of = |g: usize| -> Vec<usize> {
                let mut all: Vec<usize> =
                    group_of.iter().filter(|(_, x)| **x == g).map(|(m, _)| *m).collect();
                all.sort_by_key(|m| order.iter().position(|x| x == m));
                all
            };
            let alike = |g: usize| given[begun[g]].look == s.look;
            let first_of_pair = |g: usize| of(g).into_iter().find(|m| given[*m].pair == s.pair);
            let well_since =
                |m: usize| wells.iter().any(|w| w.pair == s.pair && w.day > given[m].day && w.day <= s.day);
            let own = (0..begun.len()).rev().find(|g| {
                (s.look.is_none() || s.loose || alike(*g))
                    && first_of_pair(*g).is_some_and(|m| !well_since(m))
            });
            let joined = || {
                (0..begun.len()).rev().find(|g| {
                    let days = (s.day - given[begun[*g]].day).num_days();
                    s.look.is_some() && alike(*g) && days <= JOIN_DAYS && first_of_pair(*g).is_none()
                })
            };
            let group = own.or_else(joined).unwrap_or_else(|| {
                begun.push(*n);
                begun.len() - 1
            });
            group_of.insert(*n, group);
        }
        let mut groups: Vec<Vec<usize>> = vec![Vec::new(); begun.len()];
        for (n, g) in group_of {
            groups[g].push(n);
        }
        groups.sort();
        groups
    }

    proptest! {
        #[test]
        fn the_order_of_writing_does_not_matter(
            given in prop::collection::vec((0i64..200, 0usize..4, 0usize..3, prop::option::of(0usize..3)), 0..20),
        ) {
            let mut given: Vec<Sighting> = given.into_iter().map(|(d, p, c, l)| seen(d, (p, c), l)).collect();
            let shape = |s: &[Sighting]| -> Vec<_> {
                outbreaks(s, &[]).into_iter().map(|o| (o.look, o.first, o.members)).collect()
            };
            let before = shape(&given);
            given.reverse();
            prop_assert_eq!(before, shape(&given));
        }

        /// Beside a second telling of the same rule, which keeps no state but which sighting went where.
        #[test]
        fn outbreaks_are_those_of_asking_every_earlier_sighting(
            given in prop::collection::vec(
                (0i64..160, 0usize..3, 0usize..2, prop::option::of(0usize..2), any::<bool>()),
                0..14,
            ),
            wells in prop::collection::vec((0i64..160, 0usize..3, 0usize..2), 0..4),
        ) {
            let given: Vec<Sighting> = given
                .into_iter()
                .map(|(d, p, c, l, loose)| Sighting { loose: loose && l.is_some(), ..seen(d, (p, c), l) })
                .collect();
            let wells: Vec<Well> = wells.into_iter().map(|(d, p, c)| Well { day: day(d), pair: (p, c) }).collect();
            let mut ours: Vec<Vec<usize>> = outbreaks(&given, &wells)
                .into_iter()
                .map(|o| {
                    let mut all = o.sightings;
                    all.sort_unstable();
                    all
                })
                .collect();
            ours.sort();
            prop_assert_eq!(ours, by_asking(&given, &wells));
        }

        #[test]
        fn every_sighting_is_in_exactly_one_outbreak(
            given in prop::collection::vec((0i64..200, 0usize..4, 0usize..3, prop::option::of(0usize..3)), 0..20),
        ) {
            let given: Vec<Sighting> = given.into_iter().map(|(d, p, c, l)| seen(d, (p, c), l)).collect();
            let mut all: Vec<usize> = outbreaks(&given, &[]).into_iter().flat_map(|o| o.sightings).collect();
            all.sort_unstable();
            prop_assert_eq!(all, (0..given.len()).collect::<Vec<_>>());
        }
    }
}
