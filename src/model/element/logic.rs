//! Solvers, links, causes, effects, resets and overrides.

use std::collections::{BTreeMap, BTreeSet};

use super::{Name, Parents, Relation, Time};
use crate::exact::Exact;
use crate::model::pool::{
    ActuatorId, CauseId, EffectId, GroupId, HazardId, InputId, LinkId, ModeId, ModeInputId, OverrideId,
    ResetId, RouteId, SolverId, SupplyId,
};
use crate::model::tree::Tree;
use crate::source::Span;
use crate::syntax::kind::{LinkLoss, Purpose, ResetEdge};

/// What a link can pass on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Signal {
    /// The reading of an input.
    Input(InputId),
    /// The value of a cause.
    Cause(CauseId),
}

/// A link.
#[derive(Debug, Clone)]
pub struct Link {
    /// Its name.
    pub name: Name,
    /// The solvers it connects; two or more, distinct.
    pub connects: Vec<SolverId>,
    /// What it passes on.
    pub carries: Vec<Signal>,
    /// Its longest delay.
    pub delay: Time,
    /// Whether it can only fail silent.
    pub supervised: bool,
    /// What a receiver takes when nothing arrives.
    pub on_loss: LinkLoss,
    /// Its cable routes.
    pub routes: Vec<RouteId>,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// How a solver comes to know a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// It is wired to it, or evaluates the cause itself.
    Direct,
    /// Over a link, from a solver that knows it.
    Over(LinkId, SolverId),
}

/// A logic solver.
#[derive(Debug, Clone)]
pub struct Solver {
    /// Its name.
    pub name: Name,
    /// Worst-case reaction.
    pub reaction: Time,
    /// Its scan period; `None`: it has none, or none is declared.
    pub scan: Option<Time>,
    /// Whether each scan begins with what its inputs show.
    pub scans_with_inputs: bool,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// Certified internal fault tolerance n; it weighs n + 1.
    pub tolerance: u32,
    /// The certificate, where n > 0.
    pub certificate: Option<String>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// A reset.
#[derive(Debug, Clone)]
pub struct Reset {
    /// Its name.
    pub name: Name,
    /// Where it stands.
    pub place: String,
    /// On which part of the act it works.
    pub acts_on: ResetEdge,
    /// Causes it may clear.
    pub resets: Vec<CauseId>,
}

/// An override device.
#[derive(Debug, Clone)]
pub struct Override {
    /// Its name.
    pub name: Name,
    /// Inputs it can take out, distinct.
    pub inputs: Vec<InputId>,
    /// How many at once.
    pub at_most: usize,
    /// Modes in which it is permitted, per group named.
    pub modes: BTreeMap<GroupId, BTreeSet<ModeId>>,
    /// Whether a longest time is declared.
    pub limited: bool,
    /// What it announces.
    pub announces: Option<String>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An effect.
#[derive(Debug, Clone)]
pub struct Effect {
    /// Its name.
    pub name: Name,
    /// Actuators and the positions it demands of them.
    pub set: Vec<(ActuatorId, usize)>,
    /// Delay before it is demanded.
    pub delay: Time,
    /// Effects that must have ended before it starts.
    pub after: Vec<EffectId>,
}

/// What a vote becomes when inputs are out of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Degraded {
    /// At least this many of the remaining operands.
    AtLeast(usize),
    /// It trips.
    Trip,
    /// It cannot trip.
    NoTrip,
}

/// What a solver can know: an atom of the condition of a cause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum InputAtom {
    /// The reading of a sensor compares with a set point.
    Compare {
        /// The sensor.
        input: InputId,
        /// How.
        relation: Relation,
        /// With what.
        set_point: Exact,
        /// Number of this comparison among the atoms of its cause, from 0 (names its deadband memory).
        number: usize,
        /// Its place in the file.
        span: Span,
    },
    /// A switch, loop or stop contact is asserted (`asserted`) or not.
    Is {
        /// The input.
        input: InputId,
        /// Which.
        asserted: bool,
        /// Its place in the file.
        span: Span,
    },
    /// A cause is true. `from_before`: this reference closes a loop of causes and reads the value of the evaluation before.
    Cause {
        /// The cause.
        cause: CauseId,
        /// Whether it reads the value of the evaluation before.
        from_before: bool,
    },
    /// An override device is active on some input.
    Overriding(OverrideId),
    /// A mode input shows a mode.
    Shows(ModeInputId, ModeId),
    /// The signal of an input is bad or does not arrive.
    Bad(InputId),
    /// Nothing arrives over a link.
    LinkLost(LinkId),
}

/// A cause.
#[derive(Debug, Clone)]
pub struct Cause {
    /// Its name.
    pub name: Name,
    /// Its condition.
    pub when: Tree<InputAtom>,
    /// Its condition as written.
    pub text: String,
    /// Place of its condition.
    pub when_span: Span,
    /// Solver that evaluates it.
    pub solver: SolverId,
    /// Modes in which it is armed, per group named.
    pub armed: BTreeMap<GroupId, BTreeSet<ModeId>>,
    /// Whether it latches.
    pub latched: bool,
    /// Its reset.
    pub reset: Option<ResetId>,
    /// Time its condition must hold.
    pub on_delay: Time,
    /// What its one vote becomes with 1, 2, … operands out; beyond the list it keeps its M.
    pub degraded: Vec<Degraded>,
    /// What it is for.
    pub purpose: Purpose,
    /// Time that the person needs who must act on it, of an alarm; `None`: not stated.
    pub person_needs: Option<Time>,
    /// Hazards it is credited for.
    pub credited_for: Vec<HazardId>,
    /// Effects it demands.
    pub demands: Vec<EffectId>,
    /// Delays of its marks.
    pub delays: BTreeMap<EffectId, Time>,
}
