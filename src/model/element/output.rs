//! Actuators with their drivers, and passive devices.

use std::collections::BTreeSet;

use super::{Name, Parents, Relation, Time};
use crate::exact::Exact;
use crate::model::pool::{
    ActuatorId, ConditionId, DriverId, PassiveId, QuantityId, RelayId, RouteId, SolverId, SupplyId,
};
use crate::model::tree::Tree;
use crate::syntax::kind::LineKind;

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
