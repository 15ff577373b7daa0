//! Lowers calculated values: in which order they are worked out, and what is made of each.
//!
//! `formula` reads the numbers of each formula and asks `physics`, `field` says which fields take a result and on which
//! side, `taken` puts the result into a field. Nothing is calculated here.

pub(super) mod field;
mod formula;
mod room;
mod sheet;
mod taken;

use std::collections::{BTreeMap, BTreeSet};

use super::Lowering;
use super::whole::chain;
use crate::graph::{cycles, longest_ways, ring};
use crate::model::{Calculation, Taken};
use crate::problem::Problem;
use crate::source::{Scalar, Span};
use crate::syntax::document;
use crate::syntax::kind::{Figure, Value};
use crate::unit::{Kind, Quantity};

/// Calculated values while the model is built.
#[derive(Default)]
pub(super) struct Sheets {
    /// By the number of the declaration; absent where it went wrong.
    done: BTreeMap<usize, Calculation>,
    /// The fields that take each, with their places.
    taken: BTreeMap<usize, Vec<(Span, Taken)>>,
    /// Those that a field was to take and cannot, which is told: they are not unused as well.
    tried: BTreeSet<usize>,
}

/// One of the formulas as written.
#[derive(Clone, Copy)]
enum Block<'d> {
    TimeAtRate(&'d document::TimeAtRate),
    Ramp(&'d document::Ramp),
    Discharge(&'d document::Discharge),
    Room(&'d document::VentilatedRoom),
    PipeFilling(&'d document::PipeFilling),
    Stopping(&'d document::Stopping),
    Approach(&'d document::Approach),
    Endurance(&'d document::Endurance),
}

impl<'d> Block<'d> {
    /// Every number that is put in.
    fn figures(self) -> Vec<&'d Figure> {
        match self {
            Block::TimeAtRate(b) => vec![&b.from, &b.to, &b.rate],
            Block::Ramp(b) => {
                let capacities = b.heat_capacities.entries.iter().map(|(_, figure)| figure);
                [&b.power].into_iter().chain(capacities).collect()
            }
            Block::Discharge(b) => vec![&b.voltage, &b.to, &b.capacitance, &b.resistance],
            Block::Room(b) => {
                let optional = [&b.exhaust, &b.start, &b.lower_flammable_limit, &b.after, &b.until];
                [&b.volume, &b.source].into_iter().chain(optional.into_iter().flatten()).collect()
            }
            Block::PipeFilling(b) => {
                let optional = [&b.volume, &b.inner_diameter, &b.length];
                [&b.flow].into_iter().chain(optional.into_iter().flatten()).collect()
            }
            Block::Stopping(b) => vec![&b.speed, &b.reaction, &b.deceleration],
            Block::Approach(b) => {
                let all = [&b.detection_capability, &b.speed, &b.intrusion, &b.distance, &b.time];
                all.into_iter().flatten().collect()
            }
            Block::Endurance(b) => vec![&b.holds, &b.draws],
        }
    }
}

/// The formulas of a calculation with their keys and places.
fn blocks(item: &document::Calculation) -> Vec<(&'static str, Block<'_>, Span)> {
    let mut found = Vec::new();
    macro_rules! look {
        ($($field:ident: $block:ident;)*) => {$(
            if let Some(at) = &item.$field {
                found.push((stringify!($field), Block::$block(&at.value), at.span));
            }
        )*};
    }
    look! {
        time_at_rate: TimeAtRate;
        ramp: Ramp;
        discharge: Discharge;
        ventilated_room: Room;
        pipe_filling: PipeFilling;
        stopping: Stopping;
        approach: Approach;
        endurance: Endurance;
    }
    found
}

/// The tag behind `from`, with its place; `None` where a value is written.
pub(super) fn tag_behind_from(leaf: &Scalar) -> Option<Scalar> {
    let rest = leaf.text.trim_start().strip_prefix("from")?;
    if leaf.broken || !(rest.is_empty() || rest.starts_with(char::is_whitespace)) {
        return None;
    }
    let tag = rest.trim();
    let start = leaf.text.len() - rest.trim_start().len();
    let span = leaf.part(start, start + tag.len());
    Some(Scalar { text: tag.to_string(), span, quoted: false, broken: false })
}

impl Lowering<'_> {
    /// Works out every calculated value, each after those that go into it.
    pub(super) fn calculations(&mut self) {
        let entries = self.doc.calculations.as_ref().map_or(&[][..], |table| &table.entries);
        let edges = self.edges(entries);
        self.calculation_rings(entries, &edges);
        let ways = longest_ways(entries.len(), &edges);
        let mut order: Vec<(usize, usize)> =
            ways.iter().enumerate().filter_map(|(number, way)| way.map(|way| (way, number))).collect();
        order.sort_unstable();
        for (_, number) in order {
            let Some((key, item)) = entries.get(number) else { continue };
            if let Some(done) = self.calculation(key, item) {
                self.sheets.done.insert(number, done);
            }
        }
        for (from, to) in edges {
            let tag = entries.get(from).map(|(key, _)| key.text.clone());
            if let (Some(tag), Some(done)) = (tag, self.sheets.done.get_mut(&to)) {
                done.goes_into.push(tag);
                done.goes_into.dedup();
            }
        }
    }

    /// From each calculation to those that go into it.
    fn edges(&self, entries: &[(Scalar, document::Calculation)]) -> Vec<(usize, usize)> {
        let mut edges = Vec::new();
        for (number, (_, item)) in entries.iter().enumerate() {
            let figures = blocks(item).into_iter().flat_map(|(_, block, _)| block.figures());
            for tag in figures.filter_map(|figure| tag_behind_from(figure)) {
                edges.extend(self.calculation_named(&tag.text).map(|other| (number, other)));
            }
        }
        edges
    }

    fn calculation_rings(&mut self, entries: &[(Scalar, document::Calculation)], edges: &[(usize, usize)]) {
        for found in cycles(entries.len(), edges) {
            let path = ring(&found, edges);
            let keys: Vec<&Scalar> =
                path.iter().filter_map(|n| entries.get(*n)).map(|(key, _)| key).collect();
            let tags: Vec<&str> = keys.iter().map(|key| key.text.as_str()).collect();
            let message = format!("these calculations need each other in a ring: {}", chain(&tags));
            let help = "a calculation begins with values that are written: write one of them out";
            let places = keys.iter().map(|key| key.span).collect();
            self.ring_problem("ring-of-calculations", places, message, help);
        }
    }

    fn calculation(&mut self, key: &Scalar, item: &document::Calculation) -> Option<Calculation> {
        let name = self.name(key, Some(&item.title));
        let owner = self.words(&item.owner, "owner");
        let evidence = self.optional_words(item.evidence.as_ref(), "evidence");
        let used_for = self.optional_words(item.used_for.as_ref(), "used_for");
        let worked = self.one_block(key, item).and_then(|(word, block)| self.worked(key, word, block));
        let (formula, result) = worked?;
        let taken_as = item.taken_as.as_ref().map(|leaf| self.taken_as(leaf, result.low.kind()));
        // A wrong one counts as the whole calculation being wrong: what takes it stays silent.
        let taken_as = match taken_as {
            Some(None) => return None,
            Some(taken) => taken,
            None => None,
        };
        let result = match &taken_as {
            Some(taken) => crate::model::Calculated {
                low: Quantity::from_base(result.low.value().clone(), taken.unit()),
                high: Quantity::from_base(result.high.value().clone(), taken.unit()),
            },
            None => result,
        };
        let (taken_by, goes_into) = (Vec::new(), Vec::new());
        Some(Calculation { name, owner, evidence, used_for, formula, result, taken_as, taken_by, goes_into })
    }

    fn taken_as(&mut self, leaf: &Value, kind: Kind) -> Option<Quantity> {
        let quantity = self.value_of(leaf, kind)?;
        if quantity.value().is_negative() {
            let message = format!("`taken_as` is not negative: `{quantity}`");
            let problem = Problem::new("negative", leaf.span, message, "below zero");
            self.report(problem.help("write the rounded result, without a sign"));
            return None;
        }
        Some(quantity)
    }

    /// The one formula of a calculation.
    fn one_block<'d>(
        &mut self,
        key: &Scalar,
        item: &'d document::Calculation,
    ) -> Option<(&'static str, Block<'d>)> {
        let found = blocks(item);
        match found.as_slice() {
            [(word, block, _)] => Some((word, *block)),
            [] => {
                if !key.broken {
                    let message = format!("`{}` has no formula", key.text);
                    let problem = Problem::new("no-formula", key.span, message, "what is calculated?");
                    self.report(problem.help(
                        "add one of `time_at_rate`, `ramp`, `discharge`, `ventilated_room`, `pipe_filling`, `stopping`, `approach` or `endurance`",
                    ));
                }
                None
            }
            [(first, _, at), (second, _, span), ..] => {
                let message = format!("`{}` has two formulas, `{first}` and `{second}`", key.text);
                let problem = Problem::new("two-formulas", *span, message, "a second formula");
                self.report(
                    problem
                        .help("a calculation has one formula: make two calculations of it")
                        .also(*at, "the first formula"),
                );
                None
            }
        }
    }

    /// Moves the calculated values into the model, each with the fields that take it; those that nothing takes are told.
    pub(super) fn finish_calculations(&mut self) {
        let sheets = std::mem::take(&mut self.sheets);
        let mut taken = sheets.taken;
        for (number, mut done) in sheets.done {
            let mut fields = taken.remove(&number).unwrap_or_default();
            fields.sort_by_key(|(span, _)| *span);
            done.taken_by = fields.into_iter().map(|(_, taken)| taken).collect();
            if done.taken_by.is_empty() && !sheets.tried.contains(&number) {
                self.taken_by_nothing(number, &done);
            }
            self.model.calculations.push(done);
        }
    }

    /// A calculation that no field takes goes into another, or says what it is for; its rounded value means nothing.
    fn taken_by_nothing(&mut self, number: usize, done: &Calculation) {
        if done.goes_into.is_empty() && done.used_for.is_none() {
            let message = format!("nothing takes the calculated value `{}`", done.name.tag);
            let problem = Problem::new("unused-calculation", done.name.span, message, "not used");
            self.report(problem.help(format!(
                "write `from {}` in place of the value that it gives, or say under `used_for` what it is for",
                done.name.tag
            )));
            return;
        }
        let entry = self.doc.calculations.as_ref().and_then(|table| table.entries.get(number));
        if let Some(leaf) = entry.and_then(|(_, item)| item.taken_as.as_ref()) {
            self.needless_key(
                leaf.span,
                "taken_as",
                "no field takes this value, and another calculation takes the result itself",
            );
        }
    }
}
