//! Tests of the units against their definitions.
//!
//! Sources: "SI" is the SI Brochure (BIPM, 9th edition), prefixes, Tables 7 and 8, and the definition of the
//! degree Celsius. Fahrenheit values are from memory. Values marked "demo hall" are those of the project's example.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use proptest::prelude::*;

use super::Measure::*;
use super::*;
use crate::problem::Problem;
use crate::source::Scalar;
use crate::source::Span;

fn scalar(text: &str) -> Scalar {
    Scalar { text: text.into(), span: Span::new(100, 100 + text.len()), quoted: false, broken: false }
}

fn q(text: &str, kind: impl Into<Kind>) -> Quantity {
    parse_quantity(&scalar(text), kind.into()).unwrap_or_else(|p| panic!("{text}: {p:?}"))
}

fn wrong(text: &str, kind: impl Into<Kind>) -> Problem {
    parse_quantity(&scalar(text), kind.into()).expect_err(text).remove(0)
}

/// The marked text, whatever the problem.
fn marked<'a>(text: &'a str, problem: &Problem) -> &'a str {
    &text[problem.span.start - 100..problem.span.end - 100]
}

#[test]
fn values_in_two_units_are_exactly_equal() {
    let equal: &[(Kind, &str, &str)] = &[
        (Time.into(), "1 h", "3600 s"), // SI
        (Time.into(), "1 d", "24 h"),   // SI
        (Time.into(), "80 ms", "0.08 s"),
        (Temperature.into(), "-40 degC", "-40 degF"), // from memory
        (Temperature.into(), "100 degC", "212 degF"), // from memory
        (Pressure.into(), "1 bar", "100 kPa"),        // SI
        (Pressure.into(), "6.5 barg", "6500 mbar"),
        (Pressure.into(), "1 mbar", "1 hPa"),
        (AbsolutePressure.into(), "1 bara", "1000 hPaa"),
        (VolumeFraction.into(), "3 %vol", "30000 ppm"),
        (VolumeFraction.into(), "1 ppm", "1000 ppb"),
        (Resistance.into(), "0.11 Mohm", "110000 ohm"), // demo hall
        (Energy.into(), "1 kWh", "3.6 MJ"),             // SI
        (Charge.into(), "1 Ah", "3600 C"),              // SI: 1 A = 1 C/s
        (Charge.into(), "1000 mAh", "1 Ah"),
        (Capacitance.into(), "12 mF", "12000 uF"),       // SI
        (HeatCapacity.into(), "200 kJ/K", "200000 J/K"), // SI
        (Acceleration.into(), "0.5 m/s2", "0.5 m/s/s"),  // SI
        (Volume.into(), "1 m3", "1000 L"),               // SI
        (Flow.into(), "5400 m3/h", "1.5 m3/s"),
        (Flow.into(), "60 L/min", "1 L/s"),
        (Mass.into(), "1 t", "1000 kg"), // SI
        (MassFlow.into(), "1 kg/s", "3600 kg/h"),
        (MassFlow.into(), "3.6 t/h", "1 kg/s"),
        (Speed.into(), "1 m/s", "60 m/min"),
        (RotationalSpeed.into(), "3000 rpm", "3000 1/min"),
        (DoseRate.into(), "1 mSv/h", "1000 uSv/h"),
        (MassConcentration.into(), "5 mg/m3", "0.005 g/m3"),
        (Kind::RateOf(TemperatureDifference), "3 K/min", "0.05 K/s"),
        (Kind::RateOf(Voltage), "5 mV/s", "0.3 V/min"),
        (Kind::RateOf(Pressure), "0.25 bar/s", "25 kPa/s"),
        (Kind::RateOf(Flow), "3600 m3/h/s", "1 m3/s/s"),
        (Power.into(), "1 kW", "1 kWh/h"),
        (Current.into(), "3600 C/h", "1 A"),
    ];
    for (kind, left, right) in equal {
        let (left_q, right_q) = (q(left, *kind), q(right, *kind));
        assert_eq!(left_q.compare(&right_q), Some(Ordering::Equal), "{left} and {right}");
        assert_eq!(left_q.to(right_q.unit()).map(|x| x.to_string()).as_deref(), Some(*right));
    }
}

#[test]
fn every_unit_is_sound_and_found_under_its_kind() {
    for named in TABLE {
        assert!(named.factor.0 > 0 && named.factor.1 > 0 && named.offset.1 > 0, "{}", named.name);
        assert!(Unit::find(named.name).len() <= 2);
        for kind in [Some(Kind::Of(named.measure)), rate_kind(named.measure.into())].into_iter().flatten() {
            assert!(!kind.units().is_empty(), "{kind}");
            for unit in kind.units() {
                assert_eq!(unit.kind(), kind, "{unit}");
                assert_eq!(resolve(&unit.to_string(), kind), Ok(unit), "{unit}");
                let number = Exact::parse_decimal("12.5").unwrap();
                assert_eq!(unit.from_base(&unit.to_base(&number)), number, "{unit}");
            }
        }
    }
    for (measure, ..) in NAMES {
        assert!(
            *measure == Count
                || Kind::Of(*measure).units().iter().any(|u| u.to_base(&Exact::int(1)) == Exact::int(1)
                    || matches!(measure, Temperature | Flow | Charge | Energy)),
            "{measure:?} has no base unit in the table"
        );
    }
}

#[test]
fn quantities_print_as_they_were_written() {
    for (text, kind) in [
        ("40 %LFL", Kind::Of(LowerFlammableLimit)),
        ("-0.5 kPa", Pressure.into()),
        ("80 ms", Time.into()),
        ("95 degF", Temperature.into()),
        ("3 K/min", Kind::RateOf(TemperatureDifference)),
        ("0.254 %LFL/s", Kind::RateOf(LowerFlammableLimit)),
        ("5400 m3/h", Flow.into()),
        ("10 1/h", AirChanges.into()),
        ("3", Count.into()),
    ] {
        assert_eq!(q(text, kind).to_string(), text);
    }
    assert_eq!(q("  40   %LFL ", LowerFlammableLimit).to_string(), "40 %LFL");
    let third = Quantity::from_base(Exact::int(1200), q("1 h", Time).unit());
    assert_eq!(third.to_string(), "1/3 h");
}

#[test]
fn kinds_of_differences_and_rates_follow_the_quantity() {
    assert_eq!(difference_kind(Temperature.into()), TemperatureDifference.into());
    assert_eq!(difference_kind(AbsolutePressure.into()), Pressure.into());
    assert_eq!(difference_kind(Voltage.into()), Voltage.into());
    assert_eq!(rate_kind(Temperature.into()), Some(Kind::RateOf(TemperatureDifference)));
    assert_eq!(rate_kind(Volume.into()), Some(Flow.into()));
    assert_eq!(rate_kind(Time.into()), None);
    assert_eq!(rate_kind(Kind::RateOf(Voltage)), None);
    assert_eq!(Kind::RateOf(TemperatureDifference).to_string(), "rate of change of temperature");
    assert_eq!(Kind::from(Pressure).such_as(), "bar, kPa or mbar");
    assert_eq!(Kind::from(AbsolutePressure).with_article(), "an absolute pressure");
}

#[test]
fn kinds_never_mix() {
    for (text, kind, help) in [
        ("3 degC", Kind::Of(TemperatureDifference), "a difference is in K: write `3 K`"),
        ("3 bar", AbsolutePressure.into(), "gauge is not absolute; write a unit such as bara, kPaa or mbara"),
        ("3 bara", Pressure.into(), "absolute is not gauge; write a unit such as bar, kPa or mbar"),
        ("3 %", LowerFlammableLimit.into(), "write a unit such as %LFL"),
        ("3 %", VolumeFraction.into(), "write a unit such as ppm, %vol or ppb"),
        ("3 %LFL", VolumeFraction.into(), "write a unit such as ppm, %vol or ppb"),
        ("85 C", Temperature.into(), "C is the coulomb; write degC"),
        ("5 m", Time.into(), "m is the metre; write min"),
        ("1 rpm", Frequency.into(), "write a unit such as Hz or kHz"),
        ("5 K", Kind::RateOf(TemperatureDifference), "write a unit such as K/s, K/min or K/h"),
        ("5 ms", Count.into(), "write the number alone"),
    ] {
        let problem = wrong(text, kind);
        assert_eq!(problem.code, "wrong-kind-of-unit", "{text}");
        assert_eq!(problem.help.as_deref(), Some(help), "{text}");
        assert_eq!(marked(text, &problem), text.split(' ').nth(1).unwrap());
    }
    assert_eq!(
        wrong("3 bar", Temperature).message,
        "`bar` is a unit of gauge pressure or pressure difference, but a temperature is due"
    );
}

#[test]
fn wrong_spellings_of_units_are_told_the_right_one() {
    let rate = Kind::RateOf(TemperatureDifference);
    for (text, kind, help) in [
        ("40 %LEL", Kind::Of(LowerFlammableLimit), "write %LFL: the lower flammable limit has one name here"),
        ("40 % LFL", LowerFlammableLimit.into(), "write %LFL"),
        ("85 °C", Temperature.into(), "write degC"),
        ("85 deg C", Temperature.into(), "write degC"),
        ("5 sec", Time.into(), "write s"),
        ("5 µs", Time.into(), "write us"),
        ("5 Sec", Time.into(), "write s"),
        ("6 Bar", Pressure.into(), "did you mean bar?"),
        ("6 kpa", Pressure.into(), "did you mean kPa?"),
        ("6 bar g", Pressure.into(), "write barg"),
        ("3 °C/min", rate, "write K/min"),
        ("3 degC/min", rate, "write K/min"),
        ("3 K / min", rate, "write K/min"),
        ("3 K/sec", rate, "write K/s"),
        ("3 K/mim", rate, "did you mean K/min?"),
        ("1 m³/h", Flow.into(), "write m3/h"),
        ("1 l/min", Flow.into(), "write L/min"),
        ("1 V DC", Voltage.into(), "write V"),
        ("1 kΩ", Resistance.into(), "write kohm"),
        ("2 %CO2", VolumeFraction.into(), "write %vol"),
        (
            "12 months",
            Time.into(),
            "write days, `d`: weeks, months and years are not used, most have no one length",
        ),
        ("12 furlongs", Length.into(), "write a unit such as m, mm or cm"),
        ("12 v", Voltage.into(), "did you mean V?"),
    ] {
        let problem = wrong(text, kind);
        assert_eq!((problem.code, problem.help.as_deref()), ("unknown-unit", Some(help)), "{text}");
        assert_eq!(marked(text, &problem), text.split_once(' ').unwrap().1);
    }
}

#[test]
fn unit_slips_that_change_the_size_are_not_taken_for_another_unit() {
    // `Ml`, `MS` and `M3` must be asked about, never read.
    for (text, kind) in
        [("1 Ml", Volume), ("1 MS", Time), ("1 M3", Volume), ("1 mW", Power), ("1 mohm", Resistance)]
    {
        assert_eq!(wrong(text, kind).code, "unknown-unit", "{text}");
    }
}

#[test]
fn wrong_forms_of_values_are_marked_and_told_the_right_form() {
    let long = "1234567890123456789012345678901 V";
    for (text, kind, mark, help) in [
        ("6bar", Kind::Of(Pressure), "6bar", "write `6 bar`"),
        ("25%LEL", LowerFlammableLimit.into(), "25%LEL", "write `25 %LFL`"),
        ("5,5 V", Voltage.into(), "5,5", "write `5.5 V`"),
        ("5,5V", Voltage.into(), "5,5V", "write `5.5 V`"),
        ("1e3 Pa", Pressure.into(), "1e3", "write `1000 Pa`"),
        (".5 s", Time.into(), ".5", "write `0.5 s`"),
        ("1/2 s", Time.into(), "1/2", "write `0.5 s`"),
        ("- 30 degC", Temperature.into(), "- 30 degC", "write `-30 degC`"),
        ("±3 K", TemperatureDifference.into(), "±3", "write `3 K`"),
        (
            "1,090 V",
            Voltage.into(),
            "1,090",
            "write `1090 V` without a thousands separator, or `1.090 V` if the comma marks decimals",
        ),
        ("about 5 V", Voltage.into(), "about", "write a decimal number such as `12.5`"),
        ("40", LowerFlammableLimit.into(), "40", "write a unit such as %LFL: `40 %LFL`"),
        ("6", Pressure.into(), "6", "write a unit such as bar, kPa or mbar: `6 bar`"),
        ("", Pressure.into(), "", "write a number and a unit, such as `5 bar`"),
        (
            long,
            Voltage.into(),
            &long[..31],
            "a number has at most 30 digits; write it in a larger or smaller unit",
        ),
    ] {
        let problem = wrong(text, kind);
        assert_eq!((marked(text, &problem), problem.help.as_deref()), (mark, Some(help)), "{text}");
    }
}

#[test]
fn degrees_celsius_are_kept_in_kelvin_exactly() {
    // SI Brochure: t/degC = T/K - 273.15.
    for (text, kelvin) in [("0 degC", "273.15"), ("85 degC", "358.15"), ("-273.15 degC", "0")] {
        assert_eq!(q(text, Temperature).value(), &Exact::parse_decimal(kelvin).unwrap());
    }
}

#[test]
fn a_temperature_in_kelvin_is_refused_with_what_it_would_mean() {
    let problem = wrong("120 K", Temperature);
    assert_eq!((problem.code, marked("120 K", &problem)), ("temperature-in-kelvin", "K"));
    assert_eq!(
        problem.message,
        "`120 K` would be `-153.15 degC`: a temperature is written in degC, a difference in K"
    );
    assert_eq!(
        problem.help.as_deref(),
        Some("write `120 degC`; if the absolute temperature is meant, `-153.15 degC`")
    );
    let below = wrong("-20 K", Temperature);
    assert_eq!(below.message, "`-20 K` is below absolute zero; a temperature is written in degC");
    assert_eq!(below.help.as_deref(), Some("write `-20 degC`"));
    assert_eq!(q("120 K", TemperatureDifference).to_string(), "120 K");
}

#[test]
fn nothing_is_colder_than_absolute_zero() {
    assert!(q("-273.15 degC", Temperature).value().is_zero());
    let problem = wrong("-273.16 degC", Temperature);
    assert_eq!(problem.message, "`-273.16 degC` is below absolute zero (0 K, -273.15 degC)");
    assert_eq!(problem.span, Span::new(100, 112));
    assert!(problem.help.is_some());
    assert_eq!(wrong("-1 bara", AbsolutePressure).code, "below-zero");
}

#[test]
fn ranges_lend_the_unit_of_the_upper_end() {
    let range = |text: &str, kind: Measure| {
        let range = parse_range(&scalar(text), kind.into()).unwrap_or_else(|p| panic!("{text}: {p:?}"));
        (range.low.to_string(), range.high.to_string())
    };
    let pair = |a: &str, b: &str| (a.to_string(), b.to_string());
    assert_eq!(range("0 .. 100 %LFL", LowerFlammableLimit), pair("0 %LFL", "100 %LFL"));
    assert_eq!(range("-30 .. 70 degC", Temperature), pair("-30 degC", "70 degC"));
    assert_eq!(range("-30 degC .. 70 degC", Temperature), pair("-30 degC", "70 degC"));
    assert_eq!(range("-20 Pa .. 1 kPa", Pressure), pair("-20 Pa", "1 kPa"));
    assert_eq!(range("0..25 %vol", VolumeFraction), pair("0 %vol", "25 %vol"));
    assert_eq!(range("1 .. 3", Count), pair("1", "3"));
}

#[test]
fn wrong_ranges_are_marked_exactly() {
    for (text, expected) in [
        ("100 .. 0 %LFL", "100 .. 0 %LFL: the range starts at `100 %LFL`, which is above its end `0 %LFL`"),
        ("0 - 100 %LFL", "0 - 100 %LFL: `0 - 100 %LFL` is not a range"),
        ("0 .. 100", "100: `100` has no unit: a fraction of the lower flammable limit is due"),
        ("0 %LFL .. 100", "100: `100` has no unit: a fraction of the lower flammable limit is due"),
        ("0 .. ", "0 ..: a range has one lower and one upper end"),
        ("0 .. 5 .. 9 %LFL", "0 .. 5 .. 9 %LFL: a range has one lower and one upper end"),
        ("0 ... 9 %LFL", "0 ... 9 %LFL: a range has one lower and one upper end"),
        ("0 .. 100 %LEL", "%LEL: `%LEL` is not a unit"),
        (
            "0 bar .. 100 V",
            "bar: `bar` is a unit of gauge pressure or pressure difference, but a fraction of the lower flammable limit is due | V: `V` is a unit of voltage, but a fraction of the lower flammable limit is due",
        ),
        ("x .. 1,5 %LFL", "x: `x` is not a number | 1,5: `1,5` is not a number"),
    ] {
        let problems = parse_range(&scalar(text), LowerFlammableLimit.into()).expect_err(text);
        let all: Vec<String> =
            problems.iter().map(|p| format!("{}: {}", marked(text, p), p.message)).collect();
        assert_eq!(all.join(" | "), expected);
    }
    let one_value = |read: fn(&Scalar, Kind) -> Result<Range, Vec<Problem>>| {
        read(&scalar("5 .. 5 V"), Voltage.into()).map_err(|p| p[0].message.clone())
    };
    assert_eq!(one_value(parse_range).unwrap_err(), "the range ends where it starts, at `5 V`");
    assert!(one_value(parse_span).is_ok());
    let problems = parse_range(&scalar("0 to 5 V"), Voltage.into()).unwrap_err();
    assert_eq!(problems[0].help.as_deref(), Some("write `0 .. 5 V`"));
}

#[test]
fn a_quoted_value_is_marked_inside_its_quotes() {
    let quoted = Scalar { text: "40 %LEL".into(), span: Span::new(10, 19), quoted: true, broken: false };
    assert_eq!(parse_quantity(&quoted, LowerFlammableLimit.into()).unwrap_err()[0].span, Span::new(14, 18));
}

#[test]
fn words_that_look_like_values_are_recognised() {
    for (word, meant) in [
        ("6bar", Some("6 bar")),
        ("80ms", Some("80 ms")),
        ("25%LFL", Some("25 %LFL")),
        ("5m3/h", Some("5 m3/h")),
        ("1e3", Some("1000")),
        ("24V", Some("24 V")),
        ("24V-A", None),
        ("GD-1", None),
        ("", None),
    ] {
        assert_eq!(looks_like_quantity(word).as_deref(), meant, "{word}");
    }
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused_within_its_span(text in "\\PC{0,40}|[-+0-9.,/e %a-zA-Z°]{0,24}") {
        for kind in [Kind::Of(Temperature), Pressure.into(), Count.into(), Kind::RateOf(Voltage)] {
            let mut problems = parse_range(&scalar(&text), kind).err().unwrap_or_default();
            problems.extend(parse_quantity(&scalar(&text), kind).err().unwrap_or_default());
            for problem in problems {
                prop_assert!(text.get(problem.span.start - 100..problem.span.end - 100).is_some());
            }
            looks_like_quantity(&text);
        }
    }

    #[test]
    fn what_is_read_prints_and_reads_as_the_same(number in "-?[0-9]{1,12}(\\.[0-9]{1,12})?", unit in 0usize..100) {
        let named = &TABLE[unit % TABLE.len()];
        let text = format!("{number} {}", named.name);
        if let Ok(first) = parse_quantity(&scalar(&text), named.measure.into()) {
            prop_assert_eq!(&q(&first.to_string(), named.measure), &first);
        }
    }
}
