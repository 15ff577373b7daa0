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
//! Damage that is certain weighs nothing: where it is enough by itself, no fault is tolerated, and the report says so.
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
use crate::assess::{Decided, HazardInMode, Numbers, Witness};
use crate::explain;
use crate::finding::Finding;
use crate::model::{Model, Party, Source};
use crate::outcome::Tolerance;
use crate::situation::FactChoice;
use crate::source::Span;

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
        if examined.unaided.is_broken() || only_with_initiator {
            // Told as not covered, or as an initiator that protects.
            continue;
        }
        if numbers.tolerance == Tolerance::None {
            // An initiator that protects is told as that.
            if examined.alone.as_ref().is_some_and(|alone| alone.tolerance != Tolerance::None) {
                continue;
            }
            let mut finding =
                about_hazard(model, Check::FaultDefeatsProtection, examined.hazard, examined.mode);
            without_a_fault(model, examined, witness, &mut finding);
            finding.witness = Some(explain::story(model, witness));
            found.push(finding);
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

/// Where nothing has to be faulty: what the hazard surely damages, or what starts it, is enough by itself. Names the groups
/// that misbehave in the situation that is told.
pub(super) fn without_a_fault(
    model: &Model,
    examined: &HazardInMode,
    witness: &Witness,
    finding: &mut Finding,
) {
    let hazard = &model.hazards[examined.hazard];
    let shown = |choice: FactChoice| witness.situation.fact(choice);
    let named = |groups: &[(usize, &Party)]| -> Vec<String> {
        let members = groups.iter().flat_map(|(_, party)| &party.members);
        members.map(|member| model.source_tag(*member)).collect()
    };
    let damaged: Vec<(usize, &Party)> = hazard
        .damages
        .iter()
        .enumerate()
        .filter(|_| hazard.damage_certain)
        .filter(|(number, _)| shown(FactChoice::Misbehaves(Source::Damage(examined.hazard, *number))))
        .collect();
    let started: Vec<(usize, &Party)> = hazard
        .initiators
        .iter()
        .enumerate()
        .filter(|(number, _)| shown(FactChoice::Initiator(examined.hazard, *number)))
        .collect();
    let (damage, start) = (named(&damaged), named(&started));
    let enough = match (start.is_empty(), damage.is_empty()) {
        (true, true) => String::new(),
        (true, false) => format!(": what the hazard is sure to damage ({}) is enough", words::list(&damage)),
        (false, true) => format!(": what may start the hazard ({}) is enough", words::list(&start)),
        (false, false) => format!(
            ": what may start the hazard ({}) and what it is sure to damage ({}) are enough",
            words::list(&start),
            words::list(&damage)
        ),
    };
    let mut elements: Vec<String> = damage.into_iter().chain(start).collect();
    elements.sort();
    elements.dedup();
    if !elements.is_empty() {
        finding.elements = elements;
    }
    let places = |groups: Vec<(usize, &Party)>, what: &str| -> Vec<(Span, String)> {
        groups.into_iter().map(|(_, party)| (party.name.span, what.to_string())).collect()
    };
    finding.also = places(damaged, "what it is sure to damage");
    finding.also.extend(places(started, "the initiator"));
    let must = match hazard.required.fault_tolerance {
        0 => String::new(),
        required => format!("; {} must be tolerated besides", words::faults(required)),
    };
    finding.sentence = format!(
        "{} is kept from its safe state `{}` with nothing else broken{enough}{must}.",
        hazard.name.tag, hazard.safe_text
    );
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
