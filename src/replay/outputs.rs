//! Drivers, actuators and passive devices: section 5 of `docs/meaning.md`.
//!
//! Responsible for the position of every device. What the positions mean for a claim is `breach`.

use std::collections::BTreeMap;

use crate::model::{
    ActsOn, Actuator, ActuatorId, Cause, Device, Driver, DriverId, Passive, PassiveId, Source, WithoutEnergy,
};
use crate::situation::{FactChoice, NumberChoice};
use crate::syntax::kind::LineKind;

use super::world::{World, holds, no, some};
use super::{Impossible, Known};

impl World<'_> {
    /// §5: the position of every actuator and every passive device.
    pub(super) fn positions(&self) -> Result<BTreeMap<Device, usize>, Impossible> {
        let mut positions = BTreeMap::new();
        for (id, actuator) in self.model.actuators.iter() {
            positions.insert(Device::Actuator(id), self.actuator(id, actuator)?);
        }
        for (id, passive) in self.model.passive.iter() {
            positions.insert(Device::Passive(id), self.passive(id, passive)?);
        }
        Ok(positions)
    }

    /// Whether one of the effects of a cause sets an actuator to a position.
    pub(super) fn sets(&self, cause: &Cause, a: ActuatorId, p: usize) -> bool {
        cause.demands.iter().any(|effect| self.model.effects[*effect].set.contains(&(a, p)))
    }

    /// §5: `demands(d, p)`: some cause that demands it is known to the driver's solver as true.
    pub(super) fn demands(&self, driver: &Driver, p: usize) -> Result<bool, Impossible> {
        some(self.model.causes.iter(), |(id, cause)| {
            if !self.sets(cause, driver.actuator, p) || self.cause_access(id, driver.solver).is_none() {
                return Ok(false);
            }
            Ok(matches!(self.knows(id, driver.solver)?, Known::Is(true) | Known::MissingTrips))
        })
    }

    /// §5.1 of drivers: the solver or a relay may misbehave.
    pub(super) fn driver_may(&self, driver: &Driver) -> bool {
        self.may(Source::Solver(driver.solver))
            || driver.relays.iter().any(|relay| self.may(Source::Relay(*relay)))
    }

    /// §5.2 of drivers: the solver is dead, or a relay has lost its supply.
    pub(super) fn driver_dead(&self, driver: &Driver) -> Result<bool, Impossible> {
        let relays = some(&driver.relays, |relay| self.supply_lost(self.model.relays[*relay].supply))?;
        Ok(self.dead(driver.solver)? || relays)
    }

    /// §5: gives(d), for an actuator that goes to `off` without and to `on` with energy.
    pub(super) fn gives(&self, d: DriverId, off: usize, on: usize) -> Result<bool, Impossible> {
        let driver = &self.model.drivers[d];
        let actuator = &self.model.actuators[driver.actuator];
        // Asked first, so that nothing that is not possible stays hidden behind a stronger rule.
        let (to_off, to_on) = (self.demands(driver, off)?, self.demands(driver, on)?);
        let dead = self.driver_dead(driver)?;
        let either = self.chosen(FactChoice::Gives(d));
        if self.driver_may(driver) {
            return Ok(either);
        }
        if dead {
            return Ok(false);
        }
        Ok(match (to_off, to_on) {
            (true, true) => actuator.winner.map_or(either, |winner| winner == on),
            (true, false) => false,
            (false, true) => true,
            (false, false) => actuator.rest.map_or(either, |rest| rest == on),
        })
    }

    /// §5: drives(d, p), for an actuator that stays without energy; `other` is its other position.
    pub(super) fn drives(&self, d: DriverId, p: usize, other: usize) -> Result<bool, Impossible> {
        let driver = &self.model.drivers[d];
        let actuator = &self.model.actuators[driver.actuator];
        let (to_p, to_other) = (self.demands(driver, p)?, self.demands(driver, other)?);
        let dead = self.driver_dead(driver)?;
        let either = self.chosen(FactChoice::Drives(d, p));
        if self.driver_may(driver) {
            return Ok(either);
        }
        if dead {
            return Ok(false);
        }
        if !to_p && !to_other {
            return Ok(actuator.rest.map_or(either, |rest| rest == p));
        }
        Ok(to_p && !(to_other && actuator.winner == Some(other)))
    }

    /// §5: position of an actuator; the first of five that applies.
    fn actuator(&self, id: ActuatorId, actuator: &Actuator) -> Result<usize, Impossible> {
        let device = Device::Actuator(id);
        let chosen = self.situation.position(device);
        // 1
        if self.may(Source::Actuator(id)) && self.chosen(FactChoice::DeviceDeviates(device)) {
            if self.wild(Source::Actuator(id)) || actuator.fails.contains(&chosen) {
                return Ok(chosen);
            }
            return Err(fails_elsewhere(&actuator.name.tag, &actuator.positions, chosen));
        }
        // 2 and 3; an actuator that stays may have been left anywhere
        let disturbed = self.routes_may(&actuator.routes);
        let open = disturbed && self.chosen(FactChoice::ActuatorLineOpen(id));
        if self.supply_lost(actuator.supply)? || open {
            return Ok(match actuator.without_energy {
                WithoutEnergy::Goes { off, .. } => off,
                WithoutEnergy::Stays => chosen,
            });
        }
        if disturbed && actuator.line == LineKind::Plain && self.chosen(FactChoice::ActuatorLineHeld(id)) {
            let energised = self.chosen(FactChoice::Energised(id));
            return Ok(match actuator.without_energy {
                WithoutEnergy::Goes { off, on } => {
                    if energised {
                        on
                    } else {
                        off
                    }
                }
                WithoutEnergy::Stays => chosen,
            });
        }
        // 4
        if actuator.drivers.is_empty() {
            return Ok(actuator.rest.unwrap_or(chosen));
        }
        // 5
        self.driven(actuator, chosen)
    }

    /// §5.5 of actuators: what the wiring of the drivers gives.
    fn driven(&self, actuator: &Actuator, chosen: usize) -> Result<usize, Impossible> {
        let tag = &actuator.name.tag;
        let Some(wiring) = &actuator.wiring else {
            return Err(no(format!("{tag} has drivers, but nothing says how they are wired.")));
        };
        match actuator.without_energy {
            WithoutEnergy::Goes { off, on } => {
                Ok(if holds(wiring, &|d| self.gives(*d, off, on))? { on } else { off })
            }
            WithoutEnergy::Stays if actuator.positions.len() == 2 => {
                let first = holds(wiring, &|d| self.drives(*d, 0, 1))?;
                let second = holds(wiring, &|d| self.drives(*d, 1, 0))?;
                Ok(match (first, second) {
                    (true, false) => 0,
                    (false, true) => 1,
                    _ => chosen,
                })
            }
            WithoutEnergy::Stays => {
                Err(no(format!("{tag} stays without energy, but has not two positions.")))
            }
        }
    }

    /// §5, passive device.
    fn passive(&self, id: PassiveId, passive: &Passive) -> Result<usize, Impossible> {
        let device = Device::Passive(id);
        let source = Source::Passive(id);
        if self.may(source) && self.chosen(FactChoice::DeviceDeviates(device)) {
            let chosen = self.situation.position(device);
            if self.wild(source) || passive.fails.contains(&chosen) {
                return Ok(chosen);
            }
            return Err(fails_elsewhere(&passive.name.tag, &passive.positions, chosen));
        }
        Ok(match &passive.acts {
            Some((on, target)) if self.acts(id, on) => *target,
            _ => passive.rest,
        })
    }

    /// §5: whether `quantity + Tolerance` compares, or the condition holds (is absent).
    fn acts(&self, id: PassiveId, on: &ActsOn) -> bool {
        match on {
            ActsOn::Quantity { quantity, relation, bound, .. } => {
                let value = self.situation.number(self.model, NumberChoice::Quantity(*quantity));
                let felt = &value + &self.situation.number(self.model, NumberChoice::Tolerance(id));
                relation.holds(&felt, bound)
            }
            ActsOn::Condition { condition, negated } => {
                self.chosen(FactChoice::Condition(*condition)) != *negated
            }
        }
    }
}

fn fails_elsewhere(tag: &str, positions: &[String], chosen: usize) -> Impossible {
    let position = positions.get(chosen).map_or("an unknown position", String::as_str);
    no(format!("{tag} stands at {position} by a fault of its own, but does not fail there."))
}
