//! Synthetic scans of a known gasket: recovered to 0.15 mm rms in outline and 0.05 mm in hole centres at 300 dpi.

mod made;

use glam::{DMat2, DVec2};
use made::picture::{Look, picture, png};
use sumpwright_outline::scan::{ScanOptions, Straighten, Tone, Traced, trace};
use sumpwright_outline::{Figure, ReadOptions, UnitOrigin, read};

fn gasket() -> Figure {
    read(made::GASKET.as_bytes(), &ReadOptions::default())
        .unwrap_or_else(|f| panic!("{f:?}"))
        .1
}

/// The gasket on a flatbed: turned by `degrees`, 20 mm in from the corner of the picture.
fn flatbed(degrees: f64, dpi: f64, change: impl Fn(&mut Look)) -> (Figure, Vec<u8>, Look) {
    let turned = gasket().placed(DMat2::from_angle(degrees.to_radians()), DVec2::ZERO);
    let (low, _) = turned.bounds();
    let placed = turned.placed(DMat2::IDENTITY, DVec2::splat(0.02) - low);
    let (_, high) = placed.bounds();
    let per_metre = dpi / 0.0254;
    let size = ((high + 0.02) * per_metre).ceil();
    let mut look = Look {
        width: size.x as usize,
        height: size.y as usize,
        paper: 232.0,
        part: 84.0,
        fall: 0.15,
        grain: 4.0,
        table: 0.0,
    };
    change(&mut look);
    let values = picture(
        &placed,
        &|p| DVec2::new(p.x * per_metre, size.y - p.y * per_metre),
        None,
        &look,
    );
    (placed, values, look)
}

fn traced(bytes: &[u8], options: &ScanOptions) -> Traced {
    trace(bytes, options).unwrap_or_else(|f| panic!("{f:?}"))
}

struct Off {
    outline_rms: f64,
    outline_most: f64,
    centres: f64,
    diameters: f64,
}

/// The traced figure held against the true one, both ways; lengths in mm.
fn held(truth: &Figure, found: &Figure) -> Off {
    assert_eq!(
        found.shapes.len(),
        truth.shapes.len(),
        "{:?}",
        found.shapes.iter().map(|s| &s.name).collect::<Vec<_>>()
    );
    let mut offs: Vec<f64> = Vec::new();
    for (a, b) in [(truth, found), (found, truth)] {
        let (mine, other) = (&a.shapes[0].line, &b.shapes[0].line);
        for side in mine.sides() {
            let count = (side.length() / 5e-4).ceil() as usize;
            offs.extend((0..count).map(|i| other.distance(side.at(i as f64 / count as f64)) * 1e3));
        }
    }
    let (mut centres, mut diameters) = (0.0_f64, 0.0_f64);
    for (_, hole) in truth.holes() {
        let near = found.holes().min_by(|a, b| {
            a.1.centre
                .distance(hole.centre)
                .total_cmp(&b.1.centre.distance(hole.centre))
        });
        let near = near.expect("there are holes").1;
        centres = centres.max(near.centre.distance(hole.centre) * 1e3);
        diameters = diameters.max(2e3 * (near.radius - hole.radius).abs());
    }
    Off {
        outline_rms: (offs.iter().map(|o| o * o).sum::<f64>() / offs.len() as f64).sqrt(),
        outline_most: offs.into_iter().fold(0.0, f64::max),
        centres,
        diameters,
    }
}

fn told(case: &str, off: &Off) -> String {
    format!(
        "{case}: outline {:.3} mm rms, {:.3} mm at most; hole centres {:.3} mm, diameters {:.3} mm",
        off.outline_rms, off.outline_most, off.centres, off.diameters
    )
}

#[test]
fn a_gasket_on_a_flatbed_is_recovered_at_150_to_600_dpi_however_it_lies() {
    for (dpi, degrees) in [
        (150.0, 2.0),
        (300.0, 0.0),
        (300.0, 33.0),
        (300.0, 271.0),
        (600.0, 4.0),
    ] {
        let (truth, values, look) = flatbed(degrees, dpi, |_| {});
        let found = traced(&png(&values, &look, Some(dpi)), &ScanOptions::default());
        assert_eq!(found.figure.unit.map(|u| u.1), Some(UnitOrigin::Stated));
        let off = held(&truth, &found.figure);
        let words = told(&format!("{dpi} dpi, {degrees} degrees"), &off);
        // Twice as coarse a scan may be off twice as far.
        let allowed = (300.0 / dpi).max(1.0);
        assert!(
            off.outline_rms < 0.15 * allowed && off.centres < 0.05 * allowed && off.diameters < 0.1 * allowed,
            "{words}"
        );
        let sides = found.figure.shapes[0].line.vertices.len();
        assert!((10..=16).contains(&sides), "{words}: {sides} sides");
        let worst = found.residuals.iter().map(|r| r.rms).fold(0.0, f64::max);
        assert!(worst > 0.0 && worst < 1e-4, "{worst}");
    }
}

#[test]
fn strong_grain_uneven_light_and_a_light_part_on_dark_ground_are_no_trouble() {
    let (truth, values, look) = flatbed(10.0, 300.0, |l| (l.grain, l.fall) = (12.0, 0.5));
    let off = held(
        &truth,
        &traced(&png(&values, &look, Some(300.0)), &ScanOptions::default()).figure,
    );
    assert!(
        off.outline_rms < 0.15 && off.centres < 0.05,
        "{}",
        told("grain", &off)
    );
    let (truth, values, look) = flatbed(10.0, 300.0, |l| (l.paper, l.part) = (60.0, 190.0));
    let options = ScanOptions {
        tone: Tone::LightPart,
        ..ScanOptions::default()
    };
    let off = held(
        &truth,
        &traced(&png(&values, &look, Some(300.0)), &options).figure,
    );
    assert!(
        off.outline_rms < 0.15 && off.centres < 0.05,
        "{}",
        told("light part", &off)
    );
}

/// A photo of the gasket on a sheet of A4 on a dark table, the camera held aslant: a true perspective (a plane seen by a
/// pinhole), about 250 pixels to the inch.
fn photo() -> (Figure, [DVec2; 4], Vec<u8>, Look) {
    let truth = gasket().placed(DMat2::from_angle(0.03), DVec2::new(0.025, 0.04));
    let sheet = [(0.0, 0.0), (0.297, 0.0), (0.297, 0.21), (0.0, 0.21)].map(|(x, y)| DVec2::new(x, y));
    let place = |p: DVec2| {
        let q = DMat2::from_angle(0.06) * (p - DVec2::new(0.1485, 0.105));
        let depth = 1.0 + 0.35 * q.x + 0.55 * q.y;
        DVec2::new(2100.0 + 10_400.0 * q.x / depth, 1600.0 - 10_400.0 * q.y / depth)
    };
    let look = Look {
        width: 4200,
        height: 3200,
        paper: 225.0,
        part: 80.0,
        fall: 0.25,
        grain: 4.0,
        table: 45.0,
    };
    let values = picture(&truth, &place, Some(&sheet), &look);
    (truth, sheet.map(place), values, look)
}

#[test]
fn a_slanting_photo_is_straightened_by_its_sheet_by_named_corners_and_by_distances() {
    let (truth, corners, values, look) = photo();
    let bytes = png(&values, &look, None);
    // A4 upright or across: the sheet says which.
    for straighten in [
        Straighten::SheetFound([0.21, 0.297]),
        Straighten::Rectangle(corners, [0.297, 0.21]),
        Straighten::Sides(corners, [0.297, 0.21, 0.297, 0.21, 0.297f64.hypot(0.21)]),
    ] {
        let case = format!("{straighten:?}");
        // Without a sheet to bound it the table would count as part: the points of the distances lie on the sheet.
        let result = trace(
            &bytes,
            &ScanOptions {
                straighten,
                ..ScanOptions::default()
            },
        );
        if case.starts_with("Sides") {
            assert_eq!(
                result.expect_err("the table runs off the picture")[0].id,
                "off-the-edge"
            );
            continue;
        }
        let found = result.unwrap_or_else(|f| panic!("{case}: {f:?}"));
        let off = held(&truth, &found.figure);
        assert!(
            off.outline_rms < 0.15 && off.centres < 0.05,
            "{}",
            told(&case, &off)
        );
    }
}

#[test]
fn four_marked_points_and_their_distances_straighten_a_slanting_scan() {
    let truth = gasket().placed(DMat2::IDENTITY, DVec2::splat(0.03));
    let place = |p: DVec2| {
        let depth = 1.0 + 0.2 * p.x + 0.3 * p.y;
        DVec2::new(60.0 + 11_800.0 * p.x / depth, 2_200.0 - 11_800.0 * p.y / depth)
    };
    let look = Look {
        width: 3400,
        height: 2300,
        paper: 230.0,
        part: 90.0,
        fall: 0.2,
        grain: 4.0,
        table: 0.0,
    };
    let bytes = png(&picture(&truth, &place, None, &look), &look, None);
    // The middles of four bolt holes, as found in the picture and measured on the part; the first becomes the origin.
    let marks =
        [(9.0, 9.0), (221.0, 9.0), (221.0, 111.0), (9.0, 111.0)].map(|(x, y)| DVec2::new(x, y) * 1e-3 + 0.03);
    let sides = [0.212, 0.102, 0.212, 0.102, 0.212f64.hypot(0.102)];
    let options = ScanOptions {
        straighten: Straighten::Sides(marks.map(place), sides),
        ..ScanOptions::default()
    };
    let found = traced(&bytes, &options);
    let off = held(&truth.placed(DMat2::IDENTITY, -marks[0]), &found.figure);
    assert!(
        off.outline_rms < 0.15 && off.centres < 0.05,
        "{}",
        told("marked points", &off)
    );
}

#[test]
fn pictures_that_show_no_outline_are_refused_with_a_way_to_mend_it() {
    let id = |bytes: &[u8], options: &ScanOptions| {
        let fault = trace(bytes, options).expect_err("it should be refused").remove(0);
        assert!(!fault.mend.is_empty());
        fault.id
    };
    let usual = ScanOptions::default();
    let look = Look {
        width: 400,
        height: 300,
        paper: 200.0,
        part: 195.0,
        fall: 0.0,
        grain: 3.0,
        table: 0.0,
    };
    let flat = png(&picture(&gasket(), &|p| p * 1e3, None, &look), &look, Some(300.0));
    assert_eq!(id(&flat, &usual), "contrast");
    assert_eq!(id(&flat[..flat.len() / 2], &usual), "picture");
    assert_eq!(id(b"\x89PNG\r\n\x1a\n", &usual), "picture");
    let look = Look { part: 60.0, ..look };
    let off_edge = png(&picture(&gasket(), &|p| p * 4e3, None, &look), &look, Some(100.0));
    assert_eq!(id(&off_edge, &usual), "off-the-edge");
    let sheet = ScanOptions {
        straighten: Straighten::SheetFound([0.21, 0.297]),
        ..usual.clone()
    };
    assert_eq!(id(&off_edge, &sheet), "no-sheet");
    let corner = |x: f64| ScanOptions {
        straighten: Straighten::Rectangle(
            [
                DVec2::ZERO,
                DVec2::new(x, 0.0),
                DVec2::new(300.0, 200.0),
                DVec2::new(0.0, 200.0),
            ],
            [0.2, 0.1],
        ),
        ..usual.clone()
    };
    assert_eq!(
        (id(&off_edge, &corner(900.0)), id(&off_edge, &corner(0.0))),
        ("corners", "corners")
    );
    // A header that promises thirty thousand by thirty thousand pixels, and one of four thousand million.
    let mut huge = flat.clone();
    huge[16..24].copy_from_slice(&[0, 0, 0x75, 0x30, 0, 0, 0x75, 0x30]);
    assert!(["picture", "picture-too-large"].contains(&id(&huge, &usual)));
    huge[16..24].copy_from_slice(&[0xff; 8]);
    assert!(["picture", "picture-too-large"].contains(&id(&huge, &usual)));
}
