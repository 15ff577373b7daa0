//! The types of the model language: what a model file may say, field by field.
//!
//! These types are read from YAML (`decode`), printed as JSON Schema (`tripproof schema`) and turned into
//! `docs/language.md`; the comments on the fields are the text of both. Every field is *required*, *optional*
//! (then the comment has a sentence that starts with `Absent:`), or *may be unknown*.
//! What the texts mean is decided in `model`.

mod calculation;
mod input;
mod logic;
mod output;
mod plant;
mod protection;

pub use calculation::*;
pub use input::*;
pub use logic::*;
pub use output::*;
pub use plant::*;
pub use protection::*;

use schemars::JsonSchema;
use serde::Deserialize;

use super::kind::*;
use super::leaf::{At, List, Table};

/// A whole model: one plant, its protection and what is claimed of it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Document {
    /// Version of the model language; this tool reads version 1.
    pub language: Count,
    /// What is examined.
    pub system: At<System>,
    /// What every hazard must meet unless it says otherwise.
    pub policy: At<Policy>,
    /// Groups of operating modes; of each group exactly one mode holds at any time, and the groups range freely against each other.
    pub modes: Table<Table<Mode>>,
    /// Physical quantities of the plant. Absent: none.
    pub quantities: Option<Table<PlantQuantity>>,
    /// Yes/no facts of the plant. Absent: none.
    pub conditions: Option<Table<PlantCondition>>,
    /// Facts that tie quantities, conditions and modes together; each is an assumption. Absent: none.
    pub couplings: Option<Table<Coupling>>,
    /// Values that are calculated instead of written, with their formulas. Absent: none.
    pub calculations: Option<Table<Calculation>>,
    /// Supplies: electrical, air, hydraulic. Absent: none.
    pub supplies: Option<Table<Supply>>,
    /// Cable routes. Absent: none.
    pub routes: Option<Table<Plain>>,
    /// Cabinets and rooms that hold equipment. Absent: none.
    pub cabinets: Option<Table<Plain>>,
    /// Tanks, ducts and other stores that elements need. Absent: none.
    pub stores: Option<Table<Store>>,
    /// Machines that several elements share. Absent: none.
    pub machines: Option<Table<Plain>>,
    /// Limit sheets and files from which set points come. Absent: none.
    pub parameter_sources: Option<Table<Plain>>,
    /// Makes and firmware families whose members can fail alike. Absent: none.
    pub types: Option<Table<Plain>>,
    /// Whatever a signal goes through: isolators, barriers, taps, sample lines, gateways. Absent: none.
    pub conditioners: Option<Table<Conditioner>>,
    /// Interposing relays between a solver's output and an actuator. Absent: none.
    pub relays: Option<Table<Relay>>,
    /// Links between logic solvers. Absent: none.
    pub links: Option<Table<Link>>,
    /// Controllers, relay chains and panels that evaluate causes.
    pub logic_solvers: Table<LogicSolver>,
    /// Inputs by which solvers learn the mode of a group. Absent: every solver knows every mode exactly, which the report lists as an assumption.
    pub mode_inputs: Option<Table<ModeInput>>,
    /// Sensors and switches. Absent: none.
    pub sensors: Option<Table<Sensor>>,
    /// Interlock loops: contacts in series. Absent: none.
    pub loops: Option<Table<InterlockLoop>>,
    /// Emergency stop devices. Absent: none.
    pub stops: Option<Table<EmergencyStop>>,
    /// Rooms people may be in. Absent: none.
    pub spaces: Option<Table<Space>>,
    /// Final elements: contactors, valves, dampers, fans, pumps, locks, horns, lamps. Absent: none.
    pub actuators: Option<Table<Actuator>>,
    /// Devices that act without logic: relief valves and panels, fuses, walls. Absent: none.
    pub passive: Option<Table<Passive>>,
    /// Releases of fire suppression. Absent: none.
    pub suppression: Option<Table<Suppression>>,
    /// Devices that clear latches. Absent: none.
    pub resets: Option<Table<Reset>>,
    /// Devices that take inputs out of the protection for a time. Absent: none.
    pub overrides: Option<Table<Override>>,
    /// Which actuators go to which position.
    pub effects: Table<Effect>,
    /// Conditions over inputs that demand effects.
    pub causes: Table<Cause>,
    /// What can harm, when harm begins, and which state of the actuators averts it.
    pub hazards: Table<Hazard>,
    /// Combinations of positions that never occur. Absent: none.
    pub exclusions: Option<Table<Exclusion>>,
    /// Implications between demands that always hold. Absent: none.
    pub invariants: Option<Table<Invariant>>,
    /// Faults that are not considered, each with its reason. Absent: none.
    pub fault_exclusions: Option<Table<FaultExclusion>>,
    /// Statements the model rests on. Absent: none.
    pub assumptions: Option<Table<Assumption>>,
    /// Findings that the engineer accepts. Absent: none.
    pub accepted: Option<Table<Accepted>>,
}

/// What is examined.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct System {
    /// Title of the design, as on its drawings.
    pub title: Words,
    /// Revision of the design.
    pub revision: Words,
    /// Standards the engineer works to. Absent: none named.
    pub standards: Option<List<Words>>,
    /// What is modelled and what is not. Absent: not stated.
    pub scope: Option<Words>,
    /// Limits of use. Absent: not stated.
    pub limits_of_use: Option<List<Words>>,
}

/// What every hazard must meet unless it says otherwise.
///
/// Meaning: for every hazard and mode DP ≥ `disjoint_paths` and FT ≥ `fault_tolerance`, and under every permitted override the safe state is reached with faults of weight ≤ `under_overrides`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Policy {
    /// Number of disjoint trip paths: DP of every hazard and mode is at least this.
    pub disjoint_paths: Count,
    /// Faults tolerated: FT of every hazard and mode is at least this.
    pub fault_tolerance: Count,
    /// Faults tolerated while permitted overrides are active (k′). Absent: 0.
    pub under_overrides: Option<Count>,
    /// The part of the available time that may be used, from 0 to 1. Absent: 1.
    pub usable_fraction: Option<Number>,
    /// Why that part. Absent: required as soon as `usable_fraction` is given.
    pub usable_fraction_reason: Option<Words>,
    /// Kinds of fault source that are left out, each with its reason; every report names them. Absent: none.
    pub leaves_out: Option<Table<Words>>,
}

/// One operating mode.
///
/// Meaning: of every group exactly one mode holds in a situation; `mode = M` is true where M holds (meaning.md §1).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mode {
    /// Title. Absent: the name of the mode.
    pub title: Option<Words>,
    /// Whether people may be inside. The spaces say where (`people_in`) and must agree.
    pub people: Choice<People>,
    /// What is normal in this mode, per quantity (a range, one value as `0 .. 0 kg/h`) or condition (`true`, `false`, `free`). Absent: what the quantity or condition itself says.
    pub normal: Option<Table<Normal>>,
    /// Positions the mode needs to do its work. Absent: none.
    pub needs: Option<List<Expression>>,
    /// Modes that may follow. Absent: any.
    pub followed_by: Option<List<Tag>>,
    /// Whether the plant comes up in this mode when power returns. Absent: false.
    pub after_power_return: Option<Flag>,
}

/// An element that only has a name: whatever depends on it can misbehave when it does.
///
/// Meaning: `m(x)` of every dependant x holds when this misbehaves; with a cabinet x may do anything, with a type, machine or parameter source x is as if it misbehaved itself (meaning.md §2).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plain {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
}
