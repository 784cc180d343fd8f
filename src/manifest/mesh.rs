use crate::figure::{Area, Because, Figure, Length, Range, Volume};
use crate::shape::mesh::{Format, Mesh, measure, read_bytes};
use crate::yaml::{Code, Cursor, Given};
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
    /// Its triangles.
    pub mesh: Arc<Mesh>,
    /// Whether it is a mesh of the pattern, contraction already in it.
    pub of_pattern: bool,
}

const OF: &[(&str, bool)] = &[("part", false), ("pattern", true)];

/// Reads `mesh: {file: base.stl, of: part, unit: 1 mm}`: the file is measured at once, and what
/// spoils its volume is a fault.
pub(super) fn read(cursor: &Cursor<'_>) -> Option<MeshGiven> {
    let mut f = cursor.fields()?;
    let unit = f.take("unit", |c| c.figure::<Length>("length of one unit of the mesh"));
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
    let mesh = match read_bytes(&at.file()?, format, unit.map(|u| u.si())) {
        Ok(mesh) => mesh,
        Err(refusal) => {
            at.fault(Code::File, refusal.to_string(), refusal.hint());
            return None;
        }
    };
    let measures = measure(&mesh);
    if !measures.is_sound() {
        for doubt in measures.doubts.iter().filter(|d| d.spoils_volume()) {
            at.fault(Code::Geometry, doubt.to_string(), doubt.hint());
        }
        return None;
    }
    let size = |axis: usize| measures.bounds[1][axis] - measures.bounds[0][axis];
    let largest = (0..3).map(size).fold(0.0, f64::max);
    if !(0.002..=5.0).contains(&largest) {
        let says = format!("its longest side would be {:.3} m", largest);
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
    Some(MeshGiven { file, volume, surface, mesh: mesh.into(), of_pattern })
}
