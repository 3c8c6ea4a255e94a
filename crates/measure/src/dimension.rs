//! What a number may be a quantity of.

use std::fmt;

use serde::{Deserialize, Serialize};

/// What is due where a quantity is read. The SI unit in which the house keeps it stands behind each name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Dimension {
    /// [m]
    Length,
    /// [m²]
    Area,
    /// [m³]
    Volume,
    /// [kg]
    Mass,
    /// [s]
    Time,
    /// [rad]
    Angle,
    /// [m/s]
    Speed,
    /// [m/s²]
    Acceleration,
    /// [Pa]
    Pressure,
    /// [m³/s]
    Flow,
    /// [K]
    Temperature,
    /// [m²/s]
    KinematicViscosity,
    /// [kg/m³]
    Density,
    /// [N·m]
    Torque,
    /// [rev/s]
    EngineSpeed,
    /// [m³/rev]
    Displacement,
    /// A part of a whole or a factor, 1 = all [-].
    Share,
    /// [Hz]
    Frequency,
    /// [N]
    Force,
    /// Of a solid: strength, modulus, pressure between faces [Pa].
    Stress,
}

impl Dimension {
    /// Every dimension, in the order of the list above.
    pub const ALL: [Dimension; 20] = [
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Mass,
        Dimension::Time,
        Dimension::Angle,
        Dimension::Speed,
        Dimension::Acceleration,
        Dimension::Pressure,
        Dimension::Flow,
        Dimension::Temperature,
        Dimension::KinematicViscosity,
        Dimension::Density,
        Dimension::Torque,
        Dimension::EngineSpeed,
        Dimension::Displacement,
        Dimension::Share,
        Dimension::Frequency,
        Dimension::Force,
        Dimension::Stress,
    ];

    /// With its article, as a sentence needs it: "a length".
    pub fn with_article(self) -> &'static str {
        match self {
            Dimension::Length => "a length",
            Dimension::Area => "an area",
            Dimension::Volume => "a volume",
            Dimension::Mass => "a mass",
            Dimension::Time => "a time",
            Dimension::Angle => "an angle",
            Dimension::Speed => "a speed",
            Dimension::Acceleration => "an acceleration",
            Dimension::Pressure => "a pressure",
            Dimension::Flow => "a flow",
            Dimension::Temperature => "a temperature",
            Dimension::KinematicViscosity => "a kinematic viscosity",
            Dimension::Density => "a density",
            Dimension::Torque => "a torque",
            Dimension::EngineSpeed => "an engine speed",
            Dimension::Displacement => "a volume per revolution",
            Dimension::Share => "a share",
            Dimension::Frequency => "a frequency",
            Dimension::Force => "a force",
            Dimension::Stress => "a stress",
        }
    }

    /// Two ways to write one, metric and inch, ready for a message.
    pub fn examples(self) -> (&'static str, &'static str) {
        match self {
            Dimension::Length => ("35 mm", "1-3/8 in"),
            Dimension::Area => ("12 cm2", "1.9 in2"),
            Dimension::Volume => ("5.2 L", "5.5 qt"),
            Dimension::Mass => ("40 g", "1.4 oz"),
            Dimension::Time => ("0.8 s", "250 ms"),
            Dimension::Angle => ("60 deg", "1.05 rad"),
            Dimension::Speed => ("140 km/h", "87 mph"),
            Dimension::Acceleration => ("0.9 g", "8.8 m/s2"),
            Dimension::Pressure => ("4.5 bar", "65 psi"),
            Dimension::Flow => ("24 L/min", "6.3 gpm"),
            Dimension::Temperature => ("110 C", "230 F"),
            Dimension::KinematicViscosity => ("23 mm2/s", "23 cSt"),
            Dimension::Density => ("850 kg/m3", "53 lb/ft3"),
            Dimension::Torque => ("10 N.m", "92 lbf.in"),
            Dimension::EngineSpeed => ("6500 rpm", "108 rev/s"),
            Dimension::Displacement => ("14 cc/rev", "0.85 in3/rev"),
            Dimension::Share => ("0.3", "30 %"),
            Dimension::Frequency => ("5 Hz", "5 1/s"),
            Dimension::Force => ("8 kN", "1800 lbf"),
            Dimension::Stress => ("310 MPa", "45 ksi"),
        }
    }

    /// True where a bare number will do.
    pub fn takes_bare_numbers(self) -> bool {
        self == Dimension::Share
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(self.with_article().split_once(' ').map_or("", |(_, name)| name))
    }
}
