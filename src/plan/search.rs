//! Looking for a good plan: first ideas by rules of thumb, then neighbours of the best, until
//! nothing can be better or the budget is spent.

use super::Subject;
use super::calendar::{Calendar, Minute};
use super::forward::forward;
use super::heats::{least_heats, tight};
use super::limits::{Limits, may_share};
use super::place::{Idea, Layout, place};
use super::relax::order;
use super::work::Work;
use crate::manifest::Step;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::HashMap;

/// What comes first when plans are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aim {
    /// The earliest day of finish; then the fewest heats.
    #[default]
    Finish,
    /// The fewest heats; then the earliest day of finish.
    Heats,
}

/// How long to look.
pub struct Budget<'a> {
    /// Ideas to try at most.
    pub tries: usize,
    /// Chooses among neighbours.
    pub seed: u64,
    /// Asked now and then; true ends the search. Gets the tries so far and at most.
    pub stop: &'a mut dyn FnMut(usize, usize) -> bool,
}

/// How good a plan is; the smaller the better. The last number prefers castings early on which
/// much waits and which may be lost, poured and inspected: one that must be redone is known early.
type Worth = (i64, i64, i64);

/// A plan that was found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The idea behind it, with its grouping settled.
    pub idea: Idea,
    /// Where everything lies.
    pub layout: Layout,
    /// No plan finishes before this minute.
    pub bound: Minute,
    /// No plan has fewer heats.
    pub least_heats: usize,
    /// Ideas tried.
    pub tried: usize,
    /// Whether it is the plan that was in force.
    pub in_force: bool,
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
    best: Option<(Worth, Idea, Layout)>,
    tried: usize,
}

/// Looks for the best plan. `kept` is the idea of the plan in force: it is kept, as far as it
/// still can be, unless another one finishes `gain` days earlier (or, where heats come first,
/// saves a heat).
///
/// # Errors
/// Where nobody's hours reach to the end of the work.
pub fn search(
    work: &Work,
    limits: &Limits,
    calendar: &Calendar,
    aim: Aim,
    kept: Option<(Idea, i64)>,
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
    let mut search = Search { work, limits, calendar, aim, stakes, weights, best: None, tried: 0 };
    let bound = bound(work, calendar);
    let least = least_heats(work);
    if let Some((idea, _)) = &kept {
        search.try_idea(idea.clone());
    }
    let in_force = search.best.clone();
    if let (Some((_, idea, layout)), 0) = (&in_force, budget.tries) {
        let (idea, layout, tried) = (idea.clone(), layout.clone(), 1);
        return Ok(Found { idea, layout, bound, least_heats: least, tried, in_force: true });
    }
    let engine =
        if budget.tries > 1 { order(work, calendar, limits.furnaces(), budget.seed) } else { None };
    let most = if budget.tries > 1 { usize::MAX } else { 1 };
    for keys in rules(work, &tails).into_iter().chain(engine).take(most) {
        search.try_idea(Idea { keys: keys.clone(), heats: Vec::new() });
        if budget.tries > 1 {
            let alone = (0..work.moulds.len()).map(|m| vec![m]).collect();
            search.try_idea(Idea { keys: keys.clone(), heats: alone });
            search.try_idea(Idea { keys, heats: tight(work, limits, calendar.longest()) });
        }
    }
    let all = budget.tries;
    budget.tries = all / 2;
    search.improve(None, bound, least, budget);
    budget.tries = all;
    if all > 1 {
        let forward = search.bring_forward(&tails);
        search.improve(forward, bound, least, budget);
    }
    let (new, idea, layout) = search.best.ok_or(NoPlan)?;
    let tried = search.tried;
    let found =
        |idea, layout, in_force| Found { idea, layout, bound, least_heats: least, tried, in_force };
    // Promised sessions stay as they are unless the gain is worth it.
    if let (Some((old, old_idea, old_layout)), Some((_, gain))) = (in_force, kept) {
        let gained = match aim {
            Aim::Finish => old.0 - new.0 >= gain,
            Aim::Heats => new.0 < old.0 || old.1 - new.1 >= gain,
        };
        if !gained {
            return Ok(found(old_idea, old_layout, true));
        }
    }
    Ok(found(idea, layout, false))
}

impl Search<'_> {
    fn worth(&self, layout: &Layout) -> Worth {
        let day = Calendar::day(layout.finish() - 1);
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

    /// Tries an idea; whether it was the best so far.
    fn try_idea(&mut self, idea: Idea) -> Option<Worth> {
        self.tried += 1;
        let layout = place(self.work, self.limits, self.calendar, &idea)?;
        let worth = self.worth(&layout);
        if self.best.as_ref().is_none_or(|b| worth < b.0) {
            let heats = layout.heats.iter().map(|h| h.moulds.clone()).collect();
            self.best = Some((worth, Idea { keys: idea.keys, heats }, layout));
        }
        Some(worth)
    }

    /// Tries the heats of the best plan with work in the order that brings most forward.
    fn bring_forward(&mut self, tails: &[f64]) -> Option<(Worth, Idea)> {
        let (_, best, _) = self.best.clone()?;
        let mut found: Option<(Worth, Idea)> = None;
        for keys in rules(self.work, tails).into_iter().chain([best.keys]) {
            let keys = forward(self.work, &best.heats, &self.stakes, &keys);
            let idea = Idea { keys, heats: best.heats.clone() };
            if let Some(worth) = self.try_idea(idea.clone())
                && found.as_ref().is_none_or(|(least, _)| worth < *least)
            {
                found = Some((worth, idea));
            }
        }
        found
    }

    /// Tries neighbours, of this idea or of the best, until the budget is spent: where the day of finish is proven, what is left
    /// of it brings castings forward on which much waits.
    fn improve(
        &mut self,
        from: Option<(Worth, Idea)>,
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
        let best = self.best.as_ref().map(|(worth, idea, _)| (*worth, idea.clone()));
        let Some((first, idea)) = from.or(best) else { return };
        if self.work.items.is_empty() {
            return;
        }
        let mut random = ChaCha8Rng::seed_from_u64(budget.seed);
        let (mut held, mut idea) = (first, idea);
        let mut memory = [first; MEMORY];
        let bound = Calendar::day(bound - 1);
        let begun = self.tried;
        let length = (budget.tries / ROUNDS).max(10 * MEMORY);
        let (mut round, mut turn) = (0, false);
        while self.tried < budget.tries {
            let Some((best, best_idea, _)) = self.best.as_ref() else { return };
            if self.tried.is_multiple_of(ASK_EVERY) && (budget.stop)(self.tried, budget.tries) {
                return;
            }
            let turned = |w: Worth| (w.1, w.0, w.2);
            if (self.tried - begun) / length > round {
                round += 1;
                (held, idea) = (*best, best_idea.clone());
                let (day, heats) = match self.aim {
                    Aim::Finish => (held.0, held.1),
                    Aim::Heats => (held.1, held.0),
                };
                let proven = day <= bound && heats <= least as i64;
                turn = !proven && round % 2 == 1;
                if turn {
                    idea.heats = (0..self.work.moulds.len()).map(|m| vec![m]).collect();
                    held = turned(self.try_idea(idea.clone()).unwrap_or(held));
                }
                memory = [held; MEMORY];
                continue;
            }
            let neighbour = self.neighbour(&idea, &mut random);
            let slot = self.tried % MEMORY;
            let new = self.try_idea(neighbour.clone());
            if let Some(new) = if turn { new.map(turned) } else { new }
                && (new <= memory[slot] || new <= held)
            {
                (held, idea) = (new, neighbour);
            }
            memory[slot] = held;
        }
    }

    fn neighbour(&self, idea: &Idea, random: &mut ChaCha8Rng) -> Idea {
        let mut idea = idea.clone();
        let items = self.work.items.len();
        let regroup = !self.work.moulds.is_empty() && random.random_bool(0.3);
        if regroup && self.regroup(&mut idea, random) {
            return idea;
        }
        let (a, b) = (random.random_range(0..items), random.random_range(0..items));
        if random.random_bool(0.5) {
            idea.keys.swap(a, b);
        } else {
            let above = if random.random_bool(0.5) { 1e-6 } else { -1e-6 };
            idea.keys[a] = idea.keys[b] * (1.0 + above) + above;
        }
        idea
    }

    /// Moves a mould to another heat, or out to one of its own, or swaps two.
    fn regroup(&self, idea: &mut Idea, random: &mut ChaCha8Rng) -> bool {
        let heats = idea.heats.len();
        let from = random.random_range(0..heats);
        if idea.heats[from].is_empty() {
            return false;
        }
        let which = random.random_range(0..idea.heats[from].len());
        let mould = idea.heats[from][which];
        let fits = |g: &[usize]| may_share(self.work, self.limits, g, self.calendar.longest());
        let to = random.random_range(0..=heats);
        if to == from {
            return false;
        }
        if to == heats {
            if idea.heats[from].len() < 2 {
                return false;
            }
            idea.heats[from].remove(which);
            idea.heats.push(vec![mould]);
            return true;
        }
        idea.heats[from].remove(which);
        idea.heats[to].push(mould);
        if !fits(&idea.heats[to]) && !idea.heats[to].is_empty() {
            // Too much for one heat: something else goes back instead.
            let back = random.random_range(0..idea.heats[to].len());
            let other = idea.heats[to].swap_remove(back);
            idea.heats[from].push(other);
            if !fits(&idea.heats[to]) || !fits(&idea.heats[from]) {
                return false;
            }
        }
        idea.heats.retain(|g| !g.is_empty());
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
        let melt = if item.step == Step::Pour { work.melt } else { 0 };
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
    vec![
        tails.to_vec(),
        (0..tails.len()).map(casting_first).collect(),
        (0..tails.len()).map(|n| tails[n] + behind[n].min(100.0) * 30.0).collect(),
    ]
}

/// No plan finishes before this minute: the longest chain with everybody free for it, and all
/// work from each moment on that is free only then, shared among all people.
pub fn bound(work: &Work, calendar: &Calendar) -> Minute {
    let shake = Step::ShakeOut;
    let mut heads = vec![0; work.items.len()];
    let mut best = 0;
    for n in work.order() {
        let item = &work.items[n];
        let before = |b: &usize| {
            let b = &work.items[*b];
            if b.step == shake { 0 } else { b.wait }
        };
        let ends = item.before.iter().filter_map(|b| {
            let end = calendar.alone(heads[*b], work.items[*b].minutes)?;
            Some(end + before(b))
        });
        let mut head = ends.max().unwrap_or(0).max(item.not_before);
        if item.step == shake {
            let poured = item.before.iter().filter(|b| work.items[**b].mould.is_some());
            let cooled =
                poured.filter_map(|b| calendar.alone(heads[*b], work.items[*b].minutes)).max();
            head = head.max(cooled.unwrap_or(0) + if item.mould.is_some() { item.wait } else { 0 });
        }
        heads[n] = head;
        let end = calendar.alone(head, item.minutes).unwrap_or(head);
        best = best.max(end + if item.step == shake { 0 } else { item.wait });
    }
    let mut by_head: Vec<usize> = (0..work.items.len()).collect();
    by_head.sort_by_key(|n| std::cmp::Reverse(heads[*n]));
    let melts = least_heats(work) as Minute * work.melt;
    let mut minutes = 0;
    for (i, &n) in by_head.iter().enumerate() {
        minutes += work.items[n].minutes;
        let last = i + 1 == by_head.len();
        let all = minutes + if last { melts } else { 0 };
        if let Some(end) = calendar.together(heads[n], all) {
            best = best.max(end);
        }
    }
    best
}
