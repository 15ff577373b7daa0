//! Hazards and what is claimed of them, fault sources, and what the claims rest on.

use std::collections::BTreeMap;

use super::{AtPosition, Name, PlantAtom, Time};
use crate::date::Date;
use crate::exact::Exact;
use crate::model::pool::{
    ActuatorId, CabinetId, CauseId, ConditionId, ConditionerId, ContactId, CouplingId, EffectId, ExclusionId,
    GroupId, HazardId, InputId, InvariantId, LinkId, ModeId, ModeInputId, OverrideId, PassiveId, QuantityId,
    RelayId, ResetId, RouteId, SharedId, SolverId, SpaceId, StopId, SupplyId, SuppressionId,
};
use crate::model::tree::Tree;
use crate::source::Span;

/// A group of elements that may start a hazard, or that it may damage.
#[derive(Debug, Clone)]
pub struct Party {
    /// Its name.
    pub name: Name,
    /// Its elements as fault sources.
    pub members: Vec<Source>,
}

/// What is required of a hazard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Required {
    /// Disjoint trip paths.
    pub disjoint_paths: u32,
    /// Faults tolerated.
    pub fault_tolerance: u32,
    /// Faults tolerated while permitted overrides are active.
    pub under_overrides: u32,
}

/// One conjunction of a predicate in disjunctive form: an atom and whether it holds or not.
pub type OnsetCase = Vec<(PlantAtom, bool)>;

/// A hazard.
#[derive(Debug, Clone)]
pub struct Hazard {
    /// Its name.
    pub name: Name,
    /// Its number in the hazard log.
    pub log: Option<String>,
    /// When harm begins.
    pub when: Tree<PlantAtom>,
    /// The same as written.
    pub text: String,
    /// Place of the predicate.
    pub when_span: Span,
    /// Its predicate in disjunctive form.
    pub onset: Vec<OnsetCase>,
    /// Its mode group.
    pub group: GroupId,
    /// Modes in which it exists, in the file's order.
    pub exists_in: Vec<ModeId>,
    /// For other modes, why it does not exist there.
    pub not_in: BTreeMap<ModeId, String>,
    /// What averts it; without NOT.
    pub safe_state: Tree<AtPosition>,
    /// The safe state as written.
    pub safe_text: String,
    /// Place of the safe state.
    pub safe_span: Span,
    /// Positions it forbids.
    pub forbids: Vec<AtPosition>,
    /// Time from the beginning of harm to the safe state.
    pub within: Time,
    /// Time from the set point to harm, where it is known so instead of by limit and rate.
    pub after_set_point: Option<Time>,
    /// Time that people need to leave, taken off the time to the safe state.
    pub evacuation: Time,
    /// How long its safe state must be kept; `None`: not stated.
    pub lasts: Option<Time>,
    /// The part of the available time that may be used, from 0 to 1.
    pub usable: Exact,
    /// Groups that may start it.
    pub initiators: Vec<Party>,
    /// Groups it may damage.
    pub damages: Vec<Party>,
    /// Whether damage costs nothing.
    pub damage_certain: bool,
    /// Hazards never present with it.
    pub never_together: Vec<HazardId>,
    /// What is required.
    pub required: Required,
    /// Where the requirement is written.
    pub requirement: Option<String>,
}

/// A combination of positions that never occurs.
#[derive(Debug, Clone)]
pub struct Exclusion {
    /// Its name.
    pub name: Name,
    /// The combination.
    pub never: Tree<AtPosition>,
    /// The same as written.
    pub text: String,
    /// Faults under which it never occurs.
    pub fault_tolerance: u32,
}

/// An implication between demands. Atoms are demands for positions of actuators.
#[derive(Debug, Clone)]
pub struct Invariant {
    /// Its name.
    pub name: Name,
    /// Whenever this is demanded …
    pub whenever: Tree<AtPosition>,
    /// … this is demanded.
    pub then: Tree<AtPosition>,
    /// The same as written.
    pub text: String,
    /// Faults under which it holds.
    pub fault_tolerance: u32,
}

/// A fault that is not considered.
#[derive(Debug, Clone)]
pub struct FaultExclusion {
    /// Its name.
    pub name: Name,
    /// What it names: a source, or the mechanism of a release.
    pub what: Excluded,
    /// Why.
    pub reason: String,
    /// Who answers for it.
    pub owner: String,
    /// The last day on which it may be relied on. `None`: only in a document with a problem.
    pub expires: Option<Date>,
}

/// What a fault exclusion leaves out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Excluded {
    /// Every fault of a source.
    Source(Source),
    /// One direction of an input's own faults (already taken out of its `fails`).
    Direction(Source, String),
    /// The mechanism of a door release, by its tag.
    Release(String),
}

/// A statement the model rests on.
#[derive(Debug, Clone)]
pub struct Assumption {
    /// Its name.
    pub name: Name,
    /// The statement.
    pub statement: String,
    /// Who owns it.
    pub owner: Option<String>,
    /// What it rests on.
    pub evidence: Option<String>,
    /// The last day on which it may be relied on.
    pub expires: Option<Date>,
}

/// Findings the engineer accepts for one reason.
#[derive(Debug, Clone)]
pub struct Acceptance {
    /// Its name.
    pub name: Name,
    /// Ids of the findings, distinct, each with its place in the file; at least one.
    pub findings: Vec<(String, Span)>,
    /// Names of the modes for which they are accepted; a finding in any other mode stays open.
    pub modes: Vec<String>,
    /// Why.
    pub reason: String,
    /// Role that accepts.
    pub by: String,
    /// The last day on which it counts. `None`: only in a document with a problem.
    pub expires: Option<Date>,
}

/// Something in which a fault can sit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// A sensor, switch or stop contact (never a loop).
    Input(InputId),
    /// A contact of a loop.
    Contact(ContactId),
    /// The line of a loop.
    LoopLine(InputId),
    /// Something a signal goes through.
    Conditioner(ConditionerId),
    /// A supply.
    Supply(SupplyId),
    /// A cable route.
    Route(RouteId),
    /// A cabinet.
    Cabinet(CabinetId),
    /// A logic solver.
    Solver(SolverId),
    /// A link.
    Link(LinkId),
    /// An interposing relay.
    Relay(RelayId),
    /// An actuator.
    Actuator(ActuatorId),
    /// A passive device.
    Passive(PassiveId),
    /// A mode input.
    ModeInput(ModeInputId),
    /// An override device.
    Override(OverrideId),
    /// A store, machine, parameter source or type.
    Shared(SharedId),
    /// A damage group of a hazard, by its number.
    Damage(HazardId, usize),
}

/// Any element that has a tag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Element {
    Group(GroupId),
    Mode(ModeId),
    Quantity(QuantityId),
    Condition(ConditionId),
    Coupling(CouplingId),
    Supply(SupplyId),
    Route(RouteId),
    Cabinet(CabinetId),
    Shared(SharedId),
    Conditioner(ConditionerId),
    Relay(RelayId),
    Link(LinkId),
    Solver(SolverId),
    ModeInput(ModeInputId),
    Input(InputId),
    Contact(ContactId),
    Stop(StopId),
    Space(SpaceId),
    Actuator(ActuatorId),
    Passive(PassiveId),
    Suppression(SuppressionId),
    Reset(ResetId),
    Override(OverrideId),
    Effect(EffectId),
    Cause(CauseId),
    Hazard(HazardId),
    Exclusion(ExclusionId),
    Invariant(InvariantId),
}
