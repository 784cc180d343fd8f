//! Properties over random builds and journals.

use super::*;
use pourwright::supply::{Walk, Wish, purchases};
use proptest::prelude::*;

/// A part: alloy, mass in g, whether its mould is of set sand and washed, and on which days its
/// moulds are rammed.
#[derive(Debug, Clone)]
struct Cast {
    alloy: usize,
    grams: u32,
    washed: bool,
    days: Vec<u8>,
}

#[derive(Debug, Clone)]
struct Case {
    casts: Vec<Cast>,
    stock: [u16; 3],
    shelf: u16,
    heap: u16,
    loss: u8,
    share: u8,
    packs: Vec<(usize, u32, u16)>,
    charges: [u16; 2],
    cores: u16,
    past: Vec<Heated>,
}

/// A heat in the journal with one mould: of which part, charged in g as ingot and returns, heel,
/// fuel in g where it was logged, how far the mould is, whether the casting was scrapped, and what
/// a count of the sand found then, in kg.
#[derive(Debug, Clone)]
struct Heated {
    part: usize,
    ingot: u16,
    returns: u16,
    heel: u16,
    fuel: Option<u16>,
    stage: u8,
    scrapped: bool,
    count: Option<u16>,
}

const ALLOYS: [&str; 3] = ["A356", "ZA-12", "C905"];
const STOCKS: [&str; 18] = [
    "A356",
    "ZA-12",
    "C905",
    "sand",
    "bentonite",
    "sea-coal",
    "propane",
    "baked-sand",
    "core-oil",
    "degasser",
    "aluminium-flux",
    "zinc-flux",
    "parting-powder",
    "copper-flux",
    "phosphor-copper",
    "co2-sand",
    "sodium-silicate",
    "mould-wash",
];
/// Of which the shelf holds some.
const SHELF: [&str; 5] = ["bentonite", "parting-powder", "mould-wash", "copper-flux", "propane"];

fn case() -> impl Strategy<Value = Case> {
    let days = prop::collection::vec(0..90u8, 1..4);
    let cast = (0..3usize, 100..6000u32, any::<bool>(), days)
        .prop_map(|(alloy, grams, washed, days)| Cast { alloy, grams, washed, days });
    let heated = (
        (0..6usize, 100..9000u16, prop::option::of(100..5000u16), 0..500u16),
        // 14 kg of A356 take up 13 MJ, which 260 g of propane give: less is refused.
        (prop::option::of(300..3000u16), 0..4u8, any::<bool>(), prop::option::of(0..200u16)),
    )
        .prop_map(|((part, ingot, returns, heel), (fuel, stage, scrapped, count))| Heated {
            part,
            ingot,
            returns: returns.unwrap_or(0),
            heel: heel.min(ingot),
            fuel,
            stage,
            scrapped,
            count,
        });
    let extra = prop::collection::vec((0..STOCKS.len(), 200..30_000u32, 100..5000u16), 0..8);
    (
        prop::collection::vec(cast, 1..6),
        (prop::array::uniform3(0..20_000u16), 0..3000u16),
        0..300u16,
        1..20u8,
        0..80u8,
        prop::collection::vec((200..25_000u32, 100..5000u16), STOCKS.len()),
        extra,
        prop::array::uniform2(0..2000u16),
        0..900u16,
        prop::collection::vec(heated, 0..8),
    )
        .prop_map(
            |(casts, (stock, shelf), heap, loss, share, packs, extra, charges, cores, past)| {
                // Something of every stock is sold.
                let packs =
                    packs.into_iter().enumerate().map(|(i, (size, price))| (i, size, price));
                let packs = packs.chain(extra).collect();
                Case { casts, stock, shelf, heap, loss, share, packs, charges, cores, past }
            },
        )
}

/// What of a stock is mixed into new sand, which the walk does not do: the sand that is lacking, times
/// the share, both at this end; kg.
fn mixed(build: &Build, bare: &Walk, of: &str, end: End) -> f64 {
    let at = |range: Range| if end == End::Most { range.high } else { range.likely };
    let sands = build.patterns.iter().filter_map(|p| p.sand.as_ref()).chain(&build.core_sand);
    let mut sands: Vec<_> = sands.filter(|s| !s.sets).collect();
    sands.sort_by_key(|s| s.id.clone());
    sands.dedup_by_key(|s| s.id.clone());
    let each = sands.into_iter().filter_map(|sand| {
        let new = bare.stocks.get(&build.sand_stock(sand))?.short(None);
        let (_, share) = sand.additions.iter().find(|(name, _)| **name == *of)?;
        Some(new * at(share.node().range()))
    });
    each.sum()
}

impl Cast {
    fn pattern(&self) -> &'static str {
        if self.washed { "set-pattern" } else { "any-pattern" }
    }
}

impl Case {
    fn build(&self) -> Build {
        self.told(&[])
    }

    /// With this journal.
    fn told(&self, journal: &[String]) -> Build {
        let shelf: Vec<String> =
            SHELF.iter().map(|name| format!("{name}: {} g", self.shelf)).collect();
        let mut text = format!(
            "build: {{title: Any, begun: 2026-01-10}}\n\
             shop:\n  furnaces: {{drum: {{fuel: propane, efficiency: 8..13 %, power: 15..25 kW, warm-up: 25 min}}}}\n  \
             flasks: {{box: {{inside: 400 x 300 mm, cope: 120 mm, drag: 120 mm}}}}\n  \
             sand: {{kind: green-sand, on-hand: {} kg}}\n  \
             core-sand: {{kind: baked-sand}}\n  \
             stock: {{A356: {} g, ZA-12: {} g, C905: {} g, {}}}\n\
             sands:\n  green-sand: {{loss: {} %}}\n\
             alloys:\n  A356: {{returns-share: {} %}}\nsuppliers:\n",
            self.heap,
            self.stock[0],
            self.stock[1],
            self.stock[2],
            shelf.join(", "),
            self.loss,
            self.share,
        );
        for (s, charge) in self.charges.iter().enumerate() {
            text += &format!(
                "  seller-{s}:\n    delivery-charge: {}.{:02}\n",
                charge / 100,
                charge % 100
            );
            text += "    delivery: 5 d\n    packs:\n";
            for (i, (of, size, price)) in self.packs.iter().enumerate().filter(|(i, _)| i % 2 == s)
            {
                let _ = i;
                text += &format!(
                    "      - {{of: {}, size: {size} g, price: {}.{:02}}}\n",
                    STOCKS[*of],
                    price / 100,
                    price % 100
                );
            }
        }
        text += "patterns:\n  any-pattern: {made-of: wood, size: 150 x 100 x 40 mm}\n  \
                 set-pattern: {made-of: wood, size: 150 x 100 x 40 mm, sand: co2-sand}\nparts:\n";
        let cores = match self.cores {
            0 => String::new(),
            some => format!(", cores: {{volume: {some} cm3}}"),
        };
        for (i, cast) in self.casts.iter().enumerate() {
            // The wash goes by the surface, which a shape tells.
            let size = match cast.washed {
                true => format!(
                    "shape: {{add: [{{plate: {{length: 140 mm, width: 90 mm, thickness: {} mm}}}}]}}",
                    4 + cast.grams % 30
                ),
                false => format!("mass: {}..{} g", cast.grams, cast.grams + cast.grams / 8),
            };
            text += &format!(
                "  part-{i}:\n    quantity: {}\n    casting: {{pattern: {}, alloy: {}, {size}{cores}}}\n",
                cast.days.len() + self.past.len(),
                cast.pattern(),
                ALLOYS[cast.alloy],
            );
        }
        read_with(&text, journal)
    }

    /// The part and alloy of a heat of the journal.
    fn of(&self, heated: &Heated) -> (usize, &'static str) {
        let part = heated.part % self.casts.len();
        (part, ALLOYS[self.casts[part].alloy])
    }

    /// The heats as a journal, a day each, after a delivery of 5 kg of each alloy.
    fn journal(&self) -> Vec<String> {
        let mut out: Vec<String> =
            ALLOYS.map(|a| format!("received: {{stock: {a}, mass: 5 kg}}")).into();
        out.push("given-away: {stock: A356, mass: 300 g}".into());
        for (n, h) in self.past.iter().enumerate() {
            let (part, alloy) = self.of(h);
            let mut charge = format!("ingot: {} g", h.ingot);
            if h.returns > 0 {
                charge += &format!(", returns: {} g", h.returns);
            }
            out.push(format!(
                "rammed: {{mould: M{n}, pattern: {}, castings: {{part-{part}: 1}}}}",
                self.casts[part].pattern()
            ));
            let mut heel = if h.heel > 0 { format!("heel: {} g, ", h.heel) } else { String::new() };
            heel += &h.fuel.map_or_else(String::new, |fuel| format!("fuel: {fuel} g, "));
            out.push(format!(
                "poured: {{heat: H{n}, alloy: {alloy}, charge: {{{charge}}}, {heel}moulds: [M{n}]}}"
            ));
            if h.stage > 0 {
                out.push(format!("shaken-out: {{mould: M{n}}}"));
            }
            if h.stage > 1 {
                out.push(format!("done: {{part: part-{part}, step: fettle}}"));
            }
            if h.stage > 2 {
                let found = if h.scrapped { "scrap" } else { "accept" };
                out.push(format!(
                    "inspected: {{mould: M{n}, part: part-{part}, pieces: 1, disposition: {found}}}"
                ));
            }
            out.extend(h.count.map(|kg| format!("counted: {{stock: sand, mass: {kg} kg}}")));
        }
        out
    }

    /// Each mould with a heat of its own, or shared with the one before where that is of the same
    /// alloy and day.
    fn schedule(&self, estimates: &Estimates) -> Schedule {
        let mut schedule = Schedule::default();
        for (part, cast) in self.casts.iter().enumerate() {
            let estimate = &estimates.castings[part].as_ref().expect("an estimate").mould;
            for on in &cast.days {
                let on = u64::from(*on);
                let n = schedule.moulds.len();
                let alloy = ALLOYS[cast.alloy];
                let same =
                    schedule.heats.iter().position(|h| *h.alloy == *alloy && h.lit == at(on, 10));
                let at_heat = same.unwrap_or(schedule.heats.len());
                let mut planned = mould(part, on, at_heat, 0.0, 0.0);
                planned.poured = estimate.poured.clone();
                planned.charge = estimate.charge.clone();
                planned.sand = estimate.sand.clone();
                schedule.moulds.push(planned);
                match same {
                    Some(h) => schedule.heats[h].moulds.push(n),
                    None => {
                        let mut planned = heat(at_heat, alloy, on, vec![n], 0.0);
                        planned.charge = None;
                        planned.heels = self.heel(part);
                        schedule.heats.push(planned);
                    }
                }
                schedule.jobs.push(fettling(part, on + 2));
            }
            schedule.jobs.push(Job { subject: Subject::Part(part), ..job(Step::Core, 0) });
        }
        // Some stay in the pot for the next heat that leaves as much.
        let mut order: Vec<usize> = (0..schedule.heats.len()).collect();
        order.sort_by_key(|h| schedule.heats[*h].lit);
        for pair in order.windows(2) {
            let (a, b) = (schedule.heats[pair[0]].clone(), schedule.heats[pair[1]].clone());
            let left = |h: &PlannedHeat| h.heels.first().map(|heel| heel.left.si());
            if a.alloy == b.alloy && left(&a).is_some() && left(&a) == left(&b) {
                schedule.heats[pair[0]].heels[0].to = Some(b.name);
                schedule.heats[pair[1]].heels[0].from = Some(a.name);
            }
        }
        schedule
    }

    /// What the heats of a part leave in the pot.
    fn heel(&self, part: usize) -> Vec<Heel> {
        let grams = [0.0, 200.0, 700.0][self.casts[part].grams as usize % 3];
        let left = kg(grams / 1e3).filter(|left| left.si() > 0.0);
        left.map(|left| pot_heel(left, None, None)).into_iter().collect()
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, ..ProptestConfig::default() })]

    /// Bought + stock = castings + in moulds + returns + lost, to a gram, at every moment.
    #[test]
    fn nothing_comes_from_nothing(case in case(), bought in 0.0..50.0f64) {
        let build = case.build();
        let estimates = estimate(&build);
        let schedule = case.schedule(&estimates);
        let bought: BTreeMap<_, _> = STOCKS.iter().map(|s| ((*s).into(), bought)).collect();
        for end in [End::Least, End::Likely, End::Most] {
            for walk in walk(&build, &estimates, &schedule, (end, Gates::AtFettling), &bought).stocks.values() {
                balances(walk);
            }
        }
    }

    /// The same with heats already poured: all that was given, received and charged is somewhere,
    /// and nothing came in but that and returns that were charged before any came back.
    #[test]
    fn nothing_comes_from_nothing_after_a_journal(case in case(), bought in 0.0..50.0f64) {
        let build = case.told(&case.journal());
        let estimates = estimate(&build);
        let schedule = case.schedule(&estimates);
        for holding in pourwright::supply::stock(&build, &estimates) {
            prop_assert!(holding.unaccounted().abs() < GRAM, "{:?}", holding);
        }
        let more: BTreeMap<_, _> = STOCKS.iter().map(|s| ((*s).into(), bought)).collect();
        for end in [End::Least, End::Likely, End::Most] {
            let walk = walk(&build, &estimates, &schedule, (end, Gates::AtFettling), &more);
            for (name, walk) in &walk.stocks {
                balances(walk);
                let start = walk.points[0].1;
                prop_assert!((start.total() - walk.put_in).abs() < GRAM, "{} {:?}", name, walk.put_in);
            }
            for (i, alloy) in ALLOYS.iter().enumerate() {
                let Some(walk) = walk.stocks.get(*alloy) else { continue };
                let own: Vec<&Heated> = case.past.iter().filter(|h| case.of(h).1 == *alloy).collect();
                let sum = |of: fn(&Heated) -> u16| own.iter().map(|h| f64::from(of(h)) / 1e3).sum::<f64>();
                let given = f64::from(case.stock[i]) / 1e3 + 5.0 - if i == 0 { 0.3 } else { 0.0 };
                // Ingot charged beyond what the ledger knows lay there too.
                let known = bought + given + (sum(|h| h.ingot) - given).max(0.0);
                let found = walk.put_in - known;
                prop_assert!(found > -GRAM && found < sum(|h| h.returns) + GRAM, "{} kg from nowhere", found);
                if own.iter().all(|h| h.returns == 0) {
                    prop_assert!(found.abs() < GRAM, "{} kg from nowhere", found);
                }
            }
        }
    }

    /// What the walk begins with is what the journal left, added up here mould by mould.
    #[test]
    fn the_shop_holds_what_the_journal_left(case in case()) {
        let build = case.told(&case.journal());
        let estimates = estimate(&build);
        let bill = bill(&build, &estimates, &case.schedule(&estimates));
        let mould = |h: &Heated| &estimates.castings[case.of(h).0].as_ref().expect("cast").mould;
        let kg = |f: &Option<Figure<Mass>>| f.as_ref().map_or(0.0, Figure::si);
        let mut heap = f64::from(case.heap);
        let [mut powder, mut wash] = [f64::from(case.shelf) / 1e3; 2];
        for h in &case.past {
            let takes = |of: &str| {
                let found = mould(h).takes.iter().find(|t| *t.of == *of);
                found.and_then(|t| t.amount.as_ref().ok()).map_or(0.0, Figure::si)
            };
            powder -= takes("parting-powder");
            wash -= takes("mould-wash");
            if !case.casts[case.of(h).0].washed {
                heap -= kg(&mould(h).sand);
                if h.stage > 0 {
                    heap += kg(&mould(h).sand) * (1.0 - f64::from(case.loss) / 100.0);
                }
            }
            if let Some(count) = h.count {
                heap = f64::from(count);
            }
        }
        let there = |id: &str| bill.lines().find(|l| *l.id == *id).map(|l| {
            let stock = l.stock.as_ref().expect("in the shop");
            let range = stock.node().range();
            assert!(range.low <= range.likely && range.likely <= range.high, "{id} {range:?}");
            stock.si()
        });
        for (id, want) in [("sand", heap), ("parting-powder", powder), ("mould-wash", wash)] {
            if let Some(got) = there(id) {
                prop_assert!((got - want.max(0.0)).abs() < 1e-9, "{}: {} not {}", id, got, want);
                let start = &bill.flow.as_ref().expect("a walk").likely.stocks.get(id);
                if let Some(start) = start {
                    prop_assert!((start.points[0].1.stock - got).abs() < 1e-9, "{}", id);
                }
            }
        }
        let fuels: Option<f64> = case.past.iter().map(|h| h.fuel.map(f64::from)).sum();
        let shelf = f64::from(case.shelf) / 1e3;
        let fuel = there("propane").expect("fuel");
        let logged: f64 = case.past.iter().filter_map(|h| h.fuel.map(f64::from)).sum();
        prop_assert!(fuel <= (shelf - logged / 1e3).max(0.0) + 1e-9);
        if let Some(burnt) = fuels {
            prop_assert!((fuel - (shelf - burnt / 1e3).max(0.0)).abs() < 1e-9);
        }
        }

    /// What is listed is enough, and one pack less is not.
    #[test]
    fn the_order_list_is_enough_and_no_pack_too_many(
        case in case(),
        sure in any::<bool>(),
        begun in any::<bool>(),
    ) {
        let build = if begun { case.told(&case.journal()) } else { case.build() };
        let estimates = estimate(&build);
        let schedule = case.schedule(&estimates);
        let bill = bill(&build, &estimates, &schedule);
        let wish = Wish { sure, stages: false };
        let list = purchases(&build, &bill, wish);
        let mut bought: BTreeMap<_, f64> = BTreeMap::new();
        let mut packs = Vec::new();
        for order in list.iter().flat_map(|p| &p.orders) {
            for line in &order.lines {
                let pack = &build.suppliers[&order.supplier].packs[line.pack];
                *bought.entry(pack.of.clone()).or_default() += pack.size.si() * f64::from(line.count);
                packs.push(pack);
            }
        }
        let end = if sure { End::Most } else { End::Likely };
        // New sand takes its clay and coal before any is used.
        let bare = walk(&build, &estimates, &schedule, (end, Gates::AtFettling), &BTreeMap::new());
        for (of, mass) in &mut bought {
            *mass -= mixed(&build, &bare, of, end);
        }
        // A milligram is what packs are counted in.
        for (name, walk) in walk(&build, &estimates, &schedule, (end, Gates::AtFettling), &bought).stocks {
            let least = walk.lowest(None).expect("a point").1;
            prop_assert!(least > -2e-6, "{name} falls to {least}");
        }
        for pack in packs {
            let mut fewer = bought.clone();
            *fewer.get_mut(&pack.of).expect("bought") -= pack.size.si();
            let short = &walk(&build, &estimates, &schedule, (end, Gates::AtFettling), &fewer).stocks[&pack.of];
            let least = short.lowest(None).expect("a point").1;
            prop_assert!(least < 0.0, "without one pack {} falls only to {least}", pack.of);
        }
    }

    /// Bought month by month, each stage is there before the stock runs out.
    #[test]
    fn stages_come_in_time(case in case()) {
        let build = case.build();
        let estimates = estimate(&build);
        let bill = bill(&build, &estimates, &case.schedule(&estimates));
        let flow = bill.flow.as_ref().expect("a walk");
        let mut bought: BTreeMap<_, f64> = BTreeMap::new();
        let new = |of: &str| mixed(&build, &flow.likely, of, End::Likely);
        let sand = bill.lines().find(|l| *l.id == *"sand").and_then(|l| l.by);
        for purchase in purchases(&build, &bill, Wish { sure: false, stages: true }) {
            for cover in &purchase.covers {
                let so_far = bought.entry(cover.need.of.clone()).or_default();
                // The day named is the first on which what was bought before is not enough.
                let of = &cover.need.of;
                let walk = &flow.likely.stocks[of];
                let mixed = sand.filter(|_| new(of) > 0.0);
                // What is mixed into new sand is gone on the day of the sand, and not before.
                let after = walk.runs_short(*so_far - new(of) + 1e-6);
                let after = after.map(|day| mixed.map_or(day, |sand| day.max(sand)));
                let short = walk.runs_short(*so_far + 1e-6).into_iter().chain(after).min();
                prop_assert_eq!(short.or(mixed), cover.need.by, "{}", of);
                *so_far += cover.bought;
            }
        }
        for (name, walk) in &flow.likely.stocks {
            let bought = bought.get(name).copied().unwrap_or(0.0);
            let short = -walk.lowest(None).expect("a point").1 + new(name);
            prop_assert!(short <= bought + 2e-6, "{}", name);
        }
    }
}
