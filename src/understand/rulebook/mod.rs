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

use std::{num::NonZeroUsize, sync::Arc};

use rustc_hash::FxHashSet;

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        hands,
        span::Loc,
    },
    model::{
        frame::Frames,
        page::{Page, RuleText},
        program::{Program, Reckoner},
        sentence::SentenceId,
    },
};
use declare::Declared;
pub use declare::{ask, asked_of, common};
pub use force::in_force;
pub use read::Lines;
pub use rule::without_line;
pub use said::{Pattern, patterns};
pub use slice::resting;
pub use types::described;

/// So few rules are not worth a core of their own.
const A_PAGEFUL: NonZeroUsize = NonZeroUsize::MIN.saturating_add(63);

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

/// Pages compiled.
#[derive(Debug)]
pub struct Rulebook {
    /// Everything, the rules of recipes included.
    pub program: Arc<Program>,
    /// What is wrong with the pages.
    pub faults: Vec<Diagnostic>,
    declared: Declared,
    /// The pages in force, in the order of their codes.
    pub pages: Vec<Arc<Page>>,
}

impl Rulebook {
    /// Compiles pages into a program.
    ///
    /// A farm's own page takes the place of a built-in one of the same code (a page of tables, of the same path);
    /// every other is added. The order of `pages` does not
    /// matter but for which of two pages with one code is named first. Lines that `lines` knows are not read again.
    pub fn of(pages: &[Arc<Page>], frames: &Frames, registry: &[Reckoner], lines: &Lines) -> Self {
        let (in_force, mut faults) = in_force(pages);
        let new: Vec<&Page> = in_force.iter().map(|page| &**page).collect();
        let replaced = force::replaced(pages, &new);
        let old: Vec<&Page> = replaced.iter().map(|(_, old)| *old).collect();
        let declared = declare::all(&new, &old, frames, registry, lines, &mut faults);
        Draft { declared, program: Program::default(), faults, lost: Vec::new(), lines }.finish(
            &new,
            &replaced,
            in_force.clone(),
        )
    }

    /// The same with pages beside these, all of them in `pages`; what was compiled is not compiled again. Gives
    /// nothing where the new ones do more than add to the others, and all must be compiled together.
    pub fn with(&self, pages: &[Arc<Page>], registry: &[Reckoner], lines: &Lines) -> Option<Self> {
        if !self.faults.is_empty() {
            return None;
        }
        let (in_force, mut faults) = in_force(pages);
        let known: FxHashSet<*const Page> = self.pages.iter().map(Arc::as_ptr).collect();
        let (old, new): (Vec<&Arc<Page>>, Vec<&Arc<Page>>) =
            in_force.iter().partition(|page| known.contains(&Arc::as_ptr(page)));
        let new: Vec<&Page> = new.into_iter().map(|page| &**page).collect();
        if old.len() < self.pages.len() {
            return None;
        }
        let declared = self.declared.with(&new, registry, lines, &mut faults)?;
        let more = declared.book.own();
        if !more.is_empty() && old.iter().any(|page| rule::reads(page, &more, lines)) {
            return None;
        }
        let all: Vec<&Page> = in_force.iter().map(|page| &**page).collect();
        let replaced = force::replaced(pages, &all);
        let draft =
            Draft { declared, program: Program::clone(&self.program), faults, lost: Vec::new(), lines };
        Some(draft.finish(&new, &replaced, in_force.clone()))
    }
}

/// A rulebook under the pen: all that may be said, and the program so far.
struct Draft<'a> {
    declared: Declared,
    program: Program,
    faults: Vec<Diagnostic>,
    /// The conclusions of rules that could not be compiled.
    lost: Vec<SentenceId>,
    lines: &'a Lines,
}

impl Draft<'_> {
    /// Adds the tables and rules of pages, and looks at the whole.
    fn finish(mut self, new: &[&Page], replaced: &[(&Page, &Page)], in_force: Vec<Arc<Page>>) -> Rulebook {
        let (program, faults, lines) = (&mut self.program, &mut self.faults, self.lines);
        let said = tables::facts(new, &self.declared, lines, faults);
        program.facts = Arc::new(tables::together(&program.facts, &said));
        let before = self.program.rules.len();
        self.rules(new);
        let Self { declared, mut program, mut faults, mut lost, lines } = self;
        let only_facts = program.rules.len() == before && declared.book.len() == program.sentences.len();
        if !only_facts {
            program.sentences = Arc::new(declared.book.all());
        }
        program.reckoners.clone_from(&declared.reckoners);
        let (left, unsaid) = left::unsaid(&program, &declared, replaced, &lost, lines);
        faults.extend(left);
        lost.extend(unsaid);
        faults.extend(if only_facts {
            checks::never_with(&program, &declared, &lost)
        } else {
            checks::all(&program, &declared, &lost)
        });
        faults.extend(hundred::rows(&program, &said));
        faults.extend(force::folding(&in_force));
        faults.sort_by(|a, b| {
            let key = |d: &Diagnostic| (d.primary.as_ref().map(|l| l.loc), d.code.clone(), d.message.clone());
            key(a).cmp(&key(b))
        });
        faults.dedup();
        Rulebook { program: Arc::new(program), faults, declared, pages: in_force }
    }

    fn rules(&mut self, pages: &[&Page]) {
        let texts: Vec<(&Page, u32, &RuleText)> =
            pages.iter().flat_map(|page| (1..).zip(&page.rules).map(|(n, text)| (*page, n, text))).collect();
        let (book, lines) = (Arc::clone(&self.declared.book), self.lines);
        let compiled = hands::each(&texts, A_PAGEFUL, |(page, number, text)| {
            rule::compile(&book, &page.code, *number, text, lines)
        });
        drop(book);
        for ((page, _, text), compiled) in texts.into_iter().zip(compiled) {
            match compiled {
                Ok(alone) => {
                    let rule = alone.in_book(&mut self.declared.book);
                    self.faults.extend(heads::misplaced(&rule, page.kind));
                    self.program.rules.push(Arc::new(rule));
                }
                Err(said) => {
                    self.faults.extend(said);
                    self.lost.extend(rule::concluded(&self.declared.book, text, lines));
                }
            }
        }
    }
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
