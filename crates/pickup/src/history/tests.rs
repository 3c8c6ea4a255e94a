use super::*;

fn row(time: f64, cover: f64, air: f64, drawn: f64) -> Row {
    Row {
        time,
        cover,
        air,
        drawn,
        demand: 1e-4,
        spaces: vec![1e-3, 2e-3],
        doors: vec![0.1],
        ..Row::default()
    }
}

/// 100 rows a second; bare from 1 s to 2 s while the pump takes 1e-4 m³/s.
fn one_gulp() -> CoverHistory {
    let mut history = CoverHistory::default();
    for step in 0..400 {
        let t = f64::from(step) * 0.01;
        let air = 1e-4 * (t - 1.0).clamp(0.0, 1.0);
        let cover = if (0.999..1.999).contains(&t) { 0.0 } else { 0.02 };
        history.push(row(t, cover, air, 1e-4 * t - air)).unwrap();
    }
    history
}

#[test]
fn every_poisoned_number_is_refused_and_leaves_the_history_as_it_was() {
    let mut history = CoverHistory::default();
    history.push(row(0.0, 0.01, 0.0, 0.0)).unwrap();
    let before = history.clone();
    let good = row(0.1, 0.01, 0.0, 1e-5);
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let mut rows = vec![
            Row {
                cover: bad,
                ..good.clone()
            },
            Row {
                demand: bad,
                ..good.clone()
            },
            Row {
                air: bad,
                ..good.clone()
            },
            Row {
                drawn: bad,
                ..good.clone()
            },
            Row {
                at_crank: bad,
                ..good.clone()
            },
            Row {
                spaces: vec![1e-3, bad],
                ..good.clone()
            },
            Row {
                doors: vec![bad],
                ..good.clone()
            },
            Row {
                ledger: Ledger {
                    pan: bad,
                    ..Ledger::default()
                },
                ..good.clone()
            },
            Row {
                ledger: Ledger {
                    engine: bad,
                    ..Ledger::default()
                },
                ..good.clone()
            },
            Row {
                ledger: Ledger {
                    in_flight: bad,
                    ..Ledger::default()
                },
                ..good.clone()
            },
        ];
        if bad.is_nan() {
            rows.push(Row {
                time: bad,
                ..good.clone()
            });
        }
        for row in rows {
            assert!(history.push(row.clone()).is_err(), "{row:?}");
        }
    }
    assert!(matches!(
        history.push(row(0.0, 0.01, 0.0, 0.0)),
        Err(HistoryFault::Fell { what: "time", .. })
    ));
    let narrow = Row {
        spaces: vec![1e-3],
        ..good.clone()
    };
    assert!(matches!(
        history.push(narrow),
        Err(HistoryFault::Ragged { what: "spaces", .. })
    ));
    assert_eq!(history, before);
    history.push(good).unwrap();
    assert!(matches!(
        history.push(row(0.2, 0.0, 0.0, 0.5e-5)),
        Err(HistoryFault::Fell { .. })
    ));
}

#[test]
fn a_history_read_back_is_checked_like_one_that_grows() {
    let history = one_gulp();
    assert!(history.check().is_ok());
    let mut poisoned = history.clone();
    poisoned.cover[17] = f64::NAN;
    assert!(matches!(
        poisoned.check(),
        Err(HistoryFault::BadNumber {
            row: 17,
            what: "cover",
            ..
        })
    ));
    let mut short = history.clone();
    short.ledger.pop();
    assert!(matches!(
        short.check(),
        Err(HistoryFault::Ragged { what: "ledger", .. })
    ));
    let text = serde_json::to_string(&history).unwrap();
    assert_eq!(serde_json::from_str::<CoverHistory>(&text).unwrap(), history);
}

#[test]
fn a_ledger_that_misses_a_drop_is_found() {
    let mut history = CoverHistory::default();
    for step in 0..10 {
        let engine = 1e-4 * f64::from(step);
        let ledger = Ledger {
            pan: 4e-3 - engine,
            engine,
            in_flight: 1e-3,
        };
        history
            .push(Row {
                ledger,
                ..row(f64::from(step), 0.01, 0.0, 0.0)
            })
            .unwrap();
    }
    assert!(history.check_ledger(5e-3).unwrap() < 1e-17);
    history.ledger[4].pan -= 1e-8;
    assert!(matches!(
        history.check_ledger(5e-3),
        Err(HistoryFault::Ledger { .. })
    ));
    history.ledger[4].pan = f64::NAN;
    assert!(history.check_ledger(5e-3).is_err());
}

#[test]
fn a_gulp_has_its_start_its_end_and_its_air() {
    let history = one_gulp();
    let gulps = history.gulps(0.0, 10.0);
    assert_eq!(gulps.len(), 1);
    let gulp = gulps[0];
    assert!(
        (gulp.start - 1.0).abs() < 0.006 && (gulp.end - 2.0).abs() < 0.011,
        "{gulp:?}"
    );
    assert!((gulp.air - 1e-4).abs() < 1.1e-6);
    assert_eq!(history.least_cover(0.0, 10.0), Some((0.0, 1.0)));
    assert_eq!(history.first_air(0.0, 10.0), Some(1.0));
    assert!((history.worst_air_share(1.0, 0.0, 4.0) - 1.0).abs() < 0.02);
    assert!((history.air_in(1.25, 1.75) - 0.5e-4).abs() < 1e-9);
}

#[test]
fn a_gulp_is_clipped_to_the_window_and_an_empty_window_has_nothing() {
    let history = one_gulp();
    let gulps = history.gulps(1.5, 1.8);
    assert!(
        (gulps[0].start - 1.5).abs() < 1e-9 && (gulps[0].end - 1.8).abs() < 0.006,
        "{gulps:?}"
    );
    assert!(history.gulps(5.0, 6.0).is_empty());
    assert_eq!(history.least_cover(5.0, 6.0), None);
    assert_eq!(CoverHistory::default().air_in(0.0, 1.0), 0.0);
}

#[test]
fn an_edge_of_the_mouth_in_air_counts_as_bare_before_its_middle_is() {
    let mut history = CoverHistory::default();
    for step in 0..100 {
        let t = f64::from(step) * 0.01;
        // A third of what the pump takes from 0.5 s on is air though 3 mm stand over the middle.
        let air = 1e-4 / 3.0 * (t - 0.5).max(0.0);
        history.push(row(t, 0.003, air, 1e-4 * t - air)).unwrap();
    }
    let gulps = history.gulps(0.0, 1.0);
    assert_eq!(gulps.len(), 1);
    assert!((gulps[0].start - 0.5).abs() < 0.011);
}

/// By hand: 20 mm, bare for the second from 1 s on, and 5 mm for 50 ms at 3 s.
#[test]
fn a_dip_counts_as_far_as_it_lasts() {
    let mut history = CoverHistory::default();
    for step in 0..400 {
        let t = f64::from(step) * 0.01;
        let cover = match t {
            t if (0.999..1.999).contains(&t) => 0.0,
            t if (2.999..3.049).contains(&t) => 5e-3,
            _ => 0.02,
        };
        history.push(row(t, cover, 0.0, 1e-4 * t)).unwrap();
    }
    assert_eq!(history.least_lasting_cover(0.0, 3.99, 0.1), Some(0.0));
    assert_eq!(history.least_lasting_cover(2.5, 3.99, 0.1), Some(0.02));
    assert_eq!(history.least_lasting_cover(2.5, 3.99, 0.03), Some(5e-3));
    assert_eq!(history.least_lasting_cover(2.5, 2.6, 0.2), None);
    assert!((history.bare_in(0.0, 3.99) - 1.0).abs() < 0.011);
}
