//! The blanks of the pour sheet: what the journal asks for after the pour, and the command with it.

use super::HeatSheet;
use serde::Serialize;

/// A blank to fill.
#[derive(Debug, Clone, Serialize)]
pub struct Ask {
    /// The option of `log poured` it answers, without its dashes.
    pub option: &'static str,
    /// What to write.
    pub says: &'static str,
    /// What is known already.
    pub known: Option<String>,
}

/// The crucible, where it is one: of two the entry names none.
fn one(crucibles: &[String]) -> Option<String> {
    crucibles.first().filter(|_| crucibles.len() == 1).cloned()
}

/// What `log poured` asks for, in the order of the journal.
pub(super) fn asks(sheet: &HeatSheet) -> Vec<Ask> {
    let ask = |option, says, known: Option<String>| Ask { option, says, known };
    let moulds: Vec<&str> = sheet.moulds.iter().filter_map(|m| m.mould.as_deref()).collect();
    let named = moulds.len() == sheet.moulds.len();
    let stays = sheet.heels.iter().any(|heel| heel.to.is_some());
    vec![
        ask("at", "day and time of pouring, YYYY-MM-DD HH:MM", None),
        ask("heat", "name of the heat", sheet.heat.clone()),
        ask("alloy", "alloy", Some(sheet.alloy.clone())),
        ask("crucible", "crucible", one(&sheet.crucibles)),
        ask("furnace", "furnace", sheet.furnace.clone()),
        ask("charge", "what went in: the column of masses above", None),
        ask("temperature", "metal when the first mould was poured", None),
        ask("mould", "moulds in the order poured", named.then(|| moulds.join(", "))),
        ask("heel", if stays { "left in the pot" } else { "left in the pot, pigged" }, None),
        ask("fuel", "fuel burnt: bottle before less bottle after", None),
        ask("melt-time", "lit until ready to pour", None),
        ask("filled", "time each mould took to fill, MOULD=TIME", None),
        ask("weather", "weather: dry or wet, how warm", None),
    ]
}

/// A word as a POSIX shell takes it.
fn quoted(word: &str) -> String {
    let safe = |c: char| c.is_ascii_alphanumeric() || "-_.,:/".contains(c);
    if !word.is_empty() && word.chars().all(safe) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

/// The command with what is known filled in.
pub(super) fn command(sheet: &HeatSheet) -> String {
    const BLANK: &str = "____";
    let mut out = String::from("pourwright log poured");
    for ask in &sheet.asks {
        match ask.option {
            "charge" => {
                for line in &sheet.charge_lines {
                    out += &format!(" --charge {}={BLANK}", line.source);
                }
            }
            "mould" => {
                for mould in &sheet.moulds {
                    let word = mould.mould.as_deref().map_or(BLANK.to_owned(), quoted);
                    out += &format!(" --mould {word}");
                }
            }
            "filled" => {
                for mould in &sheet.moulds {
                    let word = mould.mould.as_deref().map_or(BLANK.to_owned(), quoted);
                    out += &format!(" --filled {word}={BLANK}");
                }
            }
            option => {
                let word = ask.known.as_deref().map_or(BLANK.to_owned(), quoted);
                out += &format!(" --{option} {word}");
            }
        }
    }
    out
}
