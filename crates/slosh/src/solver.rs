//! The solver: its state and one step that reads like its equations.

use crate::cleanup;
use crate::doors::{self, Flap, Losses};
use crate::extrapolate::{Extrapolator, Reach};
use crate::fault::SloshFault;
use crate::grid::Grid;
use crate::momentum::{Flow, Rubbing};
use crate::phase::Phase;
use crate::pressure::{Ask, Pressure};
use crate::region::{Region, Row};
use crate::supply::Places;
use crate::surface::{Surface, main_axis};
use crate::team::Team;
use crate::terms::{Body, Settings, Step, Supply};
use crate::vof::{Carrier, Carry};
use glam::DVec3;
use oil::fluid::Fluid;
use pan::Lattice;
use std::sync::Arc;

/// Largest share of a cell that oil may cross in one transport sub-step.
const CARRY_COURANT: f64 = 0.45;
/// Time step bound of the surface waves of one cell, in `sqrt(h/g)`.
const WAVE_SHARE: f64 = 0.2;

/// Oil in motion in one lattice.
///
/// Cells of less than 2 % open volume are closed; `open_volume` is the volume that is left and that all
/// fills and ledgers refer to.
///
/// ```
/// use glam::DVec3;
/// use sumpwright_slosh as slosh;
/// let lattice = slosh::boxes::tank([20, 4, 10], 0.01);
/// let oil = oil::fluid::Fluid { density: 850.0, viscosity: 1.2e-5 };
/// let mut solver = slosh::Solver::new(&lattice, oil, &[], slosh::Settings::default())?;
/// solver.fill_volume(DVec3::Z, 3e-4)?;
/// let cornering = slosh::Body::steady(DVec3::new(0.0, -4.0, -9.81));
/// let mut time = 0.0;
/// while time < 0.05 {
///     time += solver.step(&cornering, &slosh::Supply::NONE, 0.01)?.dt;
/// }
/// assert!((solver.oil_volume() - 3e-4).abs() < 1e-12);
/// # Ok::<(), slosh::SloshFault>(())
/// ```
pub struct Solver {
    pub(crate) grid: Grid,
    pub(crate) fluid: Fluid,
    pub(crate) settings: Settings,
    pub(crate) f: Vec<f64>,
    pub(crate) flow: Flow,
    pub(crate) region: Region,
    pub(crate) surface: Surface,
    pub(crate) pressure: Pressure,
    pub(crate) losses: Losses,
    pub(crate) flaps: Vec<Flap>,
    pub(crate) places: Places,
    pub(crate) mouth_at: DVec3,
    pub(crate) space_of: Vec<u16>,
    pub(crate) spaces: usize,
    pub(crate) crank: Vec<(u32, f32)>,
    /// Steps done.
    pub(crate) steps: u64,
    /// Volume that clean-up took out of the cells so far [cells].
    pub(crate) booked: f64,
    carrier: Carrier,
    extrapolator: Extrapolator,
    team: Arc<Team>,
    fault: Option<SloshFault>,
}

impl Solver {
    /// A dry solver for `lattice`; `doors` are the design's doors, by the index the lattice's doors name.
    pub fn new(
        lattice: &Lattice,
        fluid: Fluid,
        doors: &[pan::Door],
        settings: Settings,
    ) -> Result<Solver, SloshFault> {
        check_settings(&fluid, &settings)?;
        let grid = Grid::new(lattice)?;
        let size = grid.size();
        let mut losses = Losses::new(&grid, lattice, fluid.viscosity);
        let flaps = doors::hang(&grid, lattice, doors, &mut losses)?;
        let places = Places::new(&grid, lattice)?;
        let pressure = Pressure::new(&grid);
        let mut space_of = vec![u16::MAX; size];
        let mut crank = Vec::new();
        for cell in 0..lattice.cells() {
            let c = grid.cell_at(cell);
            if let Some(space) = lattice.space_of.get(cell) {
                space_of[c] = *space;
            }
            match lattice.crank_share.get(cell) {
                Some(share) if *share > 0.0 && grid.volume[c] > 0.0 => crank.push((c as u32, *share)),
                _ => {}
            }
        }
        let mut solver = Solver {
            fluid,
            settings,
            f: vec![0.0; size],
            flow: Flow::new(size),
            region: Region::default(),
            surface: Surface::new(size),
            pressure,
            losses,
            flaps,
            places,
            mouth_at: lattice.mouth_at,
            space_of,
            spaces: lattice.spaces.len(),
            crank,
            steps: 0,
            booked: 0.0,
            carrier: Carrier::new(size),
            extrapolator: Extrapolator::default(),
            team: Arc::new(Team::new(settings.threads, settings.plain)?),
            fault: None,
            grid,
        };
        solver.region.search_all();
        solver.set_doors();
        Ok(solver)
    }

    /// Advances by one step of at most `dt_max` [s] and the largest that is stable.
    ///
    /// After a fault the solver stays faulted: every later call returns the same one.
    pub fn step(&mut self, body: &Body, supply: &Supply, dt_max: f64) -> Result<Step, SloshFault> {
        self.step_watched(body, supply, dt_max, &mut |_| {})
    }

    /// The same step; `ended` is told at the end of each phase (a phase may end more than once a step).
    pub fn step_watched(
        &mut self,
        body: &Body,
        supply: &Supply,
        dt_max: f64,
        ended: &mut dyn FnMut(Phase),
    ) -> Result<Step, SloshFault> {
        if let Some(fault) = &self.fault {
            return Err(fault.clone());
        }
        check_step(
            body,
            supply,
            dt_max,
            self.places.return_places(),
            !self.places.mouth.is_empty(),
        )?;
        let team = self.team.clone();
        let done = self.advance(body, supply, dt_max, &team, ended);
        if let Err(fault) = &done {
            self.fault = Some(fault.clone());
        }
        done
    }

    fn advance(
        &mut self,
        body: &Body,
        supply: &Supply,
        dt_max: f64,
        team: &Team,
        ended: &mut dyn FnMut(Phase),
    ) -> Result<Step, SloshFault> {
        self.guard()?;
        let limit = self
            .stable_step(body)?
            .min(self.places.longest_step(&self.grid, supply));
        // Two halves rather than a whole and a sliver: a step of 5e-9 s leaves a pressure that means nothing, and
        // the next step, warm-started from it, blew up.
        let dt = if dt_max > limit && dt_max < 2.0 * limit {
            0.5 * dt_max
        } else {
            dt_max.min(limit)
        };
        let warm = dt / self.pressure.dt;
        ended(Phase::Guard);

        // Doors move by the pressure that the last step left.
        for flap in &mut self.flaps {
            let (q, q_dt) = (&self.pressure.q, self.pressure.dt);
            flap.swing(
                &self.grid,
                &self.surface.liquid,
                q,
                q_dt,
                self.fluid.density,
                body.gravity,
                dt,
            );
        }
        self.set_doors();
        ended(Phase::Doors);

        let rub = Rubbing::new(
            &self.settings,
            self.fluid.viscosity,
            self.grid.h,
            dt,
            self.swing_rate(body),
        );
        self.flow.predict(
            &self.grid,
            &self.region,
            &self.f,
            &self.surface.kind,
            &self.pressure,
            body,
            dt,
            &rub,
            team,
        )?;
        self.losses.apply(
            &self.grid,
            &self.surface.liquid,
            &self.pressure.q,
            warm,
            &mut self.flow,
            dt,
        );
        self.places.plan(&self.grid, &self.surface, &self.f, supply, dt);
        ended(Phase::Momentum);
        let ask = Ask {
            give: &self.losses.give,
            sources: &self.places.sources,
            dt,
            // A sliver of a step must not push as hard as a whole one in no time.
            push_time: dt.max(0.25 * limit),
            step: self.steps,
        };
        let (grid, region, settings) = (&self.grid, &self.region, &self.settings);
        self.pressure.prepare(
            grid,
            region,
            &self.surface,
            &self.f,
            &mut self.flow,
            &ask,
            settings,
            team,
        );
        ended(Phase::PressureSetUp);
        let solved = self
            .pressure
            .project(grid, region, &mut self.flow, &ask, settings, team)?;
        ended(Phase::PressureSolve);
        self.extend(dt);
        ended(Phase::Extension);

        let fastest = self.fastest()?;
        let sweeps = ((fastest * dt / self.grid.h / CARRY_COURANT).ceil() as u32).clamp(1, 20);
        let (mut oil_drawn, mut returned) = (0.0, 0.0);
        let part = dt / f64::from(sweeps);
        for sweep in 0..sweeps {
            let spans = if sweeps == 1 {
                &self.region.near
            } else {
                &self.region.rows
            };
            let turn = self.steps.wrapping_add(u64::from(sweep));
            let carry = Carry {
                grid: &self.grid,
                region: &self.region,
                spans,
                surface: &self.surface,
                u: &self.flow.u,
                dt: part,
                team,
            };
            self.carrier.carry(carry, &mut self.f, turn, sweep == 0);
            let (out, home) = self.places.exchange(&self.grid, &mut self.f, supply, part);
            oil_drawn += out;
            returned += home;
            for &(c, _) in &self.places.sources {
                self.carrier.note(&self.grid, &self.surface, c, self.f[c]);
            }
        }
        self.places.slow(
            &self.grid,
            &self.surface.liquid,
            &self.f,
            &mut self.flow,
            supply,
            dt,
        );
        ended(Phase::Transport);
        let Carrier {
            sharp, wisps, over, ..
        } = &self.carrier;
        self.booked += cleanup::tidy(&self.grid, wisps, over, &mut self.f);
        self.booked = cleanup::settle(&self.grid, sharp, &mut self.f, self.booked);
        // Return places may lie far from any oil.
        for &(c, _) in &self.places.sources {
            if !self.f[c].is_finite() {
                return Err(self.not_finite("fill", c));
            }
        }
        ended(Phase::CleanUp);
        self.refresh();
        ended(Phase::Surface);
        self.steps += 1;
        Ok(Step {
            dt,
            oil_drawn,
            air_drawn: (supply.demand * dt - oil_drawn).max(0.0),
            returned,
            iterations: solved.iterations,
            residual: solved.residual,
            liquid_cells: self.surface.count,
            sweeps,
            fastest,
        })
    }

    /// Rebuilds everything that follows from the fill alone.
    pub(crate) fn refresh(&mut self) {
        let (flow, pressure) = (&mut self.flow, &mut self.pressure);
        let (surface, carrier) = (&mut self.surface, &mut self.carrier);
        let sources = self.places.sources.iter().map(|(c, _)| *c);
        self.region
            .rebuild(&self.grid, &self.f, sources, self.team.parts(), |lo, hi| {
                flow.leave(lo, hi);
                pressure.leave(lo, hi);
                surface.leave(lo, hi);
                carrier.leave(lo, hi);
            });
        self.surface
            .refresh(&self.grid, &self.region, &self.f, &self.team);
    }

    /// Carries velocities on beyond the pressure faces.
    pub(crate) fn extend(&mut self, dt: f64) {
        let slow = (0.01 * self.grid.h / dt) as f32;
        let of = Reach {
            grid: &self.grid,
            region: &self.region,
            surface: &self.surface,
            team: &self.team,
        };
        self.extrapolator.extend(of, &mut self.flow, slow);
    }

    /// Gives door faces the area of the present angles.
    pub(crate) fn set_doors(&mut self) {
        for flap in &self.flaps {
            flap.set_faces(&mut self.grid, &mut self.losses, &mut self.flow);
        }
    }

    /// The longest stable step [s].
    fn stable_step(&self, body: &Body) -> Result<f64, SloshFault> {
        let h = self.grid.h;
        let mut pull = body.gravity.length();
        if body.turns() {
            let [nx, ny, nz] = self.grid.n;
            for corner in 0..8 {
                let at =
                    [(corner & 1) * nx, (corner >> 1 & 1) * ny, (corner >> 2 & 1) * nz].map(|v| v as f64);
                pull = pull.max(body.at(self.grid.origin + h * DVec3::from_array(at)).length());
            }
        }
        let u = self.fastest()?;
        let way = self.settings.courant * h;
        // |u| dt + |a| dt² = way, in the form that is safe for a = 0.
        let travel = 2.0 * way / (u + (u * u + 4.0 * pull * way).sqrt());
        Ok(travel.min(WAVE_SHARE * (h / pull.max(9.81)).sqrt()))
    }

    /// Fastest face beside oil [m/s]; refuses a velocity that is no number.
    fn fastest(&self) -> Result<f64, SloshFault> {
        const WHAT: [&str; 3] = ["velocity along x", "velocity along y", "velocity along z"];
        let mut most = 0u32;
        for a in 0..3 {
            let s = self.grid.stride[a];
            let (u, area, kind) = (&self.flow.u[a], &self.grid.area[a], &self.surface.kind);
            let mut found = vec![(0u32, 0u32); self.team.parts()];
            let rows = self.region.share_rows(&self.region.rows);
            self.team.each(
                found.iter_mut().zip(rows).collect(),
                #[inline(always)]
                |(found, rows): (&mut (u32, u32), &[Row])| {
                    for &(lo, hi) in rows {
                        let (lo, hi) = (lo as usize, hi as usize);
                        let (u, area) = (&u[lo..hi], &area[lo..hi]);
                        let (low, high) = (&kind[lo - s..hi - s], &kind[lo..hi]);
                        let (mut any, mut beside) = (0u32, 0u32);
                        for i in 0..u.len() {
                            // As bits, magnitudes order as the numbers do, with no number above all.
                            let size = u[i].to_bits() & 0x7fff_ffff;
                            let counts = (low[i] | high[i] != 0) & (area[i] > 0.0);
                            any = any.max(size);
                            beside = beside.max(if counts { size } else { 0 });
                        }
                        *found = (found.0.max(any), found.1.max(beside));
                    }
                },
            );
            for (any, beside) in found {
                if !f32::from_bits(any).is_finite() {
                    return Err(self.lost(WHAT[a], |c| self.flow.u[a][c].is_finite()));
                }
                most = most.max(beside);
            }
        }
        Ok(f64::from(f32::from_bits(most)))
    }

    /// Angular frequency of the first mode of the oil's bounding box under present gravity [rad/s], for the
    /// thickness of the boundary layer: `ω² = g k tanh(k d)`, `k = π/L` (NASA SP-106). Spaces between plates
    /// swing faster; the friction goes with the fourth root of their length.
    fn swing_rate(&self, body: &Body) -> f64 {
        let gravity = body.gravity.length();
        if self.region.wet.is_empty() || gravity == 0.0 {
            return 0.0;
        }
        let mut low = [usize::MAX; 3];
        let mut high = [0; 3];
        for &(lo, hi) in &self.region.wet {
            let [i, j, k] = self.grid.place(lo as usize);
            let cells = [i, j, k];
            let ends = [i + (hi - lo) as usize, j + 1, k + 1];
            for a in 0..3 {
                low[a] = low[a].min(cells[a]);
                high[a] = high[a].max(ends[a]);
            }
        }
        let size = [0, 1, 2].map(|a| (high[a] - low[a]) as f64 * self.grid.h);
        let down = main_axis(body.gravity.to_array());
        let (p, q) = (size[(down + 1) % 3], size[(down + 2) % 3]);
        let depth = self.surface.count as f64 * self.grid.h.powi(3) / (p * q);
        let k = std::f64::consts::PI / p.max(q);
        (gravity * k * (k * depth).tanh()).sqrt()
    }

    /// Refuses a fill, a door or a ledger that is no number. Velocities are looked at where the fastest is
    /// sought, and what the pressure does shows in them.
    fn guard(&self) -> Result<(), SloshFault> {
        if self.surface.broken {
            return Err(self.lost("fill", |c| self.f[c].is_finite()));
        }
        if !self
            .flaps
            .iter()
            .all(|d| d.angle.is_finite() && d.rate.is_finite())
        {
            return Err(SloshFault::NotFinite {
                what: "door angle",
                cell: [0; 3],
                step: self.steps,
            });
        }
        if !(self.booked.is_finite() && self.pressure.dt.is_finite()) {
            return Err(SloshFault::NotFinite {
                what: "ledger",
                cell: [0; 3],
                step: self.steps,
            });
        }
        Ok(())
    }

    pub(crate) fn clear_fault(&mut self) {
        self.fault = None;
    }

    /// The fault of a field that is not `good` somewhere in the region.
    fn lost(&self, what: &'static str, good: impl Fn(usize) -> bool) -> SloshFault {
        let mut cells = self
            .region
            .rows
            .iter()
            .flat_map(|&(lo, hi)| lo as usize..hi as usize);
        self.not_finite(what, cells.find(|c| !good(*c)).unwrap_or(0))
    }

    fn not_finite(&self, what: &'static str, c: usize) -> SloshFault {
        SloshFault::NotFinite {
            what,
            cell: self.grid.place(c),
            step: self.steps,
        }
    }
}

fn check_settings(fluid: &Fluid, s: &Settings) -> Result<(), SloshFault> {
    let positive = [
        ("oil density", fluid.density),
        ("courant share", s.courant),
        ("pressure tolerance", s.tolerance),
    ];
    for (what, value) in positive {
        if !(value > 0.0 && value.is_finite()) {
            return Err(SloshFault::Input {
                what,
                value,
                must: "positive and finite",
            });
        }
    }
    let not_negative = [
        ("oil viscosity", fluid.viscosity),
        ("overfill push", s.overfill_push),
        ("skin friction", s.skin_friction),
        ("settling rate", s.settling),
    ];
    for (what, value) in not_negative {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(SloshFault::Input {
                what,
                value,
                must: "zero or more and finite",
            });
        }
    }
    Ok(())
}

fn check_step(
    body: &Body,
    supply: &Supply,
    dt_max: f64,
    places: usize,
    mouth: bool,
) -> Result<(), SloshFault> {
    let vectors = [
        ("apparent gravity", body.gravity),
        ("spin", body.spin),
        ("spin rate", body.spin_rate),
        ("pivot", body.pivot),
    ];
    for (what, v) in vectors {
        if !v.is_finite() {
            let value = v
                .to_array()
                .into_iter()
                .find(|x| !x.is_finite())
                .unwrap_or(f64::NAN);
            return Err(SloshFault::Input {
                what,
                value,
                must: "finite",
            });
        }
    }
    if !(dt_max > 0.0 && dt_max.is_finite()) {
        return Err(SloshFault::Input {
            what: "time step",
            value: dt_max,
            must: "positive and finite",
        });
    }
    if !(supply.demand >= 0.0 && supply.demand.is_finite()) {
        return Err(SloshFault::Input {
            what: "pump demand",
            value: supply.demand,
            must: "zero or more and finite",
        });
    }
    if supply.demand > 0.0 && !mouth {
        return Err(SloshFault::MouthBlocked);
    }
    for (place, &flow) in supply.returns.iter().enumerate() {
        if !(flow >= 0.0 && flow.is_finite()) {
            return Err(SloshFault::Input {
                what: "return flow",
                value: flow,
                must: "zero or more and finite",
            });
        }
        if flow > 0.0 && place >= places {
            return Err(SloshFault::ReturnBlocked { place });
        }
    }
    Ok(())
}
