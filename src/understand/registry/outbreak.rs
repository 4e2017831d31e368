//! `outbreak`: from signs on plants to outbreaks, each one matter to be judged.
//!
//! Comes in: signs noticed, plants that looked well, plants put in, the look of each sign, and which looks make an
//! outbreak. Goes out: outbreaks with their first day, look, plants and signs. The sorting is done in
//! `reckon::outbreak`.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::inputs;
use crate::{
    measure::{
        date::{Days, long, shift},
        display,
        value::{EntryId, Value},
    },
    model::program::{Given, Reckoned},
    reckon::outbreak::{JOIN_DAYS, Outbreak, Sighting, Turn, outbreaks},
};

inputs! {
    Noticed = "{sign} was noticed on {crop} in {place} on {day:date}",
    Nameless = "{sign} was noticed in {place} on {day:date}",
    Began = "{sign} on {crop} in {place} began on {since:date}",
    CropWell = "{crop} in {place} looked well on {day:date}",
    PlaceWell = "{place} looked well on {day:date}",
    Planted = "{crop} was planted in {place} on {day:date}",
    Sowed = "{crop} was sowed in {place} on {day:date}",
    Look = "the look of {sign} is {look}",
    Opens = "{look} is a matter of its own",
    Joins = "{look} goes with what is there",
    Vague = "{sign} alone is a matter of its own",
    Stand = "plants stand in a {kind}",
    Apart = "{look} sets its plants apart",
    Under = "{look} is one matter with {matter}",
    Named = "{look} needs its plants named",
    Unnamed = "{plants} stands for plants nobody named",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "{outbreak} began on {day:date}",
    "{outbreak} has the look {look}",
    "{outbreak} holds {crop} in {place} since {day:date}",
    "{sign} on {crop} in {place} belongs to {outbreak} since {day:date}",
];

/// How long before its plants are first hurt a sign that makes no outbreak itself still belongs to it.
const EARLIER_DAYS: i64 = 30;

/// A sign on a crop in a place.
struct Seen<'g> {
    day: NaiveDate,
    sign: &'g Value,
    pair: (&'g Value, &'g Value),
    tag: usize,
}

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let rows = |input: Input| {
        given.iter().enumerate().filter(move |(_, g)| !g.planned && INPUTS.get(g.input) == Some(&input))
    };
    let words =
        |input: Input| -> BTreeSet<&Value> { rows(input).filter_map(|(_, g)| g.values.first()).collect() };
    let (opens, joins, vague) = (words(Input::Opens), words(Input::Joins), words(Input::Vague));
    let apart = words(Input::Apart);
    let kinds: BTreeSet<&str> = words(Input::Stand).into_iter().filter_map(word).collect();
    let looks: BTreeMap<&Value, &Value> =
        rows(Input::Look).filter_map(|(_, g)| Some((g.values.first()?, g.values.get(1)?))).collect();
    let mut began: BTreeMap<(EntryId, &Value, &Value, &Value), NaiveDate> = BTreeMap::new();
    for (_, g) in rows(Input::Began) {
        if let (Some(entry), [sign, crop, place, Value::Days(since)]) = (g.entry, g.values) {
            began.insert((entry, sign, crop, place), since.first);
        }
    }
    let mut seen: Vec<Seen<'_>> = Vec::new();
    for (tag, g) in rows(Input::Noticed) {
        let [sign, crop, place, Value::Days(day)] = g.values else { continue };
        if !matches!(place, Value::Thing(t) if kinds.contains(&*t.kind)) {
            continue;
        }
        let since = g.entry.and_then(|e| began.get(&(e, sign, crop, place))).copied();
        seen.push(Seen { day: since.unwrap_or(day.first).min(day.first), sign, pair: (crop, place), tag });
    }
    // A sign written of a bed alone is on some plants of it.
    let named = words(Input::Named);
    let of_plants: BTreeSet<(Option<EntryId>, &Value, &Value)> = rows(Input::Noticed)
        .filter_map(|(_, g)| Some((g.entry, g.values.first()?, g.values.get(2)?)))
        .collect();
    let unnamed = rows(Input::Unnamed).find_map(|(_, g)| g.values.first());
    for (tag, g) in rows(Input::Nameless) {
        let ([sign, place, Value::Days(day)], Some(plants)) = (g.values, unnamed) else { continue };
        let in_ground = matches!(place, Value::Thing(t) if kinds.contains(&*t.kind));
        let look = looks.get(sign).copied();
        if in_ground
            && !of_plants.contains(&(g.entry, sign, place))
            && !look.is_some_and(|l| named.contains(l))
        {
            seen.push(Seen { day: day.first, sign, pair: (plants, place), tag });
        }
    }
    let pairs: BTreeSet<(&Value, &Value)> = seen.iter().map(|s| s.pair).collect();
    let crops: Vec<&Value> = pairs.iter().map(|p| p.0).collect::<BTreeSet<_>>().into_iter().collect();
    let places: Vec<&Value> = pairs.iter().map(|p| p.1).collect::<BTreeSet<_>>().into_iter().collect();
    // Looks that are one matter go by the matter's name.
    let under: BTreeMap<&Value, &Value> =
        rows(Input::Under).filter_map(|(_, g)| Some((g.values.first()?, g.values.get(1)?))).collect();
    let matter = |look: &'_ Value| under.get(look).copied();
    let names: Vec<&Value> =
        looks.values().chain(under.values()).copied().collect::<BTreeSet<_>>().into_iter().collect();
    let pair = |(crop, place): (&Value, &Value)| {
        Some((places.iter().position(|x| *x == place)?, crops.iter().position(|x| *x == crop)?))
    };
    let well = rows(Input::CropWell).chain(rows(Input::PlaceWell)).map(|(_, g)| (g, false));
    let turns: Vec<Turn> = well
        .chain(rows(Input::Planted).chain(rows(Input::Sowed)).map(|(_, g)| (g, true)))
        .flat_map(|(g, planted)| {
            // What is planted in a bed ends what plants had that nobody named.
            let same = |of: &Value, crop: &Value| of == crop || planted && unnamed == Some(of);
            let of = |p: &(&Value, &Value)| match g.values {
                [crop, place, Value::Days(_)] => same(p.0, crop) && p.1 == place,
                [place, Value::Days(_)] => p.1 == place,
                _ => false,
            };
            let day = match g.values.last() {
                Some(Value::Days(d)) => Some(d.last),
                _ => None,
            };
            let hit: Vec<_> = pairs.iter().copied().filter(of).filter_map(pair).collect();
            hit.into_iter().filter_map(move |pair| Some(Turn { day: day?, pair, planted }))
        })
        .collect();
    // Plants with such a look are another matter than those that only share their other signs.
    let mut set_apart: BTreeMap<(&Value, &Value), Vec<(NaiveDate, &Value)>> = BTreeMap::new();
    for s in &seen {
        if let Some(look) = looks.get(s.sign).copied().filter(|l| apart.contains(l)) {
            set_apart.entry(s.pair).or_default().push((s.day, look));
        }
    }
    let instead = |s: &Seen<'_>| {
        let near = |(day, _): &&(NaiveDate, &Value)| (*day - s.day).num_days().abs() <= JOIN_DAYS;
        set_apart.get(&s.pair).and_then(|all| all.iter().filter(near).min()).map(|(_, look)| *look)
    };
    let mut sightings = Vec::new();
    let mut of_sighting = Vec::new();
    let mut aside = Vec::new();
    for s in &seen {
        let own_look = looks.get(s.sign).copied();
        let look = instead(s)
            .filter(|_| own_look.is_some_and(|l| opens.contains(l) || joins.contains(l) || apart.contains(l)))
            .or(own_look);
        let named = look.map(|l| matter(l).unwrap_or(l));
        let number = named.and_then(|l| names.iter().position(|n| *n == l));
        let loose = look.is_some_and(|l| joins.contains(l));
        let own = look.is_some_and(|l| opens.contains(l)) || loose;
        match pair(s.pair) {
            Some(pair) if own => {
                let apart = look.is_some_and(|l| apart.contains(l));
                sightings.push(Sighting { day: s.day, pair, look: number, loose, apart });
            }
            Some(pair) if vague.contains(s.sign) => {
                sightings.push(Sighting { day: s.day, pair, look: None, loose: false, apart: false });
            }
            _ => {
                aside.push(s);
                continue;
            }
        }
        of_sighting.push(s);
    }
    let mut out = Vec::new();
    for outbreak in outbreaks(&sightings, &turns) {
        let mine: Vec<&Seen<'_>> =
            outbreak.sightings.iter().filter_map(|n| of_sighting.get(*n).copied()).collect();
        tell(&outbreak, &mine, &aside, (&places, &crops), &names, &mut out);
    }
    out
}

fn tell(
    outbreak: &Outbreak,
    mine: &[&Seen<'_>],
    aside: &[&Seen<'_>],
    (places, crops): (&[&Value], &[&Value]),
    names: &[&Value],
    out: &mut Vec<Reckoned>,
) {
    let look = outbreak.look.and_then(|n| names.get(n)).and_then(|v| word(v));
    let shown = |v: &Value| display::value(v, &display::Units::new());
    let first_day = long(outbreak.first);
    // Read aloud it needs no kind word before it.
    let name = match (look, mine.first()) {
        (Some(look), _) => format!("{look} of {first_day}"),
        (None, Some(first)) => format!("{} of {first_day} in {}", shown(first.sign), shown(first.pair.1)),
        (None, None) => return,
    };
    let name = Value::thing("outbreak", name);
    let tags: Vec<usize> = mine.iter().map(|s| s.tag).collect();
    let day = |d: NaiveDate| Value::Days(Days::on(d));
    let mut say = |output: usize, values: Vec<Value>, witnesses: Vec<usize>| {
        out.push(Reckoned { output, values, witnesses, numbers: Vec::new() });
    };
    let first: Vec<usize> = mine.iter().filter(|s| s.day == outbreak.first).map(|s| s.tag).collect();
    say(0, vec![name.clone(), day(outbreak.first)], first);
    if let Some(look) = look {
        say(1, vec![name.clone(), Value::word(look)], tags.clone());
    }
    for ((place, crop), since) in &outbreak.members {
        let (Some(crop), Some(place)) = (crops.get(*crop), places.get(*place)) else { continue };
        let at: Vec<usize> = mine.iter().filter(|s| s.pair == (*crop, *place)).map(|s| s.tag).collect();
        say(2, vec![name.clone(), (*crop).clone(), (*place).clone(), day(*since)], at);
        let near = |s: &&&Seen<'_>| {
            s.pair == (*crop, *place)
                && s.day >= shift(*since, -EARLIER_DAYS)
                && s.day <= shift(*since, JOIN_DAYS)
        };
        for s in aside.iter().filter(near) {
            say(
                3,
                vec![s.sign.clone(), (*crop).clone(), (*place).clone(), name.clone(), day(s.day)],
                vec![s.tag],
            );
        }
    }
    for s in mine {
        let values = vec![s.sign.clone(), s.pair.0.clone(), s.pair.1.clone(), name.clone(), day(s.day)];
        say(3, values, vec![s.tag]);
    }
}

fn word(v: &Value) -> Option<&str> {
    match v {
        Value::Word(w) => Some(w),
        _ => None,
    }
}
