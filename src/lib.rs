//! Verifies the safety-interlock logic of a plant from a YAML cause-and-effect model.
//!
//! For every hazard in every operating mode, over all situations the model allows: is it brought to its safe state,
//! how many faults does that tolerate, how many trip paths share nothing, and what shows it. `README.md` states the
//! job, `docs/architecture.md` the parts and what each may know, `docs/meaning.md` what a model means.
//!
//! ```
//! use tripproof::{assess::assess, conclude::conclude, engine::Engine, engine::smt::Smt, load::load, source::Source};
//!
//! let text = std::fs::read_to_string("models/first-guard-flawed.yaml")?;
//! let source = Source::new("models/first-guard-flawed.yaml", text);
//! let model = load(&source).map_err(|problems| format!("{problems:?}"))?;
//! let engine = Smt::new(100_000_000).map_err(|error| error.0)?;
//! let assessment = assess(&model, &engine).map_err(|error| error.0)?;
//! let outcome = conclude(source, model, &assessment, engine.name());
//!
//! let worst = &outcome.findings[0];
//! assert_eq!(outcome.finding_id(worst), "fault-defeats-protection/H-CRUSH/ZS-1");
//! assert_eq!(outcome.exit_code(), 1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! In the order of the flow: [`source`], [`problem`], [`exact`], [`physics`], [`date`], [`unit`]; [`syntax`], [`reference`]; [`model`],
//! [`load`], [`graph`], [`dependencies`]; [`situation`], [`claim`]; [`term`], [`semantics`], [`engine`],
//! [`analysis`], [`witness`]; [`replay`]; [`assess`]; [`finding`], [`check`], [`explain`], [`conclude`],
//! [`outcome`]; [`report`]; [`cli`], [`run`].

pub mod analysis;
pub mod assess;
pub mod check;
pub mod claim;
pub mod cli;
pub mod conclude;
pub mod date;
pub mod dependencies;
pub mod engine;
pub mod exact;
pub mod explain;
pub mod finding;
pub mod graph;
pub mod load;
pub mod model;
pub mod outcome;
pub mod physics;
pub mod problem;
pub mod reference;
pub mod replay;
pub mod report;
pub mod run;
pub mod semantics;
pub mod situation;
pub mod source;
pub mod syntax;
pub mod term;
pub mod unit;
pub mod witness;
