//! Lowers what acts without being driven: passive devices.

use super::Lowering;
use super::calculation::field::Field;
use crate::model::{ActsOn, Element, Passive, PassiveId, PlantAtom, Relation, Tree};
use crate::problem::Problem;
use crate::syntax::document;
use crate::syntax::leaf::Scalar;

impl Lowering<'_> {
    /// Passive devices.
    pub(super) fn passive(&mut self) {
        for (key, item) in self.doc.passive.iter().flat_map(|table| &table.entries) {
            let id: PassiveId = self.model.passive.next_id();
            let positions = self.position_names(key, &item.positions);
            if positions.is_none() {
                self.unsound.insert(Element::Passive(id));
            }
            let positions = positions.unwrap_or_default();
            let rest = self.position_named(&positions, &item.rest, &key.text);
            let passive = Passive {
                name: self.name(key, item.title.as_ref()),
                rest: rest.unwrap_or(0),
                acts: self.acts(key, item, &positions, rest),
                moves_in: self.time_or_unknown(item.moves_in.as_ref(), (key, Field::MovesIn)),
                fails: self.failure_positions(item.fails.as_ref(), &positions, key),
                proof_tested: self.proof_test(item.proof_test.as_ref()),
                parents: self.parents(item.cabinet.as_ref(), item.kind.as_ref(), item.needs.as_ref()),
                positions,
            };
            self.model.passive.push(passive);
        }
    }

    fn acts(
        &mut self,
        key: &Scalar,
        item: &document::Passive,
        positions: &[String],
        rest: Option<usize>,
    ) -> Option<(ActsOn, usize)> {
        let to = item.to.as_ref().and_then(|word| self.position_named(positions, word, &key.text));
        let Some(when) = &item.acts_when else {
            for (leaf, field) in item
                .to
                .iter()
                .map(|t| (t.span, "to"))
                .chain(item.accuracy.iter().map(|a| (a.span, "accuracy")))
            {
                self.needless_key(
                    leaf,
                    field,
                    "it never acts; say under `acts_when` on what it does, or leave this out",
                );
            }
            return None;
        };
        match &item.to {
            None => self.missing_key(key, "to", "name the position that it takes when it acts"),
            Some(word) if to.is_some() && to == rest => self.report(
                Problem::new(
                    "contradiction",
                    word.span,
                    format!("`{}` acts without moving: `{}` is its rest position", key.text, word.text),
                    "where it rests",
                )
                .help("name the position that it takes when it acts")
                .also(item.rest.span, "its rest position"),
            ),
            Some(_) => {}
        }
        let predicate = self.predicate(when, "acts_when")?;
        let acts = self.acts_on(key, item, when, &predicate)?;
        Some((acts, to?))
    }

    fn acts_on(
        &mut self,
        key: &Scalar,
        item: &document::Passive,
        when: &Scalar,
        predicate: &Tree<PlantAtom>,
    ) -> Option<ActsOn> {
        let (atom, negated) = match predicate {
            Tree::Atom(atom) => (atom, false),
            Tree::Not(inner) => match inner.as_ref() {
                Tree::Atom(atom @ PlantAtom::Condition(_)) => (atom, true),
                _ => return self.too_much_for_passive(when),
            },
            _ => return self.too_much_for_passive(when),
        };
        match atom {
            PlantAtom::Condition(condition) => {
                if let Some(accuracy) = &item.accuracy {
                    self.needless_key(
                        accuracy.span,
                        "accuracy",
                        "it acts on a condition, which has no accuracy",
                    );
                }
                Some(ActsOn::Condition { condition: *condition, negated })
            }
            PlantAtom::Linear { sum, relation, bound } => {
                let [(coefficient, quantity)] = sum.as_slice() else {
                    return self.too_much_for_passive(when);
                };
                if matches!(relation, Relation::Equal | Relation::Differs) {
                    return self.too_much_for_passive(when);
                }
                let Some(accuracy) = &item.accuracy else {
                    self.missing_key(
                        key,
                        "accuracy",
                        "state the tolerance of the value at which it acts, with its unit",
                    );
                    return None;
                };
                let relation = if coefficient.is_negative() { relation.mirrored() } else { *relation };
                let bound = bound.checked_div(coefficient)?;
                let accuracy = self.difference_of(accuracy, *quantity, "accuracy")?;
                Some(ActsOn::Quantity { quantity: *quantity, relation, bound, accuracy })
            }
            PlantAtom::Mode(_) => self.too_much_for_passive(when),
        }
    }

    fn too_much_for_passive(&mut self, when: &Scalar) -> Option<ActsOn> {
        self.report(
            Problem::new(
                "too-much-for-a-passive-device",
                when.span,
                "a passive device acts on one comparison of one quantity, or on one condition",
                "more than one comparison or condition",
            )
            .help("write for example `pressure >= 6 bar`, with one of `>=`, `>`, `<=`, `<`, or the name of a condition"),
        );
        None
    }
}
