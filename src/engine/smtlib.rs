//! A question as SMT-LIB 2 text, for whoever wants to ask a solver of their own.
//!
//! Exact: numbers are whole numbers and fractions. Deterministic: what is used is declared in the order of its names, and
//! terms that are used more than once are defined before they are used. Names come from the caller, who knows the plant.

use std::collections::{BTreeMap, BTreeSet};

use crate::exact::Exact;
use crate::situation::NumberChoice;
use crate::term::{Linear, Term, TermId, Terms, Var};

/// Names of what a question speaks of.
pub trait Names {
    /// The name of a variable; the same for no two.
    fn var(&self, var: Var) -> String;
    /// The name of a number; the same for no two.
    fn number(&self, number: NumberChoice) -> String;
}

/// The text of the question whether all of `asserted` hold together.
pub fn text(terms: &Terms, asserted: &[TermId], names: &dyn Names) -> String {
    let mut writer =
        Writer { terms, names, uses: BTreeMap::new(), vars: BTreeSet::new(), numbers: BTreeSet::new() };
    asserted.iter().for_each(|id| writer.count(*id));
    let mut all = String::from("(set-logic ALL)\n");
    let mut declared: Vec<(String, &str)> =
        writer.vars.iter().map(|var| (symbol(&names.var(*var)), "Bool")).collect();
    declared.extend(writer.numbers.iter().map(|number| (symbol(&names.number(*number)), "Real")));
    declared.sort();
    for (name, kind) in declared {
        all.push_str(&format!("(declare-const {name} {kind})\n"));
    }
    // The parts of a term have smaller numbers than the term.
    for (id, uses) in &writer.uses {
        if *uses > 1 && writer.is_compound(*id) {
            all.push_str(&format!("(define-fun t{} () Bool {})\n", id.index(), writer.whole(*id)));
        }
    }
    for id in asserted {
        all.push_str(&format!("(assert {})\n", writer.used(*id)));
    }
    all + "(check-sat)\n"
}

/// A name between bars, without what may not stand there.
fn symbol(name: &str) -> String {
    format!("|{}|", name.replace(['|', '\\'], "/"))
}

fn numeral(value: &Exact) -> String {
    let (top, bottom) = value.abs().fraction_text();
    let size = if bottom == "1" { format!("{top}.0") } else { format!("(/ {top}.0 {bottom}.0)") };
    if value.is_negative() { format!("(- {size})") } else { size }
}

struct Writer<'a> {
    terms: &'a Terms,
    names: &'a dyn Names,
    uses: BTreeMap<TermId, usize>,
    vars: BTreeSet<Var>,
    numbers: BTreeSet<NumberChoice>,
}

impl Writer<'_> {
    fn count(&mut self, id: TermId) {
        let uses = self.uses.entry(id).or_default();
        *uses += 1;
        if *uses > 1 {
            return;
        }
        let terms = self.terms;
        match terms.get(id) {
            Term::Constant(_) => {}
            Term::Var(var) => {
                self.vars.insert(*var);
            }
            Term::Linear(linear) => self.numbers.extend(linear.sum.iter().map(|(_, number)| *number)),
            Term::Not(part) => self.count(*part),
            Term::And(parts) | Term::Or(parts) | Term::AtLeast(_, parts) => {
                parts.iter().for_each(|part| self.count(*part));
            }
        }
    }

    fn is_compound(&self, id: TermId) -> bool {
        match self.terms.get(id) {
            Term::And(_) | Term::Or(_) | Term::AtLeast(..) | Term::Linear(_) => true,
            Term::Constant(_) | Term::Var(_) | Term::Not(_) => false,
        }
    }

    /// A term where it is used: by its name, if it has one.
    fn used(&self, id: TermId) -> String {
        match self.uses.get(&id) {
            Some(uses) if *uses > 1 && self.is_compound(id) => format!("t{}", id.index()),
            _ => self.whole(id),
        }
    }

    fn whole(&self, id: TermId) -> String {
        match self.terms.get(id) {
            Term::Constant(value) => value.to_string(),
            Term::Var(var) => symbol(&self.names.var(*var)),
            Term::Not(part) => format!("(not {})", self.used(*part)),
            Term::And(parts) => self.many("and", parts),
            Term::Or(parts) => self.many("or", parts),
            Term::AtLeast(count, parts) => {
                let parts: Vec<String> =
                    parts.iter().map(|part| format!("(ite {} 1 0)", self.used(*part))).collect();
                format!("(>= (+ {}) {count})", parts.join(" "))
            }
            Term::Linear(linear) => self.linear(linear),
        }
    }

    fn many(&self, word: &str, parts: &[TermId]) -> String {
        let parts: Vec<String> = parts.iter().map(|part| self.used(*part)).collect();
        format!("({word} {})", parts.join(" "))
    }

    fn linear(&self, linear: &Linear) -> String {
        let one = Exact::int(1);
        let parts: Vec<String> = linear
            .sum
            .iter()
            .map(|(factor, number)| {
                let name = symbol(&self.names.number(*number));
                if *factor == one { name } else { format!("(* {} {name})", numeral(factor)) }
            })
            .collect();
        let sum = if parts.len() == 1 { parts.concat() } else { format!("(+ {})", parts.join(" ")) };
        format!("({} {sum} {})", if linear.inclusive { ">=" } else { ">" }, numeral(&linear.bound))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;
    use crate::model::{ConditionId, Id, QuantityId, Relation};
    use crate::situation::FactChoice;

    struct Plain;

    impl Names for Plain {
        fn var(&self, var: Var) -> String {
            match var {
                Var::Fact(FactChoice::Condition(id)) => format!("c{}", id.index()),
                other => format!("{other:?}"),
            }
        }

        fn number(&self, number: NumberChoice) -> String {
            match number {
                NumberChoice::Quantity(id) => format!("q{}", id.index()),
                other => format!("{other:?}"),
            }
        }
    }

    #[test]
    fn a_question_is_written_whole_exact_and_with_shared_terms_once() {
        let mut terms = Terms::default();
        let [a, b, c] = [0, 1, 2].map(|n| terms.fact(FactChoice::Condition(ConditionId::from_index(n))));
        let q = NumberChoice::Quantity(QuantityId::from_index(0));
        let r = NumberChoice::Quantity(QuantityId::from_index(1));
        let third = Exact::ratio(-1, 3).unwrap();
        let atom = terms.compare(&[(Exact::int(1), q), (third, r)], Relation::Above, &Exact::int(-2));
        let both = terms.both(a, b);
        let vote = terms.at_least(2, [a, b, c]);
        let not = terms.not(both);
        let either = terms.either(both, atom);
        let text = text(&terms, &[either, vote, not], &Plain);
        let expected = "\
(set-logic ALL)
(declare-const |c0| Bool)
(declare-const |c1| Bool)
(declare-const |c2| Bool)
(declare-const |q0| Real)
(declare-const |q1| Real)
(define-fun t6 () Bool (and |c0| |c1|))
(assert (or t6 (> (+ |q0| (* (- (/ 1.0 3.0)) |q1|)) (- 2.0))))
(assert (>= (+ (ite |c0| 1 0) (ite |c1| 1 0) (ite |c2| 1 0)) 2))
(assert (not t6))
(check-sat)
";
        let order = |text: &str| {
            text.replace(
                "(or (> (+ |q0| (* (- (/ 1.0 3.0)) |q1|)) (- 2.0)) t6)",
                "(or t6 (> (+ |q0| (* (- (/ 1.0 3.0)) |q1|)) (- 2.0)))",
            )
        };
        assert_eq!(order(&text), expected);
    }
}
