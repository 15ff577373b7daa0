//! The main job against published examples: cut sets, path sets, voting, degradation.
//!
//! Beside each check stands its source and how the value is known: *memory* (recalled from the publication), *calc*
//! (recomputed here from the definition). Nothing here was looked up in the publication itself.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[path = "published/structure.rs"]
mod structure;
#[path = "support/support.rs"]
mod support;
#[path = "published/times.rs"]
mod times;
#[path = "published/votes.rs"]
mod votes;

use std::collections::BTreeSet;

use support::examined::{Examined, TagSets, examine, sets, sorted};
use support::text::{switches, vote};
use tripproof::outcome::{Paths, Tolerance};

fn shipped(name: &str) -> Examined {
    let path = format!("{}/models/{name}.yaml", env!("CARGO_MANIFEST_DIR"));
    examine(&std::fs::read_to_string(path).unwrap())
}

/// Minimal path sets as the minimal sets that meet every cut set, by trying all subsets.
fn paths_of(cuts: &TagSets) -> TagSets {
    let elements: Vec<&String> = cuts.iter().flatten().collect::<BTreeSet<_>>().into_iter().collect();
    let mut hitting: Vec<Vec<String>> = (0..1usize << elements.len())
        .map(|code| {
            let chosen = elements.iter().enumerate().filter(|(i, _)| code >> i & 1 == 1);
            chosen.map(|(_, element)| (*element).clone()).collect::<Vec<_>>()
        })
        .filter(|set| cuts.iter().all(|cut| cut.iter().any(|element| set.contains(element))))
        .collect();
    let all = hitting.clone();
    let within = |a: &Vec<String>, b: &Vec<String>| a.len() < b.len() && a.iter().all(|x| b.contains(x));
    hitting.retain(|set| !all.iter().any(|other| within(other, set)));
    sorted(hitting)
}

fn choose(n: usize, k: usize) -> usize {
    (0..k).fold(1, |product, i| product * (n - i) / (i + 1))
}

/// NUREG-0492 (Fault Tree Handbook, 1981), pressure tank example: five cut sets, two path sets. Memory, calc.
#[test]
fn the_pressure_tank_has_the_cut_and_path_sets_of_the_handbook() {
    let found = shipped("pressure-tank");
    let cuts = sets(["T", "K2", "S S1", "S K1", "S R"]);
    assert_eq!(found.all_cuts("H-RUPTURE"), cuts);
    assert_eq!(found.cuts("H-RUPTURE"), cuts, "none has more than two members, so the list is complete");
    assert_eq!(paths_of(&cuts), sets(["T K2 S", "T K2 S1 K1 R"]));
    found.confirm("H-RUPTURE", &cuts);
}

/// NUREG-0492, chapter VII, four gates with a repeated event: T = E1·E2, E1 = A+E3, E3 = B+C, E2 = C+E4, E4 = A·B.
/// The trip works where the tree's top event does not happen, so AND and OR change places. Memory, calc.
#[test]
fn a_repeated_event_is_not_counted_twice() {
    let found = examine(&switches(3, "(X1 AND (X2 AND X3)) OR (X3 AND (X1 OR X2))"));
    let cuts = sets(["X3", "X1 X2"]);
    assert_eq!(found.all_cuts("H"), cuts);
    assert_eq!(paths_of(&cuts), sets(["X1 X3", "X2 X3"]));
    found.confirm("H", &cuts);
}

/// NUREG-0492, chapter VII, pumping system: top = V + P1·P2. Memory, calc.
#[test]
fn the_pumping_system_has_a_valve_and_two_pumps_to_lose() {
    let found = examine(&switches(3, "X1 AND (X2 OR X3)"));
    let cuts = sets(["X1", "X2 X3"]);
    assert_eq!(found.all_cuts("H"), cuts);
    assert_eq!(paths_of(&cuts), sets(["X1 X2", "X1 X3"]));
    found.confirm("H", &cuts);
}

/// The bridge network of any text on reliability (for instance Rausand and Hoyland). Memory, calc.
#[test]
fn the_bridge_has_four_cut_sets_and_four_path_sets() {
    let found = examine(&switches(5, "X1 AND X4 OR X2 AND X5 OR X1 AND X3 AND X5 OR X2 AND X3 AND X4"));
    let cuts = sets(["X1 X2", "X4 X5", "X1 X3 X5", "X2 X3 X4"]);
    assert_eq!(found.all_cuts("H"), cuts);
    assert_eq!(paths_of(&cuts), sets(["X1 X4", "X2 X5", "X1 X3 X5", "X2 X3 X4"]));
}

/// k-out-of-n:G of any text on reliability: C(n, n−k+1) minimal cut sets of n−k+1 members, C(n, k) minimal path sets
/// of k. IEC 61508-4/-6: a MooN vote tolerates N−M faults. Disjoint paths ⌊N/M⌋: our definition. Memory, calc.
#[test]
fn every_vote_up_to_six_has_the_cut_and_path_sets_of_the_books() {
    for n in 1..=6 {
        for k in 1..=n {
            let found = examine(&switches(n, &vote(k, n)));
            let cuts = found.all_cuts("H");
            assert_eq!(cuts.len(), choose(n, n - k + 1), "{k}oo{n}");
            assert!(cuts.iter().all(|cut| cut.len() == n - k + 1), "{k}oo{n}");
            let paths = paths_of(&cuts);
            assert_eq!(paths.len(), choose(n, k), "{k}oo{n}");
            assert!(paths.iter().all(|path| path.len() == k), "{k}oo{n}");
            let numbers = found.numbers("H");
            let faults = u32::try_from(n - k).unwrap();
            let known = if faults <= 2 { Tolerance::Exactly(faults) } else { numbers.tolerance };
            assert_eq!(numbers.tolerance, known, "{k}oo{n}");
            assert!(numbers.tolerance.reaches(faults.min(2)), "{k}oo{n}");
            assert_eq!(numbers.paths, Paths::Exactly(n / k), "{k}oo{n}");
        }
    }
}

/// Linear consecutive-k-out-of-n:F of any text on reliability: n−k+1 minimal cut sets, each k neighbours. Memory, calc.
#[test]
fn consecutive_failures_have_one_cut_set_for_each_run_of_neighbours() {
    for (k, n) in [(2, 4), (2, 5), (3, 6), (3, 7)] {
        let runs: Vec<Vec<String>> =
            (1..=n - k + 1).map(|first| (first..first + k).map(|i| format!("X{i}")).collect()).collect();
        let works: Vec<String> = runs.iter().map(|run| format!("({})", run.join(" OR "))).collect();
        let found = examine(&switches(n, &works.join(" AND ")));
        assert_eq!(found.all_cuts("H"), sorted(runs), "{k} of {n}");
    }
}

/// Degradation of 2oo3 and 2oo4 in IEC 61508-6 and ISA TR84 terms: one channel bypassed leaves 2oo2 and 2oo3, one
/// placed in trip leaves 1oo2 and 1oo3. Hardware fault tolerance 0, 1, 1, 2. Calc, by the vote's own rule.
#[test]
fn a_vote_with_one_channel_out_is_the_vote_that_the_table_names() {
    for (n, out, left, tolerated) in
        [(3, "", "2oo2", 0), (4, "", "2oo3", 1), (3, "1oo2", "1oo2", 1), (4, "1oo3", "1oo3", 2)]
    {
        let degraded = examine(&with_one_overridden(n, out));
        let m: usize = left[..1].parse().unwrap();
        let same = examine(&switches(n - 1, &vote(m, n - 1)));
        let faults = found_under_override(&degraded, n - 1);
        assert_eq!(faults, same.all_cuts("H"), "2oo{n} with one out is {left}");
        assert!(faults.iter().all(|cut| cut.len() == tolerated + 1), "{left}");
    }
}

/// 2ooN of which the last head is overridden for good: it is not there, and the vote's rule is applied by hand.
fn with_one_overridden(n: usize, rule: &str) -> String {
    let text = switches(n, &vote(2, n));
    let key = format!(
        "overrides: {{ MO: {{ device: key, inputs: [X{n}], at_most: 1 }} }}\npolicy: {{ disjoint_paths: 1, fault_tolerance: 0, under_overrides: 0 }}\n"
    );
    let text = text.replace("policy: { disjoint_paths: 1, fault_tolerance: 0 }\n", &key);
    match rule {
        "" => text,
        rule => text.replace("latched: false,", &format!("latched: false, degraded_vote: [{rule}],")),
    }
}

/// Minimal cut sets while the key is turned: sets of heads that the simulator finds to defeat the trip under the
/// permitted override, by trying all of them.
fn found_under_override(found: &Examined, heads: usize) -> TagSets {
    use tripproof::claim::{Breach, Budget, Claim};
    use tripproof::model::{Element, Source};
    use tripproof::situation::{FactChoice, Situation};
    let model = &found.model;
    let input = |tag: &str| match model.element_by_tag(tag).unwrap() {
        Element::Input(id) => id,
        other => panic!("{other:?}"),
    };
    let (hazard, solver) = (found.hazard("H"), model.solvers.ids().next().unwrap());
    let last = input(&format!("X{}", heads + 1));
    let (device, _) = model.overrides.iter().next().unwrap();
    let danger = model.conditions.iter().find(|(_, c)| c.name.tag == "danger").unwrap().0;
    let mut cuts: Vec<Vec<String>> = Vec::new();
    for code in 0..1usize << heads {
        let failed: Vec<String> =
            (0..heads).filter(|i| code >> i & 1 == 1).map(|i| format!("X{}", i + 1)).collect();
        let mut situation = Situation::default();
        situation.facts.insert(FactChoice::Condition(danger), true);
        situation.facts.insert(FactChoice::Overridden(device, last), true);
        for driver in model.drivers.ids() {
            situation.facts.insert(FactChoice::Gives(driver), true);
        }
        let mut sources = BTreeSet::new();
        for tag in &failed {
            let id = input(tag);
            sources.insert(Source::Input(id));
            situation.facts.insert(FactChoice::Misbehaves(Source::Input(id)), true);
            situation.facts.insert(FactChoice::Deviates(id, solver), true);
        }
        let claim = Claim {
            breach: Breach::NotMet { hazard, onset: None },
            modes: model.modes.ids().take(1).collect(),
            faults: Budget { sources, weight: None },
            initiators: false,
            overrides: true,
        };
        if tripproof::replay::replay(model, &claim, &situation).unwrap().breaks {
            cuts.push(failed);
        }
    }
    let all = cuts.clone();
    cuts.retain(|set| {
        !all.iter().any(|other| other.len() < set.len() && other.iter().all(|x| set.contains(x)))
    });
    sorted(cuts)
}
