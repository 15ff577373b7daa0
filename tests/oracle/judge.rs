//! Compares what was decided about a generated model with what walking through all its situations gives.

use std::collections::BTreeSet;

use tripproof::assess::{Assessment, Decided, HazardInMode, ORDER, Subject};
use tripproof::claim::Breach;
use tripproof::model::{InputAtom, Model, Source};
use tripproof::outcome::{Paths, Tolerance};

use super::support::enumerate::Walk;

/// What came of one model.
#[derive(Debug, Default)]
pub struct Judged {
    /// Claims compared, by kind, with their verdict in words.
    pub claims: Vec<(&'static str, &'static str)>,
    /// Where the two differ.
    pub differences: Vec<String>,
    /// Hazards in modes that were too large to walk through.
    pub too_large: usize,
    /// Hazards in modes that were compared, and those of them that are met without faults.
    pub hazards: (usize, usize),
}

/// Compares everything.
pub fn judge(model: &Model, assessment: &Assessment, most: usize) -> Judged {
    let mut judged = Judged::default();
    for found in &assessment.hazards {
        match hazard(model, found, most, &mut judged) {
            Some(()) => {}
            None => judged.too_large += 1,
        }
    }
    if singles(model, assessment, most, &mut judged).is_none() {
        judged.too_large += 1;
    }
    judged
}

fn word(decided: &Decided) -> &'static str {
    match decided {
        Decided::Holds => "holds",
        Decided::Broken(_) => "broken",
        Decided::Never(_) => "never",
        Decided::Undecided(_) => "undecided",
        Decided::NotApplicable(_) => "not applicable",
        Decided::Disputed => "disputed",
    }
}

impl Judged {
    fn compare(&mut self, claim: &'static str, about: String, said: &'static str, walked: &'static str) {
        self.claims.push((claim, said));
        if said != walked {
            self.differences.push(format!("{claim} {about}: decided {said}, walked {walked}"));
        }
    }
}

/// One hazard in one mode: cut sets to [`ORDER`], and the two numbers where those settle them.
fn hazard(model: &Model, found: &HazardInMode, most: usize, judged: &mut Judged) -> Option<()> {
    let about = format!("{} in {}", model.hazards[found.hazard].name.tag, model.modes[found.mode].name.tag);
    let mut walk = Walk::new(model, found.hazard, Some(found.mode), most);
    let cases: Vec<Breach> = (0..model.hazards[found.hazard].onset.len())
        .map(|onset| Breach::Exists { hazard: found.hazard, onset })
        .collect();
    let exist = walk.plant_shows(&cases);
    let impossible: Vec<usize> = (0..cases.len()).filter(|case| !exist[*case]).collect();
    if impossible != found.impossible_onsets {
        judged
            .differences
            .push(format!("onset cases of {about}: {:?}, walked {impossible:?}", found.impossible_onsets));
    }
    if impossible.len() == cases.len() {
        judged.claims.push(("hazard", "not applicable"));
        return Some(());
    }
    let costly: Vec<Source> =
        model.universe().into_iter().filter(|source| model.weight(*source) > 0).collect();
    let mut cuts: Vec<BTreeSet<Source>> = Vec::new();
    let none_needed = walk.defeated(&BTreeSet::new())?;
    if !none_needed {
        for size in 1..=ORDER {
            for set in sets_of(&costly, size) {
                if !cuts.iter().any(|cut| cut.is_subset(&set)) && walk.defeated(&set)? {
                    cuts.push(set);
                }
            }
        }
    }
    cuts.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    judged.hazards.0 += 1;
    judged.hazards.1 += usize::from(!none_needed);
    let unaided = if walk.without_anybody()? { "broken" } else { "holds" };
    judged.compare("met without faults", about.clone(), word(&found.unaided), unaided);
    let Some(numbers) = &found.numbers else {
        judged.differences.push(format!("{about} has no numbers"));
        return Some(());
    };
    if numbers.cuts != cuts {
        let names = |cuts: &[BTreeSet<Source>]| -> Vec<Vec<String>> {
            cuts.iter().map(|cut| cut.iter().map(|source| model.source_tag(*source)).collect()).collect()
        };
        judged.differences.push(format!(
            "cut sets of {about}: decided {:?}, walked {:?}",
            names(&numbers.cuts),
            names(&cuts)
        ));
    }
    let lightest = cuts.iter().map(|cut| cut.iter().map(|source| model.weight(*source)).sum::<u32>()).min();
    let beyond = u32::try_from(ORDER).unwrap() + 1;
    let tolerance = match lightest {
        _ if none_needed => Tolerance::None,
        Some(weight) if weight <= beyond => Tolerance::Exactly(weight - 1),
        // Whatever defeats it was not walked to, so it has more sources than those that were.
        _ if numbers.tolerance.reaches(beyond - 1) => numbers.tolerance,
        _ => Tolerance::AtLeast(beyond - 1),
    };
    if tolerance != numbers.tolerance {
        judged
            .differences
            .push(format!("tolerance of {about}: {:?}, walked {tolerance:?}", numbers.tolerance));
    }
    // DP <= FT + 1 always, in numbers of sources.
    let smallest = cuts.iter().map(BTreeSet::len).min();
    if let (Paths::Exactly(paths), Some(smallest)) = (numbers.paths, smallest)
        && paths > smallest
    {
        judged.differences.push(format!("{about}: {paths} disjoint paths, and a cut set of {smallest}"));
    }
    if none_needed && numbers.paths != Paths::Exactly(0) {
        judged.differences.push(format!("{about}: {:?} without any protection", numbers.paths));
    }
    let required = model.hazards[found.hazard].required;
    if required.fault_tolerance < beyond {
        let broken = none_needed || lightest.is_some_and(|weight| weight <= required.fault_tolerance);
        let walked = if broken { "broken" } else { "holds" };
        judged.compare("fault tolerance", about.clone(), word(&found.tolerance), walked);
    }
    // The number of paths is right if so many path sets share nothing, and the cut sets that stand in the way of one
    // more are cut sets which no split of the sources into one class more shows all classes in.
    if let Paths::Exactly(paths) = numbers.paths {
        let sources: usize = numbers.path_sets.iter().map(BTreeSet::len).sum();
        let distinct: BTreeSet<&Source> = numbers.path_sets.iter().flatten().collect();
        if numbers.path_sets.len() != paths || distinct.len() != sources {
            judged.differences.push(format!("{about}: its {paths} path sets share something"));
        }
        if !none_needed && colourable(&numbers.obstacle, paths + 1) {
            judged.differences.push(format!("{about}: nothing stands in the way of one path more"));
        }
        for cut in &numbers.obstacle {
            if !walk.defeated(cut)? {
                judged.differences.push(format!("{about}: what stands in the way is no cut set"));
            }
        }
    }
    let reached = if numbers.paths.reaches(required.disjoint_paths) { "holds" } else { "broken" };
    judged.compare("disjoint paths", about.clone(), word(&found.disjoint), reached);
    for path in &numbers.path_sets {
        let others: BTreeSet<Source> =
            costly.iter().copied().filter(|source| !path.contains(source)).collect();
        if walk.defeated(&others)? {
            judged.differences.push(format!("{about}: a path set is none"));
        }
    }
    Some(())
}

/// Whether the sources in these sets can be coloured so that each set shows so many colours, by trying all.
fn colourable(sets: &[BTreeSet<Source>], colours: usize) -> bool {
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

/// Every set of so many of the sources, 1 or 2.
fn sets_of(sources: &[Source], size: usize) -> Vec<BTreeSet<Source>> {
    let single = sources.iter().map(|source| BTreeSet::from([*source]));
    match size {
        1 => single.collect(),
        _ => sources
            .iter()
            .enumerate()
            .flat_map(|(n, one)| sources[n + 1..].iter().map(|other| BTreeSet::from([*one, *other])))
            .collect(),
    }
}

/// What a subject of a claim about all situations is called, what breaks or shows it, whether the breach shows that
/// something is possible, and how many faults it allows.
fn breach(model: &Model, subject: Subject) -> Option<(&'static str, Breach, bool, u32)> {
    let plain = |cause| {
        let asks = |atom: &&InputAtom| matches!(atom, InputAtom::Bad(_) | InputAtom::LinkLost(_));
        let model: &Model = model;
        !model.causes[cause].when.atoms().iter().any(asks)
    };
    Some(match subject {
        Subject::CanFire(cause) if plain(cause) => ("can fire", Breach::Fires(cause), true, 0),
        Subject::NotAlwaysOn(cause) => ("not always on", Breach::Quiet(cause), true, 0),
        Subject::CanRun(mode) => ("can run", Breach::Runs(mode), true, 0),
        Subject::NotOpposed(actuator) => ("not opposed", Breach::Opposed(actuator), false, 0),
        Subject::Obeyed(actuator) => ("obeyed", Breach::Overruled(actuator), false, 0),
        Subject::LoserMet(hazard, actuator) => ("loser met", Breach::Outvoted { hazard, actuator }, false, 0),
        Subject::NotHarmed(hazard, cause, at) => {
            ("not harmed", Breach::Harmed { hazard, cause, at }, false, 0)
        }
        Subject::SpanReached(stop) => {
            ("span reached", Breach::SpanMissed(stop), false, model.stops[stop].fault_tolerance)
        }
        Subject::NeverOccurs(exclusion) => {
            ("never occurs", Breach::Occurs(exclusion), false, model.exclusions[exclusion].fault_tolerance)
        }
        Subject::AlwaysHolds(invariant) => {
            ("always holds", Breach::Broken(invariant), false, model.invariants[invariant].fault_tolerance)
        }
        _ => return None,
    })
}

/// The claims about single elements.
fn singles(model: &Model, assessment: &Assessment, most: usize, judged: &mut Judged) -> Option<()> {
    let Some(hazard) = model.hazards.ids().next() else { return Some(()) };
    let asked: Vec<_> = assessment
        .singles
        .iter()
        .filter_map(|single| breach(model, single.subject).map(|breach| (single, breach)))
        .collect();
    let breaches: Vec<Breach> = asked.iter().map(|(_, (_, breach, _, _))| breach.clone()).collect();
    let mut walk = Walk::new(model, hazard, None, most);
    let none = walk.happens(&breaches, &BTreeSet::new())?;
    let mut with_one = none.clone();
    if asked.iter().any(|(_, (_, _, _, faults))| *faults == 1) {
        for source in model.universe().into_iter().filter(|source| model.weight(*source) == 1) {
            let more = walk.happens(&breaches, &[source].into())?;
            with_one.iter_mut().zip(more).for_each(|(known, now)| *known |= now);
        }
    }
    for ((single, (name, breach, shows, faults)), number) in asked.into_iter().zip(0..) {
        let happens = if faults == 1 { with_one[number] } else { none[number] };
        let walked = match (shows, happens) {
            (true, true) | (false, false) => "holds",
            (true, false) => "never",
            (false, true) => "broken",
        };
        // A claim without any situation is not applicable, which is another claim's matter.
        if matches!(single.decided, Decided::NotApplicable(_)) && walked == "holds" {
            continue;
        }
        judged.compare(name, format!("{breach:?}"), word(&single.decided), walked);
    }
    Some(())
}
