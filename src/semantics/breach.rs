//! §6 of `docs/meaning.md`: what breaks a claim.

use std::collections::BTreeSet;

use super::Encoder;
use super::output::groups_of;
use crate::claim::Breach;
use crate::model::{ActuatorId, AtPosition, Device, Door, GroupId, Model, SpaceId};
use crate::situation::ModeChoice;
use crate::syntax::kind::ReleasePlace;
use crate::term::TermId;

/// The mode groups that a breach over all modes is about.
fn home_of(model: &Model, breach: &Breach) -> BTreeSet<GroupId> {
    match breach.cause() {
        Some(cause) => groups_of(model, cause).collect(),
        None => breach.hazard().map(|hazard| model.hazards[hazard].group).into_iter().collect(),
    }
}

impl Encoder<'_> {
    pub(super) fn breach(&mut self, breach: &Breach) -> TermId {
        let model = self.model;
        if self.fixed.is_empty() {
            self.home = home_of(model, breach);
        }
        match breach {
            Breach::NotMet { hazard, onset } => {
                let present = self.present(*hazard, *onset);
                let met = self.positions(&model.hazards[*hazard].safe_state);
                let not_met = self.terms.not(met);
                self.terms.both(present, not_met)
            }
            Breach::Blind(hazard) => {
                let there = self.there_apart(*hazard);
                let met = self.positions(&model.hazards[*hazard].safe_state);
                let not_met = self.terms.not(met);
                self.terms.both(there, not_met)
            }
            Breach::Late { hazard, timing } => {
                self.unknown = Some(timing.unknown);
                self.late(*hazard, timing)
            }
            Breach::ActsInTime { cause, hazard, timing } => {
                self.unknown = Some(timing.unknown);
                self.acts_in_time(*cause, *hazard, timing)
            }
            Breach::Exists { hazard, onset } => self.present(*hazard, Some(*onset)),
            Breach::Possible => self.terms.yes(),
            Breach::Fires(cause) => self.fires(*cause),
            Breach::FiresFor(cause, hazard) => {
                let fires = self.fires(*cause);
                let there = self.there_apart(*hazard);
                self.terms.both(fires, there)
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
            Breach::LockedIn(space) => self.locked_in(*space, None),
            Breach::ReleaseFails(space, door) => self.locked_in(*space, Some(*door)),
            Breach::Inside(space) => self.people_inside(*space),
            Breach::ReleaseUsed { space, door, hazard } => self.release_used(*space, *door, *hazard),
            Breach::Applies(invariant) => {
                let rule = &model.invariants[*invariant];
                self.over_positions(&rule.whenever, &mut |this: &mut Self, at| this.is_demanded(at))
            }
            Breach::Quiet(cause) => self.quiet(*cause),
            Breach::Runs(mode) => self.runs(*mode),
            Breach::Matters(cause, at) => self.matters(*cause, *at),
            Breach::Unled(cause, others) => {
                let mut all = vec![self.fires(*cause)];
                for other in others {
                    let value = self.value(*other);
                    all.push(self.terms.not(value));
                }
                self.terms.and(all)
            }
            Breach::VoteTrips(cause, number) => self.vote_trips(*cause, *number),
            Breach::Harmed { hazard, cause, at } => self.harmed(*hazard, *cause, *at),
            Breach::Forced { hazard, source, at } => self.forced(*hazard, *source, *at),
            Breach::Outvoted { hazard, actuator } => self.outvoted(*hazard, *actuator),
            Breach::Together(hazards) => {
                let there: Vec<TermId> = hazards.iter().map(|hazard| self.there(*hazard)).collect();
                self.terms.and(there)
            }
            Breach::Armed(cause) => self.armed(&model.causes[*cause]),
            Breach::SpanMissed(stop) => self.span_missed(*stop),
            Breach::Released { space, door, hazard } => self.released(*space, *door, *hazard),
            Breach::Overruled(actuator) => self.overruled(*actuator),
            Breach::Overdrawn(machine) => self.overdrawn(*machine),
            Breach::RunBoth(one, other) => self.run_both(*one, *other),
            Breach::Clash(one, other) => self.clash(*one, *other),
        }
    }

    /// Some cause that demands the position is true. A passive device is never demanded anywhere.
    pub(super) fn is_demanded(&mut self, at: AtPosition) -> TermId {
        let Device::Actuator(actuator) = at.device else { return self.terms.no() };
        let mut any = Vec::new();
        for cause in self.demanding(actuator, at.position) {
            any.push(self.value(cause));
        }
        self.terms.or(any)
    }

    fn opposed(&mut self, id: ActuatorId) -> TermId {
        let model = self.model;
        if model.actuators[id].winner.is_some() {
            return self.terms.no();
        }
        let demanded = self.demanded_over_drivers(id);
        self.terms.at_least(2, demanded)
    }

    fn locked_in(&mut self, id: SpaceId, failing: Option<usize>) -> TermId {
        let model = self.model;
        let space = &model.spaces[id];
        let mut all = vec![self.people_inside(id)];
        for (number, door) in space.doors.iter().enumerate() {
            all.push(self.door_holds(door, failing == Some(number)));
        }
        self.terms.and(all)
    }

    /// Each group that is listed is in one of the modes in which people are inside.
    fn people_inside(&mut self, id: SpaceId) -> TermId {
        let model = self.model;
        let mut all = Vec::new();
        for (group, modes) in &model.spaces[id].people_in {
            all.push(self.mode_among(ModeChoice::Holds(*group), modes));
        }
        self.terms.and(all)
    }

    fn door_holds(&mut self, door: &Door, release_fails: bool) -> TermId {
        let way_out = door.escape_release.as_ref().is_some_and(|release| {
            release.place == ReleasePlace::Inside && release.mechanical && release.aids.is_empty()
        });
        match door.held_by {
            Some(at) if !way_out || release_fails => self.at(at),
            Some(_) | None => self.terms.no(),
        }
    }
}
