//! Set-up: npm packages, the page's build, and a browser for its test.

use crate::shell;
use std::path::Path;

/// Installs the npm packages when the lock file is newer than what is there, then builds the page.
pub fn web() -> Result<(), String> {
    let web = shell::root().join("web");
    let installed = web.join("node_modules").join(".package-lock.json");
    if !newer(&installed, &web.join("package-lock.json")) {
        shell::npm(&["ci", "--no-audit", "--no-fund"])?;
    }
    shell::npm(&["run", "build"])
}

fn newer(made: &Path, source: &Path) -> bool {
    let time = |p: &Path| p.metadata().and_then(|m| m.modified()).ok();
    matches!((time(made), time(source)), (Some(made), Some(source)) if made >= source)
}

/// A Chromium for the browser test: one that is there, or Debian's package when we may install it.
pub fn browser() -> Result<String, String> {
    if let Ok(path) = std::env::var("SUMPWRIGHT_CHROMIUM") {
        return Ok(path);
    }
    if let Some(found) = find_browser() {
        return Ok(found);
    }
    from_debian("chromium")?;
    find_browser().ok_or_else(|| {
        "the browser test needs Chromium and there is none\n  mend: install it (Debian: `apt-get install \
         chromium`), or name one in SUMPWRIGHT_CHROMIUM"
            .to_string()
    })
}

/// A program that turns PDF into dots, for the test of true size.
pub fn pdf_to_dots() -> Result<String, String> {
    const NAME: &str = "pdftoppm";
    let there = || shell::output_of(NAME, &["-v"]).is_some();
    if !there() {
        from_debian("poppler-utils")?;
    }
    if there() {
        return Ok(NAME.to_owned());
    }
    Err("the test of true size needs `pdftoppm` and there is none\n  mend: install the Poppler tools (Debian: \
         `apt-get install poppler-utils`)"
        .to_string())
}

/// Installs a package when this is Debian and we may; otherwise does nothing.
fn from_debian(package: &str) -> Result<(), String> {
    let root_on_debian = Path::new("/etc/debian_version").exists()
        && shell::output_of("id", &["-u"]).is_some_and(|id| id.trim() == "0");
    if !root_on_debian {
        return Ok(());
    }
    shell::run_in(&shell::root(), "apt-get", &["update", "-q"])?;
    shell::run_with(
        &shell::root(),
        "apt-get",
        &["install", "-y", "-q", "--no-install-recommends", package],
        &[("DEBIAN_FRONTEND", "noninteractive")],
    )
}

fn find_browser() -> Option<String> {
    let places = [
        "/usr/bin/chromium",
        "/usr/bin/chromium-browser",
        "/usr/bin/google-chrome",
        "/Applications/Chromium.app/Contents/MacOS/Chromium",
        "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
        "C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe",
    ];
    places
        .into_iter()
        .find(|p| Path::new(p).exists())
        .map(str::to_string)
}
