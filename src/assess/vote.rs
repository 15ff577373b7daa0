//! Every vote can trip: whatever is overridden as permitted, and however many of its inputs are bad.

use std::collections::BTreeSet;

use super::alike::Asked;
use super::single::Subject;
use super::{Decided, Witness, Work};
use crate::analysis::{Case, Stop};
use crate::claim::{Breach, Budget, Claim};
use crate::engine::EngineError;
use crate::model::{
    CauseId, InputAtom, InputId, Model, Observes, OverrideId, Signal, SolverId, Source, Tree,
};
use crate::replay::{breaks_each, replay};
use crate::semantics::{Encoding, encode_each};
use crate::situation::{FactChoice, NumberChoice, Situation};
use crate::syntax::kind::OnBad;
use crate::term::{TermId, Var};
use crate::witness;

/// Most combinations of inputs out of one vote that are examined.
const MOST: usize = 2_000;

/// What became of one input of a vote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Input {
    /// It works.
    Works,
    /// Its signal is bad.
    Bad,
    /// It is overridden by this device.
    Overridden(OverrideId),
}

/// A combination of inputs out of a vote with which it can no longer trip.
#[derive(Debug, Clone)]
pub struct Stuck {
    /// The cause.
    pub cause: CauseId,
    /// The vote, by its number in the condition of the cause.
    pub vote: usize,
    /// The inputs that do not work, with what became of them.
    pub out: Vec<(InputId, Input)>,
    /// How many other such combinations of equally many inputs there are.
    pub others: usize,
    /// A situation with these inputs out in which the cause is armed, and the others read so that they ask for the trip
    /// where that is possible.
    pub witness: Option<Box<Witness>>,
}

/// The inputs of a vote that are operands of their own, each once.
fn inputs(vote: &Tree<InputAtom>) -> Vec<InputId> {
    let Tree::Vote { of, .. } = vote else { return Vec::new() };
    let mut found = Vec::new();
    for operand in of {
        let mut operand = operand;
        while let Tree::Not(part) = operand {
            operand = part;
        }
        if let Tree::Atom(InputAtom::Compare { input, .. } | InputAtom::Is { input, .. }) = operand
            && !found.contains(input)
        {
            found.push(*input);
        }
    }
    found
}

/// What is asked about the votes of a cause.
pub(super) fn asked(model: &Model, cause: CauseId) -> Option<Asked> {
    let votes = 0..model.causes[cause].when.trip_votes().len();
    votes.map(|number| asked_of(model, cause, number)).collect::<Option<Vec<_>>>().map(Asked::of)
}

/// What is asked about one vote: besides whether it trips, what becomes of each of its inputs.
fn asked_of(model: &Model, cause: CauseId, number: usize) -> Option<(Encoding, Vec<TermId>)> {
    let vote = model.causes[cause].when.trip_votes().get(number).copied()?;
    let inputs = inputs(vote);
    let (mut encoding, mut terms) = encoded(model, cause, number, &inputs);
    for (input, options) in inputs.iter().zip(options(model, cause, &inputs)) {
        let can_be_bad = options.contains(&Input::Bad);
        terms.push(encoding.terms.constant(can_be_bad));
        for fact in facts(model, *input, model.causes[cause].solver) {
            terms.push(encoding.terms.fact(fact));
        }
    }
    Some((encoding, terms))
}

/// Whether the vote trips, and whether its cause is armed.
fn encoded(model: &Model, cause: CauseId, number: usize, inputs: &[InputId]) -> (Encoding, Vec<TermId>) {
    let sources: BTreeSet<Source> = inputs.iter().map(|input| Source::Input(*input)).collect();
    encode_each(model, &[Breach::VoteTrips(cause, number), Breach::Armed(cause)], &sources)
}

/// What can become of each input of a vote. A bad signal of a fire release is a fault signal, never a vote to discharge:
/// only overrides count there.
fn options(model: &Model, cause: CauseId, inputs: &[InputId]) -> Vec<Vec<Input>> {
    let releases = model.suppression.iter().any(|(_, release)| release.released_by.contains(&cause));
    inputs
        .iter()
        .map(|input| {
            let mut options = options_of(model, *input);
            options.retain(|option| !(releases && *option == Input::Bad));
            options
        })
        .collect()
}

/// What can become of an input. A bad signal that by declaration never votes to trip is told elsewhere.
fn options_of(model: &Model, input: InputId) -> Vec<Input> {
    let mut options = vec![Input::Works];
    if matches!(model.inputs[input].on_bad, Some(OnBad::Trips | OnBad::DegradesVote)) {
        options.push(Input::Bad);
    }
    let devices = model.overrides.iter().filter(|(_, device)| device.inputs.contains(&input));
    options.extend(devices.map(|(id, _)| Input::Overridden(id)));
    options
}

/// What says what became of an input, as the solver sees it: that it misbehaves, deviates, is bad, and is overridden by each
/// device in turn.
fn facts(model: &Model, input: InputId, solver: SolverId) -> Vec<FactChoice> {
    let at = wired_to(model, input, solver);
    let devices = model.overrides.iter().filter(|(_, device)| device.inputs.contains(&input));
    [
        FactChoice::Misbehaves(Source::Input(input)),
        FactChoice::Deviates(input, at),
        FactChoice::Bad(input, at),
    ]
    .into_iter()
    .chain(devices.map(|(device, _)| FactChoice::Overridden(device, input)))
    .collect()
}

/// The solver whose reading of an input this one sees: over links, what is bad is bad where the wire ends.
fn wired_to(model: &Model, input: InputId, solver: SolverId) -> SolverId {
    model.way(Signal::Input(input), solver).last().map_or(solver, |(_, from)| from)
}

impl Work<'_> {
    /// Each vote of the cause.
    pub(super) fn votes(&mut self, cause: CauseId) -> Result<(), EngineError> {
        let votes = self.model.causes[cause].when.trip_votes().len();
        for number in 0..votes {
            let decided = match self.vote(cause, number) {
                Ok(decided) => decided,
                Err(stop) => self.stopped(stop)?,
            };
            self.tell_single(Subject::VoteCanTrip(cause, number), decided);
        }
        Ok(())
    }

    fn vote(&mut self, cause: CauseId, number: usize) -> Result<Decided, Stop> {
        let model = self.model;
        let Some(vote) = model.causes[cause].when.trip_votes().get(number).copied() else {
            return Ok(Decided::NotApplicable("there is no such vote".into()));
        };
        let inputs = inputs(vote);
        let options = options(model, cause, &inputs);
        let combinations = combinations(&options);
        if combinations.len() > MOST {
            return Ok(Decided::Undecided(format!(
                "more than {MOST} combinations of inputs out of the vote"
            )));
        }
        let (encoding, terms) = encoded(model, cause, number, &inputs);
        self.note(&encoding);
        let [trips, armed] = terms.as_slice() else {
            return Ok(Decided::Undecided("the vote was not encoded".into()));
        };
        let mut case = self.open(encoding, |_| 1)?;
        let solver = model.causes[cause].solver;
        let mut stuck: Option<Stuck> = None;
        for combination in combinations {
            let out: Vec<(InputId, Input)> =
                inputs.iter().copied().zip(combination).filter(|(_, state)| *state != Input::Works).collect();
            if stuck.as_ref().is_some_and(|stuck| out.len() > stuck.out.len()) {
                break;
            }
            let given = self.given(&mut case, &inputs, &out, solver);
            if case.possible(*trips, &given)? || !case.possible(*armed, &given)? {
                continue;
            }
            match &mut stuck {
                Some(stuck) => stuck.others += 1,
                None => stuck = Some(Stuck { cause, vote: number, out, others: 0, witness: None }),
            }
        }
        let Some(mut stuck) = stuck else { return Ok(Decided::Holds) };
        let given = self.given(&mut case, &inputs, &stuck.out, solver);
        stuck.witness = self.show(&mut case, &stuck, *armed, &given)?;
        self.result.stuck.push(stuck);
        Ok(Decided::Never("with what can be out of it no reading makes it trip".into()))
    }

    /// A situation that shows a stuck vote. None is told where the engine does not find one again.
    fn show(
        &mut self,
        case: &mut Case<'_>,
        stuck: &Stuck,
        armed: TermId,
        given: &[TermId],
    ) -> Result<Option<Box<Witness>>, Stop> {
        let model = self.model;
        let bad = stuck.out.iter().filter(|(_, state)| *state == Input::Bad);
        let claim = Claim {
            breach: Breach::Armed(stuck.cause),
            modes: Vec::new(),
            faults: Budget { sources: bad.map(|(input, _)| Source::Input(*input)).collect(), weight: None },
            initiators: false,
            overrides: true,
        };
        let situation = match witness::canonical(model, &claim, case, armed, given) {
            Ok(Some(situation)) => situation,
            Ok(None) | Err(Stop::Undecided(_)) => return Ok(None),
            Err(stop) => return Err(stop),
        };
        let trips = [Breach::VoteTrips(stuck.cause, stuck.vote)];
        if let Some(raised) = self.asking(stuck, &situation)
            && let Ok(replay) = replay(model, &claim, &raised)
            && replay.breaks
            && breaks_each(model, &claim, &trips, &raised).is_ok_and(|each| each == [false])
        {
            return Ok(Some(Box::new(Witness { claim, situation: raised, replay })));
        }
        match self.believe(claim, situation) {
            Decided::Broken(witness) => Ok(Some(witness)),
            _ => Ok(None),
        }
    }

    /// The situation with everything else that the vote reads so that it asks for the trip; `None` if that takes more
    /// than one value for something.
    fn asking(&self, stuck: &Stuck, situation: &Situation) -> Option<Situation> {
        let model = self.model;
        let vote = model.causes[stuck.cause].when.trip_votes().get(stuck.vote).copied()?;
        let Tree::Vote { of, .. } = vote else { return None };
        let is_out = |input: &InputId| stuck.out.iter().any(|(out, _)| out == input);
        let mut raised = situation.clone();
        for operand in of {
            match operand {
                Tree::Atom(InputAtom::Compare { input, relation, set_point, .. }) if !is_out(input) => {
                    let Observes::Quantity { quantity, .. } = &model.inputs[*input].observes else {
                        return None;
                    };
                    let step = &model.quantities[*quantity].resolution;
                    let tried = [set_point.clone(), set_point + step, set_point - step];
                    let value = tried.into_iter().find(|value| relation.holds(value, set_point))?;
                    let choice = NumberChoice::Quantity(*quantity);
                    let before = raised.number(model, choice);
                    if !relation.holds(&before, set_point) {
                        raised.numbers.insert(choice, value);
                    }
                }
                Tree::Atom(InputAtom::Is { input, asserted, .. }) if !is_out(input) => {
                    let Observes::Condition { condition, negated } = &model.inputs[*input].observes else {
                        return None;
                    };
                    raised.facts.insert(FactChoice::Condition(*condition), *asserted != *negated);
                }
                Tree::Atom(InputAtom::Compare { .. } | InputAtom::Is { .. }) => {}
                _ => return None,
            }
        }
        Some(raised)
    }

    fn given(
        &self,
        case: &mut Case<'_>,
        inputs: &[InputId],
        out: &[(InputId, Input)],
        solver: SolverId,
    ) -> Vec<TermId> {
        let mut given = Vec::new();
        for input in inputs {
            let state = out.iter().find(|(at, _)| at == input).map_or(Input::Works, |(_, state)| *state);
            for fact in facts(self.model, *input, solver) {
                let so = match fact {
                    FactChoice::Overridden(device, _) => state == Input::Overridden(device),
                    _ => state == Input::Bad,
                };
                let term = case.encoding.terms.fact(fact);
                given.push(if so { term } else { case.encoding.terms.not(term) });
            }
        }
        given.push(case.encoding.terms.var(Var::OverridesPermitted));
        given
    }
}

/// Every combination of one option for each, those with the fewest inputs out first.
fn combinations(options: &[Vec<Input>]) -> Vec<Vec<Input>> {
    let mut all: Vec<Vec<Input>> = vec![Vec::new()];
    for choices in options {
        let longer = all.iter().flat_map(|so_far| {
            choices.iter().map(move |choice| {
                let mut next = so_far.clone();
                next.push(*choice);
                next
            })
        });
        all = longer.take(MOST + 1).collect();
    }
    all.sort_by_key(|states| states.iter().filter(|state| **state != Input::Works).count());
    all
}
