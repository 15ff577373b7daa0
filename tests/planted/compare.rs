//! What defeats a protection, compared between a model and the same with a defect: over all sets of faults, without regard
//! to time and, where the model gives a time, in time.
//!
//! Sources of faults are the same if their tags are. "Unsafe under F" grows with F, so a mutant is no weaker exactly if
//! no set of faults that holds no minimal cut set of the original defeats it. The cut sets of the original are found as
//! they are needed, and kept.

use std::collections::{BTreeMap, BTreeSet};

use tripproof::analysis::{Actors, Allowed, Alone, Case, Stop, cuts};
use tripproof::assess::{Assessment, HazardInMode, InTime, Numbers, Timed};
use tripproof::claim::Breach;
use tripproof::engine::Engine;
use tripproof::engine::both::Both;
use tripproof::engine::diagram::Diagram;
use tripproof::engine::smt::Smt;
use tripproof::model::{HazardId, ModeId, Model, Source};
use tripproof::outcome::Paths;
use tripproof::semantics::{Encoding, Scope, encode};

type Cut = BTreeSet<String>;

const PARTIES: Actors = Actors { initiators: true, damage: true, overrides: false };
const UNDER_OVERRIDES: Actors = Actors { initiators: false, damage: true, overrides: true };

/// What came of the comparison of all hazards in all modes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Compared {
    /// No set of faults defeats more than before: so many questions changed, of so many.
    NoWeaker { changed: usize, of: usize },
    /// Some set does, but the requirements are met, each shown by a question of its own.
    AsRequired { hazard: String },
    /// Some set does, and a requirement is not met.
    Weaker { hazard: String, cut: Vec<String> },
    /// It cannot be compared.
    Failed(String),
}

/// One question: a hazard in a mode, with regard to time or without.
type Key = (HazardId, ModeId, bool);

/// The original with its questions.
pub struct Original<'m> {
    model: &'m Model,
    engine: &'m Smt,
    sources: BTreeMap<String, Source>,
    questions: BTreeMap<Key, Asked<'m>>,
}

struct Asked<'m> {
    encoding: Encoding,
    case: Option<Case<'m>>,
    /// Minimal cut sets known so far, with initiators and under overrides.
    known: [BTreeSet<Cut>; 2],
}

/// The question about a hazard in a mode, and the one about the same in time; that one only where a time is given.
fn questions(
    model: &Model,
    universe: &BTreeSet<Source>,
    assessment: &Assessment,
    found: &HazardInMode,
) -> Vec<(bool, Encoding)> {
    let (hazard, modes) = (found.hazard, [found.mode]);
    let encoded =
        |breach| encode(model, &Scope { breach, modes: &modes, sources: universe, initiators: true });
    let mut all = vec![(false, encoded(Breach::NotMet { hazard, onset: None }))];
    if let Some(timed) = in_time(assessment, found) {
        all.push((true, encoded(Breach::Late { hazard, timing: timed.timing.clone() })));
    }
    all
}

/// What was decided about it in time, where a time is given.
fn in_time<'a>(assessment: &'a Assessment, found: &HazardInMode) -> Option<&'a InTime> {
    let mut timed = assessment.timed.iter();
    let timed = timed.find(|timed| (timed.hazard, timed.mode) == (found.hazard, found.mode))?;
    (!matches!(timed.decided, Timed::NoTime)).then_some(timed)
}

/// The numbers of a question.
fn numbers<'a>(assessment: &'a Assessment, found: &'a HazardInMode, late: bool) -> Option<&'a Numbers> {
    match in_time(assessment, found).map(|timed| &timed.decided) {
        Some(Timed::Decided(own)) if late => own.numbers.as_ref(),
        _ => found.numbers.as_ref(),
    }
}

fn tags(model: &Model, sources: &BTreeSet<Source>) -> Cut {
    sources.iter().map(|source| model.source_tag(*source)).collect()
}

fn open<'e>(model: &Model, engine: &'e Smt, encoding: Encoding) -> Result<Case<'e>, Stop> {
    let question = engine.open(&encoding.terms, &encoding.possible, &[])?;
    Ok(Case::new(encoding, question, |source| model.weight(source), Default::default()))
}

impl<'m> Original<'m> {
    /// The cut sets that the assessment listed are known from the start.
    pub fn new(model: &'m Model, engine: &'m Smt, assessment: &Assessment) -> Self {
        let universe = model.universe();
        let mut questions = BTreeMap::new();
        for found in &assessment.hazards {
            // What defeats it without regard to time defeats it in time.
            let cuts = found.numbers.as_ref().map_or(&[][..], |numbers| &numbers.cuts);
            let known: BTreeSet<Cut> = cuts.iter().map(|cut| tags(model, cut)).collect();
            for (late, encoding) in self::questions(model, &universe, assessment, found) {
                let asked = Asked { encoding, case: None, known: [known.clone(), BTreeSet::new()] };
                questions.insert((found.hazard, found.mode, late), asked);
            }
        }
        let sources = universe.iter().map(|source| (model.source_tag(*source), *source)).collect();
        Original { model, engine, sources, questions }
    }

    /// Compares the model with a mutant of it.
    pub fn compare(&mut self, mutant: &Model, assessment: &Assessment) -> Compared {
        match self.each(mutant, assessment) {
            Ok(compared) => compared,
            Err(Stop::Undecided(reason)) => Compared::Failed(reason),
            Err(Stop::Failed(error)) => Compared::Failed(error.0),
            Err(Stop::Disputed(_)) => Compared::Failed("two engines disagree".into()),
        }
    }

    fn each(&mut self, mutant: &Model, assessment: &Assessment) -> Result<Compared, Stop> {
        let name = |model: &Model, (hazard, mode, late): Key| {
            (
                model.hazards[hazard].name.tag.clone(),
                model.modes[mode].name.tag.clone(),
                model.modes[mode].group,
                late,
            )
        };
        let universe = mutant.universe();
        let mut theirs = BTreeMap::new();
        for found in &assessment.hazards {
            for (late, encoding) in questions(mutant, &universe, assessment, found) {
                theirs.insert(name(mutant, (found.hazard, found.mode, late)), (found, encoding));
            }
        }
        let keys: Vec<Key> = self.questions.keys().copied().collect();
        if theirs.len() != keys.len() || !keys.iter().all(|key| theirs.contains_key(&name(self.model, *key)))
        {
            return Ok(Compared::Failed("other hazards, modes or times".into()));
        }
        let costs = |model: &Model| -> BTreeMap<String, u32> {
            model.universe().iter().map(|source| (model.source_tag(*source), model.weight(*source))).collect()
        };
        let (before, after) = (costs(self.model), costs(mutant));
        if before.iter().any(|(tag, weight)| after.get(tag).is_some_and(|now| now < weight)) {
            return Ok(Compared::Failed("a part weighs less".into()));
        }
        let (mut changed, mut weaker) = (0, None);
        for key in &keys {
            let (found, encoding) = &theirs[&name(self.model, *key)];
            if self.same(*key, mutant, encoding) {
                continue;
            }
            changed += 1;
            let Some(cut) = self.defeated(*key, mutant, encoding.clone())? else { continue };
            let hazard = mutant.hazards[found.hazard].name.tag.clone();
            let numbers = numbers(assessment, found, key.2);
            if !as_required(mutant, self.engine, encoding.clone(), found.hazard, numbers)? {
                return Ok(Compared::Weaker { hazard, cut: cut.into_iter().collect() });
            }
            weaker.get_or_insert(hazard);
        }
        Ok(match weaker {
            Some(hazard) => Compared::AsRequired { hazard },
            None => Compared::NoWeaker { changed, of: keys.len() },
        })
    }

    /// Whether both ask the same, term for term, about sources of the same tags.
    fn same(&self, key: Key, mutant: &Model, encoding: &Encoding) -> bool {
        let own = &self.questions[&key].encoding;
        let tags = |model: &Model, encoding: &Encoding| -> Vec<String> {
            encoding.faults.keys().map(|source| model.source_tag(*source)).collect()
        };
        own.asks_the_same(encoding) && tags(self.model, own) == tags(mutant, encoding)
    }

    /// A set of faults that defeats the mutant and not the original.
    fn defeated(&mut self, key: Key, mutant: &Model, encoding: Encoding) -> Result<Option<Cut>, Stop> {
        for (number, actors) in [PARTIES, UNDER_OVERRIDES].into_iter().enumerate() {
            if actors.overrides && encoding.overrides_permitted.is_none() {
                continue;
            }
            let mut case = open(mutant, self.engine, encoding.clone())?;
            let theirs: BTreeMap<String, Source> =
                case.sources().into_iter().map(|source| (mutant.source_tag(source), source)).collect();
            for cut in self.questions[&key].known[number].clone() {
                block(&mut case, &theirs, &cut)?;
            }
            let given = case.given(Allowed::AllBut(&BTreeSet::new()), actors);
            let breach = case.encoding.breach;
            while case.possible(breach, &given)? {
                let faults = tags(mutant, &case.misbehaving()?);
                match self.cut_within(key, number, actors, &faults)? {
                    Some(cut) => block(&mut case, &theirs, &cut)?,
                    None => return Ok(Some(faults)),
                }
            }
        }
        Ok(None)
    }

    /// A minimal cut set of the original among these faults, if there is one.
    fn cut_within(
        &mut self,
        key: Key,
        number: usize,
        actors: Actors,
        faults: &Cut,
    ) -> Result<Option<Cut>, Stop> {
        let faults: BTreeSet<Source> =
            faults.iter().filter_map(|tag| self.sources.get(tag).copied()).collect();
        let (model, engine) = (self.model, self.engine);
        let asked = self.questions.get_mut(&key).unwrap();
        let case = match &mut asked.case {
            Some(case) => case,
            none => none.insert(open(model, engine, asked.encoding.clone())?),
        };
        if !case.unprotected(Allowed::Only(&faults), actors)? {
            return Ok(None);
        }
        let least = case.misbehaving()?;
        let cut = tags(model, &cuts::minimal(case, least, actors)?);
        asked.known[number].insert(cut.clone());
        Ok(Some(cut))
    }
}

/// The mutant is not to be defeated by a set that holds this one.
fn block(case: &mut Case<'_>, theirs: &BTreeMap<String, Source>, cut: &Cut) -> Result<(), Stop> {
    // A cut set of sources that the mutant does not have cannot be held by any set of its faults.
    let Some(sources) = cut.iter().map(|tag| theirs.get(tag).copied()).collect::<Option<Vec<_>>>() else {
        return Ok(());
    };
    let faults: Vec<_> = sources.into_iter().map(|source| case.fault(source)).collect();
    let together = case.encoding.terms.and(faults);
    let blocked = case.encoding.terms.not(together);
    case.question.require(&case.encoding.terms, blocked)?;
    Ok(())
}

/// Whether all that is required of the hazard holds in this question: asked anew, without the search that decided it, and
/// of two engines, the second of which goes through all sets of faults as a diagram.
fn as_required(
    model: &Model,
    engine: &Smt,
    encoding: Encoding,
    hazard: HazardId,
    numbers: Option<&Numbers>,
) -> Result<bool, Stop> {
    let required = model.hazards[hazard].required;
    let Some(numbers) = numbers else { return Ok(false) };
    let overrides = encoding.overrides_permitted.is_some();
    let both = Both { first: engine.clone(), second: Diagram::new(1_000_000) };
    let question = both.open(&encoding.terms, &encoding.possible, &[])?;
    let alone = Alone::default();
    let mut case = Case::new(encoding, question, |source| model.weight(source), alone.clone());
    let mut defeated = |allowed: Allowed<'_>, actors| case.unprotected(allowed, actors);
    let mut holds = !defeated(Allowed::Weight(required.fault_tolerance), PARTIES)?;
    if overrides {
        holds = holds && !defeated(Allowed::Weight(required.under_overrides), UNDER_OVERRIDES)?;
    }
    if numbers.paths == Paths::Unlimited {
        // Nothing at all defeats it.
        holds = holds && !defeated(Allowed::AllBut(&BTreeSet::new()), PARTIES)?;
    } else {
        let mut used: BTreeSet<Source> = BTreeSet::new();
        for path in &numbers.path_sets {
            // Only this path has to work; whatever else there is may fail.
            holds = holds
                && path.iter().all(|source| used.insert(*source))
                && !defeated(Allowed::AllBut(path), PARTIES)?;
        }
        holds = holds && numbers.path_sets.len() >= required.disjoint_paths as usize;
    }
    if alone.borrow().is_some() {
        return Err(Stop::Undecided("one engine only".into()));
    }
    Ok(holds)
}
