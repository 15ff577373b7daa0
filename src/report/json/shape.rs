//! What there is in the JSON report. The comments are the documentation of the format.
//!
//! A field that does not apply is `null` and never left out; only `calculations`, which came later, is left out where
//! there are none. New fields may come within a version; none goes or changes its meaning without a new one.

mod calculation;

use schemars::JsonSchema;
use serde::Serialize;

pub use calculation::*;

/// Version of the format.
pub const VERSION: u32 = 1;

/// The result of one run of `tripproof check`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report {
    /// Always `tripproof-report`.
    pub format: &'static str,
    /// Version of this format: 1.
    pub version: u32,
    /// The program.
    pub tool: Tool,
    /// Name and version of the solver.
    pub solver: String,
    /// Exit code of the run: 4 solver and simulator disagree or two engines do, 2 a model is wrong, 1 open findings, 3 something undecided, 0 nothing open; the first of these that applies to any model.
    pub exit_code: u8,
    /// What the report says about time.
    pub time: String,
    /// Findings of all models, model by model, worst first.
    pub findings: Vec<Finding>,
    /// Claims of all models with their verdicts, model by model, in a fixed order.
    pub claims: Vec<Claim>,
    /// Everything else, one entry for each model in the order of the command line.
    pub models: Vec<Model>,
    /// What the report does not show, one paragraph each.
    pub limits: Vec<String>,
}

/// The program.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Tool {
    /// Its name.
    pub name: &'static str,
    /// Its version.
    pub version: &'static str,
}

/// A range of the text of a model file. Lines and columns count from 1, columns count characters.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Place {
    /// The file as named on the command line.
    pub file: String,
    /// First line.
    pub line: usize,
    /// First column.
    pub column: usize,
    /// Line of the end.
    pub end_line: usize,
    /// Column after the last character.
    pub end_column: usize,
    /// What stands there, at most 200 characters of it.
    pub text: String,
}

/// A further place.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Also {
    /// Where.
    pub place: Place,
    /// What stands there.
    pub label: String,
}

/// A name with a value.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Value {
    /// Tag or choice.
    pub name: String,
    /// Its value, with unit.
    pub value: String,
}

/// An active override.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ActiveOverride {
    /// The override device.
    pub device: String,
    /// The input that it takes out.
    pub input: String,
}

/// A situation that shows a finding, confirmed by the simulator.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Witness {
    /// The situation told line by line.
    pub lines: Vec<String>,
    /// What must not happen in earnest while it is replayed, to be read before.
    pub cautions: Vec<String>,
    /// The same as values.
    pub values: Vec<Value>,
    /// Tags of what has failed in it.
    pub faults: Vec<String>,
    /// Overrides active in it.
    pub overrides: Vec<ActiveOverride>,
}

/// A defect of the design.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Finding {
    /// The file as named on the command line.
    pub file: String,
    /// Its id: check, hazard and elements. It stays when something else in the model changes.
    pub id: String,
    /// The check that found it; `tripproof explain` shows its manual page.
    pub check: &'static str,
    /// `serious`, `warning` or `note`.
    pub severity: &'static str,
    /// Tag of the hazard, if it is about one.
    pub hazard: Option<String>,
    /// Title of the hazard, if it has one.
    pub hazard_title: Option<String>,
    /// Modes in which it holds; empty if it does not depend on a mode. With several mode groups, the group comes before the mode.
    pub modes: Vec<String>,
    /// Tags of the elements that matter, sorted.
    pub elements: Vec<String>,
    /// The finding in a sentence.
    pub sentence: String,
    /// Where one of several faults is enough: for each of them, what it does.
    pub each_alone: Vec<String>,
    /// A situation that shows it, if it is about situations.
    pub witness: Option<Witness>,
    /// Steps that show it one after the other, of a finding about a sequence; no simulator has confirmed them.
    pub steps: Vec<String>,
    /// Where to look first.
    pub place: Place,
    /// Further places.
    pub also: Vec<Also>,
    /// Lowest cut sets of the protection: each a list of what, failing together, defeats it.
    pub lowest_cut_sets: Vec<Vec<String>>,
    /// Id of the structural finding that explains it.
    pub under: Option<String>,
    /// Tag of the acceptance that covers it; `null`: the finding is open.
    pub accepted: Option<String>,
    /// Reason, role and expiry of that acceptance.
    pub acceptance: Option<Acceptance>,
    /// How it is usually resolved.
    pub hint: String,
    /// Where the requirement is written, as named in the model.
    pub requirement: Option<String>,
    /// Standards, recalled and not verified.
    pub references: String,
}

/// Who accepts a finding and why.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Acceptance {
    /// Why.
    pub reason: String,
    /// The role that accepts.
    pub by: String,
    /// The last day on which it counts.
    pub expires: String,
}

/// A claim with its verdict.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Claim {
    /// The file as named on the command line.
    pub file: String,
    /// Name of the claim.
    pub claim: &'static str,
    /// The claim in a sentence.
    pub statement: String,
    /// `proved`, `refuted`, `undecided` or `not applicable`. Undecided is never to be read as proved.
    pub verdict: &'static str,
    /// Of an undecided claim the bound that was reached, of one that does not arise why.
    pub reason: Option<String>,
    /// Tag of the hazard, if it is about one.
    pub hazard: Option<String>,
    /// The mode, if it is about one.
    pub mode: Option<String>,
    /// Tag of the other element it is about.
    pub about: Option<String>,
    /// Id of the finding that tells a refuted claim.
    pub finding: Option<String>,
    /// Tag of the acceptance that covers it.
    pub accepted: Option<String>,
    /// Of a claim that one engine only decided, why the other did not; `null`: two engines decided it alike, or none had to.
    pub one_engine: Option<String>,
    /// Why a proved claim holds, if `--why` asked for it.
    pub why: Option<Why>,
}

/// Why a proved claim holds.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Why {
    /// `proof` (no situation breaks it), `example` (a situation shows it, confirmed by the simulator), `cases` (worked out case by case) or `lost` (no reason was found).
    pub basis: &'static str,
    /// Of a lost one, why.
    pub reason: Option<String>,
    /// The parts of a proof: of the claim on disjoint paths, a path each.
    pub parts: Vec<Part>,
}

/// One part of a proof: it holds as long as everything that it needs is so, whatever all else does.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Part {
    /// What it needs; none of it can be left out, given the rest.
    pub needs: Vec<Need>,
    /// Greatest number of the elements needed that may fail; null: all must work.
    pub faults: Option<u32>,
    /// It is about a hazard and needs nothing that sees the hazard, which is suspicious.
    pub blind: bool,
}

/// Something that a proof needs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Need {
    /// `element`, `coupling`, `fault exclusion`, `left out by the policy`, `range` or `never together`.
    pub kind: &'static str,
    /// Its tag.
    pub tag: String,
    /// Line of its declaration.
    pub line: usize,
}

/// What became of one model.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Model {
    /// The file as named on the command line.
    pub file: String,
    /// SHA-256 of the file, if the model was examined.
    pub sha256: Option<String>,
    /// Title of the design.
    pub title: Option<String>,
    /// Its revision.
    pub revision: Option<String>,
    /// The result in a few words.
    pub status: String,
    /// Exit code for this model alone.
    pub exit_code: u8,
    /// The day for which expiries were judged; `null`: they are listed and not judged, or nothing was examined.
    pub date: Option<String>,
    /// How many claims had which verdict.
    pub counts: Option<Counts>,
    /// How many fault exclusions the model declares.
    pub fault_exclusions: usize,
    /// The hazard-by-mode table: an entry for every hazard with every mode of its group.
    pub table: Vec<Cell>,
    /// What was found of the protection of each hazard in each mode.
    pub protections: Vec<Protection>,
    /// What each credited trip needs against the time that its hazard leaves.
    pub margins: Vec<Margin>,
    /// Values that were calculated instead of written, in the file's order. Left out where the model has none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    pub calculations: Vec<Calculation>,
    /// What the results rest on.
    pub premises: Vec<Premise>,
    /// Declared in the model and not examined.
    pub not_examined: Vec<String>,
    /// Refutations that the simulator did not confirm: errors of the program.
    pub disagreements: Vec<Disagreement>,
    /// Questions that two engines answer differently: errors of the program.
    pub contradictions: Vec<Contradiction>,
    /// What is wrong with the model; then nothing was examined.
    pub errors: Vec<Error>,
}

/// What a trip needs against the time that its hazard leaves, in the onset case that leaves least.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Margin {
    /// Tag of the hazard.
    pub hazard: String,
    /// The modes with these figures.
    pub modes: Vec<String>,
    /// Tag of the cause or passive device.
    pub trip: String,
    /// Its stages, from the reading that decides when it acts to the slowest element of the safe state that it commands.
    pub stages: Vec<Stage>,
    /// Exact seconds that it needs, as a decimal or as a fraction `a/b`; `null` where a stage is unknown.
    pub needs: Option<String>,
    /// Exact seconds that are available: the usable part of head start, time after harm begins and evacuation.
    pub available: Option<String>,
    /// What is left of them; below 0 where it is too slow.
    pub left: Option<String>,
    /// The signal of that reading, where it does not stay; absent where it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signal: Option<SignalEnds>,
}

/// A signal that does not stay, against the latch that must have it before.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SignalEnds {
    /// Tag of the input.
    pub tag: String,
    /// Exact seconds for which it stays, at least; `null` where that is unknown.
    pub lasts: Option<String>,
    /// Tag of the latched cause that has it; `null`: there is none, and the trip lets go again.
    pub latch: Option<String>,
    /// Exact seconds that are left of it then; below 0: it is gone before; `null` where that is unknown.
    pub left: Option<String>,
}

/// One stage of a trip.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Stage {
    /// Tag of the element.
    pub tag: String,
    /// Line of its declaration.
    pub line: usize,
    /// What it does.
    pub what: &'static str,
    /// Exact seconds; `null` where that is unknown.
    pub time: Option<String>,
    /// The longest that it could take while all others stay as they are, in exact seconds; below 0: even nothing would be too long.
    pub at_most: Option<String>,
}

/// How many claims had which verdict.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Counts {
    /// Proved.
    pub proved: usize,
    /// Refuted and not accepted.
    pub refuted: usize,
    /// Refuted and accepted.
    pub accepted: usize,
    /// Proved or refuted, and decided by two engines.
    pub by_two_engines: usize,
    /// Proved or refuted, and decided by one engine only.
    pub by_one_engine: usize,
    /// Undecided.
    pub undecided: usize,
    /// Not applicable.
    pub not_applicable: usize,
    /// Findings that nobody accepts.
    pub open_findings: usize,
    /// Findings that are accepted.
    pub accepted_findings: usize,
}

/// One cell of the hazard-by-mode table.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Cell {
    /// Tag of the hazard.
    pub hazard: String,
    /// The mode.
    pub mode: String,
    /// `examined`, `undecided`, `never` (said to exist, but its conditions cannot come about), `excluded` (the model says that it does not exist there) or `not considered` (the model says nothing).
    pub state: &'static str,
    /// Number of disjoint trip paths; `null` if not examined or without limit.
    pub disjoint_paths: Option<usize>,
    /// Whether nothing that can fail defeats the protection, so that the number of paths has no limit.
    pub paths_unlimited: bool,
    /// Number of faults tolerated; -1: the state is not reached even without a fault; `null` if not examined.
    pub fault_tolerance: Option<i64>,
    /// Whether the fault tolerance may be greater than that: nothing fewer was found up to the number searched.
    pub at_least: bool,
    /// Required number of disjoint paths.
    pub required_paths: u32,
    /// Required fault tolerance.
    pub required_tolerance: u32,
    /// Whether both are met; `null` if not examined.
    pub meets: Option<bool>,
    /// Whether the hazard has a declared initiator that reaches its protection: the figures hold while it misbehaves.
    pub with_initiator: bool,
    /// Of an examined one: `in time` (the figures hold in the time that the hazard leaves), `undecided` (they hold as long as it takes; whether in time was not decided) or `no time given` (they hold as long as it takes).
    pub time: Option<&'static str>,
    /// Where the figures would be greater as long as it takes: the number of disjoint trip paths then; `null` without limit.
    pub untimed_paths: Option<usize>,
    /// … and the fault tolerance then.
    pub untimed_tolerance: Option<i64>,
    /// Why the hazard does not exist in the mode.
    pub reason: Option<String>,
}

/// The protection of one hazard in one mode.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Protection {
    /// Tag of the hazard.
    pub hazard: String,
    /// The mode.
    pub mode: String,
    /// Greatest number of faults in the cut sets.
    pub order: usize,
    /// Minimal cut sets up to that number.
    pub cut_sets: Vec<Vec<String>>,
    /// One minimal path set of each disjoint family.
    pub path_sets: Vec<Vec<String>>,
    /// Cut sets that show why there are no more disjoint paths.
    pub obstacle: Vec<Vec<String>>,
}

/// Something that results rest on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Premise {
    /// What kind.
    pub kind: String,
    /// Its tag.
    pub tag: Option<String>,
    /// What is taken to be so.
    pub text: String,
    /// The role that owns it.
    pub owner: Option<String>,
    /// The last day on which it may be relied on.
    pub expires: Option<String>,
}

/// A refutation that the simulator did not confirm.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Disagreement {
    /// The claim in a sentence.
    pub claim: String,
    /// The situation that the solver gave.
    pub solver: Vec<Value>,
    /// What the simulator says.
    pub simulator: String,
}

/// A question that two engines answer differently, with what reproduces it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Contradiction {
    /// What was asked about, in a sentence.
    pub about: String,
    /// The engines, each with its answer.
    pub answers: Vec<Value>,
    /// What of the model the question speaks of.
    pub depends: Vec<Dependence>,
    /// The question as SMT-LIB 2 text.
    pub question: String,
}

/// Something of the model that a question speaks of.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Dependence {
    /// Line of the file, from 1.
    pub line: usize,
    /// Kind and tag of the element.
    pub element: String,
}

/// Something that is wrong with a model.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Error {
    /// Class of the error.
    pub code: String,
    /// What is wrong.
    pub message: String,
    /// A few words about the marked text.
    pub label: Option<String>,
    /// The way out.
    pub help: Option<String>,
    /// Where; `null` if it is about the file as a whole.
    pub place: Option<Place>,
    /// Further places.
    pub also: Vec<Also>,
}
