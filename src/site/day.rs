//! Days, written `YYYY-MM-DD` and no other way: 05/04/2026 is two days. One checker, for marks in documents, for the sheet of
//! the crew and for the command line, with the same words.

use std::fmt;

/// Most characters of a text that a message repeats.
const LONGEST: usize = 40;

/// Why a text is no day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotADay {
    /// The text.
    pub found: String,
}

impl fmt::Display for NotADay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match numbers(&self.found) {
            Some((year, month, day)) => {
                write!(f, "{:?} is not a day of the calendar: ", self.found)?;
                if (1..=12).contains(&month) && year > 0 {
                    write!(f, "that month has days 1 to {}, not {day}", days_of(year, month))
                } else if year == 0 {
                    f.write_str("years begin with 0001")
                } else {
                    write!(f, "months are 01 to 12, not {month:02}")
                }
            }
            None => write!(f, "{:?} is not a day written YYYY-MM-DD", self.found),
        }
    }
}

impl std::error::Error for NotADay {}

/// Checks that a text is a day of the calendar written `YYYY-MM-DD`.
///
/// # Errors
/// [`NotADay`], which says whether the way of writing or the day itself is wrong.
pub fn check_day(text: &str) -> Result<(), NotADay> {
    let there_is = |(year, month, day): (u16, u8, u8)| {
        year > 0 && (1..=12).contains(&month) && (1..=days_of(year, month)).contains(&day)
    };
    if numbers(text).is_some_and(there_is) {
        Ok(())
    } else {
        Err(NotADay { found: text.chars().take(LONGEST).collect() })
    }
}

/// Year, month and day of a text in the right form.
fn numbers(text: &str) -> Option<(u16, u8, u8)> {
    let form = text.len() == 10
        && text.bytes().enumerate().all(|(k, byte)| match k {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    if !form {
        return None;
    }
    Some((text[..4].parse().ok()?, text[5..7].parse().ok()?, text[8..].parse().ok()?))
}

/// Days from one day of the calendar to a later one; negative where it is earlier, `None` where either is no day.
pub fn days_between(from: &str, to: &str) -> Option<i64> {
    let number = |text: &str| {
        check_day(text).ok()?;
        let (year, month, day) = numbers(text)?;
        let before = i64::from(year) - 1;
        let months = (1..month).map(|month| i64::from(days_of(year, month))).sum::<i64>();
        Some(365 * before + before / 4 - before / 100 + before / 400 + months + i64::from(day))
    };
    Some(number(to)? - number(from)?)
}

/// Days of a month of the Gregorian calendar.
fn days_of(year: u16, month: u8) -> u8 {
    match month {
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against a calendar: leap years, centuries, the turn of a year.
    #[test]
    fn days_between_days_are_counted() {
        for (from, to, days) in [
            ("2026-05-04", "2026-05-04", 0),
            ("2026-05-04", "2026-06-01", 28),
            ("2024-02-28", "2024-03-01", 2),
            ("2025-12-31", "2026-01-01", 1),
            ("2000-01-01", "2026-01-01", 9_497),
            ("1900-02-28", "1900-03-01", 1),
            ("2026-06-01", "2026-05-04", -28),
        ] {
            assert_eq!(days_between(from, to), Some(days), "{from} {to}");
        }
        assert_eq!(days_between("2026-02-30", "2026-05-04"), None);
    }

    /// A leap year taken wrongly, a month of 32 days or another order of day and month would show.
    #[test]
    fn days_are_those_of_the_calendar() {
        for text in ["2026-05-04", "2024-02-29", "2000-02-29", "2026-12-31", "0001-01-01"] {
            assert_eq!(check_day(text), Ok(()), "{text}");
        }
        for (text, words) in [
            ("2026-02-30", "not a day of the calendar: that month has days 1 to 28, not 30"),
            ("2100-02-29", "days 1 to 28"),
            ("2026-04-31", "days 1 to 30"),
            ("2026-13-01", "months are 01 to 12, not 13"),
            ("2026-00-10", "months are 01 to 12"),
            ("0000-01-01", "years begin"),
            ("04/05/2026", "written YYYY-MM-DD"),
            ("2026-5-4", "written YYYY-MM-DD"),
            ("20260504", "written YYYY-MM-DD"),
            ("2026-05-04T10:00", "written YYYY-MM-DD"),
            ("2026-05-0\u{664}", "written YYYY-MM-DD"),
            ("May 4", "written YYYY-MM-DD"),
            ("", "written YYYY-MM-DD"),
        ] {
            let said = check_day(text).expect_err(text).to_string();
            assert!(said.contains(words), "{said}");
        }
    }
}
