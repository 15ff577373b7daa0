//! §1 of `docs/meaning.md`: the plant itself. Predicates, couplings, ranges and modes.

use std::collections::BTreeSet;

use super::{Encoder, RestsOn};
use crate::exact::Exact;
use crate::model::{
    ConditionId, GroupId, HazardId, ModeId, OnsetCase, PlantAtom, QuantityId, Relation, Tree,
};
use crate::situation::{FactChoice, ModeChoice, NumberChoice};
use crate::term::{TermId, Var};

impl Encoder<'_> {
    /// The quantity as a number; remembers that it matters.
    pub(super) fn quantity(&mut self, quantity: QuantityId) -> NumberChoice {
        self.quantities.insert(quantity);
        NumberChoice::Quantity(quantity)
    }

    /// A condition is true; remembers that it matters.
    pub(super) fn condition(&mut self, condition: ConditionId) -> TermId {
        self.conditions.insert(condition);
        self.fact(FactChoice::Condition(condition))
    }

    /// The mode chosen is this one. A mode that the scope fixes is a constant.
    pub(super) fn mode_is(&mut self, choice: ModeChoice, mode: ModeId) -> TermId {
        match choice {
            ModeChoice::Holds(group) => {
                if let Some(fixed) = self.fixed.get(&group) {
                    return self.terms.constant(*fixed == mode);
                }
                self.groups.insert(group);
            }
            ModeChoice::Shown(..) => {
                self.shown.insert(choice);
            }
        }
        self.terms.var(Var::ModeIs(choice, mode))
    }

    /// The mode chosen is one of these.
    pub(super) fn mode_among(&mut self, choice: ModeChoice, modes: &BTreeSet<ModeId>) -> TermId {
        let each: Vec<TermId> = modes.iter().map(|mode| self.mode_is(choice, *mode)).collect();
        self.terms.or(each)
    }

    fn plant_atom(&mut self, atom: &PlantAtom) -> TermId {
        match atom {
            PlantAtom::Linear { sum, relation, bound } => {
                let sum: Vec<(Exact, NumberChoice)> =
                    sum.iter().map(|(coefficient, q)| (coefficient.clone(), self.quantity(*q))).collect();
                self.terms.compare(&sum, *relation, bound)
            }
            PlantAtom::Condition(condition) => self.condition(*condition),
            PlantAtom::Mode(mode) => {
                let group = self.model.modes[*mode].group;
                self.mode_is(ModeChoice::Holds(group), *mode)
            }
        }
    }

    /// A combination of facts about the plant.
    pub(super) fn plant(&mut self, tree: &Tree<PlantAtom>) -> TermId {
        match tree {
            Tree::Atom(atom) => self.plant_atom(atom),
            Tree::And(parts) => {
                let parts: Vec<TermId> = parts.iter().map(|part| self.plant(part)).collect();
                self.terms.and(parts)
            }
            Tree::Or(parts) => {
                let parts: Vec<TermId> = parts.iter().map(|part| self.plant(part)).collect();
                self.terms.or(parts)
            }
            Tree::Not(part) => {
                let part = self.plant(part);
                self.terms.not(part)
            }
            Tree::Vote { m, of } => {
                let of: Vec<TermId> = of.iter().map(|part| self.plant(part)).collect();
                self.terms.at_least(*m, of)
            }
        }
    }

    fn onset_case(&mut self, case: &OnsetCase) -> TermId {
        let mut all = Vec::new();
        for (atom, holds) in case {
            let term = self.plant_atom(atom);
            all.push(if *holds { term } else { self.terms.not(term) });
        }
        self.terms.and(all)
    }

    /// One onset case of a hazard holds, or any of them.
    pub(super) fn present(&mut self, hazard: HazardId, onset: Option<usize>) -> TermId {
        let model = self.model;
        let cases = &model.hazards[hazard].onset;
        let wanted = cases.iter().enumerate().filter(|(number, _)| onset.is_none_or(|o| o == *number));
        let terms: Vec<TermId> = wanted.map(|(_, case)| self.onset_case(case)).collect();
        self.terms.or(terms)
    }

    /// Each onset case of the hazard in question.
    pub(super) fn onsets(&mut self) -> Vec<TermId> {
        let Some(hazard) = self.hazard else { return Vec::new() };
        let cases = self.model.hazards[hazard].onset.len();
        (0..cases).map(|case| self.present(hazard, Some(case))).collect()
    }

    /// Hazards that are never together with the one in question are not present, in the modes in which they exist.
    pub(super) fn apart(&mut self) {
        let Some(hazard) = self.hazard else { return };
        let apart = self.apart_from(hazard);
        self.possible.push(apart);
        if !self.model.hazards[hazard].never_together.is_empty() {
            self.rests_on.push((apart, RestsOn::NeverTogether(hazard)));
        }
    }

    /// No hazard that is never together with this one is present in a mode in which it exists.
    pub(super) fn apart_from(&mut self, hazard: HazardId) -> TermId {
        let model = self.model;
        let mut all = Vec::new();
        for other in &model.hazards[hazard].never_together {
            let there = self.there(*other);
            all.push(self.terms.not(there));
        }
        self.terms.and(all)
    }

    /// Ranges and couplings. All couplings are required, since a situation is a situation of the whole plant; those
    /// that touch anything that matters, directly or through one another, are noted as used.
    pub(super) fn plant_rules(&mut self) {
        let model = self.model;
        // Each time the one that touches what was found first, wherever the file declares it: see `Found`.
        loop {
            let open = model.couplings.iter().filter(|(id, _)| !self.couplings.contains(id));
            let touching = open.filter_map(|(id, coupling)| Some((self.touched_first(&coupling.holds)?, id)));
            let Some((_, id)) = touching.min() else { break };
            self.couplings.insert(id);
            let term = self.plant(&model.couplings[id].holds);
            self.possible.push(term);
            self.rests_on.push((term, RestsOn::Coupling(id)));
        }
        let mut rest: Vec<_> = model
            .couplings
            .iter()
            .filter(|(id, _)| !self.couplings.contains(id))
            .map(|(id, coupling)| (form(&coupling.holds), id, coupling))
            .collect();
        // By what they look like, not by where they stand: see `Found`.
        rest.sort_by(|(a, ..), (b, ..)| a.cmp(b));
        for (_, id, coupling) in rest {
            let term = self.plant(&coupling.holds);
            self.possible.push(term);
            self.rests_on.push((term, RestsOn::Coupling(id)));
        }
        for quantity in self.quantities.in_order() {
            let range = &model.quantities[quantity].range;
            let before = self.possible.len();
            self.within(NumberChoice::Quantity(quantity), &range.low, &range.high);
            let ends = self.possible.get(before..).unwrap_or_default();
            self.rests_on.extend(ends.iter().map(|end| (*end, RestsOn::Range(quantity))));
        }
    }

    /// Kind and place of the first fact found that a coupling speaks of.
    fn touched_first(&self, holds: &Tree<PlantAtom>) -> Option<(u8, usize)> {
        let place = |atom: &PlantAtom| match atom {
            PlantAtom::Linear { sum, .. } => {
                sum.iter().filter_map(|(_, q)| self.quantities.place(q)).min().map(|place| (0, place))
            }
            PlantAtom::Condition(condition) => self.conditions.place(condition).map(|place| (1, place)),
            PlantAtom::Mode(mode) => {
                self.groups.place(&self.model.modes[*mode].group).map(|place| (2, place))
            }
        };
        holds.atoms().into_iter().filter_map(place).min()
    }

    /// The number lies in `low ..= high`; said once per number.
    pub(super) fn within(&mut self, number: NumberChoice, low: &Exact, high: &Exact) {
        if !self.ranged.insert(number) {
            return;
        }
        let one = [(Exact::int(1), number)];
        let above = self.terms.compare(&one, Relation::AtLeast, low);
        let below = self.terms.compare(&one, Relation::AtMost, high);
        self.possible.push(above);
        self.possible.push(below);
    }

    /// Every group that matters is in exactly one mode; so is every mode that an input shows.
    pub(super) fn mode_rules(&mut self) {
        let groups: Vec<(ModeChoice, GroupId)> = self
            .groups
            .in_order()
            .into_iter()
            .map(|group| (ModeChoice::Holds(group), group))
            .chain(self.shown.in_order().into_iter().filter_map(|choice| match choice {
                ModeChoice::Shown(input, _) => Some((choice, self.model.mode_inputs[input].group)),
                ModeChoice::Holds(_) => None,
            }))
            .collect();
        for (choice, group) in groups {
            let model = self.model;
            let each: Vec<TermId> = model.groups[group]
                .modes
                .iter()
                .map(|mode| self.terms.var(Var::ModeIs(choice, *mode)))
                .collect();
            let one = self.terms.exactly_one(&each);
            self.possible.push(one);
        }
    }
}

/// What a combination looks like without names.
fn form(tree: &Tree<PlantAtom>) -> String {
    let all = |parts: &[Tree<PlantAtom>]| parts.iter().map(form).collect::<Vec<_>>().join(" ");
    match tree {
        Tree::Atom(PlantAtom::Condition(_)) => "condition".into(),
        Tree::Atom(PlantAtom::Mode(_)) => "mode".into(),
        Tree::Atom(PlantAtom::Linear { sum, relation, bound }) => {
            let factors: Vec<String> = sum.iter().map(|(factor, _)| factor.to_string()).collect();
            format!("{relation:?} {bound} {}", factors.join(" "))
        }
        Tree::And(parts) => format!("and ({})", all(parts)),
        Tree::Or(parts) => format!("or ({})", all(parts)),
        Tree::Not(part) => format!("not ({})", form(part)),
        Tree::Vote { m, of } => format!("{m} of ({})", all(of)),
    }
}
