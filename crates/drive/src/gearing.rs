//! Engine speed from road speed, where no log tells it.

use serde::{Deserialize, Serialize};

/// How engine speed follows road speed. Engine speeds are in rev/s, road speeds in m/s.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Gearing {
    /// One engine speed throughout [rev/s].
    Constant(f64),
    /// One ratio throughout, as in one gear.
    Ratio {
        /// Engine turns for each metre of road [rev/m].
        turns_per_metre: f64,
        /// Least engine speed [rev/s].
        idle: f64,
    },
    /// A gearbox, always in the lowest gear that keeps the engine at or under the shift speed.
    Gears {
        /// Ratios from first gear to top, falling (engine turns to output turns).
        ratios: Vec<f64>,
        /// Final drive ratio.
        final_drive: f64,
        /// Rolling radius of the driven tyre [m].
        tyre_radius: f64,
        /// Engine speed at which the driver takes the next gear [rev/s].
        shift_speed: f64,
        /// Least engine speed [rev/s].
        idle: f64,
    },
}

/// What can be wrong with a gearing.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum GearingFault {
    /// A number is not finite, or not above zero where it must be.
    #[error("{what} is {value}; it must be a number above zero")]
    NotPositive {
        /// Which number.
        what: &'static str,
        /// Its value, SI.
        value: f64,
    },
    /// No gears.
    #[error("the gearbox has no ratios; give at least one")]
    NoGears,
    /// Ratios do not fall from first to top.
    #[error(
        "gear {gear} has ratio {ratio}, not below the gear before it; list them from first to top, falling"
    )]
    NotFalling {
        /// Gear number, from 1.
        gear: usize,
        /// Its ratio.
        ratio: f64,
    },
    /// Shift speed is not above idle.
    #[error("the shift speed, {:.0} rpm, is not above idle, {:.0} rpm", shift * 60.0, idle * 60.0)]
    ShiftUnderIdle {
        /// Shift speed [rev/s].
        shift: f64,
        /// Idle [rev/s].
        idle: f64,
    },
}

impl Gearing {
    /// Checks the numbers; every other call takes them as checked.
    pub fn check(&self) -> Result<(), GearingFault> {
        let positive = |what, value: f64| {
            if value.is_finite() && value > 0.0 {
                Ok(())
            } else {
                Err(GearingFault::NotPositive { what, value })
            }
        };
        match self {
            // A standing engine is allowed: a tilt bench turns none.
            Gearing::Constant(v) if *v == 0.0 => Ok(()),
            Gearing::Constant(v) => positive("the engine speed", *v),
            Gearing::Ratio {
                turns_per_metre,
                idle,
            } => {
                positive("the engine turns for each metre", *turns_per_metre)?;
                positive("the idle speed", *idle)
            }
            Gearing::Gears {
                ratios,
                final_drive,
                tyre_radius,
                shift_speed,
                idle,
            } => {
                if ratios.is_empty() {
                    return Err(GearingFault::NoGears);
                }
                for (i, &r) in ratios.iter().enumerate() {
                    positive("a gear ratio", r)?;
                    if i > 0 && r >= ratios[i - 1] {
                        return Err(GearingFault::NotFalling {
                            gear: i + 1,
                            ratio: r,
                        });
                    }
                }
                positive("the final drive ratio", *final_drive)?;
                positive("the tyre radius", *tyre_radius)?;
                positive("the shift speed", *shift_speed)?;
                positive("the idle speed", *idle)?;
                if shift_speed <= idle {
                    return Err(GearingFault::ShiftUnderIdle {
                        shift: *shift_speed,
                        idle: *idle,
                    });
                }
                Ok(())
            }
        }
    }

    /// Engine speed [rev/s] at a road speed [m/s]: `v / (2 π r) * gear * final drive`, never under idle.
    ///
    /// In top gear it may pass the shift speed. Shifts take no time and the clutch never slips above idle.
    pub fn engine_speed(&self, road_speed: f64) -> f64 {
        match self {
            Gearing::Constant(v) => *v,
            Gearing::Ratio {
                turns_per_metre,
                idle,
            } => (road_speed * turns_per_metre).max(*idle),
            Gearing::Gears {
                ratios,
                final_drive,
                tyre_radius,
                shift_speed,
                idle,
            } => {
                let wheel = road_speed * final_drive / (std::f64::consts::TAU * tyre_radius);
                let gear = ratios
                    .iter()
                    .find(|&&r| r * wheel <= *shift_speed)
                    .or(ratios.last());
                (wheel * gear.copied().unwrap_or(0.0)).max(*idle)
            }
        }
    }

    /// One sentence for the report.
    pub fn say(&self) -> String {
        match self {
            Gearing::Constant(v) => format!("Engine speed is taken as {:.0} rpm throughout.", v * 60.0),
            Gearing::Ratio {
                turns_per_metre,
                idle,
            } => format!(
                "Engine speed follows road speed at {:.1} rpm for each km/h, never under {:.0} rpm.",
                turns_per_metre * 60.0 / 3.6,
                idle * 60.0
            ),
            Gearing::Gears {
                ratios,
                shift_speed,
                idle,
                ..
            } => format!(
                "Engine speed follows road speed through {} gears, each taken up to {:.0} rpm, never under {:.0} rpm.",
                ratios.len(),
                shift_speed * 60.0,
                idle * 60.0
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gearbox() -> Gearing {
        Gearing::Gears {
            ratios: vec![3.0, 2.0, 1.5, 1.0],
            final_drive: 4.0,
            tyre_radius: 0.3,
            shift_speed: 110.0,
            idle: 15.0,
        }
    }

    /// By hand: 30 m/s on a 0.3 m tyre is 15.915 wheel rev/s; times 4.0 is 63.66 rev/s at ratio 1; the lowest gear
    /// under 110 rev/s is third (95.49); second would be 127.3.
    #[test]
    fn the_lowest_gear_under_the_shift_speed_is_taken() {
        let g = gearbox();
        g.check().unwrap();
        let at = |v| g.engine_speed(v);
        assert!((at(30.0) - 95.4930).abs() < 1e-3, "got {}", at(30.0));
        assert_eq!(at(0.0), 15.0);
        assert!(at(80.0) > 110.0, "top gear may pass the shift speed");
    }

    #[test]
    fn wrong_gearings_are_refused() {
        let bad = Gearing::Ratio {
            turns_per_metre: f64::NAN,
            idle: 15.0,
        };
        assert!(matches!(bad.check(), Err(GearingFault::NotPositive { .. })));
        let Gearing::Gears {
            final_drive,
            tyre_radius,
            shift_speed,
            idle,
            ..
        } = gearbox()
        else {
            unreachable!()
        };
        let g = Gearing::Gears {
            ratios: vec![1.0, 2.0],
            final_drive,
            tyre_radius,
            shift_speed,
            idle,
        };
        assert_eq!(g.check(), Err(GearingFault::NotFalling { gear: 2, ratio: 2.0 }));
        assert!(Gearing::Constant(-1.0).check().is_err());
        assert!(Gearing::Constant(0.0).check().is_ok());
    }
}
