//! A part by itself, outside a situation: its name, and what of the protection against a hazard hangs on it.

use crate::claim::Breach;
use crate::model::{CabinetId, Element, HazardId, Model, Parents, RouteId, SharedId, Source, SupplyId};

use super::cone::Cone;
use super::words;

/// `CAB-1 (cabinet of the safety controller): SL-1 and K1 stand in it.`
pub(super) fn line(model: &Model, hazard: HazardId, source: Source) -> String {
    let cone = Cone::of(model, &Breach::NotMet { hazard, onset: None }, None);
    let tags = |elements: Vec<Element>| {
        let here = elements.into_iter().filter(|element| cone.elements.contains(element));
        here.map(|element| model.tag(element).to_string()).collect::<Vec<_>>()
    };
    let (tags, one, many) = match source {
        Source::Supply(id) => (tags(fed(model, id)), "is fed by it", "are fed by it"),
        Source::Route(id) => (tags(wired(model, id)), "has its line in it", "have their lines in it"),
        Source::Cabinet(id) => (tags(standing(model, id)), "stands in it", "stand in it"),
        Source::Shared(id) => (tags(depending(model, id)), "depends on it", "depend on it"),
        Source::Damage(hazard, number) => {
            let group = model.hazards[hazard].damages.get(number);
            let members = group.into_iter().flat_map(|group| &group.members);
            let members = members.map(|member| model.source_tag(*member)).collect();
            (members, "is damaged", "are damaged")
        }
        Source::Solver(id) => {
            let causes = model.causes.iter();
            let evaluated =
                causes.filter(|(_, cause)| cause.solver == id && cause.credited_for.contains(&hazard));
            let evaluated = evaluated.map(|(_, cause)| cause.name.tag.clone());
            (evaluated.collect(), "is evaluated by it", "are evaluated by it")
        }
        Source::Override(id) => {
            let inputs = model.overrides[id].inputs.iter().map(|input| Element::Input(*input));
            (tags(inputs.collect()), "may be taken out by it", "may be taken out by it")
        }
        Source::Input(id) => {
            let causes = model.causes.iter().filter(|(_, cause)| cause.credited_for.contains(&hazard));
            let reading = causes.filter(|(cause, _)| super::cone::inputs_in(model, *cause).contains(&id));
            let reading = reading.map(|(_, cause)| cause.name.tag.clone());
            (reading.collect(), "reads it", "read it")
        }
        Source::Contact(_)
        | Source::LoopLine(_)
        | Source::Conditioner(_)
        | Source::Link(_)
        | Source::Relay(_)
        | Source::Actuator(_)
        | Source::Passive(_)
        | Source::ModeInput(_) => (Vec::new(), "", ""),
    };
    let named = model.source_element(source).map(|element| model.name(element));
    let tag = model.source_tag(source);
    let title = named.filter(|name| name.tag == tag).and_then(|name| name.title.as_ref());
    let name = title.map_or_else(|| words::capital(&tag), |title| format!("{tag} ({title})"));
    let verb = if tags.len() == 1 { one } else { many };
    match tags.is_empty() {
        true => format!("{name} is faulty."),
        false => format!("{name}: {} {verb}.", words::list(&tags)),
    }
}

/// Every element with its supply, its routes and what it stands in or depends on.
fn parts(model: &Model) -> Vec<(Element, Option<SupplyId>, Vec<RouteId>, Option<&Parents>)> {
    let mut all = Vec::new();
    for (id, input) in model.inputs.iter() {
        let routes = input.readers.values().flat_map(|path| path.routes.iter().copied()).collect();
        all.push((Element::Input(id), input.supply, routes, Some(&input.parents)));
    }
    for (id, element) in model.contacts.iter() {
        all.push((Element::Contact(id), None, Vec::new(), Some(&element.parents)));
    }
    for (id, element) in model.conditioners.iter() {
        all.push((Element::Conditioner(id), element.supply, Vec::new(), Some(&element.parents)));
    }
    for (id, element) in model.solvers.iter() {
        all.push((Element::Solver(id), element.supply, Vec::new(), Some(&element.parents)));
    }
    for (id, element) in model.links.iter() {
        all.push((Element::Link(id), element.supply, element.routes.clone(), Some(&element.parents)));
    }
    for (id, element) in model.relays.iter() {
        all.push((Element::Relay(id), element.supply, Vec::new(), Some(&element.parents)));
    }
    for (id, element) in model.actuators.iter() {
        all.push((Element::Actuator(id), element.supply, element.routes.clone(), Some(&element.parents)));
    }
    for (id, element) in model.passive.iter() {
        all.push((Element::Passive(id), None, Vec::new(), Some(&element.parents)));
    }
    for (id, element) in model.mode_inputs.iter() {
        all.push((Element::ModeInput(id), element.supply, element.routes.clone(), Some(&element.parents)));
    }
    for (id, element) in model.overrides.iter() {
        all.push((Element::Override(id), None, Vec::new(), Some(&element.parents)));
    }
    all
}

fn fed(model: &Model, id: SupplyId) -> Vec<Element> {
    let feeds = model.supplies.iter().filter(|(_, supply)| {
        supply.fed_by.as_ref().is_some_and(|feeds| feeds.atoms().into_iter().any(|feed| *feed == id))
    });
    let parts = parts(model).into_iter().filter(|part| part.1 == Some(id)).map(|part| part.0);
    feeds.map(|(supply, _)| Element::Supply(supply)).chain(parts).collect()
}

fn wired(model: &Model, id: RouteId) -> Vec<Element> {
    parts(model).into_iter().filter(|part| part.2.contains(&id)).map(|part| part.0).collect()
}

fn standing(model: &Model, id: CabinetId) -> Vec<Element> {
    let supplies = model.supplies.iter().filter(|(_, supply)| supply.cabinet == Some(id));
    let inside = |parents: Option<&Parents>| parents.is_some_and(|parents| parents.cabinet == Some(id));
    let parts = parts(model).into_iter().filter(|part| inside(part.3)).map(|part| part.0);
    supplies.map(|(supply, _)| Element::Supply(supply)).chain(parts).collect()
}

fn depending(model: &Model, id: SharedId) -> Vec<Element> {
    let on_it = |parents: Option<&Parents>| parents.is_some_and(|parents| parents.shared.contains(&id));
    parts(model).into_iter().filter(|part| on_it(part.3)).map(|part| part.0).collect()
}
