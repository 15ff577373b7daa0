//! Which quantities can give a head start in an onset case, and how far those reach that no coupling touches.

use std::collections::BTreeSet;

use crate::claim::Extent;
use crate::model::{
    ActsOn, CauseId, ConditionId, Device, GroupId, HazardId, InputAtom, Model, Observes, PlantAtom,
    QuantityId, Relation,
};

/// The quantities that the trips of a hazard and its passive devices compare.
pub(super) fn compared(model: &Model, hazard: HazardId) -> BTreeSet<QuantityId> {
    let mut found = BTreeSet::new();
    let mut open: Vec<CauseId> = Vec::new();
    for at in model.hazards[hazard].safe_state.atoms() {
        match at.device {
            Device::Passive(id) => {
                if let Some((ActsOn::Quantity { quantity, .. }, _)) = &model.passive[id].acts {
                    found.insert(*quantity);
                }
            }
            Device::Actuator(id) => open.extend(model.causes.iter().filter_map(|(cause, element)| {
                let sets = |effect: &crate::model::EffectId| {
                    model.effects[*effect].set.iter().any(|(actuator, _)| *actuator == id)
                };
                element.demands.iter().any(sets).then_some(cause)
            })),
        }
    }
    let mut seen = BTreeSet::new();
    while let Some(cause) = open.pop() {
        if !seen.insert(cause) {
            continue;
        }
        for atom in model.causes[cause].when.atoms() {
            match atom {
                InputAtom::Compare { input, .. } => {
                    if let Observes::Quantity { quantity, .. } = &model.inputs[*input].observes {
                        found.insert(*quantity);
                    }
                }
                InputAtom::Cause { cause, .. } => open.push(*cause),
                _ => {}
            }
        }
    }
    found
}

/// What an onset case or a coupling speaks of. The mode of the hazard's own group is fixed, and connects nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Fact {
    Quantity(QuantityId),
    Condition(ConditionId),
    Group(GroupId),
}

/// Everything of which an onset case says something, directly or through couplings. What it does not reach may be normal
/// while harm begins, so that it gives no head start.
pub(super) fn reached(model: &Model, hazard: HazardId, onset: usize) -> BTreeSet<Fact> {
    let element = &model.hazards[hazard];
    let facts = |atom: &PlantAtom| -> Vec<Fact> {
        match atom {
            PlantAtom::Linear { sum, .. } => sum.iter().map(|(_, q)| Fact::Quantity(*q)).collect(),
            PlantAtom::Condition(condition) => vec![Fact::Condition(*condition)],
            PlantAtom::Mode(mode) if model.modes[*mode].group == element.group => Vec::new(),
            PlantAtom::Mode(mode) => vec![Fact::Group(model.modes[*mode].group)],
        }
    };
    let case = element.onset.get(onset).into_iter().flatten();
    let mut reached: BTreeSet<Fact> = case.flat_map(|(atom, _)| facts(atom)).collect();
    for other in &element.never_together {
        reached.extend(model.hazards[*other].when.atoms().into_iter().flat_map(facts));
    }
    let couplings: Vec<BTreeSet<Fact>> = model
        .couplings
        .iter()
        .map(|(_, coupling)| coupling.holds.atoms().into_iter().flat_map(facts).collect())
        .collect();
    loop {
        let before = reached.len();
        for coupling in &couplings {
            if coupling.iter().any(|fact| reached.contains(fact)) {
                reached.extend(coupling);
            }
        }
        if reached.len() == before {
            return reached;
        }
    }
}

/// The extent of a quantity that only the onset case itself bounds; `None` where it takes an engine.
pub(super) fn plain_extent(
    model: &Model,
    hazard: HazardId,
    onset: usize,
    quantity: QuantityId,
) -> Option<Extent> {
    let element = &model.hazards[hazard];
    let names = |atom: &PlantAtom| match atom {
        PlantAtom::Linear { sum, .. } => sum.iter().any(|(_, q)| *q == quantity),
        PlantAtom::Condition(_) | PlantAtom::Mode(_) => false,
    };
    let coupled = model.couplings.iter().any(|(_, coupling)| coupling.holds.atoms().into_iter().any(names));
    if coupled || !element.never_together.is_empty() {
        return None;
    }
    let range = &model.quantities[quantity].range;
    let mut extent = Extent { least: range.low.clone(), greatest: range.high.clone() };
    for (atom, holds) in element.onset.get(onset)? {
        let PlantAtom::Linear { sum, relation, bound } = atom else { continue };
        if !names(atom) {
            continue;
        }
        let [(factor, _)] = sum.as_slice() else { return None };
        let bound = bound.checked_div(factor)?;
        let relation = if *holds { *relation } else { relation.negated() };
        let relation = if factor.is_negative() { relation.mirrored() } else { relation };
        if matches!(relation, Relation::AtLeast | Relation::Above | Relation::Equal) {
            extent.least = extent.least.max(bound.clone());
        }
        if matches!(relation, Relation::AtMost | Relation::Below | Relation::Equal) {
            extent.greatest = extent.greatest.min(bound);
        }
    }
    Some(extent)
}
