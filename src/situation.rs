//! One complete situation: everything the logic does not control, as plain data.
//!
//! This is the vocabulary that the engines and the simulator share: an engine's answer is decoded into a
//! [`Situation`], and the simulator evaluates it. Neither meaning nor probability lives here.
//! What each choice stands for is said in `docs/meaning.md`.

use std::collections::BTreeMap;

use crate::exact::Exact;
use crate::model::{
    ActuatorId, CauseId, ConditionId, ContactId, Device, DriverId, GroupId, HazardId, InputId, LinkId,
    ModeId, ModeInputId, Model, OverrideId, PassiveId, QuantityId, SolverId, Source, StopId, SupplyId,
};

/// A choice of a number, in the base unit of its kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NumberChoice {
    /// Value of a quantity.
    Quantity(QuantityId),
    /// Error of a healthy sensor, within ± its accuracy.
    Error(InputId),
    /// Error of a passive device's own value, within ± its accuracy.
    Tolerance(PassiveId),
    /// What a sensor shows a solver where it may show anything, within its range.
    Reading(InputId, SolverId),
}

/// A choice of yes or no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FactChoice {
    /// A condition of the plant is true.
    Condition(ConditionId),
    /// A latched cause is already set; or, for a cause in a loop of causes, it was true before.
    AlreadySet(CauseId),
    /// An emergency stop device is pressed.
    Pressed(StopId),
    /// A fault source misbehaves.
    Misbehaves(Source),
    /// An initiator group of a hazard misbehaves, by its number.
    Initiator(HazardId, usize),
    /// An override device has taken an input out.
    Overridden(OverrideId, InputId),
    /// A supply that may be lost is lost.
    Lost(SupplyId),
    /// What a solver sees of an input deviates from what it should see.
    Deviates(InputId, SolverId),
    /// … and is bad.
    Bad(InputId, SolverId),
    /// … and nothing arrives (over a link).
    Silent(InputId, SolverId),
    /// What a switch, loop or stop contact shows a solver where it may show anything.
    Asserted(InputId, SolverId),
    /// A line that may be open is open, on the way of an input to a solver.
    LineOpen(InputId, SolverId),
    /// A line that may be held is held, on the way of an input to a solver.
    LineHeld(InputId, SolverId),
    /// A contact that misbehaves is closed.
    ContactClosed(ContactId),
    /// What a solver sees of another solver's cause deviates.
    CauseDeviates(CauseId, SolverId),
    /// … and nothing arrives.
    CauseSilent(CauseId, SolverId),
    /// What a solver sees of another solver's cause where it may see anything.
    CauseSeen(CauseId, SolverId),
    /// A solver that may see a link as down sees it so.
    LinkDown(LinkId, SolverId),
    /// A driver that may give or withhold energy gives it.
    Gives(DriverId),
    /// A driver of an actuator that stays without energy, where it may do anything, drives it to this position.
    Drives(DriverId, usize),
    /// The line of an actuator that may be open is open.
    ActuatorLineOpen(ActuatorId),
    /// The line of an actuator that may be held is held …
    ActuatorLineHeld(ActuatorId),
    /// … with energy.
    Energised(ActuatorId),
    /// An actuator or passive device that may deviate does.
    DeviceDeviates(Device),
    /// The memory of a comparison between its set point and its deadband, by cause and number.
    Remembers(CauseId, usize),
}

/// A choice of one mode of a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ModeChoice {
    /// The mode that holds.
    Holds(GroupId),
    /// The mode that a mode input shows a solver where it may show any.
    Shown(ModeInputId, SolverId),
}

/// Every choice of one situation. A choice that is not listed has its default: numbers at the low end of what is
/// possible (errors and tolerances 0), facts false, the first mode, position 0 for a device.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Situation {
    /// Numbers.
    pub numbers: BTreeMap<NumberChoice, Exact>,
    /// Facts.
    pub facts: BTreeMap<FactChoice, bool>,
    /// Modes.
    pub modes: BTreeMap<ModeChoice, ModeId>,
    /// Positions of devices, where they may be any.
    pub positions: BTreeMap<Device, usize>,
}

impl Situation {
    /// The value of a number; see [`Situation`] for the default.
    pub fn number(&self, model: &Model, choice: NumberChoice) -> Exact {
        if let Some(value) = self.numbers.get(&choice) {
            return value.clone();
        }
        match choice {
            NumberChoice::Quantity(quantity) => model.quantities[quantity].range.low.clone(),
            NumberChoice::Error(_) | NumberChoice::Tolerance(_) => Exact::zero(),
            NumberChoice::Reading(input, _) => match &model.inputs[input].observes {
                crate::model::Observes::Quantity { range, .. } => range.low.clone(),
                _ => Exact::zero(),
            },
        }
    }

    /// The value of a fact; false by default.
    pub fn fact(&self, choice: FactChoice) -> bool {
        self.facts.get(&choice).copied().unwrap_or(false)
    }

    /// The mode chosen; the first of the group by default. `None` only for a group without modes.
    pub fn mode(&self, model: &Model, choice: ModeChoice) -> Option<ModeId> {
        let group = match choice {
            ModeChoice::Holds(group) => group,
            ModeChoice::Shown(input, _) => model.mode_inputs[input].group,
        };
        self.modes.get(&choice).copied().or_else(|| model.groups[group].modes.first().copied())
    }

    /// The position chosen for a device; 0 by default.
    pub fn position(&self, device: Device) -> usize {
        self.positions.get(&device).copied().unwrap_or(0)
    }
}
