use super::weld::Welder;
use super::{Mesh, Refusal};
use tobj::LoadError;

pub(super) fn read(bytes: &[u8]) -> Result<Mesh, Refusal> {
    if bytes.iter().take(4096).any(|&b| b < 0x20 && !b.is_ascii_whitespace()) {
        return Err(Refusal::NotAMesh("no text"));
    }
    let options = tobj::LoadOptions {
        triangulate: true,
        ignore_points: true,
        ignore_lines: true,
        ..tobj::LoadOptions::default()
    };
    // Materials bear on looks alone.
    let no_materials = |_: &std::path::Path| Ok(Default::default());
    let (models, _) = tobj::load_obj_buf(&mut &bytes[..], &options, no_materials)
        .map_err(|why| Refusal::Obj(words(why)))?;
    let count = models.iter().map(|m| m.mesh.indices.len() / 3).sum();
    if count == 0 && !bytes.split(|&b| b == b'\n').any(|line| line.starts_with(b"v ")) {
        return Err(Refusal::NotAMesh("some other text"));
    }
    let mut welder = Welder::with_triangles(count);
    for model in &models {
        let points = model.mesh.positions.as_chunks::<3>().0;
        for (face, corners) in model.mesh.indices.as_chunks::<3>().0.iter().enumerate() {
            let at = |i: usize| {
                points
                    .get(corners[i] as usize)
                    .copied()
                    .ok_or(Refusal::NoSuchCorner { face: face + 1 })
            };
            welder.triangle([at(0)?, at(1)?, at(2)?])?;
        }
    }
    Ok(welder.done())
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
