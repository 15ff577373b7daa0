//! What moves besides: who replays a situation sees everything that a cause commands, not only what the finding is
//! about.

use std::collections::BTreeSet;

use crate::claim::Breach;
use crate::model::{AtPosition, CauseId, Device, Element, InputId, Source};

use super::{Teller, cone, words};

/// Closes a line about what the claim does not turn on.
const ELSEWHERE: &str = "that does not matter here";

impl Teller<'_> {
    /// What a told cause that is true commands besides what is told of it.
    pub(super) fn beside(&self, id: CauseId) -> Option<String> {
        if !self.is_true(id) || self.is_silent(id) || self.harms(id) {
            return None;
        }
        self.besides(id)
    }

    /// The same of the cause that a harmful command comes from; what it commands is told at the end of that story.
    pub(super) fn besides(&self, id: CauseId) -> Option<String> {
        let all = self.demanded(&[id]);
        let (told, others): (Vec<AtPosition>, Vec<AtPosition>) =
            all.into_iter().partition(|at| self.tells_demand(id, *at));
        if others.is_empty() {
            return None;
        }
        let also = if told.is_empty() { "" } else { "also " };
        let tag = self.tag(Element::Cause(id));
        Some(format!("{tag} {also}commands {}; {ELSEWHERE}.", words::whole(&self.positions(&others))))
    }

    /// Causes of which nothing is told, that read the same signals and are true.
    pub(super) fn true_too(&self) -> Vec<CauseId> {
        let told = self.causes.iter().filter(|id| self.tells_readings(**id));
        let signals: BTreeSet<InputId> = told.flat_map(|id| cone::inputs_in(self.model, *id)).collect();
        self.model
            .causes
            .ids()
            .filter(|id| !self.causes.contains(id) && self.acts(*id))
            .filter(|id| cone::inputs_in(self.model, *id).iter().any(|input| signals.contains(input)))
            .collect()
    }

    /// These causes, with what they command.
    pub(super) fn also_true(&self) -> Option<String> {
        let true_too = self.true_too();
        let names: Vec<String> =
            true_too.iter().map(|id| self.tag(Element::Cause(*id)).to_string()).collect();
        let moved = words::whole(&self.positions(&self.demanded(&true_too)));
        let names_of = words::whole(&names);
        let (one, many) =
            ("which reads the same signals, is true too", "which read the same signals, are true too");
        match (names.len(), moved.is_empty()) {
            (0, _) => None,
            (1, true) => Some(format!("{names_of}, {one}; {ELSEWHERE}.")),
            (1, false) => Some(format!("{names_of}, {one} and commands {moved}; {ELSEWHERE}.")),
            (_, true) => Some(format!("{names_of}, {many}; {ELSEWHERE}.")),
            (_, false) => Some(format!("{names_of}, {many} and command {moved}; {ELSEWHERE}.")),
        }
    }

    /// Whether a cause is true by what its solver sees, and its solver works.
    pub(super) fn acts(&self, id: CauseId) -> bool {
        let solver = self.model.causes[id].solver;
        let works = !self.replay.dead.contains(&solver) && !self.may(Source::Solver(solver));
        let met = self.replay.conditions.get(&id) == Some(&true);
        self.is_true(id) && met && self.replay.armed.get(&id) != Some(&false) && works
    }

    fn harms(&self, id: CauseId) -> bool {
        matches!(self.claim.breach, Breach::Harmed { cause, .. } if cause == id)
    }

    /// Whether the story says of a cause that it demands a position.
    fn tells_demand(&self, id: CauseId, at: AtPosition) -> bool {
        let forbidden = match self.claim.breach {
            Breach::Harmed { cause, at: forbidden, .. } => cause == id && forbidden == at,
            _ => false,
        };
        forbidden || self.demand_matters(at)
    }

    /// What these causes demand, each position once.
    pub(super) fn demanded(&self, causes: &[CauseId]) -> Vec<AtPosition> {
        let effects = causes.iter().flat_map(|id| &self.model.causes[*id].demands);
        let mut all: Vec<AtPosition> = Vec::new();
        for (actuator, position) in effects.flat_map(|effect| &self.model.effects[*effect].set) {
            let at = AtPosition { device: Device::Actuator(*actuator), position: *position };
            if !all.contains(&at) {
                all.push(at);
            }
        }
        all
    }

    /// `K1 open` for each.
    pub(super) fn positions(&self, all: &[AtPosition]) -> Vec<String> {
        let text = |at: &AtPosition| {
            format!("{} {}", self.tag(self.model.device_element(at.device)), words::position(self.model, *at))
        };
        all.iter().map(text).collect()
    }
}
