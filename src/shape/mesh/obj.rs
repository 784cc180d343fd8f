use super::super::section::crossed;
use super::weld::Welder;
use super::{MOST_TRIANGLES, Mesh, Refusal};
use manifold_rust::linalg::Vec2;
use manifold_rust::polygon::triangulate;
use tobj::LoadError;

/// Corners that a face may have: whether it crosses itself is asked of each two of its sides.
pub(super) const MOST_CORNERS: usize = 2_000;

pub(super) fn read(bytes: &[u8]) -> Result<Mesh, Refusal> {
    if bytes.iter().take(4096).any(|&b| b < 0x20 && !b.is_ascii_whitespace()) {
        return Err(Refusal::NotAMesh("no text"));
    }
    bounded(bytes)?;
    let options = tobj::LoadOptions {
        triangulate: false,
        ignore_points: true,
        ignore_lines: true,
        ..tobj::LoadOptions::default()
    };
    // Materials bear on looks alone.
    let no_materials = |_: &std::path::Path| Ok(Default::default());
    let (models, _) = tobj::load_obj_buf(&mut &bytes[..], &options, no_materials)
        .map_err(|why| Refusal::Obj(words(why)))?;
    let count: usize = models.iter().map(|m| m.mesh.indices.len()).sum();
    if count == 0 && !bytes.split(|&b| b == b'\n').any(|line| line.starts_with(b"v ")) {
        return Err(Refusal::NotAMesh("some other text"));
    }
    let mut welder = Welder::with_triangles(count / 3);
    let mut number = 0;
    for model in &models {
        let points = model.mesh.positions.as_chunks::<3>().0;
        let mut left = model.mesh.indices.as_slice();
        // The lengths of the faces are not told where all are triangles.
        let all_threes =
            vec![3; if model.mesh.face_arities.is_empty() { left.len() / 3 } else { 0 }];
        for &length in model.mesh.face_arities.iter().chain(&all_threes) {
            number += 1;
            let (face, rest) = left.split_at(left.len().min(length as usize));
            left = rest;
            let corners = face.iter().map(|&i| points.get(i as usize).copied());
            let corners: Option<Vec<[f64; 3]>> = corners.collect();
            let corners = corners.ok_or(Refusal::NoSuchCorner { face: number })?;
            for triangle in triangles(&corners, number)? {
                welder.triangle(triangle)?;
            }
        }
    }
    Ok(welder.done())
}

/// A face split into triangles, whether it bulges inward or not.
fn triangles(corners: &[[f64; 3]], face: usize) -> Result<Vec<[[f64; 3]; 3]>, Refusal> {
    match *corners {
        [a, b, c] => return Ok(vec![[a, b, c]]),
        [] | [_] | [_, _] => return Ok(Vec::new()),
        _ => {}
    }
    let flat = flattened(corners);
    if let Some(sides) = crossed(&flat) {
        return Err(Refusal::Bow { face, sides });
    }
    let outline = flat.iter().map(|c| Vec2::new(c[0], c[1])).collect();
    let split = triangulate(&vec![outline], 0.0, true);
    let corner = |i: i32| usize::try_from(i).ok().and_then(|i| corners.get(i)).copied();
    let split = split.iter().filter_map(|t| Some([corner(t.x)?, corner(t.y)?, corner(t.z)?]));
    Ok(split.collect())
}

/// The corners seen square on, so that they run counter-clockwise: along the axis to which the
/// face lies most square.
fn flattened(corners: &[[f64; 3]]) -> Vec<[f64; 2]> {
    let next = corners.iter().cycle().skip(1);
    let mut normal = [0.0; 3];
    for (a, b) in corners.iter().zip(next) {
        for (i, n) in normal.iter_mut().enumerate() {
            let (j, k) = ((i + 1) % 3, (i + 2) % 3);
            *n += (a[j] - b[j]) * (a[k] + b[k]);
        }
    }
    let along = (0..3).max_by(|&i, &j| normal[i].abs().total_cmp(&normal[j].abs())).unwrap_or(2);
    let (j, k) = ((along + 1) % 3, (along + 2) % 3);
    let (j, k) = if normal[along] < 0.0 { (k, j) } else { (j, k) };
    corners.iter().map(|c| [c[j], c[k]]).collect()
}

/// Refuses faces of more corners, and more of them, than a drawing has, before they are read.
fn bounded(bytes: &[u8]) -> Result<(), Refusal> {
    let mut triangles = 0_usize;
    for (line, text) in bytes.split(|&b| b == b'\n').enumerate() {
        if !text.trim_ascii_start().starts_with(b"f ") {
            continue;
        }
        let words = text.split(u8::is_ascii_whitespace).filter(|word| !word.is_empty());
        let corners = words.count().saturating_sub(1);
        if corners > MOST_CORNERS {
            return Err(Refusal::TooManyCorners { line: line + 1 });
        }
        triangles += corners.saturating_sub(2);
        if triangles > MOST_TRIANGLES {
            return Err(Refusal::TooBig);
        }
    }
    Ok(())
}

const fn words(why: LoadError) -> &'static str {
    match why {
        LoadError::PositionParseError => "a corner is not three numbers",
        LoadError::FaceParseError => "a face is not a list of corners",
        LoadError::FaceVertexOutOfBounds => "a face names a corner that is not there",
        LoadError::NormalParseError | LoadError::FaceNormalOutOfBounds => "a normal is unsound",
        LoadError::TexcoordParseError | LoadError::FaceTexCoordOutOfBounds => {
            "a texture corner is unsound"
        }
        LoadError::UnrecognizedCharacter => "a line begins with no known word",
        LoadError::ReadError => "a line is not text",
        _ => "a line does not keep to the format",
    }
}
