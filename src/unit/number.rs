//! Numbers as people write them: which form is read, and the right spelling of the forms that are not.
//!
//! Responsible for one word that should be a number. Units and places in the file are left to the callers.

use super::spelling::{Complaint, shown};
use crate::exact::Exact;

/// Most digits of a number, as `Exact::parse_decimal` reads it.
pub const MOST_DIGITS: usize = 30;

/// Reads a decimal (`-0.5`, `1082`); on anything else says what is wrong and, where one can tell, how to write it.
pub fn read_number(word: &str) -> Result<Exact, Complaint> {
    Exact::parse_decimal(word).ok_or_else(|| complain(word, ""))
}

/// What is wrong with a word that is no decimal; `unit` follows the corrected number in the help (empty: nothing).
pub(super) fn complain(word: &str, unit: &str) -> Complaint {
    let tail = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    let digits = word.bytes().filter(u8::is_ascii_digit).count();
    if digits > MOST_DIGITS {
        return Complaint::new(
            "number-too-long",
            format!("{} has {digits} digits", shown(word)),
            "too many digits",
        )
        .help(format!("a number has at most {MOST_DIGITS} digits; write it in a larger or smaller unit"));
    }
    let complaint = Complaint::new("number-form", format!("{} is not a number", shown(word)), "not a number");
    match repair(word) {
        Some(right) if has_thousands(word) => {
            let decimal = word.replacen(',', ".", 1);
            let or = match Exact::parse_decimal(&decimal) {
                Some(_) => format!(", or `{decimal}{tail}` if the comma marks decimals"),
                None => String::new(),
            };
            complaint.help(format!("write `{right}{tail}` without a thousands separator{or}"))
        }
        Some(right) => complaint.help(format!("write `{right}{tail}`")),
        None => complaint.help(format!("write a decimal number such as `12.5{tail}`")),
    }
}

/// The decimal that was meant, in the one spelling that is read; `None` where one cannot tell.
pub(super) fn repair(word: &str) -> Option<String> {
    let mut text = word.replace(['−', '–'], "-");
    if let Some(rest) = text.strip_prefix(['±', '~']) {
        text = rest.to_string();
    }
    text.retain(|c| !matches!(c, '_' | '\'' | '’'));
    if has_thousands(&text) {
        text = text.replace(',', "");
    } else if text.matches(',').count() == 1 && !text.contains('.') {
        text = text.replace(',', ".");
    }
    if let Some((top, bottom)) = text.split_once('/') {
        let value = Exact::parse_decimal(top)?.checked_div(&Exact::parse_decimal(bottom)?)?;
        return terminating(&value);
    }
    let (mantissa, exponent) =
        text.split_once(['e', 'E']).map_or((text.as_str(), None), |(m, e)| (m, Some(e)));
    let mantissa = pad_point(mantissa);
    let Some(exponent) = exponent else {
        return (mantissa != word && Exact::parse_decimal(&mantissa).is_some()).then_some(mantissa);
    };
    let power: i32 = exponent.parse().ok()?;
    if power.unsigned_abs() as usize > MOST_DIGITS {
        return None;
    }
    let step = if power < 0 { Exact::ratio(1, 10)? } else { Exact::int(10) };
    let value = (0..power.unsigned_abs()).fold(Exact::parse_decimal(&mantissa)?, |value, _| &value * &step);
    terminating(&value)
}

/// `.5` as `0.5`, `5.` as `5`.
fn pad_point(text: &str) -> String {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", text),
    };
    let digits = digits.strip_suffix('.').unwrap_or(digits);
    if digits.starts_with('.') { format!("{sign}0{digits}") } else { format!("{sign}{digits}") }
}

/// Digits in groups of three parted by commas: `1,200`, `12,000.5`.
fn has_thousands(text: &str) -> bool {
    let text = text.trim_start_matches(['-', '+']);
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let mut groups = whole.split(',');
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    let first = groups.next().is_some_and(|g| (1..=3).contains(&g.len()) && digits(g) && g != "0");
    let rest: Vec<&str> = groups.collect();
    first && !rest.is_empty() && rest.iter().all(|g| g.len() == 3 && digits(g)) && digits(part)
}

fn terminating(value: &Exact) -> Option<String> {
    let text = value.to_string();
    Exact::parse_decimal(&text).map(|_| text)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;

    #[test]
    fn usual_slips_are_told_the_right_spelling() {
        for (wrong, right) in [
            ("5,5", "5.5"),
            ("1e3", "1000"),
            ("2.5E-3", "0.0025"),
            (".5", "0.5"),
            ("-.5", "-0.5"),
            ("5.", "5"),
            ("1/2", "0.5"),
            ("1,200", "1200"),
            ("12,000.5", "12000.5"),
            ("1_000", "1000"),
            ("1'000", "1000"),
            ("−30", "-30"),
            ("±3", "3"),
            ("0,125", "0.125"),
        ] {
            assert_eq!(repair(wrong).as_deref(), Some(right), "{wrong}");
        }
    }

    #[test]
    fn what_cannot_be_told_is_not_guessed() {
        for wrong in ["", "-", "abc", "1/3", "1/0", "1e99", "1e", "1.2.3", "1,2,3", "0x10", "١"] {
            assert_eq!(repair(wrong), None, "{wrong}");
            assert!(read_number(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_thousands_separator_might_be_a_decimal_comma_so_both_are_named() {
        let complaint = read_number("1,200").unwrap_err();
        assert_eq!(
            complaint.help.as_deref(),
            Some("write `1200` without a thousands separator, or `1.200` if the comma marks decimals")
        );
    }

    #[test]
    fn thirty_one_digits_are_named_and_refused() {
        let complaint = read_number("1234567890123456789012345678901").unwrap_err();
        assert_eq!(complaint.message, "`1234567890123456789012345678901` has 31 digits");
    }
}
