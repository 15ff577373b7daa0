//! `--why`: what a proof does not name it does not need, and a proof that sees nothing says so.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use serde_yaml::Value;
use tripproof::assess::{assess, why};
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::outcome::{Judged, Outcome, Verdict, Why};
use tripproof::report::{Entry, json, markdown, text};
use tripproof::source::Source;

#[path = "support/support.rs"]
mod support;

use support::text::model;

fn explained(text: &str) -> Option<Outcome> {
    let source = Source::new("model.yaml", text);
    let model = load(&source).ok()?;
    let engine = Smt::new(50_000_000).unwrap();
    let mut assessment = assess(&model, &engine).unwrap();
    assessment.reasons = Some(why::reasons(&model, &engine, &assessment).unwrap());
    Some(conclude(source, model, &assessment, engine.name()))
}

fn shipped(name: &str) -> String {
    fs::read_to_string(format!("{}/models/{name}.yaml", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// What a claim is, without what was decided about it.
fn key(outcome: &Outcome, claim: &Judged) -> (String, String) {
    let mode = claim.mode.map(|mode| outcome.model.modes[mode].name.tag.clone()).unwrap_or_default();
    (claim.statement.clone(), mode)
}

/// The first word of every tag that a proof names: of an exclusion its own tag.
fn named(why: &Why) -> BTreeSet<String> {
    let Why::Proof(parts) = why else { return BTreeSet::new() };
    let needs = parts.iter().flat_map(|part| &part.needs);
    needs.map(|need| need.tag.split(' ').next().unwrap().to_string()).collect()
}

/// Removes a coupling or a fault exclusion that a proof does not name: whatever was proved without it still is.
#[test]
fn what_a_proof_does_not_name_can_go_and_it_still_stands() {
    let (mut removed, mut kept, mut named_ones) = (0, 0, 0);
    for name in ["first-guard", "burner", "drying-cell", "pressure-tank", "irradiator", "reactor-unit"] {
        let text = shipped(name);
        let before = explained(&text).unwrap();
        let whole: Value = serde_yaml::from_str(&text).unwrap();
        for section in ["couplings", "fault_exclusions"] {
            let Some(entries) = whole.get(section).and_then(Value::as_mapping) else { continue };
            for tag in entries.keys().map(|tag| tag.as_str().unwrap().to_string()) {
                let mut fewer = whole.clone();
                let left = fewer.get_mut(section).unwrap().as_mapping_mut().unwrap();
                left.remove(tag.as_str());
                if left.is_empty() {
                    fewer.as_mapping_mut().unwrap().remove(section);
                }
                let Some(after) = explained(&serde_yaml::to_string(&fewer).unwrap()) else { continue };
                removed += 1;
                let verdicts: BTreeMap<(String, String), Verdict> =
                    after.claims.iter().map(|claim| (key(&after, claim), claim.verdict.clone())).collect();
                for claim in before.claims.iter().filter(|claim| claim.verdict == Verdict::Proved) {
                    let why = claim.why.as_ref().unwrap();
                    if !matches!(why, Why::Proof(_)) {
                        continue;
                    }
                    if named(why).contains(&tag) {
                        named_ones += 1;
                        continue;
                    }
                    let now = verdicts.get(&key(&before, claim));
                    // A path set that was told may be another one now, and a vacuous claim may have become one.
                    assert!(
                        matches!(now, None | Some(Verdict::Proved | Verdict::NotApplicable(_))),
                        "{name} without {tag}: {} {now:?}",
                        claim.statement
                    );
                    kept += 1;
                }
            }
        }
    }
    assert!(
        removed > 10 && kept > 200 && named_ones > 10,
        "{removed} removed, {kept} kept, {named_ones} named"
    );
}

#[test]
fn every_proved_claim_of_the_shipped_models_has_a_reason() {
    for name in ["first-guard", "burner-flawed", "drying-cell-flawed", "pressure-tank", "irradiator"] {
        let outcome = explained(&shipped(name)).unwrap();
        for claim in &outcome.claims {
            match &claim.why {
                Some(Why::Lost(reason)) => panic!("{name}: {}: {reason}", claim.statement),
                Some(Why::Proof(parts)) if claim.claim == "disjoint-paths" => {
                    let hazard = &outcome.model.hazards[claim.hazard.unwrap()];
                    // What nothing defeats needs one part only, which needs nothing that could fail.
                    let never = parts.len() == 1 && parts[0].needs.iter().all(|need| need.kind != "element");
                    let wanted = hazard.required.disjoint_paths as usize;
                    assert!(never || parts.len() == wanted, "{}: {parts:?}", claim.statement);
                    // Disjoint: no element that must work stands in two parts.
                    let elements: Vec<&str> = parts
                        .iter()
                        .flat_map(|part| &part.needs)
                        .filter(|need| need.kind == "element")
                        .map(|need| need.tag.as_str())
                        .collect();
                    assert_eq!(elements.len(), elements.iter().collect::<BTreeSet<_>>().len());
                }
                Some(_) => assert_eq!(claim.verdict, Verdict::Proved),
                None => assert_ne!(claim.verdict, Verdict::Proved, "{name}: {}", claim.statement),
            }
        }
    }
}

/// Gas is above its limit, and the fan runs anyway: nobody has to see anything.
fn blind() -> String {
    model(&[
        "logic_solvers: { C1: {} }",
        "sensors: { GD-1: { $GAS, wired_to: [C1] } }",
        "actuators:\n  FAN: { positions: [off, on], without_energy: on, operated_by: protection, rest: on, drivers: [C1] }\n  K1: { $CONTACTOR, drivers: [C1] }",
        "effects: { OFF: { set: [K1 = open] } }",
        "causes:\n  TRIP: { when: \"GD-1 >= 20 %LFL\", solver: C1, latched: false, credited_for: [H], demands: [OFF] }",
        "hazards: { H: { when: gas >= 30 %LFL, $HERE, safe_state: FAN = on } }",
        "policy: { disjoint_paths: 1, fault_tolerance: 0 }",
    ])
}

#[test]
fn a_proof_that_needs_nothing_that_sees_the_hazard_is_called_suspicious() {
    let outcome = explained(&blind()).unwrap();
    let claim = outcome.claims.iter().find(|claim| claim.claim == "disjoint-paths").unwrap();
    let Some(Why::Proof(parts)) = &claim.why else { panic!("{claim:?}") };
    assert!(parts[0].blind, "{parts:?}");
    let entry = [Entry::Examined(Box::new(outcome))];
    for report in [text::render(&entry, false, false), markdown::render(&entry)] {
        let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("Suspicious: this needs nothing that sees the hazard."), "{report}");
    }
    // The same plant with its fan off at rest needs the gas head.
    let seen = blind().replace("without_energy: on", "without_energy: off").replace("rest: on", "rest: off");
    let seen = seen.replace("set: [K1 = open]", "set: [K1 = open, FAN = on]");
    let outcome = explained(&seen).unwrap();
    let claim = outcome.claims.iter().find(|claim| claim.claim == "disjoint-paths").unwrap();
    let Some(Why::Proof(parts)) = &claim.why else { panic!("{claim:?}") };
    assert!(!parts[0].blind);
    let tags: Vec<&str> = parts[0].needs.iter().map(|need| need.tag.as_str()).collect();
    assert_eq!(tags, ["C1", "FAN", "GD-1"]);
}

#[test]
fn the_reasons_read_like_this() {
    let outcome = explained(&shipped("drying-cell-flawed")).unwrap();
    let report = text::render(&[Entry::Examined(Box::new(outcome.clone()))], false, false);
    let start = report.find("WHY THE PROVED CLAIMS HOLD").unwrap();
    let end = report[start..].find("DECLARED, NOT EXAMINED").unwrap();
    insta::assert_snapshot!("why-drying-cell-flawed", &report[start..start + end]);
    let report: serde_json::Value =
        serde_json::from_str(&json::render(&[Entry::Examined(Box::new(outcome))], "Z3", 1)).unwrap();
    let claims = report["claims"].as_array().unwrap();
    let proved = claims
        .iter()
        .find(|claim| claim["claim"] == "disjoint-paths" && claim["verdict"] == "proved")
        .unwrap();
    assert_eq!(proved["why"]["basis"], "proof");
    assert_eq!(proved["why"]["parts"].as_array().unwrap().len(), 2);
    assert!(proved["why"]["parts"][0]["needs"][0]["line"].as_u64().unwrap() > 1);
    let refuted = claims.iter().find(|claim| claim["verdict"] == "refuted").unwrap();
    assert!(refuted["why"].is_null());
}

#[test]
fn without_being_asked_no_reason_is_given() {
    let source = Source::new("model.yaml", blind().as_str());
    let model = load(&source).unwrap();
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    let outcome = conclude(source, model, &assessment, engine.name());
    assert!(outcome.claims.iter().all(|claim| claim.why.is_none()));
    assert!(!text::render(&[Entry::Examined(Box::new(outcome))], false, false).contains("WHY THE PROVED"));
}
