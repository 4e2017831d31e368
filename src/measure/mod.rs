//! Numbers, units, dates and the values made of them.
//!
//! Comes in: text of a number, an amount or a date. Goes out: exact, comparable values, and the same
//! values as words in the units the farm writes. It knows no lots, beds or rules.

pub mod compute;
pub mod date;
pub mod dimension;
pub mod display;
pub mod number;
pub mod unit;
pub mod value;
