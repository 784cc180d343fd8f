use super::{Common, Done, Stop, charge, files, json, load, named, shells};
use crate::estimate::Estimates;
use crate::job;
use crate::model::Build;
use crate::plan::Pour;
use crate::supply::{AtLighting, Wish};
use crate::view::page::Unfilled;
use crate::view::sheet::{BuildSheet, HeatSheet, MouldCards, OrderSheet, Paper, PatternPaper};
use clap::{Subcommand, ValueEnum};
use clap_complete::engine::ArgValueCandidates;
use std::path::PathBuf;

/// Arguments of `sheet`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright sheet mould base --build demo
  pourwright sheet pattern bull-gear --build demo
  pourwright sheet heat --build demo
      the next heat
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
    #[command(flatten)]
    force: files::Force,
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
        #[arg(required = true, value_name = "PART", add = ArgValueCandidates::new(shells::parts))]
        parts: Vec<String>,
    },
    /// Pattern sheet: the pattern and its core boxes, drawn with their sizes
    Pattern {
        /// A part that is cast
        #[arg(value_name = "PART", add = ArgValueCandidates::new(shells::parts))]
        part: String,
    },
    /// Pour sheet: charge, crucible, order of moulds, cautions, blanks for the journal
    Heat {
        /// A heat of the plan, such as H12 (default: the next)
        #[arg(add = ArgValueCandidates::new(shells::heats))]
        heat: Option<String>,
        /// Or one mould of each of these parts, poured in this order
        #[arg(long, value_name = "PART,PART", value_delimiter = ',', conflicts_with = "heat")]
        parts: Vec<String>,
    },
    /// Order list: what to buy, with room to tick off
    Order {
        /// Cover what nine in ten replays of the plan take, castings made again included
        #[arg(long)]
        sure: bool,
    },
    /// The build on one page
    Build,
}

/// A sheet: the word for its file, the page, and the same as JSON.
struct Made {
    name: String,
    html: Result<String, Unfilled>,
    told: Done,
}

/// `sheet`: paper for the shop.
pub fn run(common: &Common, args: &Args) -> Done {
    let paper = |build: &Build| match args.paper {
        Some(PaperWord::A4) => Paper::A4,
        Some(PaperWord::Letter) => Paper::Letter,
        None => Paper::of(build.header.units),
    };
    // Only what comes in time has to be planned.
    let made = match &args.sheet {
        Sheet::Mould { parts } => {
            let of = load::estimated(common)?;
            let indices = cast_parts(&of.build, parts)?;
            let view = MouldCards::new(&of.build, &of.estimates, &indices, paper(&of.build));
            let name = format!("mould-{}", parts.join("-"));
            Made { name, html: view.html(), told: json(&view) }
        }
        Sheet::Pattern { part } => {
            let of = load::estimated(common)?;
            let at = cast_parts(&of.build, std::slice::from_ref(part))?[0];
            let casting = of.build.parts[at].casting.as_ref();
            let both = casting.zip(of.estimates.castings[at].as_ref());
            let both = both.ok_or_else(|| Stop::Fault(format!("`{part}` has no estimate")))?;
            let view = PatternPaper::new(&of.build, at, both, paper(&of.build));
            Made { name: format!("pattern-{part}"), html: view.html(), told: json(&view) }
        }
        Sheet::Heat { heat: None, parts } if !parts.is_empty() => {
            let of = load::estimated(common)?;
            let indices = cast_parts(&of.build, parts)?;
            let pour = Pour::picked(&of.build, &of.estimates, &indices).map_err(Stop::usage)?;
            let sheet = HeatSheet::new(&of.build, &of.estimates, &pour, paper(&of.build));
            heat((&of.build, &of.estimates), &pour, None, (sheet, &parts.join("-")))
        }
        Sheet::Heat { heat: name, .. } => {
            let of = load::planned(common, None)?;
            let next = of.plan.schedule.heats.first().map(|h| h.name.to_string());
            let name = name.as_ref().or(next.as_ref()).ok_or_else(|| {
                let says = "no heat is planned; name the parts instead: --parts base,cap";
                Stop::Usage(says.into())
            })?;
            let pour = load::heat(&of, name)?;
            let sheet = HeatSheet::new(&of.build, &of.estimates, &pour, paper(&of.build));
            let lighting = load::lighting(&of, &pour);
            heat((&of.build, &of.estimates), &pour, lighting, (sheet, name))
        }
        Sheet::Order { sure } => {
            let of = load::planned(common, None)?;
            let bill = load::supplied(&of, *sure)?;
            let bought = job::purchases(&of, &bill, Wish { sure: *sure, stages: false });
            let view = OrderSheet::new(&of.build, &bill, &bought, paper(&of.build));
            Made { name: "order".into(), html: view.html(), told: json(&view) }
        }
        Sheet::Build => {
            let of = load::planned(common, None)?;
            let (bill, paper) = (job::supply(&of), paper(&of.build));
            let view = BuildSheet::new(&of.build, &of.plan, &bill, paper);
            Made { name: "build".into(), html: view.html(), told: json(&view) }
        }
    };
    if common.json {
        return made.told;
    }
    let path = match &args.out {
        Some(out) => out.clone(),
        None => common.build.join(format!("sheet-{}.html", file_word(&made.name))),
    };
    files::write(common, &path, made.html.map_err(Stop::fault)?.as_bytes(), args.force)?;
    Ok(format!("{}\n", path.display()))
}

/// The pour sheet with the metal that there is when it is lit, and the charge; without metals or
/// limits it has its blanks.
fn heat(
    (build, estimates): (&Build, &Estimates),
    pour: &Pour,
    lighting: Option<AtLighting>,
    (mut view, name): (HeatSheet, &str),
) -> Made {
    if let Some(there) = lighting {
        view = view.with_shelf(build, there);
    }
    if let Some(charge) = charge::for_sheet(build, estimates, pour, lighting) {
        view = view.with_charge(&charge);
    }
    Made { name: format!("heat-{name}"), html: view.html(), told: json(&view) }
}

/// A name as part of the name of a file.
fn file_word(name: &str) -> String {
    const MOST: usize = 60;
    let safe = |c: char| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' };
    name.chars().map(safe).take(MOST).collect()
}

/// Indices of parts that are cast.
fn cast_parts(build: &Build, parts: &[String]) -> Result<Vec<usize>, Stop> {
    let index = |id: &String| named::casting(build, id, "it has no mould");
    parts.iter().map(index).collect()
}
