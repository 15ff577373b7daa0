//! The outcome of `tripproof paths`.

use super::{claims, digest, premises, question};
use crate::assess::Assessment;
use crate::assess::structure::Structures as Found;
use crate::explain;
use crate::model::Model;
use crate::outcome::Disagreement;
use crate::outcome::structure::Structures;
use crate::source::Source;

/// Puts the structures of a model together with what they rest on.
pub fn conclude_structures(
    source: Source,
    model: Model,
    found: Found,
    engine: String,
    order: usize,
) -> Structures {
    let rests_on = Assessment {
        couplings: found.couplings,
        modes_known: found.modes_known,
        contradictions: found.contradictions,
        ..Assessment::default()
    };
    let disputes = found.disputes.iter().map(|dispute| Disagreement {
        claim: claims::in_words(&model, &dispute.claim),
        engine: explain::values(&model, &dispute.claim, &dispute.situation),
        simulator: dispute.simulator.clone(),
    });
    let differences = found.differences.iter().map(|sentence| Disagreement::of_numbers(sentence));
    Structures {
        sha256: digest(&source),
        engine,
        order,
        protections: found.protections,
        premises: premises::premises(&model, &rests_on),
        disagreements: disputes.chain(differences).collect(),
        contradictions: question::contradictions(&model, &source, &rests_on),
        source,
        model,
    }
}
