//! The formulas, by trade. Each is a plain function on typed quantities with its record beside it.

pub mod cooling;
pub mod feeding;
pub mod gating;
pub mod heat;
pub mod lifting;
pub mod loads;
pub mod metal;
pub mod pattern;

use crate::figure::{Formula, Quantity, Speed};
use uom::si::acceleration::meter_per_second_squared;
use uom::si::f64::{Acceleration, Length};

macro_rules! all {
    ($($of:ident: $($name:ident),+;)+) => {
        /// Every formula there is, in the order of the handbook page.
        pub static ALL: &[&Formula] = &[$($( &$of::$name::FORMULA ),+),+];
    };
}

all! {
    metal: part_mass, poured_by_yield, charge, frustum_volume, fill_mass, volume_of_mass,
        casting_yield, taken_by_mass, taken_by_area;
    cooling: modulus, freezing_time, mould_constant, mould_constant_derived, heat_to_freeze, freezes_at,
        section_freezing_time, shake_out, mould_constant_of_section, thickness_of_modulus;
    feeding: feeder_for_time, feeder_by_modulus, feeder_by_volume, feeder_neck,
        shrinkage_to_feed, shrinkage_volume, feeding_distance, feeders, feeder_diameter,
        feeder_height, neck_length, feeder_volume;
    gating: fall_speed, flow, fill_time, fill_time_bottom, choke_area, sprue_base_area,
        sprue_taper, effective_head, pour_time_iron, reynolds, ladle_empty_time, pour_time,
        pour_before_freezing, circle_diameter, circle_area, square_side, sprue_top, basin_top,
        flow_with_loss, way_area, area_for_speed, way_speed, ingate_thickness, ingates,
        ingate_width, ingate_area, runner_length, ingate_length, well_area, well_depth,
        cylinder_volume, runner_volume, ingate_volume;
    loads: cope_lift, core_lift, mould_weight, rectangle, ceiling_head, cope_margin, box_mass;
    lifting: lifting_limit, lifting_index, people_to_lift, team_limit, reach_over, tong_moment;
    heat: melt_heat, fuel_mass, melt_time, warm_up_fuel, electricity, cylinders;
    pattern: pattern_size, casting_size, double_contraction, pattern_weight, machining_allowance,
        machining_shop, with_allowance, without_allowance, draft, fillet, flask_volume, mould_sand, bench_time_by_volume,
        bench_time_by_mass, bench_time_by_area, shrunk_volume, shrunk_surface, oversize,
        time_per_area;
}

/// The formula of this name.
pub fn find(name: &str) -> Option<&'static Formula> {
    ALL.iter().copied().find(|f| f.name == name)
}

/// Standard gravity, 9.80665 m/s2 (3rd CGPM, 1901).
fn gravity() -> Acceleration {
    Acceleration::new::<meter_per_second_squared>(9.806_65)
}

/// Speed after a fall from rest without loss.
fn fallen(height: Length) -> Speed {
    (2.0 * gravity() * height).sqrt()
}

/// The value of the first row of a table whose bound is not passed; not a number beyond the last.
///
/// A value on the bound belongs to its row, whatever the last digit of a conversion does.
fn step(bounds: &[f64], values: &[f64], at: f64) -> f64 {
    let row = bounds.iter().position(|&bound| at <= bound * (1.0 + 1e-9));
    row.and_then(|r| values.get(r)).copied().unwrap_or(f64::NAN)
}

/// A quantity that no finite amount reaches.
fn never<Q: Quantity>() -> Q {
    Q::from_si(f64::INFINITY)
}
