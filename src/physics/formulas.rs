//! The formulas themselves, over numbers in coherent units. Sources and limits: `docs/calculations.md`.
//!
//! `None` where a formula has no value: a divisor that can be zero, an end that is never reached.

use super::{Bounds, exp_of_negative, ln, pi};
use crate::exact::Exact;

/// `|to - from| / rate`.
pub fn time_at_rate(from: &Bounds, to: &Bounds, rate: &Bounds) -> Option<Bounds> {
    quotient(&(to - from).abs(), rate)
}

/// `amount / rate`: how long something lasts, fills or takes; and a rate, from a power and a heat capacity.
pub fn quotient(amount: &Bounds, rate: &Bounds) -> Option<Bounds> {
    if !rate.is_positive() {
        return None;
    }
    amount.over(rate)
}

/// `R C ln(V0 / V1)`; 0 where the voltage is there already.
pub fn discharge(voltage: &Bounds, to: &Bounds, capacitance: &Bounds, resistance: &Bounds) -> Option<Bounds> {
    if !to.is_positive() {
        return None;
    }
    let ratio = voltage.over(to)?;
    let one = Exact::int(1);
    if *ratio.high() <= one {
        return Some(Bounds::int(0));
    }
    let ratio = Bounds::between(ratio.low().clone().max(one), ratio.high().clone());
    Some(&(resistance * capacitance) * &ln(&ratio)?)
}

/// A ventilated room: all its air is mixed, and only that part of the exhaust that is effective counts.
#[derive(Debug, Clone)]
pub struct Room {
    /// Its volume.
    pub volume: Bounds,
    /// Flow of the pure substance into it.
    pub source: Bounds,
    /// Effective exhaust flow; `None` without exhaust.
    pub exhaust: Option<Bounds>,
    /// Part of the air that is the substance, at the beginning.
    pub start: Bounds,
}

impl Room {
    /// How fast the part rises without regard to any exhaust: `q / V`.
    pub fn rise(&self) -> Option<Bounds> {
        quotient(&self.source, &self.volume)
    }

    /// The part at which it settles: `q / Q`; `None` without exhaust.
    pub fn settled(&self) -> Option<Bounds> {
        quotient(&self.source, self.exhaust.as_ref()?)
    }

    /// The part after a time: `cs + (c0 - cs) e^(-Q t / V)`, and `c0 + q t / V` without exhaust.
    pub fn after(&self, time: &Bounds) -> Option<Bounds> {
        let Some(exhaust) = &self.exhaust else {
            return Some(&self.start + &(&self.rise()? * time));
        };
        let settled = self.settled()?;
        let changes = quotient(&(exhaust * time), &self.volume)?;
        let left = exp_of_negative(&changes);
        Some(&settled + &(&(&self.start - &settled) * &left))
    }

    /// The time until the part is reached: `V / Q ln((c0 - cs) / (c - cs))`; `None` where it is never reached.
    pub fn until(&self, part: &Bounds) -> Option<Bounds> {
        if *part == self.start && part.is_exact() {
            return Some(Bounds::int(0));
        }
        let Some(exhaust) = &self.exhaust else {
            let rising = self.start.at_most(part) && self.source.is_positive();
            return if rising { quotient(&(part - &self.start), &self.rise()?) } else { None };
        };
        let settled = self.settled()?;
        let rising = self.start.at_most(part) && part.below(&settled);
        let falling = settled.below(part) && part.at_most(&self.start);
        if !rising && !falling {
            return None;
        }
        let ratio = (&self.start - &settled).over(&(part - &settled))?;
        let ratio = Bounds::between(ratio.low().clone().max(Exact::int(1)), ratio.high().clone());
        Some(&quotient(&self.volume, exhaust)? * &ln(&ratio)?)
    }
}

/// `pi d² l / 4`.
pub fn cylinder(diameter: &Bounds, length: &Bounds) -> Option<Bounds> {
    (&(&pi() * &(diameter * diameter)) * length).over(&Bounds::int(4))
}

/// `v t + v² / (2 a)`.
pub fn stopping_distance(speed: &Bounds, reaction: &Bounds, deceleration: &Bounds) -> Option<Bounds> {
    let braking = quotient(&(speed * speed), &(&Bounds::int(2) * deceleration))?;
    Some(&(speed * reaction) + &braking)
}

/// `t + v / a`.
pub fn stopping_time(speed: &Bounds, reaction: &Bounds, deceleration: &Bounds) -> Option<Bounds> {
    Some(reaction + &quotient(speed, deceleration)?)
}
