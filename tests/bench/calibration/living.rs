//! Causes that pick their plants: viruses, mites, eelworms, diseases, gnawers, a lack, bad seed, heat.
//!
//! Comes in: a sound farm and its cause. Goes out: its hosts hurt. Which crops are hosts, how often, how soon
//! and how many of them: our judgement, with mosaics on one family and a few plants, mites under cover, leaf
//! roll on tomato (see `figures.rs` for what the looks lean on).

use super::{
    dice::Dice,
    figures::{Cause, Ill, LAG_GALLS, LAG_UP},
    harm::{Blow, Course},
    world::{Family, Farm},
};

impl Blow {
    /// What picks its plants: insects, mites, diseases, a lack, seed, heat.
    pub(super) fn living(&mut self, farm: &mut Farm, dice: &mut Dice) {
        use Family::{Beet, Carrot, Daisy, Gourd, Nightshade, Pea};
        let cause = farm.cause;
        let mites = dice.one(&[Ill::BroadMite, Ill::BroadMite, Ill::RussetMite]);
        let lack = dice.one(&[Ill::NewLeavesLack, Ill::OldLeavesLack]);
        let name = |p: usize, names: &[&str]| names.contains(&farm.plantings[p].crop.name);
        let hosts: Vec<(usize, f64)> = (0..farm.plantings.len())
            .map(|p| {
                let planting = &farm.plantings[p];
                let covered = farm.beds[planting.bed].covered;
                let house = |inside: f64, outside: f64| if covered { inside } else { outside };
                let family = planting.crop.family;
                let weight = match cause {
                    Cause::Virus => match family {
                        Nightshade => 4.0,
                        Gourd => 2.5,
                        Pea => 1.2,
                        Daisy => 0.5,
                        _ => 0.0,
                    },
                    Cause::Mites if mites == Ill::RussetMite => {
                        if name(p, &["tomato"]) {
                            house(1.0, 0.2)
                        } else {
                            0.0
                        }
                    }
                    Cause::Mites => match family {
                        Nightshade if !name(p, &["potato"]) => house(3.0, 0.3),
                        Gourd | Pea => house(1.5, 0.1),
                        _ => 0.0,
                    },
                    Cause::Roll => f64::from(name(p, &["tomato"])) + 0.1 * f64::from(name(p, &["potato"])),
                    Cause::RootKnot => match family {
                        Nightshade if !name(p, &["potato"]) => house(3.0, 1.0),
                        Gourd => house(3.0, 1.0),
                        Carrot | Daisy | Pea | Beet => house(1.0, 0.5),
                        _ => 0.0,
                    },
                    Cause::Wilt => match family {
                        Nightshade | Gourd => 1.0,
                        _ => 0.0,
                    },
                    Cause::Blight => f64::from(name(p, &["tomato", "potato"])),
                    Cause::PoorSeed | Cause::DampedOff => f64::from(planting.crop.sown),
                    Cause::Heat => house(2.0, 0.6),
                    Cause::Gnawed => match family {
                        Family::Onion | Family::Grass => 0.2,
                        _ => 1.0,
                    },
                    _ => 1.0,
                };
                (p, weight)
            })
            .filter(|(_, w)| *w > 0.0)
            .collect();
        if hosts.is_empty() {
            return;
        }
        let first = dice.weighed(&hosts);
        let (crop, bed) = (farm.plantings[first].crop, farm.plantings[first].bed);
        let host = |p: &usize| hosts.iter().any(|(h, _)| h == p);
        let hit: Vec<usize> = (0..farm.plantings.len())
            .filter(|p| {
                let (same_crop, same_bed) = (farm.plantings[*p].crop == crop, farm.plantings[*p].bed == bed);
                *p == first
                    || host(p)
                        && match cause {
                            Cause::Roll => dice.yes(0.8),
                            Cause::PoorSeed => same_crop && dice.yes(0.95),
                            Cause::Lack => same_crop && dice.yes(0.8) || dice.yes(0.08),
                            Cause::Heat => dice.yes(0.55),
                            Cause::Virus | Cause::Wilt => same_crop && dice.yes(0.3),
                            Cause::Blight => dice.yes(0.6),
                            Cause::Mites => same_bed && dice.yes(0.4) || same_crop && dice.yes(0.35),
                            Cause::RootKnot => same_bed && dice.yes(0.6),
                            Cause::Overfed => same_bed && dice.yes(0.7),
                            _ => same_bed && dice.yes(0.5),
                        }
            })
            .collect();
        let hot = dice.whole(85, 130);
        let fed = farm.plantings[first].day + dice.whole(10, 50);
        let seedlings = dice.lag(&LAG_UP);
        let offset = dice.whole(12, 60);
        for p in hit {
            let planted = farm.plantings[p].day;
            let wobble = dice.whole(0, 6);
            let (ill, from, badly, share, spreads) = match cause {
                Cause::Virus => (Ill::Virus, planted + offset + wobble, 0.45, dice.between(0.05, 0.35), true),
                Cause::Mites => (mites, planted + 10 + offset, 0.5, dice.between(0.15, 0.7), true),
                Cause::Roll => (Ill::Roll, planted + 15 + offset, 0.3, dice.between(0.4, 1.0), false),
                Cause::RootKnot => {
                    (Ill::Galls, planted + dice.lag(&LAG_GALLS), 0.45, dice.between(0.2, 0.8), true)
                }
                Cause::Heat => (Ill::Heat, hot + dice.whole(0, 2), 0.4, dice.between(0.4, 1.0), false),
                Cause::PoorSeed => (Ill::PoorSeed, planted + seedlings + 4, 0.5, 0.9, false),
                Cause::Lack => (lack, planted + 15 + offset, 0.35, dice.between(0.7, 1.0), false),
                Cause::Overfed => (Ill::Overfed, fed + dice.whole(2, 6), 0.5, dice.between(0.6, 1.0), false),
                Cause::Gnawed => (Ill::Gnawed, planted + offset, 0.6, dice.between(0.1, 0.5), true),
                Cause::DampedOff => {
                    (Ill::DampedOff, planted + seedlings + 3, 0.6, dice.between(0.3, 0.9), true)
                }
                Cause::Wilt => (Ill::Wilt, planted + 20 + offset, 0.6, dice.between(0.1, 0.5), true),
                _ => (Ill::Blight, planted + 25 + offset, 0.6, dice.between(0.3, 0.9), true),
            };
            if from <= planted + 2 {
                continue;
            }
            if ill == Ill::Heat {
                farm.hot.push(hot);
            }
            if ill == Ill::Overfed {
                farm.fed.push((fed, p, "tomato feed"));
            }
            let mends_after = (ill == Ill::Heat).then_some(12);
            self.hurt(farm, p, ill, Course { from, badly, share, spreads, mends_after }, dice);
        }
    }
}
