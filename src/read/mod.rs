//! The texts of a farm, from the disk or from standard input.
//!
//! Comes in: a path as it was typed. Goes out: journal texts and rule pages with their names, and one
//! diagnostic for each file that cannot be read. Nothing is parsed here and nothing is ever written.

mod built_in;
mod farm;
mod file;
#[cfg(test)]
mod tests;
mod walk;

pub use built_in::built_in_pages;
pub use farm::{Farm, LeftOut, Reading};
pub use file::MAX_BYTES;
pub use walk::kind_of;
