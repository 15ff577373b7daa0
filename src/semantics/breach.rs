//! §6 of `docs/meaning.md`: what breaks a claim.

use super::Encoder;
use crate::claim::Breach;
use crate::model::{ActuatorId, AtPosition, Device, Door, SpaceId};
use crate::situation::ModeChoice;
use crate::syntax::kind::ReleasePlace;
use crate::term::TermId;

impl Encoder<'_> {
    pub(super) fn breach(&mut self, breach: &Breach) -> TermId {
        let model = self.model;
        match breach {
            Breach::NotMet { hazard, onset } => {
                let present = self.present(*hazard, *onset);
                let met = self.positions(&model.hazards[*hazard].safe_state);
                let not_met = self.terms.not(met);
                self.terms.both(present, not_met)
            }
            Breach::Exists { hazard, onset } => self.present(*hazard, Some(*onset)),
            Breach::Possible => self.terms.yes(),
            Breach::Fires(cause) => self.fires(*cause),
            Breach::FiresFor(cause, hazard) => {
                let fires = self.fires(*cause);
                let present = self.present(*hazard, None);
                let element = &model.hazards[*hazard];
                let modes = element.exists_in.iter().copied().collect();
                let there = self.mode_among(ModeChoice::Holds(element.group), &modes);
                self.terms.and([fires, present, there])
            }
            Breach::Opposed(actuator) => self.opposed(*actuator),
            Breach::Occurs(exclusion) => self.positions(&model.exclusions[*exclusion].never),
            Breach::Broken(invariant) => {
                let rule = &model.invariants[*invariant];
                let whenever =
                    self.over_positions(&rule.whenever, &mut |this: &mut Self, at| this.is_demanded(at));
                let then = self.over_positions(&rule.then, &mut |this: &mut Self, at| this.is_demanded(at));
                let not_then = self.terms.not(then);
                self.terms.both(whenever, not_then)
            }
            Breach::LockedIn(space) => self.locked_in(*space),
        }
    }

    /// Some cause that demands the position is true. A passive device is never demanded anywhere.
    fn is_demanded(&mut self, at: AtPosition) -> TermId {
        let Device::Actuator(actuator) = at.device else { return self.terms.no() };
        let mut any = Vec::new();
        for cause in self.demanding(actuator, at.position) {
            any.push(self.value(cause));
        }
        self.terms.or(any)
    }

    fn opposed(&mut self, id: ActuatorId) -> TermId {
        let model = self.model;
        let actuator = &model.actuators[id];
        if actuator.winner.is_some() {
            return self.terms.no();
        }
        let mut demanded = Vec::new();
        for position in 0..actuator.positions.len() {
            let mut by_any = Vec::new();
            for driver in &actuator.drivers {
                by_any.push(self.demanded(*driver, position));
            }
            demanded.push(self.terms.or(by_any));
        }
        self.terms.at_least(2, demanded)
    }

    fn locked_in(&mut self, id: SpaceId) -> TermId {
        let model = self.model;
        let space = &model.spaces[id];
        let mut all = Vec::new();
        for (group, modes) in &space.people_in {
            all.push(self.mode_among(ModeChoice::Holds(*group), modes));
        }
        for door in &space.doors {
            all.push(self.door_holds(door));
        }
        self.terms.and(all)
    }

    fn door_holds(&mut self, door: &Door) -> TermId {
        let way_out = door.escape_release.as_ref().is_some_and(|release| {
            release.place == ReleasePlace::Inside && release.mechanical && release.aids.is_empty()
        });
        match door.held_by {
            Some(at) if !way_out => self.at(at),
            Some(_) | None => self.terms.no(),
        }
    }
}
