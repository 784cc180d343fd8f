//! What commands tell in common: each figure by name, from the JSON that they print.

use chrono::NaiveDate;
use pourwright::model::Build;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::hash::{DefaultHasher, Hash, Hasher};

/// What is asked of a build.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    Plan,
    Heats,
    HeatSheet,
    Bill,
    Buy,
    OrderSheet,
    Risk,
    Report,
    Suppose,
}

pub const ALL: [Asked; 9] = [
    Asked::Plan,
    Asked::Heats,
    Asked::HeatSheet,
    Asked::Bill,
    Asked::Buy,
    Asked::OrderSheet,
    Asked::Risk,
    Asked::Report,
    Asked::Suppose,
];

/// What was told so far, by name, with who told it first.
#[derive(Default)]
pub struct Book {
    told: BTreeMap<String, (Value, String)>,
    /// What was told in two ways.
    pub faults: Vec<String>,
    /// How often something was told that was known already.
    pub again: usize,
}

/// A field that must be there, so that a name that changes does not go unseen.
fn field<'a>(of: &'a Value, name: &str) -> &'a Value {
    of.get(name).unwrap_or_else(|| panic!("no `{name}` in {of}"))
}

fn text<'a>(of: &'a Value, name: &str) -> &'a str {
    field(of, name).as_str().unwrap_or_else(|| panic!("`{name}` is no text in {of}"))
}

fn list<'a>(of: &'a Value, name: &str) -> &'a [Value] {
    field(of, name).as_array().unwrap_or_else(|| panic!("`{name}` is no list in {of}"))
}

/// The text of a figure that is to be gone by, as terminal and paper show it.
fn large(figure: &Value) -> Value {
    let safe = figure.get("safe").filter(|safe| !safe.is_null());
    match safe.or(figure.get("shown")) {
        Some(Value::String(shown)) => shown.replace(['\u{a0}', '\u{202f}'], " ").into(),
        _ => Value::Null,
    }
}

/// Whether two commands tell the same. An amount is told in the unit of the row that it stands in, and
/// a row with the amount that is surely enough may have a larger one: then rounding is all they may
/// differ by.
fn same(a: &Value, b: &Value) -> bool {
    let mass = |of: &Value| {
        let (number, unit) = of.as_str()?.split_once(' ')?;
        let kg = match unit {
            "kg" => 1.0,
            "g" => 0.001,
            "lb" => 0.453_592_37,
            "oz" => 0.453_592_37 / 16.0,
            _ => return None,
        };
        Some((number.parse::<f64>().ok()? * kg, unit.to_owned()))
    };
    let alike = mass(a).zip(mass(b)).is_some_and(|((a, of), (b, other))| {
        of != other && (a - b).abs() <= 0.005 * a.abs().max(b.abs())
    });
    a == b || alike
}

/// The day of a moment.
fn day(moment: &Value) -> Value {
    moment.as_str().map_or(Value::Null, |at| at[..10].into())
}

impl Book {
    /// What was told by a name.
    pub fn known(&self, name: &str) -> &Value {
        &self.told[name].0
    }

    pub fn tell(&mut self, who: &str, name: String, value: Value) {
        match self.told.entry(name) {
            Entry::Vacant(new) => {
                new.insert((value, who.into()));
            }
            Entry::Occupied(known) => {
                let (before, first) = known.get();
                self.again += 1;
                if !same(before, &value) {
                    let name = known.key();
                    self.faults
                        .push(format!("{name} is {before} by {first}, and {value} by {who}"));
                }
            }
        }
    }

    /// All that is shared of what a command prints.
    pub fn read(&mut self, who: &str, build: &Build, asked: Asked, of: &Value) {
        self.whole(who, asked, of);
        match asked {
            Asked::Plan => {
                let schedule = field(of, "schedule");
                self.tell(who, "finish".into(), day(field(schedule, "finish")));
                self.tell(who, "what is waited for".into(), waits(schedule));
                self.heats(who, build, schedule);
            }
            Asked::Heats if of.get("heats").is_some() => self.heats(who, build, of),
            Asked::Heats => {
                self.heat(who, build, of);
                let charge = large(field(of, "charge"));
                self.tell(who, format!("charge of {}, shown", text(of, "heat")), charge);
            }
            Asked::HeatSheet => self.sheet(who, of),
            Asked::Bill => {
                let kinds = ["metal", "sand", "consumables"];
                for line in kinds.iter().flat_map(|kind| list(of, kind)) {
                    self.stock(who, line);
                    let buy = field(line, "buy").get("value").cloned().unwrap_or_default();
                    if buy.as_f64().is_some_and(|kg| kg > 0.0) {
                        self.tell(who, format!("{} to buy", text(line, "id")), buy);
                    }
                }
            }
            Asked::Buy => self.purchases(who, of),
            Asked::OrderSheet => self.orders(who, list(of, "orders")),
            Asked::Risk => {
                self.tell(who, "finish".into(), field(of, "planned").clone());
                self.tell(who, "days of finish".into(), field(of, "finish").clone());
                self.tell(who, "amounts by chance".into(), field(of, "amounts").clone());
                self.tell(who, "what is waited for".into(), waits(of));
            }
            Asked::Report => self.report(who, of),
            Asked::Suppose => {
                for row in list(of, "rows") {
                    let [now, then] = ["now", "supposed"].map(|side| field(row, side).clone());
                    let what = text(row, "what");
                    self.tell(who, format!("{what}, as supposed"), then);
                    match what {
                        "finish" => {
                            let none = now == "none";
                            self.tell(who, "finish".into(), if none { Value::Null } else { now });
                        }
                        "heats" => self.tell(who, "number of heats".into(), now),
                        _ => self.tell(who, format!("{what}, as it is"), now),
                    }
                }
            }
        }
    }

    /// All that is printed, shared or not, is the same in any order. How the plan was come by is told
    /// once, by whoever needs it first.
    fn whole(&mut self, who: &str, asked: Asked, of: &Value) {
        const ONCE: [&str; 3] = ["tried", "kept", "moved"];
        let heat = of.get("heat").and_then(Value::as_str).unwrap_or_default();
        let Some(all) = of.as_object() else {
            return self.tell(who, format!("{asked:?}"), hash(of));
        };
        for (name, value) in all.iter().filter(|(name, _)| *name != "schedule") {
            self.tell(who, format!("{name} of {asked:?} {heat}"), hash(value));
        }
        let plan = of.get("schedule").and_then(Value::as_object).into_iter().flatten();
        for (name, value) in plan.filter(|(name, _)| !ONCE.contains(&name.as_str())) {
            self.tell(who, format!("{name} of the plan"), hash(value));
        }
    }

    /// The heats of a plan.
    fn heats(&mut self, who: &str, build: &Build, of: &Value) {
        let heats = list(of, "heats");
        let names: Vec<&str> = heats.iter().map(|heat| text(heat, "heat")).collect();
        self.tell(who, "number of heats".into(), names.len().to_string().into());
        self.tell(who, "heats".into(), json!(names));
        for heat in heats {
            self.heat(who, build, heat);
        }
    }

    /// One of them, in a list or on its own.
    fn heat(&mut self, who: &str, build: &Build, heat: &Value) {
        let name = text(heat, "heat");
        let charge = field(heat, "charge");
        for when in ["lit", "pour"] {
            self.tell(who, format!("{when} of {name}"), field(heat, when).clone());
        }
        for at in ["low", "value", "high"] {
            self.tell(who, format!("charge of {name}, {at}"), charge[at].clone());
        }
        let mut pieces = Vec::new();
        let mut moulds = Vec::new();
        for mould in list(heat, "moulds") {
            let part = build.part(text(mould, "part")).expect("a part of the build");
            pieces.push(json!([build.parts[part].given.name, field(mould, "castings")]));
            let poured = field(mould, "poured").get("value");
            moulds.push(json!([part, mould.get("others"), field(mould, "flask"), poured]));
        }
        self.tell(who, format!("pieces of {name}"), json!(pieces));
        self.tell(who, format!("moulds of {name}"), json!(moulds));
    }

    /// A heat as its pour sheet tells it.
    fn sheet(&mut self, who: &str, of: &Value) {
        let name = text(of, "heat");
        let at = |when| json!(format!("{}T{}", text(of, "day"), text(of, when)));
        self.tell(who, format!("lit of {name}"), at("lit"));
        self.tell(who, format!("clock of {name}"), field(of, "pour").clone());
        self.tell(who, format!("charge of {name}, shown"), large(field(of, "charge")));
        let moulds = list(of, "moulds").iter();
        let pieces = moulds.map(|m| json!([field(m, "lead"), field(m, "needed")]));
        self.tell(who, format!("pieces of {name}"), pieces.collect());
    }

    /// A material, by the bill.
    fn stock(&mut self, who: &str, line: &Value) {
        let name = text(line, "id");
        self.tell(who, format!("day {name} runs short"), field(line, "by").clone());
        self.tell(who, format!("{name} to buy, shown"), large(field(line, "buy")));
    }

    fn purchases(&mut self, who: &str, of: &Value) {
        for purchase in list(of, "purchases") {
            for cover in list(purchase, "covers") {
                let name = text(cover, "of");
                self.tell(who, format!("{name} to buy"), field(cover, "needed_value").clone());
                self.tell(who, format!("{name} needed"), field(cover, "needed").clone());
                self.tell(who, format!("day {name} runs short"), field(cover, "by").clone());
            }
            for order in list(purchase, "orders") {
                let from = text(order, "name");
                self.tell(
                    who,
                    format!("day to order from {from}"),
                    field(order, "order_by").clone(),
                );
                for part in list(order, "parts") {
                    self.part(who, part);
                }
            }
        }
        for part in list(of, "parts") {
            self.part(who, part);
        }
    }

    /// A part to order.
    fn part(&mut self, who: &str, part: &Value) {
        let name = text(part, "id");
        self.tell(who, format!("day to order {name}"), field(part, "order_by").clone());
        self.tell(who, format!("day {name} must be there"), field(part, "by").clone());
    }

    /// Orders as paper and report list them.
    fn orders(&mut self, who: &str, orders: &[Value]) {
        for order in orders {
            if let Some(from) = field(order, "supplier").as_str() {
                self.tell(
                    who,
                    format!("day to order from {from}"),
                    field(order, "order_by").clone(),
                );
            }
            for line in list(order, "lines") {
                match text(line, "needed") {
                    "" => self.part(who, line),
                    needed => {
                        let name = text(line, "id");
                        self.tell(who, format!("{name} needed"), needed.into());
                        self.tell(who, format!("day {name} runs short"), field(line, "by").clone());
                    }
                }
            }
        }
    }

    fn report(&mut self, who: &str, of: &Value) {
        if let Some(page) = of.as_str() {
            self.page(who, page);
            return;
        }
        let calendar = field(of, "calendar");
        self.tell(who, "finish".into(), field(calendar, "finish").clone());
        self.tell(who, "what is waited for".into(), waits(calendar));
        for heat in list(calendar, "heats") {
            let name = text(heat, "heat");
            self.tell(who, format!("clock of {name}"), field(heat, "pour").clone());
            let charge = json!({"shown": field(heat, "charge")});
            self.tell(who, format!("charge of {name}, shown"), large(&charge));
        }
        if field(of, "next_heat").is_object() {
            self.sheet(who, &of["next_heat"]);
        }
        let bill = field(of, "bill");
        for line in list(bill, "lines") {
            self.stock(who, line);
        }
        self.orders(who, list(bill, "orders"));
        let chances = field(of, "chances");
        self.tell(
            who,
            "chances".into(),
            json!([chances["half"], chances["eight"], chances["nine"]]),
        );
    }

    /// The report as a page: its finish.
    fn page(&mut self, who: &str, page: &str) {
        let day = |after: &str| {
            let words = after.split_once('.').expect("its end").0.replace('\u{a0}', " ");
            NaiveDate::parse_from_str(&words, "%a %d %b %Y").expect("a day").to_string()
        };
        let finish = match page.split_once("If nothing is cast again: ") {
            Some((_, after)) => day(after).into(),
            None if page.contains("No day yet") => Value::Null,
            None => panic!("a page without a finish"),
        };
        self.tell(who, "finish".into(), finish);
    }
}

/// Stands for a value that may be large.
fn hash(of: &Value) -> Value {
    let mut hash = DefaultHasher::new();
    of.to_string().hash(&mut hash);
    hash.finish().into()
}

/// What waits for a material, in words.
fn waits(of: &Value) -> Value {
    of.get("supply").filter(|says| **says != json!([])).cloned().unwrap_or_default()
}
