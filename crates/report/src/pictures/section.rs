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
    let scale = (free / wide).min(150.0 / tall);
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
        left
    } else {
        wide + gap / scale
    };
    let x = 0.5 * (look.width - used * scale).max(2.0 * edge);
    let mut top = height - head;
    one(
        &mut d,
        plan,
        DVec2::new(x, top - size_plan.y * scale),
        scale,
        look,
        "seen from above, cut above the floor",
    );
    top -= size_plan.y * scale + gap + head;
    one(
        &mut d,
        along,
        DVec2::new(x, top - size_along.y * scale),
        scale,
        look,
        "cut along the crank through the mouth",
    );
    let at = if look.is_narrow() {
        top -= size_along.y * scale + gap + head;
        DVec2::new(x, top - size_across.y * scale)
    } else {
        DVec2::new(x + left * scale + gap, top - size_across.y * scale)
    };
    one(&mut d, across, at, scale, look, "cut across, seen from the rear");
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
    let oil = oil_outline(&section.oil)
        .into_iter()
        .map(|l| Path::closed(l.into_iter().map(on)))
        .collect();
    d.clipped(
        oil,
        Some(Pen::new(Ink::OilEdge, Weight::Fine)),
        Some(Fill::Solid(Ink::Oil)),
        clip,
    );
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
    d.arrow(arrow[0], tip, 1.2, Pen::new(Ink::Way, Weight::Medium));
    let state = if door.angle > 0.02 {
        format!("{} open {:.0}°", door.name, door.angle.to_degrees())
    } else {
        format!("{} shut", door.name)
    };
    let size = look.words * 0.9;
    let reach = 0.55 * size * state.chars().count() as f64;
    let (anchor, at) = if along.x >= 0.0 && tip.x + reach < look.width {
        (Anchor::Start, tip + DVec2::new(0.8, -0.35 * size))
    } else if along.x < 0.0 && tip.x - reach > 0.0 {
        (Anchor::End, tip + DVec2::new(-0.8, -0.35 * size))
    } else {
        (Anchor::Middle, tip + DVec2::new(0.0, 1.0))
    };
    d.label(at, &state, size, anchor, Ink::Way);
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

/// Outline of the oil: where the share of oil, read between cell centres, passes one half.
///
/// Marching squares over cell centres with a rim of the nearest cell around, so that the outline runs past the
/// walls and is clipped by them; loops are returned in view coordinates.
pub fn oil_outline(oil: &OilCells) -> Vec<Vec<[f64; 2]>> {
    let [nu, nv] = oil.n;
    if nu == 0 || nv == 0 || oil.fill.len() != nu * nv {
        return Vec::new();
    }
    // Filled squares row by row would show steps; polygons per square join seamlessly and need no chaining.
    let spread = spread_into_metal(oil);
    let share = |u: usize, v: usize| {
        let (u, v) = (u.clamp(1, nu) - 1, v.clamp(1, nv) - 1);
        spread[u + nu * v] - 0.5
    };
    let centre = |u: usize, v: usize| {
        [
            oil.origin[0] + (u as f64 - 0.5) * oil.cell,
            oil.origin[1] + (v as f64 - 0.5) * oil.cell,
        ]
    };
    let mut list = Vec::new();
    for v in 0..=nv {
        let mut u = 0;
        while u <= nu {
            let full = |u: usize| {
                [(u, v), (u + 1, v), (u + 1, v + 1), (u, v + 1)]
                    .iter()
                    .all(|&(u, v)| share(u, v) > 0.0)
            };
            let mut end = u;
            while end <= nu && full(end) {
                end += 1;
            }
            if end > u {
                list.push(vec![
                    centre(u, v),
                    centre(end, v),
                    centre(end, v + 1),
                    centre(u, v + 1),
                ]);
                u = end;
                continue;
            }
            let corners = [(u, v), (u + 1, v), (u + 1, v + 1), (u, v + 1)];
            let mut piece = Vec::new();
            for i in 0..4 {
                let (a, b) = (corners[i], corners[(i + 1) % 4]);
                let (fa, fb) = (share(a.0, a.1), share(b.0, b.1));
                let (pa, pb) = (centre(a.0, a.1), centre(b.0, b.1));
                if fa > 0.0 {
                    piece.push(pa);
                }
                if (fa > 0.0) != (fb > 0.0) {
                    let t = fa / (fa - fb);
                    piece.push([pa[0] + t * (pb[0] - pa[0]), pa[1] + t * (pb[1] - pa[1])]);
                }
            }
            if piece.len() > 2 {
                list.push(piece);
            }
            u += 1;
        }
    }
    list
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
                    if a >= 0 && b >= 0 && (a as usize) < nu && (b as usize) < nv {
                        if let Some(f) = before[a as usize + nu * b as usize] {
                            sum += f;
                            count += 1.0;
                        }
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
        let got = area(&oil_outline(&oil));
        let want = 9.0 * 3.5;
        assert!((got - want).abs() < 1e-9, "got {got}, wanted {want}");
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
        assert!(oil_outline(&oil).is_empty());
    }
}
