//! A lending library as a neutral world: its journal sentences, a reckoner, and pages made of snippets.

use std::{fmt::Write as _, sync::Arc};

use haulm::{
    base::{
        diagnostic::Diagnostic,
        source::{SourceFile, SourceKind, Sources},
        span::{FileId, Loc},
    },
    measure::display,
    model::{
        frame::Frames,
        program::{
            Atom, Comparator, Comparison, Demand, Expr, Meaning, Program, Reckoned, Reckoner, Rule, Status,
            Term, TextPart,
        },
    },
    parse,
    understand::rulebook::{Lines, Rulebook},
};

const FRAMES: &str = "# What a library's diary may say

## Said of everything

```sentences
{thing} is a {kind}
today is {day:date}
```

## lent
A book goes to a reader.
example: lent dune to ann

| slot | said | takes | need | several |
|---|---|---|---|---|
| book | first | words | must | |
| reader | to | words | must | |
| fee | bare | money | may | |

```sentences
{book} was lent to {reader} on {day:date}
{fee:money} was paid for {book} on {day:date}
{pages:number} pages of {book} were read by {day:date}
```

## returned
A book comes back.
example: returned dune

| slot | said | takes | need | several |
|---|---|---|---|---|
| book | first | words | must | |

```sentences
{book} came back on {day:date}
{book} came back {share:share} damp on {day:date}
```

## looked
Somebody looks along a shelf.
example: looked at shelf a

| slot | said | takes | need | several |
|---|---|---|---|---|
| shelf | at | words | must | |

```sentences
{shelf} was looked at on {day:date}
{book} was seen on {shelf} on {day:date}
{shelf} was {warmth:temperature} warm on {day:date}
```
";

/// The one reckoner of the library.
pub fn registry() -> Vec<Reckoner> {
    fn none(_: &[haulm::model::program::Given<'_>]) -> Vec<Reckoned> {
        Vec::new()
    }
    vec![Reckoner {
        name: "ways",
        reads: &["{book} was lent to {reader} on {day:date}"],
        gives: &["{book} reached {reader} on {day:date}", "{book} is meant to reach {reader} on {day:date}"],
        planned: &[1],
        run: none,
    }]
}

/// A page around a snippet of `sentences` and `rule` fences and tables.
pub fn page(snippet: &str) -> String {
    format!(
        "# overdue-loan\nSeverity: warn\n\n## What it notices\nx\n\n## Why it matters\nx\n\n## Rules\n\n{snippet}\n\n## What to do\nx\n\n## Must fire\n\n### one\n```journal\n## 2026-03-01\n- lent dune to ann\n```\n```expect\nwarn overdue-loan about dune\n```\n\n## Must stay silent\n\n### two\n```journal\n## 2026-03-01\n- lent dune to ann\n```\n\n## Limits\nx\n\n## Sources\nx\n"
    )
}

/// A rulebook and everything said of it.
pub struct Compiled {
    pub program: Arc<Program>,
    pub said: Vec<Diagnostic>,
    pub sources: Sources,
}

pub fn frames() -> Frames {
    let (frames, faults) = parse::frames::parse(FileId(u32::MAX), FRAMES);
    assert_eq!(faults, []);
    frames
}

/// Compiles pages given with their paths.
pub fn compile(pages: &[(&str, &str)]) -> Compiled {
    let files = pages.iter().map(|(path, text)| {
        let own = path.starts_with("own/");
        SourceFile::new(*path, *text, SourceKind::RulePage, !own)
    });
    let sources = Sources::new(files.collect());
    let (mut parsed, mut said) = (Vec::new(), Vec::new());
    for (id, file) in sources.iter() {
        let (page, faults) = parse::page::parse(id, &file.path, &file.text);
        parsed.extend(page.map(|p| Arc::new(haulm::model::page::Page { built_in: file.built_in, ..p })));
        said.extend(faults);
    }
    let rulebook = Rulebook::of(&parsed, &frames(), &registry(), &Lines::default());
    said.extend(rulebook.faults);
    Compiled { program: rulebook.program, said, sources }
}

/// One snippet as a page of its own.
pub fn snippet(text: &str) -> Compiled {
    compile(&[("pages/overdue-loan.md", &page(text))])
}

/// Everything said, each with the lines it points at.
pub fn told(c: &Compiled) -> String {
    let mut out = String::new();
    for d in &c.said {
        let _ = writeln!(out, "{} [{}] {}", d.severity.word(), d.code, d.message);
        if let Some(label) = &d.primary {
            out.push_str(&pointed(&c.sources, label.loc, ""));
        }
        for label in &d.secondary {
            out.push_str(&pointed(&c.sources, label.loc, &label.text));
        }
        for r in &d.remarks {
            let _ = writeln!(out, "  {}: {}", format!("{:?}", r.kind).to_lowercase(), r.text);
        }
        out.push('\n');
    }
    if out.is_empty() { "nothing\n".to_owned() } else { out }
}

fn pointed(sources: &Sources, loc: Loc, text: &str) -> String {
    let file = sources.file(loc.file);
    let line = file.line_of(loc.span.start as usize);
    let range = file.line_range(line);
    let whole = file.text.get(range.clone()).unwrap_or("");
    let before = loc.span.start as usize - range.start;
    let len = (loc.span.end as usize).min(range.end).saturating_sub(loc.span.start as usize).max(1);
    format!("  | {whole}\n  | {}{} {text}", " ".repeat(before), "^".repeat(len)).trim_end().to_owned() + "\n"
}

/// A snippet with what is said of it.
pub fn beside(text: &str) -> String {
    format!("{}\n\n=====\n\n{}", text.trim(), told(&snippet(text)))
}

/// A program's rules, written out.
pub fn rules(p: &Program) -> String {
    p.rules.iter().map(|r| rule(p, r)).collect::<Vec<_>>().join("\n")
}

fn rule(p: &Program, r: &Rule) -> String {
    let mut out = format!("{} rule {}\n", r.page, r.number);
    for (n, line) in r.body.iter().enumerate() {
        let here = if r.here == Some(n) { "  <- here" } else { "" };
        let text = match &line.demand {
            Demand::Holds(a) => format!("holds    {}", atom(p, r, a)),
            Demand::No { atom: a, with } => format!("no       {}{}", atom(p, r, a), conditions(r, with)),
            Demand::Gather { into, how, of, atom: a, with } => format!(
                "gather   {} = {how:?} of {} over {}{}",
                var(r, into.0),
                var(r, of.0),
                atom(p, r, a),
                conditions(r, with)
            ),
            Demand::Compute { into, expr: e } => format!("compute  {} = {}", var(r, into.0), expr(r, e)),
            Demand::Compare(c) => format!("compare  {}", comparison(r, c)),
        };
        let _ = writeln!(out, "  {text}{here}");
    }
    let _ = writeln!(out, "  =>       {}", atom(p, r, &r.head));
    let _ = match &r.meaning {
        Meaning::Sentence => Ok(()),
        Meaning::Finding { severity, about, text, here } => {
            writeln!(out, "  finding  {} about {about:?} text {} here {here:?}", severity.word(), parts(text))
        }
        Meaning::Caution { about, text } => writeln!(out, "  caution  about {about:?} text {}", parts(text)),
        Meaning::Told { part, label, text } => {
            writeln!(out, "  {}  {:?} text {}", part.word(), parts(label), parts(text))
        }
        Meaning::Answer { question, outbreak, about, answer } => {
            writeln!(out, "  answer   {question:?} in {outbreak} about {about:?}: {answer:?}")
        }
        Meaning::Action { words, key, since, by, until, here } => {
            let until = until.as_ref().map(|u| format!("{} free {}", atom_by_terms(p, &u.atom), u.free_day));
            writeln!(
                out,
                "  action   {} key {key:?} since {since} by {by} until {until:?} here {here:?}",
                parts(words)
            )
        }
    };
    out
}

fn parts(text: &[TextPart]) -> String {
    text.iter()
        .map(|t| match t {
            TextPart::Words(w) => w.to_string(),
            TextPart::Term(n) => format!("<{n}>"),
            TextPart::Every(n) => format!("<every {n}>"),
            TextPart::New(kind) => format!("<new {kind}>"),
        })
        .collect()
}

fn var(r: &Rule, n: u32) -> String {
    format!("{{{}.{n}}}", r.vars.get(n as usize).map_or("?", |v| v))
}

fn term(r: &Rule, t: &Term) -> String {
    match t {
        Term::Var(v) => var(r, v.0),
        Term::Const(v) => display::value(v, &display::Units::new()),
        Term::Any => "{}".to_owned(),
    }
}

fn atom(p: &Program, r: &Rule, a: &Atom) -> String {
    let mut text = p.sentences[a.sentence.0 as usize].filled(|n| term(r, &a.terms[n]));
    if a.status != Status::Done {
        let _ = write!(text, " ({:?})", a.status);
    }
    if a.entry != Term::Any {
        let _ = write!(text, " (entry {})", term(r, &a.entry));
    }
    text
}

fn atom_by_terms(p: &Program, a: &Atom) -> String {
    p.sentences[a.sentence.0 as usize].filled(|n| match &a.terms[n] {
        Term::Var(v) => format!("<{}>", v.0),
        Term::Const(v) => display::value(v, &display::Units::new()),
        Term::Any => "{}".to_owned(),
    })
}

fn expr(r: &Rule, e: &Expr) -> String {
    match e {
        Expr::Term(t) => term(r, t),
        Expr::Add(a, b) => format!("({} + {})", expr(r, a), expr(r, b)),
        Expr::Sub(a, b) => format!("({} - {})", expr(r, a), expr(r, b)),
        Expr::Mul(a, b) => format!("({} * {})", expr(r, a), expr(r, b)),
        Expr::Div(a, b) => format!("({} / {})", expr(r, a), expr(r, b)),
        Expr::Call(function, sides) => {
            let sides: Vec<String> = sides.iter().map(|side| expr(r, side)).collect();
            format!("{function:?}({})", sides.join(", "))
        }
    }
}

fn comparison(r: &Rule, c: &Comparison) -> String {
    let may = if c.may { "may " } else { "" };
    let by = match &c.by {
        Comparator::WithinAfter(e) => format!("within {} after", expr(r, e)),
        Comparator::WithinBefore(e) => format!("within {} before", expr(r, e)),
        Comparator::WithinOf(e) => format!("within {} of", expr(r, e)),
        Comparator::MoreThanAfter(e) => format!("more than {} after", expr(r, e)),
        Comparator::MoreThanBefore(e) => format!("more than {} before", expr(r, e)),
        other => format!("{other:?}"),
    };
    format!("{} {may}{by} {}", expr(r, &c.left), expr(r, &c.right))
}

fn conditions(r: &Rule, with: &[Comparison]) -> String {
    with.iter().map(|c| format!(" with {}", comparison(r, c))).collect()
}

/// Holds a text against the one kept under its name.
pub fn snapshot(name: &str, text: &str) {
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, text);
    });
}
