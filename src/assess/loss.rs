//! No quiet loss of one supply, route, cabinet or solver moves an actuator where a hazard forbids it.

use std::collections::BTreeSet;

use super::alike::Asked;
use super::single::{Single, Subject};
use super::{Decided, Work};
use crate::analysis::{Actors, Allowed, Stop};
use crate::claim::{Breach, Budget, Claim};
use crate::dependencies::Dependencies;
use crate::engine::EngineError;
use crate::model::{AtPosition, HazardId, Model, Source};
use crate::semantics::{Encoding, encode_each};
use crate::term::TermId;

const NOBODY: Actors = Actors { initiators: false, damage: false, overrides: false };

/// The sources whose loss can reach the device.
pub(super) fn candidates(model: &Model, universe: &BTreeSet<Source>, at: AtPosition) -> Vec<Source> {
    let reach = Dependencies::of(model).reach(model.device_element(at.device));
    let lost = |source: &Source| {
        matches!(source, Source::Supply(_) | Source::Route(_) | Source::Cabinet(_) | Source::Solver(_))
            && model.source_element(*source).is_some_and(|element| reach.contains(&element))
    };
    universe.iter().copied().filter(lost).collect()
}

/// What is asked first about a position: whether any of the sources forces the device there.
fn encoded(
    model: &Model,
    universe: &BTreeSet<Source>,
    (hazard, at): (HazardId, AtPosition),
) -> (Vec<Source>, Encoding, Vec<TermId>) {
    let candidates = candidates(model, universe, at);
    let breaches: Vec<Breach> =
        candidates.iter().map(|source| Breach::Forced { hazard, source: *source, at }).collect();
    let sources: BTreeSet<Source> = candidates.iter().copied().collect();
    let (encoding, terms) = encode_each(model, &breaches, &sources);
    (candidates, encoding, terms)
}

/// What is asked about a position that a hazard forbids.
pub(super) fn asked(
    model: &Model,
    universe: &BTreeSet<Source>,
    hazard: HazardId,
    at: AtPosition,
) -> Option<Asked> {
    let (_, encoding, terms) = encoded(model, universe, (hazard, at));
    Some(Asked::of(vec![(encoding, terms)]))
}

impl Work<'_> {
    pub(super) fn losses(&mut self, hazard: HazardId, at: AtPosition) -> Result<(), EngineError> {
        let subject = Subject::NotForced(hazard, at);
        let (decided, alone) = match self.forcing(hazard, at) {
            Ok(found) => found,
            Err(stop) => (self.stopped(stop)?, Vec::new()),
        };
        self.tell(Single { subject, decided, alone, one_engine: None });
        Ok(())
    }

    /// The sources each of which alone does it, and the witness of the first of them.
    fn forcing(&mut self, hazard: HazardId, at: AtPosition) -> Result<(Decided, Vec<Source>), Stop> {
        let model = self.model;
        let (candidates, encoding, terms) = encoded(model, self.universe, (hazard, at));
        self.note(&encoding);
        let mut case = self.open(encoding, |_| 1)?;
        let mut alone = Vec::new();
        // Mostly none does: one question says so of all of them.
        let any = case.encoding.terms.or(terms.iter().copied());
        let given = case.given(Allowed::Weight(1), NOBODY);
        if !case.possible(any, &given)? {
            return Ok((Decided::Holds, alone));
        }
        for (source, term) in candidates.iter().zip(terms) {
            let given = case.given(Allowed::Only(&[*source].into()), NOBODY);
            if case.possible(term, &given)? {
                alone.push(*source);
            }
        }
        alone.sort_by_key(|source| model.source_tag(*source));
        let Some(first) = alone.first().copied() else { return Ok((Decided::Holds, alone)) };
        let claim = Claim {
            breach: Breach::Forced { hazard, source: first, at },
            modes: Vec::new(),
            faults: Budget { sources: [first].into(), weight: Some(model.weight(first)) },
            initiators: false,
            overrides: false,
        };
        let decided = self.look_for(claim, model.weight(first))?;
        Ok((decided, alone))
    }
}
