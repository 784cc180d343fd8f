//! A flask that several patterns share, drawn to scale from above, and where each lies in it.

use super::pen::{EDGE, Pen, SCALES, Sketch, mm, tenth};
use crate::estimate::{Estimates, FlaskFit, Together};
use crate::figure::{Figure, Kind, Mass, show};
use crate::model::Build;
use crate::view::page::plain;
use serde::Serialize;

/// A flask that several patterns share.
#[derive(Debug, Clone, Serialize)]
pub struct SharedFlask {
    /// What is otherwise than for the pattern alone, in words.
    pub says: String,
    /// The drawing; none where no flask of the shop is known to take them.
    pub sketch: Option<Sketch>,
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

/// Room on the paper, beside the list of places, mm.
const WIDE: f64 = 56.0;
const HIGH: f64 = 42.0;
/// Width of a letter and height of a line of the words in a drawing, mm.
const LETTER: f64 = 1.75;
const LINE: f64 = 4.0;
/// Below the drawing, mm.
const FOOT: f64 = 2.0;

impl SharedFlask {
    /// The flasks in which a part lies beside others.
    pub(super) fn all(build: &Build, estimates: &Estimates, part: usize) -> Vec<Self> {
        let shared = estimates.together.iter().filter(|t| t.fits() && t.parts.contains(&part));
        shared.map(|shared| Self::new(build, shared)).collect()
    }

    fn new(build: &Build, shared: &Together) -> Self {
        let units = build.header.units;
        let mass = |f: &Option<Figure<Mass>>| {
            f.as_ref().map_or_else(|| "not known".into(), |f| show(Kind::Mass, f.si(), units))
        };
        let weights = match &shared.loads.weights {
            Some(f) if f.high() <= 0.0 => "none needed".into(),
            Some(f) => show(Kind::Mass, f.high(), units),
            None => "not known".into(),
        };
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
            "{} in {}: sand {}, metal {}, weights on the cope {}{side}; a sprue for each. The rest of this card is for the pattern alone",
            shared.name(build),
            flask.map_or("one flask", |id| &**id),
            mass(&shared.mould.sand),
            mass(&shared.mould.poured),
            weights
        );
        let inside = flask.and_then(|id| build.shop.flasks.get(id));
        let inside = inside.and_then(|f| Some((mm(Some(&f.length))?, mm(Some(&f.width))?)));
        let pattern = |part: &usize| {
            let pattern = build.parts[*part].casting.as_ref().map(|c| c.pattern);
            pattern.map_or(String::new(), |p| plain(&build.patterns[p].id))
        };
        let names: Vec<String> = shared.parts.iter().map(pattern).collect();
        let drawn = inside.and_then(|inside| sketch(inside, shared, &names));
        let named = drawn.as_ref().is_none_or(|(_, named)| *named);
        let places = names.into_iter().zip(&shared.places).enumerate();
        let places = places.map(|(i, (pattern, lies))| SharedPlace {
            pattern,
            number: (!named).then_some(i + 1),
            size: [length(lies.length), length(lies.width)],
            wall: [length(lies.x), length(lies.y)],
        });
        Self {
            says: plain(&says),
            places: places.collect(),
            sketch: drawn.map(|(sketch, _)| sketch),
        }
    }
}

/// Draws the patterns in their flask, and tells whether each is named in it; else each has its
/// number. None where the patterns have no places.
fn sketch(
    (length, width): (f64, f64),
    shared: &Together,
    names: &[String],
) -> Option<(Sketch, bool)> {
    if shared.places.is_empty() {
        return None;
    }
    let fits = |n: &&u32| {
        let n = f64::from(**n);
        length / n + 2.0 * EDGE <= WIDE && width / n + 2.0 * EDGE + FOOT <= HIGH
    };
    let scale = *SCALES.iter().find(fits)?;
    let n = f64::from(scale);
    let mut pen = Pen::new(n);
    pen.rect("flask", 0.0, 0.0, length, width);
    let room = |(name, lies): (&String, &crate::shape::Lies)| {
        let (l, w) = (lies.length * 1e3 / n, lies.width * 1e3 / n);
        name.chars().count() as f64 * LETTER <= l && LINE <= w
    };
    let named = names.iter().zip(&shared.places).all(room);
    for (i, (name, lies)) in names.iter().zip(&shared.places).enumerate() {
        let [x, y, l, w] = [lies.x, lies.y, lies.length, lies.width].map(|m| m * 1e3);
        pen.rect("pattern", x, y, l, w);
        let middle = (x + l / 2.0, y + w / 2.0);
        match named {
            true => pen.word(middle, (0.0, 1.1), name, false),
            false => pen.word(middle, (0.0, 1.5), &(i + 1).to_string(), true),
        }
    }
    let told = names.iter().zip(&shared.places).map(|(name, lies)| {
        format!("{name} of {:.0} by {:.0} mm", lies.length * 1e3, lies.width * 1e3)
    });
    let told = told.collect::<Vec<_>>().join(", ");
    let sketch = Sketch {
        width: tenth(length / n + 2.0 * EDGE),
        height: tenth(width / n + 2.0 * EDGE + FOOT),
        scale,
        says: format!(
            "The shared flask at 1 to {scale}: {length:.0} by {width:.0} mm inside, with {told}, from above."
        ),
        flask_known: true,
        tight: false,
        marks: pen.marks,
        labels: pen.labels,
    };
    Some((sketch, named))
}
