//! A trip or an alarm that may come while everything is normal.
//!
//! # What it checks
//! For every cause that protects or warns: no comparison that makes it true by itself can be true, with the accuracy of its
//! sensor, while the quantity is normal in a mode in which the cause is armed and in the way. A trip is in the way where it
//! takes away what the mode `needs`; an alarm where the mode needs something or people are inside.
//!
//! # Why it matters
//! A trip that comes without a reason is overridden, and an alarm that does is not heard any more: the next one is real.
//!
//! # How it is decided
//! Read off the model: rising, refuted if set point − accuracy <= greatest normal value (`>`: if it is less); falling, if set
//! point + accuracy >= least normal value. A comparison makes its cause true by itself if it is the whole condition, or
//! stands behind OR and 1ooN only. What is normal is what the modes say that hold, where none of them says anything the
//! quantity. Where nothing says what is normal, or a mode calls it `free`, nothing is examined.
//!
//! # What it does not see
//! Conditions that want more than one comparison. Whether couplings rule out that greatest value while all else is normal.
//! Modes that need nothing, as after a trip: what has tripped is still there, and what the trip commands is wanted.
//! A cause that is always on, and a mode that can never work, are told as that.
//!
//! # Example
//! Normal up to 90 degC, trip at 91 degC, accuracy 2 K: at 89 degC it may trip.
//!
//! # How to resolve
//! Move the set point further from what is normal, take a better sensor, arm the cause only where its condition is not
//! normal, or correct what the model says is normal.
//!
//! # References
//! IEC 62682 and ISA-18.2 practice for alarms, IEC 61511-1 on spurious trips: recalled, not verified.

use super::compared::{Comparison, Said, enough_alone, said, value};
use super::{Check, Seen, about_element, reading};
use crate::assess::{Decided, Subject};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Cause, CauseId, Device, Element, GroupId, Interval, ModeId, Model, QuantityId};
use crate::syntax::kind::{People, Purpose};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter().filter(|(_, cause)| cause.purpose != Purpose::Comfort) {
        if cause.demands.is_empty() || always_on(seen, id) {
            continue;
        }
        for one in enough_alone(model, cause) {
            let Some((worst, modes)) = worst_normal(seen, cause, &one) else { continue };
            let input = &model.inputs[one.input].name.tag;
            let element = Element::Cause(id);
            let mut finding =
                about_element(model, Check::TripInsideNormal, Severity::Warning, element, one.span);
            finding.elements.push(input.clone());
            finding.sentence = format!(
                "{} (`{}`) may come while all is normal: {} is normal {} {}, and {input} may show {} then.",
                cause.name.tag,
                cause.text,
                model.quantities[one.quantity].name.tag,
                if one.rising() { "up to" } else { "down to" },
                value(model, one.quantity, &worst),
                value(model, one.quantity, &shown(&one, &worst)),
            );
            finding.modes = modes;
            found.push(finding);
        }
    }
    found
}

/// In some mode it is always on, which another check tells.
fn always_on(seen: &Seen<'_>, cause: CauseId) -> bool {
    let always = |single: &crate::assess::Single| {
        single.subject == Subject::NotAlwaysOn(cause) && matches!(single.decided, Decided::Never(_))
    };
    seen.assessment.singles.iter().any(always)
}

/// A mode that no trip lets work is told as that.
fn can_run(seen: &Seen<'_>, mode: ModeId) -> bool {
    let never = |single: &crate::assess::Single| {
        single.subject == Subject::CanRun(mode) && matches!(single.decided, Decided::Never(_))
    };
    !seen.assessment.singles.iter().any(never)
}

/// The reading furthest on the way to the set point.
fn shown(one: &Comparison<'_>, at: &Exact) -> Exact {
    if one.rising() { at + one.accuracy } else { at - one.accuracy }
}

/// The normal value that comes nearest to the set point in some mode in which the cause disturbs, if the comparison may be
/// true there; with those modes.
fn worst_normal(seen: &Seen<'_>, cause: &Cause, one: &Comparison<'_>) -> Option<(Exact, Vec<ModeId>)> {
    let model = seen.model;
    let end = |range: &Interval| if one.rising() { range.high.clone() } else { range.low.clone() };
    let ends = model.modes.ids().filter_map(|mode| match said(model, mode, one.quantity) {
        Said::Range(range) => Some(end(range)),
        Said::Nothing | Said::Free => None,
    });
    let own = model.quantities[one.quantity].normal.as_ref().map(end);
    let meets = |at: &Exact| one.relation.holds(&shown(one, at), one.set_point);
    let mut all: Vec<Exact> = ends.chain(own).filter(meets).collect();
    all.sort();
    if one.rising() {
        all.reverse();
    }
    let (mut worst, mut modes): (Option<Exact>, Vec<ModeId>) = (None, Vec::new());
    for mode in model.modes.ids().filter(|mode| disturbs(model, cause, *mode) && can_run(seen, *mode)) {
        let Some(at) = all.iter().find(|at| is_normal(model, cause, one.quantity, at, mode)) else {
            continue;
        };
        modes.push(mode);
        let further = worst.as_ref().is_none_or(|other| if one.rising() { at > other } else { at < other });
        if further {
            worst = Some(at.clone());
        }
    }
    worst.map(|worst| (worst, modes))
}

/// The cause is armed in the mode and in the way there: a trip takes away what the mode needs, an alarm calls somebody while
/// the mode needs something or people are inside.
fn disturbs(model: &Model, cause: &Cause, mode: ModeId) -> bool {
    let element = &model.modes[mode];
    if !armed(model, cause, element.group).any(|other| other == mode) {
        return false;
    }
    if cause.purpose == Purpose::Alarm {
        return !element.needs.is_empty() || element.people == People::Expected;
    }
    let demanded = reading::demanded(model, cause);
    element.needs.iter().any(|at| match at.device {
        Device::Actuator(id) => {
            demanded.iter().any(|(other, position)| *other == id && *position != at.position)
        }
        Device::Passive(_) => false,
    })
}

/// The armed modes of a group.
fn armed<'m>(model: &'m Model, cause: &'m Cause, group: GroupId) -> impl Iterator<Item = ModeId> + 'm {
    let armed = cause.armed.get(&group);
    let modes = model.groups[group].modes.iter().copied();
    modes.filter(move |mode| armed.is_none_or(|armed| armed.contains(mode)))
}

/// Whether a value of a quantity is normal in this mode, together with some choice of armed modes of the other groups.
fn is_normal(model: &Model, cause: &Cause, quantity: QuantityId, at: &Exact, mode: ModeId) -> bool {
    let inside = |range: &Interval| range.low <= *at && *at <= range.high;
    // Either one of the modes that hold says it, or none says anything and the quantity does.
    let own = model.quantities[quantity].normal.as_ref().is_some_and(inside);
    let (mut spoken, mut silent) = (false, true);
    for group in model.groups.ids() {
        let (mut allows, mut nothing) = (false, false);
        let fixed = |other: &ModeId| model.modes[mode].group != group || *other == mode;
        for other in armed(model, cause, group).filter(fixed) {
            match said(model, other, quantity) {
                Said::Range(range) => allows |= inside(range),
                // Nothing is known of what is normal there.
                Said::Free => {}
                Said::Nothing => nothing = true,
            }
        }
        if !allows && !nothing {
            return false;
        }
        spoken |= allows;
        silent &= nothing;
    }
    spoken || (silent && own)
}
