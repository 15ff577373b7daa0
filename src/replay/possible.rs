//! Possible situations: section 1 of `docs/meaning.md`.
//!
//! Responsible for every rule that can be checked before anything is evaluated. Deviations that declared failure
//! directions rule out are found in `inputs` and `outputs`, where the true value is known.

use crate::exact::Exact;
use crate::model::{
    ActsOn, CauseId, Device, HazardId, InputAtom, InputId, Interval, Observes, OnsetCase, OverrideId,
    PlantAtom, Source,
};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};

use super::Impossible;
use super::faults::weight;
use super::world::{World, every, holds, no, some};

impl World<'_> {
    /// §1: whether the situation is possible under the claim.
    pub(super) fn check_possible(&self) -> Result<(), Impossible> {
        self.check_modes()?;
        self.check_quantities()?;
        self.check_numbers()?;
        self.check_positions()?;
        self.check_couplings()?;
        self.check_faults()?;
        self.check_groups()?;
        self.check_overrides()?;
        if let Some(hazard) = self.claim_hazard() {
            self.check_never_together(hazard)?;
        }
        self.check_memory()
    }

    /// §1: every group is in exactly one of its modes, and in the claim's if it names one (§6).
    fn check_modes(&self) -> Result<(), Impossible> {
        for (choice, mode) in &self.situation.modes {
            let (group, tag) = match choice {
                ModeChoice::Holds(group) => (*group, &self.model.groups[*group].name.tag),
                ModeChoice::Shown(input, _) => {
                    (self.model.mode_inputs[*input].group, &self.model.mode_inputs[*input].name.tag)
                }
            };
            if !self.model.groups[group].modes.contains(mode) {
                let (mode, group) = (&self.model.modes[*mode].name.tag, &self.model.groups[group].name.tag);
                return Err(no(format!("{tag} is at mode {mode}, which is no mode of group {group}.")));
            }
        }
        for group in self.model.groups.ids() {
            self.mode(group)?;
        }
        for wanted in &self.claim.modes {
            let group = self.model.modes[*wanted].group;
            let actual = self.mode(group)?;
            if actual != *wanted {
                let (group, wanted) =
                    (&self.model.groups[group].name.tag, &self.model.modes[*wanted].name.tag);
                let actual = &self.model.modes[actual].name.tag;
                return Err(no(format!(
                    "{group} is in mode {actual}, but the claim is about mode {wanted}."
                )));
            }
        }
        Ok(())
    }

    /// §1: every quantity lies in its physical range, ends included.
    fn check_quantities(&self) -> Result<(), Impossible> {
        for (id, quantity) in self.model.quantities.iter() {
            let value = self.situation.number(self.model, NumberChoice::Quantity(id));
            within("Quantity", &quantity.name.tag, &value, &quantity.range)?;
        }
        Ok(())
    }

    /// §1: errors and tolerances lie within ± the accuracy, readings in the range of the instrument.
    fn check_numbers(&self) -> Result<(), Impossible> {
        for (choice, value) in &self.situation.numbers {
            match choice {
                NumberChoice::Quantity(_) => {}
                NumberChoice::Error(input) => {
                    let accuracy = match &self.model.inputs[*input].observes {
                        Observes::Quantity { accuracy, .. } => accuracy.clone(),
                        _ => Exact::zero(),
                    };
                    within(
                        "The error of",
                        &self.model.inputs[*input].name.tag,
                        value,
                        &either_way(&accuracy),
                    )?;
                }
                NumberChoice::Tolerance(passive) => {
                    let accuracy = match &self.model.passive[*passive].acts {
                        Some((ActsOn::Quantity { accuracy, .. }, _)) => accuracy.clone(),
                        _ => Exact::zero(),
                    };
                    let tag = &self.model.passive[*passive].name.tag;
                    within("The deviation of the set point of", tag, value, &either_way(&accuracy))?;
                }
                NumberChoice::Reading(input, _) => {
                    let tag = &self.model.inputs[*input].name.tag;
                    let Observes::Quantity { range, .. } = &self.model.inputs[*input].observes else {
                        return Err(no(format!("{tag} is given a number as its reading, but is no sensor.")));
                    };
                    within("The reading of", tag, value, range)?;
                }
            }
        }
        Ok(())
    }

    /// Every position chosen is one that the device has.
    fn check_positions(&self) -> Result<(), Impossible> {
        for (device, position) in &self.situation.positions {
            let (tag, positions) = match device {
                Device::Actuator(id) => {
                    (&self.model.actuators[*id].name.tag, &self.model.actuators[*id].positions)
                }
                Device::Passive(id) => {
                    (&self.model.passive[*id].name.tag, &self.model.passive[*id].positions)
                }
            };
            if *position >= positions.len() {
                let (number, last) = (position + 1, positions.len());
                return Err(no(format!(
                    "{tag} is put to position number {number}, but has only {last} positions."
                )));
            }
        }
        Ok(())
    }

    /// §1: every coupling holds.
    fn check_couplings(&self) -> Result<(), Impossible> {
        for (_, coupling) in self.model.couplings.iter() {
            if !holds(&coupling.holds, &|atom| self.plant_atom(atom))? {
                return Err(no(format!("Coupling {} does not hold: {}.", coupling.name.tag, coupling.text)));
            }
        }
        Ok(())
    }

    /// §1: only allowed sources misbehave, and their weights add up to at most the limit.
    fn check_faults(&self) -> Result<(), Impossible> {
        let mut total = 0u32;
        for (choice, value) in &self.situation.facts {
            let FactChoice::Misbehaves(source) = choice else { continue };
            if !value {
                continue;
            }
            if !self.claim.faults.sources.contains(source) {
                return Err(no(format!(
                    "{} misbehaves, but the claim does not allow that.",
                    self.tag(*source)
                )));
            }
            total = total.saturating_add(weight(self.model, *source));
        }
        match self.claim.faults.weight {
            Some(limit) if total > limit => {
                Err(no(format!("The faults weigh {total} together, but the claim allows {limit}.")))
            }
            _ => Ok(()),
        }
    }

    /// §1: at most one initiator group and at most one damage group misbehave, both of the claim's hazard.
    fn check_groups(&self) -> Result<(), Impossible> {
        let (mut initiators, mut damages) = (0u32, 0u32);
        for (choice, value) in &self.situation.facts {
            let (hazard, known, what, seen) = match choice {
                FactChoice::Initiator(hazard, number) => {
                    let known = *number < self.model.hazards[*hazard].initiators.len();
                    (*hazard, known && self.claim.initiators, "initiator group", &mut initiators)
                }
                FactChoice::Misbehaves(Source::Damage(hazard, number)) => (
                    *hazard,
                    *number < self.model.hazards[*hazard].damages.len(),
                    "damage group",
                    &mut damages,
                ),
                _ => continue,
            };
            if !value {
                continue;
            }
            let tag = &self.model.hazards[hazard].name.tag;
            if !known || self.claim_hazard() != Some(hazard) {
                return Err(no(format!(
                    "An element group that {tag} names as {what} misbehaves, which the claim does not allow."
                )));
            }
            *seen += 1;
            if *seen > 1 {
                return Err(no(format!("More than one {what} of {tag} misbehaves.")));
            }
        }
        Ok(())
    }

    /// §1: an override is active only where it is permitted, or where its device misbehaves.
    fn check_overrides(&self) -> Result<(), Impossible> {
        for (choice, value) in &self.situation.facts {
            let FactChoice::Overridden(id, input) = choice else { continue };
            if !value {
                continue;
            }
            let device = &self.model.overrides[*id];
            let (tag, name) = (&device.name.tag, &self.model.inputs[*input].name.tag);
            if !device.inputs.contains(input) {
                return Err(no(format!("{tag} overrides {name}, which is none of its inputs.")));
            }
            if !self.may(Source::Override(*id)) {
                self.check_permitted(*id)?;
            }
        }
        Ok(())
    }

    fn check_permitted(&self, id: OverrideId) -> Result<(), Impossible> {
        let device = &self.model.overrides[id];
        let tag = &device.name.tag;
        if !self.claim.overrides {
            return Err(no(format!("{tag} is active, but the claim does not allow overrides.")));
        }
        if !self.modes_listed(&device.modes)? {
            return Err(no(format!("{tag} is active in a mode in which it is not permitted.")));
        }
        let taken = self.taken_out(id);
        if taken > device.at_most {
            return Err(no(format!(
                "{tag} overrides {taken} inputs at once, but {} are permitted.",
                device.at_most
            )));
        }
        Ok(())
    }

    /// How many of its inputs an override device has taken out.
    pub(super) fn taken_out(&self, id: OverrideId) -> usize {
        self.model.overrides[id]
            .inputs
            .iter()
            .filter(|input| self.chosen(FactChoice::Overridden(id, **input)))
            .count()
    }

    /// §4: over(i): some override device has taken the input out.
    pub(super) fn over(&self, input: InputId) -> bool {
        self.model.overrides.ids().any(|id| self.chosen(FactChoice::Overridden(id, input)))
    }

    /// §1: in claims about a hazard, no hazard of its `never_together` list is present in a mode in which it exists.
    pub(super) fn check_never_together(&self, hazard: HazardId) -> Result<(), Impossible> {
        for other in &self.model.hazards[hazard].never_together {
            let element = &self.model.hazards[*other];
            let mode = self.situation.mode(self.model, ModeChoice::Holds(element.group));
            let there = mode.is_some_and(|mode| element.exists_in.contains(&mode));
            if there && self.present(*other)? {
                let (one, two) = (&self.model.hazards[hazard].name.tag, &self.model.hazards[*other].name.tag);
                return Err(no(format!("{two} is present, which is never present together with {one}.")));
            }
        }
        Ok(())
    }

    /// §1: only latched causes, and causes that close a loop of causes, are already set.
    fn check_memory(&self) -> Result<(), Impossible> {
        for (choice, value) in &self.situation.facts {
            let FactChoice::AlreadySet(cause) = choice else { continue };
            if *value && !self.model.causes[*cause].latched && !self.closes_a_loop(*cause) {
                let tag = &self.model.causes[*cause].name.tag;
                return Err(no(format!(
                    "{tag} is already set, but it neither latches nor closes a loop of causes."
                )));
            }
        }
        Ok(())
    }

    /// Whether some condition reads the cause as it was in the evaluation before.
    fn closes_a_loop(&self, id: CauseId) -> bool {
        let reads =
            |atom: &InputAtom| matches!(atom, InputAtom::Cause { cause, from_before: true } if *cause == id);
        self.model.causes.iter().any(|(_, cause)| cause.when.atoms().into_iter().any(reads))
    }

    /// The hazard that the claim is about.
    pub(super) fn claim_hazard(&self) -> Option<HazardId> {
        self.claim.breach.hazard()
    }

    /// Whether a fact about the plant holds.
    pub(super) fn plant_atom(&self, atom: &PlantAtom) -> Result<bool, Impossible> {
        Ok(match atom {
            PlantAtom::Linear { sum, relation, bound } => {
                let total = sum.iter().fold(Exact::zero(), |total, (coefficient, quantity)| {
                    &total
                        + &(coefficient
                            * &self.situation.number(self.model, NumberChoice::Quantity(*quantity)))
                });
                relation.holds(&total, bound)
            }
            PlantAtom::Condition(condition) => self.chosen(FactChoice::Condition(*condition)),
            PlantAtom::Mode(mode) => self.mode(self.model.modes[*mode].group)? == *mode,
        })
    }

    /// §6: whether every literal of an onset case holds.
    pub(super) fn case_holds(&self, case: &OnsetCase) -> Result<bool, Impossible> {
        every(case, |(atom, wanted)| Ok(self.plant_atom(atom)? == *wanted))
    }

    /// §6: whether the hazard is present, in whichever onset case.
    pub(super) fn present(&self, hazard: HazardId) -> Result<bool, Impossible> {
        some(&self.model.hazards[hazard].onset, |case| self.case_holds(case))
    }

    /// How a source is called.
    fn tag(&self, source: Source) -> String {
        let model = self.model;
        let name = match source {
            Source::Input(id) => &model.inputs[id].name,
            Source::LoopLine(id) => return format!("The line of {}", model.inputs[id].name.tag),
            Source::Contact(id) => &model.contacts[id].name,
            Source::Conditioner(id) => &model.conditioners[id].name,
            Source::Supply(id) => &model.supplies[id].name,
            Source::Route(id) => &model.routes[id].name,
            Source::Cabinet(id) => &model.cabinets[id].name,
            Source::Solver(id) => &model.solvers[id].name,
            Source::Link(id) => &model.links[id].name,
            Source::Relay(id) => &model.relays[id].name,
            Source::Actuator(id) => &model.actuators[id].name,
            Source::Passive(id) => &model.passive[id].name,
            Source::ModeInput(id) => &model.mode_inputs[id].name,
            Source::Override(id) => &model.overrides[id].name,
            Source::Shared(id) => &model.shared[id].name,
            Source::Damage(id, number) => {
                let hazard = &model.hazards[id];
                return match hazard.damages.get(number) {
                    Some(group) => format!("Damage group {} of {}", group.name.tag, hazard.name.tag),
                    None => format!("A damage group of {}", hazard.name.tag),
                };
            }
        };
        name.tag.clone()
    }
}

/// The interval from −accuracy to +accuracy.
fn either_way(accuracy: &Exact) -> Interval {
    Interval { low: -accuracy, high: accuracy.clone() }
}

fn within(what: &str, tag: &str, value: &Exact, range: &Interval) -> Result<(), Impossible> {
    if *value < range.low || *value > range.high {
        let (low, high) = (&range.low, &range.high);
        return Err(no(format!("{what} {tag} is {value}, outside {low} to {high}.")));
    }
    Ok(())
}
