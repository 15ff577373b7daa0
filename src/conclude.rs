//! Puts the outcome together: claims as sentences with their verdicts, findings, the table, what results rest on.
//!
//! Reads what was decided and what the checks found; decides nothing itself.

mod claims;
mod margins;
mod premises;
mod question;
mod structures;
mod time;
mod unused;
mod why;

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use crate::assess::{Assessment, Decided, HazardInMode, Timed};
use crate::check;
use crate::date::Date;
use crate::explain;
use crate::model::{HazardId, ModeId, Model, Source as FaultSource};
use crate::outcome::{Cell, Disagreement, OfTime, Outcome, Protection, Tolerance};
use crate::source::Source;
pub use structures::conclude_structures;

/// The outcome of one model, expiries not judged.
pub fn conclude(source: Source, model: Model, assessment: &Assessment, engine: String) -> Outcome {
    conclude_on(source, model, assessment, engine, None)
}

/// The outcome of one model, with expiries judged for a day if one is given.
pub fn conclude_on(
    source: Source,
    model: Model,
    assessment: &Assessment,
    engine: String,
    date: Option<Date>,
) -> Outcome {
    let findings = check::findings(&model, assessment, date);
    let claims = claims::judge(&model, &source, assessment, &findings);
    Outcome {
        sha256: digest(&source),
        engine,
        date,
        claims,
        findings,
        table: table(&model, assessment),
        protections: protections(&model, assessment),
        margins: margins::margins(&model, &source, assessment),
        tells_margins: false,
        premises: premises::premises(&model, assessment),
        not_examined: premises::not_examined(&model),
        disagreements: assessment
            .disputes
            .iter()
            .map(|dispute| Disagreement {
                claim: claims::in_words(&model, &dispute.claim),
                engine: explain::values(&model, &dispute.claim, &dispute.situation),
                simulator: dispute.simulator.clone(),
            })
            .chain(assessment.differences.iter().map(|sentence| Disagreement::of_numbers(sentence)))
            .collect(),
        contradictions: question::contradictions(&model, &source, assessment),
        source,
        model,
    }
}

/// SHA-256 of the text, in hexadecimal.
fn digest(source: &Source) -> String {
    Sha256::digest(source.text().as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

fn table(model: &Model, assessment: &Assessment) -> BTreeMap<(HazardId, ModeId), Cell> {
    let mut table = BTreeMap::new();
    for (id, hazard) in model.hazards.iter() {
        for mode in &model.groups[hazard.group].modes {
            let examined = assessment.hazards.iter().find(|e| e.hazard == id && e.mode == *mode);
            let cell = match (examined, hazard.not_in.get(mode)) {
                (Some(examined), _) => cell(model, assessment, examined),
                (None, Some(reason)) => Cell::Excluded(reason.clone()),
                (None, None) => Cell::NotConsidered,
            };
            table.insert((id, *mode), cell);
        }
    }
    table
}

fn cell(model: &Model, assessment: &Assessment, examined: &HazardInMode) -> Cell {
    let hazard = &model.hazards[examined.hazard];
    if examined.impossible(hazard.onset.len()) {
        return Cell::Impossible;
    }
    let Some(ever) = &examined.numbers else { return Cell::Undecided };
    let timed = assessment
        .timed
        .iter()
        .find(|timed| timed.hazard == examined.hazard && timed.mode == examined.mode)
        .map(|timed| &timed.decided);
    let (told, numbers, time) = match timed {
        Some(Timed::NoTime) | None => (examined, ever, OfTime::NoTime),
        Some(Timed::Quick) => (examined, ever, OfTime::InTime),
        Some(Timed::Undecided(_)) => (examined, ever, OfTime::Undecided),
        Some(Timed::Decided(own)) => match &own.numbers {
            None => (examined, ever, OfTime::Undecided),
            Some(numbers) if (numbers.paths, numbers.tolerance) == (ever.paths, ever.tolerance) => {
                (own.as_ref(), numbers, OfTime::InTime)
            }
            Some(numbers) => {
                (own.as_ref(), numbers, OfTime::Less { paths: ever.paths, tolerance: ever.tolerance })
            }
        },
    };
    let paths = numbers.paths.reaches(hazard.required.disjoint_paths);
    // What the listed cut sets do not reach was asked for directly.
    let tolerance = numbers.tolerance.reaches(hazard.required.fault_tolerance)
        || (numbers.tolerance != Tolerance::None && matches!(told.tolerance, Decided::Holds));
    Cell::Examined {
        paths: numbers.paths,
        tolerance: numbers.tolerance,
        meets: paths && tolerance,
        initiator: examined.alone.is_some(),
        time,
    }
}

fn protections(model: &Model, assessment: &Assessment) -> Vec<Protection> {
    let tags = |sets: &[std::collections::BTreeSet<FaultSource>]| -> Vec<Vec<String>> {
        let mut all: Vec<Vec<String>> = sets
            .iter()
            .map(|set| {
                let mut tags: Vec<String> = set.iter().map(|source| model.source_tag(*source)).collect();
                tags.sort();
                tags
            })
            .collect();
        all.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
        all
    };
    let examined = assessment.hazards.iter().filter_map(|e| e.numbers.as_ref().map(|numbers| (e, numbers)));
    examined
        .map(|(examined, numbers)| Protection {
            hazard: examined.hazard,
            mode: examined.mode,
            cut_sets: match numbers.tolerance {
                Tolerance::None => vec![Vec::new()],
                Tolerance::Exactly(_) | Tolerance::AtLeast(_) => tags(&numbers.cuts),
            },
            order: crate::assess::ORDER,
            path_sets: tags(&numbers.path_sets),
            obstacle: tags(&numbers.obstacle),
        })
        .collect()
}
