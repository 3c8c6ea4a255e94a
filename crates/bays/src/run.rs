//! Oil between the bays over a drive, and the cover history that comes of it.
//!
//! A step of [`STEP`] moves the surfaces' directions, the flaps, and then all volumes at once: the flow of each port is
//! taken with its slope against the heads, so that two bays joined by a wide opening come level without ringing
//! (linearly implicit). A port's flow follows its heads with the inertia of the oil in it. What leaves a bay enters the
//! other to the last bit, and no bay gives more than it has.

use crate::levels::{Level, Levels};
use crate::mouth::Mouth;
use crate::network::{Bay, Network, Way};
use crate::ports::{self, Field, Head};
use crate::swing::{Pool, Swing};
use drive::Drive;
use glam::{DQuat, DVec3};
use oil::circuit::{Circuit, CircuitFault, CircuitState};
use oil::fluid::Fluid;
use pan::lattice::free_share;
use pickup::CoverHistory;
use pickup::history::{HistoryFault, LEDGER_TOLERANCE, Ledger, Row};

/// Time between two rows of the history [s].
pub const SAMPLE: f64 = 0.02;
/// Steps of a sample.
pub(crate) const STEPS: usize = 2;
/// Length of a step [s].
pub const STEP: f64 = SAMPLE / STEPS as f64;

/// Oil lies under the mean apparent gravity over this long before the start [s].
const SETTLED_OVER: f64 = 0.5;

/// A door loses its swing in this time [s], as in the 3-D solver.
const DAMPING_TIME: f64 = 0.1;

/// Everything a run depends on.
#[derive(Clone, Copy)]
pub struct Inputs<'a> {
    /// Bays and ports.
    pub network: &'a Network,
    /// Oil at the temperature of the drive.
    pub fluid: Fluid,
    /// Pump, oil aloft, returns; `None` when nothing is drawn and nothing comes home.
    pub circuit: Option<&'a Circuit>,
    /// The drive in the pan frame.
    pub drive: &'a Drive,
    /// All the oil there is [m³].
    pub fill: f64,
    /// Start on the drive's clock [s].
    pub start: f64,
    /// End [s].
    pub end: f64,
}

/// Why a run could not start or go on.
#[derive(Debug, thiserror::Error)]
pub enum RunFault {
    /// The circuit holds more oil than there is.
    #[error("at {time:.2} s: {fault}")]
    Circuit {
        /// Drive time [s].
        time: f64,
        /// What the circuit says.
        fault: CircuitFault,
    },
    /// There is more oil than the bays hold.
    #[error("{oil:.6} m³ of oil do not fit into {room:.6} m³")]
    Overfull {
        /// Oil in the pan [m³].
        oil: f64,
        /// All that the bays hold [m³].
        room: f64,
    },
    /// Oil went missing or appeared: a fault of the program.
    #[error("at {time:.2} s the ledger is off by {error:.3e} of the fill; this is a fault of the program")]
    Ledger {
        /// Drive time [s].
        time: f64,
        /// |pan + engine + in flight − fill| / fill.
        error: f64,
    },
    /// The history holds something that cannot be: a fault of the program.
    #[error("{0}; this is a fault of the program")]
    History(#[from] HistoryFault),
}

/// The oil in the bays at an instant.
pub(crate) struct State<'a> {
    inputs: Inputs<'a>,
    volumes: Vec<f64>,
    swings: Vec<Swing>,
    /// Normals and levels as the last step saw them.
    surfaces: Vec<(DVec3, Level)>,
    /// Flow through each port [m³/s].
    flows: Vec<f64>,
    /// Angle and rate of each flap.
    flaps: Vec<(f64, f64)>,
    circuit: Option<CircuitState>,
    drawn: f64,
    air: f64,
}

/// What oil does to a flap.
#[derive(Clone, Copy, Default)]
struct Push {
    /// Head times gravity over its area, toward opening [m⁴/s²].
    push: f64,
    /// Wetted area [m²].
    wet: f64,
}

/// Computes the whole stretch.
pub fn run(inputs: Inputs) -> Result<CoverHistory, RunFault> {
    let mut state = State::start(inputs)?;
    let mut history = CoverHistory::default();
    history.push(state.row(inputs.start))?;
    let mut sample = 0u64;
    while inputs.start + sample as f64 * SAMPLE < inputs.end - 1e-9 {
        let from = inputs.start + sample as f64 * SAMPLE;
        let to = (inputs.start + (sample + 1) as f64 * SAMPLE).min(inputs.end);
        let dt = (to - from) / STEPS as f64;
        for step in 0..STEPS {
            state.advance(from + step as f64 * dt, dt);
        }
        sample += 1;
        let row = state.row(to);
        let error = (row.ledger.total() - inputs.fill).abs() / inputs.fill;
        if !(error <= LEDGER_TOLERANCE) {
            return Err(RunFault::Ledger { time: to, error });
        }
        history.push(row)?;
    }
    Ok(history)
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
            flows: vec![0.0; inputs.network.ports.len()],
            flaps: vec![(0.0, 0.0); inputs.network.flaps.len()],
            circuit,
            drawn: 0.0,
            air: 0.0,
        };
        state.surfaces = state.surfaces(&vec![gravity; bays.len()]);
        Ok(state)
    }

    /// Apparent gravity in each bay.
    fn field(&self, time: f64) -> Vec<DVec3> {
        let moment = self.inputs.drive.at(time);
        let turns = moment.spin != DVec3::ZERO || moment.spin_rate != DVec3::ZERO;
        let at = |middle: DVec3| {
            if !turns {
                return moment.gravity;
            }
            let r = middle - self.inputs.drive.pivot;
            moment.gravity - moment.spin_rate.cross(r) - moment.spin.cross(moment.spin.cross(r))
        };
        self.inputs
            .network
            .bays
            .iter()
            .map(|bay| at(bay.levels.middle))
            .collect()
    }

    /// The surfaces of all bays: their normals and levels.
    fn surfaces(&self, field: &[DVec3]) -> Vec<(DVec3, Level)> {
        let bays = self.inputs.network.bays.iter().zip(&self.swings);
        bays.zip(field.iter().zip(&self.volumes))
            .map(|((bay, swing), (gravity, volume))| {
                let up = swing.up(*gravity);
                (up, bay.levels.level(up, *volume))
            })
            .collect()
    }

    /// One step from `time`.
    pub(crate) fn advance(&mut self, time: f64, dt: f64) {
        let network = self.inputs.network;
        let field = self.field(time);
        for (n, bay) in network.bays.iter().enumerate() {
            let pool = pool(bay, self.volumes[n], self.surfaces[n].1);
            self.swings[n].go(field[n], pool, dt);
        }
        let surfaces = self.surfaces(&field);
        let (flows, slopes) = self.flows_now(&field, &surfaces, dt);
        self.pour(&surfaces, flows, &slopes, dt);
        self.supply(time, &surfaces, dt);
        self.surfaces = surfaces;
    }

    /// Head of a bay's surface over a place.
    fn head(&self, surfaces: &[(DVec3, Level)], bay: usize, at: DVec3, half: DVec3) -> Head {
        let (up, level) = &surfaces[bay];
        let middle = self.inputs.network.bays[bay].levels.middle;
        Head {
            over: level.height - up.dot(at - middle),
            half: up.abs().dot(half),
        }
    }

    /// What each port would pass now [m³/s] and its slope against the head [m³/s per m], after its own inertia; and the
    /// flaps moved on.
    fn flows_now(&mut self, field: &[DVec3], surfaces: &[(DVec3, Level)], dt: f64) -> (Vec<f64>, Vec<f64>) {
        let network = self.inputs.network;
        let mut torques = vec![Push::default(); network.flaps.len()];
        let (mut flows, mut slopes) = (Vec::new(), Vec::new());
        for (n, port) in network.ports.iter().enumerate() {
            let [a, b] = port.between;
            let gravity = 0.5 * (field[a] + field[b]).length();
            let oil = Field {
                gravity,
                viscosity: self.inputs.fluid.viscosity,
            };
            // Flow as it would be without inertia, how it grows with the head, and the wetted part of the opening.
            let (mut q, mut rise, mut wetted) = (0.0, 0.0, [0.0; 2]);
            for patch in &port.patches {
                let first = self.head(surfaces, a, patch.at, patch.half);
                let second = self.head(surfaces, b, patch.at, patch.half);
                let (area, coefficient, width) = match patch.way {
                    Way::Hole { coefficient, width } => (patch.area, coefficient, width),
                    Way::Door(door) => {
                        let flap = &network.flaps[door];
                        let [length, wide] = flap.size;
                        let share = free_share(length, wide, flap.shape.gap, self.flaps[door].0);
                        let push = first.over.max(0.0) - second.over.max(0.0);
                        let sense = flap.hung.map_or(0.0, |hung| hung.sense);
                        torques[door].push += sense * push * gravity * patch.area;
                        torques[door].wet += 0.5 * (first.wet() + second.wet()) * patch.area;
                        (
                            share * patch.area,
                            crate::network::SHARP,
                            flap.shape.gap.max(1e-3) + share * length,
                        )
                    }
                };
                let (v, s) = ports::flow(first, second, area, coefficient, width, oil);
                q += v;
                rise += s;
                wetted[0] += area * first.wet();
                wetted[1] += area * second.wet();
            }
            let passage = ports::Passage {
                wetted,
                length: port.length,
            };
            let (flow, slope) = passage.gather(self.flows[n], q, rise, gravity, dt);
            flows.push(flow);
            slopes.push(slope);
        }
        self.swing_flaps(&torques, field, dt);
        (flows, slopes)
    }

    /// Moves the flaps: pressure, weight in oil, spring, damping; the inertia of plate and oil as in the 3-D solver.
    fn swing_flaps(&mut self, torques: &[Push], field: &[DVec3], dt: f64) {
        let network = self.inputs.network;
        let density = self.inputs.fluid.density;
        for (n, flap) in network.flaps.iter().enumerate() {
            let [length, wide] = flap.size;
            let Some(hung) = flap.hung else { continue };
            let Push { push, wet } = torques[n];
            let gravity = field[network.ports[hung.port].between[0]];
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
    fn pour(&mut self, surfaces: &[(DVec3, Level)], mut flows: Vec<f64>, slopes: &[f64], dt: f64) {
        let ports = &self.inputs.network.ports;
        let n = self.volumes.len();
        // (1 + dt Σ slope · rise of the level) ΔV = −dt Σ flow
        let mut matrix = vec![0.0; n * n];
        let mut change = vec![0.0; n];
        for i in 0..n {
            matrix[i * n + i] = 1.0;
        }
        for (port, (flow, slope)) in ports.iter().zip(flows.iter().zip(slopes)) {
            let [a, b] = port.between;
            let (up_a, up_b) = (dt * slope * surfaces[a].1.slope, dt * slope * surfaces[b].1.slope);
            matrix[a * n + a] += up_a;
            matrix[a * n + b] -= up_b;
            matrix[b * n + b] += up_b;
            matrix[b * n + a] -= up_a;
            change[a] -= dt * flow;
            change[b] += dt * flow;
        }
        solve(&mut matrix, &mut change);
        let mut out = vec![0.0; n];
        for (port, (flow, slope)) in ports.iter().zip(flows.iter_mut().zip(slopes)) {
            let [a, b] = port.between;
            *flow += slope * (surfaces[a].1.slope * change[a] - surfaces[b].1.slope * change[b]);
            out[if *flow > 0.0 { a } else { b }] += dt * flow.abs();
        }
        // No bay gives more than it has.
        let keep: Vec<f64> = (self.volumes.iter().zip(&out))
            .map(|(volume, out)| if *out > *volume { volume / out } else { 1.0 })
            .collect();
        for (port, flow) in ports.iter().zip(&mut flows) {
            let [a, b] = port.between;
            *flow *= keep[if *flow > 0.0 { a } else { b }];
            self.volumes[a] -= dt * *flow;
            self.volumes[b] += dt * *flow;
        }
        for volume in &mut self.volumes {
            // Round-off of the last drop.
            *volume = volume.max(0.0);
        }
        self.flows = flows;
    }

    /// What the pump takes and the engine gives back.
    fn supply(&mut self, time: f64, surfaces: &[(DVec3, Level)], dt: f64) {
        let speed = self.inputs.drive.at(time).engine_speed;
        let demand = self.demand(speed);
        let mut taken = 0.0;
        if let Some(mouth) = &self.inputs.network.mouth {
            let (dip, most) = self.dip(mouth, time, surfaces, demand);
            let half = 0.5 * self.inputs.network.cell * DVec3::new(1.0, 1.0, 0.0);
            let wet: f64 = (mouth.pieces.iter())
                .map(|(at, share)| {
                    let mut head = self.head(surfaces, mouth.bay, *at, half);
                    head.over -= dip;
                    share * head.wet()
                })
                .sum();
            taken = (dt * (demand * wet).min(most)).min(self.volumes[mouth.bay]);
            self.volumes[mouth.bay] -= taken;
        }
        self.drawn += taken;
        self.air += (demand * dt - taken).max(0.0);
        if let (Some(circuit), Some(shape)) = (&mut self.circuit, self.inputs.circuit) {
            let home = circuit.advance(shape, dt, speed, taken);
            for (place, volume) in self.inputs.network.returns.iter().zip(home) {
                for (bay, share) in place {
                    self.volumes[*bay] += share * volume;
                }
            }
        }
    }

    /// How far the surface lies lower at the mouth than elsewhere in its bay [m], and the most that runs to it [m³/s].
    fn dip(&self, mouth: &Mouth, time: f64, surfaces: &[(DVec3, Level)], demand: f64) -> (f64, f64) {
        let up = surfaces[mouth.bay].0;
        let over = self.head(surfaces, mouth.bay, mouth.at, DVec3::ZERO).over;
        let depth = over + mouth.over_floor * up.z.max(0.0);
        let gravity = self.inputs.drive.at(time).gravity.length();
        let (rim, most) = mouth.approach(depth, demand, gravity);
        let bay = &self.inputs.network.bays[mouth.bay];
        let pool = pool(bay, self.volumes[mouth.bay], surfaces[mouth.bay].1);
        let aside = mouth.at - bay.levels.middle;
        let field = self.inputs.drive.at(time).gravity;
        let speed = self.swings[mouth.bay].speed(field, pool, [aside.x, aside.y]);
        // Bernoulli: oil on the move stands lower by its velocity head.
        let rush = speed * speed / (2.0 * gravity);
        ((depth - rim).max(0.0) + rush, most)
    }

    fn demand(&self, speed: f64) -> f64 {
        self.inputs.circuit.map_or(0.0, |circuit| circuit.demand(speed))
    }

    /// Oil inside the crank sweep [m³].
    fn at_crank(&self, surfaces: &[(DVec3, Level)]) -> f64 {
        let swept = |(bay, levels): &(usize, Levels)| {
            let over = self.head(surfaces, *bay, levels.middle, DVec3::ZERO).over;
            levels.under(surfaces[*bay].0, over)
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
        let moment = self.inputs.drive.at(time);
        let field = self.field(time);
        let surfaces = self.surfaces(&field);
        let network = self.inputs.network;
        let demand = self.demand(moment.engine_speed);
        let cover = network.mouth.as_ref().map_or(0.0, |mouth| {
            let up = -field[mouth.bay].normalize_or(DVec3::NEG_Z);
            let (dip, _) = self.dip(mouth, time, &surfaces, demand);
            let lean = surfaces[mouth.bay].0.dot(up).max(0.05);
            let over = self.head(&surfaces, mouth.bay, mouth.at, DVec3::ZERO).over;
            // Under a roof the ray ends before the surface, and the dip is in the oil above.
            let free = ((over - dip) / lean).max(0.0);
            mouth.cover(&network.bays, &surfaces, up).min(free)
        });
        Row {
            time,
            cover,
            demand,
            air: self.air,
            drawn: self.drawn,
            spaces: self.volumes.clone(),
            doors: self.flaps.iter().map(|flap| flap.0).collect(),
            at_crank: self.at_crank(&surfaces),
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
