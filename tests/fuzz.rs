//! Random inputs against every part that takes something from outside: nothing panics, and what comes out holds together.
//!
//! Targets: `reading` (bytes to a document), `lowering` (a spoilt model to a model or its problems), `rendering` (reports
//! of spoilt models), `engines` (random terms), `replaying` (random models, every refutation of which is replayed).
//! No tool beyond the stable toolchain is needed, and none measures coverage: inputs are made by spoiling the shipped
//! models and what is kept in `tests/fuzz/corpus`, which is always tried first.
//!
//! A run is fixed by its seed. By default each target tries a fixed number of inputs.
//! `TRIPPROOF_FUZZ_SECONDS=3600 cargo test --release --test fuzz TARGET -- --nocapture` goes on for so long, from
//! `TRIPPROOF_FUZZ_SEED=N`. An input that fails is written to `tests/fuzz/found`; corrected, it moves to the corpus.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "fuzz/engines.rs"]
mod engines;
#[path = "oracle/generate.rs"]
mod generate;
#[path = "fuzz/lowering.rs"]
mod lowering;
#[path = "fuzz/properties.rs"]
mod properties;
#[path = "oracle/random.rs"]
mod random;
#[path = "fuzz/reading.rs"]
mod reading;
#[path = "fuzz/rendering.rs"]
mod rendering;
#[path = "fuzz/replaying.rs"]
mod replaying;
#[path = "fuzz/run.rs"]
mod run;
#[path = "fuzz/spoil.rs"]
mod spoil;

use run::Target;

#[test]
fn reading() {
    run::fuzz(&Target { name: "reading", usual: 1500, make: reading::make, one: reading::one });
}

#[test]
fn lowering() {
    run::fuzz(&Target { name: "lowering", usual: 300, make: lowering::make, one: lowering::one });
}

#[test]
fn rendering() {
    run::fuzz(&Target { name: "rendering", usual: 60, make: rendering::make, one: rendering::one });
}

#[test]
fn engines() {
    run::fuzz(&Target { name: "engines", usual: 400, make: engines::make, one: engines::one });
}

#[test]
fn replaying() {
    run::fuzz(&Target { name: "replaying", usual: 60, make: replaying::make, one: replaying::one });
}
