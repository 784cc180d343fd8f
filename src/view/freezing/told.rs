//! The freezing of a casting as the report and the mould card tell it.

use super::Picture;
use crate::estimate::{CastingEstimate, Estimates, Field};
use crate::figure::{Kind, System, show};
use crate::model::Build;
use serde::Serialize;

/// What heat flow says of a casting, or why it says nothing.
#[derive(Debug, Clone, Serialize)]
pub struct FreezingTold {
    /// What there is to say, in words.
    pub says: Vec<String>,
    /// Where it freezes last, in words.
    pub last: Option<String>,
    /// How it is fed, in a few words beside a section.
    pub short: String,
    /// Sections through the last place to freeze.
    pub picture: Option<Picture>,
}

impl FreezingTold {
    /// Of a casting, with so many sections.
    pub fn new(id: &str, estimate: &CastingEstimate, sections: usize, units: System) -> Self {
        let ask =
            format!("`pourwright freezing {id}` computes it; until then the rule of thumb is used");
        let bare = |says: String| Self {
            says: vec![says],
            last: None,
            short: String::new(),
            picture: None,
        };
        let frozen = match &estimate.field {
            Field::Holds(frozen) => frozen,
            Field::Outdated => return bare(format!("Heat flow is out of date: {ask}.")),
            Field::Missing => return bare(format!("Heat flow is not computed yet: {ask}.")),
            Field::Cannot(why) => return bare(format!("Heat flow cannot be computed: {why}.")),
        };
        let length = |m: f64| show(Kind::Length, m, units);
        let share = |s: f64| show(Kind::Ratio, s, units);
        let [x, y, z] = frozen.last.map(length);
        let mut says = Vec::new();
        let mut short = "Last to freeze here: the cross.".to_owned();
        if let Some(fed) = &frozen.feeding {
            let worst = share(fed.most_cut_off());
            says.push(format!("Feeding: {}; unfed: {}.", fed.verdict(), fed.unfed(units)));
            short += &match fed.verdict() {
                "fed" => " Fed.".to_owned(),
                other => {
                    let most = fed.pockets.first().map(|pocket| {
                        format!(", most of it at {}", pocket.place.map(length).join(", "))
                    });
                    format!(" Feeding: {other}, up to {worst} left{}.", most.unwrap_or_default())
                }
            };
            let feet: Vec<String> =
                fed.feet.iter().map(|foot| foot.map(length).join(", ")).collect();
            says.push(format!("Feeders stand at {}, as the casting is drawn.", feet.join("; ")));
        }
        if let Some(way) = frozen.ingates() {
            let time = |s: f64| show(Kind::Time, s, units);
            says.push(format!(
                "The ingates close {}: after {}, the casting after {} in the likely run.",
                way.verdict(),
                time(way.closes[1]),
                time(way.casting[1])
            ));
        }
        let mut picture = Picture::of(frozen);
        picture.sections.truncate(sections);
        Self {
            says,
            last: Some(format!("Last to freeze here, at {x}, {y}, {z} as the casting is drawn.")),
            short,
            picture: Some(picture),
        }
    }
}

/// More castings than this are counted, not named.
const MOST_NAMED: usize = 8;

/// How many castings of a build were reckoned, in a sentence.
pub fn reckoned(build: &Build, estimates: &Estimates) -> Option<String> {
    let fields: Vec<&Field> = estimates.castings.iter().flatten().map(|e| &e.field).collect();
    let names = |wanted: fn(&Field) -> bool| -> Vec<&str> {
        let parts = build.parts.iter().zip(&estimates.castings);
        let wanted = parts.filter(|(_, e)| e.as_ref().is_some_and(|e| wanted(&e.field)));
        wanted.map(|(part, _)| &**part.id()).collect()
    };
    let holds = fields.iter().filter(|f| f.frozen().is_some()).count();
    let mut out = format!("Heat flow is computed for {holds} of {} castings", fields.len());
    for (what, wanted) in [
        ("out of date", (|f| matches!(f, Field::Outdated)) as fn(&Field) -> bool),
        ("not computed yet", |f| matches!(f, Field::Missing)),
        ("cannot be computed", |f| matches!(f, Field::Cannot(_))),
    ] {
        let names = names(wanted);
        match names.len() {
            0 => {}
            n if n > MOST_NAMED => out += &format!("; {what}: {n}"),
            _ => out += &format!("; {what}: {}", names.join(", ")),
        }
    }
    (!fields.is_empty()).then(|| out + ". `pourwright freezing` computes what is missing.")
}
