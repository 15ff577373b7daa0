//! Verifies the safety-interlock logic of a plant.

pub mod claim;
pub mod engine;
pub mod exact;
pub mod model;
pub mod problem;
pub mod semantics;
pub mod situation;
pub mod source;
pub mod syntax;
pub mod term;
pub mod unit;
