//! What is said about an entry that does not read, in a grower's words.
//!
//! Comes in: what was read and what is missing. Goes out: diagnostics with one right line for the
//! verb, and the correction where there is one. It decides nothing about the entry.

use super::{
    choices::{choices, gap_at_end, gap_for_unread, of_table},
    reader::{Draft, Reader, Take},
    told,
};
use crate::{
    base::{
        diagnostic::{Diagnostic, Remark, RemarkKind, Severity},
        name::{counted, fold},
        span::{Loc, Span},
    },
    measure::{
        date::{DayFault, long},
        display,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::{
        entry::Filler,
        frame::{Frame, FrameKind, Lead, Limit, Need, Slot, Takes},
    },
    understand::lexicon::Measure,
};

pub(super) fn say(code: &str, severity: Severity, message: impl Into<String>) -> Diagnostic {
    Diagnostic::new(code, severity, message)
}

/// One right line for a verb.
pub(super) fn right_line(frame: &Frame) -> String {
    format!("- {}", frame.example)
}

/// `a, b and c`
pub fn listed(items: &[String], last: &str) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [front @ .., end] => format!("{} {last} {end}", front.join(", ")),
    }
}

/// What a slot wants, as words after "does not say".
fn wanted(slot: &Slot) -> String {
    if slot.takes.contains(&Takes::CountOf) {
        return "how many pots were hurt or seeds came up, the grades, or the heights".to_owned();
    }
    if let Some(kind) = of_table(slot) {
        return format!("which {kind}");
    }
    let mut wants = "more";
    for takes in slot.takes.iter().rev() {
        wants = match takes {
            Takes::Thing(group) => match &**group {
                "LOT" => "which lot or material",
                "PLACE" => "where",
                "HOLD" => "which batch",
                "WHO" => "who",
                "heap" => "which heap",
                "tray" => "which tray",
                "test" => "which test",
                "sample" => "which sample",
                "animals" => "which animals",
                "room" => "which room",
                "thing" => "about which thing, or until which day",
                _ => "which one",
            },
            Takes::Control => "which control",
            Takes::Portion(_) => "which part",
            Takes::New(Some(kind)) => match &**kind {
                "batch" => "which batch it becomes (`as batch …`)",
                "sample" => "which sample it becomes (`as sample …`)",
                "lot" => "which lot it becomes (`as lot …`)",
                "test" => "for which test (`as test …`)",
                _ => "its name",
            },
            Takes::New(None) => "its name",
            Takes::Word(kind) => match &**kind {
                "crop" => "which crop",
                "sign" => "what was seen",
                "material" => "of what",
                "substance" if matches!(slot.need, Need::With(_)) => "of which substance",
                "substance" => "what was sprayed",
                "strain" => "which spawn",
                _ => "which",
            },
            Takes::Amount => "how much",
            Takes::Count => "how many",
            Takes::Pots => "how many pots",
            Takes::Reading | Takes::NamedReading => "what was read (a number with its unit)",
            Takes::Level => "how much was found (`12 ppb`, or `no`)",
            Takes::Date => "which day",
            Takes::Code => "which warning",
            Takes::Verb => "which verb",
            _ => wants,
        };
    }
    wants.to_owned()
}

/// The entry leaves out what its verb needs.
pub fn missing(reader: &Reader<'_>, draft: &Draft, lacking: &[&Slot]) -> Diagnostic {
    let arm = draft.fills.iter().find_map(|f| match &f.filler {
        Filler::Value(Value::Thing(t)) if *t.kind == *"control" => Some("of the control"),
        _ => None,
    });
    let wants: Vec<String> = lacking
        .iter()
        .map(|s| match arm.filter(|_| s.takes.contains(&Takes::CountOf)) {
            Some(of) => format!("how many pots {of} were hurt"),
            None => wanted(s),
        })
        .collect();
    let verb = if reader.frame.kind == FrameKind::Place { &reader.item.written } else { &reader.frame.verb };
    let mut out = say(
        "incomplete-entry",
        Severity::Error,
        format!("This `{verb}` does not say {}", listed(&wants, "and")),
    )
    .at(reader.item.loc, listed(&wants, "and") + "?");
    // Of what is named in one stretch, as the plots of a trial are, the stretch is told once.
    let mut read: Vec<String> = Vec::new();
    let words = draft.fills.iter().map(|f| {
        let (slot, written) = (f.slot.replace('_', " "), reader.written(f.loc));
        match &f.filler {
            // A word that is only said or not stands for itself, whole: `so far`.
            Filler::Flag => lead_ending(reader, &f.slot, &written).unwrap_or(written),
            _ if written.starts_with(&*slot) => written,
            _ => format!("{slot} {written}"),
        }
    });
    for words in words {
        if !read.contains(&words) {
            read.push(words);
        }
    }
    let example = &reader.frame.example;
    let own = || example.strip_prefix(&*reader.frame.verb).map(|rest| format!("- {verb}{rest}"));
    let counts = lacking.iter().any(|s| s.takes.contains(&Takes::CountOf));
    let right = counts.then(|| with_gaps(reader)).flatten();
    let right = right.or_else(|| pots_uncounted(reader, lacking));
    let right = right.or_else(|| told::leadless(reader, lacking).map(|l| l.line));
    let right = right.or_else(|| gap_for_unread(reader, lacking));
    let right = right.or_else(|| gap_at_end(reader, lacking)).or_else(own);
    out = out.remark(RemarkKind::Write, right.unwrap_or_else(|| right_line(reader.frame)));
    if let Some(choices) = choices(reader, lacking) {
        out = out.remark(RemarkKind::Note, choices);
    }
    if !read.is_empty() {
        out = out.remark(RemarkKind::Note, format!("read so far: {}", read.join("; ")));
    }
    for (from, to) in &reader.unread {
        let loc = reader.line.loc(*from, *to);
        out = out.also(loc, format!("`{}` is not read here", reader.written(loc)));
    }
    out
}

/// The lead of a slot that ends in a word.
fn lead_ending(reader: &Reader<'_>, slot: &str, word: &str) -> Option<String> {
    let word = fold(word);
    reader.frame.slot(slot)?.leads.iter().find_map(|lead| match lead {
        Lead::Word(w) if w.split(' ').next_back() == Some(&*word) => Some(w.to_string()),
        _ => None,
    })
}

/// `potted 4 beans in …`: so many seeds or so many pots? The grower's own line with a gap for the pots.
fn pots_uncounted(reader: &Reader<'_>, lacking: &[&Slot]) -> Option<String> {
    lacking.iter().find(|s| s.takes.contains(&Takes::Pots))?;
    let end = reader.line.len();
    let (_, after) = reader.number(0, end)?;
    let (crop, next) = reader.lex.word_at(reader.line, after, end, &["crop"])?;
    let rest = reader.line.loc(next, end).span;
    let whole = reader.item.loc.span;
    let rest = reader.line.text.get(rest.start as usize..whole.end as usize)?;
    let rest = rest.split_whitespace().collect::<Vec<_>>().join(" ");
    Some(format!("- {} \u{2026} pots of {crop} {rest}", reader.frame.verb))
}

/// What stands of the tested pots is not read, and the control alone would pass for the whole reading.
pub fn half_read(reader: &Reader<'_>) -> Option<Diagnostic> {
    let unread: Vec<Loc> = reader.unread.iter().map(|(from, to)| reader.line.loc(*from, *to)).collect();
    let words: Vec<String> = unread.iter().map(|loc| format!("`{}`", reader.written(*loc))).collect();
    let message = format!(
        "{} is not read, and without it only the control would count; so nothing of this reading is kept",
        listed(&words, "and")
    );
    Some(
        say("incomplete-entry", Severity::Error, message)
            .at(*unread.first()?, "how many of how many pots?")
            .remark(RemarkKind::Write, with_gaps(reader)?),
    )
}

/// The reading of a test with what was read of it, and a gap for each count that was not: nobody's result is made up.
fn with_gaps(reader: &Reader<'_>) -> Option<String> {
    const GAP: &str = "\u{2026} of \u{2026} pots hurt";
    let slot = reader.frame.slots.iter().find(|s| s.takes.contains(&Takes::Control))?;
    let arm = |d: &Draft| {
        d.fills.iter().find_map(|f| match &f.filler {
            Filler::Value(Value::Thing(t)) if f.slot == slot.name => Some(t.clone()),
            _ => None,
        })
    };
    let test = reader.drafts.iter().find_map(arm).filter(|t| matches!(&*t.kind, "test" | "control"))?;
    let said = |kind: &str| {
        let draft = reader.drafts.iter().find(|d| arm(d).is_some_and(|t| *t.kind == *kind))?;
        let told = draft.fills.iter().filter(|f| f.slot != slot.name && !matches!(f.filler, Filler::Flag));
        let words: Vec<String> = told.map(|f| reader.written(f.loc)).collect();
        let whole = draft.fills.iter().any(|f| is_result(&f.filler));
        let gap = (!whole).then(|| GAP.to_owned());
        Some(gap.into_iter().chain(words).collect::<Vec<_>>().join(", "))
    };
    let flag = reader.drafts.iter().flat_map(|d| &d.fills).find(|f| matches!(f.filler, Filler::Flag));
    let flag = flag.and_then(|f| reader.frame.slot(&f.slot)).and_then(|s| {
        s.leads.iter().find_map(|l| match l {
            Lead::Word(w) => Some(format!(" {w}")),
            _ => None,
        })
    });
    Some(format!(
        "- {} test {}{}: {}; control {}",
        reader.frame.verb,
        test.name,
        flag.unwrap_or_default(),
        said("test").unwrap_or_else(|| GAP.to_owned()),
        said("control").unwrap_or_else(|| GAP.to_owned())
    ))
}

/// A measure that fits nowhere in an entry that says enough without it.
pub fn rest_is_read(mut slip: Diagnostic) -> Diagnostic {
    slip.severity = Severity::Warn;
    slip.message.push_str("; the rest of the line is read");
    slip
}

/// `nothing wrong` of no place.
pub fn well_nowhere(reader: &Reader<'_>, loc: Loc) -> Diagnostic {
    say(
        "incomplete-entry",
        Severity::Hint,
        "This does not say where all is well, so no bed counts as sound by it",
    )
    .at(loc, "where?")
    .remark(RemarkKind::Write, format!("- {} nothing wrong in north-1", reader.frame.verb))
}

/// `0 ppb` found, with no limit.
pub fn no_limit(reader: &Reader<'_>, loc: Loc) -> Diagnostic {
    let message = format!(
        "`{}` is read as none found; a laboratory finds none only down to its limit",
        reader.written(loc)
    );
    say("wrong-measure", Severity::Hint, message)
        .at(loc, "down to which limit?")
        .remark(RemarkKind::Write, format!("- {}, limit 1 ppb", reader.written(reader.item.loc)))
}

/// A second result after the control's that names neither arm.
pub fn which_arm(reader: &Reader<'_>, loc: Loc) -> Diagnostic {
    say(
        "incomplete-entry",
        Severity::Error,
        format!("`{}`: of the test, or of its control?", reader.written(loc)),
    )
    .at(loc, "of which?")
    .remark(RemarkKind::Write, right_line(reader.frame))
}

/// A `not`, or a word like it, that no clause takes.
pub fn not_read(reader: &Reader<'_>, at: usize) -> Diagnostic {
    let word = reader.line.word(at);
    let message = format!(
        "This `{word}` is not read, and without it the entry would say the opposite, so it is kept out"
    );
    say("unread-words", Severity::Error, message)
        .at(reader.line.loc(at, at + 1), "not read")
        .remark(RemarkKind::Write, right_line(reader.frame))
}

/// `3 1/0`: digits that make no number.
pub fn bad_number(reader: &Reader<'_>, at: usize) -> Diagnostic {
    let loc = reader.line.loc(at, at + 1);
    say("wrong-measure", Severity::Error, format!("`{}` is no number", reader.written(loc)))
        .at(loc, "how many?")
        .remark(RemarkKind::Write, right_line(reader.frame))
}

/// `3 glops of`: neither a unit nor a container.
pub fn unknown_unit(reader: &Reader<'_>, at: usize, unit: usize) -> Diagnostic {
    let loc = reader.line.loc(unit, unit + 1);
    let written = reader.written(loc);
    let all = reader.written(reader.line.loc(at, unit + 1));
    say("wrong-measure", Severity::Error, format!("`{all}`: `{written}` is no unit and no container I know"))
        .at(loc, "how much is that?")
        .remark(RemarkKind::Write, right_line(reader.frame))
        .remark(
            RemarkKind::Note,
            format!("for a container of your own, under The place: `- unit {written}, 80 l`"),
        )
}

/// `until yesterday`: no day.
pub fn no_day(reader: &Reader<'_>, from: usize, to: usize) -> Diagnostic {
    let loc = reader.line.loc(from, to);
    let written = reader.written(loc);
    let message =
        if written.is_empty() { "The day is not said".to_owned() } else { format!("`{written}` is no day") };
    say("no-such-day", Severity::Error, message)
        .at(loc, "which day?")
        .remark(RemarkKind::Write, "2026-09-01, year, month and day")
}

/// An amount less than nothing.
pub fn below_nothing(reader: &Reader<'_>, loc: Loc) -> Diagnostic {
    let written = reader.written(loc);
    let dash = Loc::new(loc.file, Span { start: loc.span.start, end: loc.span.start });
    let out = say("wrong-measure", Severity::Error, format!("`{written}` is less than nothing"))
        .at(loc, "a minus?")
        .remark(RemarkKind::Write, right_line(reader.frame));
    let text = reader.line.text.get(loc.span.range()).unwrap_or("");
    match text.chars().next().filter(|c| !c.is_alphanumeric()) {
        Some(c) => {
            let sign = Span { end: dash.span.start + c.len_utf8() as u32, ..dash.span };
            out.fix("leave the minus out", Loc::new(loc.file, sign), "")
        }
        None => out,
    }
}

/// `-400 C`: colder than anything can be.
pub fn too_cold(reader: &Reader<'_>, loc: Loc) -> Diagnostic {
    let message = format!("`{}` cannot be: nothing is colder than -273 C", reader.written(loc));
    say("wrong-measure", Severity::Error, message)
        .at(loc, "a slip?")
        .remark(RemarkKind::Write, right_line(reader.frame))
}

/// `19 of 12 plants`: more than there are.
pub fn more_than_all(reader: &Reader<'_>, all: String, loc: Loc) -> Diagnostic {
    let message = format!("`{}` is more than all", reader.written(loc));
    say("wrong-measure", Severity::Error, message)
        .at(loc, format!("at most {all}"))
        .remark(RemarkKind::Write, right_line(reader.frame))
}

/// `0 yd3`: none of what must be some.
pub fn nothing(reader: &Reader<'_>, loc: Loc) -> Diagnostic {
    say("wrong-measure", Severity::Error, format!("`{}` is nothing at all", reader.written(loc)))
        .at(loc, "more than nothing")
        .remark(RemarkKind::Write, right_line(reader.frame))
}

/// `3 lb deep`: an amount of the wrong kind.
pub fn wrong_measure(
    reader: &Reader<'_>,
    at: usize,
    next: usize,
    until: usize,
    quantity: Quantity,
) -> Diagnostic {
    let line = reader.line;
    let deep = next < until && line.is(next, "deep");
    let end = if deep { next + 1 } else { next };
    let loc = line.loc(at, end);
    let written = reader.written(loc);
    if deep {
        let amount = reader.written(line.loc(at, next));
        let out = say(
            "wrong-measure",
            Severity::Error,
            format!("`{written}`: a depth is a length, as in `3 in deep`"),
        );
        let out = out.at(loc, "not a length").remark(RemarkKind::Write, right_line(reader.frame));
        return match reader.slot_for(quantity.dimension) {
            Some(_) => out.remark(
                RemarkKind::Note,
                format!("if you meant {}: `{} {amount} of …`", plain(quantity.dimension), reader.frame.verb),
            ),
            None => out,
        };
    }
    let takes: Vec<String> = reader
        .frame
        .slots
        .iter()
        .flat_map(|s| &s.takes)
        .filter_map(|t| match t {
            Takes::Count => Some("a plain number (`24`)".to_owned()),
            Takes::Measure(d) => Some(format!("{} (`{}`)", plain(*d), d.example())),
            Takes::Amount => Some("a volume or a weight (`6 yd3`, `40 lb`)".to_owned()),
            Takes::Level => Some("a concentration (`12 ppb`)".to_owned()),
            Takes::Size => Some("a size (`30 ft x 4 ft`)".to_owned()),
            _ => None,
        })
        .fold(Vec::new(), |mut all, one| {
            if !all.contains(&one) {
                all.push(one);
            }
            all
        });
    let message = if takes.is_empty() {
        format!("`{written}` is {}, and `{}` takes none", plain(quantity.dimension), reader.frame.verb)
    } else {
        format!(
            "`{written}` is {}; `{}` takes {}",
            plain(quantity.dimension),
            reader.frame.verb,
            listed(&takes, "or")
        )
    };
    let out = say("wrong-measure", Severity::Error, message)
        .at(loc, format!("{}?", plain(quantity.dimension)))
        .remark(RemarkKind::Write, right_line(reader.frame));
    let amount = reader.frame.slots.iter().any(|s| s.takes.contains(&Takes::Amount));
    if amount && quantity.dimension == Dimension::Length {
        out.remark(
            RemarkKind::Note,
            "`6 yards` of stuff are mostly cubic yards: write `6 yd3`; likewise `m3` and `ft3`",
        )
    } else {
        out
    }
}

/// `moisture 60 C`: a figure that is no measure of what was read.
pub fn misread(reader: &Reader<'_>, quantity: &str, measure: Measure, loc: Loc) -> Diagnostic {
    let written = reader.written(loc);
    let (what, example) = match measure {
        Measure::Plain => ("a plain number", "28"),
        Measure::Of(d) => (plain(d), d.example()),
    };
    say("wrong-measure", Severity::Error, format!("`{written}`: {quantity} is {what}, as in `{example}`"))
        .at(loc, format!("not {what}"))
        .remark(RemarkKind::Write, format!("- measured {quantity} {example} in lot tern-26"))
}

/// `moisture 120 %`: more, or less, than there can be; `end` says which.
pub fn past(reader: &Reader<'_>, quantity: &str, limit: &Value, end: &str, loc: Loc) -> Diagnostic {
    let written = reader.written(loc);
    let limit = display::value(limit, &display::Units::default());
    let more = if end == "most" { "more" } else { "less" };
    let right = match reader.lex.words.measure(quantity) {
        Some(Measure::Of(d)) => format!("- {} {quantity} {} in lot tern-26", reader.frame.verb, d.example()),
        _ => right_line(reader.frame),
    };
    say("wrong-measure", Severity::Error, format!("`{written}` cannot be: {quantity} is {limit} at {end}"))
        .at(loc, format!("{more} than {limit}"))
        .remark(RemarkKind::Write, right)
}

/// `frost 30 C`: beyond what the verb can mean.
pub fn beyond(reader: &Reader<'_>, limit: &Limit, loc: Loc) -> Diagnostic {
    let (written, verb, slot) = (reader.written(loc), &reader.frame.verb, limit.slot.replace('_', " "));
    let message = format!("`{written}` cannot be meant: the {slot} of `{verb}` is {}", limit.said);
    say("wrong-measure", Severity::Error, message)
        .at(loc, "a slip?")
        .remark(RemarkKind::Write, right_line(reader.frame))
}

/// A share of nobody knows what.
pub fn which_quantity(reader: &Reader<'_>, loc: Loc) -> Diagnostic {
    let written = reader.written(loc);
    let words = &reader.lex.words;
    let shares = |w: &str| words.measure(w).is_none_or(|m| m == Measure::Of(Dimension::Share));
    let spellings = words.spellings("quantity").map(|(_, w)| w).filter(|w| shares(w));
    let mut words: Vec<String> = spellings.map(str::to_owned).collect();
    words.sort();
    words.dedup();
    say("incomplete-entry", Severity::Error, format!("`{written}` of what?"))
        .at(loc, "what was read?")
        .remark(RemarkKind::Write, format!("… {written} and one of these words: {}", listed(&words, "or")))
}

/// A laboratory's level without its unit.
pub fn no_unit(reader: &Reader<'_>, at: usize, next: usize) -> Diagnostic {
    let loc = reader.line.loc(at, next);
    let written = reader.written(loc);
    let end = Loc::new(loc.file, Span { start: loc.span.end, end: loc.span.end });
    say(
        "wrong-measure",
        Severity::Error,
        format!("`{written}` has no unit: parts per billion, as in `{written} ppb`?"),
    )
    .at(loc, "which unit?")
    .remark(RemarkKind::Write, right_line(reader.frame))
    .fix("write ppb", end, " ppb")
    .fix("write ppm", end, " ppm")
}

/// A dimension with its article, in plain words.
fn plain(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Length => "a length",
        Dimension::Area => "an area",
        Dimension::Volume => "a volume",
        Dimension::Mass => "a weight",
        Dimension::Temperature | Dimension::TemperatureDifference => "a temperature",
        Dimension::Duration => "a time",
        Dimension::Speed => "a speed",
        Dimension::MassFraction => "a concentration",
        Dimension::Conductivity => "a salt reading",
        Dimension::Share => "a share",
        Dimension::Density => "a density",
        Dimension::MassPerArea => "a rate for an area",
        Dimension::VolumePerVolume => "a dilution",
        Dimension::MassFractionPerTime => "a weight per weight and time",
        Dimension::Acidity => "a pH",
        Dimension::Money => "money",
    }
}

/// The page of words that no table has.
const UNKNOWN: &str = "unknown-word";

/// An unknown crop, sign or stuff, kept as written.
/// `like` are words that begin as one of those written does.
pub fn unknown_word(
    kind: &str,
    written: &str,
    near: Option<(String, String)>,
    like: &[String],
    loc: Loc,
) -> Diagnostic {
    let article = if kind.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    let message = match &near {
        Some((spelling, _)) => format!("`{written}`: did you mean `{spelling}`?"),
        None => format!("`{written}` is not {article} {kind} I know; kept as written"),
    };
    let out = say(UNKNOWN, Severity::Hint, message).at(loc, format!("no {kind} of the tables"));
    match near {
        Some((spelling, _)) => out
            .fix(format!("write {spelling}"), loc, &*spelling)
            .remark(RemarkKind::Note, format!("kept as `{written}` until then")),
        None if !like.is_empty() => {
            out.remark(RemarkKind::Next, format!("if you saw {}, write that", told::quoted(like)))
        }
        None => {
            // What is sold under a name of its own is known by what the label says is in it.
            let label =
                if kind == "substance" { "write the ingredient that its label names; or, " } else { "" };
            let row = "add a row to a table of your own under `rules/`";
            out.remark(RemarkKind::Next, format!("{label}to make it known, {row}: `{{thing}} is a {kind}`"))
        }
    }
}

/// A quote that never closes.
pub fn unclosed_quote(reader: &Reader<'_>, at: usize) -> Diagnostic {
    let loc = reader.line.loc(at, at + 1);
    let end = Loc::new(loc.file, Span { start: loc.span.end, end: loc.span.end });
    say(
        "unclosed-quote",
        Severity::Error,
        "The quote that opens here never closes, so the rest of the entry is inside it",
    )
    .at(loc, "opens here")
    .remark(RemarkKind::Write, right_line(reader.frame))
    .fix("close it at the end", end, "\"")
}

/// A day inside an entry that is none.
pub fn bad_day(reader: &Reader<'_>, at: usize, fault: &DayFault) -> Diagnostic {
    let loc = reader.line.loc(at, at + 1);
    let written = reader.written(loc);
    let day = |message: String| say("no-such-day", Severity::Error, message);
    match fault {
        DayFault::TwoWays(a, b) => day(format!("`{written}` may be {} or {}", long(*a), long(*b)))
            .at(loc, "which of the two?")
            .remark(RemarkKind::Write, format!("{a} or {b}"))
            .fix(format!("write {a}"), loc, a.to_string())
            .fix(format!("write {b}"), loc, b.to_string()),
        DayFault::Slashes(a) => day(format!("`{written}` reads differently elsewhere"))
            .at(loc, format!("{}?", long(*a)))
            .remark(RemarkKind::Write, a.to_string())
            .fix(format!("write {a}"), loc, a.to_string()),
        DayFault::NoSuchDay | DayFault::NotADay => day(format!("There is no day `{written}`"))
            .at(loc, "not in the calendar")
            .remark(RemarkKind::Write, "2026-03-14, year, month and day"),
    }
}

/// `6 in north-2`
pub fn read_as_place(reader: &Reader<'_>, at: usize, next: usize, until: usize) -> Diagnostic {
    let number = reader.written(reader.line.loc(at, next));
    let end = reader.lex.name_at(reader.line, next + 1, until, |_| true).map_or(next + 2, |(_, end)| end);
    let place = reader.written(reader.line.loc(next + 1, end));
    say(
        "in-read-as-place",
        Severity::Hint,
        format!("Read as {} *in* {place}. For inches write `{number} inches`", counted(&number, "plant")),
    )
    .at(reader.line.loc(at, end), "")
}

/// `beds 1-6` with a gap.
pub fn gap_in_range(take: &Take) -> Diagnostic {
    let loc = take.fillers.first().map(|(_, loc)| *loc);
    let mut missing = take.missing.clone();
    if missing.len() > 5 {
        let more = missing.split_off(4).len();
        missing.push(format!("{more} more"));
    }
    let out = say(
        "gap-in-range",
        Severity::Warn,
        format!("No {} is named anywhere, so the range leaves it out", listed(&missing, "or")),
    );
    match loc {
        Some(loc) => out.at(loc, format!("read without {}", listed(&missing, "and"))),
        None => out,
    }
}

/// Unknown words before a crop.
pub fn quote_the_variety(written: &str, loc: Loc) -> Diagnostic {
    say(
        "unquoted-variety",
        Severity::Hint,
        format!("`{written}` is taken for the variety; in quotes it is sure: `\"{written}\"`"),
    )
    .at(loc, "variety?")
    .fix("put it in quotes", loc, format!("\"{written}\""))
}

impl Reader<'_> {
    /// The text at a place of this entry, every run of white space one space.
    pub(super) fn written(&self, loc: Loc) -> String {
        let text = self.line.text.get(loc.span.range()).unwrap_or("");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Puts under each word that is nearly a known one the whole line with all of them mended.
    pub(super) fn show_mended(&mut self) {
        let mut mends: Vec<(Span, String)> = Vec::new();
        for d in self.said.iter().filter(|d| *d.code == *UNKNOWN) {
            mends.extend(d.fixes.first().map(|fix| (fix.loc.span, fix.text.clone())));
        }
        mends.sort();
        let (mut line, mut at) = (String::new(), self.item.loc.span.start as usize);
        let text = |from: usize, to: usize| self.line.text.get(from..to).unwrap_or("");
        for (span, word) in &mends {
            line.push_str(text(at, span.start as usize));
            line.push_str(word);
            at = span.end as usize;
        }
        line.push_str(text(at, self.item.loc.span.end as usize));
        let line = format!("- {}", line.split_whitespace().collect::<Vec<_>>().join(" "));
        for d in self.said.iter_mut().filter(|d| *d.code == *UNKNOWN && !d.fixes.is_empty()) {
            d.remarks.insert(0, Remark { kind: RemarkKind::Write, text: line.clone() });
        }
    }
}

/// Whether a filler is what a test or reading came to.
pub fn is_result(filler: &Filler) -> bool {
    matches!(
        filler,
        Filler::CountOf { .. }
            | Filler::OfAll { .. }
            | Filler::Grades(_)
            | Filler::Heights(_)
            | Filler::Reading { .. }
    )
}

/// `skipped` without a reason.
pub fn no_reason(reader: &Reader<'_>) -> Diagnostic {
    let end = Span { start: reader.item.loc.span.end, end: reader.item.loc.span.end };
    say("incomplete-entry", Severity::Error, "This `skipped` does not say why")
        .at(reader.item.loc, "why?")
        .remark(RemarkKind::Write, right_line(reader.frame))
        .fix("add a reason", Loc::new(reader.item.loc.file, end), ": rained off")
}

/// A correction that does not say what it corrects, or into what.
pub fn unclear_correction(reader: &Reader<'_>, what: &str, loc: Loc) -> Diagnostic {
    say("incomplete-entry", Severity::Error, format!("This `correct` does not say {what}"))
        .at(loc, format!("{what}?"))
        .remark(RemarkKind::Write, right_line(reader.frame))
        .remark(RemarkKind::Write, "- correct 2026-03-20 spread: is 2026-03-21")
        .remark(RemarkKind::Write, "- correct 2026-03-14 received lot tern-26: 5 yd3")
}

/// Bookkeeping without what it is about.
pub fn incomplete(reader: &Reader<'_>, what: &str) -> Diagnostic {
    say("incomplete-entry", Severity::Error, format!("This `{}` does not say {what}", reader.frame.verb))
        .at(reader.item.loc, format!("{what}?"))
        .remark(RemarkKind::Write, right_line(reader.frame))
}
