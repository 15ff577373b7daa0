//! What must not happen in earnest while a situation is replayed: a discharge, a door that holds somebody inside.
//!
//! Responsible for naming what the model knows of it. What the site's own procedure asks for goes before all of this.

use crate::claim::Breach;
use crate::model::{AtPosition, CauseId, Device, Element, Suppression};

use super::{Teller, cone, words};

impl Teller<'_> {
    /// The warnings of a situation, to be read before anybody replays it.
    pub(super) fn cautions(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.no_discharge().into_iter().collect();
        lines.extend(self.model.spaces.ids().filter_map(|space| self.nobody_inside(space)));
        lines
    }

    /// Whether a replay in earnest could discharge a zone: a cause that releases it has what it asks for, even where
    /// a fault keeps it from acting, or the story turns on what discharges.
    fn discharges(&self, zone: &Suppression) -> bool {
        let asked = |id: CauseId| {
            let demands = zone.discharges.iter().any(|at| cone::demands(self.model, id, *at));
            (zone.released_by.contains(&id) || demands) && (self.is_true(id) || self.is_met(id))
        };
        let decides = |at: &AtPosition| self.cone.devices.contains(&at.device);
        self.model.causes.ids().any(asked) || zone.discharges.iter().any(decides)
    }

    /// Whether a cause is armed and its condition holds, whatever its solver does with it.
    fn is_met(&self, id: CauseId) -> bool {
        self.replay.conditions.get(&id) == Some(&true) && self.replay.armed.get(&id) != Some(&false)
    }

    fn no_discharge(&self) -> Option<String> {
        let zones = self.model.suppression.iter().filter(|(_, zone)| self.discharges(zone));
        let named: Vec<String> = zones
            .map(|(id, zone)| {
                let tag = self.tag(Element::Suppression(id));
                match zone.discharges.is_empty() {
                    true => tag.to_string(),
                    false => format!("{tag} ({})", words::whole(&self.positions(&zone.discharges))),
                }
            })
            .collect();
        (!named.is_empty()).then(|| {
            format!(
                "Do not replay this with the real discharge of {}: simulate at the inputs, with the outputs that discharge \
                 disconnected or inhibited under your site's permit.",
                words::whole(&named)
            )
        })
    }

    /// A space of which a door is held by what is commanded or stands so in the end.
    fn nobody_inside(&self, id: crate::model::SpaceId) -> Option<String> {
        let space = &self.model.spaces[id];
        let about = matches!(
            self.claim.breach,
            Breach::LockedIn(asked) | Breach::ReleaseFails(asked, _) | Breach::Released { space: asked, .. } if asked == id
        );
        let held = |at: &AtPosition| {
            let commanded = |id: CauseId| self.is_true(id) && cone::demands(self.model, id, *at);
            let stands = self.cone.devices.contains(&at.device) && self.position_of(at.device) == *at;
            stands || self.causes.iter().copied().chain(self.true_too()).any(commanded)
        };
        let doors = space.doors.iter().filter(|door| door.held_by.as_ref().is_some_and(held));
        let doors: Vec<String> = doors.map(|door| door.name.tag.clone()).collect();
        let tag = self.tag(Element::Space(id));
        match doors.is_empty() {
            false => Some(format!(
                "{} can hold {tag} shut: nobody may be inside during the replay, and somebody outside must be able to open it.",
                words::whole(&doors)
            )),
            true if about => Some(format!("Nobody may be inside {tag} during the replay.")),
            true => None,
        }
    }

    /// That a device which acts by itself is beyond signals.
    pub(super) fn beyond_signals(&self) -> Option<String> {
        let acting = self.cone.devices.iter().filter_map(|device| match device {
            Device::Passive(id) => Some(self.tag(Element::Passive(*id)).to_string()),
            Device::Actuator(_) => None,
        });
        let names: Vec<String> = acting.collect();
        let it = if names.len() == 1 { "it is" } else { "they are" };
        (!names.is_empty()).then(|| {
            format!(
                "{} cannot be simulated by signals: assume that {it} as told, and look at that on paper or by \
                 inspection, never by bringing on what makes it act.",
                words::whole(&names)
            )
        })
    }
}
