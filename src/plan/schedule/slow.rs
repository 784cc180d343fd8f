//! Heats that take longer to melt than the plan gives them.

use super::record::{PlannedHeat, Schedule};
use crate::estimate::Estimates;
use crate::figure::{Figure, Kind, Time, show, show_spanned};
use crate::model::Build;
use crate::plan::calendar::Minute;

/// Heats whose metal takes longer to melt, by the power of the furnace, than the minutes that the plan
/// gives every melt: furnace by furnace, in words.
pub(crate) fn slow(
    build: &Build,
    estimates: &Estimates,
    schedule: &Schedule,
    melt: Minute,
) -> Vec<String> {
    let units = build.header.units;
    let given = melt as f64 * 60.0;
    let time = |heat: &PlannedHeat| {
        time_to_melt(build, estimates, heat.moulds.iter().map(|m| schedule.moulds[*m].lots()))
    };
    let told = |heat: &PlannedHeat| {
        let range = time(heat)?.node().range();
        let (likely, span) = show_spanned(Kind::Time, range, units);
        let span = span.map_or(String::new(), |span| format!(" ({span})"));
        (range.likely > given).then(|| format!("{} {likely}{span}", heat.name))
    };
    let says = |furnace: &crate::manifest::Id| {
        let heats = schedule.heats.iter().filter(|heat| heat.furnace == *furnace);
        let told: Vec<String> = heats.filter_map(told).collect();
        (!told.is_empty()).then(|| {
            format!(
                "by the power of {furnace}, once it is warm, these take longer to melt than the {} \
                 that the plan gives each: {}. Begin so much sooner, or pour them on a longer day",
                show(Kind::Time, given, units),
                told.join(", ")
            )
        })
    };
    build.shop.furnaces.keys().filter_map(says).collect()
}

/// How long the metal of moulds with these castings takes to melt by the power of the furnace, once it
/// is warm; none where that is not known of all.
pub(super) fn time_to_melt(
    build: &Build,
    estimates: &Estimates,
    moulds: impl Iterator<Item = Vec<(usize, u32)>>,
) -> Option<Figure<Time>> {
    let times = moulds.map(|lots| estimates.mould(build, &lots)?.melt_time.clone());
    Figure::sum("time to melt", &times.collect::<Option<Vec<_>>>()?)
}
