//! The rule pages' own examples, run: a journal in, what the page says of it compared with what it
//! expects; and each rule again without each of its lines, to see that no line is there for show.
//!
//! Comes in: a session with a rulebook. Goes out: for each example and each rule whether it holds, with
//! located reasons where it does not. It prints nothing and knows no farming.

mod expect;
mod recipe;
mod weaken;

use std::{
    num::NonZeroUsize,
    sync::{Arc, Mutex, OnceLock, PoisonError},
};

use chrono::NaiveDate;

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        hands,
        source::Sources,
        span::Loc,
    },
    measure::date,
    model::{
        page::{Example, Page, PageKind, Passage},
        sentence::SentenceId,
    },
    session::{
        Checked, Session,
        trial::{Played, Trial},
    },
};

/// The code of an example that comes out otherwise than its page says.
const FAILED: &str = "failed-example";

/// A rulebook ready to have its examples run.
#[derive(Debug, Clone)]
pub struct Rehearsal {
    trial: Trial,
    pages: Arc<[Arc<Page>]>,
    /// The examples of causes, which rules that answer questions are held against.
    told: Arc<[Example]>,
    /// What the examples of each page show with every line in place.
    whole: Arc<[Mutex<Whole>]>,
    /// The rulebook as far as the examples of each page ask for it, once one of them was run.
    asking: Arc<[OnceLock<Trial>]>,
}

/// What the examples of a page show with every line in place: found out when first asked for, given back when
/// each of its rules was tried, since it is much.
#[derive(Debug, Default)]
struct Whole {
    shown: Option<Arc<(Trial, weaken::Whole)>>,
    tried: usize,
}

/// One thing to try: an example, or the lines of a rule.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Case {
    /// The code of the page.
    pub code: Arc<str>,
    /// What is tried, in words: the example's name, or `rule 2 needs each of its lines`.
    pub name: String,
    page: usize,
    kind: Kind,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Example(usize),
    Rule(usize),
}

impl Rehearsal {
    /// Takes the rulebook of a session, a farm's own pages included.
    pub fn new(session: &Session) -> Self {
        let mut trial = session.trial();
        let pages = trial.pages();
        let whole = pages.iter().map(|_| Mutex::default()).collect();
        let asking = pages.iter().map(|_| OnceLock::new()).collect();
        let of_causes = pages.iter().filter(|p| p.kind == PageKind::Cause);
        let told = of_causes.flat_map(|p| p.examples.iter().cloned()).collect();
        Self { trial, pages, told, whole, asking }
    }

    /// What reading and compiling the pages had to say, and the texts every place of a rehearsal lies in.
    pub fn faults(&mut self) -> (Vec<Diagnostic>, Sources) {
        self.trial.faults()
    }

    /// Every example, by page code and in the order of the page.
    pub fn examples(&self) -> Vec<Case> {
        self.cases(|page| {
            page.examples
                .iter()
                .enumerate()
                .map(|(n, e)| (Kind::Example(n), e.name.text.to_string()))
                .collect()
        })
    }

    /// Every rule of a page that has examples, or that hands on answers.
    pub fn rules(&self) -> Vec<Case> {
        self.cases(|page| {
            let held = !page.examples.is_empty() || !self.handed_on(page).is_empty();
            let rules = page.rules.iter().enumerate().filter(|_| held);
            rules.map(|(n, _)| (Kind::Rule(n), format!("rule {} needs each of its lines", n + 1))).collect()
        })
    }

    /// Whether a line as pages expect them (`warn untested-lot about lot tern-26`, `not do …`) is true of a
    /// journal that was checked with this rulebook.
    ///
    /// # Errors
    /// A line that is no expectation, or a sentence no page declares.
    pub fn expects(&self, checked: &Checked, line: &Passage) -> Result<bool, Diagnostic> {
        let (not, expected) = expect::read(line)?;
        Ok(expect::holds(self.trial.sentences(), checked, &expected)? != not)
    }

    /// What a page without a code hands on to reckoners.
    fn handed_on(&self, page: &Page) -> Vec<SentenceId> {
        if page.kind == PageKind::Tables { self.trial.handed_on(page) } else { Vec::new() }
    }

    fn cases(&self, of: impl Fn(&Page) -> Vec<(Kind, String)>) -> Vec<Case> {
        let pages = self.pages.iter().enumerate();
        pages
            .flat_map(|(page, p)| {
                of(p).into_iter().map(move |(kind, name)| Case { code: p.code.clone(), name, page, kind })
            })
            .collect()
    }

    /// Tries many cases on every core; what [`Rehearsal::run`] gives for each, in their order.
    pub fn run_all(&self, cases: &[Case]) -> Vec<Vec<Diagnostic>> {
        hands::each(cases, NonZeroUsize::MIN, |case| self.run(case))
    }

    /// Tries one case; nothing comes back where all is as it should be.
    pub fn run(&self, case: &Case) -> Vec<Diagnostic> {
        let Some(page) = self.pages.get(case.page) else { return Vec::new() };
        match case.kind {
            Kind::Example(n) => match page.examples.get(n) {
                Some(example) => self.example(case.page, page, example),
                None => Vec::new(),
            },
            Kind::Rule(n) => {
                let Some(whole) = self.whole.get(case.page) else { return Vec::new() };
                let whole = || whole.lock().unwrap_or_else(PoisonError::into_inner);
                let handed_on = self.handed_on(page);
                let borrowed = if handed_on.is_empty() { &[][..] } else { &self.told };
                let pool = weaken::Pool { page, borrowed, handed_on: &handed_on };
                let find = || Arc::new(weaken::whole(&self.trial, pool));
                let shown = Arc::clone(whole().shown.get_or_insert_with(find));
                let said = weaken::rule(&shown.0, pool, n, &shown.1);
                let mut whole = whole();
                whole.tried += 1;
                if whole.tried >= page.rules.len() {
                    *whole = Whole::default();
                }
                said
            }
        }
    }

    fn example(&self, at: usize, page: &Page, example: &Example) -> Vec<Diagnostic> {
        if page.kind == PageKind::Recipe {
            return recipe::differs(&self.trial, page, example);
        }
        let asking = self.asking.get(at).map(|asking| asking.get_or_init(|| self.trial.asking(page)));
        let as_it_says = asking
            .and_then(|asking| alone(asking, example))
            .is_some_and(|alone| differs(&alone, page, example).is_empty());
        if as_it_says {
            return Vec::new();
        }
        match played(&self.trial, example) {
            Ok(played) => differs(&played, page, example),
            Err(said) => vec![said],
        }
    }
}

/// An example's journal checked by only as much of the rulebook as its page asks for; nothing where more than that
/// may have a part in what comes out: pages of the example's own, and `done` lines, which close what they come
/// nearest to of all that there is to do.
fn alone(asking: &Trial, example: &Example) -> Option<Played> {
    let few = example.pages.is_empty();
    let played = few.then(|| played(asking, example))?.ok()?;
    played.checked().diary.closings.is_empty().then_some(played)
}

/// Everything in which an example that was played comes out otherwise than its page says.
fn differs(played: &Played, page: &Page, example: &Example) -> Vec<Diagnostic> {
    let mut failed = expect::differs(played, page, example);
    failed.extend(unread(played.checked(), page, example));
    failed
}

/// An example's journal, checked on its day.
fn played(trial: &Trial, example: &Example) -> Result<Played, Diagnostic> {
    let today = example.today.as_ref().map(day).transpose()?;
    trial.play(&example.journal.text, &example.pages, today).ok_or_else(|| {
        failed(example.name.loc, format!("The journal of “{}” has no day.", example.name.text))
            .remark(RemarkKind::Write, "## 2026-03-14")
    })
}

fn day(passage: &Passage) -> Result<NaiveDate, Diagnostic> {
    date::read_day(&passage.text).map_err(|_| {
        failed(passage.loc, format!("`{}` is no day.", passage.text))
            .remark(RemarkKind::Write, "today: 2026-04-04")
    })
}

fn failed(loc: Loc, message: impl Into<String>) -> Diagnostic {
    Diagnostic::new(FAILED, Severity::Error, message).at(loc, "")
}

/// Every finding, those folded under others included.
fn findings(checked: &Checked) -> Vec<&Diagnostic> {
    fn under<'a>(d: &'a Diagnostic, all: &mut Vec<&'a Diagnostic>) {
        all.push(d);
        d.folded.iter().for_each(|f| under(f, all));
    }
    let mut all = Vec::new();
    checked.report.findings.iter().for_each(|d| under(d, &mut all));
    all
}

/// Lines of an example's journal that could not be read, unless the example is about that.
fn unread(checked: &Checked, page: &Page, example: &Example) -> Option<Diagnostic> {
    let named = |d: &Diagnostic| example.expected.iter().any(|e| e.text.contains(&*d.code));
    let in_journal = |d: &Diagnostic| d.primary.as_ref().is_some_and(|l| !in_rulebook(checked, l.loc));
    let errors: Vec<&Diagnostic> = findings(checked)
        .into_iter()
        .filter(|d| d.severity == Severity::Error && d.code != page.code && !named(d) && in_journal(d))
        .collect();
    let first = errors.first()?;
    let line = first.primary.as_ref().map_or("", |l| checked.sources.slice(l.loc));
    Some(
        failed(example.name.loc, format!("The journal of “{}” cannot be read whole.", example.name.text))
            .remark(RemarkKind::Note, format!("`{line}`: {} ({})", first.message, first.code)),
    )
}

fn in_rulebook(checked: &Checked, loc: Loc) -> bool {
    checked.sources.file(loc.file).kind == crate::base::source::SourceKind::RulePage
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What an example asks for, in what was found: which expectations hold, and what its page says.
    fn shown(played: &Played, page: &Page, example: &Example) -> (Vec<bool>, Vec<String>) {
        let holds = |line: &Passage| {
            let (_, expected) = expect::read(line).expect("an expectation");
            expect::holds(played.sentences(), played.checked(), &expected).expect("a sentence")
        };
        (example.expected.iter().map(holds).collect(), expect::own(played.checked(), page))
    }

    #[test]
    fn an_example_shows_alone_what_it_shows_by_the_whole_rulebook() {
        let rehearsal = Rehearsal::new(&Session::new());
        let pages: Vec<&Arc<Page>> = rehearsal.pages.iter().filter(|p| p.kind != PageKind::Recipe).collect();
        let alike = hands::each(&pages, NonZeroUsize::MIN, |page| {
            let asking = rehearsal.trial.asking(page);
            let alone = |example| Some((example, alone(&asking, example)?));
            let little: Vec<(&Example, Played)> = page.examples.iter().filter_map(alone).collect();
            for (example, alone) in &little {
                let whole = played(&rehearsal.trial, example).expect("a journal with a day");
                assert_eq!(
                    shown(alone, page, example),
                    shown(&whole, page, example),
                    "{}",
                    example.name.text
                );
            }
            little.len()
        });
        assert!(alike.iter().sum::<usize>() > 1_200);
    }
}
