//! Lays blocks out and turns every piece into a chain of lines and arcs.

use super::entity::{Entity, Insert, Shape};
use super::{DEEPEST, Drawing, MOST_PIECES, NOT_CUT, Shown};
use crate::fault::{OutlineFault, quoted};
use crate::figure::{Layer, ReadOptions};
use crate::join::Chain;
use crate::side::Side;
use crate::smooth::{Curve, Ellipse, Fitted, arcs_along};
use glam::{DMat2, DVec2};
use std::collections::BTreeMap;

/// A drawing laid out, in its own units.
#[derive(Default)]
pub(super) struct LaidOut {
    pub chains: Vec<Chain>,
    pub layers: BTreeMap<String, Layer>,
    /// Largest distance of an arc from the curve that it stands for.
    pub off: f64,
    pub climbing: usize,
}

/// A turn with scale, and a move.
#[derive(Clone, Copy)]
struct Placing {
    turn: DMat2,
    by: DVec2,
}

impl Placing {
    fn of(&self, p: DVec2) -> DVec2 {
        self.turn * p + self.by
    }

    /// Whether circles stay circles.
    fn keeps_circles(&self) -> bool {
        let (x, y) = (self.turn.x_axis, self.turn.y_axis);
        (x.length() - y.length()).abs() <= 1e-9 * x.length() && x.dot(y).abs() <= 1e-9 * x.length_squared()
    }
}

struct Layout<'d> {
    drawing: &'d Drawing,
    options: &'d ReadOptions,
    tolerance: f64,
    spent: usize,
    out: LaidOut,
}

pub(super) fn lay_out(
    drawing: &Drawing,
    options: &ReadOptions,
    tolerance: f64,
) -> Result<LaidOut, OutlineFault> {
    let mut layout = Layout {
        drawing,
        options,
        tolerance,
        spent: 0,
        out: LaidOut::default(),
    };
    let here = Placing {
        turn: DMat2::IDENTITY,
        by: DVec2::ZERO,
    };
    layout.all(&drawing.entities, here, None, 0)?;
    Ok(layout.out)
}

impl Layout<'_> {
    fn all(
        &mut self,
        entities: &[Entity],
        placing: Placing,
        within: Option<&str>,
        depth: usize,
    ) -> Result<(), OutlineFault> {
        for entity in entities {
            // What a block draws on layer 0 goes with the layer that the block is laid on.
            let layer = match within {
                Some(outer) if entity.layer == "0" => outer,
                _ => entity.layer.as_str(),
            };
            match &entity.shape {
                Shape::Insert(insert) => self.insert(insert, entity.line, placing, layer, depth)?,
                shape => {
                    self.spend(1, entity.line)?;
                    if self.wanted(layer) {
                        self.out.climbing += usize::from(entity.climbs);
                        self.piece(shape, placing, layer, entity.line)?;
                    }
                }
            }
        }
        Ok(())
    }

    /// Counts the piece for its layer and says whether the layer is taken.
    fn wanted(&mut self, name: &str) -> bool {
        let shown = self
            .drawing
            .layers
            .get(name)
            .copied()
            .unwrap_or(if name == NOT_CUT {
                Shown::NotCut
            } else {
                Shown::Yes
            });
        let taken = match self.options.layers.is_empty() {
            true => shown == Shown::Yes,
            false => self.options.layers.iter().any(|l| l == name),
        };
        let fresh = || Layer {
            name: name.to_owned(),
            pieces: 0,
            taken,
        };
        self.out
            .layers
            .entry(name.to_owned())
            .or_insert_with(fresh)
            .pieces += 1;
        taken
    }

    fn spend(&mut self, pieces: usize, line: usize) -> Result<(), OutlineFault> {
        self.spent += pieces;
        if self.spent <= MOST_PIECES {
            return Ok(());
        }
        let what = format!("the drawing has more than {MOST_PIECES} pieces once its blocks are laid out");
        let mend = "export only the outline";
        Err(OutlineFault::new("too-many", what, mend).on_line(line))
    }

    fn insert(
        &mut self,
        insert: &Insert,
        line: usize,
        placing: Placing,
        layer: &str,
        depth: usize,
    ) -> Result<(), OutlineFault> {
        if depth >= DEEPEST {
            let what = format!("blocks lie in blocks more than {DEEPEST} deep, or in themselves");
            return Err(
                OutlineFault::new("too-deep", what, "export the drawing with its blocks dissolved")
                    .on_line(line),
            );
        }
        let Some(block) = self.drawing.blocks.get(&insert.block) else {
            let what = format!(
                "the block {} is laid in but nowhere described",
                quoted(&insert.block)
            );
            return Err(OutlineFault::new("no-block", what, "export the drawing again").on_line(line));
        };
        let turn = DMat2::from_angle(insert.turn);
        let flip = DMat2::from_diagonal(DVec2::new(if insert.mirrored { -1.0 } else { 1.0 }, 1.0));
        for row in 0..insert.rows {
            for column in 0..insert.columns {
                self.spend(1, line)?;
                let step = insert.spacing * DVec2::new(column as f64, row as f64);
                let inner = turn * DMat2::from_diagonal(insert.scale);
                let by = insert.at + turn * step - inner * block.base;
                let here = Placing {
                    turn: placing.turn * flip * inner,
                    by: placing.of(flip * by),
                };
                self.all(&block.entities, here, Some(layer), depth + 1)?;
            }
        }
        Ok(())
    }

    fn piece(
        &mut self,
        shape: &Shape,
        placing: Placing,
        layer: &str,
        line: usize,
    ) -> Result<(), OutlineFault> {
        let mut chain = Chain {
            vertices: Vec::new(),
            closed: false,
            layer: layer.to_owned(),
            line,
        };
        match shape {
            Shape::Chain { vertices, closed } => {
                chain.closed = *closed;
                if placing.keeps_circles() {
                    let sign = placing.turn.determinant().signum();
                    chain.vertices = vertices.iter().map(|&(p, b)| (placing.of(p), sign * b)).collect();
                } else {
                    self.uneven(vertices, placing, &mut chain)?;
                }
            }
            Shape::Ellipse {
                centre,
                major,
                minor,
                start,
                end,
            } => {
                let ellipse = Ellipse {
                    centre: placing.of(*centre),
                    major: placing.turn * *major,
                    minor: placing.turn * *minor,
                };
                let spans = (8.0 * (end - start) / std::f64::consts::TAU).ceil().max(1.0) as usize;
                self.follow(&ellipse, *start, *end, spans, &mut chain)?;
            }
            Shape::Spline(spline) => {
                let mut pieces = spline.pieces().peekable();
                while let Some((piece, from, to)) = pieces.next() {
                    let placed = Placed {
                        curve: &piece,
                        placing,
                    };
                    self.follow(&placed, from, to, 1, &mut chain)?;
                    if pieces.peek().is_some() {
                        // The next piece begins where this one ends.
                        chain.vertices.pop();
                    }
                }
            }
            Shape::Insert(_) => {}
        }
        self.spend(chain.vertices.len(), line)?;
        if chain
            .vertices
            .iter()
            .any(|(p, b)| !p.is_finite() || !b.is_finite())
        {
            let what = "a piece is scaled beyond all measure";
            return Err(
                OutlineFault::new("not-a-number", what, "check the scale of its block").on_line(line),
            );
        }
        if !chain.vertices.is_empty() {
            self.out.chains.push(chain);
        }
        Ok(())
    }

    /// Arcs of an unevenly scaled block are pieces of ellipses.
    fn uneven(
        &mut self,
        vertices: &[(DVec2, f64)],
        placing: Placing,
        chain: &mut Chain,
    ) -> Result<(), OutlineFault> {
        let n = vertices.len();
        let last = if chain.closed { n } else { n - 1 };
        for i in 0..last {
            let side = Side {
                from: vertices[i].0,
                to: vertices[(i + 1) % n].0,
                bulge: vertices[i].1,
            };
            let Some(centre) = side.centre() else {
                chain.vertices.push((placing.of(side.from), 0.0));
                continue;
            };
            let ellipse = Ellipse {
                centre: placing.of(centre),
                major: placing.turn * (side.from - centre),
                minor: placing.turn * (side.from - centre).perp() * side.sweep().signum(),
            };
            self.follow(&ellipse, 0.0, side.sweep().abs(), 4, chain)?;
            chain.vertices.pop();
        }
        if !chain.closed {
            chain.vertices.push((placing.of(vertices[n - 1].0), 0.0));
        }
        Ok(())
    }

    /// Appends arcs along the curve, and its end.
    fn follow(
        &mut self,
        curve: &dyn Curve,
        from: f64,
        to: f64,
        spans: usize,
        chain: &mut Chain,
    ) -> Result<(), OutlineFault> {
        let Some(Fitted { pieces, end, off }) = arcs_along(curve, from, to, spans, self.tolerance) else {
            let what = "a curve cannot be followed by arcs: it is no number somewhere, or too long for the tolerance";
            let mend = "draw it again, or allow a wider tolerance";
            return Err(OutlineFault::new("curve", what, mend).on_line(chain.line));
        };
        self.spend(pieces.len(), chain.line)?;
        self.out.off = self.out.off.max(off);
        chain.vertices.extend(pieces);
        chain.vertices.push((end, 0.0));
        Ok(())
    }
}

struct Placed<'c> {
    curve: &'c dyn Curve,
    placing: Placing,
}

impl Curve for Placed<'_> {
    fn at(&self, t: f64) -> DVec2 {
        self.placing.of(self.curve.at(t))
    }

    fn slope(&self, t: f64) -> DVec2 {
        self.placing.turn * self.curve.slope(t)
    }
}
