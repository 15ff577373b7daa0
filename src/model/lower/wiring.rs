//! Reads how things are joined: the feeds of a supply, the wiring of an actuator's drivers, and the range as which a
//! solver scales the signal of a sensor.

use super::Lowering;
use super::expression::{Allowed, word};
use super::tag::{Class, listed};
use crate::exact::Exact;
use crate::model::{DriverId, Element, Interval, QuantityId, SolverId, SupplyId, Tree};
use crate::problem::{Problem, nearest};
use crate::syntax::document;
use crate::syntax::expr::{Expr, ExprKind};
use crate::syntax::leaf::Scalar;
use crate::unit::Quantity;

const FEEDS: Allowed =
    Allowed { not: Err("a supply is fed by what is there: join its feeds with AND and OR"), votes: Ok(()) };
const WIRING: Allowed = Allowed {
    not: Err("drivers are wired in series (AND) and in parallel (OR); nothing is inverted between them"),
    votes: Err("drivers are wired in series (AND) and in parallel (OR): write the vote out with them"),
};

impl Lowering<'_> {
    /// What feeds a supply.
    pub(super) fn feeds(&mut self, leaf: &Scalar) -> Option<Tree<SupplyId>> {
        let expr = self.parsed(leaf)?;
        self.tree(&expr, FEEDS, &mut |this, part| {
            let ExprKind::Name(tag) = &part.kind else {
                this.only_names(part, "`fed_by` joins supplies", "write for example `A OR B`");
                return None;
            };
            this.id::<SupplyId>(&word(tag), &[Class::Supply], "fed_by").map(Tree::Atom)
        })
    }

    fn only_names(&mut self, part: &Expr, message: &str, help: &str) {
        self.incomplete(part.span, message.into(), help.into());
    }

    /// How the drivers of an actuator are wired. `solvers` and `drivers` are in the same order.
    pub(super) fn wiring(
        &mut self,
        key: &Scalar,
        item: &document::Actuator,
        solvers: &[(SolverId, String)],
        drivers: &[DriverId],
    ) -> Option<Tree<DriverId>> {
        let complete = item.drivers.as_ref().map_or(0, |list| list.items.len()) == solvers.len();
        if !complete {
            self.loose.insert(Element::Actuator(self.model.actuators.next_id()));
        }
        let all = || drivers.iter().copied().map(Tree::Atom).collect::<Vec<_>>();
        let Some(leaf) = &item.wiring else {
            return match drivers {
                [] => None,
                [only] => Some(Tree::Atom(*only)),
                _ => {
                    let help = "say `series` (the energised position needs all drivers), `parallel` (any), \
                                or join them with AND and OR";
                    self.missing_key(key, "wiring", help);
                    None
                }
            };
        };
        if leaf.broken || !complete {
            return None;
        }
        if drivers.is_empty() {
            self.needless_key(leaf.span, "wiring", "no driver is declared");
            return None;
        }
        match (leaf.text.trim(), drivers) {
            ("series" | "parallel", [only]) => Some(Tree::Atom(*only)),
            ("series", _) => Some(Tree::And(all())),
            ("parallel", _) => Some(Tree::Or(all())),
            _ => self.wiring_expression(leaf, solvers, drivers),
        }
    }

    fn wiring_expression(
        &mut self,
        leaf: &Scalar,
        solvers: &[(SolverId, String)],
        drivers: &[DriverId],
    ) -> Option<Tree<DriverId>> {
        let expr = self.parsed(leaf)?;
        let tree = self.tree(&expr, WIRING, &mut |this, part| {
            let ExprKind::Name(tag) = &part.kind else {
                this.only_names(
                    part,
                    "`wiring` joins drivers",
                    "write `series`, `parallel`, or for example `A AND (B OR C)`",
                );
                return None;
            };
            let found = solvers.iter().zip(drivers).find(|((_, name), _)| *name == tag.text);
            match found {
                Some((_, driver)) => Some(Tree::Atom(*driver)),
                None => {
                    this.not_a_driver(&word(tag), solvers);
                    None
                }
            }
        })?;
        let used = tree.atoms();
        let forgotten: Vec<&str> = solvers
            .iter()
            .zip(drivers)
            .filter(|(_, driver)| !used.contains(driver))
            .map(|((_, name), _)| name.as_str())
            .collect();
        if forgotten.is_empty() {
            return Some(tree);
        }
        self.report(
            Problem::new(
                "forgotten-driver",
                leaf.span,
                format!("`wiring` does not say where {} stands", listed(forgotten)),
                "a driver is missing",
            )
            .help("every driver stands in the wiring"),
        );
        None
    }

    fn not_a_driver(&mut self, leaf: &Scalar, solvers: &[(SolverId, String)]) {
        let names = || solvers.iter().map(|(_, name)| name.as_str());
        if !self.tags.contains_key(&leaf.text) {
            let help = match nearest(&leaf.text, names().chain(["series", "parallel"])) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("its drivers are {}", listed(names())),
            };
            let message = format!("no logic solver has the tag `{}`", leaf.text);
            self.report(Problem::new("unknown-tag", leaf.span, message, "unknown tag").help(help));
            return;
        }
        if let Some(declared) = self.find(leaf, &[Class::Solver], "wiring") {
            self.report(
                Problem::new(
                    "not-a-driver",
                    leaf.span,
                    format!("`{}` is not among the drivers", leaf.text),
                    "not a driver",
                )
                .help(format!("add it to `drivers`; they are {}", listed(names())))
                .also(declared.span, "the logic solver"),
            );
        }
    }

    /// A solver that scales the signal otherwise than the instrument gives it reads every value wrongly.
    pub(super) fn scaled_alike(&mut self, sensor: &document::Sensor, quantity: QuantityId, range: &Interval) {
        for (key, wiring) in sensor.wiring.iter().flat_map(|table| &table.entries) {
            let Some(leaf) = &wiring.range else { continue };
            let Some(scaled) = self.range_of(leaf, quantity).filter(|scaled| scaled != range) else {
                continue;
            };
            let written = sensor.range.as_ref();
            let text = written.map_or("", |leaf| leaf.text.as_str());
            let unit = self.model.quantities[quantity].unit;
            let show = |end: &Exact| Quantity::from_base(end.clone(), unit).to_string();
            let problem = Problem::new(
                "contradiction",
                leaf.span,
                format!(
                    "`{}` scales the signal from {} to {}, and the instrument gives it from {} to {}",
                    key.text,
                    show(&scaled.low),
                    show(&scaled.high),
                    show(&range.low),
                    show(&range.high)
                ),
                "not the range of the instrument",
            )
            .help(format!("scale the input of `{}` as the instrument is ranged, `{text}`, or correct the one that is written wrongly", key.text))
            .also(written.map(|leaf| leaf.span).unwrap_or_default(), "the range of the instrument");
            self.report(problem);
        }
    }
}
