//! Lowers actuators with their drivers, and the names of positions.

use std::collections::BTreeSet;

use super::Lowering;
use super::calculation::field::Field;
use super::leaf::written;
use super::tag::{Class, listed};
use crate::exact::Exact;
use crate::model::{
    Actuator, ActuatorId, Device, Driver, DriverId, Element, InputId, RelayId, Signal, SolverId, Time, Tree,
    WithoutEnergy,
};
use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::document;
use crate::syntax::kind::{LineKind, OperatedBy, Tag};
use crate::syntax::leaf::{List, Scalar};

impl Lowering<'_> {
    /// Actuators and their drivers.
    pub(super) fn actuators(&mut self) {
        for (key, item) in self.doc.actuators.iter().flat_map(|table| &table.entries) {
            let id = self.model.actuators.next_id();
            let positions = self.position_names(key, &item.positions);
            if positions.is_none() {
                self.unsound.insert(Element::Actuator(id));
            }
            let positions = positions.unwrap_or_default();
            let energy = self.without_energy(key, item, &positions);
            if energy.is_none() {
                self.unsound.insert(Element::Actuator(id));
            }
            let solvers = self.driving_solvers(item);
            let drivers = self.drivers(id, item, &solvers);
            let wiring = self.wiring(key, item, &solvers, &drivers);
            let winner =
                item.winner.as_ref().and_then(|word| self.position_named(&positions, word, &key.text));
            if let (Some(position), Some(word), Some(energy)) = (winner, &item.winner, energy) {
                self.winner_is_possible(word, position, energy, wiring.as_ref(), drivers.len());
            }
            let moves_in = self.time_or_unknown(item.moves_in.as_ref(), (key, Field::MovesIn));
            let shortest = self.shortest_time(key, item, &moves_in);
            let actuator = Actuator {
                name: self.name(key, item.title.as_ref()),
                without_energy: energy.unwrap_or(WithoutEnergy::Stays),
                rest: self.rest(key, item, &positions),
                moves_in,
                shortest,
                drivers,
                wiring,
                winner,
                supply: self.optional_id(item.supply.as_ref(), &[Class::Supply], "supply"),
                routes: self.ids(item.route.as_ref(), &[Class::Route], "route"),
                line: self.choice(item.line.as_ref(), "line").unwrap_or(LineKind::Plain),
                fails: self.failure_positions(item.fails.as_ref(), &positions, key),
                proof_tested: self.proof_test(item.proof_test.as_ref()),
                parents: self.parents(item.cabinet.as_ref(), item.kind.as_ref(), item.needs.as_ref()),
                positions,
            };
            let feedback = self.ids::<InputId>(item.feedback.as_ref(), Class::INPUTS, "feedback");
            self.model.used_elsewhere.extend(feedback.into_iter().map(Signal::Input));
            self.model.actuators.push(actuator);
        }
    }

    /// The positions of a device, two or more and distinct; `None` if they cannot be relied on.
    pub(super) fn position_names(&mut self, key: &Scalar, list: &List<Tag>) -> Option<Vec<String>> {
        let mut found: Vec<(String, Span)> = Vec::new();
        let mut sound = true;
        for word in &list.items {
            if word.broken {
                sound = false;
                continue;
            }
            self.well_formed(word);
            if word.text == "stays" {
                self.report(
                    Problem::new("bad-tag", word.span, "a position is not called `stays`", "taken by the language")
                        .help("`without_energy: stays` says that the actuator stays where it is; name the position otherwise"),
                );
            }
            match found.iter().find(|(name, _)| *name == word.text).map(|(_, span)| *span) {
                Some(first) => self.repeated(word, first, "positions"),
                None => found.push((word.text.clone(), word.span)),
            }
        }
        if found.len() < 2 && sound {
            sound = false;
            if !key.broken && written(list.span) {
                self.report(
                    Problem::new(
                        "too-few",
                        list.span,
                        format!("`{}` needs two positions or more", key.text),
                        "fewer than two positions",
                    )
                    .help("name every position that it can take: `[open, closed]`"),
                );
            }
        }
        sound.then(|| found.into_iter().map(|(name, _)| name).collect())
    }

    /// The number of a position; without positions (their problem is recorded) silently none.
    pub(super) fn position_named(&mut self, positions: &[String], word: &Scalar, tag: &str) -> Option<usize> {
        if word.broken || positions.is_empty() {
            return None;
        }
        let found = positions.iter().position(|name| *name == word.text);
        if found.is_none() {
            self.unknown_position(&word.text, word.span, tag, positions);
        }
        found
    }

    /// Records a position that a device does not have.
    pub(super) fn unknown_position(&mut self, word: &str, span: Span, tag: &str, positions: &[String]) {
        let names = || positions.iter().map(String::as_str);
        let help = match nearest(word, names()) {
            Some(near) => format!("did you mean `{near}`? Its positions are {}", listed(names())),
            None => format!("its positions are {}", listed(names())),
        };
        self.report(
            Problem::new(
                "unknown-position",
                span,
                format!("`{tag}` has no position `{word}`"),
                "unknown position",
            )
            .help(help),
        );
    }

    fn without_energy(
        &mut self,
        key: &Scalar,
        item: &document::Actuator,
        positions: &[String],
    ) -> Option<WithoutEnergy> {
        if item.without_energy.broken || positions.is_empty() {
            return None;
        }
        if item.without_energy.text == "stays" {
            return self.stays(item, positions);
        }
        let off = self.position_named(positions, &item.without_energy, &key.text)?;
        let other = |off: usize| (positions.len() == 2).then_some(1 - off.min(1));
        let on = match &item.with_energy {
            Some(word) => self.position_named(positions, word, &key.text)?,
            None => match other(off) {
                Some(on) => on,
                None => {
                    let names = listed(positions.iter().map(String::as_str));
                    self.missing_key(
                        key,
                        "with_energy",
                        format!("it has more than two positions: say which of {names} it takes with energy"),
                    );
                    return None;
                }
            },
        };
        if on == off {
            let span = item.with_energy.as_ref().map(|word| word.span).unwrap_or_default();
            let problem = Problem::new(
                "contradiction",
                span,
                format!("`{}` takes `{}` both with and without energy", key.text, item.without_energy.text),
                "the same position",
            )
            .help("energy makes the difference: name two positions")
            .also(item.without_energy.span, "its position without energy");
            self.report(problem);
            return None;
        }
        Some(WithoutEnergy::Goes { off, on })
    }

    fn stays(&mut self, item: &document::Actuator, positions: &[String]) -> Option<WithoutEnergy> {
        if let Some(word) = &item.with_energy {
            self.needless_key(
                word.span,
                "with_energy",
                "an actuator that stays is moved by energy to either position",
            );
        }
        if positions.len() != 2 {
            self.report(
                Problem::new(
                    "contradiction",
                    item.without_energy.span,
                    "an actuator that stays without energy has two positions",
                    "more than two positions",
                )
                .help("leave two positions, or name the position that it takes without energy")
                .also(item.positions.span, "its positions"),
            );
            return None;
        }
        Some(WithoutEnergy::Stays)
    }

    fn rest(&mut self, key: &Scalar, item: &document::Actuator, positions: &[String]) -> Option<usize> {
        match (self.choice(Some(&item.operated_by), "operated_by")?, &item.rest) {
            (OperatedBy::Process, None) => None,
            (OperatedBy::Process, Some(word)) => {
                self.needless_key(word.span, "rest", "the process control may have put it in any position");
                None
            }
            (OperatedBy::Protection, Some(word)) => self.position_named(positions, word, &key.text),
            (OperatedBy::Protection, None) => {
                self.missing_key(
                    key,
                    "rest",
                    "only the protection operates it: name the position it has while nothing commands it",
                );
                None
            }
        }
    }

    fn driving_solvers(&mut self, item: &document::Actuator) -> Vec<(SolverId, String)> {
        let solvers = self.ids::<SolverId>(item.drivers.as_ref(), &[Class::Solver], "drivers");
        solvers.into_iter().map(|id| (id, self.model.solvers[id].name.tag.clone())).collect()
    }

    fn drivers(
        &mut self,
        actuator: ActuatorId,
        item: &document::Actuator,
        solvers: &[(SolverId, String)],
    ) -> Vec<DriverId> {
        let mut relays: Vec<(SolverId, Vec<RelayId>)> = Vec::new();
        for (key, list) in item.relays.iter().flat_map(|table| &table.entries) {
            let own = self.ids::<RelayId>(Some(list), &[Class::Relay], "relays");
            let Some(solver) = self.id::<SolverId>(key, &[Class::Solver], "relays") else { continue };
            if solvers.iter().any(|(id, _)| *id == solver) {
                relays.push((solver, own));
            } else if solvers.len() == item.drivers.as_ref().map_or(0, |list| list.items.len()) {
                self.report(
                    Problem::new(
                        "not-a-driver",
                        key.span,
                        format!("`{}` stands under `relays`, but is not among the drivers", key.text),
                        "not a driver",
                    )
                    .help(format!("add `{}` to `drivers`, or remove it here", key.text)),
                );
            }
        }
        let mut drivers = Vec::new();
        for (solver, _) in solvers {
            let own = relays.iter().find(|(id, _)| id == solver).map(|(_, list)| list.clone());
            drivers.push(self.model.drivers.push(Driver {
                actuator,
                solver: *solver,
                relays: own.unwrap_or_default(),
            }));
        }
        drivers
    }

    /// A declared winner must be a position that the drivers can demand and that their wiring makes win.
    fn winner_is_possible(
        &mut self,
        word: &Scalar,
        winner: usize,
        energy: WithoutEnergy,
        wiring: Option<&Tree<DriverId>>,
        drivers: usize,
    ) {
        let say = |message: String, help: &str| {
            Problem::new("impossible-winner", word.span, message, "cannot win").help(help)
        };
        let problem = match (energy, wiring) {
            (_, None) if drivers == 0 => {
                self.needless_key(word.span, "winner", "without drivers nothing commands it");
                return;
            }
            (WithoutEnergy::Goes { off, on }, _) if winner != off && winner != on => say(
                format!("`{}` is taken neither with nor without energy, so no command demands it", word.text),
                "the winner is the position without energy or the one with energy",
            ),
            _ if drivers <= 1 => return,
            (WithoutEnergy::Stays, Some(_)) => say(
                format!(
                    "several drivers cannot decide that `{}` wins: the actuator stays where it is",
                    word.text
                ),
                "remove `winner`: either position may result, and every claim must hold for both",
            ),
            (_, Some(Tree::And(parts))) if parts.iter().all(is_atom) => match energy {
                WithoutEnergy::Goes { on, .. } if winner == on => say(
                    format!(
                        "drivers in series cannot make `{}` win: it needs the energy of all of them",
                        word.text
                    ),
                    "in series the position without energy wins; wire them in parallel, or name that position",
                ),
                _ => return,
            },
            (_, Some(Tree::Or(parts))) if parts.iter().all(is_atom) => match energy {
                WithoutEnergy::Goes { off, .. } if winner == off => say(
                    format!("drivers in parallel cannot make `{}` win: any of them gives energy", word.text),
                    "in parallel the position with energy wins; wire them in series, or name that position",
                ),
                _ => return,
            },
            (_, Some(_)) => say(
                format!(
                    "this wiring cannot decide that `{}` wins: it depends on which drivers disagree",
                    word.text
                ),
                "only drivers all in series or all in parallel decide a winner; remove `winner`",
            ),
            (_, None) => return,
        };
        self.report(problem);
    }

    /// The shortest time to move; 0 s where it is absent or unknown, so that an order never rests on it.
    fn shortest_time(&mut self, key: &Scalar, item: &document::Actuator, longest: &Time) -> Exact {
        let shortest = match self.time(item.shortest_time.as_ref(), (key, Field::ShortestTime)) {
            Some(Time::Known(shortest)) => shortest,
            Some(Time::Unknown) | None => return Exact::zero(),
        };
        let (Time::Known(longest), Some(leaf)) = (longest, &item.shortest_time) else { return shortest };
        if shortest > *longest {
            let written = item.moves_in.as_ref().map_or("", |leaf| leaf.text.trim());
            self.report(
                Problem::new(
                    "contradiction",
                    leaf.span,
                    format!("the shortest time to move is longer than the longest, `{written}`"),
                    "longer than `moves_in`",
                )
                .help("`shortest_time` is at most `moves_in`"),
            );
        }
        shortest
    }

    pub(super) fn failure_positions(
        &mut self,
        list: Option<&List<Tag>>,
        positions: &[String],
        key: &Scalar,
    ) -> BTreeSet<usize> {
        let Some(list) = list else { return (0..positions.len()).collect() };
        if list.items.is_empty() {
            self.never_fails(list.span);
        }
        let mut found = BTreeSet::new();
        for word in &list.items {
            found.extend(self.position_named(positions, word, &key.text));
        }
        found
    }

    /// The positions of a device; `None` where they cannot be relied on.
    pub(super) fn known_positions(&self, device: Device) -> Option<Vec<String>> {
        let element = match device {
            Device::Actuator(id) => Element::Actuator(id),
            Device::Passive(id) => Element::Passive(id),
        };
        if self.unsound.contains(&element) {
            return None;
        }
        Some(self.model.device_positions(device).to_vec())
    }
}

fn is_atom<A>(tree: &Tree<A>) -> bool {
    matches!(tree, Tree::Atom(_))
}
