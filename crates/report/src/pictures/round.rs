//! The round map: which way the oil is pushed, how hard, and whether the mouth stays under it.

use super::Look;
use super::spells::State;
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{DriveTrace, Findings, RoundMapFacts};
use glam::DVec2;
use measure::STANDARD_GRAVITY;
use std::f64::consts::{FRAC_PI_2, TAU};

/// Both round maps side by side (one above the other on a phone); `None` when neither was computed.
pub fn round(findings: &Findings, look: &Look) -> Option<Drawing> {
    let still = &findings.still;
    let maps: Vec<(&RoundMapFacts, &str, &str)> = [
        (
            still.long_corner.as_ref(),
            "long corner",
            "the oil has found its level",
        ),
        (
            still.first_instant.as_ref(),
            "first instant",
            "each space keeps its oil",
        ),
    ]
    .into_iter()
    .filter_map(|(map, name, said)| map.map(|m| (m, name, said)))
    .collect();
    if maps.is_empty() {
        return None;
    }
    let across = if look.is_narrow() { 1 } else { 2 };
    let cell = look.width / across as f64;
    let radius = 0.5 * cell - 13.0;
    let head = 3.6 * look.words;
    let tall = 2.0 * radius + 14.0 + head;
    let rows = maps.len().div_ceil(across);
    let height = tall * rows as f64;
    let mut d = Drawing::new(
        &look.id("round"),
        look.width,
        height,
        "Round map: direction of push against g",
    );
    let mut said =
        vec!["Seen from above, front of the car up. Distance from the centre is horizontal g.".to_owned()];
    for (i, (map, name, under)) in maps.iter().enumerate() {
        let (column, row) = (i % across, i / across);
        let left = if maps.len() == 1 {
            0.5 * (look.width - cell)
        } else {
            cell * column as f64
        };
        let centre = DVec2::new(
            left + 0.5 * cell,
            height - tall * row as f64 - head - 6.0 - radius,
        );
        d.strong(
            centre + DVec2::new(0.0, radius + 5.2 + 2.1 * look.words),
            name,
            look.words * 1.2,
            Anchor::Middle,
            Ink::Main,
        );
        d.text(
            centre + DVec2::new(0.0, radius + 5.0 + 0.9 * look.words),
            under,
            look.words,
            Anchor::Middle,
            Ink::Quiet,
        );
        one(&mut d, map, centre, radius, findings, look);
        said.push(match weakest(map) {
            Some((g, words)) => format!("{name}: the mouth first goes dry at {g:.2} g, oil pushed {words}."),
            None => format!(
                "{name}: the mouth stays wet up to {:.2} g in every direction.",
                last_ring(map)
            ),
        });
    }
    d.said = said.join(" ");
    Some(d)
}

/// The weakest direction in words, with its g.
pub fn weakest(map: &RoundMapFacts) -> Option<(f64, &'static str)> {
    let least = map.first_dry.iter().min_by(|a, b| a.g.total_cmp(&b.g))?;
    Some((least.g, way(least.direction)))
}

/// A direction of push in words: 0 forward, counter-clockwise.
pub fn way(direction: f64) -> &'static str {
    const WAYS: [&str; 8] = [
        "forward",
        "forward and to the left",
        "to the left",
        "rearward and to the left",
        "rearward",
        "rearward and to the right",
        "to the right",
        "forward and to the right",
    ];
    let eighth = (direction.rem_euclid(TAU) / (TAU / 8.0)).round() as usize % 8;
    WAYS[eighth]
}

fn last_ring(map: &RoundMapFacts) -> f64 {
    map.rings.last().copied().unwrap_or(0.0)
}

/// On paper forward is up and left is left: turn a car direction by a quarter.
fn paper(direction: f64) -> f64 {
    direction + FRAC_PI_2
}

fn one(d: &mut Drawing, map: &RoundMapFacts, centre: DVec2, radius: f64, findings: &Findings, look: &Look) {
    let limit = findings.limits.least_cover;
    let most = last_ring(map);
    if map.directions.is_empty() || most <= 0.0 {
        return;
    }
    let at = |g: f64| radius * g / most;
    for state in [State::Covered, State::Thin, State::Bare] {
        d.paths(pieces(map, centre, limit, state, &at), None, Some(state.fill()));
    }
    let step = if most > 1.6 { 0.5 } else { 0.25 };
    let rings = (1..).map(|i| i as f64 * step).take_while(|g| *g <= most + 1e-9);
    for g in rings.clone() {
        d.circle(centre, at(g), Some(Pen::new(Ink::Main, Weight::Hair)), None);
    }
    for quarter in 0..4 {
        let ray = DVec2::from_angle(quarter as f64 * FRAC_PI_2);
        d.line(centre, centre + radius * ray, Pen::new(Ink::Main, Weight::Hair));
    }
    driven(d, &findings.drive.trace, centre, &at, most);
    dry_line(d, map, centre, &at);
    for g in rings {
        let size = look.words * 0.88;
        let p = centre + at(g) * DVec2::from_angle(FRAC_PI_2 * 0.5) - DVec2::new(0.0, 0.35 * size);
        d.label(p, &format!("{g:.2} g"), size, Anchor::Middle, Ink::Main);
    }
    if let Some((g, _)) = weakest(map) {
        let direction = map
            .first_dry
            .iter()
            .min_by(|a, b| a.g.total_cmp(&b.g))
            .map_or(0.0, |f| f.direction);
        let p = centre + at(g) * DVec2::from_angle(paper(direction));
        d.circle(
            p,
            1.1,
            Some(Pen::new(Ink::Bare, Weight::Heavy)),
            Some(Fill::Solid(Ink::Ground)),
        );
        let below = if p.y < centre.y { -1.0 } else { 1.0 };
        let words = format!("dry from {g:.2} g");
        let anchor = if p.x < centre.x - 0.3 * radius {
            Anchor::Start
        } else if p.x > centre.x + 0.3 * radius {
            Anchor::End
        } else {
            Anchor::Middle
        };
        d.label(
            p + DVec2::new(0.0, below * (1.6 + 0.6 * look.words) - 0.35 * look.words),
            &words,
            look.words,
            anchor,
            Ink::Main,
        );
    }
    let words = |d: &mut Drawing, at: DVec2, text: &str, anchor: Anchor| {
        d.text(at, text, look.words, anchor, Ink::Main);
    };
    words(
        d,
        centre + DVec2::new(0.0, radius + 1.6),
        "front: braking",
        Anchor::Middle,
    );
    words(
        d,
        centre - DVec2::new(0.0, radius + 1.2 + look.words),
        "rear: driving off",
        Anchor::Middle,
    );
    side_words(
        d,
        centre - DVec2::new(radius + 1.4, 0.0),
        ["left:", "right", "turn"],
        Anchor::End,
        look,
    );
    side_words(
        d,
        centre + DVec2::new(radius + 1.4, 0.0),
        ["right:", "left", "turn"],
        Anchor::Start,
        look,
    );
}

fn side_words(d: &mut Drawing, at: DVec2, lines: [&str; 3], anchor: Anchor, look: &Look) {
    for (i, line) in lines.iter().enumerate() {
        let y = (1.0 - i as f64) * 1.2 * look.words - 0.35 * look.words;
        d.text(at + DVec2::new(0.0, y), line, look.words, anchor, Ink::Main);
    }
}

/// All ring pieces of one state: along each direction, stretches of rings of that state joined.
fn pieces(
    map: &RoundMapFacts,
    centre: DVec2,
    limit: f64,
    wanted: State,
    at: &dyn Fn(f64) -> f64,
) -> Vec<Path> {
    let half = 0.5 * TAU / map.directions.len() as f64;
    let mut list = Vec::new();
    for (direction, cover) in map.directions.iter().zip(&map.cover) {
        let dry = map
            .first_dry
            .iter()
            .find(|f| f.direction == *direction)
            .map(|f| f.g);
        let count = cover.len().min(map.rings.len());
        let mut from = 0;
        while from < count {
            let state = State::of(cover[from], limit);
            let to = (from..count)
                .find(|&i| State::of(cover[i], limit) != state)
                .unwrap_or(count);
            if state == wanted {
                // Overlapping by a little hides the seams between neighbours.
                let turn = paper(*direction);
                let (a, b) = (turn - 1.04 * half, turn + 1.04 * half);
                let edge = |i| edge(&map.rings[..count], cover, i, limit, dry);
                list.push(Path::ring_piece(centre, at(edge(from)), at(edge(to)), a, b));
            }
            from = to;
        }
    }
    list
}

/// The g at which the state changes between ring `i` - 1 and ring `i`: where the cover passes the limit, where
/// it first goes dry, else half way.
fn edge(rings: &[f64], cover: &[f64], i: usize, limit: f64, dry: Option<f64>) -> f64 {
    if i == 0 {
        return 0.0;
    }
    if i >= rings.len() {
        return rings.last().copied().unwrap_or(0.0);
    }
    let (g0, g1, c0, c1) = (rings[i - 1], rings[i], cover[i - 1], cover[i]);
    match dry {
        Some(g) if (g0..=g1).contains(&g) && (c0 > 0.0) != (c1 > 0.0) => g,
        _ if (c0 < limit) != (c1 < limit) && c0 > 0.0 && c1 > 0.0 => {
            g0 + (g1 - g0) * (limit - c0) / (c1 - c0)
        }
        _ => 0.5 * (g0 + g1),
    }
}

/// The line along which the mouth first goes dry, where neighbouring directions both do.
fn dry_line(d: &mut Drawing, map: &RoundMapFacts, centre: DVec2, at: &dyn Fn(f64) -> f64) {
    let step = TAU / map.directions.len().max(1) as f64;
    let mut run: Vec<DVec2> = Vec::new();
    let mut last = f64::NAN;
    let pen = Pen::new(Ink::Bare, Weight::Heavy);
    let closed = map.first_dry.len() == map.directions.len();
    let again = map.first_dry.first().filter(|_| closed);
    for (i, dry) in map.first_dry.iter().chain(again).enumerate() {
        let wrapped = i == map.first_dry.len();
        if !wrapped && dry.direction - last > 1.5 * step {
            d.trace(std::mem::take(&mut run), pen);
        }
        run.push(centre + at(dry.g) * DVec2::from_angle(paper(dry.direction)));
        last = dry.direction;
    }
    d.trace(run, pen);
}

/// Where the drive pushes the oil: one speck a sample, thinned.
fn driven(d: &mut Drawing, trace: &DriveTrace, centre: DVec2, at: &dyn Fn(f64) -> f64, most: f64) {
    let specks = DriveTrace::thinned(trace.ax.len().min(trace.ay.len()), 500)
        .into_iter()
        .map(|i| DVec2::new(-trace.ax[i], -trace.ay[i]) / STANDARD_GRAVITY)
        .filter(|push| push.length() <= most)
        .map(|push| {
            let p = centre + at(push.length()) * DVec2::from_angle(paper(push.y.atan2(push.x)));
            Path::rectangle(p - DVec2::splat(0.22), p + DVec2::splat(0.22))
        })
        .collect();
    d.paths(specks, None, Some(Fill::Solid(Ink::Way)));
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_push_to_the_left_stands_on_the_left_of_the_paper() {
        assert_eq!(way(FRAC_PI_2), "to the left");
        assert!(DVec2::from_angle(paper(FRAC_PI_2)).x < -0.99);
        assert_eq!(way(-FRAC_PI_2), "to the right");
        assert_eq!(way(PI), "rearward");
        assert!(DVec2::from_angle(paper(0.0)).y > 0.99, "forward is up");
    }
}
