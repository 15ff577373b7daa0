//! What the parts on the way in do when they misbehave: inputs, contacts, lines, conditioners, supplies, links, mode
//! inputs, override devices. One function per kind of source.
//!
//! Where several parts on the way may misbehave, the one nearest to the signal's origin is named.

use std::collections::BTreeMap;

use crate::model::{
    Access, CauseId, ConditionerId, ContactId, Element, InputId, LinkId, ModeInputId, Observes, OverrideId,
    RouteId, Signal, SolverId, Source, SupplyId,
};
use crate::replay::{Known, Seen, Value};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::syntax::kind::LineKind;

use super::broken::Deed;
use super::{Teller, words};

impl Teller<'_> {
    pub(super) fn may(&self, source: Source) -> bool {
        self.blame.may(self.model, source)
    }

    /// The part that makes a wired input differ from what it should show; `None` if it does not.
    pub(super) fn deviation(&self, input: InputId, solver: SolverId) -> Option<Source> {
        if !self.fact(FactChoice::Deviates(input, solver)) {
            return None;
        }
        let path = self.model.inputs[input].readers.get(&solver)?;
        let is_loop = matches!(self.model.inputs[input].observes, Observes::Loop { .. });
        if !is_loop && self.may(Source::Input(input)) {
            return Some(Source::Input(input));
        }
        path.through.iter().map(|id| Source::Conditioner(*id)).find(|source| self.may(*source))
    }

    /// The part that disturbs the line of an input; `None` if it does not matter or there is none.
    pub(super) fn disturbance(&self, input: InputId, solver: SolverId) -> Option<Source> {
        if self.deviation(input, solver).is_some() {
            return None;
        }
        let path = self.model.inputs[input].readers.get(&solver)?;
        let is_loop = matches!(self.model.inputs[input].observes, Observes::Loop { .. });
        let line = Source::LoopLine(input);
        if is_loop && self.may(line) {
            return Some(line);
        }
        path.routes.iter().map(|id| Source::Route(*id)).find(|source| self.may(*source))
    }

    /// The part that may make a signal over a link differ.
    fn on_link(&self, link: LinkId, from: SolverId) -> Option<Source> {
        let routes = self.model.links[link].routes.iter().map(|id| Source::Route(*id));
        let mut parts = std::iter::once(Source::Link(link)).chain(routes).chain([Source::Solver(from)]);
        parts.find(|source| self.may(*source))
    }

    /// What a solver sees of an input, as text; remembers that it has been told.
    fn reading(&self, input: InputId, solver: SolverId) -> Option<String> {
        let seen = self.replay.seen.get(&(input, solver))?;
        self.readings_told.borrow_mut().insert((input, solver));
        Some(words::seen(self.model, input, seen))
    }

    /// `, while solvent is at 40 %LFL`.
    fn while_truth(&self, input: InputId) -> String {
        match &self.model.inputs[input].observes {
            Observes::Quantity { quantity, .. } => {
                let value = self.situation.number(self.model, NumberChoice::Quantity(*quantity));
                let text = words::of_quantity(self.model, *quantity, &value);
                format!(", while {} is at {text}", self.tag(Element::Quantity(*quantity)))
            }
            Observes::Condition { condition, .. } => {
                format!(", while {} is {}", self.tag(Element::Condition(*condition)), self.holds(*condition))
            }
            Observes::Stop(stop) => {
                let pressed = if self.fact(FactChoice::Pressed(*stop)) { "pressed" } else { "not pressed" };
                format!(", while {} is {pressed}", self.tag(Element::Stop(*stop)))
            }
            Observes::Loop { .. } => String::new(),
        }
    }

    /// A sensor, switch or stop contact: what it shows to whom.
    pub(super) fn input_deeds(&self, id: InputId) -> Vec<Deed> {
        let mut shows: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (_, solver) in self.cone.sees.iter().filter(|(input, _)| *input == id) {
            if self.deviation(id, *solver) == Some(Source::Input(id))
                && let Some(text) = self.reading(id, *solver)
            {
                shows.entry(text).or_default().push(self.tag(Element::Solver(*solver)).to_string());
            }
        }
        let truth = self.while_truth(id);
        let deed = |(text, to): (String, Vec<String>)| {
            Deed::Does(format!("shows {text} to {}{truth}", words::list(&to)))
        };
        shows.into_iter().map(deed).collect()
    }

    /// A contact of a loop: it stays closed, or it is open without reason.
    pub(super) fn contact_deeds(&self, id: ContactId) -> Vec<Deed> {
        let contact = &self.model.contacts[id];
        let opens = self.holds(contact.condition) != contact.negated;
        let closed = self.fact(FactChoice::ContactClosed(id));
        let truth = format!(
            "while {} is {}",
            self.tag(Element::Condition(contact.condition)),
            self.holds(contact.condition)
        );
        match (opens, closed) {
            (true, true) => vec![Deed::Does(format!("stays closed, {truth}"))],
            (false, false) => vec![Deed::Does(format!("is open, {truth}"))],
            (true, false) | (false, true) => Vec::new(),
        }
    }

    /// The line of a loop: open, or bridged.
    pub(super) fn loop_line_deeds(&self, id: InputId) -> Vec<Deed> {
        let ends = self.cone.sees.iter().filter(|(input, _)| *input == id);
        ends.filter_map(|(_, solver)| self.line_deed(id, *solver, Source::LoopLine(id))).collect()
    }

    fn line_deed(&self, input: InputId, solver: SolverId, by: Source) -> Option<Deed> {
        if self.disturbance(input, solver) != Some(by) {
            return None;
        }
        let plain = self.model.inputs[input].line == LineKind::Plain;
        let open = self.fact(FactChoice::LineOpen(input, solver));
        let held = plain && self.fact(FactChoice::LineHeld(input, solver));
        if !open && !held {
            return None;
        }
        let shows = self.reading(input, solver)?;
        let seen = self.replay.seen.get(&(input, solver))?;
        let is_loop = matches!(self.model.inputs[input].observes, Observes::Loop { .. });
        let how = match (open, seen) {
            (true, _) => "open",
            (false, Seen::Shows(Value::Asserted(false))) if is_loop => "bridged",
            (false, _) => "held",
        };
        let so = match seen {
            Seen::Shows(Value::Number(_)) => format!("reads {shows}"),
            Seen::Shows(Value::Asserted(_)) => format!("sees it {shows}"),
            Seen::Bad | Seen::MissingTrips | Seen::MissingNoTrip => format!("gets {shows}"),
        };
        let (tag, to) = (self.tag(Element::Input(input)), self.tag(Element::Solver(solver)));
        Some(match by {
            Source::LoopLine(_) => Deed::Is(format!("is {how}, so {to} {so}")),
            _ => Deed::Says(format!("the line from {tag} to {to} is {how}, so {to} {so}")),
        })
    }

    /// A conditioner: what it passes on.
    pub(super) fn conditioner_deeds(&self, id: ConditionerId) -> Vec<Deed> {
        let by = Source::Conditioner(id);
        let mut deeds = Vec::new();
        for (input, solver) in &self.cone.sees {
            if self.deviation(*input, *solver) == Some(by)
                && let Some(text) = self.reading(*input, *solver)
            {
                let (tag, to) = (self.tag(Element::Input(*input)), self.tag(Element::Solver(*solver)));
                let truth = self.while_truth(*input);
                deeds.push(Deed::Does(format!("passes {tag} on to {to} as {text}{truth}")));
            }
        }
        deeds.extend(self.mode_shown_by(by));
        deeds
    }

    /// A supply: it is lost.
    pub(super) fn supply_deeds(&self, id: SupplyId) -> Vec<Deed> {
        let lost = self.may(Source::Supply(id)) && self.fact(FactChoice::Lost(id));
        if lost { vec![Deed::Is("is lost".into())] } else { Vec::new() }
    }

    /// A cable route: every line on it that is open or held.
    pub(super) fn route_deeds(&self, id: RouteId) -> Vec<Deed> {
        let by = Source::Route(id);
        let ends = self.cone.sees.iter();
        let mut deeds: Vec<Deed> =
            ends.filter_map(|(input, solver)| self.line_deed(*input, *solver, by)).collect();
        deeds.extend(self.mode_shown_by(by));
        deeds.extend(self.passed_by(by));
        deeds.extend(self.actuator_lines(id));
        deeds
    }

    /// A link: what it passes on.
    pub(super) fn link_deeds(&self, id: LinkId) -> Vec<Deed> {
        self.passed_by(Source::Link(id))
    }

    /// What arrives otherwise over links because of one part.
    pub(super) fn passed_by(&self, by: Source) -> Vec<Deed> {
        let mut deeds = Vec::new();
        for (input, solver) in &self.cone.sees {
            let Some(link) = self.link_to(Signal::Input(*input), *solver, by) else { continue };
            if self.fact(FactChoice::Deviates(*input, *solver))
                && let Some(text) = self.reading(*input, *solver)
            {
                let tag = self.tag(Element::Input(*input));
                deeds.push(self.arrives(tag, link, *solver, &text));
            }
        }
        for (cause, solver) in &self.cone.knows {
            let Some(link) = self.link_to(Signal::Cause(*cause), *solver, by) else { continue };
            if self.fact(FactChoice::CauseDeviates(*cause, *solver))
                && let Some(known) = self.replay.known.get(&(*cause, *solver))
            {
                let text = known_text(*known);
                deeds.push(self.arrives(self.tag(Element::Cause(*cause)), link, *solver, text));
            }
        }
        for (link, solver) in &self.cone.links_asked {
            let from = self.model.links[*link].connects.iter().find(|other| *other != solver);
            let part = from.and_then(|from| self.on_link(*link, *from));
            if part == Some(by) && self.replay.lost_links.contains(&(*link, *solver)) {
                let (to, link) = (self.tag(Element::Solver(*solver)), self.tag(Element::Link(*link)));
                deeds.push(Deed::Says(format!("{to} sees {link} as lost")));
            }
        }
        deeds
    }

    /// The link by which a signal reaches a solver, where `by` may change it on that way.
    fn link_to(&self, signal: Signal, solver: SolverId, by: Source) -> Option<LinkId> {
        match self.model.access.get(&(signal, solver)) {
            Some(Access::Over(link, from)) if self.on_link(*link, *from) == Some(by) => Some(*link),
            _ => None,
        }
    }

    /// The part that may change a signal on its way over the link by which it reaches a solver.
    pub(super) fn arrives_by(&self, signal: Signal, solver: SolverId) -> Option<Source> {
        match self.model.access.get(&(signal, solver)) {
            Some(Access::Over(link, from)) => self.on_link(*link, *from),
            _ => None,
        }
    }

    /// Whether what a solver sees of an input really deviates.
    pub(super) fn deviates(&self, input: InputId, solver: SolverId) -> bool {
        self.deviation(input, solver).is_some() || self.arrives_by(Signal::Input(input), solver).is_some()
    }

    fn arrives(&self, tag: &str, link: LinkId, solver: SolverId, what: &str) -> Deed {
        let (link, to) = (self.tag(Element::Link(link)), self.tag(Element::Solver(solver)));
        Deed::Says(match what {
            "nothing" => format!("nothing of {tag} arrives at {to} over {link}"),
            _ => format!("over {link}, {to} sees {tag} as {what}"),
        })
    }

    /// A mode input: the mode that it shows instead.
    pub(super) fn mode_input_deeds(&self, id: ModeInputId) -> Vec<Deed> {
        self.mode_shown_by(Source::ModeInput(id))
    }

    /// Mode inputs that show another mode because of one part.
    fn mode_shown_by(&self, by: Source) -> Vec<Deed> {
        let mut deeds = Vec::new();
        for (id, input) in self.model.mode_inputs.iter() {
            let routes = input.routes.iter().map(|id| Source::Route(*id));
            let through = input.through.iter().map(|id| Source::Conditioner(*id));
            let mut parts = std::iter::once(Source::ModeInput(id)).chain(routes).chain(through);
            if !self.cone.elements.contains(&Element::ModeInput(id))
                || parts.find(|part| self.may(*part)) != Some(by)
            {
                continue;
            }
            let truth = self.situation.mode(self.model, ModeChoice::Holds(input.group));
            for solver in &input.tells {
                let Some(mode) = self.replay.shown_modes.get(&(id, *solver)) else { continue };
                let asked = self.cone.elements.contains(&Element::Solver(*solver));
                if !asked || Some(*mode) == truth {
                    continue;
                }
                let (to, mode) = (self.tag(Element::Solver(*solver)), self.tag(Element::Mode(*mode)));
                deeds.push(match by {
                    Source::ModeInput(_) => Deed::Does(format!("shows mode {mode} to {to}")),
                    _ => {
                        Deed::Says(format!("{} shows mode {mode} to {to}", self.tag(Element::ModeInput(id))))
                    }
                });
            }
        }
        deeds
    }

    /// An override device: what it has taken out.
    pub(super) fn override_deeds(&self, id: OverrideId) -> Vec<Deed> {
        let inputs = self.model.overrides[id].inputs.iter();
        let taken: Vec<String> = inputs
            .filter(|input| self.fact(FactChoice::Overridden(id, **input)))
            .filter(|input| self.cone.elements.contains(&Element::Input(**input)))
            .map(|input| self.tag(Element::Input(*input)).to_string())
            .collect();
        if taken.is_empty() {
            Vec::new()
        } else {
            vec![Deed::Does(format!("overrides {}", words::list(&taken)))]
        }
    }

    /// Whether a solver acts on a cause as true.
    pub(super) fn knows_true(&self, end: (CauseId, SolverId)) -> bool {
        matches!(self.replay.known.get(&end), Some(Known::Is(true) | Known::MissingTrips))
    }
}

fn known_text(known: Known) -> &'static str {
    match known {
        Known::Is(true) => "true",
        Known::Is(false) => "false",
        Known::MissingTrips | Known::MissingNoTrip => "nothing",
    }
}
