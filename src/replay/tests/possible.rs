//! Section 1 (possible situations) and section 2 (what misbehaves).

use super::*;

#[test]
fn the_ends_of_a_range_are_possible_and_nothing_beyond_them() {
    let b = bench();
    for value in [0, 200] {
        sit().is(b.temperature, value).run(&b.m);
    }
    for value in [-1, 201] {
        assert!(sit().is(b.temperature, value).refused(&b.m).contains('T'));
    }
}

#[test]
fn an_error_is_at_most_the_accuracy_and_a_reading_within_the_instrument() {
    let mut b = bench();
    let t = b.m.inputs.push(sensor("TT", b.temperature, b.main));
    let s = b.m.inputs.push(switch("SD", b.smoke, b.main));
    for error in [-2, 2] {
        sit().number(NumberChoice::Error(t), error).run(&b.m);
    }
    for error in [-3, 3] {
        assert!(sit().number(NumberChoice::Error(t), error).refused(&b.m).contains("error of TT"));
    }
    sit().number(NumberChoice::Reading(t, b.main), 100).run(&b.m);
    assert!(sit().number(NumberChoice::Reading(t, b.main), 101).refused(&b.m).contains("reading of TT"));
    assert!(sit().number(NumberChoice::Reading(s, b.main), 0).refused(&b.m).contains("no sensor"));
}

#[test]
fn every_coupling_holds() {
    let mut b = bench();
    b.m.couplings.push(Coupling {
        name: name("K1"),
        holds: Tree::Or(vec![
            not(Tree::Atom(PlantAtom::Mode(b.service))),
            not(Tree::Atom(hot(b.temperature, 50))),
        ]),
        text: "cold in service".into(),
        owner: "process".into(),
        expires: None,
    });
    let service = || sit().mode(ModeChoice::Holds(b.group), b.service);
    service().is(b.temperature, 49).run(&b.m);
    sit().is(b.temperature, 50).run(&b.m);
    assert!(service().is(b.temperature, 50).refused(&b.m).contains("K1"));
}

#[test]
fn a_claim_fixes_its_modes_and_no_others() {
    let b = bench();
    let in_service = Claim { modes: vec![b.service], ..claim(Breach::Possible) };
    let service = sit().mode(ModeChoice::Holds(b.group), b.service);
    assert!(service.run_under(&b.m, &in_service).breaks);
    assert!(sit().refused_under(&b.m, &in_service).contains("RUN"));
    assert!(service.run_under(&b.m, &claim(Breach::Possible)).breaks);
}

#[test]
fn a_mode_of_another_group_is_not_possible() {
    let mut b = bench();
    let other = b.m.groups.next_id();
    let foreign = b.m.modes.push(mode("NIGHT", other));
    b.m.groups.push(Group { name: name("HALL"), modes: vec![foreign] });
    assert!(sit().mode(ModeChoice::Holds(b.group), foreign).refused(&b.m).contains("NIGHT"));
}

#[test]
fn only_what_the_claim_allows_misbehaves() {
    let b = bench();
    let fault = sit().faulty(Source::Supply(b.power));
    fault.run_under(&b.m, &allowing(&[Source::Supply(b.power)]));
    assert!(fault.refused_under(&b.m, &claim(Breach::Possible)).contains("PWR"));
}

#[test]
fn a_certified_solver_weighs_its_tolerance_and_one_more() {
    let mut b = bench();
    let certified = b.m.solvers.push(Solver { tolerance: 1, ..solver("SAFE", None) });
    let budget = |weight| {
        let sources = BTreeSet::from([Source::Solver(certified), Source::Route(b.route)]);
        Claim { faults: Budget { sources, weight: Some(weight) }, ..claim(Breach::Possible) }
    };
    let one = sit().faulty(Source::Solver(certified));
    one.run_under(&b.m, &budget(2));
    one.refused_under(&b.m, &budget(1));
    let both = one.faulty(Source::Route(b.route));
    both.run_under(&b.m, &budget(3));
    assert!(both.refused_under(&b.m, &budget(2)).contains("weigh 3"));
}

#[test]
fn one_initiator_and_one_damage_group_of_the_claims_hazard_may_misbehave() {
    let mut b = bench();
    let party = |tag: &str| Party { name: name(tag), members: vec![Source::Supply(b.power)] };
    let with_parties = |tag: &str, damage_certain| Hazard {
        initiators: vec![party("I1"), party("I2")],
        damages: vec![party("D1"), party("D2")],
        damage_certain,
        ..hazard(tag, b.group, Vec::new(), Tree::And(Vec::new()))
    };
    let h = b.m.hazards.push(with_parties("H", false));
    let certain = b.m.hazards.push(with_parties("HC", true));
    let about = |hazard, initiators, weight| Claim {
        faults: Budget {
            sources: [0, 1].iter().map(|k| Source::Damage(hazard, *k)).collect(),
            weight: Some(weight),
        },
        initiators,
        ..claim(Breach::NotMet { hazard, onset: None })
    };
    let initiated = |hazard, k| sit().yes(FactChoice::Initiator(hazard, k));
    initiated(h, 0).run_under(&b.m, &about(h, true, 0));
    initiated(h, 0).refused_under(&b.m, &about(h, false, 0));
    initiated(h, 2).refused_under(&b.m, &about(h, true, 0));
    initiated(certain, 0).refused_under(&b.m, &about(h, true, 0));
    initiated(h, 0).yes(FactChoice::Initiator(h, 1)).refused_under(&b.m, &about(h, true, 0));
    initiated(h, 0).refused_under(&b.m, &Claim { initiators: true, ..claim(Breach::Possible) });
    // Damage weighs one unless it is certain; an initiator nothing.
    let damaged = |hazard, k| sit().faulty(Source::Damage(hazard, k));
    damaged(h, 0).yes(FactChoice::Initiator(h, 1)).run_under(&b.m, &about(h, true, 1));
    damaged(h, 0).refused_under(&b.m, &about(h, false, 0));
    damaged(certain, 0).run_under(&b.m, &about(certain, false, 0));
    damaged(h, 0).faulty(Source::Damage(h, 1)).refused_under(&b.m, &about(h, false, 9));
    // Its members may do anything.
    let lost = damaged(h, 0).yes(FactChoice::Lost(b.power)).run_under(&b.m, &about(h, false, 1));
    assert!(lost.lost.contains(&b.power) && lost.dead.contains(&b.fed));
}

#[test]
fn overrides_are_active_only_where_permitted_or_by_a_fault() {
    let mut b = bench();
    let [one, two, three] = ["T1", "T2", "T3"].map(|tag| b.m.inputs.push(sensor(tag, b.temperature, b.main)));
    let key = b.m.overrides.push(Override {
        name: name("KEY"),
        inputs: vec![one, two],
        at_most: 1,
        modes: BTreeMap::from([(b.group, BTreeSet::from([b.service]))]),
        limited: false,
        announces: None,
        parents: Parents::default(),
    });
    let over = |input| FactChoice::Overridden(key, input);
    let service = || sit().mode(ModeChoice::Holds(b.group), b.service);
    let allowed = Claim { overrides: true, ..claim(Breach::Possible) };
    service().yes(over(one)).run_under(&b.m, &allowed);
    assert!(service().yes(over(one)).refused_under(&b.m, &claim(Breach::Possible)).contains("KEY"));
    assert!(sit().yes(over(one)).refused_under(&b.m, &allowed).contains("mode"));
    assert!(service().yes(over(one)).yes(over(two)).refused_under(&b.m, &allowed).contains("at once"));
    assert!(service().yes(over(three)).refused_under(&b.m, &allowed).contains("none of its inputs"));
    let faulty = sit().faulty(Source::Override(key)).yes(over(one)).yes(over(two));
    faulty.run_under(&b.m, &allowing(&[Source::Override(key)]));
}

#[test]
fn hazards_that_are_never_together_are_not_present_together() {
    let mut b = bench();
    let smoke = vec![vec![(PlantAtom::Condition(b.smoke), true)]];
    let there = b.m.groups[b.group].modes.clone();
    let other =
        b.m.hazards
            .push(Hazard { exists_in: there, ..hazard("FIRE", b.group, smoke, Tree::And(Vec::new())) });
    let h = b.m.hazards.push(Hazard {
        never_together: vec![other],
        ..hazard("HEAT", b.group, vec![vec![(hot(b.temperature, 50), true)]], Tree::And(Vec::new()))
    });
    let burning = sit().is(b.temperature, 60).yes(FactChoice::Condition(b.smoke));
    let about = |hazard| claim(Breach::Exists { hazard, onset: 0 });
    assert!(burning.refused_under(&b.m, &about(h)).contains("FIRE"));
    assert!(burning.run_under(&b.m, &about(other)).breaks);
    assert!(sit().is(b.temperature, 60).run_under(&b.m, &about(h)).breaks);
    assert!(!sit().is(b.temperature, 49).run_under(&b.m, &about(h)).breaks);
}

#[test]
fn only_latched_causes_and_those_that_close_a_loop_are_already_set() {
    let mut b = bench();
    let sd = b.m.inputs.push(switch("SD", b.smoke, b.main));
    let plain = b.m.causes.push(cause("C1", asserted(sd), b.main, &[]));
    let latched = b.m.causes.push(Cause { latched: true, ..cause("C2", asserted(sd), b.main, &[]) });
    let back = Tree::Atom(InputAtom::Cause { cause: plain, from_before: true });
    let set = |c| sit().yes(FactChoice::AlreadySet(c));
    assert!(set(plain).refused(&b.m).contains("C1"));
    assert!(set(latched).run(&b.m).causes[&latched]);
    let reader = b.m.causes.push(cause("C3", back, b.main, &[]));
    // It neither latches nor is true now, but it was.
    let replay = set(plain).run(&b.m);
    assert!(replay.causes[&reader] && !replay.causes[&plain]);
}

#[test]
fn a_position_that_the_device_does_not_have_is_not_possible() {
    let mut b = bench();
    let valve = valve(&mut b.m, "V", &[], Tree::And);
    let v = b.m.actuators.push(valve);
    assert_eq!(sit().put(Device::Actuator(v), OPEN).run(&b.m).positions[&Device::Actuator(v)], OPEN);
    assert!(sit().put(Device::Actuator(v), 2).refused(&b.m).contains('V'));
}

#[test]
fn a_supply_is_lost_by_itself_by_its_cabinet_and_when_nothing_feeds_it() {
    let mut b = bench();
    let second = b.m.supplies.push(Supply { cabinet: Some(b.cabinet), ..supply("UPS", None) });
    let either = Tree::Or(vec![Tree::Atom(b.power), Tree::Atom(second)]);
    let bus = b.m.supplies.push(supply("BUS", Some(either)));
    let both = Tree::And(vec![Tree::Atom(b.power), Tree::Atom(second)]);
    let series = b.m.supplies.push(supply("SER", Some(both)));
    let lost = |sit: Sit| sit.run(&b.m).lost;
    assert!(lost(sit().yes(FactChoice::Lost(b.power))).is_empty(), "lost needs a fault");
    assert!(lost(sit().faulty(Source::Supply(b.power))).is_empty(), "a fault need not show");
    let one = sit().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
    assert_eq!(lost(one.clone()), BTreeSet::from([b.power, series]));
    let two = one.faulty(Source::Cabinet(b.cabinet)).yes(FactChoice::Lost(second));
    assert_eq!(lost(two), BTreeSet::from([b.power, second, bus, series]));
}

#[test]
fn supplies_that_feed_each_other_are_refused_and_not_followed_forever() {
    let mut b = bench();
    let (one, two) = (b.m.supplies.next_id(), SupplyId::from_index(b.m.supplies.len() + 1));
    b.m.supplies.push(supply("A", Some(Tree::Atom(two))));
    b.m.supplies.push(supply("B", Some(Tree::Atom(one))));
    assert!(sit().refused(&b.m).contains("depends on itself"));
}

#[test]
fn causes_that_refer_to_each_other_are_refused_and_not_followed_forever() {
    let mut b = bench();
    let first = b.m.causes.next_id();
    let second = CauseId::from_index(first.index() + 1);
    b.m.causes.push(cause("C1", refers(second), b.main, &[]));
    b.m.causes.push(cause("C2", refers(first), b.main, &[]));
    assert!(sit().refused(&b.m).contains("depends on itself"));
}

#[test]
fn a_chain_without_end_is_refused_and_a_long_one_is_not() {
    let chain = |length: usize| {
        let mut b = bench();
        let sd = b.m.inputs.push(switch("SD", b.smoke, b.main));
        let start = b.m.causes.next_id().index();
        // The chain is asked from its far end.
        for k in 0..length {
            let next = CauseId::from_index(start + k + 1);
            let when = if k + 1 == length { asserted(sd) } else { refers(next) };
            b.m.causes.push(cause(&format!("C{k}"), Tree::And(vec![when]), b.main, &[]));
        }
        (b, CauseId::from_index(start))
    };
    let (b, far) = chain(140);
    assert!(sit().yes(FactChoice::Condition(b.smoke)).run(&b.m).causes[&far]);
    let (b, _) = chain(100_000);
    assert!(sit().refused(&b.m).contains("chain"));
}
