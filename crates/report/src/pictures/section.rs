//! Sections through the pan with the oil in it, in third-angle order: the plan above, the cut along the crank
//! below it, the cut across beside that.

use super::Look;
use super::oil_shape::oil_shape;
use super::plot::{round_step, tick_text};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::Moment;
use crate::section::{CutDoor, Section, View};
use glam::DVec2;
use measure::UnitOrder;

/// The cuts of one moment at its worst instant, all at one scale; `None` without cuts.
pub fn sections(moment: &Moment, look: &Look) -> Option<Drawing> {
    let sheet = Sheet {
        id: format!("section-{}", moment.rank),
        title: format!("Oil in the pan at the worst instant of moment {}", moment.rank),
        said: format!(
            "Three cuts through the pan at {}. {}",
            moment.worst.place, moment.why
        ),
    };
    three(&sheet, &moment.sections, look, &mut |d, cut| one(d, cut, look))
}

/// What a sheet of three cuts is.
pub(super) struct Sheet {
    pub id: String,
    pub title: String,
    pub said: String,
}

/// A cut with its place on the paper.
pub(super) struct Placed<'a> {
    pub section: &'a Section,
    /// Lower left corner [mm].
    pub corner: DVec2,
    /// View coordinates of that corner [m].
    pub low: DVec2,
    /// And of the upper right one.
    pub high: DVec2,
    /// Millimetres on paper for a metre.
    pub scale: f64,
    pub name: &'static str,
}

impl Placed<'_> {
    /// Where a point of the view lies on the paper.
    pub fn on(&self, p: [f64; 2]) -> DVec2 {
        self.corner + (DVec2::from(p) - self.low) * self.scale
    }
}

/// Three cuts at one scale, each drawn by `draw`; `None` when one is missing or has no size.
pub(super) fn three(
    sheet: &Sheet,
    cuts: &[Section],
    look: &Look,
    draw: &mut dyn FnMut(&mut Drawing, &Placed),
) -> Option<Drawing> {
    let find = |view| cuts.iter().find(|s: &&Section| s.view == view);
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
    let mut d = Drawing::new(&look.id(&sheet.id), look.width, height, &sheet.title);
    d.said = sheet.said.clone();
    let mut one = |section, corner, name| {
        if let Some((low, high)) = bounds(section) {
            let placed = Placed {
                section,
                corner,
                low,
                high,
                scale,
                name,
            };
            draw(&mut d, &placed);
        }
    };

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
    one(plan, corner, "from above, cut at the mouth's height");
    top -= size_plan.y * scale + gap + head;
    let corner = DVec2::new(main, top - size_along.y * scale);
    one(along, corner, "cut along the crank through the mouth");
    if look.is_narrow() {
        top -= size_along.y * scale + gap + head;
    }
    let corner = DVec2::new(x, top - size_across.y * scale);
    one(across, corner, "cut across, from the rear");
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

/// The cut with its oil and all parts in it.
pub(super) fn one(d: &mut Drawing, cut: &Placed, look: &Look) {
    let &Placed {
        section,
        corner,
        low,
        high,
        scale,
        name,
    } = cut;
    let on = |p: [f64; 2]| cut.on(p);
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
