//! Chances and ratios in words.
//!
//! Comes in: numbers. Goes out: short text. A chance is never shown as over 98 in 100: tables that are
//! judgement cannot carry more.

/// The most that is shown of a chance, in hundredths.
const MOST: f64 = 98.0;
/// Odds against that are shown, so that no figure seems finer than it is.
const ONE_IN: [u32; 8] = [12, 15, 20, 30, 40, 50, 70, 100];

/// A chance in words: `9 in 10`, `1 in 20`, `19 in 20`, `97 in 100`.
pub fn chance(p: f64) -> String {
    if !p.is_finite() || p < 0.0095 {
        return "under 1 in 100".to_owned();
    }
    if p >= 0.965 {
        return if p >= 0.975 { "98 in 100".to_owned() } else { "97 in 100".to_owned() };
    }
    if p >= 0.945 {
        return "19 in 20".to_owned();
    }
    if p >= 0.095 {
        let tens = (1..10).min_by(|a, b| away(*a, p).total_cmp(&away(*b, p)));
        return format!("{} in 10", tens.unwrap_or(1));
    }
    let one_in = 1.0 / p;
    let n = ONE_IN.into_iter().min_by(|a, b| far(*a, one_in).total_cmp(&far(*b, one_in)));
    format!("1 in {}", n.unwrap_or(100))
}

fn away(tens: u32, p: f64) -> f64 {
    (f64::from(tens) - p * 10.0).abs()
}

/// So many in a hundred, as it stands in a list of chances.
pub fn of_hundred(n: f64) -> String {
    if n < 1.0 { "under 1 in 100".to_owned() } else { format!("{:.0} in 100", n.min(MOST)) }
}

/// Shares of a whole in hundredths, rounded so that they make no more than 100.
pub fn hundredths(all: &[f64]) -> Vec<f64> {
    let mut out: Vec<f64> = all.iter().map(|p| (p * 100.0).round()).collect();
    while out.iter().sum::<f64>() > 100.0 {
        let over = |n: &usize| out.get(*n).zip(all.get(*n)).map_or(0.0, |(shown, p)| shown - p * 100.0);
        let Some(most) = (0..out.len()).max_by(|a, b| over(a).total_cmp(&over(b))) else { break };
        if let Some(shown) = out.get_mut(most) {
            *shown -= 1.0;
        }
    }
    out
}

/// From where to where a chance that is shown as so many in a hundred goes: `80-98`, `up to 3`; none where that
/// is one figure.
pub fn span(shown: f64, (low, high): (f64, f64)) -> Option<String> {
    let [low, high] = [low, high].map(|p| (p * 100.0).round());
    let (low, high) = (low.min(shown).min(MOST), high.max(shown).min(MOST));
    match (low < 1.0, low < high) {
        (_, false) => None,
        (true, _) => Some(format!("up to {high:.0}")),
        (false, _) => Some(format!("{low:.0}-{high:.0}")),
    }
}

fn far(n: u32, one_in: f64) -> f64 {
    (f64::from(n).ln() - one_in.ln()).abs()
}

/// Whether a ratio is shown as `1 : 1`.
pub fn even(r: f64) -> bool {
    !(r.is_finite() && r > 0.0) || (0.95..1.05).contains(&r)
}

/// A ratio in words, the larger side first named by its place: `6 : 1`, `1 : 2.5`.
pub fn ratio(r: f64) -> String {
    let side = |n: f64| {
        if n < 9.95 { format!("{:.1}", n).trim_end_matches(".0").to_owned() } else { format!("{n:.0}") }
    };
    if even(r) {
        return "1 : 1".to_owned();
    }
    if r > 1.0 { format!("{} : 1", side(r)) } else { format!("1 : {}", side(1.0 / r)) }
}

/// The scale of ENFSI, *Guideline for Evaluative Reporting in Forensic Science*, 2015: below which ratio each step
/// ends, its word, and which step it is.
const STEPS: [(f64, &str, &str); 6] = [
    (10.0, "weak", "first"),
    (100.0, "moderate", "second"),
    (1000.0, "moderately strong", "third"),
    (10_000.0, "strong", "fourth"),
    (1_000_000.0, "very strong", "fifth"),
    (f64::INFINITY, "extremely strong", "last"),
];

/// Where a ratio stands on the scale: the last step has no end.
fn on_scale(ratio: f64) -> (&'static str, &'static str) {
    let [.., last] = STEPS;
    let (_, word, step) = STEPS.into_iter().find(|(end, ..)| ratio < *end).unwrap_or(last);
    (word, step)
}

/// How strongly a ratio supports one of two causes against the other, in the words of the scale. Give the ratio of the
/// supported one, 1 or more; the scale begins at 2.
pub fn support(ratio: f64) -> &'static str {
    if ratio < 2.0 { "no support either way" } else { on_scale(ratio).0 }
}

/// Which step of the scale a ratio stands on, counted from `weak` up; give 2 or more.
pub fn step(ratio: f64) -> String {
    format!("the {} of six steps", on_scale(ratio).1)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn chances_read_as_people_say_them_and_stop_at_98_in_100() {
        let shown: Vec<String> =
            [0.0, 0.003, 0.011, 0.033, 0.05, 0.08, 0.1, 0.47, 0.9, 0.94, 0.95, 0.97, 0.9999]
                .map(chance)
                .to_vec();
        assert_eq!(
            shown,
            [
                "under 1 in 100",
                "under 1 in 100",
                "1 in 100",
                "1 in 30",
                "1 in 20",
                "1 in 12",
                "1 in 10",
                "5 in 10",
                "9 in 10",
                "9 in 10",
                "19 in 20",
                "97 in 100",
                "98 in 100"
            ]
        );
    }

    #[test]
    fn rounding_makes_no_more_of_exclusive_chances_than_the_whole() {
        assert_eq!(hundredths(&[0.335, 0.335, 0.33]), [34.0, 33.0, 33.0]);
    }

    #[test]
    fn a_span_holds_the_chance_it_stands_beside() {
        assert_eq!(span(10.0, (0.121, 0.14)).as_deref(), Some("10-14"));
        assert_eq!(span(98.0, (0.91, 0.999)).as_deref(), Some("91-98"));
        assert_eq!(span(2.0, (0.001, 0.02)).as_deref(), Some("up to 2"));
        assert_eq!(span(5.0, (0.05, 0.052)), None);
    }

    proptest! {
        #[test]
        fn hundredths_are_near_and_add_up_to_no_more_than_the_whole(
            weights in proptest::collection::vec(1u32..1000, 1..20)
        ) {
            let sum: f64 = weights.iter().map(|w| f64::from(*w)).sum();
            let all: Vec<f64> = weights.iter().map(|w| f64::from(*w) / sum).collect();
            let shown = hundredths(&all);
            prop_assert!(shown.iter().sum::<f64>() <= 100.0, "{shown:?}");
            for (p, shown) in all.iter().zip(&shown) {
                prop_assert!((p * 100.0 - shown).abs() <= 1.5, "{p} as {shown}");
            }
        }
    }

    #[test]
    fn ratios_name_the_favoured_side_by_its_place() {
        assert_eq!([6.06, 0.4, 1.02, 25.4].map(ratio), ["6.1 : 1", "1 : 2.5", "1 : 1", "25 : 1"]);
    }

    #[test]
    fn the_words_of_support_are_those_of_the_published_scale() {
        let text = include_str!("../../../tests/reference/evidence_scales.json");
        let scales: serde_json::Value = serde_json::from_str(text).expect("reference values");
        for band in scales["enfsi_2015"].as_array().expect("a scale") {
            let from = band["lr_from"].as_f64().expect("a number");
            assert_eq!(support(from), band["support"].as_str().expect("words"), "from {from}");
            if let Some(below) = band["lr_below"].as_f64() {
                assert_eq!(support(below * 0.999), band["support"].as_str().expect("words"), "below {below}");
            }
        }
        let bands = scales["enfsi_2015"].as_array().expect("a scale").iter().skip(1);
        let steps: Vec<String> = bands.map(|b| step(b["lr_from"].as_f64().expect("a number"))).collect();
        let expected = ["first", "second", "third", "fourth", "fifth", "last"];
        assert_eq!(steps, expected.map(|n| format!("the {n} of six steps")), "each band is one step");
    }
}
