//! The engines that decide claims, and the one home of the Z3 library.

pub mod session;
