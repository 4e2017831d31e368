//! Every form a line may have is told from every other.

use super::*;
use crate::base::span::FileId;

fn passage(text: &str) -> Passage {
    Passage { loc: Loc::new(FileId(0), Span::new(0, text.len())), text: text.into() }
}

fn shape(line: &str) -> String {
    match body(&passage(line)) {
        Ok(Body::Holds(said, tags)) => format!("holds {} {}", said.it.len(), tags.len()),
        Ok(Body::No(said, with, tags)) => {
            format!("no {} {} {}", said.it.len(), with.len(), tags.len())
        }
        Ok(Body::Gather { how, said, with, .. }) => {
            format!("{how:?} {} {}", said.it.len(), with.len())
        }
        Ok(Body::Compares(c, tags)) => format!("{} {}", show(&c), tags.len()),
        Ok(Body::Either(said, c, _)) => format!("holds {} or {}", said.it.len(), show(&c)),
        Err(e) => format!("unread: {}", e.message),
    }
}

fn show(c: &Compared) -> String {
    let how = match &c.how {
        How::Within(s, d) => format!("within [{}] {d:?}", sum(s)),
        How::MoreBy(s, d) => format!("more than [{}] {d:?}", sum(s)),
        other => format!("{other:?}"),
    };
    format!("[{}] {}{how} [{}]", sum(&c.left), if c.may { "may " } else { "" }, sum(&c.right))
}

fn sum(s: &Sum) -> String {
    match s {
        Sum::Hole(h) => format!("{{{}}}", h.it),
        Sum::Word(w) | Sum::Figure(w) => w.it.clone(),
        Sum::Pair(a, op, b) => format!("({} {op} {})", sum(a), sum(b)),
        Sum::Call(function, _, sides) => {
            format!("{function:?}({})", sides.iter().map(sum).collect::<Vec<_>>().join(", "))
        }
    }
}

#[test]
fn every_body_form_is_told_apart() {
    for (line, want) in [
        ("if   {a} was lent to {b} on {d}, late  (here)", "holds 9 1"),
        (
            "and  no {a} came back on {d} (planned), with {d} is after {e} and {d} is before 2026-04-01",
            "no 5 2 1",
        ),
        ("and  no-one was there", "holds 3 0"),
        ("and  {n} is how many different {x} such that {x} was lent to {}", "Count 5 0"),
        ("and  {t} is the total {q} such that {q} of {a} came, with {q} is more than 2 lb", "Total 4 1"),
        ("and  {d} is the latest {e} such that it rained on {e}", "Greatest 4 0"),
        ("and  {due} is {d} + 14 days", "[{due}] Same [({d} + 14 days)] 0"),
        ("and  {r} is {a} - {b} * 2", "[{r}] Same [({a} - ({b} * 2))] 0"),
        ("and  {r} is ({a} - {b}) / 2 (here)", "[{r}] Same [(({a} - {b}) / 2)] 1"),
        ("and  {n} is {a} / 3 + 1 rounded up", "[{n}] Same [RoundedUp((({a} / 3) + 1))] 0"),
        ("and  {n} is ({a} rounded) * 2 rounded down", "[{n}] Same [RoundedDown((Rounded({a}) * 2))] 0"),
        (
            "and  {n} is the greater of {a} + 1 and 2 * {b} rounded",
            "[{n}] Same [Rounded(Greater(({a} + 1), (2 * {b})))] 0",
        ),
        ("and  {n} is the lesser of {a} and 2 lb", "[{n}] Same [Lesser({a}, 2 lb)] 0"),
        ("and  {n} is at least the low end of {a} * 2", "[{n}] AtLeast [(LowEnd({a}) * 2)] 0"),
        ("and  {n} is the high end of ({a} - {b})", "[{n}] Same [HighEnd(({a} - {b}))] 0"),
        ("and  {x} is the greater book", "holds 5 0"),
        ("and  {d} is within 90 days after {e}", "[{d}] within [90 days] After [{e}] 0"),
        (
            "and  {d} is more than 9 days before {e} + 1 day",
            "[{d}] more than [9 days] Before [({e} + 1 day)] 0",
        ),
        ("and  {t} may be at least 160 F", "[{t}] may AtLeast [160 F] 0"),
        ("and  {t} may be 3", "[{t}] may Same [3] 0"),
        ("and  {t} is more than 1,000 lb", "[{t}] More [1,000 lb] 0"),
        ("and  {x} is not severe", "[{x}] Different [severe] 0"),
        ("and  {x} is on or before 14 March 2026", "[{x}] AtMost [14 March 2026] 0"),
        ("and  {x} is late", "holds 3 or [{x}] Same [late]"),
        ("and  {x} is 'late'", "[{x}] Same [late] 0"),
        ("and  {x} is a bed", "holds 4 0"),
        ("and  {x} is seen glance", "holds 4 0"),
        ("and  today is {x}", "holds 3 0"),
        ("and  {t} is -2 C", "[{t}] Same [-2 C] 0"),
    ] {
        assert_eq!(shape(line), want, "{line}");
    }
}

#[test]
fn a_word_with_the_start_of_a_keyword_stays_a_word() {
    for line in ["if {x} issued {y}", "if {x} mayor be {y}", "if nothing came", "if {x} is afternoon tea"] {
        assert!(matches!(body(&passage(line)), Ok(Body::Holds(..))), "{line}");
    }
}

#[test]
fn heads_are_told_by_their_first_word() {
    let line = "then do ask {p} for {b} since {d}, by {d} + 3 days, until {b} came back on {}";
    let Ok(Head::Action { deed, until, .. }) = head(&passage(line)) else { unreachable!() };
    assert_eq!((deed.it.len(), until.map(|u| u.it.len())), (4, Some(5)));
    let line = "then warn about {b} and {p}: \u{201c}{b} is \"late\", ask {every p}\u{201d}";
    let Ok(Head::Finding(s, about, text)) = head(&passage(line)) else { unreachable!() };
    assert_eq!((s.it.as_str(), about.len()), ("warn", 2));
    assert_eq!(text.it, "{b} is \"late\", ask {every p}");
    let line = "then answer \"who has it\" in outbreak {o} about {b}: \"all\"";
    assert!(matches!(head(&passage(line)), Ok(Head::Answer { about: Some(_), .. })));
    assert!(matches!(head(&passage("then {b} is late")), Ok(Head::Said(_))));
    let Ok(Head::Told { part: Told::Sum, label: Some(label), text }) =
        head(&passage("then sum \"books in all\": \"{n}\""))
    else {
        unreachable!()
    };
    assert_eq!((label.it.as_str(), text.it.as_str()), ("books in all", "{n}"));
    for part in Told::ALL.into_iter().filter(|p| *p != Told::Sum) {
        let line = format!("then {}: \"Put {{b}} back.\"", part.word());
        let told = head(&passage(&line));
        assert!(matches!(told, Ok(Head::Told { part: p, label: None, .. }) if p == part), "{line}: {told:?}");
    }
    assert!(head(&passage("then sum: \"{n}\"")).is_err());
    assert!(head(&passage("then step \"a label\": \"Put {b} back.\"")).is_err());
}

#[test]
fn an_unreadable_line_is_answered_with_the_shape_it_wants() {
    for (line, message, write) in [
        ("if {a was lent", "This `{` is never closed.", "{book} was lent to"),
        (
            "if {n} is how many {x} such that {x} came",
            "This line cannot be read from",
            "{n} is how many different",
        ),
        ("and", "This line says nothing.", "{book} was lent to"),
    ] {
        let e = body(&passage(line)).expect_err(line);
        assert!(e.message.starts_with(message) && e.write.starts_with(write), "{line}: {e:?}");
    }
    let e = head(&passage("then warn {b}: \"late\"")).expect_err("no about");
    assert!(e.write.starts_with("warn about"), "{e:?}");
}
