//! Calculated values through the real reader: against figures from outside the project, and what a model makes of them.
//!
//! Beside each check stands its source and how the value is known: *memory*, *calc* (recomputed from the formula),
//! *common practice, no source*, or *invented* for the demo. Nothing was looked up in the publications themselves.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "calculations/fields.rs"]
mod fields;
#[path = "calculations/figures.rs"]
mod figures;
#[path = "calculations/problems.rs"]
mod problems;
#[path = "calculations/report.rs"]
mod report;
#[path = "support/support.rs"]
mod support;

use support::text::model;
use tripproof::load::load;
use tripproof::model::{Calculation, Model};
use tripproof::problem::Problem;
use tripproof::source::Source;

/// A plant around a section of calculations: an actuator K1 that moves in `moves_in`, a hazard that leaves `within`.
pub fn plant(calculations: &str, moves_in: &str, within: &str) -> String {
    model(&[
        "logic_solvers: { C1: { reaction: 0 s } }",
        "sensors: { S1: { detects: fire, response: 0 s, wired_to: [C1] } }",
        &format!("actuators: {{ K1: {{ $CONTACTOR, drivers: [C1], moves_in: {moves_in} }} }}"),
        "effects: { OFF: { set: [K1 = open] } }",
        "causes: { C-1: { when: S1, solver: C1, latched: false, credited_for: [H], demands: [OFF] } }",
        &format!("hazards: {{ H: {{ when: fire, $HERE, safe_state: K1 = open, within: {within} }} }}"),
        calculations,
    ])
}

/// A section with one calculation `X` that only the report shows.
pub fn shown(formula: &str) -> String {
    format!("calculations:\n  X: {{ title: a value, owner: test engineer, used_for: a test, {formula} }}\n")
}

/// The model of a text.
pub fn loaded(text: &str) -> Model {
    load(&Source::new("model.yaml", text)).unwrap_or_else(|problems| panic!("{problems:#?}\n{text}"))
}

/// What is wrong with a text.
pub fn refused(text: &str) -> Vec<Problem> {
    load(&Source::new("model.yaml", text)).err().unwrap_or_default()
}

/// The calculation `X` with this formula.
pub fn calculation(formula: &str) -> Calculation {
    loaded(&plant(&shown(formula), "1 s", "5 s"))
        .calculations
        .into_iter()
        .find(|x| x.name.tag == "X")
        .unwrap()
}
