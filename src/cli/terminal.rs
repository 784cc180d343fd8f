//! What the terminal can show.

use super::Common;
use crate::view::text::Look;
use std::io::IsTerminal;

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
