//! Findings as an editor shows them.
//!
//! Comes in: a check. Goes out: for every file of the farm, the diagnostics that stand in it, exactly the
//! findings that `check` prints. A finding without a place stands at the top of the first journal.

use std::collections::BTreeMap;

use lsp_types::{
    CodeDescription, Diagnostic as Shown, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag,
    NumberOrString, Range,
};

use super::round::Round;
use crate::base::{
    diagnostic::{Diagnostic, Label, RemarkKind, Severity},
    span::FileId,
};

/// More places than this are not listed with a finding; the last line says how many are left.
const RELATED: usize = 12;
/// So many letters of such a line are shown.
const WORDS: usize = 72;

/// The diagnostics of every file of the farm, files without any included.
pub fn by_file(round: &Round) -> BTreeMap<FileId, Vec<Shown>> {
    let mut files: BTreeMap<FileId, Vec<Shown>> = round.files().map(|id| (id, Vec::new())).collect();
    let first = round.files().find(|id| round.is_journal(*id)).or_else(|| round.files().next());
    for finding in &round.checked.report.findings {
        let at = finding.primary.as_ref().map(|l| l.loc).filter(|l| files.contains_key(&l.file));
        let range = at.map_or(Range::default(), |l| round.range(l));
        if let Some(list) = at.map(|l| l.file).or(first).and_then(|file| files.get_mut(&file)) {
            list.push(shown(round, finding, range));
        }
    }
    files
}

/// One finding.
fn shown(round: &Round, finding: &Diagnostic, range: Range) -> Shown {
    let related = related(round, finding);
    Shown {
        range,
        severity: Some(severity(finding.severity)),
        code: Some(NumberOrString::String(finding.code.to_string())),
        code_description: page(round, &finding.code),
        source: Some("haulm".to_owned()),
        message: message(finding),
        related_information: (!related.is_empty()).then_some(related),
        // A line that changes nothing may be drawn faint.
        tags: (&*finding.code == "allow-unused").then(|| vec![DiagnosticTag::UNNECESSARY]),
        data: None,
    }
}

/// How pressing, in the protocol's steps: an alarm is an error there, and its word opens the message.
fn severity(severity: Severity) -> DiagnosticSeverity {
    match severity {
        Severity::Alarm | Severity::Error => DiagnosticSeverity::ERROR,
        Severity::Warn => DiagnosticSeverity::WARNING,
        Severity::Hint => DiagnosticSeverity::INFORMATION,
    }
}

/// The sentence, then its remarks, each under its word: a step that can hurt never stands without its
/// caution.
pub fn message(finding: &Diagnostic) -> String {
    let alarm = if finding.severity == Severity::Alarm { "alarm: " } else { "" };
    let mut out = format!("{alarm}{}", finding.message);
    for remark in &finding.remarks {
        let word = match remark.kind {
            RemarkKind::Write => "write",
            RemarkKind::Next => "next",
            RemarkKind::Caution => "caution",
            RemarkKind::Why => "why",
            RemarkKind::Note => "note",
        };
        out.push_str(&format!("\n{word}: {}", remark.text));
    }
    let mut under: BTreeMap<&str, usize> = BTreeMap::new();
    for folded in &finding.folded {
        *under.entry(&folded.code).or_default() += 1;
    }
    if !under.is_empty() {
        let list: Vec<String> = under.iter().map(|(code, n)| format!("{n} {code}")).collect();
        out.push_str(&format!("\nexplains: {}", list.join(", ")));
    }
    out
}

/// The other lines a finding rests on, each once: what is said of it, and its words, so that they can be read
/// where the editor lists them.
fn related(round: &Round, finding: &Diagnostic) -> Vec<DiagnosticRelatedInformation> {
    let line = |label: &Label| (label.loc.file, round.range(label.loc).start.line);
    let mut told: Vec<_> = finding.primary.iter().map(line).collect();
    let mut out = Vec::new();
    // Of several places in a line, one may say the day.
    let mut labels: Vec<&Label> = finding.secondary.iter().collect();
    labels.sort_by_key(|label| label.text.is_empty());
    labels.retain(|label| {
        let is_new = !told.contains(&line(label));
        told.push(line(label));
        is_new
    });
    for label in finding.secondary.iter().filter(|label| labels.contains(label)).take(RELATED) {
        if let Some(location) = round.location(label.loc) {
            let file = round.checked.sources.file(label.loc.file);
            let line = file.line_range(file.line_of(label.loc.span.start as usize));
            let words = shortened(file.text.get(line).unwrap_or(""));
            let of = if label.text.is_empty() { String::new() } else { format!("{}: ", label.text) };
            out.push(DiagnosticRelatedInformation { location, message: format!("{of}{words}") });
        }
    }
    out
}

/// A line without its marker, as much of it as a list shows.
fn shortened(line: &str) -> String {
    let words = line.trim().trim_start_matches(['-', '*', '+', '#']).trim();
    match words.char_indices().nth(WORDS) {
        Some((at, _)) => format!("{}…", words.get(..at).unwrap_or(words).trim_end()),
        None => words.to_owned(),
    }
}

/// The page of a code, where it can be opened: a file of the farm's own, or a built-in page in an editor
/// that asks the server for its text.
fn page(round: &Round, code: &str) -> Option<CodeDescription> {
    let page = round.checked.pages.iter().find(|p| *p.code == *code)?;
    Some(CodeDescription { href: round.shown(page.file)? })
}
