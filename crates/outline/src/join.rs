//! Loose lines and arcs joined end to end into closed outlines.
//!
//! Ends that lie exactly on each other are joined first, then ends within the tolerance. Where three or more ends
//! meet, nobody can say which way the outline goes on, so that is a fault with its place; so is an end that finds no
//! mate. Work and memory grow with the number of pieces and no faster, whatever the file holds.

use crate::closed::Closed;
use crate::side::Side;
use glam::DVec2;
use std::collections::{BTreeMap, HashMap};

/// Ends nearer than this differ by rounding only [m].
const ROUNDING: f64 = 1e-9;

/// Lines and arcs in a row.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Chain {
    /// Corners with the bulge of the side that leaves each; that of the last is only used when closed.
    pub vertices: Vec<(DVec2, f64)>,
    /// Whether the last corner leads back to the first.
    pub closed: bool,
    /// Layer it was drawn on.
    pub layer: String,
    /// Line of the file at which it stands.
    pub line: usize,
}

/// What came of joining.
#[derive(Debug, Default)]
pub(crate) struct Joined {
    /// Closed outlines with layer and line of their first piece.
    pub closed: Vec<(Closed, String, usize)>,
    /// Chains that stay open.
    pub open: Vec<Open>,
    /// Places where three or more ends meet, with the line of one of them; a few of them.
    pub forks: Vec<(DVec2, usize)>,
    /// Largest gap that was joined.
    pub largest_gap: f64,
    /// Gaps that were joined.
    pub gaps: usize,
    /// Pieces that stood there twice.
    pub doubled: usize,
    /// Pieces shorter than the tolerance.
    pub dots: usize,
}

/// A chain that does not close.
#[derive(Debug)]
pub(crate) struct Open {
    pub ends: [DVec2; 2],
    pub line: usize,
    pub layer: String,
    /// Gap from one of its ends to the nearest other loose end.
    pub gap: f64,
    pub at: DVec2,
}

/// Joins `chains`; all lengths in one unit, `tolerance` and the coordinates alike.
pub(crate) fn join(chains: Vec<Chain>, tolerance: f64) -> Joined {
    let mut done = Joined::default();
    let mut loose: Vec<Chain> = Vec::new();
    let mut seen: HashMap<[i64; 5], ()> = HashMap::new();
    for mut chain in chains {
        drop_repeated_corners(&mut chain);
        let (mut low, mut high) = (chain.vertices[0].0, chain.vertices[0].0);
        for side in sides(&chain) {
            let (l, h) = side.bounds();
            (low, high) = (low.min(l), high.max(h));
        }
        if (high - low).max_element() <= tolerance {
            done.dots += 1;
            continue;
        }
        if seen.insert(likeness(&chain, low, high, tolerance), ()).is_some() {
            done.doubled += 1;
            continue;
        }
        let ends = [chain.vertices[0].0, chain.vertices[chain.vertices.len() - 1].0];
        let gap = ends[0].distance(ends[1]);
        if !chain.closed && chain.vertices.len() > 2 && gap <= tolerance {
            chain.vertices.pop();
            chain.closed = true;
            done.gaps += usize::from(gap > ROUNDING);
            done.largest_gap = done.largest_gap.max(gap);
        }
        if chain.closed {
            done.closed
                .push((Closed::new(chain.vertices), chain.layer, chain.line));
        } else {
            loose.push(chain);
        }
    }
    let mut mates: Vec<Option<usize>> = vec![None; 2 * loose.len()];
    for reach in [1e-6 * tolerance, tolerance] {
        pair(&loose, reach, &mut mates, &mut done);
    }
    walk(&loose, &mates, &mut done);
    done
}

fn sides(chain: &Chain) -> impl Iterator<Item = Side> + '_ {
    let n = chain.vertices.len();
    let count = if chain.closed { n } else { n - 1 };
    (0..count).map(move |i| Side {
        from: chain.vertices[i].0,
        to: chain.vertices[(i + 1) % n].0,
        bulge: chain.vertices[i].1,
    })
}

/// A corner stated twice in a row makes a side without length.
fn drop_repeated_corners(chain: &mut Chain) {
    let mut kept: Vec<(DVec2, f64)> = Vec::with_capacity(chain.vertices.len());
    for &(p, bulge) in &chain.vertices {
        match kept.last_mut() {
            Some(last) if last.0 == p => last.1 = bulge,
            _ => kept.push((p, bulge)),
        }
    }
    if chain.closed && kept.len() > 1 && kept[0].0 == kept[kept.len() - 1].0 {
        kept.pop();
    }
    chain.vertices = kept;
}

/// A mark that a piece shares with another drawn on top of it, whichever way round.
fn likeness(chain: &Chain, low: DVec2, high: DVec2, tolerance: f64) -> [i64; 5] {
    let step = |v: f64| (v / tolerance).round() as i64;
    let length: f64 = sides(chain).map(|s| s.length()).sum();
    // Which diagonal a line takes, and to which side an arc goes: the bounds alone do not tell.
    let (count, sum) = sides(chain).fold((0, DVec2::ZERO), |(n, sum), s| (n + 1, sum + s.at(0.5)));
    let middle = sum / f64::from(count.max(1));
    let rising = sides(chain)
        .map(|s| (s.to - s.from).x * (s.to - s.from).y)
        .sum::<f64>();
    let turn = step(middle.x) ^ (step(middle.y) << 20) ^ (i64::from(rising > 0.0) << 62);
    [
        step(low.x),
        step(low.y),
        step(high.x),
        step(high.y),
        step(length) ^ turn,
    ]
}

/// The end `index`: of chain `index / 2`, its start (even) or its end (odd).
fn end_of(chains: &[Chain], index: usize) -> DVec2 {
    let vertices = &chains[index / 2].vertices;
    vertices[if index.is_multiple_of(2) {
        0
    } else {
        vertices.len() - 1
    }]
    .0
}

fn cell(p: DVec2, reach: f64) -> (i64, i64) {
    ((p.x / reach).floor() as i64, (p.y / reach).floor() as i64)
}

/// Gives each end without a mate the one other end within `reach`; two or more others are a fork.
fn pair(chains: &[Chain], reach: f64, mates: &mut [Option<usize>], done: &mut Joined) {
    let mut grid: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
    let free: Vec<usize> = (0..mates.len()).filter(|&i| mates[i].is_none()).collect();
    for &i in &free {
        grid.entry(cell(end_of(chains, i), reach)).or_default().push(i);
    }
    // At most two others are looked at: more do not change the answer, and a million ends on one point cost no more.
    let others = |i: usize| -> Vec<usize> {
        let p = end_of(chains, i);
        let (x, y) = cell(p, reach);
        let mut found = Vec::new();
        for key in
            (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (x.saturating_add(dx), y.saturating_add(dy))))
        {
            for &j in grid.get(&key).map_or(&[][..], Vec::as_slice).iter().take(64) {
                if j != i && p.distance(end_of(chains, j)) <= reach {
                    found.push(j);
                    if found.len() == 2 {
                        return found;
                    }
                }
            }
        }
        found
    };
    for &i in &free {
        if mates[i].is_some() {
            continue;
        }
        match others(i)[..] {
            [j] if mates[j].is_none() && others(j).len() == 1 => {
                (mates[i], mates[j]) = (Some(j), Some(i));
                let gap = end_of(chains, i).distance(end_of(chains, j));
                if gap > ROUNDING {
                    done.gaps += 1;
                    done.largest_gap = done.largest_gap.max(gap);
                }
            }
            [_, _] if done.forks.len() < 20 => {
                let at = end_of(chains, i);
                if done.forks.iter().all(|(p, _)| p.distance(at) > reach) {
                    done.forks.push((at, chains[i / 2].line));
                }
            }
            _ => {}
        }
    }
}

/// Follows mates from chain to chain.
fn walk(chains: &[Chain], mates: &[Option<usize>], done: &mut Joined) {
    let mut used = vec![false; chains.len()];
    let mut open: Vec<(usize, Vec<(DVec2, f64)>)> = Vec::new();
    // Loose ends first, so that an open row is walked from one end to the other.
    let starts = (0..mates.len())
        .filter(|&i| mates[i].is_none())
        .chain((0..chains.len()).map(|c| 2 * c));
    for start in starts {
        if used[start / 2] {
            continue;
        }
        let mut vertices: Vec<(DVec2, f64)> = Vec::new();
        let mut at = start;
        loop {
            used[at / 2] = true;
            append(&mut vertices, &chains[at / 2], at % 2 == 1);
            let far = at ^ 1;
            match mates[far] {
                Some(next) if next == start => {
                    close(&mut vertices);
                    done.closed.push((
                        Closed::new(vertices),
                        chains[start / 2].layer.clone(),
                        chains[start / 2].line,
                    ));
                    break;
                }
                Some(next) if !used[next / 2] => at = next,
                _ => {
                    open.push((start / 2, vertices));
                    break;
                }
            }
        }
    }
    tell_open(chains, open, done);
}

fn append(vertices: &mut Vec<(DVec2, f64)>, chain: &Chain, backwards: bool) {
    let n = chain.vertices.len();
    let piece: Vec<(DVec2, f64)> = match backwards {
        false => chain.vertices.clone(),
        true => (0..n)
            .rev()
            .map(|i| {
                (
                    chain.vertices[i].0,
                    if i > 0 { -chain.vertices[i - 1].1 } else { 0.0 },
                )
            })
            .collect(),
    };
    if let Some(last) = vertices.pop() {
        // The two ends become one corner, halfway across the gap.
        vertices.push((0.5 * (last.0 + piece[0].0), piece[0].1));
        vertices.extend(&piece[1..]);
    } else {
        vertices.extend(piece);
    }
}

fn close(vertices: &mut Vec<(DVec2, f64)>) {
    if let Some(last) = vertices.pop()
        && let Some(first) = vertices.first_mut()
    {
        first.0 = 0.5 * (first.0 + last.0);
    }
}

/// For each open row the gap that would have to be closed, measured to the nearest loose end (its own other end too).
fn tell_open(chains: &[Chain], open: Vec<(usize, Vec<(DVec2, f64)>)>, done: &mut Joined) {
    let ends: Vec<[DVec2; 2]> = open.iter().map(|(_, v)| [v[0].0, v[v.len() - 1].0]).collect();
    // By x, so that the search for a neighbour may stop early; a bounded look to each side is enough to be helpful.
    let mut by_x: BTreeMap<(i64, usize), DVec2> = BTreeMap::new();
    let key = |v: f64| (v * 1e6) as i64;
    for (i, pair) in ends.iter().enumerate() {
        for (k, p) in pair.iter().enumerate() {
            by_x.insert((key(p.x), 2 * i + k), *p);
        }
    }
    for (i, (chain, _)) in open.iter().enumerate() {
        let mut best = (f64::INFINITY, ends[i][0]);
        // Only the first are told, so only they are searched for.
        for (k, p) in ends[i].iter().enumerate().filter(|_| i < 50) {
            let mine = 2 * i + k;
            let up = by_x.range((key(p.x), 0)..).take(400);
            let down = by_x.range(..(key(p.x), 0)).rev().take(400);
            for (&(_, other), q) in up.chain(down) {
                let gap = p.distance(*q);
                if other != mine && gap < best.0 {
                    best = (gap, *p);
                }
            }
        }
        done.open.push(Open {
            ends: ends[i],
            line: chains[*chain].line,
            layer: chains[*chain].layer.clone(),
            gap: best.0,
            at: best.1,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chain(points: &[(f64, f64, f64)]) -> Chain {
        Chain {
            vertices: points.iter().map(|&(x, y, b)| (DVec2::new(x, y), b)).collect(),
            closed: false,
            layer: "0".to_owned(),
            line: 1,
        }
    }

    #[test]
    fn loose_lines_and_an_arc_in_any_order_and_way_become_one_outline() {
        let pieces = vec![
            chain(&[(0.0, 0.0, 0.0), (10.0, 0.0, 0.0)]),
            chain(&[(0.0, 10.0, 0.0), (10.0, 10.0, 0.0)]),
            chain(&[(10.004, 0.0, 1.0), (10.0, 10.003, 0.0)]),
            chain(&[(0.0, 10.0, 0.0), (0.0, 0.0, 0.0)]),
        ];
        let joined = join(pieces, 0.01);
        assert!(joined.open.is_empty() && joined.forks.is_empty() && joined.closed.len() == 1);
        assert!((joined.largest_gap - 0.004).abs() < 1e-12 && joined.gaps == 2);
        let area = joined.closed[0].0.area().abs();
        assert!((area - 100.0 - 12.5 * std::f64::consts::PI).abs() < 0.1, "{area}");
    }

    #[test]
    fn a_gap_wider_than_the_tolerance_is_told_with_its_place_and_width() {
        let pieces = vec![
            chain(&[(0.0, 0.0, 0.0), (10.0, 0.0, 0.0), (10.0, 10.0, 0.0)]),
            chain(&[(10.0, 10.0, 0.0), (0.0, 10.0, 0.0), (0.0, 0.3, 0.0)]),
        ];
        let joined = join(pieces, 0.01);
        assert_eq!((joined.closed.len(), joined.open.len()), (0, 1));
        assert!((joined.open[0].gap - 0.3).abs() < 1e-12);
    }

    #[test]
    fn three_ends_on_one_point_are_a_fork_and_a_line_drawn_twice_counts_once() {
        let pieces = vec![
            chain(&[(0.0, 0.0, 0.0), (10.0, 0.0, 0.0)]),
            chain(&[(10.0, 0.0, 0.0), (0.0, 0.0, 0.0)]),
            chain(&[(10.0, 0.0, 0.0), (10.0, 10.0, 0.0)]),
            chain(&[(10.0, 0.0, 0.0), (20.0, 10.0, 0.0)]),
        ];
        let joined = join(pieces, 0.01);
        assert_eq!((joined.doubled, joined.forks.len()), (1, 1));
        assert_eq!(joined.forks[0].0, DVec2::new(10.0, 0.0));
        // The two diagonals of a square share bounds and middle; they are not one line.
        let cross = join(
            vec![
                chain(&[(0.0, 0.0, 0.0), (1.0, 1.0, 0.0)]),
                chain(&[(0.0, 1.0, 0.0), (1.0, 0.0, 0.0)]),
            ],
            0.01,
        );
        assert_eq!((cross.doubled, cross.open.len()), (0, 2));
    }

    #[test]
    fn a_hundred_thousand_ends_on_one_point_take_no_longer_than_they_must() {
        let pieces = (0..100_000)
            .map(|i| chain(&[(0.0, 0.0, 0.0), (1.0 + f64::from(i), 1.0, 0.0)]))
            .collect();
        let joined = join(pieces, 0.01);
        assert_eq!(joined.closed.len(), 0);
        assert_eq!(joined.forks.len(), 1);
    }
}
