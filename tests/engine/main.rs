//! The engine on worlds that have nothing to do with farming: families, lending libraries, roads.
//!
//! Comes in: small programs written as sentences. Goes out: what holds, proofs, replay, why-not, and laws
//! checked on random programs against a second, naive implementation.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod checks;
mod circles;
mod families;
mod laws;
mod library;
mod naive;
mod whynot;
mod world;
