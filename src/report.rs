//! Reports: what was found, made into text. One renderer per form: terminal drawing of errors, text, Markdown,
//! JSON. What the two for people have in common is in `content`.
//!
//! Renderers read an [`Outcome`] and say nothing that is not in it; they decide nothing and write no files. No
//! report says that a plant is safe or that anything is certified: only what was shown of a model.

mod content;
pub mod json;
pub mod markdown;
pub mod paths;
#[cfg(test)]
mod samples;
pub mod terminal;
pub mod text;

use std::path::Path;

use crate::check::Check;
use crate::finding::Finding;
use crate::model::{Cause, Device, HazardId, ModeId, Model};
use crate::outcome::{Cell, Contradiction, OfTime, Outcome, Paths, Tolerance};
use crate::problem::Problem;
use crate::source::Source;

/// What became of one model file.
#[derive(Debug, Clone)]
pub enum Entry {
    /// It was examined.
    Examined(Box<Outcome>),
    /// Its text is wrong; nothing was examined.
    Refused {
        /// The text, for the places.
        source: Source,
        /// What is wrong, at least one.
        problems: Vec<Problem>,
    },
    /// There was no text to look at, or no solver to look at it; nothing was examined.
    Failed {
        /// The file as the user named it.
        file: String,
        /// Kebab-case class of the error.
        code: &'static str,
        /// What went wrong, with the way out.
        message: String,
    },
}

impl Entry {
    /// The exit code for this file alone.
    pub fn exit_code(&self) -> u8 {
        match self {
            Entry::Examined(outcome) => outcome.exit_code(),
            Entry::Refused { .. } | Entry::Failed { .. } => 2,
        }
    }

    /// The file as the user named it.
    pub fn file(&self) -> &str {
        match self {
            Entry::Examined(outcome) => outcome.source.name(),
            Entry::Refused { source, .. } => source.name(),
            Entry::Failed { file, .. } => file,
        }
    }
}

/// What every report says about time.
pub const TIME: &str = "Claims about time say so, and use the times that the model declares. Every other result holds for a \
                        situation that lasts as long as it takes.";

/// The state of a report in a few words. Undecided claims and open findings are both told.
pub fn status(outcome: &Outcome) -> String {
    let counts = outcome.counts();
    let incomplete = match counts.undecided {
        0 => None,
        1 => Some("incomplete (1 claim undecided)".to_string()),
        n => Some(format!("incomplete ({n} claims undecided)")),
    };
    let mut words: Vec<String> = Vec::new();
    if outcome.disagrees() {
        words.push("internal disagreement: trust no result of this model".into());
    }
    if counts.refuted > 0 || outcome.open_findings().next().is_some() {
        words.push("with open findings".into());
    }
    words.extend(incomplete);
    match words.is_empty() {
        true => "nothing open".into(),
        false => words.join("; "),
    }
}

/// The names of modes; with their group where the model has several.
pub fn modes(model: &Model, modes: &[ModeId]) -> Vec<String> {
    modes
        .iter()
        .map(|id| {
            let mode = &model.modes[*id];
            match model.groups.len() {
                0 | 1 => mode.name.tag.clone(),
                _ => format!("{} {}", model.groups[mode.group].name.tag, mode.name.tag),
            }
        })
        .collect()
}

fn figures(paths: Paths, tolerance: Tolerance) -> String {
    let paths = match paths {
        Paths::Exactly(n) => n.to_string(),
        Paths::Unlimited => "any".into(),
    };
    match tolerance {
        Tolerance::None => "none".to_string(),
        Tolerance::Exactly(n) => format!("{paths}/{n}"),
        Tolerance::AtLeast(n) => format!("{paths}/≥{n}"),
    }
}

/// A cell of the hazard-by-mode table in a few characters.
pub fn cell(cell: &Cell) -> String {
    match cell {
        Cell::Examined { paths, tolerance, meets, initiator, time } => {
            let figures = figures(*paths, *tolerance);
            let with = if *initiator { "*" } else { "" };
            let short = if *meets { "" } else { " !" };
            let time = match time {
                OfTime::InTime => String::new(),
                OfTime::Less { paths, tolerance } => format!(" ({})", self::figures(*paths, *tolerance)),
                OfTime::Undecided => " t?".into(),
                OfTime::NoTime => " ~".into(),
            };
            format!("{figures}{with}{short}{time}")
        }
        Cell::Undecided => "undecided".into(),
        Cell::Impossible => "never".into(),
        Cell::Excluded(_) => "-".into(),
        Cell::NotConsidered => "?".into(),
    }
}

/// How a finding of this check is usually resolved, in one paragraph.
fn first_paragraph(check: Check) -> String {
    paragraphs(check).into_iter().next().unwrap_or_default()
}

/// Begins the paragraph that holds in place of the first one where a hazard has no second trip that counts.
const FEW_TRIPS: &str = "Where fewer than two credited trips command the safe state: ";

/// How this finding is usually resolved, in one paragraph that fits the number of trips credited for its hazard, not
/// counting those that command nothing of its safe state.
pub fn hint(model: &Model, finding: &Finding) -> String {
    let credited = |hazard: HazardId| {
        let devices: Vec<Device> =
            model.hazards[hazard].safe_state.atoms().into_iter().map(|at| at.device).collect();
        let commands = |cause: &Cause| {
            let mut set = cause.demands.iter().flat_map(|effect| &model.effects[*effect].set);
            set.any(|(actuator, _)| devices.contains(&Device::Actuator(*actuator)))
        };
        let causes = model.causes.iter();
        causes.filter(|(_, cause)| cause.credited_for.contains(&hazard) && commands(cause)).count()
    };
    if finding.hazard.is_some_and(|hazard| credited(hazard) < 2)
        && let Some(hint) = paragraphs(finding.check).iter().find_map(|text| text.strip_prefix(FEW_TRIPS))
    {
        let mut letters = hint.chars();
        return letters
            .next()
            .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str());
    }
    first_paragraph(finding.check)
}

fn paragraphs(check: Check) -> Vec<String> {
    let section = check.section("How to resolve");
    section.split("\n\n").map(|text| text.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

/// The standards that a check refers to; always with the word that nobody has verified them.
pub fn references(check: Check) -> String {
    let text = check.section("References").split_whitespace().collect::<Vec<_>>().join(" ");
    match ["IEC", "ISO", "EN "].iter().any(|body| text.contains(body)) && !text.contains("not verified") {
        true => format!("{text} (recalled, not verified)"),
        false => text,
    }
}

/// `1 word`, `2 words`.
pub(crate) fn counted(number: usize, word: &str) -> String {
    if number == 1 { format!("1 {word}") } else { format!("{number} {word}s") }
}

/// What reproduces the questions that two engines answer differently, in whole; nothing if there are none.
pub fn contradictions(file: &str, contradictions: &[Contradiction]) -> String {
    let mut all = String::new();
    for contradiction in contradictions {
        all.push_str(&format!(
            "error: two engines answer the same question about {} differently\n; About: {}\n",
            file, contradiction.about
        ));
        for (engine, answer) in &contradiction.answers {
            all.push_str(&format!("; {engine}: {answer}\n"));
        }
        all.push_str("; The question speaks of:\n");
        for (line, element) in &contradiction.depends {
            all.push_str(&format!(";   line {line}: {element}\n"));
        }
        all.push_str(&contradiction.question);
    }
    all
}

/// A line for each model, for whoever has the report written to a file.
pub fn summary(entries: &[Entry], written: &Path) -> String {
    let mut all = String::new();
    for entry in entries {
        let line = match entry {
            Entry::Examined(outcome) => {
                let counts = outcome.counts();
                format!(
                    "{}: {}; {} proved, {} refuted, {} accepted, {} undecided, {} not applicable; {}.",
                    entry.file(),
                    status(outcome),
                    counts.proved,
                    counts.refuted,
                    counts.accepted,
                    counts.undecided,
                    counts.not_applicable,
                    counted(outcome.open_findings().count(), "open finding"),
                )
            }
            Entry::Refused { .. } | Entry::Failed { .. } => {
                format!("{}: nothing was examined.", entry.file())
            }
        };
        all.push_str(&line);
        all.push('\n');
    }
    all + &format!("The report is in {}.\n", written.display())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;

    #[test]
    fn a_hint_about_the_second_trip_is_given_only_where_there_is_one() {
        let text = include_str!("model/lower/tests/cell.yaml");
        let mut finding = samples::outcome().findings.remove(0);
        let model = |text: &str| crate::load::load(&Source::new("cell.yaml", text)).expect("the model loads");
        finding.check = Check::FaultDefeatsProtection;
        let second = hint(&model(text), &finding);
        assert!(second.starts_with("Give the second trip a part of its own"), "{second}");
        let lone = text.replacen("credited_for: [H-IGNITION]", "purpose: alarm", 1);
        assert_ne!(lone, text);
        let first = hint(&model(&lone), &finding);
        assert!(first.starts_with("Give a trip that is credited and lacks its mark"), "{first}");
        // A check without a second paragraph has one hint.
        finding.check = Check::TripCannotFire;
        assert_eq!(hint(&model(&lone), &finding), first_paragraph(Check::TripCannotFire));
    }
}
