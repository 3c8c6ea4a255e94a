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

/// JSON that may stand inside a `<script type="application/json">`: no `<` is left that could end it.
pub fn script_safe_json(json: &str) -> String {
    json.replace('<', "\\u003c")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}
