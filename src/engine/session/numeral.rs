//! Reads the numbers that Z3 prints, exactly.
//!
//! The binding hands out numbers beyond 64 bits only as printed terms: `12.0`, `(- 12.0)`, `(/ 1.0 3.0)`,
//! `(- (/ 1.0 3.0))`. Everything else is refused, above all rounded decimals (`0.333?`) and roots (`(root-obj …)`).

use super::ReadError;
use crate::exact::Exact;

/// The number printed as `text`; white space between words may be anything, since long terms are broken into lines.
///
/// # Errors
/// [`ReadError::NotRational`] for roots and rounded decimals, [`ReadError::NoValue`] for whatever else is no number.
pub fn read(text: &str) -> Result<Exact, ReadError> {
    let spaced = text.replace('(', " ( ").replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    number(&words).ok_or_else(|| {
        if text.contains("root-obj") || text.contains('?') {
            ReadError::NotRational(text.to_string())
        } else {
            ReadError::NoValue(text.to_string())
        }
    })
}

fn number(words: &[&str]) -> Option<Exact> {
    match words {
        ["(", "-", inner @ .., ")"] => Some(-&fraction(inner)?),
        _ => fraction(words),
    }
}

fn fraction(words: &[&str]) -> Option<Exact> {
    match words {
        // The sign is Z3's business: some versions put it inside.
        ["(", "/", "(", "-", top, ")", bottom, ")"] => (-&decimal(top)?).checked_div(&decimal(bottom)?),
        ["(", "/", top, bottom, ")"] => decimal(top)?.checked_div(&decimal(bottom)?),
        [whole] => decimal(whole),
        _ => None,
    }
}

/// Digits, optional point and digits, of any length; no sign.
fn decimal(word: &str) -> Option<Exact> {
    let (whole, part) = word.split_once('.').unwrap_or((word, "0"));
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(part) {
        return None;
    }
    Exact::from_fraction_text(&format!("{whole}{part}"), &format!("1{}", "0".repeat(part.len())))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;
    use proptest::prelude::*;

    fn ratio(numerator: &str, denominator: &str) -> Exact {
        Exact::from_fraction_text(numerator, denominator).unwrap()
    }

    #[test]
    fn every_form_that_z3_prints_is_read() {
        for (text, numerator, denominator) in [
            ("0.0", "0", "1"),
            ("12.0", "12", "1"),
            ("12", "12", "1"),
            ("2.5", "5", "2"),
            ("(- 12.0)", "-12", "1"),
            ("(/ 1.0 3.0)", "1", "3"),
            ("(- (/ 1.0 3.0))", "-1", "3"),
            ("(/ (- 1.0) 3.0)", "-1", "3"),
            ("(/ 1.0\n   3.0)", "1", "3"),
            ("(-\n (/ 2.0 4.0))", "-1", "2"),
        ] {
            assert_eq!(read(text), Ok(ratio(numerator, denominator)), "{text}");
        }
    }

    #[test]
    fn what_is_no_exact_number_is_refused() {
        for text in ["0.3333?", "(root-obj (+ (^ x 2) (- 2)) 2)"] {
            assert_eq!(read(text), Err(ReadError::NotRational(text.into())), "{text}");
        }
        for text in [
            "",
            "x",
            "(",
            "()",
            "(-)",
            "(- 1.0",
            "(- (- 1.0))",
            "(/ 1.0)",
            "(/ 1.0 0.0)",
            "(/ 1.0 2.0 3.0)",
            "1.0 2.0",
            "1e3",
            "1.",
            ".5",
            "-1.0",
            "+1.0",
            "1_0",
            "(* 1.0 2.0)",
            "(+ 1.0 2.0)",
            "1.0.0",
        ] {
            assert_eq!(read(text), Err(ReadError::NoValue(text.into())), "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_text_makes_it_panic(text in "[()0-9./?a \n-]{0,24}") {
            let _ = read(&text);
        }

        #[test]
        fn numbers_of_any_size_come_back_as_they_went_in(
            n in "-?[1-9][0-9]{0,300}", d in "[1-9][0-9]{0,300}",
        ) {
            let value = ratio(&n, &d);
            let printed = crate::engine::session::term::number(&value).to_string();
            prop_assert_eq!(read(&printed), Ok(value));
        }
    }
}
