//! Units and quantities.
