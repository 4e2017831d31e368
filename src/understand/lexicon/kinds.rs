//! The kinds of things a journal names, and the capitals of the frame table that stand for several.
//!
//! Comes in: a kind word or capitals. Goes out: which kinds suit. These are kinds of things in any
//! journal; crops, signs and stuff are words of tables.

pub use super::marks::kind_word;

/// Kind words with their plurals.
pub const KINDS: &[(&str, &str)] = &[
    ("animals", "animals"),
    ("batch", "batches"),
    ("bed", "beds"),
    ("field", "fields"),
    ("heap", "heaps"),
    ("lot", "lots"),
    ("path", "paths"),
    ("person", "people"),
    ("room", "rooms"),
    ("sample", "samples"),
    ("test", "tests"),
    ("tray", "trays"),
    ("trial", "trials"),
];

/// Ground: what material is spread on and crops stand in.
pub const PLACES: &[&str] = &["bed", "path", "field", "room"];

/// Whether a thing of `kind` suits what a slot takes (`LOT`, `PLACE`, `bed`, `thing`).
pub fn suits(takes: &str, kind: &str) -> bool {
    match takes {
        "LOT" => matches!(kind, "lot" | "heap" | "sample"),
        "PLACE" => PLACES.contains(&kind),
        // Buckets and other containers of a batch go under the container's own word.
        "HOLD" => matches!(kind, "batch" | "tray") || kind_word(kind).is_none() && kind != "control",
        "WHO" => kind == "person",
        "thing" => true,
        other => other == kind,
    }
}

/// The kind an unknown bare name is taken for where a slot takes these.
pub fn usual_kind(takes: &str) -> &str {
    match takes {
        "LOT" | "thing" => "lot",
        "PLACE" => "bed",
        "HOLD" => "batch",
        "WHO" => "person",
        other => other,
    }
}
