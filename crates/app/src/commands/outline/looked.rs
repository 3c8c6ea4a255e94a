//! What was understood of an outline file, as text and as JSON.

use crate::terminal;
use outline::scale::Proof;
use outline::scan::Residual;
use outline::standard_holes::Snapped;
use outline::{Figure, Kind, LengthUnit, Role, UnitOrigin};
use serde::Serialize;

/// What was understood of a file; lengths in metres.
#[derive(Serialize)]
pub struct Looked {
    name: String,
    kind: Kind,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<LengthUnit>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_origin: Option<UnitOrigin>,
    /// Width and height of all of it.
    size: [f64; 2],
    outlines: Vec<Edge>,
    holes: Vec<Hole>,
    windows: Vec<Edge>,
    /// How well the fitted lines agree with what was traced.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub residuals: Vec<Residual>,
    /// Holes that took a standard size.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub snapped: Vec<Snapped>,
    /// What the measured distances say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub proof: Option<Proof>,
    /// Files that were written.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub written: Vec<String>,
    layers: Vec<outline::Layer>,
    /// How it was read.
    said: Vec<String>,
    /// What to look at.
    cautions: Vec<String>,
}

/// A closed line.
#[derive(Serialize)]
struct Edge {
    name: String,
    low: [f64; 2],
    high: [f64; 2],
    /// Area inside [m²].
    area: f64,
    length: f64,
    straight: usize,
    arcs: usize,
    /// Corners with the bulge of the side that leaves each: x, y, bulge.
    vertices: Vec<[f64; 3]>,
    #[serde(skip_serializing_if = "String::is_empty")]
    layer: String,
}

/// A round hole.
#[derive(Serialize)]
struct Hole {
    name: String,
    at: [f64; 2],
    diameter: f64,
    #[serde(skip_serializing_if = "String::is_empty")]
    layer: String,
}

impl Looked {
    /// Of a figure; what came of proving, fitting and writing is added by the command.
    pub fn at(name: &str, kind: Kind, figure: &Figure) -> Looked {
        let (low, high) = figure.bounds();
        let edges = |role: Role| {
            figure
                .shapes
                .iter()
                .filter(move |s| s.role == role)
                .map(Edge::of)
                .collect()
        };
        let holes = figure.holes().map(|(shape, circle)| Hole {
            name: shape.name.clone(),
            at: circle.centre.to_array(),
            diameter: 2.0 * circle.radius,
            layer: shape.layer.clone(),
        });
        Looked {
            name: name.to_owned(),
            kind,
            unit: figure.unit.map(|u| u.0),
            unit_origin: figure.unit.map(|u| u.1),
            size: (high - low).to_array(),
            outlines: edges(Role::Outline),
            holes: holes.collect(),
            windows: edges(Role::Window),
            residuals: Vec::new(),
            snapped: Vec::new(),
            proof: None,
            written: Vec::new(),
            layers: figure.layers.clone(),
            said: figure.said.clone(),
            cautions: figure.cautions.clone(),
        }
    }

    /// For people.
    pub fn text(&self) -> String {
        let mm = |v: f64| format!("{:.3}", v * 1e3);
        let inch = |v: f64| format!("{:.4}", v / 0.0254);
        let [w, h] = self.size;
        let mut text = format!(
            "{}, {}: {} x {} mm ({} x {} in)\n\n",
            self.name,
            self.kind.words(),
            mm(w),
            mm(h),
            inch(w),
            inch(h)
        );
        let mut rows = vec![
            ["line", "width, mm", "height, mm", "area, cm2", "sides", "layer"]
                .map(str::to_owned)
                .to_vec(),
        ];
        rows.extend(self.outlines.iter().chain(&self.windows).map(|e| {
            let sides = format!("{} straight, {} arcs", e.straight, e.arcs);
            let area = format!("{:.2}", e.area * 1e4);
            vec![
                e.name.clone(),
                mm(e.high[0] - e.low[0]),
                mm(e.high[1] - e.low[1]),
                area,
                sides,
                e.layer.clone(),
            ]
        }));
        text += &terminal::columns(&rows);
        if !self.holes.is_empty() {
            let mut rows = vec![
                ["hole", "x, mm", "y, mm", "diameter, mm", "in", "layer"]
                    .map(str::to_owned)
                    .to_vec(),
            ];
            rows.extend(self.holes.iter().map(|h| {
                let d = h.diameter;
                vec![
                    h.name.clone(),
                    mm(h.at[0]),
                    mm(h.at[1]),
                    mm(d),
                    inch(d),
                    h.layer.clone(),
                ]
            }));
            text += "\n";
            text += &terminal::columns(&rows);
        }
        if !self.residuals.is_empty() {
            text += "\n  fitted lines against the traced edge\n";
            let rows: Vec<_> = (self.residuals.iter())
                .map(|r| {
                    vec![
                        r.name.clone(),
                        format!("{} mm rms", mm(r.rms)),
                        format!("{} mm at most", mm(r.most)),
                    ]
                })
                .collect();
            text += &terminal::columns(&rows);
        }
        if !self.snapped.is_empty() {
            text += "\n  holes that took a standard size\n";
            let rows: Vec<_> = (self.snapped.iter())
                .map(|s| {
                    vec![
                        s.name.clone(),
                        format!("{} mm", mm(s.was)),
                        format!("now {} mm", mm(s.now)),
                        format!("{}, {} fit", s.bolt, s.fit),
                    ]
                })
                .collect();
            text += &terminal::columns(&rows);
        }
        if let Some(proof) = &self.proof {
            text += &match proof.proved {
                true => format!(
                    "\n  the scale is proved, to {} mm across the whole\n",
                    mm(proof.within)
                ),
                false => "\n  the scale, by one distance\n".to_owned(),
            };
            let rows: Vec<_> = (proof.distances.iter())
                .map(|d| {
                    let off = format!("off by {:+.3} mm", (d.read - d.measured) * 1e3);
                    vec![
                        d.what.clone(),
                        format!("measured {} mm", mm(d.measured)),
                        format!("read {} mm", mm(d.read)),
                        off,
                    ]
                })
                .collect();
            text += &terminal::columns(&rows);
        }
        for (head, list) in [("how it was read", &self.said), ("look at this", &self.cautions)] {
            if !list.is_empty() {
                text += &format!("\n  {head}\n");
                text.extend(list.iter().map(|said| format!("  - {said}\n")));
            }
        }
        text
    }
}

impl Edge {
    fn of(shape: &outline::Shape) -> Edge {
        let (low, high) = shape.line.bounds();
        let arcs = shape.line.sides().filter(|s| !s.is_straight()).count();
        Edge {
            name: shape.name.clone(),
            low: low.to_array(),
            high: high.to_array(),
            area: shape.line.area(),
            length: shape.line.length(),
            straight: shape.line.vertices.len() - arcs,
            arcs,
            vertices: shape.line.vertices.iter().map(|(p, b)| [p.x, p.y, *b]).collect(),
            layer: shape.layer.clone(),
        }
    }
}
