//! Colouring fault sources so that every cut set shows every colour: the disjoint-path question in the small.
//!
//! Sources that are coloured alike form one candidate path set. A complete search with propagation; bounded in steps,
//! and honest about it.

use std::collections::BTreeSet;

/// Outcome of a search for a colouring.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Colouring {
    /// A colour, from 0, for each of the `sources` elements; elements in no cut have colour 0.
    Found(Vec<usize>),
    /// There is none.
    Impossible,
    /// The bound on steps was reached.
    Undecided,
}

/// Steps after which a search gives up.
const STEPS: usize = 2_000_000;

/// Colours `sources` elements with `colours` colours so that each cut (a set of elements) shows all of them.
///
/// Complete: `Impossible` means that no colouring exists. The first colouring in lexical order of the search is
/// returned, so equal input gives equal output. An empty cut makes it impossible; no cuts make it trivial.
pub fn colour(sources: usize, cuts: &[BTreeSet<usize>], colours: usize) -> Colouring {
    if cuts.iter().any(|cut| cut.len() < colours) {
        return Colouring::Impossible;
    }
    let mut search = Search { cuts, colours, of: vec![None; sources], steps: 0 };
    match search.run() {
        Some(true) => Colouring::Found(search.of.into_iter().map(|c| c.unwrap_or(0)).collect()),
        Some(false) => Colouring::Impossible,
        None => Colouring::Undecided,
    }
}

/// A smallest-by-removal part of `cuts` that already cannot be coloured; empty if they can be, or if undecided.
pub fn obstacle(sources: usize, cuts: &[BTreeSet<usize>], colours: usize) -> Vec<BTreeSet<usize>> {
    if colour(sources, cuts, colours) != Colouring::Impossible {
        return Vec::new();
    }
    let mut core = cuts.to_vec();
    // From the end, so that of a sorted list the small cut sets stay.
    for index in (0..cuts.len()).rev() {
        let mut without = core.clone();
        without.remove(index);
        if colour(sources, &without, colours) == Colouring::Impossible {
            core = without;
        }
    }
    core
}

struct Search<'a> {
    cuts: &'a [BTreeSet<usize>],
    colours: usize,
    of: Vec<Option<usize>>,
    steps: usize,
}

impl Search<'_> {
    fn get(&self, element: usize) -> Option<usize> {
        self.of.get(element).copied().flatten()
    }

    fn set(&mut self, element: usize, colour: Option<usize>) {
        if let Some(slot) = self.of.get_mut(element) {
            *slot = colour;
        }
    }

    /// Colours still missing in a cut, and its elements without colour.
    fn open(&self, cut: &BTreeSet<usize>) -> (Vec<usize>, Vec<usize>) {
        let seen: BTreeSet<usize> = cut.iter().filter_map(|element| self.get(*element)).collect();
        let missing = (0..self.colours).filter(|colour| !seen.contains(colour)).collect();
        let free = cut.iter().copied().filter(|element| self.get(*element).is_none()).collect();
        (missing, free)
    }

    /// Colours what is forced, recording it in `trail`; false if some cut can no longer show all colours.
    fn propagate(&mut self, trail: &mut Vec<usize>) -> bool {
        loop {
            let mut forced = None;
            for cut in self.cuts {
                let (missing, free) = self.open(cut);
                if missing.len() > free.len() {
                    return false;
                }
                if let ([colour], [element]) = (missing.as_slice(), free.as_slice()) {
                    forced = Some((*element, *colour));
                    break;
                }
            }
            match forced {
                Some((element, colour)) => {
                    self.set(element, Some(colour));
                    trail.push(element);
                }
                None => return true,
            }
        }
    }

    /// Some(found), or None when the bound is reached. Colours stay in place only when found.
    fn run(&mut self) -> Option<bool> {
        self.steps += 1;
        if self.steps > STEPS {
            return None;
        }
        let mut trail = Vec::new();
        if self.propagate(&mut trail) {
            let next = self
                .cuts
                .iter()
                .map(|cut| self.open(cut))
                .filter(|(missing, _)| !missing.is_empty())
                .min_by_key(|(missing, free)| free.len() - missing.len())
                .and_then(|(_, free)| free.first().copied());
            let Some(element) = next else { return Some(true) };
            // Colours not used yet are interchangeable: trying one of them is enough.
            let used = self.of.iter().flatten().max().map_or(0, |colour| colour + 1);
            for colour in 0..self.colours.min(used + 1) {
                self.set(element, Some(colour));
                match self.run() {
                    Some(false) => self.set(element, None),
                    decided => return decided,
                }
            }
        }
        for element in trail {
            self.set(element, None);
        }
        Some(false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cuts(list: &[&[usize]]) -> Vec<BTreeSet<usize>> {
        list.iter().map(|cut| cut.iter().copied().collect()).collect()
    }

    /// By trying every colouring.
    fn possible(sources: usize, cuts: &[BTreeSet<usize>], colours: usize) -> bool {
        (0..colours.pow(u32::try_from(sources).unwrap_or(0))).any(|mut code| {
            let mut of = Vec::new();
            for _ in 0..sources {
                of.push(code % colours);
                code /= colours;
            }
            cuts.iter().all(|cut| {
                let seen: BTreeSet<usize> = cut.iter().filter_map(|e| of.get(*e).copied()).collect();
                seen.len() == colours
            })
        })
    }

    #[test]
    fn two_of_three_has_no_two_disjoint_paths() {
        let all = cuts(&[&[0, 1], &[0, 2], &[1, 2]]);
        assert_eq!(colour(3, &all, 2), Colouring::Impossible);
        assert_eq!(obstacle(3, &all, 2).len(), 3);
    }

    #[test]
    fn every_small_family_is_decided_as_by_trying_all_colourings() {
        let pairs = cuts(&[&[0, 1], &[0, 2], &[0, 3], &[1, 2], &[1, 3], &[2, 3], &[0, 1, 2], &[1, 2, 3]]);
        for chosen in 0..1usize << pairs.len() {
            let family: Vec<_> = pairs
                .iter()
                .enumerate()
                .filter(|(i, _)| chosen >> i & 1 == 1)
                .map(|(_, c)| c.clone())
                .collect();
            for colours in 1..=3 {
                let found = colour(4, &family, colours);
                assert_eq!(
                    found != Colouring::Impossible,
                    possible(4, &family, colours),
                    "{family:?} {colours}"
                );
                if let Colouring::Found(of) = found {
                    for cut in &family {
                        let seen: BTreeSet<usize> = cut.iter().filter_map(|e| of.get(*e).copied()).collect();
                        assert_eq!(seen.len(), colours);
                    }
                }
            }
        }
    }
}
