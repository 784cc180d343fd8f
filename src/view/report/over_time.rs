//! Progress over time, as charts.

use crate::estimate::Estimates;
use crate::figure::System;
use crate::model::Build;
use crate::plan::{Plan, progress};
use crate::view::chart::{Chart, Curve, Line, curve};
use chrono::NaiveDate;

/// The unit of large masses, and how many kg it has.
pub(super) fn heavy(units: System) -> (&'static str, f64) {
    match units {
        System::Metric => ("kg", 1.0),
        System::Us => ("lb", 0.453_592_37),
    }
}

/// Parts finished and mass of good castings, done and planned.
pub(super) fn progress_charts(build: &Build, estimates: &Estimates, plan: &Plan) -> Vec<Chart> {
    let p = progress(build, estimates, plan);
    let (mass, per) = heavy(build.header.units);
    let of = |points: &[(NaiveDate, f64)]| points.iter().map(|(d, v)| (*d, v / per)).collect();
    let lines = |done, planned: Vec<_>| {
        let line = |name: &str, planned, points| Line { name: name.into(), planned, points };
        let all = [line("done", false, done), line("planned", true, planned)];
        all.into_iter().filter(|l| !l.points.is_empty()).collect()
    };
    let parts = Curve {
        id: "parts-over-time".into(),
        name: "Parts finished".into(),
        unit: "parts".into(),
        counted: true,
        lines: lines(p.parts, p.parts_planned),
        today: build.today,
    };
    let castings = Curve {
        id: "mass-over-time".into(),
        name: "Good castings by mass".into(),
        unit: mass.into(),
        counted: false,
        lines: lines(of(&p.mass), of(&p.mass_planned)),
        today: build.today,
    };
    [parts, castings].iter().filter_map(curve).collect()
}
