//! The manifest: `build.yaml` as the builder wrote it, every value read, nothing resolved yet.

mod bodies;
mod mesh;
mod metals;
mod parts;
mod patterns;
mod places;
mod shop;
mod solids;

mod suppliers;

pub use crate::handbook::Step;
pub use mesh::MeshGiven;
pub use metals::{MadeOf, Metal};
pub(crate) use parts::of_water;
pub use parts::{
    Bought, Casting, Difficulty, Made, Making, Need, Part, ShapeGiven, StepGiven, WaitGiven,
    WoodGiven,
};
pub use patterns::Pattern;
pub use shop::{Crucible, Flask, Furnace, Person, SandGiven, Shop};
pub use solids::SolidGiven;
pub use suppliers::{Pack, Supplier, is_counted, stock_names};

use crate::figure::System;
use crate::handbook::Handbook;
use crate::yaml::{
    Beside, Code, Cursor, Fault, Faults, Reading, Taken, Tree, parse, shown_of, text_of,
};
use chrono::NaiveDate;
use indexmap::IndexMap;
use std::collections::BTreeSet;
use std::sync::Arc;

/// An id that the builder chose.
pub type Id = Arc<str>;

/// What stands under `build:`.
#[derive(Debug, Clone)]
pub struct Header {
    /// What the machine is called.
    pub title: Arc<str>,
    /// Free text.
    pub notes: Option<Arc<str>>,
    /// The day the work starts.
    pub begun: NaiveDate,
    /// The day an example pins as today.
    pub looked_at: Option<NaiveDate>,
    /// Metric or US customary.
    pub units: System,
    /// Currency of the prices, as text.
    pub currency: Arc<str>,
    /// Whether the estimates use what the journal teaches.
    pub learn: bool,
}

/// The file as read.
#[derive(Debug, Clone)]
pub struct Manifest {
    /// The build.
    pub header: Header,
    /// The shop.
    pub shop: Shop,
    /// Patterns by id.
    pub patterns: IndexMap<Id, Pattern>,
    /// Parts by id.
    pub parts: IndexMap<Id, Part>,
    /// Who sells what, by id.
    pub suppliers: IndexMap<Id, Supplier>,
    /// Metals at hand that a charge can be made up of, by id.
    pub metals: IndexMap<Id, Metal>,
    /// The handbook with the builder's own alloys and sands.
    pub handbook: Handbook,
    /// Ids that were given but whose entry has faults: no use to say that they do not exist.
    pub unread: BTreeSet<Id>,
    /// The text it was read from.
    pub text: String,
}

/// Reads a manifest.
///
/// # Errors
/// Every fault that can be seen without resolving names, all at once. The second value carries
/// what could be read nevertheless, so that later checks can add their faults to the same list.
pub fn read(
    file: &str,
    bytes: Vec<u8>,
    beside: Beside<'_>,
) -> Result<(Manifest, Vec<Fault>), Faults> {
    let stop = |text: String, list| Faults { file: file.to_owned(), text, list };
    let raw = shown_of(&bytes);
    let text = text_of(bytes).map_err(|f| stop(raw.unwrap_or_default(), vec![f]))?;
    let tree = match parse(&text) {
        Ok(Tree::Empty) => {
            let hint = "`pourwright new FOLDER` writes one to start from";
            let fault = Fault::top(Code::MissingKey, "nothing is written in this file", hint);
            return Err(stop(text, vec![fault]));
        }
        Ok(tree) => tree,
        Err(fault) => return Err(stop(text, vec![fault])),
    };
    let reading = Reading::with(beside);
    let found = whole(&Cursor::top(&tree, &reading));
    let mut faults = reading.into_faults();
    match found {
        Some((header, shop, patterns, mut parts, suppliers, metals, handbook, unread)) => {
            faults.extend(parts::bounded(parts.values()));
            faults.extend(bodies::build(&mut parts));
            let manifest = Manifest {
                header,
                shop,
                patterns,
                parts,
                suppliers,
                metals,
                handbook,
                unread,
                text,
            };
            Ok((manifest, faults))
        }
        None => Err(stop(text, faults)),
    }
}

/// What the reader takes of a manifest: its keys and the form of each value.
pub fn taken(text: &str) -> Taken {
    let reading = Reading::noting();
    if let Ok(tree) = parse(text) {
        whole(&Cursor::top(&tree, &reading));
    }
    reading.into_taken()
}

type Whole = (
    Header,
    Shop,
    IndexMap<Id, Pattern>,
    IndexMap<Id, Part>,
    IndexMap<Id, Supplier>,
    IndexMap<Id, Metal>,
    Handbook,
    BTreeSet<Id>,
);

fn whole(cursor: &Cursor<'_>) -> Option<Whole> {
    let mut fields = cursor.fields()?;
    let mut handbook = Handbook::embedded();
    let header = fields.need("build", "{title: My machine, begun: 2026-01-10}", header);
    let shop = fields.take("shop", |c| shop::read(c, &handbook)).unwrap_or_default();
    if let Some(alloys) = fields.get("alloys") {
        handbook.read_alloys(&alloys);
    }
    if let Some(sands) = fields.get("sands") {
        handbook.read_sands(&sands);
    }
    if let Some(consumables) = fields.get("consumables") {
        handbook.read_consumables(&consumables);
    }
    if let Some(recovery) = fields.get("recovery") {
        handbook.read_recovery(&recovery);
    }
    if let Some(shop_cursor) = fields.get("shop") {
        suppliers::check_stock(&shop_cursor, &handbook, &shop);
    }
    let own = fields.get("metals").map(|c| c.ids()).unwrap_or_default();
    let names = suppliers::stock_names(&handbook, &shop, own);
    let suppliers = fields
        .get("suppliers")
        .map(|c| {
            suppliers::read(&c, &suppliers::Sold { book: &handbook, shop: &shop, names: &names })
        })
        .unwrap_or_default();
    let metals =
        fields.get("metals").map(|c| metals::read(&c, &handbook, &names)).unwrap_or_default();
    let patterns = fields.get("patterns").map(|c| c.entries()).unwrap_or_default();
    let mut unread: BTreeSet<Id> = patterns.iter().map(|(id, _)| id.clone()).collect();
    let patterns = patterns.into_iter().filter_map(|(id, c)| Some((id, patterns::read(&c)?)));
    let patterns: IndexMap<Id, Pattern> = patterns.collect();
    let parts = fields.need("parts", "{base: {casting: {...}}}", |c| Some(c.entries()));
    let parts = parts.unwrap_or_default();
    unread.extend(parts.iter().map(|(id, _)| id.clone()));
    unread.extend(shop.unread.iter().cloned());
    let parts = parts.into_iter();
    let parts: IndexMap<Id, Part> =
        parts.filter_map(|(id, c)| Some((id.clone(), parts::read(id, &c)?))).collect();
    if let Some(cursor) = cursor.below("parts") {
        parts.iter().for_each(|(id, part)| suppliers::check_seller(&cursor, id, part, &suppliers));
    }
    unread.retain(|id| !parts.contains_key(id) && !patterns.contains_key(id));
    fields.done();
    Some((header?, shop, patterns, parts, suppliers, metals, handbook, unread))
}

const SYSTEMS: &[(&str, System)] = &[("metric", System::Metric), ("us", System::Us)];

/// Metric or US; there are two sorts of quart, and one of them is shown.
fn units(cursor: &Cursor<'_>) -> Option<System> {
    if matches!(cursor.tree(), Tree::Text(text) if **text == *"imperial") {
        let says = "figures are shown in metric or in US customary units";
        let hint =
            "choose `us` for inches, pounds and US quarts, and write `imp qt` where that is meant";
        cursor.fault(Code::Word, says, hint);
        cursor.reading().asks_which();
        return None;
    }
    cursor.choice(SYSTEMS)
}

fn header(cursor: &Cursor<'_>) -> Option<Header> {
    let mut f = cursor.fields()?;
    let title = f.need("title", "My machine", |c| c.text());
    let notes = f.take("notes", |c| c.text());
    let begun = f.need("begun", "2026-01-10", |c| c.date());
    let looked_at = f.get("looked-at");
    let looked = looked_at.as_ref().and_then(|c| c.date());
    if let (Some(cursor), Some(begun), Some(looked)) = (&looked_at, begun, looked)
        && looked < begun
    {
        cursor.fault(
            Code::Dates,
            format!("the build only begins on {begun}"),
            "put a day after `begun`",
        );
    }
    let units = f.take("units", |c| units(c)).unwrap_or_default();
    if units == System::Metric {
        cursor.reading().asks_which();
    }
    let currency = f.take("currency", |c| c.text()).unwrap_or_else(|| "EUR".into());
    let learn = f.take("learn", |c| c.choice(&[("yes", true), ("no", false)])).unwrap_or(false);
    f.done();
    Some(Header { title: title?, notes, begun: begun?, looked_at: looked, units, currency, learn })
}
