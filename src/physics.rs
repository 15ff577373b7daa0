//! The mathematics of the calculated values: a few formulas of physics, exact where they are rational, and between
//! two proved bounds where they are not.
//!
//! Numbers only, in coherent units: it knows neither units nor tags nor what a value is used for. Whoever uses a
//! result takes the bound on the safe side. What each formula leaves out stands in `docs/calculations.md`.

mod bounds;
mod curtain;
mod formulas;
mod series;

#[cfg(test)]
mod tests;

pub use bounds::Bounds;
pub use curtain::Curtain;
pub use formulas::*;
pub use series::{exp_of_negative, ln, pi};
