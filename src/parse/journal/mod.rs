//! Reads a journal file: days by its headings, entries by its list items.
//!
//! Comes in: the text of one file and the verbs of the frame table. Goes out: items in pieces, with
//! the day each stands under, and what is wrong with days. It looks up no name and fills no slot.

mod cut;
mod heading;
mod pieces;

use std::sync::Arc;

use chrono::NaiveDate;

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::{fold, slip},
        span::{FileId, Loc, Span},
    },
    measure::{
        date::{DayFault, long, weekday_name},
        unit::System,
    },
    model::{
        frame::{FrameKind, Frames},
        journal::{Aside, Block, BlockKind, Item, JournalFile, When},
    },
};

/// The longest entry that is read, in bytes: some three thousand words (our judgement).
const LONGEST: usize = 20_000;

/// Cuts and reads one file. Nothing in the text can make it fail.
pub fn parse(file: FileId, text: &str, frames: &Frames) -> JournalFile {
    let (blocks, passed) = cut::cut(text);
    let mut out = JournalFile {
        file,
        text: text.into(),
        blocks: Vec::new(),
        items: Vec::new(),
        asides: Vec::new(),
        system: None,
        diagnostics: Vec::new(),
    };
    let years = years(text, &blocks);
    let mut section =
        Section { when: When::Undated, level: 0, heading: None, fault: None, last: None, years };
    let mut passed = passed.into_iter().peekable();
    let mut fenced = Vec::new();
    for (n, block) in blocks.iter().enumerate() {
        match block.kind {
            BlockKind::Heading { level, text: span } => {
                section.close(&mut out);
                section.open(&mut out, level, span);
            }
            BlockKind::Item { body, ticked } => {
                if !setting(&mut out, body) {
                    item(&mut out, frames, &mut section, body, ticked);
                }
            }
            BlockKind::Prose => {
                let mut at = block.span.start as usize;
                let prose = text.get(block.span.range()).unwrap_or("");
                for line in prose.split_inclusive('\n') {
                    setting(&mut out, Span::new(at, at + line.len()));
                    at += line.len();
                }
                while let Some(line) = passed.next_if(|p| p.body.start < block.span.end) {
                    match line.layout {
                        cut::Layout::Fenced(fence) if begins(text, frames, line).is_some() => {
                            fenced.push(fence)
                        }
                        _ => pass(&mut out, frames, &section, line),
                    }
                }
                if let Some(day) = bare_day(text, *block, blocks.get(n + 1..).unwrap_or(&[])) {
                    section.close(&mut out);
                    section.wait(&out, day);
                }
            }
        }
    }
    section.close(&mut out);
    if let Some(fence) = fenced.first() {
        out.diagnostics.push(unclosed(Loc::new(file, *fence), fenced.len()));
    }
    out.blocks = blocks;
    out
}

/// The section being read.
struct Section {
    when: When,
    level: u8,
    heading: Option<Loc>,
    /// A day that could not be read, whether it is told with no entry under it, and how many stand there.
    fault: Option<(Diagnostic, bool, usize)>,
    /// The day of the last heading that had one.
    last: Option<NaiveDate>,
    /// The first day any heading has.
    years: Option<NaiveDate>,
}

/// The first day that a heading of the text opens.
fn years(text: &str, blocks: &[Block]) -> Option<NaiveDate> {
    blocks.iter().find_map(|b| match b.kind {
        BlockKind::Heading { text: span, .. } => match heading::read(text.get(span.range())?) {
            heading::Read::Days { days, .. } => Some(days.first),
            _ => None,
        },
        _ => None,
    })
}

impl Section {
    fn open(&mut self, out: &mut JournalFile, level: u8, span: Span) {
        let text = out.text.clone();
        let text = text.get(span.range()).unwrap_or("");
        let loc = |r: std::ops::Range<usize>| {
            Loc::new(out.file, Span::new(span.start as usize + r.start, span.start as usize + r.end))
        };
        self.heading = Some(Loc::new(out.file, span));
        match heading::read(text) {
            heading::Read::Days { days, wrong_weekday, .. } => {
                self.when = When::On(days);
                self.level = level;
                self.last = Some(days.first);
                if let Some((at, day)) = wrong_weekday {
                    let right = weekday_name(day);
                    out.diagnostics.push(
                        Diagnostic::new(
                            "wrong-weekday",
                            Severity::Warn,
                            format!(
                                "{} is a {right}, not a {}; the entries stand under the date",
                                long(day),
                                &text[at.clone()]
                            ),
                        )
                        .at(loc(at.clone()), format!("{right}?"))
                        .fix(format!("write {right}"), loc(at), right),
                    );
                }
            }
            heading::Read::Fault { fault, span: at } => {
                self.when = When::Waiting;
                self.level = level;
                self.fault = Some((day_fault(&fault, &text[at.clone()], loc(at)), true, 0));
            }
            heading::Read::NoYear(at) => {
                self.when = When::Waiting;
                self.level = level;
                let written = &text[at.clone()];
                let diagnostic = Diagnostic::new(
                    "no-such-day",
                    Severity::Error,
                    format!("`{written}` says no year, so it opens no day"),
                )
                .at(loc(at.clone()), "which year?");
                let diagnostic = match heading::with_year(written, self.last, self.years) {
                    Some(day) => diagnostic
                        .remark(RemarkKind::Write, format!("## {day}"))
                        .fix(format!("write {day}"), loc(at), day),
                    None => diagnostic.remark(RemarkKind::Write, "## 2026-06-14 for a day, ## 2026-06 for a month, ## about 2026-06-14 if you are not sure"),
                };
                self.fault = Some((diagnostic, false, 0));
            }
            heading::Read::None if self.level == 0 || level <= self.level => {
                self.when = When::Undated;
                self.level = 0;
                if let Some(at) = heading::dateless(text) {
                    let written = &text[at.clone()];
                    let write = "## 2026-06-14 for a day, ## 2026-06 for a month, ## 2026-03 to 2026-05 for a longer time";
                    let diagnostic =
                        Diagnostic::new("no-such-day", Severity::Error, format!("`{written}` opens no day"))
                            .at(loc(at), "which days?")
                            .remark(RemarkKind::Write, write);
                    self.fault = Some((diagnostic, false, 0));
                }
            }
            heading::Read::None => {}
        }
    }

    /// A day that stands by itself and opens nothing: what is under it was surely not done on the day above.
    fn wait(&mut self, out: &JournalFile, span: Span) {
        let loc = Loc::new(out.file, span);
        let written = out.text.get(span.range()).unwrap_or("");
        let heading = format!("## {}", written.trim_matches(|c: char| !c.is_alphanumeric()));
        let message = format!("`{written}` is no heading, so it opens no day");
        let diagnostic = Diagnostic::new("no-such-day", Severity::Error, message)
            .at(loc, "a day?")
            .remark(RemarkKind::Write, heading.clone())
            .fix("make a heading of it", loc, heading);
        self.when = When::Waiting;
        self.level = self.level.max(1);
        self.heading = Some(loc);
        self.fault = Some((diagnostic, false, 0));
    }

    /// Reports the day that could not be read, with the number of entries that wait for it.
    fn close(&mut self, out: &mut JournalFile) {
        let Some((mut diagnostic, always, waiting)) = self.fault.take() else { return };
        match waiting {
            0 if !always => return,
            0 => {}
            1 => diagnostic.message.push_str("; the entry below waits"),
            n => diagnostic.message.push_str(&format!("; the {n} entries below wait")),
        }
        out.diagnostics.push(diagnostic);
    }
}

/// What is said of a day that is none.
fn day_fault(fault: &DayFault, written: &str, loc: Loc) -> Diagnostic {
    let say = |message: String| Diagnostic::new("no-such-day", Severity::Error, message);
    match fault {
        DayFault::TwoWays(a, b) => say(format!("`{written}` may be {} or {}", long(*a), long(*b)))
            .at(loc, "which of the two?")
            .remark(RemarkKind::Write, format!("{a} or {b}"))
            .fix(format!("write {a}"), loc, a.to_string())
            .fix(format!("write {b}"), loc, b.to_string()),
        DayFault::Slashes(day) => {
            say(format!("`{written}` is written in a way that reads differently elsewhere"))
                .at(loc, format!("{}?", long(*day)))
                .remark(RemarkKind::Write, day.to_string())
                .fix(format!("write {day}"), loc, day.to_string())
        }
        DayFault::NoSuchDay => say(format!("There is no day `{written}`"))
            .at(loc, "not in the calendar")
            .remark(RemarkKind::Write, "2026-03-14, year, month and day"),
        DayFault::NotADay => say(format!("`{written}` is no day"))
            .at(loc, "")
            .remark(RemarkKind::Write, "2026-03-14, year, month and day"),
    }
}

/// `farm: imperial` or `farm: US`; true if the line is that setting.
fn setting(out: &mut JournalFile, span: Span) -> bool {
    let text = out.text.clone();
    let line = text.get(span.range()).unwrap_or("").trim();
    let Some((name, value)) = line.split_once(':') else { return false };
    if !name.trim().eq_ignore_ascii_case("farm") {
        return false;
    }
    let value = value.trim().trim_end_matches('.');
    let loc = Loc::new(out.file, span);
    match value.to_lowercase().as_str() {
        "imperial" | "uk" => out.system = Some((System::Imperial, loc)),
        "us" | "usa" | "us customary" => out.system = Some((System::Us, loc)),
        _ => return false,
    }
    true
}

/// The last line of a paragraph right above a list, if it is a day and nothing more (`2026-03-14`,
/// `**14 March 2026**`).
fn bare_day(text: &str, block: Block, after: &[Block]) -> Option<Span> {
    let whole = text.get(block.span.range())?.trim_end();
    let blank = |b: &Block| {
        b.kind == BlockKind::Prose && text.get(b.span.range()).is_some_and(|t| t.trim().is_empty())
    };
    let next = after.iter().find(|b| !blank(b))?;
    if !matches!(next.kind, BlockKind::Item { .. }) {
        return None;
    }
    let start = whole.rfind('\n').map_or(0, |n| n + 1);
    let line = whole.get(start..)?;
    let shown = line.trim_start();
    let indent = line.len() - shown.len();
    // Quotes, tables and code hold days that open nothing.
    let plain = indent < 4 && shown.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '*' | '_'));
    let heading::Read::Days { len, .. } = heading::read(shown) else { return None };
    let rest = shown.get(len..)?;
    let from = block.span.start as usize + start + indent;
    (plain && !rest.contains(char::is_alphanumeric)).then(|| Span::new(from, from + shown.len()))
}

/// The verb of an event that a line begins with, if it is not one that begins everyday prose.
fn begins(text: &str, frames: &Frames, line: cut::Passed) -> Option<Verb> {
    let verb = opening(text.get(line.body.range())?, frames, false).verb?;
    let frame = frames.get(&verb.verb)?;
    (frame.kind == FrameKind::Event && !frame.everyday.holds(&verb.written)).then_some(verb)
}

/// A fence that makes code of all that stands below it.
fn unclosed(fence: Loc, lines: usize) -> Diagnostic {
    let below = match lines {
        1 => "the line below that begins with a verb counts".to_owned(),
        n => format!("the {n} lines below that begin with a verb count"),
    };
    let message = format!("This begins code that is never closed, so {below} for nothing");
    Diagnostic::new("read-as-prose", Severity::Warn, message)
        .at(fence, "closed where?")
        .remark(RemarkKind::Note, "take this line away, or write it again where the code ends")
}

/// A line that would be an entry, were it not laid out as something else.
fn pass(out: &mut JournalFile, frames: &Frames, section: &Section, line: cut::Passed) {
    let start = line.body.start as usize;
    let Some(verb) = begins(&out.text, frames, line).filter(|_| matches!(section.when, When::On(_))) else {
        return;
    };
    let at = Loc::new(out.file, Span::new(start + verb.start, start + verb.end));
    let say = |severity, why: &str| {
        let message = format!("This `{}` is no entry and counts for nothing: {why}", verb.written);
        Diagnostic::new("read-as-prose", severity, message).at(at, "meant as an entry?")
    };
    out.diagnostics.push(match line.layout {
        cut::Layout::Unspaced => say(Severity::Warn, "no space stands after the mark before it")
            .fix("put a space there", Loc::new(out.file, Span::new(start, start)), " ")
            .remark(RemarkKind::Write, format!("- {}", out.text.get(line.body.range()).unwrap_or(""))),
        cut::Layout::Fenced(_) => return,
        cut::Layout::Indented => say(Severity::Hint, "four spaces or a tab before it make code of it")
            .remark(RemarkKind::Note, "to have it read, begin the line with its `-`"),
    });
}

/// Takes a list item: an entry if it begins with a verb, else an aside.
fn item(out: &mut JournalFile, frames: &Frames, section: &mut Section, body: Span, ticked: Option<bool>) {
    let whole = out.text.clone();
    let text = whole.get(body.range()).unwrap_or("");
    let start = body.start as usize;
    let loc = |from: usize, to: usize| Loc::new(out.file, Span::new(start + from, start + to));
    let opening = opening(text, frames, ticked.is_some());
    let Some(verb) = opening.verb else {
        if text.len() > LONGEST {
            return;
        }
        let end = text[opening.at..].find(char::is_whitespace).map_or(text.len(), |n| opening.at + n);
        if end > opening.at {
            let verbs = near_verbs(&text[opening.at..end], frames);
            let from = if verbs.is_empty() { 0 } else { end };
            let (pieces, _) = pieces::pieces(out.file, &text[from..], start + from);
            let (first, when) = (loc(opening.at, end), section.when);
            out.asides.push(Aside { loc: loc(0, text.len()), first, when, verbs, pieces });
        }
        return;
    };
    if text.len() > LONGEST {
        out.diagnostics.push(
            Diagnostic::new(
                "overlong-entry",
                Severity::Error,
                format!(
                    "This `{}` is {} characters long; an entry of more than {LONGEST} is kept out",
                    verb.written,
                    text.chars().count()
                ),
            )
            .at(loc(verb.start, verb.end), "one entry?")
            .remark(RemarkKind::Next, "say it in several entries, or as plain text between the lists"),
        );
        return;
    }
    let placed = frames.get(&verb.verb).is_some_and(|f| f.kind == FrameKind::Place);
    let mut when = section.when;
    if let Some((_, _, waiting)) = &mut section.fault
        && (when == When::Waiting || !placed)
    {
        *waiting += 1;
        when = When::Waiting;
    }
    let (pieces, remarks) = pieces::pieces(out.file, &text[verb.end..], start + verb.end);
    let item = Item {
        loc: loc(0, text.len()),
        when,
        heading: section.heading,
        ticked,
        plan_to: opening.plan_to,
        clock: opening.clock,
        verb: verb.verb,
        written: verb.written,
        base_form: verb.base_form,
        spoken: opening.spoken,
        verb_loc: loc(verb.start, verb.end),
        pieces,
        remarks,
    };
    out.items.push(item);
}

/// Words of talk that stand before a verb and say nothing beside it.
const TALK: &[&str] = &["i", "we", "today", "then", "also", "and"];

/// The most verbs a first word is compared with in full.
const NEAR_VERBS: usize = 4;

/// The verbs a word is nearly: its plan form or stem if it has one, and those it is fewest slips away from.
fn near_verbs(written: &str, frames: &Frames) -> Vec<(Arc<str>, bool)> {
    let folded = fold(written);
    let letters = folded.chars().count();
    // An opening may be prose although it begins with a verb (`gave up`).
    let Some(initial) = folded.chars().next().filter(|_| letters >= 4 && frames.get(&folded).is_none())
    else {
        return Vec::new();
    };
    let base = frames.begins(&folded, true).map(|(frame, _)| (frame.verb.clone(), true));
    let verbs = frames.verbs();
    let stem =
        verbs.iter().copied().filter(|v| v.len() >= 4 && folded.starts_with(*v)).max_by_key(|v| v.len());
    let mut out: Vec<(Arc<str>, bool)> = base.into_iter().collect();
    out.extend(stem.map(|v| (v.into(), false)));
    // In a short word two slips make another word.
    let most = if letters < 7 { 1 } else { 2 };
    let alike =
        verbs.iter().copied().filter(|v| v.starts_with(initial) && !v.contains(' ') && Some(*v) != stem);
    let mut alike: Vec<(usize, &str)> =
        alike.filter_map(|v| Some((slip(&folded, v).filter(|n| *n <= most)?, v))).collect();
    alike.sort_unstable();
    let least = alike.first().map(|(n, _)| *n);
    let nearest = alike.into_iter().filter(|(n, _)| Some(*n) == least).take(NEAR_VERBS);
    out.extend(nearest.map(|(_, v)| (v.into(), false)));
    out
}

/// How an item begins.
struct Opening {
    clock: Option<u16>,
    plan_to: bool,
    spoken: bool,
    verb: Option<Verb>,
    /// Where the verb stands or would stand.
    at: usize,
}

struct Verb {
    verb: Arc<str>,
    written: Arc<str>,
    base_form: bool,
    start: usize,
    end: usize,
}

fn opening(text: &str, frames: &Frames, box_stands: bool) -> Opening {
    let mut at = skip_space(text, 0);
    let clock = clock(&text[at..]);
    if let Some((_, len)) = clock {
        at = skip_space(text, at + len);
        if text[at..].starts_with([',', ':']) {
            at = skip_space(text, at + 1);
        }
    }
    let words = words(text, at, frames.longest_verb().max(2) + 3);
    let is = |n: usize, word: &str| words.get(n).is_some_and(|(_, w)| *w == word);
    let skip = match () {
        () if is(0, "plan") && is(1, "to") => 2,
        () if is(0, "i") && is(1, "plan") && is(2, "to") => 3,
        () => 0,
    };
    // `I spread`, `today we planted`: told as one would say it.
    let talk = |n: &usize| words.get(*n).is_some_and(|(_, w)| TALK.contains(&w.as_str()));
    let told = if skip == 0 { (0..2).take_while(talk).count() } else { 0 };
    let skip = skip + told;
    let rest = words.get(skip..).unwrap_or(&[]);
    let at = rest.first().map_or(at, |(span, _)| span.start);
    let plan_to = skip > told;
    let verb = verb(text, rest, frames, box_stands || plan_to);
    Opening { clock: clock.map(|c| c.0), plan_to, spoken: told > 0, verb, at }
}

/// The longest verb the words of a text begin with; one of several words stands before one whose words stand apart.
fn verb(
    text: &str,
    words: &[(std::ops::Range<usize>, String)],
    frames: &Frames,
    planned: bool,
) -> Option<Verb> {
    let (first, _) = words.first()?;
    let most = words.len().min(frames.longest_verb());
    let key = |n: usize| words[..n].iter().map(|(_, w)| w.as_str()).collect::<Vec<_>>().join(" ");
    if (2..=most).any(|n| frames.is_prose(&key(n))) {
        return None;
    }
    let whole = |n: usize| {
        let key = key(n);
        let (frame, base_form) = frames.begins(&key, planned)?;
        let end = words.get(n - 1).map_or(first.end, |(s, _)| s.end);
        Some(Verb { verb: frame.verb.clone(), written: key.into(), base_form, start: first.start, end })
    };
    let apart = || {
        let frame = frames.begins_apart(&key(1), &said_after(text.get(first.end..)?))?;
        let written = key(1).into();
        Some(Verb { verb: frame.verb.clone(), written, base_form: false, start: first.start, end: first.end })
    };
    (2..=most).rev().find_map(whole).or_else(apart).or_else(|| whole(1))
}

/// What a line says after its first word, folded, up to free words, another group or a remark.
fn said_after(rest: &str) -> String {
    let end = rest.find([':', ';', '(']).unwrap_or(rest.len());
    let words = rest[..end].split_whitespace().map(|w| w.trim_matches([',', '.']));
    format!(" {} ", words.map(fold).collect::<Vec<_>>().join(" "))
}

/// The first words of a text, folded, with their bytes; a word ends at white space or punctuation.
fn words(text: &str, from: usize, most: usize) -> Vec<(std::ops::Range<usize>, String)> {
    let mut out = Vec::new();
    let mut at = from;
    while out.len() < most {
        let rest = &text[at..];
        let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '\'' || c == '-')).unwrap_or(rest.len());
        if end == 0 {
            break;
        }
        out.push((at..at + end, fold(&rest[..end])));
        at += end;
        let next = skip_space(text, at);
        if next == at {
            break;
        }
        at = next;
    }
    out
}

fn skip_space(text: &str, from: usize) -> usize {
    let rest = &text[from..];
    from + rest.len()
        - rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '*' | '`' | '_')).len()
}

/// `10:20`, perhaps with `am` or `pm`, in minutes after midnight, and its bytes.
fn clock(text: &str) -> Option<(u16, usize)> {
    let (hours, rest) = text.split_once(':')?;
    let minutes = rest.get(..2)?;
    if !(1..=2).contains(&hours.len()) || rest[2..].starts_with(|c: char| c.is_ascii_digit() || c == ':') {
        return None;
    }
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit()).then(|| s.parse::<u16>().ok()).flatten();
    let (h, m) = (digits(hours)?, digits(minutes)?);
    if h > 23 || m > 59 {
        return None;
    }
    let len = hours.len() + 3;
    let half = text.get(len..)?.trim_start();
    let word = half.split(|c: char| !c.is_alphabetic()).next().unwrap_or("");
    let after = text.len() - half.len() + word.len();
    Some(match word.to_lowercase().as_str() {
        "am" => ((h % 12) * 60 + m, after),
        "pm" => ((h % 12 + 12) * 60 + m, after),
        _ => (h * 60 + m, len),
    })
}
