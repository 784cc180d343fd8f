use super::{Common, Done, json, load, shells, terminal};
use crate::view::Head;
use crate::view::heat::HeatDetail;
use crate::view::schedule::{HeatView, ScheduleView};
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `heats`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright heats --build demo
      every melt to come
  pourwright heats H12 --build demo
      one of them, mould by mould")]
pub struct Args {
    /// Name of a heat of the plan (default: all)
    #[arg(add = ArgValueCandidates::new(shells::heats))]
    heat: Option<String>,
}

/// The heats to come, as JSON.
#[derive(serde::Serialize)]
struct HeatsView {
    #[serde(flatten)]
    head: Head,
    heats: Vec<HeatView>,
}

/// `heats`: the melts to come.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::planned(common, None)?;
    let look = terminal::look(common);
    if let Some(name) = &args.heat {
        let pour = load::heat(&all, name)?;
        let view = HeatDetail::new(&all.build, &all.estimates, &pour);
        return if common.json { json(&view) } else { Ok(view.text(&look)) };
    }
    let head = Head::new(&all.build);
    let view = ScheduleView::new(&all.build, &all.plan.schedule);
    if common.json {
        return json(&HeatsView { head, heats: view.heats });
    }
    let mut out = head.text(&look);
    out += "\n";
    out += &view.heats_text(&look);
    out += "\n";
    out += &view.summary_text(&look);
    Ok(out)
}
