//! The resolved elements of a plant and of its protection. One struct per kind; every reference is an id.
//!
//! Numbers are in the base unit of their kind (see `unit`). What an element means is said in `docs/meaning.md`.

mod calculation;
mod input;
mod logic;
mod output;
mod plant;
mod protection;

pub use calculation::*;
pub use input::*;
pub use logic::*;
pub use output::*;
pub use plant::*;
pub use protection::*;
