//! Sections through the last place to freeze, as SVG: the later, the darker, with lines between the
//! shades, so that it reads in grey and without colour.

use crate::freezing::{Frozen, Slice};
use serde::Serialize;
use std::fmt::Write;

/// From the first to the last to freeze: each clearly darker than the one before it.
const SHADES: [&str; 10] = [
    "#fdf8e4", "#f9e8bd", "#f4d394", "#efb96d", "#e59a52", "#d47946", "#b85844", "#943c49",
    "#6a254b", "#3d1445",
];
const AXES: [&str; 3] = ["x", "y", "z"];

/// Sections with what their shades mean.
#[derive(Debug, Clone, Serialize)]
pub struct Picture {
    /// The sections, the most telling first.
    pub sections: Vec<Section>,
    /// The shades, the first to freeze first.
    pub shades: Vec<Shade>,
}

/// One section.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// SVG to stand in a page.
    pub svg: String,
    /// Which section it is, in words.
    pub says: String,
    /// Width over height.
    pub ratio: f64,
}

/// One shade.
#[derive(Debug, Clone, Serialize)]
pub struct Shade {
    /// A colour of the page.
    pub fill: &'static str,
    /// Solid until, in words.
    pub until: String,
}

impl Picture {
    /// Of a casting.
    pub fn of(frozen: &Frozen) -> Self {
        let last = frozen.sections.iter().map(|s| s.last).fold(0.0, f64::max);
        Self::to(frozen, last)
    }

    /// With the shades of a casting that takes so long, s: what stands beside another is shaded like it.
    pub fn to(frozen: &Frozen, last: f64) -> Self {
        let step = step(last);
        let mut slices: Vec<&Slice> = frozen.sections.iter().collect();
        slices.sort_by_key(|s| std::cmp::Reverse(s.size[0] * s.size[1]));
        let sections = slices.iter().map(|slice| Section {
            svg: drawn(slice, step, frozen.last),
            says: says(slice),
            ratio: slice.size[0] as f64 / slice.size[1] as f64,
        });
        let used = ((last / step).ceil() as usize).clamp(1, SHADES.len());
        let shades = SHADES.into_iter().take(used).enumerate();
        let shades = shades
            .map(|(i, fill)| Shade { fill, until: format!("to {} s", (i + 1) as f64 * step) });
        Self { sections: sections.collect(), shades: shades.collect() }
    }

    /// When what is shaded last is solid, s.
    pub fn last(frozen: &Frozen) -> f64 {
        frozen.sections.iter().map(|s| s.last).fold(0.0, f64::max)
    }
}

/// Width of the picture, of a section and of what is between, in its own units.
const WIDTH: f64 = 960.0;
const PANEL: f64 = 290.0;
const TALLEST: f64 = 420.0;
const GAP: f64 = 22.0;

/// The picture of some castings as a file, one below the other, all in the same shades.
pub fn picture(of: &[(String, &Frozen)]) -> String {
    let last = of.iter().map(|(_, frozen)| Picture::last(frozen)).fold(0.0, f64::max);
    let mut y = 8.0;
    let mut out = String::new();
    let mut shades = Vec::new();
    for (title, frozen) in of {
        let picture = Picture::to(frozen, last);
        let _ = writeln!(
            out,
            "<text x=\"{GAP}\" y=\"{:.0}\" font-size=\"16\">{}: solid after, s</text>",
            y + 18.0,
            escaped(title)
        );
        let mut tallest: f64 = 0.0;
        for (i, section) in picture.sections.iter().enumerate() {
            let x = GAP + i as f64 * (PANEL + GAP);
            let (w, h) = (PANEL.min(TALLEST * section.ratio), (PANEL / section.ratio).min(TALLEST));
            tallest = tallest.max(h);
            let at = format!(
                "<svg x=\"{x:.0}\" y=\"{:.0}\" width=\"{w:.0}\" height=\"{h:.0}\"",
                y + 30.0
            );
            let _ = writeln!(out, "{}", section.svg.replacen("<svg", &at, 1));
            let _ = writeln!(
                out,
                "<text x=\"{x:.0}\" y=\"{:.0}\">{}</text>",
                y + 48.0 + h,
                section.says
            );
        }
        y += tallest + 70.0;
        shades = picture.shades;
    }
    for (i, shade) in shades.iter().enumerate() {
        let x = GAP + i as f64 * 93.0;
        let _ = writeln!(
            out,
            "<rect x=\"{x}\" y=\"{y:.1}\" width=\"22\" height=\"16\" fill=\"{}\" stroke=\"#111\" stroke-width=\"0.8\"/><text x=\"{:.0}\" y=\"{:.1}\">{}</text>",
            shade.fill,
            x + 26.0,
            y + 13.0,
            shade.until
        );
    }
    let height = y + 56.0;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" font-family=\"sans-serif\" font-size=\"13\" fill=\"#111\">\n\
         <title>When it freezes, in sections through the last place</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{out}\
         <text x=\"{GAP}\" y=\"{:.0}\">The later, the darker. The cross is the casting's last place to freeze.</text>\n</svg>\n",
        y + 40.0
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Seconds to a shade: 1, 2 or 5 times a power of ten.
fn step(last: f64) -> f64 {
    let rough = (last / SHADES.len() as f64).max(0.1);
    let power = 10.0_f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|s| s * power).find(|s| *s >= rough).unwrap_or(rough)
}

fn axes(slice: &Slice) -> [usize; 2] {
    [[1, 2], [0, 2], [0, 1]][slice.across]
}

fn says(slice: &Slice) -> String {
    let [one, other] = axes(slice).map(|axis| AXES[axis]);
    format!("{one} across, {other} up, cut at {} {:.0} mm", AXES[slice.across], 1e3 * slice.at)
}

/// One section in units of its cells.
fn drawn(slice: &Slice, step: f64, last: [f64; 3]) -> String {
    let [nu, nv] = slice.size;
    let shade =
        |u: usize, v: usize| slice.time(u, v).map(|t| ((t / step) as usize).min(SHADES.len() - 1));
    let mut fills = vec![String::new(); SHADES.len()];
    for v in 0..nv {
        let mut u = 0;
        while u < nu {
            let own = shade(u, v);
            let end = (u..nu).find(|w| shade(*w, v) != own).unwrap_or(nu);
            if let Some(band) = own {
                let _ = write!(fills[band], "M{u} {}h{1}v1h-{1}z", nv - 1 - v, end - u);
            }
            u = end;
        }
    }
    let mut out = format!(
        "<svg viewBox=\"-.5 -.5 {} {}\" role=\"img\" aria-label=\"{}\" preserveAspectRatio=\"xMinYMin meet\">",
        nu + 1,
        nv + 1,
        says(slice)
    );
    for (fill, path) in SHADES.iter().zip(&fills).filter(|(_, path)| !path.is_empty()) {
        let _ = write!(out, "<path shape-rendering=\"crispEdges\" fill=\"{fill}\" d=\"{path}\"/>");
    }
    let (inner, outer) = lines(slice, &shade);
    for (path, width, opacity) in [(inner, 0.7, 0.55), (outer, 1.4, 1.0)] {
        let _ = write!(
            out,
            "<path fill=\"none\" stroke=\"#111\" stroke-opacity=\"{opacity}\" stroke-width=\"{width}\" vector-effect=\"non-scaling-stroke\" d=\"{path}\"/>"
        );
    }
    let [one, other] = axes(slice);
    let along = |axis: usize, i: usize| (last[axis] - slice.corner[i]) / slice.cell;
    let (x, y, arm) = (along(one, 0), nv as f64 - along(other, 1), 0.03 * nu.max(nv) as f64);
    for (colour, width) in [("#fff", 4.0), ("#111", 1.6)] {
        let _ = write!(
            out,
            "<path fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" vector-effect=\"non-scaling-stroke\" d=\"M{:.1} {y:.1}h{:.1}M{x:.1} {:.1}v{:.1}\"/>",
            x - arm,
            2.0 * arm,
            y - arm,
            2.0 * arm
        );
    }
    out + "</svg>"
}

/// Lines where one shade meets another, and around the metal; what goes on straight is one line.
fn lines(slice: &Slice, shade: &dyn Fn(usize, usize) -> Option<usize>) -> (String, String) {
    let [nu, nv] = slice.size;
    let at = |u: Option<usize>, v: Option<usize>| match (u, v) {
        (Some(u), Some(v)) if u < nu && v < nv => shade(u, v),
        _ => None,
    };
    // Nothing, a line between shades, or the rim.
    let kind = |a: Option<usize>, b: Option<usize>| match (a, b) {
        (Some(a), Some(b)) if a != b => 1,
        (Some(_), None) | (None, Some(_)) => 2,
        _ => 0,
    };
    let mut out = [String::new(), String::new()];
    let mut run =
        |kinds: &dyn Fn(usize) -> usize, count: usize, line: &dyn Fn(usize, usize) -> String| {
            let mut from = 0;
            while from < count {
                let own = kinds(from);
                let end = (from..count).find(|i| kinds(*i) != own).unwrap_or(count);
                if own > 0 {
                    out[own - 1] += &line(from, end - from);
                }
                from = end;
            }
        };
    for u in 0..=nu {
        let kinds = |v: usize| kind(at(u.checked_sub(1), Some(v)), at(Some(u), Some(v)));
        run(&kinds, nv, &|from, long| format!("M{u} {}v-{long}", nv - from));
    }
    for v in 0..=nv {
        let kinds = |u: usize| kind(at(Some(u), v.checked_sub(1)), at(Some(u), Some(v)));
        run(&kinds, nu, &|from, long| format!("M{from} {}h{long}", nv - v));
    }
    let [inner, outer] = out;
    (inner, outer)
}
