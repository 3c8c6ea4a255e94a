//! Plan outlines: rectangle, circle, or corner points with arcs.

use glam::{DVec2, DVec3};
use measure::Dimension::Length;
use pan::Outline;

use crate::section::{Bounds, Section, Shape};
use crate::tree::{Node, Value};

/// `{ x = [low, high], y = [low, high] }`
pub(crate) fn rectangle(section: &Section, key: &'static str) -> Option<Outline> {
    let inside = section.below(key)?;
    let (x, y) = (inside.rising("x", Length), inside.rising("y", Length));
    inside.finish();
    let ((x0, x1), (y0, y1)) = (x?, y?);
    Some(Outline::rectangle(DVec2::new(x0, y0), DVec2::new(x1, y1)))
}

/// `{ at = [x, y], diameter = d }`
pub(crate) fn circle(section: &Section, key: &'static str) -> Option<Outline> {
    let inside = section.below(key)?;
    let (at, diameter) = (
        inside.point2("at"),
        inside.quantity("diameter", Length, Bounds::POSITIVE),
    );
    inside.finish();
    Some(Outline::circle(at?, diameter? / 2.0))
}

/// Corner points in order, either way round. A corner that an arc leads to is written as
/// `{ to = [x, y], through = [x, y] }`.
pub(crate) fn outline(section: &Section, key: &'static str) -> Option<Outline> {
    section.shaped(key, Shape::Corners);
    let node = section.required(
        key,
        "[[\"0 mm\", \"0 mm\"], [\"80 mm\", \"0 mm\"], [\"0 mm\", \"60 mm\"]]",
    )?;
    let steps: Vec<Option<Step>> = section
        .list(key, node)?
        .iter()
        .map(|node| step(section, key, node))
        .collect();
    let steps: Vec<Step> = steps.into_iter().collect::<Option<_>>()?;
    let outline = closed(section, key, &steps)?;
    if let Some(fault) = outline.fault() {
        let mend = match fault {
            pan::outline::OutlineFault::CrossesItself => {
                "list the corners in the order in which one walks round"
            }
            _ => "give at least three corners that do not lie on one line",
        };
        section.fault("outline", key, format!("the outline {fault}"), mend.to_owned());
        return None;
    }
    let corners = steps.len();
    section.note(key, node, format!("{corners} corners"));
    Some(outline)
}

/// A required direction: one of the six words, or `[x, y, z]` in plain numbers, as a unit vector.
pub(crate) fn direction(section: &Section, key: &'static str) -> Option<DVec3> {
    section.shaped(key, Shape::Direction);
    let node = section.required(key, "\"front\"")?;
    if let Value::Text(_) = node.value {
        let words = [
            ("front", DVec3::X),
            ("rear", DVec3::NEG_X),
            ("left", DVec3::Y),
            ("right", DVec3::NEG_Y),
            ("up", DVec3::Z),
            ("down", DVec3::NEG_Z),
        ];
        return section.choice(key, &words, None);
    }
    let parts: Vec<f64> = section
        .list(key, node)?
        .iter()
        .map(|part| section.number_in(key, part))
        .collect::<Option<_>>()?;
    let unit = match parts[..] {
        [x, y, z] => DVec3::new(x, y, z).try_normalize(),
        _ => None,
    };
    if let Some(unit) = unit {
        section.note(
            key,
            node,
            format!("({:.4}, {:.4}, {:.4})", unit.x, unit.y, unit.z),
        );
    } else {
        let what = format!("{} is no direction", node.raw);
        let mend = "write front, rear, left, right, up or down, or three numbers such as [0, 0.6, 0.8]";
        section.fault("direction", key, what, mend.to_owned());
    }
    unit
}

/// A corner, and the point on the arc that leads to it.
struct Step {
    to: DVec2,
    through: Option<DVec2>,
}

fn step(section: &Section, key: &'static str, node: &Node) -> Option<Step> {
    if let Value::Table(_) = node.value {
        let arc = Section::open(section.desk, node, section.key(key))?;
        let (to, through) = (arc.point2("to"), arc.point2("through"));
        arc.finish();
        return Some(Step {
            to: to?,
            through: Some(through?),
        });
    }
    let to = section.row(key, node, [Length; 2])?;
    Some(Step {
        to: DVec2::from_array(to),
        through: None,
    })
}

/// Joins the steps into a closed, counter-clockwise outline.
fn closed(section: &Section, key: &'static str, steps: &[Step]) -> Option<Outline> {
    let mut vertices: Vec<(DVec2, f64)> = Vec::new();
    for step in steps {
        if let Some(through) = step.through {
            let Some(last) = vertices.last_mut() else {
                let mend = "begin with a plain corner, [x, y]".to_owned();
                section.fault("outline", key, "the outline begins with an arc".to_owned(), mend);
                return None;
            };
            let Some(bulge) = bulge(last.0, through, step.to) else {
                let mend = "give a point on the arc between its two ends".to_owned();
                let what = "an arc goes through three points on one line".to_owned();
                section.fault("outline", key, what, mend);
                return None;
            };
            last.1 = bulge;
        }
        vertices.push((step.to, 0.0));
    }
    // An outline that states its first corner again at the end is closed already.
    if vertices.len() > 1 && vertices[0].0 == vertices[vertices.len() - 1].0 {
        vertices.pop();
    }
    if signed_area(&vertices) < 0.0 {
        vertices = reversed(&vertices);
    }
    Some(Outline { vertices })
}

/// Bulge of the arc from `a` through `m` to `b`: `tan(sweep / 4)`, positive for a left turn.
///
/// The angle a–m–b at a point of the arc is π − sweep/2 (inscribed angle), so sweep/4 is half of its
/// supplement. `m` lies to the right of the chord when the arc turns left. `None` for points on a line.
fn bulge(a: DVec2, m: DVec2, b: DVec2) -> Option<f64> {
    let (to_a, to_b) = (a - m, b - m);
    let angle = to_a.angle_to(to_b).abs();
    let side = (b - a).perp_dot(m - a);
    let flat = 1e-9 * (b - a).length_squared();
    (side.abs() > flat && angle.is_finite())
        .then(|| -side.signum() * ((std::f64::consts::PI - angle) / 2.0).tan())
}

/// Area, positive when the outline runs counter-clockwise: the corners' polygon plus the segment under each
/// arc, `r²/2 (sweep − sin sweep)`.
fn signed_area(vertices: &[(DVec2, f64)]) -> f64 {
    let n = vertices.len();
    let side = |i: usize| {
        let ((a, bulge), (b, _)) = (vertices[i], vertices[(i + 1) % n]);
        let sweep = 4.0 * bulge.atan();
        let segment = if bulge == 0.0 {
            0.0
        } else {
            let radius = (b - a).length() * (1.0 + bulge * bulge) / (4.0 * bulge);
            0.5 * radius * radius * (sweep - sweep.sin())
        };
        0.5 * a.perp_dot(b) + segment
    };
    (0..n).map(side).sum()
}

/// The same line walked the other way: each bulge belongs to the side that now leaves the other corner.
fn reversed(vertices: &[(DVec2, f64)]) -> Vec<(DVec2, f64)> {
    let n = vertices.len();
    (0..n)
        .rev()
        .map(|i| (vertices[i].0, -vertices[(i + n - 1) % n].1))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_half_circle_to_the_left_has_bulge_one() {
        let b = bulge(DVec2::new(1.0, 0.0), DVec2::new(0.0, 1.0), DVec2::new(-1.0, 0.0)).unwrap();
        assert!((b - 1.0).abs() < 1e-12, "got {b}");
        let b = bulge(DVec2::new(-1.0, 0.0), DVec2::new(0.0, 1.0), DVec2::new(1.0, 0.0)).unwrap();
        assert!((b + 1.0).abs() < 1e-12, "got {b}");
    }

    #[test]
    fn a_quarter_circle_has_the_bulge_of_its_sweep() {
        let half = 0.5f64.sqrt();
        let b = bulge(DVec2::X, DVec2::new(half, half), DVec2::Y).unwrap();
        assert!((b - (std::f64::consts::PI / 8.0).tan()).abs() < 1e-12, "got {b}");
        assert_eq!(bulge(DVec2::ZERO, DVec2::X, DVec2::X * 2.0), None);
    }

    #[test]
    fn an_outline_walked_backwards_encloses_the_same_area_with_the_other_sign() {
        let d = vec![
            (DVec2::new(0.0, -1.0), 1.0),
            (DVec2::new(0.0, 1.0), 0.0),
            (DVec2::new(-2.0, 0.0), 0.0),
        ];
        let area = signed_area(&d);
        // Half a circle of radius 1 and a triangle of base 2 and height 2.
        assert!(
            (area - (std::f64::consts::PI / 2.0 + 2.0)).abs() < 1e-12,
            "got {area}"
        );
        assert!((signed_area(&reversed(&d)) + area).abs() < 1e-12);
    }
}
