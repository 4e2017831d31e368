//! What a grower means by `why --not SENTENCE` or `why --not CODE NAME`.
//!
//! Comes in: the words typed. Goes out: sentences of the program with some blanks filled. It does not
//! look whether they hold.

use rustc_hash::{FxHashMap, FxHashSet};

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
        page::PageKind,
        program::{Atom, Meaning, Status, Term},
        sentence::{Part, Sentence, SentenceId},
    },
};

/// No sentence takes more words than this, its names and what it quotes included (our judgement).
const LONGEST: usize = 200;

/// A strange name has no more words than this.
const STRANGE: usize = 3;

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
    if words.len() > LONGEST {
        return Err(format!("no page declares a sentence of {} words", words.len()));
    }
    let names = Names::all(known);
    let mut found: Vec<(usize, Atom)> = Vec::new();
    for (n, sentence) in known.program.sentences.iter().enumerate() {
        let mut filling = Filling { names: &names, sentence, words: &words, ways: FxHashMap::default() };
        if let (Some((strange, terms)), Ok(n)) = (filling.whole(), u32::try_from(n)) {
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

/// Everything that has a name, by what it is called: looked up for every run of words that may be one.
struct Names {
    /// Things with their kind word before them; `None` where several are called that.
    whole: FxHashMap<String, Option<Value>>,
    /// Things without it.
    bare: FxHashMap<String, Option<Value>>,
    /// Words that something holds of.
    words: FxHashMap<String, Value>,
    /// Codes are what pages are called, and nothing else.
    codes: FxHashSet<String>,
    /// The most words one of them has.
    longest: usize,
}

impl Names {
    fn all(known: &Known<'_>) -> Self {
        let mut out = Self {
            whole: FxHashMap::default(),
            bare: FxHashMap::default(),
            words: FxHashMap::default(),
            codes: FxHashSet::default(),
            longest: 0,
        };
        for named in &known.diary.things {
            let thing = &named.thing;
            let of = |map: &mut FxHashMap<String, Option<Value>>, name: String| {
                let value = Some(Value::Thing(thing.clone()));
                map.entry(name).and_modify(|v| *v = None).or_insert(value);
            };
            of(&mut out.whole, fold(&format!("{} {}", thing.kind, thing.name)));
            of(&mut out.bare, fold(&thing.name));
        }
        let facts = known.diary.facts.iter().chain(&*known.program.facts);
        let mut seen: FxHashSet<&str> = FxHashSet::default();
        for value in facts.flat_map(|f| &f.values) {
            if let Value::Word(word) = value
                && seen.insert(word)
            {
                out.words.entry(fold(word)).or_insert_with(|| value.clone());
            }
        }
        let coded = known.pages.iter().filter(|p| matches!(p.kind, PageKind::Rule | PageKind::Reading));
        out.codes = coded.map(|p| p.code.to_string()).collect();
        let all = out.whole.keys().chain(out.bare.keys()).chain(out.words.keys());
        out.longest = all.map(|name| name.split(' ').count()).max().unwrap_or(0);
        out
    }

    /// The one thing or word that is called that.
    fn value(&self, text: &str) -> Option<&Value> {
        let name = fold(text);
        match self.whole.get(&name).or_else(|| self.bare.get(&name)) {
            Some(thing) => thing.as_ref(),
            None if self.codes.contains(text.trim()) => None,
            None => self.words.get(&name),
        }
    }
}

/// A sentence as words fill its blanks.
struct Filling<'a> {
    names: &'a Names,
    sentence: &'a Sentence,
    words: &'a [String],
    /// By part and word: how few words the rest has to take as they stand, and how many words a blank takes for
    /// that. `None` where the rest cannot be filled. Each is found once, or many blanks would try every
    /// way of parting the same words.
    ways: FxHashMap<(usize, usize), Option<(usize, usize)>>,
}

impl Filling<'_> {
    /// What stands in the blanks, and how many words had to be taken as they stand.
    fn whole(&mut self) -> Option<(usize, Vec<Term>)> {
        let (strange, _) = self.rest(0, 0)?;
        let (mut terms, mut at) = (Vec::new(), 0);
        for part in 0..self.sentence.parts.len() {
            let (_, length) = self.rest(part, at)?;
            if let Some(Part::Blank(n)) = self.sentence.parts.get(part) {
                let takes = self.sentence.blanks.get(*n)?.takes;
                terms.push(term(self.names, takes, &self.words.get(at..at + length)?.join(" "))?.0);
            }
            at += length;
        }
        Some((strange, terms))
    }

    /// Fills the parts from one on with the words from one on.
    fn rest(&mut self, part: usize, at: usize) -> Option<(usize, usize)> {
        if let Some(way) = self.ways.get(&(part, at)) {
            return *way;
        }
        let way = self.way(part, at);
        self.ways.insert((part, at), way);
        way
    }

    fn way(&mut self, part: usize, at: usize) -> Option<(usize, usize)> {
        let left = self.words.get(at..)?;
        let blank = match self.sentence.parts.get(part) {
            None => return left.is_empty().then_some((0, 0)),
            Some(Part::Word(w)) => {
                let same = left.first().is_some_and(|first| w.to_lowercase() == first.to_lowercase());
                return same.then(|| self.rest(part + 1, at + 1)).flatten().map(|(strange, _)| (strange, 1));
            }
            Some(Part::Blank(n)) => self.sentence.blanks.get(*n)?,
        };
        let takes = blank.takes;
        let after = self.sentence.parts.len() - part - 1;
        let most = left.len().checked_sub(after)?.min(self.most(takes, left));
        // The longest name comes first, so that `lot tern-26` is not `lot` and a strange word.
        let mut best: Option<(usize, usize)> = None;
        for length in (1..=most).rev() {
            // What follows is looked at first: mostly its next word is another, which costs nothing to see.
            let Some((further, _)) = self.rest(part + 1, at + length) else { continue };
            let text = self.words.get(at..at + length)?.join(" ");
            let Some((_, strange)) = term(self.names, takes, &text) else { continue };
            if best.is_none_or(|(least, _)| strange + further < least) {
                best = Some((strange + further, length));
            }
        }
        best
    }

    /// How many of these words a blank can take at most.
    fn most(&self, takes: BlankType, words: &[String]) -> usize {
        let any = words.first().is_some_and(|w| w.eq_ignore_ascii_case("any"));
        match takes {
            BlankType::Text => usize::MAX,
            _ if any => usize::MAX,
            BlankType::Name => self.names.longest.max(STRANGE).max(DAY),
            // A unit may have several words: `cubic yards`.
            _ => DAY,
        }
    }
}

/// The most words of a day, `Friday, 14 March, 2026`, or of an amount.
const DAY: usize = 6;

/// What stands for a blank's words, and whether they are known (0) or taken as they stand.
fn term(names: &Names, takes: BlankType, text: &str) -> Option<(Term, usize)> {
    let lower = text.to_lowercase();
    if matches!(lower.as_str(), "{}" | "any" | "anything" | "anybody" | "any day")
        || lower.starts_with("any ")
    {
        return Some((Term::Any, 0));
    }
    let value = match takes {
        BlankType::Name => match names.value(text) {
            Some(value) => value.clone(),
            None => match date::read_day(text) {
                Ok(day) => Value::Days(Days::on(day)),
                Err(_) if fold(text).split(' ').count() <= STRANGE => {
                    return Some((Term::Const(Value::word(lower)), 1));
                }
                Err(_) => return None,
            },
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
