//! Verifies the safety-interlock logic of a plant.

pub mod claim;
pub mod exact;
pub mod model;
pub mod problem;
pub mod replay;
pub mod situation;
pub mod source;
pub mod syntax;
pub mod unit;
