use super::{Common, Done, Stop, load};
use crate::JOURNAL;
use crate::journal::{appended, fresh_id, hold};
use crate::view::entry::{Value, entry_text};
use crate::yaml::MAX_BYTES;
use chrono::NaiveDateTime;
use clap::Subcommand;

/// Arguments of `log`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright log rammed --mould M7 --pattern wheel-pattern --flask small-box --casting handwheel=2
  pourwright log poured --heat H3 --alloy A356 --mould M7 --charge ingot='3.2 kg' --temperature '715 C'
  pourwright log inspected --mould M7 --part handwheel --pieces 2 --disposition accept --mass '330 g'
  pourwright log done --part base --step machine --hours '6 h'
  pourwright log void --entry 20260307-1420-a1b2c3 --why 'wrong mould'")]
pub struct Args {
    /// When it happened (default: now)
    #[arg(long, global = true, value_name = "YYYY-MM-DD HH:MM")]
    at: Option<String>,
    /// Only show what would be written
    #[arg(long, global = true)]
    try_out: bool,
    #[command(subcommand)]
    event: Event,
}

#[derive(Debug, Subcommand)]
enum Event {
    /// A mould was rammed
    Rammed {
        /// Name of the mould, such as M7
        #[arg(long)]
        mould: String,
        /// The pattern in it
        #[arg(long)]
        pattern: String,
        /// The flask
        #[arg(long)]
        flask: Option<String>,
        /// Castings in it, as PART=HOW-MANY; may be repeated
        #[arg(long = "casting", value_name = "PART=COUNT", required = true)]
        castings: Vec<String>,
        /// Time it took
        #[arg(long)]
        hours: Option<String>,
    },
    /// A heat was melted and poured
    Poured {
        /// Name of the heat, such as H3
        #[arg(long)]
        heat: String,
        /// The alloy
        #[arg(long)]
        alloy: String,
        /// The crucible
        #[arg(long)]
        crucible: Option<String>,
        /// Moulds in order; may be repeated
        #[arg(long = "mould", value_name = "MOULD", required = true)]
        moulds: Vec<String>,
        /// What went in, as SOURCE=MASS (ingot, returns, scrap); may be repeated
        #[arg(long = "charge", value_name = "SOURCE=MASS")]
        charge: Vec<String>,
        /// Pouring temperature
        #[arg(long)]
        temperature: Option<String>,
        /// Metal left in the crucible
        #[arg(long)]
        heel: Option<String>,
        /// Fuel burnt
        #[arg(long)]
        fuel: Option<String>,
        /// Time to melt
        #[arg(long)]
        melt_time: Option<String>,
        /// Weather of the day
        #[arg(long)]
        weather: Option<String>,
    },
    /// A mould was shaken out
    ShakenOut {
        /// The mould
        #[arg(long)]
        mould: String,
        /// Time since pouring
        #[arg(long)]
        after: Option<String>,
    },
    /// Castings were inspected
    Inspected {
        /// The mould they came from
        #[arg(long)]
        mould: String,
        /// The part
        #[arg(long)]
        part: String,
        /// How many pieces
        #[arg(long, default_value_t = 1)]
        pieces: u32,
        /// accept, concession, rework or scrap
        #[arg(long)]
        disposition: String,
        /// Mass of one
        #[arg(long)]
        mass: Option<String>,
        /// What was found, as CLASS or CLASS=WHERE (such as B200='at the boss'); may be repeated
        #[arg(long = "blemish", value_name = "CLASS=WHERE")]
        blemishes: Vec<String>,
        /// In your words
        #[arg(long)]
        says: Option<String>,
    },
    /// A step of a part, or a pattern, was finished
    Done {
        /// The part
        #[arg(long, required_unless_present = "pattern")]
        part: Option<String>,
        /// Or the pattern
        #[arg(long, conflicts_with = "part")]
        pattern: Option<String>,
        /// Which step of the part
        #[arg(long)]
        step: Option<String>,
        /// Time it took
        #[arg(long)]
        hours: Option<String>,
    },
    /// A bought part or stock arrived
    Received {
        /// The part
        #[arg(long, required_unless_present = "stock")]
        part: Option<String>,
        /// Or stock under this name
        #[arg(long, conflicts_with = "part")]
        stock: Option<String>,
        /// How much
        #[arg(long)]
        mass: Option<String>,
        /// What was paid
        #[arg(long)]
        price: Option<String>,
    },
    /// Stock was counted
    Counted {
        /// Which
        #[arg(long)]
        stock: String,
        /// How much there is
        #[arg(long)]
        mass: String,
    },
    /// Something to remember
    Note {
        /// The words
        says: String,
        /// About this part
        #[arg(long)]
        part: Option<String>,
    },
    /// An earlier entry does not count
    Void {
        /// Its id
        #[arg(long)]
        entry: String,
        /// Why
        #[arg(long)]
        why: String,
    },
}

/// `log`: one entry, checked before it is appended.
pub fn run(common: &Common, args: &Args) -> Done {
    let now = chrono::Local::now().naive_local();
    let at = match &args.at {
        None => common.today.and_then(|d| d.and_hms_opt(12, 0, 0)).unwrap_or(now),
        Some(text) => moment(text)?,
    };
    let (name, fields) = fields(&args.event)?;
    let entry = entry_text(&fresh_id(at), at, name, fields);
    if args.try_out {
        let (manifest, journal) = load::files(common)?;
        fits(common, &manifest, &journal, &entry)?;
        return Ok(format!("{entry}(not written)\n"));
    }
    write(common, &entry)?;
    Ok(entry)
}

/// Appends an entry to the journal that it was checked against: the lock is held from the one to
/// the other, so that of two entries that exclude each other only one gets in.
fn write(common: &Common, entry: &str) -> Result<(), Stop> {
    let path = common.build.join(JOURNAL);
    let failed = |e| Stop::Fault(format!("{}: {e}", path.display()));
    let manifest = load::manifest(common)?;
    if !path.exists() {
        // A refused first entry must not leave an empty journal behind.
        fits(common, &manifest, &[], entry)?;
    }
    let mut held = hold(&path).map_err(failed)?;
    let journal = held.bytes(MAX_BYTES as u64 + 1).map_err(failed)?;
    fits(common, &manifest, &journal, entry)?;
    held.append(entry).map_err(failed)
}

/// Whether the build has no fault with this entry appended.
fn fits(common: &Common, manifest: &[u8], journal: &[u8], entry: &str) -> Result<(), Stop> {
    let with = appended(journal, entry);
    let Err(after) = load::read(common, manifest.to_vec(), with) else { return Ok(()) };
    // Faults that were there before the entry are not the entry's.
    load::read(common, manifest.to_vec(), journal.to_vec())
        .map_err(|before| Stop::Fault(load::faults(&before)))?;
    Err(Stop::Fault(format!("{}\n\nnothing was written", load::faults(&after))))
}

fn moment(text: &str) -> Result<NaiveDateTime, Stop> {
    ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"]
        .iter()
        .find_map(|f| NaiveDateTime::parse_from_str(text, f).ok())
        .ok_or_else(|| {
            Stop::Usage(format!("`{text}` is no date and time; write '2026-03-07 14:20'"))
        })
}

type Fields = Vec<(&'static str, Option<Value>)>;

fn text(value: &str) -> Option<Value> {
    Some(Value::Text(value.to_owned()))
}

fn maybe(value: &Option<String>) -> Option<Value> {
    value.as_deref().and_then(text)
}

/// `KEY=VALUE` arguments as a map.
fn pairs(list: &[String], example: &str) -> Result<Option<Value>, Stop> {
    let mut out = Vec::new();
    for item in list {
        let (key, value) = item
            .split_once('=')
            .ok_or_else(|| Stop::Usage(format!("`{item}` has no =; write {example}")))?;
        out.push((key.to_owned(), Value::Text(value.to_owned())));
    }
    Ok((!out.is_empty()).then_some(Value::Map(out)))
}

fn fields(event: &Event) -> Result<(&'static str, Fields), Stop> {
    Ok(match event {
        Event::Rammed { mould, pattern, flask, castings, hours } => (
            "rammed",
            vec![
                ("mould", text(mould)),
                ("pattern", text(pattern)),
                ("flask", maybe(flask)),
                ("castings", pairs(castings, "base=1")?),
                ("hours", maybe(hours)),
            ],
        ),
        Event::Poured {
            heat,
            alloy,
            crucible,
            moulds,
            charge,
            temperature,
            heel,
            fuel,
            melt_time,
            weather,
        } => (
            "poured",
            vec![
                ("heat", text(heat)),
                ("alloy", text(alloy)),
                ("crucible", maybe(crucible)),
                ("charge", pairs(charge, "ingot='3.2 kg'")?),
                ("temperature", maybe(temperature)),
                (
                    "moulds",
                    Some(Value::List(moulds.iter().map(|m| Value::Text(m.clone())).collect())),
                ),
                ("heel", maybe(heel)),
                ("fuel", maybe(fuel)),
                ("melt-time", maybe(melt_time)),
                ("weather", maybe(weather)),
            ],
        ),
        Event::ShakenOut { mould, after } => {
            ("shaken-out", vec![("mould", text(mould)), ("after", maybe(after))])
        }
        Event::Inspected { mould, part, pieces, disposition, mass, blemishes, says } => {
            let blemishes = blemishes.iter().map(|b| {
                let (class, place) = b.split_once('=').unwrap_or((b, ""));
                let mut map = vec![("class".to_owned(), Value::Text(class.to_owned()))];
                if !place.is_empty() {
                    map.push(("where".to_owned(), Value::Text(place.to_owned())));
                }
                Value::Map(map)
            });
            let blemishes: Vec<Value> = blemishes.collect();
            (
                "inspected",
                vec![
                    ("mould", text(mould)),
                    ("part", text(part)),
                    ("pieces", text(&pieces.to_string())),
                    ("disposition", text(disposition)),
                    ("mass", maybe(mass)),
                    ("blemishes", (!blemishes.is_empty()).then_some(Value::List(blemishes))),
                    ("says", maybe(says)),
                ],
            )
        }
        Event::Done { part, pattern, step, hours } => (
            "done",
            vec![
                ("part", maybe(part)),
                ("pattern", maybe(pattern)),
                ("step", maybe(step)),
                ("hours", maybe(hours)),
            ],
        ),
        Event::Received { part, stock, mass, price } => (
            "received",
            vec![
                ("part", maybe(part)),
                ("stock", maybe(stock)),
                ("mass", maybe(mass)),
                ("price", maybe(price)),
            ],
        ),
        Event::Counted { stock, mass } => {
            ("counted", vec![("stock", text(stock)), ("mass", text(mass))])
        }
        Event::Note { says, part } => ("note", vec![("says", text(says)), ("part", maybe(part))]),
        Event::Void { entry, why } => ("void", vec![("entry", text(entry)), ("why", text(why))]),
    })
}
