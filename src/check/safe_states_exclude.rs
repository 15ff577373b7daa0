//! Hazards that can be present together need positions that exclude each other.
//!
//! # What it checks
//! For all hazards that can be present together: one set of positions satisfies all their safe states, and none of
//! them forbids it.
//!
//! # Why it matters
//! Gas wants the damper open, fire wants it closed. If both can be there, no logic can be right.
//!
//! # How it is decided
//! Every least set of hazards whose safe states and forbidden positions cannot be satisfied at once is sought, and
//! for each a situation, fault-free, in which all of them are present. Hazards that are declared never to be
//! present together are left out.
//!
//! # What it does not see
//! Whether the logic reaches the common positions: that is each hazard's own claim.
//!
//! # Example
//! H-FIRE needs the damper closed, H-GAS needs it open, and nothing says that they cannot coincide.
//!
//! # How to resolve
//! Choose safe states that agree, add an alternative to one of them, or say with `never_together` that and why they
//! cannot coincide.
//!
//! # References
//! ISO 12100 on combined hazards: recalled, not verified.

use super::{Check, Seen, about_element, words};
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for incompatible in &seen.assessment.incompatible {
        let Some(first) = incompatible.hazards.first().copied() else { continue };
        let element = &model.hazards[first];
        let mut finding = about_element(
            model,
            Check::SafeStatesExclude,
            Severity::Serious,
            Element::Hazard(first),
            element.safe_span,
        );
        let tags: Vec<String> =
            incompatible.hazards.iter().map(|hazard| model.hazards[*hazard].name.tag.clone()).collect();
        finding.elements = tags.clone();
        finding.sentence = format!(
            "{} can be present together, and no set of positions is right for {}.",
            words::list(&tags),
            if tags.len() == 2 { "both" } else { "all of them" }
        );
        let others = incompatible.hazards.iter().skip(1);
        finding.also = others
            .map(|hazard| (model.hazards[*hazard].safe_span, "excludes the other safe state".to_string()))
            .collect();
        finding.witness = Some(explain::story(model, &incompatible.witness));
        found.push(finding);
    }
    found
}
