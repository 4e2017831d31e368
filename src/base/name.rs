//! How names are compared: folding, and the near miss worth offering.
//!
//! Comes in: words as people write them. Goes out: a comparable key, or a suggestion.
//! It holds no list of names itself.

/// The key under which a name is known: lower case, every run of spaces, hyphens and look-alike
/// dashes one space, ends trimmed. `North-1`, `north 1` and `NORTH–1` are one name.
pub fn fold(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    let mut gap = false;
    for c in name.chars().filter(|c| !is_unseen(*c)) {
        if c.is_whitespace() || matches!(c, '-' | '\u{2010}'..='\u{2015}' | '\u{2212}' | '_') {
            gap = !out.is_empty();
        } else {
            if std::mem::take(&mut gap) {
                out.push(' ');
            }
            match c {
                '\u{2018}' | '\u{2019}' => out.push('\''),
                _ => out.extend(c.to_lowercase()),
            }
        }
    }
    out
}

/// The last place in a text where a name stands by itself, however it is spelt.
pub fn find_name(text: &str, name: &str) -> Option<(usize, usize)> {
    all_names(text, name).next()
}

/// Every place in a text where a name stands by itself, the last first.
pub fn all_names<'t>(text: &'t str, name: &str) -> impl Iterator<Item = (usize, usize)> + 't {
    let due = fold(name);
    let joins = |c: char| c.is_alphanumeric();
    let starts = text.char_indices().rev().filter(move |(at, c)| {
        joins(*c) && !text.get(..*at).unwrap_or("").chars().next_back().is_some_and(joins)
    });
    starts.filter_map(move |(start, _)| {
        let rest = text.get(start..).unwrap_or("");
        let mut ends = rest.char_indices().map(|(at, c)| at + c.len_utf8()).filter(|end| {
            let next = rest.get(*end..).unwrap_or("").chars().next();
            !next.is_some_and(joins)
        });
        let folded = |end: usize| fold(rest.get(..end).unwrap_or(""));
        let end = ends.find(|end| folded(*end).len() >= due.len())?;
        (!due.is_empty() && folded(end) == due).then_some((start, start + end))
    })
}

/// Whether a character cannot be seen: a soft hyphen, a space or mark without width, one that turns the
/// direction of writing.
pub fn is_unseen(c: char) -> bool {
    matches!(
        c,
        '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'
            | '\u{2066}'..='\u{2069}' | '\u{feff}'
    )
}

/// The plural of a word as English makes it: `bucket`, `buckets`. Only the last word of several changes.
pub fn plural(word: &str) -> String {
    let stem = |cut: usize| word.get(..word.len().saturating_sub(cut)).unwrap_or("");
    let before_last = word.chars().rev().nth(1);
    if ["s", "x", "z", "ch", "sh"].iter().any(|e| word.ends_with(e)) {
        format!("{word}es")
    } else if word.ends_with('y') && before_last.is_some_and(|c| !"aeiou".contains(c)) {
        format!("{}ies", stem(1))
    } else {
        format!("{word}s")
    }
}

/// A number and what there is so much of: `1 pot`, `5 pots`, `0.5 pots`.
pub fn counted(number: &str, one: &str) -> String {
    if number == "1" { format!("1 {one}") } else { format!("{number} {}", plural(one)) }
}

/// How many edits make `candidate` of `word`, if few enough for a slip of the finger: at most one in
/// three letters (a swap of neighbours is one edit), and never a wholly different word.
pub fn slip(word: &str, candidate: &str) -> Option<usize> {
    let (folded, other) = (fold(word), fold(candidate));
    let (letters, others) = (folded.chars().count(), other.chars().count());
    let allowed = letters.div_ceil(3).clamp(1, 3);
    if letters.abs_diff(others) > allowed {
        return None;
    }
    let edits = strsim::osa_distance(&folded, &other);
    (edits <= allowed && edits < others.max(2) - 1 + usize::from(edits == 0)).then_some(edits)
}

/// The candidate closest to `word`, if close enough to be a slip of the finger.
/// Ties go to the candidate that comes first in the alphabet, so the answer does not depend on order.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    candidates.into_iter().filter_map(|c| Some((slip(word, c)?, c))).min().map(|(_, c)| c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_spaces_and_dashes_are_one_name() {
        for other in ["north-1", "North 1", "NORTH\u{2013}1", " north  1 ", "north_1"] {
            assert_eq!(fold(other), "north 1");
        }
        assert_eq!(fold("Hobb\u{2019}s"), "hobb's");
        for turned in ["\u{2067}north-1\u{2069}", "no\u{200d}rth-1", "\u{202e}north-1\u{202c}"] {
            assert_eq!(fold(turned), "north 1");
        }
    }

    #[test]
    fn a_name_is_found_however_it_is_spelt_and_only_by_itself() {
        assert_eq!(find_name("half of bed North 1", "north-1"), Some((12, 19)));
        assert_eq!(find_name("lot tern-26b", "tern-26"), None);
        assert_eq!(find_name("lot lot", "lot"), Some((4, 7)));
        assert_eq!(find_name("bean", ""), None);
        assert_eq!(find_name("tern-26", "26"), Some((5, 7)));
        assert_eq!(
            find_name("\u{130}\u{130} north-1", "North 1"),
            Some((5, 12)),
            "a letter that folds to two"
        );
    }

    #[test]
    fn a_plural_is_made_as_english_makes_it() {
        for (one, many) in [("shelf box", "shelf boxes"), ("tray", "trays"), ("berry", "berries")] {
            assert_eq!(plural(one), many);
        }
        let counts = ["1", "2", "0", "1-2"].map(|n| counted(n, "pot"));
        assert_eq!(counts, ["1 pot", "2 pots", "0 pots", "1-2 pots"]);
    }

    #[test]
    fn a_slip_of_the_finger_is_offered_and_another_word_is_not() {
        let names = ["tern-26", "bag-mix", "tomato"];
        assert_eq!(nearest("tern-62", names), Some("tern-26"));
        assert_eq!(nearest("tomatos", names), Some("tomato"));
        assert_eq!(nearest("straw", names), None);
        assert_eq!(nearest("", names), None);
    }
}
