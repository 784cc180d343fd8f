//! A heat made part of the plan: what it holds is taken, and the heat after it finds the furnace hot.

use crate::plan::calendar::{Calendar, Minute};
use crate::plan::search::layout::{Obstacle, Piece, PlacedHeat};
use crate::plan::search::placer::Placer;
use crate::plan::work::Hold;

impl Placer<'_> {
    pub(super) fn accept(
        &mut self,
        heat: PlacedHeat,
        placed: Vec<[Option<Vec<Piece>>; 3]>,
        held: Option<(Obstacle, Minute)>,
    ) {
        let day = Calendar::day(heat.lit);
        if !heat.hot {
            self.follows(heat.furnace, day);
        }
        self.keep_clear(&heat);
        for piece in placed.iter().flatten().flatten().flatten() {
            self.take(*piece);
        }
        for person in &heat.hands {
            self.take(Piece { person: *person, from: heat.pour, to: heat.over });
        }
        let furnace = Hold { from: heat.lit, to: heat.over, much: 1.0 };
        self.furnaces[heat.furnace].entry(day).or_default().push(furnace);
        for &pot in &heat.pots {
            self.pots[pot].push(furnace);
        }
        for (&m, steps) in heat.moulds.iter().zip(placed) {
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
        self.layout.heats.push(PlacedHeat { held, ..heat });
        self.tidy();
    }

    /// Keeps the end of the session of a heat for clearing up after it.
    fn keep_clear(&mut self, heat: &PlacedHeat) {
        let d = self.calendar.window(heat.person, heat.melt);
        if let Ok(Some(piece)) = self.clear_up((heat.person, d), heat.furnace) {
            self.take(piece);
            let day = &mut self.people[heat.person][d];
            day.clear_up = day.window.to - piece.from;
        }
    }

    /// The first heat of a furnace on a day finds it hot, for another is put before it: it is set up
    /// already.
    fn follows(&mut self, furnace: usize, day: i64) {
        let mine = |heat: &(usize, &PlacedHeat)| {
            heat.1.furnace == furnace && Calendar::day(heat.1.lit) == day
        };
        let heats = self.layout.heats.iter().enumerate().filter(mine);
        let Some((first, _)) = heats.min_by_key(|(_, heat)| heat.lit) else { return };
        let heat = &self.layout.heats[first];
        let melting = heat.moulds.iter().map(|m| &*self.work.moulds[*m].melting);
        let (lit, over, old) = (heat.lit, heat.over, heat.melt);
        let new = heat.pour - self.work.melt(melting, furnace, true);
        let (person, pots) = (heat.person, heat.pots.clone());
        let pour = heat.moulds.first().and_then(|m| self.work.moulds[*m].items[1]);
        if new > old {
            self.free(Piece { person, from: old, to: new });
        }
        let heat = &mut self.layout.heats[first];
        (heat.lit, heat.melt, heat.hot) = (new, new, true);
        if let Some(pour) = pour {
            let pour = &mut self.layout.items[pour];
            pour.start = new;
            pour.pieces.iter_mut().take(1).for_each(|piece| piece.from = new);
        }
        let same = |hold: &&mut Hold| (hold.from, hold.to) == (lit, over);
        let today = self.furnaces[furnace].get_mut(&day).into_iter().flatten();
        today.filter(same).for_each(|hold| hold.from = new);
        for pot in pots {
            self.pots[pot].iter_mut().filter(same).for_each(|hold| hold.from = new);
        }
    }
}
