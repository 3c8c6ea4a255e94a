//! The pan as a solid, against closed forms, against parry3d (independent code), and read back as a part.

use glam::{DVec2, DVec3};
use pan::{Outline, Pocket, Region, Side};
use parry3d_f64::shape::{Shape, TriMesh, TriMeshFlags};
use solid::part::{Stated, understand};
use solid::{Asked, Mesh};
use sumpwright_shop::body::{BodyFault, CLOSENESS, Drain, Making};

/// Volume by parry3d 0.31, which takes the mesh only when it is closed and its triangles agree.
fn by_parry(mesh: &Mesh) -> f64 {
    let points = (mesh.points.iter())
        .map(|p| parry3d_f64::math::Vector::new(p.x, p.y, p.z))
        .collect();
    let flags =
        TriMeshFlags::ORIENTED | TriMeshFlags::MERGE_DUPLICATE_VERTICES | TriMeshFlags::HALF_EDGE_TOPOLOGY;
    let shape = TriMesh::with_flags(points, mesh.triangles.clone(), flags).expect("parry takes the mesh");
    shape.mass_properties(1.0).mass()
}

/// Every edge once each way.
fn prove_closed(mesh: &Mesh) {
    let mut sides: Vec<(u32, u32)> = mesh
        .triangles
        .iter()
        .flat_map(|t| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])])
        .collect();
    sides.sort_unstable();
    assert!(
        sides.windows(2).all(|w| w[0] != w[1]),
        "an edge runs twice the same way"
    );
    for &(a, b) in &sides {
        assert!(sides.binary_search(&(b, a)).is_ok(), "edge {a} {b} has one side");
    }
}

fn pocket(x: [f64; 2], y: [f64; 2], z: [f64; 2]) -> Pocket {
    let [x, y] = [x, y].map(|v| v.map(|v| v * 1e-3));
    Pocket {
        name: "sump".into(),
        side: Side::Pan,
        outline: Outline::rectangle(DVec2::new(x[0], y[0]), DVec2::new(x[1], y[1])),
        z_low: z[0] * 1e-3,
        z_high: z[1] * 1e-3,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }
}

fn making(pockets: Vec<Pocket>, flange: Region) -> Making {
    Making {
        pockets,
        wall: 4e-3,
        floor: 6e-3,
        round: false,
        draft: 0.0,
        flange,
        flange_thickness: 10e-3,
        bolts: Vec::new(),
        hole: 6.6e-3,
        boss: 0.0,
        boss_height: 0.0,
        drain: None,
    }
}

fn ring(outer: [f64; 4], inner: [f64; 4]) -> Region {
    let of = |r: [f64; 4]| Region::rectangle(DVec2::new(r[0], r[2]) * 1e-3, DVec2::new(r[1], r[3]) * 1e-3);
    of(outer).difference(&of(inner))
}

#[test]
fn a_square_box_is_exact() {
    let making = making(
        vec![pocket([-100., 100.], [-50., 50.], [-80., 0.])],
        ring([-120., 120., -70., 70.], [-100., 100., -50., 50.]),
    );
    let cavity = making.cavity().unwrap();
    assert_eq!(cavity.triangles.len(), 12);
    assert!((by_parry(&cavity) - 0.2 * 0.1 * 0.08).abs() < 1e-15);
    let body = making.body().unwrap();
    prove_closed(&body);
    // By hand: outside block, and the flange round it, less the hollow.
    let due = 0.208 * 0.108 * 0.086 + (0.24 * 0.14 - 0.208 * 0.108) * 0.01 - 0.2 * 0.1 * 0.08;
    assert!((by_parry(&body) - due).abs() < 1e-13, "{}", by_parry(&body) - due);
    assert!((body.volume() - due).abs() < 1e-13);
}

/// A frustum: V = h/3 (A₁ + A₂ + √(A₁A₂)) holds for similar plans; a rectangle with draft is a prismatoid:
/// V = h/6 (A₁ + 4 Aₘ + A₂) (any handbook of geometry).
#[test]
fn draft_gives_the_prismatoid_with_few_facets() {
    let lean = 3f64.to_radians();
    let sump = Pocket {
        draft: lean,
        ..pocket([-100., 100.], [-50., 50.], [-80., 0.])
    };
    let making = making(
        vec![sump],
        ring([-120., 120., -70., 70.], [-100., 100., -50., 50.]),
    );
    let cavity = making.cavity().unwrap();
    let area = |depth: f64| {
        let i = depth * lean.tan();
        (0.2 - 2.0 * i) * (0.1 - 2.0 * i)
    };
    let due = 0.08 / 6.0 * (area(0.0) + 4.0 * area(0.04) + area(0.08));
    assert!((by_parry(&cavity) / due - 1.0).abs() < 1e-9);
    assert!(cavity.triangles.len() <= 12, "{}", cavity.triangles.len());
    prove_closed(&making.body().unwrap());
}

fn stepped() -> Making {
    // A shallow tray with round corners, a deep well with draft and floor radius that stands out to one side.
    let tray = Pocket {
        corner_radius: 15e-3,
        ..pocket([-200., 200.], [-120., 120.], [-34., 0.])
    };
    let well = Pocket {
        name: "well".into(),
        draft: 3f64.to_radians(),
        corner_radius: 15e-3,
        floor_radius: 6e-3,
        ..pocket([5., 195.], [-112., 112.], [-130., -34.])
    };
    let rim = tray.outline.region(tray.corner_radius, 5e-6);
    let flange = rim.outset(20e-3, true, 5e-6).difference(&rim);
    let mut bolts = Vec::new();
    for x in [-168., -84., 0., 84., 168.] {
        bolts.extend([DVec2::new(x, -130.) * 1e-3, DVec2::new(x, 130.) * 1e-3]);
    }
    for y in [-90., 0., 90.] {
        bolts.extend([DVec2::new(-210., y) * 1e-3, DVec2::new(210., y) * 1e-3]);
    }
    Making {
        bolts,
        wall: 3e-3,
        floor: 3e-3,
        boss: 14e-3,
        boss_height: 2e-3,
        drain: Some(Drain {
            at: DVec3::new(0.1, 0.0, -0.136),
            points: -DVec3::Z,
            hole: 12.5e-3,
            boss: 24e-3,
        }),
        ..making(vec![tray, well], flange)
    }
}

#[test]
fn a_stepped_pan_is_closed_and_holds_what_its_plans_say() {
    for (round, draft) in [(false, 0.0), (true, 5f64.to_radians())] {
        let making = Making {
            round,
            draft,
            ..stepped()
        };
        let (cavity, body) = (making.cavity().unwrap(), making.body().unwrap());
        prove_closed(&cavity);
        prove_closed(&body);
        // The pan's own volume table: layers of its pockets, to what their thin steps give.
        let own = pan::Cavity::from_pockets(&making.pockets).unwrap();
        let table = own.volume_below(DVec3::Z, 0.0);
        let got = by_parry(&cavity);
        assert!((got / table - 1.0).abs() < 2e-4, "{got} against {table}");
        // Plans of the body at many heights, by the midpoint rule.
        // Every face lies on half a millimetre.
        let (low, steps) = (-0.136, 272);
        let due: f64 = (0..steps)
            .map(|i| making.plan(low * (f64::from(i) + 0.5) / f64::from(steps)).area())
            .sum::<f64>()
            * (-low / f64::from(steps));
        let got = by_parry(&body);
        assert!((got / due - 1.0).abs() < 5e-4, "{got} against {due}");
    }
}

/// What the program writes it reads: flange, bolt holes, drain and the oil side are found again.
#[test]
fn the_body_reads_back_as_a_part_with_the_same_oil_side() {
    let making = stepped();
    let (cavity, body) = (making.cavity().unwrap(), making.body().unwrap());
    for bytes in [body.to_stl(), body.to_3mf("pan")] {
        let surface = solid::read(bytes, &Asked::default())
            .map_err(|r| r.fault)
            .unwrap();
        assert!((surface.volume() / body.volume() - 1.0).abs() < 1e-6);
        assert!(solid::part::looks_like_a_part(&surface));
        let part = understand(&surface, &Stated::default()).unwrap();
        let bolts = part
            .flange
            .holes
            .iter()
            .filter(|h| (h.diameter - 6.6e-3).abs() < 0.05e-3)
            .count();
        assert_eq!(bolts, making.bolts.len());
        assert_eq!(part.openings.len(), 1);
        assert!((part.openings[0].across - 12.5e-3).abs() < 0.05e-3);
        assert!(
            (part.volume / cavity.volume() - 1.0).abs() < 1e-4,
            "{} {}",
            part.volume,
            cavity.volume()
        );
    }
}

#[test]
fn holes_walls_and_drains_that_cannot_be_are_named() {
    let at = |bolts: Vec<DVec2>| Making { bolts, ..stepped() };
    let meets = at(vec![DVec2::new(0.0, 0.1225)]).body().unwrap_err();
    assert!(
        matches!(meets, BodyFault::HoleMeetsCavity { bolt: 1, .. }),
        "{meets}"
    );
    let over = Making {
        boss: 0.0,
        ..at(vec![DVec2::new(0.0, 0.139)])
    };
    assert!(matches!(
        over.body(),
        Err(BodyFault::HoleOverEdge { bolt: 1, .. })
    ));
    let thick = Making {
        wall: 8e-3,
        ..stepped()
    };
    let fault = thick.body().unwrap_err();
    assert!(matches!(fault, BodyFault::WallTooThick { .. }), "{fault}");
    // Bolts stand 10 mm from the edge, holes have 3.3 mm: 6.7 less the web of 0.5.
    assert!(fault.to_string().ends_with("room for 6.2 mm"), "{fault}");
    let mut dry = stepped();
    dry.drain.as_mut().unwrap().at.x = 0.3;
    assert!(matches!(dry.body(), Err(BodyFault::DrainMisses { .. })));
    assert_eq!(stepped().tight_heads(12e-3).len(), 0);
    // Room of 7 mm from the bolt's middle to the wall.
    let tight = stepped().tight_heads(15e-3);
    assert_eq!(tight.len(), 16);
    assert!((tight[0].1 - 0.5e-3).abs() < 1e-6);
}

/// A drain in the rear wall: a level hole, met by its own round.
#[test]
fn a_level_drain_goes_through_a_wall() {
    let mut making = making(
        vec![pocket([-100., 100.], [-50., 50.], [-80., 0.])],
        ring([-120., 120., -70., 70.], [-100., 100., -50., 50.]),
    );
    making.drain = Some(Drain {
        at: DVec3::new(-0.110, 0.0, -0.06),
        points: -DVec3::X,
        hole: 12e-3,
        boss: 22e-3,
    });
    let body = making.body().unwrap();
    prove_closed(&body);
    let plain = 0.208 * 0.108 * 0.086 + (0.24 * 0.14 - 0.208 * 0.108) * 0.01 - 0.2 * 0.1 * 0.08;
    // The boss stands 6 mm out of the wall, the hole is 10 mm deep; chords within 0.02 mm.
    let round = |d: f64, l: f64| 0.25 * std::f64::consts::PI * d * d * l;
    let due = plain + round(22e-3, 6e-3) - round(12e-3, 10e-3);
    let chords = 2.0 * CLOSENESS / 12e-3 * round(22e-3, 16e-3);
    assert!(
        (by_parry(&body) - due).abs() < chords,
        "{:e}",
        by_parry(&body) - due
    );
}

mod list {
    //! Areas and masses worked by hand.
    use super::*;
    use sumpwright_shop::list::{Had, Prices, Row, bolts, gasket, making_cost};

    fn prices() -> Prices {
        Prices {
            currency: "crowns".into(),
            aluminium: 6.0,
            steel: 2.0,
            stainless: 7.0,
            plastic: 30.0,
            gasket: 40.0,
            cut: 4.0,
            hole: 0.5,
            bend: 3.0,
            bolt: 0.4,
            hour: 45.0,
            waste: 0.25,
        }
    }

    /// A bent wall of 300 by 60 mm, 1.5 mm thick, with a hole of 20 mm and a window of 60 by 30, by hand.
    #[test]
    fn a_sheet_part_costs_its_metal_cuts_holes_and_bends() {
        let area = 0.3 * 0.06 - 0.25 * std::f64::consts::PI * 0.02f64.powi(2) - 0.06 * 0.03;
        let wall = Row {
            part: "wall".into(),
            count: 2,
            material: "aluminium 5052-H32".into(),
            thickness: Some(1.5e-3),
            area: Some(area),
            mass: Some(area * 1.5e-3 * 2680.0),
            cut: Some(2.0 * (0.3 + 0.06) + std::f64::consts::PI * 0.02 + 2.0 * (0.06 + 0.03)),
            holes: 2,
            bends: 1,
            had: Had::Sheet,
            ..Row::default()
        };
        // Two of them; 6 a kilogram and a quarter more, 4 a metre, 0.5 a hole, 3 a bend.
        let [bought, work] = prices().row(&wall).unwrap();
        assert!((bought - 2.0 * wall.mass.unwrap() * 7.5).abs() < 1e-12);
        assert!((work - 2.0 * (4.0 * wall.cut.unwrap() + 1.0 + 3.0)).abs() < 1e-12);
    }

    /// M6 x 25 of ISO 4017: some 7.2 g a piece in suppliers' tables (from memory).
    #[test]
    fn bolts_gasket_and_the_sum() {
        let bolts = bolts("M6 x 25", 6e-3, 5.35e-3, 25e-3, 10);
        assert!((bolts.mass.unwrap() - 7.2e-3).abs() < 0.7e-3, "{:?}", bolts.mass);
        let plan = ring([-120., 120., -70., 70.], [-100., 100., -50., 50.]);
        let gasket = gasket(&plan, 10, 6.6e-3, "fibre", 0.8e-3);
        let holes = 10.0 * 0.25 * std::f64::consts::PI * 6.6e-3 * 6.6e-3;
        assert!((gasket.area.unwrap() - (0.24 * 0.14 - 0.02 - holes)).abs() < 1e-12);
        assert!((gasket.mass.unwrap() - gasket.area.unwrap() * 0.8e-3 * 1700.0).abs() < 1e-12);
        let bought = Row {
            part: "tube".into(),
            count: 2,
            had: Had::At(30.0),
            ..Row::default()
        };
        let unknown = Row {
            part: "strainer".into(),
            count: 1,
            had: Had::Bought,
            ..Row::default()
        };
        let cost = making_cost(&[bolts, gasket.clone(), bought, unknown], &prices(), 10.0);
        let due = 4.0 + gasket.area.unwrap() * 50.0 + 60.0;
        assert!((cost.bought - due).abs() < 1e-9);
        assert_eq!(cost.hours, 450.0);
        assert_eq!(cost.without, ["strainer"]);
    }
}
