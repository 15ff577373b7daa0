//! §4 of `docs/meaning.md`: literals, votes, causes, and causes that other solvers know.

use super::Encoder;
use super::input::Shows;
use crate::exact::Exact;
use crate::model::{
    Access, Cause, CauseId, Degraded, GroupId, InputAtom, InputId, LinkId, Observes, OverrideId, Relation,
    Signal, SolverId, Tree,
};
use crate::situation::{FactChoice, ModeChoice};
use crate::syntax::kind::{LinkLoss, OnBad};
use crate::term::TermId;

/// An input literal: its value, and whether it is out of its vote.
struct Literal {
    value: TermId,
    out: TermId,
}

impl Encoder<'_> {
    /// Overridden(o, i) for some o.
    fn over(&mut self, input: InputId) -> TermId {
        let model = self.model;
        let devices: Vec<OverrideId> =
            model.overrides.iter().filter(|(_, o)| o.inputs.contains(&input)).map(|(id, _)| id).collect();
        let mut any = Vec::new();
        for device in devices {
            self.overridden.insert((device, input));
            any.push(self.fact(FactChoice::Overridden(device, input)));
        }
        self.terms.or(any)
    }

    /// A literal over an input: `value` gives the truth of a case that has a value.
    fn input_literal(
        &mut self,
        input: InputId,
        solver: SolverId,
        value: &mut dyn FnMut(&mut Self, Shows) -> TermId,
    ) -> Literal {
        let on_bad = self.model.inputs[input].on_bad;
        let over = self.over(input);
        let mut holds = Vec::new();
        let mut bad = Vec::new();
        for (guard, shows) in self.sees(input, solver) {
            let truth = match shows {
                Shows::MissingTrips => self.terms.yes(),
                Shows::MissingNoTrip => self.terms.no(),
                Shows::Bad => {
                    bad.push(guard);
                    self.terms.constant(on_bad == Some(OnBad::Trips))
                }
                Shows::True | Shows::Anything(_) | Shows::Low | Shows::High | Shows::Fixed(_) => {
                    value(self, shows)
                }
            };
            holds.push(self.terms.both(guard, truth));
        }
        let holds = self.terms.or(holds);
        let not_over = self.terms.not(over);
        let leaves = match on_bad {
            Some(OnBad::DegradesVote) => self.terms.or(bad),
            Some(OnBad::Trips | OnBad::NoTrip) | None => self.terms.no(),
        };
        Literal { value: self.terms.both(not_over, holds), out: self.terms.either(over, leaves) }
    }

    /// The comparison, with its deadband: between clearing and set point it remembers.
    fn compare_literal(
        &mut self,
        cause: CauseId,
        solver: SolverId,
        atom: &CompareAtom<'_>,
        holds: bool,
    ) -> Literal {
        let model = self.model;
        let deadband = match &model.inputs[atom.input].observes {
            Observes::Quantity { deadband, .. } => deadband.clone(),
            _ => Exact::zero(),
        };
        let widened = match atom.relation {
            Relation::AtLeast | Relation::Above => atom.set_point - &deadband,
            Relation::AtMost | Relation::Below => atom.set_point + &deadband,
            Relation::Equal | Relation::Differs => atom.set_point.clone(),
        };
        let (input, number, relation, set_point) =
            (atom.input, atom.number, atom.relation, atom.set_point.clone());
        self.input_literal(input, solver, &mut |this: &mut Self, shows| {
            let set = this.value_compares(input, shows, relation, &set_point);
            let truth = if deadband.is_zero() {
                set
            } else {
                let kept = this.value_compares(input, shows, relation, &widened);
                let remembers = this.fact(FactChoice::Remembers(cause, number));
                let kept = this.terms.both(kept, remembers);
                this.terms.either(set, kept)
            };
            if holds { truth } else { this.terms.not(truth) }
        })
    }

    fn literal(&mut self, cause: CauseId, solver: SolverId, atom: &InputAtom, holds: bool) -> Literal {
        let value = match atom {
            InputAtom::Compare { input, relation, set_point, number, .. } => {
                let atom = CompareAtom { input: *input, relation: *relation, set_point, number: *number };
                return self.compare_literal(cause, solver, &atom, holds);
            }
            InputAtom::Is { input, asserted, .. } => {
                let (input, wanted) = (*input, *asserted == holds);
                return self.input_literal(input, solver, &mut |this: &mut Self, shows| {
                    let truth = this.value_asserted(input, shows);
                    if wanted { truth } else { this.terms.not(truth) }
                });
            }
            InputAtom::Cause { cause: other, from_before: true } => {
                let before = self.fact(FactChoice::AlreadySet(*other));
                if holds { before } else { self.terms.not(before) }
            }
            InputAtom::Cause { cause: other, from_before: false } => self.knows(*other, solver, holds),
            InputAtom::Overriding(device) => {
                let model = self.model;
                let mut any = Vec::new();
                for input in &model.overrides[*device].inputs {
                    self.overridden.insert((*device, *input));
                    any.push(self.fact(FactChoice::Overridden(*device, *input)));
                }
                let any = self.terms.or(any);
                if holds { any } else { self.terms.not(any) }
            }
            InputAtom::Shows(input, mode) => {
                let shown = self.shown_among(*input, solver, &[*mode].into());
                if holds { shown } else { self.terms.not(shown) }
            }
            InputAtom::Bad(input) => {
                let cases = self.sees(*input, solver);
                let not_ok = cases.into_iter().filter_map(|(guard, shows)| match shows {
                    Shows::Bad | Shows::MissingTrips | Shows::MissingNoTrip => Some(guard),
                    Shows::True | Shows::Anything(_) | Shows::Low | Shows::High | Shows::Fixed(_) => None,
                });
                let bad = self.terms.or(not_ok);
                if holds { bad } else { self.terms.not(bad) }
            }
            InputAtom::LinkLost(link) => {
                let lost = self.link_lost(*link, solver);
                if holds { lost } else { self.terms.not(lost) }
            }
        };
        Literal { value, out: self.terms.no() }
    }

    /// An atom of a condition, or its negation.
    pub(super) fn literal_value(
        &mut self,
        cause: CauseId,
        solver: SolverId,
        atom: &InputAtom,
        holds: bool,
    ) -> TermId {
        self.literal(cause, solver, atom, holds).value
    }

    /// A condition of a cause, or its negation, at the solver of the cause.
    pub(super) fn condition_of(
        &mut self,
        id: CauseId,
        cause: &Cause,
        tree: &Tree<InputAtom>,
        holds: bool,
    ) -> TermId {
        match tree {
            Tree::Atom(atom) => self.literal(id, cause.solver, atom, holds).value,
            Tree::Not(part) => self.condition_of(id, cause, part, !holds),
            Tree::And(parts) | Tree::Or(parts) => {
                let all = matches!(tree, Tree::And(_)) == holds;
                let parts: Vec<TermId> =
                    parts.iter().map(|part| self.condition_of(id, cause, part, holds)).collect();
                if all { self.terms.and(parts) } else { self.terms.or(parts) }
            }
            Tree::Vote { m, of } if cause.degraded.is_empty() || !holds => {
                // NOT MooN is (N−M+1)ooN of the NOTs.
                let m = if holds { *m } else { of.len() + 1 - (*m).min(of.len()) };
                let of: Vec<TermId> =
                    of.iter().map(|part| self.condition_of(id, cause, part, holds)).collect();
                self.terms.at_least(m, of)
            }
            Tree::Vote { m, of } => self.degraded_vote(id, cause, *m, of, None),
        }
    }

    /// MooN with a rule for 1, 2, … operands out; `by`: what the operands are in time, instead of in the end.
    pub(super) fn degraded_vote(
        &mut self,
        id: CauseId,
        cause: &Cause,
        m: usize,
        of: &[Tree<InputAtom>],
        by: Option<&[TermId]>,
    ) -> TermId {
        let mut values = Vec::new();
        let mut outs = Vec::new();
        for operand in of {
            let literal = match operand {
                Tree::Atom(atom) => self.literal(id, cause.solver, atom, true),
                Tree::Not(part) => match part.as_ref() {
                    Tree::Atom(atom) => self.literal(id, cause.solver, atom, false),
                    _ => Literal { value: self.condition_of(id, cause, operand, true), out: self.terms.no() },
                },
                _ => Literal { value: self.condition_of(id, cause, operand, true), out: self.terms.no() },
            };
            values.push(literal.value);
            outs.push(literal.out);
        }
        if let Some(by) = by {
            values = by.to_vec();
        }
        let mut remaining = Vec::new();
        for (value, out) in values.iter().zip(&outs) {
            let stays = self.terms.not(*out);
            remaining.push(self.terms.both(*value, stays));
        }
        let mut cases = Vec::new();
        for k in 0..=of.len() {
            let k_out = {
                let at_least = self.terms.at_least(k, outs.iter().copied());
                let more = self.terms.at_least(k + 1, outs.iter().copied());
                let not_more = self.terms.not(more);
                self.terms.both(at_least, not_more)
            };
            let rule = k.checked_sub(1).and_then(|k| cause.degraded.get(k));
            let vote = match rule {
                Some(Degraded::Trip) => self.terms.yes(),
                Some(Degraded::NoTrip) => self.terms.no(),
                Some(Degraded::AtLeast(j)) => self.terms.at_least(*j, remaining.iter().copied()),
                None => self.terms.at_least(m, values.iter().copied()),
            };
            cases.push(self.terms.both(k_out, vote));
        }
        self.terms.or(cases)
    }

    /// armed(c): the modes that its solver knows.
    pub(super) fn armed(&mut self, cause: &Cause) -> TermId {
        let mut all = Vec::new();
        for (group, modes) in &cause.armed {
            all.push(self.solver_knows_mode(*group, cause.solver, modes));
        }
        self.terms.and(all)
    }

    fn solver_knows_mode(
        &mut self,
        group: GroupId,
        solver: SolverId,
        modes: &std::collections::BTreeSet<crate::model::ModeId>,
    ) -> TermId {
        match self.model.mode_input_of.get(&(group, solver)) {
            Some(input) => self.shown_among(*input, solver, modes),
            None => {
                self.modes_known.insert((group, solver));
                self.mode_among(ModeChoice::Holds(group), modes)
            }
        }
    }

    /// armed(c) ∧ when(c).
    pub(super) fn fires(&mut self, id: CauseId) -> TermId {
        let model = self.model;
        let cause = &model.causes[id];
        let armed = self.armed(cause);
        let when = self.condition_of(id, cause, &cause.when, true);
        self.terms.both(armed, when)
    }

    /// value(c).
    pub(super) fn value(&mut self, id: CauseId) -> TermId {
        if let Some(term) = self.causes.get(&id) {
            return *term;
        }
        let fires = self.fires(id);
        let set = match self.model.causes[id].latched {
            true => self.fact(FactChoice::AlreadySet(id)),
            false => self.terms.no(),
        };
        let term = self.terms.either(fires, set);
        self.causes.insert(id, term);
        term
    }

    /// knows(c, s) as a literal: `holds`, or its negation.
    pub(super) fn knows(&mut self, id: CauseId, solver: SolverId, holds: bool) -> TermId {
        if let Some(term) = self.known.get(&(id, solver, holds)) {
            return *term;
        }
        let model = self.model;
        let own = model.causes[id].solver == solver;
        let term = match model.access.get(&(Signal::Cause(id), solver)) {
            Some(Access::Over(link, from)) if !own => {
                let sent = self.knows(id, *from, holds);
                self.arrives(id, solver, (*link, *from), holds, sent)
            }
            _ => {
                let value = self.value(id);
                if holds { value } else { self.terms.not(value) }
            }
        };
        self.known.insert((id, solver, holds), term);
        term
    }
}

impl Encoder<'_> {
    /// What of a cause arrives at a solver over a link from another one that sends this.
    pub(super) fn arrives(
        &mut self,
        id: CauseId,
        solver: SolverId,
        (link, from): (LinkId, SolverId),
        holds: bool,
        sent: TermId,
    ) -> TermId {
        let (deviates, nothing) = self.over_link(
            link,
            from,
            FactChoice::CauseDeviates(id, solver),
            FactChoice::CauseSilent(id, solver),
        );
        let seen = self.fact(FactChoice::CauseSeen(id, solver));
        let seen = if holds { seen } else { self.terms.not(seen) };
        let missing = match self.model.links[link].on_loss {
            LinkLoss::Trips => self.terms.yes(),
            LinkLoss::NoTrip | LinkLoss::Bad => self.terms.no(),
            LinkLoss::Holds => seen,
        };
        let arrives = self.terms.choose(deviates, seen, sent);
        self.terms.choose(nothing, missing, arrives)
    }
}

impl Encoder<'_> {
    /// A solver does not get to know over a link that a cause is true, where the one that sends knows that it is not.
    pub(super) fn ends_over(
        &mut self,
        id: CauseId,
        solver: SolverId,
        (link, from): (LinkId, SolverId),
        sent: TermId,
    ) -> TermId {
        let still = self.terms.not(sent);
        let known = self.arrives(id, solver, (link, from), true, still);
        self.terms.not(known)
    }
}

/// The parts of a comparison that its literal needs.
struct CompareAtom<'a> {
    input: InputId,
    relation: Relation,
    set_point: &'a Exact,
    number: usize,
}
