//! Estimates: all castings in a table, or one with every figure.

use super::cautions::{DEFERS, without_deferring};
use super::page::{ChainRow, chain_rows};
use super::text::{Look, Side, finished};
use super::{FIRST_FIGURES, FigureView, Head, alike};
use crate::estimate::{Carry, CrucibleFit, Estimates, FlaskFit, Section, Together, cautions};
use crate::figure::{Kind, System, show};
use crate::handbook::Caution;
use crate::model::Build;
use serde::Serialize;

/// Estimates of castings.
#[derive(Debug, Clone, Serialize)]
pub struct EstimateView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// The castings asked for.
    pub castings: Vec<CastingView>,
    /// Moulds in which patterns of these castings lie together.
    pub together: Vec<TogetherView>,
    #[serde(skip)]
    units: System,
}

/// A mould in which several patterns lie.
#[derive(Debug, Clone, Serialize)]
pub struct TogetherView {
    /// The name that `why` answers to: its parts.
    pub id: String,
    /// Ids of the parts.
    pub parts: Vec<String>,
    /// The flask that takes them, if one does.
    pub flask: Option<String>,
    /// The crucible that holds the charge, if one does.
    pub crucible: Option<String>,
    /// Why they are rammed alone, in words.
    pub lacks: Vec<String>,
    /// Dangers, with the habit that prevents them.
    pub warnings: Vec<String>,
    /// Where the patterns lie, m from a corner of the flask, x along its length.
    pub places: Vec<PlaceView>,
    /// Every figure, with the name that `why` answers to.
    pub figures: Vec<NamedFigure>,
}

/// Where a pattern lies in a flask, m.
#[derive(Debug, Clone, Serialize)]
pub struct PlaceView {
    /// The part.
    pub part: String,
    /// From the wall, along the length of the flask.
    pub x: f64,
    /// From the wall, along its width.
    pub y: f64,
    /// Its size along the length of the flask.
    pub length: f64,
    /// Its size along the width.
    pub width: f64,
}

impl TogetherView {
    fn new(build: &Build, shared: &Together) -> Self {
        let units = build.header.units;
        let parts: Vec<String> =
            shared.parts.iter().map(|i| build.parts[*i].id().to_string()).collect();
        let place = |(part, l): (&String, &crate::shape::Lies)| PlaceView {
            part: part.clone(),
            x: l.x,
            y: l.y,
            length: l.length,
            width: l.width,
        };
        let warnings =
            [&shared.handling.pot_warnings, &shared.handling.warnings, &shared.loads.warnings];
        Self {
            id: shared.name(build),
            flask: match &shared.mould.flask {
                FlaskFit::Fits(id) => Some(id.to_string()),
                _ => None,
            },
            crucible: match &shared.mould.crucible {
                CrucibleFit::Fits(id) => Some(id.to_string()),
                _ => None,
            },
            lacks: shared.lacks().iter().map(|says| format!("rammed alone: {says}")).collect(),
            warnings: warnings.into_iter().flatten().cloned().collect(),
            places: parts.iter().zip(&shared.places()).map(place).collect(),
            figures: shared
                .figures()
                .iter()
                .map(|(ask, node)| NamedFigure { ask, figure: FigureView::new(node, units) })
                .collect(),
            parts,
        }
    }

    fn text(&self, look: &Look, system: System) -> String {
        let mut out = look.heading(&format!("In one flask: {}", self.parts.join(" + ")));
        out += &sheet(look, &self.figures);
        out += &format!("\nflask     {}\n", self.flask.as_deref().unwrap_or("none fits"));
        out += &format!("crucible  {}\n", self.crucible.as_deref().unwrap_or("none fits"));
        for p in &self.places {
            let s = |m| show(Kind::Length, m, system);
            out += &look.wrapped(
                &format!(
                    "lies      {}: {} along the length and {} across, its corner {} and {} from the walls",
                    p.part, s(p.length), s(p.width), s(p.x), s(p.y)
                ),
                10,
            );
            out.push('\n');
        }
        for (word, says) in [("missing", &self.lacks), ("care", &self.warnings)] {
            for says in says {
                out += &look.wrapped(&format!("{word:<10}{says}"), 10);
                out.push('\n');
            }
        }
        let own = "each pattern has a sprue of its own in these figures; one sprue that feeds both takes less metal";
        out + &look.wrapped(&format!("note      {own}"), 10) + "\n"
    }
}

/// One casting.
#[derive(Debug, Clone, Serialize)]
pub struct CastingView {
    /// Id of the part.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Its alloy.
    pub alloy: String,
    /// How many the machine needs.
    pub wanted: u32,
    /// Whether the full pot is lifted with a device, by no team.
    #[serde(skip)]
    pub by_device: bool,
    /// Castings in a mould.
    pub cavities: u32,
    /// Moulds for all of them.
    pub moulds: u32,
    /// The flask it fits, if one does.
    pub flask: Option<String>,
    /// The crucible that holds the charge, if one does.
    pub crucible: Option<String>,
    /// What is missing or must be told, in words.
    pub lacks: Vec<String>,
    /// Dangers of this casting, with the habit that prevents them.
    pub warnings: Vec<String>,
    /// What must be said of its figures.
    pub notes: Vec<String>,
    /// Every figure, with the name that `why` answers to.
    pub figures: Vec<NamedFigure>,
    /// From the finished part to the pattern; `why PART bore-diameter-pattern` derives a size.
    pub chain: Vec<ChainRow>,
    /// Its sections, the first to freeze first; `why PART freezes-last` derives them.
    pub sections: Vec<SectionView>,
    /// Dangers and the habits that prevent them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<Caution>,
}

/// One section of a casting.
#[derive(Debug, Clone, Serialize)]
pub struct SectionView {
    /// What the builder calls it, or what it is.
    pub name: String,
    /// How many of it.
    pub count: u32,
    /// Volume over surface, the face by which it is joined left out.
    pub modulus: FigureView,
    /// Diameter of the largest ball inside.
    pub thickest_place: FigureView,
    /// How long it takes to freeze.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub freezing_time: Option<FigureView>,
}

/// A figure with the name that `why` answers to.
#[derive(Debug, Clone, Serialize)]
pub struct NamedFigure {
    /// The name.
    pub ask: &'static str,
    /// The figure.
    #[serde(flatten)]
    pub figure: FigureView,
}

fn sections(sections: &[Section], units: System) -> Vec<SectionView> {
    let view = |s: &Section| SectionView {
        name: s.name.clone(),
        count: s.count,
        modulus: FigureView::new(s.modulus.node(), units),
        thickest_place: FigureView::new(s.place.node(), units),
        freezing_time: s.time.as_ref().map(|t| FigureView::new(t.node(), units)),
    };
    sections.iter().map(view).collect()
}

impl EstimateView {
    /// All castings of a build, or the one of this part.
    pub fn new(build: &Build, estimates: &Estimates, only: Option<usize>) -> Self {
        let units = build.header.units;
        let wanted = |i: &usize| only.is_none_or(|o| o == *i);
        let castings = (0..build.parts.len()).filter(wanted).filter_map(|i| {
            let (part, estimate) = (&build.parts[i], estimates.castings[i].as_ref()?);
            let casting = part.casting.as_ref()?;
            let mut lacks = Vec::new();
            let flask = match &estimate.mould.flask {
                FlaskFit::Fits(id) => Some(id.to_string()),
                FlaskFit::Lacking(says) => {
                    lacks.push(says.clone());
                    None
                }
                FlaskFit::Unknown(why) => {
                    lacks.push(format!("no flask can be chosen: {why}"));
                    None
                }
            };
            let crucible = match &estimate.mould.crucible {
                CrucibleFit::Fits(id) => Some(id.to_string()),
                CrucibleFit::Lacking(says) => {
                    lacks.push(says.clone());
                    None
                }
                CrucibleFit::Unknown(why) => {
                    lacks.push(format!("no crucible can be chosen: {why}"));
                    None
                }
            };
            let figures = estimate.figures().into_iter();
            Some(CastingView {
                id: part.id().to_string(),
                name: part.given.name.to_string(),
                alloy: casting.alloy.id.to_string(),
                wanted: part.given.quantity,
                cavities: estimate.mould.cavities,
                by_device: estimate.handling.crucible_carry == Some(Carry::Device),
                moulds: estimate.moulds,
                flask,
                crucible,
                lacks,
                warnings: estimate.warnings.clone(),
                notes: estimate.notes.clone(),
                figures: figures
                    .map(|(ask, node)| NamedFigure { ask, figure: FigureView::new(&node, units) })
                    .collect(),
                chain: chain_rows(&estimate.pattern, units),
                sections: sections(&estimate.freezing.sections, units),
                cautions: if only.is_some() { cautions(build, estimates, [i]) } else { Vec::new() },
            })
        });
        let shares = |t: &&Together| t.parts.iter().any(&wanted);
        let together = estimates.together.iter().filter(shares);
        Self {
            head: Head::new(build),
            castings: castings.collect(),
            together: together.map(|t| TogetherView::new(build, t)).collect(),
            units,
        }
    }

    /// As text: a table of all, or one casting in full.
    pub fn text(&self, look: &Look, whole: bool) -> String {
        match self.castings.as_slice() {
            [one] if whole => {
                let shared = self.together.iter().map(|t| t.text(look, self.units));
                format!(
                    "{}\n{}{}",
                    self.head.text(look),
                    one.text(look),
                    shared.collect::<String>()
                )
            }
            _ => format!("{}\n{}", self.head.text(look), self.table(look)),
        }
    }

    /// One casting in a screen: flask, pot, what is missing, the figures to work by, what to mind.
    pub fn brief(&self, look: &Look) -> String {
        let told = self.castings.iter().map(|c| c.brief(look));
        format!("{}\n{}", self.head.text(look), told.collect::<String>())
    }

    fn table(&self, look: &Look) -> String {
        // Where there is room, what the pour takes is told too.
        let more = [("weights-on-cope", "on the cope"), ("pouring-time", "pour within")];
        let more = if look.wide() { &more[..] } else { &[] };
        let first = [
            ("casting", Side::Left),
            ("as cast", Side::Right),
            ("charge", Side::Right),
            ("sand", Side::Right),
        ];
        let middle: Vec<_> = more.iter().map(|(_, head)| (*head, Side::Right)).collect();
        let last = [("flask", Side::Left), ("crucible", Side::Left)];
        let mut table = look.table(&[&first[..], &middle, &last].concat());
        let alone = self.castings.iter();
        let alone = alone.map(|c| (&c.id, &c.figures, [&c.flask, &c.crucible], &c.lacks));
        let shared = self.together.iter();
        let shared = shared.map(|t| (&t.id, &t.figures, [&t.flask, &t.crucible], &t.lacks));
        let rows: Vec<_> = alone.chain(shared).collect();
        let asks = ["rough-mass", "mould-charge", "sand"].into_iter();
        let asks = asks.chain(more.iter().map(|(ask, _)| *ask));
        let columns: Vec<Vec<String>> =
            asks.map(|ask| column(ask, rows.iter().map(|(_, figures, ..)| *figures))).collect();
        let mut all_lacks = String::new();
        for (i, (id, _, fits, lacks)) in rows.into_iter().enumerate() {
            let or_none = |name: &Option<String>| match name {
                Some(name) => name.clone().into(),
                None => look.hot("none"),
            };
            let mut cells = vec![id.replace('+', "+\n").into()];
            cells.extend(columns.iter().map(|column| column[i].clone().into()));
            cells.extend(fits.map(or_none));
            table.add_row(cells);
            for lack in lacks {
                all_lacks += &look.wrapped(&format!("{id}: {lack}"), 4);
                all_lacks.push('\n');
            }
        }
        let lacks = all_lacks;
        let mut out = finished(&table);
        if !lacks.is_empty() {
            out += &look.heading("What is missing");
            out += &lacks;
        }
        out += "\nAs cast: one casting. Charge, sand: one mould. `estimate PART` shows it all.\n";
        out
    }
}

/// What the figures of this name show in a column, in one unit; nothing where one has none.
fn column<'f>(ask: &str, rows: impl Iterator<Item = &'f Vec<NamedFigure>>) -> Vec<String> {
    let figure = |figures: &'f Vec<NamedFigure>| figures.iter().find(|f| f.ask == ask);
    let mut told: Vec<Option<FigureView>> =
        rows.map(|figures| figure(figures).map(|f| f.figure.clone())).collect();
    alike(told.iter_mut().flatten());
    told.into_iter().map(|f| f.map_or(String::new(), |f| f.shown)).collect()
}

/// Headings of the sheet, each before the figure of this name.
const SHEETS: &[(&str, &str)] = &[
    ("volume", "Metal"),
    ("mould-poured", "Mould and melt"),
    ("cooling-surface", "Freezing"),
    ("fed-volume", "Feeding"),
    ("metal-through-choke", "Gating"),
    ("plan-area", "Loads on the mould"),
    ("crucible-lift", "Handling"),
    ("finished-length", "From finished part to pattern"),
    ("casting-length", "Pattern"),
];

fn sheet(look: &Look, figures: &[NamedFigure]) -> String {
    let mut table = look.table(&[
        ("figure", Side::Left),
        ("likely", Side::Right),
        ("between", Side::Left),
        ("what it is", Side::Left),
    ]);
    for f in figures {
        let figure = &f.figure;
        table.add_row(vec![
            f.ask.to_owned(),
            figure.shown.clone(),
            figure.span.clone().unwrap_or_default(),
            figure.name.clone(),
        ]);
    }
    finished(&table)
}

impl CastingView {
    /// From the finished part to the pattern; nothing where its solids tell no sizes.
    fn chain(&self, look: &Look) -> String {
        if self.chain.is_empty() {
            return String::new();
        }
        let right = ["finished", "as cast", "pattern"].map(|step| (step, Side::Right));
        let mut table = look.table(&[&[("size", Side::Left)][..], &right].concat());
        // Over all stands above, with its ranges.
        for row in self.chain.iter().skip(3) {
            let (size, cells) = (row.name.clone(), [&row.finished, &row.as_cast, &row.pattern]);
            table.add_row(std::iter::once(size).chain(cells.map(Clone::clone)));
        }
        format!("\n{}", finished(&table))
    }

    /// Its sections in the order in which they freeze; nothing where there is but one.
    fn sections(&self, look: &Look) -> String {
        if self.sections.len() < 2 {
            return String::new();
        }
        let mut table = look.table(&[
            ("section, in order of freezing", Side::Left),
            ("modulus", Side::Right),
            ("thickest", Side::Right),
            ("freezes in", Side::Right),
        ]);
        for s in &self.sections {
            let times = if s.count == 1 { String::new() } else { format!("{} x ", s.count) };
            table.add_row(vec![
                format!("{times}{}", s.name),
                s.modulus.shown.clone(),
                s.thickest_place.shown.clone(),
                s.freezing_time.as_ref().map_or(String::new(), |t| t.shown.clone()),
            ]);
        }
        format!("\n{}", finished(&table))
    }

    /// What it is, how many are wanted, and in how many moulds.
    fn title(&self) -> String {
        let moulds = if self.moulds == 1 { "mould" } else { "moulds" };
        let to_a_mould = match self.cavities {
            1 => String::new(),
            n => format!(", {n} to a mould"),
        };
        format!(
            "{} ({})\n{}, {} needed{to_a_mould}, {} {moulds}\n",
            self.name, self.id, self.alloy, self.wanted, self.moulds
        )
    }

    fn brief(&self, look: &Look) -> String {
        let mut out = self.title();
        let people = self.figures.iter().find(|f| f.ask == "crucible-people");
        let people = people.map(|f| f.figure.large());
        let people = people.filter(|n| *n != "1");
        let people = match self.by_device {
            true => ", not by hand: a lifting device".to_owned(),
            false => people.map_or(String::new(), |n| format!(", {n} people lift the full pot")),
        };
        let pot = self.crucible.as_deref().unwrap_or("none fits");
        out += &format!("\nflask     {}\n", self.flask.as_deref().unwrap_or("none fits"));
        out += &(look.wrapped(&format!("pot       {pot}{people}"), 10) + "\n");
        for lack in &self.lacks {
            out += &(look.wrapped(&format!("missing   {lack}"), 10) + "\n");
        }
        out.push('\n');
        for f in FIRST_FIGURES.iter().filter_map(|ask| self.figures.iter().find(|f| f.ask == *ask))
        {
            let view = &f.figure;
            let more = view.beside().map_or(String::new(), |beside| format!("({beside})"));
            let shown = view.large();
            let line = format!("{:<30}{shown:>10}  {more}", view.name);
            out += &format!("{}\n", line.trim_end());
        }
        out += &self.to_mind(look);
        out + &format!("\n`estimate {} --all` shows every figure, note and caution.\n", self.id)
    }

    /// Doubts and dangers of this casting, the first sentence of each and as many as have room.
    fn to_mind(&self, look: &Look) -> String {
        const ROOM: usize = 3;
        let first = |says: &String| look.wrapped(says.split(". ").next().unwrap_or(says), 2);
        let warnings: Vec<String> = self.warnings.iter().map(first).collect();
        let mut lines = 0;
        let fits = warnings.iter().take_while(|says| {
            lines += says.lines().count();
            lines <= ROOM
        });
        let fits = fits.count();
        let mut out = look.heading("Take care");
        warnings[..fits].iter().for_each(|says| out += &format!("{says}\n"));
        let own = self.cautions.iter().filter(|c| c.at_the_mould).map(|c| c.title.to_lowercase());
        let more = warnings.len() - fits;
        let more = (more > 0).then(|| format!("{more} more"));
        let rest: Vec<String> = own.chain(more).collect();
        if !rest.is_empty() {
            out += &(look.wrapped(&format!("also: {}", rest.join("; ")), 2) + "\n");
        }
        if warnings.is_empty() && rest.is_empty() { String::new() } else { out }
    }

    fn text(&self, look: &Look) -> String {
        let mut out = self.title();
        let mut rest = self.figures.as_slice();
        while !rest.is_empty() {
            let heading = SHEETS.iter().find(|(first, _)| *first == rest[0].ask).map(|(_, h)| *h);
            let next = |f: &NamedFigure| SHEETS.iter().any(|(first, _)| *first == f.ask);
            let end = rest[1..].iter().position(next).map_or(rest.len(), |i| i + 1);
            if let Some(heading) = heading {
                out += &look.heading(heading);
            }
            out += &sheet(look, &rest[..end]);
            match heading {
                Some("Freezing") => out += &self.sections(look),
                Some("From finished part to pattern") => out += &self.chain(look),
                _ => {}
            }
            rest = &rest[end..];
        }
        out += &format!("\nflask     {}\n", self.flask.as_deref().unwrap_or("none fits"));
        out += &format!("crucible  {}\n", self.crucible.as_deref().unwrap_or("none fits"));
        for lack in &self.lacks {
            out += &look.wrapped(&format!("missing   {lack}"), 10);
            out.push('\n');
        }
        for warning in &self.warnings {
            out += &look.wrapped(&format!("care      {warning}"), 10);
            out.push('\n');
        }
        let notes = self.figures.iter().filter_map(|f| Some((f.ask, f.figure.note.as_ref()?)));
        let mut said: Vec<&String> = Vec::new();
        for (ask, note) in notes {
            if !said.contains(&note) {
                said.push(note);
                out += &look.wrapped(&format!("note      {ask}: {note}"), 10);
                out.push('\n');
            }
        }
        for note in &self.notes {
            out += &look.wrapped(&format!("note      {note}"), 10);
            out.push('\n');
        }
        if !self.cautions.is_empty() {
            out += &look.heading("Take care");
            out += &(look.wrapped(DEFERS, 0) + "\n");
            for c in &self.cautions {
                let habit = without_deferring(&c.habit);
                out += &look.wrapped(&format!("{}: {} {habit}", c.title, c.says), 2);
                out.push('\n');
            }
        }
        out
    }
}
