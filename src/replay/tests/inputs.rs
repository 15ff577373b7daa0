//! Section 3: what a solver sees of an input, over wires and links, and the mode it knows.

use super::*;

/// What `to` sees of `i`.
fn seen(m: &Model, sit: Sit, i: InputId, to: SolverId) -> Seen {
    sit.run(m).seen[&(i, to)].clone()
}

#[test]
fn a_healthy_sensor_shows_the_value_and_its_error_clamped_to_its_range() {
    let mut b = bench();
    let t = b.m.inputs.push(sensor("TT", b.temperature, b.main));
    let shown = |value, error| {
        seen(&b.m, sit().is(b.temperature, value).number(NumberChoice::Error(t), error), t, b.main)
    };
    assert_eq!(shown(40, 2), shows(42));
    assert_eq!(shown(40, -2), shows(38));
    assert_eq!(shown(99, 2), shows(100));
    assert_eq!(shown(1, -2), shows(0));
    // Far beyond the instrument: a valid reading at the end of the range, not a bad one.
    assert_eq!(shown(200, 0), shows(100));
}

#[test]
fn a_faulty_sensor_may_show_anything_bad_or_the_truth() {
    let mut b = bench();
    let t = b.m.inputs.push(sensor("TT", b.temperature, b.main));
    let faulty =
        || sit().is(b.temperature, 40).faulty(Source::Input(t)).number(NumberChoice::Reading(t, b.main), 7);
    assert_eq!(seen(&b.m, faulty(), t, b.main), shows(40));
    let deviates = || faulty().yes(FactChoice::Deviates(t, b.main));
    assert_eq!(seen(&b.m, deviates(), t, b.main), shows(7));
    assert_eq!(seen(&b.m, deviates().yes(FactChoice::Bad(t, b.main)), t, b.main), Seen::Bad);
    // Without a fault the choice has no effect.
    let healthy = sit().is(b.temperature, 40).yes(FactChoice::Deviates(t, b.main));
    assert_eq!(seen(&b.m, healthy, t, b.main), shows(40));
}

#[test]
fn a_sensor_fails_only_in_its_declared_directions() {
    let mut b = bench();
    let source = b.m.shared.push(shared("MAKE", SharedKind::Type));
    let t = b.m.inputs.push(Input {
        fails: Some(BTreeSet::from([InputFailure::Low])),
        parents: parents(Some(b.cabinet), &[source]),
        ..sensor("TT", b.temperature, b.main)
    });
    let by = |fault, reading| {
        let sit = sit().is(b.temperature, 40).faulty(fault).yes(FactChoice::Deviates(t, b.main));
        sit.number(NumberChoice::Reading(t, b.main), reading)
    };
    for own in [Source::Input(t), Source::Shared(source)] {
        assert_eq!(seen(&b.m, by(own, 3), t, b.main), shows(3));
        assert_eq!(seen(&b.m, by(own, 40), t, b.main), shows(40));
        assert!(by(own, 41).refused(&b.m).contains("TT"));
        by(own, 3).yes(FactChoice::Bad(t, b.main)).refused(&b.m);
    }
    // In a cabinet that misbehaves it may do anything.
    assert_eq!(seen(&b.m, by(Source::Cabinet(b.cabinet), 41), t, b.main), shows(41));
}

#[test]
fn a_switch_fails_only_in_its_declared_directions() {
    let mut b = bench();
    let directions = |only| Some(BTreeSet::from([only]));
    let c =
        b.m.inputs.push(Input { fails: directions(InputFailure::Clear), ..switch("S1", b.smoke, b.main) });
    let d =
        b.m.inputs.push(Input { fails: directions(InputFailure::Detected), ..switch("S2", b.smoke, b.main) });
    let bad =
        b.m.inputs.push(Input { fails: directions(InputFailure::Bad), ..switch("S3", b.smoke, b.main) });
    let smoke = || sit().yes(FactChoice::Condition(b.smoke));
    let deviates = |sit: Sit, i| sit.faulty(Source::Input(i)).yes(FactChoice::Deviates(i, b.main));
    assert_eq!(seen(&b.m, deviates(smoke(), c), c, b.main), tells(false));
    deviates(sit().yes(FactChoice::Asserted(c, b.main)), c).refused(&b.m);
    assert_eq!(seen(&b.m, deviates(sit().yes(FactChoice::Asserted(d, b.main)), d), d, b.main), tells(true));
    deviates(smoke(), d).refused(&b.m);
    assert_eq!(seen(&b.m, deviates(sit().yes(FactChoice::Bad(bad, b.main)), bad), bad, b.main), Seen::Bad);
    deviates(smoke(), bad).refused(&b.m);
}

#[test]
fn a_switch_may_detect_the_absence() {
    let mut b = bench();
    let absent = Observes::Condition { condition: b.smoke, negated: true };
    let i = b.m.inputs.push(input("S1", absent, b.main));
    assert_eq!(seen(&b.m, sit(), i, b.main), tells(true));
    assert_eq!(seen(&b.m, sit().yes(FactChoice::Condition(b.smoke)), i, b.main), tells(false));
}

#[test]
fn what_a_signal_goes_through_can_show_anything_whatever_the_sensor_can() {
    let mut b = bench();
    let barrier = b.m.conditioners.push(Conditioner {
        name: name("BAR"),
        supply: Some(b.power),
        parents: Parents::default(),
    });
    let t = b.m.inputs.push(Input {
        readers: through(barrier, b.main),
        fails: Some(BTreeSet::from([InputFailure::Low])),
        on_loss: Lost::High,
        ..sensor("TT", b.temperature, b.main)
    });
    let fault = sit().faulty(Source::Conditioner(barrier)).yes(FactChoice::Deviates(t, b.main));
    assert_eq!(seen(&b.m, fault.clone().number(NumberChoice::Reading(t, b.main), 90), t, b.main), shows(90));
    assert_eq!(seen(&b.m, fault.yes(FactChoice::Bad(t, b.main)), t, b.main), Seen::Bad);
    let lost = sit().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
    assert_eq!(seen(&b.m, lost, t, b.main), shows(100));
}

#[test]
fn a_lost_supply_or_open_line_shows_the_declared_reaction() {
    let reactions = [
        (Lost::Low, shows(0), None),
        (Lost::High, shows(100), None),
        (Lost::Asserted, tells(true), Some(())),
        (Lost::Cleared, tells(false), Some(())),
        (Lost::Bad, Seen::Bad, None),
        (Lost::Bad, Seen::Bad, Some(())),
        (Lost::Holds, shows(33), None),
        (Lost::Holds, tells(true), Some(())),
    ];
    for (on_loss, expected, is_switch) in reactions {
        let mut b = bench();
        let kind = match is_switch {
            Some(()) => switch("I", b.smoke, b.main),
            None => sensor("I", b.temperature, b.main),
        };
        let readers = over_route(b.route, b.main);
        let i = b.m.inputs.push(Input { on_loss, supply: Some(b.power), readers, ..kind });
        let mut free = sit().is(b.temperature, 50).yes(FactChoice::Asserted(i, b.main));
        if is_switch.is_none() {
            free = free.number(NumberChoice::Reading(i, b.main), 33);
        }
        let lost = free.clone().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
        assert_eq!(seen(&b.m, lost, i, b.main), expected, "{on_loss:?}");
        let route = || free.clone().faulty(Source::Route(b.route));
        assert_eq!(
            seen(&b.m, route().yes(FactChoice::LineOpen(i, b.main)), i, b.main),
            expected,
            "{on_loss:?}"
        );
        let whole = if is_switch.is_some() { tells(false) } else { shows(50) };
        assert_eq!(seen(&b.m, route(), i, b.main), whole);
    }
}

#[test]
fn only_a_plain_line_is_held() {
    for (line, held) in [(LineKind::Plain, true), (LineKind::Monitored, false), (LineKind::Dynamic, false)] {
        let mut b = bench();
        let i = b.m.inputs.push(Input {
            line,
            readers: over_route(b.route, b.main),
            ..switch("S", b.smoke, b.main)
        });
        let sit = sit().yes(FactChoice::Condition(b.smoke)).yes(FactChoice::LineHeld(i, b.main));
        assert_eq!(seen(&b.m, sit.clone(), i, b.main), tells(true), "no fault, no held line");
        assert_eq!(seen(&b.m, sit.faulty(Source::Route(b.route)), i, b.main), tells(!held), "{line:?}");
    }
}

#[test]
fn the_stronger_rule_wins() {
    let mut b = bench();
    let t = b.m.inputs.push(Input {
        on_loss: Lost::Low,
        supply: Some(b.power),
        readers: over_route(b.route, b.main),
        ..sensor("TT", b.temperature, b.main)
    });
    let reading = sit().is(b.temperature, 50).number(NumberChoice::Reading(t, b.main), 77);
    let lost = || reading.clone().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
    let held = lost().faulty(Source::Route(b.route)).yes(FactChoice::LineHeld(t, b.main));
    assert_eq!(seen(&b.m, held.clone(), t, b.main), shows(77), "held before lost supply");
    let open = held.yes(FactChoice::LineOpen(t, b.main));
    assert_eq!(seen(&b.m, open.clone(), t, b.main), shows(0), "open before held");
    let own = open.faulty(Source::Input(t)).yes(FactChoice::Deviates(t, b.main));
    assert_eq!(seen(&b.m, own, t, b.main), shows(77), "a fault of its own before its line");
}

/// A loop of two contacts, the second on the absence of smoke.
fn with_loop(b: &mut Bench, line: LineKind) -> (InputId, [ContactId; 2]) {
    let of = b.m.inputs.next_id();
    let dry = b.m.conditions.push(Condition { name: name("DRY"), normal: true });
    let contact = |tag: &str, condition, negated| Contact {
        name: name(tag),
        of,
        condition,
        negated,
        parents: Parents::default(),
    };
    let first = b.m.contacts.push(contact("K1", b.smoke, false));
    let second = b.m.contacts.push(contact("K2", dry, true));
    let detection = LoopDetection::None;
    let observes = Observes::Loop { contacts: vec![first, second], detection, fault_held: false };
    b.m.inputs.push(Input { line, readers: over_route(b.route, b.main), ..input("LOOP", observes, b.main) });
    (of, [first, second])
}

#[test]
fn a_loop_is_open_if_one_contact_is() {
    let mut b = bench();
    let (i, [k1, k2]) = with_loop(&mut b, LineKind::Plain);
    let dry = FactChoice::Condition(b.m.contacts[k2].condition);
    let smoke = FactChoice::Condition(b.smoke);
    assert_eq!(seen(&b.m, sit().yes(dry), i, b.main), tells(false));
    assert_eq!(seen(&b.m, sit(), i, b.main), tells(true));
    assert_eq!(seen(&b.m, sit().yes(dry).yes(smoke), i, b.main), tells(true));
    let stuck = sit().yes(dry).yes(smoke).faulty(Source::Contact(k1));
    assert_eq!(seen(&b.m, stuck.clone().yes(FactChoice::ContactClosed(k1)), i, b.main), tells(false));
    assert_eq!(seen(&b.m, stuck, i, b.main), tells(true));
}

#[test]
fn the_line_of_a_loop_opens_or_is_bridged_and_a_monitored_one_only_opens() {
    for (line, bridged) in [(LineKind::Plain, true), (LineKind::Monitored, false)] {
        for by_route in [true, false] {
            let mut b = bench();
            let (i, [_, k2]) = with_loop(&mut b, line);
            let dry = FactChoice::Condition(b.m.contacts[k2].condition);
            let source = if by_route { Source::Route(b.route) } else { Source::LoopLine(i) };
            let fault = || sit().faulty(source);
            assert_eq!(seen(&b.m, fault().yes(dry), i, b.main), tells(false), "a fault need not show");
            assert_eq!(
                seen(&b.m, fault().yes(dry).yes(FactChoice::LineOpen(i, b.main)), i, b.main),
                tells(true)
            );
            // A contact is open; a held line that is not asserted hides it.
            assert_eq!(seen(&b.m, fault().yes(FactChoice::LineHeld(i, b.main)), i, b.main), tells(!bridged));
        }
    }
}

#[test]
fn a_loop_does_not_deviate_by_itself() {
    let mut b = bench();
    let (i, _) = with_loop(&mut b, LineKind::Plain);
    let sit = sit().faulty(Source::Input(i)).yes(FactChoice::Deviates(i, b.main));
    assert_eq!(seen(&b.m, sit, i, b.main), tells(true));
}

#[test]
fn a_stop_contact_follows_its_device_and_is_never_bad_by_itself() {
    let mut b = bench();
    let device = b.m.stops.next_id();
    let i = b.m.inputs.push(input("ES.1", Observes::Stop(device), b.main));
    b.m.stops.push(Stop {
        name: name("ES"),
        contacts: vec![i],
        brings: Vec::new(),
        leaves_alone: Vec::new(),
        category: 0,
        fault_tolerance: 0,
    });
    let pressed = || sit().yes(FactChoice::Pressed(device));
    assert_eq!(seen(&b.m, sit(), i, b.main), tells(false));
    assert_eq!(seen(&b.m, pressed(), i, b.main), tells(true));
    let welded = pressed().faulty(Source::Input(i)).yes(FactChoice::Deviates(i, b.main));
    assert_eq!(seen(&b.m, welded.clone(), i, b.main), tells(false));
    assert!(welded.yes(FactChoice::Bad(i, b.main)).refused(&b.m).contains("ES.1"));
}

/// A sensor on `fed` that `main` knows over a link.
fn with_link(b: &mut Bench, l: Link) -> (InputId, LinkId) {
    let t = b.m.inputs.push(Input { on_bad: Some(OnBad::Trips), ..sensor("TT", b.temperature, b.fed) });
    let l = b.m.links.push(l);
    b.m.access.insert((Signal::Input(t), b.main), Access::Over(l, b.fed));
    (t, l)
}

#[test]
fn a_link_passes_on_what_its_sender_sees() {
    let mut b = bench();
    let connects = [b.main, b.fed];
    let (t, l) = with_link(&mut b, link("L", &connects));
    assert_eq!(seen(&b.m, sit().is(b.temperature, 30), t, b.main), shows(30));
    let bad =
        sit().faulty(Source::Input(t)).yes(FactChoice::Deviates(t, b.fed)).yes(FactChoice::Bad(t, b.fed));
    assert_eq!(seen(&b.m, bad, t, b.main), Seen::Bad);
    assert!(sit().run(&b.m).lost_links.is_empty());
    let down = sit().faulty(Source::Link(l)).yes(FactChoice::LinkDown(l, b.main));
    assert_eq!(down.run(&b.m).lost_links, BTreeSet::from([(l, b.main)]));
}

#[test]
fn a_link_that_misbehaves_falsifies_unless_it_is_supervised() {
    for supervised in [false, true] {
        let mut b = bench();
        let (route, connects) = (b.route, [b.main, b.fed]);
        let (t, l) = with_link(&mut b, Link { supervised, routes: vec![route], ..link("L", &connects) });
        for (fault, anything) in [
            (Source::Link(l), !supervised),
            (Source::Route(b.route), !supervised),
            (Source::Solver(b.fed), true),
        ] {
            let reading = NumberChoice::Reading(t, b.main);
            let fault = sit().faulty(fault).yes(FactChoice::Deviates(t, b.main)).number(reading, 5);
            let expected = if anything { shows(5) } else { Seen::MissingNoTrip };
            assert_eq!(seen(&b.m, fault.clone(), t, b.main), expected);
            let expected = if anything { Seen::Bad } else { Seen::MissingNoTrip };
            assert_eq!(seen(&b.m, fault.clone().yes(FactChoice::Bad(t, b.main)), t, b.main), expected);
            assert_eq!(seen(&b.m, fault.yes(FactChoice::Silent(t, b.main)), t, b.main), Seen::MissingNoTrip);
        }
    }
}

#[test]
fn nothing_arrives_from_a_dead_sender_or_over_a_link_without_supply() {
    for (on_loss, expected) in [
        (LinkLoss::Trips, Seen::MissingTrips),
        (LinkLoss::NoTrip, Seen::MissingNoTrip),
        (LinkLoss::Bad, Seen::Bad),
        (LinkLoss::Holds, shows(5)),
    ] {
        let mut b = bench();
        let own = b.m.supplies.push(supply("L24", None));
        let connects = [b.main, b.fed];
        let (t, l) = with_link(&mut b, Link { on_loss, supply: Some(own), ..link("L", &connects) });
        for lost in [b.power, own] {
            let sit = sit().faulty(Source::Supply(lost)).yes(FactChoice::Lost(lost));
            let sit = sit.number(NumberChoice::Reading(t, b.main), 5).is(b.temperature, 50);
            assert_eq!(seen(&b.m, sit.clone(), t, b.main), expected);
            // The dead sender does not see itself as gone.
            let sees = BTreeSet::from([(l, b.main), (l, b.fed)]);
            let sees = if lost == own { sees } else { BTreeSet::from([(l, b.main)]) };
            assert_eq!(sit.run(&b.m).lost_links, sees);
        }
    }
}

#[test]
fn a_mode_input_shows_the_mode_unless_something_on_its_way_is_wrong() {
    let mut b = bench();
    let isolator = b.m.conditioners.push(Conditioner {
        name: name("ISO"),
        supply: Some(b.power),
        parents: Parents::default(),
    });
    let key = b.m.mode_inputs.push(ModeInput {
        name: name("KEY"),
        group: b.group,
        tells: vec![b.main],
        routes: vec![b.route],
        through: vec![isolator],
        supply: None,
        parents: Parents::default(),
    });
    b.m.mode_input_of.insert((b.group, b.main), key);
    let armed = || BTreeMap::from([(b.group, BTreeSet::from([b.run]))]);
    let told = b.m.causes.push(Cause { armed: armed(), ..cause("C1", Tree::And(Vec::new()), b.main, &[]) });
    let exact = b.m.causes.push(Cause { armed: armed(), ..cause("C2", Tree::And(Vec::new()), b.fed, &[]) });
    let shown = Tree::Atom(InputAtom::Shows(key, b.service));
    let by_key = b.m.causes.push(cause("C3", shown, b.main, &[]));
    let wrong = || sit().mode(ModeChoice::Shown(key, b.main), b.service);
    let healthy = wrong().run(&b.m);
    assert!(healthy.armed[&told] && healthy.armed[&exact] && !healthy.conditions[&by_key]);
    let lost = wrong().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
    let faults = [Source::ModeInput(key), Source::Route(b.route), Source::Conditioner(isolator)];
    for sit in faults.map(|fault| wrong().faulty(fault)).into_iter().chain([lost]) {
        let replay = sit.run(&b.m);
        assert_eq!(replay.shown_modes[&(key, b.main)], b.service);
        assert!(!replay.armed[&told] && replay.armed[&exact] && replay.causes[&by_key]);
    }
}
