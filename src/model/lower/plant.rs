//! Lowers the frame of a model (language, system, policy) and the plant: quantities, conditions, couplings.

use super::Lowering;
use super::calculation::field::Field;
use super::value::interval;
use crate::exact::Exact;
use crate::model::{Condition, Coupling, Element, Id, Interval, Quantity, Required, System, Tree};
use crate::problem::Problem;
use crate::syntax::document::{self, Policy};
use crate::syntax::kind::{Count, LeftOut, WordList, Words};
use crate::syntax::leaf::{List, Scalar};
use crate::unit::{Unit, difference_kind};

impl Lowering<'_> {
    /// The version of the language.
    pub(super) fn language(&mut self) {
        let version = &self.doc.language;
        if version.broken || version.text == "1" {
            return;
        }
        self.report(
            Problem::new(
                "unknown-language",
                version.span,
                format!("this tool does not read version `{}` of the model language", version.text),
                "unknown version",
            )
            .help("it reads version 1: write `language: 1`"),
        );
    }

    /// The title page.
    pub(super) fn system(&mut self) {
        let system = &self.doc.system.value;
        self.model.system = System {
            title: self.words(&system.title, "title"),
            revision: self.words(&system.revision, "revision"),
            standards: self.word_list(system.standards.as_ref(), "standards"),
            scope: self.optional_words(system.scope.as_ref(), "scope"),
            limits_of_use: self.word_list(system.limits_of_use.as_ref(), "limits_of_use"),
        };
    }

    fn word_list(&mut self, list: Option<&List<Words>>, field: &str) -> Vec<String> {
        let mut found = Vec::new();
        for words in list.iter().flat_map(|list| &list.items) {
            found.push(self.words(words, field));
        }
        found
    }

    /// The policy; what it requires is read again by [`Lowering::required_by_policy`].
    pub(super) fn policy(&mut self) {
        let policy: &Policy = &self.doc.policy.value;
        self.part_of_one(policy.usable_fraction.as_ref(), "usable_fraction");
        self.optional_words(policy.usable_fraction_reason.as_ref(), "usable_fraction_reason");
        if let (Some(part), None) = (&policy.usable_fraction, &policy.usable_fraction_reason) {
            self.report(
                Problem::new(
                    "missing-key",
                    part.span,
                    "`usable_fraction` needs its reason",
                    "`usable_fraction_reason` is missing",
                )
                .help("say under `usable_fraction_reason` why that part of the time may be used"),
            );
        }
        for (key, reason) in policy.leaves_out.iter().flat_map(|table| &table.entries) {
            let reason = self.words(reason, "leaves_out");
            if key.broken {
                continue;
            }
            match LeftOut::WORDS.iter().find(|(word, _, _)| *word == key.text) {
                Some((_, kind, _)) => self.model.left_out.push((*kind, reason)),
                None => {
                    let words = LeftOut::WORDS.iter().map(|(word, _, _)| *word);
                    self.unknown_word(&key.text, key.span, "leaves_out", words);
                }
            }
        }
        let of = [
            (Some(&policy.disjoint_paths), "disjoint_paths"),
            (Some(&policy.fault_tolerance), "fault_tolerance"),
            (policy.under_overrides.as_ref(), "under_overrides"),
        ];
        for (count, field) in of {
            self.small(count, field, 0);
        }
    }

    /// A number of faults or paths, from 0 to 9.
    pub(super) fn small(&mut self, count: Option<&Count>, field: &str, absent: u32) -> u32 {
        self.count(count, field, 0, 9).unwrap_or(absent)
    }

    /// What the policy requires; its problems are recorded already.
    pub(super) fn required_by_policy(&self) -> Required {
        let read = |count: Option<&Count>| count.and_then(|count| count.text.parse().ok()).unwrap_or(0);
        let policy = &self.doc.policy.value;
        Required {
            disjoint_paths: read(Some(&policy.disjoint_paths)),
            fault_tolerance: read(Some(&policy.fault_tolerance)),
            under_overrides: read(policy.under_overrides.as_ref()),
        }
    }

    /// Quantities.
    pub(super) fn quantities(&mut self) {
        for (key, quantity) in self.doc.quantities.iter().flat_map(|table| &table.entries) {
            let id = self.model.quantities.next_id();
            let name = self.name(key, quantity.title.as_ref());
            let range = self.range_of_any_kind(&quantity.range);
            let Some(range) = range else {
                self.unsound.insert(Element::Quantity(id));
                let nowhere = Interval { low: Exact::zero(), high: Exact::zero() };
                self.model.quantities.push(Quantity {
                    name,
                    kind: Unit::none().kind(),
                    unit: Unit::none(),
                    range: nowhere,
                    normal: None,
                    rises: None,
                    falls: None,
                    resolution: Exact::int(1),
                    set_points_within: None,
                    designed_for: None,
                });
                continue;
            };
            let (kind, unit) = (range.high.kind(), range.high.unit());
            let range = interval(range);
            let resolution = self.resolution(quantity, &range, kind);
            let normal = quantity.normal.as_ref().and_then(|normal| self.normal_range(normal, kind));
            let rises = self.rate(quantity.rises.as_ref(), kind, (key, Field::Rises));
            let falls = self.rate(quantity.falls.as_ref(), kind, (key, Field::Falls));
            let set_points_within = quantity
                .set_points_within
                .as_ref()
                .and_then(|leaf| self.not_negative(leaf, difference_kind(kind), "`set_points_within`"));
            let designed_for = quantity.designed_for.as_ref().and_then(|leaf| self.range(leaf, kind));
            let designed_for = designed_for.map(interval);
            let normal_at = quantity.normal.as_ref().map(|leaf| leaf.span).unwrap_or_default();
            self.model.quantities.push(Quantity {
                name,
                kind,
                unit,
                range,
                normal: normal.clone(),
                rises,
                falls,
                resolution,
                set_points_within,
                designed_for,
            });
            if let Some(normal) = normal {
                self.within_physical(id, &normal, normal_at);
            }
        }
    }

    /// The declared resolution, or a thousandth of the range.
    fn resolution(
        &mut self,
        quantity: &document::PlantQuantity,
        range: &Interval,
        kind: crate::unit::Kind,
    ) -> Exact {
        let thousandth =
            (&range.high - &range.low).checked_div(&Exact::int(1000)).unwrap_or_else(|| Exact::int(1));
        let Some(leaf) = &quantity.resolution else { return thousandth };
        let Some(value) = self.value_of(leaf, difference_kind(kind)) else { return thousandth };
        if value.value().is_negative() || value.value().is_zero() {
            self.report(
                Problem::new("out-of-range", leaf.span, "`resolution` is above zero", "no step").help(
                    "it is the step in which values are shown; leave it out for a thousandth of the range",
                ),
            );
            return thousandth;
        }
        value.value().clone()
    }

    /// Conditions.
    pub(super) fn conditions(&mut self) {
        for (key, condition) in self.doc.conditions.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, condition.title.as_ref());
            let normal = self.flag(condition.normal.as_ref(), false);
            self.model.conditions.push(Condition { name, normal });
        }
    }

    /// Couplings: `always`, or `if` with `then`.
    pub(super) fn couplings(&mut self) {
        for (key, coupling) in self.doc.couplings.iter().flat_map(|table| &table.entries) {
            let name = self.name(key, None);
            let (holds, text) = self.coupling(key, coupling);
            let owner = self.words(&coupling.owner, "owner");
            self.optional_words(coupling.evidence.as_ref(), "evidence");
            let expires = self.optional_date(coupling.expires.as_ref());
            let holds = holds.unwrap_or(Tree::And(Vec::new()));
            self.model.couplings.push(Coupling { name, holds, text, owner, expires });
        }
    }

    fn coupling(
        &mut self,
        key: &Scalar,
        coupling: &document::Coupling,
    ) -> (Option<Tree<crate::model::PlantAtom>>, String) {
        let always = coupling.always.as_ref().map(|text| (self.predicate(text, "always"), one_line(text)));
        let condition = coupling.condition.as_ref().map(|text| (self.predicate(text, "if"), one_line(text)));
        let then = coupling.then.as_ref().map(|text| (self.predicate(text, "then"), one_line(text)));
        match (always, condition, then) {
            (Some((holds, text)), None, None) => (holds, text),
            (None, Some((condition, if_text)), Some((then, then_text))) => {
                let holds = condition.zip(then).map(|(c, t)| Tree::Or(vec![Tree::Not(Box::new(c)), t]));
                (holds, format!("IF {if_text} THEN {then_text}"))
            }
            (Some(_), _, _) => {
                let span = coupling.always.as_ref().map(|text| text.span).unwrap_or_default();
                self.report(
                    Problem::new(
                        "contradiction",
                        span,
                        format!("`{}` has both `always` and `if` or `then`", key.text),
                        "one form or the other",
                    )
                    .help("keep `always` alone, or `if` with `then`"),
                );
                (None, String::new())
            }
            (None, Some(_), None) => {
                self.missing_key(key, "then", "say what holds where `if` holds");
                (None, String::new())
            }
            (None, None, Some(_)) => {
                self.missing_key(
                    key,
                    "if",
                    "say where `then` holds; what always holds is written under `always`",
                );
                (None, String::new())
            }
            (None, None, None) => {
                self.missing_key(key, "always", "say what always holds, or write `if` and `then`");
                (None, String::new())
            }
        }
    }
}

/// A text as written, with single blanks.
pub(super) fn one_line(text: &Scalar) -> String {
    text.text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The id of the first element of a kind: stands where a reference could not be resolved; the model is discarded.
pub(super) fn nobody<I: Id>() -> I {
    I::from_index(0)
}
