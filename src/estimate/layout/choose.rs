//! The flask in which a mould fits with all that belongs to it.

use super::board::{Board, FeederSizes};
use super::packed::{Packed, Packing, put};
use super::{Laid, Layout, WaySizes};
use crate::estimate::gating::GatingEstimate;
use crate::estimate::{Feeders, FlaskFit};
use crate::figure::*;
use crate::handbook::{Alloy, Cover};
use crate::manifest::{Flask, Id};
use crate::model::{Build, Equipment, Lying, Pattern};
use std::sync::Arc;

/// Sand over or under the print of an upright core, m (common practice, from memory).
const PRINT_SAND: f64 = 0.010;
const SLACK: f64 = 1e-4;

/// A pattern that wants a place in a flask.
pub(in crate::estimate) struct Wanted<'a> {
    /// Its index.
    pub pattern: usize,
    /// The body of the casting off it.
    pub body: Option<Arc<Lying>>,
    /// The feeders of one casting.
    pub feeders: Option<&'a Feeders>,
    /// The alloy of that casting.
    pub alloy: &'a Alloy,
    /// Its gating in a flask, or in the least that takes the pattern.
    pub gating: &'a (dyn Fn(Option<&Flask>) -> Option<GatingEstimate> + Sync),
}

/// A flask, what lies where in it, and the gating of each pattern there.
#[derive(Clone)]
pub(in crate::estimate) struct Chosen {
    pub fit: FlaskFit,
    pub layout: Option<Arc<Layout>>,
    pub gating: Vec<Option<GatingEstimate>>,
}

/// What the patterns ask of a flask but for its length and width.
struct Room<'a> {
    cover: &'a Cover,
    /// Depth of the cope, m.
    cope: f64,
    /// Depth of the drag, m.
    drag: f64,
}

fn low(figure: &Figure<Length>) -> f64 {
    figure.node().range().low
}

/// Sand between patterns in one flask, and between each and the wall: what the handbook asks for the
/// largest of them.
pub(in crate::estimate) fn side(build: &Build, patterns: &[&Pattern]) -> Option<Figure<Length>> {
    Some(cover(build, patterns)?.side.clone())
}

fn cover<'a>(build: &'a Build, patterns: &[&Pattern]) -> Option<&'a Cover> {
    let sizes = patterns.iter().map(|p| Some((p.given.length.as_ref()?, p.given.width.as_ref()?)));
    let largest = sizes.map(|s| s.map(|(l, w)| l.si().max(w.si()))).collect::<Option<Vec<_>>>()?;
    build.handbook.cover_for(largest.into_iter().fold(0.0, f64::max))
}

impl<'a> Room<'a> {
    /// With the least cover of the trade. A mould stands as deep as the deepest pattern in it asks,
    /// and as its prints do.
    fn of(build: &'a Build, patterns: &[&Pattern], boards: &[Board]) -> Option<Self> {
        let cover = cover(build, patterns)?;
        let (mut cope, mut drag) = (0.0_f64, 0.0_f64);
        for (pattern, board) in patterns.iter().zip(boards) {
            let in_cope = pattern.given.in_cope.as_ref().map_or(0.0, Figure::si);
            let in_drag = pattern.given.depth.as_ref()?.si() - in_cope;
            let [down, up] = board.upright;
            cope = cope.max(in_cope + low(&cover.above)).max(up + PRINT_SAND);
            drag = drag.max(in_drag + low(&cover.below)).max(PRINT_SAND - down);
        }
        Some(Self { cover, cope, drag })
    }

    fn deep(&self, flask: &Flask) -> bool {
        flask.cope.si() + SLACK >= self.cope && flask.drag.si() + SLACK >= self.drag
    }
}

/// The mould of these patterns in the flask that the builder names for any of them, or in the
/// smallest of the shop that takes them with all that belongs to them.
pub(in crate::estimate) fn choose(build: &Build, wanted: &[Wanted<'_>]) -> Chosen {
    let patterns: Vec<&Pattern> = wanted.iter().map(|w| &build.patterns[w.pattern]).collect();
    let gating_in =
        |flask: Option<&Flask>| -> Vec<_> { wanted.iter().map(|w| (w.gating)(flask)).collect() };
    let boards = wanted
        .iter()
        .zip(&patterns)
        .map(|(w, on)| Board::new(on, w.body.as_deref(), w.feeders.map(feeder_sizes)));
    let boards: Option<Vec<Board>> = boards.collect();
    let room = boards.as_ref().and_then(|boards| Room::of(build, &patterns, boards));
    let (Some(boards), Some(room)) = (boards, room) else {
        let why = match !build.shop.knows_flasks() {
            true => "the shop lists no flasks",
            false => "the pattern has no `size`",
        };
        let fit = FlaskFit::Unknown(why);
        return Chosen { fit, layout: None, gating: gating_in(None) };
    };
    let pack = |gating: &[Option<GatingEstimate>]| {
        let sizes: Vec<_> = gating.iter().map(|g| g.as_ref().map(way_sizes)).collect();
        Packing::new(boards.clone(), &sizes, low(&room.cover.side))
    };
    for (id, flask) in by_size(build, &patterns) {
        if !room.deep(flask) {
            continue;
        }
        let gating = gating_in(Some(flask));
        let inside = [flask.length.si(), flask.width.si()];
        let packed = pack(&gating).and_then(|packing| Some((packing.within(inside)?, packing)));
        if let Some((packed, packing)) = packed {
            let depths = [flask.cope.si(), flask.drag.si()];
            let layout = laid_out(wanted, &packing, &packed, (inside, depths));
            let gating = as_laid(wanted, gating, &layout);
            let layout = Some(Arc::new(Layout { flask: Some(id.clone()), ..layout }));
            return Chosen { fit: FlaskFit::Fits(id.clone()), layout, gating };
        }
    }
    let gating = gating_in(None);
    let least = pack(&gating).and_then(|packing| Some((packing.least()?, packing)));
    let fit = match !build.shop.knows_flasks() {
        true => FlaskFit::Unknown("the shop lists no flasks"),
        false => FlaskFit::Lacking(lacking(
            build,
            &patterns,
            &boards,
            (&room, least.as_ref().map(|(packed, _)| packed), &gating),
        )),
    };
    let layout = least.map(|(packed, packing)| {
        let depths = [room.cope, room.drag];
        Arc::new(laid_out(wanted, &packing, &packed, (packed.size, depths)))
    });
    let gating = match &layout {
        Some(layout) => as_laid(wanted, gating, layout),
        None => gating,
    };
    Chosen { fit, layout, gating }
}

/// The gating with its runners and ingates as long as they came out.
fn as_laid(
    wanted: &[Wanted<'_>],
    gating: Vec<Option<GatingEstimate>>,
    layout: &Layout,
) -> Vec<Option<GatingEstimate>> {
    let each = gating.into_iter().zip(wanted).zip(&layout.patterns);
    each.map(|((gating, wanted), laid)| {
        let lengths = laid.ways.as_ref().map(|ways| (ways.runner_length(), ways.ingate_length()));
        let density = wanted.alloy.liquid_density.as_ref();
        gating.map(|gating| match lengths {
            Some(lengths) => gating.with_lengths(lengths, density),
            None => gating,
        })
    })
    .collect()
}

/// Inside volume of a flask, m3.
pub(in crate::estimate) fn flask_space(f: &Flask) -> f64 {
    f.length.si() * f.width.si() * (f.cope.si() + f.drag.si())
}

/// Volume of the smallest flask that takes the boxes of these patterns, all else aside, m3; what a
/// mould of them takes is no less.
pub(in crate::estimate) fn least_space(build: &Build, patterns: &[&Pattern]) -> Option<f64> {
    let boards =
        patterns.iter().map(|on| Board::new(on, None, None)).collect::<Option<Vec<_>>>()?;
    let room = Room::of(build, patterns, &boards)?;
    let bare = Packing::bare(boards, low(&room.cover.side))?;
    let takes = |flask: &Flask| {
        room.deep(flask) && bare.within([flask.length.si(), flask.width.si()]).is_some()
    };
    let mut flasks = by_size(build, patterns).into_iter();
    flasks.find(|(_, flask)| takes(flask)).map(|(_, flask)| flask_space(flask))
}

/// The flasks of the shop that may be taken, the smallest first.
fn by_size<'a>(build: &'a Build, patterns: &[&Pattern]) -> Vec<(&'a Id, &'a Flask)> {
    let named = patterns.iter().find_map(|p| p.given.flask.as_ref());
    let flasks = build.shop.flasks.iter();
    let mut out: Vec<_> =
        flasks.filter(|(id, _)| named.is_none_or(|named| **id == named.value)).collect();
    out.sort_by(|a, b| flask_space(a.1).total_cmp(&flask_space(b.1)));
    out
}

/// What a flask would need, in words, and what else would do.
fn lacking(
    build: &Build,
    patterns: &[&Pattern],
    boards: &[Board],
    (room, least, gating): (&Room<'_>, Option<&Packed>, &[Option<GatingEstimate>]),
) -> String {
    let s = |v| show(Kind::Length, v, build.header.units);
    let bare = Packing::bare(boards.to_vec(), low(&room.cover.side));
    let Some(least) = least else {
        let runner = gating.iter().flatten().map(|g| g.ways.runner_side.si()).fold(0.0, f64::max);
        return format!(
            "its castings leave no room for a runner of {} between their rows: set them farther apart, or fewer on one pattern",
            s(runner)
        );
    };
    let with = match gating.iter().any(Option::is_some) {
        true => ", for its sprue, runner and sand all round",
        false => "",
    };
    let [a, b] = least.size;
    let mut says = format!(
        "needs a flask of {} x {} inside, cope {}, drag {}, or more{with}",
        s(a.max(b)),
        s(a.min(b)),
        s(room.cope),
        s(room.drag)
    );
    let named = patterns.iter().find_map(|p| p.given.flask.as_ref());
    let gone = named.and_then(|named| build.says_gone(Equipment::Flask, &named.value));
    let all_gone =
        || build.shop.gone.flasks.keys().find_map(|id| build.says_gone(Equipment::Flask, id));
    let gone = gone.or_else(|| all_gone().filter(|_| build.shop.flasks.is_empty()));
    says.extend(gone.map(|gone| format!("; {gone}")));
    let alone = by_size(build, patterns).into_iter().find(|(_, flask)| {
        let inside = [flask.length.si(), flask.width.si()];
        room.deep(flask) && bare.as_ref().is_some_and(|bare| bare.within(inside).is_some())
    });
    if let Some((id, _)) = alone {
        says +=
            &format!("; {id} takes the pattern, but wherever the sprue is moved not the way in");
    }
    if patterns.iter().any(|p| p.given.cavities > 1) {
        says += "; fewer castings in a mould would do with less";
    }
    says
}

fn feeder_sizes(feeders: &Feeders) -> FeederSizes<'_> {
    FeederSizes {
        number: feeders.number.si() as usize,
        feet: feeders.feet.as_deref(),
        size: [feeders.diameter.si(), feeders.height.si()],
        neck: [feeders.neck_diameter.si(), feeders.neck_length.si()],
    }
}

fn way_sizes(gating: &GatingEstimate) -> WaySizes {
    let (s, w) = (&gating.sprue, &gating.ways);
    WaySizes {
        sprue: [s.base.si(), s.top.si()],
        basin: [s.basin_diameter.si(), s.basin_depth.si()],
        well: [w.well_diameter.si(), w.well_depth.si()],
        runner: w.runner_side.si(),
        ingates: w.ingates.si() as usize,
        ingate: [w.ingate_width.si(), w.ingate_length.si(), w.ingate_thickness.si()],
    }
}

/// All of it in the flask, the patterns as near its middle as can be.
fn laid_out(
    wanted: &[Wanted<'_>],
    packing: &Packing,
    packed: &Packed,
    (inside, [cope, drag]): ([f64; 2], [f64; 2]),
) -> Layout {
    let by = [0, 1].map(|i| {
        let slack = (inside[i] - packed.size[i]).max(0.0);
        (inside[i] / 2.0 - packed.middle[i]).clamp(0.0, slack)
    });
    let moved = |p: [f64; 2]| [p[0] + by[0], p[1] + by[1]];
    let laid = |(n, wanted): (usize, &Wanted<'_>)| {
        let (board, turned) = (&packing.patterns[n].board, packed.turned[n]);
        let mut lies = packed.lies[n];
        (lies.x, lies.y) = (lies.x + by[0], lies.y + by[1]);
        let middle = [lies.x + lies.length / 2.0, lies.y + lies.width / 2.0];
        let place = |p| put(p, turned, middle);
        let casting = board.cavities[0].rect.size();
        Laid {
            pattern: wanted.pattern,
            lies,
            turned,
            castings: board.cavities.iter().map(|c| place(c.rect.middle())).collect(),
            casting: if turned { [casting[1], casting[0]] } else { casting },
            ends: board.ends,
            body: wanted.body.clone(),
            ways: packed.ways[n].as_ref().map(|ways| ways.mapped(moved)),
            feeders: (board.standing.iter())
                .map(|f| super::Feeder { at: place(f.at), ..*f })
                .collect(),
            vents: Vec::new(),
            no_room: board.no_room,
        }
        .vented()
    };
    Layout {
        flask: None,
        inside,
        cope,
        drag,
        patterns: wanted.iter().enumerate().map(laid).collect(),
    }
}
