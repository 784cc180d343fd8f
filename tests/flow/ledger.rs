//! An independent simulator of the shop over random journals: orders, late parcels, counts, what is
//! given away, moulds, rework, scrap, machining, and entries taken back. It shares nothing with the
//! tool but the sand of a mould and the mass of a finished part.

use super::*;
use pourwright::supply::{Way, stock};
use proptest::prelude::*;
use rust_decimal::Decimal;
use std::fmt::Write;

const SHOP: &str = "\
build: {title: Ledger, begun: 2026-01-10}
shop:
  furnaces: {drum: {fuel: propane, efficiency: 10 %}}
  flasks: {box: {inside: 400 x 300 mm, cope: 120 mm, drag: 120 mm}}
  sand: {kind: green-sand, on-hand: 200 kg}
  stock: {A356: 20 kg, propane: 30 kg, gloves: 3 pieces}
sands: {green-sand: {loss: 5 %, additions: {}}}
consumables:
  degasser: none
  aluminium-flux: none
  parting-powder: none
  vent-wire: {of-mould: 2 pieces}
  tip: {of-heat: 1 piece}
  wash: {of-heat: 30 g}
patterns: {block-pattern: {made-of: wood, size: 150 x 100 x 40 mm}}
parts:
  block:
    quantity: 40
    casting: {pattern: block-pattern, alloy: A356, mass: 1.2 kg, machined: 60 cm2}
metals:
  scrap-wheels: {composition: {Si: 7 %}, balance: Al, amount: 9 kg}
";
/// What can be ordered, received, counted and given away; whether it is counted in pieces.
const KEPT: [(&str, bool); 8] = [
    ("A356", false),
    ("A356-returns", false),
    ("sand", false),
    ("propane", false),
    ("scrap-wheels", false),
    ("vent-wire", true),
    ("tip", true),
    ("gloves", true),
];

#[derive(Debug, Clone)]
enum Does {
    Orders(usize, u32),
    Receives(usize, u32, u32),
    Counts(usize, u32),
    Gives(usize, u32),
    /// Ingot, returns and scrap charged, in 10 g; how far it goes; what becomes of it.
    Casts([u32; 3], u8, u8),
    Machines,
    /// Takes back the entry so many before, if that can be.
    TakesBack(usize),
}

fn does() -> impl Strategy<Value = Does> {
    let of = || 0..KEPT.len();
    prop_oneof![
        (of(), 1..300u32).prop_map(|(of, n)| Does::Orders(of, n)),
        (of(), 1..300u32, 0..9000u32).prop_map(|(of, n, price)| Does::Receives(of, n, price)),
        (of(), 0..300u32).prop_map(|(of, n)| Does::Counts(of, n)),
        (of(), 1..40u32).prop_map(|(of, n)| Does::Gives(of, n)),
        (200..500u32, 0..150u32, 0..90u32, 0..4u8, 0..5u8)
            .prop_map(|(i, r, s, far, what)| Does::Casts([i, r, s], far, what)),
        Just(Does::Machines),
        (1..4usize).prop_map(Does::TakesBack),
    ]
}

/// An entry, and what it does to the shop.
type Entry = (String, Does);

/// The shop by the simulator.
#[derive(Debug, Default)]
struct Shop {
    there: BTreeMap<&'static str, f64>,
    ordered: Vec<(&'static str, f64)>,
    spent: Decimal,
    castings: f64,
    chips: f64,
    /// Good castings that are not machined: what each weighs.
    rough: Vec<f64>,
}

/// Of a mould that was cast: metal out of it, and the casting, kg.
fn weighed([ingot, returns, scrap]: [u32; 3]) -> [f64; 3] {
    let charge = f64::from(ingot + returns + scrap) / 100.0;
    let out = ((charge - 0.2) * 0.9 * 1000.0).round() / 1000.0;
    [charge, out, (out * 0.6 * 1000.0).round() / 1000.0]
}

impl Shop {
    fn adds(&mut self, name: &'static str, much: f64) {
        *self.there.entry(name).or_default() += much;
    }

    fn takes(&mut self, does: &Does, (sand, finished): (f64, f64)) {
        let much = |of: usize, n: u32| if KEPT[of].1 { f64::from(n) } else { f64::from(n) / 10.0 };
        match does {
            Does::Orders(of, n) => self.ordered.push((KEPT[*of].0, much(*of, *n))),
            Does::Receives(of, n, price) => {
                // What was taken before lay there, whatever is received now.
                let there = self.there.entry(KEPT[*of].0).or_default();
                *there = there.max(0.0);
                self.adds(KEPT[*of].0, much(*of, *n));
                self.spent += Decimal::new(i64::from(*price), 2);
                let mut left = much(*of, *n);
                for open in self.ordered.iter_mut().filter(|o| o.0 == KEPT[*of].0) {
                    let came = open.1.min(left);
                    open.1 -= came;
                    left -= came;
                }
            }
            Does::Counts(of, n) => {
                self.there.insert(KEPT[*of].0, much(*of, *n));
            }
            Does::Gives(of, n) => self.adds(KEPT[*of].0, -much(*of, *n)),
            Does::Casts(charge, far, what) => self.casts(*charge, (*far, *what), sand),
            Does::Machines => {
                for each in std::mem::take(&mut self.rough) {
                    self.chips += (each - finished).max(0.0);
                    self.castings -= (each - finished).max(0.0);
                }
            }
            Does::TakesBack(_) => {}
        }
    }

    fn casts(&mut self, charge: [u32; 3], (far, what): (u8, u8), sand: f64) {
        self.adds("sand", -sand);
        self.adds("vent-wire", -2.0);
        if far == 0 {
            return;
        }
        let [all, out, casting] = weighed(charge);
        self.adds("A356", -f64::from(charge[0]) / 100.0);
        self.adds("A356-returns", -f64::from(charge[1]) / 100.0);
        // More than was known of lay there.
        let pile = self.there["A356-returns"].max(0.0);
        self.there.insert("A356-returns", pile + 0.2);
        self.adds("scrap-wheels", -f64::from(charge[2]) / 100.0);
        self.adds("propane", -all * 0.2);
        self.adds("tip", -1.0);
        if far == 1 {
            return;
        }
        self.adds("sand", sand * 0.95);
        if far == 2 {
            return;
        }
        self.adds("A356-returns", 0.95 * (out - casting));
        // Scrap at once, or after it was worked on, is melted again.
        if matches!(what, 1 | 3) {
            self.adds("A356-returns", casting);
        } else {
            self.castings += casting;
            self.rough.push(casting);
        }
    }
}

/// The lines of the journal for it; `n` names its mould.
fn lines(does: &Does, n: usize, has_good: bool) -> Vec<String> {
    let of = |of: usize| KEPT[of].0;
    let much = |of: usize, n: u32| match KEPT[of].1 {
        true => format!("pieces: {n}"),
        false => format!("mass: {}.{} kg", n / 10, n % 10),
    };
    match does {
        Does::Orders(s, m) => vec![format!("ordered: {{stock: {}, {}}}", of(*s), much(*s, *m))],
        Does::Receives(s, m, price) => {
            let price = format!("{}.{:02}", price / 100, price % 100);
            vec![format!("received: {{stock: {}, {}, price: {price}}}", of(*s), much(*s, *m))]
        }
        Does::Counts(s, m) => vec![format!("counted: {{stock: {}, {}}}", of(*s), much(*s, *m))],
        Does::Gives(s, m) => vec![format!("given-away: {{stock: {}, {}}}", of(*s), much(*s, *m))],
        Does::Casts(charge, far, what) => {
            let [all, out, casting] = weighed(*charge);
            let names = ["ingot", "returns", "scrap-wheels"];
            let charged = names.iter().zip(charge).filter(|(_, m)| **m > 0);
            let charged = charged.map(|(name, m)| format!("{name}: {}0 g", m));
            let charged = charged.collect::<Vec<_>>().join(", ");
            let fuel = all * 0.2;
            let mut all = vec![
                format!("rammed: {{mould: M{n}, pattern: block-pattern, castings: {{block: 1}}}}"),
                format!(
                    "poured: {{heat: H{n}, alloy: A356, charge: {{{charged}}}, heel: 200 g, fuel: {fuel} kg, moulds: [M{n}]}}"
                ),
                format!("shaken-out: {{mould: M{n}, mass: {out} kg}}"),
            ];
            all.truncate(1 + usize::from(*far).min(2));
            let found = |what: &str, mass: &str| {
                format!("inspected: {{mould: M{n}, part: block, disposition: {what}{mass}}}")
            };
            let mass = format!(", mass: {casting} kg");
            if *far == 3 {
                all.extend(match what {
                    1 => vec![found("scrap", &mass)],
                    2 => vec![found("rework", &mass), found("accept", "")],
                    3 => vec![found("rework", &mass), found("scrap", &mass)],
                    4 => vec![found("concession", &mass)],
                    _ => vec![found("accept", &mass)],
                });
            }
            all
        }
        Does::Machines if has_good => vec!["done: {part: block, step: machine}".into()],
        Does::Machines | Does::TakesBack(_) => Vec::new(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 120, ..ProptestConfig::default() })]

    #[test]
    fn the_stock_is_what_a_simulator_says(all in prop::collection::vec(does(), 1..40)) {
        let bare = read(SHOP);
        let estimates = estimate(&bare);
        let casting = estimates.castings[0].as_ref().expect("cast");
        let sand = casting.mould.sand.as_ref().expect("sand").si();
        let finished = casting.size.net_mass.as_ref().expect("a mass").si();
        let (mut entries, mut journal): (Vec<Option<Entry>>, String) = Default::default();
        let (mut hour, mut good) = (0, false);
        let mut write = |event: &str| {
            hour += 1;
            let at = day(0).and_hms_opt(8, 0, 0).expect("an hour") + chrono::TimeDelta::hours(hour);
            write!(journal, "---\nid: e-{hour}\nat: {}\n{event}\n", at.format("%Y-%m-%d %H:%M")).expect("text");
            format!("e-{hour}")
        };
        for (n, does) in all.iter().enumerate() {
            if let Does::TakesBack(back) = does {
                // What others rest on stays.
                let at = entries.len().checked_sub(*back);
                let Some(at) = at else { continue };
                let plain = |e: &Entry| !matches!(e.1, Does::Casts(..) | Does::Machines);
                if let Some((id, _)) = entries[at].take_if(|e| plain(e)) {
                    write(&format!("void: {{entry: {id}, why: a slip}}"));
                }
                continue;
            }
            let ids: Vec<String> = lines(does, n, good).iter().map(|line| write(line)).collect();
            let Some(id) = ids.last() else { continue };
            entries.push(Some((id.clone(), does.clone())));
            good |= matches!(does, Does::Casts(_, 3, what) if !matches!(what, 1 | 3));
        }
        let mut shop = Shop::default();
        let start = [("A356", 20.0), ("propane", 30.0), ("sand", 200.0), ("scrap-wheels", 9.0), ("gloves", 3.0)];
        start.iter().for_each(|(name, much)| shop.adds(name, *much));
        shop.adds("A356-returns", 0.0);
        entries.iter().flatten().for_each(|(_, does)| shop.takes(does, (sand, finished)));

        let today = day(0) + Days::new(30);
        let today = pourwright::Today { asked: Some(today), clock: today };
        let build = pourwright::read(SHOP.into(), journal.clone().into_bytes(), today);
        let build = build.unwrap_or_else(|f| panic!("{}\n{journal}", f[0]));
        let holdings = stock(&build, &estimate(&build));
        let told = |name: &str| {
            let (id, pile) = name.strip_suffix("-returns").map_or((name, false), |id| (id, true));
            let holding = holdings.iter().find(|h| *h.id == *id)?;
            let figure = if pile { holding.returns.as_ref() } else { holding.there.as_ref() };
            figure.map(Figure::si)
        };
        for (name, much) in &shop.there {
            // Of what nobody told, nothing is known to be there.
            let Some(got) = told(name) else { continue };
            prop_assert!((got - much.max(0.0)).abs() < 1e-6, "{}: {} by hand {}\n{}", name, got, much, journal);
        }
        for (name, _) in KEPT {
            let open = |o: &&(&str, f64)| o.0 == name;
            let by_hand: f64 = shop.ordered.iter().filter(open).map(|o| o.1).sum();
            let got: f64 = build.history.on_order.iter().filter(|o| *o.of == *name).map(|o| o.mass).sum();
            prop_assert!((got - by_hand).abs() < 1e-6, "{} on order: {} by hand {}", name, got, by_hand);
        }
        let spent: Decimal = holdings.iter().map(|h| h.spent).sum();
        prop_assert_eq!(spent, shop.spent);
        for holding in &holdings {
            prop_assert!(holding.unaccounted().abs() < 1e-6, "{:?}", holding);
        }
        let metal = holdings.iter().find(|h| *h.id == *"A356").expect("metal");
        let chips = metal.ways.iter().find(|w| w.0 == Way::Chips).map_or(0.0, |w| w.1);
        prop_assert!((chips - shop.chips).abs() < 1e-6, "chips {} by hand {}\n{}", chips, shop.chips, journal);
        prop_assert!((metal.now.castings - shop.castings).abs() < 1e-6, "castings {} by hand {}", metal.now.castings, shop.castings);
    }
}
