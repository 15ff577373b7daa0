//! Whether what holds of a hazard without regard to time holds in time, too: asked first, and where it can be with the question
//! at hand that was answered without regard to time.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::super::hazard::{OVERRIDES, PARTIES, UNDER_OVERRIDES};
use super::super::{About, Decided, HazardInMode, Work};
use super::has_time;
use crate::analysis::{Allowed, Case, Stop};
use crate::claim::{Breach, Extent, Timing, Unknown};
use crate::engine::EngineError;
use crate::model::{HazardId, ModeId, QuantityId, Required, Source};
use crate::outcome::{Paths, Tolerance};
use crate::semantics::{Encoding, Scope, encode_beside};
use crate::term::TermId;

/// How far quantities reach in the situations of a question.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    pub(super) encoding: Encoding,
    pub(super) extents: BTreeMap<QuantityId, Extent>,
    /// Why one engine decided it alone, if it did.
    pub(super) alone: Option<String>,
}

/// All of that which was asked.
pub(super) type Reaches = Vec<Reach>;

/// What came out about time when a hazard was examined without regard to it.
#[derive(Debug, Clone)]
pub(crate) struct Ahead {
    pub(super) extents: Reaches,
    /// Two engines decided how far the quantities reach.
    both: bool,
    /// Everything is so in time; `false` says nothing.
    pub(super) as_ever: bool,
}

/// What is known of a hazard in a mode before its claims about time are decided.
#[derive(Clone, Copy)]
pub(super) struct Known<'a> {
    pub(super) ever: &'a HazardInMode,
    pub(super) ahead: Option<&'a Ahead>,
    /// Whether the hazard asks the same in two modes without regard to time.
    pub(super) asks_the_same: &'a dyn Fn(ModeId, ModeId) -> bool,
}

/// A question that was answered before: modes often ask the same, and bays that are built alike.
pub(super) struct Earlier {
    pub(super) encoding: Encoding,
    /// The path sets that protect in time, as terms.
    pub(super) paths: BTreeSet<BTreeSet<TermId>>,
    /// What is required, on which depends what was asked.
    pub(super) required: Required,
}

/// Path sets as terms of a question; sources that do not occur in it make no difference.
pub(super) fn as_terms(paths: &[BTreeSet<Source>], encoding: &Encoding) -> BTreeSet<BTreeSet<TermId>> {
    let terms = |path: &BTreeSet<Source>| {
        path.iter().filter_map(|source| encoding.faults.get(source).copied()).collect()
    };
    paths.iter().map(terms).collect()
}

pub(super) fn all_hold(found: &HazardInMode) -> bool {
    found.claims().into_iter().all(|decided| matches!(decided, Decided::Holds | Decided::NotApplicable(_)))
}

impl Work<'_> {
    /// Whether everything holds without regard to time, and path sets show it.
    pub(super) fn may_be_as_ever(&self, ever: &HazardInMode) -> bool {
        let Some(numbers) = &ever.numbers else { return false };
        all_hold(ever)
            && matches!(numbers.tolerance, Tolerance::Exactly(_))
            && matches!(numbers.paths, Paths::Exactly(paths) if paths > 0 && paths == numbers.path_sets.len())
    }

    /// The same where nothing is at hand.
    pub(super) fn asked_as_ever(&mut self, ever: &HazardInMode, encoding: &Encoding) -> Result<bool, Stop> {
        if !self.may_be_as_ever(ever) {
            return Ok(false);
        }
        let model = self.model;
        let mut case = self.open(encoding.clone(), |source| model.weight(source))?;
        let late = encoding.breach;
        self.as_ever(ever, &mut case, late)
    }

    /// A question about the hazard without regard to time with its claims about time beside it, and their term; `None` where
    /// they are the same, or nothing is known of a time.
    pub(in super::super) fn beside(
        &mut self,
        place: (HazardId, ModeId),
    ) -> Result<Option<(Encoding, TermId)>, EngineError> {
        let (hazard, mode) = place;
        if !has_time(self.model, hazard) {
            return Ok(None);
        }
        let mut known = Vec::new();
        let extents = match self.extents(hazard, mode, &mut known) {
            Ok(extents) => extents,
            // Asked again when it is about time.
            Err(stop) => {
                self.stopped(stop)?;
                self.about(About::Hazard(hazard, mode));
                return Ok(None);
            }
        };
        // Noted with what reaches how far, and told of what is about time: what has no regard to it does not rest on that.
        let both = self.decided_alone().is_none();
        self.result.ahead.insert(place, Ahead { extents: known, both, as_ever: false });
        let late = Breach::Late { hazard, timing: Arc::new(Timing { extents, unknown: Unknown::TooLong }) };
        let breach = Breach::NotMet { hazard, onset: None };
        let modes = [mode];
        let scope = Scope { breach, modes: &modes, sources: self.universe, initiators: true };
        let (encoding, late) = encode_beside(self.model, &scope, &late);
        Ok((!encoding.quick).then_some((encoding, late)))
    }

    /// With a question about a hazard at hand that was answered without regard to time: whether it is so in time.
    pub(in super::super) fn look_ahead(
        &mut self,
        found: &HazardInMode,
        case: &mut Case<'_>,
        late: TermId,
    ) -> Result<(), EngineError> {
        let as_ever = match self.as_ever(found, case, late) {
            Ok(as_ever) => as_ever,
            Err(stop) => {
                self.stopped(stop)?;
                self.about(About::Hazard(found.hazard, found.mode));
                false
            }
        };
        // What one engine decided alone is asked again, where it is told.
        let both = self.decided_alone().is_none();
        if let Some(ahead) = self.result.ahead.get_mut(&(found.hazard, found.mode)) {
            ahead.as_ever = as_ever && both && ahead.both;
        }
        Ok(())
    }

    /// Whether all that holds without regard to time holds in time, with the same two numbers. What is met in time is met,
    /// so the numbers are never greater: it is enough that the same disjoint path sets still protect, and that as many
    /// faults are tolerated. `false` says nothing.
    fn as_ever(&self, ever: &HazardInMode, case: &mut Case<'_>, late: TermId) -> Result<bool, Stop> {
        let (true, Some(numbers)) = (self.may_be_as_ever(ever), &ever.numbers) else { return Ok(false) };
        let (Paths::Exactly(paths), Tolerance::Exactly(tolerated)) = (numbers.paths, numbers.tolerance)
        else {
            return Ok(false);
        };
        let under = self.model.hazards[ever.hazard].required.under_overrides;
        let overridden = case.encoding.overrides_permitted.is_some() && (under > 0 || case.has_damage());
        let mut happens = |allowed: Allowed<'_>, actors| {
            let given = case.given(allowed, actors);
            case.possible(late, &given)
        };
        if happens(Allowed::Nothing, OVERRIDES)? {
            return Ok(false);
        }
        for path in &numbers.path_sets {
            if happens(Allowed::AllBut(path), PARTIES)? {
                return Ok(false);
            }
        }
        // A fault defeats one path at most, so that many paths tolerate one fault less.
        if u64::from(tolerated) + 1 != paths as u64 && happens(Allowed::Weight(tolerated), PARTIES)? {
            return Ok(false);
        }
        Ok(!(overridden && happens(Allowed::Weight(under), UNDER_OVERRIDES)?))
    }
}
