//! What spaces share: machines that several releases draw on, and what two modes need at once.

use crate::claim::Breach;
use crate::model::{ActuatorId, AtPosition, CauseId, Device, Element, ModeId, Model, Source};
use crate::replay;

use super::blame::Root;
use super::cone::demands;
use super::{Teller, words};

/// The causes that demand the discharge of a release that draws on the machines that carry together with this one.
pub(super) fn drawing(model: &Model, machine: Source) -> Vec<CauseId> {
    let (machines, _) = model.carried_with(machine);
    let shares: Vec<_> = model.drawing_on(&machines).collect();
    let draws = |id: &CauseId| {
        shares.iter().any(|release| {
            release.released_by.contains(id) || release.discharges.iter().any(|at| demands(model, *id, *at))
        })
    };
    model.causes.ids().filter(draws).collect()
}

/// The causes that command what one of the modes needs to another position.
pub(super) fn against(model: &Model, modes: [ModeId; 2]) -> Vec<CauseId> {
    let needs: Vec<AtPosition> = modes.iter().flat_map(|mode| model.modes[*mode].needs.clone()).collect();
    let against = |id: &CauseId| {
        needs.iter().any(|need| {
            let away = (0..model.device_positions(need.device).len()).filter(|at| *at != need.position);
            away.into_iter().any(|position| demands(model, *id, AtPosition { position, ..*need }))
        })
    };
    model.causes.ids().filter(against).collect()
}

impl Teller<'_> {
    /// Whether a device is one that the claim is about, where the claim is about what spaces share.
    pub(super) fn shared_device(&self, actuator: ActuatorId) -> Option<bool> {
        let device = Device::Actuator(actuator);
        match self.claim.breach {
            Breach::Overdrawn(machine) => {
                let (machines, _) = self.model.carried_with(machine);
                let mut shares = self.model.drawing_on(&machines);
                Some(shares.any(|release| release.discharges.iter().any(|at| at.device == device)))
            }
            Breach::RunBoth(one, other) | Breach::Clash(one, other) => {
                let mut needs = [one, other].into_iter().flat_map(|mode| &self.model.modes[mode].needs);
                Some(needs.any(|need| need.device == device))
            }
            _ => None,
        }
    }

    /// Whether the claim is about what this machine, or one that stands in for it, can give.
    pub(super) fn shares_a_load(&self, source: Source) -> bool {
        match self.claim.breach {
            Breach::Overdrawn(machine) => self.model.carried_with(machine).0.contains(&source),
            _ => false,
        }
    }

    /// A machine that is lost and gives nothing.
    pub(super) fn lost_machine(&self, root: Root) -> Option<String> {
        let Root::Source(source) = root else { return None };
        let element = self.model.source_element(source).filter(|_| self.shares_a_load(source))?;
        Some(format!("{} is lost.", self.call(element)))
    }

    /// What is drawn, and what can be given.
    pub(super) fn overdrawn(&self, machine: Source) -> Vec<String> {
        let load = replay::load(self.model, self.claim, self.situation, machine);
        let Ok(Some(load)) = load else { return Vec::new() };
        let releases: Vec<String> =
            load.releases.iter().map(|id| self.call(Element::Suppression(*id))).collect();
        let draw = match releases.len() {
            1 => format!("{} draws {}", words::list(&releases), load.drawn),
            _ => format!("{} draw {} at once", words::list(&releases), load.drawn),
        };
        let left: Vec<String> = load
            .left
            .iter()
            .filter_map(|machine| self.model.source_element(*machine))
            .map(|element| self.call(element))
            .collect();
        let can = match left.len() {
            0 => "nothing is left that gives any".to_string(),
            1 => format!("{} can give only {}", words::list(&left), load.given),
            _ => format!("{} can give only {} together", words::list(&left), load.given),
        };
        vec![format!("{draw}."), format!("{can}.")]
    }

    /// Which needs of the two modes contradict each other or a command.
    pub(super) fn clash(&self, one: ModeId, other: ModeId) -> Vec<String> {
        let mut lines = Vec::new();
        for mode in [one, other] {
            let element = &self.model.modes[mode];
            let (tag, group) = (&element.name.tag, &self.model.groups[element.group].name.tag);
            let needs: Vec<String> = element
                .needs
                .iter()
                .filter(|need| self.torn_away(**need, [one, other]))
                .map(|need| {
                    let device = self.tag(self.model.device_element(need.device));
                    format!("{device} {}", words::position(self.model, *need))
                })
                .collect();
            if !needs.is_empty() {
                lines.push(format!("Mode {tag} of {group} needs {}.", words::list(&needs)));
            }
        }
        lines.push("So the two modes cannot work at once.".to_string());
        lines
    }

    /// Whether the other mode, or a cause that is true, wants what is needed elsewhere.
    fn torn_away(&self, need: AtPosition, modes: [ModeId; 2]) -> bool {
        let needs = modes.iter().flat_map(|mode| &self.model.modes[*mode].needs);
        let apart = needs.into_iter().any(|at| at.device == need.device && at.position != need.position);
        let commanded = self.model.causes.ids().filter(|id| self.is_true(*id)).any(|id| {
            let away = (0..self.model.device_positions(need.device).len()).filter(|at| *at != need.position);
            matches!(need.device, Device::Actuator(_))
                && away.into_iter().any(|position| demands(self.model, id, AtPosition { position, ..need }))
        });
        apart || commanded
    }
}
