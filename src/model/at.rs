//! Which solid of a casting stands at a place.

use super::Casting;
use super::faces::own_box;
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::shape::Frame;

impl Casting {
    /// The smallest added solid in whose box a point of the shape's own measures lies, m.
    pub fn solid_at(&self, point: [f64; 3]) -> Option<&SolidGiven> {
        let ShapeGiven::Solids(solids) = &self.given.shape else { return None };
        let holds = |solid: &&SolidGiven| {
            let home = [Frame::HOME];
            let frames = solid.frames.as_deref().unwrap_or(&home);
            let [low, high] = own_box(&solid.solid);
            frames.iter().any(|frame| {
                let own = frame.own(point);
                (0..3).all(|i| low[i] <= own[i] && own[i] <= high[i])
            })
        };
        let added = solids.iter().filter(|solid| !solid.less).filter(holds);
        added.min_by(|a, b| a.solid.volume().total_cmp(&b.solid.volume()))
    }
}
