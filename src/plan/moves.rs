//! What stands otherwise than it was promised, and why.

use super::awaited::Awaited;
use super::promise::{Changed, Kept, Promise};
use super::schedule::Schedule;
use super::subject::Subject;
use super::work::Work;
use crate::model::Build;
use std::collections::BTreeSet;

/// The heats that are poured on another day than promised, and the finish if it moved, each with
/// its cause.
pub(super) fn moves(
    build: &Build,
    work: &Work,
    (kept, promise): (&Kept, &Promise),
    schedule: &Schedule,
) -> Vec<String> {
    let teller = Teller { build, work, kept, promise, schedule };
    let mut out = promise.torn.clone();
    for heat in &schedule.heats {
        let promised = kept.heats.iter().find(|h| h.heat == heat.name);
        let Some(promised) = promised.filter(|p| p.pour.date() != heat.pour.date()) else {
            continue;
        };
        let (name, now, then) = (&heat.name, heat.pour.date(), promised.pour.date());
        let pours = heat.moulds.iter().flat_map(|m| work.moulds[*m].items).flatten();
        let cause = teller.cause(pours);
        out.push(format!("{name} is poured on {now}, not on {then}: {cause}"));
    }
    let finish = schedule.finish.or(schedule.rest).map(|f| f.date());
    if let Some((then, now)) = kept.finish.map(|f| f.date()).zip(finish).filter(|(a, b)| a != b) {
        let last = schedule.chain.iter().copied();
        out.push(format!("finished on {now}, not on {then}: {}", teller.cause(last)));
    }
    out
}

struct Teller<'a> {
    build: &'a Build,
    work: &'a Work,
    kept: &'a Kept,
    promise: &'a Promise,
    schedule: &'a Schedule,
}

impl Teller<'_> {
    /// What moved these items: a change of what they wait for; else one that took the hours.
    fn cause(&self, items: impl Iterator<Item = usize>) -> String {
        let behind = self.behind(items);
        if let Some(comes) = behind.iter().find_map(|n| self.newly_awaited(*n)) {
            return comes;
        }
        let changes = &self.promise.changes;
        let mine = changes.iter().filter(|(n, _)| behind.contains(n));
        let mut told: Vec<&(usize, Changed)> = mine.collect();
        let others = told.is_empty();
        if others {
            // What is not waited for moves nothing but by the hours it takes.
            told = changes.iter().filter(|(n, c)| c.minutes(self.work, *n) > 0).collect();
        }
        told.sort_by_key(|(n, change)| (std::cmp::Reverse(change.minutes(self.work, *n)), *n));
        let Some((n, change)) = told.first() else { return self.of_itself() };
        let first = self.in_words(*n, *change);
        match told.len() {
            1 => first,
            more => format!("{first}, and {} more like it", more - 1),
        }
    }

    /// What an item waits for and did not when the plan was made.
    fn newly_awaited(&self, n: usize) -> Option<String> {
        let awaited = &self.work.awaited[self.work.items[n].awaits?.0];
        let before =
            self.kept.awaited.iter().any(|a| a.of == awaited.of && a.until >= awaited.until);
        (!before).then(|| {
            let (of, until) = (&awaited.of, awaited.until);
            format!("{} waits for {of}, which can be there by {until}", awaited.job)
        })
    }

    fn of_itself(&self) -> String {
        let gone =
            |a: &&Awaited| !self.work.awaited.iter().any(|b| b.of == a.of && b.until >= a.until);
        if let Some(awaited) = self.kept.awaited.iter().find(gone) {
            return format!("{} can be there sooner than was known", awaited.of);
        }
        let says = match (self.schedule.kept, self.schedule.finish > self.kept.finish) {
            (true, _) => {
                "what was logged took other hours than were planned, or the hours or the equipment \
                 of the shop have changed"
            }
            (false, false) => {
                "this plan finishes earlier, by more than the days asked for, or has fewer heats"
            }
            (false, true) => "so the promised heats move least",
        };
        says.into()
    }

    fn in_words(&self, n: usize, change: Changed) -> String {
        let item = &self.work.items[n];
        let on = match item.subject {
            Subject::Pattern(i) => &self.build.patterns[i].id,
            Subject::Part(i) => self.build.parts[i].id(),
        };
        let step = item.step.word();
        match change {
            Changed::Late(day) => format!("{on} {step} was planned for {day} and is still to do"),
            Changed::Longer(minutes) => {
                format!("{on} {step} takes {minutes} min more than it was planned to")
            }
            Changed::Shorter(minutes) => {
                format!("{on} {step} takes {minutes} min less than it was planned to")
            }
            Changed::New => format!("{on} {step} is new"),
        }
    }

    /// These items and all that they wait for.
    fn behind(&self, items: impl Iterator<Item = usize>) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        let mut open: Vec<usize> = items.collect();
        while let Some(n) = open.pop() {
            if found.insert(n) {
                open.extend(&self.work.items[n].before);
            }
        }
        found
    }
}
