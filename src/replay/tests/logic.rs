//! Section 4: literals, votes, memory, and causes at other solvers.

use super::*;

/// Three switches on three conditions, and a cause of them at `main`.
struct Voting {
    b: Bench,
    inputs: Vec<InputId>,
    conditions: Vec<ConditionId>,
    cause: CauseId,
}

fn voting(
    on_bad: Option<OnBad>,
    degraded: &[Degraded],
    when: impl FnOnce(Vec<Tree<InputAtom>>) -> Tree<InputAtom>,
) -> Voting {
    let mut b = bench();
    let conditions: Vec<_> = ["A", "B", "C"]
        .iter()
        .map(|tag| b.m.conditions.push(Condition { name: name(tag), normal: false }))
        .collect();
    let inputs: Vec<_> =
        conditions.iter().map(|c| b.m.inputs.push(Input { on_bad, ..switch("S", *c, b.main) })).collect();
    let when = when(inputs.iter().copied().map(asserted).collect());
    let cause = b.m.causes.push(Cause { degraded: degraded.to_vec(), ..cause("C", when, b.main, &[]) });
    b.m.overrides.push(Override {
        name: name("KEY"),
        inputs: inputs.clone(),
        at_most: 3,
        modes: BTreeMap::new(),
        limited: false,
        announces: None,
        parents: Parents::default(),
    });
    Voting { b, inputs, conditions, cause }
}

/// What an input of [`Voting`] does.
#[derive(Clone, Copy, PartialEq)]
enum Does {
    Vote,
    Rest,
    Bad,
    Overridden,
}

impl Voting {
    fn value(&self, does: [Does; 3]) -> bool {
        let key = self.b.m.overrides.ids().next().unwrap();
        let mut sit = sit();
        for (k, what) in does.iter().enumerate() {
            let (input, main) = (self.inputs[k], self.b.main);
            sit = match what {
                Does::Rest => sit,
                Does::Vote => sit.yes(FactChoice::Condition(self.conditions[k])),
                // An overridden input does not count, even where it would vote.
                Does::Overridden => {
                    sit.yes(FactChoice::Condition(self.conditions[k])).yes(FactChoice::Overridden(key, input))
                }
                Does::Bad => sit
                    .faulty(Source::Input(input))
                    .yes(FactChoice::Deviates(input, main))
                    .yes(FactChoice::Bad(input, main)),
            };
        }
        sit.run(&self.b.m).causes[&self.cause]
    }
}

fn all(of: &[Does]) -> Vec<[Does; 3]> {
    let mut combinations = Vec::new();
    for a in of {
        for b in of {
            for c in of {
                combinations.push([*a, *b, *c]);
            }
        }
    }
    combinations
}

fn how_many(does: [Does; 3], what: Does) -> usize {
    does.iter().filter(|d| **d == what).count()
}

#[test]
fn at_least_m_of_n_agree() {
    for m in 1..=3 {
        let v = voting(None, &[], |of| Tree::Vote { m, of });
        for does in all(&[Does::Vote, Does::Rest]) {
            assert_eq!(v.value(does), how_many(does, Does::Vote) >= m);
        }
    }
}

#[test]
fn not_m_of_n_is_exactly_its_opposite_while_all_is_well() {
    for m in 1..=3 {
        let v = voting(None, &[], |of| not(Tree::Vote { m, of }));
        for does in all(&[Does::Vote, Does::Rest]) {
            assert_eq!(v.value(does), how_many(does, Does::Vote) < m);
        }
    }
}

#[test]
fn a_bad_input_of_a_2oo3_votes_as_declared() {
    let every = all(&[Does::Vote, Does::Rest, Does::Bad]);
    for (on_bad, counts) in
        [(Some(OnBad::Trips), 1), (Some(OnBad::NoTrip), 0), (None, 0), (Some(OnBad::DegradesVote), 0)]
    {
        let v = voting(on_bad, &[], |of| Tree::Vote { m: 2, of });
        for does in &every {
            let agree = how_many(*does, Does::Vote) + counts * how_many(*does, Does::Bad);
            assert_eq!(v.value(*does), agree >= 2, "{on_bad:?}");
        }
    }
}

#[test]
fn a_degraded_2oo3_follows_its_rules() {
    // One out: 1oo2 of the others; two out: trip; three out: no rule, so 2oo3 with all of them false.
    let rules = [Degraded::AtLeast(1), Degraded::Trip];
    let v = voting(Some(OnBad::DegradesVote), &rules, |of| Tree::Vote { m: 2, of });
    for does in all(&[Does::Vote, Does::Rest, Does::Bad, Does::Overridden]) {
        let out = how_many(does, Does::Bad) + how_many(does, Does::Overridden);
        let votes = how_many(does, Does::Vote);
        let expected = [votes >= 2, votes >= 1, true, false][out];
        assert_eq!(v.value(does), expected);
    }
    let stops = voting(Some(OnBad::DegradesVote), &[Degraded::NoTrip], |of| Tree::Vote { m: 2, of });
    assert!(!stops.value([Does::Vote, Does::Vote, Does::Bad]));
    assert!(stops.value([Does::Vote, Does::Vote, Does::Rest]));
}

#[test]
fn a_bad_input_that_does_not_degrade_stays_in_its_vote() {
    let v = voting(Some(OnBad::Trips), &[Degraded::NoTrip], |of| Tree::Vote { m: 2, of });
    assert!(v.value([Does::Vote, Does::Bad, Does::Rest]));
    assert!(!v.value([Does::Vote, Does::Vote, Does::Overridden]));
}

#[test]
fn only_a_single_literal_leaves_a_vote() {
    let combined = |of: Vec<Tree<InputAtom>>| {
        let [a, b, c] = <[_; 3]>::try_from(of).unwrap();
        Tree::Vote { m: 1, of: vec![Tree::And(vec![a, b]), not(c)] }
    };
    let v = voting(Some(OnBad::DegradesVote), &[Degraded::Trip], combined);
    assert!(!v.value([Does::Bad, Does::Rest, Does::Vote]), "a combination is never out");
    assert!(v.value([Does::Rest, Does::Rest, Does::Bad]), "a negated literal is out");
    assert!(v.value([Does::Rest, Does::Rest, Does::Rest]));
}

#[test]
fn a_degraded_vote_under_not_is_refused() {
    let v = voting(None, &[Degraded::Trip], |of| not(Tree::Vote { m: 2, of }));
    assert!(sit().refused(&v.b.m).contains("under NOT"));
}

#[test]
fn an_override_and_a_bad_signal_act_on_the_literal_negated_or_not() {
    let negated = |of: Vec<Tree<InputAtom>>| not(of.into_iter().next().unwrap());
    for (on_bad, bad) in [(Some(OnBad::Trips), true), (Some(OnBad::NoTrip), false), (None, false)] {
        let v = voting(on_bad, &[], negated);
        assert!(v.value([Does::Rest; 3]));
        assert!(!v.value([Does::Vote, Does::Rest, Does::Rest]));
        assert_eq!(v.value([Does::Bad, Does::Rest, Does::Rest]), bad);
        assert!(!v.value([Does::Overridden, Does::Rest, Does::Rest]));
    }
}

#[test]
fn not_is_pushed_down_before_bad_literals_are_read() {
    // NOT (a AND b) is NOT a OR NOT b: one bad literal that trips is enough.
    let v = voting(Some(OnBad::Trips), &[], |of| not(Tree::And(of)));
    assert!(v.value([Does::Bad, Does::Vote, Does::Vote]));
    let v = voting(Some(OnBad::NoTrip), &[], |of| not(Tree::And(of)));
    assert!(!v.value([Does::Bad, Does::Vote, Does::Vote]));
    let v = voting(Some(OnBad::NoTrip), &[], |of| not(Tree::Or(of)));
    assert!(!v.value([Does::Bad, Does::Rest, Does::Rest]));
    let v = voting(None, &[], |of| not(not(Tree::Or(of))));
    assert!(v.value([Does::Vote, Does::Rest, Does::Rest]));
}

#[test]
fn a_comparison_meets_its_set_point_exactly_and_a_saturated_reading_counts() {
    let mut b = bench();
    let t = b.m.inputs.push(Input { on_bad: Some(OnBad::NoTrip), ..sensor("TT", b.temperature, b.main) });
    let c = b.m.causes.push(cause("C", at_least(t, 100), b.main, &[]));
    let value = |at| sit().is(b.temperature, at).run(&b.m).causes[&c];
    assert!(!value(99) && value(100) && value(180));
    let error = sit().is(b.temperature, 102).number(NumberChoice::Error(t), -2);
    assert!(error.run(&b.m).causes[&c]);
    let error = sit().is(b.temperature, 101).number(NumberChoice::Error(t), -2);
    assert!(!error.run(&b.m).causes[&c]);
}

#[test]
fn within_its_deadband_a_comparison_may_remember() {
    let mut b = bench();
    let t = b.m.inputs.push(input("TT", measures(b.temperature, 5), b.main));
    let causes = [Relation::AtLeast, Relation::Above, Relation::AtMost, Relation::Below]
        .map(|relation| b.m.causes.push(cause("C", compare(t, relation, 50), b.main, &[])));
    let opposite = b.m.causes.push(cause("C", not(at_least(t, 50)), b.main, &[]));
    let values = |at, remembers: bool| {
        let mut sit = sit().is(b.temperature, at);
        for c in causes.iter().chain([&opposite]).filter(|_| remembers) {
            sit = sit.yes(FactChoice::Remembers(*c, 0));
        }
        let replay = sit.run(&b.m);
        (causes.map(|c| replay.causes[&c]), replay.causes[&opposite])
    };
    assert_eq!(values(44, true), ([false, false, true, true], true));
    assert_eq!(values(45, true), ([true, false, true, true], false));
    assert_eq!(values(45, false), ([false, false, true, true], true));
    assert_eq!(values(46, true), ([true, true, true, true], false));
    assert_eq!(values(55, true), ([true, true, true, false], false));
    assert_eq!(values(56, true), ([true, true, false, false], false));
    assert_eq!(values(50, false), ([true, false, true, false], false));
}

#[test]
fn a_cause_counts_only_while_armed_but_stays_latched() {
    let mut b = bench();
    let sd = b.m.inputs.push(switch("SD", b.smoke, b.main));
    let armed = BTreeMap::from([(b.group, BTreeSet::from([b.run]))]);
    let c = b.m.causes.push(Cause { armed, latched: true, ..cause("C", asserted(sd), b.main, &[]) });
    let smoke = || sit().yes(FactChoice::Condition(b.smoke));
    let service = |sit: Sit| sit.mode(ModeChoice::Holds(b.group), b.service);
    assert!(smoke().run(&b.m).causes[&c]);
    let disarmed = service(smoke()).run(&b.m);
    assert!(!disarmed.causes[&c] && disarmed.conditions[&c] && !disarmed.armed[&c]);
    assert!(service(sit().yes(FactChoice::AlreadySet(c))).run(&b.m).causes[&c]);
    let fires = claim(Breach::Fires(c));
    assert!(!sit().yes(FactChoice::AlreadySet(c)).run_under(&b.m, &fires).breaks);
    assert!(smoke().run_under(&b.m, &fires).breaks);
}

#[test]
fn diagnostics_say_what_is_wrong() {
    let mut b = bench();
    let t = b.m.inputs.push(sensor("TT", b.temperature, b.main));
    let l = b.m.links.push(link("L", &[b.main, b.fed]));
    let key = b.m.overrides.push(Override {
        name: name("KEY"),
        inputs: vec![t],
        at_most: 1,
        modes: BTreeMap::new(),
        limited: false,
        announces: None,
        parents: Parents::default(),
    });
    let [bad, lost, over] = [InputAtom::Bad(t), InputAtom::LinkLost(l), InputAtom::Overriding(key)]
        .map(|atom| b.m.causes.push(cause("C", Tree::Atom(atom), b.main, &[])));
    let values = |sit: Sit| {
        let replay = sit.run(&b.m);
        [bad, lost, over].map(|c| replay.causes[&c])
    };
    assert_eq!(values(sit()), [false, false, false]);
    let faulty = sit().faulty(Source::Input(t)).yes(FactChoice::Deviates(t, b.main));
    assert_eq!(values(faulty.clone()), [false, false, false]);
    assert_eq!(values(faulty.yes(FactChoice::Bad(t, b.main))), [true, false, false]);
    let dead = sit().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
    assert_eq!(values(dead), [false, true, false]);
    assert_eq!(values(sit().yes(FactChoice::Overridden(key, t))), [false, false, true]);
}

#[test]
fn a_cause_at_another_solver_is_as_good_as_its_link() {
    for (on_loss, plain, negated) in [
        (LinkLoss::Trips, true, true),
        (LinkLoss::NoTrip, false, false),
        (LinkLoss::Bad, false, false),
        (LinkLoss::Holds, true, false),
    ] {
        for supervised in [false, true] {
            let mut b = bench();
            let sd = b.m.inputs.push(switch("SD", b.smoke, b.fed));
            let c = b.m.causes.push(cause("C", asserted(sd), b.fed, &[]));
            let l = b.m.links.push(Link { on_loss, supervised, ..link("L", &[b.main, b.fed]) });
            b.m.access.insert((Signal::Cause(c), b.main), Access::Over(l, b.fed));
            let yes = b.m.causes.push(cause("Y", refers(c), b.main, &[]));
            let no = b.m.causes.push(cause("N", not(refers(c)), b.main, &[]));
            let values = |sit: Sit| {
                let replay = sit.run(&b.m);
                (replay.causes[&yes], replay.causes[&no])
            };
            assert_eq!(values(sit().yes(FactChoice::Condition(b.smoke))), (true, false));
            assert_eq!(values(sit()), (false, true));
            let seen = || sit().yes(FactChoice::CauseSeen(c, b.main));
            let dead = seen().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power));
            assert_eq!(values(dead), (plain, negated), "{on_loss:?}");
            let wrong = |source| seen().faulty(source).yes(FactChoice::CauseDeviates(c, b.main));
            let silent = wrong(Source::Link(l)).yes(FactChoice::CauseSilent(c, b.main));
            assert_eq!(values(silent), (plain, negated), "{on_loss:?}");
            let falsified = values(wrong(Source::Link(l)));
            assert_eq!(falsified, if supervised { (plain, negated) } else { (true, false) });
            assert_eq!(values(wrong(Source::Solver(b.fed))), (true, false));
            assert_eq!(values(seen().yes(FactChoice::CauseDeviates(c, b.main))), (false, true), "no fault");
        }
    }
}

#[test]
fn a_literal_of_an_input_that_does_not_arrive_follows_the_link() {
    for (on_loss, expected) in [(LinkLoss::Trips, true), (LinkLoss::NoTrip, false), (LinkLoss::Bad, true)] {
        let mut b = bench();
        let t = b.m.inputs.push(Input { on_bad: Some(OnBad::Trips), ..sensor("TT", b.temperature, b.fed) });
        let l = b.m.links.push(Link { on_loss, ..link("L", &[b.main, b.fed]) });
        b.m.access.insert((Signal::Input(t), b.main), Access::Over(l, b.fed));
        let yes = b.m.causes.push(cause("Y", at_least(t, 50), b.main, &[]));
        let no = b.m.causes.push(cause("N", not(at_least(t, 50)), b.main, &[]));
        let dead = sit().faulty(Source::Supply(b.power)).yes(FactChoice::Lost(b.power)).run(&b.m);
        assert_eq!((dead.causes[&yes], dead.causes[&no]), (expected, expected), "{on_loss:?}");
    }
}

#[test]
fn a_signal_that_a_solver_cannot_know_is_refused() {
    let mut b = bench();
    let sd = b.m.inputs.push(switch("SD", b.smoke, b.fed));
    let c = b.m.causes.push(cause("C", asserted(sd), b.main, &[]));
    assert!(sit().refused(&b.m).contains("SD"));
    assert_eq!(b.m.causes[c].solver, b.main);
}
