//! What a trip needs, stage by stage, against the time that its hazard leaves: figures for people. No verdict rests on them.

use super::InTime;
use crate::exact::Exact;
use crate::model::{
    ActsOn, CauseId, Device, Element, HazardId, InputAtom, InputId, ModeId, Model, Observes, Signal, Time,
    Tree,
};
use crate::outcome::{SignalEnds, seconds};
use crate::semantics::{Compared, Onset, clearing, head_start, t90_says};

/// What a sampling tube or a bus does.
const TRANSPORT: &str = "transport";

/// One stage of a trip: what takes time, and how long; `None` where that is unknown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stage {
    /// The element.
    pub element: Element,
    /// What it does.
    pub what: &'static str,
    /// Seconds.
    pub time: Option<Exact>,
    /// How much longer it could be without the signal ending before a latch has it; `None` where that does not matter.
    spare: Option<Exact>,
}

/// A signal that does not stay: the pulse of a burst panel, a flame that flickers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ending {
    /// The input.
    pub input: InputId,
    /// For how long it stays, at least; `None` where nobody knows.
    pub lasts: Option<Exact>,
    /// What of that is left when a latch has it, or when the trip acts without one; below 0: it is gone before.
    pub left: Option<Exact>,
    /// The latched cause that has it then; `None`: there is none, so that the trip lets go again.
    pub latch: Option<CauseId>,
}

/// What a trip needs, against what its hazard leaves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Margin {
    /// The stages, from the reading that decides when the trip acts to the slowest element of the safe state.
    pub stages: Vec<Stage>,
    /// Usable part of the head start of that reading.
    pub ahead: Exact,
    /// Usable part of the time after harm begins; `None` where it is unknown.
    pub after: Option<Exact>,
    /// The signal of that reading, where it does not stay.
    pub ending: Option<Ending>,
}

impl Margin {
    /// The sum of all stages; `None` where one is unknown.
    pub fn needs(&self) -> Option<Exact> {
        self.stages.iter().try_fold(Exact::zero(), |sum, stage| Some(&sum + stage.time.as_ref()?))
    }

    /// What is available: f · (head start + T − E); `None` where that is unknown.
    pub fn available(&self) -> Option<Exact> {
        Some(&self.ahead + self.after.as_ref()?)
    }

    /// What is left: below 0 where it is too slow.
    pub fn left(&self) -> Option<Exact> {
        Some(&self.available()? - &self.needs()?)
    }

    /// The longest that a stage could take while all others stay as they are.
    pub fn at_most(&self, stage: &Stage) -> Option<Exact> {
        let time = stage.time.as_ref()?;
        let most = match (self.left()?, &stage.spare) {
            (left, Some(spare)) => left.min(spare.clone()),
            (left, None) => left,
        };
        Some(time + &most)
    }

    /// The signal that does not stay, for people.
    pub fn ends(&self, model: &Model) -> Option<SignalEnds> {
        self.ending.as_ref().map(|ending| SignalEnds {
            input: model.inputs[ending.input].name.tag.clone(),
            lasts: ending.lasts.clone(),
            latch: ending.latch.map(|cause| model.causes[cause].name.tag.clone()),
            left: ending.left.clone(),
        })
    }

    /// Needed and available, for people.
    pub fn figures(&self) -> Option<(String, String)> {
        let (needs, available) = (self.needs()?, self.available()?);
        let rounded = (seconds(&needs), seconds(&available));
        // Where rounding hides which of them is greater, nothing is rounded.
        Some(if rounded.0 == rounded.1 { (needs.to_string(), available.to_string()) } else { rounded })
    }
}

/// What a cause needs for the slowest element of the safe state that it commands, in the onset case that leaves least.
/// `None` where it commands nothing of it.
pub fn margin(model: &Model, timed: &InTime, cause: CauseId) -> Option<Margin> {
    let after = available(model, timed.hazard);
    let cases = 0..model.hazards[timed.hazard].onset.len();
    let all = cases.filter_map(|number| {
        let onset = Onset { hazard: timed.hazard, number, timing: &timed.timing };
        let chains = commands(model, timed.mode, onset, cause);
        let slowest = chains.into_iter().max_by(|a, b| a.cost().cmp(&b.cost()))?;
        Some(Margin {
            stages: slowest.stages,
            ahead: slowest.ahead,
            after: after.clone(),
            ending: slowest.ending,
        })
    });
    all.min_by(|a, b| a.left().cmp(&b.left()))
}

/// What a passive device of the safe state needs.
pub fn margin_of_device(model: &Model, timed: &InTime, id: crate::model::PassiveId) -> Option<Margin> {
    let passive = &model.passive[id];
    let (on, _) = passive.acts.as_ref()?;
    let after = available(model, timed.hazard);
    let stage =
        Stage { element: Element::Passive(id), what: "moves", time: known(&passive.moves_in), spare: None };
    let cases = 0..model.hazards[timed.hazard].onset.len();
    let all = cases.map(|number| {
        let onset = Onset { hazard: timed.hazard, number, timing: &timed.timing };
        let start = match on {
            ActsOn::Quantity { quantity, relation, bound, accuracy } => {
                let compared =
                    Compared { quantity: *quantity, relation: *relation, set_point: bound, accuracy };
                head_start(model, compared, onset, Some(timed.mode)).unwrap_or_else(Exact::zero)
            }
            ActsOn::Condition { .. } => Exact::zero(),
        };
        let ahead = &model.hazards[timed.hazard].usable * &start;
        Margin { stages: vec![stage.clone()], ahead, after: after.clone(), ending: None }
    });
    all.min_by(|a, b| a.left().cmp(&b.left()))
}

/// A way from a reading to an element.
#[derive(Debug, Clone)]
struct Chain {
    stages: Vec<Stage>,
    ahead: Exact,
    ending: Option<Ending>,
}

impl Chain {
    /// From before: what takes no time.
    fn new() -> Self {
        Chain { stages: Vec::new(), ahead: Exact::zero(), ending: None }
    }

    /// When it is there, counted from the beginning of harm; unknown is later than everything.
    fn cost(&self) -> (bool, Exact) {
        let sum = self.stages.iter().try_fold(Exact::zero(), |sum, stage| Some(&sum + stage.time.as_ref()?));
        match sum {
            Some(sum) => (false, &sum - &self.ahead),
            None => (true, Exact::zero()),
        }
    }

    fn then(mut self, element: Element, what: &'static str, time: &Time) -> Self {
        // A tube only brings it later: all else takes from how long the signal stays, until a latch has it.
        if let (Some(ending), true) = (&mut self.ending, what != TRANSPORT)
            && ending.latch.is_none()
        {
            ending.left = ending.left.as_ref().and_then(|left| Some(left - &known(time)?));
        }
        if *time != Time::Known(Exact::zero()) {
            self.stages.push(Stage { element, what, time: known(time), spare: None });
        }
        self
    }

    /// A latched cause has it.
    fn latched(mut self, cause: CauseId) -> Self {
        let Some(ending) = self.ending.as_mut().filter(|ending| ending.latch.is_none()) else { return self };
        ending.latch = Some(cause);
        let spare = ending.left.clone();
        for stage in self.stages.iter_mut().filter(|stage| stage.what != TRANSPORT) {
            stage.spare = spare.clone();
        }
        self
    }
}

fn known(time: &Time) -> Option<Exact> {
    match time {
        Time::Known(time) => Some(time.clone()),
        Time::Unknown => None,
    }
}

/// A way for each element of the safe state that the cause commands.
fn commands(model: &Model, mode: ModeId, onset: Onset<'_>, cause: CauseId) -> Vec<Chain> {
    let element = &model.causes[cause];
    let mut all = Vec::new();
    for at in model.hazards[onset.hazard].safe_state.atoms() {
        let Device::Actuator(actuator) = at.device else { continue };
        let marks: Vec<crate::model::EffectId> = element
            .demands
            .iter()
            .copied()
            .filter(|effect| model.effects[*effect].set.contains(&(actuator, at.position)))
            .collect();
        let drivers = model.actuators[actuator].drivers.iter().map(|driver| model.drivers[*driver].solver);
        let solver = drivers.min_by_key(|solver| model.way(Signal::Cause(cause), *solver).count());
        let (Some(solver), false) = (solver, marks.is_empty()) else { continue };
        let mut chain = of_cause(model, mode, onset, cause, 0);
        for (link, _) in model.way(Signal::Cause(cause), solver) {
            chain = chain.then(Element::Link(link), "passes it on", &model.links[link].delay);
        }
        let marked = marks.into_iter().map(|effect| {
            let own = element.delays.get(&effect).cloned().unwrap_or(Time::Known(Exact::zero()));
            chain.clone().then(Element::Cause(cause), "delays the mark", &own).then(
                Element::Effect(effect),
                "delays",
                &model.effects[effect].delay,
            )
        });
        let quickest = marked.min_by(|a, b| a.cost().cmp(&b.cost())).unwrap_or_else(Chain::new);
        all.push(quickest.then(Element::Actuator(actuator), "moves", &model.actuators[actuator].moves_in));
    }
    all
}

fn of_cause(model: &Model, mode: ModeId, onset: Onset<'_>, id: CauseId, depth: usize) -> Chain {
    let cause = &model.causes[id];
    let chain = of_condition(model, (mode, onset), id, &cause.when, true, depth);
    let chain = chain.then(Element::Cause(id), "on-delay", &cause.on_delay).then(
        Element::Solver(cause.solver),
        "reacts",
        &model.solvers[cause.solver].reaction,
    );
    if cause.latched { chain.latched(id) } else { chain }
}

fn of_condition(
    model: &Model,
    place: (ModeId, Onset<'_>),
    id: CauseId,
    tree: &Tree<InputAtom>,
    holds: bool,
    depth: usize,
) -> Chain {
    let (parts, needed) = match tree {
        Tree::Atom(atom) => return of_atom(model, place, id, atom, holds, depth),
        Tree::Not(part) => return of_condition(model, place, id, part, !holds, depth),
        Tree::And(parts) => (parts, if holds { parts.len() } else { 1 }),
        Tree::Or(parts) => (parts, if holds { 1 } else { parts.len() }),
        Tree::Vote { m, of } => (of, if holds { *m } else { (of.len() + 1).saturating_sub(*m) }),
    };
    let mut chains: Vec<Chain> =
        parts.iter().map(|part| of_condition(model, place, id, part, holds, depth)).collect();
    chains.sort_by_key(Chain::cost);
    chains.into_iter().nth(needed.saturating_sub(1)).unwrap_or_else(Chain::new)
}

fn of_atom(
    model: &Model,
    (mode, onset): (ModeId, Onset<'_>),
    id: CauseId,
    atom: &InputAtom,
    holds: bool,
    depth: usize,
) -> Chain {
    let solver = model.causes[id].solver;
    let mut chain = Chain::new();
    let mut t90_counts = false;
    let input = match atom {
        InputAtom::Compare { input, relation, set_point, .. } => {
            let hazard = &model.hazards[onset.hazard];
            let stays = model.inputs[*input].stays.is_none();
            if let Observes::Quantity { quantity, accuracy, deadband, .. } = &model.inputs[*input].observes {
                let (relation, set_point) = match holds {
                    true => (*relation, set_point.clone()),
                    false => clearing(*relation, set_point, deadband),
                };
                let set_point = &set_point;
                let compared = Compared { quantity: *quantity, relation, set_point, accuracy };
                let credited = holds && model.causes[id].credited_for.contains(&onset.hazard);
                let given = match &hazard.after_set_point {
                    Some(Time::Known(time)) if credited => Some(time),
                    _ => None,
                };
                if holds && stays {
                    let found = || head_start(model, compared, onset, Some(mode)).unwrap_or_else(Exact::zero);
                    chain.ahead = &hazard.usable * &given.cloned().unwrap_or_else(found);
                }
                if let Time::Known(t90) = &model.inputs[*input].response.step {
                    let says = || t90_says(model, compared, t90, onset);
                    t90_counts = given.map_or_else(says, |time| time >= t90);
                }
            }
            *input
        }
        InputAtom::Is { input, .. } | InputAtom::Bad(input) => *input,
        InputAtom::LinkLost(link) => {
            return chain.then(Element::Link(*link), "is found lost", &model.links[*link].delay);
        }
        // A chain of causes as long as this goes round in a ring, which no model has.
        InputAtom::Cause { cause, from_before: false } if depth < model.causes.len() => {
            return of_cause(model, mode, onset, *cause, depth + 1);
        }
        InputAtom::Cause { .. } | InputAtom::Overriding(_) | InputAtom::Shows(..) => return chain,
    };
    let element = &model.inputs[input];
    let response = &element.response;
    let step = if !response.t90 || t90_counts { &response.step } else { &Time::Unknown };
    let of = Element::Input(input);
    if let (Some(stays), false) = (&element.stays, matches!(atom, InputAtom::Bad(_))) {
        let lasts = known(stays);
        chain.ending = Some(Ending { input, left: lasts.clone(), lasts, latch: None });
    }
    chain = chain
        .then(of, TRANSPORT, &response.transport)
        .then(of, if response.t90 { "T90" } else { "responds" }, step)
        .then(of, "filter", &response.filter)
        .then(of, "confirms", &response.confirmation);
    for (link, _) in model.way(Signal::Input(input), solver) {
        chain = chain.then(Element::Link(link), "passes it on", &model.links[link].delay);
    }
    chain
}

/// The time that a hazard leaves after harm begins: f · (T − E); `None` where it is unknown.
pub fn available(model: &Model, hazard: HazardId) -> Option<Exact> {
    let element = &model.hazards[hazard];
    let within = match (&element.within, &element.after_set_point) {
        (Time::Known(within), _) => within.clone(),
        (Time::Unknown, Some(_)) => Exact::zero(),
        (Time::Unknown, None) => return None,
    };
    match &element.evacuation {
        Time::Known(evacuation) => Some(&(&within - evacuation) * &element.usable),
        Time::Unknown => None,
    }
}
