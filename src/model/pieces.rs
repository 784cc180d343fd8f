//! The pieces that a pattern is built of: stock in, prints on, and where each lies on it.

use super::faces::own_box;
use super::{Casting, Hole, Opening, Pattern};
use crate::manifest::ShapeGiven;
use crate::shape::{Placed, Solid};
use crate::yaml::Refused;

/// A solid of the pattern, in every place where it stands alike.
#[derive(Debug, Clone)]
pub struct PatternPiece {
    /// What its solid is called; of a print, the hole that its core forms.
    pub name: String,
    /// What it is to the pattern.
    pub how: Piece,
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
    /// The prints of a core, as one bar with what is between them.
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
        let pieces = self.pieces(on, &self.openings(on))?;
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
            let corners = corners(placed);
            corners.map(|corners| [0, 1, 2].map(|i| along(&corners, i))).collect()
        };
        let told = |(name, how, placed): &(String, Piece, Placed)| PatternPiece {
            name: name.clone(),
            how: *how,
            lies: lies(placed, *how),
        };
        Ok(pieces.iter().map(told).collect())
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

/// The corners of the box around a solid, in each place where it stands.
fn corners(placed: &Placed) -> impl Iterator<Item = [[f64; 3]; 8]> {
    let own = own_box(&placed.solid);
    let corner = move |n: usize| [0, 1, 2].map(|i| own[n >> i & 1][i]);
    placed
        .frames
        .iter()
        .map(move |frame| std::array::from_fn::<_, 8, _>(|n| frame.place(corner(n))))
}
