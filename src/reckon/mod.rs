//! Mathematics that sentences alone cannot do: pure functions with units, ranges and sources.
//!
//! Comes in: amounts, days, counts and readings already understood. Goes out: numbers, verdicts and
//! what they rest on. It reads no sentences; `understand::registry` turns those into its types.

#[cfg(test)]
mod anchors;
pub mod beantest;
pub mod decay;
pub mod doses;
pub mod exact;
pub mod flow;
pub mod heat;
pub mod interval;
#[cfg(test)]
mod laws;
pub mod layout;
pub mod lineage;
mod lying;
pub mod odds;
pub mod odds_ratio;
pub mod outbreak;
pub mod pots;
pub mod power;
pub mod proportion;
pub mod reach;
pub mod residue;
pub mod rivals;
mod root;
pub mod trial;
pub mod two_sample;
