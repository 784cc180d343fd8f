//! What the build alone tells of an entry: that it cannot be so, which is a fault, or that it is
//! unlikely, which is pointed out.

use super::Fold;
use super::at::{At, under};
use crate::figure::{Figure, Kind, Mass, Quantity, Range, Temperature, show};
use crate::handbook::Alloy;
use crate::handbook::formulas::heat::melt_heat;
use crate::journal::{Done, Entry, Inspected, Poured, Rammed, Remark};
use crate::manifest::{Crucible, Id, Making, Step};
use crate::model::history::Bench;
use crate::yaml::Code;

/// Above the top of its pouring range by more than this no alloy is poured: the trade keeps within
/// 100 K, and burners within this of it. From memory.
const TOO_HOT: f64 = 400.0;

/// Scales err: this much of a mass is no difference.
const SCALES: f64 = 0.01;

fn range<Q: Quantity>(figure: &Figure<Q>) -> Range {
    figure.node().range()
}

/// All that was charged.
fn charged(poured: &Poured) -> Option<Range> {
    let add = |a: Range, b: Range| Range {
        low: a.low + b.low,
        likely: a.likely + b.likely,
        high: a.high + b.high,
    };
    poured.charge.values().map(range).reduce(add)
}

impl Fold<'_> {
    fn odd(&mut self, line: usize, says: String) {
        self.history.odd.push(Remark::at(line, says));
    }

    fn shown(&self, kind: Kind, si: f64) -> String {
        show(kind, si, self.build.header.units)
    }

    /// Parts of a mould are cast, and come off the pattern in it.
    pub(super) fn rammed_makes_sense(&mut self, line: usize, e: &Rammed, pattern: usize) {
        let build = self.build;
        for (id, _) in &e.castings {
            let Some(part) = build.part(&id.value) else { continue };
            let Some(casting) = &build.parts[part].casting else {
                let says = format!("`{}` is not cast", id.value);
                let hint = "name another part, or give this one a `casting:` in the manifest";
                self.fault(Code::Story, At::named((line, id)), says, hint);
                continue;
            };
            let own = casting.pattern;
            let beside = build.boxes.iter().any(|b| b.contains(&own) && b.contains(&pattern));
            if own != pattern && !beside {
                let says = format!(
                    "`{}` is cast off `{}`, which does not lie beside `{}`",
                    id.value, build.patterns[own].id, e.pattern.value
                );
                self.odd(line, says);
            }
        }
    }

    /// A heat: its temperature, its pot, its fuel, and what it fills.
    pub(super) fn heat_makes_sense(&mut self, line: usize, e: &Poured) {
        let build = self.build;
        let Some(alloy) = build.handbook.alloys.get(&e.alloy.value) else { return };
        self.temperature(line, e, alloy);
        if let Some(charged) = charged(e) {
            self.heel(line, e, charged);
            self.fuel(line, e, alloy, charged);
        }
        if e.charge.is_empty() && !e.moulds.is_empty() {
            let says = format!("no charge is logged for heat {}", e.heat.value);
            self.odd(line, format!("{says}: its metal counts as estimated for its moulds"));
        }
        let pot = e.crucible.as_ref();
        if let Some((id, pot)) = pot.and_then(|c| build.shop.crucibles.get_key_value(&c.value)) {
            self.pot(line, e, alloy, (id, pot));
        }
        for mould in &e.moulds {
            let Some(attempt) = self.history.attempts.get(&mould.value) else { continue };
            let parts = attempt.castings.iter().map(|(part, _)| &build.parts[*part]);
            let meant = parts.filter_map(|p| Some((p.id(), &p.casting.as_ref()?.alloy.id)));
            let other = meant.clone().find(|(_, meant)| **meant != alloy.id);
            if let Some((part, meant)) = other {
                let says = format!("`{part}` in mould `{}` is to be {meant}", mould.value);
                self.odd(line, format!("{says}, and is poured of {}", alloy.id));
            }
        }
    }

    fn temperature(&mut self, line: usize, e: &Poured, alloy: &Alloy) {
        let Some(poured) = e.temperature.as_ref().map(range) else { return };
        let shown = |at| self.shown(Kind::Temperature, at);
        let hint = "correct the temperature; is the unit right?";
        if let Some(liquidus) = alloy.liquidus.as_ref().map(range)
            && poured.high < liquidus.low
        {
            let says = format!(
                "at {} {} is not liquid: it begins to freeze at {}",
                shown(poured.likely),
                alloy.id,
                shown(liquidus.low)
            );
            self.fault(Code::Size, (line, &e.temperature), says, hint);
        } else if let Some(pours) = alloy.pours.as_ref().map(range)
            && poured.low > pours.high + TOO_HOT
        {
            let says = format!(
                "{} is more than {TOO_HOT} K above the {} up to which {} is poured",
                shown(poured.likely),
                shown(pours.high),
                alloy.id
            );
            self.fault(Code::Size, (line, &e.temperature), says, hint);
        }
    }

    fn heel(&mut self, line: usize, e: &Poured, charged: Range) {
        let Some(heel) = e.heel.as_ref().map(range) else { return };
        if heel.low > charged.high * (1.0 + SCALES) {
            let [heel, charged] = [heel, charged].map(|r| self.shown(Kind::Mass, r.likely));
            let says = format!("a heel of {heel} is left of a charge of {charged}");
            let hint = "correct the heel, or give all that was charged";
            self.fault(Code::Size, (line, &e.heel), says, hint);
        }
    }

    /// Fuel gives no more than its heating value; the charge takes up its heat with nothing lost.
    fn fuel(&mut self, line: usize, e: &Poured, alloy: &Alloy, charged: Range) {
        let build = self.build;
        let furnaces = &build.shop.furnaces;
        let furnace = match &e.furnace {
            Some(named) => furnaces.get(&named.value),
            None => furnaces.values().next().filter(|_| furnaces.len() == 1),
        };
        let told = || {
            let fuel = range(e.fuel.as_ref()?);
            let name = &furnace?.fuel;
            let heating = range(build.handbook.fuels.get(name)?.as_ref()?);
            let liquidus = range(alloy.liquidus.as_ref()?).low;
            let needed = melt_heat(
                Mass::from_si(charged.low),
                Quantity::from_si(range(alloy.solid_heat.as_ref()?).low),
                Quantity::from_si(range(alloy.latent_heat.as_ref()?).low),
                Quantity::from_si(range(alloy.liquid_heat.as_ref()?).low),
                Temperature::from_si(liquidus),
                Temperature::from_si(293.15),
                Temperature::from_si(e.temperature.as_ref().map_or(liquidus, |t| range(t).low)),
            );
            let given = fuel.high * heating.high;
            (given < needed.si()).then_some((name, fuel.likely, given, needed.si()))
        };
        let Some((name, fuel, given, needed)) = told() else { return };
        let says = format!(
            "{} of {name} give at most {}; the charge takes up {} from a cold start, even if nothing is lost",
            self.shown(Kind::Mass, fuel),
            self.shown(Kind::Energy, given),
            self.shown(Kind::Energy, needed)
        );
        self.fault(
            Code::Size,
            (line, &e.fuel),
            says,
            "correct the fuel or the charge; is the unit right?",
        );
    }

    /// One alloy family to a pot, and no more than it holds.
    fn pot(&mut self, line: usize, e: &Poured, alloy: &Alloy, (id, pot): (&Id, &Crucible)) {
        let build = self.build;
        let family = alloy.family;
        if let Some(kept) = pot.family.filter(|kept| *kept != family) {
            let says =
                format!("{} is melted in `{id}`, which is kept for {}", alloy.id, kept.word());
            self.odd(line, says);
        }
        if pot.family.is_none() {
            let before = self
                .history
                .heats
                .values()
                .rev()
                .find(|h| h.poured.crucible.as_ref().is_some_and(|c| c.value == *id));
            let before = before.and_then(|h| {
                let alloy = build.handbook.alloys.get(&h.poured.alloy.value)?;
                (alloy.family != family).then_some((&h.poured.heat.value, alloy.id.clone()))
            });
            if let Some((heat, other)) = before {
                let says = format!("`{id}` held {other} in heat `{heat}`");
                self.odd(line, format!("{says}: one alloy family to a crucible"));
            }
        }
        let density = alloy.liquid_density.as_ref().or(alloy.density.as_ref());
        let (Some(charged), Some(liquid)) = (charged(e), density) else { return };
        let (brim, density) = (range(&pot.holds), range(liquid));
        let loss = alloy.melt_loss.as_ref().map_or(0.0, |l| range(l).high);
        let least = charged.low * (1.0 - loss) / density.high;
        let likely = charged.likely / density.likely;
        let takes = pot.takes(liquid).low();
        let [metal, room, held, takes_shown] = [
            self.shown(Kind::Mass, charged.likely),
            self.shown(Kind::Volume, likely),
            self.shown(Kind::Volume, brim.likely),
            self.shown(Kind::Mass, takes),
        ];
        if least > brim.high && !pot.by_number && !build.shop.pours_from_two {
            let hint = "correct the charge or the crucible; is the unit right?";
            let says = format!("{metal} of {} is {room} when liquid", alloy.id);
            let says = format!("{says}; `{id}` holds {held} to the brim");
            self.fault(Code::Size, (line, &e.crucible), says, hint);
        } else if charged.likely > takes * (1.0 + SCALES) {
            let of = &alloy.id;
            let says =
                format!("{metal} of {of} is charged; `{id}` takes no more than {takes_shown}");
            self.odd(line, format!("{says} at its working fill"));
        }
    }

    /// More pieces were found good than waited for it: some had been found good before.
    pub(super) fn judged_again(&mut self, line: usize, e: &Inspected, again: u32) {
        let (part, mould) = (&e.part.value, &e.mould.value);
        let says = match again {
            1 => format!("1 piece of `{part}` in mould `{mould}` was found good before"),
            n => format!("{n} pieces of `{part}` in mould `{mould}` were found good before"),
        };
        self.odd(line, format!("{says}: this finding takes the place of that one"));
    }

    /// The hours of a step that is finished are all of them.
    pub(super) fn hours_make_sense(&mut self, line: usize, e: &Done, bench: Bench) {
        let before: f64 = self.history.worked_on(bench).iter().map(|w| w.hours.high()).sum();
        let Some(hours) = e.hours.as_ref().map(Figure::low).filter(|h| *h < before) else { return };
        let [hours, before] = [hours, before].map(|si| self.shown(Kind::Time, si));
        let says = format!("{hours} in all, but {before} were logged as worked on it before");
        self.odd(line, format!("{says}: `hours` are those from first to last"));
    }

    /// A step of a part is one that it can have, and comes after the one it needs.
    pub(super) fn done_makes_sense(&mut self, entry: &Entry, part: usize, step: Step) {
        let build = self.build;
        let own = &build.parts[part];
        let id = own.id();
        let (says, hint) = match (&own.casting, step) {
            (Some(casting), Step::Pattern) => {
                let pattern = &build.patterns[casting.pattern].id;
                let says = "a pattern is finished under its own id".to_owned();
                (says, format!("write {{pattern: {pattern}}}"))
            }
            (Some(_), Step::Ram | Step::Pour | Step::ShakeOut | Step::Inspect) => {
                let event = match step {
                    Step::Ram => "rammed",
                    Step::Pour => "poured",
                    Step::ShakeOut => "shaken-out",
                    _ => "inspected",
                };
                let says = format!("this does not say which mould it was ({})", step.word());
                (says, format!("log it as `{event}`, with its mould"))
            }
            (Some(_), Step::Fettle) => {
                if self.history.attempts_of(part).any(|a| a.shaken_out.is_some()) {
                    return;
                }
                let says = format!("no casting of `{id}` was shaken out before this");
                let told = self.told(|e| self.tells_of(e, id));
                (says, told.unwrap_or("log the mould as shaken out first".to_owned()))
            }
            (Some(_), Step::Machine | Step::Scrape | Step::Fit) => {
                // A part that nobody inspects is as good as it comes out of the sand.
                let looked_at = own.steps().contains(&Step::Inspect);
                let mut attempts = self.history.attempts_of(part);
                if match looked_at {
                    true => attempts.any(|a| a.pieces(part).good() > 0),
                    false => attempts.any(|a| a.shaken_out.is_some()),
                } {
                    return;
                }
                let says = format!("no casting of `{id}` was found good before this");
                let told = self.told(|e| self.tells_of(e, id));
                (says, told.unwrap_or("log the casting as inspected first".to_owned()))
            }
            (
                None,
                Step::Pattern
                | Step::Core
                | Step::Ram
                | Step::Pour
                | Step::ShakeOut
                | Step::Fettle
                | Step::Inspect,
            ) => {
                let is = match own.given.making {
                    Making::Bought(_) => "bought",
                    _ => "made",
                };
                let words: Vec<&str> = own.steps().iter().map(|s| s.word()).collect();
                let says = format!("`{id}` is {is}, not cast: it has no step `{}`", step.word());
                (says, format!("its steps are {}", words.join(", ")))
            }
            _ => return,
        };
        let step = under(&[entry.event.word(), "step"]);
        self.fault(Code::Story, At::new(entry.line, &step), says, hint);
    }

    /// What leaves a stock was in it, as far as the journal knows of it.
    pub(super) fn taken(&mut self, entry: &Entry, stock: &str, (amount, least): (f64, f64)) {
        // Gates and feeders come back as returns, which the journal does not weigh.
        if stock == "returns" || stock.ends_with("-returns") {
            return;
        }
        let kind = if self.build.is_counted(stock) { Kind::Pieces } else { Kind::Mass };
        let taken = self.shown(kind, amount);
        let Some(there) = self.history.stock.get(stock).copied() else {
            let says = format!("{taken} of `{stock}` is taken, but none is on record");
            return self.odd(entry.line, says);
        };
        let there = there.max(0.0);
        if least > there * (1.0 + SCALES) {
            let there = self.shown(kind, there);
            let says = format!("{taken} of `{stock}` is taken, but only {there} is on record");
            self.odd(entry.line, says);
        }
    }
}
