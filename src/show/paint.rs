//! Colour for a piece of text, or none.
//!
//! Comes in: text and what it means. Goes out: the text, in SGR colours (ECMA-48) where asked.
//! It looks at no environment: whether to colour is the caller's choice.

use crate::base::diagnostic::Severity;

/// What a piece of text means, which decides its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// A severity's own colour, bold.
    Severity(Severity),
    /// Bold: what is being said.
    Strong,
    /// Italic: a word that is stressed.
    Stressed,
    /// Dim: codes, places, gutters, asides.
    Quiet,
    /// A word that leads a remark.
    Lead,
    /// A caution's lead.
    Caution,
    /// Done and well.
    Well,
}

impl Ink {
    fn codes(self) -> &'static str {
        match self {
            Ink::Severity(Severity::Alarm) => "1;31",
            Ink::Severity(Severity::Error) => "1;35",
            Ink::Severity(Severity::Warn) => "1;33",
            Ink::Severity(Severity::Hint) => "1;36",
            Ink::Strong => "1",
            Ink::Stressed => "3",
            Ink::Quiet => "2",
            Ink::Lead => "36",
            Ink::Caution => "1;33",
            Ink::Well => "32",
        }
    }
}

/// `text` in its colour, or as it is when `colour` is false or the text is empty.
pub fn paint(text: &str, ink: Ink, colour: bool) -> String {
    if colour && !text.is_empty() {
        format!("\u{1b}[{}m{text}\u{1b}[0m", ink.codes())
    } else {
        text.to_owned()
    }
}

/// `text` without any SGR colours.
pub fn unpainted(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("\u{1b}[") {
        out.push_str(&rest[..at]);
        let after = &rest[at + 2..];
        match after.find(|c: char| c.is_ascii_alphabetic()) {
            Some(end) => rest = &after[end + 1..],
            None => return out,
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taking_the_colour_away_gives_the_text_back() {
        let both = format!(
            "{} then {}",
            paint("alarm", Ink::Severity(Severity::Alarm), true),
            paint("x", Ink::Quiet, true)
        );
        assert_eq!(unpainted(&both), "alarm then x");
        assert_eq!(paint("alarm", Ink::Strong, false), "alarm");
        assert_eq!(unpainted("cut off \u{1b}[3"), "cut off ");
    }
}
