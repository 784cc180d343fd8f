use super::{Common, Done, json, load, terminal};
use crate::view::parts::PartsView;

/// `parts`: every part and where it stands.
pub fn run(common: &Common) -> Done {
    let all = load::all(common)?;
    let view = PartsView::new(&all.build, &all.estimates, &all.plan);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
