//! A hazard with fewer trip paths that share nothing than the policy asks for.
//!
//! # What it checks
//! Everything that can fail can be split into n parts, each of which alone, working, brings the hazard to its safe
//! state while all the rest fails.
//!
//! # Why it matters
//! "Two independent trip paths" is a stronger promise than "tolerates one fault". A 2oo3 group tolerates one dead
//! sensor and is still one path: no two of its halves can each do without the other.
//!
//! # How it is decided
//! A path set P of the sources U has NOT unsafe(U without P). DP is the largest n such that U splits into n path
//! sets; equally, such that U can be coloured with n colours and every minimal cut set shows them all. Paths drawn
//! through a graph are never counted. Refuted if DP < n, with cut sets that no split survives; each of them has been
//! replayed.
//!
//! # What it does not see
//! Likeness of equal parts beyond the declared types, and whatever the model does not name as shared.
//!
//! # Example
//! Three gas heads 2oo3 into two controllers with a contactor each: fault tolerance 1, one disjoint path.
//!
//! # How to resolve
//! Add a trip that shares none of the elements named, or separate what is shared. If the policy means fault
//! tolerance and not separate paths, say so in `requires` of the hazard, with the reason.
//!
//! # References
//! IEC 61078 (path sets), IEC 61511-1 on independence of layers: recalled, not verified.

use std::collections::BTreeSet;

use super::{Check, Seen, about_hazard, words};
use crate::explain;
use crate::finding::Finding;
use crate::model::Source;
use crate::outcome::{Paths, Tolerance};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for examined in &seen.assessment.hazards {
        let (Some(witness), Some(numbers)) = (examined.disjoint.witness(), &examined.numbers) else {
            continue;
        };
        let Paths::Exactly(paths) = numbers.paths else { continue };
        let hazard = &model.hazards[examined.hazard];
        let required = hazard.required.disjoint_paths;
        let only_with_initiator = examined.alone.as_ref().is_some_and(|alone| alone.paths.reaches(required));
        if numbers.tolerance == Tolerance::None || only_with_initiator {
            continue;
        }
        let singles: Vec<BTreeSet<Source>> =
            numbers.cuts.iter().filter(|cut| cut.len() == 1).cloned().collect();
        let shared: BTreeSet<Source> = singles.iter().flatten().copied().collect();
        let blocking: BTreeSet<Source> = match shared.is_empty() {
            true => numbers.obstacle.iter().flatten().copied().collect(),
            false => shared.clone(),
        };
        let tags = words::tags(model, &blocking);
        let why = match shared.is_empty() {
            false => format!("{} defeats every path", words::any_fault(model, &shared)),
            true => format!(
                "however {} are shared out among {required} paths, one path does not work on its own",
                words::list(&tags)
            ),
        };
        let have = match paths {
            1 => "only one trip path".to_string(),
            n => format!("only {n} disjoint trip paths"),
        };
        let mut finding = about_hazard(model, Check::TooFewDisjointPaths, examined.hazard, examined.mode);
        finding.elements = tags;
        finding.sentence = format!(
            "{} has {have} where {required} are required that share nothing: {why}.",
            hazard.name.tag
        );
        finding.also = blocking.iter().filter_map(|source| words::place(model, *source)).collect();
        finding.lowest = match shared.is_empty() {
            true => numbers.obstacle.clone(),
            false => singles,
        };
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
