//! The mould card: all that is needed to ram one mould.

use super::pen::Sketch;
use super::shared::SharedFlask;
use super::sketch::sketch;
use super::{Paper, SheetHead, Weights, fill_words, page, wait_words};
use crate::estimate::{CastingEstimate, Estimates, Together};
use crate::figure::{Figure, Kind, Length, Quantity, SafeEnd, System, show};
use crate::model::{Build, Casting};
use crate::view::cautions::cautions;
use crate::view::freezing::FreezingTold;
use crate::view::page::Unfilled;
use crate::view::page::{
    AttemptView, ChainRow, ChangeView, Fit, Shown, attempt, chain_rows, changes, crucible, flask,
    plain, shown,
};
use serde::Serialize;

/// Cards, one a page.
#[derive(Debug, Clone, Serialize)]
pub struct MouldCards {
    /// What stands at the head.
    pub head: SheetHead,
    /// The cards.
    pub cards: Vec<MouldCard>,
}

/// One mould.
#[derive(Debug, Clone, Serialize)]
pub struct MouldCard {
    /// Id of the part.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Free text of the builder.
    pub notes: Option<String>,
    /// The alloy.
    pub alloy: String,
    /// Good castings so far.
    pub good: u32,
    /// Castings that the machine needs.
    pub wanted: u32,
    /// The pattern.
    pub pattern: String,
    /// What the pattern is made of.
    pub made_of: Option<String>,
    /// Whether the journal says that it is made.
    pub made: bool,
    /// Its length, width and depth.
    pub size: Vec<Shown>,
    /// Castings from one mould.
    pub cavities: u32,
    /// How deep it lies in the cope; none where it is not given.
    pub in_cope: Option<Shown>,
    /// Whether its back is flat on the parting.
    pub flat: bool,
    /// Whether nothing was said of where it parts, and it was found from the body.
    pub parting_proposed: bool,
    /// Whether the real outlines are drawn; else boxes, for the body is not known.
    pub outlined: bool,
    /// Volume of the cores of one casting.
    pub cores: Option<Shown>,
    /// The sand.
    pub sand: Option<String>,
    /// Sand to ram.
    pub sand_mass: Option<Shown>,
    /// The flask.
    pub flask: Fit,
    /// The crucible.
    pub crucible: Fit,
    /// Metal poured into it.
    pub poured: Option<Shown>,
    /// Metal charged for it.
    pub charge: Option<Shown>,
    /// Pouring temperature.
    pub pours: Option<Shown>,
    /// The lowest temperature to pour at.
    pub coldest: Option<Shown>,
    /// Time to fill it, as a hand can keep it.
    pub fills: Option<String>,
    /// Time from pouring before which it is not opened.
    pub not_before: Option<String>,
    /// To be laid on the cope.
    pub weights: Weights,
    /// Weight of the rammed cope.
    pub cope_mass: Option<Shown>,
    /// Sizes of the gating and the feeders, by the letters of the drawing.
    pub sizes: Vec<SizeLine>,
    /// The thickest place, which the feeders go to.
    pub thickest: Option<String>,
    /// Whether feeders are wanted.
    pub fed: bool,
    /// Whether they find room on the casting; yes where it is not laid out.
    pub feeders_fit: bool,
    /// What heat flow says of it, with one section.
    pub freezing: FreezingTold,
    /// The drawing.
    pub sketch: Option<Sketch>,
    /// The flask, where the pattern lies in it beside others.
    pub shared: Option<SharedFlask>,
    /// Contraction that the pattern makes up for.
    pub oversize: Option<Shown>,
    /// Draft, fillet, machining stock, least wall.
    pub pattern_rules: Vec<Shown>,
    /// Sizes on casting and pattern.
    pub pattern_sizes: Vec<ChainRow>,
    /// How many more there are.
    pub pattern_sizes_more: usize,
    /// The last attempt, if there was one.
    pub last: Option<AttemptView>,
    /// How many attempts there were.
    pub attempts: usize,
    /// What to do otherwise this time, by what the record says of the last loss.
    pub changes: Vec<ChangeView>,
    /// Dangers and doubts.
    pub warnings: Vec<String>,
}

/// One line of the list beside the drawing.
#[derive(Debug, Clone, Serialize)]
pub struct SizeLine {
    /// Letter on the drawing.
    pub letter: &'static str,
    /// What it is.
    pub name: &'static str,
    /// Its sizes in words.
    pub says: String,
}

/// Most sizes of the pattern that a card lists, so that it stays on one page.
fn most_sizes(paper: Paper) -> usize {
    match paper {
        Paper::A4 => 12,
        Paper::Letter => 10,
    }
}

const TEMPLATE: &str = include_str!("../../../templates/sheet-mould.html");

/// A figure of a casting under the name that `why` answers to.
struct Of<'a> {
    id: &'a str,
    units: System,
}

impl Of<'_> {
    fn show<Q: Quantity>(&self, figure: &Option<Figure<Q>>, name: &str) -> Option<Shown> {
        figure.as_ref().map(|f| shown(f.node(), self.units, self.id, name))
    }

    fn say<Q: Quantity>(&self, figure: &Figure<Q>) -> String {
        shown(figure.node(), self.units, self.id, "").shown
    }
}

/// Gating and feeders in the order in which they are cut.
fn sizes(of: &Of<'_>, estimate: &CastingEstimate) -> Vec<SizeLine> {
    let say = |figure: &Figure<Length>| of.say(figure);
    let mut lines = Vec::new();
    if let Some(gating) = &estimate.gating {
        let (s, w) = (&gating.sprue, &gating.ways);
        let (wide, thick) = (say(&w.ingate_width), say(&w.ingate_thickness));
        let (many, long) = (of.say(&w.ingates), say(&w.ingate_length));
        lines = vec![
            ("A", "Sprue", format!("foot {}, top {}", say(&s.base), say(&s.top))),
            ("B", "Well", format!("{} across, {} deep", say(&w.well_diameter), say(&w.well_depth))),
            (
                "C",
                "Runner",
                format!("{} square, {} long", say(&w.runner_side), say(&w.runner_length)),
            ),
            ("D", "Ingates", format!("{many} of {wide} x {thick}, {long} long")),
            (
                "E",
                "Basin",
                format!(
                    "{} across the top, {} deep, kept full",
                    say(&s.basin_diameter),
                    say(&s.basin_depth)
                ),
            ),
        ];
    }
    lines.extend(estimate.feeding.feeders.iter().map(|f| {
        let each = if estimate.mould.cavities > 1 { " on each casting" } else { "" };
        let sleeve = if f.sleeved { ", sleeved" } else { "" };
        let [across, high, neck, long] =
            [&f.diameter, &f.height, &f.neck_diameter, &f.neck_length].map(say);
        let many = of.say(&f.number);
        let ring = ring(estimate).map_or(String::new(), |ring| {
            format!("; ring of {} on the cope", show(Kind::Length, ring, of.units))
        });
        let says = format!(
            "{many}{each}, {across} across, {high} high{sleeve}; neck {neck}, {long} long{ring}"
        );
        ("F", "Feeders", says)
    }));
    let cored = estimate.body().is_some_and(|body| body.prints().is_some());
    lines.extend(cored.then(|| ("K", "Cores", "in their prints, dry and vented".to_owned())));
    let line = |(letter, name, says)| SizeLine { letter, name, says };
    lines.into_iter().map(line).collect()
}

/// What to mind of a casting in its mould; of a mould of several patterns the loads, the lifts and the
/// pot are those of the whole.
fn warnings<'a>(
    estimate: &'a CastingEstimate,
    whole: Option<&'a Together>,
) -> impl Iterator<Item = &'a String> {
    let own = [&estimate.mould.warnings, &estimate.handling.warnings, &estimate.loads.warnings];
    let rest = estimate
        .mould_warnings()
        .filter(move |w| whole.is_none() || !own.iter().any(|list| list.contains(w)));
    let whole = whole
        .into_iter()
        .flat_map(|t| [&t.mould.warnings, &t.handling.warnings, &t.loads.warnings]);
    whole.flatten().chain(rest)
}

/// The highest ring that a feeder wants on the cope, m.
fn ring(estimate: &CastingEstimate) -> Option<f64> {
    let (layout, n) = estimate.layout.as_ref()?;
    let laid = &layout.patterns[*n];
    laid.feeders.iter().filter_map(|feeder| layout.ring(laid, feeder)).reduce(f64::max)
}

/// Dangers of this casting beyond those of any other, in a line: the foremost in full, the rest by name.
fn own_cautions(build: &Build, estimates: &Estimates, part: usize) -> Option<String> {
    let own: Vec<_> =
        cautions(build, estimates, [part]).into_iter().filter(|c| c.at_the_mould).collect();
    let (first, rest) = own.split_first()?;
    let rest: String = rest.iter().map(|c| format!(" {}.", c.title)).collect();
    Some(format!("{}: {}{rest}", first.title, first.habit))
}

impl MouldCard {
    fn new(
        build: &Build,
        part: usize,
        (casting, estimate): (&Casting, &CastingEstimate),
        (changes, own, attempts): (Vec<ChangeView>, Option<String>, Vec<AttemptView>),
        (whole, paper): (Option<&Together>, Paper),
    ) -> Self {
        // Of a flask that it shares, what is rammed, poured and laid on is the whole mould's.
        let (mould, loads) =
            whole.map_or((&estimate.mould, &estimate.loads), |t| (&t.mould, &t.loads));
        let estimate = whole.and_then(|t| t.of(part)).unwrap_or(estimate);
        let shared = whole.map(|whole| SharedFlask::new(build, whole));
        let given = &build.parts[part].given;
        let pattern = &build.patterns[casting.pattern];
        let of = Of { id: &given.id, units: build.header.units };
        let p = &estimate.pattern;
        let size = [
            (&pattern.given.length, "length"),
            (&pattern.given.width, "width"),
            (&pattern.given.depth, "depth"),
        ];
        let rules = [
            of.show(&p.draft_drag, "draft-drag"),
            of.show(&p.draft_cope, "draft-cope"),
            of.show(&p.fillet, "fillet"),
            of.show(&estimate.size.allowance, "allowance"),
        ];
        let on_pattern = chain_rows(p, of.units);
        let more = on_pattern.len().saturating_sub(most_sizes(paper));
        let feeds = estimate.feeding.feeders.is_some();
        let mut warnings: Vec<String> = warnings(estimate, whole).map(|w| plain(w)).collect();
        warnings.extend(own);
        let crowded =
            !changes.is_empty() || shared.is_some() || warnings.len() > 2 || p.sizes.len() > 5;
        Self {
            id: plain(&given.id),
            name: plain(&given.name),
            notes: given.notes.as_deref().map(|n| plain(n.trim())),
            alloy: plain(&casting.alloy.id),
            good: build.history.pieces(part).good().min(given.quantity),
            wanted: given.quantity,
            pattern: plain(&pattern.id),
            made_of: pattern.given.made_of.as_deref().map(plain),
            made: build.history.patterns.contains(&casting.pattern),
            size: size.iter().filter_map(|(f, name)| of.show(f, name)).collect(),
            cavities: estimate.mould.cavities,
            in_cope: of.show(&pattern.given.in_cope, "in-cope"),
            parting_proposed: pattern.parting_proposed,
            outlined: estimate.body().is_some(),
            flat: pattern.given.in_cope.as_ref().is_some_and(|d| d.si() <= 0.0),
            cores: of.show(&estimate.cores, "cores"),
            sand: pattern.sand.as_ref().map(|s| plain(&s.id)),
            sand_mass: of.show(&mould.sand, "sand"),
            flask: flask(&mould.flask),
            crucible: crucible(&mould.crucible),
            poured: of.show(&mould.poured, "mould-poured"),
            // Melting less than the mould may take loses the casting.
            charge: of.show(
                &mould.charge.as_ref().map(|f| f.clone().safe_at(SafeEnd::High)),
                "mould-charge",
            ),
            pours: of.show(&casting.alloy.pours, "pours"),
            coldest: of.show(&estimate.coldest, "pour-no-colder"),
            fills: fill_words(estimate.gating.as_ref().map(|g| &g.sprue.time)),
            not_before: None,
            weights: Weights::of(build, part, loads),
            cope_mass: of.show(&loads.cope_mass, "cope-mass"),
            sizes: sizes(&of, estimate),
            thickest: estimate.freezing.sections.last().filter(|_| feeds).map(|s| plain(&s.name)),
            fed: feeds,
            feeders_fit: (estimate.layout.as_ref())
                .is_none_or(|(layout, n)| !layout.patterns[*n].feeders.is_empty()),
            freezing: FreezingTold::new(&given.id, estimate, 1, of.units),
            sketch: estimate.layout.as_ref().and_then(|(layout, of)| {
                let names = shared.as_ref().map_or(Vec::new(), SharedFlask::names);
                sketch(layout, *of, &names, (paper, crowded))
            }),
            shared,
            oversize: of.show(&casting.alloy.contraction, "contraction"),
            pattern_rules: rules.into_iter().flatten().collect(),
            pattern_sizes: on_pattern.into_iter().take(most_sizes(paper)).collect(),
            pattern_sizes_more: more,
            attempts: attempts.len(),
            last: attempts.into_iter().last(),
            changes,
            warnings,
        }
    }
}

impl MouldCards {
    /// The cards of these parts; those that are not cast have none.
    pub fn new(build: &Build, estimates: &Estimates, parts: &[usize], paper: Paper) -> Self {
        let card = |i: &usize| {
            let casting = build.parts[*i].casting.as_ref()?;
            let of = (casting, estimates.castings[*i].as_ref()?);
            let attempts = build.history.attempts_of(*i);
            let attempts = attempts.map(|a| attempt(build, Some(estimates), *i, a)).collect();
            let own = own_cautions(build, estimates, *i);
            let told = (changes(build, estimates, *i), own, attempts);
            let whole = estimates.shares(build, *i);
            let card = MouldCard::new(build, *i, of, told, (whole, paper));
            // A shared mould is opened once: not before the last of its castings may lie bare.
            let held = whole.map_or_else(|| vec![*i], |whole| whole.parts.clone());
            let not_before = estimates.opened_not_before(held).map(wait_words);
            Some(MouldCard { not_before, ..card })
        };
        Self { head: SheetHead::new(build, paper), cards: parts.iter().filter_map(card).collect() }
    }

    /// As HTML.
    ///
    /// # Errors
    /// In words, where the template does not take what it is given.
    pub fn html(&self) -> Result<String, Unfilled> {
        page(self, "sheet-mould.html", TEMPLATE)
    }
}
