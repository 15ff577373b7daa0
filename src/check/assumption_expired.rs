//! Something that the results rest on has expired.
//!
//! # What it checks
//! On the day given with `--date`, no coupling, assumption or fault exclusion is past its expiry. The day of expiry
//! itself still counts as valid. Without `--date` the dates are listed and not judged.
//!
//! # Why it matters
//! "Inspected yearly" was true when it was written. A proof that rests on it is worth as much as the last inspection.
//!
//! # How it is decided
//! By comparing the dates of `expires` with the day given.
//!
//! # What it does not see
//! Whether the statement still holds: an expired one may be true, one that is valid may be wrong. An entry without
//! `expires` never expires.
//!
//! # Example
//! The fault exclusion of a mechanical escape release runs until 2027-06-30, and the report is made for 2027-07-01.
//!
//! # How to resolve
//! Have the owner examine it again and set the new date, or remove it and look at what the results are without it.
//!
//! # References
//! Common practice, no source.

use super::{Check, Seen, about_tag, passed};
use crate::date::Date;
use crate::finding::{Finding, Severity};
use crate::model::Name;

pub(super) fn find(seen: &Seen<'_>) -> Vec<Finding> {
    let model = seen.model;
    let couplings = model.couplings.iter().map(|(_, item)| ("coupling", &item.name, item.expires));
    let assumptions = model.assumptions.iter().map(|item| ("assumption", &item.name, item.expires));
    let exclusions = model.fault_exclusions.iter().map(|item| ("fault exclusion", &item.name, item.expires));
    let all: Vec<(&str, &Name, Option<Date>)> = couplings.chain(assumptions).chain(exclusions).collect();
    let mut found = Vec::new();
    for (kind, name, expires) in all {
        let Some(last) = expires.filter(|last| passed(seen.date, Some(*last))) else { continue };
        let place = model.written(&name.tag, "expires").unwrap_or(name.span);
        let mut finding = about_tag(Check::AssumptionExpired, Severity::Warning, &name.tag, place);
        finding.sentence =
            format!("The {kind} {} may be relied on until {last}, and that day has passed.", name.tag);
        found.push(finding);
    }
    found
}
