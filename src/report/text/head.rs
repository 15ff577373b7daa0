//! The head of the report: what was examined, with which tools, and with what result.

use super::wrap::{Paint, Tone, WIDTH, hanging, paragraph};
use crate::outcome::Outcome;
use crate::report::content::{head, title};

/// Columns of the labels.
const LABEL: usize = 18;

/// Where the claims are listed that this form of the report only counts.
const ELSEWHERE: &str = "This form of the report counts the proved claims; `--format markdown` and `--format json` list \
                         every claim with its verdict.";

/// The head.
pub(super) fn head(outcome: &Outcome, paint: Paint) -> String {
    let mut all = format!("{}\n\n", paint.tone(Tone::Strong, title::REPORT));
    for (label, text) in head::facts(outcome) {
        let line = match text.chars().count() > WIDTH - LABEL && !text.contains(' ') {
            // One word that would not fit beside its label.
            true => format!("{label}:\n{}", paragraph(&text, 2)),
            false => hanging(&text, &format!("{:LABEL$}", format!("{label}:")), LABEL),
        };
        match label == head::STATUS {
            true => all.push_str(&painted(&line, tone(outcome, &text), paint)),
            false => all.push_str(&line),
        }
    }
    format!("{all}\n{}\n{}", paragraph(head::VERDICTS, 0), paragraph(ELSEWHERE, 0))
}

fn tone(outcome: &Outcome, status: &str) -> Tone {
    match (outcome.exit_code(), status) {
        (_, "nothing open") => Tone::Good,
        (3, _) => Tone::Doubt,
        _ => Tone::Bad,
    }
}

fn painted(text: &str, tone: Tone, paint: Paint) -> String {
    let lines: Vec<String> = text.lines().map(|line| paint.tone(tone, line)).collect();
    lines.join("\n") + "\n"
}
