//! The model: everything the document says, resolved, typed, complete and never changed.
//!
//! A [`Model`] holds no unresolved name and no number without a unit. It is built by [`lower`], which gathers every
//! problem of the document. What its elements mean is decided in `semantics` and, a second time, in `replay`.

mod drawn;
pub mod element;
mod lower;
mod names;
pub mod pool;
pub mod tree;

use std::collections::{BTreeMap, BTreeSet};

pub use element::*;
pub use lower::lower;
pub use pool::*;
pub use tree::Tree;

use crate::source::Span;
use crate::syntax::kind::LeftOut;

/// Title page of the model.
#[derive(Debug, Clone, Default)]
pub struct System {
    /// Title of the design.
    pub title: String,
    /// Its revision.
    pub revision: String,
    /// Standards the engineer works to.
    pub standards: Vec<String>,
    /// What is modelled and what not.
    pub scope: Option<String>,
    /// Limits of use.
    pub limits_of_use: Vec<String>,
}

/// One resolved design.
#[derive(Debug, Clone, Default)]
pub struct Model {
    /// Title page.
    pub system: System,
    /// Kinds of fault source that the policy leaves out, each with its reason.
    pub left_out: Vec<(LeftOut, String)>,
    /// Mode groups.
    pub groups: Pool<GroupId, Group>,
    /// Modes of all groups.
    pub modes: Pool<ModeId, Mode>,
    /// Quantities.
    pub quantities: Pool<QuantityId, Quantity>,
    /// Conditions.
    pub conditions: Pool<ConditionId, Condition>,
    /// Couplings.
    pub couplings: Pool<CouplingId, Coupling>,
    /// Calculated values.
    pub calculations: Vec<Calculation>,
    /// Supplies.
    pub supplies: Pool<SupplyId, Supply>,
    /// Cable routes.
    pub routes: Pool<RouteId, Plain>,
    /// Cabinets.
    pub cabinets: Pool<CabinetId, Plain>,
    /// Stores, machines, parameter sources and types.
    pub shared: Pool<SharedId, Shared>,
    /// What signals go through.
    pub conditioners: Pool<ConditionerId, Conditioner>,
    /// Interposing relays.
    pub relays: Pool<RelayId, Relay>,
    /// Links.
    pub links: Pool<LinkId, Link>,
    /// Logic solvers.
    pub solvers: Pool<SolverId, Solver>,
    /// Mode inputs.
    pub mode_inputs: Pool<ModeInputId, ModeInput>,
    /// Sensors, switches, loops and stop contacts.
    pub inputs: Pool<InputId, Input>,
    /// Contacts of loops.
    pub contacts: Pool<ContactId, Contact>,
    /// Emergency stop devices.
    pub stops: Pool<StopId, Stop>,
    /// Spaces.
    pub spaces: Pool<SpaceId, Space>,
    /// Actuators.
    pub actuators: Pool<ActuatorId, Actuator>,
    /// Drivers of all actuators.
    pub drivers: Pool<DriverId, Driver>,
    /// Passive devices.
    pub passive: Pool<PassiveId, Passive>,
    /// Releases of fire suppression.
    pub suppression: Pool<SuppressionId, Suppression>,
    /// Resets.
    pub resets: Pool<ResetId, Reset>,
    /// Override devices.
    pub overrides: Pool<OverrideId, Override>,
    /// Effects.
    pub effects: Pool<EffectId, Effect>,
    /// Causes.
    pub causes: Pool<CauseId, Cause>,
    /// Hazards.
    pub hazards: Pool<HazardId, Hazard>,
    /// Combinations that never occur.
    pub exclusions: Pool<ExclusionId, Exclusion>,
    /// Implications between demands.
    pub invariants: Pool<InvariantId, Invariant>,
    /// Faults that are not considered.
    pub fault_exclusions: Vec<FaultExclusion>,
    /// Statements the model rests on.
    pub assumptions: Vec<Assumption>,
    /// Findings the engineer accepts.
    pub accepted: Vec<Acceptance>,
    /// How each solver knows each signal that it uses; only what is known stands here.
    pub access: BTreeMap<(Signal, SolverId), Access>,
    /// The mode input by which a solver learns the mode of a group; absent: it knows it exactly.
    pub mode_input_of: BTreeMap<(GroupId, SolverId), ModeInputId>,
    /// Inputs and causes that something other than a cause uses: a feedback, the condition of a reset.
    pub used_elsewhere: BTreeSet<Signal>,
    /// Fields on which no result depends, in words, each with the tags of those that have it.
    pub unexamined: BTreeMap<&'static str, Vec<String>>,
    /// Where fields that findings point at stand in the file, by tag of the element and name of the field.
    pub fields: BTreeMap<(String, &'static str), Span>,
}

impl Model {
    /// The causes that demand an effect.
    pub fn demanding_effect(&self, effect: EffectId) -> impl Iterator<Item = CauseId> + '_ {
        self.causes.iter().filter(move |(_, cause)| cause.demands.contains(&effect)).map(|(id, _)| id)
    }

    /// The links over which a solver learns a signal, from that solver back, each with the solver that sends. None where
    /// the solver has the signal itself, and where it does not get there.
    pub fn way(&self, signal: Signal, solver: SolverId) -> impl Iterator<Item = (LinkId, SolverId)> + '_ {
        let over = move |solver: SolverId| match self.access.get(&(signal, solver)) {
            Some(Access::Over(link, from)) => Some((*link, *from)),
            Some(Access::Direct) | None => None,
        };
        // No way of a model that was read goes round; one that was put together otherwise ends here, too.
        std::iter::successors(over(solver), move |(_, from)| over(*from)).take(self.solvers.len())
    }

    /// Where a field of the element with this tag stands, if the file gives it and findings point at it.
    pub fn written(&self, tag: &str, field: &'static str) -> Option<Span> {
        self.fields.get(&(tag.to_string(), field)).copied()
    }
}
