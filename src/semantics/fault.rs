//! §2 of `docs/meaning.md`: what misbehaves, lost supplies, dead solvers.

use super::Encoder;
use crate::model::{Parents, Party, SolverId, Source, SupplyId, Tree};
use crate::situation::FactChoice;
use crate::term::TermId;

impl Encoder<'_> {
    /// `Misbehaves(x)`; no for a source that the scope does not allow.
    fn itself(&mut self, source: Source) -> TermId {
        if !self.sources.contains(&source) {
            return self.terms.no();
        }
        let term = self.fact(FactChoice::Misbehaves(source));
        self.faults.insert(source, term);
        term
    }

    /// Some initiator or damage group of the hazard that misbehaves has the source as a member.
    fn in_party(&mut self, source: Source) -> TermId {
        let Some(hazard) = self.hazard else { return self.terms.no() };
        let model = self.model;
        let with = |parties: &[Party]| -> Vec<usize> {
            let members = parties.iter().enumerate().filter(|(_, party)| party.members.contains(&source));
            members.map(|(number, _)| number).collect()
        };
        let mut active = Vec::new();
        for number in with(&model.hazards[hazard].damages) {
            let term = self.itself(Source::Damage(hazard, number));
            self.damages.insert(number, term);
            active.push(term);
        }
        if self.initiators_allowed {
            for number in with(&model.hazards[hazard].initiators) {
                let term = self.fact(FactChoice::Initiator(hazard, number));
                self.initiators.insert(number, term);
                active.push(term);
            }
        }
        self.terms.or(active)
    }

    /// For an element without parents: misbehaves itself or as a member of a group.
    pub(super) fn active(&mut self, source: Source) -> TermId {
        let own = self.itself(source);
        let party = self.in_party(source);
        self.terms.either(own, party)
    }

    /// own(x): within its declared failure directions.
    pub(super) fn own(&mut self, source: Source, parents: &Parents) -> TermId {
        let mut any = vec![self.itself(source)];
        for shared in &parents.shared {
            any.push(self.active(Source::Shared(*shared)));
        }
        self.terms.or(any)
    }

    /// wild(x): may do anything.
    pub(super) fn wild(&mut self, source: Source, parents: &Parents) -> TermId {
        let mut any = vec![self.in_party(source)];
        if let Some(cabinet) = parents.cabinet {
            any.push(self.active(Source::Cabinet(cabinet)));
        }
        self.terms.or(any)
    }

    /// m(x).
    pub(super) fn misbehaves(&mut self, source: Source, parents: &Parents) -> TermId {
        let own = self.own(source, parents);
        let wild = self.wild(source, parents);
        self.terms.either(own, wild)
    }

    /// lost(u).
    pub(super) fn lost(&mut self, supply: SupplyId) -> TermId {
        if let Some(term) = self.lost.get(&supply) {
            return *term;
        }
        let model = self.model;
        let element = &model.supplies[supply];
        let parents = Parents { cabinet: element.cabinet, shared: Vec::new() };
        let faulty = self.misbehaves(Source::Supply(supply), &parents);
        let choice = self.fact(FactChoice::Lost(supply));
        let by_fault = self.terms.both(faulty, choice);
        let starved = match &element.fed_by {
            Some(feeds) => {
                let fed = self.fed(feeds);
                self.terms.not(fed)
            }
            None => self.terms.no(),
        };
        let term = self.terms.either(by_fault, starved);
        self.lost.insert(supply, term);
        term
    }

    fn fed(&mut self, feeds: &Tree<SupplyId>) -> TermId {
        match feeds {
            Tree::Atom(supply) => {
                let lost = self.lost(*supply);
                self.terms.not(lost)
            }
            Tree::And(parts) => {
                let parts: Vec<TermId> = parts.iter().map(|part| self.fed(part)).collect();
                self.terms.and(parts)
            }
            Tree::Or(parts) => {
                let parts: Vec<TermId> = parts.iter().map(|part| self.fed(part)).collect();
                self.terms.or(parts)
            }
            Tree::Not(part) => {
                let part = self.fed(part);
                self.terms.not(part)
            }
            Tree::Vote { m, of } => {
                let of: Vec<TermId> = of.iter().map(|part| self.fed(part)).collect();
                self.terms.at_least(*m, of)
            }
        }
    }

    /// lost(u) of a supply that an element may have; no if it has none.
    pub(super) fn without(&mut self, supply: Option<SupplyId>) -> TermId {
        match supply {
            Some(supply) => self.lost(supply),
            None => self.terms.no(),
        }
    }

    /// dead(s).
    pub(super) fn dead(&mut self, solver: SolverId) -> TermId {
        let supply = self.model.solvers[solver].supply;
        self.without(supply)
    }

    /// m(s) of a solver.
    pub(super) fn solver_misbehaves(&mut self, solver: SolverId) -> TermId {
        let model = self.model;
        self.misbehaves(Source::Solver(solver), &model.solvers[solver].parents)
    }

    /// At most one initiator group and at most one damage group of the hazard misbehave (§1).
    pub(super) fn one_party_at_a_time(&mut self) {
        for parties in [self.initiators.clone(), self.damages.clone()] {
            let two = self.terms.at_least(2, parties.into_values());
            let rule = self.terms.not(two);
            self.possible.push(rule);
        }
    }
}
