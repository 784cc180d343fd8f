//! Moulds on their way: rammed, poured, shaken out, inspected; and the work at the bench.

use super::Fold;
use super::at::At;
use crate::figure::{Figure, Kind, show};
use crate::journal::{Disposition, Done, Entry, Event, Inspected, Poured, Rammed, ShakenOut, Word};
use crate::manifest::{Id, Step};
use crate::model::history::{Attempt, Bench, Finding, Heat, Worked};
use crate::yaml::Code;
use chrono::NaiveDateTime;

impl Fold<'_> {
    pub(super) fn rammed(&mut self, entry: &Entry, e: &Rammed) {
        let line = entry.line;
        let Some(pattern) = self.pattern(line, &e.pattern) else { return };
        self.rammed_makes_sense(line, e, pattern);
        let mut castings = Vec::new();
        for (id, n) in &e.castings {
            if let Some(part) = self.part_at(At::named((line, id)), &id.value) {
                castings.push((part, *n));
            }
        }
        if let Some(flask) = &e.flask {
            self.flask(line, flask);
        }
        let before = self.history.attempts.get_mut(&e.mould.value);
        if e.again.is_some() {
            match before.filter(|a| a.poured.is_none()) {
                Some(before) if before.castings == castings => {
                    before.rammed = entry.at;
                    before.moisture = e.moisture.as_ref().map(Figure::si);
                }
                _ => self.fault(
                    Code::Story,
                    (line, &e.mould),
                    format!("no mould `{}` stands that holds these castings", e.mould.value),
                    "`again: yes` is for a mould of this name that was not poured",
                ),
            }
            return;
        }
        if before.is_some() {
            self.rammed_twice = Some(line);
            let says = format!("mould `{}` was rammed before", e.mould.value);
            self.fault(
                Code::RepeatedId,
                (line, &e.mould),
                says,
                "give each mould a name of its own; `again: yes` for one that was knocked out and rammed anew",
            );
            return;
        }
        self.history.attempts.insert(
            e.mould.value.clone(),
            Attempt {
                mould: e.mould.value.clone(),
                pattern,
                castings,
                rammed: entry.at,
                moisture: e.moisture.as_ref().map(Figure::si),
                poured: None,
                shaken_out: None,
                findings: Vec::new(),
            },
        );
        // What lies beside the pattern is made too.
        let lots = &self.history.attempts[&e.mould.value].castings;
        let parts = lots.iter().filter_map(|(i, _)| self.build.parts[*i].casting.as_ref());
        self.history.patterns.extend(parts.map(|c| c.pattern).chain([pattern]));
    }

    pub(super) fn shaken_out(&mut self, entry: &Entry, e: &ShakenOut) {
        let line = entry.line;
        let Some(attempt) = self.attempt(line, &e.mould) else { return };
        if attempt.poured.is_none() {
            self.not_poured(line, &e.mould);
        } else if let Some(before) = attempt.shaken_out {
            let on = before.format("%Y-%m-%d %H:%M");
            let says = format!("mould `{}` was shaken out before, {on}", e.mould.value);
            self.fault(
                Code::Story,
                (line, &e.mould),
                says,
                "is this another mould, or the same one logged twice?",
            );
        } else {
            attempt.shaken_out = Some(entry.at);
        }
    }

    pub(super) fn done(&mut self, entry: &Entry, e: &Done) {
        let line = entry.line;
        if let Some(part) = &e.part
            && let Some(part) = self.part(line, part)
        {
            self.done_makes_sense(entry, part, e.step);
            if self.history.done.entry(part).or_default().insert(e.step) {
                self.hours_make_sense(line, e, Bench::Part(part, e.step));
            }
            self.history.again.remove(&(part, e.step));
            self.done_on.insert((part, e.step), entry.at);
            if e.step == Step::Core {
                // For all that is still to be cast then.
                let pieces = self.history.pieces(part);
                let wanted = self.build.parts[part].given.quantity;
                let to_cast = wanted.saturating_sub(pieces.good() + pieces.under_way());
                self.history.cores.insert(part, self.history.cast(part) + to_cast);
            }
        }
        if let Some(pattern) = &e.pattern
            && let Some(pattern) = self.pattern(line, pattern)
            && self.history.patterns.insert(pattern)
        {
            self.hours_make_sense(line, e, Bench::Pattern(pattern));
        }
    }

    pub(super) fn worked(&mut self, entry: &Entry, e: &crate::journal::Worked) {
        let line = entry.line;
        let bench = match (&e.part, &e.pattern) {
            (Some(part), _) => self.part(line, part).map(|part| {
                self.done_makes_sense(entry, part, e.step);
                Bench::Part(part, e.step)
            }),
            (None, Some(pattern)) => self.pattern(line, pattern).map(Bench::Pattern),
            (None, None) => None,
        };
        let worked = Worked { at: entry.at, hours: e.hours.clone(), left: e.left.clone() };
        if let Some(bench) = bench {
            self.history.worked.entry(bench).or_default().push(worked);
        }
    }

    pub(super) fn poured(&mut self, entry: &Entry, e: &Poured) {
        let line = entry.line;
        let build = self.build;
        let shop = &build.shop;
        let alloys = build.handbook.alloys.keys().map(|k| &**k);
        let hint = "look at the handbook's alloys";
        self.known((Code::UnknownAlloy, line), ("alloy", &e.alloy), alloys, hint);
        if let Some(pot) = &e.crucible {
            self.crucible(line, pot);
        }
        if let Some(furnace) = &e.furnace {
            let ids = shop.furnaces.keys().map(|k| &**k);
            let hint = "look at the ids under `furnaces:`";
            self.known((Code::UnknownFurnace, line), ("furnace", furnace), ids, hint);
        }
        self.heat_makes_sense(line, e);
        let among = |mould: &Id| e.moulds.iter().any(|w| w.value == *mould);
        for (mould, time) in e.filled.iter().filter(|(mould, _)| !among(mould)) {
            let says = format!("`{mould}` is not among the moulds of this heat");
            self.fault(
                Code::UnknownMould,
                At::named((line, time)),
                says,
                "add it to `moulds`, in order",
            );
        }
        for mould in &e.moulds {
            let Some(attempt) = self.attempt(line, mould) else { continue };
            if let Some((heat, _)) = &attempt.poured {
                let says = format!("mould `{}` was poured before, in heat `{heat}`", mould.value);
                self.fault(
                    Code::Story,
                    (line, mould),
                    says,
                    "a mould is poured once; is this another mould?",
                );
            } else {
                attempt.poured = Some((e.heat.value.clone(), entry.at));
            }
        }
        for (source, mass) in &e.charge {
            if !self.charged(At::named((line, mass)), source) {
                continue;
            }
            let name = build.charged_from(&e.alloy.value, source);
            if self.history.stock.contains_key(&name) {
                self.taken(entry, &name, (mass.si(), mass.node().range().low));
                *self.history.stock.entry(name.clone()).or_default() -= mass.si();
            }
        }
        let named = e.furnace.as_ref().map(|f| f.value.clone());
        let furnace = named.or_else(|| shop.furnaces.keys().next().cloned());
        // The entries come in the order they happened.
        let mut that_day =
            self.history.heats.values().rev().take_while(|h| h.at.date() == entry.at.date());
        let hot = furnace.is_some() && that_day.any(|heat| heat.furnace == furnace);
        let heat = Heat { at: entry.at, poured: e.clone(), furnace, hot };
        if self.history.heats.insert(e.heat.value.clone(), heat).is_some() {
            let says = format!("heat `{}` was poured before", e.heat.value);
            self.fault(Code::RepeatedId, (line, &e.heat), says, "give each heat a name of its own");
        }
    }

    pub(super) fn inspected(&mut self, entry: &Entry, e: &Inspected) {
        let (at, line) = (entry.at, entry.line);
        let Some(part) = self.part(line, &e.part) else { return };
        let Some(attempt) = self.attempt(line, &e.mould) else { return };
        let cast = attempt.castings.iter().find(|(p, _)| *p == part).map_or(0, |(_, n)| *n);
        let now = attempt.pieces(part);
        let (poured, out) = (attempt.poured.is_some(), attempt.shaken_out.is_some());
        if !poured {
            self.not_poured(line, &e.mould);
            return;
        }
        if !out {
            let says = format!("mould `{}` was not shaken out before this", e.mould.value);
            let meant = |m: &Word| m.value == e.mould.value || self.unheard_of(m);
            let hint = self.told(|e| matches!(e, Event::ShakenOut(e) if meant(&e.mould)));
            let hint = hint.unwrap_or("log it as shaken out first".into());
            self.fault(Code::Story, (line, &e.mould), says, hint);
        }
        let Some(attempt) = self.history.attempts.get_mut(&e.mould.value) else { return };
        if e.pieces > now.under_way() + now.good() {
            let says = format!(
                "{cast} {} of `{}` came out of mould `{}`",
                if cast == 1 { "piece" } else { "pieces" },
                e.part.value,
                e.mould.value
            );
            let of = |r: &Rammed| cast == 0 && r.mould.value == e.mould.value;
            let hint = self.told(|e| matches!(e, Event::Rammed(e) if of(e)));
            let hint = hint.unwrap_or("correct the number of pieces, or the mould".into());
            self.fault(Code::Story, (line, &e.mould), says, hint);
            return;
        }
        let again = e.pieces.saturating_sub(now.under_way());
        let out_since = attempt.shaken_out;
        attempt.findings.push(Finding {
            at,
            part,
            pieces: e.pieces,
            disposition: e.disposition,
            mass: e.mass.clone(),
            blemishes: e.blemishes.clone(),
            says: entry.says.clone(),
        });
        match e.disposition {
            Disposition::Scrap => self.lose_work(part, e.pieces, out_since),
            _ if again > 0 => self.judged_again(line, e, again),
            _ => {}
        }
        if let Some(mass) = &e.mass
            && mass.si() > 10_000.0
        {
            let shown = show(Kind::Mass, mass.si(), self.build.header.units);
            self.fault(
                Code::Size,
                (line, mass),
                format!("a casting of {shown}"),
                "is the unit right?",
            );
        }
    }

    /// What was done to castings that are scrapped is to do again on those that replace them.
    fn lose_work(&mut self, part: usize, pieces: u32, out: Option<NaiveDateTime>) {
        let of = &self.build.parts[part];
        let after = of.steps().into_iter().skip_while(|step| *step != Step::ShakeOut).skip(1);
        let Some(done) = self.history.done.get_mut(&part) else { return };
        for step in after {
            let was_done = done.remove(&step);
            let again = self.history.again.get(&(part, step)).copied();
            // Another may have been lost already of those that were worked on together.
            let done_on = self.done_on.get(&(part, step));
            let with_them = again.is_some() && out.zip(done_on).is_some_and(|(out, on)| out <= *on);
            if was_done || with_them {
                let again = (again.unwrap_or(0) + pieces).min(of.given.quantity);
                self.history.again.insert((part, step), again);
            }
        }
    }
}
