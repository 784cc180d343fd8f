use super::{Common, Done, json, load, terminal};
use crate::plan::plan;
use crate::view::parts::PartsView;

/// `parts`: every part and where it stands.
pub fn run(common: &Common) -> Done {
    let all = load::estimated(common)?;
    let plan = plan(&all.build, &all.estimates);
    let view = PartsView::new(&all.build, &all.estimates, &plan);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
