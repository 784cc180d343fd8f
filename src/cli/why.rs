use super::{Common, Done, Stop, json, load, named, shells, terminal};
use crate::figure::Node;
use crate::view::FigureView;
use crate::view::text::{Side, finished};
use crate::view::why::{Askable, WhyView};
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `why`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright why base --build demo
      all its figures
  pourwright why base charge --build demo
      its charge, two levels down
  pourwright why base charge --depth 12 --build demo
      down to the sources
  pourwright why sand buy --build demo
      a line of the bill
  pourwright why H12 before-pour --build demo
      how long a heat takes until its first pour
  pourwright why A356 sure --build demo
      with castings made again
  pourwright why build hours-left --build demo
      a figure of the whole build")]
pub struct Args {
    /// A part by id or name, a pattern, a heat, a material of the bill, or `build`
    #[arg(add = ArgValueCandidates::new(shells::parts))]
    of: String,
    /// The figure (default: list those there are)
    #[arg(add = ArgValueCandidates::new(shells::figures))]
    figure: Option<String>,
    /// Levels to show
    #[arg(long, default_value_t = 2)]
    depth: usize,
}

/// A figure that can be asked for.
#[derive(serde::Serialize)]
struct AskRow {
    ask: String,
    #[serde(flatten)]
    figure: FigureView,
}

/// `why`: the derivation of a figure.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::planned(common, None)?;
    let look = terminal::look(common);
    let bill = load::supplied(&all, args.figure.as_deref() == Some("sure"))?;
    let ask = Askable::new(&all.build, &all.estimates, &all.plan, &bill);
    let of = match ask.names(&args.of) {
        Ok(_) => args.of.clone(),
        Err(_) => named::id(&all.build, &args.of),
    };
    let Some(name) = &args.figure else {
        let names = ask.names(&of).map_err(Stop::usage)?;
        let mut table =
            look.table(&[("ask", Side::Left), ("figure", Side::Left), ("likely", Side::Right)]);
        let view = |node: &Node| FigureView::new(node, all.build.header.units);
        if common.json {
            let row =
                |(ask, node): &(String, Node)| AskRow { ask: ask.clone(), figure: view(node) };
            return json(&names.iter().map(row).collect::<Vec<_>>());
        }
        for (name, node) in names {
            let view = view(node);
            table.add_row(vec![name.clone(), view.name, view.shown]);
        }
        return Ok(finished(&table));
    };
    let node = ask.figure(&of, name).map_err(Stop::usage)?;
    let view = WhyView::new(node, &all.build);
    if common.json { json(&view) } else { Ok(view.text(&look, args.depth)) }
}
