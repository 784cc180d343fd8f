//! How long the commands take: the example builds, and generated ones of 500 to 5,000 parts.
//!
//! `cargo bench --bench speed` prints the table: the median of several runs of the whole
//! process, and, where GNU time is at hand, the most memory it held.

use std::path::Path;
use std::process::Command;
use std::time::Instant;

const RUNS: usize = 7;

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Median milliseconds and peak megabytes of a command.
fn measure(folder: &Path, command: &[&str]) -> (f64, Option<f64>) {
    let program = env!("CARGO_BIN_EXE_pourwright");
    let build = folder.to_str().expect("a path");
    let run = || {
        let start = Instant::now();
        let out = Command::new(program).args(command).args(["--build", build]).output();
        let out = out.expect("it runs");
        assert!(out.status.success(), "{command:?}: {}", String::from_utf8_lossy(&out.stderr));
        start.elapsed().as_secs_f64() * 1e3
    };
    run();
    let time = median((0..RUNS).map(|_| run()).collect());
    let memory = Command::new("/usr/bin/time")
        .args(["-f", "%M", program])
        .args(command)
        .args(["--build", build])
        .output()
        .ok()
        .and_then(|o| String::from_utf8(o.stderr).ok()?.trim().parse::<f64>().ok())
        .map(|kilobytes| kilobytes / 1024.0);
    (time, memory)
}

/// A build of this many parts: castings in three alloys on shared patterns, each fitted after
/// the one before its group's first.
fn generated(parts: usize) -> String {
    let shop = include_str!("../../projects/surface-grinder/build.yaml");
    let shop =
        &shop[shop.find("\nshop:").expect("shop")..shop.find("\npatterns:").expect("patterns")];
    let mut text = String::from("build: {title: Generated, begun: 2026-01-01}\n");
    text += shop;
    text += "\npatterns:\n";
    let patterns = parts.div_ceil(3);
    for i in 0..patterns {
        let (l, w, d) = (160 + i % 120, 70 + i % 90, 24 + i % 40);
        text += &format!(
            "  pattern-{i}: {{made-of: wood, size: {l} x {w} x {d} mm, cavities: {}}}\n",
            1 + i % 2
        );
    }
    text += "\nparts:\n";
    for i in 0..parts {
        text += &format!("  part-{i}:\n    name: Part {i}\n");
        if i % 5 == 4 {
            text += "    bought: {price: 12.50, delivery: 7 d}\n";
        } else {
            let alloy = ["A356", "ZA-12", "C905"][i % 3];
            text += &format!(
                "    casting:\n      pattern: pattern-{}\n      alloy: {alloy}\n      wall: 8 mm\n      machined: 40 cm2\n      shape:\n        add:\n          - plate: {{length: 70 mm, width: 50 mm, thickness: 10 mm}}\n          - cylinder: {{diameter: 30 mm, length: 20 mm}}\n            count: 2\n        less:\n          - cylinder: {{diameter: 12 mm, length: 30 mm}}\n",
                i / 3
            );
        }
        if i % 10 != 0 {
            text += &format!("    needs: [part-{}]\n", i / 10 * 10);
        } else if i > 0 {
            text += &format!("    needs: [{{part: part-{}, before: fit}}]\n", i - 10);
        }
    }
    text
}

/// Suppliers of a generated market: each sells packs of several sizes with price breaks.
fn market(suppliers: usize, packs: usize) -> String {
    let stocks = ["A356", "ZA-12", "C905", "C932", "bentonite", "sea-coal", "propane"];
    let mut text = String::from("\nsuppliers:\n");
    for s in 0..suppliers {
        text += &format!(
            "  supplier-{s}:\n    delivery-charge: {}.50\n    delivery: 5 d\n    packs:\n",
            6 + 5 * s
        );
        for i in (s..packs).step_by(suppliers) {
            let of = stocks[i % stocks.len()];
            let size = [2.0, 5.0, 11.34, 10.0, 0.5, 4.536][i % 6];
            let price = size * (4.0 + (i * 7 % 11) as f64 / 5.0) + 1.5;
            text += &format!(
                "      - {{of: {of}, size: {size} kg, price: {price:.2}, breaks: {{3: {:.2}, 8: {:.2}}}}}\n",
                price * 0.94,
                price * 0.89
            );
        }
    }
    text
}

/// The commands of the stock on the demo, with its plan in force.
fn stock(folder: &Path) {
    let here = folder.join("stock");
    std::fs::create_dir(&here).expect("a folder");
    for name in ["build.yaml", "journal.yaml"] {
        std::fs::copy(format!("demo/{name}"), here.join(name)).expect("a copy");
    }
    // The plan is made once, and what was frozen with it.
    measure(&here, &["plan"]);
    let commands: [&[&str]; 5] = [
        &["bill"],
        &["buy"],
        &["charge", "A356", "8kg", "--count", "sold"],
        &["stock"],
        &["check"],
    ];
    println!("\nmedian ms on the demo, its plan in force; `check` does little but read it");
    for command in commands {
        println!("{:<24} {:>9.1}", command[0], measure(&here, command).0);
    }
}

/// `charge` of twenty metals in whole pieces, and how far from the cheapest it may be.
fn pieces(folder: &Path) {
    let here = folder.join("pieces");
    std::fs::create_dir(&here).expect("a folder");
    let mut text = String::from(
        "build: {title: Pieces, begun: 2026-01-01}\nshop:\n  crucibles: {pot: {holds: 5 L, working-fill: 80 %}}\nparts: {motor: {bought: {price: 1.00}}}\nmetals:\n",
    );
    for i in 0..20 {
        let n = f64::from(i);
        let (si, mg, fe) =
            (6.0 + n * 7.0 % 19.0 / 8.0, 0.2 + n * 5.0 % 11.0 / 40.0, 0.05 + n % 7.0 / 60.0);
        let (price, piece) = (1.5 + n * 13.0 % 23.0 / 5.0, 0.3 + n * 11.0 % 17.0 / 10.0);
        text += &format!(
            "  metal-{i}: {{composition: {{Si: {si:.2} %, Mg: {mg:.3} %, Fe: {fe:.3} %}}, balance: Al, price: {price:.2}, piece: {piece:.2} kg, amount: 6 kg}}\n"
        );
    }
    std::fs::write(here.join("build.yaml"), text).expect("written");
    let charge = ["charge", "A356", "9kg"];
    let (time, _) = measure(&here, &charge);
    let out = Command::new(env!("CARGO_BIN_EXE_pourwright"))
        .args(charge)
        .args(["--json", "--build"])
        .arg(&here)
        .output()
        .expect("it runs");
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    println!(
        "\n{:<24} {time:>9.1}   possible {}, gap {}",
        "20 metals in pieces", json["possible"], json["gap"]
    );
}

/// `buy` for a machine of 67 parts on a generated market.
fn buying(folder: &Path) {
    let here = folder.join("market");
    std::fs::create_dir(&here).expect("a folder");
    let grinder = include_str!("../../projects/surface-grinder/build.yaml");
    let grinder = &grinder[..grinder.find("\nconsumables:").expect("consumables")];
    println!("\n{:<24} {:>9} {:>9}   cheapest?", "median ms of buy", "likely", "sure");
    for (suppliers, packs) in [(4, 30), (8, 60)] {
        std::fs::write(here.join("build.yaml"), grinder.to_owned() + &market(suppliers, packs))
            .expect("written");
        let (likely, _) = measure(&here, &["buy"]);
        let (sure, _) = measure(&here, &["buy", "--sure"]);
        let out = Command::new(env!("CARGO_BIN_EXE_pourwright"))
            .args(["buy", "--sure", "--json", "--build"])
            .arg(&here)
            .output()
            .expect("it runs");
        let json: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
        let gap = json["purchases"][0]["gap"].as_f64().expect("a gap");
        let gap =
            if gap == 0.0 { "proven".to_owned() } else { format!("gap {:.2} %", gap * 100.0) };
        println!(
            "{:<24} {likely:>9.1} {sure:>9.1}   {gap}",
            format!("{suppliers} suppliers, {packs} packs")
        );
    }
}

fn main() {
    // `cargo test --benches` asks only whether it starts.
    if std::env::args().any(|a| a == "--test") {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let commands: [&[&str]; 6] = [
        &["check"],
        &["parts"],
        &["estimate"],
        &["plan"],
        &["bill"],
        &["report", "--out", "/dev/null"],
    ];
    println!(
        "{:<24} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}   peak of report",
        "median ms", "check", "parts", "estimate", "plan", "bill", "report"
    );
    let row = |name: &str, folder: &Path| {
        print!("{name:<24}");
        let mut peak = None;
        for command in commands {
            let mut args = command.to_vec();
            let out = folder.join("report.html");
            if args[0] == "report" {
                args[2] = out.to_str().expect("a path");
            }
            let (time, memory) = measure(folder, &args);
            print!(" {time:>9.1}");
            peak = memory;
        }
        println!("   {}", peak.map_or("not measured".into(), |m| format!("{m:.0} MB")));
    };
    for name in ["bench-shaper", "surface-grinder"] {
        let here = folder.path().join(name);
        std::fs::create_dir(&here).expect("a folder");
        std::fs::copy(format!("projects/{name}/build.yaml"), here.join("build.yaml"))
            .expect("a copy");
        row(name, &here);
    }
    for parts in [500, 1000, 2500, 5000] {
        let here = folder.path().join(parts.to_string());
        std::fs::create_dir(&here).expect("a folder");
        std::fs::write(here.join("build.yaml"), generated(parts)).expect("written");
        row(&format!("{parts} parts"), &here);
    }
    stock(folder.path());
    pieces(folder.path());
    buying(folder.path());
}
