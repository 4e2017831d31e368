//! The registry's members on small journals told as sentences.

use chrono::NaiveDate;

use super::registry;
use crate::{
    measure::{
        date::Days,
        display,
        number::Range,
        unit::quantity,
        value::{EntryId, Value},
    },
    model::program::{Given, Reckoned},
};

fn day(text: &str) -> Value {
    Value::Days(Days::on(text.parse::<NaiveDate>().expect("a day")))
}

fn lot(name: &str) -> Value {
    Value::thing("lot", name)
}

fn bed(name: &str) -> Value {
    Value::thing("bed", name)
}

fn q(n: f64, unit: &str) -> Value {
    quantity(n, unit).expect("a unit")
}

struct World {
    name: &'static str,
    said: Vec<(usize, Vec<Value>, u32, bool)>,
}

impl World {
    fn new(name: &'static str) -> Self {
        Self { name, said: Vec::new() }
    }

    fn say(&mut self, entry: u32, sentence: &str, values: Vec<Value>) -> &mut Self {
        let r = registry().into_iter().find(|r| r.name == self.name).expect("a member");
        let input = r.reads.iter().position(|s| *s == sentence).expect("a sentence it reads");
        self.said.push((input, values, entry, false));
        self
    }

    fn plan(&mut self) -> &mut Self {
        if let Some(last) = self.said.last_mut() {
            last.3 = true;
        }
        self
    }

    fn run(&self) -> Vec<(String, Vec<Value>)> {
        let out = run(self.name, &self.said);
        let mut turned = self.said.clone();
        turned.reverse();
        let again = run(self.name, &turned);
        let plain = |out: Vec<Reckoned>| -> Vec<(String, Vec<Value>)> {
            let r = registry().into_iter().find(|r| r.name == self.name).expect("a member");
            let mut list: Vec<(String, Vec<Value>)> = out
                .into_iter()
                .map(|x| {
                    assert!(x.witnesses.iter().all(|w| *w < self.said.len()));
                    ((*r.gives.get(x.output).expect("an output")).to_owned(), x.values)
                })
                .collect();
            list.sort();
            list
        };
        let (out, again) = (plain(out), plain(again));
        assert_eq!(out, again, "the order of the sentences does not matter");
        out
    }
}

fn run(name: &str, said: &[(usize, Vec<Value>, u32, bool)]) -> Vec<Reckoned> {
    let r = registry().into_iter().find(|r| r.name == name).expect("a member");
    let given: Vec<Given<'_>> = said
        .iter()
        .map(|(input, values, e, planned)| Given {
            input: *input,
            values,
            entry: Some(EntryId(*e)),
            planned: *planned,
        })
        .collect();
    (r.run)(&given)
}

fn holds(out: &[(String, Vec<Value>)], sentence: &str, values: &[Value]) -> bool {
    out.iter().any(|(s, v)| s == sentence && v == values)
}

const REACHED: &str = "{source} reached {place} on {day:date}";
const MEANT: &str = "{source} is meant to reach {place} on {day:date}";
const AMOUNT: &str = "{amount:amount} of {source} reached {place} by {day:date}";
const LEFT: &str = "{amount:amount} of {lot} is left on {day:date}";

fn delivery() -> World {
    let mut w = World::new("lineage");
    w.say(0, "{name} measures {size:area}", vec![bed("north-1"), q(120.0, "ft2")])
        .say(1, "{lot} was received on {day:date}", vec![lot("tern-26"), day("2026-03-14")])
        .say(
            1,
            "{amount:amount} of {lot} was received on {day:date}",
            vec![q(6.0, "yd3"), lot("tern-26"), day("2026-03-14")],
        )
        .say(
            2,
            "{lot} was spread on {place} on {day:date}",
            vec![lot("tern-26"), bed("north-1"), day("2026-03-20")],
        )
        .say(
            2,
            "{lot} was spread on {place} {depth:length} deep on {day:date}",
            vec![lot("tern-26"), bed("north-1"), q(3.0, "in"), day("2026-03-20")],
        )
        .say(9, "today is {day:date}", vec![day("2026-04-04")]);
    w
}

/// 120 ft² three inches deep is 30 ft³, and 27 ft³ are a cubic yard (NIST Handbook 44, Appendix C).
#[test]
fn a_depth_on_a_known_bed_is_a_volume_and_the_rest_is_left() {
    let out = delivery().run();
    assert!(holds(&out, REACHED, &[lot("tern-26"), bed("north-1"), day("2026-03-20")]));
    let volume = |sentence: &str| {
        out.iter().find(|(s, _)| s == sentence).and_then(|(_, v)| match v.first() {
            Some(Value::Quantity(q)) => Some(q.size.middle() / (0.3048f64.powi(3) * 27.0)),
            _ => None,
        })
    };
    assert!((volume(AMOUNT).expect("reached") - 30.0 / 27.0).abs() < 1e-9);
    assert!((volume(LEFT).expect("left") - (6.0 - 30.0 / 27.0)).abs() < 1e-9);
}

#[test]
fn a_plan_is_meant_to_reach_and_has_not_reached() {
    let mut w = delivery();
    w.say(
        5,
        "{lot} was spread on {place} on {day:date}",
        vec![lot("tern-26"), bed("strip-3"), day("2026-06-06")],
    )
    .plan();
    let out = w.run();
    assert!(holds(&out, MEANT, &[lot("tern-26"), bed("strip-3"), day("2026-06-06")]));
    assert!(!out.iter().any(|(s, v)| s == REACHED && v.get(1) == Some(&bed("strip-3"))));
}

#[test]
fn the_rest_of_a_lot_leaves_nothing_and_uses_it_up() {
    let mut w = delivery();
    w.say(6, "{lot} was returned on {day:date}", vec![lot("tern-26"), day("2026-04-02")]).say(
        6,
        "{amount:amount} of {lot} was returned on {day:date}",
        vec![q(100.0, "%"), lot("tern-26"), day("2026-04-02")],
    );
    let out = w.run();
    assert!(holds(&out, LEFT, &[q(0.0, "yd3"), lot("tern-26"), day("2026-04-04")]));
    assert!(holds(&out, "{lot} was used up by {day:date}", &[lot("tern-26"), day("2026-04-02")]));
}

#[test]
fn shares_of_one_entry_are_of_the_same_lot_as_it_was() {
    let mut w = World::new("lineage");
    w.say(1, "{lot} was received on {day:date}", vec![lot("x"), day("2026-01-10")]).say(
        1,
        "{amount:amount} of {lot} was received on {day:date}",
        vec![q(10.0, "m3"), lot("x"), day("2026-01-10")],
    );
    for (share, place) in [(60.0, "a"), (40.0, "b")] {
        w.say(2, "{lot} was spread on {place} on {day:date}", vec![lot("x"), bed(place), day("2026-01-12")])
            .say(
                2,
                "{amount:amount} of {lot} was spread on {place} on {day:date}",
                vec![q(share, "%"), lot("x"), bed(place), day("2026-01-12")],
            );
    }
    w.say(9, "today is {day:date}", vec![day("2026-02-01")]);
    let out = w.run();
    assert!(holds(&out, AMOUNT, &[q(6.0, "m3"), lot("x"), bed("a"), day("2026-01-12")]));
    assert!(holds(&out, AMOUNT, &[q(4.0, "m3"), lot("x"), bed("b"), day("2026-01-12")]));
    assert!(holds(&out, LEFT, &[q(0.0, "m3"), lot("x"), day("2026-02-01")]));
}

#[test]
fn hay_is_followed_through_animals_and_their_heap_to_a_bed() {
    let goats = Value::thing("animals", "goats");
    let heap = Value::thing("heap", "main");
    let mut w = World::new("lineage");
    w.say(1, "{lot} was received on {day:date}", vec![lot("pell-hay"), day("2026-01-10")])
        .say(
            2,
            "{thing} was fed to {animals} on {day:date}",
            vec![lot("pell-hay"), goats.clone(), day("2026-01-12")],
        )
        .say(3, "{lot} was heaped on {heap} on {day:date}", vec![goats, heap.clone(), day("2026-02-01")])
        .say(4, "{lot} was spread on {place} on {day:date}", vec![heap.clone(), bed("a"), day("2026-03-01")]);
    let out = w.run();
    assert!(holds(&out, REACHED, &[lot("pell-hay"), heap.clone(), day("2026-02-01")]));
    assert!(holds(&out, REACHED, &[lot("pell-hay"), bed("a"), day("2026-03-01")]));
    assert!(holds(&out, REACHED, &[heap, bed("a"), day("2026-03-01")]));
}

#[test]
fn hurt_plants_on_the_heap_carry_what_their_bed_held() {
    let heap = Value::thing("heap", "main");
    let mut w = delivery();
    w.say(
        7,
        "{lot} was taken from {from} to {to} on {day:date}",
        vec![Value::word("aubergine"), bed("north-1"), heap.clone(), day("2026-04-03")],
    );
    let out = w.run();
    assert!(holds(&out, REACHED, &[lot("tern-26"), heap, day("2026-04-03")]));
    assert!(
        !out.iter().any(|(s, v)| s == AMOUNT
            && v.get(2) == Some(&Value::thing("heap", "main"))
            && matches!(
                v.first(), Some(Value::Quantity(q)) if q.size.low() > 0.0
            )),
        "how much clings to them is unknown"
    );
}

#[test]
fn a_bed_cleared_by_its_name_alone_carries_what_it_held() {
    let heap = Value::thing("heap", "main");
    let mut w = delivery();
    w.say(
        7,
        "growth of {crop} went to {to} on {day:date}",
        vec![bed("north-1"), heap.clone(), day("2026-04-03")],
    )
    .say(
        8,
        "growth of {crop} went to {to} on {day:date}",
        vec![Value::word("aubergine"), Value::thing("heap", "far"), day("2026-04-03")],
    );
    let out = w.run();
    assert!(holds(&out, REACHED, &[lot("tern-26"), heap, day("2026-04-03")]));
    assert!(!out.iter().any(|(s, v)| s == REACHED && v.get(1) == Some(&Value::thing("heap", "far"))));
}

fn bean_test(hurt: f64, control: f64) -> World {
    let t = Value::thing("test", "t1");
    let bean = Value::word("bean");
    let mut w = World::new("bean test");
    for (e, arm) in [(1, ""), (2, "the control of ")] {
        w.say(
            e,
            if arm.is_empty() {
                "{test} was potted on {day:date}"
            } else {
                "the control of {test} was potted on {day:date}"
            },
            vec![t.clone(), day("2026-03-14")],
        );
        let pots = if arm.is_empty() {
            "{pots:number} pots of {crop} were potted for {test} on {day:date}"
        } else {
            "{pots:number} pots of {crop} were potted for the control of {test} on {day:date}"
        };
        w.say(e, pots, vec![Value::number(4.0), bean.clone(), t.clone(), day("2026-03-14")]);
    }
    w.say(3, "{test} was read on {day:date}", vec![t.clone(), day("2026-04-04")])
        .say(
            3,
            "{hurt:number} of {among:number} pots of {test} were hurt on {day:date}",
            vec![Value::number(hurt), Value::number(4.0), t.clone(), day("2026-04-04")],
        )
        .say(
            3,
            "{hurt:number} of {among:number} pots of the control of {test} were hurt on {day:date}",
            vec![Value::number(control), Value::number(4.0), t, day("2026-04-04")],
        );
    w
}

const CAME_OUT: &str = "the bean test {test} came out {verdict} on {day:date}";

#[test]
fn a_bean_test_comes_out_once_with_its_reasons() {
    let t = Value::thing("test", "t1");
    let out = bean_test(4.0, 0.0).run();
    assert_eq!(out, [(CAME_OUT.to_owned(), vec![t.clone(), Value::word("hurt"), day("2026-04-04")])]);
    let out = bean_test(4.0, 2.0).run();
    assert!(holds(&out, CAME_OUT, &[t.clone(), Value::word("void"), day("2026-04-04")]));
    assert!(holds(
        &out,
        "the bean test {test} is void because {reason:text}",
        &[t, Value::word("2 of 4 control pots were hurt")]
    ));
}

#[test]
fn a_look_so_far_is_no_reading() {
    let t = Value::thing("test", "t1");
    let mut w = bean_test(0.0, 0.0);
    w.say(4, "{test} was looked at on {day:date}", vec![t.clone(), day("2026-03-28")]).say(
        4,
        "{hurt:number} of {among:number} pots of {test} were hurt on {day:date}",
        vec![Value::number(4.0), Value::number(4.0), t.clone(), day("2026-03-28")],
    );
    assert_eq!(w.run(), [(CAME_OUT.to_owned(), vec![t, Value::word("clear"), day("2026-04-04")])]);
}

#[test]
fn readings_at_clock_times_are_a_time_held() {
    let batch = Value::thing("batch", "b3");
    let mut w = World::new("heat held");
    for (minute, f) in [(620u16, 150.0), (635, 160.0), (650, 166.0), (665, 161.0)] {
        w.say(
            1,
            "{thing} was at {temperature:temperature} at {clock:clock} on {day:date}",
            vec![batch.clone(), q(f, "F"), Value::Clock(minute), day("2026-05-01")],
        );
    }
    w.say(2, "a heat of {level:temperature} is asked of substrate", vec![q(160.0, "F")]);
    let out = w.run();
    let minutes = |s: &str| {
        out.iter().find(|(t, _)| t.contains(s)).and_then(|(_, v)| match v.get(2) {
            Some(Value::Quantity(q)) => Some(q.size),
            _ => None,
        })
    };
    let half_hour = Range::exact(30.0 / 1440.0);
    assert_eq!(minutes("surely"), Some(half_hour));
    assert_eq!(minutes("at most"), Some(half_hour));
}

/// What `outbreak` gives of signs noticed on the day of the heading: `(sign, crop, place, day in April)`.
fn outbreaks(signs: &[(&str, &str, &str, u32)]) -> Vec<(String, String)> {
    let w = Value::word;
    let day = |n: u32| Value::Days(Days::on(NaiveDate::from_ymd_opt(2026, 4, n).expect("a day")));
    let reads = super::outbreak::READS;
    let at = |start: &str| reads.iter().position(|r| r.starts_with(start)).expect("a sentence it reads");
    let mut rows: Vec<(usize, Vec<Value>)> = vec![
        (at("plants stand in"), vec![w("bed")]),
        (at("{look} is a matter"), vec![w("bent")]),
        (at("{look} is a matter"), vec![w("patchy")]),
        (at("{look} goes with"), vec![w("small")]),
        (at("{look} sets its"), vec![w("patchy")]),
    ];
    for (sign, look) in [("bow", "bent"), ("dwarf", "small"), ("patches", "patchy"), ("fly", "fly")] {
        rows.push((at("the look of"), vec![w(sign), w(look)]));
    }
    for (sign, crop, place, on) in signs {
        rows.push((0, vec![w(sign), w(crop), Value::thing("bed", *place), day(*on)]));
    }
    let given: Vec<Given<'_>> = rows
        .iter()
        .map(|(input, values)| Given { input: *input, values, entry: None, planned: false })
        .collect();
    let out = super::outbreak::run(&given);
    let mut held: Vec<(String, String)> = out
        .iter()
        .filter(|r| r.output == 2)
        .map(|r| {
            let shown = |v: &Value| display::value(v, &display::Units::new());
            (shown(&r.values[0]), shown(&r.values[2]))
        })
        .collect();
    held.sort();
    held
}

#[test]
fn beds_hurt_alike_are_one_outbreak_and_plants_set_apart_another() {
    let held = outbreaks(&[
        ("bow", "gorse", "a", 1),
        ("bow", "gorse", "b", 9),
        ("dwarf", "gorse", "b", 10),
        ("bow", "gorse", "c", 12),
        ("patches", "gorse", "c", 14),
        ("fly", "gorse", "d", 14),
    ]);
    let of = |outbreak: &str| -> Vec<&str> {
        held.iter().filter(|(o, _)| o == outbreak).map(|(_, place)| place.as_str()).collect()
    };
    assert_eq!(of("bent of 1 April 2026"), ["bed a", "bed b"]);
    assert_eq!(of("patchy of 12 April 2026"), ["bed c"]);
    assert_eq!(held.len(), 3, "{held:?}");
}

#[test]
fn signs_in_pots_open_no_outbreak() {
    assert!(outbreaks(&[]).is_empty());
    let w = Value::word;
    let values = [w("bow"), w("gorse"), Value::thing("test", "t1"), Value::Days(Days::on(NaiveDate::MIN))];
    let given = [Given { input: 0, values: &values, entry: None, planned: false }];
    assert!(super::outbreak::run(&given).is_empty());
}
