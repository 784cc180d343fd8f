//! The pattern sheet: a pattern and its core boxes, drawn with their sizes.

use super::views::{Beside, Drawing, STEP, draw, levels};
use super::{Paper, SheetHead, page};
use crate::estimate::CastingEstimate;
use crate::figure::{Because, Figure, Length, System};
use crate::model::{Build, Casting, Hole, Pattern, PatternPiece, Piece, Printed};
use crate::shape::{Body, Solid};
use crate::view::page::{ChainRow, Shown, Unfilled, chain_rows, plain, shown, to_the_rule};
use serde::Serialize;

/// A pattern with all that its maker needs.
#[derive(Debug, Clone, Serialize)]
pub struct PatternPaper {
    /// What stands at the head.
    pub head: SheetHead,
    /// Id of the part.
    pub id: String,
    /// Its name.
    pub name: String,
    /// The alloy.
    pub alloy: String,
    /// The pattern.
    pub pattern: String,
    /// What it is made of.
    pub made_of: Option<String>,
    /// Castings from one mould.
    pub cavities: u32,
    /// What these measure together over all, where no size is given.
    pub together: Option<String>,
    /// How they stand on it, in words.
    pub stand: Option<String>,
    /// Its size over all as the manifest gives it, where it is not that of the drawing.
    pub given: Option<String>,
    /// Contraction, stock, draft, fillet.
    pub rules: Vec<Shown>,
    /// How much of it lies in the cope, in words.
    pub in_cope: Option<String>,
    /// The views, where its body is known.
    pub drawing: Option<Drawing>,
    /// Why there is none.
    pub undrawn: Option<String>,
    /// Every size from the finished part to the pattern.
    pub sizes: Vec<ChainRow>,
    /// Where each piece lies on the pattern.
    pub pieces: Vec<PieceRow>,
    /// Core boxes.
    pub boxes: Vec<CoreBox>,
    /// Dangers and doubts about the pattern.
    pub warnings: Vec<String>,
}

/// A piece of the pattern in one of its places.
#[derive(Debug, Clone, Serialize)]
pub struct PieceRow {
    /// What it is called.
    pub name: String,
    /// Its form, where it is no block.
    pub form: String,
    /// From where to where along length, width and depth.
    pub lies: [String; 3],
}

/// A core box.
#[derive(Debug, Clone, Serialize)]
pub struct CoreBox {
    /// What it is.
    pub name: String,
    /// How many to make.
    pub count: u32,
    /// Its outside.
    pub size: String,
    /// Its core with prints, as large as the box makes it.
    pub core: Option<String>,
    /// From above and from its end.
    pub drawing: Drawing,
}

/// Widest and highest that a drawing may be, mm of paper.
const MOST: [f64; 2] = [184.0, 126.0];
const MOST_BOX: [f64; 2] = [112.0, 78.0];

/// The sizes of a core in its box, in words.
fn core_words(core: &Solid, times: f64, units: System) -> String {
    let s = |v: f64| to_the_rule(v * times, units);
    match core {
        Solid::Cylinder { diameter, length } => {
            format!("{} across and {} long", s(*diameter), s(*length))
        }
        other => other.extents().map(s).join(" x "),
    }
}

/// A row for each place of each piece.
fn piece_rows(pieces: &[PatternPiece], units: System) -> Vec<PieceRow> {
    let from_to = |ends: [f64; 2]| {
        let [from, to] = ends.map(|v| to_the_rule(v, units));
        let word = to.rsplit_once('\u{a0}').map_or("", |(_, unit)| unit);
        format!("{} to {to}", from.strip_suffix(&format!("\u{a0}{word}")).unwrap_or(&from))
    };
    let rows = |piece: &PatternPiece| {
        let name = match piece.how {
            Piece::Added => plain(&piece.name),
            Piece::CutOut => format!("{}, cut out", plain(&piece.name)),
            Piece::Print => format!("print of {}", plain(&piece.name)),
        };
        let form = form_words(piece, units);
        let row = move |(nth, lies): (usize, &[[f64; 2]; 3])| PieceRow {
            name: if piece.lies.len() > 1 { format!("{name}, {}", nth + 1) } else { name.clone() },
            form: form.clone(),
            lies: lies.map(from_to),
        };
        piece.lies.iter().enumerate().map(row).collect::<Vec<_>>()
    };
    pieces.iter().flat_map(rows).collect()
}

/// What a piece is, with those of its sizes that the box around it does not tell.
fn form_words(piece: &PatternPiece, units: System) -> String {
    let s = |name: &str| {
        let size = piece.sizes.iter().find(|(of, _)| *of == name).map_or(0.0, |(_, size)| *size);
        to_the_rule(size, units)
    };
    match piece.form {
        "cylinder" => format!("round, {} across", s("diameter")),
        "sphere" => format!("ball, {} across", s("diameter")),
        "tube" => format!("ring, {} outside, {} inside", s("outside"), s("inside")),
        "ring" => format!("round ring, {} outside, {} thick", s("outside"), s("section")),
        "cone" => format!("cone, {} to {} across", s("bottom"), s("top")),
        "L" | "U" => format!("{} section, {} thick", piece.form, s("thickness")),
        "T" | "I" => {
            format!("{} section, web {}, flange {}", piece.form, s("web"), s("flange"))
        }
        "polygon" => {
            let corner = |c: &[f64; 2]| c.map(|v| to_the_rule(v, units)).join(" / ");
            let corners: Vec<String> = piece.corners.iter().map(corner).collect();
            format!("corners at {}", corners.join(", "))
        }
        _ => String::new(),
    }
}

/// How several castings stand on one pattern, in words.
fn stand_words(casting: &Casting, on: &Pattern, units: System) -> Option<String> {
    let spots = casting.lying(on)?.spots(on);
    let along = |i: usize, word: &str| {
        let mut at: Vec<f64> = spots.iter().map(|spot| spot[i]).collect();
        at.sort_by(f64::total_cmp);
        at.dedup_by(|next, kept| (*next - *kept).abs() < STEP);
        let step = at.get(1)? - at[0];
        Some(format!("{} apart along the {word}", to_the_rule(step, units)))
    };
    let steps: Vec<String> =
        [along(0, "length"), along(1, "width")].into_iter().flatten().collect();
    (!steps.is_empty()).then(|| format!("their middles {}", steps.join(" and ")))
}

const TEMPLATE: &str = include_str!("../../../templates/sheet-pattern.html");

impl PatternPaper {
    /// The sheet of this part's pattern.
    pub fn new(
        build: &Build,
        part: usize,
        (casting, estimate): (&Casting, &CastingEstimate),
        paper: Paper,
    ) -> Self {
        let (given, units) = (&build.parts[part].given, build.header.units);
        let on = &build.patterns[casting.pattern];
        let sheet = &estimate.pattern;
        let mut one = on.clone();
        one.given.cavities = 1;
        let printed = casting.printed(&one, false);
        let undrawn = printed.as_ref().err().map(ToString::to_string);
        let mut printed = printed.unwrap_or_default().into_iter();
        let times = 1.0 + casting.alloy.contraction.as_ref().map_or(0.0, |c| c.si());
        let body = |p: &Printed| Body::of_mesh(p.mesh.clone());
        let beside = |p: &Printed| {
            let bottom = casting.as_cast(on).map_or(0.0, |cast| cast.bounds()[0][2] * times);
            Beside { parting: casting.parts_at(on), inside: None, levels: levels(&p.mesh), bottom }
        };
        let drawing = printed.next().map(|p| draw(&body(&p), beside(&p), units, MOST));
        let cores: Vec<Solid> = casting
            .openings(on)
            .iter()
            .filter(|o| o.how == Hole::Core)
            .map(|o| o.core().0)
            .collect();
        // A box is named by the number of its core.
        let core_of = |name: &str| {
            let nth: usize = name.split('-').find_map(|word| word.parse().ok())?;
            cores.get(nth.checked_sub(1)?).cloned()
        };
        let boxes = printed.map(|p| CoreBox {
            name: plain(&p.name.replace('-', " ").replace(" frame", "")),
            count: p.count,
            size: p.extents.map(|v| to_the_rule(v, units)).join(" x "),
            core: core_of(&p.name).map(|core| core_words(&core, times, units)),
            drawing: draw(
                &body(&p),
                Beside { inside: p.inside, ..Beside::default() },
                units,
                MOST_BOX,
            ),
        });
        let rule = |node: Option<&crate::figure::Node>, ask: &str| {
            node.map(|node| shown(node, units, &given.id, ask))
        };
        let rules = [
            rule(casting.alloy.contraction.as_ref().map(|f| f.node()), "contraction"),
            rule(estimate.size.allowance.as_ref().map(|f| f.node()), "allowance"),
            rule(sheet.draft_drag.as_ref().map(|f| f.node()), "draft-drag"),
            rule(sheet.draft_cope.as_ref().map(|f| f.node()), "draft-cope"),
            rule(sheet.fillet.as_ref().map(|f| f.node()), "fillet"),
            rule(sheet.master.as_ref().map(|f| f.node()), "master-size"),
        ];
        let say = |f: &Figure<Length>| to_the_rule(f.si(), units);
        let size = [&on.given.length, &on.given.width, &on.given.depth].map(Option::as_ref);
        let size: Vec<String> = size.into_iter().flatten().map(say).collect();
        let given_by = |f: &Figure<Length>| matches!(f.node().because(), Because::Given(_));
        let derived = on.given.length.as_ref().is_some_and(|length| !given_by(length));
        let asked = sheet.chain.as_ref().map(|chain| chain.pattern.iter().map(say).collect());
        let written = !size.is_empty() && !derived && asked.as_ref() != Some(&size);
        Self {
            head: SheetHead::new(build, paper),
            id: plain(&given.id),
            name: plain(&given.name),
            alloy: plain(&casting.alloy.id),
            pattern: plain(&on.id),
            made_of: on.given.made_of.as_deref().map(plain),
            cavities: on.given.cavities,
            stand: stand_words(casting, on, units),
            given: written.then(|| size.join(" x ")),
            together: (derived && on.given.cavities > 1).then(|| size.join(" x ")),
            rules: rules.into_iter().flatten().collect(),
            in_cope: on.given.in_cope.as_ref().map(|depth| match depth.si() > 0.0 {
                true => format!("{} of it in the cope", say(depth)),
                false => "all of it in the drag".to_owned(),
            }),
            drawing,
            undrawn,
            sizes: chain_rows(sheet, units),
            pieces: piece_rows(&casting.pattern_pieces(on).unwrap_or_default(), units),
            boxes: boxes.collect(),
            warnings: sheet.warnings.iter().map(|w| plain(w)).collect(),
        }
    }

    /// As HTML.
    ///
    /// # Errors
    /// In words, where the template does not take what it is given.
    pub fn html(&self) -> Result<String, Unfilled> {
        page(self, "sheet-pattern.html", TEMPLATE)
    }
}
