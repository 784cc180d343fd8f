//! Metals at hand that a charge can be made up of: `metals:` of the manifest.

use super::Id;
use super::suppliers::{price, stock_name};
use crate::figure::{Figure, Mass, Range};
use crate::handbook::{Handbook, element, is_element, share};
use crate::yaml::{Code, Cursor, Fields, nearest};
use indexmap::IndexMap;
use rust_decimal::Decimal;

/// A metal at hand.
#[derive(Debug, Clone)]
pub struct Metal {
    /// What it is made of.
    pub made_of: MadeOf,
    /// Name of the stock that it is taken from; its own id where none is given.
    pub stock: Option<Id>,
    /// Price of so much of it.
    pub price: Option<Decimal>,
    /// The mass that the price is for.
    pub per: Figure<Mass>,
    /// How much there is; none for as much as one likes.
    pub amount: Option<Figure<Mass>>,
    /// Mass of one piece that is not cut.
    pub piece: Option<Figure<Mass>>,
    /// Whether it is returns.
    pub returns: bool,
}

/// What a metal is made of.
#[derive(Debug, Clone)]
pub enum MadeOf {
    /// Anything within the limits of an alloy.
    Alloy(Id),
    /// These shares, and the balance of one element.
    Shares(Vec<(Id, Range)>, Id),
}

pub(super) fn read(cursor: &Cursor<'_>, book: &Handbook, names: &[Id]) -> IndexMap<Id, Metal> {
    let entries = cursor.entries().into_iter();
    entries.filter_map(|(id, c)| Some((id, metal(&c, book, names)?))).collect()
}

fn metal(cursor: &Cursor<'_>, book: &Handbook, names: &[Id]) -> Option<Metal> {
    let mut f = cursor.fields()?;
    let alloy = f.take("alloy", |c| alloy(c, book));
    let shares = f.get("composition").map(|c| shares(&c));
    let balance = f.take("balance", element);
    let stock = f.take("stock", |c| stock_name(c, names));
    let cost = f.take("price", price);
    let per = f.take("per", |c| c.figure("mass that the price is for"));
    let amount = f.take("amount", |c| c.figure_or_zero("at hand"));
    let piece = f.take("piece", |c| c.figure("one piece"));
    let returns = f.take("returns", |c| c.choice(&[("true", true), ("false", false)]));
    f.take("notes", |c| c.text());
    let made_of = match f.present(&["alloy", "composition"])[..] {
        ["alloy"] => alloy.map(MadeOf::Alloy),
        ["composition"] => shares.flatten().and_then(|s| whole(&f, s, balance)),
        [] => {
            let hint = "add `alloy: A356`, or `composition: {Si: 7 %, Mg: 0.3..0.4 %}`";
            cursor.fault_at_key(Code::MissingKey, "nothing says what this metal is", hint);
            None
        }
        _ => {
            let hint = "keep `composition`: it is nearer to the truth";
            cursor.fault_at_key(Code::Shape, "this metal is described in 2 ways", hint);
            None
        }
    };
    f.done();
    let kilogram =
        || Figure::counted("mass that the price is for", 1.0, "1 kg where none is given");
    let returns = returns.unwrap_or(false);
    Some(Metal {
        made_of: made_of?,
        stock,
        price: cost,
        per: per.unwrap_or_else(kilogram),
        amount,
        piece,
        returns,
    })
}

fn alloy(cursor: &Cursor<'_>, book: &Handbook) -> Option<Id> {
    let name = cursor.text()?;
    if !book.alloys.contains_key(&name) {
        let hint = match nearest(&name, book.alloys.keys().map(|k| &**k)) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "name an alloy of the handbook or of your own `alloys:`".into(),
        };
        cursor.fault(Code::UnknownAlloy, format!("no alloy is called `{name}`"), hint);
        return None;
    }
    Some(name)
}

/// Shares of elements; together they cannot be more than everything. None where one has a fault.
fn shares(cursor: &Cursor<'_>) -> Option<Vec<(Id, Range)>> {
    let entries = cursor.entries();
    let sound = entries.iter().filter(|(element, c)| is_element(c, element, true));
    let all: Vec<(Id, Range)> =
        sound.filter_map(|(element, c)| Some((element.clone(), share(c)?))).collect();
    if all.iter().map(|(_, r)| r.low).sum::<f64>() > 1.0 + 1e-9 {
        cursor.fault_at_key(Code::Size, "these shares are more than 100 %", "is a point missing?");
        return None;
    }
    (all.len() == entries.len()).then_some(all)
}

/// With what makes up the rest, which must be told where there is much of it.
fn whole(f: &Fields<'_>, shares: Vec<(Id, Range)>, balance: Option<Id>) -> Option<MadeOf> {
    let told = shares.iter().map(|(_, r)| r.high).sum::<f64>() >= 0.99;
    let first = || shares.first().filter(|_| told).map(|(element, _)| element.clone());
    let Some(balance) = balance.or_else(first) else {
        if f.present(&["balance"]).is_empty() {
            let hint = "add `balance: Al`, the element that makes up the rest";
            let says = "nothing says what the rest of it is";
            f.cursor().fault_at_key(Code::MissingKey, says, hint);
        }
        return None;
    };
    Some(MadeOf::Shares(shares, balance))
}
