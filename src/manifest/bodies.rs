//! The body of each casting: its placed solids joined and cut, and what is wrong with them.

use super::solids::SolidGiven;
use super::{Id, Making, Part, ShapeGiven};
use crate::shape::{Body, Frame, Odd, Placed};
use crate::yaml::{Code, Fault};
use indexmap::IndexMap;
use rayon::prelude::*;

/// Gives every casting its body; the faults of those that cannot be one casting.
pub(super) fn build(parts: &mut IndexMap<Id, Part>) -> Vec<Fault> {
    let castings: Vec<_> = parts
        .values_mut()
        .filter_map(|part| match &mut part.making {
            Making::Cast(casting) => Some(&mut **casting),
            _ => None,
        })
        .collect();
    let faults: Vec<Vec<Fault>> = castings
        .into_par_iter()
        .map(|casting| match &casting.shape {
            ShapeGiven::Solids(solids) => {
                let Some(placed) = placed(solids) else { return Vec::new() };
                let (body, odd) = Body::of_solids(&placed);
                casting.body = body.map(Into::into);
                odd.into_iter().map(|odd| fault(odd, solids)).collect()
            }
            ShapeGiven::Mesh(mesh) => {
                casting.body = Some(mesh.body.clone());
                Vec::new()
            }
            _ => Vec::new(),
        })
        .collect();
    faults.concat()
}

/// Where each solid stands, once that is known of all: a single added solid stands where it is.
fn placed(solids: &[SolidGiven]) -> Option<Vec<Placed>> {
    let alone = solids.iter().filter(|s| !s.less).count() == 1;
    let hosts: Vec<(usize, &str)> =
        solids.iter().enumerate().filter(|(_, s)| !s.less).map(|(at, s)| (at, s.name())).collect();
    let place = |solid: &SolidGiven| {
        let home = (alone && !solid.less && solid.count == 1).then(|| vec![Frame::HOME]);
        let of = solid.of.as_ref().map(|of| &*of.value);
        Some(Placed {
            solid: solid.solid.clone(),
            frames: solid.frames.clone().or(home)?,
            less: solid.less,
            of: of.and_then(|of| hosts.iter().find(|(_, name)| *name == of).map(|(at, _)| *at)),
        })
    };
    solids.iter().map(place).collect()
}

fn fault(odd: Odd, solids: &[SolidGiven]) -> Fault {
    let (at, says, hint) = match odd {
        Odd::Misses(at) => (
            at,
            "cuts nothing away where it is",
            "look at `at` and `turn`: a place is that of the middle of the underside",
        ),
        Odd::Apart(at) => (
            at,
            "does not touch the rest of the casting by a face",
            "look at `at` and `turn`: a place is that of the middle of the underside",
        ),
        Odd::Nothing(at) => (
            at,
            "cuts away all that is there",
            "check its size and place, and `of:` what it is cut out of",
        ),
        Odd::Twice(at) => (
            at,
            "is in the same place as another just like it",
            "leave one of them out, or give it another place",
        ),
    };
    let name = solids[at].name();
    Fault::value(Code::Geometry, solids[at].route.clone(), format!("`{name}` {says}"), hint)
}
