//! The rules of the foundry: moulds, heats, furnaces, crucibles, flasks and sand.

use super::checker::{A_DAY, Check, least, minutes};
use super::told::{Heat, Job, Mould, day};
use pourwright::manifest::{Crucible, StepGiven};
use pourwright::model::Casting;
use std::collections::{BTreeMap, BTreeSet};

impl Check<'_> {
    /// Ramming, and melting with pouring, are done in one go.
    pub fn unbroken(&mut self) {
        for job in self.told.jobs.clone() {
            let whole = !["ram", "pour"].contains(&job.step.as_str()) || job.blocks.len() <= 1;
            self.must(whole, || format!("unbroken: {} {} is broken off", job.on, job.step));
        }
        for heat in self.told.heats.clone() {
            let pours: Vec<Job> = heat.pours.iter().map(|n| self.told.jobs[*n].clone()).collect();
            let by_one = pours.windows(2).all(|w| {
                w[0].end == w[1].start
                    && w[0].blocks.first().map(|b| &b.person)
                        == w[1].blocks.first().map(|b| &b.person)
            });
            self.must(by_one, || format!("unbroken: {} is not poured in one go", heat.name));
        }
    }

    /// As many people lift and pour as the full pot takes, all the while; fewer only where nobody
    /// else of the shop was free.
    pub fn hands(&mut self, busy: &BTreeMap<String, Vec<(i64, i64)>>) {
        for heat in self.told.heats.clone() {
            let pours: Vec<Job> = heat.pours.iter().map(|n| self.told.jobs[*n].clone()).collect();
            let who = |p: &Job| -> BTreeSet<String> {
                p.blocks.iter().chain(&p.help).map(|b| b.person.clone()).collect()
            };
            let Some(there) = pours.first().map(who) else { continue };
            let together = pours.iter().all(|p| {
                let from = p.start.max(heat.pour);
                who(p) == there && p.help.iter().all(|b| b.from == from && b.to == p.end)
            });
            self.must(together, || format!("hands: not the same all through {}", heat.name));
            let (from, to) = (heat.pour, heat.over);
            let people = self.build.shop.people.keys();
            let others: Vec<String> =
                people.map(ToString::to_string).filter(|p| !there.contains(p)).collect();
            let free = others.iter().any(|p| {
                let here = self.hours(p, day(from)).is_some_and(|(a, b)| a <= from && to <= b);
                let at_work = busy.get(p).is_some_and(|s| s.iter().any(|w| w.0 < to && from < w.1));
                here && !at_work
            });
            let people = heat.people.unwrap_or(1);
            let enough = there.len() >= people || !free;
            self.must(enough, || {
                format!("hands: {} takes {people}, {} are there", heat.name, there.len())
            });
        }
    }

    /// Each mould is in one heat, stands no longer than its sand may, and is shaken out cold.
    pub fn moulds(&mut self) {
        let mut names = BTreeSet::new();
        for m in self.told.moulds.clone() {
            let part = &self.build.parts[m.part];
            let id = part.id().clone();
            if let Some(name) = &m.standing {
                self.must(names.insert(name.clone()), || format!("one heat: {name} is in two"));
            }
            let (Some(pour), Some(shake)) = (m.pour, m.shake) else {
                self.must(false, || format!("one heat: a mould of {id} is not poured and emptied"));
                continue;
            };
            let (pour, shake) = (self.told.jobs[pour].clone(), self.told.jobs[shake].clone());
            let held = m.lots();
            let wait = |l: &(usize, u32)| self.wait(self.build.parts[l.0].id(), "shake-out");
            let cool = held.iter().map(wait).max().unwrap_or(0);
            self.must(shake.start >= pour.end + cool, || {
                format!("cooling: a mould of {id} is shaken out hot")
            });
            self.must(shake.end == m.shaken_out, || {
                format!("mould: {id} is empty at another time")
            });
            let wash = |l: &(usize, u32)| self.wait(self.build.parts[l.0].id(), "ram");
            let dry = held.iter().map(wash).max().unwrap_or(0);
            let rammed = m.ram.map_or(m.rammed, |n| self.told.jobs[n].end);
            self.must(pour.start >= rammed + dry, || {
                format!("drying: a mould of {id} is poured with its wash wet")
            });
            let poured_at = pour.start.max(self.told.heats[m.heat].pour);
            let stands = self.stands(&m);
            let Some(ram) = m.ram.map(|n| self.told.jobs[n].clone()) else {
                let stood = poured_at - m.rammed;
                self.must(stands.is_none_or(|most| stood <= most), || {
                    format!("stands: a mould of {id} has stood {stood} min and is poured as it is")
                });
                continue;
            };
            self.must(ram.end <= pour.start, || {
                format!("order: {id} is poured before it is rammed")
            });
            match stands {
                Some(most) if most >= A_DAY => self.must(poured_at - ram.end <= most, || {
                    format!(
                        "stands: a mould of {id} stands {} min, at most {most}",
                        poured_at - ram.end
                    )
                }),
                most => {
                    self.must(day(ram.start) == day(pour.start), || {
                        format!("same session: {id} is rammed on another day than it is poured")
                    });
                    // Alone in its heat it dries and waits for its melt in any case.
                    let alone = self.told.heats[m.heat].pours.len() == 1;
                    let own = if alone { dry + poured_at - pour.start } else { 0 };
                    let stood = poured_at - ram.end;
                    self.must(most.is_none_or(|most| stood <= most.max(own)), || {
                        format!("stands: a mould of {id} stands {stood} min in its session")
                    });
                }
            }
        }
    }

    fn stands(&self, m: &Mould) -> Option<i64> {
        let pattern = self.build.parts[m.part].casting.as_ref()?.pattern;
        let sand = self.build.patterns[pattern].sand.as_ref()?;
        let shop = self.build.shop.sand.as_ref().filter(|s| *s.kind.value == *sand.id);
        let time = shop.and_then(|s| s.stands.as_ref()).or(sand.stands.as_ref())?;
        Some(minutes(time.low()))
    }

    /// Whether a furnace is hot from a heat before on the same day, of the plan or of the journal.
    fn hot(&self, heat: usize) -> bool {
        let heats = &self.told.heats;
        let of = &heats[heat];
        self.melted(&of.furnace, of.lit) > 0
            || heats
                .iter()
                .any(|o| o.furnace == of.furnace && day(o.lit) == day(of.lit) && o.over <= of.lit)
    }

    /// Heats that the journal tells of a furnace on the day of a minute.
    fn melted(&self, furnace: &str, at: i64) -> usize {
        let date = self.build.today + chrono::TimeDelta::minutes(at - self.told.today);
        let first = self.build.shop.furnaces.keys().next().map(|id| &**id);
        let here = |entry: &&pourwright::journal::Entry| match &entry.event {
            pourwright::journal::Event::Poured(e) => {
                let named = e.furnace.as_ref().map(|f| &*f.value);
                entry.at.date() == date && named.or(first) == Some(furnace)
            }
            _ => false,
        };
        self.build.history.log.iter().filter(here).count()
    }

    /// Minutes from taking up a heat to its first pour: what is usual, or setting up and the heat of the
    /// charge over the power that reaches it; setting up falls away where the furnace is hot.
    pub fn melt(&self, heat: usize) -> i64 {
        let build = self.build;
        let seconds = |key: &str| build.handbook.time(key).map_or(0.0, |t| t.si());
        let furnace = build.shop.furnaces.get(&*self.told.heats[heat].furnace);
        let set_up = furnace.and_then(|f| f.set_up.as_ref()).map_or(seconds("set-up"), |t| t.si());
        let moulds = self.told.moulds.iter().filter(|m| m.heat == heat);
        let joules = moulds.map(|m| {
            let alone = self.told.charge.get(&m.part).copied().unwrap_or(0.0);
            let each = self.told.melt_heat.get(&m.part).copied().unwrap_or(0.0) / alone;
            each * self.told.shared(&m.lots()).map_or(alone, |shared| shared.charge)
        });
        let joules: f64 = joules.sum();
        let watts = furnace.and_then(|f| {
            let usual = build.handbook.furnace_efficiency.get(&f.fuel);
            Some(f.power.as_ref()?.si() * f.efficiency.as_ref().or(usual)?.si())
        });
        let by_power = watts.map_or(0.0, |watts| joules / watts);
        let usual = seconds("melt");
        minutes(match self.hot(heat) {
            true => (usual - set_up).max(by_power),
            false => usual.max(set_up + by_power),
        })
    }

    /// Whoever pours on a day clears up after the last of their work, as long as the furnaces that melted ask for.
    pub fn cleared(&mut self) {
        let mut wanted: BTreeMap<(String, i64), i64> = BTreeMap::new();
        for heat in &self.told.heats {
            let furnace = self.build.shop.furnaces.get(&*heat.furnace);
            let usual = self.build.handbook.time("clear-up");
            let time = furnace.and_then(|f| f.clear_up.as_ref()).or(usual);
            let time = time.map_or(0, |t| minutes(t.si()));
            for pour in heat.pours.iter().map(|p| &self.told.jobs[*p]) {
                for block in &pour.blocks {
                    let most = wanted.entry((block.person.clone(), day(block.from))).or_default();
                    *most = time.max(*most);
                }
            }
        }
        wanted.retain(|_, time| *time > 0);
        let blocks: Vec<_> = self.told.jobs.iter().flat_map(|j| j.clear.clone()).collect();
        let mut found: BTreeMap<(String, i64), i64> = BTreeMap::new();
        for b in blocks {
            let jobs = self.told.jobs.iter();
            let work =
                jobs.flat_map(|j| j.blocks.iter().chain(&j.help)).filter(|w| w.person == b.person);
            let last = work.filter(|w| day(w.from) == day(b.from)).map(|w| w.to).max();
            self.must(last == Some(b.from), || {
                format!("clear up: {} does not do it when all else is done", b.person)
            });
            *found.entry((b.person.clone(), day(b.from))).or_default() += b.to - b.from;
        }
        self.must(found == wanted, || format!("clear up: {found:?}, not {wanted:?}"));
    }

    /// A furnace melts one heat at a time, warms up for the first of a session, and takes no more
    /// heats in one than it can; somebody is there to light it.
    pub fn furnaces(&mut self) {
        let heats = self.told.heats.clone();
        for (i, heat) in heats.iter().enumerate() {
            let Some(furnace) = self.build.shop.furnaces.get(&*heat.furnace).cloned() else {
                self.must(false, || format!("furnace: {} has none", heat.name));
                continue;
            };
            let melt = self.melt(i);
            let same = |o: &&Heat| o.furnace == heat.furnace;
            let of_day = || heats.iter().filter(same).filter(|o| day(o.lit) == day(heat.lit));
            let clash =
                heats[..i].iter().filter(same).any(|o| o.lit < heat.over && heat.lit < o.over);
            self.must(!clash, || format!("furnace: {} melts beside another heat", heat.name));
            let first = !self.hot(i);
            let warm = furnace.warm_up.as_ref().filter(|_| first).map_or(0, |w| minutes(w.si()));
            self.must(heat.pour - heat.lit >= warm + melt, || {
                format!(
                    "warm-up: {} is poured {} min after it is lit",
                    heat.name,
                    heat.pour - heat.lit
                )
            });
            let date = self.build.today + chrono::TimeDelta::minutes(heat.lit - self.told.today);
            let weekday = chrono::Datelike::weekday(&date).num_days_from_monday() as usize;
            let may = self.build.shop.pours.is_none_or(|days| days[weekday]);
            self.must(may, || format!("pour day: {}", heat.name));
            let many = of_day().count() + self.melted(&heat.furnace, heat.lit);
            self.must(many <= furnace.heats_per_session as usize, || {
                format!("heats in a session: {many} with {}", heat.furnace)
            });
            let people: Vec<String> =
                self.build.shop.people.keys().map(ToString::to_string).collect();
            let there = people.iter().filter_map(|p| self.hours(p, day(heat.lit)));
            let there = there.into_iter().any(|(from, to)| from <= heat.lit && heat.lit < to);
            self.must(there, || format!("furnace: nobody is there to light {}", heat.name));
            let pours: Vec<&Job> = heat.pours.iter().map(|n| &self.told.jobs[*n]).collect();
            let agree = pours.first().is_some_and(|p| p.start == heat.pour - melt)
                && pours.last().is_some_and(|p| p.end == heat.over);
            self.must(agree, || format!("heat: {} is poured at another time than told", heat.name));
        }
    }

    /// One alloy to a heat; a crucible of its family that holds it; two only where the shop may.
    pub fn crucibles(&mut self) {
        let heats = self.told.heats.clone();
        for (i, heat) in heats.iter().enumerate() {
            let inside: Vec<_> =
                self.told.moulds.iter().filter(|m| m.heat == i).map(Mould::lots).collect();
            let lots = inside.iter().flatten();
            let castings: Vec<_> =
                lots.filter_map(|(p, _)| self.build.parts[*p].casting.clone()).collect();
            let one = castings.iter().all(|c| *c.alloy.id == *heat.alloy);
            self.must(one && !castings.is_empty(), || format!("one alloy: {} mixes", heat.name));
            let mut holds = 0.0;
            for name in &heat.crucibles {
                let Some(pot) = self.build.shop.crucibles.get(&**name).cloned() else {
                    self.must(false, || format!("crucible: {name} is not in the shop"));
                    continue;
                };
                for c in &castings {
                    self.must(pot.family.is_none_or(|f| f == c.alloy.family), || {
                        format!("family: {} is melted in {name}", c.alloy.id)
                    });
                    let asked = c.given.crucible.as_ref().is_none_or(|a| *a.value == **name);
                    self.must(asked, || format!("crucible: a part of {} wants another", heat.name));
                }
                let density = castings
                    .first()
                    .and_then(|c| c.alloy.liquid_density.as_ref())
                    .map_or(0.0, least);
                holds += least(&pot.holds) * least(&pot.working_fill) * density;
                let clash = heats[..i]
                    .iter()
                    .any(|o| o.crucibles.contains(name) && o.lit < heat.over && heat.lit < o.over);
                self.must(!clash, || format!("crucible: {name} is in two heats at once"));
            }
            let of = |lots: &Vec<(usize, u32)>| match self.told.shared(lots) {
                Some(shared) => shared.charge,
                None => self.told.charge.get(&lots[0].0).copied().unwrap_or(0.0),
            };
            let charge: f64 = inside.iter().map(of).sum();
            let heel = self.heels(heat, &heats[..i], &heats[i + 1..]);
            self.must((heat.charge - charge - heel.1).abs() < 1e-6, || {
                format!("charge: {} charges {:.3} kg", heat.name, heat.charge)
            });
            let charge = charge + heel.0;
            self.must(charge <= holds + 1e-6, || {
                format!("working fill: {} charges {charge:.3} kg, {holds:.3} fit", heat.name)
            });
            if let [lit] = &heat.crucibles[..] {
                self.no_larger_than_needed(i, lit, &castings, charge - heel.0);
            }
            let two = self.build.shop.pours_from_two && heat.moulds.len() == 1;
            let distinct: BTreeSet<&String> = heat.crucibles.iter().collect();
            let many = heat.crucibles.len();
            self.must(distinct.len() == many && (many == 1 || (many == 2 && two)), || {
                format!("crucible: {} takes {many}", heat.name)
            });
        }
    }

    /// What is left in the pots of a heat, and what of it must be charged, kg: a heel stays in the
    /// pot for the next heat in it, if that is of the same alloy and furnace, is lit half an hour
    /// later at the most, and no other heat was in the furnace between.
    fn heels(&mut self, heat: &Heat, before: &[Heat], after: &[Heat]) -> (f64, f64) {
        let shop = &self.build.shop;
        let kept = |name: &str| shop.crucibles.get(name)?.heel.as_ref().map(|h| h.si());
        let heats = [before, std::slice::from_ref(heat), after].concat();
        let stays = |a: &Heat, b: &Heat| {
            let between = |o: &Heat| o.furnace == a.furnace && a.lit < o.lit && o.lit < b.lit;
            a.alloy == b.alloy
                && a.furnace == b.furnace
                && b.lit - a.over <= 30
                && !heats.iter().any(between)
        };
        let mut expected = Vec::new();
        let (mut all, mut fresh) = (0.0, 0.0);
        for pot in &heat.crucibles {
            let Some(left) = kept(pot) else { continue };
            let of_pot = |h: &&Heat| h.crucibles.contains(pot);
            let last = before.iter().rev().find(of_pot).filter(|b| stays(b, heat));
            let next = after.iter().find(of_pot).filter(|n| stays(heat, n));
            all += left;
            fresh += if last.is_none() { left } else { 0.0 };
            let name = |h: Option<&Heat>| h.map(|h| h.name.clone());
            expected.push((pot.clone(), left, name(last), name(next)));
        }
        self.must(heat.heels == expected, || format!("heel: {} has {:?}", heat.name, heat.heels));
        (all, fresh)
    }

    /// A crucible of a heat is the least that holds the charge, unless those are in another heat.
    /// One that is larger is filled to a quarter at the least: a rule of the planner's own.
    fn no_larger_than_needed(&mut self, i: usize, lit: &str, castings: &[Casting], charge: f64) {
        let density = castings.first().and_then(|c| c.alloy.liquid_density.as_ref());
        let density = density.map_or(0.0, least);
        let heats = self.told.heats.clone();
        let heat = &heats[i];
        let may = |name: &str, pot: &Crucible| {
            castings.iter().all(|c| {
                pot.family.is_none_or(|f| f == c.alloy.family)
                    && c.given.crucible.as_ref().is_none_or(|a| *a.value == *name)
            })
        };
        let pots = self.build.shop.crucibles.clone();
        let holds = |pot: &Crucible| {
            let heel = pot.heel.as_ref().map_or(0.0, |heel| heel.high());
            least(&pot.holds) * least(&pot.working_fill) * density - heel
        };
        let Some(mine) = pots.get(lit).map(holds) else { return };
        let smaller = |n: &str, p: &Crucible| {
            may(n, p)
                && holds(p) >= charge
                && holds(p) < mine - 1e-9
                && self.may_lift(p, self.in_pot(i, p))
        };
        let smaller: Vec<_> = pots.iter().filter(|(n, p)| smaller(n, p)).collect();
        for (name, _) in smaller {
            let beside = |o: &&Heat| o.name != heat.name && o.lit < heat.over && heat.lit < o.over;
            let taken =
                heats.iter().filter(beside).any(|o| o.crucibles.contains(&name.to_string()));
            self.must(taken, || format!("larger: {} takes {lit}, {name} is free", heat.name));
            self.must(charge >= mine / 4.0 - 1e-9, || {
                format!(
                    "larger: {} fills {lit} to {:.2} of its working fill",
                    heat.name,
                    charge / mine
                )
            });
        }
    }

    /// Flasks and sand are taken from ramming to shake-out, never more than there are.
    pub fn flasks_and_sand(&mut self) {
        struct Taken {
            flask: Option<String>,
            sand: f64,
            from: i64,
            to: i64,
            new: bool,
        }
        let heap = self.build.shop.sand.as_ref();
        let from_heap = |part: usize| {
            let pattern = self.build.parts[part].casting.as_ref().map(|c| c.pattern);
            let sand = pattern.and_then(|p| self.build.patterns[p].sand.as_ref());
            heap.zip(sand).is_some_and(|(h, s)| *h.kind.value == *s.id)
        };
        let sand_of = |lots: &[(usize, u32)]| {
            let alone = || self.told.sand.get(&lots[0].0).copied().unwrap_or(0.0);
            let rammed = self.told.shared(lots).map_or_else(alone, |s| s.sand);
            if from_heap(lots[0].0) { rammed } else { 0.0 }
        };
        let flask_of = |lots: &[(usize, u32)]| match self.told.shared(lots) {
            Some(shared) => shared.flask.clone(),
            None => self.told.flask.get(&lots[0].0).cloned(),
        };
        let mut all: Vec<Taken> = Vec::new();
        for m in &self.told.moulds {
            let new = m.standing.is_none();
            let from = if new { m.rammed } else { i64::MIN };
            let lots = m.lots();
            let (flask, sand) = (flask_of(&lots), sand_of(&lots));
            all.push(Taken { flask, sand, from, to: m.shaken_out, new });
        }
        for (job, name) in &self.told.cooling {
            let job = &self.told.jobs[*job];
            let Some(attempt) = self.build.history.attempts.get(&**name) else { continue };
            let flask = flask_of(&attempt.castings);
            let (sand, from, to) = (sand_of(&attempt.castings), i64::MIN, job.end);
            all.push(Taken { flask, sand, from, to, new: false });
        }
        let on_hand = heap.and_then(|h| h.on_hand.as_ref()).map(|h| h.si());
        let mut faults = Vec::new();
        for t in all.iter().filter(|t| t.new) {
            let now = || all.iter().filter(|o| o.from <= t.from && t.from < o.to);
            let sand: f64 = now().map(|o| o.sand).sum();
            if on_hand.is_some_and(|most| sand > most + 1e-6) {
                faults.push(format!("sand: {sand:.1} kg at once"));
            }
            let Some(name) = &t.flask else { continue };
            let many = now().filter(|o| o.flask == t.flask).count();
            let have = self.build.shop.flasks.get(&**name).map_or(0, |f| f.count as usize);
            if many > have {
                faults.push(format!("flasks: {many} of {name} at once, there are {have}"));
            }
        }
        for m in &self.told.moulds {
            if m.flask != flask_of(&m.lots()) {
                faults.push(format!("flask: {} is told in another", self.build.parts[m.part].id()));
            }
        }
        self.faults.extend(faults);
    }

    /// A job stays on its machine from its first block to its last, with no more jobs there at a
    /// time than there are such machines; a part of the build is finished before work is done on it.
    pub fn machines(&mut self) {
        let mut on: BTreeMap<String, Vec<Job>> = BTreeMap::new();
        for job in self.told.jobs.clone() {
            let part = self.build.part(&job.on).map(|p| &self.build.parts[p].given);
            let wanted = part.and_then(|p| p.steps.iter().find(|(s, _)| s.word() == job.step));
            let wanted = wanted.and_then(|(_, given)| match given {
                StepGiven::Done { on: Some(on), .. } => Some(on.value.to_string()),
                _ => None,
            });
            self.must(job.machine == wanted, || {
                format!("machine: {} {} is done on {:?}", job.on, job.step, job.machine)
            });
            if let Some(machine) = wanted {
                on.entry(machine).or_default().push(job);
            }
        }
        for (machine, jobs) in on {
            let part = self.build.part(&machine);
            let of_shop = self.build.shop.machines.get(&*machine).copied();
            let quantity = part.map_or(0, |p| self.build.parts[p].given.quantity);
            let have = of_shop.unwrap_or(quantity) as usize;
            for job in &jobs {
                let now = jobs.iter().filter(|o| o.start <= job.start && job.start < o.end);
                let many = now.count();
                self.must(many <= have, || format!("machines: {many} jobs at once on {machine}"));
                let work = self.told.jobs.clone();
                let before = work.iter().filter(|j| of_shop.is_none() && j.on == machine);
                before.for_each(|b| self.after(b, job));
            }
        }
    }

    /// Patterns in one flask are of one alloy and sand, and lie with sand between them and to the
    /// wall, as much as the handbook's table asks of the largest of them at the least.
    pub fn side_by_side(&mut self) {
        let mut faults = Vec::new();
        for (parts, shared) in &self.told.together {
            let names: Vec<&str> = parts.iter().map(|p| &**self.build.parts[*p].id()).collect();
            let mut must = |holds: bool, says: &str| {
                if !holds {
                    faults.push(format!("side by side: {}: {says}", names.join("+")));
                }
            };
            let castings = parts.iter().map(|p| self.build.parts[*p].casting.as_ref());
            let castings: Vec<_> = castings.map(|c| c.expect("a casting")).collect();
            let given = |c: &pourwright::model::Casting| {
                self.build.patterns.iter().find(|p| *p.id == *c.given.pattern.value).expect("it")
            };
            must(castings.iter().all(|c| c.alloy.id == castings[0].alloy.id), "two alloys");
            let sand =
                |c: &pourwright::model::Casting| given(c).sand.as_ref().map(|s| s.id.clone());
            must(castings.iter().all(|c| sand(c) == sand(castings[0])), "two sands");
            let Some(flask) = shared.flask.as_ref().and_then(|f| self.build.shop.flasks.get(&**f))
            else {
                must(shared.places.is_empty(), "places in no flask");
                continue;
            };
            must(shared.places.len() == parts.len(), "not every pattern has a place");
            let size = |p: usize| {
                let casting = self.build.parts[p].casting.as_ref().expect("a casting");
                let given = &given(casting).given;
                [&given.length, &given.width, &given.depth, &given.in_cope]
                    .map(|f| f.as_ref().map_or(0.0, |f| f.si()))
            };
            let largest = parts.iter().flat_map(|p| size(*p)[..2].to_vec()).fold(0.0, f64::max);
            let cover = self.build.handbook.cover.iter().find(|c| largest <= c.up_to.si());
            let cover = cover.expect("a cover for this size");
            // A tenth of a millimetre is nothing to a wooden box.
            let [side, above, below] =
                [&cover.side, &cover.above, &cover.below].map(|f| f.node().range().low - 1e-4);
            for (at, (part, [x, y, length, width])) in shared.places.iter().enumerate() {
                let [l, w, depth, in_cope] = size(*part);
                let turned = |a: f64, b: f64| (a - length).abs() < 1e-6 && (b - width).abs() < 1e-6;
                must(turned(l, w) || turned(w, l), "a pattern has another size");
                let clear = [*x, *y, flask.length.si() - x - length, flask.width.si() - y - width];
                must(clear.iter().all(|c| *c >= side), "too little sand at the wall");
                let deep = flask.cope.si() >= in_cope + above
                    && flask.drag.si() >= depth - in_cope + below;
                must(deep, "too little sand above or below");
                for (_, [ox, oy, ol, ow]) in &shared.places[..at] {
                    let apart = [x - ox - ol, ox - x - length, y - oy - ow, oy - y - width];
                    must(apart.iter().any(|a| *a >= side), "too little sand between");
                }
            }
        }
        self.faults.extend(faults);
    }
}
