//! A door that can be held shut cannot be opened from outside without power.
//!
//! # What it checks
//! Every door that a lock can hold shut has an emergency release that is worked from outside, mechanically, and
//! without power.
//!
//! # Why it matters
//! Somebody inside may be unable to work the escape release. Rescuers at the door must not wait for a controller
//! or a supply.
//!
//! # How it is decided
//! By reading: the door has `held_by`, and no `emergency_release` that is outside, mechanical and does not need
//! power. A tool or a key is permitted: rescuers can bring them.
//!
//! # What it does not see
//! Whether the release is found, sealed, tried and strong enough, and another way in by a door that no lock
//! holds.
//!
//! # Example
//! A lock that needs power to unlock and is worked from the operator desk.
//!
//! # How to resolve
//! Fit an emergency release outside that opens the lock mechanically, declare it, and have it inspected.
//!
//! # References
//! ISO 14119 (emergency release of guard locking): recalled, not verified.

use super::{Check, Seen, about_tag};
use crate::finding::{Finding, Severity};
use crate::model::Door;
use crate::syntax::kind::{ReleaseAid, ReleasePlace};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (_, space) in model.spaces.iter() {
        for door in &space.doors {
            let (Some(held), Some(why)) = (door.held_by, lacking(door)) else { continue };
            let place = door.emergency_release.as_ref().map_or(door.name.span, |release| release.name.span);
            let tag = &door.name.tag;
            let mut finding = about_tag(Check::NoRescueFromOutside, Severity::Warning, tag, place);
            finding.sentence =
                format!("`{}` holds {tag} of {} shut, and {why}.", model.at_text(held), space.name.tag);
            found.push(finding);
        }
    }
    found
}

/// Why nobody can open the door from outside without power; `None` if somebody can.
fn lacking(door: &Door) -> Option<String> {
    let Some(release) = &door.emergency_release else {
        return Some("nobody outside can open it by hand: it has no emergency release".to_string());
    };
    let tag = &release.name.tag;
    if release.place != ReleasePlace::Outside {
        Some(format!("its emergency release {tag} is not worked from outside"))
    } else if release.aids.contains(&ReleaseAid::Power) {
        Some(format!("its emergency release {tag} needs power"))
    } else if !release.mechanical {
        Some(format!("its emergency release {tag} does not work mechanically"))
    } else {
        None
    }
}
