use super::{Common, Done, Stop, json, load, terminal};
use crate::figure::{Kind, Mass, Quantity, read};
use crate::supply::at_hand;
use crate::view::charge::ChargeView;

/// Arguments of `charge`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright charge A356 8kg
  pourwright charge ZA-12 '12 lb' --likely   compositions at their middle, not their worse end")]
pub struct Args {
    /// Id of the alloy
    alloy: String,
    /// How much goes into the crucible, such as 8kg or '12 lb'
    mass: String,
    /// Take every composition and recovery at its middle instead of its worse end
    #[arg(long)]
    likely: bool,
}

/// `charge`: the cheapest charge of the metals at hand.
pub fn run(common: &Common, args: &Args) -> Done {
    let mass = read(Kind::Mass, &args.mass)
        .map_err(|e| Stop::Usage(format!("`{}`: {}; {}", args.mass, e.says, e.hint)))?;
    if mass.likely <= 0.0 || mass.high > 50_000.0 {
        let says = format!("`{}` is no charge; try 8 kg, or 12 lb", args.mass);
        return Err(Stop::Usage(says));
    }
    let build = load::build(common)?;
    let at = at_hand(&build, &args.alloy, Mass::from_si(mass.likely), args.likely);
    let at = at.map_err(Stop::Usage)?;
    let view = ChargeView::new(&build, &at, &at.blend.make_up())
        .ok_or_else(|| Stop::fault("no charge was found within the search's limits"))?;
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
