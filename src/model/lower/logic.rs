//! Lowers logic: solvers, links, resets, override devices, effects and causes.
//!
//! Conditions of causes are read in `cause`; whether a solver knows what it uses is decided in `access`.

use std::collections::BTreeMap;

use super::Lowering;
use super::calculation::field::Field;
use super::leaf::written;
use super::plant::{nobody, one_line};
use super::tag::Class;
use crate::model::{
    Cause, CauseId, Degraded, Device, Effect, EffectId, Element, HazardId, Id, InputAtom, Link, Override,
    Parents, Reset, ResetId, Signal, Solver, SolverId, Time, Tree, WithoutEnergy,
};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::document;
use crate::syntax::kind::{LinkLoss, Purpose, ResetEdge, Words};
use crate::syntax::leaf::{List, Scalar};

impl Lowering<'_> {
    /// Logic solvers.
    pub(super) fn solvers(&mut self) {
        for (key, item) in &self.doc.logic_solvers.entries {
            let tolerance =
                self.small(item.certified_fault_tolerance.as_ref(), "certified_fault_tolerance", 0);
            if let (1.., None, Some(leaf)) = (tolerance, &item.certificate, &item.certified_fault_tolerance) {
                self.report(
                    Problem::new(
                        "missing-key",
                        leaf.span,
                        format!("`{}` needs the certificate of its fault tolerance", key.text),
                        "`certificate` is missing",
                    )
                    .help("name the certificate under `certificate`"),
                );
            }
            let solver = Solver {
                name: self.name(key, item.title.as_ref()),
                reaction: self.time_or_unknown(item.reaction.as_ref(), (key, Field::Reaction)),
                scan: self.time(item.scan.as_ref(), (key, Field::Scan)),
                scans_with_inputs: self.scans_with_inputs(key, item),
                supply: self.optional_id(item.supply.as_ref(), &[Class::Supply], "supply"),
                tolerance,
                certificate: self.optional_words(item.certificate.as_ref(), "certificate"),
                parents: self.parents(item.cabinet.as_ref(), item.kind.as_ref(), item.needs.as_ref()),
            };
            self.model.solvers.push(solver);
        }
    }

    fn scans_with_inputs(&mut self, key: &Scalar, item: &document::LogicSolver) -> bool {
        if let (Some(flag), None) = (&item.scans_with_inputs, &item.scan) {
            self.needless_key(flag.span, "scans_with_inputs", format!("`{}` declares no `scan`", key.text));
        }
        self.flag(item.scans_with_inputs.as_ref(), false)
    }

    /// Links.
    pub(super) fn links(&mut self) {
        for (key, item) in self.doc.links.iter().flat_map(|table| &table.entries) {
            let connects = self.ids::<SolverId>(Some(&item.connects), &[Class::Solver], "connects");
            if item.connects.items.len() < 2
                && written(item.connects.span)
                && item.connects.items.iter().all(|leaf| !leaf.broken)
            {
                self.report(
                    Problem::new(
                        "too-few",
                        item.connects.span,
                        format!("the link `{}` connects fewer than two logic solvers", key.text),
                        "fewer than two",
                    )
                    .help("name the logic solvers at its ends, two or more"),
                );
            }
            let carries = self.carried(item);
            if connects.len() < item.connects.items.len().max(2) || carries.len() != item.carries.items.len()
            {
                self.loose.insert(Element::Link(self.model.links.next_id()));
            }
            let link = Link {
                name: self.name(key, item.title.as_ref()),
                connects,
                carries,
                delay: self.time_or_unknown(item.delay.as_ref(), (key, Field::Delay)),
                supervised: self.flag(item.supervised.as_ref(), false),
                on_loss: self.choice(item.on_loss.as_ref(), "on_loss").unwrap_or(LinkLoss::Holds),
                routes: self.ids(item.route.as_ref(), &[Class::Route], "route"),
                supply: self.optional_id(item.supply.as_ref(), &[Class::Supply], "supply"),
                parents: self.parents(item.cabinet.as_ref(), item.kind.as_ref(), None),
            };
            self.model.links.push(link);
        }
    }

    fn carried(&mut self, item: &document::Link) -> Vec<Signal> {
        let wanted: Vec<Class> = Class::INPUTS.iter().copied().chain([Class::Cause]).collect();
        let mut found: Vec<(Signal, Span)> = Vec::new();
        for leaf in &item.carries.items {
            let Some(declared) = self.find(leaf, &wanted, "carries") else { continue };
            let signal = match declared.class {
                Class::Cause => Signal::Cause(Id::from_index(declared.index)),
                _ => Signal::Input(Id::from_index(declared.index)),
            };
            match found.iter().find(|(other, _)| *other == signal).map(|(_, span)| *span) {
                Some(first) => self.repeated(leaf, first, "carries"),
                None => found.push((signal, leaf.span)),
            }
        }
        found.into_iter().map(|(signal, _)| signal).collect()
    }

    /// Resets.
    pub(super) fn resets(&mut self) {
        for (key, item) in self.doc.resets.iter().flat_map(|table| &table.entries) {
            let only_when = item.only_when.as_ref().and_then(|text| self.condition_of(text, "only_when"));
            self.used_by_reset(only_when.as_ref());
            self.flag(item.in_sight.as_ref(), false);
            let reset = Reset {
                name: self.name(key, item.title.as_ref()),
                place: self.words(&item.place, "place"),
                acts_on: self.choice(Some(&item.acts_on), "acts_on").unwrap_or(ResetEdge::Press),
                resets: self.ids(Some(&item.resets), &[Class::Cause], "resets"),
            };
            self.model.resets.push(reset);
        }
    }

    fn used_by_reset(&mut self, only_when: Option<&Tree<InputAtom>>) {
        for atom in only_when.into_iter().flat_map(Tree::atoms) {
            match atom {
                InputAtom::Compare { input, .. } | InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
                    self.model.used_elsewhere.insert(Signal::Input(*input));
                }
                InputAtom::Cause { cause, .. } => {
                    self.model.used_elsewhere.insert(Signal::Cause(*cause));
                }
                InputAtom::Overriding(_) | InputAtom::Shows(..) | InputAtom::LinkLost(_) => {}
            }
        }
    }

    /// Override devices.
    pub(super) fn overrides(&mut self) {
        for (key, item) in self.doc.overrides.iter().flat_map(|table| &table.entries) {
            if item.inputs.items.is_empty() && !key.broken {
                let message = format!("the override device `{}` takes no input out", key.text);
                self.empty(item.inputs.span, message, "name the inputs that it can take out");
            }
            let named = u32::try_from(item.inputs.items.len().max(1)).unwrap_or(u32::MAX);
            let at_most = self.count(item.at_most.as_ref(), "at_most", 1, named).unwrap_or(named);
            self.words(&item.device, "device");
            self.optional_words(item.holder.as_ref(), "holder");
            let limit = self.time(item.time_limit.as_ref(), (key, Field::TimeLimit));
            let device = Override {
                name: self.name(key, item.title.as_ref()),
                inputs: self.ids(Some(&item.inputs), Class::INPUTS, "inputs"),
                at_most: usize::try_from(at_most).unwrap_or(usize::MAX),
                modes: self.modes_by_group(item.modes.as_ref(), "modes"),
                limited: matches!(limit, Some(Time::Known(_))),
                announces: self.optional_words(item.announces.as_ref(), "announces"),
                parents: Parents {
                    cabinet: self.optional_id(item.cabinet.as_ref(), &[Class::Cabinet], "cabinet"),
                    shared: Vec::new(),
                },
            };
            self.model.overrides.push(device);
        }
    }

    fn person_needs(&mut self, key: &Scalar, item: &document::Cause, purpose: Purpose) -> Option<Time> {
        if let (Some(leaf), false) = (&item.person_needs, purpose == Purpose::Alarm) {
            let why = "only an alarm leaves a person time to act: write `purpose: alarm`";
            self.needless_key(leaf.span, "person_needs", why);
        }
        self.time(item.person_needs.as_ref(), (key, Field::PersonNeeds))
    }

    /// Effects: actuators only, each to one position that its drivers can demand.
    pub(super) fn effects(&mut self) {
        for (key, item) in &self.doc.effects.entries {
            let placed = self.positions(Some(&item.set), "set", &[Class::Actuator]);
            for item in &placed {
                if let Device::Actuator(id) = item.at.device {
                    self.can_be_demanded(id, item.at.position, item.position_span);
                }
            }
            let set = self.consistent(placed);
            let actuator = |at: crate::model::AtPosition| match at.device {
                Device::Actuator(id) => Some((id, at.position)),
                Device::Passive(_) => None,
            };
            let effect = Effect {
                name: self.name(key, item.title.as_ref()),
                set: set.into_iter().filter_map(actuator).collect(),
                delay: self.time_or_zero(item.delay.as_ref(), (key, Field::Delay)),
                after: self.ids(item.after.as_ref(), &[Class::Effect], "after"),
            };
            self.model.effects.push(effect);
        }
    }

    /// A command reaches only the position without energy and the one with energy.
    fn can_be_demanded(&mut self, id: crate::model::ActuatorId, position: usize, span: Span) {
        let actuator = &self.model.actuators[id];
        let WithoutEnergy::Goes { off, on } = actuator.without_energy else { return };
        if position == off || position == on {
            return;
        }
        let name = |position: usize| actuator.positions.get(position).map_or("", String::as_str);
        let problem = Problem::new(
            "impossible-demand",
            span,
            format!("no command brings `{}` to `{}`", actuator.name.tag, name(position)),
            "reached neither with nor without energy",
        )
        .help(format!("without energy it goes to `{}`, with energy to `{}`", name(off), name(on)))
        .also(actuator.name.span, "the actuator");
        self.report(problem);
    }

    /// Causes.
    pub(super) fn causes(&mut self) {
        for (key, item) in &self.doc.causes.entries {
            let id: CauseId = self.model.causes.next_id();
            let solver = self.id::<SolverId>(&item.solver, &[Class::Solver], "solver");
            if solver.is_none() {
                self.unsound.insert(Element::Cause(id));
            }
            let when = self.condition_of_cause(&item.when, id);
            let degraded = self.degraded_vote(item.degraded_vote.as_ref(), when.as_ref(), &item.when);
            self.flag(item.kept_without_power.as_ref(), false);
            let purpose = self.choice(item.purpose.as_ref(), "purpose").unwrap_or(Purpose::Protection);
            if let (Purpose::Backup, Some(list)) = (purpose, &item.credited_for)
                && !list.items.is_empty()
            {
                self.backup_is_not_credited(item, list.span);
            }
            let demands = self.ids::<EffectId>(Some(&item.demands), &[Class::Effect], "demands");
            let cause = Cause {
                name: self.name(key, item.title.as_ref()),
                when: when.unwrap_or(Tree::And(Vec::new())),
                text: one_line(&item.when),
                when_span: item.when.span,
                solver: solver.unwrap_or_else(nobody),
                armed: self.modes_by_group(item.armed.as_ref(), "armed"),
                latched: self.flag(Some(&item.latched), false),
                reset: self.optional_id::<ResetId>(item.reset.as_ref(), &[Class::Reset], "reset"),
                on_delay: self.time_or_zero(item.on_delay.as_ref(), (key, Field::OnDelay)),
                degraded,
                purpose,
                person_needs: self.person_needs(key, item, purpose),
                credited_for: self.ids::<HazardId>(
                    item.credited_for.as_ref(),
                    &[Class::Hazard],
                    "credited_for",
                ),
                delays: self.mark_delays(key, item, &demands),
                demands,
            };
            self.model.causes.push(cause);
        }
    }

    fn backup_is_not_credited(&mut self, item: &document::Cause, credited: Span) {
        let mut problem = Problem::new(
            "contradiction",
            credited,
            "a cause with the purpose `backup` is credited for nothing",
            "credited all the same",
        )
        .help("write `purpose: protection` if the hazards count on it, or remove `credited_for`");
        if let Some(purpose) = &item.purpose {
            problem = problem.also(purpose.word.span, "its purpose");
        }
        self.report(problem);
    }

    fn mark_delays(
        &mut self,
        cause: &Scalar,
        item: &document::Cause,
        demands: &[EffectId],
    ) -> BTreeMap<EffectId, Time> {
        let mut delays = BTreeMap::new();
        for (key, leaf) in item.delays.iter().flat_map(|table| &table.entries) {
            let delay = self.time(Some(leaf), (cause, Field::Delays));
            let Some(effect) = self.id::<EffectId>(key, &[Class::Effect], "delays") else { continue };
            if demands.contains(&effect) {
                delays.extend(delay.map(|delay| (effect, delay)));
            } else {
                self.report(
                    Problem::new(
                        "no-mark",
                        key.span,
                        format!("`{}` is delayed, but not demanded", key.text),
                        "not among `demands`",
                    )
                    .help(format!("add `{}` to `demands`, or remove its delay", key.text))
                    .also(item.demands.span, "the effects it demands"),
                );
            }
        }
        delays
    }

    /// What the vote of a cause becomes with 1, 2, … operands out of it.
    fn degraded_vote(
        &mut self,
        list: Option<&List<Words>>,
        when: Option<&Tree<InputAtom>>,
        text: &Scalar,
    ) -> Vec<Degraded> {
        let Some(list) = list else { return Vec::new() };
        let Some(when) = when else { return Vec::new() };
        let votes = when.votes();
        let [(_, n)] = votes.as_slice() else {
            let message = match votes.len() {
                0 => "there is no vote that could degrade".to_string(),
                many => format!("`degraded_vote` speaks of one vote, and here are {many}"),
            };
            self.report(
                Problem::new("degraded-vote", list.span, message, "which vote?")
                    .help("give each vote a cause of its own, with its own `degraded_vote`")
                    .also(text.span, "the condition"),
            );
            return Vec::new();
        };
        if vote_under_not(when, false) {
            self.report(
                Problem::new(
                    "degraded-vote",
                    list.span,
                    "a vote under NOT cannot degrade: it is no longer a vote to trip",
                    "the vote stands under NOT",
                )
                .help("give the vote a cause of its own without NOT")
                .also(text.span, "the condition"),
            );
            return Vec::new();
        }
        self.degraded_entries(list, *n)
    }

    fn degraded_entries(&mut self, list: &List<Words>, n: usize) -> Vec<Degraded> {
        let mut found = Vec::new();
        let mut ended: Option<(Span, String)> = None;
        for (out, words) in (1..).zip(&list.items) {
            if words.broken {
                return found;
            }
            let word = words.text.trim();
            if let Some((span, end)) = &ended {
                let problem = Problem::new(
                    "degraded-vote",
                    words.span,
                    format!("`{end}` ends the list; nothing follows it"),
                    "after the end",
                )
                .help("with more inputs out the rule stays the same")
                .also(*span, "the end");
                self.report(problem);
                return found;
            }
            if out > n {
                self.report(
                    Problem::new(
                        "degraded-vote",
                        words.span,
                        format!("the vote has only {n} inputs"),
                        "one too many",
                    )
                    .help(format!("the list has at most {n} entries, for 1 to {n} inputs out")),
                );
                return found;
            }
            found.push(match word {
                "trip" => Degraded::Trip,
                "no_trip" => Degraded::NoTrip,
                _ => match self.degraded_entry(words, out, n - out) {
                    Some(m) => Degraded::AtLeast(m),
                    None => return found,
                },
            });
            if matches!(word, "trip" | "no_trip") {
                ended = Some((words.span, word.to_string()));
            }
        }
        // What ends the list holds for every greater number of inputs out as well.
        if let (Some(_), Some(last)) = (&ended, found.last().copied()) {
            found.resize(n, last);
        }
        found
    }

    fn degraded_entry(&mut self, words: &Words, out: usize, left: usize) -> Option<usize> {
        let word = words.text.trim();
        let parts = word.split_once("oo").map(|(m, n)| (m.parse::<usize>().ok(), n.parse::<usize>().ok()));
        let (message, help) = match parts {
            Some((Some(m), Some(n))) if n == left && (1..=n).contains(&m) => return Some(m),
            Some((Some(_), Some(_))) if left == 0 => (
                format!("with {out} inputs out none is left to vote"),
                "write `trip` or `no_trip`".to_string(),
            ),
            Some((Some(m), Some(n))) if n != left => (
                format!("with {out} of the inputs out, the vote has {left} left, not {n}"),
                format!("write `{}oo{left}`, `trip` or `no_trip`", m.clamp(1, left)),
            ),
            Some((Some(m), Some(n))) => (format!("`{m}oo{n}` is no vote"), format!("M is from 1 to {n}")),
            _ => (
                format!("`{word}` is no rule for a vote"),
                "write for example `1oo2`, or `trip` or `no_trip`".to_string(),
            ),
        };
        self.report(Problem::new("degraded-vote", words.span, message, "does not fit").help(help));
        None
    }
}

fn vote_under_not<A>(tree: &Tree<A>, under: bool) -> bool {
    match tree {
        Tree::Atom(_) => false,
        Tree::Not(part) => vote_under_not(part, true),
        Tree::Vote { .. } if under => true,
        Tree::And(parts) | Tree::Or(parts) | Tree::Vote { of: parts, .. } => {
            parts.iter().any(|part| vote_under_not(part, under))
        }
    }
}
