//! How wide words come out, and how they are broken into lines.

/// Width of words [mm] whose letters are `size` tall: that of the letters for paper, or, in a program built without them,
/// that of a plain grotesque (Helvetica in the Adobe core fonts' metrics, to the nearest class, and a little to spare).
pub fn width(words: &str, size: f64, strong: bool) -> f64 {
    super::pdf::width(words, size, strong).unwrap_or_else(|| {
        let letters: f64 = words.chars().map(letter).sum();
        letters * size * if strong { 1.09 } else { 1.03 }
    })
}

fn letter(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '\'' | '|' => 0.23,
        ' ' | '.' | ',' | ':' | ';' | '!' | 'I' | 'f' | 't' | '/' | '[' | ']' | '·' => 0.28,
        '(' | ')' | 'r' | '-' | '"' | '°' => 0.35,
        'c' | 'k' | 's' | 'v' | 'x' | 'y' | 'z' | 'J' => 0.51,
        'm' | 'M' => 0.84,
        'w' | 'C' | 'D' | 'H' | 'N' | 'R' | 'U' => 0.73,
        'G' | 'O' | 'Q' => 0.79,
        'W' | '%' | '@' => 0.95,
        c if c.is_uppercase() || c == '&' => 0.67,
        _ => 0.57,
    }
}

/// The words in lines no wider than `room` [mm]; a word that is wider by itself stands alone. Line breaks are kept.
pub fn wrapped(words: &str, size: f64, room: f64, strong: bool) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in words.lines() {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let longer = match line.is_empty() {
                true => word.to_owned(),
                false => format!("{line} {word}"),
            };
            if line.is_empty() || width(&longer, size, strong) <= room {
                line = longer;
            } else {
                lines.push(std::mem::replace(&mut line, word.to_owned()));
            }
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_kept_and_no_line_is_too_wide() {
        let text =
            "In the long left the oil climbs over wall B faster than door 2 lets it back.\nSecond line";
        let lines = wrapped(text, 5.0, 60.0, false);
        assert_eq!(lines.join(" "), text.replace('\n', " "));
        assert!(lines.iter().all(|l| width(l, 5.0, false) <= 60.0), "{lines:?}");
        assert!(lines.len() > 3 && lines.last().unwrap() == "Second line");
        assert_eq!(wrapped("unbreakable-word", 5.0, 1.0, false), ["unbreakable-word"]);
    }
}
