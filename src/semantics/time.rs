//! §7 of `docs/meaning.md`: what is reached in time.
//!
//! The time that is left is pushed down from the safe state to the readings: what cannot be true in time is left out. Where
//! nothing is left out the term is that of §5 itself, so that a claim about time costs nothing where everything is quick.

use std::collections::{BTreeMap, BTreeSet};

use super::ahead::Compared;
use super::signals::Due;
use super::{Encoder, Scope};
use crate::claim::{Breach, Timing, Unknown};
use crate::exact::Exact;
use crate::model::{
    ActsOn, Actuator, ActuatorId, AtPosition, CauseId, Device, DriverId, Element, HazardId, ModeId, Model,
    PassiveId, Signal, Time, Tree, WithoutEnergy,
};
use crate::situation::FactChoice;
use crate::term::TermId;

/// The time that is left; `None` where not even all time would do, since an unknown time is taken as too long.
pub(super) type Left = Option<Exact>;

/// A term in time, and whether it is the same as without regard to time.
#[derive(Debug, Clone, Copy)]
pub(super) struct By {
    pub(super) term: TermId,
    pub(super) whole: bool,
}

/// What a driver is told by a time.
struct Told {
    driver: DriverId,
    /// It is told, and nothing that does not lose tells it otherwise any more.
    obeyed: TermId,
    /// Nothing tells it otherwise any more.
    ended: TermId,
}

/// One onset case of a hazard, for which something is to be in time.
#[derive(Debug, Clone, Copy)]
pub struct Onset<'t> {
    /// The hazard.
    pub hazard: HazardId,
    /// Number of the case.
    pub number: usize,
    /// What is known of the whole.
    pub timing: &'t Timing,
}

/// What a cause can do in time for a hazard, as far as it shows without an engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acts {
    /// All that it needs for one of its commands is quick enough.
    InTime,
    /// Nothing of what it commands is.
    TooSlow,
    /// That depends on the situation.
    Perhaps,
}

/// What each of these causes does in time for a hazard while nothing is faulty; those that command nothing of its safe
/// state, or never, are left out. Besides, the elements on whose unknown times that depends.
pub fn acts(
    model: &Model,
    causes: &[CauseId],
    hazard: HazardId,
    modes: &[ModeId],
    timing: &Timing,
) -> (BTreeMap<CauseId, Acts>, BTreeSet<Element>) {
    let nothing = BTreeSet::new();
    let breach = Breach::Exists { hazard, onset: 0 };
    let mut encoder = Encoder::new(model, &Scope { breach, modes, sources: &nothing, initiators: false });
    encoder.unknown = Some(timing.unknown);
    let no = encoder.terms.no();
    let mut all = BTreeMap::new();
    for cause in causes {
        let cases = 0..model.hazards[hazard].onset.len();
        let by_case: Vec<Vec<(By, TermId)>> = cases
            .map(|number| {
                let mut commands = encoder.commands_by(*cause, Onset { hazard, number, timing });
                commands.retain(|(_, ever)| *ever != no);
                commands
            })
            .collect();
        let acts = if by_case.iter().all(Vec::is_empty) {
            continue;
        } else if by_case.iter().all(|commands| commands.iter().any(|(by, _)| by.whole)) {
            // Whichever case it fires in.
            Acts::InTime
        } else if by_case.iter().flatten().all(|(by, _)| by.term == no) {
            Acts::TooSlow
        } else {
            Acts::Perhaps
        };
        all.insert(*cause, acts);
    }
    (all, encoder.unknown_times)
}

impl Encoder<'_> {
    /// Some onset case holds, and the safe state is not reached in time.
    pub(super) fn late(&mut self, hazard: HazardId, timing: &Timing) -> TermId {
        let model = self.model;
        let safe = &model.hazards[hazard].safe_state;
        let mut cases = Vec::new();
        let mut whole = true;
        for number in 0..model.hazards[hazard].onset.len() {
            let onset = Onset { hazard, number, timing };
            let left = self.available(onset);
            let met = self.tree_by(safe, &mut |this: &mut Self, at| this.at_by(at, &left, onset));
            whole = whole && met.whole;
            cases.push(met.term);
        }
        if whole {
            self.quick = true;
            let present = self.present(hazard, None);
            let met = self.positions(safe);
            let not_met = self.terms.not(met);
            return self.terms.both(present, not_met);
        }
        let mut any = Vec::new();
        for (number, met) in cases.into_iter().enumerate() {
            let present = self.present(hazard, Some(number));
            let not_met = self.terms.not(met);
            any.push(self.terms.both(present, not_met));
        }
        self.terms.or(any)
    }

    /// Some onset case holds, and the cause commands a position of the safe state in time.
    pub(super) fn acts_in_time(&mut self, cause: CauseId, hazard: HazardId, timing: &Timing) -> TermId {
        let mut any = Vec::new();
        for number in 0..self.model.hazards[hazard].onset.len() {
            let commands = self.commands_by(cause, Onset { hazard, number, timing });
            let acts = self.terms.or(commands.into_iter().map(|(by, _)| by.term));
            let present = self.present(hazard, Some(number));
            any.push(self.terms.both(present, acts));
        }
        self.terms.or(any)
    }

    /// Each way in which the cause commands a position of the safe state: in time, and at all.
    fn commands_by(&mut self, cause: CauseId, onset: Onset<'_>) -> Vec<(By, TermId)> {
        let model = self.model;
        let left = self.available(onset);
        let mut acts = Vec::new();
        for at in model.hazards[onset.hazard].safe_state.atoms() {
            let Device::Actuator(actuator) = at.device else { continue };
            if !self.demanding(actuator, at.position).contains(&cause) {
                continue;
            }
            let element = &model.actuators[actuator];
            let left = self.less(&left, &element.moves_in, Element::Actuator(actuator));
            for driver in &element.drivers {
                let solver = model.drivers[*driver].solver;
                if self.has(cause, solver) {
                    let left = self.less_mark(&left, cause, actuator, at.position);
                    let left = self.less_links(&left, Signal::Cause(cause), solver);
                    let by = self.fires_by(cause, &Due::for_good(left), onset);
                    acts.push((by, self.fires(cause)));
                }
            }
        }
        acts
    }

    /// f · (T − E).
    fn available(&mut self, onset: Onset<'_>) -> Left {
        let model = self.model;
        let element = &model.hazards[onset.hazard];
        let within = match (&element.within, &element.after_set_point) {
            (Time::Known(within), _) => Some(within.clone()),
            // Where the time is known from the set point, it ends where harm begins.
            (Time::Unknown, Some(_)) => Some(Exact::zero()),
            (Time::Unknown, None) => None,
        };
        let left = self.less(&within, &element.evacuation, Element::Hazard(onset.hazard));
        left.map(|left| &left * &element.usable)
    }

    /// The time left before this one.
    pub(super) fn less(&mut self, left: &Left, time: &Time, of: Element) -> Left {
        let left = left.as_ref()?;
        match (time, self.unknown) {
            (Time::Known(time), _) => Some(left - time),
            (Time::Unknown, Some(Unknown::Nothing)) => {
                self.unknown_times.insert(of);
                Some(left.clone())
            }
            (Time::Unknown, Some(Unknown::TooLong) | None) => {
                self.unknown_times.insert(of);
                None
            }
        }
    }

    /// … before the quickest mark by which the cause sets the actuator to the position.
    fn less_mark(&mut self, left: &Left, cause: CauseId, actuator: ActuatorId, position: usize) -> Left {
        let model = self.model;
        let element = &model.causes[cause];
        let mut best: Left = None;
        for effect in &element.demands {
            if !model.effects[*effect].set.contains(&(actuator, position)) {
                continue;
            }
            let mut one = self.less(left, &model.effects[*effect].delay, Element::Effect(*effect));
            if let Some(delay) = element.delays.get(effect) {
                one = self.less(&one, delay, Element::Cause(cause));
            }
            // The time that is left is greatest with the quickest.
            best = best.max(one);
        }
        best
    }

    /// Whether something that is true takes no longer than is left.
    pub(super) fn in_time(&self, left: &Left) -> bool {
        left.as_ref().is_some_and(|left| !left.is_negative())
    }

    /// A device at a position by then.
    fn at_by(&mut self, at: AtPosition, left: &Left, onset: Onset<'_>) -> By {
        match at.device {
            Device::Actuator(id) => self.actuator_by(id, at, left, onset),
            Device::Passive(id) => self.passive_by(id, at, left, onset),
        }
    }

    fn passive_by(&mut self, id: PassiveId, at: AtPosition, left: &Left, onset: Onset<'_>) -> By {
        let model = self.model;
        let passive = &model.passive[id];
        let Some((on, to)) = &passive.acts else {
            return By { term: self.at(at), whole: true };
        };
        let left = self.less(left, &passive.moves_in, Element::Passive(id));
        if *to != at.position {
            // Nobody knows that it did not act until harm began: then it has to come back.
            let no = self.terms.no();
            return match self.in_time(&left) {
                true => By { term: self.at(at), whole: true },
                false => By { term: self.passive_with(id, at.position, no), whole: false },
            };
        }
        let left = match on {
            ActsOn::Quantity { quantity, relation, bound, accuracy } => {
                let compared =
                    Compared { quantity: *quantity, relation: *relation, set_point: bound, accuracy };
                self.ahead(&left, compared, None, onset)
            }
            ActsOn::Condition { .. } => left,
        };
        let no = self.terms.no();
        match self.in_time(&left) {
            true => By { term: self.at(at), whole: true },
            false => By { term: self.passive_with(id, at.position, no), whole: false },
        }
    }

    fn actuator_by(&mut self, id: ActuatorId, at: AtPosition, left: &Left, onset: Onset<'_>) -> By {
        let model = self.model;
        let actuator = &model.actuators[id];
        let now = self.at(at);
        let Some(wiring) = &actuator.wiring else { return By { term: now, whole: true } };
        let left = self.less(left, &actuator.moves_in, Element::Actuator(id));
        match actuator.without_energy {
            WithoutEnergy::Goes { off, on } if at.position == off || at.position == on => {
                let energised = at.position == on;
                let other = if energised { off } else { on };
                let (told, whole) = self.told_by(actuator, (at.position, other), &left, onset);
                if whole {
                    return By { term: now, whole };
                }
                let reached = self.wired_by(wiring, energised, &mut |this: &mut Self, driver, energised| {
                    this.driver_by(driver, actuator, (off, on), energised, &told, &left)
                });
                By { term: self.actuator_with(id, at.position, Some(reached)), whole: false }
            }
            WithoutEnergy::Goes { .. } => By { term: now, whole: true },
            WithoutEnergy::Stays => {
                let other = 1 - at.position.min(1);
                let (told, whole) = self.told_by(actuator, (at.position, other), &left, onset);
                if whole {
                    return By { term: now, whole };
                }
                let here = self.wired_by(wiring, true, &mut |this: &mut Self, driver, _| {
                    this.drives_by(driver, actuator, at.position, &told, &left)
                });
                // Where it stood there before and nothing moves it away, nothing has to move.
                let stood = self.chosen(at.device, actuator.positions.len(), at.position);
                let ended = self.terms.and(told.iter().map(|told| told.ended));
                let stood = self.terms.both(stood, ended);
                let reached = self.terms.either(stood, here);
                By { term: self.terms.both(now, reached), whole: false }
            }
        }
    }

    /// What each driver is told by then, and whether nothing of that is left out and the actuator can move in time. A demand
    /// for the other position that does not lose must have ended by then.
    fn told_by(
        &mut self,
        actuator: &Actuator,
        (position, other): (usize, usize),
        left: &Left,
        onset: Onset<'_>,
    ) -> (Vec<Told>, bool) {
        let mut whole = self.in_time(left);
        let mut told = Vec::new();
        for driver in &actuator.drivers {
            let by = self.demanded_by(*driver, position, left, onset);
            let ended = self.ended_by(*driver, other, left, onset);
            whole = whole && by.whole && ended.whole;
            let obeyed = match actuator.winner == Some(position) {
                true => by.term,
                false => self.terms.both(by.term, ended.term),
            };
            told.push(Told { driver: *driver, obeyed, ended: ended.term });
        }
        (told, whole)
    }

    /// Nothing demands a position of a driver any more by then. What is latched and not set now was not set before.
    fn ended_by(&mut self, driver: DriverId, position: usize, left: &Left, onset: Onset<'_>) -> By {
        let model = self.model;
        let of = &model.drivers[driver];
        let (mut all, mut whole) = (Vec::new(), true);
        for cause in self.demanding(of.actuator, position) {
            if self.has(cause, of.solver) {
                let by = self.unknown_by(cause, of.solver, &Due::ending(left.clone()), onset);
                whole = whole && by.whole;
                all.push(by.term);
            }
        }
        By { term: self.terms.and(all), whole }
    }

    /// The driver gives (or withholds) energy by then.
    fn driver_by(
        &mut self,
        driver: DriverId,
        actuator: &Actuator,
        (off, on): (usize, usize),
        energised: bool,
        told: &[Told],
        left: &Left,
    ) -> TermId {
        let gives = self.gives(driver, actuator, off, on);
        let does = if energised { gives } else { self.terms.not(gives) };
        let idle = match actuator.rest {
            Some(rest) => self.terms.constant((rest == on) == energised),
            None => {
                let choice = self.fact(FactChoice::Gives(driver));
                if energised { choice } else { self.terms.not(choice) }
            }
        };
        let mut reached = Vec::new();
        for told in told.iter().filter(|told| told.driver == driver) {
            reached.extend([self.terms.both(told.ended, idle), told.obeyed]);
        }
        if self.in_time(left) {
            let (free, dead) = self.driver_state(driver);
            reached.extend([free, dead]);
        }
        let reached = self.terms.or(reached);
        self.terms.both(does, reached)
    }

    /// The driver drives an actuator that stays to the position by then.
    fn drives_by(
        &mut self,
        driver: DriverId,
        actuator: &Actuator,
        position: usize,
        told: &[Told],
        left: &Left,
    ) -> TermId {
        let does = self.drives(driver, actuator, position);
        let idle = match actuator.rest {
            Some(rest) => self.terms.constant(rest == position),
            None => self.fact(FactChoice::Drives(driver, position)),
        };
        let mut reached = Vec::new();
        for told in told.iter().filter(|told| told.driver == driver) {
            reached.extend([self.terms.both(told.ended, idle), told.obeyed]);
        }
        if self.in_time(left) {
            let (free, _) = self.driver_state(driver);
            reached.push(free);
        }
        let reached = self.terms.or(reached);
        self.terms.both(does, reached)
    }

    /// What the wiring gives where each driver is asked for giving or withholding.
    fn wired_by(
        &mut self,
        wiring: &Tree<DriverId>,
        energised: bool,
        energy: &mut dyn FnMut(&mut Self, DriverId, bool) -> TermId,
    ) -> TermId {
        match wiring {
            Tree::Atom(driver) => energy(self, *driver, energised),
            Tree::Not(part) => self.wired_by(part, !energised, energy),
            Tree::And(parts) | Tree::Or(parts) => {
                let all = matches!(wiring, Tree::And(_)) == energised;
                let parts: Vec<TermId> = self
                    .bay_order(parts)
                    .into_iter()
                    .map(|part| self.wired_by(part, energised, energy))
                    .collect();
                if all { self.terms.and(parts) } else { self.terms.or(parts) }
            }
            Tree::Vote { m, of } => {
                let m = if energised { *m } else { of.len() + 1 - (*m).min(of.len()) };
                let of: Vec<TermId> = self
                    .bay_order(of)
                    .into_iter()
                    .map(|part| self.wired_by(part, energised, energy))
                    .collect();
                self.terms.at_least(m, of)
            }
        }
    }

    /// demands(d, p) by then.
    fn demanded_by(&mut self, driver: DriverId, position: usize, left: &Left, onset: Onset<'_>) -> By {
        let model = self.model;
        let of = &model.drivers[driver];
        let (mut any, mut whole) = (Vec::new(), true);
        for cause in self.demanding(of.actuator, position) {
            if self.has(cause, of.solver) {
                let left = self.less_mark(left, cause, of.actuator, position);
                let by = self.knows_by(cause, of.solver, true, &Due::for_good(left), onset);
                whole = whole && by.whole;
                any.push(by.term);
            }
        }
        By { term: self.terms.or(any), whole }
    }

    fn tree_by(&mut self, tree: &Tree<AtPosition>, atom: &mut dyn FnMut(&mut Self, AtPosition) -> By) -> By {
        match tree {
            Tree::Atom(at) => atom(self, *at),
            // A safe state has none; what is not there cannot be late.
            Tree::Not(part) => {
                let by = self.tree_by(part, atom);
                By { term: self.terms.not(by.term), whole: by.whole }
            }
            Tree::And(parts) | Tree::Or(parts) | Tree::Vote { of: parts, .. } => {
                let by: Vec<By> = parts.iter().map(|part| self.tree_by(part, atom)).collect();
                let whole = by.iter().all(|by| by.whole);
                let terms: Vec<TermId> = by.into_iter().map(|by| by.term).collect();
                let term = match tree {
                    Tree::And(_) => self.terms.and(terms),
                    Tree::Vote { m, .. } => self.terms.at_least(*m, terms),
                    _ => self.terms.or(terms),
                };
                By { term, whole }
            }
        }
    }
}
