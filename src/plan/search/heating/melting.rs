//! The melt of a heat in a session: when the furnace is lit, what it is melted in, who helps to pour,
//! and what is kept for clearing up.

use super::{Choice, Turn};
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::search::layout::{Obstacle, Piece};
use crate::plan::search::placer::{Day, Placer};
use crate::plan::work::{Hold, Mould, Work, overlapping};

/// How long a heat takes one person without a break, min.
#[derive(Clone, Copy)]
pub(super) struct Length {
    /// Until the first pour, in a furnace that is cold and in one that is hot from the heat before.
    pub(super) melt: [Minute; 2],
    pub(super) pours: Minute,
}

impl Length {
    pub(super) fn new(work: &Work, moulds: &[&Mould], furnace: usize) -> Self {
        let melt = |hot| work.melt(moulds.iter().map(|m| &*m.melting), furnace, hot);
        let pour = |m: &&Mould| m.items[1].map_or(0, |n| work.items[n].minutes);
        Self { melt: [false, true].map(melt), pours: moulds.iter().map(pour).sum() }
    }
}

/// When a heat melts, and with what.
pub(super) struct Melting {
    /// One person from the melt to the last mould.
    pub(super) piece: Piece,
    pub(super) lit: Minute,
    pub(super) hot: bool,
    pub(super) pour: Minute,
    pub(super) pots: Vec<usize>,
    pub(super) hands: Vec<usize>,
}

impl Placer<'_> {
    /// The first melt in a session, from `over` on. The furnace is set up and warms up before it, unless
    /// it is hot from a heat before: of the plan, or of the journal where the session is today's.
    pub(super) fn melting(
        &self,
        choices: &[Choice],
        (furnace, turn): (usize, Turn),
        (person, d): (usize, usize),
        (over, length): (Minute, Length),
    ) -> Result<Melting, Obstacle> {
        let window = self.people[person][d].window;
        let (warm_up, most_heats) = self.limits.furnaces[furnace];
        let day = Calendar::day(window.from);
        let others: &[Hold] = self.furnaces[furnace].get(&day).map_or(&[], |today| today);
        let poured = self.work.melted_on(furnace, day);
        if others.len() + poured as usize >= most_heats as usize {
            return Err(Obstacle::Furnace);
        }
        let before = others.iter().map(|h| h.to).max().filter(|_| turn == Turn::Last);
        let next = others.iter().map(|h| h.from).min().filter(|_| turn == Turn::First);
        // One that is poured comes before all that is still planned for today.
        let hot = before.is_some() || poured > 0;
        let (melt, warm_up) = if hot { (length.melt[1], 0) } else { (length.melt[0], warm_up) };
        let lights = self.calendar.may_light(&window);
        let mut at = over.max(lights + warm_up).max(before.unwrap_or(0));
        loop {
            let piece = self.stretch((person, d), at, melt + length.pours).ok_or(Obstacle::Time)?;
            if next.is_some_and(|next| next < piece.to) {
                return Err(Obstacle::Furnace);
            }
            let (lit, pour) = (piece.from - warm_up, piece.from + melt);
            match self.choose(choices, lit, (piece, pour)) {
                Ok((pots, hands)) => {
                    return Ok(Melting { piece, lit, hot, pour, pots, hands });
                }
                Err((held, None)) => return Err(held),
                Err((_, Some(free))) => at = free + warm_up,
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
        (melt, pour): (Piece, Minute),
    ) -> Result<(Vec<usize>, Vec<usize>), (Obstacle, Option<Minute>)> {
        let whole = Hold { from: lit, to: melt.to, much: 1.0 };
        let mut free: Option<Minute> = None;
        for Choice { pots, helpers } in choices {
            let taken = pots.iter().flat_map(|p| overlapping(&self.pots[*p], &whole));
            match taken.map(|h| h.to).max() {
                Some(to) => free = Some(free.map_or(to, |free| free.min(to))),
                None => {
                    let hands = self.helpers(*helpers, melt.person, (pour, melt.to));
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
            let day = days.get(self.calendar.window(*person, from));
            day.is_some_and(|d| d.free.iter().any(|(a, b)| *a <= from && to <= *b))
        };
        let others = (0..self.people.len()).filter(|p| *p != not);
        let found: Vec<usize> = others.filter(free).take(many).collect();
        (found.len() == many).then_some(found)
    }

    /// What must still be kept of a session for clearing up after its heats: its last minutes.
    pub(super) fn clear_up(
        &self,
        (person, d): (usize, usize),
        furnace: usize,
    ) -> Result<Option<Piece>, Obstacle> {
        let Day { window, free, clear_up } = &self.people[person][d];
        let to = window.to - clear_up;
        let piece = Piece { person, from: window.to - self.work.clear_up(furnace), to };
        if piece.from >= to {
            return Ok(None);
        }
        let is_free = free.iter().any(|(a, b)| *a <= piece.from && to <= *b);
        if is_free { Ok(Some(piece)) } else { Err(Obstacle::Time) }
    }

    /// The first unbroken stretch of `minutes` from `from` on within a day.
    pub(super) fn stretch(
        &self,
        (person, d): (usize, usize),
        from: Minute,
        minutes: Minute,
    ) -> Option<Piece> {
        let free = &self.people[person][d].free;
        let found = free.iter().find(|(a, b)| b - (*a).max(from) >= minutes)?;
        let from = found.0.max(from);
        Some(Piece { person, from, to: from + minutes })
    }
}
