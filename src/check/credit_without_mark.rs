//! A cause is credited for a hazard, and commands nothing that averts it.
//!
//! # What it checks
//! Every cause commands at least one position of the safe state of each hazard for which it is credited, itself or through
//! causes that read it.
//!
//! # Why it matters
//! The list of trips counts it, and it does nothing for this hazard. Mostly one mark of its row was forgotten.
//!
//! # How it is decided
//! By reading: the positions that its effects set, and those of the causes that name it in their conditions otherwise than
//! under NOT, and so on. None of them stands in the safe state. A hazard whose safe state names no actuator is left aside.
//!
//! # What it does not see
//! Whether the position that is commanded is enough, or helps at all: the claims about the hazard decide that. A cause that
//! commands nothing at all: `cause-without-effect`.
//!
//! # Example
//! The trip on the second gas head starts the fan, is credited for the ignition too, and does not open the contactor.
//!
//! # How to resolve
//! Give the cause its mark, or take away the credit.
//!
//! # References
//! Common practice, no source.

use std::collections::BTreeSet;

use super::{Check, Seen, about_element, reading};
use crate::finding::{Finding, Severity};
use crate::model::{CauseId, Device, Element, InputAtom, Model};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter().filter(|(_, cause)| !cause.credited_for.is_empty()) {
        let mut demanded = BTreeSet::new();
        for other in with_readers(model, id) {
            demanded.extend(reading::demanded(model, &model.causes[other]));
        }
        if demanded.is_empty() {
            // That it does nothing at all is told as that.
            continue;
        }
        for hazard in &cause.credited_for {
            let element = &model.hazards[*hazard];
            let averts: BTreeSet<_> = element
                .safe_state
                .atoms()
                .into_iter()
                .filter_map(|at| match at.device {
                    Device::Actuator(actuator) => Some((actuator, at.position)),
                    Device::Passive(_) => None,
                })
                .collect();
            if averts.is_empty() || !averts.is_disjoint(&demanded) {
                continue;
            }
            let tag = &cause.name.tag;
            let place = model.written(tag, "demands").unwrap_or(cause.name.span);
            let mut finding =
                about_element(model, Check::CreditWithoutMark, Severity::Warning, Element::Cause(id), place);
            finding.hazard = Some(*hazard);
            finding.sentence = format!(
                "{tag} is credited for {}, and commands nothing of its safe state `{}`.",
                element.name.tag, element.safe_text
            );
            finding.also = vec![(element.safe_span, "the safe state".to_string())];
            found.push(finding);
        }
    }
    found
}

/// The cause, and every cause that reads it otherwise than under NOT, directly or through others. NOT of NOT is left aside.
fn with_readers(model: &Model, id: CauseId) -> BTreeSet<CauseId> {
    let (mut all, mut open) = (BTreeSet::from([id]), vec![id]);
    while let Some(read) = open.pop() {
        for (other, cause) in model.causes.iter() {
            let reads = |(atom, negated): (&InputAtom, bool)| {
                !negated && matches!(atom, InputAtom::Cause { cause, .. } if *cause == read)
            };
            if !all.contains(&other) && reading::literals(&cause.when).into_iter().any(reads) {
                all.insert(other);
                open.push(other);
            }
        }
    }
    all
}
