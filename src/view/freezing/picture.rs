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
        Self::in_order(frozen, Self::last(frozen), order(frozen))
    }

    /// With the shades of a casting that takes so long, s, its sections in this order: what stands beside
    /// another is drawn like it.
    fn in_order(frozen: &Frozen, last: f64, order: [usize; 3]) -> Self {
        let step = step(last);
        let sections = order.map(|i| &frozen.sections[i]);
        let sections = sections.iter().map(|slice| Section {
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
    fn last(frozen: &Frozen) -> f64 {
        frozen.sections.iter().map(|s| s.last).fold(0.0, f64::max)
    }
}

/// Width of the picture, of a section and of what is between, in its own units: two columns, so that
/// the words can still be read where it is shown as wide as a hand.
const PANEL: f64 = 320.0;
const GAP: f64 = 20.0;
const WIDTH: f64 = 2.0 * PANEL + 3.0 * GAP;
const TALLEST: f64 = 400.0;
/// Height of a line of words, and most letters in one.
const LINE: f64 = 22.0;
const LETTERS: usize = 35;
/// Shades in a row of the legend.
const IN_A_ROW: usize = 5;

/// A casting on a picture.
#[derive(Debug, Clone)]
pub struct Pictured<'a> {
    /// What it is.
    pub title: String,
    /// What heat flow says of it, a line each.
    pub says: Vec<String>,
    /// What is drawn.
    pub frozen: &'a Frozen,
}

/// The picture of a casting as a file, or of two side by side at one scale, in the same shades.
pub fn picture(of: &[Pictured<'_>]) -> String {
    let last = of.iter().map(|one| Picture::last(one.frozen)).fold(0.0, f64::max);
    let order = of.first().map_or([0, 1, 2], |one| order(one.frozen));
    let heads: Vec<Vec<String>> = of
        .iter()
        .map(|one| {
            let title = format!("{}: solid after, s", one.title);
            std::iter::once(&title).chain(&one.says).flat_map(|line| wrapped(line)).collect()
        })
        .collect();
    let column = |i: usize| GAP + i as f64 * (PANEL + GAP);
    let mut out = String::new();
    for (i, lines) in heads.iter().enumerate() {
        for (n, line) in lines.iter().enumerate() {
            let weight = if n == 0 { " font-weight=\"bold\"" } else { "" };
            let y = 8.0 + LINE * (n + 1) as f64;
            let _ = writeln!(
                out,
                "<text x=\"{:.0}\" y=\"{y:.0}\"{weight}>{}</text>",
                column(i),
                escaped(line)
            );
        }
    }
    let mut y = 20.0 + LINE * heads.iter().map(Vec::len).max().unwrap_or(0) as f64;
    let pictures: Vec<Picture> =
        of.iter().map(|one| Picture::in_order(one.frozen, last, order)).collect();
    // Two sections of one in a row, or the same section of both.
    let rows: Vec<Vec<(usize, usize)>> = match of.len() {
        1 => vec![vec![(0, 0), (0, 1)], vec![(0, 2)]],
        n => (0..3).map(|section| (0..n).map(|i| (i, section)).collect()).collect(),
    };
    for row in rows {
        let size = |(i, section): (usize, usize)| {
            let slice = &of[i].frozen.sections[order[section]];
            slice.size.map(|cells| cells as f64 * slice.cell)
        };
        let scale = |at: (usize, usize)| (PANEL / size(at)[0]).min(TALLEST / size(at)[1]);
        let common = row.iter().map(|at| scale(*at)).fold(f64::INFINITY, f64::min);
        let mut tallest: f64 = 0.0;
        let mut drawn = Vec::new();
        for (n, at) in row.iter().enumerate() {
            let own = if of.len() > 1 { common } else { scale(*at) };
            let [w, h] = size(*at).map(|m| m * own);
            tallest = tallest.max(h);
            drawn.push((column(n), w, h, &pictures[at.0].sections[at.1]));
        }
        for (x, w, h, section) in drawn {
            let svg = format!(
                "<svg x=\"{x:.0}\" y=\"{:.1}\" width=\"{w:.1}\" height=\"{h:.1}\"",
                y + tallest - h
            );
            let _ = writeln!(out, "{}", section.svg.replacen("<svg", &svg, 1));
            let _ = writeln!(
                out,
                "<text x=\"{x:.0}\" y=\"{:.0}\">{}</text>",
                y + tallest + LINE,
                section.says
            );
        }
        y += tallest + 2.0 * LINE;
    }
    let shades = pictures.first().map_or(&[][..], |picture| &picture.shades);
    for (i, shade) in shades.iter().enumerate() {
        let x = GAP + (i % IN_A_ROW) as f64 * (WIDTH - GAP) / IN_A_ROW as f64;
        let y = y + (i / IN_A_ROW) as f64 * 30.0;
        let _ = writeln!(
            out,
            "<rect x=\"{x:.0}\" y=\"{y:.1}\" width=\"26\" height=\"20\" fill=\"{}\" stroke=\"#111\" stroke-width=\"0.8\"/><text x=\"{:.0}\" y=\"{:.1}\">{}</text>",
            shade.fill,
            x + 32.0,
            y + 16.0,
            shade.until
        );
    }
    y += shades.len().div_ceil(IN_A_ROW) as f64 * 30.0 + LINE;
    const FOOT: [&str; 2] =
        ["The later, the darker.", "The cross is the casting's last place to freeze."];
    for (n, line) in FOOT.iter().enumerate() {
        let _ = writeln!(out, "<text x=\"{GAP}\" y=\"{:.0}\">{line}</text>", y + n as f64 * LINE);
    }
    let height = y + 2.0 * LINE;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" font-family=\"sans-serif\" font-size=\"17\" fill=\"#111\">\n\
         <title>When it freezes, in sections through the last place</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{out}</svg>\n"
    )
}

/// Words in lines of a column.
fn wrapped(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= LETTERS => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Sections by their size, the largest first.
fn order(frozen: &Frozen) -> [usize; 3] {
    let mut order = [0, 1, 2];
    order.sort_by_key(|i| std::cmp::Reverse(frozen.sections[*i].size.iter().product::<usize>()));
    order
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
