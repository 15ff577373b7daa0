//! The safe states of hazards that can be present together are compatible: one set of positions satisfies them all, and
//! none of them forbids it.

use std::collections::BTreeSet;

use super::single::Subject;
use super::{Decided, Dispute, Witness, Work};
use crate::analysis::{Alone, Stop, exists};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::{EngineError, Question};
use crate::model::{AtPosition, Device, HazardId, Model, Tree};
use crate::replay::common_positions;
use crate::situation::Situation;
use crate::term::{TermId, Terms, Var};

/// Most sets of hazards that are looked at.
const MOST: usize = 400;

/// Hazards that can be present together and whose safe states exclude each other.
#[derive(Debug, Clone)]
pub struct Incompatible {
    /// The hazards; without one of them the others can be satisfied.
    pub hazards: BTreeSet<HazardId>,
    /// A situation in which all are present.
    pub witness: Witness,
}

/// The positions of devices alone, with what each hazard asks of them.
struct Positions<'e> {
    terms: Terms,
    asked: Vec<(HazardId, TermId)>,
    question: Box<dyn Question + 'e>,
    alone: Alone,
}

impl Positions<'_> {
    /// Some of these hazards that cannot be satisfied by one set of positions; `None` if all can.
    fn conflict(&mut self, hazards: &BTreeSet<HazardId>) -> Result<Option<BTreeSet<HazardId>>, Stop> {
        let chosen: Vec<(HazardId, TermId)> =
            self.asked.iter().filter(|(hazard, _)| hazards.contains(hazard)).copied().collect();
        let given: Vec<TermId> = chosen.iter().map(|(_, term)| *term).collect();
        let answer = self.question.ask(&self.terms, &given)?;
        if let Some(reason) = self.question.alone() {
            self.alone.borrow_mut().get_or_insert(reason);
        }
        if exists(answer)? {
            return Ok(None);
        }
        let conflict = self.question.conflict(&self.terms);
        let conflicting = chosen.iter().filter(|(_, term)| conflict.contains(term));
        Ok(Some(conflicting.map(|(hazard, _)| *hazard).collect()))
    }

    /// The same, with no hazard that is not needed.
    fn least_conflict(&mut self, hazards: &BTreeSet<HazardId>) -> Result<Option<BTreeSet<HazardId>>, Stop> {
        let Some(mut core) = self.conflict(hazards)? else { return Ok(None) };
        for hazard in core.clone() {
            let mut smaller = core.clone();
            smaller.remove(&hazard);
            if let Some(found) = self.conflict(&smaller)? {
                core = found;
            }
        }
        Ok(Some(core))
    }
}

fn position(terms: &mut Terms, at: AtPosition) -> TermId {
    terms.var(Var::PositionIs(at.device, at.position))
}

fn combination(terms: &mut Terms, tree: &Tree<AtPosition>) -> TermId {
    match tree {
        Tree::Atom(at) => position(terms, *at),
        Tree::And(parts) => {
            let parts: Vec<TermId> = parts.iter().map(|part| combination(terms, part)).collect();
            terms.and(parts)
        }
        Tree::Or(parts) => {
            let parts: Vec<TermId> = parts.iter().map(|part| combination(terms, part)).collect();
            terms.or(parts)
        }
        Tree::Not(part) => {
            let part = combination(terms, part);
            terms.not(part)
        }
        Tree::Vote { m, of } => {
            let of: Vec<TermId> = of.iter().map(|part| combination(terms, part)).collect();
            terms.at_least(*m, of)
        }
    }
}

/// What each hazard asks: its safe state, and none of the positions that it forbids.
fn asked(model: &Model, terms: &mut Terms) -> (Vec<(HazardId, TermId)>, Vec<TermId>) {
    let mut devices: BTreeSet<Device> = BTreeSet::new();
    let mut asked = Vec::new();
    for (id, hazard) in model.hazards.iter() {
        devices.extend(hazard.safe_state.atoms().into_iter().chain(&hazard.forbids).map(|at| at.device));
        let mut all = vec![combination(terms, &hazard.safe_state)];
        for at in &hazard.forbids {
            let there = position(terms, *at);
            all.push(terms.not(there));
        }
        asked.push((id, terms.and(all)));
    }
    let mut possible = Vec::new();
    for device in devices {
        let each: Vec<TermId> = (0..model.device_positions(device).len())
            .map(|number| position(terms, AtPosition { device, position: number }))
            .collect();
        possible.push(terms.exactly_one(&each));
    }
    (asked, possible)
}

impl Work<'_> {
    pub(super) fn compatible(&mut self) -> Result<(), EngineError> {
        if self.model.hazards.len() < 2 {
            return Ok(());
        }
        let decided = match self.incompatible() {
            Ok(decided) => decided,
            Err(stop) => self.stopped(stop)?,
        };
        self.tell_single(Subject::SafeStatesCompatible, decided);
        Ok(())
    }

    /// Every least set of hazards that conflict, each examined whether they can be present together.
    fn incompatible(&mut self) -> Result<Decided, Stop> {
        let model = self.model;
        let mut terms = Terms::default();
        let (asked, possible) = asked(model, &mut terms);
        // Which hazards are asked for differs, not what they ask.
        let question = self.engine.open(&terms, &possible, &[])?;
        let mut positions = Positions { terms, asked, question, alone: self.alone.clone() };
        let mut open: Vec<BTreeSet<HazardId>> = vec![model.hazards.ids().collect()];
        let mut seen: BTreeSet<BTreeSet<HazardId>> = BTreeSet::new();
        let mut cores: BTreeSet<BTreeSet<HazardId>> = BTreeSet::new();
        while let Some(set) = open.pop() {
            if !seen.insert(set.clone()) {
                continue;
            }
            if seen.len() > MOST {
                return Err(Stop::Undecided(format!("more than {MOST} sets of hazards to compare")));
            }
            let known = cores.iter().find(|core| core.is_subset(&set)).cloned();
            let core = match known {
                Some(core) => Some(core),
                None => positions.least_conflict(&set)?,
            };
            let Some(core) = core else { continue };
            for hazard in &core {
                let mut smaller = set.clone();
                smaller.remove(hazard);
                open.push(smaller);
            }
            cores.insert(core);
        }
        let mut first = None;
        for core in cores {
            if let Some(witness) = self.present_together(&core)? {
                first.get_or_insert_with(|| Decided::Broken(Box::new(witness.clone())));
                self.result.incompatible.push(Incompatible { hazards: core, witness });
            }
        }
        Ok(first.unwrap_or(Decided::Holds))
    }

    /// A situation in which all of them are present; none, if they are said never to be present together.
    fn present_together(&mut self, hazards: &BTreeSet<HazardId>) -> Result<Option<Witness>, Stop> {
        let model = self.model;
        let apart = hazards
            .iter()
            .any(|hazard| model.hazards[*hazard].never_together.iter().any(|other| hazards.contains(other)));
        if apart {
            return Ok(None);
        }
        let claim = Claim {
            breach: Breach::Together(hazards.clone()),
            modes: Vec::new(),
            faults: Budget::none(),
            initiators: false,
            overrides: false,
        };
        match common_positions(model, hazards) {
            Some(false) => {}
            Some(true) => {
                let simulator = "one set of positions satisfies all of these hazards".to_string();
                self.result.disputes.push(Dispute { claim, situation: Situation::default(), simulator });
                return Ok(None);
            }
            None => return Err(Stop::Undecided("too many positions to compare one by one".into())),
        }
        match self.look_for(claim, 0)? {
            Decided::Broken(witness) => Ok(Some(*witness)),
            Decided::Holds | Decided::Disputed | Decided::NotApplicable(_) | Decided::Never(_) => Ok(None),
            Decided::Undecided(reason) => Err(Stop::Undecided(reason)),
        }
    }
}
