//! What can matter for a claim: the cone of its breach.
//!
//! Responsible for picking devices, causes, inputs and everything behind them, so that the story tells nothing else.
//! What does matter is seen from the simulator's result, not here.

use std::collections::{BTreeMap, BTreeSet};

use super::sharing;
use crate::claim::Breach;
use crate::dependencies::Dependencies;
use crate::model::{
    AtPosition, CauseId, ConditionId, Device, Element, GroupId, HazardId, InputAtom, InputId, LinkId, Model,
    Observes, PlantAtom, QuantityId, Signal, SolverId, Source, Tree,
};

/// Everything that can matter for a breach.
pub(super) struct Cone {
    /// Elements that something of the breach depends on.
    pub(super) elements: BTreeSet<Element>,
    /// Devices of the breach, in the order in which it names them.
    pub(super) devices: Vec<Device>,
    /// Causes among the elements.
    pub(super) causes: BTreeSet<CauseId>,
    /// Inputs with the solvers that see them on the way to a cause.
    pub(super) sees: BTreeSet<(InputId, SolverId)>,
    /// Causes with the solvers that know them on the way to a driver or another cause.
    pub(super) knows: BTreeSet<(CauseId, SolverId)>,
    /// Mode groups.
    pub(super) groups: BTreeSet<GroupId>,
    /// Links that a cause asks about, each with the solver that asks.
    pub(super) links_asked: BTreeSet<(LinkId, SolverId)>,
}

impl Cone {
    /// The cone of a breach. With the positions in the end, only the devices that decide it are in it: of a safe
    /// state `K1 = open AND K2 = open` those that are not open.
    pub(super) fn of(model: &Model, breach: &Breach, ends: Option<&BTreeMap<Device, usize>>) -> Cone {
        let graph = Dependencies::of(model);
        let devices = devices(model, breach, ends);
        let mut elements: BTreeSet<Element> = BTreeSet::new();
        for device in &devices {
            elements.extend(graph.reach(model.device_element(*device)));
        }
        if let Breach::Overdrawn(machine) = breach {
            let (machines, _) = model.carried_with(*machine);
            elements.extend(machines.iter().filter_map(|machine| model.source_element(*machine)));
        }
        for cause in causes(model, breach) {
            elements.extend(graph.reach(Element::Cause(cause)));
        }
        let causes: BTreeSet<CauseId> =
            model.causes.ids().filter(|id| elements.contains(&Element::Cause(*id))).collect();
        let mut cone = Cone {
            elements,
            devices,
            causes,
            sees: BTreeSet::new(),
            knows: BTreeSet::new(),
            groups: BTreeSet::new(),
            links_asked: BTreeSet::new(),
        };
        cone.ends(model);
        cone.hazard(model, breach);
        cone.find_groups(model, breach);
        cone
    }

    /// Whether a fault source sits in an element of the cone. A damage group does if a member does.
    pub(super) fn holds(&self, model: &Model, source: Source) -> bool {
        match source {
            Source::Damage(hazard, number) => {
                let group = model.hazards[hazard].damages.get(number);
                group.is_some_and(|group| group.members.iter().any(|member| self.holds(model, *member)))
            }
            _ => model.source_element(source).is_some_and(|element| self.elements.contains(&element)),
        }
    }

    fn ends(&mut self, model: &Model) {
        for id in self.causes.clone() {
            let solver = model.causes[id].solver;
            self.knows.insert((id, solver));
            for atom in model.causes[id].when.atoms() {
                match atom {
                    InputAtom::Compare { input, .. }
                    | InputAtom::Is { input, .. }
                    | InputAtom::Bad(input) => {
                        let way = way(model, Signal::Input(*input), solver);
                        self.sees.extend(way.into_iter().map(|at| (*input, at)));
                    }
                    InputAtom::Cause { cause, from_before: false } => self.known_by(model, *cause, solver),
                    InputAtom::LinkLost(link) => {
                        self.links_asked.insert((*link, solver));
                    }
                    InputAtom::Cause { .. } | InputAtom::Overriding(_) | InputAtom::Shows(..) => {}
                }
            }
        }
        for (_, driver) in model.drivers.iter() {
            if !self.elements.contains(&Element::Actuator(driver.actuator)) {
                continue;
            }
            for id in self.causes.clone() {
                let cause = &model.causes[id];
                let sets = cause
                    .demands
                    .iter()
                    .any(|effect| model.effects[*effect].set.iter().any(|(a, _)| *a == driver.actuator));
                let reaches = cause.solver == driver.solver
                    || model.access.contains_key(&(Signal::Cause(id), driver.solver));
                if sets && reaches {
                    self.known_by(model, id, driver.solver);
                }
            }
        }
    }

    fn known_by(&mut self, model: &Model, cause: CauseId, solver: SolverId) {
        let own = model.causes[cause].solver;
        for at in way(model, Signal::Cause(cause), solver) {
            self.knows.insert((cause, at));
            if at == own {
                break;
            }
        }
    }

    fn hazard(&mut self, model: &Model, breach: &Breach) {
        for hazard in hazards(breach) {
            self.one_hazard(model, hazard);
        }
    }

    fn one_hazard(&mut self, model: &Model, hazard: HazardId) {
        for (atom, _) in model.hazards[hazard].onset.iter().flatten() {
            if let PlantAtom::Mode(mode) = atom {
                self.groups.insert(model.modes[*mode].group);
            }
        }
        self.groups.insert(model.hazards[hazard].group);
    }

    fn find_groups(&mut self, model: &Model, breach: &Breach) {
        if let Breach::LockedIn(space) | Breach::ReleaseFails(space, _) = breach {
            self.groups.extend(model.spaces[*space].people_in.keys());
        }
        if let Breach::RunBoth(one, other) | Breach::Clash(one, other) = breach {
            self.groups.extend([one, other].map(|mode| model.modes[*mode].group));
        }
        for id in &self.causes {
            self.groups.extend(model.causes[*id].armed.keys());
        }
        for (id, input) in model.mode_inputs.iter() {
            if self.elements.contains(&Element::ModeInput(id)) {
                self.groups.insert(input.group);
            }
        }
    }
}

/// The hazards that a breach speaks of.
pub(super) fn hazards(breach: &Breach) -> Vec<HazardId> {
    match breach {
        Breach::Together(hazards) => hazards.iter().copied().collect(),
        _ => breach.hazard().into_iter().collect(),
    }
}

/// Devices that a breach names; with the positions in the end, those that decide it.
fn devices(model: &Model, breach: &Breach, ends: Option<&BTreeMap<Device, usize>>) -> Vec<Device> {
    let is = |at: &AtPosition| ends.is_some_and(|ends| ends.get(&at.device) == Some(&at.position));
    let of = |tree: &Tree<AtPosition>| {
        let atoms = if ends.is_some() { deciding(tree, &is) } else { tree.atoms() };
        in_order(atoms.into_iter().map(|at| at.device))
    };
    match breach {
        Breach::NotMet { hazard, .. }
        | Breach::Blind(hazard)
        | Breach::Outvoted { hazard, .. }
        | Breach::Released { hazard, .. } => of(&model.hazards[*hazard].safe_state),
        // What is late stands where it should in the end, and belongs to the story all the same.
        Breach::Late { hazard, .. } => {
            in_order(model.hazards[*hazard].safe_state.atoms().into_iter().map(|at| at.device))
        }
        Breach::Opposed(actuator) | Breach::Overruled(actuator) => vec![Device::Actuator(*actuator)],
        Breach::Forced { at, .. } => vec![at.device],
        Breach::SpanMissed(stop) => {
            in_order(model.stops[*stop].brings.iter().filter(|at| !is(at)).map(|at| at.device))
        }
        Breach::Occurs(exclusion) => of(&model.exclusions[*exclusion].never),
        Breach::LockedIn(space) | Breach::ReleaseFails(space, _) => {
            in_order(model.spaces[*space].doors.iter().filter_map(|door| door.held_by.map(|at| at.device)))
        }
        Breach::Broken(_)
        | Breach::ActsInTime { .. }
        | Breach::Exists { .. }
        | Breach::Possible
        | Breach::Fires(_)
        | Breach::FiresFor(..)
        | Breach::Quiet(_)
        | Breach::Runs(_)
        | Breach::Matters(..)
        | Breach::Unled(..)
        | Breach::VoteTrips(..)
        | Breach::Armed(_)
        | Breach::Applies(_)
        | Breach::Inside(_)
        | Breach::ReleaseUsed { .. }
        | Breach::Harmed { .. }
        | Breach::Together(..)
        | Breach::Overdrawn(_)
        | Breach::RunBoth(..)
        | Breach::Clash(..) => Vec::new(),
    }
}

/// The atoms on which the value of a combination turns, as the atoms are: of an AND that fails the parts that fail, of
/// an OR that holds the parts that hold.
pub(super) fn deciding<'t, A>(tree: &'t Tree<A>, is: &dyn Fn(&A) -> bool) -> Vec<&'t A> {
    let value = truth(tree, is);
    let alike = |parts: &'t [Tree<A>], wanted: bool| {
        parts.iter().filter(|part| truth(part, is) == wanted).flat_map(|part| deciding(part, is)).collect()
    };
    match tree {
        Tree::Atom(atom) => vec![atom],
        Tree::Not(part) => deciding(part, is),
        Tree::And(of) | Tree::Or(of) | Tree::Vote { of, .. } => alike(of, value),
    }
}

/// The value of a combination, given those of its atoms.
pub(super) fn truth<A>(tree: &Tree<A>, is: &dyn Fn(&A) -> bool) -> bool {
    match tree {
        Tree::Atom(atom) => is(atom),
        Tree::Not(part) => !truth(part, is),
        Tree::And(of) => of.iter().all(|part| truth(part, is)),
        Tree::Or(of) => of.iter().any(|part| truth(part, is)),
        Tree::Vote { m, of } => of.iter().filter(|part| truth(part, is)).count() >= *m,
    }
}

/// Causes that a breach speaks of by itself, not through devices.
fn causes(model: &Model, breach: &Breach) -> Vec<CauseId> {
    match breach {
        Breach::Fires(cause)
        | Breach::FiresFor(cause, _)
        | Breach::ActsInTime { cause, .. }
        | Breach::Quiet(cause)
        | Breach::Matters(cause, _)
        | Breach::VoteTrips(cause, _)
        | Breach::Armed(cause)
        | Breach::Harmed { cause, .. } => vec![*cause],
        Breach::Unled(cause, others) => [*cause].into_iter().chain(others.iter().copied()).collect(),
        Breach::Broken(invariant) | Breach::Applies(invariant) => {
            let rule = &model.invariants[*invariant];
            let named: Vec<AtPosition> =
                rule.whenever.atoms().into_iter().chain(rule.then.atoms()).copied().collect();
            let sets = |id: &CauseId| named.iter().any(|at| demands(model, *id, *at));
            model.causes.ids().filter(sets).collect()
        }
        Breach::NotMet { .. }
        | Breach::Blind(_)
        | Breach::Late { .. }
        | Breach::Exists { .. }
        | Breach::Possible
        | Breach::Opposed(_)
        | Breach::Occurs(_)
        | Breach::LockedIn(_)
        | Breach::ReleaseFails(..)
        | Breach::Runs(_)
        | Breach::Forced { .. }
        | Breach::Outvoted { .. }
        | Breach::Together(..)
        | Breach::SpanMissed(_)
        | Breach::Released { .. }
        | Breach::Inside(_)
        | Breach::ReleaseUsed { .. }
        | Breach::Overruled(_) => Vec::new(),
        Breach::Overdrawn(machine) => sharing::drawing(model, *machine),
        Breach::RunBoth(one, other) | Breach::Clash(one, other) => sharing::against(model, [*one, *other]),
    }
}

/// Whether a cause has an effect that sets the device to the position.
pub(super) fn demands(model: &Model, cause: CauseId, at: AtPosition) -> bool {
    let Device::Actuator(actuator) = at.device else { return false };
    let mut effects = model.causes[cause].demands.iter();
    effects.any(|effect| model.effects[*effect].set.contains(&(actuator, at.position)))
}

/// The inputs that a cause reads, each once.
pub(super) fn inputs_in(model: &Model, cause: CauseId) -> Vec<InputId> {
    in_order(model.causes[cause].when.atoms().into_iter().filter_map(|atom| match atom {
        InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
            Some(*input)
        }
        InputAtom::Cause { .. }
        | InputAtom::Overriding(_)
        | InputAtom::Shows(..)
        | InputAtom::LinkLost(_) => None,
    }))
}

/// The causes that a cause refers to, each once.
pub(super) fn causes_in(model: &Model, cause: CauseId) -> Vec<CauseId> {
    in_order(model.causes[cause].when.atoms().into_iter().filter_map(|atom| match atom {
        InputAtom::Cause { cause, .. } => Some(*cause),
        _ => None,
    }))
}

/// What an input observes of the plant: one quantity, or conditions.
pub(super) fn observed(model: &Model, input: InputId) -> (Option<QuantityId>, Vec<ConditionId>) {
    match &model.inputs[input].observes {
        Observes::Quantity { quantity, .. } => (Some(*quantity), Vec::new()),
        Observes::Condition { condition, .. } => (None, vec![*condition]),
        Observes::Loop { contacts, .. } => {
            (None, contacts.iter().map(|contact| model.contacts[*contact].condition).collect())
        }
        Observes::Stop(_) => (None, Vec::new()),
    }
}

/// The members of an initiator or damage group of a hazard, by its number; empty if there is no such group.
pub(super) fn members(model: &Model, hazard: HazardId, number: usize, initiator: bool) -> Vec<Source> {
    let hazard = &model.hazards[hazard];
    let groups = if initiator { &hazard.initiators } else { &hazard.damages };
    groups.get(number).map_or_else(Vec::new, |group| group.members.clone())
}

/// The solvers that a signal passes on its way to a solver, that one first.
fn way(model: &Model, signal: Signal, solver: SolverId) -> Vec<SolverId> {
    std::iter::once(solver).chain(model.way(signal, solver).map(|(_, from)| from)).collect()
}

fn in_order<T: PartialEq>(items: impl Iterator<Item = T>) -> Vec<T> {
    let mut once = Vec::new();
    for item in items {
        if !once.contains(&item) {
            once.push(item);
        }
    }
    once
}
