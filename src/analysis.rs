//! What a hazard's protection withstands in one mode: cut sets, fault tolerance, disjoint paths.
//!
//! Works on one open question ([`Case`]) and on sets of fault sources; it knows neither how the question was encoded
//! nor which engine answers. Definitions: section 4 of the semantics, restated on each function.

pub mod colouring;
pub mod cuts;
pub mod extent;
pub mod paths;
pub mod structure;
pub mod trial;

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use crate::engine::{Answer, Contradiction, EngineError, Question};
use crate::model::Source;
use crate::semantics::Encoding;
use crate::term::TermId;

/// What stopped an analysis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stop {
    /// The engine did not decide, with its reason.
    Undecided(String),
    /// Two engines answer differently.
    Disputed(Box<Contradiction>),
    /// The engine failed.
    Failed(EngineError),
}

/// Why something was decided by one engine only, if it was: shared by all questions of one piece of work.
pub type Alone = Rc<RefCell<Option<String>>>;

impl From<EngineError> for Stop {
    fn from(error: EngineError) -> Self {
        Stop::Failed(error)
    }
}

/// Which faults a question allows.
#[derive(Debug, Clone, Copy)]
pub enum Allowed<'a> {
    /// None.
    Nothing,
    /// These and no others.
    Only(&'a BTreeSet<Source>),
    /// All but these.
    AllBut(&'a BTreeSet<Source>),
    /// Any, up to this weight in all.
    Weight(u32),
}

/// Who else may act in a question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Actors {
    /// One initiator group.
    pub initiators: bool,
    /// One damage group that costs nothing, since the damage is certain: it belongs to every budget of faults.
    pub damage: bool,
    /// Overrides as permitted.
    pub overrides: bool,
}

/// One open question about one hazard in one mode.
pub struct Case<'e> {
    /// The terms; questions may add to them.
    pub encoding: Encoding,
    /// The engine's side.
    pub question: Box<dyn Question + 'e>,
    /// Weight of each source that costs something.
    weights: BTreeMap<Source, u32>,
    /// Initiator groups.
    initiators: Vec<TermId>,
    /// Sources that cost nothing: damage that is certain.
    damage: Vec<TermId>,
    alone: Alone,
}

impl<'e> Case<'e> {
    /// Opens a case; `weight` gives the weight of a source, 0 for one that costs nothing. What one engine decides alone
    /// is noted in `alone`.
    pub fn new(
        encoding: Encoding,
        question: Box<dyn Question + 'e>,
        weight: impl Fn(Source) -> u32,
        alone: Alone,
    ) -> Self {
        let mut weights = BTreeMap::new();
        let mut damage = Vec::new();
        for (source, term) in &encoding.faults {
            match weight(*source) {
                0 => damage.push(*term),
                w => {
                    weights.insert(*source, w);
                }
            }
        }
        let initiators = encoding.initiators.clone();
        Case { encoding, question, weights, initiators, damage, alone }
    }

    /// The sources that matter and cost something: U, cut down to what the breach depends on.
    pub fn sources(&self) -> BTreeSet<Source> {
        self.weights.keys().copied().collect()
    }

    /// Whether initiator groups matter.
    pub fn has_initiators(&self) -> bool {
        !self.initiators.is_empty()
    }

    /// Whether damage that costs nothing matters.
    pub fn has_damage(&self) -> bool {
        !self.damage.is_empty()
    }

    /// Weight of a set of sources.
    pub fn weight(&self, sources: &BTreeSet<Source>) -> u32 {
        sources.iter().filter_map(|source| self.weights.get(source)).sum()
    }

    /// The term that says that a source misbehaves; never, for one that does not occur.
    pub fn fault(&self, source: Source) -> TermId {
        // A source that the encoding does not mention cannot misbehave in it.
        self.encoding.faults.get(&source).copied().unwrap_or_else(|| self.encoding.terms.no())
    }

    /// The terms that say which faults are allowed and who else may act.
    pub fn given(&mut self, allowed: Allowed<'_>, actors: Actors) -> Vec<TermId> {
        let mut given = Vec::new();
        let sources: Vec<Source> = self.weights.keys().copied().collect();
        for source in &sources {
            let free = match allowed {
                Allowed::Nothing => false,
                Allowed::Only(set) => set.contains(source),
                Allowed::AllBut(set) => !set.contains(source),
                Allowed::Weight(_) => true,
            };
            if !free {
                let fault = self.fault(*source);
                given.push(self.encoding.terms.not(fault));
            }
        }
        if let Allowed::Weight(limit) = allowed {
            given.push(self.at_most(limit));
        }
        let mut idle = Vec::new();
        if !actors.initiators {
            idle.extend(self.initiators.iter().copied());
        }
        if !actors.damage {
            idle.extend(self.damage.iter().copied());
        }
        given.extend(idle.into_iter().map(|party| self.encoding.terms.not(party)));
        if let Some(permitted) = self.encoding.overrides_permitted {
            given.push(if actors.overrides { permitted } else { self.encoding.terms.not(permitted) });
        }
        given
    }

    /// The weights of what misbehaves add up to at most `limit`.
    fn at_most(&mut self, limit: u32) -> TermId {
        let repeated: Vec<TermId> = self
            .weights
            .iter()
            .flat_map(|(source, weight)| {
                let term = self.fault(*source);
                std::iter::repeat_n(term, *weight as usize)
            })
            .collect();
        let more = self.encoding.terms.at_least(limit as usize + 1, repeated);
        self.encoding.terms.not(more)
    }

    /// Is there a situation of the given kind in which `what` holds? `Some(true)` leaves the situation readable.
    ///
    /// # Errors
    /// [`Stop`] if the engine does not decide or fails.
    pub fn possible(&mut self, what: TermId, given: &[TermId]) -> Result<bool, Stop> {
        let mut all = vec![what];
        all.extend_from_slice(given);
        let answer = self.question.ask(&self.encoding.terms, &all)?;
        if let Some(reason) = self.question.alone() {
            self.alone.borrow_mut().get_or_insert(reason);
        }
        exists(answer)
    }

    /// As [`Case::possible`], where the answer only chooses which situation is told.
    ///
    /// # Errors
    /// As [`Case::possible`].
    pub fn look(&mut self, what: TermId, given: &[TermId]) -> Result<bool, Stop> {
        let mut all = vec![what];
        all.extend_from_slice(given);
        exists(self.question.look(&self.encoding.terms, &all)?)
    }

    /// As [`Case::possible`], for a search: one engine finds, and both say when there is nothing left to find. What is found
    /// is confirmed where it is told. Where the first engine does not decide, the second one may.
    ///
    /// # Errors
    /// As [`Case::possible`].
    pub fn another(&mut self, what: TermId, given: &[TermId]) -> Result<bool, Stop> {
        match self.look(what, given) {
            Ok(true) => Ok(true),
            Ok(false) | Err(Stop::Undecided(_)) => self.possible(what, given),
            Err(stop) => Err(stop),
        }
    }

    /// Makes the situation just found readable.
    ///
    /// # Errors
    /// If there is no such situation.
    pub fn keep(&mut self) -> Result<(), EngineError> {
        self.question.keep(&self.encoding.terms)
    }

    /// `unsafe(F)` for the allowed faults: the breach happens in some situation.
    ///
    /// # Errors
    /// As [`Case::possible`].
    pub fn unprotected(&mut self, allowed: Allowed<'_>, actors: Actors) -> Result<bool, Stop> {
        let given = self.given(allowed, actors);
        let breach = self.encoding.breach;
        self.possible(breach, &given)
    }

    /// The sources whose good behaviour the refusal just given needed: with all of them working, it stands.
    pub fn relied_on(&mut self) -> BTreeSet<Source> {
        let conflict: BTreeSet<TermId> = self.question.conflict(&self.encoding.terms).into_iter().collect();
        let mut found = BTreeSet::new();
        for source in self.weights.keys().copied().collect::<Vec<_>>() {
            let fault = self.fault(source);
            if conflict.contains(&self.encoding.terms.not(fault)) {
                found.insert(source);
            }
        }
        found
    }

    /// The sources that misbehave in the situation just found.
    ///
    /// # Errors
    /// If there is no such situation.
    pub fn misbehaving(&mut self) -> Result<BTreeSet<Source>, Stop> {
        self.keep()?;
        let mut found = BTreeSet::new();
        for source in self.weights.keys() {
            if self
                .question
                .truth(crate::term::Var::Fact(crate::situation::FactChoice::Misbehaves(*source)))?
            {
                found.insert(*source);
            }
        }
        Ok(found)
    }
}

/// Whether a situation exists.
///
/// # Errors
/// [`Stop`] if that is not decided.
pub fn exists(answer: Answer) -> Result<bool, Stop> {
    match answer {
        Answer::Exists => Ok(true),
        Answer::None => Ok(false),
        Answer::Undecided(reason) => Err(Stop::Undecided(reason)),
        Answer::Disputed(contradiction) => Err(Stop::Disputed(contradiction)),
    }
}
