//! The corners of a light sheet of paper on a darker table, found to a fraction of a pixel.
//!
//! Roughly on a small picture: the largest light patch, its hull, the quadrangle of largest area in it. Then finely: each
//! side is looked for across the full picture in many places, a straight line is laid through what was found, and
//! neighbouring lines are crossed.

use super::pixels::Grey;
use crate::fault::OutlineFault;
use crate::round::Straight;
use glam::DVec2;

/// Longest side of the small picture [pixels].
const SMALL: usize = 500;

/// Corners in pixels, as one walks round with the clock as seen: upper left, upper right, lower right, lower left.
pub(super) fn corners(grey: &Grey) -> Result<[DVec2; 4], OutlineFault> {
    let missing = |why: &str| {
        let what = format!("the sheet cannot be found in the picture: {why}");
        let mend =
            "lay white paper on a dark table with all four corners in view, or name its corners (--corners)";
        OutlineFault::new("no-sheet", what, mend)
    };
    let by = grey.width.max(grey.height).div_ceil(SMALL);
    let small = grey.smaller(by);
    let patch = largest_patch(&small).ok_or_else(|| missing("no light patch stands out"))?;
    let share = patch.len() as f64 / small.values.len() as f64;
    if share < 0.08 {
        return Err(missing("the largest light patch is too small"));
    }
    let hull = hull(
        patch
            .iter()
            .map(|&(x, y)| DVec2::new(x as f64, y as f64))
            .collect(),
    );
    let rough = quadrangle(hull).ok_or_else(|| missing("the light patch has no four corners"))?;
    let rim = |p: &DVec2| {
        p.x < 2.0 || p.y < 2.0 || p.x > small.width as f64 - 3.0 || p.y > small.height as f64 - 3.0
    };
    if rough.iter().any(rim) {
        return Err(missing("a corner of it lies outside the picture"));
    }
    let rough = rough.map(|p| (p + 0.5) * by as f64);
    let mut lines = Vec::new();
    for i in 0..4 {
        let line = side(grey, rough[i], rough[(i + 1) % 4], 3.0 * by as f64);
        lines.push(line.ok_or_else(|| missing("one of its sides is not straight or not clear"))?);
    }
    let mut found = [DVec2::ZERO; 4];
    for i in 0..4 {
        let (a, b) = (lines[(i + 3) % 4], lines[i]);
        let cross = a.along.perp_dot(b.along);
        if cross.abs() < 0.2 {
            return Err(missing("two of its sides run alike"));
        }
        found[i] = a.at + a.along * ((b.at - a.at).perp_dot(b.along) / cross);
    }
    // Begin at the upper left.
    let first = (0..4).min_by(|&a, &b| (found[a].x + found[a].y).total_cmp(&(found[b].x + found[b].y)));
    found.rotate_left(first.unwrap_or(0));
    if (found[1] - found[0]).perp_dot(found[3] - found[0]) < 0.0 {
        found.swap(1, 3);
    }
    Ok(found)
}

/// Pixels of the largest connected light patch: lighter than halfway between the two heaps of brightness.
fn largest_patch(small: &Grey) -> Option<Vec<(usize, usize)>> {
    let level = parting(&small.values)?;
    let (w, h) = (small.width, small.height);
    let mut seen: Vec<bool> = small.values.iter().map(|v| *v <= level).collect();
    let mut best: Vec<(usize, usize)> = Vec::new();
    for start in 0..w * h {
        if seen[start] {
            continue;
        }
        seen[start] = true;
        let mut patch = Vec::new();
        let mut waiting = vec![start];
        while let Some(i) = waiting.pop() {
            let (x, y) = (i % w, i / w);
            patch.push((x, y));
            let mut visit = |j: usize| {
                if !seen[j] {
                    seen[j] = true;
                    waiting.push(j);
                }
            };
            if x > 0 {
                visit(i - 1);
            }
            if x + 1 < w {
                visit(i + 1);
            }
            if y > 0 {
                visit(i - w);
            }
            if y + 1 < h {
                visit(i + w);
            }
        }
        if patch.len() > best.len() {
            best = patch;
        }
    }
    (!best.is_empty()).then_some(best)
}

/// Otsu's threshold of grey values.
fn parting(values: &[u8]) -> Option<u8> {
    let mut counts = [0.0_f64; 256];
    values.iter().for_each(|v| counts[usize::from(*v)] += 1.0);
    let total = values.len() as f64;
    let sum: f64 = counts.iter().enumerate().map(|(i, c)| i as f64 * c).sum();
    let (mut below, mut below_sum, mut best) = (0.0, 0.0, (0.0, None));
    for (i, count) in counts.iter().enumerate() {
        below += count;
        below_sum += i as f64 * count;
        if below > 0.0 && below < total {
            let apart = below_sum / below - (sum - below_sum) / (total - below);
            let score = below * (total - below) * apart * apart;
            if score > best.0 {
                best = (score, Some(i as u8));
            }
        }
    }
    best.1
}

/// The convex hull, by Andrew's chains (1979).
fn hull(mut points: Vec<DVec2>) -> Vec<DVec2> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut out: Vec<DVec2> = Vec::new();
    for pass in 0..2 {
        let floor = out.len() + 1;
        let walk: Box<dyn Iterator<Item = &DVec2>> = if pass == 0 {
            Box::new(points.iter())
        } else {
            Box::new(points.iter().rev())
        };
        for p in walk {
            while out.len() > floor
                && (out[out.len() - 1] - out[out.len() - 2]).perp_dot(*p - out[out.len() - 1]) <= 0.0
            {
                out.pop();
            }
            out.push(*p);
        }
        out.pop();
    }
    out
}

/// The hull with corners taken away until four are left, always the one that costs least area.
fn quadrangle(mut hull: Vec<DVec2>) -> Option<[DVec2; 4]> {
    while hull.len() > 4 {
        let n = hull.len();
        let cost = |i: usize| {
            let (a, b, c) = (hull[(i + n - 1) % n], hull[i], hull[(i + 1) % n]);
            (b - a).perp_dot(c - b).abs()
        };
        let least = (0..n).min_by(|&a, &b| cost(a).total_cmp(&cost(b)))?;
        hull.remove(least);
    }
    hull.try_into().ok()
}

/// The straight edge between two rough corners: halfway between the brightness inside and outside, in many places.
fn side(grey: &Grey, from: DVec2, to: DVec2, reach: f64) -> Option<Straight> {
    const PLACES: usize = 240;
    let across = (to - from).perp().normalize_or_zero();
    let reach = reach.max(6.0);
    let steps = (2.0 * reach).ceil() as usize;
    let mut found: Vec<DVec2> = Vec::new();
    for i in 0..PLACES {
        let middle = from.lerp(to, 0.06 + 0.88 * i as f64 / (PLACES - 1) as f64);
        let values: Vec<f64> = (0..=steps)
            .map(|k| grey.between(middle + across * (2.0 * reach * k as f64 / steps as f64 - reach)))
            .collect();
        let (first, last) = (
            values[..3].iter().sum::<f64>() / 3.0,
            values[steps - 2..].iter().sum::<f64>() / 3.0,
        );
        if (first - last).abs() < 20.0 {
            continue;
        }
        let half = 0.5 * (first + last);
        let cross = (0..steps)
            .find(|&k| (values[k] - half) * (values[k + 1] - half) <= 0.0 && values[k] != values[k + 1]);
        if let Some(k) = cross {
            let t = (half - values[k]) / (values[k + 1] - values[k]);
            found.push(middle + across * (2.0 * reach * (k as f64 + t) / steps as f64 - reach));
        }
    }
    if found.len() < PLACES / 3 {
        return None;
    }
    let mut line = Straight::through(&found)?;
    for _ in 0..4 {
        let spread = (found.iter().map(|p| line.off(*p).powi(2)).sum::<f64>() / found.len() as f64).sqrt();
        let kept: Vec<DVec2> = found
            .iter()
            .filter(|p| line.off(**p).abs() <= 2.5 * spread + 0.05)
            .copied()
            .collect();
        if kept.len() < PLACES / 4 {
            break;
        }
        line = Straight::through(&kept)?;
        found = kept;
    }
    // A bent side is a curled sheet or a bad lens, not an edge to measure by.
    let spread = (found.iter().map(|p| line.off(*p).powi(2)).sum::<f64>() / found.len() as f64).sqrt();
    (spread < 0.004 * from.distance(to)).then_some(line)
}
