//! What there is in the JSON report on calculated values.

use schemars::JsonSchema;
use serde::Serialize;

/// A value that was calculated instead of written.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Calculation {
    /// Its tag.
    pub tag: String,
    /// What is calculated.
    pub title: String,
    /// The role that answers for it.
    pub owner: String,
    /// What the numbers rest on.
    pub evidence: Option<String>,
    /// Word of the language for the formula.
    pub kind: &'static str,
    /// The formula in symbols.
    pub formula: String,
    /// The numbers put in, by symbol.
    pub operands: Vec<Operand>,
    /// The formula with the numbers put in.
    pub numbers: String,
    /// What was decided on the way.
    pub remarks: Vec<String>,
    /// Whether the result is exact; otherwise `low` and `high` are bounds, rounded outwards.
    pub exact: bool,
    /// The least that the result can be, exactly as a decimal or a fraction `a/b`, with unit.
    pub low: String,
    /// The greatest that the result can be, with unit; of an exact result the same.
    pub high: String,
    /// The rounded value that is used instead.
    pub taken_as: Option<String>,
    /// The fields that take it.
    pub taken_by: Vec<Taker>,
    /// Tags of the calculations that the result itself goes into.
    pub goes_into: Vec<String>,
    /// What it is for, where no field takes it.
    pub used_for: Option<String>,
    /// What the formula takes to be so.
    pub assumes: &'static str,
    /// Where the formula comes from.
    pub source: &'static str,
}

/// A number put into a formula.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Operand {
    /// Its symbol.
    pub symbol: String,
    /// What it is.
    pub meaning: String,
    /// Its value, with unit.
    pub value: String,
    /// Tag of the calculation that it comes from.
    pub from: Option<String>,
}

/// A field that takes a calculated value.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Taker {
    /// Tag of the element.
    pub tag: String,
    /// Name of the field.
    pub field: &'static str,
    /// On which side of the truth its value does no harm: `greater` or `smaller`.
    pub safe_side: &'static str,
    /// The value that it has, exactly, with unit.
    pub value: String,
}
