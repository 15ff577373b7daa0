//! Random small models, decided by the engine and by walking through every situation that can make a difference.
//!
//! The walk knows the simulator, which values of a number can matter and which choices a fault opens; the engine knows
//! the encoding. Where they differ, one of them is wrong. `TRIPPROOF_ORACLE=N` tries N models instead of some hundred;
//! `TRIPPROOF_ORACLE_FROM=S` starts at seed S.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "oracle/engines.rs"]
mod engines;
#[path = "oracle/generate.rs"]
mod generate;
#[path = "oracle/judge.rs"]
mod judge;
#[path = "oracle/random.rs"]
mod random;
#[path = "support/support.rs"]
mod support;

use std::collections::BTreeMap;

use tripproof::assess::assess;
use tripproof::engine::diagram::Diagram;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::source::Source;

/// Models that are tried when nobody says how many.
const MODELS: u64 = 400;
/// Most situations that one hazard in one mode may cost; larger models are left out.
const MOST: usize = 30_000;

/// What came of some models.
#[derive(Default)]
struct Tally {
    models: usize,
    refused: Vec<String>,
    differences: Vec<String>,
    too_large: usize,
    compared: usize,
    covered: usize,
    claims: BTreeMap<(&'static str, &'static str), usize>,
    options: BTreeMap<&'static str, usize>,
}

fn number(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

fn try_models(seeds: impl Iterator<Item = u64>) -> Tally {
    let engine = Smt::new(50_000_000).unwrap();
    let mut tally = Tally::default();
    for seed in seeds {
        let generated = generate::generate(seed);
        let source = Source::new("generated.yaml", generated.text.clone());
        let model = match load(&source) {
            Ok(model) => model,
            Err(problems) => {
                tally.refused.push(format!("{seed}: {}\n{}", problems[0].message, generated.text));
                continue;
            }
        };
        for (option, used) in generated.options {
            *tally.options.entry(option).or_default() += usize::from(used > 0);
        }
        let assessment = assess(&model, &engine).unwrap();
        let by_diagrams = assess(&model, &Diagram::new(200_000)).unwrap();
        for difference in engines::differences(&assessment, &by_diagrams) {
            tally.differences.push(format!("seed {seed}: {difference}\n{}", generated.text));
        }
        let judged = judge::judge(&model, &assessment, MOST);
        tally.models += 1;
        tally.too_large += judged.too_large;
        tally.compared += judged.hazards.0;
        tally.covered += judged.hazards.1;
        for claim in judged.claims {
            *tally.claims.entry(claim).or_default() += 1;
        }
        let disputes =
            assessment.disputes.iter().map(|dispute| format!("{:?}: {}", dispute.claim, dispute.simulator));
        for difference in judged.differences.into_iter().chain(disputes) {
            tally.differences.push(format!("seed {seed}: {difference}\n{}", generated.text));
        }
    }
    tally
}

#[test]
fn engine_and_walk_decide_random_models_alike() {
    let (from, models) = (number("TRIPPROOF_ORACLE_FROM", 0), number("TRIPPROOF_ORACLE", MODELS));
    let parts: Vec<Tally> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..2)
            .map(|part| scope.spawn(move || try_models((from..from + models).skip(part).step_by(2))))
            .collect();
        workers.into_iter().map(|worker| worker.join().unwrap()).collect()
    });
    let mut all = Tally::default();
    for part in parts {
        all.models += part.models;
        all.too_large += part.too_large;
        all.compared += part.compared;
        all.covered += part.covered;
        all.refused.extend(part.refused);
        all.differences.extend(part.differences);
        part.claims.into_iter().for_each(|(claim, count)| *all.claims.entry(claim).or_default() += count);
        part.options.into_iter().for_each(|(option, count)| *all.options.entry(option).or_default() += count);
    }
    println!("{} models, {} refused, {} too large in part", all.models, all.refused.len(), all.too_large);
    println!("{} hazards in modes compared, {} met without faults", all.compared, all.covered);
    for ((claim, verdict), count) in &all.claims {
        println!("{claim}: {verdict} {count}");
    }
    for (option, count) in &all.options {
        println!("option {option}: {count}");
    }
    assert!(all.refused.is_empty(), "{} refused, the first: {}", all.refused.len(), all.refused[0]);
    assert!(
        all.differences.is_empty(),
        "{} differences, the first: {}",
        all.differences.len(),
        all.differences[0]
    );
    assert!(all.covered * 10 >= all.compared * 3, "too few hazards are met");
}
