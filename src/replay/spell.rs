//! When signals are there and how long they stay: the part of section 7 of `docs/meaning.md` that lies before the actuators.
//!
//! A signal is worked out as its *spells*: each begins at a moment at the latest, and ends after some time or never. What
//! needs several signals at once takes only those that never end.

use crate::claim::{Timing, Unknown};
use crate::exact::Exact;
use crate::model::{
    Access, CauseId, Degraded, Input, InputAtom, InputId, Observes, QuantityId, Relation, Signal, SolverId,
    Time, Tree,
};
use crate::situation::FactChoice;

use super::time::{Clock, Moment, when_so_many};
use super::world::World;
use super::{Impossible, Known};

/// How long a signal stays.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Stays {
    /// As long as the hazard.
    ForGood,
    /// So many seconds at least.
    For(Exact),
    /// Nobody knows, and it is taken as long enough for everything that ends.
    LongEnough,
}

/// A signal that is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Spell {
    /// By when, at the latest.
    from: Moment,
    stays: Stays,
}

impl Spell {
    fn for_good(from: Moment) -> Self {
        Spell { from, stays: Stays::ForGood }
    }
}

/// By when it is there for good.
pub(super) fn for_good(spells: Vec<Spell>) -> Moment {
    let lasting = spells.into_iter().filter(|spell| spell.stays == Stays::ForGood);
    lasting.map(|spell| spell.from).min().unwrap_or(Moment::Never)
}

/// At least so many of these at once: one is a spell of any of them, more are there for good or not at all.
fn at_once(parts: Vec<Vec<Spell>>, needed: usize, any: bool) -> Vec<Spell> {
    match needed {
        1 if any => parts.into_iter().flatten().collect(),
        _ => vec![Spell::for_good(when_so_many(parts.into_iter().map(for_good).collect(), needed))],
    }
}

impl World<'_> {
    /// §7: a spell that a stage delays. What a stage takes in, it takes from how long the signal stays.
    fn later(&self, spell: Spell, time: &Time, timing: &Timing) -> Spell {
        let stays = match (spell.stays, time) {
            (Stays::For(for_so_long), Time::Known(time)) => Stays::For(&for_so_long - time),
            (stays, _) => stays,
        };
        Spell { from: self.after(spell.from, time, timing), stays }
    }

    fn all_later(&self, spells: Vec<Spell>, time: &Time, timing: &Timing) -> Vec<Spell> {
        spells.into_iter().map(|spell| self.later(spell, time, timing)).collect()
    }

    /// §7: when a solver knows that a cause is true, or that it is not.
    pub(super) fn known_from(
        &self,
        c: CauseId,
        s: SolverId,
        holds: bool,
        clock: &Clock<'_>,
    ) -> Result<Vec<Spell>, Impossible> {
        let known = self.knows(c, s)?;
        let is = match known {
            Known::Is(value) => value == holds,
            Known::MissingTrips => true,
            Known::MissingNoTrip => false,
        };
        if !is {
            return Ok(Vec::new());
        }
        match self.cause_access(c, s) {
            Some(Access::Over(link, from)) => {
                let replaced = (self.chosen(FactChoice::CauseDeviates(c, s)) && self.link_may(link, from))
                    || self.nothing_sent(link, from)?;
                if replaced {
                    return Ok(vec![Spell::for_good(Moment::Before)]);
                }
                let sent = self.known_from(c, from, holds, clock)?;
                Ok(self.all_later(sent, &self.model.links[link].delay, clock.timing))
            }
            Some(Access::Direct) | None => self.value_from(c, holds, clock),
        }
    }

    /// §7: by when a solver does not know a cause to be true any more.
    pub(super) fn forgotten_from(
        &self,
        c: CauseId,
        s: SolverId,
        clock: &Clock<'_>,
    ) -> Result<Moment, Impossible> {
        if matches!(self.knows(c, s)?, Known::Is(true) | Known::MissingTrips) {
            return Ok(Moment::Never);
        }
        match self.cause_access(c, s) {
            Some(Access::Over(link, from)) => {
                let replaced = (self.chosen(FactChoice::CauseDeviates(c, s)) && self.link_may(link, from))
                    || self.nothing_sent(link, from)?;
                if replaced {
                    return Ok(Moment::Before);
                }
                let sent = self.forgotten_from(c, from, clock)?;
                Ok(self.after(sent, &self.model.links[link].delay, clock.timing))
            }
            // Nobody resets a latch in the meantime: what is not set now was not set before.
            Some(Access::Direct) | None if self.model.causes[c].latched => Ok(Moment::Before),
            Some(Access::Direct) | None => Ok(for_good(self.value_from(c, false, clock)?)),
        }
    }

    fn value_from(&self, c: CauseId, holds: bool, clock: &Clock<'_>) -> Result<Vec<Spell>, Impossible> {
        let cause = &self.model.causes[c];
        if holds {
            if cause.latched && self.chosen(FactChoice::AlreadySet(c)) {
                return Ok(vec![Spell::for_good(Moment::Before)]);
            }
            return self.fires_from(c, clock);
        }
        let reaction = &self.model.solvers[cause.solver].reaction;
        if cause.latched {
            return Ok(Vec::new());
        }
        if !self.armed(c)? {
            return Ok(vec![Spell::for_good(Moment::Before)]);
        }
        let when = self.condition_from(c, &cause.when, false, clock)?;
        Ok(self.all_later(when, reaction, clock.timing))
    }

    /// §7: when a cause fires by itself. A latch keeps what was there long enough to set it.
    pub(super) fn fires_from(&self, c: CauseId, clock: &Clock<'_>) -> Result<Vec<Spell>, Impossible> {
        if !self.armed(c)? {
            return Ok(Vec::new());
        }
        let cause = &self.model.causes[c];
        let when = self.condition_from(c, &cause.when, true, clock)?;
        let confirmed = self.all_later(when, &cause.on_delay, clock.timing);
        let fired = self.all_later(confirmed, &self.model.solvers[cause.solver].reaction, clock.timing);
        if !cause.latched {
            return Ok(fired);
        }
        let sets = |spell: &Spell| match &spell.stays {
            Stays::ForGood | Stays::LongEnough => true,
            Stays::For(rest) => !rest.is_negative(),
        };
        Ok(fired.into_iter().filter(sets).map(|spell| Spell::for_good(spell.from)).collect())
    }

    fn condition_from(
        &self,
        c: CauseId,
        tree: &Tree<InputAtom>,
        holds: bool,
        clock: &Clock<'_>,
    ) -> Result<Vec<Spell>, Impossible> {
        let degrades = !self.model.causes[c].degraded.is_empty();
        match (tree, holds) {
            // Which of them has to end depends on what is out: never certain.
            (Tree::Vote { .. }, false) if clock.ending && degrades => return Ok(Vec::new()),
            (Tree::Vote { m, of }, true) if clock.ending => {
                let parts = of.iter().map(|part| self.condition_from(c, part, true, clock));
                return Ok(at_once(parts.collect::<Result<_, _>>()?, *m, true));
            }
            (Tree::Vote { m, of }, true) => return self.vote_from(c, *m, of, clock),
            _ => {}
        }
        let each = |part: &Tree<InputAtom>, holds| self.condition_from(c, part, holds, clock);
        match tree {
            Tree::Atom(atom) => self.literal_from(c, atom, holds, clock),
            Tree::Not(part) => each(part, !holds),
            Tree::And(parts) | Tree::Or(parts) => {
                let spells = parts.iter().map(|part| each(part, holds)).collect::<Result<Vec<_>, _>>()?;
                let needed = if matches!(tree, Tree::And(_)) == holds { spells.len() } else { 1 };
                Ok(at_once(spells, needed, true))
            }
            Tree::Vote { m, of } => {
                let spells = of.iter().map(|part| each(part, false)).collect::<Result<_, _>>()?;
                Ok(at_once(spells, (of.len() + 1).saturating_sub(*m), true))
            }
        }
    }

    /// A vote with what is out of it, which is out from before.
    fn vote_from(
        &self,
        c: CauseId,
        m: usize,
        of: &[Tree<InputAtom>],
        clock: &Clock<'_>,
    ) -> Result<Vec<Spell>, Impossible> {
        let cause = &self.model.causes[c];
        // One alone is enough only where that is so however many are out.
        let any = m == 1
            && cause.degraded.iter().all(|rule| match rule {
                Degraded::AtLeast(j) => *j <= 1,
                Degraded::Trip | Degraded::NoTrip => true,
            });
        let (mut out, mut spells) = (0usize, Vec::new());
        for operand in of {
            if self.is_out(cause, operand)? {
                out += 1;
            } else {
                spells.push(self.condition_from(c, operand, true, clock)?);
            }
        }
        Ok(match out.checked_sub(1).and_then(|k| cause.degraded.get(k)) {
            Some(Degraded::Trip) => vec![Spell::for_good(Moment::Before)],
            Some(Degraded::NoTrip) => Vec::new(),
            Some(Degraded::AtLeast(j)) => at_once(spells, *j, any),
            None => at_once(spells, m, any),
        })
    }

    fn literal_from(
        &self,
        c: CauseId,
        atom: &InputAtom,
        holds: bool,
        clock: &Clock<'_>,
    ) -> Result<Vec<Spell>, Impossible> {
        let s = self.model.causes[c].solver;
        if let InputAtom::Cause { cause, from_before: false } = atom {
            return match (clock.ending, holds) {
                (true, false) => Ok(vec![Spell::for_good(self.forgotten_from(*cause, s, clock)?)]),
                (true, true) => self.known_from(*cause, s, true, &Clock { ending: false, ..*clock }),
                (false, _) => self.known_from(*cause, s, holds, clock),
            };
        }
        let so = self.literal(c, atom, !holds)?;
        if clock.ending {
            if self.literal(c, atom, holds)? {
                return Ok(Vec::new());
            }
            // What says neither is out, by an override or since it is bad: from before.
            if !so {
                return Ok(vec![Spell::for_good(Moment::Before)]);
            }
        } else if !so {
            return Ok(Vec::new());
        }
        let spell = match atom {
            InputAtom::Compare { input, relation, set_point, .. } => {
                let element = &self.model.inputs[*input];
                let Observes::Quantity { quantity, accuracy, deadband, .. } = &element.observes else {
                    return Ok(Vec::new());
                };
                let seen = match holds {
                    true => {
                        Seen { quantity: *quantity, relation: *relation, at: set_point.clone(), accuracy }
                    }
                    false => {
                        // Where it clears lies beyond its deadband.
                        let (relation, at) = match relation {
                            Relation::AtLeast | Relation::Above => (Relation::AtMost, set_point - deadband),
                            Relation::AtMost | Relation::Below => (Relation::AtLeast, set_point + deadband),
                            Relation::Equal | Relation::Differs => (Relation::Equal, set_point.clone()),
                        };
                        Seen { quantity: *quantity, relation, at, accuracy }
                    }
                };
                let asks = (holds && !clock.ending).then_some(c);
                let begins = match (holds || clock.ending) && element.stays.is_none() {
                    true => self.earlier(*quantity, seen.relation, &seen.at, accuracy, asks, clock),
                    false => Moment::now(),
                };
                let step = self.step(element, Some((&seen, asks)), clock);
                self.seen(begins, *input, s, step, true, clock)
            }
            InputAtom::Is { input, .. } => {
                let step = self.step(&self.model.inputs[*input], None, clock);
                self.seen(Moment::now(), *input, s, step, true, clock)
            }
            // A fault stays, whatever the signal does.
            InputAtom::Bad(input) => {
                let step = self.step(&self.model.inputs[*input], None, clock);
                self.seen(Moment::now(), *input, s, step, false, clock)
            }
            InputAtom::LinkLost(link) => {
                Some(Spell::for_good(self.after(Moment::now(), &self.model.links[*link].delay, clock.timing)))
            }
            InputAtom::Cause { .. } | InputAtom::Overriding(_) | InputAtom::Shows(..) => {
                Some(Spell::for_good(Moment::Before))
            }
        };
        Ok(spell.into_iter().collect())
    }

    /// §7: what an input sees and a solver reads: after its response and the links on the way.
    fn seen(
        &self,
        begins: Moment,
        input: InputId,
        s: SolverId,
        step: &Time,
        may_end: bool,
        clock: &Clock<'_>,
    ) -> Option<Spell> {
        let element = &self.model.inputs[input];
        let stays = match (&element.stays, clock.timing.unknown) {
            (Some(Time::Known(time)), _) if may_end => Stays::For(time.clone()),
            (Some(Time::Unknown), Unknown::Nothing) if may_end => Stays::LongEnough,
            (Some(Time::Unknown), Unknown::TooLong) if may_end => return None,
            _ => Stays::ForGood,
        };
        let mut spell = Spell { from: begins, stays };
        let response = &element.response;
        for time in [step, &response.confirmation, &response.filter] {
            spell = self.later(spell, time, clock.timing);
        }
        // A tube only brings it later.
        spell.from = self.after(spell.from, &response.transport, clock.timing);
        let mut reader = s;
        let mut links = 0;
        while let Some(Access::Over(link, from)) =
            self.model.access.get(&(Signal::Input(input), reader)).copied()
        {
            spell = self.later(spell, &self.model.links[link].delay, clock.timing);
            reader = from;
            links += 1;
            if links > self.model.solvers.len() {
                break;
            }
        }
        Some(spell)
    }

    /// §7: a moment and the links by which a solver knows a signal.
    pub(super) fn over_links(&self, begins: Moment, signal: Signal, s: SolverId, timing: &Timing) -> Moment {
        let (mut moment, mut reader) = (begins, s);
        let mut links = 0;
        while let Some(Access::Over(link, from)) = self.model.access.get(&(signal, reader)).copied() {
            moment = self.after(moment, &self.model.links[link].delay, timing);
            reader = from;
            links += 1;
            if links > self.model.solvers.len() {
                break;
            }
        }
        moment
    }

    /// §7: the first part of a response. A T90 counts where the quantity takes that long at least from where the comparison is
    /// sure to the beginning of harm; 90 % of what is quicker say nothing of the rest.
    fn step<'i>(
        &self,
        input: &'i Input,
        seen: Option<(&Seen<'_>, Option<CauseId>)>,
        clock: &Clock<'_>,
    ) -> &'i Time {
        let response = &input.response;
        if !response.t90 {
            return &response.step;
        }
        let (Time::Known(t90), Some((seen, asks))) = (&response.step, seen) else { return &Time::Unknown };
        let takes = match self.given(asks, clock) {
            Some(Time::Known(time)) => Some(time.clone()),
            Some(Time::Unknown) if clock.timing.unknown == Unknown::Nothing => return &response.step,
            Some(Time::Unknown) => None,
            None => self.on_its_way(seen.quantity, seen.relation, &seen.at, seen.accuracy, clock),
        };
        match takes {
            Some(takes) if takes >= *t90 => &response.step,
            _ => &Time::Unknown,
        }
    }
}

/// What a reading must show.
struct Seen<'a> {
    quantity: QuantityId,
    relation: Relation,
    at: Exact,
    accuracy: &'a Exact,
}
