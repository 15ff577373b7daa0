//! Section 5: drivers, actuators and passive devices.

use super::*;

/// A valve with one driver per solver and causes on two conditions that demand it shut and open at every solver.
struct Driven {
    b: Bench,
    v: ActuatorId,
    shut: ConditionId,
    open: ConditionId,
}

fn driven(
    wiring: fn(Vec<Tree<DriverId>>) -> Tree<DriverId>,
    two_solvers: bool,
    finish: impl FnOnce(&mut Bench, Actuator) -> Actuator,
) -> Driven {
    let mut b = bench();
    let solvers = if two_solvers { vec![b.main, b.fed] } else { vec![b.fed] };
    let actuator = valve(&mut b.m, "V", &solvers, wiring);
    let actuator = finish(&mut b, actuator);
    let v = b.m.actuators.push(actuator);
    let [shut, open] =
        ["SHUT", "OPEN"].map(|tag| b.m.conditions.push(Condition { name: name(tag), normal: false }));
    for (condition, position) in [(shut, SHUT), (open, OPEN)] {
        let e = b.m.effects.push(effect("E", &[(v, position)]));
        for s in &solvers {
            let i = b.m.inputs.push(switch("S", condition, *s));
            b.m.causes.push(cause("C", asserted(i), *s, &[e]));
        }
    }
    Driven { b, v, shut, open }
}

impl Driven {
    fn at(&self, sit: Sit) -> usize {
        sit.run(&self.b.m).positions[&Device::Actuator(self.v)]
    }
    fn shut(&self) -> Sit {
        sit().yes(FactChoice::Condition(self.shut))
    }
    fn open(&self) -> Sit {
        sit().yes(FactChoice::Condition(self.open))
    }
    fn opposed(&self) -> Sit {
        self.shut().yes(FactChoice::Condition(self.open))
    }
    fn dead(&self, sit: Sit) -> Sit {
        sit.faulty(Source::Supply(self.b.power)).yes(FactChoice::Lost(self.b.power))
    }
    /// The choices that put it open wherever it may be anything.
    fn willing(&self, sit: Sit) -> Sit {
        let mut sit = sit.put(Device::Actuator(self.v), OPEN);
        for d in self.b.m.drivers.ids() {
            sit = sit.yes(FactChoice::Gives(d)).yes(FactChoice::Drives(d, OPEN));
        }
        sit
    }
}

#[test]
fn a_valve_follows_its_demands_and_otherwise_the_process() {
    let d = driven(Tree::And, false, |_, a| a);
    assert_eq!(d.at(d.willing(d.shut())), SHUT);
    assert_eq!(d.at(d.open()), OPEN);
    assert_eq!(d.at(sit()), SHUT);
    assert_eq!(d.at(d.willing(sit())), OPEN);
}

#[test]
fn a_valve_of_the_protection_rests_where_it_is_declared_to() {
    for rest in [SHUT, OPEN] {
        let d = driven(Tree::And, false, |_, a| Actuator { rest: Some(rest), ..a });
        assert_eq!(d.at(sit()), rest);
        assert_eq!(d.at(d.willing(sit())), rest);
        assert_eq!(d.at(d.shut()), SHUT);
        assert_eq!(d.at(d.open()), OPEN);
        assert_eq!(d.at(d.dead(d.open())), SHUT, "without energy it does not rest");
    }
}

#[test]
fn opposing_demands_end_at_the_winner_or_anywhere() {
    let d = driven(Tree::And, false, |_, a| a);
    assert_eq!(d.at(d.opposed()), SHUT);
    assert_eq!(d.at(d.willing(d.opposed())), OPEN);
    for winner in [SHUT, OPEN] {
        let d = driven(Tree::And, false, |_, a| Actuator { winner: Some(winner), ..a });
        assert_eq!(d.at(d.opposed()), winner);
        assert_eq!(d.at(d.willing(d.opposed())), winner);
    }
}

#[test]
fn lost_supply_trips_what_is_shut_without_energy_and_disables_what_is_shut_with_it() {
    let de_energise = driven(Tree::And, false, |_, a| a);
    assert_eq!(de_energise.at(de_energise.dead(de_energise.willing(sit()))), SHUT);
    let without_energy = WithoutEnergy::Goes { off: OPEN, on: SHUT };
    let energise = driven(Tree::And, false, |_, a| Actuator { without_energy, ..a });
    assert_eq!(energise.at(energise.shut()), SHUT);
    assert_eq!(energise.at(energise.dead(energise.shut())), OPEN, "the solver is dead");
    let supplied = driven(Tree::And, true, |b, a| Actuator { without_energy, supply: Some(b.power), ..a });
    assert_eq!(supplied.at(supplied.dead(supplied.shut())), OPEN, "its own supply is lost");
}

#[test]
fn in_series_one_driver_withholds_and_in_parallel_one_gives() {
    let series = driven(Tree::And, true, |_, a| a);
    let parallel = driven(Tree::Or, true, |_, a| a);
    // `fed` is dead, `main` demands open.
    assert_eq!(series.at(series.dead(series.open())), SHUT);
    assert_eq!(parallel.at(parallel.dead(parallel.open())), OPEN);
    // `main` misbehaves and gives energy, `fed` demands shut.
    for (d, expected) in [(&series, SHUT), (&parallel, OPEN)] {
        let wrong = d.willing(d.shut()).faulty(Source::Solver(d.b.main));
        assert_eq!(d.at(wrong), expected);
        assert_eq!(d.at(d.shut().faulty(Source::Solver(d.b.main))), SHUT);
    }
}

#[test]
fn a_relay_misbehaves_or_drops_out() {
    let d = driven(Tree::And, false, |b, a| {
        let relay = Relay { name: name("K"), supply: None, parents: parents(Some(b.cabinet), &[]) };
        let k = b.m.relays.push(relay);
        let own = b.m.supplies.push(supply("K24", None));
        let k2 = b.m.relays.push(Relay { name: name("K2"), supply: Some(own), parents: Parents::default() });
        let driver = Driver { actuator: b.m.actuators.next_id(), solver: b.fed, relays: vec![k, k2] };
        let d = b.m.drivers.push(driver);
        Actuator { drivers: vec![d], wiring: Some(Tree::Atom(d)), ..a }
    });
    let k = d.b.m.relays.ids().next().unwrap();
    let k24 = d.b.m.supplies.ids().next_back().unwrap();
    for fault in [Source::Relay(k), Source::Cabinet(d.b.cabinet), Source::Solver(d.b.fed)] {
        assert_eq!(d.at(d.willing(d.shut()).faulty(fault)), OPEN);
        assert_eq!(d.at(d.shut().faulty(fault)), SHUT);
    }
    assert_eq!(d.at(d.open()), OPEN);
    assert_eq!(d.at(d.open().faulty(Source::Supply(k24)).yes(FactChoice::Lost(k24))), SHUT);
}

#[test]
fn a_faulty_valve_stands_where_it_fails_and_anywhere_when_its_cabinet_does() {
    let d = driven(Tree::And, false, |b, a| Actuator {
        fails: BTreeSet::from([SHUT]),
        parents: parents(Some(b.cabinet), &[]),
        ..a
    });
    let device = Device::Actuator(d.v);
    let own = |position| d.open().faulty(Source::Actuator(d.v)).put(device, position);
    assert_eq!(d.at(own(SHUT)), OPEN, "a fault need not show");
    let deviates = FactChoice::DeviceDeviates(device);
    assert_eq!(d.at(own(SHUT).yes(deviates)), SHUT);
    assert!(own(OPEN).yes(deviates).refused(&d.b.m).contains("open"));
    let wild = d.shut().faulty(Source::Cabinet(d.b.cabinet)).yes(deviates).put(device, OPEN);
    assert_eq!(d.at(wild), OPEN);
    assert_eq!(d.at(d.shut().yes(deviates).put(device, OPEN)), SHUT, "no fault");
}

#[test]
fn the_line_of_a_valve_opens_and_a_plain_one_is_held() {
    for (line, held) in [(LineKind::Plain, true), (LineKind::Monitored, false), (LineKind::Dynamic, false)] {
        let d = driven(Tree::And, false, |b, a| Actuator { line, routes: vec![b.route], ..a });
        let route = Source::Route(d.b.route);
        let [open, hold, energised] = [
            FactChoice::ActuatorLineOpen(d.v),
            FactChoice::ActuatorLineHeld(d.v),
            FactChoice::Energised(d.v),
        ];
        assert_eq!(d.at(d.open().yes(open)), OPEN, "no fault");
        assert_eq!(d.at(d.open().faulty(route).yes(open)), SHUT);
        assert_eq!(d.at(d.shut().faulty(route).yes(hold).yes(energised)), if held { OPEN } else { SHUT });
        assert_eq!(d.at(d.open().faulty(route).yes(hold)), if held { SHUT } else { OPEN });
    }
}

#[test]
fn a_valve_without_drivers_is_where_the_process_or_its_rest_has_it() {
    let process = driven(Tree::And, false, |_, a| Actuator { drivers: Vec::new(), wiring: None, ..a });
    assert_eq!(process.at(process.willing(process.shut())), OPEN);
    let resting = driven(Tree::And, false, |_, a| Actuator {
        drivers: Vec::new(),
        wiring: None,
        rest: Some(SHUT),
        ..a
    });
    assert_eq!(resting.at(resting.willing(sit())), SHUT);
}

fn stays(rest: Option<usize>, winner: Option<usize>, two_solvers: bool) -> Driven {
    driven(Tree::And, two_solvers, |b, a| Actuator {
        without_energy: WithoutEnergy::Stays,
        rest,
        winner,
        supply: two_solvers.then_some(b.power),
        routes: vec![b.route],
        ..a
    })
}

#[test]
fn a_valve_that_stays_is_moved_by_energy_only() {
    let d = stays(None, None, false);
    let left_open = |sit: Sit| sit.put(Device::Actuator(d.v), OPEN);
    assert_eq!(d.at(left_open(d.shut())), SHUT);
    assert_eq!(d.at(d.open()), OPEN);
    assert_eq!(d.at(left_open(sit())), OPEN, "not demanded: where it was left");
    assert_eq!(d.at(sit()), SHUT);
    // Without its solver it stays, whatever is demanded.
    assert_eq!(d.at(d.dead(left_open(d.shut()))), OPEN);
    let open_line =
        left_open(d.shut()).faulty(Source::Route(d.b.route)).yes(FactChoice::ActuatorLineOpen(d.v));
    assert_eq!(d.at(open_line), OPEN);
    let driver = d.b.m.drivers.ids().next().unwrap();
    let wrong = d.shut().faulty(Source::Solver(d.b.fed)).yes(FactChoice::Drives(driver, OPEN));
    assert_eq!(d.at(wrong), OPEN);
    let both = d.opposed();
    assert_eq!((d.at(both.clone()), d.at(left_open(both))), (SHUT, OPEN));
}

#[test]
fn a_valve_that_stays_obeys_its_winner_and_its_rest() {
    for winner in [SHUT, OPEN] {
        let d = stays(None, Some(winner), false);
        for left in [SHUT, OPEN] {
            assert_eq!(d.at(d.opposed().put(Device::Actuator(d.v), left)), winner);
        }
    }
    let d = stays(Some(OPEN), None, false);
    assert_eq!(d.at(sit()), OPEN);
    assert_eq!(d.at(d.shut().put(Device::Actuator(d.v), OPEN)), SHUT);
}

#[test]
fn a_valve_that_stays_in_series_needs_all_drivers_and_its_supply() {
    let d = stays(None, None, true);
    let left_open = |sit: Sit| sit.put(Device::Actuator(d.v), OPEN);
    assert_eq!(d.at(left_open(d.shut())), SHUT);
    assert_eq!(d.at(left_open(d.shut().faulty(Source::Solver(d.b.main)))), OPEN, "one does not drive");
    assert_eq!(d.at(d.dead(left_open(d.shut()))), OPEN);
}

#[test]
fn a_demand_over_a_lost_link_follows_the_link() {
    for (on_loss, expected) in [(LinkLoss::Trips, SHUT), (LinkLoss::NoTrip, OPEN)] {
        let mut b = bench();
        let actuator = valve(&mut b.m, "V", &[b.main], Tree::And);
        let v = b.m.actuators.push(Actuator { rest: Some(OPEN), ..actuator });
        let sd = b.m.inputs.push(switch("SD", b.smoke, b.fed));
        let e = b.m.effects.push(effect("E", &[(v, SHUT)]));
        let c = b.m.causes.push(cause("C", asserted(sd), b.fed, &[e]));
        let at = |m: &Model, sit: Sit| sit.run(m).positions[&Device::Actuator(v)];
        let smoke = || sit().yes(FactChoice::Condition(b.smoke));
        assert_eq!(at(&b.m, smoke()), OPEN, "without access nothing is demanded");
        let l = b.m.links.push(Link { on_loss, ..link("L", &[b.main, b.fed]) });
        b.m.access.insert((Signal::Cause(c), b.main), Access::Over(l, b.fed));
        assert_eq!(at(&b.m, smoke()), SHUT);
        assert_eq!(at(&b.m, sit()), OPEN);
        let dead = smoke().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
        assert_eq!(at(&b.m, dead), expected);
    }
}

fn relief(tag: &str, acts: Option<(ActsOn, usize)>) -> Passive {
    Passive {
        name: name(tag),
        positions: vec!["shut".into(), "open".into()],
        rest: SHUT,
        acts,
        moves_in: Time::Unknown,
        fails: BTreeSet::from([SHUT]),
        proof_tested: false,
        parents: Parents::default(),
    }
}

#[test]
fn a_relief_valve_acts_within_its_tolerance() {
    let mut b = bench();
    let acts = ActsOn::Quantity {
        quantity: b.temperature,
        relation: Relation::AtLeast,
        bound: n(50),
        accuracy: n(3),
    };
    let p = b.m.passive.push(relief("PSV", Some((acts, OPEN))));
    let device = Device::Passive(p);
    let sit_at =
        |value, tolerance| sit().is(b.temperature, value).number(NumberChoice::Tolerance(p), tolerance);
    let at = |sit: Sit| sit.run(&b.m).positions[&device];
    assert_eq!(at(sit_at(50, 0)), OPEN);
    assert_eq!(at(sit_at(49, 0)), SHUT);
    assert_eq!(at(sit_at(52, -3)), SHUT);
    assert_eq!(at(sit_at(53, -3)), OPEN);
    assert_eq!(at(sit_at(47, 3)), OPEN);
    assert_eq!(at(sit_at(46, 3)), SHUT);
    for tolerance in [-4, 4] {
        assert!(sit_at(50, tolerance).refused(&b.m).contains("PSV"));
    }
    let stuck = sit_at(90, 0).faulty(Source::Passive(p)).yes(FactChoice::DeviceDeviates(device));
    assert_eq!(at(stuck.clone()), SHUT);
    assert!(stuck.put(device, OPEN).refused(&b.m).contains("PSV"));
}

#[test]
fn a_passive_device_acts_on_a_condition_or_on_its_absence_or_never() {
    let mut b = bench();
    let on = |negated| Some((ActsOn::Condition { condition: b.smoke, negated }, OPEN));
    let [present, absent, never] =
        [on(false), on(true), None].map(|acts| Device::Passive(b.m.passive.push(relief("P", acts))));
    for (sit, expected) in
        [(sit(), [SHUT, OPEN, SHUT]), (sit().yes(FactChoice::Condition(b.smoke)), [OPEN, SHUT, SHUT])]
    {
        let positions = sit.run(&b.m).positions;
        assert_eq!([present, absent, never].map(|device| positions[&device]), expected);
    }
}
