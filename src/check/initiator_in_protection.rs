//! What starts the hazard is needed to stop it.
//!
//! # What it checks
//! With any one of the hazard's initiator groups misbehaving, the protection still meets the required disjoint paths
//! and fault tolerance.
//!
//! # Why it matters
//! A power station whose controller overcharges the pack cannot be trusted to open its own contactor. A protection
//! that leans on the initiator is missing exactly when it is needed.
//!
//! # How it is decided
//! The two numbers DP and FT are computed twice: with one initiator group free to misbehave at no cost in faults, and
//! with none. Refuted if the first falls short of what is required and the second does not, or is better.
//!
//! # What it does not see
//! Initiators that the hazard does not declare.
//!
//! # Example
//! The only stop for an over-charge is the station's own output, and the hazard names the station as its initiator.
//!
//! # How to resolve
//! Let a part that is not in the initiator group act, and credit the group's own action with nothing.
//!
//! # References
//! IEC 61511-1 on independence of the protection from the process control: recalled, not verified.

use super::{Check, Seen, about_hazard, words};
use crate::explain;
use crate::finding::Finding;
use crate::outcome::{Paths, Tolerance};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for examined in &seen.assessment.hazards {
        let (Some(with), Some(alone)) = (&examined.numbers, &examined.alone) else { continue };
        let worse = with.tolerance != alone.tolerance || with.paths != alone.paths;
        let Some(witness) = examined.initiator.witness() else { continue };
        if !worse || examined.unaided.is_broken() {
            continue;
        }
        let hazard = &model.hazards[examined.hazard];
        let members: Vec<String> = hazard
            .initiators
            .iter()
            .flat_map(|party| &party.members)
            .map(|member| model.source_tag(*member))
            .collect();
        let mut finding = about_hazard(model, Check::InitiatorInProtection, examined.hazard, examined.mode);
        finding.elements = members.clone();
        finding.sentence = format!(
            "{} may be started by {}, and while that misbehaves it has {} and {}; otherwise {} and {}.",
            hazard.name.tag,
            words::list(&members),
            paths(with.paths),
            tolerance(with.tolerance),
            paths(alone.paths),
            tolerance(alone.tolerance),
        );
        finding.also =
            hazard.initiators.iter().map(|party| (party.name.span, "the initiator".to_string())).collect();
        finding.lowest = with.cuts.clone();
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}

fn paths(paths: Paths) -> String {
    match paths {
        Paths::Exactly(0) => "no trip path".to_string(),
        Paths::Exactly(1) => "one disjoint trip path".to_string(),
        Paths::Exactly(n) => format!("{n} disjoint trip paths"),
        Paths::Unlimited => "nothing that can fail".to_string(),
    }
}

fn tolerance(tolerance: Tolerance) -> String {
    match tolerance {
        Tolerance::None => "no fault tolerance at all".to_string(),
        Tolerance::Exactly(n) => format!("fault tolerance {n}"),
        Tolerance::AtLeast(n) => format!("fault tolerance {n} or more"),
    }
}
