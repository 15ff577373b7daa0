//! The document exactly as written: YAML with places, the types of the language, the expressions.

pub mod document;
pub mod expr;
pub mod kind;
pub mod leaf;
