use super::*;
use crate::history::{Ledger, Row};
use crate::names::{DoorWords, SpaceWords, WallWords};

const DEMAND: f64 = 3e-4;

/// Two spaces, the mouth in the left one, a wall and a door between them that opens to the left.
fn pan(left: &str, right: &str) -> PanWords {
    let space = |name: &str, has_mouth| SpaceWords {
        name: name.into(),
        has_mouth,
    };
    PanWords {
        spaces: vec![space(left, true), space(right, false)],
        doors: vec![DoorWords {
            name: "2".into(),
            from: Some(1),
            into: Some(0),
            stop: 1.0,
        }],
        walls: vec![WallWords {
            name: "B".into(),
            between: (0, 1),
        }],
    }
}

/// 6 s at 100 rows a second. From 2 s the cover falls from `rest` at `fall` m/s, stays bare for `bare`
/// seconds at least, and comes back at the same speed; 1.9 L goes from the mouth's space to the other.
fn dip(rest: f64, fall: f64, bare: f64) -> CoverHistory {
    let mut history = CoverHistory::default();
    let (mut air, mut drawn) = (0.0, 0.0);
    let down = rest / fall;
    for step in 0..600 {
        let time = f64::from(step) * 0.01;
        let since = time - 2.0;
        let cover = if since < 0.0 {
            rest
        } else if since < down + bare {
            (rest - fall * since).max(0.0)
        } else {
            (fall * (since - down - bare)).min(rest)
        };
        if step > 0 {
            if cover <= 0.0 {
                air += DEMAND * 0.01
            } else {
                drawn += DEMAND * 0.01
            }
        }
        let gone = 1.9e-3 * (1.0 - cover / rest);
        history
            .push(Row {
                time,
                cover,
                demand: DEMAND,
                air,
                drawn,
                spaces: vec![2.5e-3 - gone, 0.5e-3 + gone],
                doors: vec![if gone > 1e-4 { 0.0 } else { 0.6 }],
                at_crank: 0.0,
                ledger: Ledger {
                    pan: 3e-3,
                    engine: 1e-3,
                    in_flight: 0.0,
                },
            })
            .unwrap();
    }
    history
}

fn verdict_of(history: &CoverHistory, band: f64, limits: &Limits) -> Verdict {
    let words = pan("left", "right");
    let at = |_: f64| "at 612 m".to_string();
    let moment = MomentHistory {
        name: "long left",
        pushed: "right",
        start: 1.0,
        end: 5.5,
        history,
        place: &at,
        bands: None,
    };
    let with = Judging {
        limits,
        band,
        pan: &words,
        laps: &[],
        order: UnitOrder::MetricFirst,
    };
    judge(&[moment], &with)
}

#[test]
fn a_bare_mouth_is_a_stop_with_place_time_air_space_and_door() {
    let verdict = verdict_of(&dip(0.02, 0.2, 0.8), 0.0025, &Limits::default());
    assert_eq!(verdict.word, Word::Stop);
    // 0.8 s to the 10 ms between rows.
    assert_eq!(
        verdict.sentence,
        "In the long left at 612 m the mouth is bare for 0.81 s and draws 0.24 L (0.26 qt) of air: 1.90 L \
         (2.01 qt) has gone to the right space past plate B and door 2 is shut."
    );
    let gulp = verdict.longest_gulp.unwrap();
    assert!((gulp.length() - 0.8).abs() < 0.011, "{gulp:?}");
    assert!(
        (verdict.air_per_lap - 0.8 * DEMAND).abs() < 0.011 * DEMAND,
        "{}",
        verdict.air_per_lap
    );
    let bare = verdict.moments[0].bare_between;
    // The cover runs through 2.5 mm at 0.2 m/s in 12.5 ms, at both ends, either way; rows are 10 ms apart.
    assert!(
        (bare.low - 0.775).abs() < 0.021 && (bare.high - 0.825).abs() < 0.021,
        "{bare:?}"
    );
}

#[test]
fn a_deep_mouth_is_a_go_and_a_thin_one_a_watch() {
    let limits = Limits::default();
    let go = verdict_of(&dip(0.05, 0.02, -3.0), 0.0025, &limits);
    assert_eq!(go.word, Word::Go, "{}", go.sentence);
    assert!(go.sentence.contains("stays covered"), "{}", go.sentence);
    // Falls to 20 - 0.2 * 0.075 s = 5 mm: 5 - 2.5 mm is under the limit of 5 mm, but surely not bare.
    let watch = verdict_of(&dip(0.02, 0.2, -0.05), 0.0025, &limits);
    assert_eq!(watch.word, Word::Watch, "{}", watch.sentence);
    assert!(
        watch.sentence.contains("only") && watch.sentence.contains("limit is 5 mm"),
        "{}",
        watch.sentence
    );
}

#[test]
fn a_margin_smaller_than_its_band_is_not_known() {
    let limits = Limits {
        longest_gulp: 0.3,
        air_share: 1.0,
        ..Limits::default()
    };
    // Cover runs at 20 mm/s, so a band of 2.5 mm is 125 ms at each end of the gulp: 0.30 ± 0.25 s.
    let near = verdict_of(&dip(0.02, 0.02, 0.30), 0.0025, &limits);
    assert_eq!(near.word, Word::NotKnown, "{}", near.sentence);
    assert!(near.sentence.contains("higher or lower"), "{}", near.sentence);
    // The same gulp against a limit far off on either side is known.
    let strict = Limits {
        longest_gulp: 0.02,
        ..limits
    };
    assert_eq!(
        verdict_of(&dip(0.02, 0.02, 0.30), 0.0025, &strict).word,
        Word::Stop
    );
    let loose = Limits {
        longest_gulp: 0.60,
        ..limits
    };
    assert_eq!(
        verdict_of(&dip(0.02, 0.02, 0.30), 0.0025, &loose).word,
        Word::Watch
    );
    // Never bare, but nearer to it than the band for longer than the limit.
    let hair = verdict_of(&dip(0.02, 0.008, -0.1), 0.0025, &limits);
    assert_eq!(hair.word, Word::NotKnown, "{}", hair.sentence);
    assert!(hair.sentence.contains("less than"), "{}", hair.sentence);
}

/// The same history with and without a grid study: the word follows the pessimistic end of the bands.
#[test]
fn the_word_takes_the_pessimistic_end_of_a_grid_study() {
    let words = pan("left", "right");
    let at = |_: f64| String::new();
    let limits = Limits {
        air_share: 1.0,
        ..Limits::default()
    };
    let of = |history: &CoverHistory, bands: Bands| {
        let moment = MomentHistory {
            name: "long left",
            pushed: "right",
            start: 1.0,
            end: 5.5,
            history,
            place: &at,
            bands: Some(bands),
        };
        let with = Judging {
            limits: &limits,
            band: 0.0025,
            pan: &words,
            laps: &[],
            order: UnitOrder::MetricFirst,
        };
        judge(&[moment], &with)
    };
    let bands = |cover, longest_bare| Bands {
        cover,
        longest_bare,
        worst_second: None,
        air: longest_bare.map(|_| 2e-5),
    };
    // Least cover 15 mm: known to 9 mm it clears the limit of 5 mm, known to 11 mm it does not, and known to 22 mm
    // it may be bare for longer than the 0.1 s let pass.
    let mut covered = dip(0.05, 0.2, 0.3);
    for row in 0..covered.len() {
        covered.cover[row] = 0.015 + 0.05 * (covered.time[row] - 3.0).abs();
        covered.drawn[row] += covered.air[row];
        covered.air[row] = 0.0;
    }
    assert_eq!(of(&covered, bands(0.009, None)).word, Word::Go);
    assert_eq!(of(&covered, bands(0.011, None)).word, Word::Watch);
    assert_eq!(of(&covered, bands(0.022, None)).word, Word::NotKnown);
    // Bare for 0.3 s: a band of 0.15 s leaves the word, one of 0.25 s takes it.
    let bare = dip(0.02, 0.2, 0.3);
    assert_eq!(of(&bare, bands(0.001, Some(0.15))).word, Word::Stop);
    let unsure = of(&bare, bands(0.001, Some(0.25)));
    assert_eq!(unsure.word, Word::NotKnown, "{}", unsure.sentence);
    assert!(
        unsure.sentence.contains("0.06 s to 0.56 s"),
        "{}",
        unsure.sentence
    );
    assert_eq!((unsure.band, unsure.air_band), (0.001, Some(2e-5)));
    // Covered on the finest grid, bare on a coarser one.
    let maybe = of(&covered, bands(0.001, Some(0.2)));
    assert_eq!(maybe.word, Word::NotKnown, "{}", maybe.sentence);
    assert!(maybe.sentence.contains("0.00 s to 0.20 s"), "{}", maybe.sentence);
    let poisoned = of(&covered, bands(f64::NAN, None));
    assert_eq!(poisoned.word, Word::NotKnown);
    assert!(
        poisoned.sentence.starts_with("Not known"),
        "{}",
        poisoned.sentence
    );
}

#[test]
fn a_mirrored_history_gives_mirrored_words() {
    let swapped = |text: &str| {
        text.replace("left", "#")
            .replace("right", "left")
            .replace('#', "right")
    };
    let history = dip(0.02, 0.2, 0.8);
    let limits = Limits::default();
    let at = |_: f64| "at 612 m".to_string();
    let (words, mirrored_words) = (pan("left", "right"), pan("right", "left"));
    let moment = |name, pushed| MomentHistory {
        name,
        pushed,
        start: 1.0,
        end: 5.5,
        history: &history,
        place: &at,
        bands: None,
    };
    let with = |pan| Judging {
        limits: &limits,
        band: 0.001,
        pan,
        laps: &[],
        order: UnitOrder::InchFirst,
    };
    let one = judge(&[moment("long left", "right")], &with(&words));
    let other = judge(&[moment("long right", "left")], &with(&mirrored_words));
    assert_eq!(other.sentence, swapped(&one.sentence));
    assert_ne!(other.sentence, one.sentence);
    assert_eq!(other.word, one.word);
}

#[test]
fn the_worst_moment_speaks_and_the_rest_are_ranked() {
    let (deep, thin, bare) = (dip(0.05, 0.02, -3.0), dip(0.02, 0.2, -0.05), dip(0.02, 0.2, 0.8));
    let limits = Limits::default();
    let words = pan("left", "right");
    let at = |_: f64| String::new();
    let moment = |name, history| MomentHistory {
        name,
        pushed: "front",
        start: 1.0,
        end: 5.5,
        history,
        place: &at,
        bands: None,
    };
    let with = Judging {
        limits: &limits,
        band: 0.001,
        pan: &words,
        laps: &[(0.0, 6.0)],
        order: UnitOrder::MetricFirst,
    };
    let verdict = judge(
        &[
            moment("launch", &deep),
            moment("hard braking", &bare),
            moment("chicane", &thin),
        ],
        &with,
    );
    let order: Vec<&str> = verdict.moments.iter().map(|m| m.name.as_str()).collect();
    assert_eq!(order, ["hard braking", "chicane", "launch"]);
    assert!(
        verdict
            .sentence
            .starts_with("Under hard braking the mouth is bare"),
        "{}",
        verdict.sentence
    );
    assert_eq!(verdict.first_air, Some(2.1));
}

#[test]
fn air_is_counted_lap_by_lap() {
    let history = dip(0.02, 0.2, 1.0);
    let at = |_: f64| String::new();
    let moment = || MomentHistory {
        name: "long left",
        pushed: "right",
        start: 1.0,
        end: 5.5,
        history: &history,
        place: &at,
        bands: None,
    };
    // The gulp runs from 2.1 s to 3.1 s; a lap ends at 2.5 s.
    let (per_lap, band) = air_per_lap(&[moment()], &[(0.0, 2.5), (2.5, 6.0)]);
    assert!((per_lap - 0.6 * DEMAND).abs() < 0.02 * DEMAND, "{per_lap}");
    assert_eq!(band, None, "no moment was computed on several grids");
}

#[test]
fn oil_lost_to_the_engine_and_a_pan_without_walls_are_said() {
    let mut history = dip(0.02, 0.2, 0.8);
    for row in 0..history.len() {
        let gone = history.spaces[row][1] - 0.5e-3;
        history.spaces[row] = vec![3e-3 - 0.4 * gone];
        history.ledger[row] = Ledger {
            pan: 3e-3 - 0.4 * gone,
            engine: 1e-3 + 0.4 * gone,
            in_flight: 0.0,
        };
        history.doors[row].clear();
    }
    let words = PanWords {
        spaces: vec![SpaceWords {
            name: "pan".into(),
            has_mouth: true,
        }],
        ..PanWords::default()
    };
    let at = |_: f64| "at 88 m".to_string();
    let moment = MomentHistory {
        name: "launch",
        pushed: "rear",
        start: 1.0,
        end: 5.5,
        history: &history,
        place: &at,
        bands: None,
    };
    let limits = Limits::default();
    let with = Judging {
        limits: &limits,
        band: 0.001,
        pan: &words,
        laps: &[],
        order: UnitOrder::MetricFirst,
    };
    let reason = judge(&[moment], &with).reason;
    assert_eq!(
        reason,
        "the oil lies to the rear of the mouth and 0.76 L (0.80 qt) more is up in the engine"
    );
}

#[test]
fn oil_at_the_crank_is_a_watch_that_says_so() {
    let mut history = dip(0.05, 0.02, -3.0);
    history.at_crank[300] = 0.2e-3;
    let verdict = verdict_of(&history, 0.001, &Limits::default());
    assert_eq!(verdict.word, Word::Watch);
    assert!(
        verdict.sentence.contains("reaches the crank"),
        "{}",
        verdict.sentence
    );
    assert_eq!(verdict.most_at_crank, 0.2e-3);
}

#[test]
fn nothing_computed_or_something_poisoned_is_not_known() {
    let history = dip(0.02, 0.2, 0.8);
    let limits = Limits::default();
    let words = pan("left", "right");
    let with = Judging {
        limits: &limits,
        band: 0.001,
        pan: &words,
        laps: &[],
        order: UnitOrder::MetricFirst,
    };
    assert_eq!(judge(&[], &with).word, Word::NotKnown);
    assert_eq!(serde_json::to_string(&Word::NotKnown).unwrap(), "\"not_known\"");
    let mut poisoned = history.clone();
    poisoned.cover[250] = f64::NAN;
    for verdict in [
        verdict_of(&poisoned, 0.001, &limits),
        verdict_of(&history, f64::NAN, &limits),
        verdict_of(
            &history,
            0.001,
            &Limits {
                longest_gulp: f64::NAN,
                ..limits
            },
        ),
        verdict_of(&CoverHistory::default(), 0.001, &limits),
    ] {
        assert_eq!(verdict.word, Word::NotKnown);
        assert!(verdict.sentence.starts_with("Not known:"), "{}", verdict.sentence);
    }
}
