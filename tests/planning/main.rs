//! The plan against rules, a constraint solver and an iCalendar library of others.

mod bounds;
mod breaks;
mod builds;
mod calendar;
mod checker;
mod clocks;
#[path = "../common/mod.rs"]
mod common;
mod firsts;
mod flask;
mod foundry;
mod grouping;
mod hands;
mod heel;
mod hot;
mod lacking;
mod lifting;
mod lives;
mod orders;
mod pots;
mod promises;
mod retired;
mod rules;
mod shared;
mod slack;
mod standing;
mod supplies;
mod told;
