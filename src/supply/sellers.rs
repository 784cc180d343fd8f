//! Who can bring a material by the day it is needed: the same rule by which the plan waits for it.

use super::market::Offer;
use crate::manifest::{Id, Supplier};
use chrono::NaiveDate;
use indexmap::IndexMap;

/// When a material is needed, and how much of it, mg.
pub(super) type Needed = (Option<NaiveDate>, i64);

/// Of each need, which suppliers it is bought from when it is ordered today: those who are known to
/// bring it by its day ([`Supplier::soonest`]). The plan makes work wait for the one who brings it first,
/// so that there is one. Where what they have is not enough, or none of them can bring it by then, those
/// are asked too who bring it next, until it is enough; those of whom no time is known come last. A need
/// without a day is bought from anybody.
pub(super) fn in_time(
    suppliers: &IndexMap<Id, Supplier>,
    needs: &[Needed],
    today: NaiveDate,
    offers: &[(bool, Offer)],
) -> Vec<Vec<bool>> {
    let days: Vec<Option<NaiveDate>> = suppliers.values().map(|s| s.soonest(today)).collect();
    let of = |(n, (by, mass)): (usize, &Needed)| {
        let Some(by) = *by else { return vec![true; days.len()] };
        let mut order: Vec<usize> = (0..days.len()).collect();
        order.sort_by_key(|s| (days[*s].is_none(), days[*s]));
        let had = |s: usize| {
            let own = offers.iter().filter(|(_, o)| o.need == n && o.supplier == s);
            own.map(|(_, o)| o.free.size.saturating_mul(i64::from(o.free.most))).sum::<i64>()
        };
        let (mut asked, mut there) = (vec![false; days.len()], 0_i64);
        let mut until = None;
        for s in order {
            let comes = days[s].is_some_and(|day| day <= by);
            // Who brings it on the same day is asked too.
            if comes || there < *mass || until == Some(days[s]) {
                asked[s] = true;
                let had = had(s);
                there = there.saturating_add(had);
                until = if had > 0 { Some(days[s]) } else { until };
            }
        }
        asked
    };
    needs.iter().enumerate().map(of).collect()
}
