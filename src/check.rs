//! The checks: one file per defect, named for it. Each file is also the check's manual page.
//!
//! A check reads what was decided ([`Seen`]) and makes findings. It never calls an engine and never formats a report.
//! The registry is a closed enum: a new check breaks every place that must think about it.

mod acceptance_expired;
mod acceptance_without_finding;
mod actuator_not_moved;
mod alarm_leaves_no_time;
mod alarm_not_before_trip;
mod assumption_expired;
mod assumption_not_owned;
mod bad_signal_counts_as_healthy;
mod bad_signal_not_declared;
mod blind_while_warming_up;
mod broken_line_reads_healthy;
mod cause_without_credit;
mod cause_without_effect;
mod chain;
mod claim_without_situation;
mod clocks_contradict;
mod command_without_obedience;
mod compared;
mod comparison_may_chatter;
mod credit_without_mark;
mod deadband_never_clears;
mod demand_above_capacity;
mod effects_out_of_order;
mod energise_to_trip_line_not_monitored;
mod energise_to_trip_supply_not_secured;
mod energised;
mod exclusion_occurs;
mod fault_defeats_protection;
mod fault_makes_protection_late;
mod harmful_action;
mod hazard_cannot_occur;
mod hazard_not_covered;
mod hazard_not_met_in_time;
mod hazard_without_time;
mod initiator_in_protection;
mod input_not_read;
mod invariant_broken;
mod loop_can_mask;
mod loser_unprotected;
mod loss_forces_forbidden_position;
mod mark_without_influence;
mod mode_cannot_run;
mod mode_without_word;
mod modes_exclude_each_other;
mod no_rescue_from_outside;
mod nobody_can_leave;
mod normal_outside_design;
mod not_armed_where_hazard_exists;
mod one_key_over_two_trips;
mod opposing_commands;
mod override_removes_protection;
mod override_with_people_inside;
mod override_without_limit;
mod reaction_below_scans;
mod reading;
mod release_leaves_hazard;
mod release_not_declared;
mod release_without_warning;
mod safe_states_exclude;
mod sensor_outside_its_rating;
mod set_points_differ_between_trips;
mod set_points_differ_in_vote;
mod shared_part_defeats_protection;
mod signal_ends_too_soon;
mod stop_misses_its_span;
mod stop_reaches_beyond_its_span;
mod supply_does_not_last;
mod timers_in_series;
mod too_few_disjoint_paths;
mod too_few_timely_paths;
mod trip_always_on;
mod trip_cannot_fire;
mod trip_inside_normal;
mod trip_too_slow;
mod trips_share_an_input;
mod vote_cannot_trip;
mod vote_degradation_not_declared;
mod vote_names_one_input_twice;
mod warning_not_given;
mod warning_shorter_than_way_out;
mod words;

use std::collections::BTreeSet;

use crate::assess::Assessment;
use crate::date::Date;
use crate::finding::{Finding, Severity};
use crate::model::{Acceptance, Element, HazardId, ModeId, Model};
use crate::source::Span;

/// What a check may look at.
pub struct Seen<'a> {
    /// The model.
    pub model: &'a Model,
    /// What was decided about it.
    pub assessment: &'a Assessment,
    /// Ids of the findings of the checks before this one, in the order of [`Check::ALL`].
    pub told: BTreeSet<String>,
    /// The day for which expiries are judged; `None`: they are not judged.
    pub date: Option<Date>,
}

macro_rules! checks {
    ($($variant:ident = $name:literal in $module:ident;)*) => {
        /// A check.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Check {
            $(#[doc = concat!("`", $name, "`")] $variant,)*
        }

        impl Check {
            /// Every check, in the order in which reports list equals.
            pub const ALL: &'static [Check] = &[$(Check::$variant,)*];

            /// Its name, kebab-case, named for the defect.
            pub fn name(self) -> &'static str {
                match self {
                    $(Check::$variant => $name,)*
                }
            }

            /// The text of its file, of which the head is its manual page.
            fn text(self) -> &'static str {
                match self {
                    $(Check::$variant => include_str!(concat!("check/", stringify!($module), ".rs")),)*
                }
            }

            /// What it finds.
            pub fn find(self, seen: &Seen<'_>) -> Vec<Finding> {
                match self {
                    $(Check::$variant => $module::find(seen),)*
                }
            }
        }
    };
}

checks! {
    HazardNotCovered = "hazard-not-covered" in hazard_not_covered;
    NobodyCanLeave = "nobody-can-leave" in nobody_can_leave;
    ReleaseLeavesHazard = "release-leaves-hazard" in release_leaves_hazard;
    StopMissesItsSpan = "stop-misses-its-span" in stop_misses_its_span;
    StopReachesBeyondItsSpan = "stop-reaches-beyond-its-span" in stop_reaches_beyond_its_span;
    BlindWhileWarmingUp = "blind-while-warming-up" in blind_while_warming_up;
    TripAlwaysOn = "trip-always-on" in trip_always_on;
    VoteCannotTrip = "vote-cannot-trip" in vote_cannot_trip;
    HarmfulAction = "harmful-action" in harmful_action;
    SafeStatesExclude = "safe-states-exclude" in safe_states_exclude;
    LoserUnprotected = "loser-unprotected" in loser_unprotected;
    FaultDefeatsProtection = "fault-defeats-protection" in fault_defeats_protection;
    TooFewDisjointPaths = "too-few-disjoint-paths" in too_few_disjoint_paths;
    HazardNotMetInTime = "hazard-not-met-in-time" in hazard_not_met_in_time;
    FaultMakesProtectionLate = "fault-makes-protection-late" in fault_makes_protection_late;
    TooFewTimelyPaths = "too-few-timely-paths" in too_few_timely_paths;
    InitiatorInProtection = "initiator-in-protection" in initiator_in_protection;
    OverrideRemovesProtection = "override-removes-protection" in override_removes_protection;
    TripCannotFire = "trip-cannot-fire" in trip_cannot_fire;
    TripTooSlow = "trip-too-slow" in trip_too_slow;
    SignalEndsTooSoon = "signal-ends-too-soon" in signal_ends_too_soon;
    OpposingCommands = "opposing-commands" in opposing_commands;
    CommandWithoutObedience = "command-without-obedience" in command_without_obedience;
    ExclusionOccurs = "exclusion-occurs" in exclusion_occurs;
    InvariantBroken = "invariant-broken" in invariant_broken;
    EffectsOutOfOrder = "effects-out-of-order" in effects_out_of_order;
    DemandAboveCapacity = "demand-above-capacity" in demand_above_capacity;
    LossForcesForbiddenPosition = "loss-forces-forbidden-position" in loss_forces_forbidden_position;
    SharedPartDefeatsProtection = "shared-part-defeats-protection" in shared_part_defeats_protection;
    TripsShareAnInput = "trips-share-an-input" in trips_share_an_input;
    NotArmedWhereHazardExists = "not-armed-where-hazard-exists" in not_armed_where_hazard_exists;
    ModeCannotRun = "mode-cannot-run" in mode_cannot_run;
    ModesExcludeEachOther = "modes-exclude-each-other" in modes_exclude_each_other;
    ModeWithoutWord = "mode-without-word" in mode_without_word;
    HazardCannotOccur = "hazard-cannot-occur" in hazard_cannot_occur;
    ClaimWithoutSituation = "claim-without-situation" in claim_without_situation;
    HazardWithoutTime = "hazard-without-time" in hazard_without_time;
    ClocksContradict = "clocks-contradict" in clocks_contradict;
    BadSignalNotDeclared = "bad-signal-not-declared" in bad_signal_not_declared;
    SensorOutsideItsRating = "sensor-outside-its-rating" in sensor_outside_its_rating;
    NormalOutsideDesign = "normal-outside-design" in normal_outside_design;
    TripInsideNormal = "trip-inside-normal" in trip_inside_normal;
    ReactionBelowScans = "reaction-below-scans" in reaction_below_scans;
    AlarmNotBeforeTrip = "alarm-not-before-trip" in alarm_not_before_trip;
    AlarmLeavesNoTime = "alarm-leaves-no-time" in alarm_leaves_no_time;
    DeadbandNeverClears = "deadband-never-clears" in deadband_never_clears;
    ComparisonMayChatter = "comparison-may-chatter" in comparison_may_chatter;
    LoopCanMask = "loop-can-mask" in loop_can_mask;
    MarkWithoutInfluence = "mark-without-influence" in mark_without_influence;
    ReleaseNotDeclared = "release-not-declared" in release_not_declared;
    ReleaseWithoutWarning = "release-without-warning" in release_without_warning;
    WarningNotGiven = "warning-not-given" in warning_not_given;
    WarningShorterThanWayOut = "warning-shorter-than-way-out" in warning_shorter_than_way_out;
    NoRescueFromOutside = "no-rescue-from-outside" in no_rescue_from_outside;
    BrokenLineReadsHealthy = "broken-line-reads-healthy" in broken_line_reads_healthy;
    BadSignalCountsAsHealthy = "bad-signal-counts-as-healthy" in bad_signal_counts_as_healthy;
    EnergiseToTripLineNotMonitored = "energise-to-trip-line-not-monitored" in energise_to_trip_line_not_monitored;
    EnergiseToTripSupplyNotSecured = "energise-to-trip-supply-not-secured" in energise_to_trip_supply_not_secured;
    SupplyDoesNotLast = "supply-does-not-last" in supply_does_not_last;
    VoteNamesOneInputTwice = "vote-names-one-input-twice" in vote_names_one_input_twice;
    SetPointsDifferInVote = "set-points-differ-in-vote" in set_points_differ_in_vote;
    SetPointsDifferBetweenTrips = "set-points-differ-between-trips" in set_points_differ_between_trips;
    VoteDegradationNotDeclared = "vote-degradation-not-declared" in vote_degradation_not_declared;
    OverrideWithoutLimit = "override-without-limit" in override_without_limit;
    OverrideWithPeopleInside = "override-with-people-inside" in override_with_people_inside;
    OneKeyOverTwoTrips = "one-key-over-two-trips" in one_key_over_two_trips;
    TimersInSeries = "timers-in-series" in timers_in_series;
    CauseWithoutEffect = "cause-without-effect" in cause_without_effect;
    CreditWithoutMark = "credit-without-mark" in credit_without_mark;
    CauseWithoutCredit = "cause-without-credit" in cause_without_credit;
    InputNotRead = "input-not-read" in input_not_read;
    ActuatorNotMoved = "actuator-not-moved" in actuator_not_moved;
    AssumptionNotOwned = "assumption-not-owned" in assumption_not_owned;
    AssumptionExpired = "assumption-expired" in assumption_expired;
    AcceptanceExpired = "acceptance-expired" in acceptance_expired;
    AcceptanceWithoutFinding = "acceptance-without-finding" in acceptance_without_finding;
}

/// The headings of a manual page, in order.
pub const HEADINGS: &[&str] = &[
    "What it checks",
    "Why it matters",
    "How it is decided",
    "What it does not see",
    "Example",
    "How to resolve",
    "References",
];

impl Check {
    /// The check of this name.
    pub fn by_name(name: &str) -> Option<Check> {
        Check::ALL.iter().copied().find(|check| check.name() == name)
    }

    /// Its manual page in Markdown: a title, one sentence, and a section for each of [`HEADINGS`].
    pub fn manual(self) -> String {
        let mut page = format!("# {}\n", self.name());
        for line in self.text().lines() {
            let Some(text) = line.strip_prefix("//!") else { break };
            let text = text.strip_prefix(' ').unwrap_or(text);
            page.push('\n');
            page.push_str(&text.replace("# ", "## "));
        }
        page.push('\n');
        page
    }

    /// The text of one section of the manual page, as one paragraph; empty if there is none.
    pub fn section(self, heading: &str) -> String {
        let manual = self.manual();
        let start = format!("## {heading}");
        let body = manual.lines().skip_while(|line| *line != start).skip(1);
        let lines: Vec<&str> = body.take_while(|line| !line.starts_with("## ")).collect();
        lines.join("\n").trim().to_string()
    }
}

/// All findings of all checks, merged over modes, those of hazards listed under a structural finding that explains
/// them, worst first. With a date, expiries are judged for that day.
pub fn findings(model: &Model, assessment: &Assessment, date: Option<Date>) -> Vec<Finding> {
    let tag = |finding: &Finding| finding.hazard.map(|hazard| model.hazards[hazard].name.tag.clone());
    let mut found: Vec<Finding> = Vec::new();
    for check in Check::ALL {
        let told = found.iter().map(|finding| finding.id(tag(finding).as_deref())).collect();
        for mut finding in check.find(&Seen { model, assessment, told, date }) {
            finding.elements.sort();
            finding.elements.dedup();
            match found.iter_mut().find(|other| same_entry(other, &finding)) {
                Some(entry) => {
                    entry.modes.extend(finding.modes.iter().copied());
                    entry.modes.sort();
                    entry.modes.dedup();
                }
                None => found.push(finding),
            }
        }
    }
    accept(model, date, &mut found);
    list_under(model, &mut found);
    found.sort_by_key(|finding| (finding.severity, finding.check, tag(finding), finding.elements.clone()));
    found
}

/// Whether the last day is before the day for which expiries are judged. The last day itself still counts.
fn passed(date: Option<Date>, last: Option<Date>) -> bool {
    matches!((date, last), (Some(date), Some(last)) if last < date)
}

/// The acceptances that cover a finding of this id on that day.
fn covering<'m>(model: &'m Model, date: Option<Date>, id: &str) -> impl Iterator<Item = &'m Acceptance> {
    let covers = move |acceptance: &&Acceptance| acceptance.findings.iter().any(|(other, _)| other == id);
    model.accepted.iter().filter(covers).filter(move |acceptance| !passed(date, acceptance.expires))
}

/// Marks the findings that the engineer accepts.
fn accept(model: &Model, date: Option<Date>, found: &mut [Finding]) {
    for finding in found {
        let id = finding.id(finding.hazard.map(|hazard| model.hazards[hazard].name.tag.as_str()));
        // What was accepted for one mode is not accepted for another.
        let everywhere = |acceptance: &&Acceptance| {
            finding.modes.iter().all(|mode| acceptance.modes.contains(&model.modes[*mode].name.tag))
        };
        let acceptance = covering(model, date, &id).find(everywhere);
        finding.accepted = acceptance.map(|acceptance| acceptance.name.tag.clone());
    }
}

fn same_entry(a: &Finding, b: &Finding) -> bool {
    a.check == b.check && a.hazard == b.hazard && a.elements == b.elements
}

/// A hazard finding whose lowest cut sets all lie in the elements of a structural finding is listed under it.
fn list_under(model: &Model, found: &mut [Finding]) {
    let structural: Vec<(String, Vec<String>)> = found
        .iter()
        .filter(|finding| {
            matches!(finding.check, Check::TripsShareAnInput | Check::SharedPartDefeatsProtection)
        })
        .map(|finding| (finding.id(None), finding.elements.clone()))
        .collect();
    for finding in found.iter_mut().filter(|finding| !finding.lowest.is_empty()) {
        let explained = structural.iter().find(|(_, elements)| {
            finding.lowest.iter().all(|cut| cut.iter().all(|source| words::lies_in(model, *source, elements)))
        });
        finding.under = explained.map(|(id, _)| id.clone());
    }
}

/// A finding about a hazard in one mode, to be completed by its check.
fn about_hazard(model: &Model, check: Check, hazard: HazardId, mode: ModeId) -> Finding {
    let element = &model.hazards[hazard];
    Finding {
        check,
        severity: Severity::Serious,
        hazard: Some(hazard),
        modes: vec![mode],
        elements: Vec::new(),
        sentence: String::new(),
        witness: None,
        steps: Vec::new(),
        each: Vec::new(),
        place: element.name.span,
        also: Vec::new(),
        lowest: Vec::new(),
        under: None,
        accepted: None,
        requirement: element.requirement.clone(),
    }
}

/// A finding about an element, to be completed by its check.
fn about_element(model: &Model, check: Check, severity: Severity, element: Element, place: Span) -> Finding {
    about_tag(check, severity, model.tag(element), place)
}

/// A finding about something that has a tag and is no element of the plant, to be completed by its check.
fn about_tag(check: Check, severity: Severity, tag: &str, place: Span) -> Finding {
    Finding {
        check,
        severity,
        hazard: None,
        modes: Vec::new(),
        elements: vec![tag.to_string()],
        sentence: String::new(),
        witness: None,
        steps: Vec::new(),
        each: Vec::new(),
        place,
        also: Vec::new(),
        lowest: Vec::new(),
        under: None,
        accepted: None,
        requirement: None,
    }
}
