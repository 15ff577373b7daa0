//! Everything that can make a difference once the plant is given: what each fault opens, and what nobody decides.
//!
//! Of the choices of one element only those are combined that do not hide each other: while an actuator is stuck, its
//! line makes no difference.

use std::collections::BTreeMap;

use tripproof::exact::Exact;
use tripproof::model::{
    Access, ActuatorId, CauseId, Device, DriverId, InputAtom, InputId, LinkId, Lost, ModeId, Model, Observes,
    OverrideId, Path, Signal, SolverId, WithoutEnergy,
};
use tripproof::situation::{FactChoice, ModeChoice, NumberChoice};
use tripproof::syntax::kind::{LineKind, LinkLoss};

use super::plants::{Plant, comparisons, readings};
use super::reach::Reach;
use crate::support::touched::{Touched, Way};

/// One choice of a situation.
#[derive(Clone, Debug)]
pub enum Choice {
    /// A number.
    Number(NumberChoice, Exact),
    /// Something that is true.
    Fact(FactChoice),
    /// The mode that is shown.
    Mode(ModeChoice, ModeId),
    /// The position of a device.
    Position(Device, usize),
}

/// The alternatives of one thing, each with the choices that it consists of.
pub type Dial = Vec<Vec<Choice>>;

/// What a question leaves no choice of.
#[derive(Default, Clone)]
pub struct Pins {
    /// What a solver sees of an input.
    pub inputs: BTreeMap<(InputId, SolverId), Vec<FactChoice>>,
    /// Whether an input is overridden.
    pub overrides: BTreeMap<(OverrideId, InputId), bool>,
}

/// All dials of one question.
pub struct Dials<'q, 'm> {
    /// The model.
    pub model: &'m Model,
    /// What the question depends on without faults.
    pub reach: &'q Reach<'m>,
    /// Where faults are looked for; mostly the same.
    pub wide: &'q Reach<'m>,
    /// What the faults touch.
    pub touched: Touched<'m>,
    /// Whether overrides are allowed.
    pub overrides: bool,
    /// What is not left open.
    pub pins: Pins,
    /// Whether every input that warms up does so.
    pub blind: bool,
    /// An actuator of which every choice counts.
    pub held: Option<ActuatorId>,
}

fn either(fact: FactChoice) -> Dial {
    vec![vec![], vec![Choice::Fact(fact)]]
}

impl Dials<'_, '_> {
    /// Those of one state of the plant.
    pub fn of(&self, plant: &Plant) -> Vec<Dial> {
        let mut dials: Vec<Dial> = Vec::new();
        for (input, errors) in &plant.errors {
            let choose = |error: &Exact| vec![Choice::Number(NumberChoice::Error(*input), error.clone())];
            dials.push(errors.iter().map(choose).collect());
        }
        for (passive, errors) in &plant.tolerances {
            let choose =
                |error: &Exact| vec![Choice::Number(NumberChoice::Tolerance(*passive), error.clone())];
            dials.push(errors.iter().map(choose).collect());
        }
        self.memories(&mut dials);
        dials.extend(self.reach.stops.iter().map(|id| either(FactChoice::Pressed(*id))));
        let supplies = self.wide.supplies.iter().filter(|id| self.touched.supply(**id));
        dials.extend(supplies.map(|id| either(FactChoice::Lost(*id))));
        let contacts = self.wide.contacts.iter().filter(|id| self.touched.contact(**id));
        dials.extend(contacts.map(|id| either(FactChoice::ContactClosed(*id))));
        dials.extend(self.wide.inputs.iter().map(|(input, solver)| self.signal(plant, *input, *solver)));
        dials.extend(self.wide.cause_ends.iter().map(|(cause, solver)| self.cause(*cause, *solver)));
        let down = self.wide.link_ends.iter().filter(|(link, at)| self.touched.link_end(*link, *at));
        dials.extend(down.map(|(link, at)| either(FactChoice::LinkDown(*link, *at))));
        self.modes(&mut dials);
        self.overridden(&mut dials);
        self.devices(&mut dials);
        dials.retain(|dial| dial.len() > 1 || dial.first().is_some_and(|only| !only.is_empty()));
        dials
    }

    fn memories(&self, dials: &mut Vec<Dial>) {
        let model = self.model;
        let from_before = |wanted: CauseId| {
            let reads = |atom: &&InputAtom| matches!(atom, InputAtom::Cause { cause, from_before: true } if *cause == wanted);
            model.causes.iter().any(|(_, cause)| cause.when.atoms().iter().any(reads))
        };
        let kept = self.reach.memories.iter().filter(|id| model.causes[**id].latched || from_before(**id));
        dials.extend(kept.map(|id| either(FactChoice::AlreadySet(*id))));
        for id in &self.reach.causes {
            for atom in model.causes[*id].when.atoms() {
                let InputAtom::Compare { input, number, .. } = atom else { continue };
                if let Observes::Quantity { deadband, .. } = &model.inputs[*input].observes
                    && !deadband.is_zero()
                {
                    dials.push(either(FactChoice::Remembers(*id, *number)));
                }
            }
        }
    }

    fn modes(&self, dials: &mut Vec<Dial>) {
        for (input, solver) in self.wide.mode_ends.iter().filter(|(input, _)| self.touched.mode_input(*input))
        {
            let modes = &self.model.groups[self.model.mode_inputs[*input].group].modes;
            let shown = |mode: &ModeId| vec![Choice::Mode(ModeChoice::Shown(*input, *solver), *mode)];
            dials.push(modes.iter().map(shown).collect());
        }
    }

    fn overridden(&self, dials: &mut Vec<Dial>) {
        for (device, input) in &self.wide.overrides {
            let fact = FactChoice::Overridden(*device, *input);
            match self.pins.overrides.get(&(*device, *input)) {
                Some(true) => dials.push(vec![vec![Choice::Fact(fact)]]),
                Some(false) => {}
                None if self.overrides || self.touched.overriding(*device) => dials.push(either(fact)),
                None => {}
            }
        }
    }

    /// What a solver may see of an input.
    fn signal(&self, plant: &Plant, id: InputId, solver: SolverId) -> Dial {
        if let Some(facts) = self.pins.inputs.get(&(id, solver)) {
            return vec![facts.iter().map(|fact| Choice::Fact(*fact)).collect()];
        }
        match self.model.access.get(&(Signal::Input(id), solver)) {
            Some(Access::Over(link, from)) => self.over_link(plant, id, solver, *link, *from),
            Some(Access::Direct) | None => match self.model.inputs[id].readers.get(&solver) {
                Some(path) => self.wired(plant, id, solver, path),
                None => vec![vec![]],
            },
        }
    }

    fn wired(&self, plant: &Plant, id: InputId, solver: SolverId, path: &Path) -> Dial {
        let input = &self.model.inputs[id];
        let Way { deviates, line, supply } = self.touched.way(id, path);
        let supply = supply || (self.blind && input.warm_up.is_some());
        let holds = input.on_loss == Lost::Holds;
        let is_loop = matches!(input.observes, Observes::Loop { .. });
        let plain = line && input.line == LineKind::Plain;
        let shown = match deviates || plain || (holds && (line || supply)) {
            true => self.shown(plant, id, solver),
            false => Vec::new(),
        };
        let mut dial: Dial = vec![vec![]];
        if supply && holds {
            dial = shown.clone();
        }
        let mut with = |facts: &[FactChoice], shown: &[Vec<Choice>]| {
            let facts: Vec<Choice> = facts.iter().map(|fact| Choice::Fact(*fact)).collect();
            if shown.is_empty() {
                dial.push(facts);
                return;
            }
            dial.extend(shown.iter().map(|shown| facts.iter().chain(shown).cloned().collect::<Vec<_>>()));
        };
        if deviates {
            with(&[FactChoice::Deviates(id, solver), FactChoice::Bad(id, solver)], &[]);
            with(&[FactChoice::Deviates(id, solver)], &shown);
        }
        if line {
            let any = holds && !is_loop;
            with(&[FactChoice::LineOpen(id, solver)], if any { &shown } else { &[] });
        }
        if plain {
            with(&[FactChoice::LineHeld(id, solver)], &shown);
        }
        dial
    }

    fn over_link(&self, plant: &Plant, id: InputId, solver: SolverId, link: LinkId, from: SolverId) -> Dial {
        let way = self.touched.over(link, from);
        if !way.any() {
            return vec![vec![]];
        }
        let shown = self.shown(plant, id, solver);
        let holds = self.model.links[link].on_loss == LinkLoss::Holds;
        let mut dial: Dial = if way.supply && holds { shown.clone() } else { vec![vec![]] };
        if way.deviates {
            let deviates = Choice::Fact(FactChoice::Deviates(id, solver));
            let silent = [deviates.clone(), Choice::Fact(FactChoice::Silent(id, solver))];
            dial.push(vec![deviates.clone(), Choice::Fact(FactChoice::Bad(id, solver))]);
            for shown in &shown {
                dial.push([deviates.clone()].iter().chain(shown).cloned().collect());
                if holds {
                    dial.push(silent.iter().chain(shown).cloned().collect());
                }
            }
            if !holds {
                dial.push(silent.to_vec());
            }
        }
        dial
    }

    /// What may be shown where anything may.
    fn shown(&self, plant: &Plant, id: InputId, solver: SolverId) -> Vec<Vec<Choice>> {
        let input = &self.model.inputs[id];
        let Observes::Quantity { range, .. } = &input.observes else {
            return either(FactChoice::Asserted(id, solver));
        };
        let mut values = readings(&comparisons(self.model, self.wide, id), range);
        // A failure in one direction goes as far as the true value.
        if input.fails.is_some() {
            let truths = plant.truths.iter().filter(|(other, _)| *other == id);
            values.extend(truths.flat_map(|(_, truths)| truths.iter().cloned()));
        }
        let reading = |value| vec![Choice::Number(NumberChoice::Reading(id, solver), value)];
        values.into_iter().map(reading).collect()
    }

    /// What a solver may know of a cause that comes over a link.
    fn cause(&self, id: CauseId, solver: SolverId) -> Dial {
        let Some(Access::Over(link, from)) = self.model.access.get(&(Signal::Cause(id), solver)) else {
            return vec![vec![]];
        };
        let way = self.touched.over(*link, *from);
        let holds = self.model.links[*link].on_loss == LinkLoss::Holds;
        let seen = Choice::Fact(FactChoice::CauseSeen(id, solver));
        let mut dial: Dial = vec![vec![]];
        if way.supply && holds {
            dial.push(vec![seen.clone()]);
        }
        if way.deviates {
            let deviates = Choice::Fact(FactChoice::CauseDeviates(id, solver));
            let silent = Choice::Fact(FactChoice::CauseSilent(id, solver));
            dial.push(vec![deviates.clone()]);
            dial.push(vec![deviates.clone(), seen.clone()]);
            dial.push(vec![deviates.clone(), silent.clone()]);
            if holds {
                dial.push(vec![deviates, silent, seen]);
            }
        }
        dial
    }

    /// Whether causes command an actuator to more than one position.
    fn torn(&self, id: ActuatorId) -> bool {
        let effects = self.model.causes.iter().flat_map(|(_, cause)| &cause.demands);
        let set = effects.flat_map(|effect| &self.model.effects[*effect].set);
        let mut positions: Vec<usize> =
            set.filter(|(at, _)| *at == id).map(|(_, position)| *position).collect();
        positions.sort_unstable();
        positions.dedup();
        positions.len() > 1
    }

    fn drivers(&self, id: ActuatorId, dials: &mut Vec<Dial>) {
        let actuator = &self.model.actuators[id];
        for driver in &actuator.drivers {
            let quiet = actuator.rest.is_some() && (actuator.winner.is_some() || !self.torn(id));
            if quiet && !self.touched.driver(*driver) && self.held != Some(id) {
                continue;
            }
            dials.push(match actuator.without_energy {
                WithoutEnergy::Goes { .. } => either(FactChoice::Gives(*driver)),
                WithoutEnergy::Stays => self.both_ways(*driver),
            });
        }
    }

    fn both_ways(&self, driver: DriverId) -> Dial {
        let [one, other] = [0, 1].map(|position| Choice::Fact(FactChoice::Drives(driver, position)));
        vec![vec![], vec![one.clone()], vec![other.clone()], vec![one, other]]
    }

    fn devices(&self, dials: &mut Vec<Dial>) {
        let model = self.model;
        for (id, actuator) in model.actuators.iter() {
            let device = Device::Actuator(id);
            let (near, far) = (self.reach.actuators.contains(&id), self.wide.actuators.contains(&id));
            if !far {
                continue;
            }
            if near || actuator.drivers.iter().any(|driver| self.touched.driver(*driver)) {
                self.drivers(id, dials);
            }
            let idle = near
                && (self.held == Some(id)
                    || (actuator.drivers.is_empty() && actuator.rest.is_none())
                    || actuator.without_energy == WithoutEnergy::Stays);
            let mut ways: Vec<Vec<FactChoice>> = vec![vec![]];
            if self.touched.line(&actuator.routes) {
                ways.push(vec![FactChoice::ActuatorLineOpen(id)]);
                if actuator.line == LineKind::Plain {
                    ways.push(vec![FactChoice::ActuatorLineHeld(id)]);
                    ways.push(vec![FactChoice::ActuatorLineHeld(id), FactChoice::Energised(id)]);
                }
            }
            let at = |position| Choice::Position(device, position);
            let every = 0..actuator.positions.len();
            let mut dial: Dial = Vec::new();
            for way in ways {
                let way: Vec<Choice> = way.into_iter().map(Choice::Fact).collect();
                match idle {
                    true => dial.extend(every.clone().map(|p| way.iter().cloned().chain([at(p)]).collect())),
                    false => dial.push(way),
                }
            }
            if self.touched.device(device) {
                let stuck = Choice::Fact(FactChoice::DeviceDeviates(device));
                dial.extend(every.map(|position| vec![stuck.clone(), at(position)]));
            }
            dials.push(dial);
        }
        for id in &self.wide.passive {
            let device = Device::Passive(*id);
            if self.touched.device(device) {
                let stuck = Choice::Fact(FactChoice::DeviceDeviates(device));
                let mut dial: Dial = vec![vec![]];
                let every = 0..model.passive[*id].positions.len();
                dial.extend(every.map(|p| vec![stuck.clone(), Choice::Position(device, p)]));
                dials.push(dial);
            }
        }
    }
}
