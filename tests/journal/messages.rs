//! What is said about lines that do not read, beside the lines.

use haulm::base::diagnostic::RemarkKind;

use crate::written::{beside, read};

#[test]
fn each_slip_is_met_with_what_was_read_what_is_missing_and_a_right_line() {
    insta::assert_snapshot!(beside(include_str!("messages.md")));
}

/// The entry or hint of one line about bed b-1, where wine cap grows.
fn said_of(line: &str) -> Vec<haulm::base::diagnostic::Diagnostic> {
    let (_, reading) = read(&format!(
        "## The place\n- bed b-1, 20 ft x 4 ft\n- field Long Ley\n\n## 2026-05-06\n\
         - laid 4 in straw on b-1 with 5 lb wine cap spawn\n- {line}\n"
    ));
    reading.diagnostics
}

/// The lines offered for one line.
fn offered(line: &str) -> Vec<String> {
    let remarks = said_of(line).into_iter().flat_map(|d| d.remarks);
    remarks.filter(|r| r.kind == RemarkKind::Write).map(|r| r.text).collect()
}

#[test]
fn no_mushroom_is_offered_as_a_vegetable() {
    // English names of mushrooms that are gathered wild, and of some that poison: from memory.
    let wild = [
        "blewits",
        "blewit",
        "morels",
        "morel",
        "ceps",
        "cep",
        "boletes",
        "chanterelles",
        "parasols",
        "puffballs",
        "inkcaps",
        "agarics",
        "deceivers",
        "milkcaps",
        "russulas",
        "porcini",
        "enoki",
        "galerinas",
        "pieds bleus",
        "death caps",
        "webcaps",
        "horse mushrooms",
        "fieldcaps",
        "truffles",
        "amanitas",
        "hedgehogs",
        "brittlegills",
    ];
    for name in wild {
        for line in [format!("picked 1 lb {name} from b-1"), format!("sold 1 lb {name} to Joan")] {
            for said in said_of(&line) {
                assert!(said.fixes.is_empty(), "{line}: {} {:?}", said.message, said.fixes);
                assert!(!said.message.contains("did you mean"), "{line}: {}", said.message);
            }
        }
    }
    assert_eq!(offered("picked 1 lb tomatto from b-1"), ["- picked 1 lb tomato from b-1"]);
}

#[test]
fn a_reading_of_which_the_tested_pots_are_not_read_is_held_back_with_gaps_for_what_was_seen() {
    let entries = |line: &str| {
        let text = format!(
            "## 2026-03-08\n- potted 5 pots of bean in lot spring-1 as test t1\n\n## 2026-04-01\n- {line}\n"
        );
        read(&text).1.entries().into_iter().filter(|e| *e.verb == *"read").count()
    };
    for (line, gaps) in [
        (
            "read test t1: about half of the pots curled, control fine",
            "- read test t1: \u{2026} of \u{2026} pots hurt; control fine",
        ),
        (
            "read test t1: about half of the pots a bit curled, control fine",
            "- read test t1: \u{2026} of \u{2026} pots hurt; control fine",
        ),
        (
            "read test t1: control 0 of 5 pots hurt; the others look poorly, slight",
            "- read test t1: \u{2026} of \u{2026} pots hurt, slight; control 0 of 5 pots hurt",
        ),
        (
            "read test t1 so far: leaves a bit crinkly",
            "- read test t1 so far: \u{2026} of \u{2026} pots hurt; control \u{2026} of \u{2026} pots hurt",
        ),
        (
            "read test t1: 5 of 5 pots hurt; control poorly",
            "- read test t1: 5 of 5 pots hurt; control \u{2026} of \u{2026} pots hurt",
        ),
        (
            "read test t1",
            "- read test t1: \u{2026} of \u{2026} pots hurt; control \u{2026} of \u{2026} pots hurt",
        ),
    ] {
        assert_eq!(entries(line), 0, "{line}");
        assert_eq!(offered(line), [gaps], "{line}");
        assert_eq!(entries(gaps.trim_start_matches("- ")), 0, "a gap is no count: {gaps}");
    }
    for line in [
        "read test t1: two of the five pots look bad; control good",
        "read test t1: 3 of 5 pots hurt, slight; control 0 of 5 pots hurt",
        "read control of test t1: none hurt, a lovely day",
    ] {
        assert_eq!(entries(line), 1, "{line}");
    }
}

#[test]
fn a_word_missing_before_a_place_is_named_and_the_whole_line_shown_mended() {
    let line = "saw Mr Price spray Long Ley, windy";
    let said = said_of(line);
    assert_eq!(said.len(), 1, "{said:#?}");
    assert!(said[0].message.ends_with("`on` is missing before Long Ley"), "{}", said[0].message);
    assert_eq!(offered(line), ["- saw Mr Price spray on Long Ley, windy"]);
    assert_eq!(offered("saw Mr Price spraying the Long Ley"), ["- saw Mr Price spraying on the Long Ley"]);
    let mended = read("- field Long Ley\n\n## 2026-05-04\n- saw Mr Price spray on Long Ley, windy\n").1;
    assert!(mended.entries().iter().any(|e| *e.verb == *"saw"), "{:#?}", mended.diagnostics);
    assert_eq!(said_of("saw Mr Price by Long Ley").len(), 1, "no spraying, so the example of the verb");
}

#[test]
fn plain_words_about_hurt_plants_are_met_with_one_right_line() {
    for (line, right) in [
        ("tomatoes twisted in b-1", "- noticed tomatoes twisted in b-1"),
        ("tomatoes crumpled in b-1", "- noticed crumpled seed leaves on tomato in b-1"),
        ("beans in the compost look crinkled", "- noticed crinkled leaves on bean in \u{2026}"),
        ("tomatoes all have cupped leaves, poor things", "- noticed cupped leaves on tomato in \u{2026}"),
        (
            "bean test: 2 pots bad, 3 ok",
            "- read test \u{2026}: \u{2026} of \u{2026} pots hurt; control \u{2026} of \u{2026} pots hurt",
        ),
    ] {
        assert_eq!(offered(line), [right], "{line}");
    }
    for talk in
        ["tomatoes doing nicely in b-1", "twisted my ankle", "bean test some day", "tomato seeds came"]
    {
        assert_eq!(said_of(talk), [], "{talk}");
    }
    for unread in ["noticed tomatoes all bent up in b-1", "noticed bent tomatoes in b-1"] {
        let said = said_of(unread);
        let next = said.iter().flat_map(|d| &d.remarks).map(|r| r.text.as_str()).collect::<Vec<_>>();
        assert!(
            next.iter().any(|t| t.contains("`bent seedlings`") && t.contains("`bent stems`")),
            "{next:?}"
        );
        assert!(!next.iter().any(|t| t.contains("rules/")), "{next:?}");
    }
}

#[test]
fn a_sign_that_is_denied_is_never_offered_as_seen() {
    for line in [
        "beans no longer twisted b-1",
        "beans not twisted any more in b-1",
        "beans not twisted b-1",
        "beans stopped twisting b-1",
        "beans b-1 haven't twisted",
        "beans b-1 haven\u{2019}t twisted",
        "beans never twisted in b-1",
        "b-1 beans without twisted leaves now",
    ] {
        let right = offered(line);
        assert_eq!(right, ["- noticed no twisted leaves on bean in b-1"], "{line}");
    }
    assert_eq!(said_of("noticed no twisted leaves on bean in b-1"), []);
    // What is denied beside, or after, may be that sign or another.
    for line in ["beans twisted b-1 but not curled", "twisted leaves gone from beans b-1"] {
        assert!(!said_of(line).is_empty(), "{line}");
        assert!(offered(line).is_empty(), "{line}: {:?}", offered(line));
    }
    assert_eq!(offered("beans twisted b-1"), ["- noticed twisted leaves on bean in b-1"]);
    for line in ["noticed beans no longer twisted in b-1", "noticed beans stopped twisting in b-1"] {
        let remarks: Vec<String> =
            said_of(line).into_iter().flat_map(|d| d.remarks).map(|r| r.text).collect();
        assert_eq!(remarks, ["if you saw `no twisted leaves`, write that"], "{line}");
    }
}

#[test]
fn a_place_that_is_not_declared_is_kept_at_the_end_of_a_list() {
    for line in ["sowed beans in b-1 and b-9", "planted 4 bean in b-1, b-9"] {
        let (_, reading) = read(&format!("- bed b-1, 20 ft x 4 ft\n\n## 2026-05-06\n- {line}\n"));
        let entries = reading.entries();
        let places = entries.iter().flat_map(|e| e.groups.to_vec()).map(|g| g.get("place").count());
        assert_eq!(places.sum::<usize>(), 2, "{line}: {:#?}", reading.diagnostics);
        assert_eq!(reading.diagnostics, [], "{line}");
    }
    assert_eq!(offered("sowed beans in b-1 and lovely"), ["- sowed beans in b-1"]);
}

#[test]
fn plants_that_are_sound_again_look_well() {
    let well = |line: &str| {
        let text =
            format!("- bed b-1, 20 ft x 4 ft\n- bed b-2, 20 ft x 4 ft\n\n## 2026-05-06\n- noticed {line}\n");
        let entries = read(&text).1.entries();
        entries.iter().flat_map(|e| e.groups.to_vec()).filter(|g| g.said("fine")).count()
    };
    for line in ["sound beans in b-1", "beans in b-1 well", "beans recovered in b-1", "beans healthy in b-1"]
    {
        assert_eq!(well(line), 1, "{line}");
        assert_eq!(said_of(&format!("noticed {line}")), [], "{line}");
    }
    assert_eq!(well("twisted leaves on bean in b-1, sound in b-2"), 1);
    for line in [
        "beans not sound in b-1",
        "beans not well in b-1",
        "beans haven't recovered in b-1",
        "beans better in b-1",
        "twisted leaves on bean in b-1, well above the ground",
    ] {
        assert_eq!(well(line), 0, "{line}");
    }
}

#[test]
fn what_a_test_or_a_laboratory_came_to_is_met_with_the_line_that_keeps_it() {
    let offered = |line: &str| {
        let text = format!(
            "- bed b-1, 20 ft x 4 ft\n\n## 2026-03-08\n- potted 5 pots of bean in soil from b-1 as test t1\n\n\
             ## 2026-05-06\n- {line}\n"
        );
        let remarks = read(&text).1.diagnostics.into_iter().flat_map(|d| d.remarks);
        remarks.filter(|r| r.kind == RemarkKind::Write).map(|r| r.text).collect::<Vec<_>>()
    };
    for (line, right) in [
        ("test t1 all hurt", "- read test t1 all hurt"),
        ("test t1: all hurt, control fine", "- read test t1: all hurt, control fine"),
        ("lab result clear b-1", "- lab found no \u{2026} in b-1, limit \u{2026} ppb"),
        (
            "lab result for clopyralid in b-1",
            "- lab found \u{2026} ppb clopyralid in b-1, limit \u{2026} ppb",
        ),
    ] {
        assert_eq!(offered(line), [right], "{line}");
    }
    for talk in ["test t1 is on the sill", "lab called about b-1"] {
        assert!(offered(talk).is_empty(), "{talk}");
    }
}
