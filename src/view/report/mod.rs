//! stub until the view lands
use crate::build::Build;
use crate::estimate::Estimates;
use crate::plan::Plan;
use crate::supply::Bill;
/// Report.
pub fn report(_: &Build, _: &Estimates, _: &Plan, _: &Bill) -> Result<String, String> {
    Err("no report yet".into())
}
