//! Hostile files: drawings, tables and pictures with bytes changed, cut, doubled and put in. The readers answer each, with a
//! figure that holds or with faults that say how to mend them. The seeds are fixed, so a failure can be run again.

mod made;

use made::picture::Dice;
use sumpwright_outline::scan::{ScanOptions, Straighten, is_picture, trace};
use sumpwright_outline::write::{Format, checked};
use sumpwright_outline::{Figure, LengthUnit, OutlineFault, ReadOptions, read};

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        ((self.share() * n as f64) as usize).min(n.saturating_sub(1))
    }
}

fn corpus() -> Vec<Vec<u8>> {
    let gasket = read(made::GASKET.as_bytes(), &ReadOptions::default())
        .unwrap_or_else(|f| panic!("{f:?}"))
        .1;
    let written = |format| {
        checked(&gasket, format)
            .unwrap_or_else(|f| panic!("{f}"))
            .into_bytes()
    };
    let shapes = "<svg viewBox=\"0 0 200 100\"><defs><circle id=\"b\" r=\"4\"/></defs><g transform=\"rotate(3) scale(1,2)\">\
                  <rect width=\"150\" height=\"40\" rx=\"5\"/><use href=\"#b\" x=\"20\" y=\"20\"/><ellipse cx=\"60\" cy=\"20\" rx=\"9\" ry=\"5\"/>\
                  <path d=\"M90 10c5 0 9 4 9 9t-9 9a9 9 0 0 1 0-18z\"/><polygon points=\"110,10 130,10 120,30\"/></g></svg>";
    vec![
        written(Format::Dxf),
        written(Format::Svg),
        made::GASKET.as_bytes().to_vec(),
        shapes.as_bytes().to_vec(),
        include_bytes!("data/inch-blocks.dxf").to_vec(),
        include_bytes!("data/curves.dxf").to_vec(),
        include_bytes!("data/no-unit-r12.dxf").to_vec(),
    ]
}

/// Bytes and words that mean something to one reader or another.
const TELLING: [&[u8]; 18] = [
    b"0",
    b"-",
    b".",
    b",",
    b"\n",
    b" ",
    b"e9",
    b"<",
    b">",
    b"\"",
    b"nan",
    b"999999999",
    b"1e308",
    b"\0",
    b"\xff",
    b"\n0\nINSERT\n",
    b"A",
    b"Z",
];

fn mutate(file: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut out = file.to_vec();
    for _ in 0..=dice.below(5) {
        let (from, span) = (dice.below(out.len()), dice.below(120));
        let to = (from + span).min(out.len());
        let word = TELLING[dice.below(TELLING.len())];
        match dice.below(6) {
            0 => drop(out.splice(from..(from + word.len()).min(out.len()), word.iter().copied())),
            1 => drop(out.splice(from..from, word.iter().copied())),
            2 => drop(out.drain(from..to)),
            3 => {
                let piece = out[from..to].to_vec();
                let at = dice.below(out.len());
                drop(out.splice(at..at, piece));
            }
            4 if dice.below(4) == 0 => out.truncate(from),
            _ if !out.is_empty() => out[from] ^= 1 << dice.below(8),
            _ => {}
        }
    }
    out
}

fn holds(figure: &Figure, seed: u64) {
    assert!(!figure.shapes.is_empty(), "seed {seed}");
    for shape in &figure.shapes {
        let sound = shape
            .line
            .vertices
            .iter()
            .all(|(p, b)| p.is_finite() && b.is_finite());
        assert!(
            sound && shape.line.area() > 0.0 && shape.line.length().is_finite(),
            "seed {seed}: {shape:?}"
        );
    }
}

fn told(faults: &[OutlineFault], seed: u64) {
    assert!(!faults.is_empty(), "seed {seed}: refused without a fault");
    for fault in faults {
        assert!(
            !fault.what.is_empty() && !fault.mend.is_empty(),
            "seed {seed}: {fault:?}"
        );
    }
}

#[test]
fn five_thousand_spoilt_drawings_and_tables_are_each_answered() {
    let options = ReadOptions {
        unit: Some(LengthUnit::Millimetre),
        ..ReadOptions::default()
    };
    let corpus = corpus();
    for file in &corpus {
        read(file, &options).unwrap_or_else(|f| panic!("the files to start from are good: {f:?}"));
    }
    let (mut good, mut refused) = (0, 0);
    for seed in 1..=5000_u64 {
        let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        let file = mutate(&corpus[seed as usize % corpus.len()], &mut dice);
        if is_picture(&file) {
            continue;
        }
        match read(&file, &options) {
            Ok((_, figure)) => {
                holds(&figure, seed);
                good += 1;
            }
            Err(faults) => {
                told(&faults, seed);
                refused += 1;
            }
        }
    }
    // Both ways are taken, or the mutations are too mild or too rough to tell anything.
    assert!(good > 500 && refused > 500, "{good} read, {refused} refused");
}

#[test]
fn spoilt_pictures_are_each_answered() {
    let mut picture = image::GrayImage::from_pixel(160, 120, image::Luma([225]));
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let (u, v) = (f64::from(x) - 80.0, f64::from(y) - 60.0);
        if u.abs() < 50.0 && v.abs() < 35.0 && u.hypot(v) > 15.0 {
            pixel.0 = [60];
        }
    }
    let mut files = Vec::new();
    for format in [image::ImageFormat::Png, image::ImageFormat::Jpeg] {
        let mut out = std::io::Cursor::new(Vec::new());
        picture
            .write_to(&mut out, format)
            .expect("it is written to memory");
        files.push(out.into_inner());
    }
    let (mut good, mut refused) = (0, 0);
    for seed in 1..=400_u64 {
        let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        let file = mutate(&files[seed as usize % 2], &mut dice);
        let straighten = if seed % 3 == 0 {
            Straighten::SheetFound([0.21, 0.297])
        } else {
            Straighten::No
        };
        match trace(
            &file,
            &ScanOptions {
                straighten,
                ..ScanOptions::default()
            },
        ) {
            Ok(traced) => {
                holds(&traced.figure, seed);
                good += 1;
            }
            Err(faults) => {
                told(&faults, seed);
                refused += 1;
            }
        }
    }
    assert!(good > 20 && refused > 100, "{good} read, {refused} refused");
}
