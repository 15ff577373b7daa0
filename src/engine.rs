//! The engines that decide claims, and the one home of the libraries that do the deciding.
//!
//! Responsible for turning questions into answers. Knows no check, no report and no model element.

pub mod session;
