//! Tells a witness as a short story: what happens in the hall, step by step, with values and tags.

use crate::assess::Witness;
use crate::claim::Claim;
use crate::finding::Story;
use crate::model::Model;
use crate::situation::Situation;

/// The story of a witness.
pub fn story(model: &Model, witness: &Witness) -> Story {
    let values = values(model, &witness.claim, &witness.situation);
    Story { lines: Vec::new(), values, faults: Vec::new(), overrides: Vec::new() }
}

/// The situation as values.
pub fn values(model: &Model, claim: &Claim, situation: &Situation) -> Vec<(String, String)> {
    let _ = (model, claim, situation);
    Vec::new()
}
