//! What suppression releases share, as the file says it: who draws on a machine, and what it can give.
//!
//! The simulator does not use this; it reads the file's lists by itself.

use std::collections::BTreeSet;

use super::{Amount, Model, Source, Suppression};
use crate::unit::Quantity;

impl Model {
    /// The machines that carry together with this one what suppression releases draw: those that stand in for it where a
    /// release says so with `spare`, else it alone; and how many of them may be lost.
    pub fn carried_with(&self, machine: Source) -> (BTreeSet<Source>, u32) {
        let lists = |release: &&Suppression| release.capacity.iter().any(|(listed, _)| *listed == machine);
        let releases = self.suppression.iter().map(|(_, release)| release);
        match releases.filter(lists).find_map(|release| Some((release, release.spare?))) {
            Some((release, spare)) => (release.capacity.iter().map(|(listed, _)| *listed).collect(), spare),
            None => ([machine].into(), 0),
        }
    }

    /// The releases that draw on one of these machines, in the file's order.
    pub fn drawing_on<'m>(&'m self, machines: &'m BTreeSet<Source>) -> impl Iterator<Item = &'m Suppression> {
        let shares =
            |release: &&Suppression| release.capacity.iter().any(|(machine, _)| machines.contains(machine));
        self.suppression.iter().map(|(_, release)| release).filter(shares)
    }

    /// What a machine can give; `None` where no release knows it.
    pub fn capacity_of(&self, machine: Source) -> Option<&Quantity> {
        let said = self.suppression.iter().flat_map(|(_, release)| &release.capacity);
        said.filter(|(listed, _)| *listed == machine).find_map(|(_, amount)| match amount {
            Amount::Known(capacity) => Some(capacity),
            Amount::Unknown => None,
        })
    }
}
