//! §3 of `docs/meaning.md`: what a solver sees of an input.
//!
//! A view is a list of cases with disjoint guards; each case says where the value comes from. Comparing a view is the
//! OR over its cases, so that no real-valued choice ever stands inside the comparison of another.

use std::collections::BTreeSet;

use super::Encoder;
use crate::exact::Exact;
use crate::model::{
    Access, ContactId, Input, InputId, Link, LinkId, Lost, ModeInputId, Observes, Path, Relation, RouteId,
    Signal, SolverId, Source,
};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::syntax::kind::{InputFailure, LineKind, LinkLoss};
use crate::term::TermId;

/// Where the value of a view comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shows {
    /// What the input itself would show.
    True,
    /// `Reading(i,s)` or `Asserted(i,s)` of this reader.
    Anything(SolverId),
    /// The low end of the range.
    Low,
    /// The high end of the range.
    High,
    /// A fixed Boolean value.
    Fixed(bool),
    /// No value: bad.
    Bad,
    /// No value: nothing arrives, and that votes to trip.
    MissingTrips,
    /// No value: nothing arrives, and that does not vote to trip.
    MissingNoTrip,
}

/// Cases with disjoint guards that cover everything.
pub(super) type View = Vec<(TermId, Shows)>;

/// Collects cases in order of precedence: each takes what the ones before it left.
struct Cases<'e, 'm> {
    encoder: &'e mut Encoder<'m>,
    left: TermId,
    cases: View,
}

impl Cases<'_, '_> {
    fn when(&mut self, condition: TermId, shows: Shows) {
        let guard = self.encoder.terms.both(self.left, condition);
        if guard != self.encoder.terms.no() {
            self.cases.push((guard, shows));
        }
        let not = self.encoder.terms.not(condition);
        self.left = self.encoder.terms.both(self.left, not);
    }

    fn otherwise(mut self, view: View) -> View {
        for (guard, shows) in view {
            let guard = self.encoder.terms.both(self.left, guard);
            if guard != self.encoder.terms.no() {
                self.cases.push((guard, shows));
            }
        }
        self.cases
    }
}

impl<'m> Encoder<'m> {
    fn cases(&mut self) -> Cases<'_, 'm> {
        let left = self.terms.yes();
        Cases { encoder: self, left, cases: Vec::new() }
    }

    /// sees(i, s).
    pub(super) fn sees(&mut self, input: InputId, solver: SolverId) -> View {
        if let Some(view) = self.views.get(&(input, solver)) {
            return view.clone();
        }
        let model = self.model;
        let view = match model.access.get(&(Signal::Input(input), solver)) {
            Some(Access::Over(link, from)) => self.sees_over(input, solver, *link, *from),
            Some(Access::Direct) | None => match model.inputs[input].readers.get(&solver) {
                Some(path) => self.sees_directly(input, solver, path),
                // The model guarantees access; without any, nothing can be known, so anything may be shown.
                None => vec![(self.terms.yes(), Shows::Anything(solver))],
            },
        };
        self.mention_readings(input, &view);
        self.views.insert((input, solver), view.clone());
        view
    }

    /// Readings that may be anything lie in the range of the instrument.
    fn mention_readings(&mut self, input: InputId, view: &View) {
        let model = self.model;
        let Observes::Quantity { range, .. } = &model.inputs[input].observes else { return };
        for (_, shows) in view {
            if let Shows::Anything(reader) = shows {
                self.within(NumberChoice::Reading(input, *reader), &range.low, &range.high);
            }
        }
    }

    /// Some route of a line misbehaves.
    pub(super) fn any_route(&mut self, routes: &[RouteId]) -> TermId {
        let each: Vec<TermId> = routes.iter().map(|route| self.active(Source::Route(*route))).collect();
        self.terms.or(each)
    }

    /// The input's own misbehaviour, (own, wild). A loop has none: its contacts and its line have.
    fn input_misbehaves(&mut self, id: InputId, input: &Input) -> (TermId, TermId) {
        match input.observes {
            Observes::Loop { .. } => (self.terms.no(), self.terms.no()),
            _ => (self.own(Source::Input(id), &input.parents), self.wild(Source::Input(id), &input.parents)),
        }
    }

    fn sees_directly(&mut self, id: InputId, solver: SolverId, path: &Path) -> View {
        let model = self.model;
        let input = &model.inputs[id];
        let (own, wild) = self.input_misbehaves(id, input);
        let through: Vec<TermId> = path
            .through
            .iter()
            .map(|c| self.misbehaves(Source::Conditioner(*c), &model.conditioners[*c].parents))
            .collect();
        let through = self.terms.or(through);
        let deviates = self.deviation(id, solver, own, wild, through);
        let bad = self.fact(FactChoice::Bad(id, solver));
        let deviates_bad = self.terms.both(deviates, bad);

        let dark: Vec<TermId> =
            path.through.iter().map(|c| self.without(model.conditioners[*c].supply)).collect();
        let dark = self.terms.or(dark);
        let mut disturbed = vec![self.any_route(&path.routes)];
        if matches!(input.observes, Observes::Loop { .. }) {
            disturbed.push(self.active(Source::LoopLine(id)));
        }
        let disturbed = self.terms.or(disturbed);
        let open = self.fact(FactChoice::LineOpen(id, solver));
        let open = self.terms.both(disturbed, open);
        let held = self.fact(FactChoice::LineHeld(id, solver));
        let held = match input.line {
            LineKind::Plain => self.terms.both(disturbed, held),
            LineKind::Monitored | LineKind::Dynamic => self.terms.no(),
        };
        let unpowered = match self.blind && input.warm_up.is_some() {
            true => self.terms.yes(),
            false => self.without(input.supply),
        };
        let loss = loss_reaction(input.on_loss, solver);
        let line_open = match input.observes {
            Observes::Loop { .. } => Shows::Fixed(true),
            _ => loss,
        };
        let yes = self.terms.yes();
        let mut cases = self.cases();
        cases.when(deviates_bad, Shows::Bad);
        cases.when(deviates, Shows::Anything(solver));
        cases.when(dark, loss);
        cases.when(open, line_open);
        cases.when(held, Shows::Anything(solver));
        cases.when(unpowered, loss);
        cases.otherwise(vec![(yes, Shows::True)])
    }

    /// `Deviates(i,s)` where something may make it deviate, with the rules of its declared directions.
    fn deviation(
        &mut self,
        id: InputId,
        solver: SolverId,
        own: TermId,
        wild: TermId,
        through: TermId,
    ) -> TermId {
        let may = self.terms.or([own, wild, through]);
        if may == self.terms.no() {
            return may;
        }
        let chosen = self.fact(FactChoice::Deviates(id, solver));
        let deviates = self.terms.both(may, chosen);
        let model = self.model;
        let input = &model.inputs[id];
        let stop = matches!(input.observes, Observes::Stop(_));
        let directions = match &input.fails {
            Some(directions) => directions.clone(),
            None if stop => BTreeSet::from([InputFailure::Detected, InputFailure::Clear]),
            None => return deviates,
        };
        // A stop contact never shows bad by itself, whatever makes it misbehave; a conditioner can.
        let limited = if stop {
            self.terms.not(through)
        } else {
            let free = self.terms.either(wild, through);
            self.terms.not(free)
        };
        let limited = self.terms.both(deviates, limited);
        let allowed = self.direction_allowed(id, solver, &directions);
        let rule = self.terms.implies(limited, allowed);
        self.possible.push(rule);
        deviates
    }

    fn direction_allowed(
        &mut self,
        id: InputId,
        solver: SolverId,
        directions: &BTreeSet<InputFailure>,
    ) -> TermId {
        let bad = self.fact(FactChoice::Bad(id, solver));
        let model = self.model;
        let (up, down) = match &model.inputs[id].observes {
            Observes::Quantity { quantity, range, .. } => {
                let reading = NumberChoice::Reading(id, solver);
                self.within(reading, &range.low, &range.high);
                let mut sum = self.true_sum(id, *quantity);
                sum.push((Exact::int(-1), reading));
                // reading ≤ clamp(x) is reading ≤ x or reading at the low end; and the other way round.
                let below = self.terms.compare(&sum, Relation::AtLeast, &Exact::zero());
                let above = self.terms.compare(&sum, Relation::AtMost, &Exact::zero());
                let one = [(Exact::int(1), reading)];
                let at_low = self.terms.compare(&one, Relation::AtMost, &range.low);
                let at_high = self.terms.compare(&one, Relation::AtLeast, &range.high);
                (self.terms.either(above, at_high), self.terms.either(below, at_low))
            }
            Observes::Condition { .. } | Observes::Loop { .. } | Observes::Stop(_) => {
                let asserted = self.fact(FactChoice::Asserted(id, solver));
                (asserted, self.terms.not(asserted))
            }
        };
        let mut values = Vec::new();
        if directions.contains(&InputFailure::High) || directions.contains(&InputFailure::Detected) {
            values.push(up);
        }
        if directions.contains(&InputFailure::Low) || directions.contains(&InputFailure::Clear) {
            values.push(down);
        }
        let value = self.terms.or(values);
        let may_be_bad = self.terms.constant(directions.contains(&InputFailure::Bad));
        self.terms.choose(bad, may_be_bad, value)
    }

    fn link_misbehaves(&mut self, id: LinkId, link: &Link) -> TermId {
        let own = self.misbehaves(Source::Link(id), &link.parents);
        let routes = self.any_route(&link.routes);
        self.terms.either(own, routes)
    }

    /// (deviates, nothing arrives) of a signal that reaches a solver over a link (§3, §4): `chosen` and `silent` are
    /// the situation's choices for it.
    pub(super) fn over_link(
        &mut self,
        id: LinkId,
        from: SolverId,
        chosen: FactChoice,
        silent: FactChoice,
    ) -> (TermId, TermId) {
        let model = self.model;
        let link = &model.links[id];
        let broken = self.link_misbehaves(id, link);
        let wild = self.wild(Source::Link(id), &link.parents);
        let sender = self.solver_misbehaves(from);
        let may = self.terms.either(broken, sender);
        let chosen = self.fact(chosen);
        let deviates = self.terms.both(may, chosen);
        let silent = self.fact(silent);
        let only_silent = match link.supervised {
            true => {
                let anything = self.terms.either(sender, wild);
                self.terms.not(anything)
            }
            false => self.terms.no(),
        };
        let silent = self.terms.either(silent, only_silent);
        let deviates_silent = self.terms.both(deviates, silent);
        let dead = self.dead(from);
        let unpowered = self.without(link.supply);
        let dark = self.terms.either(dead, unpowered);
        let healthy = self.terms.not(deviates);
        let healthy_dark = self.terms.both(healthy, dark);
        (deviates, self.terms.either(deviates_silent, healthy_dark))
    }

    fn sees_over(&mut self, id: InputId, solver: SolverId, link: LinkId, from: SolverId) -> View {
        let (deviates, nothing) =
            self.over_link(link, from, FactChoice::Deviates(id, solver), FactChoice::Silent(id, solver));
        let bad = self.fact(FactChoice::Bad(id, solver));
        let deviates_bad = self.terms.both(deviates, bad);
        let sent = self.sees(id, from);
        let lost = match self.model.links[link].on_loss {
            LinkLoss::Trips => Shows::MissingTrips,
            LinkLoss::NoTrip => Shows::MissingNoTrip,
            LinkLoss::Bad => Shows::Bad,
            LinkLoss::Holds => Shows::Anything(solver),
        };
        let mut cases = self.cases();
        cases.when(nothing, lost);
        cases.when(deviates_bad, Shows::Bad);
        cases.when(deviates, Shows::Anything(solver));
        cases.otherwise(sent)
    }

    /// quantity + Error(i), before clamping.
    fn true_sum(&mut self, id: InputId, quantity: crate::model::QuantityId) -> Vec<(Exact, NumberChoice)> {
        let model = self.model;
        let mut sum = vec![(Exact::int(1), self.quantity(quantity))];
        if let Observes::Quantity { accuracy, .. } = &model.inputs[id].observes
            && !accuracy.is_zero()
        {
            let error = NumberChoice::Error(id);
            self.within(error, &-accuracy, accuracy);
            sum.push((Exact::int(1), error));
        }
        sum
    }

    /// The value of a case of a sensor's view compares; no for a case without a value.
    pub(super) fn value_compares(
        &mut self,
        id: InputId,
        shows: Shows,
        relation: Relation,
        with: &Exact,
    ) -> TermId {
        let model = self.model;
        let Observes::Quantity { quantity, range, .. } = &model.inputs[id].observes else {
            return self.terms.no();
        };
        match shows {
            Shows::True => {
                let sum = self.true_sum(id, *quantity);
                // A saturated reading stands at the end of the range: what the ends decide alike is decided, and an
                // ordering that only one end meets is not changed by clamping.
                let (at_low, at_high) = (relation.holds(&range.low, with), relation.holds(&range.high, with));
                let ordering = !matches!(relation, Relation::Equal | Relation::Differs);
                if ordering && at_low == at_high {
                    return self.terms.constant(at_low);
                }
                let inside = self.terms.compare(&sum, relation, with);
                if ordering {
                    return inside;
                }
                let below = self.terms.compare(&sum, Relation::AtMost, &range.low);
                let above = self.terms.compare(&sum, Relation::AtLeast, &range.high);
                let (low, high) = (self.terms.constant(at_low), self.terms.constant(at_high));
                let rest = self.terms.choose(above, high, inside);
                self.terms.choose(below, low, rest)
            }
            Shows::Anything(reader) => {
                self.terms.compare(&[(Exact::int(1), NumberChoice::Reading(id, reader))], relation, with)
            }
            Shows::Low => self.terms.constant(relation.holds(&range.low, with)),
            Shows::High => self.terms.constant(relation.holds(&range.high, with)),
            Shows::Fixed(_) | Shows::Bad | Shows::MissingTrips | Shows::MissingNoTrip => self.terms.no(),
        }
    }

    /// The value of a case of a switch's, loop's or stop contact's view is asserted; no for a case without a value.
    pub(super) fn value_asserted(&mut self, id: InputId, shows: Shows) -> TermId {
        let model = self.model;
        match shows {
            Shows::True => match &model.inputs[id].observes {
                Observes::Condition { condition, negated } => {
                    let holds = self.condition(*condition);
                    if *negated { self.terms.not(holds) } else { holds }
                }
                Observes::Loop { contacts, .. } => {
                    let open: Vec<TermId> =
                        contacts.iter().map(|contact| self.contact_open(*contact)).collect();
                    self.terms.or(open)
                }
                Observes::Stop(stop) => self.fact(FactChoice::Pressed(*stop)),
                Observes::Quantity { .. } => self.terms.no(),
            },
            Shows::Anything(reader) => self.fact(FactChoice::Asserted(id, reader)),
            Shows::Fixed(value) => self.terms.constant(value),
            Shows::Low | Shows::High | Shows::Bad | Shows::MissingTrips | Shows::MissingNoTrip => {
                self.terms.no()
            }
        }
    }

    fn contact_open(&mut self, id: ContactId) -> TermId {
        let model = self.model;
        let contact = &model.contacts[id];
        let holds = self.condition(contact.condition);
        let healthy = if contact.negated { self.terms.not(holds) } else { holds };
        let faulty = self.misbehaves(Source::Contact(id), &contact.parents);
        let closed = self.fact(FactChoice::ContactClosed(id));
        let open = self.terms.not(closed);
        self.terms.choose(faulty, open, healthy)
    }

    /// Link lost, as a solver diagnoses it.
    pub(super) fn link_lost(&mut self, id: LinkId, solver: SolverId) -> TermId {
        let model = self.model;
        let link = &model.links[id];
        let others: Vec<SolverId> = link.connects.iter().copied().filter(|other| *other != solver).collect();
        let mut may = vec![self.link_misbehaves(id, link)];
        let mut dark = vec![self.without(link.supply)];
        for other in others {
            may.push(self.solver_misbehaves(other));
            dark.push(self.dead(other));
        }
        let may = self.terms.or(may);
        let dark = self.terms.or(dark);
        let down = self.fact(FactChoice::LinkDown(id, solver));
        self.terms.choose(may, down, dark)
    }

    /// The choice of mode that a solver goes by, where its mode input may show any (guard), else the mode that holds.
    pub(super) fn mode_input_misled(&mut self, id: ModeInputId) -> TermId {
        let model = self.model;
        let input = &model.mode_inputs[id];
        let mut any =
            vec![self.misbehaves(Source::ModeInput(id), &input.parents), self.any_route(&input.routes)];
        any.push(self.without(input.supply));
        for conditioner in &input.through {
            let element = &model.conditioners[*conditioner];
            any.push(self.misbehaves(Source::Conditioner(*conditioner), &element.parents));
            any.push(self.without(element.supply));
        }
        self.terms.or(any)
    }

    /// The mode that a solver knows by a mode input is one of these.
    pub(super) fn shown_among(
        &mut self,
        input: ModeInputId,
        solver: SolverId,
        modes: &BTreeSet<crate::model::ModeId>,
    ) -> TermId {
        let misled = self.mode_input_misled(input);
        let group = self.model.mode_inputs[input].group;
        let truth = self.mode_among(ModeChoice::Holds(group), modes);
        if misled == self.terms.no() {
            return truth;
        }
        let shown = self.mode_among(ModeChoice::Shown(input, solver), modes);
        self.terms.choose(misled, shown, truth)
    }
}

fn loss_reaction(lost: Lost, solver: SolverId) -> Shows {
    match lost {
        Lost::Low => Shows::Low,
        Lost::High => Shows::High,
        Lost::Asserted => Shows::Fixed(true),
        Lost::Cleared => Shows::Fixed(false),
        Lost::Bad => Shows::Bad,
        Lost::Holds => Shows::Anything(solver),
    }
}
