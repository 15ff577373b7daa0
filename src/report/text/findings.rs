//! The findings, worst first, those of hazards below the structural one that explains them; and the accepted ones.

use super::section;
use super::wrap::{Paint, Tone, hanging, labelled, paragraph};
use crate::finding::{Finding, Severity, Story};
use crate::outcome::Outcome;
use crate::report::{first_paragraph, modes, references};
use crate::source::Span;

/// Columns by which a finding is indented.
const INDENT: usize = 3;

/// Columns by which a finding below another one is indented further.
const BELOW: usize = 4;

/// The open findings.
pub(super) fn open(outcome: &Outcome, paint: Paint) -> String {
    let open: Vec<&Finding> = outcome.open_findings().collect();
    if open.is_empty() {
        return section("Findings", "No open finding.\n", paint);
    }
    let ids: Vec<String> = open.iter().map(|finding| outcome.finding_id(finding)).collect();
    let is_below = |finding: &Finding| finding.under.as_ref().is_some_and(|under| ids.contains(under));
    let mut entries: Vec<(&Finding, Vec<&Finding>)> = Vec::new();
    for (finding, id) in open.iter().zip(&ids).filter(|(finding, _)| !is_below(finding)) {
        let below = open.iter().copied().filter(|other| other.under.as_deref() == Some(id)).collect();
        entries.push((finding, below));
    }
    entries.sort_by_key(|(finding, below)| worst(finding, below));
    let mut body = String::new();
    for (number, (finding, below)) in entries.iter().enumerate() {
        let number = format!("{}", number + 1);
        body.push_str(&one(outcome, finding, &format!("{number}."), 0, paint));
        if !below.is_empty() {
            let text = "It explains these; they may be gone once it is resolved:";
            body.push_str(&paragraph(text, INDENT));
            for (letter, finding) in ('a'..='z').chain(std::iter::repeat('z')).zip(below) {
                body.push('\n');
                body.push_str(&one(outcome, finding, &format!("{number}{letter}."), BELOW, paint));
            }
        }
        body.push('\n');
    }
    section("Findings, worst first", body.trim_end_matches('\n'), paint) + "\n"
}

fn worst(finding: &Finding, below: &[&Finding]) -> Severity {
    below.iter().map(|finding| finding.severity).chain([finding.severity]).min().unwrap_or(finding.severity)
}

fn one(outcome: &Outcome, finding: &Finding, number: &str, shift: usize, paint: Paint) -> String {
    let margin = shift + INDENT;
    let mut all = head(finding, number, shift, paint);
    all.push_str(&about(outcome, finding, margin));
    all.push_str(&paragraph(&finding.sentence, margin));
    if let Some(story) = &finding.witness {
        all.push_str(&tell(story, margin));
    }
    let mut say = |label: &str, text: &str| {
        if !text.is_empty() {
            all.push_str(&labelled(label, text, margin));
        }
    };
    say("Elements:", &elements(outcome, finding));
    say("Place:", &place(outcome, finding.place));
    // Lines that stand beside the elements already are not said again.
    let shown: Vec<usize> = finding
        .elements
        .iter()
        .filter_map(|tag| outcome.model.element_by_tag(tag))
        .map(|element| line_of(outcome, outcome.model.name(element).span))
        .collect();
    let further: Vec<String> = finding
        .also
        .iter()
        .filter(|(span, _)| !shown.contains(&line_of(outcome, *span)))
        .map(|(span, label)| format!("{} ({label})", place(outcome, *span)))
        .collect();
    say("See also:", &further.join("; "));
    say("Usually resolved:", &first_paragraph(finding.check));
    if let Some(requirement) = &finding.requirement {
        say("Requirement:", &format!("{requirement} (as named in the model)"));
    }
    say("References:", &references(finding.check));
    say("Id:", &outcome.finding_id(finding));
    say("More:", &format!("tripproof explain {}", finding.check.name()));
    all
}

fn head(finding: &Finding, number: &str, shift: usize, paint: Paint) -> String {
    let tone = match finding.severity {
        Severity::Serious => Tone::Bad,
        Severity::Warning => Tone::Doubt,
        Severity::Note => Tone::Quiet,
    };
    format!(
        "{}{number} {}  {}\n",
        " ".repeat(shift),
        paint.tone(tone, &finding.severity.word().to_uppercase()),
        paint.tone(Tone::Strong, finding.check.name())
    )
}

/// The hazard and the modes.
fn about(outcome: &Outcome, finding: &Finding, margin: usize) -> String {
    let mut all = String::new();
    if let Some(id) = finding.hazard {
        let name = &outcome.model.hazards[id].name;
        let text = name.title.as_ref().map_or(name.tag.clone(), |title| format!("{}, {title}", name.tag));
        all.push_str(&labelled("Hazard:", &text, margin));
    }
    if !finding.modes.is_empty() {
        let label = if finding.modes.len() == 1 { "Mode:" } else { "Modes:" };
        all.push_str(&labelled(label, &modes(&outcome.model, &finding.modes).join(", "), margin));
    }
    all
}

/// The tags with the lines on which they are declared.
fn elements(outcome: &Outcome, finding: &Finding) -> String {
    let shown = finding.elements.iter().map(|tag| match outcome.model.element_by_tag(tag) {
        Some(element) => {
            let span = outcome.model.name(element).span;
            format!("{tag} (line {})", line_of(outcome, span))
        }
        None => tag.clone(),
    });
    shown.collect::<Vec<_>>().join(", ")
}

fn line_of(outcome: &Outcome, span: Span) -> usize {
    outcome.source.place(span.start).line
}

fn place(outcome: &Outcome, span: Span) -> String {
    let place = outcome.source.place(span.start);
    format!("{}:{}:{}", outcome.source.name(), place.line, place.column)
}

/// The story line by line; a situation without a story, as its values.
fn tell(story: &Story, margin: usize) -> String {
    let mut all = paragraph("A situation that shows it, confirmed by the simulator:", margin);
    let values = story.values.iter().map(|(name, value)| format!("{name}: {value}"));
    let lines: Vec<String> = match story.lines.is_empty() {
        true => values.collect(),
        false => story.lines.clone(),
    };
    for line in &lines {
        all.push_str(&hanging(line, &format!("{}- ", " ".repeat(margin + 2)), margin + 4));
    }
    all
}

/// The accepted findings, each with who accepts it and why.
pub(super) fn accepted(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for finding in outcome.findings.iter().filter(|finding| finding.accepted.is_some()) {
        let number = finding.accepted.as_deref().map_or(String::new(), |tag| format!("{tag}:"));
        body.push_str(&head(finding, &number, 0, paint));
        body.push_str(&about(outcome, finding, INDENT));
        body.push_str(&paragraph(&finding.sentence, INDENT));
        let acceptance =
            outcome.model.accepted.iter().find(|a| Some(&a.name.tag) == finding.accepted.as_ref());
        if let Some(acceptance) = acceptance {
            body.push_str(&labelled("Reason:", &acceptance.reason, INDENT));
            let until = acceptance.expires.map_or_else(String::new, |day| format!(", until {day}"));
            let judged = if outcome.date.is_some() { "" } else { " (expiry not judged: no date given)" };
            let by = format!("{}{until}{judged}", acceptance.by);
            body.push_str(&labelled("Accepted by:", &by, INDENT));
        }
        body.push_str(&labelled("Id:", &outcome.finding_id(finding), INDENT));
    }
    section("Accepted findings", &body, paint)
}
