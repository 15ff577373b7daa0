//! How solvers come to know what they use: wired directly, or over a declared link from a solver that knows it.
//!
//! For each signal the solvers are visited in widening circles from those that have it directly, so the shortest
//! chain of links wins and no chain bites its tail. Within a circle the first link of the file that carries the
//! signal decides, and on it the first solver of `connects` that already knows. That a signal has one way only to
//! each solver that uses it is required: where two links bring it, which of the two counts would be the file's order.

use std::collections::BTreeMap;

use super::tag::{Class, listed};
use super::{Lowering, Use};
use crate::model::{Access, CauseId, Element, Id, Link, LinkId, Model, Signal, SolverId};
use crate::problem::Problem;
use crate::source::Span;

/// How every solver that can know a signal comes to know it.
fn reach(model: &Model, signal: Signal) -> BTreeMap<SolverId, Access> {
    let direct: Vec<SolverId> = match signal {
        Signal::Input(input) => model.inputs[input].readers.keys().copied().collect(),
        Signal::Cause(cause) => vec![model.causes[cause].solver],
    };
    let mut known: BTreeMap<SolverId, Access> =
        direct.iter().map(|solver| (*solver, Access::Direct)).collect();
    let carrying: Vec<(LinkId, &Link)> =
        model.links.iter().filter(|(_, link)| link.carries.contains(&signal)).collect();
    let mut circle = direct;
    while !circle.is_empty() {
        let mut next = BTreeMap::new();
        for solver in model.solvers.ids().filter(|solver| !known.contains_key(solver)) {
            let from = |link: &Link| link.connects.iter().copied().find(|other| circle.contains(other));
            let way = carrying
                .iter()
                .filter(|(_, link)| link.connects.contains(&solver))
                .find_map(|(id, link)| from(link).map(|other| Access::Over(*id, other)));
            next.extend(way.map(|way| (solver, way)));
        }
        circle = next.keys().copied().collect();
        known.extend(next);
    }
    known
}

/// Whether what `at` knows came to it through `solver`, or is known to `solver` itself.
fn comes_through(known: &BTreeMap<SolverId, Access>, mut at: SolverId, solver: SolverId) -> bool {
    while at != solver {
        match known.get(&at) {
            Some(Access::Over(_, from)) => at = *from,
            Some(Access::Direct) | None => return false,
        }
    }
    true
}

/// A link other than `over` that could bring the signal to the solver too.
fn second_way(model: &Model, signal: Signal, solver: SolverId, over: LinkId) -> Option<LinkId> {
    let known = reach(model, signal);
    let brings = |link: &Link| {
        link.carries.contains(&signal)
            && link.connects.contains(&solver)
            && link
                .connects
                .iter()
                .any(|other| known.contains_key(other) && !comes_through(&known, *other, solver))
    };
    model.links.iter().find(|(id, link)| *id != over && brings(link)).map(|(id, _)| id)
}

impl Lowering<'_> {
    /// Every signal that a solver takes from a link: no second link brings it there.
    pub(super) fn one_way_each(&mut self) {
        let over = |(key, way): (&(Signal, SolverId), &Access)| match way {
            Access::Over(link, _) => Some((*key, *link)),
            Access::Direct => None,
        };
        let ways: Vec<((Signal, SolverId), LinkId)> = self.model.access.iter().filter_map(over).collect();
        for ((signal, solver), link) in ways {
            let Some(second) = second_way(&self.model, signal, solver, link) else { continue };
            let tag = self.signal_tag(signal);
            let carried = |id: LinkId| {
                let (_, item) = self.doc.links.as_ref()?.entries.get(id.index())?;
                item.carries.items.iter().find(|leaf| leaf.text == tag).map(|leaf| leaf.span)
            };
            let (first_at, second_at) =
                (carried(link).unwrap_or_default(), carried(second).unwrap_or_default());
            let (first, second) = (&self.model.links[link].name.tag, &self.model.links[second].name.tag);
            let to = &self.model.solvers[solver].name;
            let message = format!("both `{first}` and `{second}` bring `{tag}` to `{}`", to.tag);
            let help = format!(
                "`{0}` takes it from one link: take `{tag}` out of `carries` of the other; of two links that stand in \
                 for each other, keep the one whose loss is worse",
                to.tag
            );
            let problem = Problem::new("two-ways", second_at, message, "which of the two counts?")
                .help(help)
                .also(first_at, "the other link carries it here")
                .also(to.span, "the logic solver that takes it");
            self.report(problem);
        }
    }

    fn signal_tag(&self, signal: Signal) -> String {
        match signal {
            Signal::Input(input) => self.model.inputs[input].name.tag.clone(),
            Signal::Cause(cause) => self.model.causes[cause].name.tag.clone(),
        }
    }

    /// Enters how a solver knows a signal, with every step between; false if it cannot know it.
    fn enter(&mut self, signal: Signal, solver: SolverId) -> bool {
        if self.model.access.contains_key(&(signal, solver)) {
            return true;
        }
        let known = reach(&self.model, signal);
        if !known.contains_key(&solver) {
            return false;
        }
        let mut at = solver;
        while let Some(way) = known.get(&at) {
            self.model.access.insert((signal, at), *way);
            match way {
                Access::Direct => break,
                Access::Over(_, from) => at = *from,
            }
        }
        true
    }

    /// Whether something could not be resolved that may have been the way of this signal.
    fn way_may_be_lost(&self, signal: Signal) -> bool {
        let loose = match signal {
            Signal::Input(input) => self.loose.contains(&Element::Input(input)),
            Signal::Cause(cause) => self.unsound.contains(&Element::Cause(cause)),
        };
        loose || self.loose.iter().any(|element| matches!(element, Element::Link(_)))
    }

    /// Everything that conditions of causes use.
    pub(super) fn access_of_uses(&mut self) {
        for (cause, used, span) in self.uses.clone() {
            if self.unsound.contains(&Element::Cause(cause)) {
                continue;
            }
            let solver = self.model.causes[cause].solver;
            match used {
                Use::Signal(signal) => {
                    if !self.enter(signal, solver) && !self.way_may_be_lost(signal) {
                        self.not_known(signal, solver, span);
                    }
                }
                Use::ModeInput(input) => {
                    let tells = self.model.mode_inputs[input].tells.contains(&solver);
                    if !tells && !self.loose.contains(&Element::ModeInput(input)) {
                        self.not_told(
                            Element::ModeInput(input),
                            solver,
                            span,
                            "add it to `tells` of the mode input",
                        );
                    }
                }
                Use::Link(link) => {
                    let connects = self.model.links[link].connects.contains(&solver);
                    if !connects && !self.loose.contains(&Element::Link(link)) {
                        self.not_told(
                            Element::Link(link),
                            solver,
                            span,
                            "only a solver that a link connects notices its loss",
                        );
                    }
                }
            }
        }
    }

    fn not_known(&mut self, signal: Signal, solver: SolverId, span: Span) {
        let to = self.model.solvers[solver].name.clone();
        let (name, message, help) = match signal {
            Signal::Input(input) => {
                let name = self.model.inputs[input].name.clone();
                let message =
                    format!("`{}` is not wired to `{}`, and no link brings it there", name.tag, to.tag);
                let help = format!(
                    "add `{}` to `wired_to` of `{}`, or let a link that connects `{}` carry it",
                    to.tag, name.tag, to.tag
                );
                (name, message, help)
            }
            Signal::Cause(cause) => {
                let name = self.model.causes[cause].name.clone();
                let at = &self.model.solvers[self.model.causes[cause].solver].name.tag;
                let message =
                    format!("`{}` is evaluated by `{at}`, and no link brings it to `{}`", name.tag, to.tag);
                let help = format!("let a link that connects `{at}` and `{}` carry `{}`", to.tag, name.tag);
                (name, message, help)
            }
        };
        self.report(
            Problem::new("not-known-to-solver", span, message, format!("not known to `{}`", to.tag))
                .help(help)
                .also(name.span, "declared here")
                .also(to.span, "the logic solver that evaluates the cause"),
        );
    }

    fn not_told(&mut self, what: Element, solver: SolverId, span: Span, help: &str) {
        let (tag, to) = (self.model.tag(what).to_string(), self.model.solvers[solver].name.clone());
        let word = self.model.kind_word(what);
        self.report(
            Problem::new(
                "not-known-to-solver",
                span,
                format!("the {word} `{tag}` does not reach `{}`", to.tag),
                format!("not known to `{}`", to.tag),
            )
            .help(help)
            .also(to.span, "the logic solver that evaluates the cause"),
        );
    }

    /// Every mark: some driver of each actuator must know the cause.
    pub(super) fn access_of_marks(&mut self) {
        for (number, (_, item)) in self.doc.causes.entries.iter().enumerate() {
            let cause = CauseId::from_index(number);
            if self.unsound.contains(&Element::Cause(cause)) {
                continue;
            }
            for leaf in &item.demands.items {
                let declared =
                    self.declared(&leaf.text, &[Class::Effect]).filter(|d| d.class == Class::Effect);
                let Some(effect) = declared.map(|d| crate::model::EffectId::from_index(d.index)) else {
                    continue;
                };
                let set = self.model.effects[effect].set.clone();
                for (actuator, _) in set {
                    self.mark(cause, actuator, leaf.span);
                }
            }
        }
    }

    fn mark(&mut self, cause: CauseId, actuator: crate::model::ActuatorId, span: Span) {
        let drivers = self.model.actuators[actuator].drivers.clone();
        let solvers: Vec<SolverId> =
            drivers.iter().map(|driver| self.model.drivers[*driver].solver).collect();
        let mut acts = false;
        for solver in &solvers {
            acts |= self.enter(Signal::Cause(cause), *solver);
        }
        if acts
            || self.loose.contains(&Element::Actuator(actuator))
            || self.way_may_be_lost(Signal::Cause(cause))
        {
            return;
        }
        let own = &self.model.solvers[self.model.causes[cause].solver].name.tag;
        let (cause, actuator) = (&self.model.causes[cause].name, &self.model.actuators[actuator].name);
        let names: Vec<&str> = solvers.iter().map(|id| self.model.solvers[*id].name.tag.as_str()).collect();
        let (message, help) = match names.is_empty() {
            true => (
                format!("`{}` cannot move `{}`: nothing drives it", cause.tag, actuator.tag),
                "name its drivers under `drivers`".to_string(),
            ),
            false => (
                format!("`{}` cannot move `{}`: `{own}` does not drive it", cause.tag, actuator.tag),
                format!(
                    "it is driven by {}: evaluate the cause there, add `{own}` to its drivers, or let a link carry `{}` there",
                    listed(names),
                    cause.tag
                ),
            ),
        };
        let problem = Problem::new("mark-without-way", span, message, "no way to the actuator")
            .help(help)
            .also(actuator.span, "the actuator");
        self.report(problem);
    }
}
