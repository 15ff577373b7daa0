//! What was examined, with which tools, and with what result.

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::Severity;
use crate::outcome::{Judged, Outcome, Verdict};
use crate::report::{TIME, counted, status};

/// The label of the fact that is the state of the whole report.
pub(in crate::report) const STATUS: &str = "Status";

/// What the verdicts mean.
pub(in crate::report) const VERDICTS: &str = "Proved: no counter-example exists in the model within the stated bounds. Refuted: a counter-example exists, and \
     it is shown. Accepted: refuted, and a named role accepts it. Undecided: neither; never to be read as proved.";

/// The facts, each with its label, in the order of the report.
pub(in crate::report) fn facts(outcome: &Outcome) -> Vec<(&'static str, String)> {
    let system = &outcome.model.system;
    let counts = outcome.counts();
    let mut all = vec![
        ("Design", format!("{}, revision {}", system.title, system.revision)),
        ("File", outcome.source.name().to_string()),
        ("SHA-256", outcome.sha256.clone()),
        ("Tool", format!("tripproof {}, solver {}", env!("CARGO_PKG_VERSION"), outcome.engine)),
        ("Time", TIME.to_string()),
    ];
    all.extend(outcome.date.map(|day| ("Date", format!("{day}; expiries are judged for this day"))));
    all.extend([
        (STATUS, status(outcome)),
        (
            "Claims",
            format!(
                "{} proved, {} refuted, {} accepted, {} undecided, {} not applicable",
                counts.proved, counts.refuted, counts.accepted, counts.undecided, counts.not_applicable
            ),
        ),
        ("Engines", engines(outcome)),
        ("Findings", findings(outcome)),
    ]);
    all.extend(told(outcome).map(|text| ("Refuted", text)));
    all.extend([("Fault exclusions", exclusions(outcome))]);
    for (label, texts) in [("Standards", &system.standards), ("Limits of use", &system.limits_of_use)] {
        if !texts.is_empty() {
            all.push((label, format!("{} (as the model names them)", texts.join("; "))));
        }
    }
    all.extend(system.scope.iter().map(|scope| ("Scope", scope.clone())));
    all
}

/// By how many engines the claims were decided.
fn engines(outcome: &Outcome) -> String {
    let (both, one) = outcome.opinions();
    let engines =
        format!("{} decided by two engines, {} by one", counted(both, "claim"), counted(one, "claim"));
    let decided = outcome.claims.iter().filter(|c| matches!(c.verdict, Verdict::Proved | Verdict::Refuted));
    match decided.count() - both - one {
        0 => engines,
        sums => format!(
            "{engines}; {} by sums of declared times, or by the engines where those do not suffice",
            counted(sums, "claim")
        ),
    }
}

fn findings(outcome: &Outcome) -> String {
    let mut by_severity: BTreeMap<Severity, usize> = BTreeMap::new();
    for finding in outcome.open_findings() {
        *by_severity.entry(finding.severity).or_default() += 1;
    }
    let open: usize = by_severity.values().sum();
    let parts: Vec<String> =
        by_severity.iter().map(|(severity, number)| format!("{number} {}", severity.word())).collect();
    let accepted = outcome.findings.len() - open;
    match open {
        0 => format!("0 open, {accepted} accepted"),
        _ => format!("{open} open ({}), {accepted} accepted", parts.join(", ")),
    }
}

/// How many refuted claims are told in how many findings; `None` if none is refuted.
fn told(outcome: &Outcome) -> Option<String> {
    let refuted = outcome.counts().refuted;
    let open = |claim: &&Judged| claim.verdict == Verdict::Refuted && claim.accepted.is_none();
    let claims = outcome.claims.iter().filter(open);
    let findings: BTreeSet<&str> = claims.filter_map(|claim| claim.finding.as_deref()).collect();
    let others = outcome.open_findings().count().saturating_sub(findings.len());
    let rest = match others {
        0 => String::new(),
        1 => "; 1 finding belongs to no claim".to_string(),
        n => format!("; {n} findings belong to no claim"),
    };
    (refuted > 0).then(|| {
        format!("{}, told in {}{rest}", counted(refuted, "refuted claim"), counted(findings.len(), "finding"))
    })
}

fn exclusions(outcome: &Outcome) -> String {
    match (outcome.model.fault_exclusions.len(), outcome.model.left_out.len()) {
        (0, 0) => "none".into(),
        (faults, 0) => format!("{}, listed below", counted(faults, "fault exclusion")),
        (0, kinds) => {
            format!("none; {} of fault source left out by the policy, listed below", counted(kinds, "kind"))
        }
        (faults, kinds) => format!(
            "{}, and {} of fault source left out by the policy, listed below",
            counted(faults, "fault exclusion"),
            counted(kinds, "kind")
        ),
    }
}
