//! The state while placing: who and what is free, and the first place for an item.

use super::layout::{Layout, Piece, Placed};
use crate::plan::calendar::{Calendar, Minute, Window};
use crate::plan::work::{Hold, Limits, most, overlapping};
use crate::plan::work::{Item, Work};
use smallvec::{SmallVec, smallvec};
use std::collections::HashMap;

/// Work is not taken up for less than this before the end of a session, unless it is finished by
/// then. Common practice, no source.
pub(super) const LEAST_PIECE: Minute = 15;
/// One window of a person and what is still free of it.
#[derive(Debug, Clone)]
pub(super) struct Day {
    pub window: Window,
    pub free: Free,
    /// Its last minutes that are kept for clearing up after heats.
    pub clear_up: Minute,
}

/// What is free of a day: seldom more than two stretches.
type Free = SmallVec<[(Minute, Minute); 2]>;

/// Person, day, and what was free of it before.
type Undo = (usize, usize, Free);

/// The state while placing.
pub struct Placer<'a> {
    pub(super) work: &'a Work,
    pub(super) limits: &'a Limits,
    pub(super) people: Vec<Vec<Day>>,
    /// Per person, the first day with anything free.
    pub(super) open: Vec<usize>,
    pub(super) flasks: Vec<Vec<Hold>>,
    pub(super) sand: Vec<Hold>,
    /// By furnace and day.
    pub(super) furnaces: Vec<HashMap<i64, Vec<Hold>>>,
    pub(super) pots: Vec<Vec<Hold>>,
    machines: Vec<Vec<Hold>>,
    /// Moulds that stand or cool whose shake-out is not placed yet.
    pub(super) held: usize,
    pub(super) calendar: &'a Calendar,
    pub(super) undo: Vec<Undo>,
    pub(super) layout: Layout,
}

/// From the first piece to the last.
fn span(pieces: &[Piece]) -> Option<Hold> {
    let (first, last) = pieces.first().zip(pieces.last())?;
    Some(Hold { from: first.from, to: last.to, much: 1.0 })
}

impl<'a> Placer<'a> {
    pub(super) fn new(work: &'a Work, limits: &'a Limits, calendar: &'a Calendar) -> Self {
        let days = |windows: &Vec<Window>| {
            windows
                .iter()
                .map(|w| Day { window: *w, free: smallvec![(w.from, w.to)], clear_up: 0 })
                .collect()
        };
        let people: Vec<Vec<Day>> = calendar.people.iter().map(days).collect();
        let empty = Layout {
            clear_ups: Vec::new(),
            items: vec![Placed::default(); work.items.len()],
            heats: Vec::new(),
            order: Vec::new(),
        };
        let mut placer = Self {
            work,
            limits,
            open: vec![0; people.len()],
            people,
            flasks: vec![Vec::new(); limits.flasks.len()],
            sand: Vec::new(),
            furnaces: vec![HashMap::new(); limits.furnaces.len()],
            pots: vec![Vec::new(); limits.pots],
            machines: vec![Vec::new(); limits.machines.len()],
            held: 0,
            calendar,
            undo: Vec::new(),
            layout: empty,
        };
        // Moulds that stand or cool hold their flask until they are shaken out; until that is
        // placed, for ever.
        for taken in &work.cooling {
            placer.hold(taken.flask, taken.sand, 0, Minute::MAX);
        }
        for mould in work.moulds.iter().filter(|m| m.standing.is_some()) {
            placer.hold(mould.flask, mould.sand, 0, Minute::MAX);
        }
        placer.held = placer.sand.len();
        placer
    }

    pub(super) fn hold(&mut self, flask: Option<usize>, sand: f64, from: Minute, to: Minute) {
        if let Some(flask) = flask {
            self.flasks[flask].push(Hold { from, to, much: 1.0 });
        }
        self.sand.push(Hold { from, to, much: sand });
    }

    /// Ends a hold that had no end.
    pub(super) fn release(&mut self, flask: Option<usize>, sand: f64, at: Minute) {
        if let Some(hold) =
            flask.and_then(|f| self.flasks[f].iter_mut().find(|h| h.to == Minute::MAX))
        {
            hold.to = at;
        }
        if let Some(hold) =
            self.sand.iter_mut().find(|h| h.to == Minute::MAX && (h.much - sand).abs() < 1e-12)
        {
            hold.to = at;
            self.held -= 1;
        }
    }

    /// When an item may begin.
    fn ready(&self, n: usize) -> Minute {
        let item = &self.work.items[n];
        let before = item.before.iter().map(|b| self.layout.items[*b].ready);
        before.max().unwrap_or(0).max(item.begins())
    }

    pub(super) fn take(&mut self, piece: Piece) {
        let d = self.calendar.window(piece.person, piece.from);
        let free = &mut self.people[piece.person][d].free;
        self.undo.push((piece.person, d, free.clone()));
        if let Some(i) = free.iter().position(|(a, b)| *a <= piece.from && piece.to <= *b) {
            let (a, b) = free[i];
            match (a < piece.from, piece.to < b) {
                (true, true) => {
                    free[i].1 = piece.from;
                    free.insert(i + 1, (piece.to, b));
                }
                (true, false) => free[i].1 = piece.from,
                (false, true) => free[i].0 = piece.to,
                (false, false) => {
                    free.remove(i);
                }
            }
        }
    }

    /// Gives back time that was taken.
    pub(super) fn free(&mut self, piece: Piece) {
        let d = self.calendar.window(piece.person, piece.from);
        let free = &mut self.people[piece.person][d].free;
        self.undo.push((piece.person, d, free.clone()));
        let from = free.iter().position(|(_, to)| *to >= piece.from).unwrap_or(free.len());
        let to = free.iter().rposition(|(from, _)| *from <= piece.to).map_or(0, |last| last + 1);
        let (mut whole, to) = ((piece.from, piece.to), to.max(from));
        for (a, b) in &free[from..to] {
            whole = (whole.0.min(*a), whole.1.max(*b));
        }
        free.drain(from..to);
        free.insert(from, whole);
    }

    pub(super) fn roll_back(&mut self, to: usize) {
        while self.undo.len() > to {
            if let Some((person, d, free)) = self.undo.pop() {
                self.people[person][d].free = free;
            }
        }
    }

    /// The first pieces of work at the bench from `from` on, by whoever is done first.
    pub(super) fn bench(&self, from: Minute, minutes: Minute) -> Option<Vec<Piece>> {
        self.at_bench(from, minutes, false)
    }

    /// The same; what may be put down at any time fills what is free between other work.
    fn at_bench(&self, from: Minute, minutes: Minute, put_down: bool) -> Option<Vec<Piece>> {
        if minutes == 0 {
            return Some(Vec::new());
        }
        let mut best: Option<Vec<Piece>> = None;
        for (person, days) in self.people.iter().enumerate() {
            let first = self.calendar.window(person, from).max(self.open[person]);
            let until = best.as_ref().and_then(|b| b.last()).map_or(Minute::MAX, |p| p.to);
            let mut left = minutes;
            let mut pieces = Vec::new();
            'days: for day in &days[first..] {
                if day.window.from >= until {
                    break;
                }
                for &(a, b) in &day.free {
                    let a = a.max(from);
                    let length = b - a;
                    if length >= left {
                        pieces.push(Piece { person, from: a, to: a + left });
                        left = 0;
                        break 'days;
                    }
                    let ends = put_down || b == day.window.to - day.clear_up;
                    if ends && length >= LEAST_PIECE {
                        pieces.push(Piece { person, from: a, to: b });
                        left -= length;
                    }
                }
            }
            let ends = pieces.last().map_or(Minute::MAX, |p| p.to);
            if left == 0 && ends < until {
                best = Some(pieces);
            }
        }
        best
    }

    /// The same on a machine, where a job stays set up from its first piece to its last.
    fn at_machine(
        &self,
        machine: usize,
        from: Minute,
        (minutes, put_down): (Minute, bool),
    ) -> Option<Vec<Piece>> {
        let holds = &self.machines[machine];
        let mut from = from;
        loop {
            let pieces = self.at_bench(from, minutes, put_down)?;
            let Some(span) = span(&pieces) else { return Some(pieces) };
            let others = overlapping(holds, &span);
            if most(&others, span.from, span.to) < self.limits.machines[machine] as f64 {
                return Some(pieces);
            }
            // Nothing changes before one of them is over.
            from = others.iter().map(|h| h.to).filter(|to| *to > from).min()?;
        }
    }

    /// All in time. Clearing up comes right after the last work of the session.
    pub(super) fn finished(mut self) -> Layout {
        for (person, days) in self.people.iter().enumerate() {
            let kept = days.iter().filter(|day| day.clear_up > 0);
            self.layout.clear_ups.extend(kept.map(|Day { window, free, clear_up }| {
                let latest = window.to - clear_up;
                let idle = free.last().filter(|(_, to)| *to == latest);
                let from = idle.map_or(latest, |(from, _)| *from);
                Piece { person, from, to: from + clear_up }
            }));
        }
        self.layout
    }

    pub(super) fn settle(&mut self, n: usize, pieces: Vec<Piece>, from: Minute) {
        let item = &self.work.items[n];
        let start = pieces.first().map_or(from, |p| p.from);
        let end = pieces.last().map_or(from, |p| p.to);
        // The wait of a shake-out lies before it.
        let wait = if item.step == crate::manifest::Step::ShakeOut { 0 } else { item.wait };
        self.layout.items[n] = Placed { pieces, start, end, ready: end + wait };
        self.layout.order.push(n);
    }

    pub(super) fn tidy(&mut self) {
        self.undo.clear();
        for (person, open) in self.open.iter_mut().enumerate() {
            let days = &self.people[person];
            while days.get(*open).is_some_and(|d| d.free.is_empty()) {
                *open += 1;
            }
        }
    }

    /// Places an item that stands alone.
    pub(super) fn item(&mut self, n: usize) -> Option<()> {
        let from = self.ready(n);
        let Item { minutes, machine, put_down, .. } = self.work.items[n];
        let pieces = match machine {
            Some(machine) => self.at_machine(machine, from, (minutes, put_down))?,
            None => self.at_bench(from, minutes, put_down)?,
        };
        for piece in &pieces {
            self.take(*piece);
        }
        if let (Some(machine), Some(span)) = (machine, span(&pieces)) {
            self.machines[machine].push(span);
        }
        self.settle(n, pieces, from);
        let until = self.work.cooling.iter().find(|t| t.until == n);
        if let Some(taken) = until {
            self.release(taken.flask, taken.sand, self.layout.items[n].end);
        }
        self.tidy();
        Some(())
    }
}
