//! What the small model becomes.

use super::cell;
use crate::exact::Exact;
use crate::model::*;

fn n(text: &str) -> Exact {
    Exact::parse_decimal(text).unwrap()
}

fn element(model: &Model, tag: &str) -> Element {
    model.element_by_tag(tag).unwrap_or_else(|| panic!("{tag}"))
}

fn input(model: &Model, tag: &str) -> InputId {
    match element(model, tag) {
        Element::Input(id) => id,
        other => panic!("{other:?}"),
    }
}

fn cause<'m>(model: &'m Model, tag: &str) -> (CauseId, &'m Cause) {
    model.causes.iter().find(|(_, cause)| cause.name.tag == tag).unwrap()
}

#[test]
fn every_tag_is_found_again_with_its_kind() {
    let model = cell();
    for (tag, kind) in [
        ("GD-1", "sensor"),
        ("FL-1", "switch"),
        ("HL-1", "interlock loop"),
        ("ES-1A", "contact of an emergency stop device"),
        ("SL-1", "logic solver"),
        ("LIMITS", "parameter source"),
        ("GT-100", "type"),
        ("H-HEAT", "hazard"),
        ("RV-1", "passive device"),
    ] {
        assert_eq!(model.kind_word(element(&model, tag)), kind);
        assert_eq!(model.tag(element(&model, tag)), tag);
    }
    for element in model.elements() {
        assert_eq!(model.element_by_tag(model.tag(element)), Some(element));
    }
}

#[test]
fn numbers_are_in_base_units() {
    let model = cell();
    let Observes::Quantity { range, accuracy, .. } = &model.inputs[input(&model, "TT-1")].observes else {
        panic!()
    };
    // 0 degC is 273.15 K.
    assert_eq!((&range.low, &range.high, accuracy), (&n("273.15"), &n("423.15"), &n("2")));
    let (_, surface) = model.quantities.iter().nth(1).unwrap();
    assert_eq!(surface.rises, Some(n("0.1")));
    assert_eq!(surface.resolution, n("0.22"));
    let (_, temp) = cause(&model, "C-TEMP");
    let InputAtom::Compare { set_point, number, .. } = temp.when.atoms()[0] else { panic!() };
    assert_eq!((set_point, *number), (&n("358.15"), 0));
    let (_, vote) = cause(&model, "C-VOTE");
    let InputAtom::Compare { number, .. } = vote.when.atoms()[1] else { panic!() };
    assert_eq!(*number, 1);
}

#[test]
fn sums_of_temperatures_come_out_exactly() {
    let model = cell();
    let (_, coupling) = model.couplings.iter().next().unwrap();
    let Tree::Atom(PlantAtom::Linear { sum, relation, bound }) = &coupling.holds else { panic!() };
    // surface >= core - 20 K is surface - core >= -20 K.
    assert_eq!(sum.iter().map(|(c, _)| c.clone()).collect::<Vec<_>>(), [n("1"), n("-1")]);
    assert_eq!((relation, bound), (&Relation::AtLeast, &n("-20")));
}

#[test]
fn a_solver_knows_what_is_wired_to_it_and_what_links_bring() {
    let model = cell();
    let solver = |tag| match element(&model, tag) {
        Element::Solver(id) => id,
        other => panic!("{other:?}"),
    };
    let (sl, rl) = (solver("SL-1"), solver("RL-1"));
    let (temp, _) = cause(&model, "C-TEMP");
    let link = model.links.ids().next().unwrap();
    assert_eq!(model.access.get(&(Signal::Input(input(&model, "TT-1")), sl)), Some(&Access::Direct));
    assert_eq!(model.access.get(&(Signal::Cause(temp), sl)), Some(&Access::Direct));
    assert_eq!(model.access.get(&(Signal::Cause(temp), rl)), Some(&Access::Over(link, sl)));
    assert_eq!(model.access.get(&(Signal::Input(input(&model, "TT-1")), rl)), None);
    let (own, _) = cause(&model, "C-GAS-1");
    assert_eq!(model.access.get(&(Signal::Cause(own), rl)), None);
    let group = model.groups.ids().next().unwrap();
    assert_eq!(model.mode_input_of.get(&(group, sl)), model.mode_inputs.ids().next().as_ref());
    assert_eq!(model.mode_input_of.get(&(group, rl)), None);
}

#[test]
fn paths_differ_where_the_wiring_says_so() {
    let model = cell();
    let gd3 = &model.inputs[input(&model, "GD-3")];
    let routes: Vec<usize> = gd3.readers.values().map(|path| path.routes.len()).collect();
    assert_eq!(routes, [0, 1]);
}

#[test]
fn what_the_wiring_to_one_solver_does_not_name_is_as_for_the_others() {
    let ways = |wiring: &str| {
        let text = super::CELL.replacen(
            "wired_to: [SL-1, RL-1], wiring: { RL-1: { route: [CR-2] } }",
            &format!("wired_to: [SL-1, RL-1], route: [CR-1], through: [ISO-1], wiring: {{ RL-1: {wiring} }}"),
            1,
        );
        let model = crate::load::load(&crate::source::Source::new("cell.yaml", text)).unwrap();
        let Element::Solver(rl) = element(&model, "RL-1") else { panic!() };
        let path = model.inputs[input(&model, "GD-3")].readers[&rl].clone();
        let routes = path.routes.iter().map(|id| model.tag(Element::Route(*id)).to_string());
        let through = path.through.iter().map(|id| model.tag(Element::Conditioner(*id)).to_string());
        routes.chain(through).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(ways("{ route: [CR-2] }"), "CR-2 ISO-1");
    assert_eq!(ways("{ through: [] }"), "CR-1");
    assert_eq!(ways("{ route: [], through: [] }"), "");
    assert_eq!(ways("{}"), "CR-1 ISO-1");
}

#[test]
fn hazards_have_their_onset_cases_and_requirements() {
    let model = cell();
    let (_, hazard) = model.hazards.iter().next().unwrap();
    assert_eq!(hazard.onset.len(), 2);
    assert_eq!(hazard.required, Required { disjoint_paths: 2, fault_tolerance: 2, under_overrides: 0 });
    let tags: Vec<String> = hazard.initiators[0].members.iter().map(|s| model.source_tag(*s)).collect();
    assert_eq!(tags, ["GD-1", "line of HL-1", "ES-1A", "ES-1B"]);
    assert_eq!(hazard.forbids.iter().map(|at| model.at_text(*at)).collect::<Vec<_>>(), ["FAN = stopped"]);
    assert_eq!(hazard.within, Time::Known(n("5")));
}

#[test]
fn the_universe_lacks_what_is_excluded_or_left_out() {
    let model = cell();
    let tags = |sources: Vec<Source>| sources.into_iter().map(|s| model.source_tag(s)).collect::<Vec<_>>();
    let all = tags(model.sources());
    let left = tags(model.universe().into_iter().collect());
    assert_eq!(all.iter().filter(|tag| !left.contains(tag)).collect::<Vec<_>>(), ["CAB-2", "GT-100"]);
    assert!(left.contains(&"damage group bay of H-IGNITION".to_string()));
    let weight = |tag: &str| {
        model.sources().into_iter().find(|s| model.source_tag(*s) == tag).map(|s| model.weight(s)).unwrap()
    };
    assert_eq!(weight("SL-1"), 2);
    assert_eq!(weight("RL-1"), 1);
    assert_eq!(weight("damage group bay of H-IGNITION"), 0);
}

#[test]
fn an_excluded_direction_is_taken_out_of_the_failures() {
    use crate::syntax::kind::InputFailure;
    let model = cell();
    let fails = model.inputs[input(&model, "TT-1")].fails.clone().unwrap();
    assert_eq!(fails.into_iter().collect::<Vec<_>>(), [InputFailure::Low, InputFailure::Bad]);
}

#[test]
fn actuators_know_their_energy_wiring_and_winner() {
    let model = cell();
    let actuator = |tag: &str| model.actuators.iter().find(|(_, a)| a.name.tag == tag).unwrap().1;
    assert_eq!(actuator("FAN").without_energy, WithoutEnergy::Goes { off: 0, on: 2 });
    assert_eq!(actuator("FAN").rest, Some(2));
    assert_eq!(actuator("DL-1").without_energy, WithoutEnergy::Stays);
    assert_eq!(actuator("DL-1").wiring, None);
    assert!(matches!(&actuator("K3").wiring, Some(Tree::And(drivers)) if drivers.len() == 2));
    assert_eq!(actuator("K3").winner, Some(0));
    assert_eq!(model.drivers[actuator("K2").drivers[0]].relays.len(), 1);
}

#[test]
fn a_latched_cause_in_a_ring_is_read_from_before() {
    let text = super::CELL.replacen(
        "MS-1 = running, solver: SL-1, latched: false",
        "C-TEMP, solver: SL-1, latched: true",
        1,
    );
    let model = crate::load::load(&crate::source::Source::new("cell.yaml", text)).unwrap();
    let from_before = |tag: &str| {
        let atoms = cause(&model, tag).1.when.atoms();
        atoms.iter().filter(|a| matches!(a, InputAtom::Cause { from_before: true, .. })).count()
    };
    assert_eq!(from_before("C-TEMP"), 1);
    assert_eq!(from_before("C-LINK"), 0);
}

#[test]
fn a_signal_goes_over_the_shortest_chain_of_links() {
    let text = super::CELL
        .replacen("logic_solvers:\n", "  BUS-2: { connects: [RL-1, PN-1], carries: [TT-1] }\nlogic_solvers:\n  PN-1: {}\n", 1)
        .replacen("hazards:\n", "  C-PN: { when: TT-1 >= 90 degC, solver: PN-1, latched: false, purpose: alarm, demands: [] }\nhazards:\n", 1);
    let model = crate::load::load(&crate::source::Source::new("cell.yaml", text)).unwrap();
    let signal = Signal::Input(input(&model, "TT-1"));
    let way = |tag: &str| {
        let Element::Solver(id) = element(&model, tag) else { panic!() };
        match model.access.get(&(signal, id)) {
            Some(Access::Over(link, from)) => {
                format!("{} from {}", model.links[*link].name.tag, model.solvers[*from].name.tag)
            }
            other => format!("{other:?}"),
        }
    };
    assert_eq!(way("PN-1"), "BUS-2 from RL-1");
    assert_eq!(way("RL-1"), "BUS-1 from SL-1");
    assert_eq!(way("SL-1"), "Some(Direct)");
}

#[test]
fn a_suppression_release_keeps_its_amounts_exact() {
    let text = super::CELL
        .replacen(
            "demand: 120 L/min",
            "warning: 20 s, warned_by: [K1], coincidence: 2, hold_limit: unknown, demand: 120 L/min",
            1,
        )
        .replacen("{ FAN: 200 L/min }", "{ FAN: 12.5 m3/h }", 1);
    let source = crate::source::Source::new("cell.yaml", text);
    let model =
        crate::load::load(&source).unwrap_or_else(|problems| panic!("{}", super::shown(&source, &problems)));
    let (id, zone) = model.suppression.iter().next().unwrap();
    assert_eq!(model.tag(Element::Suppression(id)), "SUP-1");
    assert_eq!(model.causes[zone.released_by[0]].name.tag, "C-VOTE");
    assert_eq!(model.at_text(zone.discharges[0]), "FAN = full");
    assert_eq!((zone.coincidence, &zone.warning), (2, &Time::Known(Exact::int(20))));
    assert_eq!((&zone.hold, &zone.hold_limit), (&None, &Some(Time::Unknown)));
    let Some(Amount::Known(demand)) = &zone.demand else { panic!("no demand") };
    let [(Source::Actuator(fan), Amount::Known(capacity))] = zone.capacity.as_slice() else {
        panic!("no capacity")
    };
    assert_eq!(model.actuators[*fan].name.tag, "FAN");
    // 12.5 m3/h = 12500 L / 60 min = 208 1/3 L/min, exactly: 125/72 of 120 L/min.
    assert_eq!(capacity.value().checked_div(demand.value()), Exact::int(125).checked_div(&Exact::int(72)));
    assert_eq!((demand.to_string(), capacity.to_string()), ("120 L/min".into(), "12.5 m3/h".into()));
}

#[test]
fn a_comparison_written_the_other_way_round_says_the_same() {
    for (written, relation) in [
        ("TT-1 >= 85 degC", Relation::AtLeast),
        ("85 degC <= TT-1", Relation::AtLeast),
        ("85 degC > TT-1", Relation::Below),
        ("85 degC = TT-1", Relation::Equal),
    ] {
        let text = super::CELL.replace(
            "C-TEMP: { when: TT-1 >= 85 degC AND NOT BAD(TT-1) AND MS-1 = running",
            &format!("C-TEMP: {{ when: {written}"),
        );
        assert!(text.contains(written));
        let model = crate::load::load(&crate::source::Source::new("cell.yaml", text)).unwrap();
        let (_, temp) = cause(&model, "C-TEMP");
        let InputAtom::Compare { relation: read, set_point, .. } = temp.when.atoms()[0] else { panic!() };
        assert_eq!((*read, set_point), (relation, &n("358.15")), "{written}");
    }
}
