//! The first place for a heat: a session in which its moulds are rammed, melted for, poured and
//! shaken out, with all that it needs.

use super::layout::{Obstacle, Piece, PlacedHeat};
use super::placer::{Day, Placer};
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

/// How long a heat takes one person without a break, min.
#[derive(Clone, Copy)]
struct Length {
    /// Until the first pour, in a furnace that is cold and in one that is hot from the heat before.
    melt: [Minute; 2],
    pours: Minute,
}

/// Where a heat stands among those that its furnace melts on a day already.
#[derive(Clone, Copy, PartialEq)]
enum Turn {
    /// Before all of them: it finds the furnace cold.
    First,
    /// After all of them: it finds the furnace hot, if there are any.
    Last,
}

/// When a heat melts, and with what.
struct Melting {
    /// One person from the melt to the last mould.
    piece: Piece,
    lit: Minute,
    hot: bool,
    pour: Minute,
    pots: Vec<usize>,
    hands: Vec<usize>,
}

/// A mould that stands longer than it may.
#[derive(Clone, Copy)]
struct Overlong {
    /// When its ramming begins.
    from: Minute,
    /// How much too long it stands, min.
    by: Minute,
}

/// Why a heat has no place in a session.
enum Miss {
    /// Something it needs is taken.
    Obstacle(Obstacle),
    /// A mould that may stand cannot be rammed before; by its place in the heat.
    Ramming(usize),
    /// A mould that is rammed in the session would stand too long by its pour.
    Standing(Overlong),
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

    /// Places a heat on the first day that has all it needs, by the person and in the furnace that are
    /// done with it first.
    fn melt(
        &mut self,
        group: &[usize],
        moulds: &[&Mould],
        choices: &[Choice],
        pour_from: Minute,
    ) -> Option<()> {
        let mut held = None;
        let open = self.open.iter().enumerate();
        let mut next: Vec<usize> =
            open.map(|(p, open)| self.calendar.window(p, pour_from).max(*open)).collect();
        loop {
            // The next day on which anybody is there, and the sessions of that day.
            let begins = |p: &usize| Some(self.people[*p].get(next[*p])?.window.from);
            let opens = (0..self.people.len()).filter_map(|p| begins(&p)).min()?;
            let today = |p: &usize| begins(p).map(Calendar::day) == Some(Calendar::day(opens));
            let there: Vec<usize> = (0..self.people.len()).filter(today).collect();
            let sessions: Vec<(usize, usize)> = there.into_iter().map(|p| (p, next[p])).collect();
            sessions.iter().for_each(|(p, _)| next[*p] += 1);
            let (mut why, mut first): (_, Option<Trial>) = (None, None);
            for (session, furnace) in
                sessions.iter().flat_map(|s| (0..self.limits.furnaces.len()).map(move |f| (*s, f)))
            {
                let mark = self.undo.len();
                match self.attempt(moulds, choices, furnace, session, pour_from) {
                    Ok(trial) if first.as_ref().is_some_and(|f| f.0.over <= trial.0.over) => {}
                    Ok(trial) => first = Some(trial),
                    Err(reason) => why = why.or(Some(reason)),
                }
                self.roll_back(mark);
            }
            if let Some((heat, placed)) = first {
                self.accept(group, heat, placed, held);
                return Some(());
            }
            held = why.map(|w| (w, opens));
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
        let day = Calendar::day(self.people[session.0][session.1].window.from);
        let another = self.furnaces[furnace].get(&day).is_some_and(|today| !today.is_empty());
        if another
            && let Ok(trial) =
                self.in_turn(moulds, choices, (furnace, Turn::First), session, pour_from)
        {
            return Ok(trial);
        }
        self.in_turn(moulds, choices, (furnace, Turn::Last), session, pour_from)
    }

    fn in_turn(
        &mut self,
        moulds: &[&Mould],
        choices: &[Choice],
        furnace: (usize, Turn),
        session: (usize, usize),
        pour_from: Minute,
    ) -> Result<Trial, Obstacle> {
        let mark = self.undo.len();
        let window = self.people[session.0][session.1].window;
        let mut here: Vec<bool> = moulds.iter().map(|m| m.stands.is_none()).collect();
        let (mut begin, mut held) = (window.from, None);
        let mut overlong: Option<Minute> = None;
        loop {
            let trial = self.trial(moulds, choices, furnace, session, (begin, pour_from), &here);
            match trial.and_then(|trial| self.none_too_long(moulds, &here, trial)) {
                Ok(trial) => return Ok(trial),
                Err(Miss::Ramming(mould)) => here[mould] = true,
                // Rammed later it stands less, unless all that comes before its pour is later too.
                Err(Miss::Standing(now)) if overlong.is_none_or(|before| now.by < before) => {
                    overlong = Some(now.by);
                    begin = now.from + now.by;
                }
                Err(Miss::Standing(_)) => {
                    self.roll_back(mark);
                    return Err(*held.get_or_insert(Obstacle::Time));
                }
                Err(Miss::Obstacle(new)) => {
                    let first = *held.get_or_insert(new);
                    // What is shaken out in this session may make room for all of it.
                    match self.freed(new, (begin, window.to)) {
                        Some(at) => {
                            (begin, here, overlong) = (at, vec![true; moulds.len()], None);
                        }
                        None => {
                            self.roll_back(mark);
                            return Err(first);
                        }
                    }
                }
            }
            self.roll_back(mark);
        }
    }

    /// A trial in which no mould that is rammed in its session stands longer than it may. One that is
    /// alone in its heat dries and waits for its melt in any case; where that is too long, it is told.
    fn none_too_long(&self, moulds: &[&Mould], here: &[bool], trial: Trial) -> Result<Trial, Miss> {
        let heat = &trial.0;
        let pour = heat.pour;
        let overlong = |((m, here), placed): ((&&Mould, &bool), &[Option<Vec<Piece>>; 3])| {
            let ram = placed[0].as_ref().filter(|_| *here)?.first()?;
            let poured = placed[1].as_ref()?.first()?.from.max(pour);
            let alone = match (moulds, m.items[0]) {
                ([_], Some(n)) => self.work.items[n].wait + pour - heat.melt,
                _ => 0,
            };
            let by = poured - ram.to - m.keeps?.max(alone);
            (by > 0).then_some(Overlong { from: ram.from, by })
        };
        let all = moulds.iter().zip(here).zip(&trial.1).filter_map(overlong);
        all.max_by_key(|o| o.by).map_or(Ok(()), |o| Err(Miss::Standing(o)))?;
        Ok(trial)
    }

    /// When flasks or sand that were in the way are next free, within a stretch of time.
    fn freed(&self, held: Obstacle, (after, before): (Minute, Minute)) -> Option<Minute> {
        let holds = match held {
            Obstacle::Flask(kind) => &self.flasks[kind],
            Obstacle::Sand => &self.sand,
            _ => return None,
        };
        holds.iter().map(|hold| hold.to).filter(|to| after < *to && *to < before).min()
    }

    fn trial(
        &mut self,
        moulds: &[&Mould],
        choices: &[Choice],
        (furnace, turn): (usize, Turn),
        (person, d): (usize, usize),
        (begin, pour_from): (Minute, Minute),
        here: &[bool],
    ) -> Result<Trial, Miss> {
        let window = self.people[person][d].window;
        if !self.calendar.pours(window.from) {
            return Err(Obstacle::Day.into());
        }
        let minutes =
            |m: &Mould, step: usize| m.items[step].map_or(0, |n| self.work.items[n].minutes);
        let melt = |hot| self.work.melt(moulds.iter().map(|m| &*m.melting), furnace, hot);
        let length = Length {
            melt: [melt(false), melt(true)],
            pours: moulds.iter().map(|m| minutes(m, 1)).sum(),
        };
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
            moulds: Vec::new(),
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

    /// The first melt in a session, from `over` on. The furnace is set up and warms up before it, unless
    /// it is hot from a heat before.
    fn melting(
        &self,
        choices: &[Choice],
        (furnace, turn): (usize, Turn),
        (person, d): (usize, usize),
        (over, length): (Minute, Length),
    ) -> Result<Melting, Obstacle> {
        let window = self.people[person][d].window;
        let (warm_up, most_heats) = self.limits.furnaces[furnace];
        let today = self.furnaces[furnace].get(&Calendar::day(window.from));
        let others: &[Hold] = today.map_or(&[], |today| today);
        if others.len() >= most_heats as usize {
            return Err(Obstacle::Furnace);
        }
        let before = others.iter().map(|h| h.to).max().filter(|_| turn == Turn::Last);
        let next = others.iter().map(|h| h.from).min().filter(|_| turn == Turn::First);
        let (melt, warm_up) = match before {
            Some(_) => (length.melt[1], 0),
            None => (length.melt[0], warm_up),
        };
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
                    let hot = before.is_some();
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

    /// What must still be kept of a session for clearing up after its heats: its last minutes.
    fn clear_up(
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

    fn accept(
        &mut self,
        group: &[usize],
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
