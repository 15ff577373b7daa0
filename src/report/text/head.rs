//! The head of the report: what was examined, with which tools, and with what result.

use std::collections::BTreeMap;

use super::wrap::{Paint, Tone, hanging, paragraph};
use crate::finding::Severity;
use crate::outcome::Outcome;
use crate::report::{TIME, counted, status};

/// Columns of the labels.
const LABEL: usize = 18;

/// The head.
pub(super) fn head(outcome: &Outcome, paint: Paint) -> String {
    let system = &outcome.model.system;
    let state = status(outcome);
    let tone = match (outcome.exit_code(), state.as_str()) {
        (_, "nothing open") => Tone::Good,
        (3, _) => Tone::Doubt,
        _ => Tone::Bad,
    };
    let counts = outcome.counts();
    let mut all = format!("{}\n\n", paint.tone(Tone::Strong, "Report of findings on the interlock logic"));
    all.push_str(&line("Design", &format!("{}, revision {}", system.title, system.revision)));
    all.push_str(&line("File", outcome.source.name()));
    all.push_str(&line("SHA-256", &outcome.sha256));
    all.push_str(&line(
        "Tool",
        &format!("tripproof {}, solver {}", env!("CARGO_PKG_VERSION"), outcome.engine),
    ));
    all.push_str(&line("Time", TIME));
    if let Some(day) = outcome.date {
        all.push_str(&line("Date", &format!("{day}; expiries are judged for this day")));
    }
    all.push_str(&painted(line("Status", &state), tone, paint));
    all.push_str(&line(
        "Claims",
        &format!(
            "{} proved, {} refuted, {} accepted, {} undecided, {} not applicable",
            counts.proved, counts.refuted, counts.accepted, counts.undecided, counts.not_applicable
        ),
    ));
    all.push_str(&line("Findings", &findings(outcome)));
    all.push_str(&line("Fault exclusions", &exclusions(outcome)));
    for (label, texts) in [("Standards", &system.standards), ("Limits of use", &system.limits_of_use)] {
        if !texts.is_empty() {
            all.push_str(&line(label, &format!("{} (as the model names them)", texts.join("; "))));
        }
    }
    if let Some(scope) = &system.scope {
        all.push_str(&line("Scope", scope));
    }
    all.push('\n');
    all.push_str(&paragraph(
        "Proved: no counter-example exists in the model within the stated bounds. Refuted: a counter-example exists, \
         and it is shown. Accepted: refuted, and a named role accepts it. Undecided: neither; never to be read as \
         proved.",
        0,
    ));
    all
}

fn line(label: &str, text: &str) -> String {
    hanging(text, &format!("{:LABEL$}", format!("{label}:")), LABEL)
}

fn painted(text: String, tone: Tone, paint: Paint) -> String {
    let lines: Vec<String> = text.lines().map(|line| paint.tone(tone, line)).collect();
    lines.join("\n") + "\n"
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
