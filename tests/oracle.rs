//! Random small models, decided by every engine and by walking through every situation that can make a difference.
//!
//! The walk knows the simulator, which values of a number can matter and which choices a fault opens; an engine knows
//! the encoding. Where they differ, one of them is wrong. What was tried stands in `docs/trust/models.md`
//! (`TRIPPROOF_WRITE_DOCS=1` writes it anew). `TRIPPROOF_ORACLE=N` tries N models instead, from seed
//! `TRIPPROOF_ORACLE_FROM` on, and leaves the page alone.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "oracle/generate.rs"]
mod generate;
#[path = "oracle/judge.rs"]
mod judge;
#[path = "support/keep.rs"]
mod keep;
#[path = "oracle/page.rs"]
mod page;
#[path = "oracle/random.rs"]
mod random;
#[path = "support/support.rs"]
mod support;

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};

use tripproof::assess::{Assessment, assess};
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::diagram::Diagram;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::outcome::Verdict;
use tripproof::source::Source;

use judge::Judged;

/// Models that are tried when nobody says how many.
const MODELS: u64 = 6_000;
/// Most situations that one question may cost; larger ones are left out.
const MOST: usize = 15_000;
/// One model in so many is walked without leaving anything out, which checks the walk itself.
const THOROUGH: u64 = 100;

/// Every engine, by its name on the page. All are compared with the walk on every claim.
fn engines() -> Vec<(&'static str, Box<dyn Engine>)> {
    vec![
        ("Z3", Box::new(Smt::new(50_000_000).unwrap())),
        ("decision diagrams", Box::new(Diagram::new(1_000_000))),
    ]
}

/// What came of some models.
#[derive(Default)]
pub struct Tally {
    models: usize,
    thorough: usize,
    refused: Vec<String>,
    differences: Vec<String>,
    questions: (usize, usize),
    hazards: (usize, usize),
    exhausted: usize,
    situations: usize,
    witnesses: usize,
    claims: BTreeMap<(&'static str, &'static str), usize>,
    options: BTreeMap<&'static str, usize>,
}

impl Tally {
    fn try_model(&mut self, seed: u64, engines: &[(&'static str, Box<dyn Engine>)]) {
        let generated = generate::generate(seed);
        let text = generated.draft.text();
        let source = Source::new("generated.yaml", text.clone());
        let model = match load(&source) {
            Ok(model) => model,
            Err(problems) => {
                self.refused.push(format!("{seed}: {}\n{text}", problems[0].message));
                return;
            }
        };
        let decide = |(name, engine): &(&str, Box<dyn Engine>)| {
            let assessment = assess(&model, engine.as_ref()).unwrap();
            (name.to_string(), assessment)
        };
        let decided: Vec<(String, Assessment)> = engines.iter().map(decide).collect();
        let thorough = seed.is_multiple_of(THOROUGH);
        let judged = judge::judge(&model, &decided, MOST, thorough);
        self.models += 1;
        self.thorough += usize::from(thorough);
        generated.options.into_iter().for_each(|option| *self.options.entry(option).or_default() += 1);
        self.add(judged, seed, &text);
        let (name, assessment) = &decided[0];
        let outcome = conclude(source, model, assessment, name.clone());
        // A mode without any situation is refused before a report is made.
        let claims = outcome.claims.iter().filter(|_| assessment.impossible_modes.is_empty());
        for claim in claims {
            if claim.verdict == Verdict::Refuted && claim.finding.is_none() {
                let told =
                    format!("seed {seed}: refuted, and no finding tells it: {}\n{text}", claim.statement);
                self.differences.push(told);
            }
        }
    }

    fn add(&mut self, judged: Judged, seed: u64, text: &str) {
        self.questions.0 += judged.questions.0;
        self.questions.1 += judged.questions.1;
        self.hazards.0 += judged.hazards.0;
        self.hazards.1 += judged.hazards.1;
        self.exhausted += judged.exhausted;
        self.situations += judged.situations;
        self.witnesses += judged.witnesses;
        judged.claims.into_iter().for_each(|claim| *self.claims.entry(claim).or_default() += 1);
        let told =
            judged.differences.into_iter().map(|difference| format!("seed {seed}: {difference}\n{text}"));
        self.differences.extend(told);
    }

    fn with(mut self, other: Tally) -> Tally {
        self.models += other.models;
        self.thorough += other.thorough;
        self.refused.extend(other.refused);
        self.differences.extend(other.differences);
        self.questions.0 += other.questions.0;
        self.questions.1 += other.questions.1;
        self.hazards.0 += other.hazards.0;
        self.hazards.1 += other.hazards.1;
        self.exhausted += other.exhausted;
        self.situations += other.situations;
        self.witnesses += other.witnesses;
        other.claims.into_iter().for_each(|(claim, count)| *self.claims.entry(claim).or_default() += count);
        other
            .options
            .into_iter()
            .for_each(|(option, count)| *self.options.entry(option).or_default() += count);
        self
    }
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

/// Tries these models on two threads.
fn try_models(seeds: std::ops::Range<u64>) -> Tally {
    let next = AtomicU64::new(seeds.start);
    let work = || {
        let engines = engines();
        let mut tally = Tally::default();
        loop {
            let seed = next.fetch_add(1, Ordering::Relaxed);
            if seed >= seeds.end {
                return tally;
            }
            tally.try_model(seed, &engines);
        }
    };
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..2).map(|_| scope.spawn(work)).collect();
        workers.into_iter().fold(Tally::default(), |all, worker| all.with(worker.join().unwrap()))
    })
}

#[test]
fn engines_and_walk_decide_random_models_alike() {
    let (from, models) = (number("TRIPPROOF_ORACLE_FROM"), number("TRIPPROOF_ORACLE"));
    let usual = from.is_none() && models.is_none();
    let from = from.unwrap_or(0);
    let all = try_models(from..from + models.unwrap_or(MODELS));
    let names: Vec<&str> = engines().iter().map(|(name, _)| *name).collect();
    let page = page::page(&all, &names);
    println!("{page}\n{} situations walked", all.situations);
    // The first line of each; the first one comes with its model below.
    for told in all.refused.iter().chain(&all.differences) {
        println!("{}", told.lines().next().unwrap_or_default());
    }
    assert!(all.refused.is_empty(), "{} refused, the first: {}", all.refused.len(), all.refused[0]);
    assert!(
        all.differences.is_empty(),
        "{} differences, the first: {}",
        all.differences.len(),
        all.differences[0]
    );
    if usual {
        page::quotas(&all);
        keep::keep("docs/trust/models.md", &page);
    }
}
