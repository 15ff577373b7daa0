//! What the tests of verdicts share: small models, their results, and a search through the simulator alone.

// Each test uses its own part of this.
#![allow(dead_code)]

pub mod enumerate;
pub mod examined;
pub mod text;
pub mod touched;
