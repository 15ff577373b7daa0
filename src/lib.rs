//! Verifies the safety-interlock logic of a plant.

pub mod engine;
pub mod exact;
pub mod problem;
pub mod source;
pub mod syntax;
pub mod unit;
