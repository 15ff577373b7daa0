//! Calculated values: physics whose result stands for a declared value.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::syntax::kind::*;
use crate::syntax::leaf::{At, Table};

/// A value that is calculated instead of written: its formula, the numbers put in, and a result that fields take with `from TAG`.
///
/// Exactly one formula: `time_at_rate`, `ramp`, `discharge`, `ventilated_room`, `pipe_filling`, `stopping`, `approach` or `endurance`.
///
/// Meaning: the result is a number, or two bounds with the true number between them; each field that says `from TAG` has the bound on its safe side, or `taken_as` where that is given and lies on the safe side (meaning.md §8). Formulas, sources and limits: calculations.md.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Calculation {
    /// Title: what is calculated.
    pub title: Words,
    /// Role that answers for the numbers put in and for the formula being the right one: it is an assumption.
    pub owner: Words,
    /// What the numbers rest on. Absent: not stated.
    pub evidence: Option<Words>,
    /// A rounded value that is used instead of the result; it must lie on the safe side of the result for every field that takes it. Meaningless where no field takes it. Absent: the bound on the safe side is used.
    pub taken_as: Option<Value>,
    /// What the result is for, where no field of the model takes it. Absent: some field says `from` with this tag.
    pub used_for: Option<Words>,
    /// Time from one value to another at a steady rate. Absent: another formula.
    pub time_at_rate: Option<At<TimeAtRate>>,
    /// Rate of change of a temperature at a power. Absent: another formula.
    pub ramp: Option<At<Ramp>>,
    /// Time in which a capacitor discharges through a resistor. Absent: another formula.
    pub discharge: Option<At<Discharge>>,
    /// Concentration in a ventilated room. Absent: another formula.
    pub ventilated_room: Option<At<VentilatedRoom>>,
    /// Time in which a pipe fills. Absent: another formula.
    pub pipe_filling: Option<At<PipeFilling>>,
    /// Distance or time to stop. Absent: another formula.
    pub stopping: Option<At<Stopping>>,
    /// Distance of a light curtain, or the time that its distance leaves. Absent: another formula.
    pub approach: Option<At<Approach>>,
    /// How long a store lasts. Absent: another formula.
    pub endurance: Option<At<Endurance>>,
}

/// Time from one value to another at a steady rate.
///
/// Meaning: `t = |to − from| / rate`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TimeAtRate {
    /// The value at the beginning, such as a set point.
    pub from: Figure,
    /// The value at the end, such as a limit.
    pub to: Figure,
    /// How fast it changes, above zero.
    pub rate: Figure,
}

/// Rate of change of a temperature at a power, nothing being lost.
///
/// Meaning: `r = P / (C1 + C2 + …)`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ramp {
    /// Power that heats or cools.
    pub power: Figure,
    /// Heat capacity of each thing that is heated, under a name.
    pub heat_capacities: Table<Figure>,
}

/// Time in which a capacitor discharges through a resistor.
///
/// Meaning: `t = R · C · ln(V0 / V1)`; 0 s where `to` is not below `voltage`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Discharge {
    /// Voltage at the beginning.
    pub voltage: Figure,
    /// Voltage at the end, above zero.
    pub to: Figure,
    /// Capacitance.
    pub capacitance: Figure,
    /// Resistance.
    pub resistance: Figure,
}

/// Concentration of a substance in a room whose air is mixed.
///
/// One of `after`, `until` and `gives`.
///
/// Meaning: with `cs = q / (m · Q)` and `n = m · Q / V`: after t it is `cs + (c0 − cs) · e^(−n · t)`, until c it takes `ln((c0 − cs) / (c − cs)) / n`; without exhaust `c0 + q · t / V` and `(c − c0) · V / q`. With a lower flammable limit in % of it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VentilatedRoom {
    /// Volume of the air in the room.
    pub volume: Figure,
    /// Volume flow of the pure substance into the room; `0 L/s` for a room that is only aired.
    pub source: Figure,
    /// Volume flow of the exhaust. Absent: none.
    pub exhaust: Option<Figure>,
    /// Part of the exhaust that is effective, above 0 and up to 1. Absent: required as soon as `exhaust` is given.
    pub mixing: Option<Number>,
    /// Concentration at the beginning. Absent: required as soon as `after` or `until` is given.
    pub start: Option<Figure>,
    /// Lower flammable limit of the substance, as a volume fraction. Absent: concentrations are volume fractions (`ppm`, `%vol`), not `%LFL`.
    pub lower_flammable_limit: Option<Figure>,
    /// Asks for the concentration after this time. Absent: another question.
    pub after: Option<Figure>,
    /// Asks for the time until this concentration. Absent: another question.
    pub until: Option<Figure>,
    /// Asks for a concentration or a rate. Absent: another question.
    pub gives: Option<Choice<RoomGives>>,
}

/// Time in which a pipe fills at a steady flow.
///
/// Either `volume`, or `inner_diameter` with `length`.
///
/// Meaning: `t = V / q`, with `V = π · d² · l / 4`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PipeFilling {
    /// Volume of the pipe. Absent: `inner_diameter` and `length` are given.
    pub volume: Option<Figure>,
    /// Inner diameter. Absent: `volume` is given.
    pub inner_diameter: Option<Figure>,
    /// Length. Absent: `volume` is given.
    pub length: Option<Figure>,
    /// Flow into it.
    pub flow: Figure,
}

/// Distance or time from the command to standstill.
///
/// Meaning: `s = v · t + v² / (2 · a)`, or `T = t + v / a`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stopping {
    /// Speed at the beginning.
    pub speed: Figure,
    /// Time until the brake acts.
    pub reaction: Figure,
    /// Deceleration, above zero.
    pub deceleration: Figure,
    /// Whether the distance or the time is asked for.
    pub gives: Choice<StoppingGives>,
}

/// A hand that reaches for a danger: the separation distance `S = K · T + C` of ISO 13855 (recalled, not verified).
///
/// Either `detection_capability`, or `speed` with `intrusion`. Either `distance`, which asks for the time that it leaves, or `time`, which asks for the distance.
///
/// Meaning: up to 40 mm K is 2000 mm/s, C is `8 · (d − 14 mm)` and not below 0, S at least 100 mm; where that is above 500 mm, K is 1600 mm/s and S at least 500 mm. Up to 70 mm K is 1600 mm/s and C 850 mm. The time of a distance is the longest whose S is not above it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Approach {
    /// Detection capability of the curtain, up to 70 mm. Absent: `speed` and `intrusion` are given.
    pub detection_capability: Option<Figure>,
    /// Speed of approach K. Absent: `detection_capability` is given.
    pub speed: Option<Figure>,
    /// How far a part of the body comes before it is detected, C. Absent: `detection_capability` is given.
    pub intrusion: Option<Figure>,
    /// Distance from the curtain to the danger. Absent: `time` is given.
    pub distance: Option<Figure>,
    /// Time from the interruption until the danger is over. Absent: `distance` is given.
    pub time: Option<Figure>,
}

/// How long a store lasts, or takes to fill, at a steady draw.
///
/// Meaning: `t = A / d`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Endurance {
    /// What it holds: a volume, an energy, a charge or a mass.
    pub holds: Figure,
    /// What is drawn: the flow, power, current or mass flow that fits.
    pub draws: Figure,
}
