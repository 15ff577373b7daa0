//! One situation for each kind of part that can misbehave; `broken` holds how each is told.

use super::bench::*;
use crate::finding::Story;
use crate::model::*;
use crate::situation::{FactChoice, ModeChoice};

/// Solvent at 40 %LFL while the cell runs and the process keeps K1 closed.
fn gas(m: &Model) -> Sit<'_> {
    sit(m).is("solvent", "40").gives("K1")
}

/// The same, with K2 closed.
fn gas_two(m: &Model) -> Sit<'_> {
    sit(m).is("solvent", "40").gives("K2")
}

pub(super) fn stuck_sensor(m: &Model) -> Story {
    gas(m).faulty("GD-1").deviates("GD-1", "SL-1").reading("GD-1", "SL-1", "24.9").not_met("H-ONE")
}
pub(super) fn bad_sensor(m: &Model) -> Story {
    gas(m).faulty("GD-1").deviates("GD-1", "SL-1").at("GD-1", "SL-1", FactChoice::Bad).not_met("H-ONE")
}
pub(super) fn contact_closed(m: &Model) -> Story {
    let id = contact(m, "HLC-1");
    let sit = sit(m).holds("plug_out").gives("K2").faulty("HLC-1").yes(FactChoice::ContactClosed(id));
    sit.not_met("H-PLUG")
}
pub(super) fn bridged_line(m: &Model) -> Story {
    let sit = sit(m).holds("plug_out").gives("K2").faulty("line of HL-1");
    sit.at("HL-1", "SL-2", FactChoice::LineHeld).not_met("H-PLUG")
}
pub(super) fn isolator(m: &Model) -> Story {
    gas(m).faulty("ISO-1").deviates("GD-1", "SL-1").reading("GD-1", "SL-1", "3").not_met("H-ONE")
}
pub(super) fn lost_supply(m: &Model) -> Story {
    let Some(Element::Supply(mains)) = m.element_by_tag("MAINS") else { panic!() };
    let sit = sit(m).holds("fire").gives("K3").faulty("MAINS").yes(FactChoice::Lost(mains));
    sit.not_met("H-FIRE")
}
pub(super) fn head_without_supply(m: &Model) -> Story {
    let Some(Element::Supply(id)) = m.element_by_tag("24V-B") else { panic!() };
    gas_two(m).faulty("24V-B").yes(FactChoice::Lost(id)).not_met("H-TWO")
}
pub(super) fn damaged_route(m: &Model) -> Story {
    gas(m).faulty("CR-1").at("GD-1", "SL-1", FactChoice::LineOpen).not_met("H-ONE")
}
pub(super) fn actuator_line(m: &Model) -> Story {
    let k1 = actuator(m, "K1");
    let sit = gas(m).faulty("CR-2").yes(FactChoice::ActuatorLineHeld(k1)).yes(FactChoice::Energised(k1));
    sit.not_met("H-ONE")
}
pub(super) fn cabinet(m: &Model) -> Story {
    gas(m).faulty("CAB-1").not_met("H-ONE")
}
pub(super) fn faulty_solver(m: &Model) -> Story {
    gas(m).faulty("SL-1").not_met("H-ONE")
}
pub(super) fn silent_link(m: &Model) -> Story {
    let (c, s) = (cause(m, "C-FIRE"), solver(m, "SL-2"));
    let sit = sit(m).holds("fire").gives("K3").faulty("BUS-1").yes(FactChoice::CauseDeviates(c, s));
    sit.yes(FactChoice::CauseSilent(c, s)).not_met("H-FIRE")
}
pub(super) fn relay(m: &Model) -> Story {
    gas_two(m).faulty("KR-1").not_met("H-TWO")
}
pub(super) fn stuck_contactor(m: &Model) -> Story {
    gas(m).faulty("K1").stuck("K1", 1).not_met("H-ONE")
}
pub(super) fn passive(m: &Model) -> Story {
    sit(m).is("pressure", "6.5").faulty("RV-1").stuck("RV-1", 0).not_met("H-BURST")
}
pub(super) fn mode_input(m: &Model) -> Story {
    let Some(Element::ModeInput(id)) = m.element_by_tag("MS-1") else { panic!() };
    let (access, _) = m.modes.iter().find(|(_, mode)| mode.name.tag == "access").unwrap();
    let mut sit = gas(m).faulty("MS-1");
    sit.s.modes.insert(ModeChoice::Shown(id, solver(m, "SL-1")), access);
    sit.not_met("H-ONE")
}
pub(super) fn faulty_override(m: &Model) -> Story {
    let Some(Element::Override(id)) = m.element_by_tag("OV-1") else { panic!() };
    let overridden = FactChoice::Overridden(id, input(m, "GD-2"));
    gas_two(m).in_mode("access").faulty("OV-1").yes(overridden).not_met("H-TWO")
}
pub(super) fn type_in_common(m: &Model) -> Story {
    let sit = gas(m).gives("K2").faulty("GT-100");
    sit.deviates("GD-1", "SL-1").deviates("GD-2", "SL-2").reading("GD-2", "SL-2", "12.5").not_met("H-GAS")
}
pub(super) fn parameter_source(m: &Model) -> Story {
    gas_two(m).faulty("LIMITS").not_met("H-TWO")
}
pub(super) fn damage(m: &Model) -> Story {
    let sit = gas(m).gives("K2").faulty("damage group bay of H-GAS").stuck("K1", 1);
    let gd2 = crate::situation::NumberChoice::Error(input(m, "GD-2"));
    sit.number(gd2, "-3").not_met("H-GAS")
}
pub(super) fn initiator(m: &Model) -> Story {
    let sit = gas(m).gives("K2").yes(FactChoice::Initiator(hazard(m, "H-GAS"), 0));
    sit.deviates("GD-1", "SL-1").deviates("GD-2", "SL-2").at("GD-2", "SL-2", FactChoice::Bad).not_met("H-GAS")
}

/// Every story of this file.
pub(super) const ALL: [fn(&Model) -> Story; 21] = [
    stuck_sensor,
    bad_sensor,
    contact_closed,
    bridged_line,
    isolator,
    lost_supply,
    head_without_supply,
    damaged_route,
    actuator_line,
    cabinet,
    faulty_solver,
    silent_link,
    relay,
    stuck_contactor,
    passive,
    mode_input,
    faulty_override,
    type_in_common,
    parameter_source,
    damage,
    initiator,
];
