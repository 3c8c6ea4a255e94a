//! Pictures of a gasket as a scanner or a camera would take them: soft edges, paper and cork texture, uneven light, grain.

#![allow(dead_code, reason = "each test file uses its own part")]

use glam::DVec2;
use sumpwright_outline::Figure;

/// How a picture is made.
pub struct Look {
    pub width: usize,
    pub height: usize,
    /// Brightness of paper and part.
    pub paper: f64,
    pub part: f64,
    /// Share by which the light falls off from the upper left to the lower right.
    pub fall: f64,
    /// Grain [grey values].
    pub grain: f64,
    /// Brightness of a table on which the sheet lies, if any.
    pub table: f64,
}

/// Share of each pixel that lies inside the closed lines (even-odd), on 4 lines a pixel, exact along x.
fn coverage(lines: &[Vec<DVec2>], width: usize, height: usize) -> Vec<f32> {
    const SUB: usize = 4;
    let mut out = vec![0.0_f32; width * height];
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); height * SUB];
    for line in lines {
        for i in 0..line.len() {
            let (a, b) = (line[i], line[(i + 1) % line.len()]);
            let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
            let first = (low.y * SUB as f64 - 0.5).ceil().max(0.0) as usize;
            let last = (high.y * SUB as f64 - 0.5)
                .ceil()
                .clamp(0.0, (height * SUB) as f64) as usize;
            for (s, crossing) in crossings.iter_mut().enumerate().take(last).skip(first) {
                let y = (s as f64 + 0.5) / SUB as f64;
                crossing.push(low.x + (y - low.y) / (high.y - low.y) * (high.x - low.x));
            }
        }
    }
    for (s, mut xs) in crossings.into_iter().enumerate() {
        xs.sort_by(f64::total_cmp);
        let row = &mut out[s / SUB * width..][..width];
        for pair in xs.chunks_exact(2) {
            let (from, to) = (pair[0].clamp(0.0, width as f64), pair[1].clamp(0.0, width as f64));
            for x in from as usize..(to.ceil() as usize).min(width) {
                let share = (to.min(x as f64 + 1.0) - from.max(x as f64)).max(0.0);
                row[x] += share as f32 / SUB as f32;
            }
        }
    }
    out
}

/// A plain generator (xorshift64*, Vigna 2016; from memory).
pub struct Dice(pub u64);

impl Dice {
    pub fn share(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Smooth blotches of about `size` pixels, from -1 to 1.
fn blotches(width: usize, height: usize, size: usize, seed: u64) -> impl Fn(usize, usize) -> f64 {
    let (w, h) = (width / size + 2, height / size + 2);
    let mut dice = Dice(seed);
    let knots: Vec<f64> = (0..w * h).map(|_| 2.0 * dice.share() - 1.0).collect();
    move |x, y| {
        let (i, j) = (x / size, y / size);
        let (s, t) = ((x % size) as f64 / size as f64, (y % size) as f64 / size as f64);
        let k = |i: usize, j: usize| knots[j * w + i];
        (1.0 - t) * ((1.0 - s) * k(i, j) + s * k(i + 1, j))
            + t * ((1.0 - s) * k(i, j + 1) + s * k(i + 1, j + 1))
    }
}

/// The figure (in metres) as `place` puts it into pixels; `sheet` are the sheet's corners in metres, if it lies on a table.
pub fn picture(
    figure: &Figure,
    place: &dyn Fn(DVec2) -> DVec2,
    sheet: Option<&[DVec2]>,
    look: &Look,
) -> Vec<u8> {
    let (w, h) = (look.width, look.height);
    let chords = |points: Vec<DVec2>| -> Vec<DVec2> { points.into_iter().map(place).collect() };
    let lines: Vec<Vec<DVec2>> = figure
        .shapes
        .iter()
        .map(|s| chords(s.line.chords(1e-6)))
        .collect();
    let part = coverage(&lines, w, h);
    let paper = sheet.map(|s| coverage(&[chords(s.to_vec())], w, h));
    let (coarse, fine) = (blotches(w, h, 60, 11), blotches(w, h, 3, 12));
    let cork = blotches(w, h, 7, 13);
    let mut values = vec![0.0_f64; w * h];
    for y in 0..h {
        for x in 0..w {
            let i = y * w + x;
            let ground = look.paper * (1.0 + 0.015 * coarse(x, y) + 0.01 * fine(x, y));
            let on_sheet = paper.as_ref().map_or(1.0, |p| f64::from(p[i]));
            let ground = on_sheet * ground + (1.0 - on_sheet) * look.table * (1.0 + 0.1 * cork(x, y));
            let dark = look.part * (1.0 + 0.12 * cork(x, y) + 0.05 * fine(x, y));
            let share = f64::from(part[i]);
            let light = 1.0 - look.fall * 0.5 * (x as f64 / w as f64 + y as f64 / h as f64);
            values[i] = light * (share * dark + (1.0 - share) * ground);
        }
    }
    // Optics: 1-2-1 each way.
    let mut soft = values.clone();
    for y in 0..h {
        for x in 0..w {
            let at = |dx: i64, dy: i64| {
                let u = (x as i64 + dx).clamp(0, w as i64 - 1) as usize;
                let v = (y as i64 + dy).clamp(0, h as i64 - 1) as usize;
                values[v * w + u]
            };
            let row = |dy: i64| 0.25 * (at(-1, dy) + 2.0 * at(0, dy) + at(1, dy));
            soft[y * w + x] = 0.25 * (row(-1) + 2.0 * row(0) + row(1));
        }
    }
    let mut dice = Dice(99);
    // Grain: the sum of four even throws is bell enough; its spread is 1/√3 of a throw's.
    let mut grain = || look.grain * 3f64.sqrt() * ((0..4).map(|_| dice.share()).sum::<f64>() - 2.0);
    soft.into_iter()
        .map(|v| (v + grain()).round().clamp(0.0, 255.0) as u8)
        .collect()
}

/// A grey PNG, with its resolution [dots per inch] if it states one.
pub fn png(values: &[u8], look: &Look, dpi: Option<f64>) -> Vec<u8> {
    let mut out = std::io::Cursor::new(Vec::new());
    let picture = image::GrayImage::from_raw(look.width as u32, look.height as u32, values.to_vec())
        .expect("as many values as pixels");
    picture
        .write_to(&mut out, image::ImageFormat::Png)
        .expect("it is written to memory");
    let mut bytes = out.into_inner();
    if let Some(dpi) = dpi {
        // pHYs stands after the header chunk, which ends at byte 33; its check sum is that of PNG (CRC-32, ISO 3309).
        let per_metre = ((dpi / 0.0254).round() as u32).to_be_bytes();
        let mut chunk = b"pHYs".to_vec();
        chunk.extend([per_metre, per_metre].concat());
        chunk.push(1);
        let mut whole = 9_u32.to_be_bytes().to_vec();
        whole.extend(&chunk);
        whole.extend(crc(&chunk).to_be_bytes());
        bytes.splice(33..33, whole);
    }
    bytes
}

fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, b| {
        (0..8).fold(crc ^ u32::from(*b), |c, _| {
            if c & 1 == 1 {
                0xEDB8_8320 ^ (c >> 1)
            } else {
                c >> 1
            }
        })
    })
}
