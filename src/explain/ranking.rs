//! Which causes fit an outbreak, and why: the ranking behind `why BED` and `why LOT`.
//!
//! Comes in: the model. Goes out: a [`Ranked`] for each outbreak asked about, every answer with its
//! journal lines. The weighing is `reckon::rivals`', done on the same sentences as for the rules.

use std::collections::{BTreeMap, BTreeSet};

use super::{Known, evidence, say};
use crate::{
    measure::{
        date,
        value::{EntryId, Value},
    },
    model::{
        explanation::{Moved, Quote, Ranked, RankedAnswer, RankedSuspect, Settle, SharedCause},
        outcome::RowRef,
        sentence::SentenceId,
    },
    reckon::rivals::{
        Asked, Open, Ranking, Shared, Suspect, rankings, rankings_with_ranges, said::Book, words,
    },
};

/// The reckoners whose sentences are read.
const CAUSES: &str = "causes";
const OUTBREAK: &str = "outbreak";
/// Which sentence of `outbreak` says its first day, and which its plants.
const BEGAN: usize = 0;
const HOLDS: usize = 2;
/// How many outbreaks of one thing are shown, those with most plants first, then the latest.
const OUTBREAKS: usize = 3;
/// The least chance at which a suspect is listed by name beside the first two.
const LISTED: f64 = 0.0095;
/// The least that other suspects of one cause add to its likeliest one for their sum to be told.
const ADDS: f64 = 0.03;
/// How many suspects are listed.
const SUSPECTS: usize = 6;
/// The least likely answer whose consequence is told.
const LIKELY: f64 = 0.03;
/// The least fall in doubt worth asking for.
const WORTH: f64 = 0.005;

/// Everything the weighing reads, with the rows it comes from.
struct Read<'k> {
    known: &'k Known<'k>,
    book: Book,
    rows: Vec<RowRef>,
    plants: BTreeMap<Value, Vec<(Value, Value, Value)>>,
    began: BTreeMap<Value, Value>,
}

/// The rankings that concern a thing: outbreaks on its ground, or in which it is suspected.
pub fn about(known: &Known<'_>, thing: &Value) -> Vec<Ranked> {
    let read = Read::of(known);
    let mut all: Vec<Ranking> =
        rankings_with_ranges(&read.book).into_iter().filter(|r| read.concerns(r, thing)).collect();
    let most = |r: &Ranking| read.plants.get(&r.outbreak).map_or(0, Vec::len);
    all.sort_by(|a, b| {
        let began = |r: &Ranking| read.began.get(&r.outbreak);
        most(b).cmp(&most(a)).then_with(|| began(b).cmp(&began(a))).then_with(|| a.outbreak.cmp(&b.outbreak))
    });
    all.iter().take(OUTBREAKS).map(|r| read.ranked(r)).collect()
}

/// The least change of a chance that is told.
const CHANGE: f64 = 0.005;

/// How chances would move from one state of the journal to another; with `thing`, only in outbreaks that
/// concern it. Gives also how many outbreaks would not move.
pub fn moved(now: &Known<'_>, then: &Known<'_>, thing: Option<&Value>) -> (Vec<Moved>, usize) {
    let (now, then) = (Read::of(now), Read::of(then));
    let by_outbreak = |read: &Read<'_>| -> BTreeMap<Value, Ranking> {
        let concerned =
            rankings(&read.book).into_iter().filter(|r| thing.is_none_or(|t| read.concerns(r, t)));
        concerned.map(|r| (r.outbreak.clone(), r)).collect()
    };
    let (before, after) = (by_outbreak(&now), by_outbreak(&then));
    let mut moved: Vec<(Option<Value>, Moved)> = Vec::new();
    let mut still = 0;
    for outbreak in before.keys().chain(after.keys()).collect::<BTreeSet<_>>() {
        let chances = |read: &Read<'_>, ranking: Option<&Ranking>| -> BTreeMap<String, f64> {
            ranking.into_iter().flat_map(|r| &r.suspects).map(|s| (read.told(s), s.chance)).collect()
        };
        let (a, b) = (chances(&now, before.get(outbreak)), chances(&then, after.get(outbreak)));
        let mut suspects: Vec<(String, Option<f64>, Option<f64>)> = a
            .keys()
            .chain(b.keys())
            .collect::<BTreeSet<_>>()
            .into_iter()
            .map(|told| (told.clone(), a.get(told).copied(), b.get(told).copied()))
            .collect();
        let change = |s: &(String, Option<f64>, Option<f64>)| (s.1.unwrap_or(0.0) - s.2.unwrap_or(0.0)).abs();
        if suspects.iter().all(|s| change(s) < CHANGE) {
            still += 1;
            continue;
        }
        let most = |s: &(String, Option<f64>, Option<f64>)| s.1.unwrap_or(0.0).max(s.2.unwrap_or(0.0));
        suspects.retain(|s| most(s) >= LISTED);
        suspects
            .sort_by(|x, y| y.2.unwrap_or(0.0).total_cmp(&x.2.unwrap_or(0.0)).then_with(|| x.0.cmp(&y.0)));
        suspects.truncate(SUSPECTS);
        let shown = |p: Option<f64>| p.map(|p| (p, words::of_hundred((p * 100.0).round())));
        let suspects =
            suspects.into_iter().map(|(told, now, then)| (told, shown(now), shown(then))).collect();
        let read = if after.contains_key(outbreak) { &then } else { &now };
        let (places, since) = read.where_and_when(outbreak);
        moved.push((read.began.get(outbreak).cloned(), Moved { places, since, suspects }));
    }
    moved.sort_by(|a, b| b.0.cmp(&a.0));
    (moved.into_iter().map(|m| m.1).collect(), still)
}

impl<'k> Read<'k> {
    /// Where an outbreak's plants stand, and since when.
    fn where_and_when(&self, outbreak: &Value) -> (String, String) {
        let plants = self.plants.get(outbreak).map(Vec::as_slice).unwrap_or_default();
        let places = plants.iter().map(|(_, place, _)| place).collect::<BTreeSet<_>>();
        let since = match self.began.get(outbreak) {
            Some(Value::Days(days)) => date::words(*days),
            _ => String::new(),
        };
        (say::listed(self.known, places.into_iter().collect()), since)
    }

    fn of(known: &'k Known<'k>) -> Self {
        let of = |name: &str| known.program.reckoners.iter().find(|u| u.reckoner.name == name);
        let reads: &[SentenceId] = of(CAUSES).map_or(&[], |u| &u.reads);
        let mut rows = Vec::new();
        let mut said: Vec<(usize, Vec<Value>)> = Vec::new();
        for (n, id) in reads.iter().enumerate() {
            for row in known.model.rows(*id).into_iter().filter(|r| !known.model.planned(*r)) {
                rows.push(row);
                said.push((n, known.model.values(row).cloned().collect()));
            }
        }
        let book = Book::of(said.iter().map(|(n, values)| (*n, values.as_slice())));
        let given = |n: usize| -> Vec<Vec<Value>> {
            let id = of(OUTBREAK).and_then(|u| u.gives.get(n)).copied();
            let rows = id.map(|id| known.model.rows(id)).unwrap_or_default();
            rows.into_iter().map(|r| known.model.values(r).cloned().collect()).collect()
        };
        let mut plants: BTreeMap<Value, Vec<(Value, Value, Value)>> = BTreeMap::new();
        for values in given(HOLDS) {
            if let [outbreak, crop, place, day] = values.as_slice() {
                let plant = (crop.clone(), place.clone(), day.clone());
                plants.entry(outbreak.clone()).or_default().push(plant);
            }
        }
        let began = given(BEGAN).into_iter().filter_map(|v| Some((v.first()?.clone(), v.get(1)?.clone())));
        Self { known, book, rows, plants, began: began.collect() }
    }

    fn concerns(&self, ranking: &Ranking, thing: &Value) -> bool {
        let plants = self.plants.get(&ranking.outbreak);
        ranking.outbreak == *thing
            || plants.is_some_and(|p| p.iter().any(|(crop, place, _)| place == thing || crop == thing))
            || ranking.suspects.iter().any(|s| s.subject.as_ref() == Some(thing))
    }

    fn ranked(&self, ranking: &Ranking) -> Ranked {
        let known = self.known;
        let (places, since) = self.where_and_when(&ranking.outbreak);
        let top: Vec<&Suspect> = ranking.suspects.iter().take(2).collect();
        let tells = |about: Option<&Value>| {
            about.is_none() || top.iter().any(|s| s.subject.is_some() && s.subject.as_ref() == about)
        };
        let alone: Vec<f64> = ranking.suspects.iter().map(|s| s.chance - s.together).collect();
        let listed = |(n, (s, _)): &(usize, (&Suspect, f64))| (*n < 2 || s.chance >= LISTED) && *n < SUSPECTS;
        let suspects: Vec<RankedSuspect> = ranking
            .suspects
            .iter()
            .zip(words::hundredths(&alone))
            .enumerate()
            .filter(listed)
            .map(|(_, (s, alone))| {
                let together = (s.together * 100.0).round();
                RankedSuspect {
                    told: self.told(s),
                    page: s.cause.to_string(),
                    chance: s.chance,
                    shown: words::of_hundred(alone + together),
                    range: words::span(alone + together, s.range).filter(|_| s.chance >= LISTED),
                    together,
                }
            })
            .collect();
        let before = match top.as_slice() {
            [a, b] => a.weight / b.weight,
            _ => 1.0,
        };
        let left_out = ranking.suspects.len() - suspects.len();
        let likeliest = |cause: &str| {
            let all = ranking.suspects.iter().filter(|s| *s.cause == *cause).map(|s| s.chance);
            all.fold(0.0, f64::max)
        };
        let adds = |s: &&Shared| s.chance - likeliest(&s.cause) >= ADDS;
        let shared = ranking.shared.iter().filter(adds).map(|s| {
            let hundredths = (s.chance * 100.0).round();
            SharedCause {
                page: s.cause.to_string(),
                suspects: s.suspects,
                chance: s.chance,
                shown: words::of_hundred(hundredths),
                range: words::span(hundredths, s.range),
            }
        });
        let between = match top.as_slice() {
            [a, b] if a.cause != b.cause => Some((a.cause.to_string(), b.cause.to_string())),
            [_, _] => Some(("first".to_owned(), "second".to_owned())),
            _ => None,
        };
        let rest = 1.0f64.max(ranking.support).max(1.0 / ranking.support);
        let favours = usize::from(ranking.support < 1.0);
        // Answers about a lot or spraying that is not listed by name are left out.
        let named = |a: &Asked| {
            let of = |s: &Suspect| s.subject.is_some() && s.subject == a.about;
            a.about.is_none() || ranking.suspects.iter().take(suspects.len()).any(of)
        };
        let mut asked: Vec<&Asked> = ranking.asked.iter().filter(|a| named(a)).collect();
        asked.sort_by(|a, b| b.telling().total_cmp(&a.telling()));
        let by: Vec<usize> = ranking.suspects.iter().flat_map(|s| s.by.iter().copied()).collect();
        let why_asked = self.entries(&by);
        let asked = asked.into_iter().map(|a| self.answer(ranking, a, &why_asked));
        let open: Vec<&Open> = ranking.open.iter().filter(|o| tells(o.about.as_ref())).collect();
        let settle = ranking.open.first().filter(|o| o.gain >= WORTH).map(|o| self.settle(ranking, o));
        let (mut unasked, mut unclear): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
        for o in open {
            let words = self.asks(&o.question, o.about.as_ref().filter(|_| top.len() > 1));
            let list = if o.given.is_some() { &mut unclear } else { &mut unasked };
            if !list.contains(&words) {
                list.push(words);
            }
        }
        Ranked {
            outbreak: say::value(known, &ranking.outbreak),
            places,
            since,
            suspects,
            left_out,
            shared: shared.collect(),
            between,
            asked: asked.collect(),
            support: rest,
            support_words: words::support(rest).to_owned(),
            support_step: words::step(rest),
            favours,
            before,
            unasked,
            unclear,
            settle,
        }
    }

    fn told(&self, suspect: &Suspect) -> String {
        let shown = suspect.subject.as_ref().map(|s| (s, say::value(self.known, s)));
        self.book.told(&suspect.cause, shown.as_ref().map(|(s, shown)| (*s, shown.as_str())))
    }

    /// What a question asks, of what.
    fn asks(&self, question: &str, about: Option<&Value>) -> String {
        let asks = self.book.questions.get(question).and_then(|q| q.asks.clone());
        let asks = asks.unwrap_or_else(|| question.to_owned());
        match about {
            Some(about) => format!("{asks} ({})", say::value(self.known, about)),
            None => asks,
        }
    }

    fn answer(&self, ranking: &Ranking, asked: &Asked, why_asked: &BTreeSet<EntryId>) -> RankedAnswer {
        let note = self.note(asked);
        let other = ranking.suspects.get(asked.against).filter(|_| asked.against != 1);
        let against = other.map(|s| (s.cause.to_string(), self.told(s)));
        let apart = asked.apart.and_then(|(n, ratio)| {
            let from = ranking.suspects.get(n)?;
            Some((self.told(from), ratio, words::ratio(ratio)))
        });
        RankedAnswer {
            asks: self.asks(&asked.question, None),
            about: asked.about.as_ref().map(|a| say::value(self.known, a)),
            answer: asked
                .answers
                .iter()
                .map(|a| self.book.put(&asked.question, a))
                .collect::<Vec<_>>()
                .join("; "),
            lines: self.lines(&asked.by, why_asked),
            tests: asked.rests.len(),
            ratio: asked.ratio,
            shown: words::ratio(asked.ratio),
            against,
            apart,
            note,
        }
    }

    /// How a count was weighed, and how much it can say; empty where there is nothing to remark.
    fn note(&self, asked: &Asked) -> String {
        let counts = self.book.questions.get(&asked.question).and_then(|q| q.counts.as_ref());
        let several = match (asked.rests.len(), asked.answers.len()) {
            (0 | 1, _) => None,
            (k, 1) => {
                let of = counts.zip(asked.size).map(|(what, (n, m))| format!(" of {n} {what} against {m}"));
                Some(format!("{k} {}, weighed as one{}", kind_of(&asked.rests), of.unwrap_or_default()))
            }
            (k, _) => Some(format!("{k} {} that differ: either may be the stray one", kind_of(&asked.rests))),
        };
        let most = asked.ceiling.is_some_and(|k| !words::even(k) && asked.telling() >= 0.9 * k);
        let little = match counts {
            Some(what) if most => Some(format!("the most so few {what} can say")),
            Some(what) if asked.ceiling.is_some_and(words::even) => {
                Some(format!("too few {what} to say anything"))
            }
            _ => None,
        };
        [several, little].into_iter().flatten().collect::<Vec<_>>().join("; ")
    }

    /// The entries statements rest on.
    fn entries(&self, tags: &[usize]) -> BTreeSet<EntryId> {
        let rows = tags.iter().filter_map(|t| self.rows.get(*t));
        let proofs: Vec<_> = rows.filter_map(|r| self.known.model.proof(*r)).collect();
        let proofs: Vec<_> = proofs.iter().map(|p| &**p).collect();
        evidence::entries(self.known, &proofs).into_keys().collect()
    }

    /// The journal lines an answer rests on, in order of days, without those that only say why it was
    /// asked, unless there are no others.
    fn lines(&self, tags: &[usize], why_asked: &BTreeSet<EntryId>) -> Vec<Quote> {
        let all = self.entries(tags);
        let own: BTreeSet<EntryId> = all.difference(why_asked).copied().collect();
        let mut ids: Vec<EntryId> = if own.is_empty() { all } else { own }.into_iter().collect();
        ids.sort_by_key(|id| (self.known.diary.entries.get(id.0 as usize).and_then(|e| e.days), *id));
        ids.into_iter().filter_map(|id| say::quote(self.known, id)).collect()
    }

    fn settle(&self, ranking: &Ranking, open: &Open) -> Settle {
        let question = self.book.questions.get(&open.question);
        let leads = |n: usize| ranking.suspects.get(n).map(|s| self.told(s)).unwrap_or_default();
        let outcomes: Vec<_> = open.outcomes.iter().filter(|o| o.likely >= LIKELY).take(3).collect();
        let likely = words::hundredths(&outcomes.iter().map(|o| o.likely).collect::<Vec<_>>());
        let plainer = open.given.as_ref().and_then(|g| question?.plainer.get(g));
        let takes = question.and_then(|q| q.takes.clone());
        let takes = plainer.map(|look| (look.days, look.money.clone())).or(takes);
        let doing = plainer.map(|look| look.doing.clone()).or_else(|| question?.doing.clone());
        Settle {
            doing: doing.unwrap_or_else(|| self.asks(&open.question, None)),
            about: open.about.as_ref().map(|a| say::value(self.known, a)),
            days: takes.as_ref().map(|t| t.0),
            money: takes.map(|t| t.1),
            gain: open.gain,
            outcomes: outcomes
                .iter()
                .zip(likely)
                .map(|(o, likely)| {
                    let answer = self.book.put(&open.question, &o.answer);
                    (answer, leads(o.leads), words::chance(o.chance), likely / 100.0)
                })
                .collect(),
        }
    }
}

/// What several things are called together: by their kind, if they are of one.
fn kind_of(things: &BTreeSet<Value>) -> String {
    let kinds: BTreeSet<&str> = things
        .iter()
        .map(|v| match v {
            Value::Thing(thing) => &*thing.kind,
            _ => "look",
        })
        .collect();
    match kinds.first() {
        Some(kind) if kinds.len() == 1 => format!("{kind}s"),
        _ => "looks".to_owned(),
    }
}
