//! Disjoint trip paths: the largest number of path sets into which the fault sources can be split.
//!
//! A *path set* P has not unsafe(U without P). DP is the largest n such that U splits into n path sets; equally, such
//! that U can be coloured with n colours and every minimal cut set shows them all. The search keeps a growing list of
//! minimal cut sets: a colouring that satisfies them is tried class by class; a class that is no path set yields a new
//! cut set. It ends with the paths, or with cut sets that no colouring satisfies.

use std::collections::{BTreeMap, BTreeSet};

use super::colouring::{self, Colouring};
use super::{Actors, Allowed, Case, Stop, cuts};
use crate::model::Source;

/// The largest family of disjoint paths.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Disjoint {
    /// DP.
    pub number: usize,
    /// No set of sources is unsafe at all: any number of paths.
    pub unlimited: bool,
    /// One minimal path set of each of the DP disjoint path sets.
    pub paths: Vec<BTreeSet<Source>>,
    /// Cut sets that show why there are no more: no colouring with DP + 1 colours shows all colours in each.
    pub obstacle: Vec<BTreeSet<Source>>,
    /// Every minimal cut set met on the way.
    pub cuts: BTreeSet<BTreeSet<Source>>,
}

/// DP and its witnesses. `known` are minimal cut sets already found; `none_needed` if there is the empty one.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails, or the colouring reaches its bound.
pub fn largest(case: &mut Case<'_>, known: &cuts::CutSets, actors: Actors) -> Result<Disjoint, Stop> {
    let mut result = Disjoint { cuts: known.sets.iter().cloned().collect(), ..Disjoint::default() };
    if known.none_needed {
        return Ok(result);
    }
    let sources: Vec<Source> = case.sources().into_iter().collect();
    loop {
        let wanted = result.number + 1;
        match split(case, &sources, wanted, &mut result.cuts, actors)? {
            Some(paths) => {
                result.number = wanted;
                result.paths = paths;
                // With a path set that needs nothing at all, the hazard is met whatever fails.
                if result.paths.iter().any(BTreeSet::is_empty) {
                    result.unlimited = true;
                    return Ok(result);
                }
            }
            None => {
                let list = numbered(&sources, &result.cuts);
                let core = colouring::obstacle(sources.len(), &list, wanted);
                result.obstacle = core.iter().map(|cut| named(&sources, cut)).collect();
                return Ok(result);
            }
        }
    }
}

/// The cut sets over the numbers of their sources, small ones first.
fn numbered(sources: &[Source], cuts: &BTreeSet<BTreeSet<Source>>) -> Vec<BTreeSet<usize>> {
    let numbers: BTreeMap<Source, usize> = sources.iter().enumerate().map(|(n, s)| (*s, n)).collect();
    let mut list: Vec<BTreeSet<usize>> = cuts
        .iter()
        .map(|cut| cut.iter().filter_map(|source| numbers.get(source).copied()).collect())
        .collect();
    list.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    list
}

fn named(sources: &[Source], cut: &BTreeSet<usize>) -> BTreeSet<Source> {
    cut.iter().filter_map(|number| sources.get(*number).copied()).collect()
}

/// Splits the sources into `wanted` path sets and returns one minimal path set of each, or `None` if that is impossible.
fn split(
    case: &mut Case<'_>,
    sources: &[Source],
    wanted: usize,
    cuts: &mut BTreeSet<BTreeSet<Source>>,
    actors: Actors,
) -> Result<Option<Vec<BTreeSet<Source>>>, Stop> {
    loop {
        let list = numbered(sources, cuts);
        let colours = match colouring::colour(sources.len(), &list, wanted) {
            Colouring::Found(colours) => colours,
            Colouring::Impossible => return Ok(None),
            Colouring::Undecided => {
                return Err(Stop::Undecided(format!(
                    "colouring {} cut sets took too many steps",
                    list.len()
                )));
            }
        };
        let mut paths = Vec::new();
        let mut refuted = false;
        for colour in 0..wanted {
            let class: BTreeSet<Source> =
                sources.iter().zip(&colours).filter(|(_, c)| **c == colour).map(|(s, _)| *s).collect();
            if case.unprotected(Allowed::AllBut(&class), actors)? {
                cuts.insert(cuts::smallest(case, &class, actors)?);
                refuted = true;
                break;
            }
            paths.push(case.relied_on());
        }
        if !refuted {
            let minimal = paths.into_iter().map(|path| minimal_path(case, path, cuts, actors));
            return minimal.collect::<Result<Vec<_>, _>>().map(Some);
        }
    }
}

/// Shrinks a path set to a minimal one by leaving out one source after the other, in order. A source that alone keeps
/// the path in one of the `cuts` cannot be left out: that cut set would miss the path.
///
/// # Errors
/// [`Stop`] if the engine does not decide or fails.
pub fn minimal_path(
    case: &mut Case<'_>,
    path: BTreeSet<Source>,
    cuts: &BTreeSet<BTreeSet<Source>>,
    actors: Actors,
) -> Result<BTreeSet<Source>, Stop> {
    let mut path = path;
    for source in path.clone() {
        let alone = |cut: &BTreeSet<Source>| cut.contains(&source) && cut.intersection(&path).count() == 1;
        if !path.contains(&source) || cuts.iter().any(alone) {
            continue;
        }
        let mut without = path.clone();
        without.remove(&source);
        if !case.unprotected(Allowed::AllBut(&without), actors)? {
            path = case.relied_on();
        }
    }
    Ok(path)
}
