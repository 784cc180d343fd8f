use crate::figure::{Area, Because, Figure, Kind, Length, Range, System, Volume, show};
use crate::shape::Body;
use crate::shape::mesh::{Doubt, Format, measure, read_bytes};
use crate::yaml::{Code, Cursor, Given};
use std::ops::RangeInclusive;
use std::path::Path;
use std::sync::Arc;

/// A mesh and what it measures.
#[derive(Debug, Clone)]
pub struct MeshGiven {
    /// Its file, as written.
    pub file: Given<Arc<str>>,
    /// Volume.
    pub volume: Figure<Volume>,
    /// Surface.
    pub surface: Figure<Area>,
    /// Itself in space, as drawn.
    pub body: Arc<Body>,
    /// What one unit of the file is taken for, m; of a 3MF what is written in it, where none is
    /// given.
    pub unit: Option<f64>,
    /// Whether it is a mesh of the pattern, contraction already in it.
    pub of_pattern: bool,
}

/// Longest side of what is cast at home, m.
const CASTABLE: RangeInclusive<f64> = 0.010..=3.0;

const OF: &[(&str, bool)] = &[("part", false), ("pattern", true)];

/// Reads `mesh: {file: base.stl, of: part, unit: 1 mm}`: the file is measured at once, and what
/// spoils its volume is a fault.
pub(super) fn read(cursor: &Cursor<'_>) -> Option<MeshGiven> {
    let mut f = cursor.fields()?;
    let unit = f.take("unit", |c| c.figure::<Length>("length of one unit of the mesh"));
    let unit = unit.map(|unit| unit.si());
    let of_pattern = f.take("of", |c| c.choice(OF)).unwrap_or(false);
    let at = f.get("file");
    if at.is_none() {
        cursor.fault_at_key(Code::MissingKey, "`file` is missing here", "add `file: base.stl`");
    }
    f.done();
    let at = at?;
    let file = at.word()?;
    let Some(format) = Format::of(Path::new(&*file.value)) else {
        at.fault(Code::File, "this is no mesh that can be read", "give an .stl, .obj or .3mf file");
        return None;
    };
    let mesh = match read_bytes(&at.file()?, format, unit) {
        Ok(mesh) => mesh,
        Err(refusal) => {
            at.fault(Code::File, refusal.to_string(), refusal.hint());
            return None;
        }
    };
    let measures = measure(&mesh);
    // A pattern may be in loose pieces, or one of several on a board; a casting is one.
    let spoils =
        |d: &&Doubt| d.spoils_volume() || (!of_pattern && matches!(d, Doubt::Apart { .. }));
    let spoilt: Vec<&Doubt> = measures.doubts.iter().filter(spoils).collect();
    for doubt in &spoilt {
        at.fault(Code::Geometry, doubt.to_string(), doubt.hint());
    }
    if !spoilt.is_empty() {
        return None;
    }
    let size = |axis: usize| measures.bounds[1][axis] - measures.bounds[0][axis];
    let largest = (0..3).map(size).fold(0.0, f64::max);
    if !CASTABLE.contains(&largest) {
        let says =
            format!("its longest side would be {}", show(Kind::Length, largest, System::Metric));
        at.fault(Code::Size, says, "say how long one unit of the mesh is: `unit: 1 in`");
        return None;
    }
    let mut volume = Figure::new(
        "volume of the mesh",
        Range::exact(measures.volume),
        Because::Given(file.route.clone()),
    );
    let doubts: Vec<String> = measures.doubts.iter().map(ToString::to_string).collect();
    if !doubts.is_empty() {
        volume = volume.noting(doubts.join("; "));
    }
    let surface = Figure::new(
        "surface of the mesh",
        Range::exact(measures.surface),
        Because::Given(file.route.clone()),
    );
    let body = Body::measured(mesh, &measures).into();
    let unit = unit.or((format != Format::ThreeMf).then_some(1e-3));
    Some(MeshGiven { file, volume, surface, body, unit, of_pattern })
}
