//! Which changed choices are worth a trial when a source misbehaves.
//!
//! A choice may matter for the sources whose faults stand beside it in a conjunction. This is a guess that costs nothing
//! if it is wrong: see the head of `trial`.

use std::collections::{BTreeMap, BTreeSet};

use super::program::{Program, Step, holds};
use crate::exact::Exact;
use crate::model::Source;
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::term::{Linear, Var};

/// Changed choices: the slot of a choice, and its value.
pub(super) type Change = Vec<(usize, bool)>;

/// The ways in which one choice can be changed.
#[derive(Debug)]
enum Alternatives {
    /// The other truth value.
    Other(usize),
    /// This one of several that exclude each other.
    Fixed(Change),
    /// The reading at one of these values; every comparison with that reading may change.
    Reading { number: NumberChoice, values: Vec<Exact>, compared: Vec<(usize, Linear)> },
}

/// What to try for each source.
#[derive(Debug)]
pub(super) struct Changes {
    alternatives: Vec<Alternatives>,
    of_source: BTreeMap<Source, BTreeSet<usize>>,
}

impl Changes {
    /// What is worth trying in these terms.
    pub(super) fn of(program: &Program, faults: &BTreeMap<Source, usize>) -> Changes {
        let owners = owners(program, faults);
        let mut changes = Changes { alternatives: Vec::new(), of_source: BTreeMap::new() };
        for (choice, sources) in &owners {
            let found = match program.steps.get(*choice) {
                Some(Step::Var(Var::PositionIs(device, _))) => {
                    Alternatives::Fixed(one_of(program, *choice, |var| match var {
                        Var::PositionIs(of, _) => of == device,
                        _ => false,
                    }))
                }
                Some(Step::Var(Var::ModeIs(group, _))) => {
                    Alternatives::Fixed(one_of(program, *choice, |var| match var {
                        Var::ModeIs(of, _) => of == group,
                        _ => false,
                    }))
                }
                Some(Step::Linear(linear)) => match reading(program, linear) {
                    Some(alternatives) => alternatives,
                    None => continue,
                },
                _ => Alternatives::Other(*choice),
            };
            for source in sources {
                changes.of_source.entry(*source).or_default().insert(changes.alternatives.len());
            }
            changes.alternatives.push(found);
        }
        changes
    }

    /// For each source the changes to try in a situation with these choices and numbers.
    pub(super) fn at(
        &self,
        values: &[u64],
        numbers: &BTreeMap<NumberChoice, Exact>,
    ) -> BTreeMap<Source, Vec<Change>> {
        let mut numbers = numbers.clone();
        let each: Vec<Vec<Change>> = self
            .alternatives
            .iter()
            .map(|alternatives| match alternatives {
                Alternatives::Other(slot) => {
                    vec![vec![(*slot, values.get(*slot).copied().unwrap_or(0) == 0)]]
                }
                Alternatives::Fixed(change) => vec![change.clone()],
                Alternatives::Reading { number, values, compared } => {
                    let before = numbers.get(number).cloned();
                    let mut found = Vec::new();
                    for value in values {
                        numbers.insert(*number, value.clone());
                        let holds = |(slot, linear): &(usize, Linear)| (*slot, holds(linear, &numbers));
                        found.push(compared.iter().map(holds).collect());
                    }
                    if let Some(before) = before {
                        numbers.insert(*number, before);
                    }
                    found
                }
            })
            .collect();
        let of = |numbers: &BTreeSet<usize>| {
            let all: BTreeSet<Change> =
                numbers.iter().filter_map(|n| each.get(*n)).flatten().cloned().collect();
            all.into_iter().collect()
        };
        self.of_source.iter().map(|(source, numbers)| (*source, of(numbers))).collect()
    }
}

/// Makes this choice the one that holds among those of its kind.
fn one_of(program: &Program, choice: usize, same: impl Fn(&Var) -> bool) -> Change {
    let vars = program.steps.iter().enumerate();
    vars.filter(|(_, step)| matches!(step, Step::Var(var) if same(var)))
        .map(|(slot, _)| (slot, slot == choice))
        .collect()
}

/// The reading in a comparison at its bound and one below and above.
fn reading(program: &Program, linear: &Linear) -> Option<Alternatives> {
    let [(coefficient, number)] = linear.sum.as_slice() else { return None };
    let bound = linear.bound.checked_div(coefficient)?;
    let one = Exact::int(1);
    let compared = program.comparisons();
    let compared = compared.filter(|(_, other)| other.sum.iter().any(|(_, n)| n == number));
    Some(Alternatives::Reading {
        number: *number,
        values: vec![bound.clone(), &bound - &one, &bound + &one],
        compared: compared.map(|(slot, other)| (slot, other.clone())).collect(),
    })
}

/// What stands below a term.
#[derive(Clone, Default)]
struct Below {
    /// Fault sources, if the term holds nothing but faults and choices of what misbehaves.
    faults: Option<BTreeSet<Source>>,
    /// Its choices, if it holds nothing but such choices.
    choices: Option<BTreeSet<usize>>,
}

/// Which sources a choice may matter for: those whose faults stand beside it in a conjunction.
fn owners(program: &Program, faults: &BTreeMap<Source, usize>) -> BTreeMap<usize, BTreeSet<Source>> {
    let source_at: BTreeMap<usize, Source> = faults.iter().map(|(source, slot)| (*slot, *source)).collect();
    let mut below: Vec<Below> = Vec::with_capacity(program.steps.len());
    let mut owners: BTreeMap<usize, BTreeSet<Source>> = BTreeMap::new();
    for (slot, step) in program.steps.iter().enumerate() {
        let parts: &[usize] = match step {
            Step::Not(part) => std::slice::from_ref(part),
            Step::And(parts) | Step::Or(parts) | Step::AtLeast(_, parts) => parts,
            Step::Constant(_) | Step::Var(_) | Step::Linear(_) => {
                below.push(leaf(step, slot, source_at.get(&slot).copied()));
                continue;
            }
        };
        let each: Vec<&Below> = parts.iter().filter_map(|part| below.get(*part)).collect();
        if matches!(step, Step::And(_)) {
            conjunction(&each, &mut owners);
        }
        let faults = each.iter().map(|part| part.faults.as_ref()).collect::<Option<Vec<_>>>();
        let choices = each.iter().map(|part| part.choices.as_ref()).collect::<Option<Vec<_>>>();
        below.push(Below {
            faults: faults.map(|sets| sets.into_iter().flatten().copied().collect()),
            choices: choices.map(|sets| sets.into_iter().flatten().copied().collect()),
        });
    }
    owners
}

fn conjunction(parts: &[&Below], owners: &mut BTreeMap<usize, BTreeSet<Source>>) {
    let beside: BTreeSet<Source> =
        parts.iter().filter_map(|part| part.faults.as_ref()).flatten().copied().collect();
    if beside.is_empty() {
        return;
    }
    for choice in parts.iter().filter_map(|part| part.choices.as_ref()).flatten() {
        owners.entry(*choice).or_default().extend(beside.iter().copied());
    }
}

/// A term without parts.
fn leaf(step: &Step, slot: usize, source: Option<Source>) -> Below {
    if let Some(source) = source {
        return Below { faults: Some([source].into()), choices: None };
    }
    let is_choice = match step {
        Step::Var(Var::Fact(choice)) => match choice {
            FactChoice::Condition(_)
            | FactChoice::AlreadySet(_)
            | FactChoice::Pressed(_)
            | FactChoice::Overridden(..)
            | FactChoice::Initiator(..)
            | FactChoice::Misbehaves(_)
            | FactChoice::Remembers(..) => false,
            FactChoice::Lost(_)
            | FactChoice::Deviates(..)
            | FactChoice::Bad(..)
            | FactChoice::Silent(..)
            | FactChoice::Asserted(..)
            | FactChoice::LineOpen(..)
            | FactChoice::LineHeld(..)
            | FactChoice::ContactClosed(_)
            | FactChoice::CauseDeviates(..)
            | FactChoice::CauseSilent(..)
            | FactChoice::CauseSeen(..)
            | FactChoice::LinkDown(..)
            | FactChoice::Gives(_)
            | FactChoice::Drives(..)
            | FactChoice::ActuatorLineOpen(_)
            | FactChoice::ActuatorLineHeld(_)
            | FactChoice::Energised(_)
            | FactChoice::DeviceDeviates(_) => true,
        },
        Step::Var(Var::PositionIs(..) | Var::ModeIs(ModeChoice::Shown(..), _)) => true,
        Step::Linear(linear) => matches!(linear.sum.as_slice(), [(_, NumberChoice::Reading(..))]),
        _ => false,
    };
    let is_fact = matches!(step, Step::Var(Var::Fact(_)));
    Below { faults: (is_choice && is_fact).then(BTreeSet::new), choices: is_choice.then(|| [slot].into()) }
}
