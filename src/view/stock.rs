//! What the shop keeps: where it is, what is on its way, what was paid for it.

use super::text::{Look, Side, finished};
use super::{FigureView, Head};
use crate::figure::{Alike, Kind, show};
use crate::model::Build;
use crate::supply::{Holding, money};
use crate::yaml::Refused;
use serde::Serialize;

/// Everything that the shop keeps, or one stock of it.
#[derive(Debug, Clone, Serialize)]
pub struct StockView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// Each stock, metal first.
    pub stocks: Vec<StockRow>,
    /// Whether one was asked for: then its balance is told.
    #[serde(skip)]
    one: bool,
    /// What was paid for all of them.
    pub spent: String,
    /// What the shelf stands at, as far as prices are known.
    pub worth: String,
    /// Currency of every price.
    pub currency: String,
}

/// One stock.
#[derive(Debug, Clone, Serialize)]
pub struct StockRow {
    /// Its name.
    pub id: String,
    /// Its unit: kg, or pieces.
    pub unit: &'static str,
    /// On the shelf.
    pub there: Option<FigureView>,
    /// Ready to be melted again.
    pub returns: Option<FigureView>,
    /// In moulds, cores and pots, kg.
    pub in_moulds_kg: f64,
    /// In castings, kg.
    pub castings_kg: f64,
    /// On order, in its unit.
    pub on_order: f64,
    /// The first day on which some of that is expected.
    pub expected: Option<String>,
    /// What was paid for it.
    pub spent: String,
    /// What lies on the shelf, at what was paid for it last.
    pub worth: Option<String>,
    /// All that came in and all that is gone.
    pub balance: Vec<BalanceRow>,
    /// What came in less what is gone and where all of it is: nothing.
    pub unaccounted: f64,
    /// The same in the units of the build, to a gram.
    #[serde(skip)]
    open: String,
    /// Heats of it of which no charge is logged, and what was taken for them as estimated.
    pub uncharged: Vec<Uncharged>,
    /// What was received.
    pub receipts: Vec<ReceiptRow>,
}

/// A way in or out, or a place where it is.
#[derive(Debug, Clone, Serialize)]
pub struct BalanceRow {
    /// In words.
    pub what: &'static str,
    /// How much, in the unit of the stock; below zero where it is gone.
    pub value: f64,
    /// The same in the units of the build.
    #[serde(skip)]
    pub shown: String,
}

/// A heat of which no charge is logged.
#[derive(Debug, Clone, Serialize)]
pub struct Uncharged {
    /// Its name.
    pub heat: String,
    /// What was taken for it as estimated, kg.
    pub mass_kg: f64,
    /// The same in the units of the build.
    #[serde(skip)]
    pub shown: String,
}

/// Something that was received.
#[derive(Debug, Clone, Serialize)]
pub struct ReceiptRow {
    /// The day.
    pub day: String,
    /// How much, in the unit of the stock.
    pub value: f64,
    /// The same in the units of the build.
    #[serde(skip)]
    pub shown: String,
    /// What was paid.
    pub price: Option<String>,
}

impl StockView {
    /// Of everything, or of the stock of this name.
    ///
    /// # Errors
    /// Where no stock bears the name.
    pub fn new(build: &Build, holdings: &[Holding], of: Option<&str>) -> Result<Self, Refused> {
        let of = of.map(|name| name.strip_suffix("-returns").unwrap_or(name));
        if let Some(name) = of.filter(|name| holdings.iter().all(|h| *h.id != **name)) {
            let says = format!("no stock is called `{name}`");
            let known = holdings.iter().map(|h| &*h.id);
            return Err(Refused::unknown(says, name, known, "`pourwright stock` lists them"));
        }
        let shown: Vec<&Holding> =
            holdings.iter().filter(|h| of.is_none_or(|name| *h.id == *name)).collect();
        Ok(Self {
            head: Head::new(build),
            stocks: shown.iter().map(|h| row(build, h)).collect(),
            one: of.is_some(),
            spent: money::shown(shown.iter().map(|h| h.spent).sum()),
            worth: money::shown(shown.iter().filter_map(|h| h.worth).sum()),
            currency: build.header.currency.to_string(),
        })
    }

    /// As tables.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look) + "\n";
        out += &self.table(look);
        if self.one {
            self.stocks.iter().for_each(|row| out += &row.text(look));
        } else {
            let unknown = self.stocks.iter().filter(|row| !row.is_told()).map(|row| &*row.id);
            let unknown: Vec<&str> = unknown.collect();
            if !unknown.is_empty() {
                let says = format!("no amount is known of {}", unknown.join(", "));
                out += &(look.wrapped(&says, 1) + "\n");
            }
            let says = "`stock NAME` shows what came and where it went; `log counted` corrects it";
            out += &(look.wrapped(says, 1) + "\n");
        }
        out
    }

    fn table(&self, look: &Look) -> String {
        let mut table = look.table(&[
            ("stock", Side::Left),
            ("there", Side::Right),
            ("returns", Side::Right),
            ("on order", Side::Right),
            ("expected", Side::Left),
            ("spent", Side::Right),
            ("worth", Side::Right),
        ]);
        let figure = |f: &Option<FigureView>| f.as_ref().map_or("", |f| &f.shown).to_owned();
        for row in self.stocks.iter().filter(|row| self.one || row.is_told()) {
            table.add_row([
                row.id.clone(),
                figure(&row.there),
                figure(&row.returns),
                row.balance.iter().find(|b| b.what == ON_ORDER).map_or("", |b| &b.shown).to_owned(),
                row.expected.clone().unwrap_or_default(),
                row.spent.clone(),
                row.worth.clone().unwrap_or_default(),
            ]);
        }
        let mut last = vec![String::new(); 7];
        (last[0], last[5], last[6]) =
            (format!("together, {}", self.currency), self.spent.clone(), self.worth.clone());
        table.add_row(last);
        finished(&table)
    }
}

/// What of a balance is on its way: beside it, not in it.
const ON_ORDER: &str = "on order";

impl StockRow {
    /// Whether anybody told how much there is, was or will be.
    fn is_told(&self) -> bool {
        self.there.is_some() || self.on_order > 0.0 || !self.receipts.is_empty()
    }

    fn text(&self, look: &Look) -> String {
        let mut out = look.heading("Where it came from and where it went");
        let mut table = look.table(&[("", Side::Left), ("how much", Side::Right)]);
        for row in self.balance.iter().filter(|row| row.what != ON_ORDER) {
            table.add_row([row.what.to_owned(), row.shown.clone()]);
        }
        table.add_row(["not accounted for".to_owned(), self.open.clone()]);
        out += &finished(&table);
        if !self.uncharged.is_empty() {
            let each = self.uncharged.iter().map(|u| format!("{} for {}", u.shown, u.heat));
            let each = each.collect::<Vec<_>>().join(", ");
            let says = format!("(estimated, since no charge is logged: {each}; weigh and count)");
            out += &(look.wrapped(&says, 1) + "\n");
        }
        if !self.receipts.is_empty() {
            out += &look.heading("Received");
            let columns = [("day", Side::Left), ("how much", Side::Right), ("paid", Side::Right)];
            let mut table = look.table(&columns);
            for row in &self.receipts {
                let price = row.price.clone().unwrap_or_else(|| "no price".into());
                table.add_row([row.day.clone(), row.shown.clone(), price]);
            }
            out += &finished(&table);
        }
        out
    }
}

fn row(build: &Build, holding: &Holding) -> StockRow {
    let units = build.header.units;
    let kind = build.kind_of(&holding.id);
    let told = holding.ways.iter().map(|(_, kg)| *kg).chain([holding.now.stock]);
    let told = told.chain(holding.on_order.iter().map(|order| order.mass));
    let alike = Alike::of(kind, told, units);
    let shown = |much: f64| alike.show(much);
    let view = |f: &Option<_>| {
        f.as_ref().map(|f: &crate::figure::Figure<_>| FigureView::new(f.node(), units))
    };
    let (mut there, mut returns) = (view(&holding.there), view(&holding.returns));
    super::alike([&mut there, &mut returns].into_iter().flatten());
    let line = |what, value: f64| BalanceRow { what, value, shown: shown(value) };
    let ways = holding.ways.iter();
    let ways = ways.map(|(way, kg)| line(way.words(), if way.is_in() { *kg } else { -kg }));
    let now = holding.now;
    let here = [
        ("= on the shelf", now.stock),
        ("= returns", now.returns),
        ("= in moulds and cores", now.in_moulds),
        ("= in castings", now.castings),
    ];
    let here = here.into_iter().filter(|(_, kg)| kg.abs() > 1e-9).map(|(what, kg)| line(what, kg));
    let ordered: f64 = holding.on_order.iter().map(|o| o.mass).sum();
    let coming = (ordered > 0.0).then(|| line(ON_ORDER, ordered));
    StockRow {
        id: holding.id.to_string(),
        unit: kind.symbol(),
        there,
        returns,
        in_moulds_kg: now.in_moulds,
        castings_kg: now.castings,
        on_order: ordered,
        expected: holding.on_order.iter().filter_map(|o| o.expected).min().map(|d| d.to_string()),
        spent: money::shown(holding.spent),
        worth: holding.worth.map(money::shown),
        balance: ways.chain(here).chain(coming).collect(),
        unaccounted: holding.unaccounted(),
        open: shown((holding.unaccounted() * 1e3).round() / 1e3 + 0.0),
        uncharged: holding
            .uncharged
            .iter()
            .map(|(heat, kg)| Uncharged {
                heat: heat.to_string(),
                mass_kg: *kg,
                shown: show(Kind::Mass, *kg, units),
            })
            .collect(),
        receipts: holding
            .receipts
            .iter()
            .map(|r| ReceiptRow {
                day: r.at.date().to_string(),
                value: r.mass,
                shown: shown(r.mass),
                price: r.price.map(money::shown),
            })
            .collect(),
    }
}
