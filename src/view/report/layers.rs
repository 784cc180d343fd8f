//! A layered drawing of a graph without rings: rows, an order in each row with few crossings,
//! and places across. It knows nothing of foundries.

/// Where things go. Row 0 is at the top; what comes first lies lowest.
#[derive(Debug, Default)]
pub(super) struct Placed {
    /// Row of each node.
    pub row: Vec<usize>,
    /// Place across of each node's middle.
    pub across: Vec<f64>,
    /// How many rows there are.
    pub rows: usize,
    /// Points of each edge, from the lower node to the upper: place across and row.
    pub lines: Vec<Vec<(f64, usize)>>,
}

/// Widths that a drawing is made with.
#[derive(Debug, Clone, Copy)]
pub(super) struct Widths {
    /// Of a node with the gap beside it.
    pub node: f64,
    /// Of a line that passes through a row.
    pub line: f64,
    /// Most nodes in a row.
    pub in_row: usize,
}

const SWEEPS: usize = 14;

/// Removes edges that follow from others. `edges` go from a lower number to a higher one.
pub(super) fn reduce(nodes: usize, edges: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let words = nodes.div_ceil(64);
    let mut under = vec![vec![0_u64; words]; nodes];
    let mut from = vec![Vec::new(); nodes];
    for &(a, b) in edges {
        from[b].push(a);
    }
    let mut kept = Vec::new();
    for b in 0..nodes {
        from[b].sort_unstable_by(|x, y| y.cmp(x));
        from[b].dedup();
        let mut all = vec![0_u64; words];
        for &a in &from[b] {
            if all[a / 64] >> (a % 64) & 1 == 1 {
                continue;
            }
            kept.push((a, b));
            all[a / 64] |= 1 << (a % 64);
            for (word, more) in all.iter_mut().zip(&under[a]) {
                *word |= more;
            }
        }
        under[b] = all;
    }
    kept
}

/// Places nodes; `edges` go from a lower number to a higher one.
pub(super) fn place(nodes: usize, edges: &[(usize, usize)], widths: Widths) -> Placed {
    let row = rows(nodes, edges, widths.in_row.max(1));
    let count = row.iter().max().map_or(0, |r| r + 1);
    let mut sheet = Sheet {
        row: row.clone(),
        order: vec![Vec::new(); count],
        up: vec![Vec::new(); nodes],
        down: vec![Vec::new(); nodes],
        width: vec![widths.node; nodes],
        across: Vec::new(),
    };
    let mut paths = Vec::with_capacity(edges.len());
    for &(low, high) in edges {
        let mut path = vec![low];
        for r in (row[high] + 1..row[low]).rev() {
            path.push(sheet.add(r, widths.line));
        }
        path.push(high);
        for pair in path.windows(2) {
            sheet.up[pair[0]].push(pair[1]);
            sheet.down[pair[1]].push(pair[0]);
        }
        paths.push(path);
    }
    sheet.first_order(nodes);
    sheet.uncross();
    sheet.spread();
    let point = |n: &usize| (sheet.across[*n], sheet.row[*n]);
    Placed {
        across: sheet.across[..nodes].to_vec(),
        rows: count,
        lines: paths.iter().map(|p| p.iter().map(point).collect()).collect(),
        row,
    }
}

/// Rows with no more than so many nodes in each; a node lies close to what it serves.
fn rows(nodes: usize, edges: &[(usize, usize)], most: usize) -> Vec<usize> {
    let mut above = vec![Vec::new(); nodes];
    let mut below = vec![Vec::new(); nodes];
    for &(a, b) in edges {
        above[a].push(b);
        below[b].push(a);
    }
    let mut held: Vec<usize> = Vec::new();
    let mut row = vec![0; nodes];
    for n in (0..nodes).rev() {
        let mut r = above[n].iter().map(|m| row[*m] + 1).max().unwrap_or(0);
        while held.get(r).is_some_and(|h| *h >= most) {
            r += 1;
        }
        held.resize(held.len().max(r + 1), 0);
        held[r] += 1;
        row[n] = r;
    }
    // What nothing waits for comes down to what it rests on.
    for n in (0..nodes).filter(|n| above[*n].is_empty()) {
        let Some(lowest) = below[n].iter().map(|m| row[*m]).min() else { continue };
        if let Some(r) = (row[n] + 1..lowest).rev().find(|r| held[*r] < most) {
            held[row[n]] -= 1;
            held[r] += 1;
            row[n] = r;
        }
    }
    let filled: Vec<usize> = (0..held.len()).filter(|r| held[*r] > 0).collect();
    row.iter().map(|r| filled.binary_search(r).unwrap_or(0)).collect()
}

struct Sheet {
    row: Vec<usize>,
    order: Vec<Vec<usize>>,
    up: Vec<Vec<usize>>,
    down: Vec<Vec<usize>>,
    width: Vec<f64>,
    across: Vec<f64>,
}

impl Sheet {
    fn add(&mut self, row: usize, width: f64) -> usize {
        self.row.push(row);
        self.up.push(Vec::new());
        self.down.push(Vec::new());
        self.width.push(width);
        self.row.len() - 1
    }

    /// Depth first from the last node, so that what hangs together starts side by side.
    fn first_order(&mut self, nodes: usize) {
        let mut seen = vec![false; self.row.len()];
        for top in (0..nodes).rev() {
            let mut stack = vec![top];
            while let Some(n) = stack.pop() {
                if std::mem::replace(&mut seen[n], true) {
                    continue;
                }
                self.order[self.row[n]].push(n);
                stack.extend(self.down[n].iter().filter(|d| !seen[**d]));
            }
        }
    }

    fn places(&self) -> Vec<usize> {
        let mut place = vec![0; self.row.len()];
        for row in &self.order {
            for (i, n) in row.iter().enumerate() {
                place[*n] = i;
            }
        }
        place
    }

    fn crossings(&self) -> usize {
        let place = self.places();
        let mut sum = 0;
        for row in &self.order {
            let mut seen: Vec<usize> = Vec::new();
            for n in row {
                let mut ends: Vec<usize> = self.down[*n].iter().map(|d| place[*d]).collect();
                ends.sort_unstable();
                for end in &ends {
                    sum += seen.len() - seen.partition_point(|s| s <= end);
                }
                seen.extend(ends);
                seen.sort_unstable();
            }
        }
        sum
    }

    fn uncross(&mut self) {
        let (mut best, mut least) = (self.order.clone(), self.crossings());
        for sweep in 0..SWEEPS {
            let upwards = sweep % 2 == 0;
            let rows: Vec<usize> = match upwards {
                true => (0..self.order.len()).rev().collect(),
                false => (0..self.order.len()).collect(),
            };
            for r in rows {
                let place = self.places();
                let near = if upwards { &self.down } else { &self.up };
                let mut keyed: Vec<(f64, usize)> = self.order[r]
                    .iter()
                    .map(|n| {
                        let ends = &near[*n];
                        let sum: usize = ends.iter().map(|e| place[*e]).sum();
                        let mean = sum as f64 / ends.len() as f64;
                        (if ends.is_empty() { place[*n] as f64 } else { mean }, *n)
                    })
                    .collect();
                keyed.sort_by(|a, b| a.0.total_cmp(&b.0));
                self.order[r] = keyed.into_iter().map(|(_, n)| n).collect();
            }
            let now = self.crossings();
            if now < least {
                (best, least) = (self.order.clone(), now);
            }
            if least == 0 {
                break;
            }
        }
        self.order = best;
    }

    /// Places across: each node as near to the middle of its neighbours as its row allows.
    fn spread(&mut self) {
        self.across = vec![0.0; self.row.len()];
        let widest = self.widest();
        for r in 0..self.order.len() {
            self.settle(r, widest, |_, _| Some(widest / 2.0));
        }
        let middle = |across: &[f64], near: &[usize]| {
            (!near.is_empty())
                .then(|| near.iter().map(|n| across[*n]).sum::<f64>() / near.len() as f64)
        };
        for sweep in 0..SWEEPS {
            for i in 0..self.order.len() {
                match sweep % 3 {
                    0 => self.settle(i, widest, |s, n| middle(&s.across, &s.up[n])),
                    1 => {
                        let r = self.order.len() - 1 - i;
                        self.settle(r, widest, |s, n| middle(&s.across, &s.down[n]));
                    }
                    _ => self.settle(i, widest, |s, n| {
                        let both: Vec<usize> = s.up[n].iter().chain(&s.down[n]).copied().collect();
                        middle(&s.across, &both)
                    }),
                }
            }
        }
        let edge = |n: usize| self.across[n] - self.width[n] / 2.0;
        let left = (0..self.row.len()).map(edge).fold(f64::INFINITY, f64::min);
        for x in &mut self.across {
            *x -= left;
        }
    }

    /// Width of the widest row, which no row leaves.
    fn widest(&self) -> f64 {
        let width = |row: &Vec<usize>| row.iter().map(|n| self.width[*n]).sum::<f64>();
        self.order.iter().map(width).fold(0.0, f64::max)
    }

    /// Least squares with the order kept: blocks that would overlap are moved as one.
    fn settle(&mut self, row: usize, widest: f64, wish: impl Fn(&Self, usize) -> Option<f64>) {
        let nodes = &self.order[row];
        let mut offset = Vec::with_capacity(nodes.len());
        let mut at = 0.0;
        for n in nodes {
            offset.push(at + self.width[*n] / 2.0);
            at += self.width[*n];
        }
        let mut blocks: Vec<(f64, usize)> = Vec::new();
        for (n, offset) in nodes.iter().zip(&offset) {
            let wished = wish(self, *n).unwrap_or(self.across[*n]) - offset;
            let mut block = (wished, 1);
            while let Some(last) = blocks.pop() {
                if last.0 / last.1 as f64 <= block.0 / block.1 as f64 {
                    blocks.push(last);
                    break;
                }
                block = (block.0 + last.0, block.1 + last.1);
            }
            blocks.push(block);
        }
        let shifts = blocks.iter().flat_map(|(sum, n)| std::iter::repeat_n(sum / *n as f64, *n));
        let room = (widest - at).max(0.0);
        let kept = shifts.map(|shift| shift.clamp(0.0, room));
        let places: Vec<f64> = kept.zip(&offset).map(|(shift, offset)| shift + offset).collect();
        let nodes = nodes.clone();
        for (n, x) in nodes.into_iter().zip(places) {
            self.across[n] = x;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIDTHS: Widths = Widths { node: 100.0, line: 10.0, in_row: 3 };

    #[test]
    fn an_edge_that_follows_from_others_is_left_out() {
        assert_eq!(reduce(3, &[(0, 1), (1, 2), (0, 2)]), [(0, 1), (1, 2)]);
        assert_eq!(reduce(70, &[(0, 68), (68, 69), (0, 69)]), [(0, 68), (68, 69)]);
        // Of many nodes none is taken for another.
        let all: Vec<(usize, usize)> = (0..140).rev().map(|a| (a, 140)).collect();
        assert_eq!(reduce(141, &all), all);
    }

    #[test]
    fn what_comes_first_lies_lower_and_nothing_overlaps() {
        let edges: Vec<(usize, usize)> =
            (1..40).flat_map(|b| [(b / 3, b), (b / 2, b)]).filter(|(a, b)| a < b).collect();
        let edges = reduce(40, &edges);
        let placed = place(40, &edges, WIDTHS);
        for (a, b) in &edges {
            assert!(placed.row[*a] > placed.row[*b]);
        }
        for a in 0..40 {
            let row = (0..40).filter(|b| placed.row[*b] == placed.row[a]);
            assert!(row.clone().count() <= 3);
            for b in row.filter(|b| *b != a) {
                assert!((placed.across[a] - placed.across[b]).abs() > 99.9);
            }
        }
        for (line, (a, b)) in placed.lines.iter().zip(&edges) {
            assert_eq!(line.len(), placed.row[*a] - placed.row[*b] + 1);
        }
    }

    #[test]
    fn two_lines_that_need_not_cross_do_not() {
        let placed = place(4, &[(0, 3), (1, 2)], WIDTHS);
        let bottom = placed.across[0] < placed.across[1];
        let top = placed.across[3] < placed.across[2];
        assert_eq!(bottom, top);
    }
}
