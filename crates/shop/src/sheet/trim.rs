//! Where a plate's metal really ends: at the cavity's wall and floor less a gap to fit, and at other plates.

use super::flat::tidied;
use super::plate::Work;
use glam::DVec2;
use pan::panel::Panel;
use pan::polygon::{Loop, loop_edges};
use pan::{Pan, PlateShape, Region};

/// Arcs of insets are cut into chords this fine [m].
const SAGITTA: f64 = 5e-6;
/// Sections of leaning walls come in steps; steps are no longer than this [m].
const STEP: f64 = 4e-3;
/// What is left of a plate is thrown away below this [m²].
const SLIVER: f64 = 4e-6;

/// A panel cut to size.
pub(super) struct Trimmed {
    /// Its metal in plate coordinates.
    pub region: Region,
    /// The cavity where the plate's middle goes, in plate coordinates.
    pub section: Region,
    /// Lines of other plates at which it ends.
    pub ends: Vec<EndLine>,
    /// What a person should know.
    pub notes: Vec<String>,
}

/// The line of another plate at which this one ends.
pub(super) struct EndLine {
    /// A point of it in plate coordinates.
    pub at: DVec2,
    /// Its way.
    pub along: DVec2,
    /// Half the other plate's thickness [m].
    pub half: f64,
    /// Unit normal of the other plate, in the pan.
    pub normal: glam::DVec3,
}

/// The cavity cut by the panel's plane moved `by` along its normal, in plate coordinates.
pub(super) fn section(pan: &Pan, panel: &Panel, by: f64) -> Region {
    let section = pan
        .cavity
        .plane_section(panel.origin + panel.normal * by, panel.u, panel.v);
    smoothed(&section, DVec2::new(-panel.v.z, panel.u.z).normalize_or_zero())
}

pub(super) fn trimmed(pan: &Pan, index: usize, panel: &Panel, work: &Work) -> Trimmed {
    let mut notes = Vec::new();
    // A hair inside the two faces of the metal, so that one that lies on a ledge is not taken to stand in it.
    let half = 0.5 * work.thickness;
    let [middle, under, over] = [0.0, -half + 1e-6, half - 1e-6].map(|by| section(pan, panel, by));
    let drawn = &panel.outline;
    let fits = middle.intersection(&under).intersection(&over);
    let mut region = drawn.intersection(&fits.inset(work.gap, SAGITTA));
    if let PlateShape::Shelf { z, .. } = pan.plates[index].shape {
        // Drawn onto a ledge: a shelf that is open to one side only over more than 2 mm lies on it.
        for (open, shut, which) in [(&over, &under, "lies on"), (&under, &over, "lies under")] {
            let ledge = drawn
                .intersection(open)
                .difference(&shut.outset(2e-3, true, SAGITTA));
            if ledge.area() > SLIVER {
                region = region.union(&drawn.intersection(&open.inset(work.gap, SAGITTA)));
                notes.push(format!("{which} the ledge at z = {:.1} mm", z * 1e3));
            }
        }
    }
    let mut ends = Vec::new();
    for (other, plate) in pan.plates.iter().enumerate().filter(|(other, _)| *other != index) {
        for theirs in plate.panels() {
            meet(
                &mut region,
                panel,
                (index, work),
                (other, plate, &theirs),
                &mut ends,
                &mut notes,
            );
        }
    }
    let mut region = tidied(&region);
    region.shapes.retain(|s| {
        let one = Region {
            shapes: vec![s.clone()],
        };
        one.area() > SLIVER
    });
    Trimmed {
        region,
        section: middle,
        ends,
        notes,
    }
}

/// Shortens the region where the plate ends on another one.
fn meet(
    region: &mut Region,
    panel: &Panel,
    (index, work): (usize, &Work),
    (other, plate, theirs): (usize, &pan::Plate, &Panel),
    ends: &mut Vec<EndLine>,
    notes: &mut Vec<String>,
) {
    let reach = theirs.outline.outset(1e-4, false, SAGITTA);
    for (a, b) in panel.cut_by(theirs, &reach) {
        let along = (b - a).normalize_or_zero();
        let lean = panel.normal.cross(theirs.normal).length();
        if along == DVec2::ZERO || lean < 0.2 {
            continue;
        }
        let half = 0.5 * plate.thickness;
        let wide = half / lean + work.gap;
        let long = a.distance(b);
        let strip = |low: f64, high: f64| {
            let corner = |s: f64, t: f64| a + along * s + along.perp() * t;
            let e = 1e-4;
            let corners = vec![
                corner(-e, low),
                corner(long + e, low),
                corner(long + e, high),
                corner(-e, high),
            ];
            Region::from_loops(&[corners])
        };
        let near = region.intersection(&strip(-wide, wide));
        if near.is_empty() {
            continue;
        }
        // Metal beyond the other plate's faces, on either side of the line.
        let far = 5.0 * wide + 5e-3;
        let beyond = |low: f64, high: f64| region.intersection(&strip(low, high)).area() > 1e-7;
        let (left, right) = (beyond(wide + 5e-4, far), beyond(-far, -wide - 5e-4));
        let their_own = theirs_goes_on(panel, theirs, a.lerp(b, 0.5), far);
        if left && right {
            if their_own {
                notes.push(format!(
                    "{} goes through it: the slots for that are not made here",
                    plate.name
                ));
            }
            continue;
        }
        // Both end in the corner: the earlier one goes through.
        if !their_own && other > index {
            continue;
        }
        let cut = if left {
            strip(-far, wide)
        } else {
            strip(-wide, far)
        };
        *region = region.difference(&cut);
        ends.push(EndLine {
            at: a,
            along,
            half,
            normal: theirs.normal,
        });
    }
}

/// Whether the other plate has metal on both sides of this one.
fn theirs_goes_on(panel: &Panel, theirs: &Panel, at: DVec2, far: f64) -> bool {
    let place = panel.point(at);
    // In the other's plane, at right angles to the line where the two meet.
    let way = theirs
        .normal
        .cross(panel.normal.cross(theirs.normal))
        .normalize_or_zero();
    let there = |by: f64| {
        theirs
            .outline
            .contains(theirs.plate_coordinates(place + way * by))
    };
    there(0.5 * far) && there(-0.5 * far)
}

/// Sections of leaning and round walls come as small steps, left and right in turn. The cavity's layers hold plans whose
/// mean at a layer's edge is the wall's own plan there: the wall runs through the middles of the level edges of the steps.
fn smoothed(region: &Region, level: DVec2) -> Region {
    if level == DVec2::ZERO {
        return region.clone();
    }
    let loops: Vec<Loop> = region.loops().map(|l| smooth(l, level)).collect();
    Region::from_oriented_loops(&loops)
}

fn smooth(points: &Loop, level: DVec2) -> Loop {
    let n = points.len();
    if n < 8 {
        return points.clone();
    }
    let at = |i: usize| points[i % n];
    let turn = |i: usize| (at(i) - at(i + n - 1)).perp_dot(at(i + 1) - at(i));
    let square = |i: usize| {
        let (a, b) = (
            (at(i) - at(i + n - 1)).normalize_or_zero(),
            (at(i + 1) - at(i)).normalize_or_zero(),
        );
        a.dot(b).abs() < 0.7
    };
    // An edge of a stair: short, and the line turns at its two ends by corners of opposite sense.
    let stair: Vec<bool> = (0..n)
        .map(|i| {
            at(i).distance(at(i + 1)) <= STEP && turn(i) * turn(i + 1) < 0.0 && square(i) && square(i + 1)
        })
        .collect();
    let Some(start) = (0..n).find(|&i| !stair[i] && !stair[(i + n - 1) % n]) else {
        return points.clone();
    };
    let mut out: Loop = Vec::new();
    let mut k = 0;
    while k < n {
        let i = start + k;
        if !stair[i % n] {
            out.push(at(i));
            k += 1;
            continue;
        }
        let mut many = 1;
        while k + many < n && stair[(i + many) % n] {
            many += 1;
        }
        if many < 3 {
            out.extend((0..many).map(|j| at(i + j)));
            k += many;
            continue;
        }
        let middles: Vec<DVec2> = (0..many)
            .map(|j| (at(i + j), at(i + j + 1)))
            .filter(|(a, b)| (*b - *a).normalize_or_zero().dot(level).abs() > 0.9)
            .map(|(a, b)| a.midpoint(b))
            .collect();
        if middles.len() < 2 {
            out.extend((0..many).map(|j| at(i + j)));
            k += many;
            continue;
        }
        let last = middles.len() - 1;
        // The corner before the run becomes the meeting of the true wall with the edge before it.
        let before = (at(i + n - 1), at(i));
        if let Some(corner) = meeting(before, (middles[0], middles[1])) {
            out.push(corner);
        }
        out.extend(&middles);
        let after = (at(i + many), at(i + many + 1));
        if let Some(corner) = meeting(after, (middles[last], middles[last - 1])) {
            out.push(corner);
            // That corner stands for the one at which the next edge begins.
            k += 1;
        }
        k += many;
    }
    straightened(&out)
}

/// Where two lines meet, if near the second's first point.
fn meeting(a: (DVec2, DVec2), b: (DVec2, DVec2)) -> Option<DVec2> {
    let (d, e) = (a.1 - a.0, b.1 - b.0);
    let cross = d.perp_dot(e);
    if cross.abs() < 0.05 * d.length() * e.length() {
        return None;
    }
    let p = b.0 - e * (d.perp_dot(b.0 - a.0) / cross);
    (p.distance(b.0) <= STEP).then_some(p)
}

/// Without corners that lie within 8 µm of the line of what stays.
fn straightened(points: &[DVec2]) -> Loop {
    let mut kept: Loop = Vec::new();
    let mut i = 0;
    while i < points.len() {
        kept.push(points[i]);
        let mut next = i + 1;
        while next + 1 < points.len() {
            let (a, b) = (points[i], points[next + 1]);
            let off = |p: &DVec2| (b - a).normalize_or_zero().perp_dot(*p - a).abs() > 8e-6;
            if points[i + 1..=next].iter().any(off) {
                break;
            }
            next += 1;
        }
        i = next;
    }
    kept
}

/// Straight edges of a region that look out along `way` (unit) within 20 degrees and are at least `least` long: ends, the
/// metal to their left.
pub(super) fn straight_edges(region: &Region, way: DVec2, least: f64) -> Vec<(DVec2, DVec2)> {
    let mut edges: Vec<(DVec2, DVec2)> = Vec::new();
    for shape in &region.shapes {
        let Some(outer) = shape.first() else { continue };
        for (a, b) in loop_edges(outer) {
            let d = (b - a).normalize_or_zero();
            if -d.perp().dot(way) > 0.94 && a.distance(b) >= least {
                edges.push((a, b));
            }
        }
    }
    edges
}
