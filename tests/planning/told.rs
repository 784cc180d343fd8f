//! What the JSON of `plan --all` and `estimate` tells, as plain values.

use chrono::NaiveDateTime;
use pourwright::model::{Build, Part};
use serde_json::Value;
use std::collections::BTreeMap;

/// Minutes of a local stamp, from a fixed moment.
pub fn minute(stamp: &str) -> Option<i64> {
    let at = NaiveDateTime::parse_from_str(stamp, "%Y-%m-%dT%H:%M").ok()?;
    Some(at.and_utc().timestamp() / 60)
}

/// The midnight before a minute.
pub fn day(minute: i64) -> i64 {
    minute - minute.rem_euclid(24 * 60)
}

/// A row of the table of work; seconds.
pub struct Row {
    pub on: String,
    pub step: String,
    pub done: bool,
    pub hands_on: f64,
    pub wait: f64,
}

#[derive(Clone)]
pub struct Block {
    pub person: String,
    pub from: i64,
    pub to: i64,
    pub goes_on: bool,
}

#[derive(Clone)]
pub struct Job {
    pub n: usize,
    pub on: String,
    pub step: String,
    pub start: i64,
    pub end: i64,
    pub ready: i64,
    pub minutes: i64,
    pub slack: i64,
    pub machine: Option<String>,
    pub heat: Option<usize>,
    pub blocks: Vec<Block>,
    /// Of others who help to lift and pour.
    pub help: Vec<Block>,
    /// Clearing up after the heat, of a pour.
    pub clear: Vec<Block>,
}

#[derive(Clone)]
pub struct Heat {
    pub name: String,
    pub alloy: String,
    pub furnace: String,
    pub crucibles: Vec<String>,
    pub lit: i64,
    pub pour: i64,
    pub over: i64,
    /// Metal to be charged, kg.
    pub charge: f64,
    /// Crucible, kg left in it, the heat it comes from and the heat it stays for.
    pub heels: Vec<(String, f64, Option<String>, Option<String>)>,
    /// People that the full pots take; none where no pot's mass is known.
    pub people: Option<usize>,
    /// Crucible, kg to lift at the most, and whether it is told to be too heavy.
    pub lifts: Vec<(String, f64, bool)>,
    /// Parts of its moulds.
    pub moulds: Vec<usize>,
    /// Jobs of pouring, by the clock.
    pub pours: Vec<usize>,
}

#[derive(Clone)]
pub struct Mould {
    pub part: usize,
    /// Castings of other parts in it.
    pub others: Vec<(usize, u32)>,
    pub heat: usize,
    pub standing: Option<String>,
    /// Whether that one is rammed again.
    pub again: bool,
    pub castings: u32,
    pub flask: Option<String>,
    pub rammed: i64,
    pub shaken_out: i64,
    pub ram: Option<usize>,
    pub pour: Option<usize>,
    pub shake: Option<usize>,
}

impl Mould {
    /// Castings of each part in it.
    pub fn lots(&self) -> Vec<(usize, u32)> {
        [&[(self.part, self.castings)], &*self.others].concat()
    }
}

/// A mould of several patterns, as `estimate` tells it.
pub struct Shared {
    pub flask: Option<String>,
    pub crucible: Option<String>,
    pub charge: f64,
    pub charge_most: f64,
    pub sand: f64,
    /// Seconds of ramming, pouring and shaking out.
    pub times: [f64; 3],
    /// Part, and x, y, length and width of its pattern in the flask, m.
    pub places: Vec<(usize, [f64; 4])>,
}

/// All that was told.
pub struct Told {
    pub today: i64,
    pub work: Vec<Row>,
    pub jobs: Vec<Job>,
    pub heats: Vec<Heat>,
    /// In the order of heats and of pouring.
    pub moulds: Vec<Mould>,
    /// Jobs that shake out moulds poured before today, with the mould's name.
    pub cooling: Vec<(usize, String)>,
    pub chain: Vec<usize>,
    pub missing: Vec<String>,
    /// First heats: name and what they are the first of; without a name where they cost too much.
    pub firsts: Vec<(Option<String>, Vec<String>)>,
    /// Alloy and sand of each part that is cast.
    pub kinds: Vec<Vec<String>>,
    /// Heat that the charge of one mould takes up, J, by part.
    pub melt_heat: BTreeMap<usize, f64>,
    /// By part, of one mould: kg.
    pub charge: BTreeMap<usize, f64>,
    /// The same at the most.
    pub charge_most: BTreeMap<usize, f64>,
    pub sand: BTreeMap<usize, f64>,
    /// By part.
    pub flask: BTreeMap<usize, String>,
    /// By the parts in it, sorted.
    pub together: BTreeMap<Vec<usize>, Shared>,
}

fn text(value: &Value) -> Result<String, String> {
    value.as_str().map(str::to_owned).ok_or(format!("json: {value} is no text"))
}

fn at(value: &Value) -> Result<i64, String> {
    value.as_str().and_then(minute).ok_or(format!("json: {value} is no time"))
}

fn list<'a>(value: &'a Value, key: &str) -> Result<&'a Vec<Value>, String> {
    value[key].as_array().ok_or(format!("json: no list `{key}`"))
}

/// Alloy and sand of a part that is cast.
fn kinds(build: &Build, part: &Part) -> Vec<String> {
    let Some(casting) = &part.casting else { return Vec::new() };
    let sand = build.patterns[casting.pattern].sand.as_ref().map(|s| s.id.to_string());
    std::iter::once(casting.alloy.id.to_string()).chain(sand).collect()
}

impl Told {
    /// The mould of several patterns that holds these.
    pub fn shared(&self, lots: &[(usize, u32)]) -> Option<&Shared> {
        let mut parts: Vec<usize> = lots.iter().map(|l| l.0).collect();
        parts.sort_unstable();
        self.together.get(&parts)
    }

    pub fn read(build: &Build, plan: &Value, estimate: &Value) -> Result<Self, String> {
        let schedule = &plan["schedule"];
        let seconds = |v: &Value| {
            assert!(v.is_null() || v["unit"] == "s", "times are in seconds: {v}");
            v["value"].as_f64().unwrap_or(0.0)
        };
        let work = list(plan, "work")?.iter().map(|w| {
            Ok(Row {
                on: text(&w["on"])?,
                step: text(&w["step"])?,
                done: w["done"] == true,
                hands_on: seconds(&w["hands_on"]),
                wait: seconds(&w["wait"]),
            })
        });
        let names: Vec<String> =
            list(schedule, "heats")?.iter().map(|h| text(&h["heat"])).collect::<Result<_, _>>()?;
        let mut jobs = Vec::new();
        for (n, j) in list(schedule, "jobs")?.iter().enumerate() {
            let heat = j["heat"].as_str().map(|name| {
                names.iter().position(|h| h == name).ok_or(format!("json: no heat {name}"))
            });
            jobs.push(Job {
                n,
                on: text(&j["on"])?,
                step: text(&j["step"])?,
                start: at(&j["start"])?,
                end: at(&j["end"])?,
                ready: at(&j["ready"])?,
                minutes: j["minutes"].as_i64().ok_or("json: no minutes")?,
                slack: j["slack"].as_i64().ok_or("json: no slack")?,
                machine: j["machine"].as_str().map(Into::into),
                heat: heat.transpose()?,
                blocks: Vec::new(),
                help: Vec::new(),
                clear: Vec::new(),
            });
        }
        for session in list(schedule, "sessions")? {
            for b in list(session, "blocks")? {
                let n = b["job"].as_u64().ok_or("json: no job")? as usize;
                let block = Block {
                    person: text(&b["person"])?,
                    from: at(&b["from"])?,
                    to: at(&b["to"])?,
                    goes_on: b["goes_on"] == true,
                };
                if b["from"]
                    .as_str()
                    .is_none_or(|f| !f.starts_with(session["day"].as_str().unwrap_or("?")))
                {
                    return Err(format!(
                        "session: a block of {} lies on another day",
                        session["day"]
                    ));
                }
                let job = jobs.get_mut(n).ok_or("json: no such job")?;
                let of = match (b["helps"] == true, b["clears_up"] == true) {
                    (true, _) => &mut job.help,
                    (_, true) => &mut job.clear,
                    _ => &mut job.blocks,
                };
                of.push(block);
            }
        }
        for job in &mut jobs {
            job.blocks.sort_by_key(|b| b.from);
            if let (Some(first), Some(last)) = (job.blocks.first(), job.blocks.last())
                && (first.from != job.start || last.to != job.end)
            {
                return Err(format!(
                    "job: {} {} begins or ends beside its blocks",
                    job.on, job.step
                ));
            }
        }
        let (mut heats, mut moulds) = (Vec::new(), Vec::new());
        let mut used = vec![false; jobs.len()];
        for (h, heat) in list(schedule, "heats")?.iter().enumerate() {
            let of = |step: &str| -> Vec<usize> {
                let mut of: Vec<usize> = (0..jobs.len())
                    .filter(|n| jobs[*n].step == step && jobs[*n].heat == Some(h))
                    .collect();
                of.sort_by_key(|n| jobs[*n].start);
                of
            };
            let pours = of("pour");
            let mut parts = Vec::new();
            for m in list(heat, "moulds")? {
                let id = text(&m["part"])?;
                let part = build.part(&id).ok_or(format!("json: no part {id}"))?;
                let (rammed, shaken_out) = (at(&m["rammed"])?, at(&m["shaken_out"])?);
                let mut take = |step: &str, right: &dyn Fn(&Job) -> bool| {
                    let mut free = of(step).into_iter().filter(|n| !used[*n] && jobs[*n].on == id);
                    let found = free.find(|n| right(&jobs[*n]));
                    found.inspect(|n| used[*n] = true)
                };
                let standing = m["mould"].as_str().map(str::to_owned);
                let again = m["again"] == true;
                let fresh = standing.is_none() || again;
                let ram = take("ram", &|j| j.start == rammed && fresh);
                let pour = take("pour", &|_| true);
                let shake = take("shake-out", &|j| j.end == shaken_out);
                if fresh && ram.is_none() {
                    return Err(format!("mould: no ramming of {id} for {}", heat["heat"]));
                }
                parts.push(part);
                let others = m["others"].as_array().into_iter().flatten().map(|l| {
                    let part = build.part(l["part"].as_str().unwrap_or("?"));
                    Some((part?, l["castings"].as_u64()? as u32))
                });
                let others = others.collect::<Option<_>>().ok_or("json: others in a mould")?;
                moulds.push(Mould {
                    part,
                    others,
                    heat: h,
                    standing,
                    again,
                    castings: m["castings"].as_u64().unwrap_or(0) as u32,
                    flask: m["flask"].as_str().map(str::to_owned),
                    rammed,
                    shaken_out,
                    ram,
                    pour,
                    shake,
                });
            }
            let heel = |h: &Value| {
                let word = |key: &str| h[key].as_str().map(str::to_owned);
                let left = h["left"]["value"].as_f64().unwrap_or(f64::NAN);
                (word("crucible").unwrap_or_default(), left, word("from"), word("to"))
            };
            let lift = |l: &Value| {
                let load = l["load"]["value"].as_f64().unwrap_or(f64::NAN);
                (l["crucible"].as_str().unwrap_or("?").to_owned(), load, l["too_heavy"] == true)
            };
            heats.push(Heat {
                charge: heat["charge"]["value"].as_f64().unwrap_or(0.0),
                heels: heat["heels"].as_array().into_iter().flatten().map(heel).collect(),
                name: text(&heat["heat"])?,
                alloy: text(&heat["alloy"])?,
                furnace: text(&heat["furnace"])?,
                crucibles: list(heat, "crucibles")?.iter().map(text).collect::<Result<_, _>>()?,
                lit: at(&heat["lit"])?,
                pour: at(&heat["pour"])?,
                over: at(&heat["over"])?,
                people: heat["people"].as_u64().map(|n| n as usize),
                lifts: heat["lifts"].as_array().into_iter().flatten().map(lift).collect(),
                moulds: parts,
                pours,
            });
        }
        // What is left of the mould steps belongs to moulds that were poured before today.
        let mut cooling = Vec::new();
        let mut named: Vec<_> = build
            .history
            .attempts
            .values()
            .filter(|a| a.poured.is_some() && a.shaken_out.is_none())
            .collect();
        for job in jobs.iter().filter(|j| ["ram", "pour", "shake-out"].contains(&&*j.step)) {
            if used[job.n] {
                continue;
            }
            let lead = |a: &&pourwright::model::Attempt| {
                a.castings.first().is_some_and(|(p, _)| **build.parts[*p].id() == *job.on)
            };
            match named.iter().position(lead) {
                Some(i) if job.step == "shake-out" && job.heat.is_none() => {
                    cooling.push((job.n, named.remove(i).mould.to_string()));
                }
                _ => return Err(format!("one heat: {} {} belongs to no mould", job.on, job.step)),
            }
        }
        let (mut charge, mut sand, mut flask) = (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
        let (mut charge_most, mut melt_heat) = (BTreeMap::new(), BTreeMap::new());
        for c in list(estimate, "castings")? {
            let id = text(&c["id"])?;
            let part = build.part(&id).ok_or(format!("json: no part {id}"))?;
            for figure in list(c, "figures")? {
                let value = figure["value"].as_f64().unwrap_or(0.0);
                match figure["ask"].as_str() {
                    Some("mould-charge") => {
                        charge_most.extend(figure["high"].as_f64().map(|kg| (part, kg)));
                        charge.insert(part, value)
                    }
                    Some("melt-heat") => melt_heat.insert(part, value),
                    Some("sand") => sand.insert(part, value),
                    _ => None,
                };
            }
            flask.extend(c["flask"].as_str().map(|f| (part, f.to_owned())));
        }
        let mut together = BTreeMap::new();
        for t in estimate["together"].as_array().into_iter().flatten() {
            let part = |id: &Value| build.part(id.as_str().unwrap_or("?")).ok_or("json: no part");
            let mut parts: Vec<usize> =
                list(t, "parts")?.iter().map(part).collect::<Result<_, _>>()?;
            parts.sort_unstable();
            let end = |ask: &str, end: &str| {
                let found = t["figures"].as_array()?.iter().find(|f| f["ask"] == ask)?;
                found[end].as_f64()
            };
            let figure = |ask: &str| end(ask, "value");
            let place = |p: &Value| {
                let side = |key: &str| p[key].as_f64().unwrap_or(f64::NAN);
                Ok((part(&p["part"])?, ["x", "y", "length", "width"].map(side)))
            };
            let shared = Shared {
                flask: t["flask"].as_str().map(str::to_owned),
                crucible: t["crucible"].as_str().map(str::to_owned),
                charge: figure("mould-charge").ok_or("json: no charge")?,
                charge_most: end("mould-charge", "high").ok_or("json: no charge")?,
                sand: figure("sand").unwrap_or(0.0),
                times: ["time-ram", "time-pour", "time-shake-out"]
                    .map(|ask| figure(ask).unwrap_or(0.0)),
                places: list(t, "places")?.iter().map(place).collect::<Result<_, String>>()?,
            };
            together.insert(parts, shared);
        }
        let chain = list(schedule, "chain")?.iter().filter_map(|n| Some(n.as_u64()? as usize));
        let missing = list(schedule, "missing")?.iter().map(text).collect::<Result<_, _>>()?;
        let first = |f: &Value| {
            let of = f["of"].as_array().into_iter().flatten().filter_map(Value::as_str);
            (f["heat"].as_str().map(str::to_owned), of.map(str::to_owned).collect())
        };
        let firsts = schedule["firsts"].as_array().into_iter().flatten().map(first).collect();
        let midnight = build.today.and_time(chrono::NaiveTime::MIN).and_utc().timestamp() / 60;
        Ok(Self {
            today: midnight,
            work: work.collect::<Result<_, String>>()?,
            chain: chain.collect(),
            firsts,
            kinds: build.parts.iter().map(|p| kinds(build, p)).collect(),
            missing,
            jobs,
            heats,
            moulds,
            cooling,
            melt_heat,
            charge,
            charge_most,
            sand,
            flask,
            together,
        })
    }
}
