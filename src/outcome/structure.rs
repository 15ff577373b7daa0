//! What `tripproof paths` tells, as plain data: the cut sets and path sets of every protection.

use std::collections::BTreeSet;

use num_bigint::BigUint;

use super::{Contradiction, Disagreement, Premise};
use crate::exact::Exact;
use crate::model::{HazardId, ModeId, Model, Source as FaultSource};
use crate::source::Source;

/// The structures of one model.
#[derive(Debug, Clone)]
pub struct Structures {
    /// The text.
    pub source: Source,
    /// The model.
    pub model: Model,
    /// SHA-256 in hexadecimal of the file.
    pub sha256: String,
    /// Names and versions of the engines.
    pub engine: String,
    /// Greatest number of sources in the cut sets that are listed.
    pub order: usize,
    /// Hazards in the file's order; modes in which a protection has the same structure stand together.
    pub protections: Vec<Structured>,
    /// What the results rest on, sorted.
    pub premises: Vec<Premise>,
    /// Cut sets that the simulator did not confirm, and numbers that two ways give differently.
    pub disagreements: Vec<Disagreement>,
    /// Questions that two engines answer differently.
    pub contradictions: Vec<Contradiction>,
}

/// One hazard in modes in which it has the same structure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Structured {
    /// The hazard.
    pub hazard: HazardId,
    /// The modes, at least one.
    pub modes: Vec<ModeId>,
    /// What was found.
    pub found: Found,
    /// Why something of it was decided by one engine only, if it was.
    pub one_engine: Option<String>,
}

/// What was found of one protection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// None of the hazard's situations exists in these modes.
    Impossible,
    /// Nothing is known, with the reason.
    Undecided(String),
    /// Engine and simulator, or two ways to the same number, disagree.
    Disputed,
    /// The sets.
    Sets(Box<Sets>),
}

/// Cut sets and path sets of one protection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sets {
    /// n: fault sources that the question depends on at all and that cost something.
    pub sources: usize,
    /// The minimal cut sets with at most `order` sources, by size, then by source. The empty one alone: not met without
    /// any fault.
    pub cuts: Vec<BTreeSet<FaultSource>>,
    /// Greatest number of sources up to which `cuts` has every minimal cut set.
    pub order: usize,
    /// Number of minimal cut sets by size, the size being the place in the list; up to `order` only where `whole` is absent.
    pub sizes: Vec<BigUint>,
    /// What is known because all minimal cut sets are.
    pub whole: Option<Whole>,
    /// One minimal path set of each of a largest family of disjoint ones; `None`: no set of faults defeats the protection,
    /// so that there are any number.
    pub disjoint: Option<Vec<BTreeSet<FaultSource>>>,
    /// The sources of `cuts`, in the order of the sources; with `whole`, of all minimal cut sets.
    pub elements: Vec<Element>,
}

/// What is known of a protection of which all minimal cut sets are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Whole {
    /// The minimal path sets, by size, then by source.
    pub paths: Vec<BTreeSet<FaultSource>>,
    /// How many there are in all; more than are listed only where there are too many to list.
    pub number_of_paths: BigUint,
}

/// One source in the structure of a protection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Element {
    /// The source.
    pub source: FaultSource,
    /// Number of minimal cut sets with it by size, the size being the place in the list.
    pub sizes: Vec<BigUint>,
    /// Structural importance (Birnbaum), exact; `None` where not all minimal cut sets are known.
    pub importance: Option<Exact>,
}

impl Sets {
    /// Whether `cuts` are all minimal cut sets there are.
    pub fn complete(&self) -> bool {
        self.whole.is_some() && self.sizes.len() <= self.order + 1
    }

    /// Number of minimal cut sets that are known and not listed.
    pub fn larger(&self) -> BigUint {
        self.sizes.iter().skip(self.order + 1).sum()
    }
}

impl Structures {
    /// The exit code: 4 for a disagreement, 3 where something is not known, 0 otherwise.
    pub fn exit_code(&self) -> u8 {
        let known = |one: &Structured| match &one.found {
            Found::Impossible => true,
            Found::Sets(sets) => sets.whole.is_some(),
            Found::Undecided(_) | Found::Disputed => false,
        };
        match self.disagreements.is_empty() && self.contradictions.is_empty() {
            false => 4,
            true if self.protections.iter().all(known) => 0,
            true => 3,
        }
    }
}
