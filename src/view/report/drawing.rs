//! The build as a drawing: every part a box that rests on the parts it waits for.

use super::layers::{Widths, place, reduce};
use crate::model::{Build, Standing};
use crate::plan::{Plan, Subject, Waited};
use crate::view::page::{STANDINGS, first_ready, mark, plain};
use serde::Serialize;
use std::collections::BTreeSet;

/// The dependency drawing, every place worked out.
#[derive(Debug, Clone, Serialize)]
pub struct Drawing {
    /// Width of the sheet.
    pub width: String,
    /// Height of the sheet.
    pub height: String,
    /// Parts.
    pub boxes: Vec<PartBox>,
    /// What waits for what.
    pub lines: Vec<Line>,
    /// How many parts wait for none and none waits for them.
    pub alone: usize,
    /// Where the line above those parts is drawn; none without any.
    pub alone_rule: Option<String>,
}

/// A part in the drawing.
#[derive(Debug, Clone, Serialize)]
pub struct PartBox {
    /// Index of the part.
    pub part: usize,
    /// Whole name.
    pub name: String,
    /// Name, a line each.
    pub words: Vec<BoxLine>,
    /// Standing in words.
    pub standing: &'static str,
    /// Name of the mark and class.
    pub mark: &'static str,
    /// Whether it is named under what is next, or to be cast again.
    pub now: bool,
    /// Left edge.
    pub x: String,
    /// Top edge.
    pub y: String,
    /// Left edge of its mark.
    pub mark_x: String,
    /// Top edge of its mark.
    pub mark_y: String,
}

/// A line of a box.
#[derive(Debug, Clone, Serialize)]
pub struct BoxLine {
    /// Words.
    pub text: String,
    /// Left edge.
    pub x: String,
    /// Baseline.
    pub y: String,
}

/// A line from a part up to one that waits for it.
#[derive(Debug, Clone, Serialize)]
pub struct Line {
    /// Path of the line.
    pub path: String,
    /// Whether this wait sets the finish.
    pub chain: bool,
    /// Whether it waits for a step only.
    pub partly: bool,
}

/// One band of a build that is too large to draw part by part.
#[derive(Debug, Clone, Serialize)]
pub struct Band {
    /// Which levels.
    pub levels: String,
    /// Parts in it.
    pub parts: usize,
    /// How many in each standing, in the order of the legend.
    pub counts: Vec<usize>,
    /// The bar, piece by piece.
    pub pieces: Vec<BandPiece>,
}

/// A piece of a band's bar.
#[derive(Debug, Clone, Serialize)]
pub struct BandPiece {
    /// Name of the mark and class.
    pub mark: &'static str,
    /// Left edge in a hundred parts.
    pub x: String,
    /// Width in a hundred parts.
    pub width: String,
}

const BOX: (f64, f64) = (152.0, 46.0);
const GAP: (f64, f64) = (16.0, 44.0);
const EDGE: f64 = 14.0;
const LETTERS: usize = 16;

fn px(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}

/// Rank of each part: when its last step comes in the order of work.
fn ranks(build: &Build, plan: &Plan) -> Vec<usize> {
    let mut last = vec![0; build.parts.len()];
    for (place, task) in plan.order.iter().enumerate() {
        if let Subject::Part(i) = plan.tasks[*task].subject {
            last[i] = place;
        }
    }
    let mut order: Vec<usize> = (0..build.parts.len()).collect();
    order.sort_by_key(|i| (last[*i], *i));
    let mut rank = vec![0; order.len()];
    for (r, i) in order.into_iter().enumerate() {
        rank[i] = r;
    }
    rank
}

/// Pairs of parts, the one waited for first by rank, each with whether it is for a step only.
fn waits(build: &Build, rank: &[usize]) -> Vec<(usize, usize, bool)> {
    let mut pairs: Vec<(usize, usize, bool)> = Vec::new();
    for (i, part) in build.parts.iter().enumerate() {
        for need in part.needs.iter().filter(|n| n.part != i) {
            let partly = build.parts[need.part].steps().last() != Some(&need.step);
            let (a, b) = (rank[need.part], rank[i]);
            pairs.push((a.min(b), a.max(b), partly));
        }
    }
    pairs.sort_unstable();
    // A whole need says all that a partial one does.
    pairs.dedup_by_key(|p| (p.0, p.1));
    pairs
}

/// Pairs of parts, the one waited for first, where the wait for its work sets the finish: by the
/// plan; without one, those next to each other on the longest chain.
fn waits_that_set_the_finish(plan: &Plan) -> BTreeSet<(usize, usize)> {
    let both = |a, b| match (a, b) {
        (Subject::Part(a), Subject::Part(b)) if a != b => Some((a, b)),
        _ => None,
    };
    let jobs = &plan.schedule.jobs;
    if jobs.is_empty() {
        let pairs = plan.chain.windows(2);
        let subject = |n: usize| plan.tasks[n].subject;
        return pairs.filter_map(|w| both(subject(w[0]), subject(w[1]))).collect();
    }
    let waits = jobs.iter().filter(|j| j.critical).filter_map(|j| match j.waited {
        Waited::Job(before) => both(jobs[before].subject, j.subject),
        _ => None,
    });
    waits.collect()
}

/// Draws the parts of a build.
pub(super) fn draw(build: &Build, plan: &Plan) -> Drawing {
    let rank = ranks(build, plan);
    let pairs = waits(build, &rank);
    let mut by_rank = vec![0; rank.len()];
    for (i, r) in rank.iter().enumerate() {
        by_rank[*r] = i;
    }
    let edges: Vec<(usize, usize)> = pairs.iter().map(|p| (p.0, p.1)).collect();
    let partly: BTreeSet<(usize, usize)> =
        pairs.iter().filter(|p| p.2).map(|p| (p.0, p.1)).collect();
    let tied: BTreeSet<usize> = edges.iter().flat_map(|(a, b)| [*a, *b]).collect();
    let tied: Vec<usize> = tied.into_iter().collect();
    let number = |r: usize| tied.binary_search(&r).unwrap_or(0);
    let inner: Vec<(usize, usize)> = edges.iter().map(|(a, b)| (number(*a), number(*b))).collect();
    let inner = reduce(tied.len(), &inner);
    let in_row = if tied.len() > 100 { 9 } else { 6 };
    let widths = Widths { node: BOX.0 + GAP.0, line: 12.0, in_row };
    let placed = place(tied.len(), &inner, widths);
    let step = BOX.1 + GAP.1;
    let top = |row: usize| EDGE + row as f64 * step;

    let chain = waits_that_set_the_finish(plan);
    let parts_of = |t: usize| match plan.tasks[t].subject {
        Subject::Part(i) => vec![i],
        Subject::Pattern(i) => {
            let uses = |p: &usize| build.parts[*p].casting.as_ref().is_some_and(|c| c.pattern == i);
            (0..build.parts.len()).filter(uses).collect()
        }
    };
    let now: BTreeSet<usize> = first_ready(plan).flat_map(parts_of).collect();
    let boxed = |part: usize, x: f64, y: f64| {
        let given = &build.parts[part].given;
        let words = in_two(&plain(&given.name));
        let first = if words.len() == 1 { y + 27.5 } else { y + 20.0 };
        let line = |(i, text): (usize, String)| BoxLine {
            text,
            x: px(x + 34.0),
            y: px(first + i as f64 * 15.0),
        };
        let standing = plan.standings[part];
        PartBox {
            part,
            name: plain(&given.name),
            words: words.into_iter().enumerate().map(line).collect(),
            standing: standing.word(),
            mark: mark(standing),
            now: now.contains(&part) || standing == Standing::Redo,
            x: px(x),
            y: px(y),
            mark_x: px(x + 9.0),
            mark_y: px(y + 14.0),
        }
    };
    let left = |middle: f64| EDGE + middle - BOX.0 / 2.0 - GAP.0 / 2.0;
    let mut boxes: Vec<PartBox> = (0..tied.len())
        .map(|n| boxed(by_rank[tied[n]], left(placed.across[n]), top(placed.row[n])))
        .collect();
    let lines = placed.lines.iter().zip(&inner).map(|(points, (a, b))| {
        let (low, high) = (tied[*a], tied[*b]);
        Line {
            path: path(points, top),
            chain: chain.contains(&(by_rank[low], by_rank[high])),
            partly: partly.contains(&(low, high)),
        }
    });
    let lines = lines.collect();
    let points = placed.lines.iter().flatten().map(|p| p.0);
    let middles = placed.across.iter().map(|x| x + widths.node / 2.0);
    let widest = middles.chain(points).fold(0.0, f64::max);
    let mut height = top(placed.rows) - GAP.1 + EDGE;

    // Parts that nothing ties to the rest stand in rows of their own.
    let alone: Vec<usize> =
        (0..rank.len()).filter(|r| tied.binary_search(r).is_err()).map(|r| by_rank[r]).collect();
    let columns = ((widest / widths.node).floor() as usize).clamp(4, in_row.max(4));
    let alone_rule = (!alone.is_empty() && !tied.is_empty()).then(|| px(height + 6.0));
    if !alone.is_empty() {
        let start = if tied.is_empty() { EDGE } else { height + 34.0 };
        for (i, part) in alone.iter().enumerate() {
            let x = EDGE + (i % columns) as f64 * widths.node;
            let y = start + (i / columns) as f64 * (BOX.1 + 14.0);
            boxes.push(boxed(*part, x, y));
        }
        height = start + alone.len().div_ceil(columns) as f64 * (BOX.1 + 14.0) - 14.0 + EDGE;
    }
    let needed = if alone.is_empty() { 0.0 } else { columns.min(alone.len()) as f64 * widths.node };
    let width = widest.max(needed) - GAP.0 + 2.0 * EDGE;
    boxes.sort_by_key(|b| rank[b.part]);
    Drawing {
        width: px(width.max(BOX.0 + 2.0 * EDGE)),
        height: px(height),
        boxes,
        lines,
        alone: alone.len(),
        alone_rule,
    }
}

/// A smooth line up through its points.
fn path(points: &[(f64, usize)], top: impl Fn(usize) -> f64) -> String {
    let last = points.len().saturating_sub(1);
    let x = |p: &(f64, usize)| EDGE + p.0 - GAP.0 / 2.0;
    let mut out = String::new();
    for (i, pair) in points.windows(2).enumerate() {
        let (from, to) = (x(&pair[0]), x(&pair[1]));
        // A box is left at its top and reached at its bottom; between, a line passes its row.
        let start = top(pair[0].1);
        let end = top(pair[1].1) + BOX.1;
        if i == 0 {
            out.push_str(&format!("M{} {}", px(from), px(start)));
        }
        let bend = (start - end) / 2.0;
        out.push_str(&format!(
            "C{} {} {} {} {} {}",
            px(from),
            px(start - bend),
            px(to),
            px(end + bend),
            px(to),
            px(end)
        ));
        if i + 1 < last {
            out.push_str(&format!("V{}", px(top(pair[1].1))));
        }
    }
    out
}

/// A name in one or two lines that fit a box.
fn in_two(name: &str) -> Vec<String> {
    let cut = |text: &str| {
        if text.chars().count() <= LETTERS {
            return text.to_owned();
        }
        let mut short: String = text.chars().take(LETTERS - 1).collect();
        short.truncate(short.trim_end().len());
        short.push('\u{2026}');
        short
    };
    let mut lines = vec![String::new()];
    for word in name.split_whitespace() {
        let full = lines.len() == 2;
        let Some(line) = lines.last_mut() else { break };
        if line.is_empty() {
            line.push_str(word);
        } else if full || line.chars().count() + 1 + word.chars().count() <= LETTERS {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines.iter().map(|l| cut(l)).collect()
}

/// Most bands that a large build is drawn in.
const BANDS: usize = 40;

/// A large build by levels of waiting: how many parts of each level stand where.
pub(super) fn bands(build: &Build, plan: &Plan) -> Vec<Band> {
    let rank = ranks(build, plan);
    let mut pairs = waits(build, &rank);
    pairs.sort_unstable_by_key(|p| p.1);
    let mut level = vec![0_usize; rank.len()];
    for (a, b, _) in pairs {
        level[b] = level[b].max(level[a] + 1);
    }
    let levels = level.iter().max().map_or(0, |l| l + 1);
    let each = levels.div_ceil(BANDS).max(1);
    let mut counts = vec![vec![0_usize; STANDINGS.len()]; levels.div_ceil(each)];
    for (i, r) in rank.iter().enumerate() {
        let place = STANDINGS.iter().position(|s| *s == plan.standings[i]).unwrap_or(0);
        counts[level[*r] / each][place] += 1;
    }
    let most = counts.iter().map(|c| c.iter().sum::<usize>()).max().unwrap_or(1).max(1) as f64;
    let bands = counts.into_iter().enumerate().map(|(i, counts)| {
        let (first, last) = (i * each + 1, ((i + 1) * each).min(levels));
        let mut at = 0.0;
        let piece = |(n, standing): (&usize, Standing)| {
            let width = *n as f64 / most * 100.0;
            at += width;
            BandPiece {
                mark: mark(standing),
                x: format!("{:.2}", at - width),
                width: format!("{width:.2}"),
            }
        };
        Band {
            levels: if first == last { first.to_string() } else { format!("{first} to {last}") },
            parts: counts.iter().sum(),
            pieces: counts.iter().zip(STANDINGS).filter(|(n, _)| **n > 0).map(piece).collect(),
            counts,
        }
    });
    bands.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_fit_their_box() {
        assert_eq!(in_two("Base"), ["Base"]);
        assert_eq!(in_two("Column cheek, left"), ["Column cheek,", "left"]);
        for name in ["x".repeat(300), "a b c ".repeat(40)] {
            assert!(in_two(&name).iter().all(|l| l.chars().count() <= LETTERS));
        }
    }
}
