//! What is broken: every part that misbehaves, with what it does in the words of the trade.
//!
//! Responsible for who is named and in which order. What each part does is said by [`super::deeds`] and
//! [`super::outputs`], which the two closed matches below hand the work to, one function per kind of source.

use std::collections::BTreeSet;

use crate::model::{Element, SharedKind, Source};

use super::blame::Root;
use super::{Teller, words};

/// One thing that a part does wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Deed {
    /// After "is faulty and": `shows SL-1 24.9 %LFL`.
    Does(String),
    /// After the tag alone: `is lost`.
    Is(String),
    /// A clause with a subject of its own: `the line of GD-1 to SL-1 is open`.
    Says(String),
}

impl Teller<'_> {
    /// Tags of the parts that misbehave to begin with, sorted.
    pub(super) fn faults(&self) -> Vec<String> {
        let mut tags: Vec<String> = self
            .roots()
            .into_iter()
            .map(|root| match root {
                Root::Source(source) => self.model.source_tag(source),
                Root::Initiator(hazard, number) => {
                    let group = self.model.hazards[hazard].initiators.get(number);
                    format!("initiator {}", group.map_or("", |group| group.name.tag.as_str()))
                }
            })
            .collect();
        tags.sort();
        tags
    }

    fn roots(&self) -> Vec<Root> {
        let matters = |root: &Root| match root {
            Root::Source(source) => {
                self.cone.holds(self.model, *source)
                    || self.blame.affected(self.model, *root).iter().any(|s| self.cone.holds(self.model, *s))
            }
            Root::Initiator(..) => true,
        };
        self.blame.roots().filter(matters).collect()
    }

    /// The second part of the story.
    pub(super) fn broken(&self) -> Vec<String> {
        let mut lines = Vec::new();
        let mut told: BTreeSet<Source> = BTreeSet::new();
        for root in self.roots() {
            lines.extend(self.lost_machine(root));
            let affected: Vec<(Source, Vec<Deed>)> = self
                .blame
                .affected(self.model, root)
                .into_iter()
                .filter(|source| self.cone.holds(self.model, *source) && told.insert(*source))
                .map(|source| (source, self.deeds(source)))
                .collect();
            match root {
                Root::Source(source)
                    if self.shares_a_load(source) && affected.iter().all(|a| a.1.is_empty()) => {}
                Root::Source(source) if has_deeds(source) => {
                    let deeds = affected.into_iter().find(|(at, _)| *at == source).map(|(_, deeds)| deeds);
                    lines.extend(self.alone(source, &deeds.unwrap_or_default()));
                }
                _ => lines.extend(self.together(root, &affected)),
            }
        }
        lines.extend(self.lost_with_it());
        lines
    }

    /// A part that misbehaves by itself.
    fn alone(&self, source: Source, deeds: &[Deed]) -> Vec<String> {
        let name = self.call_source(source);
        let broken = if is_wiring(source) { "damaged" } else { "faulty" };
        let Some((first, more)) = deeds.split_first() else {
            return vec![match self.silences(source) {
                true => format!("{name} is {broken}."),
                false => format!("{name} is {broken}, but makes no difference here."),
            }];
        };
        let mut lines = vec![words::capital(&match first {
            Deed::Does(text) => format!("{name} is {broken} and {text}."),
            Deed::Is(text) => format!("{name} {text}."),
            Deed::Says(text) => format!("{name} is {broken}: {text}."),
        })];
        lines.extend(more.iter().map(|deed| match deed {
            Deed::Does(text) => format!("It also {text}."),
            Deed::Is(text) => format!("It is also {}.", text.trim_start_matches("is ")),
            Deed::Says(text) => format!("Also, {text}."),
        }));
        lines
    }

    /// Something that takes others with it.
    fn together(&self, root: Root, affected: &[(Source, Vec<Deed>)]) -> Vec<String> {
        let with: Vec<String> = affected
            .iter()
            .filter(|(source, deeds)| !deeds.is_empty() || self.silences(*source))
            .map(|(source, _)| self.model.source_tag(*source))
            .collect();
        let head = self.head(root);
        if with.is_empty() {
            return vec![format!("{head}, but that makes no difference here.")];
        }
        let mut lines = vec![format!("{head}, and with it {}.", words::list(&with))];
        for (source, deeds) in affected {
            let name = self.model.source_tag(*source);
            lines.extend(deeds.iter().map(|deed| match deed {
                Deed::Does(text) | Deed::Is(text) => words::capital(&format!("{name} {text}.")),
                Deed::Says(text) => words::capital(&format!("{text}.")),
            }));
        }
        lines
    }

    /// Whether a credited cause does not count because of this source.
    fn silences(&self, source: Source) -> bool {
        let Source::Solver(solver) = source else { return false };
        let credited = self.causes.iter().filter(|cause| self.must_answer(**cause) && self.bears(**cause));
        let mut at_it = credited.filter(|cause| self.model.causes[**cause].solver == solver);
        at_it.any(|cause| self.is_silent(*cause))
    }

    fn head(&self, root: Root) -> String {
        let source = match root {
            Root::Initiator(hazard, number) => {
                let group = self.model.hazards[hazard].initiators.get(number);
                let group = group.map_or("", |group| group.name.tag.as_str());
                return format!(
                    "Initiator group {group} of {} misbehaves",
                    self.tag(Element::Hazard(hazard))
                );
            }
            Root::Source(source) => source,
        };
        let name = self.call_source(source);
        match source {
            Source::Damage(hazard, number) => {
                let group = self.model.hazards[hazard].damages.get(number);
                let group = group.map_or("", |group| group.name.tag.as_str());
                format!("{} damages its group {group}", self.tag(Element::Hazard(hazard)))
            }
            Source::Cabinet(_) => format!("Cabinet {name} fails"),
            Source::Shared(id) => match self.model.shared[id].kind {
                SharedKind::Store => format!("Store {name} fails"),
                SharedKind::Machine => format!("Machine {name} fails"),
                SharedKind::ParameterSource => format!("Parameter source {name} is wrong"),
                SharedKind::Type => format!("Type {name} has a fault in its make"),
            },
            _ => format!("{name} is faulty"),
        }
    }

    fn call_source(&self, source: Source) -> String {
        match (source, self.model.source_element(source)) {
            (Source::LoopLine(_), _) => format!("The {}", self.model.source_tag(source)),
            (Source::Route(_), Some(element)) => format!("Cable route {}", self.call(element)),
            (_, Some(element)) => self.call(element),
            (_, None) => self.model.source_tag(source),
        }
    }

    /// What a source does, told once per source.
    fn deeds(&self, source: Source) -> Vec<Deed> {
        match source {
            Source::Input(id) => self.input_deeds(id),
            Source::Contact(id) => self.contact_deeds(id),
            Source::LoopLine(id) => self.loop_line_deeds(id),
            Source::Conditioner(id) => self.conditioner_deeds(id),
            Source::Supply(id) => self.supply_deeds(id),
            Source::Route(id) => self.route_deeds(id),
            Source::Solver(id) => self.solver_deeds(id),
            Source::Link(id) => self.link_deeds(id),
            Source::Relay(id) => self.relay_deeds(id),
            Source::Actuator(id) => self.actuator_deeds(id),
            Source::Passive(id) => self.passive_deeds(id),
            Source::ModeInput(id) => self.mode_input_deeds(id),
            Source::Override(id) => self.override_deeds(id),
            // These act through what depends on them.
            Source::Cabinet(_) | Source::Shared(_) | Source::Damage(..) => Vec::new(),
        }
    }

    /// Supplies that are lost because what feeds them is.
    fn lost_with_it(&self) -> Vec<String> {
        let lost = self.replay.lost.iter().filter(|id| {
            let by_itself = !self.supply_deeds(**id).is_empty();
            !by_itself && self.cone.elements.contains(&Element::Supply(**id))
        });
        lost.map(|id| format!("{} is lost with what feeds it.", self.call(Element::Supply(*id)))).collect()
    }
}

/// Whether a source does something itself, not through what depends on it.
fn has_deeds(source: Source) -> bool {
    match source {
        Source::Cabinet(_) | Source::Shared(_) | Source::Damage(..) => false,
        Source::Input(_)
        | Source::Contact(_)
        | Source::LoopLine(_)
        | Source::Conditioner(_)
        | Source::Supply(_)
        | Source::Route(_)
        | Source::Solver(_)
        | Source::Link(_)
        | Source::Relay(_)
        | Source::Actuator(_)
        | Source::Passive(_)
        | Source::ModeInput(_)
        | Source::Override(_) => true,
    }
}

fn is_wiring(source: Source) -> bool {
    matches!(source, Source::Route(_) | Source::LoopLine(_))
}
