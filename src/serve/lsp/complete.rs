//! What may be written next.
//!
//! Comes in: the text before the cursor, the frames, and names from the last check, which may be a few
//! letters old. Goes out: verbs at the start of an item; after a verb the clauses it has not said yet,
//! and what can fill the one that stands open. It reads no other entry and guesses no name.

use chrono::NaiveDate;
use lsp_types::{Position, Range};
use serde_json::{Value, json};

use super::{client::Client, phrase, place::Lines, round::Round};
use crate::{
    base::name::fold,
    measure::{
        date::{self, read_day},
        dimension::Dimension,
        unit::units_of,
    },
    model::{
        entry::Entry,
        frame::{Frame, Lead, Need, Slot, Takes},
    },
};

/// What is offered, in the order it is offered.
struct Offer {
    label: String,
    /// What is inserted, with places to fill as `${1:…}`.
    snippet: String,
    detail: String,
    about: Option<String>,
    kind: u8,
    rank: u8,
}

const KEYWORD: u8 = 14;
const SNIPPET: u8 = 15;
const NAME: u8 = 6;
const WORD: u8 = 12;
const UNIT: u8 = 11;

/// The completions at a position of `text`.
pub fn complete(client: &Client, round: &Round, text: &str, at: Position) -> Value {
    let lines = Lines::of(text);
    let cursor = lines.offset(text, at, round.encoding);
    let line = lines.line(text, at.line as usize);
    let before = text.get(line.start..cursor).unwrap_or("");
    let typed = before.chars().rev().take_while(|c| c.is_alphanumeric() || "-_'".contains(*c));
    let start = cursor - typed.map(char::len_utf8).sum::<usize>();
    let typed = fold(text.get(start..cursor).unwrap_or(""));
    let said = text.get(line.start..start).unwrap_or("");
    let mut offers: Vec<(Offer, usize)> = offers(round, text, &lines, cursor, start)
        .into_iter()
        .map(|o| {
            let stands = standing(&o.label, said);
            (o, stands)
        })
        .collect();
    // Only what goes on from what is typed: of the words of a name any may be begun.
    offers.retain(|(o, stands)| {
        let label = fold(o.label.get(*stands..).unwrap_or(""));
        label.starts_with(&typed) || label.split(' ').any(|word| word.starts_with(&typed))
    });
    // After the beginning of a name, or the word for its kind, nothing else is meant.
    let kind = said.trim_end().rsplit(' ').next().map(fold).unwrap_or_default();
    let is_of_kind = |o: &Offer| o.kind == NAME && o.detail == kind;
    if offers.iter().any(|(o, stands)| *stands > 0 || is_of_kind(o)) {
        offers.retain(|(o, stands)| *stands > 0 || is_of_kind(o));
    }
    let items = offers.into_iter().map(|(offer, stands)| {
        let range = lines.range(text, start - stands..cursor, round.encoding);
        item(client, offer, range)
    });
    json!({ "isIncomplete": true, "items": items.collect::<Vec<_>>() })
}

/// How many bytes at the end of what is said are the first words of a label already.
fn standing(label: &str, said: &str) -> usize {
    let begun = label.match_indices(' ').rev().filter_map(|(at, _)| label.get(..=at));
    let mut begun = begun.filter(|begun| {
        let Some(at) = said.len().checked_sub(begun.len()) else { return false };
        let (Some(before), Some(end)) = (said.get(..at), said.get(at..)) else { return false };
        !before.ends_with(char::is_alphanumeric) && fold(end) == fold(begun)
    });
    begun.next().map_or(0, str::len)
}

fn offers(round: &Round, text: &str, lines: &Lines, cursor: usize, start: usize) -> Vec<Offer> {
    let number = lines.position(text, cursor, round.encoding).line as usize;
    let line = lines.line(text, number);
    let before = text.get(line.start..start).unwrap_or("");
    if before.starts_with('#') {
        return heading(round, before);
    }
    let Some((said, ticked)) = item_before(text, lines, number, start) else { return Vec::new() };
    let said = said.as_str();
    let planned = ticked || fold(said).starts_with("plan to");
    let rest = said.strip_prefix("plan to ").unwrap_or(said);
    match verb(round, rest, planned) {
        Some((frame, after)) if !rest.is_empty() => clauses(round, frame, after, day(text, lines, number)),
        _ => verbs(round, rest, planned),
    }
}

/// The text of the item before the word at the cursor, the list marker and a checkbox left out, and
/// whether there is a checkbox.
fn item_before(text: &str, lines: &Lines, number: usize, start: usize) -> Option<(String, bool)> {
    let mut said = String::new();
    for n in (0..=number).rev() {
        let line = lines.line(text, n);
        let end = if n == number { start } else { line.end };
        let whole = text.get(line.start..end)?;
        let trimmed = whole.trim_start();
        let marker = ["- ", "* ", "+ "].iter().find_map(|m| trimmed.strip_prefix(m));
        if let Some(rest) = marker {
            let boxed = ["[ ] ", "[x] ", "[X] "].iter().find_map(|b| rest.strip_prefix(b));
            let rest_or_boxed = boxed.unwrap_or(rest);
            return Some((format!("{rest_or_boxed}{said}"), boxed.is_some()));
        }
        // A line further on belongs to an item only if it is indented under it.
        if trimmed.is_empty() && n != number || whole.len() == trimmed.len() && !whole.is_empty() {
            return None;
        }
        said = format!(" {trimmed}{said}");
    }
    None
}

/// The frame whose verb a text begins with, and what follows the verb.
fn verb<'a, 't>(round: &'a Round, text: &'t str, planned: bool) -> Option<(&'a Frame, &'t str)> {
    let ends: Vec<usize> =
        text.match_indices(' ').map(|(at, _)| at).take(round.checked.frames.longest_verb()).collect();
    ends.into_iter().rev().find_map(|end| {
        let (frame, _) = round.checked.frames.begins(&fold(text.get(..end)?), planned)?;
        Some((frame, text.get(end..)?))
    })
}

/// A heading of today.
fn heading(round: &Round, before: &str) -> Vec<Offer> {
    if !before.trim_start_matches('#').trim().is_empty() {
        return Vec::new();
    }
    let today = round.checked.today;
    let label = format!("{today} {}", date::weekday_name(today));
    vec![Offer {
        snippet: label.clone(),
        label,
        detail: "today".to_owned(),
        about: None,
        kind: KEYWORD,
        rank: 0,
    }]
}

/// The verbs that go on from what is typed, each with places for what it needs.
fn verbs(round: &Round, typed: &str, planned: bool) -> Vec<Offer> {
    let typed = fold(typed);
    let frames = round.checked.frames.frames.iter();
    let offers = frames.flat_map(|frame| {
        let spelt = std::iter::once(&frame.verb).chain(&frame.also);
        let base = frame.base.iter().filter(|_| planned);
        spelt.chain(base).map(move |verb| (frame, verb))
    });
    let offers = offers.filter_map(|(frame, verb)| {
        // Of a verb of several words the first may stand already.
        let rest =
            if typed.is_empty() { verb } else { verb.strip_prefix(typed.as_str())?.strip_prefix(' ')? };
        Some(Offer {
            label: rest.to_owned(),
            snippet: format!("{rest} {}", needs(frame)).trim_end().to_owned(),
            detail: frame.meaning.to_string(),
            about: Some(phrase::parts(frame)),
            kind: SNIPPET,
            rank: 0,
        })
    });
    offers.collect()
}

/// Places for what a frame needs, in the order of its table; of slots one of which is needed, the first.
fn needs(frame: &Frame) -> String {
    let mut kinds: Vec<&str> = Vec::new();
    let first = |which: &Need| frame.slots.iter().find(|s| s.need == *which).map(|s| &s.name);
    let needed = frame.slots.iter().filter(|slot| match &slot.need {
        Need::Must => true,
        // What stands beside the first of several is needed with it.
        Need::With(other) => frame.slot(other).is_some_and(|s| first(&s.need) == Some(other)),
        Need::May => false,
        Need::OneOf(which) => {
            let is_first = !kinds.contains(&&**which);
            kinds.push(which);
            is_first
        }
    });
    let (colon, clauses): (Vec<&Slot>, Vec<&Slot>) =
        needed.partition(|s| s.leads.contains(&Lead::AfterColon));
    let clauses: Vec<String> = clauses.iter().enumerate().map(|(n, slot)| clause(slot, n + 1)).collect();
    let after = colon.first().map(|slot| format!(": ${{{}:{}}}", clauses.len() + 1, word_for(slot)));
    clauses.join(" ") + &after.unwrap_or_default()
}

/// A clause with a place to fill.
fn clause(slot: &Slot, number: usize) -> String {
    let place = format!("${{{number}:{}}}", word_for(slot));
    match slot.leads.first() {
        Some(Lead::Word(lead)) if slot.takes == [Takes::Flag] => lead.to_string(),
        Some(Lead::Word(lead)) => format!("{lead} {place}"),
        Some(Lead::Before(after)) => format!("{place} {after}"),
        _ => place,
    }
}

/// A slot's name as a word to write over.
fn word_for(slot: &Slot) -> String {
    slot.name.replace('_', " ")
}

/// Clauses not said yet, and what can fill the one that stands open.
fn clauses(round: &Round, frame: &Frame, after: &str, day: Option<NaiveDate>) -> Vec<Offer> {
    let words: Vec<&str> = after.split_whitespace().collect();
    let has = |lead: &str| {
        let lead: Vec<&str> = lead.split(' ').collect();
        words.windows(lead.len()).any(|w| w == lead.as_slice())
    };
    // The clause that stands open is the one whose word stands last.
    let open = last_lead(frame, &words);
    let mut offers = Vec::new();
    let filled = open.is_some_and(|(_, at)| at < words.len());
    let ends_a_clause = after.ends_with(", ") || words.last() == Some(&"and");
    let fillable: Vec<&Slot> = match open {
        Some((lead, _)) => frame.slots.iter().filter(|s| leads(s, lead)).collect(),
        None => frame.slots.iter().filter(|s| phrase::is_bare(s)).collect(),
    };
    let is_number = words.last().is_some_and(|w| w.starts_with(|c: char| c.is_ascii_digit()));
    for slot in &fillable {
        offers.extend(fillers(round, slot, day, is_number));
    }
    if open.is_some_and(|(_, at)| at == words.len()) && !is_number {
        return offers;
    }
    if is_number {
        let bare = frame.slots.iter().filter(|s| !fillable.iter().any(|f| f.name == s.name));
        bare.for_each(|slot| offers.extend(units(slot)));
    }
    for slot in &frame.slots {
        let unsaid = slot.leads.iter().all(|l| !matches!(l, Lead::Word(w) | Lead::Before(w) if has(w)));
        if (filled || !ends_a_clause || open.is_none()) && unsaid && !phrase::is_bare(slot) {
            let Some(lead) = phrase::lead(slot) else { continue };
            let rank = if slot.need == Need::May { 3 } else { 1 };
            offers.push(Offer {
                label: lead.to_owned(),
                snippet: clause(slot, 1),
                detail: phrase::words(slot).replace('`', ""),
                about: None,
                kind: SNIPPET,
                rank,
            });
        }
    }
    offers
}

/// The leading words that stand last, and the word after them.
fn last_lead<'a>(frame: &'a Frame, words: &[&str]) -> Option<(&'a str, usize)> {
    let leads = frame.slots.iter().flat_map(|s| &s.leads).filter_map(|l| match l {
        Lead::Word(w) => Some(&**w),
        _ => None,
    });
    let ends = leads.filter_map(|lead| {
        let parts: Vec<&str> = lead.split(' ').collect();
        let at = words.windows(parts.len()).rposition(|w| w == parts.as_slice())?;
        Some((lead, at + parts.len()))
    });
    ends.max_by_key(|(lead, end)| (*end, lead.len()))
}

fn leads(slot: &Slot, lead: &str) -> bool {
    slot.leads.iter().any(|l| matches!(l, Lead::Word(w) if **w == *lead))
}

/// What can fill a slot: names that exist by then, words of the tables, units after a number.
fn fillers(round: &Round, slot: &Slot, day: Option<NaiveDate>, is_number: bool) -> Vec<Offer> {
    if is_number {
        return units(slot).collect();
    }
    let mut offers = Vec::new();
    for takes in &slot.takes {
        match takes {
            Takes::Thing(kind) | Takes::Portion(kind) => offers.extend(names(round, kind, day)),
            Takes::Control => offers.extend(names(round, "test", day)),
            Takes::Word(kind) => offers.extend(words(round, kind)),
            Takes::Code => offers.extend(codes(round)),
            Takes::Date => offers.push(plain(round.checked.today.to_string(), "today", WORD, 2)),
            _ => {}
        }
        // Stuff may be named by its material where a lot is asked for.
        if matches!(takes, Takes::Thing(kind) if &**kind == "LOT") {
            offers.extend(words(round, "material"));
        }
    }
    offers
}

fn plain(label: String, detail: &str, kind: u8, rank: u8) -> Offer {
    Offer { snippet: escaped(&label), label, detail: detail.to_owned(), about: None, kind, rank }
}

/// Things of a kind that had begun by a day; all where the day is not known.
fn names(round: &Round, takes: &str, day: Option<NaiveDate>) -> Vec<Offer> {
    let entries = &round.checked.diary.entries;
    let began = |id: u32| entries.get(id as usize).and_then(|e: &Entry| e.days).map(|d| d.first);
    let things = round.checked.diary.things.iter();
    let fit = things.filter(|t| round.checked.suits(takes, &t.thing.kind)).filter(|t| {
        let first = t.began.and_then(|(_, id)| began(id.0));
        t.began.is_some() && day.zip(first).is_none_or(|(day, first)| first <= day)
    });
    let offers = fit.map(|t| {
        let kind = &t.thing.kind;
        // A name is enough where it is a place or a person; a lot is written with its kind.
        let spoken = if **kind == *takes || matches!(takes, "PLACE" | "WHO") {
            t.thing.name.to_string()
        } else {
            format!("{kind} {}", t.thing.name)
        };
        plain(spoken, kind, NAME, 0)
    });
    offers.collect()
}

fn words(round: &Round, kind: &str) -> Vec<Offer> {
    let book = round.checked.words(Some(kind));
    let list = book.kinds.into_iter().filter(|k| k.kind == kind).flat_map(|k| k.words);
    list.map(|(word, also)| plain(word, &format!("{kind} {}", also.join(", ")), WORD, 2)).collect()
}

fn codes(round: &Round) -> Vec<Offer> {
    let pages = round.checked.pages.iter().filter_map(|p| Some((p, p.severity?)));
    pages.map(|(page, severity)| plain(page.code.to_string(), severity.word(), WORD, 1)).collect()
}

fn units(slot: &Slot) -> impl Iterator<Item = Offer> {
    let dimensions = slot.takes.iter().flat_map(|takes| match takes {
        Takes::Measure(dimension) => vec![*dimension],
        Takes::Amount => vec![Dimension::Volume, Dimension::Mass],
        Takes::Size => vec![Dimension::Length, Dimension::Area],
        _ => Vec::new(),
    });
    let after = slot.leads.iter().find_map(|l| match l {
        Lead::Before(word) => Some(format!(" {word}")),
        _ => None,
    });
    let after = after.unwrap_or_default();
    dimensions.flat_map(units_of).map(move |unit| plain(format!("{unit}{after}"), "unit", UNIT, 0))
}

/// The day of the heading above a line.
fn day(text: &str, lines: &Lines, number: usize) -> Option<NaiveDate> {
    let above = (0..number).rev().map(|n| text.get(lines.line(text, n)).unwrap_or(""));
    let heading = above.filter(|l| l.starts_with('#')).find_map(|l| {
        let words = l.trim_start_matches('#').trim();
        Some(words.split_whitespace().next()?.to_owned())
    });
    read_day(&heading?).ok()
}

fn item(client: &Client, offer: Offer, range: Range) -> Value {
    let text = if client.snippets { offer.snippet.clone() } else { unmarked(&offer.snippet) };
    let mut item = json!({
        "label": offer.label,
        "kind": offer.kind,
        "detail": offer.detail.trim(),
        "sortText": format!("{} {}", offer.rank, offer.label),
        "filterText": offer.label,
        "insertTextFormat": if client.snippets { 2 } else { 1 },
        "textEdit": { "range": range, "newText": text },
    });
    if let Some(about) = offer.about {
        item["documentation"] = if client.marks {
            json!({ "kind": "markdown", "value": about })
        } else {
            json!(about.replace("```markdown\n", "").replace("```\n", "").replace('`', ""))
        };
    }
    item
}

/// Text in which a snippet sees no places.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace('$', "\\$").replace('}', "\\}")
}

/// A snippet without its places, for a client that knows none: up to the first of them.
fn unmarked(snippet: &str) -> String {
    let upto = snippet.find("${").and_then(|at| snippet.get(..at)).unwrap_or(snippet);
    upto.replace("\\$", "$").replace("\\}", "}").replace("\\\\", "\\").trim_end().to_owned()
}
