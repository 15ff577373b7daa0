//! How elements and fault sources are called, and which fault sources a model has.
//!
//! The words of the report about an element start here; sentences are made elsewhere.

use std::collections::BTreeSet;

use super::{AtPosition, Device, Element, Excluded, InputId, Model, Name, Observes, SharedKind, Source};
use crate::syntax::kind::LeftOut;

impl Model {
    /// The name of an element.
    pub fn name(&self, element: Element) -> &Name {
        match element {
            Element::Group(id) => &self.groups[id].name,
            Element::Mode(id) => &self.modes[id].name,
            Element::Quantity(id) => &self.quantities[id].name,
            Element::Condition(id) => &self.conditions[id].name,
            Element::Coupling(id) => &self.couplings[id].name,
            Element::Supply(id) => &self.supplies[id].name,
            Element::Route(id) => &self.routes[id].name,
            Element::Cabinet(id) => &self.cabinets[id].name,
            Element::Shared(id) => &self.shared[id].name,
            Element::Conditioner(id) => &self.conditioners[id].name,
            Element::Relay(id) => &self.relays[id].name,
            Element::Link(id) => &self.links[id].name,
            Element::Solver(id) => &self.solvers[id].name,
            Element::ModeInput(id) => &self.mode_inputs[id].name,
            Element::Input(id) => &self.inputs[id].name,
            Element::Contact(id) => &self.contacts[id].name,
            Element::Stop(id) => &self.stops[id].name,
            Element::Space(id) => &self.spaces[id].name,
            Element::Actuator(id) => &self.actuators[id].name,
            Element::Passive(id) => &self.passive[id].name,
            Element::Suppression(id) => &self.suppression[id].name,
            Element::Reset(id) => &self.resets[id].name,
            Element::Override(id) => &self.overrides[id].name,
            Element::Effect(id) => &self.effects[id].name,
            Element::Cause(id) => &self.causes[id].name,
            Element::Hazard(id) => &self.hazards[id].name,
            Element::Exclusion(id) => &self.exclusions[id].name,
            Element::Invariant(id) => &self.invariants[id].name,
        }
    }

    /// The tag of an element; of a mode, its name within its group.
    pub fn tag(&self, element: Element) -> &str {
        &self.name(element).tag
    }

    /// What kind of element it is, in the words of the trade: `sensor`, `interlock loop`, `logic solver`.
    pub fn kind_word(&self, element: Element) -> &'static str {
        match element {
            Element::Group(_) => "mode group",
            Element::Mode(_) => "mode",
            Element::Quantity(_) => "quantity",
            Element::Condition(_) => "condition",
            Element::Coupling(_) => "coupling",
            Element::Supply(_) => "supply",
            Element::Route(_) => "cable route",
            Element::Cabinet(_) => "cabinet",
            Element::Shared(id) => match self.shared[id].kind {
                SharedKind::Store => "store",
                SharedKind::Machine => "machine",
                SharedKind::ParameterSource => "parameter source",
                SharedKind::Type => "type",
            },
            Element::Conditioner(_) => "conditioner",
            Element::Relay(_) => "interposing relay",
            Element::Link(_) => "link",
            Element::Solver(_) => "logic solver",
            Element::ModeInput(_) => "mode input",
            Element::Input(id) => self.input_word(id),
            Element::Contact(_) => "contact of a loop",
            Element::Stop(_) => "emergency stop device",
            Element::Space(_) => "space",
            Element::Actuator(_) => "actuator",
            Element::Passive(_) => "passive device",
            Element::Suppression(_) => "suppression release",
            Element::Reset(_) => "reset",
            Element::Override(_) => "override device",
            Element::Effect(_) => "effect",
            Element::Cause(_) => "cause",
            Element::Hazard(_) => "hazard",
            Element::Exclusion(_) => "exclusion",
            Element::Invariant(_) => "invariant",
        }
    }

    fn input_word(&self, id: InputId) -> &'static str {
        match self.inputs[id].observes {
            Observes::Quantity { .. } => "sensor",
            Observes::Condition { .. } => "switch",
            Observes::Loop { .. } => "interlock loop",
            Observes::Stop(_) => "contact of an emergency stop device",
        }
    }

    /// The element in which a fault source sits: for the line of a loop the loop, for a damage group none.
    pub fn source_element(&self, source: Source) -> Option<Element> {
        Some(match source {
            Source::Input(id) | Source::LoopLine(id) => Element::Input(id),
            Source::Contact(id) => Element::Contact(id),
            Source::Conditioner(id) => Element::Conditioner(id),
            Source::Supply(id) => Element::Supply(id),
            Source::Route(id) => Element::Route(id),
            Source::Cabinet(id) => Element::Cabinet(id),
            Source::Solver(id) => Element::Solver(id),
            Source::Link(id) => Element::Link(id),
            Source::Relay(id) => Element::Relay(id),
            Source::Actuator(id) => Element::Actuator(id),
            Source::Passive(id) => Element::Passive(id),
            Source::ModeInput(id) => Element::ModeInput(id),
            Source::Override(id) => Element::Override(id),
            Source::Shared(id) => Element::Shared(id),
            Source::Damage(..) => return None,
        })
    }

    /// How a fault source is called: its tag; `line of HL-1`; `damage group bay of H-FIRE`.
    pub fn source_tag(&self, source: Source) -> String {
        match source {
            Source::LoopLine(id) => format!("line of {}", self.inputs[id].name.tag),
            Source::Damage(hazard, number) => {
                let hazard = &self.hazards[hazard];
                let group = hazard.damages.get(number).map_or("", |party| party.name.tag.as_str());
                format!("damage group {group} of {}", hazard.name.tag)
            }
            _ => {
                self.source_element(source).map_or_else(String::new, |element| self.tag(element).to_string())
            }
        }
    }

    /// The element of a device.
    pub fn device_element(&self, device: Device) -> Element {
        match device {
            Device::Actuator(id) => Element::Actuator(id),
            Device::Passive(id) => Element::Passive(id),
        }
    }

    /// The positions of a device, in the file's order.
    pub fn device_positions(&self, device: Device) -> &[String] {
        match device {
            Device::Actuator(id) => &self.actuators[id].positions,
            Device::Passive(id) => &self.passive[id].positions,
        }
    }

    /// A device at a position as the language writes it: `K1 = open`.
    pub fn at_text(&self, at: AtPosition) -> String {
        let position = self.device_positions(at.device).get(at.position).map_or("", String::as_str);
        format!("{} = {position}", self.tag(self.device_element(at.device)))
    }

    /// The element with a tag. Modes have no tag of their own.
    pub fn element_by_tag(&self, tag: &str) -> Option<Element> {
        self.elements().into_iter().find(|element| self.tag(*element) == tag)
    }

    /// Every element that has a tag, kind by kind in the order of the sections of a file. Modes are not among them.
    pub fn elements(&self) -> Vec<Element> {
        let mut all: Vec<Element> = Vec::new();
        all.extend(self.groups.ids().map(Element::Group));
        all.extend(self.quantities.ids().map(Element::Quantity));
        all.extend(self.conditions.ids().map(Element::Condition));
        all.extend(self.couplings.ids().map(Element::Coupling));
        all.extend(self.supplies.ids().map(Element::Supply));
        all.extend(self.routes.ids().map(Element::Route));
        all.extend(self.cabinets.ids().map(Element::Cabinet));
        all.extend(self.shared.ids().map(Element::Shared));
        all.extend(self.conditioners.ids().map(Element::Conditioner));
        all.extend(self.relays.ids().map(Element::Relay));
        all.extend(self.links.ids().map(Element::Link));
        all.extend(self.solvers.ids().map(Element::Solver));
        all.extend(self.mode_inputs.ids().map(Element::ModeInput));
        all.extend(self.inputs.ids().map(Element::Input));
        all.extend(self.contacts.ids().map(Element::Contact));
        all.extend(self.stops.ids().map(Element::Stop));
        all.extend(self.spaces.ids().map(Element::Space));
        all.extend(self.actuators.ids().map(Element::Actuator));
        all.extend(self.passive.ids().map(Element::Passive));
        all.extend(self.suppression.ids().map(Element::Suppression));
        all.extend(self.resets.ids().map(Element::Reset));
        all.extend(self.overrides.ids().map(Element::Override));
        all.extend(self.effects.ids().map(Element::Effect));
        all.extend(self.causes.ids().map(Element::Cause));
        all.extend(self.hazards.ids().map(Element::Hazard));
        all.extend(self.exclusions.ids().map(Element::Exclusion));
        all.extend(self.invariants.ids().map(Element::Invariant));
        all
    }

    /// Every fault source of the model, damage groups of all hazards included, in the order of [`Source`].
    pub fn sources(&self) -> Vec<Source> {
        let is_loop = |id: &InputId| matches!(self.inputs[*id].observes, Observes::Loop { .. });
        let mut all: Vec<Source> = Vec::new();
        all.extend(self.inputs.ids().filter(|id| !is_loop(id)).map(Source::Input));
        all.extend(self.contacts.ids().map(Source::Contact));
        all.extend(self.inputs.ids().filter(is_loop).map(Source::LoopLine));
        all.extend(self.conditioners.ids().map(Source::Conditioner));
        all.extend(self.supplies.ids().map(Source::Supply));
        all.extend(self.routes.ids().map(Source::Route));
        all.extend(self.cabinets.ids().map(Source::Cabinet));
        all.extend(self.solvers.ids().map(Source::Solver));
        all.extend(self.links.ids().map(Source::Link));
        all.extend(self.relays.ids().map(Source::Relay));
        all.extend(self.actuators.ids().map(Source::Actuator));
        all.extend(self.passive.ids().map(Source::Passive));
        all.extend(self.mode_inputs.ids().map(Source::ModeInput));
        all.extend(self.overrides.ids().map(Source::Override));
        all.extend(self.shared.ids().map(Source::Shared));
        for (id, hazard) in self.hazards.iter() {
            all.extend((0..hazard.damages.len()).map(|number| Source::Damage(id, number)));
        }
        all
    }

    /// What a fault source counts in a budget: a solver with certified tolerance n weighs n + 1, a damage group 0 if
    /// its hazard says that the damage is certain, everything else 1.
    pub fn weight(&self, source: Source) -> u32 {
        match source {
            Source::Solver(id) => self.solvers[id].tolerance.saturating_add(1),
            Source::Damage(hazard, _) if self.hazards[hazard].damage_certain => 0,
            _ => 1,
        }
    }

    /// The sources that are left after the fault exclusions and the kinds that the policy leaves out.
    pub fn universe(&self) -> BTreeSet<Source> {
        let mut left: BTreeSet<Source> = self.sources().into_iter().collect();
        for exclusion in &self.fault_exclusions {
            if let Excluded::Source(source) = exclusion.what {
                left.remove(&source);
            }
        }
        left.retain(|source| match source {
            Source::Shared(id) => match self.shared[*id].kind {
                SharedKind::Type => !self.leaves_out(LeftOut::Types),
                SharedKind::ParameterSource => !self.leaves_out(LeftOut::ParameterSources),
                SharedKind::Store | SharedKind::Machine => true,
            },
            _ => true,
        });
        left
    }

    fn leaves_out(&self, kind: LeftOut) -> bool {
        self.left_out.iter().any(|(left, _)| *left == kind)
    }
}
