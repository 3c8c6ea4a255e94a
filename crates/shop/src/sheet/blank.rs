//! What is cut from the sheet: outline, openings, bend lines, marks, and its figures.

use super::bend::Bend;
use super::fault::SheetFault;
use super::flat::{Flat, tidied};
use super::metal::Metal;
use super::part::Part;
use super::plate::{Bent, Work};
use glam::{DMat2, DVec2};
use outline::write::{Mark, MarkKind};
use outline::{Closed, Figure};
use pan::{Opening, Plate, Region};
use serde::Serialize;
use std::f64::consts::FRAC_PI_2;

/// Rows of chords become arcs when no corner lies farther off [m].
const ARC: f64 = 18e-6;
/// Openings nearer to an edge than this are cut as one line with it [m].
const CLEAR: f64 = 20e-6;
/// Height of words on the metal [m].
const WORDS: f64 = 4e-3;

/// An opening with arcs, in the sharp plane.
#[derive(Clone, Debug)]
pub struct Cut {
    /// Its edge [m].
    pub shape: Closed,
    /// The face it lies on, where known.
    pub face: Option<usize>,
    /// Least distance of its middle from an edge, for a rivet [m].
    pub edge: Option<f64>,
}

/// A bend of a blank, in the flat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FlatBend {
    /// B1, B2, ... in the order of the faces.
    pub name: String,
    /// Middle lines of the bend, where the die is set [m].
    pub lines: Vec<[DVec2; 2]>,
    /// True when the face comes up, toward the reader.
    pub up: bool,
    /// Angle, inside radius, thickness, place of the neutral line.
    #[serde(flatten)]
    pub bend: Bend,
    /// Bend allowance [m].
    pub allowance: f64,
    /// Bend deduction [m].
    pub deduction: f64,
    /// What is bent: "leg 2", "the tab at the bottom".
    pub bends: String,
    /// Outside width of what is bent [m].
    pub leg: f64,
}

/// Holes of perforated stock.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Perforation {
    /// Open share of the area.
    pub share: f64,
    /// Diameter of the holes [m].
    pub hole: f64,
    /// Distance of the holes' middles, in triangles [m].
    pub pitch: f64,
}

/// One kind of piece that is cut from sheet.
#[derive(Clone, Debug, Serialize)]
pub struct Blank {
    /// Name.
    pub name: String,
    /// What it is: "wall", "shelf", "sheet", "door", "stop".
    pub kind: &'static str,
    /// How many of it.
    pub count: usize,
    /// From where someone in the pan sees the side that is up in the flat: "the rear", "above".
    pub seen_from: &'static str,
    /// Metal.
    pub metal: Metal,
    /// Thickness [m].
    pub thickness: f64,
    /// Edges that are cut, low corner at the origin, seen from [`Blank::seen_from`].
    pub figure: Figure,
    /// Lines and words that are not cut.
    pub marks: Vec<Mark>,
    /// Bends.
    pub bends: Vec<FlatBend>,
    /// Length and width of the rectangle it is cut from [m].
    pub size: DVec2,
    /// Area of one, less its openings, before perforation [m²].
    pub area: f64,
    /// Mass of one [kg].
    pub mass: f64,
    /// Length of all edges that are cut [m].
    pub cut_length: f64,
    /// Round holes; those of perforated stock are not counted.
    pub holes: usize,
    /// Openings that are not round.
    pub windows: usize,
    /// Perforated stock.
    pub perforation: Option<Perforation>,
    /// What a person should know.
    pub notes: Vec<String>,
    /// What looks wrong, with its mend.
    pub warnings: Vec<(String, String)>,
    /// From the flat of the model to this sheet: what was added to every place [m].
    pub shift: DVec2,
}

impl Blank {
    /// Says that it is cut from perforated stock.
    pub(super) fn perforate(&mut self, share: f64, hole: f64) {
        // Holes in triangles of side p: one hole of π d²/4 in every p² √3/2.
        let pitch = hole * (std::f64::consts::PI / (2.0 * 3f64.sqrt() * share)).sqrt();
        self.perforation = Some(Perforation { share, hole, pitch });
        self.mass *= 1.0 - share;
        if hole >= pitch {
            self.warnings.push((
                format!(
                    "{}: holes of {:.1} mm cannot open {:.0} % of it",
                    self.name,
                    hole * 1e3,
                    share * 1e2
                ),
                "state a smaller perforation; holes in triangles open at most 90 %".to_owned(),
            ));
        }
    }
}

/// Round holes and slots of a plate, as they are drawn; `more` are rivets, which keep `rivet_edge` [m] from edges.
pub(super) fn round_cuts(plate: &Plate, more: &[Opening], rivet_edge: f64) -> Vec<Cut> {
    let shape = |opening: &Opening| match opening {
        Opening::Hole { at, diameter } => Some(Closed::circle(*at, 0.5 * diameter)),
        Opening::Slot { from, to, width } => {
            let way = (*to - *from).normalize_or_zero();
            if way == DVec2::ZERO {
                return Some(Closed::circle(*from, 0.5 * width));
            }
            let side = way.perp() * 0.5 * *width;
            Some(Closed::new(vec![
                (*from - side, 0.0),
                (*to - side, 1.0),
                (*to + side, 0.0),
                (*from + side, 1.0),
            ]))
        }
        Opening::Notch { .. } => None,
    };
    let cut = |edge: Option<f64>| {
        move |shape: Closed| Cut {
            shape,
            face: None,
            edge,
        }
    };
    let own = plate.openings.iter().filter_map(shape).map(cut(None));
    let more = more.iter().filter_map(shape).map(cut(Some(rivet_edge)));
    own.chain(more).collect()
}

/// Puts the openings into the flat and reckons its figures.
pub(super) fn finish(bent: &Bent, flat: &Flat, work: &Work) -> Result<Blank, SheetFault> {
    let part = &bent.part;
    let mut outline = flat.outline.clone();
    let mut exact: Vec<(Closed, Region)> = Vec::new();
    let mut warnings = bent.warnings.clone();
    let mut notes = bent.notes.clone();
    let mut beside = 0;
    for cut in &bent.cuts {
        let Some(face) = face_of(part, flat, cut)? else {
            if cut.edge.is_some() {
                beside += 1;
                continue;
            }
            let (low, high) = cut.shape.bounds();
            let at = 0.5 * (low + high) * 1e3;
            notes.push(format!(
                "an opening at {:.1} mm, {:.1} mm lies beside the plate as trimmed",
                at.x, at.y
            ));
            continue;
        };
        near_bend(part, face, cut, &mut warnings);
        let shape = cut
            .shape
            .placed(DMat2::IDENTITY, flat.moved[face])
            .counter_clockwise();
        let region = Region::from_loops(&[shape.chords(10e-6)]);
        let grown = region.outset(CLEAR, true, 5e-6);
        let alone = exact
            .iter()
            .all(|(_, other)| other.intersection(&grown).is_empty());
        if alone && grown.difference(&flat.outline).is_empty() {
            exact.push((shape, region));
        } else {
            outline = outline.difference(&region);
        }
    }
    let outline = tidied(&outline);
    // What is cut from the outline may by now reach into an exact one.
    let lines = outline
        .loops()
        .map(|l| Closed::from_chords(l, ARC).counter_clockwise());
    let lines: Vec<Closed> = lines.chain(exact.into_iter().map(|(shape, _)| shape)).collect();
    let low = lines
        .iter()
        .map(|l| l.bounds().0)
        .fold(DVec2::INFINITY, DVec2::min);
    let lines: Vec<Closed> = lines.iter().map(|l| l.placed(DMat2::IDENTITY, -low)).collect();
    let figure = Figure::from_lines(lines)
        .map_err(|faults| SheetFault::Edges(faults.first().map_or(String::new(), |f| f.what.clone())))?;
    let pieces = figure.outlines().count();
    if pieces > 1 {
        notes.push(format!("it falls into {pieces} pieces; all are in the file"));
    }
    let bends = bends(part, flat, work, -low)?;
    warn_of_bends(&bends, work, &mut warnings);
    near_edges(part, flat, &bent.cuts, (&figure, low), beside, &mut warnings);
    thin_webs(part, &figure, &mut warnings);
    let marks = marks(&figure, &bends);
    let area: f64 = (figure.shapes.iter())
        .map(|s| match s.role {
            outline::Role::Outline => s.line.area(),
            _ => -s.line.area(),
        })
        .sum();
    let size = figure.bounds().1;
    let mut blank = Blank {
        name: part.name.clone(),
        kind: "sheet",
        count: 1,
        seen_from: "",
        metal: work.metal,
        thickness: work.thickness,
        size,
        area,
        mass: area * work.thickness * work.metal.density(),
        cut_length: figure.shapes.iter().map(|s| s.line.length()).sum(),
        holes: figure.holes().count(),
        windows: figure
            .shapes
            .iter()
            .filter(|s| s.role == outline::Role::Window)
            .count(),
        marks,
        figure,
        bends,
        perforation: None,
        notes,
        warnings,
        shift: -low,
    };
    blank.marks.push(name_mark(&blank));
    Ok(blank)
}

/// Says of rivets that stand nearer to an edge than their rule, or beside the metal.
fn near_edges(
    part: &Part,
    flat: &Flat,
    cuts: &[Cut],
    (figure, low): (&Figure, DVec2),
    beside: usize,
    warnings: &mut Vec<(String, String)>,
) {
    let mend = "give the plate more metal beside the door's hinge, move the door, or take a narrower leaf or thinner rivets";
    if beside > 0 {
        let said = format!(
            "{}: {beside} rivets of a hinge would stand beside its metal; they are not in the file",
            part.name
        );
        warnings.push((said, mend.to_owned()));
    }
    let mut worst: Option<(f64, f64, usize)> = None;
    for cut in cuts {
        let (Some(least), Ok(Some(face))) = (cut.edge, face_of(part, flat, cut)) else {
            continue;
        };
        let (l, h) = cut.shape.bounds();
        let at = 0.5 * (l + h) + flat.moved[face] - low;
        let edges = figure.shapes.iter().filter(|s| s.role != outline::Role::Hole);
        let off = edges.map(|s| s.line.distance(at)).fold(f64::MAX, f64::min);
        if off < least - 1e-6 {
            let (near, _, many) = worst.unwrap_or((f64::MAX, least, 0));
            worst = Some((near.min(off), least, many + 1));
        }
    }
    if let Some((near, least, many)) = worst {
        let said = format!(
            "{}: {many} rivets stand {:.1} mm or little more from an edge; they want {:.1} mm",
            part.name,
            near * 1e3,
            least * 1e3
        );
        warnings.push((said, mend.to_owned()));
    }
}

/// Says where little metal is left between an opening and the next line: less than twice the thickness, or 2 mm, bends
/// in the hand and burns away in the weld (common practice, no source).
fn thin_webs(part: &Part, figure: &Figure, warnings: &mut Vec<(String, String)>) {
    let least = (2.0 * part.thickness).max(2e-3);
    let mut worst: Option<(f64, DVec2)> = None;
    for (i, shape) in figure.shapes.iter().enumerate() {
        for other in &figure.shapes[i + 1..] {
            let points = other.line.chords(1e-4);
            let off = points
                .iter()
                .map(|p| (shape.line.distance(*p), *p))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let back = (shape.line.chords(1e-4).iter())
                .map(|p| (other.line.distance(*p), *p))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            for found in off.into_iter().chain(back) {
                if found.0 < least - 1e-6 && worst.is_none_or(|w| found.0 < w.0) {
                    worst = Some(found);
                }
            }
        }
    }
    if let Some((web, at)) = worst {
        let said = format!(
            "{}: {:.1} mm of metal is left at {:.1} mm, {:.1} mm of the blank",
            part.name,
            web * 1e3,
            at.x * 1e3,
            at.y * 1e3
        );
        let mend = "move the opening, or let it reach the edge";
        warnings.push((said, mend.to_owned()));
    }
}

/// The face on whose flat the opening lies; `None` when it lies beside the metal.
fn face_of(part: &Part, flat: &Flat, cut: &Cut) -> Result<Option<usize>, SheetFault> {
    if cut.face.is_some() {
        return Ok(cut.face);
    }
    let region = Region::from_loops(&[cut.shape.chords(10e-6)]);
    for (_, fold) in part.folds() {
        let m = fold.bend.middle_setback();
        let strip = flat
            .strips
            .iter()
            .find(|s| part.faces[s.face].fold == Some(*fold));
        for &span in strip.iter().flat_map(|s| &s.spans) {
            // A joint between legs in one line is no bend.
            if fold.bend.angle > 1e-3 && fold.rectangle(span, (-m, m)).intersection(&region).area() > 1e-10 {
                let (low, high) = cut.shape.bounds();
                return Err(SheetFault::HoleInBend {
                    at: 0.5 * (low + high),
                });
            }
        }
    }
    let on = |i: usize| part.faces[i].region.intersection(&region).area();
    let best = (0..part.faces.len()).max_by(|a, b| on(*a).total_cmp(&on(*b)));
    Ok(best.filter(|i| on(*i) > 1e-10))
}

/// A hole that stands too near a bend is pulled out of round: its edge wants 2.5 T + R from the outside of the other leg
/// (between the rules of the trade, which say 1.5 T, 2 T and 3 T + R).
fn near_bend(part: &Part, face: usize, cut: &Cut, warnings: &mut Vec<(String, String)>) {
    for (i, fold) in part.folds() {
        if (i != face && fold.parent != face) || fold.bend.angle < 1e-3 {
            continue;
        }
        let side = if i == face { 1.0 } else { -1.0 };
        let points = cut.shape.chords(50e-6);
        let seen: Vec<DVec2> = points.iter().map(|p| fold.seen(*p)).collect();
        let extent = part.faces[i].region.loops().flatten().map(|p| fold.seen(*p).x);
        let (low, high) = extent.fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)));
        if !seen.iter().any(|p| p.x > low && p.x < high) {
            continue;
        }
        let off = seen.iter().map(|p| side * p.y).fold(f64::MAX, f64::min);
        let outside = off + 0.5 * part.thickness * (0.5 * fold.bend.angle).tan();
        let least = 2.5 * part.thickness + fold.bend.radius;
        if outside < least - 1e-6 {
            let (l, h) = cut.shape.bounds();
            let at = 500.0 * (l + h);
            warnings.push((
                format!(
                    "{}: the edge of the hole at {:.1} mm, {:.1} mm stands {:.1} mm from a bend; under {:.1} mm it is pulled \
                     out of round",
                    part.name,
                    at.x,
                    at.y,
                    outside * 1e3,
                    least * 1e3
                ),
                "move it away from the bend, or drill it after bending".to_owned(),
            ));
        }
    }
}

/// The bends with their names; legs that the brake cannot hold are a fault.
fn bends(part: &Part, flat: &Flat, work: &Work, shift: DVec2) -> Result<Vec<FlatBend>, SheetFault> {
    let mut bends = Vec::new();
    for strip in flat.strips.iter().filter(|s| s.bend.angle > 1e-3) {
        let fold = part.faces[strip.face].fold.expect("a strip is made of a fold");
        let face = &part.faces[strip.face];
        // How far metal reaches from the sharp line, on either side of the bend.
        let reach = |i: usize, side: f64| {
            let points = part.faces[i].region.loops().flatten();
            points.map(|p| side * fold.seen(*p).y).fold(0.0, f64::max)
        };
        let outside = 0.5 * part.thickness * (0.5 * fold.bend.angle).tan();
        let legs = [(strip.face, 1.0), (strip.parent, -1.0)].map(|(i, side)| (i, reach(i, side) + outside));
        let least = work.least_flange(&fold.bend);
        if let Some((i, wide)) = legs.iter().find(|(_, wide)| *wide < least - 1e-9) {
            return Err(SheetFault::FlangeTooNarrow {
                face: part.faces[*i].name.clone(),
                wide: *wide,
                least,
            });
        }
        bends.push(FlatBend {
            name: format!("B{}", bends.len() + 1),
            lines: strip.lines().map(|(a, b)| [a + shift, b + shift]).collect(),
            up: strip.up,
            bend: strip.bend,
            allowance: strip.bend.allowance(),
            deduction: strip.bend.deduction(),
            bends: face.name.clone(),
            leg: legs[0].1,
        });
    }
    Ok(bends)
}

/// Says what the tables do not hold, once for a blank.
fn warn_of_bends(bends: &[FlatBend], work: &Work, warnings: &mut Vec<(String, String)>) {
    let Some(first) = bends.first() else { return };
    let (radius, thickness) = (first.bend.radius, work.thickness);
    let (_, safe, inside) = work.metal.least_radius(thickness);
    if !work.metal.k(radius, thickness).1 {
        warnings.push((
            format!(
                "an inside radius of {:.1} mm in {:.1} mm lies outside the table of neutral lines: its edge was taken, K = {:.3}",
                radius * 1e3,
                thickness * 1e3,
                first.bend.k
            ),
            "bend a strip of known length first and measure it".to_owned(),
        ));
    }
    if !inside {
        warnings.push((
            format!(
                "{:.1} mm lies outside the table of least radii for {}: its edge was taken",
                thickness * 1e3,
                work.metal.word()
            ),
            "ask the metal's seller for its least bend radius".to_owned(),
        ));
    }
    if radius < safe - 1e-9 {
        warnings.push((
            format!(
                "an inside radius of {:.1} mm in {} of {:.1} mm lies between the least that ever holds and the safe {:.1} mm",
                radius * 1e3,
                work.metal.word(),
                thickness * 1e3,
                safe * 1e3
            ),
            "bend across the grain and look for cracks, or take the safe radius".to_owned(),
        ));
    }
}

/// Bend lines with their words, centres of holes.
fn marks(figure: &Figure, bends: &[FlatBend]) -> Vec<Mark> {
    let mut marks = Vec::new();
    for bend in bends {
        for [from, to] in &bend.lines {
            marks.push(Mark::Line {
                kind: MarkKind::Bend,
                from: *from,
                to: *to,
            });
        }
        let longest = bend
            .lines
            .iter()
            .max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])));
        let Some([a, b]) = longest else { continue };
        // Read from below or from the right.
        let (a, b) = if (b.x, b.y) < (a.x, a.y) { (b, a) } else { (a, b) };
        let turn = (*b - *a).to_angle();
        let turn = if turn < -FRAC_PI_2 + 1e-9 {
            turn + 2.0 * FRAC_PI_2
        } else {
            turn
        };
        marks.push(Mark::Words {
            kind: MarkKind::Bend,
            at: a.lerp(*b, 0.1) + DVec2::from_angle(turn).perp() * 0.25 * WORDS,
            turn,
            height: 0.6 * WORDS,
            words: bend_words(bend),
        });
    }
    for (_, circle) in figure.holes() {
        let arm = circle.radius.min(2e-3);
        for way in [DVec2::X, DVec2::Y] {
            marks.push(Mark::Line {
                kind: MarkKind::Mark,
                from: circle.centre - way * arm,
                to: circle.centre + way * arm,
            });
        }
    }
    marks
}

/// "B1 up 90°".
pub fn bend_words(bend: &FlatBend) -> String {
    let degrees = format!("{:.1}", bend.bend.angle.to_degrees());
    let degrees = degrees.trim_end_matches(".0");
    format!("{} {} {degrees}°", bend.name, if bend.up { "up" } else { "down" })
}

/// Name, metal and thickness, where there is most room near the middle.
fn name_mark(blank: &Blank) -> Mark {
    let words = format!(
        "{}  {} {:.1} mm",
        blank.name,
        blank.metal.word(),
        blank.thickness * 1e3
    );
    let height = WORDS.min(0.2 * blank.size.y);
    Mark::Words {
        kind: MarkKind::Mark,
        at: roomy(
            blank,
            DVec2::new(0.62 * height / 0.7 * words.chars().count() as f64, height),
        ),
        turn: 0.0,
        height,
        words,
    }
}

/// Lower left corner of a place for a rectangle of this size, on the metal and clear of openings and bend lines if there
/// is one.
fn roomy(blank: &Blank, size: DVec2) -> DVec2 {
    let steps = 12;
    let mut best = (f64::MIN, 0.5 * (blank.size - size));
    for i in 0..=steps {
        for j in 0..=steps {
            let share = DVec2::new(f64::from(i), f64::from(j)) / f64::from(steps);
            let low = share * (blank.size - size);
            let probes = (0..=4)
                .flat_map(|a| (0..=2).map(move |b| DVec2::new(f64::from(a) / 4.0, f64::from(b) / 2.0)));
            let clear = |p: DVec2| {
                let on = blank.figure.outlines().any(|s| s.line.contains(p));
                let edge = blank
                    .figure
                    .shapes
                    .iter()
                    .map(|s| s.line.distance(p))
                    .fold(f64::MAX, f64::min);
                let hole = blank
                    .figure
                    .shapes
                    .iter()
                    .any(|s| s.role != outline::Role::Outline && s.line.contains(p));
                let bend = (blank.bends.iter().flat_map(|b| &b.lines))
                    .map(|[a, b]| pan::polygon::nearest_on_segment(p, *a, *b).distance(p))
                    .fold(f64::MAX, f64::min);
                if on && !hole {
                    edge.min(bend).min(0.01)
                } else {
                    -edge
                }
            };
            let room = probes.map(|s| clear(low + s * size)).fold(f64::MAX, f64::min);
            let middle = 1e-3 * (share - 0.5).length();
            if room - middle > best.0 {
                best = (room - middle, low);
            }
        }
    }
    best.1
}
