//! What a grower means by `why --not SENTENCE` or `why --not CODE NAME`.
//!
//! Comes in: the words typed. Goes out: sentences of the program with some blanks filled. It does not
//! look whether they hold.

use super::{Known, subject};
use crate::{
    base::name::fold,
    measure::{
        date::{self, Days},
        number::Range,
        unit,
        value::{BlankType, Value},
    },
    model::{
        program::{Atom, Meaning, Status, Term},
        sentence::{Part, Sentence, SentenceId},
    },
};

/// Reads what was typed as sentences: those of the same words, or the findings of a code.
///
/// # Errors
/// Says in words why it is neither, with sentences that begin alike.
pub fn find(known: &Known<'_>, typed: &str) -> Result<Vec<Atom>, String> {
    let typed = typed.trim().trim_end_matches(['.', '?']);
    if let Some(found) = of_code(known, typed) {
        return found;
    }
    let words = split(typed);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let mut found: Vec<(usize, Atom)> = Vec::new();
    for (n, sentence) in known.program.sentences.iter().enumerate() {
        let mut terms = Vec::new();
        if let (Some(strange), Ok(n)) =
            (fill(known, sentence, &sentence.parts, &words, &mut terms), u32::try_from(n))
        {
            found.push((strange, atom(SentenceId(n), terms)));
        }
    }
    // A reading in which every name is known comes before one that takes a name for a strange word.
    let least = found.iter().map(|(strange, _)| *strange).min().unwrap_or(0);
    found.retain(|(strange, _)| *strange == least);
    if found.is_empty() {
        Err(no_sentence(known, typed))
    } else {
        Ok(found.into_iter().map(|(_, a)| a).collect())
    }
}

fn atom(sentence: SentenceId, terms: Vec<Term>) -> Atom {
    Atom { sentence, terms, entry: Term::Any, status: Status::Done }
}

/// `CODE`, `CODE NAME`, `CODE about NAME` or `CODE on NAME`: the heads of the page's findings, else of its actions.
fn of_code(known: &Known<'_>, typed: &str) -> Option<Result<Vec<Atom>, String>> {
    let (code, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
    let rules: Vec<_> = known.program.rules.iter().filter(|r| *r.page == *code).collect();
    if rules.is_empty() {
        return None;
    }
    let name = rest.trim();
    let name = name.strip_prefix("about ").or_else(|| name.strip_prefix("on ")).unwrap_or(name).trim();
    let subject = if name.is_empty() {
        None
    } else {
        match subject::find(known, name) {
            Ok(subject::Subject::Value(value)) => Some(value),
            Ok(_) => return Some(Err(format!("`{name}` is no thing that {code} could be about"))),
            Err(why) => return Some(Err(why)),
        }
    };
    let heads = |wanted: fn(&Meaning) -> Option<&[usize]>| -> Vec<Atom> {
        rules
            .iter()
            .filter_map(|rule| {
                let places = wanted(&rule.meaning)?;
                let mut terms = vec![Term::Any; rule.head.terms.len()];
                if let (Some(value), Some(place)) = (&subject, places.first())
                    && let Some(term) = terms.get_mut(*place)
                {
                    *term = Term::Const(value.clone());
                }
                Some(atom(rule.head.sentence, terms))
            })
            .collect()
    };
    let mut found = heads(|m| if let Meaning::Finding { about, .. } = m { Some(about) } else { None });
    if found.is_empty() {
        found = heads(|m| if let Meaning::Action { key, .. } = m { Some(key) } else { None });
    }
    Some(if found.is_empty() { Err(format!("no rule of {code} finds or asks anything")) } else { Ok(found) })
}

/// Words apart at spaces, a comma on its own, what is quoted together.
fn split(typed: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut quoted = false;
    let mut word = String::new();
    for c in typed.chars() {
        match c {
            '"' | '“' | '”' => quoted = !quoted,
            c if c.is_whitespace() && !quoted => {
                if !word.is_empty() {
                    out.push(std::mem::take(&mut word));
                }
            }
            ',' | ';' if !quoted => {
                if !word.is_empty() {
                    out.push(std::mem::take(&mut word));
                }
                out.push(c.to_string());
            }
            c => word.push(c),
        }
    }
    if !word.is_empty() {
        out.push(word);
    }
    out
}

/// Fills the blanks of a sentence from words; gives back how many words it had to take as they stand.
fn fill(
    known: &Known<'_>,
    sentence: &Sentence,
    parts: &[Part],
    words: &[&str],
    terms: &mut Vec<Term>,
) -> Option<usize> {
    let Some((part, later)) = parts.split_first() else {
        return words.is_empty().then_some(0);
    };
    match part {
        Part::Word(w) => {
            let (first, rest) = words.split_first()?;
            if w.to_lowercase() == first.to_lowercase() {
                fill(known, sentence, later, rest, terms)
            } else {
                None
            }
        }
        Part::Blank(n) => {
            let takes = sentence.blanks.get(*n)?.takes;
            // The longest name comes first, so that `lot tern-26` is not `lot` and a strange word.
            let most = words.len().checked_sub(later.len())?;
            let mut best: Option<(usize, Vec<Term>)> = None;
            for length in (1..=most).rev() {
                let (mine, rest) = words.split_at_checked(length)?;
                let Some((term, strange)) = term(known, takes, &mine.join(" ")) else { continue };
                let mut trial = terms.clone();
                trial.push(term);
                if let Some(further) = fill(known, sentence, later, rest, &mut trial)
                    && best.as_ref().is_none_or(|(least, _)| strange + further < *least)
                {
                    best = Some((strange + further, trial));
                }
            }
            let (strange, filled) = best?;
            *terms = filled;
            Some(strange)
        }
    }
}

/// What stands for a blank's words, and whether they are known (0) or taken as they stand.
fn term(known: &Known<'_>, takes: BlankType, text: &str) -> Option<(Term, usize)> {
    let lower = text.to_lowercase();
    if matches!(lower.as_str(), "{}" | "any" | "anything" | "anybody" | "any day")
        || lower.starts_with("any ")
    {
        return Some((Term::Any, 0));
    }
    let value = match takes {
        BlankType::Name => match subject::find(known, text) {
            Ok(subject::Subject::Value(value)) => value,
            _ if date::read_day(text).is_ok() => Value::Days(Days::on(date::read_day(text).ok()?)),
            _ if fold(text).split(' ').count() <= 3 => return Some((Term::Const(Value::word(lower)), 1)),
            _ => return None,
        },
        BlankType::Text => Value::word(text),
        BlankType::Date => Value::Days(Days::on(date::read_day(text).ok()?)),
        BlankType::Number => Value::Number(number(text)?),
        BlankType::Amount(_) | BlankType::AnyAmount => {
            let (size, name) = text.split_once(' ')?;
            unit::quantity(size.parse().ok()?, name)?
        }
        BlankType::Clock => {
            let (h, m) = text.split_once(':')?;
            Value::Clock(h.parse::<u16>().ok()?.checked_mul(60)?.checked_add(m.parse().ok()?)?)
        }
        BlankType::Entry => return None,
    };
    Some((Term::Const(value), 0))
}

fn number(text: &str) -> Option<Range> {
    match text.split_once('-') {
        Some((a, b)) if !a.is_empty() => Some(Range::new(a.parse().ok()?, b.parse().ok()?)),
        _ => text.parse().ok().map(Range::exact),
    }
}

/// An answer for words that are no sentence: the declared sentences that share most of them.
fn no_sentence(known: &Known<'_>, typed: &str) -> String {
    let mine: Vec<String> = fold(typed).split(' ').map(str::to_owned).collect();
    let mut alike: Vec<(usize, String)> = known
        .program
        .sentences
        .iter()
        .filter(|s| s.origin != crate::model::sentence::Origin::Head)
        .map(|s| {
            let words = s
                .parts
                .iter()
                .filter_map(|p| if let Part::Word(w) = p { Some(w.to_lowercase()) } else { None });
            let (mut shared, mut all) = (0, 0);
            for word in words {
                all += 1;
                shared += usize::from(mine.contains(&word));
            }
            ((shared * 100usize).checked_div(all).unwrap_or(0), s.pattern())
        })
        .filter(|(share, _)| *share >= 60)
        .collect();
    alike.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    alike.dedup();
    let near: Vec<String> = alike.into_iter().take(3).map(|(_, p)| format!("`{p}`")).collect();
    if near.is_empty() {
        format!("no page declares a sentence like `{typed}`")
    } else {
        format!("no page declares the sentence `{typed}`; these come near: {}", near.join(", "))
    }
}
