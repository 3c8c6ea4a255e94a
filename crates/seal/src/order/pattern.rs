//! An order from the middle outward, for any pattern of bolts.

use glam::DVec2;

/// The order of tightening by geometry alone: bolt numbers, first to last.
///
/// Always the bolts nearest to the pattern's middle come next. Of those that are about equally near, within a
/// tenth of the mean pitch, the one that stands farthest from every bolt already tightened is taken, and of equals the one farthest
/// from the last, so that sides and ends alternate. Round a ring all are equally near: the rule then crosses it, halves
/// the quarters, and so on. Common practice ("from the middle outward, crossing over"); the rule in numbers is ours.
pub fn from_the_middle(places: &[DVec2]) -> Vec<usize> {
    let Some(middle) = middle_of(places) else {
        return Vec::new();
    };
    let near = mean_pitch(places) / 10.0;
    let off: Vec<f64> = places.iter().map(|place| place.distance(middle)).collect();
    // Equal to within a thousandth of a pitch is equal: drawn holes are never quite where they should be.
    let equal = 1e-2 * near + 1e-9;
    let mut left: Vec<usize> = (0..places.len()).collect();
    let mut order: Vec<usize> = Vec::with_capacity(places.len());
    while !left.is_empty() {
        let nearest = left.iter().map(|&bolt| off[bolt]).fold(f64::INFINITY, f64::min);
        let clear = |bolt: usize| {
            order
                .iter()
                .map(|&done| places[done].distance(places[bolt]))
                .fold(f64::INFINITY, f64::min)
        };
        let from_last = |bolt: usize| {
            order
                .last()
                .map_or(0.0, |&last| places[last].distance(places[bolt]))
        };
        let mut best = usize::MAX;
        for (at, &bolt) in left.iter().enumerate() {
            if off[bolt] > nearest + near {
                continue;
            }
            if best == usize::MAX {
                best = at;
                continue;
            }
            let held = left[best];
            let (gain, side) = (clear(bolt) - clear(held), from_last(bolt) - from_last(held));
            let nearer = off[held] - off[bolt];
            let better = if order.is_empty() {
                nearer > equal
            } else if gain.is_nan() || gain.abs() <= equal {
                side > equal || (side.abs() <= equal && nearer > equal)
            } else {
                gain > 0.0
            };
            if better {
                best = at;
            }
        }
        order.push(left.remove(best));
    }
    order
}

/// One bolt after the next round the pattern, for comparison: what the hand does when nobody thinks.
pub fn round_the_loop(places: &[DVec2]) -> Vec<usize> {
    let Some(middle) = middle_of(places) else {
        return Vec::new();
    };
    let mut order: Vec<usize> = (0..places.len()).collect();
    let angle = |bolt: usize| (places[bolt] - middle).to_angle();
    order.sort_by(|&a, &b| angle(a).total_cmp(&angle(b)));
    order
}

/// Middle of the box round all bolts: unlike their mean it does not shift toward the side that has more of them.
fn middle_of(places: &[DVec2]) -> Option<DVec2> {
    let least = places.iter().copied().reduce(DVec2::min)?;
    let most = places.iter().copied().reduce(DVec2::max)?;
    Some((least + most) / 2.0)
}

/// Mean distance from each bolt to its nearest neighbour; 0 for one bolt.
fn mean_pitch(places: &[DVec2]) -> f64 {
    if places.len() < 2 {
        return 0.0;
    }
    let nearest = |bolt: usize| {
        (0..places.len())
            .filter(|&other| other != bolt)
            .map(|other| places[other].distance(places[bolt]))
            .fold(f64::INFINITY, f64::min)
    };
    (0..places.len()).map(nearest).sum::<f64>() / places.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(count: usize) -> Vec<DVec2> {
        (0..count)
            .map(|at| DVec2::from_angle(std::f64::consts::TAU * at as f64 / count as f64) * 0.1)
            .collect()
    }

    /// The star pattern of circular flanges: each odd bolt is followed by the one across, then a quarter on.
    /// Common practice for rings of 4, 8, 16 bolts (ASME PCC-1, star pattern, from memory).
    #[test]
    fn a_ring_is_crossed_and_its_quarters_halved() {
        for count in [4, 8, 16] {
            let order = from_the_middle(&ring(count));
            assert_eq!(order[0], 0);
            assert_eq!(order[1], count / 2, "{order:?}");
            let (third, fourth) = (order[2], order[3]);
            assert_eq!(
                (third % (count / 4), (third + count / 2) % count),
                (0, fourth),
                "{order:?}"
            );
            for pair in order.chunks(2) {
                assert_eq!((pair[0] + count / 2) % count, pair[1], "{count}: {order:?}");
            }
        }
    }

    /// Two rails of five bolts: middles first, then outward, never twice running on the same side and end.
    #[test]
    fn two_rails_go_from_the_middle_outward_on_alternating_sides() {
        let places: Vec<DVec2> = (0..10)
            .map(|at| DVec2::new(0.1 * f64::from(at % 5) - 0.2, if at < 5 { 0.1 } else { -0.1 }))
            .collect();
        let order = from_the_middle(&places);
        assert_eq!(order[..2], [2, 7], "{order:?}");
        let far: Vec<f64> = order.iter().map(|&bolt| places[bolt].x.abs()).collect();
        assert!(far.windows(2).all(|pair| pair[1] >= pair[0] - 1e-9), "{far:?}");
        for pair in order[2..].windows(2) {
            let (a, b) = (places[pair[0]], places[pair[1]]);
            assert!(a.x * b.x < 0.0 || a.y * b.y < 0.0, "{order:?}");
        }
    }

    #[test]
    fn every_bolt_comes_once_in_any_pattern() {
        assert!(from_the_middle(&[]).is_empty());
        assert_eq!(from_the_middle(&[DVec2::ONE]), [0]);
        let places: Vec<DVec2> = (0..37)
            .map(|at| DVec2::new((at as f64 * 1.7).sin(), (at as f64 * 2.9).cos() * 0.4))
            .collect();
        for mut order in [from_the_middle(&places), round_the_loop(&places)] {
            order.sort_unstable();
            assert!(order.iter().copied().eq(0..37));
        }
    }
}
