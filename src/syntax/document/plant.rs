//! The plant itself: quantities, conditions, couplings, and what equipment shares.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::syntax::kind::*;
use crate::syntax::leaf::List;

/// A physical quantity.
///
/// Meaning: in a situation q has any exact value with `range.low ≤ q ≤ range.high` (meaning.md §1).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlantQuantity {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Every value that is physically possible. Its unit decides the kind of the quantity: a temperature has its range in `degC`, a range in `K` alone is one of temperature differences.
    pub range: RangeText,
    /// Values in normal operation; one value is `0 .. 0 kg/h`. Absent: the whole range may be normal.
    pub normal: Option<RangeText>,
    /// Worst credible rate of rise. Absent or `unknown`: no head start is taken from it.
    pub rises: Option<ValueOrUnknown>,
    /// Worst credible rate of fall, as a positive rate. Absent or `unknown`: no head start is taken from it.
    pub falls: Option<ValueOrUnknown>,
    /// Steps in which values are shown in a witness. Absent: a thousandth of the range.
    pub resolution: Option<Value>,
    /// By how much set points of trips that are credited for the same hazard may differ. Absent: not compared.
    pub set_points_within: Option<Value>,
    /// Values for which the plant is designed; what is normal must lie inside. Absent: not examined.
    pub designed_for: Option<RangeText>,
}

/// A yes/no fact of the plant.
///
/// Meaning: true or false in a situation, freely, except as couplings tie it (meaning.md §1).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlantCondition {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Its value in normal operation. Absent: false.
    pub normal: Option<Flag>,
}

/// A fact that ties quantities, conditions and modes together. Restricts the plant, never a reading.
///
/// Either `always`, or `if` with `then`.
///
/// Meaning: only situations with `always`, or with ¬`if` ∨ `then`, are possible (meaning.md §1).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Coupling {
    /// Holds in every situation. Absent: `if` and `then` are given.
    pub always: Option<Expression>,
    /// Where this holds … Absent: `always` is given.
    #[serde(rename = "if")]
    pub condition: Option<Expression>,
    /// … this holds too. Absent: `always` is given.
    pub then: Option<Expression>,
    /// Role that owns the assumption.
    pub owner: Words,
    /// What it rests on. Absent: not stated.
    pub evidence: Option<Words>,
    /// The last day on which it may be relied on; judged only with `--date`. Absent: no expiry.
    pub expires: Option<Date>,
}

/// A supply.
///
/// Meaning: `lost(u) = (m(u) ∧ Lost(u)) ∨ (u has feeds ∧ ¬fed(u))` (meaning.md §2).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Supply {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// What feeds it: `A OR B` is enough with either, `A AND B` needs both. Absent: nothing that is modelled.
    pub fed_by: Option<Expression>,
    /// Time to change over between feeds. Absent: not examined. May be `unknown`.
    pub change_over: Option<ValueOrUnknown>,
    /// How long it lasts alone, when its feeds are lost; examined for hazards with `lasts`. Absent: not examined. May be `unknown`.
    pub lasts: Option<ValueOrUnknown>,
    /// Whether it is secured against loss of the mains. Absent: false.
    pub secured: Option<Flag>,
    /// Whether its loss is announced. Absent: false.
    pub monitored: Option<Flag>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
}

/// A tank, duct or other store that elements need: whatever needs it can misbehave when it does.
///
/// Meaning: with a store x is as if it misbehaved itself (meaning.md §2).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Store {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// How long it lasts for all that draws on it; examined for hazards with `lasts`. Absent: not examined. May be `unknown`.
    pub lasts: Option<ValueOrUnknown>,
}

/// Something a signal goes through: when it misbehaves, every signal through it shows each reader any value or is bad.
///
/// Meaning: m(t) makes `sees(i, s)` free for every input i whose path to s contains t; lost supply gives the input's reaction to loss (meaning.md §3).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Conditioner {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Supply; without it, the signals through it are as if their line were open. Absent: needs none.
    pub supply: Option<Tag>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Stores, machines and parameter sources it needs. Absent: none.
    pub needs: Option<List<Tag>>,
}

/// An interposing relay: gives or withholds energy whatever its solver says, when it misbehaves.
///
/// Meaning: `gives(d)` is free while m(relay); false without its supply (meaning.md §5).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Relay {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Supply; without it, it withholds energy. Absent: needs none.
    pub supply: Option<Tag>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Stores, machines and parameter sources it needs. Absent: none.
    pub needs: Option<List<Tag>>,
}
