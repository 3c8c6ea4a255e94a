//! The log as a logger with these faults writes it.

use glam::DVec3;
use std::f64::consts::TAU;

use crate::dice::Dice;
use crate::faults::{Encoding, Faults, Place, Rates, Stamps};
use crate::truth::{Row, Truth};

const G: f64 = 9.80665;

/// A column: name, unit, and its cell in a row.
struct Column {
    name: &'static str,
    unit: &'static str,
    slow: bool,
    cells: Vec<String>,
}

/// Bytes of the log.
pub fn write(truth: &Truth, faults: &Faults, dice: &mut Dice) -> Vec<u8> {
    let n = (faults.seconds * faults.rate) as usize;
    let rows: Vec<&Row> = (0..=n).map(|i| truth.at(i as f64 / faults.rate)).collect();
    let columns = columns(&rows, faults, dice);
    let stamps = stamps(&rows, faults, dice);
    let w = &faults.writing;
    let mut text = String::new();
    if w.preamble {
        text += &format!(
            "file{d}evening session{e}driver{d}none{e}vehicle{d}no. 12, blue{e}{e}",
            d = w.delimiter,
            e = w.end
        );
    }
    match faults.rates {
        Rates::Tables(every) => {
            let (fast, slow): (Vec<&Column>, Vec<&Column>) = columns.iter().partition(|c| !c.slow);
            text += &table(&stamps, &fast, 1, faults, dice);
            text += w.end;
            text += &table(&stamps, &slow, every, faults, dice);
        }
        _ => text += &table(&stamps, &columns.iter().collect::<Vec<_>>(), 1, faults, dice),
    }
    encode(&text, w.encoding)
}

fn columns(rows: &[&Row], faults: &Faults, dice: &mut Dice) -> Vec<Column> {
    let units = faults.units;
    let seconds = faults.seconds;
    let mut felt: [Vec<f64>; 3] = Default::default();
    let mut turns: [Vec<f64>; 3] = Default::default();
    for row in rows {
        let t = row.t;
        let mut a = DVec3::from_array(row.a) + DVec3::Z * G;
        for k in 0..2 {
            a[k] *= faults.signs[k];
            a[k] += faults.zero.map_or(0.0, |z| z[k] * G);
        }
        if let Some((k, to)) = faults.scale_drift {
            a[k] *= 1.0 + (to - 1.0) * t / seconds;
        }
        if let Some((k, size)) = faults.zero_drift {
            a[k] += size * G * t / seconds;
        }
        let mut spin = DVec3::new(
            0.01 * dice.bell(),
            0.01 * dice.bell(),
            row.yaw + faults.gyro_zero.unwrap_or(0.0),
        );
        if let Some(box_from_car) = faults.turned {
            a = box_from_car * a;
            spin = box_from_car * spin;
        }
        if let Some((size, hertz)) = faults.vibration {
            let shake = size * G * (TAU * hertz * t).sin();
            a += DVec3::new(0.6, 1.0, 0.8) * shake;
        }
        for k in 0..3 {
            felt[k].push((a[k] + 0.015 * G * dice.bell()) * units.acceleration.1);
            turns[k].push((spin[k] + 0.004 * dice.bell()) * units.rate.1);
        }
    }
    let fixed = |values: &[f64], digits: usize| -> Vec<String> {
        values.iter().map(|v| format!("{v:.digits$}")).collect()
    };
    let of = |f: &dyn Fn(&Row) -> f64, digits: usize| -> Vec<String> {
        rows.iter().map(|r| format!("{:.digits$}", f(r))).collect()
    };
    let unit = |u: &'static str| if units.told { u } else { "" };
    let mut list = Vec::new();
    let mut add = |name, unit, slow, cells| {
        list.push(Column {
            name,
            unit,
            slow,
            cells,
        })
    };
    let fine = if units.acceleration.0 == "g" { 4 } else { 3 };
    for (k, name) in ["accel_x", "accel_y", "accel_z"].into_iter().enumerate() {
        add(name, unit(units.acceleration.0), false, fixed(&felt[k], fine));
    }
    if faults.has_rates {
        let fine = if units.rate.0 == "rad/s" { 5 } else { 3 };
        for (k, name) in ["gyro_x", "gyro_y", "gyro_z"].into_iter().enumerate() {
            add(name, unit(units.rate.0), false, fixed(&turns[k], fine));
        }
    }
    if faults.has_speed {
        add(
            "speed",
            unit(units.speed.0),
            true,
            of(&|r| r.v * units.speed.1, 2),
        );
    }
    add("engine speed", "rpm", true, of(&|r| 60.0 * r.engine, 0));
    add(
        "oil pressure",
        unit(units.pressure.0),
        true,
        of(&|r| r.pressure * units.pressure.1, 3),
    );
    let (name, size, zero) = units.temperature;
    add(
        "oil temperature",
        unit(name),
        true,
        of(&|r| r.temperature * size + zero, 2),
    );
    let degree = 6_371_008.8 * std::f64::consts::PI / 180.0;
    let lat = |r: &Row| 49.5 + r.y / degree;
    let lon = |r: &Row| 8.5 + r.x / (degree * 49.5_f64.to_radians().cos());
    match faults.place {
        Place::None => add("distance", "m", true, of(&|r| r.distance, 2)),
        Place::Metres => {
            add("pos_x", "m", true, of(&|r| r.x, 2));
            add("pos_y", "m", true, of(&|r| r.y, 2));
        }
        Place::Globe | Place::GlobeWithHoles => {
            let lost = |r: &Row| faults.place == Place::GlobeWithHoles && (r.t % 41.0) > 39.5;
            add(
                "latitude",
                "deg",
                true,
                of(&|r| if lost(r) { 0.0 } else { lat(r) }, 8),
            );
            add(
                "longitude",
                "deg",
                true,
                of(&|r| if lost(r) { 0.0 } else { lon(r) }, 8),
            );
        }
        Place::GlobeWhole => {
            add("latitude", "", true, of(&|r| 1e7 * lat(r), 0));
            add("longitude", "", true, of(&|r| 1e7 * lon(r), 0));
        }
    }
    if faults.stamps != Stamps::Anew {
        add("lap", "", false, of(&|r| r.lap as f64, 0));
    }
    let every = match faults.rates {
        Rates::Sparse(every) | Rates::Held(every) => every,
        _ => 1,
    };
    for column in list.iter_mut().filter(|c| c.slow && every > 1) {
        for i in 0..column.cells.len() {
            if i % every != 0 {
                column.cells[i] = match faults.rates {
                    Rates::Held(_) => column.cells[i - 1].clone(),
                    _ => String::new(),
                };
            }
        }
    }
    list
}

/// The stamp of each row as written, empty where missing.
fn stamps(rows: &[&Row], faults: &Faults, dice: &mut Dice) -> Vec<String> {
    let n = rows.len();
    let digits = if faults.stamps == Stamps::Coarse { 1 } else { 4 };
    let mut time: Vec<f64> = rows.iter().map(|r| r.t + 3.0).collect();
    match faults.stamps {
        Stamps::Single => {
            for _ in 0..3 {
                let i = 10 + dice.below(n - 20);
                time[i] += dice.of(&[7.0, -2.5]) * (5.0 / faults.rate).max(1.0);
            }
        }
        Stamps::Anew => {
            let mut start = 0.0;
            for i in 0..n {
                // A session of its own for each stint of a quarter minute.
                if i > 0 && (rows[i].t / 17.0).floor() > (rows[i - 1].t / 17.0).floor() {
                    start = time[i];
                }
                time[i] -= start;
            }
        }
        Stamps::Leap => {
            let i = n / 2 + dice.below(n / 8);
            time[i..].iter_mut().for_each(|t| *t += 3600.0);
        }
        // Told short of the next tenth, as a clock that counts tenths does.
        Stamps::Coarse => time
            .iter_mut()
            .for_each(|t| *t = (*t * 10.0 + 1e-6).floor() / 10.0),
        _ => {}
    }
    let mut text: Vec<String> = time.iter().map(|t| format!("{t:.digits$}")).collect();
    if faults.stamps == Stamps::Missing {
        for _ in 0..4 {
            let i = 5 + dice.below(n - 10);
            text[i].clear();
        }
    }
    text
}

/// One table with its head; every so many rows of the columns.
fn table(stamps: &[String], columns: &[&Column], every: usize, faults: &Faults, dice: &mut Dice) -> String {
    let w = &faults.writing;
    let cell = |text: &str| {
        let text = if w.comma {
            text.replace('.', ",")
        } else {
            text.to_owned()
        };
        if w.quoted { format!("\"{text}\"") } else { text }
    };
    let line = |cells: Vec<String>| cells.join(&w.delimiter.to_string()) + w.end;
    let name = |name: &str, unit: &str| match unit {
        "" => name.to_owned(),
        _ if w.units_row => name.to_owned(),
        // A degree sign, so that Latin-1 and UTF-8 differ.
        "C" => format!("{name} [\u{b0}C]"),
        unit => format!("{name} [{unit}]"),
    };
    let heads: Vec<String> = std::iter::once(name("time", "s"))
        .chain(columns.iter().map(|c| name(c.name, c.unit)))
        .map(|text| if w.quoted { format!("\"{text}\"") } else { text })
        .collect();
    let mut head = line(heads);
    if w.units_row {
        head += &line(
            std::iter::once("s")
                .chain(columns.iter().map(|c| c.unit))
                .map(String::from)
                .collect(),
        );
    }
    let n = stamps.len();
    let mut lines: Vec<String> = (0..n)
        .step_by(every)
        .map(|i| {
            line(
                std::iter::once(cell(&stamps[i]))
                    .chain(columns.iter().map(|c| cell(&c.cells[i])))
                    .collect(),
            )
        })
        .collect();
    match faults.stamps {
        Stamps::Twice => {
            for _ in 0..3 {
                let i = 5 + dice.below(lines.len() - 10);
                let again = lines[i].clone();
                lines.insert(i, again);
            }
        }
        Stamps::Swapped => {
            for _ in 0..3 {
                let i = 5 + dice.below(lines.len() - 10);
                lines.swap(i, i + 1);
            }
        }
        _ => {}
    }
    if w.header_again {
        let at = lines.len() / 3;
        lines.insert(at, head.clone());
    }
    head + &lines.concat()
}

fn encode(text: &str, encoding: Encoding) -> Vec<u8> {
    let wide = |mark: bool, split: fn(u16) -> [u8; 2]| {
        let mark = if mark { Some(0xFEFF) } else { None };
        mark.into_iter()
            .chain(text.encode_utf16())
            .flat_map(split)
            .collect()
    };
    match encoding {
        Encoding::Utf8 => text.as_bytes().to_vec(),
        Encoding::Utf8Mark => format!("\u{feff}{text}").into_bytes(),
        Encoding::Latin => text
            .chars()
            .map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?'))
            .collect(),
        Encoding::WideLow => wide(true, u16::to_le_bytes),
        Encoding::WideHigh => wide(true, u16::to_be_bytes),
        Encoding::WideLowBare => wide(false, u16::to_le_bytes),
        Encoding::WideHighBare => wide(false, u16::to_be_bytes),
    }
}
