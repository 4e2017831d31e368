//! Reading of real folders, good and bad.

use std::{fs, path::Path};

use tempfile::TempDir;

use super::{Farm, Reading};
use crate::base::source::SourceKind;

fn farm(files: &[(&str, &[u8])]) -> TempDir {
    let dir = tempfile::tempdir().expect("a temporary folder");
    for (name, text) in files {
        put(dir.path(), name, text);
    }
    dir
}

fn put(dir: &Path, name: &str, text: &[u8]) {
    let path = dir.join(name);
    fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
    fs::write(path, text).expect("a file");
}

fn names(reading: &Reading) -> Vec<String> {
    let mut names: Vec<_> = reading.files.iter().map(|f| f.path.to_string()).collect();
    names.sort();
    names
}

fn left_out(reading: &Reading) -> Vec<&str> {
    reading.left_out.iter().map(|l| l.said.message.as_str()).collect()
}

#[test]
fn markdown_is_read_recursively_and_hidden_or_other_files_are_not() {
    let dir = farm(&[
        ("spring.md", b"a"),
        ("old/2025/AUTUMN.MD", b"b"),
        (".git/notes.md", b"x"),
        (".#spring.md", b"x"),
        ("spring.md~", b"x"),
        ("photo.jpg", b"\xff"),
        (".md", b"x"),
    ]);
    let reading = Farm::at(dir.path()).read();
    assert_eq!(names(&reading), ["old/2025/AUTUMN.MD", "spring.md"]);
    assert_eq!(left_out(&reading), Vec::<&str>::new());
}

#[test]
fn pages_in_a_rules_folder_are_rule_pages_and_the_rest_are_journals() {
    let dir = farm(&[("spring.md", b"a"), ("rules/pages/mice.md", b"b"), ("rules.md", b"c")]);
    let kinds = |reading: Reading| {
        let mut kinds: Vec<_> = reading.files.iter().map(|f| (f.path.to_string(), f.kind)).collect();
        kinds.sort();
        kinds
    };
    let page = ("rules/pages/mice.md".to_owned(), SourceKind::RulePage);
    let journal = |name: &str| (name.to_owned(), SourceKind::Journal);
    let all = kinds(Farm::at(dir.path()).read());
    assert_eq!(all, [journal("rules.md"), page.clone(), journal("spring.md")]);
    // A single journal brings the rule pages beside it, and no other journal.
    let one = kinds(Farm::at(&dir.path().join("spring.md")).read());
    assert_eq!(one, [page.clone(), journal("spring.md")]);
    let its_page = kinds(Farm::at(&dir.path().join("rules/pages/mice.md")).read());
    assert_eq!(its_page, [page]);
}

#[test]
fn a_file_that_cannot_be_read_is_named_and_the_rest_goes_on() {
    let dir = farm(&[("good.md", b"a"), ("latin.md", b"caf\xe9"), ("folder.md/inside.md", b"b")]);
    let reading = Farm::at(dir.path()).read();
    assert_eq!(names(&reading), ["folder.md/inside.md", "good.md"]);
    assert_eq!(
        left_out(&reading),
        ["`latin.md` was left out: line 1 is not UTF-8 text; save the file as UTF-8."]
    );
    let missing = Farm::at(&dir.path().join("winter.md")).read();
    assert_eq!(left_out(&missing), ["`winter.md` was left out: there is no such file."]);
}

#[cfg(unix)]
#[test]
fn links_in_a_circle_and_links_to_what_is_read_anyway_count_once() {
    use std::os::unix::fs::symlink;
    let dir = farm(&[("z/spring.md", b"a")]);
    let elsewhere = farm(&[("barn/loft.md", b"b"), ("barn/one.md", b"c")]);
    let at = |name: &str| dir.path().join(name);
    symlink(dir.path(), at("a-circle")).expect("a link");
    symlink("..", at("z/up")).expect("a link");
    symlink(at("z"), at("b-again")).expect("a link");
    symlink(at("z/spring.md"), at("copy.md")).expect("a link");
    symlink(elsewhere.path().join("barn"), at("barn")).expect("a link");
    symlink(elsewhere.path().join("barn/one.md"), at("one.md")).expect("a link");
    symlink("nowhere", at("lost.md")).expect("a link");
    symlink("nowhere", at("lost.txt")).expect("a link");
    let reading = Farm::at(dir.path()).read();
    assert_eq!(names(&reading), ["barn/loft.md", "barn/one.md", "z/spring.md"]);
    assert_eq!(left_out(&reading), ["`lost.md` was left out: it is a link that leads nowhere."]);
}

#[cfg(unix)]
#[test]
fn a_pipe_in_the_folder_does_not_hang_the_reading() {
    let dir = farm(&[("spring.md", b"a")]);
    let made = std::process::Command::new("mkfifo").arg(dir.path().join("pipe.md")).status();
    if made.is_ok_and(|s| s.success()) {
        let reading = Farm::at(dir.path()).read();
        assert_eq!(names(&reading), ["spring.md"]);
        assert_eq!(left_out(&reading), ["`pipe.md` was left out: it is not an ordinary file."]);
    }
}

#[test]
fn a_second_reading_sees_every_change_even_of_the_same_length_at_once() {
    let dir = farm(&[("a.md", b"one"), ("b.md", b"two")]);
    let mut farm = Farm::at(dir.path());
    let text = |reading: &Reading, name: &str| {
        reading.files.iter().find(|f| &*f.path == name).map(|f| f.text.to_string())
    };
    assert_eq!(text(&farm.read(), "a.md").as_deref(), Some("one"));
    for n in 0..100 {
        put(dir.path(), "a.md", format!("{n:03}").as_bytes());
        assert_eq!(text(&farm.read(), "a.md"), Some(format!("{n:03}")));
    }
    fs::remove_file(dir.path().join("b.md")).expect("removed");
    put(dir.path(), "new/c.md", b"three");
    assert_eq!(names(&farm.read()), ["a.md", "new/c.md"]);
}
