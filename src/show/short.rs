//! One line for each diagnostic, as editors' quickfix lists and `grep` like them.
//!
//! Comes in: a report. Goes out: `path:line:column: severity code: message`, line and column from 1,
//! columns in Unicode scalar values. A diagnostic without a place begins with `haulm:`. No colour.

use super::layout::{Style, clean};
use crate::{
    base::{diagnostic::Diagnostic, source::Sources},
    model::report::Report,
};

/// A report, one line for each thing said. With `all`, what is folded and allowed as well.
pub fn report(report: &Report, sources: &Sources, style: &Style) -> String {
    let mut out: String = report.findings.iter().map(|d| with_folded(d, sources, style)).collect();
    if style.all {
        out.extend(report.allowed.iter().map(|a| with_folded(&a.finding, sources, style)));
    }
    out
}

fn with_folded(d: &Diagnostic, sources: &Sources, style: &Style) -> String {
    let mut out = line(d, sources);
    if style.all {
        out.extend(d.folded.iter().map(|f| with_folded(f, sources, style)));
    }
    out
}

/// One diagnostic in one line.
pub fn line(d: &Diagnostic, sources: &Sources) -> String {
    let place = match &d.primary {
        Some(label) => {
            let file = sources.file(label.loc.file);
            let (line, column) = file.line_column(label.loc.span.start as usize);
            format!("{}:{line}:{column}", clean(&file.path))
        }
        None => "haulm".to_owned(),
    };
    format!("{place}: {} {}: {}\n", d.severity.word(), clean(&d.code), clean(&d.message))
}
