//! What a solver sees of an input, of a link and of the mode: section 3 of `docs/meaning.md`.
//!
//! Responsible for `sees(i, s)`, true values, losses of lines, links and supplies on the way, and the mode a solver
//! knows. What follows from it is `logic`.

use crate::exact::Exact;
use crate::model::{
    Access, ContactId, GroupId, Input, InputId, LinkId, Lost, ModeId, ModeInputId, Observes, Path, Signal,
    SolverId, Source,
};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::syntax::kind::{InputFailure, LineKind, LinkLoss};

use super::world::{Pending, World, no, some};
use super::{Impossible, Seen, Value};

impl World<'_> {
    /// §3: what solver `s` sees of input `i`.
    pub(super) fn sees(&self, i: InputId, s: SolverId) -> Result<Seen, Impossible> {
        if let Some(known) = self.memory.borrow().sees.get(&(i, s)) {
            return Ok(known.clone());
        }
        let seen =
            self.once(Pending::Sees(i, s), || match self.model.access.get(&(Signal::Input(i), s)) {
                Some(Access::Over(link, from)) => self.over_link(i, s, *link, *from),
                Some(Access::Direct) | None => self.wired(i, s),
            })?;
        self.memory.borrow_mut().sees.insert((i, s), seen.clone());
        Ok(seen)
    }

    /// §3, true value: clamped measurement, condition, pressed, or open.
    fn true_value(&self, i: InputId) -> Value {
        match &self.model.inputs[i].observes {
            Observes::Quantity { quantity, range, .. } => {
                let value = self.situation.number(self.model, NumberChoice::Quantity(*quantity));
                let measured = &value + &self.situation.number(self.model, NumberChoice::Error(i));
                Value::Number(measured.max(range.low.clone()).min(range.high.clone()))
            }
            Observes::Condition { condition, negated } => {
                Value::Asserted(self.chosen(FactChoice::Condition(*condition)) != *negated)
            }
            Observes::Loop { contacts, .. } => {
                Value::Asserted(contacts.iter().any(|contact| self.open(*contact)))
            }
            Observes::Stop(stop) => Value::Asserted(self.chosen(FactChoice::Pressed(*stop))),
        }
    }

    /// §3: whether a contact of a loop is open.
    fn open(&self, id: ContactId) -> bool {
        if self.may(Source::Contact(id)) {
            return !self.chosen(FactChoice::ContactClosed(id));
        }
        let contact = &self.model.contacts[id];
        self.chosen(FactChoice::Condition(contact.condition)) != contact.negated
    }

    /// §3, wired directly: the first of six that applies.
    fn wired(&self, i: InputId, s: SolverId) -> Result<Seen, Impossible> {
        let input = &self.model.inputs[i];
        let Some(path) = input.readers.get(&s) else {
            let (tag, solver) = (&input.name.tag, &self.model.solvers[s].name.tag);
            return Err(no(format!("{tag} is neither wired to {solver} nor reaches it over a link.")));
        };
        let is_loop = matches!(input.observes, Observes::Loop { .. });
        // 1
        let may = !is_loop && self.may(Source::Input(i));
        if self.chosen(FactChoice::Deviates(i, s)) && (may || self.through_may(&path.through)) {
            return self.deviates(i, s, path);
        }
        // 2
        if self.through_lost(&path.through)? {
            return self.loss_reaction(i, s);
        }
        // 3
        let disturbed = self.routes_may(&path.routes) || (is_loop && self.may(Source::LoopLine(i)));
        if disturbed && self.chosen(FactChoice::LineOpen(i, s)) {
            return if is_loop { Ok(Seen::Shows(Value::Asserted(true))) } else { self.loss_reaction(i, s) };
        }
        // 4
        if disturbed && input.line == LineKind::Plain && self.chosen(FactChoice::LineHeld(i, s)) {
            return Ok(Seen::Shows(self.anything(i, s)));
        }
        // 5
        let warms_up = input.warm_up.is_some() && matches!(self.claim.breach, crate::claim::Breach::Blind(_));
        if warms_up || self.supply_lost(input.supply)? {
            return self.loss_reaction(i, s);
        }
        // 6
        Ok(Seen::Shows(self.true_value(i)))
    }

    /// §3.1: what it shows instead, if that is possible.
    fn deviates(&self, i: InputId, s: SolverId, path: &Path) -> Result<Seen, Impossible> {
        let input = &self.model.inputs[i];
        let seen = self.bad_or_anything(i, s);
        if self.through_may(&path.through) {
            return Ok(seen);
        }
        let tag = &input.name.tag;
        if matches!(input.observes, Observes::Stop(_)) {
            return match seen {
                Seen::Bad => {
                    Err(no(format!("{tag} is bad, but a stop contact that misbehaves is open or closed.")))
                }
                other => Ok(other),
            };
        }
        if self.wild(Source::Input(i)) || self.can_fail_to(input, &seen, &self.true_value(i)) {
            return Ok(seen);
        }
        Err(no(format!("{tag} deviates in a direction in which it does not fail.")))
    }

    /// §3.1: whether one of the declared failure directions leads from the true value to what is shown.
    fn can_fail_to(&self, input: &Input, seen: &Seen, truth: &Value) -> bool {
        let Some(fails) = &input.fails else { return true };
        let fails = |direction| fails.contains(&direction);
        match (seen, truth) {
            (Seen::Shows(Value::Number(reading)), Value::Number(truth)) => {
                (reading <= truth && fails(InputFailure::Low))
                    || (reading >= truth && fails(InputFailure::High))
            }
            (Seen::Shows(Value::Asserted(true)), _) => fails(InputFailure::Detected),
            (Seen::Shows(Value::Asserted(false)), _) => fails(InputFailure::Clear),
            (Seen::Bad, _) => fails(InputFailure::Bad),
            _ => false,
        }
    }

    /// Bad if so chosen, else the value chosen.
    fn bad_or_anything(&self, i: InputId, s: SolverId) -> Seen {
        if self.chosen(FactChoice::Bad(i, s)) { Seen::Bad } else { Seen::Shows(self.anything(i, s)) }
    }

    /// `Reading(i,s)` of a sensor, `Asserted(i,s)` of anything else.
    fn anything(&self, i: InputId, s: SolverId) -> Value {
        match self.model.inputs[i].observes {
            Observes::Quantity { .. } => {
                Value::Number(self.situation.number(self.model, NumberChoice::Reading(i, s)))
            }
            _ => Value::Asserted(self.chosen(FactChoice::Asserted(i, s))),
        }
    }

    /// §3, loss reaction.
    fn loss_reaction(&self, i: InputId, s: SolverId) -> Result<Seen, Impossible> {
        let input = &self.model.inputs[i];
        let end = |pick: fn(&crate::model::Interval) -> Exact| match &input.observes {
            Observes::Quantity { range, .. } => Some(Value::Number(pick(range))),
            _ => None,
        };
        let state = |asserted| match &input.observes {
            Observes::Quantity { .. } => None,
            _ => Some(Value::Asserted(asserted)),
        };
        let value = match input.on_loss {
            Lost::Low => end(|range| range.low.clone()),
            Lost::High => end(|range| range.high.clone()),
            Lost::Asserted => state(true),
            Lost::Cleared => state(false),
            Lost::Bad => return Ok(Seen::Bad),
            Lost::Holds => Some(self.anything(i, s)),
        };
        value.map(Seen::Shows).ok_or_else(|| {
            no(format!("{} cannot show what is declared for its loss of supply or line.", input.name.tag))
        })
    }

    /// §3, over a link from `p`: the first of three that applies.
    fn over_link(&self, i: InputId, s: SolverId, link: LinkId, p: SolverId) -> Result<Seen, Impossible> {
        // 1
        if self.chosen(FactChoice::Deviates(i, s)) && self.link_may(link, p) {
            if self.chosen(FactChoice::Silent(i, s)) || self.only_silent(link, p) {
                return Ok(self.nothing_arrives(i, s, link));
            }
            return Ok(self.bad_or_anything(i, s));
        }
        // 2
        if self.nothing_sent(link, p)? {
            return Ok(self.nothing_arrives(i, s, link));
        }
        // 3
        self.sees(i, p)
    }

    /// m(L), m(r) for a route of L, or m(p).
    pub(super) fn link_may(&self, link: LinkId, p: SolverId) -> bool {
        self.may(Source::Link(link))
            || self.routes_may(&self.model.links[link].routes)
            || self.may(Source::Solver(p))
    }

    /// A supervised link can only fall silent, unless the sender misbehaves or the link may do anything (its cabinet, or
    /// a group to which it belongs, misbehaves).
    pub(super) fn only_silent(&self, link: LinkId, p: SolverId) -> bool {
        let anything = self.may(Source::Solver(p)) || self.wild(Source::Link(link));
        self.model.links[link].supervised && !anything
    }

    /// The sender is dead or the link has no supply.
    pub(super) fn nothing_sent(&self, link: LinkId, p: SolverId) -> Result<bool, Impossible> {
        Ok(self.dead(p)? || self.supply_lost(self.model.links[link].supply)?)
    }

    /// §3, nothing arrives: the link's reaction to loss, for an input.
    fn nothing_arrives(&self, i: InputId, s: SolverId, link: LinkId) -> Seen {
        match self.model.links[link].on_loss {
            LinkLoss::Trips => Seen::MissingTrips,
            LinkLoss::NoTrip => Seen::MissingNoTrip,
            LinkLoss::Bad => Seen::Bad,
            LinkLoss::Holds => Seen::Shows(self.anything(i, s)),
        }
    }

    /// §3, link lost: whether `s` sees the link as lost.
    pub(super) fn link_lost(&self, id: LinkId, s: SolverId) -> Result<bool, Impossible> {
        let link = &self.model.links[id];
        let others = || link.connects.iter().filter(|other| **other != s);
        let may = self.may(Source::Link(id))
            || self.routes_may(&link.routes)
            || others().any(|other| self.may(Source::Solver(*other)));
        if may {
            return Ok(self.chosen(FactChoice::LinkDown(id, s)));
        }
        Ok(self.supply_lost(link.supply)? || some(others(), |other| self.dead(*other))?)
    }

    /// §3: the mode of a group that `s` knows.
    pub(super) fn known_mode(&self, group: GroupId, s: SolverId) -> Result<ModeId, Impossible> {
        match self.model.mode_input_of.get(&(group, s)) {
            Some(mode_input) => self.shown(*mode_input, s),
            None => self.mode(group),
        }
    }

    /// §3: the mode that a mode input shows `s`.
    pub(super) fn shown(&self, n: ModeInputId, s: SolverId) -> Result<ModeId, Impossible> {
        let input = &self.model.mode_inputs[n];
        let tag = &input.name.tag;
        if !input.tells.contains(&s) {
            return Err(no(format!("{tag} tells {} nothing.", self.model.solvers[s].name.tag)));
        }
        let any = self.may(Source::ModeInput(n))
            || self.routes_may(&input.routes)
            || self.through_may(&input.through)
            || self.supply_lost(input.supply)?
            || self.through_lost(&input.through)?;
        if any {
            let shown = self.situation.mode(self.model, ModeChoice::Shown(n, s));
            return shown.ok_or_else(|| no(format!("{tag} has no modes to show.")));
        }
        self.mode(input.group)
    }
}
