//! Findings, actions and explanations made into text.
//!
//! Comes in: plain structures from `explain`, the texts, and a [`layout::Style`]. Goes out: strings.
//! It decides nothing, reads no environment, and prints nothing itself.

pub mod answers;
mod content;
pub mod due;
pub mod excerpt;
pub mod json;
pub mod layout;
pub mod lines;
pub mod markup;
pub mod missing;
pub mod paint;
pub mod ranking;
pub mod recipe;
pub mod rules;
pub mod short;
mod table;
pub mod terminal;
pub mod tidy;
pub mod trace;
pub mod what_if;
pub mod why;
pub mod words;

#[cfg(test)]
mod tests;
