//! Hazards in modes: onset cases, the claims about them, and their two numbers with the cut sets and path sets.

use std::collections::BTreeSet;

use tripproof::assess::{Assessment, HazardInMode, Numbers, ORDER};
use tripproof::claim::Breach;
use tripproof::model::{HazardId, Model, Source};
use tripproof::outcome::{Paths, Tolerance};

use super::{Judged, Walks, names, word};
use crate::support::enumerate::{NOBODY, Others, PARTIES, Walk};

/// With at most so many sources every set of them is walked.
const ALL_SETS: usize = 5;

const OVERRIDES: Others = Others { initiators: false, damage: false, overrides: true };
const UNDER_OVERRIDES: Others = Others { initiators: false, damage: true, overrides: true };
const DAMAGE: Others = Others { initiators: false, damage: true, overrides: false };

pub(super) fn all(model: &Model, assessment: &Assessment, walks: &mut Walks<'_>, judged: &mut Judged) {
    let expected: usize = model.hazards.iter().map(|(_, hazard)| hazard.exists_in.len()).sum();
    if assessment.hazards.len() != expected {
        judged.differ(format!("{} hazards in modes, not {expected}", assessment.hazards.len()));
    }
    for found in &assessment.hazards {
        let answered = hazard(model, found, walks, judged);
        judged.asked(answered);
    }
}

/// What walking gives for one of the two pairs of numbers.
pub(super) struct Walked {
    none_needed: bool,
    /// Minimal cut sets up to [`ORDER`], or all of them.
    cuts: Vec<BTreeSet<Source>>,
    /// Whether these are all.
    every: bool,
}

fn hazard(model: &Model, found: &HazardInMode, walks: &mut Walks<'_>, judged: &mut Judged) -> Option<()> {
    let about = format!("{} in {}", model.hazards[found.hazard].name.tag, model.modes[found.mode].name.tag);
    let mut impossible = Vec::new();
    let onsets = model.hazards[found.hazard].onset.len();
    for onset in 0..onsets {
        let exists = Breach::Exists { hazard: found.hazard, onset };
        let shown = walks.about(exists, Some(found.mode)).defeated(&BTreeSet::new(), NOBODY)?;
        judged.claims.push(("onset case exists", if shown { "holds" } else { "never" }));
        if !shown {
            impossible.push(onset);
        }
    }
    if impossible != found.impossible_onsets {
        judged
            .differ(format!("onset cases of {about}: {:?}, walked {impossible:?}", found.impossible_onsets));
    }
    if impossible.len() == onsets {
        judged.compare("met without faults", &about, word(&found.unaided), "not applicable");
        return Some(());
    }
    let breach = Breach::NotMet { hazard: found.hazard, onset: None };
    let walk = walks.about(breach, Some(found.mode));
    claims(model, found, &about, walk, judged)?;
    let with = walked(model, walk, PARTIES)?;
    judged.hazards.0 += 1;
    judged.hazards.1 += usize::from(!with.none_needed);
    judged.exhausted += usize::from(with.every && !with.none_needed);
    let Some(numbers) = &found.numbers else {
        judged.differ(format!("{about} has no numbers"));
        return Some(());
    };
    compare_numbers(model, numbers, &with, &about, walk, PARTIES, judged)?;
    required(model, found, numbers, &with, &about, judged);
    match &found.alone {
        Some(alone) => {
            let without = walked(model, walk, DAMAGE)?;
            let about = format!("{about} without its initiator");
            compare_numbers(model, alone, &without, &about, walk, DAMAGE, judged)?;
        }
        // Initiators that do not matter change nothing.
        None if !model.hazards[found.hazard].initiators.is_empty() => {
            let without = walked(model, walk, DAMAGE)?;
            if without.cuts != with.cuts || without.none_needed != with.none_needed {
                judged.differ(format!("the initiator of {about} matters"));
            }
        }
        None => {}
    }
    Some(())
}

/// Met without faults, under overrides, and with the policy's faults under overrides.
fn claims(
    model: &Model,
    found: &HazardInMode,
    about: &str,
    walk: &mut Walk<'_>,
    judged: &mut Judged,
) -> Option<()> {
    let nothing = BTreeSet::new();
    let unaided = walk.defeated(&nothing, NOBODY)?;
    judged.compare("met without faults", about, word(&found.unaided), broken(unaided));
    let covered = unaided || walk.defeated(&nothing, OVERRIDES)?;
    judged.compare("met under overrides", about, word(&found.covered), broken(covered));
    let budget = model.hazards[found.hazard].required.under_overrides;
    let mut under = walk.defeated(&nothing, UNDER_OVERRIDES)?;
    assert!(budget < 2, "one fault under overrides at most");
    if budget == 1 {
        let single = walk.sources().into_iter().filter(|source| model.weight(*source) == 1);
        for source in single.collect::<Vec<_>>() {
            under = under || walk.defeated(&[source].into(), UNDER_OVERRIDES)?;
        }
    }
    let walked = match walk.overrides_matter() {
        true => broken(under),
        false => "not applicable",
    };
    judged.compare("met with faults under overrides", about, word(&found.overrides), walked);
    Some(())
}

fn costly(model: &Model, walk: &Walk<'_>) -> Vec<Source> {
    walk.sources().into_iter().filter(|source| model.weight(*source) > 0).collect()
}

/// The minimal cut sets.
pub(super) fn walked(model: &Model, walk: &mut Walk<'_>, others: Others) -> Option<Walked> {
    let costly = costly(model, walk);
    let every = costly.len() <= ALL_SETS;
    let mut found = Walked { none_needed: walk.defeated(&BTreeSet::new(), others)?, cuts: Vec::new(), every };
    if found.none_needed {
        return Some(found);
    }
    for size in 1..=if every { costly.len() } else { ORDER } {
        for set in sets_of(&costly, size) {
            if !found.cuts.iter().any(|cut| cut.is_subset(&set)) && walk.defeated(&set, others)? {
                found.cuts.push(set);
            }
        }
    }
    found.cuts.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    Some(found)
}

pub(super) fn compare_numbers(
    model: &Model,
    numbers: &Numbers,
    walked: &Walked,
    about: &str,
    walk: &mut Walk<'_>,
    others: Others,
    judged: &mut Judged,
) -> Option<()> {
    let listed: Vec<BTreeSet<Source>> =
        walked.cuts.iter().filter(|cut| cut.len() <= ORDER).cloned().collect();
    if numbers.cuts != listed {
        let (said, walked) = (names(model, &numbers.cuts), names(model, &listed));
        judged.differ(format!("cut sets of {about}: decided {said:?}, walked {walked:?}"));
    }
    let tolerance = tolerance(model, numbers, walked);
    if tolerance != numbers.tolerance {
        judged.differ(format!("tolerance of {about}: {:?}, walked {tolerance:?}", numbers.tolerance));
    }
    if walked.none_needed {
        if numbers.paths != Paths::Exactly(0) {
            judged.differ(format!("{about}: {:?} without any protection", numbers.paths));
        }
        return Some(());
    }
    paths(model, numbers, walked, about, walk, others, judged)
}

/// What the walked cut sets say of the tolerance; what they leave open is left as it is.
fn tolerance(model: &Model, numbers: &Numbers, walked: &Walked) -> Tolerance {
    let weight = |cut: &BTreeSet<Source>| cut.iter().map(|source| model.weight(*source)).sum::<u32>();
    let lightest = walked.cuts.iter().map(weight).min();
    let beyond = u32::try_from(ORDER).unwrap() + 1;
    match (lightest, numbers.tolerance) {
        _ if walked.none_needed => Tolerance::None,
        (Some(weight), _) if weight <= beyond => Tolerance::Exactly(weight - 1),
        (Some(weight), Tolerance::AtLeast(said)) if said < weight && said + 1 >= beyond => numbers.tolerance,
        (None, Tolerance::AtLeast(said)) if said + 1 >= beyond => numbers.tolerance,
        // A cut set met on the way to the paths may settle it; it has more sources than those that were walked.
        (_, Tolerance::Exactly(said)) if !walked.every && said + 1 >= beyond => numbers.tolerance,
        _ => Tolerance::AtLeast(beyond - 1),
    }
}

/// The number of paths is right if so many path sets share nothing, and the cut sets that stand in the way of one more
/// are cut sets which no split of the sources into one class more shows all classes in.
fn paths(
    model: &Model,
    numbers: &Numbers,
    walked: &Walked,
    about: &str,
    walk: &mut Walk<'_>,
    others: Others,
    judged: &mut Judged,
) -> Option<()> {
    let costly = costly(model, walk);
    for path in &numbers.path_sets {
        let rest: BTreeSet<Source> = costly.iter().copied().filter(|source| !path.contains(source)).collect();
        if walk.defeated(&rest, others)? {
            judged.differ(format!("{about}: {:?} is no path set", names(model, std::slice::from_ref(path))));
        }
    }
    let Paths::Exactly(number) = numbers.paths else {
        if !numbers.path_sets.iter().any(BTreeSet::is_empty) || !walked.cuts.is_empty() {
            judged.differ(format!("{about}: not met whatever fails"));
        }
        return Some(());
    };
    let sources: usize = numbers.path_sets.iter().map(BTreeSet::len).sum();
    let distinct: BTreeSet<&Source> = numbers.path_sets.iter().flatten().collect();
    if numbers.path_sets.len() != number || distinct.len() != sources {
        judged.differ(format!("{about}: its {number} path sets share something"));
    }
    if colourable(&numbers.obstacle, number + 1) {
        judged.differ(format!("{about}: nothing stands in the way of one path more"));
    }
    for cut in &numbers.obstacle {
        if !walk.defeated(cut, others)? {
            judged.differ(format!("{about}: {:?} is no cut set", names(model, std::slice::from_ref(cut))));
        }
    }
    if walked.every && (!colourable(&walked.cuts, number) || colourable(&walked.cuts, number + 1)) {
        judged.differ(format!("{about}: not {number} paths by the walked cut sets"));
    }
    Some(())
}

pub(super) fn broken(is: bool) -> &'static str {
    if is { "broken" } else { "holds" }
}

/// Whether fewer faults are tolerated than required, by the walked cut sets.
pub(super) fn short(model: &Model, hazard: HazardId, walked: &Walked) -> bool {
    let required = model.hazards[hazard].required.fault_tolerance;
    let weight = |cut: &BTreeSet<Source>| cut.iter().map(|source| model.weight(*source)).sum::<u32>();
    walked.none_needed || walked.cuts.iter().map(weight).min().is_some_and(|weight| weight <= required)
}

/// Fault tolerance and disjoint paths as required, and the same with the initiator.
fn required(
    model: &Model,
    found: &HazardInMode,
    numbers: &Numbers,
    walked: &Walked,
    about: &str,
    judged: &mut Judged,
) {
    let required = model.hazards[found.hazard].required;
    let tolerance = broken(short(model, found.hazard, walked));
    judged.compare("fault tolerance", about, word(&found.tolerance), tolerance);
    let disjoint = if numbers.paths.reaches(required.disjoint_paths) { "holds" } else { "broken" };
    judged.compare("disjoint paths", about, word(&found.disjoint), disjoint);
    let initiator = match found.alone {
        None => "not applicable",
        Some(_) if tolerance == "broken" => "broken",
        Some(_) => disjoint,
    };
    judged.compare("with its initiator", about, word(&found.initiator), initiator);
}

/// Whether the sources in these sets can be coloured so that each set shows so many colours, by trying all.
fn colourable(sets: &[BTreeSet<Source>], colours: usize) -> bool {
    if sets.iter().any(|set| set.len() < colours) {
        return false;
    }
    let sources: Vec<Source> = sets.iter().flatten().copied().collect::<BTreeSet<_>>().into_iter().collect();
    let ways = colours.pow(u32::try_from(sources.len()).unwrap());
    (0..ways).any(|way| {
        let colour = |source: &Source| {
            let at = sources.iter().position(|other| other == source).unwrap();
            way / colours.pow(u32::try_from(at).unwrap()) % colours
        };
        sets.iter().all(|set| set.iter().map(colour).collect::<BTreeSet<usize>>().len() == colours)
    })
}

/// Every set of so many of the sources.
fn sets_of(sources: &[Source], size: usize) -> Vec<BTreeSet<Source>> {
    if size == 0 {
        return vec![BTreeSet::new()];
    }
    let mut all = Vec::new();
    for (number, source) in sources.iter().enumerate() {
        for mut set in sets_of(&sources[number + 1..], size - 1) {
            set.insert(*source);
            all.push(set);
        }
    }
    all
}
