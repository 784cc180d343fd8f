//! Quotes and brackets that are not closed: the parser stops far below, where it runs out of text;
//! the fault lies where one was opened.

use super::Place;

/// A quote or bracket that was opened.
struct Opened {
    sign: char,
    place: Place,
}

/// Where the fault of a text lies that the parser gave up in a line: the quote before it that runs
/// on over the end of its line, or the bracket that nothing closes. None where there is neither.
pub(super) fn opener(text: &str, stopped: usize) -> Option<(char, Place)> {
    let mut open: Vec<Opened> = Vec::new();
    let mut quote: Option<Opened> = None;
    let mut runs_on: Option<Opened> = None;
    let mut deeper_than = None;
    for (nth, line) in text.lines().enumerate() {
        let indent = line.len() - line.trim_start().len();
        if let Some(outer) = deeper_than {
            if line.trim().is_empty() || indent > outer {
                continue;
            }
            deeper_than = None;
        }
        // What was opened far above and is not closed yet is not closed at all.
        if let Some(opened) = quote.take() {
            match after(line, opened.sign) {
                Some(rest) => {
                    if opened.place.line <= stopped {
                        runs_on = Some(Opened { ..opened });
                    }
                    scan(line, rest, nth + 1, &mut open, &mut quote);
                }
                None => quote = Some(opened),
            }
            continue;
        }
        scan(line, 0, nth + 1, &mut open, &mut quote);
        let words = line.trim_end();
        if open.is_empty()
            && quote.is_none()
            && [": |", ": >", ": |-", ": >-"].iter().any(|e| words.ends_with(e))
        {
            deeper_than = Some(indent);
        }
    }
    let found = quote.or(runs_on).or_else(|| open.into_iter().next())?;
    (found.place.line <= stopped).then_some((found.sign, found.place))
}

/// The byte after the quote that closes, if it stands in this line.
fn after(line: &str, sign: char) -> Option<usize> {
    let mut signs = line.char_indices().peekable();
    while let Some((at, c)) = signs.next() {
        match c {
            '\\' if sign == '"' => drop(signs.next()),
            c if c == sign && sign == '\'' && signs.peek().is_some_and(|(_, c)| *c == sign) => {
                signs.next();
            }
            c if c == sign => return Some(at + c.len_utf8()),
            _ => {}
        }
    }
    None
}

/// Follows what a line opens and closes, from a byte on. A quote or bracket counts only where a
/// value begins: within a plain word it is a sign like any other.
fn scan(line: &str, from: usize, nth: usize, open: &mut Vec<Opened>, quote: &mut Option<Opened>) {
    let mut at = from;
    let mut begins = from == 0;
    while let Some(c) = line[at..].chars().next() {
        let next = at + c.len_utf8();
        let spaced = line[next..].chars().next().is_none_or(char::is_whitespace);
        let place = || Place { line: nth, column: line[..at].chars().count() + 1, length: 1 };
        match c {
            '#' if at == 0 || line[..at].ends_with(char::is_whitespace) => return,
            '"' | '\'' if begins => match after(&line[next..], c) {
                Some(length) => {
                    at = next + length;
                    begins = false;
                    continue;
                }
                None => {
                    *quote = Some(Opened { sign: c, place: place() });
                    return;
                }
            },
            '{' | '[' if begins => open.push(Opened { sign: c, place: place() }),
            '}' | ']' if !open.is_empty() => {
                open.pop();
                begins = false;
            }
            ',' if !open.is_empty() => begins = true,
            ':' | '-' | '?' if spaced => begins = true,
            c if c.is_whitespace() => {}
            _ => begins = false,
        }
        at = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_closed_is_found_where_it_was_opened() {
        for (text, place) in [
            ("a: 1\nb: \"two\nc: 3\n", Some((2, 4))),
            ("a: 'it is\nb: 2\nc: 3\n", Some((1, 4))),
            ("a: \"x\nb: \"y\"\nc: 3\n", Some((1, 4))),
            ("a: {b: 1\nc: {d: 2}\n", Some((1, 4))),
            ("a:\n  - [1, 2\n  - [3]\n", Some((2, 5))),
            ("a: [1, {b: \"]\"}\nc: 2\n", Some((1, 4))),
            ("a: 2' 1\"\nb: [1, 2]\n", None),
            ("a: it's\nb: |\n  \"free {\nc: \"whole\" # \"\n", None),
        ] {
            let found = opener(text, usize::MAX).map(|(_, p)| (p.line, p.column));
            assert_eq!(found, place, "{text}");
        }
    }
}
