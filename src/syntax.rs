//! The document exactly as written: YAML with places, the types of the language, the expressions.

pub mod agree;
pub mod decode;
pub mod document;
pub mod expr;
pub mod gather;
pub mod kind;
pub mod leaf;
pub mod node;
pub mod yaml;
