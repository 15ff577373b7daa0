//! §6 of `docs/meaning.md`: breaches about single elements: normal operation, marks, votes, commands, stops, releases.
//!
//! What is lost quietly, and what that loss alone forces, stands in `loss`.

use std::collections::{BTreeMap, BTreeSet};

use super::Encoder;
use crate::exact::Exact;
use crate::model::{
    ActuatorId, AtPosition, CauseId, ConditionId, Device, GroupId, HazardId, InputAtom, InputId, ModeId,
    NormalIn, Observes, QuantityId, Relation, StopId,
};
use crate::situation::{FactChoice, ModeChoice};
use crate::term::TermId;

impl Encoder<'_> {
    /// The hazard is present in a mode in which it exists.
    pub(super) fn there(&mut self, hazard: HazardId) -> TermId {
        let model = self.model;
        let element = &model.hazards[hazard];
        let modes = element.exists_in.iter().copied().collect();
        let present = self.present(hazard, None);
        let mode = self.mode_among(ModeChoice::Holds(element.group), &modes);
        self.terms.both(present, mode)
    }

    /// The hazard of a claim is present in a mode in which it exists, and none that is never together with it is.
    pub(super) fn there_apart(&mut self, hazard: HazardId) -> TermId {
        let there = self.there(hazard);
        let apart = self.apart_from(hazard);
        self.terms.both(there, apart)
    }

    /// Every quantity and every condition is normal in the modes that hold.
    pub(super) fn normal(&mut self) -> TermId {
        let model = self.model;
        let mut all = Vec::new();
        for (id, quantity) in model.quantities.iter() {
            let mut said = Vec::new();
            for (mode, interval) in self.normals_of_quantity(id) {
                let holds = self.mode_is(ModeChoice::Holds(model.modes[mode].group), mode);
                said.push(holds);
                if let Some((low, high)) = interval {
                    let inside = self.inside(id, &low, &high);
                    all.push(self.terms.implies(holds, inside));
                }
            }
            if let Some(own) = &quantity.normal {
                let inside = self.inside(id, &own.low, &own.high);
                let elsewhere = self.terms.or(said);
                all.push(self.terms.either(elsewhere, inside));
            }
        }
        for (id, condition) in model.conditions.iter() {
            let mut said = Vec::new();
            for (mode, value) in self.normals_of_condition(id) {
                let holds = self.mode_is(ModeChoice::Holds(model.modes[mode].group), mode);
                said.push(holds);
                if let Some(value) = value {
                    let has = self.has_value(id, value);
                    all.push(self.terms.implies(holds, has));
                }
            }
            let has = self.has_value(id, condition.normal);
            let elsewhere = self.terms.or(said);
            all.push(self.terms.either(elsewhere, has));
        }
        self.terms.and(all)
    }

    fn normals_of_quantity(&self, quantity: QuantityId) -> Vec<(ModeId, Option<(Exact, Exact)>)> {
        let mut found = Vec::new();
        for (mode, element) in self.model.modes.iter() {
            for normal in &element.normal {
                match normal {
                    NormalIn::Range(q, range) if *q == quantity => {
                        found.push((mode, Some((range.low.clone(), range.high.clone()))));
                    }
                    NormalIn::FreeQuantity(q) if *q == quantity => found.push((mode, None)),
                    NormalIn::Range(..)
                    | NormalIn::FreeQuantity(_)
                    | NormalIn::Value(..)
                    | NormalIn::FreeCondition(_) => {}
                }
            }
        }
        found
    }

    fn normals_of_condition(&self, condition: ConditionId) -> Vec<(ModeId, Option<bool>)> {
        let mut found = Vec::new();
        for (mode, element) in self.model.modes.iter() {
            for normal in &element.normal {
                match normal {
                    NormalIn::Value(c, value) if *c == condition => found.push((mode, Some(*value))),
                    NormalIn::FreeCondition(c) if *c == condition => found.push((mode, None)),
                    NormalIn::Range(..)
                    | NormalIn::FreeQuantity(_)
                    | NormalIn::Value(..)
                    | NormalIn::FreeCondition(_) => {}
                }
            }
        }
        found
    }

    fn inside(&mut self, quantity: QuantityId, low: &Exact, high: &Exact) -> TermId {
        let one = [(Exact::int(1), self.quantity(quantity))];
        let above = self.terms.compare(&one, Relation::AtLeast, low);
        let below = self.terms.compare(&one, Relation::AtMost, high);
        self.terms.both(above, below)
    }

    fn has_value(&mut self, condition: ConditionId, value: bool) -> TermId {
        let holds = self.condition(condition);
        if value { holds } else { self.terms.not(holds) }
    }

    pub(super) fn quiet(&mut self, cause: CauseId) -> TermId {
        let model = self.model;
        let armed = self.armed(&model.causes[cause]);
        let fires = self.fires(cause);
        let not = self.terms.not(fires);
        let normal = self.normal();
        self.terms.and([armed, not, normal])
    }

    pub(super) fn runs(&mut self, mode: ModeId) -> TermId {
        let model = self.model;
        let element = &model.modes[mode];
        let mut all = vec![self.mode_is(ModeChoice::Holds(element.group), mode), self.normal()];
        for need in &element.needs {
            for position in 0..model.device_positions(need.device).len() {
                if position != need.position {
                    let other = self.is_demanded(AtPosition { position, ..*need });
                    all.push(self.terms.not(other));
                }
            }
        }
        self.terms.and(all)
    }

    pub(super) fn matters(&mut self, cause: CauseId, at: Option<AtPosition>) -> TermId {
        let model = self.model;
        let marks: BTreeSet<(ActuatorId, usize)> = match at {
            Some(AtPosition { device: Device::Actuator(actuator), position }) => {
                [(actuator, position)].into()
            }
            Some(_) => BTreeSet::new(),
            None => model.causes[cause]
                .demands
                .iter()
                .flat_map(|effect| model.effects[*effect].set.iter().copied())
                .collect(),
        };
        let mut others = BTreeSet::new();
        for (actuator, position) in marks {
            others.extend(self.demanding(actuator, position));
        }
        others.remove(&cause);
        let mut others: Vec<CauseId> = others.into_iter().collect();
        others.sort_by_key(|other| !self.of_this_bay(*other));
        let mut all = vec![self.value(cause)];
        for other in others {
            let value = self.value(other);
            all.push(self.terms.not(value));
        }
        self.terms.and(all)
    }

    pub(super) fn vote_trips(&mut self, cause: CauseId, number: usize) -> TermId {
        let model = self.model;
        let element = &model.causes[cause];
        match element.when.trip_votes().get(number) {
            Some(vote) => self.condition_of(cause, element, vote, true),
            None => self.terms.no(),
        }
    }

    pub(super) fn harmed(&mut self, hazard: HazardId, cause: CauseId, at: AtPosition) -> TermId {
        let Device::Actuator(actuator) = at.device else { return self.terms.no() };
        if !self.demanding(actuator, at.position).contains(&cause) {
            return self.terms.no();
        }
        let there = self.there_apart(hazard);
        let value = self.value(cause);
        self.terms.both(there, value)
    }

    /// For each position of an actuator: it is demanded over some driver.
    pub(super) fn demanded_over_drivers(&mut self, id: ActuatorId) -> Vec<TermId> {
        let model = self.model;
        let actuator = &model.actuators[id];
        let mut demanded = Vec::new();
        for position in 0..actuator.positions.len() {
            let mut by_any = Vec::new();
            for driver in &actuator.drivers {
                by_any.push(self.demanded(*driver, position));
            }
            demanded.push(self.terms.or(by_any));
        }
        demanded
    }

    pub(super) fn outvoted(&mut self, hazard: HazardId, actuator: ActuatorId) -> TermId {
        let model = self.model;
        let there = self.there_apart(hazard);
        let met = self.positions(&model.hazards[hazard].safe_state);
        let not_met = self.terms.not(met);
        let demanded = self.demanded_over_drivers(actuator);
        let both_ways = self.terms.at_least(2, demanded);
        self.terms.and([there, not_met, both_ways])
    }

    /// Modes in which some hazard exists, of the groups by which the causes that read the stop are armed.
    fn modes_of_stop(&self, stop: StopId) -> BTreeMap<GroupId, BTreeSet<ModeId>> {
        let model = self.model;
        let contacts = &model.stops[stop].contacts;
        let reads =
            |atom: &&InputAtom| matches!(atom, InputAtom::Is { input, .. } if contacts.contains(input));
        let mut found: BTreeMap<GroupId, BTreeSet<ModeId>> = BTreeMap::new();
        for (_, cause) in model.causes.iter() {
            if cause.when.atoms().iter().any(reads) {
                for group in cause.armed.keys() {
                    let hazards = model.hazards.iter().filter(|(_, hazard)| hazard.group == *group);
                    for mode in hazards.flat_map(|(_, hazard)| hazard.exists_in.iter().copied()) {
                        found.entry(*group).or_default().insert(mode);
                    }
                }
            }
        }
        found
    }

    pub(super) fn span_missed(&mut self, stop: StopId) -> TermId {
        let model = self.model;
        let mut all = vec![self.fact(FactChoice::Pressed(stop))];
        // In each of these something can happen; where no hazard is meant, it counts always.
        let mut counts = Vec::new();
        for (group, modes) in self.modes_of_stop(stop) {
            counts.push(self.mode_among(ModeChoice::Holds(group), &modes));
        }
        if !counts.is_empty() {
            all.push(self.terms.or(counts));
        }
        let mut reached = Vec::new();
        for at in &model.stops[stop].brings {
            reached.push(self.at(*at));
        }
        let reached = self.terms.and(reached);
        all.push(self.terms.not(reached));
        self.terms.and(all)
    }

    /// The input should be asserted: what it observes is so.
    fn should_be_asserted(&mut self, input: InputId) -> TermId {
        let model = self.model;
        match &model.inputs[input].observes {
            Observes::Quantity { .. } => self.terms.yes(),
            Observes::Condition { condition, negated } => self.has_value(*condition, !negated),
            Observes::Loop { contacts, .. } => {
                let mut any = Vec::new();
                for contact in contacts {
                    let element = &model.contacts[*contact];
                    any.push(self.has_value(element.condition, !element.negated));
                }
                self.terms.or(any)
            }
            Observes::Stop(stop) => self.fact(FactChoice::Pressed(*stop)),
        }
    }

    /// In a mode of the hazard the release of a door is used, and the hazard is not met.
    pub(super) fn released(&mut self, space: crate::model::SpaceId, door: usize, hazard: HazardId) -> TermId {
        let used = self.release_used(space, door, hazard);
        let met = self.positions(&self.model.hazards[hazard].safe_state);
        let not_met = self.terms.not(met);
        self.terms.both(used, not_met)
    }

    /// In a mode of the hazard all that the release of a door trips sees it used.
    pub(super) fn release_used(
        &mut self,
        space: crate::model::SpaceId,
        door: usize,
        hazard: HazardId,
    ) -> TermId {
        let model = self.model;
        let release = model.spaces[space].doors.get(door).and_then(|door| door.escape_release.as_ref());
        let Some(release) = release else { return self.terms.no() };
        let element = &model.hazards[hazard];
        let modes = element.exists_in.iter().copied().collect();
        let mut all =
            vec![self.mode_among(ModeChoice::Holds(element.group), &modes), self.apart_from(hazard)];
        for input in &release.trips {
            all.push(self.should_be_asserted(*input));
        }
        self.terms.and(all)
    }

    pub(super) fn overruled(&mut self, id: ActuatorId) -> TermId {
        let demanded = self.demanded_over_drivers(id);
        let mut any = Vec::new();
        for (position, here) in demanded.iter().enumerate() {
            let elsewhere = demanded.iter().enumerate().filter(|(other, _)| *other != position);
            let elsewhere = self.terms.or(elsewhere.map(|(_, term)| *term));
            let only = self.terms.not(elsewhere);
            let at = self.at(AtPosition { device: Device::Actuator(id), position });
            let not_at = self.terms.not(at);
            any.push(self.terms.and([*here, only, not_at]));
        }
        self.terms.or(any)
    }
}
