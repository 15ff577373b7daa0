//! Logic: solvers, links, causes, effects, resets and overrides.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::syntax::kind::*;
use crate::syntax::leaf::{List, Table};

/// A controller, relay chain or panel that evaluates causes.
///
/// Meaning: `dead(s)` = its supply is lost; while m(s) every output and every signal it passes on is free; weight n + 1 (meaning.md §§1, 2, 5).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LogicSolver {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Worst-case reaction time. Absent: `unknown`. May be `unknown`.
    pub reaction: Option<ValueOrUnknown>,
    /// Scan period: `reaction` must cover two scans. Absent or `unknown`: not examined.
    pub scan: Option<ValueOrUnknown>,
    /// Whether each scan begins with what its inputs show at that moment, so that one scan is enough. Absent: false, inputs change at any moment of a scan.
    pub scans_with_inputs: Option<Flag>,
    /// Supply; without it every output is without energy and nothing is passed on. Absent: needs none.
    pub supply: Option<Tag>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
    /// Internal faults it tolerates by certificate: it weighs n + 1 in every fault budget. Absent: 0.
    pub certified_fault_tolerance: Option<Count>,
    /// The certificate. Absent: required as soon as `certified_fault_tolerance` is above 0.
    pub certificate: Option<Words>,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
    /// Stores, machines and parameter sources it needs. Absent: none.
    pub needs: Option<List<Tag>>,
}

/// A link between logic solvers.
///
/// Meaning: passes `sees(i, p)` and `knows(c, p)` of a solver p that has the signal to those that have not; while m(link) nothing or, if not supervised, anything (meaning.md §§3, 4).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Link {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// The solvers it connects, two or more.
    pub connects: List<Tag>,
    /// Sensors, loops, stop contacts and causes whose signals it passes on. Only one link brings a signal to a solver that uses it.
    pub carries: List<Tag>,
    /// Longest delay, with the time that the receiving solver takes to act on what arrives: its reaction is counted only for causes that it evaluates itself. Absent: `unknown`. May be `unknown`.
    pub delay: Option<ValueOrUnknown>,
    /// Whether a fault of the link is always seen, so that it can only pass nothing. Absent: false.
    pub supervised: Option<Flag>,
    /// What a receiver takes when nothing arrives. Absent: `holds`.
    pub on_loss: Option<Choice<LinkLoss>>,
    /// Cable routes it runs over. Absent: none.
    pub route: Option<List<Tag>>,
    /// Cabinet of its equipment. Absent: none.
    pub cabinet: Option<Tag>,
    /// Supply of its equipment; without it nothing is passed on. Absent: needs none.
    pub supply: Option<Tag>,
    /// Make or firmware family. Absent: none.
    #[serde(rename = "type")]
    pub kind: Option<Tag>,
}

/// A condition over inputs that demands effects.
///
/// Meaning: `value(c) = (armed(c) ∧ when(c)) ∨ (latched ∧ AlreadySet(c))` (meaning.md §4).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cause {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// The condition: `GD-1 >= 25 %LFL`, `2oo3(…)`, `HL-1 = open`.
    pub when: Expression,
    /// Solver that evaluates it.
    pub solver: Tag,
    /// Modes of each group in which it is armed; a group that is not named does not matter. Absent: armed in every mode.
    pub armed: Option<Table<List<Tag>>>,
    /// Whether it stays true, once true, until it is reset.
    pub latched: Flag,
    /// Reset that clears the latch. Absent: none is declared.
    pub reset: Option<Tag>,
    /// Whether the latch is kept when the solver loses its supply. Absent: false.
    pub kept_without_power: Option<Flag>,
    /// Time for which the condition must hold. Absent: 0 s. May be `unknown`.
    pub on_delay: Option<ValueOrUnknown>,
    /// What its vote becomes with 1, 2, … bad or overridden inputs: `[1oo2, 1oo1, trip]`; `trip` and `no_trip` end the list. Absent: the vote keeps its M.
    pub degraded_vote: Option<List<Words>>,
    /// What it is for. Absent: `protection`.
    pub purpose: Option<Choice<Purpose>>,
    /// Time that the person needs who must act on the alarm before the plant trips. Absent: not examined. May be `unknown`.
    pub person_needs: Option<ValueOrUnknown>,
    /// Hazards it is credited for. Absent: none.
    pub credited_for: Option<List<Tag>>,
    /// Effects it demands: the marks of its row in the matrix.
    pub demands: List<Tag>,
    /// Delay of a mark, by effect. Absent: 0 s.
    pub delays: Option<Table<ValueOrUnknown>>,
}

/// Which actuators go to which position.
///
/// Meaning: a cause that is true demands each position of `set` at every driver whose solver has the cause (meaning.md §5).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Effect {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Positions it demands: `[K1 = open]`.
    pub set: List<Expression>,
    /// Delay before it is demanded. Absent: 0 s. May be `unknown`.
    pub delay: Option<ValueOrUnknown>,
    /// Effects that must have ended before this one starts. Absent: order does not matter.
    pub after: Option<List<Tag>>,
}

/// A device that clears latches. Clearing a latch starts nothing.
///
/// Meaning: declared, not examined; belongs to the claims about sequences.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reset {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// Where it stands.
    pub place: Words,
    /// Whether the danger zone can be seen from there. Absent: not stated.
    pub in_sight: Option<Flag>,
    /// On which part of the act it works.
    pub acts_on: Choice<ResetEdge>,
    /// Causes it may clear.
    pub resets: List<Tag>,
    /// What must hold for it to work. Absent: the causes it clears must be false.
    pub only_when: Option<Expression>,
}

/// A device that takes inputs out of the protection for a time.
///
/// Meaning: `Overridden(o, i)` is possible where the device misbehaves, or in a permitted mode for at most `at_most` inputs in claims that allow overrides (meaning.md §1); an overridden input leaves its vote, alone it does not vote to trip (§4).
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Override {
    /// Title. Absent: the tag.
    pub title: Option<Words>,
    /// The device: a key, a page of the operator station.
    pub device: Words,
    /// Inputs it can take out: sensors, loops, stop contacts.
    pub inputs: List<Tag>,
    /// How many of them at once. Absent: all.
    pub at_most: Option<Count>,
    /// Modes of each group in which it is permitted. Absent: every mode.
    pub modes: Option<Table<List<Tag>>>,
    /// Longest time. Absent: no limit is declared. May be `unknown`.
    pub time_limit: Option<ValueOrUnknown>,
    /// What it announces, and where. Absent: nothing.
    pub announces: Option<Words>,
    /// Role that may use it. Absent: not stated.
    pub holder: Option<Words>,
    /// Cabinet it stands in. Absent: none.
    pub cabinet: Option<Tag>,
}
