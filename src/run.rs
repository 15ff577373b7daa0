//! The pipeline: from options to the bytes of a report. The only place where all layers meet.
//!
//! Reads and writes files, but not the standard streams: those are `main`'s. Words of reports are not made here.

mod manual;
mod output;
mod paths;
mod read;

use std::path::Path;

use crate::assess::{assess, why};
use crate::cli::{CheckOptions, Color, Command, Format, Schema};
use crate::conclude::conclude_on;
use crate::engine::both::Both;
use crate::engine::diagram::Diagram;
use crate::engine::smt::Smt;
use crate::engine::{Engine, EngineError};
use crate::model::{Element, ModeId, Model};
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::report::{self, Entry, json, markdown, summary, terminal, text};
use crate::source::Source;

/// Most work for one question, in the solver's own count, so that a result does not depend on how fast or busy the
/// machine is.
const WORK: u32 = 100_000_000;

/// Most nodes of the decision diagrams for one question, which are the second opinion.
const NODES: usize = 400_000;

/// The engines: the solver answers, the decision diagrams confirm.
fn engines() -> Result<Both<Smt, Diagram>, EngineError> {
    Ok(Both { first: Smt::new(WORK)?, second: Diagram::new(NODES) })
}

/// What the program runs in.
#[derive(Debug, Clone, Copy, Default)]
pub struct Host {
    /// Standard output is a terminal.
    pub stdout_is_terminal: bool,
    /// Standard error is a terminal.
    pub stderr_is_terminal: bool,
    /// The user wants no colour anywhere.
    pub no_color: bool,
}

/// What is to be written where, and how the program ends.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Product {
    /// For standard output.
    pub stdout: String,
    /// For standard error.
    pub stderr: String,
    /// The exit code.
    pub code: u8,
}

impl Product {
    fn out(stdout: String) -> Self {
        Product { stdout, ..Product::default() }
    }

    fn wrong(stderr: String) -> Self {
        Product { stderr, code: 2, ..Product::default() }
    }
}

/// Does what is asked.
pub fn run(command: &Command, host: &Host) -> Product {
    match command {
        Command::Check(options) => check(options, host),
        Command::Explain(name) => manual::explain(name.as_deref(), host),
        Command::Paths(options) => paths::paths(options, host),
        Command::Schema(Schema::Language) => Product::out(manual::language_schema()),
        Command::Schema(Schema::Report) => Product::out(json::schema()),
        Command::Schema(Schema::Paths) => Product::out(crate::report::paths::json::schema()),
        Command::Version => Product::out(version()),
        Command::Help(text) => Product::out(text.clone()),
        Command::Wrong(text) => Product::wrong(text.clone()),
    }
}

fn version() -> String {
    let solver = match engines() {
        Ok(engine) => format!("solver {}", engine.name()),
        Err(error) => format!("solver: {}", error.0),
    };
    format!("tripproof {}\n{solver}\n", env!("CARGO_PKG_VERSION"))
}

fn check(options: &CheckOptions, host: &Host) -> Product {
    if let Some(path) = &options.output
        && let Err(message) = output::usable(path, &options.models)
    {
        return Product::wrong(format!("error: {message}\n"));
    }
    let engine = match engines() {
        Ok(engine) => engine,
        Err(error) => return Product::wrong(format!("error: {}\n", error.0)),
    };
    let entries: Vec<Entry> = options.models.iter().map(|path| examine(path, &engine, options)).collect();
    let code = strongest(entries.iter().map(Entry::exit_code));
    let color = |is_terminal: bool| colored(options.color, is_terminal, host);
    let mut product =
        Product { stderr: complaints(&entries, color(host.stderr_is_terminal)), code, ..Product::default() };
    match &options.output {
        None => {
            product.stdout = match options.format {
                Format::Json => json::render(&entries, &engine.name(), code),
                Format::Markdown => markdown::render(&entries),
                Format::Text => text::render(&entries, color(host.stdout_is_terminal), false),
            };
        }
        Some(path) => {
            let report = match options.format {
                Format::Json => json::render(&entries, &engine.name(), code),
                Format::Markdown => markdown::render(&entries),
                Format::Text => text::render(&entries, options.color == Color::Always, true),
            };
            match output::replace(path, report.as_bytes()) {
                Ok(()) => product.stderr.push_str(&summary(&entries, path)),
                Err(message) => return Product::wrong(format!("{}error: {message}\n", product.stderr)),
            }
        }
    }
    product
}

fn colored(color: Color, is_terminal: bool, host: &Host) -> bool {
    match color {
        Color::Always => true,
        Color::Never => false,
        Color::Auto => is_terminal && !host.no_color,
    }
}

/// What is wrong with the models, drawn.
fn complaints(entries: &[Entry], color: bool) -> String {
    let mut all = String::new();
    for entry in entries {
        match entry {
            Entry::Examined(outcome) => {
                all.push_str(&report::contradictions(outcome.source.name(), &outcome.contradictions))
            }
            Entry::Refused { source, problems } => all.push_str(&terminal::draw(source, problems, color)),
            Entry::Failed { message, .. } => all.push_str(&format!("error: {message}\n")),
        }
    }
    all
}

/// The exit code of several models: disagreement, then a wrong model, then open findings, then undecided.
fn strongest(codes: impl Iterator<Item = u8>) -> u8 {
    let codes: Vec<u8> = codes.collect();
    [4, 2, 1, 3].into_iter().find(|code| codes.contains(code)).unwrap_or(0)
}

fn examine(path: &Path, engine: &dyn Engine, options: &CheckOptions) -> Entry {
    let file = path.display().to_string();
    let (source, sha256) = match read::source(path) {
        Ok(read) => read,
        Err(entry) => return *entry,
    };
    let model = match load(&source) {
        Ok(model) => model,
        Err(problems) => return Entry::Refused { source, problems },
    };
    let assessed = assess(&model, engine).and_then(|mut assessment| {
        if options.why {
            assessment.reasons = Some(why::reasons(&model, engine, &assessment)?);
        }
        Ok(assessment)
    });
    let assessment = match assessed {
        Ok(assessment) => assessment,
        Err(error) => {
            let message = format!("{file}: the solver could not do its work: {}", error.0);
            return Entry::Failed { file, code: "solver", message };
        }
    };
    let problems: Vec<Problem> =
        assessment.impossible_modes.iter().map(|mode| impossible(&model, *mode)).collect();
    if !problems.is_empty() {
        return Entry::Refused { source, problems };
    }
    let outcome = conclude_on(source, model, &assessment, engine.name(), options.date);
    Entry::Examined(Box::new(Outcome { sha256, tells_margins: options.times, ..outcome }))
}

fn impossible(model: &Model, mode: ModeId) -> Problem {
    let group = model.tag(Element::Group(model.modes[mode].group));
    let name = &model.modes[mode].name;
    Problem::new(
        "impossible-mode",
        name.span,
        format!("the couplings leave mode `{}` of group `{group}` without any situation", name.tag),
        "nothing can happen in this mode",
    )
    .help(
        "every claim about this mode would hold for no reason; compare the couplings with each other, with the \
         ranges of the quantities and with what they say about this mode",
    )
}

fn load(source: &Source) -> Result<Model, Vec<Problem>> {
    crate::load::load(source)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_strongest_exit_code_wins() {
        let of = |codes: &[u8]| strongest(codes.iter().copied());
        assert_eq!(of(&[]), 0);
        assert_eq!(of(&[0, 3]), 3);
        assert_eq!(of(&[3, 1, 0]), 1);
        assert_eq!(of(&[1, 3, 2]), 2);
        assert_eq!(of(&[2, 4, 1]), 4);
    }
}
