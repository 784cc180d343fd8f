//! Meshes of triangles: reading them, refusing what is broken, and measuring the rest.

mod check;
mod measure;
mod obj;
mod plan;
mod refusal;
mod stl;
mod threemf;
mod vector;
mod weld;

pub use check::Doubt;
pub(super) use check::{Piece, pieces};
pub(super) use measure::sizes;
pub use measure::{Measures, measure};
pub use refusal::Refusal;

use serde::{Deserialize, Serialize};
use std::path::Path;

/// Triangles over shared corners; metres, counter-clockwise seen from outside.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Mesh {
    /// Corners, m.
    pub vertices: Vec<[f64; 3]>,
    /// Three indices of corners each.
    pub triangles: Vec<[u32; 3]>,
}

/// A kind of mesh file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Format {
    /// Stereolithography, binary or text; it states no unit.
    Stl,
    /// Wavefront text; it states no unit.
    Obj,
    /// 3D Manufacturing Format, a zip archive; it states its unit.
    ThreeMf,
}

impl Format {
    /// By the ending of the file's name.
    pub fn of(path: &Path) -> Option<Self> {
        let ending = path.extension()?.to_str()?.to_ascii_lowercase();
        match ending.as_str() {
            "stl" => Some(Self::Stl),
            "obj" => Some(Self::Obj),
            "3mf" => Some(Self::ThreeMf),
            _ => None,
        }
    }
}

/// Triangles that a mesh may have: ten times what a fine print takes.
const MOST_TRIANGLES: usize = 2_000_000;

/// Metres in a unit of a file that states none, unless the caller says otherwise.
const MILLIMETRE: f64 = 1e-3;

/// Reads a mesh file. `unit` is what one unit of the file is in metres; left out, it is what a
/// 3MF file states and a millimetre for the others.
pub fn read(path: &Path, unit: Option<f64>) -> Result<Mesh, Refusal> {
    let format = Format::of(path).ok_or(Refusal::Ending)?;
    let bytes = std::fs::read(path).map_err(|why| Refusal::Unreadable(why.to_string()))?;
    read_bytes(&bytes, format, unit)
}

/// Reads a mesh from the bytes of a file; see [`read`].
pub fn read_bytes(bytes: &[u8], format: Format, unit: Option<f64>) -> Result<Mesh, Refusal> {
    if bytes.is_empty() {
        return Err(Refusal::Empty);
    }
    let mut mesh = match format {
        Format::Stl => stl::read(bytes)?,
        Format::Obj => obj::read(bytes)?,
        Format::ThreeMf => threemf::read(bytes, unit)?,
    };
    if mesh.triangles.is_empty() {
        return Err(Refusal::NoTriangles);
    }
    if format != Format::ThreeMf {
        let unit = unit.unwrap_or(MILLIMETRE);
        for value in mesh.vertices.iter_mut().flatten() {
            *value *= unit;
        }
    }
    Ok(mesh)
}
