//! A hazard with fewer disjoint trip paths that are in time than the policy asks for.
//!
//! # What it checks
//! As `too-few-disjoint-paths`, where a path counts only if it brings the hazard to its safe state in the time that it
//! leaves.
//!
//! # Why it matters
//! Two paths of which one is too slow are one path.
//!
//! # How it is decided
//! DP over what is true in time. Told only where there are enough paths as long as it takes.
//!
//! # What it does not see
//! As `hazard-not-met-in-time`.
//!
//! # Example
//! Two gas heads of which one hangs on a long sampling tube.
//!
//! # How to resolve
//! Make the slow path quicker, or earn time for it: a lower set point.
//!
//! # References
//! IEC 61511-1 on response time against process safety time: recalled, not verified.

use std::collections::BTreeSet;

use super::fault_makes_protection_late::{late_by, late_without_a_fault};
use super::{Check, Seen, about_hazard, words};
use crate::assess::Decided;
use crate::explain;
use crate::finding::Finding;
use crate::model::Source;
use crate::outcome::{Paths, Tolerance};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (ever, own) in words::timed(seen) {
        let (Some(witness), None) = (own.disjoint.witness(), ever.disjoint.witness()) else { continue };
        let Some(numbers) = &own.numbers else {
            // Told as a fault that is not tolerated, where that is told.
            let told = own.tolerance.is_broken() && !ever.tolerance.is_broken();
            if !own.unaided.is_broken() && !told {
                found.push(late_by(model, Check::TooFewTimelyPaths, own, witness));
            }
            continue;
        };
        let Paths::Exactly(paths) = numbers.paths else { continue };
        if numbers.tolerance == Tolerance::None {
            // Told as not met in time at all, or as a fault that is not tolerated, where those are told.
            if !own.unaided.is_broken() && ever.tolerance.is_broken() {
                found.push(late_without_a_fault(model, Check::TooFewTimelyPaths, own, witness));
            }
            continue;
        }
        let hazard = &model.hazards[own.hazard];
        let slow: Vec<String> = words::credited(model, own.hazard)
            .into_iter()
            .filter(|cause| {
                seen.assessment.timed.iter().any(|timed| {
                    timed.hazard == own.hazard
                        && timed.mode == own.mode
                        && matches!(timed.acts.get(cause), Some(Decided::Never(_)))
                })
            })
            .map(|cause| model.causes[cause].name.tag.clone())
            .collect();
        let blocking: BTreeSet<Source> = numbers.obstacle.iter().flatten().copied().collect();
        let mut finding = about_hazard(model, Check::TooFewTimelyPaths, own.hazard, own.mode);
        finding.elements = match slow.is_empty() {
            true => words::tags(model, &blocking),
            false => slow.clone(),
        };
        let have = match paths {
            1 => "only one trip path that is in time".to_string(),
            n => format!("only {n} disjoint trip paths that are in time"),
        };
        let why = match slow.as_slice() {
            [] => String::new(),
            [one] => format!(" {one} is not there in time and does not count."),
            many => format!(" {} are not there in time and do not count.", words::list(many)),
        };
        finding.sentence = format!(
            "{} has {have}, where {} are required that share nothing.{why}",
            hazard.name.tag, hazard.required.disjoint_paths
        );
        let late = words::credited(model, own.hazard).into_iter().map(|cause| &model.causes[cause]);
        finding.also = late
            .filter(|cause| slow.contains(&cause.name.tag))
            .map(|cause| (cause.when_span, "the trip that is not there in time".to_string()))
            .chain(blocking.iter().filter_map(|source| words::place(model, *source)))
            .collect();
        finding.lowest = numbers.obstacle.clone();
        finding.witness = Some(explain::story(model, witness));
        found.push(finding);
    }
    found
}
