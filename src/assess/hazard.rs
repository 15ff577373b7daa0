//! One hazard in each of its modes: existence of its onset cases, covered, fault tolerance, disjoint paths, the
//! initiator as protection, what overrides leave.

use std::collections::{BTreeMap, BTreeSet};

use super::alike::Question;
use super::{About, Decided, Witness, Work};
use crate::analysis::{Actors, Allowed, Case, Stop, cuts, paths};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::EngineError;
use crate::model::{HazardId, ModeId, Source};
use crate::outcome::{Paths, Tolerance};
use crate::semantics::{Encoding, Scope, encode};
use crate::situation::Situation;
use crate::term::TermId;
use crate::witness;

/// Greatest number of sources in the cut sets that are all listed.
pub const ORDER: usize = 2;

pub(super) const NOBODY: Actors = Actors { initiators: false, damage: false, overrides: false };
/// What a budget of faults always includes: damage that is certain weighs nothing.
const DAMAGE: Actors = Actors { initiators: false, damage: true, overrides: false };
pub(super) const PARTIES: Actors = Actors { initiators: true, damage: true, overrides: false };
pub(super) const OVERRIDES: Actors = Actors { initiators: false, damage: false, overrides: true };
pub(super) const UNDER_OVERRIDES: Actors = Actors { initiators: false, damage: true, overrides: true };

/// The two numbers of a protection with what shows them.
#[derive(Debug, Clone)]
pub struct Numbers {
    /// Fault tolerance.
    pub tolerance: Tolerance,
    /// Disjoint paths.
    pub paths: Paths,
    /// All minimal cut sets with at most [`ORDER`] sources.
    pub cuts: Vec<BTreeSet<Source>>,
    /// A minimal path set of each disjoint family.
    pub path_sets: Vec<BTreeSet<Source>>,
    /// Cut sets that show why there are no more disjoint paths.
    pub obstacle: Vec<BTreeSet<Source>>,
    /// A minimal cut set of least weight, if one was found.
    pub lightest: Option<BTreeSet<Source>>,
    /// Its weight.
    pub weight: u32,
}

/// What was decided about one hazard in one mode.
#[derive(Debug, Clone)]
pub struct HazardInMode {
    /// The hazard.
    pub hazard: HazardId,
    /// The mode.
    pub mode: ModeId,
    /// Onset cases (by number) whose situations do not exist.
    pub impossible_onsets: Vec<usize>,
    /// Met without any fault, without overrides.
    pub unaided: Decided,
    /// Met without any fault, under every permitted override.
    pub covered: Decided,
    /// Fault tolerance as required.
    pub tolerance: Decided,
    /// Disjoint paths as required; the witness breaks one of the cut sets that stand in the way.
    pub disjoint: Decided,
    /// The same with the initiator groups: not applicable where there are none.
    pub initiator: Decided,
    /// Met with the faults of the policy under every permitted override.
    pub overrides: Decided,
    /// The numbers, with initiator groups and certain damage; `None` if undecided or not applicable.
    pub numbers: Option<Numbers>,
    /// The numbers without initiator groups, where there are any.
    pub alone: Option<Numbers>,
    /// Why something about it was decided by one engine only, if it was.
    pub one_engine: Option<String>,
    /// Of several sources each of which alone defeats the fault tolerance: a situation for each.
    pub each: Vec<Witness>,
}

impl HazardInMode {
    /// What was decided of its claims.
    pub fn claims(&self) -> [&Decided; 6] {
        [&self.unaided, &self.covered, &self.tolerance, &self.disjoint, &self.initiator, &self.overrides]
    }

    /// Whether none of its situations exist.
    pub fn impossible(&self, onsets: usize) -> bool {
        self.impossible_onsets.len() == onsets
    }
}

/// Whether the two numbers can belong together: DP <= FT + 1, since every cut set has a source in each path.
fn fit(paths: Paths, tolerance: Tolerance) -> bool {
    let most = match tolerance {
        Tolerance::None => 0,
        Tolerance::Exactly(faults) => u64::from(faults) + 1,
        Tolerance::AtLeast(_) => return true,
    };
    matches!(paths, Paths::Exactly(number) if number as u64 <= most)
}

impl<'m> Work<'m> {
    /// Whether a mode leaves at least one situation, couplings included.
    pub(super) fn possible(&mut self, mode: ModeId) -> Result<(), EngineError> {
        let empty = BTreeSet::new();
        let modes = [mode];
        let scope = Scope { breach: Breach::Possible, modes: &modes, sources: &empty, initiators: false };
        let encoding = encode(self.model, &scope);
        let mut case = self.open(encoding, |_| 1)?;
        match case.unprotected(Allowed::Nothing, NOBODY) {
            Ok(true) => {}
            Ok(false) => self.result.impossible_modes.push(mode),
            // Not decided is not impossible: the hazards of the mode then say so themselves.
            Err(stop) => {
                self.stopped(stop)?;
            }
        }
        Ok(())
    }

    pub(super) fn hazard(&mut self, question: &Question) -> Result<(), EngineError> {
        self.note(&question.encoding);
        let place = (question.hazard, question.mode);
        let breach = Breach::NotMet { hazard: question.hazard, onset: None };
        let (encoding, late) = match self.beside(place)? {
            Some((encoding, late)) => (encoding, Some(late)),
            None => (question.encoding.clone(), None),
        };
        let (found, mut case) = self.examine(place, breach, encoding)?;
        if let Some(late) = late {
            self.look_ahead(&found, &mut case, late)?;
        }
        self.result.hazards.push(found);
        Ok(())
    }

    /// Everything about one breach of a hazard in a mode: that it is not met, or not met in time.
    pub(super) fn hazard_in_mode(
        &mut self,
        place: (HazardId, ModeId),
        breach: Breach,
        encoding: Encoding,
    ) -> Result<HazardInMode, EngineError> {
        Ok(self.examine(place, breach, encoding)?.0)
    }

    /// As [`Work::hazard_in_mode`], with the question as it is then.
    fn examine(
        &mut self,
        (hazard, mode): (HazardId, ModeId),
        breach: Breach,
        encoding: Encoding,
    ) -> Result<(HazardInMode, Case<'m>), EngineError> {
        let model = self.model;
        let case = self.open(encoding, |source| model.weight(source))?;
        let mut examined = Examined { work: self, hazard, mode, breach, case, chosen: BTreeMap::new() };
        let mut found = HazardInMode {
            hazard,
            mode,
            impossible_onsets: Vec::new(),
            unaided: Decided::Holds,
            covered: Decided::Holds,
            tolerance: Decided::Holds,
            disjoint: Decided::Holds,
            initiator: Decided::Holds,
            overrides: Decided::Holds,
            numbers: None,
            alone: None,
            one_engine: None,
            each: Vec::new(),
        };
        let run = examined.run(&mut found);
        let case = examined.case;
        if let Err(stop) = run {
            let stopped = self.stopped(stop)?;
            for decided in [
                &mut found.unaided,
                &mut found.covered,
                &mut found.tolerance,
                &mut found.disjoint,
                &mut found.initiator,
                &mut found.overrides,
            ] {
                if !decided.is_broken() {
                    *decided = stopped.clone();
                }
            }
        }
        self.about(About::Hazard(hazard, mode));
        found.one_engine = self.decided_alone();
        Ok((found, case))
    }
}

struct Examined<'w, 'm, 'e> {
    work: &'w mut Work<'m>,
    hazard: HazardId,
    mode: ModeId,
    breach: Breach,
    case: Case<'e>,
    /// Situations already chosen, by what was given: several claims are often broken by the same faults.
    chosen: BTreeMap<Vec<TermId>, Option<Situation>>,
}

impl Examined<'_, '_, '_> {
    fn run(&mut self, found: &mut HazardInMode) -> Result<(), Stop> {
        let required = self.work.model.hazards[self.hazard].required;
        found.impossible_onsets = self.impossible_onsets()?;
        if found.impossible(self.case.encoding.onsets.len()) {
            let none = || Decided::NotApplicable("no situation of the hazard exists in this mode".into());
            (found.unaided, found.covered, found.tolerance) = (none(), none(), none());
            (found.disjoint, found.initiator, found.overrides) = (none(), none(), none());
            return Ok(());
        }
        found.unaided = self.met(Allowed::Nothing, NOBODY)?;
        found.covered = match found.unaided {
            Decided::Holds => self.met(Allowed::Nothing, OVERRIDES)?,
            _ => found.unaided.clone(),
        };
        found.overrides = match self.case.encoding.overrides_permitted {
            None => Decided::NotApplicable("no override reaches this protection".into()),
            Some(_) if required.under_overrides == 0 && !self.case.has_damage() => found.covered.clone(),
            Some(_) => self.met(Allowed::Weight(required.under_overrides), UNDER_OVERRIDES)?,
        };
        let numbers = self.numbers(PARTIES)?;
        let alone = match self.case.has_initiators() {
            true => Some(self.numbers(DAMAGE)?),
            false => None,
        };
        found.tolerance = self.tolerance(&numbers, required.fault_tolerance)?;
        if found.tolerance.is_broken() {
            found.each = self.each(&numbers)?;
        }
        found.disjoint = self.disjoint(&numbers, required.disjoint_paths)?;
        found.initiator = match &alone {
            None => Decided::NotApplicable("no initiator is declared that reaches this protection".into()),
            Some(_) if found.tolerance.is_broken() => found.tolerance.clone(),
            Some(_) => found.disjoint.clone(),
        };
        found.numbers = Some(numbers);
        found.alone = alone;
        Ok(())
    }

    /// What each of several sources does that alone defeat the protection.
    fn each(&mut self, numbers: &Numbers) -> Result<Vec<Witness>, Stop> {
        let singles: Vec<&BTreeSet<Source>> = numbers.cuts.iter().filter(|cut| cut.len() == 1).collect();
        let mut each = Vec::new();
        if singles.len() > 1 && numbers.weight == 1 {
            for cut in singles {
                let claim = self.claim(self.budget(Allowed::Only(cut), PARTIES), PARTIES);
                if let Decided::Broken(witness) = self.tell(claim, Allowed::Only(cut), PARTIES)? {
                    each.push(*witness);
                }
            }
        }
        Ok(each)
    }

    fn impossible_onsets(&mut self) -> Result<Vec<usize>, Stop> {
        let mut impossible = Vec::new();
        for (number, onset) in self.case.encoding.onsets.clone().into_iter().enumerate() {
            let given = self.case.given(Allowed::Nothing, NOBODY);
            if !self.case.possible(onset, &given)? {
                impossible.push(number);
            }
        }
        Ok(impossible)
    }

    fn claim(&self, faults: Budget, actors: Actors) -> Claim {
        Claim {
            breach: self.breach.clone(),
            modes: vec![self.mode],
            faults,
            initiators: actors.initiators,
            overrides: actors.overrides,
        }
    }

    /// The faults of a question as a budget; damage that is certain costs nothing.
    fn budget(&self, allowed: Allowed<'_>, actors: Actors) -> Budget {
        let universe = self.work.universe;
        let model = self.work.model;
        let free = universe.iter().copied().filter(|source| actors.damage && model.weight(*source) == 0);
        match allowed {
            Allowed::Nothing => Budget { sources: free.collect(), weight: Some(0) },
            Allowed::Only(set) => Budget { sources: free.chain(set.iter().copied()).collect(), weight: None },
            Allowed::AllBut(set) => {
                Budget { sources: universe.difference(set).copied().collect(), weight: None }
            }
            Allowed::Weight(limit) => Budget { sources: universe.clone(), weight: Some(limit) },
        }
    }

    /// Is the hazard met whatever happens within these bounds? A refutation comes with its canonical witness.
    fn met(&mut self, allowed: Allowed<'_>, actors: Actors) -> Result<Decided, Stop> {
        if !self.case.unprotected(allowed, actors)? {
            return Ok(Decided::Holds);
        }
        if let Allowed::Weight(limit) = allowed {
            return self.met_by_fewest(limit, actors);
        }
        let claim = self.claim(self.budget(allowed, actors), actors);
        self.tell(claim, allowed, actors)
    }

    /// Broken within a weight: told by the lightest faults that break it.
    fn met_by_fewest(&mut self, limit: u32, actors: Actors) -> Result<Decided, Stop> {
        let claim = self.claim(self.budget(Allowed::Weight(limit), actors), actors);
        for weight in 0..=limit {
            if self.case.unprotected(Allowed::Weight(weight), actors)? {
                let order = self.work.by_tags(&self.case);
                let faults = cuts::first(&mut self.case, weight, &order, actors)?;
                return self.tell(claim, Allowed::Only(&faults), actors);
            }
        }
        Ok(Decided::Holds)
    }

    /// The canonical witness with these faults, replayed.
    fn tell(&mut self, claim: Claim, allowed: Allowed<'_>, actors: Actors) -> Result<Decided, Stop> {
        let given = self.case.given(allowed, actors);
        // An initiator that is not needed is not told.
        let calm = self.case.given(allowed, Actors { initiators: false, ..actors });
        let mut situation = self.canonical(&claim, calm)?;
        if situation.is_none() {
            situation = self.canonical(&claim, given)?;
        }
        match situation {
            Some(situation) => Ok(self.work.believe(claim, situation)),
            None => {
                Err(Stop::Undecided("the engine found a counter-example and could not find it again".into()))
            }
        }
    }

    fn canonical(&mut self, claim: &Claim, given: Vec<TermId>) -> Result<Option<Situation>, Stop> {
        if let Some(chosen) = self.chosen.get(&given) {
            return Ok(chosen.clone());
        }
        let breach = self.case.encoding.breach;
        let chosen = witness::canonical(self.work.model, claim, &mut self.case, breach, &given)?;
        self.chosen.insert(given, chosen.clone());
        Ok(chosen)
    }

    /// Fault tolerance, cut sets and disjoint paths.
    fn numbers(&mut self, actors: Actors) -> Result<Numbers, Stop> {
        let found = cuts::up_to(&mut self.case, ORDER, actors)?;
        let disjoint = paths::largest(&mut self.case, &found, actors)?;
        let lightest = found
            .sets
            .iter()
            .chain(&disjoint.cuts)
            .min_by_key(|cut| (self.case.weight(cut), cut.len(), self.names(cut)))
            .cloned();
        let weight = lightest.as_ref().map_or(0, |cut| self.case.weight(cut));
        let beyond = u32::try_from(ORDER).unwrap_or(0) + 1;
        // Whatever was not searched for has more than ORDER sources, so it weighs at least `beyond`.
        let tolerance = match &lightest {
            _ if found.none_needed => Tolerance::None,
            Some(_) if weight <= beyond => Tolerance::Exactly(weight.saturating_sub(1)),
            Some(_) | None => Tolerance::AtLeast(beyond - 1),
        };
        let paths = if disjoint.unlimited { Paths::Unlimited } else { Paths::Exactly(disjoint.number) };
        if !fit(paths, tolerance) {
            let sentence = format!(
                "{} in {}: {} disjoint paths beside a cut set of weight {weight}",
                self.work.model.hazards[self.hazard].name.tag,
                self.work.model.modes[self.mode].name.tag,
                disjoint.number
            );
            self.work.result.differences.push(sentence);
            return Err(Stop::Undecided("two ways to one number differ".into()));
        }
        Ok(Numbers {
            tolerance,
            paths,
            cuts: found.sets,
            path_sets: disjoint.paths,
            obstacle: disjoint.obstacle,
            lightest,
            weight,
        })
    }

    /// A cut set that is not told: any situation that shows it, replayed.
    fn confirm(&mut self, cut: &BTreeSet<Source>) -> Result<Decided, Stop> {
        let claim = self.claim(self.budget(Allowed::Only(cut), PARTIES), PARTIES);
        let given = self.case.given(Allowed::Only(cut), PARTIES);
        let (model, breach) = (self.work.model, self.case.encoding.breach);
        match witness::any(model, &claim, &mut self.case, breach, &given)? {
            Some(situation) => Ok(self.work.believe(claim, situation)),
            None => Err(Stop::Undecided("the engine found a cut set and could not find it again".into())),
        }
    }

    fn names(&self, sources: &BTreeSet<Source>) -> Vec<String> {
        let mut names: Vec<String> =
            sources.iter().map(|source| self.work.model.source_tag(*source)).collect();
        names.sort();
        names
    }

    fn tolerance(&mut self, numbers: &Numbers, required: u32) -> Result<Decided, Stop> {
        match (&numbers.tolerance, &numbers.lightest) {
            (Tolerance::None, _) => {
                let claim = self.claim(self.budget(Allowed::Weight(required), PARTIES), PARTIES);
                self.tell(claim, Allowed::Nothing, PARTIES)
            }
            (Tolerance::Exactly(tolerated), Some(cut)) if *tolerated < required => {
                let claim = self.claim(self.budget(Allowed::Weight(required), PARTIES), PARTIES);
                self.tell(claim, Allowed::Only(cut), PARTIES)
            }
            (Tolerance::AtLeast(tolerated), _) if *tolerated < required => {
                // The list of cut sets does not reach the requirement: ask for it directly.
                self.met(Allowed::Weight(required), PARTIES)
            }
            (Tolerance::Exactly(_) | Tolerance::AtLeast(_), _) => Ok(Decided::Holds),
        }
    }

    /// Too few disjoint paths are shown by cut sets that no split survives; each of them is replayed.
    fn disjoint(&mut self, numbers: &Numbers, required: u32) -> Result<Decided, Stop> {
        if numbers.paths.reaches(required) {
            return Ok(Decided::Holds);
        }
        if numbers.tolerance == Tolerance::None {
            let claim = self.claim(self.budget(Allowed::Nothing, PARTIES), PARTIES);
            return self.tell(claim, Allowed::Nothing, PARTIES);
        }
        let Some((first, others)) = numbers.obstacle.split_first() else {
            return Ok(Decided::Undecided("no cut sets were found that show it".into()));
        };
        for cut in others {
            let confirmed = self.confirm(cut)?;
            if !confirmed.is_broken() {
                return Ok(confirmed);
            }
        }
        let claim = self.claim(self.budget(Allowed::Only(first), PARTIES), PARTIES);
        self.tell(claim, Allowed::Only(first), PARTIES)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_are_never_more_paths_than_faults_tolerated_and_one() {
        assert!(fit(Paths::Exactly(2), Tolerance::Exactly(1)));
        assert!(fit(Paths::Exactly(1), Tolerance::Exactly(1)), "as of a 2oo3");
        assert!(!fit(Paths::Exactly(3), Tolerance::Exactly(1)));
        assert!(!fit(Paths::Unlimited, Tolerance::Exactly(1)));
        assert!(fit(Paths::Unlimited, Tolerance::AtLeast(3)));
        assert!(fit(Paths::Exactly(0), Tolerance::None));
        assert!(!fit(Paths::Exactly(1), Tolerance::None));
    }
}
