//! A symmetric matrix whose entries lie near its diagonal, and Cholesky's factors of it.

/// Lower half of a symmetric band matrix: row `i` holds columns `i − half` to `i`.
#[derive(Clone, Debug)]
pub(crate) struct Band {
    /// Rows.
    size: usize,
    /// Entries left of the diagonal.
    half: usize,
    entries: Vec<f64>,
}

impl Band {
    pub(crate) fn new(size: usize, half: usize) -> Band {
        let half = half.min(size.saturating_sub(1));
        Band {
            size,
            half,
            entries: vec![0.0; size * (half + 1)],
        }
    }

    /// Adds at (i, j) and, being symmetric, at (j, i).
    pub(crate) fn add(&mut self, i: usize, j: usize, value: f64) {
        let (i, j) = (i.max(j), i.min(j));
        debug_assert!(
            i - j <= self.half,
            "entry {i},{j} lies outside a band of {}",
            self.half
        );
        self.entries[i * (self.half + 1) + self.half - (i - j)] += value;
    }

    /// The diagonal entry of a row.
    pub(crate) fn diagonal(&self, i: usize) -> f64 {
        self.entries[i * (self.half + 1) + self.half]
    }

    /// Adds a small symmetric matrix, its lower half row by row, on these rows.
    pub(crate) fn add_patch(&mut self, rows: &[usize; 6], patch: &[f64; 21]) {
        let mut next = patch.iter();
        for (at, &i) in rows.iter().enumerate() {
            for (&j, &value) in rows[..=at].iter().zip(&mut next) {
                self.add(i, j, value);
            }
        }
    }

    /// Adds `scale × rowᵀ row`; every index once.
    pub(crate) fn add_outer(&mut self, row: &[(usize, f64)], scale: f64) {
        for (at, &(i, a)) in row.iter().enumerate() {
            for &(j, b) in &row[..=at] {
                self.add(i, j, scale * a * b);
            }
        }
    }

    /// `out = matrix × x`.
    pub(crate) fn times(&self, x: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        let wide = self.half + 1;
        for i in 0..self.size {
            let row = &self.entries[i * wide..(i + 1) * wide];
            let first = i.saturating_sub(self.half);
            let mut sum = row[self.half] * x[i];
            for j in first..i {
                let entry = row[self.half - (i - j)];
                sum += entry * x[j];
                out[j] += entry * x[i];
            }
            out[i] += sum;
        }
    }

    /// Turns it into its Cholesky factor; false when it is not positive definite (a pivot at or under 1e-14 of its
    /// diagonal), and then its entries are spoilt.
    pub(crate) fn factor(&mut self) -> bool {
        let (half, wide) = (self.half, self.half + 1);
        for i in 0..self.size {
            let first = i.saturating_sub(half);
            let (above, rest) = self.entries.split_at_mut(i * wide);
            let row = &mut rest[..wide];
            let whole = row[half];
            for j in first..i {
                // Columns that rows i and j share, from the later of their two starts.
                let start = first.max(j.saturating_sub(half));
                let row_j = &above[j * wide..(j + 1) * wide];
                let ours = &row[start + half - i..j + half - i];
                let theirs = &row_j[start + half - j..half];
                let dot = dot(ours, theirs);
                row[half - (i - j)] = (row[half - (i - j)] - dot) / row_j[half];
            }
            let left = &row[first + half - i..half];
            let squares = dot(left, left);
            let pivot = whole - squares;
            if !(pivot > 1e-14 * whole) {
                return false;
            }
            row[half] = pivot.sqrt();
        }
        true
    }

    /// Solves in place with the factor.
    pub(crate) fn solve(&self, x: &mut [f64]) {
        let (half, wide) = (self.half, self.half + 1);
        for i in 0..self.size {
            let first = i.saturating_sub(half);
            let row = &self.entries[i * wide..(i + 1) * wide];
            let dot: f64 = row[first + half - i..half]
                .iter()
                .zip(&x[first..i])
                .map(|(a, b)| a * b)
                .sum();
            x[i] = (x[i] - dot) / row[half];
        }
        for i in (0..self.size).rev() {
            let first = i.saturating_sub(half);
            let row = &self.entries[i * wide..(i + 1) * wide];
            x[i] /= row[half];
            let known = x[i];
            for (value, entry) in x[first..i].iter_mut().zip(&row[first + half - i..half]) {
                *value -= entry * known;
            }
        }
    }
}

/// Sum of products, in four lanes so that the machine may do them side by side; always in the same order.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4
        .remainder()
        .iter()
        .zip(b4.remainder())
        .map(|(a, b)| a * b)
        .sum();
    for (a, b) in a4.zip(b4) {
        for lane in 0..4 {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    (lanes[0] + lanes[2]) + (lanes[1] + lanes[3]) + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_solved_gives_back_its_right_side() {
        let mut matrix = Band::new(9, 3);
        for i in 0..9 {
            matrix.add(i, i, 5.0 + i as f64);
            for j in i.saturating_sub(3)..i {
                matrix.add(i, j, 0.7 - 0.2 * (i - j) as f64);
            }
        }
        let wanted: Vec<f64> = (0..9).map(|i| f64::from(i * i) - 11.0).collect();
        let mut factor = matrix.clone();
        assert!(factor.factor());
        let mut x = wanted.clone();
        factor.solve(&mut x);
        let mut back = vec![0.0; 9];
        matrix.times(&x, &mut back);
        for i in 0..9 {
            assert!(
                (back[i] - wanted[i]).abs() < 1e-12,
                "row {i}: {} for {}",
                back[i],
                wanted[i]
            );
        }
    }

    #[test]
    fn a_matrix_that_holds_nothing_is_refused() {
        let mut matrix = Band::new(2, 1);
        matrix.add_outer(&[(0, 1.0), (1, -1.0)], 3.0);
        assert!(
            !matrix.factor(),
            "a free body has no stiffness against its own shift"
        );
    }
}
