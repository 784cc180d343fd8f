use super::{Because, Kind, Known, Node, Range};
use std::borrow::Cow;

/// A formula of the handbook: what it is called, what it takes, what it gives, where it is from.
pub struct Formula {
    /// Name that `reckon` answers to.
    pub name: &'static str,
    /// What it gives.
    pub gives: &'static str,
    /// Kind of the result.
    pub kind: Kind,
    /// The formula as the trade writes it.
    pub says: &'static str,
    /// Author, work, section.
    pub source: &'static str,
    /// How far to trust it.
    pub known: Known,
    /// Where it holds and how well.
    pub holds: &'static str,
    /// What goes in, in order.
    pub inputs: &'static [Input],
    /// Inputs, and where the formula turns from rising to falling in them, or jumps.
    pub turns: &'static [(&'static str, Turn)],
    /// What SI values of the inputs, in order, tell together that no one of them does: inputs that
    /// cannot go with each other.
    pub doubt: fn(&[f64]) -> Option<&'static str>,
    /// The formula on SI base values, inputs in order.
    pub evaluate: fn(&[f64]) -> f64,
}

/// Where a formula turns or jumps in one of its inputs.
pub enum Turn {
    /// At this SI value.
    At(f64),
    /// Where it meets the input of this name: below it the formula is another than from there on.
    Meets(&'static str),
}

/// One input of a formula.
pub struct Input {
    /// Key that `reckon` takes.
    pub name: &'static str,
    /// What is to be given, in a few words.
    pub about: &'static str,
    /// Its kind.
    pub kind: Kind,
    /// SI value taken when it is left out; an input without one must be given.
    pub default: Option<f64>,
    /// SI span in which the formula holds.
    pub valid: (f64, f64),
    /// Words it may be instead of a quantity; the value is then the index.
    pub words: &'static [&'static str],
}

/// An input that is a word out of a list: a grade, a kind of gate, a convention.
pub trait Worded {
    /// Its words, in order; none for a quantity.
    const WORDS: &'static [&'static str] = &[];
}

/// Makes an enum an input that is chosen by a word.
#[macro_export]
#[doc(hidden)]
macro_rules! words {
    ($name:ident { $( $variant:ident = $word:literal ),+ $(,)? }) => {
        impl $crate::figure::Worded for $name {
            const WORDS: &'static [&'static str] = &[$( $word ),+];
        }
        impl $crate::figure::Quantity for $name {
            const KIND: $crate::figure::Kind = $crate::figure::Kind::Number;
            fn from_si(value: f64) -> Self {
                const ALL: &[$name] = &[$( $name::$variant ),+];
                ALL[(value.max(0.0) as usize).min(ALL.len() - 1)]
            }
            fn si(self) -> f64 {
                f64::from(self as u8)
            }
        }
    };
}

impl std::fmt::Debug for Formula {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name)
    }
}

/// Ranges that ask for more points than this are opened one input at a time.
const MOST_POINTS: usize = 1 << 10;

impl Formula {
    /// Works the formula over ranges: the likely value from the likely inputs, low and high from
    /// the corners of the box that the inputs span, and from where the formula turns within it
    /// ([`Formula::turns`]). Exact where it rises or falls steadily between those.
    pub fn over(&self, inputs: &[Range]) -> Range {
        let likely: Vec<f64> = inputs.iter().map(|r| r.likely).collect();
        let mut range = Range::exact((self.evaluate)(&likely));
        self.at_corners(inputs, |values| {
            let value = (self.evaluate)(values);
            range.low = range.low.min(value);
            range.high = range.high.max(value);
        });
        range
    }

    /// Visits the corners of the box that the inputs span, and where the formula turns within it; of
    /// many inputs each end alone, the others as is likely.
    fn at_corners(&self, inputs: &[Range], mut visit: impl FnMut(&[f64])) {
        let likely: Vec<f64> = inputs.iter().map(|r| r.likely).collect();
        let open: Vec<(usize, Vec<f64>)> = inputs
            .iter()
            .enumerate()
            .filter(|(_, r)| !r.is_exact())
            .map(|(i, r)| (i, [r.low, r.high].into_iter().chain(self.turned(i, inputs)).collect()))
            .collect();
        let points = open.iter().try_fold(1_usize, |n, (_, at)| n.checked_mul(at.len()));
        if let Some(points) = points.filter(|points| *points <= MOST_POINTS) {
            let mut values = likely.clone();
            for mut point in 0..points {
                for (i, at) in &open {
                    values[*i] = at[point % at.len()];
                    point /= at.len();
                }
                visit(&values);
            }
        } else {
            for (i, at) in &open {
                let mut values = likely.clone();
                for at in at {
                    values[*i] = *at;
                    visit(&values);
                }
            }
        }
    }

    /// Values within the range of an input at which the formula turns or jumps.
    fn turned(&self, i: usize, inputs: &[Range]) -> Vec<f64> {
        /// Tells the two sides of a jump apart.
        const APART: f64 = 1e-9;
        let own = self.inputs.get(i).map_or("", |input| input.name);
        let ends = |name| {
            let of = self.input(name).and_then(|(i, _)| inputs.get(i));
            of.map_or([f64::NAN; 2], |r| [r.low, r.high])
        };
        let here = self.turns.iter().flat_map(|(name, turn)| match turn {
            Turn::At(value) if *name == own => vec![*value],
            Turn::Meets(other) if *name == own => {
                ends(other).into_iter().flat_map(|end| [end, end * (1.0 - APART)]).collect()
            }
            Turn::Meets(other) if *other == own => {
                ends(name).into_iter().flat_map(|end| [end, end * (1.0 + APART)]).collect()
            }
            _ => Vec::new(),
        });
        here.filter(|at| inputs[i].low < *at && *at < inputs[i].high).collect()
    }

    /// The figure that this formula makes of others.
    pub fn figure(&'static self, inputs: Vec<Node>) -> Node {
        let ranges: Vec<Range> = inputs.iter().map(Node::range).collect();
        Node::new(self.gives, self.kind, self.over(&ranges), Because::Worked(self, inputs))
    }

    /// The same where its inputs rise and fall together: each end from the ends of one side.
    pub fn figure_together(&'static self, inputs: Vec<Node>) -> Node {
        let at = |end: fn(Range) -> f64| {
            (self.evaluate)(&inputs.iter().map(|n| end(n.range())).collect::<Vec<_>>())
        };
        let [a, likely, b] = [at(|r| r.low), at(|r| r.likely), at(|r| r.high)];
        let range = Range { low: a.min(likely).min(b), likely, high: a.max(likely).max(b) };
        self.figure_between(inputs, range)
    }

    /// The same of the likely inputs alone: what is then made so.
    pub fn figure_as_made(&'static self, inputs: Vec<Node>) -> Node {
        let likely: Vec<f64> = inputs.iter().map(|n| n.range().likely).collect();
        self.figure_between(inputs, Range::exact((self.evaluate)(&likely)))
    }

    /// The same with ends that the formula itself does not tell, but its words do.
    pub fn figure_between(&'static self, inputs: Vec<Node>, range: Range) -> Node {
        Node::new(self.gives, self.kind, range, Because::Worked(self, inputs))
    }

    /// The input with this key and its place in the order.
    pub fn input(&self, name: &str) -> Option<(usize, &'static Input)> {
        self.inputs.iter().enumerate().find(|(_, i)| i.name == name)
    }

    /// Inputs that lie outside the span in which the formula holds, or may, and that contradict each
    /// other, or may at their ends; in words.
    pub fn strays(&self, inputs: &[Range]) -> Vec<Cow<'static, str>> {
        let outside = self.inputs.iter().zip(inputs).filter_map(|(input, range)| {
            let holds = |v| {
                input
                    .words
                    .is_empty()
                    .then_some(input.valid.0..=input.valid.1)
                    .is_none_or(|span| span.contains(&v))
            };
            let lies = match (holds(range.likely), holds(range.low) && holds(range.high)) {
                (true, true) => return None,
                (true, false) => "may be",
                (false, _) => "is",
            };
            Some(Cow::Owned(format!("{} {lies} outside the range in which this holds", input.name)))
        });
        let likely: Vec<f64> = inputs.iter().map(|r| r.likely).collect();
        let doubt = (self.doubt)(&likely).map(Cow::Borrowed).or_else(|| {
            let mut found = None;
            self.at_corners(inputs, |values| found = found.or_else(|| (self.doubt)(values)));
            found.map(|says| Cow::Owned(format!("at an end of what is given: {says}")))
        });
        outside.chain(doubt).collect()
    }
}

/// Ties a documented, typed function to its record.
///
/// For `fn lift(area: Area, head: Length) -> Force` this makes a module `lift` beside it, with
/// `lift::FORMULA` (the record) and `lift::figure(&area, &head)` (the same on figures). An input
/// is written `argument: Type = "key" ("what it is") or default, low, high`; the words in brackets
/// and the default may be left out, and default, low and high are in SI base units. A formula that
/// does not rise or fall steadily within its validity says where: `turns: "key" At(value)`, or
/// `turns: "key" Meets("other")`; one whose inputs may contradict each other names a function that says
/// so: `doubt: function`.
#[macro_export]
#[doc(hidden)]
macro_rules! formula {
    (
        $function:ident ( $( $arg:ident : $ty:ty = $key:literal $( ( $about:literal ) )? $( or $default:expr )? , $low:expr , $high:expr );* $(;)? ) -> $out:ty ;
        name: $name:literal; gives: $gives:literal; says: $says:literal;
        source: $source:literal; known: $known:ident; holds: $holds:literal
        $(; turns: $( $turning:literal $turn:ident ( $value:expr ) ),+ )?
        $(; doubt: $doubt:path )?
    ) => {
        $crate::formula! { @record
            $function($( $arg: $ty, $key, concat!($( $about )?), $crate::formula!(@default $( $default )?), ($low, $high) );*) -> $out,
            $name, $gives, $says, $source, $known, $holds, &[$( $( ($turning, $crate::figure::Turn::$turn($value)) ),+ )?],
            $crate::formula!(@doubt $( $doubt )?)
        }
    };
    (@record
        $function:ident ( $( $arg:ident : $ty:ty , $key:expr , $about:expr , $default:expr , $valid:expr );* ) -> $out:ty ,
        $name:literal , $gives:literal , $says:literal , $source:literal , $known:ident , $holds:literal , $turns:expr , $doubt:expr
    ) => {
        #[doc = concat!("`", $name, "` as a record and on figures.")]
        pub mod $function {
            #[allow(unused_imports)]
            use super::*;
            use $crate::figure::{Figure, Formula, Input, Known, Quantity};

            /// The record that `reckon` and the handbook page read.
            pub static FORMULA: Formula = Formula {
                name: $name,
                gives: $gives,
                kind: <$out as Quantity>::KIND,
                says: $says,
                source: $source,
                known: Known::$known,
                holds: $holds,
                inputs: &[$( Input {
                    name: $key,
                    about: $about,
                    kind: <$ty as Quantity>::KIND,
                    default: $default,
                    valid: $valid,
                    words: <$ty as $crate::figure::Worded>::WORDS,
                } ),*],
                turns: $turns,
                doubt: $doubt,
                evaluate: |values| {
                    let mut values = values.iter().copied();
                    $( let $arg = <$ty as Quantity>::from_si(values.next().unwrap_or(f64::NAN)); )*
                    Quantity::si(super::$function($( $arg ),*))
                },
            };

            /// The formula on figures: range and reason follow.
            pub fn figure($( $arg: &Figure<$ty> ),*) -> Figure<$out> {
                Figure::typed(FORMULA.figure(vec![$( $arg.node().clone() ),*]))
            }
        }
    };
    (@kebab $arg:ident) => {{
        const NAME: &str = stringify!($arg);
        const KEY: [u8; NAME.len()] = $crate::figure::kebab(NAME);
        match str::from_utf8(&KEY) {
            Ok(key) => key,
            Err(_) => NAME,
        }
    }};
    (@doubt) => { |_| None };
    (@doubt $doubt:path) => { $doubt };
    (@default) => { None };
    (@default $default:expr) => { Some($default) };
}

/// A name as the handbook writes it: `sand_density` as `sand-density`.
#[doc(hidden)]
pub const fn kebab<const N: usize>(name: &str) -> [u8; N] {
    let mut out = [b'-'; N];
    let mut at = 0;
    while at < N {
        if name.as_bytes()[at] != b'_' {
            out[at] = name.as_bytes()[at];
        }
        at += 1;
    }
    out
}

/// Makes functions and records of short formulas at once: name of the function, name and result of the
/// record, inputs with what they are and where they hold (SI), body, the formula in words, how far it
/// is known and from where, how well it holds. An input's key is its
/// argument's name; `or` gives what is taken where it is left out.
#[macro_export]
#[doc(hidden)]
macro_rules! formulas {
    ($(
        $( #[$doc:meta] )*
        $function:ident $name:literal $gives:literal
            ( $( $arg:ident : $ty:ty = $about:literal $( or $default:expr , )? $low:literal .. $high:literal ),* $(,)? ) -> $out:ty
            = $body:expr ;
        $says:literal , $known:ident $source:literal , $holds:literal ;
    )+) => {$(
        $( #[$doc] )*
        pub fn $function($( $arg: $ty ),*) -> $out {
            $body
        }
        $crate::formula! { @record
            $function($( $arg: $ty, $crate::formula!(@kebab $arg), $about, $crate::formula!(@default $( $default )?), ($low, $high) );*) -> $out,
            $name, $gives, $says, $source, $known, $holds, &[], |_| None
        }
    )+};
}

#[cfg(test)]
mod tests {
    use super::*;

    static SQUARE_OVER: Formula = Formula {
        name: "t",
        gives: "t",
        kind: Kind::Number,
        says: "a2 / b",
        source: "",
        known: Known::Derived,
        holds: "",
        inputs: &[],
        turns: &[],
        doubt: |_| None,
        evaluate: |v| v[0] * v[0] / v[1],
    };

    #[test]
    fn low_and_high_come_from_the_corners() {
        let r = SQUARE_OVER.over(&[Range::between(1.0, 3.0), Range::between(1.0, 2.0)]);
        assert!((r.low - 0.5).abs() < 1e-12 && (r.high - 9.0).abs() < 1e-12);
        assert!((r.likely - 4.0 / 1.5).abs() < 1e-12);
    }
}
