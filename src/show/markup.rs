//! Stress and links in a line of Markdown.
//!
//! Comes in: a paragraph or a cell of a page. Goes out: its words without the marks, and which of them are
//! stressed. What stands between backticks is not read, and stays between them.

use super::{layout::harmless, paint::Ink};

/// Words and their stress.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Marked {
    /// The words.
    pub text: String,
    /// For each letter that is no white space, the ink that its marks ask for.
    pub inks: Vec<Option<Ink>>,
}

impl Marked {
    /// Reads one paragraph.
    pub fn read(markdown: &str) -> Self {
        let mut out = Self { text: String::new(), inks: Vec::new() };
        out.take(markdown, None, 0);
        out
    }

    fn push(&mut self, c: char, ink: Option<Ink>) {
        self.text.push(c);
        if !c.is_whitespace() && harmless(c).is_some() {
            self.inks.push(ink);
        }
    }

    /// `deep` is how many marks this stands in: more than a few are no writing, and are left as they are.
    fn take(&mut self, markdown: &str, ink: Option<Ink>, deep: usize) {
        let mut at = 0;
        while let Some(rest) = markdown.get(at..).filter(|r| !r.is_empty()) {
            let before = markdown.get(..at).and_then(|b| b.chars().next_back());
            if let Some(code) = code(rest) {
                code.chars().for_each(|c| self.push(c, ink));
                at += code.len();
            } else if deep < DEEPEST
                && let Some((inner, length, ink)) = stressed(rest, before, ink)
            {
                self.take(inner, Some(ink), deep + 1);
                at += length;
            } else if let Some((words, address, length)) = link(rest) {
                self.take(words, ink, deep + 1);
                if !words.contains(address) {
                    format!(" ({address})").chars().for_each(|c| self.push(c, ink));
                }
                at += length;
            } else if let Some(c) = escaped(rest) {
                self.push(c, ink);
                at += 1 + c.len_utf8();
            } else if let Some(c) = rest.chars().next() {
                self.push(c, ink);
                at += c.len_utf8();
            }
        }
    }
}

/// Marks within marks that are read.
const DEEPEST: usize = 3;

/// A stretch between backticks, with them.
fn code(rest: &str) -> Option<&str> {
    let inner = rest.strip_prefix('`')?;
    rest.get(..inner.find('`')? + 2)
}

/// What stands between marks of stress, with the bytes it takes and its ink.
fn stressed(rest: &str, before: Option<char>, now: Option<Ink>) -> Option<(&str, usize, Ink)> {
    let (mark, ink) = ["**", "__", "*", "_"]
        .into_iter()
        .find(|m| rest.starts_with(m))
        .map(|m| (m, if m.len() == 2 { Ink::Strong } else { Ink::Stressed }))?;
    if before.is_some_and(char::is_alphanumeric) {
        return None;
    }
    let inner = rest.get(mark.len()..)?;
    if inner.starts_with(char::is_whitespace) || inner.starts_with(mark.chars().next()?) {
        return None;
    }
    let closes = |at: &usize| {
        let (before, after) = (inner.get(..*at), inner.get(at + mark.len()..).unwrap_or(""));
        let stands = before.and_then(|b| b.chars().next_back()).is_some_and(|c| !c.is_whitespace());
        let single =
            mark.len() == 1 && (after.starts_with(mark) || before.is_some_and(|b| b.ends_with(mark)));
        stands && !single && !after.starts_with(char::is_alphanumeric)
    };
    let end = inner.match_indices(mark).map(|(at, _)| at).find(closes)?;
    let ink = if now == Some(Ink::Strong) { Ink::Strong } else { ink };
    Some((inner.get(..end)?, end + 2 * mark.len(), ink))
}

/// `[words](address)`: both, and the bytes it takes.
fn link(rest: &str) -> Option<(&str, &str, usize)> {
    let (words, after) = rest.strip_prefix('[')?.split_once("](")?;
    let (address, _) = after.split_once(')')?;
    let plain = !words.contains([']', '\n']) && !address.contains(char::is_whitespace);
    plain.then_some((words, address, words.len() + address.len() + 4))
}

/// A mark that is meant as it stands: `\*`.
fn escaped(rest: &str) -> Option<char> {
    rest.strip_prefix('\\')?.chars().next().filter(|c| matches!(c, '*' | '_' | '`' | '[' | ']' | '|' | '\\'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(markdown: &str) -> String {
        Marked::read(markdown).text
    }

    #[test]
    fn marks_of_stress_are_taken_away_and_told() {
        let marked = Marked::read("a **b c** *d*");
        assert_eq!(marked.text, "a b c d");
        assert_eq!(marked.inks, [None, Some(Ink::Strong), Some(Ink::Strong), Some(Ink::Stressed)]);
        assert_eq!(text("**No trial of *these* was found.** Straw"), "No trial of these was found. Straw");
    }

    #[test]
    fn what_is_no_stress_stays() {
        for plain in [
            "5 * 3 * 2",
            "4*4",
            "snake_case_name",
            "a * b",
            "** alone",
            "`a *b* _c_`",
            "2 ** 3 ** 4",
            "*",
            "**",
            "***",
        ] {
            assert_eq!(text(plain), plain);
        }
        assert_eq!(text("\\*not stressed\\*"), "*not stressed*");
    }

    #[test]
    fn a_link_is_its_words_and_where_it_leads() {
        assert_eq!(text("see [the page](a/b.md)."), "see the page (a/b.md).");
        assert_eq!(text("[a](a)"), "a");
        assert_eq!(text("[a] (b)"), "[a] (b)");
    }
}
