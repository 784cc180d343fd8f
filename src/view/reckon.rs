//! One formula worked alone, or what it takes.

use super::text::{Look, Side, finished};
use crate::figure::{Formula, Kind, Range, System, Unreadable, read, show_si, show_spanned};
use crate::handbook::formulas;
use crate::yaml::Refused;
use serde::Serialize;

/// A formula worked on the inputs given.
#[derive(Debug, Clone, Serialize)]
pub struct ReckonView {
    /// Name of the formula.
    pub name: &'static str,
    /// What it gives.
    pub gives: &'static str,
    /// Likely value in `unit`.
    pub value: f64,
    /// SI unit.
    pub unit: &'static str,
    /// Least.
    pub low: f64,
    /// Most.
    pub high: f64,
    /// The formula.
    pub formula: &'static str,
    /// Where it is from.
    pub source: &'static str,
    /// How far to trust it.
    pub known: &'static str,
    /// Where it holds.
    pub holds: &'static str,
    /// Inputs, given or taken by default.
    pub inputs: Vec<(String, String)>,
    /// Inputs outside the span in which it holds.
    pub warnings: Vec<String>,
    #[serde(skip)]
    kind: Kind,
    #[serde(skip)]
    range: Range,
}

/// The formula of this name.
///
/// # Errors
/// Where there is none: says what is near.
pub fn formula(name: &str) -> Result<&'static Formula, Refused> {
    formulas::find(name).ok_or_else(|| {
        let says = format!("no formula is called `{name}`");
        let known = formulas::ALL.iter().map(|f| f.name);
        Refused::unknown(says, name, known, "`pourwright reckon` lists them")
    })
}

impl ReckonView {
    /// Works a formula on `key=value` texts.
    ///
    /// # Errors
    /// Every input that is unknown, unreadable or missing.
    pub fn new(formula: &'static Formula, given: &[String]) -> Result<Self, Vec<Refused>> {
        let mut faults: Vec<Refused> = Vec::new();
        let mut values: Vec<Option<Range>> = vec![None; formula.inputs.len()];
        for text in given {
            let Some((key, value)) = text.split_once('=') else {
                let first = &formula.inputs[0];
                let try_it = format!("try {}={}", first.name, one_example(first.kind));
                faults.push(Refused::new(format!("`{text}` is not key=value"), try_it));
                continue;
            };
            let Some(i) = formula.inputs.iter().position(|i| i.name == key.trim()) else {
                let names: Vec<_> = formula.inputs.iter().map(|i| i.name).collect();
                let says = format!("{} takes no `{key}`", formula.name);
                let all = format!("it takes {}", names.join(", "));
                faults.push(Refused::unknown(says, key, names, all));
                continue;
            };
            match input(formula, i, value.trim()).and_then(|range| possible(formula, i, range)) {
                Ok(range) => values[i] = Some(range),
                Err(e) => faults.push(Refused::new(format!("{key}: {}", e.says), e.hint)),
            }
        }
        for (input, value) in formula.inputs.iter().zip(&mut values) {
            if value.is_none() {
                *value = input.default.map(Range::exact);
            }
            if value.is_none() && !given.iter().any(|g| g.starts_with(&format!("{}=", input.name)))
            {
                let example =
                    input.words.first().copied().unwrap_or_else(|| one_example(input.kind));
                let says = format!("`{}` is missing: {}", input.name, input.kind.words());
                faults.push(Refused::new(says, format!("add {}='{example}'", input.name)));
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let values: Vec<Range> = values.into_iter().flatten().collect();
        let range = formula.over(&values);
        let inputs = formula.inputs.iter().zip(&values).map(|(input, value)| {
            let shown = match input.words.get(value.likely as usize) {
                Some(word) => (*word).to_owned(),
                None => show_si(input.kind, value.likely),
            };
            (input.name.to_owned(), shown)
        });
        let warnings: Vec<String> = formula.strays(&values).into_iter().map(Into::into).collect();
        if ![range.low, range.likely, range.high].iter().all(|v| v.is_finite()) {
            return Err(vec![format!("{}: there is none for these inputs", formula.gives).into()]);
        }
        if range.likely < 0.0 && never_negative(formula.kind) {
            let says = format!("{} would be less than zero for these inputs", formula.gives);
            return Err(vec![says.into()]);
        }
        Ok(Self {
            name: formula.name,
            gives: formula.gives,
            value: formula.kind.told(range.likely),
            unit: formula.kind.symbol(),
            low: formula.kind.told(range.low),
            high: formula.kind.told(range.high),
            formula: formula.says,
            source: formula.source,
            known: formula.known.words(),
            holds: formula.holds,
            inputs: inputs.collect(),
            warnings,
            kind: formula.kind,
            range,
        })
    }

    /// As text.
    pub fn text(&self, look: &Look, units: System) -> String {
        let (likely, span) = show_spanned(self.kind, self.range, units);
        let span = span.map_or(String::new(), |s| format!("  ({s})"));
        let mut out = format!("{}  {likely}{span}\n", self.gives);
        out += &look.wrapped_from(&format!("= {}", self.formula), 2);
        for (name, shown) in &self.inputs {
            out += &format!("  {name:<24}  {shown}\n");
        }
        out += &look.wrapped_from(&format!("  [{}; {}]", self.source, self.known), 3);
        out += &look.wrapped_from(&format!("  holds: {}", self.holds), 4);
        for warning in &self.warnings {
            out += &look.wrapped_from(&format!("  warning: {warning}"), 4);
        }
        out
    }
}

/// Whether nothing of a kind is ever less than zero.
fn never_negative(kind: Kind) -> bool {
    !matches!(kind, Kind::Temperature | Kind::Number | Kind::Angle | Kind::Force | Kind::Moment)
}

/// Refuses what no input can be: a share over the whole, a size below zero.
fn possible(formula: &Formula, i: usize, range: Range) -> Result<Range, Unreadable> {
    let kind = formula.inputs[i].kind;
    let fault =
        |says: &str| Err(Unreadable { says: says.into(), hint: format!("try {}", kind.example()) });
    if kind == Kind::Ratio && range.high > 1.0 {
        return fault("a share is 100 % at most");
    }
    let least = if kind == Kind::Temperature { Some(0.0) } else { None };
    let least = least.or_else(|| never_negative(kind).then_some(0.0));
    if least.is_some_and(|least| range.low < least) {
        return fault(match kind {
            Kind::Temperature => "this is below absolute zero",
            _ => "this cannot be less than zero",
        });
    }
    Ok(range)
}

fn input(formula: &Formula, i: usize, text: &str) -> Result<Range, Unreadable> {
    let input = &formula.inputs[i];
    if input.words.is_empty() {
        return read(input.kind, text);
    }
    let place = input.words.iter().position(|w| w.eq_ignore_ascii_case(text));
    place.map(|p| Range::exact(p as f64)).ok_or_else(|| Unreadable {
        says: format!("`{text}` is not a choice"),
        hint: format!("choose from: {}", input.words.join(", ")),
    })
}

/// One value of a kind as it may be written, where [`Kind::example`] has two.
fn one_example(kind: Kind) -> &'static str {
    kind.example().split(", or ").next().unwrap_or_default()
}

/// Every formula in a line each.
pub fn list(look: &Look) -> String {
    let mut table =
        look.table(&[("formula", Side::Left), ("gives", Side::Left), ("as", Side::Left)]);
    for f in formulas::ALL {
        table.add_row(vec![f.name, f.gives, f.says]);
    }
    format!(
        "{}\n`reckon NAME` shows what one takes; `reckon NAME key=value ...` works it.\n",
        finished(&table)
    )
}

/// What a formula takes, gives and rests on.
pub fn about(formula: &Formula, look: &Look) -> String {
    let mut out = format!("{}: {}, {}\n", formula.name, formula.gives, formula.kind.words());
    out += &look.wrapped_from(&format!("= {}", formula.says), 2);
    out.push('\n');
    let mut table = look.table(&[
        ("input", Side::Left),
        ("what", Side::Left),
        ("such as", Side::Left),
        ("by default", Side::Left),
        ("holds from .. to", Side::Left),
    ]);
    for i in formula.inputs {
        let such =
            if i.words.is_empty() { i.kind.example().to_owned() } else { i.words.join(", ") };
        let default = match (i.default, i.words) {
            (Some(d), []) => show_si(i.kind, d),
            (Some(d), words) => words.get(d as usize).copied().unwrap_or_default().to_owned(),
            (None, _) => String::new(),
        };
        let span = if i.words.is_empty() {
            format!("{} .. {}", show_si(i.kind, i.valid.0), show_si(i.kind, i.valid.1))
        } else {
            String::new()
        };
        table.add_row(vec![i.name.to_owned(), i.about.to_owned(), such, default, span]);
    }
    out += &finished(&table);
    out.push('\n');
    out += &look.wrapped_from(&format!("[{}; {}]", formula.source, formula.known.words()), 1);
    out += &look.wrapped_from(&format!("holds: {}", formula.holds), 2);
    out
}
