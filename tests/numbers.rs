//! What a grower may ask of any number shown: its unit, how sure it is, and where it comes from. Walked over the
//! demonstration and every case, on several days of each.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::expect_used)]

mod bare;

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::Path,
    sync::OnceLock,
};

use bare::{bare, names};
use chrono::NaiveDate;
use haulm::{
    base::diagnostic::Diagnostic,
    measure::{unit, value::Value},
    model::{
        content::Sourced,
        explanation::{Ground, Ranked, Recipe, Step},
        page::PageKind,
        program::{FactSource, Told},
    },
    read::Farm,
    session::{Checked, Session},
    show::{self, layout::Style},
};

/// On how many days each journal is read.
const DAYS: usize = 2;
/// About how many of its beds, lots and heaps are asked about, where each question takes a while.
const THINGS: usize = 4;
/// Of so many ways of asking for a recipe each farm is asked one.
const SOME: usize = 6;

/// A session whose pages are compiled already.
fn compiled() -> Session {
    static SESSION: OnceLock<Session> = OnceLock::new();
    let first = || {
        let mut session = Session::new();
        let _ = session.check("2026-04-04".parse().unwrap(), None);
        session
    };
    SESSION.get_or_init(first).clone()
}

/// Every journal, with days spread over its entries.
fn farms() -> Vec<(String, Session, Vec<NaiveDate>)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("journals");
    let cases = fs::read_dir(root.join("cases")).unwrap().map(|c| c.unwrap().path());
    let folders: BTreeSet<_> = cases.chain([root.join("brackenhythe")]).collect();
    assert!(folders.len() > 10, "the cases were not found");
    let of = |folder: &Path| {
        let mut session = compiled();
        session.set_reading(Farm::at(folder).read());
        let whole = session.check("2045-01-01".parse().unwrap(), None);
        let days: BTreeSet<NaiveDate> =
            whole.diary.entries.iter().filter_map(|e| e.days.map(|d| d.last)).collect();
        let days: Vec<NaiveDate> = days.into_iter().collect();
        // Not the very last, which a slip of the pen may have put years ahead.
        let some = (1..=DAYS).map(|n| days[(days.len() - 1) * (2 * n + 1) / (2 * DAYS + 2)]).collect();
        (folder.file_name().unwrap().to_str().unwrap().to_owned(), session, some)
    };
    folders.iter().map(|f| of(f)).collect()
}

/// Runs over every journal and day, and gathers what is wrong.
fn walk(wrong: impl Fn(&Checked) -> Vec<String>) {
    let mut all = Vec::new();
    for (farm, mut session, days) in farms() {
        for day in days {
            let checked = session.check(day, Some(day));
            all.extend(wrong(&checked).into_iter().map(|w| format!("{farm} on {day}: {w}")));
        }
    }
    assert!(all.is_empty(), "{} in all\n{}", all.len(), all.join("\n"));
}

fn every<'d>(findings: &'d [Diagnostic], out: &mut Vec<&'d Diagnostic>) {
    for finding in findings {
        out.push(finding);
        every(&finding.folded, out);
    }
}

/// Beds, lots and heaps by name, some of each farm's.
fn things(checked: &Checked) -> Vec<String> {
    let of = |kind: &str| matches!(kind, "bed" | "lot" | "heap");
    let all: Vec<_> = checked.diary.things.iter().filter(|t| of(&t.thing.kind)).collect();
    all.iter().step_by((all.len() / THINGS).max(1)).map(|t| t.thing.name.to_string()).collect()
}

#[test]
fn a_number_without_a_unit_is_seen() {
    let names = BTreeSet::from(["north-1".to_owned()]);
    for whole in [
        "north-1 holds 12 ppb since 3 May 2026",
        "about 1 in 20, by what is written",
        "4 of 4 pots hurt, and 2.5-3 m3 are left",
        "44 and 58 days in one trial; C:N 24, pH 7.5",
        "mixed 1:1, 67 % of it",
    ] {
        assert_eq!(bare(whole, &names), [""; 0], "{whole}");
    }
    for lacking in
        ["it holds 12, and more", "north-1 holds 2.5-3 of it", "at 5.2 by saturated paste", "comes to 7."]
    {
        assert_eq!(bare(lacking, &names).len(), 1, "{lacking}");
    }
}

#[test]
fn every_number_said_has_a_unit_or_counts_something() {
    walk(|checked| {
        let names = names(checked);
        let mut texts: Vec<String> = Vec::new();
        let mut findings = Vec::new();
        every(&checked.report.findings, &mut findings);
        for d in findings
            .iter()
            .filter(|d| checked.pages.iter().any(|p| p.code == d.code && !p.path.contains("/reading/")))
        {
            texts.push(d.message.clone());
            let said = d.remarks.iter().filter(|r| !r.text.starts_with("- "));
            texts.extend(said.map(|r| r.text.clone()));
        }
        for action in &checked.report.actions {
            texts.push(action.words.clone());
            texts.push(action.reason.clone());
            texts.extend(action.cautions.iter().cloned());
        }
        texts
            .iter()
            .flat_map(|t| bare(t, &names).into_iter().map(move |b| format!("`{b}` in: {t}")))
            .collect()
    });
}

/// What recipes are asked for on their pages: the words, and the journal of the example.
fn asked(checked: &Checked) -> Vec<(String, String)> {
    let pages = checked.pages.iter().filter(|p| p.kind == PageKind::Recipe);
    let examples = pages.flat_map(|p| &p.examples);
    let all: Vec<_> = examples
        .filter_map(|e| Some((e.ask.as_ref()?.text.to_string(), e.journal.text.to_string())))
        .collect();
    assert!(all.len() > 100, "only {} examples", all.len());
    all
}

/// What a recipe says, journal lines to paste left out, and what is wrong with its numbers and their sources.
fn faults_of(recipe: &Recipe, checked: &Checked) -> Vec<String> {
    let names = names(checked);
    let mut wrong = Vec::new();
    let mut sourced = false;
    for (part, line) in recipe.lines() {
        for step in &line.proofs {
            unplaced(checked, step, &mut wrong);
        }
        sourced |= !line.cited.is_empty();
        let label = Some(&line.label).filter(|l| !l.is_empty());
        let said = label.into_iter().chain((part != Told::Write).then_some(&line.text));
        for text in said.chain(line.beside.iter().map(|(_, text)| text)) {
            wrong.extend(bare(text, &names).into_iter().map(|b| format!("`{b}` in: {text}")));
        }
    }
    let told = flat(&show::recipe::recipe(recipe, None, &Style::plain()));
    if sourced && recipe.refused.is_empty() && !told.contains("→ --sources") {
        wrong.push("no word of where its figures come from".to_owned());
    }
    wrong
}

#[test]
fn every_number_of_a_recipe_has_a_unit_or_counts_something_and_its_figures_have_sources() {
    let mut first = compiled();
    let day = "2026-04-04".parse().unwrap();
    let mut all = BTreeSet::new();
    for (words, journal) in asked(&first.check(day, None)) {
        let mut session = compiled();
        session.set_text("one.md", &journal);
        let today =
            session.check(day, None).diary.entries.iter().filter_map(|e| e.days).map(|d| d.last).max();
        let today = today.unwrap_or(day);
        let checked = session.check(today, None);
        let (recipe, _) = session.recipe(&words, today, None).unwrap();
        all.extend(faults_of(&recipe, &checked).into_iter().map(|w| format!("{words}: {w}")));
    }
    assert!(all.is_empty(), "{} in all\n{}", all.len(), Vec::from_iter(all).join("\n"));
}

/// The same words with a farm's own names for those of the example's journal; `None` where it has none of a kind.
fn of_farm(words: &str, from: &Checked, farm: &Checked, nth: usize) -> Option<String> {
    let mut out = words.to_owned();
    let mut named: Vec<_> = from.diary.things.iter().map(|t| &t.thing).collect();
    named.sort_by_key(|t| std::cmp::Reverse(t.name.len()));
    for thing in named.into_iter().filter(|t| words.split(' ').any(|w| *w == *t.name)) {
        let alike: Vec<_> = farm.diary.things.iter().filter(|t| t.thing.kind == thing.kind).collect();
        let own = alike.get(nth % alike.len().max(1))?;
        out = out
            .split(' ')
            .map(|w| if *w == *thing.name { &own.thing.name } else { w })
            .collect::<Vec<_>>()
            .join(" ");
    }
    Some(out)
}

#[test]
fn every_number_of_a_recipe_asked_of_a_farm_has_a_unit_or_counts_something() {
    let day = "2026-04-04".parse().unwrap();
    // One example for each way of asking, with its journal read.
    let mut ways: BTreeMap<String, (String, Checked)> = BTreeMap::new();
    for (words, journal) in asked(&compiled().check(day, None)) {
        let way: Vec<&str> = words.split(' ').filter(|w| w.chars().all(char::is_alphabetic)).collect();
        ways.entry(way.join(" ")).or_insert_with(|| {
            let mut session = compiled();
            session.set_text("one.md", &journal);
            let checked = session.check(day, None);
            (words, checked)
        });
    }
    let (mut all, mut told) = (BTreeSet::new(), 0);
    for (n, (farm, mut session, days)) in farms().into_iter().enumerate() {
        let today = *days.last().unwrap();
        let checked = session.check(today, Some(today));
        for (words, example) in ways.values().skip(n % SOME).step_by(SOME) {
            let Some(words) = of_farm(words, example, &checked, n) else { continue };
            let wrong = match session.recipe(&words, today, Some(today)) {
                Ok((recipe, _)) => faults_of(&recipe, &checked),
                Err(_) => continue,
            };
            told += 1;
            all.extend(wrong.into_iter().map(|w| format!("{farm} on {today}: {words}: {w}")));
        }
    }
    assert!(told > 50, "only {told} were told");
    assert!(all.is_empty(), "{} in all\n{}", all.len(), Vec::from_iter(all).join("\n"));
}

#[test]
fn every_amount_of_a_trace_has_a_unit_and_every_level_its_sources() {
    walk(|checked| {
        let mut wrong = Vec::new();
        let has_unit = |text: &str| {
            let after = text.trim_start_matches(|c: char| c.is_ascii_digit() || ".,-/ ".contains(c));
            text.starts_with(|c: char| !c.is_ascii_digit())
                || after.starts_with('%')
                || unit::read(after).is_some()
        };
        let sourced = |row: &Sourced| {
            let place = row.at.map(|loc| checked.sources.place(loc)).unwrap_or_default();
            !place.is_empty()
                && (row.source.is_some() || !place.starts_with("rules/") || on_page(checked, &place))
        };
        for name in things(checked) {
            let Ok(trace) = checked.trace_on(&name, checked.today) else { continue };
            let amounts = trace.forwards.iter().chain(&trace.backwards).filter_map(|r| r.amount.clone());
            let mut amounts: Vec<String> = amounts.collect();
            let mut rows: Vec<Sourced> = trace.figures.clone();
            if let Some(content) = &trace.content {
                let shares = content.shares.iter().flat_map(|s| [&s.volume, &s.weight]);
                amounts.extend(shares.flatten().chain(&content.depth).cloned());
                for level in &content.levels {
                    amounts.push(level.level.clone());
                    amounts.extend(level.from.iter().map(|(_, figure)| figure.clone()));
                    amounts.extend(level.against.iter().map(|a| a.level.clone()));
                    amounts.extend(level.against.iter().filter_map(|a| a.chance.clone()));
                    rows.extend(level.fades.iter().chain(&level.limits).cloned());
                    rows.extend(level.against.iter().flat_map(|a| a.seen.iter().chain(&a.unseen)).cloned());
                    // What a level is held against was seen by somebody, or is on the page of who is hurt.
                    let unseen = level.against.iter().filter(|a| a.seen.is_empty() && a.who.is_empty());
                    wrong.extend(unseen.map(|a| format!("{name}: nobody saw harm at {}", a.level)));
                }
                rows.extend(content.figures.iter().cloned());
                // Shares rest on what stuff weighs, which is in tables.
                let weighed =
                    content.shares.iter().any(|s| s.weight.as_ref().is_some_and(|w| w.contains('-')));
                if weighed && content.figures.is_empty() {
                    wrong.push(format!("{name}: shares by weight, and no figure of what anything weighs"));
                }
            }
            wrong.extend(
                amounts.iter().filter(|a| !has_unit(a)).map(|a| format!("{name}: `{a}` has no unit")),
            );
            wrong.extend(
                rows.iter().filter(|r| !sourced(r)).map(|r| format!("{name}: no source: {}", r.says)),
            );
        }
        wrong
    });
}

/// Whether the page of a place such as `rules/tables/settings.md:12` names its sources.
fn on_page(checked: &Checked, place: &str) -> bool {
    let path = place.rsplit_once(':').map_or(place, |(path, _)| path);
    let file = checked.sources.find(path).map(|id| checked.sources.file(id));
    file.and_then(|f| f.text.split_once("## Sources")).is_some_and(|(_, prose)| prose.trim().len() > 10)
}

#[test]
fn every_figure_of_a_table_names_its_source_beside_it_or_on_its_page() {
    let checked = compiled().check("2026-04-04".parse().unwrap(), None);
    let figured = |values: &[Value]| values.iter().any(|v| matches!(v, Value::Quantity(_)));
    let mut seen = 0;
    let mut wrong = BTreeSet::new();
    for fact in checked.program.facts.iter().filter(|f| figured(&f.values)) {
        let FactSource::Page(loc) = fact.source else { continue };
        seen += 1;
        let place = checked.sources.place(loc);
        let file = checked.sources.file(loc.file);
        let row = file.line_of(loc.span.start as usize);
        let lines: Vec<&str> = file.text.lines().collect();
        let head = (0..=row).rev().take_while(|n| lines[*n].trim_start().starts_with('|')).last();
        let beside = head.is_some_and(|n| {
            let cells: Vec<&str> = lines[n].trim().trim_matches('|').split('|').map(str::trim).collect();
            let at = cells.iter().position(|c| matches!(*c, "source" | "why" | "note"));
            at.is_some_and(|at| {
                let cells: Vec<&str> =
                    lines[row].trim().trim_matches('|').split('|').map(str::trim).collect();
                cells.get(at).is_some_and(|c| !c.is_empty())
            })
        });
        if !beside && !on_page(&checked, &place) {
            wrong.insert(place);
        }
    }
    assert!(seen > 300, "only {seen} figures were found");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn every_figure_in_a_proof_stands_with_its_page() {
    walk(|checked| {
        let codes: BTreeSet<_> = checked.report.findings.iter().map(|d| d.code.to_string()).collect();
        let mut wrong = Vec::new();
        for code in codes {
            let Ok(why) = checked.why(&code) else { continue };
            for step in why.claims.iter().flat_map(|c| &c.proofs) {
                unplaced(checked, step, &mut wrong);
            }
            let text = show::why::why(&why, &checked.sources, false, &Style::plain());
            if why.claims.iter().any(|c| !c.proofs.is_empty()) && !flat(&text).contains("haulm rules show ") {
                wrong.push(format!("why {code} names no way to its sources"));
            }
        }
        wrong
    });
}

/// A text without its line breaks.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn unplaced(checked: &Checked, step: &Step, wrong: &mut Vec<String>) {
    if let Ground::Page(loc, None) = &step.by {
        let place = checked.sources.place(*loc);
        let figure = step.says.split_whitespace().any(|w| w.starts_with(|c: char| c.is_ascii_digit()));
        if figure && !on_page(checked, &place) {
            wrong.push(format!("`{}` ({place}) has no source", step.says));
        }
    }
    for below in &step.below {
        unplaced(checked, below, wrong);
    }
}

/// A chance as a grower adds it up, in hundredths.
fn hundredths(shown: &str) -> f64 {
    match shown.strip_suffix(" in 100").expect(shown) {
        "under 1" => 0.0,
        of => of.parse().expect(shown),
    }
}

fn unsound(ranked: &Ranked, checked: &Checked) -> Vec<String> {
    let mut wrong = Vec::new();
    // What is told to be together with one above is counted there.
    let sum: f64 = ranked.suspects.iter().map(|s| (hundredths(&s.shown) - s.together).max(0.0)).sum();
    if sum > 100.0 + 1e-6 {
        let all: Vec<(&str, f64)> = ranked.suspects.iter().map(|s| (&*s.shown, s.together)).collect();
        wrong.push(format!("{all:?} make {sum} in 100"));
    }
    if let Some(settle) = &ranked.settle {
        let sum: f64 = settle.outcomes.iter().map(|o| o.3 * 100.0).sum();
        if sum > 100.0 + 1e-6 {
            wrong.push(format!("what {} may show makes {sum} in 100", settle.doing));
        }
    }
    for s in &ranked.suspects {
        if !checked.pages.iter().any(|p| *p.code == *s.page && p.path.contains("rules/causes/")) {
            wrong.push(format!("{} has no page of that name", s.page));
        }
    }
    let first = ranked.suspects.first();
    if ranked.asked.iter().any(|a| !(0.9..1.1).contains(&a.ratio))
        && first.is_some_and(|s| s.range.is_none() && s.chance < 0.97)
    {
        wrong.push("the first chance has no range, though answers move it".to_owned());
    }
    wrong.extend(
        ranked.asked.iter().filter(|a| a.lines.is_empty()).map(|a| format!("{} rests on no line", a.asks)),
    );
    wrong
}

#[test]
fn chances_add_up_to_no_more_than_all_and_say_how_far_they_can_be_trusted() {
    walk(|checked| {
        let mut wrong = Vec::new();
        for name in things(checked) {
            let Ok(why) = checked.why(&name) else { continue };
            for ranked in &why.rankings {
                wrong.extend(unsound(ranked, checked).into_iter().map(|w| format!("{name}: {w}")));
            }
            let text = show::why::why(&why, &checked.sources, false, &Style::plain());
            if !why.rankings.is_empty() && !flat(&text).contains("→ haulm rules show ") {
                wrong.push(format!("{name}: the ranking names no page of figures"));
            }
        }
        wrong
    });
}
