//! How much later work could end without moving the finish.

use crate::plan::calendar::{Calendar, Minute};
use crate::plan::search::Layout;
use crate::plan::work::Work;

/// Minutes by the clock that each item could end later without moving the finish, with
/// everything in the same order.
pub(crate) fn slack(work: &Work, calendar: &Calendar, layout: &Layout) -> Vec<Minute> {
    let finish = layout.finish();
    let count = work.items.len();
    // What comes next on the same person's bench, and on the same machine.
    let mut next: Vec<[Option<usize>; 2]> = vec![[None; 2]; count];
    let machines = work.items.iter().filter_map(|i| i.machine).max().map_or(0, |m| m + 1);
    let people = calendar.people.len();
    let mut benches = vec![Vec::new(); people + machines];
    for (n, placed) in layout.items.iter().enumerate() {
        if let (Some(first), Some(last)) = (placed.pieces.first(), placed.pieces.last()) {
            benches[first.person].push((first.from, last.to, n));
            if let Some(machine) = work.items[n].machine {
                benches[people + machine].push((first.from, last.to, n));
            }
        }
    }
    for (b, bench) in benches.iter_mut().enumerate() {
        bench.sort_unstable();
        for i in 0..bench.len() {
            let over = bench[i].1;
            let later = bench[i + 1..].iter().find(|(from, _, _)| *from >= over);
            next[bench[i].2][usize::from(b >= people)] = later.map(|l| l.2);
        }
    }
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by_key(|n| (layout.items[*n].start, layout.items[*n].end, *n));
    let mut latest = vec![finish; count];
    for &n in order.iter().rev() {
        let placed = &layout.items[n];
        let wait = placed.ready - placed.end;
        let begin = |a: usize| {
            let minutes = layout.items[a].pieces.iter().map(|p| p.to - p.from).sum();
            calendar.back(latest[a], minutes).unwrap_or(layout.items[a].start)
        };
        let mut end = finish - wait;
        for &a in &work.items[n].after {
            let cool = if work.items[a].step == crate::manifest::Step::ShakeOut {
                work.items[a].wait
            } else {
                0
            };
            end = end.min(begin(a) - wait - cool);
        }
        for a in next[n].into_iter().flatten() {
            end = end.min(begin(a));
        }
        latest[n] = end.max(placed.end);
    }
    (0..count).map(|n| latest[n] - layout.items[n].end).collect()
}
