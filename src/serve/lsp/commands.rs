//! Commands: the reasons for something, a page that came with the program, a page's examples run.
//!
//! Comes in: a command and what it is about. Goes out: text to read. No command changes anything.

use lsp_server::ErrorCode;
use serde::Deserialize;
use serde_json::{Value, json};

use super::{
    answer::{Fault, read},
    round::Round,
};
use crate::{
    base::{diagnostic::Diagnostic, source::SourceKind},
    rehearse::Rehearsal,
    session::Session,
    show::{self, layout::Style},
};

/// Gives the reasons for something: a file of the farm, a name.
pub const WHY: &str = "haulm.why";
/// Gives the text of a page: a file of the farm or nothing, the page's code or path.
pub const PAGE: &str = "haulm.page";
/// Runs the examples of a page: a file of the farm, the page's code, perhaps the number of one example.
pub const EXAMPLES: &str = "haulm.examples";

/// All of them.
pub const ALL: [&str; 3] = [WHY, PAGE, EXAMPLES];

/// Carries out a command.
///
/// # Errors
/// If there is no such command, or nothing it could be about.
pub fn run(params: Value, rounds: &[&Round]) -> Result<Value, Fault> {
    #[derive(Deserialize)]
    struct Asked {
        command: String,
        #[serde(default)]
        arguments: Vec<Value>,
    }
    let asked: Asked = read(params)?;
    let unclear = |said: &str| Fault { code: ErrorCode::InvalidParams, said: said.to_owned() };
    if !ALL.contains(&asked.command.as_str()) {
        return Err(unclear(&format!("no command is called `{}`", asked.command)));
    }
    let text = |n: usize| asked.arguments.get(n).and_then(Value::as_str);
    let subject = text(1).ok_or_else(|| unclear("it is not said of what"))?;
    let holds = |round: &&&Round| {
        let uris = round.files().filter_map(|id| round.uri(id));
        uris.into_iter().any(|uri| Some(uri.as_str()) == text(0))
    };
    let round = rounds.iter().find(holds).or(rounds.first()).ok_or_else(|| unclear("no journal is open"))?;
    let failed = |said: String| Fault { code: ErrorCode::RequestFailed, said };
    let answer = match asked.command.as_str() {
        PAGE => page(round, subject).ok_or_else(|| failed(format!("no page is called `{subject}`")))?,
        EXAMPLES => {
            let number = asked.arguments.get(2).and_then(Value::as_u64).and_then(|n| usize::try_from(n).ok());
            examples(round, subject, number)
        }
        _ => {
            let why = round.checked.why(subject).map_err(failed)?;
            show::why::why(&why, &round.checked.sources, false, &Style::plain())
        }
    };
    Ok(json!(answer))
}

/// A page by its code or its path, as it is written.
fn page(round: &Round, named: &str) -> Option<String> {
    let sources = &round.checked.sources;
    let by_code = round.checked.pages.iter().find(|p| *p.code == *named).map(|p| p.file);
    let file = by_code.or_else(|| sources.find(named))?;
    (sources.file(file).kind == SourceKind::RulePage).then(|| round.text(file).to_owned())
}

/// What came of a page's examples, a line for each, with what is wrong below it.
fn examples(round: &Round, code: &str, number: Option<usize>) -> String {
    let mut session = Session::new();
    let own = round.checked.sources.iter().filter(|(_, f)| f.kind == SourceKind::RulePage && !f.built_in);
    own.for_each(|(_, file)| {
        session.set(file.clone());
    });
    let rehearsal = Rehearsal::new(&session);
    let cases: Vec<_> = rehearsal.examples().into_iter().filter(|c| *c.code == *code).collect();
    let mut out = String::new();
    let mut failed = 0;
    let wanted = cases.iter().enumerate().filter(|(n, _)| number.is_none_or(|one| one == *n));
    for (_, case) in wanted {
        let said = rehearsal.run(case);
        failed += usize::from(!said.is_empty());
        let mark = if said.is_empty() { "holds" } else { "FAILS" };
        out.push_str(&format!("{mark}  {}\n", case.name));
        said.iter().for_each(|d| out.push_str(&wrong(d)));
    }
    let count = number.map_or(cases.len(), |_| 1);
    match (cases.len(), failed) {
        (0, _) => format!("{code} has no example.\n"),
        (_, 0) => format!(
            "{code}: {} {}\n\n{out}",
            count,
            if count == 1 { "example holds" } else { "examples hold" }
        ),
        (_, n) => format!("{code}: {n} of {count} not as written\n\n{out}"),
    }
}

fn wrong(said: &Diagnostic) -> String {
    let remarks = said.remarks.iter().map(|r| format!("         {}\n", r.text));
    format!("       {}\n{}", said.message, remarks.collect::<String>())
}
