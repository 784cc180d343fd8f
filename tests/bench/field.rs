//! How long a distance field takes, ms, middle of five; beside scipy.ndimage on the same cells
//! where POURWRIGHT_PYTHON names a Python that has it.

use pourwright::shape::squared_distances;
use std::process::Command;
use std::time::Instant;

const RUNS: usize = 5;

/// A ball with a bore, in a cube of cells; the script below fills the same.
fn filled(side: usize) -> Vec<bool> {
    let off = |i: usize| (2 * i + 1).abs_diff(side).pow(2);
    let mut cells = Vec::with_capacity(side.pow(3));
    for x in 0..side {
        for y in 0..side {
            for z in 0..side {
                let bore = off(x) + off(y);
                cells.push(bore + off(z) < (side - 2).pow(2) && 16 * bore > side.pow(2));
            }
        }
    }
    cells
}

const SCIPY: &str = "
import sys, time, numpy
from scipy.ndimage import distance_transform_edt
side, runs = int(sys.argv[1]), int(sys.argv[2])
off = (2 * numpy.arange(side) + 1 - side) ** 2
bore = off[:, None, None] + off[None, :, None]
cells = (bore + off[None, None, :] < (side - 2) ** 2) & (16 * bore > side ** 2)
took = []
for _ in range(runs):
    start = time.perf_counter()
    field = distance_transform_edt(cells)
    took.append(time.perf_counter() - start)
print(1000 * sorted(took)[runs // 2], int(numpy.rint(field ** 2).sum()))
";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for side in [128, 256] {
        let cells = filled(side);
        let mut took = Vec::new();
        let mut sum = 0;
        for _ in 0..RUNS {
            let start = Instant::now();
            let field = squared_distances([side; 3], &cells).ok_or("not a field")?;
            took.push(1000.0 * start.elapsed().as_secs_f64());
            sum = field.into_iter().map(u64::from).sum();
        }
        took.sort_by(f64::total_cmp);
        let ours = took[RUNS / 2];
        println!("field of {side}^3 cells: {ours:.1} ms");
        let Some(python) = std::env::var_os("POURWRIGHT_PYTHON") else { continue };
        let out = Command::new(python)
            .args(["-c", SCIPY, &side.to_string(), &RUNS.to_string()])
            .output()?;
        if !out.status.success() {
            return Err(String::from_utf8_lossy(&out.stderr).into());
        }
        let said = String::from_utf8(out.stdout)?;
        let (theirs, their_sum) = said.trim().split_once(' ').ok_or("two figures")?;
        let theirs: f64 = theirs.parse()?;
        if their_sum.parse::<u64>()? != sum {
            return Err(format!("scipy sums the squares to {their_sum}, not {sum}").into());
        }
        println!("  scipy.ndimage: {theirs:.1} ms, {:.1} times as long", theirs / ours);
    }
    Ok(())
}
