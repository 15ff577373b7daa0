//! The hall of models/hall-k.yaml against the description that it was written from, and its flawed twin against the
//! list of what was planted in it.
//!
//! The description was made before the tool and without it: its lists, its matrix, its table and its planted errors are
//! written out here as data. All of it is invented, so it has no published source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "hall_k/alone.rs"]
mod alone;
#[path = "hall_k/hall.rs"]
mod hall;
#[path = "hall_k/hunks.rs"]
mod hunks;
#[path = "hall_k/lists.rs"]
mod lists;
#[path = "hall_k/matrix.rs"]
mod matrix;
#[path = "hall_k/planted.rs"]
mod planted;
#[path = "hall_k/times.rs"]
mod times;
#[path = "hall_k/verdicts.rs"]
mod verdicts;
