//! What if: changes to a build that are tried and never written.

use crate::estimate::{Estimates, company};
use crate::figure::{Because, Figure, Kind, Range, Volume, show};
use crate::journal::Disposition;
use crate::manifest::{Id, Person};
use crate::model::Build;
use crate::plan::work::heap;
use crate::yaml::Refused;
use chrono::NaiveDate;
use indexmap::IndexMap;

/// So many pairs of patterns are worth a thought: each takes a search.
const PAIRS: usize = 4;

/// A change to suppose.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Supposition {
    /// A part is cast in another alloy.
    Alloy {
        /// The part.
        part: String,
        /// The alloy.
        alloy: String,
    },
    /// So many more of a flask.
    Flask {
        /// Its id.
        flask: String,
        /// How many more.
        more: u32,
    },
    /// Two patterns share a flask.
    Beside {
        /// Their ids; the first leads.
        patterns: [String; 2],
    },
    /// One more of a machine.
    Machine {
        /// Its id.
        machine: String,
    },
    /// A crucible holds this much more, by its share.
    Crucible {
        /// Its id.
        crucible: String,
        /// Such as 0.5 for half as much again.
        more: f64,
    },
    /// So much more sand in the heap, kg.
    Sand {
        /// How much.
        more: f64,
    },
    /// A casting that was good turns out scrap.
    Lost {
        /// The part.
        part: String,
    },
    /// Nobody works on these days.
    Away {
        /// First.
        first: NaiveDate,
        /// Last.
        last: NaiveDate,
    },
    /// One more person with the hours of the first.
    Person,
    /// So many more hours on a day of the week, for the first person.
    Hours {
        /// Day of the week, Monday 0.
        weekday: usize,
        /// Seconds.
        more: f64,
    },
}

impl Supposition {
    /// In words, parts by their names.
    pub fn in_words(&self, build: &Build) -> String {
        let name = |part: &str| match build.part(part) {
            Some(i) => build.parts[i].given.name.to_string(),
            None => part.to_owned(),
        };
        const DAYS: [&str; 7] =
            ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
        match self {
            Self::Alloy { part, alloy } => format!("{} in {alloy}", name(part)),
            Self::Flask { flask, more } => format!("{more} more {flask}"),
            Self::Beside { patterns: [lead, other] } => {
                format!("{lead} and {other} in one flask")
            }
            Self::Machine { machine } => format!("1 more {machine}"),
            Self::Crucible { crucible, more } => {
                let word = if *more < 0.0 { "smaller" } else { "larger" };
                format!("{crucible} {:.0} % {word}", more.abs() * 100.0)
            }
            Self::Sand { more } => {
                format!("{} more sand", show(Kind::Mass, *more, build.header.units))
            }
            Self::Lost { part } => format!("{} scrapped", name(part)),
            Self::Away { first, last } if first == last => format!("away on {first}"),
            Self::Away { first, last } => format!("away {first} to {last}"),
            Self::Person => "a second person with the same hours".into(),
            Self::Hours { weekday, more } => {
                format!("{:.1} h more on {}", more / 3600.0, DAYS[*weekday % 7])
            }
        }
    }

    /// Makes the change.
    ///
    /// # Errors
    /// Where a name is unknown or there is nothing to change, with what to say instead.
    pub fn apply(&self, build: &mut Build) -> Result<(), Refused> {
        match self {
            Self::Alloy { part, alloy } => {
                let found = named("alloy", alloy, &mut build.handbook.alloys)?.clone();
                let index = find(build, part)?;
                match &mut build.parts[index].casting {
                    Some(casting) => {
                        casting.given.alloy.value = found.id.clone();
                        casting.alloy = found;
                        Ok(())
                    }
                    None => Err(format!("`{part}` is not cast").into()),
                }
            }
            Self::Flask { flask, more } => {
                named("flask", flask, &mut build.shop.flasks)?.count += more;
                Ok(())
            }
            Self::Beside { patterns } => {
                let find = |id: &String| match build.patterns.iter().position(|p| *p.id == **id) {
                    Some(found) => Ok(found),
                    None => {
                        let known: Vec<&str> = build.patterns.iter().map(|p| &*p.id).collect();
                        let says = format!("no pattern is called `{id}`");
                        let all = choose(&known);
                        Err(Refused::unknown(says, id, known, all))
                    }
                };
                let (lead, other) = (find(&patterns[0])?, find(&patterns[1])?);
                build.put_beside(lead, other)
            }
            Self::Machine { machine } => {
                *named("machine", machine, &mut build.shop.machines)? += 1;
                // Those of the shop are among all that work is done on.
                *named("machine", machine, &mut build.machines)? += 1;
                Ok(())
            }
            Self::Crucible { crucible, more } => {
                let found = named("crucible", crucible, &mut build.shop.crucibles)?;
                found.holds = larger(&found.holds, 1.0 + more);
                Ok(())
            }
            Self::Sand { more } => match heap(build) {
                Some(kg) => {
                    build.history.stock.insert("sand".into(), kg + more);
                    Ok(())
                }
                None => {
                    Err("the heap of sand is no limit: `on-hand` under `sand` is not given, or \
                             the heap is empty and is bought as large as the plan asks"
                        .into())
                }
            },
            Self::Lost { part } => {
                let index = find(build, part)?;
                let attempts = build.history.attempts.values_mut().rev();
                let mut findings = attempts.flat_map(|a| a.findings.iter_mut().rev());
                let good = findings.find(|f| {
                    f.part == index
                        && matches!(f.disposition, Disposition::Accept | Disposition::Concession)
                });
                match good {
                    Some(finding) => {
                        finding.disposition = Disposition::Scrap;
                        // What was done on it after it was cast is lost with it.
                        build.history.done.remove(&index);
                        Ok(())
                    }
                    None => Err(format!(
                        "no good casting of `{part}` is in the journal; nothing can be scrapped"
                    )
                    .into()),
                }
            }
            Self::Away { first, last } => {
                build.shop.away.push((*first, *last));
                Ok(())
            }
            Self::Person => {
                let Some(first) = build.shop.people.values().next().cloned() else {
                    return Err("nobody works in the shop".into());
                };
                let mut name = String::from("second");
                while build.shop.people.contains_key(&*name) {
                    name.push('-');
                }
                build.shop.people.insert(name.into(), first);
                Ok(())
            }
            Self::Hours { weekday, more } => match build.shop.people.values_mut().next() {
                Some(Person { hours, .. }) => {
                    hours[*weekday] = (hours[*weekday] + more).clamp(0.0, 86_400.0);
                    Ok(())
                }
                None => Err("nobody works in the shop".into()),
            },
        }
    }

    /// Changes worth a thought: one more of each flask, and of each machine that several people may
    /// want at once, each crucible half as large again, half as much sand again, patterns that could share a flask, one more
    /// person, two more hours a week.
    pub fn worth_a_thought(build: &Build, estimates: &Estimates) -> Vec<Self> {
        let used: std::collections::BTreeSet<_> =
            build.parts.iter().filter_map(|p| Some(p.casting.as_ref()?.alloy.family)).collect();
        let flasks = build.shop.flasks.keys();
        let mut out: Vec<Self> =
            flasks.map(|f| Self::Flask { flask: f.to_string(), more: 1 }).collect();
        if build.shop.people.len() > 1 {
            let machines = build.shop.machines.keys();
            out.extend(machines.map(|m| Self::Machine { machine: m.to_string() }));
        }
        out.extend(
            build
                .shop
                .crucibles
                .iter()
                .filter(|(_, c)| c.family.is_none_or(|f| used.contains(&f)))
                .map(|(c, _)| Self::Crucible { crucible: c.to_string(), more: 0.5 }),
        );
        // Half as much again.
        out.extend(heap(build).map(|kg| Self::Sand { more: 0.5 * kg }));
        let pairs = company(build, estimates).into_iter().take(PAIRS);
        out.extend(
            pairs.map(|pair| Self::Beside {
                patterns: pair.map(|p| build.patterns[p].id.to_string()),
            }),
        );
        let busiest = build
            .shop
            .people
            .values()
            .next()
            .and_then(|p| (0..7).max_by(|a, b| p.hours[*a].total_cmp(&p.hours[*b])));
        out.extend(busiest.map(|weekday| Self::Hours { weekday, more: 7200.0 }));
        out.push(Self::Person);
        out
    }
}

fn named<'m, T>(
    what: &str,
    name: &str,
    among: &'m mut IndexMap<Id, T>,
) -> Result<&'m mut T, Refused> {
    if !among.contains_key(name) {
        let known: Vec<&str> = among.keys().map(|k| &**k).collect();
        let says = format!("no {what} is called `{name}`");
        let all = choose(&known);
        return Err(Refused::unknown(says, name, known, all));
    }
    Ok(&mut among[name])
}

fn choose(known: &[&str]) -> String {
    match known {
        [] => "the build lists none".into(),
        known => format!("choose from: {}", known.join(", ")),
    }
}

fn find(build: &Build, part: &str) -> Result<usize, Refused> {
    build.part(part).ok_or_else(|| {
        let known = build.parts.iter().map(|p| &**p.id());
        let says = format!("no part is called `{part}`");
        Refused::unknown(says, part, known, "`pourwright parts` lists them")
    })
}

fn larger(holds: &Figure<Volume>, factor: f64) -> Figure<Volume> {
    let range: Range = holds.node().range().map(|v| v * factor);
    let inputs = vec![holds.node().clone()];
    Figure::new("crucible to the brim", range, Because::Closed("supposed larger", inputs))
}
