//! Where on the lap an instant lies, in words.

use drive::Drive;

/// Whether the drive knows where it is.
pub fn knows_distance(drive: &Drive) -> bool {
    drive.distance.last().is_some_and(|d| *d > 0.0)
}

/// Distance into the lap at `time` [m].
pub fn distance_into_lap(drive: &Drive, time: f64) -> f64 {
    let lap = drive
        .laps
        .iter()
        .find(|lap| (lap.start..=lap.end).contains(&time));
    drive.distance_at(time) - lap.map_or(0.0, |lap| drive.distance_at(lap.start))
}

/// An instant in words that follow the name of a moment: "at 612 m in lap 2", "at 3.2 s".
pub fn place(drive: &Drive, manoeuvres: bool, time: f64) -> String {
    let lap = drive
        .laps
        .iter()
        .find(|lap| (lap.start..=lap.end).contains(&time));
    match lap {
        Some(lap) if manoeuvres => format!("at {:.1} s of \u{201c}{}\u{201d}", time - lap.start, lap.name),
        Some(lap) if knows_distance(drive) => {
            let metres = distance_into_lap(drive, time);
            if drive.laps.len() > 1 {
                format!("at {metres:.0} m in {}", lap.name)
            } else {
                format!("at {metres:.0} m")
            }
        }
        _ if knows_distance(drive) && !manoeuvres => format!("at {:.0} m", drive.distance_at(time)),
        _ => format!("at {time:.1} s"),
    }
}
