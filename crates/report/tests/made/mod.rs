//! Made-up findings of a made-up pan: plausible enough to look at, computed by nobody.

mod cards;
mod feed;
mod seal;

use glam::{DVec2, DVec3};
use measure::STANDARD_GRAVITY as G;
use pan::{Cavity, Door, Hinge, Lattice, Mouth, Opening, Outline, Pan, Plate, PlateShape, Pocket, Side};
use pickup::convergence::{OnGrid, estimate};
use pickup::{CoverHistory, GridStudy, Ledger, Word};
use sumpwright_report::findings::*;
use sumpwright_report::replay::{ReplayBundle, ReplayFrame, ReplayMoment, parts_of};
use sumpwright_report::section;

fn pocket(name: &str, low: [f64; 2], high: [f64; 2], z: [f64; 2]) -> Pocket {
    Pocket {
        name: name.into(),
        side: Side::Pan,
        outline: Outline::rectangle(DVec2::from(low), DVec2::from(high)),
        z_low: z[0],
        z_high: z[1],
        draft: 0.0,
        corner_radius: 0.02,
        floor_radius: 0.0,
    }
}

/// A study of three grids: cover closes in, bare time swings, air runs apart.
fn grids() -> GridStudy {
    let on = |values: [f64; 3]| {
        let cells = [0.0050, 0.0061, 0.0074];
        let grids: Vec<OnGrid> = (cells.into_iter().zip(values))
            .map(|(cell, value)| OnGrid { cell, value })
            .collect();
        estimate(&grids).expect("sound grids")
    };
    GridStudy {
        least_cover: on([0.0100, 0.0112, 0.0130]),
        longest_bare: on([0.12, 0.16, 0.10]),
        air: on([20e-6, 28e-6, 31e-6]),
        air_share: on([0.020, 0.028, 0.031]),
        worst_second: on([0.08, 0.10, 0.11]),
    }
}

fn wall(name: &str, x: f64) -> Plate {
    Plate {
        name: name.into(),
        shape: PlateShape::Wall {
            path: vec![DVec2::new(x, -0.13), DVec2::new(x, 0.13)],
            z_low: -0.16,
            z_high: -0.07,
        },
        thickness: 0.002,
        openings: vec![Opening::Hole {
            at: DVec2::new(0.05, -0.09),
            diameter: 0.02,
        }],
        perforation: 0.0,
        perforation_hole: 0.0,
    }
}

/// A well with a shallow tray in front of it, two walls and a door.
pub fn pan() -> Pan {
    let cavity = Cavity::from_pockets(&[
        pocket("well", [-0.2, -0.13], [0.08, 0.13], [-0.16, 0.0]),
        pocket("tray", [0.05, -0.11], [0.3, 0.11], [-0.06, 0.0]),
        Pocket {
            side: Side::Block,
            ..pocket("block", [-0.2, -0.13], [0.3, 0.13], [0.0, 0.03])
        },
    ])
    .expect("the pockets are sound");
    let door = |name: &str, plate: usize, opens_positive: bool| Door {
        name: name.into(),
        plate,
        low: DVec2::new(0.11, -0.155),
        high: DVec2::new(0.16, -0.115),
        hinge: Hinge::Top,
        opens_positive,
        mass: 0.02,
        stop: 1.0,
        gap: 0.0005,
        density: 2700.0,
        spring: [0.0; 2],
    };
    Pan {
        cavity,
        plates: vec![wall("wall A", -0.11), wall("wall B", 0.0)],
        doors: vec![door("door 1", 0, false), door("door 2", 1, true)],
        mouth: Mouth {
            at: DVec3::new(-0.055, 0.0, -0.15),
            diameter: 0.03,
            outside: 0.033,
        },
        returns: vec![],
        crank: None,
    }
}

/// Cells by asking their centres; good enough for pictures.
pub fn lattice(pan: &Pan, cell: f64) -> Lattice {
    let (low, high) = pan.cavity.bounds();
    let n = ((high - low) / cell).ceil().to_array().map(|v| v as usize);
    let mut l = Lattice {
        n,
        cell,
        origin: low,
        open_volume: vec![],
        open_area: [vec![], vec![], vec![]],
        screens: vec![],
        doors: vec![],
        mouth: vec![],
        mouth_at: pan.mouth.at,
        returns: vec![],
        space_of: vec![],
        spaces: vec![],
        crank_share: vec![],
    };
    let places = (0..n[2]).flat_map(|k| (0..n[1]).flat_map(move |j| (0..n[0]).map(move |i| (i, j, k))));
    l.open_volume = places
        .map(|(i, j, k)| f64::from(u8::from(pan.cavity.contains(l.centre(i, j, k)))))
        .collect();
    l
}

/// A surface that leans and rocks.
fn fill_at(l: &Lattice, lean: f64, level: f64) -> Vec<u8> {
    let places = (0..l.n[2]).flat_map(|k| (0..l.n[1]).flat_map(move |j| (0..l.n[0]).map(move |i| (i, j, k))));
    places
        .enumerate()
        .map(|(c, (i, j, k))| {
            let p = l.centre(i, j, k);
            let surface =
                level - lean * p.y + 0.1 * lean * (p.x + 0.05) + 0.004 * (40.0 * p.x + 9.0 * lean).sin();
            let share = ((surface - p.z) / l.cell + 0.5).clamp(0.0, 1.0);
            if l.open_volume[c] > 0.0 {
                (share * 255.0) as u8
            } else {
                0
            }
        })
        .collect()
}

fn lean_at(t: f64) -> f64 {
    1.1 * (0.5 - 0.5 * (1.3 * t).cos()) + 0.08 * (7.0 * t).sin()
}

fn instant(time: f64, place: &str) -> Instant {
    Instant {
        time,
        place: place.into(),
    }
}

/// One moment from `start`, `deep` scales how bad it is.
fn moment(rank: usize, name: &str, start: f64, deep: f64, pan: &Pan, l: &Lattice) -> (Moment, ReplayMoment) {
    let rows = 400;
    let mut h = CoverHistory::default();
    let mut air = 0.0;
    for i in 0..rows {
        let t = i as f64 * 0.012;
        let cover = (0.034 - 0.036 * deep * lean_at(t)).max(0.0);
        air += if cover == 0.0 { 2.1e-6 } else { 0.0 };
        h.time.push(start + t);
        h.cover.push(cover);
        h.demand.push(4e-4);
        h.air.push(air);
        h.drawn.push(4e-4 * t);
        let moved = 0.9e-3 * deep * lean_at(t);
        h.spaces
            .push(vec![0.6e-3 + 0.2 * moved, 1.9e-3 - moved, 0.8e-3 + 0.8 * moved]);
        h.doors.push(vec![0.0, (0.9 * (1.0 - lean_at(t))).max(0.0)]);
        h.at_crank.push(0.0);
        h.ledger.push(Ledger {
            pan: 3.3e-3,
            engine: 0.9e-3,
            in_flight: 0.1e-3,
        });
    }
    let least = (0..rows)
        .min_by(|&a, &b| h.cover[a].total_cmp(&h.cover[b]))
        .expect("rows");
    let (worst, least_cover) = (h.time[least], h.cover[least]);
    let count = |f: &dyn Fn(f64) -> bool| h.cover.iter().filter(|c| f(**c)).count() as f64 * 0.012;
    let gravity = |t: f64| [0.3, -1.05 * deep * G * lean_at(t - start), -G];
    let frames = (0..120)
        .map(|i| {
            let t = i as f64 * 0.04;
            let row = (t / 0.012) as usize;
            ReplayFrame {
                time: start + t,
                fill: fill_at(l, deep * lean_at(t), -0.088),
                cover: h.cover[row],
                bare: h.bare(row),
                gravity: gravity(start + t),
                doors: h.doors[row].clone(),
            }
        })
        .collect();
    let place = format!("lap 1, turn {}, {} m", rank + 3, rank * 430);
    let sections = section::through_mouth(
        pan,
        l,
        &fill_at(l, deep * lean_at(worst - start), -0.088),
        &h.doors[least],
        DVec3::from(gravity(worst)),
    )
    .expect("one fill a cell");
    let m = Moment {
        rank,
        name: name.into(),
        said: "A left of 4.1 s at 1.1 g, entered from braking.".into(),
        start,
        counts_from: start + 0.7,
        end: start + 4.788,
        worst: instant(worst, &place),
        least_cover,
        least_cover_band: Some(0.0025),
        air_band: None,
        grids: Some(grids()),
        thin_for: count(&|c| c > 0.0 && c < 0.01),
        bare_for: count(&|c| c == 0.0),
        air,
        longest_gulp: count(&|c| c == 0.0),
        most_at_crank: 0.0,
        gravity_at_worst: gravity(worst),
        why: "The oil climbs over wall B to the front right faster than door 2 lets it back.".into(),
        history: h,
        sections,
    };
    let replay = ReplayMoment {
        name: name.into(),
        place,
        worst,
        limit: 0.01,
        frames,
    };
    (m, replay)
}

fn trace() -> DriveTrace {
    let count = 1800;
    let mut t = DriveTrace {
        place: Some(vec![]),
        cover_at_rest: Some(vec![]),
        ..DriveTrace::default()
    };
    let (mut heading, mut at) = (0.0f64, DVec2::ZERO);
    for i in 0..count {
        let time = i as f64 * 0.05;
        let turn = std::f64::consts::TAU * time / 45.0;
        let speed = 33.0 + 11.0 * (3.0 * turn).cos();
        let rate =
            std::f64::consts::TAU / 45.0 * (1.0 + 1.4 * (3.0 * turn + 0.9).sin() + 0.9 * (5.0 * turn).cos());
        heading += rate * 0.05;
        at += speed * 0.05 * DVec2::from_angle(heading);
        t.time.push(time);
        t.distance.push(35.0 * time);
        t.speed.push(speed);
        t.engine_speed.push(60.0 + 1.3 * speed);
        t.ax.push(-8.0 * (3.0 * turn).sin());
        t.ay.push(speed * rate);
        t.az.push(0.0);
        if let Some(rest) = &mut t.cover_at_rest {
            rest.push((0.036 - 0.0028 * (speed * rate).abs()).max(0.0));
        }
        if let Some(place) = &mut t.place {
            place.push(at.to_array());
        }
    }
    t
}

fn round(weak: f64) -> RoundMapFacts {
    let directions: Vec<f64> = (0..72)
        .map(|i| f64::from(i) * std::f64::consts::TAU / 72.0)
        .collect();
    let rings: Vec<f64> = (1..=24).map(|i| f64::from(i) * 0.0625).collect();
    let dry = |d: f64| weak + 0.35 * (d + 1.2).cos() + 0.3 * (2.0 * d).cos().max(0.0);
    RoundMapFacts {
        vertical: 0.0,
        cover: directions
            .iter()
            .map(|d| {
                rings
                    .iter()
                    .map(|g| (0.036 * (1.0 - g / dry(*d))).max(0.0))
                    .collect()
            })
            .collect(),
        first_dry: directions
            .iter()
            .map(|d| FirstDry {
                direction: *d,
                g: dry(*d),
            })
            .filter(|f| f.g <= 1.5)
            .collect(),
        directions,
        rings,
    }
}

/// Everything a report says, and the replay beside it.
pub fn findings() -> (Findings, ReplayBundle) {
    let pan = pan();
    let l = lattice(&pan, 0.006);
    let (worst, first) = moment(1, "long left", 21.0, 1.0, &pan, &l);
    let (second, replay_second) = moment(2, "left over the crest", 66.0, 0.8, &pan, &l);
    let (third, replay_third) = moment(3, "braking for the hairpin", 45.5, 0.5, &pan, &l);
    let stated = |key: &str, text: &str, shown: &str, line: usize| Input {
        key: key.into(),
        text: text.into(),
        shown: shown.into(),
        origin: Origin::Stated {
            file: "first.toml".into(),
            line,
        },
    };
    let default = |key: &str, shown: &str, reason: &str| Input {
        key: key.into(),
        text: String::new(),
        shown: shown.into(),
        origin: Origin::Default {
            reason: reason.into(),
        },
    };
    let remark = |said: &str, effect: &str| Remark {
        said: said.into(),
        effect: effect.into(),
    };
    let findings = Findings {
        format: FORMAT.into(),
        program: Program { name: "Sumpwright".into(), version: "0.1.0".into() },
        depth: Depth::Slosh,
        design: DesignFacts {
            name: "Quarry six, first sketch".into(),
            file: "first.toml".into(),
            bases: vec![],
            notes: "Cut from the old pan's rail; the tray clears the crossmember.".into(),
            inputs: vec![
                stated("fill", "4.3 L", "4.30 L (4.54 qt)", 12),
                stated("pickup.mouth", "[\"-55 mm\", \"0 mm\", \"-150 mm\"]", "x −55.0 mm, y 0.0 mm, z −150.0 mm", 41),
                stated("pocket.well.z_to", "-160 mm", "−160.0 mm (−6.30 in)", 20),
                default("oil.aeration", "8 %", "common practice, no source: middle of 5 to 12 %"),
                default("drive.filter", "8 Hz", "above the car's body motion, below engine shake"),
            ],
        },
        oil: OilFacts {
            said: "10W-40".into(),
            temperature: 383.15,
            density: 822.0,
            viscosity: 1.17e-5,
            aeration: 0.08,
        },
        pan: PanFacts {
            capacity: 1.41e-2,
            fill: 4.3e-3,
            level_off: -0.088,
            level_running: Some(-0.104),
            floor: -0.16,
            mouth_to_floor: 0.01,
            mouth: pan.mouth.at.to_array(),
            mouth_diameter: pan.mouth.diameter,
            mouth_cover_off: 0.062,
            crank_gap: Some(0.051),
            cell: 0.006,
            cell_why: "Chosen so that the mouth is three cells across and the run takes minutes.".into(),
            cells: l.open_volume.iter().filter(|v| **v > 0.0).count(),
            heights: (0..=32)
                .map(|i| {
                    let height = -0.16 + 0.005 * f64::from(i);
                    HeightRow { height, volume: pan.cavity.volume_below(DVec3::Z, height) }
                })
                .collect(),
            spaces: [("rear", 3.2e-3, false), ("middle", 4.1e-3, true), ("front", 6.8e-3, false)]
                .map(|(name, volume, has_mouth)| SpaceFacts {
                    name: name.into(),
                    volume,
                    centre: [0.0; 3],
                    has_mouth,
                })
                .into(),
            plates: vec!["wall A".into(), "wall B".into()],
            doors: [("door 1", "wall A", "rear"), ("door 2", "wall B", "front")]
                .map(|(name, plate, from)| DoorFacts {
                    name: name.into(),
                    plate: plate.into(),
                    from: from.into(),
                    into: "middle".into(),
                    area: 2e-3,
                    stop: 1.0,
                })
                .into(),
            warnings: vec!["The mouth stands 10 mm over the floor, less than half its bore of 30 mm.".into()],
        },
        drive: DriveFacts {
            name: "Quarry road, two laps".into(),
            file: Some("quarry-road.csv".into()),
            said: vec![
                "g channels taken as g: at rest the vertical one reads 1.00.".into(),
                "Sideways sign taken from the yaw rate: 0.98 of the samples agree.".into(),
                "Zero-phase low-pass at 8 Hz.".into(),
            ],
            laps: vec![
                LapFacts { name: "lap 1".into(), start: 0.0, end: 45.0 },
                LapFacts { name: "lap 2".into(), start: 45.0, end: 89.95 },
            ],
            trace: trace(),
        },
        limits: LimitFacts { least_cover: 0.01, longest_gulp: 0.05 },
        still: StillFacts {
            volume: 3.3e-3,
            volume_why: "The fill less the oil aloft at the worst moment's engine speed.".into(),
            long_corner: Some(round(0.85)),
            first_instant: Some(round(1.25)),
            dipstick: vec![
                DipstickRow { mark: "low".into(), volume: 3.6e-3, level: -0.097, along_stick: Some(0.021) },
                DipstickRow { mark: "full".into(), volume: 4.3e-3, level: -0.088, along_stick: Some(0.031) },
                DipstickRow { mark: String::new(), volume: 5.0e-3, level: -0.079, along_stick: Some(0.04) },
                DipstickRow { mark: "crank touch".into(), volume: 7.4e-3, level: -0.037, along_stick: Some(0.086) },
            ],
        },
        verdict: Verdict {
            word: Word::Stop,
            sentence: "In the long left of lap 1 the oil climbs over wall B faster than door 2 lets it back, and \
                       the mouth is bare for 1.2 s; 0.6 L more keeps it covered."
                .into(),
            reason: "0.9 L stands in front of wall B while the space with the mouth keeps 1.0 L, under the mouth's rim."
                .into(),
            least_cover: Measured { value: 0.0, band: Some(0.0025) },
            least_cover_at: worst.worst.clone(),
            air_per_lap: Measured { value: worst.air + second.air, band: Some(3e-5) },
            longest_gulp: worst.longest_gulp,
            longest_gulp_at: Some(worst.worst.clone()),
            first_air: Some(instant(22.9, "lap 1, turn 4, 410 m")),
            most_at_crank: 0.0,
            most_at_crank_at: None,
            cures: vec![
                Cure { said: "0.6 L more oil".into(), cost: "The level then stands 44 mm under the crank.".into(), computed: true },
                Cure { said: "Wall B 15 mm higher".into(), cost: String::new(), computed: false },
            ],
        },
        aloft: [("low", 0.7e-3, 0.004, Word::Watch), ("mid", 1.0e-3, 0.0, Word::Stop), ("high", 1.4e-3, 0.0, Word::Stop)]
            .map(|(name, aloft, least_cover, word)| AloftCase {
                name: name.into(),
                aloft,
                word,
                least_cover,
                air: if least_cover > 0.0 { 0.0 } else { 3e-4 },
                longest_gulp: if least_cover > 0.0 { 0.0 } else { 1.2 },
            })
            .into(),
        feed: Some(feed::feed()),
        seal: Some(seal::seal()),
        cards: Some(cards::cards()),
        clearance: Some(ClearanceFacts {
            said: "1 of 2 gaps is smaller than wanted; the worst is crossmember to pan's floor.".into(),
            pairs: vec![
                GapFact {
                    body: "crossmember".into(),
                    body_part: String::new(),
                    against: "pan".into(),
                    part: "floor".into(),
                    at_rest: 0.007,
                    moved: 0.003,
                    wanted: 0.006,
                    state: GapState::Close,
                    on_pan: [0.0, 0.02, -0.12],
                    on_body: [0.0, 0.02, -0.127],
                },
                GapFact {
                    body: "rods".into(),
                    body_part: "rod 2".into(),
                    against: "pan's inside".into(),
                    part: "wall".into(),
                    at_rest: 0.012,
                    moved: 0.012,
                    wanted: 0.003,
                    state: GapState::Clear,
                    on_pan: [0.05, 0.1, -0.02],
                    on_body: [0.05, 0.088, -0.02],
                },
            ],
            growth: vec![GrowthFact {
                pocket: "sump".into(),
                toward: "left".into(),
                free: 0.02,
                open: false,
                gained: 4e-4,
                stopped_by: Some("header <hot>".into()),
            }],
            removal: Some(RemovalFact {
                said: "Tilted and slid it comes out.".into(),
                comes_out: true,
                needed: 0.2,
                straight: 0.03,
                way: vec![
                    WayFact {
                        said: "let it down 30 mm".into(),
                        drop: 0.03,
                        slide: [0.0, 0.0],
                        tilt: [0.0, 0.0],
                    },
                    WayFact {
                        said: "slide it to the front 60 mm".into(),
                        drop: 0.03,
                        slide: [0.06, 0.0],
                        tilt: [0.0, 0.0],
                    },
                ],
                without: vec!["crossmember".into()],
            }),
            views: [SeenFrom::Above, SeenFrom::Right, SeenFrom::Rear]
                .map(|side| ClearanceView {
                    side,
                    window: [[-0.25, -0.2], [0.25, 0.15]],
                    pan: vec![vec![[-0.15, -0.1], [0.15, -0.1], [0.15, 0.1], [-0.15, 0.1]]],
                    bodies: vec![BodyOutline {
                        name: "crossmember".into(),
                        loops: vec![vec![[-0.02, -0.2], [0.02, -0.2], [0.02, -0.13], [-0.02, -0.13]]],
                        hidden: false,
                    }],
                    gaps: vec![GapLine {
                        number: 1,
                        from: [0.0, -0.12],
                        to: [0.0, -0.127],
                        state: GapState::Close,
                    }],
                })
                .into(),
        }),
        lowest_fill: Some(LowestFill {
            fill: Some(4.9e-3),
            band: 1e-4,
            said: "Found by halving between 4.3 L and 5.5 L on the worst moment.".into(),
            tried: vec![
                TriedFill { fill: 4.3e-3, least_cover: 0.0, air: 3e-4 },
                TriedFill { fill: 4.9e-3, least_cover: 0.011, air: 0.0 },
            ],
        }),
        assumptions: vec![
            remark("Oil aloft is an allowance, not a measurement.", "It moves the verdict more than anything else here."),
            remark("Doors hang free and seal to their stated gap.", ""),
        ],
        not_known: vec![
            remark("Froth at the mouth.", "A run with a clear pan or a pressure log would settle it."),
        ],
        ledger: LedgerFacts { fill: 4.3e-3, worst_error: 3.1e-15, steps: 48_211 },
        method: vec![
            MethodStep { step: "oil at rest".into(), said: "Level plane by exact volume under a plane.".into(), source: String::new() },
            MethodStep {
                step: "oil in motion".into(),
                said: "Free surface on cells of 6 mm, oil kept to round-off.".into(),
                source: "Hirt and Nichols, J. Comput. Phys. 39 (1981)".into(),
            },
        ],
        timings: vec![Timing { step: "slosh".into(), seconds: 61.2 }],
        moments: vec![worst, second, third],
    };
    let bundle = ReplayBundle {
        n: l.n,
        cell: l.cell,
        origin: l.origin.to_array(),
        open: l.open_volume.iter().map(|v| (v * 255.0) as u8).collect(),
        parts: parts_of(&pan),
        car_forward: [1.0, 0.0, 0.0],
        moments: vec![first, replay_second, replay_third],
        said: String::new(),
    };
    (findings, bundle)
}
