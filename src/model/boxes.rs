//! Patterns that share a flask: what must be the same for all that lies in it.

use super::rings::rings;
use super::{Build, Part, Pattern};
use crate::figure::Route;
use crate::yaml::{Code, Fault, Given, Refused};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Patterns in one flask, at the most: every way to lay out so many is tried.
const MOST: usize = 4;

/// Faults of the flasks that hold several patterns, each told where the pattern is named.
pub(super) fn check(
    patterns: &[Pattern],
    parts: &[Part],
    boxes: &[Vec<usize>],
    faults: &mut Vec<Fault>,
) {
    let mut taken: BTreeMap<usize, usize> = BTreeMap::new();
    for inside in boxes {
        let Some((&lead, others)) = inside.split_first() else { continue };
        let id = |i: usize| &patterns[i].id;
        let named = |i: usize| -> &Given<Arc<str>> {
            let given = &patterns[lead].given.beside;
            given.iter().find(|g| g.value == *id(i)).unwrap_or(&given[0])
        };
        let mut fault = |code, route: &Route, says: String, hint: String| {
            faults.push(Fault::value(code, route.clone(), says, hint));
        };
        if inside.len() > MOST {
            let says = format!("{} patterns in one flask; {MOST} are the most", inside.len());
            fault(Code::Size, &named(others[MOST - 1]).route, says, "ram some alone".into());
        }
        for &i in inside {
            let at = if i == lead { others[0] } else { i };
            let route = &named(at).route;
            if let Some(other) = taken.insert(i, lead) {
                let says = format!("`{}` shares a flask with `{}` already", id(i), id(other));
                let hint = format!("name all that lies in one flask under `{}`", id(other));
                fault(Code::RepeatedId, route, says, hint);
            }
            if patterns[i].given.length.is_none() {
                let says =
                    format!("`{}` has no `size`: its place in the flask cannot be found", id(i));
                let hint = format!("add `size: 120 x 80 x 40 mm` to `{}`", id(i));
                fault(Code::MissingKey, route, says, hint);
            }
        }
        for &other in others {
            let route = &named(other).route;
            for (what, differ) in differences(patterns, parts, inside, other) {
                let says = format!("one flask, but {differ}");
                let hint = format!(
                    "what lies in one flask has the same {what}; ram `{}` alone",
                    id(other)
                );
                fault(Code::Shape, route, says, hint);
            }
        }
    }
}

impl Build {
    /// Lets two patterns that lie alone share a flask; the first leads.
    ///
    /// # Errors
    /// Why they cannot.
    pub fn put_beside(&mut self, lead: usize, other: usize) -> Result<(), Refused> {
        let id = |i: usize| &self.patterns[i].id;
        if lead == other {
            return Err(format!(
                "`{}` cannot lie beside itself; `cavities:` says how often",
                id(lead)
            )
            .into());
        }
        for i in [lead, other] {
            if self.boxes.iter().any(|inside| inside.contains(&i)) {
                return Err(format!("`{}` shares a flask already", id(i)).into());
            }
            if self.patterns[i].given.length.is_none() {
                return Err(format!(
                    "`{}` has no `size`: its place in the flask cannot be found",
                    id(i)
                )
                .into());
            }
        }
        let unlike = differences(&self.patterns, &self.parts, &[lead, other], other);
        if let Some((_, differ)) = unlike.into_iter().next() {
            return Err(format!("one flask, but {differ}").into());
        }
        self.boxes.push(vec![lead, other]);
        let mut faults = Vec::new();
        rings(&self.parts, &self.boxes, &mut faults);
        match faults.is_empty() {
            true => Ok(()),
            false => {
                self.boxes.pop();
                let id = |i: usize| &self.patterns[i].id;
                Err(format!("castings of `{}` and `{}` wait for each other", id(lead), id(other))
                    .into())
            }
        }
    }
}

/// What a pattern has otherwise than those before it in the same flask, in words.
fn differences(
    patterns: &[Pattern],
    parts: &[Part],
    inside: &[usize],
    other: usize,
) -> Vec<(&'static str, String)> {
    let before = || inside.iter().copied().take_while(|i| *i != other);
    let mut out = Vec::new();
    let mut tell = |what, of: &dyn Fn(usize) -> Option<(String, Arc<str>)>| {
        let Some((mine, has)) = of(other) else { return };
        let unlike = before().filter_map(of).find(|(_, theirs)| *theirs != has);
        if let Some((theirs, had)) = unlike {
            out.push((what, format!("`{theirs}` has the {what} {had} and `{mine}` {has}")));
        }
    };
    let pattern = |i: usize| patterns[i].id.to_string();
    tell("sand", &|i| Some((pattern(i), patterns[i].sand.as_ref()?.id.clone())));
    tell("flask", &|i| Some((pattern(i), patterns[i].given.flask.as_ref()?.value.clone())));
    let cast = |i: usize| {
        let castings = parts.iter().filter_map(move |p| Some((p, p.casting.as_ref()?)));
        castings.filter(move |(_, c)| c.pattern == i)
    };
    let mut whole = |what, of: &dyn Fn(&super::Casting) -> Option<Arc<str>>| {
        let word = |i: usize| cast(i).filter_map(|(p, c)| Some((p.id().to_string(), of(c)?)));
        let first = before().flat_map(word).next();
        let Some((theirs, had)) = first.or_else(|| word(other).next()) else { return };
        // The parts of the first pattern are looked at with the second.
        let first = before().next().filter(|_| before().count() == 1);
        let mut seen = first.into_iter().chain([other]).flat_map(word);
        if let Some((mine, has)) = seen.find(|(_, has)| *has != had) {
            out.push((what, format!("`{theirs}` has the {what} {had} and `{mine}` {has}")));
        }
    };
    whole("alloy", &|c| Some(c.alloy.id.clone()));
    whole("crucible", &|c| Some(c.given.crucible.as_ref()?.value.clone()));
    out
}
