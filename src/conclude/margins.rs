//! What each trip needs, stage by stage, against the time that its hazard leaves.

use crate::assess::time::{Margin, Stage, margin, margin_of_device};
use crate::assess::{Assessment, InTime, Timed};
use crate::model::{CauseId, Device, HazardId, ModeId, Model, PassiveId};
use crate::outcome::{StageTime, TripTime};
use crate::source::Source;

/// Who acts.
#[derive(Clone, Copy)]
enum Trip {
    Cause(CauseId),
    Device(PassiveId),
}

/// A row for each hazard and each trip that is credited for it, modes with the same figures together.
pub(super) fn margins(model: &Model, source: &Source, assessment: &Assessment) -> Vec<TripTime> {
    let mut rows: Vec<TripTime> = Vec::new();
    for hazard in model.hazards.ids() {
        let first = rows.len();
        for trip in trips(model, hazard) {
            let modes = assessment.timed.iter().filter(|timed| timed.hazard == hazard);
            for timed in modes.filter(|timed| !matches!(timed.decided, Timed::NoTime)) {
                let Some(found) = of(model, timed, trip) else { continue };
                let row = row(model, source, (hazard, timed.mode), trip, found);
                let same =
                    |other: &&mut TripTime| TripTime { modes: row.modes.clone(), ..(*other).clone() } == row;
                match rows.iter_mut().skip(first).find(same) {
                    Some(other) => other.modes.push(timed.mode),
                    None => rows.push(row),
                }
            }
        }
    }
    rows
}

/// The causes credited for a hazard in the file's order, then the passive devices of its safe state.
fn trips(model: &Model, hazard: HazardId) -> Vec<Trip> {
    let causes = model.causes.iter().filter(|(_, cause)| cause.credited_for.contains(&hazard));
    let mut trips: Vec<Trip> = causes.map(|(id, _)| Trip::Cause(id)).collect();
    let mut devices: Vec<PassiveId> = Vec::new();
    for at in model.hazards[hazard].safe_state.atoms() {
        if let Device::Passive(id) = at.device
            && !devices.contains(&id)
        {
            devices.push(id);
        }
    }
    trips.extend(devices.into_iter().map(Trip::Device));
    trips
}

fn of(model: &Model, timed: &InTime, trip: Trip) -> Option<Margin> {
    match trip {
        // Only where it does something for the hazard in this mode.
        Trip::Cause(cause) => timed.acts.get(&cause).and_then(|_| margin(model, timed, cause)),
        Trip::Device(device) => margin_of_device(model, timed, device),
    }
}

fn row(
    model: &Model,
    source: &Source,
    (hazard, mode): (HazardId, ModeId),
    trip: Trip,
    found: Margin,
) -> TripTime {
    let stage = |stage: &Stage| {
        let name = model.name(stage.element);
        StageTime {
            tag: name.tag.clone(),
            line: source.place(name.span.start).line,
            what: stage.what,
            time: stage.time.clone(),
            at_most: found.at_most(stage),
        }
    };
    TripTime {
        hazard,
        modes: vec![mode],
        trip: match trip {
            Trip::Cause(cause) => model.causes[cause].name.tag.clone(),
            Trip::Device(device) => model.passive[device].name.tag.clone(),
        },
        stages: found.stages.iter().map(stage).collect(),
        needs: found.needs(),
        available: found.available(),
        left: found.left(),
        ending: found.ends(model),
    }
}
