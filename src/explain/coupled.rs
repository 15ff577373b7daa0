//! What comes along in a situation: quantities and conditions away from normal that no step names otherwise, where a
//! coupling forces them on what is told.
//!
//! Whoever sets up the situation meets them whether they matter or not: a fire is seen by the heads of every loop.

use std::collections::BTreeSet;

use crate::exact::Exact;
use crate::model::{ConditionId, CouplingId, Element, ModeId, PlantAtom, QuantityId, Tree};
use crate::situation::{ModeChoice, NumberChoice};

use super::{Teller, cone, words};

/// What has been told of the plant.
pub(super) type Told = (BTreeSet<QuantityId>, BTreeSet<ConditionId>);

/// One value of the plant as it would be if it did not come along.
enum Instead {
    Quantity(QuantityId, Exact),
    Condition(ConditionId),
}

impl Teller<'_> {
    /// What comes along with what is told, and with what comes along itself: a line for each coupling.
    pub(super) fn coupled(&self, told: &Told) -> Vec<String> {
        let mut told = told.clone();
        let mut lines = Vec::new();
        loop {
            let before = lines.len();
            for id in self.model.couplings.ids() {
                let brought = self.brought(id, &mut told);
                if !brought.is_empty() {
                    let tag = self.tag(Element::Coupling(id));
                    lines.push(format!("Coupling {tag} brings with it: {}.", words::whole(&brought)));
                }
            }
            if lines.len() == before {
                return lines;
            }
        }
    }

    /// What one coupling forces on what is told, which is told from then on.
    fn brought(&self, coupling: CouplingId, told: &mut Told) -> Vec<String> {
        let mut brought = Vec::new();
        if !self.touches(coupling, told) {
            return brought;
        }
        for atom in self.model.couplings[coupling].holds.atoms() {
            match atom {
                PlantAtom::Condition(id) => {
                    let forced = self.unusual(*id) && !self.would_hold(coupling, &Instead::Condition(*id));
                    if forced && told.1.insert(*id) {
                        brought.push(self.condition(*id).trim_end_matches('.').to_string());
                    }
                }
                PlantAtom::Linear { sum, .. } => {
                    for (_, id) in sum {
                        let usual = self.nearest_usual(*id);
                        let forced = usual
                            .is_some_and(|usual| !self.would_hold(coupling, &Instead::Quantity(*id, usual)));
                        if forced && told.0.insert(*id) {
                            brought.push(self.quantity(*id).trim_end_matches('.').to_string());
                        }
                    }
                }
                PlantAtom::Mode(_) => {}
            }
        }
        brought
    }

    fn touches(&self, coupling: CouplingId, (quantities, conditions): &Told) -> bool {
        self.model.couplings[coupling].holds.atoms().into_iter().any(|atom| match atom {
            PlantAtom::Linear { sum, .. } => sum.iter().any(|(_, id)| quantities.contains(id)),
            PlantAtom::Condition(id) => conditions.contains(id),
            PlantAtom::Mode(_) => false,
        })
    }

    /// The normal value next to the one that the quantity has, if it is away from normal.
    fn nearest_usual(&self, id: QuantityId) -> Option<Exact> {
        let normal = self.normal_range(id)?;
        let value = self.situation.number(self.model, NumberChoice::Quantity(id));
        match () {
            () if value < normal.low => Some(normal.low),
            () if value > normal.high => Some(normal.high),
            () => None,
        }
    }

    /// Whether a coupling would hold with one value changed and all else as it is.
    fn would_hold(&self, coupling: CouplingId, instead: &Instead) -> bool {
        let number = |id: QuantityId| match instead {
            Instead::Quantity(changed, value) if *changed == id => value.clone(),
            _ => self.situation.number(self.model, NumberChoice::Quantity(id)),
        };
        let mode = |id: ModeId| {
            self.situation.mode(self.model, ModeChoice::Holds(self.model.modes[id].group)) == Some(id)
        };
        let holds = |atom: &PlantAtom| match atom {
            PlantAtom::Linear { sum, relation, bound } => {
                let total =
                    sum.iter().fold(Exact::zero(), |all, (factor, id)| &all + &(factor * &number(*id)));
                relation.holds(&total, bound)
            }
            PlantAtom::Condition(id) => {
                self.holds(*id) != matches!(instead, Instead::Condition(changed) if changed == id)
            }
            PlantAtom::Mode(id) => mode(*id),
        };
        let tree: &Tree<PlantAtom> = &self.model.couplings[coupling].holds;
        cone::truth(tree, &holds)
    }
}
