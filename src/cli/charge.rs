use super::{Common, Done, Stop, json, load, shells, terminal};
use crate::estimate::Estimates;
use crate::figure::{Kind, Mass, Quantity, read};
use crate::model::Build;
use crate::plan::Pour;
use crate::supply::{Ask, AtLighting, Count, at_hand};
use crate::view::charge::ChargeView;
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `charge`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright charge H12 --build demo
      a heat of the plan
  pourwright charge A356 8kg --build demo
  pourwright charge H12 --count sold --build demo
      as if all that is sold were in the shop
  pourwright charge ZA-12 '12 lb' --likely --build demo
  pourwright charge A356 8kg --use wheel-scrap=2kg --build demo")]
pub struct Args {
    /// Name of a heat of the plan, or id of an alloy
    #[arg(value_name = "HEAT|ALLOY", add = ArgValueCandidates::new(shells::alloys_and_heats))]
    of: String,
    /// How much of the alloy goes into the crucible, such as 8kg or '12 lb'
    mass: Option<String>,
    /// Take every composition and recovery at its middle instead of its worse end
    #[arg(long)]
    likely: bool,
    /// Which metal counts: what is there, with what is on order, or with all that is sold
    #[arg(long, value_enum, default_value_t, value_name = "WHICH")]
    count: CountWord,
    /// Use up at least so much of a metal
    #[arg(long = "use", value_name = "METAL=MASS", value_parser = used)]
    used: Vec<(String, f64)>,
}

/// Which metal counts, as the command line names it.
#[derive(Debug, Clone, Copy, Default, clap::ValueEnum)]
enum CountWord {
    /// What lies in the shop
    #[default]
    There,
    /// That, and what is on order
    OnOrder,
    /// That, and whatever a supplier sells
    Sold,
}

impl From<CountWord> for Count {
    fn from(word: CountWord) -> Self {
        match word {
            CountWord::There => Self::There,
            CountWord::OnOrder => Self::OnOrder,
            CountWord::Sold => Self::Sold,
        }
    }
}

/// `METAL=MASS`, the mass in kg.
fn used(text: &str) -> Result<(String, f64), String> {
    let (metal, mass) = text.split_once('=').ok_or("write it as METAL=MASS, such as scrap=2kg")?;
    let mass = read(Kind::Mass, mass).map_err(|e| e.to_string())?;
    Ok((metal.trim().to_owned(), mass.likely))
}

/// `charge`: the cheapest charge of the metals at hand.
pub fn run(common: &Common, args: &Args) -> Done {
    let ask = |alloy, mass, (pour, lighting)| Ask {
        alloy,
        mass,
        pour,
        lighting,
        likely: args.likely,
        count: args.count.into(),
        use_up: args.used.iter().map(|(id, kg)| (id.as_str().into(), *kg)).collect(),
    };
    let view = match &args.mass {
        Some(mass) => {
            let of = load::estimated(common)?;
            made_up(&of.build, &of.estimates, &ask(&args.of, weighed(mass)?, (None, None)))?
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
            let mass = Mass::from_si(charge.safe());
            let lighting = load::lighting(&all, &pour);
            made_up(
                &all.build,
                &all.estimates,
                &ask(&pour.alloy.id, mass, (Some(&pour), lighting)),
            )?
        }
    };
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}

fn weighed(text: &str) -> Result<Mass, Stop> {
    let mass = read(Kind::Mass, text).map_err(|e| Stop::Usage(format!("`{text}`: {e}")))?;
    if mass.likely <= 0.0 || mass.high > 50_000.0 {
        return Err(Stop::Usage(format!("`{text}` is not a charge; try 8 kg, or 12 lb")));
    }
    Ok(Mass::from_si(mass.likely))
}

/// The cheapest charge of so much of an alloy; where metal is lacking, the one once that is bought.
fn made_up(build: &Build, estimates: &Estimates, ask: &Ask<'_>) -> Result<ChargeView, Stop> {
    let view = tried(build, estimates, ask)?;
    if view.short_kg.is_none() || ask.count == Count::Sold {
        return Ok(view);
    }
    let bought = tried(build, estimates, &Ask { count: Count::Sold, ..ask.clone() })?;
    Ok(if bought.possible { view.once_bought(bought) } else { view })
}

fn tried(build: &Build, estimates: &Estimates, ask: &Ask<'_>) -> Result<ChargeView, Stop> {
    let mut at = at_hand(build, estimates, ask).map_err(Stop::usage)?;
    let outcome = at.make_up();
    ChargeView::new(build, &at, &outcome, ask.pour)
        .ok_or_else(|| Stop::fault("no charge was found within the search's limits"))
}

/// The charge of a pour sheet, the same that `charge HEAT` tells; none where the manifest does not
/// tell what it could be made of.
pub(super) fn for_sheet(
    build: &Build,
    estimates: &Estimates,
    pour: &Pour,
    lighting: Option<AtLighting>,
) -> Option<ChargeView> {
    let mass = Mass::from_si(pour.charge.as_ref()?.safe());
    let (count, use_up) = (Count::There, Default::default());
    let (alloy, pour) = (&*pour.alloy.id, Some(pour));
    let ask = Ask { alloy, mass, pour, lighting, likely: false, count, use_up };
    made_up(build, estimates, &ask).ok()
}
