//! The plan as a script for replays: pieces of work in its order, what each takes and waits for, and
//! where it turns out whether castings are good.

use super::amounts::{Amount, Named, amounts};
use super::loss::Loss;
use crate::chance::{Tables, Uncertain};
use crate::estimate::{self, Estimates};
use crate::learn;
use crate::manifest::{Difficulty, Id, Step};
use crate::model::Build;
use crate::plan::{Calendar, Item, Laid, Minute, Mould, Subject, Window, melting, span};
use std::collections::BTreeSet;

/// Kinds of work vary together: the steps, then melting.
pub(super) const MELTING: usize = Step::WORDS.len();

/// Hours of the builder's own that are given without a range may turn out between these, as shares
/// of what was given: low, likely, high. From memory.
pub const OWN: [f64; 3] = [0.7, 1.0, 1.8];

/// Classes of difficulty, in the order of their chances.
const CLASSES: [Difficulty; 3] = [Difficulty::Easy, Difficulty::Fair, Difficulty::Hard];

/// A piece of work in a replay.
#[derive(Debug, Clone)]
pub(super) struct Unit {
    /// Minutes at the bench, in parts that vary by their kind of work.
    pub minutes: Vec<(usize, Uncertain)>,
    /// Where it is a heat: what it is melted in.
    pub melt: Option<Melt>,
    /// The machine it is done on, set up from its beginning to its end; by index.
    pub machine: Option<usize>,
    /// Minutes after it by the clock.
    pub wait: Option<Uncertain>,
    /// Not before this minute.
    pub not_before: Minute,
    /// How many units it waits for.
    pub before: usize,
    /// What waits for it.
    pub after: Vec<usize>,
    /// Kind of work that its time is told of.
    pub kind: usize,
    /// Where the moulds of a part are decided upon: what may have to be done again.
    pub decides: Option<Decides>,
}

/// What a heat is melted in; it cannot be broken off at the end of a session.
#[derive(Debug, Clone)]
pub(super) struct Melt {
    /// Its alloy, by index.
    pub alloy: usize,
    /// The furnace, by index.
    pub furnace: usize,
    /// Charge of the heat or of one mould, kg, as is likely.
    pub charge: f64,
    /// What the crucible holds, kg.
    pub holds: f64,
    /// Others who help to lift and pour.
    pub hands: usize,
    /// Minutes of pouring, when they must be there.
    pub pours: Vec<(usize, Uncertain)>,
    /// Minutes of clearing up at the end of its session.
    pub clear_up: Option<(usize, Uncertain)>,
    /// Minutes of its melt in which more metal melts than is in it, as is likely.
    pub spare: f64,
}

/// A decision on the castings of one part, and what doing a mould of it again takes.
#[derive(Debug, Clone)]
pub(super) struct Decides {
    /// The part, by index.
    pub part: usize,
    /// Moulds that are decided upon.
    pub moulds: u32,
    /// Which chance of loss is theirs.
    pub loss: usize,
    /// What one mould is melted in.
    pub melt: Melt,
    /// Moulds of it that there are flasks for at a time.
    pub at_once: u32,
    /// Minutes of melting, in a heat for one mould alone.
    pub melting: (usize, Uncertain),
    /// Minutes that the metal of one takes to melt, as is likely.
    pub melts: f64,
    /// Minutes of ramming one.
    pub ram: (usize, Uncertain),
    /// Minutes of pouring one.
    pub pour: (usize, Uncertain),
    /// Drying and cooling, minutes.
    pub then_wait: f64,
    /// Making its cores, shaking out, fettling and inspecting it, minutes at the bench.
    pub then: Vec<(usize, Uncertain)>,
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
    /// Machines of each kind.
    pub machines: Vec<usize>,
    /// By day from the first: whether the shop pours, and so on each week.
    pub pours: [bool; 7],
    /// Heats that each furnace melts in a session.
    pub furnaces: Vec<u32>,
    /// Heats of today that each furnace has melted already.
    pub melted: Vec<u32>,
    /// Alloys that are poured.
    pub alloys: usize,
    /// Parts of the build.
    pub parts: usize,
    /// Amounts that grow with each mould, such as metal of an alloy.
    pub amounts: Vec<Amount>,
}

impl Script {
    /// The longest session of anybody on a day on which the shop pours, min.
    pub fn longest_pour(&self) -> Minute {
        let pours = |w: &&Window| self.pours[w.from.div_euclid(24 * 60).rem_euclid(7) as usize];
        let windows = self.people.iter().flatten().filter(pours);
        windows.map(|w| w.to - w.from).max().unwrap_or(0)
    }
}

/// The plan as a script, and the names of its amounts.
pub(super) fn script(
    build: &Build,
    estimates: &Estimates,
    laid: &Laid,
    calendar: &Calendar,
) -> (Script, Vec<Named>) {
    let mut writer = Writer {
        build,
        estimates,
        laid,
        tables: Tables::default(),
        alloys: laid.work.alloys.clone(),
    };
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
    let alloys = writer.alloys.len();
    let mut tables = writer.tables;
    let (amounts, names) = amounts(build, estimates, laid, &mut tables);
    let chances = losses.iter().map(|loss| loss.drawn(&mut tables)).collect();
    let script = Script {
        units,
        people: calendar.people.clone(),
        pours: std::array::from_fn(|day| calendar.pours(day as Minute * 24 * 60)),
        losses,
        chances,
        tables,
        machines: build.machines.values().map(|count| *count as usize).collect(),
        furnaces: build.shop.furnaces.values().map(|f| f.heats_per_session.max(1)).collect(),
        melted: laid.work.melted.clone(),
        alloys,
        parts: build.parts.len(),
        amounts,
    };
    (script, names)
}

/// Ramming and pouring belong to their heat; a mould that dries before it is poured is rammed on its
/// own, and the heat waits for it.
fn of_heat(item: &Item) -> bool {
    item.step == Step::Pour || (item.step == Step::Ram && item.wait == 0)
}

/// What a unit is made of.
enum Which {
    Item(usize),
    Heat(usize),
}

struct Writer<'a> {
    build: &'a Build,
    estimates: &'a Estimates,
    laid: &'a Laid,
    tables: Tables,
    /// Alloys of the moulds to come, then of others that may be cast again.
    alloys: Vec<Id>,
}

impl Writer<'_> {
    /// A kind of work that takes so many minutes. Hours of the builder's own, given without a range,
    /// scatter too.
    fn takes(&mut self, kind: usize, [low, likely, high]: [f64; 3]) -> (usize, Uncertain) {
        let span =
            if low == high { OWN.map(|factor| factor * likely) } else { [low, likely, high] };
        (kind, self.tables.pert(span))
    }

    /// Units in the order of the plan.
    fn order(&self) -> Vec<Which> {
        let Laid { work, layout } = self.laid;
        let items = work.items.iter().enumerate();
        let alone = items.filter(|(_, item)| !of_heat(item));
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
                    .filter(|n| of_heat(&self.laid.work.items[*n]))
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
        let (pours, rest): (Vec<&Item>, Vec<&Item>) = items
            .iter()
            .map(|n| &work.items[*n])
            .filter(|item| item.minutes > 0)
            .partition(|item| heat && item.step == Step::Pour);
        let mut minutes: Vec<(usize, Uncertain)> =
            rest.into_iter().map(|i| self.takes(i.step as usize, i.minutes_span)).collect();
        let melt = match which {
            Which::Item(_) => None,
            Which::Heat(h) => {
                minutes.push(self.takes(MELTING, self.melting_of(*h)));
                let pours = pours.iter().map(|i| self.takes(i.step as usize, i.minutes_span));
                let pours = pours.collect();
                Some(self.melt(*h, pours))
            }
        };
        let wait = self.wait(first, heat);
        Unit {
            minutes,
            wait: (wait[2] > 0.0).then(|| self.tables.pert(wait)),
            melt,
            machine: first.machine,
            not_before: items.iter().map(|n| work.items[*n].begins()).max().unwrap_or(0),
            before: others(|item| &item.before).len(),
            after: others(|item| &item.after).into_iter().collect(),
            kind: if heat { MELTING } else { first.step as usize },
            decides: None,
        }
    }

    /// Minutes of one person at the furnace before the first pour of a heat of the plan.
    fn melting_of(&self, h: usize) -> [f64; 3] {
        let Laid { work, layout } = self.laid;
        let heat = &layout.heats[h];
        let moulds = heat.moulds.iter().map(|m| &*work.moulds[*m].melting);
        work.melt_span(moulds, heat.furnace, heat.hot)
    }

    /// Clearing up at the end of a session in which a furnace melted.
    fn clear_up(&mut self, furnace: usize) -> Option<(usize, Uncertain)> {
        let minutes = self.laid.work.firing.get(furnace)?.clear_up;
        (minutes[2] > 0.0).then(|| self.takes(MELTING, minutes))
    }

    /// What a heat of the plan is melted in.
    fn melt(&mut self, h: usize, pours: Vec<(usize, Uncertain)>) -> Melt {
        let Laid { work, layout } = self.laid;
        let heat = &layout.heats[h];
        let moulds = || heat.moulds.iter().map(|m| &work.moulds[*m]);
        let holds = |pot: &usize| {
            let pots = moulds().flat_map(|m| &m.pots).filter(|(p, _)| p == pot);
            pots.map(|(_, holds)| *holds).fold(0.0, f64::max)
        };
        let melts = |m: &Mould| m.melting.get(heat.furnace).map_or(0.0, |span| span[1]);
        let set_up = work.firing.get(heat.furnace).filter(|_| !heat.hot);
        let metal = set_up.map_or(0.0, |f| f.set_up[1]) + moulds().map(melts).sum::<f64>();
        Melt {
            alloy: moulds().next().map_or(0, |m| m.alloy),
            furnace: heat.furnace,
            charge: moulds().map(|m| m.charge).sum(),
            holds: heat.pots.iter().map(holds).sum(),
            hands: heat.hands.len(),
            pours,
            spare: self.melting_of(h)[1] - metal,
            clear_up: self.clear_up(heat.furnace),
        }
    }

    /// What one mould of a part is melted in when it is made again, as the moulds of its alloy are; the
    /// minutes before its pour where it is melted for alone, and those of its metal.
    fn melt_again(&mut self, part: usize, alloy: &Id) -> (Melt, [f64; 3], f64) {
        let Laid { work, layout } = self.laid;
        let found = self.alloys.iter().position(|a| a == alloy);
        let alloy = found.unwrap_or_else(|| {
            self.alloys.push(alloy.clone());
            self.alloys.len() - 1
        });
        let mould = self.estimates.castings[part].as_ref().map(|e| &e.mould);
        let charge = mould.and_then(|m| m.charge.as_ref()).map_or(0.0, |c| c.si());
        let alike = || work.moulds.iter().filter(|m| m.alloy == alloy);
        let holds = alike().filter_map(|m| m.pots.last()).map(|p| p.1).fold(charge, f64::max);
        let mut heats = layout.heats.iter();
        let heat = heats.find(|h| h.moulds.iter().any(|m| work.moulds[*m].alloy == alloy));
        let furnace = heat.map_or(0, |h| h.furnace);
        let melting = mould.map_or(Vec::new(), |mould| melting(self.build, mould));
        let alone = work.melt_span(std::iter::once(&*melting), furnace, false);
        let melts = melting.get(furnace).map_or(0.0, |span| span[1]);
        let set_up = work.firing.get(furnace).map_or(0.0, |f| f.set_up[1]);
        let melt = Melt {
            alloy,
            furnace,
            charge,
            holds,
            hands: heat.map_or(0, |h| h.hands.len()),
            pours: Vec::new(),
            spare: alone[1] - set_up - melts,
            clear_up: self.clear_up(furnace),
        };
        (melt, alone, melts)
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
        let alloy = self.build.parts[part].casting.as_ref()?.alloy.id.clone();
        let steps = self.build.parts[part].steps();
        let then = [Step::Core, Step::ShakeOut, Step::Fettle, Step::Inspect];
        let then: Vec<Step> = then.into_iter().filter(|step| steps.contains(step)).collect();
        let [ram, pour] =
            [Step::Ram, Step::Pour].map(|s| self.takes(s as usize, self.minutes(part, s)));
        let (melt, alone, melts) = self.melt_again(part, &alloy);
        let decides = Decides {
            part,
            moulds,
            loss,
            melt,
            at_once: self.flasks(part),
            melting: self.takes(MELTING, alone),
            melts,
            ram,
            pour,
            then_wait: self.waits(part),
            then: then.iter().map(|s| self.takes(*s as usize, self.minutes(part, *s))).collect(),
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

    /// Flasks that a part may be rammed in at a time.
    fn flasks(&self, part: usize) -> u32 {
        let moulds = &self.laid.work.moulds;
        let flask = moulds.iter().find(|m| m.part == part).and_then(|m| m.flask);
        let flask = flask.and_then(|f| self.build.shop.flasks.get_index(f));
        flask.map_or(1, |(_, flask)| flask.count.max(1))
    }

    /// Minutes at the bench for one mould of a part.
    fn minutes(&self, part: usize, step: Step) -> [f64; 3] {
        let estimate = self.estimates.castings[part].as_ref();
        let time = estimate::step_time(self.build, &self.build.parts[part], estimate, step);
        span(time.hands_on.as_ref(), estimate.map_or(1, |e| e.moulds.max(1)))
    }

    /// Minutes by the clock that making one again waits: for cores and wash to dry, and for the
    /// casting to cool.
    fn waits(&self, part: usize) -> f64 {
        let estimate = self.estimates.castings[part].as_ref();
        let part = &self.build.parts[part];
        let mine = part.steps().into_iter();
        let mine = mine.filter(|s| matches!(s, Step::Core | Step::Ram | Step::ShakeOut));
        let times = mine.map(|step| estimate::step_time(self.build, part, estimate, step));
        times.map(|time| span(time.wait.as_ref(), 1)[1]).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::script;
    use crate::{job, plan};

    /// A heat takes 90 min before its pour as is usual, of which 15 are setting up: whatever its metal
    /// takes to melt, what is left of the other 75 is room for more metal.
    #[test]
    fn what_is_made_again_may_share_what_a_usual_melt_leaves() {
        let text = "\
build: {title: Spare, begun: 2026-01-10}
shop:
  people: {one: {hours: {sat: 8 h}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, power: 40 kW}}
  crucibles: {pot: {holds: 3 L, working-fill: 80 %}}
  flasks: {box: {inside: 400 x 300 mm, cope: 120 mm, drag: 120 mm}}
patterns: {block-pattern: {made-of: wood, size: 120 x 80 x 40 mm}}
parts: {block: {casting: {pattern: block-pattern, alloy: A356, mass: 1 kg}}}
";
        let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 10).expect("a day");
        let today = job::Today { asked: None, clock };
        let build = job::read(text.into(), Vec::new(), today).expect("no faults");
        let of = job::plan(job::estimate(build), None, None, &mut |_, _| true);
        let laid = of.plan.schedule.laid.as_ref().expect("a plan");
        let hours = plan::hours(&of.build, &laid.work, 6);
        let (script, _) = script(&of.build, &of.estimates, laid, &hours);
        let decides = script.units.iter().find_map(|u| u.decides.as_ref()).expect("one part");
        assert!(decides.melts > 1.0, "{}", decides.melts);
        let left = decides.melt.spare + decides.melts;
        assert!((left - 75.0).abs() < 1e-6, "{left}");
    }
}
