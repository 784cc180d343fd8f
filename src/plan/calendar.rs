//! When somebody is in the shop.

use crate::manifest::{Person, Shop};
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

/// Minutes from midnight of the day the build is looked at.
pub type Minute = i64;

const DAY: Minute = 24 * 60;
/// A weekday begins at this minute where the manifest does not say: an evening.
const EVENING: Minute = 18 * 60;
/// A Saturday or Sunday begins at this minute where the manifest does not say.
const MORNING: Minute = 9 * 60;
/// No build is planned further ahead than this.
const MOST_DAYS: usize = 100 * 366;

/// What is gone of the day on which the build is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Gone {
    /// Minutes worked, by whomever, with clearing up after the heats that were poured.
    pub minutes: Minute,
    /// Of these, minutes of clearing up, which comes at the end of the session.
    pub clear_up: Minute,
    /// Nothing more is begun before this minute.
    pub until: Minute,
    /// When a furnace was lit before that, for a heat that was promised for today.
    pub lit: Option<Minute>,
}

/// A stretch of time in which one person works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// First minute.
    pub from: Minute,
    /// The minute after the last.
    pub to: Minute,
}

/// The working time of everybody.
#[derive(Debug, Clone)]
pub struct Calendar {
    origin: NaiveDate,
    /// By person in the order of the manifest, in time order.
    pub people: Vec<Vec<Window>>,
    /// By day from the origin: whether the shop pours, and so on each week.
    pours: [bool; 7],
    /// By person: minutes worked before each window.
    sums: Vec<Vec<Minute>>,
    /// When a furnace was lit today, for a heat that is still to be poured.
    lit: Option<Minute>,
    /// By person and day from the origin: the first window that begins on it or later.
    days: Vec<Vec<u32>>,
}

/// By day from the origin to that of the last window: the first of these that begins on it or later.
fn days(windows: &[Window]) -> Vec<u32> {
    let mut days = Vec::new();
    for (at, w) in windows.iter().enumerate() {
        let day = usize::try_from(Calendar::day(w.from)).unwrap_or(0);
        days.resize(days.len().max(day + 1), at as u32);
    }
    days
}

impl Calendar {
    /// The days from `origin` on, until each person has worked `minutes` and `beyond` more days
    /// have passed, or a century. On the first day some of the hours are `gone` already.
    pub fn new(
        shop: &Shop,
        origin: NaiveDate,
        (minutes, beyond): (Minute, i64),
        mut gone: Gone,
    ) -> Self {
        let people = shop.people.values().map(|person| {
            let mut windows: Vec<Window> = Vec::new();
            let (mut worked, mut after) = (0, 0);
            if person.hours.iter().all(|h| *h <= 0.0) {
                return windows;
            }
            for (n, day) in origin.iter_days().take(MOST_DAYS).enumerate() {
                if worked >= minutes {
                    after += 1;
                    if after > beyond {
                        break;
                    }
                }
                let away = shop.away.iter().any(|(first, last)| (*first..=*last).contains(&day));
                if away {
                    continue;
                }
                let Some(mut window) = window(person, day) else { continue };
                if n == 0 {
                    let spent = gone.minutes.min(window.to - window.from);
                    gone.minutes -= spent;
                    window.from = (window.from + spent).max(gone.until);
                    if window.from >= window.to {
                        continue;
                    }
                }
                let start = n as Minute * DAY;
                windows.push(Window { from: start + window.from, to: start + window.to });
                worked += window.to - window.from;
            }
            windows
        });
        let people: Vec<Vec<Window>> = people.collect();
        let sums = people.iter().map(|windows| {
            let before = windows.iter().scan(0, |sum, w| {
                *sum += w.to - w.from;
                Some(*sum - (w.to - w.from))
            });
            before.collect()
        });
        let sums = sums.collect();
        let first = origin.weekday().num_days_from_monday() as usize;
        let pours = std::array::from_fn(|day| shop.pours.is_none_or(|on| on[(first + day) % 7]));
        let days = people.iter().map(|windows| days(windows)).collect();
        Self { origin, people, pours, sums, lit: gone.lit, days }
    }

    /// The time on the clock.
    pub fn clock(&self, minute: Minute) -> NaiveDateTime {
        self.origin.and_time(NaiveTime::MIN) + TimeDelta::minutes(minute)
    }

    /// Days from the origin to a day.
    pub fn days_to(&self, day: NaiveDate) -> i64 {
        (day - self.origin).num_days()
    }

    /// The day a minute lies in, counted from the origin.
    pub fn day(minute: Minute) -> i64 {
        minute.div_euclid(DAY)
    }

    /// The first window of a person that begins on a day or later.
    pub fn first_of_day(&self, person: usize, day: i64) -> usize {
        let day = usize::try_from(day).unwrap_or(0);
        self.days[person].get(day).map_or(self.people[person].len(), |first| *first as usize)
    }

    /// The first window of a person that ends after a moment.
    pub fn window(&self, person: usize, moment: Minute) -> usize {
        let windows = &self.people[person];
        let mut at = self.first_of_day(person, Self::day(moment));
        while windows.get(at).is_some_and(|w| w.to <= moment) {
            at += 1;
        }
        // One that goes on past midnight.
        while at > 0 && windows[at - 1].to > moment {
            at -= 1;
        }
        at
    }

    /// The length of the longest stretch that anybody works.
    pub fn longest(&self) -> Minute {
        self.people.iter().flatten().map(|w| w.to - w.from).max().unwrap_or(0)
    }

    /// The shortest stretch between two sessions in which nobody is here; none where there is none.
    pub fn shortest_break(&self) -> Option<Minute> {
        let mut windows: Vec<&Window> = self.people.iter().flatten().collect();
        windows.sort_by_key(|w| w.from);
        windows.windows(2).map(|pair| (pair[1].from - pair[0].to).max(0)).min()
    }

    /// When a furnace may be lit for a heat in a session: as soon as somebody is there, or when it was
    /// lit today.
    pub fn may_light(&self, session: &Window) -> Minute {
        let lit = self.lit.filter(|_| Self::day(session.from) == 0);
        lit.map_or(session.from, |lit| lit.min(session.from))
    }

    /// Whether the shop pours on the day of a minute.
    pub fn pours(&self, minute: Minute) -> bool {
        self.pours[Self::day(minute).rem_euclid(7) as usize]
    }

    /// The length of the longest stretch that anybody works on a day on which the shop pours.
    pub fn longest_pour(&self) -> Minute {
        let windows = self.people.iter().flatten().filter(|w| self.pours(w.from));
        windows.map(|w| w.to - w.from).max().unwrap_or(0)
    }

    /// The length of the longest stretch that is left of today's hours.
    pub fn left_of_today(&self) -> Minute {
        let windows = self.people.iter().flatten().filter(|w| Self::day(w.from) == 0);
        windows.map(|w| w.to - w.from).max().unwrap_or(0)
    }

    /// When something can be melted and ready to pour at the earliest, where that takes so many minutes
    /// without a break; none where no window on a pouring day is long enough.
    pub fn first_melted(&self, minutes: Minute) -> Option<Minute> {
        let windows = self.people.iter().flatten().filter(|w| self.pours(w.from));
        windows.filter(|w| w.to - w.from >= minutes).map(|w| w.from + minutes).min()
    }

    /// How many people are ever here together.
    pub fn most_together(&self) -> u32 {
        let here = |at: Minute, windows: &Vec<Window>| {
            let next = windows.partition_point(|w| w.to <= at);
            windows.get(next).is_some_and(|w| w.from <= at)
        };
        let together = |w: &Window| self.people.iter().filter(|p| here(w.from, p)).count() as u32;
        self.people.iter().flatten().map(together).max().unwrap_or(0)
    }

    /// When somebody who begins at `from` and has nothing else to do has worked `minutes`; none
    /// beyond the last window. The earliest over all people.
    pub fn alone(&self, from: Minute, minutes: Minute) -> Option<Minute> {
        if minutes == 0 {
            return Some(from);
        }
        let each = self.people.iter().filter_map(|windows| {
            let mut left = minutes;
            for w in &windows[windows.partition_point(|w| w.to <= from)..] {
                let begin = w.from.max(from);
                if w.to - begin >= left {
                    return Some(begin + left);
                }
                left -= w.to - begin;
            }
            None
        });
        each.min()
    }

    /// The latest minute at which work of `minutes` can begin to be over by `until`, with
    /// nothing else to do; the latest over all people.
    pub fn back(&self, until: Minute, minutes: Minute) -> Option<Minute> {
        if minutes == 0 {
            return Some(until);
        }
        let each = self.people.iter().filter_map(|windows| {
            let mut left = minutes;
            for w in windows[..windows.partition_point(|w| w.from < until)].iter().rev() {
                let end = w.to.min(until);
                if end - w.from >= left {
                    return Some(end - left);
                }
                left -= end - w.from;
            }
            None
        });
        each.max()
    }

    /// Minutes that all people together work between two moments.
    pub fn worked(&self, from: Minute, to: Minute) -> Minute {
        let upto = |(windows, sums): (&Vec<Window>, &Vec<Minute>), at: Minute| {
            let next = windows.partition_point(|w| w.from < at);
            let last = next.checked_sub(1).map(|i| (windows[i], sums[i]));
            last.map_or(0, |(w, before)| before + at.min(w.to) - w.from)
        };
        let each = self.people.iter().zip(&self.sums);
        each.map(|person| (upto(person, to) - upto(person, from)).max(0)).sum()
    }

    /// When all people together have worked `minutes` from `from` on.
    pub fn together(&self, from: Minute, minutes: Minute) -> Option<Minute> {
        if minutes <= 0 {
            return Some(from);
        }
        let last = self.people.iter().filter_map(|w| Some(w.last()?.to)).max()?;
        if self.worked(from, last) < minutes {
            return None;
        }
        let (mut low, mut high) = (from, last);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if self.worked(from, middle) >= minutes { high = middle } else { low = middle }
        }
        Some(high)
    }
}

/// When a person works on a day, in minutes of that day.
fn window(person: &Person, day: NaiveDate) -> Option<Window> {
    let weekday = day.weekday().num_days_from_monday() as usize;
    let minutes = (person.hours[weekday] / 60.0).round() as Minute;
    let usual = if weekday < 5 { EVENING } else { MORNING };
    let from = match person.from[weekday] {
        Some(second) => (second / 60.0).round() as Minute,
        None => usual.min(DAY - minutes),
    };
    (minutes > 0).then_some(Window { from, to: from + minutes })
}
