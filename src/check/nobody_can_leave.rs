//! A person inside a space can find every door shut.
//!
//! # What it checks
//! In every mode in which people may be inside, whatever is commanded and latched, and with any one source faulty:
//! some door is not held by its lock, or has an escape release that is inside, mechanical, and needs no power, tool,
//! key or knowledge.
//!
//! # Why it matters
//! People are locked into cold rooms and test chambers every year. A lock that protects in one mode imprisons in another.
//!
//! # How it is decided
//! No situation with weight(F) ≤ 1 in which people may be inside and every door is at the position that holds it,
//! without such a release. The release's own mechanism is the one fault, unless a fault exclusion names it and its
//! inspection.
//!
//! # What it does not see
//! Frozen seals, blocked ways, the force that a fan puts on the door, whether a person can walk.
//!
//! # Example
//! A lock that needs power to unlock, and no escape release: the loss of one supply locks the person in.
//!
//! # How to resolve
//! Fit an escape release on the inside that works mechanically and without aids, declare it, and name it in a fault exclusion
//! that says how its mechanism is inspected: without that, the one fault may be its own.
//!
//! # References
//! ISO 14119 (escape release of guard locking), EN 378-1 on cold rooms: recalled, not verified.

use super::{Check, Seen, about_element, words};
use crate::assess::Subject;
use crate::claim::Breach;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::Element;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for single in &seen.assessment.singles {
        let (Subject::CanLeave(id), Some(witness)) = (single.subject, single.decided.witness()) else {
            continue;
        };
        let space = &model.spaces[id];
        let mut finding = about_element(
            model,
            Check::NobodyCanLeave,
            Severity::Serious,
            Element::Space(id),
            space.name.span,
        );
        let doors: Vec<String> = space.doors.iter().map(|door| door.name.tag.clone()).collect();
        let story = explain::story(model, witness);
        let with = match story.faults.as_slice() {
            [] => String::new(),
            faults => format!(" with {} faulty", words::list(faults)),
        };
        let held = match doors.as_slice() {
            [one] => format!("{one} is held"),
            many => format!("{} are held", words::list(many)),
        };
        let release = match witness.claim.breach {
            Breach::ReleaseFails(_, number) => {
                let release = space.doors.get(number).and_then(|door| door.escape_release.as_ref());
                let tag = release.map_or("the release", |release| release.name.tag.as_str());
                format!("and the mechanism of {tag} may fail: no fault exclusion names it and its inspection")
            }
            _ => "and no escape release counts".to_string(),
        };
        finding.sentence =
            format!("Somebody inside {} can be locked in{with}: {held}, {release}.", space.name.tag);
        finding.also = space.doors.iter().map(|door| (door.name.span, "a door of it".to_string())).collect();
        finding.witness = Some(story);
        found.push(finding);
    }
    found
}
