//! Order and numbers of the findings, and what is told of each.

use crate::finding::{Finding, Severity, Story};
use crate::model::Acceptance;
use crate::outcome::Outcome;
use crate::report::modes;
use crate::source::Span;

/// Above the findings with situations.
pub(in crate::report) const REPLAY: &str = "To replay a situation, follow your site's own procedure and permit; where they differ from this report, they prevail. \
     Nobody produces the hazard itself. Simulate at the inputs what is named, and go through faults on paper unless they can be simulated too; leave all else as it normally is, working \
     and with its latches reset. Before that, disconnect or inhibit every output that could discharge, open, start or \
     energise something, and see that nobody is where it could harm: other causes may act on the same signals.";

/// Before what must not happen in earnest.
pub(in crate::report) const CAUTION: &str = "Before replaying it:";

/// Above steps that no simulator has confirmed.
pub(in crate::report) const STEPS: &str = "How it comes about, step by step (from what the model declares; not simulated, since sequences are not examined):";

/// Between a finding and those that it explains.
pub(in crate::report) const EXPLAINS: &str = "It explains these; they may be gone once it is resolved:";

/// Above a situation.
pub(in crate::report) const SHOWN: &str = "A situation that shows it, confirmed by the simulator:";

/// Above the faults of which one is enough.
pub(in crate::report) const EACH: &str = "Any one of these alone is enough:";

/// Whether some open finding tells a situation.
pub(in crate::report) fn any_situation(outcome: &Outcome) -> bool {
    outcome.open_findings().any(|finding| finding.witness.is_some())
}

/// An open finding with those that it explains.
pub(in crate::report) struct Numbered<'o> {
    /// `3`.
    pub number: String,
    /// The finding.
    pub finding: &'o Finding,
    /// The worst of it and of those below it.
    pub worst: Severity,
    /// Those that it explains, with their numbers: `3a`, `3b`, …
    pub below: Vec<(String, &'o Finding)>,
}

/// The open findings, worst first, those of hazards below the structural one that explains them.
pub(in crate::report) fn open(outcome: &Outcome) -> Vec<Numbered<'_>> {
    let open: Vec<&Finding> = outcome.open_findings().collect();
    let ids: Vec<String> = open.iter().map(|finding| outcome.finding_id(finding)).collect();
    let is_below = |finding: &Finding| finding.under.as_ref().is_some_and(|under| ids.contains(under));
    let mut entries: Vec<(&Finding, Vec<&Finding>)> = Vec::new();
    for (finding, id) in open.iter().zip(&ids).filter(|(finding, _)| !is_below(finding)) {
        let below = open.iter().copied().filter(|other| other.under.as_deref() == Some(id)).collect();
        entries.push((finding, below));
    }
    entries.sort_by_key(|(finding, below)| worst(finding, below));
    let numbered = entries.into_iter().enumerate().map(|(place, (finding, below))| {
        let number = (place + 1).to_string();
        Numbered {
            worst: worst(finding, &below),
            below: letters().map(|letter| format!("{number}{letter}")).zip(below).collect(),
            finding,
            number,
        }
    });
    numbered.collect()
}

fn letters() -> impl Iterator<Item = char> {
    ('a'..='z').chain(std::iter::repeat('z'))
}

fn worst(finding: &Finding, below: &[&Finding]) -> Severity {
    below.iter().map(|finding| finding.severity).chain([finding.severity]).min().unwrap_or(finding.severity)
}

/// The hazard and the modes, each with its label.
pub(in crate::report) fn about(outcome: &Outcome, finding: &Finding) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    if let Some(id) = finding.hazard {
        let name = &outcome.model.hazards[id].name;
        let text = name.title.as_ref().map_or(name.tag.clone(), |title| format!("{}, {title}", name.tag));
        all.push(("Hazard:", text));
    }
    if !finding.modes.is_empty() {
        let label = if finding.modes.len() == 1 { "Mode:" } else { "Modes:" };
        all.push((label, modes(&outcome.model, &finding.modes).join(", ")));
    }
    all
}

/// The story line by line; a situation without a story, as its values.
pub(in crate::report) fn lines(story: &Story) -> Vec<String> {
    match story.lines.is_empty() {
        true => story.values.iter().map(|(name, value)| format!("{name}: {value}")).collect(),
        false => story.lines.clone(),
    }
}

/// The tags with the lines on which they are declared.
pub(in crate::report) fn elements(outcome: &Outcome, finding: &Finding) -> String {
    let shown = finding.elements.iter().map(|tag| match outcome.model.element_by_tag(tag) {
        Some(element) => {
            let span = outcome.model.name(element).span;
            format!("{tag} (line {})", line_of(outcome, span))
        }
        None => tag.clone(),
    });
    shown.collect::<Vec<_>>().join(", ")
}

/// Further places, with what stands there. Lines that stand beside the elements already are not said again.
pub(in crate::report) fn further<'f>(outcome: &Outcome, finding: &'f Finding) -> Vec<(String, &'f str)> {
    let shown: Vec<usize> = finding
        .elements
        .iter()
        .filter_map(|tag| outcome.model.element_by_tag(tag))
        .map(|element| line_of(outcome, outcome.model.name(element).span))
        .collect();
    let further = finding.also.iter().filter(|(span, _)| !shown.contains(&line_of(outcome, *span)));
    further.map(|(span, label)| (place(outcome, *span), label.as_str())).collect()
}

fn line_of(outcome: &Outcome, span: Span) -> usize {
    outcome.source.place(span.start).line
}

/// `file:line:column`.
pub(in crate::report) fn place(outcome: &Outcome, span: Span) -> String {
    let place = outcome.source.place(span.start);
    format!("{}:{}:{}", outcome.source.name(), place.line, place.column)
}

/// Where the requirement is written.
pub(in crate::report) fn requirement(finding: &Finding) -> Option<String> {
    finding.requirement.as_ref().map(|requirement| format!("{requirement} (as named in the model)"))
}

/// The command that says more.
pub(in crate::report) fn more(finding: &Finding) -> String {
    format!("tripproof explain {}", finding.check.name())
}

/// The accepted findings.
pub(in crate::report) fn accepted(outcome: &Outcome) -> impl Iterator<Item = &Finding> {
    outcome.findings.iter().filter(|finding| finding.accepted.is_some())
}

/// The accepted findings, those of one acceptance together, in the order of the acceptances in the file.
pub(in crate::report) fn by_acceptance(outcome: &Outcome) -> Vec<(&Acceptance, Vec<&Finding>)> {
    let of = |acceptance: &'_ Acceptance| -> Vec<&Finding> {
        let tag = Some(&acceptance.name.tag);
        accepted(outcome).filter(|finding| finding.accepted.as_ref() == tag).collect()
    };
    let all = outcome.model.accepted.iter().map(|acceptance| (acceptance, of(acceptance)));
    all.filter(|(_, findings)| !findings.is_empty()).collect()
}

/// What stands above the reason of an acceptance, which is printed once for all its findings.
pub(in crate::report) fn covers(acceptance: &Acceptance, findings: usize) -> String {
    let tag = &acceptance.name.tag;
    match findings {
        1 => format!("{tag} accepts the finding that follows."),
        many => format!("{tag} accepts the {many} findings that follow."),
    }
}

/// Reason, and who accepts until when, each with its label.
pub(in crate::report) fn acceptance(
    outcome: &Outcome,
    acceptance: &Acceptance,
) -> Vec<(&'static str, String)> {
    let judged = if outcome.date.is_some() { "" } else { " (expiry not judged: no date given)" };
    let until = acceptance.expires.map_or_else(String::new, |day| format!(", until {day}"));
    let by = format!("{}{until}{judged}", acceptance.by);
    vec![("Reason:", acceptance.reason.clone()), ("Accepted by:", by)]
}
