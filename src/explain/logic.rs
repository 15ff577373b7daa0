//! What the logic sees and does: readings, whether each cause is armed and true, what it demands and who does not
//! hear of it.

use std::collections::BTreeSet;

use crate::claim::Breach;
use crate::exact::Exact;
use crate::model::{
    AtPosition, Cause, CauseId, Device, Element, GroupId, InputAtom, InputId, ModeId, Observes, QuantityId,
    SolverId, Source, SupplyId,
};
use crate::replay::{Known, Seen, Value};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::syntax::kind::OnBad;

use super::{Teller, words};

impl Teller<'_> {
    /// The fourth part of the story.
    pub(super) fn logic(&self) -> Vec<String> {
        let mut lines = self.without_supply();
        let mut read: BTreeSet<(InputId, SolverId)> = BTreeSet::new();
        for id in &self.causes {
            let cause = &self.model.causes[*id];
            if self.is_silent(*id) {
                lines.extend(self.silenced(*id, cause));
                continue;
            }
            if self.tells_readings(*id) {
                lines.extend(self.readings(*id, cause, &mut read));
            }
            lines.push(self.state(*id, cause));
            lines.extend(self.heard(*id));
            lines.extend(self.beside(*id));
        }
        if !self.causes.is_empty() {
            lines.extend(self.also_true());
            lines.extend(self.others());
        }
        lines
    }

    /// Whether the readings of a told cause are told: not where they cannot matter, since it is not armed, still set
    /// from before, or silent.
    pub(super) fn tells_readings(&self, id: CauseId) -> bool {
        let held = self.is_true(id) && self.replay.conditions.get(&id) != Some(&true);
        self.replay.armed.get(&id) != Some(&false) && !held && !self.is_silent(id)
    }

    /// Whether a cause is true, memory included.
    pub(super) fn is_true(&self, id: CauseId) -> bool {
        self.replay.causes.get(&id) == Some(&true)
    }

    /// Solvers without supply, with what they would have done, and relays without supply.
    fn without_supply(&self) -> Vec<String> {
        let dead = self.replay.dead.iter().filter(|id| self.cone.elements.contains(&Element::Solver(**id)));
        let mut lines: Vec<String> = dead
            .map(|id| {
                let causes = self.cone.causes.iter();
                let mut causes: Vec<&CauseId> = causes
                    .filter(|cause| self.model.causes[**cause].solver == *id)
                    .filter(|cause| self.bears(**cause) || self.causes.contains(*cause))
                    .collect();
                // Those that should have acted come first.
                causes.sort_by_key(|cause| !self.must_answer(**cause));
                let tags: Vec<String> =
                    causes.into_iter().map(|cause| self.tag(Element::Cause(*cause)).to_string()).collect();
                let name = self.call(Element::Solver(*id));
                match tags.is_empty() {
                    true => format!("{name} is without supply and does nothing."),
                    false => format!("{name} is without supply, so {} cannot act.", words::whole(&tags)),
                }
            })
            .collect();
        let relays = self.model.relays.iter().filter(|(id, relay)| {
            let lost = relay.supply.is_some_and(|supply| self.replay.lost.contains(&supply));
            lost && self.cone.elements.contains(&Element::Relay(*id)) && !self.may(Source::Relay(*id))
        });
        lines.extend(relays.map(|(id, _)| {
            format!("{} is without supply and passes no energy on.", self.call(Element::Relay(id)))
        }));
        lines
    }

    /// Of a cause whose solver is faulty or without supply nothing follows, unless the claim asks for its value.
    pub(super) fn is_silent(&self, id: CauseId) -> bool {
        let solver = self.model.causes[id].solver;
        let asked = match self.claim.breach {
            Breach::NotMet { .. }
            | Breach::Blind(_)
            | Breach::Late { .. }
            | Breach::Occurs(_)
            | Breach::LockedIn(_)
            | Breach::ReleaseFails(..)
            | Breach::Forced { .. }
            | Breach::Outvoted { .. }
            | Breach::SpanMissed(_)
            | Breach::Released { .. }
            | Breach::Overruled(_) => false,
            Breach::Exists { .. }
            | Breach::ActsInTime { .. }
            | Breach::Possible
            | Breach::Fires(_)
            | Breach::FiresFor(..)
            | Breach::Opposed(_)
            | Breach::Broken(_)
            | Breach::Quiet(_)
            | Breach::Runs(_)
            | Breach::Matters(..)
            | Breach::Unled(..)
            | Breach::VoteTrips(..)
            | Breach::Armed(_)
            | Breach::Applies(_)
            | Breach::Inside(_)
            | Breach::ReleaseUsed { .. }
            | Breach::Harmed { .. }
            | Breach::Together(..)
            | Breach::Overdrawn(_)
            | Breach::RunBoth(..)
            | Breach::Clash(..) => true,
        };
        let elsewhere = self.cone.knows.iter().any(|(cause, at)| *cause == id && *at != solver);
        let dead = self.replay.dead.contains(&solver);
        !asked && (dead || (!elsewhere && self.may(Source::Solver(solver))))
    }

    fn readings(&self, id: CauseId, cause: &Cause, read: &mut BTreeSet<(InputId, SolverId)>) -> Vec<String> {
        let mut lines = Vec::new();
        for atom in cause.when.atoms() {
            match atom {
                InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
                    if read.insert((*input, cause.solver)) {
                        lines.extend(self.reads(*input, cause.solver));
                    }
                    lines.extend(self.remembers(id, atom, cause.solver));
                }
                InputAtom::Overriding(_) | InputAtom::Cause { .. } => {}
                InputAtom::Shows(input, _) => {
                    if let Some(mode) = self.replay.shown_modes.get(&(*input, cause.solver)) {
                        let (tag, solver) =
                            (self.tag(Element::ModeInput(*input)), self.tag(Element::Solver(cause.solver)));
                        lines.push(format!(
                            "{tag} shows mode {} to {solver}.",
                            self.tag(Element::Mode(*mode))
                        ));
                    }
                }
                InputAtom::LinkLost(link) => {
                    let lost = self.replay.lost_links.contains(&(*link, cause.solver));
                    let word = if lost { "lost" } else { "in order" };
                    let (tag, solver) =
                        (self.tag(Element::Link(*link)), self.tag(Element::Solver(cause.solver)));
                    lines.push(format!("{solver} sees {tag} as {word}."));
                }
            }
        }
        lines
    }

    /// What a solver sees of an input, and how it counts where that is not plain.
    fn reads(&self, input: InputId, solver: SolverId) -> Option<String> {
        if let Some(device) = self.overridden_by(input) {
            // Told before, where it is as permitted.
            let faulty = self.may(Source::Override(device));
            return faulty
                .then(|| format!("{} is overridden and does not count.", self.tag(Element::Input(input))));
        }
        let seen = self.replay.seen.get(&(input, solver))?;
        let to = self.tag(Element::Solver(solver));
        let told = self.readings_told.borrow().contains(&(input, solver));
        match seen {
            Seen::Shows(_) if told => None,
            Seen::Shows(value) => {
                let name = self.call(Element::Input(input));
                let unsupplied = self.unsupplied(input, solver);
                let why = if unsupplied.is_empty() {
                    self.error(input, value).unwrap_or_default()
                } else {
                    String::new()
                };
                Some(format!(
                    "{name}{unsupplied} shows {} to {to}{why}.",
                    words::shown(self.model, input, value)
                ))
            }
            Seen::Bad => {
                let name = self.call(Element::Input(input));
                let counts = match self.model.inputs[input].on_bad {
                    Some(OnBad::Trips) => "counts as a vote to trip",
                    Some(OnBad::DegradesVote) => "takes it out of the vote",
                    Some(OnBad::NoTrip) | None => "does not count as a vote to trip",
                };
                Some(match told {
                    true => format!("The bad signal of {name} {counts}."),
                    false => format!(
                        "{name}{} shows a bad signal to {to}, which {counts}.",
                        self.unsupplied(input, solver)
                    ),
                })
            }
            Seen::MissingTrips | Seen::MissingNoTrip => {
                let counts = if *seen == Seen::MissingTrips { "counts" } else { "does not count" };
                let tag = self.tag(Element::Input(input));
                Some(format!("Nothing of {tag} arrives at {to}, which {counts} as a vote to trip."))
            }
        }
    }

    /// ` has no supply and`, where a wired input or what its signal goes through has none.
    fn unsupplied(&self, input: InputId, solver: SolverId) -> String {
        let lost = |supply: Option<SupplyId>| supply.is_some_and(|id| self.replay.lost.contains(&id));
        let element = &self.model.inputs[input];
        let Some(path) = element.readers.get(&solver) else { return String::new() };
        if element.warm_up.is_some() && matches!(self.claim.breach, Breach::Blind(_)) {
            return " warms up and".to_string();
        }
        let at = path.through.iter().find(|id| lost(self.model.conditioners[**id].supply));
        match at {
            Some(id) => format!(" has no supply at {} and", self.tag(Element::Conditioner(*id))),
            None if lost(element.supply) => " has no supply and".to_string(),
            None => String::new(),
        }
    }

    /// ` (3 %LFL too low, within its accuracy)`, where the reading is the true value with its error.
    fn error(&self, input: InputId, value: &Value) -> Option<String> {
        let (Observes::Quantity { quantity, range, .. }, Value::Number(reading)) =
            (&self.model.inputs[input].observes, value)
        else {
            return None;
        };
        let truth = self.situation.number(self.model, NumberChoice::Quantity(*quantity));
        let error = self.situation.number(self.model, NumberChoice::Error(input));
        if *reading == &truth + &error {
            return Some(off_by(self.model, *quantity, &error)).filter(|text| !text.is_empty());
        }
        let at_end = *reading == range.low || *reading == range.high;
        at_end.then(|| " (the end of its range)".to_string())
    }

    /// A comparison that its deadband still holds.
    fn remembers(&self, cause: CauseId, atom: &InputAtom, solver: SolverId) -> Option<String> {
        let InputAtom::Compare { input, relation, set_point, number, .. } = atom else { return None };
        let Observes::Quantity { quantity, deadband, .. } = &self.model.inputs[*input].observes else {
            return None;
        };
        let Some(Seen::Shows(Value::Number(reading))) = self.replay.seen.get(&(*input, solver)) else {
            return None;
        };
        let set = relation.holds(reading, set_point);
        if set || deadband.is_zero() || !self.fact(FactChoice::Remembers(cause, *number)) {
            return None;
        }
        let back = if reading < set_point { set_point - reading } else { reading - set_point };
        if back > *deadband {
            return None;
        }
        let (tag, deadband) =
            (self.tag(Element::Input(*input)), words::error_of(self.model, *quantity, deadband));
        Some(format!(
            "{tag} was past its set point before and has not come back by its deadband of {deadband}."
        ))
    }

    /// A credited cause of which nothing follows, and why.
    fn silenced(&self, id: CauseId, cause: &Cause) -> Option<String> {
        if !self.must_answer(id) {
            return None;
        }
        let name = self.call(Element::Cause(id));
        if let Some((credited, lacks)) = self.unmarked(id) {
            return Some(format!("{name}{credited} {lacks}."));
        }
        // That a solver without supply does nothing has been told.
        if self.replay.dead.contains(&cause.solver) {
            return None;
        }
        let solver = self.tag(Element::Solver(cause.solver));
        Some(match self.is_true(id) {
            true => {
                format!("{name} is true, but its solver {solver} misbehaves, so its demand does not count.")
            }
            false => format!("{name} is false, and its solver {solver} misbehaves."),
        })
    }

    /// Of a credited cause that commands no device that decides: for what it is credited, and that it does not.
    fn unmarked(&self, id: CauseId) -> Option<(String, String)> {
        let devices: Vec<String> = self
            .cone
            .devices
            .iter()
            .map(|device| self.tag(self.model.device_element(*device)).to_string())
            .collect();
        if !self.must_answer(id) || self.bears(id) {
            return None;
        }
        let credited = match self.claim.breach.hazard() {
            Some(hazard) => format!(", credited for {},", self.tag(Element::Hazard(hazard))),
            None => String::new(),
        };
        let lacks = match devices.as_slice() {
            [one] => format!("does not command {one}"),
            [one, other] => format!("commands neither {one} nor {other}"),
            many => format!("commands none of {}", words::list(many)),
        };
        Some((credited, lacks))
    }

    /// Whether a cause is armed and true, and what it therefore demands or does not.
    fn state(&self, id: CauseId, cause: &Cause) -> String {
        let name = self.call(Element::Cause(id));
        let demand = self.demand_of(cause);
        let unmarked = self.unmarked(id);
        let armed = self.replay.armed.get(&id) != Some(&false);
        let met = self.replay.conditions.get(&id) == Some(&true);
        if !armed && !self.is_true(id) {
            let line = self.not_armed(&name, cause);
            return match unmarked {
                Some((_, lacks)) => format!("{}, and {lacks}.", line.trim_end_matches('.')),
                None => line,
            };
        }
        let set = self.is_true(id) && !(armed && met);
        let text = words::quoted(&cause.text).map_or_else(String::new, |text| format!(" ({text})"));
        if let Some((credited, lacks)) = unmarked {
            return match (set, met) {
                (true, _) => format!("{name}{credited} is still set, but {lacks}."),
                (false, true) => format!("{name}{text}{credited} is true, but {lacks}."),
                (false, false) => format!("{name}{text}{credited} is false, and {lacks}."),
            };
        }
        match (set, met, demand) {
            (true, _, Some(demand)) => format!("{name} is still set and demands {demand}."),
            (true, _, None) => format!("{name} is still set."),
            (false, true, Some(demand)) => format!("{name}{text} is true and demands {demand}."),
            (false, true, None) => format!("{name}{text} is true."),
            (false, false, Some(demand)) => format!("{name}{text} is false, so it does not demand {demand}."),
            (false, false, None) => format!("{name}{text} is false."),
        }
    }

    fn not_armed(&self, name: &str, cause: &Cause) -> String {
        let out = cause.armed.iter().find_map(|(group, modes)| {
            let mode = self.mode_known(*group, cause.solver)?;
            (!modes.contains(&mode)).then_some((*group, mode))
        });
        let Some((group, mode)) = out else { return format!("{name} is not armed.") };
        let word = self.tag(Element::Mode(mode));
        if self.situation.mode(self.model, ModeChoice::Holds(group)) == Some(mode) {
            return format!("{name} is not armed in mode {word}.");
        }
        let (solver, group) = (self.tag(Element::Solver(cause.solver)), self.tag(Element::Group(group)));
        format!("{name} is not armed, because {solver} takes {group} to be in mode {word}.")
    }

    fn mode_known(&self, group: GroupId, solver: SolverId) -> Option<ModeId> {
        match self.model.mode_input_of.get(&(group, solver)) {
            Some(input) => self.replay.shown_modes.get(&(*input, solver)).copied(),
            None => self.situation.mode(self.model, ModeChoice::Holds(group)),
        }
    }

    /// `K1 open and K2 open`: what a cause demands of the devices that matter.
    pub(super) fn demand_of(&self, cause: &Cause) -> Option<String> {
        let set = cause.demands.iter().flat_map(|effect| self.model.effects[*effect].set.iter());
        let mut demands: Vec<AtPosition> = Vec::new();
        for (actuator, position) in set {
            let at = AtPosition { device: Device::Actuator(*actuator), position: *position };
            if self.demand_matters(at) && !demands.contains(&at) {
                demands.push(at);
            }
        }
        (!demands.is_empty()).then(|| words::whole(&self.positions(&demands)))
    }

    /// Whether a demand belongs to what the claim is about.
    pub(super) fn demand_matters(&self, at: AtPosition) -> bool {
        let Device::Actuator(actuator) = at.device else { return false };
        let invariant = matches!(self.claim.breach, Breach::Broken(_));
        let element = Element::Actuator(actuator);
        let about = self.shared_device(actuator).unwrap_or_else(|| self.cone.elements.contains(&element));
        invariant || about
    }

    /// Solvers that take a cause for something else than it is.
    fn heard(&self, id: CauseId) -> Vec<String> {
        let own = self.model.causes[id].solver;
        let mut lines = Vec::new();
        for (_, solver) in self.cone.knows.iter().filter(|(cause, at)| *cause == id && *at != own) {
            let (tag, to) = (self.tag(Element::Cause(id)), self.tag(Element::Solver(*solver)));
            match self.replay.known.get(&(id, *solver)) {
                Some(Known::Is(value))
                    if *value != self.is_true(id) && !self.fact(FactChoice::CauseDeviates(id, *solver)) =>
                {
                    lines.push(format!("{to} takes {tag} to be {value}."));
                }
                Some(Known::MissingTrips) => {
                    lines.push(format!("{to} hears nothing of {tag} and acts on it."))
                }
                Some(Known::MissingNoTrip) => {
                    lines.push(format!("{to} hears nothing of {tag} and does not act on it."));
                }
                Some(Known::Is(_)) | None => {}
            }
        }
        lines
    }

    /// The causes of which nothing is told are all false.
    fn others(&self) -> Option<String> {
        let others = self.cone.causes.iter().filter(|id| !self.causes.contains(id));
        let dead = |id: &CauseId| self.replay.dead.contains(&self.model.causes[*id].solver);
        let others = others.filter(|id| !self.is_true(**id) && !dead(id));
        let tags: Vec<String> = others.map(|id| self.tag(Element::Cause(*id)).to_string()).collect();
        match tags.as_slice() {
            [] => None,
            [one] => Some(format!("The one other cause that could act here, {one}, is false or not armed.")),
            many => Some(format!(
                "The {} other causes that could act here are false or not armed: {}.",
                many.len(),
                words::whole(many)
            )),
        }
    }
}

/// ` (3 %LFL too low, within its accuracy)`; empty without an error.
pub(super) fn off_by(model: &crate::model::Model, quantity: QuantityId, error: &Exact) -> String {
    if error.is_zero() {
        return String::new();
    }
    let way = if error.is_negative() { "low" } else { "high" };
    format!(" ({} too {way}, within its accuracy)", words::error_of(model, quantity, &error.abs()))
}
