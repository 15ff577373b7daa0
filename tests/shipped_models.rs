//! Every shipped model: the whole report as a snapshot, which checks must complain about it and which must not, and
//! that the report says nothing that no report may say.
//!
//! Write the snapshots anew with `INSTA_UPDATE=always cargo test --test shipped_models`, and read every line of them.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use tripproof::assess::assess;
use tripproof::check::Check;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::both::Both;
use tripproof::engine::diagram::Diagram;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::outcome::Outcome;
use tripproof::source::Source;

#[path = "support/markdown.rs"]
mod markdown;

/// Checks that must complain about each model, accepted findings apart; every other one must stay silent.
const COMPLAINTS: &[(&str, &[Check])] = &[
    ("burner", &[]),
    (
        "burner-flawed",
        &[
            Check::HazardNotCovered,
            Check::LoserUnprotected,
            Check::FaultDefeatsProtection,
            Check::TooFewDisjointPaths,
            Check::InitiatorInProtection,
            Check::TripCannotFire,
            Check::OpposingCommands,
            Check::CommandWithoutObedience,
            Check::SharedPartDefeatsProtection,
            Check::NotArmedWhereHazardExists,
            Check::TripsShareAnInput,
            Check::LoopCanMask,
        ],
    ),
    ("drying-cell", &[]),
    (
        "drying-cell-flawed",
        &[
            Check::NobodyCanLeave,
            Check::VoteCannotTrip,
            Check::FaultDefeatsProtection,
            Check::TooFewDisjointPaths,
            Check::OverrideRemovesProtection,
            Check::TripCannotFire,
            Check::SharedPartDefeatsProtection,
            Check::VoteDegradationNotDeclared,
            Check::CreditWithoutMark,
            Check::ActuatorNotMoved,
        ],
    ),
    ("first-guard", &[]),
    (
        "first-guard-flawed",
        &[
            Check::FaultDefeatsProtection,
            Check::TooFewDisjointPaths,
            Check::TripsShareAnInput,
            Check::ModeWithoutWord,
            Check::BadSignalNotDeclared,
        ],
    ),
    ("hall-k", &[]),
    (
        "hall-k-flawed",
        &[
            Check::FaultMakesProtectionLate,
            Check::TooFewTimelyPaths,
            Check::TripTooSlow,
            Check::HazardNotCovered,
            Check::NobodyCanLeave,
            Check::VoteCannotTrip,
            Check::HarmfulAction,
            Check::FaultDefeatsProtection,
            Check::TooFewDisjointPaths,
            Check::TripCannotFire,
            Check::OpposingCommands,
            Check::CommandWithoutObedience,
            Check::ExclusionOccurs,
            Check::EffectsOutOfOrder,
            Check::InvariantBroken,
            Check::SharedPartDefeatsProtection,
            Check::LossForcesForbiddenPosition,
            Check::TripsShareAnInput,
            Check::NotArmedWhereHazardExists,
            Check::LoopCanMask,
            Check::NoRescueFromOutside,
            Check::EnergiseToTripLineNotMonitored,
            Check::VoteDegradationNotDeclared,
            Check::InputNotRead,
            Check::AcceptanceWithoutFinding,
        ],
    ),
    ("irradiator", &[]),
    (
        "irradiator-flawed",
        &[
            Check::NobodyCanLeave,
            Check::FaultDefeatsProtection,
            Check::TooFewDisjointPaths,
            Check::InitiatorInProtection,
            Check::OverrideRemovesProtection,
            Check::TripCannotFire,
            Check::OpposingCommands,
            Check::SharedPartDefeatsProtection,
            Check::TripsShareAnInput,
            Check::NotArmedWhereHazardExists,
            Check::OneKeyOverTwoTrips,
        ],
    ),
    ("pressure-tank", &[]),
    (
        "pressure-tank-flawed",
        &[
            Check::FaultDefeatsProtection,
            Check::TooFewDisjointPaths,
            Check::SharedPartDefeatsProtection,
            Check::TripsShareAnInput,
        ],
    ),
    ("reactor-unit", &[]),
    (
        "reactor-unit-flawed",
        &[
            Check::StopMissesItsSpan,
            Check::VoteCannotTrip,
            Check::HarmfulAction,
            Check::FaultDefeatsProtection,
            Check::TooFewDisjointPaths,
            Check::OverrideRemovesProtection,
            Check::OpposingCommands,
            Check::CommandWithoutObedience,
            Check::ExclusionOccurs,
            Check::InvariantBroken,
            Check::SharedPartDefeatsProtection,
            Check::TripsShareAnInput,
            Check::NotArmedWhereHazardExists,
            Check::OneKeyOverTwoTrips,
        ],
    ),
];

fn shipped() -> Vec<PathBuf> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/models");
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|e| e == "yaml"));
    paths.sort_by_key(|path| name(path));
    paths
}

fn name(path: &std::path::Path) -> String {
    path.file_stem().unwrap().to_string_lossy().into_owned()
}

fn outcome(path: &std::path::Path) -> Outcome {
    let text = fs::read_to_string(path).unwrap();
    let source = Source::new(format!("models/{}.yaml", name(path)), text);
    let model = load(&source).unwrap_or_else(|problems| panic!("{}: {problems:#?}", path.display()));
    let engine = Both { first: Smt::new(50_000_000).unwrap(), second: Diagram::new(400_000) };
    let assessment = assess(&model, &engine).unwrap();
    conclude(source, model, &assessment, engine.name())
}

#[test]
fn each_check_complains_where_it_must_and_nowhere_else() {
    let paths = shipped();
    assert_eq!(
        paths.iter().map(|path| name(path)).collect::<Vec<_>>(),
        COMPLAINTS.iter().map(|(name, _)| (*name).to_string()).collect::<Vec<_>>(),
        "every shipped model has its line in COMPLAINTS"
    );
    for (path, (_, expected)) in paths.iter().zip(COMPLAINTS) {
        let outcome = outcome(path);
        let found: BTreeSet<Check> = outcome.open_findings().map(|finding| finding.check).collect();
        assert_eq!(found, expected.iter().copied().collect(), "{}", path.display());
        assert!(!outcome.disagrees(), "{}", path.display());
        assert_eq!(outcome.counts().undecided, 0, "{}", path.display());
        assert_eq!(outcome.exit_code(), u8::from(!expected.is_empty()), "{}", path.display());
    }
}

#[test]
fn the_report_of_every_shipped_model_reads_as_it_did() {
    for path in shipped() {
        let outcome = outcome(&path);
        let entries = [tripproof::report::Entry::Examined(Box::new(outcome))];
        let text = tripproof::report::text::render(&entries, false, true);
        insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(format!("report-{}", name(&path)), text);
        });
        let page = tripproof::report::markdown::render(&entries);
        if name(&path).ends_with("-flawed") {
            insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
                insta::assert_snapshot!(format!("markdown-{}", name(&path)), page);
            });
        }
        // All but the sentence that says where to find the claims that the text report only counts.
        // A wide table stands in the text report in parts, each with its heading.
        let missing: Vec<String> = markdown::missing(&text, &page)
            .into_iter()
            .filter(|line| !line.starts_with("hazard  required"))
            .collect();
        assert!(missing.len() == 2 && missing[0].starts_with("This form of the report"), "{missing:#?}");
        for word in ["certified", "compliant", "is safe", "are safe", "guarantee", "SIL "] {
            assert!(!text.contains(word) && !page.contains(word), "{}: says `{word}`", path.display());
        }
    }
}

#[test]
fn the_same_model_gives_the_same_bytes() {
    let path = shipped().into_iter().find(|path| name(path) == "burner-flawed").unwrap();
    let json = |outcome: Outcome| {
        let entries = [tripproof::report::Entry::Examined(Box::new(outcome))];
        tripproof::report::json::render(&entries, "solver", 1)
    };
    assert_eq!(json(outcome(&path)), json(outcome(&path)));
}
