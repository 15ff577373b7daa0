//! How long the whole check of each shipped model takes, cold: a new process each time, as a user starts it.
//!
//! `cargo bench` prints the median of 20 runs for each; docs/performance.md keeps the figures.

use std::process::{Command, Stdio};

/// Every shipped model.
const MODELS: &[&str] = &[
    "first-guard",
    "first-guard-flawed",
    "pressure-tank",
    "pressure-tank-flawed",
    "drying-cell",
    "drying-cell-flawed",
    "burner",
    "burner-flawed",
];

fn main() {
    divan::main();
}

#[divan::bench(args = MODELS, sample_count = 20, sample_size = 1)]
fn whole_check(model: &str) {
    let path = format!("{}/models/{model}.yaml", env!("CARGO_MANIFEST_DIR"));
    let status = Command::new(env!("CARGO_BIN_EXE_tripproof"))
        .args(["check", &path])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    divan::black_box(status.ok());
}
