//! A mould drawn to scale as it is laid out: from above at the parting, and cut through a casting.
//!
//! Sizes of the mould are in mm of the real thing; what is drawn is in mm of the paper.

use super::Paper;
use super::pen::{EDGE, Pen, SCALES, Sketch, tenth};
use crate::estimate::layout::{Feeder, Laid, Layout, Rect, WaysLaid};
use crate::shape::Outline;

/// Room on the paper, mm.
const WIDE: f64 = 112.0;

/// Height for the drawing; a card with much else on it has less of it.
fn high(paper: Paper, crowded: bool) -> f64 {
    match (paper, crowded) {
        (Paper::A4, false) => 150.0,
        (Paper::A4, true) => 128.0,
        (Paper::Letter, false) => 128.0,
        (Paper::Letter, true) => 112.0,
    }
}
/// The least width, so that the words of a narrow one have room, mm.
const LEAST_WIDE: f64 = 64.0;
/// Between its two views, mm of paper.
const BETWEEN: f64 = 13.0;
/// Heights at which the edges of a casting are shown from above, as shares of its own.
const EDGES: [f64; 5] = [0.03, 0.25, 0.5, 0.75, 0.97];
/// Just beside the middle, where no face lies, m.
const BESIDE: f64 = 1e-5;

/// A mould with the longer side of its flask across the paper; places in mm.
struct Drawn<'a> {
    layout: &'a Layout,
    /// Whether its width lies across the paper.
    turned: bool,
}

impl<'a> Drawn<'a> {
    fn new(layout: &'a Layout) -> Self {
        Self { layout, turned: layout.inside[1] > layout.inside[0] + 1e-6 }
    }

    /// Its length and width as it lies on the paper, mm.
    fn size(&self) -> [f64; 2] {
        let [l, w] = self.layout.inside.map(|m| m * 1e3);
        if self.turned { [w, l] } else { [l, w] }
    }

    /// A place from above: to the right and down.
    fn on(&self, [x, y]: [f64; 2]) -> (f64, f64) {
        match self.turned {
            true => (y * 1e3, x * 1e3),
            false => (x * 1e3, (self.layout.inside[1] - y) * 1e3),
        }
    }

    fn rect(&self, pen: &mut Pen, of: &'static str, rect: &Rect) {
        let (a, b) = (self.on(rect.low), self.on(rect.high));
        let (x, y) = (a.0.min(b.0), a.1.min(b.1));
        pen.rect(of, x, y, (a.0 - b.0).abs(), (a.1 - b.1).abs());
    }

    /// The middle of a pattern from above.
    fn middle(&self, laid: &Laid) -> (f64, f64) {
        let lies = &laid.lies;
        self.on([lies.x + lies.length / 2.0, lies.y + lies.width / 2.0])
    }

    /// An outline of one casting from above.
    fn outline(
        &self,
        pen: &mut Pen,
        of: &'static str,
        laid: &Laid,
        casting: usize,
        seen: &Outline,
    ) {
        let at = |c: &[f64; 2]| self.on(laid.place(casting, *c));
        let loops = seen.loops.iter().map(|way| way.iter().map(at).collect()).collect();
        pen.outline(of, loops);
    }

    fn castings(&self, pen: &mut Pen, laid: &Laid) {
        let Some(body) = &laid.body else {
            laid.boxes().for_each(|rect| self.rect(pen, "pattern", &rect));
            return;
        };
        let plan = body.plan();
        let [low, high] = body.ends();
        let edges = EDGES.map(|share| body.section_at(low + share * (high - low)));
        let cores = body.cores().map(|cores| cores.plan());
        for casting in 0..laid.castings.len() {
            self.outline(pen, "pattern", laid, casting, &plan);
            edges.iter().for_each(|edge| self.outline(pen, "edge", laid, casting, edge));
            cores.iter().for_each(|plan| self.outline(pen, "core", laid, casting, plan));
        }
    }

    /// From above, with the names of its patterns, and letters at what belongs to one of them.
    fn above(&self, pen: &mut Pen, of: usize, names: &[String]) {
        let [l, w] = self.size();
        pen.rect("flask", 0.0, 0.0, l, w);
        for laid in &self.layout.patterns {
            if let Some(ways) = &laid.ways {
                self.ways(pen, ways);
            }
            self.castings(pen, laid);
            for feeder in &laid.feeders {
                let (x, y) = self.on(feeder.at);
                pen.circle("feeder", x, y, feeder.size[0] * 1e3);
                pen.circle("hidden", x, y, feeder.neck[0] * 1e3);
            }
            for vent in &laid.vents {
                let ((x, y), arm) = (self.on(vent.at), 1.1 * pen.scale);
                pen.path("vent", &[(x - arm, y - arm), (x + arm, y + arm)], false);
                pen.path("vent", &[(x - arm, y + arm), (x + arm, y - arm)], false);
            }
        }
        for (laid, name) in self.layout.patterns.iter().zip(names) {
            pen.note(self.middle(laid), name);
        }
        if let Some(laid) = self.layout.patterns.get(of) {
            if let Some(ways) = &laid.ways {
                pen.letter(self.on(ways.sprue), "A");
                let end = |rect: &Rect| self.on(rect.middle());
                pen.letter(end(&ways.runner), "C");
                ways.ingates.first().iter().for_each(|gate| pen.letter(end(gate), "D"));
            }
            laid.feeders.first().iter().for_each(|f| pen.letter(self.on(f.at), "F"));
            laid.vents.first().iter().for_each(|v| pen.letter(self.on(v.at), "V"));
            if let Some([low, high]) = laid.body.as_ref().and_then(|body| body.prints()) {
                let middle = [0, 1].map(|i| f64::midpoint(low[i], high[i]));
                pen.letter(self.on(laid.place(0, middle)), "K");
            }
        }
    }

    fn ways(&self, pen: &mut Pen, ways: &WaysLaid) {
        ways.ingates.iter().for_each(|gate| self.rect(pen, "way", gate));
        self.rect(pen, "way", &ways.runner);
        let (x, y) = self.on(ways.sprue);
        pen.circle("way", x, y, ways.sizes.well[0] * 1e3);
        pen.circle("solid", x, y, ways.sizes.sprue[0] * 1e3);
        pen.circle("hidden", x, y, ways.sizes.basin[0] * 1e3);
    }

    /// Cut along the paper through the middle of the first casting of a pattern; sprue, runner and
    /// feeders as they stand before or behind.
    fn cut(&self, pen: &mut Pen, of: usize) {
        let [l, _] = self.size();
        let (cope, drag) = (self.layout.cope * 1e3, self.layout.drag * 1e3);
        pen.rect("flask", 0.0, 0.0, l, cope + drag);
        let along = |at: [f64; 2]| if self.turned { at[1] } else { at[0] };
        let Some(first) = self.layout.patterns.get(of) else { return };
        let cut_at = self.across(first.castings[0]) + BESIDE;
        for laid in &self.layout.patterns {
            if let Some(ways) = &laid.ways {
                self.ways_cut(pen, ways);
            }
            for casting in 0..laid.castings.len() {
                self.casting_cut(pen, laid, casting, cut_at);
            }
            for feeder in &laid.feeders {
                self.feeder_cut(pen, laid, feeder, along(feeder.at) * 1e3);
            }
            for vent in &laid.vents {
                let x = along(vent.at) * 1e3;
                pen.path("vent", &[(x, cope - vent.top * 1e3), (x, 0.0)], false);
            }
        }
        pen.path("parting", &[(-10.0, cope), (l + 10.0, cope)], false);
        if let Some(ways) = &first.ways {
            let (x, s) = (along(ways.sprue) * 1e3, &ways.sizes);
            pen.letter((x, -s.basin[1] * 500.0), "E");
            pen.letter((x, cope + s.well[1] * 500.0), "B");
        }
        pen.note((l * 0.9, cope * 0.8), "cope");
        pen.note((l * 0.9, cope + drag * 0.2), "drag");
    }

    /// Where a place lies across the paper's length, m.
    fn across(&self, at: [f64; 2]) -> f64 {
        if self.turned { at[0] } else { at[1] }
    }

    fn casting_cut(&self, pen: &mut Pen, laid: &Laid, casting: usize, cut_at: f64) {
        let cope = self.layout.cope * 1e3;
        let middle = laid.castings[casting];
        let off = cut_at - self.across(middle);
        let [along, across] = if self.turned { [1, 0] } else { [0, 1] };
        let half = laid.casting[across] / 2.0;
        let behind = off.abs() >= half;
        let Some(body) = laid.body.as_ref() else {
            let x = (middle[along] - laid.casting[along] / 2.0) * 1e3;
            let [low, high] = laid.ends.map(|z| z * 1e3);
            let of = if behind { "behind" } else { "pattern" };
            pen.rect(of, x, cope - high, laid.casting[along] * 1e3, high - low);
            return;
        };
        // The body's own axis across the cut, which way along it the cut lies, and how the other runs.
        let (own, at, sign) = match (self.turned, laid.turned) {
            (false, false) => (1, off, 1.0),
            (false, true) => (0, off, -1.0),
            (true, false) => (0, off, 1.0),
            (true, true) => (1, -off, 1.0),
        };
        let place = |c: &[f64; 2]| ((middle[along] + sign * c[0]) * 1e3, cope - c[1] * 1e3);
        let put = |pen: &mut Pen, of, outline: &Outline| {
            let loops = outline.loops.iter().map(|way| way.iter().map(place).collect()).collect();
            pen.outline(of, loops);
        };
        if behind {
            put(pen, "behind", &body.section(own, BESIDE));
            return;
        }
        put(pen, "pattern", &body.section(own, at));
        if let Some(cores) = body.cores() {
            put(pen, "core", &cores.section(own, at));
        }
    }

    fn feeder_cut(&self, pen: &mut Pen, laid: &Laid, feeder: &Feeder, x: f64) {
        let cope = self.layout.cope * 1e3;
        let [wide, high] = feeder.size.map(|m| m * 1e3);
        let [neck, long] = feeder.neck.map(|m| m * 1e3);
        let root = cope - feeder.root * 1e3;
        pen.rect("feeder", x - wide / 2.0, root - long - high, wide, high);
        pen.rect("feeder", x - neck / 2.0, root - long, neck, long);
        if let Some(ring) = self.layout.ring(laid, feeder) {
            let (ring, wall) = (ring * 1e3, 8.0);
            for side in [-1.0, 1.0] {
                let edge = x + side * (wide / 2.0 + wall / 2.0);
                pen.rect("flask", edge - wall / 2.0, -ring, wall, ring);
            }
        }
    }

    fn ways_cut(&self, pen: &mut Pen, ways: &WaysLaid) {
        let cope = self.layout.cope * 1e3;
        let along = |at: [f64; 2]| if self.turned { at[1] } else { at[0] } * 1e3;
        let s = &ways.sizes;
        let [foot, top] = s.sprue.map(|m| m * 500.0);
        let [rim, deep] = [s.basin[0] * 500.0, s.basin[1] * 1e3];
        let (x, runner) = (along(ways.sprue), s.runner * 1e3);
        let [from, to] = [along(ways.runner.low), along(ways.runner.high)];
        pen.rect("way", from, cope, to - from, runner);
        pen.rect("way", x - s.well[0] * 500.0, cope, s.well[0] * 1e3, s.well[1] * 1e3);
        pen.path(
            "way",
            &[(x - top, 0.0), (x + top, 0.0), (x + foot, cope), (x - foot, cope)],
            true,
        );
        pen.path(
            "way",
            &[(x - rim, -deep), (x - top, 0.0), (x + top, 0.0), (x + rim, -deep)],
            true,
        );
    }

    /// How far basin, feeders and rings rise out of the cope, mm.
    fn over(&self) -> f64 {
        let each = self.layout.patterns.iter().flat_map(|laid| {
            let basin = laid.ways.as_ref().map_or(0.0, |ways| ways.sizes.basin[1]);
            let rings = laid.feeders.iter().filter_map(|f| self.layout.ring(laid, f));
            rings.chain([basin])
        });
        each.fold(0.0, f64::max) * 1e3
    }
}

/// Draws a mould from above, with the names of its patterns, and in section through one of them.
pub(super) fn sketch(
    layout: &Layout,
    of: usize,
    names: &[String],
    (paper, crowded): (Paper, bool),
) -> Option<Sketch> {
    let drawn = Drawn::new(layout);
    let ([length, width], over) = (drawn.size(), drawn.over());
    let depth = (layout.cope + layout.drag) * 1e3;
    let tall = width + over + depth;
    let fits = |n: &&u32| {
        let n = f64::from(**n);
        length / n + 2.0 * EDGE <= WIDE && tall / n + 2.0 * EDGE + BETWEEN <= high(paper, crowded)
    };
    let scale = *SCALES.iter().find(fits)?;
    let n = f64::from(scale);
    let drawn_wide = length / n + 2.0 * EDGE;
    let wide = tenth(drawn_wide.max(LEAST_WIDE));
    let mut pen = Pen::new(n);
    pen.x += (wide - drawn_wide) / 2.0;
    let second = EDGE + (width + over) / n + BETWEEN;
    pen.room = [0.0, 3.4, wide, second - over / n - 7.4];
    drawn.above(&mut pen, of, names);
    pen.word((length / 2.0, 0.0), (0.0, -1.8), "from above, at the parting", false);
    pen.y = second;
    let foot = second + depth / n;
    pen.room = [0.0, second - over / n - 3.6, wide, foot + 0.8];
    drawn.cut(&mut pen, of);
    let caption = (0.0, -over / n - 4.4);
    pen.word((length / 2.0, 0.0), caption, "cut through the casting", false);
    let told = format!("1 : {scale} when printed at 100 %");
    pen.word((length / 2.0, depth), (0.0, 4.2), &told, false);
    let castings: usize = layout.patterns.iter().map(|laid| laid.castings.len()).sum();
    let feeders: usize = layout.patterns.iter().map(|laid| laid.feeders.len()).sum();
    let ingates = layout.patterns.iter().filter_map(|laid| laid.ways.as_ref());
    let ingates: usize = ingates.map(|ways| ways.ingates.len()).sum();
    Some(Sketch {
        width: wide,
        height: tenth(foot + EDGE),
        scale,
        says: format!(
            "The mould at 1 to {scale}: a flask of {length:.0} by {width:.0} mm with {castings} castings, {ingates} ingates and {feeders} feeders, from above and in section. The list of sizes tells each."
        ),
        flask_known: layout.flask.is_some(),
        marks: pen.marks,
        labels: pen.labels,
    })
}
