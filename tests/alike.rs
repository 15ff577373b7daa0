//! What is carried over from one bay to another that is built alike is what the other bay gives when it is asked itself.
//!
//! The cut sets of every hazard and mode of the large models are found anew, each by a question of its own.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fs;
use std::path::PathBuf;

use tripproof::analysis::{Actors, Case, cuts};
use tripproof::assess::{ORDER, assess};
use tripproof::claim::Breach;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::semantics::{Scope, encode};
use tripproof::source::Source;

/// Compares a model; returns how many of its questions are like one of another hazard.
fn compare(name: &str) -> usize {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("models").join(name);
    let model = load(&Source::new(name, fs::read_to_string(path).unwrap())).unwrap();
    let engine = Smt::new(50_000_000).unwrap();
    let assessment = assess(&model, &engine).unwrap();
    let sources = model.universe();
    let mut asked = Vec::new();
    let mut shared = 0;
    for found in &assessment.hazards {
        let Some(numbers) = &found.numbers else { continue };
        let modes = [found.mode];
        let breach = Breach::NotMet { hazard: found.hazard, onset: None };
        let scope = Scope { breach, modes: &modes, sources: &sources, initiators: true };
        let encoding = encode(&model, &scope);
        shared += usize::from(asked.iter().any(|(hazard, other): &(_, tripproof::semantics::Encoding)| {
            *hazard != found.hazard && other.alike(&encoding, |source| model.weight(source))
        }));
        asked.push((found.hazard, encoding.clone()));
        let question = engine.open(&encoding.terms, &encoding.possible, &[]).unwrap();
        let mut case = Case::new(encoding, question, |source| model.weight(source), Default::default());
        let actors = Actors { initiators: true, damage: true, overrides: false };
        let own = cuts::up_to(&mut case, ORDER, actors).unwrap();
        let tag = &model.hazards[found.hazard].name.tag;
        assert_eq!(numbers.cuts, own.sets, "{tag} in {}", model.modes[found.mode].name.tag);
        for path in &numbers.path_sets {
            let kept = case.unprotected(tripproof::analysis::Allowed::AllBut(path), actors).unwrap();
            assert!(!kept, "a path set of {tag} is none");
        }
    }
    shared
}

#[test]
fn the_second_bay_has_what_it_gives_when_it_is_asked_itself() {
    // Most questions of the second bay are like one of the first.
    let shared = compare("hall-k.yaml");
    assert!(shared >= 25, "{shared}");
    // Here the bays differ by the planted errors, which touch every question.
    compare("hall-k-flawed.yaml");
}

#[test]
fn plants_without_a_second_bay_are_what_they_are() {
    compare("irradiator.yaml");
    compare("reactor-unit.yaml");
}
