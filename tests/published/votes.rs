//! Votes: cut sets, fault tolerance, disjoint paths, degradation, duality.

use tripproof::analysis::{Actors, Case, cuts, paths};
use tripproof::claim::{Breach, Budget, Claim};
use tripproof::load::load;
use tripproof::model::{Id, Model};
use tripproof::outcome::{Paths, Tolerance};
use tripproof::replay::replay;
use tripproof::situation::{FactChoice, Situation};
use tripproof::source::Source;

use crate::support::examined::examine;
use crate::support::text::{ideal, model, switches, vote};

/// n over k.
fn choose(n: usize, k: usize) -> usize {
    (0..k).fold(1, |product, i| product * (n - i) / (i + 1))
}

/// k-out-of-n, any text on reliability: C(n, n−k+1) minimal cut sets of n−k+1 elements. Memory, calc.
/// Fault tolerance n − k and floor(n / k) disjoint paths. Calc, from the definitions.
#[test]
fn a_vote_of_k_out_of_n_has_the_cut_sets_of_the_textbook() {
    for n in 1..=6 {
        for k in 1..=n {
            let found = examine(&switches(n, &vote(k, n)));
            let cuts = found.all_cuts("H");
            let order = n - k + 1;
            assert_eq!(cuts.len(), choose(n, order), "{k}oo{n}");
            assert!(cuts.iter().all(|cut| cut.len() == order), "{k}oo{n}");
            let numbers = found.numbers("H");
            assert_eq!(numbers.paths, Paths::Exactly(n / k), "{k}oo{n}");
            let (searched, tolerated) = (tripproof::assess::ORDER, (n - k) as u32);
            let exact = numbers.tolerance == Tolerance::Exactly(tolerated);
            // Beyond the order searched the tolerance may stay a lower bound, never a wrong one.
            let bound = order > searched && numbers.tolerance == Tolerance::AtLeast(searched as u32);
            assert!(exact || bound, "{k}oo{n}: {:?}", numbers.tolerance);
        }
    }
}

/// The vote of each row, with its tolerance of dangerous faults, of spurious ones, and its disjoint paths.
/// IEC 61508-4 and -6, hardware fault tolerance of MooN: N − M dangerous, M − 1 spurious. Memory; calc by cut sets.
const TOLERANCES: [(usize, usize, u32, u32, usize); 8] = [
    (1, 1, 0, 0, 1),
    (1, 2, 1, 0, 2),
    (2, 2, 0, 1, 1),
    (1, 3, 2, 0, 3),
    (2, 3, 1, 1, 1),
    (3, 3, 0, 2, 1),
    (2, 4, 2, 1, 2),
    (3, 4, 1, 2, 1),
];

#[test]
fn hardware_fault_tolerance_of_votes_is_that_of_the_standard() {
    for (m, n, dangerous, spurious, disjoint) in TOLERANCES {
        let found = examine(&switches(n, &vote(m, n)));
        found.has_numbers("H", disjoint, dangerous);
        // The other direction: no danger, and the contactor, which rests closed, must not open.
        let quiet = switches(n, &vote(m, n))
            .replace("operated_by: process", "operated_by: protection, rest: closed")
            .replace("when: danger, exists_in", "when: NOT danger, exists_in")
            .replace("safe_state: K1 = open", "safe_state: K1 = closed");
        let found = examine(&quiet);
        assert_eq!(found.numbers("H").tolerance, Tolerance::Exactly(spurious), "{m}oo{n}");
    }
}

/// `wanted` disjoint paths can be had by splitting the sources, asked with cut sets of every size known.
#[test]
fn disjoint_paths_do_not_depend_on_how_many_cut_sets_are_known() {
    for (m, n, _, _, disjoint) in TOLERANCES {
        let found = examine(&switches(n, &vote(m, n)));
        let sources = found.model.universe();
        let hazard = found.hazard("H");
        let modes = [found.of("H").mode];
        let scope = tripproof::semantics::Scope {
            breach: Breach::NotMet { hazard, onset: None },
            modes: &modes,
            sources: &sources,
            initiators: true,
        };
        let encoding = tripproof::semantics::encode(&found.model, &scope);
        let engine = tripproof::engine::smt::Smt::new(50_000_000).unwrap();
        let question =
            tripproof::engine::Engine::open(&engine, &encoding.terms, &encoding.possible, &[]).unwrap();
        let mut case = Case::new(encoding, question, |source| found.model.weight(source), Default::default());
        let actors = Actors { initiators: true, damage: true, overrides: false };
        for order in [0, n] {
            let known = cuts::up_to(&mut case, order, actors).unwrap();
            assert_eq!(paths::largest(&mut case, &known, actors).unwrap().number, disjoint, "{m}oo{n}");
        }
    }
}

/// A model of n switches, each with a condition of its own, and these causes; nothing else happens in it.
fn truth_table(n: usize, causes: &[String]) -> Model {
    let list = |line: &dyn Fn(usize) -> String| (1..=n).map(line).collect::<String>();
    let conditions = list(&|i| format!("  x{i}: {{}}\n"));
    let sensors = list(&|i| format!("  X{i}: {{ detects: x{i}, wired_to: [C1] }}\n"));
    let cause = |(number, when): (usize, &String)| {
        format!("  V{number}: {{ when: \"{when}\", solver: C1, latched: false, demands: [OFF] }}\n")
    };
    let text = model(&[
        &format!("conditions:\n{conditions}"),
        &format!("sensors:\n{sensors}"),
        &format!("causes:\n{}", causes.iter().enumerate().map(cause).collect::<String>()),
        "
logic_solvers: { C1: {} }
actuators: { K1: { $CONTACTOR, drivers: [C1] } }
effects: { OFF: { set: [K1 = open] } }
hazards: { H: { when: x1, $HERE, safe_state: K1 = open } }
",
        &ideal(&["C1", "K1"]),
    ]);
    load(&Source::new("votes.yaml", text)).unwrap()
}

/// What every cause is, for the switches that are set in `bits`, by the simulator.
fn values(model: &Model, bits: usize) -> Vec<bool> {
    let mut situation = Situation::default();
    for id in model.conditions.ids() {
        situation.facts.insert(FactChoice::Condition(id), bits >> id.index() & 1 == 1);
    }
    let claim = Claim {
        breach: Breach::Possible,
        modes: Vec::new(),
        faults: Budget::none(),
        initiators: false,
        overrides: false,
    };
    replay(model, &claim, &situation).unwrap().causes.into_values().collect()
}

/// Duality `NOT MooN(x) = (N−M+1)ooN(NOT x)`, for all N up to 6. Calc, exhaustive truth tables; and MooN counts.
#[test]
fn a_negated_vote_is_its_dual_vote_of_the_negations() {
    for n in 1..=6 {
        let not = (1..=n).map(|i| format!("NOT X{i}")).collect::<Vec<_>>().join(", ");
        let votes = (1..=n)
            .flat_map(|m| [vote(m, n), format!("NOT {}", vote(m, n)), format!("{}oo{n}({not})", n - m + 1)]);
        let model = truth_table(n, &votes.collect::<Vec<_>>());
        for bits in 0..1 << n {
            for (number, found) in values(&model, bits).chunks(3).enumerate() {
                let trips = bits.count_ones() as usize > number;
                assert_eq!(found, [trips, !trips, !trips], "{}oo{n} of {bits:b}", number + 1);
            }
        }
    }
}

/// Voting degradation: vote, operands, whether the last channel is forced to trip, and the vote that is left.
/// Calc, exhaustive truth tables.
const DEGRADED: [(usize, usize, bool, usize, u32); 4] =
    [(2, 3, false, 2, 0), (2, 3, true, 1, 1), (2, 4, false, 2, 1), (2, 4, true, 1, 2)];

#[test]
fn a_vote_with_one_channel_forced_is_the_smaller_vote_of_the_table() {
    for (m, n, trips, left, tolerance) in DEGRADED {
        let model = truth_table(n, &[vote(m, n), vote(left, n - 1)]);
        for others in 0..1 << (n - 1) {
            let found = values(&model, others | usize::from(trips) << (n - 1));
            assert_eq!(found[0], found[1], "{m}oo{n} of {others:b}");
        }
        let smaller = examine(&switches(n - 1, &vote(left, n - 1)));
        assert_eq!(smaller.numbers("H").tolerance, Tolerance::Exactly(tolerance));
    }
}
