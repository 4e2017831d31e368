//! The rule pages' own examples, one named test each, and for every rule one test that it needs each of
//! its lines; and that no sentence is declared by two pages.

use std::{collections::BTreeMap, fs, path::Path, sync::Arc};

use haulm::{base::source::Sources, rehearse::Rehearsal, session::Session, show};
use libtest_mimic::{Arguments, Failed, Trial};

/// The sentences that pages under a folder declare, of each blank its type alone, each with the pages that do.
fn declared(folder: &Path, all: &mut BTreeMap<String, Vec<String>>) {
    for entry in fs::read_dir(folder).into_iter().flatten().filter_map(Result::ok) {
        let path = entry.path();
        if path.is_dir() {
            declared(&path, all);
            continue;
        }
        let text = fs::read_to_string(&path).unwrap_or_default();
        let mut inside = false;
        for line in text.lines() {
            match line.trim() {
                fence if fence.starts_with("```") => inside = fence.starts_with("```sentences"),
                line if inside && !line.is_empty() => {
                    let mut shape = String::new();
                    for piece in line.split('{') {
                        let (blank, rest) = piece.split_once('}').unwrap_or(("", piece));
                        shape.push_str(blank.split_once(':').map_or("", |(_, kind)| kind));
                        shape.push_str(rest);
                        shape.push('_');
                    }
                    all.entry(shape).or_default().push(path.display().to_string());
                }
                _ => {}
            }
        }
    }
}

/// One line meant two ways on two pages is one sentence to the engine, and each page would hear the other's.
fn no_sentence_is_declared_by_two_pages() -> Result<(), Failed> {
    let rules = Path::new(env!("CARGO_MANIFEST_DIR")).join("rules");
    let mut all = BTreeMap::new();
    for room in ["vocabulary", "tables", "pages", "causes", "questions", "recipes"] {
        declared(&rules.join(room), &mut all);
    }
    if all.len() < 300 {
        return Err(Failed::from(format!("only {} sentences were found", all.len())));
    }
    all.retain(|_, pages| pages.len() > 1);
    if all.is_empty() { Ok(()) } else { Err(Failed::from(format!("{all:#?}"))) }
}

fn main() {
    let arguments = Arguments::from_args();
    let mut rehearsal = Rehearsal::new(&Session::new());
    let (faults, sources) = rehearsal.faults();
    let faults: String = faults.iter().map(|d| show::short::line(d, &sources)).collect();
    let mut tests = vec![Trial::test("every page is read and compiled without a word", move || {
        if faults.is_empty() { Ok(()) } else { Err(Failed::from(faults)) }
    })];
    tests.push(Trial::test("no sentence is declared by two pages", no_sentence_is_declared_by_two_pages));
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
