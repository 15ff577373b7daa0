//! Which choices a set of fault sources opens, found generously: a choice too many only costs time.

use std::collections::BTreeSet;

use tripproof::model::{
    ActuatorId, ContactId, Device, HazardId, InputId, Model, Observes, Override, OverrideId, Parents, Path,
    RouteId, Source, SupplyId,
};

/// How the way of a signal to one solver may be disturbed.
pub struct Way {
    /// The signal may deviate.
    pub deviates: bool,
    /// Its line may be open or held.
    pub line: bool,
    /// A supply that it needs may be lost.
    supply: bool,
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
    /// The sources, with all members of the initiator groups of the hazard and of the damage groups among them.
    pub fn new(model: &'m Model, hazard: HazardId, sources: &BTreeSet<Source>) -> Self {
        let element = &model.hazards[hazard];
        let mut all = sources.clone();
        all.extend(element.initiators.iter().flat_map(|group| group.members.iter().copied()));
        Touched::by(model, &all)
    }

    /// The sources, with all members of the damage groups among them.
    pub fn by(model: &'m Model, sources: &BTreeSet<Source>) -> Self {
        assert!(model.links.is_empty() && model.mode_inputs.is_empty(), "not a model for brute force");
        let mut all = sources.clone();
        for source in sources {
            if let Source::Damage(of, number) = source {
                all.extend(model.hazards[*of].damages[*number].members.iter().copied());
            }
        }
        Touched { model, sources: all }
    }

    fn has(&self, source: Source) -> bool {
        self.sources.contains(&source)
    }

    fn parents(&self, parents: &Parents) -> bool {
        parents.cabinet.is_some_and(|id| self.has(Source::Cabinet(id)))
            || parents.shared.iter().any(|id| self.has(Source::Shared(*id)))
    }

    fn supply(&self, id: SupplyId) -> bool {
        let supply = &self.model.supplies[id];
        self.has(Source::Supply(id))
            || supply.cabinet.is_some_and(|id| self.has(Source::Cabinet(id)))
            || supply.fed_by.iter().flat_map(|tree| tree.atoms()).any(|feed| self.supply(*feed))
    }

    /// Supplies that may be lost.
    pub fn supplies(&self) -> impl Iterator<Item = SupplyId> {
        self.model.supplies.ids().filter(|id| self.supply(*id))
    }

    /// Contacts that may stay as they are.
    pub fn contacts(&self) -> impl Iterator<Item = ContactId> {
        let contacts = self.model.contacts.iter();
        contacts
            .filter(|(id, item)| self.has(Source::Contact(*id)) || self.parents(&item.parents))
            .map(|(id, _)| id)
    }

    /// Override devices that may act without being permitted.
    pub fn overrides(&self) -> impl Iterator<Item = (OverrideId, &'m Override)> {
        let devices = self.model.overrides.iter();
        devices.filter(|(id, item)| self.has(Source::Override(*id)) || self.parents(&item.parents))
    }

    /// Whether a route of a line is among the sources.
    pub fn line(&self, routes: &[RouteId]) -> bool {
        routes.iter().any(|id| self.has(Source::Route(*id)))
    }

    /// Whether an actuator or passive device may be anywhere.
    pub fn device(&self, device: Device) -> bool {
        match device {
            Device::Actuator(id) => self.actuator(id),
            Device::Passive(id) => {
                self.has(Source::Passive(id)) || self.parents(&self.model.passive[id].parents)
            }
        }
    }

    fn actuator(&self, id: ActuatorId) -> bool {
        self.has(Source::Actuator(id)) || self.parents(&self.model.actuators[id].parents)
    }

    /// How the way of an input to a solver may be disturbed.
    pub fn way(&self, id: InputId, path: &Path) -> Way {
        let input = &self.model.inputs[id];
        let through = path.through.iter().map(|id| (*id, &self.model.conditioners[*id]));
        let deviates = |(id, item): (_, &tripproof::model::Conditioner)| {
            self.has(Source::Conditioner(id)) || self.parents(&item.parents)
        };
        let line_of_loop = matches!(input.observes, Observes::Loop { .. }) && self.has(Source::LoopLine(id));
        Way {
            deviates: self.has(Source::Input(id))
                || self.parents(&input.parents)
                || through.clone().any(deviates),
            line: self.line(&path.routes) || line_of_loop,
            supply: input.supply.is_some_and(|id| self.supply(id))
                || through.clone().any(|(_, item)| item.supply.is_some_and(|id| self.supply(id))),
        }
    }
}
