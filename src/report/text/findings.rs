//! The findings, worst first, those of hazards below the structural one that explains them; and the accepted ones.

use super::section;
use super::wrap::{Paint, Tone, WIDTH, hanging, labelled, paragraph};
use crate::finding::{Finding, Severity, Story};
use crate::outcome::Outcome;
use crate::report::content::{self, findings, title};
use crate::report::{hint, references};

/// Columns by which a finding is indented.
const INDENT: usize = 3;

/// Columns by which a finding below another one is indented further.
const BELOW: usize = 4;

/// The open findings.
pub(super) fn open(outcome: &Outcome, paint: Paint) -> String {
    let open = findings::open(outcome);
    if open.is_empty() {
        return section(title::NO_FINDINGS, &format!("{}\n", content::NO_FINDINGS), paint);
    }
    let mut body = String::new();
    if findings::any_situation(outcome) {
        body.push_str(&format!("{}\n", paragraph(findings::REPLAY, 0)));
    }
    for entry in &open {
        body.push_str(&one(outcome, entry.finding, &format!("{}.", entry.number), 0, paint));
        if !entry.below.is_empty() {
            body.push_str(&paragraph(findings::EXPLAINS, INDENT));
            for (number, finding) in &entry.below {
                body.push('\n');
                body.push_str(&one(outcome, finding, &format!("{number}."), BELOW, paint));
            }
        }
        body.push('\n');
    }
    section(title::FINDINGS, body.trim_end_matches('\n'), paint) + "\n"
}

fn one(outcome: &Outcome, finding: &Finding, number: &str, shift: usize, paint: Paint) -> String {
    let margin = shift + INDENT;
    let mut all = head(finding, number, shift, paint);
    all.push_str(&about(outcome, finding, margin));
    all.push_str(&paragraph(&finding.sentence, margin));
    if !finding.each.is_empty() {
        all.push_str(&paragraph(findings::EACH, margin));
        all.push_str(&items(&finding.each, margin));
    }
    if let Some(story) = &finding.witness {
        all.push_str(&tell(story, margin));
    }
    if !finding.steps.is_empty() {
        all.push_str(&paragraph(findings::STEPS, margin));
        let numbered = finding.steps.iter().enumerate();
        all.extend(numbered.map(|(place, line)| {
            hanging(line, &format!("{}{}. ", " ".repeat(margin + 2), place + 1), margin + 5)
        }));
    }
    let mut say = |label: &str, text: &str| {
        if !text.is_empty() {
            all.push_str(&labelled(label, text, margin));
        }
    };
    say("Elements:", &findings::elements(outcome, finding));
    say("Place:", &findings::place(outcome, finding.place));
    let further = findings::further(outcome, finding);
    let further: Vec<String> = further.iter().map(|(place, label)| format!("{place} ({label})")).collect();
    say("See also:", &further.join("; "));
    say("Usually resolved:", &hint(&outcome.model, finding));
    say("Requirement:", &findings::requirement(finding).unwrap_or_default());
    say("References:", &references(finding.check));
    all.push_str(&id(outcome, finding, margin));
    let mut say = |label: &str, text: &str| all.push_str(&labelled(label, text, margin));
    say("More:", &findings::more(finding));
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
    let about = findings::about(outcome, finding);
    about.iter().map(|(label, text)| labelled(label, text, margin)).collect()
}

/// A situation line by line.
fn tell(story: &Story, margin: usize) -> String {
    let cautions = match story.cautions.is_empty() {
        true => String::new(),
        false => paragraph(findings::CAUTION, margin) + &items(&story.cautions, margin),
    };
    let shown = paragraph(findings::SHOWN, margin) + &items(&findings::lines(story), margin);
    cautions + &shown
}

fn items(lines: &[String], margin: usize) -> String {
    let first = format!("{}- ", " ".repeat(margin + 2));
    lines.iter().map(|line| hanging(line, &first, margin + 4)).collect()
}

/// The id, broken where it does not fit: after `/`, and within the elements after `+`.
fn id(outcome: &Outcome, finding: &Finding, margin: usize) -> String {
    let id = outcome.finding_id(finding);
    let parts = pieces(&id, WIDTH.saturating_sub(margin + "Id: ".len()));
    let mut lines = parts.iter().map(String::as_str);
    let mut all = labelled("Id:", lines.next().unwrap_or_default(), margin);
    all.extend(lines.map(|line| paragraph(line, margin + 2)));
    all
}

fn pieces(id: &str, width: usize) -> Vec<String> {
    if id.chars().count() <= width {
        return vec![id.to_string()];
    }
    let whole: Vec<&str> = id.split_inclusive('/').collect();
    // The elements go on a line of their own, as far as they fit.
    let (head, tail) = whole.split_at(whole.len().saturating_sub(1));
    let parts = tail.iter().flat_map(|tail| tail.split_inclusive('+'));
    let mut lines = vec![head.concat()];
    for (number, part) in parts.enumerate() {
        match lines.last_mut() {
            Some(line) if number > 0 && line.chars().count() + part.chars().count() <= width => {
                line.push_str(part);
            }
            _ => lines.push(part.to_string()),
        }
    }
    lines
}

/// The accepted findings, those of one acceptance together, with who accepts them and why.
pub(super) fn accepted(outcome: &Outcome, paint: Paint) -> String {
    let mut body = String::new();
    for (acceptance, accepted) in findings::by_acceptance(outcome) {
        body.push_str(&paragraph(&findings::covers(acceptance, accepted.len()), 0));
        for (label, text) in findings::acceptance(outcome, acceptance) {
            body.push_str(&labelled(label, &text, INDENT));
        }
        for finding in accepted {
            body.push_str(&head(finding, &format!("{}:", acceptance.name.tag), 0, paint));
            body.push_str(&about(outcome, finding, INDENT));
            body.push_str(&paragraph(&finding.sentence, INDENT));
            body.push_str(&id(outcome, finding, INDENT));
        }
    }
    section(title::ACCEPTED, &body, paint)
}
