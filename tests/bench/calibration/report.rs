//! The report: figures, reliability, and which cause was taken for which.
//!
//! Comes in: what came of each farm, by kind of grower. Goes out: Markdown on standard output.

use std::collections::BTreeMap;

use super::{
    figures::{INCIDENCE, SIGNS},
    habits::{ATTENTIVE, CARELESS},
    score::{Figure, calibration_error, days, drawn, mean, reliability, share},
    trial::{HORIZON, Outcome, Told},
};

/// The report of both kinds of grower.
pub fn report(kinds: &[(&str, Vec<Told>)]) {
    let arms: Vec<(String, Vec<&Outcome>)> = kinds
        .iter()
        .flat_map(|(kind, all)| {
            [
                (format!("{kind}, diary alone"), all.iter().map(|t| &t.alone).collect()),
                (format!("{kind}, doing what is asked"), all.iter().map(|t| &t.following).collect()),
            ]
        })
        .collect();
    println!(
        "| grower | farms | right cause leads | Brier score | calibration error | a wrong cause over 0.9 | right within {HORIZON} days | mean days to the right answer |"
    );
    println!("|---|---:|---:|---:|---:|---:|---:|---:|");
    for (name, all) in &arms {
        println!(
            "| {name} | {} | {} | {} | {} | {} | {} | {} |",
            all.len(),
            per_cent(share(all, |o| o.right)),
            plain(drawn(all, |a| mean(a, |o| o.brier)), 2),
            plain(drawn(all, calibration_error), 3),
            per_cent(share(all, |o| o.oversure.is_some())),
            per_cent(share(all, |o| o.days.is_some())),
            plain(drawn(all, |a| mean(a, days)), 1),
        );
    }
    println!(
        "\nIntervals are 95 %. Days: from the first written sign until the right cause leads with at least even chance and stays so; {HORIZON} where it never does."
    );
    for (name, all) in &arms {
        println!(
            "\nReliability, {name}:\n\n| chance said | farms | mean chance | was right |\n|---|---:|---:|---:|"
        );
        for (n, t) in reliability(all).iter().enumerate().filter(|(_, t)| t.farms > 0) {
            println!("| {}-{} % | {} | {:.2} | {:.2} |", n * 10, n * 10 + 10, t.farms, t.said, t.was);
        }
    }
}

/// Details for whoever looks for faults: confusion, what was asked, what could not be read.
pub fn faults(kinds: &[(&str, Vec<Told>)]) {
    for (kind, all) in kinds {
        for (arm, of) in [("diary alone", false), ("doing what is asked", true)] {
            println!("\nWhat leads, by what is true ({kind}, {arm}):\n");
            confusion(all, |t| if of { &t.following } else { &t.alone });
        }
        answers(kind, all);
        let unranked = all.iter().filter(|t| !t.alone.ranked).count();
        let unnamed = all.iter().filter(|t| !t.named).count();
        println!(
            "\n{kind}: {unranked} farms without a ranking; in {unnamed} the diary never puts the load that did it on hurt ground."
        );
        counted("asked for", all.iter().flat_map(|t| t.asked.iter().map(|a| without_name(a))));
        counted("asked for again", all.iter().flat_map(|t| t.again.iter().map(|a| without_name(a))));
        counted(
            "asked for, not known here",
            all.iter().flat_map(|t| t.unknown.iter().map(|a| without_name(a))),
        );
        counted("read with an error", all.iter().flat_map(|t| t.errors.iter().cloned()));
        let sure: Vec<&Told> = all.iter().filter(|t| t.alone.oversure.is_some()).collect();
        counted(
            "over-sure, truth <- said",
            sure.iter().map(|t| {
                let said = t.alone.oversure.as_deref().unwrap_or_default();
                format!("{} <- {}", t.cause, said.split(" of ").next().unwrap_or_default())
            }),
        );
    }
}

fn without_name(asked: &str) -> String {
    asked.split(" (").next().unwrap_or(asked).to_owned()
}

fn counted(what: &str, all: impl Iterator<Item = String>) {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for one in all {
        *counts.entry(one).or_default() += 1;
    }
    let mut counts: Vec<(String, usize)> = counts.into_iter().collect();
    counts.sort_by_key(|c| std::cmp::Reverse(c.1));
    for (one, n) in counts.iter().take(25) {
        println!("  {what}: {n:5} x {one}");
    }
}

fn confusion(all: &[Told], of: impl Fn(&Told) -> &Outcome) {
    let mut seen: BTreeMap<(usize, String), usize> = BTreeMap::new();
    let mut heads: BTreeMap<String, usize> = BTreeMap::new();
    for t in all {
        let row = INCIDENCE.iter().position(|(c, _, _)| *c == t.cause).unwrap_or(0);
        let o = of(t);
        let word = o.leads.split(" of ").next().unwrap_or_default();
        let word = match (word, o.right) {
            ("", _) => "(no ranking)".to_owned(),
            (w, true) => format!("{w} (right)"),
            (w, false) => w.to_owned(),
        };
        *heads.entry(word.clone()).or_default() += 1;
        *seen.entry((row, word)).or_default() += 1;
    }
    for (row, (cause, _, _)) in INCIDENCE.iter().enumerate() {
        let mut here: Vec<(&String, &usize)> =
            seen.iter().filter(|((r, _), _)| *r == row).map(|((_, w), n)| (w, n)).collect();
        here.sort_by_key(|h| std::cmp::Reverse(*h.1));
        let farms: usize = here.iter().map(|(_, n)| **n).sum();
        let told: Vec<String> = here.iter().map(|(w, n)| format!("{w} {n}")).collect();
        println!("| {cause} | {farms} | {} |", told.join(", "));
    }
}

/// How each question is answered, by what is true.
fn answers(kind: &str, all: &[Told]) {
    let questions: std::collections::BTreeSet<&str> =
        all.iter().flat_map(|t| &t.alone.answers).map(|(q, _)| q.as_str()).collect();
    for question in questions {
        println!("\nAnswers to *{question}*, by what is true ({kind}, diary alone):\n");
        for (cause, _, _) in INCIDENCE {
            let here: Vec<&Told> = all.iter().filter(|t| t.cause == *cause && t.alone.ranked).collect();
            let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
            for t in &here {
                let mut said: Vec<&str> =
                    t.alone.answers.iter().filter(|(q, _)| q == question).map(|(_, a)| a.as_str()).collect();
                said.sort_unstable();
                said.dedup();
                let said = match said.as_slice() {
                    [] => "(unanswered)",
                    [one] => one,
                    _ => "(several)",
                };
                *counts.entry(said).or_default() += 1;
            }
            let mut counts: Vec<_> = counts.into_iter().collect();
            counts.sort_by_key(|c| std::cmp::Reverse(c.1));
            let told: Vec<String> = counts.iter().map(|(a, n)| format!("{a} {n}")).collect();
            println!("| {cause} | {} | {} |", here.len(), told.join(", "));
        }
    }
    let strewn = |n: usize| all.iter().filter(|t| t.alone.strewn >= n).count();
    println!(
        "\n{kind}: hurt plantings strewn over two outbreaks or more in {}, three or more in {} farms",
        strewn(2),
        strewn(3)
    );
}

/// The figures the simulator rests on, as Markdown.
pub fn assumptions() {
    println!("| true cause | of 1,000 farms | leans on |\n|---|---:|---|");
    for (cause, of, leans) in INCIDENCE {
        println!("| {cause} | {of:.0} | {leans} |");
    }
    println!("\n| ill | signs, each in so many of 100 outbreaks | leans on |\n|---|---|---|");
    for (ill, signs, leans) in SIGNS {
        let signs: Vec<String> = signs.iter().map(|s| format!("{} {:.0}", s.0, s.1)).collect();
        println!("| {ill:?} | {} | {leans} |", signs.join(", "));
    }
    println!("\nAttentive: {ATTENTIVE:?}\n\nCareless: {CARELESS:?}");
}

fn per_cent(f: Figure) -> String {
    format!("{:.1} % ({:.1}-{:.1})", f.at * 100.0, f.low * 100.0, f.high * 100.0)
}

fn plain(f: Figure, digits: usize) -> String {
    format!("{:.digits$} ({:.digits$}-{:.digits$})", f.at, f.low, f.high)
}
