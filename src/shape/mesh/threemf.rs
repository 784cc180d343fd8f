//! 3MF: a zip archive with models in XML. Objects are placed as the build list says.

use super::weld::Welder;
use super::{Mesh, Refusal};
use quick_xml::events::{BytesStart, Event};
use std::collections::HashMap;
use std::io::{BufRead, BufReader, Cursor, Read};

/// Rows of a 3MF matrix: a point is multiplied from the left.
type Placing = [[f64; 3]; 4];

const IN_PLACE: Placing = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0; 3]];
/// Objects within objects.
const DEEPEST: usize = 32;
/// Placings of objects in all.
const MOST_PLACINGS: usize = 100_000;
/// Bytes that the archive may unpack to in all.
pub(super) const MOST_UNPACKED: u64 = 96 << 20;

struct Placed {
    part: String,
    object: u32,
    placing: Placing,
}

#[derive(Default)]
struct Object {
    points: Vec<[f64; 3]>,
    triangles: Vec<[u32; 3]>,
    components: Vec<Placed>,
}

#[derive(Default)]
struct Package {
    objects: HashMap<(String, u32), Object>,
    build: Vec<Placed>,
}

pub(super) fn read(bytes: &[u8], unit: Option<f64>) -> Result<Mesh, Refusal> {
    if !bytes.starts_with(b"PK") {
        return Err(Refusal::NotAMesh("no zip archive"));
    }
    let unsound = |why: zip::result::ZipError| Refusal::Archive(why.to_string());
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(unsound)?;
    let mut parts: Vec<String> =
        archive.file_names().filter(|name| name.ends_with(".model")).map(str::to_owned).collect();
    parts.sort();
    let root = root(&mut archive)?;
    if !parts.contains(&root) {
        return Err(Refusal::Archive(format!("there is no {root} in it")));
    }
    let mut package = Package::default();
    let mut room = MOST_UNPACKED;
    for part in &parts {
        let file = archive.by_name(part).map_err(unsound)?;
        if file.size() > room {
            return Err(Refusal::Unpacks);
        }
        // What an archive says of its size need not be so.
        let mut file = file.take(room);
        let read = package.model(BufReader::new(&mut file), part, *part == root, unit);
        room = file.limit();
        if room == 0 {
            return Err(Refusal::Unpacks);
        }
        read?;
    }
    let count = package.objects.values().map(|o| o.triangles.len()).sum();
    let mut welder = Welder::with_triangles(count);
    let mut left = MOST_PLACINGS;
    for item in &package.build {
        package.place(item, &IN_PLACE, 0, &mut left, &mut welder)?;
    }
    Ok(welder.done())
}

/// The name of the first model, as the archive's relations tell it.
fn root(archive: &mut zip::ZipArchive<Cursor<&[u8]>>) -> Result<String, Refusal> {
    let Ok(file) = archive.by_name("_rels/.rels") else {
        return Ok("3D/3dmodel.model".into());
    };
    let mut found = None;
    each(BufReader::new(file.take(MOST_UNPACKED)), |event| {
        if let Event::Start(tag) | Event::Empty(tag) = event
            && tag.local_name().as_ref() == "Relationship"
            && text(tag, "Type")?.is_some_and(|kind| kind.ends_with("/3dmodel"))
        {
            found = found.take().or(text(tag, "Target")?);
        }
        Ok(())
    })?;
    found
        .map(|target| target.trim_start_matches('/').to_owned())
        .ok_or_else(|| Refusal::Archive("it names no model".into()))
}

fn each<R: BufRead>(
    source: R,
    mut take: impl FnMut(&Event<'_>) -> Result<(), Refusal>,
) -> Result<(), Refusal> {
    let mut reader = quick_xml::Reader::from_reader(source);
    let mut buffer = Vec::new();
    let mut open = 0_usize;
    loop {
        let event = reader
            .read_event_into(&mut buffer)
            .map_err(|why| Refusal::Model(why.to_string().into()))?;
        match event {
            Event::Start(_) => open += 1,
            Event::End(_) => open = open.saturating_sub(1),
            Event::Eof if open > 0 => return Err(Refusal::Model("it stops half-way".into())),
            Event::Eof => return Ok(()),
            _ => {}
        }
        take(&event)?;
        buffer.clear();
    }
}

fn text(tag: &BytesStart<'_>, name: &str) -> Result<Option<String>, Refusal> {
    for attribute in tag.attributes() {
        let attribute = attribute.map_err(|why| Refusal::Model(why.to_string().into()))?;
        if attribute.key.local_name().as_ref() == name {
            return Ok(Some(attribute.value.into_owned()));
        }
    }
    Ok(None)
}

/// Values of attributes by their names, in the order of the names.
fn values<T: std::str::FromStr + Copy, const N: usize>(
    tag: &BytesStart<'_>,
    names: [&str; N],
) -> Result<[T; N], Refusal> {
    let mut found = [None; N];
    for attribute in tag.attributes().with_checks(false) {
        let attribute = attribute.map_err(|why| Refusal::Model(why.to_string().into()))?;
        if let Some(at) = names.iter().position(|n| *n == attribute.key.as_ref()) {
            found[at] = attribute.value.trim().parse().ok();
        }
    }
    let missing = || {
        let tag = tag.name().into_inner().to_owned();
        Refusal::Model(format!("a {tag} lacks a sound {}", names.join(", ")).into())
    };
    if found.iter().any(Option::is_none) {
        return Err(missing());
    }
    found
        .into_iter()
        .collect::<Option<Vec<T>>>()
        .and_then(|v| v.try_into().ok())
        .ok_or_else(missing)
}

fn placing(tag: &BytesStart<'_>, scale: f64) -> Result<Placing, Refusal> {
    let Some(written) = text(tag, "transform")? else { return Ok(IN_PLACE) };
    let numbers: Option<Vec<f64>> =
        written.split_ascii_whitespace().map(|word| word.parse().ok()).collect();
    let numbers = numbers
        .filter(|n| n.len() == 12)
        .ok_or(Refusal::Model("a transform is not twelve numbers".into()))?;
    let mut rows = IN_PLACE;
    for (row, given) in rows.iter_mut().zip(numbers.as_chunks::<3>().0) {
        *row = *given;
    }
    rows[3] = rows[3].map(|v| v * scale);
    Ok(rows)
}

fn moved(at: [f64; 3], by: &Placing) -> [f64; 3] {
    [0, 1, 2].map(|i| at[0] * by[0][i] + at[1] * by[1][i] + at[2] * by[2][i] + by[3][i])
}

/// First `inner`, then `outer`.
fn after(inner: &Placing, outer: &Placing) -> Placing {
    let turned = |row: [f64; 3]| {
        [0, 1, 2].map(|i| row[0] * outer[0][i] + row[1] * outer[1][i] + row[2] * outer[2][i])
    };
    [turned(inner[0]), turned(inner[1]), turned(inner[2]), moved(inner[3], outer)]
}

/// Whether it turns the shape into its mirror image.
fn mirrors([a, b, c, _]: &Placing) -> bool {
    a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
        + a[2] * (b[0] * c[1] - b[1] * c[0])
        < 0.0
}

impl Package {
    fn model<R: BufRead>(
        &mut self,
        source: R,
        part: &str,
        is_root: bool,
        unit: Option<f64>,
    ) -> Result<(), Refusal> {
        let mut scale = unit.unwrap_or(super::MILLIMETRE);
        let mut object: Option<(u32, Object)> = None;
        let mut is_model = false;
        each(source, |event| {
            match event {
                Event::Start(tag) | Event::Empty(tag) => {
                    let name = tag.local_name();
                    let here = object.as_mut().map(|(_, object)| object);
                    match (name.as_ref(), here) {
                        ("vertex", Some(object)) => {
                            let at: [f64; 3] = values(tag, ["x", "y", "z"])?;
                            object.points.push(at.map(|v| v * scale));
                        }
                        ("triangle", Some(object)) => {
                            object.triangles.push(values(tag, ["v1", "v2", "v3"])?);
                        }
                        ("component", Some(object)) => {
                            object.components.push(placed(tag, part, scale)?);
                        }
                        ("item", None) if is_root => self.build.push(placed(tag, part, scale)?),
                        ("object", None) => {
                            let [id] = values(tag, ["id"])?;
                            object = Some((id, Object::default()));
                        }
                        ("model", None) => {
                            is_model = true;
                            if unit.is_none() {
                                scale = stated(text(tag, "unit")?.as_deref())?;
                            }
                        }
                        _ => {}
                    }
                }
                Event::End(tag) if tag.local_name().as_ref() == "object" => {
                    if let Some((id, object)) = object.take() {
                        self.objects.insert((part.to_owned(), id), object);
                    }
                }
                _ => {}
            }
            Ok(())
        })?;
        if is_model { Ok(()) } else { Err(Refusal::Model("there is no model in it".into())) }
    }

    fn place(
        &self,
        item: &Placed,
        outer: &Placing,
        depth: usize,
        left: &mut usize,
        welder: &mut Welder,
    ) -> Result<(), Refusal> {
        if depth > DEEPEST {
            return Err(Refusal::Model("objects lie too deep within objects".into()));
        }
        *left = left.checked_sub(1).ok_or(Refusal::TooBig)?;
        let object = self.objects.get(&(item.part.clone(), item.object)).ok_or_else(|| {
            Refusal::Model(format!("object {} is named but not there", item.object).into())
        })?;
        let whole = after(&item.placing, outer);
        let mirrored = mirrors(&whole);
        for (face, &[a, b, c]) in object.triangles.iter().enumerate() {
            let at = |i: u32| {
                let point = object.points.get(i as usize);
                point.map(|p| moved(*p, &whole)).ok_or(Refusal::NoSuchCorner { face: face + 1 })
            };
            let (b, c) = if mirrored { (c, b) } else { (b, c) };
            welder.triangle([at(a)?, at(b)?, at(c)?])?;
        }
        object
            .components
            .iter()
            .try_for_each(|inner| self.place(inner, &whole, depth + 1, left, welder))
    }
}

fn placed(tag: &BytesStart<'_>, part: &str, scale: f64) -> Result<Placed, Refusal> {
    let [object] = values(tag, ["objectid"])?;
    let elsewhere = text(tag, "path")?.map(|path| path.trim_start_matches('/').to_owned());
    Ok(Placed {
        part: elsewhere.unwrap_or_else(|| part.to_owned()),
        object,
        placing: placing(tag, scale)?,
    })
}

fn stated(unit: Option<&str>) -> Result<f64, Refusal> {
    Ok(match unit {
        Some("micron") => 1e-6,
        None | Some("millimeter") => 1e-3,
        Some("centimeter") => 1e-2,
        Some("meter") => 1.0,
        Some("inch") => 0.0254,
        Some("foot") => 0.3048,
        Some(other) => return Err(Refusal::Model(format!("{other} is not a unit").into())),
    })
}
