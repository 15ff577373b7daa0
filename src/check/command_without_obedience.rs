//! An actuator is commanded, and another of its drivers keeps it where it is.
//!
//! # What it checks
//! For every actuator with more than one driver: where causes command one position of it and no other, it goes
//! there.
//!
//! # Why it matters
//! Two controllers on one contactor in parallel: the one opens, the other still holds it closed. On paper both
//! trips act.
//!
//! # How it is decided
//! No situation without faults in which exactly one position is demanded over the drivers of the actuator and it is
//! not at that position.
//!
//! # What it does not see
//! What a faulty driver does: that is the hazards' claims.
//!
//! # Example
//! The safety controller withholds energy, and the automation controller, wired in parallel, goes on giving it.
//!
//! # How to resolve
//! Where the command is dangerous, or another finding names it (forbidden, opposed), take it away. Otherwise wire the
//! drivers so that the trip position wins (in series where the trip withholds energy), or give the other driver the
//! command too.
//!
//! # References
//! IEC 60204-1 on several control stations: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::Obeyed(actuator), Some(witness)) = (single.subject, single.decided.witness()) else {
            continue;
        };
        let element = &model.actuators[actuator];
        let mut finding = about_element(
            model,
            Check::CommandWithoutObedience,
            Severity::Serious,
            Element::Actuator(actuator),
            element.name.span,
        );
        finding.sentence = format!(
            "{} can be commanded to one position and stay in another, with everything working: the wiring of its \
             drivers does not give what the command asks.",
            element.name.tag
        );
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
