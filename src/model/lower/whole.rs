//! What only the whole model shows: rings of supplies, causes and effects, and who knows what.

use std::collections::BTreeSet;

use super::{Lowering, Use};
use crate::graph::{cycles, longest_ways, ring};
use crate::model::{CauseId, Id, InputAtom, Signal, Time, Tree};
use crate::problem::Problem;
use crate::source::Span;

/// How many causes, or supplies, may hang on each other in a row: far above any plant, and below what the engines,
/// which follow such a row step by step, can take.
const MOST_IN_A_ROW: usize = 100;

/// How many members of a ring a message names.
const MOST_SHOWN: usize = 12;

impl Lowering<'_> {
    /// Examines the whole model.
    pub(super) fn whole(&mut self) {
        self.supply_rings();
        self.effect_rings();
        self.cause_rings();
        self.access_of_uses();
        self.access_of_marks();
        self.one_way_each();
    }

    fn supply_rings(&mut self) {
        let mut edges = Vec::new();
        for (id, supply) in self.model.supplies.iter() {
            let feeds = supply.fed_by.iter().flat_map(Tree::atoms);
            edges.extend(feeds.map(|feed| (id.index(), feed.index())));
        }
        for found in cycles(self.model.supplies.len(), &edges) {
            let path = ring(&found, &edges);
            let tags: Vec<&str> =
                path.iter().map(|n| self.model.supplies[Id::from_index(*n)].name.tag.as_str()).collect();
            let feeds = self.doc.supplies.iter().flat_map(|table| &table.entries);
            let spans: Vec<Span> = feeds
                .map(|(_, supply)| supply.fed_by.as_ref().map(|leaf| leaf.span).unwrap_or_default())
                .collect();
            let places = path.iter().filter_map(|n| spans.get(*n).copied()).collect();
            let message = format!("these supplies feed each other in a ring: {}", chain(&tags));
            let help = "a supply is fed from outside the ring: correct one `fed_by`";
            self.ring_problem("ring-of-supplies", places, message, help);
        }
        let feeds = self.doc.supplies.iter().flat_map(|table| &table.entries);
        let spans: Vec<Span> = feeds
            .map(|(_, supply)| supply.fed_by.as_ref().map(|leaf| leaf.span).unwrap_or_default())
            .collect();
        for (from, _) in too_long(self.model.supplies.len(), &edges) {
            self.row_problem(spans.get(from).copied().unwrap_or_default(), "supplies feed each other");
        }
    }

    fn effect_rings(&mut self) {
        let mut edges = Vec::new();
        for (id, effect) in self.model.effects.iter() {
            edges.extend(effect.after.iter().map(|before| (id.index(), before.index())));
        }
        for found in cycles(self.model.effects.len(), &edges) {
            let path = ring(&found, &edges);
            let tags: Vec<&str> =
                path.iter().map(|n| self.model.effects[Id::from_index(*n)].name.tag.as_str()).collect();
            let spans: Vec<Span> = self
                .doc
                .effects
                .entries
                .iter()
                .map(|(_, effect)| effect.after.as_ref().map(|list| list.span).unwrap_or_default())
                .collect();
            let places = path.iter().filter_map(|n| spans.get(*n).copied()).collect();
            let message = format!("these effects wait for each other in a ring: {}", chain(&tags));
            self.ring_problem(
                "ring-of-effects",
                places,
                message,
                "none of them could ever start: correct one `after`",
            );
        }
    }

    /// References to latched or delayed causes inside a ring read the evaluation before; a ring without one is a
    /// problem.
    fn cause_rings(&mut self) {
        let mut edges = Vec::new();
        for (id, cause) in self.model.causes.iter() {
            for atom in cause.when.atoms() {
                if let InputAtom::Cause { cause: other, .. } = atom {
                    edges.push((id.index(), other.index()));
                }
            }
        }
        let count = self.model.causes.len();
        let mut breaks: BTreeSet<(usize, usize)> = BTreeSet::new();
        for component in cycles(count, &edges) {
            let within = |node: &usize| component.binary_search(node).is_ok();
            let inside = |edge: &&(usize, usize)| within(&edge.0) && within(&edge.1);
            breaks.extend(edges.iter().filter(inside).filter(|edge| self.remembers(edge.1)));
        }
        for (from, to) in &breaks {
            self.read_from_before(Id::from_index(*from), Id::from_index(*to));
        }
        edges.retain(|edge| !breaks.contains(edge));
        for found in cycles(count, &edges) {
            let path = ring(&found, &edges);
            let tags: Vec<&str> =
                path.iter().map(|n| self.model.causes[Id::from_index(*n)].name.tag.as_str()).collect();
            let message = format!("these causes depend on each other in a ring: {}", chain(&tags));
            let next = path.iter().cycle().skip(1);
            let members = path.iter().zip(next).take(MOST_SHOWN);
            let places = members.map(|(from, to)| self.reference(*from, *to)).collect();
            let help = "a ring of causes needs a latch or an `on_delay` above 0 s in it, so that one waits for the other";
            self.ring_problem("ring-of-causes", places, message, help);
        }
        for (from, to) in too_long(count, &edges) {
            let place = self.reference(from, to);
            self.row_problem(place, "causes depend on each other");
        }
    }

    fn row_problem(&mut self, place: Span, what: &str) {
        let message = format!("more than {MOST_IN_A_ROW} {what} in a row, without a ring");
        self.report(
            Problem::new("row-too-long", place, message, "the row is too long here")
                .help("name the inputs, or the first of them, directly"),
        );
    }

    fn remembers(&self, cause: usize) -> bool {
        let cause = &self.model.causes[CauseId::from_index(cause)];
        cause.latched || matches!(&cause.on_delay, Time::Known(delay) if !delay.is_zero())
    }

    fn read_from_before(&mut self, from: CauseId, to: CauseId) {
        let Some(cause) = self.model.causes.get_mut(from) else { return };
        cause.when = cause.when.map(&mut |atom| match atom {
            InputAtom::Cause { cause, .. } if *cause == to => {
                InputAtom::Cause { cause: *cause, from_before: true }
            }
            other => other.clone(),
        });
    }

    /// Where one cause names another.
    fn reference(&self, from: usize, to: usize) -> Span {
        let named = self.uses.iter().find(|(cause, used, _)| {
            cause.index() == from && matches!(used, Use::Signal(Signal::Cause(other)) if other.index() == to)
        });
        named.map(|(_, _, span)| *span).unwrap_or_default()
    }

    pub(super) fn ring_problem(
        &mut self,
        code: &'static str,
        places: Vec<Span>,
        message: String,
        help: &str,
    ) {
        let Some((first, more)) = places.split_first() else { return };
        let mut problem = Problem::new(code, *first, message, "closes a ring").help(help);
        for place in more.iter().take(MOST_SHOWN - 1) {
            problem = problem.also(*place, "part of the ring");
        }
        self.report(problem);
    }
}

/// Edges with which a row becomes longer than allowed, for each node once.
fn too_long(nodes: usize, edges: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let ways = longest_ways(nodes, edges);
    let way = |node: usize| ways.get(node).copied().flatten();
    let mut found: Vec<(usize, usize)> = edges
        .iter()
        .copied()
        .filter(|(from, to)| way(*from) == Some(MOST_IN_A_ROW + 1) && way(*to) == Some(MOST_IN_A_ROW))
        .collect();
    found.dedup_by_key(|(from, _)| *from);
    found
}

/// `A → B → A`; of a long ring only the beginning and the end.
pub(super) fn chain(tags: &[&str]) -> String {
    let first = tags.first().copied();
    let mut shown: Vec<String> = tags.iter().copied().chain(first).map(|tag| format!("`{tag}`")).collect();
    if shown.len() > MOST_SHOWN {
        let left_out = shown.len() - MOST_SHOWN;
        let tail = shown.split_off(shown.len() - 2);
        shown.truncate(MOST_SHOWN - 2);
        shown.push(format!("… {left_out} more …"));
        shown.extend(tail);
    }
    shown.join(" → ")
}
