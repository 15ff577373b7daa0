//! Who does what: the work in parts, dealt out to threads, and what is alike asked once.

use std::collections::{BTreeMap, BTreeSet};
use std::mem::Discriminant;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use super::alike::{self, Asked, Question};
use super::{Assessment, Decided, Single, Subject, Work, board, single, vote};
use crate::analysis::Alone;
use crate::engine::{Engine, EngineError};
use crate::model::{CauseId, HazardId, Model, Source};

/// One part of the work; parts do not need each other's results.
#[derive(Debug, Clone)]
pub(super) enum Task {
    /// The question with this number among those about hazards.
    Hazard(usize),
    Causes(Vec<CauseId>),
    Quiet(Vec<CauseId>),
    Votes(Vec<CauseId>),
    Runs,
    Singles(Vec<Subject>),
    /// Hazards with regard to time, in all their modes.
    Time(Vec<HazardId>),
}

/// Claims about other things than hazards that are decided together.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Theme {
    /// What a cause can do.
    Cause(CauseId),
    /// Which causes are not always on.
    Quiet(Vec<CauseId>),
    /// The votes of a cause.
    Votes(CauseId),
    /// Which modes can work.
    Runs,
    /// What holds for all situations.
    Singles(Vec<Subject>),
}

impl Theme {
    /// All of a model, in the order of the report.
    fn all(model: &Model) -> Vec<Theme> {
        let voting = model.causes.ids().filter(|id| !model.causes[*id].when.trip_votes().is_empty());
        let causes = model.causes.ids().map(Theme::Cause);
        causes
            .chain([Theme::Quiet(model.causes.ids().collect())])
            .chain(voting.map(Theme::Votes))
            .chain([Theme::Runs])
            .chain(single::parts(model).into_iter().map(Theme::Singles))
            .collect()
    }

    /// Only themes of one kind can be like each other.
    fn kind(&self) -> (Discriminant<Theme>, Option<Discriminant<Subject>>) {
        let subject = match self {
            Theme::Singles(subjects) => subjects.first().map(std::mem::discriminant),
            Theme::Cause(_) | Theme::Quiet(_) | Theme::Votes(_) | Theme::Runs => None,
        };
        (std::mem::discriminant(self), subject)
    }

    /// What is asked about it, where that tells whether another one is like it.
    fn asked(&self, model: &Model, universe: &BTreeSet<Source>) -> Option<Asked> {
        match self {
            Theme::Cause(cause) => board::asked(model, *cause),
            Theme::Votes(cause) => vote::asked(model, *cause),
            Theme::Quiet(_) | Theme::Runs => None,
            Theme::Singles(subjects) => match subjects.as_slice() {
                [subject] => single::asked(model, universe, *subject),
                _ => None,
            },
        }
    }

    /// What is told of it if nothing is wrong with it.
    fn told(&self, model: &Model) -> Vec<Subject> {
        match self {
            Theme::Cause(cause) => board::told(model, *cause),
            Theme::Quiet(causes) => causes.iter().copied().map(Subject::NotAlwaysOn).collect(),
            Theme::Votes(cause) => {
                let votes = 0..model.causes[*cause].when.trip_votes().len();
                votes.map(|number| Subject::VoteCanTrip(*cause, number)).collect()
            }
            Theme::Runs => model.modes.ids().map(Subject::CanRun).collect(),
            Theme::Singles(subjects) => subjects.clone(),
        }
    }
}

/// The places of all claims that are no hazard's in the report.
fn places(model: &Model, themes: &[Theme]) -> BTreeMap<Subject, usize> {
    let told = themes.iter().flat_map(|theme| match theme {
        Theme::Cause(cause) => board::subjects(model, *cause),
        Theme::Quiet(_) => Vec::new(),
        theme => theme.told(model),
    });
    told.enumerate().map(|(place, subject)| (subject, place)).collect()
}

/// The tasks for these themes: causes on as many boards as there are threads, and the votes together.
fn tasks<'t>(themes: impl Iterator<Item = &'t Theme>) -> Vec<Task> {
    let (mut causes, mut votes, mut others) = (Vec::new(), Vec::new(), Vec::new());
    for theme in themes {
        match theme {
            Theme::Cause(cause) => causes.push(*cause),
            Theme::Quiet(causes) => others.push(Task::Quiet(causes.clone())),
            Theme::Votes(cause) => votes.push(*cause),
            Theme::Runs => others.push(Task::Runs),
            Theme::Singles(subjects) => others.push(Task::Singles(subjects.clone())),
        }
    }
    let half = causes.len().div_ceil(THREADS).max(1);
    let boards = causes.chunks(half).map(|some| Task::Causes(some.to_vec()));
    let votes = (!votes.is_empty()).then_some(Task::Votes(votes));
    boards.chain(votes).chain(others).collect()
}

/// Threads that do the tasks. Fixed: more of them would only wait for the largest task.
pub(super) const THREADS: usize = 2;
/// Size from which a model is large.
const LARGE: usize = 15_000;
/// Of a large model one part in so many is kept back for the thread that is ready first …
const KEPT_BACK: usize = 6;
/// … in so many bundles.
const LATE_BUNDLES: usize = 2;

/// What every part of the work needs.
pub(super) struct Office<'m> {
    pub(super) model: &'m Model,
    pub(super) engine: &'m dyn Engine,
    pub(super) universe: &'m BTreeSet<Source>,
    pub(super) questions: &'m [Question],
    /// What was decided about hazards in modes without regard to time, once it is known.
    pub(super) found: &'m Assessment,
}

impl<'m> Office<'m> {
    /// All claims that have no regard to time. What is like another needs no work of its own, unless there is something to
    /// tell about it.
    pub(super) fn without_regard_to_time(&self) -> Result<Assessment, EngineError> {
        let model = self.model;
        let themes = Theme::all(model);
        let asked = alike::each(&themes, |theme| (theme.kind(), theme.asked(model, self.universe)))?;
        let leaders = alike::leaders(model, &asked);
        let leading = themes.iter().zip(&leaders).filter(|(_, leader)| leader.is_none());
        let first: Vec<usize> = (0..self.questions.len())
            .filter(|n| self.questions.get(*n).is_some_and(Question::leads))
            .collect();
        let others = tasks(leading.map(|(theme, _)| theme));
        let dealt: Vec<Task> = first.iter().copied().map(Task::Hazard).chain(others).collect();
        let mut parts = self.deal(&dealt)?;
        let others = parts.split_off(first.len());
        let mut hazards: BTreeMap<usize, Assessment> = first.into_iter().zip(parts).collect();
        let (mut again, after) = self.followers(&mut hazards);
        let mut others = others.into_iter().fold(Assessment::default(), Assessment::with);
        let mut themes_again = Vec::new();
        for ((theme, leader), (_, asked)) in themes.iter().zip(&leaders).zip(&asked) {
            let (Some(leader), Some(asked)) = (leader.and_then(|leader| themes.get(leader)), asked) else {
                continue;
            };
            match self.follow_theme(theme, leader, asked, &others) {
                Some(part) => others = others.with(part),
                None => themes_again.push(theme),
            }
        }
        let dealt: Vec<Task> =
            again.iter().copied().map(Task::Hazard).chain(tasks(themes_again.into_iter())).collect();
        let mut parts = self.deal(&dealt)?;
        others = parts.split_off(again.len()).into_iter().fold(others, Assessment::with);
        hazards.extend(again.drain(..).zip(parts));
        for (number, twin) in after {
            let part =
                match self.questions.get(number).and_then(|question| self.follow(question, twin, &hazards)) {
                    Some(part) => part,
                    None => self.part(&Task::Hazard(number))?,
                };
            hazards.insert(number, part);
        }
        let places = places(model, &themes);
        others.singles.sort_by_key(|single| places.get(&single.subject).copied());
        Ok(hazards.into_values().fold(Assessment::default(), Assessment::with).with(others))
    }

    /// Carries over to the questions about hazards what is known of those that are like them. Those that must be asked after
    /// all, and those that will be like one of them.
    fn followers(&self, hazards: &mut BTreeMap<usize, Assessment>) -> (Vec<usize>, Vec<(usize, usize)>) {
        let (mut again, mut after): (Vec<usize>, Vec<(usize, usize)>) = (Vec::new(), Vec::new());
        for (number, question) in self.questions.iter().enumerate() {
            let Some(leader) = question.leader else { continue };
            let twin = |other: &&usize| {
                self.questions.get(**other).is_some_and(|other| other.asks_the_same(question))
            };
            if let Some(part) = self.follow(question, leader, hazards) {
                hazards.insert(number, part);
            } else if let Some(twin) = again.iter().find(twin) {
                after.push((number, *twin));
            } else {
                again.push(number);
            }
        }
        (again, after)
    }

    /// What was decided about a theme that is like another one; `None` if there is something to tell about it.
    fn follow_theme(
        &self,
        theme: &Theme,
        leader: &Theme,
        asked: &Asked,
        known: &Assessment,
    ) -> Option<Assessment> {
        let (own, theirs) = (theme.told(self.model), leader.told(self.model));
        let mut work = self.work();
        asked.encodings().for_each(|encoding| work.note(encoding));
        for (subject, theirs) in own.iter().zip(&theirs) {
            let found = known.singles.iter().find(|single| single.subject == *theirs)?;
            let (Decided::Holds | Decided::NotApplicable(_)) = &found.decided else { return None };
            work.result.singles.push(Single { subject: *subject, ..found.clone() });
        }
        (own.len() == theirs.len()).then_some(work.result)
    }

    /// Does the tasks in bundles: each thread its own, then what is left. A bundle starts as if it were the first one of
    /// all, and its tasks follow each other in a fixed order, so that no result depends on which thread was quicker.
    pub(super) fn deal(&self, tasks: &[Task]) -> Result<Vec<Assessment>, EngineError> {
        let bundles = self.bundles(tasks);
        let next = AtomicUsize::new(THREADS);
        let done: Mutex<BTreeMap<usize, Result<Assessment, EngineError>>> = Mutex::new(BTreeMap::new());
        let work = |bundle: &[usize]| {
            for number in bundle {
                let Some(task) = tasks.get(*number) else { continue };
                let part = self.part(task);
                done.lock().unwrap_or_else(PoisonError::into_inner).insert(*number, part);
            }
        };
        let worker = |own: usize| {
            // On a new thread nothing ran before, so its own bundle is apart as it is.
            bundles.get(own).into_iter().for_each(|bundle| work(bundle));
            while let Some(bundle) = bundles.get(next.fetch_add(1, Ordering::Relaxed)) {
                self.engine.apart(&|| work(bundle));
            }
        };
        let worker = &worker;
        std::thread::scope(|scope| {
            let workers: Vec<_> =
                (0..THREADS.min(bundles.len())).map(|own| scope.spawn(move || worker(own))).collect();
            workers.into_iter().try_for_each(|worker| worker.join())
        })
        .map_err(|_| EngineError("a thread of the solver ended early".into()))?;
        done.into_inner().unwrap_or_else(PoisonError::into_inner).into_values().collect()
    }

    /// One large bundle for each thread, and for large models small ones for the thread that is ready first: what a task costs
    /// is only guessed. Not more, since every bundle starts an engine anew.
    fn bundles(&self, tasks: &[Task]) -> Vec<Vec<usize>> {
        let mut order: Vec<(usize, usize)> = tasks.iter().map(|task| self.size(task)).enumerate().collect();
        order.sort_by_key(|(number, size)| (std::cmp::Reverse(*size), *number));
        let whole: usize = order.iter().map(|(_, size)| size).sum();
        let kept_back = if whole < LARGE { 0 } else { whole / KEPT_BACK };
        let mut bundles: Vec<(usize, Vec<usize>)> = vec![(0, Vec::new()); THREADS];
        let mut late = vec![(0, Vec::new()); LATE_BUNDLES];
        for (number, size) in order {
            let given: usize = bundles.iter().map(|(taken, _)| taken).sum();
            let open = if given + kept_back <= whole { &mut bundles } else { &mut late };
            if let Some((taken, bundle)) = open.iter_mut().min_by_key(|(taken, _)| *taken) {
                *taken += size;
                bundle.push(number);
            }
        }
        bundles.append(&mut late);
        bundles.into_iter().map(|(_, bundle)| bundle).filter(|bundle| !bundle.is_empty()).collect()
    }

    /// How much work a task is, roughly: only for the order in which they are done.
    fn size(&self, task: &Task) -> usize {
        match task {
            Task::Hazard(number) => self.questions.get(*number).map_or(0, |question| {
                let cases = question.encoding.onsets.len();
                question.encoding.terms.len() * (1 + cases) / 2
            }),
            Task::Causes(causes) => 40 * causes.len(),
            Task::Quiet(causes) => 8 * causes.len(),
            Task::Votes(causes) => 350 * causes.len(),
            Task::Runs => 50 * self.model.modes.len(),
            Task::Singles(subjects) => subjects.iter().map(|subject| subject.size()).sum(),
            // What leads without regard to time mostly leads with it.
            Task::Time(hazards) => {
                let of_these = self.questions.iter().filter(|question| hazards.contains(&question.hazard));
                let terms = |question: &Question| question.encoding.terms.len();
                of_these.map(|question| terms(question) / if question.leads() { 1 } else { 10 }).sum()
            }
        }
    }

    fn work(&self) -> Work<'m> {
        Work {
            model: self.model,
            engine: self.engine,
            universe: self.universe,
            result: Assessment::default(),
            alone: Alone::default(),
        }
    }

    /// Does one task.
    fn part(&self, task: &Task) -> Result<Assessment, EngineError> {
        let mut work = self.work();
        match task {
            Task::Hazard(number) => {
                if let Some(question) = self.questions.get(*number) {
                    work.hazard(question)?;
                }
            }
            Task::Causes(causes) => work.causes(causes)?,
            Task::Quiet(causes) => work.quiet(causes)?,
            Task::Votes(causes) => {
                for cause in causes {
                    work.votes(*cause)?;
                }
            }
            Task::Runs => work.runs()?,
            Task::Singles(subjects) => work.singles(subjects)?,
            Task::Time(hazards) => work.in_time(hazards, self.found, self.questions)?,
        }
        Ok(work.result)
    }

    /// The answer to a question that is like another one, from that one's answer; `None` if it has to be asked itself.
    fn follow(
        &self,
        question: &Question,
        leader: usize,
        known: &BTreeMap<usize, Assessment>,
    ) -> Option<Assessment> {
        let found = known.get(&leader)?.hazards.first()?;
        let leader = self.questions.get(leader)?;
        let mut work = self.work();
        work.note(&question.encoding);
        let found = question.from(leader, found, &mut work)?;
        work.result.hazards.push(found);
        Some(work.result)
    }
}
