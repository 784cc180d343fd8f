//! A flask that several patterns share, and where each lies in it.

use crate::estimate::{FlaskFit, Together};
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::view::page::plain;
use serde::Serialize;

/// A flask that several patterns share.
#[derive(Debug, Clone, Serialize)]
pub struct SharedFlask {
    /// What is otherwise than for the pattern alone, in words.
    pub says: String,
    /// Where each pattern lies.
    pub places: Vec<SharedPlace>,
}

/// Where a pattern lies.
#[derive(Debug, Clone, Serialize)]
pub struct SharedPlace {
    /// The pattern.
    pub pattern: String,
    /// Its number, where the drawing has no room for its name.
    pub number: Option<usize>,
    /// Its size along the length and the width of the flask.
    pub size: [String; 2],
    /// Sand from it to the left and to the upper wall of the drawing.
    pub wall: [String; 2],
}

/// Letters of a name that the drawing has room for.
const SHORT: usize = 8;

impl SharedFlask {
    /// What the patterns are called in the drawing, in their order.
    pub(super) fn names(&self) -> Vec<String> {
        let called = |p: &SharedPlace| p.number.map_or(p.pattern.clone(), |n| n.to_string());
        self.places.iter().map(called).collect()
    }

    pub(super) fn new(build: &Build, shared: &Together) -> Self {
        let units = build.header.units;
        let length = |m: f64| show(Kind::Length, m, units);
        let flask = match &shared.mould.flask {
            FlaskFit::Fits(id) => Some(id),
            _ => None,
        };
        let side = shared.side.as_ref().map_or(String::new(), |side| {
            format!(
                "; {} of sand between and to the wall, or more",
                length(side.node().range().low)
            )
        });
        let says = format!(
            "{} in {}{side}; a sprue for each. The large figures above are of the whole mould; the letters are of this pattern",
            shared.name(build),
            flask.map_or("one flask", |id| &**id),
        );
        let pattern = |part: &usize| {
            let pattern = build.parts[*part].casting.as_ref().map(|c| c.pattern);
            pattern.map_or(String::new(), |p| plain(&build.patterns[p].id))
        };
        let names: Vec<String> = shared.parts.iter().map(pattern).collect();
        let layout = shared.layout.as_ref().filter(|layout| layout.flask.is_some());
        let named = names.iter().all(|name| name.chars().count() <= SHORT);
        // As it is drawn: its second axis up, or the flask a quarter turned.
        let seen = |lies: &crate::shape::Lies| match layout {
            Some(layout) if layout.inside[1] > layout.inside[0] => {
                ([lies.width, lies.length], [lies.y, lies.x])
            }
            Some(layout) => {
                ([lies.length, lies.width], [lies.x, layout.inside[1] - lies.y - lies.width])
            }
            None => ([lies.length, lies.width], [lies.x, lies.y]),
        };
        let places = names.into_iter().zip(shared.places()).enumerate();
        let places = places.map(|(i, (pattern, lies))| SharedPlace {
            pattern,
            number: (!named).then_some(i + 1),
            size: seen(&lies).0.map(length),
            wall: seen(&lies).1.map(length),
        });
        Self { says: plain(&says), places: places.collect() }
    }
}
