//! What the trade knows: tables and formulas, each with its source.
//!
//! Tables are the YAML files under `data/`, embedded when the tool is built and read by the
//! same reader as the builder's own alloys and sands.

mod alloy;
mod caution;
mod composition;
mod consumable;
mod elements;
pub mod formulas;
mod insert;
mod sand;
mod step;
mod table;

pub use alloy::{Alloy, Family};
pub use caution::{Caution, When, Work};
pub use composition::{Composition, share};
pub use consumable::{Consumable, Rate};
pub use elements::{ELEMENTS, element, is_element};
pub use insert::Insert;
pub use sand::Sand;
pub use step::Step;
pub use table::{tabled, tabled_word};

use crate::figure::*;
use crate::yaml::{Cursor, Fault, Reading, nearest, parse};
use indexmap::IndexMap;
use std::sync::{Arc, LazyLock};

/// Sand that the trade leaves around a pattern, by the pattern's largest size in plan.
#[derive(Debug, Clone)]
pub struct Cover {
    /// Serves patterns up to this.
    pub up_to: Figure<Length>,
    /// To the wall of the flask.
    pub side: Figure<Length>,
    /// Above the pattern.
    pub above: Figure<Length>,
    /// Below the pattern.
    pub below: Figure<Length>,
}

/// The handbook: everything that is looked up.
#[derive(Debug, Clone)]
pub struct Handbook {
    /// Alloys by id.
    pub alloys: IndexMap<Arc<str>, Arc<Alloy>>,
    /// Sands by id.
    pub sands: IndexMap<Arc<str>, Arc<Sand>>,
    /// Chills and sleeves by id.
    pub inserts: IndexMap<Arc<str>, Insert>,
    /// What melts and moulds use up beside metal, sand and fuel, by id.
    pub consumables: IndexMap<Arc<str>, Consumable>,
    /// Sand cover, smallest patterns first.
    pub cover: Vec<Cover>,
    /// Working fill of a crucible.
    pub working_fill: Figure<Ratio>,
    /// Litres to one trade number, by shape of crucible.
    pub trade_number: Vec<(Arc<str>, Figure<Volume>)>,
    /// Heats that a crucible lasts, by the alloys it melts.
    pub crucible_life: IndexMap<Family, Figure<Number>>,
    /// Share of an element that stays in the melt, by alloy family and element; those not named
    /// stay whole.
    pub recovery: IndexMap<(Family, Arc<str>), Figure<Ratio>>,
    /// Share of gates and feeders that comes back into the pot.
    pub fettled: Figure<Ratio>,
    /// Heating value of each fuel that has one.
    pub fuels: IndexMap<Arc<str>, Option<Figure<HeatingValue>>>,
    /// By fuel: what to look over before lighting up, and what to read. Common practice, no source.
    pub before_lighting: IndexMap<Arc<str>, Arc<str>>,
    /// Usual efficiency of a furnace, by its fuel.
    pub furnace_efficiency: IndexMap<Arc<str>, Figure<Ratio>>,
    /// Densities of what patterns are made of.
    pub woods: IndexMap<Arc<str>, Figure<Density>>,
    /// Titles of the defect groups by their code (`B200`).
    pub defects: IndexMap<Arc<str>, Defect>,
    /// Dangers and habits.
    pub cautions: Vec<Caution>,
    labour: Labour,
}

/// A group of casting defects.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Defect {
    /// Its name.
    pub title: Arc<str>,
    /// What brings it about, and the remedy.
    pub causes: Vec<Cause>,
    /// What to think of before a casting with it is kept.
    pub keep: Arc<str>,
    /// Where causes and remedies are from.
    pub source: Arc<str>,
}

/// What brings a defect about.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Cause {
    /// Its id; the same cause may stand under several defects.
    pub id: Arc<str>,
    /// What happened in the mould.
    pub says: Arc<str>,
    /// What to do next time.
    pub remedy: Arc<str>,
}

/// Bench and waiting times.
#[derive(Debug, Clone, Default)]
struct Labour {
    times: IndexMap<String, Figure<Time>>,
    by_volume: IndexMap<String, Figure<TimePerVolume>>,
    by_mass: IndexMap<String, Figure<TimePerMass>>,
    /// Per 100 cm2 of surface.
    by_surface: IndexMap<String, Figure<Time>>,
}

macro_rules! data {
    ($name:literal) => {
        include_str!(concat!("data/", $name, ".yaml"))
    };
}

impl Handbook {
    /// The handbook that ships with the tool.
    ///
    /// # Panics
    /// Where an embedded table has a fault; a test reads them all.
    pub fn embedded() -> Self {
        static BOOK: LazyLock<Handbook> =
            LazyLock::new(|| Handbook::from_tables().expect("the embedded tables are sound"));
        BOOK.clone()
    }

    fn from_tables() -> Result<Self, Fault> {
        let reading = Reading::default();
        let mut book = Self {
            alloys: IndexMap::new(),
            sands: IndexMap::new(),
            inserts: IndexMap::new(),
            consumables: IndexMap::new(),
            cover: Vec::new(),
            working_fill: Figure::counted("working fill", 0.8, ""),
            trade_number: Vec::new(),
            crucible_life: IndexMap::new(),
            recovery: IndexMap::new(),
            fettled: Figure::counted("share of gates that comes back", 0.9, ""),
            fuels: IndexMap::new(),
            before_lighting: IndexMap::new(),
            furnace_efficiency: IndexMap::new(),
            woods: IndexMap::new(),
            defects: IndexMap::new(),
            cautions: Vec::new(),
            labour: Labour::default(),
        };
        let tree = parse(data!("alloys"))?;
        book.read_alloys(&Cursor::top(&tree, &reading));
        let tree = parse(data!("sands"))?;
        book.read_sands(&Cursor::top(&tree, &reading));
        let tree = parse(data!("inserts"))?;
        book.read_inserts(&Cursor::top(&tree, &reading));
        let tree = parse(data!("consumables"))?;
        book.read_consumables(&Cursor::top(&tree, &reading));
        let tree = parse(data!("cover"))?;
        book.read_cover(&Cursor::top(&tree, &reading));
        let tree = parse(data!("crucibles"))?;
        book.read_crucibles(&Cursor::top(&tree, &reading));
        let tree = parse(data!("recovery"))?;
        book.read_recovery(&Cursor::top(&tree, &reading));
        let tree = parse(data!("fuels"))?;
        book.read_fuels(&Cursor::top(&tree, &reading));
        let tree = parse(data!("woods"))?;
        book.read_woods(&Cursor::top(&tree, &reading));
        let tree = parse(data!("defects"))?;
        book.read_defects(&Cursor::top(&tree, &reading));
        let tree = parse(data!("cautions"))?;
        book.read_cautions(&Cursor::top(&tree, &reading));
        let tree = parse(data!("labour"))?;
        book.labour.read(&Cursor::top(&tree, &reading));
        match reading.into_faults().into_iter().next() {
            Some(fault) => Err(fault),
            None => Ok(book),
        }
    }

    /// Reads alloys, the handbook's or the builder's; a known id or `like:` starts from that one.
    pub fn read_alloys(&mut self, cursor: &Cursor<'_>) {
        for (id, entry) in cursor.entries() {
            let Some(mut fields) = entry.fields() else { continue };
            let base =
                self.base(&self.alloys, &id, fields.take("like", |c| c.word()), "alloy", &entry);
            if let Some(alloy) = Alloy::read(id.clone(), base.as_deref(), &mut fields) {
                self.alloys.insert(id, Arc::new(alloy));
            }
            fields.done();
        }
    }

    /// Reads sands, the handbook's or the builder's.
    pub fn read_sands(&mut self, cursor: &Cursor<'_>) {
        for (id, entry) in cursor.entries() {
            let Some(mut fields) = entry.fields() else { continue };
            let base =
                self.base(&self.sands, &id, fields.take("like", |c| c.word()), "sand", &entry);
            let sand = Sand::read(id.clone(), base.as_deref(), &mut fields);
            fields.done();
            self.sands.insert(id, Arc::new(sand));
        }
    }

    /// Reads consumables, the handbook's or the builder's; after alloys and sands, which they name.
    pub fn read_consumables(&mut self, cursor: &Cursor<'_>) {
        let mut known: Vec<Arc<str>> =
            self.alloys.keys().chain(self.sands.keys()).cloned().collect();
        known.extend(Family::WORDS.iter().map(|(word, _)| (*word).into()));
        for (id, entry) in cursor.entries() {
            if consumable::is_none(&entry) {
                if self.consumables.shift_remove(&id).is_none() {
                    let names: Vec<&str> = self.consumables.keys().map(|k| &**k).collect();
                    entry.fault_at_key(
                        crate::yaml::Code::UnknownStock,
                        format!("no consumable is called `{id}`"),
                        format!("the handbook has {}", names.join(", ")),
                    );
                }
                continue;
            }
            let base = self.consumables.get(&id).cloned();
            if let Some(read) = Consumable::read(id.clone(), base.as_ref(), &entry, &known) {
                self.consumables.insert(id, read);
            }
        }
    }

    fn base<T>(
        &self,
        all: &IndexMap<Arc<str>, Arc<T>>,
        id: &Arc<str>,
        like: Option<crate::yaml::Given<Arc<str>>>,
        what: &str,
        entry: &Cursor<'_>,
    ) -> Option<Arc<T>> {
        let Some(like) = like else { return all.get(id).cloned() };
        let found = all.get(&like.value).cloned();
        if found.is_none() {
            let hint = match nearest(&like.value, all.keys().map(|k| &**k)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("start from a handbook {what}"),
            };
            entry.fault_at_key(
                crate::yaml::Code::UnknownAlloy,
                format!("no {what} is called `{}`", like.value),
                hint,
            );
        }
        found
    }

    fn read_cover(&mut self, cursor: &Cursor<'_>) {
        for (_, entry) in cursor.entries() {
            let Some(mut f) = entry.fields() else { continue };
            let up_to = f.take("up-to", |c| tabled(c, "largest size in plan"));
            let side = f.take("side", |c| tabled(c, "sand at the sides"));
            let above = f.take("above", |c| tabled(c, "sand above"));
            let below = f.take("below", |c| tabled(c, "sand below"));
            f.done();
            if let (Some(up_to), Some(side), Some(above), Some(below)) = (up_to, side, above, below)
            {
                self.cover.push(Cover { up_to, side, above, below });
            }
        }
    }

    fn read_crucibles(&mut self, cursor: &Cursor<'_>) {
        let Some(mut f) = cursor.fields() else { return };
        if let Some(fill) = f.take("working-fill", |c| tabled(c, "working fill")) {
            self.working_fill = fill;
        }
        for (word, c) in f.get("life").map(|c| c.entries()).unwrap_or_default() {
            let family = Family::WORDS.iter().find(|(w, _)| **w == *word).map(|(_, f)| *f);
            let life = family.zip(tabled(&c, "heats a crucible lasts"));
            self.crucible_life.extend(life);
        }
        for (id, shape) in f.get("shapes").map(|c| c.entries()).unwrap_or_default() {
            let Some(mut s) = shape.fields() else { continue };
            if let Some(volume) = s.take("volume", |c| tabled(c, "volume to one trade number")) {
                self.trade_number.push((id, volume));
            }
        }
    }

    /// Reads shares of elements that stay in the melt, by family, and of gates that come back.
    pub(crate) fn read_recovery(&mut self, cursor: &Cursor<'_>) {
        let Some(mut f) = cursor.fields() else { return };
        if let Some(share) = f.take("fettled", |c| tabled(c, "share of gates that comes back")) {
            self.fettled = share;
        }
        for (word, family) in Family::WORDS {
            for (element, c) in f.get(word).map(|c| c.entries()).unwrap_or_default() {
                let kept = tabled(&c, "share that stays in the melt");
                self.recovery.extend(kept.map(|kept| ((*family, element), kept)));
            }
        }
        f.done();
    }

    fn read_inserts(&mut self, cursor: &Cursor<'_>) {
        for (id, entry) in cursor.entries() {
            let Some(mut fields) = entry.fields() else { continue };
            let insert = Insert::read(id.clone(), &mut fields);
            fields.done();
            self.inserts.extend(insert.map(|i| (id, i)));
        }
    }

    fn read_fuels(&mut self, cursor: &Cursor<'_>) {
        let Some(mut f) = cursor.fields() else { return };
        for (id, fuel) in f.get("fuels").map(|c| c.entries()).unwrap_or_default() {
            let Some(mut f) = fuel.fields() else { continue };
            let value = f.take("heating-value", |c| tabled(c, "heating value"));
            let before = f.take("before-lighting", |c| c.text());
            self.before_lighting.extend(before.map(|says| (id.clone(), says)));
            self.fuels.insert(id, value);
        }
        for (_, furnace) in f.get("furnaces").map(|c| c.entries()).unwrap_or_default() {
            let Some(mut f) = furnace.fields() else { continue };
            let Some(usual) = f.take("efficiency", |c| tabled::<Ratio>(c, "furnace efficiency"))
            else {
                continue;
            };
            let fuels = f.get("fuels").map(|c| c.items()).unwrap_or_default();
            for fuel in fuels.iter().filter_map(|c| c.text()) {
                // The first furnace listed for a fuel is the usual one of a small shop.
                self.furnace_efficiency.entry(fuel).or_insert_with(|| usual.clone());
            }
        }
    }

    fn read_woods(&mut self, cursor: &Cursor<'_>) {
        for (id, wood) in cursor.entries() {
            let Some(mut f) = wood.fields() else { continue };
            let density = f.take("density", |c| tabled(c, "density of the pattern"));
            self.woods.extend(density.map(|d| (id, d)));
        }
    }

    fn read_defects(&mut self, cursor: &Cursor<'_>) {
        for (_, class) in cursor.entries() {
            let Some(mut f) = class.fields() else { continue };
            let keep = f.take("keep", |c| c.text()).unwrap_or_default();
            for (code, group) in f.get("groups").map(|c| c.entries()).unwrap_or_default() {
                let Some(mut g) = group.fields() else { continue };
                let Some(title) = g.take("title", |c| c.text()) else { continue };
                let causes = g.get("causes").map(|c| c.items()).unwrap_or_default();
                let causes = causes.iter().filter_map(|c| {
                    let mut f = c.fields()?;
                    let mut text = |key| f.take(key, |c| c.text());
                    Some(Cause { id: text("cause")?, says: text("says")?, remedy: text("remedy")? })
                });
                let causes = causes.collect();
                let source = g.take("from", |c| c.text()).unwrap_or_default();
                self.defects.insert(code, Defect { title, causes, keep: keep.clone(), source });
            }
        }
    }

    fn read_cautions(&mut self, cursor: &Cursor<'_>) {
        let read = |(id, entry): (Arc<str>, Cursor<'_>)| Caution::read(id, &entry);
        self.cautions = cursor.entries().into_iter().filter_map(read).collect();
    }

    /// A time for a step, such as `pour`, or `cool/iron` for a variant.
    pub fn time(&self, step: &str) -> Option<&Figure<Time>> {
        self.labour.times.get(step)
    }

    /// A time by volume, such as ramming.
    pub fn time_by_volume(&self, step: &str) -> Option<&Figure<TimePerVolume>> {
        self.labour.by_volume.get(step)
    }

    /// A time by mass, such as fettling.
    pub fn time_by_mass(&self, step: &str) -> Option<&Figure<TimePerMass>> {
        self.labour.by_mass.get(step)
    }

    /// Puts another time by volume in the place of the handbook's.
    pub fn set_time_by_volume(&mut self, step: &str, time: Figure<TimePerVolume>) {
        self.labour.by_volume.insert(step.to_owned(), time);
    }

    /// Puts another time in the place of the handbook's.
    pub fn set_time(&mut self, step: &str, time: Figure<Time>) {
        self.labour.times.insert(step.to_owned(), time);
    }

    /// Puts another time by mass in the place of the handbook's.
    pub fn set_time_by_mass(&mut self, step: &str, time: Figure<TimePerMass>) {
        self.labour.by_mass.insert(step.to_owned(), time);
    }

    /// A time for each 100 cm2 of surface, such as machining.
    pub fn time_by_surface(&self, step: &str) -> Option<&Figure<Time>> {
        self.labour.by_surface.get(step)
    }

    /// Dangers of this work, in the order of the table.
    pub fn cautions_for(&self, work: &Work<'_>) -> Vec<Caution> {
        self.cautions.iter().filter(|c| c.concerns(work)).cloned().collect()
    }

    /// The cover for a pattern of this largest size in plan, in metres.
    pub fn cover_for(&self, largest: f64) -> Option<&Cover> {
        self.cover.iter().find(|c| largest <= c.up_to.si()).or(self.cover.last())
    }
}

impl Labour {
    fn read(&mut self, cursor: &Cursor<'_>) {
        for (step, entry) in cursor.entries() {
            let is_one = entry.fields().is_some_and(|f| !f.present(&["is"]).is_empty());
            if is_one {
                self.read_one(step.to_string(), &entry);
            } else {
                for (variant, inner) in entry.entries() {
                    self.read_one(format!("{step}/{variant}"), &inner);
                }
            }
        }
    }

    fn read_one(&mut self, key: String, entry: &Cursor<'_>) {
        let is = entry.fields().and_then(|mut f| f.take("is", |c| c.text())).unwrap_or_default();
        let per = entry.fields().and_then(|mut f| f.take("per", |c| c.text())).unwrap_or_default();
        if is.ends_with("/m3") {
            self.by_volume.extend(tabled(entry, "time by volume").map(|v| (key, v)));
        } else if is.ends_with("/kg") {
            self.by_mass.extend(tabled(entry, "time by mass").map(|v| (key, v)));
        } else if per.starts_with("100 cm2") {
            self.by_surface.extend(tabled(entry, "time for 100 cm2").map(|v| (key, v)));
        } else {
            self.times.extend(tabled(entry, "bench time").map(|v| (key, v)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_embedded_tables_are_sound() {
        let book = Handbook::from_tables().expect("tables");
        for id in [
            "A356",
            "319",
            "413",
            "Zamak-3",
            "ZA-8",
            "ZA-12",
            "ZA-27",
            "C905",
            "C932",
            "C873",
            "C857",
            "C954",
            "grey-iron-20",
            "grey-iron-30",
        ] {
            let alloy = book.alloys.get(id).expect(id);
            assert!(alloy.density.is_some() && alloy.melt_loss.is_some(), "{id}");
            let (liquidus, solidus) = (alloy.liquidus.as_ref(), alloy.solidus.as_ref());
            if let (Some(l), Some(s)) = (liquidus, solidus) {
                assert!(l.si() > s.si(), "{id}");
            }
        }
        assert!(book.time_by_volume("ram").is_some());
        assert!(book.time_by_mass("fettle/iron").is_some());
        assert!(book.time_by_surface("machine").is_some());
        assert!(book.time("pattern/hard").is_some());
        assert!(book.defects.contains_key("B200"));
    }
}
