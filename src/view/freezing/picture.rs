//! Three sections through the last place to freeze, as an SVG picture: the later, the darker, with
//! lines between the shades, so that it reads in grey and without colour.

use crate::freezing::{Frozen, Slice};
use std::fmt::Write;

/// From the first to the last to freeze: each clearly darker than the one before it.
const SHADES: [&str; 10] = [
    "#fdf8e4", "#f9e8bd", "#f4d394", "#efb96d", "#e59a52", "#d47946", "#b85844", "#943c49",
    "#6a254b", "#3d1445",
];
/// Of the picture, in its own units.
const WIDTH: f64 = 960.0;
const PANEL: f64 = 290.0;
const GAP: f64 = 22.0;
const TOP: f64 = 46.0;
const AXES: [&str; 3] = ["x", "y", "z"];

/// The picture of a casting's freezing.
pub fn picture(part: &str, frozen: &Frozen) -> String {
    let step = step(frozen);
    let tallest = frozen.sections.iter().map(|s| s.size[1] as f64 * scale(s)).fold(0.0, f64::max);
    let height = TOP + tallest + 90.0;
    let part = escaped(part);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.0}\" role=\"img\" shape-rendering=\"crispEdges\" font-family=\"sans-serif\" font-size=\"13\" fill=\"#111\">\n\
         <title>{part}: when it freezes, in three sections through the last place</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n\
         <text x=\"{GAP}\" y=\"22\" font-size=\"16\">{part}: solid after, s</text>\n"
    );
    for (i, slice) in frozen.sections.iter().enumerate() {
        let left = GAP + i as f64 * (PANEL + GAP);
        panel(&mut out, slice, left, step, frozen.last);
    }
    legend(&mut out, step, TOP + tallest + 52.0);
    out + "</svg>\n"
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Seconds to a shade: 1, 2 or 5 times a power of ten.
fn step(frozen: &Frozen) -> f64 {
    let times = frozen.sections.iter().flat_map(|s| &s.times).flatten();
    let last = times.fold(0.0_f64, |most, t| most.max(f64::from(*t)));
    let rough = (last / SHADES.len() as f64).max(0.1);
    let power = 10.0_f64.powf(rough.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|s| s * power).find(|s| *s >= rough).unwrap_or(rough)
}

fn band(time: f32, step: f64) -> usize {
    ((f64::from(time) / step) as usize).min(SHADES.len() - 1)
}

/// Units to a cell.
fn scale(slice: &Slice) -> f64 {
    (PANEL / slice.size[0] as f64).min(420.0 / slice.size[1] as f64)
}

fn panel(out: &mut String, slice: &Slice, left: f64, step: f64, last: [f64; 3]) {
    let (scale, [nu, nv]) = (scale(slice), slice.size);
    let at = |u: usize, v: usize| slice.times.get(u + nu * v).copied().flatten();
    let shade = |u: usize, v: usize| at(u, v).map(|t| band(t, step));
    let y = |v: usize| TOP + (nv - v) as f64 * scale;
    for v in 0..nv {
        let mut u = 0;
        while u < nu {
            let own = shade(u, v);
            let end = (u..nu).find(|w| shade(*w, v) != own).unwrap_or(nu);
            if let Some(band) = own {
                let _ = writeln!(
                    out,
                    "<rect x=\"{:.2}\" y=\"{:.2}\" width=\"{:.2}\" height=\"{:.2}\" fill=\"{}\"/>",
                    left + u as f64 * scale,
                    y(v + 1),
                    (end - u) as f64 * scale + 0.2,
                    scale + 0.2,
                    SHADES[band]
                );
            }
            u = end;
        }
    }
    lines(out, slice, left, &shade);
    let (one, other) = [(1, 2), (0, 2), (0, 1)][slice.across];
    let across = |axis: usize, i: usize| (last[axis] - slice.corner[i]) / slice.cell * scale;
    let (cx, cy) = (left + across(one, 0), TOP + nv as f64 * scale - across(other, 1));
    let _ = writeln!(
        out,
        "<path d=\"M{:.1} {cy:.1}h16m-8 -8v16\" transform=\"translate(-8 0)\" stroke=\"#fff\" stroke-width=\"4\" fill=\"none\"/>\
         <path d=\"M{:.1} {cy:.1}h16m-8 -8v16\" transform=\"translate(-8 0)\" stroke=\"#111\" stroke-width=\"1.6\" fill=\"none\"/>",
        cx, cx
    );
    let _ = writeln!(
        out,
        "<text x=\"{left:.1}\" y=\"{:.1}\">{} across, {} up, cut at {} {:.0} mm</text>",
        TOP + nv as f64 * scale + 20.0,
        AXES[one],
        AXES[other],
        AXES[slice.across],
        1e3 * slice.at
    );
}

/// Lines where one shade meets another, and around the metal.
fn lines(
    out: &mut String,
    slice: &Slice,
    left: f64,
    shade: &dyn Fn(usize, usize) -> Option<usize>,
) {
    let (scale, [nu, nv]) = (scale(slice), slice.size);
    let (mut inner, mut outer) = (String::new(), String::new());
    let seen = |u: Option<usize>, v: Option<usize>| match (u, v) {
        (Some(u), Some(v)) if u < nu && v < nv => shade(u, v),
        _ => None,
    };
    let mut edge = |a: Option<usize>, b: Option<usize>, path: String| match (a, b) {
        (Some(a), Some(b)) if a != b => inner += &path,
        (Some(_), None) | (None, Some(_)) => outer += &path,
        _ => {}
    };
    for v in 0..=nv {
        for u in 0..=nu {
            let (x, y) = (left + u as f64 * scale, TOP + (nv - v) as f64 * scale);
            let own = seen(Some(u), Some(v));
            edge(own, seen(u.checked_sub(1), Some(v)), format!("M{x:.1} {y:.1}v{:.1}", -scale));
            edge(own, seen(Some(u), v.checked_sub(1)), format!("M{x:.1} {y:.1}h{scale:.1}"));
        }
    }
    let _ = writeln!(
        out,
        "<path d=\"{inner}\" stroke=\"#111\" stroke-opacity=\"0.55\" stroke-width=\"0.7\" fill=\"none\"/>\
         <path d=\"{outer}\" stroke=\"#111\" stroke-width=\"1.4\" fill=\"none\"/>"
    );
}

fn legend(out: &mut String, step: f64, y: f64) {
    for (i, shade) in SHADES.iter().enumerate() {
        let x = GAP + i as f64 * 93.0;
        let to = (i + 1) as f64 * step;
        let _ = writeln!(
            out,
            "<rect x=\"{x}\" y=\"{y:.1}\" width=\"22\" height=\"16\" fill=\"{shade}\" stroke=\"#111\" stroke-width=\"0.8\"/>\
             <text x=\"{:.0}\" y=\"{:.1}\">to {to} s</text>",
            x + 26.0,
            y + 13.0
        );
    }
    let _ = writeln!(
        out,
        "<text x=\"{GAP}\" y=\"{:.1}\">The later, the darker. The cross is the casting's last place to freeze.</text>",
        y + 34.0
    );
}
