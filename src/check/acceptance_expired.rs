//! An acceptance has expired, and what it covered is open again.
//!
//! # What it checks
//! On the day given with `--date`, no entry of `accepted` is past its expiry. The day of expiry itself still counts as
//! valid. Without `--date` the dates are listed and not judged.
//!
//! # Why it matters
//! An acceptance is a decision for a time: until the spare part comes, until the next review. After that time nobody has
//! decided anything.
//!
//! # How it is decided
//! By comparing the dates of `expires` with the day given. The findings that the entry names are then open, unless
//! another acceptance covers them.
//!
//! # What it does not see
//! Whether the reason still holds before that day.
//!
//! # Example
//! A shared isolator was accepted until the shutdown in March. It is April, and the isolator is still shared.
//!
//! # How to resolve
//! Mend what was accepted, or have the role that answers for it accept it anew with a reason and a date.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, about_tag, covering, passed, words};
use crate::finding::{Finding, Severity};

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let mut found = Vec::new();
    for acceptance in &model.accepted {
        let Some(last) = acceptance.expires.filter(|last| passed(seen.date, Some(*last))) else { continue };
        let tag = &acceptance.name.tag;
        let place = model.written(tag, "expires").unwrap_or(acceptance.name.span);
        let mut finding = about_tag(Check::AcceptanceExpired, Severity::Warning, tag, place);
        let open = |id: &str| seen.told.contains(id) && covering(model, seen.date, id).next().is_none();
        let ids: Vec<String> =
            acceptance.findings.iter().filter(|(id, _)| open(id)).map(|(id, _)| format!("`{id}`")).collect();
        let again = match ids.as_slice() {
            [] => String::new(),
            [one] => format!("; {one} is open again"),
            many => format!("; {} are open again", words::list(many)),
        };
        finding.sentence = format!("{tag} counts until {last}, and that day has passed{again}.");
        found.push(finding);
    }
    found
}
