//! The mouth: how much oil stands over it, and how much of it can come to it.
//!
//! **Cover** is measured as the 3-D solver measures it: along the ray from the mouth's centre against apparent gravity,
//! cell by cell, to the first surface, plate or wall, each cell standing under the surface of its own bay.
//!
//! **What comes to the rim.** The pump draws its flow Q in under the rim, all round its circumference. Between the
//! floor and the surface the oil runs up to it with `q = Q/(π D)` a metre of rim, and the surface falls by what that
//! speed takes: `H = y + q²/(2 g y²)`, H the depth far away, y at the rim. The most that a depth brings by itself is the
//! critical flow, `q² = g (2H/3)³`; beyond it the level at the rim falls below the rim and the pump takes air for the
//! rest (open-channel formulae, e.g. F. M. Henderson, Open Channel Flow, 1966, ch. 2, from memory; the 3-D solver draws
//! its first air at this depth within 25 %, docs/validation.md, "Air at the mouth").

use glam::DVec3;
use pan::Lattice;

/// The mouth in its surroundings.
#[derive(Clone, Debug)]
pub struct Mouth {
    /// Centre [m].
    pub at: DVec3,
    /// Circumference of the opening [m].
    pub round: f64,
    /// Pieces: place [m] and share.
    pub pieces: Vec<(DVec3, f64)>,
    /// Index of the bay that it draws from.
    pub bay: usize,
    /// Depth of oil under the mouth, straight down to what is solid [m].
    pub over_floor: f64,
    sight: Sight,
}

/// What a ray needs to know of the lattice.
#[derive(Clone, Debug)]
struct Sight {
    n: [usize; 3],
    cell: f64,
    origin: DVec3,
    /// Bay of each cell; `u16::MAX` for solid ones.
    bay_of: Vec<u16>,
    /// Bit a: the low face along axis a is shut.
    shut: Vec<u8>,
}

impl Mouth {
    /// The mouth of a lattice; none without one.
    pub fn of(lattice: &Lattice) -> Option<Mouth> {
        let drawn = lattice.spaces.iter().position(|space| space.has_mouth)?;
        let mut pieces = Vec::new();
        for face in &lattice.mouth {
            let [i, j, k] = lattice.cell_place(face.cell as usize);
            let at = lattice.centre(i, j, k).with_z(lattice.mouth_at.z);
            pieces.push((at, face.area));
        }
        let whole: f64 = pieces.iter().map(|m| m.1).sum();
        pieces.iter_mut().for_each(|m| m.1 /= whole);
        // The lattice knows the opening and not how thick the rim round it is: a few per cent less than the outside.
        let diameter = (4.0 * whole / std::f64::consts::PI).sqrt();
        let sight = Sight::of(lattice);
        let over_floor = sight.free(lattice.mouth_at, DVec3::NEG_Z);
        Some(Mouth {
            at: lattice.mouth_at,
            round: std::f64::consts::PI * diameter,
            pieces,
            bay: drawn,
            over_floor,
            sight,
        })
    }

    /// Unbroken oil from the mouth along the unit vector `way` [m]; `surface` tells of a bay how high its surface stands over
    /// a place along its normal [m], and that normal.
    pub fn cover(&self, way: DVec3, surface: impl Fn(usize, DVec3) -> (f64, DVec3)) -> f64 {
        let mut length = 0.0;
        self.sight.walk(self.at, way, |bay, far| {
            let (over, normal) = surface(bay, self.at + length * way);
            let rate = normal.dot(way);
            let wet = if over <= 0.0 {
                0.0
            } else if rate <= 0.0 {
                far
            } else {
                (over / rate).min(far)
            };
            length += wet;
            wet >= far - 1e-12
        });
        length
    }

    /// Depth at the rim [m] over the floor under it when `flow` [m³/s] runs to it from oil `depth` [m] deep under
    /// `gravity` [m/s²], and the most that runs to it [m³/s].
    pub fn approach(&self, depth: f64, flow: f64, gravity: f64) -> (f64, f64) {
        if !(depth > 0.0 && gravity > 0.0) {
            return (0.0, 0.0);
        }
        let critical = 2.0 / 3.0 * depth;
        let most = self.round * (gravity * critical.powi(3)).sqrt();
        let q = flow.min(most) / self.round;
        let square = q * q / (2.0 * gravity);
        // The deep root of y + square/y² = depth lies between the critical depth and the whole. From the whole Newton's steps
        // come down to it and never past it: the left side bends upward.
        let mut y = depth;
        for _ in 0..60 {
            let head = square / (y * y);
            let steep = 1.0 - 2.0 * head / y;
            let step = (y + head - depth) / steep;
            if !(steep > 0.0 && step > 1e-12 * depth) {
                break;
            }
            y -= step;
        }
        (y.max(critical), most)
    }
}

impl Sight {
    fn of(lattice: &Lattice) -> Sight {
        let mut shut = vec![0u8; lattice.cells()];
        for (cell, bits) in shut.iter_mut().enumerate() {
            let [i, j, k] = lattice.cell_place(cell);
            for axis in 0..3 {
                let open = lattice.open_area[axis][lattice.face_index(axis, i, j, k)];
                *bits |= u8::from(open <= 0.0) << axis;
            }
        }
        // The pickup's own body over its mouth does not end the ray.
        for face in &lattice.mouth {
            let over = face.cell as usize + lattice.n[0] * lattice.n[1];
            if let Some(bits) = shut.get_mut(over) {
                *bits &= !4;
            }
        }
        Sight {
            n: lattice.n,
            cell: lattice.cell,
            origin: lattice.origin,
            bay_of: lattice.space_of.clone(),
            shut,
        }
    }

    /// Way from `start` along the unit vector `way` to the first shut face [m].
    fn free(&self, start: DVec3, way: DVec3) -> f64 {
        let mut length = 0.0;
        self.walk(start, way, |_, far| {
            length += far;
            true
        });
        length
    }

    /// Goes from `start` along the unit vector `way` through open faces: `enter(bay, way through the cell [m])` for each
    /// cell, as long as it says true.
    fn walk(&self, start: DVec3, way: DVec3, mut enter: impl FnMut(usize, f64) -> bool) {
        let mut at = (start - self.origin) / self.cell;
        // A mouth that stands on a face draws from the cell below it; the ray starts just inside.
        at.z -= 1e-9;
        let mut place = [0i64; 3];
        for axis in 0..3 {
            place[axis] = at[axis].floor() as i64;
            if place[axis] < 0 || place[axis] >= self.n[axis] as i64 {
                return;
            }
        }
        loop {
            let index = |p: &[i64; 3]| (p[0] + self.n[0] as i64 * (p[1] + self.n[1] as i64 * p[2])) as usize;
            let bay = self.bay_of[index(&place)];
            if bay == u16::MAX {
                return;
            }
            let (mut axis, mut far) = (0, f64::INFINITY);
            for a in 0..3 {
                let to = if way[a] > 0.0 {
                    (place[a] as f64 + 1.0 - at[a]) / way[a]
                } else if way[a] < 0.0 {
                    (place[a] as f64 - at[a]) / way[a]
                } else {
                    f64::INFINITY
                };
                if to < far {
                    (axis, far) = (a, to.max(0.0));
                }
            }
            if !enter(bay as usize, far * self.cell) {
                return;
            }
            let up = way[axis] > 0.0;
            let mut next = place;
            next[axis] += if up { 1 } else { -1 };
            if next[axis] < 0 || next[axis] >= self.n[axis] as i64 {
                return;
            }
            let face_of = if up { &next } else { &place };
            if self.shut[index(face_of)] >> axis & 1 == 1 {
                return;
            }
            at += far * way;
            at[axis] = if up { next[axis] as f64 } else { place[axis] as f64 };
            place = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mouth() -> Mouth {
        let mut lattice = slosh::boxes::tank([20, 20, 10], 0.01);
        slosh::boxes::mouth(&mut lattice, DVec3::new(0.1, 0.1, 0.02), 0.02);
        lattice.spaces = vec![pan::lattice::Space {
            name: "tank".into(),
            volume: 4e-3,
            centre: DVec3::new(0.1, 0.1, 0.05),
            has_mouth: true,
        }];
        lattice.space_of.fill(0);
        Mouth::of(&lattice).unwrap()
    }

    /// Critical flow by hand: 30 mm deep, y = 20 mm, q = √(9.81 · 0.02³) = 8.859e-3 m²/s on the circumference.
    #[test]
    fn what_comes_to_the_rim_is_the_critical_flow_at_most() {
        let mouth = mouth();
        let (rim, most) = mouth.approach(0.03, 1.0, 9.81);
        assert!((most / (8.859e-3 * mouth.round) - 1.0).abs() < 1e-3, "{most}");
        assert!((rim - 0.02).abs() < 1e-6, "{rim}");
    }

    /// Energy is kept on the way in: 60 mm deep, half the critical flow.
    #[test]
    fn the_surface_falls_by_the_velocity_head() {
        let mouth = mouth();
        let (_, most) = mouth.approach(0.06, 0.0, 9.81);
        let flow = 0.5 * most;
        let (rim, _) = mouth.approach(0.06, flow, 9.81);
        let head = (flow / mouth.round / rim).powi(2) / (2.0 * 9.81);
        assert!((rim + head - 0.06).abs() < 1e-9 && rim > 0.04, "{rim} {head}");
        assert!(mouth.approach(0.06, 0.0, 9.81).0 > 0.06 - 1e-9);
    }

    #[test]
    fn the_floor_lies_under_the_mouth() {
        assert!((mouth().over_floor - 0.02).abs() < 1e-6);
    }
}
