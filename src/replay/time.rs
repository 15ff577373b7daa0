//! When things are reached: section 7 of `docs/meaning.md`.
//!
//! Responsible for the moment by which each signal, demand and position is there at the latest, counted from the beginning
//! of harm: a reading with a head start has a moment before 0. Nothing is compared before the end, where the moment of
//! the safe state stands against the time that the hazard leaves.

use crate::claim::{Timing, Unknown};
use crate::exact::Exact;
use crate::model::{
    ActsOn, Actuator, ActuatorId, AtPosition, CauseId, Device, Driver, DriverId, HazardId, Passive,
    PassiveId, Signal, SolverId, Time, Tree, WithoutEnergy,
};
use crate::situation::FactChoice;

use super::breach::{Positions, is_at};
use super::spell::for_good;
use super::world::{World, no};
use super::{Impossible, Late, Reached};

/// By when something is there.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Moment {
    /// It was there before, however long ago.
    Before,
    /// Seconds after the beginning of harm; below 0 with a head start.
    At(Exact),
    /// Never, or nobody knows when.
    Never,
}

impl Moment {
    pub(super) fn now() -> Self {
        Moment::At(Exact::zero())
    }

    pub(super) fn when(holds: bool, moment: Moment) -> Self {
        if holds { moment } else { Moment::Never }
    }
}

/// What a moment is asked for: one onset case of one hazard.
#[derive(Clone, Copy)]
pub(super) struct Clock<'a> {
    pub(super) hazard: HazardId,
    pub(super) case: usize,
    pub(super) timing: &'a Timing,
    /// Asked of what has to end.
    pub(super) ending: bool,
}

impl World<'_> {
    /// §7: some onset case holds, and its safe state is not there in time.
    pub(super) fn late(
        &self,
        hazard: HazardId,
        timing: &Timing,
        positions: &Positions,
    ) -> Result<bool, Impossible> {
        let mut late = false;
        for (number, case) in self.model.hazards[hazard].onset.iter().enumerate() {
            let clock = Clock { hazard, case: number, timing, ending: false };
            let reached = self.safe_by(&clock, positions)?;
            late |= self.case_holds(case)? && !self.allows(&clock, &reached);
        }
        Ok(late)
    }

    /// The elements of the safe state in the first onset case that is not met in time.
    pub(super) fn reached(
        &self,
        hazard: HazardId,
        timing: &Timing,
        positions: &Positions,
    ) -> Result<Vec<Reached>, Impossible> {
        let element = &self.model.hazards[hazard];
        for (number, case) in element.onset.iter().enumerate() {
            let clock = Clock { hazard, case: number, timing, ending: false };
            let safe = self.safe_by(&clock, positions)?;
            if !self.case_holds(case)? || self.allows(&clock, &safe) {
                continue;
            }
            let available = self.available(&clock);
            let mut reached: Vec<Reached> = Vec::new();
            for at in element.safe_state.atoms() {
                let late = match (self.device_by(at, positions, &clock)?, &available) {
                    _ if !is_at(positions, at) => Late::NotAtAll,
                    (Moment::Before, _) => Late::InTime,
                    (Moment::At(moment), Some(available)) if moment <= *available => Late::InTime,
                    (Moment::At(moment), Some(available)) => Late::By(&moment - available),
                    (Moment::At(_), None) | (Moment::Never, _) => Late::Unknown,
                };
                if !reached.iter().any(|other| other.at == *at) {
                    let kept_by = match late {
                        Late::By(_) | Late::Unknown => self.kept_by(at, &clock)?,
                        Late::InTime | Late::NotAtAll => Vec::new(),
                    };
                    reached.push(Reached { at: *at, late, kept_by });
                }
            }
            return Ok(reached);
        }
        Ok(Vec::new())
    }

    /// §7: some onset case holds, and the cause commands a position of the safe state in time.
    pub(super) fn acts_in_time(
        &self,
        cause: CauseId,
        hazard: HazardId,
        timing: &Timing,
    ) -> Result<bool, Impossible> {
        let element = &self.model.hazards[hazard];
        let mut found = false;
        for (number, case) in element.onset.iter().enumerate() {
            let clock = Clock { hazard, case: number, timing, ending: false };
            for at in element.safe_state.atoms() {
                let Device::Actuator(a) = at.device else { continue };
                let actuator = &self.model.actuators[a];
                for d in &actuator.drivers {
                    let solver = self.model.drivers[*d].solver;
                    if !self.sets(&self.model.causes[cause], a, at.position)
                        || self.cause_access(cause, solver).is_none()
                    {
                        continue;
                    }
                    let fires = for_good(self.fires_from(cause, &clock)?);
                    let told = self.over_links(fires, Signal::Cause(cause), solver, timing);
                    let told = self.marked(told, cause, a, at.position, timing);
                    let moved = self.after(told, &actuator.moves_in, timing);
                    found |= self.case_holds(case)? && self.allows(&clock, &moved);
                }
            }
        }
        Ok(found)
    }

    /// §7: by when the safe state is there.
    pub(super) fn safe_by(&self, clock: &Clock<'_>, positions: &Positions) -> Result<Moment, Impossible> {
        let safe = &self.model.hazards[clock.hazard].safe_state;
        latest(safe, &mut |at| self.device_by(at, positions, clock))
    }

    /// §7: f · (T − E); `None` where it is unknown and taken as nothing.
    fn available(&self, clock: &Clock<'_>) -> Option<Exact> {
        let hazard = &self.model.hazards[clock.hazard];
        let within = match (&hazard.within, &hazard.after_set_point) {
            (Time::Known(within), _) => within.clone(),
            (Time::Unknown, Some(_)) => Exact::zero(),
            (Time::Unknown, None) => return None,
        };
        let leaving = match (&hazard.evacuation, clock.timing.unknown) {
            (Time::Known(time), _) => time.clone(),
            (Time::Unknown, Unknown::Nothing) => Exact::zero(),
            (Time::Unknown, Unknown::TooLong) => return None,
        };
        Some(&(&within - &leaving) * &hazard.usable)
    }

    /// §7: a moment is not after that.
    fn allows(&self, clock: &Clock<'_>, moment: &Moment) -> bool {
        match (moment, self.available(clock)) {
            (Moment::Before, _) => true,
            (Moment::At(moment), Some(available)) => *moment <= available,
            (Moment::At(_), None) | (Moment::Never, _) => false,
        }
    }

    /// §7: a moment and a time more.
    pub(super) fn after(&self, moment: Moment, time: &Time, timing: &Timing) -> Moment {
        match (moment, time, timing.unknown) {
            (Moment::At(at), Time::Known(time), _) => Moment::At(&at + time),
            (Moment::At(at), Time::Unknown, Unknown::Nothing) => Moment::At(at),
            (Moment::At(_), Time::Unknown, Unknown::TooLong) => Moment::Never,
            (moment @ (Moment::Before | Moment::Never), _, _) => moment,
        }
    }

    /// §7: … and the quickest mark by which a cause sets an actuator to a position.
    fn marked(&self, moment: Moment, c: CauseId, a: ActuatorId, p: usize, timing: &Timing) -> Moment {
        let cause = &self.model.causes[c];
        let marks = cause.demands.iter().filter(|effect| self.model.effects[**effect].set.contains(&(a, p)));
        let each = marks.map(|effect| {
            let own = cause.delays.get(effect).cloned().unwrap_or(Time::Known(Exact::zero()));
            let demanded = self.after(moment.clone(), &own, timing);
            self.after(demanded, &self.model.effects[*effect].delay, timing)
        });
        each.min().unwrap_or(Moment::Never)
    }

    fn device_by(
        &self,
        at: &AtPosition,
        positions: &Positions,
        clock: &Clock<'_>,
    ) -> Result<Moment, Impossible> {
        let reached = match at.device {
            Device::Actuator(id) => self.actuator_from(id, at.position, clock)?,
            Device::Passive(id) => self.passive_from(id, at.position, clock),
        };
        // Where it does not end at the position, it is never there for good.
        Ok(Moment::when(is_at(positions, at), reached))
    }

    /// §7: a passive device that moves needs its own comparison and its travel.
    fn passive_from(&self, id: PassiveId, p: usize, clock: &Clock<'_>) -> Moment {
        let passive = &self.model.passive[id];
        let Some((on, target)) = &passive.acts else { return Moment::Before };
        let stuck = self.may(crate::model::Source::Passive(id))
            && self.chosen(FactChoice::DeviceDeviates(Device::Passive(id)));
        if stuck {
            return Moment::Before;
        }
        if *target != p {
            // It may have acted until harm began, and has to come back then.
            return self.after(Moment::now(), &passive.moves_in, clock.timing);
        }
        self.acts_from(passive, on, clock)
    }

    fn acts_from(&self, passive: &Passive, on: &ActsOn, clock: &Clock<'_>) -> Moment {
        let begins = match on {
            ActsOn::Quantity { quantity, relation, bound, accuracy } => {
                self.earlier(*quantity, *relation, bound, accuracy, None, clock)
            }
            ActsOn::Condition { .. } => Moment::now(),
        };
        self.after(begins, &passive.moves_in, clock.timing)
    }

    fn actuator_from(&self, id: ActuatorId, p: usize, clock: &Clock<'_>) -> Result<Moment, Impossible> {
        let actuator = &self.model.actuators[id];
        let device = Device::Actuator(id);
        let deviates =
            self.may(crate::model::Source::Actuator(id)) && self.chosen(FactChoice::DeviceDeviates(device));
        let disturbed = self.routes_may(&actuator.routes);
        let open = disturbed && self.chosen(FactChoice::ActuatorLineOpen(id));
        let held = disturbed
            && actuator.line == crate::syntax::kind::LineKind::Plain
            && self.chosen(FactChoice::ActuatorLineHeld(id));
        let dark = self.supply_lost(actuator.supply)? || open;
        let Some(wiring) = &actuator.wiring else { return Ok(Moment::Before) };
        if deviates || dark || held {
            return Ok(Moment::Before);
        }
        match actuator.without_energy {
            WithoutEnergy::Goes { off, on } if p == off || p == on => {
                let energised = p == on;
                wired(wiring, energised, &mut |d, energised| {
                    self.driver_from(d, id, actuator, (off, on), energised, clock)
                })
            }
            WithoutEnergy::Goes { .. } => Ok(Moment::Before),
            WithoutEnergy::Stays => {
                if self.situation.position(device) == p {
                    // What moves it away must have ended.
                    let mut away = Moment::Before;
                    for driver in &actuator.drivers {
                        let solver = self.model.drivers[*driver].solver;
                        away = away.max(self.ended_from(id, 1 - p.min(1), solver, clock)?);
                    }
                    let here = wired(wiring, true, &mut |d, _| self.drive_from(d, id, actuator, p, clock))?;
                    let away = self.after(away, &actuator.moves_in, clock.timing);
                    return Ok(here.min(away));
                }
                wired(wiring, true, &mut |d, _| self.drive_from(d, id, actuator, p, clock))
            }
        }
    }

    /// §7: by when a driver gives (or withholds) energy and the actuator has moved.
    fn driver_from(
        &self,
        d: DriverId,
        id: ActuatorId,
        actuator: &Actuator,
        (off, on): (usize, usize),
        energised: bool,
        clock: &Clock<'_>,
    ) -> Result<Moment, Impossible> {
        if self.gives(d, off, on)? != energised {
            return Ok(Moment::Never);
        }
        let driver = &self.model.drivers[d];
        let (p, other) = if energised { (on, off) } else { (off, on) };
        let idle = actuator.rest.map_or(self.chosen(FactChoice::Gives(d)), |rest| rest == on) == energised;
        self.moved(driver, id, actuator, (p, other), idle, clock, self.driver_dead(driver)?)
    }

    fn drive_from(
        &self,
        d: DriverId,
        id: ActuatorId,
        actuator: &Actuator,
        p: usize,
        clock: &Clock<'_>,
    ) -> Result<Moment, Impossible> {
        let other = 1 - p.min(1);
        if !self.drives(d, p, other)? {
            return Ok(Moment::Never);
        }
        let driver = &self.model.drivers[d];
        let idle = actuator.rest.map_or(self.chosen(FactChoice::Drives(d, p)), |rest| rest == p);
        self.moved(driver, id, actuator, (p, other), idle, clock, false)
    }

    /// The earliest of what a driver does by itself, by losing its energy or its solver, or by being told.
    #[allow(clippy::too_many_arguments)]
    fn moved(
        &self,
        driver: &Driver,
        id: ActuatorId,
        actuator: &Actuator,
        (p, other): (usize, usize),
        idle: bool,
        clock: &Clock<'_>,
        dead: bool,
    ) -> Result<Moment, Impossible> {
        let ended = self.ended_from(id, other, driver.solver, clock)?;
        let before = Moment::when(idle, ended.clone());
        let mut told = Moment::Never;
        for (cause, element) in self.model.causes.iter() {
            if self.sets(element, id, p) && self.cause_access(cause, driver.solver).is_some() {
                let known = for_good(self.known_from(cause, driver.solver, true, clock)?);
                told = told.min(self.marked(known, cause, id, p, clock.timing));
            }
        }
        // What does not lose against it must have ended.
        if actuator.winner != Some(p) {
            told = told.max(ended);
        }
        let of_itself = Moment::when(dead || self.driver_may(driver), Moment::now());
        Ok(self.after(before.min(told).min(of_itself), &actuator.moves_in, clock.timing))
    }

    /// Causes that demand the actuator elsewhere, do not lose, and end later than the time that may be used.
    fn kept_by(&self, at: &AtPosition, clock: &Clock<'_>) -> Result<Vec<CauseId>, Impossible> {
        let Device::Actuator(id) = at.device else { return Ok(Vec::new()) };
        let actuator = &self.model.actuators[id];
        let clock = Clock { ending: true, ..*clock };
        let mut found = Vec::new();
        for (cause, element) in self.model.causes.iter().filter(|_| actuator.winner != Some(at.position)) {
            let elsewhere =
                (0..actuator.positions.len()).any(|p| p != at.position && self.sets(element, id, p));
            for driver in actuator.drivers.iter().filter(|_| elsewhere && !found.contains(&cause)) {
                let solver = self.model.drivers[*driver].solver;
                if self.cause_access(cause, solver).is_some() && !self.value(cause)? {
                    let ended = self.forgotten_from(cause, solver, &clock)?;
                    if !self.allows(&clock, &self.after(ended, &actuator.moves_in, clock.timing)) {
                        found.push(cause);
                        break;
                    }
                }
            }
        }
        Ok(found)
    }

    /// §7: by when no cause demands a position of an actuator through a solver any more.
    fn ended_from(
        &self,
        id: ActuatorId,
        p: usize,
        solver: SolverId,
        clock: &Clock<'_>,
    ) -> Result<Moment, Impossible> {
        let clock = Clock { ending: true, ..*clock };
        let mut last = Moment::Before;
        for (cause, element) in self.model.causes.iter() {
            if self.sets(element, id, p) && self.cause_access(cause, solver).is_some() {
                last = last.max(self.forgotten_from(cause, solver, &clock)?);
            }
        }
        Ok(last)
    }
}

/// By when at least so many of these are there.
pub(super) fn when_so_many(mut moments: Vec<Moment>, needed: usize) -> Moment {
    moments.sort();
    match needed.checked_sub(1) {
        None => Moment::Before,
        Some(last) => moments.into_iter().nth(last).unwrap_or(Moment::Never),
    }
}

/// By when a combination without NOT is there.
fn latest(
    tree: &Tree<AtPosition>,
    atom: &mut dyn FnMut(&AtPosition) -> Result<Moment, Impossible>,
) -> Result<Moment, Impossible> {
    let (parts, needed) = match tree {
        Tree::Atom(at) => return atom(at),
        Tree::Not(_) => return Err(no("A safe state has a NOT.".into())),
        Tree::And(parts) => (parts, parts.len()),
        Tree::Or(parts) => (parts, 1),
        Tree::Vote { m, of } => (of, *m),
    };
    let moments = parts.iter().map(|part| latest(part, atom)).collect::<Result<_, _>>()?;
    Ok(when_so_many(moments, needed))
}

/// By when a wiring gives energy, or none.
fn wired(
    wiring: &Tree<DriverId>,
    energised: bool,
    driver: &mut dyn FnMut(DriverId, bool) -> Result<Moment, Impossible>,
) -> Result<Moment, Impossible> {
    let (parts, all) = match wiring {
        Tree::Atom(d) => return driver(*d, energised),
        Tree::Not(part) => return wired(part, !energised, driver),
        Tree::And(parts) => (parts, energised),
        Tree::Or(parts) => (parts, !energised),
        Tree::Vote { m, of } => {
            let moments = of.iter().map(|part| wired(part, energised, driver)).collect::<Result<_, _>>()?;
            let needed = if energised { *m } else { (of.len() + 1).saturating_sub(*m) };
            return Ok(when_so_many(moments, needed));
        }
    };
    let moments: Vec<Moment> =
        parts.iter().map(|part| wired(part, energised, driver)).collect::<Result<_, _>>()?;
    let needed = if all { moments.len() } else { 1 };
    Ok(when_so_many(moments, needed))
}
