//! What is carried over from one bay to another that is built alike is what the other bay gives when it is asked itself.
//!
//! The cut sets of every hazard and mode of the large models are found anew, and every claim about a single element is decided
//! anew, each by a question of its own.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fs;
use std::path::PathBuf;

use tripproof::analysis::{Actors, Allowed, Case, cuts};
use tripproof::assess::{Decided, ORDER, Subject, assess};
use tripproof::claim::Breach;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::model::{CauseId, InputAtom, Model, Source as Fault};
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

/// What a claim about a single element is about, whether it says that this can happen, and with which weight of faults.
fn asked(model: &Model, subject: Subject) -> Vec<(Breach, bool, u32)> {
    let one = |breach, can, faults| vec![(breach, can, faults)];
    // A cause that asks for a bad signal or a lost link may need the fault for which it is there.
    let needed = |cause: CauseId| {
        let asks = |atom: &&InputAtom| matches!(atom, InputAtom::Bad(_) | InputAtom::LinkLost(_));
        u32::from(model.causes[cause].when.atoms().iter().any(asks))
    };
    match subject {
        Subject::CanFire(cause) => one(Breach::Fires(cause), true, needed(cause)),
        Subject::CanFireFor(cause, hazard) => one(Breach::FiresFor(cause, hazard), true, needed(cause)),
        Subject::NotAlwaysOn(cause) => one(Breach::Quiet(cause), true, 0),
        Subject::MarksMatter(cause) => one(Breach::Matters(cause, None), true, 0),
        Subject::CanRun(mode) => one(Breach::Runs(mode), true, 0),
        Subject::NotHarmed(hazard, cause, at) => one(Breach::Harmed { hazard, cause, at }, false, 0),
        Subject::NotForced(hazard, at) => {
            let loses = |source: &Fault| {
                matches!(source, Fault::Supply(_) | Fault::Route(_) | Fault::Cabinet(_) | Fault::Solver(_))
            };
            let sources = model.universe().into_iter().filter(loses);
            sources.map(|source| (Breach::Forced { hazard, source, at }, false, 1)).collect()
        }
        Subject::SpanReached(stop) => one(Breach::SpanMissed(stop), false, model.stops[stop].fault_tolerance),
        Subject::AlwaysHolds(rule) => {
            one(Breach::Broken(rule), false, model.invariants[rule].fault_tolerance)
        }
        Subject::NeverOccurs(rule) => {
            one(Breach::Occurs(rule), false, model.exclusions[rule].fault_tolerance)
        }
        Subject::CanLeave(space) => one(Breach::LockedIn(space), false, 1),
        Subject::ReleaseStops(space, door, hazard) => one(Breach::Released { space, door, hazard }, false, 1),
        _ => Vec::new(),
    }
}

#[test]
fn what_holds_of_single_elements_holds_when_each_is_asked_itself() {
    for name in ["hall-k.yaml", "reactor-unit.yaml"] {
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("models").join(name);
        let model = load(&Source::new(name, fs::read_to_string(path).unwrap())).unwrap();
        let engine = Smt::new(50_000_000).unwrap();
        let assessment = assess(&model, &engine).unwrap();
        let sources = model.universe();
        let mut anew = 0;
        for single in assessment.singles.iter().filter(|single| matches!(single.decided, Decided::Holds)) {
            for (breach, can, faults) in asked(&model, single.subject) {
                let forced = match &breach {
                    Breach::Forced { source, .. } => Some([*source].into()),
                    _ => None,
                };
                let sources = forced.as_ref().unwrap_or(&sources);
                let encoding = encode(&model, &Scope { breach, modes: &[], sources, initiators: false });
                let question = engine.open(&encoding.terms, &encoding.possible, &[]).unwrap();
                let weight = |source| if forced.is_some() { 1 } else { model.weight(source) };
                let mut case = Case::new(encoding, question, weight, Default::default());
                let nobody = Actors { initiators: false, damage: false, overrides: false };
                let happens = case.unprotected(Allowed::Weight(faults), nobody).unwrap();
                assert_eq!(happens, can, "{name}: {:?}", single.subject);
                anew += 1;
            }
        }
        assert!(anew > 100, "{name}: {anew}");
    }
}

/// Two hazards that ask alike and require differently: neither takes over what was decided for the other.
#[test]
fn what_is_required_is_not_carried_over() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("models/first-guard.yaml");
    let text = fs::read_to_string(path).unwrap().replace("[H-CRUSH]", "[H-CRUSH, H-CUT]");
    let start = text.find("  H-CRUSH:").unwrap();
    let end = start + text[start..].find("\n\n").map_or(text.len() - start, |at| at + 1);
    let (before, milder, after) = (&text[..start], &text[start..end], &text[end..]);
    let requires = "    requires: { fault_tolerance: 2, disjoint_paths: 3, reason: worse }\n";
    let stricter = milder.replace("H-CRUSH:", "H-CUT:").replace("log: HL-001", "log: HL-002") + requires;
    for hazards in [format!("{milder}{stricter}"), format!("{stricter}{milder}")] {
        let text = format!("{before}{hazards}{after}");
        let model = load(&Source::new("two-hazards.yaml", text)).unwrap();
        let assessment = assess(&model, &Smt::new(50_000_000).unwrap()).unwrap();
        for found in &assessment.hazards {
            let worse = model.hazards[found.hazard].name.tag == "H-CUT";
            assert_eq!(found.tolerance.is_broken(), worse, "{}", model.hazards[found.hazard].name.tag);
            assert_eq!(found.disjoint.is_broken(), worse, "{}", model.hazards[found.hazard].name.tag);
        }
    }
}
