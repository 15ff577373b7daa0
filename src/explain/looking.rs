//! Where the result is seen: the device to look at, and what is to be seen there.
//!
//! For claims about commands, which by themselves move nothing that a technician could read off.

use crate::model::{ActuatorId, AtPosition, CauseId, Device, Element, HazardId, InvariantId, Tree};

use super::{Teller, cone, words};

impl Teller<'_> {
    /// At an actuator that is commanded both ways.
    pub(super) fn look_at_opposed(&self, id: ActuatorId) -> String {
        let tag = self.tag(Element::Actuator(id));
        format!("It is seen at {tag}: wherever it goes, a command is not obeyed.")
    }

    /// At what an invariant is about: commands that are there, and those that are missing.
    pub(super) fn look_at_invariant(&self, id: InvariantId) -> Option<String> {
        let rule = &self.model.invariants[id];
        let demanded = |at: &AtPosition| !self.demanding(*at).is_empty();
        let (mut there, mut missing): (Vec<AtPosition>, Vec<AtPosition>) = (Vec::new(), Vec::new());
        for at in
            cone::deciding(&rule.whenever, &demanded).into_iter().chain(cone::deciding(&rule.then, &demanded))
        {
            let side = if demanded(at) { &mut there } else { &mut missing };
            if !side.contains(at) {
                side.push(*at);
            }
        }
        let verb = |all: &[AtPosition]| if all.len() == 1 { "is" } else { "are" };
        let (is, are) = (verb(&there), verb(&missing));
        let (there, missing) = (self.positions(&there), self.positions(&missing));
        let (commanded, not) = (words::whole(&there), words::whole(&missing));
        match (there.is_empty(), missing.is_empty()) {
            (true, true) => None,
            (false, true) => Some(format!("To be seen then: {commanded} {is} commanded.")),
            (true, false) => Some(format!("To be seen then: {not} {are} not commanded.")),
            (false, false) => {
                Some(format!("To be seen then: {commanded} {is} commanded; {not} {are} not commanded."))
            }
        }
    }

    /// At the devices that stand as they never should, where they are few enough to say so in one line.
    pub(super) fn look_at_combination(&self) -> Option<String> {
        let devices: Vec<String> = self
            .cone
            .devices
            .iter()
            .map(|device| self.tag(self.model.device_element(*device)).to_string())
            .collect();
        match devices.len() {
            0 => None,
            1 => Some(format!("It is seen at {}.", words::whole(&devices))),
            _ => Some(format!("It is seen at {}, which stand so at the same time.", words::whole(&devices))),
        }
    }

    /// At the devices of which the safe states of several hazards want different positions.
    pub(super) fn look_at_safe_states(&self, hazards: &[HazardId]) -> Vec<String> {
        let wants = |hazard: HazardId| -> Vec<AtPosition> {
            let tree: &Tree<AtPosition> = &self.model.hazards[hazard].safe_state;
            tree.atoms().into_iter().copied().collect()
        };
        let mut devices: Vec<Device> = Vec::new();
        for at in hazards.iter().flat_map(|hazard| wants(*hazard)) {
            if !devices.contains(&at.device) {
                devices.push(at.device);
            }
        }
        let mut lines = Vec::new();
        for device in devices {
            let mut named: Vec<(usize, Vec<String>)> = Vec::new();
            for hazard in hazards {
                let tag = self.tag(Element::Hazard(*hazard)).to_string();
                for at in wants(*hazard).into_iter().filter(|at| at.device == device) {
                    match named.iter_mut().find(|(position, _)| *position == at.position) {
                        Some((_, tags)) if !tags.contains(&tag) => tags.push(tag.clone()),
                        Some(_) => {}
                        None => named.push((at.position, vec![tag.clone()])),
                    }
                }
            }
            if named.len() < 2 {
                continue;
            }
            let sides: Vec<String> = named
                .iter()
                .map(|(position, tags)| {
                    let word = words::position(self.model, AtPosition { device, position: *position });
                    format!("{word} for {}", words::whole(tags))
                })
                .collect();
            let tag = self.tag(self.model.device_element(device));
            lines.push(format!("It is seen at {tag}: the safe states name it {}.", words::whole(&sides)));
        }
        lines
    }

    /// The end of the story of a vote that does not trip, and the devices that therefore do not move.
    pub(super) fn stuck_vote(&self, id: CauseId, vote: usize) -> Vec<String> {
        let cause = &self.model.causes[id];
        let tag = self.tag(Element::Cause(id));
        let votes = cause.when.trip_votes();
        let kind = match votes.get(vote) {
            Some(Tree::Vote { m, of }) => format!("{m}oo{} vote", of.len()),
            _ => "vote".to_string(),
        };
        let mut lines = vec![format!("{tag} is armed, and its {kind} does not trip.")];
        if !self.is_true(id) {
            let commanded = words::whole(&self.positions(&self.demanded(&[id])));
            if !commanded.is_empty() {
                lines.push(format!("To be seen then: {tag} does not command {commanded}."));
            }
        }
        lines
    }

    /// At the device that is commanded where a hazard forbids it.
    pub(super) fn look_at_harmed(&self, at: AtPosition) -> String {
        let stands = self.position_of(at.device);
        let is = words::stands(self.model, stands);
        match stands.position == at.position {
            true => format!("To be seen then: {is}."),
            false => format!("Here {is} all the same; what is forbidden is the command itself."),
        }
    }

    /// Tags of the causes that are true and demand a position.
    pub(super) fn demanding(&self, at: AtPosition) -> Vec<String> {
        let set = |id: &&CauseId| self.is_true(**id) && cone::demands(self.model, **id, at);
        self.cone.causes.iter().filter(set).map(|id| self.tag(Element::Cause(*id)).to_string()).collect()
    }
}
