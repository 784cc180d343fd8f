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

/// Every formula there is, in the order of the handbook page.
pub static ALL: &[&Formula] = &[
    &metal::part_mass::FORMULA,
    &metal::poured_by_yield::FORMULA,
    &metal::charge::FORMULA,
    &metal::frustum_volume::FORMULA,
    &metal::fill_mass::FORMULA,
    &cooling::modulus::FORMULA,
    &cooling::freezing_time::FORMULA,
    &cooling::mould_constant::FORMULA,
    &cooling::mould_constant_derived::FORMULA,
    &cooling::heat_to_freeze::FORMULA,
    &cooling::freezes_at::FORMULA,
    &cooling::section_freezing_time::FORMULA,
    &feeding::feeder_for_time::FORMULA,
    &feeding::feeder_by_modulus::FORMULA,
    &feeding::feeder_by_volume::FORMULA,
    &feeding::feeder_neck::FORMULA,
    &gating::fall_speed::FORMULA,
    &gating::flow::FORMULA,
    &gating::fill_time::FORMULA,
    &gating::fill_time_bottom::FORMULA,
    &gating::choke_area::FORMULA,
    &gating::sprue_base_area::FORMULA,
    &gating::sprue_taper::FORMULA,
    &gating::effective_head::FORMULA,
    &gating::pour_time_iron::FORMULA,
    &gating::reynolds::FORMULA,
    &gating::ladle_empty_time::FORMULA,
    &loads::cope_lift::FORMULA,
    &loads::core_lift::FORMULA,
    &loads::mould_weight::FORMULA,
    &lifting::lifting_limit::FORMULA,
    &heat::melt_heat::FORMULA,
    &heat::fuel_mass::FORMULA,
    &heat::melt_time::FORMULA,
    &heat::warm_up_fuel::FORMULA,
    &pattern::pattern_size::FORMULA,
    &pattern::casting_size::FORMULA,
    &pattern::double_contraction::FORMULA,
    &pattern::pattern_weight::FORMULA,
    &pattern::machining_allowance::FORMULA,
    &pattern::machining_shop::FORMULA,
    &pattern::with_allowance::FORMULA,
    &pattern::draft::FORMULA,
    &pattern::fillet::FORMULA,
    &pattern::flask_volume::FORMULA,
    &pattern::mould_sand::FORMULA,
    &pattern::bench_time_by_volume::FORMULA,
    &pattern::bench_time_by_mass::FORMULA,
    &pattern::bench_time_by_area::FORMULA,
];

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
