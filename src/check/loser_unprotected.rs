//! Where two commands oppose each other, the hazard of the one that loses is not met.
//!
//! # What it checks
//! For every hazard whose safe state names an actuator that is commanded to two positions: the hazard is met in
//! every situation in which both commands are given.
//!
//! # Why it matters
//! Declaring a winner settles the conflict on paper. What the loser's hazard has left then must be looked at.
//!
//! # How it is decided
//! No situation without faults, latches in any state, in which the hazard is present, the actuator is commanded
//! both ways, and the safe state is not reached.
//!
//! # What it does not see
//! Which of the two hazards is the worse one.
//!
//! # Example
//! Fire closes both exhaust dampers and wins; the gas hazard has no path left.
//!
//! # How to resolve
//! Let the other command win, leave one of the paths out of the conflict, or give the losing hazard another path.
//!
//! # References
//! ISO 12100 on combined hazards: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::assess::Subject;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::LoserMet(hazard, actuator), Some(witness)) = (single.subject, single.decided.witness())
        else {
            continue;
        };
        let element = &model.actuators[actuator];
        let mut finding = about_element(
            model,
            Check::LoserUnprotected,
            Severity::Serious,
            Element::Actuator(actuator),
            element.name.span,
        );
        finding.hazard = Some(hazard);
        let ends = match element.winner.and_then(|winner| element.positions.get(winner)) {
            Some(winner) => format!("`{winner}` wins, and"),
            None => "nothing says which wins, and".to_string(),
        };
        finding.sentence = format!(
            "When {} is commanded both ways, {ends} {} does not reach its safe state.",
            element.name.tag, model.hazards[hazard].name.tag
        );
        finding.also = vec![(model.hazards[hazard].safe_span, "the safe state that is lost".to_string())];
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
