//! All trips credited for a hazard hang on one input or on one thing that their signals go through.
//!
//! # What it checks
//! For every hazard with two or more credited trips that must tolerate a fault or have two paths: no single sensor,
//! switch, loop, stop contact or conditioner that every one of the trips needs.
//!
//! # Why it matters
//! Two trips that read one transmitter are one trip with two names. The findings about the hazards themselves are
//! listed under this one where it explains them.
//!
//! # How it is decided
//! A trip needs an input if its condition cannot become true without it: all operands of an AND, what every operand of
//! an OR needs, what more than N - M operands of a MooN need. Told is the intersection over the credited trips. It is a
//! statement about structure; whether the hazard suffers is decided by its own claims.
//!
//! # What it does not see
//! Shared supplies, routes and cabinets: they matter only in their dangerous direction, which the hazard's own claims
//! decide.
//!
//! # Example
//! Pack voltage and "cell voltage" trips both read the pack-voltage transmitter through one isolator.
//!
//! # How to resolve
//! Give one of the trips a sensor and a signal path of its own.
//!
//! # References
//! IEC 61511-1 on independence of sensors: recalled, not verified.

use std::collections::{BTreeMap, BTreeSet};

use super::{Check, Seen, about_element, words};
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, Element, HazardId, InputAtom, Model, Tree};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut sharing: BTreeMap<BTreeSet<Element>, Vec<HazardId>> = BTreeMap::new();
    for (id, hazard) in model.hazards.iter() {
        let causes = words::credited(model, id);
        if causes.len() < 2 || !words::needs_two(hazard.required) {
            continue;
        }
        let shared = causes
            .iter()
            .map(|cause| needed_by(model, *cause, &mut BTreeSet::new()))
            .reduce(|a, b| a.intersection(&b).copied().collect())
            .unwrap_or_default();
        if !shared.is_empty() {
            sharing.entry(shared).or_default().push(id);
        }
    }
    let mut found = Vec::new();
    for (shared, hazards) in sharing {
        let Some(first) = shared.first().copied() else { continue };
        let mut finding =
            about_element(model, Check::TripsShareAnInput, Severity::Warning, first, model.name(first).span);
        finding.elements = shared.iter().map(|element| model.tag(*element).to_string()).collect();
        finding.elements.sort();
        let tags: Vec<String> = hazards.iter().map(|id| model.hazards[*id].name.tag.clone()).collect();
        let causes: BTreeSet<String> = hazards
            .iter()
            .flat_map(|id| words::credited(model, *id))
            .map(|cause| model.causes[cause].name.tag.clone())
            .collect();
        finding.sentence = format!(
            "Every trip credited for {} ({}) needs {}.",
            words::list(&tags),
            causes.into_iter().collect::<Vec<_>>().join(", "),
            words::list(&finding.elements)
        );
        found.push(finding);
    }
    found
}

/// Inputs without which a cause cannot become true, and what their signals go through to its solver.
fn needed_by(model: &Model, cause: CauseId, passed: &mut BTreeSet<CauseId>) -> BTreeSet<Element> {
    // A cause in a loop of causes needs nothing more the second time.
    if !passed.insert(cause) {
        return BTreeSet::new();
    }
    let found = needed(model, cause, &model.causes[cause].when, passed);
    passed.remove(&cause);
    found
}

fn needed(
    model: &Model,
    cause: CauseId,
    tree: &Tree<InputAtom>,
    passed: &mut BTreeSet<CauseId>,
) -> BTreeSet<Element> {
    let (m, parts): (usize, &[Tree<InputAtom>]) = match tree {
        Tree::Not(part) => return needed(model, cause, part, passed),
        Tree::Atom(InputAtom::Compare { input, .. } | InputAtom::Is { input, .. }) => {
            let path = model.inputs[*input].readers.get(&model.causes[cause].solver);
            let through = path.into_iter().flat_map(|path| &path.through).map(|id| Element::Conditioner(*id));
            return through.chain([Element::Input(*input)]).collect();
        }
        Tree::Atom(InputAtom::Cause { cause: other, .. }) => return needed_by(model, *other, passed),
        Tree::Atom(
            InputAtom::Overriding(_) | InputAtom::Shows(..) | InputAtom::Bad(_) | InputAtom::LinkLost(_),
        ) => return BTreeSet::new(),
        Tree::And(parts) => (parts.len(), parts),
        Tree::Or(parts) => (1, parts),
        Tree::Vote { m, of } => (*m, of),
    };
    // What more than N - M of the operands need cannot be missing.
    let mut count: BTreeMap<Element, usize> = BTreeMap::new();
    for part in parts {
        for element in needed(model, cause, part, passed) {
            *count.entry(element).or_default() += 1;
        }
    }
    count.into_iter().filter(|(_, n)| n + m > parts.len()).map(|(element, _)| element).collect()
}
