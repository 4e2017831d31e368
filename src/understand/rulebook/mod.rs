//! Rule pages compiled into one program.
//!
//! Comes in: pages cut up by `parse`, the frames of the journal and the registry of reckoners. Goes out:
//! a [`Program`] with every name resolved, and a located diagnostic for everything that cannot be
//! meant. A bad line costs its rule, a bad cell its fact, never the page. It runs nothing; whether
//! recursion goes through absence is `infer`'s to say.

mod atoms;
mod bind;
mod checks;
mod declare;
mod exprs;
mod figure;
mod force;
mod heads;
mod hundred;
mod left;
mod lines;
mod read;
mod rule;
mod said;
pub(crate) mod shapes;
mod slice;
mod tables;
mod types;
mod vars;

use std::sync::Arc;

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        span::Loc,
    },
    model::{
        frame::Frames,
        page::Page,
        program::{Program, Reckoner},
    },
};
pub use declare::{ask, asked_of, common};
pub use force::in_force;
pub use read::Lines;
pub use rule::without_line;
pub use said::{Pattern, patterns};
pub use slice::resting;
pub use types::described;

/// A line, sentence or cell that has no shape.
const UNREAD: &str = "unread-rule";
/// A sentence nobody declares.
const UNKNOWN: &str = "unknown-sentence";
/// A line, or two declarations, with more than one reading.
const AMBIGUOUS: &str = "ambiguous-sentence";
/// A blank that nothing fills.
const UNBOUND: &str = "unbound-blank";
/// Lines that wait for each other.
const CANNOT_RUN: &str = "rule-cannot-run";
/// A value of the wrong sort.
const MISFIT: &str = "misfit-value";
/// What a replaced page said and others still read.
const LEFT: &str = "left-unsaid";
/// A condition that can never hold.
const NEVER: &str = "never-said";
/// A plan taken for evidence.
const PLANS: &str = "plan-as-evidence";
/// Silence taken for absence.
const UNLOOKED: &str = "silence-as-absence";
/// Codes that fold each other, or fold what is not there.
const FOLDING: &str = "misfolded-code";
/// Two pages of one code.
const TWICE: &str = "code-used-twice";
/// A reckoner that is not in the registry, or gives something else.
const RECKONER: &str = "unknown-reckoner";

/// A row of a question table that is not whole.
const ROW: &str = "row-not-whole";

/// Compiles pages into a program.
///
/// A farm's own page takes the place of a built-in one of the same code (a page of tables, of the same path);
/// every other is added. The order of `pages` does not
/// matter but for which of two pages with one code is named first. Lines that `lines` knows are not read again.
pub fn rulebook(
    pages: &[Arc<Page>],
    frames: &Frames,
    registry: &[Reckoner],
    lines: &Lines,
) -> (Program, Vec<Diagnostic>) {
    let every = pages;
    let (in_force, mut faults) = in_force(every);
    let pages: Vec<&Page> = in_force.iter().map(|page| &**page).collect();
    let replaced = force::replaced(every, &pages);
    let old: Vec<&Page> = replaced.iter().map(|(_, old)| *old).collect();
    let mut declared = declare::all(&pages, &old, frames, registry, lines, &mut faults);
    let facts = tables::facts(&pages, &declared, lines, &mut faults);
    let mut rules = Vec::new();
    let mut lost = Vec::new();
    for page in &pages {
        for (n, text) in page.rules.iter().enumerate() {
            let number = u32::try_from(n + 1).unwrap_or(u32::MAX);
            match rule::compile(&mut declared.book, &page.code, number, text, lines) {
                Ok(rule) => {
                    faults.extend(heads::misplaced(&rule, page.kind));
                    rules.push(rule);
                }
                Err(said) => {
                    faults.extend(said);
                    lost.extend(rule::concluded(&declared.book, text, lines));
                }
            }
        }
    }
    let sentences = declared.book.all().to_vec();
    let program = Program { sentences, rules, facts, reckoners: std::mem::take(&mut declared.reckoners) };
    let (left, unsaid) = left::unsaid(&program, &declared, &replaced, &lost, lines);
    faults.extend(left);
    lost.extend(unsaid);
    faults.extend(checks::all(&program, &declared, &lost));
    faults.extend(hundred::rows(&program));
    faults.extend(force::folding(&pages));
    faults.sort_by(|a, b| {
        let key = |d: &Diagnostic| (d.primary.as_ref().map(|l| l.loc), d.code.clone(), d.message.clone());
        key(a).cmp(&key(b))
    });
    faults.dedup();
    (program, faults)
}

/// A fault of a page at a place.
fn fault(code: &str, loc: Loc, message: impl Into<String>) -> Diagnostic {
    Diagnostic::new(code, Severity::Error, message).at(loc, "")
}

impl From<shapes::Unread> for Diagnostic {
    fn from(unread: shapes::Unread) -> Self {
        let said = fault(UNREAD, unread.loc, unread.message);
        if unread.write.is_empty() { said } else { said.remark(RemarkKind::Write, unread.write) }
    }
}
