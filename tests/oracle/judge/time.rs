//! Claims about time: the same walks, with what is in time.
//!
//! How far the quantities reach (the head starts) is taken from what was decided: no walk has all their values.

use std::collections::BTreeSet;
use std::sync::Arc;

use tripproof::assess::{Assessment, Decided, HazardInMode, InTime, Timed};
use tripproof::claim::{Breach, Timing, Unknown};
use tripproof::model::Model;

use super::hazard::{broken, compare_numbers, short, walked};
use super::{Judged, Walks, word};
use crate::support::enumerate::{NOBODY, Others, PARTIES};

const OVERRIDES: Others = Others { initiators: false, damage: false, overrides: true };

pub(super) fn all(model: &Model, assessment: &Assessment, walks: &mut Walks<'_>, judged: &mut Judged) {
    if assessment.timed.len() != assessment.hazards.len() {
        judged.differ(format!("{} hazards with regard to time", assessment.timed.len()));
    }
    for (timed, ever) in assessment.timed.iter().zip(&assessment.hazards) {
        assert_eq!((timed.hazard, timed.mode), (ever.hazard, ever.mode));
        let answered = hazard(model, timed, ever, walks, judged);
        judged.asked(answered);
        let answered = trips(model, timed, walks, judged);
        judged.asked(answered);
    }
}

fn hazard(
    model: &Model,
    timed: &InTime,
    ever: &HazardInMode,
    walks: &mut Walks<'_>,
    judged: &mut Judged,
) -> Option<()> {
    let about = format!("{} in {}", model.hazards[timed.hazard].name.tag, model.modes[timed.mode].name.tag);
    let found = match &timed.decided {
        Timed::NoTime => return Some(()),
        Timed::Undecided(reason) => {
            judged.differ(format!("{about}: {reason}"));
            return Some(());
        }
        Timed::Quick => ever,
        Timed::Decided(own) => own,
    };
    if ever.impossible(model.hazards[timed.hazard].onset.len()) {
        return Some(());
    }
    let nothing = BTreeSet::new();
    let late = |unknown| {
        let timing = Timing { extents: timed.timing.extents.clone(), unknown };
        Breach::Late { hazard: timed.hazard, timing: Arc::new(timing) }
    };
    let mode = Some(timed.mode);
    // What is broken with unknown times as 0 s is broken; what holds with them too long holds.
    let mut happens = |others: Others| -> Option<[bool; 2]> {
        let long = walks.about(late(Unknown::TooLong), mode).defeated(&nothing, others)?;
        let none = walks.about(late(Unknown::Nothing), mode).defeated(&nothing, others)?;
        Some([long, none])
    };
    let verdict = |[long, none]: [bool; 2]| match (long, none) {
        (_, true) => "broken",
        (true, false) => "undecided",
        (false, false) => "holds",
    };
    let unaided = happens(NOBODY)?;
    let over = happens(OVERRIDES)?;
    judged.compare("met in time without faults", &about, word(&found.unaided), verdict(unaided));
    let covered = [unaided[0] || over[0], unaided[1] || over[1]];
    judged.compare("met in time under overrides", &about, word(&found.covered), verdict(covered));
    if !timed.unknown.is_empty() {
        return Some(());
    }
    let walk = walks.about(late(Unknown::TooLong), mode);
    let with = walked(model, walk, PARTIES)?;
    let Some(numbers) = &found.numbers else {
        // Some of it was undecided for want of a time.
        return Some(());
    };
    compare_numbers(model, numbers, &with, &format!("{about} in time"), walk, PARTIES, judged)?;
    let tolerance = broken(short(model, found.hazard, &with));
    judged.compare("fault tolerance in time", &about, word(&found.tolerance), tolerance);
    let required = model.hazards[found.hazard].required.disjoint_paths;
    let disjoint = broken(!numbers.paths.reaches(required));
    judged.compare("disjoint paths in time", &about, word(&found.disjoint), disjoint);
    Some(())
}

/// Of trips that can fire for the hazard in the mode.
fn trips(model: &Model, timed: &InTime, walks: &mut Walks<'_>, judged: &mut Judged) -> Option<()> {
    let nothing = BTreeSet::new();
    let mode = Some(timed.mode);
    for (cause, decided) in &timed.acts {
        let fires = Breach::FiresFor(*cause, timed.hazard);
        let timing = timed.timing.clone();
        let acts = Breach::ActsInTime { cause: *cause, hazard: timed.hazard, timing };
        let fires = walks.about(fires, mode).defeated(&nothing, NOBODY)?;
        if !fires || matches!(decided, Decided::Undecided(_)) {
            continue;
        }
        let acts = walks.about(acts, mode).defeated(&nothing, NOBODY)?;
        let about = format!("{} for {}", model.causes[*cause].name.tag, model.hazards[timed.hazard].name.tag);
        judged.compare("trip in time", &about, word(decided), if acts { "holds" } else { "never" });
    }
    Some(())
}
