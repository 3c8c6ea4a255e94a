//! The direction of a bay's surface: it swings after apparent gravity.
//!
//! The first sloshing mode moves as a pendulum of length `1 / (k tanh kh)`, `k = π/L`, whose bob takes `8/π²` of the
//! surface's tilt; the higher modes, which take the rest, are quick and follow at once (equivalent pendulum: NASA SP-106;
//! F. T. Dodge 2000). The pendulum is a spherical one, so large tilts need no other formula.

use glam::DVec3;
use std::f64::consts::PI;

/// Part of a plane's tilt that is the first mode's: the cosine series of a straight line.
const FIRST_MODE: f64 = 8.0 / (PI * PI);

/// Damping of small waves, as a share of the critical. Smooth walls alone take a fifth of it in a pan (Stokes layers:
/// 0.6 % at 10 mm²/s, 300 × 250 mm, 100 mm deep); doors, plates' edges and the rain of returning oil take the rest.
///
/// This and [`BREAKING`] are the only fitted numbers of this crate: among the best of pairs from 0.008 to 0.04 and 0.04 to
/// 0.25 against the 25 slosh runs of the validation page's "The sketch against the solver" (10 mm cells, 27 November 2026).
pub(crate) const CALM: f64 = 0.01;
/// Further damping for a radian between surface and field: waves that break. Fitted with [`CALM`].
const BREAKING: f64 = 0.08;

/// The series for waves of finite height is taken no shallower than this tanh kh, ...
const SHALLOWEST: f64 = 0.6;
/// ... and a hollow is no deeper than this share of the oil. Both are bounds of a series, not fitted: 0.4 to 0.8 and 0.25 to
/// 0.7 change no case of the suite from held to missed but one.
const HOLLOW: f64 = 0.5;

/// Oil less deep than this lies as its field says [m].
const FILM: f64 = 1e-3;

/// The surface of one bay.
#[derive(Clone, Copy, Debug)]
pub struct Swing {
    /// Where the pendulum hangs: a unit vector.
    pub down: DVec3,
    /// Its rate [1/s].
    pub rate: DVec3,
}

/// What swings.
#[derive(Clone, Copy, Debug)]
pub struct Pool {
    /// Lengths of the surface along x and y [m].
    pub length: [f64; 2],
    /// Mean depth under it [m].
    pub depth: f64,
}

impl Swing {
    /// At rest under apparent gravity.
    pub fn at_rest(gravity: DVec3) -> Swing {
        Swing {
            down: gravity.normalize_or(DVec3::NEG_Z),
            rate: DVec3::ZERO,
        }
    }

    /// The unit vector square to the surface, out of the oil.
    pub fn up(&self, gravity: DVec3) -> DVec3 {
        let field = gravity.normalize_or(self.down);
        -(FIRST_MODE * self.down + (1.0 - FIRST_MODE) * field).normalize_or(self.down)
    }

    /// Speed of the oil under a place [m/s] as the surface swings over a pool `depth` [m] deep, `length` [m] long: what
    /// crosses a section moves the volumes on either side of it. Of a plane that turns at rate θ' about the middle these
    /// change by `θ'/(8 cos²θ) L² (1 − (2x/L)²)` a metre of width; `aside` is x along both axes [m].
    pub fn speed(&self, gravity: DVec3, pool: Pool, aside: [f64; 2]) -> f64 {
        let up = self.up(gravity);
        let lean = up.z.abs().max(0.3);
        let turn = FIRST_MODE * self.rate.truncate();
        let speed = |turn: f64, length: f64, aside: f64| {
            let inside = (1.0 - (2.0 * aside / length).powi(2)).max(0.0);
            turn * length * length * inside / (8.0 * lean * lean * pool.depth.max(0.2 * length))
        };
        let [x, y] = pool.length;
        speed(turn.x, x, aside[0]).hypot(speed(turn.y, y, aside[1]))
    }

    /// How much lower than the swinging plane the oil stands at a place because the wave is of finite height [m]: crests at
    /// the walls are peaked and troughs flat, so the middle hollows out as the oil climbs a wall.
    ///
    /// The second term of the standing wave, with `a` its height at the wall when it stands and `b` as it passes level,
    /// T = tanh kh: `a²+b²` times `(T + 1/T)` and `b²−a²` times `(1/T − 3/T³)`, times `k/8 cos 2kx` (I. Tadjbakhsh and
    /// J. B. Keller, J. Fluid Mech. 8, 1960, from memory; its rise at a wall is Miche's of the clapotis, see the tests).
    /// `aside` is the place along both axes from the middle of the pool [m]. A rise is left out: what passes fast also has
    /// its velocity head, which [`speed`](Swing::speed) tells.
    pub fn hollow(&self, gravity: DVec3, pool: Pool, aside: [f64; 2]) -> f64 {
        let pull = gravity.length();
        if !(pull > 1e-6 && pool.depth > FILM) {
            return 0.0;
        }
        let field = gravity / pull;
        let apart = self.down - self.down.dot(field) * field;
        let along = |axis: usize| {
            let length = pool.length[axis].max(1e-3);
            let k = PI / length;
            let t = (k * pool.depth).tanh().max(SHALLOWEST);
            // Height at the wall of a plane's first cosine, for a tilt of one.
            let wall = 0.5 * FIRST_MODE * length;
            let (a, b) = (wall * apart[axis], wall * self.rate[axis]);
            second_order(k, t, a * a, b * b / (pull * k * t)) * (2.0 * k * aside[axis]).cos()
        };
        (along(0) + along(1)).clamp(0.0, HOLLOW * pool.depth)
    }

    /// Moves on by `dt` [s] under apparent gravity [m/s²].
    pub fn go(&mut self, gravity: DVec3, pool: Pool, dt: f64) {
        let pull = gravity.length();
        if pool.depth < FILM || pull < 1e-6 {
            *self = Swing::at_rest(gravity);
            return;
        }
        let along = gravity - gravity.dot(self.down) * self.down;
        let short = |length: f64| {
            let k = PI / length.max(1e-3);
            k * (k * pool.depth).tanh()
        };
        // One over the pendulum's length, by the way it swings.
        let (x, y) = (along.x * along.x, along.y * along.y);
        let [a, b] = pool.length.map(short);
        let inverse = if x + y > 0.0 {
            (x * a + y * b) / (x + y)
        } else {
            0.5 * (a + b)
        };
        let apart = (1.0 - self.down.dot(gravity) / pull).max(0.0).sqrt() * std::f64::consts::SQRT_2;
        let damping = 2.0 * (CALM + BREAKING * apart) * (pull * inverse).sqrt();
        self.rate = (self.rate + dt * inverse * along) / (1.0 + dt * damping);
        let down = (self.down + dt * self.rate).normalize_or(self.down);
        self.rate -= self.rate.dot(down) * down;
        self.down = down;
    }
}

/// Hollow of a standing wave at its node [m]: `k` [1/m], `t` = tanh kh, squares of its height as it stands and as it passes.
fn second_order(k: f64, t: f64, standing: f64, passing: f64) -> f64 {
    let (once, thrice) = (1.0 / t, 3.0 / t.powi(3));
    k / 8.0 * ((t + once) * (standing + passing) + (once - thrice) * (passing - standing))
}

#[cfg(test)]
mod tests {
    use super::*;

    const G: f64 = 9.80665;

    /// NASA SP-106: a 0.30 × 0.10 m tank rings at 1.42509 Hz; a pendulum let go from half a degree does the same.
    #[test]
    fn a_bay_rings_at_its_first_mode() {
        let pool = Pool {
            length: [0.3, 0.3],
            depth: 0.1,
        };
        let mut swing = Swing::at_rest(DVec3::new(0.01 * G, 0.0, -G));
        let field = DVec3::new(0.0, 0.0, -G);
        let (dt, mut crossings, mut before) = (1e-3, Vec::new(), swing.down.x);
        for step in 0..8000 {
            swing.go(field, pool, dt);
            if before < 0.0 && swing.down.x >= 0.0 {
                crossings.push(dt * f64::from(step));
            }
            before = swing.down.x;
        }
        let period = (crossings[3] - crossings[0]) / 3.0;
        assert!((1.0 / period / 1.42509 - 1.0).abs() < 0.01, "{}", 1.0 / period);
    }

    /// Deep water: a²k/2 as it stands, nothing as it passes (Rayleigh 1915). Any depth: what the node loses the wall gains,
    /// Miche's clapotis `a²k/2 coth kh (1 + 3/(4 sinh² kh) − 1/(4 cosh² kh))` (Miche 1944; both from memory).
    #[test]
    fn a_high_wave_hollows_the_middle_as_miche_says() {
        let (k, a): (f64, f64) = (10.0, 0.02);
        let square = a * a;
        assert!((second_order(k, 1.0, square, 0.0) - 0.5 * square * k).abs() < 1e-12);
        assert!(second_order(k, 1.0, 0.0, square).abs() < 1e-12);
        for kh in [0.7f64, 1.0, 2.0] {
            let miche =
                0.5 * square * k / kh.tanh() * (1.0 + 0.75 / kh.sinh().powi(2) - 0.25 / kh.cosh().powi(2));
            let got = second_order(k, kh.tanh(), square, 0.0);
            assert!((got / miche - 1.0).abs() < 1e-12, "{got} {miche}");
        }
    }

    #[test]
    fn oil_that_stands_level_has_no_hollow() {
        let pool = Pool {
            length: [0.3, 0.2],
            depth: 0.06,
        };
        let field = DVec3::new(0.0, 0.3 * G, -G);
        assert!(Swing::at_rest(field).hollow(field, pool, [0.0; 2]) < 1e-12);
        let climbing = Swing::at_rest(DVec3::new(0.3 * G, 0.0, -G));
        let middle = climbing.hollow(DVec3::new(0.0, 0.0, -G), pool, [0.0; 2]);
        let aside = climbing.hollow(DVec3::new(0.0, 0.0, -G), pool, [0.1, 0.0]);
        assert!(middle > 2e-3 && aside < middle, "{middle} {aside}");
    }

    /// Damping of small waves: the share that is stated.
    #[test]
    fn small_waves_die_as_stated() {
        let pool = Pool {
            length: [0.3, 0.3],
            depth: 0.1,
        };
        let mut swing = Swing::at_rest(DVec3::new(0.002 * G, 0.0, -G));
        let (dt, mut tops, mut old) = (1e-3, Vec::new(), [0.0; 2]);
        for _ in 0..8000 {
            swing.go(DVec3::new(0.0, 0.0, -G), pool, dt);
            if old[1] > old[0] && old[1] > swing.down.x && old[1] > 0.0 {
                tops.push(old[1]);
            }
            old = [old[1], swing.down.x];
        }
        let loss: f64 = (tops[0] / tops[3]).ln() / 3.0 / (2.0 * PI);
        assert!((loss - CALM).abs() < 0.01, "{loss}");
    }

    /// Common sense and any textbook: 1 g sideways is 45 degrees.
    #[test]
    fn a_step_to_one_g_settles_at_45_degrees() {
        let pool = Pool {
            length: [0.25, 0.2],
            depth: 0.06,
        };
        let mut swing = Swing::at_rest(DVec3::new(0.0, 0.0, -G));
        let field = DVec3::new(G, 0.0, -G);
        let mut most = 0.0f64;
        for _ in 0..16000 {
            swing.go(field, pool, 5e-3);
            let up = swing.up(field);
            most = most.max((-up.x).atan2(up.z).to_degrees());
        }
        let up = swing.up(field);
        assert!(((-up.x).atan2(up.z).to_degrees() - 45.0).abs() < 0.01, "{up}");
        assert!(most > 50.0 && most < 90.0, "{most}");
    }
}
