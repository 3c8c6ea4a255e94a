//! One entity of a drawing, from its pairs.

use super::spline::Spline;
use super::tags::{Tag, Tags};
use crate::fault::{OutlineFault, quoted};
use glam::DVec2;
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Values of one entity at most.
const MOST_TAGS: usize = 1_000_000;
/// Largest coordinate taken, in drawing units.
const LARGEST: f64 = 1e9;

/// A piece of a drawing, in the coordinates of its block.
pub(super) struct Entity {
    pub shape: Shape,
    pub layer: String,
    pub line: usize,
    /// A line that runs from one height to another.
    pub climbs: bool,
}

pub(super) enum Shape {
    Chain {
        vertices: Vec<(DVec2, f64)>,
        closed: bool,
    },
    Ellipse {
        centre: DVec2,
        major: DVec2,
        minor: DVec2,
        start: f64,
        end: f64,
    },
    Spline(Spline),
    Insert(Insert),
}

/// A block laid into the drawing.
pub(super) struct Insert {
    pub block: String,
    pub at: DVec2,
    pub scale: DVec2,
    /// Turn [rad].
    pub turn: f64,
    pub columns: i64,
    pub rows: i64,
    pub spacing: DVec2,
    /// Seen from behind: x turned over.
    pub mirrored: bool,
}

/// The pairs of one entity.
pub(super) struct Gathered<'t> {
    pub tags: Vec<Tag<'t>>,
}

/// All pairs up to the next one of code 0, and that one.
pub(super) fn gather<'t>(tags: &mut Tags<'t>) -> Result<(Gathered<'t>, Option<Tag<'t>>), OutlineFault> {
    let mut gathered = Vec::new();
    loop {
        match tags.next()? {
            Some(tag) if gathered.len() >= MOST_TAGS => {
                let what = format!("an entity of more than {MOST_TAGS} values is no part of an outline");
                return Err(OutlineFault::new("too-many", what, "export only the outline").on_line(tag.line));
            }
            Some(tag) if tag.code != 0 => gathered.push(tag),
            next => return Ok((Gathered { tags: gathered }, next)),
        }
    }
}

fn number(tag: &Tag) -> Result<f64, OutlineFault> {
    match tag.value.parse::<f64>() {
        Ok(v) if v.is_finite() && v.abs() <= LARGEST => Ok(v),
        _ => {
            let what = format!(
                "a number is due (group code {}), but {} stands there",
                tag.code,
                quoted(tag.value)
            );
            Err(OutlineFault::new("not-a-number", what, "export the drawing again").on_line(tag.line + 1))
        }
    }
}

impl<'t> Gathered<'t> {
    pub fn text(&self, code: i32) -> Option<&'t str> {
        self.tags.iter().find(|t| t.code == code).map(|t| t.value)
    }

    pub fn number(&self, code: i32) -> Result<Option<f64>, OutlineFault> {
        self.tags.iter().find(|t| t.code == code).map(number).transpose()
    }

    pub fn whole(&self, code: i32) -> Result<Option<i64>, OutlineFault> {
        Ok(self.number(code)?.map(|v| v as i64))
    }

    /// Every value of a code.
    fn numbers(&self, code: i32) -> Result<Vec<f64>, OutlineFault> {
        self.tags.iter().filter(|t| t.code == code).map(number).collect()
    }

    /// Every point of a code: x there, y ten above it.
    fn points(&self, code: i32) -> Result<Vec<DVec2>, OutlineFault> {
        let mut points: Vec<DVec2> = Vec::new();
        for tag in &self.tags {
            if tag.code == code {
                points.push(DVec2::new(number(tag)?, 0.0));
            } else if tag.code == code + 10
                && let Some(last) = points.last_mut()
            {
                last.y = number(tag)?;
            }
        }
        Ok(points)
    }

    fn layer(&self) -> String {
        self.text(8).unwrap_or("0").to_owned()
    }

    /// Which way the entity's own plane faces.
    fn faces(&self) -> Result<Faces, OutlineFault> {
        let way = [210, 220, 230].map(|code| self.number(code));
        let [x, y, z] = way;
        let (x, y, z) = (x?.unwrap_or(0.0), y?.unwrap_or(0.0), z?.unwrap_or(1.0));
        Ok(if x.abs() > 1e-6 || y.abs() > 1e-6 {
            Faces::Aside
        } else if z < 0.0 {
            Faces::Down
        } else {
            Faces::Up
        })
    }
}

#[derive(PartialEq)]
enum Faces {
    Up,
    /// x of such an entity runs the other way.
    Down,
    Aside,
}

pub(super) struct Parser<'p, 't> {
    pub tags: &'p mut Tags<'t>,
    pub passed_over: &'p mut BTreeMap<String, usize>,
}

type Read<'t> = (Option<Entity>, Option<Tag<'t>>);

impl<'t> Parser<'_, 't> {
    /// The entity that begins here, if it is one of an outline, and the pair after it.
    pub fn entity(&mut self, kind: &str, line: usize) -> Result<Read<'t>, OutlineFault> {
        let (own, next) = gather(self.tags)?;
        let on_paper = own.whole(67)? == Some(1) || own.whole(60)? == Some(1);
        if kind == "POLYLINE" {
            return self.polyline(&own, next, line, on_paper);
        }
        let shape = match kind {
            "LINE" => Some(straight(&own)?),
            "ARC" | "CIRCLE" => Some(round(&own, kind, line)?),
            "LWPOLYLINE" => Some(light_polyline(&own)?),
            "ELLIPSE" => Some(ellipse(&own, line)?),
            "SPLINE" => Some(Shape::Spline(spline(&own, line)?)),
            "INSERT" => Some(Shape::Insert(insert(&own)?)),
            _ => None,
        };
        let Some(mut shape) = shape.filter(|_| !on_paper) else {
            // The window through which paper looks at the drawing is nothing that was drawn.
            if kind != "VIEWPORT" {
                self.count(kind);
            }
            return Ok((None, next));
        };
        turn_over(&own, kind, line, &mut shape)?;
        let climbs = kind == "LINE" && {
            let (z, w) = (own.number(30)?.unwrap_or(0.0), own.number(31)?.unwrap_or(0.0));
            (z - w).abs() > 1e-6
        };
        let layer = own.layer();
        Ok((
            Some(Entity {
                shape,
                layer,
                line,
                climbs,
            }),
            next,
        ))
    }

    fn count(&mut self, kind: &str) {
        let known = self.passed_over.len() < 30 || self.passed_over.contains_key(kind);
        let name = if known {
            kind.chars().take(24).collect()
        } else {
            "others".to_owned()
        };
        *self.passed_over.entry(name).or_default() += 1;
    }

    /// A polyline of the older kind: its corners follow as entities of their own.
    fn polyline(
        &mut self,
        own: &Gathered,
        mut next: Option<Tag<'t>>,
        line: usize,
        on_paper: bool,
    ) -> Result<Read<'t>, OutlineFault> {
        let flags = own.whole(70)?.unwrap_or(0);
        let mut vertices = Vec::new();
        while let Some(tag) = next {
            if tag.value != "VERTEX" {
                break;
            }
            let (corner, after) = gather(self.tags)?;
            next = after;
            // Flag 16: a control point of the frame, which is not on the line.
            if corner.whole(70)?.unwrap_or(0) & 16 == 0 {
                let at = corner.points(10)?.first().copied().unwrap_or(DVec2::ZERO);
                vertices.push((at, bulge(corner.number(42)?)));
            }
        }
        if next.is_some_and(|tag| tag.value == "SEQEND") {
            next = gather(self.tags)?.1;
        }
        // Flags 16 and 64: nets of facets.
        if flags & (16 | 64) != 0 || vertices.is_empty() || on_paper {
            self.count("POLYLINE");
            return Ok((None, next));
        }
        let mut shape = Shape::Chain {
            vertices,
            closed: flags & 1 == 1,
        };
        turn_over(own, "POLYLINE", line, &mut shape)?;
        let layer = own.layer();
        Ok((
            Some(Entity {
                shape,
                layer,
                line,
                climbs: false,
            }),
            next,
        ))
    }
}

/// Bulges beyond this are slips of a program: a circle of a ten-thousandth of a gap.
fn bulge(value: Option<f64>) -> f64 {
    value.unwrap_or(0.0).clamp(-1e4, 1e4)
}

fn straight(own: &Gathered) -> Result<Shape, OutlineFault> {
    let from = own.points(10)?.first().copied().unwrap_or(DVec2::ZERO);
    let to = own.points(11)?.first().copied().unwrap_or(DVec2::ZERO);
    Ok(Shape::Chain {
        vertices: vec![(from, 0.0), (to, 0.0)],
        closed: false,
    })
}

fn round(own: &Gathered, kind: &str, line: usize) -> Result<Shape, OutlineFault> {
    let centre = own.points(10)?.first().copied().unwrap_or(DVec2::ZERO);
    let radius = own.number(40)?.unwrap_or(0.0);
    if !(radius > 0.0) {
        let what = format!("a radius of {radius} is no radius");
        return Err(OutlineFault::new("no-radius", what, "delete it or draw it again").on_line(line));
    }
    let at = |angle: f64| centre + radius * DVec2::from_angle(angle);
    if kind == "CIRCLE" {
        let vertices = vec![(at(0.0), 1.0), (centre - DVec2::new(radius, 0.0), 1.0)];
        return Ok(Shape::Chain {
            vertices,
            closed: true,
        });
    }
    let start = own.number(50)?.unwrap_or(0.0).to_radians();
    let sweep = (own.number(51)?.unwrap_or(360.0).to_radians() - start).rem_euclid(TAU);
    let sweep = if sweep == 0.0 { TAU } else { sweep };
    // Two halves: a single bulge grows without end toward a whole turn.
    let bulge = (0.125 * sweep).tan();
    let vertices = vec![
        (at(start), bulge),
        (at(start + 0.5 * sweep), bulge),
        (at(start + sweep), 0.0),
    ];
    Ok(Shape::Chain {
        vertices,
        closed: false,
    })
}

fn light_polyline(own: &Gathered) -> Result<Shape, OutlineFault> {
    let mut vertices: Vec<(DVec2, f64)> = Vec::new();
    for tag in &own.tags {
        match (tag.code, vertices.last_mut()) {
            (10, _) => vertices.push((DVec2::new(number(tag)?, 0.0), 0.0)),
            (20, Some(last)) => last.0.y = number(tag)?,
            (42, Some(last)) => last.1 = bulge(Some(number(tag)?)),
            _ => {}
        }
    }
    if vertices.is_empty() {
        vertices.push((DVec2::ZERO, 0.0));
    }
    let closed = own.whole(70)?.unwrap_or(0) & 1 == 1;
    Ok(Shape::Chain { vertices, closed })
}

fn ellipse(own: &Gathered, line: usize) -> Result<Shape, OutlineFault> {
    let centre = own.points(10)?.first().copied().unwrap_or(DVec2::ZERO);
    let major = own.points(11)?.first().copied().unwrap_or(DVec2::ZERO);
    let ratio = own.number(40)?.unwrap_or(1.0);
    let (start, end) = (own.number(41)?.unwrap_or(0.0), own.number(42)?.unwrap_or(TAU));
    if !(major.length() > 0.0) || !(ratio.abs() > 1e-6) || ratio.abs() > 1e6 {
        let what = "an ellipse without a length or without a width";
        return Err(OutlineFault::new("no-radius", what, "delete it or draw it again").on_line(line));
    }
    let turned = (end - start).rem_euclid(TAU);
    let end = start + if turned < 1e-9 { TAU } else { turned };
    Ok(Shape::Ellipse {
        centre,
        major,
        minor: ratio * major.perp(),
        start,
        end,
    })
}

fn spline(own: &Gathered, line: usize) -> Result<Spline, OutlineFault> {
    let spline = Spline {
        degree: own.whole(71)?.unwrap_or(3).clamp(0, 1000) as usize,
        knots: own.numbers(40)?,
        weights: own.numbers(41)?,
        points: own.points(10)?,
    };
    spline.check().map_err(|what| {
        let mend = "export the drawing with splines as control points, or as polylines or arcs";
        OutlineFault::new("spline", what, mend).on_line(line)
    })?;
    Ok(spline)
}

fn insert(own: &Gathered) -> Result<Insert, OutlineFault> {
    Ok(Insert {
        block: own.text(2).unwrap_or_default().to_owned(),
        at: own.points(10)?.first().copied().unwrap_or(DVec2::ZERO),
        scale: DVec2::new(own.number(41)?.unwrap_or(1.0), own.number(42)?.unwrap_or(1.0)),
        turn: own.number(50)?.unwrap_or(0.0).to_radians(),
        columns: own.whole(70)?.unwrap_or(1).max(1),
        rows: own.whole(71)?.unwrap_or(1).max(1),
        spacing: DVec2::new(own.number(44)?.unwrap_or(0.0), own.number(45)?.unwrap_or(0.0)),
        mirrored: false,
    })
}

/// An entity whose plane faces down is drawn with x the other way; one that faces aside is no flat drawing.
///
/// Lines and splines are always stated in the drawing's own axes; of an ellipse only the sense of turning changes.
fn turn_over(own: &Gathered, kind: &str, line: usize, shape: &mut Shape) -> Result<(), OutlineFault> {
    let faces = own.faces()?;
    if faces == Faces::Aside && kind != "LINE" && kind != "SPLINE" {
        let what = format!("{kind} stands out of the plane of the drawing");
        let mend = "export a flat view of the outline, seen along z";
        return Err(OutlineFault::new("not-flat", what, mend).on_line(line));
    }
    if faces != Faces::Down {
        return Ok(());
    }
    match shape {
        Shape::Chain { vertices, .. } if kind != "LINE" => {
            for (p, bulge) in vertices {
                p.x = -p.x;
                *bulge = -*bulge;
            }
        }
        Shape::Ellipse { minor, .. } => *minor = -*minor,
        Shape::Insert(insert) => insert.mirrored = true,
        _ => {}
    }
    Ok(())
}
