//! Sessions, heats and the finish as text.

use super::{BlockView, JobView, MouldView, ScheduleView, clock, day};
use crate::manifest::Step;
use crate::plan::Aim;
use crate::view::FigureView;
use crate::view::csv::{self, Cell};
use crate::view::text::{Look, Side, finished};

impl ScheduleView {
    /// Sessions as text, the next `most`.
    pub fn sessions_text(&self, look: &Look, most: usize) -> String {
        let mut out = String::new();
        for session in self.sessions.iter().take(most) {
            let title = format!(
                "{} {}, {} to {}",
                session.weekday,
                session.day,
                clock(&session.opens),
                clock(&session.closes)
            );
            out += &look.heading(&title);
            let several = session.blocks.iter().any(|b| b.person != session.blocks[0].person);
            let mut columns = vec![("from", Side::Left), ("to", Side::Left), ("work", Side::Left)];
            if several {
                columns.push(("who", Side::Left));
            }
            let mut table = look.table(&columns);
            for block in &session.blocks {
                let job = &self.jobs[block.job];
                let mut row = vec![
                    clock(&block.from).to_owned(),
                    clock(&block.to).to_owned(),
                    self.work(job, block),
                ];
                if several {
                    row.push(block.person.clone());
                }
                table.add_row(row);
            }
            out += &finished(&table);
        }
        out
    }

    /// A block of work in words.
    pub(in crate::view) fn work(&self, job: &JobView, block: &BlockView) -> String {
        let heat = job.heat.as_ref().and_then(|h| self.heats.iter().find(|x| x.heat == *h));
        let with = job.with.iter().map(|l| format!(" + {}", l.part));
        let on = with.fold(job.on.clone(), |on, with| on + &with);
        // A pattern's id mostly ends in that word already.
        let mut says = match job.step {
            "pattern" => format!("make {on}"),
            step => format!("{on} {step}"),
        };
        if let Some(heat) = heat.filter(|_| block.clears_up) {
            return format!("clear up after {}", heat.heat);
        }
        if let Some(heat) = heat {
            let mine = |m: &&MouldView| m.part == job.on && m.others == job.with;
            let mould = heat.moulds.iter().find(mine);
            match job.step {
                "ram" => {
                    if let Some(name) = mould.filter(|m| m.again).and_then(|m| m.mould.as_ref()) {
                        says = format!("knock out {name} and {on} ram again");
                    }
                    if let Some(flask) = mould.and_then(|m| m.flask.as_ref()) {
                        says += &format!(" in {flask}");
                    }
                }
                "pour" => {
                    let first =
                        heat.moulds.first().is_some_and(|m| mine(&m)) && block.from < heat.pour;
                    let metal = mould.and_then(|m| m.poured.as_ref()).map(|f| f.shown.clone());
                    says = format!(
                        "{}: {}pour {}{}",
                        heat.heat,
                        if block.helps {
                            "help to lift and ".to_owned()
                        } else if first {
                            format!(
                                "melt {} {} in {} (lit {}), ",
                                heat.charge.as_ref().map_or("", FigureView::large),
                                heat.alloy,
                                heat.crucibles.join(" and "),
                                clock(&heat.lit)
                            )
                        } else {
                            String::new()
                        },
                        on,
                        metal.map_or(String::new(), |m| format!(", {m}"))
                    );
                }
                _ => {}
            }
        }
        if let Some(machine) = &job.machine {
            says += &format!(" on {machine}");
        }
        if block.from > job.start && !block.helps {
            says += ", continued";
        }
        if block.goes_on {
            says += ", to be continued";
        } else if !block.helps && job.ready > job.end {
            let dries = [Step::Pattern, Step::Core, Step::Ram].map(Step::word);
            let verb = if dries.contains(&job.step) { "dry" } else { "wait" };
            says += &format!(", then {verb} until {} {}", day(&job.ready), clock(&job.ready));
        }
        says
    }

    /// Every session as comma-separated text, a row a piece of work.
    pub fn csv(&self) -> String {
        let headings =
            ["day", "weekday", "from", "to", "person", "on", "step", "heat", "critical", "goes on"];
        let mut rows = Vec::new();
        for session in &self.sessions {
            for block in &session.blocks {
                let job = &self.jobs[block.job];
                let text = |t: &str| Cell::text(Some(t.to_owned()));
                let yes = |is: bool| text(if is { "yes" } else { "no" });
                rows.push(vec![
                    text(&session.day),
                    text(&session.weekday),
                    text(clock(&block.from)),
                    text(clock(&block.to)),
                    text(&block.person),
                    text(&job.on),
                    text(if block.clears_up { "clear up" } else { job.step }),
                    Cell::text(job.heat.clone()),
                    yes(job.critical),
                    yes(block.goes_on),
                ]);
            }
        }
        csv::table(&headings, &rows)
    }

    /// Finish, bound and gap as text.
    pub fn summary_text(&self, look: &Look) -> String {
        let mut out = String::new();
        let mut line = |name: &str, says: String| {
            out += &look.wrapped(&format!("{name:<17}{says}"), 17);
            out.push('\n');
        };
        let finish = self.finish.as_ref().or(self.rest.as_ref());
        if let (Some(finish), Some(bound), Some(gap)) = (finish, &self.bound, self.gap_days) {
            let gap = match gap {
                0 => "no plan can finish on an earlier day".to_owned(),
                1 => format!("none can before {}, a day earlier", day(bound)),
                days => format!("none can before {}, {days} days earlier", day(bound)),
            };
            if self.rest.is_some() {
                line("finish", "none, while something is missing".into());
                line("the rest", format!("{}, if nothing is cast again; {gap}", day(finish)));
            } else {
                line("finish", format!("{}, if nothing is cast again; {gap}", day(finish)));
            }
            for says in &self.supply {
                line("supply", says.clone());
            }
            if let Some(n) = self.chain.last() {
                let bench = self.chain.iter().filter(|n| self.jobs[**n].waited_for == "person");
                let (all, busy) = (self.chain.len(), bench.count());
                let name = format!("{}.{}", self.jobs[*n].on, self.jobs[*n].step);
                let first = self.chain.first().and_then(|n| self.jobs[*n].awaits.as_ref());
                let says = match (first, busy * 2 > all) {
                    (Some(material), _) => format!(
                        "{}, which can be there by {}: the work leading to it waits for that",
                        material.of, material.until
                    ),
                    (None, true) => {
                        "bench hours: most of the work leading to it waited for a free hour".into()
                    }
                    (None, false) => "the order of work: most of the work leading to it waited \
                                      for other work"
                        .into(),
                };
                line("set by", format!("{says}; `plan --why {name}` names them"));
            }
            let heats = self.heats.len();
            let least = match heats == self.least_heats {
                true => "no plan has fewer".to_owned(),
                false => format!("none has fewer than {}", self.least_heats),
            };
            line("heats to come", format!("{heats}; {least}"));
            let aim = match self.aim {
                Aim::Finish => "the earliest day of finish, then the fewest heats",
                Aim::Heats => "the fewest heats, then the earliest day of finish",
            };
            let kept = if self.kept { "; kept from the last plan" } else { "" };
            line("aim", format!("{aim}{kept}"));
        }
        if let Some(all) = self.cut_short {
            let says = format!(
                "cut short by the clock after {} of {all} plans; with more seconds another may be found",
                self.tried
            );
            line("search", says);
        }
        if !self.short_of_people.is_empty() {
            let (first, more) = self.short_of_people.split_at(self.short_of_people.len().min(8));
            let more =
                if more.is_empty() { String::new() } else { format!(" and {} more", more.len()) };
            let says = format!(
                "{}{more}: the full pot takes more people than are there; have a helper for the pour, \
                 and never pour alone",
                first.join(", ")
            );
            line("people", says);
        }
        for says in &self.too_heavy {
            line("too heavy", says.clone());
        }
        if let Some(says) = &self.little_sand {
            line("little sand", says.clone());
        }
        if let Some(says) = &self.brimming {
            line("full pot", says.clone());
        }
        for says in &self.stale {
            line("rammed again", says.clone());
        }
        for says in &self.overlong {
            line("stands long", says.clone());
        }
        for first in &self.firsts {
            line("first heat", first.says.clone());
        }
        for says in &self.moved {
            line("moved", says.clone());
        }
        for says in &self.missing {
            line("missing", says.clone());
        }
        if !self.waiting.is_empty() {
            line("wait for it", self.waiting.join(", "));
        }
        out
    }

    /// Heats to come as text.
    pub fn heats_text(&self, look: &Look) -> String {
        let mut table = look.table(&[
            ("heat", Side::Left),
            ("day", Side::Left),
            ("lit", Side::Left),
            ("alloy", Side::Left),
            ("charge", Side::Right),
            ("crucible", Side::Left),
            ("moulds", Side::Left),
        ]);
        for heat in &self.heats {
            table.add_row(vec![
                heat.heat.clone(),
                day(&heat.lit).to_owned(),
                clock(&heat.lit).to_owned(),
                heat.alloy.clone(),
                heat.charge.as_ref().map_or("", FigureView::large).to_owned(),
                heat.crucibles.join(", "),
                heat.moulds.iter().map(|m| &*m.part).collect::<Vec<_>>().join(", "),
            ]);
        }
        finished(&table)
    }
}
