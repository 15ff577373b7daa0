//! When effects end at the latest and begin at the earliest, where one must come before another.

use std::collections::BTreeSet;

use crate::exact::Exact;
use crate::model::{Cause, CauseId, EffectId, InputAtom, InputId, Model, Signal, SolverId, Time};

/// Causes that demand the earlier effect and end it, at the latest, before the later effect of this cause can take hold.
pub fn soon_enough(model: &Model, cause: CauseId, later: EffectId, earlier: EffectId) -> BTreeSet<CauseId> {
    let Some(begins) = begins_led(model, cause, later) else { return BTreeSet::new() };
    let others = model.demanding_effect(earlier).filter(|other| *other != cause);
    // What a latch keeps must not follow on what lets go again.
    let stays = |other: &CauseId| !model.causes[cause].latched || model.causes[*other].latched;
    let ends = |other: &CauseId| ends_led(model, cause, *other, earlier);
    others.filter(stays).filter(|other| ends(other).is_some_and(|ends| ends <= begins)).collect()
}

/// When the later effect of a cause takes hold at the earliest, after the plant is so that the cause fires.
pub fn begins_led(model: &Model, cause: CauseId, later: EffectId) -> Option<Exact> {
    let cause = &model.causes[cause];
    Some(&begins(model, cause, later)? + &sum(&[&cause.on_delay])?)
}

/// When another cause has ended the earlier effect at the latest, after the plant is so that both fire.
pub fn ends_led(model: &Model, cause: CauseId, other: CauseId, earlier: EffectId) -> Option<Exact> {
    let seen = seen_by(model, other, common(&model.causes[cause]), 0)?;
    Some(&seen + &ends(model, other, earlier)?)
}

fn input_of(atom: &InputAtom) -> Option<InputId> {
    match atom {
        InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } => Some(*input),
        _ => None,
    }
}

/// When the condition of a cause is true at the latest, its on-delay included, after the plant is so that it is.
fn seen_by(model: &Model, id: CauseId, common: Option<(InputId, SolverId)>, depth: usize) -> Option<Exact> {
    let cause = &model.causes[id];
    let mut slowest = Exact::zero();
    for atom in cause.when.atoms() {
        let (signal, time) = match atom {
            // What both see at one place, both see at once; what does not stay one of them may not see.
            InputAtom::Compare { input, .. } | InputAtom::Is { input, .. }
                if common == Some((*input, cause.solver)) && model.inputs[*input].stays.is_none() =>
            {
                continue;
            }
            InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
                let response = &model.inputs[*input].response;
                // 90 % of a step say nothing of the rest; and what does not stay may be gone before it counts.
                if response.t90 || model.inputs[*input].stays.is_some() {
                    return None;
                }
                let parts = [&response.step, &response.filter, &response.confirmation, &response.transport];
                (Some(Signal::Input(*input)), sum(&parts)?)
            }
            // A chain of causes as long as this goes round in a ring, which no model has.
            InputAtom::Cause { cause: other, from_before: false } if depth < model.causes.len() => {
                let reaction = sum(&[&model.solvers[model.causes[*other].solver].reaction])?;
                (Some(Signal::Cause(*other)), &seen_by(model, *other, common, depth + 1)? + &reaction)
            }
            InputAtom::LinkLost(link) => (None, sum(&[&model.links[*link].delay])?),
            InputAtom::Cause { .. } | InputAtom::Overriding(_) | InputAtom::Shows(..) => continue,
        };
        let over = signal.map_or(Some(Exact::zero()), |signal| passed_on(model, signal, cause.solver))?;
        slowest = slowest.max(&time + &over);
    }
    Some(&slowest + &sum(&[&cause.on_delay])?)
}

/// The input of a cause that reads nothing else, with its solver.
fn common(cause: &Cause) -> Option<(InputId, SolverId)> {
    let mut inputs = cause.when.atoms().into_iter().map(input_of);
    let first = inputs.next()??;
    inputs.all(|input| input == Some(first)).then_some((first, cause.solver))
}

fn sum(times: &[&Time]) -> Option<Exact> {
    times.iter().try_fold(Exact::zero(), |sum, time| match time {
        Time::Known(time) => Some(&sum + time),
        Time::Unknown => None,
    })
}

/// What it takes until a solver has a signal that another one has; nothing where it has it itself, or does not get it.
fn passed_on(model: &Model, signal: Signal, solver: SolverId) -> Option<Exact> {
    let mut links = model.way(signal, solver);
    links.try_fold(Exact::zero(), |whole, (link, _)| Some(&whole + &sum(&[&model.links[link].delay])?))
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
pub fn ends(model: &Model, id: CauseId, effect: EffectId) -> Option<Exact> {
    let cause = &model.causes[id];
    let Time::Known(reaction) = &model.solvers[cause.solver].reaction else { return None };
    let mut longest = Exact::zero();
    for (actuator, _) in &model.effects[effect].set {
        let Time::Known(time) = &model.actuators[*actuator].moves_in else { return None };
        let drivers = model.actuators[*actuator].drivers.iter().map(|driver| model.drivers[*driver].solver);
        for over in drivers.map(|solver| passed_on(model, Signal::Cause(id), solver)) {
            longest = longest.max(time + &over?);
        }
        longest = longest.max(time.clone());
    }
    Some(&(reaction + &delays(model, cause, effect)?) + &longest)
}

/// When it takes hold at the earliest.
pub fn begins(model: &Model, cause: &Cause, effect: EffectId) -> Option<Exact> {
    let set = &model.effects[effect].set;
    // Any of its elements may be what must not come too early.
    let first = set.iter().map(|(actuator, _)| model.actuators[*actuator].shortest.clone()).min();
    Some(&delays(model, cause, effect)? + &first.unwrap_or_else(Exact::zero))
}
