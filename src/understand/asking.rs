//! What is asked of a recipe, read against the ways its page lists.
//!
//! Comes in: words as typed, the recipes, and what the journal and the vocabulary know. Goes out: the recipe
//! and one fact for each part of what was asked, or in words what could not be read and how it is asked. It
//! works nothing out, and knows no recipe by name.

use std::sync::Arc;

use super::{
    lexicon::{
        Vocabulary,
        kinds::{KINDS, suits, usual_kind},
        number_forms,
    },
    rulebook::{Lines, ask, asked_of},
};
use crate::{
    base::name::{fold, nearest},
    measure::{
        date::{self, Days},
        number::{self, Range},
        unit::{self, System},
        value::{BlankType, Quantity, Value},
    },
    model::{
        diary::Diary,
        page::{Page, PageKind},
        program::{Fact, FactSource, Program},
        sentence::{Blank, Part, Sentence, SentenceId},
    },
};

/// The most words a blank takes.
const LONGEST: usize = 8;
/// The word that begins what may be said beside.
const BESIDE: &str = "with";

/// What asking is read against.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// All pages; those that are no recipe are passed over.
    pub pages: &'a [Arc<Page>],
    /// How recipes are asked for.
    pub ways: &'a Ways,
    /// The words of the tables.
    pub vocabulary: &'a Vocabulary,
    /// The names and containers of the journal.
    pub diary: &'a Diary,
    /// Which gallon and ton the farm means.
    pub system: Option<System>,
}

/// What was asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The code of the recipe's page.
    pub page: Arc<str>,
    /// What was said, as facts.
    pub facts: Vec<Fact>,
}

/// Every way of asking, in the order of pages.
#[derive(Debug)]
pub struct Ways(Vec<Way>);

/// A way of asking: the sentence it says, and the page it is of.
#[derive(Debug)]
struct Way {
    sentence: Sentence,
    id: SentenceId,
    page: Arc<str>,
    beside: bool,
}

impl Way {
    /// As it is shown: `shelves COUNT BOOK`.
    fn shown(&self) -> String {
        shown(&self.sentence)
    }

    /// Its words, without what says whose they are.
    fn parts(&self) -> &[Part] {
        self.sentence.parts.get(lead()..).unwrap_or(&[])
    }
}

/// How many words of a sentence say that it was asked, and of which page.
fn lead() -> usize {
    asked_of("").len()
}

/// A way of asking with its blanks in capitals.
pub fn shown(sentence: &Sentence) -> String {
    let words = Sentence { parts: sentence.parts.get(lead()..).unwrap_or(&[]).into(), ..sentence.clone() };
    words.filled(|n| {
        sentence.blanks.get(n).map_or_else(String::new, |b| b.name.to_uppercase().replace('_', "-"))
    })
}

/// How far a reading came, and what stopped it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Miss {
    far: usize,
    why: String,
}

/// Reads what was asked.
///
/// # Errors
/// Says in words what could not be read, with the ways of asking that come nearest.
pub fn read(words: &str, cx: &Context<'_>) -> Result<Asked, String> {
    let ways = &*cx.ways.0;
    let mut clauses = cut(words).into_iter();
    let main = clauses.next().unwrap_or_default();
    let found = best(ways.iter().filter(|w| !w.beside), &main, cx);
    let (way, values) = found.map_err(|found| match found {
        Some((way, miss)) if miss.far > 0 => told(&miss.why, ways, way, cx),
        _ => unknown(&main, ways),
    })?;
    let mut facts = vec![fact(way, values)];
    for clause in clauses {
        let of_page = || ways.iter().filter(|w| w.beside && w.page == way.page);
        let (beside, values) = best(of_page(), &clause, cx).map_err(|found| {
            let why = match found {
                Some((_, miss)) if miss.far > 1 => miss.why,
                _ => format!("`{}` is nothing this recipe takes.", clause.join(" ")),
            };
            told(&why, ways, way, cx)
        })?;
        facts.push(fact(beside, values));
    }
    Ok(Asked { page: way.page.clone(), facts })
}

fn fact(way: &Way, values: Vec<Value>) -> Fact {
    Fact { sentence: way.id, values, planned: false, source: FactSource::Given }
}

impl Ways {
    /// Those of the recipes among pages, whose lines `lines` may know.
    pub fn of(pages: &[Arc<Page>], program: &Program, lines: &Lines) -> Self {
        let recipes = pages.iter().filter(|p| p.kind == PageKind::Recipe);
        let ways = recipes.flat_map(|page| page.asks.iter().map(move |line| (page, line))).filter_map(
            |(page, line)| {
                let sentence = ask(&page.code, line, lines).ok()?;
                let at = program.sentences.iter().position(|s| s.parts == sentence.parts)?;
                let id = SentenceId(u32::try_from(at).ok()?);
                let mut way = Way { sentence, id, page: page.code.clone(), beside: false };
                way.beside = way.parts().first() == Some(&Part::Word(BESIDE.into()));
                Some(way)
            },
        );
        Self(ways.collect())
    }
}

/// What was typed as words, parted before every word that begins what is said beside.
fn cut(words: &str) -> Vec<Vec<&str>> {
    let mut all: Vec<Vec<&str>> = vec![Vec::new()];
    for word in words.split_whitespace() {
        let word = word.trim_end_matches([',', ';']);
        if word.is_empty() {
            continue;
        }
        if word.eq_ignore_ascii_case(BESIDE) {
            if let Some(last) = all.last_mut().filter(|last| last.last() == Some(&"and")) {
                last.pop();
            }
            all.push(Vec::new());
        }
        if let Some(last) = all.last_mut() {
            last.push(word);
        }
    }
    all
}

/// The way of asking that came furthest, and what stopped it there.
type Furthest<'w> = Option<(&'w Way, Miss)>;

/// The first way that reads all words, or the one that came furthest.
fn best<'w>(
    ways: impl Iterator<Item = &'w Way>,
    words: &[&str],
    cx: &Context<'_>,
) -> Result<(&'w Way, Vec<Value>), Furthest<'w>> {
    let mut furthest: Option<(&Way, Miss)> = None;
    for way in ways {
        match fit(way.parts(), &way.sentence, words, 0, cx) {
            Ok(values) => return Ok((way, values)),
            Err(miss) => {
                if furthest.as_ref().is_none_or(|(_, old)| old.far < miss.far) {
                    furthest = Some((way, miss));
                }
            }
        }
    }
    Err(furthest)
}

/// Fits words to the parts of a sentence from `far` parts on.
fn fit(
    parts: &[Part],
    sentence: &Sentence,
    words: &[&str],
    far: usize,
    cx: &Context<'_>,
) -> Result<Vec<Value>, Miss> {
    let Some((part, rest)) = parts.split_first() else {
        return match words.first() {
            None => Ok(Vec::new()),
            Some(word) => Err(Miss { far, why: format!("`{word}` is more than this reads.") }),
        };
    };
    match part {
        Part::Word(due) => match words.split_first() {
            Some((word, after)) if alike(word, due) => fit(rest, sentence, after, far + 1, cx),
            Some((word, _)) => Err(Miss { far, why: format!("here belongs `{due}`, not `{word}`.") }),
            None => Err(Miss { far, why: format!("`{due}` is missing at the end.") }),
        },
        Part::Blank(n) => {
            let Some(blank) = sentence.blanks.get(*n) else { return Err(Miss { far, why: String::new() }) };
            let mut furthest = Miss {
                far,
                why: format!("{} is missing at the end.", capital(&due(&blank.name, blank.takes))),
            };
            for take in 1..=words.len().min(LONGEST) {
                let (these, after) = words.split_at(take);
                // What comes near is told of the first word alone, and costs a look through all words.
                let miss = match filled(&these.join(" "), &blank.name, blank.takes, take == 1, cx) {
                    Ok(value) => match fit(rest, sentence, after, far + 1, cx) {
                        Ok(mut values) => {
                            values.insert(0, value);
                            return Ok(values);
                        }
                        Err(miss) => miss,
                    },
                    // An amount whose unit is two is read, but for that.
                    Err(why) if unsettled(&these.join(" "), cx).is_some() => Miss { far: far + 2, why },
                    // As is one that cannot be.
                    Err(why) if cannot_be(&these.join(" "), cx) => Miss { far: far + 2, why },
                    // The first words name the trouble best.
                    Err(why) if take == 1 => Miss { far, why },
                    Err(_) => continue,
                };
                if miss.far > furthest.far || take == 1 {
                    furthest = miss;
                }
            }
            Err(furthest)
        }
    }
}

/// Whether a word is one of the pattern, in singular or plural.
fn alike(word: &str, due: &str) -> bool {
    let word = fold(word);
    word == fold(due) || number_forms(due).contains(&word)
}

/// What belongs into a blank, in words.
fn due(name: &str, takes: BlankType) -> String {
    match takes {
        BlankType::Name | BlankType::Text => format!("the {}", name.replace('_', " ")),
        other => format!("the {}, {}", name.replace('_', " "), crate::understand::rulebook::described(other)),
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Reads the words of one blank; `near` asks for what comes near, where nothing is called so.
fn filled(text: &str, name: &str, takes: BlankType, near: bool, cx: &Context<'_>) -> Result<Value, String> {
    let wrong = || format!("`{text}` does not tell {}.", due(name, takes));
    match takes {
        BlankType::Name => named(text, name, near, cx),
        BlankType::Text => Ok(Value::word(text)),
        BlankType::Number => match number::read(text) {
            Some((n, len)) if len == text.len() && n.low() < 0.0 => {
                Err(format!("`{text}` is less than nothing."))
            }
            Some((n, len)) if len == text.len() => Ok(Value::Number(n)),
            _ => Err(format!("`{text}` is no number.")),
        },
        BlankType::Date => date::read_day(text).map(|d| Value::Days(Days::on(d))).map_err(|_| wrong()),
        BlankType::Clock | BlankType::Entry => Err(wrong()),
        BlankType::AnyAmount | BlankType::Amount(_) => match possible(text, amount(text, cx)?)? {
            Some(Value::Number(size)) if takes == BlankType::Amount(unit::Dimension::Acidity) => {
                Ok(Value::Quantity(Quantity { size, dimension: unit::Dimension::Acidity }))
            }
            Some(value) => match (takes, &value) {
                (BlankType::Amount(d), Value::Quantity(q)) if q.dimension == d => Ok(value),
                (BlankType::AnyAmount, _) => Ok(value),
                _ => Err(wrong()),
            },
            None => Err(wrong()),
        },
    }
}

/// An amount that can be: not less than nothing, not more than all, and not nothing.
fn possible(text: &str, amount: Option<Value>) -> Result<Option<Value>, String> {
    use unit::Dimension::{Acidity, Share, Temperature, TemperatureDifference};
    let (size, dimension) = match &amount {
        Some(Value::Quantity(q)) => (q.size, Some(q.dimension)),
        Some(Value::Number(n)) => (*n, None),
        _ => return Ok(amount),
    };
    let degrees = matches!(dimension, Some(Temperature | TemperatureDifference));
    let stuff = dimension.is_some_and(|d| !matches!(d, Share | Acidity));
    if degrees {
        Ok(amount)
    } else if size.low() < 0.0 {
        Err(format!("`{text}` is less than nothing."))
    } else if dimension == Some(Share) && size.high() > 1.0 + 1e-9 {
        Err(format!("`{text}` is more than all."))
    } else if stuff && size.high() <= 0.0 {
        Err(format!("`{text}` is nothing."))
    } else {
        Ok(amount)
    }
}

/// Whether a text is an amount that cannot be.
fn cannot_be(text: &str, cx: &Context<'_>) -> bool {
    amount(text, cx).is_ok_and(|amount| possible(text, amount).is_err())
}

/// A number, an amount in a unit, or so many of the farm's own containers.
fn amount(text: &str, cx: &Context<'_>) -> Result<Option<Value>, String> {
    let Some((size, len)) = number::read(text) else { return Ok(None) };
    let rest = text.get(len..).unwrap_or("").trim();
    if rest.is_empty() {
        return Ok(Some(Value::Number(size)));
    }
    if let Some(unit) = unsettled(text, cx) {
        return Err(format!(
            "`{unit}` may be a US or an imperial one: say `US {unit}` or `imp {unit}`, or write \
             `- farm: imperial` in the journal."
        ));
    }
    if let Some(unit) = unit::find(rest).and_then(|meant| meant.settle(cx.system)) {
        return Ok(unit.quantity(size).map(Value::Quantity));
    }
    Ok(container(rest, cx).map(|(_, holds)| times(size, *holds)))
}

/// The unit of an amount, where it is one of two and the farm does not say which it keeps.
fn unsettled<'t>(text: &'t str, cx: &Context<'_>) -> Option<&'t str> {
    let (_, len) = number::read(text)?;
    let rest = text.get(len..)?.trim();
    let meant = unit::find(rest)?;
    meant.settle(cx.system).is_none().then_some(rest)
}

fn times(size: Range, one: Quantity) -> Value {
    Value::Quantity(Quantity { size: size.times(one.size), dimension: one.dimension })
}

/// A container whose size the journal tells.
fn container<'a>(text: &str, cx: &Context<'a>) -> Option<(&'a Arc<str>, &'a Quantity)> {
    let text = fold(text);
    cx.diary.containers.iter().find(|(word, _)| fold(word) == text || number_forms(word).contains(&text))
}

/// A thing or word. A blank takes things or words of the kind its name ends with (`{second_book}`), any other
/// what there is.
fn named(text: &str, name: &str, near: bool, cx: &Context<'_>) -> Result<Value, String> {
    let of = name.rsplit('_').next().unwrap_or(name);
    let several = of.to_uppercase();
    let suiting = |kind: &str| suits(of, kind) || suits(&several, kind);
    let things = || cx.diary.things.iter().map(|t| &t.thing);
    let of_words = cx.vocabulary.spellings(of).next().is_some();
    let of_things = things().any(|t| suiting(&t.kind));
    // What is of a kind that the journal lacks is of no other kind.
    let open = !of_words && !of_things && !KINDS.iter().any(|(kind, _)| suiting(kind));
    let asked = fold(text);
    let called = |t: &crate::measure::value::Thing| {
        asked == fold(&t.name) || asked == fold(&format!("{} {}", t.kind, t.name))
    };
    if let Some(thing) = things().find(|t| called(t) && (open || suiting(&t.kind))) {
        return Ok(Value::Thing(thing.clone()));
    }
    if let Some(meaning) = cx.vocabulary.whole(text, &[of]) {
        return Ok(Value::Word(meaning.word.clone()));
    }
    if let Some((word, _)) = container(text, cx).filter(|_| of_words) {
        return Ok(Value::Word(word.clone()));
    }
    if let Some(other) = things().find(|t| called(t)) {
        return Err(format!(
            "{} is a {}; here belongs {}.",
            other.name,
            other.kind,
            due(name, BlankType::Name)
        ));
    }
    if !near {
        return Err(String::new());
    }
    let known = things().filter(|t| open || suiting(&t.kind)).map(|t| &*t.name);
    let all = known.chain(cx.vocabulary.spellings(of).map(|(spelling, _)| spelling));
    Err(match nearest(text, all) {
        Some(near) => format!("nothing is called `{text}`; did you mean `{near}`?"),
        None => format!("the journal knows no {} `{text}`.", of.replace('-', " ")),
    })
}

/// What went wrong, with the ways of the page that came nearest.
fn told(why: &str, ways: &[Way], nearest: &Way, cx: &Context<'_>) -> String {
    let mut out = why.to_owned();
    for way in ways.iter().filter(|w| w.page == nearest.page) {
        let lead = if way.beside { "    " } else { "  haulm recipe " };
        out.push_str(&format!("\n{lead}{}", way.shown()));
    }
    if let Some(ask) = called(nearest, cx).or_else(|| shown_and_read(ways, nearest, cx)) {
        out.push_str(&format!("\nas in\n  haulm recipe {ask}"));
    }
    out
}

/// A way of asking with the journal's own names in it, the latest of each kind. `None` where it asks for more than
/// names, or the journal lacks one.
fn called(way: &Way, cx: &Context<'_>) -> Option<String> {
    let name = |blank: &Blank| {
        let of = blank.name.rsplit('_').next()?;
        let several = of.to_uppercase();
        let suiting = |kind: &str| suits(of, kind) || suits(&several, kind);
        // Of the things that suit, one of the usual kind says best what is meant.
        let usual = |kind: &str| kind == of || kind == usual_kind(&several);
        let begun = cx.diary.things.iter().filter(|t| t.began.is_some() && suiting(&t.thing.kind));
        let latest = begun.max_by_key(|t| (usual(&t.thing.kind), t.began.map(|(_, entry)| entry)))?;
        (blank.takes == BlankType::Name).then(|| latest.thing.name.to_string())
    };
    let blanks: Option<Vec<String>> = way.sentence.blanks.iter().map(name).collect();
    let words = Sentence { parts: way.parts().into(), ..way.sentence.clone() };
    blanks.filter(|b| !b.is_empty()).map(|b| words.filled(|n| b.get(n).cloned().unwrap_or_default()))
}

/// What an example of the page asks, if it could be asked of this journal as well.
fn shown_and_read(ways: &[Way], nearest: &Way, cx: &Context<'_>) -> Option<String> {
    let page = cx.pages.iter().find(|p| p.code == nearest.page && p.kind == PageKind::Recipe)?;
    let asks = page.examples.iter().filter(|e| e.must_fire).filter_map(|e| e.ask.as_ref());
    let read = |beside: bool, words: &[&str]| {
        best(ways.iter().filter(|w| w.beside == beside && w.page == nearest.page), words, cx).is_ok()
    };
    let mut asks = asks.filter(|ask| {
        let mut clauses = cut(&ask.text).into_iter();
        clauses.next().is_some_and(|main| read(false, &main)) && clauses.all(|clause| read(true, &clause))
    });
    asks.next().map(|ask| ask.text.to_string())
}

/// What went wrong where no recipe begins so.
fn unknown(words: &[&str], ways: &[Way]) -> String {
    let typed = words.first().copied().unwrap_or("");
    let mut firsts: Vec<String> = ways
        .iter()
        .filter(|w| !w.beside)
        .filter_map(|w| Some(w.shown().split(' ').next()?.to_owned()))
        .collect();
    firsts.dedup();
    match nearest(typed, firsts.iter().map(String::as_str)) {
        Some(near) => format!("there is no recipe `{typed}`; did you mean `{near}`?"),
        None => format!("there is no recipe `{typed}`; `haulm recipe` lists them"),
    }
}
