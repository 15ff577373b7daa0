//! A command that another cause always gives as well.
//!
//! # What it checks
//! For every position that a cause commands: in some situation with at most one fault this cause is true by itself, and no
//! other cause commands that position.
//!
//! # Why it matters
//! A mark that never matters is either a slip (the wrong row of the matrix) or a protection that is counted twice.
//!
//! # How it is decided
//! Exists a situation, without a fault or with any one, in which the cause is true, by its condition or its latch, and every other cause that
//! demands the position is false, its latch included.
//!
//! # What it does not see
//! Marks that matter only with two faults or more.
//!
//! # Example
//! Two rows of the matrix with the same condition by oversight: each of them without influence.
//!
//! # How to resolve
//! Take the mark away, or correct the condition of one of the causes.
//!
//! # References
//! Our definition; common practice, no source.

use super::{Check, Seen, about_element, words};
use crate::assess::{Decided, Subject};
use crate::finding::{Finding, Severity};
use crate::model::{Element, Model};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found: Vec<Finding> = Vec::new();
    for id in model.causes.ids() {
        let marks: Vec<String> = seen
            .assessment
            .singles
            .iter()
            .filter_map(|single| match (single.subject, &single.decided) {
                (Subject::MarkMatters(cause, at), Decided::Never(_)) if cause == id => Some(to(model, at)),
                _ => None,
            })
            .collect();
        if marks.is_empty() {
            continue;
        }
        let element = &model.causes[id];
        let mut finding = about_element(
            model,
            Check::MarkWithoutInfluence,
            Severity::Note,
            Element::Cause(id),
            element.name.span,
        );
        finding.sentence = format!(
            "Whenever {} commands {}, another cause commands it too.",
            element.name.tag,
            words::list(&marks)
        );
        found.push(finding);
    }
    found
}

fn to(model: &Model, at: crate::model::AtPosition) -> String {
    let device = model.tag(model.device_element(at.device));
    let position = model.device_positions(at.device).get(at.position).map_or("", String::as_str);
    format!("{device} to {position}")
}
