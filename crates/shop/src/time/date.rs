//! Days of the civil calendar, counted; nothing else is needed of a date here, so no library is asked.

use std::fmt;
use std::str::FromStr;

/// Days of the week as a design names them, Monday first (ISO 8601).
pub const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// A day, as days from 1970-01-01 in the Gregorian calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(i64);

impl Date {
    /// The day of a year from 1900 to 2199; `None` when the calendar has no such day.
    ///
    /// Source: Fliegel and Van Flandern, Communications of the ACM 11 (1968), 657: Julian day number by whole
    /// division; 1970-01-01 is 2 440 588.
    pub fn new(year: i64, month: i64, day: i64) -> Option<Date> {
        if !(1900..2200).contains(&year) || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
            return None;
        }
        let a = (month - 14) / 12;
        let julian = day - 32_075 + 1461 * (year + 4800 + a) / 4 + 367 * (month - 2 - a * 12) / 12
            - 3 * ((year + 4900 + a) / 100) / 4;
        let date = Date(julian - 2_440_588);
        // A 31st of a short month comes out as a day of the next one.
        (date.parts() == [year, month, day]).then_some(date)
    }

    /// So many days from 1970-01-01.
    pub fn from_days(days: i64) -> Date {
        Date(days)
    }

    /// Year, month, day. Source: as [`Date::new`].
    pub fn parts(self) -> [i64; 3] {
        let l = self.0 + 2_440_588 + 68_569;
        let n = 4 * l / 146_097;
        let l = l - (146_097 * n + 3) / 4;
        let i = 4000 * (l + 1) / 1_461_001;
        let l = l - 1461 * i / 4 + 31;
        let j = 80 * l / 2447;
        let day = l - 2447 * j / 80;
        let l = j / 11;
        [100 * (n - 49) + i + l, j + 2 - 12 * l, day]
    }

    /// So many days later.
    pub fn plus(self, days: i64) -> Date {
        Date(self.0 + days)
    }

    /// Days from `other` to here.
    pub fn since(self, other: Date) -> i64 {
        self.0 - other.0
    }

    /// Day of the week, 0 for Monday: 1970-01-01 was a Thursday.
    pub fn weekday(self) -> usize {
        (self.0 + 3).rem_euclid(7) as usize
    }

    /// "Sat 12 Dec": for a plan, where the year is plain.
    pub fn short(self) -> String {
        let [_, month, day] = self.parts();
        format!(
            "{} {day} {}",
            &WEEKDAYS[self.weekday()][..3],
            MONTHS[month as usize - 1]
        )
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [year, month, day] = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

/// Not a day.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is not a day of the calendar")]
pub struct NotADate(pub String);

impl FromStr for Date {
    type Err = NotADate;

    /// A day as ISO 8601 writes it, "2026-12-24".
    fn from_str(text: &str) -> Result<Date, NotADate> {
        let wrong = || NotADate(text.to_owned());
        let parts: Vec<&str> = text.trim().split('-').collect();
        let [year, month, day] = parts[..] else {
            return Err(wrong());
        };
        let lengths = [year.len(), month.len(), day.len()] == [4, 2, 2];
        let number = |part: &str| {
            let plain = lengths && part.bytes().all(|b| b.is_ascii_digit());
            plain.then(|| part.parse::<i64>().ok()).flatten()
        };
        (number(year).zip(number(month)).zip(number(day)))
            .and_then(|((y, m), d)| Date::new(y, m, d))
            .ok_or_else(wrong)
    }
}
