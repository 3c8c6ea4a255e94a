//! Place in metres: from latitude and longitude, and with leaps of the receiver taken out.

use super::notes::{Notes, Topic};
use super::pick::Column;
use super::spikes;
use glam::DVec2;

/// Mean radius of the Earth [m] (IUGG mean radius R1, 6371.0088 km, from memory). Over the few kilometres of a course a
/// sphere is within half a hundredth of the ellipsoid in either direction.
const EARTH: f64 = 6_371_008.8;

/// Fastest that a place may move [m/s] before it counts as a leap of the receiver.
const FASTEST: f64 = 150.0;

/// Metres east and north of the middle of the log: `x = R cos(middle latitude) Δlongitude`, `y = R Δlatitude`, the
/// equirectangular map, whose error over a course of 5 km lies under 1 part in 10,000.
pub(super) fn from_globe(latitude: Column, longitude: Column, notes: &mut Notes) -> Option<Vec<DVec2>> {
    let (mut lat, mut lon) = (latitude.values, longitude.values);
    let factor = latitude
        .unit
        .as_ref()
        .or(longitude.unit.as_ref())
        .map(|u| (u.factor, u.shown.clone()));
    let most = |v: &[f64]| v.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
    let (most_lat, most_lon) = (most(&lat), most(&lon));
    let degree = std::f64::consts::PI / 180.0;
    let (factor, shown, why) = match factor {
        // Degrees and minutes in one number come under the same heading as degrees.
        Some((factor, shown))
            if most_lat * factor <= 90.1 * degree && most_lon * factor <= 180.1 * degree =>
        {
            (factor, shown, String::new())
        }
        _ if most_lat <= 90.0 && most_lon <= 180.0 => {
            (degree, "deg".to_owned(), ", as it is not given".to_owned())
        }
        _ if most_lat > 1e5 && most_lat <= 90e7 && most_lon <= 180e7 => (
            1e-7 * degree,
            "ten-millionths of a degree".to_owned(),
            ", as the numbers are too large for degrees".to_owned(),
        ),
        _ if most_lat < 9_060.0 && most_lon < 18_060.0 && minutes(&lat) && minutes(&lon) => {
            for v in lat.iter_mut().chain(lon.iter_mut()) {
                let whole = (*v / 100.0).trunc();
                *v = whole + (*v - 100.0 * whole) / 60.0;
            }
            (
                degree,
                "degrees and minutes in one number".to_owned(),
                ", as the numbers are too large for degrees".to_owned(),
            )
        }
        _ => {
            notes.say(
                Topic::Caution,
                format!(
                    "Latitude and longitude (columns '{}' and '{}') reach {most_lat:.0} and {most_lon:.0}, which is no usual unit; the \
                     place is left out.",
                    latitude.name, longitude.name
                ),
            );
            return None;
        }
    };
    lat.iter_mut().chain(lon.iter_mut()).for_each(|v| *v *= factor);
    let middle = |v: &[f64]| super::middle::median(v.to_vec());
    let (lat0, lon0) = (middle(&lat), middle(&lon));
    let shrink = lat0.cos();
    notes.say(
        Topic::Laps,
        format!(
            "Place from latitude and longitude (columns '{}' and '{}'), in {shown}{why}: metres east and north of the middle of the log.",
            latitude.name, longitude.name
        ),
    );
    let turn = std::f64::consts::TAU;
    let place = lat.iter().zip(&lon).map(|(lat, lon)| {
        // Across the date line the difference is the small one.
        let d = (lon - lon0 + 0.5 * turn).rem_euclid(turn) - 0.5 * turn;
        DVec2::new(EARTH * shrink * d, EARTH * (lat - lat0))
    });
    Some(place.collect())
}

/// Whether all numbers may be degrees and minutes in one: the part under a hundred stays under sixty.
fn minutes(values: &[f64]) -> bool {
    values.iter().all(|v| v.abs() % 100.0 < 60.0)
}

/// Replaces single places that no car could have reached by the middle of their neighbours.
pub(super) fn take_leaps_out(time: &[f64], step: f64, place: &mut [DVec2], notes: &mut Notes) {
    let least = 30.0_f64.max(FASTEST * step);
    let [mut x, mut y] = [0, 1].map(|k| place.iter().map(|p| p[k]).collect::<Vec<f64>>());
    let mut rows = spikes::remove(&mut x, least);
    rows.extend(spikes::remove(&mut y, least));
    let Some(&first) = rows.iter().min() else { return };
    rows.sort_unstable();
    rows.dedup();
    notes.say(
        Topic::Cleaning,
        format!(
            "The place leaps on {} sample(s), the first at {:.2} s; they were put between their neighbours.",
            rows.len(),
            time[first]
        ),
    );
    for (i, p) in place.iter_mut().enumerate() {
        *p = DVec2::new(x[i], y[i]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(values: Vec<f64>) -> Column {
        Column {
            name: "lat".into(),
            number: 1,
            table: 0,
            values,
            unit: None,
            sign: None,
            named: false,
            header: 1,
        }
    }

    /// One minute of latitude is one nautical mile, 1852 m by definition, within the flattening of the Earth (1855 m at the
    /// poles, 1843 m at the equator; on the sphere 1853.3 m).
    #[test]
    fn a_minute_of_latitude_is_a_nautical_mile_in_every_way_of_writing_it() {
        for (scale, minutes) in [(1.0, false), (1e7, false), (1.0, true)] {
            let write = |degrees: f64| match minutes {
                true => 100.0 * degrees.trunc() + 60.0 * degrees.fract(),
                false => degrees * scale,
            };
            let lat = [50.0, 50.0 + 1.0 / 60.0, 50.0].map(write).to_vec();
            let lon = [7.0, 7.0, 7.0 + 1.0 / 60.0].map(write).to_vec();
            let place = from_globe(column(lat), column(lon), &mut Notes::default()).expect("it is a place");
            assert!((place[1].y - place[0].y - 1852.0).abs() < 3.0, "{place:?}");
            let east = 1852.0 * 50.0_f64.to_radians().cos();
            assert!((place[2].x - place[0].x - east).abs() < 3.0, "{place:?}");
        }
    }
}
