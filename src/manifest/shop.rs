use super::Id;
use crate::figure::*;
use crate::handbook::formulas::metal::{fill_mass, frustum_volume};
use crate::handbook::{Family, Handbook, tabled};
use crate::yaml::{Code, Cursor, Given, day, nearest};
use chrono::NaiveDate;
use indexmap::IndexMap;
use std::sync::Arc;

/// Somebody who works in the shop.
#[derive(Debug, Clone)]
pub struct Person {
    /// Seconds in the shop, Monday first.
    pub hours: [f64; 7],
    /// Second of the day on which they begin, Monday first, where it was said.
    pub from: [Option<f64>; 7],
}

/// A furnace.
#[derive(Debug, Clone)]
pub struct Furnace {
    /// What it burns.
    pub fuel: Arc<str>,
    /// Heat in the metal over heat in the fuel.
    pub efficiency: Option<Figure<Ratio>>,
    /// Heat of its burner, or what it draws from the mains.
    pub power: Option<Figure<Power>>,
    /// Fuel in one cylinder.
    pub cylinder: Option<Figure<Mass>>,
    /// Time until it is ready for the first heat.
    pub warm_up: Option<Figure<Time>>,
    /// Setting up before its first heat of a session, where the builder says so.
    pub set_up: Option<Figure<Time>>,
    /// Clearing up at the end of a session in which it melted, where the builder says so.
    pub clear_up: Option<Figure<Time>>,
    /// Heats that fit into one session.
    pub heats_per_session: u32,
}

/// A crucible.
#[derive(Debug, Clone)]
pub struct Crucible {
    /// To the brim.
    pub holds: Figure<Volume>,
    /// Share of the brim volume that is filled.
    pub working_fill: Figure<Ratio>,
    /// The alloys it may melt.
    pub family: Option<Family>,
    /// Empty.
    pub mass: Option<Figure<Mass>>,
    /// Whether what it holds is guessed from a trade number.
    pub by_number: bool,
    /// Mass of the tongs that lift it.
    pub tongs: Option<Figure<Mass>>,
    /// From the hands to the middle of the pot.
    pub tong_length: Option<Figure<Length>>,
    /// Whether it is lifted with a device, such as a hoist or a shank on a bogie.
    pub device: bool,
    /// Metal that is left in it after a pour.
    pub heel: Option<Figure<Mass>>,
}

impl Crucible {
    /// What it takes of a metal of this density when liquid, a heel in it included: a limit, to be
    /// gone by at its low end. Plan, sheets, charges and the journal's doubts ask here.
    pub fn takes(&self, density: &Figure<Density>) -> Figure<Mass> {
        fill_mass::figure(&self.holds, &self.working_fill, density).safe_at(SafeEnd::Low)
    }

    /// The most that may be charged into it beside its heel, kg: at the safe end of both.
    pub fn room(&self, density: &Figure<Density>) -> f64 {
        self.takes(density).low() - self.heel.as_ref().map_or(0.0, Figure::high)
    }
}

/// A flask: cope and drag.
#[derive(Debug, Clone)]
pub struct Flask {
    /// Inside.
    pub length: Figure<Length>,
    /// Inside.
    pub width: Figure<Length>,
    /// Depth of the cope.
    pub cope: Figure<Length>,
    /// Depth of the drag.
    pub drag: Figure<Length>,
    /// How many of it the shop has.
    pub count: u32,
}

/// The sand in use.
#[derive(Debug, Clone)]
pub struct SandGiven {
    /// Its id in the handbook.
    pub kind: Given<Arc<str>>,
    /// How much lies in the heap.
    pub on_hand: Option<Figure<Mass>>,
    /// How long a rammed mould may stand, where the builder says so.
    pub stands: Option<Figure<Time>>,
}

/// The shop.
#[derive(Debug, Clone, Default)]
pub struct Shop {
    /// People.
    pub people: IndexMap<Id, Person>,
    /// Days nobody works, first and last.
    pub away: Vec<(NaiveDate, NaiveDate)>,
    /// Furnaces.
    pub furnaces: IndexMap<Id, Furnace>,
    /// Crucibles.
    pub crucibles: IndexMap<Id, Crucible>,
    /// Flasks.
    pub flasks: IndexMap<Id, Flask>,
    /// The sand.
    pub sand: Option<SandGiven>,
    /// Machines that work waits for, and how many there are of each.
    pub machines: IndexMap<Id, u32>,
    /// The sand of the cores.
    pub core_sand: Option<SandGiven>,
    /// Whether a mould may be poured from two crucibles at once.
    pub pours_from_two: bool,
    /// Days of the week on which it pours, Monday first; any, where it does not say.
    pub pours: Option<[bool; 7]>,
    /// Alloys and sands that were poured in the shop before the journal began.
    pub poured_before: Vec<Given<Arc<str>>>,
    /// What the scale for a charge shows, where the builder says so.
    pub scale: Option<Figure<Mass>>,
    /// What lies in the shop already.
    pub stock: IndexMap<Id, Figure<Amount>>,
    /// Ids of flasks, crucibles and machines whose entry has faults.
    pub unread: Vec<Id>,
    /// What the manifest lists and the journal tells of as retired: nothing goes by it any more.
    pub gone: GoneEquipment,
}

/// What was in the shop once.
#[derive(Debug, Clone, Default)]
pub struct GoneEquipment {
    /// Flasks of which none is left.
    pub flasks: IndexMap<Id, Flask>,
    /// Crucibles of which none is left.
    pub crucibles: IndexMap<Id, Crucible>,
}

impl Shop {
    /// What the scale for a charge shows, kg: that of a kitchen scale where none is named.
    pub fn scale_shows(&self) -> f64 {
        self.scale.as_ref().map_or(1e-3, Figure::si)
    }

    /// Whether it has, or ever had, flasks: where it has none, nothing is rammed without one.
    pub fn knows_flasks(&self) -> bool {
        !self.flasks.is_empty() || !self.gone.flasks.is_empty()
    }

    /// Whether it has, or ever had, crucibles.
    pub fn knows_crucibles(&self) -> bool {
        !self.crucibles.is_empty() || !self.gone.crucibles.is_empty()
    }

    /// A flask of this name, also one that is gone.
    pub fn flask_once(&self, id: &str) -> Option<&Flask> {
        self.flasks.get(id).or_else(|| self.gone.flasks.get(id))
    }

    /// Names of crucibles, also of those that are gone.
    pub fn crucibles_once(&self) -> impl Iterator<Item = &Id> {
        self.crucibles.keys().chain(self.gone.crucibles.keys())
    }

    /// Working seconds of all people on a day.
    pub fn hours_on(&self, day: NaiveDate) -> f64 {
        use chrono::Datelike;
        if self.away.iter().any(|(first, last)| (*first..=*last).contains(&day)) {
            return 0.0;
        }
        let weekday = day.weekday().num_days_from_monday() as usize;
        self.people.values().map(|p| p.hours[weekday]).sum()
    }
}

fn each<T>(cursor: Option<Cursor<'_>>, read: impl Fn(&Cursor<'_>) -> Option<T>) -> IndexMap<Id, T> {
    let entries = cursor.map(|c| c.entries()).unwrap_or_default();
    entries.into_iter().filter_map(|(id, c)| Some((id, read(&c)?))).collect()
}

pub(super) fn read(cursor: &Cursor<'_>, book: &Handbook) -> Option<Shop> {
    let mut f = cursor.fields()?;
    let mut shop = Shop {
        people: each(f.get("people"), person),
        away: f
            .get("away")
            .map(|c| c.items())
            .unwrap_or_default()
            .iter()
            .filter_map(days)
            .collect(),
        furnaces: each(f.get("furnaces"), |c| furnace(c, book)),
        crucibles: each(f.get("crucibles"), |c| crucible(c, book)),
        flasks: each(f.get("flasks"), flask),
        machines: each(f.get("machines"), |c| c.count()),
        sand: f.take("sand", sand),
        core_sand: f.take("core-sand", sand),
        pours: f.take("pours", pours),
        pours_from_two: f
            .take("pours-from-two", |c| {
                c.choice(&[("true", true), ("yes", true), ("false", false), ("no", false)])
            })
            .unwrap_or(false),
        poured_before: f
            .get("poured-before")
            .map(|c| c.items())
            .unwrap_or_default()
            .iter()
            .filter_map(Cursor::word)
            .collect(),
        scale: f.take("scale", |c| c.figure("what the scale shows")),
        stock: each(f.get("stock"), |c| c.amount("in stock", true)),
        unread: Vec::new(),
        gone: GoneEquipment::default(),
    };
    for key in ["flasks", "crucibles", "machines"] {
        shop.unread.extend(f.get(key).map(|c| c.ids()).unwrap_or_default());
    }
    shop.unread.retain(|id| {
        !shop.flasks.contains_key(id)
            && !shop.crucibles.contains_key(id)
            && !shop.machines.contains_key(id)
    });
    f.done();
    Some(shop)
}

pub(super) const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// At least one day of the week.
fn pours(cursor: &Cursor<'_>) -> Option<[bool; 7]> {
    let days = weekdays(cursor);
    if cursor.items().is_empty() {
        let hint = "name the days, such as [sat, sun], or leave the key out";
        cursor.fault(Code::Shape, "no day is named", hint);
    }
    days.contains(&true).then_some(days)
}

/// Which days of the week are listed, Monday first.
pub(super) fn weekdays(cursor: &Cursor<'_>) -> [bool; 7] {
    let all = DAYS.iter().enumerate().map(|(i, day)| (*day, i)).collect::<Vec<_>>();
    let told: Vec<usize> = cursor.items().iter().filter_map(|c| c.choice(&all)).collect();
    std::array::from_fn(|i| told.contains(&i))
}

fn person(cursor: &Cursor<'_>) -> Option<Person> {
    let mut f = cursor.fields()?;
    f.take("name", |c| c.text());
    let hours = f.need("hours", "{sat: 6 h, sun: 3 h}", |c| {
        let mut days = c.fields()?;
        let (mut hours, mut from) = ([0.0; 7], [None; 7]);
        for (i, day) in DAYS.iter().enumerate() {
            let Some(cursor) = days.get(day) else { continue };
            let Some(text) = cursor.text() else { continue };
            if text.contains(':') {
                let Some((begin, end)) = by_clock(&cursor, &text) else { continue };
                (hours[i], from[i]) = (end - begin, Some(begin));
                continue;
            }
            let Some(time) = cursor.figure_or_zero::<Time>("hours") else { continue };
            if time.high() > 86_400.0 {
                cursor.fault(Code::Size, "a day has 24 hours", "try 6 h");
            }
            hours[i] = time.si();
        }
        days.done();
        Some((hours, from))
    });
    f.done();
    let (hours, from) = hours?;
    Some(Person { hours, from })
}

/// Seconds of the day of `19:00..21:30`.
fn by_clock(cursor: &Cursor<'_>, text: &str) -> Option<(f64, f64)> {
    let second = |t: &str| {
        let (h, m) = t.trim().split_once(':')?;
        let (h, m) = (h.parse::<u32>().ok()?, m.parse::<u32>().ok()?);
        (m < 60 && h * 60 + m <= 24 * 60).then(|| f64::from(h * 3600 + m * 60))
    };
    let ends = text.split_once("..").and_then(|(a, b)| Some((second(a)?, second(b)?)));
    match ends {
        Some((begin, end)) if begin < end => Some((begin, end)),
        _ => {
            cursor.fault(Code::Dates, "these are no hours by the clock", "try 19:00..21:30");
            None
        }
    }
}

fn days(cursor: &Cursor<'_>) -> Option<(NaiveDate, NaiveDate)> {
    let text = cursor.text()?;
    let ends = text.split_once("..").or_else(|| text.split_once(" to "));
    let (first, last) = ends.unwrap_or((&text, &text));
    match (day(first), day(last)) {
        (Ok(first), Ok(last)) if first <= last => Some((first, last)),
        (Ok(_), Ok(_)) => {
            cursor.fault(Code::Dates, "the last day comes before the first", "swap the two dates");
            None
        }
        (Err(e), _) | (_, Err(e)) => {
            let hint = format!("{}; a span of days is 2026-07-20..2026-08-02", e.hint);
            cursor.fault(Code::Shape, e.says, hint);
            None
        }
    }
}

fn furnace(cursor: &Cursor<'_>, book: &Handbook) -> Option<Furnace> {
    let mut f = cursor.fields()?;
    let fuel = f.need("fuel", "propane", |c| {
        let text = c.text()?;
        if !book.fuels.contains_key(&text) {
            let words: Vec<&str> = book.fuels.keys().map(|k| &**k).collect();
            let hint = match nearest(&text, words.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("choose from: {}", words.join(", ")),
            };
            c.fault(Code::Word, format!("`{text}` is not a fuel of the handbook"), hint);
        }
        Some(text)
    });
    let furnace = Furnace {
        fuel: fuel.unwrap_or_else(|| "propane".into()),
        efficiency: f.take("efficiency", |c| c.figure("furnace efficiency")),
        power: f.take("power", |c| c.figure("power of the furnace")),
        cylinder: f.take("cylinder", |c| c.figure("fuel in one cylinder")),
        warm_up: f.take("warm-up", |c| c.figure("warm-up")),
        set_up: f.take("set-up", |c| time_or_none(c, "setting up")),
        clear_up: f.take("clear-up", |c| time_or_none(c, "clearing up")),
        heats_per_session: f.take("heats-per-session", |c| c.count()).unwrap_or(2),
    };
    f.take("notes", |c| c.text());
    f.done();
    Some(furnace)
}

/// A time, or `none`.
fn time_or_none(cursor: &Cursor<'_>, name: &'static str) -> Option<Figure<Time>> {
    let given = cursor.figure_or(name, "none")?;
    Some(given.unwrap_or_else(|| Figure::counted(name, 0.0, "given as none")))
}

fn crucible(cursor: &Cursor<'_>, book: &Handbook) -> Option<Crucible> {
    let mut f = cursor.fields()?;
    let ways = f.present(&["holds", "inside", "trade-number"]);
    let shape = f.take("shape", |c| {
        let shapes: Vec<(&str, usize)> =
            book.trade_number.iter().enumerate().map(|(i, (w, _))| (&**w, i)).collect();
        c.choice(&shapes)
    });
    let measured = f.take("holds", |c| c.figure::<Volume>("crucible to the brim"));
    let inside = f.take("inside", |c| {
        let mut f = c.fields()?;
        let top = f.need("top", "110 mm", |c| c.figure::<Length>("inside diameter at the top"));
        let bottom =
            f.need("bottom", "80 mm", |c| c.figure::<Length>("inside diameter at the bottom"));
        let depth = f.need("depth", "140 mm", |c| c.figure::<Length>("inside depth"));
        f.done();
        let brim = frustum_volume::figure(&top?, &bottom?, &depth?);
        Some(brim.named("crucible to the brim"))
    });
    let number = f.take("trade-number", |c| {
        let number = c.figure::<Number>("trade number")?;
        let (_, each) = book.trade_number.get(shape.unwrap_or(0))?;
        Some(by_number(&number, each))
    });
    match ways.len() {
        1 => {}
        0 => cursor.fault_at_key(
            Code::MissingKey,
            "nothing says what this crucible holds",
            "fill it with water to the brim, measure, and add `holds: 1.2 L`",
        ),
        _ => cursor.fault_at_key(
            Code::Shape,
            format!("what it holds is given in {} ways", ways.len()),
            "keep one: `holds` if you measured it",
        ),
    }
    let working_fill = f.take("working-fill", |c| c.figure("working fill"));
    let family = f.take("family", |c| c.choice(Family::WORDS));
    let mass = f.take("mass", |c| c.figure("crucible, empty"));
    let device = f.take("lifted-by", |c| c.choice(&[("hand", false), ("device", true)]));
    let tongs = f.take("tongs", |c| c.figure("tongs"));
    let tong_length = f.take("tong-length", |c| c.figure("tong length"));
    let heel = f.get("heel").and_then(|c| Some((c.figure_or_zero::<Mass>("heel")?, c)));
    f.take("notes", |c| c.text());
    f.done();
    let crucible = Crucible {
        by_number: number.is_some(),
        holds: measured.or(inside).or(number)?,
        working_fill: working_fill.unwrap_or_else(|| book.working_fill.clone()),
        family,
        device: device.unwrap_or(false),
        mass,
        tongs,
        tong_length,
        heel: heel.as_ref().map(|(heel, _)| heel.clone()).filter(|heel| heel.si() > 0.0),
    };
    if let Some((heel, cursor)) = heel {
        no_fuller_than_full(&crucible, &heel, &cursor, book);
    }
    Some(crucible)
}

/// A heel leaves room for a charge, at the least of the heaviest alloy that the crucible may melt.
fn no_fuller_than_full(
    crucible: &Crucible,
    heel: &Figure<Mass>,
    cursor: &Cursor<'_>,
    book: &Handbook,
) {
    let alloys = book.alloys.values().filter(|a| crucible.family.is_none_or(|f| f == a.family));
    let held = alloys.filter_map(|a| {
        let density = a.liquid_density.as_ref()?;
        Some((crucible.takes(density).low(), &a.id))
    });
    let Some((most, alloy)) = held.max_by(|a, b| a.0.total_cmp(&b.0)) else { return };
    if heel.high() >= most {
        let s = |v| show(Kind::Mass, v, System::Metric);
        cursor.fault(
            Code::Size,
            format!(
                "a heel of {} leaves no room: at its working fill it takes no more than {} of {alloy}",
                s(heel.high()),
                s(most)
            ),
            format!("keep less, such as `heel: {}`", s(most / 10.0)),
        );
    }
}

fn by_number(number: &Figure<Number>, each: &Figure<Volume>) -> Figure<Volume> {
    let n = number.si();
    let inputs = vec![number.node().clone(), each.node().clone()];
    let range = each.node().range().map(|v| v * n);
    Figure::new(
        "crucible to the brim",
        range,
        Because::Closed("trade number x volume to one number", inputs),
    )
    .noting("a trade number is no volume: it differs by shape and maker; measure it with water")
}

fn flask(cursor: &Cursor<'_>) -> Option<Flask> {
    let mut f = cursor.fields()?;
    let inside = f.need("inside", "300 x 250 mm", |c| Some((c.sizes(2)?, c.route())));
    let cope = f.need("cope", "75 mm", |c| c.figure("depth of the cope"));
    let drag = f.need("drag", "75 mm", |c| c.figure("depth of the drag"));
    let count = f.take("count", |c| c.count()).unwrap_or(1);
    f.take("notes", |c| c.text());
    f.done();
    let (sizes, route) = inside?;
    let length =
        |name, i: usize| Figure::new(name, Range::exact(sizes[i]), Because::Given(route.clone()));
    Some(Flask {
        length: length("flask length", 0),
        width: length("flask width", 1),
        cope: cope?,
        drag: drag?,
        count,
    })
}

fn sand(cursor: &Cursor<'_>) -> Option<SandGiven> {
    let mut f = cursor.fields()?;
    let kind = f.need("kind", "green-sand", |c| c.word());
    let on_hand = f.take("on-hand", |c| c.figure_or_zero("sand on hand"));
    let stands = f.take("stands", |c| tabled::<Time>(c, "time a mould may stand"));
    f.done();
    Some(SandGiven { kind: kind?, on_hand, stands })
}
