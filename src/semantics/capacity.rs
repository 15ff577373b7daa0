//! §6 of `docs/meaning.md`, `Overdrawn`: suppression releases that are demanded at once draw more than what they share
//! can give.

use std::collections::{BTreeMap, BTreeSet};

use super::Encoder;
use crate::exact::Exact;
use crate::model::{Amount, Model, Source, Suppression};
use crate::situation::FactChoice;
use crate::term::TermId;

/// Most different sums of demands that are told apart.
const MOST_SUMS: usize = 5_000;

/// Whether the demands on a machine add up to more different sums than are told apart: then nothing is decided.
pub fn too_many_sums(model: &Model, machine: Source) -> bool {
    let (machines, _) = model.carried_with(machine);
    let mut amounts: Vec<Exact> = releases(model, &machines).into_iter().map(|(_, demand)| demand).collect();
    amounts.extend(machines.iter().map(|machine| capacity(model, *machine)));
    sums(&amounts, &total(model, &machines)).is_none()
}

/// The releases that list one of these machines and say what they draw, with that.
fn releases<'m>(model: &'m Model, machines: &'m BTreeSet<Source>) -> Vec<(&'m Suppression, Exact)> {
    let known = |release: &'m Suppression| match &release.demand {
        Some(Amount::Known(demand)) => Some((release, demand.value().clone())),
        Some(Amount::Unknown) | None => None,
    };
    model.drawing_on(machines).filter_map(known).collect()
}

/// What a machine can give; 0 where nobody knows.
fn capacity(model: &Model, machine: Source) -> Exact {
    model.capacity_of(machine).map_or_else(Exact::zero, |capacity| capacity.value().clone())
}

fn total(model: &Model, machines: &BTreeSet<Source>) -> Exact {
    machines.iter().fold(Exact::zero(), |sum, machine| &sum + &capacity(model, *machine))
}

/// Every sum up to `limit` of some of the first amounts, for each number of them; `None` if there are too many.
fn sums(amounts: &[Exact], limit: &Exact) -> Option<Vec<BTreeSet<Exact>>> {
    let mut levels: Vec<BTreeSet<Exact>> = vec![[Exact::zero()].into()];
    for amount in amounts {
        let before = levels.last()?;
        let more = before.iter().map(|sum| sum + amount).filter(|sum| sum <= limit);
        let next: BTreeSet<Exact> = more.chain(before.iter().cloned()).collect();
        if next.len() > MOST_SUMS {
            return None;
        }
        levels.push(next);
    }
    Some(levels)
}

/// Whether what `release` draws is part of what `other` draws, so that it counts once.
fn within(release: (usize, &Suppression, &Exact), other: (usize, &Suppression, &Exact)) -> bool {
    let places = |release: &Suppression| release.discharges.iter().copied().collect::<BTreeSet<_>>();
    let (mine, theirs) = (places(release.1), places(other.1));
    // Of two that are alike, the one that stands first in the file counts.
    let alike = mine == theirs && release.2 == other.2;
    release.0 != other.0 && mine.is_subset(&theirs) && release.2 <= other.2 && (!alike || other.0 < release.0)
}

impl Encoder<'_> {
    pub(super) fn overdrawn(&mut self, machine: Source) -> TermId {
        let model = self.model;
        let (machines, _) = model.carried_with(machine);
        let releases = releases(model, &machines);
        let mut draws = Vec::new();
        for (release, _) in &releases {
            draws.push(self.draws(release));
        }
        let mut items: Vec<(TermId, Exact)> = Vec::new();
        for (number, ((release, demand), draw)) in releases.iter().zip(&draws).enumerate() {
            let mut covered = Vec::new();
            for (other, ((larger, theirs), drawn)) in releases.iter().zip(&draws).enumerate() {
                if within((number, *release, demand), (other, *larger, theirs)) {
                    covered.push(*drawn);
                }
            }
            let covered = self.terms.or(covered);
            let by_itself = self.terms.not(covered);
            items.push((self.terms.both(*draw, by_itself), demand.clone()));
        }
        // What a lost machine does not give weighs like something that is drawn.
        for machine in &machines {
            let lost = match self.sources.contains(machine) {
                true => self.fact(FactChoice::Misbehaves(*machine)),
                false => self.terms.no(),
            };
            if lost != self.terms.no() {
                self.faults.insert(*machine, lost);
            }
            items.push((lost, capacity(model, *machine)));
        }
        self.exceeds(&items, &total(model, &machines))
    }

    /// The discharge is demanded: by a cause that releases it, or everything that it consists of by any causes.
    fn draws(&mut self, release: &Suppression) -> TermId {
        let mut any = Vec::new();
        for cause in &release.released_by {
            any.push(self.value(*cause));
        }
        let mut all = Vec::new();
        for at in &release.discharges {
            all.push(self.is_demanded(*at));
        }
        if !all.is_empty() {
            any.push(self.terms.and(all));
        }
        self.terms.or(any)
    }

    /// The amounts of which the term is true add up to more than the limit.
    fn exceeds(&mut self, items: &[(TermId, Exact)], limit: &Exact) -> TermId {
        let amounts: Vec<Exact> = items.iter().map(|(_, amount)| amount.clone()).collect();
        // With too many sums nobody asks; see `too_many_sums`.
        let Some(levels) = sums(&amounts, limit) else { return self.terms.no() };
        let (yes, no) = (self.terms.yes(), self.terms.no());
        let mut after: BTreeMap<Exact, TermId> = BTreeMap::new();
        for ((term, amount), level) in items.iter().zip(&levels).rev() {
            let mut here = BTreeMap::new();
            for sum in level {
                let more = sum + amount;
                let with = if more > *limit { yes } else { after.get(&more).copied().unwrap_or(no) };
                let without = after.get(sum).copied().unwrap_or(no);
                here.insert(sum.clone(), self.terms.choose(*term, with, without));
            }
            after = here;
        }
        after.get(&Exact::zero()).copied().unwrap_or(no)
    }
}
