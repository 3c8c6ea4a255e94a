//! The cells of a lattice as upright columns, for quick levels.
//!
//! A run of open cells over one another becomes a few pieces of even plan area; a cell that a floor or a
//! ceiling cuts counts as a full-area piece of less height, standing against its neighbour, so that flat
//! floors stay where they are. A piece's volume is spread evenly along "up" round its centre over the length
//! that has the variance of the piece as a box. What is left out: the open part of a column that a wall cuts
//! lies to one side of the column's middle, and plates stand on cell faces.

use glam::DVec3;
use pan::Lattice;

/// A piece of a column.
#[derive(Clone, Copy, Debug)]
struct Piece {
    centre: DVec3,
    height: f64,
    volume: f64,
}

/// Columns of a lattice or of one of its spaces.
#[derive(Clone, Debug)]
pub struct Columns {
    cell: f64,
    pieces: Vec<Piece>,
    volume: f64,
}

impl Columns {
    /// All open cells of the lattice.
    pub fn whole(lattice: &Lattice) -> Columns {
        Columns::of(lattice, |_| true)
    }

    /// The open cells of one space.
    pub fn of_space(lattice: &Lattice, space: usize) -> Columns {
        Columns::of(lattice, |s| s == space)
    }

    fn of(lattice: &Lattice, wanted: impl Fn(usize) -> bool) -> Columns {
        let [nx, ny, nz] = lattice.n;
        let open_at = |i: usize, j: usize, k: usize| {
            let at = lattice.cell_index(i, j, k);
            let space = lattice.space_of[at] as usize;
            if space < lattice.spaces.len() && wanted(space) {
                lattice.open_volume[at]
            } else {
                0.0
            }
        };
        let mut pieces = Vec::new();
        for j in 0..ny {
            for i in 0..nx {
                let column: Vec<f64> = (0..nz).map(|k| open_at(i, j, k)).collect();
                let mut k = 0;
                while k < nz {
                    let end = k + column[k..].iter().take_while(|&&open| open > 0.0).count();
                    if end > k {
                        add_run(
                            &mut pieces,
                            &column[k..end],
                            lattice.centre(i, j, k),
                            lattice.cell,
                        );
                    }
                    k = end + 1;
                }
            }
        }
        let volume = pieces.iter().map(|p| p.volume).sum();
        Columns {
            cell: lattice.cell,
            pieces,
            volume,
        }
    }

    /// Open volume [m³].
    pub fn volume(&self) -> f64 {
        self.volume
    }

    /// Volume [m³] under the plane `up · x = offset`; `up` a unit vector.
    pub fn volume_below(&self, up: DVec3, offset: f64) -> f64 {
        self.spread(up)
            .iter()
            .map(|s| s.volume * s.share_below(offset))
            .sum()
    }

    /// Offset of the plane square to `up` under which `volume` [m³] lies; a volume beyond what fits gives the
    /// plane over everything.
    pub fn level(&self, up: DVec3, volume: f64) -> f64 {
        let spread = self.spread(up);
        let mut low = spread
            .iter()
            .map(|s| s.middle - 0.5 * s.length)
            .fold(f64::INFINITY, f64::min);
        let mut high = spread
            .iter()
            .map(|s| s.middle + 0.5 * s.length)
            .fold(f64::NEG_INFINITY, f64::max);
        let close = 1e-9 * self.volume;
        let mut at = low + (high - low) * volume / self.volume;
        for _ in 0..60 {
            let (mut below, mut rate) = (0.0, 0.0);
            for s in &spread {
                let share = (at - s.middle) / s.length + 0.5;
                below += s.volume * share.clamp(0.0, 1.0);
                if share > 0.0 && share < 1.0 {
                    rate += s.volume / s.length;
                }
            }
            let miss = below - volume;
            if miss.abs() <= close {
                break;
            }
            if miss > 0.0 {
                high = at
            } else {
                low = at
            }
            let newton = at - miss / rate;
            at = if newton > low && newton < high {
                newton
            } else {
                0.5 * (low + high)
            };
        }
        at
    }

    fn spread(&self, up: DVec3) -> Vec<Spread> {
        let across = self.cell * self.cell * (up.x * up.x + up.y * up.y);
        let piece = |p: &Piece| Spread {
            middle: up.dot(p.centre),
            length: (p.height * p.height * up.z * up.z + across).sqrt(),
            volume: p.volume,
        };
        self.pieces.iter().map(piece).collect()
    }
}

/// A piece along one direction.
struct Spread {
    middle: f64,
    length: f64,
    volume: f64,
}

impl Spread {
    fn share_below(&self, offset: f64) -> f64 {
        ((offset - self.middle) / self.length + 0.5).clamp(0.0, 1.0)
    }
}

/// Adds the pieces of one run of open shares, lowest first; `lowest` is the centre of its lowest cell.
fn add_run(pieces: &mut Vec<Piece>, open: &[f64], lowest: DVec3, cell: f64) {
    // (from, to, share) of each cell, heights from the run's underside.
    let edge = |k: usize| k as f64 * cell;
    let mut spans: Vec<(f64, f64, f64)> = open
        .iter()
        .enumerate()
        .map(|(k, &share)| (edge(k), edge(k + 1), share))
        .collect();
    let last = open.len() - 1;
    if last > 0 && open[0] < open[1] {
        spans[0] = (edge(1) - cell * open[0] / open[1], edge(1), open[1]);
    }
    if last > 0 && open[last] < open[last - 1] {
        let share = open[last - 1];
        spans[last] = (edge(last), edge(last) + cell * open[last] / share, share);
    }
    spans.dedup_by(|above, below| {
        let joins = above.2 == below.2;
        if joins {
            below.1 = above.1;
        }
        joins
    });
    for (from, to, share) in spans {
        let centre = lowest + DVec3::Z * (0.5 * (from + to) - 0.5 * cell);
        pieces.push(Piece {
            centre,
            height: to - from,
            volume: share * cell * cell * (to - from),
        });
    }
}
