//! Takes the JSON report from the outcomes.

use super::shape::*;
use crate::exact::Exact;
use crate::finding::{Finding as Found, Story};
use crate::model::{Calculation as Calculated, ModeId, Model as Design, Side};
use crate::outcome::{
    Cell as Entered, OfTime, Outcome, Part as NeededPart, Paths, Tolerance, TripTime, Verdict, Why as Reason,
};
use crate::problem::Problem;
use crate::report::{self, Entry};
use crate::source::{Source, Span};

/// Most characters of a place's text.
const SHOWN: usize = 200;

/// The whole report.
pub(super) fn report(entries: &[Entry], solver: &str, exit_code: u8) -> Report {
    let outcomes = || {
        entries.iter().filter_map(|entry| match entry {
            Entry::Examined(outcome) => Some(outcome.as_ref()),
            Entry::Refused { .. } | Entry::Failed { .. } => None,
        })
    };
    Report {
        format: "tripproof-report",
        version: VERSION,
        tool: Tool { name: "tripproof", version: env!("CARGO_PKG_VERSION") },
        solver: solver.to_string(),
        exit_code,
        time: report::TIME.to_string(),
        findings: outcomes().flat_map(|o| o.findings.iter().map(move |found| finding(o, found))).collect(),
        claims: outcomes().flat_map(claims).collect(),
        models: entries.iter().map(model).collect(),
        limits: report::content::basis::LIMITS.iter().map(|text| text.to_string()).collect(),
    }
}

fn mode(design: &Design, mode: ModeId) -> String {
    report::modes(design, &[mode]).concat()
}

fn place(source: &Source, span: Span) -> Place {
    let (start, end) = (source.place(span.start), source.place(span.end));
    Place {
        file: source.name().to_string(),
        line: start.line,
        column: start.column,
        end_line: end.line,
        end_column: end.column,
        text: source.slice(span).chars().take(SHOWN).collect(),
    }
}

fn also(source: &Source, places: &[(Span, String)]) -> Vec<Also> {
    places.iter().map(|(span, label)| Also { place: place(source, *span), label: label.clone() }).collect()
}

fn values(pairs: &[(String, String)]) -> Vec<Value> {
    pairs.iter().map(|(name, value)| Value { name: name.clone(), value: value.clone() }).collect()
}

fn witness(story: &Story) -> Witness {
    let active =
        |(device, input): &(String, String)| ActiveOverride { device: device.clone(), input: input.clone() };
    Witness {
        lines: story.lines.clone(),
        cautions: story.cautions.clone(),
        values: values(&story.values),
        faults: story.faults.clone(),
        overrides: story.overrides.iter().map(active).collect(),
    }
}

fn finding(outcome: &Outcome, found: &Found) -> Finding {
    let design = &outcome.model;
    let hazard = found.hazard.map(|id| &design.hazards[id].name);
    let acceptance = design.accepted.iter().find(|a| Some(&a.name.tag) == found.accepted.as_ref());
    let tags = |set: &std::collections::BTreeSet<_>| {
        let mut tags: Vec<String> = set.iter().map(|source| design.source_tag(*source)).collect();
        tags.sort();
        tags
    };
    Finding {
        file: outcome.source.name().to_string(),
        id: outcome.finding_id(found),
        check: found.check.name(),
        severity: found.severity.word(),
        hazard: hazard.map(|name| name.tag.clone()),
        hazard_title: hazard.and_then(|name| name.title.clone()),
        modes: report::modes(design, &found.modes),
        elements: found.elements.clone(),
        sentence: found.sentence.clone(),
        each_alone: found.each.clone(),
        witness: found.witness.as_ref().map(witness),
        steps: found.steps.clone(),
        place: place(&outcome.source, found.place),
        also: also(&outcome.source, &found.also),
        lowest_cut_sets: found.lowest.iter().map(tags).collect(),
        under: found.under.clone(),
        accepted: found.accepted.clone(),
        acceptance: acceptance.map(|acceptance| Acceptance {
            reason: acceptance.reason.clone(),
            by: acceptance.by.clone(),
            expires: acceptance.expires.map_or_else(String::new, |day| day.to_string()),
        }),
        hint: report::hint(design, found),
        requirement: found.requirement.clone(),
        references: report::references(found.check),
    }
}

fn claims(outcome: &Outcome) -> impl Iterator<Item = Claim> {
    outcome.claims.iter().map(|judged| Claim {
        file: outcome.source.name().to_string(),
        claim: judged.claim,
        statement: judged.statement.clone(),
        verdict: judged.verdict.word(),
        reason: match &judged.verdict {
            Verdict::Undecided(reason) | Verdict::NotApplicable(reason) => Some(reason.clone()),
            Verdict::Proved | Verdict::Refuted => None,
        },
        hazard: judged.hazard.map(|id| outcome.model.hazards[id].name.tag.clone()),
        mode: judged.mode.map(|id| mode(&outcome.model, id)),
        about: judged.about.clone(),
        finding: judged.finding.clone(),
        accepted: judged.accepted.clone(),
        one_engine: judged.one_engine.clone(),
        why: judged.why.as_ref().map(|reason| why(outcome, reason)),
    })
}

fn why(outcome: &Outcome, reason: &Reason) -> Why {
    let (basis, lost, parts) = match reason {
        Reason::Proof(parts) => ("proof", None, parts.as_slice()),
        Reason::Example => ("example", None, [].as_slice()),
        Reason::ManyCases => ("cases", None, [].as_slice()),
        Reason::Lost(reason) => ("lost", Some(reason.clone()), [].as_slice()),
    };
    let part = |part: &NeededPart| Part {
        needs: part
            .needs
            .iter()
            .map(|need| Need {
                kind: need.kind,
                tag: need.tag.clone(),
                line: outcome.source.place(need.span.start).line,
            })
            .collect(),
        faults: part.faults,
        blind: part.blind,
    };
    Why { basis, reason: lost, parts: parts.iter().map(part).collect() }
}

fn model(entry: &Entry) -> Model {
    match entry {
        Entry::Examined(outcome) => examined(outcome),
        Entry::Refused { source, problems } => {
            let mut problems: Vec<&Problem> = problems.iter().collect();
            problems.sort();
            refused(entry, problems.into_iter().map(|problem| error(source, problem)).collect())
        }
        Entry::Failed { code, message, .. } => {
            let error = Error {
                code: code.to_string(),
                message: message.clone(),
                label: None,
                help: None,
                place: None,
                also: Vec::new(),
            };
            refused(entry, vec![error])
        }
    }
}

fn error(source: &Source, problem: &Problem) -> Error {
    Error {
        code: problem.code.to_string(),
        message: problem.message.clone(),
        label: Some(problem.label.clone()),
        help: problem.help.clone(),
        place: Some(place(source, problem.span)),
        also: also(source, &problem.also),
    }
}

fn refused(entry: &Entry, errors: Vec<Error>) -> Model {
    Model {
        file: entry.file().to_string(),
        sha256: None,
        title: None,
        revision: None,
        status: "not examined".into(),
        exit_code: entry.exit_code(),
        date: None,
        counts: None,
        fault_exclusions: 0,
        table: Vec::new(),
        protections: Vec::new(),
        margins: Vec::new(),
        calculations: Vec::new(),
        premises: Vec::new(),
        not_examined: Vec::new(),
        disagreements: Vec::new(),
        contradictions: Vec::new(),
        errors,
    }
}

fn examined(outcome: &Outcome) -> Model {
    let design = &outcome.model;
    let counts = outcome.counts();
    let (by_two_engines, by_one_engine) = outcome.opinions();
    let open = outcome.open_findings().count();
    Model {
        file: outcome.source.name().to_string(),
        sha256: Some(outcome.sha256.clone()),
        title: Some(design.system.title.clone()),
        revision: Some(design.system.revision.clone()),
        status: report::status(outcome),
        exit_code: outcome.exit_code(),
        date: outcome.date.map(|day| day.to_string()),
        counts: Some(Counts {
            proved: counts.proved,
            refuted: counts.refuted,
            accepted: counts.accepted,
            by_two_engines,
            by_one_engine,
            undecided: counts.undecided,
            not_applicable: counts.not_applicable,
            open_findings: open,
            accepted_findings: outcome.findings.len() - open,
        }),
        fault_exclusions: design.fault_exclusions.len(),
        table: table(outcome),
        protections: protections(outcome),
        margins: margins(outcome),
        calculations: design.calculations.iter().map(calculation).collect(),
        premises: premises(outcome),
        not_examined: outcome.not_examined.clone(),
        disagreements: disagreements(outcome),
        contradictions: contradictions(outcome),
        errors: Vec::new(),
    }
}

fn margins(outcome: &Outcome) -> Vec<Margin> {
    let exact = |time: &Option<Exact>| time.as_ref().map(Exact::to_string);
    let of = |trip: &TripTime| Margin {
        hazard: outcome.model.hazards[trip.hazard].name.tag.clone(),
        modes: trip.modes.iter().map(|id| mode(&outcome.model, *id)).collect(),
        trip: trip.trip.clone(),
        stages: trip
            .stages
            .iter()
            .map(|stage| Stage {
                tag: stage.tag.clone(),
                line: stage.line,
                what: stage.what,
                time: exact(&stage.time),
                at_most: exact(&stage.at_most),
            })
            .collect(),
        needs: exact(&trip.needs),
        available: exact(&trip.available),
        left: exact(&trip.left),
        signal: trip.ending.as_ref().map(|ending| SignalEnds {
            tag: ending.input.clone(),
            lasts: exact(&ending.lasts),
            latch: ending.latch.clone(),
            left: exact(&ending.left),
        }),
    };
    outcome.margins.iter().map(of).collect()
}

fn calculation(done: &Calculated) -> Calculation {
    let operands = done.formula.operands.iter().map(|operand| Operand {
        symbol: operand.symbol.clone(),
        meaning: operand.meaning.clone(),
        value: operand.value.clone(),
        from: operand.from.clone(),
    });
    let takers = done.taken_by.iter().map(|taken| Taker {
        tag: taken.tag.clone(),
        field: taken.field,
        safe_side: match taken.side {
            Side::High => "greater",
            Side::Low => "smaller",
        },
        value: taken.value.to_string(),
    });
    Calculation {
        tag: done.name.tag.clone(),
        title: done.name.title.clone().unwrap_or_default(),
        owner: done.owner.clone(),
        evidence: done.evidence.clone(),
        kind: done.formula.kind,
        formula: done.formula.symbols(),
        operands: operands.collect(),
        numbers: done.formula.numbers(),
        remarks: done.formula.remarks.clone(),
        exact: done.result.is_exact(),
        low: done.result.low.to_string(),
        high: done.result.high.to_string(),
        taken_as: done.taken_as.as_ref().map(ToString::to_string),
        taken_by: takers.collect(),
        goes_into: done.goes_into.clone(),
        used_for: done.used_for.clone(),
        assumes: done.formula.assumes,
        source: done.formula.source,
    }
}

fn table(outcome: &Outcome) -> Vec<Cell> {
    let cells = outcome.table.iter().map(|((hazard, at), entered)| {
        let hazard = &outcome.model.hazards[*hazard];
        let mut cell = Cell {
            hazard: hazard.name.tag.clone(),
            mode: mode(&outcome.model, *at),
            state: "examined",
            disjoint_paths: None,
            paths_unlimited: false,
            fault_tolerance: None,
            at_least: false,
            required_paths: hazard.required.disjoint_paths,
            required_tolerance: hazard.required.fault_tolerance,
            meets: None,
            with_initiator: false,
            time: None,
            untimed_paths: None,
            untimed_tolerance: None,
            reason: None,
        };
        match entered {
            Entered::Examined { paths, tolerance, meets, initiator, time } => {
                let (word, ever) = match time {
                    OfTime::InTime => ("in time", None),
                    OfTime::Less { paths, tolerance } => ("in time", Some((*paths, *tolerance))),
                    OfTime::Undecided => ("undecided", None),
                    OfTime::NoTime => ("no time given", None),
                };
                cell.time = Some(word);
                if let Some((paths, tolerance)) = ever {
                    cell.untimed_paths = match paths {
                        Paths::Exactly(number) => Some(number),
                        Paths::Unlimited => None,
                    };
                    cell.untimed_tolerance = match tolerance {
                        Tolerance::None => Some(-1),
                        Tolerance::Exactly(number) | Tolerance::AtLeast(number) => Some(i64::from(number)),
                    };
                }
                cell.meets = Some(*meets);
                cell.with_initiator = *initiator;
                numbers(&mut cell, *paths, *tolerance);
            }
            Entered::Undecided => cell.state = "undecided",
            Entered::Impossible => cell.state = "never",
            Entered::Excluded(reason) => {
                cell.state = "excluded";
                cell.reason = Some(reason.clone());
            }
            Entered::NotConsidered => cell.state = "not considered",
        }
        cell
    });
    cells.collect()
}

fn numbers(cell: &mut Cell, paths: Paths, tolerance: Tolerance) {
    match paths {
        Paths::Exactly(number) => cell.disjoint_paths = Some(number),
        Paths::Unlimited => cell.paths_unlimited = true,
    }
    match tolerance {
        Tolerance::None => cell.fault_tolerance = Some(-1),
        Tolerance::Exactly(number) => cell.fault_tolerance = Some(i64::from(number)),
        Tolerance::AtLeast(number) => {
            cell.fault_tolerance = Some(i64::from(number));
            cell.at_least = true;
        }
    }
}

fn protections(outcome: &Outcome) -> Vec<Protection> {
    let all = outcome.protections.iter().map(|protection| Protection {
        hazard: outcome.model.hazards[protection.hazard].name.tag.clone(),
        mode: mode(&outcome.model, protection.mode),
        order: protection.order,
        cut_sets: protection.cut_sets.clone(),
        path_sets: protection.path_sets.clone(),
        obstacle: protection.obstacle.clone(),
    });
    all.collect()
}

fn premises(outcome: &Outcome) -> Vec<Premise> {
    let all = outcome.premises.iter().map(|premise| Premise {
        kind: premise.kind.to_string(),
        tag: premise.tag.clone(),
        text: premise.text.clone(),
        owner: premise.owner.clone(),
        expires: premise.expires.map(|day| day.to_string()),
    });
    all.collect()
}

fn disagreements(outcome: &Outcome) -> Vec<Disagreement> {
    let all = outcome.disagreements.iter().map(|dispute| Disagreement {
        claim: dispute.claim.clone(),
        solver: values(&dispute.engine),
        simulator: dispute.simulator.clone(),
    });
    all.collect()
}

fn contradictions(outcome: &Outcome) -> Vec<Contradiction> {
    let all = outcome.contradictions.iter().map(|contradiction| {
        let depends = contradiction.depends.iter();
        Contradiction {
            about: contradiction.about.clone(),
            answers: values(&contradiction.answers),
            depends: depends
                .map(|(line, element)| Dependence { line: *line, element: element.clone() })
                .collect(),
            question: contradiction.question.clone(),
        }
    });
    all.collect()
}
