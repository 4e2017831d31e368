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
    let related: Vec<DiagnosticRelatedInformation> =
        finding.secondary.iter().filter_map(|label| related(round, label)).take(RELATED).collect();
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

fn related(round: &Round, label: &Label) -> Option<DiagnosticRelatedInformation> {
    let location = round.location(label.loc)?;
    let message = if label.text.is_empty() { "it rests on this as well" } else { &label.text };
    Some(DiagnosticRelatedInformation { location, message: message.to_owned() })
}

/// The page of a code, where it can be opened: a file of the farm's own, or a built-in page in an editor
/// that asks the server for its text.
fn page(round: &Round, code: &str) -> Option<CodeDescription> {
    let page = round.checked.pages.iter().find(|p| *p.code == *code)?;
    Some(CodeDescription { href: round.shown(page.file)? })
}
