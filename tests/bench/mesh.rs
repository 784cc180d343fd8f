//! How long a mesh of a million triangles takes: read, measured and checked; beside trimesh where
//! POURWRIGHT_PYTHON names a Python that has it.

use pourwright::shape::mesh::{measure, read};
use std::f64::consts::TAU;
use std::io::Write;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

const AROUND: usize = 1000;
const ACROSS: usize = 500;
const RUNS: usize = 5;

/// A ring, binary STL, millimetres: two triangles for each of its facets.
fn ring(path: &Path) -> std::io::Result<()> {
    let at = |i: usize, j: usize| {
        let (sin, cos) = (TAU * (i % AROUND) as f64 / AROUND as f64).sin_cos();
        let (up, out) = (TAU * (j % ACROSS) as f64 / ACROSS as f64).sin_cos();
        let reach = 50.0 + 15.0 * out;
        [(reach * cos) as f32, (reach * sin) as f32, (15.0 * up) as f32]
    };
    let mut file = std::io::BufWriter::new(std::fs::File::create(path)?);
    file.write_all(&[b' '; 80])?;
    file.write_all(&(2 * AROUND as u32 * ACROSS as u32).to_le_bytes())?;
    for i in 0..AROUND {
        for j in 0..ACROSS {
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            for triangle in [[a, b, c], [a, c, d]] {
                file.write_all(&[0; 12])?;
                for value in triangle.iter().flatten() {
                    file.write_all(&value.to_le_bytes())?;
                }
                file.write_all(&[0; 2])?;
            }
        }
    }
    file.flush()
}

fn middle(mut seconds: Vec<f64>) -> f64 {
    seconds.sort_by(f64::total_cmp);
    seconds[seconds.len() / 2]
}

const TRIMESH: &str = "
import sys, time, trimesh
runs = []
for _ in range(int(sys.argv[2])):
    start = time.perf_counter()
    mesh = trimesh.load(sys.argv[1], force='mesh')
    found = (mesh.volume, mesh.area, mesh.is_watertight)
    runs.append(time.perf_counter() - start)
print(sorted(runs)[len(runs) // 2], found[0], found[1], int(found[2]))
";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let place = tempfile::tempdir()?;
    let path = place.path().join("ring.stl");
    ring(&path)?;
    let (mut reading, mut measuring, mut both) = (vec![], vec![], vec![]);
    let mut found = None;
    for _ in 0..RUNS {
        let start = Instant::now();
        let mesh = read(&path, Some(1.0))?;
        let read = start.elapsed().as_secs_f64();
        found = Some(measure(&mesh));
        let whole = start.elapsed().as_secs_f64();
        reading.push(read);
        measuring.push(whole - read);
        both.push(whole);
    }
    let found = found.ok_or("no run")?;
    assert!(found.watertight && found.doubts.is_empty(), "{:?}", found.doubts);
    let ours = middle(both);
    println!(
        "mesh: {} triangles: read {:.3} s, measured and checked {:.3} s, together {ours:.3} s",
        found.triangles,
        middle(reading),
        middle(measuring)
    );
    let Some(python) = std::env::var_os("POURWRIGHT_PYTHON") else {
        println!("left out: mesh against trimesh: POURWRIGHT_PYTHON is not set");
        return Ok(());
    };
    let out =
        Command::new(python).args(["-c", TRIMESH]).arg(&path).arg(RUNS.to_string()).output()?;
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let said = String::from_utf8(out.stdout)?;
    let told: Vec<f64> = said.split_whitespace().map(str::parse).collect::<Result<_, _>>()?;
    let [theirs, volume, surface, closed] = told[..] else { return Err(said.into()) };
    assert!((found.volume / volume - 1.0).abs() < 1e-6, "{} {volume}", found.volume);
    assert!((found.surface / surface - 1.0).abs() < 1e-6, "{} {surface}", found.surface);
    assert!(closed == 1.0, "trimesh finds it open");
    println!("mesh: trimesh {theirs:.3} s, {:.1} times as long", theirs / ours);
    Ok(())
}
