//! Every casting of a build in its mould, in a table.

use crate::estimate::{Estimates, Field};
use crate::figure::{Alike, Kind, System, show, show_spanned};
use crate::freezing::{Feeding, Frozen};
use crate::model::Build;
use crate::view::Head;
use crate::view::text::{Look, Side, finished};
use serde::Serialize;

/// The freezing of every casting, as far as it was reckoned.
#[derive(Debug, Clone, Serialize)]
pub struct FreezingList {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// The castings, in the order of the manifest.
    pub castings: Vec<Row>,
    /// Metal in the feeders by trying and by the rule of thumb, of one casting of each part that
    /// was reckoned, m3.
    pub feeder_metal: [f64; 2],
    #[serde(skip)]
    units: System,
}

/// One casting.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    /// The part.
    pub part: String,
    /// `holds`, `out of date`, `not computed`, or why it cannot be.
    pub stands: String,
    /// Solid throughout, s.
    pub solid: Option<[f64; 3]>,
    /// `fed`, `cut off` or `depends on the sand`.
    pub verdict: Option<&'static str>,
    /// Share cut off in the fast, likely and slow run.
    pub cut_off: Option<[f64; 3]>,
    /// The largest of the three.
    pub most_cut_off: Option<f64>,
    /// The same by the feeders of the rule of thumb, in the likely or fast run.
    pub rule_cut_off: Option<f64>,
    /// Metal in its feeders by trying and by the rule of thumb, m3.
    pub feeders: Option<[f64; 2]>,
}

impl FreezingList {
    /// Of a build.
    pub fn new(build: &Build, estimates: &Estimates) -> Self {
        let rows = build.parts.iter().zip(&estimates.castings).filter_map(|(part, estimate)| {
            let estimate = estimate.as_ref()?;
            Some(row(
                part.id(),
                &estimate.field,
                estimate
                    .freezing
                    .solid_after
                    .as_ref()
                    .map(|f| [f.node().range().low, f.si(), f.high()]),
            ))
        });
        let castings: Vec<Row> = rows.collect();
        let metal = |i: usize| castings.iter().filter_map(|r| Some(r.feeders?[i])).sum();
        Self {
            head: Head::new(build),
            feeder_metal: [metal(0), metal(1)],
            castings,
            units: build.header.units,
        }
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let mut table = look.table(&[
            ("part", Side::Left),
            ("solid after", Side::Left),
            ("feeding", Side::Left),
            ("unfed", Side::Right),
            ("feeders", Side::Right),
            ("by rule", Side::Right),
        ]);
        let volumes = self.castings.iter().filter_map(|row| row.feeders).flatten();
        let alike = Alike::of(Kind::Volume, volumes.chain(self.feeder_metal), self.units);
        let volume = |v: f64| alike.show(v);
        for row in &self.castings {
            let solid = row.solid.and_then(|[low, likely, high]| {
                let range = crate::figure::Range { low, likely, high };
                let (likely, span) = show_spanned(Kind::Time, range, self.units);
                let unit = likely.rsplit(' ').next().unwrap_or_default();
                span.map(|span| format!("{span} {unit}"))
            });
            let share = row.most_cut_off.map(|share| show(Kind::Ratio, share, self.units));
            let feeding = row.verdict.map_or(row.stands.clone(), str::to_owned);
            let [tried, rule] =
                row.feeders.map_or([String::new(), String::new()], |f| f.map(volume));
            table.add_row([
                row.part.clone(),
                solid.unwrap_or_default(),
                feeding,
                share.unwrap_or_default(),
                tried,
                rule,
            ]);
        }
        let [tried, rule] = self.feeder_metal.map(volume);
        let mut out = self.head.text(look) + "\n" + &finished(&table) + "\n";
        out += &look.wrapped(
            &format!("Unfed: the most of three runs. Metal in feeders and necks, one casting of each: {tried}; by the rule of thumb {rule}."),
            0,
        );
        out += "\n";
        out
    }
}

fn row(part: &str, field: &Field, solid: Option<[f64; 3]>) -> Row {
    let stands = match field {
        Field::Holds(_) => "holds".to_owned(),
        Field::Outdated => "out of date".to_owned(),
        Field::Missing => "not computed".to_owned(),
        Field::Cannot(why) => why.to_string(),
    };
    let frozen = field.frozen();
    let fed = |frozen: &std::sync::Arc<Frozen>| frozen.feeding.clone();
    let fed = frozen.and_then(fed);
    Row {
        part: part.to_owned(),
        stands,
        solid: solid.filter(|_| frozen.is_some()),
        verdict: fed.as_ref().map(Feeding::verdict),
        cut_off: fed.as_ref().map(|f| f.cut_off),
        most_cut_off: fed.as_ref().map(|f| f.most_cut_off()),
        rule_cut_off: fed.as_ref().map(|f| f.rule_cut_off),
        feeders: fed.as_ref().map(|f| [f.feeders.volume(), f.rule.volume()]),
    }
}
