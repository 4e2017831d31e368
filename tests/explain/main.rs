//! Explanations on a lending library: findings merged, allowed and folded, actions, proofs as sentences.
//!
//! Comes in: a diary of loans and a few rules. Goes out: what is said, and how it looks.

#![allow(clippy::expect_used)]

mod answers;
mod findings;
mod scene;
mod trace;
#[allow(dead_code)]
#[path = "../engine/world.rs"]
mod world;
