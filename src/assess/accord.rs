//! Whether results that were decided apart can be true together: what excludes each other is an error of this program.
//!
//! Verdicts, numbers, cut sets and path sets of a hazard come from different questions, and some are carried over from
//! hazards that ask alike. A verdict that does not fit the others is not told as proved.

use std::collections::{BTreeMap, BTreeSet};

use super::time::Timed;
use super::{Assessment, Decided, HazardInMode, Numbers};
use crate::model::{HazardId, ModeId, Model, Required, Source};
use crate::outcome::{Paths, Tolerance};

/// Takes back what excludes another result, and says so among the differences.
pub(super) fn settle(model: &Model, assessment: &mut Assessment) {
    let mut differences = Vec::new();
    let mut ever: BTreeMap<(HazardId, ModeId), HazardInMode> = BTreeMap::new();
    for found in &mut assessment.hazards {
        let required = model.hazards[found.hazard].required;
        let excluded = excluded(found, required, model.hazards[found.hazard].onset.len());
        differences.extend(excluded.iter().map(|what| sentence(model, found, what)));
        if !excluded.is_empty() {
            take_back(found);
        }
        ever.insert((found.hazard, found.mode), found.clone());
    }
    for timed in &mut assessment.timed {
        let Timed::Decided(found) = &mut timed.decided else { continue };
        let required = model.hazards[found.hazard].required;
        let mut excluded = excluded(found, required, model.hazards[found.hazard].onset.len());
        if let Some(ever) = ever.get(&(found.hazard, found.mode)) {
            excluded.extend(more_than_ever(found, ever));
        }
        let in_time = excluded.iter().map(|what| format!("{what} (with regard to time)"));
        differences.extend(in_time.map(|what| sentence(model, found, &what)));
        if !excluded.is_empty() {
            take_back(found);
        }
    }
    assessment.differences.extend(differences);
}

fn sentence(model: &Model, found: &HazardInMode, what: &str) -> String {
    format!("{} in {}: {what}", model.hazards[found.hazard].name.tag, model.modes[found.mode].name.tag)
}

/// Neither proved nor in the table; refutations were replayed and stay.
fn take_back(found: &mut HazardInMode) {
    let claims = [
        &mut found.unaided,
        &mut found.covered,
        &mut found.tolerance,
        &mut found.disjoint,
        &mut found.initiator,
        &mut found.overrides,
    ];
    for decided in claims.into_iter().filter(|decided| matches!(decided, Decided::Holds)) {
        *decided = Decided::Disputed;
    }
    (found.numbers, found.alone) = (None, None);
}

fn holds(decided: &Decided) -> bool {
    matches!(decided, Decided::Holds)
}

/// Every pair of results about one hazard in one mode that cannot both be true.
fn excluded(found: &HazardInMode, required: Required, onsets: usize) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    let mut never = |both: bool, what: &str| {
        if both {
            all.push(what.to_string());
        }
    };
    let (unaided, covered) = (&found.unaided, &found.covered);
    never(holds(covered) && unaided.is_broken(), "met under overrides, and not without them");
    never(
        holds(&found.overrides) && covered.is_broken(),
        "met with faults under overrides, and not without faults",
    );
    never(
        holds(&found.tolerance) && unaided.is_broken(),
        "faults are tolerated, and it is not met without one",
    );
    never(
        holds(&found.disjoint) && required.disjoint_paths > 0 && unaided.is_broken(),
        "it has trip paths, and is not met without a fault",
    );
    never(
        holds(&found.initiator) && (found.tolerance.is_broken() || found.disjoint.is_broken()),
        "with an initiator it keeps what it does not have",
    );
    let Some(numbers) = &found.numbers else { return all };
    never(found.impossible(onsets), "it has no situation, and numbers");
    let tolerated = numbers.tolerance.reaches(required.fault_tolerance);
    let paths = numbers.paths.reaches(required.disjoint_paths);
    // Of more faults than the cut sets that were listed reach, it was asked directly.
    let listed = !matches!(numbers.tolerance, Tolerance::AtLeast(_));
    never(
        holds(&found.tolerance) && listed && !tolerated,
        "the required faults are tolerated, and a cut set weighs less",
    );
    never(
        found.tolerance.is_broken() && tolerated,
        "the required faults are not tolerated, and no cut set weighs so little",
    );
    never(holds(&found.disjoint) && !paths, "the required trip paths are there, and fewer were found");
    never(found.disjoint.is_broken() && paths, "the required trip paths are not there, and were found");
    never(
        unaided.is_broken() && numbers.tolerance != Tolerance::None,
        "it is not met without a fault, and tolerates some",
    );
    if let Some(alone) = &found.alone {
        never(
            more(numbers, alone),
            "with an initiator it has more trip paths or tolerates more faults than without",
        );
    }
    all.extend(crossed(numbers));
    all
}

/// Whether the first has surely more of something than the second.
fn more(one: &Numbers, other: &Numbers) -> bool {
    let tolerance = match (one.tolerance, other.tolerance) {
        (_, Tolerance::AtLeast(_)) | (Tolerance::None, _) => false,
        (_, Tolerance::None) => true,
        (Tolerance::Exactly(a) | Tolerance::AtLeast(a), Tolerance::Exactly(b)) => a > b,
    };
    let paths = match (one.paths, other.paths) {
        (_, Paths::Unlimited) => false,
        (Paths::Unlimited, Paths::Exactly(_)) => true,
        (Paths::Exactly(a), Paths::Exactly(b)) => a > b,
    };
    tolerance || paths
}

/// Path sets share nothing, there are as many as are counted at most, and every cut set has a source in each: a cut set
/// beside a path set would defeat what that path alone protects.
fn crossed(numbers: &Numbers) -> Vec<String> {
    let mut all = Vec::new();
    let mut used: BTreeSet<Source> = BTreeSet::new();
    if !numbers.path_sets.iter().flatten().all(|source| used.insert(*source)) {
        all.push("two of its disjoint path sets share a source".to_string());
    }
    if matches!(numbers.paths, Paths::Exactly(paths) if paths < numbers.path_sets.len()) {
        all.push("more path sets are listed than are counted".to_string());
    }
    let cuts = numbers.cuts.iter().chain(&numbers.obstacle).chain(&numbers.lightest);
    if beside(cuts, &numbers.path_sets) {
        all.push("a cut set leaves one of its path sets whole".to_string());
    }
    all
}

/// Whether one of these sets has no source in one of those.
fn beside<'a>(cuts: impl Iterator<Item = &'a BTreeSet<Source>>, paths: &[BTreeSet<Source>]) -> bool {
    cuts.into_iter().any(|cut| paths.iter().any(|path| cut.is_disjoint(path)))
}

/// What is met in time is met: nothing is better with regard to time than without.
fn more_than_ever(found: &HazardInMode, ever: &HazardInMode) -> Vec<String> {
    let pairs = [
        (&found.unaided, &ever.unaided),
        (&found.covered, &ever.covered),
        (&found.tolerance, &ever.tolerance),
        (&found.disjoint, &ever.disjoint),
        (&found.overrides, &ever.overrides),
    ];
    let mut all = Vec::new();
    if pairs.into_iter().any(|(in_time, ever)| holds(in_time) && ever.is_broken()) {
        all.push("in time it holds, and not as long as it takes".to_string());
    }
    if let (Some(own), Some(numbers)) = (&found.numbers, &ever.numbers) {
        if more(own, numbers) {
            all.push(
                "in time it has more trip paths or tolerates more faults than as long as it takes"
                    .to_string(),
            );
        }
        if beside(numbers.cuts.iter(), &own.path_sets) {
            all.push("a cut set leaves a path set whole that protects in time".to_string());
        }
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::super::assess;
    use super::*;
    use crate::engine::smt::Smt;
    use crate::load::load;
    use crate::source;

    /// Whatever is changed afterwards in a result that fits, or in what is required, is noticed and not told as proved.
    fn told(change: impl Fn(&mut Assessment)) -> (Assessment, Vec<String>) {
        let model = model(BURNER);
        settled_with(&model, change)
    }

    const BURNER: &str = include_str!("../../models/burner.yaml");

    fn model(text: &str) -> Model {
        load(&source::Source::new("burner.yaml", text)).unwrap()
    }

    /// The burner's assessment, changed, and looked at with what a model requires.
    fn settled_with(required: &Model, change: impl Fn(&mut Assessment)) -> (Assessment, Vec<String>) {
        let model = model(BURNER);
        let mut assessment = assess(&model, &Smt::new(50_000_000).unwrap()).unwrap();
        assert_eq!(assessment.differences, Vec::<String>::new());
        change(&mut assessment);
        settle(required, &mut assessment);
        let differences = assessment.differences.clone();
        (assessment, differences)
    }

    /// The first hazard with two paths and one fault tolerated.
    fn place(assessment: &Assessment) -> usize {
        let fits = |found: &HazardInMode| {
            found.numbers.as_ref().is_some_and(|numbers| {
                numbers.tolerance == Tolerance::Exactly(1) && numbers.paths == Paths::Exactly(2)
            })
        };
        assessment.hazards.iter().position(fits).unwrap()
    }

    #[test]
    fn what_fits_stays() {
        let (assessment, differences) = told(|_| ());
        assert_eq!(differences, Vec::<String>::new());
        assert!(holds(&assessment.hazards[place(&assessment)].disjoint));
    }

    #[test]
    fn a_verdict_of_a_hazard_that_requires_less_is_not_believed() {
        let stricter = BURNER.replace(
            "  disjoint_paths: 2\n  fault_tolerance: 1",
            "  disjoint_paths: 3\n  fault_tolerance: 2",
        );
        let (assessment, differences) = settled_with(&model(&stricter), |_| ());
        let text = differences.join("\n");
        assert!(text.contains("the required faults are tolerated, and a cut set weighs less"), "{text}");
        assert!(text.contains("the required trip paths are there, and fewer were found"), "{text}");
        let wrong =
            assessment.hazards.iter().find(|found| matches!(found.disjoint, Decided::Disputed)).unwrap();
        assert!(wrong.numbers.is_none() && !wrong.claims().into_iter().any(holds));
    }

    #[test]
    fn a_cut_set_beside_a_path_set_is_not_believed() {
        let (_, differences) = told(|assessment| {
            let place = place(assessment);
            let numbers = assessment.hazards[place].numbers.as_mut().unwrap();
            let first = numbers.path_sets[0].clone();
            for cut in &mut numbers.cuts {
                cut.retain(|source| !first.contains(source));
            }
        });
        assert!(differences[0].contains("a cut set leaves one of its path sets whole"), "{differences:?}");
    }

    #[test]
    fn paths_that_share_a_source_are_not_believed() {
        let (_, differences) = told(|assessment| {
            let place = place(assessment);
            let numbers = assessment.hazards[place].numbers.as_mut().unwrap();
            numbers.path_sets[1] = numbers.path_sets.iter().flatten().copied().collect();
        });
        assert!(differences[0].contains("two of its disjoint path sets share a source"), "{differences:?}");
    }

    #[test]
    fn more_paths_in_time_than_as_long_as_it_takes_are_not_believed() {
        let (_, differences) = told(|assessment| {
            let place = place(assessment);
            let mut found = assessment.hazards[place].clone();
            let ever = &mut assessment.hazards[place];
            let numbers = ever.numbers.as_mut().unwrap();
            (numbers.paths, numbers.tolerance) = (Paths::Exactly(1), Tolerance::Exactly(0));
            numbers.path_sets.truncate(1);
            // So that nothing without regard to time excludes anything.
            (ever.tolerance, ever.disjoint) =
                (Decided::Undecided(String::new()), Decided::Undecided(String::new()));
            ever.initiator = Decided::Undecided(String::new());
            ever.alone = None;
            found.alone = None;
            let timed = &mut assessment.timed;
            let own = timed.iter_mut().find(|t| (t.hazard, t.mode) == (found.hazard, found.mode)).unwrap();
            own.decided = Timed::Decided(Box::new(found));
        });
        let text = differences.join("\n");
        assert!(text.contains("in time it has more trip paths"), "{text}");
    }
}
