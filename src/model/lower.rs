//! Turns a document into a model: resolves every tag, reads every number and expression, and gathers every problem.
//!
//! All tags are declared first; an element that has a problem still has its place, so it causes no further ones.
//! What no single element shows (who knows what over which link, rings, marks without a way) is examined last, in
//! `whole`. What elements mean is not decided here.

mod access;
mod calculation;
mod cause;
mod expression;
mod input;
mod leaf;
mod logic;
mod mode;
mod onset;
mod output;
mod passive;
mod plant;
mod position;
mod predicate;
mod protection;
mod settled;
mod shared;
mod space;
mod suppression;
mod tag;
mod unexamined;
mod value;
mod whole;
mod wiring;
mod written;

#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, BTreeSet};

use super::{CauseId, Element, Model};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::document::Document;
use tag::Declared;

/// What a condition of a cause uses, with the place where it does.
#[derive(Debug, Clone, Copy)]
enum Use {
    Signal(super::Signal),
    ModeInput(super::ModeInputId),
    Link(super::LinkId),
}

/// A document on its way to a model.
struct Lowering<'d> {
    doc: &'d Document,
    model: Model,
    problems: Vec<Problem>,
    /// Every declared tag; more than one element only where that is a problem already recorded.
    tags: BTreeMap<String, Vec<Declared>>,
    /// Elements that lack what others would rely on; whatever mentions them stays silent.
    unsound: BTreeSet<Element>,
    /// Elements whose connections could not all be resolved; what is missing because of that stays silent.
    loose: BTreeSet<Element>,
    /// What each cause uses, in the order of the text.
    uses: Vec<(CauseId, Use, Span)>,
    /// Calculated values, and what takes them.
    sheets: calculation::Sheets,
}

/// The model that a document describes.
///
/// # Errors
/// Every problem of the document, in the order of their places; leaves that the reader has flagged as broken cause
/// none.
pub fn lower(document: &Document) -> Result<Model, Vec<Problem>> {
    let (model, problems) = lower_all(document);
    if problems.is_empty() { Ok(model) } else { Err(problems) }
}

/// As [`lower`]; where there are problems, the model is only what could be made of the document.
fn lower_all(document: &Document) -> (Model, Vec<Problem>) {
    let mut lowering = Lowering {
        doc: document,
        model: Model::default(),
        problems: Vec::new(),
        tags: BTreeMap::new(),
        unsound: BTreeSet::new(),
        loose: BTreeSet::new(),
        uses: Vec::new(),
        sheets: calculation::Sheets::default(),
    };
    lowering.declare_all();
    lowering.language();
    lowering.system();
    lowering.policy();
    lowering.groups();
    lowering.calculations();
    lowering.quantities();
    lowering.conditions();
    lowering.couplings();
    lowering.supplies();
    lowering.shared_elements();
    lowering.solvers();
    lowering.links();
    lowering.mode_inputs();
    lowering.sensors();
    lowering.loops();
    lowering.stop_contacts();
    lowering.actuators();
    lowering.passive();
    lowering.mode_details();
    lowering.stops();
    lowering.spaces();
    lowering.suppression();
    lowering.resets();
    lowering.overrides();
    lowering.effects();
    lowering.causes();
    lowering.hazards();
    lowering.exclusions();
    lowering.invariants();
    lowering.fault_exclusions();
    lowering.assumptions();
    lowering.accepted();
    lowering.finish_calculations();
    lowering.written();
    lowering.unexamined();
    lowering.whole();
    lowering.problems.sort();
    lowering.problems.dedup();
    (lowering.model, lowering.problems)
}
