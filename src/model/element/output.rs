//! Actuators with their drivers, passive devices, and releases of fire suppression.

use std::collections::BTreeSet;

use super::{Name, Parents, Relation, Source, Time};
use crate::exact::Exact;
use crate::model::pool::{
    ActuatorId, CauseId, ConditionId, DriverId, PassiveId, QuantityId, RelayId, RouteId, SolverId, SpaceId,
    SupplyId,
};
use crate::model::tree::Tree;
use crate::syntax::kind::LineKind;
use crate::unit::Quantity;

/// An actuator or a passive device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Device {
    /// An actuator.
    Actuator(ActuatorId),
    /// A passive device.
    Passive(PassiveId),
}

/// A device at one of its positions: an atom of safe states. `position` is its number in the device's list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AtPosition {
    /// The device.
    pub device: Device,
    /// Number of the position.
    pub position: usize,
}

/// What an actuator does without energy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WithoutEnergy {
    /// Goes to this position; with energy it goes to the other number.
    Goes {
        /// Position without energy.
        off: usize,
        /// Position with energy.
        on: usize,
    },
    /// Stays where it is; it has exactly two positions, each reached by energy.
    Stays,
}

/// An actuator.
#[derive(Debug, Clone)]
pub struct Actuator {
    /// Its name.
    pub name: Name,
    /// Its positions, two or more, distinct.
    pub positions: Vec<String>,
    /// What it does without energy.
    pub without_energy: WithoutEnergy,
    /// Rest position where only the protection operates it; `None`: the process control operates it.
    pub rest: Option<usize>,
    /// Longest time to move.
    pub moves_in: Time,
    /// Shortest time to move, in seconds; 0 where it is not known.
    pub shortest: Exact,
    /// Its drivers.
    pub drivers: Vec<DriverId>,
    /// How its drivers are wired: And is series, Or is parallel. `None` without drivers.
    pub wiring: Option<Tree<DriverId>>,
    /// Position that wins where commands oppose each other.
    pub winner: Option<usize>,
    /// Supply of its energy.
    pub supply: Option<SupplyId>,
    /// Its cable routes.
    pub routes: Vec<RouteId>,
    /// How its line is watched.
    pub line: LineKind,
    /// Positions in which it can fail by itself; every position unless declared.
    pub fails: BTreeSet<usize>,
    /// Whether a proof test is declared.
    pub proof_tested: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// One driver of one actuator.
#[derive(Debug, Clone)]
pub struct Driver {
    /// The actuator.
    pub actuator: ActuatorId,
    /// The solver.
    pub solver: SolverId,
    /// Interposing relays between them.
    pub relays: Vec<RelayId>,
}

/// On what a passive device acts.
#[derive(Debug, Clone)]
pub enum ActsOn {
    /// A quantity, with its own tolerance.
    Quantity {
        /// Which.
        quantity: QuantityId,
        /// How it compares (never `=` or `<>`).
        relation: Relation,
        /// With what.
        bound: Exact,
        /// Tolerance either way, ≥ 0.
        accuracy: Exact,
    },
    /// A condition, or its absence.
    Condition {
        /// Which.
        condition: ConditionId,
        /// Whether on its absence.
        negated: bool,
    },
}

/// A passive device.
#[derive(Debug, Clone)]
pub struct Passive {
    /// Its name.
    pub name: Name,
    /// Its positions, two or more, distinct.
    pub positions: Vec<String>,
    /// Position until it acts.
    pub rest: usize,
    /// On what it acts and where it goes then; `None`: it only has to hold its rest position.
    pub acts: Option<(ActsOn, usize)>,
    /// Longest time to move.
    pub moves_in: Time,
    /// Positions in which it can fail by itself; every position unless declared.
    pub fails: BTreeSet<usize>,
    /// Whether a proof test is declared.
    pub proof_tested: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An amount that the file gives or calls unknown.
#[derive(Debug, Clone)]
pub enum Amount {
    /// Exact, with its unit.
    Known(Quantity),
    /// Declared `unknown`.
    Unknown,
}

/// A release of fire suppression.
#[derive(Debug, Clone)]
pub struct Suppression {
    /// Its name.
    pub name: Name,
    /// Causes that demand the discharge, distinct.
    pub released_by: Vec<CauseId>,
    /// Positions that are the discharge; each device at most once.
    pub discharges: Vec<AtPosition>,
    /// Spaces into which it discharges.
    pub into: Vec<SpaceId>,
    /// How many detectors must agree, ≥ 1.
    pub coincidence: u32,
    /// Warning before discharge.
    pub warning: Time,
    /// What warns.
    pub warned_by: Vec<ActuatorId>,
    /// Device that holds the discharge back.
    pub hold: Option<String>,
    /// Longest hold; `None`: no limit is declared.
    pub hold_limit: Option<Time>,
    /// What the zone draws; `None`: not stated.
    pub demand: Option<Amount>,
    /// Capacity of what is shared, of the kind of unit of the demand. The sources are actuators and machines. The same
    /// one has the same known capacity in every release.
    pub capacity: Vec<(Source, Amount)>,
    /// How many of them may be lost while the others together carry the demand; `None`: each carries it alone. Where
    /// it is given, every release that lists one of them lists the same ones, with the same number.
    pub spare: Option<u32>,
}
