//! The words growers use: the vocabulary's first words and its others, plurals, lists.
//!
//! Comes in: the phrase book of the program, of which only names of signs and crops are used. Goes out: a
//! wording for a word.

use std::collections::BTreeMap;

use haulm::session::Session;

use super::{diary::date, dice::Dice};

/// Other words for signs and crops.
#[derive(Debug, Default)]
pub struct Words(BTreeMap<String, Vec<String>>);

impl Words {
    /// Those of the built-in vocabulary.
    pub fn built_in() -> Self {
        let book = Session::new().check(date(0), None).words(None);
        let kinds = book.kinds.into_iter().filter(|k| k.kind == "sign" || k.kind == "crop");
        Self(kinds.flat_map(|k| k.words).collect())
    }

    /// A word, or with this chance another for it.
    pub fn of(&self, word: &str, chance: f64, dice: &mut Dice) -> String {
        match self.0.get(word) {
            Some(others) if dice.yes(chance) && !others.is_empty() => {
                let all: Vec<&str> = others.iter().map(String::as_str).collect();
                dice.one(&all).to_owned()
            }
            _ => word.to_owned(),
        }
    }
}

/// Several of a crop.
pub fn plural(crop: &str) -> String {
    match crop {
        "tomato" | "potato" | "radish" | "squash" => format!("{crop}es"),
        "strawberry" => "strawberries".to_owned(),
        "bean" | "runner bean" | "broad bean" | "pea" | "carrot" | "parsnip" | "cucumber" | "courgette"
        | "cabbage" | "onion" | "leek" | "pepper" | "aubergine" | "sunflower" | "lettuce" => {
            format!("{crop}s")
        }
        _ => crop.to_owned(),
    }
}

/// `a, b and c`.
pub fn listed(of: &[String]) -> String {
    match of {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
