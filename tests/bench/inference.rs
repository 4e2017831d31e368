//! How long inference takes: a closure over a large graph with joins and absences, and a lending library
//! of twenty years with a hundred rules.
//!
//! Comes in: nothing; both worlds are generated, the same on every run. Goes out: times. Before anything
//! is measured, the model of the graph is held against a plain breadth-first search.

#![allow(missing_docs, reason = "criterion's macros make public items without documentation")]

#[path = "../engine/world.rs"]
#[allow(dead_code, reason = "the engine's tests use more of it")]
mod world;

use std::{
    collections::{HashSet, VecDeque},
    hint::black_box,
    time::Duration,
};

use criterion::{Criterion, criterion_group, criterion_main};
use haulm::{
    infer,
    measure::value::{EntryId, Value},
    model::{
        program::{Fact, FactSource},
        sentence::SentenceId,
    },
};
use world::{World, value};

/// Well mixed numbers, the same on every run.
struct Mixed(u64);

impl Mixed {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut n = self.0;
        n = (n ^ (n >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        n = (n ^ (n >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        n ^ (n >> 31)
    }

    fn below(&mut self, n: u64) -> u64 {
        self.next() % n
    }

    /// A whole number, most often small, with this mean.
    fn falling(&mut self, mean: f64) -> u64 {
        let unit = (self.below(1 << 30) as f64 + 1.0) / (1u64 << 30) as f64;
        (-unit.ln() * mean) as u64
    }
}

/// A graph of pools: water runs forward only, mostly to pools near by.
struct Pools {
    runs: Vec<(u64, u64, u64)>,
    seen: Vec<(u64, u64, &'static str)>,
    clean: HashSet<u64>,
    springs: Vec<u64>,
}

const POOLS: u64 = 60_000;

fn pools(springs: usize) -> Pools {
    let mut mixed = Mixed(11);
    let mut runs = HashSet::new();
    while runs.len() < 100_000 {
        let a = mixed.below(POOLS - 1);
        let b = (a + 1 + mixed.falling(400.0)).min(POOLS - 1);
        runs.insert((a, b, a / 60));
    }
    let mut runs: Vec<_> = runs.into_iter().collect();
    runs.sort_unstable();
    let kinds = ["green", "brown", "clear", "still"];
    let seen = (0..50_000)
        .map(|_| {
            let pool = mixed.below(POOLS);
            (pool, (pool / 60) + mixed.below(80), kinds[mixed.below(4) as usize])
        })
        .collect();
    let mut clean = HashSet::new();
    while clean.len() < 3000 {
        clean.insert(mixed.below(POOLS));
    }
    let mut at = HashSet::new();
    while at.len() < springs {
        at.insert(mixed.below(POOLS));
    }
    let mut springs: Vec<u64> = at.into_iter().collect();
    springs.sort_unstable();
    Pools { runs, seen, clean, springs }
}

fn number(n: u64) -> Value {
    Value::number(n as f64)
}

fn pool_world(pools: &Pools) -> World {
    let mut world = World::default()
        .says(&[
            "*pool {a} runs into pool {b} since {n}",
            "*pool {a} was {look} at {n}",
            "pool {a} is clean",
            "spring {a}",
            "{look} is a bad look",
            "water of {spring} is in pool {a}",
            "water of {spring} spoils pool {a} at {n}",
            "pool {a} has spring water",
            "pool {a} is bad for no known reason",
        ])
        .given(&["green is a bad look", "brown is a bad look"])
        .rule("water", &["spring {s}"], "water of {s} is in pool {s}")
        .rule(
            "water",
            &["water of {s} is in pool {a}", "pool {a} runs into pool {b} since {}", "no pool {a} is clean"],
            "water of {s} is in pool {b}",
        )
        .rule(
            "spoilt",
            &[
                "water of {s} is in pool {a}",
                "pool {a} was {look} at {n}",
                "{look} is a bad look",
                "no pool {a} is clean",
            ],
            "water of {s} spoils pool {a} at {n}",
        )
        .rule("spoilt", &["water of {} is in pool {a}"], "pool {a} has spring water")
        .rule(
            "spoilt",
            &["pool {a} was {look} at {}", "{look} is a bad look", "no pool {a} has spring water"],
            "pool {a} is bad for no known reason",
        );
    let mut entry = 0;
    let mut say = |sentence: u32, values: Vec<Value>| {
        let source = FactSource::Entry(EntryId(entry));
        entry += 1;
        world.facts.push(Fact { sentence: SentenceId(sentence), values, planned: false, source });
    };
    for (a, b, since) in &pools.runs {
        say(0, vec![number(*a), number(*b), number(*since)]);
    }
    for (a, at, look) in &pools.seen {
        say(1, vec![number(*a), value(look), number(*at)]);
    }
    let mut clean: Vec<_> = pools.clean.iter().collect();
    clean.sort_unstable();
    for a in clean {
        say(2, vec![number(*a)]);
    }
    for a in &pools.springs {
        say(3, vec![number(*a)]);
    }
    world
}

/// The three counts the model must have, by plain search.
fn searched(pools: &Pools) -> [usize; 3] {
    let mut next = vec![Vec::new(); POOLS as usize];
    for (a, b, _) in &pools.runs {
        next[*a as usize].push(*b);
    }
    let bad = |look: &str| look == "green" || look == "brown";
    let (mut reached, mut spoilt, mut pairs) = (HashSet::new(), 0, 0);
    for spring in &pools.springs {
        let mut here = HashSet::from([*spring]);
        let mut todo = VecDeque::from([*spring]);
        while let Some(a) = todo.pop_front() {
            if pools.clean.contains(&a) {
                continue;
            }
            todo.extend(next[a as usize].iter().filter(|b| here.insert(**b)));
        }
        pairs += here.len();
        spoilt += pools
            .seen
            .iter()
            .filter(|(a, _, look)| bad(look) && here.contains(a) && !pools.clean.contains(a))
            .map(|(a, at, _)| (a, at))
            .collect::<HashSet<_>>()
            .len();
        reached.extend(here);
    }
    let unknown: HashSet<u64> = pools
        .seen
        .iter()
        .filter(|(a, _, look)| bad(look) && !reached.contains(a))
        .map(|(a, ..)| *a)
        .collect();
    [pairs, spoilt, unknown.len()]
}

/// Twenty years of a lending library: thirty thousand entries, three or four facts each, and rules for
/// each of twenty-five shelves.
fn library_world() -> World {
    let mut world = World::default().says(&[
        "*{book} was lent to {who} on {day}",
        "*{book} came back from {who} on {day}",
        "*{load:mass} of {book} was sent to {who} on {day}",
        "*{book} left from {shelf} on {day}",
        "{book} belongs on {shelf}",
        "{who} may keep books for {span}",
        "today is {day}",
        "{book} of {shelf} is late with {who} since {day}",
        "{shelf} lent {n} books to {who}",
        "{shelf} sent {load:mass} to {who}",
        "{shelf} last lent {book} on {day}",
        "{who} and {other} share {shelf}",
    ]);
    let mut mixed = Mixed(20);
    let first = chrono::NaiveDate::from_ymd_opt(2006, 1, 1).expect("a day");
    let shelf_of = |book: u64| format!("shelf-{}", book % 25);
    for book in 0..600u64 {
        world = world.given(&[&format!("b{book} belongs on {}", shelf_of(book))]);
    }
    for who in 0..200 {
        world = world.given(&[&format!("w{who} may keep books for {}d", 14 + who % 30)]);
    }
    world = world.given(&["today is 2025-12-31"]);
    let word = |text: String| Value::word(text);
    for entry in 0..30_000u32 {
        let day = first + chrono::Days::new(u64::from(entry) * 7300 / 30_000);
        let day = Value::Days(haulm::measure::date::Days::on(day));
        // Readers keep to a shelf or two, as readers do.
        let reader = mixed.below(200);
        let book = (mixed.below(24) * 25 + (reader + mixed.below(2)) % 25) % 600;
        let (book_word, who) = (word(format!("b{book}")), word(format!("w{reader}")));
        let mut say = |sentence: u32, values: Vec<Value>| {
            let source = FactSource::Entry(EntryId(entry));
            world.facts.push(Fact { sentence: SentenceId(sentence), values, planned: false, source });
        };
        let load = value(&format!("{}kg", 1 + mixed.below(5)));
        if entry % 2 == 0 {
            say(0, vec![book_word.clone(), who.clone(), day.clone()]);
            say(3, vec![book_word.clone(), word(shelf_of(book)), day.clone()]);
            say(2, vec![load.clone(), book_word.clone(), who.clone(), day.clone()]);
            say(2, vec![load, book_word, who, day]);
        } else {
            say(1, vec![book_word.clone(), who.clone(), day.clone()]);
            say(2, vec![load.clone(), book_word.clone(), who, day.clone()]);
            say(3, vec![book_word, word(shelf_of(book)), day]);
        }
    }
    for shelf in 0..25 {
        let page = format!("shelf-{shelf}");
        let on = format!("{{b}} belongs on shelf-{shelf}");
        world = world
            .rule(
                &page,
                &[
                    "{b} was lent to {w} on {day}",
                    &on,
                    "{w} may keep books for {span}",
                    "no {b} came back from {w} on {back}, with {back} >= {day}",
                    "{due} = {day} + {span}",
                    "today is {now}",
                    "{now} > {due}",
                ],
                &format!("{{b}} of shelf-{shelf} is late with {{w}} since {{due}}"),
            )
            .rule(
                &page,
                &[
                    "{w} may keep books for {}",
                    &format!(
                        "{{n}} is how many different {{d}} such that {{}} left from shelf-{shelf} on {{d}}"
                    ),
                ],
                &format!("shelf-{shelf} lent {{n}} books to {{w}}"),
            )
            .rule(
                &page,
                &[
                    &on,
                    "{q} of {b} was sent to {w} on {}",
                    "{t} is the total {l} such that {l} of {b} was sent to {w} on {}",
                ],
                &format!("shelf-{shelf} sent {{t}} to {{w}}"),
            )
            .rule(
                &page,
                &[&on, "{d} is the greatest {x} such that {b} was lent to {} on {x}"],
                &format!("shelf-{shelf} last lent {{b}} on {{d}}"),
            );
    }
    world
}

fn inference(c: &mut Criterion) {
    let pools = pools(40);
    let world = pool_world(&pools);
    let (program, facts) = (world.program.clone(), &world.facts);
    let (model, diagnostics) = infer::run(&infer::Prepared::new(program), facts);
    assert!(diagnostics.is_empty(), "{diagnostics:?}");
    let counts = [5, 6, 8].map(|n| model.count(SentenceId(n)));
    assert_eq!(counts, searched(&pools), "the model is what a plain search finds");
    println!("pools: {} facts, {} tuples, counts {counts:?}", world.facts.len(), model.len());
    drop(model);
    let library = library_world();
    let prepared = infer::Prepared::new(library.program.clone());
    let (model, diagnostics) = infer::run(&prepared, &library.facts);
    assert!(diagnostics.is_empty(), "{diagnostics:?}");
    println!(
        "library: {} rules, {} facts, {} tuples",
        library.program.rules.len(),
        library.facts.len(),
        model.len()
    );
    let mut group = c.benchmark_group("inference");
    group.sample_size(10).measurement_time(Duration::from_secs(5));
    group.bench_function("pools, 40 springs", |b| {
        let prepared = infer::Prepared::new(world.program.clone());
        b.iter(|| black_box(infer::run(&prepared, &world.facts)));
    });
    group.bench_function("library, 20 years", |b| {
        b.iter(|| black_box(infer::run(&prepared, &library.facts)));
    });
    group.finish();
    let rows: Vec<_> = (0..12).flat_map(|n| model.rows(SentenceId(n)).into_iter().take(100)).collect();
    c.bench_function("proofs of 1200 tuples", |b| b.iter(|| black_box(model.proofs(&rows))));
}

criterion_group!(benches, inference);
criterion_main!(benches);
