//! Something is to be examined, and no situation asks for it.
//!
//! # What it checks
//! That what an invariant begins with can be demanded; that somebody can be inside a space of which the model says so;
//! that all inputs which an escape release trips can see it used at once, in a mode of the hazard that it has to end.
//!
//! # Why it matters
//! "Proved for all situations" is worth nothing when there are none. The claim is said not to arise; whoever reads only
//! that nothing was refuted takes it for good.
//!
//! # How it is decided
//! The engines look for one situation that the claim is about, without faults, within the couplings. Neither finds one.
//!
//! # What it does not see
//! Whether it was meant so: a rule may be kept for a cause that comes later.
//!
//! # Example
//! A release trips both contacts of an antivalent pair: a release makes an input see what it detects, and of such a pair
//! only one does.
//!
//! # How to resolve
//! Name under `trips` only what the release makes true; correct the coupling; or leave the rule out.
//!
//! # References
//! Our definition (vacuity).

use std::collections::BTreeMap;

use super::{Check, Seen, about_element, words};
use crate::assess::{Decided, Subject};
use crate::finding::{Finding, Severity};
use crate::model::{Element, HazardId, ModeId, SpaceId};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    let mut releases: BTreeMap<(SpaceId, usize), Vec<HazardId>> = BTreeMap::new();
    for single in &seen.assessment.singles {
        if !matches!(single.decided, Decided::NotApplicable(_)) {
            continue;
        }
        match single.subject {
            Subject::AlwaysHolds(id) => {
                let rule = &model.invariants[id];
                let element = Element::Invariant(id);
                let mut finding = about(seen, element, rule.name.span);
                finding.sentence = format!(
                    "{}: no situation demands what `{}` begins with, so nothing about it was examined.",
                    rule.name.tag, rule.text
                );
                found.push(finding);
            }
            Subject::CanLeave(id) => {
                let space = &model.spaces[id];
                let mut finding = about(seen, Element::Space(id), space.name.span);
                finding.sentence = format!(
                    "The couplings leave no situation with somebody inside {}, so nothing was examined about leaving it.",
                    space.name.tag
                );
                found.push(finding);
            }
            Subject::ReleaseStops(space, door, hazard) => {
                releases.entry((space, door)).or_default().push(hazard);
            }
            _ => {}
        }
    }
    found.extend(
        releases.into_iter().filter_map(|((space, door), hazards)| release(seen, space, door, &hazards)),
    );
    found
}

/// One finding for a door: what its release trips is the same for every hazard behind it.
fn release(seen: &Seen<'_>, space: SpaceId, door: usize, hazards: &[HazardId]) -> Option<Finding> {
    let model = seen.model;
    // That a mode has no situation, or a hazard none, is told elsewhere.
    let cannot = |hazard: HazardId| {
        let element = &model.hazards[hazard];
        let never = |mode: &ModeId| {
            let mut examined = seen.assessment.hazards.iter();
            let found = examined.find(|examined| examined.hazard == hazard && examined.mode == *mode);
            seen.assessment.impossible_modes.contains(mode)
                || found.is_some_and(|examined| examined.impossible(element.onset.len()))
        };
        element.exists_in.iter().all(never)
    };
    let named: Vec<String> = hazards
        .iter()
        .filter(|hazard| !cannot(**hazard))
        .map(|hazard| model.hazards[*hazard].name.tag.clone())
        .collect();
    if named.is_empty() {
        return None;
    }
    let door = model.spaces[space].doors.get(door)?;
    let release = door.escape_release.as_ref()?;
    let trips: Vec<String> =
        release.trips.iter().map(|input| model.inputs[*input].name.tag.clone()).collect();
    let see = match trips.as_slice() {
        [one] => format!("{one}, which never sees it used"),
        many => format!("{}, which never see it used at once", words::list(many)),
    };
    let mut finding = about(seen, Element::Space(space), release.name.span);
    finding.elements.push(release.name.tag.clone());
    finding.sentence = format!(
        "{} trips {see} where {} can exist, so nothing was examined about what leaving by it ends.",
        release.name.tag,
        words::alternatives(&named)
    );
    Some(finding)
}

fn about(seen: &Seen<'_>, element: Element, place: crate::source::Span) -> Finding {
    about_element(seen.model, Check::ClaimWithoutSituation, Severity::Warning, element, place)
}
