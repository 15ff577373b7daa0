//! Who may misbehave in a situation, and because of what: section 2 of `docs/meaning.md`, as far as a story needs it.

use std::collections::BTreeSet;

use crate::model::{CabinetId, HazardId, Model, SharedId, Source};
use crate::situation::{FactChoice, Situation};

use super::cone;

/// What misbehaves to begin with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Root {
    /// A fault source.
    Source(Source),
    /// An initiator group of a hazard, by its number.
    Initiator(HazardId, usize),
}

/// The sources that misbehave, and the members of the groups that do.
pub(super) struct Blame {
    roots: BTreeSet<Root>,
    struck: BTreeSet<Source>,
}

impl Blame {
    /// Reads them from a situation.
    pub(super) fn of(model: &Model, situation: &Situation) -> Blame {
        let mut blame = Blame { roots: BTreeSet::new(), struck: BTreeSet::new() };
        for (fact, _) in situation.facts.iter().filter(|(_, chosen)| **chosen) {
            match fact {
                FactChoice::Misbehaves(source) => {
                    blame.roots.insert(Root::Source(*source));
                    if let Source::Damage(hazard, number) = source {
                        blame.struck.extend(cone::members(model, *hazard, *number, false));
                    }
                }
                FactChoice::Initiator(hazard, number) => {
                    blame.roots.insert(Root::Initiator(*hazard, *number));
                    blame.struck.extend(cone::members(model, *hazard, *number, true));
                }
                _ => {}
            }
        }
        blame
    }

    /// What misbehaves to begin with, sources first.
    pub(super) fn roots(&self) -> impl Iterator<Item = Root> {
        self.roots.iter().copied()
    }

    /// Whether a source misbehaves by itself.
    pub(super) fn itself(&self, source: Source) -> bool {
        self.roots.contains(&Root::Source(source))
    }

    /// Whether a source may misbehave: by itself, with what it depends on, with its cabinet or as a member of a group.
    pub(super) fn may(&self, model: &Model, source: Source) -> bool {
        let (cabinet, shared) = parents(model, source);
        let falls = |parent: Source| self.itself(parent) || self.struck.contains(&parent);
        falls(source)
            || cabinet.is_some_and(|cabinet| falls(Source::Cabinet(cabinet)))
            || shared.iter().any(|parent| falls(Source::Shared(*parent)))
    }

    /// The sources that a root can make misbehave, in the order of the model.
    pub(super) fn affected(&self, model: &Model, root: Root) -> Vec<Source> {
        let starts: Vec<Source> = match root {
            Root::Initiator(hazard, number) => cone::members(model, hazard, number, true),
            Root::Source(Source::Damage(hazard, number)) => cone::members(model, hazard, number, false),
            Root::Source(source) => vec![source],
        };
        let below = |source: &Source| {
            let (cabinet, shared) = parents(model, *source);
            starts.contains(source)
                || cabinet.is_some_and(|cabinet| starts.contains(&Source::Cabinet(cabinet)))
                || shared.iter().any(|parent| starts.contains(&Source::Shared(*parent)))
        };
        model.sources().into_iter().filter(below).collect()
    }
}

/// What makes a source misbehave besides itself. The line of a loop shares what the loop declares.
fn parents(model: &Model, source: Source) -> (Option<CabinetId>, &[SharedId]) {
    let parents = match source {
        Source::Input(id) | Source::LoopLine(id) => &model.inputs[id].parents,
        Source::Contact(id) => &model.contacts[id].parents,
        Source::Conditioner(id) => &model.conditioners[id].parents,
        Source::Solver(id) => &model.solvers[id].parents,
        Source::Link(id) => &model.links[id].parents,
        Source::Relay(id) => &model.relays[id].parents,
        Source::Actuator(id) => &model.actuators[id].parents,
        Source::Passive(id) => &model.passive[id].parents,
        Source::ModeInput(id) => &model.mode_inputs[id].parents,
        Source::Override(id) => &model.overrides[id].parents,
        Source::Supply(id) => return (model.supplies[id].cabinet, &[]),
        Source::Route(_) | Source::Cabinet(_) | Source::Shared(_) | Source::Damage(..) => return (None, &[]),
    };
    (parents.cabinet, &parents.shared)
}
