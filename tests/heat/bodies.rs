//! Bodies painted on cells, and the castings whose freezing is known.

use pourwright::heatflow::{Face, Inert, Melt, Scene, Substance, paint};
use serde_json::Value;

/// The product's green sand, and an iron chill.
pub const SAND: Inert = Inert {
    conductivity: 0.87,
    density: 1550.0,
    heat: 1170.0,
    start: 20.0,
    water: 0.0,
    contact: None,
};
pub const CHILL: Inert = Inert { conductivity: 40.0, density: 7200.0, heat: 560.0, ..SAND };
pub const SLEEVE: Inert = Inert { conductivity: 0.25, density: 500.0, heat: 1000.0, ..SAND };
/// Aluminium with seven per cent of silicon, poured at 715 C.
pub const A356: Melt = Melt {
    density: 2400.0,
    solidus: 560.0,
    liquidus: 613.0,
    latent: 445e3,
    heat: [1000.0, 1150.0],
    conductivity: [150.0, 75.0],
    mushy: None,
    critical: 0.7,
    start: 715.0,
};

#[derive(Debug, Clone)]
pub enum Form {
    Box([f64; 3], [f64; 3]),
    Ball([f64; 3], f64),
    Rod { along: usize, centre: [f64; 2], radius: f64, ends: [f64; 2] },
}

impl Form {
    /// Whether it holds a point, mm.
    pub fn holds(&self, at: [f64; 3]) -> bool {
        match *self {
            Self::Box(low, high) => (0..3).all(|i| (low[i]..=high[i]).contains(&at[i])),
            Self::Ball(centre, radius) => {
                (0..3).map(|i| (at[i] - centre[i]).powi(2)).sum::<f64>() <= radius * radius
            }
            Self::Rod { along, centre, radius, ends } => {
                let across = [0, 1, 2].into_iter().filter(|i| *i != along);
                let off = across.zip(centre).map(|(i, c)| (at[i] - c).powi(2)).sum::<f64>();
                off <= radius * radius && (ends[0]..=ends[1]).contains(&at[along])
            }
        }
    }
}

/// Bodies in a box of sand, the later ones over the earlier.
#[derive(Debug, Clone)]
pub struct Mould {
    pub melt: Melt,
    pub inerts: Vec<Inert>,
    /// The first is what fills the box.
    pub parts: Vec<Substance>,
    pub solids: Vec<(u8, Form)>,
    /// Corners of the box, mm.
    pub within: [[f64; 3]; 2],
    /// A corner of a body, which falls on a corner of cells, mm.
    pub anchor: [f64; 3],
    pub face: Face,
}

impl Mould {
    /// On cells of this size, m.
    pub fn scene(&self, cell: f64) -> Scene {
        let edge = 1e3 * cell;
        let [low, high] = self.within;
        let before = [0, 1, 2].map(|i| ((self.anchor[i] - low[i]) / edge - 1e-6).ceil());
        let after = [0, 1, 2].map(|i| ((high[i] - self.anchor[i]) / edge - 1e-6).ceil());
        let mut scene = Scene {
            size: [0, 1, 2].map(|i| (before[i] + after[i]) as usize),
            cell,
            corner: [0, 1, 2].map(|i| (self.anchor[i] - before[i] * edge) / 1e3),
            cells: Vec::new(),
            fill: Vec::new(),
            parts: self.parts.clone(),
            melt: self.melt.clone(),
            inerts: self.inerts.clone(),
            faces: [[self.face; 2]; 3],
            surroundings: 20.0,
        };
        let part = |at: [f64; 3]| {
            let at = at.map(|x| 1e3 * x);
            self.solids.iter().rev().find(|(_, form)| form.holds(at)).map_or(0, |(part, _)| *part)
        };
        let all = [low, high].map(|corner| corner.map(|x| x / 1e3));
        paint(&mut scene, 0, all, &part);
        scene
    }

    /// One body of A356 in green sand, this much of it all round, mm.
    pub fn of(forms: &[Form], within: [[f64; 3]; 2], anchor: [f64; 3]) -> Self {
        Self {
            melt: A356,
            inerts: vec![SAND],
            parts: vec![Substance::Inert(0), Substance::Melt],
            solids: forms.iter().map(|f| (1, f.clone())).collect(),
            within,
            anchor,
            face: Face::Open(10.0),
        }
    }
}

/// A casting whose freezing is known.
pub struct Case {
    pub name: String,
    pub mould: Mould,
    /// Names of the parts; the first is sand.
    pub parts: Vec<String>,
    /// Thinnest wall, mm.
    pub wall: f64,
    pub told: Value,
}

impl Case {
    /// All of `tests/heat/cases.json`.
    pub fn all() -> Vec<Self> {
        let all: Value = serde_json::from_str(include_str!("cases.json")).expect("JSON");
        let cases = all["cases"].as_array().expect("a list");
        cases.iter().map(|case| Self::read(&all["alloys"], case)).collect()
    }

    fn read(alloys: &Value, told: &Value) -> Self {
        let alloy = &alloys[told["alloy"].as_str().expect("a name")];
        let a = |i: usize| number(&alloy[i]);
        let melt = Melt {
            density: a(0),
            solidus: a(1),
            liquidus: a(2),
            latent: a(3),
            heat: [a(4), a(5)],
            conductivity: [a(6), a(7)],
            mushy: None,
            critical: a(8),
            start: a(9),
        };
        let contact = |of: &str| told["contact"][of].as_f64();
        let inerts = vec![
            Inert { contact: contact("sand"), ..SAND },
            SLEEVE,
            Inert { contact: contact("chill"), ..CHILL },
        ];
        let mut parts = vec![String::from("sand")];
        let mut solids = Vec::new();
        for solid in told["solids"].as_array().expect("a list") {
            let name = solid["part"].as_str().expect("a name");
            let at = parts.iter().position(|p| p == name).unwrap_or(parts.len());
            if at == parts.len() {
                parts.push(name.into());
            }
            solids.push((at as u8, form(solid)));
        }
        let substance = |name: &String| match name.as_str() {
            "sand" => Substance::Inert(0),
            "sleeve" => Substance::Inert(1),
            "chill" => Substance::Inert(2),
            _ => Substance::Melt,
        };
        let anchor = point(&told["solids"][0]["box"][0]).unwrap_or_default();
        let corner = |i: usize| point(&told["box"][i]).expect("a corner");
        Self {
            name: told["name"].as_str().expect("a name").into(),
            mould: Mould {
                melt,
                inerts,
                parts: parts.iter().map(substance).collect(),
                solids,
                within: [corner(0), corner(1)],
                anchor,
                face: Face::Open(10.0),
            },
            parts,
            wall: number(&told["wall"]),
            told: told.clone(),
        }
    }

    /// The number of a part by its name.
    pub fn part(&self, name: &str) -> Option<u8> {
        self.parts.iter().position(|p| p == name).map(|p| p as u8)
    }
}

pub fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn point(value: &Value) -> Option<[f64; 3]> {
    let axis = |i: usize| value[i].as_f64();
    Some([axis(0)?, axis(1)?, axis(2)?])
}

fn form(solid: &Value) -> Form {
    if let Some(ball) = solid["ball"].as_array() {
        return Form::Ball(
            [number(&ball[0]), number(&ball[1]), number(&ball[2])],
            number(&ball[3]),
        );
    }
    if let Some(low) = point(&solid["box"][0]) {
        return Form::Box(low, point(&solid["box"][1]).expect("a corner"));
    }
    let rod = &solid["rod"];
    Form::Rod {
        along: rod["along"].as_u64().expect("an axis") as usize,
        centre: [number(&rod["centre"][0]), number(&rod["centre"][1])],
        radius: number(&rod["radius"]),
        ends: [number(&rod["from"]), number(&rod["to"])],
    }
}
