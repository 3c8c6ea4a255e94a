//! What is wrong with a log, drawn by the dice: each fault with the words by which the reader must show that it was found.

use glam::{DMat3, DVec3};

use crate::dice::Dice;

/// How slow channels stand among fast rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rates {
    One,
    /// Cells left empty between their samples.
    Sparse(usize),
    /// The last value repeated.
    Held(usize),
    /// A table of their own under the fast one.
    Tables(usize),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stamps {
    Good,
    /// Some rows have none.
    Missing,
    /// Some rows stand twice.
    Twice,
    /// Told to a tenth of a second only.
    Coarse,
    /// Neighbours exchanged.
    Swapped,
    /// Single ones out of line.
    Single,
    /// Starts anew each quarter minute or so.
    Anew,
    /// Set ahead by an hour on the way.
    Leap,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    None,
    Metres,
    Globe,
    /// Latitude and longitude with stretches of zeros.
    GlobeWithHoles,
    /// Ten-millionths of a degree, unit not given.
    GlobeWhole,
}

/// Units that the file uses, and whether it says so.
#[derive(Clone, Copy, Debug)]
pub struct Units {
    pub speed: (&'static str, f64),
    pub acceleration: (&'static str, f64),
    pub rate: (&'static str, f64),
    pub pressure: (&'static str, f64),
    /// Name, size of a kelvin, and reading at 0 K.
    pub temperature: (&'static str, f64, f64),
    pub told: bool,
}

/// How the text is written.
#[derive(Clone, Copy, Debug)]
pub struct Writing {
    pub delimiter: char,
    pub comma: bool,
    pub encoding: Encoding,
    pub preamble: bool,
    pub units_row: bool,
    pub header_again: bool,
    pub quoted: bool,
    pub end: &'static str,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Encoding {
    Utf8,
    Utf8Mark,
    Latin,
    WideLow,
    WideHigh,
    WideLowBare,
    WideHighBare,
}

/// All that is wrong with one log.
#[derive(Clone, Debug)]
pub struct Faults {
    pub rate: f64,
    pub seconds: f64,
    pub rates: Rates,
    pub stamps: Stamps,
    pub place: Place,
    pub has_speed: bool,
    pub has_rates: bool,
    pub units: Units,
    pub writing: Writing,
    /// Factors on longitudinal and lateral.
    pub signs: [f64; 2],
    /// Box from car.
    pub turned: Option<DMat3>,
    /// Added to longitudinal and lateral [g], all along.
    pub zero: Option<[f64; 2]>,
    /// Grows over the log up to this on one level axis [g].
    pub zero_drift: Option<(usize, f64)>,
    /// The scale of one level axis falls to this over the log.
    pub scale_drift: Option<(usize, f64)>,
    /// Size [g] and frequency [Hz].
    pub vibration: Option<(f64, f64)>,
    /// Zero of the yaw rate [rad/s].
    pub gyro_zero: Option<f64>,
}

const G: f64 = 9.80665;

impl Faults {
    pub fn draw(dice: &mut Dice) -> Faults {
        let rate = dice.of(&[
            1.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 100.0, 200.0, 500.0, 1000.0,
        ]);
        let seconds = if rate > 400.0 {
            20_000.0_f64.max(45.0 * rate) / rate
        } else {
            200.0
        };
        let place = dice.of(&[
            Place::None,
            Place::Metres,
            Place::Globe,
            Place::GlobeWithHoles,
            Place::GlobeWhole,
        ]);
        let located = place != Place::None;
        let comma = dice.chance(0.3);
        let told = dice.chance(0.65);
        let units = Units {
            speed: dice.of(&[("km/h", 3.6), ("mph", 1.0 / 0.44704), ("m/s", 1.0)]),
            acceleration: dice.of(&[("g", 1.0 / G), ("m/s2", 1.0)]),
            rate: dice.of(&[("deg/s", 180.0 / std::f64::consts::PI), ("rad/s", 1.0)]),
            pressure: dice.of(&[("bar", 1e-5), ("psi", 1.0 / 6894.757), ("kPa", 1e-3)]),
            temperature: dice.of(&[("C", 1.0, -273.15), ("F", 1.8, -459.67)]),
            told,
        };
        let writing = Writing {
            delimiter: if comma {
                dice.of(&[';', '\t'])
            } else {
                dice.of(&[',', ';', '\t'])
            },
            comma,
            encoding: dice.of(&[
                Encoding::Utf8,
                Encoding::Utf8Mark,
                Encoding::Latin,
                Encoding::WideLow,
                Encoding::WideHigh,
                Encoding::WideLowBare,
                Encoding::WideHighBare,
            ]),
            preamble: dice.chance(0.5),
            units_row: dice.chance(0.5),
            header_again: dice.chance(0.2),
            quoted: dice.chance(0.15),
            end: dice.of(&["\n", "\r\n"]),
        };
        let every = dice.of(&[4, 5, 10]);
        let dense = rate >= 20.0;
        let rates = match dice.below(4) {
            0 if dense => Rates::Sparse(every),
            1 if dense => Rates::Held(every),
            2 if dense => Rates::Tables(every),
            _ => Rates::One,
        };
        let stamps = match dice.below(9) {
            0 => Stamps::Missing,
            1 => Stamps::Twice,
            2 if dense && rates == Rates::One => Stamps::Coarse,
            3 => Stamps::Swapped,
            4 => Stamps::Single,
            5 if rate >= 5.0 && !matches!(rates, Rates::Tables(_)) => Stamps::Anew,
            6 if located && rate >= 5.0 && matches!(rates, Rates::One) => Stamps::Leap,
            _ => Stamps::Good,
        };
        let has_rates = !located || dice.chance(0.7);
        let has_speed = dice.chance(0.8) || place == Place::None || rate < 5.0;
        let mut faults = Faults {
            rate,
            seconds,
            rates,
            stamps,
            place,
            has_speed,
            has_rates,
            units,
            writing,
            signs: [1.0, 1.0],
            turned: None,
            zero: None,
            zero_drift: None,
            scale_drift: None,
            vibration: None,
            gyro_zero: None,
        };
        // At one sample a second corners come out short, and such faults do not stand out of that.
        if rate < 5.0 {
            faults.signs = [dice.of(&[1.0, -1.0]), dice.of(&[1.0, -1.0])];
            return faults;
        }
        match dice.below(6) {
            0 | 1 => faults.signs = [dice.of(&[1.0, -1.0]), -1.0],
            2 | 3 => {
                // About any axis; not so little that it passes for a camber.
                let axis = DVec3::new(dice.bell(), dice.bell(), dice.bell()).normalize();
                let angle = dice.between(6.0, 180.0).to_radians() * dice.of(&[1.0, -1.0]);
                faults.turned = Some(DMat3::from_axis_angle(axis, angle));
            }
            4 => faults.zero = Some([dice.between(0.05, 0.12), -dice.between(0.05, 0.12)]),
            _ => {}
        }
        if seconds > 100.0 && faults.turned.is_none() && faults.zero.is_none() {
            match dice.below(4) {
                0 => faults.zero_drift = Some((dice.below(2), dice.between(0.16, 0.3))),
                1 => faults.scale_drift = Some((dice.below(2), dice.between(0.7, 0.85))),
                _ => {}
            }
        }
        if rate >= 100.0 && dice.chance(0.4) {
            faults.vibration = Some((dice.between(0.3, 0.8), dice.between(0.17, 0.45) * rate.min(400.0)));
        }
        if has_rates && faults.turned.is_none() && dice.chance(0.2) {
            faults.gyro_zero = Some(dice.between(0.02, 0.05));
        }
        faults
    }

    /// Each planted fault, with words of which one must be said.
    pub fn planted(&self) -> Vec<(&'static str, Vec<String>)> {
        let mut list: Vec<(&'static str, Vec<String>)> = Vec::new();
        let mut plant =
            |name, words: &[&str]| list.push((name, words.iter().map(|w| (*w).to_owned()).collect()));
        match self.rates {
            Rates::One => {}
            Rates::Sparse(_) => plant("sparse columns", &["th row or so: it was measured"]),
            Rates::Held(_) => plant("held values", &["repeats each value over about"]),
            Rates::Tables(_) => plant("several tables", &["The file holds 2 tables"]),
        }
        match self.stamps {
            Stamps::Good => {}
            Stamps::Missing => plant("missing stamps", &["row(s) have no stamp"]),
            Stamps::Twice => plant("rows twice", &["repeat the row before, stamp and all"]),
            Stamps::Coarse => plant("coarse stamps", &["Stamps are told to 0.1"]),
            Stamps::Swapped => plant("rows exchanged", &["stand out of order"]),
            Stamps::Single => plant("single false stamps", &["single stamp(s) stand out of line"]),
            Stamps::Anew => plant("clock starts anew", &["The clock starts anew"]),
            Stamps::Leap => plant("clock leaps", &["The clock leaps ahead"]),
        }
        match self.place {
            Place::None | Place::Metres => {}
            Place::Globe => plant("latitude and longitude", &["Place from latitude and longitude"]),
            Place::GlobeWithHoles => plant("no fix", &["both zero on"]),
            Place::GlobeWhole => plant("whole degrees", &["ten-millionths of a degree"]),
        }
        if !self.has_speed {
            plant("no speed", &["it is taken from the place"]);
        }
        if !self.units.told {
            let read = |unit: &str| [format!("read in {unit}, as it is not given")];
            let mut open = |name, unit: &str| plant(name, &read(unit).each_ref().map(String::as_str));
            open("open unit of acceleration", self.units.acceleration.0);
            if self.has_speed {
                open("open unit of speed", self.units.speed.0);
            }
            if self.has_rates {
                open("open unit of turning", self.units.rate.0);
            }
            open("open unit of pressure", self.units.pressure.0);
            open("open unit of temperature", self.units.temperature.0);
        }
        if self.writing.header_again {
            plant("header again", &["The header is repeated"]);
        }
        for (k, name) in ["longitudinal", "lateral"].into_iter().enumerate() {
            if self.signs[k] < 0.0 {
                let words = format!("The sign of {name} acceleration: its correlation");
                plant(
                    if k == 0 {
                        "longitudinal reversed"
                    } else {
                        "lateral reversed"
                    },
                    &[&words],
                );
            }
        }
        if self.turned.is_some() {
            plant("box turned", &["The sensor box sits turned"]);
        }
        if self.zero.is_some() {
            plant(
                "zero of longitudinal",
                &[
                    "The zero of longitudinal acceleration is off",
                    "The sensor box sits turned",
                ],
            );
            plant(
                "zero of lateral",
                &[
                    "The zero of lateral acceleration is off",
                    "The sensor box sits turned",
                ],
            );
        }
        let axis = |k: usize| ["longitudinal", "lateral"][k];
        if let Some((k, _)) = self.zero_drift {
            plant(
                "zero drifts",
                &[&format!("The zero of {} acceleration drifts", axis(k))],
            );
        }
        if let Some((k, _)) = self.scale_drift {
            plant(
                "scale drifts",
                &[&format!("The scale of {} acceleration drifts", axis(k))],
            );
        }
        if self.vibration.is_some() {
            plant("vibration", &["Vibration: above"]);
        }
        if self.gyro_zero.is_some() {
            plant("zero of the yaw rate", &["deg/s while the car stands"]);
        }
        list
    }
}
