//! Diagnostics drawn for a terminal: a header line, the journal lines they point at, remarks.
//!
//! Comes in: a report, the texts, and how to show them. Goes out: text no wider than asked.
//! The only file that knows miette, which draws the underlines; it is handed just the lines to show
//! (as an indexed source of its own), because on a whole file it would read all of it for each label.

use std::{
    collections::{BTreeMap, BTreeSet},
    fmt::Write as _,
    sync::Arc,
};

use miette::{
    GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, SourceCode,
    SourceSpan, SpanContents, ThemeCharacters, ThemeStyles,
};

use super::{
    excerpt::{Mark, Row, rows},
    layout::{Style, clean, columns, count, cut, hang, pad, wrap},
    lines,
    paint::{Ink, paint, unpainted},
};
use crate::{
    base::{
        diagnostic::{Diagnostic, Label, Remark, RemarkKind, Severity},
        source::{SourceFile, Sources},
        span::FileId,
    },
    model::report::Report,
};

/// How many lines besides the primary one are drawn unless all are asked for.
const SECONDARY_SHOWN: usize = 4;
/// How many hints of one code are told apart unless all are asked for.
const HINTS: usize = 3;
/// How many slips of one code in one file are told apart unless all are asked for.
const SLIPS: usize = 5;
/// Columns of the longest message or remark unless all is asked for; those that hold no long names take a
/// few hundred.
const LONGEST: usize = 1_200;
/// Columns of the longest word in one.
const WORD_LONGEST: usize = 120;
/// Columns of the severity word and the spaces after it.
const WORD: usize = 7;

/// A whole report: its diagnostics, most urgent first, and a summary line.
pub fn report(report: &Report, sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    let mut crowd = Crowd::default();
    let mut drawn: BTreeMap<Severity, usize> = BTreeMap::new();
    let mut cautions: BTreeSet<&str> = BTreeSet::new();
    for finding in &report.findings {
        out.push_str(&crowd.left_before(finding.severity, sources, style));
        if !style.all && crowd.hides(finding) {
            continue;
        }
        let drawn = drawn.entry(finding.severity).or_default();
        *drawn += 1;
        let late = !style.all && *drawn > drawn_at_most(finding.severity);
        let said_above = |text: &str| late && cautions.contains(text);
        out.push_str(&one(finding, late, &said_above, sources, style));
        out.push('\n');
        let told = finding.remarks.iter().filter(|r| r.kind == RemarkKind::Caution);
        cautions.extend(told.map(|r| r.text.as_str()));
    }
    out.push_str(&crowd.left(sources, style));
    if style.all {
        for allowed in &report.allowed {
            let mut quiet = allowed.finding.clone();
            quiet.remarks.push(Remark { kind: RemarkKind::Note, text: allowed.by.clone() });
            out.push_str(&diagnostic(&quiet, sources, style));
            out.push('\n');
        }
    }
    out.push_str(&summary(report, style));
    out.push_str(&keys(report, style));
    out
}

/// How many diagnostics of a severity are drawn with their lines unless all are asked for; the rest are
/// brief, so that a long report does not push what matters off the screen.
fn drawn_at_most(severity: Severity) -> usize {
    match severity {
        Severity::Alarm => usize::MAX,
        Severity::Error => 4,
        Severity::Warn => 6,
        Severity::Hint => 0,
    }
}

/// Diagnostics without a report around them, as `watch` shows what is new.
pub fn diagnostics(list: &[Diagnostic], sources: &Sources, style: &Style) -> String {
    let mut crowd = Crowd::default();
    let mut parts: Vec<String> = Vec::new();
    for d in list {
        parts.extend(Some(crowd.left_before(d.severity, sources, style)).filter(|left| !left.is_empty()));
        if style.all || !crowd.hides(d) {
            parts.push(diagnostic(d, sources, style));
        }
    }
    parts.extend(Some(crowd.left(sources, style)).filter(|left| !left.is_empty()));
    parts.join("\n")
}

/// Findings that are much like those shown already: of hints so many of a code, of slips in the writing, which
/// are about no thing, so many of a code in a file. A torn file has thousands, and one mend may be enough for all.
#[derive(Default)]
struct Crowd {
    severity: Option<Severity>,
    seen: BTreeMap<(Arc<str>, Option<FileId>), usize>,
}

impl Crowd {
    /// Whether a finding is one too many.
    fn hides(&mut self, d: &Diagnostic) -> bool {
        let file = d.primary.as_ref().map(|l| l.loc.file);
        let (file, most) = match d.severity {
            Severity::Hint => (None, HINTS),
            Severity::Alarm => return false,
            _ if !d.about.is_empty() => return false,
            _ => (file, SLIPS),
        };
        let seen = self.seen.entry((Arc::clone(&d.code), file)).or_default();
        *seen += 1;
        *seen > most
    }

    /// What was hidden, where findings of another severity begin.
    fn left_before(&mut self, next: Severity, sources: &Sources, style: &Style) -> String {
        let left = if self.severity == Some(next) { String::new() } else { self.left(sources, style) };
        self.severity = Some(next);
        left
    }

    /// How many of what were hidden since that was last told.
    fn left(&mut self, sources: &Sources, style: &Style) -> String {
        let severity = self.severity.unwrap_or(Severity::Hint);
        let most = if severity == Severity::Hint { HINTS } else { SLIPS };
        let more: Vec<String> = std::mem::take(&mut self.seen)
            .into_iter()
            .filter(|(_, n)| *n > most)
            .map(|((code, file), n)| {
                let place = file.map_or_else(String::new, |f| format!(" in {}", sources.file(f).path));
                format!("{} more {}{place}", n - most, clean(&code))
            })
            .collect();
        if more.is_empty() {
            return String::new();
        }
        let text = format!("and {} (--all shows them)", more.join(", "));
        let lead = pad(severity.word(), WORD);
        format!("{}\n", lines::lead(&lead, Ink::Severity(severity), &text, style))
    }
}

/// One diagnostic, ending in a line break; a hint in brief unless all is asked for.
pub fn diagnostic(d: &Diagnostic, sources: &Sources, style: &Style) -> String {
    let brief = d.severity == Severity::Hint && !style.all;
    one(d, brief, &|_| false, sources, style)
}

/// One diagnostic, in brief with its place on one line, or drawn. A caution that was `said_above` in
/// full is pointed back to.
fn one(
    d: &Diagnostic,
    brief: bool,
    said_above: &dyn Fn(&str) -> bool,
    sources: &Sources,
    style: &Style,
) -> String {
    let mut out = header(d, style);
    let hidden = if brief {
        out.push_str(&in_brief(d, sources, style));
        0
    } else {
        snippets(d, sources, style, &mut out)
    };
    if hidden > 0 {
        let more = format!("and {} (--all shows them)", count(hidden, "more line", "more lines"));
        push_remark(&mut out, "also", &more, Ink::Quiet, style);
    }
    let mut remarks: Vec<_> = d.remarks.iter().collect();
    remarks.sort_by_key(|r| remark_rank(r.kind));
    for remark in remarks {
        let (word, ink) = remark_word(remark.kind);
        let above = remark.kind == RemarkKind::Caution && said_above(&remark.text);
        push_remark(&mut out, word, if above { "as above" } else { &remark.text }, ink, style);
    }
    if !d.folded.is_empty() {
        if style.all {
            for inner in &d.folded {
                let by = d.about.first().map_or(String::new(), |a| format!(" about {}", clean(a)));
                push_remark(&mut out, "explains", &format!("with {}{by}:", d.code), Ink::Quiet, style);
                out.push_str(&diagnostic(inner, sources, style));
            }
        } else {
            push_remark(&mut out, "explains", &folded_words(&d.folded), Ink::Quiet, style);
        }
    }
    out
}

/// Where reasons and sources are, if anything is said.
fn keys(report: &Report, style: &Style) -> String {
    if report.findings.is_empty() {
        return String::new();
    }
    lines::keys(style)
}

/// `2 alarms, 1 hint · 3 explained, 1 allowed (--all) · 4 things to do (haulm due)`.
pub fn summary(report: &Report, style: &Style) -> String {
    let kinds = [
        (Severity::Alarm, "alarm", "alarms"),
        (Severity::Error, "error", "errors"),
        (Severity::Warn, "warning", "warnings"),
        (Severity::Hint, "hint", "hints"),
    ];
    let said: Vec<String> = kinds
        .iter()
        .filter_map(|(severity, one, many)| match report.count(*severity) {
            0 => None,
            n => Some(count(n, one, many)),
        })
        .collect();
    let mut parts = vec![if said.is_empty() { "nothing to report".to_owned() } else { said.join(", ") }];
    let mut quiet = Vec::new();
    if report.folded() > 0 {
        quiet.push(format!("{} explained", report.folded()));
    }
    if !report.allowed.is_empty() {
        quiet.push(format!("{} allowed", report.allowed.len()));
    }
    if !quiet.is_empty() {
        let hint = if style.all { "" } else { " (--all)" };
        parts.push(format!("{}{hint}", quiet.join(", ")));
    }
    let jobs = report.jobs();
    if jobs > 0 {
        let due = style.command("due");
        let alone = match report.jobs_alone() {
            0 => String::new(),
            n => format!(", {n} of them told there alone"),
        };
        parts.push(format!("{} ({due}){alone}", count(jobs, "thing to do", "things to do")));
    }
    let text = parts.join(if style.unicode { " · " } else { "; " });
    let ink = report.worst().map_or(Ink::Well, Ink::Severity);
    wrap(&text, style.columns(), style.columns())
        .into_iter()
        .map(|line| format!("{}\n", paint(&line, ink, style.colour)))
        .collect()
}

/// Severity, message and, at the right edge, the code.
fn header(d: &Diagnostic, style: &Style) -> String {
    let width = style.columns();
    let room = width - WORD;
    let code = clean(&d.code);
    let beside = room.saturating_sub(columns(&code) + 2);
    let message = style.commands(&shortened(&d.message, style));
    let whole = wrap(&message, room, room);
    // The code stands at the right of the first line where the message leaves it half the room.
    let roomy = beside * 2 >= room;
    let lines = if roomy { wrap(&message, beside, room) } else { whole };
    let mut out = String::new();
    for (i, line) in lines.iter().enumerate() {
        let lead = if i == 0 { pad(d.severity.word(), WORD) } else { " ".repeat(WORD) };
        let lead = paint(&lead, Ink::Severity(d.severity), style.colour);
        let strong = paint(line, Ink::Strong, style.colour);
        if i == 0 && roomy {
            let gap = " ".repeat(room.saturating_sub(columns(line) + columns(&code)));
            let _ = writeln!(out, "{lead}{strong}{gap}{}", paint(&code, Ink::Quiet, style.colour));
        } else {
            let _ = writeln!(out, "{lead}{strong}");
        }
    }
    if !roomy {
        for line in hang(&" ".repeat(WORD), &code, width) {
            let _ = writeln!(out, "{}", paint(&line, Ink::Quiet, style.colour));
        }
    }
    out
}

/// A place and its line on one line.
fn in_brief(d: &Diagnostic, sources: &Sources, style: &Style) -> String {
    let Some(label) = &d.primary else { return String::new() };
    let file = sources.file(label.loc.file);
    let line = file.line_of(label.loc.span.start as usize);
    let text = file.text.get(file.line_range(line)).unwrap_or("").trim();
    let place = place_name(&file.path, line + 1, style.columns() / 2, style.unicode);
    let room = style.columns().saturating_sub(WORD + columns(&place) + 2);
    let text = cut(text, room, style.unicode);
    format!("{}{}  {text}\n", " ".repeat(WORD), paint(&place, Ink::Quiet, style.colour))
}

/// Draws the lines pointed at, a box for each file; gives back how many labels were left out.
fn snippets(d: &Diagnostic, sources: &Sources, style: &Style, out: &mut String) -> usize {
    let shown = if style.all { d.secondary.len() } else { d.secondary.len().min(SECONDARY_SHOWN) };
    let labels: Vec<(&Label, bool)> = d
        .primary
        .iter()
        .map(|l| (l, true))
        .chain(d.secondary.iter().take(shown).map(|l| (l, false)))
        .collect();
    let mut files: Vec<FileId> = Vec::new();
    for (label, _) in &labels {
        if !files.contains(&label.loc.file) {
            files.push(label.loc.file);
        }
    }
    let number = |l: &Label| sources.file(l.loc.file).line_of(l.loc.span.start as usize) + 1;
    let digits = labels.iter().map(|(l, _)| number(l).to_string().len()).max().unwrap_or(0).max(2);
    for id in files {
        let marks: Vec<Mark> = labels
            .iter()
            .filter(|(l, _)| l.loc.file == id)
            .map(|(l, primary)| Mark {
                start: l.loc.span.start as usize,
                end: l.loc.span.end as usize,
                text: if style.unicode { l.text.clone() } else { ascii(&l.text) },
                primary: *primary,
            })
            .collect();
        out.push_str(&boxed(sources.file(id), &marks, digits, d.severity, style));
    }
    d.secondary.len() - shown
}

/// One file's lines in a box, with labels drawn by miette and the true line numbers put in.
fn boxed(file: &SourceFile, marks: &[Mark], digits: usize, severity: Severity, style: &Style) -> String {
    let room = style.columns().saturating_sub(digits + 4);
    let rows = rows(file, marks, room, style.unicode);
    let first = rows.iter().find(|r| r.marks.iter().any(|m| m.primary)).or(rows.first());
    let number = first.map_or(1, |r| r.number);
    let name = place_name(&file.path, number, style.columns().saturating_sub(digits + 8), style.unicode);
    let snippet = Snippet::new(&rows, name, digits);
    let theme = GraphicalTheme { characters: characters(style), styles: styles(&rows, severity, style) };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(usize::MAX / 4)
        .with_context_lines(0)
        .with_links(false)
        .without_primary_span_start()
        .without_syntax_highlighting()
        .without_cause_chain();
    let mut drawn = String::new();
    if handler.render_report(&mut drawn, &snippet).is_err() {
        return String::new();
    }
    renumbered(&drawn, &rows, digits, style)
}

/// `spring.md:14`, cut at its front when it is too long.
fn place_name(path: &str, line: usize, room: usize, unicode: bool) -> String {
    let name = format!("{}:{line}", clean(path));
    if columns(&name) <= room {
        return name;
    }
    let dots = if unicode { "…" } else { "..." };
    let mut at = name.len();
    for (i, _) in name.char_indices().rev() {
        if columns(&name[i..]) + columns(dots) > room {
            break;
        }
        at = i;
    }
    format!("{dots}{}", &name[at..])
}

/// Takes miette's drawing, drops its empty heading, and writes the file's own line numbers.
fn renumbered(drawn: &str, rows: &[Row], digits: usize, style: &Style) -> String {
    let (bar, top) = if style.unicode { ('│', '╭') } else { ('|', ',') };
    let mut numbers = rows.iter().map(|r| r.number);
    let mut out = String::new();
    let body = drawn.lines().skip_while(|l| !unpainted(l).trim_start().starts_with(top));
    for line in body {
        let bare = unpainted(line);
        let is_row = bare
            .trim_start()
            .split_once(bar)
            .is_some_and(|(n, _)| !n.is_empty() && n.trim_end().chars().all(|c| c.is_ascii_digit()));
        if is_row && let (Some((_, rest)), Some(number)) = (line.split_once(bar), numbers.next()) {
            let number = paint(&format!("{number:>digits$}"), Ink::Quiet, style.colour);
            let _ = writeln!(out, "{}", format!(" {number} {bar}{rest}").trim_end());
        } else {
            let _ = writeln!(out, "{}", line.trim_end());
        }
    }
    out
}

fn characters(style: &Style) -> ThemeCharacters {
    if style.unicode { ThemeCharacters::unicode() } else { ThemeCharacters::ascii() }
}

/// miette gives the labels their styles in the order they stand, so that is the order made here.
fn styles(rows: &[Row], severity: Severity, style: &Style) -> ThemeStyles {
    let mut styles = if style.colour { ThemeStyles::ansi() } else { ThemeStyles::none() };
    if style.colour {
        let urgent = match severity {
            Severity::Alarm => styles.error,
            Severity::Error => styles.highlights.first().copied().unwrap_or(styles.error),
            Severity::Warn => styles.warning,
            Severity::Hint => styles.advice,
        };
        let other = styles.help;
        let marks = rows.iter().flat_map(|r| &r.marks);
        styles.highlights = marks.map(|m| if m.primary { urgent } else { other }).collect();
        styles.link = styles.linum;
        if styles.highlights.is_empty() {
            styles.highlights.push(other);
        }
    }
    styles
}

/// The rows as one small text: what miette is given instead of the file.
#[derive(Debug)]
struct Snippet {
    text: String,
    name: String,
    before: usize,
    labels: Vec<LabeledSpan>,
}

impl Snippet {
    /// `digits` is how wide the line numbers must be drawn, so counting starts high enough for that.
    fn new(rows: &[Row], name: String, digits: usize) -> Self {
        let mut text = String::new();
        let mut labels = Vec::new();
        for row in rows {
            // miette hangs the words of a line from bars, and a mark that has none would keep its bar.
            let worded = row.marks.iter().any(|m| !m.text.is_empty());
            for mark in row.marks.iter().filter(|m| !worded || !m.text.is_empty()) {
                let words = (!mark.text.is_empty()).then(|| mark.text.clone());
                labels.push(LabeledSpan::new(words, text.len() + mark.start, mark.end - mark.start));
            }
            text.push_str(&row.text);
            text.push('\n');
        }
        let before = 10usize.saturating_pow(u32::try_from(digits - 1).unwrap_or(0));
        Self { text, name, before, labels }
    }
}

impl SourceCode for Snippet {
    fn read_span<'a>(
        &'a self,
        _span: &SourceSpan,
        _before: usize,
        _after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let whole = SourceSpan::new(0.into(), self.text.len());
        let lines = self.text.bytes().filter(|b| *b == b'\n').count();
        let contents = MietteSpanContents::new_named(
            self.name.clone(),
            self.text.as_bytes(),
            whole,
            self.before,
            0,
            lines,
        );
        Ok(Box::new(contents))
    }
}

impl std::fmt::Display for Snippet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("")
    }
}

impl std::error::Error for Snippet {}

impl miette::Diagnostic for Snippet {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

/// The word a remark stands under.
fn remark_word(kind: RemarkKind) -> (&'static str, Ink) {
    match kind {
        RemarkKind::Write => ("write", Ink::Lead),
        RemarkKind::Next => ("next", Ink::Lead),
        RemarkKind::Caution => ("caution", Ink::Caution),
        RemarkKind::Why => ("why", Ink::Quiet),
        RemarkKind::Note => ("note", Ink::Quiet),
    }
}

/// What to do comes before how to write it, and a caution right after what it is about.
fn remark_rank(kind: RemarkKind) -> u8 {
    match kind {
        RemarkKind::Next => 0,
        RemarkKind::Caution => 1,
        RemarkKind::Write => 2,
        RemarkKind::Why => 3,
        RemarkKind::Note => 4,
    }
}

fn push_remark(out: &mut String, word: &str, text: &str, ink: Ink, style: &Style) {
    let lead = format!("  {} ", pad(word, 8));
    let text = style.commands(&shortened(text, style));
    let text = if style.unicode { text } else { ascii(&text) };
    for (i, line) in hang(&lead, &text, style.columns()).into_iter().enumerate() {
        match line.split_at_checked(lead.len()) {
            Some((head, rest)) if i == 0 => {
                let _ = writeln!(out, "{}{rest}", paint(head, ink, style.colour));
            }
            _ => {
                let _ = writeln!(out, "{line}");
            }
        }
    }
}

/// What is said of a finding, cut short where a name in it is so long that it would push all else off the screen.
fn shortened(text: &str, style: &Style) -> String {
    if style.all {
        return text.to_owned();
    }
    let words: Vec<String> = text.split(' ').map(|word| cut(word, WORD_LONGEST, style.unicode)).collect();
    cut(&words.join(" "), LONGEST, style.unicode)
}

/// `2 untested-lot, 1 unknown-sign (--all shows them)`.
fn folded_words(folded: &[Diagnostic]) -> String {
    let mut codes: Vec<(&str, usize)> = Vec::new();
    for d in folded {
        match codes.iter_mut().find(|(c, _)| *c == &*d.code) {
            Some((_, n)) => *n += 1,
            None => codes.push((&d.code, 1)),
        }
    }
    codes.sort_unstable();
    let list: Vec<String> = codes.iter().map(|(c, n)| format!("{n} {c}")).collect();
    format!("{} (--all shows them)", list.join(", "))
}

/// The signs this program writes itself, in plain characters; the grower's own letters stay.
fn ascii(text: &str) -> String {
    text.replace(" · ", "; ").replace('→', "->").replace('…', "...").replace(['“', '”'], "\"")
}
