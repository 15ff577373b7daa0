//! `tripproof paths`: against trying every set of sources one by one, and how the report reads.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use tripproof::analysis::{Actors, Allowed, Case};
use tripproof::assess::structure::{Wanted, structures};
use tripproof::claim::Breach;
use tripproof::cli::{Color, Command, PathsOptions};
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::model::{Model, Source as FaultSource};
use tripproof::outcome::structure::{Found, Sets};
use tripproof::run::{Host, Product, run};
use tripproof::semantics::{Scope, encode};
use tripproof::source::Source;

fn file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("models").join(name)
}

fn shipped(name: &str) -> Model {
    load(&Source::new(name, fs::read_to_string(file(name)).unwrap())).unwrap()
}

/// All subsets of at most `most` of `left`, each added to `chosen`.
fn subsets(
    left: &[FaultSource],
    most: usize,
    chosen: &BTreeSet<FaultSource>,
    all: &mut Vec<BTreeSet<FaultSource>>,
) {
    all.push(chosen.clone());
    if most == 0 {
        return;
    }
    for (at, source) in left.iter().enumerate() {
        let mut more = chosen.clone();
        more.insert(*source);
        subsets(&left[at + 1..], most - 1, &more, all);
    }
}

/// The minimal cut sets with at most `order` sources, found by asking about every set of sources by itself.
fn tried(model: &Model, hazard: &str, order: usize) -> (BTreeSet<BTreeSet<FaultSource>>, usize) {
    let id = model.hazards.iter().find(|(_, one)| one.name.tag == hazard).unwrap().0;
    let modes = [*model.hazards[id].exists_in.first().unwrap()];
    let sources = model.universe();
    let breach = Breach::NotMet { hazard: id, onset: None };
    let encoding = encode(model, &Scope { breach, modes: &modes, sources: &sources, initiators: true });
    let engine = Smt::new(50_000_000).unwrap();
    let question = engine.open(&encoding.terms, &encoding.possible, &[]).unwrap();
    let mut case = Case::new(encoding, question, |source| model.weight(source), Default::default());
    let all: Vec<FaultSource> = case.sources().into_iter().collect();
    let mut sets = Vec::new();
    subsets(&all, order, &BTreeSet::new(), &mut sets);
    let actors = Actors { initiators: true, damage: true, overrides: false };
    let unsafe_: BTreeSet<BTreeSet<FaultSource>> =
        sets.iter().filter(|set| case.unprotected(Allowed::Only(set), actors).unwrap()).cloned().collect();
    let smaller = |set: &BTreeSet<FaultSource>| {
        set.iter().any(|source| {
            let mut less = set.clone();
            less.remove(source);
            unsafe_.contains(&less)
        })
    };
    (unsafe_.iter().filter(|set| !smaller(set)).cloned().collect(), sets.len())
}

fn told(model: &Model, hazard: &str, order: usize) -> Sets {
    let id = model.hazards.iter().find(|(_, one)| one.name.tag == hazard).unwrap().0;
    let mode = *model.hazards[id].exists_in.first().unwrap();
    let wanted = Wanted { hazard: Some(id), modes: Some([mode].into()), order };
    let found = structures(model, &Smt::new(50_000_000).unwrap(), &wanted).unwrap();
    match &found.protections[0].found {
        Found::Sets(sets) => sets.as_ref().clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn three_hazards_of_the_hall_have_the_cut_sets_that_trying_every_set_gives() {
    let model = shipped("hall-k.yaml");
    for (hazard, tries) in [("B1-H05", 834), ("B1-H09", 130), ("B1-H15", 3_683)] {
        let (tried, sets) = tried(&model, hazard, 3);
        assert_eq!(sets, tries, "{hazard}: every set of at most three sources");
        let told = told(&model, hazard, 3);
        assert_eq!(told.cuts.into_iter().collect::<BTreeSet<_>>(), tried, "{hazard}");
    }
}

#[test]
fn a_hazard_of_few_sources_is_right_in_every_state() {
    // All 512 states of the nine sources.
    let model = shipped("hall-k.yaml");
    let (tried, sets) = tried(&model, "B1-H09", 9);
    assert_eq!(sets, 512);
    let told = told(&model, "B1-H09", 9);
    assert!(told.complete());
    assert_eq!(told.cuts.into_iter().collect::<BTreeSet<_>>(), tried);
}

fn paths(name: &str, change: impl FnOnce(&mut PathsOptions)) -> Product {
    let mut options = PathsOptions {
        model: file(name),
        hazard: None,
        mode: None,
        order: 3,
        json: false,
        output: None,
        color: Color::Never,
    };
    change(&mut options);
    run(&Command::Paths(options), &Host::default())
}

/// The report without the folder in which the checkout happens to lie.
fn plain(product: &Product) -> String {
    let folder = format!("{}/", env!("CARGO_MANIFEST_DIR"));
    product.stdout.replace(&folder, "")
}

#[test]
fn the_report_reads_like_this() {
    insta::assert_snapshot!("paths-pressure-tank", plain(&paths("pressure-tank.yaml", |_| {})));
    let overheat = paths("drying-cell-flawed.yaml", |options| options.hazard = Some("H-OVERHEAT".into()));
    insta::assert_snapshot!("paths-overheat", plain(&overheat));
    let json = paths("pressure-tank.yaml", |options| options.json = true);
    insta::assert_snapshot!("paths-json", plain(&json));
}

#[test]
fn every_shipped_model_has_its_structures_and_the_same_ones_in_every_run() {
    for name in ["burner.yaml", "drying-cell-flawed.yaml", "first-guard.yaml", "irradiator-flawed.yaml"] {
        let once = paths(name, |_| {});
        assert_eq!(once.code, 0, "{name}");
        assert_eq!(once, paths(name, |_| {}), "{name}");
        for line in once.stdout.lines() {
            let torn = line.chars().count() > 80 && line.trim().contains(' ') && !line.contains("SHA-256");
            assert!(!torn, "{name}: {line}");
        }
        for word in ["safe.", "is safe", "certified", "compliant"] {
            assert!(!once.stdout.contains(word), "{name}: {word}");
        }
    }
}

#[test]
fn an_order_that_is_too_small_says_how_much_it_leaves_out() {
    let one = paths("pressure-tank.yaml", |options| options.order = 1).stdout;
    let one: String = one.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        one.contains("Complete to order 1; 3 minimal cut sets of a higher order, up to 2, are not listed"),
        "{one}"
    );
    let all = paths("pressure-tank.yaml", |options| options.order = 2).stdout;
    assert!(all.contains("Complete: there are no other minimal cut sets, of any order."), "{all}");
}

#[test]
fn a_hazard_or_mode_that_is_not_there_is_answered_with_what_is() {
    let wrong = paths("drying-cell-flawed.yaml", |options| options.hazard = Some("H-OVERHEET".into()));
    assert_eq!((wrong.code, wrong.stdout.as_str()), (2, ""));
    assert!(wrong.stderr.contains("did you mean `H-OVERHEAT`?"), "{}", wrong.stderr);
    assert!(wrong.stderr.contains("Its hazards: H-IGNITION"), "{}", wrong.stderr);
    let wrong = paths("drying-cell-flawed.yaml", |options| options.mode = Some("runing".into()));
    assert_eq!(wrong.code, 2);
    assert!(wrong.stderr.contains("did you mean `running`?"), "{}", wrong.stderr);
    assert!(wrong.stderr.contains("cell = idle"), "{}", wrong.stderr);
    // Both ways to name a mode, and one in which no hazard exists.
    for name in ["running", "cell = running", "cell=running", "cell running"] {
        let one = paths("drying-cell-flawed.yaml", |options| options.mode = Some(name.into()));
        assert!(one.code == 0 && one.stdout.contains("Mode: running"), "{name}");
    }
    let none = paths("drying-cell-flawed.yaml", |options| options.mode = Some("idle".into()));
    assert!(
        none.code == 0 && none.stdout.contains("no hazard in a mode that was asked for"),
        "{}",
        none.stdout
    );
}

#[test]
fn a_model_that_is_wrong_or_missing_is_told_as_check_tells_it() {
    let missing = paths("no-such.yaml", |_| {});
    assert_eq!((missing.code, missing.stdout.as_str()), (2, ""));
    assert!(missing.stderr.contains("there is no file"), "{}", missing.stderr);
    let folder = std::env::temp_dir().join(format!("tripproof-paths-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let broken = folder.join("broken.yaml");
    fs::write(&broken, "language: 1\nhazards: 3\n").unwrap();
    let product = paths("", |options| options.model = broken.clone());
    assert_eq!((product.code, product.stdout.as_str()), (2, ""));
    assert!(product.stderr.contains("broken.yaml"), "{}", product.stderr);
    // Never over the model, and whole or not at all.
    let own = paths("", |options| {
        options.model = broken.clone();
        options.output = Some(broken.clone());
    });
    assert!(own.code == 2 && own.stderr.contains("would overwrite the model"), "{}", own.stderr);
    let written = folder.join("paths.json");
    let product = paths("pressure-tank.yaml", |options| {
        options.json = true;
        options.output = Some(written.clone());
    });
    assert_eq!((product.code, product.stdout.as_str()), (0, ""));
    let text = fs::read_to_string(&written).unwrap();
    assert_eq!(text, paths("pressure-tank.yaml", |options| options.json = true).stdout);
    fs::remove_dir_all(&folder).unwrap();
}
