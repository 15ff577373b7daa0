//! The concentration in a ventilated room: which question is asked, and when it has no answer.

use super::super::Lowering;
use super::formula::Worked;
use super::sheet::{Basis, Sheet, Sign, calculated, time};
use crate::exact::Exact;
use crate::physics::{Bounds, Room};
use crate::problem::Problem;
use crate::source::{Scalar, Span};
use crate::syntax::document::VentilatedRoom;
use crate::syntax::kind::{Figure, RoomGives};
use crate::unit::{Kind, Measure};

const BASIS: Basis = Basis {
    assumes: "the air is mixed everywhere; near the source it is richer",
    source: "balance of the substance in the room; common practice, no source",
};

/// What is asked.
enum Question<'d> {
    After(&'d Figure),
    Until(&'d Figure),
    Settled(Span),
    Rise,
}

/// In what concentrations are told: parts of the volume, or of the lower flammable limit.
struct Scale {
    kind: Kind,
    /// The whole of the volume in the base unit of the kind.
    whole: Bounds,
    flammable: bool,
}

impl Scale {
    fn part(&self, concentration: &Bounds) -> Option<Bounds> {
        concentration.over(&self.whole)
    }

    fn concentration(&self, part: &Bounds) -> Bounds {
        part * &self.whole
    }

    /// Behind a part of the volume in a formula.
    fn of_limit(&self) -> &'static str {
        if self.flammable { " / {LFL}" } else { "" }
    }

    fn unit(&self, concentration: &Bounds) -> &'static str {
        match self.flammable {
            true => "%LFL",
            false if *concentration.high() < Exact::int(1000) => "ppm",
            false => "%vol",
        }
    }
}

impl Lowering<'_> {
    pub(super) fn ventilated_room(
        &mut self,
        key: &Scalar,
        word: &'static str,
        block: &VentilatedRoom,
    ) -> Option<Worked> {
        let mut sheet = Sheet::default();
        let question = self.question(key, block);
        let called = ("V", "volume", "volume of the room");
        let volume =
            self.put(&mut sheet, &block.volume, Some(Measure::Volume.into()), Sign::Positive, called);
        let called = ("q", "source", "flow of the pure substance");
        let source =
            self.put(&mut sheet, &block.source, Some(Measure::Flow.into()), Sign::NotNegative, called);
        let scale = self.scale(&mut sheet, block);
        // What the question leaves out of account is examined all the same.
        let exhaust = self.exhaust(&mut sheet, key, block);
        let scale = scale?;
        let start = self.start(&mut sheet, key, block, &scale);
        let (question, volume, source) = (question?, volume?.bounds, source?.bounds);
        let room = Room { volume, source, exhaust: exhaust?, start: start? };
        self.answer(sheet, word, &question, &room, &scale)
    }

    fn question<'d>(&mut self, key: &Scalar, block: &'d VentilatedRoom) -> Option<Question<'d>> {
        match (&block.after, &block.until, &block.gives) {
            (Some(after), None, None) => Some(Question::After(after)),
            (None, Some(until), None) => Some(Question::Until(until)),
            (None, None, Some(gives)) => match self.choice(Some(gives), "gives")? {
                RoomGives::Settled => Some(Question::Settled(gives.word.span)),
                RoomGives::Rise => Some(Question::Rise),
            },
            _ => {
                self.either(key, "what is asked for", "one of `after`, `until` and `gives`");
                None
            }
        }
    }

    fn scale(&mut self, sheet: &mut Sheet, block: &VentilatedRoom) -> Option<Scale> {
        let volume = Kind::Of(Measure::VolumeFraction);
        let Some(leaf) = &block.lower_flammable_limit else {
            return Some(Scale { kind: volume, whole: Bounds::int(1_000_000), flammable: false });
        };
        let called = ("LFL", "lower_flammable_limit", "lower flammable limit");
        let limit = self.put(sheet, leaf, Some(volume), Sign::Positive, called)?.bounds;
        if *limit.high() > Exact::int(1_000_000) {
            self.no_value(
                leaf.span,
                "`lower_flammable_limit` is at most 100 %vol",
                "write the limit as a part of the volume, such as `4.4 %vol`",
            );
            return None;
        }
        // 100 %LFL is the limit: a part of 1 is 100 times 1,000,000 ppm / limit of it.
        let whole = Bounds::int(100_000_000).over(&limit)?;
        Some(Scale { kind: Measure::LowerFlammableLimit.into(), whole, flammable: true })
    }

    /// The effective exhaust; the outer `None` where it is wrong.
    fn exhaust(&mut self, sheet: &mut Sheet, key: &Scalar, block: &VentilatedRoom) -> Option<Option<Bounds>> {
        let Some(exhaust) = &block.exhaust else {
            if let Some(mixing) = &block.mixing {
                self.needless_key(
                    mixing.span,
                    "mixing",
                    "it is the effective part of an exhaust, and there is none",
                );
            }
            return Some(None);
        };
        let called = ("Q", "exhaust", "flow of the exhaust");
        let flow = self.put(sheet, exhaust, Some(Measure::Flow.into()), Sign::Positive, called);
        let Some(written) = &block.mixing else {
            self.missing_key(
                key,
                "mixing",
                "say which part of the exhaust is effective, above 0 and up to 1; nobody knows it but you",
            );
            return None;
        };
        let mixing = self.part_of_one(Some(written), "mixing")?;
        sheet.constant("m", "part of the exhaust that is effective", written.text.clone());
        Some(Some(&flow?.bounds * &Bounds::exactly(mixing)))
    }

    fn start(
        &mut self,
        sheet: &mut Sheet,
        key: &Scalar,
        block: &VentilatedRoom,
        scale: &Scale,
    ) -> Option<Bounds> {
        let called = ("c0", "start", "concentration at the beginning");
        let Some(leaf) = &block.start else {
            if block.after.is_some() || block.until.is_some() {
                let none = if scale.flammable { "0 %LFL" } else { "0 ppm" };
                let why = format!("say how much there is at the beginning; where there is nothing, `{none}`");
                self.missing_key(key, "start", why);
                return None;
            }
            // Where it settles and how fast it rises do not depend on it.
            return Some(Bounds::int(0));
        };
        let start = self.put(sheet, leaf, Some(scale.kind), Sign::NotNegative, called)?.bounds;
        self.part_of_air(leaf.span, scale.part(&start)?)
    }

    /// A part of the volume, which is at most all of it.
    fn part_of_air(&mut self, span: Span, part: Bounds) -> Option<Bounds> {
        if *part.high() <= Exact::int(1) {
            return Some(part);
        }
        let problem = Problem::new(
            "no-result",
            span,
            "that would be more of the substance than the room has air",
            "more than 100 %vol",
        );
        self.report(problem.help("correct the flows or the time: the formula counts small concentrations"));
        None
    }

    fn answer(
        &mut self,
        mut sheet: Sheet,
        word: &'static str,
        question: &Question,
        room: &Room,
        scale: &Scale,
    ) -> Option<Worked> {
        let limit = scale.of_limit();
        let settled = format!("cs = {{q}} / ({{m}} · {{Q}}){limit}");
        match question {
            Question::Rise => {
                let rate = scale.concentration(&room.rise()?);
                let (unit, kind) = match scale.flammable {
                    true => ("%LFL/s", Measure::LowerFlammableLimit),
                    false => ("%vol/s", Measure::VolumeFraction),
                };
                sheet.operands.retain(|operand| !["c0", "Q", "m"].contains(&operand.symbol.as_str()));
                if room.exhaust.is_some() {
                    sheet.remark("The exhaust is left out of account: the rise is the fastest.");
                }
                let formula = sheet.formula(word, format!("r = {{q}} / {{V}}{limit}"), &BASIS);
                Some((formula, calculated(&rate, unit, Kind::RateOf(kind))))
            }
            Question::Settled(span) => {
                let Some(part) = room.settled() else {
                    self.no_value(
                        *span,
                        "without an exhaust it never settles",
                        "give `exhaust` with `mixing`, or ask for `gives: rise`",
                    );
                    return None;
                };
                let part = self.part_of_air(*span, part)?;
                sheet.operands.retain(|operand| !["c0", "V"].contains(&operand.symbol.as_str()));
                Some((sheet.formula(word, settled, &BASIS), concentration(scale, &part)))
            }
            Question::After(leaf) => {
                let called = ("t", "after", "time");
                let put =
                    self.put(&mut sheet, leaf, Some(Measure::Time.into()), Sign::NotNegative, called)?;
                let part = self.part_of_air(leaf.span, room.after(&put.bounds)?)?;
                let text = match &room.exhaust {
                    None => format!("c = {{c0}} + {{q}} · {{t}} / {{V}}{limit}"),
                    Some(_) => {
                        format!("c = cs + ({{c0}} − cs) · e^(−{{m}} · {{Q}} · {{t}} / {{V}}) with {settled}")
                    }
                };
                Some((sheet.formula(word, text, &BASIS), concentration(scale, &part)))
            }
            Question::Until(leaf) => {
                let called = ("c", "until", "concentration at the end");
                let put = self.put(&mut sheet, leaf, Some(scale.kind), Sign::NotNegative, called)?;
                let part = self.part_of_air(leaf.span, scale.part(&put.bounds)?)?;
                let Some(found) = room.until(&part) else {
                    self.never(leaf, room, scale);
                    return None;
                };
                let text = match (&room.exhaust, scale.flammable) {
                    (None, false) => "t = ({c} − {c0}) · {V} / {q}".to_string(),
                    (None, true) => "t = ({c} − {c0}) · {LFL} · {V} / {q}".to_string(),
                    (Some(_), _) => {
                        format!(
                            "t = {{V}} / ({{m}} · {{Q}}) · ln(({{c0}} − cs) / ({{c}} − cs)) with {settled}"
                        )
                    }
                };
                Some((sheet.formula(word, text, &BASIS), time(&found)))
            }
        }
    }

    fn never(&mut self, leaf: &Scalar, room: &Room, scale: &Scale) {
        let (start, _) = concentration(scale, &room.start).short();
        let ends = match room.settled() {
            Some(settled) => format!("settles at {}", concentration(scale, &settled).short().0),
            None if room.source.is_positive() => "only rises".to_string(),
            None => "stays there".to_string(),
        };
        let message = format!("`{}` is never reached: it begins at {start} and {ends}", leaf.text.trim());
        self.report(
            Problem::new("no-result", leaf.span, message, "never reached").help(
                "ask for a concentration between the two, or for where it settles with `gives: settled`",
            ),
        );
    }
}

fn concentration(scale: &Scale, part: &Bounds) -> crate::model::Calculated {
    let found = scale.concentration(part);
    let unit = scale.unit(&found);
    calculated(&found, unit, scale.kind)
}
