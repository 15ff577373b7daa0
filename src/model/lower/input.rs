//! Lowers what solvers read: sensors and switches, interlock loops, contacts of stop devices, mode inputs.

use std::collections::{BTreeMap, BTreeSet};

use super::Lowering;
use super::calculation::field::Field;
use super::tag::{Class, any_of};
use crate::exact::Exact;
use crate::model::{
    Contact, Element, Id, Input, InputId, Interval, Lost, ModeInput, Observes, Parents, Path, QuantityId,
    Response, SolverId, StopId, Time,
};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::document::{self, ProofTest, Wiring};
use crate::syntax::kind::{
    Choice, InputFailure, LineKind, LoopDetection, OnLoss, RangeText, Tag, ValueOrUnknown,
};
use crate::syntax::leaf::{At, List, Scalar, Table};

/// What kind of signal an input gives, for the words that fit it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Gives {
    Number,
    Detection,
    Contact,
}

impl Gives {
    fn name(self) -> &'static str {
        match self {
            Gives::Number => "a sensor that measures",
            Gives::Detection => "a switch",
            Gives::Contact => "a loop or a contact of a stop device",
        }
    }

    fn losses(self) -> &'static [OnLoss] {
        match self {
            Gives::Number => &[OnLoss::Low, OnLoss::High, OnLoss::Bad, OnLoss::Holds],
            Gives::Detection => &[OnLoss::Detected, OnLoss::Clear, OnLoss::Bad, OnLoss::Holds],
            Gives::Contact => &[OnLoss::Open, OnLoss::Closed, OnLoss::Bad, OnLoss::Holds],
        }
    }

    fn failures(self) -> &'static [InputFailure] {
        match self {
            Gives::Number => &[InputFailure::Low, InputFailure::High, InputFailure::Bad],
            Gives::Detection => &[InputFailure::Detected, InputFailure::Clear, InputFailure::Bad],
            Gives::Contact => &[],
        }
    }
}

/// What stands for the observation of an input that could not be read; the input is unsound then.
fn nothing() -> Observes {
    Observes::Loop { contacts: Vec::new(), detection: LoopDetection::None, fault_held: false }
}

impl Lowering<'_> {
    /// Sensors and switches.
    pub(super) fn sensors(&mut self) {
        for (key, sensor) in self.doc.sensors.iter().flat_map(|table| &table.entries) {
            let id = self.model.inputs.next_id();
            let gives = if sensor.detects.is_some() { Gives::Detection } else { Gives::Number };
            let observes = self.observes(key, sensor);
            if observes.is_none() {
                self.unsound.insert(Element::Input(id));
            }
            let response = self.sensor_times(key, sensor);
            let stays = self.time(sensor.signal_lasts.as_ref(), (key, Field::SignalLasts));
            let rated_for = self.rated_for(sensor.rated_for.as_ref());
            let input = Input {
                name: self.name(key, sensor.title.as_ref()),
                observes: observes.unwrap_or_else(nothing),
                readers: self.readers(
                    id,
                    &sensor.wired_to,
                    sensor.route.as_ref(),
                    sensor.through.as_ref(),
                    sensor.wiring.as_ref(),
                ),
                line: self.choice(sensor.line.as_ref(), "line").unwrap_or(LineKind::Plain),
                supply: self.optional_id(sensor.supply.as_ref(), &[Class::Supply], "supply"),
                response,
                stays,
                warm_up: self
                    .time(sensor.warm_up.as_ref(), (key, Field::WarmUp))
                    .filter(|time| *time != Time::Known(Exact::zero())),
                rated_for,
                on_loss: self.on_loss(sensor.on_loss.as_ref(), gives),
                on_bad: self.choice(sensor.on_bad.as_ref(), "on_bad"),
                fails: self.input_failures(sensor.fails.as_ref(), gives),
                proof_tested: self.proof_test(sensor.proof_test.as_ref()),
                parents: self.parents(sensor.cabinet.as_ref(), sensor.kind.as_ref(), sensor.needs.as_ref()),
            };
            self.model.inputs.push(input);
        }
    }

    fn observes(&mut self, key: &Scalar, sensor: &document::Sensor) -> Option<Observes> {
        match (&sensor.measures, &sensor.detects) {
            (Some(measures), None) => self.measures(key, sensor, measures),
            (None, Some(detects)) => {
                for (span, field) in numeric_keys(sensor) {
                    self.needless_key(span, field, "a switch only says detected or clear");
                }
                let (condition, negated) = self.condition_literal(detects, "detects")?;
                Some(Observes::Condition { condition, negated })
            }
            (None, None) => {
                self.missing_key(
                    key,
                    "measures",
                    "name the quantity that it measures, or the condition under `detects`",
                );
                None
            }
            (Some(measures), Some(detects)) => {
                let problem = Problem::new(
                    "contradiction",
                    detects.span,
                    format!("`{}` both measures and detects", key.text),
                    "a switch detects",
                )
                .help("a sensor has `measures`, a switch has `detects`: keep one, or make two elements of it")
                .also(measures.span, "a sensor measures");
                self.report(problem);
                None
            }
        }
    }

    fn measures(&mut self, key: &Scalar, sensor: &document::Sensor, measures: &Tag) -> Option<Observes> {
        let quantity = self.id::<QuantityId>(measures, &[Class::Quantity], "measures");
        let known = quantity.filter(|id| !self.unsound.contains(&Element::Quantity(*id)));
        if sensor.range.is_none() {
            self.missing_key(key, "range", "state the range of the instrument with its unit");
        }
        if sensor.accuracy.is_none() {
            self.missing_key(key, "accuracy", "state the largest error of a healthy reading with its unit");
        }
        let quantity = known?;
        let range = sensor.range.as_ref().and_then(|range| self.range_of(range, quantity));
        let accuracy =
            sensor.accuracy.as_ref().and_then(|value| self.difference_of(value, quantity, "accuracy"));
        let deadband = match &sensor.deadband {
            None => Some(Exact::zero()),
            Some(value) => self.difference_of(value, quantity, "deadband"),
        };
        if let Some(range) = &range {
            self.scaled_alike(sensor, quantity, range);
        }
        Some(Observes::Quantity { quantity, range: range?, accuracy: accuracy?, deadband: deadband? })
    }

    fn sensor_times(&mut self, key: &Scalar, sensor: &document::Sensor) -> Response {
        let response = self.time(sensor.response.as_ref(), (key, Field::Response));
        let t90 = self.time(sensor.t90.as_ref(), (key, Field::T90));
        let only_t90 = response.is_none() && t90.is_some();
        Response {
            step: response.or(t90).unwrap_or(Time::Unknown),
            t90: only_t90,
            confirmation: self.time_or_zero(sensor.confirmation.as_ref(), (key, Field::Confirmation)),
            filter: self.time_or_zero(sensor.filter.as_ref(), (key, Field::Filter)),
            transport: self.time_or_zero(sensor.transport_delay.as_ref(), (key, Field::TransportDelay)),
        }
    }

    /// A response in one part.
    fn response(&mut self, key: &Scalar, value: Option<&ValueOrUnknown>) -> Response {
        let none = || Time::Known(Exact::zero());
        Response {
            step: self.time_or_unknown(value, (key, Field::Response)),
            t90: false,
            confirmation: none(),
            filter: none(),
            transport: none(),
        }
    }

    fn rated_for(&mut self, table: Option<&Table<RangeText>>) -> Vec<(QuantityId, Interval)> {
        let mut found = Vec::new();
        for (key, range) in table.iter().flat_map(|table| &table.entries) {
            let Some(quantity) = self.id::<QuantityId>(key, &[Class::Quantity], "rated_for") else {
                continue;
            };
            found.extend(self.range_of(range, quantity).map(|range| (quantity, range)));
        }
        found
    }

    /// Whether a proof test is declared; its figures are read and examined.
    pub(super) fn proof_test(&mut self, test: Option<&At<ProofTest>>) -> bool {
        let Some(test) = test else { return false };
        self.stated_time(&test.value.interval);
        if let Some(coverage) = &test.value.coverage {
            self.coverage(coverage);
        }
        true
    }

    fn readers(
        &mut self,
        id: InputId,
        wired_to: &List<Tag>,
        route: Option<&List<Tag>>,
        through: Option<&List<Tag>>,
        wiring: Option<&Table<Wiring>>,
    ) -> BTreeMap<SolverId, Path> {
        let common = self.path(route, through);
        let solvers = self.ids::<SolverId>(Some(wired_to), &[Class::Solver], "wired_to");
        let complete = solvers.len() == wired_to.items.len();
        if !complete {
            self.loose.insert(Element::Input(id));
        }
        let mut readers: BTreeMap<SolverId, Path> =
            solvers.into_iter().map(|s| (s, common.clone())).collect();
        for (key, wiring) in wiring.iter().flat_map(|table| &table.entries) {
            let mut path = self.path(wiring.route.as_ref(), wiring.through.as_ref());
            // Only what is written differs: an absent key never takes a route or a conditioner out of the way.
            if wiring.route.is_none() {
                path.routes.clone_from(&common.routes);
            }
            if wiring.through.is_none() {
                path.through.clone_from(&common.through);
            }
            let Some(solver) = self.id::<SolverId>(key, &[Class::Solver], "wiring") else { continue };
            if let Some(own) = readers.get_mut(&solver) {
                *own = path;
            } else if complete {
                let problem = Problem::new(
                    "not-wired",
                    key.span,
                    format!("`wiring` describes the line to `{}`, but `wired_to` does not name it", key.text),
                    "not among the readers",
                )
                .help(format!("add `{}` to `wired_to`, or remove it here", key.text))
                .also(wired_to.span, "the readers");
                self.report(problem);
            }
        }
        readers
    }

    fn path(&mut self, route: Option<&List<Tag>>, through: Option<&List<Tag>>) -> Path {
        Path {
            routes: self.ids(route, &[Class::Route], "route"),
            through: self.ids(through, &[Class::Conditioner], "through"),
        }
    }

    fn on_loss(&mut self, choice: Option<&Choice<OnLoss>>, gives: Gives) -> Lost {
        let Some(word) = self.choice(choice, "on_loss") else { return Lost::Holds };
        if !gives.losses().contains(&word) {
            let span = choice.map(|choice| choice.word.span).unwrap_or_default();
            self.word_does_not_fit(
                span,
                "on_loss",
                word.word(),
                gives,
                gives.losses().iter().map(|w| w.word()),
            );
        }
        match word {
            OnLoss::Low => Lost::Low,
            OnLoss::High => Lost::High,
            OnLoss::Detected | OnLoss::Open => Lost::Asserted,
            OnLoss::Clear | OnLoss::Closed => Lost::Cleared,
            OnLoss::Bad => Lost::Bad,
            OnLoss::Holds => Lost::Holds,
        }
    }

    fn word_does_not_fit<'a>(
        &mut self,
        span: Span,
        field: &str,
        word: &str,
        gives: Gives,
        fitting: impl Iterator<Item = &'a str>,
    ) {
        let quoted: Vec<String> = fitting.map(|word| format!("`{word}`")).collect();
        let list = any_of(quoted.iter().map(String::as_str));
        let message = format!("`{field}: {word}` does not fit {}", gives.name());
        self.report(
            Problem::new("word-does-not-fit", span, message, "does not fit")
                .help(format!("here it is {list}")),
        );
    }

    fn input_failures(
        &mut self,
        list: Option<&List<Choice<InputFailure>>>,
        gives: Gives,
    ) -> Option<BTreeSet<InputFailure>> {
        let list = list?;
        let mut found = BTreeSet::new();
        for choice in &list.items {
            let Some(word) = self.choice(Some(choice), "fails") else { continue };
            if gives.failures().contains(&word) {
                found.insert(word);
            } else {
                let fitting = gives.failures().iter().map(|w| w.word());
                self.word_does_not_fit(choice.word.span, "fails", word.word(), gives, fitting);
            }
        }
        if list.items.is_empty() {
            self.never_fails(list.span);
        }
        Some(found)
    }

    /// Records an empty list of failures: it would say that the element never fails.
    pub(super) fn never_fails(&mut self, span: Span) {
        self.empty(
            span,
            "`fails` without a direction would mean that it never fails".into(),
            "name the directions; what is never to be considered is declared under `fault_exclusions` with a reason",
        );
    }

    /// Interlock loops with their contacts.
    pub(super) fn loops(&mut self) {
        for (key, circuit) in self.doc.loops.iter().flat_map(|table| &table.entries) {
            let id = self.model.inputs.next_id();
            if circuit.contacts.entries.is_empty() && !key.broken {
                let message = format!("the loop `{}` has no contact", key.text);
                self.empty(circuit.contacts.span, message, "name its contacts");
            }
            let mut contacts = Vec::new();
            for (key, contact) in &circuit.contacts.entries {
                contacts.push(self.contact(id, key, contact));
            }
            let detection = self.choice(circuit.fault_detection.as_ref(), "fault_detection");
            let observes = Observes::Loop {
                contacts,
                detection: detection.unwrap_or(LoopDetection::None),
                fault_held: self.flag(circuit.fault_held.as_ref(), false),
            };
            let input = Input {
                name: self.name(key, circuit.title.as_ref()),
                observes,
                readers: self.readers(
                    id,
                    &circuit.wired_to,
                    circuit.route.as_ref(),
                    circuit.through.as_ref(),
                    None,
                ),
                line: self.choice(circuit.line.as_ref(), "line").unwrap_or(LineKind::Plain),
                supply: self.optional_id(circuit.supply.as_ref(), &[Class::Supply], "supply"),
                response: self.response(key, circuit.response.as_ref()),
                stays: None,
                warm_up: None,
                rated_for: Vec::new(),
                on_loss: self.on_loss(circuit.on_loss.as_ref(), Gives::Contact),
                on_bad: self.choice(circuit.on_bad.as_ref(), "on_bad"),
                fails: None,
                proof_tested: false,
                parents: Parents::default(),
            };
            self.model.inputs.push(input);
        }
    }

    fn contact(&mut self, of: InputId, key: &Scalar, contact: &document::Contact) -> crate::model::ContactId {
        let name = self.name(key, contact.title.as_ref());
        let opens = self.condition_literal(&contact.opens_on, "opens_on");
        let parents = self.parents(contact.cabinet.as_ref(), contact.kind.as_ref(), None);
        let (condition, negated) = opens.unwrap_or((Id::from_index(0), false));
        self.model.contacts.push(Contact { name, of, condition, negated, parents })
    }

    /// The contacts of emergency stop devices; the devices themselves follow when positions are known.
    pub(super) fn stop_contacts(&mut self) {
        for (number, (_, stop)) in self.doc.stops.iter().flat_map(|table| &table.entries).enumerate() {
            for (key, contact) in &stop.contacts.entries {
                let id = self.model.inputs.next_id();
                let input = Input {
                    name: self.name(key, contact.title.as_ref()),
                    observes: Observes::Stop(StopId::from_index(number)),
                    readers: self.readers(
                        id,
                        &contact.wired_to,
                        contact.route.as_ref(),
                        contact.through.as_ref(),
                        None,
                    ),
                    line: self.choice(contact.line.as_ref(), "line").unwrap_or(LineKind::Plain),
                    supply: self.optional_id(contact.supply.as_ref(), &[Class::Supply], "supply"),
                    response: self.response(key, contact.response.as_ref()),
                    stays: None,
                    warm_up: None,
                    rated_for: Vec::new(),
                    on_loss: self.on_loss(contact.on_loss.as_ref(), Gives::Contact),
                    on_bad: self.choice(contact.on_bad.as_ref(), "on_bad"),
                    fails: None,
                    proof_tested: false,
                    parents: self.parents(None, contact.kind.as_ref(), None),
                };
                self.model.inputs.push(input);
            }
        }
    }

    /// Mode inputs; of each group at most one tells a solver.
    pub(super) fn mode_inputs(&mut self) {
        let mut told_at: BTreeMap<(crate::model::GroupId, SolverId), Span> = BTreeMap::new();
        for (key, item) in self.doc.mode_inputs.iter().flat_map(|table| &table.entries) {
            let id = self.model.mode_inputs.next_id();
            let group = self.id(&item.group, &[Class::Group], "group");
            for leaf in &item.tells.items {
                let solver = self
                    .declared(&leaf.text, &[Class::Solver])
                    .filter(|d| d.class == Class::Solver)
                    .map(|d| d.index);
                let (Some(group), Some(solver)) = (group, solver.map(SolverId::from_index)) else { continue };
                match self.model.mode_input_of.get(&(group, solver)) {
                    Some(other) if *other != id => {
                        let first = told_at.get(&(group, solver)).copied().unwrap_or_default();
                        let message = format!(
                            "`{}` already learns the mode of `{}` from `{}`",
                            leaf.text, item.group.text, self.model.mode_inputs[*other].name.tag
                        );
                        self.report(
                            Problem::new("two-mode-inputs", leaf.span, message, "told a second time")
                                .help("a solver learns the mode of a group from one mode input: remove one of the two")
                                .also(first, "told here already"),
                        );
                    }
                    _ => {
                        self.model.mode_input_of.insert((group, solver), id);
                        told_at.insert((group, solver), leaf.span);
                    }
                }
            }
            if group.is_none() {
                self.unsound.insert(Element::ModeInput(id));
            }
            let path = self.path(item.route.as_ref(), item.through.as_ref());
            let tells = self.ids::<SolverId>(Some(&item.tells), &[Class::Solver], "tells");
            if tells.len() != item.tells.items.len() {
                self.loose.insert(Element::ModeInput(id));
            }
            let input = ModeInput {
                name: self.name(key, item.title.as_ref()),
                group: group.unwrap_or(Id::from_index(0)),
                tells,
                routes: path.routes,
                through: path.through,
                supply: self.optional_id(item.supply.as_ref(), &[Class::Supply], "supply"),
                parents: self.parents(item.cabinet.as_ref(), item.kind.as_ref(), None),
            };
            self.model.mode_inputs.push(input);
        }
    }

    /// Records a value that leaves the physical range of a quantity.
    pub(super) fn within_physical(&mut self, id: QuantityId, range: &Interval, span: Span) {
        if self.unsound.contains(&Element::Quantity(id)) {
            return;
        }
        let quantity = &self.model.quantities[id];
        if quantity.range.low <= range.low && range.high <= quantity.range.high {
            return;
        }
        let message = format!("what is normal for `{}` leaves its physical range", quantity.name.tag);
        let problem = Problem::new("out-of-range", span, message, "outside the physical range")
            .help("`range` of the quantity holds every value that is physically possible: widen it, or narrow this")
            .also(quantity.name.span, "the quantity");
        self.report(problem);
    }

    /// The failure of an input that a word names, among those that fit it.
    pub(super) fn failure_word(&mut self, input: InputId, word: &Scalar) -> Option<InputFailure> {
        let gives = match self.model.inputs[input].observes {
            Observes::Quantity { .. } => Gives::Number,
            Observes::Condition { .. } => Gives::Detection,
            Observes::Loop { .. } | Observes::Stop(_) => Gives::Contact,
        };
        let found = gives.failures().iter().copied().find(|failure| failure.word() == word.text);
        if found.is_none() {
            let words = gives.failures().iter().map(|failure| failure.word());
            self.unknown_word(&word.text, word.span, "direction", words);
        }
        found
    }

    /// Every failure of an input that fits it.
    pub(super) fn all_failures(&self, input: InputId) -> BTreeSet<InputFailure> {
        let gives = match self.model.inputs[input].observes {
            Observes::Quantity { .. } => Gives::Number,
            Observes::Condition { .. } => Gives::Detection,
            Observes::Loop { .. } | Observes::Stop(_) => Gives::Contact,
        };
        gives.failures().iter().copied().collect()
    }
}

fn numeric_keys(sensor: &document::Sensor) -> Vec<(Span, &'static str)> {
    let range = sensor.range.as_ref().map(|leaf| (leaf.span, "range"));
    let accuracy = sensor.accuracy.as_ref().map(|leaf| (leaf.span, "accuracy"));
    let deadband = sensor.deadband.as_ref().map(|leaf| (leaf.span, "deadband"));
    let t90 = sensor.t90.as_ref().map(|leaf| (leaf.span, "t90"));
    let wirings = sensor.wiring.iter().flat_map(|table| &table.entries);
    let scaled = wirings.filter_map(|(_, wiring)| wiring.range.as_ref()).map(|leaf| (leaf.span, "range"));
    range.into_iter().chain(accuracy).chain(deadband).chain(t90).chain(scaled).collect()
}
