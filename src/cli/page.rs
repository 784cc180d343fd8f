//! The page of the report, made of all that is known of a build.

use super::{Common, Stop, load, photos};
use crate::job::{self, Planned};
use crate::supply::Wish;
use crate::view::report::{Extras, report_with};

/// Builds with more steps are not replayed for the report; `risk` does it.
const MOST_REPLAYED: usize = 1000;

/// The page, and what it could not show, in words.
pub fn page(common: &Common, all: &Planned) -> Result<(String, Vec<String>), Stop> {
    let (photos, refused) = photos::photos(common, &all.build);
    let risk =
        (all.plan.tasks.len() <= MOST_REPLAYED).then(|| load::usual_risk(all).ok()).flatten();
    let bill = match &risk {
        Some(risk) => job::supply_surely(all, risk),
        None => job::supply(all),
    };
    let purchases = job::purchases(all, &bill, Wish::default());
    let extras = Extras { photos, risk, learned: all.learned.clone(), purchases };
    let html = report_with(&all.build, &all.estimates, &all.plan, &bill, &extras);
    Ok((html.map_err(Stop::fault)?, refused))
}
