//! A hazard for which the model gives no time.
//!
//! # What it checks
//! Every hazard says in which time its safe state must be reached: `within`, or `harm_after_set_point`.
//!
//! # Why it matters
//! Without it nobody knows whether a trip is quick enough, and the results hold only as long as it takes.
//!
//! # How it is decided
//! Read off the model: neither `within` nor `harm_after_set_point` has a value. Its claims about time do not arise.
//!
//! # What it does not see
//! Whether the time is right.
//!
//! # Example
//! A hazard without `within`.
//!
//! # How to resolve
//! State the time with `within` (0 s is a good answer where a limit and a rate are known: the trips then have their head
//! start only), or write `harm_after_set_point`.
//!
//! # References
//! IEC 61511-1 on process safety time: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::assess::time::has_time;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, hazard) in model.hazards.iter().filter(|(id, _)| !has_time(model, *id)) {
        let mut finding = about_element(
            model,
            Check::HazardWithoutTime,
            Severity::Note,
            Element::Hazard(id),
            hazard.name.span,
        );
        finding.sentence = format!(
            "The model gives no time for {}, so nothing was examined of whether its trips are quick enough.",
            hazard.name.tag
        );
        found.push(finding);
    }
    found
}
