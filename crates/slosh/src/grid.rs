//! The lattice with room round it: padded arrays, x fastest, four ghost layers, the velocity along each
//! axis on the low face of its cell. All masks that never change during a run are made here once.
//!
//! The ghosts after a row are those before the next one. Rows and layers have odd lengths, so that the checkerboard of
//! the pressure solve is the parity of a cell's index.

use crate::SloshFault;
use crate::plane;
use crate::team::BLOCK;
use glam::DVec3;
use pan::Lattice;

/// Ghost layers on every side: height columns look three cells away.
pub(crate) const PAD: usize = 4;
/// Cells with less open volume than this are closed; their volume is not part of `Solver::open_volume`.
pub(crate) const LEAST_OPEN: f64 = 0.02;
/// Cells with more open volume than this count as uncut.
pub(crate) const UNCUT: f64 = 0.999;

/// Bits of `Grid::sight`. The six like faces beside a face: −x, +x, −y, +y, −z, +z are bits 0 to 5.
/// The neighbour along the own axis is a flat wall.
pub(crate) const WALL_BELOW: u32 = 1 << 6;
pub(crate) const WALL_ABOVE: u32 = 1 << 7;
/// Shift of the bits for a plate's edge beside a face: oil that comes along the plate from there is stopped.
pub(crate) const EDGE: usize = 8;
/// Shift of the bits for the like faces two away, in the same order.
pub(crate) const FAR: usize = 14;

/// Widest lanes that runs are laid out for, single numbers.
pub(crate) const LANES: usize = 16;

/// Cells with ghosts along each axis for `n` without.
pub(crate) fn padded(n: [usize; 3]) -> [usize; 3] {
    [(n[0] + PAD) | 1, (n[1] + PAD) | 1, n[2] + 2 * PAD]
}

/// Length of a field of `m` padded cells: whole blocks.
pub(crate) fn field_length(m: [usize; 3]) -> usize {
    (m[0] * m[1] * m[2]).next_multiple_of(BLOCK)
}

/// The fixed shape that the oil moves in.
pub(crate) struct Grid {
    /// Cells without ghosts.
    pub n: [usize; 3],
    /// Cells with ghosts.
    pub m: [usize; 3],
    /// Index step along x, y, z.
    pub stride: [usize; 3],
    /// Cell edge [m].
    pub h: f64,
    /// Low corner of cell (0,0,0) [m].
    pub origin: DVec3,
    /// Open volume fraction, 0 for closed cells.
    pub volume: Vec<f64>,
    /// 1 / open volume fraction, 0 for closed cells.
    pub room: Vec<f64>,
    /// Open area fraction of low faces as it is now; doors change theirs.
    pub area: [Vec<f32>; 3],
    /// 1 where the low face is clear: open and without plate, screen or door. Surface normals, height
    /// columns and averages look only through clear faces.
    pub clear: [Vec<u8>; 3],
    /// Faces of a cell that are open or may open, a door's too: low and high along x, y, z are bits 0 to 5.
    pub open: Vec<u8>,
    /// What a face may look at: the six like faces beside it (bits 0 to 5), the six beyond those (from
    /// `FAR`), whether a flat wall stands along its own axis (`WALL_BELOW`, `WALL_ABOVE`), and whether a thin
    /// plate carries on from its edge on a side (from `EDGE`).
    pub sight: [Vec<u32>; 3],
    /// Wetted wall beside the momentum cell of a face, in units of h² per open h³.
    pub wall: [Vec<f32>; 3],
    /// 1 for cells whose 27 neighbours are all uncut and clear: the fast path of the surface kernels.
    pub free: Vec<u8>,
    /// For cut cells with one flat wall: its index in `walls`, else `u32::MAX`.
    pub wall_of: Vec<u32>,
    /// Wall planes in the unit cell, open where `m·x ≤ α`: [mx, my, mz, α].
    pub walls: Vec<[f64; 4]>,
    /// What a test spoils.
    #[cfg(test)]
    pub mutant: crate::mutants::Mutant,
}

impl Grid {
    /// Reads the lattice; checks array lengths and values.
    pub fn new(lattice: &Lattice) -> Result<Grid, SloshFault> {
        check(lattice)?;
        let n = lattice.n;
        let m = padded(n);
        let stride = [1, m[0], m[0] * m[1]];
        let size = field_length(m);
        let mut grid = Grid {
            n,
            m,
            stride,
            h: lattice.cell,
            origin: lattice.origin,
            volume: vec![0.0; size],
            room: vec![0.0; size],
            area: [vec![0.0; size], vec![0.0; size], vec![0.0; size]],
            clear: [vec![0; size], vec![0; size], vec![0; size]],
            open: vec![0; size],
            sight: [vec![0; size], vec![0; size], vec![0; size]],
            wall: [vec![0.0; size], vec![0.0; size], vec![0.0; size]],
            free: vec![0; size],
            wall_of: vec![u32::MAX; size],
            walls: Vec::new(),
            #[cfg(test)]
            mutant: Default::default(),
        };
        let mut door = [vec![0u8; size], vec![0u8; size], vec![0u8; size]];
        for d in &lattice.doors {
            for f in &d.faces {
                let a = f.face.axis as usize;
                door[a][grid.face_at(lattice, a, f.face.index as usize)] = 1;
            }
        }
        grid.open_cells(lattice, &door);
        for s in &lattice.screens {
            let a = s.face.axis as usize;
            let c = grid.face_at(lattice, a, s.face.index as usize);
            grid.clear[a][c] = 0;
        }
        grid.look_round(&door);
        grid.measure_walls();
        Ok(grid)
    }

    /// Index of cell (i, j, k) without ghosts.
    #[inline]
    pub fn at(&self, i: usize, j: usize, k: usize) -> usize {
        (i + PAD) + self.stride[1] * (j + PAD) + self.stride[2] * (k + PAD)
    }

    /// (i, j, k) of a padded index; only for cells that are not ghosts.
    pub fn place(&self, c: usize) -> [usize; 3] {
        let i = c % self.m[0];
        let j = c / self.m[0] % self.m[1];
        let k = c / self.stride[2];
        [
            i.saturating_sub(PAD),
            j.saturating_sub(PAD),
            k.saturating_sub(PAD),
        ]
    }

    /// Cells from `c` to the end of its row, ghosts too.
    pub fn left_in_row(&self, c: usize) -> usize {
        self.m[0] - c % self.m[0]
    }

    /// Centre of a cell, the ghosts before a row too [m].
    pub fn centre(&self, c: usize) -> DVec3 {
        let place = [c % self.m[0], c / self.m[0] % self.m[1], c / self.stride[2]];
        self.origin + self.h * DVec3::from_array(place.map(|i| i as f64 - PAD as f64 + 0.5))
    }

    /// Padded index of a lattice cell.
    pub fn cell_at(&self, index: usize) -> usize {
        let [nx, ny, _] = self.n;
        self.at(index % nx, index / nx % ny, index / (nx * ny))
    }

    /// Padded index of a lattice face of `axis`.
    pub fn face_at(&self, lattice: &Lattice, axis: usize, index: usize) -> usize {
        let [mx, my, _] = lattice.face_counts(axis);
        self.at(index % mx, index / mx % my, index / (mx * my))
    }

    /// The wall plane of a cut cell with one flat wall.
    #[inline]
    pub fn wall(&self, c: usize) -> Option<[f64; 4]> {
        let at = self.wall_of[c];
        if at == u32::MAX {
            None
        } else {
            Some(self.walls[at as usize])
        }
    }

    /// Length of a field.
    pub fn size(&self) -> usize {
        self.volume.len()
    }

    fn open_cells(&mut self, lattice: &Lattice, door: &[Vec<u8>; 3]) {
        let [nx, ny, nz] = self.n;
        for k in 0..nz {
            for j in 0..ny {
                for i in 0..nx {
                    let v = lattice.open_volume[lattice.cell_index(i, j, k)];
                    let c = self.at(i, j, k);
                    if v >= LEAST_OPEN {
                        self.volume[c] = v.min(1.0);
                    }
                }
            }
        }
        for axis in 0..3 {
            let s = self.stride[axis];
            let [mx, my, mz] = lattice.face_counts(axis);
            for k in 0..mz {
                for j in 0..my {
                    for i in 0..mx {
                        let c = self.at(i, j, k);
                        let a = lattice.open_area[axis][lattice.face_index(axis, i, j, k)];
                        if a > 0.0 && self.volume[c] > 0.0 && self.volume[c - s] > 0.0 && door[axis][c] == 0 {
                            self.area[axis][c] = a.min(1.0) as f32;
                            self.clear[axis][c] = 1;
                        }
                    }
                }
            }
        }
        // A pore that nothing can enter or leave is no place for oil.
        for c in 0..self.size() {
            if self.volume[c] > 0.0 {
                let reached = (0..3).any(|a| {
                    let s = self.stride[a];
                    self.area[a][c] > 0.0
                        || self.area[a][c + s] > 0.0
                        || door[a][c] == 1
                        || door[a][c + s] == 1
                });
                if !reached {
                    self.volume[c] = 0.0;
                }
            }
            if self.volume[c] > 0.0 {
                self.room[c] = 1.0 / self.volume[c];
            }
        }
    }

    fn look_round(&mut self, door: &[Vec<u8>; 3]) {
        for axis in 0..3 {
            for c in self.inner() {
                let passes = |at: usize| self.area[axis][at] > 0.0 || door[axis][at] == 1;
                if !passes(c) {
                    continue;
                }
                self.open[c] |= 1 << (2 * axis);
                self.open[c - self.stride[axis]] |= 2 << (2 * axis);
                let sa = self.stride[axis];
                let mut bits = 0u32;
                let mut rubbing = 0.0;
                for e in 0..3 {
                    let s = self.stride[e];
                    if e == axis {
                        // Along the own axis: a shut face beside an uncut cell is a flat wall across the flow.
                        if passes(c - s) {
                            bits |= 1 << (2 * e);
                        } else if self.volume[c - s] > UNCUT {
                            bits |= WALL_BELOW;
                        }
                        if passes(c + s) {
                            bits |= 2 << (2 * e);
                        } else if self.volume[c] > UNCUT {
                            bits |= WALL_ABOVE;
                        }
                        continue;
                    }
                    let mut side = |next: usize, gate: usize, bit: u32| {
                        let joined = self.clear[e][gate] == 1 || self.clear[e][gate - sa] == 1;
                        if passes(next) && joined {
                            bits |= bit;
                        } else if joined && self.volume[next] > UNCUT && self.volume[next - sa] > UNCUT {
                            bits |= bit << EDGE;
                        }
                    };
                    side(c - s, c, 1 << (2 * e));
                    side(c + s, c + s, 2 << (2 * e));
                    let shut = |at: usize| {
                        if door[e][at] == 1 {
                            1.0
                        } else {
                            1.0 - f64::from(self.area[e][at])
                        }
                    };
                    rubbing += 0.5 * (shut(c) + shut(c - sa) + shut(c + s) + shut(c + s - sa));
                }
                let room = (0.5 * (self.volume[c] + self.volume[c - sa])).max(0.1);
                self.sight[axis][c] = bits;
                // In a cut cell the share of shut sides grows with the solid; only what borders oil rubs.
                self.wall[axis][c] = (rubbing.min(4.0) / room) as f32;
            }
        }
        for axis in 0..3 {
            for c in self.inner() {
                let sight = &self.sight[axis];
                let mut far = 0;
                for e in 0..3 {
                    let s = self.stride[e];
                    far |= sight[c] & sight[c - s] & (1 << (2 * e));
                    far |= sight[c] & sight[c + s] & (2 << (2 * e));
                }
                self.sight[axis][c] |= far << FAR;
            }
        }
        for c in self.inner() {
            if self.volume[c] <= UNCUT {
                continue;
            }
            let [sx, sy, sz] = self.stride;
            let mut free = true;
            for dz in 0..3 {
                for dy in 0..3 {
                    for dx in 0..3 {
                        let d = c + dx + sy * dy + sz * dz - sx - sy - sz;
                        free &= self.volume[d] > UNCUT;
                        free &= dx == 0 || self.clear[0][d] == 1;
                        free &= dy == 0 || self.clear[1][d] == 1;
                        free &= dz == 0 || self.clear[2][d] == 1;
                    }
                }
            }
            self.free[c] = u8::from(free);
        }
    }

    /// The flat wall in each cut cell, from its open areas (their difference is the wall's area vector) and
    /// open volume. Kept only when the plane gives the cell's areas back: two walls in one cell have no such
    /// plane. A face that a plate shuts says nothing; the wall is then tried as running along that axis.
    fn measure_walls(&mut self) {
        for c in self.inner() {
            let v = self.volume[c];
            if v <= 0.0 || v > UNCUT {
                continue;
            }
            let areas = [0, 1, 2].map(|a| [c, c + self.stride[a]].map(|at| f64::from(self.area[a][at])));
            let lone = |a: usize| (areas[a][0] == 0.0) != (areas[a][1] == 0.0);
            let found = [0usize, 1, 2, 4, 3, 5, 6].into_iter().find_map(|plated| {
                let fits = (0..3).all(|a| plated >> a & 1 == 0 || lone(a));
                if fits { flat_wall(v, areas, plated) } else { None }
            });
            if let Some(wall) = found {
                self.wall_of[c] = self.walls.len() as u32;
                self.walls.push(wall);
            }
        }
    }

    /// Padded indices of all cells that are not ghosts.
    pub fn inner(&self) -> impl Iterator<Item = usize> + use<> {
        let ([nx, ny, nz], [_, sy, sz]) = (self.n, self.stride);
        (0..nz).flat_map(move |k| {
            (0..ny).flat_map(move |j| {
                let row = PAD + sy * (j + PAD) + sz * (k + PAD);
                row..row + nx
            })
        })
    }
}

/// Plane of a flat wall that leaves the volume `v` and the face areas [low, high] per axis; along the axes of
/// `plated` (bits) the face without area is shut by a plate.
fn flat_wall(v: f64, areas: [[f64; 2]; 3], plated: usize) -> Option<[f64; 4]> {
    let mut m = [0.0; 3];
    for a in 0..3 {
        if plated >> a & 1 == 0 {
            m[a] = areas[a][0] - areas[a][1];
        }
    }
    let sum: f64 = m.iter().map(|x| x.abs()).sum();
    if sum < 1e-3 {
        return None;
    }
    m = m.map(|x| x / sum);
    let wall = [m[0], m[1], m[2], plane::alpha_for(m, v)];
    const THIN: f64 = 1e-3;
    let close = (0..3).all(|a| {
        (0..2).all(|side| {
            let from = if side == 0 { 0.0 } else { 1.0 - THIN };
            let shut = plated >> a & 1 == 1 && areas[a][side] == 0.0;
            shut || (plane::slab(wall, a, from, from + THIN) / THIN - areas[a][side]).abs() < 0.05
        })
    });
    close.then_some(wall)
}

fn check(lattice: &Lattice) -> Result<(), SloshFault> {
    let misfit = |what: String| Err(SloshFault::Lattice { what });
    if !(lattice.cell > 0.0 && lattice.cell.is_finite()) {
        return Err(SloshFault::Input {
            what: "cell edge",
            value: lattice.cell,
            must: "positive and finite",
        });
    }
    let cells = lattice.cells();
    if cells == 0 || lattice.open_volume.len() != cells {
        return misfit(format!(
            "{} open volumes for {cells} cells",
            lattice.open_volume.len()
        ));
    }
    if let Some(c) = lattice
        .open_volume
        .iter()
        .position(|v| !(*v >= 0.0 && *v <= 1.0 + 1e-9))
    {
        return misfit(format!("open volume of cell {c} is {}", lattice.open_volume[c]));
    }
    for axis in 0..3 {
        let [mx, my, mz] = lattice.face_counts(axis);
        let areas = &lattice.open_area[axis];
        if areas.len() != mx * my * mz {
            return misfit(format!(
                "{} open areas for {} faces of axis {axis}",
                areas.len(),
                mx * my * mz
            ));
        }
        if let Some(f) = areas.iter().position(|a| !(*a >= 0.0 && *a <= 1.0 + 1e-9)) {
            return misfit(format!("open area of face {f}, axis {axis}, is {}", areas[f]));
        }
        for k in 0..mz {
            for j in 0..my {
                for i in 0..mx {
                    let edge = [i, j, k][axis] == 0 || [i, j, k][axis] == lattice.n[axis];
                    if edge && areas[lattice.face_index(axis, i, j, k)] > 0.0 {
                        return misfit(format!(
                            "the outermost face ({i}, {j}, {k}) of axis {axis} is open"
                        ));
                    }
                }
            }
        }
    }
    let faces = |face: pan::lattice::Face| {
        (face.axis as usize) < 3 && (face.index as usize) < lattice.open_area[face.axis as usize].len()
    };
    if !lattice
        .screens
        .iter()
        .all(|s| faces(s.face) && s.loss >= 0.0 && s.loss.is_finite() && s.hole > 0.0)
    {
        return misfit("a screen names a face that is not there, carries a loss that is no number, or has holes without size".into());
    }
    if !lattice
        .doors
        .iter()
        .flat_map(|d| &d.faces)
        .all(|d| faces(d.face) && d.area >= 0.0 && d.arm.is_finite())
    {
        return misfit("a door names a face that is not there or a part without area".into());
    }
    let inside = |cell: u32| (cell as usize) < cells;
    if !lattice.mouth.iter().all(|p| inside(p.cell) && p.area >= 0.0)
        || !lattice
            .returns
            .iter()
            .flatten()
            .all(|p| inside(p.cell) && p.share >= 0.0)
    {
        return misfit("the mouth or a return place names a cell that is not there".into());
    }
    Ok(())
}
