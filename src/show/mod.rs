//! Findings, actions and explanations made into text.
//!
//! Comes in: plain structures from `explain`, the texts, and a [`layout::Style`]. Goes out: strings.
//! It decides nothing, reads no environment, and prints nothing itself.

pub mod excerpt;
pub mod layout;
pub mod paint;
pub mod terminal;

#[cfg(test)]
mod tests;
