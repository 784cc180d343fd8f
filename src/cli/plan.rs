use super::load::Search;
use super::{Common, Done, Stop, files, json, load, terminal, wrote};
use crate::job;
use crate::plan::Aim;
use crate::view::plan::PlanView;
use crate::yaml::nearest;
use std::path::PathBuf;

/// Arguments of `plan`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright plan --build demo
      the next sessions
  pourwright plan --all --build demo
      every session
  pourwright plan --why ram.machine --build demo
      why not earlier
  pourwright plan --calendar shop.ics --build demo
  pourwright plan --csv shop.csv --build demo

The plan is kept beside the build. After a log entry its sessions stay as they
were promised, unless another plan finishes --gain days earlier.")]
pub struct Args {
    /// Show every session, not only the next four
    #[arg(long)]
    all: bool,
    /// Say why a job is not done earlier
    #[arg(long, value_name = "PART.STEP")]
    why: Option<String>,
    /// Write the sessions as a calendar file (RFC 5545)
    #[arg(long, value_name = "FILE", conflicts_with = "csv")]
    calendar: Option<PathBuf>,
    /// Write the sessions as comma-separated text, a row a piece of work
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    #[command(flatten)]
    force: files::Force,
    #[command(flatten)]
    pub search: SearchArgs,
}

/// How to look for a plan.
#[derive(Debug, Clone, clap::Args)]
pub struct SearchArgs {
    /// What comes first: the day of finish, or the number of heats (default: as in the plan in
    /// force; else the day of finish)
    #[arg(long, value_enum)]
    aim: Option<AimWord>,
    /// Seconds to look at most; the plan then depends on how fast the machine is (default: as long
    /// as it takes)
    #[arg(long, value_parser = seconds)]
    seconds: Option<f64>,
    /// Plans to try at most (default: by the size of the build)
    #[arg(long)]
    tries: Option<usize>,
    /// Seed of the search (default: 1)
    #[arg(long)]
    seed: Option<u64>,
    /// Days another plan must gain before promised sessions are moved
    #[arg(long, default_value_t = 3, value_name = "DAYS")]
    gain: i64,
    /// Do not start from the plan in force
    #[arg(long)]
    anew: bool,
}

/// [`Aim`] as a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum AimWord {
    Finish,
    Heats,
}

/// Seconds, not negative and below an hour.
fn seconds(text: &str) -> Result<f64, String> {
    let seconds: f64 = text.parse().map_err(|_| "try 2".to_owned())?;
    if (0.0..=3600.0).contains(&seconds) { Ok(seconds) } else { Err("from 0 to 3600".into()) }
}

impl SearchArgs {
    pub fn search(&self) -> Search {
        let aim = self.aim.map(|aim| match aim {
            AimWord::Finish => Aim::Finish,
            AimWord::Heats => Aim::Heats,
        });
        let Self { seconds, tries, seed, gain, anew, .. } = *self;
        let further = seconds.is_some() || tries.is_some() || seed.is_some();
        let how = job::Search { aim, tries, seed: seed.unwrap_or(1), gain, anew, further };
        Search { how, seconds }
    }
}

/// `plan`: the work in time.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::planned(common, Some(args.search.search()))?;
    let look = terminal::look(common);
    let view = PlanView::new(&all.build, &all.plan);
    if let Some(path) = &args.calendar {
        let text = crate::view::calendar::calendar(&all.build, &all.plan.schedule);
        files::write(common, path, text.as_bytes(), args.force)?;
        return wrote(common, path);
    }
    if let Some(path) = &args.csv {
        files::write(common, path, view.schedule.csv().as_bytes(), args.force)?;
        return wrote(common, path);
    }
    if let Some(name) = &args.why {
        let jobs = view.schedule.find(name);
        let Some(job) = jobs.first() else {
            let names = view.schedule.jobs.iter().map(|j| format!("{}.{}", j.on, j.step));
            let names: Vec<String> = names.collect();
            let hint = match (nearest(name, names.iter().map(String::as_str)), names.first()) {
                (Some(near), _) => format!("did you mean `{near}`?"),
                (_, Some(first)) => format!("name a part and a step, such as `{first}`"),
                _ => "nothing is left to do".to_owned(),
            };
            return Err(Stop::Usage(format!("`{name}` is not work still to do; {hint}")));
        };
        return if common.json {
            json(&view.schedule.why(*job))
        } else {
            Ok(view.schedule.why_text(&look, *job))
        };
    }
    let most = if args.all { usize::MAX } else { 4 };
    if common.json { json(&view) } else { Ok(view.text(&look, most)) }
}
