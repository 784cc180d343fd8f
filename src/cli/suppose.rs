use super::plan::SearchArgs;
use super::{Common, Done, Stop, json, load, terminal};
use crate::figure::{self, Kind};
use crate::job::{self, Planned};
use crate::plan::Supposition;
use crate::view::suppose::{Case, SupposeView, WorthView};
use crate::yaml::Refused;
use chrono::NaiveDate;

/// Arguments of `suppose`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright suppose --build demo
      which purchase saves most days
  pourwright suppose --alloy ram=ZA-27 --build demo
  pourwright suppose --flask large-box --build demo
      one more of that box
  pourwright suppose --beside swivel-pattern=tool-slide-pattern --build demo
  pourwright suppose --lost way-block --build demo
      it is found to be scrap
  pourwright suppose --away 2026-09-05..2026-09-13 --build demo

Nothing is written: manifest, journal and plan stay as they are.")]
pub struct Args {
    /// A part in another alloy
    #[arg(long, value_name = "PART=ALLOY")]
    alloy: Vec<String>,
    /// One more of a flask
    #[arg(long, value_name = "FLASK")]
    flask: Vec<String>,
    /// Two patterns in one flask
    #[arg(long, value_name = "PATTERN=PATTERN")]
    beside: Vec<String>,
    /// One more of a machine
    #[arg(long, value_name = "MACHINE")]
    machine: Vec<String>,
    /// A crucible half as large again, or by another share
    #[arg(long, value_name = "CRUCIBLE[=50%]")]
    crucible: Vec<String>,
    /// More sand in the heap
    #[arg(long, value_name = "50kg")]
    sand: Vec<String>,
    /// A good casting turns out scrap
    #[arg(long, value_name = "PART")]
    lost: Vec<String>,
    /// Nobody works on these days
    #[arg(long, value_name = "DAY[..DAY]")]
    away: Vec<String>,
    /// One more person with the same hours
    #[arg(long)]
    person: bool,
    /// More hours on a day of the week
    #[arg(long, value_name = "sat=2 h")]
    hours: Vec<String>,
    #[command(flatten)]
    search: SearchArgs,
}

/// `suppose`: the plan if something were otherwise.
pub fn run(common: &Common, args: &Args) -> Done {
    let changes = changes(args).map_err(Stop::usage)?;
    let search = args.search.search();
    // Both are looked for alike, so that what differs is no luck of the search.
    let alike = |anew| {
        let how = job::Search { gain: 0, anew, ..search.how };
        Some(load::Search { how, ..search })
    };
    let estimated = load::estimated(common)?;
    let kept = load::kept(common);
    let now = match search.how.anew || search.how.further {
        true => load::planned_from(estimated.clone(), kept.as_ref(), alike(search.how.anew)),
        false => load::planned(common, None)?,
    };
    let look = terminal::look(common);
    let case = |change: &[Supposition]| -> Result<Planned, Refused> {
        let mut build = estimated.build.clone();
        change.iter().try_for_each(|c| c.apply(&mut build))?;
        let then = estimated.otherwise(build);
        Ok(load::planned_from(then, now.kept.as_ref(), alike(false)))
    };
    if changes.is_empty() {
        let mut changed = Vec::new();
        for change in Supposition::worth_a_thought(&now.build, &now.estimates) {
            let then = case(std::slice::from_ref(&change)).map_err(Stop::usage)?;
            changed.push((change.in_words(&now.build), then.plan.schedule));
        }
        let view = WorthView::new(&now.build, &now.plan.schedule, &changed);
        return if common.json { json(&view) } else { Ok(view.text(&look)) };
    }
    let then = case(&changes).map_err(Stop::usage)?;
    fn of(all: &Planned) -> Case<'_> {
        Case { build: &all.build, schedule: &all.plan.schedule }
    }
    let says = changes.iter().map(|change| change.in_words(&now.build)).collect();
    let view = SupposeView::new(of(&now), of(&then), says);
    if common.json { json(&view) } else { Ok(view.text(&look)) }
}

fn changes(args: &Args) -> Result<Vec<Supposition>, String> {
    let mut out = Vec::new();
    for text in &args.alloy {
        let (part, alloy) =
            text.split_once('=').ok_or_else(|| format!("--alloy {text}: try PART=ALLOY"))?;
        out.push(Supposition::Alloy { part: part.trim().into(), alloy: alloy.trim().into() });
    }
    for flask in &args.flask {
        out.push(Supposition::Flask { flask: flask.clone(), more: 1 });
    }
    for text in &args.beside {
        let (lead, other) =
            text.split_once('=').ok_or_else(|| format!("--beside {text}: try PATTERN=PATTERN"))?;
        out.push(Supposition::Beside { patterns: [lead, other].map(|id| id.trim().to_owned()) });
    }
    out.extend(
        args.machine.iter().map(|machine| Supposition::Machine { machine: machine.clone() }),
    );
    for text in &args.crucible {
        let (crucible, more) = match text.split_once('=') {
            None => (text.as_str(), 0.5),
            Some((id, share)) => {
                let share = share.trim().trim_end_matches('%').trim();
                let share: f64 =
                    share.parse().map_err(|_| format!("--crucible {text}: try {id}=50%"))?;
                (id, share / 100.0)
            }
        };
        if !(-0.9..=9.0).contains(&more) {
            return Err(format!("--crucible {text}: from -90% to 900%"));
        }
        out.push(Supposition::Crucible { crucible: crucible.trim().into(), more });
    }
    for text in &args.sand {
        let more = figure::read(Kind::Mass, text).ok().map(|range| range.likely);
        let more = more.filter(|kg| *kg > 0.0);
        let more = more.ok_or_else(|| format!("--sand {text}: try 50kg or 100lb"))?;
        out.push(Supposition::Sand { more });
    }
    out.extend(args.lost.iter().map(|part| Supposition::Lost { part: part.clone() }));
    for text in &args.away {
        let (first, last) = text.split_once("..").unwrap_or((text, text));
        let day = |t: &str| {
            let day: Result<NaiveDate, _> = t.trim().parse();
            day.map_err(|_| format!("--away {text}: try 2026-09-05..2026-09-13"))
        };
        let (first, last) = (day(first)?, day(last)?);
        if last < first {
            return Err(format!("--away {text}: the last day comes before the first"));
        }
        out.push(Supposition::Away { first, last });
    }
    if args.person {
        out.push(Supposition::Person);
    }
    const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
    for text in &args.hours {
        let wrong = || format!("--hours {text}: try sat=2h");
        let (day, hours) = text.split_once('=').ok_or_else(wrong)?;
        let weekday = DAYS.iter().position(|d| *d == day.trim()).ok_or_else(wrong)?;
        let hours: f64 = hours.trim().trim_end_matches('h').trim().parse().map_err(|_| wrong())?;
        if !(-24.0..=24.0).contains(&hours) {
            return Err(format!("--hours {text}: a day has 24 hours"));
        }
        out.push(Supposition::Hours { weekday, more: hours * 3600.0 });
    }
    Ok(out)
}
