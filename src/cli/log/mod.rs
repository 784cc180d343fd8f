mod ask;
mod fields;

use super::{Common, Done, Stop, json, load, notes, terminal};
use crate::JOURNAL;
use crate::journal::{appended, fresh_id, hold};
use crate::view::entry::entry_text;
use crate::yaml::MAX_BYTES;
use chrono::NaiveDateTime;
use clap::Subcommand;

/// Arguments of `log`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Without an event it asks for one, proposes what is likely and shows what will be written.

Examples:
  pourwright log
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
    /// More of it, in your words
    #[arg(long, global = true, value_name = "WORDS")]
    says: Option<String>,
    /// A picture beside the build
    #[arg(long, global = true, value_name = "FILE")]
    photo: Option<String>,
    /// What happened; without it, asked for at the terminal
    #[command(subcommand)]
    event: Option<Event>,
}

#[derive(Debug, Subcommand)]
enum Event {
    /// A mould was rammed
    #[command(
        override_usage = "pourwright log rammed [OPTIONS] --mould <MOULD> --pattern <PATTERN>\n       --casting <PART=COUNT>"
    )]
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
        /// Water in the sand, by mass
        #[arg(long)]
        moisture: Option<String>,
    },
    /// A heat was melted and poured
    #[command(
        override_usage = "pourwright log poured --heat <HEAT> --alloy <ALLOY> --mould <MOULD>\n       [OPTIONS]"
    )]
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
        /// The furnace
        #[arg(long)]
        furnace: Option<String>,
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
        /// Time a mould took to fill, as MOULD=TIME; may be repeated
        #[arg(long, value_name = "MOULD=TIME")]
        filled: Vec<String>,
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
        /// Time until the casting was frozen through, if you timed it
        #[arg(long)]
        frozen: Option<String>,
        /// All the metal that came out, gates and feeders with it
        #[arg(long)]
        mass: Option<String>,
    },
    /// Castings were inspected
    #[command(
        override_usage = "pourwright log inspected [OPTIONS] --mould <MOULD> --part <PART>\n       --disposition <DISPOSITION>"
    )]
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
        /// A face that they touch; may be repeated
        #[arg(long = "face", requires = "blemishes")]
        faces: Vec<String>,
        /// What can be done: turned-back, welded, filled, machined-away; may be repeated
        #[arg(long, requires = "blemishes")]
        can_be: Vec<String>,
        /// A size, under the name it has on the pattern, as NAME=LENGTH; may be repeated
        #[arg(long = "size", value_name = "NAME=LENGTH")]
        sizes: Vec<String>,
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
        /// Mass of the pattern
        #[arg(long, requires = "pattern")]
        mass: Option<String>,
        /// A size of the pattern, as NAME=LENGTH; may be repeated
        #[arg(long = "size", value_name = "NAME=LENGTH", requires = "pattern")]
        sizes: Vec<String>,
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
    /// Stock left the shop unused
    GivenAway {
        /// Which
        #[arg(long)]
        stock: String,
        /// How much
        #[arg(long)]
        mass: String,
        /// To whom
        #[arg(long)]
        to: Option<String>,
    },
    /// Something to remember
    Note {
        /// The words
        words: String,
        /// About this part
        #[arg(long)]
        part: Option<String>,
        /// About this mould
        #[arg(long)]
        mould: Option<String>,
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

/// What came of it.
#[derive(serde::Serialize)]
struct Logged {
    /// The entry as it stands in the journal.
    entry: String,
    /// Whether it was written.
    written: bool,
    /// What is odd about it.
    notes: Vec<String>,
}

/// `log`: one entry, checked before it is appended.
pub fn run(common: &Common, args: &Args) -> Done {
    let now = chrono::Local::now().naive_local();
    let at = match &args.at {
        None => common.today.and_then(|d| d.and_hms_opt(12, 0, 0)).unwrap_or(now),
        Some(text) => moment(text)?,
    };
    let Some(event) = &args.event else { return asked(common, args, at) };
    let entry = entry(event, args, at)?;
    let notes = if args.try_out {
        let (manifest, journal) = load::files(common)?;
        let notes = fits(common, &manifest, &journal, &entry)?;
        tell(common, &notes);
        notes
    } else {
        write(common, &entry, &[])?
    };
    let logged = Logged { entry, written: !args.try_out, notes };
    if common.json {
        return json(&logged);
    }
    Ok(logged.entry + if logged.written { "" } else { "(not written)\n" })
}

/// The entry that is asked for at the terminal, shown before it is written.
fn asked(common: &Common, args: &Args, at: NaiveDateTime) -> Done {
    if common.json {
        let says = "without an event it asks at the terminal, and has no JSON; name the event";
        return Err(Stop::Usage(says.into()));
    }
    let all = load::planned(common, None)?;
    let (event, at) = ask::event(&all, args.at.is_none().then_some(at), at)?;
    let entry = entry(&event, args, at)?;
    let (manifest, journal) = load::files(common)?;
    let notes = fits(common, &manifest, &journal, &entry)?;
    eprint!("\n{entry}\n");
    tell(common, &notes);
    if args.try_out || !ask::agreed()? {
        return Ok("nothing was written\n".into());
    }
    write(common, &entry, &notes)?;
    Ok("written\n".into())
}

/// Points out what is odd.
fn tell(common: &Common, notes: &[String]) {
    let look = terminal::look(common);
    for says in notes {
        eprintln!("{}", look.wrapped(&format!("note: {says}"), 6));
    }
}

/// An event as the text of an entry.
fn entry(event: &Event, args: &Args, at: NaiveDateTime) -> Result<String, Stop> {
    let (name, mut fields) = fields::of(event)?;
    let more = [("says", &args.says), ("photo", &args.photo)];
    fields.extend(more.map(|(key, text)| (key, fields::maybe(text))));
    Ok(entry_text(&fresh_id(at), at, name, fields))
}

/// Appends an entry to the journal that it was checked against: the lock is held from the one to
/// the other, so that of two entries that exclude each other only one gets in. Gives what is odd
/// about it, and tells what was not told before.
fn write(common: &Common, entry: &str, told: &[String]) -> Result<Vec<String>, Stop> {
    let path = common.build.join(JOURNAL);
    let failed = |e| Stop::Fault(format!("{}: {e}", path.display()));
    let manifest = load::manifest(common)?;
    if !path.exists() {
        // A refused first entry must not leave an empty journal behind.
        fits(common, &manifest, &[], entry)?;
    }
    let mut held = hold(&path).map_err(failed)?;
    let journal = held.bytes(MAX_BYTES as u64 + 1).map_err(failed)?;
    let notes = fits(common, &manifest, &journal, entry)?;
    let new: Vec<String> = notes.iter().filter(|n| !told.contains(n)).cloned().collect();
    tell(common, &new);
    held.append(entry).map_err(failed)?;
    Ok(notes)
}

/// Whether the build has no fault with this entry appended; gives what is odd about the entry.
fn fits(
    common: &Common,
    manifest: &[u8],
    journal: &[u8],
    entry: &str,
) -> Result<Vec<String>, Stop> {
    let with = appended(journal, entry);
    match load::read(common, manifest.to_vec(), with) {
        Ok(build) => {
            let first = journal.split_inclusive(|b| *b == b'\n').count() + 1;
            Ok(notes::of_new(common, &build, first).into_iter().map(|r| r.says).collect())
        }
        Err(after) => {
            // Faults that were there before the entry are not the entry's.
            load::read(common, manifest.to_vec(), journal.to_vec())
                .map_err(|before| Stop::Fault(load::faults(&before)))?;
            Err(Stop::Fault(format!("{}\n\nnothing was written", load::faults(&after))))
        }
    }
}

fn moment(text: &str) -> Result<NaiveDateTime, Stop> {
    ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"]
        .iter()
        .find_map(|f| NaiveDateTime::parse_from_str(text, f).ok())
        .ok_or_else(|| {
            Stop::Usage(format!("`{text}` is no date and time; write '2026-03-07 14:20'"))
        })
}
