//! From a design's suction line to what is said of it: mapping, and the picks of states and changes.

mod words;

use crate::failure::Failure;
use crate::place::place;
use crate::preparation::Driven;
use ::feed::{Holds, Joint, Part, Seal, State, Supply, mouth};
use glam::DVec3;
use job::{Design, Feed};
use measure::STANDARD_GRAVITY;
use oil::OilFault;
use report::findings::{
    AirFact, BellFact, BlockedScreen, FedSpeed, FeedChange, FeedFacts, FeedLine, FeedMap, FeedMoment,
    FeedState, JointFacts, LeakFact, LiftFacts, MouthFacts, PartLoss,
};

pub use words::starter;

/// The ring that is tried where there is none: a common cord in a groove of three quarters of it.
const USUAL_RING: Seal = Seal::Ring {
    cord: 2.4e-3,
    groove: 1.8e-3,
};

/// The hottest oil that is asked for [K]: beyond, mineral and most synthetic oils break down (practice).
const HOTTEST: f64 = 413.15;
/// Steps of the map.
const MAP: (usize, usize) = (36, 28);
/// Steps between the rows of the table of speeds [K].
const ROW: f64 = 10.0;
/// Shares of the screen that are tried.
const BLOCKED: [f64; 4] = [0.0, 0.25, 0.5, 0.75];

/// The line with the drive's push on it.
struct View<'a> {
    feed: &'a Feed,
    design: &'a Design,
    /// Worst push of the drive [m²/s²].
    push: f64,
    speeds: (f64, f64),
    temperatures: (f64, f64),
}

/// What is said of the suction side; `None` when the design states none.
pub fn look(design: &Design, driven: &Driven) -> Result<Option<FeedFacts>, Failure> {
    let Some(feed) = &design.feed else { return Ok(None) };
    facts(design, feed, driven).map(Some).map_err(|fault| {
        Failure::input(
            fault.to_string(),
            format!("{}, oil", design.files[0].path.display()),
            "check [oil], or raise feed.coldest",
        )
    })
}

fn facts(design: &Design, feed: &Feed, driven: &Driven) -> Result<FeedFacts, OilFault> {
    let working = design.oil.temperature;
    let supply = &feed.supply;
    let density = supply.fluid(working)?.density;
    let pushes = driven.pan.gravity.iter().map(|g| g.dot(feed.way));
    let (worst, push) = pushes
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .expect("a drive has samples");
    let up = design.installation.pan_from_car() * DVec3::Z;
    let rise = up.dot(feed.way);
    let top = driven
        .car
        .engine_speed
        .iter()
        .copied()
        .fold(design.engine.redline, f64::max);
    let view = View {
        feed,
        design,
        push,
        speeds: (design.engine.idle, top),
        temperatures: (feed.coldest.min(working), HOTTEST.max(working)),
    };
    let drive = view.worst_of(driven)?;
    let states = view.states()?;
    let at_top = view.state(working, top)?.pressure;
    let speeds = view.fed_speeds()?;
    let warm_enough = supply.warm_enough(top, view.temperatures, push)?;
    let blocked = BLOCKED
        .iter()
        .filter_map(|share| Some((*share, supply.blocked(*share)?)))
        .map(|(share, other)| {
            let pressure = other.state(working, top, push)?.pressure;
            Ok(BlockedScreen { share, pressure })
        })
        .collect::<Result<Vec<_>, OilFault>>()?;
    let mut facts = FeedFacts {
        said: String::new(),
        holds: drive.pressure >= supply.least && at_top >= supply.least,
        over: supply.over,
        least: supply.least,
        working,
        line: FeedLine {
            length: supply.line.length(),
            narrowest: supply.line.narrowest(),
            rise,
            screen_open: supply.screen_open(),
        },
        lift: LiftFacts {
            standing: density * STANDARD_GRAVITY * rise,
            worst: -density * push,
            at: driven.pan.time[worst],
        },
        map: view.map()?,
        speeds,
        warm_enough,
        states,
        drive,
        blocked,
        most_blocked: supply.most_blocked(working, top, push)?,
        changes: view.changes()?,
        mouth: view.mouth(top),
        joint: view.joint()?,
        remarks: Vec::new(),
    };
    facts.said = words::said(&facts, design.units);
    facts.remarks = words::remarks(&facts, feed, design.units);
    Ok(facts)
}

impl View<'_> {
    fn supply(&self) -> &Supply {
        &self.feed.supply
    }

    fn state(&self, temperature: f64, speed: f64) -> Result<State, OilFault> {
        self.supply().state(temperature, speed, self.push)
    }

    /// The lowest inlet pressure along the drive, with working oil and the push of each instant.
    fn worst_of(&self, driven: &Driven) -> Result<FeedMoment, OilFault> {
        let drive = &driven.pan;
        let mut worst: Option<FeedMoment> = None;
        for ((&time, gravity), &engine_speed) in
            drive.time.iter().zip(&drive.gravity).zip(&drive.engine_speed)
        {
            let push = gravity.dot(self.feed.way);
            let state = self
                .supply()
                .state(self.design.oil.temperature, engine_speed, push)?;
            if worst.as_ref().is_none_or(|w| state.pressure < w.pressure) {
                worst = Some(FeedMoment {
                    time,
                    place: String::new(),
                    engine_speed,
                    pressure: state.pressure,
                });
            }
        }
        let mut worst = worst.expect("a drive has samples");
        worst.place = place(&driven.car, driven.file.is_none(), worst.time);
        Ok(worst)
    }

    fn map(&self) -> Result<FeedMap, OilFault> {
        let spread = |(low, high): (f64, f64), steps: usize| -> Vec<f64> {
            (0..=steps)
                .map(|i| low + (high - low) * i as f64 / steps as f64)
                .collect()
        };
        let (speeds, temperatures) = (spread(self.speeds, MAP.0), spread(self.temperatures, MAP.1));
        let mut pressure = Vec::with_capacity(speeds.len() * temperatures.len());
        for &temperature in &temperatures {
            for &speed in &speeds {
                pressure.push(self.state(temperature, speed)?.pressure);
            }
        }
        Ok(FeedMap {
            speeds,
            temperatures,
            pressure,
        })
    }

    fn fed_speeds(&self) -> Result<Vec<FedSpeed>, OilFault> {
        let (coldest, hottest) = self.temperatures;
        // The coldest as stated, then round tens of degrees Celsius.
        let tens = (1..=40).map(|i| 273.15 - 40.0 + ROW * f64::from(i));
        let rows = std::iter::once(coldest).chain(tens.filter(|t| *t > coldest + 1.0 && *t <= hottest));
        let mut list: Vec<FedSpeed> = Vec::new();
        for temperature in rows {
            let (speed, free) = match self.supply().holds(temperature, self.speeds, self.push)? {
                Holds::Throughout => (Some(self.speeds.1), true),
                Holds::UpTo(speed) => (Some(speed), false),
                Holds::Nowhere => (None, false),
            };
            // One row that nothing limits is enough on the way up; what heat limits again is told.
            if free && list.last().is_some_and(|last| last.free) {
                continue;
            }
            list.push(FedSpeed {
                temperature,
                viscosity: self.supply().fluid(temperature)?.viscosity,
                speed,
                free,
            });
        }
        Ok(list)
    }

    /// Names, temperatures and speeds that losses and air are told at.
    fn picks(&self) -> Vec<(String, f64, f64)> {
        let (idle, top) = self.speeds;
        let (coldest, hottest) = self.temperatures;
        let working = self.design.oil.temperature;
        let mut picks = vec![("cold, at idle".to_owned(), coldest, idle)];
        let warming = 313.15;
        if warming > coldest && warming < working {
            picks.push((
                "warming up, at half speed".to_owned(),
                warming,
                (0.5 * top).max(idle),
            ));
        }
        picks.push(("working, at idle".to_owned(), working, idle));
        picks.push(("working, at full speed".to_owned(), working, top));
        if hottest > working + 1.0 {
            picks.push(("hottest, at full speed".to_owned(), hottest, top));
        }
        picks
    }

    fn states(&self) -> Result<Vec<FeedState>, OilFault> {
        let one = |(name, temperature, engine_speed): (String, f64, f64)| {
            let state = self.state(temperature, engine_speed)?;
            let part = |(part, loss): (&Part, &f64)| PartLoss {
                part: part.said().to_owned(),
                loss: *loss,
            };
            Ok(FeedState {
                name,
                temperature,
                engine_speed,
                flow: state.flow,
                flow_speed: state.speed,
                reynolds: state.reynolds,
                losses: Part::ALL.iter().zip(&state.losses).map(part).collect(),
                pressure: state.pressure,
            })
        };
        self.picks().into_iter().map(one).collect()
    }

    fn changes(&self) -> Result<Vec<FeedChange>, OilFault> {
        let supply = self.supply();
        let mut list = vec![(words::wider(2e-3, self.design.units), supply.wider(2e-3))];
        if let Some(other) = supply.belled() {
            list.push((
                "a bell with a quarter of the bore for its curve".to_owned(),
                other,
            ));
        }
        if let Some(screen) = supply.line.screen
            && let Some(other) = supply.screened(2.0 * screen.area)
        {
            list.push(("a screen of twice the area".to_owned(), other));
        }
        if !supply.pump.relief_to_pan {
            let mut other = supply.clone();
            other.pump.relief_to_pan = true;
            list.push((
                "if the relief valve opens into the pan, not to the pump's inlet".to_owned(),
                other,
            ));
        }
        let one = |(what, other): (String, Supply)| {
            let pressure = other
                .state(self.design.oil.temperature, self.speeds.1, self.push)?
                .pressure;
            Ok(FeedChange {
                what,
                pressure,
                warm_enough: other.warm_enough(self.speeds.1, self.temperatures, self.push)?,
            })
        };
        list.into_iter().map(one).collect()
    }

    fn mouth(&self, top: f64) -> MouthFacts {
        let line = &self.supply().line;
        let flow = self.supply().pump.flow(top);
        let bell = |b: mouth::Bell| BellFact {
            diameter: b.diameter,
            own: b.diameter == line.mouth,
            speed: b.speed,
            asked: b.asked,
            ring: b.ring,
            clearance: b.clearance,
        };
        MouthFacts {
            floor: line.floor,
            bells: mouth::bells(line.mouth, flow, line.floor, line.bore())
                .into_iter()
                .map(bell)
                .collect(),
        }
    }

    fn joint(&self) -> Result<JointFacts, OilFault> {
        let own = self.supply().joint;
        let units = self.design.units;
        let metal = |flatness: f64| Joint {
            flatness,
            seal: Seal::Metal,
            pinhole: 0.0,
            ..own
        };
        let mut rows = vec![(words::own_joint(&own, units), own, true)];
        for flatness in [0.02e-3, 0.05e-3, 0.10e-3, 0.20e-3] {
            let joint = metal(flatness);
            if joint != own {
                rows.push((words::out_of_flat(flatness, units), joint, false));
            }
        }
        if !matches!(own.seal, Seal::Ring { .. }) {
            let sealed = Joint {
                seal: USUAL_RING,
                ..metal(own.flatness.max(0.05e-3))
            };
            rows.push((words::with_ring(&sealed, units), sealed, false));
        }
        for pinhole in [0.3e-3, 0.5e-3] {
            let joint = Joint {
                pinhole,
                ..metal(0.0)
            };
            rows.push((words::pinhole(pinhole, units), joint, false));
        }
        let picks: Vec<_> = self
            .picks()
            .into_iter()
            .filter(|(name, ..)| name.starts_with("cold") || name.starts_with("working"))
            .collect();
        let row = |(what, joint, own): (String, Joint, bool)| {
            let supply = self.supply().with_joint(joint);
            let air = picks
                .iter()
                .map(|(_, temperature, speed)| {
                    let air = supply.air(*temperature, *speed, self.push)?;
                    Ok(AirFact {
                        leak: air.leak,
                        bubbles: air.bubbles,
                        released: air.released,
                    })
                })
                .collect::<Result<_, OilFault>>()?;
            Ok(LeakFact { what, own, air })
        };
        Ok(JointFacts {
            seal: words::seal(&own.seal, units),
            follows: own.seal.follows(),
            states: picks.iter().map(|(name, ..)| name.clone()).collect(),
            leaks: rows.into_iter().map(row).collect::<Result<_, OilFault>>()?,
        })
    }
}
