//! The plan as a script for replays: pieces of work in its order, what each takes and waits for, and
//! where it turns out whether castings are good.

use super::amounts::{Amount, Named, amounts};
use super::loss::Loss;
use crate::chance::{Tables, Uncertain};
use crate::estimate::{self, Estimates};
use crate::learn;
use crate::manifest::{Difficulty, Step};
use crate::model::Build;
use crate::plan::{Calendar, Item, Laid, Minute, Mould, Subject, Window, span};
use std::collections::BTreeSet;

/// Kinds of work vary together: the steps, then melting.
pub(super) const MELTING: usize = Step::WORDS.len();

/// Classes of difficulty, in the order of their chances.
const CLASSES: [Difficulty; 3] = [Difficulty::Easy, Difficulty::Fair, Difficulty::Hard];

/// A piece of work in a replay.
#[derive(Debug, Clone)]
pub(super) struct Unit {
    /// Minutes at the bench, in parts that vary by their kind of work.
    pub minutes: Vec<(usize, Uncertain)>,
    /// Minutes after it by the clock.
    pub wait: Option<Uncertain>,
    /// Whether it cannot be broken off at the end of a session.
    pub unbroken: bool,
    /// Not before this minute.
    pub not_before: Minute,
    /// How many units it waits for.
    pub before: usize,
    /// What waits for it.
    pub after: Vec<usize>,
    /// Part that its time is told of, by index.
    pub part: Option<usize>,
    /// Kind of work that its time is told of.
    pub kind: usize,
    /// Where the moulds of a part are decided upon: what may have to be done again.
    pub decides: Option<Decides>,
}

/// A decision on the castings of one part, and what doing one mould of it again takes.
#[derive(Debug, Clone)]
pub(super) struct Decides {
    /// Moulds that are decided upon.
    pub moulds: u32,
    /// Which chance of loss is theirs.
    pub loss: usize,
    /// Ramming, melting and pouring one again, minutes.
    pub again: Vec<(usize, Uncertain)>,
    /// Cooling, minutes.
    pub then_wait: f64,
    /// Shaking out, fettling and inspecting it again, minutes at the bench.
    pub then: f64,
}

/// All that replays share.
#[derive(Debug, Clone)]
pub(super) struct Script {
    /// Pieces of work, the most urgent first.
    pub units: Vec<Unit>,
    /// Hours of each person.
    pub people: Vec<Vec<Window>>,
    /// Chances that a mould is lost: of the classes, then of parts with their own.
    pub losses: Vec<Loss>,
    /// The same, to be drawn.
    pub chances: Vec<Uncertain>,
    /// Tables of all that is drawn.
    pub tables: Tables,
    /// Parts of the build.
    pub parts: usize,
    /// Amounts that grow with each mould, such as metal of an alloy.
    pub amounts: Vec<Amount>,
}

/// The plan as a script, and the names of its amounts.
pub(super) fn script(
    build: &Build,
    estimates: &Estimates,
    laid: &Laid,
    calendar: &Calendar,
) -> (Script, Vec<Named>) {
    let mut writer = Writer { build, estimates, laid, tables: Tables::default() };
    let order = writer.order();
    let unit_of = writer.unit_of(&order);
    let mut units: Vec<Unit> =
        order.iter().enumerate().map(|(u, which)| writer.unit(u, which, &unit_of)).collect();
    let mut losses: Vec<Loss> =
        CLASSES.iter().map(|c| Loss::Believed(learn::scrap_belief(build, *c))).collect();
    for part in 0..build.parts.len() {
        if let Some((item, decides)) = writer.decision(part, &mut losses) {
            units[unit_of[item]].decides = Some(decides);
        }
    }
    let mut tables = writer.tables;
    let (amounts, names) = amounts(build, estimates, laid, &mut tables);
    let chances = losses.iter().map(|loss| loss.drawn(&mut tables)).collect();
    let people = calendar.people.clone();
    (Script { units, people, losses, chances, tables, parts: build.parts.len(), amounts }, names)
}

/// What a unit is made of; ramming and pouring belong to their heat.
enum Which {
    Item(usize),
    Heat(usize),
}

struct Writer<'a> {
    build: &'a Build,
    estimates: &'a Estimates,
    laid: &'a Laid,
    tables: Tables,
}

impl Writer<'_> {
    /// Units in the order of the plan.
    fn order(&self) -> Vec<Which> {
        let Laid { work, layout } = self.laid;
        let items = work.items.iter().enumerate();
        let alone = items.filter(|(_, item)| !matches!(item.step, Step::Ram | Step::Pour));
        let items = alone.map(|(n, _)| {
            let placed = &layout.items[n];
            (placed.start, placed.end, Which::Item(n))
        });
        let heats = layout.heats.iter().enumerate();
        let heats = heats.map(|(h, heat)| (heat.lit, heat.over, Which::Heat(h)));
        let mut order: Vec<_> = items.chain(heats).collect();
        // Items come before heats, and the sort is stable.
        order.sort_by_key(|(start, end, _)| (*start, *end));
        order.into_iter().map(|(_, _, which)| which).collect()
    }

    /// Ramming and pouring the moulds of a heat; or the item alone.
    fn items(&self, which: &Which) -> Vec<usize> {
        match which {
            Which::Item(n) => vec![*n],
            Which::Heat(h) => {
                let moulds = self.laid.layout.heats[*h].moulds.iter();
                moulds
                    .flat_map(|m| self.laid.work.moulds[*m].items[..2].to_vec())
                    .flatten()
                    .collect()
            }
        }
    }

    /// The unit of each item.
    fn unit_of(&self, order: &[Which]) -> Vec<usize> {
        let mut unit_of = vec![usize::MAX; self.laid.work.items.len()];
        for (u, which) in order.iter().enumerate() {
            self.items(which).into_iter().for_each(|n| unit_of[n] = u);
        }
        unit_of
    }

    fn unit(&mut self, u: usize, which: &Which, unit_of: &[usize]) -> Unit {
        let work = &self.laid.work;
        let items = self.items(which);
        let heat = matches!(which, Which::Heat(_));
        let first = &work.items[items[0]];
        let others = |of: fn(&Item) -> &Vec<usize>| -> BTreeSet<usize> {
            let items = items.iter().flat_map(|n| of(&work.items[*n]).iter());
            items.map(|n| unit_of[*n]).filter(|other| *other != u).collect()
        };
        let mut minutes: Vec<(usize, Uncertain)> = items
            .iter()
            .map(|n| &work.items[*n])
            .filter(|item| item.minutes > 0)
            .map(|item| (item.step as usize, self.tables.pert(item.minutes_span)))
            .collect();
        if heat {
            minutes.push((MELTING, self.tables.pert(work.melt_span)));
        }
        let wait = self.wait(first, heat);
        Unit {
            minutes,
            wait: (wait[2] > 0.0).then(|| self.tables.pert(wait)),
            unbroken: heat,
            not_before: first.not_before,
            before: others(|item| &item.before).len(),
            after: others(|item| &item.after).into_iter().collect(),
            part: match first.subject {
                Subject::Part(part) => Some(part),
                Subject::Pattern(_) => None,
            },
            kind: if heat { MELTING } else { first.step as usize },
            decides: None,
        }
    }

    /// Minutes by the clock after a unit. What waits for a pour waits for the cooling too.
    fn wait(&self, first: &Item, heat: bool) -> [f64; 3] {
        let work = &self.laid.work;
        let shaken = first.mould.filter(|_| heat).and_then(|m| work.moulds[m].items[2]);
        match shaken {
            Some(n) => work.items[n].wait_span,
            None if first.step == Step::ShakeOut => [0.0; 3],
            None => first.wait_span,
        }
    }

    /// Where the castings of a part are inspected, or fettled if nobody inspects; and what turns on
    /// that. None where no mould of it is to come or under way.
    fn decision(&mut self, part: usize, losses: &mut Vec<Loss>) -> Option<(usize, Decides)> {
        let given = &self.build.parts[part].casting.as_ref()?.given;
        let at = self.item(part, Step::Inspect).or_else(|| self.item(part, Step::Fettle))?;
        let moulds = self.moulds(part);
        if moulds == 0 {
            return None;
        }
        let loss = match &given.scrap {
            Some(own) => {
                let range = own.node().range();
                losses.push(Loss::given([range.low, range.likely, range.high]));
                losses.len() - 1
            }
            None => CLASSES.iter().position(|c| *c == given.difficulty)?,
        };
        let again = [
            (Step::Ram as usize, self.minutes(part, Step::Ram)),
            (Step::Pour as usize, self.minutes(part, Step::Pour)),
            (MELTING, self.laid.work.melt_span),
        ];
        let steps = self.build.parts[part].steps();
        let then = [Step::Core, Step::ShakeOut, Step::Fettle, Step::Inspect];
        let then = then.into_iter().filter(|step| steps.contains(step));
        let decides = Decides {
            moulds,
            loss,
            again: again.map(|(kind, span)| (kind, self.tables.pert(span))).to_vec(),
            then_wait: self.cooling(part),
            then: then.map(|step| self.minutes(part, step)[1]).sum(),
        };
        Some((at, decides))
    }

    fn item(&self, part: usize, step: Step) -> Option<usize> {
        let items = &self.laid.work.items;
        items.iter().position(|i| i.subject == Subject::Part(part) && i.step == step)
    }

    /// Moulds with castings of a part that are to come, or poured and not yet decided upon.
    fn moulds(&self, part: usize) -> u32 {
        let holds = |m: &&Mould| m.part == part || m.others.iter().any(|(i, _)| *i == part);
        let to_come = self.laid.work.moulds.iter().filter(holds).count() as u32;
        let pieces = self.build.history.pieces(part);
        let estimate = self.estimates.castings[part].as_ref();
        let cavities = estimate.map_or(1, |e| e.mould.cavities.max(1));
        to_come + (pieces.poured + pieces.shaken_out + pieces.reworked).div_ceil(cavities)
    }

    /// Minutes at the bench for one mould of a part.
    fn minutes(&self, part: usize, step: Step) -> [f64; 3] {
        let estimate = self.estimates.castings[part].as_ref();
        let time = estimate::step_time(self.build, &self.build.parts[part], estimate, step);
        span(time.hands_on.as_ref(), estimate.map_or(1, |e| e.moulds.max(1)))
    }

    /// Minutes of cooling, as is likely.
    fn cooling(&self, part: usize) -> f64 {
        let estimate = self.estimates.castings[part].as_ref();
        let part = &self.build.parts[part];
        let time = estimate::step_time(self.build, part, estimate, Step::ShakeOut);
        span(time.wait.as_ref(), 1)[1]
    }
}
