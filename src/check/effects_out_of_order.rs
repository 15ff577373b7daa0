//! An effect that may take hold before another one that must have ended.
//!
//! # What it checks
//! For every effect with `after`, and every cause that demands it: the cause demands the earlier effects too, or another
//! cause that does fires whenever this one does; and the later effect takes hold no earlier than they have ended.
//!
//! # Why it matters
//! Water on live conductors, a contactor that opens under full current: what must come first is not first because it is
//! written first.
//!
//! # How it is decided
//! Where one cause demands both, from the moment at which its condition is true: an effect has ended, at the latest, after
//! the reaction of the solver, the delays of mark and effect and the longest `moves_in` of its elements. It takes hold, at
//! the earliest, after the delays and the longest `shortest_time` of its elements: all of them must have moved, and the
//! solver may react at once.
//!
//! Where others demand the earlier effect, from the moment at which the plant is so that both fire: the later effect takes
//! hold at the earliest after the on-delay besides, and the earlier one has ended at the latest after the slowest response
//! of all that the slowest of those causes reads, with links and on-delays, besides. That one of them fires whenever this
//! cause does is decided over all situations without faults.
//!
//! Refuted if the later effect may take hold before the earlier one has ended, or if one of these times is unknown.
//!
//! # What it does not see
//! Feedback that holds the later effect back until the earlier one is proved. Positions that a later effect reaches only
//! together with another cause's. What a latch remembers.
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
use crate::assess::{Decided, Single, Subject};
use crate::exact::Exact;
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::{Access, Cause, CauseId, EffectId, Element, InputAtom, Model, Signal, Time};
use crate::outcome::seconds;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (later, effect) in model.effects.iter().filter(|(_, effect)| !effect.after.is_empty()) {
        for (id, cause) in model.causes.iter().filter(|(_, cause)| cause.demands.contains(&later)) {
            for earlier in &effect.after {
                let led = Subject::Preceded(id, later, *earlier);
                let led = seen.assessment.singles.iter().find(|single| single.subject == led);
                let Some(sentence) = wrong(model, (id, cause), later, *earlier, led) else { continue };
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
                let witness = led.and_then(|led| led.decided.witness());
                finding.witness = witness.map(|witness| explain::story(model, witness));
                finding.also = vec![(model.causes[id].name.span, "the cause that demands it".to_string())];
                found.push(finding);
            }
        }
    }
    found
}

fn wrong(
    model: &Model,
    (id, cause): (CauseId, &Cause),
    later: EffectId,
    earlier: EffectId,
    led: Option<&Single>,
) -> Option<String> {
    let tag = |effect: EffectId| model.effects[effect].name.tag.as_str();
    let start = format!("{} must take hold after {} has ended", tag(later), tag(earlier));
    let (ends, begins) = if cause.demands.contains(&earlier) {
        (ends(model, cause, earlier), begins(model, cause, later))
    } else {
        match led.map(|led| &led.decided) {
            Some(Decided::Holds) => {
                let others = model.demanding_effect(earlier).filter(|other| *other != id);
                let each: Option<Vec<Exact>> = others
                    .map(|other| {
                        Some(&seen_by(model, other, 0)? + &ends(model, &model.causes[other], earlier)?)
                    })
                    .collect();
                let Time::Known(own) = &cause.on_delay else { return Some(unknown(&start)) };
                (
                    each.and_then(|each| each.into_iter().max()),
                    begins(model, cause, later).map(|time| &time + own),
                )
            }
            // Told as what it is.
            Some(Decided::Undecided(_) | Decided::Disputed) => return None,
            Some(_) => {
                return Some(format!(
                    "{start}, and {} demands it in situations in which nothing demands {}.",
                    cause.name.tag,
                    tag(earlier)
                ));
            }
            None => {
                return Some(format!("{start}, and {} demands it without {}.", cause.name.tag, tag(earlier)));
            }
        }
    };
    let (Some(ends), Some(begins)) = (ends, begins) else { return Some(unknown(&start)) };
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

fn unknown(start: &str) -> String {
    format!("{start}, and of one of them it is not known how long it takes.")
}

/// When the condition of a cause is true at the latest, its on-delay included, after the plant is so that it is.
fn seen_by(model: &Model, id: CauseId, depth: usize) -> Option<Exact> {
    let cause = &model.causes[id];
    let mut slowest = Exact::zero();
    for atom in cause.when.atoms() {
        let (signal, time) = match atom {
            InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
                let response = &model.inputs[*input].response;
                // 90 % of a step say nothing of the rest.
                if response.t90 {
                    return None;
                }
                let parts = [&response.step, &response.filter, &response.confirmation, &response.transport];
                (Some(Signal::Input(*input)), sum(&parts)?)
            }
            // A chain of causes as long as this goes round in a ring, which no model has.
            InputAtom::Cause { cause: other, from_before: false } if depth < model.causes.len() => {
                let reaction = sum(&[&model.solvers[model.causes[*other].solver].reaction])?;
                (Some(Signal::Cause(*other)), &seen_by(model, *other, depth + 1)? + &reaction)
            }
            InputAtom::LinkLost(link) => (None, sum(&[&model.links[*link].delay])?),
            InputAtom::Cause { .. } | InputAtom::Overriding(_) | InputAtom::Shows(..) => continue,
        };
        let over = signal.map_or(Some(Exact::zero()), |signal| links(model, signal, cause))?;
        slowest = slowest.max(&time + &over);
    }
    Some(&slowest + &sum(&[&cause.on_delay])?)
}

fn sum(times: &[&Time]) -> Option<Exact> {
    times.iter().try_fold(Exact::zero(), |sum, time| match time {
        Time::Known(time) => Some(&sum + time),
        Time::Unknown => None,
    })
}

/// The links by which a solver learns a signal.
fn links(model: &Model, signal: Signal, reader: &Cause) -> Option<Exact> {
    let (mut whole, mut at) = (Exact::zero(), reader.solver);
    for _ in 0..model.solvers.len() {
        let Some(Access::Over(link, from)) = model.access.get(&(signal, at)).copied() else { break };
        whole = &whole + &sum(&[&model.links[link].delay])?;
        at = from;
    }
    Some(whole)
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
