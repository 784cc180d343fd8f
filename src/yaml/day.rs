//! Days and times of day as people write them, and what is wrong with those that cannot be.

use crate::figure::Unreadable;
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime};
use std::ops::RangeInclusive;

/// Years of which a build may tell: any other is a slip.
pub const YEARS: RangeInclusive<i32> = 1900..=2199;

/// A day, such as `2026-03-07`.
///
/// # Errors
/// Says what is wrong with it: a month that has no such day, an order that may be read in two ways.
pub fn day(text: &str) -> Result<NaiveDate, Unreadable> {
    of(text).ok_or_else(|| {
        slip(text).unwrap_or_else(|| unreadable("a date is expected", "write it as 2026-03-01"))
    })
}

/// A day with the time of day, such as `2026-03-07 14:20`; noon where no time is said.
///
/// # Errors
/// As for a day, and where the time is none.
pub fn moment(text: &str) -> Result<NaiveDateTime, Unreadable> {
    let text = text.trim();
    let (date, clock) = text.split_once(['T', ' ']).unwrap_or((text, "12:00"));
    let day = of(date).ok_or_else(|| {
        let otherwise = || unreadable("a date and time are expected", "write 2026-03-07 14:20");
        slip(date).unwrap_or_else(otherwise)
    })?;
    let time = ["%H:%M", "%H:%M:%S"]
        .iter()
        .find_map(|form| NaiveTime::parse_from_str(clock.trim(), form).ok());
    time.map(|time| day.and_time(time)).ok_or_else(|| {
        let says = format!("`{}` is no time of day", clock.trim());
        unreadable(says, "write it as 14:20, from 00:00 to 23:59")
    })
}

fn of(text: &str) -> Option<NaiveDate> {
    text.trim().parse().ok().filter(|day: &NaiveDate| YEARS.contains(&day.year()))
}

fn unreadable(says: impl Into<String>, hint: impl Into<String>) -> Unreadable {
    Unreadable { says: says.into(), hint: hint.into() }
}

/// What is wrong with three numbers that make no day.
fn slip(text: &str) -> Option<Unreadable> {
    let words: Vec<&str> = text.split(['-', '/', '.']).map(str::trim).collect();
    let number = |word: &str| {
        let digits = word.len() <= 4 && word.bytes().all(|b| b.is_ascii_digit());
        word.parse::<u32>().ok().filter(|_| digits)
    };
    let [first, _, last] = words[..] else { return None };
    let numbers: Vec<u32> = words.iter().filter_map(|word| number(word)).collect();
    let [a, b, c] = numbers[..] else { return None };
    let at = |year: u32, month, day| {
        let year = i32::try_from(year).ok().filter(|year| YEARS.contains(year))?;
        NaiveDate::from_ymd_opt(year, month, day)
    };
    const ORDER: &str = "a date is year, month and day with hyphens";
    Some(if first.len() == 4 {
        match (at(a, b, c), at(a, b, 1)) {
            (Some(day), _) => unreadable(ORDER, format!("write {day}")),
            (None, Some(first)) => {
                let days = first.num_days_in_month();
                let says = format!("{} has {days} days", first.format("%Y-%m"));
                unreadable(says, "correct the day")
            }
            (None, None) if (1..=12).contains(&b) => {
                unreadable(format!("no build is of the year {a}"), "correct the year")
            }
            (None, None) => unreadable(format!("there is no month {b}"), ORDER),
        }
    } else if last.len() == 4 {
        let mut days: Vec<NaiveDate> = [at(c, a, b), at(c, b, a)].into_iter().flatten().collect();
        days.dedup();
        let days: Vec<String> = days.iter().map(ToString::to_string).collect();
        match days.as_slice() {
            [] => unreadable("there is no such day", "write it as 2026-03-01"),
            [day] => unreadable(ORDER, format!("write {day}")),
            _ => unreadable(
                "month and day could be either of these numbers",
                format!("write {}, whichever is meant", days.join(" or ")),
            ),
        }
    } else {
        unreadable("the year of a date has four digits", "write it as 2026-03-01")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_read_as_people_write_them_and_never_in_two_ways() {
        // ISO 8601-1:2019, 4.3.3 and 5.2.2: year, month, day; 24 h.
        for text in
            ["2026-07-05 10:30", "2026-7-5 10:30", "2026-07-05T10:30:00", " 2026-07-05  10:30 "]
        {
            let at = moment(text).expect(text);
            assert_eq!(at.format("%Y-%m-%d %H:%M").to_string(), "2026-07-05 10:30", "{text}");
        }
        assert_eq!(moment("2026-07-05").expect("a day").to_string(), "2026-07-05 12:00:00");
        assert_eq!(day("2028-02-29").expect("a leap year").to_string(), "2028-02-29");
        for (text, says, hint) in [
            ("2026-02-30", "2026-02 has 28 days", "correct the day"),
            ("2100-02-29", "2100-02 has 28 days", "correct the day"),
            ("2026-13-01", "there is no month 13", ""),
            ("2026/07/05", "", "write 2026-07-05"),
            ("07/05/2026", "either", "write 2026-07-05 or 2026-05-07, whichever is meant"),
            ("05.13.2026", "", "write 2026-05-13"),
            ("5-5-2026", "", "write 2026-05-05"),
            ("31/31/2026", "no such day", ""),
            ("26-07-05", "four digits", ""),
            ("1026-07-05", "the year 1026", "correct the year"),
            ("2026-07-05 25:00", "`25:00` is no time", "23:59"),
            ("2026-07-05 10:30 PM", "`10:30 PM` is no time", ""),
            ("2026-07-05 10.30", "`10.30` is no time", ""),
            ("5 July 2026", "a date and time", "2026-03-07 14:20"),
            ("", "a date and time", ""),
        ] {
            let e = moment(text).expect_err(text);
            assert!(e.says.contains(says) && e.hint.contains(hint), "{text}: {e:?}");
        }
    }
}
