//! Made-up cards.

use sumpwright_report::findings::*;

/// Every card, with every field.
pub fn cards() -> CardsFacts {
    CardsFacts {
        dipstick: Some(DipstickFacts {
            rows: (0..6)
                .map(|i| StickRow {
                    volume: 2e-3 + 0.5e-3 * f64::from(i),
                    along: 0.01 + 0.012 * f64::from(i),
                })
                .collect(),
            marks: ["LOW", "HIGH"]
                .into_iter()
                .zip([3e-3, 4e-3])
                .map(|(name, volume)| StickMark {
                    name: name.into(),
                    volume,
                    along: 10.0 * volume,
                    running: false,
                })
                .collect(),
            steps: vec!["Engine off for ten minutes.".into()],
            said: vec!["HIGH as stated.".into()],
        }),
        tilt: Some(TiltFacts {
            angle: 0.4,
            band: 3e-3,
            cuts: vec![TiltCut {
                low_side: "left".into(),
                volume: 3e-3,
                why: "so much stays in".into(),
                lines: ["left", "right"].map(|side| TiltLine {
                    on_floor: false,
                    side: side.into(),
                    depth: 0.01,
                    from_mouth: 0.1,
                }),
                cover: 0.05,
                said: "as a right-hand corner".into(),
                walls_cut: vec![vec![[-0.1, 0.0], [0.1, 0.0], [0.1, -0.1], [-0.1, -0.1]]],
                oil: vec![vec![[-0.1, -0.05], [0.1, -0.02], [0.1, -0.1], [-0.1, -0.1]]],
                flange: [[-0.1, 0.0], [0.1, 0.0]],
                ends: vec![[[-0.1, -0.05], [-0.1, 0.0]], [[0.1, -0.02], [0.1, 0.0]]],
                mouth: [0.0, -0.09],
                mirrored: false,
            }],
        }),
        doors: vec![DoorCard {
            name: "rear right".into(),
            plate: "wall".into(),
            toward: "the front".into(),
            hinge: "top".into(),
            stop: 1.0,
            strikes: Some((0.8, "the floor".into())),
            width: 0.06,
            length: 0.03,
            out: 0.02,
            gap: 0.7e-3,
            view: "the right side".into(),
            reach: [0.0, -1.0],
            opens: [1.0, 0.0],
        }],
        weld: Some(WeldFacts {
            runs: vec![WeldRun {
                turn: 1,
                line: vec![[0.0, 0.0], [0.04, 0.0]],
            }],
            run: 0.045,
            skim: 0.5e-3,
            thickness: 0.01,
        }),
        leak: LeakFacts {
            test: 2e4,
            limit: 3.5e4,
            opening: Some(0.09),
        },
        fit: FitFacts {
            bolts: Some("16 bolts M6 x 25".into()),
            engaged: Some(0.012),
            spare: Some(4e-3),
            joint: Some(FitJoint::Sealant { bead: 3e-3 }),
            wait: Some(3600.0),
            retorque: Some(false),
            fill: 5e-3,
            doors: vec!["rear right".into()],
        },
        rules: RulesFacts {
            fill: 5e-3,
            capacity: 7e-3,
        },
    }
}
