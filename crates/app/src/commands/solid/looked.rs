//! What was understood of a solid, as text and as JSON.

use crate::terminal;
use ::solid::part::{Leads, Part};
use ::solid::{Healed, Mark, UnitFrom};
use glam::DVec3;
use job::LookedAt;
use measure::{Dimension, UnitOrder, show};
use serde::Serialize;

/// All of it. Lengths in metres, volumes in cubic metres; places in the axes of the file, those of a part in the
/// pan's.
#[derive(Serialize)]
pub struct Looked {
    pub name: String,
    pub format: &'static str,
    pub unit: &'static str,
    /// stated | the file | its size
    pub unit_known_by: &'static str,
    /// cavity | part
    pub shows: &'static str,
    /// That was seen from its shape.
    pub seen_from_its_shape: bool,
    pub facets: usize,
    pub bodies: usize,
    pub low: [f64; 3],
    pub high: [f64; 3],
    /// Of the solid in the file: oil for a cavity, metal for a part.
    pub volume: f64,
    /// What was healed, one sentence each.
    pub healed: Vec<String>,
    /// Holes that were closed.
    pub closed_holes: Vec<Place>,
    /// Places where the skin runs through itself.
    pub crossings: Vec<Place>,
    /// What else was passed over or should be known.
    pub said: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<PartFacts>,
}

#[derive(Serialize)]
pub struct Place {
    pub at: [f64; 3],
    pub across: f64,
}

#[derive(Serialize)]
pub struct PartFacts {
    /// Oil up to the flange.
    pub oil: f64,
    pub low: [f64; 3],
    pub high: [f64; 3],
    pub flange_length: f64,
    pub flange_width: f64,
    pub flange_area: f64,
    pub holes: Vec<HoleFacts>,
    /// Holes through the wall that were closed.
    pub openings: Vec<Place>,
    /// Pan from file: three columns and the shift, in metres.
    pub pan_from_file: [[f64; 3]; 4],
    /// How it was understood, one sentence each.
    pub said: Vec<String>,
}

#[derive(Serialize)]
pub struct HoleFacts {
    pub number: usize,
    pub at: [f64; 2],
    pub diameter: f64,
    pub round: bool,
    /// through | blind
    pub leads: &'static str,
}

fn places(marks: &[Mark]) -> Vec<Place> {
    let place = |m: &Mark| Place {
        at: m.at.to_array(),
        across: m.across,
    };
    marks.iter().map(place).collect()
}

impl Looked {
    pub fn at(name: &str, looked_at: &LookedAt) -> Looked {
        let surface = &looked_at.surface;
        let source = surface.source();
        let healed: &Healed = surface.healed();
        let (low, high) = surface.bounds();
        Looked {
            name: name.to_owned(),
            format: source.format.word(),
            unit: source.unit.word(),
            unit_known_by: match source.unit_from {
                UnitFrom::Stated => "stated",
                UnitFrom::File => "the file",
                UnitFrom::Size => "its size",
            },
            shows: if looked_at.part.is_some() {
                "part"
            } else {
                "cavity"
            },
            seen_from_its_shape: looked_at.seen,
            facets: source.facets,
            bodies: source.bodies,
            low: low.to_array(),
            high: high.to_array(),
            volume: surface.volume(),
            healed: healed.said(),
            closed_holes: places(&healed.holes),
            crossings: places(&healed.crossings),
            said: source.said.clone(),
            part: looked_at.part.as_ref().map(PartFacts::of),
        }
    }

    /// For the terminal; `design` are the lines for the design file.
    pub fn text(&self, design: &[String]) -> String {
        let unit = match self.unit_known_by {
            "stated" => format!("{}, as stated", self.unit),
            "the file" => format!("{}, as the file says", self.unit),
            _ => format!(
                "{}, for so it has the size of a pan; state the unit if that is wrong",
                self.unit
            ),
        };
        let shows = match (self.shows, self.seen_from_its_shape) {
            ("part", true) => "the pan as a part with walls, seen from its flange round a hollow",
            ("part", false) => "the pan as a part with walls",
            (_, true) => "the oil's space itself, in the pan's axes (no flange round a hollow was found)",
            _ => "the oil's space itself, in the pan's axes",
        };
        let mut text = format!("{}, {}, {} facets\n\n", self.name, self.format, self.facets);
        let (low, high) = (DVec3::from(self.low), DVec3::from(self.high));
        let content = if self.part.is_some() { "metal" } else { "oil" };
        let mut rows = vec![
            ("unit", unit),
            ("size", size(low, high)),
            ("shows", shows.to_owned()),
            (content, volume(self.volume)),
        ];
        if self.part.is_none() {
            rows.push(("reaches", reach(low, high)));
        }
        if let Some(part) = &self.part {
            rows.push(("oil", format!("{} up to the flange", volume(part.oil))));
            rows.push((
                "oil reaches",
                reach(DVec3::from(part.low), DVec3::from(part.high)),
            ));
        }
        text += &terminal::table(&rows);
        if let Some(part) = &self.part {
            text += &part.text();
        }
        let mut list = |head: &str, lines: &[String]| {
            if !lines.is_empty() {
                text += &format!("\n  {head}\n");
                lines.iter().for_each(|line| text += &format!("  - {line}\n"));
            }
        };
        let found = self.part.as_ref().map_or(&[][..], |part| &part.said);
        list("how it was read", found);
        list("passed over", &self.said);
        let sound = ["nothing: the mesh is closed and sound".to_owned()];
        list(
            "healed",
            if self.healed.is_empty() {
                &sound
            } else {
                &self.healed
            },
        );
        text += "\n  for the design file\n";
        design.iter().for_each(|line| text += &format!("    {line}\n"));
        text
    }
}

impl PartFacts {
    fn of(part: &Part) -> PartFacts {
        let (low, high) = part.oil.bounds().unwrap_or_default();
        let by = part.pan_from_file;
        let columns = [
            by.matrix3.x_axis,
            by.matrix3.y_axis,
            by.matrix3.z_axis,
            by.translation,
        ];
        let holes = part.flange.holes.iter().map(|hole| HoleFacts {
            number: hole.number,
            at: hole.at.truncate().to_array(),
            diameter: hole.diameter,
            round: hole.round,
            leads: match hole.leads {
                Leads::Through => "through",
                Leads::Blind => "blind",
            },
        });
        let openings = part.openings.iter().map(|o| Place {
            at: o.at.to_array(),
            across: o.across,
        });
        PartFacts {
            oil: part.volume,
            low: low.to_array(),
            high: high.to_array(),
            flange_length: part.flange.length,
            flange_width: part.flange.width,
            flange_area: part.flange.area,
            holes: holes.collect(),
            openings: openings.collect(),
            pan_from_file: columns.map(|c| c.to_array()),
            said: part.said.clone(),
        }
    }

    fn text(&self) -> String {
        let mut text = format!(
            "\n  flange, {} x {}; places in the pan's axes, holes counted seen from the block\n",
            length(self.flange_length),
            length(self.flange_width)
        );
        let mut rows = vec![["hole", "x", "y", "diameter", ""].map(str::to_owned).to_vec()];
        rows.extend(self.holes.iter().map(|hole| {
            let leads = if hole.round {
                hole.leads.to_owned()
            } else {
                format!("{}, not round", hole.leads)
            };
            let number = hole.number.to_string();
            let diameter = format!("{:.2} mm", hole.diameter * 1e3);
            vec![
                number,
                millimetres(hole.at[0]),
                millimetres(hole.at[1]),
                diameter,
                leads,
            ]
        }));
        if self.holes.is_empty() {
            return text + "  no holes in it\n";
        }
        text += &terminal::columns(&rows);
        text
    }
}

fn millimetres(metres: f64) -> String {
    let rounded = (metres * 1e5).round() / 1e2 + 0.0;
    format!("{rounded:.2} mm")
}

fn length(metres: f64) -> String {
    show(metres, Dimension::Length, UnitOrder::MetricFirst)
}

fn volume(cubic_metres: f64) -> String {
    show(cubic_metres, Dimension::Volume, UnitOrder::MetricFirst)
}

fn size(low: DVec3, high: DVec3) -> String {
    (high - low).to_array().map(length).join(" x ")
}

fn reach(low: DVec3, high: DVec3) -> String {
    let axis =
        |name: &str, low: f64, high: f64| format!("{name} {} to {}", millimetres(low), millimetres(high));
    [
        axis("x", low.x, high.x),
        axis("y", low.y, high.y),
        axis("z", low.z, high.z),
    ]
    .join(", ")
}
