//! The pieces that a pattern is built of: stock in, prints on, and where each lies on it.

use super::faces::{corners, own_box};
use super::{Casting, Hole, Opening, Pattern};
use crate::manifest::ShapeGiven;
use crate::shape::{Placed, Section, Solid};
use crate::yaml::Refused;

/// A solid of the pattern, in every place where it stands alike.
#[derive(Debug, Clone)]
pub struct PatternPiece {
    /// What its solid is called; of a print, the hole that its core forms.
    pub name: String,
    /// What it is to the pattern.
    pub how: Piece,
    /// The form of its solid: `cylinder`, or of a prism its section, such as `U`.
    pub form: &'static str,
    /// Every size of it by its name, m, as large as the pattern is.
    pub sizes: Vec<(&'static str, f64)>,
    /// Of a polygon its corners, m, from the low corner of the box around it.
    pub corners: Vec<[f64; 2]>,
    /// The boxes around it, one for each place: from where to where along length, width and depth,
    /// m, as large as the pattern is. Counted from the left end, the near side and the bottom of the
    /// casting on it, without prints.
    pub lies: Vec<[[f64; 2]; 3]>,
}

/// What a solid is to the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Piece {
    /// It is built up.
    Added,
    /// It is cut out, and green sand fills it.
    CutOut,
    /// A print of a core: what stands out; the pattern is solid where the core makes the hole.
    Print,
}

/// Why a pattern cannot be told as a body, in words.
const UNPLACED: &str = "the solids of its shape are not placed: give each an `at:`";
const MESH: &str =
    "its shape is a mesh, which says nothing of pieces and faces: print or measure that";

impl Casting {
    /// The pieces of its pattern, by the likely stock.
    ///
    /// # Errors
    /// Where its body or the contraction of its alloy is not known.
    pub fn pattern_pieces(&self, on: &Pattern) -> Result<Vec<PatternPiece>, Refused> {
        let times = self.oversized()?;
        let openings = self.openings(on);
        let pieces = self.pieces(on, &openings)?;
        let [low, high] = self.as_cast(on).ok_or(UNPLACED)?.bounds();
        let lies = |placed: &Placed, how: Piece| {
            let along = |corners: &[[f64; 3]], i: usize| {
                let all = corners.iter().map(|corner| corner[i]);
                let [from, to] = all.fold([f64::INFINITY, f64::NEG_INFINITY], |[from, to], v| {
                    [from.min(v), to.max(v)]
                });
                // Of a cut-out that reaches past the metal, what it takes away.
                let [from, to] = match how {
                    Piece::CutOut => [from.max(low[i]), to.min(high[i])],
                    Piece::Added | Piece::Print => [from, to],
                };
                [from, to].map(|v| (v - low[i]) * times)
            };
            corners(placed).map(|corners| [0, 1, 2].map(|i| along(&corners, i))).collect()
        };
        let told = |(name, how, placed): (String, Piece, Placed)| PatternPiece {
            name,
            how,
            form: match &placed.solid {
                Solid::Prism { section, .. } => section.name(),
                solid => solid.name(),
            },
            sizes: placed.solid.sizes().into_iter().map(|(name, m)| (name, m * times)).collect(),
            corners: corners_of(&placed.solid, times),
            lies: lies(&placed, how),
        };
        let built = pieces.into_iter().filter(|(_, how, _)| *how != Piece::Print);
        let prints = openings.iter().filter(|o| o.how == Hole::Core).flat_map(|o| {
            o.prints().into_iter().map(|placed| (o.name.clone(), Piece::Print, placed))
        });
        Ok(built.chain(prints).map(told).collect())
    }

    /// How many times as large as the casting its pattern is.
    pub(super) fn oversized(&self) -> Result<f64, Refused> {
        let contraction = self.alloy.contraction.as_ref();
        Ok(1.0 + contraction.ok_or("the contraction of its alloy is not known")?.si())
    }

    /// The same as solids in the measures of the shape, for its body to be made of.
    pub(super) fn pieces(
        &self,
        on: &Pattern,
        openings: &[Opening],
    ) -> Result<Vec<(String, Piece, Placed)>, Refused> {
        let ShapeGiven::Solids(solids) = &self.given.shape else { return Err(MESH.into()) };
        let filled = |at: usize| openings.iter().find(|o| o.solid == at && o.how != Hole::Green);
        let stock = self.stock(on).map_or(0.0, |stock| stock.si());
        let cast = self.with_stock(stock).ok_or(UNPLACED)?;
        let name = |at: usize| solids[at].name().to_owned();
        // Cuts that name a solid by its place in the list keep it: nothing added is left out.
        let (added, cuts): (Vec<_>, Vec<_>) = cast.into_iter().partition(|(_, p)| !p.less);
        let added = added.into_iter().map(|(at, p)| match (&p.solid, filled(at)) {
            (Solid::Tube { outside: diameter, length, .. }, Some(_)) => (
                at,
                Placed { solid: Solid::Cylinder { diameter: *diameter, length: *length }, ..p },
            ),
            _ => (at, p),
        });
        let mut out: Vec<_> = added.map(|(at, p)| (name(at), Piece::Added, p)).collect();
        let cuts = cuts.into_iter().filter(|(at, _)| filled(*at).is_none());
        out.extend(cuts.map(|(at, p)| (name(at), Piece::CutOut, p)));
        let cores = openings.iter().filter(|o| o.how == Hole::Core);
        out.extend(cores.map(|o| {
            let (solid, frames) = o.core();
            (o.name.clone(), Piece::Print, Placed { solid, frames, less: false, of: None })
        }));
        Ok(out)
    }
}

/// The corners of a prism's polygon.
fn corners_of(solid: &Solid, times: f64) -> Vec<[f64; 2]> {
    let Solid::Prism { section: Section::Polygon(corners), .. } = solid else { return Vec::new() };
    let [low, _] = own_box(solid);
    corners.iter().map(|corner| [0, 1].map(|i| (corner[i] - low[i]) * times)).collect()
}
