//! Inputs: sensors and switches, interlock loops, emergency stops, mode inputs, and the doors of a space.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::syntax::kind::*;
use crate::syntax::leaf::{At, List, Table};

/// A sensor (measures a quantity) or a switch (detects a condition).
///
/// Meaning: healthy it shows `clamp(q + e)` with −accuracy ≤ e ≤ accuracy, or its condition; else, strongest first: its own fault or that of what it goes through, its line, its lost supply (meaning.md §3).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sensor {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Quantity it measures. Absent: it is a switch and `detects` is given.
    pub measures: Option<Tag>,
    /// Condition it detects: `fire`, or `NOT door_closed`. Absent: it measures a quantity.
    pub detects: Option<Expression>,
    /// Range of the instrument; a reading outside is clamped to its ends. Absent: only for a switch.
    pub range: Option<RangeText>,
    /// Largest error of a healthy reading, either way. Absent: only for a switch.
    pub accuracy: Option<Value>,
    /// Difference between setting and clearing a comparison. Absent: none.
    pub deadband: Option<Value>,
    /// Conditions it is built for, by quantity. Absent: not examined.
    pub rated_for: Option<Table<RangeText>>,
    /// Time until the reading stays within its accuracy after a step. Absent: `unknown`. May be `unknown`.
    pub response: Option<ValueOrUnknown>,
    /// Time until 90 % of a step are shown, in place of `response`; counts only for comparisons whose quantity, at its declared rate, takes at least as long from the set point to harm; 90 % of what is quicker say nothing of the rest. Absent: not used. May be `unknown`.
    pub t90: Option<ValueOrUnknown>,
    /// Confirmation time in the instrument. Absent: 0 s. May be `unknown`.
    pub confirmation: Option<ValueOrUnknown>,
    /// Filter or averaging time. Absent: 0 s. May be `unknown`.
    pub filter: Option<ValueOrUnknown>,
    /// Time in a sampling tube or on a bus. Absent: 0 s. May be `unknown`.
    pub transport_delay: Option<ValueOrUnknown>,
    /// Time after its supply returns in which it shows what it shows without supply. Absent: 0 s. May be `unknown`.
    pub warm_up: Option<ValueOrUnknown>,
    /// Shortest time for which its signal stays, once it is there: the pulse of a burst panel, a flame that flickers, a peak. Absent: as long as the hazard. May be `unknown`.
    pub signal_lasts: Option<ValueOrUnknown>,
    /// Logic solvers that read it.
    pub wired_to: List<Tag>,
    /// Cable routes of its line. Absent: none.
    pub route: Option<List<Tag>>,
    /// What its signal goes through. Absent: nothing.
    pub through: Option<List<Tag>>,
    /// Routes and conditioners that differ for one solver, by solver. Absent: the same for all.
    pub wiring: Option<Table<Wiring>>,
    /// How its line is watched. Absent: `plain`.
    pub line: Option<Choice<LineKind>>,
    /// Supply. Absent: needs none.
    pub supply: Option<Tag>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Stores, machines and parameter sources it needs. Absent: none.
    pub needs: Option<List<Tag>>,
    /// What it shows without supply or with its line open. Absent: `holds`, any reading.
    pub on_loss: Option<Choice<OnLoss>>,
    /// How a bad signal counts. Absent: it does not vote to trip, and the report says so.
    pub on_bad: Option<Choice<OnBad>>,
    /// Directions in which it can fail. Absent: any reading, or bad.
    pub fails: Option<List<Choice<InputFailure>>>,
    /// Proof test. Absent: none declared.
    pub proof_test: Option<At<ProofTest>>,
}

/// How a signal reaches one solver, where that differs: what is not written here is as for the other solvers.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Wiring {
    /// Cable routes of the line to this solver; `[]` says that it has none. Absent: those of the sensor itself.
    pub route: Option<List<Tag>>,
    /// What the signal to this solver goes through; `[]` says nothing. Absent: what the sensor itself names.
    pub through: Option<List<Tag>>,
    /// Range as this solver scales the signal; it must be that of the instrument, or every reading there would be wrong. Absent: that of the instrument.
    pub range: Option<RangeText>,
}

/// A periodic test that reveals faults.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProofTest {
    /// Interval. May be `unknown`.
    pub interval: StatedOrUnknown,
    /// Part of the dangerous faults it reveals. Absent: not stated. May be `unknown`.
    pub coverage: Option<StatedOrUnknown>,
}

/// Contacts in series on one line; closed only if every contact is closed and the line is whole.
///
/// Meaning: open = some contact open ∨ line open; a disturbed plain line may also be held closed (meaning.md §3).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InterlockLoop {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Its contacts.
    pub contacts: Table<Contact>,
    /// How the line is watched: of a `monitored` or `dynamic` line a bridge is seen and counts as open. Absent: `plain`.
    pub line: Option<Choice<LineKind>>,
    /// Logic solvers that read it.
    pub wired_to: List<Tag>,
    /// Cable routes of its line. Absent: none.
    pub route: Option<List<Tag>>,
    /// What its signal goes through. Absent: nothing.
    pub through: Option<List<Tag>>,
    /// Supply of the loop. Absent: needs none.
    pub supply: Option<Tag>,
    /// Time from the opening contact to the signal. Absent: `unknown`. May be `unknown`.
    pub response: Option<ValueOrUnknown>,
    /// What it shows without supply. Absent: `holds`, either.
    pub on_loss: Option<Choice<OnLoss>>,
    /// How a bad signal counts. Absent: it does not vote to trip, and the report says so.
    pub on_bad: Option<Choice<OnBad>>,
    /// How faults of its contacts and line are found. Absent: `none`.
    pub fault_detection: Option<Choice<LoopDetection>>,
    /// Whether a fault that was found is held until a person clears it. Absent: false.
    pub fault_held: Option<Flag>,
}

/// A contact of a loop. When it misbehaves it stays closed or stays open.
///
/// Meaning: open = m(contact) ? ¬ContactClosed : condition (meaning.md §3).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Contact {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Condition on which it opens: `connector_open`, or `NOT door_closed`.
    pub opens_on: Expression,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
}

/// An emergency stop device: latched and manual, so never an automatic path.
///
/// Meaning: `Pressed` is free in every situation; span and stop category are declared, not examined.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EmergencyStop {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Where it stands. Absent: not stated.
    pub place: Option<Words>,
    /// Its contacts, one per channel.
    pub contacts: Table<StopContact>,
    /// Its span: what it must bring to which position.
    pub brings: List<Expression>,
    /// What it must leave alone. Absent: nothing is named.
    pub leaves_alone: Option<List<Tag>>,
    /// Stop category of IEC 60204-1: 0, 1 or 2.
    pub stop_category: Count,
    /// Faults under which the span is still reached. Absent: 0.
    pub fault_tolerance: Option<Count>,
}

/// One contact of an emergency stop device. Opens when the device is pressed.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StopContact {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Logic solvers that read it.
    pub wired_to: List<Tag>,
    /// Cable routes of its line. Absent: none.
    pub route: Option<List<Tag>>,
    /// What its signal goes through. Absent: nothing.
    pub through: Option<List<Tag>>,
    /// How its line is watched. Absent: `plain`.
    pub line: Option<Choice<LineKind>>,
    /// Supply of the contact's circuit. Absent: needs none.
    pub supply: Option<Tag>,
    /// What it shows without supply or with its line open. Absent: `holds`, either.
    pub on_loss: Option<Choice<OnLoss>>,
    /// How a bad signal counts. Absent: it does not vote to trip, and the report says so.
    pub on_bad: Option<Choice<OnBad>>,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Time from pressing to the open contact. Absent: `unknown`. May be `unknown`.
    pub response: Option<ValueOrUnknown>,
}

/// An input by which logic solvers learn the mode of a group. When it misbehaves it shows any mode.
///
/// Meaning: the mode that s knows = misled ? Shown(n, s) : the mode that holds (meaning.md §3).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ModeInput {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Mode group it tells.
    pub group: Tag,
    /// Solvers that learn the mode from it.
    pub tells: List<Tag>,
    /// Cable routes of its line; a fault of one shows any mode. Absent: none.
    pub route: Option<List<Tag>>,
    /// What its signal goes through; a fault of one shows any mode. Absent: nothing.
    pub through: Option<List<Tag>>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
    /// Supply; without it, it shows any mode. Absent: needs none.
    pub supply: Option<Tag>,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
}

/// A room people may be in.
///
/// Meaning: nobody can leave = people may be inside ∧ every door is at `held_by` and has no escape release that is inside, mechanical and without aids (meaning.md §6).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Space {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Modes of each group in which people may be inside. Each says `people: expected`; and of a group that some space names, each mode that says so stands in a space.
    pub people_in: Table<List<Tag>>,
    /// Its doors.
    pub doors: Table<Door>,
    /// Hazards that need its doors shut: using a release must bring each to its safe state. Absent: none.
    pub hazards_behind_doors: Option<List<Tag>>,
    /// Time that people need to leave it; the warning of a suppression that discharges into it must be as long. Absent: not examined. May be `unknown`.
    pub leaving_takes: Option<ValueOrUnknown>,
}

/// A door of a space.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Door {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Position in which its lock holds it shut: `DL-1 = locked`. Absent: it has no lock.
    pub held_by: Option<Expression>,
    /// Sensors that see whether it is closed. Absent: none.
    pub position_sensors: Option<List<Tag>>,
    /// Escape release, worked from inside. Absent: there is none.
    pub escape_release: Option<At<Release>>,
    /// Emergency release, worked from outside. Absent: there is none.
    pub emergency_release: Option<At<Release>>,
}

/// A release of a door.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Release {
    /// Tag of the release, so that a fault exclusion can name it.
    pub tag: Tag,
    /// Where it is worked.
    pub place: Choice<ReleasePlace>,
    /// Whether it works mechanically.
    pub mechanical: Flag,
    /// What it needs to work. Absent: nothing.
    pub aids: Option<List<Choice<ReleaseAid>>>,
    /// Inputs that trip when it is used: each then sees what it detects. Absent: none.
    pub trips: Option<List<Tag>>,
}
