//! Paper read back by a PDF library that had no part in writing it.

use glam::{DAffine2, DMat2, DVec2};
use hayro_syntax::Pdf;
use hayro_syntax::content::ops::TypedInstruction as Op;
use hayro_syntax::object::{Dict, Number, Stream};
use report::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight, pdf};
use report::paper;
use shop::paper::Paper;
use std::collections::BTreeMap;
use std::f64::consts::PI;
use sumpwright_report as report;

/// What a page shows, in millimetres.
#[derive(Default)]
struct Seen {
    size: DVec2,
    /// Stroked paths: the ends of their stretches.
    strokes: Vec<Vec<DVec2>>,
    /// Filled paths likewise.
    fills: Vec<Vec<DVec2>>,
    clips: usize,
    dashes: usize,
    pictures: Vec<(DVec2, DVec2)>,
    /// Words with the place where they begin.
    words: Vec<(String, DVec2)>,
}

fn look(bytes: &[u8]) -> Vec<Seen> {
    let file = Pdf::new(bytes.to_vec()).expect("a PDF");
    file.pages().iter().map(page).collect()
}

fn page(page: &hayro_syntax::page::Page<'_>) -> Seen {
    const MM: f64 = 25.4 / 72.0;
    let mut seen = Seen::default();
    let sheet = page.media_box();
    assert!(sheet.x0 == 0.0 && sheet.y0 == 0.0);
    seen.size = DVec2::new(f64::from(sheet.x1 as f32), f64::from(sheet.y1 as f32)) * MM;
    let n = |x: &Number| x.as_f64();
    let matrix = |m: [&Number; 6]| {
        let [a, b, c, d, e, f] = m.map(n);
        DAffine2::from_mat2_translation(
            DMat2::from_cols(DVec2::new(a, b), DVec2::new(c, d)),
            DVec2::new(e, f),
        )
    };
    let mut stack = Vec::new();
    let mut now = DAffine2::from_scale(DVec2::splat(MM));
    let mut path: Vec<DVec2> = Vec::new();
    let mut start = DVec2::ZERO;
    let (mut text, mut letters) = (DAffine2::IDENTITY, BTreeMap::new());
    let mut ops = page.typed_operations();
    while let Some(op) = ops.next() {
        match &op {
            Op::SaveState(_) => stack.push(now),
            Op::RestoreState(_) => now = stack.pop().expect("what is restored was saved"),
            Op::Transform(t) => now *= matrix([&t.0, &t.1, &t.2, &t.3, &t.4, &t.5]),
            Op::MoveTo(p) => {
                start = now.transform_point2(DVec2::new(n(&p.0), n(&p.1)));
                path.push(start);
            }
            Op::LineTo(p) => path.push(now.transform_point2(DVec2::new(n(&p.0), n(&p.1)))),
            Op::CubicTo(c) => path.push(now.transform_point2(DVec2::new(n(&c.4), n(&c.5)))),
            Op::ClosePath(_) => path.push(start),
            Op::RectPath(_) => {}
            Op::StrokePath(_) => seen.strokes.push(std::mem::take(&mut path)),
            Op::FillPathNonZero(_) => seen.fills.push(std::mem::take(&mut path)),
            Op::FillAndStrokeNonZero(_) => {
                seen.fills.push(path.clone());
                seen.strokes.push(std::mem::take(&mut path));
            }
            Op::ClipNonZero(_) => seen.clips += 1,
            Op::EndPath(_) => path.clear(),
            Op::DashPattern(d) if d.0.raw_iter().next().is_some() => seen.dashes += 1,
            Op::XObject(_) => {
                seen.pictures.push((
                    now.transform_point2(DVec2::ZERO),
                    now.transform_point2(DVec2::ONE),
                ));
            }
            Op::TextFont(f) => {
                letters = read_letters(&page.resources().get_font(f.0).expect("the font is there"))
            }
            Op::SetTextMatrix(t) => text = now * matrix([&t.0, &t.1, &t.2, &t.3, &t.4, &t.5]),
            Op::ShowText(t) => {
                let glyphs = t.0.as_bytes().chunks(2).map(|g| u16::from_be_bytes([g[0], g[1]]));
                let words = glyphs.map(|g| letters.get(&g).copied().unwrap_or('?')).collect();
                seen.words.push((words, text.translation));
            }
            _ => {}
        }
    }
    assert!(stack.is_empty(), "what was saved is restored");
    seen
}

/// Which letter a glyph stands for, as any program reads it that copies words out of a PDF.
fn read_letters(font: &Dict<'_>) -> BTreeMap<u16, char> {
    let map: Stream<'_> = font.get("ToUnicode").expect("a map of letters");
    let map = map.decoded().expect("it unpacks").to_vec();
    let map = String::from_utf8(map).expect("plain words");
    let hex = |w: &str| u32::from_str_radix(w.trim_matches(['<', '>']), 16).ok();
    let pairs = map.lines().filter(|l| l.starts_with('<')).filter_map(|l| {
        let (a, b) = l.split_once(' ')?;
        Some((u16::try_from(hex(a)?).ok()?, char::from_u32(hex(b)?)?))
    });
    pairs.collect()
}

/// Prints, or says why not: a checkout without Node has no letters.
fn printed(drawings: &[Drawing]) -> Option<Vec<u8>> {
    match pdf::file(drawings) {
        Ok(bytes) => Some(bytes),
        Err(pdf::PdfFault::NoLetters) => {
            eprintln!("skipped: built without web/dist");
            None
        }
        Err(fault) => panic!("{fault}"),
    }
}

fn near(got: DVec2, want: DVec2) {
    assert!(got.distance(want) < 0.01, "got {got}, want {want}");
}

#[test]
fn pages_lines_arcs_and_words_lie_where_the_list_says_to_a_hundredth_of_a_millimetre() {
    let mut a = Drawing::new("a", 210.0, 297.0, "Sheet");
    let pen = Pen::new(Ink::Metal, Weight::Heavy);
    a.line(DVec2::new(10.0, 10.0), DVec2::new(110.0, 10.0), pen);
    a.arc(
        DVec2::new(100.0, 150.0),
        80.0,
        0.25,
        2.0,
        Pen::dashed(Ink::Quiet, Weight::Fine),
    );
    a.circle(DVec2::new(50.0, 60.0), 4.25, Some(pen), None);
    let slot = Path {
        vertices: vec![
            (DVec2::new(20.0, 200.0), 0.0),
            (DVec2::new(60.0, 200.0), 1.0),
            (DVec2::new(60.0, 212.5), 0.0),
            (DVec2::new(20.0, 212.5), 1.0),
        ],
        closed: true,
    };
    a.paths(vec![slot.clone()], Some(pen), Some(Fill::Solid(Ink::Oil)));
    a.text(
        DVec2::new(15.0, 280.0),
        "Měřítko 1:1, Ø 8.40 ± 0.1 mm (x)",
        4.0,
        Anchor::Start,
        Ink::Main,
    );
    a.label(DVec2::new(105.0, 20.0), "100 mm", 5.0, Anchor::Middle, Ink::Main);
    let b = Drawing::new("b", 1189.0, 841.0, "A large one");
    let Some(bytes) = printed(&[a, b]) else { return };
    let pages = look(&bytes);
    near(pages[0].size, DVec2::new(210.0, 297.0));
    near(pages[1].size, DVec2::new(1189.0, 841.0));
    let seen = &pages[0];
    near(seen.strokes[0][0], DVec2::new(10.0, 10.0));
    near(seen.strokes[0][1], DVec2::new(110.0, 10.0));
    let arc = &seen.strokes[1];
    let centre = DVec2::new(100.0, 150.0);
    near(arc[0], centre + 80.0 * DVec2::from_angle(0.25));
    near(arc[arc.len() - 1], centre + 80.0 * DVec2::from_angle(2.25));
    for p in arc {
        assert!((p.distance(centre) - 80.0).abs() < 0.001, "got {p}");
    }
    let circle = &seen.strokes[2];
    assert!(
        circle
            .iter()
            .all(|p| (p.distance(DVec2::new(50.0, 60.0)) - 4.25).abs() < 0.001)
    );
    let high = seen.strokes[3].iter().fold(DVec2::ZERO, |m, p| m.max(*p));
    near(high, DVec2::new(60.0 + 6.25, 212.5));
    assert_eq!(seen.fills[0].len(), seen.strokes[3].len());
    assert!(seen.dashes > 0);
    // In stretches: the letters of other alphabets are a font of their own.
    let words: String = seen.words.iter().map(|w| w.0.as_str()).collect();
    assert_eq!(words, "Měřítko 1:1, Ø 8.40 ± 0.1 mm (x)100 mm");
    near(seen.words[0].1, DVec2::new(15.0, 280.0));
    let last = seen.words.last().expect("there are words");
    let width = pdf::width("100 mm", 5.0, true).expect("there are letters");
    near(last.1, DVec2::new(105.0 - 0.5 * width, 20.0));
    assert!((10.0..25.0).contains(&width), "got {width}");
}

#[test]
fn patterns_stay_inside_their_outline_and_pictures_on_their_rectangle() {
    let mut d = Drawing::new("p", 100.0, 80.0, "Patterns");
    let ring = Path::ring_piece(DVec2::new(30.0, 40.0), 10.0, 20.0, 0.0, 1.5 * PI);
    d.paths(vec![ring.clone()], None, Some(Fill::Thin));
    d.paths(
        vec![Path::rectangle(DVec2::new(60.0, 10.0), DVec2::new(90.0, 30.0))],
        None,
        Some(Fill::Bare),
    );
    let clip = d.clip(vec![Path::rectangle(
        DVec2::new(60.0, 40.0),
        DVec2::new(70.0, 50.0),
    )]);
    d.clipped(
        vec![ring],
        Some(Pen::new(Ink::Metal, Weight::Fine)),
        Some(Fill::Covered),
        clip,
    );
    let mut png = std::io::Cursor::new(Vec::new());
    image::RgbaImage::from_pixel(3, 2, image::Rgba([200, 100, 0, 128]))
        .write_to(&mut png, image::ImageFormat::Png)
        .expect("a picture");
    d.picture(DVec2::new(5.0, 60.0), DVec2::new(35.0, 75.0), png.into_inner());
    let Some(bytes) = printed(std::slice::from_ref(&d)) else {
        return;
    };
    let seen = &look(&bytes)[0];
    assert_eq!(seen.clips, 3);
    // Each dot is a stroke between two equal places: one of 0.407 mm² on each 1.28 mm² of the ring's box.
    let dots = seen.strokes.iter().find(|f| f.len() > 1000).expect("the dots");
    let box_of_ring = 40.0 * 40.0;
    let per_area = dots.len() as f64 / 2.0 * 1.28 / box_of_ring;
    assert!((0.95..1.25).contains(&per_area), "got {per_area}");
    assert!(
        dots.iter()
            .all(|p| (8.0..52.0).contains(&p.x) && (18.0..62.0).contains(&p.y))
    );
    near(seen.pictures[0].0, DVec2::new(5.0, 60.0));
    near(seen.pictures[0].1, DVec2::new(35.0, 75.0));
    assert_eq!(
        pdf::file(&[d.clone()]),
        pdf::file(&[d]),
        "the same drawing gives the same bytes"
    );
}

#[test]
fn what_cannot_be_printed_is_said_and_strange_letters_are_named() {
    if printed(&[Drawing::new("x", 10.0, 10.0, "x")]).is_none() {
        return;
    }
    assert_eq!(pdf::file(&[]), Err(pdf::PdfFault::NoDrawing));
    for (w, h) in [(0.0, 10.0), (f64::NAN, 10.0), (6000.0, 10.0)] {
        let fault = pdf::file(&[Drawing::new("x", w, h, "x")]).expect_err("no such page");
        assert!(matches!(fault, pdf::PdfFault::Size(..)), "{fault}");
    }
    let mut d = Drawing::new("x", 100.0, 10.0, "x");
    d.line(
        DVec2::ZERO,
        DVec2::new(f64::NAN, 1.0),
        Pen::new(Ink::Main, Weight::Fine),
    );
    assert_eq!(pdf::file(&[d]), Err(pdf::PdfFault::NoNumber("x".into())));
    let mut d = Drawing::new("x", 100.0, 10.0, "x");
    d.picture(DVec2::ZERO, DVec2::ONE, b"no picture".to_vec());
    assert!(matches!(pdf::file(&[d]), Err(pdf::PdfFault::Picture(..))));
    let mut d = Drawing::new("x", 100.0, 10.0, "x");
    d.text(DVec2::ZERO, "Łódź → 油", 4.0, Anchor::Start, Ink::Main);
    assert_eq!(pdf::lacking(std::slice::from_ref(&d)), ['→', '油']);
    assert!(pdf::file(&[d]).is_ok());
}

/// An outline with a hole and a diagonal, larger than a sheet in both directions, with its title.
fn large() -> Drawing {
    let mut d = Drawing::new("large", 520.0, 640.0, "Flange gasket");
    let pen = Pen::new(Ink::Metal, Weight::Heavy);
    d.paths(
        vec![Path::rectangle(DVec2::new(5.0, 5.0), DVec2::new(515.0, 635.0))],
        Some(pen),
        None,
    );
    d.circle(DVec2::new(60.0, 60.0), 40.0, Some(pen), None);
    d
}

/// The strokes that are exactly one bar long, lying and standing.
fn bars(seen: &Seen) -> [usize; 2] {
    let straight = seen.strokes.iter().filter(|s| s.len() == 2);
    let spans: Vec<DVec2> = straight.map(|s| (s[1] - s[0]).abs()).collect();
    let bar = |long: f64, thin: f64| (long - 100.0).abs() < 0.01 && thin < 0.001;
    [
        spans.iter().filter(|s| bar(s.x, s.y)).count(),
        spans.iter().filter(|s| bar(s.y, s.x)).count(),
    ]
}

#[test]
fn every_sheet_has_a_bar_each_way_the_words_and_its_name_and_empty_sheets_are_left_out() {
    for (stock, size) in [(Paper::A4, [210.0, 297.0]), (Paper::Letter, [215.9, 279.4])] {
        let tiled = paper::sheets(&large(), stock);
        // 520 by 640 mm on windows of 181 by 256 mm (A4) in steps of 171 by 246 mm is 3 by 3; the middle is empty.
        assert_eq!(tiled.left_out, ["B2"], "{stock:?}");
        assert_eq!((tiled.pages.len(), tiled.sheets.len()), (9, 8));
        assert!(tiled.said.iter().any(|s| s.contains("B2")), "{:?}", tiled.said);
        let Some(bytes) = printed(&tiled.pages) else {
            return;
        };
        for (i, seen) in look(&bytes).iter().enumerate() {
            near(seen.size, DVec2::from(size));
            assert_eq!(bars(seen), [1, 1], "page {i}");
            let words: Vec<&str> = seen.words.iter().map(|w| w.0.as_str()).collect();
            let all = words.join(" ");
            assert!(
                all.contains("Print at 100 %") && all.contains("not “fit to page”"),
                "{all}"
            );
            let name = i
                .checked_sub(1)
                .map_or("map of the sheets", |k| tiled.sheets[k].name.as_str());
            assert!(
                words.iter().any(|w| w.starts_with(name)),
                "{name} is not on its page: {all}"
            );
            // Nothing that must be seen lies where a printer does not reach.
            for (words, at) in &seen.words {
                assert!(
                    at.x > 9.9 && at.y > 9.9 && at.x < size[0] - 10.0,
                    "{words} at {at}"
                );
            }
        }
    }
}

#[test]
fn crosses_of_a_joint_are_the_same_place_on_both_sheets_and_no_line_is_lost_between_them() {
    let source = large();
    let tiled = paper::sheets(&source, Paper::A4);
    let Some(bytes) = printed(&tiled.pages) else {
        return;
    };
    let pages = look(&bytes);
    let corner = DVec2::new(19.0, 19.0);
    let mut joints: BTreeMap<String, Vec<DVec2>> = BTreeMap::new();
    for (sheet, seen) in tiled.sheets.iter().zip(&pages[1..]) {
        for (word, at) in &seen.words {
            if word.len() == 1 {
                joints
                    .entry(word.clone())
                    .or_default()
                    .push(*at - corner + sheet.low);
            }
        }
    }
    // 8 sheets round an empty middle: 4 joints along rows A and C, 4 along columns 1 and 3, two crosses each.
    assert_eq!(joints.len(), 16, "{:?}", joints.keys());
    for (letter, places) in joints {
        assert_eq!(places.len(), 2, "{letter} stands on two sheets");
        near(places[0], places[1]);
    }
    // Walk the outline: each place lies in the window of a sheet that draws it there.
    let window = DVec2::new(181.0, 256.0);
    for k in 0..2000 {
        let t = f64::from(k) / 2000.0 * 4.0;
        let (side, u) = (t.floor() as usize, t.fract());
        let corners = [(5.0, 5.0), (515.0, 5.0), (515.0, 635.0), (5.0, 635.0), (5.0, 5.0)].map(DVec2::from);
        let p = corners[side].lerp(corners[side + 1], u);
        let shown = tiled.sheets.iter().zip(&pages[1..]).any(|(sheet, seen)| {
            let q = p - sheet.low;
            let inside = q.cmpge(DVec2::ZERO).all() && q.cmple(window).all();
            let at = q + corner;
            inside
                && seen
                    .strokes
                    .iter()
                    .any(|s| s.windows(2).any(|w| on(at, w[0], w[1])))
        });
        assert!(shown, "{p} is on no sheet");
    }
}

/// Whether a place lies on a stretch, to a hundredth of a millimetre.
fn on(p: DVec2, a: DVec2, b: DVec2) -> bool {
    let way = b - a;
    let t = ((p - a).dot(way) / way.length_squared().max(1e-12)).clamp(0.0, 1.0);
    p.distance(a + t * way) < 0.01
}

#[test]
fn what_fits_is_one_sheet_without_joints_and_a_long_thin_part_lies_the_way_that_takes_fewer() {
    let mut d = Drawing::new("small", 170.0, 250.0, "Small");
    d.circle(
        DVec2::new(85.0, 125.0),
        80.0,
        Some(Pen::new(Ink::Metal, Weight::Heavy)),
        None,
    );
    let one = paper::sheets(&d, Paper::A4);
    assert_eq!((one.pages.len(), one.sheets.len(), one.said.len()), (1, 1, 0));
    let Some(bytes) = printed(&one.pages) else { return };
    let seen = &look(&bytes)[0];
    assert_eq!(bars(seen), [1, 1]);
    let circle = seen.strokes.iter().find(|s| s.len() > 10).expect("the circle");
    let wide = circle.iter().fold(0.0_f64, |m, p| m.max(p.distance(circle[0])));
    assert!((wide - 160.0).abs() < 0.01, "got {wide}");
    // 400 mm by 90 mm takes three sheets side by side and two one over the other.
    let mut d = Drawing::new("long", 400.0, 90.0, "Long");
    d.paths(
        vec![Path::rectangle(DVec2::new(1.0, 1.0), DVec2::new(399.0, 89.0))],
        Some(Pen::new(Ink::Metal, Weight::Heavy)),
        None,
    );
    let long = paper::sheets(&d, Paper::A4);
    assert!(long.turned);
    assert_eq!(long.sheets.len(), 2);
    // No drawing is so large that memory runs out before it is refused.
    let huge = paper::sheets(&Drawing::new("huge", 1e12, 10.0, "Huge"), Paper::A4);
    assert!(matches!(pdf::file(&huge.pages), Err(pdf::PdfFault::Size(..))));
}
