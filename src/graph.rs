//! Questions about directed graphs: which nodes lie on a ring, one ring to show, and what can be reached.
//!
//! The only home of petgraph. What nodes stand for is the caller's business, and no claim is decided here.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use petgraph::algo::kosaraju_scc;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::Dfs;

/// A directed graph over named nodes.
pub struct Digraph<N> {
    graph: DiGraph<N, ()>,
    nodes: BTreeMap<N, NodeIndex>,
}

impl<N> Default for Digraph<N> {
    fn default() -> Self {
        Digraph { graph: DiGraph::new(), nodes: BTreeMap::new() }
    }
}

impl<N: Ord + Copy> Digraph<N> {
    /// Adds an edge; adding it again changes nothing.
    pub fn edge(&mut self, from: N, to: N) {
        let (from, to) = (self.node(from), self.node(to));
        self.graph.update_edge(from, to, ());
    }

    fn node(&mut self, node: N) -> NodeIndex {
        let graph = &mut self.graph;
        *self.nodes.entry(node).or_insert_with(|| graph.add_node(node))
    }

    /// Every node that can be reached from `from`, itself included.
    pub fn reach(&self, from: N) -> BTreeSet<N> {
        let Some(start) = self.nodes.get(&from) else { return BTreeSet::from([from]) };
        let mut search = Dfs::new(&self.graph, *start);
        let mut found = BTreeSet::new();
        while let Some(node) = search.next(&self.graph) {
            found.extend(self.graph.node_weight(node).copied());
        }
        found
    }
}

/// The strongly connected components that hold a ring (more than one node, or a node with an edge to itself).
///
/// `edges` lead from one number below `nodes` to another; others are ignored. Each component is in ascending order,
/// and the components are ordered by their least node.
pub fn cycles(nodes: usize, edges: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let mut graph = DiGraph::<(), ()>::with_capacity(nodes, edges.len());
    let indices: Vec<_> = (0..nodes).map(|_| graph.add_node(())).collect();
    let known = edges.iter().filter_map(|(from, to)| Some((*indices.get(*from)?, *indices.get(*to)?)));
    for (from, to) in known {
        graph.add_edge(from, to, ());
    }
    let own: BTreeSet<usize> = edges.iter().filter(|(from, to)| from == to).map(|(node, _)| *node).collect();
    let mut found: Vec<Vec<usize>> = kosaraju_scc(&graph)
        .into_iter()
        .map(|component| component.into_iter().map(|node| node.index()).collect::<Vec<_>>())
        .filter(|component| match component.as_slice() {
            [single] => own.contains(single),
            _ => true,
        })
        .collect();
    found.iter_mut().for_each(|component| component.sort_unstable());
    found.sort();
    found
}

/// How many edges the longest way from each node has; `None` for nodes from which a ring can be reached.
///
/// Does not recurse, so that a chain through a whole file cannot exhaust the stack.
pub fn longest_ways(nodes: usize, edges: &[(usize, usize)]) -> Vec<Option<usize>> {
    let mut open = vec![0usize; nodes];
    let mut sources: Vec<Vec<usize>> = vec![Vec::new(); nodes];
    for (from, to) in edges {
        if let (Some(count), Some(list)) = (open.get_mut(*from), sources.get_mut(*to)) {
            *count += 1;
            list.push(*from);
        }
    }
    let mut longest = vec![0usize; nodes];
    let mut known = vec![None; nodes];
    let mut ready: Vec<usize> =
        open.iter().enumerate().filter(|(_, count)| **count == 0).map(|(node, _)| node).collect();
    while let Some(node) = ready.pop() {
        let way = longest.get(node).copied().unwrap_or(0);
        if let Some(slot) = known.get_mut(node) {
            *slot = Some(way);
        }
        for from in sources.get(node).into_iter().flatten() {
            if let (Some(count), Some(best)) = (open.get_mut(*from), longest.get_mut(*from)) {
                *best = (*best).max(way + 1);
                *count -= 1;
                if *count == 0 {
                    ready.push(*from);
                }
            }
        }
    }
    known
}

/// A shortest ring through the least node of a component, in the direction of the edges, that node first.
///
/// Empty if no ring inside the component goes through it (never for a result of [`cycles`]).
pub fn ring(component: &[usize], edges: &[(usize, usize)]) -> Vec<usize> {
    let Some(start) = component.iter().min().copied() else { return Vec::new() };
    let inside: BTreeSet<usize> = component.iter().copied().collect();
    let mut leads_to: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (from, to) in edges.iter().filter(|(_, to)| inside.contains(to)) {
        leads_to.entry(*from).or_default().push(*to);
    }
    let mut came_from: BTreeMap<usize, usize> = BTreeMap::new();
    let mut queue = VecDeque::from([start]);
    while let Some(node) = queue.pop_front() {
        for to in leads_to.get(&node).into_iter().flatten() {
            if *to == start {
                return back(start, node, &came_from);
            }
            if !came_from.contains_key(to) {
                came_from.insert(*to, node);
                queue.push_back(*to);
            }
        }
    }
    Vec::new()
}

fn back(start: usize, last: usize, came_from: &BTreeMap<usize, usize>) -> Vec<usize> {
    let mut path = vec![last];
    let mut node = last;
    while node != start {
        let Some(before) = came_from.get(&node) else { break };
        node = *before;
        path.push(node);
    }
    path.reverse();
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_are_found_and_plain_chains_are_not() {
        let edges = [(0, 1), (1, 2), (2, 1), (3, 3), (4, 0)];
        assert_eq!(cycles(5, &edges), vec![vec![1, 2], vec![3]]);
        assert_eq!(ring(&[1, 2], &edges), vec![1, 2]);
        assert_eq!(ring(&[3], &edges), vec![3]);
    }

    #[test]
    fn the_longest_way_is_counted_and_rings_have_none() {
        let edges = [(0, 1), (1, 2), (0, 2), (3, 4), (4, 3), (5, 3)];
        assert_eq!(longest_ways(6, &edges), [Some(2), Some(1), Some(0), None, None, None]);
    }

    #[test]
    fn everything_behind_a_node_is_reached_and_nothing_before_it() {
        let mut graph = Digraph::default();
        for (from, to) in [(1, 2), (2, 3), (3, 2), (4, 1)] {
            graph.edge(from, to);
        }
        assert_eq!(graph.reach(1), BTreeSet::from([1, 2, 3]));
        assert_eq!(graph.reach(9), BTreeSet::from([9]));
    }

    #[test]
    fn the_shortest_ring_is_shown() {
        let edges = [(0, 1), (1, 2), (2, 0), (1, 0)];
        assert_eq!(cycles(3, &edges), vec![vec![0, 1, 2]]);
        assert_eq!(ring(&[0, 1, 2], &edges), vec![0, 1]);
    }
}
