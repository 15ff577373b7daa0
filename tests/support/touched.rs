//! Which choices a set of fault sources opens, found generously: a choice too many only costs time.

use std::collections::BTreeSet;

use tripproof::model::{
    ConditionerId, ContactId, Device, DriverId, HazardId, InputId, LinkId, ModeInputId, Model, Observes,
    OverrideId, Parents, Path, RouteId, SolverId, Source, SupplyId,
};

/// How the way of a signal to one solver may be disturbed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Way {
    /// The signal may deviate.
    pub deviates: bool,
    /// Its line may be open or held.
    pub line: bool,
    /// A supply that it needs may be lost.
    pub supply: bool,
}

impl Way {
    /// In any way at all.
    pub fn any(&self) -> bool {
        self.deviates || self.line || self.supply
    }
}

/// What a set of fault sources reaches.
pub struct Touched<'m> {
    model: &'m Model,
    sources: BTreeSet<Source>,
}

impl<'m> Touched<'m> {
    /// The sources, with all members of the damage groups among them, and of the initiator groups of a hazard.
    pub fn by(model: &'m Model, sources: &BTreeSet<Source>, initiators_of: Option<HazardId>) -> Self {
        let mut all = sources.clone();
        for source in sources {
            if let Source::Damage(of, number) = source {
                all.extend(model.hazards[*of].damages[*number].members.iter().copied());
            }
        }
        let initiators = initiators_of.into_iter().flat_map(|id| &model.hazards[id].initiators);
        all.extend(initiators.flat_map(|group| group.members.iter().copied()));
        Touched { model, sources: all }
    }

    fn has(&self, source: Source) -> bool {
        self.sources.contains(&source)
    }

    fn may(&self, source: Source, parents: &Parents) -> bool {
        self.has(source)
            || parents.cabinet.is_some_and(|id| self.has(Source::Cabinet(id)))
            || parents.shared.iter().any(|id| self.has(Source::Shared(*id)))
    }

    /// Whether a supply may be lost.
    pub fn supply(&self, id: SupplyId) -> bool {
        let supply = &self.model.supplies[id];
        self.has(Source::Supply(id))
            || supply.cabinet.is_some_and(|id| self.has(Source::Cabinet(id)))
            || supply.fed_by.iter().flat_map(|tree| tree.atoms()).any(|feed| self.supply(*feed))
    }

    fn supplied(&self, id: Option<SupplyId>) -> bool {
        id.is_some_and(|id| self.supply(id))
    }

    /// Whether a contact may stay as it is.
    pub fn contact(&self, id: ContactId) -> bool {
        self.may(Source::Contact(id), &self.model.contacts[id].parents)
    }

    /// Whether an override device may act without being permitted.
    pub fn overriding(&self, id: OverrideId) -> bool {
        self.may(Source::Override(id), &self.model.overrides[id].parents)
    }

    /// Whether a route of a line is among the sources.
    pub fn line(&self, routes: &[RouteId]) -> bool {
        routes.iter().any(|id| self.has(Source::Route(*id)))
    }

    /// Whether an actuator or passive device may be anywhere.
    pub fn device(&self, device: Device) -> bool {
        match device {
            Device::Actuator(id) => self.may(Source::Actuator(id), &self.model.actuators[id].parents),
            Device::Passive(id) => self.may(Source::Passive(id), &self.model.passive[id].parents),
        }
    }

    fn solver(&self, id: SolverId) -> bool {
        self.may(Source::Solver(id), &self.model.solvers[id].parents)
    }

    /// Whether a driver may give or withhold energy whatever is demanded.
    pub fn driver(&self, id: DriverId) -> bool {
        let driver = &self.model.drivers[id];
        let relay = |id: &_| self.may(Source::Relay(*id), &self.model.relays[*id].parents);
        self.solver(driver.solver) || driver.relays.iter().any(relay)
    }

    fn through(&self, through: &[ConditionerId]) -> (bool, bool) {
        let deviates = |id: &_| self.may(Source::Conditioner(*id), &self.model.conditioners[*id].parents);
        let lost = |id: &_| self.supplied(self.model.conditioners[*id].supply);
        (through.iter().any(deviates), through.iter().any(lost))
    }

    /// How the way of an input to a solver that it is wired to may be disturbed.
    pub fn way(&self, id: InputId, path: &Path) -> Way {
        let input = &self.model.inputs[id];
        let is_loop = matches!(input.observes, Observes::Loop { .. });
        let own = if is_loop { Source::LoopLine(id) } else { Source::Input(id) };
        let may = self.may(own, &input.parents);
        let (deviates, lost) = self.through(&path.through);
        Way {
            deviates: deviates || (may && !is_loop),
            line: self.line(&path.routes) || (may && is_loop),
            supply: lost || self.supplied(input.supply),
        }
    }

    /// How what comes over a link from a solver may be disturbed; it has no line of its own.
    pub fn over(&self, id: LinkId, from: SolverId) -> Way {
        let link = &self.model.links[id];
        Way {
            deviates: self.may(Source::Link(id), &link.parents)
                || self.line(&link.routes)
                || self.solver(from),
            line: false,
            supply: self.supplied(link.supply) || self.supplied(self.model.solvers[from].supply),
        }
    }

    /// Whether a solver may see a link as down, or not, whatever it is.
    pub fn link_end(&self, id: LinkId, at: SolverId) -> bool {
        let link = &self.model.links[id];
        let mut others = link.connects.iter().filter(|other| **other != at);
        self.may(Source::Link(id), &link.parents)
            || self.line(&link.routes)
            || others.any(|other| self.solver(*other))
    }

    /// Whether a mode input may show any mode.
    pub fn mode_input(&self, id: ModeInputId) -> bool {
        let input = &self.model.mode_inputs[id];
        let (deviates, lost) = self.through(&input.through);
        self.may(Source::ModeInput(id), &input.parents)
            || self.line(&input.routes)
            || self.supplied(input.supply)
            || deviates
            || lost
    }
}
