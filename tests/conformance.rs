//! The conformance cases: small models whose verdicts are fixed, so that one misreading of the meaning cannot hide in
//! the engine and the simulator at once.
//!
//! Source of the expected values: worked out by hand from the definitions in `docs/meaning.md`; no published source.
//! Every refutation is replayed by the simulator while a model is assessed. Where it says `confirm`, the cut sets are
//! also found by walking all situations through the simulator alone.
//! Notation: `2/1` is two disjoint paths and fault tolerance 1.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "conformance/cases.rs"]
mod conformance;
#[path = "support/support.rs"]
mod support;
