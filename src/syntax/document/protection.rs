//! What is claimed and what the claims rest on: hazards, exclusions, invariants, assumptions, acceptances.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::syntax::kind::*;
use crate::syntax::leaf::{At, List, Table};

/// Something that can harm.
///
/// Meaning: present where `when` holds; *met* where `safe_state` holds over the positions reached; unsafe(F) = some situation of a mode in `exists_in`, with the faults F and at most one initiator group, in which it is present and not met (meaning.md §6).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hazard {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Number in the hazard log. Absent: not stated.
    pub log: Option<Words>,
    /// When harm begins, over quantities, conditions and modes: `gas >= 60 %LFL`. Not when the trip should act.
    pub when: Expression,
    /// Its mode group with the modes in which it exists.
    pub exists_in: Table<List<Tag>>,
    /// For every other mode of the group, why it does not exist there. Absent: every mode is in `exists_in`; a mode without a word is a finding.
    pub not_in: Option<Table<Words>>,
    /// Positions that avert the harm, with AND, OR and votes only: `K1 = open OR K2 = open`. Refused if, as a whole, every position of its devices would do, or none.
    pub safe_state: Expression,
    /// Positions that must not be taken while it is present. Absent: none.
    pub forbids: Option<List<Expression>>,
    /// Time from the beginning of harm within which the safe state must be reached. Absent: `unknown`. May be `unknown`.
    pub within: Option<ValueOrUnknown>,
    /// Time from the set point to harm, where it is known so, for all causes credited for this hazard: from where the last of them surely asks, the accuracy of its sensors included; `within` is then 0 s unless it is given. Absent: it follows from limit and rate. May be `unknown`.
    pub harm_after_set_point: Option<ValueOrUnknown>,
    /// Time people need to leave. Absent: 0 s. May be `unknown`.
    pub evacuation: Option<ValueOrUnknown>,
    /// How long its safe state must be kept: supplies and stores that it needs must last as long. Absent: not examined. May be `unknown`.
    pub lasts: Option<ValueOrUnknown>,
    /// The part of the available time that may be used for this hazard. Absent: that of the policy.
    pub usable_fraction: Option<Number>,
    /// Groups of elements that may cause it; at most one group misbehaves at a time, at no cost in faults. Absent: none.
    pub initiators: Option<Table<List<Tag>>>,
    /// Groups of elements that it may damage; at most one group at a time, at the cost of one fault. Absent: none.
    pub damages: Option<Table<List<Tag>>>,
    /// Whether the damage is certain, so that it costs nothing. Absent: false.
    pub damage_certain: Option<Flag>,
    /// Hazards that are never present together with it. Absent: none.
    pub never_together: Option<List<Tag>>,
    /// What is required of it, where that differs from the policy. Absent: the policy.
    pub requires: Option<At<Requirement>>,
    /// Where the requirement is written, as a pointer. Absent: not stated.
    pub requirement: Option<Words>,
}

/// What is required of one hazard.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Requirement {
    /// Disjoint trip paths. Absent: that of the policy.
    pub disjoint_paths: Option<Count>,
    /// Faults tolerated. Absent: that of the policy.
    pub fault_tolerance: Option<Count>,
    /// Faults tolerated while permitted overrides are active. Absent: that of the policy.
    pub under_overrides: Option<Count>,
    /// Why it differs from the policy.
    pub reason: Words,
}

/// A combination of positions that never occurs.
///
/// Meaning: no situation with faults of weight ≤ `fault_tolerance` in which `never` holds over the positions reached (meaning.md §6).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Exclusion {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// The combination: `WZ-1 = open AND KD-1 = closed`. Refused if, as a whole, its devices can never be so, or always are.
    pub never: Expression,
    /// Faults under which it still never occurs. Absent: 0.
    pub fault_tolerance: Option<Count>,
}

/// An implication between demands that always holds.
///
/// Meaning: no situation with faults of weight ≤ `fault_tolerance` in which `whenever` is demanded and `then` is not (meaning.md §6).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Invariant {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Whenever these positions are demanded …
    pub whenever: Expression,
    /// … these are demanded too. Refused if that is so, or follows from `whenever`, whatever is demanded.
    pub then: Expression,
    /// Faults under which it still holds. Absent: 0.
    pub fault_tolerance: Option<Count>,
}

/// A fault that is not considered.
///
/// Meaning: `Misbehaves(source)` is false in every situation; with a direction, that direction is not among its own failures (meaning.md §1).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FaultExclusion {
    /// The source of faults that is left out.
    pub source: Tag,
    /// Only this direction of an input, or this position of an actuator. Absent: every fault of it.
    pub direction: Option<Tag>,
    /// Why.
    pub reason: Words,
    /// Role that answers for it.
    pub owner: Words,
    /// The last day on which it may be relied on; judged only with `--date`.
    pub expires: Date,
}

/// A statement the model rests on.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Assumption {
    /// The statement.
    pub statement: Words,
    /// Role that owns it. Absent: nobody, which the report says.
    pub owner: Option<Words>,
    /// What it rests on. Absent: nothing, which the report says.
    pub evidence: Option<Words>,
    /// The last day on which it may be relied on; judged only with `--date`. Absent: no expiry.
    pub expires: Option<Date>,
}

/// Findings that the engineer accepts for one reason. They stay in the report and are counted as accepted.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Accepted {
    /// The id of the finding, as the report prints it. Absent: `findings` is given.
    pub finding: Option<Words>,
    /// The ids of several findings that are accepted for the same reason. Absent: `finding` is given.
    pub findings: Option<List<Words>>,
    /// Modes for which it is accepted. A finding that holds in any other mode stays open. Absent: only findings that name
    /// no mode are accepted.
    pub modes: Option<List<Tag>>,
    /// Why it is accepted.
    pub reason: Words,
    /// Role that accepts it.
    pub by: Words,
    /// The last day on which it counts; judged only with `--date`.
    pub expires: Date,
}
