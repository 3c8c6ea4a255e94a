//! Logs as loggers write them, right and wrong, and what is made of them.

use measure::STANDARD_GRAVITY as G;
use proptest::prelude::*;
use std::f64::consts::TAU;
use sumpwright_drive::log::{Channel, ChannelChoice, LogFault, LogOptions, Trouble, read};
use sumpwright_drive::table::TableFault;
use sumpwright_drive::{Drive, Gearing};

fn options() -> LogOptions {
    LogOptions {
        engine: Some(Gearing::Constant(80.0)),
        ..Default::default()
    }
}

fn good(text: &str) -> Drive {
    let d = read(text.as_bytes(), &options()).unwrap_or_else(|f| panic!("{f:?}"));
    d.check().unwrap();
    d
}

fn faults(text: &str) -> Vec<LogFault> {
    read(text.as_bytes(), &options()).unwrap_err()
}

fn said(d: &Drive, words: &str) -> bool {
    d.said.iter().any(|s| s.contains(words))
}

/// A drive known in full: laps of an ellipse-like road, speed rising and falling. Car frame, SI.
struct Truth {
    rate: f64,
    seconds: f64,
}

/// Head of a column and what stands in it.
type Column<'a> = (&'a str, &'a dyn Fn(&Row) -> f64);

struct Row {
    t: f64,
    v: f64,
    ax: f64,
    ay: f64,
    az: f64,
    yaw: f64,
    x: f64,
    y: f64,
    lap: usize,
}

impl Truth {
    fn rows(&self) -> Vec<Row> {
        let (n, dt) = ((self.rate * self.seconds) as usize, 1.0 / self.rate);
        let (mut x, mut y, mut heading) = (0.0, 0.0, 0.0_f64);
        let lap = 40.0;
        (0..=n)
            .map(|i| {
                let t = i as f64 * dt;
                let w = TAU / lap;
                let v = 25.0 + 8.0 * (3.0 * w * t).sin();
                let ax = 8.0 * 3.0 * w * (3.0 * w * t).cos();
                // Turning left by one whole turn each lap, with bends to the right in between.
                let yaw = w * (1.0 + 2.5 * (2.0 * w * t).sin());
                let row = Row {
                    t,
                    v,
                    ax,
                    ay: v * yaw,
                    az: 0.3 * (5.0 * w * t).sin(),
                    yaw,
                    x,
                    y,
                    lap: 1 + (t / lap) as usize,
                };
                x += v * heading.cos() * dt;
                y += v * heading.sin() * dt;
                heading += yaw * dt;
                row
            })
            .collect()
    }

    /// A log with the given columns: header, and value from a row.
    fn log(&self, columns: &[Column]) -> String {
        let line = |cells: Vec<String>| cells.join(",") + "\n";
        let head = line(columns.iter().map(|c| c.0.to_owned()).collect());
        head + &self
            .rows()
            .iter()
            .map(|r| line(columns.iter().map(|c| format!("{:.5}", c.1(r))).collect()))
            .collect::<String>()
    }
}

const TRUTH: Truth = Truth {
    rate: 20.0,
    seconds: 120.0,
};

/// The usual columns with signs and unit of the three accelerations to choose.
fn usual(forward: f64, left: f64, yaw: f64, unit: &str, size: f64) -> String {
    let names = ["accel_x", "accel_y", "accel_z"].map(|n| format!("{n}{unit}"));
    TRUTH.log(&[
        ("time_s", &|r| r.t),
        ("speed_km_per_h", &|r| r.v * 3.6),
        (&names[0], &move |r| forward * r.ax * size),
        (&names[1], &move |r| left * r.ay * size),
        (&names[2], &move |r| (r.az + G) * size),
        ("yaw rate (deg/s)", &move |r| yaw * r.yaw.to_degrees()),
    ])
}

/// Largest difference of apparent gravity from the truth, away from the ends [m/s²].
fn off(d: &Drive) -> f64 {
    TRUTH
        .rows()
        .iter()
        .filter(|r| r.t > 1.0 && r.t < TRUTH.seconds - 1.0)
        .map(|r| (d.at(r.t).gravity - glam::DVec3::new(-r.ax, -r.ay, -r.az - G)).length())
        .fold(0.0, f64::max)
}

/// The truth changes at 0.1 Hz or less, where a 5 Hz low-pass takes 1e-6; figures are rounded to 1e-5 g.
#[test]
fn a_clean_log_reads_as_the_drive_it_was_written_from() {
    let d = good(&usual(1.0, 1.0, 1.0, "_g", 1.0 / G));
    assert!(off(&d) < 1e-3, "{}", off(&d));
    let m = d.at(33.3);
    let r = &TRUTH.rows()[666];
    assert!((m.spin.z - r.yaw).abs() < 1e-4 && (d.speed_at(33.3) - r.v).abs() < 1e-4);
    assert!(said(&d, "low-passed at 5.00 Hz") && said(&d, "gravity is in it"));
}

#[test]
fn turned_signs_are_found_from_the_evidence_and_said() {
    for (forward, left) in [(-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
        let d = good(&usual(forward, left, 1.0, "_g", 1.0 / G));
        assert!(off(&d) < 1e-3, "{forward} {left}: {}", off(&d));
        assert!(said(&d, "it was turned over"));
    }
}

#[test]
fn a_log_written_in_a_mirror_reads_as_the_mirrored_drive() {
    let (d, m) = (
        good(&usual(1.0, 1.0, 1.0, "_g", 1.0 / G)),
        good(&usual(1.0, -1.0, -1.0, "_g", 1.0 / G)),
    );
    let mirrored = d.mirrored();
    for i in 0..d.time.len() {
        assert!((mirrored.gravity[i] - m.gravity[i]).length() < 1e-9);
        assert!((mirrored.spin.as_ref().unwrap()[i] - m.spin.as_ref().unwrap()[i]).length() < 1e-9);
    }
}

#[test]
fn a_place_in_the_log_proves_left_from_right() {
    let log = TRUTH.log(&[
        ("time", &|r| r.t),
        ("x_m", &|r| r.x),
        ("y_m", &|r| r.y),
        ("Long acc (m/s2)", &|r| -r.ax),
        ("Lat acc (m/s2)", &|r| -r.ay),
        ("Yaw rate", &|r| -r.yaw.to_degrees()),
    ]);
    let d = good(&log);
    // Without vertical acceleration the road is flat.
    let worst = TRUTH
        .rows()
        .iter()
        .filter(|r| r.t > 2.0 && r.t < 118.0)
        .map(|r| (d.at(r.t).gravity.y + r.ay).abs())
        .fold(0.0, f64::max);
    assert!(worst < 1e-3, "{worst}");
    assert!((d.at(50.0).spin.z - TRUTH.rows()[1000].yaw).abs() < 1e-3);
    assert!(said(&d, "The place confirms the side") && said(&d, "speed; it is taken from the place"));
}

#[test]
fn units_that_the_file_leaves_open_are_taken_from_the_numbers_and_said() {
    let d = good(&usual(1.0, 1.0, 1.0, "", 1.0 / G));
    assert!(off(&d) < 1e-3 && said(&d, "read in g, as it is not given"));
    let d = good(&usual(1.0, 1.0, 1.0, "", 1.0));
    assert!(off(&d) < 1e-3 && said(&d, "read in m/s2, as it is not given"));
    let log = TRUTH.log(&[
        ("time", &|r| r.t * 1000.0),
        ("speed", &|r| r.v / 0.44704),
        ("ax", &|r| r.ax),
        ("ay", &|r| r.ay),
        ("yaw rate", &|r| r.yaw),
        ("rpm", &|_| 6000.0),
    ]);
    let d = good(&log);
    assert!(
        said(&d, "read in mph") && said(&d, "milliseconds") && said(&d, "read in rad/s"),
        "{:#?}",
        d.said
    );
    assert!(
        (d.speed_at(10.0) - TRUTH.rows()[200].v).abs() < 1e-3
            && (d.at(10.0).engine_speed - 100.0).abs() < 1e-9
    );
}

#[test]
fn metres_a_second_squared_under_a_head_that_says_g_are_a_fault() {
    let f = faults(&usual(1.0, 1.0, 1.0, "_g", 1.0));
    assert!(
        f.iter()
            .all(|f| matches!(f.trouble, Trouble::UnitContradicted { likely: "m/s2", .. }))
            && f.len() >= 2,
        "{f:?}"
    );
    assert!(f[0].mend().contains("m/s2"));
    let f = faults(&usual(1.0, 1.0, 1.0, "_m_per_s2", 1.0 / G));
    assert!(
        f.iter()
            .any(|f| matches!(f.trouble, Trouble::UnitContradicted { likely: "g", .. })),
        "{f:?}"
    );
    // The user's word over the header's.
    let mut o = options();
    for (channel, column) in [
        (Channel::Longitudinal, "accel_x_g"),
        (Channel::Lateral, "ACCEL_Y_G"),
        (Channel::Vertical, "#5"),
    ] {
        o.channels.insert(
            channel,
            ChannelChoice {
                column: column.into(),
                unit: Some("m/s2".into()),
                sign: None,
            },
        );
    }
    let d = read(usual(1.0, 1.0, 1.0, "_g", 1.0).as_bytes(), &o).unwrap();
    assert!(off(&d) < 1e-3);
}

#[test]
fn a_sign_stated_by_the_user_is_kept_and_yaw_follows_it() {
    let mut o = options();
    o.channels.insert(
        Channel::Lateral,
        ChannelChoice {
            column: "accel_y_g".into(),
            unit: None,
            sign: Some(-1.0),
        },
    );
    let d = read(usual(1.0, -1.0, -1.0, "_g", 1.0 / G).as_bytes(), &o).unwrap();
    assert!(off(&d) < 1e-3);
    assert!((d.at(33.3).spin.z - TRUTH.rows()[666].yaw).abs() < 1e-4);
    o.channels.insert(
        Channel::Lateral,
        ChannelChoice {
            column: "accel_y_g".into(),
            unit: None,
            sign: Some(2.0),
        },
    );
    assert!(matches!(
        read(usual(1.0, 1.0, 1.0, "_g", 1.0 / G).as_bytes(), &o).unwrap_err()[0].trouble,
        Trouble::Sign { .. }
    ));
}

#[test]
fn exchanged_columns_are_a_fault() {
    let log = TRUTH.log(&[
        ("time_s", &|r| r.t),
        ("speed_m_per_s", &|r| r.v),
        ("lateral_g", &|r| r.ax / G),
        ("longitudinal_g", &|r| r.ay / G),
    ]);
    assert!(
        matches!(
            faults(&log).as_slice(),
            [LogFault {
                trouble: Trouble::Exchanged { .. },
                line: Some(1),
                column: Some(3)
            }]
        ),
        "{:?}",
        faults(&log)
    );
}

#[test]
fn gaps_are_closed_when_short_and_refused_when_long() {
    let clean = usual(1.0, 1.0, 1.0, "_g", 1.0 / G);
    let lines: Vec<&str> = clean.lines().collect();
    let blank = |from: usize, to: usize, column: usize| {
        let cut = |l: &str| {
            l.split(',')
                .enumerate()
                .map(|(c, cell)| if c == column { "NaN" } else { cell })
                .collect::<Vec<_>>()
                .join(",")
        };
        let rows = lines.iter().enumerate().map(|(i, l)| {
            if (from..to).contains(&i) {
                cut(l)
            } else {
                (*l).to_owned()
            }
        });
        rows.collect::<Vec<String>>().join("\n")
    };
    let d = good(&blank(500, 505, 3));
    assert!(said(&d, "5 missing value(s) were filled") && said(&d, "the first on line 501"));
    assert!(off(&d) < 0.05);
    let f = faults(&blank(500, 530, 3));
    assert!(
        matches!(
            f.as_slice(),
            [LogFault {
                trouble: Trouble::Gap {
                    channel: Channel::Lateral,
                    ..
                },
                line: Some(500),
                column: Some(4),
            }]
        ),
        "{f:?}"
    );
    let missing = [&lines[..700], &lines[760..]].concat().join("\n");
    assert!(matches!(
        faults(&missing).as_slice(),
        [LogFault {
            trouble: Trouble::Gap {
                channel: Channel::Time,
                ..
            },
            line: Some(700),
            column: Some(1),
        }]
    ));
}

#[test]
fn spikes_are_replaced_and_said_with_their_line() {
    let clean = usual(1.0, 1.0, 1.0, "_g", 1.0 / G);
    let mut lines: Vec<String> = clean.lines().map(String::from).collect();
    let mut cells: Vec<String> = lines[900].split(',').map(String::from).collect();
    cells[3] = "7.5".into();
    lines[900] = cells.join(",");
    let d = good(&lines.join("\n"));
    assert!(said(&d, "1 spike(s) replaced") && said(&d, "the first on line 901"));
    assert!(off(&d) < 0.05, "{}", off(&d));
}

#[test]
fn laps_come_from_the_number_from_the_distance_or_from_the_place() {
    let base: [Column; 4] = [
        ("time_s", &|r| r.t),
        ("speed_m_per_s", &|r| r.v),
        ("accel_x_g", &|r| r.ax / G),
        ("accel_y_g", &|r| r.ay / G),
    ];
    let with = |more: &[Column]| good(&TRUTH.log(&[&base, more].concat()));
    let d = with(&[("Lap", &|r| r.lap as f64)]);
    assert_eq!(
        d.laps.iter().map(|l| l.name.as_str()).collect::<Vec<_>>()[..3],
        ["lap 1", "lap 2", "lap 3"]
    );
    assert!((d.laps[1].start - 40.0).abs() < 0.06 && (d.laps[1].end - 80.0).abs() < 0.06);
    let d = with(&[("distance_m", &|r| (r.t % 40.0) * 25.0)]);
    assert_eq!(d.laps.len(), 3);
    assert!((d.laps[1].start - 40.0).abs() < 0.06);
    let d = with(&[
        ("pos_x_m", &|r| 100.0 * (r.t * TAU / 40.0).cos()),
        ("pos_y_m", &|r| 100.0 * (r.t * TAU / 40.0).sin()),
    ]);
    assert!(d.laps.len() >= 2, "{:?}", d.laps);
    assert!(
        d.laps.iter().all(|l| (l.end - l.start - 40.0).abs() < 0.2),
        "{:?}",
        d.laps
    );
    assert_eq!(with(&[]).laps.len(), 1);
}

#[test]
fn each_wrong_log_gets_its_own_fault_with_place_and_mending() {
    let row = |i: usize| format!("{i},0.1,0.2\n");
    let rows = |n: usize| (0..n).map(row).collect::<String>();
    let first = |text: &str| {
        let f = faults(text).remove(0);
        assert!(!f.to_string().is_empty() && !f.mend().is_empty());
        f
    };
    /// What is wrong, and on which line and column.
    macro_rules! told {
        ($text:expr, $trouble:pat, $line:expr, $column:expr) => {
            let f = first($text);
            assert!(
                matches!(f.trouble, $trouble) && (f.line, f.column) == ($line, $column),
                "{f:?}"
            );
        };
    }
    told!("", Trouble::Table(TableFault::Empty), None, None);
    assert!(matches!(
        read(&[0x50, 0x4b, 3, 4, 0, 0, 1], &options()).unwrap_err()[0].trouble,
        Trouble::Table(TableFault::Recognised { .. })
    ));
    let missing = |channel| move |f: &LogFault| matches!(&f.trouble, Trouble::Missing { channel: c, .. } if *c == channel);
    assert!(missing(Channel::Time)(&first(
        &("ax_g,ay_g,x\n".to_owned() + &rows(20))
    )));
    let f = first(&("time,speed (km/h),oil\n".to_owned() + &rows(20)));
    assert!(missing(Channel::Longitudinal)(&f) && f.line == Some(1), "{f:?}");
    told!(
        &("time,ay (g),ay (g)\n".to_owned() + &rows(20)),
        Trouble::Duplicate {
            channel: Channel::Lateral,
            first: 2,
            second: 3,
            ..
        },
        Some(1),
        Some(3)
    );
    told!(&rows(20), Trouble::NoHeader, Some(1), None);
    let short = "time,ax_g,ay_g\n".to_owned() + &rows(4);
    told!(&short, Trouble::TooShort { samples: 4, .. }, Some(5), Some(2));
    let back = "time,ax_g,ay_g\n".to_owned() + &rows(20) + &row(5);
    told!(&back, Trouble::Sessions { .. }, Some(22), None);
    let still = "time,ax_g,ay_g\n".to_owned() + &"5,0.1,0.2\n".repeat(20);
    told!(&still, Trouble::TimeNotRising { .. }, Some(21), Some(1));
    let words = "time,ax_g,ay_g\n".to_owned() + &rows(20) + "20,abc,0.1\n" + &row(21);
    told!(&words, Trouble::NotANumber { .. }, Some(22), Some(2));
    let unit = "time,lateral acceleration,ax_g\n[s],[furlong],[g]\n".to_owned() + &rows(20);
    told!(
        &unit,
        Trouble::Unit {
            channel: Channel::Lateral,
            ..
        },
        Some(2),
        Some(2)
    );
    let dense = "time_s,ax_g,ay_g\n".to_owned()
        + &(0..200)
            .map(|i| {
                format!(
                    "{},0.1,0.2\n",
                    if i < 150 { i as f64 * 1e-3 } else { i as f64 * 0.4 }
                )
            })
            .collect::<String>();
    told!(&dense, Trouble::Uneven { .. }, Some(201), Some(1));
    let huge = "time_s,ax_g,ay_g,speed_m_per_s\n".to_owned()
        + &(0..20)
            .map(|i| format!("{i},0.1,0.2,1e308\n"))
            .collect::<String>();
    told!(&huge, Trouble::OutOfBounds(_), None, None);
    let plain = "time_s,ax_g,ay_g\n".to_owned() + &rows(20);
    assert_eq!(
        read(plain.as_bytes(), &LogOptions::default()).unwrap_err()[0].trouble,
        Trouble::NoEngineSpeed
    );
    let ratio = Gearing::Ratio {
        turns_per_metre: 2.0,
        idle: 15.0,
    };
    let stated = LogOptions {
        engine: Some(ratio),
        ..options()
    };
    assert_eq!(
        read(plain.as_bytes(), &stated).unwrap_err()[0].trouble,
        Trouble::NoRoadSpeed
    );
    let mut o = options();
    o.channels.insert(
        Channel::Lateral,
        ChannelChoice {
            column: "sideways".into(),
            unit: None,
            sign: None,
        },
    );
    assert!(matches!(
        read(plain.as_bytes(), &o).unwrap_err()[0].trouble,
        Trouble::NoColumn { .. }
    ));
}

/// Ten rows of a real road drive at 1 Hz (data set nds_data, drive 6, of the R package DrivePlotR, repository
/// hardtme/DrivePlotR, commit f4c44bc7d0cb, MIT licence, copyright 2024 M. Hardt), repeated with time running on; the
/// recorder's engine column was empty at first.
#[test]
fn a_slow_road_log_with_an_empty_engine_column_reads() {
    let row = |i: usize| {
        let (v, ax, ay, az) = [(0.0977, 0.061, 0.04, 0.993), (0.0720, 0.056, 0.047, 0.99)][i % 2];
        format!("{i},{v},{ax},{ay},{az},0.06,,\n")
    };
    let log = "time_s,speed_m_per_s,accel_x_g,accel_y_g,accel_z_g,gyro_z_deg_per_s,engine_rpm,throttle_pct\n"
        .to_owned()
        + &(0..30).map(row).collect::<String>();
    let d = good(&log);
    assert!(
        said(&d, "'engine_rpm' (engine speed) is empty")
            && said(&d, "No low-pass")
            && said(&d, "while the car stands")
    );
    assert!(
        said(&d, "+0.058 g forward") || said(&d, "+0.059 g forward"),
        "{:#?}",
        d.said
    );
}

#[test]
fn a_crooked_sensor_is_set_straight_on_wish() {
    // Ten seconds of standing before the drive, all with 0.05 g across.
    let still = (0..200)
        .map(|i| format!("{:.2},0,0,0.05,1,0\n", i as f64 * 0.05))
        .collect::<String>();
    let moving = TRUTH
        .rows()
        .iter()
        .map(|r| {
            format!(
                "{:.2},{:.4},{:.5},{:.5},{:.5},{:.5}\n",
                r.t + 10.0,
                r.v,
                r.ax / G,
                r.ay / G + 0.05,
                r.az / G + 1.0,
                r.yaw.to_degrees()
            )
        })
        .collect::<String>();
    let log = "time_s,speed_m_per_s,ax_g,ay_g,az_g,yaw_rate_deg_per_s\n".to_owned() + &still + &moving;
    let read_with = |remove_offset| {
        let options = LogOptions {
            remove_offset,
            ..options()
        };
        read(log.as_bytes(), &options).unwrap()
    };
    // Left to itself the reader takes it out, as standing and driving agree on it; a user may have it either way.
    for (wish, left, words) in [
        (None, 0.0, "; it was taken out."),
        (Some(true), 0.0, "it was taken out, as asked"),
        (Some(false), 0.05 * G, "it was left in, as asked"),
    ] {
        let d = read_with(wish);
        let off = d.at(5.0).gravity.y + left;
        assert!(
            off.abs() < 0.003 * G && said(&d, words),
            "{wish:?}: {off}\n{:#?}",
            d.said
        );
    }
}

/// A box on its side, wired so that its first axis points down and its third to the left.
fn on_its_side(columns: &[Column]) -> String {
    let base: [Column; 5] = [
        ("time_s", &|r| r.t),
        ("accel_x_g", &|r| -(r.az / G + 1.0)),
        ("accel_y_g", &|r| -r.ax / G),
        ("accel_z_g", &|r| r.ay / G),
        ("rpm", &|_| 5000.0),
    ];
    TRUTH.log(&[&base, columns].concat())
}

#[test]
fn a_box_that_lies_over_is_set_straight_with_its_angles_or_asked_for_by_name() {
    let gyro: [Column; 3] = [
        ("gyro_x (deg/s)", &|r| -r.yaw.to_degrees()),
        ("gyro_y (deg/s)", &|_| 0.0),
        ("gyro_z (deg/s)", &|_| 0.0),
    ];
    let speed: Column = ("speed_m_per_s", &|r| r.v);
    let d = good(&on_its_side(&[gyro[0], gyro[1], gyro[2], speed]));
    assert!(
        off(&d) < 0.02 * G && said(&d, "The sensor box sits turned"),
        "{}",
        off(&d)
    );
    assert!((d.at(33.3).spin.z - TRUTH.rows()[666].yaw).abs() < 2e-3);
    // The words it offers give the same when stated, and do without the speed.
    let offered = d
        .said
        .iter()
        .find_map(|s| s.split_once("log_turned = "))
        .expect("it is offered")
        .1;
    let angle = |name: &str| -> f64 {
        let (_, rest) = offered.split_once(name).expect("all three are there");
        let number = rest
            .trim_start_matches([' ', '=', '"'])
            .split(' ')
            .next()
            .unwrap_or("");
        number.parse::<f64>().expect("a number").to_radians()
    };
    let stated = LogOptions {
        turned: Some(["roll", "pitch", "yaw"].map(angle)),
        ..options()
    };
    let d = read(on_its_side(&gyro).as_bytes(), &stated).unwrap();
    assert!(off(&d) < 0.02 * G, "{}", off(&d));
    // Without speed nothing shows which way is forward.
    for columns in [&gyro[..], &[]] {
        let f = faults(&on_its_side(columns)).remove(0);
        assert!(
            matches!(f.trouble, Trouble::Turned { .. }) && f.column == Some(4),
            "{f:?}"
        );
        assert!(f.mend().contains("log_turned = {"), "{}", f.mend());
    }
    // With speed and no turning rate forward is seen, left is not.
    let f = faults(&on_its_side(&[speed])).remove(0);
    assert!(matches!(f.trouble, Trouble::Turned { .. }), "{f:?}");
}

/// Two sessions pasted together: 1.6 g to the left on one row, 1.6 g to the right on the next.
#[test]
fn a_jump_is_refused_with_its_line_and_a_quick_driver_is_not() {
    let rows = |lateral: &dyn Fn(f64) -> f64| {
        let mut text = String::from("time_s,speed_m_per_s,ax_g,ay_g,yaw_rate_deg_per_s\n");
        for i in 0..400 {
            let t = f64::from(i) * 0.05;
            let g = lateral(t);
            text += &format!(
                "{t:.2},30,{:.3},{g:.4},{:.3}\n",
                0.02 * t.cos(),
                (g * G / 30.0).to_degrees()
            );
        }
        text
    };
    let pasted = rows(&|t| if t < 10.0 { 1.6 } else { -1.6 });
    let faults = read(pasted.as_bytes(), &options()).unwrap_err();
    let jump = faults
        .iter()
        .find(|f| matches!(f.trouble, Trouble::Jump { .. }))
        .expect("it is found");
    // Row of 10.00 s is the 201st, under one line of names; the low-pass spreads it over a few.
    assert!(
        jump.line.is_some_and(|line| (200..=205).contains(&line)),
        "{:?}",
        jump.line
    );
    assert!(jump.to_string().contains("up to 2.0 g in 0.1 s"), "{jump}");
    assert!(jump.mend().contains("cut the log"), "{}", jump.mend());
    // Left to right, 1.6 g each way, in 0.4 s: as quick as a slalom gets.
    let slalom = rows(&|t| 1.6 * ((t - 10.0) / 0.2).clamp(-1.0, 1.0));
    assert!(
        read(slalom.as_bytes(), &options()).is_ok(),
        "{:?}",
        read(slalom.as_bytes(), &options())
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes, &options());
        let _ = sumpwright_drive::course::Course::read(&bytes, &Default::default());
    }

    #[test]
    fn random_tables_never_panic_and_never_give_numbers_that_are_none(
        head in prop::sample::subsequence(vec!["time", "ax", "ay", "az", "speed", "yaw rate", "rpm", "x", "y", "Lap", "distance"], 2..=11),
        cells in prop::collection::vec(prop_oneof![4 => (-30.0..30.0f64).prop_map(|v| format!("{v:.2}")), 1 => "[0-9a-z,;.:\\-]{0,4}"], 0..300),
        rising in any::<bool>(),
    ) {
        let width = head.len();
        let rows = cells.chunks_exact(width).enumerate().map(|(i, c)| {
            let mut c = c.to_vec();
            if rising { c[0] = format!("{}", i as f64 * 0.5); }
            c.join(",")
        });
        let text = std::iter::once(head.join(",")).chain(rows).collect::<Vec<_>>().join("\n");
        if let Ok(d) = read(text.as_bytes(), &options()) {
            d.check().unwrap();
        }
    }
}
