//! Composed text for a terminal.

use crate::figure::{held_words, wrapped};
use crate::yaml::steers;
use comfy_table::{
    Attribute, Cell, CellAlignment, Color, ContentArrangement, LineStyle, Table, TableStyle,
};

/// What the terminal can show.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Columns.
    pub width: u16,
    /// Whether to colour.
    pub colour: bool,
    /// Whether lines and marks beyond ASCII can be shown.
    pub unicode: bool,
}

/// How a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

impl Look {
    /// Whether there is room for columns that are left out in 80.
    pub fn wide(&self) -> bool {
        const ROOM: u16 = 110;
        self.width >= ROOM
    }

    /// A table without frames: a line under the heading, columns two spaces apart.
    pub fn table(&self, columns: &[(&str, Side)]) -> Table {
        let line = if self.unicode { '─' } else { '-' };
        let style = TableStyle::new().header_separator(LineStyle::none().fill(line).junction(line));
        let mut table = Table::new();
        table.load_style(style).set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(self.width);
        if self.colour {
            table.enforce_styling();
        } else {
            table.force_no_tty();
        }
        table.set_header(
            columns
                .iter()
                .map(|(name, side)| self.cell(name, *side).add_attribute(Attribute::Bold)),
        );
        for (i, (_, side)) in columns.iter().enumerate() {
            if let Some(column) = table.column_mut(i) {
                column.set_padding((0, if i + 1 == columns.len() { 0 } else { 2 }));
                column.set_cell_alignment(match side {
                    Side::Left => CellAlignment::Left,
                    Side::Right => CellAlignment::Right,
                });
            }
        }
        table
    }

    fn cell(&self, text: &str, side: Side) -> Cell {
        Cell::new(text).set_alignment(match side {
            Side::Left => CellAlignment::Left,
            Side::Right => CellAlignment::Right,
        })
    }

    /// A cell that needs a person now.
    pub fn hot(&self, text: impl Into<String>) -> Cell {
        let cell = Cell::new(text.into());
        if self.colour { cell.fg(Color::Red).add_attribute(Attribute::Bold) } else { cell }
    }

    /// A heading with an empty line before it.
    pub fn heading(&self, text: &str) -> String {
        if self.colour { format!("\n\x1b[1m{text}\x1b[0m\n") } else { format!("\n{text}\n") }
    }

    /// A line that keeps its own indent, wrapped, with its line end.
    pub fn wrapped_from(&self, line: &str, indent: usize) -> String {
        let own = line.chars().take_while(|c| *c == ' ').count();
        let narrower = Self { width: self.width.saturating_sub(own as u16), ..*self };
        let text = narrower.wrapped(line.trim_start(), indent.saturating_sub(own));
        let pad = " ".repeat(own);
        text.lines().map(|l| format!("{pad}{l}\n")).collect()
    }

    /// Text wrapped to the width, later lines indented.
    pub fn wrapped(&self, text: &str, indent: usize) -> String {
        wrapped(text, usize::from(self.width).max(indent + 20), indent)
    }
}

/// A text in which no line ends between a number and its unit.
pub(in crate::view) fn held(text: &str) -> String {
    held_words(text).iter().map(|word| word.replace(' ', "\u{a0}")).collect::<Vec<_>>().join(" ")
}

/// What comfy-table and [`Look`] put before and after words on a terminal that has colours.
const STYLES: [&str; 4] = ["\x1b[0m", "\x1b[1m", "\x1b[39m", "\x1b[38;5;9m"];

/// Text in which a sign that would steer the terminal stands as its number, such as `<U+001B>`: a
/// name may hold anything, and must not clear the screen or read backwards (CWE-117, CWE-150). A
/// tab is a space; the line end of a spreadsheet (CR and LF) stays. The styles of our own stay where the terminal is `styled`.
pub fn visible(text: &str, styled: bool) -> std::borrow::Cow<'_, str> {
    if !text.chars().any(steers) {
        return text.into();
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(sign) = rest.chars().next() {
        let style = STYLES.iter().find(|s| styled && rest.starts_with(**s));
        if let Some(style) = style {
            out.push_str(style);
            rest = &rest[style.len()..];
            continue;
        }
        match sign {
            '\t' => out.push(' '),
            '\r' if rest.starts_with("\r\n") => out.push('\r'),
            sign if steers(sign) => out.push_str(&format!("<U+{:04X}>", u32::from(sign))),
            sign => out.push(sign),
        }
        rest = &rest[sign.len_utf8()..];
    }
    out.into()
}

/// A table as text, without spaces at the ends of lines.
pub fn finished(table: &Table) -> String {
    let mut out: String = table.lines().map(|l| l.trim_end().to_owned() + "\n").collect();
    if out.is_empty() {
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_ends_between_a_number_and_its_unit() {
        let look = Look { width: 24, colour: false, unicode: false };
        let wrapped = look.wrapped("the metal lifts with 12.5 kg, so lay 14 kg on it", 0);
        assert_eq!(wrapped, "the metal lifts with\n12.5 kg, so lay 14 kg on\nit");
        assert_eq!(
            held("lay 14 kg (12 to 16 kg) on 2 boxes"),
            "lay 14\u{a0}kg (12 to 16\u{a0}kg) on 2 boxes"
        );
    }
}
