//! The structures for programs: a format of its own, version 1. The comments are the documentation of the format.

use num_bigint::BigUint;
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Serialize;

use super::{ORDER, completeness, modes, tags};
use crate::outcome::structure::{Element as Counted, Found, Sets, Structured, Structures};
use crate::report::content::basis::LIMITS;
use crate::report::json::{Disagreement, Tool, Value, page, printed};

/// Version of the format.
pub const VERSION: u32 = 1;

/// The result of one run of `tripproof paths`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PathsReport {
    /// Always `tripproof-paths`.
    pub format: &'static str,
    /// Version of this format: 1.
    pub version: u32,
    /// The program.
    pub tool: Tool,
    /// Names and versions of the solvers.
    pub solver: String,
    /// Exit code of the run: 4 an internal disagreement, 3 something is not known, 0 otherwise.
    pub exit_code: u8,
    /// The model file as named on the command line.
    pub file: String,
    /// SHA-256 of the file, in hexadecimal.
    pub sha256: String,
    /// Greatest number of sources in the cut sets that are listed.
    pub order: usize,
    /// Each hazard in modes in which it has the same structure, in the order of the file.
    pub protections: Vec<Protection>,
    /// What the sets rest on: kind, tag and text of each premise.
    pub premises: Vec<Premise>,
    /// Where engine and simulator, or two ways to one number, differ; trust nothing then.
    pub disagreements: Vec<Disagreement>,
    /// What the report does not show, one paragraph each.
    pub limits: Vec<String>,
}

/// One hazard in modes in which it has the same structure.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Protection {
    /// Tag of the hazard.
    pub hazard: String,
    /// Its modes.
    pub modes: Vec<String>,
    /// `known`, `to-an-order` (not all minimal cut sets are known), `impossible` (no situation of the hazard exists), `undecided` or `disputed`.
    pub state: &'static str,
    /// Of an undecided one, why.
    pub reason: Option<String>,
    /// Whether the listed cut sets are all there are, as a sentence.
    pub completeness: Option<String>,
    /// The listed cut sets are all minimal cut sets there are, of any order.
    pub complete: Option<bool>,
    /// Greatest number of sources up to which the list has every minimal cut set.
    pub complete_to_order: Option<usize>,
    /// Of a structure that one engine only decided in part, why the other did not; null: two engines decided it alike.
    pub one_engine: Option<String>,
    /// Number of fault sources that were looked at.
    pub sources: Option<usize>,
    /// Minimal cut sets, by order, then by tag. An empty set: not met without any fault.
    pub cut_sets: Vec<Vec<String>>,
    /// Number of minimal cut sets of each order, from order 0, in decimal digits.
    pub cut_sets_by_order: Vec<String>,
    /// Minimal path sets, by size; null if not all minimal cut sets are known.
    pub path_sets: Option<Vec<Vec<String>>>,
    /// Number of minimal path sets, in decimal digits; more than are listed only where there are very many.
    pub number_of_path_sets: Option<String>,
    /// A largest family of path sets that share no source; null if any number of them does, since nothing needs to work, or if nothing is known.
    pub disjoint_path_sets: Option<Vec<Vec<String>>>,
    /// The sources that are in some minimal cut set.
    pub elements: Vec<Element>,
}

/// A source in the structure of a protection.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Element {
    /// Its tag.
    pub source: String,
    /// Number of minimal cut sets with it of each order, from order 0, in decimal digits.
    pub cut_sets_by_order: Vec<String>,
    /// Structural importance (Birnbaum), exact, as `numerator/denominator`; null if not all minimal cut sets are known.
    pub importance: Option<String>,
    /// The same as a decimal, rounded to four digits.
    pub importance_rounded: Option<String>,
}

/// Something that the sets rest on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Premise {
    /// What kind.
    pub kind: String,
    /// Its tag.
    pub tag: Option<String>,
    /// What is taken to be so.
    pub text: String,
}

/// The report, with a line feed at the end. The same structures give the same bytes.
pub fn render(structures: &Structures, exit_code: u8) -> String {
    let report = PathsReport {
        format: "tripproof-paths",
        version: VERSION,
        tool: Tool { name: "tripproof", version: env!("CARGO_PKG_VERSION") },
        solver: structures.engine.clone(),
        exit_code,
        file: structures.source.name().to_string(),
        sha256: structures.sha256.clone(),
        order: structures.order,
        protections: structures.protections.iter().map(|one| protection(structures, one)).collect(),
        premises: structures
            .premises
            .iter()
            .map(|premise| Premise {
                kind: premise.kind.to_string(),
                tag: premise.tag.clone(),
                text: premise.text.clone(),
            })
            .collect(),
        disagreements: structures
            .disagreements
            .iter()
            .map(|one| Disagreement {
                claim: one.claim.clone(),
                solver: one
                    .engine
                    .iter()
                    .map(|(name, value)| Value { name: name.clone(), value: value.clone() })
                    .collect(),
                simulator: one.simulator.clone(),
            })
            .collect(),
        limits: std::iter::once(&ORDER).chain(LIMITS).map(|text| text.to_string()).collect(),
    };
    printed(&report)
}

fn protection(structures: &Structures, one: &Structured) -> Protection {
    let model = &structures.model;
    let mut all = Protection {
        hazard: model.hazards[one.hazard].name.tag.clone(),
        modes: modes(structures, &one.modes),
        state: "impossible",
        reason: None,
        completeness: None,
        complete: None,
        complete_to_order: None,
        one_engine: one.one_engine.clone(),
        sources: None,
        cut_sets: Vec::new(),
        cut_sets_by_order: Vec::new(),
        path_sets: None,
        number_of_path_sets: None,
        disjoint_path_sets: None,
        elements: Vec::new(),
    };
    match &one.found {
        Found::Impossible => {}
        Found::Undecided(reason) => {
            all.state = "undecided";
            all.reason = Some(reason.clone());
        }
        Found::Disputed => all.state = "disputed",
        Found::Sets(sets) => fill(structures, sets, &mut all),
    }
    all
}

fn fill(structures: &Structures, sets: &Sets, all: &mut Protection) {
    let model = &structures.model;
    let named = |sets: &[std::collections::BTreeSet<crate::model::Source>]| -> Vec<Vec<String>> {
        sets.iter().map(|set| tags(model, set)).collect()
    };
    all.state = if sets.whole.is_some() { "known" } else { "to-an-order" };
    all.completeness = Some(completeness(sets));
    all.complete = Some(sets.complete());
    all.complete_to_order = Some(sets.order);
    all.sources = Some(sets.sources);
    all.cut_sets = named(&sets.cuts);
    all.cut_sets_by_order = digits(&sets.sizes);
    all.path_sets = sets.whole.as_ref().map(|whole| named(&whole.paths));
    all.number_of_path_sets = sets.whole.as_ref().map(|whole| whole.number_of_paths.to_string());
    all.disjoint_path_sets = sets.disjoint.as_ref().map(|paths| named(paths));
    all.elements = sets.elements.iter().map(|element| of_element(structures, element)).collect();
}

fn of_element(structures: &Structures, element: &Counted) -> Element {
    let fraction = |value: &crate::exact::Exact| {
        let (top, bottom) = value.fraction_text();
        format!("{top}/{bottom}")
    };
    Element {
        source: structures.model.source_tag(element.source),
        cut_sets_by_order: digits(&element.sizes),
        importance: element.importance.as_ref().map(fraction),
        importance_rounded: element.importance.as_ref().map(|value| value.rounded(4)),
    }
}

fn digits(numbers: &[BigUint]) -> Vec<String> {
    numbers.iter().map(BigUint::to_string).collect()
}

const INTRODUCTION: &str = "\
# The JSON report of `tripproof paths`

`tripproof paths --format json MODEL` prints one JSON object. `tripproof schema --paths` prints its JSON Schema. The same
model gives the same bytes. A field that does not apply is `null`. Within version 1 fields may be added; none goes or
changes its meaning.

This page is made from the schema; a test keeps it current.
";

/// Its documentation, in Markdown.
pub fn manual() -> String {
    page(INTRODUCTION, "PathsReport", schema_value().as_object())
}

/// The JSON Schema (draft 7) of the report.
pub fn schema() -> String {
    printed(&schema_value())
}

fn schema_value() -> schemars::Schema {
    let mut schema = SchemaSettings::draft07().into_generator().into_root_schema_for::<PathsReport>();
    schema.insert("title".into(), "tripproof paths report, version 1".into());
    schema.insert("version".into(), VERSION.into());
    schema
}
