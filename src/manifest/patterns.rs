use crate::figure::{Because, Figure, Length, Range};
use crate::handbook::formulas::gating::Gate;
use crate::yaml::{Code, Cursor, Given};
use std::sync::Arc;

/// What the sand is rammed around.
#[derive(Debug, Clone)]
pub struct Pattern {
    /// What it is made of.
    pub made_of: Option<Arc<str>>,
    /// Length as it lies in the sand, over all cavities.
    pub length: Option<Figure<Length>>,
    /// Width as it lies in the sand.
    pub width: Option<Figure<Length>>,
    /// Depth over all.
    pub depth: Option<Figure<Length>>,
    /// How much of the depth lies in the cope.
    pub in_cope: Option<Figure<Length>>,
    /// Whether it is used as it was found, though a casting off it lacks stock.
    pub as_found: bool,
    /// Castings from one mould.
    pub cavities: u32,
    /// Where the metal enters.
    pub gate: Gate,
    /// The flask that the builder wants for it.
    pub flask: Option<Given<Arc<str>>>,
    /// The sand that the builder wants for it.
    pub sand: Option<Given<Arc<str>>>,
    /// Patterns that are rammed in the same flask with it.
    pub beside: Vec<Given<Arc<str>>>,
    /// Where it was written.
    pub route: crate::figure::Route,
}

const MADE_OF: &[(&str, &str)] = &[
    ("wood", "wood"),
    ("mdf", "mdf"),
    ("printed", "printed"),
    ("metal", "metal"),
    ("foam", "foam"),
];

const GATES: &[(&str, Gate)] =
    &[("parting", Gate::Parting), ("bottom", Gate::Bottom), ("top", Gate::Top)];

pub(super) fn read(cursor: &Cursor<'_>) -> Option<Pattern> {
    let mut f = cursor.fields()?;
    let made_of = f.take("made-of", |c| c.choice(MADE_OF)).map(Arc::from);
    let size = f.get("size");
    let sizes = size.as_ref().and_then(|c| c.sizes(3));
    let in_cope = f.get("in-cope");
    let cope = in_cope.as_ref().and_then(|c| c.figure_or_zero("pattern depth in the cope"));
    if let (Some(cursor), Some(cope), Some(sizes)) = (&in_cope, &cope, &sizes) {
        let cope: &Figure<Length> = cope;
        if cope.si() > sizes[2] {
            cursor.fault(
                Code::Size,
                "this is more than the depth of the pattern",
                "give the part of the depth that is above the parting",
            );
        }
    }
    let as_found =
        f.take("as-found", |c| c.choice(&[("yes", true), ("no", false)])).unwrap_or(false);
    let cavities = f.take("cavities", |c| c.count()).unwrap_or(1);
    let gate = f.take("gate", |c| c.choice(GATES)).unwrap_or(Gate::Parting);
    let flask = f.take("flask", |c| c.word());
    let sand = f.take("sand", |c| c.word());
    let beside = f.get("beside").map(|c| c.items()).unwrap_or_default();
    let beside = beside.iter().filter_map(|c| c.word()).collect();
    for text in ["notes", "loose-pieces"] {
        f.take(text, |c| c.text());
    }
    f.done();
    let length = |name: &'static str, i: usize| {
        let (size, sizes) = (size.as_ref()?, sizes.as_ref()?);
        Some(Figure::new(name, Range::exact(sizes[i]), Because::Given(size.route())))
    };
    Some(Pattern {
        made_of,
        length: length("pattern length", 0),
        width: length("pattern width", 1),
        depth: length("pattern depth", 2),
        in_cope: cope,
        as_found,
        cavities,
        gate,
        flask,
        sand,
        beside,
        route: cursor.route(),
    })
}
