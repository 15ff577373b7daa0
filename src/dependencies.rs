//! What depends on what, as a graph over the elements of a model.
//!
//! An edge leads from an element to what it needs, reads, goes through, stands in or is fed by. The graph says what
//! *can* matter for an element; what *does* matter is decided by claims, never by counting ways through the graph.

use std::collections::BTreeSet;

use crate::graph::Digraph;
use crate::model::{
    Device, Element, InputAtom, InputId, Model, Observes, Parents, RouteId, Signal, SolverId, SupplyId, Tree,
};

/// The dependency graph of a model.
pub struct Dependencies {
    graph: Digraph<Element>,
}

impl Dependencies {
    /// Builds the graph of a model, transitive through supply trees, routes, cabinets, conditioners and links.
    pub fn of(model: &Model) -> Self {
        let mut this = Dependencies { graph: Digraph::default() };
        this.plant_side(model);
        this.inputs(model);
        this.logic(model);
        this.outputs(model);
        this
    }

    /// Every element that can be reached from `from`, itself included.
    pub fn reach(&self, from: Element) -> BTreeSet<Element> {
        self.graph.reach(from)
    }

    fn edge(&mut self, from: Element, to: Element) {
        self.graph.edge(from, to);
    }

    fn needs(&mut self, from: Element, supply: Option<SupplyId>, parents: &Parents, routes: &[RouteId]) {
        if let Some(supply) = supply {
            self.edge(from, Element::Supply(supply));
        }
        if let Some(cabinet) = parents.cabinet {
            self.edge(from, Element::Cabinet(cabinet));
        }
        for shared in &parents.shared {
            self.edge(from, Element::Shared(*shared));
        }
        for route in routes {
            self.edge(from, Element::Route(*route));
        }
    }

    fn plant_side(&mut self, model: &Model) {
        for (id, supply) in model.supplies.iter() {
            let from = Element::Supply(id);
            for feed in supply.fed_by.iter().flat_map(Tree::atoms) {
                self.edge(from, Element::Supply(*feed));
            }
            if let Some(cabinet) = supply.cabinet {
                self.edge(from, Element::Cabinet(cabinet));
            }
        }
        for (id, element) in model.conditioners.iter() {
            self.needs(Element::Conditioner(id), element.supply, &element.parents, &[]);
        }
        for (id, element) in model.relays.iter() {
            self.needs(Element::Relay(id), element.supply, &element.parents, &[]);
        }
        for (id, element) in model.links.iter() {
            self.needs(Element::Link(id), element.supply, &element.parents, &element.routes);
        }
    }

    fn inputs(&mut self, model: &Model) {
        for (id, input) in model.inputs.iter() {
            let from = Element::Input(id);
            self.needs(from, input.supply, &input.parents, &[]);
            for path in input.readers.values() {
                self.needs(from, None, &Parents::default(), &path.routes);
                for conditioner in &path.through {
                    self.edge(from, Element::Conditioner(*conditioner));
                }
            }
            match &input.observes {
                Observes::Loop { contacts, .. } => {
                    for contact in contacts {
                        self.edge(from, Element::Contact(*contact));
                        self.needs(Element::Contact(*contact), None, &model.contacts[*contact].parents, &[]);
                    }
                }
                Observes::Stop(stop) => self.edge(from, Element::Stop(*stop)),
                Observes::Quantity { .. } | Observes::Condition { .. } => {}
            }
        }
        for (id, input) in model.mode_inputs.iter() {
            let from = Element::ModeInput(id);
            self.needs(from, input.supply, &input.parents, &input.routes);
            for conditioner in &input.through {
                self.edge(from, Element::Conditioner(*conditioner));
            }
        }
        for (id, device) in model.overrides.iter() {
            self.needs(Element::Override(id), None, &device.parents, &[]);
        }
    }

    /// Over which links and solvers a signal reaches a solver.
    fn access(&mut self, model: &Model, from: Element, signal: Signal, solver: SolverId) {
        for (link, next) in model.way(signal, solver) {
            self.edge(from, Element::Link(link));
            self.edge(from, Element::Solver(next));
        }
    }

    fn logic(&mut self, model: &Model) {
        for (id, solver) in model.solvers.iter() {
            self.needs(Element::Solver(id), solver.supply, &solver.parents, &[]);
        }
        for (id, cause) in model.causes.iter() {
            let from = Element::Cause(id);
            self.edge(from, Element::Solver(cause.solver));
            for group in cause.armed.keys() {
                if let Some(input) = model.mode_input_of.get(&(*group, cause.solver)) {
                    self.edge(from, Element::ModeInput(*input));
                }
            }
            for atom in cause.when.atoms() {
                match atom {
                    InputAtom::Compare { input, .. }
                    | InputAtom::Is { input, .. }
                    | InputAtom::Bad(input) => {
                        self.edge(from, Element::Input(*input));
                        self.access(model, from, Signal::Input(*input), cause.solver);
                        self.overridable(model, from, *input);
                    }
                    InputAtom::Cause { cause: other, .. } => {
                        self.edge(from, Element::Cause(*other));
                        self.access(model, from, Signal::Cause(*other), cause.solver);
                    }
                    InputAtom::Overriding(device) => self.edge(from, Element::Override(*device)),
                    InputAtom::Shows(input, _) => self.edge(from, Element::ModeInput(*input)),
                    // A solver that falls silent looks like a lost link to the others.
                    InputAtom::LinkLost(link) => {
                        self.edge(from, Element::Link(*link));
                        for end in model.links[*link].connects.iter().filter(|end| **end != cause.solver) {
                            self.edge(from, Element::Solver(*end));
                        }
                    }
                }
            }
        }
    }

    fn overridable(&mut self, model: &Model, from: Element, input: InputId) {
        for (id, device) in model.overrides.iter() {
            if device.inputs.contains(&input) {
                self.edge(from, Element::Override(id));
            }
        }
    }

    fn outputs(&mut self, model: &Model) {
        for (id, actuator) in model.actuators.iter() {
            let from = Element::Actuator(id);
            self.needs(from, actuator.supply, &actuator.parents, &actuator.routes);
            for driver in &actuator.drivers {
                let driver = &model.drivers[*driver];
                self.edge(from, Element::Solver(driver.solver));
                for relay in &driver.relays {
                    self.edge(from, Element::Relay(*relay));
                }
                for (cause, element) in model.causes.iter() {
                    let demands = element
                        .demands
                        .iter()
                        .any(|effect| model.effects[*effect].set.iter().any(|(actuator, _)| *actuator == id));
                    let reaches = element.solver == driver.solver
                        || model.access.contains_key(&(Signal::Cause(cause), driver.solver));
                    if demands && reaches {
                        self.edge(from, Element::Cause(cause));
                        self.access(model, from, Signal::Cause(cause), driver.solver);
                    }
                }
            }
        }
        for (id, passive) in model.passive.iter() {
            self.needs(Element::Passive(id), None, &passive.parents, &[]);
        }
        for (id, hazard) in model.hazards.iter() {
            for at in hazard.safe_state.atoms() {
                let to = match at.device {
                    Device::Actuator(actuator) => Element::Actuator(actuator),
                    Device::Passive(passive) => Element::Passive(passive),
                };
                self.edge(Element::Hazard(id), to);
            }
        }
    }
}
