//! What each trip needs, against the time that its hazard leaves: words, bars and rows.

use crate::exact::Exact;
use crate::model::HazardId;
use crate::outcome::{Outcome, SignalEnds, StageTime, TripTime, seconds};
use crate::report::modes;

/// Above the rows.
pub(in crate::report) const TIMES: &str = "What each trip needs, from the reading that decides when it acts to the slowest element of the safe state that it \
     commands, against what its hazard leaves at the worst rate: the usable part of the time from the set \
     point to harm and after it, less the time in which people leave. A bar shows the time used; a full bar with > is too \
     slow. Behind each stage stands how long it alone could take while all the others stay as they are. Whether a trip is in time in every situation is what the claims say; these \
     rows only explain it.";

/// Width of a bar.
const BAR: usize = 20;

/// The rows of one hazard.
pub(in crate::report) struct Rows {
    /// The hazard with its title.
    pub hazard: String,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// One trip.
pub(in crate::report) struct Row {
    /// Its tag.
    pub trip: String,
    /// The modes in which it acts.
    pub modes: String,
    /// Needed seconds.
    pub needs: String,
    /// Available seconds.
    pub available: String,
    /// What is left.
    pub left: String,
    /// Time used against time available.
    pub bar: String,
    /// Its stages.
    pub stages: String,
    /// Whether it is too slow, or not known.
    pub doubtful: bool,
}

/// All rows, by hazard.
pub(in crate::report) fn rows(outcome: &Outcome) -> Vec<Rows> {
    let mut all: Vec<(HazardId, Vec<Row>)> = Vec::new();
    for trip in &outcome.margins {
        let row = row(outcome, trip);
        match all.last_mut() {
            Some((hazard, rows)) if *hazard == trip.hazard => rows.push(row),
            _ => all.push((trip.hazard, vec![row])),
        }
    }
    all.into_iter()
        .map(|(hazard, rows)| {
            let name = &outcome.model.hazards[hazard].name;
            let hazard = match &name.title {
                Some(title) => format!("{}: {title}", name.tag),
                None => name.tag.clone(),
            };
            Rows { hazard, rows }
        })
        .collect()
}

fn row(outcome: &Outcome, trip: &TripTime) -> Row {
    let known = |time: &Option<Exact>| match time {
        Some(time) => format!("{} s", seconds(time)),
        None => "unknown".to_string(),
    };
    Row {
        trip: trip.trip.clone(),
        modes: modes(&outcome.model, &trip.modes).join(", "),
        needs: known(&trip.needs),
        available: known(&trip.available),
        left: known(&trip.left),
        bar: bar(trip),
        stages: trip
            .stages
            .iter()
            .map(in_words)
            .chain(trip.ending.as_ref().map(SignalEnds::in_words))
            .collect::<Vec<_>>()
            .join("; "),
        doubtful: trip.left.as_ref().is_none_or(Exact::is_negative)
            || trip.ending.as_ref().is_some_and(SignalEnds::too_soon),
    }
}

/// `GC-22 (line 331) T90 30 s (up to 42.2 s)`.
fn in_words(stage: &StageTime) -> String {
    let StageTime { tag, what, line, .. } = stage;
    let Some(time) = &stage.time else { return format!("{tag} (line {line}) {what}, unknown how long") };
    let most = match stage.at_most.as_ref().filter(|most| !most.is_negative()) {
        Some(most) => format!(" (up to {} s)", seconds_down(most)),
        None => " (nothing is left for it)".to_string(),
    };
    format!("{tag} {what} {} s{most}", seconds(time))
}

/// A longest time, never rounded up: what is written there is still in time.
fn seconds_down(time: &Exact) -> String {
    let thousand = Exact::int(1000);
    let steps = (time * &thousand).floor();
    let steps = if time >= &Exact::int(1) {
        let ten = Exact::int(10);
        let tens = steps.checked_div(&ten).map(|tens| tens.floor()).unwrap_or_else(Exact::zero);
        &tens * &ten
    } else {
        steps
    };
    steps.checked_div(&thousand).unwrap_or_else(Exact::zero).to_string()
}

fn bar(trip: &TripTime) -> String {
    let (Some(needs), Some(available)) = (&trip.needs, &trip.available) else {
        return format!("[{}]", "?".repeat(BAR));
    };
    if needs > available {
        return format!("[{}>", "#".repeat(BAR));
    }
    // Full parts only: a bar never shows less time used than there is.
    let used = |steps: usize| match i64::try_from(steps) {
        Ok(steps) => available * &Exact::int(steps) >= needs * &Exact::int(BAR as i64),
        Err(_) => true,
    };
    let filled = (0..=BAR).find(|steps| used(*steps)).unwrap_or(BAR);
    format!("[{}{}]", "#".repeat(filled), "-".repeat(BAR - filled))
}
