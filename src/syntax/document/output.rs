//! Outputs: actuators, passive devices and suppression releases.

use schemars::JsonSchema;
use serde::Deserialize;

use super::ProofTest;
use crate::syntax::kind::*;
use crate::syntax::leaf::{At, List, Table};

/// A final element with named positions.
///
/// Meaning: strongest first: its own fault, lost supply or open line (position without energy), held line, else the energy that the wiring of its drivers gives: series needs all, parallel any (meaning.md §5).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Actuator {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Names of its positions, two or more; `stays` is not a name.
    pub positions: List<Tag>,
    /// Position it takes without energy, or `stays`.
    pub without_energy: Tag,
    /// Position it takes with energy. Absent: the other one; required where there are more than two.
    pub with_energy: Option<Tag>,
    /// Who moves it while no protection commands it.
    pub operated_by: Choice<OperatedBy>,
    /// Position it has while nothing commands it, where only the protection operates it. Absent: required for `protection`, meaningless for `process`.
    pub rest: Option<Tag>,
    /// Longest time to move. Absent: `unknown`. May be `unknown`.
    pub moves_in: Option<ValueOrUnknown>,
    /// Shortest time to move. Absent: 0 s. May be `unknown`.
    pub shortest_time: Option<ValueOrUnknown>,
    /// Solvers that drive it. Absent: none; then nothing commands it.
    pub drivers: Option<List<Tag>>,
    /// How several drivers are wired: `series` (the energised position needs all), `parallel` (any), or an expression such as `SC-1 AND (LC-1 OR FP-0)`. Absent: only with one driver.
    pub wiring: Option<Expression>,
    /// Interposing relays, by driver. Absent: none.
    pub relays: Option<Table<List<Tag>>>,
    /// Position that wins where commands oppose each other. Absent: none is declared.
    pub winner: Option<Tag>,
    /// Supply of its energy; without it, it takes its position without energy. Absent: needs none.
    pub supply: Option<Tag>,
    /// Cable routes of its line. Absent: none.
    pub route: Option<List<Tag>>,
    /// How its line is watched. Absent: `plain`.
    pub line: Option<Choice<LineKind>>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
    /// Make or family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Stores, machines and parameter sources it needs. Absent: none.
    pub needs: Option<List<Tag>>,
    /// Positions in which it can fail. Absent: any.
    pub fails: Option<List<Tag>>,
    /// Sensors that read its position back. Absent: none.
    pub feedback: Option<List<Tag>>,
    /// Proof test. Absent: none declared.
    pub proof_test: Option<At<ProofTest>>,
}

/// A device that acts on the process itself, without logic; it may be a path, and it may be the fault.
///
/// Meaning: at `to` if `quantity + tolerance` compares, else at `rest`; while m(p) at any position in which it can fail (meaning.md §5).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Passive {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Names of its positions, two or more.
    pub positions: List<Tag>,
    /// Position it has until it acts.
    pub rest: Tag,
    /// One comparison or condition on which it acts. Absent: it never acts; it only has to hold its rest position.
    pub acts_when: Option<Expression>,
    /// Position it takes when it acts. Absent: only without `acts_when`.
    pub to: Option<Tag>,
    /// Tolerance of the value at which it acts, either way. Absent: only where it acts on a condition or never.
    pub accuracy: Option<Value>,
    /// Longest time to move. Absent: `unknown`. May be `unknown`.
    pub moves_in: Option<ValueOrUnknown>,
    /// Cabinet or room it stands in. Absent: none.
    pub cabinet: Option<Tag>,
    /// Make or family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Stores, machines and parameter sources it needs. Absent: none.
    pub needs: Option<List<Tag>>,
    /// Positions in which it can fail. Absent: any.
    pub fails: Option<List<Tag>>,
    /// Proof test. Absent: none declared.
    pub proof_test: Option<At<ProofTest>>,
}

/// A release of fire suppression.
///
/// Meaning: examined is whether people are warned long enough before the discharge, and whether what is demanded at once exceeds the capacity of what is shared (meaning.md §6, `Overdrawn`); coincidence and hold are declared, not examined. An input that is only read by causes that release is exempt from the rules for trips on a broken line: there a line fault is a fault signal, never a vote to discharge.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Suppression {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Causes that demand the discharge.
    pub released_by: List<Tag>,
    /// Positions that are the discharge: `[WZ-1 = open]`.
    pub discharges: List<Expression>,
    /// Spaces into which it discharges: its warning must last as long as people need to leave each. Absent: that is not examined.
    pub into: Option<List<Tag>>,
    /// How many detectors must agree. Absent: one.
    pub coincidence: Option<Count>,
    /// Warning before discharge. Absent: 0 s. May be `unknown`.
    pub warning: Option<ValueOrUnknown>,
    /// What warns. Absent: nothing.
    pub warned_by: Option<List<Tag>>,
    /// Device that holds the discharge back. Absent: there is none.
    pub hold: Option<Words>,
    /// Longest hold. Absent: no limit is declared. May be `unknown`.
    pub hold_limit: Option<ValueOrUnknown>,
    /// What the zone draws. Absent: as `unknown` where `capacity` is given, else not examined. May be `unknown`.
    pub demand: Option<ValueOrUnknown>,
    /// Capacity of what is shared, by actuator or machine; each may be `unknown`. Absent: not examined.
    pub capacity: Option<Table<ValueOrUnknown>>,
    /// How many of the machines under `capacity` may be lost while the others together still carry the demand (three of 50 %: `1`). Absent: each of them carries the demand alone.
    pub spare: Option<Count>,
}
