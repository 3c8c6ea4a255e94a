//! The nearest known word to one that is not known, for messages.

/// Edits (insert, drop, change, swap of neighbours) that turn `a` into `b`, letters' case ignored.
///
/// Optimal string alignment distance (Damerau 1964, restricted form).
pub fn edits(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.to_lowercase().chars().collect();
    let b: Vec<char> = b.to_lowercase().chars().collect();
    let mut before = vec![0; b.len() + 1];
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            row[j] = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before[j - 2] + 1);
            }
        }
        before = last;
        last = row;
    }
    last[b.len()]
}

/// The known word nearest to `word`, when it is near enough to be a slip: at most a third of the longer
/// word's letters differ (one at least). Ties go to the earlier word.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if word.chars().count() > 64 {
        return None; // no slip of a known word is that long, and the search is quadratic
    }
    known
        .into_iter()
        .map(|k| (edits(word, k), k))
        .filter(|(distance, k)| *distance <= (word.chars().count().max(k.chars().count()) / 3).max(1))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, k)| k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swap_of_neighbours_is_one_edit() {
        assert_eq!(edits("flaot", "float"), 1);
        assert_eq!(edits("", "abc"), 3);
        assert_eq!(edits("Draft", "draft"), 0);
    }

    #[test]
    fn a_slip_is_found_and_a_stranger_is_not() {
        assert_eq!(
            nearest("dimeter", ["delay", "diameter", "share"]),
            Some("diameter")
        );
        assert_eq!(nearest("weather", ["delay", "diameter", "share"]), None);
        assert_eq!(nearest(&"x".repeat(100_000), ["x"]), None);
    }
}
