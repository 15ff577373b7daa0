//! Defects planted in every place of every good shipped model: each is found, or shown to do no harm.
//!
//! An operator (`operators`) turns a model into many, each with one defect. Each mutant is refused by the loader, or told
//! by a finding that the model itself has not, or compared with the model over all sets of faults (`compare`). A mutant
//! that is weaker, misses a requirement, and is not told is a survivor, and the test fails.
//!
//! A sample is tried by default: all places of the smallest models, of the others some of each operator.
//! `TRIPPROOF_PLANTED=all` tries all, `TRIPPROOF_PLANTED=400` so many of each model that lie evenly, and both go on where
//! they were if they were stopped. `TRIPPROOF_PLANTED_ONLY=WORD` keeps to operators and pages whose names contain the word,
//! and prints every mutant that is not told. With `TRIPPROOF_WRITE_DOCS=1` each page in docs/trust/planted of which every
//! mutant was tried is written: one for each model, and `times` for the defects in time of all models.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "planted/causes.rs"]
mod causes;
#[path = "planted/compare.rs"]
mod compare;
#[path = "planted/inputs.rs"]
mod inputs;
#[path = "planted/journal.rs"]
mod journal;
#[path = "planted/judge.rs"]
mod judge;
#[path = "planted/operators.rs"]
mod operators;
#[path = "planted/outputs.rs"]
mod outputs;
#[path = "planted/page.rs"]
mod page;
#[path = "planted/text.rs"]
mod text;
#[path = "planted/times.rs"]
mod times;

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use journal::Journal;
use judge::{Judge, Verdict};
use operators::{Mutant, OPERATORS};
use text::Text;

/// Name, text, and how many mutants are tried by default.
const MODELS: &[(&str, &str, usize)] = &[
    ("first-guard", include_str!("../models/first-guard.yaml"), usize::MAX),
    ("pressure-tank", include_str!("../models/pressure-tank.yaml"), usize::MAX),
    ("burner", include_str!("../models/burner.yaml"), 90),
    ("drying-cell", include_str!("../models/drying-cell.yaml"), 90),
    ("irradiator", include_str!("../models/irradiator.yaml"), 20),
    ("reactor-unit", include_str!("../models/reactor-unit.yaml"), 20),
    ("hall-k", include_str!("../models/hall-k.yaml"), 10),
];

/// What came of one mutant.
struct Tried {
    model: usize,
    operator: usize,
    place: String,
    verdict: Verdict,
}

fn models() -> Vec<Text> {
    MODELS.iter().map(|(name, text, _)| Text::new(name, text)).collect()
}

/// A mutant with the numbers of its model and operator.
type Planted = (usize, usize, Mutant);

/// How many places there are, by model and operator.
type Places = BTreeMap<(usize, usize), usize>;

/// How many mutants of each model are tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wanted {
    All,
    Most(usize),
    Usual,
}

/// What the user wants.
fn wanted() -> Wanted {
    match std::env::var("TRIPPROOF_PLANTED").as_deref() {
        Ok("all") => Wanted::All,
        Ok(number) => Wanted::Most(number.parse().expect("TRIPPROOF_PLANTED: `all` or a number")),
        Err(_) => Wanted::Usual,
    }
}

/// Every n-th of some things, so that there are at most so many; the first one depends on `from`.
fn sample<T>(things: Vec<T>, most: usize, from: usize) -> Vec<T> {
    let step = things.len().div_ceil(most).max(1);
    let first = from % step.min(things.len()).max(1);
    things.into_iter().skip(first).step_by(step).collect()
}

/// Every mutant to be tried, as (model, operator, mutant), and the number of places.
fn mutants(models: &[Text], wanted: Wanted) -> (Vec<Planted>, Places) {
    let only = std::env::var("TRIPPROOF_PLANTED_ONLY").unwrap_or_default();
    let (mut chosen, mut places) = (Vec::new(), BTreeMap::new());
    for (model, text) in models.iter().enumerate() {
        let most = match wanted {
            Wanted::All => usize::MAX,
            Wanted::Most(most) => most,
            Wanted::Usual => MODELS[model].2,
        };
        let mut of_this = Vec::new();
        for (number, operator) in OPERATORS.iter().enumerate() {
            let mut made = operator.mutants(text);
            places.insert((model, number), made.len());
            if operator.of_time {
                // Their page is about all models.
                made.iter_mut().for_each(|mutant| mutant.place = format!("{}: {}", text.name, mutant.place));
            }
            let family = if operator.of_time { page::TIMES } else { text.name };
            if operator.name.contains(&only) || family.contains(&only) {
                let made = sample(made, most.div_ceil(OPERATORS.len()), number);
                of_this.extend(made.into_iter().map(|mutant| (model, number, mutant)));
            }
        }
        chosen.extend(sample(of_this, most, 0));
    }
    (chosen, places)
}

/// Tries them on two threads; the order of the result is that of the mutants. With a journal, only what it lacks.
fn try_all(
    models: &[Text],
    mutants: &[Planted],
    journal: Option<Journal>,
    known: BTreeMap<usize, Verdict>,
) -> Vec<Tried> {
    let todo: Vec<usize> = (0..mutants.len()).filter(|at| !known.contains_key(at)).collect();
    let (next, done) = (AtomicUsize::new(0), Mutex::new(known));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                let mut judge: Option<(usize, Judge<'_>)> = None;
                while let Some(at) = todo.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let (model, operator, mutant) = &mutants[*at];
                    if judge.as_ref().is_none_or(|(of, _)| of != model) {
                        judge = Some((*model, Judge::new(&models[*model])));
                    }
                    let (_, judge) = judge.as_mut().unwrap();
                    let verdict = judge.judge(&OPERATORS[*operator], mutant);
                    journal.iter().for_each(|journal| journal.add(*at, &verdict));
                    done.lock().unwrap().insert(*at, verdict);
                }
            });
        }
    });
    let verdicts = done.into_inner().unwrap().into_values();
    let tried = |((model, operator, mutant), verdict): (&Planted, Verdict)| Tried {
        model: *model,
        operator: *operator,
        place: mutant.place.clone(),
        verdict,
    };
    mutants.iter().zip(verdicts).map(tried).collect()
}

#[test]
fn every_planted_defect_is_found_or_harmless() {
    let wanted = wanted();
    let models = models();
    let (mutants, places) = mutants(&models, wanted);
    let only = std::env::var("TRIPPROOF_PLANTED_ONLY").ok();
    let kept = wanted != Wanted::Usual;
    let (journal, known) = match kept {
        true => Some(Journal::open(&format!("{wanted:?} {only:?}"))).unzip(),
        false => (None, None),
    };
    let tried = try_all(&models, &mutants, journal, known.unwrap_or_default());
    println!("{}", page::summary(&tried, &places));
    if only.is_some() {
        for tried in tried.iter().filter(|tried| !tried.verdict.is_told()) {
            println!("{}: {}: {:?}", OPERATORS[tried.operator].name, tried.place, tried.verdict);
        }
    }
    let survivors: Vec<String> = tried
        .iter()
        .filter(|tried| matches!(tried.verdict, Verdict::Survivor(_)))
        .map(|tried| {
            let (model, operator) = (MODELS[tried.model].0, OPERATORS[tried.operator].name);
            format!("{model}: {operator}: {}: {:?}", tried.place, tried.verdict)
        })
        .collect();
    if kept && std::env::var_os("TRIPPROOF_WRITE_DOCS").is_some() {
        page::write(&tried, &places);
    }
    assert!(survivors.is_empty(), "{} survive:\n{}", survivors.len(), survivors.join("\n"));
}

/// An operator that finds no place anywhere plants nothing, and could never fail.
#[test]
fn every_operator_has_places() {
    let models = models();
    for operator in OPERATORS {
        assert!(models.iter().any(|text| !operator.mutants(text).is_empty()), "{}", operator.name);
    }
}

/// The page is written by a run of everything; that it is about these models and operators is looked at here.
#[test]
fn the_page_counts_the_places_that_there_are() {
    let models = models();
    let (_, places) = mutants(&models, Wanted::Usual);
    for name in page::names() {
        let page = page::read(name);
        for row in page::rows_without_results(name, &places) {
            assert!(page.contains(&row), "the page of {name} lacks `{row}`; run: {}", page::command(name));
        }
    }
}
