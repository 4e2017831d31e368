//! Residue by mass balance: from a rate or a laboratory level to the level in a bed.
//!
//! Comes in: rates, levels, depths and densities in SI units. Goes out: mass fractions (kg/kg;
//! 1 ppb = 1e-9). It assumes clean soil and one moisture basis, and says nothing of loss over time.

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
