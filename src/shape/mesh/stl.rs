//! STL, binary and text; written as binary, in millimetres. Read here, not by a library, since each
//! way of being broken has to be told apart before a triangle is believed.

use super::weld::Welder;
use super::{Mesh, Refusal};

const HEADER: usize = 84;
const RECORD: usize = 50;

pub(super) fn read(bytes: &[u8]) -> Result<Mesh, Refusal> {
    let body = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let says = count(bytes);
    // The size decides: a binary header may well begin with "solid".
    if says.is_some_and(|n| (n as usize).checked_mul(RECORD) == Some(bytes.len() - HEADER)) {
        return binary(&bytes[HEADER..]);
    }
    let is_text = !body.iter().take(4 * HEADER).any(|&b| b < 0x20 && !b.is_ascii_whitespace());
    let start = body.trim_ascii_start();
    if is_text {
        return match start.get(..5) {
            Some(word) if word.eq_ignore_ascii_case(b"solid") => text(body),
            _ => Err(Refusal::NotAMesh("some other text")),
        };
    }
    if let Some(what) = other_kind(bytes) {
        return Err(Refusal::NotAMesh(what));
    }
    let Some(says) = says else { return Err(Refusal::HeaderCut { bytes: bytes.len() }) };
    let rest = bytes.len() - HEADER;
    let holds = rest / RECORD;
    Err(match (says as usize).checked_mul(RECORD).and_then(|wanted| rest.checked_sub(wanted)) {
        Some(bytes) => Refusal::Surplus { says, bytes },
        None => Refusal::Cut { says, holds },
    })
}

fn count(bytes: &[u8]) -> Option<u32> {
    let field = bytes.get(HEADER - 4..HEADER)?;
    Some(u32::from_le_bytes([field[0], field[1], field[2], field[3]]))
}

fn other_kind(bytes: &[u8]) -> Option<&'static str> {
    const KINDS: &[(&[u8], &str)] = &[
        (b"\x89PNG", "a PNG picture"),
        (b"\xff\xd8\xff", "a JPEG picture"),
        (b"%PDF", "a PDF document"),
        (b"PK\x03\x04", "a zip archive"),
        (b"\x1f\x8b", "a gzip archive"),
        (b"glTF", "a glTF scene"),
    ];
    KINDS.iter().find(|(magic, _)| bytes.starts_with(magic)).map(|(_, what)| *what)
}

fn binary(records: &[u8]) -> Result<Mesh, Refusal> {
    let mut welder = Welder::with_triangles(records.len() / RECORD);
    for record in records.as_chunks::<RECORD>().0 {
        let number = |at: usize| {
            let at = 12 + 4 * at;
            f64::from(f32::from_le_bytes([
                record[at],
                record[at + 1],
                record[at + 2],
                record[at + 3],
            ]))
        };
        welder.triangle([0, 3, 6].map(|at| [number(at), number(at + 1), number(at + 2)]))?;
    }
    Ok(welder.done())
}

/// Words of a text with the line each stands on.
struct Words<'a> {
    rest: &'a [u8],
    line: usize,
}

impl<'a> Words<'a> {
    fn next(&mut self) -> Option<&'a [u8]> {
        let start = self.rest.iter().position(|b| !b.is_ascii_whitespace())?;
        self.line += self.rest[..start].iter().filter(|&&b| b == b'\n').count();
        let word = &self.rest[start..];
        let end = word.iter().position(u8::is_ascii_whitespace).unwrap_or(word.len());
        self.rest = &word[end..];
        Some(&word[..end])
    }

    /// Passes over a name, up to the end of the line.
    fn skip_line(&mut self) {
        let end = self.rest.iter().position(|&b| b == b'\n').unwrap_or(self.rest.len());
        self.rest = &self.rest[end..];
    }

    fn word(&mut self) -> Result<&'a [u8], Refusal> {
        self.next().ok_or(Refusal::NoEnd { line: self.line })
    }

    fn unfit<T>(&self, wanted: &'static str, found: &[u8]) -> Result<T, Refusal> {
        let mut found = String::from_utf8_lossy(found).into_owned();
        found.truncate(found.char_indices().nth(40).map_or(found.len(), |(at, _)| at));
        Err(Refusal::Word { line: self.line, wanted, found })
    }

    fn expect(&mut self, wanted: &'static str) -> Result<(), Refusal> {
        let found = self.word()?;
        if found.eq_ignore_ascii_case(wanted.as_bytes()) {
            Ok(())
        } else {
            self.unfit(wanted, found)
        }
    }

    fn number(&mut self) -> Result<f64, Refusal> {
        let found = self.word()?;
        match std::str::from_utf8(found).ok().and_then(|text| text.parse().ok()) {
            Some(number) => Ok(number),
            None if found.contains(&b',') => Err(Refusal::DecimalComma { line: self.line }),
            None => self.unfit("a number", found),
        }
    }

    fn point(&mut self) -> Result<[f64; 3], Refusal> {
        Ok([self.number()?, self.number()?, self.number()?])
    }
}

/// Bytes that a triangle takes in a text, at the least usual.
const TEXT_TRIANGLE: usize = 200;

fn text(body: &[u8]) -> Result<Mesh, Refusal> {
    let mut words = Words { rest: body, line: 1 };
    let mut welder = Welder::with_triangles(body.len() / TEXT_TRIANGLE);
    let is = |word: &[u8], wanted: &str| word.eq_ignore_ascii_case(wanted.as_bytes());
    while let Some(word) = words.next() {
        if !is(word, "solid") {
            return words.unfit("solid", word);
        }
        words.skip_line();
        loop {
            let word = words.word()?;
            if is(word, "endsolid") {
                words.skip_line();
                break;
            }
            if !is(word, "facet") {
                return words.unfit("facet or endsolid", word);
            }
            words.expect("normal")?;
            words.point()?;
            words.expect("outer")?;
            words.expect("loop")?;
            let mut corners = [[0.0; 3]; 3];
            for corner in &mut corners {
                words.expect("vertex")?;
                *corner = words.point()?;
            }
            welder.triangle(corners)?;
            match words.word()? {
                word if is(word, "endloop") => {}
                word if is(word, "vertex") => {
                    return Err(Refusal::FourCorners { line: words.line });
                }
                word => return words.unfit("endloop", word),
            }
            words.expect("endfacet")?;
        }
    }
    Ok(welder.done())
}

/// Bytes before the count of triangles.
const HEAD: usize = 80;

impl Mesh {
    /// As a binary STL file in millimetres, with these words at its head (80 bytes of them).
    pub fn stl(&self, head: &str) -> Vec<u8> {
        let mut out = Vec::with_capacity(HEAD + 4 + 50 * self.triangles.len());
        let mut words: Vec<u8> = head.bytes().take(HEAD).collect();
        words.resize(HEAD, b' ');
        out.extend(words);
        out.extend((self.triangles.len() as u32).to_le_bytes());
        for triangle in &self.triangles {
            let corners = triangle.map(|i| self.vertices[i as usize].map(|v| v * 1e3));
            let normal = normal(&corners);
            let values = normal.iter().chain(corners.iter().flatten());
            out.extend(values.flat_map(|v| (*v as f32).to_le_bytes()));
            out.extend([0, 0]);
        }
        out
    }
}

/// Square to a triangle and one long; nought where it has no area.
fn normal([a, b, c]: &[[f64; 3]; 3]) -> [f64; 3] {
    let (u, v) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
    let cross = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    let long = cross.iter().map(|x| x * x).sum::<f64>().sqrt();
    if long > 0.0 { cross.map(|x| x / long) } else { [0.0; 3] }
}
