//! What stands otherwise than it was promised, and why.

use super::awaited::Awaited;
use super::promise::{Changed, Kept, Promise};
use super::schedule::Schedule;
use super::subject::Subject;
use super::work::Work;
use crate::journal::Disposition;
use crate::manifest::{Id, Step};
use crate::model::{Attempt, Build, Equipment, Finding, Gone};
use std::collections::{BTreeMap, BTreeSet};

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
    out.extend(teller.replaced());
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

/// Changes that are alike.
#[derive(PartialEq)]
enum Kind {
    Late,
    Longer,
    Shorter,
    New,
    /// By part.
    Scrapped(usize),
}

/// Work on something, in words.
fn doing(step: Step, on: &str) -> String {
    let does = match step {
        Step::Pattern | Step::Make => "making",
        Step::Core => "making the cores of",
        Step::Ram => "ramming",
        Step::Pour => "pouring",
        Step::ShakeOut => "shaking out",
        Step::Fettle => "fettling",
        Step::Inspect => "inspecting",
        Step::Relieve => "relieving",
        Step::Machine => "machining",
        Step::Scrape => "scraping",
        Step::Fit => "fitting",
        Step::Receive => "receiving",
    };
    format!("{does} {on}")
}

/// What was retired, in words; none where nothing was.
fn says_retired<'g>(gone: impl Iterator<Item = &'g Gone>) -> Option<String> {
    let each = gone.map(|g| match g.pieces {
        1 => format!("the {} {} was retired on {}", g.what.word(), g.of, g.at.date()),
        n => format!("{n} of the {} {} were retired on {}", g.what.word(), g.of, g.at.date()),
    });
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| each.join("; "))
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
        if let Some(gone) = self.retired_behind(&behind) {
            return gone;
        }
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
        // One of each kind in words, those that are alike counted.
        let mut kinds: Vec<(Kind, String, usize)> = Vec::new();
        for (n, change) in &told {
            let kind = self.kind(*n, *change);
            match kinds.iter_mut().find(|(k, ..)| *k == kind) {
                Some((.., more)) => *more += 1,
                None => kinds.push((kind, self.in_words(*n, *change), 0)),
            }
        }
        let mut says: Vec<String> = kinds
            .into_iter()
            .map(|(_, first, more)| match more {
                0 => first,
                more => format!("{first}, and {more} more like it"),
            })
            .collect();
        if !says.is_empty() && self.kept.other_shop(self.build) {
            let gone = self.retired();
            says.push(gone.unwrap_or("the hours or the equipment of the shop have changed".into()));
        }
        match &*says {
            [] => self.of_itself(),
            [one] => one.clone(),
            _ => format!("several changes at once: {}", says.join("; ")),
        }
    }

    /// What is told together. All that a scrapped casting makes anew has one cause.
    fn kind(&self, n: usize, change: Changed) -> Kind {
        match (change, self.lost(n)) {
            (Changed::Late(_), _) => Kind::Late,
            (Changed::Longer(_) | Changed::New, Some((_, part))) => Kind::Scrapped(part),
            (Changed::Longer(_), None) => Kind::Longer,
            (Changed::Shorter(_), _) => Kind::Shorter,
            (Changed::New, None) => Kind::New,
        }
    }

    /// The mould of the last casting of its part that was scrapped since the plan was made, and the part.
    fn lost(&self, n: usize) -> Option<(&Attempt, usize)> {
        let Subject::Part(i) = self.work.items[n].subject else { return None };
        let (history, id) = (&self.build.history, self.build.parts[i].id());
        let before = self.kept.scrapped.as_ref()?.get(id).copied().unwrap_or(0);
        if history.pieces(i).scrapped <= before {
            return None;
        }
        let lost = history.attempts_of(i).filter_map(|attempt| {
            let bad = |f: &&Finding| f.part == i && f.disposition == Disposition::Scrap;
            Some((attempt.findings.iter().filter(bad).map(|f| f.at).max()?, attempt))
        });
        lost.max_by_key(|(at, _)| *at).map(|(_, attempt)| (attempt, i))
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

    /// Flasks and crucibles that were retired since the plan was made, in words; none where there are none.
    fn retired(&self) -> Option<String> {
        says_retired(self.kept.retired_since(self.build).into_iter())
    }

    /// Of these items, what was retired of the flasks and crucibles that they were promised.
    fn retired_behind(&self, items: &BTreeSet<usize>) -> Option<String> {
        let moulds: BTreeSet<usize> =
            items.iter().filter_map(|n| self.work.items[*n].mould).collect();
        let slots: Vec<_> = moulds.into_iter().filter_map(|m| self.promise.slot(m)).collect();
        let used = |gone: &&Gone| {
            slots.iter().any(|(h, m)| {
                let heat = &self.kept.heats[*h];
                match gone.what {
                    Equipment::Flask => heat.moulds[*m].flask.as_ref() == Some(&gone.of),
                    Equipment::Crucible => heat.crucibles.contains(&gone.of),
                }
            })
        };
        says_retired(self.kept.retired_since(self.build).into_iter().filter(used))
    }

    /// Promised heats that take other crucibles or flasks than they were promised, for those are gone; and
    /// those that nothing is left to pour in.
    fn replaced(&self) -> Vec<String> {
        let mut out = Vec::new();
        // Heats that nothing is left for, by what is gone.
        let mut given_up: BTreeMap<String, Vec<&str>> = BTreeMap::new();
        let gone = self.kept.retired_since(self.build);
        for promised in &self.kept.heats {
            let name = &promised.heat;
            let flasks = promised.moulds.iter().filter_map(|m| m.flask.as_ref());
            let needed = |g: &&&Gone| match g.what {
                Equipment::Flask => flasks.clone().any(|f| *f == g.of),
                Equipment::Crucible => promised.crucibles.contains(&g.of),
            };
            let Some(says) = says_retired(gone.iter().filter(needed).copied()) else { continue };
            let now = self.schedule.heats.iter().find(|heat| heat.name == *name);
            match now {
                None if !self.build.history.heats.contains_key(name) => {
                    given_up.entry(says).or_default().push(name);
                }
                Some(now) if now.pour.date() == promised.pour.date() => {
                    let moulds = now.moulds.iter().map(|m| &self.schedule.moulds[*m]);
                    let takes: BTreeSet<&Id> = moulds.filter_map(|m| m.flask.as_ref()).collect();
                    // Of several that are equal, others are left.
                    if now.crucibles == promised.crucibles && takes == flasks.collect() {
                        continue;
                    }
                    let takes: Vec<&str> = takes.into_iter().map(|f| &**f).collect();
                    let (pots, flasks) = (now.crucibles.join(" and "), takes.join(" and "));
                    out.push(format!(
                        "{name} is melted in {pots} and its moulds rammed in {flasks}: {says}"
                    ));
                }
                _ => {}
            }
        }
        let told = |(says, names): (String, Vec<&str>)| {
            let are = if names.len() == 1 { "is" } else { "are" };
            format!("{} {are} no longer planned: {says}", names.join(", "))
        };
        out.extend(given_up.into_iter().map(told));
        out
    }

    fn of_itself(&self) -> String {
        let gone =
            |a: &&Awaited| !self.work.awaited.iter().any(|b| b.of == a.of && b.until >= a.until);
        if let Some(awaited) = self.kept.awaited.iter().find(gone) {
            return format!("{} can be there sooner than was known", awaited.of);
        }
        if let Some(gone) = self.retired() {
            return gone;
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
        let work = doing(item.step, on);
        if let (Changed::Longer(_) | Changed::New, Some((mould, _))) = (change, self.lost(n)) {
            return format!("a casting of {on} in {} was scrapped, and is made again", mould.mould);
        }
        match change {
            Changed::Late(day) => format!("{work} was planned for {day} and is still to do"),
            Changed::Longer(minutes) => {
                format!("{work} takes {minutes} min more than it was planned to")
            }
            Changed::Shorter(minutes) => {
                format!("{work} takes {minutes} min less than it was planned to")
            }
            Changed::New => format!("{work} is new"),
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
