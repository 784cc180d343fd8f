//! From a build to its schedule: the work that is left, the hours for it, the search.

use super::awaited::{self, Awaited};
use super::calendar::{Calendar, Gone, Minute};
use super::moves::moves;
use super::promise::{self, Kept, Promise};
use super::schedule::{self, Laid, Schedule};
use super::search::{self, Aim, Budget, Found, Promised};
use super::work::{self, Batches, Firsts, Hours, Item, Limits, Work, learn_first};
use crate::estimate::Estimates;
use crate::manifest::Id;
use crate::model::Build;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Hours of the shop for the work, so many times over: more where the first was not enough.
const ROOM: [Minute; 3] = [2, 8, 64];
/// Days of the finish that a small, easy first heat may cost.
const WORTH: i64 = 7;

/// How to look for a schedule.
pub struct SearchOptions<'a> {
    /// What comes first.
    pub aim: Aim,
    /// The plan in force.
    pub kept: Option<&'a Kept>,
    /// Work that waits for a material, by the names of today.
    pub awaited: &'a [Awaited],
    /// Days that another plan must gain before promised sessions are moved.
    pub gain: i64,
    /// Whether to look on where the plan in force stands; else it is taken as it is.
    pub further: bool,
    /// How long to look.
    pub budget: Budget<'a>,
}

impl<'a> SearchOptions<'a> {
    /// The earliest finish, from nothing that is promised and nothing that is waited for.
    pub fn new(budget: Budget<'a>) -> Self {
        let (kept, awaited) = (None, &[][..]);
        Self { aim: Aim::Finish, kept, awaited, gain: 0, further: false, budget }
    }
}

/// What keeps some of the work that is left from being done as it stands, whatever the plan; in words.
#[derive(Debug, Clone, Default)]
pub struct InTheWay {
    /// Why some of it cannot be planned.
    pub missing: Vec<String>,
    /// Moulds that stood too long, or will have before anything can be poured.
    pub stale: Vec<String>,
}

/// What is in the way of the work that is left.
pub fn in_the_way(build: &Build, estimates: &Estimates) -> InTheWay {
    let shop = Shop::new(build);
    let work = shop.work(build, estimates, &BTreeSet::new());
    InTheWay { stale: schedule::stale(build, &work), missing: work.missing }
}

/// What work waits for by the plan that is kept, under the names of today; in the order it stands there.
pub fn still_awaited(build: &Build, estimates: &Estimates, kept: &Kept) -> Vec<Awaited> {
    if kept.awaited.is_empty() {
        return Vec::new();
    }
    let work = Shop::new(build).work(build, estimates, &kept.still_again(build));
    kept.awaited_in(build, &work)
}

/// What the shop has, and its hours in the year to come: whoever is away now comes back by then.
struct Shop {
    limits: Limits,
    longest: Minute,
    /// The same on a day on which the shop pours.
    longest_pour: Minute,
    shortest_break: Option<Minute>,
    /// Nothing is poured before this minute.
    pours: Minute,
}

impl Shop {
    fn new(build: &Build) -> Self {
        let year = Calendar::new(&build.shop, build.today, (0, 366), Gone::default());
        let longest_pour = year.longest_pour();
        let pours = schedule::first_pour(build, &year);
        let (longest, shortest_break) = (year.longest(), year.shortest_break());
        Self { limits: Limits::new(build, &year), longest, longest_pour, shortest_break, pours }
    }

    fn work(&self, build: &Build, estimates: &Estimates, again: &BTreeSet<Id>) -> Work {
        let hours = Hours {
            longest: self.longest,
            longest_pour: self.longest_pour,
            shortest_break: self.shortest_break,
            pours: self.pours,
            again,
        };
        work::work(build, estimates, &self.limits, hours)
    }
}

/// Puts the work that is left into time. Also gives what to keep of the plan, so that it can be
/// found again without looking.
pub fn schedule(
    build: &Build,
    estimates: &Estimates,
    options: SearchOptions<'_>,
) -> (Schedule, Kept) {
    let (aim, kept) = (options.aim, options.kept);
    match arrange(build, estimates, options) {
        Ok(Arranged { work, limits, calendar, found, of, promise, firsts }) => {
            let heats = found.by_the_clock();
            let names = kept.zip(promise.as_ref()).map(|(k, p)| k.names(build, p, &heats));
            let names = names.unwrap_or_else(|| vec![None; heats.len()]);
            let parts = (&work, &limits, &calendar);
            let mut schedule = schedule::schedule(build, parts, &found, (aim, names));
            schedule.firsts = schedule::firsts(build, &work, &firsts, &schedule);
            schedule.brimming = schedule::brimming(build, &schedule);
            if let Some(both) = kept.zip(promise.as_ref()) {
                schedule.moved = moves(build, &work, both, &schedule);
            }
            let spans: Vec<_> = schedule.jobs.iter().map(|j| (j.start, j.end)).collect();
            let when = (schedule.finish.or(schedule.rest), &spans[..]);
            let heats = schedule.heats.iter();
            let heats = heats.map(|h| (&h.name, [h.lit, h.pour], &h.crucibles[..], &h.moulds[..]));
            let keep = Kept::new((of, aim), build, &work, &found.candidate, when, heats);
            let keep = Kept { firsts_cost: firsts.would_cost, ..keep };
            schedule.laid = Some(Arc::new(Laid { work, layout: found.layout }));
            (schedule, keep)
        }
        Err(missing) => (Schedule { missing, ..Schedule::default() }, Kept::default()),
    }
}

/// A plan before it is put into words of the build.
struct Arranged {
    work: Work,
    limits: Limits,
    calendar: Calendar,
    found: Found,
    /// Hash of all that it depends on.
    of: String,
    /// What still stands of the plan in force.
    promise: Option<Promise>,
    /// First heats of what is new in the shop.
    firsts: Firsts,
}

/// How a plan is looked for.
struct Looking<'a> {
    limits: &'a Limits,
    aim: Aim,
    kept: Option<&'a Kept>,
    gain: i64,
    further: bool,
}

/// A plan that was found: the work it is of, the hours for it, and its hash.
type Searched = (Calendar, Found, String);

impl Looking<'_> {
    /// Whether the plan in force is of this work.
    fn in_force(&self, build: &Build, work: &Work) -> bool {
        let is = |calendar: &Calendar| {
            let of = promise::hash(work, self.limits, calendar, self.aim);
            self.kept.is_some_and(|k| k.of == of && k.is_whole(build, work))
        };
        !self.further && self.kept.is_some() && ROOM.iter().any(|n| is(&hours(build, work, *n)))
    }

    /// Looks for a plan of this work.
    fn search(
        &self,
        build: &Build,
        work: &Work,
        promise: Option<&Promise>,
        budget: &mut Budget<'_>,
    ) -> Option<Searched> {
        let tries = budget.tries;
        ROOM.iter().find_map(|times| {
            let calendar = hours(build, work, *times);
            let of = promise::hash(work, self.limits, &calendar, self.aim);
            let stands = self.kept.is_some_and(|k| k.of == of && k.is_whole(build, work));
            budget.tries = if stands && !self.further { 0 } else { tries };
            let in_force = promise.map(|p| Promised {
                candidate: p.candidate.clone(),
                heats: p.heats.iter().map(|(m, on)| (m.clone(), calendar.days_to(*on))).collect(),
                gain: self.gain,
            });
            let found =
                search::search(work, self.limits, &calendar, self.aim, in_force, budget).ok();
            budget.tries = tries;
            Some((calendar, found?, of))
        })
    }
}

/// Looks for a plan in which what is new in the shop begins with a small, easy heat, where that
/// costs no more than a week; else for one without.
fn learning(
    build: &Build,
    work: &Work,
    looking: &Looking<'_>,
    promise: Option<&Promise>,
    budget: &mut Budget<'_>,
) -> Option<(Work, Calendar, Found, String, Firsts)> {
    let mut trial = work.clone();
    let first = learn_first(build, &mut trial);
    let small = |(calendar, found, of): Searched, first| {
        (trial.clone(), calendar, found, of, Firsts { first, would_cost: None })
    };
    let plain = |(calendar, found, of): Searched, first, would_cost| {
        (work.clone(), calendar, found, of, Firsts { first, would_cost })
    };
    if first.is_empty() {
        let found = looking.search(build, work, promise, budget)?;
        return Some(plain(found, first, None));
    }
    let day = |found: &Found| Calendar::day(found.layout.finish() - 1);
    // A plan in force was weighed when it was made: without small heats first they cost too much, or
    // could not be.
    if looking.in_force(build, work) {
        let found = looking.search(build, work, promise, budget)?;
        let cost = looking.kept.and_then(|kept| kept.firsts_cost);
        return Some(plain(found, if cost.is_some() { first } else { Vec::new() }, cost));
    }
    let learned = looking.search(build, &trial, promise, budget);
    if let Some(learned) = learned {
        let soonest = Calendar::day(search::soonest(work, looking.limits, &learned.0) - 1);
        let sure = day(&learned.1) - soonest <= WORTH || looking.in_force(build, &trial);
        if sure {
            return Some(small(learned, first));
        }
        let found = looking.search(build, work, promise, budget)?;
        let cost = day(&learned.1) - day(&found.1);
        return Some(match cost <= WORTH {
            true => small(learned, first),
            false => plain(found, first, Some(cost)),
        });
    }
    let found = looking.search(build, work, promise, budget)?;
    Some(plain(found, Vec::new(), None))
}

/// The hours of the shop for the work, so many times over, and for what lies idle between.
pub(crate) fn hours(build: &Build, work: &Work, times: Minute) -> Calendar {
    let bench: Minute = work.items.iter().map(|i| i.minutes).sum();
    let alone = |mould| work.shortest_heat(&[mould]);
    let melts: Minute = work.moulds.iter().map(alone).sum();
    let waits: Minute = work.items.iter().map(|i| i.wait).max().unwrap_or(0);
    let latest = work.items.iter().map(Item::begins).max().unwrap_or(0);
    let beyond = 60 + (10 * waits + latest) / (24 * 60);
    Calendar::new(&build.shop, build.today, (times * (bench + melts), beyond), work.gone)
}

/// Moulds that stand too long by the time of their heat are rammed again, and all is looked at anew
/// with that: as often as there are such moulds at the most.
fn arrange(
    build: &Build,
    estimates: &Estimates,
    mut options: SearchOptions<'_>,
) -> Result<Arranged, Vec<String>> {
    let shop = Shop::new(build);
    let kept = options.kept;
    let prepared = |again: &BTreeSet<Id>, awaited| {
        let mut work = shop.work(build, estimates, again);
        awaited::hold_back(build, &mut work, awaited);
        // Where a heat of today is still to come, a furnace that was to be lit by now is lit, and
        // clearing up comes after that heat.
        if let Some(lit) = kept.and_then(|kept| kept.lit_today(build)) {
            work.gone.lit = Some(lit).filter(|lit| *lit < work.gone.until);
            work.gone.minutes -= work.gone.clear_up;
        }
        work
    };
    let mut again = kept.map_or_else(BTreeSet::new, |kept| kept.still_again(build));
    // What the plan in force rams again is rammed again while that plan stands, and no longer: with what
    // has come since, it may be poured in time.
    if !again.is_empty() && !options.stands(build, &shop, &prepared(&again, options.awaited)) {
        again.clear();
    }
    loop {
        let work = prepared(&again, options.awaited);
        let arranged = arrange_all(build, work, &shop, &mut options)?;
        let late: Vec<Id> = arranged.late().cloned().collect();
        if late.is_empty() {
            return Ok(arranged);
        }
        again.extend(late);
    }
}

impl SearchOptions<'_> {
    /// Whether the plan in force is of this work, with small heats first or without.
    fn stands(&self, build: &Build, shop: &Shop, work: &Work) -> bool {
        let Self { aim, kept, gain, further, .. } = *self;
        let looking = Looking { limits: &shop.limits, aim, kept, gain, further };
        let mut trial = work.clone();
        trial.batches = Batches::apart(work.moulds.len());
        learn_first(build, &mut trial);
        looking.in_force(build, work) || looking.in_force(build, &trial)
    }
}

impl Arranged {
    /// Moulds that are poured later than they may be as they stand.
    fn late(&self) -> impl Iterator<Item = &Id> {
        let layout = &self.found.layout;
        layout.heats.iter().flat_map(|heat| &heat.moulds).filter_map(|m| {
            let mould = &self.work.moulds[*m];
            let heat = layout.heats.iter().find(|heat| heat.moulds.contains(m))?;
            let pour = layout.items[mould.items[1]?].start.max(heat.pour);
            let late = mould.good_until.is_some_and(|until| until < pour);
            mould.standing.as_ref().filter(|_| late).map(|(name, _)| name)
        })
    }
}

fn arrange_all(
    build: &Build,
    mut work: Work,
    shop: &Shop,
    options: &mut SearchOptions<'_>,
) -> Result<Arranged, Vec<String>> {
    let (limits, longest) = (shop.limits.clone(), shop.longest_pour);
    if shop.longest == 0 {
        work.missing.push(
            "nobody has hours in the shop: give them under `shop: people:`, such as \
             `hours: {sat: 6 h}`"
                .into(),
        );
        return Err(work.missing);
    }
    let SearchOptions { aim, kept, gain, further, .. } = *options;
    let mut promise = kept.and_then(|k| k.stands(build, &work, &limits, longest));
    work.batches = match &promise {
        Some(promise) => promise.batches.clone(),
        None => Batches::apart(work.moulds.len()),
    };
    loop {
        let looking = Looking { limits: &limits, aim, kept, gain, further };
        if let Some(arranged) =
            learning(build, &work, &looking, promise.as_ref(), &mut options.budget)
        {
            let (work, calendar, found, of, firsts) = arranged;
            return Ok(Arranged { work, limits, calendar, found, of, promise, firsts });
        }
        // What was rammed for one heat may stand in the flasks that others of it wait for.
        if !promise.as_mut().is_some_and(|p| p.let_go(&mut work.batches)) {
            break;
        }
    }
    work.missing.push(
        "no order was found in which all of this can be done: moulds, flasks and the hours of a \
         session conflict"
            .into(),
    );
    Err(work.missing)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::estimate;

    fn build(holds: &str, journal: &str) -> (Build, Estimates) {
        let part = |id: &str| {
            format!(
                "  {id}: {{casting: {{pattern: {id}, alloy: A356, mass: 1.2 kg}}, steps: {{pattern: none}}}}\n"
            )
        };
        let pattern = |id: &str| format!("  {id}: {{made-of: wood, size: 180 x 150 x 50 mm}}\n");
        let text = format!(
            "\
build: {{title: Three, begun: 2026-01-10}}
shop:
  people: {{me: {{hours: {{sat: 8 h}}}}}}
  poured-before: [A356, oil-sand]
  furnaces: {{drum: {{fuel: propane, efficiency: 10 %}}}}
  crucibles: {{pot: {{holds: {holds}, working-fill: 80 %, family: aluminium}}}}
  flasks: {{box: {{inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 3}}}}
  sand: {{kind: oil-sand}}
patterns:
{}parts:
{}",
            ["bed", "arm", "lid"].map(pattern).concat(),
            ["bed", "arm", "lid"].map(part).concat()
        );
        let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day");
        let today = crate::Today { asked: None, clock };
        let build = crate::read(text.into(), journal.into(), today);
        let build = build.unwrap_or_else(|faults| panic!("{}", faults[0]));
        let estimates = estimate(&build);
        (build, estimates)
    }

    /// Of three that were promised in one heat two are rammed, and the pot that is left takes two and a half
    /// of them at 80 % and 2.36 kg/L: the two are poured from one melt all the same.
    #[test]
    fn what_was_rammed_for_one_heat_stays_together_without_the_rest_of_it() {
        let (large, estimates) = build("4 L", "");
        let budget = Budget { tries: 20, seed: 1, stop: &mut |_, _| false };
        let looking = SearchOptions { aim: Aim::Heats, ..SearchOptions::new(budget) };
        let (first, kept) = schedule(&large, &estimates, looking);
        assert_eq!(first.heats.len(), 1);
        let rammed = |id: &str| {
            format!(
                "---\nid: {id}\nat: 2026-01-10 07:00\nrammed: {{mould: M-{id}, pattern: {id}, castings: {{{id}: 1}}}}\n"
            )
        };
        let each = estimates.castings[0].as_ref().and_then(|e| e.mould.charge.as_ref());
        let litres = 2.5 * each.expect("a charge").si() / 0.8 / 2.36;
        let (small, estimates) =
            build(&format!("{litres:.3} L"), &["bed", "arm"].map(rammed).concat());
        let shop = Shop::new(&small);
        let work = shop.work(&small, &estimates, &BTreeSet::new());
        let promise = kept.stands(&small, &work, &shop.limits, shop.longest_pour);
        let promise = promise.expect("a promise");
        let ready = |batch: &&Vec<usize>| batch.iter().all(|m| work.moulds[*m].standing.is_some());
        let batches: Vec<_> = promise.batches.all().iter().filter(ready).collect();
        assert_eq!(batches.iter().map(|b| b.len()).collect::<Vec<_>>(), [2], "{batches:?}");
        assert!(promise.torn.is_empty(), "{:?}", promise.torn);
        let heats = promise.candidate.heats.iter().map(Vec::len).collect::<Vec<_>>();
        assert_eq!(heats, [2, 1]);
    }
}
