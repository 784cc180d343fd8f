//! Reading one tabled value: a range with its source, or the builder's own figure.

use crate::figure::{Because, Figure, Known, Quantity, Range, Source};
use crate::yaml::{Code, Cursor, Fields, Form, Tree};
use std::sync::Arc;

const KNOWN: &[(&str, Known)] = &[
    ("published", Known::Published),
    ("derived", Known::Derived),
    ("common practice", Known::CommonPractice),
    ("from memory", Known::FromMemory),
];

/// Reads `{is, likely, from, known}` as a handbook figure, or a bare `4..6 %` as a given one.
pub fn tabled<Q: Quantity>(cursor: &Cursor<'_>, name: &'static str) -> Option<Figure<Q>> {
    cursor.form(|| Form::Tabled);
    if !matches!(cursor.tree(), Tree::Map(_)) {
        let range = cursor.range(Q::KIND)?;
        return Some(Figure::new(name, range, Because::Given(cursor.route())));
    }
    let mut fields = cursor.fields()?;
    let is = fields.need("is", Q::KIND.example(), |c| c.range(Q::KIND));
    let likely = fields.take("likely", |c| c.range(Q::KIND));
    let source = source(&mut fields);
    for extra in ["per", "at"] {
        fields.take(extra, |c| c.text());
    }
    fields.done();
    let is = is?;
    let likely = likely.map_or(is.likely, |l| l.likely);
    if !(is.low..=is.high).contains(&likely) {
        cursor.fault(
            Code::Size,
            "the likely value lies outside the range",
            "correct one of the two",
        );
        return None;
    }
    let because = Because::Handbook(Arc::new(source?));
    Some(Figure::new(name, Range { likely, ..is }, because))
}

/// Reads `from` and `known` of an entry.
pub(super) fn source(fields: &mut Fields<'_>) -> Option<Source> {
    let from = fields.need("from", "the book and page", |c| c.text());
    let known = fields.need("known", "published", |c| c.choice(KNOWN));
    Some(Source { citation: from?.to_string().into(), known: known? })
}

/// Reads `{is: word, from, known}` or a bare word.
pub fn tabled_word(cursor: &Cursor<'_>) -> Option<Arc<str>> {
    cursor.form(|| Form::Tabled);
    if !matches!(cursor.tree(), Tree::Map(_)) {
        return cursor.text();
    }
    let mut fields = cursor.fields()?;
    let is = fields.need("is", "a word", |c| c.text());
    fields.take("from", |c| c.text());
    fields.take("known", |c| c.choice(KNOWN));
    fields.done();
    is
}
