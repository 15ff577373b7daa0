//! What happens in the end: where the devices stand, and how that breaks the claim.

use crate::claim::Breach;
use crate::exact::Exact;
use crate::model::{
    ActsOn, Actuator, ActuatorId, AtPosition, CauseId, Device, Door, Driver, Element, Hazard, HazardId,
    InvariantId, PassiveId, SpaceId, Time, WithoutEnergy,
};
use crate::outcome::seconds;
use crate::replay::{Late, Reached};
use crate::situation::NumberChoice;
use crate::syntax::kind::{ReleaseAid, ReleasePlace};

use super::{Teller, logic, words};

/// From when to when the time is counted: late is what comes after it, which may still be before harm.
fn clock(hazard: &Hazard) -> String {
    let known = |time: &Time| match time {
        Time::Known(time) if !time.is_zero() => Some(seconds(time)),
        Time::Known(_) | Time::Unknown => None,
    };
    let ends = match known(&hazard.within) {
        Some(after) => format!("{after} s after harm begins"),
        None => "harm begins".to_string(),
    };
    let mut text = format!(
        "Time is counted from when the reading has surely reached its set point (where no worst rate is declared, from when \
         harm begins) until {ends}"
    );
    if let Some(Time::Known(time)) = &hazard.after_set_point {
        text.push_str(&format!(
            "; for a trip credited for it, the {} s from its set point to harm count",
            seconds(time)
        ));
    }
    if let Some(leaving) = known(&hazard.evacuation) {
        text.push_str(&format!("; less {leaving} s in which people leave"));
    }
    match &hazard.usable {
        part if *part == Exact::int(1) => text.push_str("; all of it may be used."),
        part => text.push_str(&format!("; of it {part} may be used.")),
    }
    text
}

impl Teller<'_> {
    /// The last part of the story.
    pub(super) fn ending(&self) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for device in &self.cone.devices {
            match device {
                Device::Actuator(id) => lines.extend(self.both_ways(*id)),
                Device::Passive(id) => lines.extend(self.feels(*id)),
            }
        }
        lines.extend(self.beyond_signals());
        lines.extend(match &self.claim.breach {
            Breach::NotMet { hazard, .. } | Breach::Blind(hazard) => self.not_met(*hazard),
            Breach::Late { hazard, .. } => self.late(*hazard),
            Breach::ActsInTime { cause, hazard, .. } => {
                let (cause, hazard) = (self.tag(Element::Cause(*cause)), self.tag(Element::Hazard(*hazard)));
                vec![format!("So {cause} acts in time for {hazard}.")]
            }
            Breach::Exists { hazard, .. } => {
                let text = words::quoted(&self.model.hazards[*hazard].text);
                let text = text.map_or_else(String::new, |text| format!(": {text}"));
                vec![format!("{} is present{text}.", self.call(Element::Hazard(*hazard)))]
            }
            Breach::Possible => Vec::new(),
            Breach::Fires(cause) => vec![format!("So {} fires.", self.tag(Element::Cause(*cause)))],
            Breach::FiresFor(cause, hazard) => {
                let (cause, hazard) = (self.tag(Element::Cause(*cause)), self.tag(Element::Hazard(*hazard)));
                vec![format!("So {cause} fires while {hazard} is present.")]
            }
            Breach::Opposed(actuator) => self.opposed(*actuator),
            Breach::Occurs(exclusion) => {
                let rule = &self.model.exclusions[*exclusion];
                let what = match words::quoted(&rule.text) {
                    Some(text) => format!("{text} occurs, which {} rules out", rule.name.tag),
                    None => format!("what {} rules out occurs", rule.name.tag),
                };
                let mut lines = self.so(&what);
                lines.extend(self.look_at_combination());
                lines
            }
            Breach::Broken(invariant) => self.invariant(*invariant),
            Breach::LockedIn(space) => self.locked_in(*space, None),
            Breach::ReleaseFails(space, door) => self.locked_in(*space, Some(*door)),
            Breach::Inside(space) => {
                vec![format!("Somebody is inside {}.", self.model.spaces[*space].name.tag)]
            }
            Breach::ReleaseUsed { space, .. } => {
                vec![format!("The release of {} is used.", self.model.spaces[*space].name.tag)]
            }
            Breach::Applies(invariant) => {
                vec![format!("What {} begins with is demanded.", self.model.invariants[*invariant].name.tag)]
            }
            Breach::Quiet(cause) => {
                vec![format!("Everything is normal, and {} is false.", self.tag(Element::Cause(*cause)))]
            }
            Breach::Runs(mode) => {
                vec![format!("Nothing stops mode {} from working.", self.tag(Element::Mode(*mode)))]
            }
            Breach::Matters(cause, _) => {
                vec![format!("Only {} commands what it commands.", self.tag(Element::Cause(*cause)))]
            }
            Breach::Unled(cause, others) => {
                let tags: Vec<String> =
                    others.iter().map(|other| self.tag(Element::Cause(*other)).to_string()).collect();
                let not = if tags.len() == 1 { "is not true" } else { "are not true" };
                vec![format!(
                    "So {} fires, and {} {not}.",
                    self.tag(Element::Cause(*cause)),
                    words::list(&tags)
                )]
            }
            Breach::VoteTrips(cause, _) => {
                vec![format!("So the vote of {} says trip.", self.tag(Element::Cause(*cause)))]
            }
            Breach::Harmed { hazard, cause, at } => {
                let device = self.tag(self.model.device_element(at.device)).to_string();
                let besides = self.besides(*cause);
                let (cause, hazard) = (self.tag(Element::Cause(*cause)), self.tag(Element::Hazard(*hazard)));
                let position = words::position(self.model, *at);
                let mut lines = vec![format!(
                    "{cause} commands {device} {position}, which {hazard} forbids while it is present."
                )];
                lines.push(self.look_at_harmed(*at));
                lines.extend(besides);
                lines
            }
            Breach::Forced { hazard, at, .. } => {
                let hazard = self.tag(Element::Hazard(*hazard));
                vec![format!(
                    "So {}, which {hazard} forbids while it is present; no cause commands that.",
                    words::stands(self.model, *at)
                )]
            }
            Breach::Outvoted { hazard, .. } => self.not_met(*hazard),
            Breach::Together(hazards) => {
                let tags: Vec<String> =
                    hazards.iter().map(|hazard| self.tag(Element::Hazard(*hazard)).to_string()).collect();
                let mut lines = vec![format!("{} are present together.", words::list(&tags))];
                let hazards: Vec<HazardId> = hazards.iter().copied().collect();
                lines.extend(self.look_at_safe_states(&hazards));
                lines
            }
            Breach::Armed(cause) => vec![format!("{} is armed.", self.tag(Element::Cause(*cause)))],
            Breach::SpanMissed(stop) => {
                let stop = self.tag(Element::Stop(*stop));
                self.so(&format!("not everything that {stop} must bring to rest is there"))
            }
            Breach::Released { space, door, hazard } => {
                let door = self.model.spaces[*space].doors.get(*door);
                let release = door.and_then(|door| door.escape_release.as_ref());
                let release = release.map_or("the release", |release| release.name.tag.as_str());
                let mut lines = vec![format!("{release} is used.")];
                lines.extend(self.not_met(*hazard));
                lines
            }
            Breach::Overdrawn(machine) => self.overdrawn(*machine),
            Breach::RunBoth(..) => vec!["Nothing stops the two modes from working at once.".to_string()],
            Breach::Clash(one, other) => self.clash(*one, *other),
            Breach::Overruled(actuator) => {
                let tag = self.tag(Element::Actuator(*actuator));
                self.so(&format!("{tag} does not go where it is commanded"))
            }
        });
        lines
    }

    fn not_met(&self, hazard: HazardId) -> Vec<String> {
        let hazard = &self.model.hazards[hazard];
        self.so(&match words::quoted(&hazard.safe_text) {
            Some(text) => format!("the safe state {text} is not reached"),
            None => format!("the safe state of {} is not reached", hazard.name.tag),
        })
    }

    /// What may command an element elsewhere until it is too late.
    fn kept(&self, reached: &Reached) -> Option<String> {
        let tag = |cause: &CauseId| self.model.causes[*cause].name.tag.clone();
        let causes: Vec<String> = reached.kept_by.iter().map(tag).collect();
        let device = self.model.tag(self.model.device_element(reached.at.device));
        let ends = match causes.len() {
            1 => "it may have been true before, and ends when its condition is seen to be false",
            _ => "they may have been true before, and end when their conditions are seen to be false",
        };
        (!causes.is_empty()).then(|| {
            format!("Until then {} may still command {device} elsewhere: {ends}.", words::list(&causes))
        })
    }

    /// What stands where it should and comes too late, what does not stand there, and what follows.
    fn late(&self, hazard: HazardId) -> Vec<String> {
        let safe = &self.model.hazards[hazard];
        let mut lines = Vec::new();
        let mut elsewhere = Vec::new();
        for reached in &self.replay.reached {
            match &reached.late {
                Late::By(over) => {
                    lines.push(format!(
                        "{}, but {} s later than the time that may be used.",
                        words::stands(self.model, reached.at),
                        seconds(over)
                    ));
                    lines.extend(self.kept(reached));
                }
                Late::Unknown => {
                    // A time is unknown, or a signal on the way does not stay.
                    lines.push(format!(
                        "{}, but nobody knows when, or for how long.",
                        words::stands(self.model, reached.at)
                    ));
                    lines.extend(self.kept(reached));
                }
                Late::NotAtAll => {
                    let stands = words::stands(self.model, self.position_of(reached.at.device));
                    if !elsewhere.contains(&stands) {
                        elsewhere.push(stands);
                    }
                }
                Late::InTime => {}
            }
        }
        lines.extend(words::sentences(&elsewhere));
        lines.push(clock(safe));
        lines.push(match words::quoted(&safe.safe_text) {
            Some(text) => format!("So the safe state {text} is not reached in the time that may be used."),
            None => {
                format!("So the safe state of {} is not reached in the time that may be used.", safe.name.tag)
            }
        });
        lines
    }

    /// Where the devices of the breach stand, and what follows.
    fn so(&self, what: &str) -> Vec<String> {
        let devices = self.cone.devices.iter();
        let stand: Vec<String> =
            devices.map(|device| words::stands(self.model, self.position_of(*device))).collect();
        if stand.is_empty() {
            return vec![words::capital(&format!("{what}."))];
        }
        let whole = format!("{}, so {what}.", words::list(&stand));
        if whole.chars().count() <= words::LONGEST && stand.len() <= 4 {
            return vec![whole];
        }
        let mut lines = words::sentences(&stand);
        lines.push(format!("So {what}."));
        lines
    }

    /// An actuator that a working driver is told to move both ways, or that has lost its supply.
    fn both_ways(&self, id: ActuatorId) -> Vec<String> {
        let actuator = &self.model.actuators[id];
        let tag = self.tag(Element::Actuator(id));
        let lost = actuator.supply.filter(|supply| self.replay.lost.contains(supply));
        if let Some(supply) = lost {
            let stays = matches!(actuator.without_energy, WithoutEnergy::Stays);
            let then = if stays { " and stays where it is" } else { "" };
            return vec![format!("{tag} gets no energy from {}{then}.", self.tag(Element::Supply(supply)))];
        }
        // An opposed claim tells who commands what at its end.
        if !self.obeys(id) || matches!(self.claim.breach, Breach::Opposed(_)) {
            return Vec::new();
        }
        let unpowered = self.unpowered(id, actuator);
        if !unpowered.is_empty() {
            return unpowered;
        }
        let torn = self
            .drivers()
            .filter(|(_, driver)| driver.actuator == id)
            .find(|(_, driver)| self.works(driver) && self.commanded(driver).len() > 1);
        let Some((_, driver)) = torn else { return Vec::new() };
        vec![self.torn(driver, actuator.winner)]
    }

    /// An actuator that stands where it goes without energy, or stays, because drivers have no supply.
    fn unpowered(&self, id: ActuatorId, actuator: &Actuator) -> Vec<String> {
        let at = self.position_of(Device::Actuator(id)).position;
        let drivers: Vec<&Driver> =
            self.drivers().map(|(_, driver)| driver).filter(|driver| driver.actuator == id).collect();
        let dead =
            |driver: &&&Driver| self.at_driver(driver).is_none() && self.replay.dead.contains(&driver.solver);
        let (deprived, then) = match actuator.without_energy {
            WithoutEnergy::Goes { off, .. } => (at == off, ""),
            WithoutEnergy::Stays => (drivers.iter().all(|driver| dead(&driver)), " and stays where it is"),
        };
        if !deprived {
            return Vec::new();
        }
        let tag = self.tag(Element::Actuator(id));
        let from = drivers.iter().filter(dead);
        from.map(|driver| {
            format!("{tag} gets no energy from {}{then}.", self.tag(Element::Solver(driver.solver)))
        })
        .collect()
    }

    fn torn(&self, driver: &Driver, winner: Option<usize>) -> String {
        let device = Device::Actuator(driver.actuator);
        let word = |position| words::position(self.model, AtPosition { device, position }).to_string();
        let to: Vec<String> = self.commanded(driver).into_iter().map(word).collect();
        let (solver, tag) =
            (self.tag(Element::Solver(driver.solver)), self.tag(Element::Actuator(driver.actuator)));
        let ends = match winner {
            Some(winner) => format!("{} wins", word(winner)),
            None => "nothing says which wins".to_string(),
        };
        format!("{solver} commands {tag} {} at once, and {ends}.", words::list(&to))
    }

    /// A passive device that works: what it feels, where that is not the true value, and whether it acts.
    fn feels(&self, id: PassiveId) -> Option<String> {
        if self.stuck(Device::Passive(id)) {
            return None;
        }
        let passive = &self.model.passive[id];
        let (on, _) = passive.acts.as_ref()?;
        let at = self.position_of(Device::Passive(id));
        let acts = if at.position == passive.rest { "does not act" } else { "acts" };
        let name = self.call(Element::Passive(id));
        Some(match on {
            ActsOn::Quantity { quantity, relation, bound, .. } => {
                let value = self.situation.number(self.model, NumberChoice::Quantity(*quantity));
                let error = self.situation.number(self.model, NumberChoice::Tolerance(id));
                let felt = words::of_quantity(self.model, *quantity, &(&value + &error));
                let bound = words::of_quantity(self.model, *quantity, bound);
                let off = logic::off_by(self.model, *quantity, &error);
                format!("{name} {acts}: it acts at {} {bound} and feels {felt}{off}.", relation.text())
            }
            ActsOn::Condition { condition, .. } => {
                let tag = self.tag(Element::Condition(*condition));
                format!("{name} {acts}, because {tag} is {}.", self.holds(*condition))
            }
        })
    }

    /// The positions to which an actuator is commanded; which cause commands what has been told.
    fn opposed(&self, id: ActuatorId) -> Vec<String> {
        let positions = self.model.actuators[id].positions.iter().enumerate();
        let commanded = positions.filter(|(position, _)| {
            !self.demanding(AtPosition { device: Device::Actuator(id), position: *position }).is_empty()
        });
        let to: Vec<String> = commanded.map(|(_, word)| word.clone()).collect();
        let tag = self.tag(Element::Actuator(id));
        vec![
            format!("{tag} is commanded {} at once, and nothing says which wins.", words::list(&to)),
            self.look_at_opposed(id),
        ]
    }

    /// Which demands are there and which are missing, and what follows.
    fn invariant(&self, id: InvariantId) -> Vec<String> {
        let rule = &self.model.invariants[id];
        let mut lines: Vec<String> = self.look_at_invariant(id).into_iter().collect();
        lines.push(match words::quoted(&rule.text) {
            Some(text) => format!("So {text} of {} does not hold.", rule.name.tag),
            None => format!("So {} does not hold.", rule.name.tag),
        });
        lines
    }

    /// Every door of the space, and why nobody gets out by it.
    fn locked_in(&self, id: SpaceId, failing: Option<usize>) -> Vec<String> {
        let space = &self.model.spaces[id];
        let mut lines: Vec<String> = space
            .doors
            .iter()
            .enumerate()
            .flat_map(|(number, door)| self.door(door, failing == Some(number)))
            .collect();
        lines.push(format!("Somebody inside {} has no way out.", self.call(Element::Space(id))));
        lines
    }

    fn door(&self, door: &Door, release_fails: bool) -> Vec<String> {
        let tag = &door.name.tag;
        let held = door.held_by.map(|at| format!("{tag} is held: {}.", words::stands(self.model, at)));
        let release = match &door.escape_release {
            None => format!("{tag} has no escape release."),
            Some(release) if release_fails => {
                format!("Its escape release {} does not work.", release.name.tag)
            }
            Some(release) => {
                let mut needs: Vec<String> =
                    release.aids.iter().map(|aid| format!("needs {}", aid_word(*aid))).collect();
                if release.place != ReleasePlace::Inside {
                    needs.insert(0, "is not worked from inside".to_string());
                }
                if !release.mechanical {
                    needs.insert(0, "is not mechanical".to_string());
                }
                let tag = &release.name.tag;
                format!("Its escape release {tag} does not count: it {}.", words::list(&needs))
            }
        };
        held.into_iter().chain([release]).collect()
    }
}

fn aid_word(aid: ReleaseAid) -> &'static str {
    match aid {
        ReleaseAid::Power => "power",
        ReleaseAid::Knowledge => "knowledge that a visitor does not have",
        ReleaseAid::Tool => "a tool",
        ReleaseAid::Key => "a key",
    }
}
