//! A flatbed scan or a photo of a gasket or a flange face: straightened, traced, and fitted with lines, arcs and circles.
//!
//! The picture's light is evened out ([`light`]), the edge of the part followed to a fraction of a pixel ([`contour`]),
//! brought to metres by the resolution or by four corners whose places are known ([`straighten`], [`sheet`]), and fitted
//! with as few straight sides, arcs and circles as stay within a stated tolerance ([`pieces`]). What the fit leaves over
//! is told as residuals.
//!
//! A lens bends straight lines, and four corners cannot see that: a flatbed is better than a phone, and a phone farther
//! away better than one close by.

mod contour;
mod light;
mod pieces;
mod pixels;
mod sheet;
mod straighten;

use crate::closed::Closed;
use crate::fault::OutlineFault;
use crate::figure::Figure;
use crate::unit::{LengthUnit, UnitOrigin};
use contour::contours;
use glam::DVec2;
use light::{Light, Shares};
use pixels::Grey;
use serde::Serialize;
use straighten::{View, by_sides};

pub use light::Tone;
pub use pixels::{LONGEST_SIDE, MOST_PIXELS};

/// Resolution that is assumed when nothing says any [dots per inch].
const USUAL_DPI: f64 = 300.0;
/// Parts smaller than this share of the largest are dirt.
const LEAST_PART: f64 = 0.03;
/// Smallest hole that is kept: a patch as large as a circle of this diameter [m].
const LEAST_HOLE: f64 = 2e-3;
/// Closed edges at most; more is grain, print or perforated plate.
const MOST_EDGES: usize = 1_000;
/// Longest side of the picture that goes under the drawing [pixels].
const UNDERLAY: f64 = 1_100.0;

/// How a picture is traced.
#[derive(Clone, Debug, PartialEq)]
pub struct ScanOptions {
    /// How far the fitted lines may lie from what was traced [m].
    pub fit: f64,
    /// Resolution [dots per inch], where the file does not say or says wrong.
    pub dpi: Option<f64>,
    /// Which is darker, part or ground.
    pub tone: Tone,
    /// How it is straightened.
    pub straighten: Straighten,
}

impl Default for ScanOptions {
    /// 0.1 mm, about a pixel of a 300 dpi scan.
    fn default() -> ScanOptions {
        ScanOptions {
            fit: 1e-4,
            dpi: None,
            tone: Tone::DarkPart,
            straighten: Straighten::No,
        }
    }
}

/// How a picture is brought to true shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Straighten {
    /// A flatbed scan: it is true already.
    No,
    /// The part lies on a light sheet of this width and height [m], turned as it may be, whose corners are found.
    SheetFound([f64; 2]),
    /// Corners in pixels of a rectangle of this width and height [m]: lower left, lower right, upper right, upper left.
    Rectangle([DVec2; 4], [f64; 2]),
    /// Four points in pixels, against the clock as seen, with the distances first to second, second to third, third to
    /// fourth, fourth to first, and first to third [m].
    Sides([DVec2; 4], [f64; 5]),
}

/// How well the fitted lines of a shape agree with what was traced.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Residual {
    /// Name of the shape.
    pub name: String,
    /// Root of the mean square distance [m].
    pub rms: f64,
    /// Largest distance [m].
    pub most: f64,
}

/// A traced picture.
#[derive(Clone, Debug)]
pub struct Traced {
    /// What was understood.
    pub figure: Figure,
    /// How well the lines fit, shape by shape.
    pub residuals: Vec<Residual>,
    /// The picture, straightened, to be drawn under the lines.
    pub underlay: Underlay,
}

/// A grey picture over a rectangle of the figure's plane.
#[derive(Clone, Debug)]
pub struct Underlay {
    /// Lower left and upper right corner [m].
    pub low: DVec2,
    /// Upper right corner [m].
    pub high: DVec2,
    /// As a PNG file.
    pub png: Vec<u8>,
}

/// Traces a picture (PNG or JPEG); see the module.
///
/// # Errors
/// A picture that cannot be read or is too large, without contrast, a part that runs off its edge, corners that are not
/// there.
pub fn trace(bytes: &[u8], options: &ScanOptions) -> Result<Traced, Vec<OutlineFault>> {
    let one = |f: OutlineFault| vec![f];
    let (grey, stated) = pixels::decode(bytes).map_err(one)?;
    let (view, sheet, origin, said) = view(&grey, stated, options).map_err(one)?;
    let inside = |p: DVec2| sheet.is_none_or(|s| within(&view, p, s));
    let light = Light::of(&grey, options.tone, &inside).map_err(one)?;
    let shares = Shares::of(&grey, &light, &inside);
    let mut traced: Vec<Vec<DVec2>> = Vec::new();
    let mut rim = None;
    for contour in contours(&shares).map_err(one)? {
        let points: Vec<DVec2> = contour.points.iter().map(|p| view.metres(*p)).collect();
        if area(&points).abs() < 0.25 * std::f64::consts::PI * LEAST_HOLE * LEAST_HOLE {
            continue;
        }
        if contour.at_rim {
            let far = points.iter().fold(DVec2::NEG_INFINITY, |a, b| a.max(*b));
            rim = Some((area(&points).abs(), far));
        } else {
            traced.push(points);
        }
    }
    drop(shares);
    if traced.len() > MOST_EDGES {
        let what = format!(
            "{} edges are seen in the picture, too many for a part",
            traced.len()
        );
        let mend =
            "scan it on plain paper; if the ground is patterned or the scale is wrong, mend that first";
        return Err(one(OutlineFault::new("grainy", what, mend)));
    }
    let largest = traced.iter().map(|p| area(p).abs()).fold(0.0, f64::max);
    if rim.is_some_and(|(a, _)| a > LEAST_PART * largest) {
        let what = "the part, or a shadow as large, runs off the edge of the picture";
        let mend = "scan it so that paper is seen all round it, or cut the picture's dark rim off";
        return Err(one(OutlineFault::new("off-the-edge", what, mend)));
    }
    let (kept, dirt) = parts(traced);
    let lines: Option<Vec<(Closed, String, usize)>> = kept
        .iter()
        .map(|p| Some((pieces::fitted(p, options.fit)?, String::new(), 0)))
        .collect();
    let Some(lines) = lines else {
        let what = "an edge is too ragged to be fitted with lines and arcs";
        return Err(one(OutlineFault::new(
            "ragged",
            what,
            "clean the part's edge, or allow a wider tolerance (--fit)",
        )));
    };
    let mut figure = Figure::of(lines, 0.2 * options.fit)?;
    figure.unit = Some((LengthUnit::Millimetre, origin));
    figure.said = said;
    if dirt > 0 {
        figure.said.push(format!(
            "{dirt} small dark spots beside the part were left out as dirt."
        ));
    }
    if origin == UnitOrigin::Assumed {
        figure.cautions.push(format!(
            "The picture states no resolution that can be trusted, so its scale is assumed ({USUAL_DPI:.0} dpi): prove it by two \
             measured lengths, or state --dpi."
        ));
    }
    let residuals = residuals(&figure, &kept);
    if let Some(worst) = residuals.iter().max_by(|a, b| a.most.total_cmp(&b.most))
        && worst.most > 2.5 * options.fit
    {
        figure.cautions.push(format!(
            "{} lies up to {:.2} mm from what was traced: look at the picture there.",
            worst.name,
            worst.most * 1e3
        ));
    }
    let underlay = underlay(&grey, &view, &figure).map_err(one)?;
    Ok(Traced {
        figure,
        residuals,
        underlay,
    })
}

type Viewed = (View, Option<[f64; 2]>, UnitOrigin, Vec<String>);

/// The way from pixels to metres, the sheet that bounds what is looked at, and what is said of it.
fn view(grey: &Grey, stated: Option<DVec2>, options: &ScanOptions) -> Result<Viewed, OutlineFault> {
    let size = DVec2::new(grey.width as f64, grey.height as f64);
    let crossed = || {
        let what = "the four corners do not make a quadrangle, or the distances do not close";
        let mend = "name the corners lower left, lower right, upper right, upper left, in pixels from the upper left";
        OutlineFault::new("corners", what, mend)
    };
    let outside = |p: &DVec2| p.cmplt(DVec2::ZERO).any() || p.cmpgt(size).any();
    let check = |corners: &[DVec2; 4]| match corners.iter().find(|p| outside(p)) {
        Some(p) => {
            let what = format!(
                "the corner {:.0},{:.0} lies outside the picture of {} x {} pixels",
                p.x, p.y, size.x, size.y
            );
            Err(OutlineFault::new(
                "corners",
                what,
                "name corners in pixels from the upper left",
            ))
        }
        None => Ok(()),
    };
    let rectangle = |[w, h]: [f64; 2]| {
        [
            DVec2::ZERO,
            DVec2::new(w, 0.0),
            DVec2::new(w, h),
            DVec2::new(0.0, h),
        ]
    };
    match &options.straighten {
        Straighten::No => {
            let picture = format!("A picture of {} x {} pixels", size.x, size.y);
            let (per_metre, origin, said) = match (options.dpi, stated) {
                (Some(dpi), _) => (
                    DVec2::splat(dpi / 0.0254),
                    UnitOrigin::Asked,
                    format!("{picture} at {dpi} dpi, as asked."),
                ),
                (None, Some(r)) => {
                    let dpi = r * 0.0254;
                    // 72 and 96 are what programs write when they do not know.
                    let known = (dpi.x - 72.0).abs() > 1.0 && (dpi.x - 96.0).abs() > 1.0;
                    let r = if known {
                        r
                    } else {
                        DVec2::splat(USUAL_DPI / 0.0254)
                    };
                    let origin = if known {
                        UnitOrigin::Stated
                    } else {
                        UnitOrigin::Assumed
                    };
                    (
                        r,
                        origin,
                        format!("{picture}; the file says {:.1} x {:.1} dpi.", dpi.x, dpi.y),
                    )
                }
                (None, None) => {
                    let said = format!("{picture}; the file says nothing of its resolution.");
                    (DVec2::splat(USUAL_DPI / 0.0254), UnitOrigin::Assumed, said)
                }
            };
            Ok((View::by_resolution(per_metre, size.y), None, origin, vec![said]))
        }
        Straighten::SheetFound([a, b]) => {
            let [ul, ur, lr, ll] = sheet::corners(grey)?;
            // The longer way on the picture is the longer side of the sheet.
            let wide = ul.distance(ur) + ll.distance(lr) > ul.distance(ll) + ur.distance(lr);
            let size = if wide == (a > b) { [*a, *b] } else { [*b, *a] };
            let corners = [ll, lr, ur, ul];
            let view = View::by_corners(corners, rectangle(size)).ok_or_else(crossed)?;
            let places: Vec<String> = corners.iter().map(|p| format!("{:.1},{:.1}", p.x, p.y)).collect();
            let said = format!(
                "Straightened by the sheet of {:.1} x {:.1} mm; its corners were found at the pixels {}.",
                size[0] * 1e3,
                size[1] * 1e3,
                places.join("  ")
            );
            Ok((view, Some(size), UnitOrigin::Asked, vec![said]))
        }
        Straighten::Rectangle(corners, size) => {
            check(corners)?;
            let view = View::by_corners(*corners, rectangle(*size)).ok_or_else(crossed)?;
            let said = format!(
                "Straightened by four corners of a rectangle of {:.1} x {:.1} mm.",
                size[0] * 1e3,
                size[1] * 1e3
            );
            Ok((view, Some(*size), UnitOrigin::Asked, vec![said]))
        }
        Straighten::Sides(corners, sides) => {
            check(corners)?;
            let metres = by_sides(*sides).ok_or_else(crossed)?;
            let view = View::by_corners(*corners, metres).ok_or_else(crossed)?;
            let said = "Straightened by four points and the five distances between them.".to_owned();
            Ok((view, None, UnitOrigin::Asked, vec![said]))
        }
    }
}

/// Whether a pixel lies on the sheet, a little in from its edge.
fn within(view: &View, pixel: DVec2, [w, h]: [f64; 2]) -> bool {
    const EDGE: f64 = 1.5e-3;
    let p = view.metres(pixel);
    p.x > EDGE && p.y > EDGE && p.x < w - EDGE && p.y < h - EDGE
}

fn area(points: &[DVec2]) -> f64 {
    let n = points.len();
    let origin = points.first().copied().unwrap_or_default();
    0.5 * (0..n)
        .map(|i| (points[i] - origin).perp_dot(points[(i + 1) % n] - origin))
        .sum::<f64>()
}

/// Parts and their openings; what is small beside the largest part and not inside it is dirt.
fn parts(traced: Vec<Vec<DVec2>>) -> (Vec<Vec<DVec2>>, usize) {
    let rough: Vec<Closed> = (traced.iter())
        .map(|points| {
            let step = points.len().div_ceil(400).max(1);
            Closed::new(points.iter().step_by(step).map(|p| (*p, 0.0)).collect())
        })
        .collect();
    let areas: Vec<f64> = rough.iter().map(|c| c.area().abs()).collect();
    let largest = areas.iter().copied().fold(0.0, f64::max);
    let around = |i: usize| {
        (0..rough.len())
            .filter(|&j| areas[j] > areas[i] && rough[j].contains(traced[i][0]))
            .collect::<Vec<_>>()
    };
    // A spot within an opening, or beside the part, is dirt when it is small; an opening goes with its part.
    let is_dirt: Vec<bool> = (0..rough.len())
        .map(|i| around(i).len().is_multiple_of(2) && areas[i] < LEAST_PART * largest)
        .collect();
    let lost = |i: usize| is_dirt[i] || around(i).iter().any(|&j| is_dirt[j]);
    let keep: Vec<bool> = (0..rough.len()).map(|i| !lost(i)).collect();
    let dirt = is_dirt.iter().filter(|d| **d).count();
    let kept = traced
        .into_iter()
        .zip(keep)
        .filter(|(_, k)| *k)
        .map(|(p, _)| p)
        .collect();
    (kept, dirt)
}

/// Each traced line held against the shape that it became.
fn residuals(figure: &Figure, traced: &[Vec<DVec2>]) -> Vec<Residual> {
    let mut out: Vec<Residual> = Vec::new();
    for points in traced {
        let step = points.len().div_ceil(1500).max(1);
        let some: Vec<DVec2> = points.iter().step_by(step).copied().collect();
        let off = |shape: &crate::figure::Shape| {
            some.iter()
                .step_by(some.len().div_ceil(12).max(1))
                .map(|p| shape.line.distance(*p))
                .sum::<f64>()
        };
        let Some(shape) = figure.shapes.iter().min_by(|a, b| off(a).total_cmp(&off(b))) else {
            continue;
        };
        let offs: Vec<f64> = some.iter().map(|p| shape.line.distance(*p)).collect();
        out.push(Residual {
            name: shape.name.clone(),
            rms: (offs.iter().map(|o| o * o).sum::<f64>() / offs.len() as f64).sqrt(),
            most: offs.into_iter().fold(0.0, f64::max),
        });
    }
    let place = |name: &str| figure.shapes.iter().position(|s| s.name == name);
    out.sort_by_key(|r| place(&r.name));
    out
}

/// The picture round the figure, straightened and small.
fn underlay(grey: &Grey, view: &View, figure: &Figure) -> Result<Underlay, OutlineFault> {
    let (low, high) = figure.bounds();
    let margin = 0.04 * (high - low).max_element();
    let (low, high) = (low - margin, high + margin);
    let size = high - low;
    let step = size.max_element() / UNDERLAY;
    let (w, h) = (
        (size.x / step).ceil().max(1.0) as u32,
        (size.y / step).ceil().max(1.0) as u32,
    );
    let mut values = Vec::with_capacity((w * h) as usize);
    for y in 0..h {
        for x in 0..w {
            let p = DVec2::new(
                low.x + (f64::from(x) + 0.5) * step,
                high.y - (f64::from(y) + 0.5) * step,
            );
            values.push(grey.between(view.pixels(p)).round() as u8);
        }
    }
    let picture = image::GrayImage::from_raw(w, h, values).expect("as many values as pixels");
    let mut png = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut png, image::ImageFormat::Png).map_err(|f| {
        OutlineFault::new(
            "picture",
            format!("the straightened picture cannot be made: {f}"),
            "tell us: this is a fault of the program",
        )
    })?;
    let high = DVec2::new(low.x + f64::from(w) * step, high.y);
    let low = DVec2::new(low.x, high.y - f64::from(h) * step);
    Ok(Underlay {
        low,
        high,
        png: png.into_inner(),
    })
}

/// Whether bytes are a picture that [`trace`] reads.
pub fn is_picture(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\x89PNG\r\n\x1a\n") || bytes.starts_with(b"\xff\xd8\xff")
}
