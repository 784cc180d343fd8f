use super::places;
use crate::figure::{Area, Because, Figure, Kind, Length, Node, Range, Route, Volume};
use crate::shape::{Frame, Section, Solid};
use crate::yaml::{Code, Cursor, Fields, Given, nearest};
use std::sync::Arc;

/// One solid of a shape.
#[derive(Debug, Clone)]
pub struct SolidGiven {
    /// The solid.
    pub solid: Solid,
    /// Its sizes as given.
    pub sizes: Vec<Node>,
    /// How many.
    pub count: u32,
    /// Where each of them stands, where that is said.
    pub frames: Option<Vec<Frame>>,
    /// Whether it is cut out.
    pub less: bool,
    /// What the builder calls it.
    pub called: Option<Arc<str>>,
    /// Whether its own faces are machined, where it is said: all that are bare, those of a cut-out, the
    /// bore of a tube.
    pub machined: Option<bool>,
    /// Which added solid it is cut out of; the largest where none is said.
    pub of: Option<Given<Arc<str>>>,
    /// Where it was written.
    pub route: Route,
}

const NAMES: [&str; 8] = ["plate", "block", "cylinder", "tube", "cone", "ring", "sphere", "prism"];
const YES: &[(&str, bool)] = &[("yes", true), ("no", false)];
const SECTIONS: [&str; 5] = ["polygon", "L", "T", "U", "I"];

/// Sizes taken from the manifest, in order, kept for the reason.
struct Sizes<'a, 'f> {
    fields: &'f mut Fields<'a>,
    nodes: Vec<Node>,
    whole: bool,
}

impl Sizes<'_, '_> {
    fn take(&mut self, key: &'static str) -> f64 {
        let figure = self.fields.need(key, "100 mm", |c| {
            let figure = c.figure::<Length>(key)?;
            if !figure.node().range().is_exact() {
                c.fault(
                    Code::Shape,
                    "a drawn size is one value",
                    "give the doubt to the mass instead",
                );
            }
            Some(figure)
        });
        match figure {
            Some(figure) => {
                self.nodes.push(figure.node().clone());
                figure.si()
            }
            None => {
                self.whole = false;
                f64::NAN
            }
        }
    }
}

/// Reads one entry of `add:` or `less:`.
pub(super) fn read(cursor: &Cursor<'_>, less: bool) -> Option<SolidGiven> {
    let mut fields = cursor.fields()?;
    let named = fields.present(&NAMES);
    let count = fields.get("count");
    let before = cursor.reading().found();
    let frames = places::read(&mut fields);
    let placed = cursor.reading().found() == before;
    let count = counted(count.as_ref(), frames.as_deref());
    let called = fields.take("as", |c| c.text());
    let of = if less { fields.take("of", |c| c.word()) } else { None };
    let machined = fields.take("machined", |c| c.choice(YES));
    let solid = match named.as_slice() {
        [name] => fields.take(name, |c| solid(name, c)),
        [] => {
            fields.cursor().fault(
                Code::Shape,
                "no solid is named here",
                format!("start with one of: {}", NAMES.join(", ")),
            );
            for name in NAMES {
                fields.get(name);
            }
            None
        }
        _ => {
            fields.cursor().fault(Code::Shape, "two solids in one entry", "give each its own `- `");
            for name in NAMES {
                fields.get(name);
            }
            None
        }
    };
    if named.len() == 1 {
        for name in NAMES.iter().filter(|n| !named.contains(n)) {
            fields.get(name);
        }
    }
    fields.done();
    // A solid that stands elsewhere or is turned otherwise would be another casting.
    let (solid, sizes) = solid.filter(|_| placed)?;
    let route = cursor.route();
    Some(SolidGiven { solid, sizes, count, frames, less, called, machined, of, route })
}

/// How many there are: as said, or as many as there are places.
fn counted(said: Option<&Cursor<'_>>, frames: Option<&[Frame]>) -> u32 {
    let count = said.and_then(|c| c.count());
    let Some(frames) = frames else { return count.unwrap_or(1) };
    let placed = frames.len() as u32;
    if let (Some(cursor), Some(count)) = (said, count)
        && count != placed
    {
        let says = format!("{count} are counted, but places are given for {placed}");
        cursor.fault(Code::Shape, says, "leave `count` out: the places tell how many");
    }
    placed
}

/// Tells of cut-outs that name no added solid, at the name.
pub(super) fn check_names(cursors: &[Cursor<'_>], solids: &[SolidGiven]) {
    let added = || solids.iter().filter(|s| !s.less).map(SolidGiven::name);
    for cursor in cursors {
        let Some(of) = cursor.fields().and_then(|mut f| f.get("of")) else { continue };
        let Some(name) = of.text().filter(|name| !added().any(|a| a == &**name)) else { continue };
        let hint = match nearest(&name, added()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "give the name that stands after `as:`, or what the solid is".to_owned(),
        };
        of.fault(Code::Word, format!("no solid under `add:` is called `{name}`"), hint);
    }
}

fn solid(name: &str, cursor: &Cursor<'_>) -> Option<(Solid, Vec<Node>)> {
    let mut fields = cursor.fields()?;
    let section = (name == "prism").then(|| {
        fields.need("section", "{L: {width: 40 mm, height: 40 mm, thickness: 5 mm}}", section)
    });
    let mut sizes = Sizes { fields: &mut fields, nodes: Vec::new(), whole: true };
    let solid = match name {
        "plate" => Solid::Plate {
            length: sizes.take("length"),
            width: sizes.take("width"),
            thickness: sizes.take("thickness"),
        },
        "block" => Solid::Block {
            length: sizes.take("length"),
            width: sizes.take("width"),
            height: sizes.take("height"),
        },
        "cylinder" => {
            Solid::Cylinder { diameter: sizes.take("diameter"), length: sizes.take("length") }
        }
        "tube" => Solid::Tube {
            outside: sizes.take("outside"),
            inside: sizes.take("inside"),
            length: sizes.take("length"),
        },
        "cone" => Solid::Cone {
            bottom: sizes.take("bottom"),
            top: sizes.take("top"),
            length: sizes.take("length"),
        },
        "ring" => Solid::Ring { outside: sizes.take("outside"), section: sizes.take("section") },
        "sphere" => Solid::Sphere { diameter: sizes.take("diameter") },
        _ => {
            let length = sizes.take("length");
            let (section, mut nodes) = section.flatten()?;
            nodes.append(&mut sizes.nodes);
            sizes.nodes = nodes;
            Solid::Prism { section, length }
        }
    };
    let (nodes, whole) = (sizes.nodes, sizes.whole);
    fields.done();
    if !whole {
        return None;
    }
    let faults = solid.faults();
    for fault in &faults {
        cursor.fault(
            Code::Geometry,
            format!("{}: {}", fault.field, fault.says),
            fault.hint.to_string(),
        );
    }
    faults.is_empty().then_some((solid, nodes))
}

fn section(cursor: &Cursor<'_>) -> Option<(Section, Vec<Node>)> {
    let mut fields = cursor.fields()?;
    let named = fields.present(&SECTIONS);
    let [name] = named.as_slice() else {
        cursor.fault(
            Code::Shape,
            "one section is expected",
            format!("choose from: {}", SECTIONS.join(", ")),
        );
        return None;
    };
    if *name == "polygon" {
        let polygon = fields.take("polygon", polygon);
        fields.done();
        return polygon.map(|p| (Section::Polygon(p), Vec::new()));
    }
    let inner = fields.get(name)?;
    fields.done();
    let mut fields = inner.fields()?;
    let mut sizes = Sizes { fields: &mut fields, nodes: Vec::new(), whole: true };
    let (width, height) = (sizes.take("width"), sizes.take("height"));
    let section = match *name {
        "L" => Section::L { width, height, thickness: sizes.take("thickness") },
        "U" => Section::U { width, height, thickness: sizes.take("thickness") },
        "T" => Section::T { width, height, web: sizes.take("web"), flange: sizes.take("flange") },
        _ => Section::I { width, height, web: sizes.take("web"), flange: sizes.take("flange") },
    };
    let (nodes, whole) = (sizes.nodes, sizes.whole);
    fields.done();
    whole.then_some((section, nodes))
}

fn polygon(cursor: &Cursor<'_>) -> Option<Vec<[f64; 2]>> {
    let mut points = Vec::new();
    for corner in cursor.items() {
        let pair = corner.items();
        let [x, y] = pair.as_slice() else {
            corner.fault(Code::Shape, "a corner has two lengths", "try [0 mm, 40 mm]");
            return None;
        };
        points.push([x.range(Kind::Length)?.likely, y.range(Kind::Length)?.likely]);
    }
    if points.len() < 3 {
        cursor.fault(
            Code::Geometry,
            "a polygon has three corners or more",
            "add the missing corners",
        );
        return None;
    }
    Some(points)
}

impl SolidGiven {
    /// Volume of all of them together, with its closed form as the reason.
    pub fn volume(&self) -> Figure<Volume> {
        let total = self.solid.volume() * f64::from(self.count);
        let because = Because::Closed(self.solid.volume_formula(), self.sizes.clone());
        Figure::new(self.label(), Range::exact(total), because)
    }

    /// Surface of all of them together, as if none touched.
    pub fn surface(&self) -> Figure<Area> {
        let total = self.solid.surface() * f64::from(self.count);
        let because = Because::Closed("all faces of the solid", self.sizes.clone());
        Figure::new(self.label(), Range::exact(total), because)
    }

    /// What it is called, or what it is.
    pub fn name(&self) -> &str {
        self.called.as_deref().unwrap_or(self.solid.name())
    }

    fn label(&self) -> String {
        if self.count == 1 {
            self.name().to_owned()
        } else {
            format!("{} x {}", self.count, self.name())
        }
    }
}
