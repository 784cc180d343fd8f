//! A heat put into one session: ramming, melting, pouring, shaking out, and room for its moulds.

use super::melting::Melting;
use super::{Choice, Miss, Order, Trial, Turn};
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::search::layout::{Obstacle, Piece, PlacedHeat};
use crate::plan::search::placer::Placer;
use crate::plan::work::{Hold, Mould, most, overlapping};
use std::cmp::Reverse;

impl Placer<'_> {
    pub(super) fn trial(
        &mut self,
        Order { group, moulds, lengths }: &Order<'_>,
        choices: &[Choice],
        (furnace, turn): (usize, Turn),
        (person, d): (usize, usize),
        (begin, pour_from): (Minute, Minute),
        here: &[bool],
    ) -> Result<Trial, Miss> {
        let window = self.people[person][d].window;
        let minutes =
            |m: &Mould, step: usize| m.items[step].map_or(0, |n| self.work.items[n].minutes);
        let length = lengths[furnace];
        let least = length.melt[1] + length.pours;
        if self.people[person][d].free.iter().all(|(a, b)| b - a < least) {
            return Err(Obstacle::Time.into());
        }
        if let Some(piece) = self.clear_up((person, d), furnace)? {
            self.take(piece);
        }
        // Ramming in the session, by whoever is there. What is poured first, and what must dry, is over
        // when the melt begins; the rest by its own pour.
        let mut rams: Vec<Option<Piece>> = vec![None; moulds.len()];
        let mut over = window.from.max(pour_from);
        let mut before = length.melt[1];
        for (i, ((slot, m), here)) in rams.iter_mut().zip(moulds).zip(here).enumerate() {
            let wait = m.items[0].map_or(0, |n| self.work.items[n].wait);
            let until = if i == 0 || wait > 0 { -wait } else { before };
            before += minutes(m, 1);
            let Some(n) = m.items[0].filter(|_| *here) else { continue };
            let piece = self.rammed_on((person, d), self.outside(n).max(begin), minutes(m, 0));
            let piece = piece.ok_or(Obstacle::Time)?;
            self.take(piece);
            over = over.max(piece.to - until);
            *slot = Some(piece);
        }
        let Melting { piece: melt, lit, hot, pour, pots, hands } =
            self.melting(choices, (furnace, turn), (person, d), (over, length))?;
        self.take(melt);
        for hand in &hands {
            self.take(Piece { person: *hand, from: pour, to: melt.to });
        }
        // Ramming of what may stand until it is poured, as late as it can be, by anybody.
        let mut poured = pour;
        for (i, m) in moulds.iter().enumerate() {
            let at = poured;
            poured += minutes(m, 1);
            let (Some(n), Some(stands), false) = (m.items[0], m.stands, here[i]) else { continue };
            let wait = self.work.items[n].wait;
            let dry = if i == 0 || wait > 0 { melt.from - wait } else { at };
            let earliest = self.outside(n).max(at - stands - minutes(m, 0)).max(0);
            let pieces = (0..self.people.len())
                .filter_map(|p| self.earlier(p, (earliest, dry), minutes(m, 0)));
            let piece = pieces.max_by_key(|p| (p.to, Reverse(p.person))).ok_or(Miss::Ramming(i))?;
            self.take(piece);
            rams[i] = Some(piece);
        }
        // Pouring, one mould after the other, then shaking out.
        let mut at = pour;
        let mut placed = Vec::with_capacity(moulds.len());
        for (m, ram) in moulds.iter().zip(rams) {
            let poured = at + minutes(m, 1);
            // The first mould's time covers the melt too: one person, unbroken.
            let begin = if placed.is_empty() { melt.from } else { at };
            let pieces = vec![Piece { person, from: begin, to: poured }];
            at = poured;
            let shake = m.items[2].ok_or(Obstacle::Time)?;
            let cool = self.work.items[shake].wait;
            let earliest = (poured + cool).max(self.outside(shake));
            let shaking = self.bench(earliest, minutes(m, 2)).ok_or(Obstacle::Time)?;
            for piece in &shaking {
                self.take(*piece);
            }
            placed.push([ram.map(|p| vec![p]), Some(pieces), Some(shaking)]);
        }
        self.room(moulds, &placed)?;
        let heat = PlacedHeat {
            moulds: group.clone(),
            pots,
            hands,
            furnace,
            lit,
            melt: melt.from,
            hot,
            pour,
            over: melt.to,
            person,
            held: None,
        };
        Ok((heat, placed))
    }

    /// The first stretch of ramming on the day of a session, by whoever is there and done first; by another
    /// than the one who melts where that is the same.
    fn rammed_on(
        &self,
        (person, d): (usize, usize),
        from: Minute,
        minutes: Minute,
    ) -> Option<Piece> {
        let day = Calendar::day(self.people[person][d].window.from);
        let there = (0..self.people.len()).filter_map(|p| {
            let d = self.calendar.first_of_day(p, day);
            let window = self.people[p].get(d).map(|d| d.window)?;
            let today = Calendar::day(window.from) == day;
            today.then(|| self.stretch((p, d), from.max(window.from), minutes)).flatten()
        });
        there.min_by_key(|piece| (piece.to, piece.person == person, piece.person))
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
}
