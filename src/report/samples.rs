//! An outcome put together by hand over a loaded model, for the tests of the renderers. Its verdicts mean nothing.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::BTreeMap;

use super::Entry;
use crate::check::Check;
use crate::finding::{Finding, Severity, Story};
use crate::model::{HazardId, ModeId, Model};
use crate::outcome::{Cell, Judged, OfTime, Outcome, Paths, Premise, Tolerance, Verdict};
use crate::problem::Problem;
use crate::source::{Source, Span};

const TEXT: &str = include_str!("../model/lower/tests/cell.yaml");

fn finding(model: &Model, check: Check, severity: Severity, elements: &[&str]) -> Finding {
    let (id, hazard) = model.hazards.iter().next().unwrap();
    let structural = check == Check::TripsShareAnInput;
    Finding {
        check,
        severity,
        hazard: (!structural).then_some(id),
        modes: if structural { Vec::new() } else { hazard.exists_in.clone() },
        elements: elements.iter().map(|tag| tag.to_string()).collect(),
        sentence: "H-IGNITION has one disjoint trip path where 2 are required: every path needs GD-1 and K1."
            .into(),
        witness: Some(Story {
            lines: vec![
                "Cell 4 is running.".into(),
                "GD-1 shows 0 %LFL at 60 %LFL, because it failed low.".into(),
            ],
            cautions: vec!["Do not replay this with solvent in the oven.".into()],
            values: vec![("solvent".into(), "60 %LFL".into())],
            faults: vec!["GD-1".into()],
            overrides: Vec::new(),
        }),
        steps: Vec::new(),
        place: hazard.name.span,
        each: Vec::new(),
        also: vec![(hazard.when_span, "the hazard's predicate".into())],
        lowest: Vec::new(),
        under: None,
        accepted: None,
        requirement: Some("safety requirements, chapter 4".into()),
    }
}

fn judged(claim: &'static str, hazard: HazardId, mode: ModeId, verdict: Verdict) -> Judged {
    let statement = format!("H-IGNITION, `{claim}`, in running.");
    Judged {
        claim,
        hazard: Some(hazard),
        mode: Some(mode),
        about: None,
        statement,
        verdict,
        finding: None,
        accepted: None,
        one_engine: None,
        why: None,
    }
}

/// An outcome in which every section of a report has something to say.
pub(crate) fn outcome() -> Outcome {
    let source = Source::new("cell.yaml", TEXT);
    let model = crate::load::load(&source).expect("the model loads");
    let shared = finding(&model, Check::TripsShareAnInput, Severity::Warning, &["GD-1", "K1"]);
    let mut paths = finding(&model, Check::TooFewDisjointPaths, Severity::Serious, &["GD-1", "K1"]);
    paths.under = Some(shared.id(None));
    let mut accepted = finding(&model, Check::LoopCanMask, Severity::Warning, &["HL-1"]);
    accepted.accepted = Some("ACC-1".into());
    let (hazard, mode) = (model.hazards.ids().next().unwrap(), model.modes.ids().next().unwrap());
    let claims = vec![
        judged("covered", hazard, mode, Verdict::Proved),
        judged("fault-tolerance", hazard, mode, Verdict::Undecided("the limit of work was reached".into())),
        Judged {
            finding: Some(paths.id(Some("H-IGNITION"))),
            ..judged("disjoint-paths", hazard, mode, Verdict::Refuted)
        },
        Judged { finding: Some(shared.id(None)), ..judged("x", hazard, mode, Verdict::Refuted) },
        Judged {
            finding: Some(accepted.id(Some("H-IGNITION"))),
            accepted: Some("ACC-1".into()),
            ..judged("loop", hazard, mode, Verdict::Refuted)
        },
        judged("initiator", hazard, mode, Verdict::NotApplicable("no initiator is named".into())),
    ];
    let cells = [
        Cell::Examined {
            paths: Paths::Exactly(1),
            tolerance: Tolerance::Exactly(0),
            meets: false,
            initiator: true,
            time: OfTime::InTime,
        },
        Cell::Excluded("heater locked off and tagged".into()),
        Cell::Examined {
            paths: Paths::Unlimited,
            tolerance: Tolerance::AtLeast(2),
            meets: true,
            initiator: false,
            time: OfTime::InTime,
        },
        Cell::Undecided,
    ];
    let mut table = BTreeMap::new();
    let pairs =
        model.hazards.iter().flat_map(|(id, h)| model.groups[h.group].modes.iter().map(move |m| (id, *m)));
    table.extend(pairs.zip(cells));
    let premise = Premise {
        kind: "assumption",
        tag: Some("A-1".into()),
        text: "people hear the horn (no evidence named)".into(),
        owner: Some("safety engineer".into()),
        expires: None,
    };
    Outcome {
        sha256: "0".repeat(64),
        engine: "Z3 5.4.1.0".into(),
        date: None,
        claims,
        findings: vec![paths, shared, accepted],
        table,
        protections: Vec::new(),
        margins: Vec::new(),
        tells_margins: false,
        premises: vec![premise],
        not_examined: vec!["time: response, travel, rates".into()],
        disagreements: Vec::new(),
        contradictions: Vec::new(),
        source,
        model,
    }
}

/// One examined model, one that is wrong, one that is not there.
pub(crate) fn entries() -> Vec<Entry> {
    let problem =
        Problem::new("unknown-key", Span::new(0, 4), "`name` is no section", "not known").help("remove it");
    vec![
        Entry::Examined(Box::new(outcome())),
        Entry::Refused { source: Source::new("wrong.yaml", "name: 1\n"), problems: vec![problem] },
        Entry::Failed {
            file: "gone.yaml".into(),
            code: "no-such-file",
            message: "there is no file `gone.yaml`".into(),
        },
    ]
}
