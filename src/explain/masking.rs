//! How the fault of one contact of a loop is wiped out by another contact: the steps, one after the other.
//!
//! Sequences are not examined, so these steps are no witness: they follow from what the model declares of the loop.

use crate::model::{ContactId, Element, InputId, Model, Observes};

/// The steps of a masked fault with two contacts of a loop, if there are two that open by themselves; empty for anything
/// else.
pub(super) fn steps(model: &Model, input: InputId) -> Vec<String> {
    let Observes::Loop { contacts, .. } = &model.inputs[input].observes else { return Vec::new() };
    let Some((one, others)) = contacts.split_first() else { return Vec::new() };
    let on = |contact: &ContactId| (model.contacts[*contact].condition, model.contacts[*contact].negated);
    let apart = others.iter().find(|other| on(other) != on(one));
    let tag = &model.inputs[input].name.tag;
    let first = model.tag(Element::Contact(*one));
    let mut steps = vec![format!(
        "Assume that one of the channels of contact {first} is stuck closed. Do not bridge it in the plant: go through \
         these steps on paper, or on a bench under your site's permit."
    )];
    match (apart, others.first()) {
        (Some(other), _) => steps.extend(by_another(model, tag, *one, *other)),
        (None, Some(other)) => steps.push(format!(
            "{first} and {} open together ({}): all channels of {tag} open by the second contact, so its ends agree and \
             the stuck channel is not found.",
            model.tag(Element::Contact(*other)),
            opens(model, *one)
        )),
        (None, None) => return Vec::new(),
    }
    steps
}

/// The steps where another contact opens by itself.
fn by_another(model: &Model, tag: &str, one: ContactId, other: ContactId) -> [String; 5] {
    let (first, second) = (model.tag(Element::Contact(one)), model.tag(Element::Contact(other)));
    [
        format!(
            "{first} opens ({}): one channel of {tag} opens and another stays closed. Its ends differ, so the fault is \
             found and {tag} is locked out.",
            opens(model, one)
        ),
        format!("{first} closes again: all channels of {tag} are closed, and the lockout still stands."),
        format!(
            "{second} opens ({}): all channels of {tag} open. An evaluation that compares only the ends takes that for a \
             good test, and as the fault is not held, it may clear the lockout.",
            opens(model, other)
        ),
        format!(
            "{second} closes again: {tag} counts as closed and in order, and {first} is still stuck in one channel. \
             Without {second} the lockout would still stand."
        ),
        format!(
            "Find out from the maker's manual of what evaluates {tag} whether the opening of another contact clears its \
             lockout."
        ),
    ]
}

/// The condition on which a contact opens.
fn opens(model: &Model, contact: ContactId) -> String {
    let element = &model.contacts[contact];
    let condition = model.tag(Element::Condition(element.condition));
    match element.negated {
        true => format!("`{condition}` is no longer true"),
        false => format!("`{condition}` becomes true"),
    }
}
