use super::{Common, Done, Stop, charge, json, load};
use crate::figure::{Mass, Quantity};
use crate::model::Build;
use crate::plan::Pour;
use crate::supply::{Wish, purchases};
use crate::view::sheet::{BuildSheet, HeatSheet, MouldCards, OrderSheet, Paper};
use crate::yaml::nearest;
use clap::{Subcommand, ValueEnum};
use std::path::PathBuf;

/// Arguments of `sheet`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright sheet mould base --build demo
  pourwright sheet heat --parts cross-rail,saddle --build demo
  pourwright sheet order --paper letter --build demo
The file is HTML that prints: open it in a browser and print it at 100 %.")]
pub struct Args {
    /// The paper in the printer (default: a4 for a metric build, letter for a US one)
    #[arg(long, global = true, value_name = "PAPER")]
    paper: Option<PaperWord>,
    /// File to write (default: sheet-....html in the build's folder)
    #[arg(short, long, global = true, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(subcommand)]
    sheet: Sheet,
}

/// Paper as the command line names it.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum PaperWord {
    /// 210 x 297 mm
    A4,
    /// 8 1/2 x 11 in
    Letter,
}

#[derive(Debug, Subcommand)]
enum Sheet {
    /// Mould card: flask, parting, gating, feeders, weights; one page each
    Mould {
        /// Parts, one card each
        #[arg(required = true, value_name = "PART")]
        parts: Vec<String>,
    },
    /// Pour sheet: charge, crucible, order of moulds, cautions, blanks for the journal
    Heat {
        /// A heat of the plan, such as H12
        #[arg(required_unless_present = "parts")]
        heat: Option<String>,
        /// Or one mould of each of these parts, poured in this order
        #[arg(long, value_name = "PART,PART", value_delimiter = ',', conflicts_with = "heat")]
        parts: Vec<String>,
    },
    /// Order list: what to buy, with room to tick off
    Order,
    /// The build on one page
    Build,
}

/// `sheet`: paper for the shop.
pub fn run(common: &Common, args: &Args) -> Done {
    // Only what comes in time has to be planned.
    let all = match &args.sheet {
        Sheet::Heat { heat: Some(_), .. } | Sheet::Order | Sheet::Build => {
            load::planned(common, None)?
        }
        _ => load::all(common)?,
    };
    let build = &all.build;
    let paper = match args.paper {
        Some(PaperWord::A4) => Paper::A4,
        Some(PaperWord::Letter) => Paper::Letter,
        None => Paper::of(build.header.units),
    };
    let (name, html, told) = match &args.sheet {
        Sheet::Mould { parts } => {
            let indices = cast_parts(build, parts)?;
            let view = MouldCards::new(build, &all.estimates, &indices, paper);
            (format!("mould-{}", parts.join("-")), view.html(), json(&view))
        }
        Sheet::Heat { heat, parts } => {
            let pour = match heat {
                Some(name) => load::heat(&all, name)?,
                None => Pour::picked(build, &all.estimates, &cast_parts(build, parts)?)
                    .map_err(Stop::Usage)?,
            };
            let mut view = HeatSheet::new(build, &all.estimates, &pour, paper);
            let flow = pour.times.and_then(|_| load::supplied(&all).flow);
            let walk = flow.as_ref().and_then(|f| f.likely.stocks.get(&pour.alloy.id));
            let heats =
                all.plan.schedule.heats.iter().take_while(|h| Some(&h.name) != pour.name.as_ref());
            let at = pour.times.map(|[lit, ..]| {
                (lit, heats.filter(|h| h.lit == lit && h.alloy == pour.alloy.id).count())
            });
            if let Some(shelf) = walk.zip(at).and_then(|(w, (lit, nth))| w.shelf(lit, nth)) {
                view = view.with_shelf(build, &pour, shelf);
            }
            // Without metals or limits the sheet has its blanks.
            if let Some(mass) = &pour.charge
                && let Ok((charge, _)) =
                    charge::made_up(build, (&pour.alloy.id, Mass::from_si(mass.si())), false)
            {
                view = view.with_charge(&charge);
            }
            let name = heat.clone().unwrap_or_else(|| parts.join("-"));
            (format!("heat-{name}"), view.html(), json(&view))
        }
        Sheet::Order => {
            let bill = load::supplied(&all);
            let bought = purchases(build, &bill, Wish::default());
            let view = OrderSheet::new(build, &bill, &bought, paper);
            ("order".to_owned(), view.html(), json(&view))
        }
        Sheet::Build => {
            let view =
                BuildSheet::new(build, &all.estimates, &all.plan, &load::supplied(&all), paper);
            ("build".to_owned(), view.html(), json(&view))
        }
    };
    if common.json {
        return told;
    }
    let path = match &args.out {
        Some(out) => out.clone(),
        None => common.build.join(format!("sheet-{}.html", file_word(&name))),
    };
    load::write_whole(&path, html.map_err(Stop::Fault)?.as_bytes())?;
    Ok(format!("{}\n", path.display()))
}

/// A name as part of the name of a file.
fn file_word(name: &str) -> String {
    const MOST: usize = 60;
    let safe = |c: char| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' };
    name.chars().map(safe).take(MOST).collect()
}

/// Indices of parts that are cast.
fn cast_parts(build: &Build, parts: &[String]) -> Result<Vec<usize>, Stop> {
    let index = |id: &String| match build.part(id) {
        Some(i) if build.parts[i].casting.is_some() => Ok(i),
        Some(_) => Err(Stop::Usage(format!("`{id}` is not cast; it has no mould"))),
        None => Err(Stop::Usage(match nearest(id, build.parts.iter().map(|p| &**p.id())) {
            Some(near) => format!("no part is called `{id}`; did you mean `{near}`?"),
            None => format!("no part is called `{id}`; `pourwright parts` lists them"),
        })),
    };
    parts.iter().map(index).collect()
}
