//! Verifies the safety-interlock logic of a plant.

pub mod analysis;
pub mod assess;
pub mod check;
pub mod claim;
pub mod conclude;
pub mod engine;
pub mod exact;
pub mod explain;
pub mod finding;
pub mod graph;
pub mod load;
pub mod model;
pub mod outcome;
pub mod problem;
pub mod replay;
pub mod semantics;
pub mod situation;
pub mod source;
pub mod syntax;
pub mod term;
pub mod unit;
pub mod witness;
