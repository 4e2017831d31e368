//! Reads the frame table, `grammar/frames.md`, that is part of the program.
//!
//! Comes in: the Markdown of the table. Goes out: frames with slots and sentences, and what in the
//! table could not be read. It does not compile the sentences.

use std::{
    collections::BTreeMap,
    sync::{Arc, OnceLock},
};

use crate::{
    base::{
        diagnostic::{Diagnostic, Severity},
        name::fold,
        span::{FileId, Loc, Span},
    },
    measure::{
        number::Range,
        unit::{self, Dimension},
        value::{Quantity, Value},
    },
    model::{
        frame::{Condition, Everyday, Frame, FrameKind, Frames, Lead, Limit, Need, Several, Slot, Takes},
        page::Passage,
    },
};

/// The frame table's own text.
pub const TEXT: &str = include_str!("../../grammar/frames.md");

/// The path the frame table is shown under.
pub const PATH: &str = "grammar/frames.md";

/// The heading of the sentences that belong to no verb.
const COMMON: &str = "Said of everything";

/// The frames of this program. Passages carry [`FileId`] `u32::MAX`, a file that is not there; a
/// session that shows the table as a source reads it again with [`parse`] under its real id.
pub fn load() -> Frames {
    static FRAMES: OnceLock<Frames> = OnceLock::new();
    FRAMES.get_or_init(|| parse(FileId(u32::MAX), TEXT).0).clone()
}

/// Reads a frame table. A row or line that cannot be read is one diagnostic and is left out.
pub fn parse(file: FileId, text: &str) -> (Frames, Vec<Diagnostic>) {
    let mut frames: Vec<Frame> = Vec::new();
    let mut common = Vec::new();
    let mut problems = Vec::new();
    let mut in_common = false;
    let mut fenced = false;
    let mut meaning = String::new();
    let mut offset = 0;
    for raw in text.split_inclusive('\n') {
        let line = raw.trim_end();
        let loc = Loc::new(file, Span::new(offset, offset + line.len()));
        offset += raw.len();
        if line.starts_with("```") {
            fenced = !fenced;
        } else if fenced {
            let (text, conditions) = conditions(line);
            let loc =
                Loc::new(file, Span::new(loc.span.start as usize, loc.span.start as usize + text.len()));
            let passage = Passage { loc, text: text.into() };
            match frames.last_mut() {
                Some(frame) if !in_common => {
                    if !conditions.is_empty() {
                        frame.conditions.insert(frame.sentences.len(), conditions);
                    }
                    frame.sentences.push(passage);
                }
                _ => common.push(passage),
            }
        } else if let Some(verb) = line.strip_prefix("## ") {
            in_common = verb.trim() == COMMON;
            meaning.clear();
            if !in_common {
                frames.push(empty_frame(verb.trim(), loc));
            }
        } else if let (false, Some(frame)) = (in_common, frames.last_mut()) {
            if let Some(limit) = line.strip_prefix("limits:") {
                match self::limit(limit) {
                    Some(limit) => frame.limits.push(limit),
                    None => problems.push(problem(loc, "limits: SLOT -70 to 5 C (source)".to_owned())),
                }
            } else if line.starts_with('|') {
                match slot(line) {
                    Ok(Some(slot)) => frame.slots.push(slot),
                    Ok(None) => {}
                    Err(why) => problems.push(problem(loc, why)),
                }
            } else if !attribute(frame, line) && !line.is_empty() {
                if !meaning.is_empty() {
                    meaning.push(' ');
                }
                meaning.push_str(line);
                frame.meaning = meaning.as_str().into();
            }
        }
    }
    (Frames::new(frames, common), problems)
}

fn problem(loc: Loc, why: String) -> Diagnostic {
    Diagnostic::new("page-out-of-shape", Severity::Error, why).at(loc, "")
}

fn empty_frame(verb: &str, loc: Loc) -> Frame {
    Frame {
        verb: verb.into(),
        also: Vec::new(),
        apart: Vec::new(),
        base: None,
        prose: Vec::new(),
        meaning: "".into(),
        example: "".into(),
        everyday: Everyday::Never,
        kind: FrameKind::Event,
        slots: Vec::new(),
        limits: Vec::new(),
        sentences: Vec::new(),
        conditions: BTreeMap::new(),
        loc,
    }
}

/// Takes a line such as `also: sown` or `everyday` into the frame; false if it is something else.
fn attribute(frame: &mut Frame, line: &str) -> bool {
    if line == "everyday" {
        frame.everyday = Everyday::Always;
    } else if let Some(words) = line.strip_prefix("everyday:") {
        frame.everyday = Everyday::Words(words.split(',').map(|w| fold(w).into()).collect());
    } else if let Some(also) = line.strip_prefix("also:") {
        frame.also = also.split(',').map(|w| w.trim().into()).collect();
    } else if let Some(apart) = line.strip_prefix("apart:") {
        let halves = apart.split(',').filter_map(|verb| verb.split_once('\u{2026}'));
        frame.apart = halves.map(|(first, later)| (first.trim().into(), later.trim().into())).collect();
    } else if let Some(prose) = line.strip_prefix("prose:") {
        frame.prose = prose.split(',').map(|w| w.trim().into()).collect();
    } else if let Some(base) = line.strip_prefix("base:") {
        frame.base = Some(base.trim().into());
    } else if let Some(example) = line.strip_prefix("example:") {
        frame.example = example.trim().into();
    } else if let Some(kind) = line.strip_prefix("kind:") {
        frame.kind = match kind.trim() {
            "place" => FrameKind::Place,
            "bookkeeping" => FrameKind::Bookkeeping,
            _ => return false,
        };
    } else {
        return false;
    }
    true
}

/// `temperature -70 to 5 C (our judgement)`: a slot, the least and the most, the unit of either where they differ
/// (`1 mm to 3 m`), and where they are from.
fn limit(line: &str) -> Option<Limit> {
    let (ends, _source) = line.trim().strip_suffix(')')?.split_once(" (")?;
    let (slot, said) = ends.split_once(' ')?;
    let (least, most) = said.split_once(" to ")?;
    let end = |text: &str, unit: &str| {
        let (number, own) = text.split_once(' ').unwrap_or((text, unit));
        match unit::quantity(number.parse().ok()?, own)? {
            Value::Quantity(q) => Some(q),
            _ => None,
        }
    };
    let (_, unit) = most.split_once(' ')?;
    let (least, most) = (end(least, unit)?, end(most, unit)?);
    let range = Quantity { size: Range::new(least.size.low(), most.size.high()), dimension: most.dimension };
    (least.dimension == most.dimension).then(|| Limit { slot: slot.into(), range, said: said.into() })
}

/// A sentence line without what it hangs on: `{place} looked well on {day:date} (if fine, unless crop)`.
fn conditions(line: &str) -> (&str, Vec<Condition>) {
    let found = line.strip_suffix(')').and_then(|rest| rest.rsplit_once(" ("));
    let Some((text, inside)) = found else { return (line, Vec::new()) };
    let one = |part: &str| {
        let (word, slot) = part.trim().split_once(' ')?;
        let said = match word {
            "if" => true,
            "unless" => false,
            _ => return None,
        };
        Some(Condition { slot: slot.trim().into(), said })
    };
    let all: Option<Vec<Condition>> = inside.split(',').map(one).collect();
    all.map_or((line, Vec::new()), |all| (text, all))
}

/// A row of a slot table; `None` for its heading and the line under it.
fn slot(line: &str) -> Result<Option<Slot>, String> {
    let cells: Vec<&str> = line.trim().trim_matches('|').split('|').map(str::trim).collect();
    let [name, said, takes, need, several] = cells[..] else {
        return Err(format!(
            "a slot has 5 cells: slot, said, takes, need, several; this row has {}",
            cells.len()
        ));
    };
    if name == "slot" || name.starts_with('-') {
        return Ok(None);
    }
    Ok(Some(Slot {
        name: name.into(),
        leads: said.split(',').map(|w| lead(w.trim())).collect(),
        takes: takes.split(" or ").map(|w| self::takes(w.trim())).collect::<Result<_, _>>()?,
        need: self::need(need)?,
        several: match several {
            "" => Several::One,
            "list" => Several::List,
            "each" => Several::Each,
            "shared" => Several::Shared,
            other => return Err(format!("`{other}` under several: list, each, shared or nothing")),
        },
    }))
}

fn need(cell: &str) -> Result<Need, String> {
    match cell {
        "must" => Ok(Need::Must),
        "may" => Ok(Need::May),
        _ => cell
            .strip_prefix("one of ")
            .map(|word| Need::OneOf(word.into()))
            .or_else(|| cell.strip_prefix("with ").map(|slot| Need::With(slot.into())))
            .ok_or_else(|| format!("`{cell}` under need: must, may, one of WORD or with SLOT")),
    }
}

fn lead(word: &str) -> Lead {
    match word {
        "first" => Lead::First,
        "bare" => Lead::Bare,
        "rest" => Lead::Rest,
        "after colon" => Lead::AfterColon,
        _ => match word.strip_prefix('…') {
            Some(before) => Lead::Before(before.trim().into()),
            None => Lead::Word(word.into()),
        },
    }
}

fn takes(word: &str) -> Result<Takes, String> {
    if let Some(kind) = word.strip_prefix("new ") {
        return Ok(Takes::New((kind != "name").then(|| Arc::from(kind))));
    }
    if let Some(kind) = word.strip_prefix("word ") {
        return Ok(Takes::Word(kind.into()));
    }
    if let Some(kind) = word.strip_prefix("portion of ") {
        return Ok(Takes::Portion(kind.into()));
    }
    Ok(match word {
        "LOT" | "PLACE" | "HOLD" | "WHO" | "thing" | "heap" | "animals" | "room" | "tray" | "test"
        | "sample" | "trial" => Takes::Thing(word.into()),
        "crop" | "sign" | "material" | "substance" | "strain" | "severity" | "part" | "container"
        | "quantity" | "method" | "reply" | "role" | "region" => Takes::Word(word.into()),
        "control of test" => Takes::Control,
        "length" => Takes::Measure(Dimension::Length),
        "temperature" => Takes::Measure(Dimension::Temperature),
        "weight" => Takes::Measure(Dimension::Mass),
        "duration" => Takes::Measure(Dimension::Duration),
        "concentration" => Takes::Measure(Dimension::MassFraction),
        "amount" => Takes::Amount,
        "count" => Takes::Count,
        "pots" => Takes::Pots,
        "count of" => Takes::CountOf,
        "whole count" => Takes::WholeCount,
        "grades" => Takes::Grades,
        "heights" => Takes::Heights,
        "ratio" => Takes::Ratio,
        "size" => Takes::Size,
        "level" => Takes::Level,
        "reading" => Takes::Reading,
        "named reading" => Takes::NamedReading,
        "rate" => Takes::Rate,
        "wind" => Takes::Wind,
        "compass" => Takes::Compass,
        "clock" => Takes::Clock,
        "date" => Takes::Date,
        "money" => Takes::Money,
        "flush" => Takes::Flush,
        "weight basis" => Takes::Basis,
        "quoted" => Takes::Quoted,
        "words" => Takes::Words,
        "flag" => Takes::Flag,
        "code" => Takes::Code,
        "verb" => Takes::Verb,
        "replacement" => Takes::Replacement,
        other => return Err(format!("`{other}` is nothing a slot can take")),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_frame_table_reads_without_a_complaint() {
        let (frames, problems) = parse(FileId(7), TEXT);
        assert_eq!(problems, []);
        assert!(frames.frames.len() > 40, "{}", frames.frames.len());
        assert!(!frames.common.is_empty());
    }

    #[test]
    fn every_verb_has_a_meaning_and_an_example_that_begins_with_it() {
        for frame in &load().frames {
            assert!(!frame.meaning.is_empty(), "{} has no meaning", frame.verb);
            assert!(
                fold(&frame.example).starts_with(&fold(&frame.verb)),
                "{}: {}",
                frame.verb,
                frame.example
            );
            assert!(!frame.slots.is_empty(), "{} has no slots", frame.verb);
        }
    }

    #[test]
    fn limits_are_of_slots_of_their_verb() {
        let frames = load();
        let limits = || frames.frames.iter().flat_map(|f| f.limits.iter().map(move |l| (f, l)));
        assert!(limits().count() > 5);
        for (frame, limit) in limits() {
            assert!(frame.slot(&limit.slot).is_some(), "{}: {}", frame.verb, limit.slot);
            assert!(limit.range.size.low() < limit.range.size.high(), "{}: {}", frame.verb, limit.said);
        }
        let depth = limit("depth 1 mm to 3 m (our judgement)").expect("a limit");
        assert_eq!((depth.range.dimension, &*depth.said), (Dimension::Length, "1 mm to 3 m"));
        assert_eq!(limit("temperature 5 C"), None);
    }

    #[test]
    fn passages_stand_where_they_say() {
        let (frames, _) = parse(FileId(7), TEXT);
        let all = frames.frames.iter().flat_map(|f| &f.sentences).chain(&frames.common);
        for passage in all {
            assert_eq!(TEXT.get(passage.loc.span.range()), Some(&*passage.text));
        }
    }

    #[test]
    fn other_spellings_find_their_frame() {
        let frames = load();
        let verb = |w: &str| frames.get(w).map(|f| f.verb.to_string());
        assert_eq!(verb("Dug  In").as_deref(), Some("dug in"));
        assert_eq!(verb("field").as_deref(), Some("bed"));
        assert_eq!(verb("sneezed"), None);
    }
}
