//! Which numbers of a text stand bare, without a unit and without anything they count.

use std::collections::BTreeSet;

use haulm::{measure::unit, session::Checked};

/// Words that may follow a number only where the number stands bare.
const NO_NOUN: [&str; 24] = [
    "and", "or", "is", "are", "was", "were", "of", "to", "by", "at", "the", "than", "from", "with", "but",
    "for", "on", "that", "it", "so", "as", "if", "has", "a",
];

/// Words whose numbers are names of what they count.
const NUMBERED: [&str; 6] = ["plot", "plots", "flush", "chapter", "table", "number"];

/// The numbers of a text that have neither unit nor noun. `1 in 20`, `3 of 4 pots`, `1:1`, `C:N 24`, `pH 7`, days,
/// clock times and the numbers of names are read as what they are.
pub fn bare(text: &str, names: &BTreeSet<String>) -> Vec<String> {
    // What stands between backticks is a name, or somebody's own words.
    let said = text.split('`').enumerate().map(|(n, piece)| if n % 2 == 0 { piece } else { "NAME" });
    let mut text: String = said.collect();
    for name in names {
        text = text.replace(name.as_str(), "NAME");
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let plain = |w: &str| w.trim_matches(|c: char| !c.is_alphanumeric() && c != '%').to_owned();
    let number = |w: &str| {
        let w = plain(w);
        !w.is_empty() && w.chars().all(|c| c.is_ascii_digit() || ".,-/".contains(c))
    };
    // `plots 1, 5 and 11`: numbers that are names.
    let numbered = |n: usize| {
        let lead = words.get(..n).unwrap_or_default().iter().rev().find(|w| !number(w) && **w != "and");
        lead.is_some_and(|w| NUMBERED.contains(&plain(w).as_str()))
    };
    let mut out = Vec::new();
    for (n, word) in words.iter().enumerate().filter(|(_, w)| number(w)) {
        let ends = word.ends_with([',', ';', ':', '.', ')', '?', '!']);
        let next = words.get(n + 1).map_or("", |w| w.trim_end_matches([',', ';', ':', '.', ')']));
        let before = n.checked_sub(1).and_then(|b| words.get(b)).map_or("", |w| w.trim_start_matches('('));
        let after = |k: usize| words.get(n + k).copied().unwrap_or("");
        // `10 1/2 months`
        let (ends, next) = match (ends, next.contains('/') && number(next)) {
            (false, true) => (false, after(2)),
            _ => (ends, next),
        };
        let measured = !ends && (next.starts_with('%') || unit::read(next).is_some());
        let month = |w: &str| {
            let months =
                "January February March April May June July August September October November December";
            months.split(' ').any(|m| m == plain(w))
        };
        let dated = month(next) || month(before) || plain(word).len() == 10 && plain(word).starts_with("20");
        // `Weed Technology, 2024`
        let year = before.ends_with(',') && plain(word).len() == 4 && plain(word).starts_with(['1', '2']);
        // `14, 15 and 15.5 cm`: judged by the last.
        let listed = word.ends_with(',') && number(next);
        // `1 in 20`, `3 of 4 pots`, `2 to 3 weeks`, `44 and 58 days`, `29 to 1`
        let joined = matches!(next, "in" | "of" | "to" | "and" | "or") && number(after(2));
        let second = matches!(before, "in" | "of" | "to" | "and" | "against" | "or")
            && n.checked_sub(2).and_then(|b| words.get(b)).is_some_and(|w| number(w));
        // Ratios and acidity have no unit.
        let unitless = matches!(plain(before).as_str(), "C:N" | "pH" | "N") || plain(word).contains(':');
        let counted =
            !ends && next.chars().next().is_some_and(char::is_alphabetic) && !NO_NOUN.contains(&next);
        if !(measured || dated || year || listed || numbered(n) || joined || second || unitless || counted) {
            let from = n.saturating_sub(3);
            out.push(words[from..(n + 3).min(words.len())].join(" "));
        }
    }
    out
}

/// The names of a farm that have a number in them, which is no amount.
pub fn names(checked: &Checked) -> BTreeSet<String> {
    checked
        .diary
        .things
        .iter()
        .map(|t| t.thing.name.to_string())
        .filter(|n| n.contains(char::is_numeric))
        .collect()
}
