use proptest::prelude::*;

use super::*;

const KINDS: [&str; 4] = ["a", "b", "c", "rest"];
const ANSWERS: [&str; 3] = ["yes", "no", "unclear"];

fn word(w: &str) -> Value {
    Value::word(w)
}

/// Statements of a small world: causes a (one for each lot), b, c and the rest; questions q0 (of the
/// outbreak), q1 (of the outbreak) and q2 (of each lot, counted).
fn world(rows: &[Vec<[f64; 3]>], said: &[(usize, usize, usize)]) -> Vec<(usize, Vec<Value>)> {
    let o = Value::thing("outbreak", "twist of 1 April 2026");
    let lot = |n: usize| Value::thing("lot", format!("l{n}"));
    let n = Value::number;
    let mut all: Vec<(usize, Vec<Value>)> = Vec::new();
    for kind in KINDS {
        all.push((0, vec![word(kind), word(kind)]));
    }
    all.push((2, vec![word("a"), word("lot")]));
    all.push((5, vec![word("rest")]));
    all.push((4, vec![word("a"), word("b")]));
    all.push((6, vec![word("q2"), word("lot")]));
    all.push((10, vec![word("q2"), word("pots"), n(4.0), n(4.0)]));
    for (q, rows) in rows.iter().enumerate() {
        for (kind, row) in KINDS.iter().zip(rows) {
            for (answer, cell) in ANSWERS.iter().zip(row) {
                all.push((3, vec![word(kind), n(*cell), word(&format!("q{q}")), word(answer)]));
            }
        }
    }
    for l in 0..2 {
        all.push((15, vec![word("a"), lot(l), n(5.0), o.clone()]));
        all.push((13, vec![o.clone(), word("q2"), lot(l), n(4.0), n(4.0)]));
    }
    for (kind, weight) in [("b", 4.0), ("c", 3.0), ("rest", 10.0)] {
        all.push((14, vec![word(kind), n(weight), o.clone()]));
    }
    for (q, l, answer) in said {
        let answer = word(ANSWERS[*answer]);
        if *q == 2 {
            all.push((12, vec![o.clone(), word("q2"), lot(*l), answer]));
        } else {
            all.push((11, vec![o.clone(), word(&format!("q{q}")), answer]));
        }
    }
    all
}

fn ranked(said: &[(usize, Vec<Value>)]) -> Ranking {
    let book = Book::of(said.iter().map(|(n, values)| (*n, values.as_slice())));
    rankings(&book).remove(0)
}

fn chances(r: &Ranking) -> BTreeMap<(Arc<str>, Option<Value>), f64> {
    r.suspects.iter().map(|s| ((s.cause.clone(), s.subject.clone()), s.chance)).collect()
}

fn same(a: &Ranking, b: &Ranking) -> bool {
    let (a, b) = (chances(a), chances(b));
    a.len() == b.len() && a.iter().all(|(k, p)| b.get(k).is_some_and(|q| (p - q).abs() < 1e-9))
}

fn row() -> impl Strategy<Value = [f64; 3]> {
    (1u32..97, 1u32..97).prop_filter_map("a row of 100", |(a, b)| {
        (a + b <= 99).then(|| [f64::from(a), f64::from(b), f64::from(100 - a - b)])
    })
}

fn tables() -> impl Strategy<Value = Vec<Vec<[f64; 3]>>> {
    prop::collection::vec(prop::collection::vec(row(), 4), 3)
}

fn answers() -> impl Strategy<Value = Vec<(usize, usize, usize)>> {
    prop::collection::vec((0usize..3, 0usize..2, 0usize..2), 0..6)
}

proptest! {
    #[test]
    fn the_order_of_statements_does_not_matter(rows in tables(), said in answers(), by in 1usize..40) {
        let all = world(&rows, &said);
        let mut turned = all.clone();
        turned.rotate_left(by % all.len());
        turned.reverse();
        prop_assert!(same(&ranked(&all), &ranked(&turned)));
    }

    #[test]
    fn writing_an_observation_twice_changes_nothing(rows in tables(), said in answers()) {
        let once = world(&rows, &said);
        let twice: Vec<_> = once.iter().chain(&once).cloned().collect();
        prop_assert!(same(&ranked(&once), &ranked(&twice)));
    }

    #[test]
    fn chances_of_rivals_that_exclude_each_other_make_one(rows in tables(), said in answers()) {
        let mut all = world(&rows, &said);
        all.retain(|(n, _)| *n != 4);
        let sum: f64 = ranked(&all).suspects.iter().map(|s| s.chance).sum();
        prop_assert!((sum - 1.0).abs() < 1e-9);
    }

    #[test]
    fn what_suspects_of_one_cause_come_to_is_their_sum_where_they_exclude_each_other(
        rows in tables(),
        said in answers(),
    ) {
        let of = |r: &Ranking, cause: &Arc<str>| -> Vec<f64> {
            r.suspects.iter().filter(|s| s.cause == *cause).map(|s| s.chance).collect()
        };
        let mut all = world(&rows, &said);
        let with_pairs = ranked(&all);
        for shared in &with_pairs.shared {
            let each = of(&with_pairs, &shared.cause);
            prop_assert_eq!(each.len(), shared.suspects);
            prop_assert!(each.iter().all(|p| *p <= shared.chance + 1e-9));
            prop_assert!(shared.chance <= each.iter().sum::<f64>() + 1e-9);
        }
        all.retain(|(n, _)| *n != 4);
        let apart = ranked(&all);
        prop_assert!(!apart.shared.is_empty());
        for shared in &apart.shared {
            prop_assert!((shared.chance - of(&apart, &shared.cause).iter().sum::<f64>()).abs() < 1e-9);
        }
    }

    /// Beside a second calculation: states weighed one by one from the table as written.
    #[test]
    fn chances_are_those_of_weighing_each_state_by_hand(rows in tables(), said in answers()) {
        let all = world(&rows, &said);
        let mut given: BTreeMap<(usize, usize), BTreeSet<usize>> = BTreeMap::new();
        for (q, l, a) in &said {
            given.entry((*q, if *q == 2 { *l } else { 0 })).or_default().insert(*a);
        }
        let k = odds::ceiling(1.0 / 70.0);
        let cell = |member: (usize, Option<usize>), q: usize, l: usize, columns: &BTreeSet<usize>| -> f64 {
            let table: Vec<Vec<f64>> = rows[q].iter().map(|r| r.to_vec()).collect();
            let table = if q == 2 { odds::thinned(&table, k) } else { table };
            let elsewhere = q == 2 && member.1.is_some_and(|x| x != l);
            columns.iter().map(|c| table[if elsewhere { 3 } else { member.0 }][*c]).sum()
        };
        let suspects = [(0, Some(0), 5.0), (0, Some(1), 5.0), (1, None, 4.0), (2, None, 3.0), (3, None, 10.0)];
        let weigh = |members: &[usize], prior: f64| {
            given.iter().fold(prior, |w, ((q, l), answers)| {
                let own: Vec<usize> =
                    members.iter().copied().filter(|m| *q == 2 && suspects[*m].1 == Some(*l)).collect();
                let read = if own.len() == 1 { &own[..] } else { members };
                let sum: f64 = read.iter().map(|m| cell((suspects[*m].0, suspects[*m].1), *q, *l, answers)).sum();
                w * sum / read.len() as f64
            })
        };
        let mut states: Vec<(Vec<usize>, f64)> =
            suspects.iter().enumerate().map(|(n, s)| (vec![n], weigh(&[n], s.2))).collect();
        for lot in 0..2 {
            states.push((vec![lot, 2], weigh(&[lot, 2], 5.0 * 4.0 / 27.0)));
        }
        let sum: f64 = states.iter().map(|s| s.1).sum();
        let found = chances(&ranked(&all));
        for (n, s) in suspects.iter().enumerate() {
            let by_hand: f64 = states.iter().filter(|(m, _)| m.contains(&n)).map(|(_, w)| w).sum::<f64>() / sum;
            let subject = s.1.map(|l| Value::thing("lot", format!("l{l}")));
            let ours = found[&(Arc::from(KINDS[s.0]), subject)];
            prop_assert!((ours - by_hand).abs() < 1e-9, "{ours} {by_hand}");
        }
    }
}

fn plain() -> Vec<Vec<[f64; 3]>> {
    let q =
        |a: f64, b: f64| vec![[a, 98.0 - a, 2.0], [b, 98.0 - b, 2.0], [50.0, 48.0, 2.0], [40.0, 58.0, 2.0]];
    vec![
        q(80.0, 10.0),
        q(70.0, 20.0),
        vec![[80.0, 18.0, 2.0], [5.0, 93.0, 2.0], [5.0, 93.0, 2.0], [8.0, 90.0, 2.0]],
    ]
}

fn chance_of(r: &Ranking, cause: &str) -> f64 {
    r.suspects.iter().filter(|s| *s.cause == *cause).map(|s| s.chance).fold(0.0, f64::max)
}

#[test]
fn silence_counts_for_nothing_and_looking_in_vain_counts() {
    let silent = ranked(&world(&plain(), &[]));
    let looked = ranked(&world(&plain(), &[(0, 0, 1)]));
    assert!((chance_of(&silent, "b") - 4.0 / 27.0).abs() < 0.1, "near its weight, but for the pairs");
    assert!(chance_of(&looked, "a") < chance_of(&silent, "a"));
    assert!(silent.asked.is_empty() && looked.asked.len() == 1);
}

#[test]
fn of_two_answers_either_may_be_the_stray_one() {
    let r = ranked(&world(&plain(), &[(0, 0, 0), (0, 0, 1)]));
    assert_eq!(r.asked[0].answers, ["no".into(), "yes".into()]);
    assert!((r.asked[0].ratio - 1.0).abs() < 1e-9, "98 of 100 cases of either are one or the other");
}

#[test]
fn a_vague_answer_is_as_likely_as_any_it_leaves_open_and_gives_way_to_a_plain_one() {
    let with = |answers: &[&str]| {
        let mut all = world(&plain(), &[]);
        for other in ["yes", "unclear"] {
            all.push((17, vec![word("not no"), word("q0"), word(other)]));
        }
        let o = Value::thing("outbreak", "twist of 1 April 2026");
        all.extend(answers.iter().map(|a| (11, vec![o.clone(), word("q0"), word(a)])));
        ranked(&all)
    };
    let vague = with(&["not no"]);
    assert_eq!(vague.asked[0].answers, ["not no".into()]);
    assert!(same(&vague, &with(&["yes", "unclear"])) && !same(&vague, &with(&["yes"])));
    assert!(same(&with(&["not no", "no"]), &with(&["no"])));
}

#[test]
fn what_was_looked_into_is_not_asked_for_again() {
    let mut all = world(&plain(), &[]);
    let o = Value::thing("outbreak", "twist of 1 April 2026");
    let before = ranked(&all);
    all.push((18, vec![o.clone(), word("q0")]));
    all.push((19, vec![o, word("q2"), Value::thing("lot", "l0")]));
    let after = ranked(&all);
    assert!(same(&before, &after));
    assert_eq!((before.open.len(), after.open.len()), (4, 2));
}

fn open_of<'r>(r: &'r Ranking, question: &str) -> Option<&'r Open> {
    r.open.iter().find(|o| *o.question == *question)
}

#[test]
fn a_question_is_asked_again_until_it_is_answered_plainly() {
    let o = Value::thing("outbreak", "twist of 1 April 2026");
    let with = |answers: &[&str]| {
        let mut all = world(&plain(), &[]);
        for other in ["yes", "unclear"] {
            all.push((17, vec![word("not no"), word("q0"), word(other)]));
        }
        let look = [word("unclear"), word("q0"), Value::number(7.0), word("a fee"), word("look again")];
        all.push((25, look.to_vec()));
        all.extend(answers.iter().map(|a| (11, vec![o.clone(), word("q0"), word(a)])));
        all
    };
    let answers = |r: &Ranking| -> Vec<String> {
        let mut all: Vec<String> =
            open_of(r, "q0").into_iter().flat_map(|o| &o.outcomes).map(|x| x.answer.to_string()).collect();
        all.sort();
        all
    };
    assert_eq!(answers(&ranked(&with(&[]))), ["no", "unclear", "yes"]);
    assert_eq!(answers(&ranked(&with(&["not no"]))), ["unclear", "yes"], "what the vague answer leaves open");
    assert_eq!(answers(&ranked(&with(&["unclear"]))), ["no", "yes"], "what is plainer");
    for plain in [&["yes"][..], &["no"], &["yes", "not no"], &["no", "unclear"]] {
        assert!(open_of(&ranked(&with(plain)), "q0").is_none(), "{plain:?} is plain");
    }
    let mut looked = with(&["unclear"]);
    looked.push((18, vec![o.clone(), word("q0")]));
    assert!(open_of(&ranked(&looked), "q0").is_none(), "what was looked into is not asked for again");
    let again = ranked(&with(&["unclear"]));
    let again = open_of(&again, "q0").expect("open");
    assert_eq!(again.given.as_deref(), Some("unclear"));
    let sum: f64 = again.outcomes.iter().map(|o| o.likely).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
}

/// Each outcome is what the plain answer by itself comes to, and as likely as the vague one leaves it.
#[test]
fn a_plainer_answer_takes_the_place_of_the_vague_one() {
    let o = Value::thing("outbreak", "twist of 1 April 2026");
    let with = |answer: &str| {
        let mut all = world(&plain(), &[(1, 0, 0)]);
        for other in ["yes", "unclear"] {
            all.push((17, vec![word("not no"), word("q0"), word(other)]));
        }
        all.push((11, vec![o.clone(), word("q0"), word(answer)]));
        ranked(&all)
    };
    let vague = with("not no");
    let open = open_of(&vague, "q0").expect("open");
    for outcome in &open.outcomes {
        let then = with(&outcome.answer);
        let leads = &vague.suspects[outcome.leads];
        let key = (leads.cause.clone(), leads.subject.clone());
        assert!((chances(&then)[&key] - outcome.chance).abs() < 1e-9, "{}", outcome.answer);
    }
    // The chance now is the mean of the chances then.
    for suspect in &vague.suspects {
        let key = (suspect.cause.clone(), suspect.subject.clone());
        let then = |o: &Outcome| o.likely * chances(&with(&o.answer))[&key];
        let mean: f64 = open.outcomes.iter().map(then).sum();
        assert!((mean - suspect.chance).abs() < 1e-9, "{} {mean}", suspect.cause);
    }
}

#[test]
fn tests_that_agree_are_named_and_weigh_by_their_largest_size() {
    let o = Value::thing("outbreak", "twist of 1 April 2026");
    let lot = Value::thing("lot", "l0");
    let mut all = world(&plain(), &[(2, 0, 0)]);
    let one = ranked(&all);
    for test in ["t1", "t2"] {
        all.push((24, vec![o.clone(), word("q2"), lot.clone(), Value::thing("test", test)]));
    }
    let two = ranked(&all);
    assert!(same(&one, &two), "a witness more is no answer more");
    assert_eq!((one.asked[0].rests.len(), two.asked[0].rests.len()), (0, 2));
    assert_eq!(two.asked[0].by.len(), one.asked[0].by.len() + 2);
    let eight = vec![o, word("q2"), lot, Value::number(8.0), Value::number(8.0)];
    all.push((13, eight));
    let pooled = ranked(&all);
    assert_eq!((two.asked[0].size, pooled.asked[0].size), (Some((4, 4)), Some((8, 8))));
    assert!(pooled.asked[0].ratio > two.asked[0].ratio);
}

#[test]
fn four_pots_can_say_no_more_than_six_to_one() {
    let r = ranked(&world(&plain(), &[(2, 0, 0)]));
    let asked = &r.asked[0];
    assert!((asked.ceiling.expect("counted") - 6.06).abs() < 0.01);
    assert!(asked.ratio <= 6.07, "{}", asked.ratio);
}

#[test]
fn a_count_without_its_size_says_nothing() {
    let mut all = world(&plain(), &[(2, 0, 0)]);
    all.retain(|(n, _)| *n != 13);
    assert!(same(&ranked(&all), &ranked(&world(&plain(), &[]))));
}

#[test]
fn a_row_that_is_not_whole_is_read_as_the_row_of_what_is_not_listed() {
    let mut rows = plain();
    rows[0][0] = [80.0, 8.0, 2.0];
    let mut stand_in = plain();
    stand_in[0][0] = stand_in[0][3];
    let said = [(0, 0, 0)];
    assert!(same(&ranked(&world(&rows, &said)), &ranked(&world(&stand_in, &said))));
}

#[test]
fn what_would_settle_it_is_the_open_question_that_parts_the_first_two() {
    let r = ranked(&world(&plain(), &[(0, 0, 0)]));
    assert!(r.open.iter().all(|o| *o.question != *"q0"), "what is answered is not open");
    assert!(r.open.windows(2).all(|w| (w[0].gain * 200.0).round() >= (w[1].gain * 200.0).round()));
    for open in &r.open {
        let sum: f64 = open.outcomes.iter().map(|o| o.likely).sum();
        assert!((sum - 1.0).abs() < 1e-9);
    }
}

/// Answers of which two loads make one, told by rows that were worked out by hand.
#[test]
fn where_the_first_two_are_alike_the_likeliest_cause_that_differs_is_named() {
    let apart = |b: f64, c: f64, rest: f64| {
        let mut rows = plain();
        rows[0] = [90.0, b, c, rest].map(|yes| [yes, 98.0 - yes, 2.0]).to_vec();
        let mut all = world(&rows, &[(0, 0, 0)]);
        let o = Value::thing("outbreak", "twist of 1 April 2026");
        for lot in ["l0", "l1"] {
            all.push((15, vec![word("a"), Value::thing("lot", lot), Value::number(50.0), o.clone()]));
        }
        let r = ranked(&all);
        assert_eq!((&*r.suspects[0].cause, &*r.suspects[1].cause), ("a", "a"));
        assert!((r.asked[0].ratio - 1.0).abs() < 1e-9, "one cause, two lots");
        r.asked[0].apart.map(|(n, ratio)| (r.suspects[n].cause.to_string(), (ratio * 10.0).round() / 10.0))
    };
    assert_eq!(
        apart(88.0, 30.0, 1.0),
        Some(("c".to_owned(), 3.0)),
        "b is passed over, c is likelier than the rest"
    );
    assert_eq!(apart(80.0, 88.0, 1.0), Some(("rest".to_owned(), 90.0)), "b differs, but by less than half");
    assert_eq!(apart(80.0, 88.0, 90.0), Some(("b".to_owned(), 1.1)), "nothing differs by half");
    assert_eq!(apart(90.0, 90.0, 90.0), None);
}
