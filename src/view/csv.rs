//! Tables as comma-separated text (RFC 4180) that a spreadsheet opens as it is meant.

use csv::{Terminator, WriterBuilder};

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Words, which no spreadsheet may take for a formula.
    Text(String),
    /// A number, written with a point.
    Number(String),
    /// Nothing.
    Empty,
}

impl Cell {
    /// A text, or nothing.
    pub fn text(text: Option<impl Into<String>>) -> Self {
        text.map_or(Self::Empty, |t| Self::Text(t.into()))
    }

    /// A number, or nothing.
    pub fn number(number: Option<impl ToString>) -> Self {
        number.map_or(Self::Empty, |n| Self::Number(n.to_string()))
    }

    /// A measure to a millionth (kg to the milligram), or nothing.
    pub fn measure(value: Option<f64>) -> Self {
        let text =
            |v: f64| format!("{v:.6}").trim_end_matches('0').trim_end_matches('.').to_owned();
        value.map_or(Self::Empty, |v| Self::Number(text(v)))
    }

    /// As it is written. An apostrophe before a text that starts like a formula keeps it a text.
    fn written(&self) -> String {
        let formula = |c: char| {
            matches!(c, '=' | '+' | '-' | '@' | '\t' | '\r' | '\n' | '＝' | '＋' | '－' | '＠')
        };
        match self {
            Self::Text(text) if text.trim_start_matches(' ').starts_with(formula) => {
                format!("'{text}")
            }
            Self::Text(text) => text.clone(),
            Self::Number(number) => number.clone(),
            Self::Empty => String::new(),
        }
    }
}

/// A table: a line of headings, then the rows, each line ended by CR and LF.
pub fn table(headings: &[&str], rows: &[Vec<Cell>]) -> String {
    let mut writer = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory fails for no row: all have the length of the headings.
    let _ = writer.write_record(headings);
    for row in rows {
        debug_assert_eq!(row.len(), headings.len());
        let _ = writer.write_record(row.iter().map(Cell::written));
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rfc_4180_quoting_and_line_ends() {
        // RFC 4180, section 2, rules 1, 6 and 7: CRLF ends a line; commas, quotes and line breaks
        // stand in quotes, and a quote is doubled.
        let row = vec![
            Cell::Text("a,b".into()),
            Cell::Text("3/8\" bolt".into()),
            Cell::Text("two\nlines".into()),
            Cell::Empty,
        ];
        assert_eq!(
            table(&["w", "x", "y", "z"], &[row]),
            "w,x,y,z\r\n\"a,b\",\"3/8\"\" bolt\",\"two\nlines\",\r\n"
        );
    }

    #[test]
    fn no_text_is_a_formula_and_numbers_stay_numbers() {
        for evil in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1"] {
            let text = table(&["x"], &[vec![Cell::Text(evil.into())]]);
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            let cell = reader.records().next().expect("a row").expect("sound")[0].to_owned();
            assert_eq!(cell, format!("'{evil}"));
        }
        assert_eq!(table(&["x"], &[vec![Cell::Number("-1.5".into())]]), "x\r\n-1.5\r\n");
    }
}
