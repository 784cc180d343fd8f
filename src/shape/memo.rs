//! What takes long to reckon of a shape, remembered from one run to the next.
//!
//! A body depends on nothing but the solids that it is made of, and a largest ball in it on nothing
//! but the body, so an answer that is found again is the answer that would be reckoned. The command
//! line begins with what lies beside the build, and keeps there what it reckoned.

use super::body::{Body, Odd, Placed};
use super::key::Key;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Debug;
use std::sync::{Mutex, OnceLock};

/// What the solids that stand somewhere make.
pub(super) type Joined = (Option<Body>, Vec<Odd>);

/// The first line of what is written.
const MARK: &[u8] = b"pourwright bodies\n";

/// Work beyond which it is worth a file: some milliseconds. The face of a body that is joined
/// counts one.
const WORTH: usize = 2_000;

/// The work of one other answer.
const ANSWER: usize = 500;

/// Faces of all that is remembered at most; 40 bytes each, near enough.
const MOST: usize = 1_000_000;

static MEMO: OnceLock<Mutex<Memo>> = OnceLock::new();

fn memo() -> &'static Mutex<Memo> {
    MEMO.get_or_init(Mutex::default)
}

#[derive(Default, Serialize, Deserialize)]
struct Stored {
    bodies: BTreeMap<Key, Joined>,
    /// Answers of other kinds, as bytes.
    answers: BTreeMap<Key, Vec<u8>>,
}

#[derive(Default)]
struct Memo {
    /// What was there at the beginning.
    before: Stored,
    /// What was asked for since, found there or reckoned.
    asked: Stored,
    /// The work of what was reckoned.
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

impl Memo {
    fn body(&mut self, key: Key, answer: Option<Joined>) -> Option<Joined> {
        let is_new = answer.is_some();
        let answer = answer.or_else(|| {
            self.asked.bodies.get(&key).or_else(|| self.before.bodies.get(&key)).cloned()
        })?;
        let faces = answer.0.as_ref().map_or(0, |body| body.mesh().triangles.len());
        self.reckoned += if is_new { faces } else { 0 };
        if self.faces + faces > MOST {
            self.asked = Stored::default();
            self.faces = 0;
        }
        if self.asked.bodies.insert(key, answer.clone()).is_none() {
            self.faces += faces;
        }
        Some(answer)
    }

    fn answer(&mut self, key: Key, answer: Option<Vec<u8>>) -> Option<Vec<u8>> {
        self.reckoned += if answer.is_some() { ANSWER } else { 0 };
        let answer = answer.or_else(|| {
            self.asked.answers.get(&key).or_else(|| self.before.answers.get(&key)).cloned()
        })?;
        self.asked.answers.insert(key, answer.clone());
        Some(answer)
    }
}

impl Body {
    /// Placed solids as one body, and what is odd about them; no body where nothing is left.
    ///
    /// A cut takes from the solid that it names, before that is joined to the rest, or from all of
    /// them joined. The volume is by the closed forms of the solids; what they share, and which
    /// share of a cut meets metal, is measured on flat faces: exact where solids only touch and
    /// cuts go straight through, else within 0.6 % of what is shared.
    pub fn of_solids(placed: &[Placed]) -> (Option<Self>, Vec<Odd>) {
        body(placed, || Self::joined(placed))
    }
}

/// The body of placed solids, found again or reckoned.
pub(super) fn body(solids: &[Placed], reckon: impl FnOnce() -> Joined) -> Joined {
    let key = hashed(&[], &("body", solids));
    let known = memo().lock().ok().and_then(|mut memo| memo.body(key, None));
    let (body, odd) = known.unwrap_or_else(|| {
        // Not held while it is reckoned: others go on.
        let joined = reckon();
        if let Ok(mut memo) = memo().lock() {
            memo.body(key, Some(joined.clone()));
        }
        joined
    });
    (body.map(|body| body.with_name(key)), odd)
}

/// The answer to a question of bodies, found again or reckoned. It is known by the question as it
/// is shown, a body in it by its name, and by the texts of the code that reckons it, but for that of
/// this room.
pub fn answer<A: Serialize + DeserializeOwned>(
    code: &[&str],
    question: &impl Debug,
    reckon: impl FnOnce() -> A,
) -> A {
    let key = hashed(code, question);
    let known = memo().lock().ok().and_then(|mut memo| memo.answer(key, None));
    known.and_then(|bytes| postcard::from_bytes(&bytes).ok()).unwrap_or_else(|| {
        let answer = reckon();
        if let (Ok(bytes), Ok(mut memo)) = (postcard::to_stdvec(&answer), memo().lock()) {
            memo.answer(key, Some(bytes));
        }
        answer
    })
}

/// A question as it is shown: a number is shown so that it reads back as the same.
fn hashed(code: &[&str], question: &impl Debug) -> Key {
    let mut hash = Sha256::new();
    code.iter().for_each(|text| hash.update(text));
    hash.update(format!("{question:?}"));
    hash.finalize().into()
}

/// The code that the answers come from: they hold for no other.
fn code() -> Key {
    static CODE: OnceLock<Key> = OnceLock::new();
    *CODE.get_or_init(|| {
        let texts = [
            include_str!("around.rs"),
            include_str!("body.rs"),
            include_str!("columns.rs"),
            include_str!("csg.rs"),
            include_str!("frame.rs"),
            include_str!("lines.rs"),
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
    let mut bodies = stored.bodies.values().filter_map(|(body, _)| body.as_ref());
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
        stored.bodies.insert([1; 32], cube(0.1));
        stored.bodies.insert([2; 32], (None, vec![Odd::Nothing(3)]));
        stored.answers.insert([3; 32], vec![5, 6, 7]);
        written(&stored).expect("written")
    }

    #[test]
    fn what_is_kept_reads_back() {
        let back = read(&kept()).expect("whole");
        let (body, odd) = &back.bodies[&[1; 32]];
        let (cube, _) = cube(0.1);
        let told = |body: &Body| (body.volume(), body.surface(), body.bounds());
        assert_eq!(body.as_ref().map(told), cube.as_ref().map(told));
        assert_eq!(body.as_ref().map(|b| b.mesh().triangles.len()), Some(12));
        assert!(odd.is_empty());
        assert_eq!(back.bodies[&[2; 32]].1, [Odd::Nothing(3)]);
        assert_eq!(back.answers[&[3; 32]], [5, 6, 7]);
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
        stored.bodies.insert([1; 32], (body, Vec::new()));
        assert!(read(&written(&stored).expect("written")).is_none());
    }
}
