//! What becomes of a mutant: refused, told, or compared with the model that it was made from.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};

use tripproof::assess::{Assessment, assess};
use tripproof::check::Check;
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::model::Model;
use tripproof::outcome::Outcome;
use tripproof::source::Source;

use super::compare::{Compared, Original};
use super::operators::{Mutant, Operator};
use super::text::Text;

/// What became of a mutant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// The loader refuses it, with this problem.
    Refused(String),
    /// A check that the operator expects tells it; all that tell it.
    Expected(BTreeSet<Check>),
    /// Only other checks tell it.
    Other(BTreeSet<Check>),
    /// No finding, but claims are undecided that were proved, which the report tells.
    Undecided,
    /// Harmless: no set of faults defeats more than before.
    Harmless { changed: usize, of: usize },
    /// Harmless for what is required: some does, and everything that is required still holds, in every set of faults.
    AsRequired { hazard: String },
    /// None of these.
    Survivor(String),
}

impl Verdict {
    /// Whether somebody who has the mutant checked is told of its defect.
    pub fn is_told(&self) -> bool {
        matches!(self, Verdict::Refused(_) | Verdict::Expected(_) | Verdict::Other(_) | Verdict::Undecided)
    }
}

/// Judges the mutants of one model.
pub struct Judge<'t> {
    original: Original<'t>,
    engine: &'t Smt,
    /// Open findings of the model itself.
    before: BTreeSet<(String, Vec<String>)>,
}

impl<'t> Judge<'t> {
    pub fn new(text: &'t Text) -> Judge<'t> {
        // As long as the test: every judge of a thread uses it.
        let engine: &'t Smt = Box::leak(Box::new(Smt::new(50_000_000).unwrap()));
        let assessment = assess(&text.model, engine).unwrap();
        let outcome =
            conclude(Source::new(text.name, text.text), text.model.clone(), &assessment, engine.name());
        assert_eq!(outcome.exit_code(), 0, "{} is not in order", text.name);
        Judge {
            original: Original::new(&text.model, engine, &assessment),
            engine,
            before: open(&outcome).into_iter().map(|(_, id, modes)| (id, modes)).collect(),
        }
    }

    pub fn judge(&mut self, operator: &Operator, mutant: &Mutant) -> Verdict {
        let judged = catch_unwind(AssertUnwindSafe(|| self.judged(operator, mutant)));
        judged.unwrap_or_else(|_| Verdict::Survivor("panicked".into()))
    }

    fn judged(&mut self, operator: &Operator, mutant: &Mutant) -> Verdict {
        let source = Source::new("mutant.yaml", mutant.text.as_str());
        let model = match load(&source) {
            Ok(model) => model,
            Err(problems) => return Verdict::Refused(problems[0].code.to_string()),
        };
        let (model, assessment, outcome) = examine(source, model, self.engine);
        if !outcome.disagreements.is_empty() {
            return Verdict::Survivor("engine and simulator disagree".into());
        }
        let new: BTreeSet<Check> = open(&outcome)
            .into_iter()
            .filter(|(_, id, modes)| !self.before.contains(&(id.clone(), modes.clone())))
            .map(|(check, ..)| check)
            .collect();
        if new.iter().any(|check| operator.expects(*check)) {
            return Verdict::Expected(new);
        }
        if !new.is_empty() {
            return Verdict::Other(new);
        }
        if outcome.exit_code() == 3 {
            return Verdict::Undecided;
        }
        if outcome.exit_code() != 0 {
            return Verdict::Survivor(format!("no new finding, and exit code {}", outcome.exit_code()));
        }
        match self.original.compare(&model, &assessment) {
            Compared::NoWeaker { changed, of } => Verdict::Harmless { changed, of },
            Compared::AsRequired { hazard } => Verdict::AsRequired { hazard },
            Compared::Weaker { hazard, cut } => {
                Verdict::Survivor(format!("{hazard} is defeated by {}", cut.join(" + ")))
            }
            Compared::Failed(reason) => Verdict::Survivor(format!("cannot be compared: {reason}")),
        }
    }
}

fn examine(source: Source, model: Model, engine: &Smt) -> (Model, Assessment, Outcome) {
    let assessment = assess(&model, engine).unwrap();
    let outcome = conclude(source, model.clone(), &assessment, engine.name());
    (model, assessment, outcome)
}

/// The open findings: check, id, modes.
fn open(outcome: &Outcome) -> Vec<(Check, String, Vec<String>)> {
    let modes = |finding: &tripproof::finding::Finding| {
        finding.modes.iter().map(|mode| outcome.model.modes[*mode].name.tag.clone()).collect()
    };
    outcome
        .open_findings()
        .map(|finding| (finding.check, outcome.finding_id(finding), modes(finding)))
        .collect()
}
