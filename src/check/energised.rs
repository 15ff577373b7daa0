//! Actuators that must be energised to avert a hazard, for the checks of their lines and supplies.

use crate::model::{Actuator, ActuatorId, AtPosition, Device, Model, WithoutEnergy};

/// The actuators with drivers of which some safe state names a position that needs energy, in the file's order, each
/// with the tags of those hazards.
pub fn to_trip(model: &Model) -> Vec<(ActuatorId, &Actuator, Vec<String>)> {
    let mut found = Vec::new();
    for (id, actuator) in model.actuators.iter().filter(|(_, actuator)| !actuator.drivers.is_empty()) {
        let energised = |at: &&AtPosition| {
            let needs = match actuator.without_energy {
                WithoutEnergy::Goes { on, .. } => at.position == on,
                WithoutEnergy::Stays => true,
            };
            at.device == Device::Actuator(id) && needs
        };
        let hazards: Vec<String> = model
            .hazards
            .iter()
            .filter(|(_, hazard)| hazard.safe_state.atoms().iter().any(energised))
            .map(|(_, hazard)| hazard.name.tag.clone())
            .collect();
        if !hazards.is_empty() {
            found.push((id, actuator, hazards));
        }
    }
    found
}
