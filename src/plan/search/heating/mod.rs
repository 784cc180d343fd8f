//! The first place for a heat: a session in which its moulds are rammed, melted for, poured and
//! shaken out, with all that it needs.
//!
//! Here the sessions are gone through; `trial` puts a heat into one of them, `melting` finds its
//! furnace, pots and hands, and `accept` makes the first that fits part of the plan.

mod accept;
mod melting;
mod trial;

use super::layout::{Obstacle, Piece, PlacedHeat};
use super::placer::Placer;
use crate::plan::calendar::{Calendar, Minute};
use crate::plan::work::{Mould, Work, in_order, in_pots, longest_first, may_share};
use melting::Length;

/// A heat in time, and the pieces of ramming, pouring and shaking out of each of its moulds.
type Trial = (PlacedHeat, Vec<[Option<Vec<Piece>>; 3]>);

/// Moulds of a heat as they are rammed and poured, one after the other.
struct Order<'a> {
    /// By index.
    group: Vec<usize>,
    moulds: Vec<&'a Mould>,
    /// By furnace.
    lengths: Vec<Length>,
}

impl<'a> Order<'a> {
    fn new(work: &'a Work, group: Vec<usize>) -> Self {
        let moulds: Vec<&Mould> = group.iter().map(|m| &work.moulds[*m]).collect();
        let furnaces = 0..work.firing.len();
        Self { lengths: furnaces.map(|f| Length::new(work, &moulds, f)).collect(), moulds, group }
    }
}

/// Crucibles that a heat may be melted in, and how many help to lift and pour from them.
struct Choice {
    pots: Vec<usize>,
    helpers: usize,
}

/// Where a heat stands among those that its furnace melts on a day already.
#[derive(Clone, Copy, PartialEq)]
enum Turn {
    /// Before all of them: it finds the furnace cold, unless one was poured today.
    First,
    /// After all of them: it finds the furnace hot, if there are any.
    Last,
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
        // Where some would stand too long in a session, they are tried in the order in which they stand least.
        let mut orders =
            vec![in_order(self.work, self.limits, group), longest_first(self.work, group)];
        orders.dedup();
        let orders: Vec<Order> =
            orders.into_iter().map(|group| Order::new(self.work, group)).collect();
        let moulds = &orders.first()?.moulds;
        let pots = self.work.pots_for(moulds, self.limits);
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
                    self.limits.people(&in_pots(moulds, &pots)).min(self.people.len() as u32);
                Choice { pots, helpers: people.saturating_sub(1) as usize }
            })
            .collect();
        loop {
            if self.melt(&orders, &choices, pour_from).is_some() {
                return Some(());
            }
            // Where they are never together, the plan says that a helper has to be found.
            let most = choices.iter().map(|c| c.helpers).max().filter(|most| *most > 0)?;
            choices.iter_mut().for_each(|c| c.helpers = c.helpers.min(most - 1));
        }
    }

    /// Places a heat on the first day that has all it needs, by the person and in the furnace that are
    /// done with it first.
    fn melt(&mut self, orders: &[Order<'_>], choices: &[Choice], pour_from: Minute) -> Option<()> {
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
                match self.attempt(orders, choices, furnace, session, pour_from) {
                    Ok(trial) if first.as_ref().is_some_and(|f| f.0.over <= trial.0.over) => {}
                    Ok(trial) => first = Some(trial),
                    Err(reason) => why = why.or(Some(reason)),
                }
                self.roll_back(mark);
            }
            if let Some((heat, placed)) = first {
                self.accept(heat, placed, held);
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

    /// Tries a heat in a session: before those of its furnace that are there already, and after them; its
    /// moulds as they come, and in another order where some would stand too long.
    fn attempt(
        &mut self,
        orders: &[Order<'_>],
        choices: &[Choice],
        furnace: usize,
        session: (usize, usize),
        pour_from: Minute,
    ) -> Result<Trial, Obstacle> {
        let window = self.people[session.0][session.1].window;
        if !self.calendar.pours(window.from) {
            return Err(Obstacle::Day);
        }
        let day = Calendar::day(window.from);
        let another = self.furnaces[furnace].get(&day).is_some_and(|today| !today.is_empty());
        let turns = if another { &[Turn::First, Turn::Last][..] } else { &[Turn::Last] };
        let mut why = Obstacle::Time;
        for turn in turns {
            for order in orders {
                match self.in_turn(order, choices, (furnace, *turn), session, pour_from) {
                    Ok(trial) => return Ok(trial),
                    Err(Some(held)) => {
                        why = held;
                        break;
                    }
                    Err(None) => why = Obstacle::Time,
                }
            }
        }
        Err(why)
    }

    /// Tries a heat in a session. Moulds that may stand are rammed before it; where there is no
    /// time for that, in the session itself like all others. What was missing, where it fails; nothing
    /// where moulds would stand too long.
    fn in_turn(
        &mut self,
        order: &Order<'_>,
        choices: &[Choice],
        furnace: (usize, Turn),
        session: (usize, usize),
        pour_from: Minute,
    ) -> Result<Trial, Option<Obstacle>> {
        let moulds = &order.moulds;
        let mark = self.undo.len();
        let window = self.people[session.0][session.1].window;
        let mut here: Vec<bool> = moulds.iter().map(|m| m.stands.is_none()).collect();
        let (mut begin, mut held) = (window.from, None);
        let mut overlong: Option<Minute> = None;
        loop {
            let trial = self.trial(order, choices, furnace, session, (begin, pour_from), &here);
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
                    return Err(held);
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
                            return Err(Some(first));
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
}
