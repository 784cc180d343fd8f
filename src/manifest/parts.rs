use super::mesh::{self, MeshGiven};
use super::solids::{self, SolidGiven};
use super::{Id, Step};
use crate::figure::*;
use crate::handbook::formulas::loads::LiftConvention;
use crate::shape::Body;
use crate::yaml::{Code, Cursor, Fault, Fields, Given, Tree};
use std::ops::RangeInclusive;
use std::sync::Arc;

/// One item of the machine.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its id.
    pub id: Id,
    /// What it is called.
    pub name: Arc<str>,
    /// How many the machine needs.
    pub quantity: u32,
    /// Free text.
    pub notes: Option<Arc<str>>,
    /// What it waits for.
    pub needs: Vec<Need>,
    /// How it comes to be.
    pub making: Making,
    /// Steps with hours of the builder's own, or dropped.
    pub steps: Vec<(Step, StepGiven)>,
    /// Where it was written.
    pub route: Route,
}

/// More pieces than this are no machine that one person casts; what is reckoned grows with them.
const MOST_PIECES: u64 = 20_000;

/// A fault at the part whose pieces are too many with those before it.
pub(super) fn bounded<'p>(parts: impl IntoIterator<Item = &'p Part>) -> Option<Fault> {
    let mut pieces = 0;
    let over = |part: &&Part| {
        pieces += u64::from(part.quantity);
        pieces > MOST_PIECES
    };
    let Route(of) = &parts.into_iter().find(over)?.route;
    let quantity = Segment::Key("quantity".into(), 0);
    let route = Route(of.iter().cloned().chain([quantity]).collect());
    let says = format!("with these the machine has more than {MOST_PIECES} pieces");
    let hint = "correct the quantity, or make part of them a separate build";
    Some(Fault::value(Code::Size, route, says, hint))
}

/// What the builder says of a step.
#[derive(Debug, Clone)]
pub enum StepGiven {
    /// It is done.
    Done {
        /// How long it takes, where the builder says so.
        hours: Option<Figure<Time>>,
        /// The machine of the shop, or the part of the build, that it is done on.
        on: Option<Given<Arc<str>>>,
        /// What dries, cures or cools after it before the next step.
        wait: Option<WaitGiven>,
        /// Whether it may be laid aside for other work at any time, not only at the end of a session.
        put_down: bool,
    },
    /// It is left out.
    None,
}

/// How long the next step waits after one.
#[derive(Debug, Clone)]
pub enum WaitGiven {
    /// As long as the handbook has it.
    Usual,
    /// As long as the builder says.
    Own(Figure<Time>),
}

/// One part waits for another.
#[derive(Debug, Clone)]
pub struct Need {
    /// The part it waits for.
    pub part: Given<Arc<str>>,
    /// Which step of that part; its last one where none is said.
    pub step: Option<Given<Step>>,
    /// Which of its own steps waits; the last where none is said.
    pub before: Option<Given<Step>>,
}

/// How a part comes to be.
#[derive(Debug, Clone)]
pub enum Making {
    /// Cast in the shop.
    Cast(Box<Casting>),
    /// Bought in.
    Bought(Bought),
    /// Made from stock.
    Made(Made),
}

/// How likely a casting is to be cast again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Difficulty {
    /// Chunky, open, no cores.
    Easy,
    /// The usual.
    Fair,
    /// Thin, large, cored, or all at once.
    Hard,
}

impl Difficulty {
    const WORDS: &'static [(&'static str, Difficulty)] =
        &[("easy", Difficulty::Easy), ("fair", Difficulty::Fair), ("hard", Difficulty::Hard)];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, d)| *d == self).map_or("", |(w, _)| w)
    }
}

/// A part that is cast.
#[derive(Debug, Clone)]
pub struct Casting {
    /// The pattern it comes off.
    pub pattern: Given<Arc<str>>,
    /// Its alloy.
    pub alloy: Given<Arc<str>>,
    /// The crucible that the builder wants for it.
    pub crucible: Option<Given<Arc<str>>>,
    /// Ruling wall thickness.
    pub wall: Option<Figure<Length>>,
    /// How hard it is to cast.
    pub difficulty: Difficulty,
    /// Chance that a mould of it is lost, where the builder says so.
    pub scrap: Option<Figure<Ratio>>,
    /// Its shape.
    pub shape: ShapeGiven,
    /// Its shape in space: its placed solids as one, or its mesh. A mesh of the pattern is as large as
    /// the pattern.
    pub body: Option<Arc<Body>>,
    /// Surface that gets cut.
    pub machined: Option<Figure<Area>>,
    /// Which sides get cut, at the low and the high end of x, y and z: all, where they are not named.
    pub machined_sides: [[bool; 2]; 3],
    /// Stock left on it for machining.
    pub allowance: Option<Figure<Length>>,
    /// Volume of all cores of one casting.
    pub cores: Option<Figure<Volume>>,
    /// How the lift of the cores is reckoned.
    pub core_lift: LiftConvention,
    /// Surface that gives off hardly any heat: against a sleeve or an insulating sand.
    pub insulated: Option<Figure<Area>>,
    /// Surface that lies on chills.
    pub chilled: Option<Figure<Area>>,
    /// How long it took to freeze, as the builder timed it.
    pub froze_in: Option<Figure<Time>>,
}

/// What is known of the shape of a finished casting.
#[derive(Debug, Clone)]
pub enum ShapeGiven {
    /// Its mass.
    Mass(Figure<Mass>),
    /// Its volume.
    Volume(Figure<Volume>),
    /// The water that its pattern pushes out.
    Water(Figure<Mass>),
    /// Solids that add up to it.
    Solids(Vec<SolidGiven>),
    /// A mesh of it.
    Mesh(MeshGiven),
    /// The weight of its wooden pattern, which is as large as the casting.
    Pattern {
        /// Of the pattern, core prints left out.
        mass: Figure<Mass>,
        /// The wood it is made of, or its density.
        wood: WoodGiven,
    },
}

/// What a pattern that was weighed is made of.
#[derive(Debug, Clone)]
pub enum WoodGiven {
    /// A wood of the handbook.
    Named(Given<Arc<str>>),
    /// A density of the builder's own.
    Density(Figure<Density>),
}

/// A part that is bought.
#[derive(Debug, Clone)]
pub struct Bought {
    /// Price of one, as written.
    pub price: Option<Arc<str>>,
    /// Time from order to arrival.
    pub delivery: Option<Figure<Time>>,
    /// Who sells it.
    pub supplier: Option<Arc<str>>,
}

/// A part made from stock.
#[derive(Debug, Clone)]
pub struct Made {
    /// The stock.
    pub from: Option<Arc<str>>,
    /// Time at the bench.
    pub hours: Option<Figure<Time>>,
    /// Price of the stock for one.
    pub price: Option<Arc<str>>,
    /// Time from order to arrival.
    pub delivery: Option<Figure<Time>>,
    /// Who sells it.
    pub supplier: Option<Arc<str>>,
}

pub(super) fn read(id: Id, cursor: &Cursor<'_>) -> Option<Part> {
    let mut f = cursor.fields()?;
    let name = f.take("name", |c| c.text()).unwrap_or_else(|| id.clone());
    let quantity = f.take("quantity", |c| c.count()).unwrap_or(1);
    let notes = f.take("notes", |c| c.text());
    let ways = f.present(&["casting", "bought", "made"]);
    let cast = f.take("casting", casting).map(|c| Making::Cast(Box::new(c)));
    let bought = f.take("bought", bought).map(Making::Bought);
    let made = f.take("made", made).map(Making::Made);
    if ways.len() != 1 {
        cursor.fault_at_key(
            if ways.is_empty() { Code::MissingKey } else { Code::Shape },
            match ways.len() {
                0 => "nothing says how this part comes to be".to_owned(),
                _ => format!("this part is {} at once", ways.join(" and ")),
            },
            "give it one of `casting:`, `bought:` or `made:`",
        );
    }
    let needs = f.get("needs").map(|c| c.items()).unwrap_or_default();
    let needs = needs.iter().filter_map(need).collect();
    let steps = f.get("steps").map(|c| steps(&c, cast.is_some())).unwrap_or_default();
    f.done();
    let making = cast.or(bought).or(made)?;
    Some(Part { id, name, quantity, notes, needs, making, steps, route: cursor.route() })
}

fn step(cursor: &Cursor<'_>) -> Option<Given<Step>> {
    let text = cursor.text()?;
    named_step(cursor, &text)
}

fn named_step(cursor: &Cursor<'_>, text: &str) -> Option<Given<Step>> {
    if let Some(value) = Step::from_word(text) {
        return Some(Given { value, route: cursor.route() });
    }
    let words = Step::WORDS.iter().map(|(w, _)| *w);
    let hint = match crate::yaml::nearest(text, words.clone()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("choose from: {}", words.collect::<Vec<_>>().join(", ")),
    };
    cursor.fault(Code::UnknownStep, format!("no step is called `{text}`"), hint);
    None
}

fn need(cursor: &Cursor<'_>) -> Option<Need> {
    if let Tree::Text(text) = cursor.tree() {
        let route = cursor.route();
        let (part, step) = match text.split_once('.') {
            Some((part, step)) => (part, Some(named_step(cursor, step)?)),
            None => (&**text, None),
        };
        return Some(Need { part: Given { value: part.into(), route }, step, before: None });
    }
    let mut f = cursor.fields()?;
    let part = f.need("part", "base", |c| c.word());
    let of = f.take("step", step);
    let before = f.take("before", step);
    f.done();
    Some(Need { part: part?, step: of, before })
}

/// `{hours: 6 h, on: lathe, wait: 12 h}`.
const YES_OR_NO: [(&str, bool); 4] =
    [("true", true), ("yes", true), ("false", false), ("no", false)];

fn done_on(cursor: &Cursor<'_>, step: Step) -> Option<StepGiven> {
    const AT_A_MACHINE: [Step; 7] = [
        Step::Core,
        Step::Fettle,
        Step::Inspect,
        Step::Machine,
        Step::Scrape,
        Step::Fit,
        Step::Make,
    ];
    let mut f = cursor.fields()?;
    let hours = f.take("hours", |c| c.figure("hours given"));
    let on = f.take("on", |c| {
        if !AT_A_MACHINE.contains(&step) {
            let words: Vec<&str> = AT_A_MACHINE.iter().map(|s| s.word()).collect();
            let says = format!("`{}` takes no machine", step.word());
            c.fault(Code::Word, says, format!("those that may: {}", words.join(", ")));
        }
        c.word()
    });
    // Cooling goes by the estimate; relieving and delivery are waits themselves.
    let waits = !matches!(step, Step::Pour | Step::ShakeOut | Step::Relieve | Step::Receive);
    let wait = if waits { f.take("wait", |c| wait(c, step)) } else { None };
    let long =
        matches!(step, Step::Pattern | Step::Machine | Step::Scrape | Step::Fit | Step::Make);
    let put_down = long.then(|| f.take("put-down", |c| c.choice(&YES_OR_NO))).flatten();
    f.done();
    Some(StepGiven::Done { hours, on, wait, put_down: put_down.unwrap_or(false) })
}

/// A time, or `usual` for what the handbook has.
fn wait(cursor: &Cursor<'_>, step: Step) -> Option<WaitGiven> {
    const NAME: &str = "wait given";
    if !step.dries() {
        return cursor.figure(NAME).map(WaitGiven::Own);
    }
    let given = cursor.figure_or(NAME, "usual")?;
    Some(given.map_or(WaitGiven::Usual, WaitGiven::Own))
}

fn steps(cursor: &Cursor<'_>, cast: bool) -> Vec<(Step, StepGiven)> {
    let Some(mut f) = cursor.fields() else { return Vec::new() };
    let mut out = Vec::new();
    for (word, step) in Step::WORDS {
        let none = |c: &Cursor<'_>| {
            if cast && matches!(step, Step::Ram | Step::Pour | Step::ShakeOut) {
                let says = format!("a casting needs `{word}`");
                c.fault(Code::Word, says, "give it hours; what is cast elsewhere is `bought:`");
            }
            Some(StepGiven::None)
        };
        let given = f.take(word, |c| match c.tree() {
            Tree::Text(text) if **text == *"none" => none(c),
            Tree::Switch(false) => none(c),
            Tree::Map(_) => done_on(c, *step),
            _ => {
                let hours = Some(c.figure("hours given")?);
                Some(StepGiven::Done { hours, on: None, wait: None, put_down: false })
            }
        });
        out.extend(given.map(|g| (*step, g)));
    }
    f.done();
    out
}

fn casting(cursor: &Cursor<'_>) -> Option<Casting> {
    let mut f = cursor.fields()?;
    let pattern = f.need("pattern", "base-pattern", |c| c.word());
    let alloy = f.need("alloy", "A356", |c| c.word());
    let crucible = f.take("crucible", |c| c.word());
    let wall = f.take("wall", |c| c.figure("wall"));
    let difficulty =
        f.take("difficulty", |c| c.choice(Difficulty::WORDS)).unwrap_or(Difficulty::Fair);
    let scrap = f.take("scrap", |c| c.figure("chance that a mould is lost"));
    let machined = f.take("machined", |c| c.figure("machined surface"));
    let sides = f.take("machined-sides", |c| {
        if machined.is_none() {
            let says = "sides are named, but not how much of them is machined";
            c.fault_at_key(
                Code::MissingKey,
                says,
                "add `machined: 60 cm2`, the surface that gets cut",
            );
        }
        Some(c.items().iter().filter_map(|side| side.choice(SIDES)).collect::<Vec<_>>())
    });
    let machined_sides = match (&machined, sides) {
        (None, _) => [[false; 2]; 3],
        (Some(_), None) => [[true; 2]; 3],
        (Some(_), Some(sides)) => {
            [0, 1, 2].map(|axis| [0, 1].map(|end| sides.contains(&(axis, end))))
        }
    };
    let allowance = f.take("allowance", |c| c.figure_or_zero("machining allowance"));
    let cores = f.take("cores", cores);
    let insulated = f.take("insulated", |c| c.figure("insulated surface"));
    let chilled = f.take("chilled", |c| c.figure("chilled surface"));
    let froze_in = f.take("froze-in", |c| c.figure("freezing time as timed"));
    // Where the shape has a fault, that is told; the names of the casting are still checked.
    let shape = shape(&mut f).unwrap_or(ShapeGiven::Solids(Vec::new()));
    f.done();
    Some(Casting {
        pattern: pattern?,
        alloy: alloy?,
        crucible,
        wall,
        difficulty,
        scrap,
        shape,
        body: None,
        machined,
        machined_sides,
        allowance,
        core_lift: cores.as_ref().map_or(LiftConvention::Net, |(_, lift)| *lift),
        cores: cores.map(|(volume, _)| volume),
        insulated,
        chilled,
        froze_in,
    })
}

/// The sides of a casting: along which axis, and at which end of it.
const SIDES: &[(&str, (usize, u8))] = &[
    ("left", (0, 0)),
    ("right", (0, 1)),
    ("front", (1, 0)),
    ("back", (1, 1)),
    ("bottom", (2, 0)),
    ("top", (2, 1)),
];

const LIFTS: &[(&str, LiftConvention)] =
    &[("net", LiftConvention::Net), ("displaced", LiftConvention::Displaced)];

/// Reads `cores: {volume: 20 cm3, lift: net}`, or with the `water:` that fills the core boxes.
fn cores(cursor: &Cursor<'_>) -> Option<(Figure<Volume>, LiftConvention)> {
    let mut f = cursor.fields()?;
    let ways = f.present(&["volume", "water"]);
    if ways.len() != 1 {
        cursor.fault_at_key(
            if ways.is_empty() { Code::MissingKey } else { Code::Shape },
            "the size of the cores is given in more than one way",
            "give `volume: 20 cm3`, or `water: 20 g` that fills the core boxes",
        );
    }
    let volume = f.take("volume", |c| c.figure("volume of the cores"));
    let water = f.take("water", |c| c.figure::<Mass>("water that fills the core boxes"));
    let lift = f.take("lift", |c| c.choice(LIFTS)).unwrap_or(LiftConvention::Net);
    f.take("notes", |c| c.text());
    f.done();
    let volume = volume.or_else(|| water.map(|w| of_water("volume of the cores", &w)))?;
    Some((volume, lift))
}

/// The volume of water that was weighed.
pub(crate) fn of_water(name: &'static str, water: &Figure<Mass>) -> Figure<Volume> {
    // 998.2 kg/m3 at 20 C, 999.7 at 10 C, 995.6 at 30 C.
    let density = Figure::<Density>::new(
        "density of water",
        Range { low: 995.6, likely: 998.2, high: 999.7 },
        Because::Handbook(
            Source {
                citation: "water at 30, 20 and 10 C (IAPWS-95 values as tabulated)".into(),
                known: Known::Published,
            }
            .into(),
        ),
    );
    let (m, d) = (water.node().range(), density.node().range());
    let range = Range { low: m.low / d.high, likely: m.likely / d.likely, high: m.high / d.low };
    let nodes = vec![water.node().clone(), density.node().clone()];
    Figure::new(name, range, Because::Closed("mass of water / its density", nodes))
}

fn shape(f: &mut Fields<'_>) -> Option<ShapeGiven> {
    let ways = f.present(&["mass", "volume", "water", "shape", "mesh", "pattern-weight"]);
    let mass = f.take("mass", |c| weighable(c, c.figure("mass as given")?));
    let mass = mass.map(ShapeGiven::Mass);
    let volume = f.take("volume", |c| holdable(c, c.figure("volume as given")?));
    let volume = volume.map(ShapeGiven::Volume);
    let water = f.take("water", |c| weighable(c, c.figure("water pushed out")?));
    let water = water.map(ShapeGiven::Water);
    let solids = f.take("shape", |c| {
        let mut f = c.fields()?;
        let mut list = Vec::new();
        let mut whole = true;
        for (key, less) in [("add", false), ("less", true)] {
            let items = f.get(key).map(|c| c.items()).unwrap_or_default();
            for item in &items {
                let solid = solids::read(item, less);
                whole &= solid.is_some();
                list.extend(solid);
            }
            if less && whole {
                solids::check_names(&items, &list);
            }
        }
        f.done();
        if !whole {
            return None;
        }
        let total: f64 = list
            .iter()
            .map(|s| s.solid.volume() * f64::from(s.count) * if s.less { -1.0 } else { 1.0 })
            .sum();
        if total <= 0.0 {
            c.fault_at_key(
                Code::NegativeShape,
                "what is cut out is as large as what is there",
                "check the sizes and counts under `less:`",
            );
            return None;
        }
        if !HOLDABLE.contains(&total) {
            let says =
                format!("its solids hold {} together", show(Kind::Volume, total, System::Metric));
            c.fault_at_key(Code::Size, says, "are the units right?");
            return None;
        }
        Some(ShapeGiven::Solids(list))
    });
    let mesh = f.take("mesh", mesh::read).map(ShapeGiven::Mesh);
    let weighed = f.take("pattern-weight", weighed);
    match ways.len() {
        1 => mass.or(volume).or(water).or(solids).or(mesh).or(weighed),
        0 => {
            f.cursor().fault_at_key(
                Code::MissingKey,
                "nothing says how large this casting is",
                "add `mass: 1.2 kg`, `volume: 0.5 L`, a `shape:` or a `mesh:`",
            );
            None
        }
        _ => {
            f.cursor().fault_at_key(
                Code::Shape,
                format!("its size is given in {} ways", ways.len()),
                "keep one of `mass`, `volume`, `shape` and `mesh`",
            );
            None
        }
    }
}

/// What a casting may weigh, kg, and hold, m3: half a gram to five tonnes.
const WEIGHABLE: RangeInclusive<f64> = 0.5e-3..=5e3;
const HOLDABLE: RangeInclusive<f64> = 0.1e-6..=1.0;

fn weighable(cursor: &Cursor<'_>, mass: Figure<Mass>) -> Option<Figure<Mass>> {
    castable(cursor, &WEIGHABLE, mass)
}

fn holdable(cursor: &Cursor<'_>, volume: Figure<Volume>) -> Option<Figure<Volume>> {
    castable(cursor, &HOLDABLE, volume)
}

fn castable<Q: Quantity>(
    cursor: &Cursor<'_>,
    within: &RangeInclusive<f64>,
    figure: Figure<Q>,
) -> Option<Figure<Q>> {
    let range = figure.node().range();
    if within.contains(&range.low) && within.contains(&range.high) {
        return Some(figure);
    }
    let s = |v: f64| show(Q::KIND, v, System::Metric);
    let says =
        format!("a casting from {} to {} is expected here", s(*within.start()), s(*within.end()));
    cursor.fault(Code::Size, says, "is the unit right?");
    None
}

/// Reads `pattern-weight: {mass: 900 g, wood: white-pine}`, or with a density for the wood.
fn weighed(cursor: &Cursor<'_>) -> Option<ShapeGiven> {
    let mut f = cursor.fields()?;
    let mass = f.need("mass", "900 g", |c| c.figure("pattern as weighed"));
    let wood = f.need("wood", "white-pine", |c| match c.text()? {
        text if text.starts_with(|c: char| c.is_ascii_digit()) => {
            Some(WoodGiven::Density(c.figure("density of the wood")?))
        }
        _ => c.word().map(WoodGiven::Named),
    });
    f.done();
    Some(ShapeGiven::Pattern { mass: mass?, wood: wood? })
}

fn bought(cursor: &Cursor<'_>) -> Option<Bought> {
    if *cursor.tree() == Tree::Empty {
        return Some(Bought { price: None, delivery: None, supplier: None });
    }
    let mut f = cursor.fields()?;
    let price = f.take("price", plain_price);
    let delivery = f.take("delivery", |c| c.figure("delivery time"));
    let supplier = f.take("supplier", |c| c.text());
    f.take("notes", |c| c.text());
    f.done();
    Some(Bought { price, delivery, supplier })
}

/// A price as it is written.
fn plain_price(cursor: &Cursor<'_>) -> Option<Arc<str>> {
    let text = cursor.text()?;
    super::suppliers::price(cursor).map(|_| text)
}

fn made(cursor: &Cursor<'_>) -> Option<Made> {
    let mut f = cursor.fields()?;
    let from = f.take("from", |c| c.text());
    let hours = f.take("hours", |c| c.figure("hours given"));
    let price = f.take("price", plain_price);
    let delivery = f.take("delivery", |c| c.figure("delivery time"));
    let supplier = f.take("supplier", |c| c.text());
    f.take("notes", |c| c.text());
    f.done();
    Some(Made { from, hours, price, delivery, supplier })
}
