mod ask;
mod form;
mod offer;
mod said;
mod sent;

pub(super) use form::Forms;
pub(super) use sent::Sent;

use super::{Common, Done, Stop, json, load, notes, terminal};
use crate::JOURNAL;
use crate::journal::{AppendError, Appended, PHOTO, SAYS, appended, entry_text, fresh_id, hold};
use crate::yaml::{self, MAX_BYTES, one_line_end};
use chrono::NaiveDateTime;
use said::Said;

/// Arguments of `log`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Without an event it asks for one, proposes what is likely and shows what will
be written.

Examples, in this order, for a copy of the demo:
  pourwright log rammed --mould M16 --pattern tool-slide-pattern \\
    --flask small-box --casting tool-slide=1 --build demo
  pourwright log poured --heat H12 --alloy ZA-12 --mould M16 \\
    --charge ZA-12='4.3 kg' --temperature '520 C' --build demo
  pourwright log shaken-out --mould M16 --build demo
  pourwright log inspected --mould M16 --part tool-slide --pieces 1 \\
    --disposition accept --mass '2.2 kg' --build demo
  pourwright log done --part way-block --step machine --hours '6 h' --build demo
  pourwright log void --entry 20260705-1245-a1 --why 'wrong part' --build demo
  pourwright log --build demo")]
pub struct Args {
    /// When it happened (default: now)
    #[arg(long, global = true, value_name = "YYYY-MM-DD HH:MM")]
    at: Option<String>,
    /// Only show what would be written
    #[arg(long, global = true)]
    try_out: bool,
    #[arg(long, global = true, value_name = "WORDS", help = SAYS.help)]
    says: Option<String>,
    #[arg(long, global = true, value_name = "FILE", help = PHOTO.help)]
    photo: Option<String>,
    /// What happened; without it, asked for at the terminal
    #[command(subcommand)]
    event: Option<Said>,
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
    let entry = entry(event, args, (&fresh_id(at), at))?;
    let notes = if args.try_out {
        let (manifest, journal) = load::files(common)?;
        let notes = fits(common, &manifest, &journal, &entry)?;
        tell(common, &notes);
        notes
    } else {
        write(common, &entry, &[])?
    };
    let logged = Logged { entry, written: !args.try_out, notes };
    let text = match common.json {
        true => json(&logged)?,
        false if logged.written => logged.entry,
        false => return Ok(logged.entry + "(not written)\n"),
    };
    if logged.written {
        return printed(&text);
    }
    Ok(text)
}

/// The entry that arguments say, as of noon of the first day of the epoch where they tell no time.
pub(super) fn entry_of(args: &Args) -> Result<String, Stop> {
    let at = args.at.as_deref().map(moment).transpose()?.unwrap_or_default();
    let said = args.event.as_ref().ok_or_else(|| Stop::Usage("no event is named".into()))?;
    entry(said, args, (&fresh_id(at), at))
}

/// The entry that is asked for at the terminal, shown before it is written.
fn asked(common: &Common, args: &Args, at: NaiveDateTime) -> Done {
    if common.json {
        let says = "without an event it asks at the terminal, and has no JSON; name the event";
        return Err(Stop::Usage(says.into()));
    }
    let all = load::planned(common, None)?;
    let (event, at) = ask::event(&all, args.at.is_none().then_some(at), at)?;
    let entry = entry(&event, args, (&fresh_id(at), at))?;
    let (manifest, journal) = load::files(common)?;
    let notes = fits(common, &manifest, &journal, &entry)?;
    terminal::tell(&format!("\n{entry}"));
    tell(common, &notes);
    if args.try_out || !ask::agreed()? {
        return Ok("nothing was written\n".into());
    }
    write(common, &entry, &notes)?;
    printed("written\n")
}

/// Prints what came of an entry that is in the journal, also where nothing can be printed.
fn printed(text: &str) -> Done {
    terminal::print(text).map_err(|e| {
        Stop::Fault(format!("the entry is written, but the output could not be printed: {e}"))
    })?;
    Ok(String::new())
}

/// Points out what is odd.
fn tell(common: &Common, notes: &[String]) {
    for says in notes {
        terminal::note(common, says);
    }
}

/// An event as the text of an entry, under an id and of a time.
fn entry(said: &Said, args: &Args, (id, at): (&str, NaiveDateTime)) -> Result<String, Stop> {
    let fields = said.fields(&args.says, &args.photo)?;
    Ok(entry_text(id, at, said.kind.word, fields))
}

/// How often an entry is written anew where the journal is replaced meanwhile.
const TRIES: usize = 100;

/// Appends an entry and tells what is odd about it that was not told before. Gives all of it.
fn write(common: &Common, entry: &str, told: &[String]) -> Result<Vec<String>, Stop> {
    let notes = put(common, entry)?.unwrap_or_default();
    let new: Vec<String> = notes.iter().filter(|n| !told.contains(n)).cloned().collect();
    tell(common, &new);
    Ok(notes)
}

/// Appends an entry to the journal that it was checked against: the lock is held from the one to
/// the other, so that of two entries that exclude each other only one gets in. Gives what is odd
/// about it; nothing where the very same entry stands there already.
fn put(common: &Common, entry: &str) -> Result<Option<Vec<String>>, Stop> {
    let path = common.build.join(JOURNAL);
    let failed = |e| Stop::Fault(format!("{}: {e}", path.display()));
    let manifest = load::manifest(common)?;
    if !path.exists() {
        // A refused first entry must not leave an empty journal behind.
        fits(common, &manifest, &[], entry)?;
    }
    for _ in 0..TRIES {
        let mut held = hold(&path).map_err(failed)?;
        let journal = held.bytes(MAX_BYTES as u64 + 1).map_err(failed)?;
        if stands(&journal, entry) {
            return Ok(None);
        }
        let notes = fits(common, &manifest, &journal, entry)?;
        if held.append(entry).map_err(failed)? == Appended::Written {
            return Ok(Some(notes));
        }
    }
    Err(failed(AppendError::Moved))
}

/// Whether an entry stands in a journal, word for word.
fn stands(journal: &[u8], entry: &str) -> bool {
    let text = one_line_end(String::from_utf8_lossy(journal).into_owned());
    text.starts_with(entry) || text.contains(&format!("\n{entry}"))
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
            let text = one_line_end(String::from_utf8_lossy(journal).into_owned());
            let first = text.lines().count() + 1;
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
    yaml::moment(text).map_err(|e| Stop::Usage(format!("`{text}`: {e}")))
}
