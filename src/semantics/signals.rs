//! §7 of `docs/meaning.md`: causes, conditions and readings by a time, and how long what is read must stay.

use super::Encoder;
use super::ahead::{Compared, clearing, head_start, t90_says};
use super::time::{By, Left, Onset};
use crate::claim::Unknown;
use crate::exact::Exact;
use crate::model::{
    Access, Cause, CauseId, Degraded, Element, InputAtom, InputId, Model, Observes, QuantityId, Relation,
    Signal, SolverId, Time, Tree,
};
use crate::situation::FactChoice;
use crate::term::TermId;

/// When something must be there, and for how long from then on it must stay.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Due {
    /// The time that is left.
    left: Left,
    /// How long it must stay; `None`: for good.
    keep: Option<Exact>,
    /// Asked of what has to end: then the way back to where a comparison is false takes its time before harm, too.
    ending: bool,
}

impl Due {
    /// To be kept for good.
    pub(super) fn for_good(left: Left) -> Self {
        Due { left, keep: None, ending: false }
    }

    /// Ended for good.
    pub(super) fn ending(left: Left) -> Self {
        Due { left, keep: None, ending: true }
    }
}

/// A comparison of which it is asked when it is seen, in the sense in which it must hold.
#[derive(Clone, Copy)]
struct Asked<'a> {
    compared: Compared<'a>,
    /// The cause that asks; none where the comparison must be false, to which no time from a set point belongs.
    cause: Option<CauseId>,
    onset: Onset<'a>,
}

/// What a comparison of an atom says where it holds, or where it surely does not: quantity, relation, set point, accuracy.
fn seen<'m>(
    model: &'m Model,
    atom: &InputAtom,
    holds: bool,
) -> Option<(QuantityId, Relation, Exact, &'m Exact)> {
    let InputAtom::Compare { input, relation, set_point, .. } = atom else { return None };
    let Observes::Quantity { quantity, accuracy, deadband, .. } = &model.inputs[*input].observes else {
        return None;
    };
    let (relation, set_point) = match holds {
        true => (*relation, set_point.clone()),
        false => clearing(*relation, set_point, deadband),
    };
    Some((*quantity, relation, set_point, accuracy))
}

/// What several signals are needed for, so many of them at once: one that does not stay may be gone before the last is there.
fn together(due: &Due, needed: usize) -> Due {
    match needed > 1 {
        true => Due { keep: None, ..due.clone() },
        false => due.clone(),
    }
}

impl<'m> Encoder<'m> {
    /// armed(c) ∧ when(c) by then, without memory.
    pub(super) fn fires_by(&mut self, id: CauseId, due: &Due, onset: Onset<'_>) -> By {
        let model = self.model;
        let cause = &model.causes[id];
        // Once it is set a latch keeps itself: what sets it must stay until then.
        let due = match cause.latched {
            true => Due { keep: Some(Exact::zero()), ..due.clone() },
            false => due.clone(),
        };
        let reaction = &model.solvers[cause.solver].reaction;
        let due = self.sooner(&due, reaction, Element::Solver(cause.solver));
        let due = self.sooner(&due, &cause.on_delay, Element::Cause(id));
        let when = self.condition_by(id, cause, &cause.when, true, &due, onset);
        let armed = self.armed(cause);
        By { term: self.terms.both(armed, when.term), whole: when.whole }
    }

    /// value(c), or that it is not, by then.
    fn value_by(&mut self, id: CauseId, holds: bool, due: &Due, onset: Onset<'_>) -> By {
        let key = (id, holds, due.clone(), onset.number);
        if let Some(known) = self.by.get(&key) {
            return *known;
        }
        let model = self.model;
        let cause = &model.causes[id];
        let by = if holds {
            let fires = self.fires_by(id, due, onset);
            let set = match cause.latched {
                true => self.fact(FactChoice::AlreadySet(id)),
                false => self.terms.no(),
            };
            By { term: self.terms.either(fires.term, set), whole: fires.whole }
        } else if cause.latched {
            // Nobody knows when it was reset last.
            By { term: self.terms.no(), whole: false }
        } else {
            let reaction = &model.solvers[cause.solver].reaction;
            let due = self.sooner(due, reaction, Element::Solver(cause.solver));
            let when = self.condition_by(id, cause, &cause.when, false, &due, onset);
            let term = if when.whole {
                let value = self.value(id);
                self.terms.not(value)
            } else {
                let armed = self.armed(cause);
                let unarmed = self.terms.not(armed);
                self.terms.either(unarmed, when.term)
            };
            By { term, whole: when.whole }
        };
        self.by.insert(key, by);
        by
    }

    /// knows(c, s), or its negation, by then.
    pub(super) fn knows_by(
        &mut self,
        id: CauseId,
        solver: SolverId,
        holds: bool,
        due: &Due,
        onset: Onset<'_>,
    ) -> By {
        let model = self.model;
        let own = model.causes[id].solver == solver;
        match model.access.get(&(Signal::Cause(id), solver)) {
            Some(Access::Over(link, from)) if !own => {
                let due = self.sooner(due, &model.links[*link].delay, Element::Link(*link));
                let sent = self.knows_by(id, *from, holds, &due, onset);
                let term = match sent.whole {
                    true => self.knows(id, solver, holds),
                    false => self.arrives(id, solver, (*link, *from), holds, sent.term),
                };
                By { term, whole: sent.whole }
            }
            _ => self.value_by(id, holds, due, onset),
        }
    }

    /// A solver does not know the cause to be true any more by then.
    pub(super) fn unknown_by(&mut self, id: CauseId, solver: SolverId, due: &Due, onset: Onset<'_>) -> By {
        let model = self.model;
        let own = model.causes[id].solver == solver;
        match model.access.get(&(Signal::Cause(id), solver)) {
            Some(Access::Over(link, from)) if !own => {
                let due = self.sooner(due, &model.links[*link].delay, Element::Link(*link));
                let sent = self.unknown_by(id, *from, &due, onset);
                let term = match sent.whole {
                    true => {
                        let known = self.knows(id, solver, true);
                        self.terms.not(known)
                    }
                    false => self.ends_over(id, solver, (*link, *from), sent.term),
                };
                By { term, whole: sent.whole }
            }
            // What is latched and not set now was not set before: nobody resets it in the meantime.
            _ if model.causes[id].latched => {
                let value = self.value(id);
                By { term: self.terms.not(value), whole: true }
            }
            _ => {
                let ended = self.value_by(id, false, due, onset);
                let value = self.value(id);
                let not_now = self.terms.not(value);
                By { term: self.terms.both(not_now, ended.term), ..ended }
            }
        }
    }

    /// A condition that reads a cause of a solver (`holds`: that it is not) has ended by then.
    fn ends_with(&mut self, id: CauseId, solver: SolverId, holds: bool, due: &Due, onset: Onset<'_>) -> By {
        if !holds {
            return self.unknown_by(id, solver, due, onset);
        }
        let by = self.knows_by(id, solver, true, &Due::for_good(due.left.clone()), onset);
        // Over a link it may be known neither way.
        By { whole: by.whole && self.model.causes[id].solver == solver, ..by }
    }

    fn condition_by(
        &mut self,
        id: CauseId,
        cause: &Cause,
        tree: &Tree<InputAtom>,
        holds: bool,
        due: &Due,
        onset: Onset<'_>,
    ) -> By {
        match tree {
            Tree::Atom(atom) => self.literal_by(id, cause.solver, atom, holds, due, onset),
            Tree::Not(part) => self.condition_by(id, cause, part, !holds, due, onset),
            Tree::And(parts) | Tree::Or(parts) => {
                let all = matches!(tree, Tree::And(_)) == holds;
                let needed = if all { parts.len() } else { 1 };
                let by = self.conditions_by(id, cause, parts, holds, &together(due, needed), onset);
                let whole = by.iter().all(|by| by.whole);
                let terms = by.into_iter().map(|by| by.term);
                By { term: if all { self.terms.and(terms) } else { self.terms.or(terms) }, whole }
            }
            // Which of them has to end depends on what is out: never certain.
            Tree::Vote { .. } if due.ending && !holds && !cause.degraded.is_empty() => {
                By { term: self.terms.no(), whole: false }
            }
            Tree::Vote { m, of } if cause.degraded.is_empty() || !holds || due.ending => {
                let m = if holds { *m } else { of.len() + 1 - (*m).min(of.len()) };
                let by = self.conditions_by(id, cause, of, holds, &together(due, m), onset);
                let whole = by.iter().all(|by| by.whole);
                By { term: self.terms.at_least(m, by.into_iter().map(|by| by.term)), whole }
            }
            Tree::Vote { m, of } => {
                // One alone is enough only where that is so however many are out.
                let rules = cause.degraded.iter().map(|rule| match rule {
                    Degraded::AtLeast(j) => *j,
                    Degraded::Trip | Degraded::NoTrip => 0,
                });
                let most = rules.fold(*m, usize::max);
                let by = self.conditions_by(id, cause, of, true, &together(due, most), onset);
                let whole = by.iter().all(|by| by.whole);
                let values: Vec<TermId> = by.into_iter().map(|by| by.term).collect();
                let term = match whole {
                    true => self.condition_of(id, cause, tree, true),
                    false => self.degraded_vote(id, cause, *m, of, Some(&values)),
                };
                By { term, whole }
            }
        }
    }

    fn conditions_by(
        &mut self,
        id: CauseId,
        cause: &Cause,
        parts: &[Tree<InputAtom>],
        holds: bool,
        due: &Due,
        onset: Onset<'_>,
    ) -> Vec<By> {
        parts.iter().map(|part| self.condition_by(id, cause, part, holds, due, onset)).collect()
    }

    fn literal_by(
        &mut self,
        cause: CauseId,
        solver: SolverId,
        atom: &InputAtom,
        holds: bool,
        due: &Due,
        onset: Onset<'_>,
    ) -> By {
        let model = self.model;
        let left = &due.left;
        let seen = seen(model, atom, holds);
        let asked = seen.as_ref().map(|(quantity, relation, set_point, accuracy)| Asked {
            compared: Compared { quantity: *quantity, relation: *relation, set_point, accuracy },
            cause: (holds && !due.ending).then_some(cause),
            onset,
        });
        let left = match atom {
            InputAtom::Compare { input, .. } => {
                let left = self.less_response(left, *input, solver, asked);
                match asked {
                    // When a peak begins is known of its beginning only.
                    Some(asked) if (holds || due.ending) && model.inputs[*input].stays.is_none() => {
                        self.ahead(&left, asked.compared, asked.cause, onset)
                    }
                    _ => left,
                }
            }
            InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
                self.less_response(left, *input, solver, None)
            }
            InputAtom::LinkLost(link) => self.less(left, &model.links[*link].delay, Element::Link(*link)),
            InputAtom::Cause { cause: other, from_before: false } if due.ending => {
                return self.ends_with(*other, solver, holds, due, onset);
            }
            InputAtom::Cause { cause: other, from_before: false } => {
                return self.knows_by(*other, solver, holds, due, onset);
            }
            // These are as they are from before.
            InputAtom::Cause { from_before: true, .. } | InputAtom::Overriding(_) | InputAtom::Shows(..) => {
                Some(Exact::zero())
            }
        };
        let in_time = self.in_time(&left) && self.stays(atom, solver, asked, due);
        if due.ending {
            let against = self.literal_value(cause, solver, atom, !holds);
            let ended = self.terms.not(against);
            if in_time {
                return By { term: ended, whole: true };
            }
            // What says neither is out, by an override or since it is bad: from before.
            let so = self.literal_value(cause, solver, atom, holds);
            let neither = self.terms.not(so);
            return By { term: self.terms.both(ended, neither), whole: false };
        }
        match in_time {
            true => By { term: self.literal_value(cause, solver, atom, holds), whole: true },
            false => By { term: self.terms.no(), whole: false },
        }
    }

    /// Whether a signal stays for as long as it is needed. Every stage on its way takes from how long it stays, but for what
    /// only shifts it.
    fn stays(&mut self, atom: &InputAtom, solver: SolverId, asked: Option<Asked<'_>>, due: &Due) -> bool {
        let (InputAtom::Compare { input, .. } | InputAtom::Is { input, .. }) = atom else { return true };
        let input = *input;
        let model = self.model;
        let element = &model.inputs[input];
        let of = Element::Input(input);
        let stays = match (&element.stays, self.unknown) {
            (None, _) => return true,
            (Some(Time::Known(time)), _) => Some(time.clone()),
            (Some(Time::Unknown), unknown) => {
                self.unknown_times.insert(of);
                return unknown == Some(Unknown::Nothing) && due.keep.is_some();
            }
        };
        let Some(keep) = &due.keep else { return false };
        let step = self.step(input, asked);
        let mut left = self.less_links(&stays, Signal::Input(input), solver);
        for time in [step, &element.response.confirmation, &element.response.filter] {
            left = self.less(&left, time, of);
        }
        left.is_some_and(|left| left >= *keep)
    }

    /// The time left before the links by which a solver knows a signal.
    pub(super) fn less_links(&mut self, left: &Left, signal: Signal, solver: SolverId) -> Left {
        let model = self.model;
        let mut left = left.clone();
        let mut at = solver;
        // As many links as there are solvers at most, since the model has no rings of them.
        for _ in 0..model.solvers.len() {
            match model.access.get(&(signal, at)) {
                Some(Access::Over(link, from)) => {
                    left = self.less(&left, &model.links[*link].delay, Element::Link(*link));
                    at = *from;
                }
                Some(Access::Direct) | None => break,
            }
        }
        left
    }

    /// The time left before an input's signal is right at a solver, links on its way included; `asked` is what a reading
    /// must show, if it is compared.
    fn less_response(
        &mut self,
        left: &Left,
        input: InputId,
        solver: SolverId,
        asked: Option<Asked<'_>>,
    ) -> Left {
        let model = self.model;
        let mut left = self.less_links(left, Signal::Input(input), solver);
        let element = &model.inputs[input];
        let of = Element::Input(input);
        let response = &element.response;
        let step = self.step(input, asked);
        for time in [step, &response.confirmation, &response.filter, &response.transport] {
            left = self.less(&left, time, of);
        }
        left
    }

    /// The first part of a response, as far as it says enough.
    fn step(&self, input: InputId, asked: Option<Asked<'_>>) -> &'m Time {
        let response = &self.model.inputs[input].response;
        let known = match (&response.step, asked) {
            _ if !response.t90 => true,
            (Time::Known(t90), Some(asked)) => self.t90_counts(t90, asked),
            _ => false,
        };
        if known { &response.step } else { &Time::Unknown }
    }

    fn t90_counts(&self, t90: &Exact, Asked { compared, cause, onset }: Asked<'_>) -> bool {
        let hazard = &self.model.hazards[onset.hazard];
        let credited =
            cause.is_some_and(|cause| self.model.causes[cause].credited_for.contains(&onset.hazard));
        match &hazard.after_set_point {
            Some(Time::Known(time)) if credited => time >= t90,
            Some(Time::Unknown) if credited => self.unknown == Some(Unknown::Nothing),
            _ => t90_says(self.model, compared, t90, onset),
        }
    }

    /// Needed so much sooner, and to stay so much longer.
    fn sooner(&mut self, due: &Due, time: &Time, of: Element) -> Due {
        let keep = due.keep.as_ref().and_then(|keep| match (time, self.unknown) {
            (Time::Known(time), _) => Some(keep + time),
            (Time::Unknown, Some(Unknown::Nothing)) => Some(keep.clone()),
            (Time::Unknown, Some(Unknown::TooLong) | None) => None,
        });
        Due { left: self.less(&due.left, time, of), keep, ending: due.ending }
    }

    /// The time left, and f · head start before harm begins.
    pub(super) fn ahead(
        &mut self,
        left: &Left,
        compared: Compared<'_>,
        cause: Option<CauseId>,
        onset: Onset<'_>,
    ) -> Left {
        let left = left.as_ref()?;
        let model = self.model;
        let hazard = &model.hazards[onset.hazard];
        let credited = cause.is_some_and(|cause| model.causes[cause].credited_for.contains(&onset.hazard));
        let start = match &hazard.after_set_point {
            Some(time) if credited => match (time, self.unknown) {
                (Time::Known(time), _) => time.clone(),
                (Time::Unknown, unknown) => {
                    self.unknown_times.insert(Element::Hazard(onset.hazard));
                    match unknown {
                        // Whatever time it takes.
                        Some(Unknown::Nothing) => return Some(Exact::zero().max(left.clone())),
                        Some(Unknown::TooLong) | None => Exact::zero(),
                    }
                }
            },
            _ => {
                let mode = self.fixed.get(&hazard.group).copied();
                head_start(model, compared, onset, mode).unwrap_or_else(Exact::zero)
            }
        };
        Some(left + &(&hazard.usable * &start))
    }
}
