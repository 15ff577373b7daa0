//! What the tests of verdicts share: small models, their results, and a search through the simulator alone.

pub mod enumerate;
pub mod examined;
pub mod text;
pub mod touched;
