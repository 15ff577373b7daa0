//! Two modes of different spaces can hold at once, and each stops the other from working.
//!
//! # What it checks
//! For every two modes of different mode groups that share something: in some normal situation both can work. They share
//! something if they need one device at different positions, or if what moves a device that one of them needs may turn
//! on what the other says is normal.
//!
//! # Why it matters
//! Two bays with one fan, one selector or one trip in common get in each other's way. Where the work in one bay trips
//! the other, somebody makes the trip stop tripping.
//!
//! # How it is decided
//! Each mode can work by itself, and no situation exists, fault-free, in which both hold, everything is normal, they
//! need no device at two positions, and no cause commands what one of them needs to another position; but a normal
//! situation in which both hold exists.
//!
//! # What it does not see
//! Three modes at once of which any two agree. Devices that a mode uses and does not name under `needs`.
//!
//! # Example
//! The door of bay 2 stands open in set-up, as it should, and the cause that reads it opens the contactors of both bays.
//!
//! # How to resolve
//! Part what the spaces share, or say in a coupling, with its owner, that the two modes never hold at once.
//!
//! # References
//! Our definition; common practice, no source.

use std::collections::BTreeMap;

use super::{Check, Seen, about_element, words};
use crate::assess::{Subject, Witness};
use crate::explain;
use crate::finding::{Finding, Severity};
use crate::model::{Element, GroupId, ModeId, Model};

/// Two modes that exclude each other, with a situation of both.
type Pair<'s> = (ModeId, ModeId, &'s Witness);

/// One finding for each two groups, with all their modes that exclude each other.
pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut pairs: BTreeMap<(GroupId, GroupId), Vec<Pair<'_>>> = BTreeMap::new();
    for single in &seen.assessment.singles {
        if let (Subject::RunTogether(one, other), Some(witness)) = (single.subject, single.decided.witness())
        {
            let groups = (model.modes[one].group, model.modes[other].group);
            pairs.entry(groups).or_default().push((one, other, witness));
        }
    }
    pairs.into_iter().filter_map(|(groups, pairs)| finding(model, groups, &pairs)).collect()
}

fn finding(model: &Model, groups: (GroupId, GroupId), pairs: &[Pair<'_>]) -> Option<Finding> {
    let (one, other, witness) = pairs.first()?;
    let place = model.modes[*one].name.span;
    let mut finding = about_element(
        model,
        Check::ModesExcludeEachOther,
        Severity::Warning,
        Element::Group(groups.0),
        place,
    );
    let [mine, theirs] = [groups.0, groups.1].map(|group| model.groups[group].name.tag.clone());
    let both: Vec<String> = pairs
        .iter()
        .map(|(one, other, _)| {
            format!("{} with {}", model.modes[*one].name.tag, model.modes[*other].name.tag)
        })
        .collect();
    finding.sentence = format!(
        "Modes of {mine} and {theirs} can hold at once and not work at once, because each is in the way of what the \
         other needs: {}.",
        words::list(&both)
    );
    finding.elements.push(theirs);
    finding.modes = pairs.iter().flat_map(|(one, other, _)| [*one, *other]).collect();
    finding.modes.sort();
    finding.modes.dedup();
    finding.also = vec![(model.modes[*other].name.span, "the other mode stands here".to_string())];
    finding.witness = Some(explain::story(model, witness));
    Some(finding)
}
