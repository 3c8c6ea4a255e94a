//! The suction side: pressure in the pump's inlet over engine speed and oil temperature; losses stacked part by part.

use super::Look;
use super::plot::{round_step, slim, tick_text, ticks};
use crate::drawing::{Anchor, Drawing, Fill, Ink, Path, Pen, Weight};
use crate::findings::{FeedFacts, FeedMap};
use crate::numbers::{axis_unit, short};
use glam::DVec2;
use measure::{Dimension, UnitOrder};

/// The inlet's pressure as lines of equal pressure; hatched where the pump is not fed.
pub fn inlet(facts: &FeedFacts, look: &Look) -> Option<Drawing> {
    let map = &facts.map;
    if map.speeds.len() < 2 || map.temperatures.len() < 2 {
        return None;
    }
    let words = look.words;
    let tall = if look.is_narrow() { 62.0 } else { 78.0 };
    let low = DVec2::new(6.0 + 3.0 * words, 5.0 + 3.0 * words);
    let high = low + DVec2::new(look.width - low.x - 5.0, tall);
    let height = high.y + 2.2 + 1.2 * words;
    let mut d = Drawing::new(
        &look.id("inlet"),
        look.width,
        height,
        "Pressure in the pump's inlet over engine speed and oil temperature",
    );
    d.said = facts.said.clone();
    let field = Field { map, low, high };
    let clip = d.clip(vec![Path::rectangle(low, high)]);
    d.clipped(field.below(facts.least), None, Some(Fill::Bare), clip);
    axes(&mut d, &field, look);
    let pressure = axis_unit(Dimension::Pressure, look.order);
    let step = match look.order {
        UnitOrder::MetricFirst => 10.0,
        UnitOrder::InchFirst => 2.0,
    };
    let top = map.pressure.iter().copied().fold(0.0, f64::max) / pressure.factor;
    let mut labels: Vec<DVec2> = Vec::new();
    // Near the heavy line a light one would only be taken for it; in the hatch only the end of all flow matters.
    let least = facts.least / pressure.factor;
    let levels = (0..)
        .map(|i| step * f64::from(i))
        .take_while(|level| *level < top);
    for level in levels.filter(|l| l - least > 0.3 * step || *l == 0.0) {
        let lines = field.lines(level * pressure.factor);
        for line in &lines {
            d.trace(slim(line, 0.08), Pen::new(Ink::Quiet, Weight::Fine));
        }
        label(
            &mut d,
            &lines,
            &tick_text(level, step),
            Ink::Quiet,
            &mut labels,
            look,
        );
    }
    let heavy = field.lines(facts.least);
    for line in &heavy {
        d.trace(slim(line, 0.08), Pen::new(Ink::Bare, Weight::Heavy));
    }
    let name = short(facts.least, Dimension::Pressure, look.order);
    label(&mut d, &heavy, &name, Ink::Bare, &mut labels, look);
    let working = field.at(map.speeds[0], facts.working).y;
    d.line(
        DVec2::new(low.x, working),
        DVec2::new(high.x, working),
        Pen::dashed(Ink::Main, Weight::Fine),
    );
    d.label(
        DVec2::new(low.x + 1.2, working + 0.8),
        "working oil",
        0.9 * words,
        Anchor::Start,
        Ink::Main,
    );
    d.paths(
        vec![Path::rectangle(low, high)],
        Some(Pen::new(Ink::Main, Weight::Fine)),
        None,
    );
    let title = format!(
        "Absolute pressure in the inlet, {}; hatched: not fed",
        pressure.name
    );
    d.text(
        DVec2::new(low.x, high.y + 1.6),
        &title,
        words,
        Anchor::Start,
        Ink::Main,
    );
    Some(d)
}

/// Speed to the right and temperature up, with their numbers.
fn axes(d: &mut Drawing, field: &Field, look: &Look) {
    let (low, high, size) = (field.low, field.high, 0.88 * look.words);
    let map = field.map;
    let rpm = axis_unit(Dimension::EngineSpeed, look.order);
    let ends = |list: &[f64]| (list[0], list[list.len() - 1]);
    let (slow, fast) = ends(&map.speeds);
    let count = if look.is_narrow() { 4 } else { 8 };
    for tick in ticks(slow / rpm.factor, fast / rpm.factor, count) {
        let x = field.at(tick * rpm.factor, map.temperatures[0]).x;
        d.line(
            DVec2::new(x, low.y),
            DVec2::new(x, low.y - 1.0),
            Pen::new(Ink::Quiet, Weight::Fine),
        );
        let at = DVec2::new(x, low.y - 1.6 - size);
        d.text(at, &tick_text(tick, 1.0), size, Anchor::Middle, Ink::Quiet);
    }
    let at = DVec2::new(high.x, low.y - 2.4 - 2.2 * size);
    d.text(at, "engine speed, rpm", size, Anchor::End, Ink::Quiet);
    let (cold, hot) = ends(&map.temperatures);
    let (to, from, name): (fn(f64) -> f64, fn(f64) -> f64, _) = match look.order {
        UnitOrder::MetricFirst => (|k| k - 273.15, |c| c + 273.15, "oil, °C"),
        UnitOrder::InchFirst => (|k| k * 1.8 - 459.67, |f| (f + 459.67) / 1.8, "oil, °F"),
    };
    let step = round_step((to(hot) - to(cold)) / 8.0);
    for tick in ticks(to(cold), to(hot), 8) {
        let y = field.at(slow, from(tick)).y;
        d.line(
            DVec2::new(low.x - 1.0, y),
            DVec2::new(low.x, y),
            Pen::new(Ink::Quiet, Weight::Fine),
        );
        let at = DVec2::new(low.x - 1.6, y - 0.33 * size);
        d.text(at, &tick_text(tick, step), size, Anchor::End, Ink::Quiet);
    }
    let at = DVec2::new(1.0, high.y + 1.6);
    d.text(at, name, size, Anchor::Start, Ink::Quiet);
}

/// A number on the longest of some lines, where no other stands; left out where there is no room.
fn label(d: &mut Drawing, lines: &[Vec<DVec2>], words: &str, ink: Ink, taken: &mut Vec<DVec2>, look: &Look) {
    let Some(line) = lines.iter().max_by_key(|line| line.len()) else {
        return;
    };
    let size = 0.88 * look.words;
    let free = |at: &DVec2| {
        taken
            .iter()
            .all(|t| (t.x - at.x).abs() > 4.0 * size || (t.y - at.y).abs() > 1.5 * size)
    };
    let order = [0.5, 0.35, 0.65, 0.2, 0.8];
    let places = order.map(|part| line[(part * (line.len() - 1) as f64) as usize]);
    if let Some(at) = places.iter().find(|at| free(at)) {
        d.label(
            *at - DVec2::new(0.0, 0.35 * size),
            words,
            size,
            Anchor::Middle,
            ink,
        );
        taken.push(*at);
    }
}

/// The map on paper.
struct Field<'a> {
    map: &'a FeedMap,
    low: DVec2,
    high: DVec2,
}

impl Field<'_> {
    fn at(&self, speed: f64, temperature: f64) -> DVec2 {
        let part = |list: &[f64], v: f64| (v - list[0]) / (list[list.len() - 1] - list[0]);
        let part = DVec2::new(
            part(&self.map.speeds, speed),
            part(&self.map.temperatures, temperature),
        );
        self.low + part * (self.high - self.low)
    }

    fn value(&self, i: usize, j: usize) -> f64 {
        self.map.pressure[i + self.map.speeds.len() * j]
    }

    fn node(&self, i: usize, j: usize) -> DVec2 {
        self.at(self.map.speeds[i], self.map.temperatures[j])
    }

    /// Where the pressure lies below a level: what each cell has of it, by straight lines along its edges.
    fn below(&self, level: f64) -> Vec<Path> {
        let mut paths = Vec::new();
        for j in 0..self.map.temperatures.len() - 1 {
            // Whole cells in a row are one rectangle.
            let mut begun: Option<usize> = None;
            for i in 0..self.map.speeds.len() {
                let whole = i + 1 < self.map.speeds.len()
                    && corners(i, j).iter().all(|&(a, b)| self.value(a, b) < level);
                match (whole, begun) {
                    (true, None) => begun = Some(i),
                    (false, Some(from)) => {
                        paths.push(Path::rectangle(self.node(from, j), self.node(i, j + 1)));
                        begun = None;
                    }
                    _ => {}
                }
                if !whole && i + 1 < self.map.speeds.len() {
                    let piece = self.piece_below(i, j, level);
                    if piece.len() > 2 {
                        paths.push(Path::closed(piece));
                    }
                }
            }
        }
        paths
    }

    fn piece_below(&self, i: usize, j: usize, level: f64) -> Vec<DVec2> {
        let ring = corners(i, j);
        let mut piece = Vec::new();
        for k in 0..4 {
            let (a, b) = (ring[k], ring[(k + 1) % 4]);
            if self.value(a.0, a.1) < level {
                piece.push(self.node(a.0, a.1));
            }
            piece.extend(self.crossing(a, b, level));
        }
        piece
    }

    /// Where the level is met between two corners.
    fn crossing(&self, a: (usize, usize), b: (usize, usize), level: f64) -> Option<DVec2> {
        let (from, to) = (self.value(a.0, a.1), self.value(b.0, b.1));
        if (from < level) == (to < level) {
            return None;
        }
        let part = (level - from) / (to - from);
        Some(self.node(a.0, a.1).lerp(self.node(b.0, b.1), part))
    }

    /// Lines along which the pressure is `level`, pieces of cells joined end to end.
    fn lines(&self, level: f64) -> Vec<Vec<DVec2>> {
        let mut pieces: Vec<[DVec2; 2]> = Vec::new();
        for j in 0..self.map.temperatures.len() - 1 {
            for i in 0..self.map.speeds.len() - 1 {
                let ring = corners(i, j);
                let met: Vec<DVec2> = (0..4)
                    .filter_map(|k| self.crossing(ring[k], ring[(k + 1) % 4], level))
                    .collect();
                pieces.extend(met.chunks_exact(2).map(|pair| [pair[0], pair[1]]));
            }
        }
        let same = |a: DVec2, b: DVec2| a.distance_squared(b) < 1e-12;
        let mut lines = Vec::new();
        while let Some([a, b]) = pieces.pop() {
            let mut line = std::collections::VecDeque::from([a, b]);
            loop {
                let (first, last) = (line[0], line[line.len() - 1]);
                let next = pieces
                    .iter()
                    .position(|p| p.iter().any(|e| same(*e, first) || same(*e, last)));
                let Some([a, b]) = next.map(|next| pieces.swap_remove(next)) else {
                    break;
                };
                match () {
                    () if same(a, last) => line.push_back(b),
                    () if same(b, last) => line.push_back(a),
                    () if same(a, first) => line.push_front(b),
                    () => line.push_front(a),
                }
            }
            lines.push(line.into());
        }
        lines
    }
}

/// Corners of a cell, counter-clockwise.
fn corners(i: usize, j: usize) -> [(usize, usize); 4] {
    [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
}

/// How parts are told apart, in the way of the oil; their numbers stand in them too.
const FILLS: [Fill; 8] = [
    Fill::Solid(Ink::Ground),
    Fill::Solid(Ink::Faint),
    Fill::Solid(Ink::Quiet),
    Fill::Solid(Ink::Ground),
    Fill::Solid(Ink::Faint),
    Fill::Solid(Ink::Quiet),
    Fill::Solid(Ink::Ground),
    Fill::Solid(Ink::Faint),
];

/// What each part takes, a bar a state; the dashed line is what may be lost.
pub fn losses(facts: &FeedFacts, look: &Look) -> Option<Drawing> {
    let first = facts.states.first()?;
    let words = look.words;
    let allowed = facts.over - facts.least;
    let help = facts
        .states
        .iter()
        .flat_map(|s| &s.losses)
        .map(|l| l.loss.min(0.0))
        .fold(0.0, f64::min);
    let most = facts
        .states
        .iter()
        .map(|s| facts.over - s.pressure)
        .fold(1.15 * allowed, f64::max)
        .min(1.02 * facts.over);
    let row = 6.5 + 1.6 * words;
    let columns = if look.is_narrow() { 2 } else { 4 };
    let key_rows = first.losses.len().div_ceil(columns);
    let foot = 6.0 + 2.4 * words + 1.5 * words * key_rows as f64;
    let height = foot + row * facts.states.len() as f64 + 1.4 * words;
    let mut d = Drawing::new(
        &look.id("losses"),
        look.width,
        height,
        "What each part of the suction line takes",
    );
    d.said = facts
        .states
        .iter()
        .map(|s| {
            format!(
                "{}: {} left.",
                s.name,
                short(s.pressure, Dimension::Pressure, look.order)
            )
        })
        .collect::<Vec<_>>()
        .join(" ");
    let (left, right) = (3.0, look.width - 4.0);
    let across = |loss: f64| left + (loss - help) / (most - help) * (right - left);
    let (floor, ceiling) = (foot - 1.0, height - 1.4 * words);
    scale(&mut d, look, (help, most), &across, (floor, ceiling));
    let x = across(allowed);
    d.line(
        DVec2::new(x, floor),
        DVec2::new(x, ceiling),
        Pen::dashed(Ink::Bare, Weight::Medium),
    );
    let name = format!("{} left", short(facts.least, Dimension::Pressure, look.order));
    d.label(
        DVec2::new(x, ceiling + 0.2),
        &name,
        0.9 * words,
        Anchor::Middle,
        Ink::Bare,
    );
    for (i, state) in facts.states.iter().enumerate() {
        let y = height - 1.4 * words - row * (i as f64 + 1.0);
        let mut sum = state.losses.iter().map(|l| l.loss.min(0.0)).sum::<f64>();
        for (part, loss) in state.losses.iter().enumerate().filter(|(_, l)| l.loss > 0.0) {
            let (from, to) = (across(sum.min(most)), across((sum + loss.loss).min(most)));
            sum += loss.loss;
            if to - from < 0.05 {
                continue;
            }
            let bar = Path::rectangle(DVec2::new(from, y), DVec2::new(to, y + 5.0));
            let fill = FILLS[part % FILLS.len()];
            d.paths(vec![bar], Some(Pen::new(Ink::Main, Weight::Hair)), Some(fill));
            let size = 0.85 * words;
            if to - from > 1.3 * size {
                let at = DVec2::new(0.5 * (from + to), y + 2.5 - 0.35 * size);
                d.label(at, &(part + 1).to_string(), size, Anchor::Middle, Ink::Main);
            }
        }
        let beyond = if state.pressure <= 0.0 {
            "more than there is: the pump draws foam".to_owned()
        } else {
            format!("{} left", short(state.pressure, Dimension::Pressure, look.order))
        };
        let said = format!(
            "{}: {}, {}; {beyond}",
            state.name,
            short(state.temperature, Dimension::Temperature, look.order),
            short(state.engine_speed, Dimension::EngineSpeed, look.order),
        );
        d.label(DVec2::new(left, y + 6.0), &said, words, Anchor::Start, Ink::Main);
    }
    for (part, loss) in first.losses.iter().enumerate() {
        let (column, line) = (part % columns, part / columns);
        let x = left + column as f64 * (right - left) / columns as f64;
        let y = foot - 5.0 - 2.6 * words - 1.5 * words * line as f64;
        let box_ = Path::rectangle(DVec2::new(x, y - 0.3), DVec2::new(x + 3.4, y + 0.3 + 0.8 * words));
        d.paths(
            vec![box_],
            Some(Pen::new(Ink::Main, Weight::Hair)),
            Some(FILLS[part % FILLS.len()]),
        );
        let said = format!("{} {}", part + 1, loss.part);
        d.text(
            DVec2::new(x + 4.4, y),
            &said,
            0.9 * words,
            Anchor::Start,
            Ink::Main,
        );
    }
    Some(d)
}

/// Numbers under the bars.
fn scale(
    d: &mut Drawing,
    look: &Look,
    (low, high): (f64, f64),
    across: &dyn Fn(f64) -> f64,
    (floor, ceiling): (f64, f64),
) {
    let unit = axis_unit(Dimension::Pressure, look.order);
    let list = ticks(
        low / unit.factor,
        high / unit.factor,
        if look.is_narrow() { 4 } else { 8 },
    );
    let step = if list.len() > 1 { list[1] - list[0] } else { 1.0 };
    let size = 0.88 * look.words;
    for tick in list {
        let x = across(tick * unit.factor);
        let heavy = if tick == 0.0 { Ink::Quiet } else { Ink::Faint };
        d.line(
            DVec2::new(x, floor - 1.0),
            DVec2::new(x, if tick == 0.0 { ceiling } else { floor }),
            Pen::new(heavy, Weight::Hair),
        );
        let at = DVec2::new(x, floor - 1.6 - size);
        d.text(at, &tick_text(tick, step), size, Anchor::Middle, Ink::Quiet);
    }
    let said = format!("taken from the pressure over the oil, {}", unit.name);
    let at = DVec2::new(across(high), floor - 2.2 - 2.2 * size);
    d.text(at, &said, size, Anchor::End, Ink::Quiet);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pressure that falls evenly with speed and rises with temperature: lines of it are straight.
    fn even() -> FeedMap {
        let speeds: Vec<f64> = (0..=10).map(f64::from).collect();
        let temperatures: Vec<f64> = (0..=10).map(|j| 300.0 + f64::from(j)).collect();
        let pressure = temperatures
            .iter()
            .flat_map(|t| speeds.iter().map(move |s| 50.0 - s + (t - 300.0)))
            .collect();
        FeedMap {
            speeds,
            temperatures,
            pressure,
        }
    }

    #[test]
    fn a_line_of_equal_pressure_is_one_and_straight() {
        let map = even();
        let (low, high) = (DVec2::ZERO, DVec2::splat(100.0));
        let field = Field { map: &map, low, high };
        let lines = field.lines(50.5);
        assert_eq!(lines.len(), 1, "{lines:?}");
        for at in &lines[0] {
            // 50 - s + t = 50.5 and ten units a side: t is half a step above s.
            assert!((at.y - at.x - 5.0).abs() < 1e-9, "{at}");
        }
        assert!(lines[0].iter().any(|p| p.x < 1e-9) && lines[0].iter().any(|p| p.y > 100.0 - 1e-9));
        assert!(field.lines(90.0).is_empty());
    }

    #[test]
    fn what_lies_below_a_pressure_has_its_area() {
        let map = even();
        let (low, high) = (DVec2::ZERO, DVec2::splat(100.0));
        let field = Field { map: &map, low, high };
        let area = |path: &Path| {
            let v = &path.vertices;
            let turn = |i: usize| v[i].0.perp_dot(v[(i + 1) % v.len()].0);
            0.5 * (0..v.len()).map(turn).sum::<f64>()
        };
        let below: f64 = field.below(50.5).iter().map(area).sum();
        // All but the triangle above the line from (0, 5) to (95, 100).
        let due = 1e4 - 0.5 * 95.0 * 95.0;
        assert!((below - due).abs() < 1e-6, "{below}, due {due}");
    }
}
