//! A supply or a store that is empty before the hazard is over.
//!
//! # What it checks
//! For every hazard with `lasts`: whatever of its safe state needs energy has supplies that carry on alone for as long, and
//! whatever needs a store has one that lasts as long.
//!
//! # Why it matters
//! The fan runs when the gas comes, and stands again when the battery is empty, while the gas still comes.
//!
//! # How it is decided
//! Read off the model, for every position of the safe state that needs energy: the supply of the actuator and those of its
//! drivers' solvers and relays, in series the shortest and in parallel the longest. A supply carries on for its own `lasts`, after
//! what feeds it does: of `A OR B` the longer, of `A AND B` the shorter. A supply without `lasts` that is `secured` has no end;
//! one that is not secured and has no feeds is taken as lost at once, as the mains are. Stores: `lasts` of each store under
//! `needs` of an actuator with energy or one that stays, and of a passive device. Refuted if a time is less than `lasts` of
//! the hazard, or if it depends on one that is `unknown`. Equal is in order.
//!
//! # What it does not see
//! Supplies without any `lasts` behind them: `energise-to-trip-supply-not-secured` tells those that are not secured. An actuator
//! that stays without energy needs none to stay. A store for a position that is reached without energy. How much is
//! drawn at once: `lasts` is declared for all that draws on it. What the cause needs that demands it: its solver, its inputs
//! and the links to the drivers.
//!
//! # Example
//! The fan hangs on a UPS of 10 min, and fumes must be drawn off for 60 min.
//!
//! # How to resolve
//! A larger battery or tank, a feed that goes on (a generator), or a safe state that needs neither.
//!
//! # References
//! EN 54-4 practice for batteries: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::exact::Exact;
use crate::finding::{Finding, Severity};
use crate::model::{
    ActuatorId, Device, DriverId, Hazard, HazardId, Model, Parents, SharedKind, SupplyId, Time, Tree,
    WithoutEnergy,
};

/// How long something lasts, from the shortest.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Lasts {
    /// It is lost with the mains; nothing says how long anything lasts.
    Lost,
    /// So many seconds.
    For(Exact),
    /// It has no end, or none that is declared.
    On,
}

/// What is taken for a time that is unknown.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Unknown {
    Nothing,
    Enough,
}

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, hazard) in model.hazards.iter() {
        let Some(needed) = &hazard.lasts else { continue };
        let mut devices: Vec<Device> = Vec::new();
        for at in hazard.safe_state.atoms() {
            if devices.contains(&at.device) {
                continue;
            }
            devices.push(at.device);
            let (energised, stores) = match at.device {
                Device::Passive(passive) => (None, Some(&model.passive[passive].parents)),
                Device::Actuator(actuator) => match model.actuators[actuator].without_energy {
                    WithoutEnergy::Goes { off, .. } if off == at.position => (None, None),
                    WithoutEnergy::Goes { .. } => (Some(actuator), Some(&model.actuators[actuator].parents)),
                    WithoutEnergy::Stays => (None, Some(&model.actuators[actuator].parents)),
                },
            };
            let with_energy = |unknown| energised.map(|id| of_actuator(model, id, unknown));
            found.extend(told(
                model,
                (id, hazard),
                at.device,
                "the supplies that it needs carry",
                needed,
                with_energy,
            ));
            let with_store = |unknown| stores.and_then(|parents| of_stores(model, parents, unknown));
            found.extend(told(
                model,
                (id, hazard),
                at.device,
                "the stores that it needs carry",
                needed,
                with_store,
            ));
        }
    }
    merged(found)
}

/// One finding for each hazard and device.
fn merged(found: Vec<Finding>) -> Vec<Finding> {
    let mut all: Vec<Finding> = Vec::new();
    for finding in found {
        match all
            .iter_mut()
            .find(|other| other.hazard == finding.hazard && other.elements == finding.elements)
        {
            Some(other) => {
                other.sentence.push(' ');
                other.sentence.push_str(&finding.sentence);
            }
            None => all.push(finding),
        }
    }
    all
}

fn told(
    model: &Model,
    (id, hazard): (HazardId, &Hazard),
    device: Device,
    what: &str,
    needed: &Time,
    lasts: impl Fn(Unknown) -> Option<Lasts>,
) -> Option<Finding> {
    let (least, most) = (lasts(Unknown::Nothing)?, lasts(Unknown::Enough)?);
    let tag = model.tag(model.device_element(device)).to_string();
    let of = &hazard.name.tag;
    let sentence = match (needed, least, most) {
        // Where everything goes on, or is lost at once, no time is declared that could be compared.
        (_, Lasts::On, _) | (_, _, Lasts::Lost) => return None,
        (Time::Unknown, Lasts::For(_) | Lasts::Lost, _) => {
            format!("{tag} must keep the safe state of {of}, and it is not known for how long.")
        }
        (Time::Known(needed), Lasts::For(least), _) if least >= *needed => return None,
        (Time::Known(needed), _, Lasts::For(most)) if most < *needed => {
            let (needed, most) = alike(needed, &most);
            format!("{tag} must keep the safe state of {of} for {needed}, and {what} on for {most}.")
        }
        (Time::Known(needed), ..) => {
            let (needed, _) = alike(needed, needed);
            format!(
                "{tag} must keep the safe state of {of} for {needed}, and it is not known how long {what} on."
            )
        }
    };
    let place = model.written(of, "lasts").unwrap_or(hazard.name.span);
    let element = model.device_element(device);
    let mut finding = about_element(model, Check::SupplyDoesNotLast, Severity::Serious, element, place);
    finding.hazard = Some(id);
    finding.sentence = sentence;
    finding.also = vec![(model.name(element).span, "what must be kept".to_string())];
    Some(finding)
}

/// Both in minutes if they are whole ones, else in seconds: exact, and in one unit, so that people can compare them.
fn alike(one: &Exact, other: &Exact) -> (String, String) {
    let minutes =
        |time: &Exact| time.checked_div(&Exact::int(60)).filter(|minutes| minutes.floor() == *minutes);
    match (minutes(one), minutes(other)) {
        (Some(one), Some(other)) => (format!("{one} min"), format!("{other} min")),
        _ => (format!("{one} s"), format!("{other} s")),
    }
}

/// How long an actuator can be kept at its position with energy.
fn of_actuator(model: &Model, id: ActuatorId, unknown: Unknown) -> Lasts {
    let actuator = &model.actuators[id];
    let own = of_supply(model, actuator.supply, unknown, 0);
    let logic = actuator.wiring.as_ref().map_or(Lasts::On, |wiring| {
        over(wiring, &|driver: &DriverId| {
            let driver = &model.drivers[*driver];
            let relays = driver.relays.iter().map(|relay| model.relays[*relay].supply);
            let supplies = relays.chain([model.solvers[driver.solver].supply]);
            supplies.map(|supply| of_supply(model, supply, unknown, 0)).min().unwrap_or(Lasts::On)
        })
    });
    own.min(logic)
}

/// The shortest of the stores that an element needs; `None`: it needs none.
fn of_stores(model: &Model, parents: &Parents, unknown: Unknown) -> Option<Lasts> {
    let stores = parents.shared.iter().map(|id| &model.shared[*id]);
    let stores = stores.filter(|shared| shared.kind == SharedKind::Store);
    stores.map(|store| store.lasts.as_ref().map_or(Lasts::On, |lasts| declared(lasts, unknown))).min()
}

fn declared(lasts: &Time, unknown: Unknown) -> Lasts {
    match (lasts, unknown) {
        (Time::Known(time), _) => Lasts::For(time.clone()),
        (Time::Unknown, Unknown::Nothing) => Lasts::For(Exact::zero()),
        (Time::Unknown, Unknown::Enough) => Lasts::On,
    }
}

/// How long a supply carries on without the mains; without a supply there is no end.
fn of_supply(model: &Model, supply: Option<SupplyId>, unknown: Unknown, depth: usize) -> Lasts {
    // A row of supplies as long as this goes round in a ring, which no model has.
    let Some(id) = supply.filter(|_| depth <= model.supplies.len()) else { return Lasts::On };
    let supply = &model.supplies[id];
    let fed = match &supply.fed_by {
        Some(feeds) => over(feeds, &|feed: &SupplyId| of_supply(model, Some(*feed), unknown, depth + 1)),
        None => Lasts::Lost,
    };
    let Some(lasts) = &supply.lasts else { return if supply.secured { Lasts::On } else { fed } };
    match (declared(lasts, unknown), fed) {
        (Lasts::For(own), Lasts::For(fed)) => Lasts::For(&own + &fed),
        (own, Lasts::Lost) => own,
        (_, Lasts::On) | (Lasts::On | Lasts::Lost, _) => Lasts::On,
    }
}

/// All of AND, any of OR, and at least M of a vote last as long.
fn over<A>(tree: &Tree<A>, of: &dyn Fn(&A) -> Lasts) -> Lasts {
    let (parts, needed) = match tree {
        Tree::Atom(atom) => return of(atom),
        // Neither feeds nor drivers stand under NOT.
        Tree::Not(part) => return over(part, of),
        Tree::And(parts) => (parts, parts.len()),
        Tree::Or(parts) => (parts, 1),
        Tree::Vote { m, of } => (of, *m),
    };
    let mut all: Vec<Lasts> = parts.iter().map(|part| over(part, of)).collect();
    all.sort_by(|one, other| other.cmp(one));
    all.into_iter().nth(needed.max(1) - 1).unwrap_or(Lasts::Lost)
}
