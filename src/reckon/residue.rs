//! Residue by mass balance: from a rate or a laboratory level to the level in a bed.
//!
//! Comes in: rates, levels, depths and densities in SI units. Goes out: mass fractions (kg/kg;
//! 1 ppb = 1e-9). It assumes clean soil and one moisture basis, and says nothing of loss over time.

use super::interval::Interval;

/// The level in soil of a substance applied at `rate` kg/m² and worked evenly to `depth` m in soil of
/// `density` kg/m³. `None` unless depth and density are above 0 and the rate is not negative.
pub fn from_rate(rate: f64, depth: f64, density: f64) -> Option<f64> {
    (rate >= 0.0 && depth > 0.0 && density > 0.0).then(|| rate / (depth * density))
}

/// A layer that is mixed with others: its depth in m, density in kg/m³ and level in kg/kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Depth, m.
    pub depth: f64,
    /// Bulk density, kg/m³.
    pub density: f64,
    /// Level, kg/kg.
    pub level: f64,
}

/// The level after layers are mixed evenly: Σ level·mass / Σ mass. `None` if nothing has mass, or a
/// depth or density is negative.
pub fn mixed(layers: &[Layer]) -> Option<f64> {
    if layers.iter().any(|l| l.depth < 0.0 || l.density < 0.0 || l.level < 0.0) {
        return None;
    }
    let mass: f64 = layers.iter().map(|l| l.depth * l.density).sum();
    let held: f64 = layers.iter().map(|l| l.depth * l.density * l.level).sum();
    (mass > 0.0).then(|| held / mass)
}

/// Stuff that lies in a place: its volume (m³) and its mass (kg).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Volume, m³.
    pub volume: Interval,
    /// Mass, kg.
    pub mass: Interval,
}

/// The ground that a place's stuff is mixed with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Earth {
    /// Area, m².
    pub area: Interval,
    /// How deep all of it is mixed, the stuff included, m.
    pub depth: Interval,
    /// What the ground itself weighs, kg/m³.
    pub density: Interval,
}

impl Earth {
    /// The ground's own part beside stuff of `stuff` m³ in all: what room is left within the depth.
    pub fn own(&self, stuff: Interval) -> Part {
        let room = self.area.times(self.depth);
        let volume = room.minus(stuff);
        Part { volume, mass: volume.times(self.density) }
    }
}

/// The share of `part` in all that lies there, by volume and by mass: within the bounds whatever the true
/// sizes are. `others` is all stuff but this part; `earth` is `None` for a heap, which is its stuff alone.
pub fn shares(part: Part, others: Part, earth: Option<&Earth>) -> (Interval, Interval) {
    // With more of the part there is less room for ground, so its least goes with the most ground.
    let ground_beside = |least: bool| {
        let (mine, theirs) =
            if least { (part.volume.low, others.volume.low) } else { (part.volume.high, others.volume.high) };
        let stuff = mine + theirs;
        earth.map_or(Part { volume: Interval::NONE, mass: Interval::NONE }, |e| {
            e.own(Interval::new(stuff, stuff))
        })
    };
    let (most_ground, least_ground) = (ground_beside(true), ground_beside(false));
    let share = |mine: f64, rest: f64| {
        if mine <= 0.0 || rest.is_infinite() {
            0.0
        } else if mine.is_infinite() {
            1.0
        } else {
            mine / (mine + rest)
        }
    };
    let bounds = |mine: Interval, rest: Interval, most: f64, least: f64| {
        Interval::new(share(mine.low, rest.high + most), share(mine.high, rest.low + least))
    };
    (
        bounds(part.volume, others.volume, most_ground.volume.high, least_ground.volume.low),
        bounds(part.mass, others.mass, most_ground.mass.high, least_ground.mass.low),
    )
}

/// The level (kg/kg) that stuff on top of ground may have made in it: of `held` kg that is in the stuff, anything
/// from none to all may have been washed into `under` kg of ground, and the stuff itself thins nothing. Unbounded
/// where the ground may weigh nothing.
pub fn washed_down(held: Interval, under: Interval) -> Interval {
    let most = if held.high <= 0.0 { 0.0 } else { held.high / under.low };
    Interval::new(0.0, most)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const PPB: f64 = 1e-9;

    /// `tests/reference/residue.json`: 60 cases by the formula.
    #[test]
    fn levels_from_rates_and_mixing_are_those_of_the_reference() {
        let text = include_str!("../../tests/reference/residue.json");
        let json: serde_json::Value = serde_json::from_str(text).expect("reference file is JSON");
        let cases = json["cases"].as_array().expect("cases");
        assert_eq!(cases.len(), 60);
        for case in cases {
            let n = |v: &serde_json::Value, name: &str| v[name].as_f64().expect("a number");
            let rate = n(case, "rate_lb_ae_acre") * 0.453_592_37 / 4_046.856_422_4;
            let level = from_rate(rate, n(case, "depth_in") * 0.0254, n(case, "bulk_density_g_cm3") * 1000.0);
            let theirs = n(case, "ppb_dry_soil");
            assert!((level.expect("a level") / PPB - theirs).abs() < 1e-9 * theirs);
            let mix = &case["mix"];
            let depth = n(mix, "compost_depth_in");
            let layers = [
                Layer { depth, density: n(mix, "compost_bulk_kg_m3"), level: n(mix, "compost_ppb") * PPB },
                Layer {
                    depth: n(mix, "total_mixed_depth_in") - depth,
                    density: n(case, "bulk_density_g_cm3") * 1000.0,
                    level: 0.0,
                },
            ];
            let theirs = n(mix, "mixed_ppb");
            let ours = mixed(&layers).expect("a level") / PPB;
            assert!((ours - theirs).abs() < 1e-9 * theirs, "{}: {ours} is not {theirs}", case["id"]);
        }
    }

    /// The acre-furrow-slice: 1 lb in 2,000,000 lb of soil is 500 ppb (NOFA, *Soil and Nutrient*
    /// manual, appendix: lb/acre = 2 × ppm).
    #[test]
    fn a_pound_to_the_acre_is_five_hundred_parts_in_a_billion() {
        let rate = 0.453_592_37 / 4_046.856_422_4;
        let slice = 6.0 + 2.0 / 3.0;
        let density = 2_000_000.0 * 0.453_592_37 / (4_046.856_422_4 * slice * 0.0254);
        let level = from_rate(rate, slice * 0.0254, density).expect("a level");
        assert!((level / PPB - 500.0).abs() < 1e-9);
    }

    /// The dilution plots of WSU Puyallup (Cogger, Bary and Myhre, 2002): composts at 82 and 12 ppb, 1
    /// and 3 in, tilled to 6 in. Densities are assumed (0.5 and 1.3): the plots' own were not read.
    #[test]
    fn the_dilution_plots_come_out_by_mass_and_not_by_volume() {
        let plot = |ppb: f64, inches: f64| {
            let layers = [
                Layer { depth: inches, density: 500.0, level: ppb * PPB },
                Layer { depth: 6.0 - inches, density: 1300.0, level: 0.0 },
            ];
            (mixed(&layers).expect("a level") / PPB * 10.0).round() / 10.0
        };
        assert_eq!(
            [plot(82.0, 3.0), plot(82.0, 1.0), plot(12.0, 3.0), plot(12.0, 1.0)],
            [22.8, 5.9, 3.3, 0.9]
        );
    }

    const POUND_TO_THE_ACRE: f64 = 0.453_592_37 / 4_046.856_422_4;
    const INCH: f64 = 0.0254;
    /// Density of the acre-furrow-slice: 2,000,000 lb to the acre, 6 2/3 in deep; 1.324 g/cm³.
    const SLICE: f64 = 2_000_000.0 * POUND_TO_THE_ACRE / (20.0 / 3.0 * INCH);

    fn ppb(rate: f64, depth: f64, density: f64) -> f64 {
        from_rate(rate, depth, density).expect("a level") / PPB
    }

    fn near(ours: f64, theirs: f64, within: f64) {
        assert!((ours - theirs).abs() <= within, "{ours} is not {theirs}");
    }

    /// Rates and the levels they make. 4 lb to the acre in the furrow slice is 2 ppm, as the Canadian
    /// picloram study has it for 4.48 kg/ha to 15 cm (which is 4.00 lb); 0.11 lb is the most that a label
    /// of aminopyralid allowed; the others by arithmetic, 1 oz and 1.25 lb by the manual's rule that a pound
    /// to the acre is half a part in a million (NOFA, *Soil and Nutrient* manual). The European default is
    /// 5 cm at 1.5 g/cm³ (FOCUS, from memory).
    #[test]
    fn rates_make_the_levels_that_are_published() {
        let slice = 20.0 / 3.0 * INCH;
        near(SLICE, 1324.0, 1.0);
        near(ppb(4.0 * POUND_TO_THE_ACRE, slice, SLICE), 2000.0, 1e-6);
        near(4.48e-4 / POUND_TO_THE_ACRE, 4.00, 0.005);
        near(ppb(0.11 * POUND_TO_THE_ACRE, slice, SLICE), 55.0, 1e-6);
        near(ppb(0.11 * POUND_TO_THE_ACRE, 6.0 * INCH, SLICE), 61.1, 0.05);
        near(ppb(0.11 * POUND_TO_THE_ACRE, 3.0 * INCH, SLICE), 122.0, 0.5);
        near(ppb(1.25 * POUND_TO_THE_ACRE, slice, SLICE), 625.0, 1e-6);
        near(ppb(POUND_TO_THE_ACRE / 16.0, slice, SLICE), 31.25, 1e-6);
        near(ppb(120.0 * 1e-7, 0.15, 1300.0), 61.5, 0.05);
        near(ppb(280.0 * 1e-7, 0.15, 1300.0), 143.6, 0.05);
        near(ppb(1e-4, 0.15, 1300.0), 513.0, 0.5);
        near(ppb(1e-4, 0.05, 1500.0), 1333.0, 0.5);
    }

    /// A laboratory's sheet (*155 Using Activated Charcoal*, read in a copy) has lb/acre = depth in inches ×
    /// 0.30 × ppm: the same to a tenth of a per cent. 20 ppb in 6 in is then 0.036 lb to the acre.
    #[test]
    fn the_laboratorys_own_formula_agrees_to_a_tenth_of_a_per_cent() {
        let ours = ppb(6.0 * 0.30 * 0.020 * POUND_TO_THE_ACRE, 6.0 * INCH, SLICE);
        near(ours, 20.0, 0.02);
        near(6.0 * 0.30 * 0.020, 0.036, 1e-12);
    }

    /// Two inches of compost at 593 kg/m³ (NOFA: 1,000 lb to the cubic yard) and 10 ppb into six in all, soil
    /// at 1,320: 1.83 ppb by mass, where by volume it would be 3.33, 1.8 times too much.
    #[test]
    fn mixing_by_volume_would_nearly_double_the_level() {
        let layers = [
            Layer { depth: 2.0 * INCH, density: 593.0, level: 10.0 * PPB },
            Layer { depth: 4.0 * INCH, density: 1320.0, level: 0.0 },
        ];
        near(mixed(&layers).expect("a level") / PPB, 1.83, 0.005);
        near(10.0 * 2.0 / 6.0 / 1.83, 1.8, 0.03);
    }

    /// Hay at the 225 ppm of picloram that 40 CFR 180.292 allowed (read in a copy).
    #[test]
    fn hay_at_the_allowed_level_would_want_thinning_by_hundreds_of_thousands() {
        let thinned = Layer { depth: 1.0, density: 100.0, level: 225e-6 };
        let clean = Layer { depth: 224_999.0, density: 100.0, level: 0.0 };
        near(mixed(&[thinned, clean]).expect("a level") / PPB, 1.0, 1e-9);
    }

    #[test]
    fn a_share_reckoned_as_a_part_is_the_level_reckoned_as_a_layer() {
        let exact = |n: f64| Interval::new(n, n);
        let (area, compost, soil) = (12.0, 593.0, 1320.0);
        let volume = area * 2.0 * INCH;
        let part = Part { volume: exact(volume), mass: exact(volume * compost) };
        let nothing = Part { volume: Interval::NONE, mass: Interval::NONE };
        let earth = Earth { area: exact(area), depth: exact(6.0 * INCH), density: exact(soil) };
        let (by_volume, by_weight) = shares(part, nothing, Some(&earth));
        near(by_volume.low, 1.0 / 3.0, 1e-12);
        near(by_weight.low * 10.0, 1.83, 0.005);
        assert!(by_volume.is_exact() && (by_weight.high - by_weight.low).abs() < 1e-12);
    }

    /// Hay at 400 ppb, 4 in of it at 100 kg/m³, on 2 in of the furrow slice's soil: 4,064 µg on 67.3 kg, so from
    /// nothing to 60.4 ppb. Arithmetic; how much of it washes down was not found.
    #[test]
    fn all_that_a_mulch_held_may_be_in_the_ground_and_none_of_its_weight() {
        let held = 4.0 * INCH * 100.0 * 400.0 * PPB;
        let under = 2.0 * INCH * SLICE;
        let level = washed_down(Interval::new(held, held), Interval::new(under, 4.0 * under));
        near(level.low, 0.0, 0.0);
        near(level.high / PPB, 60.4, 0.05);
        assert_eq!(washed_down(Interval::NONE, Interval::NONE), Interval::NONE);
        assert!(washed_down(Interval::new(held, held), Interval::NONE).high.is_infinite());
    }

    proptest! {
        /// Nothing is lost: what all parts and the ground hold of a level is what was brought.
        #[test]
        fn shares_of_sure_amounts_add_up_to_the_whole(
            parts in proptest::collection::vec((0.01f64..0.5, 100f64..1500.0), 1..5), room in 1.0f64..3.0,
        ) {
            let exact = |n: f64| Interval::new(n, n);
            let all: Vec<Part> =
                parts.iter().map(|(v, d)| Part { volume: exact(*v), mass: exact(v * d) }).collect();
            let stuff: f64 = parts.iter().map(|(v, _)| v).sum();
            let earth = Earth { area: exact(1.0), depth: exact(stuff + room), density: exact(1300.0) };
            let sum = |list: &[&Part]| list.iter().fold((0.0, 0.0), |s, p| (s.0 + p.volume.low, s.1 + p.mass.low));
            let whole = |of: (f64, f64)| Part { volume: exact(of.0), mass: exact(of.1) };
            let mut total = (0.0, 0.0);
            for (n, part) in all.iter().enumerate() {
                let others: Vec<&Part> = all.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, p)| p).collect();
                let (v, w) = shares(*part, whole(sum(&others)), Some(&earth));
                total = (total.0 + v.low, total.1 + w.low);
            }
            let own = earth.own(exact(stuff));
            let (v, w) = shares(own, whole(sum(&all.iter().collect::<Vec<_>>())), None);
            prop_assert!((total.0 + v.low - 1.0).abs() < 1e-9 && (total.1 + w.low - 1.0).abs() < 1e-9);
        }

        /// Whatever the true sizes within their bounds are, the true share lies within its bounds.
        #[test]
        fn a_true_share_lies_within_its_bounds(
            v in (0.01f64..0.5, 1f64..2.0), d in (100f64..900.0, 1f64..2.0),
            other in (0.0f64..0.5, 1f64..2.0), e in (100f64..900.0, 1f64..2.0),
            deep in (0.0f64..1.0, 1f64..1.5), soil in (1000f64..1300.0, 1f64..1.3),
            pick in (0f64..1.0, 0f64..1.0, 0f64..1.0, 0f64..1.0, 0f64..1.0, 0f64..1.0),
        ) {
            let wide = |(low, times): (f64, f64)| Interval::new(low, low * times);
            let at = |i: Interval, p: f64| i.low + p * (i.high - i.low);
            let (vi, di, oi, ei, si) = (wide(v), wide(d), wide(other), wide(e), wide(soil));
            let least = vi.high + oi.high + deep.0;
            let depth = Interval::new(least, least * deep.1);
            let earth = Earth { area: Interval::new(1.0, 1.0), depth, density: si };
            let part = Part { volume: vi, mass: vi.times(di) };
            let others = Part { volume: oi, mass: oi.times(ei) };
            let (by_volume, by_weight) = shares(part, others, Some(&earth));
            let (tv, td, to, te) = (at(vi, pick.0), at(di, pick.1), at(oi, pick.2), at(ei, pick.3));
            let (deep, heavy) = (at(depth, pick.4), at(si, pick.5));
            let ground = deep - tv - to;
            let volume = tv / deep;
            let weight = tv * td / (tv * td + to * te + ground * heavy);
            prop_assert!(by_volume.low <= volume + 1e-9 && volume <= by_volume.high + 1e-9);
            prop_assert!(by_weight.low <= weight + 1e-9 && weight <= by_weight.high + 1e-9);
        }
    }

    #[test]
    fn impossible_layers_have_no_level() {
        assert_eq!(from_rate(1.0, 0.0, 1300.0), None);
        assert_eq!(mixed(&[]), None);
        assert_eq!(mixed(&[Layer { depth: -1.0, density: 1.0, level: 0.0 }]), None);
    }
}
