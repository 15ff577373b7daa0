//! What breaks a claim: section 6 of `docs/meaning.md`.
//!
//! Responsible for the claim's own question, asked of values and positions that are already known.

use std::collections::BTreeMap;

use crate::claim::Breach;
use crate::model::{ActuatorId, AtPosition, Device, Door, HazardId, InvariantId, SpaceId};
use crate::syntax::kind::ReleasePlace;

use super::Impossible;
use super::world::{World, every, holds, no, some};

pub(super) type Positions = BTreeMap<Device, usize>;

impl World<'_> {
    /// §6: whether the situation breaks the claim.
    pub(super) fn breaks(&self, breach: &Breach, positions: &Positions) -> Result<bool, Impossible> {
        match breach {
            Breach::NotMet { hazard, onset } => {
                let present = match onset {
                    Some(number) => self.in_case(*hazard, *number)?,
                    None => self.present(*hazard)?,
                };
                Ok(present && !self.met(*hazard, positions)?)
            }
            Breach::Blind(hazard) => Ok(self.there(*hazard)? && !self.met(*hazard, positions)?),
            Breach::Late { hazard, timing } => self.late(*hazard, timing, positions),
            Breach::ActsInTime { cause, hazard, timing } => self.acts_in_time(*cause, *hazard, timing),
            Breach::Exists { hazard, onset } => self.in_case(*hazard, *onset),
            Breach::Possible => Ok(true),
            Breach::Fires(cause) => self.fires(*cause),
            Breach::FiresFor(cause, hazard) => Ok(self.there(*hazard)? && self.fires(*cause)?),
            Breach::Opposed(actuator) => self.opposed(*actuator),
            Breach::Occurs(exclusion) => {
                holds(&self.model.exclusions[*exclusion].never, &|at| Ok(is_at(positions, at)))
            }
            Breach::Broken(invariant) => self.broken(*invariant),
            Breach::LockedIn(space) => self.locked_in(*space, None, positions),
            Breach::ReleaseFails(space, door) => self.locked_in(*space, Some(*door), positions),
            Breach::Inside(space) => self.modes_listed(&self.model.spaces[*space].people_in),
            Breach::ReleaseUsed { space, door, hazard } => Ok(self.release_used(*space, *door, *hazard)),
            Breach::Applies(invariant) => {
                holds(&self.model.invariants[*invariant].whenever, &|at| self.demanded(at))
            }
            Breach::Quiet(cause) => self.quiet(*cause),
            Breach::Runs(mode) => self.runs(*mode),
            Breach::Matters(cause, at) => self.matters(*cause, *at),
            Breach::Unled(cause, others) => {
                let led = some(others, |other| self.value(*other))?;
                Ok(self.fires(*cause)? && !led)
            }
            Breach::VoteTrips(cause, number) => self.vote_trips(*cause, *number),
            Breach::Harmed { hazard, cause, at } => self.harmed(*hazard, *cause, *at),
            Breach::Forced { hazard, source, at } => self.forced(*hazard, *source, at, positions),
            Breach::Outvoted { hazard, actuator } => self.outvoted(*hazard, *actuator, positions),
            Breach::Together(hazards) => every(hazards, |hazard| self.there(*hazard)),
            Breach::Armed(cause) => self.armed(*cause),
            Breach::SpanMissed(stop) => self.span_missed(*stop, positions),
            Breach::Released { space, door, hazard } => self.released(*space, *door, *hazard, positions),
            Breach::Overruled(actuator) => self.overruled(*actuator, positions),
            Breach::Overdrawn(machine) => Ok(self.load(*machine)?.is_some_and(|load| load.exceeds())),
            Breach::RunBoth(one, other) => self.run_both(*one, *other),
            Breach::Clash(one, other) => self.clash(*one, *other),
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
    pub(super) fn met(&self, hazard: HazardId, positions: &Positions) -> Result<bool, Impossible> {
        holds(&self.model.hazards[hazard].safe_state, &|at| Ok(is_at(positions, at)))
    }

    /// §6: two different positions are demanded over drivers, and no winner is declared.
    fn opposed(&self, a: ActuatorId) -> Result<bool, Impossible> {
        Ok(self.demanded_over_drivers(a)?.len() > 1 && self.model.actuators[a].winner.is_none())
    }

    /// §6: whenever ∧ ¬then, over demands.
    fn broken(&self, invariant: InvariantId) -> Result<bool, Impossible> {
        let invariant = &self.model.invariants[invariant];
        let whenever = holds(&invariant.whenever, &|at| self.demanded(at))?;
        let then = holds(&invariant.then, &|at| self.demanded(at))?;
        Ok(whenever && !then)
    }

    /// §6: some cause with an effect that sets the actuator to the position has its value.
    pub(super) fn demanded(&self, at: &AtPosition) -> Result<bool, Impossible> {
        let Device::Actuator(a) = at.device else {
            return Ok(false);
        };
        some(self.model.causes.iter(), |(id, cause)| Ok(self.sets(cause, a, at.position) && self.value(id)?))
    }

    /// §6: people may be inside, and no door lets them out; the release of one of them may fail.
    fn locked_in(
        &self,
        space: SpaceId,
        failing: Option<usize>,
        positions: &Positions,
    ) -> Result<bool, Impossible> {
        let space = &self.model.spaces[space];
        let shut = every(space.doors.iter().enumerate(), |(number, door)| {
            Ok(held(door, positions) && (failing == Some(number) || !has_way_out(door)))
        })?;
        Ok(self.modes_listed(&space.people_in)? && shut)
    }
}

pub(super) fn is_at(positions: &Positions, at: &AtPosition) -> bool {
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
