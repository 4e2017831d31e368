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

#[cfg(test)]
mod tests {
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

    #[test]
    fn impossible_layers_have_no_level() {
        assert_eq!(from_rate(1.0, 0.0, 1300.0), None);
        assert_eq!(mixed(&[]), None);
        assert_eq!(mixed(&[Layer { depth: -1.0, density: 1.0, level: 0.0 }]), None);
    }
}
