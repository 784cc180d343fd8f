use super::{Common, Done, Stop, files, json, load, named, shells, terminal};
use crate::figure::{Kind, show};
use crate::model::Printed;
use crate::view::text::{Side, finished};
use clap_complete::engine::ArgValueCandidates;
use serde::Serialize;
use std::path::PathBuf;

/// Arguments of `pattern`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright pattern bull-gear --build demo
  pourwright pattern bull-gear --split --out prints --build demo

Binary STL in millimetres; --split cuts it in halves, --out names the folder.
Stock and contraction are in, prints for dry cores are on, holes that are
drilled are solid. Draft is not in: taper the faces along the draw by hand.")]
pub struct Args {
    /// A part that is cast
    #[arg(add = ArgValueCandidates::new(shells::parts))]
    part: String,
    /// In halves, cut where the mould parts
    #[arg(long)]
    split: bool,
    /// Folder to write into; it is made if it is not there (default: the build's)
    #[arg(short, long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    #[command(flatten)]
    force: files::Force,
}

/// One file that was written.
#[derive(Debug, Serialize)]
struct Written {
    file: String,
    /// How many to print.
    count: u32,
    /// m3.
    volume: f64,
    /// Lengths along x, y and z, m.
    extents: [f64; 3],
    triangles: usize,
}

/// `pattern`: the pattern of a casting and its core boxes, for a printer.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::estimated(common)?;
    let (build, id) = (&all.build, &args.part);
    let at = named::part(build, id)?;
    let casting = build.parts[at].casting.as_ref();
    let casting = casting.ok_or_else(|| Stop::Usage(format!("`{id}` is not cast")))?;
    let on = &build.patterns[casting.pattern];
    let printed = casting
        .printed(on, args.split)
        .map_err(|why| Stop::Fault(format!("no pattern of `{id}` can be drawn: {why}")))?;
    let folder = args.out.clone().unwrap_or_else(|| common.build.clone());
    let fault = |e: std::io::Error| Stop::Fault(format!("{}: {e}", folder.display()));
    std::fs::create_dir_all(&folder).map_err(fault)?;
    let mut written = Vec::new();
    for Printed { name, count, mesh, volume, extents, .. } in printed {
        let file = folder.join(format!("{id}-{name}.stl"));
        let head = format!("<!-- pourwright --> millimetres: {id} {name}");
        files::write(common, &file, &mesh.stl(&head), args.force)?;
        let file = file.display().to_string();
        written.push(Written { file, count, volume, extents, triangles: mesh.triangles.len() });
    }
    if common.json {
        return json(&written);
    }
    let look = terminal::look(common);
    let heads = [
        ("file", Side::Left),
        ("print", Side::Right),
        ("size", Side::Left),
        ("volume", Side::Right),
    ];
    let mut table = look.table(&heads);
    let s = |kind, value| show(kind, value, build.header.units);
    for w in &written {
        let size = w.extents.map(|v| s(Kind::Length, v)).join(" x ");
        table.add_row(vec![w.file.clone(), w.count.to_string(), size, s(Kind::Volume, w.volume)]);
    }
    let says =
        "Stock and contraction are in. Draft is not: taper the faces along the draw by hand.";
    Ok(format!("{}\n{}\n", finished(&table), look.wrapped(says, 0)))
}
