//! Closed lines along which a picture is halfway between paper and part, to a fraction of a pixel.
//!
//! Marching squares: where the value crosses a half between the middles of two pixels, the line crosses the edge between
//! them, at the place that linear interpolation gives. The part lies to the left of the line, so outlines run
//! counter-clockwise as seen with y down turned over, holes clockwise.

use super::light::Shares;
use crate::fault::OutlineFault;
use glam::DVec2;
use std::collections::HashMap;

/// Crossings at most; an honest scan of a gasket at 600 dpi has some hundred thousand.
const MOST_CROSSINGS: usize = 6_000_000;

/// A closed line in pixels, (0.5, 0.5) being the middle of the first.
pub(super) struct Contour {
    pub points: Vec<DVec2>,
    /// It runs along the rim of the picture.
    pub at_rim: bool,
}

/// Edges are numbered by the pixel at their upper left end: twice its number, and one more for the edge that goes down.
pub(super) fn contours(shares: &Shares) -> Result<Vec<Contour>, OutlineFault> {
    let (w, h) = (shares.width, shares.height);
    // Beyond the rim is paper, so that every line closes. Coordinates are shifted by one for it.
    let value = |x: usize, y: usize| -> f64 {
        match x == 0 || y == 0 || x > w || y > h {
            true => 0.0,
            false => f64::from(shares.values[(y - 1) * w + x - 1]),
        }
    };
    let wide = w + 2;
    let edge = |x: usize, y: usize, down: bool| 2 * (y * wide + x) as u64 + u64::from(down);
    let mut next: HashMap<u64, u64> = HashMap::new();
    for y in 0..=h {
        for x in 0..=w {
            let corners = [value(x, y), value(x + 1, y), value(x + 1, y + 1), value(x, y + 1)];
            let inside = corners.map(|v| v >= 0.5);
            if inside[0] == inside[1] && inside[1] == inside[2] && inside[2] == inside[3] {
                continue;
            }
            // Top, right, bottom, left: the edge after corner k in the order of the corners.
            let edges = [
                edge(x, y, false),
                edge(x + 1, y, true),
                edge(x, y + 1, false),
                edge(x, y, true),
            ];
            let middle = corners.iter().sum::<f64>() >= 2.0;
            for k in 0..4 {
                // The line enters where the way round goes from part to paper, and leaves where it comes back.
                if inside[k] && !inside[(k + 1) % 4] {
                    let opposite = inside[(k + 2) % 4] && !inside[(k + 3) % 4];
                    let leave = if opposite {
                        // A saddle: two lines; the middle says which corners belong together.
                        if middle { (k + 1) % 4 } else { (k + 3) % 4 }
                    } else {
                        (1..4)
                            .map(|s| (k + s) % 4)
                            .find(|&e| !inside[e] && inside[(e + 1) % 4])
                            .expect("a way back in")
                    };
                    next.insert(edges[k], edges[leave]);
                }
            }
            if next.len() > MOST_CROSSINGS {
                let what = "the picture is too grainy to follow an edge in it";
                let mend = "scan it again on plain paper, sharply, or at a lower resolution";
                return Err(OutlineFault::new("grainy", what, mend));
            }
        }
    }
    let place = |number: u64| {
        let (cell, down) = ((number / 2) as usize, number % 2 == 1);
        let (x, y) = (cell % wide, cell / wide);
        let (u, v) = if down { (x, y + 1) } else { (x + 1, y) };
        let (a, b) = (value(x, y), value(u, v));
        let t = ((0.5 - a) / (b - a)).clamp(0.0, 1.0);
        // Pixel 1 of the shifted grid has its middle at 0.5.
        DVec2::new(x as f64, y as f64) + t * DVec2::new((u - x) as f64, (v - y) as f64) - 0.5
    };
    let mut starts: Vec<u64> = next.keys().copied().collect();
    starts.sort_unstable();
    let mut out = Vec::new();
    for start in starts {
        let mut at = start;
        let mut points = Vec::new();
        while let Some(to) = next.remove(&at) {
            points.push(place(at));
            at = to;
        }
        if points.len() >= 8 {
            let near = |p: &DVec2| p.x < 1.5 || p.y < 1.5 || p.x > w as f64 - 1.5 || p.y > h as f64 - 1.5;
            let at_rim = points.iter().any(near);
            out.push(Contour { points, at_rim });
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_with_a_soft_edge_is_followed_to_a_fiftieth_of_a_pixel() {
        let (w, h, centre, radius) = (80, 60, DVec2::new(38.3, 29.1), 17.4);
        let values = (0..w * h)
            .map(|i| {
                let p = DVec2::new((i % w) as f64 + 0.5, (i / w) as f64 + 0.5);
                (0.5 + 0.4 * (radius - p.distance(centre))).clamp(0.0, 1.0) as f32
            })
            .collect();
        let found = contours(&Shares {
            width: w,
            height: h,
            values,
        })
        .expect("it is not grainy");
        assert_eq!(found.len(), 1);
        assert!(!found[0].at_rim && found[0].points.len() > 100);
        let off = found[0]
            .points
            .iter()
            .map(|p| (p.distance(centre) - radius).abs())
            .fold(0.0, f64::max);
        assert!(off < 0.02, "{off}");
    }

    #[test]
    fn a_part_that_leaves_the_picture_is_noticed_and_checkers_do_not_trip_it() {
        let half = (0..400).map(|i| if i % 20 < 10 { 1.0 } else { 0.0 }).collect();
        let found = contours(&Shares {
            width: 20,
            height: 20,
            values: half,
        })
        .expect("it is not grainy");
        assert!(found.len() == 1 && found[0].at_rim);
        let checkers = (0..400)
            .map(|i| if (i / 20 + i) % 2 == 0 { 0.9 } else { 0.2 })
            .collect();
        assert!(
            contours(&Shares {
                width: 20,
                height: 20,
                values: checkers
            })
            .is_ok()
        );
    }
}
