//! One actuator is commanded to two positions at once, and nothing says which wins.
//!
//! # What it checks
//! For every actuator that causes demand in different positions: no situation without faults in which both are
//! demanded, unless a winner is declared that the wiring can give.
//!
//! # Why it matters
//! Gas wants the damper open, fire wants it closed. What happens when both are true must be decided at the desk, not
//! by the order of two lines in a program.
//!
//! # How it is decided
//! Exists a situation, fault-free, latches in any state, in which two positions of the actuator are demanded over its
//! drivers, and no winner is declared.
//!
//! # What it does not see
//! Whether the declared winner is the right one: what the loser's hazard loses shows in the hazard's own claims.
//! What a faulty solver does is not a command.
//!
//! # Example
//! C-GAS opens the exhaust damper, C-FIRE closes it, both from one controller.
//!
//! # How to resolve
//! Take one demand away, or declare the `winner` and look at what the losing hazard then has left.
//!
//! # References
//! IEC 62881 (cause and effect), IEC 60204-1 on priorities: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, words};
use crate::assess::{Decided, Subject};
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::{ActuatorId, CauseId, Element, Model};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::NotOpposed(actuator), Some(witness)) = (single.subject, single.decided.witness())
        else {
            continue;
        };
        let element = &model.actuators[actuator];
        let mut finding = about_element(
            model,
            Check::OpposingCommands,
            Severity::Serious,
            Element::Actuator(actuator),
            element.name.span,
        );
        let sides: Vec<String> = (0..element.positions.len())
            .filter_map(|position| {
                // A trip that never fires commands nothing, which another finding tells; but for its latch, if nothing
                // else commands the position.
                let all = demanding(model, actuator, position);
                let fire: Vec<CauseId> = all.iter().copied().filter(|cause| fires(seen, *cause)).collect();
                let causes = if fire.is_empty() { all } else { fire };
                let tags: Vec<String> =
                    causes.iter().map(|cause| model.causes[*cause].name.tag.clone()).collect();
                let position = element.positions.get(position)?;
                (!tags.is_empty()).then(|| format!("`{position}` by {}", words::alternatives(&tags)))
            })
            .collect();
        finding.sentence = format!(
            "{} can be commanded to {} at once, and no winner is declared.",
            element.name.tag,
            sides.join(" and to ")
        );
        let causes: BTreeSet<CauseId> =
            (0..element.positions.len()).flat_map(|position| demanding(model, actuator, position)).collect();
        finding.also =
            causes.iter().map(|cause| (model.causes[*cause].name.span, "commands it".to_string())).collect();
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}

fn fires(seen: &Seen<'_>, cause: CauseId) -> bool {
    !seen.assessment.singles.iter().any(|single| {
        single.subject == Subject::CanFire(cause) && matches!(single.decided, Decided::Never(_))
    })
}

fn demanding(model: &Model, actuator: ActuatorId, position: usize) -> Vec<CauseId> {
    let sets = |cause: CauseId| {
        model.causes[cause]
            .demands
            .iter()
            .any(|effect| model.effects[*effect].set.contains(&(actuator, position)))
    };
    model.causes.ids().filter(|cause| sets(*cause)).collect()
}
