//! The defects that are planted: what each does to a model, and which checks must tell it.
//!
//! The defects are those that reviews of cause-and-effect matrices look for: common practice, no source.

use tripproof::check::Check::{self, *};

use super::text::Text;
use super::{causes, inputs, outputs, times};

/// A model with one defect.
pub struct Mutant {
    /// Where it was planted and what stands there now.
    pub place: String,
    pub text: String,
}

impl Mutant {
    pub fn new(place: String, text: String) -> Mutant {
        Mutant { place, text }
    }
}

/// One kind of defect.
pub struct Operator {
    pub name: &'static str,
    pub make: fn(&Text) -> Vec<Mutant>,
    /// Checks of which each may tell this defect; the claims about protection (`PROTECTION`, `LATE`) always may.
    pub expected: &'static [Check],
    /// Whether it is about time: these have a page of their own, over all models.
    pub of_time: bool,
}

/// The checks that tell a hazard whose protection is not as required.
pub const PROTECTION: &[Check] = &[
    HazardNotCovered,
    FaultDefeatsProtection,
    TooFewDisjointPaths,
    InitiatorInProtection,
    OverrideRemovesProtection,
    SharedPartDefeatsProtection,
    NotArmedWhereHazardExists,
];

/// The checks that tell a protection that is too slow.
const LATE: &[Check] = &[HazardNotMetInTime, FaultMakesProtectionLate, TooFewTimelyPaths, TripTooSlow];

/// A defect that only hazards, or these checks too, tell.
const fn of(name: &'static str, make: fn(&Text) -> Vec<Mutant>, expected: &'static [Check]) -> Operator {
    Operator { name, make, expected, of_time: false }
}

/// A defect in time.
const fn of_time(name: &'static str, make: fn(&Text) -> Vec<Mutant>, expected: &'static [Check]) -> Operator {
    Operator { name, make, expected, of_time: true }
}

pub const OPERATORS: &[Operator] = &[
    of(
        "a mark is missing",
        causes::drop_mark,
        &[
            CauseWithoutEffect,
            ActuatorNotMoved,
            StopMissesItsSpan,
            InvariantBroken,
            MarkWithoutInfluence,
            ReleaseLeavesHazard,
            CauseWithoutCredit,
            ReleaseWithoutWarning,
            LossForcesForbiddenPosition,
        ],
    ),
    of(
        "an effect lacks a position",
        causes::drop_position,
        &[ActuatorNotMoved, StopMissesItsSpan, InvariantBroken],
    ),
    of(
        "an effect demands another position",
        causes::turn_effect,
        &[
            HarmfulAction,
            OpposingCommands,
            ActuatorNotMoved,
            StopMissesItsSpan,
            InvariantBroken,
            ModeCannotRun,
            ReleaseWithoutWarning,
            CommandWithoutObedience,
            LoserUnprotected,
            ExclusionOccurs,
            ReleaseLeavesHazard,
        ],
    ),
    of(
        "a vote asks for one more",
        causes::raise_vote,
        &[VoteCannotTrip, VoteDegradationNotDeclared, TripCannotFire],
    ),
    of("a vote asks for one less", causes::lower_vote, &[TripAlwaysOn, HarmfulAction]),
    of(
        "a vote lacks an input",
        causes::drop_voter,
        &[VoteCannotTrip, VoteDegradationNotDeclared, InputNotRead],
    ),
    of("a vote names an input twice", causes::double_voter, &[VoteNamesOneInputTwice, InputNotRead]),
    of("one of several conditions is missing", causes::drop_alternative, &[InputNotRead, StopMissesItsSpan]),
    of("all conditions for one of them", causes::and_for_or, &[TripCannotFire, StopMissesItsSpan]),
    of(
        "a condition the other way round",
        causes::turn_condition,
        &[
            TripAlwaysOn,
            TripCannotFire,
            SetPointsDifferInVote,
            ModeCannotRun,
            StopMissesItsSpan,
            ReleaseLeavesHazard,
            MarkWithoutInfluence,
            BrokenLineReadsHealthy,
        ],
    ),
    of(
        "a set point out of range",
        causes::set_point_out_of_range,
        &[TripCannotFire, SetPointsDifferInVote, MarkWithoutInfluence],
    ),
    of(
        "a set point at the end of the range",
        causes::set_point_at_end,
        &[TripCannotFire, SetPointsDifferInVote, MarkWithoutInfluence],
    ),
    of("a set point where harm begins", causes::set_point_at_harm, &[SetPointsDifferInVote, TripCannotFire]),
    of(
        "two set points exchanged",
        causes::swap_set_points,
        &[TripCannotFire, TripAlwaysOn, SetPointsDifferInVote, MarkWithoutInfluence],
    ),
    of(
        "not armed in a mode",
        causes::disarm,
        &[StopMissesItsSpan, TripCannotFire, InvariantBroken, ReleaseLeavesHazard],
    ),
    of(
        "another rule for inputs out of a vote",
        causes::degraded_vote,
        &[VoteDegradationNotDeclared, VoteCannotTrip],
    ),
    of("another solver evaluates a cause", causes::move_cause, &[]),
    of("a credit is missing", causes::lose_credit, &[CauseWithoutCredit]),
    of(
        "an override takes out more inputs",
        causes::override_more_inputs,
        &[OneKeyOverTwoTrips, OverrideWithPeopleInside],
    ),
    of("an override takes out more at once", causes::override_more_at_once, &[VoteCannotTrip]),
    of("an override in more modes", causes::override_more_modes, &[OverrideWithPeopleInside]),
    of("an override without limit", causes::override_without_limit, &[OverrideWithoutLimit]),
    of(
        "the supply of the other side",
        inputs::swap_supply,
        &[EnergiseToTripSupplyNotSecured, LossForcesForbiddenPosition],
    ),
    of("the route of the other side", inputs::swap_route, &[LossForcesForbiddenPosition]),
    of("the cabinet of the other side", inputs::swap_cabinet, &[LossForcesForbiddenPosition]),
    of("an input in a cabinet of the other side", inputs::into_other_cabinet, &[]),
    of("two inputs over one tap", inputs::share_tap, &[TripsShareAnInput]),
    of("a signal over another tap", inputs::swap_tap, &[TripsShareAnInput]),
    of("fed from the other side", inputs::swap_feed, &[EnergiseToTripSupplyNotSecured]),
    of("fewer feeds", inputs::fewer_feeds, &[EnergiseToTripSupplyNotSecured]),
    of(
        "a supply not secured or not monitored",
        inputs::supply_not_secured,
        &[EnergiseToTripSupplyNotSecured],
    ),
    of(
        "a bad signal counts as healthy",
        inputs::bad_is_healthy,
        &[BadSignalCountsAsHealthy, BadSignalNotDeclared, VoteCannotTrip],
    ),
    of("a lost signal reads healthy", inputs::loss_is_healthy, &[BrokenLineReadsHealthy]),
    of("nobody watches a line", inputs::plain_line, &[EnergiseToTripLineNotMonitored]),
    of(
        "a device a hundred times less exact",
        inputs::inexact,
        &[TripCannotFire, TripAlwaysOn, HazardCannotOccur],
    ),
    of(
        "a sensor observes something else",
        inputs::observes_another,
        &[TripAlwaysOn, TripCannotFire, ModeCannotRun, ReleaseLeavesHazard],
    ),
    of("a loop lacks a contact", inputs::drop_contact, &[ReleaseLeavesHazard]),
    of("nothing finds or holds the faults of a loop", inputs::blind_loop, &[LoopCanMask]),
    of("an input goes to another solver", inputs::rewire, &[InputNotRead]),
    of("a link is not supervised or fails healthy", inputs::weak_link, &[]),
    of("one selector for two", inputs::one_selector, &[]),
    of(
        "another position without energy",
        outputs::flip_without_energy,
        &[
            BrokenLineReadsHealthy,
            EnergiseToTripLineNotMonitored,
            EnergiseToTripSupplyNotSecured,
            LossForcesForbiddenPosition,
            NobodyCanLeave,
            CommandWithoutObedience,
            StopMissesItsSpan,
            ReleaseLeavesHazard,
            ExclusionOccurs,
        ],
    ),
    of(
        "another rest position",
        outputs::flip_rest,
        &[ExclusionOccurs, LossForcesForbiddenPosition, CommandWithoutObedience, ModeCannotRun],
    ),
    of("the process may operate it", outputs::process_operates, &[ExclusionOccurs, OpposingCommands]),
    of(
        "another wiring of drivers",
        outputs::change_wiring,
        &[CommandWithoutObedience, StopMissesItsSpan, ReleaseLeavesHazard, LoserUnprotected],
    ),
    of(
        "a driver is missing",
        outputs::drop_driver,
        &[StopMissesItsSpan, CommandWithoutObedience, CauseWithoutEffect, ReleaseLeavesHazard],
    ),
    of(
        "another solver drives",
        outputs::swap_driver,
        &[
            StopMissesItsSpan,
            CommandWithoutObedience,
            CauseWithoutEffect,
            ReleaseLeavesHazard,
            MarkWithoutInfluence,
        ],
    ),
    of("one more driver", outputs::add_driver, &[CommandWithoutObedience, StopMissesItsSpan]),
    of("two final elements need one store", outputs::share_store, &[]),
    of(
        "another winner between commands",
        outputs::turn_winner,
        &[OpposingCommands, LoserUnprotected, CommandWithoutObedience, HarmfulAction, NobodyCanLeave],
    ),
    of(
        "a release is missing or weaker",
        outputs::remove_release,
        &[NobodyCanLeave, NoRescueFromOutside, ReleaseLeavesHazard],
    ),
    of("a stop must bring more", outputs::wider_span, &[StopMissesItsSpan]),
    of("a discharge warns nobody", outputs::release_unwarned, &[ReleaseWithoutWarning]),
    of("a discharge draws three times as much", outputs::release_draws_more, &[DemandAboveCapacity]),
    of("a coupling is missing", outputs::drop_coupling, &[HarmfulAction, ModeCannotRun, SafeStatesExclude]),
    of("a fault exclusion is missing", outputs::drop_fault_exclusion, &[NobodyCanLeave, ReleaseLeavesHazard]),
    of("a passive device acts too late", outputs::late_passive, &[]),
    of("a solver may start the hazard", outputs::initiator, &[InitiatorInProtection]),
    of("nothing is said of a hazard in a mode", outputs::mode_without_word, &[ModeWithoutWord]),
    of("a trip's own action is forbidden", outputs::forbid_the_action, &[HarmfulAction]),
    of_time(
        "a stage takes ten times as long",
        times::slower,
        &[EffectsOutOfOrder, TimersInSeries, AlarmLeavesNoTime, WarningNotGiven, SignalEndsTooSoon],
    ),
    of_time("the plant changes ten times as fast", times::quicker_plant, &[AlarmLeavesNoTime]),
    of_time("a hazard leaves a tenth of its time", times::less_time, &[AlarmLeavesNoTime]),
    of_time(
        "people need ten times as long",
        times::slower_people,
        &[WarningShorterThanWayOut, AlarmLeavesNoTime],
    ),
    of_time("a signal ends after ten milliseconds", times::short_signal, &[SignalEndsTooSoon]),
    of_time("a sensor warms up for ten minutes", times::warms_up, &[BlindWhileWarmingUp]),
    of_time("a supply lasts a tenth of its time", times::short_supply, &[SupplyDoesNotLast]),
    of_time(
        "ten times the warning, or a tenth",
        times::other_warning,
        &[WarningNotGiven, WarningShorterThanWayOut],
    ),
    of_time("an effect comes sooner", times::too_soon, &[EffectsOutOfOrder, WarningNotGiven]),
    of_time("a scan takes ten times as long", times::slow_scan, &[ReactionBelowScans]),
];

impl Operator {
    /// Every mutant of a model; what leaves the text as it was is none.
    pub fn mutants(&self, text: &Text) -> Vec<Mutant> {
        (self.make)(text).into_iter().filter(|mutant| mutant.text != text.text).collect()
    }

    /// Whether a finding of this check is what the defect must lead to.
    pub fn expects(&self, check: Check) -> bool {
        PROTECTION.contains(&check) || LATE.contains(&check) || self.expected.contains(&check)
    }
}
