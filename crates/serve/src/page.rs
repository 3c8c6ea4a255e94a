//! The page's files, as the build took them in.

/// A file of the page.
pub struct File {
    /// Relative to the page, with `/` between parts.
    pub name: &'static str,
    /// Its entity tag, in quotes.
    pub tag: &'static str,
    /// What it holds.
    pub bytes: &'static [u8],
}

include!(concat!(env!("OUT_DIR"), "/page.rs"));

/// Whether the program was built with its page.
pub fn is_there() -> bool {
    !FILES.is_empty()
}

/// The file at a path of the address; `/` is the page itself.
pub fn at(path: &str) -> Option<&'static File> {
    let name = match path {
        "/" => "index.html",
        _ => path.strip_prefix('/')?,
    };
    FILES.iter().find(|file| file.name == name)
}

/// What a file of this name holds, for the browser.
pub fn content_type(name: &str) -> &'static str {
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    match ending.to_ascii_lowercase().as_str() {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" | "map" => "application/json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "woff" => "font/woff",
        "ttf" => "font/ttf",
        "wasm" => "application/wasm",
        "pdf" => "application/pdf",
        "csv" => "text/csv; charset=utf-8",
        "txt" | "toml" | "md" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
