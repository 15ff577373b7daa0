//! The resolved elements of a plant and of its protection. One struct per kind; every reference is an id.
//!
//! Numbers are in the base unit of their kind (see `unit`). What an element means is said in `docs/meaning.md`.

use std::collections::{BTreeMap, BTreeSet};

use super::pool::*;
use super::tree::Tree;
use crate::exact::Exact;
use crate::source::Span;
use crate::syntax::kind::{
    InputFailure, LineKind, LinkLoss, LoopDetection, OnBad, People, Purpose, ReleaseAid, ReleasePlace,
    ResetEdge,
};
use crate::unit::{Kind, Unit};

/// How an element is called and where it stands in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// Its tag.
    pub tag: String,
    /// Its title, if the file gives one.
    pub title: Option<String>,
    /// The place of its tag where it is declared.
    pub span: Span,
}

/// A time that the file gives, leaves out, or calls unknown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Time {
    /// Seconds.
    Known(Exact),
    /// Declared `unknown`, or not given where that means unknown.
    Unknown,
}

/// An inclusive range.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interval {
    /// Least value.
    pub low: Exact,
    /// Greatest value.
    pub high: Exact,
}

/// A group of modes.
#[derive(Debug, Clone)]
pub struct Group {
    /// Its name.
    pub name: Name,
    /// Its modes, in the file's order; never empty.
    pub modes: Vec<ModeId>,
}

/// What is normal for one quantity or condition in one mode.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NormalIn {
    /// A range of a quantity.
    Range(QuantityId, Interval),
    /// A value of a condition.
    Value(ConditionId, bool),
    /// A quantity that may be anywhere in its range.
    FreeQuantity(QuantityId),
    /// A condition that may be either.
    FreeCondition(ConditionId),
}

/// A mode.
#[derive(Debug, Clone)]
pub struct Mode {
    /// Its name.
    pub name: Name,
    /// Its group.
    pub group: GroupId,
    /// Whether people may be inside.
    pub people: People,
    /// What is normal in it, where that differs from the plant's own normal.
    pub normal: Vec<NormalIn>,
    /// Positions it needs to do its work.
    pub needs: Vec<AtPosition>,
    /// Whether the plant comes up in it when power returns.
    pub after_power_return: bool,
}

/// A quantity.
#[derive(Debug, Clone)]
pub struct Quantity {
    /// Its name.
    pub name: Name,
    /// Its kind of unit.
    pub kind: Kind,
    /// The unit to print it in.
    pub unit: Unit,
    /// Every physically possible value.
    pub range: Interval,
    /// Normal values, if declared.
    pub normal: Option<Interval>,
    /// Worst credible rise per second.
    pub rises: Option<Exact>,
    /// Worst credible fall per second, positive.
    pub falls: Option<Exact>,
    /// Step in which a witness shows it; above 0.
    pub resolution: Exact,
}

/// A yes/no fact.
#[derive(Debug, Clone)]
pub struct Condition {
    /// Its name.
    pub name: Name,
    /// Its value in normal operation.
    pub normal: bool,
}

/// How two numbers are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Relation {
    /// `<`
    Below,
    /// `<=`
    AtMost,
    /// `=`
    Equal,
    /// `<>`
    Differs,
    /// `>=`
    AtLeast,
    /// `>`
    Above,
}

impl Relation {
    /// Whether `left relation right` holds.
    pub fn holds(self, left: &Exact, right: &Exact) -> bool {
        match self {
            Relation::Below => left < right,
            Relation::AtMost => left <= right,
            Relation::Equal => left == right,
            Relation::Differs => left != right,
            Relation::AtLeast => left >= right,
            Relation::Above => left > right,
        }
    }

    /// The relation that holds exactly where this one does not.
    pub fn negated(self) -> Self {
        match self {
            Relation::Below => Relation::AtLeast,
            Relation::AtMost => Relation::Above,
            Relation::Equal => Relation::Differs,
            Relation::Differs => Relation::Equal,
            Relation::AtLeast => Relation::Below,
            Relation::Above => Relation::AtMost,
        }
    }

    /// The relation that says the same with the sides exchanged.
    pub fn mirrored(self) -> Self {
        match self {
            Relation::Below => Relation::Above,
            Relation::AtMost => Relation::AtLeast,
            Relation::Equal | Relation::Differs => self,
            Relation::AtLeast => Relation::AtMost,
            Relation::Above => Relation::Below,
        }
    }

    /// The operator as written in the language.
    pub fn text(self) -> &'static str {
        match self {
            Relation::Below => "<",
            Relation::AtMost => "<=",
            Relation::Equal => "=",
            Relation::Differs => "<>",
            Relation::AtLeast => ">=",
            Relation::Above => ">",
        }
    }
}

/// A fact about the plant: an atom of predicates and couplings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlantAtom {
    /// Σ coefficient · quantity `relation` bound. Each quantity at most once, no coefficient 0, never empty.
    Linear {
        /// Coefficients and quantities.
        sum: Vec<(Exact, QuantityId)>,
        /// How the sum compares.
        relation: Relation,
        /// With what.
        bound: Exact,
    },
    /// A condition is true.
    Condition(ConditionId),
    /// A mode holds.
    Mode(ModeId),
}

/// A coupling.
#[derive(Debug, Clone)]
pub struct Coupling {
    /// Its name.
    pub name: Name,
    /// What holds in every situation.
    pub holds: Tree<PlantAtom>,
    /// Its text, as written.
    pub text: String,
    /// Role that owns it.
    pub owner: String,
    /// Until when it may be relied on.
    pub expires: Option<String>,
}

/// A supply.
#[derive(Debug, Clone)]
pub struct Supply {
    /// Its name.
    pub name: Name,
    /// What feeds it; `None`: nothing that is modelled.
    pub fed_by: Option<Tree<SupplyId>>,
    /// Whether it is secured.
    pub secured: bool,
    /// Whether its loss is announced.
    pub monitored: bool,
    /// Where it stands.
    pub cabinet: Option<CabinetId>,
}

/// An element without properties of its own.
#[derive(Debug, Clone)]
pub struct Plain {
    /// Its name.
    pub name: Name,
}

/// What a [`Shared`] element is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SharedKind {
    /// A tank, duct or other store.
    Store,
    /// A machine that several elements share.
    Machine,
    /// A limit sheet or file from which set points come.
    ParameterSource,
    /// A make or firmware family.
    Type,
}

/// A store, machine, parameter source or type.
#[derive(Debug, Clone)]
pub struct Shared {
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: SharedKind,
}

/// What makes an element misbehave besides itself.
#[derive(Debug, Clone, Default)]
pub struct Parents {
    /// The cabinet it stands in: when that misbehaves, the element may do anything.
    pub cabinet: Option<CabinetId>,
    /// Its type and what it needs: when one misbehaves, the element is as if it did itself.
    pub shared: Vec<SharedId>,
}

/// Something a signal goes through.
#[derive(Debug, Clone)]
pub struct Conditioner {
    /// Its name.
    pub name: Name,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An interposing relay.
#[derive(Debug, Clone)]
pub struct Relay {
    /// Its name.
    pub name: Name,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// What a link can pass on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Signal {
    /// The reading of an input.
    Input(InputId),
    /// The value of a cause.
    Cause(CauseId),
}

/// A link.
#[derive(Debug, Clone)]
pub struct Link {
    /// Its name.
    pub name: Name,
    /// The solvers it connects; two or more, distinct.
    pub connects: Vec<SolverId>,
    /// What it passes on.
    pub carries: Vec<Signal>,
    /// Its longest delay.
    pub delay: Time,
    /// Whether it can only fail silent.
    pub supervised: bool,
    /// What a receiver takes when nothing arrives.
    pub on_loss: LinkLoss,
    /// Its cable routes.
    pub routes: Vec<RouteId>,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// How a solver comes to know a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// It is wired to it, or evaluates the cause itself.
    Direct,
    /// Over a link, from a solver that knows it.
    Over(LinkId, SolverId),
}

/// A logic solver.
#[derive(Debug, Clone)]
pub struct Solver {
    /// Its name.
    pub name: Name,
    /// Worst-case reaction.
    pub reaction: Time,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// Certified internal fault tolerance n; it weighs n + 1.
    pub tolerance: u32,
    /// The certificate, where n > 0.
    pub certificate: Option<String>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An input by which solvers learn a mode.
#[derive(Debug, Clone)]
pub struct ModeInput {
    /// Its name.
    pub name: Name,
    /// The group it tells.
    pub group: GroupId,
    /// The solvers that learn from it.
    pub tells: Vec<SolverId>,
    /// Its cable routes.
    pub routes: Vec<RouteId>,
    /// What it goes through.
    pub through: Vec<ConditionerId>,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// What an input observes.
#[derive(Debug, Clone)]
pub enum Observes {
    /// A sensor measures a quantity.
    Quantity {
        /// Which.
        quantity: QuantityId,
        /// Range of the instrument.
        range: Interval,
        /// Largest error either way, ≥ 0.
        accuracy: Exact,
        /// Difference between setting and clearing, ≥ 0.
        deadband: Exact,
    },
    /// A switch detects a condition, or its absence.
    Condition {
        /// Which.
        condition: ConditionId,
        /// Whether it detects the absence.
        negated: bool,
    },
    /// A loop of contacts: it is *asserted* when open.
    Loop {
        /// Its contacts.
        contacts: Vec<ContactId>,
        /// How its faults are found.
        detection: LoopDetection,
        /// Whether a fault that was found is held.
        fault_held: bool,
    },
    /// A contact of an emergency stop: it is *asserted* when the device is pressed.
    Stop(StopId),
}

/// What an input shows without supply or with its line open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lost {
    /// The low end of its range.
    Low,
    /// The high end of its range.
    High,
    /// Asserted: detected, open, pressed.
    Asserted,
    /// Not asserted: clear, closed.
    Cleared,
    /// Bad.
    Bad,
    /// Anything.
    Holds,
}

/// How an input reaches one solver.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Path {
    /// Cable routes of the line.
    pub routes: Vec<RouteId>,
    /// What the signal goes through.
    pub through: Vec<ConditionerId>,
}

/// A sensor, switch, loop or stop contact.
#[derive(Debug, Clone)]
pub struct Input {
    /// Its name.
    pub name: Name,
    /// What it observes.
    pub observes: Observes,
    /// The solvers it is wired to, each with its path.
    pub readers: BTreeMap<SolverId, Path>,
    /// How its line is watched.
    pub line: LineKind,
    /// Its supply.
    pub supply: Option<SupplyId>,
    /// What it shows without supply or with its line open.
    pub on_loss: Lost,
    /// How a bad signal counts; `None`: not declared, so it does not vote to trip.
    pub on_bad: Option<OnBad>,
    /// Directions in which it can fail by itself; `None`: any reading, or bad. Always `None` for loops and stop contacts.
    pub fails: Option<BTreeSet<InputFailure>>,
    /// Whether a proof test is declared.
    pub proof_tested: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// A contact of a loop.
#[derive(Debug, Clone)]
pub struct Contact {
    /// Its name.
    pub name: Name,
    /// The loop it belongs to.
    pub of: InputId,
    /// The condition on which it opens.
    pub condition: ConditionId,
    /// Whether it opens on the absence of the condition.
    pub negated: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An emergency stop device.
#[derive(Debug, Clone)]
pub struct Stop {
    /// Its name.
    pub name: Name,
    /// Its contacts.
    pub contacts: Vec<InputId>,
    /// What it must bring where.
    pub brings: Vec<AtPosition>,
    /// What it must leave alone.
    pub leaves_alone: Vec<Element>,
    /// Stop category 0, 1 or 2.
    pub category: u32,
    /// Faults under which the span is still reached.
    pub fault_tolerance: u32,
}

/// A release of a door.
#[derive(Debug, Clone)]
pub struct Release {
    /// Its name.
    pub name: Name,
    /// Where it is worked.
    pub place: ReleasePlace,
    /// Whether it is mechanical.
    pub mechanical: bool,
    /// What it needs.
    pub aids: BTreeSet<ReleaseAid>,
    /// Inputs that trip when it is used.
    pub trips: Vec<InputId>,
}

/// A door.
#[derive(Debug, Clone)]
pub struct Door {
    /// Its name.
    pub name: Name,
    /// The position in which its lock holds it shut.
    pub held_by: Option<AtPosition>,
    /// Sensors that see it closed.
    pub position_sensors: Vec<InputId>,
    /// Worked from inside.
    pub escape_release: Option<Release>,
    /// Worked from outside.
    pub emergency_release: Option<Release>,
}

/// A space people may be in.
#[derive(Debug, Clone)]
pub struct Space {
    /// Its name.
    pub name: Name,
    /// Modes in which people may be inside, per group named.
    pub people_in: BTreeMap<GroupId, BTreeSet<ModeId>>,
    /// Its doors; never empty.
    pub doors: Vec<Door>,
    /// Hazards that need its doors shut.
    pub hazards_behind_doors: Vec<HazardId>,
}

/// An actuator or a passive device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Device {
    /// An actuator.
    Actuator(ActuatorId),
    /// A passive device.
    Passive(PassiveId),
}

/// A device at one of its positions: an atom of safe states. `position` is its number in the device's list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AtPosition {
    /// The device.
    pub device: Device,
    /// Number of the position.
    pub position: usize,
}

/// What an actuator does without energy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WithoutEnergy {
    /// Goes to this position; with energy it goes to the other number.
    Goes {
        /// Position without energy.
        off: usize,
        /// Position with energy.
        on: usize,
    },
    /// Stays where it is; it has exactly two positions, each reached by energy.
    Stays,
}

/// An actuator.
#[derive(Debug, Clone)]
pub struct Actuator {
    /// Its name.
    pub name: Name,
    /// Its positions, two or more, distinct.
    pub positions: Vec<String>,
    /// What it does without energy.
    pub without_energy: WithoutEnergy,
    /// Rest position where only the protection operates it; `None`: the process control operates it.
    pub rest: Option<usize>,
    /// Longest time to move.
    pub moves_in: Time,
    /// Its drivers.
    pub drivers: Vec<DriverId>,
    /// How its drivers are wired: And is series, Or is parallel. `None` without drivers.
    pub wiring: Option<Tree<DriverId>>,
    /// Position that wins where commands oppose each other.
    pub winner: Option<usize>,
    /// Supply of its energy.
    pub supply: Option<SupplyId>,
    /// Its cable routes.
    pub routes: Vec<RouteId>,
    /// How its line is watched.
    pub line: LineKind,
    /// Positions in which it can fail by itself; every position unless declared.
    pub fails: BTreeSet<usize>,
    /// Whether a proof test is declared.
    pub proof_tested: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// One driver of one actuator.
#[derive(Debug, Clone)]
pub struct Driver {
    /// The actuator.
    pub actuator: ActuatorId,
    /// The solver.
    pub solver: SolverId,
    /// Interposing relays between them.
    pub relays: Vec<RelayId>,
}

/// On what a passive device acts.
#[derive(Debug, Clone)]
pub enum ActsOn {
    /// A quantity, with its own tolerance.
    Quantity {
        /// Which.
        quantity: QuantityId,
        /// How it compares (never `=` or `<>`).
        relation: Relation,
        /// With what.
        bound: Exact,
        /// Tolerance either way, ≥ 0.
        accuracy: Exact,
    },
    /// A condition, or its absence.
    Condition {
        /// Which.
        condition: ConditionId,
        /// Whether on its absence.
        negated: bool,
    },
}

/// A passive device.
#[derive(Debug, Clone)]
pub struct Passive {
    /// Its name.
    pub name: Name,
    /// Its positions, two or more, distinct.
    pub positions: Vec<String>,
    /// Position until it acts.
    pub rest: usize,
    /// On what it acts and where it goes then; `None`: it only has to hold its rest position.
    pub acts: Option<(ActsOn, usize)>,
    /// Longest time to move.
    pub moves_in: Time,
    /// Positions in which it can fail by itself; every position unless declared.
    pub fails: BTreeSet<usize>,
    /// Whether a proof test is declared.
    pub proof_tested: bool,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// A reset.
#[derive(Debug, Clone)]
pub struct Reset {
    /// Its name.
    pub name: Name,
    /// Where it stands.
    pub place: String,
    /// On which part of the act it works.
    pub acts_on: ResetEdge,
    /// Causes it may clear.
    pub resets: Vec<CauseId>,
}

/// An override device.
#[derive(Debug, Clone)]
pub struct Override {
    /// Its name.
    pub name: Name,
    /// Inputs it can take out, distinct.
    pub inputs: Vec<InputId>,
    /// How many at once.
    pub at_most: usize,
    /// Modes in which it is permitted, per group named.
    pub modes: BTreeMap<GroupId, BTreeSet<ModeId>>,
    /// Whether a longest time is declared.
    pub limited: bool,
    /// What it announces.
    pub announces: Option<String>,
    /// What makes it misbehave besides itself.
    pub parents: Parents,
}

/// An effect.
#[derive(Debug, Clone)]
pub struct Effect {
    /// Its name.
    pub name: Name,
    /// Actuators and the positions it demands of them.
    pub set: Vec<(ActuatorId, usize)>,
    /// Delay before it is demanded.
    pub delay: Time,
    /// Effects that must have ended before it starts.
    pub after: Vec<EffectId>,
}

/// What a vote becomes when inputs are out of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Degraded {
    /// At least this many of the remaining operands.
    AtLeast(usize),
    /// It trips.
    Trip,
    /// It cannot trip.
    NoTrip,
}

/// What a solver can know: an atom of the condition of a cause.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum InputAtom {
    /// The reading of a sensor compares with a set point.
    Compare {
        /// The sensor.
        input: InputId,
        /// How.
        relation: Relation,
        /// With what.
        set_point: Exact,
        /// Number of this comparison among the atoms of its cause, from 0 (names its deadband memory).
        number: usize,
        /// Its place in the file.
        span: Span,
    },
    /// A switch, loop or stop contact is asserted (`asserted`) or not.
    Is {
        /// The input.
        input: InputId,
        /// Which.
        asserted: bool,
        /// Its place in the file.
        span: Span,
    },
    /// A cause is true. `from_before`: this reference closes a loop of causes and reads the value of the evaluation before.
    Cause {
        /// The cause.
        cause: CauseId,
        /// Whether it reads the value of the evaluation before.
        from_before: bool,
    },
    /// An override device is active on some input.
    Overriding(OverrideId),
    /// A mode input shows a mode.
    Shows(ModeInputId, ModeId),
    /// The signal of an input is bad or does not arrive.
    Bad(InputId),
    /// Nothing arrives over a link.
    LinkLost(LinkId),
}

/// A cause.
#[derive(Debug, Clone)]
pub struct Cause {
    /// Its name.
    pub name: Name,
    /// Its condition.
    pub when: Tree<InputAtom>,
    /// Its condition as written.
    pub text: String,
    /// Place of its condition.
    pub when_span: Span,
    /// Solver that evaluates it.
    pub solver: SolverId,
    /// Modes in which it is armed, per group named.
    pub armed: BTreeMap<GroupId, BTreeSet<ModeId>>,
    /// Whether it latches.
    pub latched: bool,
    /// Its reset.
    pub reset: Option<ResetId>,
    /// Time its condition must hold.
    pub on_delay: Time,
    /// What its one vote becomes with 1, 2, … operands out; beyond the list it keeps its M.
    pub degraded: Vec<Degraded>,
    /// What it is for.
    pub purpose: Purpose,
    /// Hazards it is credited for.
    pub credited_for: Vec<HazardId>,
    /// Effects it demands.
    pub demands: Vec<EffectId>,
    /// Delays of its marks.
    pub delays: BTreeMap<EffectId, Time>,
}

/// A group of elements that may start a hazard, or that it may damage.
#[derive(Debug, Clone)]
pub struct Party {
    /// Its name.
    pub name: Name,
    /// Its elements as fault sources.
    pub members: Vec<Source>,
}

/// What is required of a hazard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Required {
    /// Disjoint trip paths.
    pub disjoint_paths: u32,
    /// Faults tolerated.
    pub fault_tolerance: u32,
    /// Faults tolerated while permitted overrides are active.
    pub under_overrides: u32,
}

/// One conjunction of a predicate in disjunctive form: an atom and whether it holds or not.
pub type OnsetCase = Vec<(PlantAtom, bool)>;

/// A hazard.
#[derive(Debug, Clone)]
pub struct Hazard {
    /// Its name.
    pub name: Name,
    /// Its number in the hazard log.
    pub log: Option<String>,
    /// When harm begins.
    pub when: Tree<PlantAtom>,
    /// The same as written.
    pub text: String,
    /// Place of the predicate.
    pub when_span: Span,
    /// Its predicate in disjunctive form.
    pub onset: Vec<OnsetCase>,
    /// Its mode group.
    pub group: GroupId,
    /// Modes in which it exists, in the file's order.
    pub exists_in: Vec<ModeId>,
    /// For other modes, why it does not exist there.
    pub not_in: BTreeMap<ModeId, String>,
    /// What averts it; without NOT.
    pub safe_state: Tree<AtPosition>,
    /// The safe state as written.
    pub safe_text: String,
    /// Place of the safe state.
    pub safe_span: Span,
    /// Positions it forbids.
    pub forbids: Vec<AtPosition>,
    /// Time to the safe state.
    pub within: Time,
    /// Groups that may start it.
    pub initiators: Vec<Party>,
    /// Groups it may damage.
    pub damages: Vec<Party>,
    /// Whether damage costs nothing.
    pub damage_certain: bool,
    /// Hazards never present with it.
    pub never_together: Vec<HazardId>,
    /// What is required.
    pub required: Required,
    /// Where the requirement is written.
    pub requirement: Option<String>,
}

/// A combination of positions that never occurs.
#[derive(Debug, Clone)]
pub struct Exclusion {
    /// Its name.
    pub name: Name,
    /// The combination.
    pub never: Tree<AtPosition>,
    /// The same as written.
    pub text: String,
    /// Faults under which it never occurs.
    pub fault_tolerance: u32,
}

/// An implication between demands. Atoms are demands for positions of actuators.
#[derive(Debug, Clone)]
pub struct Invariant {
    /// Its name.
    pub name: Name,
    /// Whenever this is demanded …
    pub whenever: Tree<AtPosition>,
    /// … this is demanded.
    pub then: Tree<AtPosition>,
    /// The same as written.
    pub text: String,
    /// Faults under which it holds.
    pub fault_tolerance: u32,
}

/// A fault that is not considered.
#[derive(Debug, Clone)]
pub struct FaultExclusion {
    /// Its name.
    pub name: Name,
    /// What it names: a source, or the mechanism of a release.
    pub what: Excluded,
    /// Why.
    pub reason: String,
    /// Who answers for it.
    pub owner: String,
    /// Until when.
    pub expires: String,
}

/// What a fault exclusion leaves out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Excluded {
    /// Every fault of a source.
    Source(Source),
    /// One direction of an input's own faults (already taken out of its `fails`).
    Direction(Source, String),
    /// The mechanism of a door release, by its tag.
    Release(String),
}

/// A statement the model rests on.
#[derive(Debug, Clone)]
pub struct Assumption {
    /// Its name.
    pub name: Name,
    /// The statement.
    pub statement: String,
    /// Who owns it.
    pub owner: Option<String>,
    /// What it rests on.
    pub evidence: Option<String>,
    /// Until when.
    pub expires: Option<String>,
}

/// A finding the engineer accepts.
#[derive(Debug, Clone)]
pub struct Acceptance {
    /// Its name.
    pub name: Name,
    /// Id of the finding.
    pub finding: String,
    /// Why.
    pub reason: String,
    /// Role that accepts.
    pub by: String,
    /// Until when.
    pub expires: String,
}

/// Something in which a fault can sit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// A sensor, switch or stop contact (never a loop).
    Input(InputId),
    /// A contact of a loop.
    Contact(ContactId),
    /// The line of a loop.
    LoopLine(InputId),
    /// Something a signal goes through.
    Conditioner(ConditionerId),
    /// A supply.
    Supply(SupplyId),
    /// A cable route.
    Route(RouteId),
    /// A cabinet.
    Cabinet(CabinetId),
    /// A logic solver.
    Solver(SolverId),
    /// A link.
    Link(LinkId),
    /// An interposing relay.
    Relay(RelayId),
    /// An actuator.
    Actuator(ActuatorId),
    /// A passive device.
    Passive(PassiveId),
    /// A mode input.
    ModeInput(ModeInputId),
    /// An override device.
    Override(OverrideId),
    /// A store, machine, parameter source or type.
    Shared(SharedId),
    /// A damage group of a hazard, by its number.
    Damage(HazardId, usize),
}

/// Any element that has a tag.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Element {
    Group(GroupId),
    Mode(ModeId),
    Quantity(QuantityId),
    Condition(ConditionId),
    Coupling(CouplingId),
    Supply(SupplyId),
    Route(RouteId),
    Cabinet(CabinetId),
    Shared(SharedId),
    Conditioner(ConditionerId),
    Relay(RelayId),
    Link(LinkId),
    Solver(SolverId),
    ModeInput(ModeInputId),
    Input(InputId),
    Contact(ContactId),
    Stop(StopId),
    Space(SpaceId),
    Actuator(ActuatorId),
    Passive(PassiveId),
    Reset(ResetId),
    Override(OverrideId),
    Effect(EffectId),
    Cause(CauseId),
    Hazard(HazardId),
    Exclusion(ExclusionId),
    Invariant(InvariantId),
}
