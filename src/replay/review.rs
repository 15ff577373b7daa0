//! Breaches about single elements: normal operation, marks, votes, commands, stops, releases. Section 6 of
//! `docs/meaning.md`.

use std::collections::BTreeSet;

use crate::model::{
    ActuatorId, AtPosition, CauseId, Device, HazardId, InputAtom, InputId, ModeId, NormalIn, Observes,
    SpaceId, StopId,
};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};

use super::breach::{Positions, is_at};
use super::world::{World, some};
use super::{Impossible, Known};

impl World<'_> {
    /// §6: the hazard is present in a mode in which it exists.
    pub(super) fn there(&self, hazard: HazardId) -> Result<bool, Impossible> {
        let element = &self.model.hazards[hazard];
        Ok(element.exists_in.contains(&self.mode(element.group)?) && self.present(hazard)?)
    }

    /// The modes that hold, one for each group.
    fn modes_that_hold(&self) -> Result<BTreeSet<ModeId>, Impossible> {
        self.model.groups.ids().map(|group| self.mode(group)).collect()
    }

    /// §6: everything is normal: what the modes that hold say, and where none of them says anything, the plant itself.
    pub(super) fn normal(&self) -> Result<bool, Impossible> {
        let holding = self.modes_that_hold()?;
        let said: Vec<&NormalIn> = holding.iter().flat_map(|mode| &self.model.modes[*mode].normal).collect();
        for (id, quantity) in self.model.quantities.iter() {
            let value = self.situation.number(self.model, NumberChoice::Quantity(id));
            let mut spoken = false;
            for normal in &said {
                match normal {
                    NormalIn::FreeQuantity(about) if *about == id => spoken = true,
                    NormalIn::Range(about, range) if *about == id => {
                        spoken = true;
                        if value < range.low || value > range.high {
                            return Ok(false);
                        }
                    }
                    _ => {}
                }
            }
            match &quantity.normal {
                Some(own) if !spoken && (value < own.low || value > own.high) => return Ok(false),
                _ => {}
            }
        }
        for (id, condition) in self.model.conditions.iter() {
            let value = self.chosen(FactChoice::Condition(id));
            let mut spoken = false;
            for normal in &said {
                match normal {
                    NormalIn::FreeCondition(about) if *about == id => spoken = true,
                    NormalIn::Value(about, wanted) if *about == id => {
                        spoken = true;
                        if value != *wanted {
                            return Ok(false);
                        }
                    }
                    _ => {}
                }
            }
            if !spoken && value != condition.normal {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// §6: armed, everything normal, and the condition false.
    pub(super) fn quiet(&self, cause: CauseId) -> Result<bool, Impossible> {
        Ok(self.armed(cause)? && !self.when(cause)? && self.normal()?)
    }

    /// §6: the mode holds, everything is normal, and nothing it needs is commanded elsewhere.
    pub(super) fn runs(&self, mode: ModeId) -> Result<bool, Impossible> {
        let element = &self.model.modes[mode];
        let contradicted = some(&element.needs, |need| {
            let others = (0..self.model.device_positions(need.device).len()).filter(|p| *p != need.position);
            some(others, |position| self.demanded(&AtPosition { device: need.device, position }))
        })?;
        Ok(self.mode(element.group)? == mode && self.normal()? && !contradicted)
    }

    /// §6: the cause has its value, and no other cause that demands one of the positions has its value.
    pub(super) fn matters(&self, cause: CauseId, at: Option<AtPosition>) -> Result<bool, Impossible> {
        let marks: Vec<(ActuatorId, usize)> = match at {
            Some(AtPosition { device: Device::Actuator(actuator), position }) => vec![(actuator, position)],
            Some(_) => Vec::new(),
            None => {
                let effects = self.model.causes[cause].demands.iter();
                effects.flat_map(|effect| self.model.effects[*effect].set.clone()).collect()
            }
        };
        let shared = some(self.model.causes.iter(), |(id, other)| {
            let same = marks.iter().any(|(actuator, position)| self.sets(other, *actuator, *position));
            Ok(id != cause && same && self.value(id)?)
        })?;
        Ok(self.value(cause)? && !shared)
    }

    /// §6: the vote with this number says trip.
    pub(super) fn vote_trips(&self, cause: CauseId, number: usize) -> Result<bool, Impossible> {
        match self.model.causes[cause].when.trip_votes().get(number) {
            Some(vote) => self.expression(cause, vote, false),
            None => Ok(false),
        }
    }

    /// §6: the hazard is there, and the cause commands what it forbids.
    pub(super) fn harmed(
        &self,
        hazard: HazardId,
        cause: CauseId,
        at: AtPosition,
    ) -> Result<bool, Impossible> {
        let Device::Actuator(actuator) = at.device else { return Ok(false) };
        let commands = self.sets(&self.model.causes[cause], actuator, at.position);
        Ok(commands && self.there(hazard)? && self.value(cause)?)
    }

    /// The positions of an actuator that are demanded over some driver.
    pub(super) fn demanded_over_drivers(&self, a: ActuatorId) -> Result<BTreeSet<usize>, Impossible> {
        let actuator = &self.model.actuators[a];
        let mut demanded = BTreeSet::new();
        for (id, cause) in self.model.causes.iter() {
            let known = some(&actuator.drivers, |driver| {
                let solver = self.model.drivers[*driver].solver;
                if self.cause_access(id, solver).is_none() {
                    return Ok(false);
                }
                Ok(matches!(self.knows(id, solver)?, Known::Is(true) | Known::MissingTrips))
            })?;
            if known {
                demanded.extend((0..actuator.positions.len()).filter(|p| self.sets(cause, a, *p)));
            }
        }
        Ok(demanded)
    }

    /// §6: the hazard is there and not met, while the actuator is commanded to two positions.
    pub(super) fn outvoted(
        &self,
        hazard: HazardId,
        actuator: ActuatorId,
        positions: &Positions,
    ) -> Result<bool, Impossible> {
        let torn = self.demanded_over_drivers(actuator)?.len() > 1;
        Ok(torn && self.there(hazard)? && !self.met(hazard, positions)?)
    }

    /// §6: the stop is pressed where it counts, and some position of its span is not reached.
    pub(super) fn span_missed(&self, stop: StopId, positions: &Positions) -> Result<bool, Impossible> {
        let element = &self.model.stops[stop];
        // Of the modes that arm what reads the stop: whether some hazard is meant, and whether one exists in its mode.
        let (mut meant, mut exists) = (false, false);
        for (_, cause) in self.model.causes.iter() {
            let reads = |atom: &&InputAtom| match atom {
                InputAtom::Is { input, .. } => element.contacts.contains(input),
                _ => false,
            };
            if !cause.when.atoms().iter().any(reads) {
                continue;
            }
            for group in cause.armed.keys() {
                let mode = self.mode(*group)?;
                for (_, hazard) in self.model.hazards.iter().filter(|(_, hazard)| hazard.group == *group) {
                    meant = true;
                    exists |= hazard.exists_in.contains(&mode);
                }
            }
        }
        let reached = element.brings.iter().all(|at| is_at(positions, at));
        Ok((exists || !meant) && self.chosen(FactChoice::Pressed(stop)) && !reached)
    }

    /// What an input observes is so that it should be asserted; a sensor of a quantity says nothing.
    fn should_be_asserted(&self, input: InputId) -> bool {
        match &self.model.inputs[input].observes {
            Observes::Quantity { .. } => true,
            Observes::Condition { condition, negated } => {
                self.chosen(FactChoice::Condition(*condition)) != *negated
            }
            Observes::Loop { contacts, .. } => contacts.iter().any(|contact| {
                let contact = &self.model.contacts[*contact];
                self.chosen(FactChoice::Condition(contact.condition)) != contact.negated
            }),
            Observes::Stop(stop) => self.chosen(FactChoice::Pressed(*stop)),
        }
    }

    /// §6: the release of the door is used in a mode in which the hazard exists, and its safe state is not reached.
    pub(super) fn released(
        &self,
        space: SpaceId,
        door: usize,
        hazard: HazardId,
        positions: &Positions,
    ) -> Result<bool, Impossible> {
        Ok(self.release_used(space, door, hazard) && !self.met(hazard, positions)?)
    }

    /// §6: what the release of a door trips sees it used, in a mode in which the hazard exists.
    pub(super) fn release_used(&self, space: SpaceId, door: usize, hazard: HazardId) -> bool {
        let door = self.model.spaces[space].doors.get(door);
        let Some(release) = door.and_then(|door| door.escape_release.as_ref()) else { return false };
        let used = release.trips.iter().all(|input| self.should_be_asserted(*input));
        let element = &self.model.hazards[hazard];
        let exists = self
            .situation
            .mode(self.model, ModeChoice::Holds(element.group))
            .is_some_and(|mode| element.exists_in.contains(&mode));
        used && exists
    }

    /// §6: one position of the actuator is demanded and no other, and it is elsewhere.
    pub(super) fn overruled(&self, actuator: ActuatorId, positions: &Positions) -> Result<bool, Impossible> {
        let demanded = self.demanded_over_drivers(actuator)?;
        let at = positions.get(&Device::Actuator(actuator));
        Ok(demanded.len() == 1 && demanded.first() != at)
    }
}
