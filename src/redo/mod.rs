//! Redo or live with it: another attempt beside the concession, and what likely went wrong.

mod evidence;

pub use evidence::Sign;

use crate::estimate::{CastingEstimate, Estimates, step_time};
use crate::figure::*;
use crate::journal::{Blemish, Disposition};
use crate::learn::scrap_chance;
use crate::manifest::{Id, Step};
use crate::model::{Attempt, Build, Finding, Part};
use chrono::NaiveDateTime;
use evidence::Case;
use std::sync::Arc;

/// What another attempt costs.
#[derive(Debug, Clone)]
pub struct Another {
    /// Into the crucible for one mould.
    pub charge: Option<Figure<Mass>>,
    /// Comes back to be melted again: gates and feeders, and the casting that is given up.
    pub returns: Option<Figure<Mass>>,
    /// Metal that is gone for good: what melting takes.
    pub metal: Option<Figure<Mass>>,
    /// Sand that is lost.
    pub sand: Option<Figure<Mass>>,
    /// Fuel to melt.
    pub fuel: Option<Figure<Mass>>,
    /// At the bench, from ramming to inspection, for one mould.
    pub hours: Option<Figure<Time>>,
    /// That this one is lost too.
    pub chance: Figure<Ratio>,
    /// Days that the machine is finished later; [`Redo::later`] tells it of two schedules.
    pub later: Option<Figure<Time>>,
}

/// A cause that a defect may have, with what the record says of it.
#[derive(Debug, Clone)]
pub struct Suspect {
    /// Id of the cause.
    pub id: Arc<str>,
    /// What happened in the mould.
    pub says: Arc<str>,
    /// What to do next time.
    pub remedy: Arc<str>,
    /// Groups of defects that it explains.
    pub explains: Vec<String>,
    /// Where cause and remedy are from.
    pub source: Arc<str>,
    /// What speaks for it and against it.
    pub signs: Vec<Sign>,
}

impl Suspect {
    /// All signs together, and one for every defect beyond the first that it explains.
    pub fn weight(&self) -> i32 {
        let signs: i32 = self.signs.iter().map(|s| s.weight).sum();
        signs + self.explains.len() as i32 - 1
    }
}

/// A blemish with what may be done about it.
#[derive(Debug, Clone)]
pub struct Seen {
    /// As logged.
    pub blemish: Blemish,
    /// Title of its group.
    pub title: Arc<str>,
    /// What to think of before a casting with it is kept.
    pub keep: Arc<str>,
}

/// What to do otherwise next time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What to do.
    pub says: String,
    /// Why.
    pub because: String,
    /// Where the advice is from.
    pub source: String,
}

/// The two sides, and the causes.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Redo {
    /// Index of the part.
    pub part: usize,
    /// The mould that the casting came from.
    pub mould: Id,
    /// What was found.
    pub finding: Finding,
    /// One side.
    pub another: Another,
    /// The other: the blemishes, and what can be done about each.
    pub seen: Vec<Seen>,
    /// Probable causes, those that the record makes likely first.
    pub suspects: Vec<Suspect>,
    /// What to do otherwise next time.
    pub changes: Vec<Change>,
    /// A later attempt that was good, and what was otherwise in it.
    pub since: Option<(Id, Vec<String>)>,
}

impl Redo {
    /// The build in which the other decision was taken, to be scheduled beside it: a casting that
    /// is kept or put right turns out scrap, one that was scrapped turns out good. None where it
    /// was cast again since: nothing is left to decide.
    pub fn otherwise(&self, build: &Build) -> Option<Build> {
        if self.since.is_some() {
            return None;
        }
        let mut other = build.clone();
        let attempt = other.history.attempts.get_mut(&self.mould)?;
        let of = |f: &&mut Finding| f.part == self.part && f.at == self.finding.at;
        attempt.findings.iter_mut().find(of)?.disposition = if self.lived_with() {
            // What was done on it after it was cast is lost with it.
            other.history.done.remove(&self.part);
            Disposition::Scrap
        } else {
            Disposition::Accept
        };
        Some(other)
    }

    fn lived_with(&self) -> bool {
        self.finding.disposition != Disposition::Scrap
    }

    /// Takes the days between the finish as it is planned and the finish of [`Redo::otherwise`].
    pub fn later(&mut self, planned: Option<NaiveDateTime>, otherwise: Option<NaiveDateTime>) {
        const SAYS: &str = "finish with another attempt in the plan - finish without it";
        let Some((planned, otherwise)) = planned.zip(otherwise) else { return };
        let (with, without) =
            if self.lived_with() { (otherwise, planned) } else { (planned, otherwise) };
        // A plan with the attempt is a plan without it too: no attempt makes it earlier.
        let days = (with.date() - without.date()).num_days().max(0) as f64;
        self.another.later = Some(Figure::counted("later finish", days * 86_400.0, SAYS));
    }
}

/// Findings of a part that were not simply accepted, the last one first.
pub fn troubles(build: &Build, part: usize) -> Vec<(&Attempt, &Finding)> {
    let mut out: Vec<_> = build
        .history
        .attempts_of(part)
        .flat_map(|a| a.findings.iter().map(move |f| (a, f)))
        .filter(|(_, f)| f.part == part && f.disposition != Disposition::Accept)
        .collect();
    out.sort_by_key(|(_, f)| std::cmp::Reverse(f.at));
    out
}

/// The decision about the last casting of a part that was not simply accepted; none where there
/// is none, or where the part is not cast.
pub fn redo(build: &Build, estimates: &Estimates, part: usize) -> Option<Redo> {
    let (attempt, finding) = *troubles(build, part).first()?;
    let casting = build.parts[part].casting.as_ref()?;
    let estimate = estimates.castings[part].as_ref()?;
    let case = case(build, estimate, attempt, finding)?;
    let suspects = suspects(&case);
    let chance = scrap_chance(build, casting.given.difficulty);
    let seen = finding.blemishes.iter().filter_map(|b| {
        let group = build.handbook.defects.get(&*b.group())?;
        Some(Seen { blemish: b.clone(), title: group.title.clone(), keep: group.keep.clone() })
    });
    Some(Redo {
        part,
        mould: attempt.mould.clone(),
        finding: finding.clone(),
        another: another(build, &build.parts[part], estimate, finding, chance),
        seen: seen.collect(),
        changes: changes(&case, &suspects),
        suspects,
        since: since(build, part, attempt, finding),
    })
}

/// What to do otherwise when this part is cast again, for its next mould card: drawn from its last
/// casting that was scrapped, conceded or put right. Empty where all went well.
pub fn changes_for(build: &Build, estimates: &Estimates, part: usize) -> Vec<Change> {
    let found = || {
        let (attempt, finding) = *troubles(build, part).first()?;
        let case = case(build, estimates.castings[part].as_ref()?, attempt, finding)?;
        Some(changes(&case, &suspects(&case)))
    };
    found().unwrap_or_default()
}

/// Causes of what was found on a casting, those that the record makes likely first; none where its
/// part is not cast, or has no estimate.
pub fn causes_of(
    build: &Build,
    estimates: &Estimates,
    attempt: &Attempt,
    finding: &Finding,
) -> Vec<Suspect> {
    let estimate = estimates.castings[finding.part].as_ref();
    let case = estimate.and_then(|estimate| case(build, estimate, attempt, finding));
    case.map_or(Vec::new(), |case| suspects(&case))
}

fn case<'a>(
    build: &'a Build,
    estimate: &'a CastingEstimate,
    attempt: &'a Attempt,
    finding: &'a Finding,
) -> Option<Case<'a>> {
    let casting = build.parts[finding.part].casting.as_ref()?;
    let heat = attempt.poured.as_ref().and_then(|(heat, _)| build.history.heats.get(heat));
    let wall = casting.given.wall.as_ref();
    Some(Case { build, attempt, finding, heat, alloy: &casting.alloy, estimate, wall })
}

fn another(
    build: &Build,
    part: &Part,
    estimate: &CastingEstimate,
    finding: &Finding,
    chance: Figure<Ratio>,
) -> Another {
    let mould = &estimate.mould;
    let charge = mould.charge.clone();
    let gates = || {
        let rough = times(estimate.size.rough_mass.as_ref()?, mould.cavities);
        Some(less("gates and feeders", mould.poured.as_ref()?, &rough))
    };
    let given_up =
        finding.mass.as_ref().map(|m| times(m, finding.pieces).named("casting given up"));
    let returns: Vec<Figure<Mass>> = gates().into_iter().chain(given_up).collect();
    let loss = part.casting.as_ref().and_then(|c| c.alloy.melt_loss.clone());
    let steps = [Step::Core, Step::Ram, Step::Pour, Step::ShakeOut, Step::Fettle, Step::Inspect];
    let steps = steps.into_iter().filter(|s| part.steps().contains(s));
    let hours: Vec<Figure<Time>> = steps
        .filter_map(|step| {
            let all = step_time(build, part, Some(estimate), step).hands_on?;
            let n = f64::from(estimate.moulds.max(1));
            let range = all.node().range().map(|t| t / n);
            let because = Because::Closed("all pieces / moulds", vec![all.node().clone()]);
            Some(Figure::new(step.word(), range, because))
        })
        .collect();
    let sand = part.casting.as_ref().and_then(|c| build.patterns[c.pattern].sand.clone());
    Another {
        metal: charge.as_ref().zip(loss).map(|(c, loss)| share("metal gone for good", c, &loss)),
        returns: Figure::sum("comes back", &returns),
        sand: mould
            .sand
            .as_ref()
            .zip(sand.and_then(|s| s.loss.clone()))
            .map(|(sand, loss)| share("sand lost", sand, &loss)),
        fuel: mould.fuel.clone(),
        hours: Figure::sum("bench time for one mould", &hours),
        charge,
        chance,
        later: None,
    }
}

fn times(mass: &Figure<Mass>, count: u32) -> Figure<Mass> {
    let n = f64::from(count);
    let because = Because::Closed("each x how many", vec![mass.node().clone()]);
    Figure::new(mass.node().name().to_owned(), mass.node().range().map(|m| m * n), because)
}

/// Metal poured less castings: both err the same way.
fn less(name: &'static str, from: &Figure<Mass>, taken: &Figure<Mass>) -> Figure<Mass> {
    let (f, t) = (from.node().range(), taken.node().range());
    let ends = [f.low - t.low, f.high - t.high];
    let range = Range {
        low: ends[0].min(ends[1]).max(0.0),
        likely: (f.likely - t.likely).max(0.0),
        high: ends[0].max(ends[1]).max(0.0),
    };
    let nodes = vec![from.node().clone(), taken.node().clone()];
    Figure::new(name, range, Because::Closed("metal poured - castings", nodes))
}

fn share(name: &'static str, of: &Figure<Mass>, ratio: &Figure<Ratio>) -> Figure<Mass> {
    let (m, r) = (of.node().range(), ratio.node().range());
    let range = Range { low: m.low * r.low, likely: m.likely * r.likely, high: m.high * r.high };
    let nodes = vec![of.node().clone(), ratio.node().clone()];
    Figure::new(name, range, Because::Closed("mass x share", nodes))
}

/// Every cause of the blemishes, each once, those that the record makes likely first.
fn suspects(case: &Case<'_>) -> Vec<Suspect> {
    let mut out: Vec<Suspect> = Vec::new();
    for blemish in &case.finding.blemishes {
        let group = blemish.group();
        let Some(defect) = case.build.handbook.defects.get(&*group) else { continue };
        for cause in &defect.causes {
            match out.iter_mut().find(|s| s.id == cause.id) {
                Some(known) if known.explains.contains(&group) => {}
                Some(known) => known.explains.push(group.clone()),
                None => out.push(Suspect {
                    id: cause.id.clone(),
                    says: cause.says.clone(),
                    remedy: cause.remedy.clone(),
                    explains: vec![group.clone()],
                    source: defect.source.clone(),
                    signs: case.signs(&cause.id),
                }),
            }
        }
    }
    out.sort_by_key(|s| std::cmp::Reverse(s.weight()));
    out
}

/// At most this many changes at once: who changes all learns nothing.
const MOST: usize = 3;

fn changes(case: &Case<'_>, suspects: &[Suspect]) -> Vec<Change> {
    let likely = suspects.iter().filter(|s| s.weight() > 1).take(MOST);
    let change = |s: &Suspect| Change {
        says: concrete(case, &s.id).unwrap_or_else(|| s.remedy.to_string()),
        because: s
            .signs
            .iter()
            .filter(|s| s.weight > 0)
            .map(|s| s.says.clone())
            .collect::<Vec<_>>()
            .join("; "),
        source: s.source.to_string(),
    };
    let mut out: Vec<Change> = likely.map(change).collect();
    out.extend(case.notes().into_iter().map(|note| Change {
        says: note.to_owned(),
        because: "your own note".into(),
        source: "the journal".into(),
    }));
    out
}

/// A remedy in figures, where the record and the handbook give them.
fn concrete(case: &Case<'_>, cause: &str) -> Option<String> {
    let units = case.build.header.units;
    let shown = |kind, value| show(kind, value, units);
    match cause {
        "cold-metal" | "hot-metal" => {
            let r = case.alloy.pours.as_ref()?.node().range();
            let (from, to) = match cause {
                "cold-metal" => (r.likely, (r.likely + r.high) / 2.0),
                _ => ((r.low + r.likely) / 2.0, r.likely),
            };
            let (from, to) = (shown(Kind::Temperature, from), shown(Kind::Temperature, to));
            let hurry = if cause == "cold-metal" {
                ", and lose no time between lifting and pouring"
            } else {
                ""
            };
            Some(format!("Pour at {from} to {to}{hurry}."))
        }
        "small-feeder" => {
            let feeders = case.estimate.feeding.feeders.as_ref()?;
            let (d, h) = (&feeders.diameter, &feeders.height);
            Some(format!(
                "Feeder at least {} across and {} high over each thick place, with a short neck, and gate through it.",
                shown(Kind::Length, d.si()),
                shown(Kind::Length, h.si())
            ))
        }
        "wet-sand" | "dry-sand" => {
            let stands = case.build.stands(case.attempt.pattern)?;
            Some(format!(
                "Pour within {} of ramming; measure the water in the sand and dry the skin of a mould that had to wait.",
                shown(Kind::Time, stands.safe())
            ))
        }
        "slow-fill" => {
            let gating = case.estimate.gating.as_ref()?;
            let (wanted, gates) = (&gating.sprue.time_wanted, &gating.ways.ingates);
            let more = if gates.si() < 2.0 {
                "two ingates or more".to_owned()
            } else {
                format!("{:.0} ingates", gates.si())
            };
            Some(format!(
                "Fill it in {} or less through {more}, spread along the casting.",
                shown(Kind::Time, wanted.si())
            ))
        }
        _ => None,
    }
}

/// Time that went by, in seconds, in words: from two days on in days.
fn elapsed(seconds: f64, units: System) -> String {
    const DAY: f64 = 24.0 * 3600.0;
    if seconds < 2.0 * DAY {
        return show(Kind::Time, seconds, units);
    }
    format!("{:.1} days", seconds / DAY)
}

/// A later attempt of which nothing was scrapped, and what was otherwise in it.
fn since(
    build: &Build,
    part: usize,
    bad: &Attempt,
    finding: &Finding,
) -> Option<(Id, Vec<String>)> {
    let good = build.history.attempts_of(part).find(|a| {
        let mut own = a.findings.iter().filter(|f| f.part == part).peekable();
        a.rammed > bad.rammed
            && own.peek().is_some()
            && own.all(|f| f.at > finding.at && f.disposition == Disposition::Accept)
    })?;
    let units = build.header.units;
    let heat = |a: &Attempt| Some(&build.history.heats.get(&a.poured.as_ref()?.0)?.poured);
    let mut otherwise = Vec::new();
    let temperature = |a: &Attempt| Some(heat(a)?.temperature.as_ref()?.si());
    if let (Some(then), Some(now)) = (temperature(bad), temperature(good))
        && (then - now).abs() > 5.0
    {
        let shown = |t| show(Kind::Temperature, t, units);
        otherwise.push(format!("poured at {} instead of {}", shown(now), shown(then)));
    }
    let stood = |a: &Attempt| {
        let (_, poured) = a.poured.as_ref()?;
        Some((*poured - a.rammed).num_seconds() as f64)
    };
    if let (Some(then), Some(now)) = (stood(bad), stood(good))
        && (then - now).abs() > 12.0 * 3600.0
    {
        let shown = |t| elapsed(t, units);
        otherwise.push(format!("poured {} after ramming instead of {}", shown(now), shown(then)));
    }
    let weather = |a: &Attempt| heat(a)?.weather.clone();
    if let (Some(then), Some(now)) = (weather(bad), weather(good)) {
        otherwise.push(format!("weather \"{now}\" instead of \"{then}\""));
    }
    Some((good.mould.clone(), otherwise))
}
