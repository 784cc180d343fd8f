//! Who sells what: `suppliers:` of the manifest.

use super::shop::weekdays;
use super::{Id, Making, Part, Shop};
use crate::figure::{
    Amount, Because, Density, Energy, Figure, Kind, Mass, Node, Range, Time, Volume,
};
use crate::handbook::Handbook;
use crate::handbook::formulas::metal::part_mass;
use crate::yaml::{self, Code, Cursor, nearest};
use chrono::{Datelike, Days, NaiveDate};
use indexmap::IndexMap;
use rust_decimal::Decimal;

/// Somebody who sells.
#[derive(Debug, Clone, Default)]
pub struct Supplier {
    /// What it is called; its id where no name was given.
    pub name: Id,
    /// Charge for one delivery.
    pub charge: Decimal,
    /// Carriage for 1 kg, beside that.
    pub by_mass: Decimal,
    /// The least that an order must be worth, goods alone.
    pub minimum: Option<Decimal>,
    /// What an order is worth, goods alone, from which on it is carried for nothing.
    pub free_from: Option<Decimal>,
    /// Tax on goods and carriage, as a share: prices are without it.
    pub tax: Decimal,
    /// Time from order to arrival.
    pub delivery: Option<Figure<Time>>,
    /// Days of the week, from Monday, on which it takes no orders.
    pub closed: [bool; 7],
    /// What it sells.
    pub packs: Vec<Pack>,
}

/// Suppliers whose deliveries are weighed against each other, one bit each.
pub const MOST_SUPPLIERS: usize = 128;

/// Days between the day a parcel should be there and the day that it is needed on.
const SLACK: u64 = 1;

impl Supplier {
    /// The last day to order what is needed on a day: the longest delivery before it, a day of slack,
    /// and no day on which the supplier is closed.
    pub fn order_by(&self, needed: NaiveDate) -> Option<NaiveDate> {
        let days = self.delivery.as_ref().map_or(0.0, |d| (d.high() / 86_400.0).ceil());
        let mut day = needed.checked_sub_days(Days::new(days as u64 + SLACK))?;
        // A week has an open day, or none is known.
        for _ in 0..7 {
            if !self.closed[day.weekday().num_days_from_monday() as usize] {
                break;
            }
            day = day.pred_opt()?;
        }
        Some(day)
    }

    /// The first day for which an order of a day comes in time, as [`Supplier::order_by`] tells it;
    /// none where the delivery is not known. The plan waits for the first of these days of all who sell
    /// a material, and `buy` orders from those alone for whom it is no later than the day needed.
    pub fn soonest(&self, ordered: NaiveDate) -> Option<NaiveDate> {
        self.delivery.as_ref()?;
        let comes = |needed: &NaiveDate| self.order_by(*needed).is_some_and(|by| by >= ordered);
        ordered.iter_days().take(10 * 366).find(comes)
    }
}

/// A pack that is sold: a bag, an ingot, a cylinder.
#[derive(Debug, Clone)]
pub struct Pack {
    /// Name of the stock it goes to.
    pub of: Id,
    /// How much is in one: kg, or pieces.
    pub size: Figure<Amount>,
    /// The same as it is sold, where that is by volume or energy.
    pub sold: Option<Node>,
    /// What one weighs, where it is counted in pieces and that was told.
    pub mass: Option<Figure<Mass>>,
    /// Price of one.
    pub price: Option<Decimal>,
    /// Price of one when so many or more are taken, the fewest first.
    pub breaks: Vec<(u32, Decimal)>,
    /// How many are to be had; none for as many as one likes.
    pub at_most: Option<u32>,
}

impl Pack {
    /// What one weighs, kg; nothing where nobody told.
    pub fn weighs(&self) -> f64 {
        match self.size.node().kind() {
            Kind::Mass => self.size.si(),
            _ => self.mass.as_ref().map_or(0.0, Figure::si),
        }
    }
}

/// Whether a stock is counted in pieces.
pub fn is_counted(book: &Handbook, shop: &Shop, name: &str) -> bool {
    let own = || shop.stock.get(name).is_some_and(|s| s.node().kind() == Kind::Pieces);
    let weighed = || {
        let metal = book.alloys.contains_key(name) || book.sands.contains_key(name);
        metal || book.fuels.contains_key(name)
    };
    match book.consumables.get(name) {
        Some(consumable) => consumable.rate.is_counted(),
        None => !weighed() && (shop.crucibles_once().any(|id| **id == *name) || own()),
    }
}

/// Names under which stock can be kept and bought; `metals` are those of the manifest.
pub fn stock_names(book: &Handbook, shop: &Shop, metals: Vec<Id>) -> Vec<Id> {
    let mut names = usual_stocks(book);
    names.extend(metals);
    names.extend(shop.stock.keys().cloned());
    names.extend(shop.crucibles_once().cloned());
    names
}

/// Names of stock that the handbook has, with what the builder added to its tables.
fn usual_stocks(book: &Handbook) -> Vec<Id> {
    let mut names: Vec<Id> = vec!["sand".into()];
    names.extend(book.alloys.keys().cloned());
    names.extend(book.alloys.keys().map(|alloy| format!("{alloy}-returns").into()));
    names.extend(book.sands.keys().cloned());
    names
        .extend(book.sands.values().flat_map(|s| s.additions.iter().map(|(name, _)| name.clone())));
    names.extend(book.consumables.keys().cloned());
    names.extend(book.fuels.keys().cloned());
    names
}

/// Faults for stock of the shop under a name that is a slip of the pen away from a usual one: any
/// other is the builder's own.
pub(super) fn check_stock(cursor: &Cursor<'_>, book: &Handbook, shop: &Shop) {
    let usual = usual_stocks(book);
    for name in shop.stock.keys() {
        let slip =
            |n: &&Id| strsim::damerau_levenshtein(&n.to_lowercase(), &name.to_lowercase()) <= 1;
        if !usual.contains(name)
            && let Some(near) = usual.iter().find(slip)
            && let Some(value) = cursor.below("stock").and_then(|c| c.below(name))
        {
            let hint = format!("did you mean `{near}`? if not, choose a name less like it");
            let says = format!("no stock is called `{name}`");
            value.fault_at_key(Code::UnknownStock, says, hint);
        }
    }
}

/// A fault where a part comes from somebody who is a slip of the pen away from a supplier: any other
/// name is somebody else's.
pub(super) fn check_seller(
    parts: &Cursor<'_>,
    id: &Id,
    part: &Part,
    suppliers: &IndexMap<Id, Supplier>,
) {
    let (key, seller) = match &part.making {
        Making::Bought(bought) => ("bought", bought.supplier.as_ref()),
        Making::Made(made) => ("made", made.supplier.as_ref()),
        Making::Cast(_) => return,
    };
    let Some(seller) = seller.map(|s| s.to_lowercase()) else { return };
    let names = || suppliers.iter().flat_map(|(id, s)| [id, &s.name]);
    if names().any(|name| name.to_lowercase() == seller) {
        return;
    }
    let slip = |n: &&Id| strsim::damerau_levenshtein(&n.to_lowercase(), &seller) <= 2;
    let value = parts.below(id).and_then(|c| c.below(key)).and_then(|c| c.below("supplier"));
    if let (Some(near), Some(value)) = (names().find(slip), value) {
        let hint = format!("did you mean `{near}`? if not, choose a name less like it");
        value.fault(Code::Word, format!("no supplier is called `{seller}`"), hint);
    }
}

/// What can be sold.
pub(super) struct Sold<'a> {
    pub book: &'a Handbook,
    pub shop: &'a Shop,
    pub names: &'a [Id],
}

pub(super) fn read(cursor: &Cursor<'_>, names: &Sold<'_>) -> IndexMap<Id, Supplier> {
    let entries = cursor.entries();
    if entries.len() > MOST_SUPPLIERS {
        let says = format!("{} suppliers: at most {MOST_SUPPLIERS} are compared", entries.len());
        cursor.fault_at_key(Code::Size, says, "leave out those that sell nothing for this build");
    }
    let each = entries.into_iter();
    each.filter_map(|(id, c)| Some((id.clone(), supplier(id, &c, names)?))).collect()
}

fn supplier(id: Id, cursor: &Cursor<'_>, names: &Sold<'_>) -> Option<Supplier> {
    let mut f = cursor.fields()?;
    let name = f.take("name", |c| c.text()).unwrap_or(id);
    let charge = f.take("delivery-charge", price).unwrap_or_default();
    let by_mass = f.take("delivery-per-kg", price).unwrap_or_default();
    let minimum = f.take("order-minimum", price);
    let free_from = f.take("delivery-free-from", price);
    let tax = f.take("tax", tax).unwrap_or_default();
    let delivery = f.take("delivery", |c| c.figure("delivery time"));
    let closed = f.get("closed").map(|days| weekdays(&days));
    let closed = closed.unwrap_or([false, false, false, false, false, true, true]);
    let packs = f.need("packs", "[{of: A356, size: 10 kg, price: 58.00}]", |c| {
        Some(c.items().iter().filter_map(|c| pack(c, names)).collect())
    });
    f.take("notes", |c| c.text());
    f.done();
    Some(Supplier {
        name,
        charge,
        by_mass,
        minimum,
        free_from,
        tax,
        delivery,
        closed,
        packs: packs?,
    })
}

/// A tax in per cent, exact, as a share.
fn tax(cursor: &Cursor<'_>) -> Option<Decimal> {
    let text = cursor.text()?;
    let percent = text.trim().strip_suffix('%').and_then(|t| t.trim().parse::<Decimal>().ok());
    let share = percent.map(|p| p / Decimal::ONE_HUNDRED);
    let sound = share.filter(|s| (Decimal::ZERO..=Decimal::ONE).contains(s) && s.scale() <= 5);
    if sound.is_none() {
        cursor.fault(Code::Shape, "a tax is a percentage", "write 20 %");
    }
    sound
}

fn pack(cursor: &Cursor<'_>, sold: &Sold<'_>) -> Option<Pack> {
    let mut f = cursor.fields()?;
    let of = f.need("of", "A356", |c| stock_name(c, sold.names));
    let density = f.take("density", |c| c.figure("density of what is sold"));
    let mass = f.take("mass", |c| c.figure("mass of one pack"));
    let size = f.need("size", "10 kg", |c| size(c, of.as_ref(), density.as_ref(), sold));
    let each = f.take("price", price);
    let breaks = f.get("breaks").map(|c| breaks(&c)).unwrap_or_default();
    if each.is_none() && !breaks.is_empty() && f.present(&["price"]).is_empty() {
        let hint = "add `price: 58.00`, the price of a single one";
        f.cursor().fault(Code::MissingKey, "price breaks without a `price` to start from", hint);
    }
    let at_most = f.take("at-most", |c| c.count());
    f.take("notes", |c| c.text());
    f.done();
    let (size, sold) = size?;
    Some(Pack { of: of?, size, sold, mass, price: each, breaks, at_most })
}

/// How much is in a pack, as kg or pieces; and as it is sold, where that is by volume or energy.
fn size(
    cursor: &Cursor<'_>,
    of: Option<&Id>,
    density: Option<&Figure<Density>>,
    sold: &Sold<'_>,
) -> Option<(Figure<Amount>, Option<Node>)> {
    let of = of?;
    let Some(kind) = cursor.kind(&[Kind::Mass, Kind::Pieces, Kind::Volume, Kind::Energy]) else {
        cursor.amount("one pack", false)?;
        return None;
    };
    let counted = is_counted(sold.book, sold.shop, of);
    let amiss = |says: String, hint: &str| {
        cursor.fault(Code::Unit, says, hint);
        None
    };
    match (kind, counted) {
        (Kind::Pieces, true) | (Kind::Mass, false) => {
            Some((cursor.amount("one pack", false)?, None))
        }
        (_, true) => amiss(format!("`{of}` is counted in pieces"), "write `size: 10 pieces`"),
        (Kind::Pieces, false) => {
            amiss(format!("`{of}` is sold by mass"), "write what one weighs: `size: 10 kg`")
        }
        (Kind::Volume, false) => {
            let volume: Figure<Volume> = cursor.figure("one pack as it is sold")?;
            let Some(density) = density else {
                let says = format!("the density of `{of}` is not known");
                return amiss(says, "add `density: 0.85 kg/L` to the pack");
            };
            let mass = part_mass::figure(&volume, density).named("one pack").amount();
            Some((mass, Some(volume.node().clone())))
        }
        _ => {
            let energy: Figure<Energy> = cursor.figure("one pack as it is sold")?;
            let Some(Some(value)) = sold.book.fuels.get(of) else {
                return amiss(
                    format!("`{of}` is not a fuel of known heating value"),
                    "write its mass",
                );
            };
            let nodes = vec![energy.node().clone(), value.node().clone()];
            let (e, v) = (energy.node().range(), value.node().range());
            let range =
                Range { low: e.low / v.high, likely: e.likely / v.likely, high: e.high / v.low };
            let because = Because::Closed("energy / heating value", nodes);
            Some((Figure::new("one pack", range, because), Some(energy.node().clone())))
        }
    }
}

/// The name of a stock that the shop could keep.
pub(super) fn stock_name(cursor: &Cursor<'_>, names: &[Id]) -> Option<Id> {
    let name = cursor.text()?;
    if !names.contains(&name) {
        let hint = match nearest(&name, names.iter().map(|n| &**n)) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "an alloy, `sand`, what is mixed into it, a consumable, a fuel, or a name under `shop.stock`"
                .into(),
        };
        cursor.fault(Code::UnknownStock, format!("no stock is called `{name}`"), hint);
        return None;
    }
    Some(name)
}

/// `{3: 54.00, 10: 50.00}`: the price of one from so many packs on.
fn breaks(cursor: &Cursor<'_>) -> Vec<(u32, Decimal)> {
    let mut out = Vec::new();
    for (from, value) in cursor.entries() {
        let Ok(from @ 2..=100_000) = from.parse::<u32>() else {
            let says = "a price break starts at a number of packs from 2";
            value.fault_at_key(Code::Size, says, "write {3: 54.00}: 54.00 each from 3 packs on");
            continue;
        };
        out.extend(price(&value).map(|p| (from, p)));
    }
    out.sort_by_key(|(from, _)| *from);
    out
}

/// A price in the currency of the build: digits and at most one point, exact.
pub(super) fn price(cursor: &Cursor<'_>) -> Option<Decimal> {
    cursor.read(Code::Shape, yaml::price(&cursor.text()?))
}
