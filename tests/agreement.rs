//! Two engines: every claim of the shipped models is decided by both, and where they differ nothing is hidden.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fs;

use tripproof::assess::assess;
use tripproof::conclude::conclude;
use tripproof::engine::both::Both;
use tripproof::engine::diagram::Diagram;
use tripproof::engine::smt::Smt;
use tripproof::engine::{Answer, Engine, EngineError, Example, Question};
use tripproof::exact::Exact;
use tripproof::load::load;
use tripproof::outcome::{Outcome, Verdict};
use tripproof::report::{self, Entry};
use tripproof::situation::NumberChoice;
use tripproof::source::Source;
use tripproof::term::{TermId, Terms, Var};

/// Says of every question the same.
struct Always(Answer);

impl Engine for Always {
    fn name(&self) -> String {
        "an engine that always says the same".into()
    }

    fn open(&self, _: &Terms, _: &[TermId], _: &[TermId]) -> Result<Box<dyn Question>, EngineError> {
        Ok(Box::new(Always(self.0.clone())))
    }
}

impl Question for Always {
    fn require(&mut self, _: &Terms, _: TermId) -> Result<(), EngineError> {
        Ok(())
    }
    fn push(&mut self) {}
    fn pop(&mut self) {}
    fn ask(&mut self, _: &Terms, _: &[TermId]) -> Result<Answer, EngineError> {
        Ok(self.0.clone())
    }
    fn conflict(&mut self, _: &Terms) -> Vec<TermId> {
        Vec::new()
    }
    fn keep(&mut self, _: &Terms) -> Result<(), EngineError> {
        Err(EngineError("nothing to keep".into()))
    }
    fn truth(&self, _: Var) -> Result<bool, EngineError> {
        Err(EngineError("nothing was kept".into()))
    }
    fn number(&self, _: NumberChoice) -> Result<Exact, EngineError> {
        Err(EngineError("nothing was kept".into()))
    }
}

/// What Z3 shows of the situations that it finds.
#[derive(Clone, Copy)]
enum Shows {
    /// Nothing, so that the other engine has to search for itself.
    Nothing,
    /// In which nothing is true and every number is 0.
    Nonsense,
}

/// Z3, with a say in what it shows.
struct Showing(Shows);

struct ShowingQuestion(Shows, Box<dyn Question>);

impl Engine for Showing {
    fn name(&self) -> String {
        z3().name()
    }
    fn apart(&self, work: &(dyn Fn() + Send + Sync)) {
        z3().apart(work);
    }
    fn open(
        &self,
        terms: &Terms,
        possible: &[TermId],
        kept: &[TermId],
    ) -> Result<Box<dyn Question>, EngineError> {
        Ok(Box::new(ShowingQuestion(self.0, z3().open(terms, possible, kept)?)))
    }
}

impl Question for ShowingQuestion {
    fn require(&mut self, terms: &Terms, term: TermId) -> Result<(), EngineError> {
        self.1.require(terms, term)
    }
    fn push(&mut self) {
        self.1.push();
    }
    fn pop(&mut self) {
        self.1.pop();
    }
    fn ask(&mut self, terms: &Terms, given: &[TermId]) -> Result<Answer, EngineError> {
        self.1.ask(terms, given)
    }
    fn conflict(&mut self, terms: &Terms) -> Vec<TermId> {
        self.1.conflict(terms)
    }
    fn keep(&mut self, terms: &Terms) -> Result<(), EngineError> {
        self.1.keep(terms)
    }
    fn truth(&self, var: Var) -> Result<bool, EngineError> {
        self.1.truth(var)
    }
    fn number(&self, number: NumberChoice) -> Result<Exact, EngineError> {
        self.1.number(number)
    }
    fn example(&self) -> Result<Option<Box<dyn Example + '_>>, EngineError> {
        Ok(match self.0 {
            Shows::Nothing => None,
            Shows::Nonsense => Some(Box::new(Nonsense)),
        })
    }
}

struct Nonsense;

impl Example for Nonsense {
    fn truth(&self, _: Var) -> Result<bool, EngineError> {
        Ok(false)
    }
    fn number(&self, _: NumberChoice) -> Result<Exact, EngineError> {
        Ok(Exact::zero())
    }
}

fn z3() -> Smt {
    Smt::new(50_000_000).unwrap()
}

fn outcome(name: &str, engine: &dyn Engine) -> Outcome {
    let text = fs::read_to_string(format!("models/{name}.yaml")).unwrap();
    let source = Source::new(format!("models/{name}.yaml"), text);
    let model = load(&source).unwrap();
    let assessment = assess(&model, engine).unwrap();
    conclude(source, model, &assessment, engine.name())
}

#[test]
fn every_claim_of_the_shipped_models_is_decided_by_both_engines() {
    for entry in fs::read_dir("models").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "yaml") {
            continue;
        }
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        // With nothing to work out the diagrams search for every situation themselves.
        let outcome = outcome(&name, &Both { first: Showing(Shows::Nothing), second: Diagram::new(400_000) });
        let alone: Vec<&str> = outcome
            .claims
            .iter()
            .filter(|claim| claim.one_engine.is_some())
            .map(|claim| claim.statement.as_str())
            .collect();
        assert!(alone.is_empty(), "{name}: {alone:#?}");
        assert!(!outcome.disagrees(), "{name}");
        assert!(outcome.opinions().0 > 0, "{name}");
    }
}

#[test]
fn a_situation_that_does_not_do_what_was_asked_is_an_error() {
    let text = fs::read_to_string("models/first-guard-flawed.yaml").unwrap();
    let model = load(&Source::new("models/first-guard-flawed.yaml", text)).unwrap();
    let engine = Both { first: Showing(Shows::Nonsense), second: Diagram::new(400_000) };
    let error = assess(&model, &engine).err().unwrap();
    assert!(error.0.contains("does not do what was asked"), "{error:?}");
}

#[test]
fn diagrams_alone_decide_small_models_as_z3_does() {
    for name in ["first-guard", "first-guard-flawed", "pressure-tank-flawed", "burner-flawed"] {
        let (ours, theirs) = (outcome(name, &Diagram::new(400_000)), outcome(name, &z3()));
        let verdicts = |outcome: &Outcome| -> Vec<(String, Verdict)> {
            outcome.claims.iter().map(|claim| (claim.statement.clone(), claim.verdict.clone())).collect()
        };
        assert_eq!(verdicts(&ours), verdicts(&theirs), "{name}");
        assert_eq!(ours.protections.len(), theirs.protections.len());
        for (ours, theirs) in ours.protections.iter().zip(&theirs.protections) {
            assert_eq!((&ours.cut_sets, ours.path_sets.len()), (&theirs.cut_sets, theirs.path_sets.len()));
        }
        assert!(!ours.disagrees(), "{name}");
        assert_eq!(ours.opinions(), (0, theirs.opinions().1), "one engine was asked");
    }
}

#[test]
fn an_engine_that_lies_is_found_out_and_all_that_reproduces_it_is_given() {
    let outcome = outcome("first-guard-flawed", &Both { first: z3(), second: Always(Answer::None) });
    assert_eq!(outcome.exit_code(), 4);
    assert!(!outcome.contradictions.is_empty() && outcome.disagreements.is_empty());
    let undecided = outcome.claims.iter().filter(|claim| matches!(claim.verdict, Verdict::Undecided(_)));
    // Sums of declared times ask no engine.
    let mut asked = outcome.claims.iter().filter(|claim| claim.claim != "acts-in-time");
    assert!(undecided.count() > 0 && asked.all(|claim| claim.verdict != Verdict::Proved));
    for contradiction in &outcome.contradictions {
        assert_eq!(contradiction.answers[0].1, "such a situation exists (sat)");
        assert_eq!(contradiction.answers[1].1, "there is no such situation (unsat)");
        assert!(!contradiction.about.is_empty());
        let lines: Vec<&str> = outcome.source.text().lines().collect();
        for (line, element) in &contradiction.depends {
            let tag = element.rsplit(' ').next().unwrap();
            assert!(lines[line - 1].contains(tag), "line {line} is not about {element}");
        }
        // Read by the solver from the text alone, the question has the answer that the solver gave.
        let solver = z3::Solver::new();
        solver.from_string(contradiction.question.replace("(check-sat)\n", ""));
        assert!(!solver.get_assertions().is_empty());
        assert_eq!(solver.check(), z3::SatResult::Sat, "{}", contradiction.question);
    }
    assert!(outcome.contradictions.iter().any(|contradiction| !contradiction.depends.is_empty()));
    let bundle = report::contradictions(outcome.source.name(), &outcome.contradictions);
    for part in ["models/first-guard-flawed.yaml", "(check-sat)", "; Z3", "; an engine that always", "line "]
    {
        assert!(bundle.contains(part), "no `{part}` in\n{bundle}");
    }
    let entries = [Entry::Examined(Box::new(outcome))];
    let text = report::text::render(&entries, false, true);
    let page = report::markdown::render(&entries);
    for all in [&text, &page] {
        let all = all.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(all.contains("Two engines answer the same question differently"), "{all}");
        assert!(all.contains("trust no result of this model"), "{all}");
    }
    let json: serde_json::Value = serde_json::from_str(&report::json::render(&entries, "solver", 4)).unwrap();
    let told = &json["models"][0]["contradictions"][0];
    assert!(told["question"].as_str().unwrap().contains("(assert "), "{told}");
    assert_eq!(json["models"][0]["exit_code"], 4);
}

#[test]
fn an_engine_that_claims_too_much_is_found_out_too() {
    let outcome = outcome("first-guard", &Both { first: z3(), second: Always(Answer::Exists) });
    assert_eq!(outcome.exit_code(), 4);
    assert!(outcome.contradictions.iter().all(|c| c.answers[0].1.contains("unsat")));
}

#[test]
fn what_the_second_engine_leaves_undecided_is_said_to_be_decided_by_one() {
    let silent = || Always(Answer::Undecided("it had no time".into()));
    let by_first = outcome("first-guard", &Both { first: z3(), second: silent() });
    let (both, one) = by_first.opinions();
    assert_eq!((both, by_first.exit_code()), (0, 0));
    assert!(one > 0);
    let reasons: Vec<&String> = by_first.claims.iter().filter_map(|c| c.one_engine.as_ref()).collect();
    assert!(reasons.iter().all(|why| why.contains("it had no time")), "{reasons:?}");
    // The other way round the diagrams decide, and are believed alone.
    let by_second = outcome("first-guard", &Both { first: silent(), second: Diagram::new(400_000) });
    assert_eq!((by_second.exit_code(), by_second.opinions()), (0, (0, one)));
}
