//! What suppression releases draw at once and what the machines that they share can give: section 6 of
//! `docs/meaning.md`, `Overdrawn`.

use std::collections::BTreeSet;

use crate::claim::Claim;
use crate::exact::Exact;
use crate::model::{Amount, Model, Source, Suppression, SuppressionId};
use crate::situation::{FactChoice, Situation};
use crate::unit::Quantity;

use super::Impossible;
use super::world::{World, every, some};

/// What is drawn in one situation on machines that carry together.
#[derive(Debug, Clone)]
pub struct Load {
    /// The releases whose demands count, in the file's order.
    pub releases: Vec<SuppressionId>,
    /// What they draw together.
    pub drawn: Quantity,
    /// The machines that are not lost.
    pub left: Vec<Source>,
    /// The machines that are lost.
    pub lost: Vec<Source>,
    /// What those that are left can give together.
    pub given: Quantity,
}

impl Load {
    /// Whether more is drawn than can be given.
    pub fn exceeds(&self) -> bool {
        self.drawn.value() > self.given.value()
    }
}

/// What is drawn in a situation on the machines that carry together with this one; `None` where none of them has a
/// known capacity.
///
/// # Errors
/// As [`super::replay`].
pub fn load(
    model: &Model,
    claim: &Claim,
    situation: &Situation,
    machine: Source,
) -> Result<Option<Load>, Impossible> {
    World::new(model, claim, situation).load(machine)
}

/// The machines that share what is drawn on one of them.
fn sharing(model: &Model, machine: Source) -> BTreeSet<Source> {
    let mut machines = BTreeSet::from([machine]);
    for (_, release) in model.suppression.iter() {
        let listed: BTreeSet<Source> = release.capacity.iter().map(|entry| entry.0).collect();
        if release.spare.is_some() && listed.contains(&machine) {
            machines.extend(listed);
        }
    }
    machines
}

/// What a machine can give, by the first release that knows it.
fn gives(model: &Model, machine: Source) -> Option<&Quantity> {
    for (_, release) in model.suppression.iter() {
        for entry in &release.capacity {
            match entry {
                (listed, Amount::Known(capacity)) if *listed == machine => return Some(capacity),
                _ => {}
            }
        }
    }
    None
}

impl World<'_> {
    /// §6: what is drawn, and what can be given.
    pub(super) fn load(&self, machine: Source) -> Result<Option<Load>, Impossible> {
        let model = self.model;
        let machines = sharing(model, machine);
        let Some(unit) = machines.iter().find_map(|machine| gives(model, *machine)).map(Quantity::unit)
        else {
            return Ok(None);
        };
        let mut drawing: Vec<(SuppressionId, &Suppression, &Quantity)> = Vec::new();
        for (id, release) in model.suppression.iter() {
            let Some(Amount::Known(demand)) = &release.demand else { continue };
            let shares = release.capacity.iter().any(|entry| machines.contains(&entry.0));
            if shares && self.draws(release)? {
                drawing.push((id, release, demand));
            }
        }
        let mut releases = Vec::new();
        let mut drawn = Exact::zero();
        for one in &drawing {
            if !drawing.iter().any(|other| part_of(*one, *other)) {
                releases.push(one.0);
                drawn = &drawn + one.2.value();
            }
        }
        let (lost, left): (Vec<Source>, Vec<Source>) =
            machines.iter().partition(|machine| self.chosen(FactChoice::Misbehaves(**machine)));
        let given = left.iter().filter_map(|machine| gives(model, *machine));
        let given = given.fold(Exact::zero(), |sum, capacity| &sum + capacity.value());
        Ok(Some(Load {
            releases,
            drawn: Quantity::from_base(drawn, unit),
            left,
            lost,
            given: Quantity::from_base(given, unit),
        }))
    }

    /// §6: a cause that releases it has its value, or its whole discharge is demanded.
    fn draws(&self, release: &Suppression) -> Result<bool, Impossible> {
        let released = some(&release.released_by, |cause| self.value(*cause))?;
        let demanded = every(&release.discharges, |at| self.demanded(at))?;
        Ok(released || (demanded && !release.discharges.is_empty()))
    }
}

/// Whether what one release draws is contained in what the other draws.
fn part_of(
    one: (SuppressionId, &Suppression, &Quantity),
    other: (SuppressionId, &Suppression, &Quantity),
) -> bool {
    if one.0 == other.0 || one.2.value() > other.2.value() {
        return false;
    }
    let contained = one.1.discharges.iter().all(|at| other.1.discharges.contains(at));
    let containing = other.1.discharges.iter().all(|at| one.1.discharges.contains(at));
    let same = containing && one.2.value() == other.2.value();
    contained && (!same || other.0 < one.0)
}
