//! Notes where fields stand in the file, for findings that point at a field and not at a whole element.
//!
//! Only fields that some finding points at are noted. What they say is lowered elsewhere.

use super::Lowering;
use crate::source::Span;
use crate::syntax::kind::{Choice, OnBad, OnLoss};
use crate::syntax::leaf::Scalar;

impl Lowering<'_> {
    /// Notes the fields of the document.
    pub(super) fn written(&mut self) {
        let doc = self.doc;
        for (key, item) in doc.couplings.iter().flat_map(|table| &table.entries) {
            self.stands(key, "evidence", item.evidence.as_ref().map(|leaf| leaf.span));
            self.stands(key, "expires", item.expires.as_ref().map(|leaf| leaf.span));
        }
        for (key, item) in doc.quantities.iter().flat_map(|table| &table.entries) {
            self.stands(key, "set_points_within", item.set_points_within.as_ref().map(|leaf| leaf.span));
            self.stands(key, "designed_for", item.designed_for.as_ref().map(|leaf| leaf.span));
            self.stands(key, "normal", item.normal.as_ref().map(|leaf| leaf.span));
        }
        for (key, item) in &doc.logic_solvers.entries {
            self.stands(key, "reaction", item.reaction.as_ref().map(|leaf| leaf.span));
        }
        for (key, item) in doc.sensors.iter().flat_map(|table| &table.entries) {
            self.losses(key, item.on_loss.as_ref(), item.on_bad.as_ref());
        }
        for (key, item) in doc.loops.iter().flat_map(|table| &table.entries) {
            self.losses(key, item.on_loss.as_ref(), item.on_bad.as_ref());
        }
        let stops = doc.stops.iter().flat_map(|table| &table.entries);
        for (key, item) in stops.flat_map(|(_, stop)| &stop.contacts.entries) {
            self.losses(key, item.on_loss.as_ref(), item.on_bad.as_ref());
        }
        for (key, item) in doc.actuators.iter().flat_map(|table| &table.entries) {
            self.stands(key, "line", item.line.as_ref().map(|choice| choice.word.span));
            self.stands(key, "supply", item.supply.as_ref().map(|leaf| leaf.span));
        }
        for (key, item) in doc.suppression.iter().flat_map(|table| &table.entries) {
            self.stands(key, "warning", item.warning.as_ref().map(|leaf| leaf.span));
            self.stands(key, "into", item.into.as_ref().map(|list| list.span));
            self.stands(key, "warned_by", item.warned_by.as_ref().map(|list| list.span));
            self.stands(key, "capacity", item.capacity.as_ref().map(|table| table.span));
        }
        for (key, item) in doc.overrides.iter().flat_map(|table| &table.entries) {
            self.stands(key, "inputs", Some(item.inputs.span));
            self.stands(key, "modes", item.modes.as_ref().map(|table| table.span));
            self.stands(key, "time_limit", item.time_limit.as_ref().map(|leaf| leaf.span));
        }
        for (key, item) in &doc.causes.entries {
            self.stands(key, "purpose", item.purpose.as_ref().map(|choice| choice.word.span));
            self.stands(key, "demands", Some(item.demands.span));
            self.stands(key, "person_needs", item.person_needs.as_ref().map(|leaf| leaf.span));
            self.stands(key, "on_delay", item.on_delay.as_ref().map(|leaf| leaf.span));
            self.stands(key, "degraded_vote", item.degraded_vote.as_ref().map(|list| list.span));
        }
        for (key, item) in &doc.hazards.entries {
            self.stands(
                key,
                "harm_after_set_point",
                item.harm_after_set_point.as_ref().map(|leaf| leaf.span),
            );
            self.stands(key, "lasts", item.lasts.as_ref().map(|leaf| leaf.span));
        }
        for (key, item) in doc.fault_exclusions.iter().flat_map(|table| &table.entries) {
            self.stands(key, "expires", Some(item.expires.span));
        }
        for (key, item) in doc.assumptions.iter().flat_map(|table| &table.entries) {
            self.stands(key, "expires", item.expires.as_ref().map(|leaf| leaf.span));
        }
        for (key, item) in doc.accepted.iter().flat_map(|table| &table.entries) {
            self.stands(key, "expires", Some(item.expires.span));
        }
    }

    fn losses(&mut self, key: &Scalar, on_loss: Option<&Choice<OnLoss>>, on_bad: Option<&Choice<OnBad>>) {
        self.stands(key, "on_loss", on_loss.map(|choice| choice.word.span));
        self.stands(key, "on_bad", on_bad.map(|choice| choice.word.span));
    }

    fn stands(&mut self, key: &Scalar, field: &'static str, span: Option<Span>) {
        if let Some(span) = span {
            self.model.fields.insert((key.text.clone(), field), span);
        }
    }
}
