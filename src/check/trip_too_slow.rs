//! A trip that cannot act in the time that its hazard leaves.
//!
//! # What it checks
//! For every cause and every hazard it is credited for, in every mode in which it commands something of the safe state:
//! in some situation without faults one of its commands is carried out in time.
//!
//! # Why it matters
//! A trip that comes late is counted by everybody and protects nobody.
//!
//! # How it is decided
//! Needed: response of the sensor (with confirmation, filter and transport), links, on-delay, reaction of the solver, delay
//! of the mark, travel of the element. Available: f · (head start + T − E). Refuted if no command of the safe state is
//! there in time in any situation. A signal that does not stay (`signal_lasts`) must be latched before it ends.
//!
//! # What it does not see
//! Whether the rest of the safe state is reached in time too: `too-few-timely-paths` says that.
//!
//! # Example
//! A gas head with 45 s of sampling tube, 30 s of response and 10 s of confirmation, where 45.6 s are available.
//!
//! # How to resolve
//! Shorten the longest stage; or lower the set point, which gives a longer head start.
//!
//! # References
//! IEC 61511-1 on response time against process safety time: recalled, not verified.

use super::{Check, Seen, about_element};
use crate::assess::time::{Margin, Stage, margin};
use crate::assess::{Decided, Single, Subject};
use crate::finding::{Finding, Severity};
use crate::model::{Element, Model};
use crate::outcome::{SignalEnds, seconds};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for timed in &seen.assessment.timed {
        for (cause, decided) in &timed.acts {
            // What cannot fire for it at all is told as that.
            let never = |single: &Single| {
                let about = [Subject::CanFire(*cause), Subject::CanFireFor(*cause, timed.hazard)];
                about.contains(&single.subject) && matches!(single.decided, Decided::Never(_))
            };
            if !matches!(decided, Decided::Never(_)) || seen.assessment.singles.iter().any(never) {
                continue;
            }
            let element = &model.causes[*cause];
            let hazard = &model.hazards[timed.hazard];
            let mut finding = about_element(
                model,
                Check::TripTooSlow,
                Severity::Serious,
                Element::Cause(*cause),
                element.when_span,
            );
            finding.hazard = Some(timed.hazard);
            finding.modes = vec![timed.mode];
            let found_margin = margin(model, timed, *cause);
            let figures = found_margin.as_ref().and_then(|margin| margin.figures());
            let ends = found_margin.as_ref().and_then(|margin| margin.ends(model));
            finding.sentence = match (figures, &found_margin) {
                _ if ends.as_ref().is_some_and(SignalEnds::too_soon) => format!(
                    "{} (`{}`) is nothing to rely on for {}: {}.",
                    element.name.tag,
                    element.text,
                    hazard.name.tag,
                    ends.map(|ends| ends.in_words()).unwrap_or_default()
                ),
                (Some((needs, available)), Some(margin)) => format!(
                    "{} (`{}`) is too slow for {}: it needs {needs} s ({}), and {available} s may be used.",
                    element.name.tag,
                    element.text,
                    hazard.name.tag,
                    stages(model, margin)
                ),
                _ => format!(
                    "{} (`{}`) is too slow for {}: nothing that it commands is there in time.",
                    element.name.tag, element.text, hazard.name.tag
                ),
            };
            found.push(finding);
        }
    }
    found
}

/// `GC-22 transport 45 s, LC-2 reacts 0.09 s`.
fn stages(model: &Model, margin: &Margin) -> String {
    let stage = |stage: &Stage| {
        let time = stage.time.as_ref().map_or_else(String::new, |time| format!(" {} s", seconds(time)));
        format!("{} {}{time}", model.tag(stage.element), stage.what)
    };
    margin.stages.iter().map(stage).collect::<Vec<_>>().join(", ")
}
