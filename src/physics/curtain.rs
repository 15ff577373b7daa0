//! The separation distance of a light curtain with upright field, `S = K T + C` in ISO 13855; recalled, not verified.
//!
//! Lengths in mm, speeds in mm/s, times in seconds.

use crate::exact::Exact;

/// Greatest detection capability of a curtain that sees fingers and hands.
const FINE_UP_TO: i64 = 40;
/// Greatest detection capability of a curtain that sees arms.
const COARSE_UP_TO: i64 = 70;
/// Least distance of a curtain for hands.
const LEAST_DISTANCE: i64 = 100;
/// Distance above which the slower speed counts for hands, and the least distance from then on.
const SLOWER_ABOVE: i64 = 500;

/// A light curtain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Curtain {
    fine: bool,
    intrusion: Exact,
}

impl Curtain {
    /// Greatest detection capability that the rule knows.
    pub const UP_TO: i64 = COARSE_UP_TO;

    /// The rule for a detection capability; `None` above 70 mm.
    ///
    /// C is `8 (d - 14)` and not below 0 for hands, 850 mm for arms.
    pub fn of(capability: &Exact) -> Option<Curtain> {
        if *capability <= Exact::int(FINE_UP_TO) {
            let intrusion = (&Exact::int(8) * &(capability - &Exact::int(14))).max(Exact::zero());
            return Some(Curtain { fine: true, intrusion });
        }
        let known = *capability <= Exact::int(COARSE_UP_TO);
        known.then(|| Curtain { fine: false, intrusion: Exact::int(850) })
    }

    /// Whether it sees fingers and hands.
    pub fn is_fine(&self) -> bool {
        self.fine
    }

    /// How far a part of the body comes before it is detected, C.
    pub fn intrusion(&self) -> &Exact {
        &self.intrusion
    }

    /// The distance for a time.
    ///
    /// For hands K is 2000 mm/s and the distance at least 100 mm; where that gives more than 500 mm, K is 1600 mm/s and
    /// the distance at least 500 mm. For arms K is 1600 mm/s.
    pub fn distance(&self, time: &Exact) -> Exact {
        let speed = self.speed_after(time);
        let distance = &(&Exact::int(speed) * time) + &self.intrusion;
        match (self.fine, speed) {
            (false, _) => distance,
            (true, 2000) => distance.max(Exact::int(LEAST_DISTANCE)),
            (true, _) => distance.max(Exact::int(SLOWER_ABOVE)),
        }
    }

    /// The longest time whose distance is not above this one; `None` where every distance is.
    pub fn time(&self, distance: &Exact) -> Option<Exact> {
        if self.fine && *distance < Exact::int(LEAST_DISTANCE) {
            return None;
        }
        let time = (distance - &self.intrusion).checked_div(&Exact::int(self.speed_at(distance)))?;
        (!time.is_negative()).then_some(time)
    }

    /// The speed K that counts for a time.
    pub fn speed_after(&self, time: &Exact) -> i64 {
        let near = &(&Exact::int(2000) * time) + &self.intrusion;
        if !self.fine || near > Exact::int(SLOWER_ABOVE) { 1600 } else { 2000 }
    }

    /// The speed K that counts for a distance.
    pub fn speed_at(&self, distance: &Exact) -> i64 {
        if !self.fine || *distance >= Exact::int(SLOWER_ABOVE) { 1600 } else { 2000 }
    }
}
