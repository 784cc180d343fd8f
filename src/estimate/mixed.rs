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
    let cast = build.parts.iter().zip(&*castings).enumerate();
    let cast = cast.filter_map(|(i, (part, e))| {
        Some((part.casting.as_ref()?.pattern, (i, mass(e.as_ref()?)?)))
    });
    let mut of: Vec<Vec<(usize, f64)>> = vec![Vec::new(); build.patterns.len()];
    cast.for_each(|(pattern, weighs)| of[pattern].push(weighs));
    for (pattern, parts) in build.patterns.iter().zip(of) {
        if pattern.given.cavities < 2 {
            continue;
        }
        for &(i, own) in &parts {
            let unlike = |(_, other): &&(usize, f64)| (own - other).abs() > ALIKE * own;
            let (Some((other, _)), Some(mine)) = (parts.iter().find(unlike), castings[i].as_mut())
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
