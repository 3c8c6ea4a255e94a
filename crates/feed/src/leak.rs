//! Air drawn in where the pickup's flange is not flat, or through a pinhole.
//!
//! A gap or a pinhole is a channel of length `L` and hydraulic diameter `D`, through which air flows from crankcase pressure to the
//! suction in the tube, at the oil's temperature:
//!
//! `p₁² − p₂² = G² R T [f L/D + 1.5 + s/Re + 2 ln(p₁/p₂)]`
//!
//! with `G` the mass flux, `f` the friction factor at `Re = G D/μ` (Churchill; a slot takes two thirds of its Re, which makes
//! 64/Re the 96/Re of parallel plates), 0.5 for the entrance and 1 for the jet lost behind it, and `s` for the ends in creeping flow:
//! 12π for a round hole (Sampson 1891), 128/π for a slit (the same in the plane). Where the air would leave faster
//! than `p₂ = G √(RT)`, it is choked there.
//!
//! Source: steady isothermal gas flow with friction and the slot's effective diameter, any book on fluid mechanics (for
//! instance White, Fluid Mechanics). For the slot of a joint its use is this program's.

use std::f64::consts::PI;

use oil::hydraulics::friction_factor;

/// Gas constant of dry air [J/(kg K)] (U.S. Standard Atmosphere 1976).
const AIR: f64 = 287.053;

/// Entrance and lost jet of a channel.
const ENDS: f64 = 1.5;

/// The ends of a round hole in creeping flow, over Re.
const ROUND_ENDS: f64 = 12.0 * PI;

/// The ends of a slit, over Re of twice its width.
const SLIT_ENDS: f64 = 128.0 / PI;

/// What a ring of a joint's cord must keep in squeeze to seal, as a part of its cord (common practice, no source: static
/// face seals are squeezed by 15 to 30 %).
pub const LEAST_SQUEEZE: f64 = 0.10;

/// By how much a sheet gasket between two small bolts follows a gap, as a part of its thickness (common practice, no source:
/// standard compression tests print 7 to 35 % under a load that these bolts do not reach).
pub const GASKET_FOLLOWS: f64 = 0.10;

/// Slices of a quarter of the joint.
const SLICES: usize = 24;

/// What lies between the flange of the pickup and its face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seal {
    /// Nothing: metal on metal.
    Metal,
    /// A sheet gasket.
    Gasket {
        /// Thickness [m].
        thickness: f64,
    },
    /// A ring of round cord in a groove.
    Ring {
        /// Diameter of the cord [m].
        cord: f64,
        /// Depth of the groove [m].
        groove: f64,
    },
}

impl Seal {
    /// How wide a gap it closes [m].
    pub fn follows(&self) -> f64 {
        match *self {
            Seal::Metal => 0.0,
            Seal::Gasket { thickness } => GASKET_FOLLOWS * thickness,
            Seal::Ring { cord, groove } => (cord - groove - LEAST_SQUEEZE * cord).max(0.0),
        }
    }
}

/// The joint of the pickup to the pump or the block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// Diameter of the hole that it goes round [m].
    pub bore: f64,
    /// Width of the face from the hole to the air [m].
    pub land: f64,
    /// Out of flat: the widest gap between the two bolts [m].
    pub flatness: f64,
    /// What seals it.
    pub seal: Seal,
    /// Diameter of a pinhole or crack in tube or weld [m]; zero is none.
    pub pinhole: f64,
    /// Wall that the pinhole goes through [m].
    pub wall: f64,
}

impl Joint {
    /// Air that it lets in [kg/s] from `outside` to `inside` [Pa] at `temperature` [K].
    ///
    /// The flange touches at two bolts and stands off between them by `flatness · sin²` of the angle: a uniform gap of the
    /// same width would let in 3.2 times as much (as long as it is narrow), one that the bolts pull shut less.
    pub fn air(&self, outside: f64, inside: f64, temperature: f64) -> f64 {
        let slice = |i: usize| {
            let angle = 0.5 * PI * (i as f64 + 0.5) / SLICES as f64;
            let gap = self.flatness * angle.sin().powi(2) - self.seal.follows();
            if gap <= 0.0 {
                return 0.0;
            }
            let width = PI * (self.bore + self.land) / (4 * SLICES) as f64;
            4.0 * width * gap * slot(gap, self.land).flux(outside, inside, temperature)
        };
        let ring: f64 = (0..SLICES).map(slice).sum();
        ring + pinhole(self.pinhole, self.wall, outside, inside, temperature)
    }
}

fn pinhole(bore: f64, wall: f64, outside: f64, inside: f64, temperature: f64) -> f64 {
    if bore <= 0.0 {
        return 0.0;
    }
    let round = Channel {
        diameter: bore,
        length: wall,
        shape: 1.0,
        ends: (ENDS, ROUND_ENDS),
    };
    0.25 * PI * bore * bore * round.flux(outside, inside, temperature)
}

fn slot(gap: f64, length: f64) -> Channel {
    Channel {
        diameter: 2.0 * gap,
        length,
        shape: 2.0 / 3.0,
        ends: (ENDS, SLIT_ENDS),
    }
}

/// A passage for air.
struct Channel {
    /// Hydraulic diameter [m].
    diameter: f64,
    /// Along the flow [m].
    length: f64,
    /// Factor on the Reynolds number: 1 round, 2/3 between plates.
    shape: f64,
    /// Coefficients of its ends: fast, and over Re.
    ends: (f64, f64),
}

impl Channel {
    /// Mass flux [kg/(m² s)]; zero where nothing sucks.
    fn flux(&self, outside: f64, inside: f64, temperature: f64) -> f64 {
        if !(inside < outside) {
            return 0.0;
        }
        let room = AIR * temperature;
        // No vacuum is deeper than this to the air: it is choked long before.
        let inside = inside.max(0.01 * outside);
        let free = self.flux_to(outside, inside, temperature);
        if free * room.sqrt() <= inside {
            return free;
        }
        let (mut choked, mut open) = (inside, outside);
        for _ in 0..60 {
            let middle = 0.5 * (choked + open);
            if self.flux_to(outside, middle, temperature) * room.sqrt() > middle {
                choked = middle;
            } else {
                open = middle;
            }
        }
        self.flux_to(outside, open, temperature)
    }

    /// Mass flux to a pressure at its exit, choked or not.
    fn flux_to(&self, outside: f64, exit: f64, temperature: f64) -> f64 {
        let room = AIR * temperature;
        let drive = (outside - exit) * (outside + exit);
        let viscosity = air_viscosity(temperature);
        let still = self.ends.0 + 2.0 * (outside / exit).ln();
        // Without friction it is largest; bisect below that.
        let (mut low, mut high) = (0.0, (drive / (room * still)).sqrt());
        for _ in 0..60 {
            let flux = 0.5 * (low + high);
            let reynolds = flux * self.diameter / viscosity;
            let rubbing = friction_factor(self.shape * reynolds, 0.0) * self.length / self.diameter;
            let needed = flux * flux * room * (still + self.ends.1 / reynolds + rubbing);
            if needed < drive {
                low = flux;
            } else {
                high = flux;
            }
        }
        low
    }
}

/// Viscosity of air [Pa·s] at `temperature` [K] (Sutherland's law with the constants of the U.S. Standard Atmosphere 1976).
pub fn air_viscosity(temperature: f64) -> f64 {
    1.458e-6 * temperature.powf(1.5) / (temperature + 110.4)
}

/// Volume flow [m³/s] of `mass` [kg/s] of air at a pressure and temperature.
pub fn air_volume(mass: f64, pressure: f64, temperature: f64) -> f64 {
    mass * AIR * temperature / pressure
}

#[cfg(test)]
mod tests;
