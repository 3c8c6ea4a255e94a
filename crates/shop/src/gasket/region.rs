//! Offsets and cuts of closed outlines that keep arcs as arcs, by `cavalier_contours`.
//!
//! The library takes places within 1e-5 as one, so it is handed millimetres.

use cavalier_contours::polyline::{BooleanOp, PlineSource, PlineSourceMut, Polyline};
use glam::DVec2;
use outline::Closed;

/// Lines with less area than this are crumbs of a cut along a shared edge [m²].
const CRUMB: f64 = 1e-8;

fn of(line: &Closed) -> Polyline<f64> {
    let mut pline = Polyline::new_closed();
    for (p, bulge) in &line.vertices {
        pline.add(p.x * 1e3, p.y * 1e3, *bulge);
    }
    pline
}

fn back(pline: &Polyline<f64>) -> Closed {
    let vertices = pline
        .iter_vertexes()
        .map(|v| (1e-3 * DVec2::new(v.x, v.y), v.bulge));
    Closed::new(vertices.collect()).counter_clockwise()
}

/// A counter-clockwise outline moved outward by `by` [m], round its outward corners.
pub(super) fn offset(line: &Closed, by: f64) -> Vec<Closed> {
    if by == 0.0 {
        return vec![line.clone()];
    }
    // To the left is inward.
    let moved = of(line).parallel_offset(-by * 1e3);
    moved.iter().map(back).filter(|l| l.area() > CRUMB).collect()
}

/// An area with openings wholly inside it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Area {
    pub outer: Closed,
    pub openings: Vec<Closed>,
}

impl Area {
    pub fn area(&self) -> f64 {
        self.outer.area().abs() - self.openings.iter().map(|o| o.area().abs()).sum::<f64>()
    }

    /// What of it lies inside `cutter` (true) or outside, in connected parts.
    pub fn cut(&self, cutter: &Closed, inside: bool) -> Vec<Area> {
        let operation = if inside { BooleanOp::And } else { BooleanOp::Not };
        let result = of(&self.outer).boolean(&of(cutter), operation);
        let mut parts: Vec<Area> = (result.pos_plines.iter())
            .map(|p| back(&p.pline))
            .filter(|l| l.area() > CRUMB)
            .map(|outer| Area {
                outer,
                openings: Vec::new(),
            })
            .collect();
        for opening in &self.openings {
            parts = parts.into_iter().flat_map(|p| p.without(opening)).collect();
        }
        parts
    }

    /// It less an opening, which may run over its edge.
    fn without(self, opening: &Closed) -> Vec<Area> {
        let result = of(&self.outer).boolean(&of(opening), BooleanOp::Not);
        let new: Vec<Closed> = (result.neg_plines.iter()).map(|p| back(&p.pline)).collect();
        let outers = result.pos_plines.iter().map(|p| back(&p.pline));
        outers
            .filter(|l| l.area() > CRUMB)
            .map(|outer| {
                let inside = |o: &&Closed| o.sides().next().is_some_and(|s| outer.contains(s.at(0.5)));
                let openings = self.openings.iter().chain(&new).filter(inside).cloned().collect();
                Area { outer, openings }
            })
            .collect()
    }
}
