//! Lowers releases of fire suppression.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use super::Lowering;
use super::calculation::field::{Field, Of};
use super::tag::Class;
use crate::model::{ActuatorId, Amount, CauseId, Id, Source, SpaceId, Suppression, SuppressionId};
use crate::problem::Problem;
use crate::source::Span;
use crate::syntax::document;
use crate::syntax::kind::ValueOrUnknown;
use crate::syntax::leaf::{Scalar, Table};
use crate::unit::{Kind, Quantity};

impl Lowering<'_> {
    /// Suppression releases.
    pub(super) fn suppression(&mut self) {
        for (key, item) in self.doc.suppression.iter().flat_map(|table| &table.entries) {
            let discharges = self.positions(Some(&item.discharges), "discharges", &[Class::Actuator]);
            if item.discharges.items.is_empty() {
                let message = format!("`{}` discharges nothing", key.text);
                let help = "name the positions that discharge it, `[WV-1 = open]`, or leave the release out";
                self.empty(item.discharges.span, message, help);
            }
            let demand = item.demand.as_ref().and_then(|leaf| self.amount(leaf, None, (key, Field::Demand)));
            let capacity = self.capacity(key, item, demand.as_ref());
            let spare = self.spare(item);
            let suppression = Suppression {
                name: self.name(key, item.title.as_ref()),
                released_by: self.ids::<CauseId>(Some(&item.released_by), &[Class::Cause], "released_by"),
                discharges: self.consistent(discharges),
                into: self.ids::<SpaceId>(item.into.as_ref(), &[Class::Space], "into"),
                coincidence: self.count(item.coincidence.as_ref(), "coincidence", 1, 99).unwrap_or(1),
                warning: self.time_or_zero(item.warning.as_ref(), (key, Field::Warning)),
                warned_by: self.ids::<ActuatorId>(item.warned_by.as_ref(), &[Class::Actuator], "warned_by"),
                hold: self.optional_words(item.hold.as_ref(), "hold"),
                hold_limit: self.time(item.hold_limit.as_ref(), (key, Field::HoldLimit)),
                capacity,
                spare,
                demand,
            };
            self.model.suppression.push(suppression);
        }
        self.same_capacity_everywhere();
        self.same_machines_where_spare();
    }

    fn spare(&mut self, item: &document::Suppression) -> Option<u32> {
        let spare = item.spare.as_ref()?;
        match item.capacity.as_ref().map_or(0, |table| table.entries.len()) {
            0 => {
                let problem = Problem::new(
                    "contradiction",
                    spare.span,
                    "`spare` counts machines under `capacity`, and there are none",
                    "spare of what?",
                );
                self.report(problem.help("list the machines with what each can give under `capacity`"));
                None
            }
            // One at least must be left to carry anything.
            machines => {
                let most = u32::try_from(machines - 1).unwrap_or(u32::MAX);
                self.count(Some(spare), "spare", 0, most)
            }
        }
    }

    fn capacity(
        &mut self,
        release: &Scalar,
        item: &document::Suppression,
        demand: Option<&Amount>,
    ) -> Vec<(Source, Amount)> {
        let kind = match demand {
            Some(Amount::Known(demand)) => Some(demand.kind()),
            Some(Amount::Unknown) | None => None,
        };
        let mut found = Vec::new();
        for (key, leaf) in item.capacity.iter().flat_map(|table| &table.entries) {
            let declared = self.find(key, &[Class::Actuator, Class::Machine], "capacity");
            let amount = self.amount(leaf, kind, (release, Field::Capacity));
            let (Some(declared), Some(amount)) = (declared, amount) else { continue };
            let machine = match declared.class {
                Class::Machine => Source::Shared(Id::from_index(declared.index)),
                _ => Source::Actuator(Id::from_index(declared.index)),
            };
            found.push((machine, amount));
        }
        found
    }

    /// An amount of a kind, or of whatever kind its unit says; `None` where it is wrong.
    fn amount(&mut self, leaf: &Scalar, kind: Option<Kind>, of: Of) -> Option<Amount> {
        if leaf.text.trim() == "unknown" && !leaf.broken {
            return Some(Amount::Unknown);
        }
        let quantity = self.figure(leaf, kind, of)?;
        let field = of.1.name();
        if quantity.value().is_negative() {
            let message = format!("`{field}` is not negative: `{quantity}`");
            let positive = Quantity::from_base(quantity.value().abs(), quantity.unit());
            let problem = Problem::new("negative", leaf.span, message, "below zero");
            self.report(problem.help(format!("write it without the sign: `{positive}`")));
            return None;
        }
        Some(Amount::Known(quantity))
    }

    /// A machine can give what it can give: two releases that say otherwise contradict each other.
    fn same_capacity_everywhere(&mut self) {
        let releases: Vec<(SuppressionId, Suppression)> =
            self.model.suppression.iter().map(|(id, release)| (id, release.clone())).collect();
        for (number, (id, release)) in releases.iter().enumerate() {
            for (machine, amount) in &release.capacity {
                let Amount::Known(here) = amount else { continue };
                let before = releases.iter().take(number).find_map(|(_, other)| {
                    let said = other.capacity.iter().find(|(same, _)| same == machine);
                    match said {
                        Some((_, Amount::Known(there))) if there.compare(here) != Some(Ordering::Equal) => {
                            Some((other.name.tag.clone(), there.clone()))
                        }
                        _ => None,
                    }
                });
                let Some((other, there)) = before else { continue };
                let tag = self.model.source_tag(*machine);
                let message =
                    format!("{tag} gives {here} here and {there} in {other}; it is one and the same machine");
                let problem = Problem::new(
                    "contradiction",
                    self.capacity_span(*id, &tag),
                    message,
                    "not what stands elsewhere",
                );
                self.report(problem.help(format!("write the capacity of {tag} alike in every release")));
            }
        }
    }

    /// Machines that stand in for each other do so for every zone that draws on one of them.
    fn same_machines_where_spare(&mut self) {
        let releases: Vec<(SuppressionId, Suppression)> =
            self.model.suppression.iter().map(|(id, release)| (id, release.clone())).collect();
        let machines = |release: &Suppression| -> BTreeSet<Source> {
            release.capacity.iter().map(|(m, _)| *m).collect()
        };
        for (number, (id, release)) in releases.iter().enumerate() {
            let mine = machines(release);
            let differs = releases.iter().take(number).find(|(_, other)| {
                let theirs = machines(other);
                let either = release.spare.is_some() || other.spare.is_some();
                either && !mine.is_disjoint(&theirs) && (mine != theirs || release.spare != other.spare)
            });
            let Some((_, other)) = differs else { continue };
            let (tag, other) = (release.name.tag.clone(), other.name.tag.clone());
            let message = format!(
                "{tag} and {other} draw on the same machine, and do not say alike which machines stand in for each other"
            );
            let span = self.capacity_table(*id).map_or(release.name.span, |table| table.span);
            let problem = Problem::new("contradiction", span, message, "not as elsewhere");
            self.report(
                problem
                    .help("list the same machines under `capacity`, and the same `spare`, in both releases"),
            );
        }
    }

    fn capacity_table(&self, id: SuppressionId) -> Option<&Table<ValueOrUnknown>> {
        let releases = self.doc.suppression.as_ref()?;
        releases.entries.get(id.index()).and_then(|(_, item)| item.capacity.as_ref())
    }

    /// Where a release says what a machine gives.
    fn capacity_span(&self, id: SuppressionId, machine: &str) -> Span {
        let entries = self.capacity_table(id).into_iter().flat_map(|table| &table.entries);
        let found = entries.filter(|(key, _)| key.text == machine).map(|(_, leaf)| leaf.span).next();
        found.unwrap_or_default()
    }
}
