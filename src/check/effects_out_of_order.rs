//! An effect that may take hold before another one that must have ended.
//!
//! # What it checks
//! For every effect with `after`, and every cause that demands it: the cause demands the earlier effects too, and the later
//! one takes hold no earlier than they have ended.
//!
//! # Why it matters
//! Water on live conductors, a contactor that opens under full current: what must come first is not first because it is
//! written first.
//!
//! # How it is decided
//! Both counted from the moment at which the cause is true. An effect has ended, at the latest, after the reaction of the
//! solver, the delays of mark and effect and the longest `moves_in` of its elements. It takes hold, at the earliest, after
//! the delays and the longest `shortest_time` of its elements: all of them must have moved, and the solver may react at
//! once. Refuted if the second is less than the first, or if one of these times is unknown.
//!
//! # What it does not see
//! Effects that different causes demand. Feedback that holds the later effect back until the earlier one is proved.
//!
//! # Example
//! The mist valve may open at once, and the contactors need 0.3 s.
//!
//! # How to resolve
//! Give the later mark or effect a `delay` that is long enough, or state the `shortest_time` of its elements; let every cause
//! that demands the later effect demand the earlier one.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, about_element};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{Cause, EffectId, Element, Model, Time};
use crate::outcome::seconds;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (later, effect) in model.effects.iter().filter(|(_, effect)| !effect.after.is_empty()) {
        for (id, cause) in model.causes.iter().filter(|(_, cause)| cause.demands.contains(&later)) {
            for earlier in &effect.after {
                let Some(sentence) = wrong(model, cause, later, *earlier) else { continue };
                let mut finding = about_element(
                    model,
                    Check::EffectsOutOfOrder,
                    Severity::Serious,
                    Element::Effect(later),
                    effect.name.span,
                );
                finding.elements.push(cause.name.tag.clone());
                finding.elements.push(model.effects[*earlier].name.tag.clone());
                finding.sentence = sentence;
                finding.also = vec![(model.causes[id].name.span, "the cause that demands it".to_string())];
                found.push(finding);
            }
        }
    }
    found
}

fn wrong(model: &Model, cause: &Cause, later: EffectId, earlier: EffectId) -> Option<String> {
    let tag = |effect: EffectId| model.effects[effect].name.tag.as_str();
    let start = format!("{} must take hold after {} has ended", tag(later), tag(earlier));
    if !cause.demands.contains(&earlier) {
        return Some(format!("{start}, and {} demands it without {}.", cause.name.tag, tag(earlier)));
    }
    let (Some(ends), Some(begins)) = (ends(model, cause, earlier), begins(model, cause, later)) else {
        return Some(format!("{start}, and of one of them it is not known how long it takes."));
    };
    (begins < ends).then(|| {
        format!(
            "{start}: demanded by {}, it may take hold after {} s, and {} may end only after {} s.",
            cause.name.tag,
            seconds(&begins),
            tag(earlier),
            seconds(&ends)
        )
    })
}

/// The delays of a mark and its effect.
fn delays(model: &Model, cause: &Cause, effect: EffectId) -> Option<Exact> {
    let own = cause.delays.get(&effect).cloned().unwrap_or(Time::Known(Exact::zero()));
    match (own, &model.effects[effect].delay) {
        (Time::Known(own), Time::Known(delay)) => Some(&own + delay),
        _ => None,
    }
}

/// When it has ended at the latest.
fn ends(model: &Model, cause: &Cause, effect: EffectId) -> Option<Exact> {
    let Time::Known(reaction) = &model.solvers[cause.solver].reaction else { return None };
    let mut longest = Exact::zero();
    for (actuator, _) in &model.effects[effect].set {
        let Time::Known(time) = &model.actuators[*actuator].moves_in else { return None };
        longest = longest.max(time.clone());
    }
    Some(&(reaction + &delays(model, cause, effect)?) + &longest)
}

/// When it takes hold at the earliest.
fn begins(model: &Model, cause: &Cause, effect: EffectId) -> Option<Exact> {
    let set = &model.effects[effect].set;
    let longest = set.iter().map(|(actuator, _)| model.actuators[*actuator].shortest.clone()).max();
    Some(&delays(model, cause, effect)? + &longest.unwrap_or_else(Exact::zero))
}
