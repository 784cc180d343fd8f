//! What a plan depends on, as a hash: by it is seen whether the plan in force is of today's work.

use crate::model::Build;
use crate::plan::calendar::Calendar;
use crate::plan::search::Aim;
use crate::plan::work::{Limits, Work};
use sha2::{Digest, Sha256};

/// A hash of all that a plan depends on.
pub(crate) fn hash(work: &Work, limits: &Limits, calendar: &Calendar, aim: Aim) -> String {
    let mut hash = Sha256::new();
    let mut add = |text: String| hash.update(text.as_bytes());
    for item in &work.items {
        add(format!("{item:?}"));
    }
    for m in &work.moulds {
        add(format!(
            "{} {} {} {:?} {:?} {:?} {} {} {} {} {:?} {:?} {:?} {:?} {:?} {:?}",
            m.part,
            m.nth,
            m.castings,
            m.others,
            m.standing,
            m.flask,
            m.sand,
            m.charge,
            m.charge_most,
            m.alloy,
            m.pots,
            m.melting,
            m.good_until,
            m.keeps,
            m.stands,
            m.items
        ));
    }
    add(format!("{:?} {:?} {limits:?} {aim:?}", work.cooling, work.firing));
    if work.hot_today() > 0 {
        add(format!("{:?}", work.melted));
    }
    // The first windows tell the hours and the day; the rest follow from them and days away.
    add(format!("{calendar:?}"));
    hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

/// A hash of the hours and the equipment of a shop, whatever else has changed.
pub(super) fn of_shop(build: &Build) -> String {
    let shop = &build.shop;
    let people: Vec<_> = shop.people.iter().map(|(id, p)| format!("{id} {p:?}")).collect();
    let text = format!(
        "{people:?} {:?} {:?} {:?} {:?} {:?} {:?} {:?}",
        shop.away,
        shop.pours,
        shop.furnaces,
        shop.crucibles,
        shop.flasks,
        shop.machines,
        shop.pours_from_two
    );
    Sha256::digest(text).iter().map(|b| format!("{b:02x}")).collect()
}
