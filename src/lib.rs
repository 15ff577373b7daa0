//! Verifies the safety-interlock logic of a plant.

pub mod claim;
pub mod exact;
pub mod graph;
pub mod load;
pub mod model;
pub mod problem;
pub mod situation;
pub mod source;
pub mod syntax;
pub mod unit;
