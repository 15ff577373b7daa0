//! Capacity: what suppression releases draw at once does not exceed what the machines that they share can give, with as
//! many of them lost as are declared spare.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use super::single::Subject;
use super::{Decided, Work};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::EngineError;
use crate::model::{Amount, Model, Source};
use crate::semantics::too_many_sums;

/// One claim for each machine, or for all machines that carry together, in the order in which releases list them.
pub(super) fn subjects(model: &Model) -> Vec<Subject> {
    let mut spoken: BTreeSet<Source> = BTreeSet::new();
    let mut subjects = Vec::new();
    for (machine, _) in model.suppression.iter().flat_map(|(_, release)| &release.capacity) {
        if !spoken.contains(machine) {
            spoken.extend(model.carried_with(*machine).0);
            subjects.push(Subject::Carries(*machine));
        }
    }
    subjects
}

/// The first amount that nobody knows: of a machine.
fn capacity_unknown(model: &Model, machines: &BTreeSet<Source>) -> Option<String> {
    model.suppression.iter().find_map(|(_, release)| {
        let unknown = release
            .capacity
            .iter()
            .find(|(machine, amount)| machines.contains(machine) && matches!(amount, Amount::Unknown))?;
        Some(format!("{} does not know what {} can give", release.name.tag, model.source_tag(unknown.0)))
    })
}

/// The first amount that nobody knows: of a release.
fn demand_unknown(model: &Model, machines: &BTreeSet<Source>) -> Option<String> {
    let mut shares = model.drawing_on(machines);
    let release = shares.find(|release| !matches!(release.demand, Some(Amount::Known(_))))?;
    Some(format!("it is not known what {} draws", release.name.tag))
}

/// As many of these machines as can be lost: the largest, and of equals those that come first by their tags.
fn largest(model: &Model, machines: &BTreeSet<Source>, spare: u32) -> BTreeSet<Source> {
    let gives = |machine: Source| model.capacity_of(machine).map(|capacity| capacity.value().clone());
    let mut sorted: Vec<Source> = machines.iter().copied().collect();
    sorted.sort_by_key(|machine| (Reverse(gives(*machine)), model.source_tag(*machine)));
    sorted.into_iter().take(usize::try_from(spare).unwrap_or(usize::MAX)).collect()
}

fn claim(machine: Source, sources: BTreeSet<Source>, spare: u32) -> Claim {
    Claim {
        breach: Breach::Overdrawn(machine),
        modes: Vec::new(),
        faults: Budget { sources, weight: Some(spare) },
        initiators: false,
        overrides: true,
    }
}

impl Work<'_> {
    /// Whether the machines that carry together with this one carry what can be demanded at once.
    pub(super) fn carries(&mut self, machine: Source) -> Result<(), EngineError> {
        let decided = self.carried(machine)?;
        self.tell_single(Subject::Carries(machine), decided);
        Ok(())
    }

    fn carried(&mut self, machine: Source) -> Result<Decided, EngineError> {
        let model = self.model;
        let (machines, spare) = model.carried_with(machine);
        if let Some(reason) = capacity_unknown(model, &machines) {
            return Ok(Decided::Undecided(reason));
        }
        if too_many_sums(model, machine) {
            return Ok(Decided::Undecided("the demands add up in too many different ways".into()));
        }
        let sources: BTreeSet<Source> = match spare {
            0 => BTreeSet::new(),
            _ => machines.intersection(self.universe).copied().collect(),
        };
        // Losing the largest is worst: asked first, so that the same ones are told whatever the engine finds.
        let worst = largest(model, &sources, spare);
        if worst != sources
            && let Ok(Decided::Broken(witness)) = self.look_for(claim(machine, worst, spare), spare)
        {
            return Ok(Decided::Broken(witness));
        }
        let claim = claim(machine, sources, spare);
        Ok(match self.look_for(claim, spare) {
            // What is known does not exceed the capacity; what is not known may.
            Ok(Decided::Holds) => demand_unknown(model, &machines).map_or(Decided::Holds, Decided::Undecided),
            Ok(decided) => decided,
            Err(stop) => self.stopped(stop)?,
        })
    }
}
