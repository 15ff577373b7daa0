//! What is told of a model, in a form in which two models can be compared.

use std::collections::{BTreeMap, BTreeSet};

use tripproof::assess::{Assessment, Decided, HazardInMode, Numbers, Subject, assess};
use tripproof::conclude::conclude;
use tripproof::engine::Engine;
use tripproof::engine::smt::Smt;
use tripproof::load::load;
use tripproof::model::Model;
use tripproof::outcome::{Paths, Tolerance};
use tripproof::source::Source;

/// A model with everything decided about it.
pub struct Told {
    pub text: String,
    pub model: Model,
    pub assessment: Assessment,
}

/// Decides a text; none, if it is refused.
pub fn decide(text: &str) -> Result<Told, String> {
    let model = load(&Source::new("m.yaml", text)).map_err(|problems| problems[0].message.clone())?;
    let assessment = assess(&model, &Smt::new(50_000_000).unwrap()).unwrap();
    assert!(assessment.disputes.is_empty(), "{text}");
    Ok(Told { text: text.to_string(), model, assessment })
}

impl Told {
    /// Every claim in words with its verdict, and the cut sets of every hazard and mode, with the tags called otherwise.
    pub fn words(&self, call: &dyn Fn(&str) -> String) -> BTreeMap<String, String> {
        let mut told = BTreeMap::new();
        for found in &self.assessment.hazards {
            for (numbers, whose) in [(&found.numbers, ""), (&found.alone, " alone")] {
                let Some(numbers) = numbers else { continue };
                let about = sorted_words(&call(&format!("{}{whose}", self.about(found))));
                let paths = (numbers.tolerance, numbers.paths);
                told.insert(
                    format!("cut sets of {about}"),
                    format!("{paths:?} {:?}", self.cuts(numbers, call)),
                );
            }
        }
        let name = Smt::new(1).unwrap().name();
        let outcome =
            conclude(Source::new("m.yaml", self.text.as_str()), self.model.clone(), &self.assessment, name);
        for judged in &outcome.claims {
            // Where a sentence lists several tags, their order follows their names or the order of the file.
            let said = sorted_words(&call(&judged.statement));
            told.insert(said, judged.verdict.word().to_string());
        }
        told
    }

    fn about(&self, found: &HazardInMode) -> String {
        let hazard = &self.model.hazards[found.hazard].name.tag;
        format!("{hazard} in {}", self.model.modes[found.mode].name.tag)
    }

    fn cuts(&self, numbers: &Numbers, call: &dyn Fn(&str) -> String) -> BTreeSet<BTreeSet<String>> {
        let tags =
            |cut: &BTreeSet<_>| cut.iter().map(|source| call(&self.model.source_tag(*source))).collect();
        numbers.cuts.iter().map(tags).collect()
    }

    /// What is worse than `before`, where fewer situations are possible now: what held over all of them still does, and
    /// what never happened still does not.
    pub fn worse_than(&self, before: &Told) -> Vec<String> {
        let mut worse = Vec::new();
        let (old, new) = (before.by_hazard(), self.by_hazard());
        for (about, before) in &old {
            let Some(now) = new.get(about) else { continue };
            for ((claim, before), (_, now)) in verdicts(before).into_iter().zip(verdicts(now)) {
                if !before.is_broken() && now.is_broken() {
                    worse.push(format!("{about}: {claim}"));
                }
            }
            for (before, now) in [(&before.numbers, &now.numbers), (&before.alone, &now.alone)] {
                if let (Some(before), Some(now)) = (before, now)
                    && fewer(before, now)
                {
                    worse.push(format!("{about}: tolerance or paths"));
                }
            }
        }
        let now: BTreeMap<String, &Decided> = self.singles().collect();
        for (subject, before) in before.singles() {
            let Some(now) = now.get(&subject) else { continue };
            let begins = !before.is_broken() && now.is_broken();
            let happens = matches!((before, now), (Decided::Never(_), Decided::Holds));
            if begins || happens {
                worse.push(subject);
            }
        }
        worse
    }

    fn by_hazard(&self) -> BTreeMap<String, &HazardInMode> {
        self.assessment.hazards.iter().map(|found| (self.about(found), found)).collect()
    }

    /// Claims about single elements by the tags in them; without those that compare two questions.
    fn singles(&self) -> impl Iterator<Item = (String, &Decided)> {
        let compares =
            |subject: &Subject| matches!(subject, Subject::VoteCanTrip(..) | Subject::RunTogether(..));
        let singles = self.assessment.singles.iter().filter(move |single| !compares(&single.subject));
        singles.map(|single| (self.subject(single.subject), &single.decided))
    }

    fn subject(&self, subject: Subject) -> String {
        let model = &self.model;
        match subject {
            Subject::CanFire(c) => format!("fire {}", model.causes[c].name.tag),
            Subject::CanFireFor(c, h) => {
                format!("fire {} {}", model.causes[c].name.tag, model.hazards[h].name.tag)
            }
            Subject::NotAlwaysOn(c) => format!("quiet {}", model.causes[c].name.tag),
            Subject::MarksMatter(c) => format!("marks {}", model.causes[c].name.tag),
            Subject::MarkMatters(c, at) => format!("mark {} {}", model.causes[c].name.tag, model.at_text(at)),
            Subject::VoteCanTrip(c, n) => format!("vote {} {n}", model.causes[c].name.tag),
            Subject::CanRun(m) => format!("run {}", model.modes[m].name.tag),
            Subject::NotOpposed(a) => format!("opposed {}", model.actuators[a].name.tag),
            Subject::Obeyed(a) => format!("obeyed {}", model.actuators[a].name.tag),
            Subject::LoserMet(h, a) => {
                format!("loser {} {}", model.hazards[h].name.tag, model.actuators[a].name.tag)
            }
            Subject::NotHarmed(h, c, at) => {
                format!(
                    "harm {} {} {}",
                    model.hazards[h].name.tag,
                    model.causes[c].name.tag,
                    model.at_text(at)
                )
            }
            Subject::NotForced(h, at) => {
                format!("forced {} {}", model.hazards[h].name.tag, model.at_text(at))
            }
            Subject::SafeStatesCompatible => "compatible".into(),
            Subject::Carries(machine) => format!("carries {}", model.source_tag(machine)),
            Subject::RunTogether(one, two) => {
                format!("both {} {}", model.modes[one].name.tag, model.modes[two].name.tag)
            }
            Subject::MetWhileWarmingUp(h) => format!("warm {}", model.hazards[h].name.tag),
            Subject::Preceded(c, e, f) => format!(
                "preceded {} {} {}",
                model.causes[c].name.tag, model.effects[e].name.tag, model.effects[f].name.tag
            ),
            Subject::SpanReached(s) => format!("span {}", model.stops[s].name.tag),
            Subject::NeverOccurs(e) => format!("occurs {}", model.exclusions[e].name.tag),
            Subject::AlwaysHolds(i) => format!("invariant {}", model.invariants[i].name.tag),
            Subject::CanLeave(s) => format!("leave {}", model.spaces[s].name.tag),
            Subject::ReleaseStops(s, door, h) => {
                format!("release {} {door} {}", model.spaces[s].name.tag, model.hazards[h].name.tag)
            }
        }
    }

    /// The least tolerance and number of paths of a hazard over its modes, `None` where there are none.
    pub fn least(&self, hazard: &str) -> Vec<(u32, u32)> {
        let of = |found: &&HazardInMode| self.model.hazards[found.hazard].name.tag == hazard;
        let numbers = self.assessment.hazards.iter().filter(of).filter_map(|found| found.numbers.as_ref());
        numbers.map(|numbers| (rank(numbers.tolerance), paths(numbers.paths))).collect()
    }
}

fn verdicts(found: &HazardInMode) -> [(&'static str, &Decided); 6] {
    [
        ("met without faults", &found.unaided),
        ("met under overrides", &found.covered),
        ("fault tolerance", &found.tolerance),
        ("disjoint paths", &found.disjoint),
        ("with its initiator", &found.initiator),
        ("met with faults under overrides", &found.overrides),
    ]
}

fn rank(tolerance: Tolerance) -> u32 {
    match tolerance {
        Tolerance::None => 0,
        Tolerance::Exactly(faults) | Tolerance::AtLeast(faults) => faults + 1,
    }
}

fn paths(paths: Paths) -> u32 {
    match paths {
        Paths::Exactly(number) => u32::try_from(number).unwrap(),
        Paths::Unlimited => u32::MAX,
    }
}

/// Fewer faults are tolerated, or there are fewer paths. What is tolerated at least may be more.
fn fewer(before: &Numbers, now: &Numbers) -> bool {
    let open = matches!(now.tolerance, Tolerance::AtLeast(_));
    (!open && rank(now.tolerance) < rank(before.tolerance)) || paths(now.paths) < paths(before.paths)
}

fn sorted_words(sentence: &str) -> String {
    let mut words: Vec<&str> = sentence.split([' ', ',', '.']).filter(|word| !word.is_empty()).collect();
    words.sort_unstable();
    words.join(" ")
}
