//! Castings that are unlike but come off one pattern with several cavities.

use super::CastingEstimate;
use crate::figure::Figure;
use crate::model::Build;

/// Two castings weigh the same if they differ by less than this share: our choice, no rule of the trade.
const ALIKE: f64 = 0.02;

/// Notes to each casting whose pattern has several cavities and casts others that are unlike it:
/// its mould is reckoned as if every cavity were its own.
pub(super) fn note(build: &Build, castings: &mut [Option<CastingEstimate>]) {
    let mass = |e: &CastingEstimate| e.size.rough_mass.as_ref().map(Figure::si);
    let cast: Vec<Option<(usize, f64)>> = build
        .parts
        .iter()
        .zip(&*castings)
        .map(|(part, e)| Some((part.casting.as_ref()?.pattern, mass(e.as_ref()?)?)))
        .collect();
    let mut of: Vec<Vec<usize>> = vec![Vec::new(); build.patterns.len()];
    for (i, (pattern, _)) in cast.iter().enumerate().filter_map(|(i, c)| Some((i, (*c)?))) {
        of[pattern].push(i);
    }
    for (pattern, parts) in build.patterns.iter().zip(of) {
        if pattern.given.cavities < 2 {
            continue;
        }
        for &i in &parts {
            let unlike = |j: &&usize| match (cast[i], cast[**j]) {
                (Some((_, mine)), Some((_, other))) => (mine - other).abs() > ALIKE * mine,
                _ => false,
            };
            let (Some(other), Some(mine)) = (parts.iter().find(unlike), castings[i].as_mut())
            else {
                continue;
            };
            mine.notes.push(format!(
                "`{}` has {} cavities and casts `{}` too, which is another casting: here all of \
                 them count as this one; give each its own pattern, one `beside:` the other, and they \
                 count as they are poured",
                pattern.id,
                pattern.given.cavities,
                build.parts[*other].id(),
            ));
        }
    }
}
