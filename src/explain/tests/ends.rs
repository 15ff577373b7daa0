//! One story for each kind of claim, and of what nobody broke.

use super::bench::*;
use crate::claim::Breach;
use crate::finding::Story;
use crate::model::*;
use crate::situation::{FactChoice, NumberChoice};

pub(super) fn accuracy(m: &Model) -> Story {
    let sit = sit(m).is("solvent", "40").gives("K2").number(NumberChoice::Error(input(m, "GD-2")), "-3");
    sit.not_met("H-TWO")
}
pub(super) fn not_armed(m: &Model) -> Story {
    sit(m).is("solvent", "40").gives("K1").in_mode("access").not_met("H-ONE")
}
pub(super) fn overridden(m: &Model) -> Story {
    let Some(Element::Override(id)) = m.element_by_tag("OV-1") else { panic!() };
    let overridden = FactChoice::Overridden(id, input(m, "GD-2"));
    sit(m).is("solvent", "45").gives("K2").yes(overridden).not_met("H-TWO")
}
pub(super) fn opposed(m: &Model) -> Story {
    sit(m).is("solvent", "30").holds("fire").breaks(Breach::Opposed(actuator(m, "K1")))
}
pub(super) fn torn(m: &Model) -> Story {
    sit(m).is("solvent", "40").holds("fire").gives("K1").not_met("H-ONE")
}
pub(super) fn occurs(m: &Model) -> Story {
    let Some(Element::Exclusion(id)) = m.element_by_tag("X-1") else { panic!() };
    sit(m).gives("K1").breaks(Breach::Occurs(id))
}
pub(super) fn broken(m: &Model) -> Story {
    let Some(Element::Invariant(id)) = m.element_by_tag("I-1") else { panic!() };
    let Some(Element::Stop(stop)) = m.element_by_tag("ES-1") else { panic!() };
    sit(m).yes(FactChoice::Pressed(stop)).breaks(Breach::Broken(id))
}
pub(super) fn locked_in(m: &Model) -> Story {
    let Some(Element::Space(id)) = m.element_by_tag("ROOM") else { panic!() };
    sit(m).in_mode("access").breaks(Breach::LockedIn(id))
}
pub(super) fn fires(m: &Model) -> Story {
    sit(m).is("solvent", "26").breaks(Breach::Fires(cause(m, "C-GAS-1")))
}
pub(super) fn latched(m: &Model) -> Story {
    let fire = cause(m, "C-FIRE");
    let sit = sit(m).yes(FactChoice::AlreadySet(fire)).yes(FactChoice::Condition(condition(m, "fire")));
    sit.gives("K3").faulty("SL-2").not_met("H-FIRE")
}
pub(super) fn relief_valve(m: &Model) -> Story {
    let Some(Element::Passive(id)) = m.element_by_tag("RV-2") else { panic!() };
    sit(m).is("pressure", "6.2").number(NumberChoice::Tolerance(id), "-25000").not_met("H-SURGE")
}
/// Pressure at two thirds of ten bar, which has no finite decimal.
pub(super) fn exists(m: &Model) -> Story {
    let mut sit = sit(m);
    let value = crate::exact::Exact::ratio(2_000_000, 3).unwrap();
    sit.s.numbers.insert(NumberChoice::Quantity(quantity(m, "pressure")), value);
    sit.breaks(Breach::Exists { hazard: hazard(m, "H-BURST"), onset: 0 })
}

pub(super) const ALL: [fn(&Model) -> Story; 12] = [
    accuracy,
    not_armed,
    overridden,
    opposed,
    torn,
    occurs,
    broken,
    locked_in,
    fires,
    latched,
    relief_valve,
    exists,
];

#[test]
fn dump() {
    let m = hall();
    for story in ALL {
        let Ok(story) = std::panic::catch_unwind(|| story(&m)) else { continue };
        println!("---\n{}\n{:?} {:?}\n{:?}", told(&story), story.faults, story.overrides, story.values);
    }
}
