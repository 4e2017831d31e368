//! One line of a rule page read by the grammar: items, comparisons, heads, tags, each with its place.
//!
//! Comes in: a passage. Goes out: its shape as plain structures. It does not know which sentences are
//! declared; an unreadable line is answered with a line of the shape that was meant.

use pest::{Parser, iterators::Pair};

use super::shapes::{Body, Compared, Direction, Head, How, Item, Said, Spot, Sum, Tag, Unread};
use crate::{
    base::span::{Loc, Span},
    model::{
        page::Passage,
        program::{Function, Gather, Told},
    },
};
use grammar::{Grammar, Rule};

/// The derived parser, whose items carry no documentation of their own.
#[allow(missing_docs)]
mod grammar {
    /// The grammar of rule lines.
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/rule.pest"]
    pub(super) struct Grammar;
}

/// The longest line that is read, in bytes.
const MOST_BYTES: usize = 2000;
/// The deepest brackets that are read.
const MOST_BRACKETS: usize = 8;
/// The most signs of computing in a line.
const MOST_SIGNS: usize = 40;

/// Reads a declaration: its items and tags.
///
/// # Errors
/// Says what cannot stand in a sentence.
pub fn declaration(p: &Passage) -> Result<(Said, Vec<Tag>), Unread> {
    let at = At::whole(p);
    let mut parts = at.parse(Rule::declaration, "{book} was lent to {person} on {day:date}")?;
    Ok((at.said(&mut parts), at.tags(parts)))
}

/// Whether a passage could be read as a comparison of two sides.
///
/// What begins with a bare word never is: no word is greater or less by itself (`today is {day}`). Nor is
/// `{x} is word`: a rule that uses it says the sentence if it is declared, and compares if it is not.
pub fn is_comparison(p: &Passage) -> bool {
    let at = At::whole(p);
    at.parse(Rule::compares, "").is_ok_and(|mut parts| {
        parts.next().and_then(|p| at.compared(p)).is_some_and(|c| !matches!(c.left, Sum::Word(_)))
    }) && !at.parse(Rule::holds, "").is_ok_and(|mut parts| is_word(&at.said(&mut parts)))
}

/// `{x} is word`
fn is_word(said: &Said) -> bool {
    let items: Vec<&Item> = said.it.iter().map(|i| &i.it).collect();
    matches!(items[..], [Item::Hole(_), Item::Word(is), Item::Word(word)]
        if is == "is" && word.starts_with(char::is_alphabetic))
}

/// A declaration taken for a sentence that stands alone, without tags.
///
/// # Errors
/// Says that a tag does not belong there.
pub fn untagged((said, tags): &(Said, Vec<Tag>)) -> Result<&Said, Unread> {
    match tags.first() {
        None => Ok(said),
        Some(tag) => Err(Unread {
            loc: tag.loc,
            message: format!("`({})` belongs into a line of a rule, not here.", tag.it),
            write: "",
        }),
    }
}

/// Reads what follows `if` or `and`.
///
/// # Errors
/// Says what shape the line seems to want.
pub fn body(p: &Passage) -> Result<Body, Unread> {
    let at = At::after_first_word(p);
    let words: Vec<&str> = at.text.split_whitespace().collect();
    if words.first() == Some(&"no") {
        let mut parts =
            at.parse(Rule::absence, "no {book} came back on {day}, with {day} is after {lent}")?;
        let said = at.said(&mut parts);
        let (with, tags) = at.rest(parts);
        return Ok(Body::No(said, with, tags));
    }
    if words.windows(2).any(|w| w == ["such", "that"]) {
        return at.gathers();
    }
    if let Ok(mut parts) = at.parse(Rule::compares, "")
        && let Some(compared) = parts.next().and_then(|p| at.compared(p))
        && !matches!(compared.left, Sum::Word(_))
    {
        let tags = at.tags(parts);
        let said = at.parse(Rule::holds, "").map(|mut parts| at.said(&mut parts));
        return Ok(match said {
            Ok(said) if is_word(&said) => Body::Either(said, compared, tags),
            _ => Body::Compares(compared, tags),
        });
    }
    let mut parts = at.parse(Rule::holds, "{book} was lent to {person} on {day}  (here)")?;
    let said = at.said(&mut parts);
    Ok(Body::Holds(said, at.tags(parts)))
}

/// Reads what follows `then`.
///
/// # Errors
/// Says what shape the head seems to want.
pub fn head(p: &Passage) -> Result<Head, Unread> {
    let at = At::after_first_word(p);
    let first = at.text.split_whitespace().next().unwrap_or("");
    if let Some(part) = told(first) {
        return at.told(part);
    }
    match first {
        "alarm" | "warn" | "hint" => {
            let mut parts = at.parse(Rule::finding, "warn about {book}: \"{book} is overdue\"")?;
            let severity = at.spot(&mut parts);
            let about = at.subjects(&mut parts);
            Ok(Head::Finding(severity, about, at.inner(&mut parts)))
        }
        "caution" => {
            let mut parts = at.parse(Rule::caution, "caution about {book}: \"handle it with gloves\"")?;
            let about = at.subjects(&mut parts);
            Ok(Head::Caution(about, at.inner(&mut parts)))
        }
        "answer" => {
            let write = "answer \"who has it\" in outbreak {o} about {book}: \"a reader\"";
            let mut parts = at.parse(Rule::answer, write)?;
            let question = at.inner(&mut parts);
            let outbreak = at.inner(&mut parts);
            let more = parts.as_slice().first().map(Pair::as_rule) == Some(Rule::hole);
            let about = more.then(|| at.inner(&mut parts));
            Ok(Head::Answer { question, outbreak, about, answer: at.inner(&mut parts) })
        }
        "do" => at.action(),
        _ => {
            let mut parts = at.parse(Rule::holds, "{book} is overdue since {day}")?;
            let said = at.said(&mut parts);
            match at.tags(parts).into_iter().next() {
                Some(tag) => Err(Unread {
                    loc: tag.loc,
                    message: format!("A conclusion takes no tag such as `({})`.", tag.it),
                    write: "",
                }),
                None => Ok(Head::Said(said)),
            }
        }
    }
}

/// The part of a recipe a head begins to tell: `step:`, `sum "…"`. A warning or caution about something is
/// not one.
fn told(first: &str) -> Option<Told> {
    let part = Told::ALL.into_iter().find(|part| part.word() == first.trim_end_matches(':'))?;
    let about = matches!(part, Told::Warn | Told::Caution) && !first.ends_with(':');
    (!about).then_some(part)
}

/// The text under the grammar, and where it starts in its file.
struct At<'a> {
    text: &'a str,
    start: usize,
    passage: &'a Passage,
}

/// Parsed parts in order, keywords left out.
type Parts<'a> = std::vec::IntoIter<Pair<'a, Rule>>;

fn parts<'a>(pairs: impl IntoIterator<Item = Pair<'a, Rule>>) -> Parts<'a> {
    let kept: Vec<_> = pairs.into_iter().filter(|p| !is_keyword(p.as_rule())).collect();
    kept.into_iter()
}

fn is_keyword(rule: Rule) -> bool {
    matches!(
        rule,
        Rule::kw_is
            | Rule::kw_and
            | Rule::kw_no
            | Rule::kw_with
            | Rule::kw_within
            | Rule::kw_since
            | Rule::kw_by
            | Rule::kw_until
            | Rule::such_that
            | Rule::EOI
    )
}

impl<'a> At<'a> {
    fn whole(p: &'a Passage) -> Self {
        Self { text: p.text.trim_end(), start: p.loc.span.start as usize, passage: p }
    }

    fn after_first_word(p: &'a Passage) -> Self {
        let lead = p.text.len() - p.text.trim_start().len();
        let words = p.text.trim_start();
        let word = words.find(char::is_whitespace).map_or(p.text.len(), |w| lead + w);
        let text = p.text.get(word..).unwrap_or("");
        let gap = text.len() - text.trim_start().len();
        Self { text: text.trim(), start: p.loc.span.start as usize + word + gap, passage: p }
    }

    fn place(&self, from: usize, to: usize) -> Loc {
        Loc::new(self.passage.loc.file, Span::new(self.start + from, self.start + to))
    }

    fn loc(&self, pair: &Pair<'_, Rule>) -> Loc {
        let span = pair.as_span();
        self.place(span.start(), span.start() + span.as_str().trim_end().len())
    }

    /// Lines that no page needs, and that a parser by descent should not be given.
    fn too_much(&self) -> Option<Unread> {
        let mut depth = 0usize;
        let deepest = self.text.chars().map(|c| {
            match c {
                '(' => depth += 1,
                ')' => depth = depth.saturating_sub(1),
                _ => {}
            }
            depth
        });
        let too_deep = deepest.max().unwrap_or(0) > MOST_BRACKETS;
        let signs = self.text.split_whitespace().filter(|w| matches!(*w, "+" | "-" | "*" | "/")).count();
        let message = if self.text.len() > MOST_BYTES {
            format!("This line is longer than {MOST_BYTES} letters.")
        } else if too_deep {
            format!("This line has more than {MOST_BRACKETS} brackets within each other.")
        } else if signs > MOST_SIGNS {
            format!("This line computes with more than {MOST_SIGNS} signs.")
        } else {
            return None;
        };
        Some(Unread { loc: self.place(0, self.text.len()), message, write: "" })
    }

    fn parse(&self, rule: Rule, write: &'static str) -> Result<Parts<'a>, Unread> {
        if let Some(unread) = self.too_much() {
            return Err(unread);
        }
        match Grammar::parse(rule, self.text) {
            Ok(pairs) => Ok(parts(pairs.flat_map(Pair::into_inner))),
            Err(e) => Err(self.unread(&e, write)),
        }
    }

    fn unread(&self, e: &pest::error::Error<Rule>, write: &'static str) -> Unread {
        let from = match e.location {
            pest::error::InputLocation::Pos(p) | pest::error::InputLocation::Span((p, _)) => p,
        };
        let rest = self.text.get(from..).unwrap_or("");
        let word = rest.split_whitespace().next().unwrap_or("");
        let message = if self.text.is_empty() {
            "This line says nothing.".to_owned()
        } else if rest.starts_with('{') {
            "This `{` is never closed.".to_owned()
        } else if rest.starts_with(['"', '\u{201c}', '\u{201d}']) {
            "This quotation is never closed, or does not belong here.".to_owned()
        } else if word.is_empty() {
            "This line ends too early.".to_owned()
        } else if from == 0 {
            format!("This line begins with `{word}`, but does not go on as such a line does.")
        } else {
            format!("This line cannot be read from `{word}` on.")
        };
        Unread { loc: self.place(from, from + word.len()), message, write }
    }

    /// The next part's words as they stand.
    fn spot(&self, parts: &mut Parts<'a>) -> Spot<String> {
        match parts.next() {
            Some(p) => Spot { loc: self.loc(&p), it: p.as_str().trim().to_owned() },
            None => Spot { loc: self.passage.loc, it: String::new() },
        }
    }

    /// What stands within the braces or quotes of the next part.
    fn inner(&self, parts: &mut Parts<'a>) -> Spot<String> {
        match parts.next() {
            Some(p) => self.within(p),
            None => Spot { loc: self.passage.loc, it: String::new() },
        }
    }

    fn within(&self, pair: Pair<'a, Rule>) -> Spot<String> {
        let loc = self.loc(&pair);
        let it = pair.into_inner().next().map_or("", |p| p.as_str());
        Spot { loc, it: it.split_whitespace().collect::<Vec<_>>().join(" ") }
    }

    fn subjects(&self, parts: &mut Parts<'a>) -> Vec<Spot<String>> {
        let Some(pair) = parts.next() else { return Vec::new() };
        self::parts(pair.into_inner()).map(|p| self.within(p)).collect()
    }

    fn said(&self, parts: &mut Parts<'a>) -> Said {
        let Some(pair) = parts.next() else {
            return Spot { it: Vec::new(), loc: self.passage.loc };
        };
        let loc = self.loc(&pair);
        let items = pair.into_inner().filter_map(|item| {
            let p = item.into_inner().next()?;
            let loc = self.loc(&p);
            let it = match p.as_rule() {
                Rule::hole => Item::Hole(self.within(p).it),
                Rule::quoted => Item::Quoted(self.within(p).it),
                Rule::mark => Item::Mark(p.as_str().to_owned()),
                _ => Item::Word(p.as_str().to_owned()),
            };
            Some(Spot { it, loc })
        });
        Spot { it: items.collect(), loc }
    }

    fn tags(&self, parts: Parts<'a>) -> Vec<Tag> {
        parts.filter(|p| p.as_rule() == Rule::tag).map(|p| self.within(p)).collect()
    }

    /// Conditions after `with`, and tags before or after them.
    fn rest(&self, parts: Parts<'a>) -> (Vec<Compared>, Vec<Tag>) {
        let mut with = Vec::new();
        let mut tags = Vec::new();
        for p in parts {
            match p.as_rule() {
                Rule::tag => tags.push(self.within(p)),
                Rule::conditions => with.extend(
                    p.into_inner()
                        .filter(|c| c.as_rule() == Rule::comparison)
                        .filter_map(|c| self.compared(c)),
                ),
                _ => {}
            }
        }
        (with, tags)
    }

    fn gathers(&self) -> Result<Body, Unread> {
        let write = "{n} is how many different {book} such that {book} was lent to {person} on {}";
        let mut parts = self.parse(Rule::gathers, write)?;
        let into = self.inner(&mut parts);
        let how = match parts.next().and_then(|p| p.into_inner().next()).map(|p| p.as_rule()) {
            Some(Rule::total) => Gather::Total,
            Some(Rule::earliest | Rule::least) => Gather::Least,
            Some(Rule::latest | Rule::greatest) => Gather::Greatest,
            _ => Gather::Count,
        };
        let of = self.inner(&mut parts);
        let said = self.said(&mut parts);
        let (with, tags) = self.rest(parts);
        Ok(Body::Gather { into, how, of, said, with, tags })
    }

    fn told(&self, part: Told) -> Result<Head, Unread> {
        let write = match part {
            Told::Sum => "sum \"books in all\": \"{n}\"",
            _ => "step: \"Put {book} on {shelf}.\"",
        };
        let mut parts = self.parse(Rule::told, write)?;
        parts.next();
        let first = self.inner(&mut parts);
        let (label, text) = match parts.len() {
            0 => (None, first),
            _ => (Some(first), self.inner(&mut parts)),
        };
        if label.is_some() == (part == Told::Sum) {
            return Ok(Head::Told { part, label, text });
        }
        let message = match part {
            Told::Sum => "A sum says what it is called.".to_owned(),
            _ => format!("Only a sum is called something; a {} is not.", part.word()),
        };
        Err(Unread { loc: self.passage.loc, message, write })
    }

    fn action(&self) -> Result<Head, Unread> {
        let write = "do ask {person} for {book} since {day}, by {day} + 3 days, until {book} came back on {}";
        let mut parts = self.parse(Rule::action, write)?;
        let deed = self.said(&mut parts);
        let mut sums = Vec::new();
        let mut until = None;
        while let Some(next) = parts.as_slice().first().map(Pair::as_rule) {
            match next {
                Rule::sum => sums.extend(parts.next().and_then(|p| self.sum(p))),
                Rule::sentence => until = Some(self.said(&mut parts)),
                _ => {
                    parts.next();
                }
            }
        }
        let mut sums = sums.into_iter();
        match (sums.next(), sums.next()) {
            (Some(since), Some(by)) => Ok(Head::Action { deed, since, by, until }),
            _ => Err(Unread { loc: self.passage.loc, message: "This action has no days.".into(), write }),
        }
    }

    fn compared(&self, pair: Pair<'a, Rule>) -> Option<Compared> {
        let mut parts = parts(pair.into_inner());
        let left = self.sum(parts.next()?)?;
        let (mut may, mut how, mut right) = (false, How::Same, None);
        for p in self::parts(parts.next()?.into_inner()) {
            match p.as_rule() {
                Rule::may_be => may = true,
                Rule::how => how = self.how(p)?,
                _ => right = self.sum(p),
            }
        }
        Some(Compared { left, how, right: right?, may })
    }

    fn how(&self, pair: Pair<'a, Rule>) -> Option<How> {
        let p = pair.into_inner().next()?;
        Some(match p.as_rule() {
            Rule::within | Rule::more_by => {
                let within = p.as_rule() == Rule::within;
                let mut inner = parts(p.into_inner().filter(|p| p.as_rule() != Rule::more));
                let by = self.sum(inner.next()?)?;
                let direction = match inner.next()?.as_str() {
                    "after" => Direction::After,
                    "before" => Direction::Before,
                    _ => Direction::Of,
                };
                if within { How::Within(by, direction) } else { How::MoreBy(by, direction) }
            }
            Rule::on_or_before | Rule::at_most => How::AtMost,
            Rule::on_or_after | Rule::at_least => How::AtLeast,
            Rule::less | Rule::before => How::Less,
            Rule::more | Rule::after => How::More,
            _ => How::Different,
        })
    }

    fn sum(&self, pair: Pair<'a, Rule>) -> Option<Sum> {
        let mut parts = pair.into_inner();
        let first = parts.next()?;
        let mut left = match first.as_rule() {
            Rule::plain | Rule::product => self.sum(first)?,
            _ => self.factor(first)?,
        };
        while let Some(op) = parts.next() {
            if op.as_rule() == Rule::rounding {
                let function = match op.as_str().split_whitespace().nth(1) {
                    Some("up") => Function::RoundedUp,
                    Some(_) => Function::RoundedDown,
                    None => Function::Rounded,
                };
                left = Sum::Call(function, self.loc(&op), vec![left]);
                continue;
            }
            let right = parts.next()?;
            let op = match op.as_str() {
                "+" => '+',
                "*" | "\u{d7}" => '*',
                "/" => '/',
                _ => '-',
            };
            let right = match right.as_rule() {
                Rule::product => self.sum(right)?,
                _ => self.factor(right)?,
            };
            left = Sum::Pair(Box::new(left), op, Box::new(right));
        }
        Some(left)
    }

    /// `the greater of … and …`, `the low end of …`
    fn call(&self, pair: Pair<'a, Rule>) -> Option<Sum> {
        let mut inner = parts(pair.into_inner());
        let words = inner.next()?;
        let function = match words.as_str().split_whitespace().nth(1)? {
            "greater" => Function::Greater,
            "lesser" => Function::Lesser,
            "low" => Function::LowEnd,
            "decimal" => Function::Logarithm,
            _ => Function::HighEnd,
        };
        let loc = self.loc(&words);
        let sides: Option<Vec<Sum>> = inner
            .map(|side| if side.as_rule() == Rule::factor { self.factor(side) } else { self.sum(side) })
            .collect();
        Some(Sum::Call(function, loc, sides?))
    }

    fn factor(&self, pair: Pair<'a, Rule>) -> Option<Sum> {
        let p = pair.into_inner().next()?;
        let loc = self.loc(&p);
        let plain = |p: Pair<'a, Rule>| Spot { loc, it: p.as_str().trim().to_owned() };
        Some(match p.as_rule() {
            Rule::sum => self.sum(p)?,
            Rule::pick | Rule::end => self.call(p)?,
            Rule::hole => Sum::Hole(self.within(p)),
            Rule::quoted => Sum::Word(self.within(p)),
            Rule::figure => Sum::Figure(plain(p)),
            _ => Sum::Word(plain(p)),
        })
    }
}

#[cfg(test)]
mod tests;
