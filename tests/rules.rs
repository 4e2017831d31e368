//! The rule pages' own examples, one named test each, and for every rule one test that it needs each of
//! its lines.

use std::sync::Arc;

use haulm::{base::source::Sources, rehearse::Rehearsal, session::Session, show};
use libtest_mimic::{Arguments, Failed, Trial};

fn main() {
    let arguments = Arguments::from_args();
    let mut rehearsal = Rehearsal::new(&Session::new());
    let (faults, sources) = rehearsal.faults();
    let faults: String = faults.iter().map(|d| show::short::line(d, &sources)).collect();
    let mut tests = vec![Trial::test("every page is read and compiled without a word", move || {
        if faults.is_empty() { Ok(()) } else { Err(Failed::from(faults)) }
    })];
    let (rehearsal, sources): (Arc<Rehearsal>, Arc<Sources>) = (Arc::new(rehearsal), Arc::new(sources));
    for case in rehearsal.examples().into_iter().chain(rehearsal.rules()) {
        let (rehearsal, sources) = (rehearsal.clone(), sources.clone());
        tests.push(Trial::test(format!("{}: {}", case.code, case.name), move || {
            let said = rehearsal.run(&case);
            if said.is_empty() {
                return Ok(());
            }
            let plain = show::layout::Style::plain();
            Err(Failed::from(show::terminal::diagnostics(&said, &sources, &plain)))
        }));
    }
    libtest_mimic::run(&arguments, tests).exit();
}
