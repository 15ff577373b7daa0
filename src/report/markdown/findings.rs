//! The findings, worst first and under a heading for each severity; and the accepted ones.

use super::inline::Inline;
use super::page::{Page, capital};
use crate::finding::{Finding, Severity};
use crate::outcome::Outcome;
use crate::report::content::{self, findings, title};
use crate::report::{hint, references};

/// Below the heading of a severity where milder findings stand among them.
const EXPLAINING: &str =
    "A milder finding that explains one of these stands here too, before those that it explains.";

/// The open findings, with the numbers that they have in the text report.
pub(super) fn open(page: &mut Page, outcome: &Outcome) {
    let open = findings::open(outcome);
    if open.is_empty() {
        page.title(2, title::NO_FINDINGS);
        page.paragraph(Inline::new().text(content::NO_FINDINGS));
        return;
    }
    page.title(2, title::FINDINGS);
    if findings::any_situation(outcome) {
        page.paragraph(Inline::new().text(findings::REPLAY));
    }
    let mut group: Option<Severity> = None;
    for entry in &open {
        if group != Some(entry.worst) {
            group = Some(entry.worst);
            page.title(3, &capital(entry.worst.word()));
            let milder = |other: &findings::Numbered<'_>| other.finding.severity != entry.worst;
            if open.iter().any(|other| other.worst == entry.worst && milder(other)) {
                page.paragraph(Inline::new().text(EXPLAINING));
            }
        }
        page.heading(4, head(outcome, entry.finding, &format!("{}.", entry.number)));
        body(page, outcome, entry.finding);
        if !entry.below.is_empty() {
            page.paragraph(Inline::new().text(findings::EXPLAINS));
        }
        for (number, finding) in &entry.below {
            page.heading(4, head(outcome, finding, &format!("{number}.")));
            body(page, outcome, finding);
        }
    }
}

/// The accepted findings; that there is none is said as well.
pub(super) fn accepted(page: &mut Page, outcome: &Outcome) {
    page.title(2, title::ACCEPTED);
    if findings::accepted(outcome).next().is_none() {
        page.paragraph(Inline::new().text("No finding is accepted."));
    }
    for (acceptance, accepted) in findings::by_acceptance(outcome) {
        let number = format!("{}:", acceptance.name.tag);
        page.paragraph(Inline::new().text(&findings::covers(acceptance, accepted.len())));
        let facts = findings::acceptance(outcome, acceptance);
        page.list(facts.iter().map(|(label, text)| labelled(label).text(text)));
        for finding in accepted {
            page.heading(3, head(outcome, finding, &number));
            body(page, outcome, finding);
        }
    }
}

/// Number, severity and check, and the hazard or the one element that it is about, so that an outline can be read.
fn head(outcome: &Outcome, finding: &Finding, number: &str) -> Inline {
    let severity = capital(finding.severity.word());
    let line = Inline::new().text(number).text(&format!(" {severity}: ")).text(finding.check.name());
    match (finding.hazard, finding.elements.as_slice()) {
        (Some(hazard), _) => line.text(", ").text(&outcome.model.hazards[hazard].name.tag),
        (None, [tag]) => line.text(", ").text(tag),
        (None, _) => line,
    }
}

fn labelled(label: &str) -> Inline {
    Inline::new().strong(label).text(" ")
}

/// Everything that is told of one finding: what, where, how it comes about, and what helps.
fn body(page: &mut Page, outcome: &Outcome, finding: &Finding) {
    page.paragraph(Inline::new().sentence(&finding.sentence));
    page.list(whereabouts(outcome, finding));
    if !finding.each.is_empty() {
        page.paragraph(Inline::new().text(findings::EACH));
        page.list(finding.each.iter().map(|line| Inline::new().sentence(line)));
    }
    if let Some(story) = &finding.witness {
        if !story.cautions.is_empty() {
            page.paragraph(Inline::new().text(findings::CAUTION));
            page.list(story.cautions.iter().map(|line| Inline::new().sentence(line)));
        }
        page.paragraph(Inline::new().text(findings::SHOWN));
        page.steps(findings::lines(story).iter().map(|line| Inline::new().sentence(line)));
    }
    if !finding.steps.is_empty() {
        page.paragraph(Inline::new().text(findings::STEPS));
        page.steps(finding.steps.iter().map(|line| Inline::new().sentence(line)));
    }
    // Two lists in a row would be one.
    let help = labelled("Usually resolved:").sentence(&hint(&outcome.model, finding));
    page.paragraph(help);
    page.list([
        labelled("References:").sentence(&references(finding.check)),
        labelled("Id:").code(&outcome.finding_id(finding)),
        labelled("More:").code(&findings::more(finding)),
    ]);
}

/// Hazard, modes, elements, places and the requirement.
fn whereabouts(outcome: &Outcome, finding: &Finding) -> Vec<Inline> {
    let mut facts = findings::about(outcome, finding);
    let elements = findings::elements(outcome, finding);
    if !elements.is_empty() {
        facts.push(("Elements:", elements));
    }
    let mut all: Vec<Inline> = facts.iter().map(|(label, text)| labelled(label).text(text)).collect();
    all.push(labelled("Place:").code(&findings::place(outcome, finding.place)));
    let further = findings::further(outcome, finding);
    if !further.is_empty() {
        all.push(further.iter().enumerate().fold(labelled("See also:"), |line, (number, (place, label))| {
            let line = if number == 0 { line } else { line.text("; ") };
            line.code(place).text(" (").sentence(label).text(")")
        }));
    }
    all.extend(findings::requirement(finding).map(|text| labelled("Requirement:").text(&text)));
    all
}
