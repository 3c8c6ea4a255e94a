//! Names of files that come over the wire: plain, relative, and below the folder that they are looked for in, on every
//! system alike. Links are resolved where files are opened.

/// Longest name [bytes].
const LONGEST: usize = 1024;

/// Names that stand for devices on Windows, with any ending.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "conin$", "conout$"];

/// The name when it is confined, else why it is not.
pub fn confined(name: &str) -> Result<&str, &'static str> {
    if name.is_empty() {
        return Err("it is empty");
    }
    if name.len() > LONGEST {
        return Err("it is longer than 1024 bytes");
    }
    if name.contains(|c: char| c.is_control() || "<>:\"|?*".contains(c)) {
        return Err("it holds a character that names of files do not hold on every system");
    }
    if name.contains('\\') {
        return Err("it holds a backslash; write / between folders");
    }
    if name.starts_with('/') {
        return Err("it does not begin in the project's folder");
    }
    for part in name.split('/') {
        if part.is_empty() || part == "." || part == ".." {
            return Err("it holds an empty part, . or ..");
        }
        if part.ends_with([' ', '.']) {
            return Err("a part of it ends in a space or a full stop");
        }
        if device(part) {
            return Err("a part of it is the name of a device");
        }
    }
    Ok(name)
}

fn device(part: &str) -> bool {
    let stem = part.split('.').next().unwrap_or(part).trim_end().to_lowercase();
    let numbered = ["com", "lpt"].iter().any(|port| {
        let digit = stem.strip_prefix(port).unwrap_or_default();
        digit.chars().count() == 1 && digit.contains(|c: char| c.is_ascii_digit() || "¹²³".contains(c))
    });
    numbered || DEVICES.contains(&stem.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_names_are_taken() {
        for name in [
            "pan.toml",
            "a/b/pan.toml",
            "ölwanne 2.toml",
            ".hidden/x",
            "con1.toml",
            "comb.toml",
            "a..b",
        ] {
            assert_eq!(confined(name), Ok(name));
        }
    }

    #[test]
    fn whatever_leads_out_is_refused() {
        let long = "a/".repeat(600) + "b";
        for name in [
            "",
            "/etc/passwd",
            "//host/share",
            "..",
            "../pan.toml",
            "a/../../pan.toml",
            "a/..",
            "./pan.toml",
            "a//b",
            "a/",
            "..\\pan.toml",
            "\\\\host\\share",
            "C:pan.toml",
            "C:/pan.toml",
            "pan.toml:stream",
            "pan\0.toml",
            "pan\n.toml",
            ".. /pan.toml",
            "pan.toml.",
            "nul",
            "a/NUL.toml",
            "com1",
            "LPT9.txt",
            "con .txt",
            &long,
        ] {
            assert!(confined(name).is_err(), "{name:?} is taken");
        }
    }
}
