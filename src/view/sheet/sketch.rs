//! The mould drawn to scale: from above at the parting, and cut through sprue and runner.
//!
//! Sizes of the mould are in mm of the real thing; what is drawn is in mm of the paper.

use super::Paper;
use super::pen::{EDGE, Pen, SCALES, Sketch, mm, tenth};
use crate::estimate::{CastingEstimate, FlaskFit};
use crate::figure::{Figure, Length};
use crate::model::{Build, Casting};

/// Room on the paper, mm.
const WIDE: f64 = 108.0;

/// Height for the drawing; a card with much else on it has less of it.
fn high(paper: Paper, crowded: bool) -> f64 {
    match (paper, crowded) {
        (Paper::A4, false) => 128.0,
        (Paper::A4, true) => 102.0,
        (Paper::Letter, false) => 112.0,
        (Paper::Letter, true) => 102.0,
    }
}
/// Between its two views, mm of paper.
const BETWEEN: f64 = 13.0;
/// Height of a letter with some air, mm of paper.
const LETTER: f64 = 4.9;
/// From the middle of the sprue to that of the first ingate, and past the last one, mm.
const TO_FIRST: f64 = 35.0;
const PAST_LAST: f64 = 25.0;
/// Sand to leave between runner and flask, mm.
const WALL: f64 = 25.0;

/// The box and the pattern in it, mm; the longer side across the paper.
struct Layout {
    flask: (f64, f64),
    cope: f64,
    drag: f64,
    pattern: (f64, f64),
    depth: f64,
    in_cope: f64,
    cavities: u32,
    /// Corner of the pattern that lies at the top left.
    corner: (f64, f64),
    ways: Option<Ways>,
    feeders: Option<Feeders>,
}

/// The gating, mm.
struct Ways {
    sprue: (f64, f64),
    basin: (f64, f64),
    well: (f64, f64),
    runner: f64,
    ingates: f64,
    ingate: (f64, f64),
}

/// All feeders of the mould, mm.
struct Feeders {
    number: f64,
    diameter: f64,
    height: f64,
    neck: (f64, f64),
}

impl Ways {
    fn of(estimate: &CastingEstimate) -> Option<Self> {
        let gating = estimate.gating.as_ref()?;
        let (s, w) = (&gating.sprue, &gating.ways);
        let length = |f: &Figure<Length>| mm(Some(f));
        Some(Self {
            sprue: (length(&s.top)?, length(&s.base)?),
            basin: (length(&s.basin_diameter)?, length(&s.basin_depth)?),
            well: (length(&w.well_diameter)?, length(&w.well_depth)?),
            runner: length(&w.runner_side)?,
            ingates: w.ingates.si(),
            ingate: (length(&w.ingate_width)?, length(&w.ingate_length)?),
        })
    }
}

impl Feeders {
    fn of(estimate: &CastingEstimate) -> Option<Self> {
        let f = estimate.feeding.feeders.as_ref()?;
        let length = |f: &Figure<Length>| mm(Some(f));
        Some(Self {
            number: f.number.si() * f64::from(estimate.mould.cavities),
            diameter: length(&f.diameter)?,
            height: length(&f.height)?,
            neck: (length(&f.neck_diameter)?, length(&f.neck_length)?),
        })
    }
}

impl Layout {
    fn of(build: &Build, casting: &Casting, estimate: &CastingEstimate) -> Option<(Self, bool)> {
        let given = &build.patterns[casting.pattern].given;
        let (l, w) = (mm(given.length.as_ref())?, mm(given.width.as_ref())?);
        let pattern = (l.max(w), l.min(w));
        let depth = mm(given.depth.as_ref())?;
        let in_cope = mm(given.in_cope.as_ref()).unwrap_or(0.0);
        let fits = match &estimate.mould.flask {
            FlaskFit::Fits(id) => build.shop.flasks.get(id),
            _ => None,
        };
        let (flask, cope, drag) = match fits {
            Some(f) => {
                let (l, w) = (mm(Some(&f.length))?, mm(Some(&f.width))?);
                ((l.max(w), l.min(w)), mm(Some(&f.cope))?, mm(Some(&f.drag))?)
            }
            None => {
                let cover = build.handbook.cover_for(pattern.0 * 1e-3)?;
                let side = 2.0 * mm(Some(&cover.side))?;
                let (above, below) = (mm(Some(&cover.above))?, mm(Some(&cover.below))?);
                ((pattern.0 + side, pattern.1 + side), in_cope + above, depth - in_cope + below)
            }
        };
        let ways = Ways::of(estimate);
        // In the middle, or off it where only so the runner has room.
        let free = (flask.1 - pattern.1).max(0.0);
        let band = ways.as_ref().map_or(0.0, |w| w.ingate.1 + w.runner + WALL);
        let near = (free / 2.0).max(band.min(free - WALL));
        let corner = ((flask.0 - pattern.0) / 2.0, free - near);
        let layout = Self {
            flask,
            cope,
            drag,
            pattern,
            depth,
            in_cope,
            cavities: estimate.mould.cavities,
            corner,
            ways,
            feeders: Feeders::of(estimate),
        };
        Some((layout, fits.is_some()))
    }

    /// Middles of so many things shared out along the pattern.
    fn along(&self, number: f64) -> impl Iterator<Item = f64> + use<> {
        let (start, length) = (self.corner.0, self.pattern.0);
        (0..number as u32).map(move |i| start + (f64::from(i) + 0.5) * length / number)
    }

    fn runs_off(&self) -> bool {
        let near = self.flask.1 - self.corner.1 - self.pattern.1;
        self.ways.as_ref().is_some_and(|w| near < w.ingate.1 + w.runner + WALL / 2.5)
    }

    fn above(&self, pen: &mut Pen) {
        let (fl, fw) = self.flask;
        let ((px, py), (pl, pw)) = (self.corner, self.pattern);
        pen.rect("flask", 0.0, 0.0, fl, fw);
        pen.rect("pattern", px, py, pl, pw);
        for i in 1..self.cavities {
            let x = px + pl * f64::from(i) / f64::from(self.cavities);
            pen.path("hidden", &[(x, py), (x, py + pw)], false);
        }
        if let Some(f) = &self.feeders {
            for x in self.along(f.number) {
                pen.circle("feeder", x, py + pw / 2.0, f.diameter);
                // The letter stands in the feeder, or above it where it is too small.
                let across = f.diameter / pen.scale;
                let lower = if across >= LETTER { 1.5 } else { -across / 2.0 - 0.8 };
                pen.word((x, py + pw / 2.0), (0.0, lower), "F", true);
            }
        }
        // Gas gathers at the far side, where the metal comes last.
        let inset = 10.0_f64.min(pw / 4.0);
        for (i, x) in [px + inset, px + pl - inset].into_iter().enumerate() {
            let (y, arm) = (py + inset, 1.3 * pen.scale);
            pen.path("vent", &[(x - arm, y - arm), (x + arm, y + arm)], false);
            pen.path("vent", &[(x - arm, y + arm), (x + arm, y - arm)], false);
            if i == 0 {
                pen.word((x, py), (0.0, -1.0), "V", true);
            }
        }
        let Some(w) = &self.ways else { return };
        let gates: Vec<f64> = self.along(w.ingates).collect();
        let (Some(first), Some(last)) = (gates.first(), gates.last()) else { return };
        let foot = py + pw;
        for x in &gates {
            pen.rect("way", x - w.ingate.0 / 2.0, foot, w.ingate.0, w.ingate.1);
        }
        let (sprue, top) = (first - TO_FIRST, foot + w.ingate.1);
        pen.rect("way", sprue, top, last + PAST_LAST - sprue, w.runner);
        let middle = top + w.runner / 2.0;
        pen.circle("way", sprue, middle, w.well.0);
        pen.circle("solid", sprue, middle, w.sprue.1);
        pen.circle("hidden", sprue, middle, w.basin.0);
        let under = (w.basin.0.max(w.well.0) / 2.0) / pen.scale;
        pen.word((sprue, middle), (-under - 2.6, 1.2), "A", true);
        pen.word((last + PAST_LAST, middle), (2.8, 3.0), "C", true);
        let side = (last + w.ingate.0 / 2.0).max(px + pl);
        pen.word((side, foot), (2.8, 1.4), "D", true);
    }

    fn cut(&self, pen: &mut Pen) {
        let (fl, _) = self.flask;
        let ((px, _), (pl, _)) = (self.corner, self.pattern);
        let parting = self.cope;
        pen.rect("flask", 0.0, 0.0, fl, self.cope + self.drag);
        pen.path("flask", &[(-12.0, parting), (fl + 12.0, parting)], false);
        pen.rect("behind", px, parting - self.in_cope, pl, self.depth);
        if let Some(f) = &self.feeders {
            let root = parting - self.in_cope;
            for x in self.along(f.number) {
                let (d, n) = (f.diameter, f.neck.0);
                let (neck, top) = (root - f.neck.1, root - f.neck.1 - f.height);
                pen.rect("hidden", x - n / 2.0, neck, n, f.neck.1);
                pen.rect("hidden", x - d / 2.0, top, d, f.height);
            }
        }
        if let Some(w) = &self.ways {
            let gates: Vec<f64> = self.along(w.ingates).collect();
            if let (Some(first), Some(last)) = (gates.first(), gates.last()) {
                let x = first - TO_FIRST;
                pen.rect("way", x, parting, last + PAST_LAST - x, w.runner);
                pen.rect("way", x - w.well.0 / 2.0, parting, w.well.0, w.well.1);
                let (top, foot) = (w.sprue.0 / 2.0, w.sprue.1 / 2.0);
                let sprue =
                    [(x - top, 0.0), (x + top, 0.0), (x + foot, parting), (x - foot, parting)];
                pen.path("way", &sprue, true);
                let rim = w.basin.0 / 2.0;
                let basin =
                    [(x - rim, -w.basin.1), (x - top, 0.0), (x + top, 0.0), (x + rim, -w.basin.1)];
                pen.path("way", &basin, true);
                pen.word((x + rim, -w.basin.1 / 2.0), (2.6, 1.2), "E", true);
                pen.word((x + w.well.0 / 2.0, parting + w.well.1), (2.6, 0.6), "B", true);
            }
        }
        pen.word((fl, parting), (-7.0, -1.4), "cope", false);
        pen.word((fl, parting), (-7.0, 4.2), "drag", false);
    }
}

/// Draws the mould of a casting; none where the pattern has no size.
pub(super) fn sketch(
    build: &Build,
    casting: &Casting,
    estimate: &CastingEstimate,
    (paper, crowded): (Paper, bool),
) -> Option<Sketch> {
    let (layout, flask_known) = Layout::of(build, casting, estimate)?;
    let basin = layout.ways.as_ref().map_or(0.0, |w| w.basin.1);
    let risen = layout
        .feeders
        .as_ref()
        .map_or(0.0, |f| (layout.in_cope + f.neck.1 + f.height - layout.cope).max(0.0));
    let over = basin.max(risen);
    let tall = layout.flask.1 + over + layout.cope + layout.drag;
    let fits = |n: &&u32| {
        let n = f64::from(**n);
        layout.flask.0 / n + 2.0 * EDGE <= WIDE
            && tall / n + 2.0 * EDGE + BETWEEN <= high(paper, crowded)
    };
    let scale = *SCALES.iter().find(fits)?;
    let n = f64::from(scale);
    let mut pen = Pen::new(n);
    layout.above(&mut pen);
    pen.word((layout.flask.0 / 2.0, 0.0), (0.0, -1.8), "from above, at the parting", false);
    pen.y += (layout.flask.1 + over) / n + BETWEEN;
    layout.cut(&mut pen);
    let caption = (0.0, -over / n - 4.4);
    pen.word((layout.flask.0 / 2.0, 0.0), caption, "cut through sprue and runner", false);
    let foot = pen.y + (layout.cope + layout.drag) / n;
    let told = format!("1 : {scale} when printed at 100 %");
    pen.word((layout.flask.0 / 2.0, layout.cope + layout.drag), (0.0, 4.2), &told, false);
    Some(Sketch {
        width: tenth(layout.flask.0 / n + 2.0 * EDGE),
        height: tenth(foot + EDGE),
        scale,
        says: format!(
            "The mould at 1 to {scale}: a flask of {:.0} by {:.0} mm with a pattern of {:.0} by {:.0} mm, {:.0} ingates and {:.0} feeders, from above and in section. The list of sizes tells each.",
            layout.flask.0,
            layout.flask.1,
            layout.pattern.0,
            layout.pattern.1,
            layout.ways.as_ref().map_or(0.0, |w| w.ingates),
            layout.feeders.as_ref().map_or(0.0, |f| f.number)
        ),
        flask_known,
        tight: layout.runs_off(),
        marks: pen.marks,
        labels: pen.labels,
    })
}
