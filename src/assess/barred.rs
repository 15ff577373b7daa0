//! Why something can never happen: the couplings without which it could.

use std::collections::{BTreeMap, BTreeSet};

use super::Work;
use crate::analysis::{Actors, Allowed, Alone, Case, Stop};
use crate::claim::Breach;
use crate::engine::EngineError;
use crate::model::CouplingId;
use crate::semantics::{RestsOn, encode_each};
use crate::term::TermId;

const NOBODY: Actors = Actors { initiators: false, damage: false, overrides: false };

impl Work<'_> {
    /// Couplings that together keep something from ever happening, none of which can be left out; none where it does not
    /// happen without couplings either, or where the engines do not say. Asked only of what is told as never.
    pub(super) fn barred_by(&mut self, breach: &Breach) -> Result<Vec<CouplingId>, EngineError> {
        let (encoding, terms) = encode_each(self.model, std::slice::from_ref(breach), &BTreeSet::new());
        let Some(happens) = terms.first().copied() else { return Ok(Vec::new()) };
        let mut couplings: BTreeMap<CouplingId, Vec<TermId>> = BTreeMap::new();
        for (term, fact) in &encoding.rests_on {
            if let RestsOn::Coupling(id) = fact {
                couplings.entry(*id).or_default().push(*term);
            }
        }
        if couplings.is_empty() {
            return Ok(Vec::new());
        }
        let named: BTreeSet<TermId> = couplings.values().flatten().copied().collect();
        let without: Vec<TermId> =
            encoding.possible.iter().copied().filter(|term| !named.contains(term)).collect();
        let question = self.engine.open(&encoding.terms, &without, &[])?;
        let mut case = Case::new(encoding, question, |_| 1, Alone::default());
        match least(&mut case, happens, couplings) {
            Ok(found) => Ok(found),
            // Nothing is said then; what two engines contradict is told as everywhere.
            Err(stop) => self.stopped(stop).map(|_| Vec::new()),
        }
    }
}

fn least(
    case: &mut Case<'_>,
    happens: TermId,
    mut kept: BTreeMap<CouplingId, Vec<TermId>>,
) -> Result<Vec<CouplingId>, Stop> {
    let fixed = case.given(Allowed::Nothing, NOBODY);
    let mut happens_with = |couplings: &BTreeMap<CouplingId, Vec<TermId>>| {
        let terms = couplings.values().flatten().copied();
        let given: Vec<TermId> = fixed.iter().copied().chain(terms).collect();
        case.possible(happens, &given)
    };
    if !happens_with(&BTreeMap::new())? || happens_with(&kept)? {
        return Ok(Vec::new());
    }
    for id in kept.keys().copied().collect::<Vec<_>>() {
        let mut fewer = kept.clone();
        fewer.remove(&id);
        if !happens_with(&fewer)? {
            kept = fewer;
        }
    }
    Ok(kept.into_keys().collect())
}
