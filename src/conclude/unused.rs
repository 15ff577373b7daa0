//! Elements that the model declares and nothing in it refers to, and fields that are read and not examined, by name.
//!
//! Inputs, actuators and causes that nothing uses are findings and not listed here. A fault exclusion, an initiator or
//! a damage group is no use of an element: it only says something about its faults.

use std::collections::BTreeSet;

use crate::model::{Access, ActsOn, Element, InputAtom, Model, Observes, Parents, PlantAtom, SupplyId, Tree};

/// One line for each field that is not examined, and one for the elements that nothing uses.
pub(super) fn lines(model: &Model) -> Vec<String> {
    let mut all: Vec<String> =
        model.unexamined.iter().map(|(what, tags)| format!("{what}: {}", tags.join(", "))).collect();
    let used = used(model);
    let unused: Vec<&str> = candidates(model)
        .into_iter()
        .filter(|element| !used.contains(element))
        .map(|element| model.tag(element))
        .collect();
    if !unused.is_empty() {
        all.push(format!("declared, and used by nothing: {}", unused.join(", ")));
    }
    all
}

fn candidates(model: &Model) -> Vec<Element> {
    let mut all: Vec<Element> = Vec::new();
    all.extend(model.quantities.ids().map(Element::Quantity));
    all.extend(model.conditions.ids().map(Element::Condition));
    all.extend(model.supplies.ids().map(Element::Supply));
    all.extend(model.routes.ids().map(Element::Route));
    all.extend(model.cabinets.ids().map(Element::Cabinet));
    all.extend(model.shared.ids().map(Element::Shared));
    all.extend(model.conditioners.ids().map(Element::Conditioner));
    all.extend(model.relays.ids().map(Element::Relay));
    all.extend(model.links.ids().map(Element::Link));
    all.extend(model.solvers.ids().map(Element::Solver));
    all.extend(model.effects.ids().map(Element::Effect));
    all
}

fn used(model: &Model) -> BTreeSet<Element> {
    let mut used = BTreeSet::new();
    plant(model, &mut used);
    inputs(model, &mut used);
    logic(model, &mut used);
    for (_, actuator) in model.actuators.iter() {
        needs(actuator.supply, &actuator.parents, &mut used);
        used.extend(actuator.routes.iter().copied().map(Element::Route));
    }
    for (_, driver) in model.drivers.iter() {
        used.insert(Element::Solver(driver.solver));
        used.extend(driver.relays.iter().copied().map(Element::Relay));
    }
    for (_, passive) in model.passive.iter() {
        needs(None, &passive.parents, &mut used);
        match passive.acts.as_ref().map(|(on, _)| on) {
            Some(ActsOn::Quantity { quantity, .. }) => used.insert(Element::Quantity(*quantity)),
            Some(ActsOn::Condition { condition, .. }) => used.insert(Element::Condition(*condition)),
            None => false,
        };
    }
    used
}

fn needs(supply: Option<SupplyId>, parents: &Parents, used: &mut BTreeSet<Element>) {
    used.extend(supply.map(Element::Supply));
    used.extend(parents.cabinet.map(Element::Cabinet));
    used.extend(parents.shared.iter().copied().map(Element::Shared));
}

fn fact(atom: &PlantAtom, used: &mut BTreeSet<Element>) {
    match atom {
        PlantAtom::Linear { sum, .. } => used.extend(sum.iter().map(|(_, id)| Element::Quantity(*id))),
        PlantAtom::Condition(id) => {
            used.insert(Element::Condition(*id));
        }
        PlantAtom::Mode(_) => {}
    }
}

fn plant(model: &Model, used: &mut BTreeSet<Element>) {
    for (_, hazard) in model.hazards.iter() {
        hazard.onset.iter().flatten().for_each(|(atom, _)| fact(atom, used));
    }
    for (_, coupling) in model.couplings.iter() {
        coupling.holds.atoms().into_iter().for_each(|atom| fact(atom, used));
    }
    for (_, supply) in model.supplies.iter() {
        used.extend(supply.fed_by.iter().flat_map(Tree::atoms).map(|id| Element::Supply(*id)));
        used.extend(supply.cabinet.map(Element::Cabinet));
    }
    for (_, conditioner) in model.conditioners.iter() {
        needs(conditioner.supply, &conditioner.parents, used);
    }
    for (_, relay) in model.relays.iter() {
        needs(relay.supply, &relay.parents, used);
    }
}

fn inputs(model: &Model, used: &mut BTreeSet<Element>) {
    for (_, input) in model.inputs.iter() {
        needs(input.supply, &input.parents, used);
        for (solver, path) in &input.readers {
            used.insert(Element::Solver(*solver));
            used.extend(path.routes.iter().copied().map(Element::Route));
            used.extend(path.through.iter().copied().map(Element::Conditioner));
        }
        match &input.observes {
            Observes::Quantity { quantity, .. } => {
                used.insert(Element::Quantity(*quantity));
            }
            Observes::Condition { condition, .. } => {
                used.insert(Element::Condition(*condition));
            }
            Observes::Loop { .. } | Observes::Stop(_) => {}
        }
    }
    for (_, contact) in model.contacts.iter() {
        used.insert(Element::Condition(contact.condition));
        needs(None, &contact.parents, used);
    }
    for (_, input) in model.mode_inputs.iter() {
        needs(input.supply, &input.parents, used);
        used.extend(input.routes.iter().copied().map(Element::Route));
        used.extend(input.through.iter().copied().map(Element::Conditioner));
    }
}

fn logic(model: &Model, used: &mut BTreeSet<Element>) {
    for (_, solver) in model.solvers.iter() {
        needs(solver.supply, &solver.parents, used);
    }
    for (_, link) in model.links.iter() {
        needs(link.supply, &link.parents, used);
        used.extend(link.routes.iter().copied().map(Element::Route));
    }
    for (_, device) in model.overrides.iter() {
        needs(None, &device.parents, used);
    }
    for (_, cause) in model.causes.iter() {
        used.insert(Element::Solver(cause.solver));
        used.extend(cause.demands.iter().copied().map(Element::Effect));
        for atom in cause.when.atoms() {
            if let InputAtom::LinkLost(link) = atom {
                used.insert(Element::Link(*link));
            }
        }
    }
    for access in model.access.values() {
        if let Access::Over(link, from) = access {
            used.extend([Element::Link(*link), Element::Solver(*from)]);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::lines;
    use crate::load::load;
    use crate::source::Source;

    const CELL: &str = include_str!("../model/lower/tests/cell.yaml");

    fn of(text: &str) -> Vec<String> {
        lines(&load(&Source::new("cell.yaml", text)).unwrap())
    }

    #[test]
    fn fields_that_no_result_depends_on_are_listed_with_who_has_them() {
        let text = CELL
            .replacen(
                "GD-1: { measures: solvent,",
                "GD-1: { measures: solvent, rated_for: { surface: -20 .. 60 degC },",
                1,
            )
            .replacen("FL-1: { detects: fire,", "FL-1: { detects: fire, proof_test: { interval: 90 d },", 1)
            .replacen("BAT: {}", "BAT: { change_over: 10 ms }", 1);
        let found = of(&text);
        for line in [
            "conditions a sensor is built for (`rated_for`): GD-1",
            "how long a supply lasts alone (`lasts`): 24V-A",
            "interval and coverage of proof tests (`proof_test`): FL-1",
            "mode after power returns (`after_power_return`): cell = access",
            "order of modes (`followed_by`): cell = running",
            "position read back (`feedback`): K1",
            "sensors of a door (`position_sensors`): DOOR-1",
            "stop category (`stop_category`): ES-1",
            "time to change over between feeds (`change_over`): BAT",
        ] {
            assert!(found.iter().any(|other| other == line), "{line} not in {found:#?}");
        }
    }

    #[test]
    fn elements_that_nothing_uses_are_listed_by_name() {
        let last = |text: &str| of(text).pop().unwrap();
        let head = "declared, and used by nothing: ";
        // A fault exclusion is no use of the cabinet; the tank holds for nobody; no hazard speaks of the voltage.
        assert_eq!(last(CELL), format!("{head}voltage, CAB-2, TANK"));
        let more = CELL
            .replacen("CR-2: {}", "CR-2: {}, CR-3: {}", 1)
            .replacen("KR-1: {", "KR-2: {}, KR-1: {", 1)
            .replacen("24V-B: {}", "24V-B: {}\n  24V-C: {}", 1)
            .replacen("  E-FAN: {", "  E-NONE: { set: [FAN = full] }\n  E-FAN: {", 1);
        assert_eq!(last(&more), format!("{head}voltage, 24V-C, CR-3, CAB-2, TANK, KR-2, E-NONE"));
    }
}
