//! Votes that can no longer trip with what may be out of them.

use std::collections::BTreeSet;

use tripproof::claim::Breach;
use tripproof::model::{
    Access, CauseId, InputAtom, InputId, Model, OverrideId, Signal, SolverId, Source, Tree,
};
use tripproof::situation::FactChoice;
use tripproof::syntax::kind::OnBad;

use super::Walks;
use crate::support::enumerate::{Others, Pins, Walk};

/// What may become of one input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    Works,
    Bad,
    Overridden(OverrideId),
}

/// Whether some combination of inputs that are out leaves a vote that cannot trip, though its cause is armed.
pub(super) fn stuck(model: &Model, walks: &mut Walks<'_>, cause: CauseId, vote: usize) -> Option<bool> {
    let votes = model.causes[cause].when.trip_votes();
    let inputs = inputs(votes[vote]);
    let releases = model.suppression.iter().any(|(_, release)| release.released_by.contains(&cause));
    let mut combinations: Vec<Vec<State>> = vec![Vec::new()];
    for input in &inputs {
        let states = states(model, *input, releases);
        combinations = combinations
            .iter()
            .flat_map(|before| states.iter().map(|state| before.iter().copied().chain([*state]).collect()))
            .collect();
    }
    for combination in combinations {
        let solver = model.causes[cause].solver;
        let mut pins = Pins::default();
        let mut sources = BTreeSet::new();
        for (input, state) in inputs.iter().zip(&combination) {
            pin(model, &mut pins, *input, solver, *state);
            if *state == State::Bad {
                sources.insert(Source::Input(*input));
            }
        }
        let mut possible = |breach: Breach| {
            let mut walk = Walk::new(model, breach, None, walks.most).pinned(pins.clone());
            let others = Others { initiators: false, damage: false, overrides: true };
            let found = walk.with_these(&sources, others);
            walks.more += walk.walked;
            found
        };
        if !possible(Breach::VoteTrips(cause, vote))? && possible(Breach::Armed(cause))? {
            return Some(true);
        }
    }
    Some(false)
}

/// The inputs that are operands of their own.
fn inputs(vote: &Tree<InputAtom>) -> BTreeSet<InputId> {
    let Tree::Vote { of, .. } = vote else { return BTreeSet::new() };
    let single = |operand: &Tree<InputAtom>| {
        let mut operand = operand.clone();
        while let Tree::Not(part) = operand {
            operand = *part;
        }
        match operand {
            Tree::Atom(InputAtom::Compare { input, .. } | InputAtom::Is { input, .. }) => Some(input),
            _ => None,
        }
    };
    of.iter().filter_map(single).collect()
}

fn states(model: &Model, input: InputId, releases: bool) -> Vec<State> {
    let mut states = vec![State::Works];
    if matches!(model.inputs[input].on_bad, Some(OnBad::Trips | OnBad::DegradesVote)) && !releases {
        states.push(State::Bad);
    }
    let devices = model.overrides.iter().filter(|(_, device)| device.inputs.contains(&input));
    states.extend(devices.map(|(id, _)| State::Overridden(id)));
    states
}

fn pin(model: &Model, pins: &mut Pins, input: InputId, solver: SolverId, state: State) {
    let mut at = solver;
    while let Some(Access::Over(_, from)) = model.access.get(&(Signal::Input(input), at)) {
        pins.inputs.insert((input, at), Vec::new());
        at = *from;
    }
    let facts = match state {
        State::Bad => vec![FactChoice::Deviates(input, at), FactChoice::Bad(input, at)],
        State::Works | State::Overridden(_) => Vec::new(),
    };
    pins.inputs.insert((input, at), facts);
    for (device, _) in model.overrides.iter().filter(|(_, device)| device.inputs.contains(&input)) {
        pins.overrides.insert((device, input), state == State::Overridden(device));
    }
}
