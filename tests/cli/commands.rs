//! Each command does what its help says.

use haulm::show::paint::unpainted;

use crate::grower::{Notes, answer, command, package};

const JOURNAL: &str = "\
# Notes

- bed north-1, 30 ft x 4 ft

## 2026-03-14

- received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure

## 2026-03-20

- spread lot tern-26 on north-1, 3 in deep
";

/// A heading that may be one of two days: an error of the reading, whatever the rules are.
const TWO_DAYS: &str = "## 3/4/26\n\n- rained 12 mm\n";

#[test]
fn every_command_has_help_with_an_example() {
    let notes = Notes::with(&[]);
    for name in
        ["check", "watch", "why", "trace", "due", "words", "recipe", "tidy", "new", "completions", "man"]
    {
        let help = notes.haulm(&[name, "--help"]).ended(0).says("haulm").says("Example");
        assert_eq!(help.err, "");
        notes.haulm(&[name, "-h"]).ended(0).says("Usage:");
    }
    for name in ["list", "show", "test"] {
        notes.haulm(&["rules", name, "--help"]).ended(0).says("Usage:");
    }
    notes.haulm(&["--help"]).ended(0).says("Examples:").says("Exit status:");
    notes.haulm(&["--version"]).ended(0).says(env!("CARGO_PKG_VERSION"));
}

#[test]
fn the_exit_status_follows_the_threshold() {
    let notes = Notes::with(&[("clean.md", "# Nothing but prose\n\nIt rained.\n"), ("slip.md", TWO_DAYS)]);
    notes.haulm(&["check", "clean.md"]).ended(0);
    notes.haulm(&["check", "slip.md"]).ended(1).says("error").says("3/4/26");
    notes.haulm(&["check", "slip.md", "--threshold", "error"]).ended(1);
    notes.haulm(&["check", "slip.md", "--threshold", "alarm"]).ended(0).says("3/4/26");
}

#[test]
fn stress_in_a_page_is_drawn_and_not_spelt() {
    let notes = Notes::with(&[]);
    let shown = |colour| notes.haulm(&["rules", "show", "ways-of-repair", "--color", colour]).ended(0).out;
    let (plain, painted) = (shown("never"), shown("always"));
    assert!(plain.contains("\n  No published trial was found") && !plain.contains("**"), "{plain}");
    assert!(painted.contains("\u{1b}[1mNo published trial was found"), "{painted}");
    assert_eq!(unpainted(&painted), plain);
}

#[test]
fn every_alarm_ends_with_what_to_do_first() {
    let mut alarms = 0;
    for (farm, day) in
        [("straw-trial", "2033-05-28"), ("straw-and-chips", "2035-10-20"), ("years-of-one-bed", "2037-05-30")]
    {
        let farm = package().join("journals/cases").join(farm);
        let asked = ["check", &farm.to_string_lossy(), "--as-of", day, "--format", "json"];
        let said = Notes::with(&[]).haulm(&asked).ended(1);
        let value: serde_json::Value = serde_json::from_str(&said.out).expect("JSON comes out");
        let findings = value["findings"].as_array().expect("findings");
        for alarm in findings.iter().filter(|f| f["severity"] == "alarm") {
            alarms += 1;
            let remarks = alarm["remarks"].as_array().expect("remarks");
            assert!(remarks.iter().any(|r| r["kind"] == "next"), "{alarm:#}");
        }
    }
    assert!(alarms > 3, "{alarms}");
}

#[test]
fn the_formats_say_the_same() {
    let notes = Notes::with(&[("slip.md", TWO_DAYS)]);
    let short = notes.haulm(&["check", "--format", "short"]).ended(1);
    assert!(short.out.starts_with("slip.md:1:4: error"), "{}", short.out);
    let json = notes.haulm(&["check", "--format", "json"]).ended(1);
    let value: serde_json::Value = serde_json::from_str(&json.out).expect("JSON comes out");
    let first = &value["findings"][0];
    assert_eq!((&first["severity"], &first["at"]["file"]), (&"error".into(), &"slip.md".into()));
    assert_eq!(first["at"]["start"]["line"], 1);
}

#[test]
fn every_answer_can_be_had_as_json() {
    let notes = Notes::with(&[("one.md", JOURNAL)]);
    let questions: [&[&str]; 7] = [
        &["why", "untested-lot"],
        &["why", "--not", "untested-lot"],
        &["due"],
        &["words"],
        &["words", "spread"],
        &["rules", "list"],
        &["rules", "show", "untested-lot"],
    ];
    for question in questions {
        let answer = notes.haulm(&[question, &["--format", "json"]].concat()).ended(0);
        let value: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON comes out");
        assert!(value.is_object() || value.is_array(), "{question:?}: {value}");
    }
}

#[test]
fn a_folder_a_file_and_standard_input_read_alike() {
    let notes = Notes::with(&[("one.md", JOURNAL)]);
    let args = |path| ["check", path, "--today", "2026-03-25", "--format", "short"];
    let folder = notes.haulm(&args("."));
    let file = notes.haulm(&args("one.md"));
    let stdin = notes.haulm_reading(&args("-"), JOURNAL);
    assert_eq!(folder.out, file.out);
    assert_eq!(folder.out.replace("one.md:", "-:"), stdin.out);
    assert_eq!((folder.code, file.code), (stdin.code, stdin.code));
}

#[test]
fn the_same_text_on_the_same_day_gives_the_same_bytes() {
    let args = ["check", "journals/brackenhythe", "--today", "2026-07-01", "--all"];
    let once = answer(command(package(), &args), "");
    let again = answer(command(package(), &args), "");
    assert_eq!(once, again);
    assert!(!once.out.is_empty());
}

#[test]
fn as_of_a_day_nothing_later_is_known_not_even_a_slip() {
    let later = "\n## 2026-03-22 Monday\n\n- spread lot tern-62 on north-1\n- 5 lb of what\n";
    let notes = Notes::with(&[("one.md", JOURNAL), ("later/two.md", &format!("{JOURNAL}{later}"))]);
    let args = |path| ["check", path, "--today", "2026-03-25", "--as-of", "2026-03-21", "--format", "short"];
    let without = notes.haulm(&args("one.md"));
    let with = notes.haulm(&args("later/two.md"));
    assert_eq!(without.out.replace("one.md:", ""), with.out.replace("two.md:", ""));
    let then = ["due", "one.md", "--as-of", "2026-03-21"];
    let as_then = ["due", "one.md", "--as-of", "2026-03-21", "--today", "2026-03-21"];
    assert_eq!(notes.haulm(&then), notes.haulm(&as_then));
    notes.haulm(&["check", "later/two.md", "--today", "2026-03-25"]).says("tern-62").says("Monday");
}

#[test]
fn colour_comes_only_when_it_is_asked_for() {
    let notes = Notes::with(&[("slip.md", TWO_DAYS)]);
    notes.haulm(&["check"]).says_nothing_of("\u{1b}[");
    notes.haulm(&["check", "--color", "never"]).says_nothing_of("\u{1b}[");
    notes.haulm(&["check", "--color", "always"]).says("\u{1b}[");
}

#[test]
fn a_new_journal_checks_clean_and_is_never_written_over() {
    let notes = Notes::with(&[]);
    notes.haulm(&["new", "notes", "--today", "2026-03-01"]).ended(0).says("haulm check notes");
    let text = std::fs::read_to_string(notes.at("notes/journal.md")).expect("a journal");
    assert!(text.contains("## 2026-03-01") && !text.contains("{today}"));
    let clean = ["check", "notes", "--today", "2026-03-01", "--threshold", "hint"];
    notes.haulm(&clean).ended(0);
    notes.save("notes/journal.md", "mine");
    notes.haulm(&["new", "notes"]).ended(2).complains("left as it is");
    assert_eq!(std::fs::read_to_string(notes.at("notes/journal.md")).ok().as_deref(), Some("mine"));
    notes.haulm(&["new", "notes/journal.md"]).ended(2).complains("is not a folder");
}

#[test]
fn checking_writes_nothing() {
    let notes = Notes::with(&[("one.md", JOURNAL)]);
    for args in [["check", "."], ["why", "tern-26"], ["trace", "tern-26"], ["due", "."], ["words", "spread"]]
    {
        notes.haulm(&args);
    }
    let names: Vec<_> = std::fs::read_dir(notes.path())
        .expect("the folder")
        .map(|e| e.expect("an entry").file_name())
        .collect();
    assert_eq!(names, ["one.md"]);
}

#[test]
fn words_answer_for_verbs_and_say_when_nothing_is_known() {
    let notes = Notes::with(&[]);
    notes.haulm(&["words"]).ended(0).says("spread lot tern-26");
    notes.haulm(&["words", "spread"]).ended(0).says("spread").says_nothing_of("heated 40 lb");
    let one = notes.haulm(&["words", "bean"]).ended(0);
    notes.haulm(&["words", "beans"]).ended(0).says("bean").says_nothing_of("No verb and no word");
    assert!(one.out.contains("bean"));
    notes.haulm(&["words", "tomatoes"]).ended(0).says("tomato");
    notes.haulm(&["words", "xyzzys"]).ended(0).says("No verb and no word");
    notes.haulm(&["words", "sprad"]).ended(2).complains("did you mean `spread`?");
    notes.haulm(&["words", "read"]).ended(0).says_nothing_of("spread on top of");
    notes.haulm(&["words"]).ended(0).says("Words of these kinds").says_nothing_of("brinjal");
    notes.haulm(&["words", "--all"]).ended(0).says("brinjal");
}

#[test]
fn words_and_rules_open_no_journal() {
    let notes = Notes::with(&[("rules/crops.md", OWN_CROPS)]);
    notes.save("latin.md", b"caf\xe9\n");
    notes.haulm(&["check"]).ended(2);
    notes.haulm(&["words", "crop"]).ended(0).says("sea kale of the coast").says("tomato");
    notes.haulm(&["rules", "list"]).ended(0).says("untested-lot");
    notes.haulm(&["words", "crop", "latin.md"]).ended(0).says("sea kale of the coast");
    notes.haulm(&["words", "crop", "-"]).ended(0).says("tomato");
    notes.haulm(&["words", "crop", "nowhere"]).ended(2);
}

const OWN_CROPS: &str =
    "# crops\n\nEach row says: \"{crop} is a crop\"\n\n| crop |\n|---|\n| sea kale of the coast |\n";

#[test]
fn crops_of_the_farms_own_are_added_to_the_built_in_ones() {
    let notes = Notes::with(&[("rules/crops.md", OWN_CROPS), ("one.md", JOURNAL)]);
    let with = notes.haulm(&["check", "--format", "json"]);
    std::fs::remove_file(notes.at("rules/crops.md")).expect("removed");
    assert_eq!(notes.haulm(&["check", "--format", "json"]), with);
}

#[test]
fn why_of_a_line_that_could_not_be_read_gives_what_is_said_of_it() {
    let journal = "## 2026-03-14\n\n- spread on north-1\n- unit barrow, 80 l\n\nProse.\n";
    let notes = Notes::with(&[("one.md", journal)]);
    notes.haulm(&["check"]).ended(1).says("one.md:3");
    notes.haulm(&["why", "one.md:3"]).ended(0).says("error").says("- spread on north-1");
    notes.haulm(&["why", "one.md:4"]).ended(0).says("What the line says").says("one barrow holds 80");
    notes.haulm(&["why", "one.md:6"]).ended(2).complains("is no entry");
}

#[test]
fn a_page_can_be_tested_alone_and_its_answer_had_as_json() {
    let notes = Notes::with(&[]);
    notes.haulm(&["rules", "test", "--page", "unread-page"]).ended(0).says("all as the pages say");
    let json = notes.haulm(&["rules", "test", "--page", "unread-page", "--format", "json"]).ended(0);
    let value: serde_json::Value = serde_json::from_str(&json.out).expect("JSON comes out");
    assert!(value["examples"].as_u64().is_some_and(|n| n > 0), "{value}");
    assert_eq!(value["failed"].as_array().map(Vec::len), Some(0));
    notes.haulm(&["rules", "test", "--page", "unread-pgae"]).ended(2).complains("unread-pgae");
}

#[test]
fn rule_pages_are_listed_and_shown_and_a_near_miss_is_offered() {
    let notes = Notes::with(&[]);
    notes.haulm(&["rules", "list"]).ended(0).says("untested-lot");
    notes.haulm(&["rules", "show", "untested-lot"]).ended(0).says("untested-lot").says("Why it matters");
    notes.haulm(&["rules", "show", "untested-lto"]).ended(2).complains("did you mean `untested-lot`?");
}

#[test]
fn a_page_of_the_farms_own_is_listed_beside_the_built_in_ones() {
    let page = "# slug-count\nSeverity: hint\n\n## What it notices\n\nSlugs.\n";
    let notes = Notes::with(&[("rules/pages/slug-count.md", page)]);
    notes.haulm(&["rules", "list"]).ended(0).says("slug-count").says("untested-lot");
}

#[test]
fn every_shell_gets_completions_and_the_manual_is_whole() {
    let notes = Notes::with(&[]);
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        notes.haulm(&["completions", shell]).ended(0).says("haulm").says("check");
    }
    let manual = notes.haulm(&["man"]).ended(0);
    for name in ["check", "watch", "why", "trace", "due", "words", "rules", "new"] {
        assert!(manual.out.contains(&format!(".TH haulm-{name} ")), "no page for {name}");
    }
}
