//! `test plan`: how many pots a bean test wants on each side, before it is potted.
//!
//! Comes in: what a test is planned to see and how sure. Goes out: how often so many pots see it, and how many are
//! needed. The exact chances are weighed in `reckon::power`.

use super::inputs;
use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::power::{pots_needed, power},
};

inputs! {
    Planned = "a bean test is planned to see {hurt:share} of its pots hurt where {stray:share} go wrong by themselves",
    Sure = "a bean test is to see it {wanted:share} of the time, and err {level:share} of the time",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "{n:number} pots on each side see {hurt:share} of them hurt {power:share} of the time",
    "{n:number} pots on each side are needed to see {hurt:share} of them hurt",
];

/// The numbers of pots on each side that are weighed against each other.
const POTS: std::ops::RangeInclusive<u32> = 3..=8;

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let of = |input: Input| {
        let given = given.iter().enumerate().filter(move |(_, g)| INPUTS.get(g.input) == Some(&input));
        given.filter_map(|(n, g)| Some((n, share(g.values.first()?)?, share(g.values.get(1)?)?)))
    };
    let mut out = Vec::new();
    for (planned, hurt, stray) in of(Input::Planned) {
        for (sure, wanted, level) in of(Input::Sure) {
            let witnesses = vec![planned, sure];
            let numbers = vec![
                ("pots that go wrong by themselves".to_owned(), shown(stray)),
                (
                    "chance of an error by luck, at most (Fisher's exact test, one-sided)".to_owned(),
                    shown(level),
                ),
            ];
            let mut tell = |output: usize, values: Vec<Value>| {
                let (witnesses, numbers) = (witnesses.clone(), numbers.clone());
                out.push(Reckoned { output, values, witnesses, numbers });
            };
            for n in POTS {
                let sees = power(n, n, hurt, stray, level);
                tell(0, vec![Value::number(f64::from(n)), shown(hurt), shown(sees)]);
            }
            if let Some(n) = pots_needed(hurt, stray, level, wanted) {
                tell(1, vec![Value::number(f64::from(n)), shown(hurt)]);
            }
        }
    }
    out
}

/// A sure share; of a range the middle.
fn share(value: &Value) -> Option<f64> {
    match value {
        Value::Quantity(q) if q.dimension == Dimension::Share => Some(q.size.middle()),
        _ => None,
    }
}

fn shown(share: f64) -> Value {
    Value::Quantity(Quantity { size: Range::exact(share), dimension: Dimension::Share })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(hurt: f64, stray: f64, wanted: f64, level: f64) -> Vec<Reckoned> {
        let (planned, sure) = ([shown(hurt), shown(stray)], [shown(wanted), shown(level)]);
        let given = |input: usize, values| Given { input, values, entry: None, planned: false };
        let out = run(&[given(0, &planned[..]), given(1, &sure[..])]);
        assert_eq!(out, {
            let mut back = run(&[given(1, &sure[..]), given(0, &planned[..])]);
            back.iter_mut().for_each(|r| r.witnesses = r.witnesses.iter().map(|n| 1 - n).collect());
            back
        });
        out
    }

    /// By hand: at one in twenty, four pots against four show only four hurt against none, since three
    /// against none is 5/70 by luck.
    #[test]
    fn four_pots_on_each_side_show_what_hurts_all_of_them() {
        let by_hand = 0.9f64.powi(4) * 0.95f64.powi(4);
        let four = told(0.9, 0.05, 0.8, 0.05)
            .into_iter()
            .find(|r| r.output == 0 && r.values[0] == Value::number(4.0))
            .expect("four are weighed");
        let Value::Quantity(q) = four.values[2] else { unreachable!("a share") };
        assert!((q.size.low() - by_hand).abs() < 1e-12, "{q:?} is not {by_hand}");
        assert_eq!(four.numbers.len(), 2);
    }

    #[test]
    fn what_hurts_no_more_pots_than_go_wrong_by_themselves_is_never_seen() {
        assert!(told(0.3, 0.3, 0.8, 0.05).iter().all(|r| r.output == 0));
        assert!(
            told(0.9, 0.05, 0.8, 0.05).iter().any(|r| r.output == 1 && r.values[0] == Value::number(5.0))
        );
    }
}
