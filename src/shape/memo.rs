//! What takes long to reckon of a shape, remembered from one run to the next.
//!
//! A body and a largest ball depend on nothing but the solids or the mesh that they are asked of, so
//! an answer that is found again is the answer that would be reckoned. The command line begins with
//! what lies beside the build, and keeps there what it reckoned.

use super::around::Around;
use super::body::{Body, Odd, Placed};
use super::mesh::Mesh;
use super::thick::{Looked, Thickest};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Debug;
use std::sync::{Mutex, OnceLock};

/// A name for a question: a hash of all that the answer depends on.
type Key = [u8; 32];

/// What the solids that stand somewhere make.
pub(super) type Joined = (Option<Body>, Vec<Odd>);

/// The first line of what is written.
const MARK: &[u8] = b"pourwright bodies\n";

/// Faces beyond which new bodies are worth a file: some milliseconds of joining.
const WORTH: usize = 2_000;

/// Faces of all that is remembered at most; 40 bytes each, near enough.
const MOST: usize = 1_000_000;

/// Faces of a mesh beyond which its hash takes as long as looking into it.
const LARGE: usize = 100_000;

static MEMO: OnceLock<Mutex<Memo>> = OnceLock::new();

fn memo() -> &'static Mutex<Memo> {
    MEMO.get_or_init(Mutex::default)
}

/// The answers of one kind.
#[derive(Serialize, Deserialize)]
#[serde(bound = "A: Serialize + for<'a> Deserialize<'a>")]
struct Answers<A>(BTreeMap<Key, A>);

impl<A> Default for Answers<A> {
    fn default() -> Self {
        Self(BTreeMap::new())
    }
}

#[derive(Default, Serialize, Deserialize)]
struct Stored {
    bodies: Answers<Joined>,
    balls: Answers<Option<Thickest>>,
    around: Answers<Option<Around>>,
}

#[derive(Default)]
struct Memo {
    /// What was there at the beginning.
    before: Stored,
    /// What was asked for since, found there or reckoned.
    asked: Stored,
    /// Faces of the bodies that were reckoned.
    reckoned: usize,
    /// Faces of all the bodies asked for.
    faces: usize,
}

/// Begins with what an earlier run left. What is not whole, or was written by other code, is left
/// out; so is all of it where something was asked before.
pub fn begin(bytes: &[u8]) {
    MEMO.get_or_init(|| {
        let before = read(bytes).unwrap_or_default();
        Mutex::new(Memo { before, ..Memo::default() })
    });
}

/// What is to be kept for the next run: all that was asked for in this one; none where hardly
/// anything was reckoned that was not there.
pub fn end() -> Option<Vec<u8>> {
    let memo = memo().lock().ok()?;
    (memo.reckoned > WORTH).then(|| written(&memo.asked)).flatten()
}

/// The body of placed solids, found again or reckoned.
pub(super) fn body(solids: &[Placed], reckon: impl FnOnce() -> Joined) -> Joined {
    let of = |memo: &mut Memo, key: Key, answer: Option<Joined>| {
        let is_new = answer.is_some();
        let answer = answer.or_else(|| {
            let known = memo.asked.bodies.0.get(&key);
            known.or_else(|| memo.before.bodies.0.get(&key)).cloned()
        })?;
        let faces = answer.0.as_ref().map_or(0, |body| body.mesh().triangles.len());
        memo.reckoned += if is_new { faces } else { 0 };
        if memo.faces + faces > MOST {
            memo.asked = Stored::default();
            memo.faces = 0;
        }
        if memo.asked.bodies.0.insert(key, answer.clone()).is_none() {
            memo.faces += faces;
        }
        Some(answer)
    };
    found(shown(&solids), reckon, of)
}

/// The largest ball in a solid or a mesh, looked into on so many cells, found again or reckoned.
pub(super) fn ball(
    (body, cells): (&Looked<'_>, Option<usize>),
    reckon: impl FnOnce() -> Option<Thickest>,
) -> Option<Thickest> {
    let key = match body {
        Looked::Mesh(mesh) if mesh.triangles.len() > LARGE => return reckon(),
        Looked::Mesh(mesh) => faces(mesh, &cells),
        Looked::Solid(solid) => shown(&(solid, cells)),
    };
    found(key, reckon, |memo, key, answer| {
        again(key, answer, &memo.before.balls, &mut memo.asked.balls)
    })
}

/// How bulky a mesh is around a place, found again or reckoned.
pub(super) fn around(
    mesh: &Mesh,
    (centre, radius): ([f64; 3], f64),
    reckon: impl FnOnce() -> Option<Around>,
) -> Option<Around> {
    if mesh.triangles.len() > LARGE {
        return reckon();
    }
    found(faces(mesh, &(centre, radius)), reckon, |memo, key, answer| {
        again(key, answer, &memo.before.around, &mut memo.asked.around)
    })
}

/// The answer handed in, or the one that is known.
fn again<A: Copy>(
    key: Key,
    answer: Option<A>,
    before: &Answers<A>,
    asked: &mut Answers<A>,
) -> Option<A> {
    let answer = answer.or_else(|| asked.0.get(&key).or_else(|| before.0.get(&key)).copied())?;
    asked.0.insert(key, answer);
    Some(answer)
}

/// An answer: `of` looks it up, or takes in the one that is handed to it.
fn found<A: Clone>(
    key: Key,
    reckon: impl FnOnce() -> A,
    of: impl Fn(&mut Memo, Key, Option<A>) -> Option<A>,
) -> A {
    let memo = memo();
    let known = memo.lock().ok().and_then(|mut memo| of(&mut memo, key, None));
    known.unwrap_or_else(|| {
        // Not held while it is reckoned: others go on.
        let answer = reckon();
        if let Ok(mut memo) = memo.lock() {
            of(&mut memo, key, Some(answer.clone()));
        }
        answer
    })
}

/// A question as it is shown: a number is shown so that it reads back as the same.
fn shown(question: &impl Debug) -> Key {
    Sha256::digest(format!("{question:?}")).into()
}

/// A question of a mesh.
fn faces(mesh: &Mesh, asked: &impl Debug) -> Key {
    let mut hash = Sha256::new();
    hash.update(format!("{asked:?}"));
    mesh.vertices.as_flattened().iter().for_each(|x| hash.update(x.to_le_bytes()));
    mesh.triangles.as_flattened().iter().for_each(|i| hash.update(i.to_le_bytes()));
    hash.finalize().into()
}

/// The code that the answers come from: they hold for no other.
fn code() -> Key {
    static CODE: OnceLock<Key> = OnceLock::new();
    *CODE.get_or_init(|| {
        let texts = [
            include_str!("around.rs"),
            include_str!("body.rs"),
            include_str!("csg.rs"),
            include_str!("frame.rs"),
            include_str!("mesh/check.rs"),
            include_str!("mesh/measure.rs"),
            include_str!("memo.rs"),
            include_str!("section.rs"),
            include_str!("solid.rs"),
            include_str!("thick.rs"),
            // The versions of what joins the solids and writes this down.
            include_str!("../../Cargo.toml"),
        ];
        let mut hash = Sha256::new();
        texts.iter().for_each(|text| hash.update(text));
        hash.finalize().into()
    })
}

fn written(stored: &Stored) -> Option<Vec<u8>> {
    let body = postcard::to_stdvec(stored).ok()?;
    Some([MARK, &code(), &Sha256::digest(&body), &body].concat())
}

fn read(bytes: &[u8]) -> Option<Stored> {
    let rest = bytes.strip_prefix(MARK)?.strip_prefix(&code())?;
    let (sum, body) = rest.split_at_checked(32)?;
    let whole = sum == &Sha256::digest(body)[..];
    let stored: Stored = whole.then(|| postcard::from_bytes(body).ok()).flatten()?;
    let mut bodies = stored.bodies.0.values().filter_map(|(body, _)| body.as_ref());
    bodies.all(Body::is_sound).then_some(stored)
}

#[cfg(test)]
mod tests {
    use super::super::{Frame, Solid};
    use super::*;

    fn cube(edge: f64) -> Joined {
        let solid = Solid::Block { length: edge, width: edge, height: edge };
        Body::of_solids(&[Placed { solid, frames: vec![Frame::HOME], less: false, of: None }])
    }

    fn kept() -> Vec<u8> {
        let mut stored = Stored::default();
        stored.bodies.0.insert([1; 32], cube(0.1));
        stored.bodies.0.insert([2; 32], (None, vec![Odd::Nothing(3)]));
        let ball = Thickest { radius: 0.05, centre: [0.05; 3], voxel: 0.001, even: 0.9 };
        stored.balls.0.insert([3; 32], Some(ball));
        written(&stored).expect("written")
    }

    #[test]
    fn what_is_kept_reads_back() {
        let back = read(&kept()).expect("whole");
        let (body, odd) = &back.bodies.0[&[1; 32]];
        let (cube, _) = cube(0.1);
        let told = |body: &Body| (body.volume(), body.surface(), body.bounds());
        assert_eq!(body.as_ref().map(told), cube.as_ref().map(told));
        assert_eq!(body.as_ref().map(|b| b.mesh().triangles.len()), Some(12));
        assert!(odd.is_empty());
        assert_eq!(back.bodies.0[&[2; 32]].1, [Odd::Nothing(3)]);
        assert_eq!(back.balls.0[&[3; 32]].map(|ball| ball.radius), Some(0.05));
    }

    #[test]
    fn what_was_cut_off_changed_or_written_by_other_code_is_left_out() {
        let whole = kept();
        assert!(read(&whole).is_some());
        for end in [0, MARK.len(), MARK.len() + 40, whole.len() - 1] {
            assert!(read(&whole[..end]).is_none(), "{end}");
        }
        for at in [0, MARK.len(), MARK.len() + 32, whole.len() - 1] {
            let mut changed = whole.clone();
            changed[at] ^= 1;
            assert!(read(&changed).is_none(), "{at}");
        }
    }

    #[test]
    fn a_face_without_its_corner_is_no_body() {
        let mut stored = Stored::default();
        let mut body = serde_json::to_value(cube(0.1).0).expect("JSON");
        body["mesh"]["vertices"].as_array_mut().expect("a list").pop();
        let body = serde_json::from_value(body).expect("a body");
        stored.bodies.0.insert([1; 32], (body, Vec::new()));
        assert!(read(&written(&stored).expect("written")).is_none());
    }
}
