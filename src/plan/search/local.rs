//! Looking for a good plan: first candidates by rules of thumb, then neighbours of the best, until
//! nothing can be better or the budget is spent.

use super::aim::{Aim, Budget};
use super::bound::bound;
use super::forward::forward;
use super::grouping::few;
use super::heats::least;
use super::layout::{Candidate, Layout, PlacedHeat};
use super::place::place;
use crate::manifest::Step;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::subject::Subject;
use crate::plan::work::Work;
use crate::plan::work::{Limits, may_share};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::HashMap;

/// How good a plan is; the smaller the better. The last number prefers castings early on which
/// much waits and which may be lost, poured and inspected: one that must be redone is known early.
type Worth = (i64, i64, i64);

/// A plan that was found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The candidate behind it, with its grouping settled.
    pub candidate: Candidate,
    /// Where everything lies.
    pub layout: Layout,
    /// No plan finishes before this minute.
    pub bound: Minute,
    /// No plan has fewer heats.
    pub least_heats: usize,
    /// Candidates tried.
    pub tried: usize,
    /// Whether it is the plan that was in force.
    pub in_force: bool,
    /// Candidates that would have been tried, had the search not been stopped.
    pub cut_short: Option<usize>,
}

impl Found {
    /// Moulds of each heat, the first lit first.
    pub fn by_the_clock(&self) -> Vec<&[usize]> {
        let mut heats: Vec<&PlacedHeat> = self.layout.heats.iter().collect();
        heats.sort_by_key(|h| h.lit);
        heats.into_iter().map(|h| &h.moulds[..]).collect()
    }
}

/// Why there is no plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoPlan;

struct Search<'a> {
    work: &'a Work,
    limits: &'a Limits,
    calendar: &'a Calendar,
    aim: Aim,
    /// What tells whether a mould is good, and how much it matters that it is told early.
    stakes: Vec<(usize, f64)>,
    /// How much it matters that each item is over early; together 1. What has much behind it goes
    /// before what has little, however soon that could be done with.
    weights: Vec<f64>,
    /// Moulds that were promised for one heat, and its day.
    promised: Vec<(Vec<usize>, i64)>,
    best: Option<(Worth, Candidate, Layout)>,
    tried: usize,
    /// Whether it was told to look no further.
    stopped: bool,
}

/// No plan finishes before this minute.
pub fn soonest(work: &Work, limits: &Limits, calendar: &Calendar) -> Minute {
    bound(work, limits, calendar, &least(work, limits, calendar))
}

/// What a plan in force promised, as far as it still can be kept.
pub struct Promised {
    /// The candidate of it.
    pub candidate: Candidate,
    /// Moulds of each of its heats, and the day from the origin on which they are poured.
    pub heats: Vec<(Vec<usize>, i64)>,
    /// Days that another plan must gain to take its place.
    pub gain: i64,
}

/// Looks for the best plan. What was promised is kept, as far as it still can be, unless another plan gains so
/// many days (or, where heats come first, saves a heat). A promised heat that moves by a week counts as a
/// day lost.
///
/// # Errors
/// Where nobody's hours reach to the end of the work.
pub fn search(
    work: &Work,
    limits: &Limits,
    calendar: &Calendar,
    aim: Aim,
    kept: Option<Promised>,
    budget: &mut Budget<'_>,
) -> Result<Found, NoPlan> {
    let tails = tails(work, calendar);
    // What is decided last of a part: its inspection, or what comes before where nobody inspects.
    let mut decides: HashMap<usize, usize> = HashMap::new();
    for (n, item) in work.items.iter().enumerate() {
        if let (Subject::Part(part), Step::ShakeOut | Step::Fettle | Step::Inspect) =
            (item.subject, item.step)
        {
            let last = decides.entry(part).or_insert(n);
            if work.items[*last].step <= item.step {
                *last = n;
            }
        }
    }
    let stakes = work.moulds.iter().filter_map(|m| {
        let behind = m.items[1].map_or(0.0, |n| tails[n]);
        Some((*decides.get(&m.part)?, m.doubt * behind / 60.0))
    });
    let stakes = stakes.collect();
    let all: f64 = tails.iter().map(|t| t * t).sum();
    let weights = tails.iter().map(|t| t * t / all.max(1.0)).collect();
    let (best, tried, stopped) = (None, 0, false);
    let (kept, promised, gain) = match kept {
        Some(Promised { candidate, heats, gain }) => (Some(candidate), heats, gain),
        None => (None, Vec::new(), 0),
    };
    let mut search =
        Search { work, limits, calendar, aim, stakes, weights, promised, best, tried, stopped };
    let least = least(work, limits, calendar);
    let bound = bound(work, limits, calendar, &least);
    let least_heats = least.heats;
    if let Some(candidate) = kept {
        search.try_candidate(candidate);
    }
    let in_force = search.best.clone();
    if let (Some((_, candidate, layout)), 0) = (&in_force, budget.tries) {
        let (candidate, layout, tried) = (candidate.clone(), layout.clone(), 1);
        let (in_force, cut_short) = (true, None);
        return Ok(Found { candidate, layout, bound, least_heats, tried, in_force, cut_short });
    }
    let most = if budget.tries > 1 { usize::MAX } else { 1 };
    let few = match budget.tries {
        0..=1 => Vec::new(),
        _ => few(work, limits, calendar.longest_pour(), &least),
    };
    for keys in rules(work, &tails).into_iter().take(most) {
        search.try_candidate(Candidate { keys: keys.clone(), heats: Vec::new() });
        if budget.tries > 1 {
            let alone = work.batches.all().to_vec();
            search.try_candidate(Candidate { keys: keys.clone(), heats: alone });
            search.try_candidate(Candidate { keys, heats: few.clone() });
        }
    }
    let all = budget.tries;
    budget.tries = all / 2;
    search.improve(None, bound, least_heats, budget);
    budget.tries = all;
    if all > 1 {
        let forward = search.bring_forward(&tails);
        search.improve(forward, bound, least_heats, budget);
    }
    let (new, candidate, layout) = search.best.ok_or(NoPlan)?;
    let tried = search.tried;
    let cut_short = search.stopped.then_some(all);
    let found = |candidate, layout, in_force| Found {
        candidate,
        layout,
        bound,
        least_heats,
        tried,
        in_force,
        cut_short,
    };
    // Promised sessions stay as they are unless the gain is worth it.
    if let Some((old, old_candidate, old_layout)) = in_force {
        let gained = match aim {
            Aim::Finish => old.0 - new.0 >= gain,
            Aim::Heats => new.0 < old.0 || old.1 - new.1 >= gain,
        };
        if !gained {
            return Ok(found(old_candidate, old_layout, true));
        }
    }
    Ok(found(candidate, layout, false))
}

impl Search<'_> {
    fn worth(&self, layout: &Layout) -> Worth {
        let day = Calendar::day(layout.finish() - 1) + self.moved(layout);
        let heats = layout.heats.len() as i64;
        let early = self.stakes.iter().map(|(n, stake)| layout.items[*n].ready as f64 * stake);
        let early: f64 = early.sum();
        let ends = layout.items.iter().zip(&self.weights).map(|(p, w)| p.ready as f64 * w);
        let early = (early + ends.sum::<f64>()) as i64;
        match self.aim {
            Aim::Finish => (day, heats, early),
            Aim::Heats => (heats, day, early),
        }
    }

    /// Weeks by which promised heats move, all together; each by as much as its moulds do in the mean.
    fn moved(&self, layout: &Layout) -> i64 {
        let mut on = vec![None; self.work.moulds.len()];
        for heat in &layout.heats {
            heat.moulds.iter().for_each(|m| on[*m] = Some(Calendar::day(heat.lit)));
        }
        let each = self.promised.iter().map(|(moulds, day)| {
            let days = moulds.iter().filter_map(|m| on[*m]).map(|on| (on - day).abs());
            days.sum::<i64>() as f64 / moulds.len().max(1) as f64
        });
        (each.sum::<f64>() / 7.0).ceil() as i64
    }

    /// Tries a candidate; whether it was the best so far.
    fn try_candidate(&mut self, candidate: Candidate) -> Option<Worth> {
        self.tried += 1;
        let layout = place(self.work, self.limits, self.calendar, &candidate)?;
        let worth = self.worth(&layout);
        if self.best.as_ref().is_none_or(|b| worth < b.0) {
            let heats = layout.heats.iter().map(|h| h.moulds.clone()).collect();
            self.best = Some((worth, Candidate { keys: candidate.keys, heats }, layout));
        }
        Some(worth)
    }

    /// Tries the heats of the best plan with work in the order that brings most forward.
    fn bring_forward(&mut self, tails: &[f64]) -> Option<(Worth, Candidate)> {
        let (_, best, _) = self.best.clone()?;
        let mut found: Option<(Worth, Candidate)> = None;
        for keys in rules(self.work, tails).into_iter().chain([best.keys]) {
            let keys = forward(self.work, &best.heats, &self.stakes, &keys);
            let candidate = Candidate { keys, heats: best.heats.clone() };
            if let Some(worth) = self.try_candidate(candidate.clone())
                && found.as_ref().is_none_or(|(least, _)| worth < *least)
            {
                found = Some((worth, candidate));
            }
        }
        found
    }

    /// Tries neighbours, of this candidate or of the best, until the budget is spent: where the day of finish is proven, what is left
    /// of it brings castings forward on which much waits.
    fn improve(
        &mut self,
        from: Option<(Worth, Candidate)>,
        bound: Minute,
        least: usize,
        budget: &mut Budget<'_>,
    ) {
        // Late acceptance: a neighbour is taken if it is no worse than what was held so many
        // tries ago. Until the best is proven, every second round begins with all heats taken
        // apart, and in it the number of heats and the day of finish change places: the way from one good grouping to
        // another leads through plans that are worse.
        const MEMORY: usize = 40;
        const ASK_EVERY: usize = 16;
        const ROUNDS: usize = 8;
        let best = self.best.as_ref().map(|(worth, candidate, _)| (*worth, candidate.clone()));
        let Some((first, candidate)) = from.or(best) else { return };
        if self.work.items.is_empty() {
            return;
        }
        let mut random = ChaCha8Rng::seed_from_u64(budget.seed);
        let (mut held, mut candidate) = (first, candidate);
        let mut memory = [first; MEMORY];
        let bound = Calendar::day(bound - 1);
        let begun = self.tried;
        let length = (budget.tries / ROUNDS).max(10 * MEMORY);
        let (mut round, mut turn) = (0, false);
        while self.tried < budget.tries {
            let Some((best, best_candidate, _)) = self.best.as_ref() else { return };
            if self.tried.is_multiple_of(ASK_EVERY) && (budget.stop)(self.tried, budget.tries) {
                self.stopped = true;
                return;
            }
            let turned = |w: Worth| (w.1, w.0, w.2);
            if (self.tried - begun) / length > round {
                round += 1;
                (held, candidate) = (*best, best_candidate.clone());
                let (day, heats) = match self.aim {
                    Aim::Finish => (held.0, held.1),
                    Aim::Heats => (held.1, held.0),
                };
                let proven = day <= bound && heats <= least as i64;
                turn = !proven && round % 2 == 1;
                if turn {
                    candidate.heats = self.work.batches.all().to_vec();
                    held = turned(self.try_candidate(candidate.clone()).unwrap_or(held));
                }
                memory = [held; MEMORY];
                continue;
            }
            let neighbour = self.neighbour(&candidate, &mut random);
            let slot = self.tried % MEMORY;
            let new = self.try_candidate(neighbour.clone());
            if let Some(new) = if turn { new.map(turned) } else { new }
                && (new <= memory[slot] || new <= held)
            {
                (held, candidate) = (new, neighbour);
            }
            memory[slot] = held;
        }
    }

    fn neighbour(&self, candidate: &Candidate, random: &mut ChaCha8Rng) -> Candidate {
        let before = &candidate.heats;
        let mut candidate = candidate.clone();
        let items = self.work.items.len();
        let regroup = !self.work.moulds.is_empty() && random.random_bool(0.3);
        if regroup {
            if self.regroup(&mut candidate, random) {
                return candidate;
            }
            // What is left half way may be too much for one pot, which its placing finds out; a
            // promised heat that is ready is never half way joined with another.
            if !candidate.heats.iter().all(|g| self.work.batches.may_join(g)) {
                candidate.heats.clone_from(before);
            }
        }
        let (a, b) = (random.random_range(0..items), random.random_range(0..items));
        if random.random_bool(0.5) {
            candidate.keys.swap(a, b);
        } else {
            let above = if random.random_bool(0.5) { 1e-6 } else { -1e-6 };
            candidate.keys[a] = candidate.keys[b] * (1.0 + above) + above;
        }
        candidate
    }

    /// Moves a batch to another heat, or out to one of its own, or swaps two.
    fn regroup(&self, candidate: &mut Candidate, random: &mut ChaCha8Rng) -> bool {
        let heats = candidate.heats.len();
        let from = random.random_range(0..heats);
        if candidate.heats[from].is_empty() {
            return false;
        }
        let which = random.random_range(0..candidate.heats[from].len());
        let batches = &self.work.batches;
        let batch = batches.with(candidate.heats[from][which]);
        let fits = |g: &[usize]| {
            self.work.batches.may_join(g)
                && may_share(self.work, self.limits, g, self.calendar.longest_pour())
        };
        let to = random.random_range(0..=heats);
        if to == from {
            return false;
        }
        if to == heats {
            if candidate.heats[from].len() <= batch.len() {
                return false;
            }
            candidate.heats[from].retain(|m| !batch.contains(m));
            candidate.heats.push(batch.to_vec());
            return true;
        }
        candidate.heats[from].retain(|m| !batch.contains(m));
        candidate.heats[to].extend(batch);
        if !fits(&candidate.heats[to]) && !candidate.heats[to].is_empty() {
            // Too much for one heat: something else goes back instead.
            let back = random.random_range(0..candidate.heats[to].len());
            let other = batches.with(candidate.heats[to][back]);
            candidate.heats[to].swap_remove(back);
            candidate.heats[to].retain(|m| !other.contains(m));
            candidate.heats[from].extend(other);
            if !fits(&candidate.heats[to]) || !fits(&candidate.heats[from]) {
                return false;
            }
        }
        candidate.heats.retain(|g| !g.is_empty());
        true
    }
}

/// Minutes of work from the beginning of each item to the end of the build along its longest
/// chain, waits taken as the share of the hours that go by.
fn tails(work: &Work, calendar: &Calendar) -> Vec<f64> {
    let span = calendar.people.iter().flatten().map(|w| w.to).max().unwrap_or(1).max(1);
    let share = calendar.worked(0, span) as f64 / span as f64;
    let mut tails = vec![0.0f64; work.items.len()];
    for &n in work.order().iter().rev() {
        let item = &work.items[n];
        let behind = item.after.iter().map(|a| tails[*a]).fold(0.0, f64::max);
        let mould = item.mould.filter(|_| item.step == Step::Pour);
        let melt = mould.map_or(0, |m| work.shortest_heat(&[&work.moulds[m]]));
        tails[n] = (item.minutes + melt) as f64 + item.wait as f64 * share + behind;
    }
    tails
}

/// Priorities by rules of thumb.
fn rules(work: &Work, tails: &[f64]) -> Vec<Vec<f64>> {
    let mut behind = vec![0.0f64; work.items.len()];
    for &n in work.order().iter().rev() {
        let item = &work.items[n];
        behind[n] = item.after.iter().map(|a| behind[*a] + 1.0).sum::<f64>().min(1e12);
    }
    let casting_first = |n: usize| {
        let item = &work.items[n];
        let foundry = item.mould.is_some() || matches!(item.step, Step::Pattern | Step::Core);
        tails[n] + if foundry { 1e4 } else { 0.0 }
    };
    // What stands ready is poured before anything new.
    let ready = |n: usize| {
        let mould = work.items[n].mould.map(|m| &work.moulds[m]);
        if mould.is_some_and(|m| m.standing.is_some()) { 1e7 } else { 0.0 }
    };
    vec![
        (0..tails.len()).map(|n| tails[n] + ready(n)).collect(),
        (0..tails.len()).map(|n| casting_first(n) + ready(n)).collect(),
        (0..tails.len()).map(|n| tails[n] + behind[n].min(100.0) * 30.0 + ready(n)).collect(),
    ]
}
