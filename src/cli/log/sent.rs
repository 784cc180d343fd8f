//! An entry that came from a page: told in the options of `log`, under an id that the page made, so
//! that one that is sent twice is written once.

use super::{Args, entry, fits, moment, put};
use crate::cli::{Common, Stop, files, load, photos};
use crate::journal::{Event, Says};
use base64::Engine;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Signs of an id at most.
const MOST_ID: usize = 40;
/// Folder of the pictures, beside the build.
const PHOTOS: &str = "photos";

/// What a page sends.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::cli) struct Sent {
    id: String,
    at: String,
    event: String,
    /// Values by option.
    #[serde(default)]
    said: BTreeMap<String, Vec<String>>,
    #[serde(default)]
    says: String,
    /// A JPEG, in base 64.
    #[serde(default)]
    photo: String,
}

/// What came of it.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct Came {
    /// The entry as it stands, or would stand, in the journal.
    entry: String,
    /// What is odd about it.
    notes: Vec<String>,
}

impl Sent {
    /// Only checks it; nothing is written.
    pub(in crate::cli) fn check(&self, common: &Common) -> Result<Came, Stop> {
        let entry = self.entry()?;
        self.picture()?;
        let (manifest, journal) = load::files(common)?;
        let mut notes = fits(common, &manifest, &journal, &entry)?;
        // The picture comes with the entry.
        notes.retain(|says| !says.starts_with(&format!("no file {}", self.photo_path())));
        Ok(Came { entry, notes })
    }

    /// Writes it down, where it does not stand there already.
    pub(in crate::cli) fn write(&self, common: &Common) -> Result<Came, Stop> {
        let entry = self.entry()?;
        let picture = self.picture()?;
        let path = common.build.join(self.photo_path());
        let is_new = !path.exists();
        if let Some(bytes) = &picture {
            files::beside_new(common, PHOTOS, &path, bytes)?;
        }
        let put = put(common, &entry);
        if put.is_err() && picture.is_some() && is_new {
            // What no entry names need not lie there.
            let _ = std::fs::remove_file(&path);
        }
        Ok(Came { entry, notes: put?.unwrap_or_default() })
    }

    fn photo_path(&self) -> String {
        format!("{PHOTOS}/{}.jpg", self.id)
    }

    /// The bytes of the picture, which must be one that a page can show.
    fn picture(&self) -> Result<Option<Vec<u8>>, Stop> {
        if self.photo.is_empty() {
            return Ok(None);
        }
        let refused = |says: String| Stop::Usage(format!("the picture: {says}"));
        let bytes = base64::engine::general_purpose::STANDARD.decode(&self.photo);
        let bytes = bytes.map_err(|e| refused(e.to_string()))?;
        if !bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            return Err(refused("this is not a JPEG".into()));
        }
        photos::small(&bytes).map_err(refused)?;
        Ok(Some(bytes))
    }

    /// The text of the entry, by the same arguments that `log` takes.
    fn entry(&self) -> Result<String, Stop> {
        let sound = |c: char| c.is_ascii_alphanumeric() || c == '-';
        if self.id.is_empty() || self.id.len() > MOST_ID || !self.id.chars().all(sound) {
            return Err(Stop::Usage(format!("an id is of 1 to {MOST_ID} letters, digits and -")));
        }
        let kind = Event::KINDS.iter().find(|kind| kind.word == self.event);
        let kind = kind.ok_or_else(|| Stop::Usage(format!("`{}` is not an event", self.event)))?;
        let mut words = vec!["log".to_owned(), kind.word.to_owned()];
        let own = |option: &str| kind.keys.iter().any(|key| key.option() == option);
        let of_blemishes = ["face", "can-be"];
        let mut after = Vec::new();
        for (option, values) in &self.said {
            if option == "words" && kind.says == Says::Needed {
                after.extend(values.iter().cloned());
            } else if own(option) || (own("blemish") && of_blemishes.contains(&option.as_str())) {
                words.extend(values.iter().map(|value| format!("--{option}={value}")));
            } else {
                return Err(Stop::Usage(format!("`{}` has no `{option}`", kind.word)));
            }
        }
        if !self.says.is_empty() {
            words.push(format!("--says={}", self.says));
        }
        if !self.photo.is_empty() {
            words.push(format!("--photo={}", self.photo_path()));
        }
        words.push("--".into());
        words.extend(after);
        let command = <Args as clap::Args>::augment_args(clap::Command::new("log"));
        let matches = command.try_get_matches_from(words);
        let args = matches.and_then(|m| <Args as clap::FromArgMatches>::from_arg_matches(&m));
        let args = args.map_err(|e| Stop::Usage(told(&e.to_string())))?;
        let said = args.event.as_ref().ok_or_else(|| Stop::Usage("no event is named".into()))?;
        entry(said, &args, (&self.id, moment(&self.at)?))
    }
}

/// What is wrong with the arguments, without how to call the command.
fn told(says: &str) -> String {
    let says = says.split("\n\nUsage").next().unwrap_or_default();
    says.trim_start_matches("error: ").trim().to_owned()
}
