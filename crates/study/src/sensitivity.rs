//! How much of the scatter of a figure each input makes: which number to go and measure.
//!
//! The first-order share of an input is Var(E[y | x]) / Var(y) (I. M. Sobol 1993): by how much the scatter would shrink on
//! average if that one number were known. It is read off the cases at hand: they are put into groups by the input's value, and
//! the scatter of the groups' means is set against the whole. In a grid that is the main effect of the analysis of variance. From
//! random cases the means scatter by themselves too, which is taken off (the ε² of T. L. Kelley, 1935).
//!
//! What inputs do only together shows in no first-order share: the shares then sum to less than one.

/// What one input does to a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// Share of the scatter that it makes by itself, 0 to 1.
    pub share: f64,
    /// Half-width of the share's uncertainty (90 %); none for a grid, which has no chance in it.
    pub band: Option<f64>,
    /// From −1 (more of the input lowers the figure) through 0 (neither, or both) to 1: Spearman's rank correlation.
    pub way: f64,
}

/// Least cases from which shares are read.
pub const LEAST_CASES: usize = 16;

/// Groups of the jackknife.
const KNIVES: usize = 16;

/// Student's t, 15 degrees of freedom, two-sided 90 % (any table).
const T_90: f64 = 1.753;

/// The effects of inputs on `y`: `x[input][case]`. `None` with fewer than [`LEAST_CASES`] cases or when `y` does not move.
pub fn effects(x: &[Vec<f64>], y: &[f64], grid: bool) -> Option<Vec<Effect>> {
    if y.len() < LEAST_CASES && !grid {
        return None;
    }
    let (low, high) = ends(y);
    // Rounding is no scatter.
    if !(high - low > 1e-12 * high.abs().max(low.abs())) {
        return None;
    }
    let effect = |x: &Vec<f64>| {
        let share = share(x, y, grid);
        let band = (!grid).then(|| T_90 * jackknife(x, y));
        Effect {
            share: share.clamp(0.0, 1.0),
            band,
            way: rank_correlation(x, y),
        }
    };
    Some(x.iter().map(effect).collect())
}

fn ends(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(*v), high.max(*v))
        })
}

/// The share itself; it may fall a little below nought by chance.
fn share(x: &[f64], y: &[f64], grid: bool) -> f64 {
    let groups = groups(x);
    let n = y.len() as f64;
    let mean = y.iter().fold(0.0, |sum, v| sum + v) / n;
    let total = y.iter().fold(0.0, |sum, v| sum + (v - mean) * (v - mean));
    let mut between = 0.0;
    for group in &groups {
        let count = group.len() as f64;
        let own = group.iter().fold(0.0, |sum, i| sum + y[*i]) / count;
        between += count * (own - mean) * (own - mean);
    }
    if total <= 0.0 {
        return 0.0;
    }
    if grid {
        return between / total;
    }
    let freedom = groups.len() as f64 - 1.0;
    let within = (total - between) / (n - groups.len() as f64).max(1.0);
    (between - freedom * within) / total
}

/// Cases in groups of like value: the levels themselves where there are few, else strips with as many cases each.
fn groups(x: &[f64]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..x.len()).collect();
    order.sort_by(|a, b| x[*a].total_cmp(&x[*b]).then(a.cmp(b)));
    let mut levels: Vec<Vec<usize>> = Vec::new();
    for i in &order {
        match levels.last_mut() {
            Some(level) if x[level[0]] == x[*i] => level.push(*i),
            _ => levels.push(vec![*i]),
        }
    }
    // As many strips as cases in each: fewer blur the curve, more leave means of two or three.
    let strips = (x.len() as f64).sqrt().round().clamp(4.0, 64.0) as usize;
    if levels.len() <= strips {
        return levels;
    }
    let bounds = |strip: usize| strip * order.len() / strips;
    (0..strips)
        .map(|s| order[bounds(s)..bounds(s + 1)].to_vec())
        .filter(|strip| !strip.is_empty())
        .collect()
}

/// Standard error of the share: a sixteenth of the cases left out in turn (M. H. Quenouille 1956, J. W. Tukey 1958).
fn jackknife(x: &[f64], y: &[f64]) -> f64 {
    let without = |knife: usize| {
        let keep = |values: &[f64]| -> Vec<f64> {
            // On a slant: Sobol points sixteen apart lie close to one another in some input.
            let group = |i: usize| (i + i / KNIVES + i / (KNIVES * KNIVES)) % KNIVES;
            let kept = values.iter().enumerate().filter(|(i, _)| group(*i) != knife);
            kept.map(|(_, v)| *v).collect()
        };
        share(&keep(x), &keep(y), false)
    };
    let shares: Vec<f64> = (0..KNIVES).map(without).collect();
    let count = KNIVES as f64;
    let mean = shares.iter().fold(0.0, |sum, s| sum + s) / count;
    let spread = shares.iter().fold(0.0, |sum, s| sum + (s - mean) * (s - mean));
    ((count - 1.0) / count * spread).sqrt()
}

/// Spearman's rank correlation; like values share their mean rank.
fn rank_correlation(x: &[f64], y: &[f64]) -> f64 {
    let (a, b) = (ranks(x), ranks(y));
    let mean = (x.len() as f64 - 1.0) / 2.0;
    let sum = |f: &dyn Fn(usize) -> f64| (0..x.len()).fold(0.0, |sum, i| sum + f(i));
    let both = sum(&|i| (a[i] - mean) * (b[i] - mean));
    let own = sum(&|i| (a[i] - mean) * (a[i] - mean)) * sum(&|i| (b[i] - mean) * (b[i] - mean));
    if own > 0.0 { both / own.sqrt() } else { 0.0 }
}

fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    let mut from = 0;
    while from < order.len() {
        let mut to = from + 1;
        while to < order.len() && values[order[to]] == values[order[from]] {
            to += 1;
        }
        for i in &order[from..to] {
            ranks[*i] = (from + to - 1) as f64 / 2.0;
        }
        from = to;
    }
    ranks
}
