//! Journals as people write them, and what is read from them: each line beside its reading.
//!
//! Comes in: the journals in this folder. Goes out: snapshots of entries and messages, and laws that
//! hold for any text. The rulebook that ships gives the vocabulary.

mod corpus;
mod laws;
mod messages;
mod written;
