//! Lowers what is claimed and what the claims rest on: hazards, exclusions, invariants, fault exclusions,
//! assumptions, acceptances.

use std::collections::{BTreeMap, BTreeSet};

use super::Lowering;
use super::calculation::field::Field;
use super::onset::{MOST_CASES, onset_cases};
use super::plant::{nobody, one_line};
use super::tag::{Class, Declared};
use crate::exact::Exact;
use crate::model::{
    Acceptance, Assumption, AtPosition, Device, Excluded, Exclusion, FaultExclusion, GroupId, Hazard,
    HazardId, Id, Invariant, ModeId, Name, OnsetCase, Party, PlantAtom, Required, Source, StopId, Tree,
};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::document;
use crate::syntax::kind::{Number, Tag};
use crate::syntax::leaf::{List, Scalar, Table};

/// Everything a fault can sit in.
const SOURCES: &[Class] = &[
    Class::Sensor,
    Class::Switch,
    Class::Loop,
    Class::LoopContact,
    Class::Stop,
    Class::StopContact,
    Class::Conditioner,
    Class::Supply,
    Class::Route,
    Class::Cabinet,
    Class::Solver,
    Class::Link,
    Class::Relay,
    Class::Actuator,
    Class::Passive,
    Class::ModeInput,
    Class::Override,
    Class::Store,
    Class::Machine,
    Class::ParameterSource,
    Class::Type,
];

impl Lowering<'_> {
    /// Hazards.
    pub(super) fn hazards(&mut self) {
        for (key, item) in &self.doc.hazards.entries {
            let id: HazardId = self.model.hazards.next_id();
            let when = self.predicate(&item.when, "when");
            let onset = when.as_ref().map(|when| self.onset(when, &item.when)).unwrap_or_default();
            let safe = self.position_tree(&item.safe_state, "safe_state");
            if let Some(safe) = &safe {
                self.safe_state_says_something(safe, &item.safe_state);
            }
            let (group, exists_in) = self.exists_in(key, &item.exists_in);
            let not_in = self.not_in(item, group, &exists_in);
            let forbids = self.positions(item.forbids.as_ref(), "forbids", Class::DEVICES);
            let hazard = Hazard {
                name: self.name(key, item.title.as_ref()),
                log: self.optional_words(item.log.as_ref(), "log"),
                when: when.unwrap_or(Tree::And(Vec::new())),
                text: one_line(&item.when),
                when_span: item.when.span,
                onset,
                group: group.unwrap_or_else(nobody),
                exists_in,
                not_in,
                safe_state: safe.unwrap_or(Tree::And(Vec::new())),
                safe_text: one_line(&item.safe_state),
                safe_span: item.safe_state.span,
                forbids: self.distinct(forbids, "forbids"),
                within: self.time_or_unknown(item.within.as_ref(), (key, Field::Within)),
                after_set_point: self
                    .time(item.harm_after_set_point.as_ref(), (key, Field::HarmAfterSetPoint)),
                evacuation: self.time_or_zero(item.evacuation.as_ref(), (key, Field::Evacuation)),
                lasts: self.time(item.lasts.as_ref(), (key, Field::HazardLasts)),
                usable: self.usable(item.usable_fraction.as_ref()),
                initiators: self.parties(item.initiators.as_ref(), "initiators"),
                damages: self.parties(item.damages.as_ref(), "damages"),
                damage_certain: self.flag(item.damage_certain.as_ref(), false),
                never_together: self.never_together(item, &key.text, id),
                required: self.required(item),
                requirement: self.optional_words(item.requirement.as_ref(), "requirement"),
            };
            self.model.hazards.push(hazard);
        }
    }

    /// The part of the time that a hazard may use: its own, else that of the policy, else all of it.
    fn usable(&mut self, own: Option<&Number>) -> Exact {
        let policy = self.doc.policy.value.usable_fraction.as_ref();
        let own = own.and_then(|own| self.part_of_one(Some(own), "usable_fraction"));
        // Problems of the policy's own number are recorded where the policy is read.
        let read = |number: &Number| Exact::parse_decimal(&number.text);
        own.or_else(|| policy.and_then(read)).unwrap_or_else(|| Exact::int(1))
    }

    fn onset(&mut self, when: &Tree<PlantAtom>, text: &Scalar) -> Vec<OnsetCase> {
        let Ok(cases) = onset_cases(when) else {
            self.report(
                Problem::new(
                    "too-many-onset-cases",
                    text.span,
                    format!("written out, this has more than {MOST_CASES} cases in which harm begins"),
                    "too many cases",
                )
                .help("split the hazard, so that each begins in fewer ways"),
            );
            return Vec::new();
        };
        cases
    }

    fn exists_in(&mut self, key: &Scalar, table: &Table<List<Tag>>) -> (Option<GroupId>, Vec<ModeId>) {
        let Some(((group, list), more)) = table.entries.split_first() else {
            if !key.broken {
                let message = format!("`exists_in` of `{}` names no mode group", key.text);
                self.empty(table.span, message, "name the group and its modes: `{ cell: [running] }`");
            }
            return (None, Vec::new());
        };
        for (second, _) in more {
            self.report(
                Problem::new(
                    "two-groups",
                    second.span,
                    "a hazard belongs to one mode group",
                    "a second group",
                )
                .help("declare one hazard per group, or name the modes of the other group in `when`")
                .also(group.span, "its group"),
            );
        }
        let Some(id) = self.id::<GroupId>(group, &[Class::Group], "exists_in") else {
            return (None, Vec::new());
        };
        if list.items.is_empty() {
            let message = format!("`exists_in` names no mode of `{}`", group.text);
            self.empty(list.span, message, "name the modes in which the hazard exists");
        }
        (Some(id), self.mode_list(id, Some(list), "exists_in"))
    }

    fn not_in(
        &mut self,
        item: &document::Hazard,
        group: Option<GroupId>,
        exists_in: &[ModeId],
    ) -> BTreeMap<ModeId, String> {
        let mut found = BTreeMap::new();
        for (key, reason) in item.not_in.iter().flat_map(|table| &table.entries) {
            let reason = self.words(reason, "not_in");
            let Some(group) = group.filter(|_| !key.broken) else { continue };
            let Some(mode) = self.mode_of(group, &key.text, key.span) else { continue };
            if exists_in.contains(&mode) {
                self.report(
                    Problem::new(
                        "contradiction",
                        key.span,
                        format!("the hazard exists in `{}` and does not", key.text),
                        "also under `exists_in`",
                    )
                    .help("name each mode of the group once")
                    .also(item.exists_in.span, "the modes in which it exists"),
                );
            }
            found.insert(mode, reason);
        }
        found
    }

    /// "Never together" is said of two hazards: it holds for both, whichever of them says it.
    fn never_together(&mut self, item: &document::Hazard, key: &str, own: HazardId) -> Vec<HazardId> {
        let mut found =
            self.ids::<HazardId>(item.never_together.as_ref(), &[Class::Hazard], "never_together");
        for (number, (_, other)) in self.doc.hazards.entries.iter().enumerate() {
            let listed =
                other.never_together.iter().flat_map(|list| &list.items).any(|leaf| leaf.text == key);
            let id = HazardId::from_index(number);
            if listed && id != own && !found.contains(&id) {
                found.push(id);
            }
        }
        found.sort();
        for leaf in item.never_together.iter().flat_map(|list| &list.items) {
            let declared = self.declared(&leaf.text, &[Class::Hazard]);
            if declared.is_some_and(|d: Declared| d.class == Class::Hazard && d.index == own.index()) {
                self.report(
                    Problem::new(
                        "contradiction",
                        leaf.span,
                        format!("`{}` would never be present together with itself", leaf.text),
                        "the hazard itself",
                    )
                    .help("name other hazards"),
                );
            }
        }
        found
    }

    fn required(&mut self, item: &document::Hazard) -> Required {
        let mut required = self.required_by_policy();
        let Some(own) = item.requires.as_ref().map(|at| &at.value) else { return required };
        self.words(&own.reason, "reason");
        required.disjoint_paths =
            self.small(own.disjoint_paths.as_ref(), "disjoint_paths", required.disjoint_paths);
        required.fault_tolerance =
            self.small(own.fault_tolerance.as_ref(), "fault_tolerance", required.fault_tolerance);
        required.under_overrides =
            self.small(own.under_overrides.as_ref(), "under_overrides", required.under_overrides);
        required
    }

    fn parties(&mut self, table: Option<&Table<List<Tag>>>, field: &str) -> Vec<Party> {
        let mut found = Vec::new();
        for (key, list) in table.iter().flat_map(|table| &table.entries) {
            if list.items.is_empty() {
                self.empty(
                    list.span,
                    format!("the group `{}` under `{field}` has no element", key.text),
                    "name its elements",
                );
            }
            let mut members: Vec<Source> = Vec::new();
            let mut seen: Vec<(&str, Span)> = Vec::new();
            for leaf in &list.items {
                let Some(declared) = self.find(leaf, SOURCES, field) else { continue };
                match seen.iter().find(|(tag, _)| *tag == leaf.text).map(|(_, span)| *span) {
                    Some(first) => self.repeated(leaf, first, field),
                    None => seen.push((&leaf.text, leaf.span)),
                }
                members.extend(self.sources_of(declared));
            }
            let name = Name { tag: key.text.clone(), title: None, span: key.span };
            found.push(Party { name, members });
        }
        found
    }

    /// The fault sources behind a tag: of a loop its line, of a stop device all its contacts.
    fn sources_of(&self, declared: Declared) -> Vec<Source> {
        let index = declared.index;
        vec![match declared.class {
            Class::Sensor | Class::Switch | Class::StopContact => Source::Input(Id::from_index(index)),
            Class::Loop => Source::LoopLine(Id::from_index(index)),
            Class::LoopContact => Source::Contact(Id::from_index(index)),
            Class::Stop => {
                let stop = &self.model.stops[StopId::from_index(index)];
                return stop.contacts.iter().copied().map(Source::Input).collect();
            }
            Class::Conditioner => Source::Conditioner(Id::from_index(index)),
            Class::Supply => Source::Supply(Id::from_index(index)),
            Class::Route => Source::Route(Id::from_index(index)),
            Class::Cabinet => Source::Cabinet(Id::from_index(index)),
            Class::Solver => Source::Solver(Id::from_index(index)),
            Class::Link => Source::Link(Id::from_index(index)),
            Class::Relay => Source::Relay(Id::from_index(index)),
            Class::Actuator => Source::Actuator(Id::from_index(index)),
            Class::Passive => Source::Passive(Id::from_index(index)),
            Class::ModeInput => Source::ModeInput(Id::from_index(index)),
            Class::Override => Source::Override(Id::from_index(index)),
            Class::Store | Class::Machine | Class::ParameterSource | Class::Type => {
                Source::Shared(Id::from_index(index))
            }
            _ => return Vec::new(),
        }]
    }

    /// Combinations of positions that never occur.
    pub(super) fn exclusions(&mut self) {
        for (key, item) in self.doc.exclusions.iter().flat_map(|table| &table.entries) {
            let never = self.position_tree_with_not(&item.never, "never", Class::DEVICES);
            if let Some(never) = &never {
                self.exclusion_says_something(never, &item.never);
            }
            let exclusion = Exclusion {
                name: self.name(key, item.title.as_ref()),
                never: never.unwrap_or(Tree::And(Vec::new())),
                text: one_line(&item.never),
                fault_tolerance: self.small(item.fault_tolerance.as_ref(), "fault_tolerance", 0),
            };
            self.model.exclusions.push(exclusion);
        }
    }

    /// Implications between demands, over actuators only.
    pub(super) fn invariants(&mut self) {
        for (key, item) in self.doc.invariants.iter().flat_map(|table| &table.entries) {
            let whenever = self.position_tree_with_not(&item.whenever, "whenever", &[Class::Actuator]);
            let then = self.position_tree_with_not(&item.then, "then", &[Class::Actuator]);
            if let (Some(whenever), Some(then)) = (&whenever, &then) {
                self.invariant_says_something((whenever, &item.whenever), (then, &item.then));
            }
            let invariant = Invariant {
                name: self.name(key, item.title.as_ref()),
                whenever: whenever.unwrap_or(Tree::And(Vec::new())),
                then: then.unwrap_or(Tree::And(Vec::new())),
                text: format!("WHENEVER {} THEN {}", one_line(&item.whenever), one_line(&item.then)),
                fault_tolerance: self.small(item.fault_tolerance.as_ref(), "fault_tolerance", 0),
            };
            self.model.invariants.push(invariant);
        }
    }

    /// Fault exclusions; an excluded direction is taken out of what the element can do.
    pub(super) fn fault_exclusions(&mut self) {
        let mut wanted: Vec<Class> = SOURCES.iter().copied().filter(|class| *class != Class::Stop).collect();
        wanted.push(Class::Release);
        for (key, item) in self.doc.fault_exclusions.iter().flat_map(|table| &table.entries) {
            let declared = self.find(&item.source, &wanted, "source");
            let what = declared.and_then(|declared| self.excluded(declared, item));
            let exclusion = FaultExclusion {
                name: self.name(key, None),
                what: what.unwrap_or(Excluded::Release(String::new())),
                reason: self.words(&item.reason, "reason"),
                owner: self.words(&item.owner, "owner"),
                expires: self.date(&item.expires),
            };
            self.model.fault_exclusions.push(exclusion);
        }
    }

    fn excluded(&mut self, declared: Declared, item: &document::FaultExclusion) -> Option<Excluded> {
        let source = self.sources_of(declared).into_iter().next();
        let Some(direction) = &item.direction else {
            return Some(
                source.map_or_else(|| Excluded::Release(item.source.text.clone()), Excluded::Source),
            );
        };
        if direction.broken {
            return None;
        }
        match source {
            Some(source @ Source::Input(id)) if declared.class != Class::StopContact => {
                if self.unsound.contains(&crate::model::Element::Input(id)) {
                    return None;
                }
                let failure = self.failure_word(id, direction)?;
                let all = self.all_failures(id);
                if let Some(input) = self.model.inputs.get_mut(id) {
                    input.fails.get_or_insert(all).remove(&failure);
                }
                Some(Excluded::Direction(source, direction.text.clone()))
            }
            Some(source @ Source::Actuator(id)) => {
                let position = self.failing_position(Device::Actuator(id), &item.source.text, direction)?;
                if let Some(actuator) = self.model.actuators.get_mut(id) {
                    actuator.fails.remove(&position);
                }
                Some(Excluded::Direction(source, direction.text.clone()))
            }
            Some(source @ Source::Passive(id)) => {
                let position = self.failing_position(Device::Passive(id), &item.source.text, direction)?;
                if let Some(passive) = self.model.passive.get_mut(id) {
                    passive.fails.remove(&position);
                }
                Some(Excluded::Direction(source, direction.text.clone()))
            }
            _ => {
                let why = "only sensors, switches, actuators and passive devices fail in directions; \
                           leave it out to exclude every fault";
                self.needless_key(direction.span, "direction", why);
                None
            }
        }
    }

    fn failing_position(&mut self, device: Device, tag: &str, word: &Scalar) -> Option<usize> {
        let positions = self.known_positions(device)?;
        let found = positions.iter().position(|name| *name == word.text);
        if found.is_none() {
            self.unknown_position(&word.text, word.span, tag, &positions);
        }
        found
    }

    /// Assumptions.
    pub(super) fn assumptions(&mut self) {
        for (key, item) in self.doc.assumptions.iter().flat_map(|table| &table.entries) {
            let assumption = Assumption {
                name: self.name(key, None),
                statement: self.words(&item.statement, "statement"),
                owner: self.optional_words(item.owner.as_ref(), "owner"),
                evidence: self.optional_words(item.evidence.as_ref(), "evidence"),
                expires: self.optional_date(item.expires.as_ref()),
            };
            self.model.assumptions.push(assumption);
        }
    }

    /// Accepted findings.
    pub(super) fn accepted(&mut self) {
        for (key, item) in self.doc.accepted.iter().flat_map(|table| &table.entries) {
            let acceptance = Acceptance {
                name: self.name(key, None),
                findings: self.accepted_ids(key, item),
                modes: self.accepted_modes(item),
                reason: self.words(&item.reason, "reason"),
                by: self.words(&item.by, "by"),
                expires: self.date(&item.expires),
            };
            self.model.accepted.push(acceptance);
        }
    }

    /// The modes that an acceptance names; each is a mode of some group.
    fn accepted_modes(&mut self, item: &document::Accepted) -> Vec<String> {
        let mut found = Vec::new();
        for leaf in item.modes.iter().flat_map(|list| &list.items) {
            if self.model.modes.iter().any(|(_, mode)| mode.name.tag == leaf.text) {
                found.push(leaf.text.clone());
                continue;
            }
            let names: Vec<String> = self.model.modes.iter().map(|(_, mode)| mode.name.tag.clone()).collect();
            let message = format!("no mode is called `{}`", leaf.text);
            self.report(
                Problem::new("unknown-tag", leaf.span, message, "not a mode of this model")
                    .help(format!("the modes are {}", names.join(", "))),
            );
        }
        found
    }

    /// The ids that an acceptance names: `finding` or `findings`, exactly one of the two.
    fn accepted_ids(&mut self, key: &Scalar, item: &document::Accepted) -> Vec<(String, Span)> {
        let list = match (&item.finding, &item.findings) {
            (Some(one), None) => return vec![(self.words(one, "finding"), one.span)],
            (None, Some(list)) => list,
            (None, None) => {
                let why = "name the id of the finding as the report prints it, or several under `findings`";
                self.missing_key(key, "finding", why);
                return Vec::new();
            }
            (Some(one), Some(list)) => {
                self.report(
                    Problem::new(
                        "contradiction",
                        one.span,
                        format!("`{}` names findings under both `finding` and `findings`", key.text),
                        "`findings` is there too",
                    )
                    .help("put all ids under `findings` and remove `finding`")
                    .also(list.span, "the other one"),
                );
                return Vec::new();
            }
        };
        if list.items.is_empty() {
            let message = format!("`findings` of `{}` names no finding", key.text);
            self.empty(list.span, message, "name the ids of the findings as the report prints them");
        }
        let mut found: Vec<(String, Span)> = Vec::new();
        for leaf in &list.items {
            let id = self.words(leaf, "findings");
            match found.iter().find(|(other, _)| *other == id).map(|(_, span)| *span) {
                Some(first) if !leaf.broken => self.repeated(leaf, first, "findings"),
                _ => found.push((id, leaf.span)),
            }
        }
        found
    }

    /// Positions of a list, each once.
    fn distinct(&mut self, placed: Vec<super::position::Placed>, field: &str) -> Vec<AtPosition> {
        let mut seen: BTreeSet<AtPosition> = BTreeSet::new();
        let mut found = Vec::new();
        for item in placed {
            if seen.insert(item.at) {
                found.push(item.at);
                continue;
            }
            let text = self.model.at_text(item.at);
            self.report(
                Problem::new(
                    "named-twice",
                    item.span,
                    format!("`{text}` stands twice in `{field}`"),
                    "a second time here",
                )
                .help("remove one of the two"),
            );
        }
        found
    }
}
