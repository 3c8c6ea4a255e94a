//! Oil, pump and line together: what pressure stands in the pump's inlet, and what of it is air.

use oil::{Fluid, OilFault, OilSpec, air};

use crate::leak::{Joint, air_volume};
use crate::line::{Entry, Line, Part, Weave, area};

/// Steps of a bisection: to a part in 10¹² of its range.
const HALVINGS: usize = 40;

/// The value nearest `to` for which something still holds that holds at `from` and not at `to`, by halving.
fn last_that((from, to): (f64, f64), holds: impl Fn(f64) -> Result<bool, OilFault>) -> Result<f64, OilFault> {
    let (mut good, mut bad) = (from, to);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (good + bad);
        if holds(middle)? {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Ok(good)
}

/// The least pressure to which air is followed [Pa]: below, the pump draws foam and no number means anything.
const FOAM: f64 = 1e3;

/// What the pump takes through the suction line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pump {
    /// A crank revolution [m³/rev].
    pub displacement: f64,
    /// The most that the engine takes [m³/s].
    pub relief_flow: f64,
    /// True when the relief valve opens into the pan: then the whole delivery comes through the line. Else the rest goes round
    /// inside the pump.
    pub relief_to_pan: bool,
}

impl Pump {
    /// Flow in the line [m³/s] at an engine speed [rev/s].
    pub fn flow(&self, speed: f64) -> f64 {
        let all = self.displacement * speed.max(0.0);
        if self.relief_to_pan {
            all
        } else {
            all.min(self.relief_flow)
        }
    }
}

/// The suction side of an engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// The line.
    pub line: Line,
    /// The joint to the pump.
    pub joint: Joint,
    /// The oil.
    pub oil: OilSpec,
    /// Air that it carries as bubbles, share of the volume at the pressure over the oil.
    pub aeration: f64,
    /// The pump.
    pub pump: Pump,
    /// Pressure over the oil [Pa, absolute].
    pub over: f64,
    /// Least pressure in the pump's inlet that is counted as fed [Pa, absolute].
    pub least: f64,
}

/// The suction side at one engine speed and oil temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Flow in the line [m³/s].
    pub flow: f64,
    /// Speed in the narrowest bore [m/s].
    pub speed: f64,
    /// Reynolds number there.
    pub reynolds: f64,
    /// What each part takes [Pa], as [`Part::ALL`].
    pub losses: [f64; Part::ALL.len()],
    /// Pressure in the inlet [Pa, absolute]. At or below zero the flow is impossible: the pump runs on foam.
    pub pressure: f64,
}

/// Up to which engine speed the inlet is fed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Holds {
    /// At every speed that was asked for.
    Throughout,
    /// Up to this one [rev/s].
    UpTo(f64),
    /// Not even at the lowest.
    Nowhere,
}

/// Air in what the pump takes, as shares of its volume in the inlet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// In through the joint.
    pub leak: f64,
    /// Bubbles that the oil carried, grown under the suction.
    pub bubbles: f64,
    /// Dissolved air that comes out: the most that it may be in the end.
    pub released: f64,
    /// Pressure in the inlet [Pa], with the leak.
    pub pressure: f64,
}

impl Air {
    /// All of it.
    pub fn all(&self) -> f64 {
        self.leak + self.bubbles + self.released
    }
}

impl Supply {
    /// The oil at a temperature [K], with its air.
    pub fn fluid(&self, temperature: f64) -> Result<Fluid, OilFault> {
        self.oil.at(temperature, self.aeration)
    }

    /// The suction side at a temperature [K], an engine speed [rev/s] and a push (see the crate's page).
    ///
    /// Fails where the oil has no viscosity at that temperature by its two points.
    pub fn state(&self, temperature: f64, speed: f64, push: f64) -> Result<State, OilFault> {
        let fluid = self.fluid(temperature)?;
        let flow = self.pump.flow(speed);
        let losses = Part::ALL.map(|part| self.line.loss(part, &fluid, flow, push));
        let narrowest = self.line.narrowest();
        let speed = flow / area(narrowest);
        Ok(State {
            flow,
            speed,
            reynolds: speed * narrowest / fluid.viscosity,
            losses,
            pressure: self.over - losses.iter().sum::<f64>(),
        })
    }

    /// Up to which speed of `speeds` (lowest, highest) the inlet keeps the least pressure.
    pub fn holds(&self, temperature: f64, speeds: (f64, f64), push: f64) -> Result<Holds, OilFault> {
        let fed = |speed| Ok(self.state(temperature, speed, push)?.pressure >= self.least);
        if fed(speeds.1)? {
            return Ok(Holds::Throughout);
        }
        if !fed(speeds.0)? {
            return Ok(Holds::Nowhere);
        }
        Ok(Holds::UpTo(last_that(speeds, fed)?))
    }

    /// The lowest temperature of `range` [K] (coldest, hottest) from which on `speed` is fed; `None` when it is not even at the
    /// hottest.
    pub fn warm_enough(&self, speed: f64, range: (f64, f64), push: f64) -> Result<Option<f64>, OilFault> {
        let fed = |temperature| Ok(self.state(temperature, speed, push)?.pressure >= self.least);
        let (cold, warm) = range;
        if !fed(warm)? {
            return Ok(None);
        }
        if fed(cold)? {
            return Ok(Some(cold));
        }
        Ok(Some(last_that((warm, cold), fed)?))
    }

    /// The same with the share `blocked` of the screen shut; `None` without a screen.
    pub fn blocked(&self, blocked: f64) -> Option<Supply> {
        let mut other = self.clone();
        other.line.screen.as_mut()?.blocked = blocked;
        Some(other)
    }

    /// The largest share of the screen that may be shut; `None` without a screen, or when the inlet is not fed with a clean
    /// one.
    pub fn most_blocked(&self, temperature: f64, speed: f64, push: f64) -> Result<Option<f64>, OilFault> {
        let fed = |share: f64| -> Result<bool, OilFault> {
            match self.blocked(share) {
                Some(supply) => Ok(supply.state(temperature, speed, push)?.pressure >= self.least),
                None => Ok(false),
            }
        };
        if !fed(0.0)? {
            return Ok(None);
        }
        Ok(Some(last_that((0.0, 1.0), fed)?))
    }

    /// Air in what the pump takes. The pump takes its volume whatever it is; air that comes in at the joint takes the place of
    /// oil, and the line then carries less.
    pub fn air(&self, temperature: f64, speed: f64, push: f64) -> Result<Air, OilFault> {
        let fluid = self.fluid(temperature)?;
        let taken = self.pump.flow(speed);
        let pressure = |leak: f64| {
            let losses = self.line.all_losses(&fluid, taken * (1.0 - leak), push);
            (self.over - losses).max(FOAM)
        };
        let leaks = |pressure: f64| {
            air_volume(
                self.joint.air(self.over, pressure, temperature),
                pressure,
                temperature,
            )
        };
        // More air, less suction: the two meet once.
        let leak = if taken > 0.0 && leaks(pressure(0.0)) > 0.0 {
            last_that((1.0, 0.0), |share| Ok(leaks(pressure(share)) <= share * taken))?
        } else {
            0.0
        };
        let pressure = pressure(leak);
        let bubbles = air::bubbles(self.aeration, self.over, pressure);
        let released = air::released(self.over, pressure);
        let part = (1.0 - leak) / (1.0 + bubbles + released);
        Ok(Air {
            leak,
            bubbles: part * bubbles,
            released: part * released,
            pressure,
        })
    }

    /// The same with a joint out of flat by so much [m] and another seal.
    pub fn with_joint(&self, joint: Joint) -> Supply {
        Supply {
            joint,
            ..self.clone()
        }
    }

    /// The same with tube, bends and inlet wider by so much [m], bends keeping their middle line; a mouth that was the tube's
    /// own end grows with it.
    pub fn wider(&self, by: f64) -> Supply {
        let mut other = self.clone();
        let line = &mut other.line;
        let tube = matches!(line.entry, Entry::Tube { .. });
        if tube || line.mouth < line.bore() + by {
            line.mouth += by;
            line.rim += by;
        }
        if let Some(screen) = line.screen.as_mut()
            && tube
        {
            screen.area *= ((self.line.mouth + by) / self.line.mouth).powi(2);
        }
        for piece in &mut line.pieces {
            piece.bore += by;
        }
        line.inlet += by;
        other
    }

    /// The same with a bell whose curve has a quarter of the bore for its radius; `None` when it has one as round.
    pub fn belled(&self) -> Option<Supply> {
        let mut other = self.clone();
        let bore = other.line.bore();
        let radius = 0.25 * bore;
        if matches!(self.line.entry, Entry::Bell { radius: r } if r >= radius) {
            return None;
        }
        let line = &mut other.line;
        line.entry = Entry::Bell { radius };
        let wall = 0.5 * (line.rim - line.mouth);
        line.mouth = line.mouth.max(bore + 2.0 * radius);
        line.rim = line.mouth + 2.0 * wall;
        Some(other)
    }

    /// The same with a screen of the same weave and this area [m²]; `None` without one.
    pub fn screened(&self, area: f64) -> Option<Supply> {
        let mut other = self.clone();
        other.line.screen.as_mut()?.area = area;
        Some(other)
    }

    /// The open area of the screen over that of the bore; `None` without one.
    pub fn screen_open(&self) -> Option<f64> {
        let screen = self.line.screen?;
        let open = Weave::open(&screen.weave);
        Some(open * screen.area / area(self.line.bore()))
    }
}

#[cfg(test)]
mod tests;
