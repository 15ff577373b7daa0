//! One small model, what it becomes, and what each small mistake in it causes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod built;
mod edits;
mod whole;

use crate::load::load;
use crate::model::Model;
use crate::problem::Problem;
use crate::source::Source;

const CELL: &str = include_str!("tests/cell.yaml");

fn cell() -> Model {
    let source = Source::new("cell.yaml", CELL);
    load(&source).unwrap_or_else(|problems| panic!("{}", shown(&source, &problems)))
}

/// Problems as `code @ marked text`, one per line.
fn shown(source: &Source, problems: &[Problem]) -> String {
    let line = |p: &Problem| format!("{} @ {}", p.code, source.slice(p.span));
    problems.iter().map(line).collect::<Vec<_>>().join("\n")
}
