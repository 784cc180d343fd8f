use super::{Common, Done, json, load, terminal};
use crate::view::bill::BillView;

/// `bill`: what the build takes.
pub fn run(common: &Common) -> Done {
    let all = load::all(common)?;
    let view = BillView::new(&all.build, &all.bill);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
