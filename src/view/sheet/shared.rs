//! A flask that several patterns share, drawn to scale from above, and where each lies in it.

use super::pen::{EDGE, Pen, SCALES, Sketch, tenth};
use super::sketch::Drawn;
use crate::estimate::layout::Layout;
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
/// Width of a letter of the words in a drawing, mm.
const LETTER: f64 = 1.75;
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
            "{} in {}: sand {}, metal {}, charge {}, cope {} without metal, weights on it {}{side}; a sprue for each. The large figures above are of the whole mould; drawing and sizes are of this pattern",
            shared.name(build),
            flask.map_or("one flask", |id| &**id),
            mass(&shared.mould.sand),
            mass(&shared.mould.poured),
            mass(&shared.mould.charge),
            mass(&shared.loads.cope_mass),
            weights
        );
        let pattern = |part: &usize| {
            let pattern = build.parts[*part].casting.as_ref().map(|c| c.pattern);
            pattern.map_or(String::new(), |p| plain(&build.patterns[p].id))
        };
        let names: Vec<String> = shared.parts.iter().map(pattern).collect();
        let layout = shared.layout.as_ref().filter(|layout| layout.flask.is_some());
        let drawn = layout.and_then(|layout| sketch(layout, &names));
        let named = drawn.as_ref().is_none_or(|(_, named)| *named);
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
        Self {
            says: plain(&says),
            places: places.collect(),
            sketch: drawn.map(|(sketch, _)| sketch),
        }
    }
}

/// Draws the whole mould from above, and tells whether each pattern is named in it; else each has its
/// number. None where the patterns have no places.
fn sketch(layout: &Layout, names: &[String]) -> Option<(Sketch, bool)> {
    let drawn = Drawn::new(layout);
    let [length, width] = drawn.size();
    let fits = |n: &&u32| {
        let n = f64::from(**n);
        length / n + 2.0 * EDGE <= WIDE && width / n + 2.0 * EDGE + FOOT <= HIGH
    };
    let scale = *SCALES.iter().find(fits)?;
    let n = f64::from(scale);
    let (wide, high) = (tenth(length / n + 2.0 * EDGE), tenth(width / n + 2.0 * EDGE + FOOT));
    let mut pen = Pen::new(n);
    pen.room = [0.0, 0.0, wide, high];
    let named = names.iter().all(|name| name.chars().count() as f64 * LETTER <= 14.0);
    drawn.above(&mut pen, false);
    for (i, (name, laid)) in names.iter().zip(&layout.patterns).enumerate() {
        let middle = drawn.middle(laid);
        match named {
            true => pen.note(middle, name),
            false => pen.letter(middle, &(i + 1).to_string()),
        }
    }
    let told = names.iter().zip(&layout.patterns).map(|(name, laid)| {
        format!("{name} of {:.0} by {:.0} mm", laid.lies.length * 1e3, laid.lies.width * 1e3)
    });
    let told = told.collect::<Vec<_>>().join(", ");
    let sketch = Sketch {
        width: wide,
        height: high,
        scale,
        says: format!(
            "The shared flask at 1 to {scale}: {length:.0} by {width:.0} mm inside, with {told}, from above."
        ),
        flask_known: true,
        marks: pen.marks,
        labels: pen.labels,
    };
    Some((sketch, named))
}
