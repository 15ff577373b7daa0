//! Claims that something *can* happen: a trip can fire, is not always on, its marks matter, a mode can work.
//!
//! All causes of one task stand in one opened question without faults. An example shows such a claim, so one that was
//! found is used for as many claims as it shows; the simulator confirms every one of them.

use std::collections::{BTreeMap, BTreeSet};

use super::alike::Asked;
use super::single::{Single, Subject};
use super::{About, Decided, Dispute, Work};
use crate::analysis::{Actors, Allowed, Case};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::EngineError;
use crate::model::{AtPosition, CauseId, Device, InputAtom, ModeId, Model};
use crate::replay::breaks_each;
use crate::semantics::encode_each;
use crate::term::TermId;
use crate::witness::Mentioned;

const NOBODY: Actors = Actors { initiators: false, damage: false, overrides: false };

/// One opened question about many breaches, with what was found.
pub(super) struct Board<'m> {
    case: Case<'m>,
    terms: BTreeMap<Breach, TermId>,
    mentioned: Mentioned,
    shown: BTreeMap<Breach, Decided>,
    /// Why what is shown was decided by one engine only, where it was.
    alone: BTreeMap<Breach, String>,
}

/// A claim of which the breach is an example.
fn claim(breach: Breach) -> Claim {
    Claim { breach, modes: Vec::new(), faults: Budget::none(), initiators: false, overrides: false }
}

/// The positions that a cause demands, each once.
fn marks(model: &Model, cause: CauseId) -> Vec<AtPosition> {
    let set = model.causes[cause].demands.iter().flat_map(|effect| &model.effects[*effect].set);
    let marks: BTreeSet<AtPosition> = set
        .map(|(actuator, position)| AtPosition { device: Device::Actuator(*actuator), position: *position })
        .collect();
    marks.into_iter().collect()
}

/// What is asked about a cause without faults.
fn breaches(model: &Model, cause: CauseId) -> Vec<Breach> {
    let mut breaches = vec![Breach::Fires(cause), Breach::Matters(cause, None)];
    breaches.extend(model.causes[cause].credited_for.iter().map(|hazard| Breach::FiresFor(cause, *hazard)));
    breaches
}

/// A condition that asks for a bad signal or a lost link is there for the fault that makes it true.
fn asks_for_faults(model: &Model, cause: CauseId) -> bool {
    let asks = |atom: &&InputAtom| matches!(atom, InputAtom::Bad(_) | InputAtom::LinkLost(_));
    model.causes[cause].when.atoms().iter().any(asks)
}

/// What is asked about a cause, where another one may be like it: not of one that asks for faults, which is asked more.
pub(super) fn asked(model: &Model, cause: CauseId) -> Option<Asked> {
    if asks_for_faults(model, cause) {
        return None;
    }
    let (encoding, mut terms) = encode_each(model, &breaches(model, cause), &BTreeSet::new());
    terms.push(encoding.terms.constant(marks(model, cause).is_empty()));
    Some(Asked::of(vec![(encoding, terms)]))
}

/// What is told of a cause if nothing is wrong with it.
pub(super) fn told(model: &Model, cause: CauseId) -> Vec<Subject> {
    let for_each = model.causes[cause].credited_for.iter().map(|hazard| Subject::CanFireFor(cause, *hazard));
    [Subject::CanFire(cause)].into_iter().chain(for_each).chain([Subject::MarksMatter(cause)]).collect()
}

/// All that can be told of a cause, in the order of the report.
pub(super) fn subjects(model: &Model, cause: CauseId) -> Vec<Subject> {
    let mut subjects = told(model, cause);
    subjects.insert(subjects.len() - 1, Subject::NotAlwaysOn(cause));
    subjects.extend(marks(model, cause).into_iter().map(|at| Subject::MarkMatters(cause, at)));
    subjects
}

impl<'m> Board<'m> {
    /// Opens a question about these breaches.
    pub(super) fn open(work: &mut Work<'m>, breaches: Vec<Breach>) -> Result<Self, EngineError> {
        let (encoding, terms) = encode_each(work.model, &breaches, &BTreeSet::new());
        work.note(&encoding);
        let mentioned = Mentioned::of(&encoding.terms);
        let case = work.open(encoding, |_| 1)?;
        let terms = breaches.into_iter().zip(terms).collect();
        Ok(Board { case, terms, mentioned, shown: BTreeMap::new(), alone: BTreeMap::new() })
    }

    /// Looks for one situation that shows all of these that are not decided yet. What it shows is decided; if there is
    /// none, that decides a single one only.
    fn seek(&mut self, work: &mut Work<'m>, wanted: &[Breach]) -> Result<(), EngineError> {
        let before = work.decided_alone();
        self.sought(work, wanted)?;
        if let Some(reason) = work.decided_alone() {
            for breach in wanted.iter().filter(|breach| self.shown.contains_key(*breach)) {
                self.alone.entry(breach.clone()).or_insert_with(|| reason.clone());
            }
        }
        work.by_one(before);
        Ok(())
    }

    fn sought(&mut self, work: &mut Work<'m>, wanted: &[Breach]) -> Result<(), EngineError> {
        let wanted: Vec<Breach> =
            wanted.iter().filter(|breach| !self.shown.contains_key(*breach)).cloned().collect();
        let Some(first) = wanted.first().cloned() else { return Ok(()) };
        let terms: Vec<TermId> = wanted.iter().filter_map(|breach| self.terms.get(breach)).copied().collect();
        let all = self.case.encoding.terms.and(terms);
        let given = self.case.given(Allowed::Nothing, NOBODY);
        let alone = wanted.len() == 1;
        match self.case.possible(all, &given) {
            Ok(true) => {}
            Ok(false) if alone => {
                self.shown.insert(first, Decided::Never("no situation makes it true".into()));
                return Ok(());
            }
            Ok(false) => return Ok(()),
            Err(stop) => {
                let stopped = work.stopped(stop)?;
                if alone {
                    self.shown.insert(first, stopped);
                } else if let Decided::Disputed = stopped {
                    self.shown.extend(wanted.into_iter().map(|breach| (breach, Decided::Disputed)));
                }
                return Ok(());
            }
        }
        self.case.keep()?;
        let situation = match self.mentioned.situation(work.model, &[], self.case.question.as_ref()) {
            Ok(situation) => situation,
            Err(stop) => {
                self.shown.insert(first, work.stopped(stop)?);
                return Ok(());
            }
        };
        let said = breaks_each(work.model, &claim(first), &wanted, &situation);
        for (number, breach) in wanted.iter().enumerate() {
            let simulator = match &said {
                Ok(each) if each.get(number) == Some(&true) => {
                    self.shown.insert(breach.clone(), Decided::Holds);
                    continue;
                }
                Ok(_) => "the situation is possible, and does not show it".to_string(),
                Err(impossible) => format!("the situation is not possible: {}", impossible.reason),
            };
            let claim = claim(breach.clone());
            work.result.disputes.push(Dispute { claim, situation: situation.clone(), simulator });
            self.shown.insert(breach.clone(), Decided::Disputed);
        }
        Ok(())
    }

    /// Decides one breach.
    pub(super) fn one(&mut self, work: &mut Work<'m>, breach: &Breach) -> Result<Decided, EngineError> {
        self.seek(work, std::slice::from_ref(breach))?;
        Ok(self.found(work, breach))
    }

    /// What was found about a breach, with the note that it was decided by one engine only, if it was.
    fn found(&self, work: &Work<'_>, breach: &Breach) -> Decided {
        work.by_one(self.alone.get(breach).cloned());
        self.shown.get(breach).cloned().unwrap_or(Decided::Undecided("it was not sought".into()))
    }
}

impl<'m> Work<'m> {
    /// Everything that these causes can do.
    pub(super) fn causes(&mut self, causes: &[CauseId]) -> Result<(), EngineError> {
        let model = self.model;
        let breaches = causes.iter().flat_map(|cause| breaches(model, *cause)).collect();
        let mut board = Board::open(self, breaches)?;
        for cause in causes {
            let (fires, matters) = (Breach::Fires(*cause), Breach::Matters(*cause, None));
            for hazard in &model.causes[*cause].credited_for {
                let for_it = Breach::FiresFor(*cause, *hazard);
                board.seek(self, &[for_it.clone(), fires.clone(), matters.clone()])?;
                board.seek(self, &[for_it.clone(), fires.clone()])?;
                board.seek(self, &[for_it])?;
            }
            board.seek(self, &[fires.clone(), matters.clone()])?;
            board.seek(self, &[fires])?;
            board.seek(self, &[matters])?;
        }
        for cause in causes {
            self.tell_cause(*cause, &board)?;
        }
        Ok(())
    }

    /// Whether each of these is false in some normal situation in which it is armed: one situation shows it of most.
    pub(super) fn quiet(&mut self, causes: &[CauseId]) -> Result<(), EngineError> {
        let breaches: Vec<Breach> = causes.iter().map(|cause| Breach::Quiet(*cause)).collect();
        let mut board = Board::open(self, breaches.clone())?;
        board.seek(self, &breaches)?;
        for (cause, breach) in causes.iter().zip(breaches) {
            let decided = board.one(self, &breach)?;
            self.tell_single(Subject::NotAlwaysOn(*cause), decided);
        }
        Ok(())
    }

    fn tell_cause(&mut self, cause: CauseId, board: &Board<'m>) -> Result<(), EngineError> {
        let model = self.model;
        let fires = board.found(self, &Breach::Fires(cause));
        let fires = self.diagnosis(cause, Breach::Fires(cause), fires)?;
        let never = matches!(fires, Decided::Never(_));
        // A trip that can never fire fires for no hazard either, and moves nothing: one word about it is enough.
        let unless_never = |decided: Decided| match never {
            true => Decided::NotApplicable("its condition can never be true at all".into()),
            false => decided,
        };
        if never {
            self.bar(Subject::CanFire(cause), &Breach::Fires(cause))?;
        }
        self.tell_single(Subject::CanFire(cause), fires);
        for hazard in &model.causes[cause].credited_for {
            let for_it = Breach::FiresFor(cause, *hazard);
            let found = board.found(self, &for_it);
            let decided = match never {
                true => found,
                false => self.diagnosis(cause, for_it.clone(), found)?,
            };
            let decided = unless_never(decided);
            if matches!(decided, Decided::Never(_)) {
                self.bar(Subject::CanFireFor(cause, *hazard), &for_it)?;
            }
            self.tell_single(Subject::CanFireFor(cause, *hazard), decided);
        }
        let marks = marks(model, cause);
        let all = board.found(self, &Breach::Matters(cause, None));
        if never || marks.is_empty() || !matches!(all, Decided::Never(_)) {
            let decided = match marks.is_empty() {
                true => Decided::NotApplicable("it commands nothing".into()),
                false => unless_never(all),
            };
            self.tell_single(Subject::MarksMatter(cause), decided);
            return Ok(());
        }
        let breaches: Vec<Breach> = marks.iter().map(|at| Breach::Matters(cause, Some(*at))).collect();
        let mut board = Board::open(self, breaches.clone())?;
        for (at, breach) in marks.into_iter().zip(breaches) {
            let decided = board.one(self, &breach)?;
            // Of two channels that see the same, each mark matters when the other fails.
            let decided = self.even_with_a_fault(breach, decided)?;
            self.tell_single(Subject::MarkMatters(cause, at), decided);
        }
        Ok(())
    }

    /// Notes which couplings keep something from ever happening, where they do.
    fn bar(&mut self, subject: Subject, breach: &Breach) -> Result<(), EngineError> {
        let couplings = self.barred_by(breach)?;
        if !couplings.is_empty() {
            self.result.barred.insert(subject, couplings);
        }
        Ok(())
    }

    /// What never happens without a fault, asked again with any one fault.
    fn even_with_a_fault(&mut self, breach: Breach, decided: Decided) -> Result<Decided, EngineError> {
        if !matches!(decided, Decided::Never(_)) {
            return Ok(decided);
        }
        let faults = Budget { sources: self.universe.clone(), weight: Some(1) };
        let claim = Claim { breach, modes: Vec::new(), faults, initiators: false, overrides: false };
        Ok(match self.can_happen(claim, 1) {
            Ok(Decided::Never(_)) => decided,
            Ok(other) => other,
            Err(stop) => self.stopped(stop)?,
        })
    }

    /// What never happens without a fault, for a cause that is there for a fault.
    fn diagnosis(
        &mut self,
        cause: CauseId,
        breach: Breach,
        decided: Decided,
    ) -> Result<Decided, EngineError> {
        match asks_for_faults(self.model, cause) {
            true => self.even_with_a_fault(breach, decided),
            false => Ok(decided),
        }
    }

    /// Whether each mode can work, and whether those that cannot are possible at all.
    pub(super) fn runs(&mut self) -> Result<(), EngineError> {
        let model = self.model;
        let modes: Vec<ModeId> = model.modes.ids().collect();
        let breaches: Vec<Breach> = modes.iter().map(|mode| Breach::Runs(*mode)).collect();
        let mut board = Board::open(self, breaches)?;
        // One situation shows one mode of each group.
        let groups: Vec<&Vec<ModeId>> = model.groups.iter().map(|(_, group)| &group.modes).collect();
        for number in 0..groups.iter().map(|modes| modes.len()).max().unwrap_or(0) {
            let together = groups.iter().filter_map(|modes| modes.get(number));
            let together: Vec<Breach> = together.map(|mode| Breach::Runs(*mode)).collect();
            board.seek(self, &together)?;
        }
        for mode in modes {
            let decided = board.one(self, &Breach::Runs(mode))?;
            if !matches!(decided, Decided::Holds) {
                self.possible(mode)?;
            }
            self.tell_single(Subject::CanRun(mode), decided);
        }
        Ok(())
    }

    pub(super) fn tell_single(&mut self, subject: Subject, decided: Decided) {
        self.tell(Single { subject, decided, alone: Vec::new(), one_engine: None });
    }

    /// Files what was decided about a single element.
    pub(super) fn tell(&mut self, single: Single) {
        self.about(About::Single(single.subject));
        let one_engine = self.decided_alone();
        self.result.singles.push(Single { one_engine, ..single });
    }
}
