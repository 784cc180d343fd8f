use super::{Common, Done, Stop, json, load, shells, terminal};
use crate::figure::{Kind, Mass, Quantity, read};
use crate::model::Build;
use crate::supply::{AtHand, at_hand};
use crate::view::charge::ChargeView;
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `charge`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright charge H12                      a heat of the plan
  pourwright charge A356 8kg
  pourwright charge ZA-12 '12 lb' --likely   compositions at their middle, not their worse end")]
pub struct Args {
    /// Name of a heat of the plan, or id of an alloy
    #[arg(value_name = "HEAT|ALLOY", add = ArgValueCandidates::new(shells::alloys_and_heats))]
    of: String,
    /// How much of the alloy goes into the crucible, such as 8kg or '12 lb'
    mass: Option<String>,
    /// Take every composition and recovery at its middle instead of its worse end
    #[arg(long)]
    likely: bool,
}

/// `charge`: the cheapest charge of the metals at hand.
pub fn run(common: &Common, args: &Args) -> Done {
    let view = match &args.mass {
        Some(mass) => {
            let mass = weighed(mass)?;
            made_up(&load::build(common)?, (&args.of, mass), args.likely)?.0
        }
        None => {
            let all = load::planned(common, None)?;
            if all.build.handbook.alloys.contains_key(&*args.of) {
                let says = format!("how much? try `charge {} 8kg`", args.of);
                return Err(Stop::Usage(says));
            }
            let pour = load::heat(&all, &args.of)?;
            let Some(charge) = &pour.charge else {
                let says = format!("the charge of heat {} is not known", args.of);
                return Err(Stop::Fault(says));
            };
            let of = (&*pour.alloy.id, Mass::from_si(charge.si()));
            let (view, at) = made_up(&all.build, of, args.likely)?;
            view.of_heat(&pour, &at)
        }
    };
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}

fn weighed(text: &str) -> Result<Mass, Stop> {
    let mass = read(Kind::Mass, text)
        .map_err(|e| Stop::Usage(format!("`{text}`: {}; {}", e.says, e.hint)))?;
    if mass.likely <= 0.0 || mass.high > 50_000.0 {
        return Err(Stop::Usage(format!("`{text}` is no charge; try 8 kg, or 12 lb")));
    }
    Ok(Mass::from_si(mass.likely))
}

/// The cheapest charge of so much of an alloy, and what it was sought among.
pub(super) fn made_up(
    build: &Build,
    (alloy, mass): (&str, Mass),
    likely: bool,
) -> Result<(ChargeView, AtHand), Stop> {
    let at = at_hand(build, alloy, mass, likely).map_err(Stop::Usage)?;
    let view = ChargeView::new(build, &at, &at.blend.make_up())
        .ok_or_else(|| Stop::fault("no charge was found within the search's limits"))?;
    Ok((view, at))
}
