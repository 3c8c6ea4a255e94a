//! Column names: words, a unit at the end, and which channel they mean.
//!
//! Only ordinary words are known here, none of any maker's: lateral, yaw rate, engine speed and so on.

use super::units::{Kind, factor};
use serde::{Deserialize, Serialize};

/// What a column of a log holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Channel {
    /// Time.
    Time,
    /// Acceleration forward.
    Longitudinal,
    /// Acceleration to the left.
    Lateral,
    /// Acceleration upward.
    Vertical,
    /// Roll rate, right side going down above zero.
    RollRate,
    /// Pitch rate, nose going down above zero.
    PitchRate,
    /// Yaw rate, turning left above zero.
    YawRate,
    /// Road speed.
    Speed,
    /// Engine speed.
    EngineSpeed,
    /// Distance.
    Distance,
    /// Lap number.
    Lap,
    /// Place, east or any first direction in plan.
    X,
    /// Place, north or 90 degrees to the left of `X`.
    Y,
    /// Latitude, north above zero.
    Latitude,
    /// Longitude, east above zero.
    Longitude,
    /// Oil pressure.
    OilPressure,
    /// Oil temperature.
    OilTemperature,
}

impl Channel {
    /// All channels, in the order in which they are looked for.
    pub const ALL: [Channel; 17] = [
        Channel::Time,
        Channel::Longitudinal,
        Channel::Lateral,
        Channel::Vertical,
        Channel::RollRate,
        Channel::PitchRate,
        Channel::YawRate,
        Channel::Speed,
        Channel::EngineSpeed,
        Channel::Distance,
        Channel::Lap,
        Channel::X,
        Channel::Y,
        Channel::Latitude,
        Channel::Longitude,
        Channel::OilPressure,
        Channel::OilTemperature,
    ];

    /// Words for a message.
    pub fn words(self) -> &'static str {
        match self {
            Channel::Time => "time",
            Channel::Longitudinal => "longitudinal acceleration",
            Channel::Lateral => "lateral acceleration",
            Channel::Vertical => "vertical acceleration",
            Channel::RollRate => "roll rate",
            Channel::PitchRate => "pitch rate",
            Channel::YawRate => "yaw rate",
            Channel::Speed => "speed",
            Channel::EngineSpeed => "engine speed",
            Channel::Distance => "distance",
            Channel::Lap => "lap number",
            Channel::X => "place x",
            Channel::Y => "place y",
            Channel::Latitude => "latitude",
            Channel::Longitude => "longitude",
            Channel::OilPressure => "oil pressure",
            Channel::OilTemperature => "oil temperature",
        }
    }

    /// Key under which a user names it: the words joined by underscores.
    pub fn key(self) -> String {
        match self {
            Channel::Longitudinal => "longitudinal".into(),
            Channel::Lateral => "lateral".into(),
            Channel::Vertical => "vertical".into(),
            Channel::Lap => "lap".into(),
            Channel::X => "x".into(),
            Channel::Y => "y".into(),
            other => other.words().replace(' ', "_"),
        }
    }

    /// The channel of a key.
    pub fn from_key(key: &str) -> Option<Channel> {
        Channel::ALL.into_iter().find(|c| c.key() == key)
    }

    /// What its unit is a unit of.
    pub fn kind(self) -> Kind {
        match self {
            Channel::Time => Kind::Time,
            Channel::Longitudinal | Channel::Lateral | Channel::Vertical => Kind::Acceleration,
            Channel::RollRate | Channel::PitchRate | Channel::YawRate => Kind::Rate,
            Channel::Speed => Kind::Speed,
            Channel::EngineSpeed => Kind::EngineSpeed,
            Channel::Distance | Channel::X | Channel::Y => Kind::Length,
            Channel::Lap => Kind::Count,
            Channel::Latitude | Channel::Longitude => Kind::Angle,
            Channel::OilPressure => Kind::Pressure,
            Channel::OilTemperature => Kind::Temperature,
        }
    }
}

/// Most words of a unit: `deg_per_s`, `m_per_s_2`.
const LONGEST_UNIT: usize = 5;

/// Splits a column name, with its cell of a units row, into lower-case words and the unit.
///
/// The unit is the cell of the units row, else text in brackets, else the longest tail of words that is a unit
/// (`accel_x_g`, `speed_m_per_s`).
pub fn split_unit(name: &str, units_row: &str) -> (Vec<String>, Option<String>) {
    let bare = |s: &str| s.trim().trim_matches(['[', ']', '(', ')']).trim().to_owned();
    let mut unit = Some(bare(units_row)).filter(|u| !u.is_empty());
    let mut rest = name.trim().to_owned();
    if let Some(open) = rest.find(['[', '(']) {
        let inside = bare(&rest[open..]);
        let known = super::units::is_unit(&inside);
        rest.truncate(open);
        if known || unit.is_none() {
            unit = unit.or(Some(inside).filter(|u| !u.is_empty()));
        }
    }
    let mut words = words(&rest);
    if unit.is_none() {
        // Units have few words; a name of hundreds is none.
        let tail = (words.len().saturating_sub(LONGEST_UNIT).max(1)..words.len()).find(|&i| {
            let text = words[i..].join("_");
            Kind::ALL.iter().any(|&k| factor(&text, k).is_some())
        });
        if let Some(i) = tail {
            unit = Some(words.split_off(i).join("_"));
        }
    }
    // `ax_g` over a units row that says g again.
    if let Some(u) = &unit
        && words.len() > 1
        && let Some(i) = (words.len().saturating_sub(LONGEST_UNIT).max(1)..words.len())
            .find(|&i| super::units::alike(&words[i..].join("_"), u))
    {
        words.truncate(i);
    }
    (words, unit)
}

/// Lower-case words: cut at signs, at a change from small to capital letter, and before digits.
fn words(name: &str) -> Vec<String> {
    let (mut out, mut word, mut before) = (Vec::new(), String::new(), ' ');
    for c in name.chars() {
        let cut = !c.is_alphanumeric() || (c.is_uppercase() && before.is_lowercase());
        if cut && !word.is_empty() {
            out.push(std::mem::take(&mut word));
        }
        if c.is_alphanumeric() {
            word.extend(c.to_lowercase());
        }
        before = c;
    }
    if !word.is_empty() {
        out.push(word);
    }
    out
}

/// How well a column suits a channel, 0 for not at all.
pub fn suits(channel: Channel, words: &[String], unit: Option<&str>) -> u32 {
    let has = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let only = |list: &[&str]| words.len() == 1 && list.contains(&words[0].as_str());
    let of = |kind| unit.is_some_and(|u| factor(u, kind).is_some());
    // A unit of another kind rules a column out ("lat" in degrees is a latitude).
    if unit.is_some()
        && !of(channel.kind())
        && has(&[
            "lat", "long", "lon", "yaw", "roll", "pitch", "x", "y", "z", "v", "t",
        ])
    {
        return 0;
    }
    let accel = has(&[
        "accel",
        "acc",
        "acceleration",
        "g",
        "force",
        "acc1",
        "accelerometer",
    ]) || of(Kind::Acceleration);
    let rate = has(&["rate", "gyro", "gyroscope", "velocity", "speed"]) || of(Kind::Rate);
    let unlike = has(&[
        "gyro",
        "gyroscope",
        "rate",
        "angle",
        "wheel",
        "wind",
        "target",
        "latitude",
        "longitude",
        "gps",
    ]);
    let axis = |letter: &str, joined: &[&str]| {
        if (accel && has(&[letter]) || only(joined)) && !has(&["gyro", "gyroscope", "rate"]) {
            6
        } else {
            0
        }
    };
    let turning = |words_for: &[&str], letter: &str, joined: &[&str]| {
        let named = has(words_for) && (rate || of(Kind::Rate)) || only(joined);
        let lettered = has(&[letter]) && (has(&["gyro", "gyroscope", "rotation"]) || of(Kind::Rate));
        if has(&["angle", "acceleration", "accel"]) {
            0
        } else {
            10 * u32::from(named) + 6 * u32::from(lettered && !named)
        }
    };
    let by_word = |list: &[&str], joined: &[&str]| {
        if (has(list) && accel && !unlike) || only(joined) {
            10
        } else {
            0
        }
    };
    match channel {
        Channel::Time => {
            let other = has(&["lap", "best", "delta", "day", "sector", "split", "zone", "gap"]);
            if other {
                0
            } else {
                10 * u32::from(only(&["time", "timestamp", "timestamps", "elapsed"]))
                    + 8 * u32::from(only(&["t", "sec", "seconds", "s"]))
                    + 6 * u32::from(words.len() > 1 && has(&["time", "timestamp", "timestamps", "elapsed"]))
            }
        }
        Channel::Longitudinal => by_word(
            &[
                "longitudinal",
                "long",
                "lon",
                "inline",
                "forward",
                "fore",
                "longacc",
                "longg",
            ],
            &[
                "longg",
                "glong",
                "longacc",
                "acclong",
                "longaccel",
                "longitudinal",
            ],
        )
        .max(axis("x", &["ax", "accx", "accelx", "xaccel"])),
        Channel::Lateral => by_word(
            &["lateral", "lat", "sideways", "transverse", "across", "latacc"],
            &["latg", "glat", "latacc", "acclat", "lataccel", "lateral"],
        )
        .max(axis("y", &["ay", "accy", "accely", "yaccel"])),
        Channel::Vertical => by_word(
            &["vertical", "vert"],
            &["vertg", "gvert", "vertacc", "accvert", "vertaccel", "vertical"],
        )
        .max(axis("z", &["az", "accz", "accelz", "zaccel"])),
        Channel::RollRate => turning(&["roll"], "x", &["rollrate"]),
        Channel::PitchRate => turning(&["pitch"], "y", &["pitchrate"]),
        Channel::YawRate => turning(&["yaw"], "z", &["yawrate"]),
        Channel::Speed => {
            let other = has(&[
                "engine", "wheel", "wind", "fan", "pump", "limit", "yaw", "roll", "pitch", "vertical",
                "angular", "turbo", "shaft", "fl", "fr", "rl", "rr",
            ]);
            let named = has(&["speed", "velocity", "vel"]) || only(&["v", "vx", "kph", "mph", "kmh"]);
            if other || !named || (unit.is_some() && !of(Kind::Speed)) {
                0
            } else {
                8 + 2 * u32::from(words.len() == 1) + u32::from(has(&["vehicle", "ground", "road"]))
            }
        }
        Channel::EngineSpeed => {
            let named = has(&["rpm", "revs", "enginespeed", "nengine"])
                || (has(&["engine"]) && (has(&["speed"]) || of(Kind::EngineSpeed)));
            let other = has(&[
                "limit", "target", "wheel", "turbo", "shaft", "pump", "fan", "max", "gear",
            ]);
            if named && !other {
                8 + 2 * u32::from(has(&["engine"]) || only(&["rpm"]))
            } else {
                0
            }
        }
        Channel::Distance => {
            let other = has(&["lap", "to", "remaining"]);
            if has(&["distance", "dist", "odometer"]) {
                10 - 4 * u32::from(other)
            } else {
                0
            }
        }
        Channel::Lap => {
            let other = has(&["time", "distance", "dist", "best", "delta", "fraction", "speed"]);
            if has(&["lap", "lapnumber", "lapno"]) && !other {
                10
            } else {
                0
            }
        }
        Channel::Latitude => globe(words, unit, &["latitude"], "lat"),
        Channel::Longitude => globe(words, unit, &["longitude"], "lon").max(globe(words, unit, &[], "long")),
        Channel::OilPressure => oil(
            words,
            &["pressure", "press", "p"],
            &["oilpressure", "oilpress", "poil"],
            unit,
            Kind::Pressure,
        ),
        Channel::OilTemperature => oil(
            words,
            &["temperature", "temp", "t"],
            &["oiltemperature", "oiltemp", "toil"],
            unit,
            Kind::Temperature,
        ),
        Channel::X => place(
            words,
            unit,
            "x",
            &["east", "easting"],
            accel || unlike_place(words),
        ),
        Channel::Y => place(
            words,
            unit,
            "y",
            &["north", "northing"],
            accel || unlike_place(words),
        ),
    }
}

/// Latitude or longitude: the full word, or the short one with a receiver beside it or with degrees for its unit.
fn globe(words: &[String], unit: Option<&str>, full: &[&str], short: &str) -> u32 {
    let has = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let degrees = unit.is_some_and(|u| factor(u, Kind::Angle).is_some());
    let other = unit.is_some() && !degrees;
    let unlike = has(&[
        "acc",
        "accel",
        "acceleration",
        "g",
        "force",
        "accuracy",
        "error",
        "rate",
        "speed",
    ]);
    if other || unlike {
        0
    } else {
        10 * u32::from(has(full))
            + 8 * u32::from(has(&[short]) && (degrees || has(&["gps", "gnss", "pos", "position"])))
    }
}

/// Pressure or temperature of the engine oil, not of a gearbox or an axle.
fn oil(words: &[String], what: &[&str], joined: &[&str], unit: Option<&str>, kind: Kind) -> u32 {
    let has = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let unlike = has(&[
        "gearbox",
        "transmission",
        "trans",
        "diff",
        "axle",
        "brake",
        "power",
        "steering",
        "limit",
        "alarm",
    ]);
    let of = unit.is_some_and(|u| factor(u, kind).is_some());
    if unlike || (unit.is_some() && !of) {
        return 0;
    }
    let named = has(&["oil", "eop", "eot"]) && (has(what) || of);
    8 * u32::from(named) + 10 * u32::from(words.len() == 1 && has(joined))
}

fn unlike_place(words: &[String]) -> bool {
    words.iter().any(|w| {
        [
            "gyro",
            "gyroscope",
            "rate",
            "rotation",
            "angle",
            "mag",
            "magnetic",
            "vel",
            "velocity",
            "speed",
        ]
        .contains(&w.as_str())
    })
}

fn place(words: &[String], unit: Option<&str>, letter: &str, compass: &[&str], other: bool) -> u32 {
    let length = unit.is_none_or(|u| factor(u, Kind::Length).is_some());
    let has = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let bare = words.len() == 1 && words[0] == letter;
    let named = has(&[letter]) && has(&["pos", "position", "place", "local", "gps", "coordinate"]);
    if other || !length {
        0
    } else {
        10 * u32::from(bare || named || has(compass))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The channel a column is taken for, with its unit.
    fn taken(name: &str, units_row: &str) -> (Option<Channel>, Option<String>) {
        let (words, unit) = split_unit(name, units_row);
        let best = Channel::ALL
            .into_iter()
            .max_by_key(|&c| suits(c, &words, unit.as_deref()));
        (best.filter(|&c| suits(c, &words, unit.as_deref()) > 0), unit)
    }

    #[test]
    fn ordinary_names_mean_what_they_say() {
        for (name, units_row, channel, unit) in [
            ("time_s", "", Channel::Time, Some("s")),
            ("Time", "[s]", Channel::Time, Some("s")),
            ("Timestamp (ms)", "", Channel::Time, Some("ms")),
            ("timestamps", "s", Channel::Time, Some("s")),
            ("accel_x_g", "", Channel::Longitudinal, Some("g")),
            ("accel_y_g", "", Channel::Lateral, Some("g")),
            ("accel_z_g", "", Channel::Vertical, Some("g")),
            ("Lateral acceleration [m/s²]", "", Channel::Lateral, Some("m/s²")),
            ("Lat G", "", Channel::Lateral, Some("g")),
            ("LatG", "", Channel::Lateral, Some("g")),
            ("G force lat", "", Channel::Lateral, None),
            ("Longitudinal acc", "g", Channel::Longitudinal, Some("g")),
            ("ay", "", Channel::Lateral, None),
            ("gyro_z_deg_per_s", "", Channel::YawRate, Some("deg_per_s")),
            ("Yaw rate (deg/s)", "", Channel::YawRate, Some("deg/s")),
            ("YawRate", "", Channel::YawRate, None),
            ("speed_m_per_s", "", Channel::Speed, Some("m_per_s")),
            ("Vehicle speed (km/h)", "", Channel::Speed, Some("km/h")),
            ("GPS Speed", "mph", Channel::Speed, Some("mph")),
            ("engine_rpm", "", Channel::EngineSpeed, Some("rpm")),
            ("Engine speed", "1/min", Channel::EngineSpeed, Some("1/min")),
            ("RPM", "", Channel::EngineSpeed, None),
            ("Distance [km]", "", Channel::Distance, Some("km")),
            ("Lap number", "", Channel::Lap, None),
            ("pos_x_m", "", Channel::X, Some("m")),
            ("north_m", "", Channel::Y, Some("m")),
            ("x", "m", Channel::X, Some("m")),
            ("Latitude (deg)", "", Channel::Latitude, Some("deg")),
            ("GPS Lon", "deg", Channel::Longitude, Some("deg")),
            ("lat", "deg", Channel::Latitude, Some("deg")),
            ("Oil pressure (psi)", "", Channel::OilPressure, Some("psi")),
            ("oil_temp_C", "", Channel::OilTemperature, Some("c")),
            ("Oil Temp", "°F", Channel::OilTemperature, Some("°F")),
        ] {
            assert_eq!(
                taken(name, units_row),
                (Some(channel), unit.map(String::from)),
                "{name} {units_row}"
            );
        }
    }

    #[test]
    fn names_of_other_things_are_left_alone() {
        for name in [
            "lat",
            "Gearbox oil temp (C)",
            "fuel pressure (bar)",
            "Water temp (C)",
            "Lap time",
            "throttle_pct",
            "roll_deg",
            "pitch_deg",
            "Wheel speed FL (km/h)",
            "yaw (deg)",
        ] {
            let (channel, _) = taken(name, "");
            assert_eq!(channel, None, "{name}");
        }
    }

    #[test]
    fn every_key_leads_back_to_its_channel() {
        for c in Channel::ALL {
            assert_eq!(Channel::from_key(&c.key()), Some(c));
        }
    }
}
