//! What holds for every page: nothing makes the compiling fail, and order does not matter.

use haulm::model::program::Program;
use proptest::prelude::*;

use crate::world::{compile, page, rules, snippet};

/// Pieces of the language, to be strung together in any way.
const PIECES: &[&str] = &[
    "if ",
    "and ",
    "then ",
    "no ",
    "\n",
    "     ",
    "{book}",
    "{}",
    "{who}",
    "{x:date}",
    "{every x}",
    " was lent to ",
    " on ",
    " is ",
    " may be ",
    "at least ",
    "within ",
    " after ",
    " before ",
    "3 days",
    "2026-03-01",
    "10-12 ppb",
    "3 months",
    " + ",
    " - ",
    "(",
    ")",
    "(here)",
    "(planned)",
    "(entry {e})",
    "\"",
    "“",
    "”",
    "'",
    ",",
    ", with ",
    "such that ",
    "{n} is how many different {x} such that ",
    "the total ",
    "warn about {book}: \"",
    "do ",
    " since ",
    ", by ",
    ", until ",
    "answer \"q\" in outbreak {o}: \"a\"",
    "caution about ",
    "```rule\n",
    "```sentences\n",
    "```\n",
    "|",
    "---",
    "Each row says: \"{a} is a b\"\n\n",
    "é",
    "🍅",
    "{",
    "}",
    ":",
    "is a person",
    "came back on ",
];

fn text() -> impl Strategy<Value = String> {
    proptest::collection::vec(0..PIECES.len(), 0..60)
        .prop_map(|picks| picks.into_iter().map(|n| PIECES[n]).collect())
}

fn shown(p: &Program) -> String {
    rules(p)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_rule_makes_the_compiling_fail(text in text()) {
        let c = snippet(&format!("```rule\n{text}\n```\n"));
        for d in &c.said {
            for label in d.primary.iter().chain(&d.secondary) {
                let file = c.sources.file(label.loc.file);
                prop_assert!(file.text.get(label.loc.span.range()).is_some() || file.text.is_empty());
            }
        }
    }

    #[test]
    fn no_page_makes_the_compiling_fail(text in text()) {
        let _ = snippet(&text);
    }

    #[test]
    fn no_line_makes_the_compiling_fail(line in "\\PC{0,120}") {
        let _ = snippet(&format!("```rule\nif   {line}\nthen {line}\n```\n```sentences\n{line}\n```\n"));
    }
}

#[test]
fn the_order_of_pages_does_not_matter() {
    let one = page(
        "```sentences\n{book} is late\n```\n```rule\nif   {book} was lent to {} on {}\nthen {book} is late\n\nif   {book} is late\nand  {book} was lent to {} on {} (here)\nthen warn about {book}: \"x\"\n```",
    );
    let two = page("```rule\nif   {book} is late\nand  {book} was lent to {} on {} (here)\nthen hint about {book}: \"y\"\n```")
        .replace("# overdue-loan", "# other-loan");
    let a = compile(&[("pages/a.md", &one), ("pages/b.md", &two)]);
    let b = compile(&[("pages/z.md", &one), ("pages/b.md", &two)]);
    assert_eq!(a.said.len() + b.said.len(), 0);
    assert_eq!(shown(&a.program), shown(&b.program));
}

#[test]
fn no_depth_of_brackets_or_length_of_line_makes_the_compiling_fail() {
    for line in [
        format!("{{x}} is {}1{}", "(".repeat(100_000), ")".repeat(100_000)),
        format!("{{x}} is {}", "(".repeat(100_000)),
        format!("{{x}} is 1{}", " + 1".repeat(50_000)),
        "no ".repeat(50_000),
        "{a} ".repeat(50_000),
        "on ".repeat(50_000),
        "1 ".repeat(50_000),
        format!("{{n}} is how many different {{x}} such that {}", "such that ".repeat(20_000)),
    ] {
        let c = snippet(&format!("```rule\nif   {line}\nthen {line}\n```\n"));
        assert!(!c.said.is_empty());
    }
}

#[test]
fn every_sentence_of_the_rulebook_reads_back_as_itself() {
    use haulm::{
        base::span::{FileId, Loc, Span},
        model::{page::Passage, sentence::Origin},
        session::Session,
        understand::{
            rulebook::{Lines, patterns},
            sentences::Book,
        },
    };
    let checked = Session::new().check(chrono::NaiveDate::default(), None);
    let (book, lines) = (Book::of(&checked.program.sentences), Lines::default());
    let mut read = 0;
    for (n, sentence) in checked.program.sentences.iter().enumerate() {
        // What is asked of a recipe is no line of a page: its page's name stands before it.
        if sentence.origin == Origin::Head || sentence.filled(|_| String::new()).starts_with("asked of ") {
            continue;
        }
        for text in [sentence.filled(|_| "{}".to_owned()), sentence.filled(|n| format!("\"some thing {n}\""))]
        {
            let loc = Loc::new(FileId(0), Span::new(0, text.len()));
            let found = patterns(&book, &Passage { loc, text: text.as_str().into() }, &lines);
            let found = found.unwrap_or_else(|said| panic!("{text}: {}", said.message));
            assert!(found.iter().any(|p| p.sentence.0 as usize == n), "{text}");
        }
        read += 1;
    }
    assert!(read > 200, "only {read} sentences");
}
