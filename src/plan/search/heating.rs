//! The first place for a heat: a session in which its moulds are rammed, melted for, poured and
//! shaken out, with all that it needs.

use super::layout::{Obstacle, Piece, PlacedHeat};
use super::placer::Placer;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::work::Mould;
use crate::plan::work::{Hold, in_pots, may_share, most, overlapping};
use std::cmp::Reverse;

/// A heat in time, and the pieces of ramming, pouring and shaking out of each of its moulds.
type Trial = (PlacedHeat, Vec<[Option<Vec<Piece>>; 3]>);

/// Crucibles that a heat may be melted in, and how many help to lift and pour from them.
struct Choice {
    pots: Vec<usize>,
    helpers: usize,
}

/// When a heat melts, and with what.
struct Melting {
    /// One person from the melt to the last mould.
    piece: Piece,
    lit: Minute,
    pots: Vec<usize>,
    hands: Vec<usize>,
}

/// Why a heat has no place in a session.
enum Miss {
    /// Something it needs is taken.
    Obstacle(Obstacle),
    /// A mould that may stand cannot be rammed before; by its place in the heat.
    Ramming(usize),
}

impl From<Obstacle> for Miss {
    fn from(held: Obstacle) -> Self {
        Self::Obstacle(held)
    }
}

impl Placer<'_> {
    /// Places a heat: ramming, melting, pouring and shaking out of all its moulds.
    pub(super) fn heat(&mut self, group: &[usize], longest: Minute) -> Option<()> {
        let moulds: Vec<&Mould> = group.iter().map(|m| &self.work.moulds[*m]).collect();
        let pots = self.work.pots_for(&moulds, self.limits);
        if self.limits.furnaces.is_empty() || !may_share(self.work, self.limits, group, longest) {
            return None;
        }
        let ready = |step: usize| {
            let items = moulds.iter().filter_map(|m| m.items[step]);
            items.map(|n| self.outside(n)).max().unwrap_or(0)
        };
        let from = ready(0).max(0);
        let pour_from = ready(1).max(from);
        let mut choices: Vec<Choice> = pots
            .into_iter()
            .map(|pots| {
                let people =
                    self.limits.people(&in_pots(&moulds, &pots)).min(self.people.len() as u32);
                Choice { pots, helpers: people.saturating_sub(1) as usize }
            })
            .collect();
        loop {
            if self.melt(group, &moulds, &choices, pour_from).is_some() {
                return Some(());
            }
            // Where they are never together, the plan says that a helper has to be found.
            let most = choices.iter().map(|c| c.helpers).max().filter(|most| *most > 0)?;
            choices.iter_mut().for_each(|c| c.helpers = c.helpers.min(most - 1));
        }
    }

    /// Places a heat in the first session that has all it needs, in the furnace that is done with
    /// it first.
    fn melt(
        &mut self,
        group: &[usize],
        moulds: &[&Mould],
        choices: &[Choice],
        pour_from: Minute,
    ) -> Option<()> {
        let mut held = None;
        let mut next: Vec<usize> = self
            .people
            .iter()
            .zip(&self.open)
            .map(|(days, open)| days.partition_point(|d| d.window.to <= pour_from).max(*open))
            .collect();
        loop {
            // The next session of anybody.
            let person = (0..self.people.len())
                .filter(|p| next[*p] < self.people[*p].len())
                .min_by_key(|p| self.people[*p][next[*p]].window.from)?;
            let d = next[person];
            next[person] += 1;
            let window = self.people[person][d].window;
            let (mut why, mut first): (_, Option<Trial>) = (None, None);
            for furnace in 0..self.limits.furnaces.len() {
                let mark = self.undo.len();
                match self.attempt(moulds, choices, furnace, (person, d), pour_from) {
                    Ok(trial) if first.as_ref().is_some_and(|f| f.0.over <= trial.0.over) => {}
                    Ok(trial) => first = Some(trial),
                    Err(reason) => why = Some(reason),
                }
                self.roll_back(mark);
            }
            if let Some((heat, placed)) = first {
                self.accept(group, heat, placed, held);
                return Some(());
            }
            held = why.map(|w| (w, window.from));
        }
    }

    /// When an item of a heat may begin, its own mould's items left out.
    fn outside(&self, n: usize) -> Minute {
        let item = &self.work.items[n];
        let others = item.before.iter().filter(|b| self.work.items[**b].mould != item.mould);
        let ready = others.map(|b| self.layout.items[*b].ready).max().unwrap_or(0);
        ready.max(item.begins())
    }

    /// The first unbroken stretch of `minutes` from `from` on within a day.
    fn stretch(&self, (person, d): (usize, usize), from: Minute, minutes: Minute) -> Option<Piece> {
        let free = &self.people[person][d].free;
        let found = free.iter().find(|(a, b)| b - (*a).max(from) >= minutes)?;
        let from = found.0.max(from);
        Some(Piece { person, from, to: from + minutes })
    }

    /// The last unbroken stretch of ramming for a mould that may stand, so that it is over by
    /// `by` and not before `by - stands`.
    fn earlier(
        &self,
        person: usize,
        (from, by): (Minute, Minute),
        minutes: Minute,
    ) -> Option<Piece> {
        let days = &self.people[person];
        let last = days.partition_point(|d| d.window.from < by);
        let runs = days[..last].iter().rev().take_while(|d| d.window.to > from);
        runs.flat_map(|d| d.free.iter().rev())
            .filter(|(a, b)| (*b).min(by) - (*a).max(from) >= minutes)
            .map(|(_, b)| (*b).min(by))
            .map(|to| Piece { person, from: to - minutes, to })
            .next()
    }

    /// Tries a heat in a session. Moulds that may stand are rammed before it; where there is no
    /// time for that, in the session itself like all others.
    fn attempt(
        &mut self,
        moulds: &[&Mould],
        choices: &[Choice],
        furnace: usize,
        session: (usize, usize),
        pour_from: Minute,
    ) -> Result<Trial, Obstacle> {
        let mark = self.undo.len();
        let mut here: Vec<bool> = moulds.iter().map(|m| m.stands.is_none()).collect();
        loop {
            match self.trial(moulds, choices, furnace, session, pour_from, &here) {
                Err(Miss::Ramming(mould)) => here[mould] = true,
                Err(Miss::Obstacle(held)) => return Err(held),
                Ok(trial) => return Ok(trial),
            }
            self.roll_back(mark);
        }
    }

    fn trial(
        &mut self,
        moulds: &[&Mould],
        choices: &[Choice],
        furnace: usize,
        (person, d): (usize, usize),
        pour_from: Minute,
        here: &[bool],
    ) -> Result<Trial, Miss> {
        let window = self.people[person][d].window;
        if !self.calendar.pours(window.from) {
            return Err(Obstacle::Day.into());
        }
        let minutes =
            |m: &Mould, step: usize| m.items[step].map_or(0, |n| self.work.items[n].minutes);
        let pours: Minute = moulds.iter().map(|m| minutes(m, 1)).sum();
        let length = self.work.melt + pours;
        if self.people[person][d].free.iter().all(|(a, b)| b - a < length) {
            return Err(Obstacle::Time.into());
        }
        // Ramming in the session, one after the other.
        let mut rams: Vec<Option<Piece>> = vec![None; moulds.len()];
        let mut over = window.from.max(pour_from);
        for ((slot, m), here) in rams.iter_mut().zip(moulds).zip(here) {
            let Some(n) = m.items[0].filter(|_| *here) else { continue };
            let at = self.outside(n).max(window.from);
            let piece = self.stretch((person, d), at, minutes(m, 0)).ok_or(Obstacle::Time)?;
            self.take(piece);
            over = over.max(piece.to + self.work.items[n].wait);
            *slot = Some(piece);
        }
        let Melting { piece: melt, lit, pots, hands } =
            self.melting(choices, furnace, (person, d), (over, length))?;
        self.take(melt);
        for hand in &hands {
            self.take(Piece { person: *hand, from: melt.from + self.work.melt, to: melt.to });
        }
        // Ramming of what may stand until it is poured, as late as it can be, by anybody.
        let mut poured = melt.from + self.work.melt;
        for (i, m) in moulds.iter().enumerate() {
            let at = poured;
            poured += minutes(m, 1);
            let (Some(n), Some(stands), false) = (m.items[0], m.stands, here[i]) else { continue };
            let dry = melt.from - self.work.items[n].wait;
            let earliest = self.outside(n).max(at - stands - minutes(m, 0)).max(0);
            let pieces = (0..self.people.len())
                .filter_map(|p| self.earlier(p, (earliest, dry), minutes(m, 0)));
            let piece = pieces.max_by_key(|p| (p.to, Reverse(p.person))).ok_or(Miss::Ramming(i))?;
            self.take(piece);
            rams[i] = Some(piece);
        }
        // Pouring, one mould after the other, then shaking out.
        let mut at = melt.from + self.work.melt;
        let mut placed = Vec::with_capacity(moulds.len());
        for (m, ram) in moulds.iter().zip(rams) {
            let poured = at + minutes(m, 1);
            // The first mould's time covers the melt too: one person, unbroken.
            let begin = if placed.is_empty() { melt.from } else { at };
            let pour = Piece { person, from: begin, to: poured };
            at = poured;
            let shake = m.items[2].ok_or(Obstacle::Time)?;
            let cool = self.work.items[shake].wait;
            let earliest = (poured + cool).max(self.outside(shake));
            let pieces = self.bench(earliest, minutes(m, 2)).ok_or(Obstacle::Time)?;
            for piece in &pieces {
                self.take(*piece);
            }
            placed.push([ram.map(|p| vec![p]), Some(vec![pour]), Some(pieces)]);
        }
        self.room(moulds, &placed)?;
        let heat = PlacedHeat {
            moulds: Vec::new(),
            pots,
            hands,
            furnace,
            lit,
            melt: melt.from,
            pour: melt.from + self.work.melt,
            over: melt.to,
            held: None,
        };
        Ok((heat, placed))
    }

    /// The first melt in a session, from `over` on. The furnace warms up before it, unless it is
    /// hot from a heat before.
    fn melting(
        &self,
        choices: &[Choice],
        furnace: usize,
        (person, d): (usize, usize),
        (over, length): (Minute, Minute),
    ) -> Result<Melting, Obstacle> {
        let window = self.people[person][d].window;
        let (warm_up, most_heats) = self.limits.furnaces[furnace];
        let today = self.furnaces[furnace].get(&Calendar::day(window.from));
        let others: &[Hold] = today.map_or(&[], |today| today);
        if others.len() >= most_heats as usize {
            return Err(Obstacle::Furnace);
        }
        let mut at = over;
        loop {
            let hot = others.iter().any(|h| h.to <= at);
            let earliest = if hot { at } else { at.max(window.from + warm_up) };
            let piece = self.stretch((person, d), earliest, length).ok_or(Obstacle::Time)?;
            let hot = others.iter().any(|h| h.to <= piece.from);
            let lit = if hot { piece.from } else { piece.from - warm_up };
            match others.iter().filter(|h| h.from < piece.to && h.to > lit).map(|h| h.to).max() {
                None => {}
                Some(to) if to > at => {
                    at = to;
                    continue;
                }
                Some(_) => return Err(Obstacle::Furnace),
            }
            match self.choose(choices, lit, piece) {
                Ok((pots, hands)) => return Ok(Melting { piece, lit, pots, hands }),
                Err((held, None)) => return Err(held),
                Err((_, Some(free))) => at = free + (piece.from - lit),
            }
        }
    }

    /// The least crucibles that are free for a melt, and who helps to pour from them; or what is
    /// missing, and when a crucible that was taken is free. A larger one is no way around people
    /// who are missing: what it weighs may not be known.
    #[allow(clippy::type_complexity)]
    fn choose(
        &self,
        choices: &[Choice],
        lit: Minute,
        melt: Piece,
    ) -> Result<(Vec<usize>, Vec<usize>), (Obstacle, Option<Minute>)> {
        let whole = Hold { from: lit, to: melt.to, much: 1.0 };
        let mut free: Option<Minute> = None;
        for Choice { pots, helpers } in choices {
            let taken = pots.iter().flat_map(|p| overlapping(&self.pots[*p], &whole));
            match taken.map(|h| h.to).max() {
                Some(to) => free = Some(free.map_or(to, |free| free.min(to))),
                None => {
                    let pour = (melt.from + self.work.melt, melt.to);
                    let hands = self.helpers(*helpers, melt.person, pour);
                    return hands.map(|hands| (pots.clone(), hands)).ok_or((Obstacle::Hands, free));
                }
            }
        }
        Err((Obstacle::Crucible, free))
    }

    /// So many others who are free through a pour; none where there are too few.
    fn helpers(&self, many: usize, not: usize, (from, to): (Minute, Minute)) -> Option<Vec<usize>> {
        let free = |person: &usize| {
            let days = &self.people[*person];
            let day = days.get(days.partition_point(|d| d.window.to <= from));
            day.is_some_and(|d| d.free.iter().any(|(a, b)| *a <= from && to <= *b))
        };
        let others = (0..self.people.len()).filter(|p| *p != not);
        let found: Vec<usize> = others.filter(free).take(many).collect();
        (found.len() == many).then_some(found)
    }

    /// Whether flasks and sand are there for these moulds.
    fn room(&self, moulds: &[&Mould], placed: &[[Option<Vec<Piece>>; 3]]) -> Result<(), Obstacle> {
        let span = |p: &[Option<Vec<Piece>>; 3]| {
            let from = p[0].as_ref().and_then(|v| v.first()).map(|p| p.from);
            let to = p[2].as_ref().and_then(|v| v.last()).map(|p| p.to);
            from.zip(to)
        };
        let mut flasks: Vec<(usize, Hold)> = Vec::new();
        let mut sand: Vec<Hold> = Vec::new();
        for (m, p) in moulds.iter().zip(placed) {
            // A mould that stands holds its flask already.
            if m.standing.is_some() {
                continue;
            }
            let Some((from, to)) = span(p) else { continue };
            flasks.extend(m.flask.map(|f| (f, Hold { from, to, much: 1.0 })));
            sand.push(Hold { from, to, much: m.sand });
        }
        for (f, hold) in &flasks {
            let mut all: Vec<Hold> = overlapping(&self.flasks[*f], hold);
            all.extend(flasks.iter().filter(|(g, _)| g == f).map(|(_, h)| *h));
            if most(&all, hold.from, hold.to) > self.limits.flasks[*f] as f64 {
                return Err(Obstacle::Flask(*f));
            }
        }
        if let Some(heap) = self.limits.sand {
            for hold in &sand {
                let mut all = overlapping(&self.sand, hold);
                all.extend(&sand);
                if most(&all, hold.from, hold.to) > heap + 1e-9 {
                    return Err(Obstacle::Sand);
                }
            }
        }
        Ok(())
    }

    fn accept(
        &mut self,
        group: &[usize],
        heat: PlacedHeat,
        placed: Vec<[Option<Vec<Piece>>; 3]>,
        held: Option<(Obstacle, Minute)>,
    ) {
        for piece in placed.iter().flatten().flatten().flatten() {
            self.take(*piece);
        }
        for person in &heat.hands {
            self.take(Piece { person: *person, from: heat.pour, to: heat.over });
        }
        let furnace = Hold { from: heat.lit, to: heat.over, much: 1.0 };
        let day = Calendar::day(furnace.from);
        self.furnaces[heat.furnace].entry(day).or_default().push(furnace);
        for &pot in &heat.pots {
            self.pots[pot].push(furnace);
        }
        for (&m, steps) in group.iter().zip(placed) {
            let mould = &self.work.moulds[m];
            let mut from = None;
            let mut to = heat.over;
            for (item, pieces) in mould.items.into_iter().zip(steps) {
                let (Some(n), Some(pieces)) = (item, pieces) else { continue };
                from = from.or(pieces.first().map(|p| p.from));
                to = pieces.last().map_or(to, |p| p.to);
                self.settle(n, pieces, to);
            }
            match mould.standing {
                Some(_) => self.release(mould.flask, mould.sand, to),
                None => self.hold(mould.flask, mould.sand, from.unwrap_or(heat.lit), to),
            }
        }
        self.layout.heats.push(PlacedHeat { moulds: group.to_vec(), held, ..heat });
        self.tidy();
    }
}
