//! What breaks a claim: section 6 of `docs/meaning.md`.
//!
//! Responsible for the claim's own question, asked of values and positions that are already known.

use std::collections::{BTreeMap, BTreeSet};

use crate::claim::Breach;
use crate::model::{ActuatorId, AtPosition, Device, Door, HazardId, InvariantId, SpaceId};
use crate::situation::ModeChoice;
use crate::syntax::kind::ReleasePlace;

use super::world::{World, every, holds, no, some};
use super::{Impossible, Known};

type Positions = BTreeMap<Device, usize>;

impl World<'_> {
    /// §6: whether the situation breaks the claim.
    pub(super) fn breaks(&self, positions: &Positions) -> Result<bool, Impossible> {
        match &self.claim.breach {
            Breach::NotMet { hazard, onset } => {
                let present = match onset {
                    Some(number) => self.in_case(*hazard, *number)?,
                    None => self.present(*hazard)?,
                };
                Ok(present && !self.met(*hazard, positions)?)
            }
            Breach::Exists { hazard, onset } => self.in_case(*hazard, *onset),
            Breach::Possible => Ok(true),
            Breach::Fires(cause) => self.fires(*cause),
            Breach::FiresFor(cause, hazard) => {
                let element = &self.model.hazards[*hazard];
                let mode = self.situation.mode(self.model, ModeChoice::Holds(element.group));
                let there = mode.is_some_and(|mode| element.exists_in.contains(&mode));
                Ok(there && self.fires(*cause)? && self.present(*hazard)?)
            }
            Breach::Opposed(actuator) => self.opposed(*actuator),
            Breach::Occurs(exclusion) => {
                holds(&self.model.exclusions[*exclusion].never, &|at| Ok(is_at(positions, at)))
            }
            Breach::Broken(invariant) => self.broken(*invariant),
            Breach::LockedIn(space) => self.locked_in(*space, positions),
        }
    }

    /// §6: the hazard is present in the onset case with this number.
    fn in_case(&self, hazard: HazardId, number: usize) -> Result<bool, Impossible> {
        let hazard = &self.model.hazards[hazard];
        match hazard.onset.get(number) {
            Some(case) => self.case_holds(case),
            None => Err(no(format!("{} has no onset case number {}.", hazard.name.tag, number + 1))),
        }
    }

    /// §6: the safe state, read over the positions, holds.
    fn met(&self, hazard: HazardId, positions: &Positions) -> Result<bool, Impossible> {
        holds(&self.model.hazards[hazard].safe_state, &|at| Ok(is_at(positions, at)))
    }

    /// §6: two different positions are demanded by causes that are true and reach a driver, and no winner is declared.
    fn opposed(&self, a: ActuatorId) -> Result<bool, Impossible> {
        let actuator = &self.model.actuators[a];
        let mut demanded = BTreeSet::new();
        for (id, cause) in self.model.causes.iter() {
            let reaches = some(&actuator.drivers, |driver| {
                let solver = self.model.drivers[*driver].solver;
                if self.cause_access(id, solver).is_none() {
                    return Ok(false);
                }
                Ok(matches!(self.knows(id, solver)?, Known::Is(true) | Known::MissingTrips))
            })?;
            if reaches && self.value(id)? {
                demanded.extend((0..actuator.positions.len()).filter(|p| self.sets(cause, a, *p)));
            }
        }
        Ok(demanded.len() > 1 && actuator.winner.is_none())
    }

    /// §6: whenever ∧ ¬then, over demands.
    fn broken(&self, invariant: InvariantId) -> Result<bool, Impossible> {
        let invariant = &self.model.invariants[invariant];
        let whenever = holds(&invariant.whenever, &|at| self.demanded(at))?;
        let then = holds(&invariant.then, &|at| self.demanded(at))?;
        Ok(whenever && !then)
    }

    /// §6: some cause with an effect that sets the actuator to the position has its value.
    fn demanded(&self, at: &AtPosition) -> Result<bool, Impossible> {
        let Device::Actuator(a) = at.device else {
            return Ok(false);
        };
        some(self.model.causes.iter(), |(id, cause)| Ok(self.sets(cause, a, at.position) && self.value(id)?))
    }

    /// §6: people may be inside, and no door lets them out.
    fn locked_in(&self, space: SpaceId, positions: &Positions) -> Result<bool, Impossible> {
        let space = &self.model.spaces[space];
        let shut = every(&space.doors, |door| Ok(held(door, positions) && !has_way_out(door)))?;
        Ok(self.modes_listed(&space.people_in)? && shut)
    }
}

fn is_at(positions: &Positions, at: &AtPosition) -> bool {
    positions.get(&at.device) == Some(&at.position)
}

/// §6: a door is held if its lock is at the position named; a door without lock is not.
fn held(door: &Door, positions: &Positions) -> bool {
    door.held_by.as_ref().is_some_and(|lock| is_at(positions, lock))
}

/// §6: an escape release that is inside, mechanical and without aids.
fn has_way_out(door: &Door) -> bool {
    door.escape_release.as_ref().is_some_and(|release| {
        release.place == ReleasePlace::Inside && release.mechanical && release.aids.is_empty()
    })
}
