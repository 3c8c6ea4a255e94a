//! Sections through the pan with the oil in it, in third-angle order: the plan above, the cut along the crank
//! below it, the cut across beside that.

use super::Look;
use super::plot::{round_step, tick_text};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::Moment;
use crate::section::{CutDoor, OilCells, Section, View};
use glam::DVec2;
use measure::UnitOrder;

/// The cuts of one moment at its worst instant, all at one scale; `None` without cuts.
pub fn sections(moment: &Moment, look: &Look) -> Option<Drawing> {
    let find = |view| moment.sections.iter().find(|s: &&Section| s.view == view);
    let (plan, along, across) = (find(View::Plan)?, find(View::Along)?, find(View::Across)?);
    let (size_plan, size_along, size_across) = (size(plan)?, size(along)?, size(across)?);
    let edge = 4.0;
    let head = 2.2 * look.words;
    let gap = 6.0;
    let foot = 8.0 + 1.6 * look.words;
    // Metres to paper: the widest row has to fit; a very tall stack is capped.
    let left = size_plan.x.max(size_along.x);
    let wide = if look.is_narrow() {
        left.max(size_across.x)
    } else {
        left + size_across.x
    };
    let free = look.width - 2.0 * edge - if look.is_narrow() { 0.0 } else { gap };
    let tall = if look.is_narrow() {
        size_plan.y + size_along.y + size_across.y
    } else {
        size_plan.y + size_along.y.max(size_across.y)
    };
    let scale = (free / wide).min(if look.is_narrow() { 150.0 } else { 105.0 } / tall);
    let rows = if look.is_narrow() { 3.0 } else { 2.0 };
    let height = tall * scale + rows * (head + gap) + foot;
    let id = look.id(&format!("section-{}", moment.rank));
    let mut d = Drawing::new(
        &id,
        look.width,
        height,
        &format!("Oil in the pan at the worst instant of moment {}", moment.rank),
    );
    d.said = format!(
        "Three cuts through the pan at {}. {}",
        moment.worst.place, moment.why
    );

    let used = if look.is_narrow() {
        left * scale
    } else {
        wide * scale + gap
    };
    let x = (0.5 * (look.width - used)).max(edge);
    // Third angle: the plan stands above the cut along the crank, the view from the rear to the left of it.
    let main = if look.is_narrow() {
        x
    } else {
        x + size_across.x * scale + gap
    };
    let mut top = height - head;
    let corner = DVec2::new(main, top - size_plan.y * scale);
    one(
        &mut d,
        plan,
        corner,
        scale,
        look,
        "from above, cut at the mouth's height",
    );
    top -= size_plan.y * scale + gap + head;
    let corner = DVec2::new(main, top - size_along.y * scale);
    one(
        &mut d,
        along,
        corner,
        scale,
        look,
        "cut along the crank through the mouth",
    );
    if look.is_narrow() {
        top -= size_along.y * scale + gap + head;
    }
    let corner = DVec2::new(x, top - size_across.y * scale);
    one(&mut d, across, corner, scale, look, "cut across, from the rear");
    bar(&mut d, look, scale);
    Some(d)
}

fn bounds(section: &Section) -> Option<(DVec2, DVec2)> {
    section
        .walls
        .iter()
        .flatten()
        .map(|p| DVec2::from(*p))
        .fold(None, |b, p| match b {
            None => Some((p, p)),
            Some((low, high)) => Some((low.min(p), high.max(p))),
        })
}

fn size(section: &Section) -> Option<DVec2> {
    bounds(section)
        .map(|(low, high)| high - low)
        .filter(|s| s.min_element() > 0.0)
}

fn one(d: &mut Drawing, section: &Section, corner: DVec2, scale: f64, look: &Look, name: &str) {
    let Some((low, high)) = bounds(section) else {
        return;
    };
    let on = |p: [f64; 2]| corner + (DVec2::from(p) - low) * scale;
    let walls: Vec<Path> = section
        .walls
        .iter()
        .map(|l| Path::closed(l.iter().map(|p| on(*p))))
        .collect();
    let clip = d.clip(walls.clone());
    let oil = oil_shape(&section.oil);
    let areas = oil
        .areas
        .into_iter()
        .map(|l| Path::closed(l.into_iter().map(on)))
        .collect();
    // The hair in the oil's own ink hides the seams between pieces.
    d.clipped(
        areas,
        Some(Pen::new(Ink::Oil, Weight::Hair)),
        Some(Fill::Solid(Ink::Oil)),
        clip,
    );
    let surface = oil.surface.into_iter().map(|l| Path::open(l.map(on))).collect();
    d.clipped(surface, Some(Pen::new(Ink::OilEdge, Weight::Medium)), None, clip);
    for plate in &section.plates {
        d.line(on(plate.from), on(plate.to), Pen::new(Ink::Metal, Weight::Heavy));
    }
    for shelf in &section.hidden {
        let path = Path::closed(shelf.iter().map(|p| on(*p)));
        d.clipped(
            vec![path],
            Some(Pen::dashed(Ink::Metal, Weight::Fine)),
            None,
            clip,
        );
    }
    d.paths(walls, Some(Pen::new(Ink::Metal, Weight::Heavy)), None);
    if section.view != View::Plan && low.y < 0.0 && high.y > 1e-6 {
        let (a, b) = (on([low.x, 0.0]), on([high.x, 0.0]));
        d.line(a, b, Pen::dashed(Ink::Metal, Weight::Fine));
        d.label(
            DVec2::new(b.x - 0.8, b.y + 0.7),
            "flange face",
            look.words * 0.88,
            Anchor::End,
            Ink::Metal,
        );
    }
    for door in &section.doors {
        one_door(d, door, &on, scale, look);
    }
    let mouth = on(section.mouth);
    let radius = 0.5 * section.mouth_diameter * scale;
    let pen = Pen::new(Ink::Main, Weight::Medium);
    if section.view == View::Plan {
        d.circle(
            mouth,
            radius,
            Some(Pen {
                weight: Weight::Heavy,
                ..pen
            }),
            None,
        );
        for arm in [DVec2::X, DVec2::Y] {
            d.line(
                mouth - arm * (radius + 1.2),
                mouth + arm * (radius + 1.2),
                Pen {
                    weight: Weight::Fine,
                    ..pen
                },
            );
        }
    } else {
        let top = DVec2::new(0.0, (on([0.0, high.y]).y - mouth.y).min(9.0));
        let side = DVec2::new(radius, 0.0);
        let heavy = Pen {
            weight: Weight::Heavy,
            ..pen
        };
        d.line(mouth - side, mouth - side + top, heavy);
        d.line(mouth + side, mouth + side + top, heavy);
        d.line(mouth - side, mouth + side, Pen::dashed(Ink::Main, Weight::Fine));
    }
    let words = DVec2::new(corner.x, on([0.0, high.y]).y + 1.6);
    d.text(words, name, look.words, Anchor::Start, Ink::Main);
    let ends = match section.view {
        View::Along | View::Plan => ["rear", "front"],
        View::Across => ["left", "right"],
    };
    let (x, y) = (on([low.x, low.y]), on([high.x, low.y]));
    let below = DVec2::new(0.0, -1.2 - look.words);
    d.text(x + below, ends[0], look.words, Anchor::Start, Ink::Quiet);
    d.text(y + below, ends[1], look.words, Anchor::End, Ink::Quiet);
    pull(d, section, 0.5 * (x + y) + below, look);
}

/// The way everything is pulled in this view, below it.
fn pull(d: &mut Drawing, section: &Section, at: DVec2, look: &Look) {
    let down = DVec2::from(section.down);
    if down.length() < 0.05 {
        return;
    }
    let words = format!("pull {:.2} g", down.length());
    let along = down.normalize();
    let foot = at + DVec2::new(-0.3 * look.words * words.len() as f64 - 3.4, 0.35 * look.words);
    d.arrow(
        foot - along * 2.4,
        foot + along * 2.4,
        1.3,
        Pen::new(Ink::Way, Weight::Medium),
    );
    d.text(at, &words, look.words, Anchor::Middle, Ink::Way);
}

fn one_door(d: &mut Drawing, door: &CutDoor, on: &dyn Fn([f64; 2]) -> DVec2, scale: f64, look: &Look) {
    let flap = door.flap.map(on);
    d.line(flap[0], flap[1], Pen::new(Ink::Way, Weight::Heavy));
    d.circle(flap[0], 0.55, None, Some(Fill::Solid(Ink::Way)));
    let arrow = door.arrow.map(on);
    let along = (arrow[1] - arrow[0]).normalize_or_zero();
    // Long enough to be seen at any scale.
    let tip = arrow[0] + along * (arrow[1] - arrow[0]).length().max(0.012 * scale).max(4.0);
    if along != DVec2::ZERO {
        d.arrow(arrow[0], tip, 1.2, Pen::new(Ink::Way, Weight::Medium));
    }
    let open = door.angle > 0.02;
    let state = match (open, look.is_narrow()) {
        (true, true) => format!("{} {:.0}°", door.name, door.angle.to_degrees()),
        (true, false) => format!("{} open {:.0}°", door.name, door.angle.to_degrees()),
        (false, true) => door.name.clone(),
        (false, false) => format!("{} shut", door.name),
    };
    // Beyond the hinge, along the wall: clear of the arrow and of the mouth.
    let size = look.words * 0.9;
    let away = (flap[0] - flap[1]).normalize_or(DVec2::Y);
    let at = flap[0] + away * (1.6 + 0.5 * size) - DVec2::new(0.0, 0.35 * size);
    d.label(at, &state, size, Anchor::Middle, Ink::Way);
}

fn bar(d: &mut Drawing, look: &Look, scale: f64) {
    let (unit, name) = match look.order {
        UnitOrder::MetricFirst => (1e-3, "mm"),
        UnitOrder::InchFirst => (0.0254, "in"),
    };
    let step = round_step(20.0 / scale / unit);
    let long = step * unit * scale;
    let pen = Pen::new(Ink::Main, Weight::Fine);
    let y = 2.4;
    d.line(DVec2::new(4.0, y), DVec2::new(4.0 + long, y), pen);
    for x in [4.0, 4.0 + long] {
        d.line(DVec2::new(x, y - 0.8), DVec2::new(x, y + 0.8), pen);
    }
    let words = format!("{} {name}, third angle, pan frame", tick_text(step, step));
    d.text(
        DVec2::new(5.4 + long, y - 0.35 * look.words),
        &words,
        look.words,
        Anchor::Start,
        Ink::Main,
    );
}

/// The oil of a cut in view coordinates.
pub struct OilShape {
    /// Pieces that together are the oil; neighbours share edges.
    pub areas: Vec<Vec<[f64; 2]>>,
    /// Stretches of its surface.
    pub surface: Vec<[[f64; 2]; 2]>,
}

/// Where the share of oil, read between cell centres, passes one half (marching squares).
///
/// The oil runs half a cell past the outermost centres, to be clipped by the walls; whole rows of full squares
/// become one piece.
pub fn oil_shape(oil: &OilCells) -> OilShape {
    let mut shape = OilShape {
        areas: Vec::new(),
        surface: Vec::new(),
    };
    let [nu, nv] = oil.n;
    if nu == 0 || nv == 0 || oil.fill.len() != nu * nv || oil.open.len() != nu * nv {
        return shape;
    }
    let spread = spread_into_metal(oil);
    let share = |(u, v): (usize, usize)| {
        let (u, v) = (u.clamp(1, nu) - 1, v.clamp(1, nv) - 1);
        spread[u + nu * v] - 0.5
    };
    let centre = |(u, v): (usize, usize)| {
        [
            oil.origin[0] + (u as f64 - 0.5) * oil.cell,
            oil.origin[1] + (v as f64 - 0.5) * oil.cell,
        ]
    };
    let corners = |u: usize, v: usize| [(u, v), (u + 1, v), (u + 1, v + 1), (u, v + 1)];
    for v in 0..=nv {
        let mut u = 0;
        while u <= nu {
            let full = |u: usize| corners(u, v).into_iter().all(|c| share(c) > 0.0);
            let end = (u..=nu).find(|&e| !full(e)).unwrap_or(nu + 1);
            if end > u {
                shape
                    .areas
                    .push([(u, v), (end, v), (end, v + 1), (u, v + 1)].map(centre).to_vec());
                u = end;
                continue;
            }
            let (mut piece, mut crossed) = (Vec::new(), Vec::new());
            let around = corners(u, v);
            for i in 0..4 {
                let (a, b) = (around[i], around[(i + 1) % 4]);
                let (fa, fb) = (share(a), share(b));
                if fa > 0.0 {
                    piece.push(centre(a));
                }
                if (fa > 0.0) != (fb > 0.0) {
                    let (pa, pb, t) = (centre(a), centre(b), fa / (fa - fb));
                    let at = [pa[0] + t * (pb[0] - pa[0]), pa[1] + t * (pb[1] - pa[1])];
                    piece.push(at);
                    crossed.push(at);
                }
            }
            if piece.len() > 2 {
                shape.areas.push(piece);
            }
            shape
                .surface
                .extend(crossed.chunks_exact(2).map(|c| [c[0], c[1]]));
            u += 1;
        }
    }
    shape
}

/// Oil share of each cell, metal cells taking the mean of their open neighbours, so that oil meets the walls.
fn spread_into_metal(oil: &OilCells) -> Vec<f64> {
    let [nu, nv] = oil.n;
    let mut known: Vec<Option<f64>> = oil
        .fill
        .iter()
        .zip(&oil.open)
        .map(|(f, open)| open.then_some(f64::from(*f) / 255.0))
        .collect();
    for _ in 0..3 {
        let before = known.clone();
        for v in 0..nv {
            for u in 0..nu {
                if before[u + nu * v].is_some() {
                    continue;
                }
                let (mut sum, mut count) = (0.0, 0.0);
                for (du, dv) in [(-1i64, 0i64), (1, 0), (0, -1), (0, 1)] {
                    let (a, b) = (u as i64 + du, v as i64 + dv);
                    if a >= 0
                        && b >= 0
                        && (a as usize) < nu
                        && (b as usize) < nv
                        && let Some(f) = before[a as usize + nu * b as usize]
                    {
                        sum += f;
                        count += 1.0;
                    }
                }
                if count > 0.0 {
                    known[u + nu * v] = Some(sum / count);
                }
            }
        }
    }
    known.into_iter().map(|k| k.unwrap_or(0.0)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(loops: &[Vec<[f64; 2]>]) -> f64 {
        loops
            .iter()
            .map(|l| {
                (0..l.len())
                    .map(|i| {
                        let (a, b) = (l[i], l[(i + 1) % l.len()]);
                        0.5 * (a[0] * b[1] - a[1] * b[0])
                    })
                    .sum::<f64>()
            })
            .sum()
    }

    #[test]
    fn oil_to_half_height_covers_half_the_cut() {
        // 8 × 6 cells of 1 m, the lower three rows full: the outline passes between rows 3 and 4, and runs half
        // a cell past the open cells on the other three sides to meet the clip.
        let fill = (0..48).map(|i| if i / 8 < 3 { 255 } else { 0 }).collect();
        let oil = OilCells {
            origin: [0.0, 0.0],
            cell: 1.0,
            n: [8, 6],
            fill,
            open: vec![true; 48],
        };
        let shape = oil_shape(&oil);
        let got = area(&shape.areas);
        let want = 9.0 * 3.5;
        assert!((got - want).abs() < 1e-9, "got {got}, wanted {want}");
        assert!(
            shape.surface.iter().flatten().all(|p| (p[1] - 3.0).abs() < 1e-9),
            "{:?}",
            shape.surface
        );
    }

    #[test]
    fn no_oil_has_no_outline() {
        let oil = OilCells {
            origin: [0.0, 0.0],
            cell: 1.0,
            n: [4, 4],
            fill: vec![0; 16],
            open: vec![true; 16],
        };
        assert!(oil_shape(&oil).areas.is_empty());
    }
}
