//! The command line: arguments to plain options, and the words of `--help`.
//!
//! The only place that knows the argument parser. Runs nothing and reads no files.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::error::ErrorKind;
use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::date::{Date, NotADate};

/// What the user wants.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Command {
    /// Examine models.
    Check(CheckOptions),
    /// Show the manual page of a check; without a name, list the checks.
    Explain(Option<String>),
    /// Print cut sets and path sets.
    Paths(PathsOptions),
    /// Print a JSON Schema.
    Schema(Schema),
    /// Print the versions of program and solver.
    Version,
    /// Show this help, which was asked for.
    Help(String),
    /// The arguments make no sense, for the reason given.
    Wrong(String),
}

/// Of what the JSON Schema is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Schema {
    /// The model language.
    Language,
    /// The JSON report of `check`.
    Report,
    /// The JSON report of `paths`.
    Paths,
}

/// Which cut sets and path sets of which model.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PathsOptions {
    /// Model file.
    pub model: PathBuf,
    /// Tag of the one hazard that is wanted.
    pub hazard: Option<String>,
    /// The one mode that is wanted: its name, or group and name.
    pub mode: Option<String>,
    /// Greatest number of sources in the cut sets that are listed.
    pub order: usize,
    /// Whether as JSON, or as text.
    pub json: bool,
    /// Where to write it; absent: standard output.
    pub output: Option<PathBuf>,
    /// Whether to use colour.
    pub color: Color,
}

/// How to examine which models.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckOptions {
    /// Model files, at least one.
    pub models: Vec<PathBuf>,
    /// Form of the report.
    pub format: Format,
    /// Where to write it; absent: standard output.
    pub output: Option<PathBuf>,
    /// Whether to use colour.
    pub color: Color,
    /// The day for which expiries are judged; absent: they are listed and not judged.
    pub date: Option<Date>,
    /// Whether to say why the proved claims hold.
    pub why: bool,
    /// Whether to show response times and margins.
    pub times: bool,
}

/// Form of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people, 80 columns wide
    Text,
    /// For programs; `tripproof schema --report` prints its schema
    Json,
    /// For code reviews and wikis: a Markdown document with tables, and every claim in it
    Markdown,
}

/// Whether to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

const AFTER: &str = "\
Example:
  tripproof check cell.yaml
  tripproof check --format json --output report.json bay-1.yaml bay-2.yaml
  tripproof check --format markdown --output review.md cell.yaml
  tripproof explain too-few-disjoint-paths

Exit codes of `check` (with several models the first of 4, 2, 1, 3, 0 that applies):
  0  every claim is proved, accepted or does not arise; nothing is open
  1  there are open findings
  2  a model or the command line is wrong, or the program is not installed as it must be
  3  no open finding, but at least one claim is undecided
  4  solver and simulator disagree, or two engines do: an error of this program; trust no result of
     that model, and report what stands on standard error

A result speaks about the model, not about the installation. It replaces neither the risk
assessment, nor local rules, nor the signature of a person licensed where the law requires it.";

#[derive(Parser)]
#[command(name = "tripproof", version, after_help = AFTER, arg_required_else_help = true, max_term_width = 100)]
/// Examines the interlock logic of a plant.
///
/// You write down the cause-and-effect of the plant in a YAML file: sensors, causes, effects, actuators, supplies,
/// operating modes, and the hazards with the state that averts each. For every hazard in every mode, tripproof then
/// looks for a situation in which the protection does not act: under one fault, under a permitted override, with
/// shared equipment lost. It shows each one it finds, step by step, and says what is proved about the rest.
struct Arguments {
    #[command(subcommand)]
    command: Subcommands,
}

#[derive(Subcommand)]
enum Subcommands {
    /// Examine models and report findings
    Check(CheckArguments),
    /// Show what a check looks for, why it matters and how to resolve it
    Explain {
        /// Name of the check as in the report; without it, all checks are listed
        #[arg(value_name = "CHECK")]
        check: Option<String>,
    },
    /// List minimal cut sets and path sets, and how much each element matters
    Paths(PathsArguments),
    /// Print the JSON Schema of the model language, for editors
    Schema {
        /// Print the schema of the JSON report of `check` instead
        #[arg(long, conflicts_with = "paths")]
        report: bool,
        /// Print the schema of the JSON report of `paths` instead
        #[arg(long)]
        paths: bool,
    },
}

#[derive(Args)]
#[command(after_help = AFTER)]
struct CheckArguments {
    /// Model files (YAML, UTF-8)
    #[arg(required = true, value_name = "MODEL")]
    models: Vec<PathBuf>,
    /// Form of the report
    #[arg(long, value_enum, default_value = "text")]
    format: Format,
    /// Write the report to this file, whole or not at all, instead of the terminal
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Use colour
    #[arg(long, value_enum, default_value = "auto", value_name = "WHEN")]
    color: Color,
    /// Judge for this day, for example 2027-03-31, whether assumptions, fault exclusions and acceptances have expired;
    /// without it their dates are listed and not judged
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day)]
    date: Option<Date>,
    /// Say for each proved claim what its proof needs of the model
    #[arg(long)]
    why: bool,
    /// Show what each trip needs, stage by stage, against the time that its hazard leaves (JSON always does)
    #[arg(long)]
    times: bool,
}

const AFTER_PATHS: &str = "\
Example:
  tripproof paths cell.yaml
  tripproof paths --hazard H-OVERHEAT --mode running --order 4 cell.yaml
  tripproof paths --format json --output paths.json cell.yaml

Exit codes of `paths`: 0 all is known, 3 something is not, 2 the model or the command line is wrong,
4 an internal disagreement. What is found is no judgement: `tripproof check` compares it with what
each hazard requires.";

#[derive(Args)]
#[command(after_help = AFTER_PATHS)]
struct PathsArguments {
    /// Model file (YAML, UTF-8)
    #[arg(value_name = "MODEL")]
    model: PathBuf,
    /// Only this hazard
    #[arg(long, value_name = "TAG")]
    hazard: Option<String>,
    /// Only this mode: its name, or its group and name, for example "cell = running"
    #[arg(long, value_name = "MODE")]
    mode: Option<String>,
    /// List cut sets with up to so many fault sources
    #[arg(long, value_name = "N", default_value = "3", value_parser = clap::value_parser!(u32).range(1..=1000))]
    order: u32,
    /// Form of the report
    #[arg(long, value_enum, default_value = "text", value_name = "FORMAT")]
    format: PathsFormat,
    /// Write the report to this file, whole or not at all, instead of the terminal
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Use colour
    #[arg(long, value_enum, default_value = "auto", value_name = "WHEN")]
    color: Color,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PathsFormat {
    /// For people, 80 columns wide
    Text,
    /// For programs; `tripproof schema --paths` prints its schema
    Json,
}

fn day(text: &str) -> Result<Date, String> {
    Date::parse(text).map_err(|why| format!("{}; {}", why.message(text), NotADate::HELP))
}

/// What the arguments ask for, the program's name first.
pub fn parse(arguments: impl IntoIterator<Item = OsString>) -> Command {
    match Arguments::try_parse_from(arguments) {
        Ok(Arguments { command }) => match command {
            Subcommands::Check(check) => Command::Check(CheckOptions {
                models: check.models,
                format: check.format,
                output: check.output,
                color: check.color,
                date: check.date,
                why: check.why,
                times: check.times,
            }),
            Subcommands::Explain { check } => Command::Explain(check),
            Subcommands::Paths(paths) => Command::Paths(PathsOptions {
                model: paths.model,
                hazard: paths.hazard,
                mode: paths.mode,
                order: paths.order as usize,
                json: paths.format == PathsFormat::Json,
                output: paths.output,
                color: paths.color,
            }),
            Subcommands::Schema { paths: true, .. } => Command::Schema(Schema::Paths),
            Subcommands::Schema { report: true, .. } => Command::Schema(Schema::Report),
            Subcommands::Schema { .. } => Command::Schema(Schema::Language),
        },
        Err(error) => match error.kind() {
            ErrorKind::DisplayHelp => Command::Help(error.render().to_string()),
            ErrorKind::DisplayVersion => Command::Version,
            _ => Command::Wrong(error.render().to_string()),
        },
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;

    fn parsed(line: &str) -> Command {
        parse(line.split(' ').map(OsString::from))
    }

    #[test]
    fn the_parser_is_consistent_in_itself() {
        use clap::CommandFactory;
        Arguments::command().debug_assert();
    }

    #[test]
    fn check_takes_models_and_options_in_any_order() {
        let Command::Check(options) = parsed("tripproof check a.yaml --format json -o r.json b.yaml") else {
            panic!("not a check");
        };
        assert_eq!(options.models, [PathBuf::from("a.yaml"), PathBuf::from("b.yaml")]);
        assert_eq!((options.format, options.output), (Format::Json, Some("r.json".into())));
        assert_eq!((options.color, options.date), (Color::Auto, None));
    }

    #[test]
    fn a_date_is_a_day_of_the_calendar_and_anything_else_shows_how_to_write_one() {
        let Command::Check(options) = parsed("tripproof check --date 2027-03-31 a.yaml") else {
            panic!("not a check");
        };
        assert_eq!(options.date, Date::parse("2027-03-31").ok());
        for wrong in ["2027-02-30", "31.3.2027", "today"] {
            let Command::Wrong(text) = parsed(&format!("tripproof check --date {wrong} a.yaml")) else {
                panic!("{wrong} is taken for a day");
            };
            assert!(text.contains(wrong) && text.contains("hyphens: `2027-03-31`"), "{text}");
        }
    }

    #[test]
    fn paths_takes_one_model_and_an_order_of_at_least_one() {
        let Command::Paths(options) = parsed("tripproof paths --hazard H-1 --mode run --order 4 a.yaml")
        else {
            panic!("not paths");
        };
        assert_eq!((options.hazard.as_deref(), options.mode.as_deref()), (Some("H-1"), Some("run")));
        assert_eq!((options.order, options.json, options.output), (4, false, None));
        for wrong in
            ["--order 0 a.yaml", "--order many a.yaml", "a.yaml b.yaml", "--format markdown a.yaml", ""]
        {
            assert!(matches!(parsed(&format!("tripproof paths {wrong}")), Command::Wrong(_)), "{wrong}");
        }
        assert_eq!(parsed("tripproof schema --paths"), Command::Schema(Schema::Paths));
        assert!(matches!(parsed("tripproof schema --paths --report"), Command::Wrong(_)));
    }

    #[test]
    fn help_version_and_nonsense_are_told_apart() {
        assert!(matches!(parsed("tripproof --help"), Command::Help(text) if text.contains("Exit codes")));
        assert_eq!(parsed("tripproof --version"), Command::Version);
        for wrong in ["tripproof", "tripproof check", "tripproof check a --colour x", "tripproof chek a"] {
            assert!(matches!(parsed(wrong), Command::Wrong(_)), "{wrong}");
        }
    }
}
