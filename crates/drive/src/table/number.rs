//! Numbers from bytes.

/// Exact powers of ten in a double.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// Largest whole number up to which a double holds each: 2^53.
const EXACT: u64 = 1 << 53;

/// A plain number at the start of `text` (blanks, sign, digits, decimal sign, digits; blanks): its value and how many
/// bytes it takes. `None` when what follows is no delimiter and not the end, or when only the long way gives it exactly.
///
/// Up to 2^53 and 22 decimals the quotient of two doubles that are both exact is the nearest double (W. D. Clinger,
/// "How to read floating point numbers accurately", 1990, from memory; the test compares with the standard library).
#[inline]
pub(super) fn plain(text: &[u8], delimiter: u8, decimal: u8) -> Option<(f64, usize)> {
    let mut i = 0;
    while text.get(i) == Some(&b' ') {
        i += 1;
    }
    let minus = text.get(i) == Some(&b'-');
    if minus || text.get(i) == Some(&b'+') {
        i += 1;
    }
    let (mut whole, first) = (0_u64, i);
    while let Some(d) = text.get(i).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
        whole = whole.wrapping_mul(10).wrapping_add(u64::from(d));
        i += 1;
    }
    let mut digits = i - first;
    let mut decimals = 0;
    if text.get(i) == Some(&decimal) && decimal != delimiter {
        i += 1;
        let from = i;
        while let Some(d) = text.get(i).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
            whole = whole.wrapping_mul(10).wrapping_add(u64::from(d));
            i += 1;
        }
        decimals = i - from;
        digits += decimals;
    }
    while text.get(i) == Some(&b' ') {
        i += 1;
    }
    let ends = text.get(i).is_none_or(|b| *b == delimiter);
    // Nineteen digits cannot overflow 64 bits, so the check against 2^53 is a true one.
    if !ends || digits == 0 || digits > 19 || whole > EXACT || decimals > 22 {
        return None;
    }
    let size = whole as f64 / TENS[decimals];
    Some((if minus { -size } else { size }, i))
}

/// A number, or seconds from a clock (`h:m:s` or `m:s`).
pub(super) fn number(cell: &str, decimal: char) -> Option<f64> {
    let swapped;
    let cell = if decimal == ',' {
        if cell.contains('.') {
            return None;
        }
        swapped = cell.replace(',', ".");
        swapped.as_str()
    } else {
        cell
    };
    if cell.contains(':') {
        return clock(cell);
    }
    // The standard library also reads words such as "infinity".
    let starts = cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.'));
    cell.parse().ok().filter(|v: &f64| starts && v.is_finite())
}

/// Seconds from `h:m:s` or `m:s`, a date before it dropped (`2026-11-26 14:03:07.25`, `2026-11-26T14:03:07Z`).
fn clock(cell: &str) -> Option<f64> {
    let time = match cell.split_once([' ', 'T']) {
        Some((date, time))
            if date.len() >= 8 && date.bytes().all(|b| b.is_ascii_digit() || b"-/.".contains(&b)) =>
        {
            time
        }
        Some(_) => return None,
        None => cell,
    };
    let mut seconds = 0.0;
    for (i, part) in time.trim_end_matches('Z').split(':').enumerate() {
        let v: f64 = part.parse().ok().filter(|v: &f64| v.is_finite() && *v >= 0.0)?;
        if i > 2 || (i > 0 && v >= 60.0) {
            return None;
        }
        seconds = seconds * 60.0 + v;
    }
    Some(seconds)
}

/// Whether a cell says in words that there is no value.
pub(super) fn says_missing(cell: &str) -> bool {
    let missing = [
        "", "nan", "na", "n/a", "null", "none", "-", "--", "---", "inf", "-inf", "#n/a", "1.#qnan", "-1.#ind",
    ];
    missing.iter().any(|word| cell.eq_ignore_ascii_case(word))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_clock_is_read_as_seconds_with_or_without_its_date() {
        for (text, want) in [
            ("1:02", 62.0),
            ("10:00:01.5", 36001.5),
            ("2026-11-26 00:01:00", 60.0),
            ("2026-11-26T00:01:00Z", 60.0),
        ] {
            assert_eq!(number(text, '.'), Some(want), "{text}");
        }
        for text in ["1:75", "a:b", "1:2:3:4", "lap 1:02", "infinity", "nan", "1e999"] {
            assert_eq!(number(text, '.'), None, "{text}");
        }
    }

    proptest! {
        /// Against the standard library, which rounds to the nearest double.
        #[test]
        fn the_short_way_gives_the_same_double_as_the_standard_library(
            value in prop_oneof![-1e6..1e6f64, any::<f64>().prop_filter("finite", |v| v.is_finite())],
            decimals in 0usize..18,
            comma in any::<bool>(),
        ) {
            let text = format!("{value:.decimals$}");
            let shown = if comma { text.replace('.', ",") } else { text.clone() };
            let (delimiter, decimal) = if comma { (b';', b',') } else { (b',', b'.') };
            for tail in [String::new(), format!("{}1", char::from(delimiter))] {
                let line = format!("{shown}{tail}");
                if let Some((got, used)) = plain(line.as_bytes(), delimiter, decimal) {
                    let want: f64 = text.parse().unwrap();
                    prop_assert_eq!(got.to_bits(), want.to_bits(), "{}", line);
                    prop_assert_eq!(used, shown.len());
                }
            }
            if value.abs() < 1e6 && decimals < 6 {
                prop_assert!(plain(shown.as_bytes(), delimiter, decimal).is_some(), "{}", shown);
            }
        }
    }
}
