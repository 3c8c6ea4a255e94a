//! The cheap measure picks the moments that a shop would.

mod common;

use common::{bare, box_pocket, mirrored};
use glam::{DMat3, DVec3};
use measure::STANDARD_GRAVITY as G;
use pan::Pan;
use sumpwright_still::{DriveView, Moment, Pick, StillFault, Wanted, worst_moments};

const RATE: f64 = 50.0;

/// Mouth right of the middle: a left-hand corner pushes oil to it, a right-hand one takes it away.
fn pan() -> Pan {
    bare(
        &[box_pocket(
            "box",
            DVec3::new(-0.15, -0.12, -0.15),
            DVec3::new(0.15, 0.12, 0.0),
        )],
        DVec3::new(0.0, -0.06, -0.14),
    )
}

/// Pieces of (length [s], ax, ay [g]) with the changes rounded off over `round` [s] → time, apparent gravity.
fn drive(pieces: &[(f64, f64, f64)], round: f64) -> (Vec<f64>, Vec<DVec3>) {
    let mut raw = Vec::new();
    for &(length, x, y) in pieces {
        raw.extend(std::iter::repeat_n(
            DVec3::new(-x, -y, -1.0) * G,
            (length * RATE) as usize,
        ));
    }
    let half = (0.5 * round * RATE) as usize;
    let smooth = (0..raw.len())
        .map(|i| {
            let part = &raw[i.saturating_sub(half)..(i + half + 1).min(raw.len())];
            part.iter().sum::<DVec3>() / part.len() as f64
        })
        .collect();
    ((0..raw.len()).map(|i| i as f64 / RATE).collect(), smooth)
}

/// A lap of 40 s: braking, long left, straight, short right, acceleration.
fn lap() -> (Vec<f64>, Vec<DVec3>) {
    let pieces = [
        (6.0, 0.0, 0.0),
        (2.0, -1.0, 0.0),
        (5.0, 0.0, 1.1),
        (8.0, 0.1, 0.0),
        (2.0, 0.0, -1.0),
        (6.0, 0.5, 0.0),
        (11.0, 0.0, 0.0),
    ];
    drive(&pieces, 0.3)
}

const WANTED: Wanted = Wanted {
    count: 4,
    window: 4.0,
    run_in: 2.0,
};

fn moments_of(pan: &Pan, gravity: &[DVec3], time: &[f64], place: Option<&[f64]>) -> Vec<Moment> {
    let volume = vec![3e-3; time.len()];
    let view = DriveView {
        time,
        gravity,
        pan_volume: &volume,
        place,
    };
    worst_moments(pan, None, DMat3::IDENTITY, &view, &WANTED).unwrap()
}

#[test]
fn the_worst_comes_first_and_braking_left_and_right_are_always_there() {
    let (time, gravity) = lap();
    let moments = moments_of(&pan(), &gravity, &time, None);
    // A right-hand corner takes the oil from a mouth on the right.
    assert_eq!(moments[0].name, "right");
    assert_eq!(moments[0].pushed, "left");
    assert!(
        (21.0..23.5).contains(&moments[0].worst_at),
        "{}",
        moments[0].worst_at
    );
    assert!(moments.windows(2).all(|w| w[0].margin <= w[1].margin));
    let braking = moments
        .iter()
        .find(|m| m.pick == Pick::StrongestBraking)
        .expect("braking is there");
    assert!(
        braking.name.contains("braking") && braking.why.contains("1.0"),
        "{braking:?}"
    );
    assert!(moments.iter().any(|m| m.name.contains("left")), "{moments:?}");
    for (i, m) in moments.iter().enumerate() {
        assert!(m.run_in_start <= m.start && m.start <= m.worst_at && m.worst_at <= m.end);
        assert!(m.end - m.start <= WANTED.window + 1e-9);
        for other in moments[i + 1..].iter().filter(|o| o.pick == m.pick) {
            assert!(
                (m.worst_at - other.worst_at).abs() >= WANTED.window,
                "{m:?} {other:?}"
            );
        }
    }
    // The strongest of each kind lie in some window: braking at 6.25 to 7.75 s, left held from 8 to 13 s.
    let held = |from: f64, to: f64| moments.iter().any(|m| m.start <= to && m.end >= from);
    assert!(held(6.25, 7.75) && held(8.25, 12.75) && held(21.25, 22.75));
}

#[test]
fn a_long_corner_is_called_long() {
    let (time, gravity) = lap();
    let left = moments_of(&pan(), &gravity, &time, None)
        .into_iter()
        .find(|m| m.name.ends_with("left"))
        .unwrap();
    assert_eq!(left.name, "long left");
    assert_eq!(left.pushed, "right");
}

#[test]
fn a_mirrored_drive_on_a_mirrored_pan_gives_mirrored_moments() {
    let (time, gravity) = lap();
    let flipped: Vec<DVec3> = gravity.iter().map(|g| DVec3::new(g.x, -g.y, g.z)).collect();
    let one = moments_of(&pan(), &gravity, &time, None);
    let other = moments_of(&mirrored(&pan()), &flipped, &time, None);
    let swap = |t: &str| {
        t.replace("left", "#")
            .replace("right", "left")
            .replace('#', "right")
    };
    assert_eq!(one.len(), other.len());
    for (a, b) in one.iter().zip(&other) {
        assert_eq!((a.start, a.end, a.worst_at), (b.start, b.end, b.worst_at));
        assert!((a.margin - b.margin).abs() < 1e-9);
        assert_eq!(
            (b.name.clone(), b.pushed.clone()),
            (swap(&a.name), swap(&a.pushed))
        );
    }
}

#[test]
fn one_corner_is_not_picked_again_on_the_next_lap() {
    let (_, one) = lap();
    let gravity: Vec<DVec3> = std::iter::repeat_n(one.clone(), 4).flatten().collect();
    let time: Vec<f64> = (0..gravity.len()).map(|i| i as f64 / RATE).collect();
    let place: Vec<f64> = (0..gravity.len())
        .map(|i| (i % one.len()) as f64 / RATE * 30.0)
        .collect();
    let free = moments_of(&pan(), &gravity, &time, None);
    let placed = moments_of(&pan(), &gravity, &time, Some(&place));
    let rights = |m: &[Moment]| m.iter().filter(|m| m.name == "right").count();
    assert_eq!(rights(&placed), 1, "{placed:?}");
    assert!(free.len() == WANTED.count && placed.len() == WANTED.count);
}

#[test]
fn a_flick_with_the_beat_of_the_oil_looks_worse_than_the_same_g_held() {
    // First mode of the 240 mm wide box about 1.5 Hz: right-left-right at that beat against a held right.
    let beat = 0.5 / 1.5;
    let flick: Vec<(f64, f64, f64)> = std::iter::once((5.0, 0.0, 0.0))
        .chain((0..6).map(|i| (beat, 0.0, if i % 2 == 0 { -0.6 } else { 0.6 })))
        .chain([(8.0, 0.0, 0.0), (3.0, 0.0, -0.6), (5.0, 0.0, 0.0)])
        .collect();
    let (time, gravity) = drive(&flick, 0.06);
    let moments = moments_of(&pan(), &gravity, &time, None);
    assert!(moments[0].worst_at < 9.0, "the flick is worst: {moments:?}");
    let held = moments
        .iter()
        .find(|m| m.worst_at > 12.0)
        .expect("the held corner is there too");
    assert!(moments[0].margin < held.margin);
}

#[test]
fn a_long_log_on_a_walled_pan_is_ranked_in_a_moment_and_alike_on_any_thread_count() {
    let pan = common::demo();
    let lattice = pan::Lattice::build(&pan, 0.006).unwrap();
    let (_, one) = lap();
    // Twenty minutes.
    let gravity: Vec<DVec3> = std::iter::repeat_n(one.clone(), 30).flatten().collect();
    let time: Vec<f64> = (0..gravity.len()).map(|i| i as f64 / RATE).collect();
    let volume: Vec<f64> = time.iter().map(|t| 3.6e-3 + 2e-4 * (t / 7.0).sin()).collect();
    let view = DriveView {
        time: &time,
        gravity: &gravity,
        pan_volume: &volume,
        place: None,
    };
    let ask = || worst_moments(&pan, Some(&lattice), DMat3::IDENTITY, &view, &WANTED).unwrap();
    let started = std::time::Instant::now();
    let moments = ask();
    let took = started.elapsed();
    eprintln!("{:.0} s of drive ranked in {took:?}", time[time.len() - 1]);
    // A second or two alone; other work may share the machine.
    assert!(took.as_secs_f64() < 15.0, "{took:?}");
    assert_eq!(moments.len(), WANTED.count);
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(alone.install(ask), moments);
}

#[test]
fn columns_rank_like_the_exact_cavity() {
    // Without walls both assumptions are one, so the measure with and without a lattice must agree.
    let pan = pan();
    let lattice = pan::Lattice::build(&pan, 0.006).unwrap();
    let (time, gravity) = lap();
    let volume = vec![3e-3; time.len()];
    let view = DriveView {
        time: &time,
        gravity: &gravity,
        pan_volume: &volume,
        place: None,
    };
    let exact = worst_moments(&pan, None, DMat3::IDENTITY, &view, &WANTED).unwrap();
    let quick = worst_moments(&pan, Some(&lattice), DMat3::IDENTITY, &view, &WANTED).unwrap();
    for (a, b) in exact.iter().zip(&quick) {
        assert_eq!(a.name, b.name);
        // A tenth of a cell.
        assert!((a.margin - b.margin).abs() < 6e-4, "{} {}", a.margin, b.margin);
    }
}

#[test]
fn drives_that_do_not_fit_or_hold_no_numbers_are_refused() {
    let (time, gravity) = lap();
    let volume = vec![3e-3; time.len()];
    let ask = |time: &[f64], gravity: &[DVec3], volume: &[f64]| {
        let view = DriveView {
            time,
            gravity,
            pan_volume: volume,
            place: None,
        };
        worst_moments(&pan(), None, DMat3::IDENTITY, &view, &WANTED)
    };
    assert!(matches!(
        ask(&time, &gravity[1..], &volume),
        Err(StillFault::DriveRagged {
            what: "accelerations"
        })
    ));
    assert!(matches!(
        ask(&time, &gravity, &volume[1..]),
        Err(StillFault::DriveRagged { what: "oil volumes" })
    ));
    let mut back = time.clone();
    back[10] = back[8];
    assert!(matches!(
        ask(&back, &gravity, &volume),
        Err(StillFault::DriveRagged { what: "times" })
    ));
    let mut poisoned = gravity.clone();
    poisoned[77].y = f64::NAN;
    assert!(ask(&time, &poisoned, &volume).is_err());
    let mut drowned = volume.clone();
    drowned[3] = 1.0;
    assert!(ask(&time, &gravity, &drowned).is_err());
}
