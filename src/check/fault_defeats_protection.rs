//! Fewer faults than the policy allows for keep a hazard from its safe state.
//!
//! # What it checks
//! The hazard is brought to its safe state whatever k sources do wrong, k being the required fault tolerance.
//!
//! # Why it matters
//! One dead sensor, one stuck relay or one lost supply must not be enough to leave people without protection.
//!
//! # How it is decided
//! unsafe(F): some situation of the hazard, with the faults F and at most one initiator group, in which the safe
//! state is not reached. A cut set is an F with unsafe(F). FT = (weight of the lightest cut set) − 1. Refuted if
//! FT < k. All minimal cut sets with at most two sources are listed. A solver whose certificate gives tolerance n weighs n + 1.
//!
//! # What it does not see
//! How likely a fault is. Faults that a fault exclusion or the policy leaves out: the report lists them.
//!
//! # Example
//! Two gas heads on two controllers open two contactors, but both heads hang on one isolator: a fault of that
//! isolator alone blinds both.
//!
//! # How to resolve
//! Give the second trip a part of its own in place of the one that is named, or show by a fault exclusion, with its
//! reason and owner, why that part cannot fail this way.
//!
//! Where fewer than two credited trips command the safe state: give a trip that is credited and lacks its mark that
//! mark, or add a second trip that shares none of the parts named. Or show by a fault exclusion, with its reason and
//! owner, why such a part cannot fail this way.
//!
//! # References
//! IEC 61508-4 (hardware fault tolerance), ISO 13849-1 (categories 3 and 4): recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_hazard, words};
use crate::assess::{Decided, HazardInMode, Numbers};
use crate::explain;
use crate::finding::Finding;
use crate::model::{Model, Source};
use crate::outcome::Tolerance;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for examined in &seen.assessment.hazards {
        let (Some(witness), Some(numbers)) = (examined.tolerance.witness(), &examined.numbers) else {
            continue;
        };
        let hazard = &model.hazards[examined.hazard];
        let required = hazard.required.fault_tolerance;
        let only_with_initiator =
            examined.alone.as_ref().is_some_and(|alone| alone.tolerance.reaches(required));
        if numbers.tolerance == Tolerance::None || only_with_initiator {
            // Told as not covered, or as an initiator that protects.
            continue;
        }
        let lowest = lowest(numbers);
        let mut finding = about_hazard(model, Check::FaultDefeatsProtection, examined.hazard, examined.mode);
        let sources: BTreeSet<Source> = lowest.iter().flatten().copied().collect();
        finding.elements = words::tags(model, &sources);
        finding.sentence = sentence(model, &hazard.name.tag, &hazard.safe_text, required, &lowest);
        finding.also = sources.iter().filter_map(|source| words::place(model, *source)).collect();
        finding.each = each(seen, examined, &lowest);
        finding.lowest = lowest;
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}

/// The minimal cut sets of least weight.
pub(super) fn lowest(numbers: &Numbers) -> Vec<BTreeSet<Source>> {
    match &numbers.lightest {
        None => Vec::new(),
        Some(lightest) => {
            let size = lightest.len();
            let mut same: Vec<BTreeSet<Source>> =
                numbers.cuts.iter().filter(|cut| cut.len() == size).cloned().collect();
            if !same.contains(lightest) {
                same = vec![lightest.clone()];
            }
            same
        }
    }
}

/// Where several single faults are each enough: for each, what it does, from a confirmed situation where there is one.
pub(super) fn each(seen: &Seen<'_>, examined: &HazardInMode, lowest: &[BTreeSet<Source>]) -> Vec<String> {
    let model = seen.model;
    let singles: BTreeSet<Source> = lowest.iter().filter(|cut| cut.len() == 1).flatten().copied().collect();
    if singles.len() < 2 || lowest.iter().any(|cut| cut.len() > 1) {
        return Vec::new();
    }
    let same = seen.assessment.hazards.iter().filter(|other| other.hazard == examined.hazard);
    let decided = same.flat_map(|other| [&other.tolerance, &other.disjoint, &other.initiator]);
    let told = decided.filter_map(Decided::witness).chain(&examined.each);
    let shown: Vec<(Vec<String>, Vec<String>)> =
        told.map(|witness| explain::faults(model, witness)).collect();
    let mut all: Vec<(String, String)> = singles
        .into_iter()
        .map(|source| {
            let tag = model.source_tag(source);
            let confirmed = shown.iter().find(|(faults, _)| *faults == [tag.clone()]);
            let line = match confirmed {
                Some((_, lines)) => lines.join(" "),
                None => explain::part(model, examined.hazard, source),
            };
            (tag, line)
        })
        .collect();
    all.sort();
    all.into_iter().map(|(_, line)| line).collect()
}

fn sentence(model: &Model, hazard: &str, safe: &str, required: u32, lowest: &[BTreeSet<Source>]) -> String {
    let tolerated = words::faults(required);
    let end = format!("{hazard} from its safe state `{safe}`");
    if lowest.iter().all(|cut| cut.len() == 1) {
        let sources: BTreeSet<Source> = lowest.iter().flatten().copied().collect();
        let alone = if sources.len() == 1 { " alone" } else { "" };
        let any = words::capital(&words::any_fault(model, &sources));
        return format!("{any}{alone} can keep {end}; {tolerated} must be tolerated.");
    }
    match words::cuts(model, lowest).as_slice() {
        [one] => format!("Faults together of {one} can keep {end}; {tolerated} must be tolerated."),
        many => format!(
            "Faults together, of {}, can keep {end}; {tolerated} must be tolerated.",
            words::alternatives(many)
        ),
    }
}
