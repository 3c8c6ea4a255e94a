//! The oil in the bays at an instant, and a step of it.
//!
//! A step moves the surfaces' directions, the flaps, and then all volumes at once: the flow of each port is taken with its
//! slope against the heads, so that two bays joined by a wide opening come level without ringing (linearly implicit). A
//! port's flow follows its heads with the inertia of the oil in it. What leaves a bay enters the other to the last bit, and
//! no bay gives more than it has. Steps are short where something moves fast ([`State::steps`]).

use crate::levels::{Level, Levels};
use crate::mouth::Mouth;
use crate::network::{Bay, Network, Way};
use crate::ports::{Field, Passage, Plane};
use crate::run::{Inputs, RunFault, SAMPLE};
use crate::swing::{Pool, Swing};
use drive::{Drive, Moment};
use glam::{DQuat, DVec3};
use oil::circuit::CircuitState;
use pan::lattice::free_share;
use pickup::history::{Ledger, Row};

/// Most steps of a sample: a step is never shorter than half of it.
const MOST_STEPS: usize = 2;
/// In one step a level moves by about this much at most [m], ...
const LEVEL_MOVES: f64 = 3e-3;
/// ... a surface turns by this much [rad] ...
const SURFACE_TURNS: f64 = 0.1;
/// ... and a flap by this much [rad].
const FLAP_TURNS: f64 = 0.5;

/// Oil lies under the mean apparent gravity over this long before the start [s].
const SETTLED_OVER: f64 = 0.5;

/// A door loses its swing in this time [s], as in the 3-D solver.
const DAMPING_TIME: f64 = 0.1;

/// The surface of a bay.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Surface {
    /// How high it stands in its bay.
    pub level: Level,
    /// Where it lies.
    pub plane: Plane,
}

/// The oil in the bays at an instant.
pub(crate) struct State<'a> {
    inputs: Inputs<'a>,
    volumes: Vec<f64>,
    swings: Vec<Swing>,
    surfaces: Vec<Surface>,
    /// The drive.
    moment: Moment,
    /// Flow through each port [m³/s].
    flows: Vec<f64>,
    /// Angle and rate of each flap.
    flaps: Vec<(f64, f64)>,
    circuit: Option<CircuitState>,
    drawn: f64,
    air: f64,
    /// The fastest that a level rose or fell in the last step [m/s].
    fastest: f64,
    desk: Desk,
    lanes: pulp::Arch,
}

/// What a step works out anew; kept to spare allocations.
#[derive(Default)]
struct Desk {
    field: Vec<DVec3>,
    slopes: Vec<f64>,
    pushes: Vec<Push>,
    matrix: Vec<f64>,
    change: Vec<f64>,
    out: Vec<f64>,
}

/// The flow through all ports, done in the widest registers that the processor has.
struct Passing<'s, 'a> {
    state: &'s mut State<'a>,
    dt: f64,
}

impl pulp::WithSimd for Passing<'_, '_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, simd: S) {
        self.state.pass(simd, self.dt);
    }
}

/// What oil does to a flap.
#[derive(Clone, Copy, Default)]
struct Push {
    /// Head times gravity over its area, toward opening [m⁴/s²].
    push: f64,
    /// Wetted area [m²].
    wet: f64,
}

impl<'a> State<'a> {
    pub(crate) fn start(inputs: Inputs<'a>) -> Result<State<'a>, RunFault> {
        let time = inputs.start;
        let mut circuit = None;
        let mut in_pan = inputs.fill;
        if let Some(shape) = inputs.circuit {
            let speed = inputs.drive.at(time).engine_speed;
            let (state, left) = CircuitState::start(shape, speed, inputs.fill)
                .map_err(|fault| RunFault::Circuit { time, fault })?;
            circuit = Some(state);
            in_pan = left;
        }
        let bays = &inputs.network.bays;
        let room: f64 = bays.iter().map(|bay| bay.levels.volume).sum();
        if in_pan > room {
            return Err(RunFault::Overfull { oil: in_pan, room });
        }
        let gravity = mean_gravity(inputs.drive, time);
        let up = -gravity.normalize_or(DVec3::NEG_Z);
        let mut state = State {
            inputs,
            volumes: at_rest(inputs.network, up, in_pan),
            swings: vec![Swing::at_rest(gravity); bays.len()],
            surfaces: Vec::new(),
            moment: inputs.drive.at(time),
            flows: vec![0.0; inputs.network.ports.len()],
            flaps: vec![(0.0, 0.0); inputs.network.flaps.len()],
            circuit,
            drawn: 0.0,
            air: 0.0,
            fastest: 0.0,
            desk: Desk::default(),
            lanes: pulp::Arch::new(),
        };
        state.feel();
        state.look();
        Ok(state)
    }

    /// Apparent gravity in each bay, onto the desk.
    fn feel(&mut self) {
        let moment = self.moment;
        let turns = moment.spin != DVec3::ZERO || moment.spin_rate != DVec3::ZERO;
        let pivot = self.inputs.drive.pivot;
        let at = |middle: DVec3| {
            if !turns {
                return moment.gravity;
            }
            let r = middle - pivot;
            moment.gravity - moment.spin_rate.cross(r) - moment.spin.cross(moment.spin.cross(r))
        };
        let bays = self.inputs.network.bays.iter();
        self.desk.field.clear();
        self.desk.field.extend(bays.map(|bay| at(bay.levels.middle)));
    }

    /// The surfaces of all bays in the field on the desk.
    fn look(&mut self) {
        let bays = self.inputs.network.bays.iter().zip(&self.swings);
        let all = bays.zip(self.desk.field.iter().zip(&self.volumes));
        self.surfaces.clear();
        self.surfaces.extend(all.map(|((bay, swing), (gravity, volume))| {
            let up = swing.up(*gravity);
            let level = bay.levels.level(up, *volume);
            let height = level.height + up.dot(bay.levels.middle);
            Surface {
                level,
                plane: Plane { up, height },
            }
        }));
    }

    /// Where each bay's surface lies.
    pub(crate) fn planes(&self) -> impl Iterator<Item = Plane> {
        self.surfaces.iter().map(|surface| surface.plane)
    }

    /// How many steps the next sample wants, by how fast things moved in the last step.
    pub(crate) fn steps(&self) -> usize {
        let turning = self.swings.iter().map(|swing| swing.rate.length());
        let swinging = self.flaps.iter().map(|flap| flap.1.abs());
        let pace = (self.fastest / LEVEL_MOVES)
            .max(turning.fold(0.0, f64::max) / SURFACE_TURNS)
            .max(swinging.fold(0.0, f64::max) / FLAP_TURNS);
        ((SAMPLE * pace).ceil() as usize).clamp(1, MOST_STEPS)
    }

    /// A step of `dt` that ends at `time`.
    pub(crate) fn advance(&mut self, time: f64, dt: f64) {
        self.lanes.dispatch(Passing { state: self, dt });
        self.swing_flaps(dt);
        self.pour(dt);
        self.supply(dt);
        for (n, bay) in self.inputs.network.bays.iter().enumerate() {
            let pool = pool(bay, self.volumes[n], self.surfaces[n].level);
            self.swings[n].go(self.desk.field[n], pool, dt);
        }
        self.moment = self.inputs.drive.at(time);
        self.feel();
        self.look();
    }

    /// Height of a bay's surface over a place along its normal [m].
    fn over(&self, bay: usize, at: DVec3) -> f64 {
        let Plane { up, height } = self.surfaces[bay].plane;
        height - up.dot(at)
    }

    /// What each port would pass now and its slope against the head, after its own inertia; and what pushes the flaps.
    #[inline(always)]
    fn pass<S: pulp::Simd>(&mut self, simd: S, dt: f64) {
        let network = self.inputs.network;
        let viscosity = self.inputs.fluid.viscosity;
        let Desk {
            field,
            slopes,
            pushes,
            ..
        } = &mut self.desk;
        pushes.clear();
        pushes.resize(network.flaps.len(), Push::default());
        slopes.clear();
        for (n, port) in network.ports.iter().enumerate() {
            let [a, b] = port.between;
            let gravity = 0.5 * (field[a] + field[b]).length();
            let (first, second) = (self.surfaces[a].plane, self.surfaces[b].plane);
            // Flow as it would be without inertia, how it grows with the head, and the wetted part of the opening.
            let (mut due, mut rise, mut wetted) = (0.0, 0.0, [0.0; 2]);
            for strip in &port.strips {
                let (share, width) = match strip.way {
                    Way::Hole { width } => (1.0, width),
                    Way::Door(door) => {
                        let flap = &network.flaps[door];
                        let [length, wide] = flap.size;
                        let share = free_share(length, wide, flap.shape.gap, self.flaps[door].0);
                        (share, flap.shape.gap.max(1e-3) + share * length)
                    }
                };
                let passed = strip.passed(simd, first, second, width, Field { gravity, viscosity });
                if let Way::Door(door) = strip.way {
                    let sense = network.flaps[door].hung.map_or(0.0, |hung| hung.sense);
                    pushes[door].push += sense * gravity * passed.push;
                    pushes[door].wet += 0.5 * (passed.wet[0] + passed.wet[1]);
                }
                due += share * passed.flow;
                rise += share * passed.slope;
                wetted[0] += share * passed.wet[0];
                wetted[1] += share * passed.wet[1];
            }
            let passage = Passage {
                wetted,
                length: port.length,
            };
            let (flow, slope) = passage.gather(self.flows[n], due, rise, gravity, dt);
            self.flows[n] = flow;
            slopes.push(slope);
        }
    }

    /// Moves the flaps: pressure, weight in oil, spring, damping; the inertia of plate and oil as in the 3-D solver.
    fn swing_flaps(&mut self, dt: f64) {
        let network = self.inputs.network;
        let density = self.inputs.fluid.density;
        for (n, flap) in network.flaps.iter().enumerate() {
            let [length, wide] = flap.size;
            let Some(hung) = flap.hung else { continue };
            let Push { push, wet } = self.desk.pushes[n];
            let gravity = self.desk.field[network.ports[hung.port].between[0]];
            let share = (wet / (length * wide)).min(1.0);
            let (angle, rate) = &mut self.flaps[n];
            let swung = DQuat::from_axis_angle(flap.hinge, *angle) * flap.to_middle;
            let weight = flap.shape.mass * (1.0 - share * density / flap.shape.density);
            let way = if flap.shape.stop > 0.0 {
                *angle / flap.shape.stop
            } else {
                0.0
            };
            let spring = flap.shape.spring[0] + way * (flap.shape.spring[1] - flap.shape.spring[0]);
            let torque =
                density * push * 0.5 * length + weight * swung.cross(gravity).dot(flap.hinge) - spring;
            let oil =
                std::f64::consts::PI / 12.0 * density * length.min(wide) * wide * length.powi(3) * share;
            let inertia = flap.shape.mass * length * length / 3.0 + oil;
            if inertia <= 0.0 {
                continue;
            }
            *rate = (*rate + dt * torque / inertia) / (1.0 + dt / DAMPING_TIME);
            *angle += dt * *rate;
            if *angle <= 0.0 {
                (*angle, *rate) = (0.0, rate.max(0.0));
            } else if *angle >= flap.shape.stop {
                (*angle, *rate) = (flap.shape.stop, rate.min(0.0));
            }
        }
    }

    /// Moves the volumes by flows that mind what the volumes do to the heads.
    fn pour(&mut self, dt: f64) {
        let ports = &self.inputs.network.ports;
        let surfaces = &self.surfaces;
        let Desk {
            slopes,
            matrix,
            change,
            out,
            ..
        } = &mut self.desk;
        let n = self.volumes.len();
        // (1 + dt Σ slope · rise of the level) ΔV = −dt Σ flow
        matrix.clear();
        matrix.resize(n * n, 0.0);
        change.clear();
        change.resize(n, 0.0);
        for i in 0..n {
            matrix[i * n + i] = 1.0;
        }
        for (port, (flow, slope)) in ports.iter().zip(self.flows.iter().zip(&*slopes)) {
            let [a, b] = port.between;
            let (up_a, up_b) = (
                dt * slope * surfaces[a].level.slope,
                dt * slope * surfaces[b].level.slope,
            );
            matrix[a * n + a] += up_a;
            matrix[a * n + b] -= up_b;
            matrix[b * n + b] += up_b;
            matrix[b * n + a] -= up_a;
            change[a] -= dt * flow;
            change[b] += dt * flow;
        }
        solve(matrix, change);
        out.clear();
        out.resize(n, 0.0);
        for (port, (flow, slope)) in ports.iter().zip(self.flows.iter_mut().zip(&*slopes)) {
            let [a, b] = port.between;
            *flow += slope * (surfaces[a].level.slope * change[a] - surfaces[b].level.slope * change[b]);
            out[if *flow > 0.0 { a } else { b }] += dt * flow.abs();
        }
        // No bay gives more than it has: from here on `out` is the share that each keeps of what it would give.
        for (out, volume) in out.iter_mut().zip(&self.volumes) {
            *out = if *out > *volume { volume / *out } else { 1.0 };
        }
        for (port, flow) in ports.iter().zip(&mut self.flows) {
            let [a, b] = port.between;
            *flow *= out[if *flow > 0.0 { a } else { b }];
            self.volumes[a] -= dt * *flow;
            self.volumes[b] += dt * *flow;
        }
        self.fastest = 0.0;
        for (volume, (change, surface)) in self.volumes.iter_mut().zip(change.iter().zip(surfaces)) {
            // Round-off of the last drop.
            *volume = volume.max(0.0);
            self.fastest = self.fastest.max(change.abs() * surface.level.slope / dt);
        }
    }

    /// What the pump takes and the engine gives back.
    fn supply(&mut self, dt: f64) {
        let moment = self.moment;
        let demand = self.demand(moment.engine_speed);
        let mut taken = 0.0;
        if let Some(mouth) = &self.inputs.network.mouth {
            let (dip, most) = self.dip(mouth, demand);
            let half = 0.5 * self.inputs.network.cell * DVec3::new(1.0, 1.0, 0.0);
            // Half the height of a piece of the mouth along the surface's normal.
            let half = self.surfaces[mouth.bay].plane.up.abs().dot(half).max(1e-9);
            let wet: f64 = (mouth.pieces.iter())
                .map(|(at, share)| {
                    let over = self.over(mouth.bay, *at) - dip;
                    share * (0.5 + 0.5 * over / half).clamp(0.0, 1.0)
                })
                .sum();
            taken = (dt * (demand * wet).min(most)).min(self.volumes[mouth.bay]);
            self.volumes[mouth.bay] -= taken;
        }
        self.drawn += taken;
        self.air += (demand * dt - taken).max(0.0);
        if let (Some(circuit), Some(shape)) = (&mut self.circuit, self.inputs.circuit) {
            let home = circuit.advance(shape, dt, moment.engine_speed, taken);
            for (place, volume) in self.inputs.network.returns.iter().zip(home) {
                for (bay, share) in place {
                    self.volumes[*bay] += share * volume;
                }
            }
        }
    }

    /// How far the surface lies lower at the mouth than elsewhere in its bay [m], and the most that runs to it [m³/s].
    fn dip(&self, mouth: &Mouth, demand: f64) -> (f64, f64) {
        let surface = &self.surfaces[mouth.bay];
        let over = self.over(mouth.bay, mouth.at);
        let depth = over + mouth.over_floor * surface.plane.up.z.max(0.0);
        let gravity = self.moment.gravity.length();
        let (rim, most) = mouth.approach(depth, demand, gravity);
        let bay = &self.inputs.network.bays[mouth.bay];
        let pool = pool(bay, self.volumes[mouth.bay], surface.level);
        let aside = mouth.at - bay.levels.middle;
        let speed = self.swings[mouth.bay].speed(self.moment.gravity, pool, [aside.x, aside.y]);
        // Bernoulli: oil on the move stands lower by its velocity head.
        let rush = speed * speed / (2.0 * gravity);
        let hollow = self.swings[mouth.bay].hollow(self.moment.gravity, pool, [aside.x, aside.y]);
        ((depth - rim).max(0.0) + rush + hollow, most)
    }

    fn demand(&self, speed: f64) -> f64 {
        self.inputs.circuit.map_or(0.0, |circuit| circuit.demand(speed))
    }

    /// Oil inside the crank sweep [m³].
    fn at_crank(&self) -> f64 {
        let swept = |(bay, levels): &(usize, Levels)| {
            levels.under(self.surfaces[*bay].plane.up, self.over(*bay, levels.middle))
        };
        self.inputs.network.crank.iter().map(swept).sum()
    }

    /// Takes oil that the engine burns out of all bays alike; gives how much there was to take [m³].
    pub(crate) fn burn(&mut self, wanted: f64) -> f64 {
        let there: f64 = self.volumes.iter().sum();
        let taken = wanted.min(there);
        if taken > 0.0 {
            let kept = 1.0 - taken / there;
            self.volumes.iter_mut().for_each(|volume| *volume *= kept);
        }
        taken
    }

    /// How all stands at `time`.
    pub(crate) fn row(&self, time: f64) -> Row {
        let network = self.inputs.network;
        let demand = self.demand(self.moment.engine_speed);
        let cover = network.mouth.as_ref().map_or(0.0, |mouth| {
            let up = -self.desk.field[mouth.bay].normalize_or(DVec3::NEG_Z);
            let (dip, _) = self.dip(mouth, demand);
            let lean = self.surfaces[mouth.bay].plane.up.dot(up).max(0.05);
            // Under a roof the ray ends before the surface, and the dip is in the oil above.
            let free = ((self.over(mouth.bay, mouth.at) - dip) / lean).max(0.0);
            mouth
                .cover(up, |bay, place| {
                    (self.over(bay, place), self.surfaces[bay].plane.up)
                })
                .min(free)
        });
        Row {
            time,
            cover,
            demand,
            air: self.air,
            drawn: self.drawn,
            spaces: self.volumes.clone(),
            doors: self.flaps.iter().map(|flap| flap.0).collect(),
            at_crank: self.at_crank(),
            ledger: Ledger {
                pan: self.volumes.iter().sum(),
                engine: self.circuit.as_ref().map_or(0.0, CircuitState::engine),
                in_flight: self.circuit.as_ref().map_or(0.0, CircuitState::in_flight),
            },
        }
    }
}

/// What swings in a bay.
fn pool(bay: &Bay, volume: f64, level: Level) -> Pool {
    let area = 1.0 / level.slope;
    let whole = bay.size[0] * bay.size[1];
    // A surface smaller than the bay's plan is shorter both ways.
    let share = (area / whole).min(1.0).sqrt();
    Pool {
        length: bay.size.map(|s| s * share),
        depth: volume / area,
    }
}

/// Volumes of oil at rest with one level over all bays: `up` is square to it.
fn at_rest(network: &Network, up: DVec3, volume: f64) -> Vec<f64> {
    let bays = &network.bays;
    // How much every bay holds under one plane: found bay by bay from its own table, by halving the plane's height.
    let held = |bay: &crate::network::Bay, plane: f64| {
        let (mut low, mut high) = (0.0, bay.levels.volume);
        for _ in 0..48 {
            let middle = 0.5 * (low + high);
            if bay.levels.level(up, middle).height + up.dot(bay.levels.middle) < plane {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    };
    let (mut low, mut high) = (-10.0, 10.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if bays.iter().map(|bay| held(bay, middle)).sum::<f64>() < volume {
            low = middle;
        } else {
            high = middle;
        }
    }
    let mut volumes: Vec<f64> = bays.iter().map(|bay| held(bay, 0.5 * (low + high))).collect();
    // The last digits go to scale, so that the ledger begins exact.
    let sum: f64 = volumes.iter().sum();
    if sum > 0.0 {
        volumes.iter_mut().for_each(|v| *v *= volume / sum);
    }
    volumes
}

/// Solves the dense system in place, pivots on the diagonal: it outweighs its column.
fn solve(matrix: &mut [f64], right: &mut [f64]) {
    let n = right.len();
    for i in 0..n {
        let pivot = matrix[i * n + i];
        for j in i + 1..n {
            let factor = matrix[j * n + i] / pivot;
            if factor == 0.0 {
                continue;
            }
            for k in i..n {
                matrix[j * n + k] -= factor * matrix[i * n + k];
            }
            right[j] -= factor * right[i];
        }
    }
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| matrix[i * n + k] * right[k]).sum();
        right[i] = (right[i] - known) / matrix[i * n + i];
    }
}

fn mean_gravity(drive: &Drive, time: f64) -> DVec3 {
    const POINTS: usize = 11;
    let at = |i: usize| {
        drive
            .at(time - SETTLED_OVER * i as f64 / (POINTS - 1) as f64)
            .gravity
    };
    (0..POINTS).map(at).sum::<DVec3>() / POINTS as f64
}

#[cfg(test)]
mod tests;
