//! What a breach can depend on, found generously: an element too many only costs time.
//!
//! Follows the plant's own connections from the devices or causes that the breach speaks of. The program's own
//! dependencies are not used: what it forgets would be forgotten here too.

use std::collections::BTreeSet;

use tripproof::claim::Breach;
use tripproof::model::{
    Access, ActsOn, ActuatorId, AtPosition, CauseId, ConditionId, ConditionerId, ContactId, Device, GroupId,
    HazardId, InputAtom, InputId, LinkId, ModeInputId, Model, Observes, OverrideId, Parents, PassiveId,
    PlantAtom, QuantityId, Signal, SolverId, Source, StopId, SupplyId, Tree,
};

/// What a breach can depend on.
pub struct Reach<'m> {
    model: &'m Model,
    /// Inputs with the solvers that see them.
    pub inputs: BTreeSet<(InputId, SolverId)>,
    /// Causes that are evaluated.
    pub causes: BTreeSet<CauseId>,
    /// Causes whose memory is read.
    pub memories: BTreeSet<CauseId>,
    /// Causes that come to a solver over a link.
    pub cause_ends: BTreeSet<(CauseId, SolverId)>,
    /// Links whose loss a solver may see.
    pub link_ends: BTreeSet<(LinkId, SolverId)>,
    /// Mode inputs with the solvers that they tell.
    pub mode_ends: BTreeSet<(ModeInputId, SolverId)>,
    /// Contacts of loops.
    pub contacts: BTreeSet<ContactId>,
    /// Emergency stops.
    pub stops: BTreeSet<StopId>,
    /// Override devices with inputs that they can take out.
    pub overrides: BTreeSet<(OverrideId, InputId)>,
    /// Supplies.
    pub supplies: BTreeSet<SupplyId>,
    /// Actuators.
    pub actuators: BTreeSet<ActuatorId>,
    /// Passive devices.
    pub passive: BTreeSet<PassiveId>,
    /// Quantities.
    pub quantities: BTreeSet<QuantityId>,
    /// Conditions.
    pub conditions: BTreeSet<ConditionId>,
    /// Mode groups.
    pub groups: BTreeSet<GroupId>,
    /// Hazards whose onset is asked for.
    pub hazards: BTreeSet<HazardId>,
    /// Everything in it in which a fault can sit, without damage groups.
    pub sources: BTreeSet<Source>,
    /// Whether what is normal is asked for.
    pub normal: bool,
}

impl<'m> Reach<'m> {
    fn nothing(model: &'m Model) -> Self {
        let mut reach = Reach {
            model,
            inputs: BTreeSet::new(),
            causes: BTreeSet::new(),
            memories: BTreeSet::new(),
            cause_ends: BTreeSet::new(),
            link_ends: BTreeSet::new(),
            mode_ends: BTreeSet::new(),
            contacts: BTreeSet::new(),
            stops: BTreeSet::new(),
            overrides: BTreeSet::new(),
            supplies: BTreeSet::new(),
            actuators: BTreeSet::new(),
            passive: BTreeSet::new(),
            quantities: BTreeSet::new(),
            conditions: BTreeSet::new(),
            groups: BTreeSet::new(),
            hazards: BTreeSet::new(),
            sources: BTreeSet::new(),
            normal: false,
        };
        for (_, coupling) in model.couplings.iter() {
            coupling.holds.atoms().into_iter().for_each(|atom| reach.plant_atom(atom));
        }
        reach
    }

    /// Everything.
    pub fn whole(model: &'m Model) -> Self {
        let mut reach = Reach::nothing(model);
        model.hazards.ids().for_each(|id| reach.hazard(id));
        model.actuators.ids().for_each(|id| reach.actuator(id));
        model.passive.ids().for_each(|id| reach.passive(id));
        model.causes.ids().for_each(|id| reach.cause(id));
        for (signal, solver) in model.access.keys() {
            match signal {
                Signal::Input(input) => reach.sees(*input, *solver),
                Signal::Cause(cause) => reach.knows(*cause, *solver),
            }
        }
        for (id, input) in model.inputs.iter() {
            input.readers.keys().for_each(|solver| reach.sees(id, *solver));
        }
        for (id, link) in model.links.iter() {
            link.connects.iter().for_each(|solver| reach.link_end(id, *solver));
        }
        for (id, input) in model.mode_inputs.iter() {
            input.tells.iter().for_each(|solver| reach.mode_end(id, *solver));
        }
        for (id, device) in model.overrides.iter() {
            device.inputs.iter().for_each(|input| reach.overridden(id, *input));
        }
        model.supplies.ids().for_each(|id| reach.supply(Some(id)));
        reach.stops.extend(model.stops.ids());
        reach.quantities.extend(model.quantities.ids());
        reach.conditions.extend(model.conditions.ids());
        reach.groups.extend(model.groups.ids());
        let of_group = |source: &Source| matches!(source, Source::Damage(..));
        reach.sources.extend(model.universe().into_iter().filter(|source| !of_group(source)));
        reach.normal = true;
        reach
    }

    /// What a breach can depend on.
    pub fn of(model: &'m Model, breach: &Breach) -> Self {
        let mut reach = Reach::nothing(model);
        if let Some(hazard) = breach.hazard() {
            reach.hazard(hazard);
            model.hazards[hazard].never_together.iter().for_each(|other| reach.hazard(*other));
        }
        match breach {
            Breach::NotMet { hazard, .. } | Breach::Late { hazard, .. } | Breach::Blind(hazard) => {
                reach.safe_state(*hazard)
            }
            Breach::ActsInTime { cause, .. } => reach.cause(*cause),
            Breach::Exists { .. } | Breach::Possible => {}
            Breach::Fires(cause)
            | Breach::FiresFor(cause, _)
            | Breach::VoteTrips(cause, _)
            | Breach::Armed(cause)
            | Breach::Harmed { cause, .. } => reach.cause(*cause),
            Breach::Quiet(cause) => {
                reach.cause(*cause);
                reach.everything_normal();
            }
            Breach::Opposed(actuator) => reach.commands(*actuator),
            Breach::Overruled(actuator) => reach.actuator(*actuator),
            Breach::Occurs(exclusion) => reach.positions(&model.exclusions[*exclusion].never),
            Breach::Broken(invariant) => {
                reach.demanded(&model.invariants[*invariant].whenever);
                reach.demanded(&model.invariants[*invariant].then);
            }
            Breach::Applies(invariant) => reach.demanded(&model.invariants[*invariant].whenever),
            Breach::LockedIn(space) | Breach::ReleaseFails(space, _) => {
                reach.groups.extend(model.spaces[*space].people_in.keys());
                let locks = model.spaces[*space].doors.iter().filter_map(|door| door.held_by);
                locks.for_each(|at| reach.device(at.device));
            }
            Breach::Runs(mode) => reach.needs(&[*mode]),
            Breach::RunBoth(one, other) | Breach::Clash(one, other) => reach.needs(&[*one, *other]),
            Breach::Unled(cause, others) => {
                reach.cause(*cause);
                others.iter().for_each(|other| reach.cause(*other));
            }
            Breach::Matters(cause, at) => {
                reach.cause(*cause);
                let marks: BTreeSet<(ActuatorId, usize)> = match at {
                    Some(at) => place(at).into_iter().collect(),
                    None => set_by(model, *cause).collect(),
                };
                marks.iter().for_each(|mark| reach.setting(*mark));
            }
            Breach::Forced { at, .. } => reach.device(at.device),
            Breach::Outvoted { hazard, actuator } => {
                reach.safe_state(*hazard);
                reach.commands(*actuator);
            }
            Breach::Together(hazards) => hazards.iter().for_each(|hazard| reach.hazard(*hazard)),
            Breach::SpanMissed(stop) => {
                reach.stops.insert(*stop);
                let contacts = &model.stops[*stop].contacts;
                for (_, cause) in model.causes.iter() {
                    let reads = |atom: &&InputAtom| matches!(atom, InputAtom::Is { input, .. } if contacts.contains(input));
                    if cause.when.atoms().iter().any(reads) {
                        reach.groups.extend(cause.armed.keys());
                    }
                }
                model.stops[*stop].brings.iter().for_each(|at| reach.device(at.device));
            }
            Breach::Inside(space) => reach.groups.extend(model.spaces[*space].people_in.keys()),
            Breach::Released { space, door, hazard } | Breach::ReleaseUsed { space, door, hazard } => {
                if let Breach::Released { .. } = breach {
                    reach.safe_state(*hazard);
                }
                let release = model.spaces[*space].doors[*door].escape_release.as_ref();
                release
                    .into_iter()
                    .flat_map(|release| &release.trips)
                    .for_each(|input| reach.observed(*input));
            }
            Breach::Overdrawn(_) => {
                for (_, release) in model.suppression.iter() {
                    release.released_by.iter().for_each(|cause| reach.cause(*cause));
                    release.discharges.iter().filter_map(place).for_each(|mark| reach.setting(mark));
                    reach.sources.extend(release.capacity.iter().map(|(machine, _)| *machine));
                }
            }
        }
        reach
    }

    fn everything_normal(&mut self) {
        self.normal = true;
        self.quantities.extend(self.model.quantities.ids());
        self.conditions.extend(self.model.conditions.ids());
        self.groups.extend(self.model.groups.ids());
    }

    fn needs(&mut self, modes: &[tripproof::model::ModeId]) {
        self.everything_normal();
        for need in modes.iter().flat_map(|mode| &self.model.modes[*mode].needs) {
            let Device::Actuator(actuator) = need.device else { continue };
            for position in 0..self.model.actuators[actuator].positions.len() {
                self.setting((actuator, position));
            }
        }
    }

    fn plant_atom(&mut self, atom: &PlantAtom) {
        match atom {
            PlantAtom::Linear { sum, .. } => self.quantities.extend(sum.iter().map(|(_, id)| *id)),
            PlantAtom::Condition(id) => drop(self.conditions.insert(*id)),
            PlantAtom::Mode(mode) => drop(self.groups.insert(self.model.modes[*mode].group)),
        }
    }

    fn hazard(&mut self, id: HazardId) {
        let hazard = &self.model.hazards[id];
        self.hazards.insert(id);
        self.groups.insert(hazard.group);
        hazard.when.atoms().into_iter().for_each(|atom| self.plant_atom(atom));
    }

    fn safe_state(&mut self, id: HazardId) {
        self.positions(&self.model.hazards[id].safe_state);
    }

    fn positions(&mut self, tree: &Tree<AtPosition>) {
        tree.atoms().into_iter().for_each(|at| self.device(at.device));
    }

    fn demanded(&mut self, tree: &Tree<AtPosition>) {
        tree.atoms().into_iter().filter_map(place).for_each(|mark| self.setting(mark));
    }

    /// Every cause that sets an actuator to a position, at its own solver.
    fn setting(&mut self, mark: (ActuatorId, usize)) {
        let causes =
            self.model.causes.ids().filter(|cause| set_by(self.model, *cause).any(|set| set == mark));
        causes.collect::<Vec<_>>().into_iter().for_each(|cause| self.cause(cause));
    }

    fn device(&mut self, device: Device) {
        match device {
            Device::Actuator(id) => self.actuator(id),
            Device::Passive(id) => self.passive(id),
        }
    }

    fn passive(&mut self, id: PassiveId) {
        let passive = &self.model.passive[id];
        self.passive.insert(id);
        self.sources.insert(Source::Passive(id));
        self.parents(&passive.parents);
        match &passive.acts {
            Some((ActsOn::Quantity { quantity, .. }, _)) => drop(self.quantities.insert(*quantity)),
            Some((ActsOn::Condition { condition, .. }, _)) => drop(self.conditions.insert(*condition)),
            None => {}
        }
    }

    fn actuator(&mut self, id: ActuatorId) {
        let actuator = &self.model.actuators[id];
        if !self.actuators.insert(id) {
            return;
        }
        self.sources.insert(Source::Actuator(id));
        self.parents(&actuator.parents);
        self.supply(actuator.supply);
        self.sources.extend(actuator.routes.iter().map(|route| Source::Route(*route)));
        for driver in &actuator.drivers {
            let driver = &self.model.drivers[*driver];
            self.solver(driver.solver);
            for relay in &driver.relays {
                self.sources.insert(Source::Relay(*relay));
                self.parents(&self.model.relays[*relay].parents);
                self.supply(self.model.relays[*relay].supply);
            }
        }
        self.commands(id);
    }

    /// The causes that command an actuator, as its drivers know them.
    fn commands(&mut self, id: ActuatorId) {
        for cause in self.model.causes.ids() {
            if !set_by(self.model, cause).any(|(actuator, _)| actuator == id) {
                continue;
            }
            for driver in &self.model.actuators[id].drivers {
                self.knows(cause, self.model.drivers[*driver].solver);
            }
        }
    }

    /// A cause as a solver knows it, if it does.
    fn knows(&mut self, id: CauseId, solver: SolverId) {
        if self.model.causes[id].solver == solver {
            return self.cause(id);
        }
        if let Some(Access::Over(link, from)) = self.model.access.get(&(Signal::Cause(id), solver)) {
            self.cause_ends.insert((id, solver));
            self.link(*link);
            self.solver(*from);
            self.knows(id, *from);
        }
    }

    fn cause(&mut self, id: CauseId) {
        if !self.causes.insert(id) {
            return;
        }
        let cause = &self.model.causes[id];
        self.memories.insert(id);
        for group in cause.armed.keys() {
            self.groups.insert(*group);
            if let Some(input) = self.model.mode_input_of.get(&(*group, cause.solver)) {
                self.mode_end(*input, cause.solver);
            }
        }
        for atom in cause.when.atoms() {
            match atom {
                InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } => {
                    self.sees(*input, cause.solver);
                    let devices = self.model.overrides.iter().filter(|(_, d)| d.inputs.contains(input));
                    devices.for_each(|(device, _)| self.overridden(device, *input));
                }
                InputAtom::Cause { cause, from_before: true } => drop(self.memories.insert(*cause)),
                InputAtom::Cause { cause: other, from_before: false } => self.knows(*other, cause.solver),
                InputAtom::Overriding(device) => {
                    let inputs = &self.model.overrides[*device].inputs;
                    inputs.iter().for_each(|input| self.overridden(*device, *input));
                }
                InputAtom::Shows(input, _) => self.mode_end(*input, cause.solver),
                InputAtom::Bad(input) => self.sees(*input, cause.solver),
                InputAtom::LinkLost(link) => self.link_end(*link, cause.solver),
            }
        }
    }

    fn overridden(&mut self, device: OverrideId, input: InputId) {
        self.overrides.insert((device, input));
        self.sources.insert(Source::Override(device));
        self.parents(&self.model.overrides[device].parents);
        self.groups.extend(self.model.overrides[device].modes.keys());
    }

    /// An input as a solver sees it.
    fn sees(&mut self, id: InputId, solver: SolverId) {
        if !self.inputs.insert((id, solver)) {
            return;
        }
        if let Some(Access::Over(link, from)) = self.model.access.get(&(Signal::Input(id), solver)) {
            self.link(*link);
            self.solver(*from);
            return self.sees(id, *from);
        }
        let input = &self.model.inputs[id];
        self.sources.insert(match input.observes {
            Observes::Loop { .. } => Source::LoopLine(id),
            _ => Source::Input(id),
        });
        self.parents(&input.parents);
        self.supply(input.supply);
        self.observed(id);
        if let Observes::Loop { contacts, .. } = &input.observes {
            for contact in contacts {
                self.contacts.insert(*contact);
                self.sources.insert(Source::Contact(*contact));
                self.parents(&self.model.contacts[*contact].parents);
            }
        }
        if let Some(path) = input.readers.get(&solver) {
            self.sources.extend(path.routes.iter().map(|route| Source::Route(*route)));
            self.through(&path.through);
        }
    }

    /// What an input observes of the plant.
    fn observed(&mut self, id: InputId) {
        match &self.model.inputs[id].observes {
            Observes::Quantity { quantity, .. } => drop(self.quantities.insert(*quantity)),
            Observes::Condition { condition, .. } => drop(self.conditions.insert(*condition)),
            Observes::Loop { contacts, .. } => {
                self.conditions.extend(contacts.iter().map(|id| self.model.contacts[*id].condition));
            }
            Observes::Stop(stop) => drop(self.stops.insert(*stop)),
        }
    }

    fn through(&mut self, through: &[ConditionerId]) {
        for id in through {
            self.sources.insert(Source::Conditioner(*id));
            self.parents(&self.model.conditioners[*id].parents);
            self.supply(self.model.conditioners[*id].supply);
        }
    }

    fn mode_end(&mut self, id: ModeInputId, solver: SolverId) {
        let input = &self.model.mode_inputs[id];
        self.mode_ends.insert((id, solver));
        self.groups.insert(input.group);
        self.sources.insert(Source::ModeInput(id));
        self.sources.extend(input.routes.iter().map(|route| Source::Route(*route)));
        self.through(&input.through);
        self.supply(input.supply);
        self.parents(&input.parents);
    }

    fn link_end(&mut self, id: LinkId, solver: SolverId) {
        self.link_ends.insert((id, solver));
        self.link(id);
        self.model.links[id].connects.iter().for_each(|solver| self.solver(*solver));
    }

    fn link(&mut self, id: LinkId) {
        let link = &self.model.links[id];
        self.sources.insert(Source::Link(id));
        self.sources.extend(link.routes.iter().map(|route| Source::Route(*route)));
        self.supply(link.supply);
        self.parents(&link.parents);
    }

    fn solver(&mut self, id: SolverId) {
        self.sources.insert(Source::Solver(id));
        self.supply(self.model.solvers[id].supply);
        self.parents(&self.model.solvers[id].parents);
    }

    fn supply(&mut self, id: Option<SupplyId>) {
        let Some(id) = id else { return };
        let supply = &self.model.supplies[id];
        self.supplies.insert(id);
        self.sources.insert(Source::Supply(id));
        self.sources.extend(supply.cabinet.map(Source::Cabinet));
        supply.fed_by.iter().flat_map(|tree| tree.atoms()).for_each(|feed| self.supply(Some(*feed)));
    }

    fn parents(&mut self, parents: &Parents) {
        self.sources.extend(parents.cabinet.map(Source::Cabinet));
        self.sources.extend(parents.shared.iter().map(|id| Source::Shared(*id)));
    }
}

fn place(at: &AtPosition) -> Option<(ActuatorId, usize)> {
    match at.device {
        Device::Actuator(id) => Some((id, at.position)),
        Device::Passive(_) => None,
    }
}

/// What a cause demands.
fn set_by(model: &Model, cause: CauseId) -> impl Iterator<Item = (ActuatorId, usize)> {
    let effects = model.causes[cause].demands.iter();
    effects.flat_map(|effect| model.effects[*effect].set.iter().copied())
}
