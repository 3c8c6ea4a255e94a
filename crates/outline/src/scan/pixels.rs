//! A picture as grey values, and the resolution that its file states.

use crate::fault::OutlineFault;
use glam::DVec2;
use image::{DynamicImage, ImageDecoder, ImageReader, Limits};
use std::io::Cursor;

/// Pixels at most: a sheet of 210 x 297 mm at 600 dpi has 35 million.
pub const MOST_PIXELS: u64 = 80_000_000;
/// Longest side [pixels].
pub const LONGEST_SIDE: u32 = 30_000;

/// Grey values, 0 black to 255 white, row by row from the top.
#[derive(Clone, Debug)]
pub(crate) struct Grey {
    pub width: usize,
    pub height: usize,
    pub values: Vec<u8>,
}

impl Grey {
    pub fn at(&self, x: usize, y: usize) -> u8 {
        self.values[y * self.width + x]
    }

    /// Value at a place in pixels (0.5, 0.5 is the middle of the first), between neighbours.
    pub fn between(&self, p: DVec2) -> f64 {
        let q = (p - 0.5).clamp(
            DVec2::ZERO,
            DVec2::new(self.width as f64 - 1.0, self.height as f64 - 1.0),
        );
        let (x, y) = (q.x as usize, q.y as usize);
        let (u, v) = ((x + 1).min(self.width - 1), (y + 1).min(self.height - 1));
        let (s, t) = (q.x - x as f64, q.y - y as f64);
        let value = |x: usize, y: usize| f64::from(self.at(x, y));
        (1.0 - t) * ((1.0 - s) * value(x, y) + s * value(u, y))
            + t * ((1.0 - s) * value(x, v) + s * value(u, v))
    }

    /// Means over squares of `by` x `by` pixels.
    pub fn smaller(&self, by: usize) -> Grey {
        let (width, height) = (self.width.div_ceil(by), self.height.div_ceil(by));
        let mut values = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let (rows, columns) = (
                    y * by..((y + 1) * by).min(self.height),
                    x * by..((x + 1) * by).min(self.width),
                );
                let count = (rows.len() * columns.len()) as u32;
                let sum: u32 = rows
                    .map(|r| {
                        self.values[r * self.width..][columns.clone()]
                            .iter()
                            .map(|v| u32::from(*v))
                            .sum::<u32>()
                    })
                    .sum();
                values.push(((sum + count / 2) / count) as u8);
            }
        }
        Grey {
            width,
            height,
            values,
        }
    }
}

/// The picture, turned upright as its file asks, and its resolution in pixels to the metre along x and y.
pub(crate) fn decode(bytes: &[u8]) -> Result<(Grey, Option<DVec2>), OutlineFault> {
    let broken = |what: String| OutlineFault::new("picture", what, "scan or save it again as PNG or JPEG");
    let reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format();
    let reader = reader.map_err(|f| broken(format!("the picture cannot be read: {f}")))?;
    let mut decoder = reader
        .into_decoder()
        .map_err(|f| broken(format!("the picture cannot be read: {f}")))?;
    let (w, h) = decoder.dimensions();
    if w > LONGEST_SIDE || h > LONGEST_SIDE || u64::from(w) * u64::from(h) > MOST_PIXELS {
        let what = format!(
            "the picture says it is {w} x {h} pixels; at most {MOST_PIXELS} and {LONGEST_SIDE} a side are read"
        );
        return Err(OutlineFault::new(
            "picture-too-large",
            what,
            "scan it at 300 dpi, or cut it down to the part",
        ));
    }
    if w < 32 || h < 32 {
        return Err(broken(format!("a picture of {w} x {h} pixels shows no outline")));
    }
    let mut limits = Limits::default();
    limits.max_alloc = Some(8 * MOST_PIXELS);
    decoder
        .set_limits(limits)
        .map_err(|f| broken(format!("the picture cannot be read: {f}")))?;
    let turn = decoder
        .orientation()
        .map_err(|f| broken(format!("the picture cannot be read: {f}")))?;
    let mut picture = DynamicImage::from_decoder(decoder)
        .map_err(|f| broken(format!("the picture cannot be read: {f}")))?;
    picture.apply_orientation(turn);
    let grey = picture.into_luma8();
    let turned = grey.width() != w;
    let stated = resolution(bytes).map(|r| if turned { DVec2::new(r.y, r.x) } else { r });
    let grey = Grey {
        width: grey.width() as usize,
        height: grey.height() as usize,
        values: grey.into_raw(),
    };
    Ok((grey, stated))
}

/// PNG states whole pixels to the metre: where a whole number of dots to the inch rounds to it, that is meant. At 150 dpi
/// the rounding alone would be 0.02 mm over a quarter of a metre.
fn whole_dpi(per_metre: f64) -> f64 {
    let dpi = (per_metre * 0.0254).round();
    match (dpi / 0.0254 - per_metre).abs() <= 0.5 {
        true => dpi / 0.0254,
        false => per_metre,
    }
}

/// Pixels to the metre by PNG's pHYs chunk (unit 1) or JPEG's JFIF density (unit 1: inch, 2: cm).
///
/// Source: PNG (ISO/IEC 15948) 11.3.5.3 and JFIF 1.02, from memory.
fn resolution(bytes: &[u8]) -> Option<DVec2> {
    let number = |at: usize| {
        Some(f64::from(u32::from_be_bytes(
            bytes.get(at..at + 4)?.try_into().ok()?,
        )))
    };
    let short = |at: usize| {
        Some(f64::from(u16::from_be_bytes(
            bytes.get(at..at + 2)?.try_into().ok()?,
        )))
    };
    let found = if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        let mut at = 8;
        loop {
            let length = number(at)? as usize;
            match bytes.get(at + 4..at + 8)? {
                b"pHYs" if bytes.get(at + 16) == Some(&1) => {
                    break DVec2::new(whole_dpi(number(at + 8)?), whole_dpi(number(at + 12)?));
                }
                b"IDAT" | b"IEND" | b"pHYs" => return None,
                _ => at = at.checked_add(length)?.checked_add(12)?,
            }
        }
    } else {
        let at = bytes
            .get(..200.min(bytes.len()))?
            .windows(5)
            .position(|w| w == b"JFIF\0")?;
        let factor = match bytes.get(at + 7)? {
            1 => 1.0 / 0.0254,
            2 => 100.0,
            _ => return None,
        };
        factor * DVec2::new(short(at + 8)?, short(at + 10)?)
    };
    (found.min_element() > 100.0 && found.max_element() < 1e6).then_some(found)
}
