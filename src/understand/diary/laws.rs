//! Laws of settling, on diaries drawn at random: it never panics, and the order of entries and lines
//! never changes what is understood.
//!
//! Comes in: entries with any slots, right or wrong. Goes out: nothing; these are tests only.

use std::sync::Arc;

use chrono::{Days as Later, NaiveDate};
use proptest::prelude::*;

use super::{Context, Phrases, settle};
use crate::{
    base::{
        source::{SourceFile, SourceKind, Sources},
        span::{FileId, Loc, Span},
    },
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{EntryId, Quantity, Value},
    },
    model::{
        entry::{Entry, Filled, Filler, Group, Part, Replacement, Standing},
        frame::Frames,
        program::Program,
    },
    parse::frames,
    understand::{
        registry::registry,
        rulebook::{Lines, Rulebook},
    },
};

fn world() -> &'static (Frames, Arc<Program>) {
    static WORLD: std::sync::OnceLock<(Frames, Arc<Program>)> = std::sync::OnceLock::new();
    WORLD.get_or_init(|| {
        let frames = frames::load();
        let program = Rulebook::of(&[], &frames, &registry(), &Lines::default()).program;
        (frames, program)
    })
}

fn day(n: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 1).expect("a day") + Later::new(n)
}

fn range() -> impl Strategy<Value = Range> {
    (0f64..100.0, 0f64..10.0).prop_map(|(a, w)| Range::new(a, a + w))
}

fn filler() -> impl Strategy<Value = Filler> {
    let kind = prop::sample::select(vec![
        "lot", "bed", "heap", "room", "person", "animals", "batch", "test", "control", "bucket", "tray",
    ]);
    let name = prop::sample::select(vec!["a", "b", "c", "2 of batch b", "north 1"]);
    let dimension = prop::sample::select(Dimension::ALL.to_vec());
    let thing =
        (kind, name).prop_map(|(k, n)| crate::measure::value::Thing { kind: k.into(), name: n.into() });
    let side = prop::option::of(prop::sample::select(vec!["west", "door"]));
    prop_oneof![
        4 => thing.clone().prop_map(|t| Filler::Value(Value::Thing(t))),
        2 => prop::sample::select(vec!["straw", "tomato", "spread", "correct", "fine"]).prop_map(|w| Filler::Value(Value::word(w))),
        2 => (range(), dimension).prop_map(|(size, dimension)| Filler::Value(Value::Quantity(Quantity { size, dimension }))),
        1 => range().prop_map(|r| Filler::Value(Value::Number(r))),
        1 => (0u64..60, 0u64..9).prop_map(|(d, w)| Filler::Value(Value::Days(Days::span(day(d), day(d + w))))),
        2 => (thing, prop::option::of(range()), side, any::<bool>()).prop_map(|(of, share, side, remainder)| {
            Filler::Part(Part { of, share, along: None, side: side.map(Into::into), remainder })
        }),
        1 => range().prop_map(|count| Filler::Containers { count, container: "barrow".into(), each: None }),
        1 => (range(), range()).prop_map(|(hurt, among)| Filler::CountOf { hurt, among, of: "plant".into() }),
        1 => (range(), range()).prop_map(|(a, b)| Filler::Ratio(a, b)),
        1 => Just(Filler::Flag),
        1 => Just(Filler::Replacement(Box::new(Replacement::Never))),
        1 => (0u64..60).prop_map(|d| Filler::Replacement(Box::new(Replacement::Date(day(d))))),
        1 => range().prop_map(|r| Filler::Replacement(Box::new(Replacement::Amount(Filler::Value(Value::Number(r)))))),
    ]
}

/// A verb, a day or none, a tick or none, and some slots of its frame filled with anything.
fn entry() -> impl Strategy<Value = Entry> {
    let frames = &world().0.frames;
    (0..frames.len(), prop::option::weighted(0.9, (0u64..60, 0u64..3)), prop::option::of(any::<bool>()))
        .prop_flat_map(|(n, days, ticked)| {
            let frame = &world().0.frames[n];
            let slots = frame.slots.len().max(1);
            proptest::collection::vec((0..slots, filler()), 0..6).prop_map(move |filled| {
                let frame = &world().0.frames[n];
                let loc = Loc::new(FileId(0), Span::new(0, 0));
                let slots = filled
                    .into_iter()
                    .filter_map(|(s, filler)| {
                        Some(Filled { slot: frame.slots.get(s)?.name.clone(), filler, loc })
                    })
                    .collect();
                Entry {
                    id: EntryId(0),
                    loc,
                    verb: frame.verb.clone(),
                    verb_loc: loc,
                    days: days.map(|(d, w)| Days::span(day(d), day(d + w))),
                    clock: None,
                    standing: Standing::Done,
                    groups: Arc::new(vec![Group { slots }]),
                    words: None,
                    ticked,
                }
            })
        })
}

/// The same entries at places of their own in a text.
fn placed(mut entries: Vec<Entry>) -> Vec<Entry> {
    for (n, e) in entries.iter_mut().enumerate() {
        let loc = Loc::new(FileId(0), Span::new(n * 2, n * 2 + 1));
        e.loc = loc;
        e.verb_loc = loc;
        for f in Arc::make_mut(&mut e.groups).iter_mut().flat_map(|g| &mut g.slots) {
            f.loc = loc;
        }
    }
    entries
}

/// What is said, without the entry that says it.
fn said(entries: Vec<Entry>, today: NaiveDate) -> Vec<(u32, Vec<Value>, bool)> {
    let (frames, program) = world();
    let text = "x\n".repeat(entries.len());
    let sources = Sources::new(vec![SourceFile::new("a.md", text, SourceKind::Journal, false)]);
    let phrases = Phrases::find(frames, program);
    let cx = Context { frames, phrases: &phrases, sources: &sources, today, as_of: None, system: None };
    let (diary, _) = settle(entries, &cx);
    let mut out: Vec<_> = diary.facts.iter().map(|f| (f.sentence.0, f.values.clone(), f.planned)).collect();
    out.sort();
    out.dedup();
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_entries_are_settled_and_their_order_does_not_matter(
        entries in proptest::collection::vec(entry(), 0..12),
        today in 0u64..60,
        turn in 0usize..12,
    ) {
        // Corrections of corrections written on one day go by their lines; all else by what is said.
        let entries: Vec<Entry> = entries
            .into_iter()
            .filter(|e| !matches!(&*e.verb, "correct" | "done" | "skipped"))
            .collect();
        let one = said(placed(entries.clone()), day(today));
        let mut turned = entries;
        let len = turned.len().max(1);
        turned.rotate_left(turn % len);
        turned.reverse();
        prop_assert_eq!(one, said(placed(turned), day(today)));
    }

    #[test]
    fn corrections_and_closings_of_anything_end(
        entries in proptest::collection::vec(entry(), 0..12),
        today in 0u64..60,
    ) {
        let _ = said(placed(entries), day(today));
    }
}
