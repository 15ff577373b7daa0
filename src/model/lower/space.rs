//! Lowers what people use: emergency stop devices with their span, spaces with their doors and releases.

use super::Lowering;
use super::calculation::field::Field;
use super::tag::Class;
use crate::model::{Device, Door, Element, HazardId, Id, InputId, Release, Space, Stop, StopId};
use crate::problem::Problem;
use crate::syntax::document;
use crate::syntax::kind::{People, ReleasePlace, Tag};
use crate::syntax::leaf::{List, Scalar};

/// What a stop device can be told to leave alone.
const LEFT_ALONE: &[Class] = &[
    Class::Actuator,
    Class::Passive,
    Class::Supply,
    Class::Solver,
    Class::Link,
    Class::Sensor,
    Class::Switch,
    Class::Loop,
];

impl Lowering<'_> {
    /// Emergency stop devices; their contacts are inputs and lowered with them.
    pub(super) fn stops(&mut self) {
        for (key, item) in self.doc.stops.iter().flat_map(|table| &table.entries) {
            let id: StopId = self.model.stops.next_id();
            let contacts: Vec<InputId> = self
                .model
                .inputs
                .iter()
                .filter(|(_, input)| matches!(input.observes, crate::model::Observes::Stop(of) if of == id))
                .map(|(input, _)| input)
                .collect();
            if contacts.is_empty() && !key.broken {
                let message = format!("the stop device `{}` has no contact", key.text);
                self.empty(item.contacts.span, message, "name its contacts, one per channel");
            }
            let brings = self.positions(Some(&item.brings), "brings", Class::DEVICES);
            let brings = self.consistent(brings);
            let leaves_alone = self.left_alone(item.leaves_alone.as_ref(), &brings);
            self.optional_words(item.place.as_ref(), "place");
            let stop = Stop {
                name: self.name(key, item.title.as_ref()),
                contacts,
                brings,
                leaves_alone,
                category: self.count(Some(&item.stop_category), "stop_category", 0, 2).unwrap_or(0),
                fault_tolerance: self.small(item.fault_tolerance.as_ref(), "fault_tolerance", 0),
            };
            self.model.stops.push(stop);
        }
    }

    fn left_alone(&mut self, list: Option<&List<Tag>>, brings: &[crate::model::AtPosition]) -> Vec<Element> {
        let mut found = Vec::new();
        for leaf in list.iter().flat_map(|list| &list.items) {
            let Some(declared) = self.find(leaf, LEFT_ALONE, "leaves_alone") else { continue };
            let index = declared.index;
            let element = match declared.class {
                Class::Actuator => Element::Actuator(Id::from_index(index)),
                Class::Passive => Element::Passive(Id::from_index(index)),
                Class::Supply => Element::Supply(Id::from_index(index)),
                Class::Solver => Element::Solver(Id::from_index(index)),
                Class::Link => Element::Link(Id::from_index(index)),
                _ => Element::Input(Id::from_index(index)),
            };
            let brought = brings.iter().any(|at| match at.device {
                Device::Actuator(id) => element == Element::Actuator(id),
                Device::Passive(id) => element == Element::Passive(id),
            });
            if brought {
                self.report(
                    Problem::new(
                        "contradiction",
                        leaf.span,
                        format!("the stop must both move `{}` and leave it alone", leaf.text),
                        "named under `brings` too",
                    )
                    .help("remove it from `brings` or from `leaves_alone`"),
                );
            }
            found.push(element);
        }
        found
    }

    /// Spaces with their doors.
    pub(super) fn spaces(&mut self) {
        for (key, item) in self.doc.spaces.iter().flat_map(|table| &table.entries) {
            if item.doors.entries.is_empty() && !key.broken {
                let message = format!("the space `{}` has no door", key.text);
                self.empty(item.doors.span, message, "name its doors");
            }
            let mut doors = Vec::new();
            for (key, door) in &item.doors.entries {
                doors.push(self.door(key, door));
            }
            let space = Space {
                name: self.name(key, item.title.as_ref()),
                people_in: self.modes_by_group(Some(&item.people_in), "people_in"),
                doors,
                hazards_behind_doors: self.ids::<HazardId>(
                    item.hazards_behind_doors.as_ref(),
                    &[Class::Hazard],
                    "hazards_behind_doors",
                ),
                leaving_takes: self.time(item.leaving_takes.as_ref(), (key, Field::LeavingTakes)),
            };
            self.model.spaces.push(space);
        }
        self.nobody_where_people_are_named();
        self.people_without_a_space();
    }

    /// A space says people may be inside in a mode of which the mode itself says that nobody may.
    fn nobody_where_people_are_named(&mut self) {
        let doc = self.doc;
        for (space, item) in doc.spaces.iter().flat_map(|table| &table.entries) {
            for (group, word) in item.people_in.entries.iter().flat_map(|(key, list)| {
                list.items.iter().filter(|word| !word.broken).map(move |word| (&key.text, word))
            }) {
                let Some(mode) = mode(doc, group, &word.text) else { continue };
                if mode.people.value() != Some(People::Never) {
                    continue;
                }
                let message = format!(
                    "people may be inside `{}` in mode `{}`, but the mode says that nobody may be inside",
                    space.text, word.text
                );
                let help = format!(
                    "write `people: expected` in the mode `{0}`, or take `{0}` out of `people_in`",
                    word.text
                );
                self.report(
                    Problem::new("contradiction", word.span, message, "nobody may be inside in this mode")
                        .help(help)
                        .also(mode.people.word.span, "what the mode says"),
                );
            }
        }
    }

    /// People are expected in a mode of a group that spaces name, and no space says that they may be inside then: in
    /// that mode nobody would ask whether they can leave.
    fn people_without_a_space(&mut self) {
        let doc = self.doc;
        let spaces = || doc.spaces.iter().flat_map(|table| &table.entries);
        for (group, modes) in &doc.modes.entries {
            let lists: Vec<&List<Tag>> = spaces()
                .flat_map(|(_, space)| &space.people_in.entries)
                .filter(|(key, _)| key.text == group.text)
                .map(|(_, list)| list)
                .collect();
            let words = || lists.iter().flat_map(|list| &list.items);
            // A word that names no mode may have been meant as the one that is missing.
            let unclear = words().any(|word| word.broken || mode(doc, &group.text, &word.text).is_none());
            let Some(first) = lists.first().filter(|_| !unclear) else { continue };
            for (mode, item) in &modes.entries {
                let listed = words().any(|word| word.text == mode.text);
                if listed || item.people.value() != Some(People::Expected) {
                    continue;
                }
                let message = format!(
                    "people are expected in mode `{}`, but no space says that they may be inside then",
                    mode.text
                );
                let help = format!(
                    "add `{}` to `people_in` of a space, or write `people: never` in the mode",
                    mode.text
                );
                self.report(
                    Problem::new("contradiction", item.people.word.span, message, "in no space")
                        .help(help)
                        .also(first.span, format!("the modes of `{}` with people inside", group.text)),
                );
            }
        }
    }

    fn door(&mut self, key: &Scalar, door: &document::Door) -> Door {
        let held_by =
            door.held_by.as_ref().and_then(|text| self.position(text, "held_by", &[Class::Actuator]));
        Door {
            name: self.name(key, door.title.as_ref()),
            held_by: held_by.map(|placed| placed.at),
            position_sensors: self.ids(door.position_sensors.as_ref(), Class::INPUTS, "position_sensors"),
            escape_release: door.escape_release.as_ref().map(|release| self.release(&release.value)),
            emergency_release: door.emergency_release.as_ref().map(|release| self.release(&release.value)),
        }
    }

    fn release(&mut self, release: &document::Release) -> Release {
        let mut aids = std::collections::BTreeSet::new();
        for aid in release.aids.iter().flat_map(|list| &list.items) {
            aids.extend(self.choice(Some(aid), "aids"));
        }
        Release {
            name: self.name(&release.tag, None),
            place: self.choice(Some(&release.place), "place").unwrap_or(ReleasePlace::Outside),
            mechanical: self.flag(Some(&release.mechanical), false),
            aids,
            trips: self.ids(release.trips.as_ref(), Class::INPUTS, "trips"),
        }
    }
}

fn mode<'d>(doc: &'d document::Document, group: &str, mode: &str) -> Option<&'d document::Mode> {
    let (_, modes) = doc.modes.entries.iter().find(|(key, _)| key.text == group)?;
    modes.entries.iter().find(|(key, _)| key.text == mode).map(|(_, item)| item)
}
