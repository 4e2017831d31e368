//! What tidying changes, as text: for reading, one line each, or JSON.
//!
//! Comes in: lines before and after. Goes out: text. It changes nothing itself.

use serde_json::{Value, json};

use super::{
    layout::{Style, clean, count},
    paint::{Ink, paint},
};
use crate::model::change::Rewritten;

/// Each line as it is and as it would be, then how many.
pub fn would(lines: &[Rewritten], style: &Style) -> String {
    let mut out = String::new();
    for line in lines {
        let place = format!("{}:{}", clean(&line.file), line.line);
        out.push_str(&format!(
            "{}\n  is       {}\n  becomes  {}\n",
            paint(&place, Ink::Strong, style.colour),
            visible(&line.before, style),
            visible(&line.after, style)
        ));
    }
    match lines.len() {
        0 => "Nothing to tidy.\n".to_owned(),
        n => format!("{out}\n{} would change. `haulm tidy` writes them.\n", count(n, "line", "lines")),
    }
}

/// Which files were written, and how much of each changed.
pub fn did(lines: &[Rewritten]) -> String {
    let mut out = String::new();
    for file in lines.chunk_by(|a, b| a.file == b.file) {
        let Some(first) = file.first() else { continue };
        out.push_str(&format!("{}: {} tidied\n", clean(&first.file), count(file.len(), "line", "lines")));
    }
    if out.is_empty() { "Nothing to tidy.\n".to_owned() } else { out }
}

/// `path:line:1: hint tidy: …`, a line for each.
pub fn short(lines: &[Rewritten]) -> String {
    let one = |line: &Rewritten| {
        format!("{}:{}:1: hint tidy: {}\n", clean(&line.file), line.line, clean(line.after.trim()))
    };
    lines.iter().map(one).collect()
}

/// `{ "format": "haulm-tidy", "version": 1, "written": bool, "lines": [ { "file", "line", "before", "after" } ] }`,
/// lines counting from 1.
pub fn json(lines: &[Rewritten], written: bool) -> String {
    let lines: Vec<Value> = lines
        .iter()
        .map(|l| json!({ "file": l.file, "line": l.line, "before": l.before, "after": l.after }))
        .collect();
    let value = json!({ "format": "haulm-tidy", "version": 1, "written": written, "lines": lines });
    let mut text = serde_json::to_string_pretty(&value).unwrap_or_else(|_| "{}".to_owned());
    text.push('\n');
    text
}

/// A line with its tabs, and the spaces at its end, made visible.
fn visible(line: &str, style: &Style) -> String {
    let (tab, space) = if style.unicode { ("\u{2192}", "\u{b7}") } else { ("\\t", "_") };
    let kept = line.trim_end_matches([' ', '\t']);
    let ending = line.get(kept.len()..).unwrap_or("").replace(' ', space);
    let text: Vec<String> = format!("{kept}{ending}").split('\t').map(clean).collect();
    text.join(tab)
}
