//! Tries inputs one after the other, keeps what fails, and says how many were tried.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::time::{Duration, Instant};

use crate::random::Random;

/// What is tried.
pub struct Target {
    pub name: &'static str,
    /// How many inputs are tried by default.
    pub usual: u64,
    /// Makes an input.
    pub make: fn(&mut Random) -> Vec<u8>,
    /// Tries it: how it went in a word, or what is wrong.
    pub one: fn(&[u8]) -> Result<&'static str, String>,
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().map(|text| text.parse().unwrap_or_else(|_| panic!("{name}: not a number")))
}

fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz").join(name)
}

/// The inputs kept for a target, by name: those of all targets are tried on each that takes text.
fn kept(target: &str) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    for place in ["corpus", "found"] {
        let Ok(files) = fs::read_dir(folder(place)) else { continue };
        for file in files {
            let path = file.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            // An input of the engines is no text, and nothing that the others take.
            if path.is_file() && name.starts_with("engines-") == (target == "engines") {
                found.push((format!("{place}/{name}"), fs::read(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

/// The words of a panic.
fn words(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_string());
    text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "no words".into())
}

fn attempt(target: &Target, input: &[u8]) -> Result<&'static str, String> {
    catch_unwind(AssertUnwindSafe(|| (target.one)(input)))
        .unwrap_or_else(|panic| Err(format!("panicked: {}", words(panic.as_ref()))))
}

/// Tries everything that is kept, then new inputs: as many as usual, or for the time that is wanted.
pub fn fuzz(target: &Target) {
    let long = number("TRIPPROOF_FUZZ_SECONDS").map(Duration::from_secs);
    let from = number("TRIPPROOF_FUZZ_SEED").unwrap_or(0);
    let mut wrong = Vec::new();
    for (name, input) in kept(target.name) {
        if let Err(message) = attempt(target, &input) {
            wrong.push(format!("{name}: {message}"));
        }
    }
    let mut told: std::collections::BTreeMap<&str, u64> = std::collections::BTreeMap::new();
    let (start, mut count) = (Instant::now(), 0);
    // Time decides only how many are tried, never what is right.
    while wrong.len() < 5 && long.map_or(count < target.usual, |long| start.elapsed() < long) {
        let seed = from + count;
        let input = (target.make)(&mut Random::new(seed));
        match attempt(target, &input) {
            Ok(word) => *told.entry(word).or_default() += 1,
            Err(message) => {
                let path = folder("found").join(format!("{}-{seed}", target.name));
                fs::create_dir_all(folder("found")).unwrap();
                fs::write(&path, &input).unwrap();
                wrong.push(format!("seed {seed}, kept as {}: {message}", path.display()));
            }
        }
        count += 1;
    }
    println!("{}: {count} executions from seed {from}: {told:?}", target.name);
    assert!(wrong.is_empty(), "{}:\n{}", target.name, wrong.join("\n"));
}
