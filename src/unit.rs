//! Units and quantities.

/// Kind of a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind;

/// A unit.
#[derive(Debug, PartialEq, Eq)]
pub struct Unit;
