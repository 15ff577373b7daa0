//! Laws that hold between two models whatever they are: over random models, the engine is asked twice and must agree
//! with itself. Our own laws, from the definitions in docs/meaning.md; no published source.
//! `TRIPPROOF_LAWS=N` tries each law on N models instead of some dozen.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "laws/change.rs"]
mod change;
#[path = "oracle/generate.rs"]
mod generate;
#[path = "oracle/random.rs"]
mod random;
#[path = "laws/told.rs"]
mod told;
#[path = "laws/twin.rs"]
mod twin;

use std::collections::BTreeMap;

use tripproof::conclude::conclude;
use tripproof::outcome::Tolerance;
use tripproof::source::Source;

use change::{Changed, renamed};
use generate::draft::{Draft, Entry};
use told::{Told, decide};

/// Models on which each law is tried: those to which it applies.
const CASES: usize = 50;
/// Most models that are looked at for them.
const MOST: u64 = 6_000;

type Change = fn(&Draft) -> Option<Changed>;
/// What is wrong between a model and the changed one, whose tags were called otherwise before.
type Law<'l> = &'l dyn Fn(&Told, &Told, &[(String, String)]) -> Vec<String>;

fn cases() -> usize {
    std::env::var("TRIPPROOF_LAWS").ok().and_then(|text| text.parse().ok()).unwrap_or(CASES)
}

/// Other models than those of the oracle.
fn drafts() -> impl Iterator<Item = (u64, Draft)> {
    let drafts = (1_000_000..1_000_000 + MOST).map(|seed| (seed, generate::generate(seed)));
    drafts.inspect(|(_, model)| assert!(!model.options.is_empty())).map(|(seed, model)| (seed, model.draft))
}

/// Tries each law on as many models as it needs. A change that a model does not take is no case.
fn try_laws(laws: &[(&str, Change)], law: Law<'_>) {
    let mut tried: BTreeMap<&str, usize> = BTreeMap::new();
    for (seed, draft) in drafts() {
        let mut before: Option<Told> = None;
        for (name, change) in laws {
            if tried.get(name).copied().unwrap_or(0) >= cases() {
                continue;
            }
            let Some((changed, names)) = change(&draft) else { continue };
            let Ok(after) = decide(&changed.text()) else { continue };
            let before = before.get_or_insert_with(|| decide(&draft.text()).unwrap());
            let broken = law(before, &after, &names);
            assert!(broken.is_empty(), "{name}, seed {seed}: {broken:#?}\n{}\n{}", before.text, after.text);
            *tried.entry(name).or_default() += 1;
        }
        if laws.iter().all(|(name, _)| tried.get(name).copied().unwrap_or(0) >= cases()) {
            return;
        }
    }
    panic!("too few models to which a law applies: {tried:?}");
}

/// What is told of the first and otherwise of the second.
fn differences(before: &Told, after: &Told, names: &[(String, String)], both_ways: bool) -> Vec<String> {
    let (first, second) = (before.words(&|tag| tag.to_string()), after.words(&|tag| renamed(tag, names)));
    let mut differing: Vec<String> = first
        .iter()
        .filter(|(what, verdict)| second.get(*what) != Some(verdict))
        .map(|(what, verdict)| format!("{what}: {verdict}, then {:?}", second.get(what)))
        .collect();
    if both_ways {
        differing.extend(second.keys().filter(|what| !first.contains_key(*what)).cloned());
    }
    differing
}

#[test]
fn what_is_written_otherwise_changes_nothing() {
    let laws: &[(&str, Change)] = &[
        ("another order", change::reordered),
        ("other names", change::with_other_names),
        ("equal channels swapped", change::channels_swapped),
        ("another unit", change::in_another_unit),
        ("a coupling twice", change::coupling_twice),
        ("harm negated twice", change::harm_said_twice_negated),
    ];
    try_laws(laws, &|before, after, names| differences(before, after, names, true));
}

#[test]
fn what_is_added_beside_changes_nothing_else() {
    let laws: &[(&str, Change)] = &[
        ("elements that nothing needs", change::with_idle_elements),
        ("OR as 1oo2", change::or_as_a_vote),
        ("AND as 2oo2", change::and_as_a_vote),
    ];
    try_laws(laws, &|before, after, names| differences(before, after, names, false));
}

#[test]
fn what_leaves_fewer_situations_breaks_nothing() {
    let laws: &[(&str, Change)] = &[
        ("one coupling more", change::one_coupling_more),
        ("no override device", change::without_overrides),
        ("an exact sensor", change::exact_sensor),
        ("a sensor that fails one way", change::fails_one_way),
        ("an actuator that fails one way", change::stuck_one_way),
        ("a watched line", change::watched_line),
        ("a supervised link", change::supervised_link),
        ("a certified solver", change::certified_solver),
        ("a fault excluded", change::fault_excluded),
        ("no initiator", change::without_initiators),
        ("no damage", change::without_damage),
        ("hazards never together", change::never_together),
    ];
    try_laws(laws, &|before, after, _| after.worse_than(before));
}

/// Every budget of faults in the model is one greater.
fn more_faults(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    for field in ["fault_tolerance", "under_overrides", "disjoint_paths"] {
        let more = changed.policy.get(field).and_then(|value| value.parse::<u32>().ok()).unwrap_or(0) + 1;
        changed.policy.set(field, more.to_string());
    }
    for section in ["exclusions", "invariants", "stops"] {
        for entry in changed.entries_mut(section) {
            let more =
                entry.get("fault_tolerance").and_then(|value| value.parse::<u32>().ok()).unwrap_or(0) + 1;
            entry.set("fault_tolerance", more.to_string());
        }
    }
    Some((changed, Vec::new()))
}

#[test]
fn a_larger_fault_budget_never_protects() {
    let laws: &[(&str, Change)] = &[("more faults", more_faults)];
    // What holds with more faults holds with fewer.
    try_laws(laws, &|before, after, _| before.worse_than(after));
}

fn one_mode_more(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    changed.entries_mut("modes").first_mut()?.put("more", "{ people: never }");
    for hazard in changed.entries_mut("hazards") {
        let reasons = hazard.get("not_in").unwrap_or("{ }").trim_matches(['{', '}']).trim().to_string();
        let comma = if reasons.is_empty() { "" } else { ", " };
        hazard.set("not_in", format!("{{ {reasons}{comma}more: nothing moves }}"));
    }
    Some((changed, Vec::new()))
}

#[test]
fn a_new_mode_adds_only_its_own_results() {
    let laws: &[(&str, Change)] = &[("one mode more", one_mode_more)];
    try_laws(laws, &|before, after, _| {
        let (first, second) = (before.words(&|tag| tag.to_string()), after.words(&|tag| tag.to_string()));
        let broken = first.iter().filter(|(what, verdict)| {
            // A claim over all situations may be broken in the new mode; what is broken stays broken, and what can
            // happen still can.
            let about = |words: &[&str]| words.iter().any(|word| what.contains(word));
            let in_mode =
                what.starts_with("cut sets") || (about(&["mode"]) && about(&["reaches", "disjoint"]));
            match second.get(*what).map(String::as_str) {
                // Single marks are asked only where not all marks of a cause matter at once; now they may.
                None => !what.contains("only situation some"),
                Some(_) if !in_mode && *verdict == "proved" => false,
                Some(_) if !in_mode && *verdict == "not applicable" => false,
                Some(now) => {
                    now != *verdict && (in_mode || (*verdict, now) != (&"refuted".to_string(), "proved"))
                }
            }
        });
        broken.map(|(what, verdict)| format!("{what}: {verdict}, then {:?}", second.get(what))).collect()
    });
}

/// One more trip in a solver of its own, whose only demand is one more way to be safe.
fn one_trip_more(draft: &Draft) -> Option<Changed> {
    let mut changed = draft.clone();
    changed.add("logic_solvers", Entry::new("S9"));
    let sensor =
        Entry::new("X9").with("measures", "p").with("range", "0 .. 10 bar").with("accuracy", "0 bar");
    changed.add("sensors", sensor.with("wired_to", "[S9]"));
    let contactor = Entry::new("A9").with("positions", "[off, on]").with("without_energy", "off");
    changed.add("actuators", contactor.with("operated_by", "process").with("drivers", "[S9]"));
    changed.add("effects", Entry::new("TRIP-A9").with("set", "[A9 = off]"));
    let trip = Entry::new("C9").with("when", "X9 >= 1 bar").with("solver", "S9").with("latched", "false");
    changed.add("causes", trip.with("credited_for", "[H]").with("demands", "[TRIP-A9]"));
    let safe = changed.entries_mut("hazards").first_mut()?.get_mut("safe_state")?;
    *safe = format!("\"({}) OR A9 = off\"", safe.trim_matches('"'));
    Some((changed, Vec::new()))
}

#[test]
fn one_more_trip_that_nothing_opposes_never_makes_it_worse() {
    let laws: &[(&str, Change)] = &[("one trip more", one_trip_more)];
    try_laws(laws, &|before, after, _| after.worse_than(before));
}

/// Two actuators that need energy to trip, of the only hazard, on one supply or on two.
fn on_supplies(draft: &Draft, supplies: [&str; 2]) -> Option<Draft> {
    let mut changed = draft.clone();
    let wanted = draft.entries("hazards").first()?.get("safe_state")?.to_string();
    if draft.entries("hazards").len() > 1 {
        return None;
    }
    let energised = |entry: &&mut Entry| {
        let position = entry.get("with_energy").unwrap_or("stays").to_string();
        wanted.contains(&format!("{} = {position}", entry.tag))
    };
    let energised: Vec<&mut Entry> = changed.entries_mut("actuators").iter_mut().filter(energised).collect();
    if energised.len() < 2 {
        return None;
    }
    for (entry, supply) in energised.into_iter().zip(supplies) {
        entry.set("supply", supply);
    }
    for supply in std::collections::BTreeSet::from(supplies) {
        changed.add("supplies", Entry::new(supply));
    }
    Some(changed)
}

#[test]
fn splitting_a_supply_that_is_needed_to_trip_never_makes_it_worse() {
    let mut tried = 0;
    for (seed, draft) in drafts() {
        let together = on_supplies(&draft, ["U7", "U7"]);
        let (Some(together), Some(apart)) = (together, on_supplies(&draft, ["U7", "U8"])) else { continue };
        let (Ok(together), Ok(apart)) = (decide(&together.text()), decide(&apart.text())) else { continue };
        let (before, after) = (together.least("H"), apart.least("H"));
        assert_eq!(before.len(), after.len());
        for (before, after) in before.iter().zip(&after) {
            assert!(
                after.0 >= before.0 && after.1 >= before.1,
                "seed {seed}\n{}\n{}",
                together.text,
                apart.text
            );
        }
        tried += 1;
        if tried >= cases() {
            return;
        }
    }
    panic!("only {tried} models to which it applies");
}

#[test]
fn the_same_model_is_told_in_the_same_words_every_time() {
    // Several faults would do here, and which one is told must not depend on chance.
    let cell = include_str!("../models/drying-cell.yaml")
        .replacen("inputs: [GD-1, GD-2, GD-3]", "inputs: [TT-1, TS-2]", 1)
        .replacen("  fault_tolerance: 1\n", "  fault_tolerance: 1\n  under_overrides: 1\n", 1);
    let report = || {
        let told = decide(&cell).unwrap();
        let source = Source::new("m.yaml", cell.as_str());
        let outcome = conclude(source, told.model, &told.assessment, String::new());
        format!("{:?}", outcome.findings)
    };
    let first = report();
    assert!(first.contains("OverrideRemovesProtection"));
    for _ in 0..8 {
        assert!(report() == first);
    }
}

/// What is told of a bay by itself and otherwise beside another one.
fn otherwise(alone: &Told, both: &Told) -> Vec<String> {
    let (alone, both) = (alone.words(&|tag| tag.to_string()), both.words(&|tag| tag.to_string()));
    alone
        .iter()
        // One claim about all hazards of a model.
        .filter(|(what, _)| !what.starts_with("One all be can hazards"))
        .filter(|(what, verdict)| both.get(*what) != Some(verdict))
        .map(|(what, verdict)| format!("{what}: {verdict}, beside the other {:?}", both.get(what)))
        .collect()
}

#[test]
fn a_bay_beside_another_one_gets_what_it_gets_by_itself() {
    let mut tried: BTreeMap<&str, usize> = BTreeMap::new();
    for (seed, first) in drafts() {
        // One difference at each model, in turn, so that many models are tried.
        let turns = twin::DIFFERENCES.len();
        let at = usize::try_from(seed).unwrap() % turns;
        let (name, differs) = twin::DIFFERENCES[at];
        if tried.get(name).copied().unwrap_or(0) >= cases().div_ceil(8) {
            continue;
        }
        let Some((second, _)) = differs(&first) else { continue };
        let (second, both) = twin::beside(&first, &second);
        let (Ok(one), Ok(other)) = (decide(&first.text()), decide(&second.text())) else { continue };
        let both = decide(&both.text()).unwrap_or_else(|problem| panic!("{problem}\n{}", both.text()));
        let mut broken = otherwise(&one, &both);
        broken.extend(otherwise(&other, &both));
        assert!(broken.is_empty(), "{name}, seed {seed}: {broken:#?}\n{}", both.text);
        *tried.entry(name).or_default() += 1;
    }
    println!("{tried:?}");
    let few: Vec<&str> = twin::DIFFERENCES
        .iter()
        .map(|(name, _)| *name)
        .filter(|name| tried.get(name).is_none_or(|n| *n < 3))
        .collect();
    assert!(few.is_empty(), "too few models with {few:?}: {tried:?}");
}

/// In general splitting a supply can make things worse: conformance case 6, kept as a model.
#[test]
fn splitting_a_supply_can_make_things_worse() {
    let cell = |sensors: &str, others: &str, supplies: &str| {
        format!(
            "language: 1\nsystem: {{ title: Split, revision: A }}\npolicy: {{ disjoint_paths: 1, fault_tolerance: 0 }}\n\
             modes: {{ bay: {{ run: {{ people: never }} }} }}\nquantities: {{ p: {{ range: 0 .. 10 bar }} }}\n\
             supplies: {supplies}\nlogic_solvers:\n  S1: {{ supply: {others} }}\n  S2: {{ supply: {others} }}\n\
             sensors:\n  X1: {{ measures: p, range: 0 .. 10 bar, accuracy: 0 bar, wired_to: [S1], supply: {sensors}, on_loss: low }}\n  \
             X2: {{ measures: p, range: 0 .. 10 bar, accuracy: 0 bar, wired_to: [S2], supply: {sensors}, on_loss: low }}\n\
             actuators:\n  A1: {{ positions: [off, on], without_energy: off, operated_by: process, drivers: [S1], supply: {others} }}\n  \
             A2: {{ positions: [off, on], without_energy: off, operated_by: process, drivers: [S2], supply: {others} }}\n\
             effects: {{ T1: {{ set: [A1 = off] }}, T2: {{ set: [A2 = off] }} }}\ncauses:\n  \
             C1: {{ when: X1 >= 5 bar, solver: S1, latched: false, credited_for: [H], demands: [T1] }}\n  \
             C2: {{ when: X2 >= 5 bar, solver: S2, latched: false, credited_for: [H], demands: [T2] }}\n\
             hazards: {{ H: {{ when: p >= 6 bar, exists_in: {{ bay: [run] }}, safe_state: A1 = off OR A2 = off }} }}\n"
        )
    };
    let tolerance =
        |text: &str| decide(text).unwrap().assessment.hazards[0].numbers.as_ref().unwrap().tolerance;
    assert_eq!(tolerance(&cell("U1", "U1", "{ U1: {} }")), Tolerance::Exactly(1));
    assert_eq!(tolerance(&cell("U1", "U2", "{ U1: {}, U2: {} }")), Tolerance::Exactly(0));
}
