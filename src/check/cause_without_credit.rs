//! A protecting cause that is credited for nothing.
//!
//! # What it checks
//! Every cause whose purpose is protection (that is also what no `purpose` means) is credited for a hazard.
//! Exempt are causes that only read emergency stops, causes that only serve other causes, and those that say
//! `purpose: backup`.
//!
//! # Why it matters
//! Either the hazard it was made for is missing from the model, or nobody counts on it, and then nobody will miss
//! it when it is taken out.
//!
//! # How it is decided
//! By reading: the purpose is protection, `credited_for` is empty, the condition reads more than stop contacts,
//! and the cause demands something itself. Credit is a statement of the engineer: the claims about a hazard look
//! at all causes, credited or not.
//!
//! # What it does not see
//! Whether a cause that is credited does protect: `trip-cannot-fire` and the claims about the hazards decide
//! that.
//!
//! # Example
//! An oxygen trip sounds the horn; the hazard that it was made for has been renamed, and the credit was lost with
//! it.
//!
//! # How to resolve
//! Name the hazards under `credited_for`; or say `purpose: backup` if it protects in addition and nothing counts
//! on it, `alarm` if it only warns, `comfort` if it serves the process.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, about_element, reading};
use crate::finding::{Finding, Severity};
use crate::model::{Cause, Element, InputAtom, Model, Observes};
use crate::syntax::kind::Purpose;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for (id, cause) in model.causes.iter() {
        let credited = !cause.credited_for.is_empty() || cause.purpose != Purpose::Protection;
        if credited || manual_stop(model, cause) || reading::demanded(model, cause).is_empty() {
            continue;
        }
        let tag = &cause.name.tag;
        let place = model.written(tag, "purpose").unwrap_or(cause.name.span);
        let mut finding =
            about_element(model, Check::CauseWithoutCredit, Severity::Note, Element::Cause(id), place);
        finding.sentence = format!("{tag} is there to protect, and is credited for no hazard.");
        found.push(finding);
    }
    found
}

/// It reads stop contacts and nothing else: a person's act, never an automatic path.
fn manual_stop(model: &Model, cause: &Cause) -> bool {
    let atoms = cause.when.atoms();
    let stop = |atom: &&InputAtom| match atom {
        InputAtom::Is { input, .. } | InputAtom::Bad(input) => {
            matches!(model.inputs[*input].observes, Observes::Stop(_))
        }
        _ => false,
    };
    !atoms.is_empty() && atoms.iter().all(stop)
}
