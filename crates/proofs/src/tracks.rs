//! Four real circuits under neutral names, each with a speed profile by an independent planner.
//!
//! Source, licence (GNU LGPL 3.0) and changes stand in the head of each file in `data/`; the licence text lies
//! beside them. The speeds are a second opinion, not a measurement: another program with the same limits.

/// A circuit with its reference.
#[derive(Clone, Copy, Debug)]
pub struct Track {
    /// Neutral name.
    pub name: &'static str,
    /// The file: comment lines, a header, then x [m], y [m] and the reference speed [m/s] for each point.
    pub csv: &'static str,
    /// Lap time of the reference [s]: the sum of `2 ds / (v + v_next)` over the unrounded profile.
    pub lap_time: f64,
    /// Whole turns of the line, left above zero.
    pub turns: f64,
}

impl Track {
    /// Reference speed at each point [m/s], in the order of the file.
    pub fn reference_speed(&self) -> Vec<f64> {
        let rows = self.csv.lines().filter(|l| !l.starts_with('#')).skip(1);
        rows.map(|l| {
            l.rsplit(',')
                .next()
                .and_then(|c| c.parse().ok())
                .expect("the file holds numbers")
        })
        .collect()
    }
}

/// Limits behind the reference: across, braking and driving [m/s²].
pub const GRIP: [f64; 3] = [12.0, 10.0, 10.0];
/// Drive limit [m/s²] against speed [m/s], straight lines between.
pub const DRIVE_LIMIT: [(f64, f64); 5] = [(0.0, 6.0), (20.0, 6.0), (40.0, 4.0), (60.0, 2.5), (90.0, 1.5)];
/// Drag deceleration over speed squared [1/m]: 0.75 kg/m on 1000 kg.
pub const DRAG: f64 = 0.75e-3;
/// Top speed [m/s].
pub const TOP_SPEED: f64 = 70.0;

/// The four circuits.
pub const TRACKS: [Track; 4] = [
    Track {
        name: "track-a",
        csv: include_str!("../data/tracks-a.csv"),
        lap_time: 60.84,
        turns: 1.0,
    },
    Track {
        name: "track-b",
        csv: include_str!("../data/tracks-b.csv"),
        lap_time: 70.40,
        turns: 1.0,
    },
    Track {
        name: "track-c",
        csv: include_str!("../data/tracks-c.csv"),
        lap_time: 170.02,
        turns: -1.0,
    },
    Track {
        name: "track-d",
        csv: include_str!("../data/tracks-d.csv"),
        lap_time: 102.75,
        turns: -1.0,
    },
];
