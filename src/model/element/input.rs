//! What solvers read: sensors and switches, loops, stop contacts, mode inputs; and the doors of spaces.

use std::collections::{BTreeMap, BTreeSet};

use super::{AtPosition, Element, Interval, Name, Parents, Time};
use crate::exact::Exact;
use crate::model::pool::{
    ConditionId, ConditionerId, ContactId, GroupId, HazardId, InputId, ModeId, QuantityId, RouteId, SolverId,
    StopId, SupplyId,
};
use crate::syntax::kind::{InputFailure, LineKind, LoopDetection, OnBad, ReleaseAid, ReleasePlace};

/// An input by which solvers learn a mode.
#[derive(Debug, Clone)]
pub struct ModeInput {
    /// Its name.
    pub name: Name,
    /// The group it tells.
    pub group: GroupId,
    /// The solvers that learn from it.
    pub tells: Vec<SolverId>,
    /// Its cable routes.
    pub routes: Vec<RouteId>,
    /// What it goes through.
    pub through: Vec<ConditionerId>,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// What an input observes.
#[derive(Debug, Clone)]
// One per input of a plant: the size does not matter, and a box would only be in the way.
#[allow(clippy::large_enum_variant)]
pub enum Observes {
    /// A sensor measures a quantity.
    Quantity {
        /// Which.
        quantity: QuantityId,
        /// Range of the instrument.
        range: Interval,
        /// Largest error either way, ≥ 0.
        accuracy: Exact,
        /// Difference between setting and clearing, ≥ 0.
        deadband: Exact,
    },
    /// A switch detects a condition, or its absence.
    Condition {
        /// Which.
        condition: ConditionId,
        /// Whether it detects the absence.
        negated: bool,
    },
    /// A loop of contacts: it is *asserted* when open.
    Loop {
        /// Its contacts.
        contacts: Vec<ContactId>,
        /// How its faults are found.
        detection: LoopDetection,
        /// Whether a fault that was found is held.
        fault_held: bool,
    },
    /// A contact of an emergency stop: it is *asserted* when the device is pressed.
    Stop(StopId),
}

/// What an input shows without supply or with its line open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lost {
    /// The low end of its range.
    Low,
    /// The high end of its range.
    High,
    /// Asserted: detected, open, pressed.
    Asserted,
    /// Not asserted: clear, closed.
    Cleared,
    /// Bad.
    Bad,
    /// Anything.
    Holds,
}

/// How an input reaches one solver.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Path {
    /// Cable routes of the line.
    pub routes: Vec<RouteId>,
    /// What the signal goes through.
    pub through: Vec<ConditionerId>,
}

/// How long an input takes until its signal is right, in parts that follow one another.
#[derive(Debug, Clone)]
pub struct Response {
    /// Until the reading stays within its accuracy after a step, or (`t90`) until 90 % of a step are shown.
    pub step: Time,
    /// Whether `step` is a T90, which says enough only where the quantity has a declared rate.
    pub t90: bool,
    /// Confirmation in the instrument.
    pub confirmation: Time,
    /// Filter or averaging.
    pub filter: Time,
    /// In a sampling tube or on a bus.
    pub transport: Time,
}

/// A sensor, switch, loop or stop contact.
#[derive(Debug, Clone)]
pub struct Input {
    /// Its name.
    pub name: Name,
    /// What it observes.
    pub observes: Observes,
    /// The solvers it is wired to, each with its path.
    pub readers: BTreeMap<SolverId, Path>,
    /// How its line is watched.
    pub line: LineKind,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// How long it takes.
    pub response: Response,
    /// Shortest time for which what it observes stays, once it is there; `None`: as long as the hazard.
    pub stays: Option<Time>,
    /// Time after its supply returns in which it shows what it shows without; `None`: it shows the truth at once.
    pub warm_up: Option<Time>,
    /// Quantities that must be in a range for it to be right.
    pub rated_for: Vec<(QuantityId, Interval)>,
    /// What it shows without supply or with its line open.
    pub on_loss: Lost,
    /// How a bad signal counts; `None`: not declared, so it does not vote to trip.
    pub on_bad: Option<OnBad>,
    /// Directions in which it can fail by itself; `None`: any reading, or bad. Always `None` for loops and stop contacts.
    pub fails: Option<BTreeSet<InputFailure>>,
    /// Whether a proof test is declared.
    pub proof_tested: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// A contact of a loop.
#[derive(Debug, Clone)]
pub struct Contact {
    /// Its name.
    pub name: Name,
    /// The loop it belongs to.
    pub of: InputId,
    /// The condition on which it opens.
    pub condition: ConditionId,
    /// Whether it opens on the absence of the condition.
    pub negated: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An emergency stop device.
#[derive(Debug, Clone)]
pub struct Stop {
    /// Its name.
    pub name: Name,
    /// Its contacts.
    pub contacts: Vec<InputId>,
    /// What it must bring where.
    pub brings: Vec<AtPosition>,
    /// What it must leave alone.
    pub leaves_alone: Vec<Element>,
    /// Stop category 0, 1 or 2.
    pub category: u32,
    /// Faults under which the span is still reached.
    pub fault_tolerance: u32,
}

/// A release of a door.
#[derive(Debug, Clone)]
pub struct Release {
    /// Its name.
    pub name: Name,
    /// Where it is worked.
    pub place: ReleasePlace,
    /// Whether it is mechanical.
    pub mechanical: bool,
    /// What it needs.
    pub aids: BTreeSet<ReleaseAid>,
    /// Inputs that trip when it is used.
    pub trips: Vec<InputId>,
}

/// A door.
#[derive(Debug, Clone)]
pub struct Door {
    /// Its name.
    pub name: Name,
    /// The position in which its lock holds it shut.
    pub held_by: Option<AtPosition>,
    /// Sensors that see it closed.
    pub position_sensors: Vec<InputId>,
    /// Worked from inside.
    pub escape_release: Option<Release>,
    /// Worked from outside.
    pub emergency_release: Option<Release>,
}

/// A space people may be in.
#[derive(Debug, Clone)]
pub struct Space {
    /// Its name.
    pub name: Name,
    /// Modes in which people may be inside, per group named.
    pub people_in: BTreeMap<GroupId, BTreeSet<ModeId>>,
    /// Its doors; never empty.
    pub doors: Vec<Door>,
    /// Hazards that need its doors shut.
    pub hazards_behind_doors: Vec<HazardId>,
    /// Time that people need to leave it; `None`: not stated.
    pub leaving_takes: Option<Time>,
}
