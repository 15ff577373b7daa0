//! The cases, by what they are about.

mod commands;
mod covered;
mod ends;
mod energy;
mod groups;
mod overrides;
mod people;
mod structure;
mod time;
