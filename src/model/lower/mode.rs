//! Lowers mode groups and modes, and resolves the names of modes wherever they are used.

use std::collections::{BTreeMap, BTreeSet};

use super::Lowering;
use super::leaf::written;
use super::tag::{Class, listed};
use crate::model::{Element, Group, GroupId, Id, Mode, ModeId, NormalIn};
use crate::problem::{Problem, nearest};
use crate::source::Span;
use crate::syntax::document;
use crate::syntax::kind::{Normal, People, Tag};
use crate::syntax::leaf::{List, Scalar, Table};

impl Lowering<'_> {
    /// Groups and the names of their modes; what is normal in a mode is added by [`Lowering::mode_details`].
    pub(super) fn groups(&mut self) {
        for (key, table) in &self.doc.modes.entries {
            let name = self.name(key, None);
            let group = self.model.groups.next_id();
            let mut modes = Vec::new();
            for (word, mode) in &table.entries {
                self.well_formed(word);
                modes.push(self.mode(group, word, mode));
            }
            if modes.is_empty() {
                self.unsound.insert(Element::Group(group));
                self.empty(
                    table.span,
                    format!("the mode group `{}` has no mode", name.tag),
                    "name at least one mode",
                );
            }
            self.model.groups.push(Group { name, modes });
        }
        if self.doc.modes.entries.is_empty() {
            self.empty(
                self.doc.modes.span,
                "there is no mode group".into(),
                "name at least one group with one mode",
            );
        }
    }

    fn mode(&mut self, group: GroupId, word: &Scalar, mode: &document::Mode) -> ModeId {
        let name = self.name(word, mode.title.as_ref());
        let people = self.choice(Some(&mode.people), "people").unwrap_or(People::Expected);
        let after_power_return = self.flag(mode.after_power_return.as_ref(), false);
        let (normal, needs) = (Vec::new(), Vec::new());
        self.model.modes.push(Mode { name, group, people, normal, needs, after_power_return })
    }

    /// Records a list or table in which something must stand; one that was not written is recorded already.
    pub(super) fn empty(&mut self, span: Span, message: String, help: &str) {
        if written(span) {
            self.report(Problem::new("empty-list", span, message, "nothing stands here").help(help));
        }
    }

    /// What is normal in each mode, what it needs, and what may follow it.
    pub(super) fn mode_details(&mut self) {
        let mut mode = 0;
        for (group, (_, table)) in self.doc.modes.entries.iter().enumerate() {
            let group = GroupId::from_index(group);
            self.one_after_power_return(table);
            for (_, details) in &table.entries {
                self.mode_list(group, details.followed_by.as_ref(), "followed_by");
                let normal = self.normal_in(details.normal.as_ref());
                let needs = self.positions(details.needs.as_ref(), "needs", Class::DEVICES);
                let needs = self.consistent(needs);
                if let Some(mode) = self.model.modes.get_mut(ModeId::from_index(mode)) {
                    mode.normal = normal;
                    mode.needs = needs;
                }
                mode += 1;
            }
        }
    }

    fn one_after_power_return(&mut self, table: &Table<document::Mode>) {
        let flags = table.entries.iter().filter_map(|(_, mode)| mode.after_power_return.as_ref());
        let mut set = flags.filter(|flag| flag.text == "true");
        let Some(first) = set.next().map(|flag| flag.span) else { return };
        for second in set {
            self.report(
                Problem::new(
                    "contradiction",
                    second.span,
                    "a group comes up in one mode when power returns, and another is already named",
                    "a second mode",
                )
                .help("keep `after_power_return: true` in one mode of the group")
                .also(first, "the first one"),
            );
        }
    }

    fn normal_in(&mut self, table: Option<&Table<Normal>>) -> Vec<NormalIn> {
        let mut normal = Vec::new();
        for (key, value) in table.iter().flat_map(|table| &table.entries) {
            let Some(found) = self.find(key, &[Class::Quantity, Class::Condition], "normal") else {
                continue;
            };
            if value.broken {
                continue;
            }
            normal.extend(match found.class {
                Class::Quantity => self.normal_quantity(found.index, value),
                _ => self.normal_condition(found.index, &key.text, value),
            });
        }
        normal
    }

    fn normal_quantity(&mut self, index: usize, value: &Normal) -> Option<NormalIn> {
        let id = crate::model::QuantityId::from_index(index);
        if value.text == "free" {
            return Some(NormalIn::FreeQuantity(id));
        }
        if self.unsound.contains(&Element::Quantity(id)) {
            return None;
        }
        let kind = self.kind_of(id)?;
        let range = self.normal_range(value, kind)?;
        self.within_physical(id, &range, value.span);
        Some(NormalIn::Range(id, range))
    }

    fn normal_condition(&mut self, index: usize, tag: &str, value: &Normal) -> Option<NormalIn> {
        let id = crate::model::ConditionId::from_index(index);
        match value.text.as_str() {
            "true" => Some(NormalIn::Value(id, true)),
            "false" => Some(NormalIn::Value(id, false)),
            "free" => Some(NormalIn::FreeCondition(id)),
            word => {
                let options = ["true", "false", "free"];
                let near = nearest(word, options).map_or("what is normal is ".to_string(), |near| {
                    format!("did you mean `{near}`? What is normal is ")
                });
                self.report(
                    Problem::new(
                        "unknown-word",
                        value.span,
                        format!("what is normal for the condition `{tag}` is not `{word}`"),
                        "unknown word",
                    )
                    .help(format!("{near}`true`, `false` or `free`")),
                );
                None
            }
        }
    }

    /// The mode of a group with a name.
    pub(super) fn mode_named(&self, group: GroupId, word: &str) -> Option<ModeId> {
        self.model.groups[group].modes.iter().copied().find(|mode| self.model.modes[*mode].name.tag == word)
    }

    /// As [`Lowering::mode_named`]; a name that the group does not have is a problem.
    pub(super) fn mode_of(&mut self, group: GroupId, word: &str, span: Span) -> Option<ModeId> {
        let found = self.mode_named(group, word);
        if found.is_none() && !self.unsound.contains(&Element::Group(group)) {
            let group = &self.model.groups[group];
            let modes: Vec<&str> =
                group.modes.iter().map(|m| self.model.modes[*m].name.tag.as_str()).collect();
            let help = match nearest(word, modes.iter().copied()) {
                Some(near) => format!("did you mean `{near}`? Its modes are {}", listed(modes)),
                None => format!("its modes are {}", listed(modes)),
            };
            let message = format!("the group `{}` has no mode `{word}`", group.name.tag);
            self.report(Problem::new("unknown-mode", span, message, "unknown mode").help(help));
        }
        found
    }

    /// The modes of one group in a list, each once.
    pub(super) fn mode_list(&mut self, group: GroupId, list: Option<&List<Tag>>, field: &str) -> Vec<ModeId> {
        let mut found: Vec<(ModeId, Span)> = Vec::new();
        for word in list.iter().flat_map(|list| &list.items).filter(|word| !word.broken) {
            let Some(mode) = self.mode_of(group, &word.text, word.span) else { continue };
            match found.iter().find(|(other, _)| *other == mode).map(|(_, span)| *span) {
                Some(first) => self.repeated(word, first, field),
                None => found.push((mode, word.span)),
            }
        }
        found.into_iter().map(|(mode, _)| mode).collect()
    }

    /// A table from mode groups to lists of their modes.
    pub(super) fn modes_by_group(
        &mut self,
        table: Option<&Table<List<Tag>>>,
        field: &str,
    ) -> BTreeMap<GroupId, BTreeSet<ModeId>> {
        let mut found = BTreeMap::new();
        for (key, list) in table.iter().flat_map(|table| &table.entries) {
            let Some(group) = self.id::<GroupId>(key, &[Class::Group], field) else { continue };
            let modes = self.mode_list(group, Some(list), field);
            if list.items.is_empty() {
                self.empty(
                    list.span,
                    format!("`{field}` names the group `{}` without a mode of it", key.text),
                    "name the modes, or leave the group out",
                );
            }
            found.insert(group, modes.into_iter().collect());
        }
        found
    }
}
