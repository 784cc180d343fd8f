use super::{Common, Done, json, load, terminal};
use crate::view::learned::LearnedView;

/// `learned`: what the journal teaches.
pub fn run(common: &Common) -> Done {
    let all = load::estimated(common)?;
    let view = LearnedView::new(&all.build, &all.learned);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
