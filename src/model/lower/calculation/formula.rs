//! Each formula: which numbers it wants, which of them make sense together, and how it reads with the numbers put in.

use super::super::Lowering;
use super::super::leaf::written;
use super::Block;
use super::sheet::{Basis, Put, Sheet, Sign, calculated, time};
use crate::exact::Exact;
use crate::model::{Calculated, Formula};
use crate::physics::{self, Bounds, Curtain};
use crate::problem::Problem;
use crate::source::{Scalar, Span};
use crate::syntax::document::{Approach, Discharge, Endurance, PipeFilling, Ramp, Stopping, TimeAtRate};
use crate::syntax::kind::{Figure, StoppingGives};
use crate::unit::{Kind, Measure, Quantity, Unit, rate_kind};

/// Of a formula that every text on the subject has.
const COMMON: &str = "common practice, no source";

const STEADY_RATE: Basis = Basis { assumes: "the rate is steady from the beginning", source: COMMON };
const ALL_HEAT: Basis = Basis {
    assumes: "all the power changes the temperature: nothing is lost, melts or boils, so the real rate is lower",
    source: COMMON,
};
const DECAY: Basis = Basis {
    assumes: "resistance and capacitance are constant, and nothing feeds the capacitor any more",
    source: "any text on electricity",
};
const STEADY_FLOW: Basis = Basis { assumes: "the flow is steady while the pipe fills", source: COMMON };
const STEADY_BRAKE: Basis =
    Basis { assumes: "the deceleration is steady to standstill", source: "any text on mechanics" };
const STEADY_DRAW: Basis =
    Basis { assumes: "the draw is steady, and the store is usable to the last", source: COMMON };
const REACH: Basis = Basis {
    assumes: "nobody reaches faster or farther than the rule says",
    source: "separation distance of ISO 13855, recalled and not verified",
};

/// A formula with its result.
pub(super) type Worked = (Formula, Calculated);

impl Lowering<'_> {
    /// The formula of a calculation with the numbers put in, and its result; `None` where something is wrong with it.
    pub(super) fn worked(&mut self, key: &Scalar, word: &'static str, block: Block) -> Option<Worked> {
        match block {
            Block::TimeAtRate(block) => self.time_at_rate(word, block),
            Block::Ramp(block) => self.ramp(key, word, block),
            Block::Discharge(block) => self.discharge(word, block),
            Block::Room(block) => self.ventilated_room(key, word, block),
            Block::PipeFilling(block) => self.pipe_filling(key, word, block),
            Block::Stopping(block) => self.stopping(word, block),
            Block::Approach(block) => self.approach(key, word, block),
            Block::Endurance(block) => self.endurance(word, block),
        }
    }

    fn time_at_rate(&mut self, word: &'static str, block: &TimeAtRate) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let from =
            self.put(&mut sheet, &block.from, None, Sign::Any, ("from", "from", "value at the beginning"));
        let kind = from.as_ref()?.kind;
        let to = self.put(&mut sheet, &block.to, Some(kind), Sign::Any, ("to", "to", "value at the end"));
        let Some(rated) = rate_kind(kind) else {
            self.no_value(
                block.from.span,
                format!("{} has no rate of change", kind.with_article()),
                "write two values that one becomes the other at a rate, such as two temperatures",
            );
            return None;
        };
        let rate = self.put(
            &mut sheet,
            &block.rate,
            Some(rated),
            Sign::Positive,
            ("rate", "rate", "rate of change"),
        );
        let (from, to, rate) = (from?.bounds, to?.bounds, rate?.bounds);
        let result = physics::time_at_rate(&from, &to, &rate)?;
        Some((sheet.formula(word, "t = |{to} − {from}| / {rate}", &STEADY_RATE), time(&result)))
    }

    fn ramp(&mut self, key: &Scalar, word: &'static str, block: &Ramp) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let power = self.put(
            &mut sheet,
            &block.power,
            Some(Measure::Power.into()),
            Sign::Positive,
            ("P", "power", "power"),
        );
        if block.heat_capacities.entries.is_empty() {
            if written(block.heat_capacities.span) {
                let message = format!("`{}` heats nothing", key.text);
                self.no_value(
                    block.heat_capacities.span,
                    message,
                    "give each thing that is heated with its heat capacity: `{ chamber: 200 kJ/K }`",
                );
            }
            return None;
        }
        let (mut total, mut symbols, mut sound) = (Bounds::int(0), Vec::new(), true);
        for (number, (name, figure)) in block.heat_capacities.entries.iter().enumerate() {
            let symbol = format!("C{}", number + 1);
            let meaning = format!("heat capacity, {}", name.text);
            let called = (symbol.as_str(), "heat_capacities", meaning.as_str());
            match self.put(&mut sheet, figure, Some(Measure::HeatCapacity.into()), Sign::Positive, called) {
                Some(put) => total = &total + &put.bounds,
                None => sound = false,
            }
            symbols.push(format!("{{{symbol}}}"));
        }
        let power = power.filter(|_| sound)?;
        let result = physics::quotient(&power.bounds, &total)?;
        let text = match symbols.as_slice() {
            [only] => format!("r = {{P}} / {only}"),
            more => format!("r = {{P}} / ({})", more.join(" + ")),
        };
        let result = calculated(&result, "K/min", Kind::RateOf(Measure::TemperatureDifference));
        Some((sheet.formula(word, text, &ALL_HEAT), result))
    }

    fn discharge(&mut self, word: &'static str, block: &Discharge) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let (volt, farad, ohm) = (Measure::Voltage, Measure::Capacitance, Measure::Resistance);
        let at_first = ("V0", "voltage", "voltage at the beginning");
        let voltage = self.put(&mut sheet, &block.voltage, Some(volt.into()), Sign::Positive, at_first);
        let at_last = ("V1", "to", "voltage at the end");
        let to = self.put(&mut sheet, &block.to, Some(volt.into()), Sign::Positive, at_last);
        let called = ("C", "capacitance", "capacitance");
        let capacitance =
            self.put(&mut sheet, &block.capacitance, Some(farad.into()), Sign::NotNegative, called);
        let called = ("R", "resistance", "resistance");
        let resistance = self.put(&mut sheet, &block.resistance, Some(ohm.into()), Sign::NotNegative, called);
        let (voltage, to) = (voltage?.bounds, to?.bounds);
        if voltage.at_most(&to) {
            sheet.remark("The voltage is not above the one at the end: nothing is left to wait for.");
        }
        let result = physics::discharge(&voltage, &to, &capacitance?.bounds, &resistance?.bounds)?;
        Some((sheet.formula(word, "t = {R} · {C} · ln({V0} / {V1})", &DECAY), time(&result)))
    }

    fn pipe_filling(&mut self, key: &Scalar, word: &'static str, block: &PipeFilling) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let length = Some(Kind::Of(Measure::Length));
        let (volume, text) = match (&block.volume, &block.inner_diameter, &block.length) {
            (Some(volume), None, None) => {
                let called = ("V", "volume", "volume of the pipe");
                let put =
                    self.put(&mut sheet, volume, Some(Measure::Volume.into()), Sign::NotNegative, called);
                (put?.bounds, "t = {V} / {q}")
            }
            (None, Some(diameter), Some(long)) => {
                let called = ("d", "inner_diameter", "inner diameter");
                let diameter = self.put(&mut sheet, diameter, length, Sign::Positive, called);
                let long = self.put(&mut sheet, long, length, Sign::NotNegative, ("l", "length", "length"));
                (physics::cylinder(&diameter?.bounds, &long?.bounds)?, "t = (π · {d} · {d} · {l} / 4) / {q}")
            }
            _ => {
                self.either(key, "the volume of the pipe", "`volume`, or `inner_diameter` with `length`");
                return None;
            }
        };
        let called = ("q", "flow", "flow into it");
        let flow = self.put(&mut sheet, &block.flow, Some(Measure::Flow.into()), Sign::Positive, called)?;
        let result = physics::quotient(&volume, &flow.bounds)?;
        Some((sheet.formula(word, text, &STEADY_FLOW), time(&result)))
    }

    fn stopping(&mut self, word: &'static str, block: &Stopping) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let called = ("v", "speed", "speed at the beginning");
        let speed =
            self.put(&mut sheet, &block.speed, Some(Measure::Speed.into()), Sign::NotNegative, called);
        let called = ("t", "reaction", "time until the brake acts");
        let reaction =
            self.put(&mut sheet, &block.reaction, Some(Measure::Time.into()), Sign::NotNegative, called);
        let called = ("a", "deceleration", "deceleration");
        let kind = Some(Measure::Acceleration.into());
        let deceleration = self.put(&mut sheet, &block.deceleration, kind, Sign::Positive, called);
        let gives = self.choice(Some(&block.gives), "gives");
        let (speed, reaction, deceleration) = (speed?.bounds, reaction?.bounds, deceleration?.bounds);
        match gives? {
            StoppingGives::Distance => {
                let result = physics::stopping_distance(&speed, &reaction, &deceleration)?;
                let formula = sheet.formula(word, "s = {v} · {t} + {v} · {v} / (2 · {a})", &STEADY_BRAKE);
                Some((formula, calculated(&result, "m", Measure::Length.into())))
            }
            StoppingGives::Time => {
                let result = physics::stopping_time(&speed, &reaction, &deceleration)?;
                Some((sheet.formula(word, "T = {t} + {v} / {a}", &STEADY_BRAKE), time(&result)))
            }
        }
    }

    fn endurance(&mut self, word: &'static str, block: &Endurance) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let holds =
            self.put(&mut sheet, &block.holds, None, Sign::NotNegative, ("A", "holds", "what it holds"))?;
        let stores = [Measure::Volume, Measure::Energy, Measure::Charge, Measure::Mass].map(Kind::from);
        let Some(rate) = rate_kind(holds.kind).filter(|_| stores.contains(&holds.kind)) else {
            let message = format!(
                "`holds` is a volume, an energy, a charge or a mass, not {}",
                holds.kind.with_article()
            );
            self.no_value(
                block.holds.span,
                message,
                "write what the store holds, such as `24 m3` or `60 Ah`",
            );
            return None;
        };
        let called = ("d", "draws", "what is drawn");
        let draws = self.put(&mut sheet, &block.draws, Some(rate), Sign::Positive, called)?;
        let result = physics::quotient(&holds.bounds, &draws.bounds)?;
        Some((sheet.formula(word, "t = {A} / {d}", &STEADY_DRAW), time(&result)))
    }

    fn approach(&mut self, key: &Scalar, word: &'static str, block: &Approach) -> Option<Worked> {
        match (&block.detection_capability, &block.speed, &block.intrusion) {
            (Some(capability), None, None) => self.curtain(key, word, block, capability),
            (None, Some(speed), Some(intrusion)) => self.reach(key, word, block, speed, intrusion),
            _ => {
                self.either(
                    key,
                    "how fast and how far a hand comes",
                    "`detection_capability`, or `speed` with `intrusion`",
                );
                None
            }
        }
    }

    /// With a speed and an intrusion of one's own.
    fn reach(
        &mut self,
        key: &Scalar,
        word: &'static str,
        block: &Approach,
        speed: &Figure,
        intrusion: &Figure,
    ) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let called = ("K", "speed", "speed of approach");
        let speed = self.put(&mut sheet, speed, Some(Measure::Speed.into()), Sign::Positive, called);
        let called = ("C", "intrusion", "distance before detection");
        let intrusion =
            self.put(&mut sheet, intrusion, Some(Measure::Length.into()), Sign::NotNegative, called);
        let asked = self.asked(key, &mut sheet, block)?;
        let (speed, intrusion) = (speed?.bounds, intrusion?.bounds);
        match asked {
            Asked::Distance(span, distance) => {
                let way = &distance - &intrusion;
                if way.low().is_negative() {
                    self.no_value(
                        span,
                        "a hand is there before it is detected: `distance` is less than `intrusion`",
                        "the danger must be farther away: correct one of the two",
                    );
                    return None;
                }
                let result = physics::quotient(&way, &speed)?;
                Some((sheet.formula(word, "T = ({S} − {C}) / {K}", &REACH), time(&result)))
            }
            Asked::Time(passes) => {
                let result = &(&speed * &passes) + &intrusion;
                let result = calculated(&result, "mm", Measure::Length.into());
                Some((sheet.formula(word, "S = {K} · {T} + {C}", &REACH), result))
            }
        }
    }

    /// With the rule for a light curtain.
    fn curtain(
        &mut self,
        key: &Scalar,
        word: &'static str,
        block: &Approach,
        capability: &Figure,
    ) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let called = ("d", "detection_capability", "detection capability");
        let put = self.put(&mut sheet, capability, Some(Measure::Length.into()), Sign::Positive, called);
        let asked = self.asked(key, &mut sheet, block)?;
        let put = put?.bounds;
        // What is detected only when it is greater comes farther; of a calculated capability both ends are asked.
        let curtains = (Curtain::of(&millimetres(put.low())), Curtain::of(&millimetres(put.high())));
        let (Some(best), Some(worst)) = curtains else {
            self.no_value(
                capability.span,
                format!("the rule ends at a detection capability of {} mm", Curtain::UP_TO),
                "give `speed` and `intrusion` of your own instead, with their source under `evidence`",
            );
            return None;
        };
        sheet.constant("C", "by the rule", length(worst.intrusion()));
        sheet.remark(match worst.is_fine() {
            true => {
                "Up to 40 mm: C = 8 · (d − 14 mm), not below 0; K = 2000 mm/s and S at least 100 mm; where that gives \
                 more than 500 mm, K = 1600 mm/s and S at least 500 mm."
            }
            false => "Above 40 mm and up to 70 mm: C = 850 mm; K = 1600 mm/s.",
        });
        match asked {
            Asked::Distance(span, distance) => {
                let (low, high) = (millimetres(distance.low()), millimetres(distance.high()));
                let (Some(least), Some(most)) = (worst.time(&low), best.time(&high)) else {
                    self.no_value(
                        span,
                        "the rule has no distance as short as this, whatever the time",
                        "the curtain must be farther away, or detect smaller things",
                    );
                    return None;
                };
                sheet.constant("K", "by the rule", format!("{} mm/s", worst.speed_at(&low)));
                let result = time(&Bounds::between(least, most));
                Some((sheet.formula(word, "T = ({S} − {C}) / {K}", &REACH), result))
            }
            Asked::Time(passes) => {
                let (near, far) = (best.distance(passes.low()), worst.distance(passes.high()));
                let speed = worst.speed_after(passes.high());
                sheet.constant("K", "by the rule", format!("{speed} mm/s"));
                if far != &(&Exact::int(speed) * passes.high()) + worst.intrusion() {
                    sheet.remark(format!("The least distance of {} counts.", length(&far)));
                }
                let metres = Bounds::between(near, far).over(&Bounds::int(1000))?;
                let result = calculated(&metres, "mm", Measure::Length.into());
                Some((sheet.formula(word, "S = {K} · {T} + {C}", &REACH), result))
            }
        }
    }

    fn asked(&mut self, key: &Scalar, sheet: &mut Sheet, block: &Approach) -> Option<Asked> {
        match (&block.distance, &block.time) {
            (Some(distance), None) => {
                let called = ("S", "distance", "distance to the danger");
                let put = self.put(sheet, distance, Some(Measure::Length.into()), Sign::Positive, called)?;
                Some(Asked::Distance(distance.span, put.bounds))
            }
            (None, Some(time)) => {
                let called = ("T", "time", "time until the danger is over");
                let put: Put =
                    self.put(sheet, time, Some(Measure::Time.into()), Sign::NotNegative, called)?;
                Some(Asked::Time(put.bounds))
            }
            _ => {
                self.either(
                    key,
                    "what is asked for",
                    "`distance`, which gives the time, or `time`, which gives the distance",
                );
                None
            }
        }
    }

    /// Records that one of several ways to say something must be chosen.
    pub(super) fn either(&mut self, key: &Scalar, what: &str, ways: &str) {
        if key.broken {
            return;
        }
        let message = format!("`{}` does not say {what} in one way", key.text);
        let problem = Problem::new("one-way-each", key.span, message, "none, or more than one");
        self.report(problem.help(format!("give {ways}, and nothing else of these")));
    }

    /// Records that a formula has no value for these numbers.
    pub(super) fn no_value(&mut self, span: Span, message: impl Into<String>, help: &str) {
        self.report(Problem::new("no-result", span, message, "no result").help(help));
    }
}

/// What is asked of an approach.
enum Asked {
    Distance(Span, Bounds),
    Time(Bounds),
}

fn millimetres(metres: &Exact) -> Exact {
    metres * &Exact::int(1000)
}

/// A length in mm, for people.
fn length(millimetres: &Exact) -> String {
    let unit = Unit::find("mm").into_iter().next().unwrap_or_else(Unit::none);
    Quantity::written(millimetres, unit).to_string()
}
