//! The house's laws, checked against the source text: who may import whom, where the disk, the clock
//! and the terminal are touched, and that farming stays in Markdown.

mod tree;

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

use regex::Regex;
use tree::{files, root};

/// Which rooms each room may import. A room may always import itself.
const IMPORTS: &[(&str, &[&str])] = &[
    ("base", &[]),
    ("measure", &["base"]),
    ("reckon", &["base", "measure"]),
    ("model", &["base", "measure"]),
    ("read", &["base", "measure", "model"]),
    ("parse", &["base", "measure", "model"]),
    ("understand", &["base", "measure", "reckon", "model"]),
    ("infer", &["base", "measure", "model"]),
    ("explain", &["base", "measure", "reckon", "model"]),
    ("tidy", &["base", "measure", "model"]),
    ("show", &["base", "measure", "model"]),
    ("session", &["base", "measure", "model", "read", "parse", "understand", "infer", "explain", "tidy"]),
    ("rehearse", &["base", "measure", "model", "session"]),
    ("serve", &["base", "measure", "model", "read", "show", "session", "rehearse"]),
    ("cli", &["base", "measure", "model", "read", "show", "session", "rehearse", "serve"]),
    ("main", &["cli"]),
    ("lib", &[]),
];

/// Rooms that may touch the disk, the environment and the clock.
const DOORS: &[&str] = &["read", "cli", "serve", "main"];

struct SourceText {
    path: PathBuf,
    room: String,
    /// The text without its `#[cfg(test)]` module, which stands last in a file by habit here.
    /// (`tests.rs` and `laws.rs` are test modules whole, and are not looked at.)
    code: String,
    whole: String,
}

fn sources() -> Vec<SourceText> {
    let src = root().join("src");
    let test_module = Regex::new(r"#\[cfg\(test\)\]\s+mod \w+ \{").expect("a pattern");
    files(&src, ".rs")
        .into_iter()
        .filter(|p| !p.file_name().is_some_and(|n| n == "tests.rs" || n == "laws.rs"))
        .map(|path| {
            let whole = fs::read_to_string(&path).expect("source is text");
            let code = test_module.splitn(&whole, 2).next().unwrap_or("").to_owned();
            let first = path.strip_prefix(&src).expect("under src").iter().next().expect("a name");
            let room = first.to_string_lossy().trim_end_matches(".rs").to_owned();
            SourceText { path, room, code, whole }
        })
        .collect()
}

/// Code lines with comments left out, so that prose about a room is not an import of it.
fn code_lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter(|l| !l.trim_start().starts_with("//"))
}

#[test]
fn rooms_import_only_what_the_table_allows() {
    let allowed: BTreeMap<&str, BTreeSet<&str>> =
        IMPORTS.iter().map(|(room, may)| (*room, may.iter().copied().collect())).collect();
    let path = Regex::new(r"\b(?:crate|haulm)::(\w+|\{)").expect("a pattern");
    let in_braces = Regex::new(r"(?s)\bcrate::\{(.*?)\};").expect("a pattern");
    let mut faults = Vec::new();
    for file in sources() {
        let Some(may) = allowed.get(file.room.as_str()) else {
            faults.push(format!("{} is in a room the table does not list", file.path.display()));
            continue;
        };
        let code: String = code_lines(&file.code).collect::<Vec<_>>().join("\n");
        let mut used: BTreeSet<String> =
            path.captures_iter(&code).map(|c| c[1].to_owned()).filter(|m| m != "{").collect();
        for group in in_braces.captures_iter(&code) {
            used.extend(top_level_names(&group[1]));
        }
        for room in used {
            let known = allowed.contains_key(room.as_str());
            if known && room != file.room && !may.contains(room.as_str()) {
                faults.push(format!("{} imports {room}", file.path.display()));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The first names of a brace list: `base::x, measure::{a, b}` gives `base`, `measure`.
fn top_level_names(list: &str) -> Vec<String> {
    let mut depth = 0;
    let mut names = vec![String::new()];
    for c in list.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => names.push(String::new()),
            c if depth == 0 => names.last_mut().expect("never empty").push(c),
            _ => {}
        }
    }
    names
        .iter()
        .map(|n| n.trim().split("::").next().unwrap_or("").to_owned())
        .filter(|n| !n.is_empty())
        .collect()
}

#[test]
fn the_disk_the_clock_and_the_environment_are_touched_at_the_doors_only() {
    let touch = Regex::new(
        r"\bstd::(fs|env|net|process)\b|\b(fs|env|net|process)::\w|Local::now|Utc::now|SystemTime|TcpStream|UdpSocket|current_dir",
    )
    .expect("a pattern");
    let faults: Vec<String> = sources()
        .iter()
        .filter(|f| !DOORS.contains(&f.room.as_str()))
        .flat_map(|f| {
            code_lines(&f.code)
                .filter(|l| touch.is_match(l))
                .map(|l| format!("{}: {}", f.path.display(), l.trim()))
                .collect::<Vec<_>>()
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn nothing_opens_the_network() {
    let net = Regex::new(r"\bstd::net\b|\bTcp\w+|\bUdp\w+|reqwest|hyper::").expect("a pattern");
    for file in sources() {
        assert!(!code_lines(&file.whole).any(|l| net.is_match(l)), "{}", file.path.display());
    }
}

#[test]
fn only_the_terminal_knows_the_renderer() {
    for file in sources() {
        let knows = code_lines(&file.code).any(|l| l.contains("miette"));
        let may = file.path.ends_with("show/terminal.rs")
            || file.path.parent().is_some_and(|p| p.ends_with("show/terminal"));
        assert!(!knows || may, "{} names miette", file.path.display());
    }
}

#[test]
fn only_the_language_server_knows_its_protocol() {
    for file in sources() {
        let knows = code_lines(&file.code).any(|l| l.contains("lsp_server") || l.contains("lsp_types"));
        let may =
            file.path.components().any(|part| part.as_os_str() == "lsp") || file.path.ends_with("cli/lsp.rs");
        assert!(!knows || may, "{} speaks the protocol", file.path.display());
    }
}

#[test]
fn every_file_says_what_comes_in_and_what_goes_out() {
    for file in sources() {
        assert!(file.whole.starts_with("//! "), "{} does not start with a //! sentence", file.path.display());
    }
}

#[test]
fn rooms_stay_small() {
    let mut sizes: Vec<(usize, PathBuf)> =
        sources().into_iter().map(|f| (f.code.lines().count(), f.path)).collect();
    sizes.sort();
    let median = sizes[sizes.len() / 2].0;
    assert!(median <= 200, "the median file has {median} lines");
    let large: Vec<String> = sizes
        .iter()
        .filter(|(n, _)| *n > 500)
        .map(|(n, p)| format!("{} has {n} lines", p.display()))
        .collect();
    assert!(
        large.len() * 20 <= sizes.len(),
        "more than one file in twenty is over 500 lines:\n{}",
        large.join("\n")
    );
    for (n, path) in &sizes {
        assert!(*n <= 700, "{} has {n} lines", path.display());
    }
}

/// The crops, signs, materials, substances and strains: the names in their tables, and the other
/// words for them.
/// (Containers, parts and the like are words of the journal language too.)
fn vocabulary() -> BTreeSet<String> {
    const FARMING: [&str; 5] = ["crops.md", "signs.md", "materials.md", "substances.md", "strains.md"];
    let mut names = BTreeSet::new();
    for page in FARMING.map(|name| root().join("rules/vocabulary").join(name)) {
        let text = fs::read_to_string(&page).expect("a page is text");
        let (mut in_table, mut also) = (false, false);
        for line in text.lines() {
            let cells: Vec<&str> = line.trim().trim_matches('|').split('|').map(str::trim).collect();
            if !line.trim_start().starts_with('|') {
                in_table = false;
                also = false;
            } else if !in_table && cells.get(1) == Some(&"also") {
                also = true;
            } else if cells[0].starts_with("---") || cells[0].starts_with(":-") {
                in_table = true;
            } else if in_table {
                let others = cells.get(1).filter(|_| also).map_or("", |c| *c);
                let all = std::iter::once(cells[0]).chain(others.split(',').map(str::trim));
                names.extend(all.filter(|n| n.len() > 2).map(str::to_lowercase));
            }
        }
    }
    names
}

#[test]
fn no_name_of_the_vocabulary_occurs_in_the_code_or_the_grammar() {
    // Words of the journal language itself, or of ordinary messages.
    const ALSO_PLAIN_WORDS: &[&str] = &["drawn", "holes", "hurt", "leaves", "load", "soil", "spawn", "water"];
    let names: Vec<String> =
        vocabulary().into_iter().filter(|n| !ALSO_PLAIN_WORDS.contains(&n.as_str())).collect();
    assert!(names.len() > 150, "the vocabulary was not found: {} names", names.len());
    // A raw text, a letter (so that its quote opens nothing), a text, over however many lines.
    let quoted = Regex::new(r##"r#"(?s:.*?)"#|'(?:\\.|[^'\\])'|"(?s:[^"\\]|\\.)*""##).expect("a pattern");
    let mut faults = Vec::new();
    for file in sources() {
        let code: String = code_lines(&file.code).collect::<Vec<_>>().join("\n");
        for literal in quoted.find_iter(&code) {
            faults.extend(named(&names, literal.as_str(), &file.path));
        }
    }
    for grammar in files(&root().join("grammar"), ".pest") {
        let text = fs::read_to_string(&grammar).expect("a grammar is text");
        for line in code_lines(&text) {
            faults.extend(named(&names, line, &grammar));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

fn named(names: &[String], text: &str, path: &Path) -> Vec<String> {
    // The bean test is a term of the trade that the language and a reckoner are about.
    let text = text.to_lowercase().replace("bean test", "").replace("bean-test", "");
    names
        .iter()
        .filter(|name| {
            text.match_indices(name.as_str()).any(|(at, _)| {
                let before = text[..at].chars().next_back();
                let after = text[at + name.len()..].chars().next();
                !before.is_some_and(char::is_alphanumeric) && !after.is_some_and(char::is_alphanumeric)
            })
        })
        .map(|name| format!("{}: `{name}` in {text}", path.display()))
        .collect()
}

#[test]
fn unsafe_code_is_forbidden_for_the_whole_package() {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).expect("the manifest");
    assert!(manifest.contains("unsafe_code = \"forbid\""));
}
