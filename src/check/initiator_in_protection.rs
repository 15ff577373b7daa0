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
use crate::assess::Numbers;
use crate::explain;
use crate::finding::Finding;
use crate::model::Party;
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
        let tags = |party: &Party| -> Vec<String> {
            party.members.iter().map(|member| model.source_tag(*member)).collect()
        };
        let groups: Vec<String> = hazard.initiators.iter().map(|party| words::list(&tags(party))).collect();
        let mut finding = about_hazard(model, Check::InitiatorInProtection, examined.hazard, examined.mode);
        finding.elements = hazard.initiators.iter().flat_map(tags).collect();
        finding.sentence = format!(
            "{} may be started by {}. While a declared initiator misbehaves, {}; with every initiator working, {}.",
            hazard.name.tag,
            groups.join(" or by "),
            figures(with, hazard.damage_certain),
            figures(alone, hazard.damage_certain),
        );
        finding.also =
            hazard.initiators.iter().map(|party| (party.name.span, "the initiator".to_string())).collect();
        finding.lowest = with.cuts.clone();
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}

/// The two numbers in words.
fn figures(numbers: &Numbers, damages: bool) -> String {
    let paths = match numbers.paths {
        _ if numbers.tolerance == Tolerance::None => {
            let but = if damages { "all that the hazard does not damage" } else { "everything else" };
            return format!("the safe state is not reached even with {but} working");
        }
        Paths::Exactly(1) => "there is only one trip path".to_string(),
        Paths::Exactly(n) => format!("there are {n} disjoint trip paths"),
        Paths::Unlimited => "nothing that can fail defeats the protection".to_string(),
    };
    match numbers.tolerance {
        Tolerance::None | Tolerance::Exactly(0) => format!("{paths} and no fault is tolerated"),
        Tolerance::Exactly(1) => format!("{paths} and any one fault is tolerated"),
        Tolerance::Exactly(n) => format!("{paths} and any {n} faults are tolerated"),
        Tolerance::AtLeast(n) => format!("{paths} and any {n} faults or more are tolerated"),
    }
}
