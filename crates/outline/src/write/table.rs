//! The table that a hand would type: corners with bulges, holes as rows.

use super::mm;
use crate::figure::{Figure, Role};

pub(super) fn file(figure: &Figure) -> String {
    let mut text = String::from("unit, mm\nx, y, bulge\n");
    for shape in &figure.shapes {
        if let (Role::Hole, Some(circle)) = (shape.role, shape.circle) {
            let (x, y) = (mm(circle.centre.x), mm(circle.centre.y));
            text += &format!("hole, {x}, {y}, {}   # {}\n", mm(2.0 * circle.radius), shape.name);
            continue;
        }
        let word = if shape.role == Role::Outline {
            "outline"
        } else {
            "window"
        };
        text += &format!("{word}   # {}\n", shape.name);
        for &(p, bulge) in &shape.line.vertices {
            text += &format!("{}, {}", mm(p.x), mm(p.y));
            if bulge != 0.0 {
                text += &format!(", {bulge:.12}");
            }
            text += "\n";
        }
    }
    text
}
