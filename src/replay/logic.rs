//! Causes: section 4 of `docs/meaning.md`.
//!
//! Responsible for literals, votes, memory and what other solvers know of a cause. What causes demand is `outputs`.

use crate::exact::Exact;
use crate::model::{
    Access, Cause, CauseId, Degraded, InputAtom, InputId, LinkId, Observes, Relation, SolverId, Tree,
};
use crate::situation::FactChoice;
use crate::syntax::kind::{LinkLoss, OnBad};

use super::world::{Pending, World, count, every, no, some};
use super::{Impossible, Known, Seen, Value};

impl World<'_> {
    /// §4: `value(c) = (armed(c) ∧ when(c)) ∨ (latched ∧ AlreadySet(c))`.
    pub(super) fn value(&self, c: CauseId) -> Result<bool, Impossible> {
        let remembered = self.model.causes[c].latched && self.chosen(FactChoice::AlreadySet(c));
        Ok(self.fires(c)? || remembered)
    }

    /// §6: armed(c) ∧ when(c), without memory.
    pub(super) fn fires(&self, c: CauseId) -> Result<bool, Impossible> {
        Ok(self.when(c)? && self.armed(c)?)
    }

    /// §4: for each group that c names, the mode that its solver knows is listed.
    pub(super) fn armed(&self, c: CauseId) -> Result<bool, Impossible> {
        let cause = &self.model.causes[c];
        every(&cause.armed, |(group, modes)| Ok(modes.contains(&self.known_mode(*group, cause.solver)?)))
    }

    /// §4: the condition of a cause at its own solver.
    pub(super) fn when(&self, c: CauseId) -> Result<bool, Impossible> {
        if let Some(known) = self.memory.borrow().when.get(&c) {
            return Ok(*known);
        }
        let when = self.once(Pending::When(c), || self.expression(c, &self.model.causes[c].when, false))?;
        self.memory.borrow_mut().when.insert(c, when);
        Ok(when)
    }

    /// §4: NOT is pushed down to the literals.
    pub(super) fn expression(
        &self,
        c: CauseId,
        tree: &Tree<InputAtom>,
        negated: bool,
    ) -> Result<bool, Impossible> {
        match (tree, negated) {
            (Tree::Atom(atom), _) => self.literal(c, atom, negated),
            (Tree::Not(part), _) => self.expression(c, part, !negated),
            (Tree::And(parts), false) | (Tree::Or(parts), true) => {
                every(parts, |part| self.expression(c, part, negated))
            }
            (Tree::Or(parts), false) | (Tree::And(parts), true) => {
                some(parts, |part| self.expression(c, part, negated))
            }
            (Tree::Vote { m, of }, false) => self.vote(c, *m, of),
            (Tree::Vote { m, of }, true) => {
                let cause = &self.model.causes[c];
                if !cause.degraded.is_empty() {
                    return Err(no(format!(
                        "The vote of {} has a degraded vote but stands under NOT.",
                        cause.name.tag
                    )));
                }
                let agree = count(of, |part| self.expression(c, part, true))?;
                Ok(agree + m > of.len())
            }
        }
    }

    /// §4, vote MooN, with inputs that are out of it.
    fn vote(&self, c: CauseId, m: usize, of: &[Tree<InputAtom>]) -> Result<bool, Impossible> {
        let cause = &self.model.causes[c];
        let out = count(of, |operand| self.is_out(cause, operand))?;
        let rule = out.checked_sub(1).and_then(|k| cause.degraded.get(k));
        let remaining =
            count(of, |operand| Ok(!self.is_out(cause, operand)? && self.expression(c, operand, false)?))?;
        match rule {
            Some(Degraded::AtLeast(j)) => Ok(remaining >= *j),
            Some(Degraded::Trip) => Ok(true),
            Some(Degraded::NoTrip) => Ok(false),
            // An operand that is out is false, so all of them agree as often as the remaining ones.
            None => Ok(remaining >= m),
        }
    }

    /// §4: whether an operand is a single input literal that is overridden, or bad and leaves its vote then.
    pub(super) fn is_out(&self, cause: &Cause, operand: &Tree<InputAtom>) -> Result<bool, Impossible> {
        let mut operand = operand;
        while let Tree::Not(part) = operand {
            operand = part;
        }
        let Tree::Atom(InputAtom::Compare { input, .. } | InputAtom::Is { input, .. }) = operand else {
            return Ok(false);
        };
        let leaves = self.model.inputs[*input].on_bad == Some(OnBad::DegradesVote);
        Ok(self.over(*input) || (leaves && self.sees(*input, cause.solver)? == Seen::Bad))
    }

    /// §4: an atom or its negation, at the solver of its cause.
    pub(super) fn literal(&self, c: CauseId, atom: &InputAtom, negated: bool) -> Result<bool, Impossible> {
        let s = self.model.causes[c].solver;
        let plain = match atom {
            InputAtom::Compare { input, relation, set_point, number, .. } => {
                return self.input_literal(*input, s, |value| match value {
                    Value::Number(reading) => {
                        let remembers = self.chosen(FactChoice::Remembers(c, *number));
                        Some(
                            compares(reading, *relation, set_point, self.deadband(*input), remembers)
                                != negated,
                        )
                    }
                    Value::Asserted(_) => None,
                });
            }
            InputAtom::Is { input, asserted, .. } => {
                return self.input_literal(*input, s, |value| match value {
                    Value::Asserted(shown) => Some((shown == asserted) != negated),
                    Value::Number(_) => None,
                });
            }
            InputAtom::Cause { cause, from_before: true } => self.chosen(FactChoice::AlreadySet(*cause)),
            InputAtom::Cause { cause, from_before: false } => {
                return Ok(match self.knows(*cause, s)? {
                    Known::Is(value) => value != negated,
                    Known::MissingTrips => true,
                    Known::MissingNoTrip => false,
                });
            }
            InputAtom::Overriding(device) => self.taken_out(*device) > 0,
            InputAtom::Shows(mode_input, mode) => self.shown(*mode_input, s)? == *mode,
            InputAtom::Bad(input) => !matches!(self.sees(*input, s)?, Seen::Shows(_)),
            InputAtom::LinkLost(link) => self.link_lost(*link, s)?,
        };
        Ok(plain != negated)
    }

    /// §4: a literal of an input: by override, by status, and by its value only where the status is ok.
    fn input_literal(
        &self,
        i: InputId,
        s: SolverId,
        literal: impl Fn(&Value) -> Option<bool>,
    ) -> Result<bool, Impossible> {
        let input = &self.model.inputs[i];
        let seen = self.sees(i, s)?;
        if self.over(i) {
            return Ok(false);
        }
        match seen {
            Seen::Bad => Ok(input.on_bad == Some(OnBad::Trips)),
            Seen::MissingTrips => Ok(true),
            Seen::MissingNoTrip => Ok(false),
            Seen::Shows(value) => literal(&value).ok_or_else(|| {
                no(format!("{} is used in a way that its kind of signal does not allow.", input.name.tag))
            }),
        }
    }

    fn deadband(&self, i: InputId) -> Option<&Exact> {
        match &self.model.inputs[i].observes {
            Observes::Quantity { deadband, .. } => Some(deadband),
            _ => None,
        }
    }

    /// §4: what solver `s` knows of cause `c`.
    pub(super) fn knows(&self, c: CauseId, s: SolverId) -> Result<Known, Impossible> {
        if let Some(known) = self.memory.borrow().knows.get(&(c, s)) {
            return Ok(*known);
        }
        let known = self.once(Pending::Knows(c, s), || match self.cause_access(c, s) {
            Some(Access::Over(link, from)) => self.cause_over_link(c, s, link, from),
            Some(Access::Direct) if self.model.causes[c].solver == s => Ok(Known::Is(self.value(c)?)),
            Some(Access::Direct) | None => {
                let (tag, solver) = (&self.model.causes[c].name.tag, &self.model.solvers[s].name.tag);
                Err(no(format!("{tag} is neither evaluated by {solver} nor reaches it over a link.")))
            }
        })?;
        self.memory.borrow_mut().knows.insert((c, s), known);
        Ok(known)
    }

    /// §4: a cause over a link from `p`.
    fn cause_over_link(
        &self,
        c: CauseId,
        s: SolverId,
        link: LinkId,
        p: SolverId,
    ) -> Result<Known, Impossible> {
        if self.chosen(FactChoice::CauseDeviates(c, s)) && self.link_may(link, p) {
            if self.chosen(FactChoice::CauseSilent(c, s)) || self.only_silent(link, p) {
                return Ok(self.no_cause_arrives(c, s, link));
            }
            return Ok(Known::Is(self.chosen(FactChoice::CauseSeen(c, s))));
        }
        if self.nothing_sent(link, p)? {
            return Ok(self.no_cause_arrives(c, s, link));
        }
        self.knows(c, p)
    }

    /// §4, nothing arrives: the link's reaction to loss, for a cause.
    fn no_cause_arrives(&self, c: CauseId, s: SolverId, link: LinkId) -> Known {
        match self.model.links[link].on_loss {
            LinkLoss::Trips => Known::MissingTrips,
            LinkLoss::NoTrip | LinkLoss::Bad => Known::MissingNoTrip,
            LinkLoss::Holds => Known::Is(self.chosen(FactChoice::CauseSeen(c, s))),
        }
    }
}

/// §4: whether a reading compares with a set point, or still does within its deadband.
fn compares(
    reading: &Exact,
    relation: Relation,
    set_point: &Exact,
    deadband: Option<&Exact>,
    remembers: bool,
) -> bool {
    if relation.holds(reading, set_point) {
        return true;
    }
    let Some(deadband) = deadband.filter(|deadband| !deadband.is_zero()) else { return false };
    let clears_at = match relation {
        Relation::AtLeast | Relation::Above => set_point - deadband,
        Relation::AtMost | Relation::Below => set_point + deadband,
        Relation::Equal | Relation::Differs => return false,
    };
    remembers && relation.holds(reading, &clears_at)
}
