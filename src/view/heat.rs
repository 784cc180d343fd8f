//! One heat to come: crucible, temperature, moulds in the order to pour them.

use super::schedule::{HeelView, LotView};
use super::text::{Look, Side, finished};
use super::{FigureView, Head};
use crate::estimate::Estimates;
use crate::figure::{Figure, Quantity};
use crate::model::Build;
use crate::plan::Pour;
use serde::Serialize;

/// A heat to come.
#[derive(Debug, Clone, Serialize)]
pub struct HeatDetail {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// Its name.
    pub heat: Option<String>,
    /// The alloy.
    pub alloy: String,
    /// The furnace.
    pub furnace: Option<String>,
    /// The crucibles.
    pub crucibles: Vec<String>,
    /// When it is lit.
    pub lit: Option<String>,
    /// When pouring begins.
    pub pour: Option<String>,
    /// When pouring is over.
    pub over: Option<String>,
    /// Whether its furnace is hot from a heat before on its day.
    pub hot: bool,
    /// Time of one person until the first pour.
    pub before_pour: Option<FigureView>,
    /// Time of clearing up after it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clear_up: Option<FigureView>,
    /// Metal to be charged, to go by at its high end.
    pub charge: Option<FigureView>,
    /// Metal that is left in the pots.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub heels: Vec<HeelView>,
    /// Metal poured.
    pub poured: Option<FigureView>,
    /// The charge, with the heel, as a share of what the crucible takes at the safe end.
    pub fill: Option<FigureView>,
    /// Crucible, metal and tongs.
    pub lift: Option<FigureView>,
    /// Pouring temperature.
    pub temperature: Option<FigureView>,
    /// The moulds, in the order to pour them.
    pub moulds: Vec<MouldRow>,
}

/// A mould of the heat.
#[derive(Debug, Clone, Serialize)]
pub struct MouldRow {
    /// The part.
    pub part: String,
    /// Its name in the journal, if it stands rammed.
    pub mould: Option<String>,
    /// Castings in it.
    pub castings: u32,
    /// Castings of other parts in it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<LotView>,
    /// The flask.
    pub flask: Option<String>,
    /// Metal poured into it.
    pub poured: Option<FigureView>,
}

impl HeatDetail {
    /// Of a heat.
    pub fn new(build: &Build, estimates: &Estimates, pour: &Pour) -> Self {
        let units = build.header.units;
        fn view<Q: Quantity>(
            figure: Option<&Figure<Q>>,
            units: crate::figure::System,
        ) -> Option<FigureView> {
            figure.map(|f| FigureView::new(f.node(), units))
        }
        let [lit, begins, over] = match pour.times {
            Some(times) => times.map(|t| Some(t.format("%Y-%m-%dT%H:%M").to_string())),
            None => [None, None, None],
        };
        let row = |m: &crate::plan::PourMould| MouldRow {
            part: build.parts[m.part].id().to_string(),
            mould: m.standing.as_ref().map(ToString::to_string),
            castings: m.castings,
            others: LotView::all(build, &m.others),
            flask: m.flask.as_ref().map(ToString::to_string),
            poured: view(m.poured.as_ref(), units),
        };
        Self {
            head: Head::new(build),
            heat: pour.name.as_ref().map(ToString::to_string),
            alloy: pour.alloy.id.to_string(),
            furnace: pour.furnace.as_ref().map(ToString::to_string),
            crucibles: pour.crucibles.iter().map(ToString::to_string).collect(),
            lit,
            pour: begins,
            over,
            hot: pour.hot,
            before_pour: view(pour.before_pour(build, estimates).as_ref(), units),
            clear_up: view(pour.clear_up(build).as_ref(), units),
            charge: view(pour.charge.as_ref(), units),
            heels: HeelView::all(build, &pour.heels),
            poured: view(pour.poured.as_ref(), units),
            fill: view(pour.fill().as_ref(), units),
            lift: view(pour.pot.handling.crucible.as_ref(), units),
            temperature: view(pour.alloy.pours.as_ref(), units),
            moulds: pour.moulds.iter().map(row).collect(),
        }
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        out +=
            &look.heading(&format!("{} of {}", self.heat.as_deref().unwrap_or("heat"), self.alloy));
        let mut line = |name: &str, says: Option<String>| {
            if let Some(says) = says {
                out += &(look.wrapped(&format!("{name:<18}{says}"), 18) + "\n");
            }
        };
        let figure = |f: &Option<FigureView>| {
            let f = f.as_ref()?;
            let beside = f.beside().map_or(String::new(), |beside| format!(" ({beside})"));
            Some(format!("{}{beside}", f.large()))
        };
        let at = |t: &Option<String>| t.as_ref().map(|t| t.replace('T', " "));
        line("lit", at(&self.lit));
        line("poured", at(&self.pour));
        line("over", at(&self.over));
        line("furnace", self.furnace.clone());
        let time = |f: &Option<FigureView>, says: &str| figure(f).map(|f| format!("{f}, {says}"));
        let before = match self.hot {
            true => "melting; the furnace is hot from the heat before",
            false => "setting up and melting",
        };
        line("to first pour", time(&self.before_pour, before));
        line("clear up", time(&self.clear_up, "at the end of the session"));
        line("crucible", (!self.crucibles.is_empty()).then(|| self.crucibles.join(" and ")));
        line("charge", figure(&self.charge));
        for heel in &self.heels {
            let (left, pot) = (&heel.left.shown, &heel.crucible);
            let from = heel.from.as_ref().map(|from| format!("that of {from} is there; "));
            let to = match &heel.to {
                Some(heat) => format!("to stay molten in {pot} for {heat}"),
                None => format!("to be left in {pot}, then pigged while hot"),
            };
            line("heel", Some(format!("{}{left} {to}", from.unwrap_or_default())));
        }
        let fill = figure(&self.fill);
        line("filled to", fill.map(|f| format!("{f} of its working fill")));
        line("to lift", figure(&self.lift).map(|f| format!("{f} with pot and tongs")));
        line("pour at", figure(&self.temperature));
        let mut table = look.table(&[
            ("no.", Side::Right),
            ("part", Side::Left),
            ("mould", Side::Left),
            ("castings", Side::Right),
            ("flask", Side::Left),
            ("metal", Side::Right),
            ("between", Side::Left),
        ]);
        for (n, m) in self.moulds.iter().enumerate() {
            let metal = m.poured.as_ref();
            let all = |first: &str, of: fn(&LotView) -> String| {
                m.others.iter().fold(first.to_owned(), |all, l| format!("{all} + {}", of(l)))
            };
            table.add_row(vec![
                (n + 1).to_string(),
                all(&m.part, |l| l.part.clone()),
                m.mould.clone().unwrap_or_else(|| "to be rammed".into()),
                all(&m.castings.to_string(), |l| l.castings.to_string()),
                m.flask.clone().unwrap_or_default(),
                metal.map_or(String::new(), |f| f.shown.clone()),
                metal.and_then(|f| f.span.clone()).unwrap_or_default(),
            ]);
        }
        out += &look.heading("Moulds, in the order to pour them");
        out += &finished(&table);
        let care = "`sheet heat` prints the pour sheet with its cautions, `charge` makes up the charge; local codes, the makers' sheets and licensed practice come first.";
        out.push('\n');
        out + &look.wrapped(care, 0) + "\n"
    }
}
