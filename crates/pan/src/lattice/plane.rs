//! One panel's plane: what of it is plate, opening or free, on tiles, and which faces the tiles belong to.

use super::cut::coverage;
use super::plates::TOUCH;
use super::{Face, Lattice};
use crate::cavity::Cavity;
use crate::panel::Panel;
use crate::polygon::{Loop, Region, clip};
use glam::{DVec2, DVec3};
use std::collections::BTreeMap;

/// One tile of a panel's plane.
struct Tile {
    at: DVec2,
    open: f64,
    covered: f64,
    outlined: f64,
    edge: f64,
}

/// Areas of a face's tiles: free, shut by the plate, and within the plate's outer shape [m²]; and the length of
/// the edges round what is free [m].
#[derive(Clone, Copy, Default)]
pub(super) struct Share {
    pub open: f64,
    pub covered: f64,
    pub outlined: f64,
    pub edge: f64,
}

/// A panel's plane with all that tiles ask of it.
pub(super) struct Plane<'a> {
    lattice: &'a Lattice,
    panel: Panel,
    /// Plates that cut the plane: (from, to) in it and the direction square to the line.
    cuts: Vec<(DVec2, DVec2, DVec2)>,
    section: Region,
    /// Open part of the plane inside the cavity: openings, gaps and all beyond the plate.
    uncovered: Region,
    solid: Region,
    /// Open share, diameter of the holes [m].
    perforation: (f64, f64),
}

impl<'a> Plane<'a> {
    pub(super) fn new(
        lattice: &'a Lattice,
        cavity: &Cavity,
        panel: Panel,
        others: &[(&Panel, &Region)],
        doors: &Region,
        perforation: (f64, f64),
    ) -> Plane<'a> {
        let section = cavity.plane_section(panel.origin, panel.u, panel.v);
        let openings = panel.openings.difference(doors);
        let cuts: Vec<_> = others
            .iter()
            .flat_map(|(o, reach)| panel.cut_by(o, reach))
            .map(|(a, b)| (a, b, (b - a).normalize_or(DVec2::X).perp()))
            .collect();
        // The plane beyond the plate, parted where other plates cut it, less all that is narrower than TOUCH.
        let slits: Vec<Loop> = cuts
            .iter()
            .map(|(a, b, across)| {
                let (along, half) = ((*b - *a).normalize_or(DVec2::X) * TOUCH, *across * 1e-6);
                vec![
                    *a - along - half,
                    *b + along - half,
                    *b + along + half,
                    *a - along + half,
                ]
            })
            .collect();
        let beyond = section
            .difference(&panel.outline)
            .difference(&Region::from_loops(&slits));
        let beyond = beyond
            .inset(0.5 * TOUCH, 1e-5)
            .outset(0.5 * TOUCH, false, 1e-5)
            .intersection(&section);
        let uncovered = beyond
            .difference(&panel.outline)
            .union(&openings.intersection(&section));
        let solid = section.difference(&uncovered);
        Plane {
            lattice,
            panel,
            cuts,
            section,
            uncovered,
            solid,
            perforation,
        }
    }

    /// Area of the plate inside the cavity, its openings counted as plate [m²].
    pub(super) fn size(&self) -> f64 {
        self.panel.outline.intersection(&self.section).area()
    }

    /// Tiles of edge `side` from `origin`, nx by ny, that the plate touches or nearly touches.
    fn tiles(&self, origin: DVec2, side: f64, nx: usize, ny: usize) -> Vec<(usize, usize, Tile)> {
        let open = coverage(&self.uncovered, origin, side, nx, ny);
        let covered = coverage(&self.solid, origin, side, nx, ny);
        let outlined = coverage(
            &self.panel.outline.intersection(&self.section),
            origin,
            side,
            nx,
            ny,
        );
        let edges = edge_lengths(&self.uncovered, origin, side, nx, ny);
        let mut tiles = Vec::new();
        let half = 0.5 * side;
        for j in 0..ny {
            for i in 0..nx {
                let at = origin + side * DVec2::new(i as f64 + 0.5, j as f64 + 0.5);
                let c = i + nx * j;
                let mut share = Share {
                    open: open[c],
                    covered: covered[c],
                    outlined: outlined[c],
                    edge: edges[c],
                };
                let cut: Vec<_> = self.cuts.iter().filter(|k| cuts_tile(k, at, half)).collect();
                if !cut.is_empty() {
                    let mut d: Loop = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                        .map(|(x, y)| at + half * DVec2::new(x, y))
                        .to_vec();
                    for (a, _, across) in cut {
                        let side = *across * self.side_of(at, *a, *across);
                        d = clip(&d, *a, side);
                    }
                    share = Share {
                        open: self.uncovered.area_within(&d).max(0.0),
                        covered: self.solid.area_within(&d).max(0.0),
                        outlined: self.panel.outline.area_within(&d).max(0.0),
                        edge: edges[c],
                    };
                }
                let hair = 1e-9 * side * side;
                for v in [&mut share.open, &mut share.covered, &mut share.outlined] {
                    if *v < hair {
                        *v = 0.0;
                    }
                }
                // Perforation is open wherever the plate is.
                let (fraction, hole) = self.perforation;
                let through = fraction * share.outlined.min(share.covered);
                let tile = Tile {
                    at,
                    open: share.open + through,
                    covered: share.covered - through,
                    outlined: share.outlined,
                    edge: share.edge + if through > 0.0 { 4.0 * through / hole } else { 0.0 },
                };
                tiles.push((i, j, tile));
            }
        }
        tiles
    }

    /// The side of a cut on which a tile's centre lies, as a sign of `across`. A centre on the cut is on the
    /// side away from the middle of the grid, since `nearest_layer` moves the other plate toward the middle.
    fn side_of(&self, at: DVec2, on_cut: DVec2, across: DVec2) -> f64 {
        let off = (at - on_cut).dot(across);
        if off.abs() > 1e-6 * self.lattice.cell {
            return off.signum();
        }
        let l = self.lattice;
        let middle = l.origin + 0.5 * l.cell * DVec3::new(l.n[0] as f64, l.n[1] as f64, l.n[2] as f64);
        let away = -(self.panel.plate_coordinates(middle) - on_cut).dot(across);
        if away.abs() > 1e-6 * l.cell {
            return away.signum();
        }
        (self.panel.u * across.x + self.panel.v * across.y)
            .element_sum()
            .signum()
    }

    /// True when the plate, carried on behind the cavity's wall where it touches it, stands at a point that
    /// lies outside the section.
    fn carried_on(&self, at: DVec2) -> bool {
        if self.panel.outline.contains(at) {
            return true;
        }
        let Some(edge) = self.panel.outline.nearest_on_edge(at) else {
            return false;
        };
        let gap = at - edge;
        let far = gap.length();
        far <= TOUCH
            || (far <= 2.0 * self.lattice.cell && !self.uncovered.contains(edge + gap * (TOUCH / far)))
    }

    /// Faces of a plate square to an axis: the nearest layer of faces, one tile a face.
    pub(super) fn square_faces(&self, axis: usize) -> Vec<(Face, Share)> {
        let l = self.lattice;
        let (b, c) = [(1, 2), (0, 2), (0, 1)][axis];
        let place = (self.panel.origin[axis] - l.origin[axis]) / l.cell;
        let Some(layer) = nearest_layer(place, l.n[axis]) else {
            return Vec::new();
        };
        let origin = DVec2::new(l.origin[b], l.origin[c]);
        let mut out = Vec::new();
        for (i, j, tile) in self.tiles(origin, l.cell, l.n[b], l.n[c]) {
            let mut at = [0; 3];
            (at[axis], at[b], at[c]) = (layer, i, j);
            let face = Face {
                axis: axis as u8,
                index: l.face_index(axis, at[0], at[1], at[2]) as u32,
            };
            let share = if tile.open + tile.covered > 0.0 {
                Share {
                    open: tile.open,
                    covered: tile.covered,
                    outlined: tile.outlined,
                    edge: tile.edge,
                }
            } else if self.carried_on(tile.at) {
                SHUT_FACE
            } else {
                continue;
            };
            if share.covered > 0.0 || share.outlined > 0.0 {
                out.push((face, share));
            }
        }
        out
    }

    /// Faces of a plate that leans: quarter-cell tiles, each given to the nearest face the plane goes through.
    pub(super) fn leaning_faces(&self) -> Vec<(Face, Share)> {
        let l = self.lattice;
        let Some((low, high)) = self.panel.outline.bounds() else {
            return Vec::new();
        };
        let margin = 2.5 * l.cell;
        let side = 0.25 * l.cell;
        let crossed = crossed_faces(l, &self.panel, low - margin, high + margin);
        let origin = low - margin;
        let count = |s: f64| ((s + 2.0 * margin) / side).ceil() as usize;
        let tiles = self.tiles(origin, side, count(high.x - low.x), count(high.y - low.y));
        let mut shares: BTreeMap<Face, Share> = BTreeMap::new();
        for (_, _, tile) in &tiles {
            if tile.open + tile.covered <= 0.0 {
                continue;
            }
            let Some(face) = self.nearest_crossed(&crossed, tile.at) else {
                continue;
            };
            let s = shares.entry(face).or_default();
            s.open += tile.open;
            s.covered += tile.covered;
            s.outlined += tile.outlined;
            s.edge += tile.edge;
        }
        for (face, at) in crossed.values().flatten() {
            if !shares.contains_key(face) && self.carried_on(*at) {
                shares.insert(*face, SHUT_FACE);
            }
        }
        shares
            .into_iter()
            .filter(|(_, s)| s.covered > 0.0 || s.outlined > 0.0)
            .collect()
    }

    /// The crossed face nearest to a place, on the same side of every other plate.
    fn nearest_crossed(&self, crossed: &BTreeMap<[usize; 3], Vec<(Face, DVec2)>>, at: DVec2) -> Option<Face> {
        let l = self.lattice;
        let p = (self.panel.point(at) - l.origin) / l.cell;
        let cell = p.floor();
        let reach = |a: usize| {
            let c = cell[a];
            ((c - 2.0).max(0.0) as usize)..((c + 2.0).max(0.0) as usize).min(l.n[a])
        };
        let mut best: Option<(f64, Face)> = None;
        for k in reach(2) {
            for j in reach(1) {
                for i in reach(0) {
                    for (face, place) in crossed.get(&[i, j, k]).into_iter().flatten() {
                        let far = place.distance_squared(at);
                        if best.is_some_and(|(b, _)| b <= far) || self.parted(*place, at) {
                            continue;
                        }
                        best = Some((far, *face));
                    }
                }
            }
        }
        best.map(|(_, f)| f)
    }

    /// True when another plate stands between two places of the plane.
    fn parted(&self, p: DVec2, q: DVec2) -> bool {
        self.cuts.iter().any(|(a, b, across)| {
            let (dp, dq) = ((p - *a).dot(*across), (q - *a).dot(*across));
            if (dp >= 0.0) == (dq >= 0.0) {
                return false;
            }
            let at = p.lerp(q, dp / (dp - dq));
            let s = (at - *a).dot((*b - *a).normalize_or(DVec2::X));
            s >= -TOUCH && s <= a.distance(*b) + TOUCH
        })
    }
}

const SHUT_FACE: Share = Share {
    open: 0.0,
    covered: 1.0,
    outlined: 1.0,
    edge: 0.0,
};

/// The layer of faces nearest to a place counted in cells; halfway, the one nearer the middle of the grid, so
/// that mirrored plates go to mirrored faces. `None` when there is no inner layer there.
fn nearest_layer(place: f64, n: usize) -> Option<usize> {
    let below = place.floor();
    let rest = place - below;
    let up = if (rest - 0.5).abs() < 1e-6 {
        below + 0.5 < 0.5 * n as f64
    } else {
        rest > 0.5
    };
    let layer = if up { below + 1.0 } else { below };
    (layer >= 1.0 && layer <= n as f64 - 1.0).then_some(layer as usize)
}

/// Length of a region's edges in each square of a grid, `out[i + nx*j]` [m]; squares of edge `side` from `origin`.
fn edge_lengths(region: &Region, origin: DVec2, side: f64, nx: usize, ny: usize) -> Vec<f64> {
    let mut out = vec![0.0; nx * ny];
    let mut cuts = Vec::new();
    for (a, b) in region.edges() {
        let (a, b) = ((a - origin) / side, (b - origin) / side);
        cuts.clear();
        cuts.extend([0.0, 1.0]);
        for (from, to) in [(a.x, b.x), (a.y, b.y)] {
            let (low, high) = (from.min(to), from.max(to));
            let lines = low.ceil().max(-1.0) as i64..=high.floor().min(nx.max(ny) as f64 + 1.0) as i64;
            cuts.extend(
                lines
                    .map(|l| (l as f64 - from) / (to - from))
                    .filter(|t| *t > 0.0 && *t < 1.0),
            );
        }
        cuts.sort_by(f64::total_cmp);
        for w in cuts.windows(2) {
            // The region lies to the left: an edge along a grid line belongs to the square inside.
            let inside = 1e-6 * (b - a).perp().normalize_or_zero();
            let middle = (a.lerp(b, 0.5 * (w[0] + w[1])) + inside).floor();
            if middle.x >= 0.0 && middle.y >= 0.0 && middle.x < nx as f64 && middle.y < ny as f64 {
                out[middle.x as usize + nx * middle.y as usize] += (w[1] - w[0]) * a.distance(b) * side;
            }
        }
    }
    out
}

/// True when the stretch a–b runs through a square tile.
fn cuts_tile((a, b, across): &(DVec2, DVec2, DVec2), at: DVec2, half: f64) -> bool {
    let reach = half * (across.x.abs() + across.y.abs());
    if (at - *a).dot(*across).abs() >= reach {
        return false;
    }
    let along = (*b - *a).normalize_or(DVec2::X);
    let s = (at - *a).dot(along);
    s > -half && s < a.distance(*b) + half
}

/// Shares out a rectangle of plate coordinates over the faces of its panel: (face, area, middle of the piece in
/// plate coordinates); the areas sum to the rectangle's exactly. Pieces end where faces do when the plate's
/// coordinates run along the grid, else they are a sixteenth of a cell. A piece that falls on a face shut by the
/// cavity goes to the nearest open one.
pub(super) fn pieces(lattice: &Lattice, panel: &Panel, low: DVec2, high: DVec2) -> Vec<(Face, f64, DVec2)> {
    let us = breaks(lattice, panel.origin, panel.u, low.x, high.x);
    let vs = breaks(lattice, panel.origin, panel.v, low.y, high.y);
    let faces = open_faces(lattice, panel, low, high);
    let mut out = Vec::new();
    for u in us.windows(2) {
        for v in vs.windows(2) {
            let at = DVec2::new(0.5 * (u[0] + u[1]), 0.5 * (v[0] + v[1]));
            let far = |f: &(Face, DVec2)| f.1.distance_squared(at);
            if let Some((face, _)) = faces.iter().min_by(|a, b| far(a).total_cmp(&far(b))) {
                out.push((*face, (u[1] - u[0]) * (v[1] - v[0]), at));
            }
        }
    }
    out
}

/// Where to cut a side of a rectangle that runs along `along` from `low` to `high`.
fn breaks(lattice: &Lattice, origin: DVec3, along: DVec3, low: f64, high: f64) -> Vec<f64> {
    let mut out = vec![low, high];
    if let Some(a) = (0..3).find(|&a| along[a].abs() > 1.0 - 1e-10) {
        let planes = (0..=lattice.n[a]).map(|i| lattice.origin[a] + lattice.cell * i as f64);
        out.extend(
            planes
                .map(|x| (x - origin[a]) * along[a].signum())
                .filter(|s| *s > low && *s < high),
        );
    } else {
        let count = (16.0 * (high - low) / lattice.cell).ceil().clamp(1.0, 4000.0) as usize;
        out.extend((1..count).map(|i| low + (high - low) * i as f64 / count as f64));
    }
    out.sort_by(f64::total_cmp);
    out
}

/// Faces of a panel open to the cavity in and round a rectangle of plate coordinates, with their place.
fn open_faces(lattice: &Lattice, panel: &Panel, low: DVec2, high: DVec2) -> Vec<(Face, DVec2)> {
    let margin = 2.0 * lattice.cell;
    let (low, high) = (low - margin, high + margin);
    let Some((axis, turned)) = panel.along_axes() else {
        return crossed_faces(lattice, panel, low, high)
            .into_values()
            .flatten()
            .collect();
    };
    let place = (turned.origin[axis] - lattice.origin[axis]) / lattice.cell;
    let Some(layer) = nearest_layer(place, lattice.n[axis]) else {
        return Vec::new();
    };
    let [b, c] = [[1, 2], [0, 2], [0, 1]][axis];
    let mut out = Vec::new();
    for j in 0..lattice.n[c] {
        for i in 0..lattice.n[b] {
            let mut at = [0; 3];
            (at[axis], at[b], at[c]) = (layer, i, j);
            let index = lattice.face_index(axis, at[0], at[1], at[2]);
            let middle = panel.plate_coordinates(lattice.centre(at[0], at[1], at[2]));
            if lattice.open_area[axis][index] > 0.0 && middle.cmpge(low).all() && middle.cmple(high).all() {
                out.push((
                    Face {
                        axis: axis as u8,
                        index: index as u32,
                    },
                    middle,
                ));
            }
        }
    }
    out
}

/// Faces that a panel's plane goes through within a rectangle of plate coordinates, with the place, by low cell.
fn crossed_faces(
    l: &Lattice,
    panel: &Panel,
    low: DVec2,
    high: DVec2,
) -> BTreeMap<[usize; 3], Vec<(Face, DVec2)>> {
    let corners = [low, DVec2::new(high.x, low.y), high, DVec2::new(low.x, high.y)].map(|p| panel.point(p));
    let mut first = [0; 3];
    let mut last = [0; 3];
    for a in 0..3 {
        let least = corners.iter().map(|p| p[a]).fold(f64::INFINITY, f64::min) - l.cell;
        let most = corners.iter().map(|p| p[a]).fold(f64::NEG_INFINITY, f64::max) + l.cell;
        first[a] = ((least - l.origin[a]) / l.cell).floor().max(0.0) as usize;
        last[a] = (((most - l.origin[a]) / l.cell).ceil().max(0.0) as usize).min(l.n[a]);
    }
    let mut out: BTreeMap<[usize; 3], Vec<(Face, DVec2)>> = BTreeMap::new();
    for k in first[2]..last[2] {
        for j in first[1]..last[1] {
            for i in first[0]..last[0] {
                let here = [i, j, k];
                let a = l.centre(i, j, k);
                if panel.height(a).abs() > l.cell {
                    continue;
                }
                for axis in 0..3 {
                    let mut next = here;
                    next[axis] += 1;
                    if next[axis] >= l.n[axis] {
                        continue;
                    }
                    let b = l.centre(next[0], next[1], next[2]);
                    if let Some(at) = panel.crossing(a, b)
                        && at.cmpge(low).all()
                        && at.cmple(high).all()
                    {
                        let index = l.face_index(axis, next[0], next[1], next[2]) as u32;
                        if l.open_area[axis][index as usize] > 0.0 {
                            out.entry(here).or_default().push((
                                Face {
                                    axis: axis as u8,
                                    index,
                                },
                                at,
                            ));
                        }
                    }
                }
            }
        }
    }
    out
}
