//! Chances and ratios in words.
//!
//! Comes in: numbers. Goes out: short text. A chance is never shown as over 98 in 100: tables that are
//! judgement cannot carry more.

/// Odds against that are shown, so that no figure seems finer than it is.
const ONE_IN: [u32; 8] = [12, 15, 20, 30, 40, 50, 70, 100];

/// A chance as it is shown: so many among so many; none among a hundred is said as *under 1*.
type Step = (u32, u32);

/// What may be shown of a chance, the greatest first.
fn steps() -> Vec<Step> {
    let tens = (1..10).rev().map(|n| (n, 10));
    [(98, 100), (97, 100), (19, 20)]
        .into_iter()
        .chain(tens)
        .chain(ONE_IN.map(|n| (1, n)))
        .chain([(0, 100)])
        .collect()
}

fn nearest(p: f64) -> Step {
    if !p.is_finite() || p < 0.0095 {
        return (0, 100);
    }
    if p >= 0.965 {
        return (if p >= 0.975 { 98 } else { 97 }, 100);
    }
    if p >= 0.945 {
        return (19, 20);
    }
    if p >= 0.095 {
        let tens = (1..10).min_by(|a, b| away(*a, p).total_cmp(&away(*b, p)));
        return (tens.unwrap_or(1), 10);
    }
    let one_in = 1.0 / p;
    (1, ONE_IN.into_iter().min_by(|a, b| far(*a, one_in).total_cmp(&far(*b, one_in))).unwrap_or(100))
}

fn away(tens: u32, p: f64) -> f64 {
    (f64::from(tens) - p * 10.0).abs()
}

fn worth((of, among): Step) -> f64 {
    f64::from(of) / f64::from(among)
}

fn said(step: Step) -> String {
    match step {
        (0, _) => "under 1 in 100".to_owned(),
        (of, among) => format!("{of} in {among}"),
    }
}

/// A chance in words: `9 in 10`, `1 in 20`, `19 in 20`, `97 in 100`.
pub fn chance(p: f64) -> String {
    said(nearest(p))
}

/// Chances that shut each other out, in words that together make no more than the whole: where rounding made
/// more of them, whichever moves least goes down a step, of equals the last.
pub fn chances(all: &[f64]) -> Vec<String> {
    let steps = steps();
    let mut shown: Vec<Step> = all.iter().map(|p| nearest(*p)).collect();
    while shown.iter().map(|s| worth(*s)).sum::<f64>() > 1.0 + 1e-9 {
        let lower = |step: Step| steps.iter().copied().find(|s| worth(*s) < worth(step) - 1e-9);
        let down =
            shown.iter().zip(all).enumerate().rev().filter_map(|(n, (s, p))| Some((n, lower(*s)?, *p)));
        let moves = |(_, to, p): &(usize, Step, f64)| (p - worth(*to)).abs();
        let Some((n, to, _)) = down.min_by(|a, b| moves(a).total_cmp(&moves(b))) else { break };
        if let Some(step) = shown.get_mut(n) {
            *step = to;
        }
    }
    shown.into_iter().map(said).collect()
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

/// From where to where a chance goes, in hundredths: `80-98`, `up to 3`; none where that is one figure.
pub fn span(low: f64, high: f64) -> Option<String> {
    let [low, high] = [low, high].map(|p| (p * 100.0).round().min(98.0));
    match (low < 1.0, low < high) {
        (_, false) => None,
        (true, _) => Some(format!("up to {high:.0}")),
        (false, _) => Some(format!("{low:.0}-{high:.0}")),
    }
}

fn far(n: u32, one_in: f64) -> f64 {
    (f64::from(n).ln() - one_in.ln()).abs()
}

/// A ratio in words, the larger side first named by its place: `6 : 1`, `1 : 2.5`.
pub fn ratio(r: f64) -> String {
    let side = |n: f64| {
        if n < 9.95 { format!("{:.1}", n).trim_end_matches(".0").to_owned() } else { format!("{n:.0}") }
    };
    if !(r.is_finite() && r > 0.0) || (0.95..1.05).contains(&r) {
        return "1 : 1".to_owned();
    }
    if r > 1.0 { format!("{} : 1", side(r)) } else { format!("1 : {}", side(1.0 / r)) }
}

/// How strongly a ratio supports one of two causes against the other, in the words of ENFSI, *Guideline
/// for Evaluative Reporting in Forensic Science*, 2015. Give the ratio of the supported one, 1 or more.
pub fn support(ratio: f64) -> &'static str {
    match ratio {
        r if r < 2.0 => "no support either way",
        r if r < 10.0 => "weak",
        r if r < 100.0 => "moderate",
        r if r < 1000.0 => "moderately strong",
        r if r < 10_000.0 => "strong",
        r if r < 1_000_000.0 => "very strong",
        _ => "extremely strong",
    }
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
        assert_eq!(chances(&[0.36, 0.36, 0.28]), ["4 in 10", "3 in 10", "3 in 10"]);
        assert_eq!(chances(&[0.966, 0.02, 0.014]), ["97 in 100", "1 in 50", "1 in 100"]);
        assert_eq!(chances(&[0.5, 0.5]), ["5 in 10", "5 in 10"]);
        assert_eq!(hundredths(&[0.335, 0.335, 0.33]), [34.0, 33.0, 33.0]);
    }

    proptest! {
        #[test]
        fn shown_chances_are_near_and_add_up_to_no_more_than_the_whole(
            weights in proptest::collection::vec(1u32..1000, 1..20)
        ) {
            let sum: f64 = weights.iter().map(|w| f64::from(*w)).sum();
            let all: Vec<f64> = weights.iter().map(|w| f64::from(*w) / sum).collect();
            let shown: Vec<f64> = chances(&all).iter().map(|s| read(s)).collect();
            prop_assert!(shown.iter().sum::<f64>() <= 1.0 + 1e-9, "{shown:?}");
            for (p, shown) in all.iter().zip(&shown) {
                prop_assert!((p - shown).abs() <= 0.16, "{p} as {shown}");
            }
            prop_assert!(hundredths(&all).iter().sum::<f64>() <= 100.0);
        }
    }

    /// A chance as a grower adds it up.
    fn read(shown: &str) -> f64 {
        let (of, among) = shown.trim_start_matches("under ").split_once(" in ").expect("a chance");
        let n = of.parse::<f64>().expect("a number") / among.parse::<f64>().expect("a number");
        if shown.starts_with("under") { 0.0 } else { n }
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
    }
}
