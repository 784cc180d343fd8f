//! The documents of a journal: cutting them apart, also where a write was cut off or two copies
//! were merged line by line.

use super::append::CUT_OFF;
use crate::yaml::{Code, Fault, MAX_BYTES, Place, shown_of};

/// One document and the line its text starts on.
pub(super) struct Document<'a> {
    pub(super) line: usize,
    pub(super) text: &'a str,
}

/// The bytes of a journal, with those replaced that a cut-off write left behind: half a letter or
/// zeros in its last line, or in a line that was closed as cut off later. Lines stay where they are.
///
/// The second value says whether the bytes were text all along.
pub(super) fn mended(bytes: Vec<u8>) -> (Vec<u8>, bool) {
    if bytes.len() > MAX_BYTES || shown_of(&bytes).is_none() {
        return (bytes, true);
    }
    let lines: Vec<&[u8]> = bytes.split_inclusive(|b| *b == b'\n').collect();
    let mut out = Vec::with_capacity(bytes.len());
    for (i, line) in lines.iter().enumerate() {
        let cut = match lines.get(i + 1) {
            None => !line.ends_with(b"\n"),
            Some(next) => next.trim_ascii_end() == CUT_OFF.trim().as_bytes(),
        };
        if !cut {
            out.extend_from_slice(line);
        } else if line.trim_ascii_end().iter().all(|b| *b == 0) {
            // Room that was set aside and never written: nothing stood here.
            out.extend(line.iter().map(|b| if *b == 0 { b' ' } else { *b }));
        } else {
            let text = String::from_utf8_lossy(line).replace('\0', "\u{fffd}");
            out.extend_from_slice(text.as_bytes());
        }
    }
    (out, false)
}

/// Cuts a journal into its documents. A `---` line ends one, and so does a second `id:` line: a
/// merge by lines keeps one `---` of two that stood in the same place.
pub(super) fn documents(text: &str) -> Vec<Document<'_>> {
    let mut out = Vec::new();
    let (mut start, mut line, mut at, mut begun) = (0, 1, 0, 1);
    let mut has_id = false;
    let mut pieces = text.split_inclusive('\n').peekable();
    let mut end = |start: usize, at: usize, line| {
        if !text[start..at].trim().is_empty() {
            out.push(Document { line, text: &text[start..at] });
        }
    };
    while let Some(piece) = pieces.next() {
        let mark = piece.trim_end();
        // A `---` that was cut short ends the entry above it all the same.
        let cut_short = !mark.is_empty()
            && "---".starts_with(mark)
            && pieces.peek().is_none_or(|next| next.trim_end() == CUT_OFF.trim());
        if mark == "---" || cut_short {
            end(start, at, begun);
            (start, begun, has_id) = (at + piece.len(), line + 1, false);
        } else if piece.starts_with("id:") {
            if has_id {
                end(start, at, begun);
                (start, begun) = (at, line);
            }
            has_id = true;
        }
        at += piece.len();
        line += 1;
    }
    end(start, at, begun);
    out
}

/// The sign of a line that marks a conflict of a merge: seven of it or more, then nothing or a
/// space and words. Tools that merge in three ways, or show changes, have more signs than two.
fn merge_sign(line: &str) -> Option<char> {
    let sign = line.chars().next().filter(|c| "<>=|%+-\\".contains(*c))?;
    let rest = line.trim_start_matches(sign);
    let marks = (line.len() - rest.len()) / sign.len_utf8();
    (marks >= 7 && (rest.is_empty() || rest.starts_with(' '))).then_some(sign)
}

/// Faults for the marks that a merge leaves where it could not decide.
pub(super) fn merge_marks(text: &str) -> Vec<Fault> {
    let begun = text.lines().any(|line| merge_sign(line) == Some('<'));
    // Signs that may also be a line under a heading mark a conflict only where one begins.
    let marks = text.lines().enumerate().filter(|(_, line)| match merge_sign(line) {
        Some('<' | '>' | '=' | '|') => true,
        Some(_) => begun,
        None => false,
    });
    let fault = |(i, line): (usize, &str)| {
        let place = Place { line: i + 1, column: 1, length: line.chars().count() };
        let hint = "delete the marks and keep both sides, each entry after its own --- line";
        Fault::placed(
            Code::Yaml,
            place,
            "two copies of the journal were merged, and this mark of a conflict is left",
            hint,
        )
    };
    marks.map(fault).collect()
}

/// A fault of one document as a fault of the file.
pub(super) fn moved(fault: Fault, document: &Document<'_>) -> Fault {
    let mut place = fault.place(document.text);
    let lines = document.text.lines().count().max(1);
    if place.line > lines {
        // Reading stopped at the end of the document, not on the line of the next one.
        let last = document.text.lines().last().unwrap_or_default();
        place = Place { line: lines, column: last.chars().count().max(1), length: 1 };
    }
    place.line += document.line - 1;
    Fault::placed(fault.code, place, fault.says, fault.hint)
}
