//! Stories as they are read: one small drying cell, one situation for each kind of part that can misbehave and for
//! each kind of claim. Every situation is confirmed by the simulator before its story is compared.
//!
//! The sentences follow common practice for replaying a case in the plant; no source.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod bench;
mod broken;
mod credited;
mod ends;
mod faults;
mod words;
