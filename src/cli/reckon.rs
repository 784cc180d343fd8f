use super::{Common, Done, Stop, json, load, terminal};
use crate::figure::System;
use crate::handbook::formulas;
use crate::view::handbook::FormulaRow;
use crate::view::reckon::{ReckonView, about, formula, list};

/// Arguments of `reckon`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright reckon
      list the formulas
  pourwright reckon cope-lift
      what it takes
  pourwright reckon cope-lift area='600 cm2' head='15 cm' density='2.4 g/cm3'
  pourwright reckon pattern-size size='7 1/8 in' contraction='5/32 in/ft'")]
pub struct Args {
    /// Name of the formula
    name: Option<String>,
    /// Inputs, each as key=value with its unit
    inputs: Vec<String>,
    /// Show the result in US customary units (without a build to say so)
    #[arg(long)]
    us: bool,
}

/// `reckon`: one formula alone.
pub fn run(common: &Common, args: &Args) -> Done {
    let look = terminal::look(common);
    let Some(name) = &args.name else {
        let all = || formulas::ALL.iter().map(|f| FormulaRow::new(f)).collect::<Vec<_>>();
        return if common.json { json(&all()) } else { Ok(list(&look)) };
    };
    let formula = formula(name).map_err(Stop::usage)?;
    if args.inputs.is_empty() {
        return if common.json {
            json(&FormulaRow::new(formula))
        } else {
            Ok(about(formula, &look))
        };
    }
    let view = ReckonView::new(formula, &args.inputs).map_err(|faults| {
        let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
        Stop::Usage(told.join("\n"))
    })?;
    if common.json {
        return json(&view);
    }
    let of_build = load::build(common).map(|b| b.header.units).unwrap_or_default();
    Ok(view.text(&look, if args.us { System::Us } else { of_build }))
}
