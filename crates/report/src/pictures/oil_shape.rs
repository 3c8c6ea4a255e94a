//! The outline of the oil in a cut, from the shares of its cells.

use crate::section::OilCells;

/// The oil of a cut in view coordinates.
pub struct OilShape {
    /// Pieces that together are the oil; neighbours share edges.
    pub areas: Vec<Vec<[f64; 2]>>,
    /// Stretches of its surface.
    pub surface: Vec<[[f64; 2]; 2]>,
}

/// Where the share of oil, read between cell centres, passes one half (marching squares).
///
/// The oil runs half a cell past the outermost centres, to be clipped by the walls; whole rows of full squares
/// become one piece.
pub fn oil_shape(oil: &OilCells) -> OilShape {
    let mut shape = OilShape {
        areas: Vec::new(),
        surface: Vec::new(),
    };
    let [nu, nv] = oil.n;
    if nu == 0 || nv == 0 || oil.fill.len() != nu * nv || oil.open.len() != nu * nv {
        return shape;
    }
    let spread = spread_into_metal(oil);
    let share = |(u, v): (usize, usize)| {
        let (u, v) = (u.clamp(1, nu) - 1, v.clamp(1, nv) - 1);
        spread[u + nu * v] - 0.5
    };
    let centre = |(u, v): (usize, usize)| {
        [
            oil.origin[0] + (u as f64 - 0.5) * oil.cell,
            oil.origin[1] + (v as f64 - 0.5) * oil.cell,
        ]
    };
    let corners = |u: usize, v: usize| [(u, v), (u + 1, v), (u + 1, v + 1), (u, v + 1)];
    for v in 0..=nv {
        let mut u = 0;
        while u <= nu {
            let full = |u: usize| corners(u, v).into_iter().all(|c| share(c) > 0.0);
            let end = (u..=nu).find(|&e| !full(e)).unwrap_or(nu + 1);
            if end > u {
                shape
                    .areas
                    .push([(u, v), (end, v), (end, v + 1), (u, v + 1)].map(centre).to_vec());
                u = end;
                continue;
            }
            let (mut piece, mut crossed) = (Vec::new(), Vec::new());
            let around = corners(u, v);
            for i in 0..4 {
                let (a, b) = (around[i], around[(i + 1) % 4]);
                let (fa, fb) = (share(a), share(b));
                if fa > 0.0 {
                    piece.push(centre(a));
                }
                if (fa > 0.0) != (fb > 0.0) {
                    let (pa, pb, t) = (centre(a), centre(b), fa / (fa - fb));
                    let at = [pa[0] + t * (pb[0] - pa[0]), pa[1] + t * (pb[1] - pa[1])];
                    piece.push(at);
                    crossed.push(at);
                }
            }
            if piece.len() > 2 {
                shape.areas.push(piece);
            }
            shape
                .surface
                .extend(crossed.chunks_exact(2).map(|c| [c[0], c[1]]));
            u += 1;
        }
    }
    shape
}

/// Oil share of each cell, metal cells taking the mean of their open neighbours, so that oil meets the walls.
fn spread_into_metal(oil: &OilCells) -> Vec<f64> {
    let [nu, nv] = oil.n;
    let mut known: Vec<Option<f64>> = oil
        .fill
        .iter()
        .zip(&oil.open)
        .map(|(f, open)| open.then_some(f64::from(*f) / 255.0))
        .collect();
    for _ in 0..3 {
        let before = known.clone();
        for v in 0..nv {
            for u in 0..nu {
                if before[u + nu * v].is_some() {
                    continue;
                }
                let (mut sum, mut count) = (0.0, 0.0);
                for (du, dv) in [(-1i64, 0i64), (1, 0), (0, -1), (0, 1)] {
                    let (a, b) = (u as i64 + du, v as i64 + dv);
                    if a >= 0
                        && b >= 0
                        && (a as usize) < nu
                        && (b as usize) < nv
                        && let Some(f) = before[a as usize + nu * b as usize]
                    {
                        sum += f;
                        count += 1.0;
                    }
                }
                if count > 0.0 {
                    known[u + nu * v] = Some(sum / count);
                }
            }
        }
    }
    known.into_iter().map(|k| k.unwrap_or(0.0)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(loops: &[Vec<[f64; 2]>]) -> f64 {
        loops
            .iter()
            .map(|l| {
                (0..l.len())
                    .map(|i| {
                        let (a, b) = (l[i], l[(i + 1) % l.len()]);
                        0.5 * (a[0] * b[1] - a[1] * b[0])
                    })
                    .sum::<f64>()
            })
            .sum()
    }

    #[test]
    fn oil_to_half_height_covers_half_the_cut() {
        // 8 × 6 cells of 1 m, the lower three rows full: the outline passes between rows 3 and 4, and runs half
        // a cell past the open cells on the other three sides to meet the clip.
        let fill = (0..48).map(|i| if i / 8 < 3 { 255 } else { 0 }).collect();
        let oil = OilCells {
            origin: [0.0, 0.0],
            cell: 1.0,
            n: [8, 6],
            fill,
            open: vec![true; 48],
        };
        let shape = oil_shape(&oil);
        let got = area(&shape.areas);
        let want = 9.0 * 3.5;
        assert!((got - want).abs() < 1e-9, "got {got}, wanted {want}");
        assert!(
            shape.surface.iter().flatten().all(|p| (p[1] - 3.0).abs() < 1e-9),
            "{:?}",
            shape.surface
        );
    }

    #[test]
    fn no_oil_has_no_outline() {
        let oil = OilCells {
            origin: [0.0, 0.0],
            cell: 1.0,
            n: [4, 4],
            fill: vec![0; 16],
            open: vec![true; 16],
        };
        assert!(oil_shape(&oil).areas.is_empty());
    }
}
