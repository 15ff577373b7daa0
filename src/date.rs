//! Days of the calendar, for expiries. Knows no time of day, no time zone and no clock.

use std::fmt;

/// A day of the Gregorian calendar, written `2027-03-31`. Later days are greater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

/// Why a text is no day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotADate {
    /// It is not written as year, month and day with hyphens.
    Form,
    /// It is, and the calendar has no such day.
    NoSuchDay,
}

impl NotADate {
    /// What is wrong with `text`, in a sentence without a full stop.
    pub fn message(self, text: &str) -> String {
        match self {
            NotADate::Form => format!("`{text}` is not a date"),
            NotADate::NoSuchDay => format!("the calendar has no day `{text}`"),
        }
    }

    /// The way out.
    pub const HELP: &'static str = "write year, month and day with hyphens: `2027-03-31`";
}

impl Date {
    /// Reads `YYYY-MM-DD`.
    ///
    /// # Errors
    /// Another form, or a day that the calendar does not have.
    pub fn parse(text: &str) -> Result<Date, NotADate> {
        let (year, month, day) = parts(text).ok_or(NotADate::Form)?;
        let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let days = match month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            _ => 0,
        };
        if (1..=days).contains(&day) { Ok(Date { year, month, day }) } else { Err(NotADate::NoSuchDay) }
    }
}

fn parts(text: &str) -> Option<(u16, u8, u8)> {
    let shape = |(i, b): (usize, u8)| if i == 4 || i == 7 { b == b'-' } else { b.is_ascii_digit() };
    if text.len() != 10 || !text.bytes().enumerate().all(shape) {
        return None;
    }
    Some((text.get(0..4)?.parse().ok()?, text.get(5..7)?.parse().ok()?, text.get(8..10)?.parse().ok()?))
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]
    use super::*;

    // Gregorian rule for leap years: every fourth, not every hundredth, but every four-hundredth.
    #[test]
    fn only_days_of_the_calendar_are_dates() {
        for day in ["2027-03-31", "2024-02-29", "2000-02-29", "2026-12-31"] {
            assert_eq!(Date::parse(day).unwrap().to_string(), day);
        }
        for day in ["2027-02-29", "1900-02-29", "2027-04-31", "2027-13-01", "2027-00-10", "2027-03-00"] {
            assert_eq!(Date::parse(day), Err(NotADate::NoSuchDay), "{day}");
        }
        for day in
            ["2027-1-1", "31.3.2027", "２027-03-3", "", "soon", "2027-03-311", "2027/03/31", "+027-03-31"]
        {
            assert_eq!(Date::parse(day), Err(NotADate::Form), "{day}");
        }
    }

    #[test]
    fn a_later_day_is_greater() {
        let days = ["2026-12-31", "2027-01-01", "2027-01-31", "2027-02-01", "2030-01-01"];
        let dates: Vec<Date> = days.iter().map(|day| Date::parse(day).unwrap()).collect();
        assert!(dates.is_sorted_by(|a, b| a < b));
    }
}
