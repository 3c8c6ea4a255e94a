//! Faces that resist: holes smaller than a cell, and doors that open and shut by their own inertia.
//!
//! **Loss.** A face of control length h obeys `du/dt = drive − K u|u| / (2h) − L u / h`. Taken implicitly the
//! new velocity is `β w`, `w` the velocity that the drive alone would give (advection, gravity, and last
//! step's pressure), `β = 1 / (1 + l + k|u|)` with `k = K dt / 2h`, `l = L dt / h` and
//! `|u| = (sqrt((1+l)² + 4k|w|) − 1 − l) / 2k`. β then multiplies the predicted velocity and the face's
//! coefficient in the pressure equation. Using the old |u| instead makes a starting jet flip between two
//! values for ever once `K g dt²/h` passes about 10.
//!
//! **Flap.** One degree of freedom: `(I + I_oil) θ'' = Σ Δp A r + weight − spring − (I + I_oil) θ'/τ`. The weight
//! is that in oil, `m g (1 − ρ/ρ_flap)` as far as it is wetted; the spring's torque runs straight from shut to stop.
//! `I = m L²/3` (thin plate about its edge). `I_oil`: a strip of width s moving broadside in oil carries
//! `π ρ s²/4` per length (Lamb, Hydrodynamics, art. 71), `π ρ s/4` per area, so about the hinge
//! `I_oil = (π/4) ρ s w L³/3` with s the shorter side, times the wetted share.
//!
//! **Free area** at angle θ: the front gap `w · 2 L sin(θ/2)` and two side triangles `½ L² sin θ` each, bounded
//! by the opening `w L`; the gap all round when shut adds `2 (L + w) gap`. Its discharge is `Cd · free area ·
//! sqrt(2 Δp/ρ)`, its loss that of a hole ([`hole_loss`]); a door wide open carries no loss of its own.

use crate::SloshFault;
use crate::grid::Grid;
use crate::momentum::Flow;
use glam::{DQuat, DVec3};
use pan::Lattice;
use pan::lattice::{free_share, hole_loss};
use std::f64::consts::PI;

/// A door this nearly shut is shut: less passes than the clean-up would notice.
const SHUT: f64 = 1e-3;
/// Time in which a swinging flap loses its rate [s]: half of critical damping for a flap that would swing at 10 rad/s.
/// Our own choice; with a much shorter time a flap creeps to its angle.
const DAMPING_TIME: f64 = 0.1;

/// Losses of all faces that resist.
pub(crate) struct Losses {
    faces: Vec<LossFace>,
    /// β of each face; 1 where a face is clear.
    pub give: [Vec<f32>; 3],
}

#[derive(Clone, Copy)]
struct LossFace {
    axis: usize,
    c: usize,
    /// Quadratic loss coefficient K on the face velocity.
    square: f64,
    /// Laminar loss [m/s].
    linear: f64,
}

impl Losses {
    /// Screens of the lattice. Below some Reynolds number of 30 a hole passes oil by viscosity alone:
    /// Sampson's flow through a round hole in a thin plate, `Δp = 6π μ v / d` with v the mean velocity in
    /// the hole (Sampson 1891; Happel and Brenner, Low Reynolds Number Hydrodynamics, ch. 4). With d as four areas
    /// over the edge it serves slots too: Hasimoto's slit of width w asks `32 μ v / (π w)`, 8 % more than `6π μ v/2w`.
    pub fn new(grid: &Grid, lattice: &Lattice, viscosity: f64) -> Losses {
        let ones = || vec![1.0; grid.size()];
        let mut losses = Losses {
            faces: Vec::new(),
            give: [ones(), ones(), ones()],
        };
        for s in &lattice.screens {
            let axis = s.face.axis as usize;
            let c = grid.face_at(lattice, axis, s.face.index as usize);
            let open = s.open.clamp(1e-6, 1.0);
            losses.faces.push(LossFace {
                axis,
                c,
                square: s.loss,
                linear: 6.0 * PI * viscosity / (open * s.hole),
            });
        }
        losses
    }

    /// Works out β from predicted velocities and last step's pressure, and applies it to the velocities.
    pub fn apply(&mut self, grid: &Grid, liquid: &[u8], q: &[f32], warm: f64, flow: &mut Flow, dt: f64) {
        for face in &self.faces {
            let LossFace { axis, c, .. } = *face;
            if grid.area[axis][c] == 0.0 {
                continue;
            }
            let low = c - grid.stride[axis];
            // Toward air the surface stands at the plate, half a cell away.
            let reach = if liquid[low] + liquid[c] == 2 { 1.0 } else { 2.0 };
            let alone = f64::from(flow.u[axis][c]) - reach * warm * f64::from(q[c] - q[low]);
            let k = 0.5 * face.square * dt / grid.h;
            let still = 1.0 + face.linear * dt / grid.h;
            let give = 2.0 / (still + (still * still + 4.0 * k * alone.abs()).sqrt());
            self.give[axis][c] = give as f32;
            flow.u[axis][c] *= give as f32;
        }
    }
}

/// A flap on its hinge.
pub(crate) struct Flap {
    faces: Vec<FlapFace>,
    hinge: DVec3,
    to_centre: DVec3,
    length: f64,
    width: f64,
    mass: f64,
    stop: f64,
    gap: f64,
    density: f64,
    spring: [f64; 2],
    /// Where its faces begin in `Losses::faces`.
    first_loss: usize,
    /// Opening angle [rad].
    pub angle: f64,
    /// Its rate [rad/s].
    pub rate: f64,
}

struct FlapFace {
    axis: usize,
    c: usize,
    /// Share of the cell face.
    open: f64,
    area: f64,
    arm: f64,
    sense: f64,
}

/// Builds the flaps and their loss faces.
pub(crate) fn hang(
    grid: &Grid,
    lattice: &Lattice,
    doors: &[pan::Door],
    losses: &mut Losses,
) -> Result<Vec<Flap>, SloshFault> {
    let mut flaps = Vec::new();
    for (at, d) in lattice.doors.iter().enumerate() {
        let Some(door) = doors.get(d.door) else {
            return Err(SloshFault::Lattice {
                what: format!("door {at} names design door {}", d.door),
            });
        };
        let numbers = [
            ("door mass", door.mass),
            ("door stop angle", door.stop),
            ("door gap", door.gap),
            ("spring torque of a shut door", door.spring[0]),
            ("spring torque of an open door", door.spring[1]),
            ("door length", d.length),
            ("door width", d.width),
        ];
        for (what, value) in numbers {
            if !(value.is_finite() && value >= 0.0) {
                return Err(SloshFault::Input {
                    what,
                    value,
                    must: "zero or more and finite",
                });
            }
        }
        if !(door.density > 0.0 && door.density.is_finite()) {
            return Err(SloshFault::Input {
                what: "density of a door",
                value: door.density,
                must: "positive and finite",
            });
        }
        if !(d.length > 0.0 && d.width > 0.0) {
            return Err(SloshFault::Input {
                what: "door area",
                value: d.length * d.width,
                must: "positive",
            });
        }
        let first_loss = losses.faces.len();
        let mut faces = Vec::new();
        for f in &d.faces {
            let axis = f.face.axis as usize;
            let c = grid.face_at(lattice, axis, f.face.index as usize);
            let between = grid.volume[c] > 0.0 && grid.volume[c - grid.stride[axis]] > 0.0;
            if between && f.area > 0.0 {
                let open = (f.area / (grid.h * grid.h)).min(1.0);
                faces.push(FlapFace {
                    axis,
                    c,
                    open,
                    area: f.area,
                    arm: f.arm,
                    sense: f.sense,
                });
                losses.faces.push(LossFace {
                    axis,
                    c,
                    square: 0.0,
                    linear: 0.0,
                });
            }
        }
        flaps.push(Flap {
            faces,
            hinge: d.hinge,
            to_centre: d.to_centre,
            length: d.length,
            width: d.width,
            mass: door.mass,
            stop: door.stop,
            gap: door.gap,
            density: door.density,
            spring: door.spring,
            first_loss,
            angle: 0.0,
            rate: 0.0,
        });
    }
    Ok(flaps)
}

impl Flap {
    /// Moves the flap over `dt` by the pressure of the last step (`q / q_dt`) and by apparent gravity.
    pub fn swing(
        &mut self,
        grid: &Grid,
        liquid: &[u8],
        q: &[f32],
        q_dt: f64,
        density: f64,
        gravity: DVec3,
        dt: f64,
    ) {
        let to_pressure = density * grid.h / q_dt;
        let (mut torque, mut wet) = (0.0, 0.0);
        for face in &self.faces {
            let low = face.c - grid.stride[face.axis];
            let step = 0.5 * density * gravity[face.axis] * grid.h;
            let side = |c: usize, reach: f64| {
                if liquid[c] == 1 {
                    (f64::from(q[c]) * to_pressure + reach).max(0.0)
                } else {
                    0.0
                }
            };
            torque += face.sense * (side(low, step) - side(face.c, -step)) * face.area * face.arm;
            wet += 0.5 * f64::from(liquid[low] + liquid[face.c]) * face.area;
        }
        let share = (wet / (self.length * self.width)).min(1.0);
        let swung = DQuat::from_axis_angle(self.hinge, self.angle) * self.to_centre;
        let weight = self.mass * (1.0 - share * density / self.density);
        torque += weight * swung.cross(gravity).dot(self.hinge);
        let way = if self.stop > 0.0 {
            self.angle / self.stop
        } else {
            0.0
        };
        torque -= self.spring[0] + way * (self.spring[1] - self.spring[0]);
        let oil =
            PI / 12.0 * density * self.length.min(self.width) * self.width * self.length.powi(3) * share;
        let inertia = self.mass * self.length * self.length / 3.0 + oil;
        if inertia <= 0.0 {
            return;
        }
        self.rate = (self.rate + dt * torque / inertia) / (1.0 + dt / DAMPING_TIME);
        self.angle += dt * self.rate;
        // Stops take the rate away; nothing bounces.
        if self.angle <= 0.0 {
            self.angle = 0.0;
            self.rate = self.rate.max(0.0);
        } else if self.angle >= self.stop {
            self.angle = self.stop;
            self.rate = self.rate.min(0.0);
        }
    }

    /// Free area over opening area, 0 to 1.
    pub fn free_share(&self) -> f64 {
        free_share(self.length, self.width, self.gap, self.angle)
    }

    /// Gives its faces the area and loss of the present angle.
    pub fn set_faces(&self, grid: &mut Grid, losses: &mut Losses, flow: &mut Flow) {
        let share = self.free_share();
        let passes = share >= SHUT;
        let loss = if passes && share < 1.0 {
            hole_loss(share)
        } else {
            0.0
        };
        for (i, face) in self.faces.iter().enumerate() {
            let (a, c) = (face.axis, face.c);
            grid.area[a][c] = if passes { face.open as f32 } else { 0.0 };
            losses.faces[self.first_loss + i].square = loss;
            if !passes {
                flow.u[a][c] = 0.0;
            }
        }
    }
}
