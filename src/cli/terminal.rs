//! What the terminal can show.

use super::Common;
use crate::view::text::{Look, visible};
use std::io::{self, ErrorKind, IsTerminal, Write};

/// Prints what a command has to say, with what would steer the terminal made visible (CWE-117).
/// A reader that stops early, such as `head`, is no fault.
pub fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    let coloured = out.is_terminal();
    let shown = visible(text, coloured);
    match out.write_all(shown.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(e),
        _ => Ok(()),
    }
}

/// Tells something beside the output. Where that cannot be, nobody is there to be told.
pub fn tell(text: &str) {
    let mut out = io::stderr().lock();
    let _ = writeln!(out, "{}", visible(text, false)).and_then(|()| out.flush());
}

/// Tells what is wrong. Where a person reads it, one sentence is wrapped; the lines of a file that are
/// shown at fault stay as they are, for marks stand under them.
pub fn complain(common: &Common, says: &str) {
    let read = common.width.is_some() || io::stderr().is_terminal();
    match read && !says.contains('\n') {
        true => tell(&look(common).wrapped(says, 2)),
        false => tell(says),
    }
}

/// Tells something worth pointing out.
pub fn note(common: &Common, says: &str) {
    tell(&look(common).wrapped(&format!("note: {says}"), 6));
}

/// The look for this terminal: its width, colour only on a terminal without NO_COLOR.
pub fn look(common: &Common) -> Look {
    let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    let terminal = std::io::stdout().is_terminal();
    let measured = terminal_size::terminal_size().map(|(w, _)| w.0).filter(|_| terminal);
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .find_map(|name| std::env::var(name).ok().filter(|v| !v.is_empty()))
        .unwrap_or_default()
        .to_lowercase();
    Look {
        width: common.width.or(measured).unwrap_or(80).clamp(40, 200),
        colour: terminal && !set("NO_COLOR"),
        unicode: locale.contains("utf-8") || locale.contains("utf8"),
    }
}
