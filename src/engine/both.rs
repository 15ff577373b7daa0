//! Two engines as one: the first answers, the second confirms.
//!
//! A situation that the first one found is worked out by the second, which is surer than a search of its own and far
//! cheaper; that there is none is found by both.
//!
//! Where they differ the answer is [`Answer::Disputed`], never one of the two. Where one of them does not decide, the
//! other's answer stands and is said to be that of one engine. What only chooses the situation to be told is asked of one.

use super::{Answer, Contradiction, Engine, EngineError, Found, Question};
use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{TermId, Terms, Var};

/// Two engines.
pub struct Both<A, B> {
    /// The one that answers.
    pub first: A,
    /// The one that confirms.
    pub second: B,
}

impl<A: Engine, B: Engine> Engine for Both<A, B> {
    fn name(&self) -> String {
        format!("{} and {}", self.first.name(), self.second.name())
    }

    fn apart(&self, work: &(dyn Fn() + Send + Sync)) {
        self.first.apart(&|| self.second.apart(work));
    }

    fn open(
        &self,
        terms: &Terms,
        possible: &[TermId],
        assumed: &[TermId],
    ) -> Result<Box<dyn Question>, EngineError> {
        Ok(Box::new(BothQuestion {
            names: [self.first.name(), self.second.name()],
            first: self.first.open(terms, possible, assumed)?,
            second: self.second.open(terms, possible, assumed)?,
            required: vec![possible.to_vec()],
            speaks: Speaks::First,
            alone: None,
        }))
    }
}

/// Which engine gave the last answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Speaks {
    First,
    Second,
}

struct BothQuestion {
    names: [String; 2],
    first: Box<dyn Question>,
    second: Box<dyn Question>,
    /// What holds, by level: for the question's own text.
    required: Vec<Vec<TermId>>,
    speaks: Speaks,
    alone: Option<String>,
}

fn found(answer: &Answer) -> Option<Found> {
    match answer {
        Answer::Exists => Some(Found::Exists),
        Answer::None => Some(Found::None),
        Answer::Undecided(_) | Answer::Disputed(_) => None,
    }
}

impl BothQuestion {
    fn compare(&mut self, terms: &Terms, given: &[TermId], first: Answer, second: Answer) -> Answer {
        let [first_name, second_name] = &self.names;
        match (found(&first), found(&second)) {
            (Some(one), Some(other)) if one != other => {
                let asserted = self.required.iter().flatten().chain(given).copied().collect();
                let answers = [(first_name.clone(), one), (second_name.clone(), other)];
                Answer::Disputed(Box::new(Contradiction { terms: terms.clone(), asserted, answers }))
            }
            (None, Some(_)) => {
                if let Answer::Undecided(reason) = first {
                    self.alone = Some(format!("{first_name}: {reason}"));
                }
                self.speaks = Speaks::Second;
                second
            }
            (Some(_), None) => {
                if let Answer::Undecided(reason) = second {
                    self.alone = Some(format!("{second_name}: {reason}"));
                }
                first
            }
            (Some(_), Some(_)) | (None, None) => first,
        }
    }

    fn speaker(&mut self) -> &mut dyn Question {
        match self.speaks {
            Speaks::First => self.first.as_mut(),
            Speaks::Second => self.second.as_mut(),
        }
    }

    fn heard(&self) -> &dyn Question {
        match self.speaks {
            Speaks::First => self.first.as_ref(),
            Speaks::Second => self.second.as_ref(),
        }
    }
}

impl Question for BothQuestion {
    fn require(&mut self, terms: &Terms, term: TermId) -> Result<(), EngineError> {
        if let Some(level) = self.required.last_mut() {
            level.push(term);
        }
        self.first.require(terms, term)?;
        self.second.require(terms, term)
    }

    fn push(&mut self) {
        self.required.push(Vec::new());
        self.first.push();
        self.second.push();
    }

    fn pop(&mut self) {
        self.required.pop();
        self.first.pop();
        self.second.pop();
    }

    fn ask(&mut self, terms: &Terms, given: &[TermId]) -> Result<Answer, EngineError> {
        (self.speaks, self.alone) = (Speaks::First, None);
        let first = self.first.ask(terms, given)?;
        let second = {
            let example = if first == Answer::Exists { self.first.example()? } else { None };
            match example {
                Some(example) => self.second.weigh(terms, given, example.as_ref())?,
                None => self.second.ask(terms, given)?,
            }
        };
        Ok(self.compare(terms, given, first, second))
    }

    fn look(&mut self, terms: &Terms, given: &[TermId]) -> Result<Answer, EngineError> {
        self.speaks = Speaks::First;
        match self.first.look(terms, given)? {
            Answer::Undecided(reason) => {
                self.speaks = Speaks::Second;
                Ok(match self.second.look(terms, given)? {
                    Answer::Undecided(_) => Answer::Undecided(reason),
                    answer => answer,
                })
            }
            answer => Ok(answer),
        }
    }

    fn alone(&self) -> Option<String> {
        self.alone.clone()
    }

    fn conflict(&mut self, terms: &Terms) -> Vec<TermId> {
        self.speaker().conflict(terms)
    }

    fn keep(&mut self, terms: &Terms) -> Result<(), EngineError> {
        self.speaker().keep(terms)
    }

    fn truth(&self, var: Var) -> Result<bool, EngineError> {
        self.heard().truth(var)
    }

    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError> {
        self.heard().number(number)
    }
}
