//! §6 of `docs/meaning.md`, `RunBoth` and `Clash`: two modes of different groups at once, each with what it needs.

use super::Encoder;
use crate::model::{AtPosition, ModeId};
use crate::situation::ModeChoice;
use crate::term::TermId;

impl Encoder<'_> {
    /// Both modes hold while everything is normal.
    fn both_hold(&mut self, one: ModeId, other: ModeId) -> TermId {
        let model = self.model;
        let mut all = vec![self.normal()];
        for mode in [one, other] {
            all.push(self.mode_is(ModeChoice::Holds(model.modes[mode].group), mode));
        }
        self.terms.and(all)
    }

    /// What the two modes need contradicts each other, or a command.
    fn contradicted(&mut self, one: ModeId, other: ModeId) -> TermId {
        let model = self.model;
        let needs: Vec<AtPosition> =
            model.modes[one].needs.iter().chain(&model.modes[other].needs).copied().collect();
        let apart = |need: &AtPosition| {
            needs.iter().any(|also| also.device == need.device && also.position != need.position)
        };
        if needs.iter().any(apart) {
            return self.terms.yes();
        }
        let mut any = Vec::new();
        for need in &needs {
            for position in 0..model.device_positions(need.device).len() {
                if position != need.position {
                    any.push(self.is_demanded(AtPosition { position, ..*need }));
                }
            }
        }
        self.terms.or(any)
    }

    pub(super) fn run_both(&mut self, one: ModeId, other: ModeId) -> TermId {
        let hold = self.both_hold(one, other);
        let contradicted = self.contradicted(one, other);
        let free = self.terms.not(contradicted);
        self.terms.both(hold, free)
    }

    pub(super) fn clash(&mut self, one: ModeId, other: ModeId) -> TermId {
        let hold = self.both_hold(one, other);
        let contradicted = self.contradicted(one, other);
        self.terms.both(hold, contradicted)
    }
}
