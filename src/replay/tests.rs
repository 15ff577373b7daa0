//! Tests of the simulator, one module per section of `docs/meaning.md`, and the small models they use.
//!
//! The models are built by hand, without the language, so that an error in reading a file cannot hide one here.
//! What is checked against: `docs/meaning.md`, and for voting the definition of MooN ("at least M of N") in
//! IEC 61508-6 (from memory).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod breach;
mod inputs;
mod logic;
mod outputs;
mod possible;

use std::collections::{BTreeMap, BTreeSet};

use super::*;
use crate::claim::{Breach, Budget};
use crate::model::*;
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::source::Span;
use crate::syntax::kind::{
    InputFailure, LineKind, LinkLoss, LoopDetection, OnBad, People, Purpose, ReleaseAid, ReleasePlace,
};
use crate::unit::{Kind, Unit};

/// The only place that makes a kind of unit.
fn kind() -> Kind {
    Kind::Of(crate::unit::Measure::Count)
}

/// The only place that makes a unit.
fn unit() -> Unit {
    Unit::none()
}

fn n(value: i64) -> Exact {
    Exact::int(value)
}

fn name(tag: &str) -> Name {
    Name { tag: tag.into(), title: None, span: Span::default() }
}

fn range(low: i64, high: i64) -> Interval {
    Interval { low: n(low), high: n(high) }
}

/// A plant with a temperature 0 … 200, a condition, a mode group of two modes, a route, a cabinet, a supply, a solver
/// without supply (`main`) and one with it (`fed`).
struct Bench {
    m: Model,
    temperature: QuantityId,
    smoke: ConditionId,
    group: GroupId,
    run: ModeId,
    service: ModeId,
    route: RouteId,
    cabinet: CabinetId,
    power: SupplyId,
    main: SolverId,
    fed: SolverId,
}

fn bench() -> Bench {
    let mut m = Model::default();
    let temperature = m.quantities.push(Quantity {
        name: name("T"),
        kind: kind(),
        unit: unit(),
        range: range(0, 200),
        normal: None,
        rises: None,
        falls: None,
        resolution: n(1),
        set_points_within: None,
        designed_for: None,
    });
    let smoke = m.conditions.push(Condition { name: name("SMOKE"), normal: false });
    let group = m.groups.next_id();
    let [run, service] = ["RUN", "SERVICE"].map(|tag| m.modes.push(mode(tag, group)));
    m.groups.push(Group { name: name("BAY"), modes: vec![run, service] });
    let route = m.routes.push(Plain { name: name("R1") });
    let cabinet = m.cabinets.push(Plain { name: name("CAB") });
    let power = m.supplies.push(supply("PWR", None));
    let main = m.solvers.push(solver("MAIN", None));
    let fed = m.solvers.push(solver("FED", Some(power)));
    Bench { m, temperature, smoke, group, run, service, route, cabinet, power, main, fed }
}

fn mode(tag: &str, group: GroupId) -> Mode {
    Mode {
        name: name(tag),
        group,
        people: People::Never,
        normal: Vec::new(),
        needs: Vec::new(),
        after_power_return: false,
    }
}

fn supply(tag: &str, fed_by: Option<Tree<SupplyId>>) -> Supply {
    Supply { name: name(tag), fed_by, lasts: None, secured: false, monitored: false, cabinet: None }
}

fn solver(tag: &str, supply: Option<SupplyId>) -> Solver {
    Solver {
        name: name(tag),
        reaction: Time::Unknown,
        scan: None,
        scans_with_inputs: false,
        supply,
        tolerance: 0,
        certificate: None,
        parents: Parents::default(),
    }
}

fn shared(tag: &str, kind: SharedKind) -> Shared {
    Shared { name: name(tag), kind, lasts: None }
}

fn parents(cabinet: Option<CabinetId>, shared: &[SharedId]) -> Parents {
    Parents { cabinet, shared: shared.to_vec() }
}

/// An input wired to one solver, with nothing on the way.
fn input(tag: &str, observes: Observes, to: SolverId) -> Input {
    Input {
        name: name(tag),
        observes,
        readers: BTreeMap::from([(to, Path::default())]),
        line: LineKind::Plain,
        supply: None,
        rated_for: Vec::new(),
        stays: None,
        warm_up: None,
        response: Response {
            step: Time::Known(Exact::zero()),
            t90: false,
            confirmation: Time::Known(Exact::zero()),
            filter: Time::Known(Exact::zero()),
            transport: Time::Known(Exact::zero()),
        },
        on_loss: Lost::Bad,
        on_bad: None,
        fails: None,
        proof_tested: false,
        parents: Parents::default(),
    }
}

/// A sensor 0 … 100 with accuracy 2 and no deadband.
fn sensor(tag: &str, quantity: QuantityId, to: SolverId) -> Input {
    input(tag, measures(quantity, 0), to)
}

fn measures(quantity: QuantityId, deadband: i64) -> Observes {
    Observes::Quantity { quantity, range: range(0, 100), accuracy: n(2), deadband: n(deadband) }
}

fn switch(tag: &str, condition: ConditionId, to: SolverId) -> Input {
    input(tag, Observes::Condition { condition, negated: false }, to)
}

/// The way of an input to one solver over one route.
fn over_route(route: RouteId, to: SolverId) -> BTreeMap<SolverId, Path> {
    BTreeMap::from([(to, Path { routes: vec![route], through: Vec::new() })])
}

/// The way of an input to one solver through one conditioner.
fn through(conditioner: ConditionerId, to: SolverId) -> BTreeMap<SolverId, Path> {
    BTreeMap::from([(to, Path { routes: Vec::new(), through: vec![conditioner] })])
}

fn link(tag: &str, connects: &[SolverId]) -> Link {
    Link {
        name: name(tag),
        connects: connects.to_vec(),
        carries: Vec::new(),
        delay: Time::Unknown,
        supervised: false,
        on_loss: LinkLoss::NoTrip,
        routes: Vec::new(),
        supply: None,
        parents: Parents::default(),
    }
}

/// A cause that demands the effects.
fn cause(tag: &str, when: Tree<InputAtom>, solver: SolverId, demands: &[EffectId]) -> Cause {
    Cause {
        name: name(tag),
        when,
        text: String::new(),
        when_span: Span::default(),
        solver,
        armed: BTreeMap::new(),
        latched: false,
        reset: None,
        on_delay: Time::Unknown,
        degraded: Vec::new(),
        purpose: Purpose::Protection,
        person_needs: None,
        credited_for: Vec::new(),
        demands: demands.to_vec(),
        delays: BTreeMap::new(),
    }
}

fn effect(tag: &str, set: &[(ActuatorId, usize)]) -> Effect {
    Effect { name: name(tag), set: set.to_vec(), delay: Time::Unknown, after: Vec::new() }
}

/// `input >= set_point`
fn at_least(input: InputId, set_point: i64) -> Tree<InputAtom> {
    compare(input, Relation::AtLeast, set_point)
}

fn compare(input: InputId, relation: Relation, set_point: i64) -> Tree<InputAtom> {
    Tree::Atom(InputAtom::Compare {
        input,
        relation,
        set_point: n(set_point),
        number: 0,
        span: Span::default(),
    })
}

fn asserted(input: InputId) -> Tree<InputAtom> {
    Tree::Atom(InputAtom::Is { input, asserted: true, span: Span::default() })
}

fn refers(cause: CauseId) -> Tree<InputAtom> {
    Tree::Atom(InputAtom::Cause { cause, from_before: false })
}

fn not<A>(part: Tree<A>) -> Tree<A> {
    Tree::Not(Box::new(part))
}

/// Positions of [`valve`].
const SHUT: usize = 0;
const OPEN: usize = 1;

/// Adds a valve that the process operates, shut without energy, with one driver per solver, wired as said.
fn valve(
    m: &mut Model,
    tag: &str,
    solvers: &[SolverId],
    wiring: fn(Vec<Tree<DriverId>>) -> Tree<DriverId>,
) -> Actuator {
    let actuator = m.actuators.next_id();
    let drivers: Vec<DriverId> = solvers
        .iter()
        .map(|solver| m.drivers.push(Driver { actuator, solver: *solver, relays: Vec::new() }))
        .collect();
    Actuator {
        name: name(tag),
        positions: vec!["shut".into(), "open".into()],
        without_energy: WithoutEnergy::Goes { off: SHUT, on: OPEN },
        rest: None,
        shortest: Exact::zero(),
        moves_in: Time::Unknown,
        wiring: (!drivers.is_empty()).then(|| wiring(drivers.iter().copied().map(Tree::Atom).collect())),
        drivers,
        winner: None,
        supply: None,
        routes: Vec::new(),
        line: LineKind::Plain,
        fails: BTreeSet::from([SHUT, OPEN]),
        proof_tested: false,
        parents: Parents::default(),
    }
}

fn hazard(tag: &str, group: GroupId, onset: Vec<OnsetCase>, safe_state: Tree<AtPosition>) -> Hazard {
    Hazard {
        name: name(tag),
        log: None,
        when: Tree::Or(Vec::new()),
        text: String::new(),
        when_span: Span::default(),
        onset,
        group,
        exists_in: Vec::new(),
        not_in: BTreeMap::new(),
        safe_state,
        safe_text: String::new(),
        safe_span: Span::default(),
        forbids: Vec::new(),
        within: Time::Unknown,
        initiators: Vec::new(),
        damages: Vec::new(),
        after_set_point: None,
        evacuation: Time::Known(Exact::zero()),
        lasts: None,
        usable: Exact::int(1),
        damage_certain: false,
        never_together: Vec::new(),
        required: Required { disjoint_paths: 1, fault_tolerance: 0, under_overrides: 0 },
        requirement: None,
    }
}

fn hot(quantity: QuantityId, from: i64) -> PlantAtom {
    PlantAtom::Linear { sum: vec![(n(1), quantity)], relation: Relation::AtLeast, bound: n(from) }
}

fn actuator_at(actuator: ActuatorId, position: usize) -> Tree<AtPosition> {
    Tree::Atom(AtPosition { device: Device::Actuator(actuator), position })
}

fn claim(breach: Breach) -> Claim {
    Claim { breach, modes: Vec::new(), faults: Budget::none(), initiators: false, overrides: false }
}

/// A claim that any situation breaks, with any number of the faults.
fn allowing(faults: &[Source]) -> Claim {
    let faults = Budget { sources: faults.iter().copied().collect(), weight: None };
    Claim { faults, ..claim(Breach::Possible) }
}

/// A situation, choice by choice.
#[derive(Clone, Default)]
struct Sit(Situation);

impl Sit {
    fn is(mut self, quantity: QuantityId, value: i64) -> Self {
        self.0.numbers.insert(NumberChoice::Quantity(quantity), n(value));
        self
    }
    fn number(mut self, choice: NumberChoice, value: i64) -> Self {
        self.0.numbers.insert(choice, n(value));
        self
    }
    fn yes(mut self, choice: FactChoice) -> Self {
        self.0.facts.insert(choice, true);
        self
    }
    fn faulty(self, source: Source) -> Self {
        self.yes(FactChoice::Misbehaves(source))
    }
    fn mode(mut self, choice: ModeChoice, mode: ModeId) -> Self {
        self.0.modes.insert(choice, mode);
        self
    }
    fn put(mut self, device: Device, position: usize) -> Self {
        self.0.positions.insert(device, position);
        self
    }
    /// What happens under a claim that allows every fault that the situation has.
    fn run(&self, m: &Model) -> Replay {
        self.run_under(m, &self.own_claim())
    }
    /// Why it is not possible, under a claim that allows every fault that the situation has.
    fn refused(&self, m: &Model) -> String {
        self.refused_under(m, &self.own_claim())
    }
    fn run_under(&self, m: &Model, claim: &Claim) -> Replay {
        replay(m, claim, &self.0).expect("a possible situation")
    }
    fn refused_under(&self, m: &Model, claim: &Claim) -> String {
        replay(m, claim, &self.0).expect_err("a situation that is not possible").reason
    }
    fn own_claim(&self) -> Claim {
        let faults = self.0.facts.keys().filter_map(|fact| match fact {
            FactChoice::Misbehaves(source) => Some(*source),
            _ => None,
        });
        Claim { overrides: true, ..allowing(&faults.collect::<Vec<_>>()) }
    }
}

fn sit() -> Sit {
    Sit::default()
}

fn shows(value: i64) -> Seen {
    Seen::Shows(Value::Number(n(value)))
}

fn tells(value: bool) -> Seen {
    Seen::Shows(Value::Asserted(value))
}
