//! Compares what engines decided about a generated model with what walking through all its situations gives.
//!
//! Not compared, and why:
//! * which situation is told as a witness: any that breaks the claim is right, and `assess` has each of them replayed;
//! * cut sets of more than two sources where there are many sources: the program does not list them either; a tolerance
//!   above what pairs settle is compared where all sets of sources are walked;
//! * claims about sequences and what is only declared: they are decided without an engine, by `check`;
//! * the couplings and exactly known modes on which a result rests: they only add to the assumptions that are told;
//! * `undecided`, except where an amount is unknown: no question of these models reaches a bound.

#[path = "judge/hazard.rs"]
mod hazard;
#[path = "judge/single.rs"]
mod single;
#[path = "judge/time.rs"]
mod time;
#[path = "judge/vote.rs"]
mod vote;

use std::collections::{BTreeMap, BTreeSet};

use tripproof::assess::{Assessment, Decided, Timed};
use tripproof::claim::Breach;
use tripproof::model::{ModeId, Model, Source};

use super::support::enumerate::{NOBODY, Others, Walk};

/// What came of one model.
#[derive(Debug, Default)]
pub struct Judged {
    /// Claims compared, by kind, with their verdict in words.
    pub claims: Vec<(&'static str, &'static str)>,
    /// Where an engine and the walk differ.
    pub differences: Vec<String>,
    /// Questions that were asked, and those of them that were too large to walk through.
    pub questions: (usize, usize),
    /// Hazards in modes that were compared, and those of them that are met without faults.
    pub hazards: (usize, usize),
    /// Hazards in modes of which every set of sources was walked.
    pub exhausted: usize,
    /// Situations walked.
    pub situations: usize,
    /// Situations that engines gave for refuted claims, each replayed.
    pub witnesses: usize,
}

/// The walks through one model; what they found is kept for every engine.
struct Walks<'m> {
    model: &'m Model,
    most: usize,
    thorough: bool,
    open: BTreeMap<(Breach, Option<ModeId>), Walk<'m>>,
    /// Situations of walks that were not kept.
    more: usize,
}

impl<'m> Walks<'m> {
    fn about(&mut self, breach: Breach, mode: Option<ModeId>) -> &mut Walk<'m> {
        let (model, most, thorough) = (self.model, self.most, self.thorough);
        self.open.entry((breach.clone(), mode)).or_insert_with(|| match thorough {
            true => Walk::thorough(model, breach, mode, most),
            false => Walk::new(model, breach, mode, most),
        })
    }

    /// Whether it happens with faults of at most this weight, 0 or 1.
    fn happens(&mut self, breach: Breach, weight: u32, others: Others) -> Option<bool> {
        let model = self.model;
        let walk = self.about(breach, None);
        if walk.defeated(&BTreeSet::new(), others)? {
            return Some(true);
        }
        assert!(weight < 2, "only one fault is tried");
        if weight == 1 {
            for source in walk.sources().into_iter().filter(|source| model.weight(*source) == 1) {
                if walk.defeated(&[source].into(), others)? {
                    return Some(true);
                }
            }
        }
        Some(false)
    }

    /// The same without faults, and nobody else acts.
    fn ever(&mut self, breach: Breach) -> Option<bool> {
        self.happens(breach, 0, NOBODY)
    }

    fn situations(&self) -> usize {
        self.more + self.open.values().map(|walk| walk.walked).sum::<usize>()
    }
}

/// Compares everything that each engine decided. A walk gives up after so many situations.
pub fn judge(model: &Model, decided: &[(String, Assessment)], most: usize, thorough: bool) -> Judged {
    let mut judged = Judged::default();
    let mut walks = Walks { model, most, thorough, open: BTreeMap::new(), more: 0 };
    for (number, (engine, assessment)) in decided.iter().enumerate() {
        let mut this = Judged::default();
        hazard::all(model, assessment, &mut walks, &mut this);
        single::all(model, assessment, &mut walks, &mut this);
        time::all(model, assessment, &mut walks, &mut this);
        this.witnesses = witnesses(assessment);
        for dispute in &assessment.disputes {
            this.differences.push(format!("{:?}: the simulator says: {}", dispute.claim, dispute.simulator));
        }
        let told = this.differences.drain(..).map(|difference| format!("{engine}: {difference}"));
        let told: Vec<String> = told.collect();
        judged.differences.extend(told);
        judged.witnesses += this.witnesses;
        // What is walked is the same for every engine, and counts once.
        if number == 0 {
            judged.claims = this.claims;
            judged.questions = this.questions;
            judged.hazards = this.hazards;
            judged.exhausted = this.exhausted;
        }
    }
    judged.situations = walks.situations();
    judged
}

fn witnesses(assessment: &Assessment) -> usize {
    let hazards = assessment.hazards.iter().flat_map(|found| found.claims());
    let timed = assessment.timed.iter().filter_map(|timed| match &timed.decided {
        Timed::Decided(own) => Some([&own.unaided, &own.covered, &own.tolerance, &own.disjoint]),
        _ => None,
    });
    let hazards = hazards.chain(timed.flatten());
    let singles = assessment.singles.iter().map(|single| &single.decided);
    hazards.chain(singles).filter(|decided| decided.is_broken()).count() + assessment.incompatible.len()
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
    fn compare(&mut self, claim: &'static str, about: &str, said: &'static str, walked: &'static str) {
        self.claims.push((claim, walked));
        if said != walked {
            self.differences.push(format!("{claim} {about}: decided {said}, walked {walked}"));
        }
    }

    fn differ(&mut self, difference: String) {
        self.differences.push(difference);
    }

    /// Counts a question, and whether it was too large.
    fn asked(&mut self, answered: Option<()>) {
        self.questions.0 += 1;
        self.questions.1 += usize::from(answered.is_none());
    }
}

/// Tags of sets of sources.
fn names(model: &Model, sets: &[BTreeSet<Source>]) -> Vec<Vec<String>> {
    sets.iter().map(|set| set.iter().map(|source| model.source_tag(*source)).collect()).collect()
}
