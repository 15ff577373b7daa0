//! Fewer faults than the policy allows for keep a hazard from its safe state until it is too late.
//!
//! # What it checks
//! The hazard is brought to its safe state in the time that it leaves, whatever k sources do wrong, k being the required
//! fault tolerance.
//!
//! # Why it matters
//! The second path is there for the case that the first one fails. If it is too slow, it is not there.
//!
//! # How it is decided
//! As `fault-defeats-protection`, where only what is true in time counts. Told only where the fault is tolerated as long as
//! it takes.
//!
//! # What it does not see
//! As `hazard-not-met-in-time`. Faults that only make something slower: a sensor that fails shows any reading at once.
//!
//! # Example
//! Two gas heads: one on the wall, one in a sampling panel with 45 s of tube. If the first one fails, the second one
//! trips after the gas has become toxic.
//!
//! # How to resolve
//! Make the slow path quicker: the report says by how much it is late. Or earn time: a lower set point, a slower release.
//!
//! # References
//! IEC 61511-1 on response time against process safety time: recalled, not verified.

use std::collections::BTreeSet;

use super::fault_defeats_protection::{each, lowest, without_a_fault};
use super::{Check, Seen, about_hazard, words};
use crate::assess::{HazardInMode, Witness};
use crate::explain;
use crate::finding::Finding;
use crate::model::{Model, Source};
use crate::outcome::Tolerance;
use crate::situation::FactChoice;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (ever, own) in words::timed(seen) {
        let (Some(witness), None) = (own.tolerance.witness(), ever.tolerance.witness()) else { continue };
        if own.unaided.is_broken() {
            // Told as not met in time at all.
            continue;
        }
        let Some(numbers) = &own.numbers else {
            // How many faults it takes depends on times that are unknown; that these are enough does not.
            found.push(late_by(model, Check::FaultMakesProtectionLate, own, witness));
            continue;
        };
        let hazard = &model.hazards[own.hazard];
        if numbers.tolerance == Tolerance::None {
            found.push(late_without_a_fault(model, Check::FaultMakesProtectionLate, own, witness));
            continue;
        }
        let lowest = lowest(numbers);
        let sources: BTreeSet<Source> = lowest.iter().flatten().copied().collect();
        let mut finding = about_hazard(model, Check::FaultMakesProtectionLate, own.hazard, own.mode);
        finding.elements = words::tags(model, &sources);
        let required = words::faults(hazard.required.fault_tolerance);
        let end = format!(
            "keep {} from its safe state `{}` until it is too late; {required} must be tolerated",
            hazard.name.tag, hazard.safe_text
        );
        finding.sentence = match lowest.iter().all(|cut| cut.len() == 1) {
            true => format!("{} can {end}.", words::capital(&words::any_fault(model, &sources))),
            false => format!(
                "Faults together, of {}, can {end}.",
                words::alternatives(&words::cuts(model, &lowest))
            ),
        };
        finding.also = sources.iter().filter_map(|source| words::place(model, *source)).collect();
        finding.each = each(seen, own, &lowest);
        finding.lowest = lowest;
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}

/// Where nothing has to be faulty for the hazard to be met too late: see [`without_a_fault`].
pub(super) fn late_without_a_fault(
    model: &Model,
    check: Check,
    own: &HazardInMode,
    witness: &Witness,
) -> Finding {
    let mut finding = about_hazard(model, check, own.hazard, own.mode);
    without_a_fault(model, own, witness, &mut finding);
    finding.sentence = finding.sentence.replacen("is kept from", "is kept too long from", 1);
    finding.witness = Some(explain::story(model, witness));
    finding
}

/// Late by the faults of one situation, where it is not known which others are enough.
pub(super) fn late_by(model: &Model, check: Check, own: &HazardInMode, witness: &Witness) -> Finding {
    let (faults, _) = explain::faults(model, witness);
    if faults.is_empty() {
        return late_without_a_fault(model, check, own, witness);
    }
    let hazard = &model.hazards[own.hazard];
    let mut finding = about_hazard(model, check, own.hazard, own.mode);
    finding.sentence = format!(
        "While {} {}, {} is kept from its safe state `{}` until it is too late, whatever the times are that are not known.",
        words::list(&faults),
        if faults.len() == 1 { "misbehaves" } else { "misbehave" },
        hazard.name.tag,
        hazard.safe_text
    );
    // An initiator group has no tag of its own: its members stand for it.
    let shown = |choice| witness.situation.fact(choice);
    let groups = hazard.initiators.iter().enumerate();
    let started = groups.filter(|(number, _)| shown(FactChoice::Initiator(own.hazard, *number)));
    let mut sources: BTreeSet<Source> =
        started.flat_map(|(_, party)| party.members.iter().copied()).collect();
    let of_faults = witness.claim.faults.sources.iter();
    sources.extend(of_faults.filter(|source| shown(FactChoice::Misbehaves(**source))));
    finding.elements = words::tags(model, &sources);
    finding.witness = Some(explain::story(model, witness));
    finding
}
