//! What takes a material before it can be there: the shelf with what comes, and what is taken from it.

use super::{NONE, quickest};
use crate::model::Build;
use crate::supply::flow::{Happens, StockWalk};
use crate::supply::line::{Bill, StockLine};
use crate::supply::ordered::arrivals;
use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use std::collections::BTreeMap;

/// What of a walk takes a material before it can be there, and the day on which it can be.
pub(super) fn too_early(
    build: &Build,
    bill: &Bill,
    line: &StockLine,
    promised: &dyn Fn(Happens) -> Option<NaiveDateTime>,
) -> Vec<(Happens, NaiveDate)> {
    let walk = bill.flow.as_ref().and_then(|flow| flow.likely.stocks.get(&line.id));
    let orders = arrivals(build, &line.id);
    // Where what is on order is enough, nobody orders more.
    let lacks_more = line.buy.as_ref().is_some_and(|buy| buy.si() > NONE);
    let anew = quickest(build, &line.id).map(|(day, _)| day).filter(|_| lacks_more);
    let Some(walk) = walk else { return Vec::new() };
    if walk.first_short(&orders, anew.unwrap_or(NaiveDate::MAX)).is_none() {
        return Vec::new();
    }
    let mut days: Vec<NaiveDate> =
        orders.iter().map(|(day, _)| *day).filter(|day| *day > build.today).chain(anew).collect();
    days.sort_unstable();
    let (mut shelf, takes) = Shelf::new(walk, &orders, anew);
    let mut takes: Vec<_> =
        takes.into_iter().map(|take| (promised(take.by).unwrap_or(take.at), take)).collect();
    takes.sort_by_key(|(when, take)| (*when, take.place));
    let mut out = Vec::new();
    for (_, Take { at, place, much, by }) in takes {
        let later = |day: &&NaiveDate| **day > at.date() && shelf.bears(shelf.place(**day), much);
        let day = days.iter().find(later).copied().filter(|_| !shelf.bears(place, much));
        shelf.take(day.map_or(place, |day| shelf.place(day)), much);
        out.extend(day.map(|day| (by, day)));
    }
    out
}

/// Something that a walk takes.
struct Take {
    at: NaiveDateTime,
    /// Which moment of the shelf that is.
    place: usize,
    /// How much, kg.
    much: f64,
    by: Happens,
}

/// What there is of a material from each moment on, kg, until any amount of it can be there.
struct Shelf(Vec<(NaiveDateTime, f64)>);

impl Shelf {
    /// With what comes and what comes back, before anything is taken; and all that is.
    fn new(
        walk: &StockWalk,
        orders: &[(NaiveDate, f64)],
        anew: Option<NaiveDate>,
    ) -> (Self, Vec<Take>) {
        let mut comes: BTreeMap<NaiveDateTime, f64> = BTreeMap::new();
        for (day, mass) in orders {
            *comes.entry(day.and_time(NaiveTime::MIN)).or_default() += mass;
        }
        let walked = walk.points.windows(2).zip(&walk.by);
        let walked = walked.map(|(w, by)| (w[1].0, w[1].1.stock - w[0].1.stock, Some(*by)));
        let comes = comes.into_iter().map(|(at, mass)| (at, mass, None));
        let mut all: Vec<(NaiveDateTime, f64, Option<Happens>)> = comes.chain(walked).collect();
        all.retain(|(at, ..)| anew.is_none_or(|anew| at.date() < anew));
        // What has come is there before anything is taken at that moment.
        all.sort_by_key(|(at, ..)| *at);
        let mut there = walk.points.first().map_or(0.0, |(_, point)| point.stock);
        let (mut moments, mut takes) = (Vec::new(), Vec::new());
        for (place, (at, change, by)) in all.into_iter().enumerate() {
            there += change.max(0.0);
            moments.push((at, there));
            let much = -change;
            takes.extend(by.filter(|_| much > NONE).map(|by| Take { at, place, much, by }));
        }
        (Self(moments), takes)
    }

    /// Which moment is the first of a day.
    fn place(&self, day: NaiveDate) -> usize {
        self.0.partition_point(|(at, _)| at.date() < day)
    }

    /// Whether so much may be taken at a moment and nothing is lacking later.
    fn bears(&self, place: usize, much: f64) -> bool {
        self.0[place..].iter().all(|(_, there)| *there >= much - NONE)
    }

    fn take(&mut self, place: usize, much: f64) {
        self.0[place..].iter_mut().for_each(|(_, there)| *there -= much);
    }
}
