//! Until when something that a cause demands is surely there, counted from the moment at which the cause is true, and how
//! early it may be: sums of declared times that several checks use.
//!
//! Nothing here decides a claim about a hazard.

use crate::exact::Exact;
use crate::model::{
    ActuatorId, Cause, CauseId, DriverId, EffectId, Element, InputId, Model, Signal, SolverId, Time, Tree,
    WithoutEnergy,
};

/// A sum of times; an element of which it is not known how long it takes, if there is one.
pub type Sum = Result<Exact, Element>;

/// Adds a time of an element.
pub fn plus(sum: Sum, element: Element, time: &Time) -> Sum {
    match time {
        Time::Known(time) => sum.map(|sum| &sum + time),
        Time::Unknown => sum.and(Err(element)),
    }
}

/// The later of two; what is not known is later than everything.
pub fn later(one: Sum, other: Sum) -> Sum {
    match (one, other) {
        (Ok(one), Ok(other)) => Ok(one.max(other)),
        (Err(element), _) | (_, Err(element)) => Err(element),
    }
}

/// Adds what it takes until a solver has a signal that another one has.
fn passed_on(model: &Model, sum: Sum, signal: Signal, solver: SolverId) -> Sum {
    let links = model.way(signal, solver);
    links.fold(sum, |sum, (link, _)| plus(sum, Element::Link(link), &model.links[link].delay))
}

/// The effects of a cause that set an actuator to one of these positions.
fn effects<'m>(
    model: &'m Model,
    cause: &'m Cause,
    actuator: ActuatorId,
    fits: impl Fn(usize) -> bool + 'm,
) -> impl Iterator<Item = EffectId> + 'm {
    cause.demands.iter().copied().filter(move |effect| {
        model.effects[*effect].set.iter().any(|(other, position)| *other == actuator && fits(*position))
    })
}

/// Delays of a mark and of its effect; what is not known counts as `unknown`.
fn delays(model: &Model, cause: CauseId, effect: EffectId) -> Sum {
    let element = &model.causes[cause];
    let own = element.delays.get(&effect).cloned().unwrap_or(Time::Known(Exact::zero()));
    let sum = plus(Ok(Exact::zero()), Element::Cause(cause), &own);
    plus(sum, Element::Effect(effect), &model.effects[effect].delay)
}

/// The earlier of two; what is not known is later than everything.
fn sooner(one: Sum, other: Sum) -> Sum {
    match (one, other) {
        (Ok(one), Ok(other)) => Ok(one.min(other)),
        (Ok(known), Err(_)) | (Err(_), Ok(known)) => Ok(known),
        (Err(element), Err(_)) => Err(element),
    }
}

/// When an actuator has surely moved to a position that fits: after the reaction of the solver, the links to its drivers
/// as they are wired, the delays of mark and effect and its longest time to move; the quickest of several marks. `None`:
/// the cause demands no such position, or not of enough drivers.
pub fn surely_there(
    model: &Model,
    cause: CauseId,
    actuator: ActuatorId,
    fits: impl Fn(usize) -> bool,
) -> Option<Sum> {
    let element = &model.causes[cause];
    let device = &model.actuators[actuator];
    let mut quickest: Option<Sum> = None;
    for effect in effects(model, element, actuator, &fits) {
        let set = &model.effects[effect].set;
        let position = set.iter().find(|(other, position)| *other == actuator && fits(*position));
        let (Some((_, position)), Some(wiring)) = (position, &device.wiring) else { continue };
        // In series the position with energy needs all drivers, the one without any of them.
        let all = match device.without_energy {
            WithoutEnergy::Goes { off, .. } => *position != off,
            WithoutEnergy::Stays => true,
        };
        let Some(way) = over_wiring(model, cause, wiring, all) else { continue };
        let sum = match (way, delays(model, cause, effect)) {
            (Ok(way), Ok(delay)) => Ok(&way + &delay),
            (Err(element), _) | (_, Err(element)) => Err(element),
        };
        let sum = plus(sum, Element::Actuator(actuator), &device.moves_in);
        quickest = Some(match quickest {
            Some(other) => sooner(other, sum),
            None => sum,
        });
    }
    quickest
}

/// When the drivers surely have the cause, as they are wired; `series`: AND wants all of its parts, and OR any.
fn over_wiring(model: &Model, cause: CauseId, wiring: &Tree<DriverId>, series: bool) -> Option<Sum> {
    let (parts, all) = match wiring {
        Tree::Atom(driver) => return at_solver(model, cause, model.drivers[*driver].solver),
        Tree::And(parts) => (parts.iter().collect::<Vec<_>>(), series),
        Tree::Or(parts) => (parts.iter().collect(), !series),
        // Drivers are wired in series and in parallel only.
        Tree::Not(part) => (vec![part.as_ref()], true),
        Tree::Vote { of, .. } => (of.iter().collect(), true),
    };
    let mut sums = parts.into_iter().map(|part| over_wiring(model, cause, part, series));
    match all {
        true => sums.try_fold(Ok(Exact::zero()), |sum, part| Some(later(sum, part?))),
        false => sums.flatten().reduce(sooner),
    }
}

/// When a solver surely has the cause: after the reaction of the one that evaluates it and the links between them.
fn at_solver(model: &Model, cause: CauseId, solver: SolverId) -> Option<Sum> {
    let own = model.causes[cause].solver;
    if solver != own && !model.access.contains_key(&(Signal::Cause(cause), solver)) {
        return None;
    }
    let reaction = plus(Ok(Exact::zero()), Element::Solver(own), &model.solvers[own].reaction);
    Some(passed_on(model, reaction, Signal::Cause(cause), solver))
}

/// How early an actuator may have moved to a position: after the delays of mark and effect and its shortest time to move.
/// Only what is certain counts: a delay that is not known may be none, and a solver may react at once. `None`: the cause
/// does not demand that position.
pub fn earliest(model: &Model, cause: CauseId, actuator: ActuatorId, position: usize) -> Option<Exact> {
    let certain = |time: &Time| match time {
        Time::Known(time) => time.clone(),
        Time::Unknown => Exact::zero(),
    };
    let element = &model.causes[cause];
    let marks = effects(model, element, actuator, move |other| other == position).map(|effect| {
        let own = element.delays.get(&effect).map_or_else(Exact::zero, certain);
        &own + &certain(&model.effects[effect].delay)
    });
    marks.min().map(|delay| &delay + &model.actuators[actuator].shortest)
}

/// When a solver surely sees what an input measures, counted from the moment at which it does; `step` is not counted where
/// the response is a T90 that says nothing.
pub fn surely_seen(model: &Model, input: InputId, solver: SolverId, step_known: bool) -> Sum {
    let response = &model.inputs[input].response;
    let of = Element::Input(input);
    let step = if step_known { &response.step } else { &Time::Unknown };
    let own = [step, &response.confirmation, &response.filter, &response.transport];
    let sum = own.into_iter().try_fold(Exact::zero(), |sum, time| plus(Ok(sum), of, time));
    passed_on(model, sum, Signal::Input(input), solver)
}
