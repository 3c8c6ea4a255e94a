//! Words into HTML: everything that comes from a user passes through [`escape`].

/// `words` as text of an element or an attribute; no character of it can become markup.
///
/// Control characters other than tab and line ends are not allowed in HTML or XML and become "�".
pub fn escape(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(c),
            c if c.is_control() => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// A sentence as text of an element: a number stays on one line with its unit.
pub fn sentence(words: &str) -> String {
    let words = escape(words);
    let mut out = String::with_capacity(words.len());
    let mut rest = words.as_str();
    while let Some(space) = rest.find(' ') {
        let (before, after) = (&rest[..space], &rest[space + 1..]);
        let word = before.rsplit(' ').next().unwrap_or_default();
        let number = word.trim_start_matches(['(', '+', '-']);
        let digits = |c: char| c.is_ascii_digit();
        let number = number.starts_with(digits) && number.ends_with(digits);
        let unit = after.starts_with(|c: char| c.is_ascii_alphabetic() || c == '\u{b0}');
        out.push_str(before);
        out.push(if number && unit { '\u{a0}' } else { ' ' });
        rest = after;
    }
    out + rest
}

/// JSON that may stand inside a `<script type="application/json">`: no `<` is left that could end it.
pub fn script_safe_json(json: &str) -> String {
    json.replace('<', "\\u003c")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_unit_and_other_words_part() {
        assert_eq!(
            sentence("at 5.2 s of <hard stop> 1.46 L (1.54 qt) has gone"),
            "at 5.2\u{a0}s of &lt;hard stop&gt; 1.46\u{a0}L (1.54\u{a0}qt) has gone"
        );
    }
}
