//! The reference simulator: evaluates one complete situation, element by element, as `docs/meaning.md` says.
//!
//! Responsible for two answers: whether a situation is possible under a claim, and whether it breaks the claim.
//! It shares only data with the solver's encoding, no rule, so that a refutation counts only if both agree.
//! It searches nothing, knows no time and writes no text but the reason why a situation is not possible.
//!
//! One module per part of `docs/meaning.md`: [`possible`] section 1, [`faults`] section 2, [`inputs`] section 3,
//! [`logic`] section 4, [`outputs`] section 5, [`breach`] section 6.

mod ahead;
mod breach;
mod capacity;
mod faults;
mod inputs;
mod logic;
mod loss;
mod outputs;
mod possible;
mod review;
mod spell;
#[cfg(test)]
mod tests;
mod time;
mod two_modes;
mod world;

pub use capacity::{Load, load};

use std::collections::{BTreeMap, BTreeSet};

use crate::claim::{Breach, Claim};
use crate::exact::Exact;
use crate::model::{
    AtPosition, CauseId, Device, HazardId, InputId, LinkId, ModeId, ModeInputId, Model, SolverId, SupplyId,
};
use crate::situation::Situation;

use world::World;

/// Why a situation is not possible under a claim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Impossible {
    /// A plain sentence that names the elements by their tags.
    pub reason: String,
}

/// A value that a solver takes from an input.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Value {
    /// The reading of a sensor, in the base unit of its kind.
    Number(Exact),
    /// Whether a switch, loop or stop contact is asserted.
    Asserted(bool),
}

/// What a solver sees of an input: a value with status *ok*, or one of the other statuses.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Seen {
    /// Status ok.
    Shows(Value),
    /// Status bad.
    Bad,
    /// Nothing arrives, which counts as a vote to trip.
    MissingTrips,
    /// Nothing arrives, which counts as no vote to trip.
    MissingNoTrip,
}

/// What a solver knows of a cause.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Known {
    /// That it is true or false.
    Is(bool),
    /// Nothing arrives, which makes the reference true, negated or not.
    MissingTrips,
    /// Nothing arrives, which makes the reference false, negated or not.
    MissingNoTrip,
}

/// How an element of a safe state stands to the time that its hazard leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Late {
    /// It is there in time.
    InTime,
    /// It is there so many seconds too late.
    By(Exact),
    /// It is there, and how long it takes is unknown.
    Unknown,
    /// It is not there in the end.
    NotAtAll,
}

/// An element of a safe state, and whether it is there in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reached {
    /// The device at its position.
    pub at: AtPosition,
    /// How it stands.
    pub late: Late,
    /// Causes that demand it elsewhere and may do so until after the time that may be used, though not in the end.
    pub kept_by: Vec<CauseId>,
}

/// What happens in one situation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Replay {
    /// Whether the situation breaks the claim.
    pub breaks: bool,
    /// Position of every actuator and passive device, by its number in the device's list.
    pub positions: BTreeMap<Device, usize>,
    /// Value of every cause at its own solver, memory included.
    pub causes: BTreeMap<CauseId, bool>,
    /// Whether the condition of every cause is true at its own solver, armed or not.
    pub conditions: BTreeMap<CauseId, bool>,
    /// Whether every cause is armed by the modes that its own solver knows.
    pub armed: BTreeMap<CauseId, bool>,
    /// What every solver sees of every input that it is wired to or that reaches it over a link.
    pub seen: BTreeMap<(InputId, SolverId), Seen>,
    /// What every solver knows of every cause that it evaluates or that reaches it over a link.
    pub known: BTreeMap<(CauseId, SolverId), Known>,
    /// What every mode input shows every solver that it tells.
    pub shown_modes: BTreeMap<(ModeInputId, SolverId), ModeId>,
    /// Links that a solver which they connect sees as lost.
    pub lost_links: BTreeSet<(LinkId, SolverId)>,
    /// Solvers without supply.
    pub dead: BTreeSet<SolverId>,
    /// Supplies that are lost.
    pub lost: BTreeSet<SupplyId>,
    /// For every hazard, which of its onset cases hold, in the order of the cases.
    pub onset: BTreeMap<HazardId, Vec<bool>>,
    /// Of a claim about time: the elements of the safe state in the first onset case that is not met in time.
    pub reached: Vec<Reached>,
}

/// Evaluates one situation of a model under a claim.
///
/// # Errors
/// [`Impossible`] if the situation does not belong to the claim: a choice out of its range, a coupling that does not
/// hold, a fault or override that the claim does not allow, a deviation that the declared failure directions rule
/// out. Also if an element depends on itself other than from the evaluation before, which no complete model does.
pub fn replay(model: &Model, claim: &Claim, situation: &Situation) -> Result<Replay, Impossible> {
    let world = World::new(model, claim, situation);
    world.check_possible()?;
    let positions = world.positions()?;
    let mut replay = Replay {
        breaks: world.breaks(&claim.breach, &positions)?,
        positions,
        causes: BTreeMap::new(),
        conditions: BTreeMap::new(),
        armed: BTreeMap::new(),
        seen: BTreeMap::new(),
        known: BTreeMap::new(),
        shown_modes: BTreeMap::new(),
        lost_links: BTreeSet::new(),
        dead: BTreeSet::new(),
        lost: BTreeSet::new(),
        onset: BTreeMap::new(),
        reached: Vec::new(),
    };
    if let Breach::Late { hazard, timing } = &claim.breach {
        replay.reached = world.reached(*hazard, timing, &replay.positions)?;
    }
    world.tell_inputs(&mut replay)?;
    world.tell_causes(&mut replay)?;
    world.tell_supplies(&mut replay)?;
    for (id, hazard) in model.hazards.iter() {
        let cases: Result<Vec<bool>, Impossible> =
            hazard.onset.iter().map(|case| world.case_holds(case)).collect();
        replay.onset.insert(id, cases?);
    }
    Ok(replay)
}

/// Whether one situation belongs to the claims that differ from this one by their breaches only, and which of those it
/// breaks, as [`replay`] decides it, without telling what happens.
///
/// # Errors
/// As [`replay`].
pub fn breaks_each(
    model: &Model,
    claim: &Claim,
    breaches: &[Breach],
    situation: &Situation,
) -> Result<Vec<bool>, Impossible> {
    let world = World::new(model, claim, situation);
    world.check_possible()?;
    let positions = world.positions()?;
    breaches
        .iter()
        .map(|breach| {
            if let Some(hazard) = breach.hazard() {
                world.check_never_together(hazard)?;
            }
            world.breaks(breach, &positions)
        })
        .collect()
}

/// Most sets of positions that are tried one by one.
const MOST_POSITIONS: usize = 1_000_000;

/// Whether one set of positions puts all of these hazards into their safe states without a position that one of them
/// forbids. Tries every set of positions of the devices that they name; `None` if there are more than 1,000,000.
pub fn common_positions(model: &Model, hazards: &BTreeSet<HazardId>) -> Option<bool> {
    let named = hazards.iter().map(|hazard| &model.hazards[*hazard]);
    let devices: BTreeSet<Device> = named
        .flat_map(|hazard| hazard.safe_state.atoms().into_iter().chain(&hazard.forbids).map(|at| at.device))
        .collect();
    let mut sets: Vec<BTreeMap<Device, usize>> = vec![BTreeMap::new()];
    for device in devices {
        let count = model.device_positions(device).len();
        if sets.len().saturating_mul(count) > MOST_POSITIONS {
            return None;
        }
        sets = sets
            .into_iter()
            .flat_map(|set| {
                (0..count).map(move |position| {
                    let mut next = set.clone();
                    next.insert(device, position);
                    next
                })
            })
            .collect();
    }
    Some(sets.iter().any(|set| {
        hazards.iter().all(|hazard| {
            let hazard = &model.hazards[*hazard];
            let safe = world::holds(&hazard.safe_state, &|at| Ok(breach::is_at(set, at))).unwrap_or(false);
            safe && !hazard.forbids.iter().any(|at| breach::is_at(set, at))
        })
    }))
}

impl World<'_> {
    /// Every input at every solver that it reaches; all are evaluated, also those that no cause uses, so that a
    /// deviation which is not possible is found wherever it is.
    fn tell_inputs(&self, replay: &mut Replay) -> Result<(), Impossible> {
        for (input, solver) in self.input_ends() {
            replay.seen.insert((input, solver), self.sees(input, solver)?);
        }
        for (id, mode_input) in self.model.mode_inputs.iter() {
            for solver in &mode_input.tells {
                replay.shown_modes.insert((id, *solver), self.shown(id, *solver)?);
            }
        }
        Ok(())
    }

    fn tell_causes(&self, replay: &mut Replay) -> Result<(), Impossible> {
        for id in self.model.causes.ids() {
            replay.causes.insert(id, self.value(id)?);
            replay.conditions.insert(id, self.when(id)?);
            replay.armed.insert(id, self.armed(id)?);
        }
        for (cause, solver) in self.cause_ends() {
            replay.known.insert((cause, solver), self.knows(cause, solver)?);
        }
        Ok(())
    }

    fn tell_supplies(&self, replay: &mut Replay) -> Result<(), Impossible> {
        for id in self.model.supplies.ids() {
            if self.lost(id)? {
                replay.lost.insert(id);
            }
        }
        for id in self.model.solvers.ids() {
            if self.dead(id)? {
                replay.dead.insert(id);
            }
        }
        for (id, link) in self.model.links.iter() {
            for solver in &link.connects {
                if self.link_lost(id, *solver)? {
                    replay.lost_links.insert((id, *solver));
                }
            }
        }
        Ok(())
    }
}
