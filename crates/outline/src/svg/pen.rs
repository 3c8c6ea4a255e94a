//! Draws pieces of paths as chains of lines and arcs, in metres with y up.

use super::numbers::Placing;
use super::path::Piece;
use crate::join::Chain;
use crate::smooth::{Bezier, Curve, Ellipse, arcs_along};
use glam::{DMat2, DVec2};
use std::f64::consts::{PI, TAU};

pub(super) struct Pen {
    pub chains: Vec<Chain>,
    /// Largest distance of an arc from its curve [m].
    pub off: f64,
    /// A curve could not be followed.
    pub lost: bool,
    tolerance: f64,
    placing: Placing,
    layer: String,
    line: usize,
    done: usize,
    /// The chain being drawn, and the pen's place and the chain's start in user units.
    vertices: Vec<(DVec2, f64)>,
    at: DVec2,
    start: DVec2,
}

impl Pen {
    pub fn new(tolerance: f64) -> Pen {
        Pen {
            chains: Vec::new(),
            off: 0.0,
            lost: false,
            tolerance,
            placing: Placing::NONE,
            layer: String::new(),
            line: 0,
            done: 0,
            vertices: Vec::new(),
            at: DVec2::ZERO,
            start: DVec2::ZERO,
        }
    }

    /// Pieces drawn so far.
    pub fn pieces(&self) -> usize {
        self.done
    }

    pub fn begin(&mut self, placing: Placing, layer: &str, line: usize) {
        self.placing = placing;
        layer.clone_into(&mut self.layer);
        self.line = line;
    }

    /// Ends what is being drawn, open.
    pub fn end(&mut self) {
        self.finish(false);
    }

    fn finish(&mut self, closed: bool) {
        let mut vertices = std::mem::take(&mut self.vertices);
        if vertices.len() < 2 {
            return;
        }
        if closed && vertices[0].0.distance(vertices[vertices.len() - 1].0) <= 1e-9 {
            vertices.pop();
        }
        if vertices.iter().any(|(p, b)| !p.is_finite() || !b.is_finite()) {
            self.lost = true;
            return;
        }
        self.done += vertices.len();
        self.chains.push(Chain {
            vertices,
            closed,
            layer: self.layer.clone(),
            line: self.line,
        });
    }

    pub fn piece(&mut self, piece: &Piece) {
        let from = self.at;
        // After a close the next piece begins where the last one began.
        if self.vertices.is_empty() && !matches!(piece, Piece::Move(_) | Piece::Close) {
            self.vertices.push((self.placing.of(from), 0.0));
        }
        match *piece {
            Piece::Move(to) => {
                self.finish(false);
                self.start = to;
                self.at = to;
                self.vertices.push((self.placing.of(to), 0.0));
            }
            Piece::Line(to) => self.straight(to),
            Piece::Curve(b, c, to) => {
                let curve = Bezier([from, b, c, to].map(|p| self.placing.of(p)));
                self.follow(&curve, 0.0, 1.0, 2, to);
            }
            Piece::Quadratic(c, to) => {
                let [a, c, b] = [from, c, to].map(|p| self.placing.of(p));
                self.follow(&Bezier::quadratic(a, c, b), 0.0, 1.0, 2, to);
            }
            Piece::Arc {
                radii,
                turn,
                large,
                sweep,
                to,
            } => self.arc(radii, turn, large, sweep, to),
            Piece::Close => {
                self.at = self.start;
                self.finish(true);
            }
        }
    }

    fn straight(&mut self, to: DVec2) {
        self.at = to;
        self.vertices.push((self.placing.of(to), 0.0));
    }

    /// Appends arcs along a curve that begins at the last vertex; it ends at `to` in user units.
    fn follow(&mut self, curve: &dyn Curve, from: f64, end: f64, spans: usize, to: DVec2) {
        self.at = to;
        let Some(fitted) = arcs_along(curve, from, end, spans, self.tolerance) else {
            self.lost = true;
            return;
        };
        self.off = self.off.max(fitted.off);
        self.vertices.pop();
        self.vertices.extend(fitted.pieces);
        self.vertices.push((fitted.end, 0.0));
    }

    /// An arc by its ends, after the implementation notes of SVG 1.1 (F.6.5 and F.6.6, from memory).
    fn arc(&mut self, radii: DVec2, turn: f64, large: bool, sweep: bool, to: DVec2) {
        let from = self.at;
        if !(radii.min_element() > 0.0) || from == to {
            return self.straight(to);
        }
        let back = DMat2::from_angle(-turn);
        let half = back * (0.5 * (from - to)) / radii;
        // Radii too small to span the ends grow until they do.
        let radii = radii * half.length().max(1.0);
        let half = back * (0.5 * (from - to)) / radii;
        let rest = (1.0 / half.length_squared() - 1.0).max(0.0).sqrt();
        let sign = if large == sweep { -1.0 } else { 1.0 };
        // In the circle that the ellipse becomes when its radii are taken out.
        let centre = sign * rest * DVec2::new(half.y, -half.x);
        let (start, end) = ((half - centre).to_angle(), (-half - centre).to_angle());
        let turned = match sweep {
            true => (end - start).rem_euclid(TAU),
            false => -(start - end).rem_euclid(TAU),
        };
        let out = DMat2::from_angle(turn) * DMat2::from_diagonal(radii);
        let middle = 0.5 * (from + to) + out * centre;
        self.around(middle, out, start, turned, to);
    }

    /// Follows `middle + axes (cos t, sin t)` from `start` over `turned`; an arc where it is round on paper.
    fn around(&mut self, middle: DVec2, axes: DMat2, start: f64, turned: f64, to: DVec2) {
        let axes = self.placing.turn * axes;
        let (x, y) = (axes.x_axis, axes.y_axis);
        let round = (x.length() - y.length()).abs() <= 1e-7 * x.length()
            && x.dot(y).abs() <= 1e-7 * x.length_squared();
        let ellipse = Ellipse {
            centre: self.placing.of(middle),
            major: x,
            minor: y,
        };
        if !round {
            let spans = (8.0 * turned.abs() / TAU).ceil().max(1.0) as usize;
            return self.follow(&ellipse, start, start + turned, spans, to);
        }
        // Pieces of half a turn at most, so that no bulge grows without end.
        let pieces = (turned.abs() / PI - 1e-9).ceil().max(1.0);
        let bulge = axes.determinant().signum() * (0.25 * turned / pieces).tan();
        for i in 1..=pieces as usize {
            if let Some(last) = self.vertices.last_mut() {
                last.1 = bulge;
            }
            self.vertices
                .push((ellipse.at(start + turned * i as f64 / pieces), 0.0));
        }
        self.at = to;
    }

    pub fn ellipse(&mut self, centre: DVec2, radii: DVec2) {
        let start = centre + DVec2::new(radii.x, 0.0);
        self.piece(&Piece::Move(start));
        self.around(centre, DMat2::from_diagonal(radii), 0.0, TAU, start);
        self.piece(&Piece::Close);
    }

    /// A rectangle whose corners are rounded by the radii.
    pub fn rectangle(&mut self, corner: DVec2, size: DVec2, radii: DVec2) {
        let DVec2 { x: rx, y: ry } = radii;
        let (low, high) = (corner, corner + size);
        let arc = |x: f64, y: f64| Piece::Arc {
            radii,
            turn: 0.0,
            large: false,
            sweep: true,
            to: DVec2::new(x, y),
        };
        let line = |x: f64, y: f64| Piece::Line(DVec2::new(x, y));
        let pieces = [
            Piece::Move(DVec2::new(low.x + rx, low.y)),
            line(high.x - rx, low.y),
            arc(high.x, low.y + ry),
            line(high.x, high.y - ry),
            arc(high.x - rx, high.y),
            line(low.x + rx, high.y),
            arc(low.x, high.y - ry),
            line(low.x, low.y + ry),
            arc(low.x + rx, low.y),
            Piece::Close,
        ];
        pieces.iter().for_each(|p| self.piece(p));
    }
}
