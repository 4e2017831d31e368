//! The rule language on a lending library: what each construct compiles to, and what is said of every
//! slip an author of a page can make, with the page beside the message.

mod constructs;
mod faults;
mod laws;
mod own;
mod world;
