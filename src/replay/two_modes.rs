//! Two modes of different groups at once: section 6 of `docs/meaning.md`, `RunBoth` and `Clash`.

use crate::model::{AtPosition, ModeId};

use super::Impossible;
use super::world::{World, some};

impl World<'_> {
    /// §6: both modes hold, and everything is normal.
    fn both_normal(&self, one: ModeId, other: ModeId) -> Result<bool, Impossible> {
        let modes = &self.model.modes;
        let hold = self.mode(modes[one].group)? == one && self.mode(modes[other].group)? == other;
        Ok(self.normal()? && hold)
    }

    /// §6: one needs a device at another position than the other, or a cause commands it away from where it is needed.
    fn contradicted(&self, one: ModeId, other: ModeId) -> Result<bool, Impossible> {
        let (first, second) = (&self.model.modes[one].needs, &self.model.modes[other].needs);
        let apart = first
            .iter()
            .any(|need| second.iter().any(|at| at.device == need.device && at.position != need.position));
        let commanded = some(first.iter().chain(second), |need| {
            let positions = 0..self.model.device_positions(need.device).len();
            let away = positions.filter(|position| *position != need.position);
            some(away, |position| self.demanded(&AtPosition { device: need.device, position }))
        })?;
        Ok(apart || commanded)
    }

    /// §6: both can work at once.
    pub(super) fn run_both(&self, one: ModeId, other: ModeId) -> Result<bool, Impossible> {
        Ok(self.both_normal(one, other)? && !self.contradicted(one, other)?)
    }

    /// §6: what they need clashes.
    pub(super) fn clash(&self, one: ModeId, other: ModeId) -> Result<bool, Impossible> {
        Ok(self.both_normal(one, other)? && self.contradicted(one, other)?)
    }
}
