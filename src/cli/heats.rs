use super::{Common, Done, json, load, terminal};
use crate::view::Head;
use crate::view::schedule::{HeatView, ScheduleView};

/// The heats to come, as JSON.
#[derive(serde::Serialize)]
struct HeatsView {
    #[serde(flatten)]
    head: Head,
    heats: Vec<HeatView>,
}

/// `heats`: the melts to come.
pub fn run(common: &Common) -> Done {
    let all = load::planned(common, None)?;
    let head = Head::new(&all.build);
    let view = ScheduleView::new(&all.build, &all.plan.schedule);
    if common.json {
        return json(&HeatsView { head, heats: view.heats });
    }
    let look = terminal::look(common);
    let mut out = head.text();
    out += "\n";
    out += &view.heats_text(&look);
    out += "\n";
    out += &view.summary_text(&look);
    Ok(out)
}
