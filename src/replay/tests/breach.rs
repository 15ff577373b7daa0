//! Section 6: what breaks a claim.

use super::*;

/// A sensor that trips a valve shut at 40, against heat from 60; a second onset case is smoke in service.
struct Trip {
    b: Bench,
    h: HazardId,
    v: ActuatorId,
    c: CauseId,
    t: InputId,
}

fn trip() -> Trip {
    let mut b = bench();
    let actuator = valve(&mut b.m, "V", &[b.main], Tree::And);
    let v = b.m.actuators.push(actuator);
    let t = b.m.inputs.push(sensor("TT", b.temperature, b.main));
    let e = b.m.effects.push(effect("E", &[(v, SHUT)]));
    let c = b.m.causes.push(cause("C", at_least(t, 40), b.main, &[e]));
    let onset = vec![
        vec![(hot(b.temperature, 60), true)],
        vec![(PlantAtom::Condition(b.smoke), true), (PlantAtom::Mode(b.run), false)],
    ];
    let exists_in = vec![b.run, b.service];
    let h = b.m.hazards.push(Hazard { exists_in, ..hazard("H", b.group, onset, actuator_at(v, SHUT)) });
    Trip { b, h, v, c, t }
}

impl Trip {
    fn breaks(&self, breach: Breach, sit: &Sit) -> bool {
        sit.run_under(&self.b.m, &Claim { breach, ..sit.own_claim() }).breaks
    }
    fn not_met(&self, onset: Option<usize>) -> Breach {
        Breach::NotMet { hazard: self.h, onset }
    }
    /// The process keeps the valve open where nothing demands it shut.
    fn open(&self) -> Sit {
        sit().yes(FactChoice::Gives(self.b.m.drivers.ids().next().unwrap()))
    }
}

#[test]
fn a_hazard_is_not_met_where_it_is_present_and_the_safe_state_is_not_reached() {
    let x = trip();
    let hot = x.open().is(x.b.temperature, 60);
    assert!(!x.breaks(x.not_met(None), &hot), "the trip acts");
    let stuck = hot.clone().faulty(Source::Input(x.t)).yes(FactChoice::Deviates(x.t, x.b.main));
    assert!(x.breaks(x.not_met(None), &stuck), "the sensor shows 0");
    assert!(x.breaks(x.not_met(Some(0)), &stuck));
    assert!(!x.breaks(x.not_met(Some(1)), &stuck), "that onset case does not hold");
    assert!(!x.breaks(x.not_met(None), &x.open().is(x.b.temperature, 30)), "no hazard");
}

#[test]
fn a_negated_literal_of_an_onset_case_holds_where_its_atom_does_not() {
    let x = trip();
    let smoke = x.open().yes(FactChoice::Condition(x.b.smoke));
    let service = smoke.clone().mode(ModeChoice::Holds(x.b.group), x.b.service);
    assert!(x.breaks(x.not_met(None), &service));
    assert_eq!(service.run(&x.b.m).onset[&x.h], [false, true]);
    assert!(!x.breaks(x.not_met(None), &smoke));
    assert!(x.breaks(Breach::Exists { hazard: x.h, onset: 1 }, &service));
    assert!(!x.breaks(Breach::Exists { hazard: x.h, onset: 0 }, &service));
}

#[test]
fn an_onset_case_that_the_hazard_does_not_have_is_refused() {
    let x = trip();
    assert!(sit().refused_under(&x.b.m, &claim(Breach::Exists { hazard: x.h, onset: 2 })).contains('H'));
}

#[test]
fn a_cause_fires_for_a_hazard_only_while_it_is_present() {
    let mut x = trip();
    let at = |value| sit().is(x.b.temperature, value);
    let (hot, warm, cold) = (at(60), at(50), at(39));
    x.b.m.hazards.get_mut(x.h).unwrap().exists_in = Vec::new();
    assert!(!x.breaks(Breach::FiresFor(x.c, x.h), &hot), "the hazard exists in no mode");
    let group = x.b.m.hazards[x.h].group;
    let modes = x.b.m.groups[group].modes.clone();
    x.b.m.hazards.get_mut(x.h).unwrap().exists_in = modes;
    assert!(x.breaks(Breach::FiresFor(x.c, x.h), &hot));
    assert!(!x.breaks(Breach::FiresFor(x.c, x.h), &warm));
    assert!(x.breaks(Breach::Fires(x.c), &warm));
    assert!(!x.breaks(Breach::Fires(x.c), &cold));
}

#[test]
fn commands_are_opposed_unless_a_winner_is_declared() {
    for winner in [None, Some(SHUT)] {
        let mut b = bench();
        let actuator = valve(&mut b.m, "V", &[b.main], Tree::And);
        let v = b.m.actuators.push(Actuator { winner, ..actuator });
        let t = b.m.inputs.push(sensor("TT", b.temperature, b.main));
        let sd = b.m.inputs.push(switch("SD", b.smoke, b.main));
        for (when, position) in [(at_least(t, 40), SHUT), (asserted(sd), OPEN)] {
            let e = b.m.effects.push(effect("E", &[(v, position)]));
            b.m.causes.push(cause("C", when, b.main, &[e]));
        }
        let opposed = |sit: Sit| sit.run_under(&b.m, &claim(Breach::Opposed(v))).breaks;
        let hot = || sit().is(b.temperature, 50);
        assert!(!opposed(hot()));
        assert!(!opposed(sit().yes(FactChoice::Condition(b.smoke))));
        assert_eq!(opposed(hot().yes(FactChoice::Condition(b.smoke))), winner.is_none());
    }
}

#[test]
fn an_excluded_combination_is_read_from_positions_and_an_invariant_from_demands() {
    let mut x = trip();
    let text = String::new();
    let exclusion = x.b.m.exclusions.push(Exclusion {
        name: name("X"),
        never: actuator_at(x.v, SHUT),
        text: text.clone(),
        fault_tolerance: 0,
    });
    let invariant = x.b.m.invariants.push(Invariant {
        name: name("INV"),
        whenever: actuator_at(x.v, SHUT),
        then: actuator_at(x.v, OPEN),
        text,
        fault_tolerance: 0,
    });
    let hot = x.open().is(x.b.temperature, 40);
    let cold = sit();
    assert!(x.breaks(Breach::Occurs(exclusion), &hot) && x.breaks(Breach::Broken(invariant), &hot));
    // Shut by the process: a position, but no demand.
    assert!(x.breaks(Breach::Occurs(exclusion), &cold) && !x.breaks(Breach::Broken(invariant), &cold));
    assert!(!x.breaks(Breach::Occurs(exclusion), &x.open()));
    let open = Exclusion {
        name: name("X2"),
        never: Tree::And(vec![actuator_at(x.v, SHUT), actuator_at(x.v, OPEN)]),
        text: String::new(),
        fault_tolerance: 0,
    };
    let never_both = x.b.m.exclusions.push(open);
    assert!(!x.breaks(Breach::Occurs(never_both), &hot));
}

fn release(mechanical: bool, place: ReleasePlace, aids: &[ReleaseAid]) -> Option<Release> {
    let aids = aids.iter().copied().collect();
    Some(Release { name: name("REL"), place, mechanical, aids, trips: Vec::new() })
}

fn door(held_by: Option<AtPosition>, escape_release: Option<Release>) -> Door {
    Door { name: name("D"), held_by, position_sensors: Vec::new(), escape_release, emergency_release: None }
}

#[test]
fn somebody_is_locked_in_where_every_door_is_held_and_none_has_a_release_that_counts() {
    let mut x = trip();
    let held = Some(AtPosition { device: Device::Actuator(x.v), position: SHUT });
    let inside = ReleasePlace::Inside;
    let people_in = || BTreeMap::from([(x.b.group, BTreeSet::from([x.b.service]))]);
    let service = sit().mode(ModeChoice::Holds(x.b.group), x.b.service);
    let unlocked = x.open().mode(ModeChoice::Holds(x.b.group), x.b.service);
    let cases = [
        (vec![door(held, None)], true),
        (vec![door(None, None)], false),
        (vec![door(held, None), door(None, None)], false),
        (vec![door(held, release(true, inside, &[]))], false),
        (vec![door(held, release(false, inside, &[]))], true),
        (vec![door(held, release(true, ReleasePlace::Outside, &[]))], true),
        (vec![door(held, release(true, inside, &[ReleaseAid::Key]))], true),
    ];
    for (doors, locked) in cases {
        let space = Space {
            name: name("HALL"),
            people_in: people_in(),
            doors,
            hazards_behind_doors: Vec::new(),
            leaving_takes: None,
        };
        let space = x.b.m.spaces.push(space);
        assert_eq!(x.breaks(Breach::LockedIn(space), &service), locked);
        assert!(!x.breaks(Breach::LockedIn(space), &unlocked), "the lock is not at the position that holds");
        assert!(!x.breaks(Breach::LockedIn(space), &sit()), "nobody may be inside");
    }
}
