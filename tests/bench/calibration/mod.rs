//! The simulator: farms with a known cause, diaries of them, and how haulm's ranking stands to the truth.

pub mod diary;
pub mod dice;
pub mod figures;
pub mod grower;
pub mod habits;
pub mod harm;
mod living;
pub mod looks;
pub mod season;
pub mod settle;
pub mod trial;
pub mod verdict;
pub mod words;
pub mod world;
