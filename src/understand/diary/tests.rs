//! Settling small diaries, told slot by slot: no text is read here but what spans point into.

use std::sync::Arc;

use chrono::NaiveDate;

use super::{Context, Phrases, settle};
use crate::{
    base::{
        diagnostic::Diagnostic,
        source::{SourceFile, SourceKind, Sources},
        span::{FileId, Loc, Span},
    },
    measure::{
        date::Days,
        display,
        number::Range,
        unit::{Dimension, quantity},
        value::{EntryId, Quantity, Thing, Value},
    },
    model::{
        diary::Diary,
        entry::{Entry, Filled, Filler, Group, Part, Replacement, Standing},
    },
    parse::frames,
    understand::{
        registry::registry,
        rulebook::{Lines, Rulebook},
    },
};

/// A diary under test: lines of text, and beside each what was read in it.
#[derive(Default)]
struct World {
    text: String,
    entries: Vec<Entry>,
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

fn thing(kind: &str, name: &str) -> Thing {
    Thing { kind: kind.into(), name: name.into() }
}

fn named(kind: &str, name: &str) -> Filler {
    Filler::Value(Value::thing(kind, name))
}

fn word(w: &str) -> Filler {
    Filler::Value(Value::word(w))
}

fn amount(n: f64, unit: &str) -> Filler {
    Filler::Value(quantity(n, unit).expect("a unit"))
}

fn size(a: f64, b: f64) -> Filler {
    let side = |n: f64| Quantity { size: Range::exact(n), dimension: Dimension::Length };
    Filler::Size(vec![side(a), side(b)])
}

fn part(kind: &str, name: &str, share: f64, side: Option<&str>) -> Filler {
    Filler::Part(Part {
        of: thing(kind, name),
        share: Some(Range::exact(share)),
        along: None,
        side: side.map(Into::into),
        remainder: false,
    })
}

impl World {
    /// Adds a line; each filler stands where its words stand, or at the whole line.
    fn line(&mut self, on: Option<&str>, text: &str, slots: Vec<(&str, Filler)>) -> &mut Self {
        let start = self.text.len();
        self.text.push_str(text);
        let loc = |from: usize, len: usize| Loc::new(FileId(0), Span::new(start + from, start + from + len));
        let verb_len = frames::load().verbs().iter().filter(|v| text.starts_with(**v)).map(|v| v.len()).max();
        let verb = text.get(..verb_len.unwrap_or(0)).unwrap_or("").to_owned();
        let filled = slots
            .into_iter()
            .map(|(slot, filler)| {
                let at = match &filler {
                    Filler::Value(Value::Thing(t)) => text.find(&*t.name).map(|n| (n, t.name.len())),
                    _ => None,
                };
                let (from, len) = at.unwrap_or((0, text.len()));
                Filled { slot: slot.into(), filler, loc: loc(from, len) }
            })
            .collect();
        self.entries.push(Entry {
            id: EntryId(0),
            loc: loc(0, text.len()),
            verb: frames::load().get(&verb).map_or_else(|| verb.as_str().into(), |f| f.verb.clone()),
            verb_loc: loc(0, verb.len()),
            days: on.map(|d| Days::on(day(d))),
            clock: None,
            standing: Standing::Done,
            groups: Arc::new(vec![Group { slots: filled }]),
            words: None,
            ticked: None,
        });
        self.text.push('\n');
        self
    }

    fn boxed(&mut self, ticked: bool) -> &mut Self {
        if let Some(e) = self.entries.last_mut() {
            e.ticked = Some(ticked);
        }
        self
    }

    fn bed(&mut self, name: &str, a: f64, b: f64) -> &mut Self {
        self.line(None, &format!("bed {name}"), vec![("name", named("bed", name)), ("size", size(a, b))])
    }

    fn load(&mut self, on: &str, lot: &str, m3: f64) -> &mut Self {
        self.line(
            Some(on),
            &format!("received {m3} m3 compost as lot {lot}"),
            vec![("amount", amount(m3, "m3")), ("material", word("compost")), ("lot", named("lot", lot))],
        )
    }

    fn spread(&mut self, on: &str, lot: &str, place: &str) -> &mut Self {
        self.line(
            Some(on),
            &format!("spread lot {lot} on {place}"),
            vec![("lot", named("lot", lot)), ("place", named("bed", place))],
        )
    }

    fn read(&self, today: &str) -> Read {
        self.read_as_of(today, None)
    }

    fn read_as_of(&self, today: &str, as_of: Option<&str>) -> Read {
        let frames = frames::load();
        let program = Rulebook::of(&[], &frames, &registry(), &Lines::default()).program;
        let sources =
            Sources::new(vec![SourceFile::new("a.md", self.text.as_str(), SourceKind::Journal, false)]);
        let cx = Context {
            frames: &frames,
            phrases: &Phrases::find(&frames, &program),
            sources: &sources,
            today: day(today),
            as_of: as_of.map(day),
            system: None,
        };
        let (diary, said) = settle(self.entries.clone(), &cx);
        let mut turned = self.entries.clone();
        turned.reverse();
        assert_eq!(settle(turned, &cx).0.facts, diary.facts, "the order of entries does not matter");
        let facts = diary
            .facts
            .iter()
            .map(|f| {
                let s = &program.sentences[f.sentence.0 as usize];
                let units = diary.units.clone();
                let filled =
                    s.filled(|n| f.values.get(n).map_or_else(String::new, |v| display::value(v, &units)));
                if f.planned { format!("(planned) {filled}") } else { filled }
            })
            .collect();
        Read { diary, said, facts }
    }
}

struct Read {
    diary: Diary,
    said: Vec<Diagnostic>,
    facts: Vec<String>,
}

impl Read {
    fn says(&self, sentence: &str) -> bool {
        self.facts.iter().any(|f| f == sentence)
    }

    fn codes(&self) -> Vec<&str> {
        self.said.iter().map(|d| &*d.code).collect()
    }

    fn message(&self, code: &str) -> String {
        self.said.iter().find(|d| &*d.code == code).map_or_else(String::new, |d| d.message.clone())
    }
}

fn farm() -> World {
    let mut w = World::default();
    w.bed("north-1", 10.0, 2.0).bed("north-2", 5.0, 2.0).load("2026-03-14", "tern-26", 6.0);
    w
}

#[test]
fn an_entry_says_each_sentence_whose_slots_are_filled_and_no_other() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1");
    let r = w.read("2026-04-04");
    assert!(r.says("lot tern-26 was spread on bed north-1 on 20 March 2026"), "{:#?}", r.facts);
    assert!(r.says("lot tern-26 came in as compost"));
    assert!(r.says("bed north-1 measures 20 m2"));
    assert!(r.says("lot tern-26 is a lot"));
    assert!(r.says("today is 4 April 2026"));
    assert!(!r.facts.iter().any(|f| f.contains("deep") || f.contains("was received from")));
    assert!(r.said.is_empty(), "{:?}", r.said);
}

#[test]
fn a_total_is_shared_by_area_and_a_depth_is_not() {
    let mut w = farm();
    w.line(
        Some("2026-03-20"),
        "spread 3 m3 of lot tern-26 on north-1 and north-2",
        vec![
            ("amount", amount(3.0, "m3")),
            ("lot", named("lot", "tern-26")),
            ("place", named("bed", "north-1")),
            ("place", named("bed", "north-2")),
            ("depth", amount(10.0, "cm")),
        ],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("2 m3 of lot tern-26 was spread on bed north-1 on 20 March 2026"), "{:#?}", r.facts);
    assert!(r.says("1 m3 of lot tern-26 was spread on bed north-2 on 20 March 2026"));
    for bed in ["north-1", "north-2"] {
        assert!(
            r.facts
                .iter()
                .any(|f| f.starts_with(&format!("lot tern-26 was spread on bed {bed} "))
                    && f.contains(" deep ")),
            "a depth holds for each"
        );
    }
}

#[test]
fn each_makes_an_amount_hold_for_every_place() {
    let mut w = farm();
    w.line(
        Some("2026-03-20"),
        "spread 1 m3 each of lot tern-26 on north-1 and north-2",
        vec![
            ("amount", amount(1.0, "m3")),
            ("each", Filler::Flag),
            ("lot", named("lot", "tern-26")),
            ("place", named("bed", "north-1")),
            ("place", named("bed", "north-2")),
        ],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("1 m3 of lot tern-26 was spread on bed north-1 on 20 March 2026"));
    assert!(r.says("1 m3 of lot tern-26 was spread on bed north-2 on 20 March 2026"));
}

#[test]
fn the_rest_of_a_lot_is_all_that_is_left_of_it() {
    let mut w = farm();
    let rest = Filler::Part(Part {
        of: thing("lot", "tern-26"),
        share: None,
        along: None,
        side: None,
        remainder: true,
    });
    w.line(
        Some("2026-03-20"),
        "returned the rest of lot tern-26 to Barry",
        vec![("lot", rest), ("who", named("person", "Barry"))],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("100 % of lot tern-26 was returned on 20 March 2026"), "{:#?}", r.facts);
}

#[test]
fn a_sided_half_is_ground_of_its_own_and_an_unsided_one_is_the_whole() {
    let mut w = farm();
    w.line(
        Some("2026-03-20"),
        "spread lot tern-26 on the west half of north-1",
        vec![("lot", named("lot", "tern-26")), ("place", part("bed", "north-1", 0.5, Some("west")))],
    )
    .line(
        Some("2026-03-21"),
        "spread lot tern-26 on half of north-2",
        vec![("lot", named("lot", "tern-26")), ("place", part("bed", "north-2", 0.5, None))],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("lot tern-26 was spread on west half of north-1 on 20 March 2026"), "{:#?}", r.facts);
    assert!(r.says("west half of north-1 is a part of bed north-1"));
    assert!(r.says("west half of north-1 measures 10 m2"));
    assert!(r.says("lot tern-26 was spread on bed north-2 on 21 March 2026"));
    assert_eq!(r.codes(), ["part-without-side"]);
}

#[test]
fn a_portion_with_a_name_of_its_own_goes_by_it() {
    let mut w = farm();
    w.line(
        None,
        "bed n1-w, west half of north-1",
        vec![("name", named("bed", "n1-w")), ("whole", part("bed", "north-1", 0.5, Some("west")))],
    )
    .line(
        Some("2026-03-20"),
        "spread lot tern-26 on the west half of north-1",
        vec![("lot", named("lot", "tern-26")), ("place", part("bed", "north-1", 0.5, Some("west")))],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("lot tern-26 was spread on bed n1-w on 20 March 2026"), "{:#?}", r.facts);
    assert!(r.says("bed n1-w is a part of bed north-1"));
    assert!(r.says("bed n1-w measures 10 m2"));
}

#[test]
fn a_room_stands_for_its_beds_but_those_excepted() {
    let mut w = World::default();
    for (bed, room) in [("a", "tunnel"), ("b", "tunnel"), ("c", "shed")] {
        w.line(
            None,
            &format!("bed {bed} in {room}"),
            vec![("name", named("bed", bed)), ("room", named("room", room))],
        );
    }
    w.line(
        Some("2026-03-20"),
        "noticed nothing wrong in tunnel except b",
        vec![("fine", Filler::Flag), ("place", named("room", "tunnel")), ("except", named("bed", "b"))],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("bed a looked well on 20 March 2026"), "{:#?}", r.facts);
    assert!(!r.says("bed b looked well on 20 March 2026"));
    assert!(!r.facts.iter().any(|f| f.contains("room tunnel looked well")));
}

#[test]
fn nothing_wrong_is_said_of_the_crop_named_and_not_of_the_bed() {
    let mut w = farm();
    w.line(
        Some("2026-03-20"),
        "noticed nothing wrong on tomato in north-1",
        vec![("fine", Filler::Flag), ("crop", word("tomato")), ("place", named("bed", "north-1"))],
    )
    .line(
        Some("2026-03-21"),
        "noticed cupped leaves on tomato in north-1",
        vec![("sign", word("cupped leaves")), ("crop", word("tomato")), ("place", named("bed", "north-1"))],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("tomato in bed north-1 looked well on 20 March 2026"), "{:#?}", r.facts);
    assert!(!r.facts.iter().any(|f| f.starts_with("bed north-1 looked well")));
    assert!(!r.says("tomato in bed north-1 looked well on 21 March 2026"));
    assert!(r.says("cupped leaves was noticed on tomato in bed north-1 on 21 March 2026"));
}

#[test]
fn a_checkbox_makes_a_plan_on_any_date_and_a_tick_a_deed() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1").boxed(false);
    w.spread("2026-03-21", "tern-26", "north-2").boxed(true);
    let r = w.read("2026-03-20");
    assert!(r.says("(planned) lot tern-26 was spread on bed north-1 on 20 March 2026"), "{:#?}", r.facts);
    let r = w.read("2026-04-04");
    assert!(r.says("lot tern-26 was spread on bed north-2 on 21 March 2026"));
    assert_eq!(r.codes(), ["open-plan"]);
}

#[test]
fn an_entry_dated_ahead_is_a_plan_until_its_day() {
    let mut w = farm();
    w.spread("2026-06-06", "tern-26", "north-1");
    let r = w.read("2026-06-04");
    assert!(r.says("(planned) lot tern-26 was spread on bed north-1 on 6 June 2026"));
    assert_eq!(r.codes(), ["dated-ahead"]);
    let r = w.read("2026-06-06");
    assert!(r.says("lot tern-26 was spread on bed north-1 on 6 June 2026"));
    assert!(r.said.is_empty());
}

#[test]
fn a_closing_takes_the_plan_that_holds_all_it_names() {
    let closed = |words: &str| {
        let mut w = farm();
        w.spread("2026-03-20", "tern-26", "north-1").boxed(false);
        w.spread("2026-03-21", "tern-2", "north-1").boxed(false);
        w.line(Some("2026-03-22"), &format!("done {words}"), vec![("words", Filler::Words(words.into()))]);
        w.read("2026-04-04")
    };
    let r = closed("spread lot tern-26 on north-1");
    assert!(r.says("lot tern-26 was spread on bed north-1 on 22 March 2026"), "{:#?}", r.facts);
    assert!(
        !r.facts.iter().any(|f| f.starts_with("lot tern-2 ") && f.contains("was spread")),
        "{:#?}",
        r.facts
    );
    let r = closed("spread tern-2");
    assert!(r.says("lot tern-2 was spread on bed north-1 on 22 March 2026"), "{:#?}", r.facts);
    let r = closed("spread on north-1");
    assert!(r.codes().contains(&"unclear-closing"), "{:?}", r.codes());
    assert!(
        !r.facts.iter().any(|f| !f.starts_with("(planned)") && f.contains("was spread")),
        "{:#?}",
        r.facts
    );
}

#[test]
fn skipped_closes_a_plan_and_done_makes_it_a_deed_of_that_day() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1").boxed(false);
    w.line(
        Some("2026-03-21"),
        "skipped spread lot tern-26 on north-1: rained off",
        vec![
            ("words", Filler::Words("spread lot tern-26 on north-1".into())),
            ("reason", Filler::Words("rained off".into())),
        ],
    );
    let r = w.read("2026-04-04");
    assert!(!r.facts.iter().any(|f| f.contains("was spread")), "{:#?}", r.facts);
    assert!(r.said.is_empty(), "{:?}", r.said);
    assert!(r.diary.closings.is_empty(), "it closed the plan, so it closes no action");
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1").boxed(false);
    w.line(
        Some("2026-03-22"),
        "done spread lot tern-26 on north-1",
        vec![("words", Filler::Words("spread lot tern-26 on north-1".into()))],
    );
    assert!(w.read("2026-04-04").says("lot tern-26 was spread on bed north-1 on 22 March 2026"));
}

fn correct(w: &mut World, on: &str, of: &str, name: Option<(&str, &str)>, to: Replacement) {
    let mut slots = vec![
        ("date", Filler::Value(Value::Days(Days::on(day(of))))),
        ("verb", word("spread")),
        ("to", Filler::Replacement(Box::new(to))),
    ];
    if let Some((kind, n)) = name {
        slots.push(("name", named(kind, n)));
    }
    w.line(Some(on), &format!("correct {of} spread"), slots);
}

#[test]
fn a_correction_holds_from_its_own_day_and_keeps_the_old_entry_for_showing() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1");
    correct(&mut w, "2026-04-01", "2026-03-20", None, Replacement::Date(day("2026-03-22")));
    let r = w.read("2026-04-04");
    assert!(r.says("lot tern-26 was spread on bed north-1 on 22 March 2026"), "{:#?}", r.facts);
    assert!(!r.says("lot tern-26 was spread on bed north-1 on 20 March 2026"));
    assert!(matches!(r.diary.entries[3].standing, Standing::Withdrawn { by: EntryId(4) }));
    let before = w.read_as_of("2026-03-31", Some("2026-03-31"));
    assert!(before.says("lot tern-26 was spread on bed north-1 on 20 March 2026"));
    assert_eq!(before.diary.entries.len(), 4);
}

#[test]
fn a_correction_that_fits_two_entries_lists_them_and_changes_nothing() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1").spread("2026-03-20", "tern-26", "north-2");
    correct(&mut w, "2026-04-01", "2026-03-20", None, Replacement::Never);
    let r = w.read("2026-04-04");
    assert_eq!(r.codes(), ["unclear-correction"]);
    assert_eq!(r.said[0].secondary.len(), 2);
    assert_eq!(r.said[0].remarks[0].text, "- correct 2026-03-20 spread north-1: never happened");
    assert!(r.says("lot tern-26 was spread on bed north-1 on 20 March 2026"));
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1").spread("2026-03-20", "tern-26", "north-2");
    correct(&mut w, "2026-04-01", "2026-03-20", Some(("bed", "north-2")), Replacement::Never);
    let r = w.read("2026-04-04");
    assert!(r.said.is_empty(), "{:?}", r.said);
    assert!(!r.facts.iter().any(|f| f.contains("spread on bed north-2")));
    assert!(r.says("lot tern-26 was spread on bed north-1 on 20 March 2026"));
}

#[test]
fn an_article_before_a_name_tells_no_entries_apart() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1");
    correct(&mut w, "2026-04-01", "2026-03-20", Some(("bed", "the north-1")), Replacement::Never);
    let r = w.read("2026-04-04");
    assert!(r.said.is_empty(), "{:?}", r.said);
    assert!(!r.facts.iter().any(|f| f.contains("was spread")));
}

#[test]
fn a_correction_may_be_corrected() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1");
    correct(&mut w, "2026-04-01", "2026-03-20", None, Replacement::Never);
    w.line(
        Some("2026-04-02"),
        "correct 2026-04-01 correct: never happened",
        vec![
            ("date", Filler::Value(Value::Days(Days::on(day("2026-04-01"))))),
            ("verb", word("correct")),
            ("to", Filler::Replacement(Box::new(Replacement::Never))),
        ],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("lot tern-26 was spread on bed north-1 on 20 March 2026"), "{:?}", r.said);
    assert!(matches!(r.diary.entries[4].standing, Standing::Withdrawn { by: EntryId(5) }));
    assert!(w.read("2026-04-01").facts.iter().all(|f| !f.contains("was spread")));
}

#[test]
fn an_unknown_lot_is_offered_the_nearest_and_a_fix() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-62", "north-1");
    let r = w.read("2026-04-04");
    assert_eq!(r.codes(), ["unknown-name"]);
    assert_eq!(
        r.message("unknown-name"),
        "no lot tern-62 has come in. Did you mean `tern-26` (since 14 March 2026)?"
    );
    assert_eq!(r.said[0].fixes[0].text, "tern-26");
    assert!(r.said[0].remarks[0].text.contains("as lot tern-62 "), "{:?}", r.said[0].remarks);
    assert!(r.says("lot tern-62 was spread on bed north-1 on 20 March 2026"), "the entry stands");
}

#[test]
fn a_lot_named_before_it_came_in_is_told() {
    let mut w = farm();
    w.spread("2026-03-10", "tern-26", "north-1");
    assert_eq!(w.read("2026-04-04").codes(), ["used-before-it-existed", "days-out-of-order"]);
}

#[test]
fn an_event_without_a_day_is_kept_out() {
    let mut w = farm();
    w.line(
        None,
        "spread lot tern-26 on north-1",
        vec![("lot", named("lot", "tern-26")), ("place", named("bed", "north-1"))],
    );
    let r = w.read("2026-04-04");
    assert_eq!(r.codes(), ["undated-entry"]);
    assert!(!r.facts.iter().any(|f| f.contains("was spread")));
}

#[test]
fn a_container_is_as_big_as_the_farm_says_and_unknown_else() {
    let barrows =
        |n: f64| Filler::Containers { count: Range::exact(n), container: "barrow".into(), each: None };
    let mut w = farm();
    w.line(
        Some("2026-03-20"),
        "gave 2 barrows of lot tern-26 to Joan",
        vec![("amount", barrows(2.0)), ("lot", named("lot", "tern-26")), ("who", named("person", "Joan"))],
    );
    let r = w.read("2026-04-04");
    assert_eq!(r.codes(), ["unknown-size"]);
    assert!(r.says("lot tern-26 was given to Joan on 20 March 2026"), "the link holds: {:#?}", r.facts);
    assert!(!r.facts.iter().any(|f| f.contains(" of lot tern-26 was given")));
    w.line(None, "unit barrow, 80 l", vec![("name", named("unit", "barrow")), ("size", amount(80.0, "l"))]);
    let r = w.read("2026-04-04");
    assert!(r.said.is_empty(), "{:?}", r.said);
    assert!(r.says("160 l of lot tern-26 was given to Joan on 20 March 2026"), "{:#?}", r.facts);
}

#[test]
fn a_ratio_tells_the_second_amount() {
    let mut w = farm();
    w.load("2026-03-14", "bag-mix", 1.0).line(
        Some("2026-03-20"),
        "mixed 2 m3 of lot tern-26 2:1 with lot bag-mix as lot bench",
        vec![
            ("amount", amount(2.0, "m3")),
            ("lot", named("lot", "tern-26")),
            ("ratio", Filler::Ratio(Range::exact(2.0), Range::exact(1.0))),
            ("other", named("lot", "bag-mix")),
            ("mix", named("lot", "bench")),
        ],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("1 m3 of lot bag-mix was mixed into lot bench on 20 March 2026"), "{:#?}", r.facts);
}

#[test]
fn a_lot_without_a_name_is_called_by_its_material_and_day() {
    let mut w = farm();
    w.line(
        Some("2026-03-15"),
        "received 2 m3 straw",
        vec![("amount", amount(2.0, "m3")), ("material", word("straw"))],
    )
    .line(
        Some("2026-03-16"),
        "spread straw on north-1",
        vec![("lot", word("straw")), ("place", named("bed", "north-1"))],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("lot straw 2026-03-15 was received on 15 March 2026"), "{:#?}", r.facts);
    assert!(r.says("lot straw 2026-03-15 was spread on bed north-1 on 16 March 2026"));
}

#[test]
fn a_count_over_two_beds_is_one_count_and_over_two_crops_none() {
    let count = |h: f64, m: f64| Filler::CountOf {
        hurt: Range::exact(h),
        among: Range::exact(m),
        of: "plant".into(),
    };
    let mut w = farm();
    w.line(
        Some("2026-03-20"),
        "noticed curled leaves on tomato in north-1 and north-2, 10 of 24 plants",
        vec![
            ("sign", word("curled leaves")),
            ("crop", word("tomato")),
            ("place", named("bed", "north-1")),
            ("place", named("bed", "north-2")),
            ("hurt", count(10.0, 24.0)),
        ],
    );
    let r = w.read("2026-04-04");
    assert_eq!(r.codes(), ["counted-together"]);
    assert!(r.says("0-10 of 0-24 tomato in bed north-1 were hurt on 20 March 2026"), "{:#?}", r.facts);
    let mut w = farm();
    w.line(
        Some("2026-03-20"),
        "noticed curled leaves on tomato and bean in north-1, 10 of 24 plants",
        vec![
            ("sign", word("curled leaves")),
            ("crop", word("tomato")),
            ("crop", word("bean")),
            ("place", named("bed", "north-1")),
            ("hurt", count(10.0, 24.0)),
        ],
    );
    let r = w.read("2026-04-04");
    assert_eq!(r.codes(), ["counted-across-crops"]);
    assert!(!r.facts.iter().any(|f| f.contains("were hurt")));
}

#[test]
fn the_control_of_a_test_is_told_apart_from_the_test() {
    let count =
        |h: f64, m: f64| Filler::CountOf { hurt: Range::exact(h), among: Range::exact(m), of: "pot".into() };
    let mut w = farm();
    w.line(
        Some("2026-03-14"),
        "potted 4 pots of bean in lot tern-26 as test t1",
        vec![
            ("pots", Filler::Value(Value::number(4.0))),
            ("crop", word("bean")),
            ("medium", named("lot", "tern-26")),
            ("test", named("test", "t1")),
        ],
    )
    .line(
        Some("2026-03-14"),
        "potted 4 pots of bean as control of test t1",
        vec![
            ("pots", Filler::Value(Value::number(4.0))),
            ("crop", word("bean")),
            ("control", named("control", "t1")),
        ],
    )
    .line(
        Some("2026-04-04"),
        "read test t1: 4 of 4 pots hurt",
        vec![("test", named("test", "t1")), ("hurt", count(4.0, 4.0))],
    )
    .line(
        Some("2026-04-04"),
        "read control of test t1: 0 of 4 pots hurt",
        vec![("test", named("control", "t1")), ("hurt", count(0.0, 4.0))],
    );
    let r = w.read("2026-04-04");
    assert!(r.says("4 pots of bean were potted for test t1 on 14 March 2026"), "{:#?}", r.facts);
    assert!(r.says("4 pots of bean were potted for the control of test t1 on 14 March 2026"));
    assert!(r.says("4 of 4 pots of test t1 were hurt on 4 April 2026"));
    assert!(r.says("0 of 4 pots of the control of test t1 were hurt on 4 April 2026"));
    assert!(!r.says("0 of 4 pots of test t1 were hurt on 4 April 2026"));
    assert!(r.said.is_empty(), "{:?}", r.said);
}

#[test]
fn a_day_out_of_order_is_a_hint_and_the_farm_unit_is_the_one_written_most() {
    let mut w = farm();
    w.spread("2026-03-20", "tern-26", "north-1").spread("2026-03-16", "tern-26", "north-2");
    let r = w.read("2026-04-04");
    assert_eq!(r.codes(), ["days-out-of-order"]);
    assert_eq!(r.diary.units.get(&Dimension::Volume).and_then(|u| u.first()).map(|u| u.0), Some("m3"));
}
