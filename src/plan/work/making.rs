//! The work that is left, made of a build and its estimates.

use super::firing::{Firing, melting};
use super::items::{Item, Mould, Taken, Work};
use super::lacking::{lacking, without};
use super::limits::{Hours, Limits};
use super::minutes::{minutes_of, span, whole};
use super::pots::may_melt;
use crate::estimate::{
    CastingEstimate, Estimates, FlaskFit, Lots, MouldEstimate, StepTime, pattern_times, step_time,
};
use crate::figure::Figure;
use crate::manifest::{Id, Step};
use crate::model::{Bench, Build, Part};
use crate::plan::calendar::Minute;
use crate::plan::left::{dry_at, gone_today, left, of_mould};
use crate::plan::subject::Subject;
use crate::plan::subject::is_done;
use chrono::{NaiveDateTime, NaiveTime};
use std::collections::{BTreeSet, HashMap};

/// Where the items of each step of each part or pattern are.
#[derive(Default)]
struct Places(HashMap<(Subject, Step), Vec<usize>>);

struct Maker<'a> {
    build: &'a Build,
    estimates: &'a Estimates,
    limits: &'a Limits,
    hours: Hours<'a>,
    work: Work,
    places: Places,
    /// When what is finished will be dry or cured.
    drying: HashMap<(Subject, Step), Minute>,
    /// Moulds to be rammed.
    to_come: Vec<Lots>,
    /// Items that cannot be planned.
    blocked: BTreeSet<usize>,
}

/// The work that is left of a build, for what its shop has. A mould that stands too long before
/// anything can be poured is rammed again.
pub fn work(build: &Build, estimates: &Estimates, limits: &Limits, hours: Hours<'_>) -> Work {
    let furnaces = &build.shop.furnaces;
    let firing = furnaces.values().map(|furnace| Firing::of(build, furnace)).collect();
    let melted = furnaces.keys().map(|id| build.history.melted_on(id, build.today)).collect();
    let mut maker = Maker {
        build,
        estimates,
        limits,
        hours,
        work: Work { firing, melted, gone: gone_today(build, estimates), ..Work::default() },
        places: Places::default(),
        drying: HashMap::new(),
        to_come: estimates.moulds(build, |i| build.to_cast(i)),
        blocked: BTreeSet::new(),
    };
    let used: BTreeSet<usize> =
        build.parts.iter().filter_map(|p| Some(p.casting.as_ref()?.pattern)).collect();
    let times = pattern_times(build);
    for i in used {
        let (subject, step) = (Subject::Pattern(i), Step::Pattern);
        if build.history.patterns.contains(&i) {
            maker.dries(subject, step, &times[i]);
        } else {
            let time = left(build, Bench::Pattern(i), times[i].clone());
            let n = maker.add(subject, step, None, &time, 1);
            let mut parts =
                build.parts.iter().filter(|p| p.casting.as_ref().is_some_and(|c| c.pattern == i));
            maker.work.items[n].put_down = parts.any(|part| part.put_down(step));
        }
    }
    maker.cooling();
    for (i, part) in build.parts.iter().enumerate() {
        maker.part(i, part);
    }
    for (i, part) in build.parts.iter().enumerate() {
        maker.edges(i, part);
    }
    maker.whole();
    without(maker.work, maker.blocked)
}

impl Maker<'_> {
    /// A part of which some castings cannot be made is not begun with the others: none of its
    /// moulds that are still to be rammed is planned.
    fn whole(&mut self) {
        let named = |part: usize| {
            let id = format!("{}:", self.build.parts[part].id());
            self.work.missing.iter().any(|m| m.starts_with(&id))
        };
        let moulds = self.work.moulds.iter().filter(|mould| {
            let mut parts = std::iter::once(mould.part).chain(mould.others.iter().map(|o| o.0));
            mould.standing.is_none() && parts.any(named)
        });
        self.blocked.extend(moulds.flat_map(|mould| mould.items.iter().flatten()));
    }

    fn add(
        &mut self,
        subject: Subject,
        step: Step,
        mould: Option<usize>,
        time: &StepTime,
        shares: u32,
    ) -> usize {
        let number = self.work.items.len();
        let minutes_span = span(time.hands_on.as_ref(), shares);
        let wait_span = span(time.wait.as_ref(), 1);
        self.work.items.push(Item {
            subject,
            step,
            mould,
            minutes: whole(minutes_span[1]),
            wait: whole(wait_span[1]),
            minutes_span,
            wait_span,
            not_before: 0,
            awaits: None,
            machine: None,
            put_down: false,
            before: Vec::new(),
            after: Vec::new(),
        });
        self.places.0.entry((subject, step)).or_default().push(number);
        number
    }

    /// A step that is finished may have to dry before the next.
    fn dries(&mut self, subject: Subject, step: Step, time: &StepTime) {
        let at = dry_at(self.build, subject.bench(step), time);
        self.drying.extend(at.map(|at| ((subject, step), self.minute(at))));
    }

    /// A moment in minutes of the plan.
    fn minute(&self, at: NaiveDateTime) -> Minute {
        (at - self.build.today.and_time(NaiveTime::MIN)).num_minutes()
    }

    fn not_before(&mut self, item: usize, at: Option<Minute>) {
        let item = &mut self.work.items[item];
        item.not_before = item.not_before.max(at.unwrap_or(0));
    }

    fn wait(&mut self, earlier: usize, later: usize) {
        if earlier != later && !self.work.items[later].before.contains(&earlier) {
            self.work.items[later].before.push(earlier);
            self.work.items[earlier].after.push(later);
        }
    }

    /// Moulds that are poured and still cooling.
    fn cooling(&mut self) {
        for attempt in self.build.history.attempts.values() {
            let (Some((_, poured)), None) = (&attempt.poured, attempt.shaken_out) else { continue };
            let Some((lead, _)) = attempt.castings.first() else { continue };
            let part = &self.build.parts[*lead];
            let (time, shares) =
                of_mould(self.build, self.estimates, &attempt.castings, Step::ShakeOut);
            let cool = minutes_of(time.wait.as_ref());
            let time = StepTime { wait: None, ..time };
            let item = self.add(Subject::Part(*lead), Step::ShakeOut, None, &time, shares);
            for (other, _) in attempt.castings.iter().skip(1) {
                let key = (Subject::Part(*other), Step::ShakeOut);
                self.places.0.entry(key).or_default().push(item);
            }
            self.work.items[item].not_before = self.minute(*poured) + cool;
            let mould = self.estimates.mould(self.build, &attempt.castings);
            let flask = mould.and_then(|m| self.flask_of(&m.flask));
            let sand = mould.map_or(0.0, |m| self.sand_of_heap(part, m));
            let mould = attempt.mould.clone();
            self.work.cooling.push(Taken { mould, flask, sand, until: item });
        }
    }

    fn flask_of(&self, fit: &FlaskFit) -> Option<usize> {
        match fit {
            FlaskFit::Fits(id) => self.build.shop.flasks.get_index_of(id),
            _ => None,
        }
    }

    /// Sand that a mould takes from the heap, kg; none where its pattern has a sand of its own.
    fn sand_of_heap(&self, part: &Part, mould: &MouldEstimate) -> f64 {
        let sand = part.casting.as_ref().and_then(|c| self.build.patterns[c.pattern].sand.as_ref());
        let heap = self.build.shop.sand.as_ref();
        let same = heap.zip(sand).is_some_and(|(heap, sand)| heap.kind.value == sand.id);
        mould.sand.as_ref().filter(|_| same).map_or(0.0, Figure::si)
    }

    fn part(&mut self, index: usize, part: &Part) {
        let subject = Subject::Part(index);
        let estimate = self.estimates.castings[index].as_ref();
        for step in part.steps() {
            let time = step_time(self.build, part, estimate, step);
            match (step, estimate) {
                (Step::Ram, Some(estimate)) => self.moulds(index, part, estimate),
                (Step::Ram | Step::Pour | Step::ShakeOut, _) => {}
                _ if is_done(self.build, index, part, step) => self.dries(subject, step, &time),
                _ => {
                    let time = left(self.build, Bench::Part(index, step), time);
                    let n = self.add(subject, step, None, &time, 1);
                    self.work.items[n].machine = part.machine(step);
                    self.work.items[n].put_down = part.put_down(step);
                }
            }
        }
    }

    fn moulds(&mut self, index: usize, part: &Part, estimate: &CastingEstimate) {
        let build = self.build;
        let standing: Vec<_> = build
            .history
            .attempts
            .values()
            .filter(|a| a.poured.is_none() && a.castings.first().is_some_and(|c| c.0 == index))
            .collect();
        for attempt in standing {
            let at = self.minute(attempt.rammed);
            let mine = attempt.castings.first().map_or(0, |c| c.1);
            let others = attempt.castings[1..].to_vec();
            let name = Some((attempt.mould.clone(), at));
            self.mould(index, part, estimate, (0, mine, others, name));
        }
        let led: Vec<Lots> = self.to_come.iter().filter(|m| m[0].0 == index).cloned().collect();
        for (nth, lots) in (1..).zip(led) {
            let others = lots[1..].to_vec();
            self.mould(index, part, estimate, (nth, lots[0].1, others, None));
        }
    }

    #[allow(clippy::type_complexity)]
    fn mould(
        &mut self,
        index: usize,
        part: &Part,
        estimate: &CastingEstimate,
        (nth, castings, others, standing): (u32, u32, Vec<(usize, u32)>, Option<(Id, Minute)>),
    ) {
        let Some(casting) = &part.casting else { return };
        let subject = Subject::Part(index);
        let number = self.work.moulds.len();
        let build = self.build;
        let lots = || std::iter::once((index, castings)).chain(others.iter().copied());
        let shared = self.estimates.shared(build, lots().map(|(i, _)| i));
        let figures = shared.map_or(&estimate.mould, |t| &t.mould);
        let lots: Vec<(usize, u32)> = lots().collect();
        let time = |step| of_mould(build, self.estimates, &lots, step).0;
        let shares = of_mould(build, self.estimates, &lots, Step::Ram).1;
        let keeps = build.stands(casting.pattern).map(|s| (s.safe() / 60.0 + 1e-6) as Minute);
        let stands_over = keeps.filter(|keeps| *keeps >= 24 * 60);
        let good_until = standing.as_ref().zip(keeps).map(|((_, at), keeps)| at + keeps);
        let again = |name: &Id| {
            let late = good_until.is_some_and(|until| until < self.hours.pours);
            late || self.hours.again.contains(name)
        };
        let ram = match &standing {
            Some((name, _)) if !again(name) => None,
            _ => Some(self.add(subject, Step::Ram, Some(number), &time(Step::Ram), shares)),
        };
        let pour = self.add(subject, Step::Pour, Some(number), &time(Step::Pour), shares);
        let shaking = time(Step::ShakeOut);
        let shake = self.add(subject, Step::ShakeOut, Some(number), &shaking, shares);
        match (ram, &standing) {
            (Some(ram), _) => self.wait(ram, pour),
            (None, Some((_, at))) => {
                let dry = at + minutes_of(time(Step::Ram).wait.as_ref());
                self.not_before(pour, Some(dry));
            }
            (None, None) => {}
        }
        self.wait(pour, shake);
        // What is done on the mould is done for every part in it.
        let done = [(Step::Ram, ram), (Step::Pour, Some(pour)), (Step::ShakeOut, Some(shake))];
        for (other, _) in &others {
            for (step, item) in done {
                let key = (Subject::Part(*other), step);
                self.places.0.entry(key).or_default().extend(item);
            }
        }
        let good = lots.iter().filter_map(|(i, _)| build.parts[*i].casting.as_ref());
        let good = good.map(|casting| {
            let (prior, _) = crate::learn::scrap_prior(casting.given.difficulty);
            1.0 - casting.given.scrap.as_ref().map_or(prior.mean(), Figure::si)
        });
        let doubt = 1.0 - good.product::<f64>();
        let alloy = &casting.alloy.id;
        let alloy = self.work.alloys.iter().position(|a| a == alloy).unwrap_or_else(|| {
            self.work.alloys.push(alloy.clone());
            self.work.alloys.len() - 1
        });
        let mut pots = may_melt(build, casting);
        for other in others.iter().filter_map(|(i, _)| build.parts[*i].casting.as_ref()) {
            let may = may_melt(build, other);
            pots.retain(|pot| may.iter().any(|m| m.0 == pot.0));
        }
        let charge = figures.charge.as_ref().map_or(0.0, Figure::si);
        let mould = Mould {
            part: index,
            nth,
            castings,
            others,
            standing,
            flask: self.flask_of(&figures.flask),
            sand: self.sand_of_heap(part, figures),
            charge,
            charge_most: figures.charge.as_ref().map_or(0.0, Figure::high),
            figures: [&figures.poured, &figures.charge, &figures.sand].map(Clone::clone),
            alloy,
            pots,
            melting: melting(build, figures),
            good_until: good_until.filter(|_| ram.is_none()),
            keeps,
            stands: stands_over,
            doubt,
            items: [ram, Some(pour), Some(shake)],
        };
        let reasons = lacking(build, &self.work, figures, &mould, (self.limits, self.hours));
        if !reasons.is_empty() {
            self.blocked.extend(mould.items.iter().flatten());
            for reason in reasons {
                if !self.work.missing.contains(&reason) {
                    self.work.missing.push(reason);
                }
            }
        }
        self.work.moulds.push(mould);
    }

    fn edges(&mut self, index: usize, part: &Part) {
        let subject = Subject::Part(index);
        let find = |places: &Places, subject, step| {
            places.0.get(&(subject, step)).cloned().unwrap_or_default()
        };
        let pattern = part.casting.as_ref().map(|c| (Subject::Pattern(c.pattern), Step::Pattern));
        let mut last: Vec<usize> =
            pattern.map_or(Vec::new(), |(subject, step)| find(&self.places, subject, step));
        let mut dry = pattern.and_then(|key| self.drying.get(&key).copied());
        for step in part.steps() {
            let mine = find(&self.places, subject, step);
            if mine.is_empty() {
                dry = dry.max(self.drying.get(&(subject, step)).copied());
                continue;
            }
            // Pouring and shaking out wait for their own mould; that was said already.
            if !matches!(step, Step::Pour | Step::ShakeOut) {
                for &n in &mine {
                    self.not_before(n, dry);
                    for &before in &last {
                        self.wait(before, n);
                    }
                }
            }
            if !matches!(step, Step::Ram | Step::Pour) {
                last = mine;
            }
        }
        for need in &part.needs {
            let (of, from) = match (need.step, &self.build.parts[need.part].casting) {
                (Step::Pattern, Some(c)) => {
                    let of = Subject::Pattern(c.pattern);
                    (of, find(&self.places, of, Step::Pattern))
                }
                (step, _) => (Subject::Part(need.part), self.last_of(need.part, step)),
            };
            let dry = self.drying.get(&(of, need.step)).copied();
            for to in find(&self.places, subject, need.before) {
                self.not_before(to, dry);
                for &from in &from {
                    self.wait(from, to);
                }
            }
        }
    }

    /// The items of a step of a part, or of the step before it that has any: a step without work
    /// left is over when the work before it is.
    fn last_of(&self, part: usize, step: Step) -> Vec<usize> {
        let subject = Subject::Part(part);
        let steps = self.build.parts[part].steps();
        let upto = steps.iter().position(|s| *s == step).map_or(0, |i| i + 1);
        let mut found =
            steps[..upto].iter().rev().filter_map(|s| self.places.0.get(&(subject, *s)));
        found.next().cloned().unwrap_or_default()
    }
}
